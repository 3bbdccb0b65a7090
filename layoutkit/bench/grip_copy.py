"""Copy the grip of a drilled ball: from what was measured on it to what a job record states.

A record's bridge is square to the centreline, a rule lies between the cut edges; a record's depth
starts at the surface at the hole's centre, a bar across the opening lies lower; a stiff rule reads a
chord. The formulas are plane and spherical geometry, worked out here. Lengths are inches.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np
from pydantic import ValidationError

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import hole_arc
from layoutkit.job.measured import MeasuredFinger, MeasuredGrip, MeasuredHole, MeasuredOuterFinger
from layoutkit.job.problems import problems_of
from layoutkit.job.record import DIGITS, Grip, Pitch, dump_grip
from layoutkit.job.usual import (
    LEAST_SLEEVE_WALL,
    MOST_APART,
    MOST_PITCH,
    SAME,
    USUAL,
    value_at,
)
from layoutkit.planning.as_drilled import bridge_between
from layoutkit.planning.grip import FINGERS, NEIGHBOUR, place_holes, wall
from layoutkit.units import fraction

READING = 1.0 / 64.0  # standard deviation of an arc, a diameter or a depth as read
PITCH_READING = 1.0 / 32.0  # of a pitch as read on a gauge
SLEEVE_DENSITY = 1.15  # g/cm3; common practice, no source
UNSURE = 2.0  # readings' deviations, beyond which a figure is worth reading again
DISAGREE = 1.0 / 16.0  # inches; what two readings of one span may differ by
_STEP = 1e-4  # inches by which a reading is moved to see what moves with it
_GRIP = "bowler.grip."


class Figure(NamedTuple):
    """A figure of the grip: its path in the record's grip, as read, as the record states it; inches.

    ``deviation`` is one standard deviation of ``value``. Of a pitch, forward and right are positive.
    """

    field: str
    measured: float
    value: float
    deviation: float


class Remark(NamedTuple):
    """A sentence about a field of the measured grip."""

    field: str
    words: str


@dataclass(frozen=True, slots=True)
class GripCopy:
    """A grip that was copied from a drilled ball.

    ``grip`` is the record's; its arcs and pitches hold on a ball of any diameter. ``apart`` is the arc
    between the middle and the ring finger holes' centres, ``turn`` the angle between their two arcs at
    the thumb hole's centre (at the palm mark), in degrees. ``straight`` says what each span reads
    straight across, by digits. ``again`` are the figures that are odd, ``assumed`` what nobody measured.
    """

    measured: MeasuredGrip
    grip: Grip
    figures: tuple[Figure, ...]
    apart: float
    turn: float
    straight: Mapping[str, float]
    again: tuple[Remark, ...]
    assumed: tuple[Remark, ...]

    def figure(self, field: str) -> Figure:
        """The figure of a field; KeyError where there is none."""
        for figure in self.figures:
            if figure.field == field:
                return figure
        raise KeyError(field)


def copied(measured: MeasuredGrip) -> GripCopy:
    """The grip of a measured ball, as a record states it.

    Raises InputError where no grip can have been measured so: spans and a bridge that cannot all be
    true, or a figure that no record can state.
    """
    readings = dict(_readings(measured))
    values = _values(readings, measured)
    if math.isnan(values["bridge"]) or values["bridge"] < -SAME:
        raise _no_bridge(readings, measured)
    deviations = _deviations(readings, measured)
    as_read = {field: readings[_source(field)] for field in values}
    figures = tuple(
        Figure(field, as_read[field], float(value), deviations[field])
        for field, value in values.items()
    )
    grip, assumed = _grip(measured, values)
    radius = measured.diameter / 2.0
    arcs: dict[str, float] = {
        name: values[f"{name}.span"] for name in DIGITS if f"{name}.span" in values
    }
    straight: dict[str, float] = {
        name: 2.0 * radius * math.sin(arc / 2.0 / radius) for name, arc in arcs.items()
    }
    apart, turn = _triangle(readings, measured)
    again = (
        *_straight_readings(measured, arcs, straight),
        *_unusual(measured, grip),
        *_pitches(measured, grip, radius),
        *_unsure(figures),
    )
    return GripCopy(measured, grip, figures, apart, turn, straight, again, assumed)


def record_grip(copy: GripCopy) -> dict[str, Any]:
    """The grip as a job record states it, ready for JSON: what was worked out to 0.0001 in."""
    values = {
        each.field: each.value if each.value == each.measured else round(each.value, 4)
        for each in copy.figures
    }
    return dump_grip(_grip(copy.measured, values)[0])


# --- from readings to figures ---------------------------------------------------------------------


def _holes(measured: MeasuredGrip) -> Iterator[tuple[str, MeasuredHole]]:
    """The holes that are there, by digits."""
    for name in DIGITS:
        hole = getattr(measured, name)
        if hole is not None:
            yield name, hole


def _readings(measured: MeasuredGrip) -> Iterator[tuple[str, float]]:
    """Every reading by its field; pitches signed."""
    yield "diameter", measured.diameter
    yield "bridge", measured.bridge
    for name, hole in _holes(measured):
        if isinstance(hole, MeasuredFinger):
            yield f"{name}.span", hole.span
        if isinstance(hole, MeasuredOuterFinger):
            yield f"{name}.gap", hole.gap
        yield f"{name}.diameter", hole.diameter
        if hole.bore is not None:
            yield f"{name}.bore", hole.bore
        yield f"{name}.depth", hole.depth
        yield f"{name}.pitch.forward", hole.pitch.forward_net
        yield f"{name}.pitch.right", hole.pitch.right_net


def _source(field: str) -> str:
    """The field of the measured grip from which a figure of the record comes."""
    return field.replace(".sleeve.", ".")


def _values(readings: Mapping[str, Any], measured: MeasuredGrip) -> dict[str, Any]:
    """The figures of the record's grip from readings: numbers, or arrays (n,) of all."""
    radius = readings["diameter"] / 2.0

    def edges(field: str) -> Any:
        """The arc between two cut edges from a reading between these, or the finished ones."""
        arc = _arc(readings[field], radius, measured)
        if measured.bridge_between == "bored edges":
            return arc
        digit = field.split(".")[0]
        pair = FINGERS if field == "bridge" else (digit, NEIGHBOUR[digit])
        return arc + sum(
            hole_arc(readings[f"{name}.diameter"], radius) - _cut_arc(readings, name, radius)
            for name in pair
        )

    ends = [_end(readings, name, radius, measured) for name in FINGERS]
    values = {"bridge": bridge_between(ends[0], ends[1], edges("bridge"), radius)}
    for name, hole in _holes(measured):
        diameter = readings[f"{name}.diameter"]
        if isinstance(hole, MeasuredFinger):
            values[f"{name}.span"] = _arc(readings[f"{name}.span"], radius, measured)
        if isinstance(hole, MeasuredOuterFinger):
            values[f"{name}.gap"] = edges(f"{name}.gap")
        values[f"{name}.diameter"] = diameter
        if hole.bore is not None:
            values[f"{name}.sleeve.bore"] = readings[f"{name}.bore"]
        depth = readings[f"{name}.depth"]
        if hole.depth_from == "bar":
            # the bar rests on the opening's rim, which lies below the surface at the hole's centre
            depth = depth + radius - (radius * radius - diameter * diameter / 4.0) ** 0.5
        if hole.tip_angle is not None:
            depth = depth - diameter / 2.0 / math.tan(math.radians(hole.tip_angle / 2.0))
        values[f"{name}.depth"] = depth
        for way in ("forward", "right"):
            values[f"{name}.pitch.{way}"] = readings[f"{name}.pitch.{way}"]
    return values


def _arc(reading: Any, radius: Any, measured: MeasuredGrip) -> Any:
    """The arc that a rule read: a stiff one reads the chord, 2 R sin(arc / 2R)."""
    return 2.0 * hole_arc(reading, radius) if measured.rule == "stiff" else reading


def _cut_arc(readings: Mapping[str, Any], name: str, radius: Any) -> Any:
    """The radius along the ball of a hole's cut edge."""
    return hole_arc(readings.get(f"{name}.bore", readings[f"{name}.diameter"]), radius)


def _end(
    readings: Mapping[str, Any], name: str, radius: Any, measured: MeasuredGrip
) -> tuple[Any, Any]:
    """A finger hole's arc from the thumb's centre in radians, and its cut edge's radius in inches."""
    reach = _arc(readings[f"{name}.span"], radius, measured)
    reach = reach + hole_arc(readings[f"{name}.diameter"], radius)
    if measured.thumb is not None:
        reach = reach + hole_arc(readings["thumb.diameter"], radius)
    return reach / radius, _cut_arc(readings, name, radius)


def _triangle(readings: Mapping[str, float], measured: MeasuredGrip) -> tuple[float, float]:
    """The arc between the two finger holes' centres, and the angle at the thumb's in degrees.

    NaN stands for an angle that no triangle on the ball has.
    """
    radius = readings["diameter"] / 2.0
    (a, one), (b, other) = (_end(readings, name, radius, measured) for name in FINGERS)
    if measured.bridge_between == "finished edges":
        one, other = (hole_arc(readings[f"{name}.diameter"], radius) for name in FINGERS)
    apart = _arc(readings["bridge"], radius, measured) + one + other
    cosine = math.cos(apart / radius) - math.cos(a) * math.cos(b)
    cosine /= math.sin(a) * math.sin(b)
    turn = math.degrees(math.acos(cosine)) if abs(cosine) <= 1.0 else math.nan
    return float(apart), turn


def _deviations(readings: Mapping[str, float], measured: MeasuredGrip) -> dict[str, float]:
    """One standard deviation of each figure: JCGM 100:2008, formula 10, its derivatives by differences.

    Every reading has its own error. Where a moved reading leaves no grip, the deviation is infinite.
    """
    names = list(readings)
    moves = np.zeros((2 * len(names), len(names)))
    moves[: len(names)] = _STEP * np.eye(len(names))
    moves[len(names) :] = -_STEP * np.eye(len(names))
    moved = {name: readings[name] + moves[:, i] for i, name in enumerate(names)}
    spread = np.array([PITCH_READING if ".pitch." in name else READING for name in names])
    deviations = {}
    for field, both in _values(moved, measured).items():
        up, down = both[: len(names)], both[len(names) :]
        deviation = float(np.linalg.norm((up - down) / (2.0 * _STEP) * spread))
        deviations[field] = math.inf if math.isnan(deviation) else deviation
    return deviations


def _no_bridge(readings: Mapping[str, float], measured: MeasuredGrip) -> InputError:
    """Why no bridge belongs to these spans."""
    apart, _ = _triangle(readings, measured)
    middle, ring = (_inches(readings[f"{name}.span"]) for name in FINGERS)
    base = "palm mark" if measured.thumb is None else "thumb"
    return InputError(
        f"{_inches(measured.bridge)} in puts the two finger holes' centres {_inches(apart)} in apart, "
        f"and spans of {middle} in and {ring} in cannot end there with the centreline between the "
        f"bored holes; measure the bridge and both spans from the {base} again.",
        "bridge",
    )


# --- the record's grip ----------------------------------------------------------------------------


def _grip(measured: MeasuredGrip, values: Mapping[str, float]) -> tuple[Grip, tuple[Remark, ...]]:
    """The record's grip and what was assumed for it; InputError where no record can state it."""
    parts: dict[str, Any] = {"bridge": max(float(values["bridge"]), 0.0), "thumb": None}
    assumed: list[Remark] = []
    for name, hole in _holes(measured):
        part: dict[str, Any] = {
            key: float(values[f"{name}.{key}"])
            for key in ("span", "gap", "diameter", "depth")
            if f"{name}.{key}" in values
        }
        if hole.pitch != Pitch():
            part["pitch"] = hole.pitch
        part |= {
            key: getattr(hole, key)
            for key in ("tip_angle", "oval")
            if getattr(hole, key, None) is not None
        }
        if hole.sleeve:
            part["sleeve"] = _sleeve(name, hole, part["depth"], assumed)
        parts[name] = part
    try:
        return Grip(**parts), tuple(assumed)
    except ValidationError as error:
        first = problems_of(error, Grip, "the grip")[0]
        words = first.words.removesuffix(".")
        raise InputError(
            f"{words}, as the record would state it; measure this and what stands beside it again.",
            _source(first.field),
        ) from None


def _sleeve(name: str, hole: MeasuredHole, depth: float, assumed: list[Remark]) -> dict[str, Any]:
    """A sleeve of the record; what nobody measured is assumed, and said."""
    sleeve = {"bore": hole.bore, "bore_depth": hole.bore_depth, "density": hole.density}
    if hole.bore_depth is None:
        sleeve["bore_depth"] = depth
        assumed.append(
            Remark(
                f"{name}.bore_depth",
                f"the {name} sleeve's bore is taken to be as deep as its hole, {_inches(depth)} in; give "
                "the depth to which you will bore.",
            )
        )
    if hole.density is None:
        sleeve["density"] = SLEEVE_DENSITY
        assumed.append(
            Remark(
                f"{name}.density",
                f"the {name} sleeve is taken to have {SLEEVE_DENSITY:g} g/cm3 (common practice, no "
                "source); give that of the sleeve which you will set.",
            )
        )
    return sleeve | ({"ready": True} if hole.ready else {})


# --- what to measure again ------------------------------------------------------------------------


def _straight_readings(
    measured: MeasuredGrip, arcs: Mapping[str, float], straight: Mapping[str, float]
) -> Iterator[Remark]:
    """Spans that do not agree with what was read straight across."""
    for name, arc in arcs.items():
        hole = getattr(measured, name)
        if hole.straight is None or abs(hole.straight - straight[name]) <= DISAGREE:
            continue
        field = f"{name}.span"
        if measured.rule == "flexible" and abs(hole.straight - hole.span) <= DISAGREE / 2.0:
            over = 2.0 * hole_arc(hole.straight, measured.diameter / 2.0)
            yield Remark(
                field,
                f"{_inches(hole.span)} in is also what was read straight across, so it looks like a "
                f"stiff rule's reading: along the ball the span would be {_inches(over)} in; lay a "
                'flexible rule on the ball, or set rule to "stiff".',
            )
        else:
            yield Remark(
                field,
                f"{_inches(arc)} in along the ball is {_inches(straight[name])} in straight across, and "
                f"{_inches(hole.straight)} in was read; measure this span both ways again.",
            )


def _unusual(measured: MeasuredGrip, grip: Grip) -> Iterator[Remark]:
    """Figures outside the ranges that are usual, which are common practice, no source."""
    for usual in USUAL:
        field = usual.path.removeprefix(_GRIP)
        # pitches are looked at as a whole below, and what is taken of a sleeve was not measured
        if ".pitch." in field or ".sleeve." in field:
            continue
        value = value_at(grip, field) if usual.path.startswith(_GRIP) else None
        if value is None or usual.holds(value):
            continue
        if usual.no_thumb not in (None, grip.thumb is None):
            continue
        yield Remark(
            field,
            f"{usual.what} comes to {_inches(value)} in, usual is {usual.range}; measure it again.",
        )
    apart = abs(grip.middle.span - grip.ring.span)
    if apart > MOST_APART + SAME:
        yield Remark(
            "ring.span",
            f"the spans come to {_inches(grip.middle.span)} in and {_inches(grip.ring.span)} in, usual "
            f"is up to {_inches(MOST_APART)} in between them; measure both again.",
        )
    for name, hole in _holes(measured):
        thick = (hole.cut - hole.diameter) / 2.0
        if hole.sleeve and thick < LEAST_SLEEVE_WALL - SAME:
            yield Remark(
                f"{name}.bore",
                f"a bore of {_inches(hole.cut)} in around a hole of {_inches(hole.diameter)} in leaves "
                f"the sleeve {_inches(thick)} in of wall; measure both diameters again.",
            )


def _pitches(measured: MeasuredGrip, grip: Grip, radius: float) -> Iterator[Remark]:
    """Pitches that are large, that no gauge can read there, or that do not go with the depths."""
    for name, hole in _holes(measured):
        pitch = math.hypot(hole.pitch.forward_net, hole.pitch.right_net)
        field = f"{name}.pitch"
        if pitch > MOST_PITCH + SAME:
            yield Remark(
                field,
                f"a pitch of {_inches(pitch)} in is more than the usual {_inches(MOST_PITCH)} in; see "
                "that the gauge stands square to the ball at the hole's centre, and read it again.",
            )
        if pitch > 0.0 and hole.depth < hole.diameter / 2.0:
            yield Remark(
                field,
                f"a pitch of {_inches(pitch)} in cannot be read in a hole of {_inches(hole.depth)} in: "
                "the gauge has no hold; measure the depth again, or leave the pitch out.",
            )
    try:
        holes = place_holes(grip, radius, measured.hand)
    except InputError as error:
        raise InputError(error.words, error.field.removeprefix(_GRIP)) from None
    for one, other in combinations(holes, 2):
        # the finished holes alone: nobody sees whether bores meet behind their sleeves
        least = wall((one.name, other.name), one.cuts, other.cuts, radius)
        if least.meets:
            yield Remark(
                f"{other.name}.pitch",
                f"with these pitches and depths the {one.name} and the {other.name} hole meet "
                f"{_inches(least.depth)} "
                "in below the surface; look down both, and where they do not meet measure both holes' "
                "pitch and depth again.",
            )


def _unsure(figures: tuple[Figure, ...]) -> Iterator[Remark]:
    """Figures that small errors of the readings change much."""
    for figure in figures:
        reading = PITCH_READING if ".pitch." in figure.field else READING
        if figure.deviation > UNSURE * reading:
            size = f"{figure.deviation:.3f} in" if math.isfinite(figure.deviation) else "any amount"
            yield Remark(
                _source(figure.field),
                f"{_inches(figure.value)} in is unsure by {size}, for small errors of the spans and the "
                "diameters count many times in it; measure all of them twice and take the means.",
            )


def _inches(value: float) -> str:
    return fraction(value)
