"""Many variants of one job at once: statics and inertia of thousands of layouts or measurements.

In the grip frame a layout turns the core and the CG mark about the holes and nothing else: what the
holes take from the shell and the filler is the same for all layouts, and is integrated once. What
they take from the core is summed over chords along the bores, for all variants in one batch. Where
the holes vary too, the sums of the layers are taken the same way.

Everything is in the bowler's frame; lengths inches, weights ounces, densities oz/in3 where not said
otherwise. An array's first axis counts the variants, n; it may be 1 where they do not differ.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import lru_cache, partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.ball import density as _density
from layoutkit.ball import layers as _layers
from layoutkit.ball.chords import Cavities, peeled
from layoutkit.geometry import short_forms as _integrals
from layoutkit.geometry import sphere as _sphere
from layoutkit.geometry.bores import LIP, Bore, rounded_gap
from layoutkit.geometry.solids import FAR, sphere
from layoutkit.geometry.vectors import Array, Vector, length, minus, scaled, segments, square_to
from layoutkit.job.record import Job
from layoutkit.planning import extras as _extras
from layoutkit.planning import given
from layoutkit.planning import grip as _grip
from layoutkit.planning import history as _history
from layoutkit.planning import layout as _layout
from layoutkit.planning import placing as _placing
from layoutkit.planning.drilled import SECOND, central_tensor, readings, six_of
from layoutkit.units import OZ_PER_IN3, OZ_PER_LB

RINGS, TURNS = 5, 13  # chords in a bore: rings over its disc, and places on each
BATCH = 1024  # variants in one batch, so that it stays in the processor's cache
SLACK = 0.2  # inches by which varied holes may come nearer to each other
FULL = (RINGS, TURNS)
MANY = (16, 43)  # the same where old bores are crossed anywhere
SEVERAL = 200  # varied measurements for which as many are laid
FEW = 16  # variants in one batch of these
TURNED = 16 * BATCH  # layouts of a ball with old holes that are worked out at a time
Part = slice | NDArray[np.intp]  # some of the variants


class Cavity(NamedTuple):
    """One bore of every variant: entry and axis (n, 3), radius, depth and height of its point (n,)."""

    entry: Array
    axis: Array
    radius: Array
    depth: Array
    tip: Array


class Before(NamedTuple):
    """The old holes, in the order in which they were cut and filled.

    ``turn`` (n, 3, 3) takes a direction, as a row, from where the ball lies in the job's own layout
    to where it lies in each variant. ``cavities`` are bores in all variants, ``densities`` (k,) what
    is painted there, oz/in3. ``whole`` (4, 4) are the homogeneous moments that they took of the ball
    as it lies at first, None where the ball itself varies; ``parts`` are then the lines on which that
    is counted: lines, the density that they lose, and 1 where a fill is brought or lost. Lines with
    None lose the layers.
    """

    turn: Array
    cavities: tuple[Cavities, ...]
    densities: Array
    whole: Array | None
    parts: tuple[tuple[_Chords, Array | None], ...]


class VariantModel(NamedTuple):
    """A job's variants, all that their statics and inertia depend on.

    ``pin``, ``cg``, ``pap``, ``psa`` (n, 3) are points on the ball, None where a mark is missing;
    ``top_weight`` (n,) is None where the ball's imbalance is not known and its core taken as centred;
    ``axes`` (n, 3, 3) the core's unit axes as rows. ``densities`` (n, 3): shell, filler less shell,
    core less filler; of a uniform ball the first alone. ``inner`` (n,) is the shell's inner radius,
    ``semi_axes`` (n, 3), ``excess`` (n,). ``possible`` (n,) is False where no core can exist.
    ``before`` is what the ball had before, None for a new one.
    """

    radius: Array
    weight: Array
    top_weight: Array | None
    arm: Array
    pin: Array
    cg: Array | None
    pap: Array | None
    psa: Array | None
    axes: Array
    densities: Array
    inner: Array | None
    semi_axes: Array | None
    excess: Array | None
    sleeves: Array
    cavities: Mapping[Bore, Cavity]
    taken: tuple[_density.Taken, ...]
    possible: NDArray[np.bool_]
    before: Before | None = None


class Outcomes(NamedTuple):
    """Of every variant (n,), named and meant as in `plan.Statics`, `plan.Inertia`; ``flare`` in.

    ``flare`` is the potential of `flare_potential`. Figures that a missing mark leaves unknown are not
    numbers.
    """

    weight_lb: Array
    side_oz: Array
    finger_oz: Array
    top_oz: Array
    rg_low: Array
    rg_mid: Array
    rg_high: Array
    differential: Array
    intermediate_differential: Array
    flare: Array


# --- from the record ------------------------------------------------------------------------------


def model(
    job: Job,
    shift: Mapping[str, Array] | None = None,
    layout: _layout.Stated | None = None,
    arm: float | None = None,
) -> VariantModel:
    """The variants of a job.

    ``shift`` maps names of `certainty.inputs` to what is added, each (n,). ``layout`` replaces the
    record's and may have arrays (n,). ``arm`` replaces the scale's, in inches. Raises InputError as
    `plan` does.
    """
    by = dict(shift or {})

    moved = partial(_moved, by)

    ball = job.ball
    radius = moved("diameter", ball.diameter) / 2.0
    nominal = ball.diameter / 2.0
    own = given.arms(job)[0]
    lever = moved("arm", own if arm is None else arm)
    weight = OZ_PER_LB * moved("weight", ball.weight)
    imbalance = given.imbalance(job)
    top = None if imbalance is None else moved("top_weight", imbalance)

    marks = _placing.place_marks(job, layout, by)
    pin = np.atleast_2d(marks.pin)
    cg, psa, pap = (
        None if each is None else np.atleast_2d(each) for each in (marks.cg, marks.psa, marks.pap)
    )
    bearing = np.atleast_1d(marks.bearing)
    rows = (np.stack(np.broadcast_arrays(*axis), axis=-1) for axis in _placing.core_axes(marks, by))
    axes = np.stack(np.broadcast_arrays(*map(np.atleast_2d, rows)), axis=-2)

    layers = given.layers_of(job)
    body = _layered(job, layers, by, radius, weight, None if top is None else top * own)
    holes = _grip.place_holes(job.bowler.grip, nominal, job.bowler.hand)
    extras = _extras.place_extras(job.extra_holes, holes, nominal)
    steps = _grip.drilling_steps(holes) + _extras.extra_steps(extras, len(holes))
    ball_solid = sphere((0.0, 0.0, 0.0), nominal)
    stand_in = _layers.Body(
        ((1.0, ball_solid),) * body.densities.shape[-1], 1.0, (0.0, 0.0, 0.0), np.eye(3)
    )
    moving = any(name.startswith("grip.") for name in by)
    taken = _density.taken(stand_in, steps, SLACK if moving else 0.0)
    cavities = _cavities(job, holes, taken, by, nominal)
    before = None
    if job.history is not None:
        before = _old_holes(job, layers, (pin, bearing), None if by else float(lever[0]))
    return VariantModel(
        radius, weight, top, lever, pin, cg, pap, psa, axes,
        body.densities, body.inner, body.semi, body.excess,
        moved("sleeves", 0.0), cavities, tuple(taken), body.possible, before,
    )  # fmt: skip


def _moved(by: Mapping[str, Array], name: str, value: float) -> Array:
    """An input's value, (n,) or (1,), moved by its shift if it has one."""
    return np.atleast_1d(np.asarray(value + by.get(name, 0.0), dtype=float))


class _Layered(NamedTuple):
    """The bodies of many balls: densities (n, layers), and of a core what `VariantModel` holds."""

    densities: Array
    possible: NDArray[np.bool_]
    inner: Array | None = None
    semi: Array | None = None
    excess: Array | None = None


def _layered(
    job: Job,
    layers: _layers.Layers | None,
    by: Mapping[str, Array],
    radius: Array,
    weight: Array,
    moment: Array | None,
) -> _Layered:
    """The layers of balls that are off by ``by``; ``moment`` (n,) in oz in sets a core off centre."""
    if layers is None:
        uniform = (weight / (4.0 / 3.0 * math.pi * radius**3))[:, None]
        return _Layered(uniform, np.ones(1, dtype=bool))
    ball = job.ball

    moved = partial(_moved, by)

    shell = moved("shell.density", layers.shell_density)
    filler = moved("filler_density", layers.filler_density)
    inner = radius - layers.shell_thickness
    low_rg = moved("rg_low", ball.rg_low or 0.0)
    high_rg = low_rg + moved("differential", ball.differential or 0.0)
    mid_rg = high_rg - moved("intermediate_differential", ball.intermediate_differential or 0.0)
    rest = _layers.rest_of(radius, weight, (low_rg, mid_rg, high_rg), inner, shell)
    core = _layers.core_of(rest, filler)
    possible = _layers.can_exist(core)
    if by:  # no plan is made of a ball as it was drawn if its core is refused
        possible = possible & _layers.physical(rest, core, 0.0 if moment is None else moment)
    squares = np.stack(np.broadcast_arrays(*core.squares), axis=-1)
    semi = np.sqrt(np.where(possible[:, None], squares, 1.0))
    parts = np.broadcast_arrays(shell, filler - shell, core.density - filler)
    return _Layered(OZ_PER_IN3 * np.stack(parts, axis=-1), possible, inner, semi, core.excess)


def _old_holes(
    job: Job,
    layers: _layers.Layers | None,
    ends: tuple[Array, Array],
    lever: float | None,
) -> Before:
    """What old holes took, turned with the pin and the bearing (n,) that ``ends`` holds.

    ``lever`` is the arm under which the ball is as the record has it; None where it is not.
    """
    assert job.history is not None
    radius = job.ball.diameter / 2.0
    at_first = _placing.place_marks(job)
    first = (at_first.pin, float(at_first.bearing))
    old = _history.place_old(job.history.holes, *first, job.bowler.hand, radius)
    steps = _history.history_steps(old, 0)
    turn = _turned(first, ends, radius)
    if lever is None:
        return _before(steps, turn, None, radius)
    cg_now = (0.0, 0.0, 0.0)
    imbalance = given.imbalance(job)
    if imbalance is not None:
        cg_now = scaled(at_first.cg, imbalance * lever / radius)
    axes = _placing.core_axes(at_first)
    there = _layers.build_body(given.label_of(job), layers, axes, cg_now)
    return _before(steps, turn, there, radius)


def _turned(start: tuple[Vector, float], end: tuple[Array, Array], radius: float) -> Array:
    """How a ball is turned, (n, 3, 3), from one pin and bearing of the line at it to others (n,)."""

    def frames(pin: Array, bearing: Array) -> Array:
        out = pin / radius
        toward = _sphere.direction(out, bearing)
        return np.stack(np.broadcast_arrays(out, toward, np.cross(out, toward)), axis=-2)

    # rows of both frames are the same directions of the ball
    here = frames(np.array([start[0]]), np.array([start[1]]))
    return np.asarray(np.matmul(here.transpose(0, 2, 1), frames(*end)))


def _before(
    steps: list[_density.Step], turn: Array, body: _layers.Body | None, radius: float
) -> Before:
    """The old holes' steps in all variants; ``body`` is the ball at first where it does not vary."""
    kept = [
        s for s, after in zip(steps, [*steps[1:], None], strict=True)
        if after is None or (after.solid, after.hole) != (s.solid, s.hole)
    ]  # fmt: skip
    cavities = tuple(
        Cavities(
            np.array(s.solid.entry) @ turn,
            np.array(s.solid.axis) @ turn,
            (s.solid.radius, s.solid.depth, s.solid.tip_height),
        )
        for s in kept
    )
    densities = OZ_PER_IN3 * np.array([s.density for s in kept])
    if body is None:
        return Before(turn, cavities, densities, None, tuple(_parts(kept, radius)))
    change = _density.drill([body], steps, 1 + max((s.hole for s in steps), default=0))[0]
    whole = np.zeros((4, 4))
    whole[0, 0] = sum(change.removed_oz)
    whole[0, 1:] = whole[1:, 0] = change.first
    whole[1:, 1:] = change.second
    return Before(turn, cavities, densities, whole, ())


def _parts(steps: list[_density.Step], radius: float) -> Iterator[tuple[_Chords, Array | None]]:
    """Lines through old holes as the ball lies at first: what each part of them loses.

    Those that begin at the ball's surface begin above it, so that any ball's surface ends them.
    """
    at_first = [
        Cavities(
            np.array([s.solid.entry]),
            np.array([s.solid.axis]),
            (s.solid.radius, s.solid.depth, s.solid.tip_height),
        )
        for s in steps
    ]
    densities = np.array([s.density * OZ_PER_IN3 for s in steps])
    for k, (step, c) in enumerate(zip(steps, at_first, strict=True)):
        bore = step.solid
        own = {bore: Cavity(c.entry, c.axis, *(np.array([v]) for v in c.size))}
        chords = _chords((bore,), own, FULL)
        near = np.array([rounded_gap(bore, s.solid) <= 0.0 for s in steps[:k]], dtype=bool)
        line, start, end, body = peeled(
            chords.points, chords.axis, chords.low, chords.high, at_first[:k], near[:, None]
        )

        layered = body < 0
        yield _some(chords, line[layered], start[None, layered], end[None, layered]), None
        filled = ~layered & (densities[body] > 0.0)
        if filled.any():
            part = _some(chords, line[filled], start[None, filled], end[None, filled])
            yield part, densities[body[filled]]
        if step.density:
            yield chords, np.full(chords.weight.shape[1], -densities[k])


def _cavities(
    job: Job,
    holes: tuple[_grip.Hole, ...],
    taken: list[_density.Taken],
    by: Mapping[str, Array],
    radius: float,
) -> dict[Bore, Cavity]:
    """Every bore that takes part, in all variants; each moves with the hole on whose line it lies.

    The bores of an oval move with its middle.
    """
    lines = [(bore, hole) for hole in holes for bore in (hole.finished, *hole.cuts)]
    at = {(bore.entry, bore.axis): hole for bore, hole in lines}
    spots = {hole.name: _place(job, hole.name, by, radius) for hole in holes}
    result = {}
    for bore in {b for t in taken for b in t.bores}:
        hole = at.get((bore.entry, bore.axis))
        if hole is None:
            entry, axis = np.array([bore.entry]), np.array([bore.axis])
            deeper: Array = np.zeros(1)
        else:
            entry, axis = spots[hole.name]
            aside = minus(bore.entry, hole.finished.entry)
            if any(aside):
                entry = entry + np.array(aside)
            deeper = np.atleast_1d(by.get(f"grip.{hole.name}.depth", np.zeros(1)))
        result[bore] = Cavity(
            entry, axis, np.array([bore.radius]), bore.depth + deeper, np.array([bore.tip_height])
        )
    return result


def _place(job: Job, name: str, by: Mapping[str, Array], radius: float) -> tuple[Array, Array]:
    """A gripping hole's entry and axis, (n, 3) each."""
    grip = job.bowler.grip
    center, axis = (
        np.stack(np.broadcast_arrays(*(np.atleast_1d(v) for v in parts)), axis=-1)
        for parts in _grip.aim(grip, name, radius, job.bowler.hand, by)
    )
    return radius * center, axis


# --- chords ---------------------------------------------------------------------------------------


@lru_cache(maxsize=4)
def _disc(rings: int, turns: int) -> tuple[Array, Array, Array]:
    """Places (L,) of chords over a unit disc and their weights: Gauss in the square of the radius."""
    u, w = np.polynomial.legendre.leggauss(rings)
    r = np.sqrt(0.5 * (u + 1.0))
    # each ring is turned against the one before
    ring = np.arange(rings)[:, None]
    turn = 2.0 * math.pi * (np.arange(turns)[None, :] + ring * 0.382) / turns
    weight = np.repeat(0.5 * w * math.pi / turns, turns)
    return (r[:, None] * np.cos(turn)).ravel(), (r[:, None] * np.sin(turn)).ravel(), weight


def _beside(b: Bore, first: Bore) -> bool:
    """Whether a bore is the same one set over: the next one of an oval."""
    return b.radius == first.radius and b.axis == first.axis and b.entry != first.entry


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


class _Chords(NamedTuple):
    """Chords along a bore, cut off by the other bores: they start at entry + x e1 + y e2.

    ``entry``, ``e1``, ``e2`` and ``axis`` are (n, 3), the middle two as long as the bore's radius;
    ``x`` and ``y`` (L,) are the places over a unit disc, ends along the axis and weights (n, L).
    """

    entry: Array
    e1: Array
    e2: Array
    axis: Array
    x: Array
    y: Array
    low: Array
    high: Array
    weight: Array

    @property
    def points(self) -> Array:
        """Where they start, (n, L, 3)."""
        return (
            self.entry[:, None]
            + self.x[:, None] * self.e1[:, None]
            + self.y[:, None] * self.e2[:, None]
        )

    def over(self, start: Array, one: Array, other: Array) -> Array:
        """A function that is linear over the disc, by its values (n,): (n, L)."""
        places = np.stack([np.ones_like(self.x), self.x, self.y])
        return np.asarray(np.stack(np.broadcast_arrays(start, one, other), axis=-1) @ places)

    def square(self, o: Array, u: Array, v: Array) -> Array:
        """The squared length of o + x u + y v, each (n, 3): (n, L)."""
        x, y = self.x, self.y
        places = np.stack([np.ones_like(x), 2.0 * x, 2.0 * y, x * x, 2.0 * x * y, y * y])
        pairs = ((o, o), (o, u), (o, v), (u, u), (u, v), (v, v))
        parts = np.broadcast_arrays(*(np.sum(a * b, axis=-1) for a, b in pairs))
        return np.asarray(np.stack(parts, axis=-1) @ places)


def _chords(
    bores: tuple[Bore, ...],
    cavities: Mapping[Bore, Cavity],
    number: tuple[int, int] = (RINGS, TURNS),
) -> _Chords:
    """The chords of the common part of some bores, open outward; ``number``: rings, and in each."""
    # along the one with a drill point; a point on another is taken as flat, of the same volume
    first = max(bores, key=lambda b: (b.tip_height, -b.radius))
    c = cavities[first]
    twin = next((b for b in bores if b is not first and _beside(b, first)), None)
    if twin is None:
        x, y, weight = _disc(*number)
        across = np.cross(c.axis, np.eye(3)[int(np.argmin(np.abs(c.axis[0])))])
    else:
        gap = square_to(minus(twin.entry, first.entry), first.axis)
        x, y, weight = _lens(length(gap) / first.radius, *number)
        across = np.cross(np.cross(c.axis, np.array(gap)), c.axis)
    e1 = across / np.linalg.norm(across, axis=-1, keepdims=True)
    e2 = np.cross(c.axis, e1)
    r = c.radius[:, None]
    high = c.depth[:, None] + c.tip[:, None] * (1.0 - np.hypot(x, y))
    area = np.broadcast_to(weight * r * r, (len(r), len(weight)))
    chords = _Chords(c.entry, r * e1, r * e2, c.axis, x, y, np.full_like(high, -1.0), high, area)
    for other in bores:
        if other != first:
            chords = _cut_off(chords, cavities[other], _beside(other, first))
    return chords


def _cut_off(chords: _Chords, o: Cavity, beside: bool) -> _Chords:
    """What of chords is inside another bore; the drill point of one ``beside`` is not flattened."""
    start = chords.entry - o.entry
    lean = np.sum(chords.axis * o.axis, axis=-1)[:, None]
    along = chords.over(*(np.sum(v * o.axis, axis=-1) for v in (start, chords.e1, chords.e2)))
    across = np.sum(start * chords.axis, axis=-1)[:, None] - along * lean
    square = 1.0 - lean * lean
    flat = square < 1e-12
    square = np.where(flat, 1.0, square)
    radius = o.radius[:, None]
    rest = chords.square(start, chords.e1, chords.e2) - along * along - radius * radius
    root = across * across - square * rest
    half = np.sqrt(np.maximum(root, 0.0)) / square
    middle = -across / square
    far = np.where(rest <= 0.0, 99.0, -99.0)
    gone = root <= 0.0
    enters = np.where(flat, -99.0, np.where(gone, 99.0, middle - half))
    leaves = np.where(flat, far, np.where(gone, -99.0, middle + half))
    end = (o.depth + o.tip / 3.0)[:, None]
    if beside and o.tip.any():
        off = np.sqrt(np.maximum(rest + radius * radius, 0.0))
        end = o.depth[:, None] + o.tip[:, None] * (1.0 - off / radius)
    bottom = np.where(lean > 1e-9, (end - along) / np.where(lean > 1e-9, lean, 1.0), 99.0)
    low, high = np.maximum(chords.low, enters), np.minimum(np.minimum(chords.high, leaves), bottom)
    return chords._replace(low=low, high=high)


def _between(chords: _Chords, b: Array, c: Array) -> tuple[Array, Array]:
    """The ends of chords where t^2 + 2 b t + c <= 0; ``c`` is written over."""
    root = b * b - c
    np.maximum(root, 0.0, out=root)
    np.sqrt(root, out=root)
    return np.maximum(chords.low, -b - root), np.minimum(chords.high, root - b)


def _within_sphere(chords: _Chords, radius: Array) -> tuple[Array, Array]:
    """The ends of the chords inside centred spheres of these radii (n,)."""
    b = np.sum(chords.entry * chords.axis, axis=-1)[:, None]
    c = chords.square(chords.entry, chords.e1, chords.e2) - (radius * radius)[:, None]
    return _between(chords, b, c)


def _within_core(
    chords: _Chords, axes: Array, semi_axes: Array, center: Array
) -> tuple[Array, Array]:
    """The ends of the chords inside ellipsoids: unit axes as rows (n, 3, 3), centres (n, 3).

    In the space where the core is a unit sphere the chord's ends are the roots of a quadratic.
    """
    m = axes / semi_axes[:, :, None]

    def there(v: Array) -> Array:
        return np.asarray((m @ v[:, :, None])[:, :, 0])

    o, u, v, d = map(there, (chords.entry - center, chords.e1, chords.e2, chords.axis))
    a = np.sum(d * d, axis=-1)[:, None]
    b = chords.over(*(np.sum(w * d, axis=-1) for w in (o, u, v))) / a
    return _between(chords, b, (chords.square(o, u, v) - 1.0) / a)


def _sums(chords: _Chords, low: Array, high: Array) -> Array:
    """Moments (n, 10) of chords with these ends: 1, x, y, z, then the second ones as `SECOND`."""
    size = np.maximum(high - low, 0.0)
    mean = 0.5 * (high + low)
    w = size * chords.weight
    return _assembled(chords, w, w * mean, w * (mean * mean + size * size * (1.0 / 12.0)))


def _assembled(chords: _Chords, s0: Array, s1: Array, s2: Array) -> Array:
    """Moments (n, 10) from the integrals of 1, t and t^2 along every chord, (n, L)."""
    x, y = chords.x, chords.y
    zero = s0 @ np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    one = s1 @ np.stack([np.ones_like(x), x, y], axis=-1)
    sums = np.concatenate([zero, one, s2.sum(axis=-1)[:, None]], axis=-1)
    u = sums[:, [[0, 1, 2, 6], [1, 3, 4, 7], [2, 4, 5, 8], [6, 7, 8, 9]]]
    # where no deviation moves the holes, an axis is the same for all variants
    frame = np.stack(
        np.broadcast_arrays(chords.entry, chords.e1, chords.e2, chords.axis), axis=-1
    )  # (n, 3, 4)
    whole = frame @ u @ frame.transpose(0, 2, 1)
    first = (frame @ u[:, :, :1])[:, :, 0]
    return np.concatenate(
        [sums[:, :1], first, np.stack([whole[:, i, j] for i, j in SECOND], axis=-1)], axis=1
    )


# --- evaluation -----------------------------------------------------------------------------------


def fixed_part(found: VariantModel) -> Array | None:
    """What the holes take from shell and filler and give back in sleeves (10,), in full accuracy.

    None where holes or layers vary; of the others only those of the holes that do not.
    """
    fixed = [t for t in found.taken if _stays(t, found.cavities)]
    if not fixed or len(found.densities) > 1 or len(found.radius) > 1:
        return None
    radii = [float(found.radius[0])] + ([] if found.inner is None else [float(found.inner[0])])
    spheres = [sphere((0.0, 0.0, 0.0), r) for r in radii]
    parts = [t for t in fixed if t.layer < _density.CORE]
    whole = _integrals.moments([[spheres[t.layer], *t.bores] for t in parts])
    weights = np.array([t.share * found.densities[0, t.layer] + t.filled for t in parts])
    total = np.tensordot(weights, whole, axes=1)
    return np.array([*total[0].tolist(), *six_of(total[1:, 1:])])


def _stays(t: _density.Taken, cavities: Mapping[Bore, Cavity]) -> bool:
    """Whether the bores are in one place in all variants."""
    return all(len(cavities[b].entry) == 1 and len(cavities[b].depth) == 1 for b in t.bores)


def changes(found: VariantModel) -> Array:
    """What the holes take from every variant (n, 10), oz, oz in, oz in2, in the order of `_sums`."""
    n = count(found)
    total = np.zeros((n, 10))
    fixed = fixed_part(found)
    if fixed is not None:
        total += fixed
    if found.before is not None:
        for start in range(0, n, BATCH):
            part = slice(start, min(start + BATCH, n))
            total[part] += _taken_before(found, found.before, part)
        _add_shared(found, found.before, total)
    groups: dict[tuple[Bore, ...], list[_density.Taken]] = {}
    for t in found.taken:
        by_chords = fixed is None or t.layer == _density.CORE or not _stays(t, found.cavities)
        if by_chords and not (t.layer == _density.CORE and found.semi_axes is None):
            groups.setdefault(t.bores, []).append(t)
    for bores, terms in groups.items():
        if any(len(v) > 1 for b in bores for v in found.cavities[b]):
            _add_varying(found, bores, terms, total)
            continue
        chords = _chords(bores, found.cavities)
        if fixed is not None and found.semi_axes is not None:
            chords = _near(chords, found)
        if len(chords.x):
            for at in range(0, n, BATCH):
                part = slice(at, min(at + BATCH, n))
                total[part] += _taken_from(found, chords, terms, part)
    return total


def _add_varying(
    found: VariantModel, bores: tuple[Bore, ...], terms: list[_density.Taken], total: Array
) -> None:
    """Add to ``total`` (n, 10) what is taken in bores that lie elsewhere in every variant.

    Only where they come near each other.
    """
    at = np.arange(len(total))
    for i, one in enumerate(bores):
        for other in bores[:i]:
            a, b = found.cavities[one], found.cavities[other]
            near = _near_each_other(_taken_rows(a, at), _taken_rows(b, at))
            at = at[np.broadcast_to(near, at.shape)]
    for start in range(0, len(at), BATCH):
        some = at[start : start + BATCH]
        cavities = {b: _taken_rows(found.cavities[b], some) for b in bores}
        total[some] += _taken_from(found, _chords(bores, cavities), terms, some)


def _taken_before(found: VariantModel, before: Before, part: Part) -> Array:
    """What the old holes took of every variant of one batch, (n, 10), as the ball lies there."""
    turn = _rows(before.turn, part)
    if before.whole is not None:
        first = before.whole[0, 1:] @ turn
        second = turn.transpose(0, 2, 1) @ before.whole[1:, 1:] @ turn
        removed = np.full(len(turn), before.whole[0, 0])
    else:
        # the core as it lies in the ball
        back = before.turn.transpose(0, 2, 1)
        cg = None if found.cg is None else (found.cg[:, None] @ back)[:, 0]
        there = found._replace(axes=found.axes @ back, cg=cg)
        sums: Array | float = 0.0
        layers = _layer_terms(found)
        for chords, density in before.parts:
            if density is None:
                sums = sums + _taken_from(there, chords, layers, part)
                continue
            low, high = _within_sphere(chords, _rows(found.radius, part))
            sums = sums + _sums(chords._replace(weight=chords.weight * density), low, high)
            brought = chords._replace(weight=chords.weight * np.sign(density) * OZ_PER_IN3)
            sums = sums + _rows(found.sleeves, part)[:, None] * _sums(brought, low, high)
        rows = np.asarray(sums)
        removed, square = rows[:, 0], np.empty((len(rows), 3, 3))
        for k, (i, j) in enumerate(SECOND):
            square[:, i, j] = square[:, j, i] = rows[:, 4 + k]
        first = (rows[:, None, 1:4] @ turn)[:, 0]
        second = turn.transpose(0, 2, 1) @ square @ turn
    six = np.stack([second[:, i, j] for i, j in SECOND], axis=-1)
    return np.concatenate([removed[:, None], first, six], axis=1)


def _layer_terms(found: VariantModel) -> list[_density.Taken]:
    """All layers taken whole."""
    number = 1 if found.semi_axes is None else 3
    return [_density.Taken(layer, (), 1.0, 0.0) for layer in range(number)]


def _add_shared(found: VariantModel, before: Before, total: Array) -> None:
    """Add to ``total`` (n, 10) what the new holes take of old fills, in place of the layers.

    The terms of the new holes were counted on a ball that nothing had been taken from. Within those
    that take a share of whatever is there, lines meet the old bodies, the latest first.
    """
    n = len(total)
    for term in found.taken:
        if term.layer or not term.share:
            continue
        own = [found.cavities[b] for b in term.bores]
        near = np.empty((len(before.cavities), n), dtype=bool)
        for k, c in enumerate(before.cavities):
            one = Cavity(c.entry, c.axis, *(np.array([v]) for v in c.size))
            near[k] = np.logical_and.reduce([_near_each_other(other, one) for other in own])
        at = np.flatnonzero(near.any(axis=0))
        number = MANY if before.whole is not None or len(at) <= SEVERAL else FULL
        for start in range(0, len(at), FEW):
            some = at[start : start + FEW]
            cavities = {b: _taken_rows(found.cavities[b], some) for b in term.bores}
            chords = _chords(term.bores, cavities, number)
            total[some] += term.share * _exchanged(found, before, chords, near, some)


def _exchanged(
    found: VariantModel,
    before: Before,
    chords: _Chords,
    near: NDArray[np.bool_],
    some: NDArray[np.intp],
) -> Array:
    """What old bodies hold along lines through new holes, less what the layers would: (n, 10)."""
    shape = (len(some), chords.weight.shape[1])
    low, high = _within_sphere(chords, _rows(found.radius, some))
    place = np.repeat(np.arange(len(some)), shape[1])
    line, start, end, body = peeled(
        chords.points,
        chords.axis,
        np.broadcast_to(low, shape),
        np.broadcast_to(high, shape),
        [Cavities(_rows(c.entry, some), _rows(c.axis, some), c.size) for c in before.cavities],
        near[:, some],
    )
    met = body >= 0
    line, start, end, body = line[met], start[met], end[met], body[met]
    at = place[line]

    def each(a: Array) -> Array:
        """Of every part, what belongs to its variant."""
        return np.broadcast_to(_rows(a, some), (len(some), *a.shape[1:]))[at]

    densities = before.densities[body]
    densities = densities + np.sign(densities) * each(found.sleeves) * OZ_PER_IN3
    layers = each(found.densities)
    sums = np.zeros((3, len(place)))

    def add(density: Array, lo: Array, hi: Array) -> None:
        size = density * np.maximum(hi - lo, 0.0)
        mean = 0.5 * (lo + hi)
        for k, v in enumerate((size, size * mean, size * (mean * mean + (hi - lo) ** 2 / 12.0))):
            sums[k] += np.bincount(line, v, len(place))

    add(densities - layers[:, 0], start, end)
    if found.inner is not None and found.semi_axes is not None and found.excess is not None:
        endless = chords._replace(low=chords.low - FAR, high=chords.high + FAR)
        center = _moment_rows(found, some) / _rows(found.excess, some)[:, None]
        core = (_rows(found.axes, some), _rows(found.semi_axes, some), center)
        inside = (
            _within_sphere(endless, _rows(found.inner, some)),
            _within_core(endless, *core),
        )
        for layer, bounds in enumerate(inside, start=1):
            lo, hi = (np.broadcast_to(v, shape).ravel()[line] for v in bounds)
            add(-layers[:, layer], np.maximum(start, lo), np.minimum(end, hi))
    return _assembled(chords, *(sums.reshape(3, *shape) * chords.weight))


def _taken_rows(c: Cavity, at: NDArray[np.intp]) -> Cavity:
    return Cavity(*(v if len(v) == 1 else v[at] for v in c))


def _near_each_other(a: Cavity, b: Cavity) -> NDArray[np.bool_]:
    """Whether two bores' axes come as near as their radii, (n,); a little more is let through."""

    def segment(c: Cavity) -> tuple[tuple[Array, ...], tuple[Array, ...], Array]:
        return tuple((c.entry - LIP * c.axis).T), tuple(c.axis.T), c.depth + c.tip + LIP

    return np.asarray(segments(*segment(a), *segment(b))[0] <= a.radius + b.radius)


def _near(chords: _Chords, found: VariantModel) -> _Chords:
    """The chords without those that no core can reach, whatever way it is turned."""
    assert found.semi_axes is not None
    reach = float(np.max(found.semi_axes)) + float(np.max(np.linalg.norm(_centers(found), axis=-1)))
    p, d = chords.points[0], chords.axis[0]
    nearest = np.minimum(np.maximum(-(p @ d), chords.low[0]), chords.high[0])
    kept = (np.linalg.norm(p + nearest[:, None] * d, axis=-1) < reach) & (
        chords.high[0] > chords.low[0]
    )
    return _some(chords, np.flatnonzero(kept), chords.low[:, kept], chords.high[:, kept])


def _some(chords: _Chords, at: NDArray[np.intp], low: Array, high: Array) -> _Chords:
    """Some chords, or parts of them, with other ends (n, L)."""
    weight = chords.weight[:, at]
    return chords._replace(x=chords.x[at], y=chords.y[at], low=low, high=high, weight=weight)


def _centers(found: VariantModel) -> Array:
    """The cores' centres (n, 3): the undrilled first moment over the core's excess weight."""
    assert found.excess is not None
    return _moment(found) / found.excess[:, None]


def _moment(found: VariantModel) -> Array:
    """The undrilled first moment (n, 3): top weight times arm along the CG mark, 0 where not known."""
    if found.top_weight is None or found.cg is None:
        return np.zeros((1, 3))
    unit = found.cg / np.linalg.norm(found.cg, axis=-1, keepdims=True)
    return np.asarray((found.top_weight * found.arm)[:, None] * unit)


def _rows(a: Array, part: Part) -> Array:
    return a if len(a) == 1 else a[part]


def _taken_from(
    found: VariantModel, chords: _Chords, terms: list[_density.Taken], part: Part
) -> Array:
    """What is taken along one set of chords, for one batch: (n, 10)."""
    total: Array | float = 0.0
    for t in terms:
        weight = t.share * _rows(found.densities, part)[:, t.layer] + t.filled
        if t.filled:
            weight = weight + _sleeve_share(t) * _rows(found.sleeves, part) * OZ_PER_IN3
        if t.layer == 0:
            low, high = _within_sphere(chords, _rows(found.radius, part))
        elif t.layer == 1:
            assert found.inner is not None
            low, high = _within_sphere(chords, _rows(found.inner, part))
        else:
            assert found.semi_axes is not None
            assert found.excess is not None
            center = _moment_rows(found, part) / _rows(found.excess, part)[:, None]
            semi = _rows(found.semi_axes, part)
            low, high = _within_core(chords, _rows(found.axes, part), semi, center)
        total = total + weight[:, None] * _sums(chords, low, high)
    return np.asarray(total)


def _moment_rows(found: VariantModel, part: Part) -> Array:
    if found.top_weight is None or found.cg is None:
        return _moment(found)
    return _moment(
        found._replace(
            cg=_rows(found.cg, part),
            top_weight=_rows(found.top_weight, part),
            arm=_rows(found.arm, part),
        )
    )


def _sleeve_share(t: _density.Taken) -> float:
    """How a sleeve's density counts: what is filled counts against what is taken."""
    return math.copysign(1.0, t.filled)


def count(found: VariantModel) -> int:
    """How many variants there are."""
    sizes = [len(a) for a in found if isinstance(a, np.ndarray)]
    sizes += [len(a) for c in found.cavities.values() for a in c]
    return max(sizes)


def evaluate(found: VariantModel, change: Array | None = None) -> Outcomes:
    """Statics and inertia of every variant; ``change`` (n, 10) replaces what `changes` finds.

    A variant whose core cannot exist is not a number.
    """
    gone = changes(found) if change is None else change
    moment = _moment(found)
    weight = found.weight - gone[:, 0]
    none = np.full(len(gone), np.nan)
    side, finger, top = none, none, none
    if found.top_weight is not None and found.cg is not None:
        cg = found.cg / np.linalg.norm(found.cg, axis=-1, keepdims=True)
        side, finger, top = readings(found.top_weight, cg.T, gone[:, 1:4].T, found.arm)
    first = moment - gone[:, 1:4]
    second = _undrilled(found, moment) - gone[:, 4:]
    tensor = np.stack(central_tensor(weight, first.T, second.T), axis=-1)
    squares = _principal(tensor)
    low, mid, high = np.sqrt(squares).T
    flare = none
    if found.pap is not None:
        pap = found.pap / np.linalg.norm(found.pap, axis=-1, keepdims=True)
        flare = flare_potential(tensor, squares, pap, found.radius)
    bad = np.where(found.possible, 0.0, np.nan)
    return Outcomes(
        *(
            v + bad
            for v in (
                weight / OZ_PER_LB, side, finger, top,
                low, mid, high, high - low, high - mid, flare,
            )
        )
    )  # fmt: skip


def _undrilled(found: VariantModel, moment: Array) -> Array:
    """Second moments (n, 6) of the undrilled ball, as `body.build_body` has them."""
    out = np.zeros((max(len(moment), len(found.axes), len(found.densities)), 6))
    if found.semi_axes is None or found.inner is None or found.excess is None:
        out[:, :3] = (found.weight * found.radius**2 / 5.0)[:, None]
        return out
    r, k, s = found.radius, found.inner, found.densities
    spread = 4.0 * math.pi / 15.0 * (s[:, 0] * r**5 + s[:, 1] * k**5)
    out[:, :3] = spread[:, None]
    e = found.excess
    sizes = e[:, None] * found.semi_axes**2 / 5.0
    center = moment / e[:, None]
    for n, (i, j) in enumerate(SECOND):
        out[:, n] += np.sum(sizes * found.axes[:, :, i] * found.axes[:, :, j], axis=-1)
        out[:, n] += e * center[:, i] * center[:, j]
    return out


def _principal(t: Array) -> Array:
    """Eigenvalues (n, 3), rising, of symmetric tensors (n, 6), in the order of `SECOND`.

    The trigonometric solution of the cubic (O. K. Smith, Communications of the ACM 4, 1961).
    """
    mean = (t[:, 0] + t[:, 1] + t[:, 2]) / 3.0
    a, b, c = t[:, 0] - mean, t[:, 1] - mean, t[:, 2] - mean
    d, e, f = t[:, 3], t[:, 4], t[:, 5]
    p = np.sqrt((a * a + b * b + c * c + 2.0 * (d * d + e * e + f * f)) / 6.0)
    det = a * (b * c - f * f) - d * (d * c - f * e) + e * (d * f - b * e)
    cube = np.maximum(p**3, 1e-300)
    turn = np.arccos(np.clip(det / (2.0 * cube), -1.0, 1.0)) / 3.0
    high = mean + 2.0 * p * np.cos(turn)
    low = mean + 2.0 * p * np.cos(turn + 2.0 * math.pi / 3.0)
    return np.stack((low, 3.0 * mean - low - high, high), axis=-1)


def flare_potential(tensor: Array, squares: Array, pap: Array, radius: Array) -> Array:
    """How far the axis migrates in one revolution, in inches (n,): a comparison, not a promise.

    pi R (1 - (k_low / k_high)^2) sin 2 theta with theta between the PAP, ``pap`` (n, 3) of length
    one, and the drilled low axis: free precession of a body with one odd axis (Landau & Lifshitz,
    Mechanics, section 33). The lane's friction and the third RG are left out.
    """
    low, mid, high = squares.T
    x, y, z = pap.T
    a, b, c, d, e, f = tensor.T
    u = (a * x + d * y + e * z, d * x + b * y + f * z, e * x + f * y + c * z)
    once = u[0] * x + u[1] * y + u[2] * z
    twice = u[0] * u[0] + u[1] * u[1] + u[2] * u[2]
    # the share of the PAP's direction along the low axis, by the other two roots
    apart = np.maximum((mid - low) * (high - low), 1e-12)
    share = np.clip((twice - (mid + high) * once + mid * high) / apart, 0.0, 1.0)
    sin2 = 2.0 * np.sqrt(share * (1.0 - share))
    return np.asarray(math.pi * radius * (1.0 - low / high) * sin2)


def layouts(job: Job, drilling: Array, pin_to_pap: Array, val: Array) -> Outcomes:
    """Statics and inertia of a job under many layouts by angles, each (n,).

    Raises InputError where a pin-to-PAP cannot be on this ball.
    """
    return at_layouts(job, _layout.Angles(drilling, pin_to_pap, val))


def at_layouts(job: Job, layout: _layout.Angles, arm: float | None = None) -> Outcomes:
    """The same, of a scale with this arm where one is given, in inches."""
    if job.history is None:
        return evaluate(model(job, layout=layout, arm=arm))
    # old holes turn with the layout: their places take room, so these go batch by batch
    d, p, v = np.broadcast_arrays(layout.angle_at_pin, layout.pin_to_pap, layout.angle_at_pap)
    parts = []
    for at in range(0, len(d), TURNED):
        some = slice(at, at + TURNED)
        parts.append(
            evaluate(model(job, layout=_layout.Angles(d[some], p[some], v[some]), arm=arm))
        )
    return Outcomes(*(np.concatenate(values) for values in zip(*parts, strict=True)))
