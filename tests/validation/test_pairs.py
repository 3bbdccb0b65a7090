"""Two-position weighings against forward statics, and their deviations against seeded draws."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import studentized_range

from layoutkit.bench.pairs import (
    PairWeight,
    from_pair,
    from_pairs,
    moment,
    zero_error,
    zero_error_sd,
    zero_errors_apart,
)
from layoutkit.bench.shopfit import weighed_jobs
from layoutkit.bench.weighing import recorded, weigh, with_weighing
from layoutkit.errors import InputError
from layoutkit.job.record import Job, Scale, parse_job
from layoutkit.job.shop import parse_shop, with_arm
from layoutkit.job.templates import example_record
from layoutkit.output.report import weighed_words
from layoutkit.planning.plan import plan

# derived: forward statics; S, the seat x0 and the ball's weight W in oz on supports
ON_SUPPORTS = (
    # S, x0, W oz, arm, a, b, M oz in, static oz, z oz
    (8.0, 4.0, 240.0, 4.275, 120.975, 119.725, 5.0, 1.169590643, 0.35),
    (10.0, 5.0, 241.92, 3.6, 120.54, 120.98, -2.2, -0.611111111, -0.2),
    (8.0, 4.1, 224.0, 4.275, 116.4625, 113.3375, 12.5, 2.923976608, 0.1),
)
ON_A_PAN = (
    # L, arm, a, b, M oz in, static oz, z oz
    (4.275, 4.275, 1.1, -0.9, 4.275, 1.0, 0.1),
    (6.0, 4.275, 2.0, -0.4, 7.2, 1.684210526, 0.8),
    (6.0, 4.275, 1.25, 0.25, 3.0, 0.701754386, 0.75),
)


@pytest.mark.parametrize(("s", "x0", "w", "arm", "a", "b", "m", "static", "z"), ON_SUPPORTS)
def test_readings_on_two_supports_give_moment_weight_and_zero_error(
    s: float, x0: float, w: float, arm: float, a: float, b: float, m: float, static: float, z: float
) -> None:
    found = from_pair((a, b), Scale(supports=s), arm, w / 16.0)
    assert moment(a, b, s) == pytest.approx(m, abs=1e-9)
    assert found.weight == pytest.approx(static, abs=6e-10)
    assert zero_error(a, b, w * x0 / s) == pytest.approx(z, abs=1e-9)
    # a weighing takes the seat to be half way
    assert found.zero_error == pytest.approx(z + w * (x0 - s / 2.0) / s, abs=1e-9)


def test_a_seat_off_the_middle_goes_into_the_zero_error_only() -> None:
    found = from_pair((116.4625, 113.3375), Scale(supports=8.0), 4.275, 14.0)
    assert found.zero_error == pytest.approx(2.9, abs=1e-9)
    assert found.weight == pytest.approx(2.923976608, abs=6e-10)


@pytest.mark.parametrize(("lever", "arm", "a", "b", "m", "static", "z"), ON_A_PAN)
def test_readings_on_a_pan_give_moment_weight_and_zero_error(
    lever: float, arm: float, a: float, b: float, m: float, static: float, z: float
) -> None:
    found = from_pair((a, b), Scale(pan_lever=lever), arm, 15.0)
    assert moment(a, b, lever) == pytest.approx(m, abs=1e-9)
    assert found.weight == pytest.approx(static, abs=6e-10)
    assert found.zero_error == pytest.approx(z, abs=1e-9)


@pytest.mark.parametrize("arm", [2.28, 4.275, 11.0])
def test_half_the_difference_is_the_weight_whatever_the_arm(arm: float) -> None:
    found = from_pair((1.1, -0.42), Scale(reading="half_difference"), arm, 15.0)
    assert found.weight == pytest.approx(0.76, abs=1e-12)
    assert found.zero_error == pytest.approx(0.34, abs=1e-12)
    assert found.weight_sd == pytest.approx(0.05 / math.sqrt(2.0))


@pytest.mark.parametrize("arm", [2.5, 4.275])
def test_supports_twice_the_arm_apart_give_the_whole_difference(arm: float) -> None:
    found = from_pair((120.9, 119.7), Scale(supports=2.0 * arm), arm, 15.0)
    assert found.weight == pytest.approx(120.9 - 119.7)


@pytest.mark.parametrize(
    ("s", "arm", "reading", "times", "sd"),
    [
        (8.0, 4.275, 0.05, 1, 0.066162038),
        (8.0, 4.275, 0.1, 1, 0.132324076),
        (8.0, 4.275, 0.1, 4, 0.066162038),
        (10.0, 3.6, 0.1, 1, 0.196418550),
    ],
)
def test_deviation_of_a_weight(s: float, arm: float, reading: float, times: int, sd: float) -> None:
    found = from_pair((120.0, 119.0), Scale(supports=s), arm, 15.0, reading, times)
    assert found.weight_sd == pytest.approx(sd, abs=6e-10)


def test_stated_deviations_are_those_of_many_drawn_weighings() -> None:
    # derived: seeded draws, four readings of each position
    rng = np.random.default_rng(20261128)
    scale, arm, sigma, times = Scale(supports=8.0), 4.275, 0.1, 4
    a = (120.975 + sigma * rng.standard_normal((400_000, times))).mean(axis=1)
    b = (119.725 + sigma * rng.standard_normal((400_000, times))).mean(axis=1)
    found = from_pair((120.975, 119.725), scale, arm, 15.0, sigma, times)
    assert found.weight_sd == pytest.approx(np.std(moment(a, b, 8.0) / arm), rel=5e-3)
    assert found.zero_error_sd == pytest.approx(np.std(zero_error(a, b, 120.0)), rel=5e-3)


def _job(scale: dict[str, object]) -> Job:
    return parse_job({**example_record("2026-11-28"), "scale": scale})


def test_an_arm_that_is_not_calibrated_leaves_a_range() -> None:
    job = _job({"pan_lever": 6.0})
    radius = job.ball.diameter / 2.0
    (found,) = from_pairs(job, {"side": (2.0, -0.4)}, 15.0).values()
    assert found.low == pytest.approx(7.2 / radius)
    assert found.weight == pytest.approx(7.2 / (23.0 / 30.0 * radius))
    assert found.high == pytest.approx(7.2 / (8.0 / 15.0 * radius))


def test_half_the_difference_has_no_range() -> None:
    (found,) = from_pairs(_job({"reading": "half_difference"}), {"top": (3.0, -2.0)}, 15.0).values()
    assert found.low == found.weight == found.high == 2.5


def test_a_scale_that_does_not_say_its_kind_is_refused_by_its_field() -> None:
    with pytest.raises(InputError, match=r"scale\.supports") as refused:
        from_pairs(_job({"arm": 4.0}), {"side": (1.0, 0.0)}, 15.0)
    assert refused.value.field == "scale.supports"
    assert "scale.pan_lever" in str(refused.value)
    assert "half_difference" in str(refused.value)


def test_a_pair_of_a_weight_that_is_no_static_is_refused() -> None:
    with pytest.raises(InputError, match=r"'gross'.*top, side, finger"):
        from_pairs(_job({"pan_lever": 6.0}), {"gross": (1.0, 0.0)}, 15.0)


def _with_zeros(**zeros: float) -> dict[str, PairWeight]:
    scale = Scale(reading="half_difference")
    return {n: from_pair((z + 0.5, z - 0.5), scale, 4.0, 15.0) for n, z in zeros.items()}


@pytest.mark.parametrize("which", ["top", "side", "finger"])
def test_the_zero_error_that_stands_out_is_named(which: str) -> None:
    zeros = {"top": 0.30, "side": 0.32, "finger": 0.28, which: 0.9}
    words = zero_errors_apart(_with_zeros(**zeros))
    assert words is not None
    assert f"; {which} stands out" in words


def test_zero_errors_that_repeat_are_not_remarked_on() -> None:
    assert zero_errors_apart(_with_zeros(top=0.30, side=0.35, finger=0.28)) is None
    assert zero_errors_apart(_with_zeros(top=0.30)) is None


@pytest.mark.parametrize(
    "zeros", [{"top": 0.1, "side": 0.9}, {"top": 0.1, "side": 0.6, "finger": 1.1}]
)
def test_no_zero_error_is_named_where_any_may_be_wrong(zeros: dict[str, float]) -> None:
    words = zero_errors_apart(_with_zeros(**zeros))
    assert words is not None
    assert "cannot be said" in words


@pytest.mark.parametrize("count", [2, 3])
def test_good_readings_are_blamed_in_one_stage_of_a_hundred(count: int) -> None:
    # the bound is the studentised range's 99 % point, as scipy integrates it
    bound = float(studentized_range.ppf(0.99, count, np.inf)) * zero_error_sd()
    names = ("top", "side", "finger")[:count]
    for share, apart in ((0.999, False), (1.001, True)):
        zeros = dict.fromkeys(names, 0.0) | {names[-1]: share * bound}
        assert (zero_errors_apart(_with_zeros(**zeros)) is not None) == apart


def _recorded(scale: dict[str, object], drilled: dict[str, object]) -> Job:
    return parse_job(
        {**example_record("2026-11-28"), "scale": scale, "weighings": {"drilled": drilled}}
    )


def test_recorded_pairs_count_as_the_stages_readings() -> None:
    job = _recorded(
        {"supports": 8, "arm": 4.275}, {"top": 1.5, "pairs": {"side": [120.975, 119.725]}}
    )
    assert recorded(plan(job), "drilled") == {
        "top": 1.5,
        "side": pytest.approx(1.169590643, abs=6e-10),
    }


def test_a_pair_and_a_plain_reading_of_one_weight_are_refused_together() -> None:
    with pytest.raises(InputError, match="beside a plain reading of side") as refused:
        _recorded({"pan_lever": 6}, {"side": 0.7, "pairs": {"side": [1.25, 0.25]}})
    assert refused.value.field == "weighings.drilled.pairs.side"
    job = _recorded({"pan_lever": 6}, {})
    with pytest.raises(InputError, match="beside a plain reading"):
        weigh(plan(job), {"side_oz": 0.7}, {"side_oz": (1.25, 0.25)})


def test_pairs_on_a_scale_of_no_stated_kind_are_not_counted_and_the_report_says_why() -> None:
    result = plan(_recorded({"arm": 4.0}, {"gross": 14.9, "pairs": {"side": [1.25, 0.25]}}))
    assert recorded(result, "drilled") == {"gross": 14.9}
    assert any("not counted: scale.supports" in words for words in weighed_words(result))


def test_the_uncalibrated_arm_of_a_pair_widens_the_band_that_it_is_judged_by() -> None:
    result = plan(_recorded({"pan_lever": 6, "allowance": 0.1}, {}))
    weighed = weigh(result, {"weight_lb": 14.9}, {"top_oz": (2.0, -1.5), "side_oz": (0.4, 0.2)})
    top = next(check for check in weighed.checks if check.name == "top")
    radius = result.job.ball.diameter / 2.0
    assert top.band == pytest.approx((10.5 / radius - 0.1, 10.5 / (8.0 / 15.0 * radius) + 0.1))
    assert top.outcome == "close"  # the limit of 3 oz lies inside
    assert weighed.zero_errors is None  # 0.25 and 0.30


def test_a_pair_takes_the_place_of_a_plain_reading_and_the_other_way_round() -> None:
    record = {"weighings": {"drilled": {"side": 0.5, "pairs": {"top": [3, -2]}}}}
    changed = with_weighing(record, "drilled", {"top": 2.5}, "", "", {"side": (1.1, -0.42)})
    assert changed["weighings"]["drilled"] == {"top": 2.5, "pairs": {"side": [1.1, -0.42]}}


def test_the_shops_kind_of_scale_comes_with_its_arm() -> None:
    scale = {"arm": 4.4, "sd": 0.02, "date": "2026-11-28", "tests": []}
    shop = parse_shop({"scale": scale | {"pan_lever": "6 in"}})
    path = Path("shop.json")
    filled = with_arm(_job({}), shop, path).scale
    assert filled is not None
    assert (filled.arm, filled.pan_lever) == (4.4, 6.0)
    own = with_arm(_job({"supports": 8}), shop, path).scale
    assert own is not None
    assert (own.arm, own.supports, own.pan_lever) == (4.4, 8.0, None)
    with pytest.raises(InputError, match="one of supports, pan_lever and reading"):
        parse_shop({"scale": scale | {"pan_lever": 6, "supports": 8}})


@pytest.mark.parametrize(("pairs", "arm", "usable"), [
    ({"pan_lever": 6}, None, False),
    ({"pan_lever": 6}, 4.3, True),
    ({"reading": "half_difference"}, None, True),
    ({}, 4.3, False),
])  # fmt: skip
def test_a_fit_takes_pairs_only_where_they_do_not_need_the_arm_that_it_looks_for(
    pairs: dict[str, object], arm: float | None, usable: bool, tmp_path: Path
) -> None:
    drilled = {"gross": 14.9, "pairs": {"side": [1.25, 0.25]}}
    record = {**example_record("2026-11-28"), "scale": {"arm": arm, **pairs}}
    record["weighings"] = {"drilled": drilled}
    (tmp_path / "job.json").write_text(json.dumps(record), encoding="utf-8")
    jobs, unusable = weighed_jobs(tmp_path)
    assert (len(jobs), len(unusable)) == ((1, 0) if usable else (0, 1))
