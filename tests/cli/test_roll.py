"""`layoutkit roll`: a shot in text, JSON and pictures, and layouts compared."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from layoutkit.commands.main import main
from layoutkit.commands.roll import MOST_JOBS
from layoutkit.job.store import load_job

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "sample_bowlers").glob("*.json"))
OPEN = ("14", "15")  # these leave figures open, so `roll` refuses them
ONE, UP, DOWN = (next((ROOT / "sample_bowlers").glob(f"{n}*")) for n in ("01", "03", "04"))

Run = Any


# what the samples gave, as several tests look at the same shots
SEEN: dict[tuple[str, ...], tuple[int, str, str]] = {}


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*argv: str | Path, command: str = "roll") -> tuple[int, str, str]:
        words = (command, *map(str, argv))
        only_samples = all(p in SAMPLES for p in argv if isinstance(p, Path))
        if only_samples and words in SEEN:
            return SEEN[words]
        code = main(list(words))
        out, err = capsys.readouterr()
        if only_samples:
            SEEN[words] = code, out, err
        return code, out, err

    return call


@pytest.mark.parametrize(
    "path", [p for p in SAMPLES if not p.name.startswith(OPEN)], ids=lambda p: p.name[:2]
)
def test_every_whole_sample_rolls(path: Path, run: Run) -> None:
    fails = run(path, "--json", command="plan")[0]
    code, out, err = run(path)
    assert (code, err) == (fails, "")
    assert "it promises no score" in out
    assert max(map(len, out.splitlines())) <= 100
    told = json.loads(run(path, "--json")[1])
    assert (told["format"], told["version"]) == ("layoutkit-roll", 2)
    (shot,) = told["shots"]
    assert shot["hand"] == json.loads(path.read_text(encoding="utf-8"))["bowler"]["hand"]
    steps = shot["path"]
    assert len({len(steps[name]) for name in ("t", "x", "y", "board")}) == 1
    assert steps["x"][-1] == pytest.approx(60.0)
    sign = 1.0 if shot["hand"] == "right" else -1.0
    for y, board in zip(steps["y"], steps["board"], strict=True):
        assert y == pytest.approx(sign * (board - 20.0) * 41.5 / 39.0)
    if shot["flare"] is None:
        assert "flare cannot be computed" in " ".join(out.split())
    else:
        radius = load_job(path).ball.diameter / 2.0
        assert len(shot["flare"]["rings"]) > len(shot["flare"]["spacing"]) >= 3
        for pair in shot["flare"]["crossings"]:
            for point in pair:
                assert sum(v * v for v in point["xyz"]) ** 0.5 == pytest.approx(radius)


@pytest.mark.parametrize(("number", "field"), [("14", "bowler.pap"), ("15", "ball.top_weight")])
def test_a_sample_with_an_open_figure_is_refused(number: str, field: str, run: Run) -> None:
    (path,) = (p for p in SAMPLES if p.name.startswith(number))
    code, out, err = run(path)
    assert (code, out) == (2, "")
    assert err.startswith(f"layoutkit: {field}: missing")


def test_conventional_values_are_marked(run: Run) -> None:
    out = run(ONE)[1]
    assert "17.0 mph *" in out
    told = json.loads(run(ONE, "--speed", "15", "--json")[1])
    assert "speed" not in told["release"]["conventional"]
    assert "revs" in told["release"]["conventional"]
    out = run(UP)[1]
    assert "16.5 mph\n" in out
    assert "16.5 mph *" not in out


def test_options_replace_single_values(run: Run) -> None:
    told = json.loads(
        run(UP, "--speed", "15", "--revs", "-200", "--rotation", "30", "--tilt", "-5", "--board",
            "12", "--direction", "-1.5", "--oil-length", "44", "--oil", "0.03", "--dry", "0.25",
            "--json")[1]
    )  # fmt: skip
    assert told["release"] == {
        "speed": 15.0, "revs": -200.0, "axis_rotation": 30.0, "axis_tilt": -5.0, "board": 12.0,
        "direction": -1.5, "phase": 0.0, "conventional": ["phase"],
    }  # fmt: skip
    assert told["lane"] == {
        "oil_length": 44.0, "oil": 0.03, "dry": 0.25, "table": [], "conventional": [],
    }  # fmt: skip


def test_options_are_read_as_a_record_s_quantities_are(run: Run) -> None:
    written = run(UP, "--speed", "15,5 mph", "--tilt", "-5°", "--board", "12½", "--json")[1]
    plain = run(UP, "--speed", "15.5", "--tilt", "-5", "--board", "12.5", "--json")[1]
    assert written == plain


def test_an_option_replaces_a_table(run: Run) -> None:
    tabled = next((ROOT / "sample_bowlers").glob("08*"))
    assert "30.0 ft  0.045" in run(tabled)[1]
    out = run(tabled, "--oil", "0.03")[1]
    assert "friction on the oil  0.03\n" in out
    assert "0.045" not in out


def test_others_are_rolled_under_the_first_one_s_release(run: Run) -> None:
    code, out, _ = run(UP, "--against", DOWN, ONE)
    assert code == 0
    assert "2 LESS 1" in out
    assert "3 LESS 1" in out
    told = json.loads(run(UP, "--against", DOWN, "--json")[1])
    first, second = told["shots"]
    (compared,) = told["comparison"]
    rows = {row["name"]: row for row in compared["differences"]}
    assert compared["shot"] == 1
    assert rows["board at the pins"]["value"] == pytest.approx(
        second["board_at_pins"] - first["board_at_pins"]
    )
    assert second["path"]["board"][0] == first["path"]["board"][0] == told["release"]["board"]
    same = json.loads(run(UP, "--against", UP, "--json")[1])["comparison"][0]["differences"]
    assert all(row["value"] == row["uncertainty"] == 0.0 for row in same)
    assert "the same" in run(UP, "--against", UP)[1]


def test_aim_rolls_into_the_pocket(run: Run) -> None:
    told = json.loads(run(UP, "--aim", "--between", "20", "30", "--breakpoint", "9", "--json")[1])
    (found,) = told["aims"]
    assert found["why"] == ""
    assert told["shots"][0]["board_at_pins"] == pytest.approx(17.5, abs=1e-3)
    assert told["release"]["board"] == found["aim"]["board"]
    assert told["release"]["conventional"] == ["phase"]
    out = run(UP, "--aim")[1]
    assert "AIM (into the pocket" in out
    # a right-handed bowler who starts a board farther left sends the ball to the right
    assert "a board of feet*        3.0 right" in out
    assert "AIM" not in run(UP)[1]
    out = run(UP, "--aim", "--breakpoint", "1")[1]
    assert "A breakpoint on board 1 cannot be reached" in " ".join(out.split())


def test_both_balls_roll_from_the_first_one_s_aim_and_the_second_has_its_own(run: Run) -> None:
    left = next((ROOT / "sample_bowlers").glob("02*"))
    told = json.loads(run(left, "--against", ONE, "--json")[1])
    one, two = (each["aim"] for each in told["aims"])
    first, second = told["shots"]
    assert first["board_at_pins"] == pytest.approx(17.5, abs=1e-3)
    assert first["path"]["board"][0] == second["path"]["board"][0] == one["board"]
    out = run(left, "--against", ONE)[1]
    # boards count from a left-handed bowler's left
    assert two["board"] > one["board"]
    assert (
        f"start, against 1        -                   {two['board'] - one['board']:.1f} right"
        in out
    )
    assert "a board of feet*        3.0 left" in out
    assert "direction" in told["release"]["conventional"]


def test_why_says_what_is_behind_a_comparison(run: Run) -> None:
    told = json.loads(run(UP, "--against", DOWN, "--json")[1])
    out = " ".join(run(UP, "--against", DOWN)[1].split())
    assert len(told["why"]) == 2
    assert "both flare past their own track" in out
    moved = told["sensitivity"]["friction"]
    more = json.loads(run(UP, "--oil", "0.05", "--json")[1])["shots"][0]["board_at_pins"]
    assert moved == pytest.approx(more - told["shots"][0]["board_at_pins"], abs=1e-6)
    sentence = (
        "Friction and release matter more than this layout: a change of 0.01 in friction moves"
    )
    assert f"{sentence} it {abs(moved):.1f} boards" in out
    same = " ".join(run(UP, "--against", UP)[1].split())
    assert "they cannot be told apart; flare and RG are what differs" in same


def test_a_plan_that_fails_makes_the_exit_code(run: Run) -> None:
    fails = next((ROOT / "sample_bowlers").glob("07*"))
    assert run(UP, "--against", fails)[0] == 1
    assert run(fails)[0] == 1


def test_metric_text_has_metric_lengths_and_speeds(run: Run) -> None:
    out = run(UP, "--units", "metric")[1]
    assert "26.6 km/h" in out  # 16.5 mph
    assert "12.50 m" in out  # 41 ft
    assert " ft" not in out
    assert "mph" not in out


@pytest.mark.parametrize(
    ("argv", "told"),
    [
        (("--speed", "0"), '--speed: "0" is outside 5 to 40 mph'),
        (("--revs", "many"), '--revs: "many" is not a number; possible: -800 to 800 rpm'),
        (("--revs", "nan"), '--revs: "nan" is not a number'),
        (("--tilt", "91"), '--tilt: "91" is outside'),
        (("--oil", "1.1"), '--oil: "1.1" is outside 0 to 1'),
        (("--png", "x.jpg"), "--png: \"x.jpg\" is no PNG name; possible: OUT.png"),
        (("--pdf", "x.png"), "is no PDF name"),
        (("--against", "-"), "standard input"),
        (("--breakpoint", "8"), "--breakpoint: it is where --aim looks for a line; give --aim too"),
        (("--aim", "--board", "20"), "--board: --aim finds board and direction itself"),
        (("--aim", "--between", "20", "15"), "--between: 20 is above 15"),
        (("--aim", "--between", "0", "15"), '--between: "0" is outside 1 to 39 boards'),
        (("--against", "nowhere.json"), "nowhere.json"),
    ],
)  # fmt: skip
def test_bad_input_is_one_sentence(argv: tuple[str, ...], told: str, run: Run) -> None:
    code, out, err = run(UP, *argv)
    assert (code, out) == (2, "")
    assert told in err
    assert err.count("\n") == 1


def test_too_many_jobs_are_refused(run: Run) -> None:
    assert "too many" in run(UP, "--against", *[DOWN] * MOST_JOBS)[2]
    code, out, _ = run(UP, "--against", *[DOWN] * (MOST_JOBS - 1))
    assert code == 0
    assert max(map(len, out.splitlines())) <= 120


def test_pictures_are_written_whole(run: Run, tmp_path: Path) -> None:
    png, pdf = tmp_path / "roll.png", tmp_path / "roll.pdf"
    code, out, _ = run(UP, "--against", DOWN, "--png", png, "--pdf", pdf)
    assert code == 0
    assert f"Picture written to {png}" in out
    assert png.read_bytes().startswith(b"\x89PNG")
    assert pdf.read_bytes().startswith(b"%PDF")
    before = pdf.read_bytes()
    run(UP, "--against", DOWN, "--pdf", pdf)
    assert pdf.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["roll.pdf", "roll.png"]


def test_a_picture_never_replaces_a_record(run: Run, tmp_path: Path) -> None:
    job = tmp_path / "job.png"
    job.write_bytes(UP.read_bytes())
    code, _, err = run(UP, "--against", job, "--png", job)
    assert code == 2
    assert "read from" in err
    assert job.read_bytes() == UP.read_bytes()


def test_sheet_says_what_the_ball_does_on_the_lane(run: Run, tmp_path: Path) -> None:
    rolled = tmp_path / "rolled.pdf"
    assert run(ONE, "--sheet", rolled, "--roll", command="plan")[0] == 0
    assert "On the lane" in PdfReader(rolled).pages[-1].extract_text()
    code, _, err = run(ONE, "--roll", command="plan")
    assert code == 2
    assert "--sheet OUT.pdf" in err


def test_without_a_picture_no_drawing_library_is_imported() -> None:
    code = (
        "import sys; from layoutkit.commands.main import main; "
        f"main(['roll', {str(UP)!r}, '--against', {str(DOWN)!r}, '--json']); "
        "print([m for m in ('scipy', 'matplotlib', 'tkinter') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.splitlines()[-1] == "[]"
