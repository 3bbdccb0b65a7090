"""Layouts by angles, by distances and by placement: derived values, inverses, impossible ranges.

The values are for a ball of 27.000 in circumference with the PSA mark at a quarter. They are
derived (spherical trigonometry) and hold to the three decimals printed. A second route to each is
pyproj on a sphere. Units: inches and degrees.
"""

import math
from typing import Any

import numpy as np
import pytest
from pyproj import Geod

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import wrap180, wrap360
from layoutkit.job.record import parse_job
from layoutkit.planning.layout import (
    PAP,
    Angles,
    Distances,
    Placement,
    angles_to_distances,
    angles_to_placement,
    distances_to_angles,
    placement_to_angles,
    to_angles,
    to_distances,
    to_placement,
    with_pin_at,
)
from layoutkit.planning.plan import plan

R = 27.0 / (2.0 * math.pi)
QUARTER = 27.0 / 4.0
THREE_DECIMALS = 0.0005
TWO_DECIMALS = 0.005

# angle at the pin, pin-to-PAP, angle at the PAP -> pin-to-VAL, PSA-to-PAP
FORWARD = [
    (60, 4.0, 40, 2.328, 4.977),
    (50, 4.0, 50, 2.843, 4.422),
    (45, 4.0, 30, 1.773, 4.158),
    (40, 4.0, 35, 2.054, 3.907),
    (90, 4.0, 45, 2.592, 6.750),
]


@pytest.mark.parametrize(("drilling", "pin_to_pap", "val", "pin_to_val", "psa_to_pap"), FORWARD)
def test_angles_to_distances(
    drilling: float, pin_to_pap: float, val: float, pin_to_val: float, psa_to_pap: float
) -> None:
    d = angles_to_distances(Angles(drilling, pin_to_pap, val), QUARTER, R)
    assert d.pin_to_pap == pin_to_pap
    assert float(d.pin_to_val) == pytest.approx(pin_to_val, abs=THREE_DECIMALS)
    assert float(d.psa_to_pap) == pytest.approx(psa_to_pap, abs=THREE_DECIMALS)


def test_a_value_that_comes_out_even() -> None:
    """sin 45 sin 45 = sin 30, a third of a quarter; sin 45 cos 45 = cos 60, two thirds of it."""
    d = angles_to_distances(Angles(45.0, 3.375, 45.0), QUARTER, R)
    assert float(d.pin_to_val) == pytest.approx(2.250, abs=1e-12)
    assert float(d.psa_to_pap) == pytest.approx(4.500, abs=1e-12)


# pin-to-PAP, PSA-to-PAP, pin-to-VAL -> angle at the pin, angle at the PAP
INVERSE = [
    (4.0, 4.0, 2.0, 41.89, 34.02),
    (5.0, 4.0, 2.0, 49.43, 29.26),
    (4.0, 5.0, 2.0, 60.41, 34.02),
]


@pytest.mark.parametrize(("pin_to_pap", "psa_to_pap", "pin_to_val", "drilling", "val"), INVERSE)
def test_distances_to_angles(
    pin_to_pap: float, psa_to_pap: float, pin_to_val: float, drilling: float, val: float
) -> None:
    a = distances_to_angles(Distances(pin_to_pap, psa_to_pap, pin_to_val), QUARTER, R)
    assert float(a.angle_at_pin) == pytest.approx(drilling, abs=TWO_DECIMALS)
    assert float(a.angle_at_pap) == pytest.approx(val, abs=TWO_DECIMALS)
    obtuse = distances_to_angles(Distances(pin_to_pap, psa_to_pap, pin_to_val, True), QUARTER, R)
    assert float(obtuse.angle_at_pap) == pytest.approx(180.0 - val, abs=TWO_DECIMALS)
    assert float(obtuse.angle_at_pin) == pytest.approx(drilling, abs=TWO_DECIMALS)


def test_a_pin_past_the_val_is_negative() -> None:
    # sin(pin_to_val) = sin(pin_to_pap) sin(val angle), odd in the angle at the PAP
    d = angles_to_distances(Angles(60.0, 4.0, -40.0), QUARTER, R)
    assert float(d.pin_to_val) == pytest.approx(-2.328, abs=THREE_DECIMALS)
    a = distances_to_angles(d, QUARTER, R)
    assert float(a.angle_at_pap) == pytest.approx(-40.0, abs=1e-9)


@pytest.mark.parametrize(("drilling", "pin_to_pap", "val", "pin_to_val", "psa_to_pap"), FORWARD)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_same_values_laid_out_by_pyproj(
    record: dict[str, Any],
    hand: str,
    drilling: float,
    pin_to_pap: float,
    val: float,
    pin_to_val: float,
    psa_to_pap: float,
) -> None:
    """From the PAP to the pin to the PSA mark on a globe, and the distances measured there."""
    record["bowler"]["hand"] = hand
    record["bowler"]["pap"] = {"over": 5.25, "up": 0.5}
    record["ball"]["diameter"] = 27.0 / math.pi
    record["layout"] = {
        "by": "angles",
        "angle_at_pin": drilling,
        "pin_to_pap": pin_to_pap,
        "angle_at_pap": val,
    }
    side = 1.0 if hand == "right" else -1.0
    globe = Geod(a=R, b=R)
    pap = (side * math.degrees(5.25 / R), math.degrees(0.5 / R))
    # the VAL's finger side lies clockwise of the line to the pin; a left hand's the other way round
    lon, lat, back = globe.fwd(*pap, -side * val, pin_to_pap)
    # at the pin the line to the PAP lies counter-clockwise of the line to the PSA mark
    psa = globe.fwd(lon, lat, back + side * drilling, QUARTER)
    p = plan(parse_job(record))
    assert p.marks.pin.over == pytest.approx(side * math.radians(lon) * R, abs=1e-9)
    assert p.marks.pin.up == pytest.approx(math.radians(lat) * R, abs=1e-9)
    assert p.marks.psa is not None
    assert p.marks.psa.over == pytest.approx(side * math.radians(psa[0]) * R, abs=1e-9)
    assert p.marks.psa.up == pytest.approx(math.radians(psa[1]) * R, abs=1e-9)
    _, _, measured = globe.inv(*pap, psa[0], psa[1])
    assert measured == pytest.approx(psa_to_pap, abs=THREE_DECIMALS)
    assert p.layout.psa_to_pap == pytest.approx(measured, abs=1e-9)
    assert p.layout.pin_to_val == pytest.approx(pin_to_val, abs=THREE_DECIMALS)
    # all points of the VAL have the PAP's longitude; the nearest is searched
    steps = [globe.inv(lon, lat, pap[0], -90.0 + 0.02 * i)[2] for i in range(9001)]
    assert min(steps) == pytest.approx(pin_to_val, abs=THREE_DECIMALS)
    assert p.layout.bearing == pytest.approx((side * (back + side * drilling)) % 360.0, abs=1e-9)


def test_a_positive_angle_at_pap_puts_the_pin_on_the_grip_side() -> None:
    """Pin-to-VAL is positive on the grip centre's side of the VAL: over less than the PAP's."""
    pap = PAP(5.0, 0.0)
    inside = angles_to_placement(Angles(50.0, 4.0, 90.0), pap, R)
    assert (float(inside.pin_over), float(inside.pin_up)) == pytest.approx((1.0, 0.0), abs=1e-12)
    past = angles_to_placement(Angles(50.0, 2.0, -90.0), pap, R)
    assert (float(past.pin_over), float(past.pin_up)) == pytest.approx((7.0, 0.0), abs=1e-12)
    up = angles_to_placement(Angles(50.0, 3.0, 0.0), pap, R)
    assert (float(up.pin_over), float(up.pin_up)) == pytest.approx((5.0, 3.0), abs=1e-12)
    # the PAP lies counter-clockwise of the PSA mark: the mark clockwise of the way back down, 180
    assert float(up.bearing) == pytest.approx(230.0, abs=1e-9)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_quarter_is_ninety_degrees_on_any_ball(record: dict[str, Any], hand: str) -> None:
    record["bowler"]["hand"] = hand
    for diameter in (8.5, 8.55, 8.595, 27.0 / math.pi):
        record["ball"]["diameter"] = diameter
        p = plan(parse_job(record))
        assert p.marks.psa is not None
        pin, psa = p.marks.pin.xyz, p.marks.psa.xyz
        assert sum(a * b for a, b in zip(pin, psa, strict=True)) == pytest.approx(0.0, abs=1e-12)
    # a number means that arc: 6 3/4 in is less than a quarter on a ball larger than 27 in around
    record["ball"] |= {"diameter": 8.595, "psa": {"distance": "6 3/4"}}
    p = plan(parse_job(record))
    assert p.marks.psa is not None
    angle = math.acos(
        sum(a * b for a, b in zip(p.marks.pin.xyz, p.marks.psa.xyz, strict=True)) / p.radius**2
    )
    assert math.degrees(angle) == pytest.approx(math.degrees(6.75 / (8.595 / 2.0)), abs=1e-9)


# --- layouts that no ball can have ----------------------------------------------------------------


@pytest.mark.parametrize(("radius", "least"), [(R, 3.375), (8.55 / 2.0, 3.340)])
def test_psa_to_pap_has_a_least_value(radius: float, least: float) -> None:
    """With pin-to-PAP 3.375 the PSA mark cannot be nearer than a quarter less 3.375 (derived)."""
    quarter = math.pi * radius / 2.0
    with pytest.raises(InputError, match=rf"psa_to_pap: 3\.3(00)? in cannot be.*{least:.3f} to "):
        distances_to_angles(Distances(3.375, 3.3, 1.0), quarter, radius)
    with pytest.raises(InputError, match="psa_to_pap"):
        distances_to_angles(Distances(3.375, least - 0.001, 1.0), quarter, radius)
    a = distances_to_angles(Distances(3.375, least + 0.001, 1.0), quarter, radius)
    assert 0.0 <= float(a.angle_at_pin) < 5.0
    # and a greatest one, straight on past the pin
    most = quarter + 3.375
    with pytest.raises(InputError, match=rf"to {most:.3f} "):
        distances_to_angles(Distances(3.375, most + 0.001, 1.0), quarter, radius)
    a = distances_to_angles(Distances(3.375, most - 0.001, 1.0), quarter, radius)
    assert 175.0 < float(a.angle_at_pin) <= 180.0


@pytest.mark.parametrize("psa_to_pap", [3.375, 4.5, 10.125])
def test_both_ends_of_the_range_are_possible(psa_to_pap: float) -> None:
    a = distances_to_angles(Distances(3.375, psa_to_pap, 1.0), QUARTER, R)
    expected = {3.375: 0.0, 4.5: 45.0, 10.125: 180.0}[psa_to_pap]
    # at an end the cosine rule is flat: an arc good to 1e-9 in gives an angle to the root of that
    assert float(a.angle_at_pin) == pytest.approx(expected, abs=1e-5)


def test_pin_to_val_is_at_most_pin_to_pap() -> None:
    for sign in (1.0, -1.0):
        with pytest.raises(InputError, match=r"pin_to_val: .*-4\.000 to 4\.000"):
            distances_to_angles(Distances(4.0, 5.0, sign * 4.001), QUARTER, R)
        a = distances_to_angles(Distances(4.0, 5.0, sign * 4.0), QUARTER, R)
        assert float(a.angle_at_pap) == pytest.approx(sign * 90.0, abs=1e-5)


def test_an_impossible_layout_in_a_record_names_its_field(record: dict[str, Any]) -> None:
    record["layout"] = {"by": "distances", "pin_to_pap": 3.375, "psa_to_pap": 3.0, "pin_to_val": 1}
    with pytest.raises(
        InputError, match=r"^layout\.psa_to_pap: 3(\.000)? in cannot be.*3\.340 to "
    ):
        plan(parse_job(record))


def test_distances_cannot_state_a_negative_angle_at_pin() -> None:
    with pytest.raises(InputError, match=r"angle_at_pin.*-50"):
        angles_to_distances(Angles(-50.0, 4.0, 40.0), QUARTER, R)


def test_distances_need_a_psa_mark_and_placement_a_pap() -> None:
    with pytest.raises(InputError, match="PSA"):
        to_distances(Angles(50.0, 4.0, 40.0), None, PAP(5.0, 0.5), R)
    with pytest.raises(InputError, match="pap"):
        to_placement(Angles(50.0, 4.0, 40.0), QUARTER, None, R)


def test_no_psa_mark_and_the_cg_on_the_pin_is_refused(record: dict[str, Any]) -> None:
    record["ball"] |= {"psa": None, "pin_to_cg": 0, "intermediate_differential": 0}
    with pytest.raises(InputError, match="reference line"):
        parse_job(record)


# --- conversions that go on to the next -----------------------------------------------------------


@pytest.mark.parametrize(("drilling", "pin_to_pap", "val", "_far", "_near"), FORWARD)
@pytest.mark.parametrize("flip", [1, -1])
def test_round_trips(
    drilling: float, pin_to_pap: float, val: float, flip: int, _far: float, _near: float
) -> None:
    pap = PAP(5.25, 0.5)
    start = Angles(drilling, pin_to_pap, flip * val)
    through = to_placement(start, QUARTER, pap, R)
    assert isinstance(through, Placement)
    on = to_distances(through, QUARTER, pap, R)
    back = to_angles(on, QUARTER, pap, R)
    for name in ("angle_at_pin", "pin_to_pap", "angle_at_pap"):
        assert float(getattr(back, name)) == pytest.approx(getattr(start, name), abs=1e-9), name
    again = placement_to_angles(through, pap, R)
    assert float(again.angle_at_pin) == pytest.approx(drilling, abs=1e-9)


# --- where a turn ends and begins -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("angle", "half", "whole"),
    [
        (180.0, 180.0, 180.0),
        (-180.0, 180.0, 180.0),
        (540.0, 180.0, 180.0),
        (-540.0, 180.0, 180.0),
        (181.0, -179.0, 181.0),
        (-181.0, 179.0, 179.0),
        (360.0, 0.0, 0.0),
        (-360.0, 0.0, 0.0),
        (90.0, 90.0, 90.0),
        (-90.0, -90.0, 270.0),
        (-1e-20, -1e-20, 0.0),  # 360 less nothing is no bearing of its own
    ],
)
def test_half_a_turn_is_plus_180_and_a_whole_one_is_nothing(
    angle: float, half: float, whole: float
) -> None:
    """Angles are above -180 and up to 180, bearings from 0 up to below 360; one number or many."""
    assert (wrap180(angle), wrap360(angle)) == (half, whole)
    assert wrap180(np.array([angle])).tolist() == [half]
    assert wrap360(np.array([angle])).tolist() == [whole]


@pytest.mark.parametrize("drilling", [0.0, 90.0, 180.0])
@pytest.mark.parametrize(("val", "obtuse"), [(90.0, False), (-90.0, False), (90.5, True)])
def test_distances_tell_right_angles_and_half_turns(
    drilling: float, val: float, obtuse: bool
) -> None:
    """At an angle at the PAP of 90 degrees the pin is as far from the VAL as from the PAP, on any side.

    Only beyond that are there two angles at the PAP to choose from. With the PSA mark a quarter away the
    cosine rule is cos(psa) = sin(pin) cos(drilling): 4.5 in is 60.3 degrees on this ball.
    """
    d = angles_to_distances(Angles(drilling, 4.5, val), QUARTER, R)
    assert d.obtuse_angle_at_pap == obtuse
    side = math.copysign(R * math.asin(math.sin(4.5 / R) * abs(math.sin(math.radians(val)))), val)
    assert float(d.pin_to_val) == pytest.approx(side, abs=1e-9)
    psa = R * math.acos(math.sin(4.5 / R) * math.cos(math.radians(drilling)))
    assert float(d.psa_to_pap) == pytest.approx(psa, abs=1e-9)
    back = distances_to_angles(d, QUARTER, R)
    assert float(back.angle_at_pin) == pytest.approx(drilling, abs=1e-5)
    assert float(back.angle_at_pap) == pytest.approx(val, abs=1e-5)


def test_a_layout_by_distances_with_the_pin_moved_square_to_the_val_is_not_obtuse() -> None:
    """A pin on the midline beside a PAP on the midline: the angle at the PAP is a right one."""
    stated = Distances(4.0, 5.0, 2.0)
    for up, obtuse in ((0.0, False), (0.01, False), (-0.01, True)):
        moved = with_pin_at(stated, QUARTER, PAP(5.0, 0.0), R, 1.0, up)
        assert isinstance(moved, Distances)
        assert moved.obtuse_angle_at_pap == obtuse
        assert float(moved.pin_to_pap) == pytest.approx(4.0, abs=1e-3)
