"""The rings that a rolling ball's track leaves on it: where they lie, spread and cross.

While the ball turns about an axis, the lane touches it along a circle about that axis. From turn to turn
the axis moves in the ball, and the circles move with it: that is flare. Unit vectors in the bowler's
frame of `layoutkit.geometry.sphere`, lengths in inches of arc on the ball, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Any, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.vectors import (
    Array,
    Vector,
    along,
    cross,
    dot,
    functions_for,
    length,
    scaled,
)

_RADIAN = math.pi / 180.0


class FlareRing(NamedTuple):
    """The track of one turn: its number, the axis that it is about, and its angular radius.

    ``x`` is where on the lane that turn began, in feet; ``oily`` tells whether that was on the oil.
    """

    turn: int
    axis: Vector
    radius: float
    x: float
    oily: bool


class Circle(Protocol):
    """A ring as a circle on the ball, or many of them: the axis by components, the angular radius."""

    @property
    def axis(self) -> Any:
        """Its axis."""

    @property
    def radius(self) -> Any:
        """Its angular radius in degrees."""


class Near(NamedTuple):
    """A hole that a ring comes near: the arc from the hole's edge to it, 0 or less where it runs over."""

    hole: str
    turn: int
    gap: float


class Flare(NamedTuple):
    """All rings in order, and of those on the oil: the gaps from one to the next where they are widest
    apart, the width from the first to the last, and where neighbours cross (two places, or none).

    ``migration`` is the arc that the axis moved from the first ring to the last on the oil.
    """

    rings: tuple[FlareRing, ...]
    spacing: tuple[float, ...]
    width: float
    migration: float
    crossings: tuple[tuple[Vector, ...], ...]


class Track(NamedTuple):
    """What the rings of shots are read from, step by step: s and, in ``values`` (t, 5), the angular
    velocity in the ball (three parts) and its part up from the lane, rad/s, and x in inches.

    Those of one shot follow one another. ``at`` (steps,) has the row with which each step begins; it
    ends with the next one. ``begun`` and ``ended`` (steps, 5) are how fast the values change at both
    ends: where friction or the motion changes, a step ends with another rate than the next begins with.
    """

    time: Array
    values: Array
    at: NDArray[np.intp]
    begun: Array
    ended: Array


class Found(NamedTuple):
    """The rings of shots one after the other (m,): the step on which each begins, and what `FlareRing`
    has; ``axis`` (m, 3), ``x`` in inches."""

    step: NDArray[np.intp]
    turn: NDArray[np.intp]
    axis: Array
    radius: Array
    x: Array


def rings(track: Track, oil_end: float) -> tuple[FlareRing, ...]:
    """The rings of one shot; ``oil_end`` in inches. None where the ball at once ceases to turn."""
    speed = np.linalg.norm(track.values[:, :3], axis=1)
    if len(speed) < 2 or speed.min() <= 0.0:
        return ()
    found = read(track)
    rows = (found.turn, found.axis, found.radius, found.x)
    return tuple(
        FlareRing(n, (a, b, c), w, x / 12.0, x < oil_end)
        for n, (a, b, c), w, x in zip(*(row.tolist() for row in rows), strict=True)
    )


def read(track: Track) -> Found:
    """The rings of many shots, each with at least one step and turning all the time: one at every whole
    turn, of which a step has one at most.

    Between two steps all is a cubic with its rates at both ends. The turns are the speed's integral by
    the trapezoids corrected at their ends (Euler and Maclaurin).
    """
    i = track.at
    speed = np.linalg.norm(track.values[:, :3], axis=1)
    step = track.time[i + 1] - track.time[i]
    rise, fall = (
        np.sum(track.values[row, :3] * rate[:, :3], axis=1) / speed[row]
        for row, rate in ((i, track.begun), (i + 1, track.ended))
    )
    by = np.zeros(len(speed))
    by[i + 1] = step * (0.5 * (speed[i + 1] + speed[i]) + step * (rise - fall) / 12.0)
    turned = np.cumsum(by) / (2.0 * math.pi)
    # every shot begins to count anew
    first = np.ones(len(speed), dtype=bool)
    first[i + 1] = False
    begins = np.flatnonzero(first)
    turned -= np.repeat(turned[begins], np.diff([*begins, len(turned)]))

    starts = np.flatnonzero(first[i])
    passing = np.flatnonzero(np.floor(turned[i + 1]) > np.floor(turned[i]))
    k = np.concatenate([starts, passing])
    whole = np.concatenate([np.zeros(len(starts)), np.floor(turned[i[passing] + 1])])
    in_order = np.argsort(k, kind="stable")
    k, whole = k[in_order], whole[in_order]
    i, h = i[k], step[k]
    share = (whole - turned[i]) / (turned[i + 1] - turned[i])
    pace = speed / (2.0 * math.pi)
    for _ in range(4):  # Newton's method
        off = cubic(turned[i], turned[i + 1], h * pace[i], h * pace[i + 1], share) - whole
        share = share - off / (h * (pace[i] + share * (pace[i + 1] - pace[i])))
    h, share = h[:, None], share[:, None]
    there = cubic(
        track.values[i], track.values[i + 1], h * track.begun[k], h * track.ended[k], share
    )
    size = np.linalg.norm(there[:, :3], axis=1)
    axis = there[:, :3] / size[:, None]
    wide = np.degrees(np.arccos(np.clip(-there[:, 3] / size, -1.0, 1.0)))
    return Found(k, whole.astype(np.intp), axis, wide, there[:, 4])


def cubic(a: Any, b: Any, rise: Any, fall: Any, u: Any) -> Any:
    """At a share u of the way from a to b, the cubic that leaves a and reaches b with these slopes.

    Numbers or arrays; a slope is by how much all grows over the whole way.
    """
    v = 1.0 - u
    return v * v * (1.0 + 2.0 * u) * a + u * u * (3.0 - 2.0 * u) * b + u * v * (v * rise - u * fall)


def spread(found: Sequence[FlareRing], radius: float) -> Flare:
    """What the rings on the oil add up to, on a ball of this radius."""
    oily = [ring for ring in found if ring.oily]
    gaps = tuple(apart(a, b, radius) for a, b in pairwise(oily))
    width = max((apart(oily[0], b, radius) for b in oily[1:]), default=0.0)
    moved = radius * _between(oily[0].axis, oily[-1].axis) if oily else 0.0
    cross_at = tuple(crossing(a, b) for a, b in pairwise(oily))
    return Flare(tuple(found), gaps, width, moved, cross_at)


def apart(a: Circle, b: Circle, radius: float) -> Any:
    """How far apart two rings are where they are widest apart, or many rings each.

    Seen from the axis of one ring, the points of the other lie at its radius plus or minus the angle
    between the axes at most. The larger difference from the first ring's radius counts.
    """
    turn = _between(a.axis, b.axis)
    return radius * (turn + abs(_RADIAN * (a.radius - b.radius)))


def _between(a: Vector, b: Vector) -> Any:
    onto = dot(a, b)
    return functions_for(onto).atan2(length(cross(a, b)), onto)


def crossing(a: FlareRing, b: FlareRing) -> tuple[Vector, ...]:
    """The two points of the ball where two rings cross; none where they do not.

    The points of both planes a . p = cos(ra), b . p = cos(rb) that are on the unit sphere.
    """
    line = cross(a.axis, b.axis)
    square = dot(line, line)
    if square < 1e-18:
        return ()
    ca, cb, ab = (
        math.cos(math.radians(a.radius)),
        math.cos(math.radians(b.radius)),
        dot(a.axis, b.axis),
    )
    p = along(scaled(a.axis, (ca - cb * ab) / square), b.axis, (cb - ca * ab) / square)
    left = 1.0 - dot(p, p)
    if left < 0.0:
        return ()
    t = math.sqrt(left / square)
    return along(p, line, t), along(p, line, -t)


def near_holes(
    found: Sequence[FlareRing],
    holes: Sequence[tuple[str, Vector, float]],
    radius: float,
    within: float,
) -> tuple[Near, ...]:
    """The holes that rings run over or pass within this arc, each by its nearest ring.

    ``holes``: name, centre (on the ball) and arc radius of each mouth; a name may come more than once.
    """
    nearest: dict[str, Near] = {}
    for ring in found:
        for name, center, size in holes:
            gap = gap_to(ring, center, size, radius)
            if gap <= within and (name not in nearest or gap < nearest[name].gap):
                nearest[name] = Near(name, ring.turn, gap)
    return tuple(nearest.values())


def gap_to(ring: Circle, center: Vector, size: float, radius: float) -> Any:
    """The arc from a mouth's edge to a ring, or to many each, 0 or less where it runs over."""
    return abs(_between(ring.axis, center) - _RADIAN * ring.radius) * radius - size
