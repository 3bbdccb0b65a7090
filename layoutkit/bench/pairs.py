"""A static weight from the two raw readings of a two-position weighing.

The ball lies on a level beam, is read as ``a``, is turned end for end and read as ``b``. Its first
moment along the beam is M. On two supports S apart, with the scale under the second one and the seat
half way, the moments about the first one make

    a = z + W / 2 + M / S,    b = z + W / 2 - M / S,

with the zero error z and the ball's weight W; on a pan whose lever is L, a = z + M / L and
b = z - M / L. So M is the lever times half the difference, the static weight is M over the scale's
arm, and what both readings share is the zero error (statics; no source needed).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from layoutkit.errors import InputError
from layoutkit.job.record import Job, Pairs, Scale
from layoutkit.planning.given import arms
from layoutkit.units import OZ_PER_LB

READING_OZ = 0.05  # standard deviation of one reading; a convention, no source
NAMES = ("top", "side", "finger")

# 99 % points of the studentised range of two and of three values with a known deviation (H. L. Harter,
# Tables of range and studentized range, Ann. Math. Statist. 31, 1960, from memory)
_RANGE = {2: 3.643, 3: 4.120}


class PairWeight(NamedTuple):
    """What two readings make, all in ounces; the deviations are standard deviations.

    ``low`` and ``high`` differ from ``weight`` only where the readings need an arm that is not
    calibrated. Of a scale whose half difference is the weight, ``zero_error`` still has half the
    ball's weight in it where the ball lies on two supports.
    """

    a: float
    b: float
    weight: float
    weight_sd: float
    zero_error: float
    zero_error_sd: float
    low: float
    high: float


def moment(a: float, b: float, lever: float) -> float:
    """The first moment along the beam, in oz in, of readings in ounces and a lever in inches.

    ``lever`` is the distance between the two supports, or the lever of the pan.
    """
    return lever * (a - b) / 2.0


def zero_error(a: float, b: float, seat_oz: float = 0.0) -> float:
    """What both readings share, in ounces, less ``seat_oz``, the ball's weight on the scale's support.

    ``seat_oz`` is half the ball's weight with the seat half way between the supports, W x0 / S with
    the seat x0 from the other support, and 0 on a pan.
    """
    return (a + b) / 2.0 - seat_oz


def zero_error_sd(reading_oz: float = READING_OZ, times: int = 1) -> float:
    """The zero error's standard deviation in ounces, each position read so many times."""
    return reading_oz / math.sqrt(2.0 * times)


def from_pair(
    pair: tuple[float, float],
    scale: Scale,
    arm: float,
    weight_lb: float,
    reading_oz: float = READING_OZ,
    times: int = 1,
) -> PairWeight:
    """The static weight of two readings in ounces, by the scale's kind and the arm in inches.

    ``weight_lb`` is the ball's, for the zero error on two supports. Raises InputError where the scale
    does not say what half the difference of its readings means.
    """
    a, b = pair
    lever = _lever(scale, arm)
    weight = moment(a, b, lever) / arm
    seat_oz = 0.0 if scale.supports is None else weight_lb * OZ_PER_LB / 2.0
    sd = zero_error_sd(reading_oz, times)
    return PairWeight(
        a, b, weight, lever / arm * sd, zero_error(a, b, seat_oz), sd, weight, weight
    )  # fmt: skip


def from_pairs(
    job: Job,
    pairs: Mapping[str, tuple[float, float]],
    weight_lb: float,
    reading_oz: float = READING_OZ,
) -> dict[str, PairWeight]:
    """The static weights of a job's pairs of readings by name, with the ends that its arm leaves.

    Raises InputError for a name that is none of `NAMES`, and as `from_pair` does.
    """
    return on_scale(pairs, job.scale or Scale(), arms(job), weight_lb, reading_oz)


def on_scale(
    pairs: Mapping[str, tuple[float, float]],
    scale: Scale,
    possible_arms: Sequence[float],
    weight_lb: float,
    reading_oz: float = READING_OZ,
) -> dict[str, PairWeight]:
    """The static weights of pairs of readings by name, on a scale of these possible arms in inches.

    The first arm makes the weight, all of them make its ends. Raises InputError for a name that is none
    of `NAMES`, and as `from_pair` does.
    """
    weights: dict[str, PairWeight] = {}
    for name, pair in pairs.items():
        if name not in NAMES:
            raise InputError(f"pairs: {name!r} has no two readings; possible: {', '.join(NAMES)}.")
        each = [from_pair(pair, scale, arm, weight_lb, reading_oz) for arm in possible_arms]
        ends = [one.weight for one in each]
        weights[name] = each[0]._replace(low=min(ends), high=max(ends))
    return weights


def stated(pairs: Pairs | None) -> dict[str, tuple[float, float]]:
    """The pairs of readings that a weighing of the record states, by name."""
    if pairs is None:
        return {}
    named = ((name, getattr(pairs, name)) for name in NAMES)
    return {name: pair for name, pair in named if pair is not None}


def zero_errors_apart(
    weights: Mapping[str, PairWeight], reading_oz: float = READING_OZ
) -> str | None:
    """One sentence where the zero errors of one stage do not repeat, None where they do.

    A zero error belongs to the scale, not to the ball, so one that differs comes from a slip. Good
    readings are blamed in one stage of a hundred. Of three zero errors the sentence names the one
    without which the other two agree.
    """
    if not _apart(weights, reading_oz):
        return None
    without = [
        name
        for name in weights
        if len(weights) > 2
        and not _apart({n: w for n, w in weights.items() if n != name}, reading_oz)
    ]
    shown = ", ".join(f"{name} {w.zero_error:.2f}" for name, w in weights.items())
    if len(without) == 1:
        which = f"{without[0]} stands out: weigh it again"
    else:
        which = "it cannot be said which is wrong: weigh them again"
    return f"The zero errors do not repeat ({shown} oz); {which}."


def _apart(weights: Mapping[str, PairWeight], reading_oz: float) -> bool:
    zeros = [w.zero_error for w in weights.values()]
    if len(zeros) < 2:
        return False
    return max(zeros) - min(zeros) > _RANGE[len(zeros)] * zero_error_sd(reading_oz)


def _lever(scale: Scale, arm: float) -> float:
    """The lever of half the difference, in inches."""
    if scale.supports is not None:
        return scale.supports
    if scale.pan_lever is not None:
        return scale.pan_lever
    if scale.reading is not None:
        return arm  # half the difference is the weight itself
    raise no_kind()


def no_kind() -> InputError:
    """The error about a scale that does not say what two readings mean."""
    return InputError(
        "is not stated, so two readings make no weight; possible: scale.supports (how far apart the "
        'two supports are), scale.pan_lever (the lever of the pan), or scale.reading "half_difference".',
        "scale.supports",
    )
