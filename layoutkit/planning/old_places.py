"""Where an old hole lies by two arcs, and what its pitch is in the old grip's own terms.

Everything is in the bowler's frame of `layoutkit.geometry.sphere`: unit vectors, lengths in inches,
angles in degrees. Errors name the hole by its place in the record, counted from 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from layoutkit.errors import InputError
from layoutkit.geometry.roots import bisection
from layoutkit.geometry.sphere import arc, hole_arc, meeting, to_over_up
from layoutkit.geometry.vectors import Vector, along, cross, dot, scaled, square_to, unit
from layoutkit.job.record import Digit, OldHole
from layoutkit.units import fraction

GRAZING = 5.0  # degrees; arcs that cross at less tell no place
SLANTED = 40.0  # degrees; arcs that cross at less are warned of
MISREAD = 1.0 / 64.0  # inches that both arcs are off where a caution says what comes of it

_WORDS = {
    "pin": "the pin",
    "cg": "the CG mark",
    "psa": "the PSA mark",
    "grip_center": "the grip centre",
}
_NEEDS = {"cg": "ball.pin_to_cg", "psa": "ball.psa"}


class Crossing(NamedTuple):
    """Where two arcs meet: a unit vector, and the angle between them there, 0 to 90 degrees."""

    place: Vector
    angle: float

    def off(self, each: float = MISREAD) -> float:
        """How far off the place is at most with both arcs off by ``each``, in inches.

        The farthest corner of the rhombus that two strips ``each`` to both sides of the arcs share.
        """
        return each / math.sin(math.radians(self.angle) / 2.0)


def by_arcs(
    hole: OldHole, number: int, marks: Mapping[str, Vector], hand: str, radius: float
) -> Crossing:
    """The place of an old hole by its arcs from two of ``marks``, points of the ball by their names.

    Raises InputError where a mark is not there, where the arcs do not meet or cross at less than
    `GRAZING`, and with both places where the record does not say on which side the hole lies.
    """
    field = f"history.holes.{number}"
    assert hole.arcs is not None
    (first, one), (second, other) = ((n, v) for n, v in hole.arcs if v is not None)
    for name in (first, second):
        if name not in marks:
            raise InputError(
                f"an arc from {_WORDS[name]}, which this ball has not; possible: give {_NEEDS[name]}, "
                f"or arcs from two of {', '.join(marks)}.",
                f"{field}.arcs.{name}",
            )
    a, b = (scaled(marks[name], 1.0 / radius) for name in (first, second))
    normal = cross(a, b)
    if dot(normal, normal) < 1e-6:
        raise InputError(
            f"{_WORDS[first]} and {_WORDS[second]} lie on each other or opposite on this ball; "
            "possible: arcs from two other marks.",
            f"{field}.arcs",
        )
    foot, normal, square = meeting(a, b, math.cos(one / radius), math.cos(other / radius))
    apart = arc(marks[first], marks[second], radius)
    if square < 0.0:
        low, high = abs(apart - one), min(apart + one, 2.0 * math.pi * radius - apart - one)
        raise InputError(
            f"{one:g} in from {_WORDS[first]} and {other:g} in from {_WORDS[second]} do not meet; with "
            f"the first arc the second lies between {low:.3f} and {high:.3f} in.",
            f"{field}.arcs",
        )
    height = math.sqrt(square)
    sine = height * dot(normal, normal)
    cosine = dot(a, b) - math.cos(one / radius) * math.cos(other / radius)
    angle = math.degrees(math.atan2(sine, abs(cosine)))
    if angle < GRAZING:
        raise InputError(
            f"the arcs from {_WORDS[first]} and {_WORDS[second]} cross at {angle:.1f} degrees, so they "
            f"tell no place; possible: arcs from two marks that cross at {GRAZING:g} or more.",
            f"{field}.arcs",
        )
    # seen from outside the normal points to the left; the left-handed bowler's frame is a mirror
    turn = 1.0 if hand == "right" else -1.0
    places = {
        side: along(foot, normal, turn * sign * height)
        for side, sign in (("left", 1.0), ("right", -1.0))
    }
    if hole.side is None:
        words = " or ".join(f'"{side}", at {_place(at, radius)}' for side, at in places.items())
        raise InputError(
            f"missing, and the arcs meet on both sides of the line from {_WORDS[first]} to "
            f"{_WORDS[second]}, seen from outside; possible: {words}.",
            f"{field}.side",
        )
    return Crossing(places[hole.side], angle)


def _place(at: Vector, radius: float) -> str:
    over, up = to_over_up(at, radius)
    return f"over {over:.2f} in, up {up:.2f} in"


class OldGrip(NamedTuple):
    """The frame of a grip that was drilled before: the pole to which its centreline leads.

    ``hand`` is that of the frame. ``left_out`` names the finger that is not placed, empty where
    both are.
    """

    pole: Vector
    hand: str
    left_out: str

    def axis(self, hole: OldHole, place: Vector, radius: float) -> Vector:
        """The inward axis of one of its holes at a unit vector, pitched as in the grip itself."""
        assert hole.pitch is not None
        up = unit(square_to(self.pole, place))
        right = scaled(cross(up, place), 1.0 if self.hand == "right" else -1.0)
        toward_palm = 1.0 if hole.digit == "thumb" else -1.0
        f, r = toward_palm * hole.pitch.forward_net / radius, hole.pitch.right_net / radius
        inward = -math.sqrt(max(1.0 - f * f - r * r, 0.0))
        axis: Vector = along(along(scaled(place, inward), up, f), right, r)
        return axis


def old_grip(
    holes: Sequence[OldHole], places: Sequence[Vector], hand: str, radius: float
) -> OldGrip | None:
    """The old grip's frame; None where no hole tells its pitch by it. ``places`` are unit vectors.

    Its centreline leads from the thumb's centre between the fingers, equally far from both edges; its
    grip centre lies half the mean span beyond the thumb's edge. With one finger only it leads through
    that finger's centre. Raises InputError where no thumb or no finger is placed, or one of them twice.
    """
    asks = [n for n, hole in enumerate(holes) if hole.pitch is not None]
    if not asks:
        return None
    field = f"history.holes.{asks[0]}.pitch"
    at: dict[Digit, int] = {}
    for n, hole in enumerate(holes):
        if hole.digit is None:
            continue
        if hole.digit in at:
            raise InputError(
                f"two old holes are the {hole.digit}'s, so the old grip is not one; possible: digit "
                "for the holes of one grip, and toward_pin and right for the others.",
                f"history.holes.{n}.digit",
            )
        at[hole.digit] = n
    fingers = [name for name in ("middle", "ring") if name in at]
    if "thumb" not in at or not fingers:
        raise InputError(
            "needs an old hole with digit thumb and one with middle or ring, which tell how the old "
            "grip lay; possible: give them, or toward_pin and right.",
            field,
        )
    thumb = places[at["thumb"]]

    def rho(name: Digit) -> float:
        return float(hole_arc(holes[at[name]].diameter, radius)) / radius

    tangents, reaches, edges = [], [], []
    for name in fingers:
        place = places[at[name]]
        tangents.append(unit(square_to(place, thumb)))
        reaches.append(arc(thumb, place, 1.0))
        edges.append(rho(name))
    forth = tangents[0]
    if len(fingers) == 2:
        aside = square_to(tangents[1], forth)
        whole = math.acos(min(max(dot(*tangents), -1.0), 1.0))

        def nearer(turn: float) -> bool:
            """Whether the line turned so far from the first finger still runs nearer to it."""
            one = math.asin(math.sin(reaches[0]) * math.sin(turn)) - edges[0]
            return one <= math.asin(math.sin(reaches[1]) * math.sin(whole - turn)) - edges[1]

        turn = bisection(nearer, 0.0, whole, 1e-14)
        forth = along(scaled(forth, math.cos(turn)), unit(aside), math.sin(turn))
    spans = [reach - edge - rho("thumb") for reach, edge in zip(reaches, edges, strict=True)]
    down = sum(spans) / len(spans) / 2.0 + rho("thumb")
    pole = along(scaled(thumb, -math.sin(down)), forth, math.cos(down))
    missing = [name for name in ("middle", "ring") if name not in at]
    return OldGrip(pole, hand, missing[0] if missing else "")


def place_cautions(holes: Sequence[OldHole], crossings: Sequence[Crossing | None]) -> Iterator[str]:
    """What a driller should know of how the old holes were placed, a sentence each."""
    for hole, crossing in zip(holes, crossings, strict=True):
        if crossing is not None and crossing.angle < SLANTED:
            yield (
                f"The arcs to {hole.name} cross at {crossing.angle:.0f} degrees: {fraction(MISREAD)} in "
                f"off on both puts it up to {crossing.off():.2f} in off. Measure from marks whose arcs "
                "cross more nearly square."
            )
        if hole.arcs is not None and hole.arcs.grip_center is not None:
            yield (
                f"{hole.name} is told from the grip centre of this layout, and would go with it: tell "
                "it from two of the ball's own marks before the layout is changed."
            )
    digits = {hole.digit for hole in holes}
    if any(hole.pitch is not None for hole in holes) and not {"middle", "ring"} <= digits:
        there = "middle" if "middle" in digits else "ring"
        yield (
            f"Only the old {there} finger is placed, so the old grip's centreline is taken from the old "
            "thumb through it, and forward and right of the old holes by that."
        )
