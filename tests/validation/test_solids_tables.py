"""Volumes, centroids and second moments against tables, closed forms and scipy's quadrature.

Each expected number has its source beside it. "Derived" means plain geometry, worked out for this
file. Units: inches; volume in3, first moment in4, second moment in5.
"""

import math
from collections.abc import Callable
from typing import Any

import mpmath
import numpy as np
import pytest
from numpy.typing import NDArray

from layoutkit.ball.density import Step, drill
from layoutkit.ball.layers import Label, build_body, fit_layers
from layoutkit.geometry import short_forms as integrals
from layoutkit.geometry import solids
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.solids import FAST, FINE, Cone, Ellipsoid, Solid, sphere

Array = NDArray[np.float64]

R = 4.25
BALL = sphere((0.0, 0.0, 0.0), R)
UNIFORM = 1e-6  # relative, for holes in a uniform ball
CLOSED = 1e-9  # relative, where a smooth solid leaves the quadrature nothing to miss

DOWN = (0.0, 0.0, -1.0)
TOP = (0.0, 0.0, R)


def held(*parts: Solid, rule: solids.Rule | None = None) -> tuple[float, Array, Array]:
    """Volume, first and second moment of one intersection, the short way or by a rule."""
    if rule is None:
        h = integrals.moments([list(parts)])[0]
        return float(h[0, 0]), h[0, 1:], h[1:, 1:]
    m = solids.moments([list(parts)], rule)
    return float(m.volume[0]), m.first[0], m.second[0]


def inertia_about(second: Array, axis: int) -> float:
    return float(np.trace(second) - second[axis, axis])


# --- holes in a ball ------------------------------------------------------------------------------

# Derived, radial flat-bottomed holes in a ball of 4.25 in radius, unit density:
# diameter, depth, volume, centroid's distance from the ball's centre, I about the hole's axis,
# I across it about the ball's centre
RADIAL_HOLES = [
    (1.0, 2.75, 2.1482681935625, 2.867643277785, 0.26805059964759, 19.139506692831),
    (31 / 32, 2.5, 1.8324997881052, 2.9930972771652, 0.21457068610099, 17.467929402448),
    (1.25, 3.0, 3.6532532443634, 2.7384991627469, 0.71168018226318, 30.451268064975),
]


@pytest.mark.parametrize(("diameter", "depth", "volume", "center", "own", "across"), RADIAL_HOLES)
def test_radial_hole(
    diameter: float, depth: float, volume: float, center: float, own: float, across: float
) -> None:
    v, first, second = held(BALL, Bore(TOP, DOWN, diameter / 2.0, depth))
    assert v == pytest.approx(volume, rel=CLOSED)
    assert first[2] / v == pytest.approx(center, rel=CLOSED)
    assert first[:2] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert inertia_about(second, 2) == pytest.approx(own, rel=CLOSED)
    assert inertia_about(second, 0) == pytest.approx(across, rel=CLOSED)
    assert inertia_about(second, 1) == pytest.approx(across, rel=CLOSED)


@pytest.mark.parametrize(("diameter", "depth", "volume", "center", "own", "across"), RADIAL_HOLES)
def test_radial_hole_table_is_what_mpmath_integrates(
    diameter: float, depth: float, volume: float, center: float, own: float, across: float
) -> None:
    """The table itself, by a second route: shells of radius r, each a cylinder's wall."""
    a, bottom = diameter / 2.0, R - depth

    def shells(f: Callable[[mpmath.mpf, mpmath.mpf], mpmath.mpf]) -> float:
        def wall(r: mpmath.mpf) -> mpmath.mpf:
            return 2 * mpmath.pi * r * f(r, mpmath.sqrt(R * R - r * r))

        return float(mpmath.quad(wall, [0, a]))

    assert shells(lambda r, z: z - bottom) == pytest.approx(volume, rel=1e-12)
    first = shells(lambda r, z: (z * z - bottom**2) / 2)
    assert first / volume == pytest.approx(center, rel=1e-12)
    assert shells(lambda r, z: r * r * (z - bottom)) == pytest.approx(own, rel=1e-11)
    tall = shells(lambda r, z: (z**3 - bottom**3) / 3)
    assert own / 2.0 + tall == pytest.approx(across, rel=1e-12)


# Derived (two quadratures agree to 13 digits): a cylinder through the ball, axis parallel to z and
# off by e along x. Radius, e, volume, centroid along x
THROUGH = [
    (0.5, 0.5, 6.606041751476, 0.4982309863915),
    (0.5, 1.0, 6.463920886913, 0.9963041741990),
    (0.625, 0.375, 10.33333299961, 0.3729301392126),
]


@pytest.mark.parametrize(("radius", "off", "volume", "center"), THROUGH)
def test_off_centre_through_cylinder(
    radius: float, off: float, volume: float, center: float
) -> None:
    v, first, _ = held(BALL, Bore((off, 0.0, math.sqrt(R * R - off * off)), DOWN, radius, 9.0))
    assert v == pytest.approx(volume, rel=UNIFORM)
    assert first / v == pytest.approx([center, 0.0, 0.0], rel=UNIFORM, abs=1e-9)


# the widest hole that a record can ask for is 2.5 in; the rest are classical shapes, no holes
@pytest.mark.parametrize(
    ("length", "rule"),
    [(8.4, FAST), (8.2, FAST), (8.0, FINE), (6.0, FINE), (3.0, FINE), (0.5, FINE)],
)
def test_napkin_ring(length: float, rule: solids.Rule) -> None:
    """What a through-hole of length h leaves of any ball is pi h^3 / 6 (classical)."""
    radius = math.sqrt(R * R - length * length / 4.0)
    v, _, _ = held(BALL, Bore(TOP, DOWN, radius, 2.0 * R), rule=rule)
    left = 4.0 / 3.0 * math.pi * R**3 - v
    assert left == pytest.approx(math.pi * length**3 / 6.0, abs=UNIFORM * v)


def test_viviani() -> None:
    """A cylinder of diameter R whose wall passes the centre cuts out 2 R^3 (3 pi - 4) / 9."""
    bore = Bore((R / 2.0, 0.0, R * math.sqrt(0.75)), DOWN, R / 2.0, 3.0 * R)
    v, first, _ = held(BALL, bore, rule=FINE)
    assert v == pytest.approx(2.0 * R**3 * (3.0 * math.pi - 4.0) / 9.0, rel=UNIFORM)
    # derived: about the ball's axis the cylinder is rho <= R cos(phi), so at rho the cosine's
    # integral is 2 sqrt(1 - rho^2 / R^2), and the chord is 2 sqrt(R^2 - rho^2) long:
    # 4 / R times the integral of rho^2 (R^2 - rho^2) from 0 to R
    x = 8.0 * R**4 / 15.0
    assert first == pytest.approx([x, 0.0, 0.0], rel=UNIFORM, abs=UNIFORM * x)


def test_steinmetz() -> None:
    """Two equal cylinders that cross at right angles share 16 r^3 / 3 (Archimedes)."""
    r = 0.75
    a = Bore((0.0, 0.0, R), DOWN, r, 2.0 * R)
    b = Bore((0.0, R, 0.0), (0.0, -1.0, 0.0), r, 2.0 * R)
    (one, _, _), (v, first, second) = held(BALL, a, rule=FINE), held(BALL, a, b, rule=FINE)
    # what the two holes take away together is a hole's volume twice, less what they share
    allowed = UNIFORM * (2.0 * one - v)
    assert v == pytest.approx(16.0 * r**3 / 3.0, abs=allowed)
    assert first == pytest.approx([0.0, 0.0, 0.0], abs=allowed * r)
    # derived, squares of side 2 sqrt(r^2 - x^2) stacked along x
    expected = np.diag([16.0 / 15.0, 64.0 / 45.0, 64.0 / 45.0]) * r**5
    assert second == pytest.approx(expected, abs=allowed * r * r)


def test_drill_point() -> None:
    """Derived: 118 degrees on 1 in diameter: 0.300430309514 in high, 0.078652471107 in3."""
    flat, pointed = Bore(TOP, DOWN, 0.5, 2.0), Bore(TOP, DOWN, 0.5, 2.0, 118.0)
    assert pointed.tip_height == pytest.approx(0.300430309514, abs=1e-12)
    v0, first0, second0 = held(BALL, flat)
    v, first, second = held(BALL, pointed)
    assert v - v0 == pytest.approx(0.078652471107, rel=UNIFORM)
    # a cone's centroid is a quarter of its height from its base (Meriam & Kraige)
    h, m = pointed.tip_height, 0.078652471107
    center = R - 2.0 - h / 4.0
    assert first[2] - first0[2] == pytest.approx(m * center, rel=UNIFORM)
    # I = 3/10 m r^2 about its axis, and m (3/80 h^2) along it about the centroid (the same table)
    grown = second - second0
    assert grown[0, 0] + grown[1, 1] == pytest.approx(0.3 * m * 0.25, rel=UNIFORM)
    assert grown[2, 2] == pytest.approx(m * (3.0 / 80.0 * h * h + center**2), rel=UNIFORM)


@pytest.mark.parametrize("thickness", [0.60, 0.65, 0.70, 0.75])
@pytest.mark.parametrize(("depth", "tip"), [(0.515625, 90.0), (0.55, 118.0), (0.55, None)])
def test_hole_that_ends_at_a_layer(thickness: float, depth: float, tip: float | None) -> None:
    """What a radial hole holds of the ball under the shell, where only its bottom or point gets.

    Derived, by mpmath: shells of radius r from the bottom up to the layer, where that is higher.
    """
    inner, a = R - thickness, 0.25
    slope = 0.0 if tip is None else 1.0 / math.tan(math.radians(tip / 2.0))

    def height(r: Any) -> Any:
        return mpmath.sqrt(inner**2 - r * r) - (R - depth - slope * (a - r))

    reach = a
    if height(a) < 0.0:
        reach = (
            0.0
            if height(0.0) <= 0.0
            else float(mpmath.findroot(height, (0.0, a), solver="anderson"))
        )
    expected = float(mpmath.quad(lambda r: 2 * mpmath.pi * r * height(r), [0, reach]))
    bore = Bore(TOP, DOWN, a, depth, tip)
    whole, _, _ = held(BALL, bore)
    v, _, _ = held(sphere((0.0, 0.0, 0.0), inner), bore)
    assert v == pytest.approx(expected, abs=UNIFORM * whole)


# radius and depth of the bore; radius, depth and included angle of the pointed hole in it
@pytest.mark.parametrize(
    ("wide", "deep", "narrow", "depth", "tip"),
    [
        (0.617, 0.984, 0.508, 0.5, 90.0),
        (0.7, 1.875, 0.55, 1.67, 135.0),
        (0.5, 2.0, 0.5, 1.9, 118.0),
    ],
)
def test_pointed_hole_inside_a_flat_bore(
    wide: float, deep: float, narrow: float, depth: float, tip: float
) -> None:
    """What a sleeve's bore shares with its finished hole, whose point ends below the bore.

    Derived: the narrow radial hole to its full diameter, and a frustum down to the bore's bottom.
    """
    inner = Bore(TOP, DOWN, narrow, depth, tip)
    height = inner.tip_height
    assert depth < deep < depth + height
    rest = (depth + height - deep) / height * narrow  # radius where the point leaves the bore
    frustum = math.pi * (deep - depth) * (narrow**2 + narrow * rest + rest**2) / 3.0
    whole, _, _ = held(BALL, Bore(TOP, DOWN, narrow, depth))
    v, _, _ = held(BALL, Bore(TOP, DOWN, wide, deep), inner)
    assert v == pytest.approx(whole + frustum, rel=UNIFORM)


def _tilted(pitch: float, sideways: float) -> tuple[float, float, float]:
    a, b = pitch / R, sideways / R
    return (b, a, -math.sqrt(1.0 - a * a - b * b))


@pytest.mark.parametrize("pitch", [0.0, 0.125, 0.5, 1.0])
@pytest.mark.parametrize("tip_angle", [None, 118.0])
def test_pitched_hole_by_scipy(pitch: float, tip_angle: float | None) -> None:
    """Chords along the hole's axis over its cross-section, by an adaptive quadrature."""
    from scipy.integrate import dblquad

    a, depth = 0.4375, 2.25
    axis = _tilted(pitch, pitch / 3.0)
    bore = Bore(TOP, axis, a, depth, tip_angle)
    p, d = np.array(TOP), np.array(axis)
    u = np.cross(d, [1.0, 0.3, 0.2])
    u /= np.linalg.norm(u)
    w = np.cross(d, u)
    slope = 0.0 if tip_angle is None else 1.0 / math.tan(math.radians(tip_angle / 2.0))

    def chord(rho: float, phi: float) -> tuple[Array, float, float]:
        foot = p + rho * (math.cos(phi) * u + math.sin(phi) * w)
        half = float(foot @ d)
        start = -half - math.sqrt(half * half - float(foot @ foot) + R * R)
        return foot, start, depth + slope * (a - rho)

    def volume(rho: float, phi: float) -> float:
        _, start, end = chord(rho, phi)
        return rho * (end - start)

    def along_z(rho: float, phi: float) -> float:
        foot, start, end = chord(rho, phi)
        return float(rho * (foot[2] * (end - start) + d[2] * (end**2 - start**2) / 2.0))

    def square_z(rho: float, phi: float) -> float:
        foot, start, end = chord(rho, phi)
        z0, z1 = foot[2] + start * d[2], foot[2] + end * d[2]
        return float(rho * (z1**3 - z0**3) / (3.0 * d[2]))

    expected = [
        dblquad(f, 0.0, 2.0 * math.pi, 0.0, a, epsabs=1e-10, epsrel=1e-10)[0]
        for f in (volume, along_z, square_z)
    ]
    v, first, second = held(BALL, bore)
    assert v == pytest.approx(expected[0], rel=UNIFORM)
    assert first[2] == pytest.approx(expected[1], rel=UNIFORM)
    assert second[2, 2] == pytest.approx(expected[2], rel=UNIFORM)


# --- whole solids ---------------------------------------------------------------------------------

# Meriam & Kraige, Dynamics, table of mass moments; CRC Standard Mathematical Tables


def test_sphere() -> None:
    """I = 2/5 m R^2."""
    v, first, second = held(sphere((0.3, -0.2, 0.5), 2.0), rule=FINE)
    m = 4.0 / 3.0 * math.pi * 8.0
    assert v == pytest.approx(m, rel=UNIFORM)
    assert first / v == pytest.approx([0.3, -0.2, 0.5], rel=UNIFORM)
    own = second - np.outer(first, first) / v
    for axis in range(3):
        assert inertia_about(own, axis) == pytest.approx(0.4 * m * 4.0, rel=UNIFORM)


def test_ellipsoid() -> None:
    """I = m (b^2 + c^2) / 5, about each of its own axes, however it is turned."""
    semi = (1.5, 2.2, 2.6)
    turn, _ = np.linalg.qr(np.array([[0.3, 0.8, -0.5], [0.9, -0.1, 0.4], [0.2, 0.6, 0.7]]))
    turn *= np.sign(np.linalg.det(turn))
    rows = tuple(tuple(row) for row in turn.tolist())
    v, first, second = held(Ellipsoid((0.1, 0.2, -0.3), semi, rows), rule=FINE)  # type: ignore[arg-type]
    m = 4.0 / 3.0 * math.pi * math.prod(semi)
    assert v == pytest.approx(m, rel=UNIFORM)
    own = turn @ (second - np.outer(first, first) / v) @ turn.T
    a, b, c = semi
    expected = [m * (b * b + c * c) / 5.0, m * (a * a + c * c) / 5.0, m * (a * a + b * b) / 5.0]
    for axis, value in enumerate(expected):
        assert inertia_about(own, axis) == pytest.approx(value, rel=UNIFORM)
    assert own - np.diag(np.diag(own)) == pytest.approx(np.zeros((3, 3)), abs=UNIFORM * m)


def test_cone() -> None:
    """V = pi r^2 h / 3, centroid 3/4 h from the apex, I = 3/10 m r^2 and 3/20 m r^2 + 3/5 m h^2."""
    half, h = 31.0, 1.7
    r = h * math.tan(math.radians(half))
    v, first, second = held(Cone((0.0, 0.0, 0.0), (0.0, 1.0, 0.0), half, h), rule=FINE)
    m = math.pi * r * r * h / 3.0
    assert v == pytest.approx(m, rel=UNIFORM)
    assert first / v == pytest.approx([0.0, 0.75 * h, 0.0], rel=UNIFORM, abs=1e-9)
    assert inertia_about(second, 1) == pytest.approx(0.3 * m * r * r, rel=UNIFORM)
    across = 3.0 / 20.0 * m * r * r + 3.0 / 5.0 * m * h * h
    assert inertia_about(second, 0) == pytest.approx(across, rel=UNIFORM)


def test_spheres_that_overlap() -> None:
    """A lens of two balls of radius r, d apart: pi (4 r + d) (2 r - d)^2 / 12 (classical)."""
    r, d = 1.5, 1.1
    v, first, _ = held(sphere((0.0, 0.0, 0.0), r), sphere((d, 0.0, 0.0), r), rule=FINE)
    assert v == pytest.approx(math.pi * (4.0 * r + d) * (2.0 * r - d) ** 2 / 12.0, rel=UNIFORM)
    assert first / v == pytest.approx([d / 2.0, 0.0, 0.0], rel=UNIFORM, abs=UNIFORM)


def test_what_does_not_meet_has_nothing_in_common() -> None:
    apart = Bore((0.0, 0.0, -R), (0.0, 0.0, 1.0), 0.5, 1.0)
    v, first, second = held(BALL, Bore(TOP, DOWN, 0.5, 1.0), apart)
    assert v == 0.0
    assert not first.any()
    assert not second.any()


# --- the drilled uniform ball ---------------------------------------------------------------------


def test_drilled_uniform_ball() -> None:
    """Derived: 15 lb of one density, radius 4.25 in, one radial hole 1.0 x 2.75 in on +z."""
    label = Label(R, 15.0, None, 0.0, 0.0, None, None)
    assert fit_layers(label, 0.0) is None
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    model = build_body(label, None, axes, (0.0, 0.0, 0.0))
    hole = Bore(TOP, DOWN, 0.5, 2.75)
    (change,) = drill([model], [Step(hole, 0.0, 0)], 1)
    removed = float(np.sum(change.removed_oz))
    assert removed == pytest.approx(1.60340909, abs=5e-9)
    left = 15.0 * 16.0 - removed
    assert left / 16.0 == pytest.approx(14.899786932, abs=5e-10)
    center = -np.array(change.first) / left
    # the table has one unit less in its last digit: -0.01928721075 by mpmath
    assert center == pytest.approx([0.0, 0.0, -0.0192872107], abs=1e-10)
    second = model.second - change.second - left * np.outer(center, center)
    about_axis = math.sqrt(inertia_about(second, 2) / left)
    across = math.sqrt(inertia_about(second, 0) / left)
    assert about_axis == pytest.approx(2.696804541, abs=5e-10)
    assert across == pytest.approx(2.685758722, abs=5e-10)


# --- the rule that the plan uses against one far finer --------------------------------------------


def test_fast_and_fine_rules_agree_on_random_holes() -> None:
    """200 random pitched holes, plain and pointed, a third of them cutting a core.

    Relative to what the hole holds: 1e-6 in the uniform ball, 1e-4 for what it takes from a core.
    """
    rng = np.random.default_rng(7)
    core = Ellipsoid((0.05, -0.08, 0.06), (1.9, 2.3, 2.4))
    worst_ball = worst_core = 0.0
    through = 0
    for _ in range(200):
        n = rng.normal(size=3)
        n /= np.linalg.norm(n)
        across = np.cross(n, rng.normal(size=3))
        across *= rng.uniform(0.0, 0.2) / np.linalg.norm(across)
        axis = across - math.sqrt(1.0 - float(across @ across)) * n
        tip = None if rng.random() < 0.6 else float(rng.uniform(90.0, 150.0))
        bore = Bore(
            tuple((R * n).tolist()),
            tuple(axis.tolist()),
            float(rng.uniform(0.25, 0.7)),
            float(rng.uniform(0.75, 3.5)),
            tip,
        )
        quick = integrals.moments([[BALL, bore], [core, bore]])
        fast = (quick[:, 0, 0], quick[:, 0, 1:], quick[:, 1:, 1:])
        fine = solids.moments([[BALL, bore], [core, bore]], FINE)
        whole = [float(np.linalg.norm(part[0])) for part in fine]
        off = [
            np.linalg.norm(a - b, axis=tuple(range(1, a.ndim))) if a.ndim > 1 else abs(a - b)
            for a, b in zip(fast, fine, strict=True)
        ]
        worst_ball = max(worst_ball, *(float(d[0]) / w for d, w in zip(off, whole, strict=True)))
        worst_core = max(worst_core, *(float(d[1]) / w for d, w in zip(off, whole, strict=True)))
        through += fine.volume[1] > 1e-6
    assert through > 60
    assert worst_ball < UNIFORM
    assert worst_core < 1e-4
