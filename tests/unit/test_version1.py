"""Records of version 1 mean what they always meant; the plans beside them are that version's own."""

import json
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest

from layoutkit import InputError, load_job, parse_job, plan, save_job
from layoutkit.commands.main import main
from layoutkit.job.record import problems
from layoutkit.job.version1 import RENAMED

FOLDER = Path(__file__).parents[1] / "version1"
FILES = sorted(FOLDER.glob("*.json"))
# what the plan has gained since, or judges anew
NEW_CHECKS = {"drillable", "diameter"}


OVERLAPPING = ("12_", "13_")  # an oval's bores; new holes through plugs


def same(old: Any, new: Any, path: str = "") -> None:
    """Every figure of the old plan stands in the new one, to 1e-9; uncertainties to 1e-4."""
    if isinstance(old, dict):
        for name, value in old.items():
            same(value, new[RENAMED.get(name, name)], f"{path}.{name}")
    elif isinstance(old, list):
        assert len(old) == len(new), path
        for n, (a, b) in enumerate(zip(old, new, strict=True)):
            same(a, b, f"{path}.{n}")
    elif isinstance(old, float) and not isinstance(new, bool):
        unsure = "band" in path or "uncertainty" in path
        # what bores take that overlap in a core is known better now than when the plans were made
        near = 2e-5 if path.startswith(OVERLAPPING) else 1e-9
        assert new == pytest.approx(old, rel=1e-9, abs=1e-4 if unsure else near), path
    else:
        assert new == old, path


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_version_1_file_gives_the_plan_that_it_gave(path: Path) -> None:
    record = json.loads(path.read_text(encoding="utf-8"))
    assert record["version"] == 1
    old = json.loads(path.with_suffix("").with_suffix(".plan.txt").read_text(encoding="utf-8"))
    new: dict[str, Any] = json.loads(json.dumps(plan(load_job(path)).as_dict()))
    checks = {c["name"]: c for c in new.pop("checks") if c["name"] not in NEW_CHECKS}
    stated = {c["name"]: c for c in old.pop("checks")}
    for check in stated.values():
        check["unit"] = check["unit"] or "yes/no"  # version 1 left the unit of a yes or no empty
    same(stated, checks, path.name)
    same(old, new, path.name)


def test_the_files_state_layouts_in_all_three_ways() -> None:
    stated = {json.loads(p.read_text(encoding="utf-8"))["layout"]["by"] for p in FILES}
    assert stated == {"angles", "distances", "placement"}


@pytest.mark.parametrize("version", [3, 2.1, 10])
def test_a_newer_version_is_refused_as_such(version: float, record: dict[str, Any]) -> None:
    with pytest.raises(InputError, match=r"^version: .*made by a newer layoutkit"):
        parse_job({**record, "version": version, "ball": "something new"})


@pytest.mark.parametrize("version", [True, 0, "2", None])
def test_no_version_is_refused_as_none(version: object, record: dict[str, Any]) -> None:
    with pytest.raises(InputError) as caught:
        parse_job({**record, "version": version})
    assert caught.value.field == "version"
    assert "newer" not in str(caught.value)


# --- in the file's own names, and kept beside the file --------------------------------------------


def version_1(**layout: Any) -> dict[str, Any]:
    """The record of version 1 that states its layout by angles, with changes to that."""
    record: dict[str, Any] = json.loads(FILES[0].read_text(encoding="utf-8"))
    assert record["layout"]["by"] == "angles"
    record["layout"] |= layout
    return record


def refused(record: dict[str, Any]) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_job(record)
    assert problems(record)[0] == (caught.value.field, caught.value.words)
    return caught.value


def test_a_problem_is_told_under_the_name_that_the_file_uses() -> None:
    assert str(refused(version_1(drilling_angle=190))) == (
        "layout.drilling_angle: 190 degrees is outside -180 to 180 degrees."
    )
    record = version_1()
    del record["layout"]["val_angle"]
    assert refused(record).field == "layout.val_angle"
    error = refused(version_1(colour="red"))
    assert error.words == "unknown field; possible here: by, drilling_angle, pin_to_pap, val_angle."


def test_a_field_under_both_names_is_refused_once() -> None:
    assert refused(version_1(angle_at_pin=50)).field == "layout.drilling_angle"


def test_a_record_of_version_2_keeps_the_names_of_version_2(record: dict[str, Any]) -> None:
    record["layout"] = {"by": "angles", "angle_at_pin": 190, "pin_to_pap": 4, "angle_at_pap": 1}
    assert refused(record).field == "layout.angle_at_pin"


@pytest.mark.parametrize("version", ["2.1", "3", "10.0.1"])
def test_a_newer_version_written_as_text_is_refused_as_such(
    version: str, record: dict[str, Any]
) -> None:
    error = refused({**record, "version": version, "ball": "something new"})
    assert (error.field, error.words) == (
        "version",
        f'"{version}": made by a newer layoutkit; this one reads versions 1 and 2.',
    )


def test_a_saved_job_keeps_the_text_of_version_1_beside_it(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    before = FILES[0].read_bytes()
    path.write_bytes(before)
    job = load_job(path)
    assert save_job(job, path) == tmp_path / "job.version1.json"
    assert (tmp_path / "job.version1.json").read_bytes() == before
    saved = json.loads(path.read_text(encoding="utf-8"))
    assert saved["version"] == 2
    assert "angle_at_pin" in saved["layout"]
    assert load_job(path) == job
    # the file is of version 2 now, so nothing more is kept
    assert save_job(job, path) is None
    assert sorted(p.name for p in tmp_path.iterdir()) == ["job.json", "job.version1.json"]


def test_no_kept_text_is_ever_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    texts = [FILES[n].read_bytes() for n in (0, 1, 2)]
    names = ["job.version1.json", "job.version1.2.json", "job.version1.3.json"]
    for text, name in zip(texts, names, strict=True):
        path.write_bytes(text)
        job = load_job(path)
        assert save_job(job, path) == tmp_path / name
    assert [(tmp_path / name).read_bytes() for name in names] == texts
    # a text that is kept already is not kept twice
    path.write_bytes(texts[1])
    assert save_job(job, path) == tmp_path / names[1]
    assert len(list(tmp_path.iterdir())) == 4


@pytest.mark.parametrize("text", [b"", b"{", b'{"version": 1}', b'{"format": "layoutkit-job"}'])
def test_what_is_no_record_of_version_1_is_not_kept(text: bytes, tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(text)
    assert save_job(load_job(FILES[0]), path) is None
    assert [p.name for p in tmp_path.iterdir()] == ["job.json"]


def test_a_folder_with_the_name_of_a_kept_text_is_passed_over(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(FILES[0].read_bytes())
    (tmp_path / "job.version1.json").mkdir()
    kept = save_job(load_job(path), path)
    assert kept == tmp_path / "job.version1.2.json"


@pytest.mark.parametrize(
    "command",
    [
        ("weigh", "{job}", "--top", "0.5", "--record"),
        ("axis", "-5 1/16, 4 11/16", "-3 1/8, 2 1/16", "-2 9/16, -3", "--job", "{job}", "--write"),
        ("new", "{job}", "--from", "{other}", "--force"),
        ("redrill", "{other}", "--out", "{job}", "--force"),
    ],
    ids=lambda command: str(command[0]),
)
def test_every_command_that_writes_a_record_keeps_version_1(
    command: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = FILES[0].read_bytes()
    job, other = tmp_path / "job.json", tmp_path / "other.json"
    for path in (job, other):
        path.write_bytes(before)
    assert main([word.format(job=job, other=other) for word in command]) in (0, 1, 3)
    assert json.loads(job.read_text(encoding="utf-8"))["version"] == 2
    assert "val_angle" not in job.read_text(encoding="utf-8")
    assert (tmp_path / "job.version1.json").read_bytes() == before
    assert other.read_bytes() == before
    told = capsys.readouterr().out
    assert "The record of version 1 that was there is kept as job.version1.json." in told


@pytest.mark.parametrize("source", ["file", "standard input"])
def test_an_error_of_the_plan_names_the_field_as_a_version_1_file_does(
    source: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def refuse(*_: Any) -> None:
        raise InputError("50 cannot be beside angle_at_pap.", "layout.angle_at_pin")

    monkeypatch.setattr("layoutkit.planning.plan.plan", refuse)
    monkeypatch.setattr("sys.stdin", TextIOWrapper(BytesIO(FILES[0].read_bytes())))
    path = str(FILES[0]) if source == "file" else "-"
    assert main(["plan", path, "--no-shop"]) == 2
    told = capsys.readouterr().err
    assert told == "layoutkit: layout.drilling_angle: 50 cannot be beside val_angle.\n"
