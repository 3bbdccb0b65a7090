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
from dataclasses import dataclass

import numpy as np

from layoutkit.errors import InputError
from layoutkit.solids import FAST, Array, Bore, Ellipsoid, Rule, Solid, Vector, moments
from layoutkit.solids import bottom_reach, frame, segment_distance, sphere, walls_cross
from layoutkit.units import OZ_PER_IN3

MAX_CORE_DENSITY = 3.80  # g/cm3; the densest component that a ball may have (USBC)
CORE_TO_FILLER = 2.75  # a weight block is 2.5 to 3 times as dense as its filler: common practice
DEFAULT_SHELL_DENSITY = 1.20  # g/cm3, common practice, no source
DEFAULT_SHELL_THICKNESSES = (0.75, 0.50)  # in, tried in this order; common practice, no source
FILLER_DENSITIES = (0.10, 2.00)  # g/cm3, the range searched when the filler is not stated


@dataclass(frozen=True, slots=True)
class Label:
    """What the maker states of a ball; lengths in, weight lb, densities g/cm3.

    Raises nothing by itself: the record has checked the ranges.
    """

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
        return 16.0 * self.weight_lb


@dataclass(frozen=True, slots=True)
class Layers:
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


def _inversion(label: Label, thickness: float, shell: float, filler: Array) -> tuple[Array, ...]:
    """Excess weight, squared semi-axes (3, n) and core density for filler densities (n).

    An ellipsoid has I = m (b^2 + c^2) / 5 about its axis a (Meriam & Kraige, Dynamics, table of mass
    moments), and a ball 2/5 m R^2; three RGs give three sums of squares.
    """
    assert label.rg_low is not None
    big, small = label.radius, label.radius - thickness
    unit = 4.0 / 3.0 * math.pi * OZ_PER_IN3
    weight = label.weight_oz
    m = weight - unit * (shell * (big**3 - small**3) + filler * small**3)
    i0 = 0.4 * unit * (shell * (big**5 - small**5) + filler * small**5)
    high = label.rg_low + label.differential
    mid = high - label.intermediate_differential
    bc, ac, ab = (5.0 * (weight * k * k - i0) / m for k in (label.rg_low, high, mid))
    squares = 0.5 * np.stack([ac + ab - bc, bc + ab - ac, bc + ac - ab])
    volume = 4.0 / 3.0 * math.pi * np.sqrt(np.maximum(squares.prod(axis=0), 0.0))
    return m, squares, filler + m / volume / OZ_PER_IN3


def _physical(
    label: Label, thickness: float, m: Array, squares: Array, density: Array, moment: float
) -> Array:
    """Whether each core can exist: real axes, density within (0, 3.80], inside the filler."""
    longest = np.sqrt(squares.max(axis=0))
    inside = longest + np.abs(moment / m) <= label.radius - thickness
    return np.asarray(
        (squares > 0.0).all(axis=0) & (density > 0.0) & (density <= MAX_CORE_DENSITY) & inside
    )


def _fit(label: Label, thickness: float, shell: float, filler: float, moment: float) -> Layers | None:
    with np.errstate(all="ignore"):
        m, squares, density = _inversion(label, thickness, shell, np.array([filler]))
        if not _physical(label, thickness, m, squares, density, moment)[0]:
            return None
    a, b, c = (math.sqrt(v) for v in squares[:, 0])
    return Layers(thickness, shell, filler, float(density[0]), (a, b, c), float(m[0]))


def _best_filler(label: Label, thickness: float, shell: float, moment: float) -> float | None:
    """The filler density whose physical core is nearest to 2.75 times as dense, by closing in."""
    low, high = FILLER_DENSITIES
    best: float | None = None
    with np.errstate(all="ignore"):
        for count in (96, 33, 33, 33):
            f = np.linspace(low, high, count)
            m, squares, density = _inversion(label, thickness, shell, f)
            fits = _physical(label, thickness, m, squares, density, moment)
            if not fits.any():
                break
            miss = np.where(fits, np.abs(density / f - CORE_TO_FILLER), np.inf)
            best = float(f[miss.argmin()])
            step = (high - low) / (count - 1)
            low, high = best - step, best + step
    return best


def working_fillers(label: Label, thickness: float, shell: float, moment: float) -> tuple[float, float] | None:
    """Least and greatest filler density (g/cm3) that give a physical core, to 0.01; None if none."""
    f = np.round(np.arange(1, 381) * 0.01, 2)
    with np.errstate(all="ignore"):
        fits = _physical(label, thickness, *_inversion(label, thickness, shell, f), moment)
    return (float(f[fits][0]), float(f[fits][-1])) if fits.any() else None


def fit_layers(label: Label, moment: float) -> Layers | None:
    """The layers that a label implies; None where a uniform ball has to stand for them.

    ``moment`` is the undrilled ball's first moment in oz in, which offsets the core. Stated shell
    and filler are used as they are. A missing shell is 0.75 in of 1.20 g/cm3, or if no filler fits
    that, 0.50 in. A missing filler is the one whose physical core comes nearest to 2.75 times its
    density. These defaults are common practice, no source. Without RG data the ball is uniform.

    Raises InputError where shell and filler are both stated and no physical core can be inside.
    """
    if label.rg_low is None:
        return None
    shells = [label.shell] if label.shell else [
        (t, DEFAULT_SHELL_DENSITY) for t in DEFAULT_SHELL_THICKNESSES
    ]
    for thickness, shell in shells:
        filler = label.filler_density
        if filler is None:
            filler = _best_filler(label, thickness, shell, moment)
        layers = None if filler is None else _fit(label, thickness, shell, filler, moment)
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
            f"ball.filler_density: {label.filler_density:g} g/cm3 leaves no core that can exist; "
            f"{possible}."
        )
    return None


@dataclass(frozen=True, slots=True)
class Body:
    """An undrilled ball as a sum of weighted solids, the ball itself first.

    ``terms`` are (density in oz/in3 above what lies under it, solid). ``weight_oz``, ``first`` (3,)
    and ``second`` (3, 3) are its moments about the centre.
    """

    radius: float
    terms: tuple[tuple[float, Ellipsoid], ...]
    weight_oz: float
    first: Array
    second: Array


def build_body(label: Label, layers: Layers | None, axes: Array, moment: Array) -> Body:
    """The undrilled ball with its core turned and set off centre.

    ``axes`` (3, 3): unit rows along the pin, the reference mark made square to it, and the third
    axis. ``moment`` (3,): first moment in oz in. The uniform ball takes its moment without a body
    that would cause it.
    """
    ball = sphere((0.0, 0.0, 0.0), label.radius)
    weight = label.weight_oz
    if layers is None:
        density = weight / (4.0 / 3.0 * math.pi * label.radius**3)
        second = weight * label.radius**2 / 5.0 * np.eye(3)
        return Body(label.radius, ((density, ball),), weight, moment, second)
    s, f, c = (
        OZ_PER_IN3 * d for d in (layers.shell_density, layers.filler_density, layers.core_density)
    )
    inner = label.radius - layers.shell_thickness
    offset = moment / layers.excess_oz
    rows = axes.tolist()
    core = Ellipsoid(
        tuple(offset.tolist()), layers.semi_axes, (tuple(rows[0]), tuple(rows[1]), tuple(rows[2]))
    )
    spread = 4.0 * math.pi / 15.0 * (s * (label.radius**5 - inner**5) + f * inner**5)
    own = (axes.T * np.square(layers.semi_axes)) @ axes / 5.0
    second = spread * np.eye(3) + layers.excess_oz * (own + np.multiply.outer(offset, offset))
    terms = ((s, ball), (f - s, sphere((0.0, 0.0, 0.0), inner)), (c - f, core))
    return Body(label.radius, terms, weight, moment, second)


@dataclass(frozen=True, slots=True)
class Step:
    """One cut (density 0) or fill of the job; ``density`` in g/cm3, ``hole`` its number."""

    solid: Bore
    density: float
    hole: int


@dataclass(frozen=True, slots=True)
class Change:
    """What all steps took away: per hole in oz (n,), and the sums' first (3,) and second (3, 3)."""

    removed_oz: Array
    first: Array
    second: Array


WHOLE = -1  # in place of a layer: the bores' common part lies inside the ball as it is
Key = tuple[int, tuple[int, ...]]  # a layer, and the bores it is cut with, by number


class _Painter:
    """The density field as weighted intersections, and what each hole's steps added to it."""

    def __init__(self, body: Body, steps: Sequence[Step]) -> None:
        self.spheres = [solid.semi_axes[0] for _, solid in body.terms[:2]]
        self.field: dict[Key, float] = {(i, ()): w for i, (w, _) in enumerate(body.terms)}
        self.by_hole: dict[Key, dict[int, float]] = {}
        self.bores: list[Bore] = []
        self.line: list[int] = []  # the straight line in space that each bore shares with others
        self.numbers: dict[Bore, int] = {}
        self.lines: dict[tuple[Vector, Vector], int] = {}
        self.meeting: dict[tuple[int, int], tuple[int, ...] | None] = {}
        self.outermost: dict[tuple[int, int], float] = {}
        for step in steps:
            self.number(step.solid)
        self.apart = self._lines_apart()
        self.touching = _touching(self.bores, body.terms[2][1]) if len(body.terms) > 2 else set()

    def number(self, bore: Bore) -> int:
        """A bore's number; new bores are added."""
        n = self.numbers.setdefault(bore, len(self.bores))
        if n == len(self.bores):
            self.bores.append(bore)
            self.line.append(self.lines.setdefault((bore.entry, bore.axis), len(self.lines)))
        return n

    def _lines_apart(self) -> set[tuple[int, int]]:
        """Pairs of lines whose widest and deepest bores surely have nothing in common."""
        widest = [0.0] * len(self.lines)
        deepest = [0.0] * len(self.lines)
        for bore, line in zip(self.bores, self.line, strict=True):
            widest[line] = max(widest[line], bore.radius)
            deepest[line] = max(deepest[line], bore.depth + bore.tip_height)
        pairs = [(i, j) for i in range(len(self.lines)) for j in range(i)]
        if not pairs:
            return set()
        lines = np.array(list(self.lines))
        i, j = np.array(pairs).T
        lip = 0.3  # a tilted bore starts a little above its entry: never as much as this
        p, d = lines[:, 0] - lip * lines[:, 1], lines[:, 1]
        length, radius = np.array(deepest) + lip, np.array(widest)
        gap = segment_distance(p[i], d[i], length[i], p[j], d[j], length[j])
        far = gap > radius[i] + radius[j]
        return {pair for pair, away in zip(pairs, far.tolist(), strict=True) if away}

    def meet(self, i: int, j: int) -> tuple[int, ...] | None:
        """The two bores' common part as bores: one, both, or None if they are apart."""
        if i == j:
            return (i,)
        key = (i, j) if i > j else (j, i)
        if key not in self.meeting:
            self.meeting[key] = self._meet(*key)
        return self.meeting[key]

    def _meet(self, i: int, j: int) -> tuple[int, ...] | None:
        one, other = self.line[i], self.line[j]
        if one != other:
            return None if (max(one, other), min(one, other)) in self.apart else (j, i)
        a, b = self.bores[i], self.bores[j]
        if a.radius <= b.radius and a.depth + a.tip_height <= b.depth:
            return (i,)
        if b.radius <= a.radius and b.depth + b.tip_height <= a.depth:
            return (j,)
        if a.tip_height == 0.0 and b.tip_height == 0.0:
            both = Bore(a.entry, a.axis, min(a.radius, b.radius), min(a.depth, b.depth))
            return (self.number(both),)
        return (j, i)

    def within(self, bores: tuple[int, ...], s: int) -> tuple[int, ...] | None:
        """The bores whose common part is that of ``bores`` and bore ``s``; None if empty."""
        for q in bores:
            both = self.meet(q, s)
            if both is None:
                return None
            if len(both) == 1:
                return self.within(tuple(i for i in bores if i != q), both[0])
        return tuple(sorted((*bores, s)))

    def key(self, layer: int, bores: tuple[int, ...]) -> Key:
        """The key of bores in a layer; WHOLE where they meet only inside a sphere about the centre.

        What two bores share ends where their walls cross outside, and at a bottom inside.
        """
        if len(bores) < 2 or not 0 <= layer < len(self.spheres):
            return (layer, bores)
        i, j = bores[:2]
        pair = (self.line[i], self.line[j])
        if pair not in self.outermost:
            wide = [max((b for b, n in zip(self.bores, self.line, strict=True) if n == line),
                        key=lambda b: b.radius) for line in pair]
            x = walls_cross(wide[0], wide[1])
            self.outermost[pair] = math.inf if x is None else math.sqrt(sum(v * v for v in x))
        reach = max(self.outermost[pair], bottom_reach(self.bores[i]))
        return (WHOLE if reach < self.spheres[layer] - 1e-6 else layer, bores)

    def paint(self, step: Step) -> None:
        """Add one step's change to the field and to its hole's account."""
        s = self.number(step.solid)
        clear_of_core = step.solid not in self.touching
        delta: dict[Key, float] = {}
        for (layer, bores), weight in self.field.items():
            if layer == 2 and clear_of_core:
                continue
            inside = self.within(bores, s)
            if inside is not None:
                key = self.key(layer, inside)
                delta[key] = delta.get(key, 0.0) - weight
        if step.density:
            key = (0, (s,))
            delta[key] = delta.get(key, 0.0) + OZ_PER_IN3 * step.density
        for key, weight in delta.items():
            if weight:
                share = self.by_hole.setdefault(key, {})
                share[step.hole] = share.get(step.hole, 0.0) + weight
                total = self.field.get(key, 0.0) + weight
                if abs(total) > 1e-15:
                    self.field[key] = total
                else:
                    self.field.pop(key, None)


def _touching(bores: Sequence[Bore], core: Ellipsoid) -> set[Bore]:
    """The bores that may reach the core: judged at points all over their walls and bottoms.

    Points stand so close that a core they all miss by 3 % of its size is missed by the bores too.
    """
    u = np.array(core.axes) / np.array(core.semi_axes)[:, None]
    p, d = np.array([b.entry for b in bores]), np.array([b.axis for b in bores])
    size = np.array([(b.radius, b.depth, b.tip_height) for b in bores])
    p, d = (p - np.array(core.center)) @ u.T, d @ u.T
    # across the axis: any two directions square to it, seen in the space where the core is a sphere
    frames = np.array([frame(b.axis) for b in bores]) @ u.T
    turn = np.linspace(0.0, 2.0 * math.pi, 17)[:-1]
    ring = np.stack([np.cos(turn), np.sin(turn)], axis=1) @ frames * size[:, :1, None]
    rings = np.concatenate([ring, 0.0 * ring[:, :1]], axis=1)
    down = np.linspace(0.0, 1.0, 9)
    axis_points = p[:, None] + (down * size[:, 1:2])[..., None] * d[:, None]
    tips = (p + (size[:, 1] + size[:, 2])[:, None] * d)[:, None]
    points = (axis_points[:, :, None] + rings[:, None]).reshape(len(bores), -1, 3)
    points = np.concatenate([points, tips], axis=1)
    near = (points * points).sum(axis=2).min(axis=1) < 1.03**2
    return {b for b, n in zip(bores, near.tolist(), strict=True) if n}


def drill(body: Body, steps: Sequence[Step], holes: int, rule: Rule = FAST) -> Change:
    """What the steps take from the body, in order; each step sees what earlier ones left."""
    painter = _Painter(body, steps)
    for step in steps:
        painter.paint(step)
    removed, first, second = np.zeros(holes), np.zeros(3), np.zeros((3, 3))
    keys = list(painter.by_hole)
    if keys:
        solids: list[list[Solid]] = [
            [
                *(() if layer == WHOLE else (body.terms[layer][1],)),
                *(painter.bores[i] for i in bores),
            ]
            for layer, bores in keys
        ]
        m = moments(solids, rule)
        weights = np.zeros((holes, len(keys)))
        for k, key in enumerate(keys):
            for hole, weight in painter.by_hole[key].items():
                weights[hole, k] = weight
        total = weights.sum(axis=0)
        removed = -(weights @ m.volume)
        first, second = -(total @ m.first), -np.tensordot(total, m.second, 1)
    return Change(removed, first, second)
