"""`layoutkit axis`: marks in, axis point out, and into a record."""

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import COMMANDS, main
from layoutkit.geometry.sphere import from_over_up, to_over_up, walk
from layoutkit.job.store import load_job

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_bowlers" / "track.txt"
MARKS = ("-5 1/16, 4 11/16", "-3 1/8, 2 1/16", "-2 9/16, -3", "-3 1/16, -5 3/16")

Run = Any


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*argv: str | Path) -> tuple[int, str, str]:
        code = main(["axis", *map(str, argv)])
        out, err = capsys.readouterr()
        return code, out, err

    return call


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.json"
    source = next((ROOT / "sample_bowlers").glob("01*.json"))
    path.write_bytes(source.read_bytes())
    return path


def test_marks_give_the_axis_point(run: Run) -> None:
    code, out, err = run(*MARKS)
    assert (code, err) == (0, "")
    assert "4 7/8 in over, 1/2 in up" in out
    told = json.loads(run(*MARKS, "--json")[1])
    assert told["pap"]["over"] == pytest.approx(4.875, abs=1 / 32)
    assert told["tilt"] == pytest.approx(12.0, abs=0.25)
    assert told["uncertainty"]["used"] == max(
        told["uncertainty"][kind]["most"] for kind in ("stated", "observed")
    )


def test_both_hands_get_the_same_numbers(run: Run) -> None:
    right, left = (json.loads(run(*MARKS, "--hand", h, "--json")[1]) for h in ("right", "left"))
    x, y, z = right["pap"]["xyz"]
    assert left["pap"]["xyz"] == [-x, y, z]
    assert right["tilt"] == left["tilt"]
    assert json.loads(run(*MARKS, "--hand", "LH", "--json")[1]) == left


def test_arcs_from_known_points_are_marks_too(run: Run) -> None:
    arcs = ("pin 5 11/16, grip 3", *MARKS, "--known", "pin = 1, 3", "--json")
    told = json.loads(run(*arcs)[1])
    assert told["pap"]["over"] == pytest.approx(4.875, abs=1 / 32)
    assert told["freedom"] == 2


def test_the_record_gets_the_pap_and_keeps_the_rest(run: Run, job: Path) -> None:
    before = json.loads(job.read_text())
    code, out, _ = run("--track", SAMPLE, "--job", job, "--write")
    after = json.loads(job.read_text())
    assert code == 0
    assert "written to" in out
    assert after["bowler"].pop("pap") == {"over": "4 7/8", "up": "1/2"}
    before["bowler"].pop("pap")
    assert after == before
    assert load_job(job).bowler.pap.over == 4.875
    assert [p.name for p in job.parent.iterdir()] == ["job.json"]


def test_a_pap_below_the_midline_is_written_as_down(run: Run, job: Path) -> None:
    # the track of the marks above mirrored at the midline
    marks = [re.sub(r", (-?)(.*)", lambda m: f", {'' if m[1] else '-'}{m[2]}", m) for m in MARKS]
    assert run(*marks, "--job", job, "--write")[0] == 0
    assert json.loads(job.read_text())["bowler"]["pap"] == {"over": "4 29/32", "down": "1/2"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "there are no marks"),
        (MARKS[:2], "only 2 marks"),
        ((*MARKS, "--write"), "give --job JOB too"),
        ((*MARKS, "--track", SAMPLE), "leave MARK and --known out"),
        ((*MARKS, "ring = second"), "has an ="),
        ((*MARKS, "--known", "pin"), "states no place"),
        ((*MARKS, "--standard-deviation", "3"), "--standard-deviation: "),
        ((*MARKS, "--tolerance", "3"), "--tolerance: "),
        ((*MARKS, "--diameter", "3"), "--diameter: "),
        (("--track", SAMPLE, "--hand", "left"), "they must agree"),
        (("0, 0", "0, 1", "0, 2"), "too close together"),
        ((*MARKS, "-4, 0"), "mixed"),
        (("--track", "none.txt"), "no such file"),
        ((*MARKS, "x"), "mark 5: "),
    ],
)
def test_bad_input_is_one_sentence(run: Run, words: tuple[str | Path, ...], told: str) -> None:
    code, out, err = run(*words)
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert told in err


def test_nothing_is_written_where_the_fit_or_the_record_is_refused(run: Run, job: Path) -> None:
    before = job.read_bytes()
    assert run(*MARKS, "-4, 0", "--job", job, "--write")[0] == 2
    assert job.read_bytes() == before
    # an axis at 8 1/2 over is farther than a record allows
    radius = 4.275
    axis = from_over_up(8.5, 0.0, radius)
    turns = [walk(axis, float(b), 7.0)[0] for b in (-140, -110, -80, -50)]
    far = ["{:.6f}, {:.6f}".format(*to_over_up(point, radius)) for point in turns]
    code, _, err = run(*far, "--job", job, "--write")
    assert code == 2
    assert "bowler.pap.over" in err
    assert job.read_bytes() == before
    job.write_text("{}")
    assert run(*MARKS, "--job", job, "--write")[0] == 2
    assert job.read_text() == "{}"


def test_neither_scipy_nor_matplotlib_is_loaded() -> None:
    code = (
        "import sys\nfrom layoutkit.commands.main import main\n"
        f"main(['axis', '--track', {str(SAMPLE)!r}])\n"
        "assert not {'scipy', 'matplotlib'} & set(sys.modules)\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT, capture_output=True)


def test_the_examples_in_the_help_work(run: Run, job: Path, monkeypatch: Any) -> None:
    import shlex

    monkeypatch.chdir(ROOT)
    for line in COMMANDS["axis"].example.splitlines():
        words = shlex.split(line)
        assert words[:2] == ["layoutkit", "axis"]
        code, _, err = run(*(str(job) if w == "job.json" else w for w in words[2:]))
        assert (code, err) == (0, "")
