"""The short forms of everyday intersections against the general way with a far finer rule.

`geometry.solids` finds by search where surfaces change their order; `geometry.short_forms` knows it
beforehand. They share no formula but the surfaces themselves, and test_solids_opencascade.py holds
whole jobs against OpenCASCADE. Units: inches; volume in3.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from layoutkit.geometry import short_forms as integrals
from layoutkit.geometry import solids
from layoutkit.geometry.bores import Bore, common_reach
from layoutkit.geometry.short_forms import moments
from layoutkit.geometry.solids import FINE, Ellipsoid, Solid
from layoutkit.geometry.vectors import frame, segments, unit

R = 4.25
UNIFORM, OF_OVALS, OF_TWO, THROUGH_CORE = 1e-6, 3e-6, 2e-5, 1e-4  # of the thinner bore's volume
AXES = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def finely(parts: list[Solid]) -> NDArray[np.float64]:
    """Homogeneous moments by the general way with a fine rule."""
    m = solids.moments([parts], FINE)
    held = np.empty((4, 4))
    held[0, 0], held[1:, 1:] = m.volume[0], m.second[0]
    held[0, 1:] = held[1:, 0] = m.first[0]
    return held


def volume(bore: Bore) -> float:
    return math.pi * bore.radius**2 * bore.depth


def agree(parts: list[Solid], allowed: float) -> float:
    """Hold an intersection to the allowed error in every moment; its volume."""
    held, expected = moments([parts])[0], finely(parts)
    thin = min(volume(s) for s in parts if isinstance(s, Bore))
    scale = thin * np.outer((1.0, R, R, R), (1.0, R, R, R))
    assert np.abs((held - expected) / scale).max() < allowed
    return float(expected[0, 0])


def finger(
    over: float, up: float, lean: float, forward: float, radius: float, depth: float
) -> Bore:
    """A bore whose axis leans out by ``lean`` and misses the centre forward, in inches."""
    z = math.sqrt(R * R - over * over - up * up)
    entry = np.array((over, up, z))
    axis = np.array((0.0, -forward, 0.0)) + np.array((lean, 0.0, 0.0)) - entry
    axis /= np.linalg.norm(axis)
    return Bore(tuple(entry.tolist()), tuple(axis.tolist()), radius, depth)


@pytest.mark.parametrize("seed", range(6))
def test_bores_that_meet(seed: int) -> None:
    rng = np.random.default_rng(seed)
    met = 0
    for _ in range(60):
        a, b = (
            finger(
                side * rng.uniform(0.35, 0.75),
                rng.uniform(2.2, 2.6),
                side * rng.uniform(-0.4, 0.15),
                rng.uniform(-0.3, 0.3),
                rng.uniform(0.25, 0.6),
                rng.uniform(1.2, 3.2),
            )
            for side in (-1.0, 1.0)
        )
        if math.dist(a.entry, b.entry) > a.radius + b.radius:
            met += agree([a, b], UNIFORM) > 1e-4
            core = Ellipsoid(
                tuple(rng.uniform(-0.3, 0.3, 3).tolist()),
                tuple(rng.uniform(1.6, 3.0, 3).tolist()),
                AXES,
            )
            agree([core, a, b], THROUGH_CORE)
    assert met > 15


def test_mirrored_bores_are_not_taken_for_settled() -> None:
    """Both halves of a symmetric figure err alike; that they agree says nothing."""
    for depth in np.linspace(1.6, 3.2, 9):
        a, b = (finger(side * 0.55, 2.4, 0.0, 0.0, 0.4, float(depth)) for side in (-1.0, 1.0))
        agree([a, b], UNIFORM)


def test_a_bore_through_the_other() -> None:
    """The chords end at the far side of the other bore, not at a bottom."""
    a = Bore((0.0, 0.0, R), (0.0, 0.0, -1.0), 0.5, 6.0)
    b = Bore((2.0, 0.1, 3.2), (-0.6, 0.0, -0.8), 0.3, 5.5)
    held = agree([a, b], UNIFORM)
    # derived: two round bars of radii R > r that cross at an angle t with offset e share at least
    # what the thin one has inside a bar of half-width sqrt(R^2 - (r + e)^2) over sin t
    least = 2.0 * math.sqrt(0.5**2 - 0.4**2) * math.pi * 0.3**2 / 0.6
    most = 2.0 * 0.5 * math.pi * 0.3**2 / 0.6
    assert least < held < most


def row(rng: np.random.Generator, radius: float) -> tuple[Bore, Bore]:
    """Two equal bores side by side, as an oval has them, the second some way along."""
    a = finger(
        *rng.uniform(-1.0, 1.0, 2), *rng.uniform(-0.4, 0.4, 2), radius, rng.uniform(1.2, 3.4)
    )
    across, along = (np.array(v) for v in frame(a.axis))
    turn, way = rng.uniform(0.0, 2.0 * math.pi), rng.uniform(0.01, 1.9) * radius
    shift = way * (math.cos(turn) * across + math.sin(turn) * along)
    return a, a._replace(entry=tuple((np.array(a.entry) + shift).tolist()))


@pytest.mark.parametrize("seed", range(3))
def test_what_bores_of_an_oval_share_in_a_layer_and_in_a_core(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cut = 0
    for _ in range(20):
        pair = list(row(rng, rng.uniform(0.3, 0.6)))
        agree([solids.sphere((0.0, 0.0, 0.0), R - rng.choice([0.0, 0.75])), *pair], OF_OVALS)
        core = Ellipsoid(
            tuple(rng.uniform(-0.3, 0.3, 3).tolist()),
            tuple(rng.uniform(1.2, 3.0, 3).tolist()),
            AXES,
        )
        cut += agree([core, *pair], THROUGH_CORE) > 1e-3
    assert cut > 5


@pytest.mark.parametrize("seed", range(3))
def test_a_vent_that_runs_into_an_oval(seed: int) -> None:
    """It meets each bore of the oval, and what two of them share, all or in part inside a layer."""
    rng = np.random.default_rng(seed)
    met = 0
    while met < 12:
        a, b = row(rng, rng.uniform(0.35, 0.55))
        thin = rng.choice([1 / 16, 1 / 8, 0.3])
        toward = np.array(a.entry) + rng.uniform(0.4, 1.1) * np.array(a.axis)
        over, up, _ = np.array(a.entry) + 1.4 * np.array(frame(a.axis)[0])
        start = np.array((over, up, math.sqrt(R * R - over * over - up * up)))
        length = math.dist(toward, start)
        vent = Bore(tuple(start.tolist()), unit(tuple((toward - start).tolist())), thin, length)
        layer = solids.sphere((0.0, 0.0, 0.0), R - rng.choice([0.0, 0.75]))
        agree([layer, a, vent], OF_OVALS)
        met += agree([layer, a, b, vent], OF_TWO) > 1e-5


def test_bores_that_are_apart_share_nothing() -> None:
    for gap in (0.01, 0.3):
        a = finger(-0.6, 2.4, -0.3, 0.0, 0.4, 2.0)
        b = finger(0.6, 2.4, 0.3, 0.0, 0.4, 2.0)
        least = segments(a.entry, a.axis, 2.0, b.entry, b.axis, 2.0)[0]
        thin = (least - gap) / 2.0
        held = moments([[a._replace(radius=thin), b._replace(radius=thin)]])
        assert not held.any()


@pytest.mark.parametrize("tip", [None, 118.0])
def test_a_bore_in_a_core(tip: float | None) -> None:
    rng = np.random.default_rng(3)
    cut = 0
    for _ in range(80):
        bore = finger(
            *rng.uniform(-2.0, 2.0, 2), *rng.uniform(-0.3, 0.3, 2), 0.45, rng.uniform(0.8, 3.5)
        )
        core = Ellipsoid(
            tuple(rng.uniform(-0.4, 0.4, 3).tolist()),
            tuple(rng.uniform(1.5, 3.2, 3).tolist()),
            AXES,
        )
        cut += agree([core, bore._replace(tip_angle=tip)], THROUGH_CORE) > 1e-3
    assert cut > 30


def test_what_has_no_short_form_goes_the_general_way() -> None:
    ball = solids.sphere((0.0, 0.0, 0.0), R)
    through = Bore((0.0, 0.0, R), (0.0, 0.0, -1.0), 0.5, 9.0)
    # napkin ring (Polya, Mathematics and Plausible Reasoning I): what is left depends on its height
    height = 2.0 * math.sqrt(R * R - 0.25)
    left = 4.0 / 3.0 * math.pi * R**3 - moments([[ball, through]])[0, 0, 0]
    assert left == pytest.approx(math.pi * height**3 / 6.0, rel=1e-6)
    assert moments([]).shape == (0, 4, 4)
    assert integrals.moments([[ball]])[0, 0, 0] == pytest.approx(
        4.0 / 3.0 * math.pi * R**3, rel=1e-6
    )


@pytest.mark.parametrize("seed", range(3))
def test_far_beyond_what_anyone_drills(seed: int) -> None:
    """Holes up to 5 in deep with an inch of pitch, through the core and out of it again."""
    rng = np.random.default_rng(seed)
    for _ in range(60):
        a, b = (
            finger(
                *rng.uniform(-2.0, 2.0, 2),
                *rng.uniform(-1.0, 1.0, 2),
                *rng.uniform((0.2, 0.3), (0.75, 5.0)),
            )
            for _ in range(2)
        )
        core = Ellipsoid(
            tuple(rng.uniform(-0.6, 0.6, 3).tolist()),
            tuple(rng.uniform(1.0, 3.4, 3).tolist()),
            AXES,
        )
        agree([core, a], THROUGH_CORE)
        # without the ball two bores are bounded only where they converge inward, below its surface
        if common_reach(a, b) < R - 0.5:
            agree([a, b], UNIFORM)
            agree([core, a, b], THROUGH_CORE)


def test_bores_that_share_much_of_a_core() -> None:
    """Nearly overlapping at the surface already: more surfaces take turns than in a fingers' meeting."""
    core = Ellipsoid((-0.106, 0.4356, 0.1211), (1.787, 1.3439, 3.3614), AXES)
    a = Bore((-0.61633, -1.49338, 3.93096), (-0.02798, 0.42695, -0.90384), 0.73872, 2.51545)
    b = Bore((-0.33732, -0.26427, 4.22834), (-0.11789, -0.11373, -0.98649), 0.55186, 2.00796)
    a, b = (s._replace(axis=unit(s.axis)) for s in (a, b))
    assert agree([core, a, b], THROUGH_CORE) > 0.1


def test_a_bore_that_leaves_the_core_again() -> None:
    core = Ellipsoid((0.2907, -0.3169, 0.3764), (1.4392, 1.7498, 1.1494), AXES)
    entry = (1.3735, -1.2632, math.sqrt(R * R - 1.3735**2 - 1.2632**2))
    d = np.array((-0.52195, 0.10567, -0.8464))
    bore = Bore(entry, tuple((d / np.linalg.norm(d)).tolist()), 0.21876, 4.86128)
    assert agree([core, bore], THROUGH_CORE) > 0.2


@pytest.mark.parametrize("seed", range(4))
def test_drill_points_that_run_into_a_bore_settle(seed: int) -> None:
    """The first rule of the general way against a far finer one: within 1e-6 of the thinner bore."""
    rng = np.random.default_rng(seed)
    met = 0
    for _ in range(40):
        a, b = (
            finger(
                side * rng.uniform(0.45, 0.7),
                rng.uniform(2.2, 2.6),
                0.0,
                rng.uniform(-0.2, 0.2),
                rng.uniform(0.3, 0.5),
                rng.uniform(1.4, 2.8),
            )
            for side in (-1.0, 1.0)
        )
        pair: list[Solid] = [a, b._replace(tip_angle=rng.uniform(80.0, 140.0))]
        if math.dist(a.entry, b.entry) > a.radius + b.radius:
            met += agree(pair, UNIFORM) > 1e-4
    assert met > 10
