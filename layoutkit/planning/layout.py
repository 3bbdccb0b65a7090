"""Three ways to state one layout, each convertible into the others.

All values are in the bowler's frame (`layoutkit.geometry.sphere`): the same numbers serve both hands.
Lengths are arcs in inches on a ball of the given radius, angles degrees. Numbers or arrays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Any, NamedTuple, cast

import numpy as np

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import (
    Number,
    arc,
    bearing,
    from_over_up,
    to_over_up,
    walk,
    walked,
    wrap180,
    wrap360,
)
from layoutkit.geometry.vectors import functions_for
from layoutkit.job.record import AnglesLayout, Bowler, DistancesLayout, Layout
from layoutkit.units import MM_PER_INCH

SAME = 1e-6  # inches or degrees within which a number has not changed
SLACK = 1e-9  # inches or degrees by which a value may miss its range through rounding alone


@dataclass(frozen=True, slots=True)
class Angles:
    """Angle at the pin, pin-to-PAP, angle at the PAP."""

    angle_at_pin: Number
    pin_to_pap: Number
    angle_at_pap: Number


@dataclass(frozen=True, slots=True)
class Distances:
    """Pin-to-PAP, PSA-to-PAP and the signed pin-to-VAL; the obtuse of two angles at the PAP if said."""

    pin_to_pap: Number
    psa_to_pap: Number
    pin_to_val: Number
    obtuse_angle_at_pap: bool = False


@dataclass(frozen=True, slots=True)
class Placement:
    """Where the pin lies, and the bearing at it of the reference mark, 0 toward the fingers' pole."""

    pin_over: Number
    pin_up: Number
    bearing: Number


Stated = Angles | Distances | Placement


class PAP(NamedTuple):
    """The positive axis point, over and up from the grip centre."""

    over: Number
    up: Number


def stated(layout: Layout) -> Stated:
    """The layout of a record, as it was stated."""
    if isinstance(layout, AnglesLayout):
        return Angles(layout.angle_at_pin, layout.pin_to_pap, layout.angle_at_pap)
    if isinstance(layout, DistancesLayout):
        return Distances(
            layout.pin_to_pap, layout.psa_to_pap, layout.pin_to_val, layout.obtuse_angle_at_pap
        )
    return Placement(layout.pin.over, layout.pin.up_net, layout.bearing_net)


def axis_point(bowler: Bowler) -> PAP | None:
    """The bowler's axis point as the record states it; None where nobody has measured it."""
    return None if bowler.pap is None else PAP(bowler.pap.over, bowler.pap.up_net)


def angles_to_placement(layout: Angles, pap: PAP, radius: float) -> Placement:
    """Walk from the axis point to the pin, then swing the angle at the pin back.

    Seen by a right-handed bowler from outside, the finger side of the VAL lies clockwise of the line
    from the PAP to the pin by the angle at the PAP, and the reference mark clockwise of the line from the
    pin to the PAP by the angle at the pin. Raises InputError where pin-to-PAP is longer than half the
    ball.
    """
    _within("pin_to_pap", layout.pin_to_pap, 0.0, math.pi * radius, "in on this ball")
    start = from_over_up(pap.over, pap.up, radius)
    pin, onward = walk(start, -layout.angle_at_pap, layout.pin_to_pap)
    over, up = to_over_up(pin, radius)
    return Placement(over, up, wrap360(onward + 180.0 + layout.angle_at_pin))


def placement_to_angles(layout: Placement, pap: PAP, radius: float) -> Angles:
    """Bearings between pin and axis point. A pin on the PAP has the angle at the PAP 0 by definition.

    Raises InputError where the pin's ``over`` or ``up`` lies beyond the ball.
    """
    _on_this_ball(layout, radius)
    start = from_over_up(pap.over, pap.up, radius)
    pin = from_over_up(layout.pin_over, layout.pin_up, radius)
    distance = arc(start, pin, radius)
    f = functions_for(distance)
    on_pap = distance < 1e-9
    back = f.where(on_pap, 180.0, bearing(pin, start))
    val = f.where(on_pap, 0.0, wrap180(-bearing(start, pin)))
    return Angles(wrap180(layout.bearing - back), distance, val)


def _on_this_ball(layout: Placement, radius: float) -> None:
    """Raise InputError where the pin's ``over`` or ``up`` lies beyond the ball."""
    quarter = math.pi * radius / 2.0
    _within("pin.up", layout.pin_up, -quarter, quarter, "in on this ball")
    _within("pin.over", layout.pin_over, -2.0 * quarter, 2.0 * quarter, "in on this ball")


def pin_to_val(pin_to_pap: Number, angle_at_pap: Number, radius: float) -> Number:
    """Signed arc from the pin to the VAL in inches, positive on the side of a positive angle at the PAP.

    Sine rule of the right-angled triangle of PAP, pin and the VAL's foot.
    """
    f = functions_for(pin_to_pap, angle_at_pap)
    return cast(
        Number, radius * f.asin(f.sin(pin_to_pap / radius) * f.sin(f.radians(angle_at_pap)))
    )


def angles_to_distances(layout: Angles, psa_arc: float, radius: float) -> Distances:
    """Half-angle cosine rule at the pin; sine rule at the VAL.

    Raises InputError for a negative angle at the pin, which distances cannot tell from a positive one.
    """
    p, q = layout.pin_to_pap / radius, psa_arc / radius
    f = functions_for(p, layout.angle_at_pin, layout.angle_at_pap)
    if f.any(layout.angle_at_pin < 0.0):
        raise InputError(
            "a layout by distances cannot state the negative angle at the pin "
            f"{_least(layout.angle_at_pin):g} degrees, because the mirrored one has the same "
            "distances; 0 to 180 can be converted.",
            "layout.angle_at_pin",
        )
    turn = f.radians(layout.angle_at_pin)
    half = f.sin((p - q) / 2.0) ** 2 + f.sin(p) * math.sin(q) * f.sin(turn / 2.0) ** 2
    psa = 2.0 * radius * f.asin(f.sqrt(f.minimum(half, 1.0)))
    offset = pin_to_val(layout.pin_to_pap, layout.angle_at_pap, radius)
    obtuse = bool(f.any(f.abs(layout.angle_at_pap) > 90.0))
    return Distances(layout.pin_to_pap, psa, offset, obtuse)


def distances_to_angles(layout: Distances, psa_arc: float, radius: float) -> Angles:
    """The angle at the pin between 0 and 180 and the angle at the PAP that these distances make.

    Raises InputError, with the possible range, for distances that no ball can have.
    """
    whole = math.pi * radius
    _within("pin_to_pap", layout.pin_to_pap, 0.0, whole, "in on this ball")
    p, q = layout.pin_to_pap / radius, psa_arc / radius
    f = functions_for(p, layout.psa_to_pap, layout.pin_to_val)
    low = radius * f.abs(p - q)
    high = radius * f.minimum(p + q, 2.0 * math.pi - p - q)
    given = f"in with pin-to-PAP {_round(layout.pin_to_pap)} in"
    mark = f" and the PSA mark {psa_arc:.3f} in from the pin"
    _within("psa_to_pap", layout.psa_to_pap, low, high, given + mark)
    limit = f.minimum(layout.pin_to_pap, whole - layout.pin_to_pap)
    _within("pin_to_val", layout.pin_to_val, -limit, limit, given)
    area = f.sin(p) * math.sin(q)
    lost = f.abs(area) < 1e-12
    half = f.sin(layout.psa_to_pap / radius / 2.0) ** 2 - f.sin((p - q) / 2.0) ** 2
    half = f.minimum(f.maximum(half / f.where(lost, 1.0, area), 0.0), 1.0)
    turn = f.where(lost, 0.0, 2.0 * f.degrees(f.asin(f.sqrt(half))))
    flat = f.sin(p) < 1e-12
    ratio = f.sin(layout.pin_to_val / radius) / f.where(flat, 1.0, f.sin(p))
    ratio = f.minimum(f.maximum(ratio, -1.0), 1.0)
    val = f.where(flat, 0.0, f.degrees(f.asin(ratio)))
    return Angles(
        turn, layout.pin_to_pap, wrap180(180.0 - val) if layout.obtuse_angle_at_pap else val
    )


def to_angles(layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float) -> Angles:
    """Any statement by angles. Raises InputError as the conversions do, or where one lacks its mark."""
    if isinstance(layout, Angles):
        return layout
    if isinstance(layout, Distances):
        return distances_to_angles(layout, _psa(psa_arc), radius)
    return placement_to_angles(layout, _pap(pap), radius)


def to_distances(
    layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float
) -> Distances:
    """Any statement by distances; raises InputError as `to_angles` and `angles_to_distances` do."""
    if isinstance(layout, Distances):
        return layout
    distance = _psa(psa_arc)
    return angles_to_distances(to_angles(layout, psa_arc, pap, radius), distance, radius)


def to_placement(
    layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float
) -> Placement:
    """Any statement by placement; raises InputError as `to_angles` does."""
    if isinstance(layout, Placement):
        return layout
    return angles_to_placement(to_angles(layout, psa_arc, pap, radius), _pap(pap), radius)


def with_pin_at(
    layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float, over: float, up: float
) -> Stated:
    """The layout stated as before with the pin moved to ``over``, ``up``, single numbers.

    By angles the angle at the pin is kept and pin-to-PAP and angle at the PAP follow. By distances the
    PSA-to-PAP is kept; where it cannot be with the pin there, the pin stops on its way from the PAP
    at the nearest arc that can. By placement the bearing is kept. Raises InputError where the
    place is not on the ball, or where the layout lacks its mark.
    """
    if isinstance(layout, Placement):
        moved = Placement(over, up, layout.bearing)
        _on_this_ball(moved, radius)
        return moved
    found = placement_to_angles(Placement(over, up, 0.0), _pap(pap), radius)
    if isinstance(layout, Angles):
        return Angles(layout.angle_at_pin, found.pin_to_pap, found.angle_at_pap)
    q, whole = _psa(psa_arc), math.pi * radius
    s = min(max(float(layout.psa_to_pap), 0.0), whole)
    # what the cosine rule asks of the three sides, solved for pin-to-PAP
    low, high = abs(q - s), min(q + s, 2.0 * whole - q - s)
    arc_kept = min(max(float(found.pin_to_pap), low), high)
    offset = pin_to_val(arc_kept, found.angle_at_pap, radius)
    return Distances(arc_kept, s, offset, abs(float(found.angle_at_pap)) > 90.0)


def rounded(
    layout: Stated,
    psa_arc: float | None,
    pap: PAP | None,
    radius: float,
    places: int = 3,
    within: float = 2e-3,
    millimetres: bool = False,
    kept: Stated | None = None,
) -> Stated:
    """The layout in numbers that a person can read: inches to ``places`` decimals.

    Single numbers. Angles have one decimal fewer, and so have ``millimetres`` where lengths are to be
    whole in them. More decimals are taken until the pin, and the point a quarter of the ball from it
    toward the reference mark, come to lie ``within`` inches of where they were: near a right angle a
    distance says little about the angle. Numbers that are those of ``kept`` stay as they are. Raises
    InputError as `to_placement` does.
    """
    wanted = _spots(layout, psa_arc, pap, radius)
    for digits in range(places, 16):
        near = _to_digits(layout, digits, millimetres, kept)
        try:
            spots = _spots(near, psa_arc, pap, radius)
        except InputError:  # rounded out of what is possible
            continue
        if all(arc(a, b, radius) <= within for a, b in zip(wanted, spots, strict=True)):
            return near
    return layout


def snapped(
    layout: Stated,
    psa_arc: float | None,
    pap: PAP | None,
    radius: float,
    step: float,
    kept: Stated | None = None,
) -> Stated | None:
    """The layout with each length at the nearest multiple of ``step`` inches, each angle at a degree.

    Single numbers. Numbers that are those of ``kept`` stay as they are. None where there is no such
    layout: three distances that are no triangle.
    """
    numbers = {}
    for field in fields(layout):
        name, value = field.name, getattr(layout, field.name)
        if isinstance(value, bool):
            continue
        if type(kept) is type(layout) and abs(value - getattr(kept, name)) < SAME:
            numbers[name] = getattr(kept, name)
        else:
            grid = 1.0 if name in _ANGULAR else step
            numbers[name] = round(float(value) / grid) * grid + 0.0
    near: Stated = replace(cast(Any, layout), **numbers)
    try:
        _spots(near, psa_arc, pap, radius)
    except InputError:
        return None
    return near


def same_place(
    one: Stated,
    other: Stated,
    psa_arc: float | None,
    pap: PAP | None,
    radius: float,
    within: float,
) -> bool:
    """Whether two statements put the pin, and the line to the reference mark, ``within`` inches.

    Raises InputError as `to_placement` does.
    """
    pairs = zip(_spots(one, psa_arc, pap, radius), _spots(other, psa_arc, pap, radius), strict=True)
    return all(arc(a, b, radius) <= within for a, b in pairs)


def _spots(
    layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float
) -> tuple[Any, Any]:
    """Pin, and the point a quarter of the ball from it toward the reference mark."""
    placed = to_placement(layout, psa_arc, pap, radius)
    pin = from_over_up(float(placed.pin_over), float(placed.pin_up), radius)
    return pin, walked(pin, float(placed.bearing), math.pi * radius / 2.0)


_ANGULAR = frozenset({"angle_at_pin", "angle_at_pap", "bearing"})


def _to_digits(layout: Stated, digits: int, millimetres: bool, kept: Stated | None) -> Stated:
    numbers = {}
    for field in fields(layout):
        name, value = field.name, getattr(layout, field.name)
        if isinstance(value, bool) or (type(kept) is type(layout) and value == getattr(kept, name)):
            continue
        if name in _ANGULAR:
            numbers[name] = round(float(value), digits - 1) + 0.0
        elif millimetres:
            numbers[name] = round(float(value) * MM_PER_INCH, digits - 1) / MM_PER_INCH + 0.0
        else:
            numbers[name] = round(float(value), digits) + 0.0
    near: Stated = replace(cast(Any, layout), **numbers)
    return near


def _psa(psa_arc: float | None) -> float:
    if psa_arc is None:
        raise InputError(
            "distances need a ball with a PSA mark; state this layout by angles or by placement.",
            "layout.by",
        )
    return psa_arc


def _pap(pap: PAP | None) -> PAP:
    if pap is None:
        raise InputError(
            "a layout by placement needs the bowler's axis point, over and up.", "bowler.pap"
        )
    return pap


def _least(value: Number) -> float:
    return float(value) if isinstance(value, float | int) else float(value.min())


def _round(value: Number) -> str:
    return f"{_least(value):.3f}".rstrip("0").rstrip(".")


def _within(field: str, value: Number, low: Number, high: Number, possible: str) -> None:
    f = functions_for(value, low, high)
    bad = (value < low - SLACK) | (value > high + SLACK)
    if f.any(bad):
        raise InputError(
            f"{_at(value, bad):.3f} in cannot be; possible are {_at(low, bad):.3f} to "
            f"{_at(high, bad):.3f} {possible}.",
            f"layout.{field}",
        )


def _at(value: Number, bad: Any) -> float:
    """A number, or the entry of an array at the first place where something is bad."""
    if isinstance(value, float | int):
        return float(value)
    return float(np.broadcast_to(value, np.shape(bad))[bad][0])
