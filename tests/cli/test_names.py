"""One quantity has one name in what every command prints as JSON, and in Python."""

import json
from pathlib import Path
from typing import Any

import pytest

import layoutkit
from layoutkit.commands.main import main

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


@pytest.mark.parametrize("row", TABLE)
def test_a_quantity_has_its_name_there(row: str, capsys: pytest.CaptureFixture[str]) -> None:
    command, path, wanted = TABLE[row]
    assert main([*command, "--json"]) in (0, 1, 3)
    printed = json.loads(capsys.readouterr().out)
    assert not names(printed) & GONE
    place = printed
    for part in filter(None, path.split(".")):
        place = place[int(part)] if part.isdecimal() else place[part]
    assert wanted <= set(place)


def test_python_has_the_names_of_the_json() -> None:
    plan = layoutkit.plan(layoutkit.load_job(JOB))
    assert set(plan.layout._fields) == LAYOUT
    assert set(plan.statics._fields) >= WEIGHTS
    offer = next(iter(layoutkit.changes(layoutkit.plan(layoutkit.load_job(FAILING)))))
    assert set(offer.plan.statics._fields) >= WEIGHTS
