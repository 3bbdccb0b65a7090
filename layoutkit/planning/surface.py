"""What a plan would be with its pin elsewhere on the ball, or its reference mark at another bearing.

`surface` takes any places and bearings; `visible` lays a grid of places over the side of the ball that
is seen, and `round_the_pin` turns the reference mark about the present pin. Lengths are inches, weights
ounces, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import arc, hole_arc, mirror, to_over_up
from layoutkit.geometry.vectors import Array
from layoutkit.job.rules import DRILLABLE, FAIL, OUTCOMES, STATICS
from layoutkit.planning import layout as _layout
from layoutkit.planning import placing as _placing
from layoutkit.planning import ruin as _ruin
from layoutkit.planning import sweep as _sweep
from layoutkit.planning import variants as _variants
from layoutkit.planning.given import arms, psa_arc
from layoutkit.planning.unknown import LABEL, require
from layoutkit.planning.values import Plan

PIECE = 4096  # places between two reports of progress
BY_LAYOUT = ("gross", *STATICS, DRILLABLE)  # checks that another layout may turn
AROUND = 72  # bearings round the pin, every 5 degrees


class Surface(NamedTuple):
    """Of every place (n,): where the pin is, how the reference mark lies, and what follows.

    ``verdict`` judges what depends on the layout: gross and static weights, and whether the ball is
    ruined; numbers as in `rules.OUTCOMES`. ``clearance`` has for pin, CG and PSA mark, as far as the
    ball has them, the least arc to the edge of a gripping hole, which is below 0 where the mark is cut
    away. ``ranges`` has each static weight at the least and the greatest over the arm's range.
    """

    plan: Plan
    over: Array
    up: Array
    bearing: Array
    outcomes: _variants.Outcomes
    verdict: NDArray[np.int8]
    clearance: Mapping[str, Array]
    ranges: Mapping[str, tuple[Array, Array]]

    @property
    def outcome(self) -> NDArray[np.int8]:
        """The outcome of a plan there, (n,): the verdict, or a check that no layout changes if worse."""
        others = [c.outcome for c in self.plan.checks if c.name not in BY_LAYOUT]
        least = max((OUTCOMES.index(each) for each in others), default=0)
        return np.maximum(self.verdict, least).astype(np.int8)

    @property
    def cut_away(self) -> NDArray[np.bool_]:
        """Whether a hole cuts one of the marks away, (n,)."""
        return np.asarray(np.min(list(self.clearance.values()), axis=0) <= 0.0)


def visible(plan: Plan, frame: Array, across: int) -> tuple[Array, Array]:
    """Places over and up from the grip centre on a square grid over the side of the ball that is seen.

    ``frame`` (3, 3) has the directions right, up and toward the eye as rows, in the grip frame;
    ``across`` is the number of grid lines over the ball. Two arrays (across, across); beside the ball
    they are not numbers.
    """
    line = np.linspace(-1.0, 1.0, across)
    x, y = np.meshgrid(line, line)
    square = x * x + y * y
    depth = np.sqrt(np.where(square <= 1.0, 1.0 - square, np.nan))
    points = plan.radius * np.stack((x, y, depth), axis=-1) @ frame
    over, up = to_over_up(mirror(points, plan.job.bowler.hand), plan.radius)
    return over, up


def round_the_pin(
    plan: Plan, count: int = AROUND, told: Callable[[int, int], None] | None = None
) -> Surface:
    """The plan with its reference mark at ``count`` bearings, evenly about the present pin."""
    pin = plan.marks.pin
    bearings = (plan.layout.bearing or 0.0) + np.arange(count) * 360.0 / count
    return surface(plan, np.full(count, pin.over), np.full(count, pin.up), bearings, told)


def bearing_kept(plan: Plan, over: Array, up: Array) -> Array:
    """The reference mark's bearing (n,) where the pin is moved to each place, stated as the job is.

    By placement the bearing stays, by angles the angle at the pin, by distances the arc from the PSA
    mark to the PAP. Not a number where such a layout cannot have its pin there.
    """
    job, radius = plan.job, plan.radius
    layout = _layout.stated(job.layout)
    if isinstance(layout, _layout.Placement):
        return np.full(len(over), float(layout.bearing))
    mark, pap = psa_arc(job), _layout.axis_point(job.bowler)
    there = _layout.to_angles(_layout.Placement(over, up, np.zeros(len(over))), mark, pap, radius)
    turn = np.full(len(over), np.nan)
    if isinstance(layout, _layout.Angles):
        turn[:] = layout.angle_at_pin
    else:
        assert mark is not None
        away, kept, whole = np.asarray(there.pin_to_pap), float(layout.psa_to_pap), math.pi * radius
        least = abs(mark - kept)
        can = (away >= least) & (away <= min(mark + kept, 2.0 * whole - mark - kept))
        if can.any():
            arcs = _layout.Distances(away[can], kept, np.zeros(int(can.sum())))
            turn[can] = _layout.distances_to_angles(arcs, mark, radius).angle_at_pin
    moved = _layout.Angles(np.nan_to_num(turn), there.pin_to_pap, there.angle_at_pap)
    placed = np.asarray(_layout.to_placement(moved, mark, pap, radius).bearing, dtype=float)
    return np.where(np.isnan(turn), np.nan, placed)


def surface(
    plan: Plan,
    over: Array,
    up: Array,
    bearing: Array | float | None = None,
    told: Callable[[int, int], None] | None = None,
) -> Surface:
    """The plan with its pin at each place ``over`` and ``up``, (n,), the reference mark at ``bearing``.

    Without a bearing it stays as it is. ``told`` hears how many of how many places are done. Raises
    InputError where the label leaves static weights unknown.
    """
    job = plan.job
    require(job, "a map over the ball's surface", *LABEL)
    turn = (plan.layout.bearing or 0.0) if bearing is None else bearing
    over, up, turn = (np.ravel(a) for a in np.broadcast_arrays(over, up, np.asarray(turn, float)))
    n = len(over)
    found, verdicts, clearances, ranges = [], [], [], []
    mouths = [mouth for hole in _placing.place(job).holes for mouth in hole.mouths]
    for at in range(0, n, PIECE):
        some = slice(at, at + PIECE)
        there = _layout.Placement(over[some], up[some], turn[some])
        by_arm = [_variants.at_layouts(job, there, arm) for arm in arms(job)]
        ruined = _ruin.under_layouts(job, there)
        found.append(by_arm[0])
        each_arm = {s: np.stack([getattr(o, f"{s}_oz") for o in by_arm]) for s in STATICS}
        ranges.append({s: (v.min(axis=0), v.max(axis=0)) for s, v in each_arm.items()})
        verdicts.append(np.where(ruined, FAIL, _sweep.judge(plan, by_arm)).astype(np.int8))
        marks = _placing.place_marks(job, there).factory
        clearances.append({name: _clearance(p, mouths, plan.radius) for name, p in marks.items()})
        if told is not None:
            told(min(at + PIECE, n), n)
    return Surface(
        plan,
        over,
        up,
        turn % 360.0,
        _variants.Outcomes(*map(np.concatenate, zip(*found, strict=True))),
        np.concatenate(verdicts),
        {name: np.concatenate([c[name] for c in clearances]) for name in clearances[0]},
        {
            name: (
                np.concatenate([r[name][0] for r in ranges]),
                np.concatenate([r[name][1] for r in ranges]),
            )
            for name in STATICS
        },
    )


def _clearance(points: Array, mouths: list[Bore], radius: float) -> Array:
    """The least arc (n,) from places to the edge of a hole's mouth."""
    arcs = [arc(points, m.entry, radius) - hole_arc(2.0 * m.radius, radius) for m in mouths]
    return np.asarray(np.min(arcs, axis=0))


def lines_for(count: int) -> int:
    """How many lines across put about ``count`` places on the side that is seen."""
    return max(math.ceil(math.sqrt(4.0 * count / math.pi)), 3)
