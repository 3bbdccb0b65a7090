"""Records that leave the PAP, the pin-to-CG distance or the top weight open, through every command."""

import json
import math
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest

from layoutkit import load_job, parse_job, plan
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc
from layoutkit.output.report import report
from layoutkit.planning.marking import landed
from layoutkit.planning.unknown import FIELDS, open_fields, unknown

ROOT = Path(__file__).parents[2]
WITH_PSA, WITHOUT_PSA = (
    next((ROOT / "sample_bowlers").glob(f"{number}*")) for number in ("01", "04")
)
OPEN = [each for n in (1, 2, 3) for each in combinations(FIELDS, n)]
NAMES = {each: "+".join(field.rpartition(".")[2] for field in each) for each in OPEN}

Record = dict[str, Any]


def record(source: Path, *fields: str) -> Record:
    """A sample by placement, with some fields null."""
    made: Record = json.loads(source.read_text())
    made["layout"] = {"by": "placement", "pin": {"over": "1 3/4", "up": "3"}, "bearing": 168}
    made.pop("release", None)
    for field in fields:
        part, _, name = field.rpartition(".")
        made[part][name] = None
    return made


def plain(made: Record) -> Record:
    """The plan of a record as a reader of its JSON has it."""
    found: Record = json.loads(json.dumps(plan(parse_job(made)).as_dict()))
    return found


@pytest.fixture(params=[WITH_PSA, WITHOUT_PSA], ids=["psa", "no psa"])
def source(request: pytest.FixtureRequest) -> Path:
    path: Path = request.param
    return path


@pytest.mark.parametrize("fields", OPEN, ids=NAMES.get)
def test_what_hangs_on_an_open_figure_is_null(source: Path, fields: tuple[str, ...]) -> None:
    whole, found = plain(record(source)), plain(record(source, *fields))
    no_pap, no_cg = "bowler.pap" in fields, "ball.pin_to_cg" in fields
    no_weights = no_cg or "ball.top_weight" in fields
    marks, layout, distances = found["marks"], found["layout"], found["distances"]
    psa = marks["psa"] is not None
    assert psa == (source == WITH_PSA)
    assert (marks["pap"] is None, marks["cg"] is None) == (no_pap, no_cg)
    for name in ("pin_to_pap", "angle_at_pap", "pin_to_val"):
        assert (layout[name] is None) == no_pap
    assert (layout["bearing"] is None) == (no_cg and not psa)
    assert (layout["angle_at_pin"] is None) == (no_pap or (no_cg and not psa))
    assert (layout["psa_to_pap"] is None) == (no_pap or not psa)
    assert (distances["pin_to_cg"] is None, distances["cg_to_grip_center"] is None) == (no_cg,) * 2
    assert (distances["cg_to_pap"] is None) == (no_cg or no_pap)
    assert all((hole["from_cg"] is None) == no_cg for hole in found["holes"])
    statics = found["statics"]
    for name in ("side_oz", "finger_oz", "top_oz"):
        places = (statics, statics["undrilled"], statics["range"])
        assert [place[name] is None for place in places] == [no_weights] * 3
        assert math.isfinite(statics["change"][name])
    incomplete = {c["name"] for c in found["checks"] if c["outcome"] == "incomplete"}
    assert incomplete == ({"top", "side", "finger"} if no_weights else set())
    for each in found["checks"]:
        if each["name"] in incomplete:
            assert (each["value"], each["band"]) == (None, None)
    if not no_weights:
        assert statics == whole["statics"]


@pytest.mark.parametrize("fields", OPEN[1:], ids=NAMES.get)
def test_without_its_imbalance_a_ball_is_drilled_as_a_balanced_one(
    source: Path, fields: tuple[str, ...]
) -> None:
    balanced = record(source)
    balanced["ball"]["top_weight"] = 0
    want, found = plan(parse_job(balanced)), plan(parse_job(record(source, *fields)))
    assert found.statics.removed_oz == pytest.approx(want.statics.removed_oz, abs=1e-9)
    assert found.statics.change == pytest.approx(want.statics.change, abs=1e-9)
    assert found.inertia[:5] == pytest.approx(want.inertia[:5], abs=1e-9)
    assert found.inertia.undrilled == pytest.approx(want.inertia.undrilled, abs=1e-9)
    assert any("core is taken as centred" in caution for caution in found.cautions)


def test_open_figures_leave_the_layers_as_an_ordinary_label_has_them() -> None:
    # on this label the convention takes the 1/2 in shell for 3 oz, and the 3/4 in one below that
    made = record(WITHOUT_PSA)
    made["ball"] |= {"weight": 15, "rg_low": 2.54, "differential": 0.06}
    for name in ("shell", "filler_density"):
        made["ball"].pop(name, None)

    def core(**figures: float | None) -> Any:
        return plan(parse_job({**made, "ball": {**made["ball"], **figures}})).core

    ordinary, light = core(top_weight=3.0), core(top_weight=0.0)
    assert ordinary.filler_density > light.filler_density + 0.1
    assert core(top_weight=None) == core(top_weight=None, pin_to_cg=None) == ordinary
    # where the CG mark lies does not change how far off centre the core is
    assert core(top_weight=3.0, pin_to_cg=None) == ordinary
    assert core(top_weight=0.0, pin_to_cg=None) == light


@pytest.mark.parametrize("fields", OPEN, ids=NAMES.get)
def test_every_command_works_or_names_what_is_missing(
    source: Path, fields: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, table = tmp_path / "job.json", ROOT / "sample_bowlers" / "shelf.csv"
    job.write_text(json.dumps(record(source, *fields)))
    no_weights = fields != ("bowler.pap",)
    judged = 3 if no_weights else plan_code(job)
    no_line = "ball.pin_to_cg" in fields and source == WITHOUT_PSA
    calls = (
        (judged, ["plan", "--json"]),
        (judged, ["plan", "--units", "metric"]),
        (judged, ["sure", "--draws", "100"]),
        (2 if no_weights else judged, ["change"]),
        (2, ["map", "--out", str(tmp_path / "map.pdf")]),
        (2, ["roll"]),
        (2 if no_line else 0, ["redrill", "--out", str(tmp_path / "again.json")]),
        (3, ["weigh", "--gross", "15", "--top", "1"]),
        (0, ["weigh", "--gross", "15", "--top", "1", "--side", "0.2", "--finger", "0.1"]),
    )
    for code, (name, *rest) in calls:
        shop = [] if name == "redrill" else ["--no-shop"]
        found = main([name, str(job), *rest, *shop])
        told = capsys.readouterr()
        assert (name, found) == (name, code), told.err
        if code == 2:
            assert told.out == ""
            assert any(told.err.startswith(f"layoutkit: {field}: missing") for field in fields)
    assert main(["shelf", str(job), str(table), "--no-shop"]) in (0, 1, 3)


def plan_code(job: Path) -> int:
    return {"fail": 1, "incomplete": 3}.get(plan(load_job(job)).outcome, 0)


@pytest.mark.parametrize("fields", [OPEN[0], OPEN[-1]], ids=NAMES.get)
def test_the_sheet_is_made(source: Path, fields: tuple[str, ...], tmp_path: Path) -> None:
    job, sheet = tmp_path / "job.json", tmp_path / "job.pdf"
    job.write_text(json.dumps(record(source, *fields)))
    assert main(["plan", str(job), "--no-shop", "--sheet", str(sheet)]) in (0, 3)
    assert sheet.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize("field", FIELDS)
@pytest.mark.parametrize("by", ["angles", "distances"])
def test_another_layout_than_a_placement_is_refused(field: str, by: str) -> None:
    made = record(WITH_PSA, field)
    made["layout"] = {"by": "angles", "angle_at_pin": 50, "pin_to_pap": 4.5, "angle_at_pap": 35}
    if by == "distances":
        made["layout"] = {"by": by, "pin_to_pap": 4.5, "psa_to_pap": 4, "pin_to_val": 2}
    with pytest.raises(InputError, match="placement, which works without") as refused:
        parse_job(made)
    assert refused.value.field == field


@pytest.mark.parametrize("fields", OPEN, ids=NAMES.get)
def test_what_is_open_is_named_in_the_text(source: Path, fields: tuple[str, ...]) -> None:
    found = plan(parse_job(record(source, *fields)))
    assert set(open_fields(found.job)) == set(fields)
    text = " ".join(report(found).split())
    for sentence in unknown(found):
        assert sentence in text
    for field in fields:
        assert f"{FIELDS[field]}" in " ".join(unknown(found))


@pytest.mark.parametrize("fields", OPEN, ids=NAMES.get)
def test_the_marking_steps_still_lead_to_the_holes(source: Path, fields: tuple[str, ...]) -> None:
    found = plan(parse_job(record(source, *fields)))
    at = landed(found)
    for hole in found.holes:
        assert arc(at[hole.name], hole.entry, found.radius) < 1.0 / 8.0


def test_a_missing_bearing_is_refused_where_a_mark_gives_the_line() -> None:
    made = record(WITHOUT_PSA)
    del made["layout"]["bearing"]
    with pytest.raises(InputError) as refused:
        parse_job(made)
    assert refused.value.field == "layout.bearing"
    made["ball"]["pin_to_cg"] = None
    assert plan(parse_job(made)).layout.bearing is None


def test_an_old_hole_needs_a_mark_beside_the_pin() -> None:
    made = record(WITHOUT_PSA, "ball.pin_to_cg")
    hole = {"name": "old thumb", "from_pin": 3, "bearing": 20, "diameter": 1, "depth": 2.5}
    made["history"] = {"holes": [hole]}
    with pytest.raises(InputError) as refused:
        parse_job(made)
    assert refused.value.field == "ball.pin_to_cg"
