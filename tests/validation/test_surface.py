"""The map over the ball's surface against single plans at places of the pin drawn at random."""

from pathlib import Path

import numpy as np
import pytest

from layoutkit import InputError, load_job, plan
from layoutkit.geometry.sphere import arc
from layoutkit.job.record import PinPlace, PlacementLayout
from layoutkit.job.rules import OUTCOMES
from layoutkit.output.drawing import facing
from layoutkit.planning.surface import lines_for, round_the_pin, surface, visible
from layoutkit.planning.values import Plan

SAMPLES = sorted(
    path
    for path in (Path(__file__).parents[2] / "sample_bowlers").glob("*.json")
    if not path.name.startswith("15")  # without a label there is no static weight
)


def moved(p: Plan, over: float, up: float, bearing: float) -> Plan:
    place = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
    layout = PlacementLayout(by="placement", pin=place, bearing=bearing % 360.0)
    return plan(p.job.model_copy(update={"layout": layout}))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_places_equal_single_plans(path: Path) -> None:
    p = plan(load_job(path))
    rng = np.random.default_rng(20261129)
    n = 12
    over, up = rng.uniform(-6.5, 6.5, n), rng.uniform(-6.0, 6.0, n)
    bearing = rng.uniform(0.0, 360.0, n)
    found = surface(p, over, up, bearing)
    for k in range(n):
        single = moved(p, over[k], up[k], bearing[k])
        s, i = single.statics, single.inertia
        for name in ("side_oz", "finger_oz", "top_oz"):
            assert getattr(found.outcomes, name)[k] == pytest.approx(getattr(s, name), abs=5e-4)
        assert found.outcomes.weight_lb[k] == pytest.approx(s.weight_lb, abs=1e-4)
        for name in ("rg_low", "rg_mid", "rg_high"):
            assert getattr(found.outcomes, name)[k] == pytest.approx(getattr(i, name), abs=1e-4)
        clearance = min(each[k] for each in found.clearance.values())
        assert clearance == pytest.approx(min(h.clearance for h in single.holes), abs=1e-6)
        cut = any("cuts the" in words and "away" in words for words in single.cautions)
        assert found.cut_away[k] == cut
        if p.job.tolerances is None:  # else the bands are the plan's own
            assert OUTCOMES[found.outcome[k]] == single.outcome


def test_a_ring_of_bearings_turns_the_mark_about_the_present_pin() -> None:
    p = plan(load_job(SAMPLES[0]))
    ring = round_the_pin(p, 8)
    assert ring.outcomes.side_oz[0] == pytest.approx(p.statics.side_oz, abs=5e-4)
    assert np.allclose(np.diff(np.unwrap(ring.bearing, period=360.0)), 45.0)
    assert set(ring.over) == {p.marks.pin.over}
    assert ring.outcomes.side_oz[3] == pytest.approx(
        moved(p, p.marks.pin.over, p.marks.pin.up, ring.bearing[3]).statics.side_oz, abs=5e-4
    )


@pytest.mark.parametrize("name", ["01_right_asymmetric.json", "02_left_asymmetric.json"])
def test_the_grid_lies_over_the_side_that_is_seen(name: str) -> None:
    p = plan(load_job(SAMPLES[0].parent / name))
    frame = facing(p, "grip").frame
    across = lines_for(2000)
    over, up = visible(p, frame, across)
    seen = np.isfinite(over)
    assert 1900 <= seen.sum() <= 2100
    middle = across // 2
    # a step to the right in the picture is to the PAP's side of a right hand, away from it of a left
    right = over[middle, middle + 5] - over[middle, middle]
    assert right * (1.0 if p.job.bowler.hand == "right" else -1.0) > 0.0
    assert up[middle + 5, middle] > up[middle, middle]


def test_what_a_plan_fails_under_any_layout_it_fails_everywhere() -> None:
    job = load_job(SAMPLES[0])
    p = plan(job.model_copy(update={"ball": job.ball.model_copy(update={"serial": ""})}))
    found = surface(p, np.array([p.marks.pin.over]), np.array([p.marks.pin.up]))
    assert (OUTCOMES[found.verdict[0]], OUTCOMES[found.outcome[0]]) == ("pass", "fail")
    here = arc((0.0, 0.0, p.radius), p.marks.pin.xyz, p.radius)
    assert here == pytest.approx(p.distances.pin_to_grip_center)


def test_a_ball_without_a_label_has_no_map() -> None:
    p = plan(load_job(SAMPLES[0].parent / "15_used_ball.json"))
    with pytest.raises(InputError, match="a map over the ball's surface needs"):
        round_the_pin(p)
