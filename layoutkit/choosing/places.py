"""Layouts to try: over the whole ball, and round some of them; on the rule that a driller marks with.

A layout is a row of three: the pin's over and up, in inches, and the reference mark's bearing at the
pin, in degrees. All are multiples of 1/16 in and of whole degrees, so that what is printed is what was
computed.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.sphere import from_over_up, wrap180
from layoutkit.geometry.vectors import Array

RULE = 16.0  # parts of an inch
BLOCK = 1024  # layouts that `kinds` looks at together


class Steps(NamedTuple):
    """A grid round a layout: inches and degrees between two lines, and lines to either side."""

    arc: float
    turn: float
    lines: int = 2


COARSE = Steps(0.5, 10.0)
NEAR = (Steps(0.125, 2.0), Steps(0.125, 2.0), Steps(0.0625, 1.0), Steps(0.0625, 1.0))
FINE = 2  # where among these the sixteenths begin
APART, TURNED = 0.25, 10.0  # what a driller marks no better: inches, degrees; common practice


def whole_ball(radius: float, steps: Steps = COARSE) -> Array:
    """Layouts (n, 3) with the pin all over the ball, as evenly as that goes, at all bearings."""
    half = _floor(math.pi * radius)
    rows = math.floor(math.pi * radius / 2.0 / steps.arc)
    places = []
    for up in np.arange(-rows, rows + 1) * steps.arc:
        round_the_ball = 2.0 * math.pi * radius * math.cos(up / radius)
        count = max(round(round_the_ball / steps.arc), 1)
        over = np.round((np.arange(count) / count * 2.0 - 1.0) * half * RULE) / RULE
        places.append(np.stack([over, np.full(count, up)], axis=1))
    pins = np.concatenate(places)
    turns = np.arange(0.0, 360.0, steps.turn)
    return np.column_stack([np.repeat(pins, len(turns), axis=0), np.tile(turns, len(pins))])


def around(layouts: Array, steps: Steps, radius: float) -> tuple[Array, NDArray[np.intp]]:
    """Layouts (m, 3) on grids round each of ``layouts`` (n, 3), and which of these each is about (m,)."""
    k = np.arange(-steps.lines, steps.lines + 1)
    offsets = np.stack(np.meshgrid(k, k, k, indexing="ij"), axis=-1).reshape(-1, 3)
    every = layouts[:, None] + offsets * [steps.arc, steps.arc, steps.turn]
    whose = np.repeat(np.arange(len(layouts)), len(offsets))
    return on_ball(every.reshape(-1, 3), radius), whose


def on_ball(layouts: Array, radius: float) -> Array:
    """Layouts on the rule, with over and up that this ball has and bearings from 0 to 360."""
    over, up, bearing = layouts.T
    over, up = np.round(over * RULE) / RULE, np.round(up * RULE) / RULE
    half, quarter = _floor(math.pi * radius), _floor(math.pi * radius / 2.0)
    turned = np.round(bearing) % 360.0
    return np.column_stack([np.clip(over, -half, half), np.clip(up, -quarter, quarter), turned])


def _floor(length: float) -> float:
    return math.floor(length * RULE) / RULE


def same(
    layouts: Array, other: Array, radius: float, apart: float, turned: float
) -> NDArray[np.bool_]:
    """Whether layouts (n, 3) are within an arc and an angle of another one (3,)."""
    points, there = _directions(layouts, radius), _directions(other[None], radius)[0]
    return _near(points, layouts[:, 2], there, other[2], math.cos((apart + 1e-9) / radius), turned)


def _directions(layouts: Array, radius: float) -> Array:
    """From the centre to each pin, (n, 3), of length 1."""
    return np.asarray(from_over_up(layouts[:, 0], layouts[:, 1], radius) / radius)


def _near(
    points: Array, bearings: Array, there: Array, bearing: float, least: float, turned: float
) -> NDArray[np.bool_]:
    """Which pins (n, 3) and bearings (n,) are near one; ``least`` is the cosine of the arc."""
    near = points @ there >= least  # sooner compared than arcs
    return np.asarray(near & (np.abs(wrap180(bearings - bearing)) <= turned + 1e-9))


def kinds(
    layouts: Array, order: NDArray[np.intp], radius: float, apart: float, turned: float, most: int
) -> list[int]:
    """The first of each kind of layouts (n, 3) in an order (n,), up to ``most`` of them.

    Layouts within an arc and an angle of one that comes before are of its kind.
    """
    points, bearings = _directions(layouts, radius), layouts[:, 2]
    least = math.cos((apart + 1e-9) / radius)

    def others(some: NDArray[np.intp], one: int) -> NDArray[np.intp]:
        near = _near(points[some], bearings[some], points[one], bearings[one], least, turned)
        return np.asarray(some[~near])

    first: list[int] = []
    for at in range(0, len(order), BLOCK):  # all are seldom gone through
        left = order[at : at + BLOCK]
        for one in first:
            left = others(left, one)
        while len(left):
            first.append(int(left[0]))
            if len(first) == most:
                return first
            left = others(left, first[-1])
    return first
