"""Lists of the record: how a dialog changes them, how they survive all else; plugging a ball."""

import copy
import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gui.state import files, recovery
from gui.state.entries import rows_of, summary
from gui.state.list_draft import Draft
from gui.state.presenter import Presenter, Refresh
from gui.state.readings import readings
from gui.state.redrill import USUAL_DENSITY, density_of
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.record import problems as record_problems
from layoutkit.planning.plan import plan

VENTS, HOLES = "extra_holes.vents", "history.holes"
Opened = Callable[[dict[str, Any]], Presenter]


@pytest.fixture
def open_record(presenter: Presenter, tmp_path: Path) -> Opened:
    def run(record: dict[str, Any]) -> Presenter:
        path = tmp_path / "job.json"
        path.write_text(json.dumps(record), encoding="utf-8")
        assert presenter.open(path), presenter.message
        return presenter

    return run


def fill(draft: Draft, **texts: str) -> None:
    for name, text in texts.items():
        draft.edit(f"{draft.path}.*.{name.replace('__', '.')}", text)


# --- the list in the record -----------------------------------------------------------------------


def test_a_record_with_lists_is_opened_and_saved_as_it_was(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    p = open_record(odd)
    assert not p.document.dirty
    assert not p.problems
    assert p.save() == "saved"
    assert p.document.path is not None
    saved = json.loads(p.document.path.read_text(encoding="utf-8"))
    for part in ("extra_holes", "history"):
        assert saved[part] == odd[part]
    assert saved["bowler"]["grip"]["thumb"] == odd["bowler"]["grip"]["thumb"]


@pytest.mark.parametrize(
    "part", [{}, {"vents": []}, {"inspection": None}, {"vents": [], "inspection": None}]
)
def test_parts_with_nothing_in_them_stay_possible(
    open_record: Opened, record: dict[str, Any], part: dict[str, Any]
) -> None:
    record["extra_holes"] = part
    p = open_record(record)
    assert not p.problems
    assert parse_job(p.document.record()).bowler == parse_job(record).bowler
    assert p.plan == plan(parse_job(p.document.record()))
    assert not p.plan.extra_holes


def test_lists_are_told_in_a_few_words(odd: dict[str, Any]) -> None:
    holes = odd["history"]["holes"]
    for rows, words in (
        ([], "no old holes"),
        (holes[:1], "1 old hole, 1 plugged"),
        (holes[1:], "1 old hole, none plugged"),
        ([*holes, holes[0]], "3 old holes, 2 plugged"),
    ):
        assert summary(HOLES, json.dumps(rows)) == words
    assert summary(VENTS, json.dumps(odd["extra_holes"]["vents"] * 2)) == "2 vents"
    assert summary(VENTS, "") == "no vents"


def test_lists_survive_edits_undo_and_recovery(
    open_record: Opened, odd: dict[str, Any], tmp_path: Path
) -> None:
    p = open_record(odd)
    vents, holes = p.entry(VENTS), p.entry(HOLES)
    p.edit("layout.pin_to_pap", "5")
    p.edit("layout.by", "placement")
    p.edit("bowler.grip.thumb.oval", "no")
    p.edit("bowler.hand", "left")
    p.select("pin")
    p.nudge("up", "coarse")
    draft = Draft(p, HOLES)
    draft.move(1)
    assert draft.take()
    moved = p.entry(HOLES)
    assert moved != holes
    assert p.entry(VENTS) == vents
    p.keep_recovery()
    p.document._keeper._lock.free(remove=False)  # as a crash does
    (found,) = recovery.find(p.config)
    other = Presenter(p.config)
    other.recover(found)
    assert dict(other.entries) == dict(p.entries)
    assert other.document.dirty
    assert other.plan == p.plan
    other.close()
    while p.document.can_undo:
        p.undo()
    assert (p.entry(VENTS), p.entry(HOLES)) == (vents, holes)
    while p.document.can_redo:
        p.redo()
    assert (p.entry(VENTS), p.entry(HOLES)) == (vents, moved)
    assert p.document.record()["history"]["holes"] == odd["history"]["holes"][::-1]


def test_empty_parts_survive_recovery(open_record: Opened, record: dict[str, Any]) -> None:
    p = open_record({**record, "history": {}, "extra_holes": {}})
    assert p.document.record()["history"] == p.document.record()["extra_holes"] == {}
    p.edit("title", "x")
    p.keep_recovery()
    p.document._keeper._lock.free(remove=False)
    (found,) = recovery.find(p.config)
    other = Presenter(p.config)
    other.recover(found)
    assert other.document.record() == p.document.record()
    other.close()


@pytest.mark.parametrize(
    "text", ["foo", "{}", "[1", "[NaN]", '[{"a": 1, "a": 2}]', "[" * 5000, "5"]
)
def test_an_entry_that_is_no_list_is_told_beside_the_list(
    open_record: Opened, odd: dict[str, Any], text: str
) -> None:
    p = open_record(odd)
    p.edit(HOLES, text)
    assert set(p.problems) == {HOLES}
    assert "is not a list; possible: a list of up to 20." in p.problems[HOLES]
    assert files.record_bytes(p.document.record())
    assert Draft(p, HOLES).rows == []
    p.undo()
    assert not p.problems


# --- what is wrong --------------------------------------------------------------------------------


def test_what_the_rest_of_the_record_contradicts_is_told_beside_the_list(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    p = open_record(odd)
    p.edit("bowler.grip.thumb.depth", "1 1/2")
    assert p.problems == {
        VENTS: "Vent 1, Meets it at: 2 in is below the thumb hole's bottom; "
        "possible: up to 1.5 in, its depth."
    }
    assert p.stale
    assert p.sound_plan("copying the plan") is None
    assert "Vents: Vent 1, Meets it at: 2 in is below" in p.message
    p.edit("bowler.grip.thumb", "no")
    assert p.problems[VENTS].startswith('Vent 1, Opens into: "thumb" on a no-thumb grip')
    draft = Draft(p, VENTS)
    assert set(draft.problems) == {f"{VENTS}.*.hole"}
    assert draft.sound  # the row by itself is possible
    fill(draft, hole="ring", meets="1")
    assert not draft.problems
    assert draft.take()
    assert not p.problems


def test_what_only_the_plan_refuses_is_told_beside_the_rows_field(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    p = open_record(odd)
    thumb = p.plan.holes[2] if p.plan else None
    assert thumb is not None
    draft = Draft(p, VENTS)
    fill(draft, over=f"{thumb.over:.4f}", up=f"{-thumb.up:.4f}")
    assert "starts inside the thumb hole" in draft.problems[f"{VENTS}.*.over"]
    assert draft.take()
    assert p.problems[VENTS].startswith("Vent 1, Over: starts inside the thumb hole")
    p.undo()
    assert not p.problems


def test_both_of_a_pair_are_told_and_one_is_kept(open_record: Opened, odd: dict[str, Any]) -> None:
    odd["extra_holes"]["vents"][0]["up"] = 1
    p = open_record(odd)
    assert p.problems[VENTS].startswith("Vent 1: up 1 in and down 2.5 in are both given")
    draft = Draft(p, VENTS)
    assert draft.take()
    assert not p.problems
    assert p.document.record()["extra_holes"]["vents"][0]["up"] == 1


def test_a_field_that_no_row_has_is_refused_when_opened(
    presenter: Presenter, odd: dict[str, Any], tmp_path: Path
) -> None:
    odd["history"]["holes"][1]["colour"] = "red"
    path = tmp_path / "job.json"
    path.write_text(json.dumps(odd), encoding="utf-8")
    assert not presenter.open(path)
    assert presenter.message.startswith("history.holes.1.colour: unknown field")


def test_an_unfinished_row_is_opened_told_and_can_be_finished(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    odd["history"]["holes"][1] = {"name": "old open", "plug": {"length": "1 1/2"}, "depth": "deep"}
    p = open_record(odd)
    assert p.problems[HOLES].startswith("Old hole 2, ")
    draft = Draft(p, HOLES)
    assert not draft.problems
    assert draft.problem_elsewhere.startswith("Old hole 2, ")
    draft.select(1)
    words = dict(record_problems(odd))
    assert draft.problems == {
        f"{HOLES}.*.{name}": words[f"{HOLES}.1.{name}"]
        for name in ("diameter", "depth", "plug.density")
    }
    fill(draft, diameter="1", depth="1", plug__density="1.1")
    # its place can be told in two ways, so it is looked at where each figure is possible by itself
    assert draft.problems == {f"{HOLES}.*.from_pin": "missing; possible: 0 to 14.2 in."}
    fill(draft, from_pin="6", bearing="20")
    # in the record's own words, beside its field
    assert draft.problems == {
        f"{HOLES}.*.plug.length": "1.5 in is longer than the hole; possible: 0 to 1 in, or leave it "
        "out to fill the whole hole."
    }
    fill(draft, plug__length="")
    assert draft.take()
    assert not p.problems


# --- a dialog's draft -----------------------------------------------------------------------------


def test_rows_are_typed_as_everywhere_and_taken_as_one_step(
    open_record: Opened, record: dict[str, Any]
) -> None:
    p = open_record(record)
    before = dict(p.entries)
    changes: list[Refresh] = []
    p.subscribe(changes.append)
    draft = Draft(p, HOLES)
    assert draft.name == ""
    draft.add()
    assert draft.name == "Old hole 1"
    # a plug is the usual case, and the density that is taken is seen
    assert draft.entry(f"{HOLES}.*.plug.density") == USUAL_DENSITY == "1.15"
    assert set(draft.needed) == {
        f"{HOLES}.*.{name}" for name in ("from_pin", "bearing", "diameter", "depth")
    }
    assert not draft.sound
    assert not draft.take()
    fill(draft, name="old", from_pin="4 3/8", bearing="-45", diameter="25.4 mm", depth="2 1/2")
    assert draft.sound
    assert not changes  # nothing of it has reached the record
    assert draft.cells(0) == ("1", "old", "4 3/8", "-45", "25.4 mm", "2 1/2", "1.15, whole")
    assert draft.take()
    assert [c.paths for c in changes] == [{HOLES}]
    assert p.document.record()["history"]["holes"] == [
        {
            "name": "old",
            "from_pin": "4 3/8",
            "bearing": -45,
            "diameter": "25.4 mm",
            "depth": "2 1/2",
            "plug": {"density": 1.15},
        }
    ]
    assert p.plan is not None
    assert len(p.plan.old_holes) == 1
    assert p.document.undo_name == "Old holes"
    p.undo()
    assert dict(p.entries) == before
    p.redo()
    assert p.entry(HOLES) == draft.text


def test_a_draft_that_changes_nothing_is_no_step(open_record: Opened, odd: dict[str, Any]) -> None:
    p = open_record(odd)
    for path in (VENTS, HOLES):
        draft = Draft(p, path)
        draft.add()
        draft.remove()
        assert draft.take()
    assert not p.document.can_undo
    assert not p.document.dirty


def test_two_lists_taken_one_after_the_other_are_two_steps(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    p = open_record(odd)
    for _ in range(2):
        draft = Draft(p, HOLES)
        draft.move(1)
        draft.take()
    assert p.document.record()["history"] == odd["history"]
    p.undo()
    assert p.document.record()["history"] != odd["history"]
    p.undo()
    assert not p.document.can_undo


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("from_pin", "15"),
        ("from_pin", "far"),
        ("bearing", "400"),
        ("bearing", ""),
        ("diameter", "3 in"),
        ("depth", "-1"),
        ("right", "x"),
        ("tip_angle", "20"),
        ("plug.density", "9"),
        ("plug.length", "3"),
        ("name", "x" * 300),
        ("name", "a\nb"),
    ],
)
def test_bad_input_is_told_in_the_records_own_words_and_not_taken(
    open_record: Opened, odd: dict[str, Any], name: str, text: str
) -> None:
    p = open_record(odd)
    before = dict(p.entries)
    draft = Draft(p, HOLES)
    path = f"{HOLES}.*.{name}"
    draft.edit(path, text)
    bad = copy.deepcopy(odd)
    inner = bad["history"]["holes"][0]
    *way, leaf = name.split(".")
    for part in way:
        inner = inner[part]
    inner[leaf] = float(text) if text.lstrip("-").isdecimal() else text
    if not text:
        del inner[leaf]
    if name == "plug.length":
        inner[leaf] = 3
    ((_, words),) = record_problems(bad)
    said = draft.problems[path]
    assert said.replace('"', "") == words.replace(".0 ", " ").replace('"', "")
    assert draft.needed == (frozenset({path}) if not text else frozenset())
    draft.select(1)
    assert draft.problems == {}
    assert draft.problem_elsewhere.startswith("Old hole 1, ")
    assert draft.cells(0)[0] == "1 •"
    assert draft.cells(1)[0] == "2"
    assert not draft.take()
    assert draft.selected == 0  # where the trouble is
    assert dict(p.entries) == before


def test_too_many_rows_are_told(open_record: Opened, odd: dict[str, Any]) -> None:
    odd["extra_holes"]["vents"] *= 6
    p = open_record(odd)
    draft = Draft(p, VENTS)
    draft.add()
    assert draft.problem_elsewhere == "7 are too many; possible: up to 6."
    assert not draft.take()
    draft.remove()
    assert draft.problem_elsewhere == ""


def test_a_new_vent_opens_into_the_thumb_where_there_is_one(
    open_record: Opened, record: dict[str, Any]
) -> None:
    p = open_record(record)
    for thumb, hole in (("yes", "thumb"), ("no", "middle")):
        p.edit("bowler.grip.thumb", thumb)
        draft = Draft(p, VENTS)
        draft.add()
        assert draft.entry(f"{VENTS}.*.hole") == hole


def test_rows_are_added_behind_the_selected_one_moved_and_removed(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    draft = Draft(open_record(odd), HOLES)
    names = lambda: [row.get(f"{HOLES}.*.name", "") for row in draft.rows]  # noqa: E731
    draft.add()
    fill(draft, name="new")
    assert names() == ["old thumb", "new", "old open"]
    draft.move(-1)
    assert (names(), draft.selected) == (["new", "old thumb", "old open"], 0)
    assert not draft.can_move(-1)
    draft.move(-1)
    assert draft.selected == 0
    draft.move(1)
    draft.move(1)
    assert (names(), draft.selected) == (["old thumb", "old open", "new"], 2)
    assert not draft.can_move(1)
    draft.remove()
    assert (names(), draft.selected) == (["old thumb", "old open"], 1)
    draft.remove()
    draft.remove()
    assert (names(), draft.selected) == ([], None)
    draft.remove()
    assert draft.take()


def test_the_order_of_old_holes_is_the_order_of_the_work(
    open_record: Opened, record: dict[str, Any]
) -> None:
    # two holes over each other: the later plug fills what both share, so a heavy plug that comes
    # last weighs more than a light one that does
    hole = {"from_pin": 5, "bearing": 60, "depth": 2}
    record["history"] = {
        "holes": [
            {**hole, "name": "wide", "diameter": 1, "plug": {"density": 1.0}},
            {**hole, "name": "narrow", "diameter": 0.75, "plug": {"density": 2.0}},
        ]
    }
    p = open_record(record)
    assert p.plan is not None
    heavy = p.plan.statics.weight_lb
    draft = Draft(p, HOLES)
    draft.move(1)
    assert draft.take()
    # pi/4 (3/4)^2 2 in3, 1 g/cm3 lighter: 0.51 oz
    ounces = math.pi / 4 * 0.75**2 * 2 * 16.387064 / 28.349523125
    assert 16 * (heavy - p.plan.statics.weight_lb) == pytest.approx(ounces, rel=0.03)


def test_a_part_that_is_switched_off_keeps_what_was_typed(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    draft = Draft(open_record(odd), HOLES)
    plug = next(f for f in draft.fields if f.path.endswith("plug.density"))
    assert draft.shown(plug)
    fill(draft, plug="no")
    assert not draft.shown(plug)
    assert draft.cells(0)[-1] == "left open"
    assert "plug" not in rows_of(HOLES, draft.text)[0]
    fill(draft, plug="yes")
    assert rows_of(HOLES, draft.text)[0]["plug"] == {"density": 1.2}


# --- the oval -------------------------------------------------------------------------------------


def test_an_oval_is_switched_typed_and_milled(open_record: Opened, record: dict[str, Any]) -> None:
    p = open_record(record)
    oval = "bowler.grip.thumb.oval"
    p.edit(oval, "yes")
    assert set(p.problems) == p.needed == {f"{oval}.length"}
    p.edit(f"{oval}.length", "7/8")
    assert p.problems[f"{oval}.length"].startswith("0.875 in with a bit of 1 in; possible: more")
    p.edit(f"{oval}.length", "1 1/4")
    p.edit(f"{oval}.scallop", "1/128")
    assert p.plan is not None
    assert p.plan.holes[2].oval is not None
    assert len(p.plan.holes[2].oval.cuts) == 3
    p.edit(f"{oval}.milled", "yes")  # a slot has no scallops, so that field goes
    assert not p.problems
    assert p.document.record()["bowler"]["grip"]["thumb"]["oval"] == {
        "length": "1 1/4",
        "milled": True,
    }
    p.edit(f"{oval}.milled", "no")
    assert p.document.record()["bowler"]["grip"]["thumb"]["oval"]["scallop"] == "1/128"


# --- readings -------------------------------------------------------------------------------------


@pytest.mark.parametrize("units", ["fraction", "decimal", "metric"])
def test_the_holes_page_tells_the_oval_the_extra_and_the_old_holes(
    odd: dict[str, Any], units: Any
) -> None:
    p = plan(parse_job(odd))
    found = readings(p, units)
    assert [r[0] for r in found.extra.rows] == ["thumb vent", "inspection"]
    assert [r[0] for r in found.old.rows] == ["old thumb", "old open"]
    size = {"fraction": "1 1/8", "decimal": "1.125", "metric": "28.6"}[units]
    old = dict(zip(found.old.heading, found.old.rows[0], strict=True))
    assert (old["size"], old["plug"]) == (size, "1.20 g/cm3")
    assert found.old.rows[1][found.old.heading.index("plug")] == "none: open"
    oval = p.holes[2].oval
    assert oval is not None
    # by hand: the two ends lie 1/16 in from the middle, 10 degrees to the right of the centreline
    along, across = 1 / 16 * math.cos(math.radians(10)), 1 / 16 * math.sin(math.radians(10))
    told = {
        "fraction": ("1/16 to fingers", f"{along:+.3f}", "1/64 right", f"{across:+.3f}"),
        "decimal": (
            f"{along:.3f} to fingers", f"{along:+.3f}", f"{across:.3f} right", f"{across:+.3f}"
        ),
        "metric": (f"{25.4 * along:.1f} to fingers", f"{25.4 * across:.1f} right"),
    }[units]  # fmt: skip
    assert found.oval.rows[0][1:] == told
    words = " ".join(row[1] for row in found.oval.rows[len(oval.cuts) :])
    assert "10 degrees to the right of the centreline" in words
    assert "One press stop for all bores" in words
    assert all(len(row[1]) <= 80 for row in found.oval.rows[len(oval.cuts) :])
    for table in (found.oval, found.extra, found.old):
        assert all(len(row) in (2, len(table.heading)) for row in table.rows)


def test_a_plain_plan_has_none_of_these_tables(record: dict[str, Any]) -> None:
    found = readings(plan(parse_job(record)))
    assert found.oval.rows == found.extra.rows == found.old.rows == ()


# --- plugging and drilling anew -------------------------------------------------------------------


def test_one_hole_is_drilled_again_and_the_measures_of_the_others_stay(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    odd["as_drilled"] = {"middle": {"diameter": "49/64"}, "thumb": {"depth": "2 1/2"}}
    odd["work"] = {"only": ["middle"], "driller": "D"}
    p = open_record(odd)
    assert p.document.record() == odd
    assert p.redrill("1.15", ("thumb",))
    record = p.document.record()
    assert record["work"]["only"] == ["thumb"]
    assert record["as_drilled"] == {"middle": {"diameter": "49/64"}}
    assert p.plan is not None
    assert [h.name for h in p.plan.for_today.holes] == ["thumb"]
    assert p.redrill("1.15")
    record = p.document.record()
    assert "only" not in record["work"]
    assert "as_drilled" not in record


@pytest.mark.parametrize("hand", ["right", "left"])
def test_redrilling_makes_old_holes_of_what_was_drilled(
    open_record: Opened, odd: dict[str, Any], hand: str
) -> None:
    odd["bowler"]["hand"] = hand
    odd["weighings"] = {"drilled": {"side": 0.5}}
    p = open_record(odd)
    before = p.plan
    assert before is not None
    assert p.redrill("1.2")
    assert p.document.path is None
    assert p.document.dirty
    assert p.document.title == "*redrill of job.json - layoutkit"
    assert not p.document.can_undo
    assert not p.problems
    record = p.document.record()
    assert "weighings" not in record
    assert not record.get("extra_holes")
    # what was typed stays as it was typed
    for part in ("bowler", "layout"):
        assert record[part] == odd[part]
    holes = record["history"]["holes"]
    assert holes[0] == odd["history"]["holes"][0]
    added = holes[2:]
    assert all(hole["plug"] == {"density": 1.2} for hole in added)
    # the middle, the ring, two bores of the oval, the vent, the inspection hole: on the old places
    assert len(added) == 6
    assert p.plan is not None
    places = [h.entry for h in p.plan.old_holes[2:]]
    for hole in (*before.holes[:2], *before.extra_holes):
        assert min(math.dist(hole.entry, place) for place in places) < 1e-9
    assert p.save() == "unnamed"


def test_redrilling_asks_for_a_possible_density(open_record: Opened, odd: dict[str, Any]) -> None:
    p = open_record(odd)
    before = dict(p.entries)
    for text, words in (
        ("9", "9 g/cm3 is outside 0.1 to 5 g/cm3."),
        ("", '"" is not a number; possible: 0.1 to 5 g/cm3.'),
        ("heavy", '"heavy" is not a number; possible: 0.1 to 5 g/cm3.'),
    ):
        with pytest.raises(InputError, match=r"possible|outside"):
            density_of(text)
        assert not p.redrill(text)
        assert p.message == words
        assert dict(p.entries) == before
        assert not p.document.dirty
    assert density_of(USUAL_DENSITY) == 1.15
    p.edit("ball.weight", "x")
    assert not p.redrill("1.15")
    assert p.message.startswith("Finish the record before redrilling the ball")


def test_a_ball_of_too_many_old_holes_is_refused(open_record: Opened, odd: dict[str, Any]) -> None:
    odd["history"]["holes"] *= 8
    p = open_record(odd)
    before = dict(p.entries)
    assert not p.redrill("1.15")
    assert p.message == "Old holes: the ball would have 22 old holes; possible: up to 20."
    assert dict(p.entries) == before
    assert p.document.path is not None


def test_what_crashed_after_redrilling_is_recovered(
    open_record: Opened, odd: dict[str, Any]
) -> None:
    p = open_record(odd)
    assert p.redrill("1.15")
    p.keep_recovery()
    p.document._keeper._lock.free(remove=False)
    (found,) = recovery.find(p.config)
    other = Presenter(p.config)
    other.recover(found)
    assert other.document.record() == p.document.record()
    assert other.document.dirty
    assert other.document.path is None
    other.close()
