"""The lever of a static scale from known weights on a ball's surface.

A weight w whose centre lies at L from the ball's centre, on the beam's axis, adds the moment w L;
a scale graduated for the lever ``arm`` shows it as x = w L / arm. For a flat weight on the surface L
is the ball's radius R, hence arm = R w / x.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from layoutkit.errors import InputError
from layoutkit.job.limits import limit
from layoutkit.job.record import scale_kind
from layoutkit.job.shop import Shop, SurfaceTest, parse_shop

READING_OZ = 0.05  # standard deviation of a reading's growth; a convention, no source
FALSE_ALARM = 0.02  # chance that a calibration of good tests leaves one out; a convention


class ArmFound(NamedTuple):
    """The arm and its standard deviation in inches; `arms` are those of the single tests.

    ``left_out`` are indices of tests that do not agree with the others and are not in the mean.
    ``scatter`` is the spread of the tests over what `reading_oz` makes expected, None of one test.
    """

    arm: float
    arm_sd: float
    arms: tuple[float, ...]
    left_out: tuple[int, ...]
    scatter: float | None


def lever(test: SurfaceTest) -> float:
    """From the ball's centre to the weight's own, in inches."""
    return test.diameter / 2.0 + test.height


def calibrate(tests: Sequence[SurfaceTest], reading_oz: float = READING_OZ) -> ArmFound:
    """The arm from one or more tests.

    A reading's error is the same whatever the weight, so the weighted mean is taken of 1 / arm, in
    which the readings are linear: 1 / arm = sum(w L x) / sum((w L)^2), with the variance
    reading^2 / sum((w L)^2). Where the tests scatter more than that, it is widened to their scatter
    (the ratio of Birge). From three tests on, one that lies farther from what the others say than
    their own scatter explains is left out, the worst first, as long as more than half of them stay:
    its residual over that scatter follows Student's t, and the chance allowed is shared among the
    tests (R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, 2.2.2, from
    memory). The scatter counts as ``reading_oz`` at least, so that tests which agree by luck or by
    rounding blame no other.

    Raises InputError without a test, for a reading's error that is not above 0, and where the arm
    is not one that a record allows.
    """
    if not tests:
        raise InputError("no test was given; fix a known weight on the ball and weigh it.")
    if not (math.isfinite(reading_oz) and reading_oz > 0.0):
        raise InputError(f"reading: {reading_oz:g} oz is no error of a reading; give more than 0.")
    points = [(t.weight * lever(t), t.growth) for t in tests]
    kept = list(range(len(points)))
    while len(kept) > 2 and 2 * (len(kept) - 1) > len(points):
        worst = max(kept, key=lambda i: _away(points, kept, i, reading_oz))
        away = _away(points, kept, worst, reading_oz)
        if _chance_beyond(away, len(kept) - 2) * len(kept) >= FALSE_ALARM:
            break
        kept.remove(worst)
    inverse, sd = _mean([points[i] for i in kept], reading_oz)
    scatter = None
    if len(kept) > 1:
        squares = sum(((points[i][1] - points[i][0] * inverse) / reading_oz) ** 2 for i in kept)
        scatter = math.sqrt(squares / (len(kept) - 1))
        sd *= max(1.0, scatter)
    arm = 1.0 / inverse
    possible = limit("scale.arm")
    if not possible.low <= arm <= possible.high:
        raise InputError(
            f"the tests make the scale's arm {arm:.3g} in; possible: {possible.range}: look at "
            "the weight and at the growth of the reading."
        )
    left_out = tuple(i for i in range(len(points)) if i not in kept)
    return ArmFound(arm, sd * arm * arm, tuple(m / x for m, x in points), left_out, scatter)


def with_calibration(
    shop: Shop,
    tests: Sequence[SurfaceTest],
    result: ArmFound,
    date: str,
    by: str = "",
    kind: Mapping[str, Any] | None = None,
) -> Shop:
    """The shop with the calibrated arm and the tests that it comes from.

    ``kind`` says what two readings mean, by one of ``supports``, ``pan_lever`` and ``reading``; None
    keeps what the shop says. Raises InputError for a wrong name or kind.
    """
    if kind is None:
        kind = {} if shop.scale is None else scale_kind(shop.scale)
    calibration = {
        "arm": result.arm,
        "sd": result.arm_sd,
        "date": date,
        "by": by,
        "tests": [t.model_dump() for i, t in enumerate(tests) if i not in result.left_out],
        "left_out": [tests[i].model_dump() for i in result.left_out],
        **kind,
    }
    return parse_shop(shop.model_dump() | {"scale": calibration})


def _mean(points: Sequence[tuple[float, float]], reading: float) -> tuple[float, float]:
    """The weighted mean of growth over moment, and its standard deviation."""
    total = sum(m * m for m, _ in points)
    return sum(m * x for m, x in points) / total, reading / math.sqrt(total)


def _away(
    points: Sequence[tuple[float, float]], kept: Sequence[int], i: int, reading: float
) -> float:
    """How far a test lies from what the others say, over what the others' scatter makes of that."""
    others = [points[j] for j in kept if j != i]
    inverse, _ = _mean(others, reading)
    squares = sum((x - m * inverse) ** 2 for m, x in others)
    scatter = max(reading, math.sqrt(squares / (len(others) - 1)))
    sd = _mean(others, scatter)[1]
    moment, growth = points[i]
    return abs(growth - moment * inverse) / math.hypot(scatter, moment * sd)


def _chance_beyond(t: float, freedom: int) -> float:
    """The chance that Student's t of so many degrees of freedom is beyond +-t.

    Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4.
    """
    angle = math.atan(t / math.sqrt(freedom))
    cosine, sine = math.cos(angle), math.sin(angle)
    odd = freedom % 2
    term = cosine if odd else 1.0
    total = term if freedom > 1 else 0.0
    for n in range(2 + odd, freedom - 1, 2):
        term *= (n - 1) / n * cosine * cosine
        total += term
    inside = 2.0 / math.pi * (angle + sine * total) if odd else sine * total
    return 1.0 - inside
