"""Root finding and least values against scipy's."""

import math
from collections.abc import Callable
from itertools import islice

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq, minimize_scalar

from layoutkit.geometry.roots import (
    bisection,
    golden_section,
    newton_between,
    regula_falsi,
    regula_falsi_many,
    valley,
)

Function = Callable[[float], float]

CROSSING: list[tuple[Function, float, float]] = [
    (lambda x: math.exp(x) - 2.0, -3.0, 4.0),
    (lambda x: x**9 - 1e-3, 0.0, 1.5),
    (lambda x: math.cos(x) - x, 0.0, 1.5),
    (lambda x: math.atan(50.0 * (x - 0.3)), -4.0, 1.0),
]
VALLEYS: list[tuple[Function, float, float]] = [
    (lambda x: (x - 0.7) ** 2 + 3.0, -1.0, 2.0),
    (lambda x: math.exp(x) - 3.0 * x, 0.0, 3.0),
    (lambda x: math.hypot(x - 0.2, 0.5), -1.0, 1.5),
    (lambda x: -math.sin(x), 0.5, 2.9),
]


@pytest.mark.parametrize(("f", "low", "high"), CROSSING)
@pytest.mark.parametrize("guess", [None, 0.9])
def test_regula_falsi_finds_the_root(
    f: Function, low: float, high: float, guess: float | None
) -> None:
    at = regula_falsi(f, low, f(low), high, f(high), 1e-13, 100, guess)
    assert at == pytest.approx(brentq(f, low, high, xtol=1e-14), abs=1e-9)


@pytest.mark.parametrize(("f", "low", "high"), CROSSING)
def test_regula_falsi_stops_at_the_tolerance(f: Function, low: float, high: float) -> None:
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(f(x))
        return asked[-1]

    at = regula_falsi(counted, low, f(low), high, f(high), 1e-4, 100)
    assert abs(f(at)) < 1e-4
    assert all(abs(value) >= 1e-4 for value in asked[:-1])


def test_regula_falsi_asks_no_more_often_than_it_may() -> None:
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(x)
        return x**9 - 1e-3

    regula_falsi(counted, 0.0, -1e-3, 1.5, 1.5**9 - 1e-3, 0.0, 5)
    assert len(asked) == 5


@given(st.lists(st.floats(-0.99, 0.99), min_size=1, max_size=5))
def test_many_roots_at_once(roots: list[float]) -> None:
    places = np.array(roots)

    def f(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(np.exp(x) - np.exp(places))

    ends = np.full(len(roots), -1.0), np.full(len(roots), 1.0)
    at = regula_falsi_many(f, ends[0], f(ends[0]), ends[1], f(ends[1]), 30)
    single = [brentq(lambda x, p=p: math.exp(x) - math.exp(p), -1.0, 1.0) for p in roots]
    assert at == pytest.approx(single, abs=1e-9)


def test_many_with_one_round_take_the_chord_and_ask_nothing() -> None:
    def f(x: NDArray[np.float64]) -> NDArray[np.float64]:
        raise AssertionError

    zero, one = np.zeros(2), np.ones(2)
    # the second does not change its sign: an end stands for its root
    at = regula_falsi_many(f, zero, np.array([-1.0, 1.0]), one, np.array([3.0, 2.0]), 1)
    assert at.tolist() == [0.25, 0.0]


@pytest.mark.parametrize(("f", "low", "high"), CROSSING)
def test_newton_between_finds_the_root(f: Function, low: float, high: float) -> None:
    def slopes(x: float) -> tuple[float, float]:
        return f(x), (f(x + 1e-6) - f(x - 1e-6)) / 2e-6

    sign = 1.0 if f(low) < 0.0 else -1.0
    at = newton_between(lambda x: tuple(sign * v for v in slopes(x)), low, high, 1e-12)  # type: ignore[arg-type,return-value]
    assert at == pytest.approx(brentq(f, low, high, xtol=1e-14), abs=1e-7)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_newton_between_has_no_root_where_the_sign_stays(sign: float) -> None:
    assert newton_between(lambda x: (sign * (x * x + 1.0), sign * 2.0 * x), 0.5, 2.0, 1e-9) is None


@given(st.floats(0.0, 1.0))
def test_bisection_finds_where_it_stops_to_hold(end: float) -> None:
    at = bisection(lambda x: x < end, 0.0, 1.0, 1e-9)
    assert at <= end <= at + 1e-9


@pytest.mark.parametrize(("f", "low", "high"), VALLEYS)
def test_golden_section_closes_in_on_the_least_value(f: Function, low: float, high: float) -> None:
    least = minimize_scalar(f, bounds=(low, high), method="bounded", options={"xatol": 1e-10}).x
    for n, bracket in enumerate(islice(golden_section(f, low, high), 25)):
        first, _, _, last = bracket.places
        assert list(bracket.places) == sorted(bracket.places)
        assert bracket.values == pytest.approx([f(x) for x in bracket.places], abs=1e-12)
        assert first - 1e-6 <= least <= last + 1e-6
        assert last - first == pytest.approx((high - low) * ((math.sqrt(5) - 1) / 2) ** n)
        assert bracket.least[1] == min(bracket.values[1:3])


@pytest.mark.parametrize(("f", "low", "high"), VALLEYS)
def test_golden_section_asks_once_for_each_bracket(f: Function, low: float, high: float) -> None:
    asked: list[float] = []

    def counted(x: float) -> float:
        asked.append(x)
        return f(x)

    list(islice(golden_section(counted, low, high), 10))
    assert len(asked) == 4 + 9


@pytest.mark.parametrize("start", [-0.2, 0.0, 0.4])
def test_valley_comes_near_the_least_value(start: float) -> None:
    def f(x: float) -> float:
        return math.sqrt(5.0 - 4.0 * math.cos(x - 0.1))

    least = minimize_scalar(f, bounds=(-2.0, 2.0), method="bounded", options={"xatol": 1e-10}).x
    assert valley(f, start, (0.7, 0.15, 0.02)) == pytest.approx(least, abs=1e-3)
