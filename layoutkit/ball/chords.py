"""What steps take from a ball in which many bores meet, in work that grows with their number alone.

The last body painted at a point decides what is there. Along a straight line that is a matter of one
dimension: each body is convex and holds one interval of it. So each step is looked at along lines
parallel to its own axis, laid over its own cross-section. A line inside the step's solid is met by
the bodies painted before, the latest first: each takes what it holds of the parts that are still
open, and those parts are at rest from there on. What no body takes belongs to the layers. Most parts
come to rest soon, so a stack of holes costs little more than as many single ones.

The lines stand in strips, flat sections that hold the direction of the axis. Along a strip the lines
are told apart by the surfaces at which their parts begin and end. Where that changes, a strip is
divided, which is found by halving, and between two such places all is smooth and is integrated by
Gauss. As everywhere, every second strip is an integration of its own, and where the two disagree
more strips are laid.

Units: inches, ounces; densities oz/in3. Moments are homogeneous: integrals of X X' with
X = (1, x, y, z).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.bores import LIP, Bore
from layoutkit.geometry.solids import FAR, Ellipsoid, eased, gauss
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    cross,
    dot,
    frame,
    minus,
    segments,
    square_to,
    unit,
)

Index = NDArray[np.intp]
Marks = NDArray[np.uint64]

PANELS, STRIPS = 6, 5  # parts of a step's cross-section at first, and Gauss strips in each
ROUNDS = 5  # how often a part is halved at most
LOOKS = 13  # lines at first in each strip
HALVINGS = 7  # of the gap between two lines that differ
NODES, FEW = 10, 4  # Gauss nodes between two changes, and where these are close to each other
CLOSE_BY = 0.06  # share of a bore's radius; two changes that are nearer are close to each other
THIN = 1e-9  # inches; a part that is not longer holds nothing
PARALLEL = 1e-14  # squared sine of the angle between lines that count as parallel
AGREE = 4e-4  # share of what a step handles; a part that is more uncertain is halved


HANDLED = 0.6  # oz/in3; a ball's mean density, as a scale for errors


class Paint(NamedTuple):
    """A solid painted with a density in oz/in3."""

    solid: Bore
    density: float


class _Lines(NamedTuple):
    """n lines: the step whose solid each crosses, and its place y, x across the step's axis."""

    step: Index
    y: Array
    x: Array

    def pick(self, at: Index) -> _Lines:
        """Some of the lines, or some several times."""
        return _Lines(self.step[at], self.y[at], self.x[at])


class _Panels(NamedTuple):
    """Parts of steps' cross-sections: where y over the radius is the sine of low to high."""

    step: Index
    low: Array
    high: Array


class _Parts(NamedTuple):
    """Parts of lines, p: the line's number, both ends, and the body: its number, or -1 for layers."""

    line: Index
    low: Array
    high: Array
    body: Index

    def pick(self, at: NDArray[np.bool_]) -> _Parts:
        """Some of the parts."""
        return _Parts(self.line[at], self.low[at], self.high[at], self.body[at])


class _Sweep:
    """The steps' frames and how every body lies in them.

    Of step f the lines run through entry + y e2 + x e1 along its axis. ``bores`` (9, f, k) are the
    coefficients of the distance between such a line and bore k's axis, ``quadrics`` (10, f, q) those
    of the ellipsoids: first the ball and what is inside it in all bodies, then the cores.
    """

    def __init__(self, paints: Sequence[Paint], ellipsoids: Sequence[Ellipsoid]) -> None:
        self.bores = [p.solid for p in paints]
        self.density = np.array([p.density for p in paints])
        self.entry = np.array([b.entry for b in self.bores])
        self.axis = np.array([b.axis for b in self.bores])
        self.radius = np.array([b.radius for b in self.bores])
        self.depth = np.array([b.depth for b in self.bores])
        self.tip = np.array([b.tip_height for b in self.bores])
        self.near = _near(self.entry, self.axis, self.radius, self.depth + self.tip)
        self.e1, self.e2 = self._across()
        self.pairs = self._pairs()
        self.quadrics = self._quadrics(ellipsoids)
        rng = np.random.default_rng(1)
        whole = np.iinfo(np.uint64).max
        self.names = rng.integers(0, whole, (len(paints) + len(ellipsoids), 8), dtype=np.uint64)

    def _across(self) -> tuple[Array, Array]:
        """e1 toward the nearest body painted before, e2 square to that and to the axis."""
        e1, e2 = [], []
        for f, bore in enumerate(self.bores):
            across = None
            for k in np.flatnonzero(self.near[f]):
                gap = square_to(minus(self.bores[k].entry, bore.entry), bore.axis)
                if dot(gap, gap) > 1e-8:
                    across = unit(gap)
            if across is None:
                across = frame(bore.axis)[0]
            e1.append(across)
            e2.append(cross(bore.axis, across))
        return np.array(e1), np.array(e2)

    def _pairs(self) -> Array:
        w = self.entry[:, None] - self.entry[None]  # (f, k, 3)
        out = np.empty((9, len(w), len(w)))
        out[0] = np.einsum("fki,ki->fk", w, self.axis)
        out[1] = self.e1 @ self.axis.T
        out[2] = self.e2 @ self.axis.T
        out[3] = np.einsum("fki,fki->fk", w, w)
        out[4] = 2.0 * np.einsum("fki,fi->fk", w, self.e1)
        out[5] = 2.0 * np.einsum("fki,fi->fk", w, self.e2)
        out[6] = np.einsum("fki,fi->fk", w, self.axis)
        out[7] = self.axis @ self.axis.T
        lean = np.cross(self.axis[:, None], self.axis[None])
        out[8] = np.einsum("fki,fki->fk", lean, lean)
        return out

    def _quadrics(self, ellipsoids: Sequence[Ellipsoid]) -> Array:
        out = np.empty((10, len(self.entry), len(ellipsoids)))
        for q, s in enumerate(ellipsoids):
            m = np.array(s.axes) / np.array(s.semi_axes)[:, None]
            o, u, v, d = (
                a @ m.T for a in (self.entry - np.array(s.center), self.e1, self.e2, self.axis)
            )
            rows = [(d, d), (o, d), (u, d), (v, d), (o, o), (o, u), (o, v), (u, u), (u, v), (v, v)]
            for i, (a, b) in enumerate(rows):
                out[i, :, q] = np.einsum("fi,fi->f", a, b)
        return out

    def in_ellipsoid(self, lines: _Lines, q: int) -> tuple[Array, Array]:
        """Where lines enter and leave an ellipsoid; FAR and -FAR where they miss it."""
        a, b0, b1, b2, c00, c01, c02, c11, c12, c22 = self.quadrics[:, :, q].take(
            lines.step, axis=1
        )
        y, x = lines.y, lines.x
        b = b0 + b1 * x + b2 * y
        c = c00 - 1.0 + (2.0 * c01 + c11 * x + 2.0 * c12 * y) * x + (2.0 * c02 + c22 * y) * y
        root = b * b - a * c
        missed = root <= 0.0
        half = np.sqrt(np.maximum(root, 0.0))
        return np.where(missed, FAR, (-b - half) / a), np.where(missed, -FAR, (half - b) / a)

    def in_bore(self, lines: _Lines, k: int) -> tuple[Array, Array, NDArray[np.bool_]]:
        """Where lines enter and leave a bore, and whether they leave it by its end, not its wall."""
        s0, s1, s2, g0, g1, g2, d0, lean, square = self.pairs[:, :, k].take(lines.step, axis=1)
        y, x = lines.y, lines.x
        along = s0 + s1 * x + s2 * y
        off = g0 + (g1 + x) * x + (g2 + y) * y - along * along
        across = d0 - along * lean
        size = (float(self.radius[k]), float(self.depth[k]), float(self.tip[k]))
        return _in_bore(along, off, across, lean, square, size)

    def within(self, lines: _Lines) -> tuple[Array, Array]:
        """The ends of lines inside the ball and their own step's solid."""
        start, out = self.in_ellipsoid(lines, 0)
        depth, tip = self.depth[lines.step], self.tip[lines.step]
        end = depth + tip * (1.0 - np.hypot(lines.y, lines.x) / self.radius[lines.step])
        return start, np.minimum(end, out)

    def parts(self, lines: _Lines) -> tuple[_Parts, Marks]:
        """What each line meets of the bodies painted before its step, and a mark of the order.

        Two lines with the same mark begin and end their parts at the same surfaces.
        """
        low, high = self.within(lines)
        marks = np.zeros(len(low), dtype=np.uint64)

        def ends(k: int, on: Index) -> tuple[Array, Array, NDArray[np.bool_]]:
            return self.in_bore(lines.pick(on), k)

        def met(k: int, on: Index, how: Index) -> None:
            np.add.at(marks, on, self.names[k, how])  # a line has several parts now and then

        near = self.near.T[:, lines.step]
        return _peeled(low, high, near, ends, met), marks

    def layered(
        self, lines: _Lines, parts: _Parts, marks: Marks | None = None
    ) -> list[tuple[Index, Array, Array]]:
        """Of parts that belong to layers: for each ellipsoid but the ball, what of them is inside."""
        found = []
        picked = lines.pick(parts.line)
        for q in range(1, self.quadrics.shape[2]):
            start, end = self.in_ellipsoid(picked, q)
            a, b = np.maximum(parts.low, start), np.minimum(parts.high, end)
            inside = np.flatnonzero(b - a > THIN)
            if marks is not None:
                how = (a > parts.low) + 2 * (b < parts.high)
                on = parts.line[inside]
                np.add.at(marks, on, self.names[len(self.bores) + q, how[inside]])
            found.append((parts.line[inside], a[inside], b[inside]))
        return found

    def marks(self, lines: _Lines) -> Marks:
        """The marks of lines, those of the layers among them."""
        parts, marks = self.parts(lines)
        self.layered(lines, parts.pick(parts.body < 0), marks)
        return marks


def _in_bore(
    along: Array, off: Array, across: Array, lean: Array, square: Array, size: Vector
) -> tuple[Array, Array, NDArray[np.bool_]]:
    """Where lines enter and leave a bore, and whether they leave it by its end, not its wall.

    A line starts ``along`` its axis, the square root of ``off`` from it. As it goes on it gains
    ``lean`` along the axis, and ``across`` is how what lies across grows at first; ``square`` is the
    squared sine of the angle between both. ``size``: radius, depth and height of the drill point.
    FAR and -FAR where a line misses.
    """
    radius, depth, tip = size
    rest = off - radius * radius
    beside = square < PARALLEL
    root = across * across - square * rest
    missed = root <= 0.0
    half = np.sqrt(np.maximum(root, 0.0, out=root), out=root)
    if beside.any():
        over = np.where(beside, 1.0, square)
        low = np.where(beside, -FAR, (-across - half) / over)
        high = np.where(beside, FAR, (half - across) / over)
        missed = np.where(beside, rest > 0.0, missed)
    else:
        low, high = -across - half, half - across
        low /= square
        high /= square
    if tip:
        start, end = _in_cone(depth + tip - along, off, across, lean, square, tip / radius)
    else:
        end = (depth - along) / np.where(np.abs(lean) < 1e-12, 1e-12, lean)
        start = None
        if (lean < 0.0).any():
            start, end = np.where(lean >= 0.0, -FAR, end), np.where(lean >= 0.0, end, FAR)
    ended = end < high
    np.minimum(high, end, out=high)
    if start is not None:
        np.maximum(low, start, out=low)
    low[missed], high[missed] = FAR, -FAR
    return low, high, ended


def _in_cone(
    left: Array, off: Array, across: Array, lean: Array, square: Array, slope: float
) -> tuple[Array, Array]:
    """Where lines enter and leave the endless cone of a drill point; they start ``left`` above it.

    Inside, the height left to the apex is at least ``slope`` times what lies across the axis.
    """
    flat = slope * slope
    a = lean * lean - flat * square
    b = -(left * lean + flat * across)
    c = left * left - flat * off
    # inside where a t^2 + 2 b t + c >= 0 and left - lean t >= 0
    root = b * b - a * c
    w = -(b + np.copysign(np.sqrt(np.maximum(root, 0.0)), b))
    with np.errstate(all="ignore"):
        one, other = (np.nan_to_num(t, nan=FAR, posinf=FAR, neginf=-FAR) for t in (w / a, c / w))
    first, last = np.minimum(one, other), np.maximum(one, other)
    # a line steeper than the cone crosses it once on this side of the apex
    steep, down = a > 0.0, lean > 0.0
    low = np.where(steep, np.where(down, -FAR, last), first)
    high = np.where(steep, np.where(down, first, FAR), last)
    # a flatter one crosses one side twice, or misses it
    wrong = ~steep & ((root <= 0.0) | (left - lean * 0.5 * (first + last) < 0.0))
    return np.where(wrong, FAR, low), np.where(wrong, -FAR, high)


def _peeled(
    low: Array,
    high: Array,
    near: NDArray[np.bool_],
    ends: Callable[[int, Index], tuple[Array, Array, NDArray[np.bool_]]],
    met: Callable[[int, Index, Index], None] | None = None,
    each: int = 1,
) -> _Parts:
    """What lines from low to high (n,) meet of bodies k, the last one first.

    ``near`` (k, n / each) tells which bodies lines may meet, ``each`` of them at a time. ``ends``
    tells where lines by their number enter and leave body k. ``met`` is told of the lines that meet
    one, and how each of their parts begins and ends.
    """
    line = np.flatnonzero(high - low > THIN)
    low, high = low[line], high[line]
    rest: list[_Parts] = []
    for k in range(len(near) - 1, -1, -1):
        at = np.flatnonzero(near[k, line // each])
        if not len(at):
            continue
        start, end, ended = ends(k, line[at])
        lo, hi = low[at], high[at]
        a, b = np.maximum(lo, start), np.minimum(hi, end)
        here = np.flatnonzero(b - a > THIN)
        if not len(here):
            continue
        at, lo, hi, a, b = at[here], lo[here], hi[here], a[here], b[here]
        on = line[at]
        above, below = a - lo > THIN, hi - b > THIN
        if met is not None:
            met(k, on, (above + 2 * below * (1 + ended[here])).astype(np.intp))
        rest.append(_Parts(on, a, b, np.full(len(on), k)))
        # what is left above stays in place, what is left below is added, all else is at rest
        high[at] = np.where(above, a, lo)
        if below.any():
            line = np.concatenate([line, on[below]])
            low, high = np.concatenate([low, b[below]]), np.concatenate([high, hi[below]])
        left = np.flatnonzero(high - low > THIN)
        if len(left) < 0.9 * len(low):
            line, low, high = line[left], low[left], high[left]
    rest.append(_Parts(line, low, high, np.full(len(line), -1)))
    return _Parts(
        np.concatenate([p.line for p in rest]),
        np.concatenate([p.low for p in rest]),
        np.concatenate([p.high for p in rest]),
        np.concatenate([p.body for p in rest]),
    )


class Cavities(NamedTuple):
    """A bore in n places: entry and axis (n, 3), and its radius, depth and height of its point."""

    entry: Array
    axis: Array
    size: Vector


# the coefficients of a square over a cross-section: which two factors of 1, x, y each is made of, and
# how often it comes
ONE, OTHER = np.array([0, 0, 0, 1, 1, 2]), np.array([0, 1, 2, 1, 2, 2])
_FIRST, _SECOND = np.concatenate([ONE, [0, 1, 2, 3]]), np.concatenate([OTHER, [3, 3, 3, 3]])
TIMES = np.array([1.0, 2.0, 2.0, 1.0, 2.0, 1.0])[:, None]


def products(frame: Array) -> Array:
    """Scalar products (10, n) of a frame's vectors (4, 3, n), entry, e1, e2 and axis.

    First the six of the first three, in the order of `ONE` and `OTHER`, then of each with the axis.
    """
    x, y, z = frame.transpose(1, 0, 2)  # one after another, so that all stays in the cache
    total = x[_FIRST] * x[_SECOND]
    total += y[_FIRST] * y[_SECOND]
    total += z[_FIRST] * z[_SECOND]
    return np.asarray(total)


class Beside(NamedTuple):
    """How lines in a bore's frame lie to another bore, as coefficients of 1, x, y, x^2, xy, y^2.

    Where they start: ``along`` (3, n) its axis, ``off`` (6, n) its axis, squared, and ``across``
    (3, n), half of how that grows at first along a line. ``lean`` (n,) is the cosine of the angle
    between both axes, ``slant`` its squared sine.
    """

    along: Array
    off: Array
    across: Array
    lean: Array
    slant: Array


def beside(frame: Array, entry: Array, axis: Array) -> Beside:
    """The same of a frame (4, 3, n), its entry, e1, e2 and axis, and a bore in n places.

    Its ``entry`` and ``axis`` are (n, 3); all n may be 1.
    """
    moved = np.repeat(frame, len(entry), axis=2) if frame.shape[-1] < len(entry) else frame.copy()
    moved[0] -= entry.T
    own = products(moved)
    leans = np.sum(moved * axis.T, axis=1)
    lean = leans[3]
    across = -lean * leans[:3]
    across[0] += own[6]
    off = TIMES * (own[:6] - leans[ONE] * leans[OTHER])
    side = cross(moved[3], axis.T)
    return Beside(leans[:3], off, across, lean, np.asarray(dot(side, side)))


def peeled(
    frame: Array,
    places: Array,
    low: Array,
    high: Array,
    bores: Sequence[Cavities],
    near: NDArray[np.bool_],
) -> tuple[Index, Array, Array, Index]:
    """What lines meet of bores painted in order: line, both ends and bore of each part, -1 if none.

    In each of n variants lines m start at entry + x e1 + y e2 and run along the axis: ``frame``
    (4, 3, n) holds these, with n of 1 for all alike, ``places`` (6, m) are 1, x, y, x^2, xy and y^2.
    They go from ``low`` to ``high`` (n, m) and meet the bores that are ``near`` (bores, n).
    Lines are counted through all variants: m in the first, then m in the second.
    """
    n, m = low.shape

    def ends(k: int, on: Index) -> tuple[Array, Array, NDArray[np.bool_]]:
        held = np.flatnonzero(near[k])
        entry, along_it = (v if len(v) == 1 else v[held] for v in bores[k][:2])
        seen = beside(frame if frame.shape[-1] == 1 else frame[:, :, held], entry, along_it)
        along, off, across = (c.T @ places[: len(c)] for c in seen[:3])
        found = _in_bore(along, off, across, seen.lean[:, None], seen.slant[:, None], bores[k].size)
        row = np.zeros(n, dtype=np.intp)
        if len(along) > 1:
            row[held] = np.arange(len(held))
        at = row[on // m] * m + on % m
        start, end, ended = (v.ravel()[at] for v in found)
        return start, end, ended

    parts = _peeled(low.ravel(), high.ravel(), near, ends, each=m)
    return parts.line, parts.low, parts.high, parts.body


def _near(entry: Array, axis: Array, radius: Array, full: Array) -> NDArray[np.bool_]:
    """Whether body k was painted before step f and comes near it: (f, k).

    As `bores.rounded_gap` has it for two.
    """
    p, d, reach = (entry - LIP * axis).T, axis.T, full + LIP
    one = (tuple(p[:, :, None]), tuple(d[:, :, None]), reach[:, None])
    other = (tuple(p[:, None]), tuple(d[:, None]), reach[None])
    far = segments(*one, *other)[0]
    earlier = np.tri(len(entry), k=-1, dtype=bool)
    return np.asarray((far < radius[:, None] + radius[None]) & earlier)


def _divided(sweep: _Sweep, step: Index, y: Array, half: Array) -> tuple[Index, Array, Array]:
    """Runs of alike lines: the number of the strip, start and width of each, by strips.

    Strips n lie at y of their steps and reach from -half to half.
    """
    n = len(y)
    look = np.sin(np.linspace(-0.5, 0.5, LOOKS) * math.pi) * (1.0 - 1e-9)
    x = half[:, None] * look
    strip = np.repeat(np.arange(n), LOOKS)
    marks = sweep.marks(_Lines(step[strip], y[strip], x.ravel())).reshape(n, LOOKS)
    on, at = np.nonzero(marks[:, 1:] != marks[:, :-1])
    left, right = x[on, at], x[on, at + 1]
    before, after = marks[on, at], marks[on, at + 1]
    for _ in range(HALVINGS):
        if not len(on):
            break
        middle = 0.5 * (left + right)
        here = sweep.marks(_Lines(step[on], y[on], middle))
        first, second = before != here, here != after
        on = np.concatenate([on[first], on[second]])
        left, right, before, after = (
            np.concatenate([left[first], middle[second]]),
            np.concatenate([middle[first], right[second]]),
            np.concatenate([before[first], here[second]]),
            np.concatenate([here[first], after[second]]),
        )
    # a drill point's own edge in the middle of its strips
    pointed = np.flatnonzero(sweep.tip[step])
    on = np.concatenate([np.arange(n), pointed, on])
    start = np.concatenate([-half, np.zeros(len(pointed)), 0.5 * (left + right)])
    order = np.lexsort((start, on))
    on, start = on[order], start[order]
    last = np.append(on[1:] != on[:-1], True)
    end = np.where(last, half[on], np.append(start[1:], 0.0))
    return on, start, end - start


def _laid(sweep: _Sweep, panels: _Panels) -> tuple[_Lines, Array, Index]:
    """The lines that cross parts of cross-sections, n in all, with their weights and strips.

    Panel p has the strips ``STRIPS`` p to ``STRIPS`` (p + 1) - 1.
    """
    place, share = gauss(STRIPS)
    step = np.repeat(panels.step, STRIPS)
    radius = sweep.radius[step]
    wide = panels.high - panels.low
    turn = (panels.low[:, None] + wide[:, None] * place).ravel()
    y, half = radius * np.sin(turn), radius * np.cos(turn)
    strip_weight = half * (wide[:, None] * share).ravel()
    on, start, width = _divided(sweep, step, y, half)
    narrow = width < CLOSE_BY * sweep.radius[step[on]]
    runs = [np.flatnonzero(some & (width > THIN)) for some in (narrow, ~narrow)]
    rules = [eased(FEW), eased(NODES)]
    strip = np.concatenate([on[at].repeat(len(r[0])) for at, r in zip(runs, rules, strict=True)])
    x, w = (
        np.concatenate([v.ravel() for v in values])
        for values in (
            [start[at, None] + width[at, None] * r[0] for at, r in zip(runs, rules, strict=True)],
            [width[at, None] * r[1] for at, r in zip(runs, rules, strict=True)],
        )
    )
    return _Lines(step[strip], y[strip], x), w * strip_weight[strip], strip


def _sums(sweep: _Sweep, panels: _Panels, bodies: Sequence[Sequence[float]]) -> tuple[Array, Array]:
    """What the steps take in parts of their cross-sections, (bodies, panels, 10), and how rough it is.

    The sums are of 1, y, x, t, y^2, xy, x^2, yt, xt, t^2.
    """
    lines, w, strip = _laid(sweep, panels)
    parts = sweep.parts(lines)[0]
    x, n = lines.x, len(lines.x)

    def along(line: Index, low: Array, high: Array, density: Array | float) -> Array:
        """Sums of 1, t, t^2 over parts, by lines: (3, n)."""
        size = (high - low) * density
        mean = 0.5 * (low + high)
        square = mean * mean + (high - low) ** 2 / 12.0
        sums = [np.bincount(line, v, n) for v in (size, size * mean, size * square)]
        # numpy counts in integers where there is nothing to count
        return np.stack(sums).astype(float, copy=False)

    taken = parts.body >= 0
    common = along(
        parts.line[taken], parts.low[taken], parts.high[taken], sweep.density[parts.body[taken]]
    )
    low, high = sweep.within(lines)
    every = np.arange(n)
    common -= along(every, low, np.maximum(high, low), sweep.density[lines.step])
    left = parts.pick(~taken)
    inside = sweep.layered(lines, left)
    weights = bodies[0]
    common += along(left.line, left.low, left.high, weights[0])
    if len(weights) > 1:
        common += along(*inside[0], weights[1])
    found = []
    at, k = strip // STRIPS, len(panels.step)
    for i, weights in enumerate(bodies):
        s = common if len(weights) < 3 else common + along(*inside[1 + i], weights[2])
        s = s * w
        rows = (
            s[0], s[0] * lines.y, s[0] * x, s[1], s[0] * lines.y**2, s[0] * lines.y * x,
            s[0] * x * x, s[1] * lines.y, s[1] * x, s[2],
        )  # fmt: skip
        found.append([np.bincount(at, row, k) for row in rows])
        if i == 0:
            held = np.bincount(strip, s[0], STRIPS * k).reshape(k, STRIPS)
    return np.array(found).transpose(0, 2, 1), np.abs(held @ _rough().T).sum(axis=1)


@lru_cache(maxsize=1)
def _rough() -> Array:
    """What tells how much of the strips' sums goes with the two highest Legendre polynomials."""
    x = 2.0 * gauss(STRIPS)[0] - 1.0
    rows = np.polynomial.legendre.legvander(x, STRIPS - 1)[:, -2:].T
    return np.asarray(rows * (2.0 * np.array([[STRIPS - 2], [STRIPS - 1]]) + 1.0))


def taken(
    paints: Sequence[Paint], ellipsoids: Sequence[Ellipsoid], bodies: Sequence[Sequence[float]]
) -> Array:
    """What each step takes, less what it brings: (bodies, steps, 4, 4), homogeneous.

    ``ellipsoids`` are the ball, the inner sphere if there is one, and one core for each body;
    ``bodies`` the weights in oz/in3 of ball, inner sphere and core, each above what lies under it.
    """
    sweep = _Sweep(paints, ellipsoids)
    n = len(paints)
    sums = np.zeros((len(bodies), n, 10))
    edges = np.linspace(-0.5, 0.5, PANELS + 1) * math.pi
    panels = _Panels(np.repeat(np.arange(n), PANELS), np.tile(edges[:-1], n), np.tile(edges[1:], n))
    handled = AGREE * HANDLED * math.pi * sweep.radius**2 * sweep.depth
    for left in range(ROUNDS, -1, -1):
        some, rough = _sums(sweep, panels, bodies)
        again = (rough > handled[panels.step]) & (left > 0)
        for i in range(len(bodies)):
            np.add.at(sums[i], panels.step[~again], some[i, ~again])
        step, low, high = (v[again] for v in panels)
        if not len(step):
            break
        middle = 0.5 * (low + high)
        panels = _Panels(
            *(np.concatenate(v) for v in ((step, step), (low, middle), (middle, high)))
        )
    order = [[0, 1, 2, 3], [1, 4, 5, 7], [2, 5, 6, 8], [3, 7, 8, 9]]
    u = sums[:, :, order]
    m = np.zeros((n, 4, 4))
    m[:, 0, 0] = 1.0
    m[:, 1:, 0], m[:, 1:, 1], m[:, 1:, 2], m[:, 1:, 3] = (
        sweep.entry, sweep.e2, sweep.e1, sweep.axis,
    )  # fmt: skip
    return np.asarray(m @ u @ m.transpose(0, 2, 1))
