"""Where the pin may go, over the whole ball."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from layoutkit.job.record import parse_job
from layoutkit.job.rules import FAIL
from layoutkit.job.store import load_job
from layoutkit.output import drawing, shading
from layoutkit.planning import globe as _globe
from layoutkit.planning import layout as _layout
from layoutkit.planning.given import psa_arc
from layoutkit.planning.globe import NOWHERE, ROWS, Globe
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

COARSE_PIECES = 2
SAMPLES = Path(__file__).parents[2] / "sample_bowlers"


def coarse(number: str) -> Globe:
    """The coarse globe of a sample, which stands for every fourth row and column."""
    (path,) = SAMPLES.glob(f"{number}_*.json")
    globe = Globe(plan(load_job(path)))
    for _ in range(COARSE_PIECES):
        assert globe.step()
    return globe


@pytest.mark.parametrize("number", ["01", "02", "08"])  # by angles, by distances, by placement
def test_a_cell_is_the_plan_of_a_drag_to_it(number: str) -> None:
    globe = coarse(number)
    job, radius = globe.plan.job, globe.plan.radius
    rows, columns = np.mgrid[0:ROWS:20, 0 : 2 * ROWS : 28]
    for row, column in zip(rows.ravel(), columns.ravel(), strict=True):
        if globe.verdict[row, column] == NOWHERE:
            continue
        x, y, z = _globe.places(row, column)
        over, up = radius * np.arctan2(x, z), radius * np.arctan2(y, np.hypot(x, z))
        mark, pap = psa_arc(job), _layout.axis_point(job.bowler)
        moved = _layout.with_pin_at(_layout.stated(job.layout), mark, pap, radius, over, up)
        placed = _layout.to_placement(moved, mark, pap, radius)
        there = _planned(globe.plan, placed)
        assert there.marks.pin.over == pytest.approx(over, abs=1e-9)
        assert there.statics.side_oz == pytest.approx(
            globe.figures["side_oz"][row, column], abs=1e-4
        )
        fails = any(c.outcome == "fail" for c in there.checks if c.name != "serial")
        assert fails == (globe.verdict[row, column] == FAIL)


def _planned(now: Plan, placed: _layout.Placement) -> Plan:
    data = now.job.model_dump(exclude_none=True)
    data["bowler"]["grip"].setdefault("thumb", None)
    data["layout"] = {
        "by": "placement",
        "pin": {"over": float(placed.pin_over), "up": float(placed.pin_up)},
        "bearing": float(placed.bearing),
    }
    return plan(parse_job(data))


def test_cells_are_found_again_and_a_globe_holds_for_a_drag_only() -> None:
    rows, columns = np.mgrid[0:ROWS, 0 : 2 * ROWS]
    again = _globe.cells(_globe.places(rows, columns))
    assert np.allclose(again[0], rows)
    assert np.allclose(again[1], columns)
    globe = coarse("01")
    job = globe.plan.job
    layout = job.layout.model_copy(update={"pin_to_pap": 3.0, "angle_at_pap": 60.0})
    assert globe.holds(plan(job.model_copy(update={"layout": layout})))
    turned = layout.model_copy(update={"angle_at_pin": 20.0})
    assert not globe.holds(plan(job.model_copy(update={"layout": turned})))


def test_the_image_is_hatched_just_where_the_plan_fails() -> None:
    globe = coarse("01")
    globe.verdict[:] = 0.0
    north = _globe.places(*np.mgrid[0:ROWS, 0 : 2 * ROWS])[..., 1] > 0.0
    globe.verdict[north] = FAIL  # all of the fingers' half
    view = drawing.facing(globe.plan, "grip")
    painted = shading.image(globe, view, 60, None)[..., 3] > 0
    assert painted.shape == (120, 120)
    assert not painted[:57].any()  # the lowest row comes first
    assert 0.15 < painted[63:].mean() < 0.5
