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
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import fields
from functools import partial
from itertools import compress, pairwise
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.ball import density as _density
from layoutkit.ball import layers as _layers
from layoutkit.ball.chords import Cavities, peeled
from layoutkit.geometry import short_forms as _integrals
from layoutkit.geometry import sphere as _sphere
from layoutkit.geometry.bores import Bore, rounded_gap
from layoutkit.geometry.solids import FAR, sphere
from layoutkit.geometry.vectors import (
    Array,
    Vector,
    dot,
    length,
    minus,
    scaled,
    square_to,
    unit,
)
from layoutkit.job.record import Job
from layoutkit.planning import chord_sums as _sums
from layoutkit.planning import extras as _extras
from layoutkit.planning import given
from layoutkit.planning import grip as _grip
from layoutkit.planning import history as _history
from layoutkit.planning import layout as _layout
from layoutkit.planning import placing as _placing
from layoutkit.planning.chord_sums import (
    FULL,
    LIGHT,
    MANY,
    ROUND,
    Cavity,
    Chords,
    Part,
    Solid,
    cavity_rows,
    rows,
)
from layoutkit.planning.drilled import SECOND, central_tensor, readings, six_of
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_IN3, OZ_PER_LB

BATCH = 1024  # variants in one batch of `FULL` chords, so that it stays in the processor's cache
MOST = 2 * BATCH  # and of lighter ones
SLACK = 0.2  # inches by which varied holes may come nearer to each other
SEVERAL = 200  # varied measurements for which as many chords are laid as `MANY` has
FEW = 64  # variants in one batch of these
TURNED = 16 * BATCH  # layouts of a ball with old holes that are worked out at a time


class Before(NamedTuple):
    """The old holes, in the order in which they were cut and filled.

    ``turn`` (n, 3, 3) takes a direction, as a row, from where the ball lies in the job's own layout
    to where it lies in each variant. ``cavities`` are bores in all variants, ``densities`` (k,) what
    is painted there, oz/in3. ``whole`` (4, 4) are the homogeneous moments that they took of the ball
    as it lies at first, None where the ball itself varies; ``parts`` are then the lines on which that
    is counted: lines, the density that they lose, and 1 where a fill is brought or lost. Lines with
    None lose the layers. ``rule`` is that of the chords through new holes that meet them.
    """

    turn: Array
    cavities: tuple[Cavities, ...]
    densities: Array
    whole: Array | None
    parts: tuple[tuple[Chords, Array | None], ...]
    rule: _sums.Rule


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

    ``flare`` is the potential of `flare_potential`, ``rg_about_pap`` the RG about the axis through the
    PAP and the centre of gravity. ``tensor`` (n, 6) are the squared RGs as a tensor about the centre of
    gravity, in the bowler's frame and the order of `SECOND`. Figures that a missing mark leaves unknown
    are not numbers.
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
    rg_about_pap: Array
    tensor: Array


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
    labelled = moved("diameter", ball.diameter) / 2.0
    radius = moved("diameter_now", 2.0 * ball.radius) / 2.0 if ball.resurfaced else labelled
    nominal = ball.radius
    own = given.arms(job)[0]
    lever = moved("arm", own if arm is None else arm)
    weight = OZ_PER_LB * moved("weight", ball.weight)
    top = None
    if given.imbalance(job) is not None:
        top = moved("top_weight", ball.top_weight or 0.0) * given.top_growth(job)

    marks = _placing.place_marks(job, layout, by)
    pin = np.atleast_2d(marks.pin)
    cg, psa, pap = (
        None if each is None else np.atleast_2d(each) for each in (marks.cg, marks.psa, marks.pap)
    )
    bearing = np.atleast_1d(marks.bearing)
    rows = (np.stack(np.broadcast_arrays(*axis), axis=-1) for axis in _placing.core_axes(marks, by))
    axes = np.stack(np.broadcast_arrays(*map(np.atleast_2d, rows)), axis=-2)

    layers = given.layers_of(job)
    body = _layered(job, layers, by, labelled, weight, None if top is None else top * own)
    if ball.resurfaced:
        shell = body.densities[:, 0] / OZ_PER_IN3
        weight = weight - _layers.lost_shell(labelled, radius, shell).weight
        if body.inner is not None:  # either may be off by itself
            radius, inner = np.broadcast_arrays(radius, body.inner)
            many = np.broadcast_to(body.densities, (len(weight), body.densities.shape[1]))
            body = body._replace(inner=inner, densities=many)
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
    """The layers of balls that are off by ``by``; ``moment`` (n,) in oz in sets a core off centre.

    ``radius`` and ``weight`` (n,) are those of the label.
    """
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
    radius = job.ball.radius
    at_first = _placing.place_marks(job)
    first = (at_first.pin, float(at_first.bearing))
    steps = _history.history_steps(_placing.old_of(job, at_first), 0)
    turn = _turned(first, ends, radius)
    if lever is None:
        return _before(steps, turn, None, radius)
    cg_now = (0.0, 0.0, 0.0)
    imbalance = given.imbalance(job)
    if imbalance is not None:
        cg_now = scaled(at_first.cg, imbalance * lever / radius)
    axes = _placing.core_axes(at_first)
    there = _layers.build_body(given.label_of(job), layers, axes, cg_now, radius)
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
        rule = MANY if len(turn) <= SEVERAL else FULL
        return Before(turn, cavities, densities, None, tuple(_parts(kept, radius)), rule)
    change = _density.drill([body], steps, 1 + max((s.hole for s in steps), default=0))[0]
    whole = np.zeros((4, 4))
    whole[0, 0] = sum(change.removed_oz)
    whole[0, 1:] = whole[1:, 0] = change.first
    whole[1:, 1:] = change.second
    return Before(turn, cavities, densities, whole, (), MANY)


def _parts(steps: list[_density.Step], radius: float) -> Iterator[tuple[Chords, Array | None]]:
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
        chords = _sums.laid(_sums.Solid((bore,)), own)
        near = np.array([rounded_gap(bore, s.solid) <= 0.0 for s in steps[:k]], dtype=bool)
        line, start, end, body = peeled(
            chords.frame, chords.places, chords.low, chords.high, at_first[:k], near[:, None]
        )

        layered = body < 0
        yield chords.some(line[layered], start[None, layered], end[None, layered]), None
        filled = ~layered & (densities[body] > 0.0)
        if filled.any():
            part = chords.some(line[filled], start[None, filled], end[None, filled])
            yield part, densities[body[filled]]
        if step.density:
            yield chords, np.full(len(chords.weight), -densities[k])


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


# --- evaluation -----------------------------------------------------------------------------------


def fixed_part(found: VariantModel) -> Array | None:
    """What the holes take from shell and filler and give back in sleeves (10,), in full accuracy.

    None where holes or layers vary; of the others only those of the holes that do not.
    """
    fixed = [t for t in found.taken if _stays(t, found.cavities)]
    if not fixed or max(map(len, (found.densities, found.radius, found.sleeves))) > 1:
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
        total += _taken_before(found, found.before)
        _add_shared(found, found.before, total)
    moving: list[tuple[Bore, _density.Taken]] = []
    crossed: dict[Bore, _Parts] = {}
    for solid, terms in _solids(found.taken):
        stays = all(_stays(t, found.cavities) for t in terms)
        by_chords = [
            t
            for t in terms
            if (t.layer < _density.CORE and (fixed is None or not stays))
            or (t.layer == _density.CORE and found.semi_axes is not None)
        ]
        if not by_chords:
            continue
        if len(solid.bores) == 1 and not stays:
            moving += [(solid.bores[0], t) for t in by_chords]
        elif solid.crossed:
            crossed.setdefault(solid.carrier, []).extend((solid, t) for t in by_chords)
        else:
            _add(found, solid, by_chords, total)
    if moving:
        _add_moving(found, moving, total)
    for carrier, parts in crossed.items():
        _add_crossed(found, carrier, parts, total)
    return total


def _solids(taken: Sequence[_density.Taken]) -> list[tuple[Solid, list[_density.Taken]]]:
    """The terms by the solids in which they are counted; an oval's bores are one.

    What an oval takes is that of its bores less what each shares with the next.
    """
    groups: dict[tuple[Bore, ...], list[_density.Taken]] = {}
    for t in taken:
        groups.setdefault(t.bores, []).append(t)
    solids = []
    for row in _rows_of_bores([bores[0] for bores in groups if len(bores) == 1]):
        pairs = [p for pair in pairwise(row) for p in (pair, pair[::-1]) if p in groups]
        own = _accounts(groups[row[:1]])
        less = {layer: tuple(-sum_ for sum_ in sums) for layer, sums in own.items()}
        if (
            len(pairs) == len(row) - 1
            and all(_accounts(groups[b,]) == own for b in row)
            and all(_accounts(groups[pair]) == less for pair in pairs)
        ):
            solids.append((Solid(row, together=True), groups[row[:1]]))
            for bores in (*((b,) for b in row), *pairs):
                del groups[bores]
    return solids + [(Solid(bores), terms) for bores, terms in groups.items()]


def _accounts(terms: Iterable[_density.Taken]) -> dict[int, tuple[float, ...]]:
    return {t.layer: (t.share, t.filled, t.sleeved) for t in terms}


def _rows_of_bores(bores: Sequence[Bore]) -> list[tuple[Bore, ...]]:
    """Flat bores that stand at even distances in a row, in its order, down to one bottom."""
    alike: dict[tuple[float, ...], list[Bore]] = {}
    for b in bores:
        floor = b.depth + dot(b.entry, b.axis)
        if not b.tip_height:
            key = (*b.axis, b.radius, round(floor, 9))
            alike.setdefault(key, []).append(b)
    result = []
    for row in alike.values():
        if len(row) < 2:
            continue
        first = row[0]
        shifts = [square_to(minus(b.entry, first.entry), first.axis) for b in row]
        way = max(shifts, key=length)
        if length(way) < 1e-6:
            continue
        way = unit(way)
        at = sorted((dot(shift, way), n) for n, shift in enumerate(shifts))
        steps = [b - a for (a, _), (b, _) in pairwise(at)]
        aside = max(length(square_to(shift, way)) for shift in shifts)
        if aside < 1e-6 and max(steps) - min(steps) < 1e-6 and max(steps) < first.radius:
            result.append(tuple(row[n] for _, n in at))
    return result


def _add(found: VariantModel, solid: Solid, terms: list[_density.Taken], total: Array) -> None:
    """Add to ``total`` (n, 10) what is taken in a solid, by sums over chords.

    Where its bores lie elsewhere in every variant, only where they come near each other.
    """
    bores = [found.cavities[b] for b in solid.bores]
    varied = any(len(v) > 1 for c in bores for v in c)
    at = np.arange(len(total))
    if varied and not solid.together:
        for i, a in enumerate(bores):
            for b in bores[:i]:
                near = _sums.near_each_other(cavity_rows(a, at), cavity_rows(b, at))
                at = at[np.broadcast_to(near, at.shape)]
    fixed = None if varied else _Laid(found, solid, slice(None))
    for start in range(0, len(at), MOST):
        some = at[start : start + MOST]
        laid = fixed or _Laid(found, solid, some)
        for layers in _on_same_chords(laid, terms):
            _add_layers(found, laid, layers, some, total)


def _on_same_chords(laid: _Laid, terms: list[_density.Taken]) -> list[list[_density.Taken]]:
    """The terms of a solid by the chords that count them, those of the core last.

    Bores that cut each other need all chords whatever the layer.
    """
    spheres = [t for t in terms if t.layer < _density.CORE]
    cores = [t for t in terms if t.layer == _density.CORE]
    if laid.varied and not (laid.plain or laid.thin):
        return [spheres + cores]
    return [each for each in (spheres, cores) if each]


def _add_moving(
    found: VariantModel, moving: list[tuple[Bore, _density.Taken]], total: Array
) -> None:
    """Add to ``total`` (n, 10) what is taken in bores that lie elsewhere in every variant.

    All that are of one kind are counted at once, as if there were as many more variants.
    """
    n = len(total)
    for cored in (False, True):
        for pointed in (False, True):
            own = [
                (b, t)
                for b, t in moving
                if (t.layer == _density.CORE) == cored and (b.tip_height > 0.0) == pointed
            ]
            size = MOST // max(len(own), 1)
            for start in range(0, n if own else 0, size):
                part = slice(start, min(start + size, n))
                total[part] += _in_moving(found, own, part)


def _in_moving(found: VariantModel, own: list[tuple[Bore, _density.Taken]], at: slice) -> Array:
    """What is taken of the core, or of the layers about it, in bores of one kind: (n, 10).

    Where neither a bore nor its layer lies elsewhere than in the first variant, that is not counted
    again: an input that is moved by itself moves few of them.
    """
    n = at.stop - at.start
    cored = own[0][1].layer == _density.CORE
    stack = _sums.stacked([cavity_rows(found.cavities[b], at) for b, _ in own], n)
    if cored:
        seen = _core_seen(found, stack.frame, np.tile(np.arange(at.start, at.stop), len(own)))
    else:
        radii = _sums.joined([_size(found, t.layer, at) for _, t in own], n)
        (seen,) = _sums.in_spheres(stack.frame, [radii])
    far, smooth = _sums.placed(seen, stack.cavity, 0.0)
    like = stack.like_first(seen, n)
    new = like == np.arange(len(like))
    taken = np.zeros((len(like), 10))
    light = smooth | (stack.cavity.radius <= _sums.THIN)
    few = LIGHT if cored else ROUND
    for rule, some in ((few, light & ~far & new), (FULL, ~light & ~far & new)):
        here = np.flatnonzero(some)
        step = BATCH if rule == FULL else MOST
        for start in range(0, len(here), step):
            part = here[start : start + step]
            chords = stack.chords(rule, part)
            ends = _sums.ends(chords, seen.of(part))
            taken[part] = _sums.moments(chords, [(np.ones(1), *ends)])
    total = np.zeros((n, 10))
    for k, (b, t) in enumerate(own):
        weight = b.radius**2 * _weight(found, t, at)
        total += weight[:, None] * taken[like[k * n : (k + 1) * n]]
    return total


# what is taken in some solids that have their chords in common
_Parts = list[tuple[Solid, _density.Taken]]


def _add_crossed(found: VariantModel, carrier: Bore, parts: _Parts, total: Array) -> None:
    """Add to ``total`` (n, 10) what is taken in a thin bore where others cross it.

    All is counted on the same chords; of the core only in variants where it reaches the bore.
    """
    spheres = [part for part in parts if part[1].layer < _density.CORE]
    cores = [part for part in parts if part[1].layer == _density.CORE]
    for start in range(0, len(total), MOST):
        at = np.arange(start, min(start + MOST, len(total)))
        if spheres:
            total[at] += _in_crossed(found, carrier, spheres, at)
        if cores:
            own = cavity_rows(found.cavities[carrier], at)
            frame = _sums.frame_of(Solid((carrier,)), own)
            far, _ = _sums.placed(_core_seen(found, frame, at), own, 0.0)
            near = at[np.broadcast_to(~far, at.shape)]
            if len(near):
                total[near] += _in_crossed(found, carrier, cores, near)


def _in_crossed(found: VariantModel, carrier: Bore, parts: _Parts, at: NDArray[np.intp]) -> Array:
    """What is taken of some layers where others cross a thin bore, in some variants: (n, 10)."""
    bores = {carrier, *(b for solid, _ in parts for b in solid.bores)}
    cavities = {b: cavity_rows(found.cavities[b], at) for b in bores}
    chords = _sums.laid(Solid((carrier,)), cavities, LIGHT)
    if len(chords.low) == 1 and all(t.layer == _density.CORE for _, t in parts):
        chords = _near(chords, found)
        if not len(chords.weight):
            return np.zeros((len(at), 10))
    inside = {b: _sums.inside(chords, c) for b, c in cavities.items() if b != carrier}
    layers: dict[int, tuple[Array, Array]] = {}
    held = []
    for solid, t in parts:
        if t.layer not in layers:
            (seen,) = _seen(found, [t], chords.frame, at)
            layers[t.layer] = _sums.ends(chords, seen)
        low, high = layers[t.layer]
        for b in solid.bores:
            if b != carrier:
                low, high = np.maximum(low, inside[b][0]), np.minimum(high, inside[b][1])
        held.append((_weight(found, t, at), low, high))
    return _sums.moments(chords, held)


class _Laid:
    """The chords of a solid in some variants, laid when they are asked for."""

    def __init__(self, found: VariantModel, solid: Solid, part: Part) -> None:
        self.found, self.solid = found, solid
        self.cavities = {b: cavity_rows(found.cavities[b], part) for b in solid.bores}
        self.middle = _sums.middle_of(solid, self.cavities)
        self.frame = _sums.frame_of(solid, self.middle)
        self.thin = solid.thin
        # where bores cut each other, there is an edge
        self.plain = solid.together or len(solid.bores) == 1
        self.varied = any(len(v) > 1 for c in self.cavities.values() for v in c)
        self._known: dict[tuple[_sums.Rule, bool], Chords] = {}

    def chords(self, rule: _sums.Rule, part: Part, cored: bool = False) -> Chords:
        """Those of some of its variants; of fixed ones within a core, what a core can reach."""
        if self.varied:
            cavities = {b: cavity_rows(c, part) for b, c in self.cavities.items()}
            frame = self.frame if self.frame.shape[-1] == 1 else self.frame[:, :, part]
            return _sums.laid(self.solid, cavities, rule, frame)
        if (rule, cored) not in self._known:
            chords = _sums.laid(self.solid, self.cavities, rule, self.frame)
            self._known[rule, cored] = _near(chords, self.found) if cored else chords
        return self._known[rule, cored]


def _add_layers(
    found: VariantModel,
    laid: _Laid,
    terms: list[_density.Taken],
    at: NDArray[np.intp],
    total: Array,
) -> None:
    """Add to ``total`` (n, 10) what is taken of some layers, by `FULL` chords only where need be."""
    seen = _seen(found, terms, laid.frame, at)
    places = [_sums.placed(s, laid.middle, laid.solid.reach) for s in seen]
    there = [not each[0].all() for each in places]
    if not any(there):
        return
    terms, seen = list(compress(terms, there)), list(compress(seen, there))
    places = list(compress(places, there))
    far = np.logical_and.reduce([each[0] for each in places])
    smooth = np.logical_and.reduce([each[1] for each in places])
    light = (smooth & laid.plain) | laid.thin
    weights = [_weight(found, t, at) for t in terms]
    cored = all(t.layer == _density.CORE for t in terms)
    few = ROUND if len(laid.solid.bores) == 1 and not cored else LIGHT
    for rule, some in ((few, light & ~far), (FULL, ~light & ~far)):
        here = np.flatnonzero(np.broadcast_to(some, at.shape))
        step = BATCH if rule == FULL else MOST
        for start in range(0, len(here), step):
            part = here[start : start + step]
            chords = laid.chords(rule, part, cored)
            if len(chords.weight):
                held = (
                    (rows(w, part), *_sums.ends(chords, s.of(part)))
                    for w, s in zip(weights, seen, strict=True)
                )
                total[at[part]] += _sums.moments(chords, held)


def _seen(
    found: VariantModel, terms: Sequence[_density.Taken], frame: Array, part: Part
) -> list[_sums.Seen]:
    """Some layers of some variants as a frame sees them; the core is the last of them."""
    layers = [t.layer for t in terms]
    cores = [_core_seen(found, frame, part)] if layers[-1] == _density.CORE else []
    spheres = layers[: len(layers) - len(cores)]
    if spheres:
        return _sums.in_spheres(frame, [_size(found, n, part) for n in spheres]) + cores
    return cores


def _size(found: VariantModel, layer: int, part: Part) -> Array:
    """The radius of the sphere that a layer fills, in some variants."""
    size = found.inner if layer else found.radius
    assert size is not None
    return rows(size, part)


def _core_seen(found: VariantModel, frame: Array, part: Part) -> _sums.Seen:
    """The cores of some variants as a frame sees them."""
    assert found.semi_axes is not None
    assert found.excess is not None
    center = _moment_rows(found, part) / rows(found.excess, part)[:, None]
    return _sums.in_core(frame, rows(found.axes, part), rows(found.semi_axes, part), center)


def _weight(found: VariantModel, t: _density.Taken, part: Part) -> Array:
    """What a term takes away of each cubic inch, in oz (n,)."""
    weight = t.share * rows(found.densities, part)[:, t.layer] + t.filled
    if t.sleeved:
        weight = weight + t.sleeved * rows(found.sleeves, part)
    return np.asarray(weight)


def _taken_before(found: VariantModel, before: Before) -> Array:
    """What the old holes took of every variant, (n, 10), as the ball lies there."""
    turn = before.turn
    if before.whole is not None:
        first = before.whole[0, 1:] @ turn
        second = turn.transpose(0, 2, 1) @ before.whole[1:, 1:] @ turn
        removed = np.full(len(turn), before.whole[0, 0])
    else:
        # the core as it lies in the ball
        back = turn.transpose(0, 2, 1)
        cg = None if found.cg is None else (found.cg[:, None] @ back)[:, 0]
        there = found._replace(axes=found.axes @ back, cg=cg)
        n = count(found)
        parts = (np.arange(n)[at : at + BATCH] for at in range(0, n, BATCH))
        taken = np.concatenate([_taken_at_first(there, before, part) for part in parts])
        removed, square = taken[:, 0], np.empty((n, 3, 3))
        for k, (i, j) in enumerate(SECOND):
            square[:, i, j] = square[:, j, i] = taken[:, 4 + k]
        first = (taken[:, None, 1:4] @ turn)[:, 0]
        second = turn.transpose(0, 2, 1) @ square @ turn
    six = np.stack([second[:, i, j] for i, j in SECOND], axis=-1)
    return np.concatenate([removed[:, None], first, six], axis=1)


def _taken_at_first(there: VariantModel, before: Before, part: NDArray[np.intp]) -> Array:
    """What the old holes took of varied balls of one batch as these lie at first, (n, 10)."""
    total = np.zeros((len(part), 10))
    sleeves = OZ_PER_IN3 * rows(there.sleeves, part)
    for chords, density in before.parts:
        if density is None:
            total += _taken_from(there, chords, part)
            continue
        (seen,) = _sums.in_spheres(chords.frame, [rows(there.radius, part)])
        for weight, share in ((density, np.ones(1)), (np.sign(density), sleeves)):
            if share.any():
                own = chords._replace(weight=chords.weight * weight)
                total += _sums.moments(own, [(share, *_sums.ends(own, seen))])
    return total


def _taken_from(there: VariantModel, chords: Chords, part: Part) -> Array:
    """What all layers of some variants hold along chords: (n, 10)."""
    layers = _layer_terms(there)
    seen = _seen(there, layers[: _density.CORE], chords.frame, part)
    if layers[_density.CORE :]:
        seen.append(_core_seen(there, chords.frame, part))
    weights = (_weight(there, t, part) for t in layers)
    held = ((w, *_sums.ends(chords, s)) for w, s in zip(weights, seen, strict=True))
    return _sums.moments(chords, held)


def _layer_terms(found: VariantModel) -> list[_density.Taken]:
    """All layers taken whole."""
    number = 1 if found.semi_axes is None else 3
    return [_density.Taken(layer, (), 1.0, 0.0, 0.0) for layer in range(number)]


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
            near[k] = np.logical_and.reduce([_sums.near_each_other(other, one) for other in own])
        at = np.flatnonzero(near.any(axis=0))
        for start in range(0, len(at), FEW):
            some = at[start : start + FEW]
            cavities = {b: cavity_rows(found.cavities[b], some) for b in term.bores}
            chords = _sums.laid(Solid(term.bores), cavities, before.rule)
            total[some] += term.share * _exchanged(found, before, chords, near, some)


def _exchanged(
    found: VariantModel,
    before: Before,
    chords: Chords,
    near: NDArray[np.bool_],
    some: NDArray[np.intp],
) -> Array:
    """What old bodies hold along lines through new holes, less what the layers would: (n, 10)."""
    shape = (len(some), len(chords.weight))
    (ball,) = _sums.in_spheres(chords.frame, [rows(found.radius, some)])
    low, high = _sums.ends(chords, ball)
    place = np.repeat(np.arange(len(some)), shape[1])
    line, start, end, body = peeled(
        chords.frame,
        chords.places,
        np.broadcast_to(low, shape),
        np.broadcast_to(high, shape),
        [Cavities(rows(c.entry, some), rows(c.axis, some), c.size) for c in before.cavities],
        near[:, some],
    )
    met = body >= 0
    line, start, end, body = line[met], start[met], end[met], body[met]
    at = place[line]

    def each(a: Array) -> Array:
        """Of every part, what belongs to its variant."""
        return np.broadcast_to(rows(a, some), (len(some), *a.shape[1:]))[at]

    densities = before.densities[body]
    densities = densities + np.sign(densities) * each(found.sleeves) * OZ_PER_IN3
    layers = each(found.densities)

    def held(density: Array, lo: Array, hi: Array) -> Array:
        """Integrals of 1, t and t^2 over parts of lines, (3, parts)."""
        size = density * np.maximum(hi - lo, 0.0)
        mean = 0.5 * (lo + hi)
        return np.stack((size, size * mean, size * (mean * mean + (hi - lo) ** 2 / 12.0)))

    sums = held(densities - layers[:, 0], start, end)
    if found.inner is not None:
        endless = chords._replace(low=chords.low - FAR, high=chords.high + FAR)
        within = _sums.in_spheres(chords.frame, [rows(found.inner, some)])
        within.append(_core_seen(found, chords.frame, some))
        for layer, seen in enumerate(within, start=1):
            bounds = _sums.ends(endless, seen)
            lo, hi = (np.broadcast_to(v, shape).ravel()[line] for v in bounds)
            sums += held(-layers[:, layer], np.maximum(start, lo), np.minimum(end, hi))
    s0, s1, s2 = (
        np.bincount(line, s, len(place)).astype(float, copy=False).reshape(shape) for s in sums
    )
    return _sums.assembled(chords, s0, s1, s2)


def _near(chords: Chords, found: VariantModel) -> Chords:
    """The chords without those that no core can reach, whatever way it is turned."""
    assert found.semi_axes is not None
    reach = float(np.max(found.semi_axes)) + float(np.max(np.linalg.norm(_centers(found), axis=-1)))
    p, d = chords.points[0], chords.frame[3, :, 0]
    nearest = np.minimum(np.maximum(-(p @ d), chords.low[0]), chords.high[0])
    kept = (np.linalg.norm(p + nearest[:, None] * d, axis=-1) < reach) & (
        chords.high[0] > chords.low[0]
    )
    return chords.some(np.flatnonzero(kept), chords.low[:, kept], chords.high[:, kept])


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


def _moment_rows(found: VariantModel, part: Part) -> Array:
    if found.top_weight is None or found.cg is None:
        return _moment(found)
    return _moment(
        found._replace(
            cg=rows(found.cg, part),
            top_weight=rows(found.top_weight, part),
            arm=rows(found.arm, part),
        )
    )


def some(found: VariantModel, at: Part) -> VariantModel:
    """Some of the variants."""
    arrays: dict[str, Any] = {
        name: rows(v, at) for name, v in found._asdict().items() if isinstance(v, np.ndarray)
    }
    before = found.before
    if before is not None:
        cavities = (Cavities(rows(c.entry, at), rows(c.axis, at), c.size) for c in before.cavities)
        before = before._replace(turn=rows(before.turn, at), cavities=tuple(cavities))
    moved = {bore: cavity_rows(c, at) for bore, c in found.cavities.items()}
    return found._replace(cavities=moved, before=before, **arrays)


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
    with np.errstate(invalid="ignore"):  # no such ball can be, and its RGs are not numbers
        low, mid, high = np.sqrt(squares).T
    flare, about_pap = none, none
    if found.pap is not None:
        pap = found.pap / np.linalg.norm(found.pap, axis=-1, keepdims=True)
        flare = flare_potential(tensor, pap, found.radius)
        about_pap = _rg_about(tensor, pap)
    bad = np.where(found.possible, 0.0, np.nan)
    figures = (
        weight / OZ_PER_LB, side, finger, top,
        low, mid, high, high - low, high - mid, flare, about_pap,
    )  # fmt: skip
    return Outcomes(*[*(v + bad for v in figures), tensor + bad[..., None]])


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


def _rg_about(tensor: Array, axis: Array) -> Array:
    """The RG (n,) about unit vectors (n, 3): the square root of a . J a."""
    a, b, c, d, e, f = tensor.T
    x, y, z = axis.T
    square = a * x * x + b * y * y + c * z * z + 2.0 * (d * x * y + e * x * z + f * y * z)
    with np.errstate(invalid="ignore"):  # as of `evaluate`
        return np.asarray(np.sqrt(square))


def flare_potential(tensor: Array, pap: Array, radius: Array) -> Array:
    """How far the axis moves over the ball in its first revolution, in inches (n,): a comparison.

    The ball turns freely about the PAP, ``pap`` (n, 3) of length one: Euler's equations without a
    torque, J w' = (J w) x w, with all three RGs (Landau & Lifshitz, Mechanics, sections 36 and 37). The
    lane's friction is left out. Over an angle turned, the axis a = w / |w| has the rate f - a (a . f)
    with f = J^-1 (J a x a), whatever the speed. An axis moves by less than a quarter of a radian in a
    turn, and evenly, so that one step of Runge and Kutta is within 1e-3 in.
    """
    a, b, c, d, e, f = tensor.T
    # the inverse times the determinant
    i, j, k = b * c - f * f, a * c - e * e, a * b - d * d
    o, p, q = e * f - c * d, d * f - b * e, d * e - a * f
    whole = 2.0 * math.pi / (a * i + d * o + e * p)

    def rate(x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
        """What the axis would move by in a turn at this rate."""
        u, v, w = a * x + d * y + e * z, d * x + b * y + f * z, e * x + f * y + c * z
        u, v, w = v * z - w * y, w * x - u * z, u * y - v * x
        u, v, w = i * u + o * v + p * w, o * u + j * v + q * w, p * u + q * v + k * w
        along = x * u + y * v + z * w
        return whole * (u - along * x), whole * (v - along * y), whole * (w - along * z)

    start = pap.T
    first = rate(*start)
    second = rate(*(s + 0.5 * r for s, r in zip(start, first, strict=True)))
    third = rate(*(s + 0.5 * r for s, r in zip(start, second, strict=True)))
    fourth = rate(*(s + r for s, r in zip(start, third, strict=True)))
    x, y, z = (
        (r1 + 2.0 * (r2 + r3) + r4) / 6.0
        for r1, r2, r3, r4 in zip(first, second, third, fourth, strict=True)
    )
    chord = np.sqrt(x * x + y * y + z * z)
    return np.asarray(2.0 * radius * np.arcsin(np.minimum(0.5 * chord, 1.0)))


def layouts(job: Job, drilling: Array, pin_to_pap: Array, val: Array) -> Outcomes:
    """Statics and inertia of a job under many layouts by angles, each (n,).

    Raises InputError where a pin-to-PAP cannot be on this ball.
    """
    return at_layouts(job, _layout.Angles(drilling, pin_to_pap, val))


def at_layouts(
    job: Job, layout: _layout.Angles | _layout.Placement, arm: float | None = None
) -> Outcomes:
    """The same, of a scale with this arm where one is given, in inches."""
    if job.history is None:
        return evaluate(model(job, layout=layout, arm=arm))
    # old holes turn with the layout: their places take room, so these go batch by batch
    stated = np.broadcast_arrays(*(getattr(layout, each.name) for each in fields(layout)))
    parts = []
    for at in range(0, len(stated[0]), TURNED):
        some = slice(at, at + TURNED)
        there = type(layout)(*(values[some] for values in stated))
        parts.append(evaluate(model(job, layout=there, arm=arm)))
    return Outcomes(*(np.concatenate(values) for values in zip(*parts, strict=True)))


def plan_flare(plan: Plan) -> float | None:
    """The `flare_potential` of a plan in inches, from its RGs and axes; None without a PAP."""
    pap, inertia = plan.marks.pap, plan.inertia
    if pap is None:
        return None
    values = (inertia.rg_low, inertia.rg_mid, inertia.rg_high)
    # a left hand turns its ball the other way: in its mirror image as a right hand does
    along, low, high = (
        np.array(_sphere.mirror(mark.xyz, plan.job.bowler.hand)) / np.linalg.norm(mark.xyz)
        for mark in (pap, inertia.low_axis, inertia.high_axis)
    )
    axes = np.array((low, np.cross(high, low), high))
    tensor = axes.T @ np.diag(np.square(values)) @ axes
    six = [tensor[i, i] for i in range(3)] + [tensor[0, 1], tensor[0, 2], tensor[1, 2]]
    return float(flare_potential(np.array([six]), along[None], np.array([plan.radius]))[0])
