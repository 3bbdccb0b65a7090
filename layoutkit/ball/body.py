"""The inside of a ball: its layers, the core that its label implies, and what cuts and fills change.

The density at a point is that of the last body painted there: shell, filler, core, then the cuts and
fills of the job in order. The whole field is kept as a sum of weighted intersections of convex
solids. A step that paints a solid S with density q takes every term w * [K] away inside S, which
adds -w * [K and S], and adds q * [ball and S]; so later steps see exactly what earlier ones left.

Units: inches, ounces; densities of layers are given in g/cm3 and kept in oz/in3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry.bores import Bore, bottom_reach, common_reach, rounded_gap
from layoutkit.geometry.roots import newton_between
from layoutkit.geometry.short_forms import moments
from layoutkit.geometry.solids import Ellipsoid, Solid, sphere
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
from layoutkit.units import OZ_PER_IN3, OZ_PER_LB

MAX_CORE_DENSITY = 3.80  # g/cm3; the densest component that a ball may have (USBC)
CORE_TO_FILLER = 2.75  # a weight block is 2.5 to 3 times as dense as its filler: common practice
DEFAULT_SHELL_DENSITY = 1.20  # g/cm3, common practice, no source
DEFAULT_SHELL_THICKNESSES = (0.75, 0.50)  # in, tried in this order; common practice, no source
FILLER_DENSITIES = (0.10, 2.00)  # g/cm3, the range searched when the filler is not stated


class Label(NamedTuple):
    """What the maker states of a ball; lengths in, weight lb, densities g/cm3."""

    radius: float
    weight_lb: float
    rg_low: float | None
    differential: float
    intermediate_differential: float
    shell: tuple[float, float] | None  # thickness, density
    filler_density: float | None

    @property
    def weight_oz(self) -> float:
        """Weight in ounces."""
        return OZ_PER_LB * self.weight_lb


class Layers(NamedTuple):
    """Shell, filler and core as fitted to a label: densities g/cm3, lengths in.

    ``excess_oz`` is what the core weighs more than the filler that it displaces. ``semi_axes`` lie
    along the pin, along the reference mark made square to it, and square to both.
    """

    shell_thickness: float
    shell_density: float
    filler_density: float
    core_density: float
    semi_axes: Vector
    excess_oz: float


class _Rest(NamedTuple):
    """What a label leaves for the core, as it depends on the filler's density f in g/cm3.

    The core's excess weight is ``excess`` - ``thinned`` f; each squared semi-axis is 2.5 (``spread``
    - ``thinned_spread`` f) over that. ``inner`` is the shell's inner radius.
    """

    inner: float
    excess: float
    thinned: float
    spread: Vector
    thinned_spread: float


def _rest(label: Label, thickness: float, shell: float) -> _Rest:
    """What label and shell leave.

    An ellipsoid has I = m (b^2 + c^2) / 5 about its axis a (Meriam & Kraige, Dynamics, table of mass
    moments), and a ball 2/5 m R^2; three RGs give three sums of squares.
    """
    assert label.rg_low is not None
    big, small = label.radius, label.radius - thickness
    unit = 4.0 / 3.0 * math.pi * OZ_PER_IN3
    weight = label.weight_oz
    high = label.rg_low + label.differential
    mid = high - label.intermediate_differential
    bc, ac, ab = label.rg_low**2, high**2, mid**2
    shell_inertia = 0.4 * unit * shell * (big**5 - small**5)
    return _Rest(
        small,
        weight - unit * shell * (big**3 - small**3),
        unit * small**3,
        (
            weight * (ac + ab - bc) - shell_inertia,
            weight * (bc + ab - ac) - shell_inertia,
            weight * (bc + ac - ab) - shell_inertia,
        ),
        0.4 * unit * small**5,
    )


def _physical(rest: _Rest, moment: float, filler: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Core densities for filler densities (n), and whether each core can exist, as `_fit` has it."""
    m = rest.excess - rest.thinned * filler
    a, b, c = (2.5 * (k - rest.thinned_spread * filler) / m for k in rest.spread)
    density = filler + m / (4.0 / 3.0 * math.pi * np.sqrt(a * b * c) * OZ_PER_IN3)
    inside = np.sqrt(np.maximum(np.maximum(a, b), c)) + np.abs(moment / m) <= rest.inner
    real = np.minimum(np.minimum(a, b), c) > 0.0
    return density, real & (density > 0.0) & (density <= MAX_CORE_DENSITY) & inside


def _fit(
    rest: _Rest, thickness: float, shell: float, filler: float, moment: float
) -> Layers | None:
    """The layers with this filler; None where no such core can exist.

    It has real axes, a density within (0, 3.80] and lies inside the filler.
    """
    m = rest.excess - rest.thinned * filler
    if m == 0.0:
        return None
    taken = rest.thinned_spread * filler
    p, q, r = rest.spread
    a, b, c = 2.5 * (p - taken) / m, 2.5 * (q - taken) / m, 2.5 * (r - taken) / m
    if a <= 0.0 or b <= 0.0 or c <= 0.0:
        return None
    axes = (math.sqrt(a), math.sqrt(b), math.sqrt(c))
    density = filler + m / (4.0 / 3.0 * math.pi * math.sqrt(a * b * c) * OZ_PER_IN3)
    if not 0.0 < density <= MAX_CORE_DENSITY or max(axes) + abs(moment / m) > rest.inner:
        return None
    return Layers(thickness, shell, filler, density, axes, m)


def _best_fit(rest: _Rest, thickness: float, shell: float, moment: float) -> Layers | None:
    """The layers with the least filler whose physical core is 2.75 times as dense, else the nearest.

    On a core heavier than its filler the ratio of densities falls and then rises with the filler's
    density, so the first place where it is 2.75, or if it never is so low its least value, is what
    is looked for as long as that core is physical. A core lighter than its filler has a ratio below
    1. In other cases the physical fillers are searched.
    """
    filler = _first_at_ratio(rest)
    if filler is None:
        filler = _of_least_ratio(rest)
    if filler is not None:
        layers = _fit(rest, thickness, shell, filler, moment)
        if layers is not None:
            over = layers.core_density / filler - CORE_TO_FILLER
            if -1e-9 < over < CORE_TO_FILLER - 1.0:
                return layers
    filler = _searched_filler(rest, moment)
    return None if filler is None else _fit(rest, thickness, shell, filler, moment)


def _first_at_ratio(rest: _Rest) -> float | None:
    """The least filler density in range that makes the core 2.75 times as dense, physical or not.

    The core's weight over its volume is then 1.75 f, which is m = (C f)^0.4 (product of the three
    spreads)^0.2. The right side is a geometric mean of numbers linear in f, hence concave, so from
    the low end Newton's method climbs to the first root and never past it. None where the core is
    less than 2.75 times as dense at the low end already, or never comes down to that.
    """
    f, high = FILLER_DENSITIES
    p, q, r = rest.spread
    slope = rest.thinned_spread
    factor = (CORE_TO_FILLER - 1.0) * OZ_PER_IN3 * 4.0 / 3.0 * math.pi * 2.5**1.5
    for _ in range(50):
        a, b, c = p - slope * f, q - slope * f, r - slope * f
        if f > high or a <= 0.0 or b <= 0.0 or c <= 0.0:
            return None
        mean = (factor * factor * f * f * a * b * c) ** 0.2
        above = rest.excess - rest.thinned * f - mean
        if above <= 1e-13 * mean:
            return f if f > FILLER_DENSITIES[0] else None
        falls = rest.thinned + 0.2 * mean * (2.0 / f - slope * (1.0 / a + 1.0 / b + 1.0 / c))
        if falls <= 0.0:
            return None
        f += above / falls
    return f


def _of_least_ratio(rest: _Rest) -> float | None:
    """The filler density within range at which the core's over it is least; None if at an end.

    The ratio less 1 goes with m^2.5 / (f (product of the three spreads)^0.5). The slope of its
    logarithm is brought to 0 by Newton's method between bounds.
    """
    slope = rest.thinned_spread
    p, q, r = (k / slope for k in rest.spread)
    gone = rest.excess / rest.thinned  # the filler that leaves the core no weight
    start, end = FILLER_DENSITIES[0], min(FILLER_DENSITIES[1], p, q, r)
    if not start < end < gone:
        return None

    def slopes(f: float) -> tuple[float, float]:
        a, b, c, m = 1.0 / (p - f), 1.0 / (q - f), 1.0 / (r - f), 1.0 / (gone - f)
        rise = 0.5 * (a + b + c) - 2.5 * m - 1.0 / f
        bend = 0.5 * (a * a + b * b + c * c) - 2.5 * m * m + 1.0 / (f * f)
        return rise, bend

    return newton_between(slopes, start, end, 1e-12)


def _searched_filler(rest: _Rest, moment: float) -> float | None:
    """The filler density whose physical core is 2.75 times as dense, else the nearest to it.

    A coarse look over the whole range, then a fine one where the first changes sides or is nearest.
    None where no core is physical.
    """
    low, high = FILLER_DENSITIES
    f = np.linspace(low, high, 191)
    best, at = _nearest_of(rest, moment, f)
    if best is None:
        return None
    fine = np.linspace(f[max(at - 1, 0)], f[min(at + 1, len(f) - 1)], 201)
    return _nearest_of(rest, moment, fine)[0]


def _nearest_of(rest: _Rest, moment: float, f: Array) -> tuple[float | None, int]:
    """The best of some rising filler densities, and its index; None where none is physical."""
    with np.errstate(all="ignore"):
        density, fits = _physical(rest, moment, f)
        miss = np.where(fits, density / f - CORE_TO_FILLER, np.nan)
        crossed = np.flatnonzero(miss[:-1] * miss[1:] <= 0.0)  # never beside one that does not fit
    if not fits.any():
        return None, 0
    if len(crossed):
        i = int(crossed[0])
        at = i if abs(miss[i]) <= abs(miss[i + 1]) else i + 1
    else:
        at = int(np.nanargmin(np.abs(miss)))
    return float(f[at]), at


def working_fillers(
    label: Label, thickness: float, shell: float, moment: float
) -> tuple[float, float] | None:
    """Least and greatest filler density (g/cm3) that give a physical core, to 0.01; None if none."""
    f = np.round(np.arange(10, 381) * 0.01, 2)  # as the record allows
    with np.errstate(all="ignore"):
        fits = _physical(_rest(label, thickness, shell), moment, f)[1]
    return (float(f[fits][0]), float(f[fits][-1])) if fits.any() else None


def fit_layers(label: Label, moment: float) -> Layers | None:
    """The layers that a label implies; None where a uniform ball has to stand for them.

    ``moment`` is the undrilled ball's first moment in oz in, which offsets the core. Stated shell
    and filler are used as they are. A missing shell is 0.75 in of 1.20 g/cm3, or if no filler fits
    that, 0.50 in. A missing filler is the least dense one whose physical core is 2.75 times as
    dense, or comes nearest to that. These defaults are common practice, no source. Without RG data
    the ball is uniform.

    Raises InputError where shell and filler are both stated and no physical core can be inside.
    """
    if label.rg_low is None:
        return None
    shells = (
        [label.shell]
        if label.shell
        else [(t, DEFAULT_SHELL_DENSITY) for t in DEFAULT_SHELL_THICKNESSES]
    )
    for thickness, shell in shells:
        rest = _rest(label, thickness, shell)
        filler = label.filler_density
        if filler is None:
            layers = _best_fit(rest, thickness, shell, moment)
        else:
            layers = _fit(rest, thickness, shell, filler, moment)
        if layers is not None:
            return layers
    if label.shell and label.filler_density is not None:
        works = working_fillers(label, *label.shell, moment)
        possible = (
            f"with this shell and these RGs, {works[0]:.2f} to {works[1]:.2f} g/cm3 would work"
            if works
            else "with this shell no filler density would work: check shell, weight and RG data"
        )
        raise InputError(
            f"{label.filler_density:g} g/cm3 leaves no core that can exist; {possible}.",
            "ball.filler_density",
        )
    return None


class Body(NamedTuple):
    """An undrilled ball as a sum of weighted solids: the ball, and where known filler and core.

    ``terms`` are (density in oz/in3 above what lies under it, solid). ``weight_oz``, ``first`` and
    ``second`` (3, 3) are its moments about the centre.
    """

    terms: tuple[tuple[float, Ellipsoid], ...]
    weight_oz: float
    first: Vector
    second: Array


def build_body(
    label: Label, layers: Layers | None, axes: tuple[Vector, Vector, Vector], moment: Vector
) -> Body:
    """The undrilled ball with its core turned and set off centre.

    ``axes``: unit vectors along the pin, along the reference mark made square to it, and the third.
    ``moment``: first moment in oz in. The uniform ball takes its moment without a body to cause it.
    """
    center = (0.0, 0.0, 0.0)
    ball = sphere(center, label.radius)
    weight = label.weight_oz
    if layers is None:
        density = weight / (4.0 / 3.0 * math.pi * label.radius**3)
        second = weight * label.radius**2 / 5.0 * np.eye(3)
        return Body(((density, ball),), weight, moment, second)
    s, f, c = (
        OZ_PER_IN3 * d for d in (layers.shell_density, layers.filler_density, layers.core_density)
    )
    inner = label.radius - layers.shell_thickness
    offset = scaled(moment, 1.0 / layers.excess_oz)
    core = Ellipsoid(offset, layers.semi_axes, axes)
    spread = 4.0 * math.pi / 15.0 * (s * (label.radius**5 - inner**5) + f * inner**5)
    e = layers.excess_oz
    p, q, r = (e * a * a / 5.0 for a in layers.semi_axes)
    (ax, ay, az), (bx, by, bz), (cx, cy, cz), (x, y, z) = *axes, offset
    xy = p * ax * ay + q * bx * by + r * cx * cy + e * x * y
    xz = p * ax * az + q * bx * bz + r * cx * cz + e * x * z
    yz = p * ay * az + q * by * bz + r * cy * cz + e * y * z
    second = np.array(
        [
            [spread + p * ax * ax + q * bx * bx + r * cx * cx + e * x * x, xy, xz],
            [xy, spread + p * ay * ay + q * by * by + r * cy * cy + e * y * y, yz],
            [xz, yz, spread + p * az * az + q * bz * bz + r * cz * cz + e * z * z],
        ]
    )
    terms = ((s, ball), (f - s, sphere(center, inner)), (c - f, core))
    return Body(terms, weight, moment, second)


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
Key = tuple[int, tuple[int, ...]]  # a layer, and the bores it is cut with, by number


class _Painter:
    """The density field as weighted intersections, and what each hole's steps added to it.

    Bores are known by number. Bores on one straight line (a bore, its sleeve, the finished hole) are
    reduced to the smaller of each two; lines that are apart have nothing in common. Of equal bores in
    a row, what the outer two have in common lies inside all between, as they are convex.
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
        a, b = self.bores[bores[0]], self.bores[bores[1]]
        if layer == CORE:
            above = all(_plainly_above(a, b, core) for core in self.cores)
            return None if above else (CORE, bores)
        one, other = self.line[bores[0]], self.line[bores[1]]
        if layer != WHOLE and one != other:
            crossing = self.outermost(one, other)
            reach = bottom_reach(a)
            if crossing is not None and max(crossing, reach) < self.spheres[layer] - 1e-6:
                layer = WHOLE
        return (layer, bores)

    def paint(self) -> None:
        """All steps in order: each adds its change to the field and to its hole's account.

        Lines that have nothing in common are painted by themselves.
        """
        for group in self.groups():
            field: dict[Key, float] = {(n, ()): weight for n, weight in enumerate(self.weights)}
            for s, step in self.steps:
                if self.line[s] in group:
                    self.add(field, s, step)

    def add(self, field: dict[Key, float], s: int, step: Step) -> None:
        """One step's change: each term of the field ends inside the solid, its density begins."""
        delta: dict[Key, float] = {}
        reaches_core = self.touches_core(self.line[s])
        for (layer, bores), weight in field.items():
            if layer == CORE and not reaches_core:
                continue
            inside = self.within(bores, s) if bores else (s,)
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

        What a smaller one on that line would take of a core is gone already, and cancels out.
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
    painter.paint()
    booked = painter.by_hole
    if painter.rows:  # what two bores share is paid back by those between them
        booked = {key: shares for key, shares in booked.items() if any(shares.values())}
    keys = list(booked)
    solids = [painter.solids(key, bodies[0]) for key in keys]
    cored = [k for k, key in enumerate(keys) if key[0] == CORE]
    for body in bodies[1:]:
        solids += [painter.solids(keys[k], body) for k in cored]
    parts = moments(solids).reshape(-1, 16)
    accounts = booked.values()
    weights = np.array([[-shares.get(hole, 0.0) for shares in accounts] for hole in range(holes)])
    changes = []
    for i in range(len(bodies)):
        if i:
            parts[cored] = parts[len(keys) + (i - 1) * len(cored) :][: len(cored)]
        taken = weights @ parts[: len(keys)]
        whole = taken.sum(axis=0).reshape(4, 4)
        removed, first = taken[:, 0].tolist(), whole[0, 1:].tolist()
        changes.append(Change(tuple(removed), tuple(first), whole[1:, 1:]))
    return changes


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

    ``share`` is of that layer's own density above what lies under it, and of 1 for the sleeves, whose
    ``filled`` is in oz/in3.
    """

    layer: int
    bores: tuple[Bore, ...]
    share: float
    filled: float


def taken(body: Body, steps: Sequence[Step], slack: float) -> list[Taken]:
    """What the steps take, as a sum that holds for any densities and any turn of the core.

    Bores may come to lie up to ``slack`` inches nearer to each other.
    """
    found: dict[tuple[int, tuple[Bore, ...]], list[float]] = {}
    for n in range(len(body.terms) + 1):
        unit = [(1.0 if k == n else 0.0, solid) for k, (_, solid) in enumerate(body.terms)]
        filling = n == len(body.terms)
        done = steps if filling else [step._replace(density=0.0) for step in steps]
        painter = _AnyCore([body._replace(terms=tuple(unit))], done, slack)
        painter.paint()
        for (layer, numbers), shares in painter.by_hole.items():
            place = (layer, tuple(painter.bores[i] for i in numbers))
            found.setdefault(place, [0.0, 0.0])[filling] -= sum(shares.values())
    return [Taken(*place, *sums) for place, sums in found.items() if max(map(abs, sums)) > 1e-12]
