"""`layoutkit redrill`: a drilled ball's record becomes that of a plugged one."""

import json
from pathlib import Path
from typing import Any

import pytest

from layoutkit import load_job, plan
from layoutkit.commands.main import main

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "sample_bowlers").glob("*.json"))

Run = Any


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*argv: str | Path) -> tuple[int, str, str]:
        code = main(["redrill", *map(str, argv)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.mark.parametrize(
    # an old hole is found from two marks, and demo 15 has none but the pin
    "path",
    [p for p in SAMPLES if not p.name.startswith("15")],
    ids=lambda p: p.stem,
)
def test_every_sample_with_a_mark_beside_the_pin_can_be_plugged(
    path: Path, run: Run, tmp_path: Path
) -> None:
    out = tmp_path / "again.json"
    code, told, err = run(path, "--out", out)
    assert (code, err) == (0, "")
    assert f"layoutkit plan {out}" in told
    assert "1.15 g/cm3 (common practice; see the resin maker's data sheet)" in told
    old, new = load_job(path), load_job(out)
    assert (new.bowler, new.ball, new.layout, new.scale) == (
        old.bowler,
        old.ball,
        old.layout,
        old.scale,
    )
    assert new.extra_holes is None
    assert new.weighings is None
    assert new.history is not None
    before = old.history.holes if old.history else ()
    assert new.history.holes[: len(before)] == before
    names = [hole.name for hole in new.history.holes]
    assert len(set(names)) == len(names)
    assert all(hole.plug is not None for hole in new.history.holes)
    assert "plugged" in new.notes
    assert old.notes in new.notes
    assert new.title.startswith("Plugged, to be drilled again: ")
    assert new.work is None or (new.work.order, new.work.ball_is) == (None, "plugged")
    assert plan(new).old_holes
    assert [p.name for p in tmp_path.iterdir()] == ["again.json"]


def test_a_sample_with_no_mark_but_the_pin_is_refused(run: Run, tmp_path: Path) -> None:
    (path,) = (p for p in SAMPLES if p.name.startswith("15"))
    code, told, err = run(path, "--out", tmp_path / "again.json")
    assert (code, told) == (2, "")
    assert err.startswith("layoutkit: ball.pin_to_cg: missing")
    assert not list(tmp_path.iterdir())


def test_the_density_is_the_one_given(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "again.json"
    code, told, _ = run(SAMPLES[0], "--out", out, "--density", "1.25")
    assert code == 0
    assert "plugged with 1.25 g/cm3." in told
    record = json.loads(out.read_text())
    assert {hole["plug"]["density"] for hole in record["history"]["holes"]} == {1.25}
    assert "1.25 g/cm3" in record["notes"]


def test_help_says_that_the_density_has_no_source(run: Run) -> None:
    assert "common practice" in run("--help")[1]


def test_an_existing_file_is_kept(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "again.json"
    out.write_text("mine")
    code, told, err = run(SAMPLES[0], "--out", out)
    assert (code, told) == (2, "")
    assert "exists already" in err
    assert out.read_text() == "mine"
    assert run(SAMPLES[0], "--out", out, "--force")[0] == 0
    assert load_job(out).history is not None


def test_the_old_record_is_never_replaced(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(SAMPLES[0].read_bytes())
    code, _, err = run(path, "--out", path, "--force")
    assert code == 2
    assert "old record itself" in err
    assert path.read_bytes() == SAMPLES[0].read_bytes()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--density", "9"), '--density: "9" is outside 0.1 to 5 g/cm3'),
        (("--density", "heavy"), '--density: "heavy" is not a number; possible: 0.1 to 5 g/cm3'),
        (("--density", "nan"), "--density"),
    ],
)
def test_bad_input_is_one_sentence(
    words: tuple[str, ...], told: str, run: Run, tmp_path: Path
) -> None:
    code, out, err = run(SAMPLES[0], "--out", tmp_path / "again.json", *words)
    assert (code, out) == (2, "")
    assert told in err
    assert len(err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_out_is_needed_and_must_be_writable(run: Run, tmp_path: Path) -> None:
    assert run(SAMPLES[0])[0] == 2
    code, _, err = run(SAMPLES[0], "--out", tmp_path / "none" / "again.json")
    assert code == 2
    assert "cannot be written" in err


def test_a_ball_with_too_many_holes_is_refused(run: Run, tmp_path: Path) -> None:
    data = json.loads(SAMPLES[0].read_text())
    hole = {"from_pin": 3, "diameter": 1, "depth": 1, "plug": {"density": 1.15}}
    data["history"] = {"holes": [hole | {"name": f"{n}", "bearing": 18 * n} for n in range(18)]}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(data))
    code, _, err = run(path, "--out", tmp_path / "again.json")
    assert code == 2
    assert "21 old holes; possible: up to 20" in err
    assert not (tmp_path / "again.json").exists()


def test_a_hole_beyond_what_a_record_holds_is_refused(run: Run, tmp_path: Path) -> None:
    """Of a slanted oval the bores at its higher end are deeper than its middle."""
    data = json.loads(SAMPLES[0].read_text())
    oval = {"length": "1 3/4", "direction": 0}
    pitch = {"reverse": 1}
    data["bowler"]["grip"]["thumb"] = {"diameter": 1, "depth": 6, "pitch": pitch, "oval": oval}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(data))
    code, _, err = run(path, "--out", tmp_path / "again.json")
    assert code == 2
    assert "the thumb hole as an old one: depth: 6.0" in err
    assert "in is outside 0 to 6 in" in err
    assert len(err.splitlines()) == 1
    assert not (tmp_path / "again.json").exists()
