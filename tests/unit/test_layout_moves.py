"""Moving the pin under each statement, and stating a layout in readable numbers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc, from_over_up
from layoutkit.planning.layout import (
    PAP,
    Angles,
    Distances,
    Placement,
    Stated,
    rounded,
    same_place,
    to_angles,
    to_distances,
    to_placement,
    with_pin_at,
)

R = 4.2975  # inches; half of the largest legal diameter, 8.595 in (USBC)
QUARTER = math.pi * R / 2.0
PAPS = st.builds(PAP, st.floats(3.0, 6.0), st.floats(-2.0, 2.0))
PLACES = st.tuples(st.floats(-5.0, 8.0), st.floats(-5.5, 5.5))
LAYOUT = Angles(50.0, 4.5, 35.0)


def pin_of(layout: Stated, pap: PAP) -> tuple[float, float, float]:
    placed = to_placement(layout, QUARTER, pap, R)
    found: tuple[float, float, float] = from_over_up(placed.pin_over, placed.pin_up, R)
    return found


@given(pap=PAPS, place=PLACES)
def test_by_angles_the_pin_goes_there_and_the_angle_at_pin_is_kept(
    pap: PAP, place: tuple[float, float]
) -> None:
    moved = with_pin_at(LAYOUT, QUARTER, pap, R, *place)
    assert isinstance(moved, Angles)
    assert moved.angle_at_pin == 50.0
    assert arc(pin_of(moved, pap), from_over_up(*place, R), R) < 1e-7
    # the cosine rule in xyz: pin-to-PAP is what the two points have between them
    pin, at = from_over_up(*place, R), from_over_up(pap.over, pap.up, R)
    cosine = sum(a * b for a, b in zip(pin, at, strict=True)) / R**2
    assert moved.pin_to_pap == pytest.approx(R * math.acos(max(-1.0, min(1.0, cosine))), abs=1e-6)


@given(pap=PAPS, place=PLACES)
def test_by_placement_the_bearing_is_kept(pap: PAP, place: tuple[float, float]) -> None:
    moved = with_pin_at(Placement(1.0, 3.0, 170.0), None, pap, R, *place)
    assert moved == Placement(*place, 170.0)


@given(pap=PAPS, place=PLACES, psa_to_pap=st.floats(0.5, 12.0))
def test_by_distances_the_psa_to_pap_is_kept_and_the_pin_goes_as_near_as_can_be(
    pap: PAP, place: tuple[float, float], psa_to_pap: float
) -> None:
    moved = with_pin_at(Distances(4.5, psa_to_pap, 2.0), QUARTER, pap, R, *place)
    assert isinstance(moved, Distances)
    assert moved.psa_to_pap == psa_to_pap
    to_angles(moved, QUARTER, pap, R)  # no refusal: a ball can have it
    at, wanted = from_over_up(pap.over, pap.up, R), from_over_up(*place, R)
    distance = arc(at, wanted, R)
    # the triangle of pin, PSA mark and PAP: with the PSA mark at a quarter these bounds
    low, high = abs(QUARTER - psa_to_pap), min(QUARTER + psa_to_pap, 3.0 * QUARTER - psa_to_pap)
    if low < distance < high:
        assert arc(pin_of(moved, pap), wanted, R) < 1e-6
    else:
        # nearest on the way from the PAP: nearer by the whole excess
        excess = max(low - distance, distance - high, 0.0)
        assert arc(pin_of(moved, pap), wanted, R) == pytest.approx(excess, abs=1e-5)


def test_a_place_beyond_the_ball_is_refused() -> None:
    for layout in (LAYOUT, to_distances(LAYOUT, QUARTER, PAP(5.0, 0.5), R), Placement(1, 1, 1)):
        with pytest.raises(InputError, match=r"pin\.up"):
            with_pin_at(layout, QUARTER, PAP(5.0, 0.5), R, 1.0, 7.0)
    with pytest.raises(InputError, match="PSA mark"):
        with_pin_at(Distances(4.5, 4.0, 2.0), None, PAP(5.0, 0.5), R, 1.0, 2.0)


@given(
    pap=PAPS,
    drilling=st.one_of(st.sampled_from((0.0, 90.0, 180.0)), st.floats(0.0, 180.0)),
    pin_to_pap=st.floats(0.2, 7.0),
    val=st.one_of(st.sampled_from((90.0, -90.0, 0.0, 89.99)), st.floats(-179.0, 179.0)),
    millimetres=st.booleans(),
    by=st.sampled_from(("angles", "distances", "placement")),
)
def test_rounded_numbers_state_the_same_ball(
    pap: PAP, drilling: float, pin_to_pap: float, val: float, millimetres: bool, by: str
) -> None:
    given_layout = Angles(drilling, pin_to_pap, val)
    turn = {"angles": to_angles, "distances": to_distances, "placement": to_placement}[by]
    layout: Stated = turn(given_layout, QUARTER, pap, R)  # type: ignore[operator]
    near = rounded(layout, QUARTER, pap, R, 3, 2e-3, millimetres)
    assert type(near) is type(layout)
    assert same_place(near, layout, QUARTER, pap, R, 2e-3)
    if by == "placement":
        unit, places = (25.4, 2) if millimetres else (1.0, 3)
        assert isinstance(near, Placement)
        assert near.pin_over * unit == pytest.approx(round(near.pin_over * unit, places), abs=1e-9)
        assert near.bearing == round(near.bearing, 2)


def test_rounding_takes_more_decimals_only_where_it_must() -> None:
    pap = PAP(5.0, 0.5)
    plain = rounded(Angles(50.123456, 4.123456, 35.123456), QUARTER, pap, R)
    assert plain == Angles(50.12, 4.123, 35.12)
    # at a right angle at the PAP sin is flat: 0.001 in of pin-to-VAL would be more than a degree
    flat = to_distances(Angles(50.0, 4.123456, 89.5), QUARTER, pap, R)
    near = rounded(flat, QUARTER, pap, R)
    assert isinstance(near, Distances)
    assert near.pin_to_val != round(near.pin_to_val, 3)


def test_kept_numbers_are_not_rounded() -> None:
    pap, before = PAP(5.0, 0.5), Angles(50.123456, 4.5, 35.0)
    moved = with_pin_at(before, QUARTER, pap, R, 1.23456, 2.34567)
    near = rounded(moved, QUARTER, pap, R, kept=before)
    assert isinstance(near, Angles)
    assert near.angle_at_pin == 50.123456
    assert near.pin_to_pap == round(near.pin_to_pap, 3)
