"""Convex solids and what they hold: volume, first and second moment of their intersections.

A solid is bounded by quadric surfaces and planes. Intersections are integrated by chords: straight
lines parallel to the axis of one of the solids, the carrier, are laid over its round cross-section,
and along each line the part inside all solids is one interval, as they are convex, and is integrated
exactly.

The lines stand in fans, flat sections that hold the direction of the axis: half-planes through the
axis, or parallel strips where two holes run into each other. In a fan every surface is a conic or a
straight line, so the places where their order changes are roots of quadratics; they become the ends
of the Gauss intervals, which keeps the accuracy where a surface is grazed or a bottom cuts it.

Units: inches; volume in3, first moment in4, second moment in5, about the origin.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.bores import Bore
from layoutkit.geometry.roots import regula_falsi, regula_falsi_many
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    along,
    cross,
    dot,
    frame,
    minus,
    scaled,
    segments,
    square_to,
)

FAR = 1e3  # inches; beyond any ball, stands for "unbounded"


class Ellipsoid(NamedTuple):
    """Semi-axes along the rows of ``axes``, an orthonormal right-handed triple."""

    center: Vector
    semi_axes: Vector
    axes: tuple[Vector, Vector, Vector] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def sphere(center: Vector, radius: float) -> Ellipsoid:
    """A sphere is an ellipsoid with three equal semi-axes."""
    return Ellipsoid(center, (radius, radius, radius))


class Cone(NamedTuple):
    """A cone from ``apex`` opening along ``axis``, closed by a flat base at ``height``."""

    apex: Vector
    axis: Vector
    half_angle: float
    height: float


Solid = Ellipsoid | Bore | Cone


class Moments(NamedTuple):
    """Volumes (n,), first moments (n, 3) and second moments (n, 3, 3) about the origin."""

    volume: Array
    first: Array
    second: Array


# --- surfaces -------------------------------------------------------------------------------------

# A quadric x'Ax + 2 b'x + c <= 0 is kept as its symmetric 4 x 4 homogeneous matrix, a plane as the
# row (normal, -offset). A cone adds its nappe: the plane through its apex that the inside is above.
Row = tuple[float, float, float, float]
Matrix = tuple[Row, Row, Row, Row]
ZERO: Row = (0.0, 0.0, 0.0, 0.0)


class _Quadric(NamedTuple):
    """A quadric and its nappe, which is ZERO unless it is a cone."""

    matrix: Matrix
    nappe: Row = ZERO


EVERYWHERE = _Quadric((ZERO, ZERO, ZERO, (0.0, 0.0, 0.0, -1.0)))


class _Surfaces(NamedTuple):
    """What bounds a solid; ``rims`` are planes in which two of its quadrics meet each other."""

    quadrics: tuple[_Quadric, ...]
    planes: tuple[Row, ...]
    rims: tuple[Row, ...]


def _quadric(p: Vector, u: Vector, v: Vector, w: Vector, signs: Vector, level: float) -> Matrix:
    """Matrix of the sum of signs times ((x - p) . u)^2, ... <= level."""
    su, sv, sw = scaled(u, signs[0]), scaled(v, signs[1]), scaled(w, signs[2])
    rows = [
        (
            su[i] * u[0] + sv[i] * v[0] + sw[i] * w[0],
            su[i] * u[1] + sv[i] * v[1] + sw[i] * w[1],
            su[i] * u[2] + sv[i] * v[2] + sw[i] * w[2],
        )
        for i in range(3)
    ]
    b = (-dot(rows[0], p), -dot(rows[1], p), -dot(rows[2], p))
    c = -dot(b, p) - level
    return (*rows[0], b[0]), (*rows[1], b[1]), (*rows[2], b[2]), (*b, c)


def _plane(normal: Vector, through: Vector) -> Row:
    return (*normal, -dot(normal, through))


def _conical(apex: Vector, axis: Vector, half_angle: float) -> _Quadric:
    """A cone opening along the axis: cos^2 (what lies across) <= sin^2 (what lies along)."""
    turn = math.radians(half_angle)
    signs = (math.cos(turn) ** 2, math.cos(turn) ** 2, -(math.sin(turn) ** 2))
    return _Quadric(_quadric(apex, *frame(axis), axis, signs, 0.0), _plane(axis, apex))


def _surfaces(s: Solid) -> _Surfaces:
    if isinstance(s, Ellipsoid):
        u, v, w = (scaled(axis, 1.0 / a) for axis, a in zip(s.axes, s.semi_axes, strict=True))
        return _Surfaces((_Quadric(_quadric(s.center, u, v, w, (1.0, 1.0, 1.0), 1.0)),), (), ())
    if isinstance(s, Cone):
        base = _plane(s.axis, along(s.apex, s.axis, s.height))
        return _Surfaces((_conical(s.apex, s.axis, s.half_angle),), (base,), ())
    wall, bottom = _Quadric(_wall(s)), _plane(s.axis, along(s.entry, s.axis, s.depth))
    if s.tip_angle is None or s.tip_height == 0.0:
        return _Surfaces((wall,), (bottom,), ())
    apex = along(s.entry, s.axis, s.depth + s.tip_height)
    point = _conical(apex, scaled(s.axis, -1.0), s.tip_angle / 2.0)
    return _Surfaces((wall, point), (), (bottom,))


def _wall(s: Bore) -> Matrix:
    """What lies across the axis, squared, <= radius squared."""
    x, y, z = s.axis
    b = scaled(square_to(s.entry, s.axis), -1.0)
    c = dot(b, b) - s.radius * s.radius
    return (
        (1.0 - x * x, -x * y, -x * z, b[0]),
        (-x * y, 1.0 - y * y, -y * z, b[1]),
        (-x * z, -y * z, 1.0 - z * z, b[2]),
        (b[0], b[1], b[2], c),
    )


class _Item(NamedTuple):
    """One intersection: its bundle of lines and the surfaces that cut them.

    The lines run from ``origin`` along ``axis``, out to ``radius``; ``e1`` and ``e2`` lie across.
    Seen in a half-plane through its axis the carrier ends at each (end, slope): t = end + slope *
    rho. Where another bore crosses, the fans are strips from ``low`` to ``high`` along e2; else both
    are 0 and the fans are half-planes. ``cored`` tells that an ellipsoid takes part, ``tolerance``
    is the error in volume that is let pass, ``exact`` that nothing lies beyond the strips. Of a lens
    ``beside`` are the distance of the other bore's axis along e1 and its radius.
    """

    origin: Vector
    axis: Vector
    e1: Vector
    e2: Vector
    radius: float
    ends: tuple[tuple[float, float], ...]
    low: float
    high: float
    cored: bool
    tolerance: float
    quadrics: tuple[_Quadric, ...]
    planes: tuple[Row, ...]
    rims: tuple[Row, ...]
    exact: bool = False
    beside: tuple[float, float] | None = None


# The error that is accepted, as a share of the carrier's volume: without a core and with one. The
# place of a core is known far less well.
_CLOSE, _CORED = 3e-8, 2e-5
_LEAST = 0.3  # in3; a vent counts as this large: it need not be more exact than a finger hole
_THIN = 0.13  # inches; the radius of a vent or of what is as thin
# twice as many strips make a lens so much more exact that the difference of its two halves overstates
# the error of the whole
_LENS = 20.0


def _item(solids: Sequence[Solid], known: dict[int, _Surfaces]) -> _Item:
    """Choose the carrier and gather the surfaces that cut its lines.

    The carrier is a bore if there is one: rather a flat one than one with a drill point, then the
    thinnest. Other bores on its line only shorten or thin its bundle of lines. Surfaces that the lines
    cannot cross are left out: the carrier's wall, and those of its ends that are straight in the fans.
    """
    bores = [s for s in solids if isinstance(s, Bore)]
    if not bores:
        return _whole_item(solids, known)
    chosen = bores[0]
    if len(bores) > 1:
        chosen = min(bores, key=lambda s: (s.tip_height > 0.0, s.radius))
    entry, axis = chosen.entry, chosen.axis
    own = [b for b in bores if b.entry == entry and b.axis == axis]
    others = [b for b in bores if b.entry != entry or b.axis != axis]
    radius = min(b.radius for b in own)
    depth = min(b.depth for b in own)
    rest = [s for s in solids if not isinstance(s, Bore)]
    crossing = [b for b in others if b.axis != axis or b.tip_height]
    quadrics, planes, rims = _gathered((*rest, *crossing), known)
    flat, ends = math.inf, []
    for b in others:
        if b not in crossing:  # its bottom is straight too, and is often the same one
            quadrics += _gathered((b,), known).quadrics
            flat = min(flat, b.depth + dot(minus(b.entry, entry), axis))
    for b in own:
        h = b.tip_height
        if h == 0.0:
            flat = min(flat, b.depth)
        elif not others:
            ends.append((b.depth + h, -h / b.radius))
        else:
            # a drill point is straight in half-planes through its axis, but not in strips
            point = _gathered((b,), known)
            quadrics, rims = quadrics + point.quadrics[1:], rims + point.rims
    if flat < math.inf:
        ends.append((flat, 0.0))
    cored = any(isinstance(s, Ellipsoid) and s.semi_axes[0] != s.semi_axes[1] for s in rest)
    low = high = 0.0
    exact, beside = False, None
    e1, e2 = frame(axis)
    if others:
        thin, whole = min(others, key=lambda b: b.radius), Bore(entry, axis, radius, depth)
        # toward the other bore where the two axes are nearest to each other
        gap, here, there = segments(entry, axis, depth, thin.entry, thin.axis, thin.depth)
        if gap < 1e-6:
            here, there = depth, thin.depth
        toward = minus(along(thin.entry, thin.axis, there), along(entry, axis, here))
        across = square_to(toward, axis)
        size = math.hypot(*across)
        if size > 1e-9:
            e1 = scaled(across, 1.0 / size)
            e2 = cross(axis, e1)
        exact = thin.axis == axis
        if exact and size > 1e-9 and len(others) == 1:
            beside = size, thin.radius
        low, high = -radius, radius
        if exact or radius > _THIN:
            low, high = _span(whole, thin, gap, e1, e2)
    held = max(math.pi * radius * radius * max(depth, 0.1), _LEAST)
    tolerance = (_CORED if cored else _CLOSE) * held
    if exact and len(others) == 1 and not cored:
        tolerance *= _LENS
    return _Item(
        chosen.entry, axis, e1, e2, radius, tuple(ends) or ((FAR, 0.0),), low, high,
        cored, tolerance, quadrics, planes, rims, exact, beside,
    )  # fmt: skip


def _whole_item(solids: Sequence[Solid], known: dict[int, _Surfaces]) -> _Item:
    """An intersection without bores: half-planes through the axis of its smallest solid."""
    sizes = {
        id(s): s.height if isinstance(s, Cone) else max(s.semi_axes)
        for s in solids
        if not isinstance(s, Bore)
    }
    chosen = min(solids, key=lambda s: sizes[id(s)])
    if isinstance(chosen, Cone):
        slope = -1.0 / math.tan(math.radians(chosen.half_angle))
        origin, axis, radius = chosen.apex, scaled(chosen.axis, -1.0), -chosen.height / slope
        end = (0.0, slope)
    else:
        assert isinstance(chosen, Ellipsoid)
        origin, axis, radius = chosen.center, chosen.axes[0], max(chosen.semi_axes[1:])
        end = (FAR, 0.0)
    quadrics, planes, rims = _gathered(solids, known)
    if isinstance(chosen, Cone):  # its side is what its lines end with
        side = _gathered((chosen,), known).quadrics
        quadrics = tuple(q for q in quadrics if q not in side)
    e1, e2 = frame(axis)
    tolerance = _CLOSE * radius**3
    return _Item(
        origin,
        axis,
        e1,
        e2,
        radius,
        (end,),
        0.0,
        0.0,
        False,
        tolerance,
        quadrics,
        planes,
        rims,
    )


def _gathered(solids: Sequence[Solid], known: dict[int, _Surfaces]) -> _Surfaces:
    """The surfaces of all these solids; those of each are made once and kept in ``known``."""
    quadrics: tuple[_Quadric, ...] = ()
    planes: tuple[Row, ...] = ()
    rims: tuple[Row, ...] = ()
    for s in solids:
        if id(s) not in known:
            known[id(s)] = _surfaces(s)
        more = known[id(s)]
        quadrics, planes, rims = quadrics + more.quadrics, planes + more.planes, rims + more.rims
    return _Surfaces(quadrics, planes, rims)


def _span(a: Bore, b: Bore, gap: float, e1: Vector, e2: Vector) -> tuple[float, float]:
    """How far across ``a``, along e2, its common part with ``b`` is expected to go.

    To the points where a's wall, b's wall and the higher of the two bottoms meet; where there are
    none, to half the common chord of two circles at ``gap``, the least distance of the axes, and a
    margin.
    """
    x = (gap * gap + a.radius * a.radius - b.radius * b.radius) / (2.0 * max(gap, 1e-9))
    half = a.radius if x <= 0.0 else math.sqrt(max(a.radius * a.radius - x * x, 0.0))
    wide = min(1.15 * half + 0.03 * a.radius, a.radius)
    rise = dot(a.axis, b.axis)
    if a.axis == b.axis:  # parallel bores share a lens all the way down
        return -half, half
    if b.tip_height or rise < 0.1:
        return -wide, wide
    w = minus(along(a.entry, a.axis, a.depth), b.entry)
    sink = (dot(w, b.axis) - b.depth) / rise  # how far a's bottom lies below b's, at the axis
    # a point of the edge of the common bottom is w + c e1 + s e2 - up axis, seen from b's entry;
    # what is needed of it comes from these
    square, limit = dot(w, w) + a.radius * a.radius, b.radius * b.radius
    w1, w2, wa, wb = dot(w, e1), dot(w, e2), dot(w, a.axis), dot(w, b.axis)
    lean1, lean2 = dot(e1, b.axis), dot(e2, b.axis)

    def beyond(turn: float) -> float:
        """How far outside b the edge of the common bottom is, as squares over its wall."""
        c, s = a.radius * math.cos(turn), a.radius * math.sin(turn)
        across = c * lean1 + s * lean2
        up = max(sink + across / rise, 0.0)
        t = wb + across - up * rise
        far = square + up * up + 2.0 * (c * w1 + s * w2 - up * wa)
        return float(far - t * t - limit)

    here = beyond(0.0)
    if here >= 0.0:
        return -wide, wide
    ends = []
    for side in (-1.0, 1.0):
        near, far = 0.0, side * (math.asin(min(half / a.radius, 1.0)) + 0.05)
        fn, ff = here, beyond(far)
        while ff < 0.0 and abs(far) < math.pi:
            near, fn = far, ff
            far += 0.3 * side
            ff = beyond(far)
        if ff < 0.0:
            return -a.radius, a.radius
        # in squared inches: the ends need not be known better
        far = regula_falsi(beyond, near, fn, far, ff, 1e-4, 12)
        ends.append(a.radius * side if abs(far) > math.pi / 2.0 else a.radius * math.sin(far))
    return ends[0], ends[1]


# --- quadrature -----------------------------------------------------------------------------------


class Rule(NamedTuple):
    """Numbers of fans and of nodes in each of their intervals.

    The fans are the first try: what does not settle is integrated again with more.
    """

    fans: int
    nodes: int


FAST = Rule(16, 12)
FINE = Rule(256, 16)
MOST_FANS = 1024
BATCH = 128  # intersections that are integrated at a time


@lru_cache(maxsize=16)
def gauss(n: int) -> tuple[Array, Array]:
    """Gauss-Legendre nodes and weights on [0, 1]."""
    x, w = np.polynomial.legendre.leggauss(n)
    return 0.5 * (x + 1.0), 0.5 * w


@lru_cache(maxsize=16)
def eased(n: int) -> tuple[Array, Array]:
    """Gauss nodes moved by 3x^2 - 2x^3, which makes square-root ends of an integrand smooth."""
    x, w = gauss(n)
    return x * x * (3.0 - 2.0 * x), w * 6.0 * x * (1.0 - x)


@lru_cache(maxsize=16)
def turns(n: int) -> tuple[Array, Array]:
    """Cosines and sines of n equal parts of a turn, none of them the mirror image of another.

    In a symmetric solid two halves that mirror each other would agree even if both were wrong.
    """
    part = 2.0 * math.pi * (np.arange(n) + 0.25) / n
    return np.cos(part), np.sin(part)


@lru_cache(maxsize=16)
def strips(n: int) -> tuple[Array, Array]:
    """Rising places and weights of n strips from -1 to 1: nodes of Chebyshev, shifted a little.

    The shift to x + (1 - x^2) / 10 makes them asymmetric, for the reason that `turns` states. It
    leaves the ends, and the convergence there, as they are.
    """
    part = math.pi * (np.arange(n) + 0.5) / n
    x = -np.cos(part)
    return x + 0.1 * (1.0 - x * x), np.sin(part) * (1.0 - 0.2 * x) * (math.pi / n)


@lru_cache(maxsize=16)
def lens_strips(n: int) -> tuple[Array, Array]:
    """`strips` for an integrand that falls to 0 in the same way at both ends.

    Equal steps are moved by 10x^3 - 15x^4 + 6x^5, then shifted as in `strips`.
    """
    x = (np.arange(n) + 0.5) / n
    at = 2.0 * x**3 * (10.0 - 15.0 * x + 6.0 * x * x) - 1.0
    return at + 0.1 * (1.0 - at * at), 60.0 * (x * (1.0 - x)) ** 2 * (1.0 - 0.2 * at) / n


class _Fans(NamedTuple):
    """n flat sections, the same number for each item: lines along the axis at foot + xi * heading.

    The foot is ``place`` along e2 from the carrier's origin, the heading ``cos`` along e1 and
    ``sin`` along e2; ``low`` and ``high`` are the ends of xi. ``frames`` (k, 4, 4): axis, origin, e1
    and e2 of the items as homogeneous rows. ``polar`` (n,): these carry the weight xi of polar
    coordinates beside ``weight``. The long index is the last one: numpy is quickest so.
    """

    frames: Array
    place: Array
    cos: Array
    sin: Array
    low: Array
    high: Array
    weight: Array
    polar: NDArray[np.bool_]


class _Profile(NamedTuple):
    """The surfaces as seen in n fans.

    ``conics`` (6, m, n): a, b0, b1, g0, g1, g2 of a t^2 + 2 (b0 + b1 xi) t + g0 + 2 g1 xi + g2 xi^2
    <= 0. ``bottoms`` (2, p, n): l0, l1 of straight lines t = l0 + l1 xi. The first ``cutting`` of
    them bound the solids; at the others two conics meet. ``upper`` (cutting, n) is True where such a
    line is an upper end and False where it is a start; None where all are ends. ``nappe`` (3, m, n):
    growth with t, value at the foot and growth with xi; None without cones. ``mixed`` (n,): where two
    conics may meet each other; None if nowhere. ``rounds``: how many steps the search for such a
    place takes.
    """

    conics: Array
    bottoms: Array
    cutting: int
    mixed: NDArray[np.bool_] | None
    rounds: int
    upper: NDArray[np.bool_] | None
    nappe: Array | None

    def pick(self, at: NDArray[np.intp]) -> _Profile:
        """The profiles of the fans at these indices."""
        return _Profile(
            self.conics.take(at, axis=2),
            self.bottoms.take(at, axis=2),
            self.cutting,
            None if self.mixed is None else self.mixed.take(at),
            self.rounds,
            None if self.upper is None else self.upper.take(at, axis=1),
            None if self.nappe is None else self.nappe.take(at, axis=2),
        )


def _frames(items: Sequence[_Item]) -> Array:
    """The items' frames (k, 4, 4): axis, origin, e1 and e2 as homogeneous rows."""
    rows = [(*i.axis, 0.0, *i.origin, 1.0, *i.e1, 0.0, *i.e2, 0.0) for i in items]
    return np.array(rows).reshape(len(items), 4, 4)


def _fans(items: Sequence[_Item], count: int) -> _Fans:
    """``count`` fans for each item: equal angles, or strips at the nodes of Chebyshev.

    Both converge exponentially where the integrand is smooth between the ends of the strips.
    """
    k = len(items)
    sizes = np.array([(i.radius, i.low, i.high) for i in items])
    radius, low, high = sizes.T.repeat(count, axis=1)
    cos, sin, across, weights = (np.tile(v, k) for v in (*turns(count), *strips(count)))
    polar = low == high
    reach = 0.5 * (high - low)
    place = low + reach * (1.0 + across)
    bent = np.repeat([i.exact for i in items], count)
    if bent.any():
        # a lens is nearly as wide as its bore, whose wall is too steep there: even angles are smooth
        angle = np.arcsin(np.minimum(reach / radius, 1.0))
        turn, share = (np.tile(v, k) for v in lens_strips(count))
        place = np.where(bent, radius * np.sin(angle * turn), place)
        spread = radius * angle * np.cos(angle * turn) / np.maximum(reach, 1e-300)
        weights = np.where(bent, spread * share, weights)
    half = np.sqrt(np.maximum(radius * radius - place * place, 0.0))
    weight = np.where(polar, 2.0 * math.pi / count, reach * weights)
    return _Fans(
        _frames(items),
        place,
        np.where(polar, cos, 1.0),
        np.where(polar, sin, 0.0),
        np.where(polar, 0.0, -half),
        half,
        weight,
        polar,
    )


class _Local(NamedTuple):
    """The surfaces of k items in the items' own frames: along the axis, at the origin, along e1 and e2.

    ``quadrics`` (4, 4, m, k) are matrices of those four, ``nappes`` (4, m, k) the rows of cones and
    ``planes`` (4, p, k) those of planes and rims, each None where there are none; ``cuts`` of them are
    planes. ``ends`` (own, 2, k) as in `_Item`; ``mixed`` (k,) and ``rounds`` as in `_Profile`.
    """

    quadrics: Array
    nappes: Array | None
    planes: Array | None
    cuts: int
    ends: Array
    mixed: NDArray[np.bool_]
    rounds: int


def _local(items: Sequence[_Item], frames: Array) -> _Local:
    """What bounds the items; those with fewer surfaces get some that change nothing."""
    m = max(1, *(len(i.quadrics) for i in items))
    quadrics = [
        (*i.quadrics, *(i.quadrics[:1] or (EVERYWHERE,)) * (m - len(i.quadrics))) for i in items
    ]
    turned = frames.transpose(0, 2, 1)
    matrices = np.array([[q.matrix for q in row] for row in quadrics]).reshape(-1, m, 4, 4)
    local = frames[:, None] @ matrices @ turned[:, None]
    cuts, rims = max(len(i.planes) for i in items), max(len(i.rims) for i in items)
    planes = None
    if cuts + rims:
        rows = []
        for i in items:
            far = (_plane(i.axis, along(i.origin, i.axis, FAR)),)
            more = (far * (cuts - len(i.planes)), far * (rims - len(i.rims)))
            rows.append((*i.planes, *more[0], *i.rims, *more[1]))
        planes = (np.array(rows) @ turned).transpose(2, 1, 0)
    nappes = None
    if any(q.nappe is not ZERO for row in quadrics for q in row):
        apart = np.array([[q.nappe for q in row] for row in quadrics])
        nappes = (apart @ turned).transpose(2, 1, 0)
    own = max(len(i.ends) for i in items)
    ends = np.array([(*i.ends, *i.ends[:1] * (own - len(i.ends))) for i in items])
    # the place of a core is too uncertain for a longer search to be worth its time
    rounds = max((1 if i.cored else 6 for i in items if len(i.quadrics) > 1), default=0)
    mixed = np.array([len(i.quadrics) > 1 for i in items])
    return _Local(
        local.transpose(2, 3, 1, 0), nappes, planes, cuts, ends.transpose(1, 2, 0), mixed, rounds
    )


def _profile(v: _Local, of: NDArray[np.intp], place: Array, cos: Array, sin: Array) -> _Profile:
    """How n fans see the surfaces: ``of`` (n,) is the item of each, the rest as in `_Fans`."""
    y, c, s = place, cos, sin
    conics = np.empty((6, v.quadrics.shape[2], len(of)))
    q = v.quadrics.take(of, axis=3)
    (zz, zo, z1, z2), (_, oo, o1, o2), (_, _, q11, q12), (_, _, _, q22) = q
    conics[0] = zz
    conics[1] = zo + y * z2
    conics[2] = c * z1 + s * z2
    conics[3] = oo + y * (2.0 * o2 + y * q22)
    across = c * q12 + s * q22
    conics[4] = c * o1 + s * o2 + y * across
    conics[5] = c * (c * q11 + s * q12) + s * across

    def heights(rows: Array) -> tuple[Array, Array, Array]:
        """Growth along the axis, value at the foot and growth with xi: (rows, n) each."""
        z, o, e1, e2 = rows.take(of, axis=2)
        return z, o + y * e2, c * e1 + s * e2

    own, cuts = len(v.ends), v.cuts
    bottoms = np.empty((2, own + (0 if v.planes is None else v.planes.shape[1]), len(of)))
    bottoms[:, :own] = v.ends.take(of, axis=2).transpose(1, 0, 2)
    upper = None
    if v.planes is not None:
        rise, foot, lean = heights(v.planes)
        # a plane that runs along the lines is met only far away: its steepness is kept finite
        rise = np.where(np.abs(rise) < 1e-9, 1e-9, rise)
        bottoms[0, own:], bottoms[1, own:] = -foot / rise, -lean / rise
        if (rise[:cuts] < 0.0).any():
            upper = np.ones((own + cuts, len(of)), dtype=bool)
            upper[own:] = rise[:cuts] > 0.0
    nappe = None if v.nappes is None else np.array(heights(v.nappes))
    mixed = v.mixed.take(of) if v.mixed.any() else None
    return _Profile(conics, bottoms, own + cuts, mixed, v.rounds, upper, nappe)


_PARALLEL = 1e-12  # a surface whose t^2 term is smaller runs along the lines


def _breaks(p: _Profile, low: Array, high: Array) -> Array:
    """Places in each fan where surfaces may change order, clipped to low..high: (breaks, n)."""
    a, b0, b1, g0, g1, g2 = p.conics
    u, v = p.bottoms
    m, n, lines = len(a), p.conics.shape[2], len(u)
    # coefficients of q2 xi^2 + 2 q1 xi + q0 = 0: first silhouettes, where the discriminant vanishes
    q = np.empty((3, 1 + lines, m, n))
    q[0, 0], q[1, 0], q[2, 0] = b1 * b1 - a * g2, b0 * b1 - a * g1, b0 * b0 - a * g0
    beside = np.abs(a) < _PARALLEL
    if beside.any():  # a surface that runs along the lines is its own silhouette
        for i, g in enumerate((g2, g1, g0)):
            q[i, 0] = np.where(beside, g, q[i, 0])
    # then the conics with each straight line
    l0, l1 = u[:, None], v[:, None]
    tilt = a * l1 + b1
    q[0, 1:] = l1 * (tilt + b1) + g2
    q[1, 1:] = l0 * tilt + b0 * l1 + g1
    q[2, 1:] = l0 * (a * l0 + 2.0 * b0) + g0
    w = -(q[1] + np.copysign(np.sqrt(q[1] * q[1] - q[0] * q[2]), q[1]))  # the stable form
    crossings = [(u[:i] - u[i]) / (v[i] - v[:i]) for i in range(1, lines)]
    if p.nappe is not None:  # near a cone's apex the surface turns sharply in a section
        crossings.append(-q[1, 0] / q[0, 0])
    at = np.concatenate([(w / q[0]).reshape(-1, n), (q[2] / w).reshape(-1, n), *crossings])
    return np.where((at > low) & (at < high), at, low)


def _crossings(xi: Array, p: _Profile) -> tuple[Array, Array, Array]:
    """Where lines enter and leave each quadric (m, lines in a fan, n), and meet each bottom.

    ``xi`` has shape (lines in a fan, n). A quadric that is missed is entered at FAR.
    """
    a, b0, b1, g0, g1, g2 = p.conics[:, :, None]
    # in place where it can be: these are the largest arrays of all
    half = b1 * xi
    half += b0
    rest = g2 * xi
    rest += 2.0 * g1
    rest *= xi
    rest += g0
    disc = half * half
    along = np.abs(a) < _PARALLEL
    if along.any():
        disc -= a * rest
        a, half = np.where(along, 1.0, a), np.where(along, 0.0, half)
        disc = np.where(along, np.where(rest <= 0.0, FAR * FAR, -1.0), disc)
    else:
        rest *= a
        disc -= rest
    missed = disc < 0.0
    np.maximum(disc, 0.0, out=disc)
    root = np.sqrt(disc, out=disc)
    t2 = root - half
    t2 /= a
    half += root
    t1 = half / -a
    if p.nappe is not None:
        growth, foot, lean = p.nappe[:, :, None]
        t1, t2 = _one_nappe(t1, t2, a, growth, foot + lean * xi)
    np.copyto(t1, FAR, where=missed)
    l0, l1 = p.bottoms[:, : p.cutting, None]
    return t1, t2, l0 + l1 * xi


def _chords(xi: Array, p: _Profile) -> tuple[Array, Array]:
    """Ends (lower, upper) of the part of each line inside all solids, upper < lower where none.

    ``xi`` and both results have shape (lines in a fan, n).
    """
    t1, t2, bottom = _crossings(xi, p)
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
    """Keep the nappe of each cone that bounds its solid; growth and foot are 0 of other surfaces."""
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


def _intervals(f: _Fans, p: _Profile) -> tuple[NDArray[np.intp], Array, Array]:
    """The Gauss intervals: fan, start and width of each, in the order of the fans.

    They end wherever surfaces change their order. Where a conic meets a straight line is known
    beforehand; where two conics meet is looked for in between.
    """
    edges = np.concatenate([f.low[None], _breaks(p, f.low, f.high), f.high[None]])
    edges.sort(axis=0)
    widths = edges[1:] - edges[:-1]
    fan, which = np.nonzero(widths.T > _NARROW)
    start, width = edges[which, fan], widths[which, fan]
    if p.mixed is None:
        return fan, start, width
    mixed = np.flatnonzero(p.mixed[fan])
    part, at = _conics_meet(start[mixed] + width[mixed] * _LOOKS[:, None], p.pick(fan[mixed]))
    if not len(at):
        return fan, start, width
    fan, start = np.concatenate([fan, fan[mixed[part]]]), np.concatenate([start, at])
    rank = np.lexsort((start, fan))
    fan, start = fan[rank], start[rank]
    last = np.append(fan[1:] != fan[:-1], True)
    end = np.where(last, f.high[fan], np.append(start[1:], 0.0))
    return fan, start, end - start


def _conics_meet(xi: Array, p: _Profile) -> tuple[NDArray[np.intp], Array]:
    """Where neighbouring lines begin to enter or leave by other surfaces, or to miss the solids.

    Returns the interval and the xi of each such place. ``xi`` (looks, n): lines of each interval in
    order.
    """

    def crossings(at: NDArray[np.intp] | None) -> _Crossings:
        own = p if at is None else p.pick(at)
        return lambda xi: _all_crossings(xi, own)

    return _order_changes(xi, crossings, p.rounds)


# from places (looks, n) of lines to where each enters and leaves every surface, (surfaces, looks, n)
_Crossings = Callable[[Array], tuple[Array, Array]]


def _order_changes(
    places: Array, crossings: Callable[[NDArray[np.intp] | None], _Crossings], rounds: int
) -> tuple[NDArray[np.intp], Array]:
    """In which of n rows of lines, and where, the surfaces change that a line enters or leaves by.

    ``places`` (looks, n) are in order; ``crossings`` gives those of some rows, or of all. Between two
    lines that differ, regula falsi on the heights of those surfaces finds the place.
    """
    enter, leave = crossings(None)(places)
    first, last = enter.argmax(axis=0), leave.argmin(axis=0)
    inside = leave.min(axis=0) > enter.max(axis=0)
    other = (first[1:] != first[:-1]) | (last[1:] != last[:-1])
    look, at = np.nonzero((inside[1:] != inside[:-1]) | (other & inside[1:] & inside[:-1]))
    if not len(at):
        return at, np.empty(0)
    begins = inside[look, at] != inside[look + 1, at]
    i, j = first[look, at], first[look + 1, at]
    k, m = last[look, at], last[look + 1, at]
    every = np.arange(len(at))

    def change(enter: Array, leave: Array) -> Array:
        between = np.where(
            i != j, enter[i, every] - enter[j, every], leave[m, every] - leave[k, every]
        )
        return np.asarray(np.where(begins, leave.min(axis=0) - enter.max(axis=0), between))

    left, right = places[look, at], places[look + 1, at]
    there = change(enter[:, look, at], leave[:, look, at])
    here = change(enter[:, look + 1, at], leave[:, look + 1, at])
    some = crossings(at)

    def change_at(place: Array) -> Array:
        enter, leave = some(place[None])
        return change(enter[:, 0], leave[:, 0])

    return at, regula_falsi_many(change_at, left, there, right, here, rounds)


def _all_crossings(xi: Array, p: _Profile) -> tuple[Array, Array]:
    """Heights at which lines enter and leave by every surface; (surfaces, lines in a fan, n)."""
    t1, t2, bottom = _crossings(xi, p)
    upper = True if p.upper is None else p.upper[:, None]
    return (
        np.concatenate([t1, np.where(upper, -FAR, bottom)]),
        np.concatenate([t2, np.where(upper, bottom, FAR)]),
    )


_NARROW = 1e-10  # inches; intervals that are not wider hold nothing
_LOOKS = np.array([1e-6, 0.2, 0.4, 0.6, 0.8, 1.0 - 1e-6])  # where in an interval lines are compared


def _sums(f: _Fans, p: _Profile, rule: Rule) -> Array:
    """Integrals of 1, xi, t, xi^2, xi t and t^2 over every fan, (6, n)."""
    fan, start, width = _intervals(f, p)
    nodes, weights = eased(rule.nodes)
    xi = start + width * nodes[:, None]
    lower, upper = _chords(xi, p.pick(fan))
    length = np.maximum(upper - lower, 0.0)
    w = length * (width * f.weight[fan] * weights[:, None])
    polar = f.polar[fan]
    if polar.any():
        w *= np.where(polar, xi, 1.0)
    mean = 0.5 * (lower + upper)
    wx, wt = w * xi, w * mean
    wtt = wt * mean + w * (length * length) * (1.0 / 12.0)
    held = np.array([part.sum(axis=0) for part in (w, wx, wt, wx * xi, wx * mean, wtt)])
    # the intervals stand in the order of their fans, and every fan has at least one
    return np.add.reduceat(held, fan.searchsorted(np.arange(len(f.low))), axis=1)


def _assemble(f: _Fans, sums: Array) -> Moments:
    """Moments about the origin of each item from the sums (6, n) of its fans."""
    k = len(f.frames)
    axis, origin, e1, e2 = f.frames[:, :, :3].transpose(1, 2, 0).repeat(len(f.low) // k, axis=2)
    foot, heading = origin + f.place * e2, f.cos * e1 + f.sin * e2
    s0, sx, st, sxx, sxt, stt = sums
    first = foot * s0 + heading * sx + axis * st
    by_heading = foot * sx + heading * sxx + axis * sxt
    by_axis = foot * st + heading * sxt + axis * stt
    second = first[:, None] * foot + by_heading[:, None] * heading + by_axis[:, None] * axis
    flat = np.concatenate([s0[None], first, second.reshape(9, -1)])
    flat = flat.reshape(13, k, -1).sum(axis=2).T
    return Moments(flat[:, 0], flat[:, 1:4], flat[:, 4:].reshape(-1, 3, 3))


def _integrate(items: Sequence[_Item], rule: Rule) -> Moments:
    """Moments of all items by fans of lines, with more fans for the items that have not settled.

    The even fans and the odd ones are two integrations. Their difference estimates the error of
    each; all fans together are several times more exact. Strips that do not settle are first parted
    where surfaces change their order on the carrier's edge.
    """
    fans = _fans(items, rule.fans)
    local = _local(items, fans.frames)
    owners = np.arange(len(items)).repeat(rule.fans)
    sums = _sums(fans, _profile(local, owners, fans.place, fans.cos, fans.sin), rule)
    result = _assemble(fans, sums)
    volumes = sums[0].reshape(len(items), rule.fans)
    # how far the halves are apart does not show what is cut off where the strips end too early
    spread = (volumes / fans.weight.reshape(volumes.shape)).tolist()
    apart, places = _apart(volumes).tolist(), fans.place.reshape(volumes.shape)
    again: dict[int, _Item] = {}
    for n, (item, held, off) in enumerate(zip(items, spread, apart, strict=True)):
        wider = _wider(item, held, places[n].tolist(), rule)
        if wider is not None or off > 6.0 * item.tolerance:
            again[n] = wider or item
    if rule.fans < _FEW:
        _replace_by_parts([n for n, i in again.items() if not _at_once(i)], again, result)
    if again and 4 * rule.fans <= MOST_FANS:
        finer = _integrate(list(again.values()), rule._replace(fans=4 * rule.fans))
        for whole, part in zip(result, finer, strict=True):
            whole[list(again)] = part
    return result


def _apart(volumes: Array) -> Array:
    """By how much the even sections (n, sections) and the odd ones disagree, (n,)."""
    return np.asarray(np.abs(volumes[:, ::2].sum(axis=1) - volumes[:, 1::2].sum(axis=1)))


def _wider(item: _Item, held: list[float], places: list[float], rule: Rule) -> _Item | None:
    """The item with its strips set where they belong, from what each ``held``; None if they do."""
    if item.low == item.high or item.exact:
        return None
    beyond = max(held[0] * (item.low > -item.radius), held[-1] * (item.high < item.radius))
    if beyond > _CUT_OFF * max(held):
        return item._replace(low=-item.radius, high=item.radius)
    # where the outer strips hold nothing the halves may agree by chance
    if rule.fans >= _FEW or (held[1] and held[-2]):
        return None
    if not any(held):
        return item
    full = [i for i, one in enumerate(held) if one]
    low, *_, high = [item.low, *places, item.high][full[0] : full[-1] + 3]
    return item._replace(low=low, high=high)


# --- strips in parts ------------------------------------------------------------------------------

_LOOKS_ALONG: Array = np.linspace(0.0, 1.0, 49)[:, None]  # where an edge is looked at
_IN_PART, _FEWER = 9, 7  # strips of a part, and of the integration that judges them
_ROUNDS = 4  # steps of the search for a part's end
_PARTED, _PARTED_CORED = (
    2.0,
    0.3,
)  # tolerances by which these two may differ; where a core takes part


def _edges(n: int, item: _Item) -> list[tuple[int, float, float, float, float]]:
    """The edge of what an item's lines stand on, in arcs of circles about points along e1.

    Each arc has the item's number, the place of its middle, its radius, its first angle and its angle.
    Of a lens they are those between its two ends; else the carrier's whole edge, from an angle that
    treats no two sides alike.
    """
    if item.beside is None:
        return [(n, 0.0, item.radius, 0.02, 2.0 * math.pi)]
    gap, radius = item.beside
    at = (gap * gap + item.radius**2 - radius**2) / (2.0 * gap)
    high = math.sqrt(max(item.radius**2 - at * at, 0.0))
    # a little short of the ends, where both walls are met at once
    near, far = (0.999999 * math.atan2(high, x) for x in (at, gap - at))
    return [
        (n, 0.0, item.radius, -near, 2.0 * near),
        (n, gap, radius, math.pi - far, 2.0 * far),
    ]


def _corners(items: Sequence[_Item], local: _Local) -> list[list[float]]:
    """For each item, the places of strips, rising, at which its parts begin and end.

    As angles from the middle of its carrier, in which the carrier's edge is nowhere steep.
    """
    arcs = [arc for n, item in enumerate(items) for arc in _edges(n, item)]
    of, *shape = np.array(arcs).T
    owner = of.astype(np.intp)
    middle, radius, start, wide = shape

    def crossings(at: NDArray[np.intp] | None) -> _Crossings:
        own = np.arange(len(arcs)) if at is None else at

        def seen(turn: Array) -> tuple[Array, Array]:
            y, x = radius[own] * np.sin(turn), middle[own] + radius[own] * np.cos(turn)
            one = np.ones(turn.size)
            lines = _profile(local, np.tile(owner[own], len(turn)), y.ravel(), one, 0.0 * one)
            enter, leave = _all_crossings(x.reshape(1, -1), lines)
            return enter.reshape(-1, *turn.shape), leave.reshape(-1, *turn.shape)

        return seen

    at, turn = _order_changes(start + wide * _LOOKS_ALONG, crossings, _ROUNDS)
    places = [
        [math.asin(max(i.low / i.radius, -1.0)), math.asin(min(i.high / i.radius, 1.0))]
        for i in items
    ]
    for arc, y in zip(at.tolist(), (radius[at] * np.sin(turn)).tolist(), strict=True):
        n = arcs[arc][0]
        if items[n].low < y < items[n].high:
            places[n].append(math.asin(y / items[n].radius))
    return [sorted(ends) for ends in places]


def _in_parts(items: Sequence[_Item]) -> tuple[Moments, Array]:
    """Moments of the items by strips in parts, and how far a rule of fewer strips is off, (n,).

    Both are Gauss's rule; that of fewer strips errs some hundred times as much, unless a change of
    surfaces inside a part was overlooked.
    """
    frames = _frames(items)
    local = _local(items, frames)
    parts = [
        (n, a, b)
        for n, ends in enumerate(_corners(items, local))
        for a, b in pairwise(ends)
        if b - a > _NARROW
    ]
    of = np.array([n for n, _, _ in parts])
    low, high = np.array([ends for _, *ends in parts]).T[:, :, None]
    at, share = map(np.concatenate, zip(gauss(_IN_PART), gauss(_FEWER), strict=True))
    angle = (low + (high - low) * at).ravel()
    owners = of.repeat(len(at))
    radius = np.array([i.radius for i in items])[owners]
    place, half = radius * np.sin(angle), radius * np.cos(angle)
    one, none = np.ones(len(place)), np.zeros(len(place))
    weight = ((high - low) * share).ravel() * half
    fans = _Fans(frames[of], place, one, none, -half, half, weight, none > 0.0)
    sums = _sums(fans, _profile(local, owners, place, one, none), FAST)
    volumes = sums[0].reshape(len(of), -1)
    apart = np.abs(volumes[:, :_IN_PART].sum(axis=1) - volumes[:, _IN_PART:].sum(axis=1))
    sums.reshape(6, len(of), -1)[:, :, _IN_PART:] = 0.0
    first = of.searchsorted(np.arange(len(items)))
    held = (np.add.reduceat(part, first, axis=0) for part in _assemble(fans, sums))
    off = np.add.reduceat(apart, first)
    sections = (volumes / fans.weight.reshape(volumes.shape))[:, :_IN_PART]
    off[of[_begins_inside(of, sections)]] = np.inf
    return Moments(*held), off


_AT_END = 0.05  # of a part's fullest section: beside an empty part, more does not begin at its end


def _begins_inside(of: NDArray[np.intp], sections: Array) -> NDArray[np.bool_]:
    """Of which parts (p,) the ends are not where what they hold begins and ends.

    ``of`` (p,) are the items of the parts in order, ``sections`` (p, strips) what each strip holds over
    its width. What is held may begin where no surface changes on the edge. Then some strips of a part
    are empty, or a part that is full to its end lies beside an empty one, which missed some of it.
    """
    full = sections > 0.0
    here, whole = np.asarray(full.any(axis=1)), np.asarray(full.all(axis=1))
    inside: NDArray[np.bool_] = here & ~whole
    most = _AT_END * sections.max(axis=1)
    beside = of[1:] == of[:-1]
    inside[:-1] |= beside & here[:-1] & ~here[1:] & (sections[:-1, -1] > most[:-1])
    inside[1:] |= beside & here[1:] & ~here[:-1] & (sections[1:, 0] > most[1:])
    return inside


def _at_once(item: _Item) -> bool:
    """Whether an item is parted before anything else: a lens, which is smooth, or a thin bore."""
    return item.exact or item.radius <= _THIN


def _replace_by_parts(some: list[int], again: dict[int, _Item], result: Moments) -> None:
    """Put into ``result`` what strips in parts give for some items, by number; drop what has settled."""
    parted = [n for n in some if again[n].low < again[n].high]
    if not parted:
        return
    items = [again[n] for n in parted]
    held, apart = _in_parts(items)
    for k, (n, item) in enumerate(zip(parted, items, strict=True)):
        if apart[k] <= (_PARTED_CORED if item.cored else _PARTED) * item.tolerance:
            for whole, part in zip(result, held, strict=True):
                whole[n] = part[k]
            del again[n]


def _batch(items: Sequence[_Item], rule: Rule) -> Moments:
    """Moments of some items; what hardly settles otherwise is parted at once."""
    left = dict(enumerate(items))
    n = len(items)
    result = Moments(np.empty(n), np.empty((n, 3)), np.empty((n, 3, 3)))
    if rule == FAST:
        _replace_by_parts([n for n, i in left.items() if _at_once(i)], left, result)
    if left:
        for whole, part in zip(result, _integrate(list(left.values()), rule), strict=True):
            whole[list(left)] = part
    return result


# share of what the fullest strip holds; the outermost holds less unless something is cut off
_CUT_OFF = 5e-5
_FEW = 64  # fewer fans are not trusted where the outermost hold nothing


def moments(intersections: Sequence[Sequence[Solid]], rule: Rule = FAST) -> Moments:
    """Moments about the origin of each intersection of convex solids.

    Each intersection must be bounded: a bore, which is open outward, needs the ball beside it, or
    another bore that converges with it inward. Returns arrays of shape (n,), (n, 3), (n, 3, 3); an
    empty intersection gives zeros. Many cost little more than one. `integrals.moments` is quicker
    for what comes up every day.
    """
    known: dict[int, _Surfaces] = {}
    items = [_item(solids, known) for solids in intersections]
    with np.errstate(all="ignore"):
        if len(items) <= BATCH:
            return _batch(items, rule)
        # a ball with many holes that meet has thousands: by parts, as their lines fill the memory
        parts = [_batch(items[at : at + BATCH], rule) for at in range(0, len(items), BATCH)]
    return Moments(*(np.concatenate(values) for values in zip(*parts, strict=True)))
