"""What a batch script calls: every public name once, on the sample jobs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

import layoutkit
from layoutkit.job.shop import SurfaceTest

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
JOB = layoutkit.load_job(SAMPLES / "01_right_asymmetric.json")
PLAN = layoutkit.plan(JOB)


def test_importing_the_package_loads_neither_numpy_nor_pydantic() -> None:
    program = "import sys, layoutkit; print({'numpy', 'pydantic'} & set(sys.modules))"
    run = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert run.stdout == "set()\n"


@pytest.mark.parametrize("name", layoutkit.__all__)
def test_a_public_name_resolves_and_is_documented(name: str) -> None:
    value = getattr(layoutkit, name)
    assert name == "__version__" or value.__doc__


def test_a_ball_weighed_as_planned_has_the_same_outcome() -> None:
    s = PLAN.statics
    assert None not in (s.top_oz, s.side_oz, s.finger_oz)
    names = ("weight_lb", "top_oz", "side_oz", "finger_oz")
    readings = {name: getattr(s, name) for name in names}
    weighed = layoutkit.weigh(PLAN, {name: value or 0.0 for name, value in readings.items()})
    assert weighed.difference == dict.fromkeys(names, 0.0)
    assert (weighed.outcome, len(weighed.checks)) == ("pass", 4)
    some = layoutkit.weigh(PLAN, {"weight_lb": s.weight_lb})
    assert (some.outcome, len(some.checks)) == ("incomplete", 4)
    with pytest.raises(
        layoutkit.InputError, match="possible: weight_lb, top_oz, side_oz, finger_oz"
    ):
        layoutkit.weigh(PLAN, {"side": 1.0})


def test_a_shot_does_not_differ_from_itself() -> None:
    assert layoutkit.roll(PLAN).path is not None
    (differences,) = layoutkit.compare(PLAN, [PLAN], draws=2)
    assert all(d.value == 0.0 for d in differences if d.value == d.value)


def test_a_plan_that_passes_needs_no_change() -> None:
    assert PLAN.outcome == "pass"
    assert layoutkit.changes(PLAN) == ()


def test_the_shelf_ranks_every_usable_ball_of_the_table() -> None:
    table = SAMPLES / "shelf.csv"
    shelf = layoutkit.shelf(JOB, str(table))
    assert len(shelf.ranked) + len(shelf.unusable) == len(table.read_text().splitlines()) - 1


def test_a_redrilled_ball_has_the_holes_of_before() -> None:
    history = layoutkit.redrill(JOB).history
    assert history is not None
    assert {"old middle", "old ring", "old thumb"} <= {hole.name for hole in history.holes}


def test_certainty_is_the_same_for_the_same_seed() -> None:
    one, other = (layoutkit.certainty(PLAN, draws=100, seed=3) for _ in range(2))
    assert one == other
    assert one.draws.asked == 100
    assert one.draws.dropped == 0


def test_one_test_of_the_scale_gives_radius_times_weight_over_growth() -> None:
    test = SurfaceTest(weight=1.0, diameter=8.0, height=0.0, growth=1.25)
    assert layoutkit.calibrate([test]).arm == pytest.approx(4.0 * 1.0 / 1.25, rel=1e-14)
