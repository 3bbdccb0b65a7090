"""Three ways to state one layout, each convertible into the others.

All values are in the bowler's frame (see `layoutkit.sphere`), so the same numbers serve both hands.
Lengths are arcs in inches on a ball of the given radius, angles degrees. Numbers or arrays.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from layoutkit.errors import InputError
from layoutkit.record import AnglesLayout, DistancesLayout, Layout, PlacementLayout
from layoutkit.sphere import Array, arc, bearing, from_over_up, to_over_up, walk, wrap180, wrap360

Number = float | Array

SLACK = 1e-9  # inches or degrees by which a value may miss its range through rounding alone


@dataclass(frozen=True, slots=True)
class Angles:
    """Drilling angle, pin-to-PAP, VAL angle."""

    drilling_angle: Number
    pin_to_pap: Number
    val_angle: Number


@dataclass(frozen=True, slots=True)
class Distances:
    """Pin-to-PAP, PSA-to-PAP and the signed pin-to-VAL; the obtuse of the two VAL angles if said."""

    pin_to_pap: Number
    psa_to_pap: Number
    pin_to_val: Number
    obtuse_val_angle: bool = False


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
        return Angles(layout.drilling_angle, layout.pin_to_pap, layout.val_angle)
    if isinstance(layout, DistancesLayout):
        return Distances(
            layout.pin_to_pap, layout.psa_to_pap, layout.pin_to_val, layout.obtuse_val_angle
        )
    return Placement(layout.pin.over, layout.pin.up_net, layout.bearing)


def recorded(layout: Stated) -> Layout:
    """The record's model of a layout of plain numbers."""
    if isinstance(layout, Angles):
        return AnglesLayout(
            by="angles",
            drilling_angle=float(layout.drilling_angle),
            pin_to_pap=float(layout.pin_to_pap),
            val_angle=float(layout.val_angle),
        )
    if isinstance(layout, Distances):
        return DistancesLayout(
            by="distances",
            pin_to_pap=float(layout.pin_to_pap),
            psa_to_pap=float(layout.psa_to_pap),
            pin_to_val=float(layout.pin_to_val),
            obtuse_val_angle=layout.obtuse_val_angle,
        )
    pin = {"over": float(layout.pin_over), "up": float(layout.pin_up)}
    return PlacementLayout.model_validate(
        {"by": "placement", "pin": pin, "bearing": float(layout.bearing)}
    )


def angles_to_placement(layout: Angles, pap: PAP, radius: float) -> Placement:
    """Walk from the axis point to the pin, then swing the drilling angle back.

    Seen by a right-handed bowler from outside, the finger side of the VAL lies clockwise of the line
    from the PAP to the pin by the VAL angle, and the reference mark clockwise of the line from the
    pin to the PAP by the drilling angle. Raises InputError where pin-to-PAP is longer than half the
    ball.
    """
    _within("pin_to_pap", layout.pin_to_pap, 0.0, math.pi * radius, "in on this ball")
    start = from_over_up(pap.over, pap.up, radius)
    pin, onward = walk(start, np.negative(layout.val_angle), layout.pin_to_pap)
    over, up = to_over_up(pin, radius)
    return Placement(over, up, wrap360(onward + 180.0 + layout.drilling_angle))


def placement_to_angles(layout: Placement, pap: PAP, radius: float) -> Angles:
    """Bearings between pin and axis point. A pin on the PAP has the VAL angle 0 by definition.

    Raises InputError where the pin's ``up`` is beyond a pole.
    """
    quarter = math.pi * radius / 2.0
    _within("pin.up", layout.pin_up, -quarter, quarter, "in on this ball")
    _within("pin.over", layout.pin_over, -2.0 * quarter, 2.0 * quarter, "in on this ball")
    start = from_over_up(pap.over, pap.up, radius)
    pin = from_over_up(layout.pin_over, layout.pin_up, radius)
    distance = arc(start, pin, radius)
    on_pap = distance < 1e-9
    back = np.where(on_pap, 180.0, bearing(pin, start))
    val = np.where(on_pap, 0.0, wrap180(-bearing(start, pin)))
    return Angles(wrap180(layout.bearing - back), distance, val)


def angles_to_distances(layout: Angles, psa_arc: float, radius: float) -> Distances:
    """Half-angle cosine rule at the pin; sine rule at the VAL.

    Raises InputError for a negative drilling angle, which distances cannot tell from a positive one.
    """
    if np.any(np.less(layout.drilling_angle, 0.0)):
        raise InputError(
            "layout.drilling_angle: a layout by distances cannot state the negative drilling angle "
            f"{float(np.min(layout.drilling_angle)):g} degrees, because the mirrored one has the same "
            "distances; 0 to 180 can be converted."
        )
    p, q = np.asarray(layout.pin_to_pap) / radius, psa_arc / radius
    turn, val = np.radians(layout.drilling_angle), np.radians(layout.val_angle)
    half = np.sin((p - q) / 2.0) ** 2 + np.sin(p) * math.sin(q) * np.sin(turn / 2.0) ** 2
    psa = 2.0 * radius * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    offset = radius * np.arcsin(np.sin(p) * np.sin(val))
    obtuse = bool(np.all(np.abs(layout.val_angle) > 90.0))
    return Distances(layout.pin_to_pap, psa, offset, obtuse)


def distances_to_angles(layout: Distances, psa_arc: float, radius: float) -> Angles:
    """The drilling angle between 0 and 180 and the VAL angle that these distances make.

    Raises InputError, with the possible range, for distances that no ball can have.
    """
    whole = math.pi * radius
    _within("pin_to_pap", layout.pin_to_pap, 0.0, whole, "in on this ball")
    p, q = np.asarray(layout.pin_to_pap) / radius, psa_arc / radius
    low = radius * np.abs(p - q)
    high = radius * np.minimum(p + q, 2.0 * math.pi - p - q)
    given = f"in with pin-to-PAP {_round(layout.pin_to_pap)} in and the PSA mark {psa_arc:.3f} in"
    _within("psa_to_pap", layout.psa_to_pap, low, high, given + " from the pin")
    limit = np.minimum(np.asarray(layout.pin_to_pap), whole - np.asarray(layout.pin_to_pap))
    _within(
        "pin_to_val", layout.pin_to_val, -limit, limit,
        f"in with pin-to-PAP {_round(layout.pin_to_pap)} in",
    )
    s = np.asarray(layout.psa_to_pap) / radius
    area = np.sin(p) * math.sin(q)
    lost = np.abs(area) < 1e-12
    half = (np.sin(s / 2.0) ** 2 - np.sin((p - q) / 2.0) ** 2) / np.where(lost, 1.0, area)
    turn = np.where(lost, 0.0, 2.0 * np.degrees(np.arcsin(np.sqrt(np.clip(half, 0.0, 1.0)))))
    flat = np.sin(p) < 1e-12
    ratio = np.sin(np.asarray(layout.pin_to_val) / radius) / np.where(flat, 1.0, np.sin(p))
    val = np.where(flat, 0.0, np.degrees(np.arcsin(np.clip(ratio, -1.0, 1.0))))
    if layout.obtuse_val_angle:
        val = wrap180(180.0 - val)
    return Angles(turn, layout.pin_to_pap, val)


def to_angles(layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float) -> Angles:
    """Any statement by angles. Raises InputError as the conversions do, or where one lacks its mark."""
    if isinstance(layout, Angles):
        return layout
    if isinstance(layout, Distances):
        return distances_to_angles(layout, _psa(psa_arc), radius)
    return placement_to_angles(layout, _pap(pap), radius)


def to_distances(layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float) -> Distances:
    """Any statement by distances; raises InputError as `to_angles` and `angles_to_distances` do."""
    if isinstance(layout, Distances):
        return layout
    distance = _psa(psa_arc)
    return angles_to_distances(to_angles(layout, psa_arc, pap, radius), distance, radius)


def to_placement(layout: Stated, psa_arc: float | None, pap: PAP | None, radius: float) -> Placement:
    """Any statement by placement; raises InputError as `to_angles` does."""
    if isinstance(layout, Placement):
        return layout
    return angles_to_placement(to_angles(layout, psa_arc, pap, radius), _pap(pap), radius)


def _psa(psa_arc: float | None) -> float:
    if psa_arc is None:
        raise InputError(
            "layout.by: distances need a ball with a PSA mark; state this layout by angles or by "
            "placement."
        )
    return psa_arc


def _pap(pap: PAP | None) -> PAP:
    if pap is None:
        raise InputError("bowler.pap: a layout by placement needs the bowler's axis point, over and up.")
    return pap


def _round(value: Number) -> str:
    return f"{float(np.ravel(value)[0]):.3f}".rstrip("0").rstrip(".")


def _within(field: str, value: Number, low: Number, high: Number, possible: str) -> None:
    bad = np.less(value, np.subtract(low, SLACK)) | np.greater(value, np.add(high, SLACK))
    if np.any(bad):
        value, low, high, bad = (np.ravel(v) for v in np.broadcast_arrays(value, low, high, bad))
        i = int(bad.argmax())
        raise InputError(
            f"layout.{field}: {_round(value[i])} in cannot be; possible are {low[i]:.3f} to "
            f"{high[i]:.3f} {possible}."
        )
