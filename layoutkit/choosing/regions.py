"""Regions in which a pin may be wanted, under names of the program's own, as ranges of over and up."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import mirror, to_over_up
from layoutkit.geometry.vectors import Array
from layoutkit.job.wants import PinWant, Region
from layoutkit.lane.roll import mouths
from layoutkit.planning.values import Plan

Span = tuple[float, float]
WIDE = math.inf


class Place(NamedTuple):
    """Ends of over and up from the grip centre, in inches; infinite where there is none."""

    over: Span
    up: Span

    def outside(self, over: Array, up: Array) -> Array:
        """How far places (n,) are outside, in inches of over and up; 0 inside."""
        aside = _beyond(over, self.over)
        above = _beyond(up, self.up)
        return (aside * aside + above * above) ** 0.5


def _beyond(value: Array, ends: Span) -> Array:
    low, high = ends
    return np.maximum(np.maximum(low - value, value - high), 0.0)


def region(plan: Plan, name: Region) -> Place:
    """A region on a plan's ball, in the bowler's own directions, alike for both hands.

    The fingers are from the middle finger's outer edge to the ring finger's, as they are cut.
    """
    quarter = math.pi * plan.radius / 2.0
    edges = {}
    for mouth in mouths(plan):
        point = tuple(plan.radius * v for v in mirror(mouth.center, plan.job.bowler.hand))
        over, up = to_over_up(point, plan.radius)
        edges[mouth.hole] = (
            over - mouth.radius,
            over + mouth.radius,
            up - mouth.radius,
            up + mouth.radius,
        )
    middle, ring = edges["middle"], edges["ring"]
    fingers = (min(middle[0], ring[0]), max(middle[1], ring[1]))
    pap = plan.marks.pap
    if name == "above the fingers":
        return Place(fingers, (max(middle[3], ring[3]), quarter))
    if name == "below the fingers":
        return Place(fingers, (0.0, min(middle[2], ring[2])))
    if name == "thumb side of the midline":
        return Place((-WIDE, WIDE), (-WIDE, 0.0))
    if name == "far side of the grip":
        return Place((-WIDE, fingers[0]), (-WIDE, WIDE))
    if pap is None:
        raise InputError(f'"{name}" needs the bowler\'s PAP, so give it.', "wants.pin.region")
    if name == "past the PAP":
        return Place((pap.over, WIDE), (-WIDE, WIDE))
    ends = (min(pap.up, ring[2]), max(pap.up, ring[3]))
    return Place((ring[1], max(pap.over, ring[1])), ends)


def place_of(plan: Plan, want: PinWant) -> Place:
    """Where a want has the pin, on a plan's ball."""
    if want.region is not None:
        return region(plan, want.region)
    ends = []
    for part in (want.over, want.up):
        low = -WIDE if part is None or part.least is None else part.least
        high = WIDE if part is None or part.most is None else part.most
        ends.append((low, high))
    return Place(ends[0], ends[1])
