"""What bores hold of a ball's layers, summed over chords along them, for many variants at once.

Chords stand over the cross-section of a bore, or of an oval's bores together, and run along its axis.
Where no edge is inside - the bottom lies within a layer and no wall grazes it - what they measure is
smooth over the cross-section, and `LIGHT` of them do; `FULL` where an edge may be.

Lengths inches. An array's first axis counts the variants, n; it may be 1 where they do not differ.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.bores import LIP, Bore
from layoutkit.geometry.vectors import Array, Vector, length, minus, segments, square_to
from layoutkit.planning.drilled import SECOND

Rule = tuple[int, int]  # rings over a bore's cross-section, and places on each
Part = slice | NDArray[np.intp]  # some of the variants

LIGHT: Rule = (3, 7)  # within 2e-7 oz where all is smooth, on any of the samples
FULL: Rule = (5, 13)
MANY: Rule = (16, 43)  # where old bores are crossed anywhere
THIN = 0.13  # inches; of a bore that is no wider, LIGHT chords are enough wherever it ends
GRAZED = 0.85  # of a body's size; a wall that comes as far out beside its middle may graze it
OUTSIDE = -1.0  # where chords begin, in inches above the entry


class Cavity(NamedTuple):
    """One bore of every variant: entry and axis (n, 3), radius, depth and height of its point (n,)."""

    entry: Array
    axis: Array
    radius: Array
    depth: Array
    tip: Array


def rows(a: Array, part: Part) -> Array:
    """Some variants' rows of an array that may have one for all."""
    return a if len(a) == 1 else a[part]


def cavity_rows(c: Cavity, part: Part) -> Cavity:
    """The bore of some of the variants."""
    return Cavity(*(rows(v, part) for v in c))


class Solid(NamedTuple):
    """Bores whose common part is meant, or, of an oval, what they take ``together``.

    Those of an oval stand in a row, in its order, side by side down to one flat bottom.
    """

    bores: tuple[Bore, ...]
    together: bool = False

    @property
    def carrier(self) -> Bore:
        """The bore that the chords run along: the one with a drill point, then the thinnest.

        A drill point on another is taken as flat, of the same volume.
        """
        return max(self.bores, key=lambda b: (b.tip_height, -b.radius))

    @property
    def reach(self) -> float:
        """How far an oval's bores stand from its middle, in radii; 0 of all else."""
        if not self.together:
            return 0.0
        first, *_, last = self.bores
        way = square_to(minus(last.entry, first.entry), first.axis)
        return float(0.5 * length(way) / first.radius)


class Frame(NamedTuple):
    """Where a bore's chords start, (n, 3) each: at entry + x e1 + y e2, along its axis.

    ``e1`` and ``e2`` are square to it and as long as its radius.
    """

    entry: Array
    e1: Array
    e2: Array
    axis: Array


class Chords(NamedTuple):
    """Chords along a bore, cut off by the other bores: they start at entry + x e1 + y e2.

    ``entry``, ``e1``, ``e2`` and ``axis`` are (n, 3), the middle two as long as the bore's radius;
    ``places`` (6, L) are 1, x, y, x^2, xy and y^2 over a unit disc, ``weight`` (L,) what part of the
    cross-section each stands for, in square inches; ``low`` and ``high`` (n, L) are the ends along
    the axis.
    """

    entry: Array
    e1: Array
    e2: Array
    axis: Array
    places: Array
    low: Array
    high: Array
    weight: Array

    @property
    def frame(self) -> Frame:
        """The bore's frame."""
        return Frame(self.entry, self.e1, self.e2, self.axis)

    @property
    def points(self) -> Array:
        """Where they start, (n, L, 3)."""
        return (
            self.entry[:, None]
            + self.places[1, :, None] * self.e1[:, None]
            + self.places[2, :, None] * self.e2[:, None]
        )

    def over(self, *values: Array) -> Array:
        """A polynomial over the disc, (n, L): the coefficients (n,) of 1, x, y, x^2, xy, y^2."""
        each = np.empty((max(map(len, values)), len(values)))
        for k, value in enumerate(values):
            each[:, k] = value
        return each @ self.places[: len(values)]

    def some(self, at: NDArray[np.intp], low: Array, high: Array) -> Chords:
        """Some chords, or parts of them, with other ends (n, L)."""
        places, weight = self.places[:, at], self.weight[at]
        return self._replace(places=places, low=low, high=high, weight=weight)


# --- where chords stand ---------------------------------------------------------------------------


@lru_cache(maxsize=8)
def _disc(rings: int, turns: int, pointed: bool) -> tuple[Array, Array, Array]:
    """Places (L,) of chords over a unit disc and their weights.

    Gauss in the square of the radius, or where a drill point grows with the radius, in that itself
    with the radius as weight (Gauss-Jacobi, by the eigenvalues of Golub and Welsch, Mathematics of
    Computation 23, 1969, 221).
    """
    if pointed:
        k = np.arange(rings)
        beside = np.sqrt(k[1:] * (k[1:] + 1.0)) / (2.0 * k[1:] + 1.0)
        middle = np.diag(1.0 / ((2.0 * k + 1.0) * (2.0 * k + 3.0)))
        u, vectors = np.linalg.eigh(middle + np.diag(beside, 1) + np.diag(beside, -1))
        r, w = 0.5 * (u + 1.0), vectors[0] ** 2
    else:
        u, w = np.polynomial.legendre.leggauss(rings)
        r, w = np.sqrt(0.5 * (u + 1.0)), 0.5 * w
    # each ring is turned against the one before
    ring = np.arange(rings)[:, None]
    turn = 2.0 * math.pi * (np.arange(turns)[None, :] + ring * 0.382) / turns
    weight = np.repeat(w * math.pi / turns, turns)
    return (r[:, None] * np.cos(turn)).ravel(), (r[:, None] * np.sin(turn)).ravel(), weight


def _lens(apart: float, rings: int, turns: int) -> tuple[Array, Array, Array]:
    """Places (L,) and weights of chords over what two unit discs share, the second at (apart, 0).

    Strips across, each by Gauss on either side of the middle, where the points of two bits meet.
    """
    u, w = np.polynomial.legendre.leggauss(rings // 2 + 1)
    u, w = np.concatenate([0.5 * (u - 1.0), 0.5 * (u + 1.0)]), 0.5 * np.concatenate([w, w])
    part = math.pi * (np.arange(turns) + 0.5) / turns
    tall = math.sqrt(max(1.0 - apart * apart / 4.0, 0.0))
    y, across = tall * np.cos(part), tall * np.sin(part) * math.pi / turns
    half = np.maximum(np.sqrt(1.0 - y * y) - apart / 2.0, 0.0)
    x = apart / 2.0 + half[:, None] * u
    weight = (across * half)[:, None] * w
    return x.ravel(), np.repeat(y, len(u)), weight.ravel()


def _oval(offsets: Array, rings: int, turns: int) -> tuple[Array, Array, Array]:
    """Places (L,) and weights of chords over unit discs in a row, at ``offsets`` from its middle.

    Up to where neighbours' edges cross, strips along the row reach from end to end. Of what each
    disc has beyond that, a low segment of a circle, one chord stands for all, in its centroid.
    """
    apart = float(np.max(np.diff(offsets)))
    turn = math.acos(min(0.5 * apart, 1.0))  # of the crossing, seen from the middle
    u, w = np.polynomial.legendre.leggauss(turns)
    y = np.sin(turn * u)
    half = offsets[-1] + np.cos(turn * u)
    across, share = np.polynomial.legendre.leggauss(2 * rings - 1)
    x = half[:, None] * across
    weight = (w * turn * np.cos(turn * u) * half)[:, None] * share
    cap = math.pi / 2.0 - turn  # half the angle of a segment
    area = cap - math.sin(cap) * math.cos(cap)
    far = 2.0 / 3.0 * math.sin(cap) ** 3 / area
    n = len(offsets)
    return (
        np.concatenate([x.ravel(), offsets, offsets]),
        np.concatenate([np.repeat(y, 2 * rings - 1), np.full(n, far), np.full(n, -far)]),
        np.concatenate([weight.ravel(), np.full(2 * n, area)]),
    )


def _beside(b: Bore, first: Bore) -> bool:
    """Whether a bore is the same one set over: the next one of an oval."""
    return b.radius == first.radius and b.axis == first.axis and b.entry != first.entry


def middle_of(solid: Solid, cavities: Mapping[Bore, Cavity]) -> Cavity:
    """The bore that a solid's chords run along; of an oval one that stands in its middle."""
    if not solid.together:
        return cavities[solid.carrier]
    first, *_, last = (cavities[b] for b in solid.bores)
    return first._replace(
        entry=0.5 * (first.entry + last.entry), depth=0.5 * (first.depth + last.depth)
    )


def _aside(solid: Solid) -> Vector | None:
    """The way along an oval from its first bore to the last, or to the next one of two; else None."""
    first = solid.carrier
    others = [b for b in solid.bores if _beside(b, first)]
    if solid.together:
        first, others = solid.bores[0], [solid.bores[-1]]
    if not others:
        return None
    x, y, z = square_to(minus(others[0].entry, first.entry), first.axis)
    return x, y, z


def frame_of(solid: Solid, c: Cavity) -> Frame:
    """The frame of a solid's chords along `middle_of` it; e1 lies along an oval's row."""
    way = _aside(solid)
    if way is None:
        across = cross(c.axis, np.eye(3)[int(np.argmin(np.abs(c.axis[0])))])
    else:
        across = np.array(way) - dot(np.array(way), c.axis)[:, None] * c.axis
    e1 = across / np.sqrt(dot(across, across))[:, None]
    r = c.radius[:, None]
    return Frame(c.entry, r * e1, r * cross(c.axis, e1), c.axis)


def laid(
    solid: Solid,
    cavities: Mapping[Bore, Cavity],
    rule: Rule = FULL,
    frame: Frame | None = None,
) -> Chords:
    """The chords of a solid, open outward; ``frame`` is its `frame_of` where that is known."""
    c = middle_of(solid, cavities)
    first, way = solid.carrier, _aside(solid)
    pointed = first.tip_height > 0.0
    if solid.together:
        offsets = np.linspace(-solid.reach, solid.reach, len(solid.bores))
        x, y, weight = _oval(offsets, *rule)
    elif way is not None:
        x, y, weight = _lens(length(way) / first.radius, *rule)
    else:
        x, y, weight = _disc(rule[0] + (pointed and rule == LIGHT), rule[1], pointed)
    high = c.depth[:, None] + c.tip[:, None] * (1.0 - np.hypot(x, y))
    low = np.full_like(high, OUTSIDE)
    places = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y])
    frame = frame or frame_of(solid, c)
    chords = Chords(*frame, places, low, high, weight * first.radius**2)
    if not solid.together:
        for b in solid.bores:
            if b != first:
                chords = _cut_off(chords, cavities[b], _beside(b, first))
    return chords


def dot(a: Array, b: Array) -> Array:
    """Scalar products (n,) of vectors (n, 3)."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2])


def cross(a: Array, b: Array) -> Array:
    """Vector products (n, 3); `np.cross` takes several times as long."""
    a0, a1, a2, b0, b1, b2 = (v[..., i] for v in (a, b) for i in range(3))
    return np.stack((a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0), axis=-1)


def _cut_off(chords: Chords, o: Cavity, beside: bool) -> Chords:
    """What of chords is inside another bore; the drill point of one ``beside`` is not flattened."""
    start = chords.entry - o.entry
    lean = dot(chords.axis, o.axis)[:, None]
    steps = (start, chords.e1, chords.e2)
    along = chords.over(*(dot(v, o.axis) for v in steps))
    across = dot(start, chords.axis)[:, None] - along * lean
    square = 1.0 - lean * lean
    radius = o.radius[:, None]
    rest = chords.over(*_squared(*steps)) - along * along - radius * radius
    if square.max() < 1e-12:  # parallel: in it everywhere, or nowhere
        enters, leaves = np.where(rest <= 0.0, -99.0, 99.0), np.where(rest <= 0.0, 99.0, -99.0)
    else:
        square = np.maximum(square, 1e-12)
        root = across * across - square * rest
        half = np.sqrt(np.maximum(root, 0.0))
        enters, leaves = (-across - half) / square, (half - across) / square
        leaves[root <= 0.0] = -99.0
    end = (o.depth + o.tip / 3.0)[:, None]
    if beside and o.tip.any():
        off = np.sqrt(np.maximum(rest + radius * radius, 0.0))
        end = o.depth[:, None] + o.tip[:, None] * (1.0 - off / radius)
    if lean.min() > 1e-9:
        leaves = np.minimum(leaves, (end - along) / lean)
    else:
        down = np.where(lean > 1e-9, lean, 1.0)
        leaves = np.minimum(leaves, np.where(lean > 1e-9, (end - along) / down, 99.0))
    low, high = np.maximum(chords.low, enters), np.minimum(chords.high, leaves)
    return chords._replace(low=low, high=high)


def _squared(o: Array, u: Array, v: Array) -> tuple[Array, ...]:
    """The coefficients of the squared length of o + x u + y v, each (n, 3), for `Chords.over`."""
    return dot(o, o), 2.0 * dot(o, u), 2.0 * dot(o, v), dot(u, u), 2.0 * dot(u, v), dot(v, v)


def near_each_other(a: Cavity, b: Cavity) -> NDArray[np.bool_]:
    """Whether two bores' axes come as near as their radii, (n,); a little more is let through."""

    def segment(c: Cavity) -> tuple[tuple[Array, ...], tuple[Array, ...], Array]:
        return tuple((c.entry - LIP * c.axis).T), tuple(c.axis.T), c.depth + c.tip + LIP

    return np.asarray(segments(*segment(a), *segment(b))[0] <= a.radius + b.radius)


# --- what bodies they meet ------------------------------------------------------------------------


class Seen(NamedTuple):
    """A bore's frame where a body is a sphere about 0 with ``level`` (n,) as its squared radius.

    ``o``, ``u``, ``v`` and ``d`` (n, 3) are the entry, e1, e2 and the axis there.
    """

    o: Array
    u: Array
    v: Array
    d: Array
    level: Array

    def of(self, part: Part) -> Seen:
        """The frame of some of the variants."""
        return Seen(*(rows(a, part) for a in self))


def in_sphere(frame: Frame, radius: Array) -> Seen:
    """A frame in centred spheres of these radii (n,)."""
    return Seen(*frame, radius * radius)


def in_core(frame: Frame, axes: Array, semi_axes: Array, center: Array) -> Seen:
    """A frame in ellipsoids: unit axes as rows (n, 3, 3), centres (n, 3)."""
    m = axes / semi_axes[:, :, None]

    def there(v: Array) -> Array:
        if len(v) == 1:
            return np.asarray((m.reshape(-1, 3) @ v[0]).reshape(-1, 3))
        return np.asarray((m @ v[:, :, None])[:, :, 0])

    entry, *others = frame
    o, u, v, d = map(there, (entry - center, *others))
    return Seen(o, u, v, d, np.ones(1))


def ends(chords: Chords, seen: Seen) -> tuple[Array, Array]:
    """The ends (n, L) of chords inside a body; where they miss it, the second is not beyond the first.

    They are the roots of t^2 + 2 b t + c with b linear over the cross-section; what is under the root
    is a quadratic over it.
    """
    o, u, v, d, level = seen
    a = dot(d, d)
    b0, b1, b2 = -dot(o, d) / a, -dot(u, d) / a, -dot(v, d) / a
    c00, c01, c02, c11, c12, c22 = (value / a for value in _squared(o, u, v))
    root = chords.over(
        b0 * b0 - c00 + level / a, 2.0 * b0 * b1 - c01, 2.0 * b0 * b2 - c02,
        b1 * b1 - c11, 2.0 * b1 * b2 - c12, b2 * b2 - c22,
    )  # fmt: skip
    np.maximum(root, 0.0, out=root)
    np.sqrt(root, out=root)
    middle = chords.over(b0, b1, b2)
    return np.maximum(middle - root, chords.low), np.minimum(middle + root, chords.high)


def placed(seen: Seen, c: Cavity, reach: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether a bore holds nothing of a body, and whether what it holds has no edge, (n,) each.

    ``reach`` is that of the `Solid`. Judged by the largest circle, or oval, that its cross-section
    becomes where the body is a sphere.
    """
    o, u, v, d, level = seen
    size = np.sqrt(level)
    u = (1.0 + reach) * u
    one, both, other = dot(u, u), dot(u, v), dot(v, v)
    wide = np.sqrt(0.5 * (one + other) + np.sqrt(0.25 * (one - other) ** 2 + both * both))
    full = c.depth + c.tip
    down = -dot(o, d) / dot(d, d)

    def off(t: Array) -> Array:
        p = o + t[:, None] * d
        return np.sqrt(dot(p, p))

    far = off(np.clip(down, OUTSIDE, full)) - wide >= size
    beside = off(down) + wide < GRAZED * size
    # chords begin outside, and all end inside
    start = off(np.array([OUTSIDE])) - wide > size
    smooth = start & beside & (off(c.depth) + wide < size) & (off(full) < size)
    return far, smooth


# --- sums over them -------------------------------------------------------------------------------


def moments(chords: Chords, held: Iterable[tuple[Array, Array, Array]]) -> Array:
    """Moments (n, 10) of chords: 1, x, y, z, then the second ones as `SECOND`.

    ``held`` are the density (n,) of each body and the ends (n, L) of the chords in it.
    """
    sums: list[Array] = []
    for density, low, high in held:
        size = high - low
        np.maximum(size, 0.0, out=size)
        mean = high + low
        mean *= 0.5
        square = size * size
        square *= 1.0 / 12.0
        square += mean * mean
        size = size * density[:, None]
        own = [size, size * mean, size * square]
        sums = [s + more for s, more in zip(sums, own, strict=True)] if sums else own
    return assembled(chords, *sums)


def assembled(chords: Chords, s0: Array, s1: Array, s2: Array) -> Array:
    """Moments (n, 10) from the integrals of 1, t and t^2 along every chord, (n, L)."""
    places = (chords.places * chords.weight).T
    sums = np.concatenate([s0 @ places, s1 @ places[:, :3], s2 @ places[:, :1]], axis=-1)
    axes = (chords.entry, chords.e1, chords.e2, chords.axis)
    if all(len(a) == 1 for a in axes):  # the same map for all variants
        return np.asarray(sums @ _in_space(np.eye(10), *axes))
    return _in_space(sums, *axes)


def _in_space(sums: Array, entry: Array, e1: Array, e2: Array, axis: Array) -> Array:
    """Moments (n, 10) of what lies at entry + x e1 + y e2 + t axis.

    ``sums`` (n, 10) are of 1, x, y, x^2, xy, y^2, t, xt, yt, t^2.
    """
    whole, x, y, xx, xy, yy, t, xt, yt, tt = (s[:, None] for s in sums.T)
    first = whole * entry + x * e1 + y * e2 + t * axis
    # the second moment is that of four products with the axes, of which the entry is one
    along_e1 = x * entry + xx * e1 + xy * e2 + xt * axis
    along_e2 = y * entry + xy * e1 + yy * e2 + yt * axis
    along_axis = t * entry + xt * e1 + yt * e2 + tt * axis
    out = np.empty((max(map(len, (sums, entry, e1, e2, axis))), 10))
    out[:, 0], out[:, 1:4] = sums[:, 0], first
    for k, (i, j) in enumerate(SECOND):
        out[:, 4 + k] = (
            first[:, i] * entry[:, j] + along_e1[:, i] * e1[:, j]
            + along_e2[:, i] * e2[:, j] + along_axis[:, i] * axis[:, j]
        )  # fmt: skip
    return out
