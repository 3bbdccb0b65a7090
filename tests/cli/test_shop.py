"""`scale`, `shelf`, the recording `weigh`, and whose arm a plan takes."""

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import main
from layoutkit.job.record import parse_job
from layoutkit.job.store import load_job
from layoutkit.planning.plan import plan

ROOT = Path(__file__).parents[2]
SHELF = ROOT / "sample_bowlers" / "shelf.csv"
ANGLES = ROOT / "sample_bowlers" / "01_right_asymmetric.json"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Any:
    def call(*argv: str | Path) -> tuple[int, str, str]:
        code = main([str(word) for word in argv])
        out, err = capsys.readouterr()
        assert (code == 2) == bool(err)
        assert err.count("\n") == bool(err)
        return code, out, err

    return call


@pytest.fixture
def silent(record: dict[str, Any], tmp_path: Path) -> Path:
    """A job that states no arm."""
    del record["scale"]
    path = tmp_path / "silent.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    return path


# --- scale ----------------------------------------------------------------------------------------


def test_scale_keeps_the_arm_and_later_jobs_take_it(run: Any, silent: Path, no_shop: Path) -> None:
    assert run("scale")[1] == f"There is no shop's file yet; it would be {no_shop}.\n"
    assert not json.loads(run("plan", silent, "--json")[1])["statics"]["calibrated"]
    code, out, _ = run("scale", "--test", "2", "2.1", "--diameter", "8.5")
    assert code == 0
    assert not no_shop.exists()
    assert "Nothing was kept" in out
    run("scale", "--test", "2", "2.1", "--test", "60 g", "63 g", "--diameter", "8.5", "--save")
    # statics: R w / x = 4.25 * 2 / 2.1, and the same for 60 g of 63
    arm = 4.25 / 1.05
    assert json.loads(no_shop.read_text())["scale"]["arm"] == pytest.approx(arm, rel=1e-12)
    told = json.loads(run("plan", silent, "--json")[1])
    assert told["statics"]["calibrated"]
    assert told["statics"]["arm"] == pytest.approx(arm, rel=1e-12)
    assert "the shop's" in told["arm_from"]
    assert "shop.json" in told["arm_from"]
    assert "Arm calibrated: the shop's" in run("plan", silent, "--full")[1]
    assert "from 2 tests" in run("scale")[1]


def test_a_records_own_arm_comes_first_and_the_file_can_be_ignored(
    run: Any, silent: Path, record: dict[str, Any], tmp_path: Path, no_shop: Path
) -> None:
    run("scale", "--test", "2", "2.1", "--save")
    stated = tmp_path / "stated.json"
    stated.write_text(json.dumps(record | {"scale": {"arm": 3.9}}), encoding="utf-8")
    assert json.loads(run("plan", stated, "--json")[1])["statics"]["arm"] == 3.9
    ignored = json.loads(run("plan", silent, "--json", "--no-shop")[1])
    assert not ignored["statics"]["calibrated"]
    assert ignored["arm_from"] is None
    other = tmp_path / "other.json"
    run("scale", "--test", "2", "2.2", "--save", "--shop", other)
    named = json.loads(run("plan", silent, "--json", "--shop", other)[1])
    assert named["statics"]["arm"] == pytest.approx(4.275 / 1.1)
    assert "no such file" in run("plan", silent, "--shop", tmp_path / "none.json")[2]
    # the plan itself is a function of the job alone
    assert not plan(load_job(silent)).statics.calibrated


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        ("{", "JSON"),
        ('{"format": "layoutkit-job"}', "format"),
        ('{"format": "layoutkit-shop", "version": 2}', "version"),
        ('{"scale": {"arm": "long"}}', "scale.arm"),
        ('{"scale": {"arm": 15, "sd": 0, "date": "2026-01-01", "tests": []}}', "scale.arm"),
        ('{"more": 1}', "more"),
    ],
)
def test_a_shops_file_that_cannot_be_used_is_one_sentence(
    content: str, words: str, run: Any, silent: Path, no_shop: Path
) -> None:
    no_shop.parent.mkdir()
    no_shop.write_text(content, encoding="utf-8")
    code, out, err = run("plan", silent)
    assert (code, out) == (2, "")
    assert words in err
    assert "--no-shop" in err
    assert run("plan", silent, "--no-shop")[0] == 0
    assert run("scale", "--test", "2", "2", "--save")[0] == 2
    assert no_shop.read_text(encoding="utf-8") == content


@pytest.mark.parametrize(
    ("argv", "words"),
    [
        (("--test", "2", "none"), "--test 1"),
        (("--test", "0", "1"), "weight"),
        (("--test", "2", "-1"), "growth"),
        (("--test", "1", "0.2"), "1 to 14 in"),
        (("--test", "2", "2", "--diameter", "12"), "diameter"),
        (("--test", "2", "2", "--reading", "0"), "reading"),
        (("--save",), "nothing to keep"),
        (("--test", "2", "2", "--supports", "0.5"), "--supports"),
        (("--test", "2", "2", "--supports", "8", "--pan-lever", "6"), "--pan-lever"),
        (("--half-difference",), "give --test"),
        (("--jobs", "no-such-folder"), "no-such-folder"),
    ],
)
def test_scale_refuses_what_cannot_be(argv: tuple[str, ...], words: str, run: Any) -> None:
    code, out, err = run("scale", *argv)
    assert (code, out) == (2, "")
    assert words in err


def test_what_two_readings_mean_is_kept_with_the_arm_and_read_with_it(
    run: Any, silent: Path
) -> None:
    code, out, _ = run("scale", "--test", "2", "0.8", "--half-difference", "--save")
    assert code == 0
    assert "usual is" not in out  # an arm of 10.7 in takes up the scale's factor
    assert "half their difference is the weight" in run("scale")[1]
    # another calibration leaves it as it was
    assert run("scale", "--test", "2", "0.82", "--save")[0] == 0
    code, out, _ = run("weigh", silent, "--pair", "side", "1.10", "-0.42", "--json")
    assert code == 3
    assert json.loads(out)["measured"]["side_oz"] == pytest.approx(0.76)
    assert run("weigh", silent, "--pair", "side", "1.10", "-0.42", "--no-shop")[0] == 2


# --- weigh ----------------------------------------------------------------------------------------


def test_weigh_records_before_and_after_and_leaves_the_rest_as_written(
    run: Any, silent: Path
) -> None:
    before = json.loads(silent.read_text())
    weights = ("--top", "2.7", "--side", "-1/4", "--gross", "15 lb 2 oz")
    code, out, _ = run("weigh", silent, "--undrilled", *weights, "--record", "--by", "Demo")
    assert code == 0
    assert "nothing is judged" in out
    code, out, _ = run("weigh", silent, "--side", "0.4", "--record", "--date", "2026-11-25")
    assert code == 3
    assert "not weighed (gross, top, finger)" in " ".join(out.split())
    run("weigh", silent, "--top", "0.5", "--record", "--date", "2026-11-26")
    after = json.loads(silent.read_text())
    kept = after.pop("weighings")
    assert after == before
    assert kept["undrilled"]["side"] == -0.25
    assert kept["undrilled"]["gross"] == 15.125
    assert kept["undrilled"]["by"] == "Demo"
    assert kept["drilled"] == {"top": 0.5, "side": 0.4, "date": "2026-11-26"}
    # nothing given: what the record keeps is judged
    told = json.loads(run("weigh", silent, "--json")[1])
    assert told["measured"] == {"weight_lb": None, "top_oz": 0.5, "side_oz": 0.4, "finger_oz": None}
    # counted from the undrilled weighing: measured before, and the plan's change by drilling
    s = plan(load_job(silent)).statics
    assert told["from_undrilled"]["side_oz"] == pytest.approx(
        -0.25 + s.side_oz - s.undrilled.side_oz, abs=1e-12
    )
    assert "Weighed drilled on 2026-11-26" in " ".join(run("plan", silent)[1].split())


def test_weigh_records_nothing_unless_asked_or_where_it_is_refused(run: Any, silent: Path) -> None:
    before = silent.read_bytes()
    assert run("weigh", silent, "--side", "0.4")[0] == 3
    assert "nothing was measured" in run("weigh", silent)[2]
    assert "--record" in run("weigh", silent, "--record")[2]
    assert "--record" in run("weigh", silent, "--side", "1", "--by", "Demo")[2]
    assert "date" in run("weigh", silent, "--side", "1", "--record", "--date", "soon")[2]
    assert silent.read_bytes() == before


def test_weigh_still_fails_a_ball_beyond_its_limits(run: Any, silent: Path) -> None:
    code, out, _ = run("weigh", silent, "--side", "3.6", "--record")
    assert code == 1
    assert "NOT LEGAL as weighed (side)" in out


def test_a_record_from_standard_input_cannot_be_written(
    run: Any, silent: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stream = io.TextIOWrapper(io.BytesIO(silent.read_bytes()))
    monkeypatch.setattr(sys, "stdin", stream)
    assert "--record" in run("weigh", "-", "--side", "1", "--record")[2]


# --- fitted ---------------------------------------------------------------------------------------


def test_a_folder_of_weighed_jobs_is_fitted_and_taken_only_when_asked(
    run: Any, record: dict[str, Any], tmp_path: Path
) -> None:
    folder = tmp_path / "weighed"
    folder.mkdir()
    del record["scale"], record["ball"]["shell"], record["ball"]["filler_density"]
    for i, pin in enumerate((3.5, 4.0, 4.5, 5.0)):
        record["layout"]["pin_to_pap"] = pin
        # the truth: a scale with an arm of 3.8 in, and nothing else off
        s = plan(parse_job(record | {"scale": {"arm": 3.8}})).statics
        weights = {"top": s.top_oz, "side": s.side_oz, "finger": s.finger_oz, "gross": s.weight_lb}
        told = record | {"weighings": {"drilled": weights}}
        (folder / f"{i}.json").write_text(json.dumps(told), encoding="utf-8")
    (folder / "broken.json").write_text("{", encoding="utf-8")
    (folder / "not-weighed.json").write_text(json.dumps(record), encoding="utf-8")
    told = json.loads(run("scale", "--jobs", folder, "--save", "--json")[1])
    assert [u["name"] for u in told["unusable"]] == ["broken.json", "not-weighed.json"]
    arm = told["fit"]["arm"]
    assert abs(arm["value"] - 3.8) <= 2.0 * arm["sd"]
    error = told["fit"]["error_oz"]
    assert error["after"] < error["without"] < 0.5 * error["before"]
    text = run("scale", "--jobs", folder)[1]
    assert "job left out" in text
    assert "broken.json not used" in text
    job = folder / "not-weighed.json"
    assert not json.loads(run("plan", job, "--json")[1])["statics"]["calibrated"]
    fitted = json.loads(run("plan", job, "--json", "--fitted")[1])
    assert fitted["statics"]["arm"] == arm["value"]
    assert "fitted to 4 jobs" in fitted["arm_from"]
    assert "--fitted" in run("plan", job, "--fitted", "--no-shop")[2]


def test_too_few_weighed_jobs_are_refused(run: Any, tmp_path: Path) -> None:
    assert "at least 3" in run("scale", "--jobs", tmp_path)[2]


def test_what_two_readings_mean_comes_with_the_fitted_arm(
    run: Any, silent: Path, tmp_path: Path, no_shop: Path
) -> None:
    run("scale", "--test", "2", "2.1", "--pan-lever", "6", "--save")
    held = json.loads(no_shop.read_text())
    held["fitted"] = {
        "arm": 4.0, "arm_sd": 0.1, "shell_density": 1.2, "shell_density_sd": 0.05,
        "filler_shift": 0.0, "filler_shift_sd": 0.05, "jobs": 3, "date": "2026-11-25",
    }  # fmt: skip
    no_shop.write_text(json.dumps(held))
    pair = ("--pair", "side", "1.1", "-0.42", "--json")
    told = json.loads(run("weigh", silent, "--fitted", *pair)[1])
    # statics: the lever times half the difference, over the arm
    assert told["measured"]["side_oz"] == pytest.approx(6.0 * 0.76 / 4.0, rel=1e-12)


def test_a_scale_that_shows_half_the_difference_is_said_to_be_judged_in_its_own_ounces(
    run: Any, record: dict[str, Any], tmp_path: Path
) -> None:
    path = tmp_path / "half.json"
    for arm, other in ((8.55, True), (4.0, False)):
        record["scale"] = {"arm": arm, "reading": "half_difference"}
        path.write_text(json.dumps(record), encoding="utf-8")
        words = " ".join(json.loads(run("plan", path, "--json")[1])["cautions"])
        assert ("judged in what this scale shows" in words) == other
        # twice the radius: 15/4 of an arm of 8/15 R, twice one of R
        assert ("2.00 to 3.75 times as much" in words) == other


# --- shelf ----------------------------------------------------------------------------------------


def test_the_sample_shelf_is_ranked(run: Any) -> None:
    code, out, _ = run("shelf", ANGLES, SHELF, "--json")
    assert code == 0
    told = json.loads(out)
    assert len(told["ranked"]) == 5
    assert told["unusable"] == []
    order = [("pass", "close", "fail").index(r["outcome"]) for r in told["ranked"]]
    assert order == sorted(order)
    text = run("shelf", ANGLES, SHELF)[1]
    assert all(len(line) <= 110 for line in text.splitlines())
    for each in told["ranked"]:
        assert each["name"] in text


def test_balls_are_ranked_by_the_worst_of_the_arms_range_while_none_is_calibrated(
    run: Any, tmp_path: Path
) -> None:
    record = json.loads(ANGLES.read_text())
    del record["scale"]
    job = tmp_path / "silent.json"
    job.write_text(json.dumps(record), encoding="utf-8")
    balls = json.loads(run("shelf", job, SHELF, "--json")[1])["ranked"]
    # at the default arm ball A uses 38 % of a limit, at one end of the arm's range 49 %
    assert [ball["name"][11] for ball in balls[:2]] == ["D", "A"]
    for ball in balls:
        ends = [ball["range"][name] for name in ("top_oz", "side_oz", "finger_oz")]
        # USBC, in force 2020-08-01: 3 oz in each direction above 10 lb
        assert ball["limit_used"] == pytest.approx(max(abs(e) for each in ends for e in each) / 3.0)
    text = run("shelf", job, SHELF)[1]
    assert "arm is not calibrated: that share is the worst" in " ".join(text.split())
    assert "is not calibrated" not in run("shelf", ANGLES, SHELF)[1]


def test_each_ball_of_the_shelf_is_planned_as_its_own_job(
    run: Any, record: dict[str, Any], tmp_path: Path
) -> None:
    own = record["ball"]
    columns = ["name", "serial", "diameter", "weight", "top_weight", "pin_to_cg", "psa.distance",
               "ball.psa.cg_bearing", "rg_low", "differential", "intermediate_differential",
               "shell.thickness", "shell.density", "filler_density"]  # fmt: skip
    cells = [own["name"], own["serial"], "8.55", "15.12", "2 3/4", "3", "quarter", "20", "2.52",
             "0.05", "0.015", "3/4", "1.2", "0.7"]  # fmt: skip
    job = tmp_path / "job.json"
    job.write_text(json.dumps(record), encoding="utf-8")
    table = tmp_path / "one.csv"
    table.write_text(f"{','.join(columns)}\n{','.join(cells)}\n", encoding="utf-8")
    (ranked,) = json.loads(run("shelf", job, table, "--json")[1])["ranked"]
    alone = plan(parse_job(record))
    assert ranked["statics"]["side_oz"] == alone.statics.side_oz
    assert ranked["differential"] == alone.inertia.differential
    assert ranked["outcome"] == alone.outcome


def test_rows_that_cannot_be_used_are_told_and_the_others_still_ranked(
    run: Any, tmp_path: Path
) -> None:
    table = tmp_path / "balls.csv"
    table.write_text(
        "name,diameter,weight,top_weight,pin_to_cg,serial\n"
        "good,8.55,15.1,2.5,3,DEMO1\n"
        "heavy,8.55,150,2.5,3,DEMO2\n"
        "\n"
        "unfinished,8.55\n"
        "long,8.55,15.1,2.5,3,DEMO3,9\n"
        "words,round,15.1,2.5,3,DEMO4\n",
        encoding="utf-8",
    )
    code, out, _ = run("shelf", ANGLES, table, "--json")
    told = json.loads(out)
    assert code == 0
    assert [r["name"] for r in told["ranked"]] == ["good"]
    assert [(u["line"], u["name"]) for u in told["unusable"]] == [
        (3, "heavy"), (5, "unfinished"), (6, ""), (7, "words"),
    ]  # fmt: skip
    for each, word in zip(
        told["unusable"], ("ball.weight", "ball.weight", "7 cells", "ball.diameter"), strict=True
    ):
        assert word in each["reason"]


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "empty"),
        (
            "name,colour\na,b\n",
            'no column diameter; needed: name, diameter, weight; its other columns: "colour"',
        ),
        ("name,name\na,b\n", "twice"),
        ("name,weight\na,15\n", "no column diameter"),
        ("name,diameter,weight,top_weight,pin_to_cg\n", "no ball"),
        ("name,diameter,weight,top_weight,pin_to_cg\nonly,8.55,150,2,3\n", "no row can be used"),
        ('name,"diameter\n', "CSV"),
    ],
)
def test_tables_that_cannot_be_used(content: str, words: str, run: Any, tmp_path: Path) -> None:
    table = tmp_path / "balls.csv"
    table.write_text(content, encoding="utf-8")
    code, out, err = run("shelf", ANGLES, table)
    assert (code, out) == (2, "")
    assert words in err


def test_a_shops_own_table_is_read_and_its_other_columns_come_back(
    run: Any, tmp_path: Path
) -> None:
    table = tmp_path / "stock.csv"
    text = "Kugel;Maß;Gewicht;top_weight;pin_to_cg;price\nDemo;217,2;6,84;2,5;3;120,00\n"
    table.write_bytes(text.encode("cp1252"))
    columns = ("--columns", "Kugel=name,Maß=diameter mm,Gewicht=weight kg")
    code, out, _ = run("shelf", ANGLES, table, "--json", *columns)
    (ball,) = json.loads(out)["ranked"]
    assert code in (0, 1)
    assert ball["others"] == {"price": "120,00"}
    plain = tmp_path / "plain.csv"
    plain.write_text("name,diameter,weight,top_weight,pin_to_cg\nDemo,217.2 mm,6.84 kg,2.5,3\n")
    (same,) = json.loads(run("shelf", ANGLES, plain, "--json")[1])["ranked"]
    assert same == ball | {"others": {}}
    words = run("shelf", ANGLES, table, *columns)[1]
    assert "price 120,00" in words
    assert 'kept as they stand: "price"' in words


def test_a_shelf_on_which_every_ball_fails_ends_with_one(run: Any, tmp_path: Path) -> None:
    table = tmp_path / "balls.csv"
    table.write_text(
        "name,diameter,weight,top_weight,pin_to_cg\ntoo heavy,8.55,16.9,2.5,3\n", encoding="utf-8"
    )
    code, out, _ = run("shelf", ANGLES, table)
    assert code == 1
    assert "FAIL" in out
