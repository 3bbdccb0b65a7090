"""What bores hold of a ball's layers, summed over chords along them, for many variants at once.

Chords stand over the cross-section of a bore, or of an oval's bores together, and run along its axis.
Where no edge is inside - the bottom lies within a layer and no wall grazes it - what they measure is
smooth over the cross-section, and `LIGHT` of them do; `FULL` where an edge may be.

Lengths inches. An array's first axis counts the variants, n; it may be 1 where they do not differ.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.ball.chords import ONE, OTHER, TIMES, beside, products
from layoutkit.geometry.bores import LIP, Bore
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    cross,
    dot,
    length,
    minus,
    segments,
    square_to,
)
from layoutkit.planning.drilled import SECOND

Rule = tuple[int, int]  # rings over a bore's cross-section, and places on each
Part = slice | NDArray[np.intp]  # some of the variants

LIGHT: Rule = (3, 7)  # within 2e-7 oz where all is smooth, on any of the samples
ROUND: Rule = (2, 6)  # the same of centred spheres within 1e-7 oz in, bores up to 1 1/2 in wide
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
    def thin(self) -> bool:
        """Whether `LIGHT` chords are enough wherever it ends."""
        return self.carrier.radius <= THIN

    @property
    def crossed(self) -> bool:
        """Whether it is what others hold of a thin bore, none of them the same one set over."""
        return len(self.bores) > 1 and self.thin and _aside(self) is None

    @property
    def reach(self) -> float:
        """How far an oval's bores stand from its middle, in radii; 0 of all else."""
        if not self.together:
            return 0.0
        first, *_, last = self.bores
        way = square_to(minus(last.entry, first.entry), first.axis)
        return float(0.5 * length(way) / first.radius)


class Chords(NamedTuple):
    """Chords along a bore, cut off by the other bores: they start at entry + x e1 + y e2.

    ``frame`` (4, 3, n) is the bore's: its entry, e1 and e2, which are square to its axis and as long
    as its radius, and the axis. ``places`` (6, L) are 1, x, y, x^2, xy and y^2 over a unit disc,
    ``weight`` (L,) what part of the cross-section each stands for, in square inches; ``low`` and
    ``high`` (n, L) are the ends along the axis, 1 in place
    of n or L where they do not differ.
    """

    frame: Array
    places: Array
    low: Array
    high: Array
    weight: Array

    @property
    def points(self) -> Array:
        """Where they start, (n, L, 3)."""
        return np.asarray(np.einsum("ain,al->nli", self.frame[:3], self.places[:3]))

    def over(self, values: Array) -> Array:
        """A polynomial over the disc, (n, L): the coefficients (3, n) or (6, n) of the ``places``."""
        return np.asarray(values.T @ self.places[: len(values)])

    def some(self, at: NDArray[np.intp], low: Array, high: Array) -> Chords:
        """Some chords, or parts of them, with other ends (n, L)."""
        return Chords(self.frame, self.places[:, at], low, high, self.weight[at])


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


def frame_of(solid: Solid, c: Cavity) -> Array:
    """The frame (4, 3, n) of a solid's chords along `middle_of` it; e1 lies along an oval's row."""
    way = _aside(solid)
    if way is None:
        return _frame(c, cross(c.axis.T, _crosswise(c)))
    return _frame(c, square_to(way, c.axis.T))


def _crosswise(c: Cavity) -> Vector:
    """The coordinate axis that a bore's first variant is least along."""
    i = int(np.argmin(np.abs(c.axis[0])))
    return (float(i == 0), float(i == 1), float(i == 2))


def _frame(c: Cavity, across: Any) -> Array:
    """The frame (4, 3, n) of a bore, e1 in the direction of ``across``, which is square to it."""
    out = np.empty((4, 3, max(len(c.axis), len(c.entry))))
    e1 = np.stack(np.broadcast_arrays(*across))
    e1 *= c.radius / np.sqrt(dot(e1, e1))
    out[0], out[1], out[3] = c.entry.T, e1, c.axis.T
    for i, part in enumerate(cross(c.axis.T, e1)):
        out[2, i] = part
    return out


class Stack(NamedTuple):
    """Several single bores, each in n variants, as one in as many: first all of the first bore.

    All have drill points, or none.
    """

    cavity: Cavity
    frame: Array

    def chords(self, rule: Rule, part: NDArray[np.intp]) -> Chords:
        """The chords of some of them; their weights are for a radius of 1."""
        c = cavity_rows(self.cavity, part)
        places, weight = _unit_disc(rule, bool(c.tip.any()))
        high = c.depth[:, None]
        if c.tip.any():
            high = high + c.tip[:, None] * (1.0 - np.hypot(places[1], places[2]))
        low = np.full((1, 1), OUTSIDE)
        return Chords(self.frame[:, :, part], places, low, high, weight)

    def like_first(self, seen: Seen, n: int) -> NDArray[np.intp]:
        """The row that each may be counted by: its bore's first of n where it is no other than that.

        ``seen`` is the body in which all are counted.
        """
        parts = (self.frame, seen.products, seen.level, self.cavity.depth, self.cavity.tip)
        same = np.ones((len(self.cavity.depth) // n, n), dtype=bool)
        for part in parts:
            if part.shape[-1] > 1:
                each = part.reshape(-1, *same.shape)
                same &= (each == each[:, :, :1]).all(axis=0)
        row = np.arange(same.size).reshape(same.shape)
        return np.where(same, row[:, :1], row).ravel()


def joined(arrays: Sequence[Array], n: int) -> Array:
    """Arrays of n variants each, or of one for all of them, one after the other."""
    out = np.empty((len(arrays), n, *arrays[0].shape[1:]))
    for row, a in zip(out, arrays, strict=True):
        row[:] = a
    return out.reshape(-1, *out.shape[2:])


def stacked(cavities: Sequence[Cavity], n: int) -> Stack:
    """Bores in n variants as one stack."""
    cavity = Cavity(*(joined(each, n) for each in zip(*cavities, strict=True)))
    aside = np.repeat([_crosswise(c) for c in cavities], n, axis=0)
    return Stack(cavity, _frame(cavity, cross(cavity.axis.T, aside.T)))


def laid(
    solid: Solid,
    cavities: Mapping[Bore, Cavity],
    rule: Rule = FULL,
    frame: Array | None = None,
) -> Chords:
    """The chords of a solid, open outward; ``frame`` is its `frame_of` where that is known."""
    c = middle_of(solid, cavities)
    places, weight = _places(solid, rule)
    high = np.empty((len(c.depth), len(weight)))
    high[:] = c.depth[:, None]
    if solid.carrier.tip_height:
        high += c.tip[:, None] * (1.0 - np.hypot(places[1], places[2]))
    low = np.full_like(high, OUTSIDE)
    if frame is None:
        frame = frame_of(solid, c)
    chords = Chords(frame, places, low, high, weight)
    if not solid.together:
        for b in solid.bores:
            if b != solid.carrier:
                chords = _cut_off(chords, cavities[b], _beside(b, solid.carrier))
    return chords


@lru_cache(maxsize=64)
def _places(solid: Solid, rule: Rule) -> tuple[Array, Array]:
    """Where a solid's chords stand (6, L), and their weights (L,), as `Chords` has them."""
    first, way = solid.carrier, _aside(solid)
    if solid.together:
        offsets = np.linspace(-solid.reach, solid.reach, len(solid.bores))
        places, weight = _powers(*_oval(offsets, *rule))
    elif way is not None:
        places, weight = _powers(*_lens(length(way) / first.radius, *rule))
    else:
        places, weight = _unit_disc(rule, first.tip_height > 0.0)
    return places, weight * first.radius**2


@lru_cache(maxsize=8)
def _unit_disc(rule: Rule, pointed: bool) -> tuple[Array, Array]:
    return _powers(*_disc(rule[0] + (pointed and rule[0] < FULL[0]), rule[1], pointed))


def _powers(x: Array, y: Array, weight: Array) -> tuple[Array, Array]:
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y]), weight


def _cut_off(chords: Chords, o: Cavity, next_to_it: bool) -> Chords:
    """What of chords is inside another bore; the drill point of one ``next_to_it`` is not flattened.

    Chords that meet it in no variant are left out.
    """
    wall = _wall(chords, o)
    met = _may_meet(chords, wall.rests, wall.across, wall.square)
    chords = chords.some(met, chords.low[:, met], chords.high[:, met])
    enters, leaves = _inside(chords, o, wall, next_to_it)
    return chords._replace(low=np.maximum(chords.low, enters), high=np.minimum(chords.high, leaves))


def inside(chords: Chords, o: Cavity) -> tuple[Array, Array]:
    """Where chords, were they endless, enter another bore and leave it, (n, L) each."""
    return _inside(chords, o, _wall(chords, o), False)


class _Wall(NamedTuple):
    """A bore's wall and bottom as chords see them: what `chords.beside` gives, from the wall."""

    along: Array
    rests: Array
    across: Array
    lean: Array
    square: Array


def _wall(chords: Chords, o: Cavity) -> _Wall:
    wall = _Wall(*beside(chords.frame, o.entry, o.axis))
    wall.rests[0] -= o.radius * o.radius
    return wall


def _inside(chords: Chords, o: Cavity, wall: _Wall, next_to_it: bool) -> tuple[Array, Array]:
    along, rests, across, lean, square = wall
    lean, square = lean[:, None], square[:, None]
    outside = chords.over(rests)
    if square.max() < 1e-12:  # parallel: in it everywhere, or nowhere
        enters, leaves = np.where(outside > 0.0, 99.0, -99.0), np.where(outside > 0.0, -99.0, 99.0)
    else:
        square = np.maximum(square, 1e-12)
        middle = -chords.over(across)
        root = middle * middle - square * outside
        half = np.sqrt(np.maximum(root, 0.0))
        enters, leaves = (middle - half) / square, (middle + half) / square
        leaves[root <= 0.0] = -99.0
    start = chords.over(along)
    end = (o.depth + o.tip / 3.0)[:, None]
    if next_to_it and o.tip.any():
        away = np.sqrt(np.maximum(outside + (o.radius * o.radius)[:, None], 0.0))
        end = o.depth[:, None] + o.tip[:, None] * (1.0 - away / o.radius[:, None])
    if lean.min() > 1e-9:
        leaves = np.minimum(leaves, (end - start) / lean)
    else:
        down = np.where(lean > 1e-9, lean, 1.0)
        leaves = np.minimum(leaves, np.where(lean > 1e-9, (end - start) / down, 99.0))
    return enters, leaves


def _may_meet(chords: Chords, rests: Array, across: Array, square: Array) -> NDArray[np.intp]:
    """The chords that may meet another bore inside the ball, in any variant.

    Of a chord at t the squared distance from the bore's wall, counted from its axis, is rests + 2 t
    across + t^2 square. Between two t it lies below the straight line between its values there, by
    no more than square / 4 times the square of what is between them.
    """
    low, high = np.array([-LIP]), np.max(chords.high, axis=1)

    def off(t: Array) -> Array:
        linear = rests[:3] + 2.0 * t * across
        linear[0] += t * t * square
        rest = np.broadcast_to(rests[3:], (3, linear.shape[1]))
        return chords.over(np.concatenate([linear, rest]))

    least = np.minimum(off(low), off(high))
    gap = 0.25 * square * (high - low) ** 2
    return np.flatnonzero((least < gap[:, None]).any(axis=0))


def near_each_other(a: Cavity, b: Cavity) -> NDArray[np.bool_]:
    """Whether two bores' axes come as near as their radii, (n,); a little more is let through."""

    def segment(c: Cavity) -> tuple[tuple[Array, ...], tuple[Array, ...], Array]:
        return tuple((c.entry - LIP * c.axis).T), tuple(c.axis.T), c.depth + c.tip + LIP

    return np.asarray(segments(*segment(a), *segment(b))[0] <= a.radius + b.radius)


# --- what bodies they meet ------------------------------------------------------------------------


class Seen(NamedTuple):
    """A bore's frame where a body is a sphere about 0 with ``level`` (n,) as its squared radius.

    ``products`` (10, n) are those of the frame's vectors there, as `chords.products` has them.
    """

    products: Array
    level: Array

    def of(self, part: Part) -> Seen:
        """The frame of some of the variants."""
        own = self.products if self.products.shape[1] == 1 else self.products[:, part]
        return Seen(own, rows(self.level, part))


def in_spheres(frame: Array, radii: Iterable[Array]) -> list[Seen]:
    """A frame in centred spheres of each of some radii (n,)."""
    own = products(frame)
    return [Seen(own, radius * radius) for radius in radii]


def in_core(frame: Array, axes: Array, semi_axes: Array, center: Array) -> Seen:
    """A frame in ellipsoids: unit axes as rows (n, 3, 3), centres (n, 3)."""
    into = np.ascontiguousarray((axes / semi_axes[:, :, None]).transpose(1, 2, 0))
    if frame.shape[-1] == 1:
        there = np.empty((4, 3, max(len(center), into.shape[-1])))
        there[0] = np.sum(into * (frame[0] - center.T), axis=1)
        there[1:] = np.einsum("ijn,aj->ain", into, frame[1:, :, 0])
    else:
        moved = frame.copy()
        moved[0] -= center.T
        there = np.sum(into * moved[:, None], axis=2)
    return Seen(products(there), np.ones(1))


def ends(chords: Chords, seen: Seen) -> tuple[Array, Array]:
    """The ends (n, L) of chords inside a body; where they miss it, the second is not beyond the first.

    They are the roots of t^2 + 2 b t + c with b linear over the cross-section; what is under the root
    is a quadratic over it.
    """
    own, level = seen
    a = own[9]
    middle = own[6:9] / -a
    under = middle[ONE] * middle[OTHER] - own[:6] / a
    under *= TIMES
    reach = level / a
    if len(reach) > under.shape[1]:
        under = np.repeat(under, len(reach), axis=1)
    under[0] += reach
    root = chords.over(under)
    np.maximum(root, 0.0, out=root)
    np.sqrt(root, out=root)
    center = chords.over(middle)
    return np.maximum(center - root, chords.low), np.minimum(center + root, chords.high)


def placed(seen: Seen, c: Cavity, reach: float) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """Whether a bore holds nothing of a body, and whether what it holds has no edge, (n,) each.

    ``reach`` is that of the `Solid`. Judged by the largest circle, or oval, that its cross-section
    becomes where the body is a sphere.
    """
    own, level = seen
    wider = 1.0 + reach
    one, both, other = wider * wider * own[3], wider * own[4], own[5]
    wide = np.sqrt(0.5 * (one + other) + np.sqrt(0.25 * (one - other) ** 2 + both * both))
    full = c.depth + c.tip
    down = -own[6] / own[9]
    nearest = np.minimum(np.maximum(down, OUTSIDE), full)
    places = np.stack(np.broadcast_arrays(nearest, down, OUTSIDE, c.depth, full))
    squares = own[0] + places * (2.0 * own[6] + places * own[9])
    near, beside, start, rim, point = np.sqrt(np.maximum(squares, 0.0))
    size = np.sqrt(level)
    # chords begin outside, and all end inside
    smooth = (beside + wide < GRAZED * size) & (start - wide > size)
    return near - wide >= size, smooth & (rim + wide < size) & (point < size)


# --- sums over them -------------------------------------------------------------------------------


def moments(chords: Chords, held: Iterable[tuple[Array, Array, Array]]) -> Array:
    """Moments (n, 10) of chords: 1, x, y, z, then the second ones as `SECOND`.

    ``held`` are the density (n,) of each body and the ends (n, L) of the chords in it.
    """
    total: Array | float = 0.0
    for density, low, high in held:
        start = np.minimum(low, high)
        size = high - start
        both = high + start
        # of t^2 it is size (high^2 + high start + start^2) / 3
        square = both * both
        start *= high
        square -= start
        square *= size
        both *= size
        total = total + density[:, None] * _summed(chords, size, 0.5, both, 1.0 / 3.0, square)
    return _in_space(np.asarray(total), chords.frame)


def assembled(chords: Chords, s0: Array, s1: Array, s2: Array) -> Array:
    """Moments (n, 10) from the integrals of 1, t and t^2 along every chord, (n, L)."""
    return _in_space(_summed(chords, s0, 1.0, s1, 1.0, s2), chords.frame)


def _summed(chords: Chords, s0: Array, half: float, s1: Array, third: float, s2: Array) -> Array:
    """The sums (n, 10) of 1, x, y, x^2, xy, y^2, t, xt, yt and t^2 over all chords.

    The integrals along each, (n, L), are of 1, t and t^2, the latter two times ``half`` and ``third``.
    """
    places = (chords.places * chords.weight).T
    return np.concatenate(
        [s0 @ places, s1 @ (half * places[:, :3]), s2 @ (third * places[:, :1])], axis=1
    )


# where a product of two of 1, x, y, t stands among the sums
_WHERE = np.array([[0, 1, 2, 6], [1, 3, 4, 7], [2, 4, 5, 8], [6, 7, 8, 9]])
_ROW, _COLUMN = np.array(SECOND).T


def _in_space(sums: Array, frame: Array) -> Array:
    """Moments (n, 10) of what lies at entry + x e1 + y e2 + t axis, from the sums of `_summed`."""
    if frame.shape[-1] == 1 and len(sums) > 10:  # the same map for all variants
        return np.asarray(sums @ _in_space(np.eye(10), frame))
    own = np.ascontiguousarray(sums.T)
    # one vector of the frame after another, so that all stays in the cache
    half = own[_WHERE[0], None] * frame[0]
    for row, vector in zip(_WHERE[1:], frame[1:], strict=True):
        half += own[row, None] * vector
    second = half[0, _ROW] * frame[0, _COLUMN]
    for each, vector in zip(half[1:], frame[1:], strict=True):
        second += each[_ROW] * vector[_COLUMN]
    return np.concatenate([own[:1], half[0], second]).T
