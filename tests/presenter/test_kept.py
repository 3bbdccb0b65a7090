"""What somebody wrote in a record is what the window saves: only what changed is put into it."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gui.state import recovery
from gui.state.entries import Opened, to_record
from gui.state.fields import NO, RG_DATA, YES, all_fields
from gui.state.list_draft import Draft
from gui.state.presenter import UNKEPT, Presenter
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.version1 import upgraded

OLD = sorted((Path(__file__).parents[1] / "version1").glob("*.json"))
TYPED = [f for f in all_fields() if f.kind not in ("choice", "switch", "rows", "readings")]
NULLS = (  # objects of the record, and fields of theirs that may be null
    ("", "work"), ("", "tolerances"), ("", "lane"), ("ball", "serial"), ("ball", "shell"),
    ("ball", "psa"), ("bowler.grip.middle", "sleeve"), ("bowler.grip.ring", "tip_angle"),
    ("bowler.pap", "down"), ("layout", "bearing"),
)  # fmt: skip
EMPTY = (
    ("", "scale"), ("", "work"), ("", "history"), ("", "confirmed"), ("weighings", "drilled"),
    ("bowler.grip.middle", "pitch"), ("extra_holes", "vents"),
)  # fmt: skip


def put(record: dict[str, Any], place: str, name: str, value: Any) -> None:
    """Give an object of a record a field that it has not; an object that is not there is made."""
    for part in filter(None, place.split(".")):
        record = record.setdefault(part, {})
        if not isinstance(record, dict):
            return
    record.setdefault(name, value)


def oddly(draw: Any, value: Any) -> Any:
    """The same value as somebody else may write it: numbers as text or real, fields in any order."""
    if isinstance(value, dict):
        names = draw(st.permutations(list(value)))
        return {name: oddly(draw, value[name]) for name in names}
    if isinstance(value, list):
        return [oddly(draw, each) for each in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return draw(st.sampled_from([value, float(value), f"{value}", f" {value} "]))
    return value


@st.composite
def odd_records(draw: Any, records: st.SearchStrategy[dict[str, Any]]) -> dict[str, Any]:
    """Records as other hands may have written them."""
    record = json.loads(json.dumps(draw(records)))
    odd: dict[str, Any] = oddly(draw, {n: v for n, v in record.items() if n != "version"})
    odd["version"] = record["version"]
    for place, name in draw(st.lists(st.sampled_from(NULLS), max_size=4)):
        put(odd, place, name, None)
    for place, name in draw(st.lists(st.sampled_from(EMPTY), max_size=4)):
        put(odd, place, name, [] if name == "vents" else {})
    return odd


def leaves(value: Any, path: str = "") -> dict[str, str]:
    """Each value of a record by its path, as JSON text; an object's own is the order of its fields."""
    if not isinstance(value, dict):
        return {path: json.dumps(value)}
    found = {f"{path}/": json.dumps(list(value))}
    for name, each in value.items():
        found |= leaves(each, f"{path}.{name}".lstrip("."))
    return found


# --- nothing changed ------------------------------------------------------------------------------


def test_what_was_opened_and_not_changed_is_saved_as_it_was(
    records: st.SearchStrategy[dict[str, Any]],
) -> None:
    @given(odd_records(records))
    @settings(max_examples=20)
    def check(record: dict[str, Any]) -> None:
        before = json.dumps(record)
        opened = Opened(record)
        assert json.dumps(to_record(opened.entries, opened)) == before
        assert json.dumps(record) == before

    check()


def test_each_sample_is_saved_as_it_was_with_its_fields_in_their_order(
    presenter: Presenter, sample: Path, tmp_path: Path
) -> None:
    text = json.dumps(json.loads(sample.read_text("utf-8")))
    copy = tmp_path / sample.name
    copy.write_bytes(sample.read_bytes())
    assert presenter.open(copy)
    assert presenter.save() == "saved"
    assert json.dumps(json.loads(copy.read_text("utf-8"))) == text
    presenter.edit("title", "another")
    assert presenter.save() == "saved"
    presenter.undo()
    assert presenter.save() == "saved"
    assert json.dumps(json.loads(copy.read_text("utf-8"))) == text


@pytest.mark.parametrize("path", OLD, ids=lambda p: p.stem)
def test_a_record_of_version_1_keeps_its_order_and_its_values(
    presenter: Presenter, path: Path, tmp_path: Path
) -> None:
    job = tmp_path / "job.json"
    job.write_bytes(path.read_bytes())
    assert presenter.open(job)
    assert presenter.save() == "saved"
    expected = upgraded(json.loads(path.read_text("utf-8")))
    assert json.dumps(json.loads(job.read_text("utf-8"))) == json.dumps(expected)
    assert (tmp_path / "job.version1.json").read_bytes() == path.read_bytes()


# --- one field changed ----------------------------------------------------------------------------


def test_after_one_field_is_edited_only_that_field_differs(
    records: st.SearchStrategy[dict[str, Any]],
) -> None:
    @given(odd_records(records), st.sampled_from(TYPED), st.sampled_from(["1", "2.50", "x y", ""]))
    @settings(max_examples=40)
    def check(record: dict[str, Any], field: Any, text: str) -> None:
        opened = Opened(record)
        if not field.shown(opened.entries):
            return
        entries = {**opened.entries, field.path: text}
        before, after = leaves(record), leaves(to_record(entries, opened))
        changed = {path for path in {*before, *after} if before.get(path) != after.get(path)}
        # the objects around a field differ by the field alone
        around = {path for path in changed if path.endswith("/")}
        assert all(f"{field.path}.".startswith(f"{a[:-1]}.".lstrip(".")) for a in around)
        # an object that was null is one now
        nulls = {path for path in changed if before.get(path) == "null" and f"{path}/" in after}
        assert all(f"{path}/" in around for path in nulls)
        assert changed - around - nulls <= set(field.record_paths)
        for path in around & {*before} & {*after}:
            old, new = json.loads(before[path]), json.loads(after[path])
            assert [n for n in old if n in new] == [n for n in new if n in old]
            assert len({*old} ^ {*new}) <= 2  # of a pair one comes and one goes

    check()


def test_a_new_field_goes_where_the_model_has_it(record: dict[str, Any]) -> None:
    record.pop("title", None)
    record["bowler"]["grip"]["middle"].pop("tip_angle", None)
    opened = Opened(record)
    entries = {**opened.entries, "title": "new", "bowler.grip.middle.tip_angle": "118"}
    new = to_record(entries, opened)
    assert list(new)[:3] == ["format", "version", "title"]
    middle = list(new["bowler"]["grip"]["middle"])
    assert middle.index("tip_angle") > middle.index("depth")
    assert parse_job(new).bowler.grip.middle.tip_angle == 118.0


def test_empty_weighings_and_numbers_as_text_stay(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    record["weighings"] = {"drilled": {}}
    record["ball"]["weight"] = "15"
    record["ball"]["top_weight"] = 3.0
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record))
    assert presenter.open(path)
    assert not presenter.problems
    presenter.edit("title", "another")
    assert presenter.save() == "saved"
    record["title"] = "another"
    saved = json.loads(path.read_text("utf-8"))
    assert saved == record
    assert repr(saved["ball"]["top_weight"]) == "3.0"


def test_another_kind_of_layout_leaves_nothing_of_the_first(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record))
    assert presenter.open(path)
    first = presenter.entry("layout.by")
    for by in ("placement", "distances", "angles", first):
        presenter.edit("layout.by", by)
        assert not presenter.problems
        assert parse_job(presenter.document.record()) == presenter.job
    while presenter.document.can_undo:
        presenter.undo()
    assert json.dumps(presenter.document.record()) == json.dumps(record)


def test_a_part_that_is_switched_off_goes_as_a_whole(record: dict[str, Any]) -> None:
    record["ball"]["shell"] = {"thickness": "3/4", "density": "1.2"}
    record["ball"].update(rg_low="2.5", differential="0.04", intermediate_differential=None)
    opened = Opened(record)
    entries = {**opened.entries, "ball.shell": NO, RG_DATA: NO}
    ball = to_record(entries, opened)["ball"]
    assert not {"shell", "rg_low", "differential"} & set(ball)
    assert to_record({**entries, "ball.shell": YES, RG_DATA: YES}, opened) == record


def test_a_row_that_nobody_changed_stays_as_it_was(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    row = {"depth": "2", "diameter": 1.0, "name": "a", "from_pin": "4", "bearing": 30, "plug": None}
    record["history"] = {"holes": [row, {**row, "name": "b"}]}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record))
    assert presenter.open(path)
    draft = Draft(presenter, "history.holes")
    draft.move(1)
    draft.edit("history.holes.*.depth", "2 1/2")
    assert draft.take()
    holes = presenter.document.record()["history"]["holes"]
    changed = {**row, "depth": "2 1/2"}
    assert json.dumps(holes) == json.dumps([{**row, "name": "b"}, changed])


# --- a thumb that the record is silent about -------------------------------------------------------


def test_a_record_that_says_nothing_of_a_thumb_is_not_one_without(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    del record["bowler"]["grip"]["thumb"]
    with pytest.raises(InputError, match="missing"):
        parse_job(record)
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record))
    assert presenter.open(path)
    thumb = "bowler.grip.thumb"
    assert "missing" in presenter.problems[thumb]
    assert thumb in presenter.needed
    assert presenter.save() == "saved"
    assert json.loads(path.read_text("utf-8")) == record
    presenter.edit(thumb, NO)
    assert not presenter.problems
    assert presenter.document.record()["bowler"]["grip"]["thumb"] is None
    presenter.undo()
    assert thumb in presenter.problems


# --- what nobody would see --------------------------------------------------------------------------


def test_what_stands_where_no_field_is_shown_is_refused_and_not_lost(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    path = tmp_path / "job.json"
    other = {"placement": "angle_at_pin"}.get(record["layout"]["by"], "bearing")
    path.write_text(json.dumps({**record, "layout": {**record["layout"], other: 30}}))
    assert not presenter.open(path)
    assert other in presenter.message
    path.write_text(json.dumps({**record, "release": 5}))
    assert not presenter.open(path)
    assert "release" in presenter.message


# --- recovery copies --------------------------------------------------------------------------------


def test_work_that_is_recovered_is_saved_as_it_was_opened(
    record: dict[str, Any], tmp_path: Path
) -> None:
    record["ball"]["weight"] = " 15 "
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record))
    lost = Presenter(tmp_path / "config")
    assert lost.open(path)
    lost.edit("title", "unsaved")
    assert lost.keep_recovery()
    lost.document._keeper._lock.free(remove=False)  # as the system does when a process ends
    (copy,) = recovery.find(tmp_path / "config")
    again = Presenter(tmp_path / "config")
    again.recover(copy)
    assert again.save(overwrite=True) == "saved"
    assert json.loads(path.read_text("utf-8")) == {**record, "title": "unsaved"}
    again.close()


def test_a_copy_of_an_earlier_program_is_recovered_without_the_record(tmp_path: Path) -> None:
    folder = tmp_path / "recovery"
    folder.mkdir()
    copy = {"format": recovery.FORMAT, "version": recovery.VERSION, "time": 1.0, "path": ""}
    texts = {"entries": {"title": "x"}, "saved": {}, "digest": ""}
    (folder / "1-aaaaaaaa.json").write_text(json.dumps({**copy, **texts}))
    (left,) = recovery.find(tmp_path)
    p = Presenter(tmp_path)
    p.recover(left)
    assert p.document.opened is None
    assert p.document.record()["title"] == "x"
    p.close()


def test_a_recovery_copy_that_cannot_be_kept_is_said_until_it_can(tmp_path: Path) -> None:
    config = tmp_path / "config"
    p = Presenter(config)
    p.edit("title", "a")
    assert p.keep_recovery()
    assert p.message == ""
    copies = config / "recovery"
    (copy,) = copies.glob("*.json")
    aside = tmp_path / "aside"
    copies.rename(aside)
    copies.write_text("")  # a file where the folder was
    p.edit("title", "ab")
    assert not p.keep_recovery()
    assert p.message == UNKEPT
    told: list[Any] = []
    p.subscribe(told.append)
    assert not p.keep_recovery()
    assert told == []  # said once
    p.edit("title", "abc")
    assert p.message == UNKEPT  # and not lost by the next letter
    p.undo()
    p.redo()
    copies.unlink()
    aside.rename(copies)
    assert p.keep_recovery()
    assert p.message == ""
    assert json.loads(copy.read_text("ascii"))["entries"]["title"] == "abc"
    p.close()


def test_saving_ends_the_warning(presenter: Presenter, tmp_path: Path) -> None:
    presenter.config.mkdir()
    (presenter.config / "recovery").write_text("")
    presenter.edit("title", "a")
    assert not presenter.keep_recovery()
    assert presenter.message == UNKEPT
    assert presenter.save_as(tmp_path / "job.json") == "saved"
    assert presenter.keep_recovery()
    assert presenter.message.startswith("Saved job.json")
