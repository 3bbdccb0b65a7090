"""Many jobs in one call: which files are meant, a line each, what goes on after a bad one."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import main

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
PASSES, FAILS, UNKNOWN = (next(SAMPLES.glob(f"{number}_*.json")) for number in ("01", "08", "15"))
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: object) -> tuple[int, str, str]:
        code = main([str(word) for word in words])
        return code, *capsys.readouterr()

    return call


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    """A folder with a job that passes, a weighed one that fails, one left open, and no job."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    for name, source in (("a", PASSES), ("b", FAILS), ("c", UNKNOWN)):
        shutil.copy(source, folder / f"{name}.json")
    (folder / "broken.json").write_text("{")
    (folder / "a.version1.json").write_text("{}")  # an old record that is kept beside its new one
    (folder / "notes.txt").write_text("no record")
    return folder


def lines(out: str) -> dict[str, str]:
    """The rest of each job's line by its file's name."""
    told = [line.split(None, 1) for line in out.splitlines() if ".json" in line.split(" ")[0]]
    return {Path(name).name: rest for name, rest in told}


def test_a_folder_is_one_line_a_job_and_a_bad_file_stops_nothing(run: Run, jobs: Path) -> None:
    code, out, err = run("plan", jobs)
    told = lines(out)
    assert (code, err) == (2, "")
    assert list(told) == ["a.json", "b.json", "broken.json", "c.json"]
    assert told["a.json"].startswith("pass ")
    assert told["b.json"].startswith("FAIL ")
    assert told["b.json"].endswith("(finger)")
    assert told["broken.json"].startswith("UNUSABLE ")
    assert told["c.json"].startswith("INCOMPLETE ")
    assert "side not known" in told["c.json"]
    assert out.endswith("\n4 jobs: 1 pass, 1 fail, 1 unusable, 1 incomplete.\n")


def test_each_line_of_json_is_the_jobs_own(run: Run, jobs: Path) -> None:
    code, out, _ = run("plan", jobs / "a.json", jobs / "broken.json", jobs / "b.json", "--json")
    first, bad, last = map(json.loads, out.splitlines())
    assert code == 2
    for told, name in ((first, "a.json"), (last, "b.json")):
        alone = json.loads(run("plan", jobs / name, "--json")[1])
        assert told == {"file": str(jobs / name), **alone}
    assert list(bad) == ["file", "error"]


@pytest.mark.parametrize(
    ("words", "names"),
    [
        (["a.json", "a.json"], ["a.json"]),
        (["*.json"], ["a.json", "b.json", "broken.json", "c.json"]),
        (["[bc].json", "a.json"], ["b.json", "c.json", "a.json"]),
        (["../**/?.json"], ["a.json", "b.json", "c.json"]),
        (["a.j*"], ["a.json"]),  # a pattern makes a line, whatever it comes to
    ],
)
def test_patterns_are_expanded_and_a_file_is_done_once(
    words: list[str], names: list[str], run: Run, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(jobs)
    assert list(lines(run("plan", *words)[1])) == names


def test_the_exit_code_is_the_worst_jobs(run: Run, jobs: Path) -> None:
    a, b, c = (jobs / f"{name}.json" for name in "abc")
    assert run("plan", a, c)[0] == 3
    assert run("plan", c, b, a)[0] == 1
    assert run("plan", c, b, jobs / "none.json")[0] == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["weigh", "b.json"], "FAIL        side +0.15 oz, finger +1.35 oz"),
        (["roll", "a.json"], "at the pins, entry angle"),
        (["sure", "b.json", "--draws", "100"], "FAIL        illegal with a chance of 100 %"),
        (["sure", "c.json", "--draws", "100"], "INCOMPLETE  a figure is missing"),
        (["change", "a.json"], "pass        no change is needed"),
        (["map", "a.json", "--out", ".", "--pin-to-pap", "4", "--step", "30"], " layouts: "),
    ],
)
def test_every_command_has_its_line(
    words: list[str], said: str, run: Run, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(jobs)
    written: list[str] = []
    monkeypatch.setattr("layoutkit.output.maps.write", lambda drawn, path: written.append(path))
    command, good, *rest = words
    code, out, _ = run(command, good, "broken.json", *rest)
    told = lines(out)
    assert code == 2
    assert said in told[good]
    assert told["broken.json"].startswith("UNUSABLE ")
    assert [Path(path).name for path in written] == (["a.map.pdf"] if command == "map" else [])


@pytest.mark.parametrize(
    ("words", "whats"),
    [(["--pin-to-pap", "4", "--step", "30"], ["layouts"]), (["--surface"], ["places", "bearings"])],
)
def test_maps_of_many_jobs_are_lines_of_json(
    words: list[str], whats: list[str], run: Run, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(jobs)
    for drawer in ("maps", "surface_map"):
        monkeypatch.setattr(f"layoutkit.output.{drawer}.write", lambda drawn, path: None)
    code, out, _ = run("map", "a.json", "b.json", "--out", ".", "--json", *words)
    assert code == 1  # b fails
    for line, outcome in zip(map(json.loads, out.splitlines()), ("pass", "fail"), strict=True):
        assert line["outcome"] == outcome
        for what in whats:
            counts = line[what]
            assert set(counts) == {"all", "fail", "close"}
            assert counts["fail"] + counts["close"] <= counts["all"]
            assert counts["all"] > 15


def test_files_of_many_jobs_go_into_a_folder(
    run: Run, jobs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        "layoutkit.output.card.write_card",
        lambda plan, path, *_: Path(path).write_text(plan.job.title, encoding="utf-8"),
    )
    cards = tmp_path / "cards"
    cards.mkdir()
    both = (jobs / "a.json", jobs / "b.json")
    assert run("plan", *both, "--card", cards)[0] == 1
    assert sorted(file.name for file in cards.iterdir()) == ["a.card.pdf", "b.card.pdf"]
    assert (cards / "a.card.pdf").read_text() == json.loads(PASSES.read_text())["title"]
    code, out, err = run("plan", *both, "--card", cards / "card.pdf")
    assert (code, out) == (2, "")
    assert "is no folder" in err
    other = tmp_path / "a.json"
    shutil.copy(PASSES, other)
    assert "would both be written" in run("plan", jobs / "a.json", other, "--sheet", cards)[2]
    assert len(list(cards.iterdir())) == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "--full"], "--full: is for one job"),
        (["plan", "--confirm", "bowler.grip.bridge"], "--confirm: is for one job"),
        (["weigh", "--top", "1"], "--top: is for one job"),
        (["weigh", "--record"], "--record: is for one job"),
        (["plan", "-"], "give it alone"),
        (["plan", "no*.json"], "no file matches it"),
        (["plan", "empty"], "is a directory with no .json file"),
    ],
)
def test_what_is_for_one_job_is_refused(
    words: list[Any], said: str, run: Run, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (jobs / "empty").mkdir()
    monkeypatch.chdir(jobs)
    code, out, err = run(*words, "a.json", "b.json")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err


def test_quiet_leaves_the_errors_and_the_exit_code(run: Run, jobs: Path) -> None:
    code, out, err = run("plan", jobs / "a.json", jobs / "broken.json", "--quiet")
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert "broken.json: " in err


def test_an_error_of_the_program_stops_only_its_job(
    run: Run, jobs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from layoutkit.planning import plan as planning

    whole = planning.plan

    def breaking(job: Any, rules: Any = None) -> Any:
        if job.ball.serial == json.loads(PASSES.read_text())["ball"]["serial"]:
            raise RuntimeError("a planted one")
        return whole(job, rules)

    monkeypatch.setattr(planning, "plan", breaking)
    code, out, _ = run("plan", jobs / "a.json", jobs / "b.json")
    told = lines(out)
    assert code == 70
    assert "what happened is in" in told["a.json"]
    assert told["b.json"].startswith("FAIL ")
