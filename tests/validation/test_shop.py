"""The shop's arm and densities against what is known: statics, and invented shops with a truth.

The truth of an invented shop stands in its records as a box would state it (shell, filler, arm), so
that what was weighed comes from the plan alone and nothing of the fit.
"""

import copy
import math
from typing import Any

import numpy as np
import pytest
from scipy.stats import t as student

from layoutkit.bench.calibration import _chance_beyond, calibrate
from layoutkit.bench.shopfit import (
    FEWEST_JOBS,
    FILLER_SD,
    SHELL_SD,
    ShopFit,
    WeighedJob,
    fit_shop,
    with_fitted,
)
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.shop import Calibration, SurfaceTest
from layoutkit.planning.plan import plan

# --- the arm --------------------------------------------------------------------------------------


def test_one_test_is_the_statement_of_the_lever() -> None:
    # statics: w R = x arm, hence arm = R w / x
    found = calibrate([SurfaceTest(weight=2.0, growth=1.9, diameter=8.55)], reading_oz=0.05)
    assert found.arm == pytest.approx(4.275 * 2.0 / 1.9, rel=1e-15)
    # first order: d arm = arm dx / x
    assert found.arm_sd == pytest.approx(found.arm * 0.05 / 1.9, rel=1e-12)
    assert found.scatter is None


def test_a_weights_own_height_lengthens_the_lever() -> None:
    flat = calibrate([SurfaceTest(weight=2.0, growth=2.0, diameter=8.5)])
    tall = calibrate([SurfaceTest(weight=2.0, growth=2.0, diameter=8.5, height=0.25)])
    assert flat.arm == pytest.approx(4.25, rel=1e-15)
    assert tall.arm == pytest.approx(4.5, rel=1e-15)


def test_an_ounce_on_the_surface_that_reads_an_ounce_makes_the_arm_the_radius() -> None:
    found = calibrate([SurfaceTest(weight=1.0, growth=1.0, diameter=8.55)] * 3)
    assert found.arm == pytest.approx(4.275, rel=1e-14)
    assert found.scatter == pytest.approx(0.0, abs=1e-12)


def weighed(rng: np.random.Generator, arm: float, error: float, count: int) -> list[SurfaceTest]:
    tests = []
    for _ in range(count):
        weight = float(rng.uniform(1.0, 4.0))
        growth = weight * 4.275 / arm + error * float(rng.standard_normal())
        tests.append(SurfaceTest(weight=weight, growth=growth, diameter=8.55))
    return tests


@pytest.mark.parametrize("count", [1, 2, 5])
def test_the_arms_uncertainty_covers_the_truth_as_often_as_it_says(count: int) -> None:
    rng = np.random.default_rng(20261125 + count)
    inside, trials = 0, 2000
    for _ in range(trials):
        arm = float(rng.uniform(3.0, 4.5))
        found = calibrate(weighed(rng, arm, 0.05, count))
        inside += abs(found.arm - arm) <= 2.0 * found.arm_sd
    # two standard deviations of a normal distribution hold 95.4 %; widening by the tests' scatter
    # never narrows it, and sets honest outliers aside now and then
    assert 0.94 <= inside / trials <= 0.985


def test_an_outlier_is_named_and_left_out() -> None:
    rng = np.random.default_rng(7)
    tests = weighed(rng, 4.0, 0.02, 5)
    slip = tests[3].model_copy(update={"growth": tests[3].growth + 0.8})
    found = calibrate([*tests[:3], slip, tests[4]], reading_oz=0.02)
    assert found.left_out == (3,)
    assert found.arm == pytest.approx(calibrate([*tests[:3], tests[4]], 0.02).arm, rel=1e-15)
    assert abs(found.arm - 4.0) <= 3.0 * found.arm_sd


@pytest.mark.parametrize("freedom", range(1, 12))
def test_the_chance_beyond_a_students_t_is_scipys(freedom: int) -> None:
    for t in (0.0, 0.3, 2.0, 7.0, 40.0):
        expected = 2.0 * float(student.sf(t, freedom))
        assert _chance_beyond(t, freedom) == pytest.approx(expected, rel=1e-9, abs=1e-13)


@pytest.mark.parametrize(
    ("count", "error"), [(3, 0.03), (3, 0.10), (5, 0.05), (8, 0.03), (8, 0.10)]
)
def test_good_tests_are_hardly_ever_left_out(count: int, error: float) -> None:
    rng = np.random.default_rng(count)
    trials = 2000
    blamed = sum(bool(calibrate(weighed(rng, 3.5, error, count)).left_out) for _ in range(trials))
    # 2 % are allowed for; binomial, three standard deviations of 0.0031 above
    assert blamed / trials <= 0.03


def test_a_slip_of_an_ounce_among_five_tests_is_found() -> None:
    rng = np.random.default_rng(11)
    found, trials = 0, 500
    for n in range(trials):
        tests = weighed(rng, 3.5, 0.05, 5)
        at = n % 5
        tests[at] = tests[at].model_copy(update={"growth": tests[at].growth + 1.0})
        found += calibrate(tests).left_out == (at,)
    assert found / trials >= 0.95


def test_two_tests_that_disagree_widen_the_uncertainty_and_none_is_blamed() -> None:
    tests = [SurfaceTest(weight=2.0, growth=g, diameter=8.55) for g in (1.5, 2.5)]
    found = calibrate(tests, reading_oz=0.05)
    assert found.left_out == ()
    assert found.scatter == pytest.approx(math.sqrt(2 * 0.5**2) / 0.05)
    # the standard error of two readings, 1 oz apart, of 2 oz at the radius: 0.5 oz of 2
    assert found.arm_sd / found.arm == pytest.approx(0.25, rel=1e-12)


def test_tests_that_no_scale_can_give_are_refused() -> None:
    with pytest.raises(InputError, match="no test"):
        calibrate([])
    with pytest.raises(InputError, match="reading"):
        calibrate([SurfaceTest(weight=1.0, growth=1.0, diameter=8.5)], 0.0)
    with pytest.raises(InputError, match="1 to 14 in"):
        calibrate([SurfaceTest(weight=1.0, growth=0.3, diameter=8.5)])


# --- the fit --------------------------------------------------------------------------------------


def invented_job(rng: np.random.Generator, record: dict[str, Any]) -> dict[str, Any]:
    """A record with a box that says nothing about shell and filler."""
    job = copy.deepcopy(record)
    low = float(rng.uniform(2.48, 2.56))
    job["ball"] |= {
        "weight": float(rng.uniform(14.0, 15.8)),
        "top_weight": float(rng.uniform(2.0, 4.0)),
        "pin_to_cg": float(rng.uniform(2.0, 4.0)),
        "rg_low": low,
        "differential": float(rng.uniform(0.03, 0.055)),
        "intermediate_differential": 0.01,
    }
    del job["ball"]["shell"], job["ball"]["filler_density"]
    del job["scale"]
    job["layout"] = {
        "by": "angles",
        "angle_at_pin": float(rng.uniform(20, 80)),
        "pin_to_pap": float(rng.uniform(3.0, 5.5)),
        "angle_at_pap": float(rng.uniform(20, 60)),
    }
    grip = job["bowler"]["grip"]
    for finger in ("middle", "ring"):
        grip[finger]["depth"] = float(rng.uniform(1.0, 2.5))
    grip["thumb"] |= {"depth": float(rng.uniform(2.0, 3.0))}
    return job


def weighed_shop(
    seed: int, record: dict[str, Any], count: int, truth: tuple[float, float, float], error: float
) -> list[WeighedJob]:
    """Jobs of a shop with this arm, shell density and filler shift, weighed with errors."""
    arm, shell, shift = truth
    rng = np.random.default_rng(seed)
    jobs = []
    for _ in range(400 * count):
        if len(jobs) == count:
            break
        box = invented_job(rng, record)
        usual = plan(parse_job(box))
        # 3/4 in is the first documented thickness of a shell that no box states
        if usual.core is None or not any("shell 3/4 in" in c for c in usual.cautions):
            continue
        told = copy.deepcopy(box)
        told["ball"]["shell"] = {"thickness": 0.75, "density": shell}
        told["ball"]["filler_density"] = usual.core.filler_density + shift
        told["scale"] = {"arm": arm}
        try:
            s = plan(parse_job(told)).statics
        except InputError:  # no core can be inside such a ball
            continue
        noise = error * rng.standard_normal(4)
        box["weighings"] = {
            "drilled": {
                "gross": s.weight_lb + 1.6 * float(noise[0]) / 16.0,
                "top": s.top_oz + float(noise[1]),
                "side": s.side_oz + float(noise[2]),
                "finger": s.finger_oz + float(noise[3]),
            }
        }
        jobs.append(WeighedJob(f"{len(jobs)}.json", parse_job(box)))
    assert len(jobs) == count
    return jobs


def test_a_shop_without_errors_is_found_exactly_up_to_the_pull_of_the_defaults(
    record: dict[str, Any],
) -> None:
    truth = (4.0, 1.15, 0.05)
    found = fit_shop(weighed_shop(1, record, 10, truth, 0.0))
    for value, true, sd in zip(found.values, truth, found.sds, strict=True):
        assert abs(value - true) <= 1.5 * sd
    assert found.after < 0.25 * found.before


def drawn(rng: np.random.Generator) -> tuple[float, float, float]:
    return (
        float(rng.uniform(2.3, 4.6)),
        float(np.clip(1.20 + SHELL_SD * rng.standard_normal(), 1.08, 1.28)),
        float(FILLER_SD * rng.standard_normal()),
    )


def covered(found: ShopFit, truth: tuple[float, float, float]) -> list[float]:
    return [abs(v - t) / s for v, t, s in zip(found.values, truth, found.sds, strict=True)]


def test_invented_shops_are_recovered_within_the_stated_uncertainty(record: dict[str, Any]) -> None:
    # as few jobs a shop as can be fitted keep the run short; arms from the whole range
    rng = np.random.default_rng(5)
    away = []
    for seed in range(8):
        truth = drawn(rng)
        away += covered(fit_shop(weighed_shop(100 + seed, record, FEWEST_JOBS, truth, 0.1)), truth)
    assert 0.90 <= sum(a <= 2.0 for a in away) / len(away) <= 0.99
    assert sum(a <= 2.0 for a in away[::3]) >= 6  # of the 8 arms alone
    assert max(away) < 4.0
    # an uncertainty that is far too wide would cover everything: a third lies beyond one
    assert 0.45 <= sum(a <= 1.0 for a in away) / len(away) <= 0.90


def test_a_job_left_out_is_predicted_as_by_a_fit_without_it(record: dict[str, Any]) -> None:
    jobs = weighed_shop(3, record, 5, (3.9, 1.16, 0.03), 0.05)
    found = fit_shop(jobs)
    assert found.scatter < 1.0  # so that no error is given another weight in the smaller fit
    for i in (0, 3):
        told = found.jobs[i]
        rest = fit_shop(jobs[:i] + jobs[i + 1 :]).fitted("2026-11-25")
        s = plan(with_fitted(jobs[i].job, rest, "")).statics
        assert jobs[i].job.weighings is not None
        w = jobs[i].job.weighings.drilled
        assert w is not None
        pairs = ((s.top_oz, w.top), (s.side_oz, w.side), (s.finger_oz, w.finger))
        errors = [value - float(seen or 0.0) for value, seen in pairs]
        errors.append(16.0 * (s.weight_lb - float(w.gross or 0.0)))
        # the linear formula against real fits: the problem bends a little
        assert told.without == pytest.approx(math.sqrt(np.mean(np.square(errors))), abs=0.01)


def test_a_calibrated_arm_is_hardly_moved_by_the_fit(record: dict[str, Any]) -> None:
    test = SurfaceTest(weight=2.0, growth=2.0, diameter=8.0)
    calibration = Calibration(arm=4.0, sd=0.01, date="2026-11-25", tests=(test,))
    found = fit_shop(weighed_shop(4, record, 4, (4.0, 1.2, 0.0), 0.1), calibration)
    assert abs(found.values[0] - 4.0) < 0.02
    assert found.sds[0] <= 0.0101


def test_densities_that_leave_no_core_are_brought_toward_the_default(
    record: dict[str, Any],
) -> None:
    job = weighed_shop(6, record, 1, (4.0, 1.2, 0.0), 0.0)[0].job
    fitted = fit_shop(weighed_shop(6, record, 4, (4.0, 1.2, 0.0), 0.0)).fitted("2026-11-25")
    far = fitted.model_copy(update={"shell_density": 2.5, "filler_shift": 0.9})
    changed = with_fitted(job, far, "a test")
    assert changed.ball.shell is not None
    assert 1.2 <= changed.ball.shell.density < 2.5
    assert plan(changed).core is not None
    assert plan(changed).statics.arm == far.arm
