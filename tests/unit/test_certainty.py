"""The seeded draws in pieces, the chance of any limit, and how a chance is told."""

import math
from typing import Any

import numpy as np
import pytest
import sympy

from layoutkit.ball.layers import working_fillers
from layoutkit.errors import InputError
from layoutkit.job.record import Job, parse_job
from layoutkit.planning import certainty
from layoutkit.planning.certainty import Chance, chance_bounds
from layoutkit.planning.given import arms, label_of
from layoutkit.planning.plan import plan


def drawn_in_pieces(job: Job, draws: int, piece: int) -> tuple[certainty.Drawn, list[int]]:
    work, told = certainty.gradually(job, draws, piece=piece), []
    while True:
        try:
            told.append(next(work))
        except StopIteration as end:
            return end.value, told


@pytest.mark.parametrize("piece", [70, 100, 300])
def test_pieces_of_any_size_give_the_same_draws(record: dict[str, Any], piece: int) -> None:
    job = parse_job(record)
    whole = certainty.monte_carlo(job, 300)
    found, told = drawn_in_pieces(job, 300, piece)
    assert told == list(range(0, 300, piece))
    assert found.figures.keys() == whole.figures.keys()
    for name, values in whole.figures.items():
        np.testing.assert_allclose(found.figures[name], values, rtol=1e-9, atol=1e-9)
        assert found.deviation[name] == pytest.approx(whole.deviation[name], rel=1e-9)


def test_the_chance_of_any_limit_counts_each_draw_once(record: dict[str, Any]) -> None:
    drawn = certainty.monte_carlo(parse_job(record), 400)
    limits = {
        "side_oz": abs(drawn.mean["side_oz"]),
        "finger_oz": abs(drawn.mean["finger_oz"]) + drawn.deviation["finger_oz"],
    }
    found = certainty.illegal(drawn, limits)
    beyond = sum(
        any(abs(drawn.figures[name][k]) > limit for name, limit in limits.items())
        for k in range(found.draws)
    )
    assert found.draws == 400 - drawn.dropped
    assert found.any.chance == beyond / found.draws
    assert found.each == certainty.chances(drawn, limits)
    assert max(c.chance for c in found.each) < found.any.chance < sum(c.chance for c in found.each)


def test_draws_whose_core_a_plan_would_refuse_are_left_out_and_counted(
    record: dict[str, Any],
) -> None:
    """A filler on the edge of what works: a plan of a denser one is refused."""
    job = parse_job(record)
    label = label_of(job)
    assert label.shell is not None
    works = working_fillers(label, *label.shell, job.ball.top_weight * arms(job)[0])
    assert works is not None
    record["ball"]["filler_density"] = works[1]
    record["tolerances"] = {"densities": 0.05}
    drawn = certainty.monte_carlo(parse_job(record), 500)
    assert 50 < drawn.dropped < 450
    assert all(len(values) == 500 - drawn.dropped for values in drawn.figures.values())


def test_the_arm_of_an_uncalibrated_scale_is_carried_over_its_whole_range(
    record: dict[str, Any],
) -> None:
    """Alone it moves a static weight as the mean square over its range has it, by a fine sum."""
    record["tolerances"] = dict.fromkeys(certainty.tolerances(parse_job(record)).model_dump(), 0)
    record["scale"] = {"allowance": 0.0}
    job = parse_job(record)
    own, *others = arms(job)
    low, high = min(own, *others), max(own, *others)
    levers = low + (high - low) * (np.arange(40) + 0.5) / 40

    def top(lever: float) -> float:
        return plan(parse_job(record | {"scale": {"arm": lever}})).statics.top_oz

    own_top = plan(job).statics.top_oz
    expected = math.sqrt(float(np.mean([(top(lever) - own_top) ** 2 for lever in levers])))
    spread = certainty.linear(job)["top_oz"]
    assert spread.deviation == pytest.approx(expected, rel=0.003)


def test_without_tolerances_only_the_scales_reading_spreads(record: dict[str, Any]) -> None:
    record["scale"] = {"arm": 4.275, "allowance": 0.25}
    record["tolerances"] = dict.fromkeys(certainty.tolerances(parse_job(record)).model_dump(), 0)
    job = parse_job(record)
    assert not certainty.inputs(job)
    found = certainty.monte_carlo(job, 500)
    side = plan(job).statics.side_oz
    assert np.abs(found.figures["side_oz"] - side).max() <= 0.25 + 1e-9
    assert np.ptp(found.figures["rg_low"]) == 0.0


def test_draws_of_which_no_core_can_exist_are_refused(
    record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    real = certainty.figures_of

    def nothing(*args: Any) -> dict[str, Any]:
        found = real(*args)
        return {**found, "rg_low": found["rg_low"] * np.nan}

    monkeypatch.setattr(certainty, "figures_of", nothing)
    with pytest.raises(InputError, match="no draw leaves a core"):
        certainty.monte_carlo(parse_job(record), 50)


def only(record: dict[str, Any], **tolerances: float) -> Job:
    """The record with no other tolerances, weighed on a scale without an allowance."""
    record["scale"] = {"arm": 4.275, "allowance": 0.0}
    names = certainty.tolerances(parse_job(record)).model_dump()
    record["tolerances"] = dict.fromkeys(names, 0) | tolerances
    return parse_job(record)


def test_either_part_of_a_place_in_a_circle_deviates_by_half_of_its_radius(
    record: dict[str, Any],
) -> None:
    """The mean of x^2 over a disc of radius a is a^2 / 4, integrated by sympy.

    Draws from the whole disc spread a figure as much as that says, to their own error of 1.6 %.
    """
    a, r, turn = sympy.symbols("a r turn", positive=True)
    square = sympy.integrate((r * sympy.cos(turn)) ** 2 * r, (r, 0, a), (turn, 0, 2 * sympy.pi))
    wanted = float(sympy.sqrt(square / (sympy.pi * a**2)).subs(a, 0.25))
    job = only(record, low_axis=0.25)
    given = certainty.inputs(job)
    assert [i.name for i in given] == ["low_axis.along", "low_axis.across"]
    assert [i.deviation for i in given] == pytest.approx([wanted, wanted], rel=1e-12)
    linear, drawn = certainty.linear(job), certainty.monte_carlo(job)
    for name in ("side_oz", "finger_oz"):
        assert drawn.deviation[name] > 0.0
        assert linear[name].deviation == pytest.approx(drawn.deviation[name], rel=0.05)


@pytest.mark.parametrize("away", [0.75, 2.0, 4.0, None])
def test_a_mark_turns_the_reference_line_more_the_nearer_it_lies(
    record: dict[str, Any], away: float | None
) -> None:
    """What a mark a sixteenth off turns the line from the pin by, built from unit vectors.

    The reference mark is the CG mark ``away`` from the pin, or the PSA mark at a quarter of the ball.
    """
    if away is not None:
        del record["ball"]["psa"]
        record["ball"] |= {"pin_to_cg": away, "intermediate_differential": 0}
    given = {i.name: i for i in certainty.inputs(only(record, marks=1 / 16))}
    angle = math.pi / 2.0 if away is None else away / 4.275
    mark = np.array([math.sin(angle), 0.0, math.cos(angle)])
    off = math.cos(0.0625 / 4.275) * mark + math.sin(0.0625 / 4.275) * np.array([0.0, 1.0, 0.0])
    turn = math.degrees(math.atan2(off[1], off[0]))  # as seen from the pin, which is +z
    assert given["bearing"].tolerance == pytest.approx(turn, rel=0.01)


def test_a_mark_almost_on_the_pin_turns_the_reference_line_by_30_degrees_at_most(
    record: dict[str, Any],
) -> None:
    """A line is never laid out worse than that (common practice, no source).

    A sixteenth off at 1/8 in from the pin is a turn of 28.6 degrees, at 1/16 in it is 57.3.
    """
    del record["ball"]["psa"]
    for away, wanted in ((0.125, math.degrees(0.5)), (0.0625, 30.0), (0.01, 30.0)):
        record["ball"] |= {"pin_to_cg": away, "intermediate_differential": 0}
        given = {i.name: i for i in certainty.inputs(only(record, marks=1 / 16))}
        assert given["bearing"].tolerance == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize(
    ("chance", "draws", "words"),
    [
        (0.0, 2000, "under 0.2 %"),
        (0.0, 100, "under 3.0 %"),
        (1.0, 2000, "over 99.8 %"),
        (0.023, 2000, "2.3 %"),
        (1e-5, 100_000, "0.1 %"),
        (0.99999, 100_000, "99.9 %"),
    ],
)
def test_a_chance_in_words_never_says_never(chance: float, draws: int, words: str) -> None:
    assert certainty.percent(Chance("any", 3.0, chance, 0.0), draws) == words


@pytest.mark.parametrize(
    ("chance", "error", "low", "high"),
    [(0.0, 0.0, 0.0, 0.003), (1.0, 0.0, 0.997, 1.0), (0.1, 0.0095, 0.081, 0.119)],
)
def test_a_chance_lies_between_bounds(chance: float, error: float, low: float, high: float) -> None:
    """Three over the draws where none is beyond (Hanley and Lippman-Hand, 1983), else two errors."""
    assert chance_bounds(Chance("side", 3.0, chance, error), 1000) == pytest.approx((low, high))
