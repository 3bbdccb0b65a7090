"""The shots of many layouts of one ball at once, held against plans and shots of single ones."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from layoutkit import Job, load_job, plan, roll
from layoutkit.choosing.figures import of_shot
from layoutkit.job.record import Friction, Lane, PinPlace, PlacementLayout, Release
from layoutkit.lane import layouts, motion
from layoutkit.lane.aim import released
from layoutkit.planning.placing import for_other_layouts
from layoutkit.planning.surface import surface

FOLDER = Path(__file__).parents[2] / "sample_bowlers"
# pin over, up, and bearing of the mark
ROWS = np.array([(0.0, 0.0, 0.0), (-3.0, 4.5, 110.0), (6.0, -2.0, 250.0), (10.0, 1.0, 30.0)])
EVERY = np.arange(len(ROWS))
SOME = (EVERY, np.array([3]), np.array([2, 0]))
STEADY = Release(speed=17.0, revs=330.0, axis_rotation=50.0, axis_tilt=14.0, board=18.0)


@pytest.fixture(autouse=True)
def together(monkeypatch: pytest.MonkeyPatch) -> None:
    """However few they are, shots go together but for the last."""
    monkeypatch.setattr(motion, "FEW", 1)


def sample(number: str) -> Job:
    (path,) = FOLDER.glob(f"{number}_*.json")
    return for_other_layouts(load_job(path)).model_copy(update={"tolerances": None})


def laid(job: Job, over: float, up: float, bearing: float) -> Job:
    pin = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
    layout = PlacementLayout(by="placement", pin=pin, bearing=bearing)
    return job.model_copy(update={"layout": layout})


def for_bowler(job: Job, number: str) -> Job:
    """The ball of a sample under another job's bowler."""
    return laid(job.model_copy(update={"ball": sample(number).ball}), *ROWS[0].tolist())


def both(job: Job, release: Release) -> tuple[dict[str, np.ndarray], list[dict[str, float]]]:
    """The figures of `ROWS` at once, and one by one."""
    first = plan(job)
    found = surface(first, *ROWS.T)
    (many,) = layouts.shots([(found, EVERY)], first, release)
    return many, [of_shot(roll(plan(laid(job, *row)), release)) for row in ROWS.tolist()]


# both hands, an asymmetric and a symmetric ball, one that was plugged; a friction table
@pytest.mark.parametrize("number", ["01", "02", "05", "13"])
@pytest.mark.parametrize("tabled", [False, True])
def test_many_layouts_roll_as_single_plans_do(number: str, tabled: bool) -> None:
    job = sample(number)
    if tabled:
        rows = (Friction(at=0.0, friction=0.02), Friction(at=35.0, friction=0.06))
        job = job.model_copy(update={"lane": Lane(table=(*rows, Friction(at=45.0, friction=0.2)))})
    many, single = both(job, released(plan(job)))
    for name, values in many.items():
        own = [each[name] for each in single]
        assert values == pytest.approx(own, abs=2e-3, nan_ok=True), name
        assert np.ptp(values) > 0.01


def test_shots_that_never_arrive_have_no_figures_at_the_pins() -> None:
    job = sample("01")
    out = STEADY.model_copy(update={"board": 6.0, "direction": 2.5})
    many, single = both(job, out)
    assert np.isnan(many["board_at_pins"]).all()
    assert np.isnan(many["entry_angle"]).all()
    # they leave rings up to the gutter
    for name in layouts.OF_RINGS:
        assert many[name] == pytest.approx([each[name] for each in single], abs=2e-3), name
        assert np.isfinite(many[name]).all()


def test_a_ball_of_one_density_has_no_rings() -> None:
    job = sample("03")
    plain = {"rg_low": None, "differential": None, "intermediate_differential": None}
    job = job.model_copy(update={"ball": job.ball.model_copy(update=plain)})
    many, single = both(job, STEADY)
    for name in layouts.OF_RINGS:
        assert np.isnan(many[name]).all()
        assert all(math.isnan(each[name]) for each in single)
    assert many["entry_angle"] == pytest.approx([each["entry_angle"] for each in single], abs=1e-4)


def test_a_ball_that_does_not_turn_has_no_rings() -> None:
    many, single = both(sample("01"), STEADY.model_copy(update={"revs": 0.0}))
    for name, values in many.items():
        own = [each[name] for each in single]
        assert values == pytest.approx(own, abs=2e-3, nan_ok=True), name


def test_only_the_figures_that_are_asked_for_are_told_of_those_that_are_asked_for() -> None:
    first = plan(sample("01"))
    found = surface(first, *ROWS.T)
    (every,) = layouts.shots([(found, EVERY)], first, STEADY)
    (some,) = layouts.shots([(found, np.array([2, 0]))], first, STEADY, ("entry_angle",))
    assert list(some) == ["entry_angle"]
    assert some["entry_angle"] == pytest.approx(every["entry_angle"][[2, 0]], abs=1e-9)


def test_several_balls_roll_together_as_each_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    first = plan(sample("02"))
    shelf = [plan(for_bowler(first.job, number)) for number in ("01", "03")]
    cases = [
        (surface(each, *ROWS.T), which) for each, which in zip([first, *shelf], SOME, strict=True)
    ]
    alone = [layouts.shots([case], first, STEADY)[0] for case in cases]
    for batch in (2, 3, 5, 100):
        monkeypatch.setattr(layouts, "BATCH", batch)
        for one, other in zip(layouts.shots(cases, first, STEADY), alone, strict=True):
            for name, values in one.items():
                assert values == pytest.approx(other[name], abs=1e-9), (batch, name)
