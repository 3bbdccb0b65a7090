"""The shots of many layouts at once, of one ball or of several, from what a sweep tells of them.

They are computed as `roll` does it, without a plan of each: the two differ by what sums over chords
leave of a ball's figures.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Lane, Release
from layoutkit.lane import flare as _flare
from layoutkit.lane import motion as _motion
from layoutkit.lane.roll import arrival, has_rg, matrices, mouths, track_of
from layoutkit.lane.start import LONGEST_TURN, oil_end, starts_of, stretches
from layoutkit.planning.drilled import SECOND
from layoutkit.planning.surface import Surface
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

BATCH = 1024  # shots at a time
AT_PINS = ("board_at_pins", "entry_angle")
OF_RINGS = ("flare_width", "ring_spacing", "rings_clear")


Places = tuple[Surface, NDArray[np.intp]]


def shots(
    cases: Sequence[Places],
    first: Plan,
    release: Release,
    names: Collection[str] = (*AT_PINS, *OF_RINGS),
) -> list[dict[str, Array]]:
    """Figures of the shots of some places of sweeps, (n,) each, under a release and the lane of
    ``first``; not a number where a shot has none.

    Each case is a sweep and which of its places are rolled; all are of one bowler. ``names`` are of
    `AT_PINS` and `OF_RINGS`: board at the pins and entry angle, degrees; flare width, the middle gap
    between neighbouring rings on the oil, and the least arc from a ring to a hole's edge, inches.
    Raises InputError without the bowler's PAP.
    """
    lane = first.job.lane or Lane()
    ringed = not set(OF_RINGS).isdisjoint(names)
    result = [{name: np.empty(len(which)) for name in names} for _, which in cases]
    for batch in _batches([len(which) for _, which in cases]):
        some = [(cases[n][0], cases[n][1][part]) for n, part in batch]
        for (n, part), figures in zip(batch, _some(some, lane, release, ringed), strict=True):
            for name in names:
                result[n][name][part] = figures[name]
    return result


def _batches(sizes: Sequence[int]) -> Iterator[list[tuple[int, slice]]]:
    """Cases of these sizes in batches: the number of each case, and which part of it."""
    batch: list[tuple[int, slice]] = []
    room = BATCH
    for n, size in enumerate(sizes):
        at = 0
        while at < size:
            part = slice(at, min(at + room, size))
            batch.append((n, part))
            room -= part.stop - at
            at = part.stop
            if not room:
                yield batch
                batch, room = [], BATCH
    if batch:
        yield batch


def _some(
    cases: Sequence[Places], lane: Lane, release: Release, ringed: bool
) -> Iterator[dict[str, Array]]:
    each = [_balls(*case) for case in cases]
    balls = np.concatenate([ball for ball, _, _ in each], axis=1)
    axes = np.concatenate([own for _, own, _ in each])
    starts = []
    for (found, _), (_, own, centers) in zip(cases, each, strict=True):
        # the PAP has another direction in a ball of another size
        start = starts_of(found.plan, release, own, centers)
        starts.append(np.broadcast_arrays(*start, own[:, 0, 0])[:-1])
    start = _motion.State(*np.concatenate(starts, axis=1))
    trail = _motion.many(_motion.RollingBall(*balls), start, stretches(lane), LONGEST_TURN)
    board, entry_angle = arrival(trail.states[-1])
    rings = _rings(trail, balls, lane, axes) if ringed else None
    at = 0
    for found, which in cases:
        part = slice(at, at + len(which))
        at = part.stop
        figures = dict.fromkeys(OF_RINGS, np.full(len(which), np.nan))
        if rings is not None and has_rg(found.plan):
            figures = _of_rings(found.plan, rings.of(part))
        yield figures | {"board_at_pins": board[part], "entry_angle": entry_angle[part]}


def _balls(found: Surface, which: NDArray[np.intp]) -> tuple[Array, Array, Array]:
    """The drilled balls (7, n), their principal axes (n, 3, 3) as rows, and their centres of gravity
    from the middle (n, 3), inches, both in the bowler's frame."""
    tensor = np.empty((len(which), 3, 3))
    for k, (i, j) in enumerate(SECOND):
        tensor[:, i, j] = tensor[:, j, i] = found.outcomes.tensor[which, k]
    squares, vectors = np.linalg.eigh(tensor)
    axes = vectors.transpose(0, 2, 1)
    axes[:, 1] = np.cross(axes[:, 2], axes[:, 0])  # right-handed
    o = found.outcomes
    readings = np.stack([o.side_oz[which], o.finger_oz[which], o.top_oz[which]], axis=1)
    centers = readings * (found.plan.statics.arm / (OZ_PER_LB * o.weight_lb[which]))[:, None]
    leads = (axes @ centers[:, :, None])[:, :, 0]
    radius = np.full((len(which), 1), found.plan.radius)
    return np.concatenate([radius, squares, leads], axis=1).T, axes, centers


class _Circles(NamedTuple):
    """Many rings: their axes by components, their angular radii."""

    axis: tuple[Array, Array, Array]
    radius: Array


class _Rings(NamedTuple):
    """The rings of n shots by turn and shot, (k, n): their circles, not a number where a shot has no such
    turn, and whether they are on the oil."""

    circles: _Circles
    oily: NDArray[np.bool_]

    def some(self, turns: slice, shots: slice = slice(None)) -> _Circles:
        """Those of some turns of some shots."""
        x, y, z = self.circles.axis
        at = turns, shots
        return _Circles((x[at], y[at], z[at]), self.circles.radius[at])

    def of(self, shots: slice) -> _Rings:
        """The rings of some shots."""
        return _Rings(self.some(slice(None), shots), self.oily[:, shots])


def _rings(trail: _motion.Trail, balls: Array, lane: Lane, axes: Array) -> _Rings:
    """The rings of trails (t, n)."""
    modes, states = trail.modes.T, trail.states.transpose(1, 0, 2)
    over = np.argmax(modes >= _motion.DONE, axis=1)
    there = np.arange(modes.shape[1]) <= over[:, None]
    shot = np.repeat(np.arange(len(over)), over + 1)
    flat = _motion.Trail(trail.time.T[there], states[there], modes[there])
    at = np.flatnonzero(flat.modes < _motion.DONE)
    with np.errstate(all="ignore"):  # a ball that does not turn has no axis
        found = _flare.read(
            track_of(flat, matrices(flat.states[:, 7:]), at, balls[:, shot], lane, axes[shot])
        )
    table = np.full((5, int(found.turn.max(initial=0)) + 1, len(over)), np.nan)
    columns = np.column_stack([found.axis, found.radius, found.x])
    table[:, found.turn, shot[at[found.step]]] = columns.T
    x, y, z, radius, place = table
    return _Rings(_Circles((x, y, z), radius), place < oil_end(lane))


def _of_rings(plan: Plan, rings: _Rings) -> dict[str, Array]:
    """What rings come to, (n,) each; see `shots`."""
    first, oily = rings.some(slice(1)), rings.oily
    away = _flare.apart(first, rings.circles, plan.radius)
    width = np.max(np.where(oily, away, 0.0), axis=0)
    gaps = _flare.apart(rings.some(slice(-1)), rings.some(slice(1, None)), plan.radius)
    gaps = np.sort(np.where(oily[1:] & oily[:-1], gaps, np.nan), axis=0)
    known = np.isfinite(gaps).sum(axis=0)
    spacing = np.full(len(width), np.nan)
    some = np.flatnonzero(known)
    spacing[some] = gaps[known[some] // 2, some]
    clear = np.full(len(width), np.inf)
    hand = plan.job.bowler.hand
    for m in mouths(plan):
        center = mirror(m.center, hand)
        gap = _flare.gap_to(rings.circles, center, m.radius, plan.radius)
        clear = np.fmin(clear, np.fmin.reduce(gap, axis=0))
    none = np.isnan(first.radius[0])
    result = {"flare_width": width, "ring_spacing": spacing, "rings_clear": clear}
    return {name: np.where(none | np.isinf(v), np.nan, v) for name, v in result.items()}
