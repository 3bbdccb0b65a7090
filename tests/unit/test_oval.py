"""The press table of an oval hole: where the bit stands, in which order, and what it leaves."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutkit.planning import oval

bits = st.floats(0.5, 1.25)
ways = st.floats(1 / 64, 1.0)
scallops = st.floats(1 / 128, 1 / 8)


def test_two_bores_of_an_inch_an_eighth_apart() -> None:
    """By hand: circles of radius 1/2 meet sqrt(1/4 - 1/256) from the line of their centres."""
    assert oval.offsets(1.0, 1.125, 0.0, 2) == ((0.0625, 0.0), (-0.0625, 0.0))
    assert oval.scallop_of(1.0, 0.125) == pytest.approx(0.5 - math.sqrt(0.25 - 1 / 256), abs=1e-15)
    assert oval.count(1.0, 1.125, 1 / 64) == 2


def test_the_ends_come_first_then_the_middles_of_what_is_left() -> None:
    at = [round(c.along * 8) for c in oval.offsets(1.0, 2.0, 0.0, 9)]
    assert at == [4, -4, 0, 2, -2, 3, 1, -1, -3]


def test_directions_grow_to_the_right_and_the_front_end_comes_first() -> None:
    first, last = oval.offsets(1.0, 1.5, 30.0, 2)
    assert first == pytest.approx((0.25 * math.cos(math.pi / 6), 0.125), abs=1e-15)
    assert last == pytest.approx((-first.along, -first.across), abs=1e-15)
    across = oval.offsets(1.0, 1.5, 90.0, 2)
    assert across[0] == pytest.approx((0.0, 0.25), abs=1e-15)


@given(bits, ways, scallops)
def test_no_scallop_is_higher_than_asked_and_one_bore_less_would_leave_one(
    bit: float, way: float, scallop: float
) -> None:
    n = oval.count(bit, bit + way, scallop)
    assert oval.scallop_of(bit, way / (n - 1)) <= scallop * (1 + 1e-6)
    if n > 2:
        assert oval.scallop_of(bit, way / (n - 2)) > scallop


@given(bits, ways, st.integers(2, 20), st.floats(-90.0, 90.0))
def test_the_bores_stand_evenly_from_end_to_end(
    bit: float, way: float, n: int, direction: float
) -> None:
    found = oval.offsets(bit, bit + way, direction, n)
    turn = math.radians(direction)
    places = sorted(c.along * math.cos(turn) + c.across * math.sin(turn) for c in found)
    assert len(found) == n
    steps = [b - a for a, b in pairwise(places)]
    assert steps == pytest.approx([way / (n - 1)] * (n - 1), abs=1e-12)
    # the foremost bore reaches the front edge
    reach = max(c.along for c in found) + bit / 2.0
    assert reach == pytest.approx(oval.front(bit, bit + way, direction), abs=1e-12)
