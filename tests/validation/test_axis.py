"""The axis point from the track: exact rings, honest uncertainty, another least-squares solver.

Rings are made by rotating vectors here (Rodrigues' formula), apart from the library's own walks.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import least_squares
from scipy.stats import binom, chi2

from layoutkit.bench.axis import (
    AxisFit,
    Ring,
    RingMark,
    circles,
    critical,
    fit_axis,
    mark_at,
    mark_by_arcs,
)
from layoutkit.errors import InputError

R = 4.275
Array = NDArray[np.float64]
EXACT = 1e-9  # inches and degrees
SPREAD = (110.0, 150.0, 185.0, 220.0, 250.0)


def unit_at(over: float, up: float, radius: float = R) -> Array:
    a, b = over / radius, up / radius
    return np.array([math.sin(a) * math.cos(b), math.sin(b), math.cos(a) * math.cos(b)])


def rotated(v: Array, axis: Array, angle: float) -> Array:
    """Rodrigues' formula."""
    c, s = math.cos(angle), math.sin(angle)
    return np.asarray(v * c + np.cross(axis, v) * s + axis * (axis @ v) * (1.0 - c))


def ring_points(
    over: float, up: float, tilt: float, turns: tuple[float, ...], radius: float = R
) -> Array:
    """Unit vectors on the ring about the axis point, (N, 3)."""
    n = unit_at(over, up, radius)
    sideways = np.cross(n, [0.0, 1.0, 0.0])
    sideways /= math.sqrt(sideways @ sideways)
    # 90 + tilt degrees from the axis point; turn 180 lies on the negative side
    first = rotated(n, np.cross(sideways, n), math.radians(90.0 + tilt))
    return np.array([rotated(first, n, math.radians(t)) for t in turns])


def as_ring(points: Array, radius: float = R, name: str = "first") -> Ring:
    marks = []
    for i, (x, y, z) in enumerate(points, start=1):
        over, up = radius * math.atan2(x, z), radius * math.asin(y)
        marks.append(mark_at(over, up, radius, f"mark {i}"))
    return Ring(name, tuple(marks))


def made(
    over: float, up: float, tilt: float, turns: tuple[float, ...] = SPREAD, name: str = "first"
) -> Ring:
    return as_ring(ring_points(over, up, tilt, turns), name=name)


# --- exact ----------------------------------------------------------------------------------------


@given(
    over=st.floats(1.0, 7.5),
    up=st.floats(-3.0, 3.0),
    tilt=st.floats(0.0, 40.0),
    start=st.floats(0.0, 360.0),
    steps=st.lists(st.floats(25.0, 60.0), min_size=3, max_size=5),
    radius=st.floats(4.25, 4.2975),
)
def test_an_exact_ring_gives_its_axis_back(
    over: float, up: float, tilt: float, start: float, steps: list[float], radius: float
) -> None:
    turns = tuple(start + float(s) for s in np.cumsum([0.0, *steps]))
    fit = fit_axis([as_ring(ring_points(over, up, tilt, turns, radius), radius)], radius)
    assert fit.over == pytest.approx(over, abs=EXACT)
    assert fit.up == pytest.approx(up, abs=EXACT)
    assert fit.tilt == pytest.approx(tilt, abs=EXACT)
    assert fit.rms < EXACT
    assert np.abs(fit.rings[0].residuals).max() < EXACT


@pytest.mark.parametrize("tilt", [0.0, 5.0, 10.0, 20.0])
def test_the_ring_lies_where_the_tilt_says(tilt: float) -> None:
    """Common practice, no source, on a ball of 27 in around: 6.75 + 0.075 t in from the PAP."""
    radius = 27.0 / (2.0 * math.pi)
    points = ring_points(5.0, 0.5, tilt, SPREAD, radius)
    fit = fit_axis([as_ring(points, radius)], radius)
    assert fit.rings[0].from_pap == pytest.approx(6.75 + 0.075 * tilt, abs=EXACT)
    # the rest of the half circle, twice: 12 in across the negative side is a tilt of 10 degrees
    assert fit.rings[0].track_arc == pytest.approx(13.5 - 0.15 * tilt, abs=EXACT)
    assert fit.rings[0].track_diameter == pytest.approx(
        2.0 * radius * math.cos(math.radians(tilt)), abs=EXACT
    )


def test_twelve_inches_across_is_ten_degrees() -> None:
    radius = 27.0 / (2.0 * math.pi)
    fit = fit_axis([as_ring(ring_points(5.0, 0.5, 10.0, SPREAD, radius), radius)], radius)
    assert fit.rings[0].track_arc == pytest.approx(12.0, abs=EXACT)


def test_turning_the_ball_turns_the_axis_and_nothing_else() -> None:
    rng = np.random.default_rng(4)
    points = ring_points(5.0, 0.5, 12.0, SPREAD) + rng.normal(0.0, 0.01, (5, 3))
    points /= np.sqrt((points**2).sum(axis=1))[:, None]
    plain = circles(points)
    turn = math.radians(25.0)
    k = np.array([0.6, 0.0, 0.8])
    found = circles(np.array([rotated(p, k, turn) for p in points]))
    assert found.axis == pytest.approx(rotated(plain.axis, k, turn), abs=1e-12)
    assert found.angles == pytest.approx(plain.angles, abs=1e-12)
    assert found.off == pytest.approx(plain.off, abs=1e-12)


def test_order_of_marks_and_more_of_the_same_do_not_matter() -> None:
    ring = made(5.0, 0.5, 12.0)
    back = Ring("first", ring.marks[::-1])
    assert fit_axis([back], R).over == pytest.approx(fit_axis([ring], R).over, abs=EXACT)
    twice = fit_axis([Ring("first", ring.marks * 2)], R)
    once = fit_axis([ring], R)
    assert twice.stated.most == pytest.approx(once.stated.most / math.sqrt(2.0), rel=1e-9)


# --- another solver -------------------------------------------------------------------------------


def by_scipy(points: Array, number: Array, start: tuple[float, float]) -> tuple[Array, Array]:
    """Axis over and up by scipy's trust region solver, and their covariance for unit variance."""
    count = int(number.max()) + 1

    def off(x: Array) -> Array:
        n = unit_at(float(x[0]), float(x[1]))
        return np.arccos(points @ n) * R - x[2:][number]

    x0 = np.array([*start, *([R * math.pi / 2.0] * count)])
    found = least_squares(off, x0, xtol=1e-15, ftol=1e-15, gtol=1e-15)
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    return found.x, covariance


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("shared", [False, True])
def test_scipy_finds_the_same_circle(seed: int, shared: bool) -> None:
    rng = np.random.default_rng(seed)
    over, up = rng.uniform(3.5, 6.5), rng.uniform(-1.0, 1.5)
    tilts = (8.0, 16.0) if shared else (11.0,)
    parts = [ring_points(over, up, t, SPREAD) for t in tilts]
    noisy = np.concatenate(parts) + rng.normal(0.0, 0.02 / R, (5 * len(tilts), 3))
    noisy /= np.sqrt((noisy**2).sum(axis=1))[:, None]
    number = np.repeat(np.arange(len(tilts)), 5)
    rings = [as_ring(p, name=f"ring {i}") for i, p in enumerate(np.split(noisy, len(tilts)))]
    fit = fit_axis(rings, R, 1.0 / 16.0, shared)
    x, covariance = by_scipy(noisy, number, (5.0, 0.0))
    assert fit.over == pytest.approx(x[0], abs=1e-6)
    assert fit.up == pytest.approx(x[1], abs=1e-6)
    for found, distance in zip(fit.rings, x[2:], strict=True):
        assert found.from_pap == pytest.approx(distance, abs=1e-6)
    # over is an arc along the midline: at the axis's height a step is shorter by the cosine
    stated_over = math.sqrt(covariance[0, 0]) / 16.0 * math.cos(fit.up / R)
    assert fit.stated.over == pytest.approx(stated_over, rel=1e-4)
    assert fit.stated.up == pytest.approx(math.sqrt(covariance[1, 1]) / 16.0, rel=1e-4)


# --- how sure -------------------------------------------------------------------------------------


def within(found: int, count: int, share: float) -> bool:
    """Whether a count is one that the share would give in 9,998 of 10,000 runs."""
    low, high = binom.ppf([1e-4, 1.0 - 1e-4], count, share)
    return bool(low <= found <= high)


@pytest.mark.parametrize("tolerance", [1.0 / 64.0, 1.0 / 16.0])
@pytest.mark.parametrize("turns", [SPREAD, (120.0, 180.0, 240.0), (100.0, 130.0, 190.0, 260.0)])
def test_the_stated_uncertainty_covers_what_it_says(
    tolerance: float, turns: tuple[float, ...]
) -> None:
    """Twenty thousand fits; marks displaced at random along the surface."""
    count = 20_000
    rng = np.random.default_rng(17)
    true = unit_at(5.0, 0.5)
    points = ring_points(5.0, 0.5, 12.0, turns)
    shift = rng.normal(0.0, tolerance / R, (count, len(turns), 3))
    shift -= points * (shift * points).sum(axis=-1, keepdims=True)
    noisy = points + shift
    noisy /= np.sqrt((noisy**2).sum(axis=-1, keepdims=True))
    found = circles(noisy)
    exact = circles(points)
    assert R * np.abs(exact.axis - true).max() < EXACT
    # the axis's error along over and up, against what each fit states
    n = found.axis
    over = np.stack([n[:, 2], np.zeros(count), -n[:, 0]], axis=1)
    over /= np.sqrt((over**2).sum(axis=1, keepdims=True))
    up = np.cross(n, over)
    error = np.stack([(true * over).sum(axis=1), (true * up).sum(axis=1)], axis=1)
    covariance = found.covariance[:, :2, :2] * (tolerance / R) ** 2
    distance = np.einsum("ni,nij,nj->n", error, np.linalg.inv(covariance), error)
    for share in (0.5, 0.6827, 0.9):
        inside = int((distance < chi2.ppf(share, 2)).sum())
        assert within(inside, count, share), (share, inside / count)
    ring = as_ring(points)
    fit = fit_axis([ring], R, tolerance)
    assert fit.stated.over == pytest.approx(R * error[:, 0].std(), rel=0.03)
    assert fit.stated.up == pytest.approx(R * error[:, 1].std(), rel=0.03)


def test_residuals_tell_the_tolerance_that_was_not_stated() -> None:
    """The mean square of the observed deviation is that of the true one, whatever was stated."""
    rng = np.random.default_rng(23)
    points = ring_points(5.0, 0.5, 12.0, SPREAD)
    truth = 1.0 / 64.0
    fits = []
    for _ in range(600):
        noisy = points + rng.normal(0.0, truth / R, points.shape)
        noisy /= np.sqrt((noisy**2).sum(axis=1))[:, None]
        fits.append(fit_axis([as_ring(noisy)], R, 1.0 / 16.0))
    observed = np.array([f.observed.over for f in fits if f.observed is not None])
    assert len(observed) == 600
    error = np.array([f.over for f in fits]) - 5.0
    assert math.sqrt((observed**2).mean()) == pytest.approx(error.std(), rel=0.1)
    assert fits[0].stated.over > 2.0 * error.std()
    assert all(f.unsure == f.stated.most for f in fits)


def test_marks_by_arcs_are_as_unsure_as_their_arcs() -> None:
    """Two hundred fits of marks by arcs from two points, each arc displaced at random."""
    rng = np.random.default_rng(5)
    tolerance = 1.0 / 32.0
    a, b = unit_at(1.0, 3.0) * R, unit_at(-0.5, -6.0) * R
    points = ring_points(5.0, 0.5, 12.0, SPREAD) * R
    arcs = [[R * math.acos(p @ q / R**2) for q in (a, b)] for p in points]
    count, inside = 200, 0
    true = unit_at(5.0, 0.5)
    for _ in range(count):
        marks = []
        for one, other in arcs:
            x, y = rng.normal(0.0, tolerance, 2)
            marks.append(mark_by_arcs(tuple(a), one + x, tuple(b), other + y, R))
        try:
            fit = fit_axis([Ring("first", tuple(marks))], R, tolerance)
        except InputError:  # one sound ring in a thousand is taken for a mixed one
            continue
        inside += math.acos(min(1.0, true @ np.array(fit.xyz) / R)) * R < fit.stated.most
    # one standard deviation of the worst direction: between the shares of two and of one dimension
    assert binom.ppf(1e-4, count, 0.3935) < inside < binom.ppf(1.0 - 1e-4, count, 0.6827)


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 40])
def test_the_limit_of_a_sound_ring_is_chi_squareds(freedom: int) -> None:
    assert critical(freedom) == pytest.approx(chi2.ppf(0.999, freedom), rel=0.05)


def test_few_sound_rings_are_refused() -> None:
    rng = np.random.default_rng(99)
    points = ring_points(5.0, 0.5, 12.0, SPREAD)
    refused = 0
    for _ in range(600):
        noisy = points + rng.normal(0.0, 1.0 / 16.0 / R, points.shape)
        noisy /= np.sqrt((noisy**2).sum(axis=1))[:, None]
        try:
            fit_axis([as_ring(noisy)], R)
        except InputError:
            refused += 1
    assert refused <= binom.ppf(1.0 - 1e-4, 600, 1e-3)


# --- several rings --------------------------------------------------------------------------------


def two_rings(second: tuple[float, float, float]) -> list[Ring]:
    return [made(5.0, 0.5, 12.0), made(*second, name="second")]


def test_the_first_ring_is_the_pap_and_the_others_tell_how_the_axis_went() -> None:
    fit = fit_axis(two_rings((5.25, 0.75, 14.0)), R)
    assert (fit.over, fit.up, fit.tilt) == pytest.approx((5.0, 0.5, 12.0), abs=EXACT)
    assert fit.rings[1].tilt == pytest.approx(14.0, abs=EXACT)
    apart = R * math.acos(unit_at(5.0, 0.5) @ unit_at(5.25, 0.75))
    assert fit.rings[1].migration == pytest.approx(apart, abs=1e-7)


def test_rings_about_one_axis_are_surer_together() -> None:
    rings = two_rings((5.0, 0.5, 14.0))
    alone, together = fit_axis(rings, R), fit_axis(rings, R, shared=True)
    assert (together.over, together.up) == pytest.approx((5.0, 0.5), abs=EXACT)
    assert [r.tilt for r in together.rings] == pytest.approx([12.0, 14.0], abs=EXACT)
    assert together.stated.most < 0.8 * alone.stated.most


def test_rings_about_two_axes_are_not_forced_into_one() -> None:
    with pytest.raises(InputError, match="do not lie about one axis"):
        fit_axis(two_rings((5.75, 1.0, 16.0)), R, shared=True)


# --- refusals -------------------------------------------------------------------------------------


def refusal(rings: list[Ring], **options: float) -> str:
    with pytest.raises(InputError) as error:
        fit_axis(rings, R, **options)
    return str(error.value)


def test_too_few_marks_are_refused() -> None:
    assert "three or more" in refusal([])
    assert "only 2 marks" in refusal([made(5.0, 0.5, 12.0, (120.0, 220.0))])
    one = [made(5.0, 0.5, 12.0, (120.0, 220.0)), made(5.0, 0.5, 14.0, (120.0,), "second")]
    assert "second: has only 1 mark;" in refusal(one, shared=True)


@pytest.mark.parametrize("turns", [(170.0, 180.0, 190.0), (180.0,) * 4, (150.0, 150.0, 210.0)])
def test_marks_too_close_together_are_refused(turns: tuple[float, ...]) -> None:
    assert "too close together" in refusal([made(5.0, 0.5, 12.0, turns)])


@pytest.mark.parametrize(
    ("odd", "apart"), [(0, 18.0), (1, 8.0), (2, 8.0), (3, 8.0), (4, 8.0), (5, 18.0)]
)
def test_a_mark_of_another_ring_is_named(odd: int, apart: float) -> None:
    turns = (100.0, 130.0, 160.0, 190.0, 220.0, 250.0)
    first = ring_points(5.0, 0.5, 12.0, turns)
    second = ring_points(5.0, 0.5, 12.0 + apart, turns)
    mixed = first.copy()
    mixed[odd] = second[odd]
    words = refusal([as_ring(mixed)])
    assert "(mixed)" in words
    assert f"mark {odd + 1} lies {R * math.radians(apart):.2f} in off" in words
    both = refusal([as_ring(mixed), as_ring(second, name="second")])
    assert "on ring second" in both


def test_an_odd_mark_at_the_end_may_leave_two_to_doubt() -> None:
    turns = (100.0, 130.0, 160.0, 190.0, 220.0, 250.0)
    points = ring_points(5.0, 0.5, 12.0, turns)
    points[0] = ring_points(5.0, 0.5, 20.0, turns)[0]
    assert "it is one of mark 1 or mark 2, and another mark" in refusal([as_ring(points)])


def test_four_marks_tell_that_one_is_odd_but_not_which() -> None:
    points = ring_points(5.0, 0.5, 12.0, (110.0, 150.0, 210.0, 250.0))
    points[1] = ring_points(5.0, 0.5, 24.0, (150.0,))[0]
    assert "a fifth would tell which" in refusal([as_ring(points)])


def test_a_ring_of_halves_is_mixed_with_no_culprit() -> None:
    turns = (100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 275.0)
    points = ring_points(5.0, 0.5, 12.0, turns)
    points[::2] = ring_points(5.0, 0.5, 20.0, turns)[::2]
    assert "leaving out one mark does not mend it" in refusal([as_ring(points)])


# --- marks ----------------------------------------------------------------------------------------


def test_a_mark_by_arcs_lies_where_its_arcs_say() -> None:
    rng = np.random.default_rng(11)
    done = 0
    while done < 200:
        a, b, p = (unit_at(rng.uniform(-6, 6), rng.uniform(-5, 5)) * R for _ in range(3))
        one, other = (R * math.acos(p @ q / R**2) for q in (a, b))
        try:
            found = [
                mark_by_arcs(tuple(a), one, tuple(b), other, R, toward)
                for toward in ("negative", "positive")
            ]
        except InputError:
            continue
        done += 1
        assert min(np.abs(np.array(m.xyz) - p).max() for m in found) < 1e-6
        assert found[0].xyz[0] < found[1].xyz[0]


def test_arcs_that_meet_nowhere_or_graze_are_refused() -> None:
    a, b = (0.0, 0.0, R), tuple(unit_at(0.0, 3.0) * R)
    with pytest.raises(InputError, match=r"between 2\.000 and 4\.000 in"):
        mark_by_arcs(a, 1.0, b, 5.0, R)
    with pytest.raises(InputError, match="graze"):
        mark_by_arcs(a, 1.0, b, 2.01, R)
    with pytest.raises(InputError, match="coincide"):
        mark_by_arcs(a, 1.0, a, 2.0, R)
    side = tuple(unit_at(3.0, 0.0) * R)
    with pytest.raises(InputError, match="say fingers or thumb"):
        mark_by_arcs(a, 2.0, side, 2.5, R)
    assert mark_by_arcs(a, 2.0, side, 2.5, R, "thumb").xyz[1] < 0.0


def test_three_marks_are_a_fit_that_nothing_checks() -> None:
    fit: AxisFit = fit_axis([made(5.0, 0.5, 12.0, (120.0, 180.0, 240.0))], R)
    assert fit.observed is None
    assert fit.freedom == 0
    assert "none of them is checked" in fit.cautions[0]


def test_signs_the_wrong_way_round_are_remarked_on() -> None:
    ring = made(5.0, 0.5, 12.0)
    wrong = Ring(
        "first", tuple(RingMark(m.name, (-m.xyz[0], *m.xyz[1:]), m.spread) for m in ring.marks)
    )
    fit = fit_axis([wrong], R)
    assert fit.tilt == pytest.approx(-12.0, abs=EXACT)
    assert any("unusual" in c for c in fit.cautions)
