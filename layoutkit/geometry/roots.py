"""Where a function of one number vanishes, and where it is least.

The callers evaluate functions that cost as much as the search itself, so every search stops at an
accuracy that the caller states.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np

from layoutkit.geometry.vectors import Array

Function = Callable[[float], float]

GOLDEN = 0.5 * (math.sqrt(5.0) - 1.0)


def regula_falsi(
    f: Function,
    near: float,
    at_near: float,
    far: float,
    at_far: float,
    tolerance: float,
    rounds: int,
    guess: float | None = None,
) -> float:
    """Where a function vanishes between two places at which its signs differ.

    ``at_near`` and ``at_far`` are its values there. The search stops where its magnitude is below
    ``tolerance``, or after so many ``rounds``. It starts at ``guess``, if one is given, else where
    the chord vanishes. The Illinois variant (M. Dowell & P. Jarratt, BIT 11, 1971, 168).
    """
    at = far - at_far * (far - near) / (at_far - at_near) if guess is None else guess
    for _ in range(rounds):
        now = f(at)
        if abs(now) < tolerance:
            break
        if now * at_far < 0.0:
            near, at_near = far, at_far
        else:
            at_near *= 0.5
        far, at_far = at, now
        at = far - at_far * (far - near) / (at_far - at_near)
    return at


def regula_falsi_many(
    f: Callable[[Array], Array],
    near: Array,
    at_near: Array,
    far: Array,
    at_far: Array,
    rounds: int,
) -> Array:
    """The same for many functions at once: (n,) throughout.

    ``f`` maps places (n,) to values (n,). Every place is that of the chord after ``rounds`` - 1
    evaluations, at least one round. Where the signs do not differ it is one of the ends.
    """
    for left in range(rounds, 0, -1):
        share = at_near / np.where(at_near == at_far, 1.0, at_near - at_far)
        at = near + np.minimum(np.maximum(share, 0.0), 1.0) * (far - near)
        if left > 1:
            now = f(at)
            crossed = now * at_far < 0.0
            near = np.where(crossed, far, near)
            at_near = np.where(crossed, at_far, 0.5 * at_near)
            far, at_far = at, now
    return at


def newton_between(
    slopes: Callable[[float], tuple[float, float]], start: float, end: float, tolerance: float
) -> float | None:
    """Where a function vanishes that is negative first, then positive, to this ``tolerance``.

    ``slopes`` gives its value and its derivative between ``start`` and ``end``, which are not
    asked for themselves. Newton's method; a step that would leave the bracket goes to its middle
    instead. None where the search runs into one of the ends, as it does where the sign stays.
    """
    low, high = start, end
    at = 0.5 * (low + high)
    for _ in range(60):
        value, slope = slopes(at)
        if value > 0.0:
            high = at
        else:
            low = at
        step = -value / slope if slope > 0.0 else math.inf
        if not low <= at + step <= high:
            step = 0.5 * (low + high) - at
        at += step
        if abs(step) < tolerance:
            break
    return at if start + 2.0 * tolerance < at < end - 2.0 * tolerance else None


def bisection(holds: Callable[[float], bool], low: float, high: float, tolerance: float) -> float:
    """Up to where something holds, to this ``tolerance``; it holds at ``low`` and not at ``high``."""
    while high - low > tolerance:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


class Bracket(NamedTuple):
    """Four rising places around the least value of a function, and its values there."""

    places: tuple[float, float, float, float]
    values: tuple[float, float, float, float]

    @property
    def least(self) -> tuple[float, float]:
        """The better of the two inner places, and the value there."""
        (_, c, d, _), (_, at_c, at_d, _) = self
        return (c, at_c) if at_c < at_d else (d, at_d)


def golden_section(f: Function, low: float, high: float) -> Iterator[Bracket]:
    """Ever narrower brackets of the least value of a function with one valley between two places.

    Each is 0.618 times as wide as the one before, and costs one evaluation (J. Kiefer, Proceedings
    of the American Mathematical Society 4, 1953, 502). The caller ends it.
    """
    c, d = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_low, at_c, at_d, at_high = f(low), f(c), f(d), f(high)
    while True:
        yield Bracket((low, c, d, high), (at_low, at_c, at_d, at_high))
        if at_c < at_d:
            high, at_high, d, at_d = d, at_d, c, at_c
            c = high - GOLDEN * (high - low)
            at_c = f(c)
        else:
            low, at_low, c, at_c = c, at_c, d, at_d
            d = low + GOLDEN * (high - low)
            at_d = f(d)


def valley(f: Function, x: float, steps: tuple[float, ...]) -> float:
    """Near where a smooth function of one valley is least, looked for from ``x``.

    One parabola is laid through three values for each of the ``steps``, which should shrink, and
    no move is longer than two steps. The nearer the start, the nearer the end.
    """
    for step in steps:
        left, middle, right = f(x - step), f(x), f(x + step)
        bend = left - 2.0 * middle + right
        if bend > 0.0:
            x += min(max(0.5 * step * (left - right) / bend, -2.0 * step), 2.0 * step)
        elif left != right:
            x += math.copysign(2.0 * step, left - right)
    return x
