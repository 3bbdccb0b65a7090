"""Convex solids and what they hold: volume, first and second moment of their intersections.

A solid is bounded by quadric surfaces and planes. Intersections are integrated by chords: straight
lines parallel to the axis of one of the solids, the carrier, are laid over its round cross-section,
and along each line the part inside all solids is one interval (they are convex), integrated exactly.

The lines stand in fans, flat sections that hold the direction of the axis: half-planes through the
axis, or parallel strips where two holes run into each other. In a fan every surface is a conic or a
straight line, so the places where their order changes are roots of quadratics; they become the ends
of the Gauss intervals, which keeps the accuracy where a surface is grazed or cut by a hole's bottom.

Units: inches; volume in3, first moment in4, second moment in5, about the origin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

FAR = 1e3  # inches; beyond any ball, stands for "unbounded"


@dataclass(frozen=True, slots=True)
class Ellipsoid:
    """Semi-axes along the rows of ``axes``, an orthonormal right-handed triple."""

    center: Vector
    semi_axes: Vector
    axes: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def sphere(center: Vector, radius: float) -> Ellipsoid:
    """A sphere is an ellipsoid with three equal semi-axes."""
    return Ellipsoid(center, (radius, radius, radius))


@dataclass(frozen=True, slots=True)
class Bore:
    """What a bit sweeps: a cylinder open outward, ending ``depth`` along ``axis`` from ``entry``.

    ``axis`` is of length one and points inward. Flat-bottomed, or with a drill point of included
    angle ``tip_angle`` degrees below the end of the full diameter.
    """

    entry: Vector
    axis: Vector
    radius: float
    depth: float
    tip_angle: float | None = None

    @property
    def tip_height(self) -> float:
        """Height of the drill point, in inches; 0 for a flat bottom."""
        if self.tip_angle is None or self.tip_angle >= 180.0:
            return 0.0
        return self.radius / math.tan(math.radians(self.tip_angle) / 2.0)


@dataclass(frozen=True, slots=True)
class Cone:
    """A cone from ``apex`` opening along ``axis``, closed by a flat base at ``height``."""

    apex: Vector
    axis: Vector
    half_angle: float
    height: float


Solid = Ellipsoid | Bore | Cone


class Moments(NamedTuple):
    """Volume, first moment (3,) and second moment (3, 3) about the origin, or arrays of them."""

    volume: Array
    first: Array
    second: Array


# --- surfaces -------------------------------------------------------------------------------------

# A quadric x'Ax + 2 b'x + c <= 0 is kept as its symmetric 4 x 4 homogeneous matrix, a plane as the
# row (normal, -offset). A cone adds its nappe: the plane through its apex that the inside lies above.


class _Surfaces(NamedTuple):
    """All surfaces of a set of solids, and which belong to which.

    ``quadrics`` (q, 4, 4), ``nappes`` (q, 4; zero where the quadric is no cone), ``planes`` (p, 4).
    ``of`` maps the id of a solid to the indices of its quadrics and planes; ``conical`` are the
    quadrics that are cones.
    """

    quadrics: Array
    nappes: Array
    planes: Array
    conical: frozenset[int]
    of: dict[int, tuple[tuple[int, ...], tuple[int, ...]]]


def _homogeneous(a: Array, center: Array, level: Array) -> Array:
    """Matrices of (x - center)' a (x - center) <= level; shapes (n, 3, 3), (n, 3), (n)."""
    m = np.empty((len(a), 4, 4))
    b = -(a @ center[:, :, None])[:, :, 0]
    m[:, :3, :3], m[:, :3, 3], m[:, 3, :3] = a, b, b
    m[:, 3, 3] = -(b * center).sum(axis=1) - level
    return m


def _rows(normal: Array, through: Array) -> Array:
    """Planes with these normals through these points, (n, 4)."""
    return np.concatenate([normal, -(normal * through).sum(axis=1, keepdims=True)], axis=1)


def _surfaces(solids: Sequence[Solid]) -> _Surfaces:
    eye = np.eye(3)
    quadrics, nappes, planes = [], [], []
    of: dict[int, tuple[tuple[int, ...], tuple[int, ...]]] = {}

    bores = [s for s in solids if isinstance(s, Bore)]
    if bores:
        entry, axis = np.array([s.entry for s in bores]), np.array([s.axis for s in bores])
        numbers = np.array([(s.radius, s.depth) for s in bores])
        square = eye - axis[:, :, None] * axis[:, None, :]
        quadrics.append(_homogeneous(square, entry, numbers[:, 0] ** 2))
        nappes.append(np.zeros((len(bores), 4)))
        planes.append(_rows(axis, entry + numbers[:, 1:] * axis))
        of = {id(s): ((i,), (i,)) for i, s in enumerate(bores)}
    count = flats = len(bores)

    ellipsoids = [s for s in solids if isinstance(s, Ellipsoid)]
    if ellipsoids:
        u = np.array([s.axes for s in ellipsoids])
        d = 1.0 / np.array([s.semi_axes for s in ellipsoids]) ** 2
        a = (u.transpose(0, 2, 1) * d[:, None, :]) @ u
        center = np.array([s.center for s in ellipsoids])
        quadrics.append(_homogeneous(a, center, np.ones(len(a))))
        nappes.append(np.zeros((len(ellipsoids), 4)))
        of |= {id(s): ((count + i,), ()) for i, s in enumerate(ellipsoids)}
        count += len(ellipsoids)

    plain = count
    for s in solids:  # cones and drill points: rare, one by one
        if isinstance(s, Cone):
            apex, along, half = s.apex, s.axis, s.half_angle
            planes.append(_rows(np.array([along]), np.array([_along(apex, along, s.height)])))
            of[id(s)] = ((count,), (flats,))
            flats += 1
        elif isinstance(s, Bore) and s.tip_height > 0.0 and s.tip_angle is not None:
            apex, along = _along(s.entry, s.axis, s.depth + s.tip_height), _negative(s.axis)
            half = s.tip_angle / 2.0
            of[id(s)] = ((of[id(s)][0][0], count), ())
        else:
            continue
        w, p = np.array([along]), np.array([apex])
        cosine = math.cos(math.radians(half))
        cone = cosine * cosine * eye - w[:, :, None] * w[:, None, :]
        quadrics.append(_homogeneous(cone, p, np.zeros(1)))
        nappes.append(_rows(w, p))
        count += 1
    return _Surfaces(
        np.concatenate(quadrics),
        np.concatenate(nappes),
        np.concatenate([np.empty((0, 4)), *planes]),
        frozenset(range(plain, count)),
        of,
    )


class _Carrier(NamedTuple):
    """The bundle of lines: from ``origin`` along ``axis``, out to ``radius``.

    Seen in a half-plane through its axis the carrier ends at ``end + slope * rho``.
    """

    origin: Vector
    axis: Vector
    radius: float
    end: float
    slope: float


def _carrier(s: Solid) -> _Carrier:
    if isinstance(s, Ellipsoid):
        return _Carrier(s.center, s.axes[0], max(s.semi_axes[1:]), FAR, 0.0)
    if isinstance(s, Cone):
        rise = 1.0 / math.tan(math.radians(s.half_angle))
        return _Carrier(s.apex, _negative(s.axis), s.height / rise, 0.0, -rise)
    h = s.tip_height
    return _Carrier(s.entry, s.axis, s.radius, s.depth + h, -h / s.radius)


def _dot(a: Vector, b: Vector) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _along(p: Vector, d: Vector, t: float) -> Vector:
    return (p[0] + t * d[0], p[1] + t * d[1], p[2] + t * d[2])


def _negative(d: Vector) -> Vector:
    return (-d[0], -d[1], -d[2])


def segment_distance(p: Array, d: Array, length: Array, q: Array, e: Array, other: Array) -> Array:
    """Least distances between straight segments p + s d and q + t e (unit d, e), shape (...).

    Clamped closest points of two lines (C. Ericson, Real-Time Collision Detection, 2005, 5.1.9).
    """
    r = p - q
    b, c, f = (d * e).sum(axis=-1), (d * r).sum(axis=-1), (e * r).sum(axis=-1)
    det = 1.0 - b * b
    parallel = det < 1e-12
    s = np.where(parallel, 0.0, (b * f - c) / np.where(parallel, 1.0, det))
    s = np.minimum(np.maximum(s, 0.0), length)
    t = np.minimum(np.maximum(b * s + f, 0.0), other)
    s = np.minimum(np.maximum(b * t - c, 0.0), length)
    gap = r + s[..., None] * d - t[..., None] * e
    return np.asarray(np.sqrt((gap * gap).sum(axis=-1)))


def walls_cross(a: Bore, b: Bore) -> Vector | None:
    """The outermost point that the walls of two bores have in common, were they never to end.

    Moving along the line in which the walls cross does not bring the point further out:
    x . (w_a x w_b) = 0 with w its offsets from the axes. Newton's method, from where the axes are as
    near as the two radii; None where they do not converge inward or overlap at their entries.
    """
    gap, rate = _along(a.entry, b.entry, -1.0), _along(a.axis, b.axis, -1.0)
    reach = a.radius + b.radius
    quad, lin, const = _dot(rate, rate), _dot(gap, rate), _dot(gap, gap) - reach * reach
    disc = lin * lin - quad * const
    if const <= 0.0 or disc <= 0.0 or lin >= 0.0:
        return None
    t = (-lin - math.sqrt(disc)) / quad
    x = _along(_along(a.entry, a.axis, t), _along(gap, rate, t), -a.radius / reach)
    for _ in range(10):
        wa, wb = _offset(x, a), _offset(x, b)
        normal = _cross(wa, wb)
        lean = _along(normal, _across_axis(_cross(wb, x), a.axis), 1.0)
        lean = _along(lean, _across_axis(_cross(x, wa), b.axis), 1.0)
        miss = (
            (_dot(wa, wa) - a.radius**2) / 2.0,
            (_dot(wb, wb) - b.radius**2) / 2.0,
            _dot(x, normal),
        )
        step = _solve(wa, wb, lean, miss)
        if step is None:
            return None
        x = _along(x, step, -1.0)
        if max(map(abs, step)) < 1e-8:
            return x
    return None


def outermost_common(a: Bore, b: Bore) -> float:
    """Distance from the origin of the outermost point that two bores have in common.

    inf where they overlap at their entries. Where they meet at a bottom edge only, the walls are
    searched point by point, to about 1/64 in; -inf where nothing is found inside both.
    """
    gap = _along(a.entry, b.entry, -1.0)
    if _dot(gap, gap) <= (a.radius + b.radius) ** 2:
        return math.inf
    x = walls_cross(a, b)
    if x is not None and all(
        _dot(_along(x, s.entry, -1.0), s.axis) <= s.depth for s in (a, b)
    ):
        return math.sqrt(_dot(x, x))
    return _searched_common(a, b)


def bottom_reach(bore: Bore) -> float:
    """Distance from the origin of the outermost point of a bore's bottom edge."""
    foot = -_dot(bore.entry, bore.axis)
    offset = math.sqrt(max(_dot(bore.entry, bore.entry) - foot * foot, 0.0))
    return math.hypot(bore.depth - foot, offset + bore.radius)


def _cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _across_axis(v: Vector, axis: Vector) -> Vector:
    return _along(v, axis, -_dot(v, axis))


def _offset(x: Vector, bore: Bore) -> Vector:
    return _across_axis(_along(x, bore.entry, -1.0), bore.axis)


def _solve(r1: Vector, r2: Vector, r3: Vector, y: Vector) -> Vector | None:
    """Solve the three rows for y by Cramer's rule; None where they are dependent."""
    c23, c31, c12 = _cross(r2, r3), _cross(r3, r1), _cross(r1, r2)
    det = _dot(r1, c23)
    if abs(det) < 1e-14:
        return None
    return tuple((y[0] * c23[i] + y[1] * c31[i] + y[2] * c12[i]) / det for i in range(3))  # type: ignore[return-value]


def _searched_common(a: Bore, b: Bore) -> float:
    """Outermost point of one bore's wall or bottom edge inside the other, by dense sampling.

    -inf where no sampled point is inside: the bores touch in less than the search resolves.
    """
    best = -math.inf
    for one, other in ((a, b), (b, a)):
        p, d = np.array(one.entry), np.array(one.axis)
        u, v = (np.array(e) for e in frame(one.axis))
        t = np.linspace(0.0, one.depth, 200)[:, None, None]
        phi = np.linspace(0.0, 2.0 * math.pi, 240)[:, None]
        x = p + t * d + one.radius * (np.cos(phi) * u + np.sin(phi) * v)
        w = x - np.array(other.entry)
        s = w @ np.array(other.axis)
        inside = ((w * w).sum(axis=-1) - s * s <= other.radius**2 + 1e-6) & (s <= other.depth + 1e-6)
        if inside.any():
            best = max(best, math.sqrt(float((x * x).sum(axis=-1)[inside].max())))
    return best


def frame(axis: Vector) -> tuple[Vector, Vector]:
    """Two unit vectors square to the axis and to each other."""
    i = min(range(3), key=lambda j: abs(axis[j]))
    e = _across_axis((float(i == 0), float(i == 1), float(i == 2)), axis)
    n = math.sqrt(_dot(e, e))
    u = (e[0] / n, e[1] / n, e[2] / n)
    return u, _cross(axis, u)


# --- quadrature -----------------------------------------------------------------------------------


class Rule(NamedTuple):
    """Numbers of fans and of Gauss nodes an interval: smooth, cut by a surface, holes meeting."""

    smooth_fans: int
    smooth_nodes: int
    fans: int
    nodes: int
    strips: int
    strip_nodes: int


FAST = Rule(6, 4, 32, 6, 32, 4)
FINE = Rule(24, 16, 512, 16, 400, 16)


@lru_cache(maxsize=16)
def _gauss(n: int) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights on [0, 1] (Golub and Welsch, Math. Comp. 23, 1969)."""
    k = np.arange(1, n)
    off = k / np.sqrt(4.0 * k * k - 1.0)
    x, v = np.linalg.eigh(np.diag(off, 1) + np.diag(off, -1))
    return 0.5 * (x + 1.0), v[0] ** 2


@lru_cache(maxsize=16)
def _eased(n: int) -> tuple[Array, Array]:
    """Gauss nodes moved by 3x^2 - 2x^3, which makes square-root ends of an integrand smooth."""
    x, w = _gauss(n)
    return x * x * (3.0 - 2.0 * x), w * 6.0 * x * (1.0 - x)


class _Group(NamedTuple):
    """One intersection: its carrier, the surfaces that cut its lines, the bore that crosses it."""

    index: int
    chosen: Solid
    quadrics: tuple[int, ...]
    planes: tuple[int, ...]
    crossing: Bore | None


class _Bundle(NamedTuple):
    """A batch of k intersections with the same numbers of surfaces, in their carriers' frames.

    ``pose`` (k, 4, 4): columns e1, e2, axis, origin. ``quadric`` (m, k, 4, 4), ``plane`` (p, k, 4)
    and ``nappe`` (m, k, 4), None where no cone takes part, are local and homogeneous. ``reach`` is
    how far across its carrier another bore may come; None where none does.
    """

    pose: Array
    radius: Array
    end: Array
    slope: Array
    quadric: Array
    plane: Array
    nappe: Array | None
    reach: Array | None


class _Fans(NamedTuple):
    """Flat sections of the carriers: lines stand at base + xi * heading, low <= xi <= high.

    All of shape (k, fans). ``base`` is the local y of the foot (its x is 0), ``heading`` the local
    (x, y). Polar fans carry the weight xi of polar coordinates beside their own ``weight``.
    """

    base: Array
    heading: tuple[Array, Array]
    low: Array
    high: Array
    weight: Array
    polar: bool


class _Profile(NamedTuple):
    """The surfaces as seen in n fans.

    ``conics`` (6, m, n): a, b0, b1, g0, g1, g2 of a t^2 + 2 (b0 + b1 xi) t + g0 + 2 g1 xi + g2 xi^2
    <= 0. ``bottoms`` (2, 1 + p, n): l0, l1 of the straight ends t = l0 + l1 xi; ``upper`` (1 + p, n)
    tells the ends from the starts, None where all are ends. ``nappe`` (3, m, n): growth with t,
    value at the foot and growth with xi; None without cones.
    """

    conics: Array
    bottoms: Array
    upper: NDArray[np.bool_] | None
    nappe: Array | None

    def pick(self, at: NDArray[np.intp]) -> _Profile:
        """The profiles of the fans at these indices."""
        return _Profile(
            self.conics.take(at, axis=2),
            self.bottoms.take(at, axis=2),
            None if self.upper is None else self.upper.take(at, axis=1),
            None if self.nappe is None else self.nappe.take(at, axis=2),
        )


def _bundle(groups: Sequence[_Group], surfaces: _Surfaces) -> _Bundle:
    k = len(groups)
    carriers = [_carrier(g.chosen) for g in groups]
    origin, axis = np.array([c.origin for c in carriers]), np.array([c.axis for c in carriers])
    radius, end, slope = np.array([c[2:] for c in carriers]).T
    reach = None
    crossing = [g.crossing for g in groups if g.crossing is not None]
    if crossing:
        entry, heading = np.array([s.entry for s in crossing]), np.array([s.axis for s in crossing])
        size = np.array([(s.radius, s.depth, s.depth + s.tip_height) for s in crossing])
        closest = segment_distance(origin, axis, end, entry, heading, size[:, 2])
        reach = _reach(closest, radius, size[:, 0])
        # a drill point is straight in half-planes through its axis, but not in strips: there it is
        # one of the quadrics
        end, slope = np.where(slope == 0.0, end, FAR), np.zeros(k)
        toward = entry + size[:, 1:2] * heading - origin
    else:
        # nothing to turn toward: a coordinate axis that is well off the carrier's
        toward = np.eye(3)[np.abs(axis).argmin(axis=1)]
    e1 = toward - (toward * axis).sum(axis=1, keepdims=True) * axis
    square = (e1 * e1).sum(axis=1, keepdims=True)
    if crossing and square.min() < 1e-18:
        # a bore that ends on the carrier's axis: any direction across will do
        other = np.eye(3)[np.abs(axis).argmin(axis=1)]
        other = other - (other * axis).sum(axis=1, keepdims=True) * axis
        e1 = np.where(square < 1e-18, other, e1)
        square = (e1 * e1).sum(axis=1, keepdims=True)
    e1 /= np.sqrt(square)
    pose = np.zeros((k, 4, 4))
    pose[:, :3, 0], pose[:, :3, 2], pose[:, :3, 3], pose[:, 3, 3] = e1, axis, origin, 1.0
    pose[:, :3, 1] = axis[:, (1, 2, 0)] * e1[:, (2, 0, 1)] - axis[:, (2, 0, 1)] * e1[:, (1, 2, 0)]
    q = np.array([g.quadrics for g in groups], dtype=np.intp).T
    p = np.array([g.planes for g in groups], dtype=np.intp).T
    nappe = None
    if surfaces.conical and any(i in surfaces.conical for g in groups for i in g.quadrics):
        nappe = (surfaces.nappes[q][:, :, None] @ pose)[:, :, 0]
    return _Bundle(
        pose,
        radius,
        end,
        slope,
        pose.transpose(0, 2, 1) @ surfaces.quadrics[q] @ pose,
        (surfaces.planes[p][:, :, None] @ pose)[:, :, 0],
        nappe,
        reach,
    )


def _reach(distance: Array, radius: Array, other: Array) -> Array:
    """How far across a bore its common part with another one is expected, with a margin, (k,).

    Half the common chord of two circles at the least distance of the axes.
    """
    d = np.maximum(distance, 1e-9)
    x = (d * d + radius * radius - other * other) / (2.0 * d)
    half = np.where(x > 0.0, np.sqrt(np.maximum(radius * radius - x * x, 0.0)), radius)
    return np.minimum(1.15 * half + 0.03 * radius, radius)


def _polar(radius: Array, n: int) -> _Fans:
    """n half-planes through the axis of each carrier."""
    a = 2.0 * math.pi * (np.arange(n) + 0.5) / n
    one = np.ones((len(radius), n))
    heading = (np.cos(a) * one, np.sin(a) * one)
    zero = np.zeros_like(one)
    return _Fans(zero, heading, zero, radius[:, None] * one, one * (2.0 * math.pi / n), True)


def _profile(b: _Bundle, f: _Fans) -> _Profile:
    q = b.quadric[..., None]  # (m, k, 4, 4, 1)
    y, (c, s) = f.base, f.heading
    k, fans = y.shape
    conics = np.empty((6, len(q), k, fans))
    conics[0] = q[:, :, 2, 2]
    conics[1] = q[:, :, 2, 3]
    conics[3] = q[:, :, 3, 3]
    if f.polar:
        conics[2] = q[:, :, 0, 2] * c + q[:, :, 1, 2] * s
        conics[4] = q[:, :, 0, 3] * c + q[:, :, 1, 3] * s
        conics[5] = q[:, :, 0, 0] * (c * c) + q[:, :, 1, 1] * (s * s)
        conics[5] += q[:, :, 0, 1] * (2.0 * c * s)
    else:
        conics[1] += q[:, :, 1, 2] * y
        conics[2] = q[:, :, 0, 2]
        conics[3] += y * (2.0 * q[:, :, 1, 3] + q[:, :, 1, 1] * y)
        conics[4] = q[:, :, 0, 3] + q[:, :, 0, 1] * y
        conics[5] = q[:, :, 0, 0]
    planes = len(b.plane)
    bottoms = np.empty((2, 1 + planes, k, fans))
    bottoms[0, 0], bottoms[1, 0] = b.end[:, None], b.slope[:, None]
    upper = None
    if planes:
        n = b.plane[..., None]
        # a plane that runs along the lines is met only far away: its steepness is kept finite
        rise = np.where(np.abs(n[:, :, 2]) < 1e-9, 1e-9, n[:, :, 2])
        bottoms[0, 1:] = -(n[:, :, 3] + n[:, :, 1] * y) / rise
        bottoms[1, 1:] = -(n[:, :, 0] * c + n[:, :, 1] * s) / rise
        if (rise < 0.0).any():
            upper = np.ones((1 + planes, k, fans), dtype=bool)
            upper[1:] = rise > 0.0
            upper = upper.reshape(1 + planes, -1)
    nappe = None
    if b.nappe is not None:
        w = b.nappe[..., None]
        nappe = np.empty((3, len(w), k, fans))
        nappe[0] = w[:, :, 2]
        nappe[1] = w[:, :, 3] + w[:, :, 1] * y
        nappe[2] = w[:, :, 0] * c + w[:, :, 1] * s
        nappe = nappe.reshape(3, len(w), y.size)
    return _Profile(
        conics.reshape(6, len(q), y.size), bottoms.reshape(2, 1 + planes, y.size), upper, nappe
    )


_PARALLEL = 1e-12  # a surface whose t^2 term is smaller runs along the lines


def _roots(q2: Array, q1: Array, q0: Array) -> tuple[Array, Array]:
    """Both roots of q2 x^2 + 2 q1 x + q0 (stable form); nan or inf where there is none."""
    w = -(q1 + np.copysign(np.sqrt(q1 * q1 - q2 * q0), q1))
    return w / q2, q0 / w


def _breaks(p: _Profile, low: Array, high: Array) -> Array:
    """Places in each fan where surfaces may change order, clipped to low..high: (breaks, n)."""
    a, b0, b1, g0, g1, g2 = p.conics
    n = p.conics.shape[2]
    # silhouettes: where the discriminant vanishes, or the surface itself where it runs along
    along = np.abs(a) < _PARALLEL
    s2, s1, s0 = b1 * b1 - a * g2, b0 * b1 - a * g1, b0 * b0 - a * g0
    if along.any():
        s2, s1, s0 = np.where(along, g2, s2), np.where(along, g1, s1), np.where(along, g0, s0)
    l0, l1 = p.bottoms[:, :, None]
    found = [
        *_roots(s2, s1, s0),
        *_roots(
            l1 * (a * l1 + 2.0 * b1) + g2,
            l1 * (a * l0 + b0) + b1 * l0 + g1,
            l0 * (a * l0 + 2.0 * b0) + g0,
        ),
    ]
    u, v = p.bottoms
    for i in range(1, len(u)):
        found.append((u[:i] - u[i]) / (v[i] - v[:i]))
    at = np.concatenate([x.reshape(-1, n) for x in found])
    return np.where((at > low) & (at < high), at, low)


def _chords(xi: Array, p: _Profile) -> tuple[Array, Array]:
    """Ends (lower, upper) of the part of each line inside all solids, upper < lower where none.

    ``xi`` and both results have shape (lines in a fan, n).
    """
    a, b0, b1, g0, g1, g2 = p.conics[:, :, None]
    half = b0 + b1 * xi
    rest = g0 + xi * (2.0 * g1 + g2 * xi)
    disc = half * half - a * rest
    along = np.abs(a) < _PARALLEL
    if along.any():
        a, half = np.where(along, 1.0, a), np.where(along, 0.0, half)
        disc = np.where(along, np.where(rest <= 0.0, FAR * FAR, -1.0), disc)
    root = np.sqrt(np.maximum(disc, 0.0))
    t1, t2 = (-half - root) / a, (root - half) / a
    if p.nappe is not None:
        growth, foot, lean = p.nappe[:, :, None]
        t1, t2 = _one_nappe(t1, t2, a, growth, foot + lean * xi)
    t1 = np.where(disc < 0.0, FAR, t1)
    l0, l1 = p.bottoms[:, :, None]
    bottom = l0 + l1 * xi
    # one by one: several times faster than numpy's reduction over a short first axis
    lower, higher = np.full_like(xi, -FAR), np.full_like(xi, FAR)
    for start, end in zip(t1, t2, strict=True):
        lower, higher = np.maximum(lower, start), np.minimum(higher, end)
    for i, end in enumerate(bottom):
        if p.upper is None:
            higher = np.minimum(higher, end)
        else:
            higher = np.minimum(higher, np.where(p.upper[i], end, FAR))
            lower = np.maximum(lower, np.where(p.upper[i], -FAR, end))
    return lower, higher


def _one_nappe(t1: Array, t2: Array, a: Array, growth: Array, foot: Array) -> tuple[Array, Array]:
    """Keep the nappe of a cone that is meant; a surface that is no cone has growth and foot 0."""
    cone = (growth != 0.0) | (foot != 0.0)
    # lines flatter than the cone cross one nappe twice: keep it if it is the right one
    wrong = foot + growth * 0.5 * (t1 + t2) < 0.0
    # steeper lines cross each nappe once, and stay inside the one that they run into
    steep = cone & (a < 0.0)
    onward = growth > 0.0
    low, high = np.minimum(t1, t2), np.maximum(t1, t2)
    return (
        np.where(steep, np.where(onward, high, -FAR), np.where(cone & wrong, FAR, t1)),
        np.where(steep, np.where(onward, FAR, low), t2),
    )


def _sums(f: _Fans, p: _Profile, edges: Array, gauss: tuple[Array, Array]) -> Array:
    """Integrals of 1, xi, t, xi^2, xi t and t^2 over every fan, (6, k, fans).

    ``edges`` (intervals + 1, k * fans) are the ends of the Gauss intervals.
    """
    nodes, weights = gauss
    widths = edges[1:] - edges[:-1]
    which, fan = np.nonzero(widths > 1e-10)
    start, width = edges[which, fan], widths[which, fan]
    xi = start + width * nodes[:, None]
    lower, upper = _chords(xi, p.pick(fan))
    length = np.maximum(upper - lower, 0.0)
    w = length * (width * weights[:, None])
    if f.polar:
        w *= xi
    mean = 0.5 * (lower + upper)
    wx, wt = w * xi, w * mean
    wtt = wt * mean + w * (length * length) * (1.0 / 12.0)
    sums = np.empty((6, f.low.size))
    for i, part in enumerate((w, wx, wt, wx * xi, wx * mean, wtt)):
        sums[i] = np.bincount(fan, weights=part.sum(axis=0), minlength=f.low.size)
    return sums.reshape(6, *f.low.shape) * f.weight


def _assemble(pose: Array, f: _Fans, sums: Array) -> Moments:
    """Moments about the origin from the sums of every fan, (6, k, fans).

    A point is foot + xi * heading + t * axis; foot and heading are turned into space.
    """
    k, fans = f.base.shape
    e1, e2, axis, origin = (pose[:, None, :3, i] for i in range(4))
    basis = np.empty((k, fans, 3, 3))
    basis[:, :, 0] = origin + f.base[..., None] * e2
    basis[:, :, 1] = f.heading[0][..., None] * e1 + f.heading[1][..., None] * e2
    basis[:, :, 2] = axis
    square = sums.take((0, 1, 2, 1, 3, 4, 2, 4, 5), axis=0).transpose(1, 2, 0)
    weighted = square.reshape(k, fans, 3, 3) @ basis
    second = basis.reshape(k, -1, 3).transpose(0, 2, 1) @ weighted.reshape(k, -1, 3)
    return Moments(sums[0].sum(axis=1), weighted[:, :, 0].sum(axis=1), second)


def _integrate(b: _Bundle, rule: Rule) -> Moments:
    """Moments of a bundle: by half-planes, or by strips where other bores cross the carriers."""
    if b.reach is None:
        fans = _polar(b.radius, rule.fans)
        return _assemble(b.pose, fans, _fan_sums(b, fans, _eased(rule.nodes)))
    gauss = _gauss(rule.strip_nodes)
    fans = _across(b.reach, b.radius, rule.strips)
    sums = _fan_sums(b, fans, gauss)
    ends = sums[0, :, 0] + sums[0, :, -1]
    if (ends[b.reach < b.radius] > 0.0).any():
        # more in common than was expected: look across the whole carrier
        fans = _across(b.radius, b.radius, 5 * rule.strips)
        sums = _fan_sums(b, fans, gauss)
    return _assemble(b.pose, fans, sums)


def _fan_sums(b: _Bundle, fans: _Fans, gauss: tuple[Array, Array]) -> Array:
    """The fans' sums with intervals that end wherever surfaces change their order."""
    p = _profile(b, fans)
    low, high = fans.low.reshape(1, -1), fans.high.reshape(1, -1)
    edges = np.concatenate([low, _breaks(p, low, high), high])
    edges.sort(axis=0)
    return _sums(fans, p, edges, gauss)


def _across(reach: Array, radius: Array, n: int) -> _Fans:
    """n strips along e1 within ``reach`` (k,) of the axis.

    They are equally spaced: what two holes have in common thins out like the square of the distance
    from its ends, so that this rule converges with the third power of the spacing without knowing
    where the ends are.
    """
    step = 2.0 * reach[:, None] / n
    across = (np.arange(n) + 0.5 - 0.5 * n) * step
    half = np.sqrt(np.maximum(radius[:, None] ** 2 - across * across, 0.0))
    one, zero = np.ones_like(across), np.zeros_like(across)
    return _Fans(across, (one, zero), -half, half, step * one, False)


def _plainly_inside(ball: Ellipsoid, bore: Bore) -> bool:
    """Whether the bore ends well inside this sphere about the origin and enters it plainly."""
    r = ball.semi_axes[0]
    if ball.semi_axes != (r, r, r) or ball.center != (0.0, 0.0, 0.0):
        return False
    foot = -_dot(bore.entry, bore.axis)
    offset = math.sqrt(max(_dot(bore.entry, bore.entry) - foot * foot, 0.0))
    # a little more than the bore: a surface that is crossed close by would slow the convergence
    wide = offset + 1.2 * bore.radius
    return wide < 0.8 * r and abs(bore.depth + bore.tip_height - foot) < math.sqrt(r * r - wide * wide)


def _smooth(pairs: Sequence[tuple[Ellipsoid, Bore]], rule: Rule) -> Moments:
    """Moments of bores that end plainly inside spheres about the origin.

    Half-planes through the bore's axis, symmetric to the plane that holds the ball's centre.
    """
    k, n = len(pairs), rule.smooth_fans
    pose = np.zeros((k, 4, 4))
    entry, axis = np.array([b.entry for _, b in pairs]), np.array([b.axis for _, b in pairs])
    size = np.array([(s.semi_axes[0], b.radius, b.depth + b.tip_height, b.tip_height) for s, b in pairs])
    ball, radius, end, tip = size.T[:, :, None, None]
    foot = -(entry * axis).sum(axis=1, keepdims=True)
    away = -(entry + foot * axis)  # from the axis to the ball's centre
    offset = np.sqrt((away * away).sum(axis=1, keepdims=True))
    e1 = np.where(offset > 1e-9, away / np.maximum(offset, 1e-300), 0.0)
    pose[:, :3, 0], pose[:, :3, 2], pose[:, :3, 3] = e1, axis, entry
    nodes, weights = _gauss(rule.smooth_nodes)
    turn = np.pi * (np.arange(n) + 0.5) / n
    cos, sin = np.cos(turn), np.sin(turn)
    rho = radius * nodes[:, None]  # (k, nodes, 1)
    offset, foot = offset[:, :, None], foot[:, :, None]
    chord = ball * ball - offset * offset + rho * (2.0 * offset * cos - rho)  # (k, nodes, fans)
    lower = foot - np.sqrt(chord)
    upper = end - tip * nodes[:, None]
    length = upper - lower
    mean = 0.5 * (lower + upper)
    w = length * ((2.0 * np.pi / n) * weights[:, None] * radius * rho)
    wx = w * rho
    c = np.stack([w, wx * cos, w * mean, wx * rho * (cos * cos), wx * rho * (sin * sin), wx * mean * cos])
    s0, sx, st, sxx, syy, sxt = c.sum(axis=(2, 3))
    stt = (w * (mean * mean + length * length * (1.0 / 12.0))).sum(axis=(1, 2))
    o, d = entry[:, :, None], axis[:, :, None]
    e = e1[:, :, None]
    first = s0[:, None] * entry + sx[:, None] * e1 + st[:, None] * axis
    # the radial directions across the axis share sxx + syy; what the bore has more along e1 is kept
    cross = (entry * s0[:, None] / 2.0 + sx[:, None] * e1 + st[:, None] * axis)[:, None, :] * o
    second = cross + cross.transpose(0, 2, 1)
    third = np.eye(3) - e * e.transpose(0, 2, 1) - d * d.transpose(0, 2, 1)
    straight = offset[:, :, 0] <= 1e-9
    # a bore through the centre has no e1: both directions across hold the same
    third = np.where(straight[:, :, None], (np.eye(3) - d * d.transpose(0, 2, 1)), third)
    second += sxx[:, None, None] * e * e.transpose(0, 2, 1) + syy[:, None, None] * third
    second += stt[:, None, None] * d * d.transpose(0, 2, 1)
    mixed = sxt[:, None, None] * e * d.transpose(0, 2, 1)
    return Moments(s0, first, second + mixed + mixed.transpose(0, 2, 1))


def moments(intersections: Sequence[Sequence[Solid]], rule: Rule = FAST) -> Moments:
    """Moments about the origin of each intersection of convex solids.

    Each intersection must be bounded: a bore, which is open outward, needs the ball beside it, or
    another bore that converges with it inward. Returns arrays of shape (n,), (n, 3), (n, 3, 3); an
    empty intersection gives zeros. Intersections of one kind are computed together.
    """
    n = len(intersections)
    result = Moments(np.zeros(n), np.zeros((n, 3)), np.zeros((n, 3, 3)))
    smooth: list[tuple[Ellipsoid, Bore]] = []
    at: list[int] = []
    rest: list[tuple[int, Sequence[Solid]]] = []
    for index, solids in enumerate(intersections):
        if len(solids) == 2:
            ball, bore = solids
            if isinstance(ball, Ellipsoid) and isinstance(bore, Bore) and _plainly_inside(ball, bore):
                smooth.append((ball, bore))
                at.append(index)
                continue
        rest.append((index, solids))
    if smooth:
        _put(result, at, _smooth(smooth, rule))
    if rest:
        unique = {id(s): s for _, solids in rest for s in solids}
        surfaces = _surfaces(list(unique.values()))
        batches: dict[tuple[int, int, bool], list[_Group]] = {}
        for index, solids in rest:
            g = _group(index, solids, surfaces.of)
            key = (len(g.quadrics), len(g.planes), g.crossing is not None)
            batches.setdefault(key, []).append(g)
        with np.errstate(all="ignore"):
            for groups in batches.values():
                found = _integrate(_bundle(groups, surfaces), rule)
                _put(result, [g.index for g in groups], found)
    return result


def _put(result: Moments, at: list[int], found: Moments) -> None:
    for whole, part in zip(result, found, strict=True):
        whole[at] = part


def _group(
    index: int, solids: Sequence[Solid], of: dict[int, tuple[tuple[int, ...], tuple[int, ...]]]
) -> _Group:
    """Choose the carrier, a bore if there is one, flat and thin ones first; gather the surfaces.

    The surfaces that the carrier's lines keep by themselves are left out: a bore's wall, and what
    it ends with where that is straight in the fans.
    """
    bores = [s for s in solids if isinstance(s, Bore)]
    chosen: Solid = min(bores, key=lambda s: (s.tip_height > 0.0, s.radius)) if bores else solids[0]
    quadrics, planes = of[id(chosen)]
    if isinstance(chosen, Cone):
        quadrics = ()
    elif isinstance(chosen, Bore):
        quadrics, planes = quadrics[1:] if len(bores) > 1 else (), ()
    crossing = None
    for s in solids:
        if s is not chosen:
            q, p = of[id(s)]
            quadrics, planes = quadrics + q, planes + p
            if isinstance(s, Bore):
                crossing = s
    return _Group(index, chosen, quadrics, planes, crossing)
