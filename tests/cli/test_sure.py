"""The commands sure, change and map."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path

import numpy as np
import pytest

from layoutkit import load_job, parse_job, plan
from layoutkit.commands.main import main
from layoutkit.output import maps
from layoutkit.planning import changes

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
GOOD, BAD = (str(SAMPLES / n) for n in ("01_right_asymmetric.json", "07_fails_statics.json"))


@pytest.fixture(autouse=True)
def all_the_time_of_the_world(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a search finds here does not hang on how busy the computer is."""
    monkeypatch.setattr(changes, "LONGEST", math.inf)


def test_sure_tells_value_uncertainty_and_chance(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sure", GOOD, "--draws", "200"]) == 0
    text = capsys.readouterr().out
    assert "0.54 +/- 0.31 oz" in text
    assert "scale reading" in text
    assert "Chance that the event's scale reads beyond the limit" in text


def test_sure_as_json_and_a_failing_plan(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sure", BAD, "--json", "--draws", "200"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert found["chances"]["side_oz"]["chance"] > 0.9
    assert found["figures"]["side_oz"]["uncertainty"] > 0.25
    assert found["tolerances"]["marks"] == 0.0625
    for figure in found["figures"].values():
        assert sum(figure["shares"].values()) == pytest.approx(1.0)


def test_nothing_is_to_be_changed_on_a_ball_that_passes(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["change", GOOD]) == 0
    assert "Nothing" in capsys.readouterr().out


def test_change_tells_each_kind_and_its_cost_and_balls_of_the_shelf(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A ball that differs in one figure costs that difference over its tolerance, squared."""
    table = tmp_path / "balls.csv"
    head = "name,serial,diameter,weight,top_weight,pin_to_cg,psa.distance,rg_low,differential,"
    same = ",8.55,15.2,{},4 1/2,quarter,2.5,0.048,0.012"
    rows = [n + ",S" + same.format(t) for n, t in (("Far", 2.5), ("Near", 3.25), ("As bad", 5.0))]
    rows.append("No label,S,8.55,,,,,,,")
    table.write_text("\n".join([head + "intermediate_differential", *rows]) + "\n")
    assert main(["change", BAD, "--json", "--shelf", str(table)]) == 1
    found = json.loads(capsys.readouterr().out)
    kinds = [c["kind"] for c in found["changes"]]
    assert kinds == ["both angles", "pin to PAP", "mixed"]
    assert all(c["cost"] > 0.0 and c["outcome"] == "pass" for c in found["changes"])
    assert [b["name"] for b in found["balls"]] == ["Near", "Far"]
    assert found["balls"][0]["by"] == {"top_weight": pytest.approx(-1.75)}
    assert found["balls"][0]["cost"] == pytest.approx((1.75 / 0.25) ** 2)
    assert found["balls"][1]["cost"] == pytest.approx((2.5 / 0.25) ** 2)
    assert [u["name"] for u in found["unusable"]] == ["No label"]
    for told in found["balls"]:
        ball = {**json.loads(Path(BAD).read_text())["ball"], "top_weight": 5.0}
        ball["top_weight"] += told["by"]["top_weight"]
        again = plan(parse_job({**json.loads(Path(BAD).read_text()), "ball": ball}))
        assert again.outcome == told["outcome"] == "pass"
        assert again.statics.side_oz == pytest.approx(told["statics"]["side_oz"])
    assert main(["change", BAD, "--shelf", str(table)]) == 1
    text = capsys.readouterr().out
    assert "during competition" in text
    assert "1. Near: top weight -1.75 oz\n" in text
    assert "It does not pass on 1 of 3." in text
    assert main(["change", BAD, "--shelf", str(tmp_path / "none.csv")]) == 2


def test_map_writes_a_picture(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "m.pdf"
    assert main(["map", BAD, "--out", str(out), "--step", "5", "--angle-at-pin", "20:80"]) == 1
    assert out.read_bytes().startswith(b"%PDF")
    text = capsys.readouterr().out
    assert "layouts in" in text
    assert "promises nothing" in text


@pytest.mark.parametrize(
    "more",
    [
        ["--out", "m.gif"],
        ["--out", "m.png", "--pin-to-pap", "3:5"],
        ["--out", "m.pdf", "--angle-at-pap", "80:10"],
        ["--out", "m.pdf", "--angle-at-pap", "x:10"],
        ["--out", "m.pdf", "--step", "0"],
        ["--out", "m.pdf", "--step", "nan"],
        ["--out", "m.pdf", "--angle-at-pin", "20 in:80"],
        ["--out", "m.pdf", "--pin-to-pap", "43/8"],
        ["--out", "m.pdf", "--pin-to-pap", "3:99"],
        ["--out", "m.pdf", "--step", "0.1", "--angle-at-pap=-180:180", "--angle-at-pin=-180:180"],
    ],
)
def test_map_refuses_in_one_sentence(
    more: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["map", GOOD, *more]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert len(told.err.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_draws_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sure", GOOD, "--draws", "3"]) == 2
    assert "100 to 100000" in capsys.readouterr().err


def test_the_map_has_its_figures_in_place() -> None:
    """A page's grid is turned the right way: row by angle at the PAP, column by angle at the pin."""
    now = plan(load_job(GOOD))
    ranges = maps.Ranges(
        np.array([20.0, 50.0, 80.0]), np.array([35.0, 60.0]), np.array([3.0, now.layout.pin_to_pap])
    )
    found = maps.layout_map(now, ranges)
    assert found.grid("side_oz", 1).shape == (2, 3)
    assert now.layout.angle_at_pin == pytest.approx(50.0)
    assert now.layout.angle_at_pap == pytest.approx(35.0)
    assert found.grid("side_oz", 1)[0, 1] == pytest.approx(now.statics.side_oz, abs=1e-3)


def test_progress_is_told_to_the_end() -> None:
    now = plan(load_job(GOOD))
    d = maps.stepped(0.0, 90.0, 0.5)
    heard: list[tuple[int, int]] = []
    maps.layout_map(
        now, maps.Ranges(d, d, np.array([3.0])), lambda done, whole: heard.append((done, whole))
    )
    assert heard[-1] == (len(d) ** 2, len(d) ** 2)
    assert [h[0] for h in heard] == sorted(h[0] for h in heard)


def test_the_map_over_the_surface_is_a_picture_of_the_ball(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "m.png"
    assert main(["map", BAD, "--surface", "--out", str(out)]) == 1
    assert out.read_bytes().startswith(b"\x89PNG")
    text = capsys.readouterr().out
    assert re.search(r"[0-9]+ places of the pin: [0-9]+ fail the rules or ruin the ball", text)
    assert "72 bearings at the pin" in text


def test_the_map_over_the_surface_takes_no_ranges_of_angles(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "m.pdf"
    assert main(["map", BAD, "--surface", "--out", str(out), "--angle-at-pin", "20:40"]) == 2
    assert "--angle-at-pin: is for the map of angles" in capsys.readouterr().err
    assert not out.exists()
