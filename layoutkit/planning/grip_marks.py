"""The arcs by which hole centres are marked so that spans and bridge hold, rounded for a rule.

The thumb hole's centre lies on the centreline. The middle hole's centre lies where an arc from the
thumb hole's centre crosses a distance square to the centreline. The ring hole's centre lies where an
arc from the thumb hole's centre crosses an arc from the middle hole's. The printed arcs are those
lengths themselves, so no span and no bridge from edge to edge can be off by more than half a step of
the rule. Without a thumb hole the palm mark, at the grip centre, stands in its place.

Lengths are inches of arc on the ball; the formulas are spherical trigonometry, worked out here.
"""

from __future__ import annotations

import math
from itertools import product
from typing import NamedTuple

from layoutkit.geometry.sphere import arc, from_over_up, hole_arc
from layoutkit.planning.grip import NEIGHBOUR
from layoutkit.planning.values import HolePlan

STEP = 64  # arcs that carry a span are printed in sixty-fourths of an inch
BRIDGE = "bridge"
STOP = 1.0 / 32.0  # inches; rounding takes up to 0.010 and a careful hand 1/64


class GripArcs(NamedTuple):
    """The four measures that place two finger holes from the thumb hole's centre, in inches.

    ``middle`` and ``ring`` are the arcs from the thumb hole's centre, ``offset`` is the middle hole's
    distance from the centreline, ``apart`` is the arc from the middle hole's centre to the ring's.
    """

    middle: float
    offset: float
    ring: float
    apart: float

    def ring_offset(self, radius: float) -> float:
        """Distance of the ring hole's centre from the centreline, on its own side, in inches.

        ``radius`` is the ball's. Raises ValueError where the two arcs do not cross.
        """
        a, o, b, m = (length / radius for length in self)
        cosine = (math.cos(m) - math.cos(a) * math.cos(b)) / (math.sin(a) * math.sin(b))
        between = math.acos(cosine) - math.asin(math.sin(o) / math.sin(a))
        return radius * math.asin(math.sin(b) * math.sin(between))


def grip_arcs(
    thumb: tuple[float, float],
    middle: tuple[float, float],
    ring: tuple[float, float],
    radius: float,
) -> GripArcs:
    """The exact measures of three places, each over and up from the grip centre in inches."""
    t, m, r = (from_over_up(over, up, radius) for over, up in (thumb, middle, ring))
    offset = radius * math.asin(abs(m[0]) / radius)
    return GripArcs(arc(t, m, radius), offset, arc(t, r, radius), arc(m, r, radius))


def rounded(exact: GripArcs, radius: float, step: float = STEP) -> GripArcs:
    """Of the sixteen ways to round the measures up or down, the one whose worst error is least.

    The errors are those of both spans, of the bridge from edge to edge, and of the bridge square to
    the centreline. A measure that is a whole step stays as it is.
    """

    def choices(length: float) -> tuple[float, ...]:
        parts = length * step
        low = math.floor(parts + 1e-9)
        return (low / step,) if parts - low < 1e-9 else (low / step, (low + 1) / step)

    width = exact.offset + exact.ring_offset(radius)

    def worst(arcs: GripArcs) -> tuple[float, float]:
        try:
            square = abs(arcs.offset + arcs.ring_offset(radius) - width)
        except ValueError:
            return math.inf, math.inf
        errors = [
            abs(arcs.middle - exact.middle),
            abs(arcs.ring - exact.ring),
            abs(arcs.apart - exact.apart),
            square,
        ]
        return max(errors), sum(errors)

    return min((GripArcs(*each) for each in product(*map(choices, exact))), key=worst)


class EdgeCheck(NamedTuple):
    """A length between two holes' edges, to be measured before the bit, in inches.

    ``cut`` is between the edges that the first bits cut, ``finished`` between the finished ones. Of the
    bridge ``finished`` is its figure square to the centreline.
    """

    name: str
    cut: float
    finished: float


def edge_checks(holes: tuple[HolePlan, ...], bridge: float, radius: float) -> tuple[EdgeCheck, ...]:
    """All spans, the bridge and the outer fingers' gaps of a plan's holes, on a ball of this radius.

    A rule laid from edge to edge reads more than the bridge where the spans differ, because the
    bridge is square to the centreline; both figures are given.
    """
    by_name = {h.name: h for h in holes}
    base = "thumb" if "thumb" in by_name else "palm"
    checks = [
        EdgeCheck(f"{base} to {h.name}", h.bored_span, h.span)
        for h in holes
        if h.span is not None and h.bored_span is not None
    ]

    def apart(one: HolePlan, other: HolePlan) -> tuple[float, float]:
        """Between the edges of two holes, cut and finished."""
        whole = arc(one.entry, other.entry, radius)
        pair = (one, other)
        bored = sum(
            hole_arc(h.diameter if h.bore is None else h.bore.diameter, radius) for h in pair
        )
        return whole - bored, whole - sum(hole_arc(h.diameter, radius) for h in pair)

    cut, _ = apart(by_name["middle"], by_name["ring"])
    checks.append(EdgeCheck(BRIDGE, cut, bridge))
    for name, beside in NEIGHBOUR.items():
        if name in by_name:
            checks.append(EdgeCheck(f"{beside} to {name}", *apart(by_name[name], by_name[beside])))
    return tuple(checks)
