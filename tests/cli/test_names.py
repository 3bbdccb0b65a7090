"""One quantity has one name in what every command prints as JSON, and in Python."""

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest

import layoutkit
from layoutkit.commands.main import main
from layoutkit.job.shop import SurfaceTest

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
JOB, FAILING, WEIGHED = (
    str(next(SAMPLES.glob(f"{number}_*.json"))) for number in ("01", "07", "08")
)
SHELF, TRACK = str(SAMPLES / "shelf.csv"), str(SAMPLES / "track.txt")
STATICS = {"side_oz", "finger_oz", "top_oz"}
WEIGHTS = STATICS | {"weight_lb"}
LAYOUT = {"angle_at_pin", "pin_to_pap", "angle_at_pap", "psa_to_pap", "pin_to_val", "bearing"}
CHANGED = {"angle_at_pin", "pin_to_pap", "angle_at_pap"}

# the command, where in its JSON, and the names that stand there among others
TABLE: dict[str, tuple[tuple[str, ...], str, set[str]]] = {
    "plan, statics": (("plan", JOB), "statics", WEIGHTS | {"removed_oz"}),
    "plan, layout": (("plan", JOB), "layout", LAYOUT),
    "weigh, measured": (("weigh", WEIGHED), "measured", WEIGHTS),
    "weigh, predicted": (("weigh", WEIGHED), "predicted", WEIGHTS),
    "weigh, difference": (("weigh", WEIGHED), "difference", WEIGHTS),
    "change, statics": (("change", FAILING), "changes.0.statics", STATICS),
    "change, layout": (("change", FAILING), "changes.0.layout", LAYOUT),
    "change, by": (("change", FAILING), "changes.2.by", CHANGED),
    "shelf": (("shelf", JOB, SHELF), "ranked.0.statics", STATICS),
    "shelf, weight": (("shelf", JOB, SHELF), "ranked.0", {"weight_lb", "differential"}),
    "sure": (("sure", JOB), "figures", WEIGHTS | (LAYOUT & {"pin_to_pap", "pin_to_val"})),
    "sure, chances": (("sure", JOB), "chances", WEIGHTS),
    "axis": (("axis", "--track", TRACK), "pap", {"over", "up", "xyz"}),
    "convert": (
        ("convert", "--to", "angles", "pin_to_pap=4", "psa_to_pap=4", "pin_to_val=2"),
        "",
        CHANGED,
    ),
}
# what version 1 called them, and short forms that stand for no unit
GONE = {"drilling_angle", "val_angle", "obtuse_val_angle", "gross_lb", "top", "side", "finger"}


def names(value: Any) -> set[str]:
    """Every name in decoded JSON."""
    if isinstance(value, list):
        return set().union(*map(names, value))
    if isinstance(value, dict):
        return set(value).union(*map(names, value.values()))
    return set()


PRINTED: dict[tuple[str, ...], Any] = {}


def told(command: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> Any:
    """What a command prints; some take seconds, and are asked for more than one place."""
    if command not in PRINTED:
        assert main([*command, "--json"]) in (0, 1, 3)
        PRINTED[command] = json.loads(capsys.readouterr().out)
    return PRINTED[command]


@pytest.mark.parametrize("row", TABLE)
def test_a_quantity_has_its_name_there(row: str, capsys: pytest.CaptureFixture[str]) -> None:
    command, path, wanted = TABLE[row]
    printed = told(command, capsys)
    assert not names(printed) & GONE
    place = printed
    for part in filter(None, path.split(".")):
        place = place[int(part)] if part.isdecimal() else place[part]
    assert wanted <= set(place)


def fields_of(value: Any) -> set[str]:
    """The names that a value of the library has: its fields, and what they are keyed by."""
    if isinstance(value, Mapping):
        return set(value)
    if is_dataclass(value):
        return {field.name for field in fields(value)}
    return set(value._fields)


def test_python_has_the_names_of_the_json(capsys: pytest.CaptureFixture[str]) -> None:
    plan = layoutkit.plan(layoutkit.load_job(JOB))

    def printed_by(*command: str) -> Any:
        return told(command, capsys)

    about = {"format", "version", "title", "rules", "stage"}
    assert fields_of(plan.layout) == LAYOUT
    assert fields_of(plan.statics) >= WEIGHTS
    weighed, printed = layoutkit.weigh(plan, {"weight_lb": 14.9}), printed_by("weigh", WEIGHED)
    assert fields_of(weighed) == set(printed) - about
    for part in ("measured", "predicted", "range", "difference", "from_undrilled"):
        assert fields_of(getattr(weighed, part)) == set(printed[part]) == WEIGHTS
    (offer, *_), printed = (
        layoutkit.changes(layoutkit.plan(layoutkit.load_job(FAILING))),
        printed_by("change", FAILING)["changes"][0],
    )
    assert {"kind", "by", "cost"} <= fields_of(offer) & set(printed)
    assert offer.by == printed["by"]
    ball, printed = layoutkit.shelf(plan.job, SHELF).ranked[0], printed_by("shelf", JOB, SHELF)
    assert {"line", "limit_used", "limit_of"} <= fields_of(ball) & set(printed["ranked"][0])
    sure, printed = layoutkit.certainty(plan, draws=100), printed_by("sure", JOB, "--draws", "100")
    assert fields_of(sure) <= set(printed)
    for part in ("figures", "chances", "draws"):
        assert fields_of(getattr(sure, part)) >= set(printed[part])
    shot, printed = layoutkit.roll(plan), printed_by("roll", JOB)["shots"][0]
    assert fields_of(shot.path) <= set(printed)
    assert fields_of(shot.path.breakpoint) == set(printed["breakpoint"])
    assert "near_holes" in fields_of(shot)
    ring = fields_of(shot.flare.rings[0])
    assert ring == set(printed["flare"]["rings"][0])
    printed = printed_by("scale", "--test", "2", "2.1")["calibration"]
    tests = [SurfaceTest(weight=2.0, growth=2.1, diameter=8.55)]
    assert fields_of(layoutkit.calibrate(tests)) == set(printed)
