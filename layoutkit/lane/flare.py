"""The rings that a rolling ball's track leaves on it: where they lie, spread and cross.

While the ball turns about an axis, the lane touches it along a circle about that axis. From turn to turn
the axis moves in the ball, and the circles move with it: that is flare. Unit vectors in the bowler's
frame of `layoutkit.geometry.sphere`, lengths in inches of arc on the ball, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from layoutkit.geometry.vectors import Array, Vector, along, cross, dot, length, scaled


class FlareRing(NamedTuple):
    """The track of one turn: its number, the axis that it is about, and its angular radius.

    ``x`` is where on the lane that turn began, in feet; ``oily`` tells whether that was on the oil.
    """

    turn: int
    axis: Vector
    radius: float
    x: float
    oily: bool


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


def rings(
    turned: Array, axes: Array, touch: Array, x: Array, oil_end: float
) -> tuple[FlareRing, ...]:
    """The rings of a shot: one at every whole turn.

    ``turned`` (t,): turns since the release, rising. ``axes`` and ``touch`` (t, 3): unit vectors of the
    axis and of the point that touches the lane. ``x`` (t,) and ``oil_end`` in inches.
    """
    if len(turned) < 2 or turned[-1] <= 0.0:
        return ()
    whole = np.arange(math.floor(turned[-1]) + 1)
    axis = np.stack([np.interp(whole, turned, axes[:, i]) for i in range(3)], axis=1)
    axis /= np.linalg.norm(axis, axis=1, keepdims=True)
    at = np.interp(whole, turned, x)
    opening = np.arccos(np.clip(np.sum(axes * touch, axis=1), -1.0, 1.0))
    wide = np.degrees(np.interp(whole, turned, opening))
    return tuple(
        FlareRing(n, (a, b, c), w, f / 12.0, f < oil_end)
        for n, ((a, b, c), w, f) in enumerate(
            zip(axis.tolist(), wide.tolist(), at.tolist(), strict=True)
        )
    )


def spread(found: Sequence[FlareRing], radius: float) -> Flare:
    """What the rings on the oil add up to, on a ball of this radius."""
    oily = [ring for ring in found if ring.oily]
    gaps = tuple(apart(a, b, radius) for a, b in pairwise(oily))
    width = max((apart(oily[0], b, radius) for b in oily[1:]), default=0.0)
    moved = radius * _between(oily[0].axis, oily[-1].axis) if oily else 0.0
    cross_at = tuple(crossing(a, b) for a, b in pairwise(oily))
    return Flare(tuple(found), gaps, width, moved, cross_at)


def apart(a: FlareRing, b: FlareRing, radius: float) -> float:
    """How far apart two rings are where they are widest apart.

    Seen from the axis of one ring, the points of the other lie at its radius plus or minus the angle
    between the axes at most. The larger difference from the first ring's radius counts.
    """
    turn = _between(a.axis, b.axis)
    return radius * (turn + abs(math.radians(a.radius - b.radius)))


def _between(a: Vector, b: Vector) -> float:
    return math.atan2(length(cross(a, b)), dot(a, b))


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
            off = abs(_between(ring.axis, center) - math.radians(ring.radius)) * radius
            gap = off - size
            if gap <= within and (name not in nearest or gap < nearest[name].gap):
                nearest[name] = Near(name, ring.turn, gap)
    return tuple(nearest.values())
