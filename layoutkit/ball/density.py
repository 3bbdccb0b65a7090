"""The density field of a ball: what cuts and fills change in it, in order.

The density at a point is that of the last body painted there: shell, filler, core, then the cuts and
fills of the job in order. The whole field is kept as a sum of weighted intersections of convex
solids. A step that paints a solid S with density q takes every term w * [K] away inside S, which
adds -w * [K and S], and adds q * [ball and S]; so later steps see exactly what earlier ones left.
Where many holes meet, such sums grow beyond any bound, and `layoutkit.ball.chords` takes their place.

Units: inches, ounces; densities of fills are given in g/cm3 and kept in oz/in3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import NamedTuple

import numpy as np

from layoutkit.ball.layers import Body
from layoutkit.geometry.bores import Bore, bottom_reach, common_reach, rounded_gap
from layoutkit.geometry.short_forms import moments
from layoutkit.geometry.solids import Ellipsoid, Solid
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    along,
    dot,
    length,
    minus,
    scaled,
    square_to,
    unit,
)
from layoutkit.units import OZ_PER_IN3


class Step(NamedTuple):
    """One cut (density 0) or fill of the job; ``density`` in g/cm3, ``hole`` its number."""

    solid: Bore
    density: float
    hole: int


class Change(NamedTuple):
    """What all steps took away: of each hole in oz, and together first and second (3, 3) moment."""

    removed_oz: tuple[float, ...]
    first: Vector
    second: Array


WHOLE = -1  # in place of a layer: the bores' common part lies inside the ball as it is
CORE = 2  # the layer that need not be reached by a bore
MOST_MEETING = 3  # holes in one group that are painted; their common parts multiply with each more
Key = tuple[int, tuple[int, ...]]  # a layer, and the bores it is cut with, by number


class _Painter:
    """The density field as weighted intersections, and what each hole's steps added to it.

    Bores are known by number. Bores on one straight line (a bore, its sleeve, the finished hole) are
    reduced to the smaller of each two; lines that are apart have nothing in common. What the outer
    two of a row of equal bores have in common lies inside all bores between them, as they are convex.
    """

    def __init__(self, bodies: Sequence[Body], steps: Sequence[Step]) -> None:
        self.weights = [weight for weight, _ in bodies[0].terms]
        self.cores = [body.terms[CORE][1] for body in bodies if len(body.terms) > CORE]
        self.spheres = [solid.semi_axes[0] for _, solid in bodies[0].terms[:CORE]]
        self.by_hole: dict[Key, dict[int, float]] = {}
        self.bores: list[Bore] = []
        self.line: list[int] = []
        self.numbers: dict[Bore, int] = {}
        self.lines: dict[tuple[float, ...], int] = {}
        self.meeting: dict[tuple[int, int], tuple[int, ...] | None] = {}
        self.common: dict[tuple[int, int], float | None] = {}
        self.near_core: dict[int, bool] = {}
        self.keys: dict[Key, Key | None] = {}
        self.steps = [(self.number(step.solid), step) for step in steps]
        # for each line a bore that holds all others on it
        self.widest: list[Bore] = []
        for line in range(len(self.lines)):
            bores = [b for b, n in zip(self.bores, self.line, strict=True) if n == line]
            radius = max(b.radius for b in bores)
            depth = max(b.depth + b.tip_height for b in bores)
            self.widest.append(Bore(bores[0].entry, bores[0].axis, radius, depth))
        self.rows = _rows(self.bores, self.line)

    def number(self, bore: Bore) -> int:
        """A bore's number; new bores are added."""
        n = self.numbers.setdefault(bore, len(self.bores))
        if n == len(self.bores):
            self.bores.append(bore)
            # holes are told apart by their axes, and those of two plugs in one place by their entry
            self.line.append(self.lines.setdefault((*bore.entry, *bore.axis), len(self.lines)))
        return n

    def outermost(self, one: int, other: int) -> float | None:
        """How far out the bores on two lines have something in common at most; None if apart."""
        pair = (one, other) if one < other else (other, one)
        if pair not in self.common:
            a, b = self.widest[one], self.widest[other]
            self.common[pair] = None if rounded_gap(a, b) > 0.0 else common_reach(a, b)
        return self.common[pair]

    def meet(self, i: int, j: int) -> tuple[int, ...] | None:
        """The two bores' common part as bores: one, both, or None if they are apart."""
        key = (i, j) if i < j else (j, i)
        if key not in self.meeting:
            self.meeting[key] = self._meet(*key)
        return self.meeting[key]

    def _meet(self, i: int, j: int) -> tuple[int, ...] | None:
        if i == j:
            return (i,)
        if self.line[i] != self.line[j]:
            return None if self.outermost(self.line[i], self.line[j]) is None else (i, j)
        a, b = self.bores[i], self.bores[j]
        if a.radius <= b.radius and a.depth + a.tip_height <= b.depth:
            return (i,)
        if b.radius <= a.radius and b.depth + b.tip_height <= a.depth:
            return (j,)
        if a.tip_height == 0.0 and b.tip_height == 0.0:
            both = Bore(a.entry, a.axis, min(a.radius, b.radius), min(a.depth, b.depth))
            return (self.number(both),)
        return (i, j)

    def within(self, bores: tuple[int, ...], s: int) -> tuple[int, ...] | None:
        """The bores whose common part is that of ``bores`` and bore ``s``; None if empty."""
        for q in bores:
            both = self.meet(q, s)
            if both is None:
                return None
            if len(both) == 1:
                if len(bores) == 1:
                    return both
                return self.within(tuple(i for i in bores if i != q), both[0])
        held = tuple(sorted((*bores, s)))
        return self.outer(held) if self.rows and len(held) > 2 else held

    def outer(self, bores: tuple[int, ...]) -> tuple[int, ...]:
        """The bores without those that lie in their row between two others of them."""
        places: dict[int, list[tuple[float, int]]] = {}
        for i in bores:
            if i in self.rows:
                row, place = self.rows[i]
                places.setdefault(row, []).append((place, i))
        between = {i for row in places.values() for _, i in sorted(row)[1:-1]}
        return tuple(i for i in bores if i not in between)

    def groups(self) -> list[set[int]]:
        """The lines in sets that have nothing in common with each other."""
        groups: list[set[int]] = []
        for line in range(len(self.lines)):
            near = [g for g in groups if any(self.outermost(line, n) is not None for n in g)]
            groups = [g for g in groups if g not in near] + [{line}.union(*near)]
        return groups

    def key(self, layer: int, bores: tuple[int, ...]) -> Key | None:
        """Where the common part of several bores in a layer is booked; None if there is nothing.

        WHOLE where they meet only inside a centred sphere: what two bores share ends where their
        walls cross outside, and at a bottom inside.
        """
        if layer == CORE:
            a, b = self.bores[bores[0]], self.bores[bores[1]]
            above = all(_plainly_above(a, b, core) for core in self.cores)
            return None if above else (CORE, bores)
        if layer != WHOLE and any(self.deep(i, j, layer) for i, j in combinations(bores, 2)):
            layer = WHOLE
        return (layer, bores)

    def deep(self, i: int, j: int, layer: int) -> bool:
        """Whether all that two bores on different lines share lies inside a layer's sphere."""
        one, other = self.line[i], self.line[j]
        crossing = None if one == other else self.outermost(one, other)
        if crossing is None:
            return False
        return max(crossing, bottom_reach(self.bores[i])) < self.spheres[layer] - 1e-6

    def crowded(self, group: set[int]) -> bool:
        """Whether so many holes meet that lines across them tell more quickly what they take.

        A row counts as one: what its bores share is simple.
        """
        rows = {self.line[b]: row for b, (row, _) in self.rows.items()}
        return len({rows.get(line, -1 - line) for line in group}) > MOST_MEETING

    def paint(self, groups: Sequence[set[int]]) -> None:
        """All steps in order: each adds its change to the field and to its hole's account.

        The lines of each group meet none of another group's, so they are painted by themselves.
        """
        for group in groups:
            field: dict[Key, float] = {(n, ()): weight for n, weight in enumerate(self.weights)}
            for s, step in self.steps:
                if self.line[s] in group:
                    self.add(field, s, step)

    def add(self, field: dict[Key, float], s: int, step: Step) -> None:
        """One step's change: each term of the field ends inside the solid, its density begins."""
        delta: dict[Key, float] = {}
        reaches_core = self.touches_core(self.line[s])
        # the same in every layer
        common: dict[tuple[int, ...], tuple[int, ...] | None] = {(): (s,)}
        for (layer, bores), weight in field.items():
            if layer == CORE and not reaches_core:
                continue
            if bores not in common:
                common[bores] = self.within(bores, s)
            inside = common[bores]
            if inside is None:
                continue
            here: Key | None = (layer, inside)
            if len(inside) > 1:
                if (layer, inside) not in self.keys:
                    self.keys[layer, inside] = self.key(layer, inside)
                here = self.keys[layer, inside]
            if here is not None:
                delta[here] = delta.get(here, 0.0) - weight
        if step.density:
            own: Key = (0, (s,))
            delta[own] = delta.get(own, 0.0) + OZ_PER_IN3 * step.density
        for key, weight in delta.items():
            if weight:
                share = self.by_hole.setdefault(key, {})
                share[step.hole] = share.get(step.hole, 0.0) + weight
                total = field.get(key, 0.0) + weight
                if abs(total) > 1e-15:
                    field[key] = total
                else:
                    field.pop(key, None)

    def touches_core(self, line: int) -> bool:
        """Whether the widest bore on a line may reach any of the cores.

        The widest bore holds all others on its line, so none of them reaches a core that it does not.
        """
        if line not in self.near_core:
            self.near_core[line] = any(_near(self.widest[line], core) for core in self.cores)
        return self.near_core[line]

    def solids(self, key: Key, body: Body) -> list[Solid]:
        """The solids of a key's intersection in one of the bodies."""
        layer, numbers = key
        bores: list[Solid] = [self.bores[i] for i in numbers]
        return bores if layer == WHOLE else [body.terms[layer][1], *bores]


def _rows(bores: Sequence[Bore], lines: Sequence[int]) -> dict[int, tuple[int, float]]:
    """Of each bore that stands in a row of three or more, by number: the row, and its place there.

    A row's bores are equal but for a shift along one straight line square to their axes, so they
    are on as many lines, which are given.
    """
    by_radius: dict[float, set[int]] = {}
    for b, line in zip(bores, lines, strict=False):
        by_radius.setdefault(b.radius, set()).add(line)
    if max(map(len, by_radius.values())) < 3:  # most jobs
        return {}
    alike: dict[tuple[float, ...], list[int]] = {}
    for n, b in enumerate(bores):
        floor = b.depth + dot(b.entry, b.axis)
        key = (*b.axis, floor, b.radius, b.tip_height)
        alike.setdefault(tuple(round(k, 9) for k in key), []).append(n)
    rows: dict[int, tuple[int, float]] = {}
    for row, numbers in enumerate(alike.values()):
        if len(numbers) < 3:
            continue
        first = bores[numbers[0]]
        shifts = [square_to(minus(bores[n].entry, first.entry), first.axis) for n in numbers]
        way = max(shifts, key=length)
        if length(way) < 1e-6:
            continue
        way = unit(way)
        if max(length(square_to(shift, way)) for shift in shifts) < 1e-6:
            rows |= {n: (row, dot(s, way)) for n, s in zip(numbers, shifts, strict=True)}
    return rows


def _near(bore: Bore, core: Ellipsoid) -> bool:
    """Whether a bore may reach a core: no plane is found that parts them.

    Planes are tried square to the bore's axis and square to the core's surface where it is nearest
    to the axis, judged in the space where the core is a unit sphere.
    """
    w = minus(bore.entry, core.center)
    u = [scaled(axis, 1.0 / size) for axis, size in zip(core.axes, core.semi_axes, strict=True)]
    start = (dot(w, u[0]), dot(w, u[1]), dot(w, u[2]))
    path = (dot(bore.axis, u[0]), dot(bore.axis, u[1]), dot(bore.axis, u[2]))
    full = bore.depth + bore.tip_height
    t = min(max(-dot(start, path) / dot(path, path), 0.0), full)
    out = along(start, path, t)
    if dot(out, out) < 1.0:  # the axis enters it
        return True
    outward = along(along(scaled(u[0], out[0]), u[1], out[1]), u[2], out[2])
    for normal in (outward, scaled(bore.axis, -1.0)):
        size = length(normal)
        if size < 1e-12:
            return True
        n = scaled(normal, 1.0 / size)
        slope = dot(bore.axis, n)
        rim = bore.radius * math.sqrt(max(1.0 - slope * slope, 0.0))
        # lowest points along n: at the entry's level or at the bottom edge, and the drill point
        lowest = min(0.0, bore.depth * slope) - rim
        if dot(w, n) + min(lowest, full * slope) > _top(core, n):
            return False
    return True


def _top(core: Ellipsoid, n: Vector) -> float:
    """How far a core reaches from its own centre along a unit vector."""
    return math.hypot(
        *(a * dot(axis, n) for axis, a in zip(core.axes, core.semi_axes, strict=True))
    )


def _plainly_above(a: Bore, b: Bore, core: Ellipsoid) -> bool:
    """Whether what two bores share lies above a core: both their bottoms do, along one direction.

    Of any point in both bores, what lies along the sum of their axes is less than at the bottoms.
    """
    both = along(a.axis, b.axis, 1.0)
    size = length(both)
    if size < 1e-9:
        return False
    deepest = sum(dot(s.entry, s.axis) + s.depth + s.tip_height for s in (a, b)) / size
    n = scaled(both, -1.0 / size)
    return bool(-deepest > dot(core.center, n) + _top(core, n))


def drill(bodies: Sequence[Body], steps: Sequence[Step], holes: int) -> list[Change]:
    """What the steps take from each body, in order; each step sees what earlier ones left.

    The bodies are one ball with its core set off differently; the rest is computed once.
    """
    painter = _Painter(bodies, steps)
    groups = painter.groups()
    crowded = [group for group in groups if painter.crowded(group)]
    painter.paint([group for group in groups if group not in crowded])
    booked = painter.by_hole
    if painter.rows:  # overlaps of the outer bores cancel against those between
        booked = {key: shares for key, shares in booked.items() if any(shares.values())}
    keys = list(booked)
    solids = [painter.solids(key, bodies[0]) for key in keys]
    cored = [k for k, key in enumerate(keys) if key[0] == CORE]
    for body in bodies[1:]:
        solids += [painter.solids(keys[k], body) for k in cored]
    parts = moments(solids).reshape(-1, 16) if solids else np.zeros((0, 16))
    accounts = booked.values()
    weights = np.array([[-shares.get(hole, 0.0) for shares in accounts] for hole in range(holes)])
    stacked = np.zeros((len(bodies), holes, 16))
    for group in crowded:
        stacked += _stacked(
            bodies, [s for n, s in painter.steps if painter.line[n] in group], holes
        )
    changes = []
    for i in range(len(bodies)):
        if i:
            parts[cored] = parts[len(keys) + (i - 1) * len(cored) :][: len(cored)]
        taken = weights @ parts[: len(keys)] + stacked[i]
        whole = taken.sum(axis=0).reshape(4, 4)
        removed, first = taken[:, 0].tolist(), whole[0, 1:].tolist()
        changes.append(Change(tuple(removed), tuple(first), whole[1:, 1:]))
    return changes


def _stacked(bodies: Sequence[Body], steps: Sequence[Step], holes: int) -> Array:
    """What steps that meet a lot take, by bodies and holes: (bodies, holes, 16), homogeneous."""
    # few jobs have so many holes: what they need is loaded where they do
    from layoutkit.ball import chords

    paints: list[chords.Paint] = []
    owners: list[int] = []
    for step in steps:
        if owners and owners[-1] == step.hole and paints[-1].solid == step.solid:
            paints.pop()  # cut and filled at once: only the fill stays
            owners.pop()
        paints.append(chords.Paint(step.solid, OZ_PER_IN3 * step.density))
        owners.append(step.hole)
    terms = bodies[0].terms
    layers = [solid for _, solid in terms[:CORE]]
    layers += [body.terms[CORE][1] for body in bodies if len(body.terms) > CORE]
    weights = [[weight for weight, _ in body.terms] for body in bodies]
    result = np.zeros((len(bodies), holes, 16))
    parts = chords.taken(paints, layers, weights).reshape(len(bodies), -1, 16)
    for k, owner in enumerate(owners):
        result[:, owner] += parts[:, k]
    return result


class _AnyCore(_Painter):
    """The same accounts whatever way the core is turned, and with bores a little out of place."""

    def __init__(self, bodies: Sequence[Body], steps: Sequence[Step], slack: float) -> None:
        self.slack = slack
        super().__init__(bodies, steps)

    def outermost(self, one: int, other: int) -> float | None:
        """0 where the bores on two lines come within the slack of each other; None if apart."""
        pair = (one, other) if one < other else (other, one)
        if pair not in self.common:
            gap = rounded_gap(self.widest[one], self.widest[other])
            self.common[pair] = None if gap > self.slack else 0.0
        return self.common[pair]

    def key(self, layer: int, bores: tuple[int, ...]) -> Key | None:
        """Every layer keeps its own account."""
        return (layer, bores)

    def touches_core(self, line: int) -> bool:
        """Any bore may."""
        return True


class Taken(NamedTuple):
    """What all steps take within some bores' common part inside one layer.

    ``share`` is of that layer's own density above what lies under it. ``filled`` is what sleeves take, in
    oz/in3, and ``sleeved`` the same if each sleeve were of 1 g/cm3.
    """

    layer: int
    bores: tuple[Bore, ...]
    share: float
    filled: float
    sleeved: float


def taken(body: Body, steps: Sequence[Step], slack: float) -> list[Taken]:
    """What the steps take, as a sum that holds for any densities and any turn of the core.

    Bores may come to lie up to ``slack`` inches nearer to each other.
    """
    found: dict[tuple[int, tuple[Bore, ...]], list[float]] = {}
    painter = _AnyCore([body], steps, slack)
    groups = painter.groups()
    filled = painter.steps
    emptied = [(s, step._replace(density=0.0)) for s, step in filled]
    full = [(s, step._replace(density=float(step.density > 0.0))) for s, step in filled]
    # of every layer the same share is taken, so that one of them tells it
    passes = [(emptied, [1.0], range(len(body.terms))), (filled, [], [0]), (full, [], [0])]
    for kind, (each, weights, layers) in enumerate(passes):
        painter.weights = weights
        painter.steps = each
        painter.by_hole = {}
        painter.paint(groups)
        for layer in layers:
            for (_, numbers), shares in painter.by_hole.items():
                place = (layer, tuple(painter.bores[i] for i in numbers))
                found.setdefault(place, [0.0, 0.0, 0.0])[kind] -= sum(shares.values())
    return [Taken(*place, *sums) for place, sums in found.items() if max(map(abs, sums)) > 1e-12]
