"""Moments of the intersections that drilled balls are made of, by short forms where there are any.

Four kinds come up all the time and are computed in batches: a bore that ends plainly inside a centred
sphere, a bore that ends in a core or grazes it, two flat bores that run into each other, in a core or
anywhere, and what two equal flat bores side by side share, as those of an oval do. All others go the
general way of `layoutkit.geometry.solids`.

The short forms lay chords along the axis of a bore, too, in flat sections that hold its direction, but
know beforehand which surfaces begin and end them, so that nothing is searched or sorted. A section
gives the integrals of 1, u, t, u^2, u t and t^2, with u across and t along, and one matrix makes
moments of those of all sections.

Units: inches. Moments are homogeneous: the integrals of X X' with X = (1, x, y, z), in3 to in5.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import accumulate, islice, pairwise
from typing import NamedTuple

import numpy as np

from layoutkit.geometry import solids as _solids
from layoutkit.geometry.bores import Bore, bottom_reach
from layoutkit.geometry.roots import golden_section, regula_falsi
from layoutkit.geometry.solids import (
    FAR,
    Ellipsoid,
    Solid,
    eased,
    gauss,
    lens_strips,
    strips,
    turns,
)
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    along,
    cross,
    dot,
    frame,
    minus,
    scaled,
    square_to,
)

PLAIN = 4  # half-planes on one side, and lines in each, where all is smooth
SECTIONS, MORE = 28, 112  # of a bore elsewhere; the second where the first do not settle
NODES = 6  # lines in each part of a section

# By how much the even sections and the odd ones may disagree before more are taken, as a share of a
# bore's volume: without a core and with one. The place of a core is known less well.
_CLOSE, _CORED = 2e-6, 5e-5
# radii of the thinner bore; two that overlap more meet a core in ways that the short form leaves out
_DEEP = 0.9

Rows = tuple[float, ...]  # an origin, two directions across it, and an axis, three numbers each


class _Piece(NamedTuple):
    """One intersection: its number, the rows of its lines, its sizes, its core if one takes part, and
    by how much in3 two halves of its sections may disagree."""

    at: int
    rows: Rows
    sizes: tuple[float, ...]
    core: Ellipsoid | None = None
    limit: float = math.inf
    fading: bool = False  # whether its strips are those for what falls to 0 at both ends


def moments(intersections: Sequence[Sequence[Solid]]) -> Array:
    """Moments about the origin of intersections of convex solids: (n, 4, 4), homogeneous.

    Each intersection must be bounded, as for `solids.moments`; an empty one gives zeros.
    """
    sorter = _Sorter()
    for number, intersection in enumerate(intersections):
        sorter.add(number, intersection)
    plain, sorts, others = sorter.plain, sorter.sections, sorter.others
    result = np.zeros((len(intersections), 4, 4))
    pieces = plain + sorts.all
    if pieces:
        bases = np.zeros((len(pieces), 4, 4))
        bases[:, 0, 0] = 1.0
        bases[:, :, 1:] = np.array([piece.rows for piece in pieces]).reshape(-1, 4, 3)
        local = np.empty((len(pieces), 4, 4))
        n = len(plain)
        with np.errstate(all="ignore"):
            if plain:
                local[:n] = _plain(plain)
            if n < len(pieces):
                local[n:], unsettled = _settled(sorts, bases[n:])
                others += unsettled
        result[[piece.at for piece in pieces]] = bases.transpose(0, 2, 1) @ local @ bases
    if others:
        found = _solids.moments([intersections[n] for n in others])
        result[others, 0, 0], result[others, 1:, 1:] = found.volume, found.second
        result[others, 0, 1:] = result[others, 1:, 0] = found.first
    return result


class _Sorter:
    """Sorts intersections into bores plainly inside spheres, what is cut into sections, and all others.

    How bores lie is worked out once: the same ones come again in every layer.
    """

    def __init__(self) -> None:
        self.plain: list[_Piece] = []
        self.free: list[_Piece] = []  # bores that meet, without a ball or core, and with one
        self.held: list[_Piece] = []
        self.lenses: list[_Piece] = []
        self.cored: list[_Piece] = []
        self.others: list[int] = []
        self.layers: dict[int, bool] = {}
        self.lines: dict[int, _Line] = {}
        self.shifts: dict[tuple[int, int], float | None] = {}
        self.meetings: dict[tuple[int, int], _Meeting | None] = {}

    @property
    def sections(self) -> _Sorts:
        return _Sorts(self.free + self.held, self.lenses, self.cored)

    def add(self, n: int, solids: Sequence[Solid]) -> None:
        """Sort one intersection in, by its number."""
        ball = solids[0] if isinstance(solids[0], Ellipsoid) else None
        bores = [bore for bore in solids if isinstance(bore, Bore)]
        core = None if ball is None or self.is_layer(ball) else ball
        if (ball is not None) + len(bores) < len(solids):
            sorted_in = False
        elif len(bores) == 1:
            sorted_in = self.one(n, ball, core, bores[0])
        elif ball is not None and core is None and _ends_outside(ball, bores):
            sorted_in = False
        elif len(bores) == 2:
            sorted_in = self.two(n, ball, core, *bores)
        else:
            sorted_in = len(bores) == 3 and core is None and self.three(n, ball, bores)
        if not sorted_in:
            self.others.append(n)

    def one(self, n: int, ball: Ellipsoid | None, core: Ellipsoid | None, bore: Bore) -> bool:
        """Sort in a single bore, if a short form holds for it."""
        line = self.lines.get(id(bore)) or self.lines.setdefault(id(bore), _line(bore))
        if core is not None:
            self.cored.append(_cored_piece(n, core, bore, line))
        elif ball is not None and _plainly_inside(ball, bore, line):
            self.plain.append(_plain_piece(n, ball, bore, line))
        else:
            return False
        return True

    def two(self, n: int, ball: Ellipsoid | None, core: Ellipsoid | None, a: Bore, b: Bore) -> bool:
        """Sort in what two bores share, if a short form holds for it."""
        key = id(a), id(b)
        if key not in self.shifts:
            self.shifts[key] = _side_by_side(a, b)
        shift = self.shifts[key]
        if shift is not None and ball is not None:
            if shift < 2.0 * a.radius:
                self.lenses.append(_lens_piece(n, ball, a, b, shift, core is not None))
            return True
        m = self.meeting(a, b)
        if m is None or (core is not None and m.wide > _DEEP * min(a.radius, b.radius)):
            return False
        if m.low < m.high:
            self.meet(ball).append(_shared_piece(n, ball, a, b, m, cored=core is not None))
        return True

    def three(self, n: int, ball: Ellipsoid | None, bores: Sequence[Bore]) -> bool:
        """Sort in what three bores share, if two of them are equal and lie side by side.

        Strips beside a corner, where the walls of these two cross, settle well enough.
        """
        for i, j, k in ((0, 1, 2), (0, 2, 1), (1, 2, 0)):
            a, beside, b = bores[i], bores[j], bores[k]
            shift = _side_by_side(a, beside)
            if shift is not None:
                break
        else:
            return False
        first, second = self.meeting(a, b), self.meeting(beside, b)
        gap = minus(beside.entry, a.entry)
        if first is None or second is None or abs(dot(gap, a.axis) + beside.depth - a.depth) > 1e-9:
            return False
        if first.low >= first.high or second.low >= second.high or shift >= 2.0 * a.radius:
            return True
        xi, y = dot(gap, first.e1), dot(gap, first.e2)
        low, high = max(first.low, y + second.low), min(first.high, y + second.high)
        if low < high:
            m = first._replace(low=low, high=high)
            self.meet(ball).append(_shared_piece(n, ball, a, b, m, (xi, y)))
        return True

    def is_layer(self, ball: Ellipsoid) -> bool:
        """Whether an ellipsoid is a sphere about the origin, as layers are."""
        if id(ball) not in self.layers:
            a, b, c = ball.semi_axes
            self.layers[id(ball)] = a == b == c and ball.center == (0.0, 0.0, 0.0)
        return self.layers[id(ball)]

    def meeting(self, a: Bore, b: Bore) -> _Meeting | None:
        """How two bores run into each other."""
        key = id(a), id(b)
        if key not in self.meetings:
            self.meetings[key] = _meeting(a, b)
        return self.meetings[key]

    def meet(self, ball: Ellipsoid | None) -> list[_Piece]:
        """Where bores that meet are kept."""
        return self.free if ball is None else self.held


def _ends_outside(layer: Ellipsoid, bores: Sequence[Bore]) -> bool:
    """Whether a bottom reaches out of a layer: short forms leave out the edges that it makes there."""
    return any(bottom_reach(bore) > layer.semi_axes[0] for bore in bores)


def _assembly(p: Sequence[Array | float], q: Sequence[Array | float], count: int) -> Array:
    """(6 count, 16): what sections' integrals of 1, u, t, u^2, u t, t^2 add to moments.

    A section's X is p + u q + t (0, 0, 0, 1), ``p`` and ``q`` four rows of numbers or (count,).
    """
    a, b, t = (
        np.array([np.broadcast_to(v, (count,)) for v in x]).T for x in (p, q, (0.0, 0.0, 0.0, 1.0))
    )

    def product(x: Array, y: Array) -> Array:
        one = x[:, :, None] * y[:, None]
        return np.asarray(one if x is y else one + one.transpose(0, 2, 1))

    parts = [product(x, y) for x, y in ((a, a), (a, b), (a, t), (b, b), (b, t), (t, t))]
    return np.array(parts).reshape(6 * count, 16)


def _columns(pieces: Sequence[_Piece]) -> Array:
    """The sizes of pieces of one kind: (sizes, k, 1)."""
    return np.array([piece.sizes for piece in pieces]).T[:, :, None]


# --- one bore that ends plainly inside a sphere ---------------------------------------------------


class _Line(NamedTuple):
    """How lines are laid along a bore.

    ``rows`` start at the entry, ``disc`` where the axis is nearest to the ball's centre; e1 points to
    the centre. In ``disc`` the two directions across are as long as the bore's radius. ``foot`` is the
    depth of that nearest point, ``offset`` its distance from the centre, ``tip`` the height of the
    drill point.
    """

    rows: Rows
    disc: Rows
    foot: float
    offset: float
    tip: float


def _line(bore: Bore) -> _Line:
    entry, axis, r = bore.entry, bore.axis, bore.radius
    foot = -dot(entry, axis)
    nearest = along(entry, axis, foot)
    offset = math.hypot(*nearest)
    e1 = scaled(nearest, -1.0 / offset) if offset > 1e-9 else frame(axis)[0]
    e2 = cross(axis, e1)
    disc = (*nearest, *scaled(e1, r), *scaled(e2, r), *axis)
    return _Line((*entry, *e1, *e2, *axis), disc, foot, offset, bore.tip_height)


def _plainly_inside(ball: Ellipsoid, bore: Bore, line: _Line) -> bool:
    """Whether the bore ends well inside this sphere about the origin and enters it plainly."""
    r = ball.semi_axes[0]
    # a little wider than the bore: a sphere that is crossed just beside it slows the convergence
    wide = line.offset + 1.2 * bore.radius
    short = bore.depth - line.foot
    past = short + line.tip
    return wide < 0.8 * r and max(past * past, short * short) < r * r - wide * wide


def _plain_piece(n: int, ball: Ellipsoid, bore: Bore, line: _Line) -> _Piece:
    r, h, offset, size = bore.radius, line.tip, line.offset, ball.semi_axes[0]
    sizes = (size * size - offset * offset, 2.0 * offset * r, r * r, bore.depth + h - line.foot, h)
    return _Piece(n, line.disc, sizes)


@lru_cache(maxsize=1)
def _disc() -> tuple[Array, Array, Array, Array]:
    """Lines over half a unit disc: place across, radius and weight of each, and their assembly."""
    nodes, weights = gauss(PLAIN)
    turn = np.cos(math.pi * (np.arange(PLAIN) + 0.5) / PLAIN)
    radius, cos = np.repeat(nodes, PLAIN), np.tile(turn, PLAIN)
    weight = np.repeat(weights * nodes, PLAIN) * (2.0 * math.pi / PLAIN)
    x = radius * cos
    count = len(x)
    assembly = _assembly((1.0, x, 0.0, 0.0), (0.0, 0.0, 0.0, 0.0), count).reshape(6, count, 16)
    assembly[0, :, 10] = radius * radius - x * x  # the other side has the same y, but negative
    return x, radius, weight, assembly[[0, 2, 5]].reshape(-1, 16)


def _plain(pieces: Sequence[_Piece]) -> Array:
    """Moments (k, 4, 4) of bores that end plainly inside spheres, in their own bases.

    The lines stand at Gauss nodes of the radius and equal angles, on one side of the plane through the
    axis and the ball's centre; the other side mirrors them.
    """
    k = len(pieces)
    inside, lean, square, end, tip = _columns(pieces)
    x, radius, weight, assembly = _disc()
    upper = -np.sqrt(inside + lean * x - square * (radius * radius))
    lower = end - tip * radius
    length, mean = lower - upper, 0.5 * (lower + upper)
    held = np.empty((k, 3, len(x)))
    held[:, 0] = w = length * (square * weight)
    held[:, 1] = wt = w * mean
    held[:, 2] = wt * mean + w * length * length * (1.0 / 12.0)
    return np.asarray((held.reshape(k, -1) @ assembly).reshape(k, 4, 4))


# --- sections: half-planes through a bore that a core ends, strips where two bores meet -----------


class _Sorts(NamedTuple):
    """What is cut into sections: two bores that meet (those in cores last), two bores side by side,
    and single bores in cores."""

    shared: list[_Piece]
    lenses: list[_Piece]
    cored: list[_Piece]

    @property
    def all(self) -> list[_Piece]:
        return [*self.shared, *self.lenses, *self.cored]


def _side_by_side(a: Bore, b: Bore) -> float | None:
    """How far apart the axes of two equal flat bores are that lie side by side; None of all others."""
    if a.radius != b.radius or a.tip_height or b.tip_height or dot(a.axis, b.axis) < 1.0 - 1e-12:
        return None
    shift = math.hypot(*square_to(minus(b.entry, a.entry), a.axis))
    return shift if shift > 1e-6 else None


def _lens_piece(n: int, ball: Ellipsoid, a: Bore, b: Bore, shift: float, cored: bool) -> _Piece:
    """What equal bores side by side share in a ball: strips square to the plane of both axes, about
    the line midway between these, down to the higher of the bottoms."""
    r, gap = a.radius, minus(b.entry, a.entry)
    e1 = scaled(square_to(gap, a.axis), 1.0 / shift)
    reach = math.sqrt(r * r - 0.25 * shift * shift)
    rows = (*along(a.entry, e1, 0.5 * shift), *e1, *scaled(cross(a.axis, e1), reach), *a.axis)
    end = min(a.depth, b.depth + dot(gap, a.axis))
    limit = (_CORED if cored else _CLOSE) * math.pi * r * r * a.depth
    return _Piece(n, rows, (end, 0.5 * shift, r, reach), ball, limit, fading=True)


def _cored_piece(n: int, core: Ellipsoid, bore: Bore, line: _Line) -> _Piece:
    h, r = line.tip, bore.radius
    limit = _CORED * math.pi * r * r * bore.depth
    return _Piece(n, line.rows, (bore.depth + h, -h / r, r), core, limit)


class _Meeting(NamedTuple):
    """Two bores in sections parallel to both axes, where both are strips with straight ends.

    A section stands at y along e2 from a's axis, and in it xi counts along e1 from that axis and t
    along it. ``y_b`` and ``xi_b`` place b's axis where it passes t = 0, ``sin`` and ``cos`` are those
    of the angle between the axes. b's axis crosses a's bottom at ``on_a``, and b's bottom reaches up to
    ``on_b`` less its half-width times cos. ``low`` and ``high`` are the ends of y, ``wide`` is how far
    the strips overlap in about the middle.
    """

    e1: Vector
    e2: Vector
    depth_b: float
    xi_b: float
    y_b: float
    sin: float
    cos: float
    on_a: float
    on_b: float
    low: float
    high: float
    wide: float


def _meeting(a: Bore, b: Bore) -> _Meeting | None:
    """How two bores run into each other; None where the short form does not hold.

    ``low`` and ``high`` are both 0 where they have nothing in common.
    """
    if a.tip_height or b.tip_height:
        return None
    normal = cross(b.axis, a.axis)
    sin, cos = math.hypot(*normal), dot(a.axis, b.axis)
    if sin < 0.02 or cos < 0.3:
        return None
    e2 = scaled(normal, 1.0 / sin)
    e1 = cross(e2, a.axis)
    gap = minus(b.entry, a.entry)
    t_b = dot(gap, a.axis)
    # b's axis where it passes a's entry plane; b leans toward -e1
    xi_b, y_b = dot(gap, e1) + t_b * sin / cos, dot(gap, e2)
    depth_b = b.depth + t_b / cos
    on_a = xi_b - a.depth * sin / cos
    on_b = xi_b - depth_b * sin
    ra, rb = a.radius, b.radius
    low, high = max(-ra, y_b - rb), min(ra, y_b + rb)

    def overlap(y: float) -> float:
        """Width of the section where it is widest, at the higher bottom: a concave function."""
        wide = math.sqrt(max(rb * rb - (y - y_b) * (y - y_b), 0.0))
        mine = math.sqrt(max(ra * ra - y * y, 0.0))
        return float(mine - max(on_a - wide / cos, on_b - wide * cos))

    # between two circles it is positive on the line of their centres, if anywhere
    far = max(on_a, on_b)
    apart = math.hypot(far, y_b)
    ahead = 0.5 * (apart * apart + ra * ra - rb * rb) / apart if apart > 1e-9 else 0.0
    middle = y_b * ahead / apart if far > 0.0 and apart > 1e-9 else 0.5 * (low + high)
    if not low < middle < high:
        middle = 0.5 * (low + high)
    most = overlap(middle)
    if most <= 0.0:
        middle, most = _greatest(overlap, low, high)
    if most <= 0.0:
        low = high = 0.0
    else:
        # and ends where the circles cross
        across = math.sqrt(max(ra * ra - ahead * ahead, 0.0)) * max(far, 0.0) / max(apart, 1e-9)
        low = _vanishes(overlap, middle, most, low, middle - across)
        high = _vanishes(overlap, middle, most, high, middle + across)
    return _Meeting(e1, e2, depth_b, xi_b, y_b, sin, cos, on_a, on_b, low, high, most)


def _greatest(f: Callable[[float], float], low: float, high: float) -> tuple[float, float]:
    """A place where a concave function is positive, and its value; else near its maximum.

    Beyond two of its points a concave function lies below the line through them. The search stops as
    soon as such lines show that the function is positive nowhere.
    """
    for bracket in islice(golden_section(lambda x: -f(x), low, high), 21):
        (low, c, d, high), (at_low, at_c, at_d, at_high) = bracket
        # of -f, which is convex
        fall, rise = (at_c - at_low) / (c - low), (at_d - at_high) / (high - d)
        slope = (at_d - at_c) / (d - c)
        between = max(at_c + fall * (d - c), at_d + rise * (d - c))
        outside = min(at_c - slope * (c - low), at_d + slope * (high - d))
        if min(at_c, at_d) < 0.0 or min(at_c, at_d, between, outside) > 0.0:
            break
    place, value = bracket.least
    return place, -value


def _vanishes(
    f: Callable[[float], float], inside: float, value: float, end: float, guess: float
) -> float:
    """Where a concave function, positive inside, falls to 0 on the way to the end; else the end.

    A wrong end cuts off a volume that grows with the cube of the error, so a rough end will do.
    """
    there = f(end)
    if there >= 0.0:
        return end
    between = min(inside, end) < guess < max(inside, end)
    start = guess if between else 0.5 * (inside + end)
    return regula_falsi(f, inside, value, end, there, 1e-4, 30, start)


def _shared_piece(
    n: int,
    ball: Ellipsoid | None,
    a: Bore,
    b: Bore,
    m: _Meeting,
    beside: tuple[float, float] = (0.0, 0.0),
    cored: bool = False,
) -> _Piece:
    """What two bores share, or ``beside`` a, along e1 and e2 from it, an equal one shares with both."""
    y, reach = 0.5 * (m.low + m.high), 0.5 * (m.high - m.low)
    # about the middle section, the direction across them as long as their reach
    rows = (*along(a.entry, m.e2, y), *m.e1, *scaled(m.e2, reach), *a.axis)
    # in a section b's bottom is t = base + tan u, its axis t = middle - slope u
    tan, slope = m.sin / m.cos, m.cos / m.sin
    base, middle = m.depth_b / m.cos - m.xi_b * tan, m.xi_b * slope
    level = m.on_a + (m.on_b - m.on_a) / (m.sin * m.sin)  # where the two bottoms cross
    sizes = (
        *(a.radius * a.radius, b.radius * b.radius, a.depth, base, tan, middle, slope),
        *(1.0 / m.sin, m.cos, 1.0 / m.cos, m.on_a, m.on_b, level, y, y - m.y_b),
        *(beside[0], y - beside[1], reach),
    )
    # a vent in a layer, or where two bores make a corner: little of the thicker bore
    fading = beside != (0.0, 0.0) or (ball is not None and not cored)
    measure = min(a, b, key=lambda bore: bore.radius) if fading else a
    limit = (_CORED if cored else _CLOSE) * math.pi * measure.radius**2 * measure.depth
    return _Piece(n, rows, sizes, ball, limit, fading)


class _Sections(NamedTuple):
    """What n sections make of forms in X = (1, p, q), p and q linear in u, and of their integrals.

    ``forms`` (12, 5 n) takes the nine coefficients of a quadratic form and the three of a linear one
    to those of 1, 2 u and u^2, and of 1 and u; ``assembly`` (6 n, 16) integrals to moments.
    """

    forms: Array
    assembly: Array


def _forms(p: tuple[Array, Array], q: tuple[Array, Array]) -> _Sections:
    """Sections with p = p0 + p1 u and q = q0 + q1 u; all (n,)."""
    n = len(p[0])
    fixed, moving = np.array((np.ones(n), p[0], q[0])), np.array((np.zeros(n), p[1], q[1]))
    halves = np.array(
        (fixed[:, None] * fixed, fixed[:, None] * moving, moving[:, None] * moving)
    )  # (3, 3, 3, n)
    forms = np.zeros((12, 5 * n))
    forms[:9, : 3 * n] = halves.transpose(1, 2, 0, 3).reshape(9, 3 * n)
    forms[9:, 3 * n :] = np.array((fixed, moving)).transpose(1, 0, 2).reshape(3, 2 * n)
    assembly = _assembly((1.0, p[0], q[0], 0.0), (0.0, p[1], q[1], 0.0), n)
    return _Sections(forms, assembly)


@lru_cache(maxsize=4)
def _turned(count: int) -> _Sections:
    """Half-planes at equal angles."""
    c, s = turns(count)
    none = np.zeros(count)
    return _forms((none, c), (none, s))


@lru_cache(maxsize=4)
def _strips(count: int) -> _Sections:
    """Sections from q = -1 to 1."""
    return _across(strips(count)[0])


@lru_cache(maxsize=4)
def _fading_strips(count: int) -> _Sections:
    """The same for what falls to 0 at both ends."""
    return _across(lens_strips(count)[0])


def _across(place: Array) -> _Sections:
    one, none = np.ones(len(place)), np.zeros(len(place))
    return _forms((none, one), (place, none))


def _places(pieces: Sequence[_Piece], count: int) -> tuple[Array, Array]:
    """Places and weights (k, count) of the strips of each piece."""
    fading = np.array([piece.fading for piece in pieces])[:, None]
    (place, weight), (others, their_weight) = lens_strips(count), strips(count)
    return np.where(fading, place, others), np.where(fading, weight, their_weight)


def _kinds(
    pieces: Sequence[_Piece], cut: int
) -> list[tuple[Callable[[int], _Sections], list[int]]]:
    """The numbers of pieces by the kind of their sections; the first ``cut`` are cut into strips."""
    fading = [i for i in range(cut) if pieces[i].fading]
    plain = [i for i in range(cut) if not pieces[i].fading]
    kinds = ((_strips, plain), (_fading_strips, fading), (_turned, list(range(cut, len(pieces)))))
    return [(sections, numbers) for sections, numbers in kinds if numbers]


def _lines(cores: Sequence[Ellipsoid], bases: Array) -> tuple[Array, Array]:
    """Ellipsoids as lines along the bases' axes meet them: a (k,), and D and b (k, 12).

    With X = (1, p, q) the line at origin + p e1 + q e2 is inside from -(b X + root) / a to
    -(b X - root) / a, root^2 = X' D X. D comes first, row by row.
    """
    maps: dict[int, tuple[Vector, Vector, Vector]] = {}
    for core in cores:
        if id(core) not in maps:  # to the unit sphere
            (p, q, r), (a, b, c) = core.axes, core.semi_axes
            maps[id(core)] = (scaled(p, 1.0 / a), scaled(q, 1.0 / b), scaled(r, 1.0 / c))
    placed = bases[:, :, 1:].copy()
    placed[:, 0] -= [core.center for core in cores]
    seen = placed @ np.array([maps[id(core)] for core in cores]).transpose(0, 2, 1)
    gram = seen @ seen.transpose(0, 2, 1)
    size, lean = gram[:, 3, 3], gram[:, 3, :3]
    forms = np.empty((len(cores), 12))
    products = (lean[:, :, None] * lean[:, None]).reshape(-1, 9)
    forms[:, :9] = products - size[:, None] * gram[:, :3, :3].reshape(-1, 9)
    forms[:, 0] += size
    forms[:, 9:] = lean
    return size, forms


@lru_cache(maxsize=4)
def _signs(count: int) -> Array:
    """1 for every second section, -1 for the others."""
    signs = np.ones(count)
    signs[1::2] = -1.0
    return signs


def _settled(sorts: _Sorts, bases: Array) -> tuple[Array, list[int]]:
    """Moments (k, 4, 4) in their bases, and the numbers of the pieces that did not settle.

    Where few sections do not settle, more are taken.
    """
    pieces = sorts.all
    local, apart = _integrals(sorts, bases, SECTIONS)
    wide = [i for i, off in enumerate(apart.tolist()) if not off <= pieces[i].limit]
    if not wide:
        return local, []
    ends = list(accumulate(map(len, sorts), initial=0))
    some = _Sorts(*([pieces[i] for i in wide if a <= i < b] for a, b in pairwise(ends)))
    local[wide], apart = _integrals(some, bases[wide], MORE)
    found = zip(wide, apart.tolist(), strict=True)
    return local, [pieces[i].at for i, off in found if not off <= 4.0 * pieces[i].limit]


class _Surfaces(NamedTuple):
    """What bounds the chords of all pieces: ``shared`` of ``k`` first, then those side by side.

    Those in cores stand from ``free`` on. A part is None where there is no such piece.
    """

    shared: int
    free: int
    k: int
    wide: tuple[Array, Array] | None  # the shared ones' columns, and the edges of their strips
    slopes: tuple[Array, Array] | None  # where ends of cored ones lie on the axis, and their slopes
    level: tuple[Array, Array] | None  # the bottoms of lenses, and how far their strips reach
    cores: (
        tuple[Array, Array, Array] | None
    )  # a core's size, what lies under the root, chords' middles


def _integrals(sorts: _Sorts, bases: Array, count: int) -> tuple[Array, Array]:
    """Moments (k, 4, 4) in the bases by ``count`` sections of each, and how far halves of them differ.

    The shared ones stand first, those in cores last among them. In each part of a section the same
    surfaces begin and end all chords.
    """
    place, weight = _places([*sorts.shared, *sorts.lenses], count)
    surfaces, edges = _section_edges(sorts, bases, place, count)
    j, free, k = surfaces.shared, surfaces.free, surfaces.k
    m = len(place)
    nodes, weights = eased(NODES)
    width = edges[1:] - edges[:-1]
    used = len(width)
    while used > 1 and not width[used - 1].any():  # the last parts, which no section has
        used -= 1
    width = width[:used]
    u = width * nodes[:, None, None, None]  # (nodes, parts, k, count)
    u += edges[: len(width)]
    upper, lower = np.empty(u.shape), np.empty(u.shape)
    if surfaces.wide is not None:
        sizes, wide = surfaces.wide
        upper[:, :, :j], lower[:, :, :j] = _strip_chords(sizes, wide, u[:, :, :j])
        width[:, :j] *= sizes[-1] * weight[:j]
    if surfaces.level is not None:
        end, reach = surfaces.level
        upper[:, :, j:m], lower[:, :, j:m] = -FAR, end
        width[:, j:m] *= reach * weight[j:]
    if surfaces.slopes is not None:
        end, slope = surfaces.slopes
        upper[:, :, m:], lower[:, :, m:] = -FAR, end + slope * u[:, :, m:]
        width[:, m:] *= 2.0 * math.pi / count
    if surfaces.cores is not None:
        _keep_in_cores(u[:, :, free:], upper[:, :, free:], lower[:, :, free:], *surfaces.cores)
    sums = _sums(u, upper, lower, weights, width, m)
    local = np.empty((k, 16))
    columns = sums.transpose(1, 0, 2).reshape(k, -1)
    for sections, numbers in _kinds(sorts.all, m):
        local[numbers] = columns[numbers] @ sections(count).assembly
    return local.reshape(k, 4, 4), np.abs(sums[0] @ _signs(count))


def _section_edges(
    sorts: _Sorts, bases: Array, place: Array, count: int
) -> tuple[_Surfaces, Array]:
    """What bounds the chords, and the edges (parts + 1, k, count) of the parts of each section.

    ``place`` (m, count) are the strips of those pieces that are cut into such. The first edges are where
    a section begins, the last where it ends, those between where surfaces take turns, in order.
    """
    j, m, k = len(sorts.shared), len(place), len(bases)
    cored = [piece for piece in sorts.all if piece.core is not None]
    free = k - len(cored)
    edges = np.empty((6 if free < j else 4, k, count))
    edges.fill(FAR)
    a, q, v = _in_cores(cored, bases[free:], m - free, count)
    wide = slopes = level = None
    if j:
        sizes = _columns(sorts.shared)
        strip = _strip_edges(sizes, place[:j], edges[:, :j])
        wide = sizes, strip
        if free < j:
            of_core = slice(0, j - free)
            edges[3:-1, free:j] = _core_edges(
                sizes[:, free:], strip[free:], a[of_core], q[:, of_core], v[:, of_core]
            )
    if j < m:
        end, half_gap, radius, reach = _columns(sorts.lenses)
        own = slice(j - free, m - free)
        y = reach * place[j:]
        half = np.sqrt(radius * radius - y * y) - half_gap
        _ellipse_edges(a[own], q[:, own], v[:, own], (end, 0.0), (-half, half), edges[:, j:m])
        level = end, reach
    if m < k:
        end, slope, radius = _columns(sorts.cored)
        own = slice(m - free, None)
        _ellipse_edges(a[own], q[:, own], v[:, own], (end, slope), (0.0, radius), edges[:, m:])
        slopes = end, slope
    first, between, last = edges[0], edges[1:-1], edges[-1]
    np.copyto(between, last, where=~((between > first) & (between < last)))
    between.sort(axis=0)
    in_cores = (a, q, v) if cored else None
    return _Surfaces(j, free, k, wide, slopes, level, in_cores), edges


def _in_cores(
    pieces: Sequence[_Piece], bases: Array, cut: int, count: int
) -> tuple[Array, Array, Array]:
    """Each core's size (n, 1), under the root (3, n, count), and a chord's middle (2, n, count).

    The first ``cut`` are cut into strips, the others turned about their axis.
    """
    cores = [piece.core for piece in pieces if piece.core is not None]
    seen = np.empty((5, len(cores), count))
    if not cores:
        return np.empty((0, 1)), seen[:3], seen[3:]
    size, forms = _lines(cores, bases)
    for sections, numbers in _kinds(pieces, cut):
        by_piece = (forms[numbers] @ sections(count).forms).reshape(-1, 5, count)
        seen[:, numbers] = by_piece.transpose(1, 0, 2)
    return size[:, None], seen[:3], seen[3:]


def _keep_in_cores(u: Array, upper: Array, lower: Array, a: Array, q: Array, v: Array) -> None:
    """Shorten chords, in place, to what of them lies in their cores.

    ``u``, ``upper`` and ``lower`` are (nodes, parts, k, sections). A line's part in its core runs from
    -(v + root) / a to -(v - root) / a, with root^2 = q0 + 2 q1 u + q2 u^2 and v = v0 + v1 u.
    """
    root = q[2] * u
    root += 2.0 * q[1]
    root *= u
    root += q[0]
    np.sqrt(np.maximum(root, 0.0, out=root), out=root)
    share = -1.0 / a
    root *= share
    middle = v[1] * u
    middle += v[0]
    middle *= share
    np.maximum(upper, middle + root, out=upper)
    np.minimum(lower, np.subtract(middle, root, out=root), out=lower)


def _sums(u: Array, upper: Array, lower: Array, weights: Array, width: Array, polar: int) -> Array:
    """Integrals (6, k, sections) over chords (nodes, parts, k, sections).

    ``weights`` are those of the nodes, ``width`` (parts, k, sections) those of the parts; from number
    ``polar`` on chords stand in half-planes and are weighted with their distance from the axis, too.
    """
    held = np.empty((6, *u.shape))
    mean = lower + upper
    mean *= 0.5
    length = np.subtract(lower, upper, out=lower)
    np.maximum(length, 0.0, out=length)
    held[0] = length
    held[0, :, :, polar:] *= u[:, :, polar:]
    np.multiply(held[0], u, out=held[1])
    np.multiply(held[0], mean, out=held[2])
    np.multiply(held[1], u, out=held[3])
    np.multiply(held[1], mean, out=held[4])
    np.multiply(held[2], mean, out=held[5])
    length *= length
    length *= held[0]
    length *= 1.0 / 12.0
    held[5] += length
    over = (weights @ held.reshape(6, len(weights), -1)).reshape(6, *width.shape)
    over *= width
    return np.asarray(over.sum(axis=1))


def _roots(q0: Array, q1: Array, q2: Array) -> tuple[Array, Array]:
    """Lesser and greater zero of q0 + 2 q1 u + q2 u^2 with q2 < 0; its maximum twice if none."""
    root = np.sqrt(np.maximum(q1 * q1 - q0 * q2, 0.0))
    return (root - q1) / q2, (root + q1) / -q2


def _ellipse_edges(
    a: Array,
    q: Array,
    v: Array,
    line: tuple[Array, Array | float],
    reach: tuple[Array | float, Array],
    edges: Array,
) -> None:
    """Fill in the edges of sections in which a straight end crosses an ellipse.

    The end is given where u is 0, and its slope; what stands in a section reaches from one u to another.
    """
    end, slope = line
    # the silhouette, and the crossings with the end: where q0 + 2 q1 rho + q2 rho^2 vanishes
    both = np.empty((3, 2, *q.shape[1:]))
    both[:, 0] = q
    # how far the end lies beyond the middle of the core's chord, times a
    v0, v1 = v[0] + a * end, v[1] + a * slope
    np.subtract(q, (v0 * v0, v0 * v1, v1 * v1), out=both[:, 1])
    at = np.array(_roots(*both))  # (2 ends, 2 conics, k, count)
    outer, inner = at[:, 0], np.minimum(np.maximum(at[:, 1], at[0, 0]), at[1, 0])
    # the end crosses the core's near side there, and the part ends; or its far side, and it goes on
    ends = np.where(v0 + v1 * inner <= 0.0, inner, outer)
    edges[1:3] = inner
    low, high = reach
    edges[0], edges[-1] = np.minimum(np.maximum(ends, low, out=ends), high, out=ends)


def _strip_edges(sizes: Array, place: Array, edges: Array) -> Array:
    """Fill in the edges of strips at places (k, count); returns half of b's width in them."""
    square_a, square_b, *_, cos, over_cos, on_a, on_b, level, y, y_b, xi_c, y_c, reach = sizes
    q = reach * place
    half = np.sqrt(square_a - (y + q) ** 2)
    other = np.sqrt(np.maximum(square_a - (y_c + q) ** 2, 0.0))
    low, high = np.maximum(-half, xi_c - other), np.minimum(half, xi_c + other)
    wide = np.sqrt(np.maximum(square_b - (y_b + q) ** 2, 0.0))
    by_a, by_b = wide * over_cos, wide * cos
    first = np.maximum(np.maximum(on_a - by_a, on_b - by_b), low)
    edges[0], edges[-1] = np.minimum(first, high), high
    edges[1], edges[2] = np.minimum(level, on_b + by_b), np.maximum(level, on_a + by_a)
    return np.asarray(wide)


def _core_edges(sizes: Array, wide: Array, a: Array, q: Array, v: Array) -> Array:
    """Where in strips the near and the far side of b leave a core outward: (2, k, count)."""
    middle, slope, over_sin = sizes[5:8]
    aside = wide * over_sin
    v0, v1 = v[0] + a * np.array((middle - aside, middle + aside)), v[1] - a * slope
    return _roots(q[0] - v0 * v0, q[1] - v0 * v1, q[2] - v1 * v1)[1]


def _strip_chords(sizes: Array, wide: Array, xi: Array) -> tuple[Array, Array]:
    """Where chords of strips begin and end: near side of b, and its far side or a bottom."""
    depth_a, base, tan, middle, slope, over_sin = sizes[2:8]
    aside = wide * over_sin
    bottom = xi * tan
    bottom += base
    np.minimum(bottom, depth_a, out=bottom)
    axis = xi * slope
    np.subtract(middle, axis, out=axis)
    return axis - aside, np.minimum(np.add(axis, aside, out=axis), bottom, out=bottom)
