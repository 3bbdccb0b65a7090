"""From a plan to what its ball does on the lane: path, flare, and how two layouts differ.

It compares layouts under one release on one lane of even friction. It does not promise a score: oil that
moves, pins, a worn surface and the bowler's own variation are left out.

Boards are counted from the bowler's own side, so the numbers of a left-handed bowler read as those of a
right-handed one; ``y`` is the lane's, to the left for both.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.roots import bisection
from layoutkit.geometry.sphere import hole_arc, mirror
from layoutkit.geometry.vectors import Array, Vector, scaled
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Lane, Release
from layoutkit.lane import flare as _flare
from layoutkit.lane import motion as _motion
from layoutkit.lane.aim import released
from layoutkit.lane.places import Breakpoint, board_at, board_of, breakpoint_of, cubic
from layoutkit.lane.start import (
    ARROWS,
    BOARD,
    IN_S_PER_MPH,
    LONGEST_TURN,
    ball_of,
    oil_end,
    side_of,
    start_of,
    stretches,
)
from layoutkit.planning.values import Plan

ROLLS = 3.0  # in/s; a ball whose slip stays below it rolls. A convention: a hundredth of its speed
NEAR_HOLE = 0.25  # inches; a ring that passes a hole's edge closer than this is told
NO_FLARE = (
    "No RG data: the ball is taken as one uniform density, so its axis keeps its place and flare "
    "cannot be computed."
)
NO_TURN = (
    "The ball stops turning on its way or never turns, so it has no axis: flare cannot be computed."
)
LEFT_OUT = (
    "Left out: oil that moves (is carried and burnt away), oil that differs across the boards, friction "
    "that depends on speed or is larger at rest than sliding, the spin's own friction about the upright "
    "axis, rolling resistance, loft (the ball starts on the lane), pins, a worn or sanded surface, and "
    "what varies from shot to shot. It compares layouts; it promises no score."
)
CONVENTIONAL = {
    (
        "release",
        "lane",
    ): "The release and the lane are the program's own convention, not this bowler's "
    "or this house's.",
    ("release",): "The release is the program's own convention, not this bowler's.",
    ("lane",): "The lane is the program's own convention, not this house's.",
}

# what is varied for the model's own uncertainty: half-widths, conventional, no source
VARIED = {
    "speed": 0.5, "revs": 15.0, "axis_rotation": 4.0, "axis_tilt": 2.0, "board": 0.5,
    "direction": 0.25, "oil": 0.01, "dry": 0.03, "oil_length": 1.0,
}  # fmt: skip
DRAWS, SEED = 100, 20261125


class Phase(NamedTuple):
    """A part of the path, in feet: "skid" on the oil, "hook" beyond it, "roll" once it rolls."""

    name: str
    start: float
    length: float


class Path(NamedTuple):
    """The path of one shot; feet, boards from the bowler's own side, degrees, mph, rpm, seconds.

    ``gutter`` is where it left the lane, None if it did not; ``stopped`` tells that it never came to
    the pins for another reason, ``hops`` that the normal force turned negative. What a shot did
    not come to is None.
    """

    phases: tuple[Phase, ...]
    board_at_arrows: float | None
    breakpoint: Breakpoint | None
    board_at_pins: float | None
    entry_angle: float | None
    end_speed: float
    end_revs: float
    time: float
    gutter: float | None
    stopped: bool
    hops: bool


@dataclass(frozen=True, slots=True)
class Roll:
    """A shot: what was released on what lane, its path and its flare.

    ``time`` (t,) s, ``x`` (t,) ft and ``board`` (t,) are the path step by step, ``touch`` (t, 3) the
    points of the ball, in the grip frame, that touched the lane, and ``turned`` (t, 3, 3) the matrices
    that turn the grip frame into the lane's, whose y is to the left for both hands. ``flare`` is None
    without RG data or where the ball does not turn; its axes and crossings are in the bowler's frame.
    ``near_holes`` are those that a ring passes closely.
    """

    plan: Plan
    release: Release
    lane: Lane
    time: Array
    x: Array
    board: Array
    touch: Array
    turned: Array
    path: Path
    flare: _flare.Flare | None
    near_holes: tuple[_flare.Near, ...]
    cautions: tuple[str, ...]

    @property
    def y(self) -> Array:
        """Inches to the left of the lane's middle, (t,), for both hands."""
        sign = 1.0 if self.plan.job.bowler.hand == "right" else -1.0
        return sign * (self.board - 20.0) * BOARD

    @property
    def gutter_side(self) -> str | None:
        """The gutter into which the ball falls, "left" or "right"; None where it stays on the lane."""
        return (
            None if self.path.gutter is None else side_of(self.plan, float(self.board[-1]) < 20.0)
        )


class Difference(NamedTuple):
    """By how much a figure of one shot differs from the first one's: its value and two standard
    deviations of it under the varied friction and release."""

    name: str
    unit: str
    value: float
    uncertainty: float


# --- one shot -------------------------------------------------------------------------------------


def roll(plan: Plan, release: Release | None = None) -> Roll:
    """The shot of a plan under a release and its record's lane, or the conventional one.

    The release is the record's by default (`aim.released`): a record that states neither board nor
    direction rolls on a line to the pocket. Raises InputError where the record leaves open what a roll
    needs (`unknown.FIELDS`).
    """
    release, lane = release or released(plan), plan.job.lane or Lane()
    ball, axes = ball_of(plan)
    trail = _motion.one(ball, start_of(plan, release, axes), stretches(lane), LONGEST_TURN)
    return _shot(plan, release, lane, ball, axes, trail)


def _shot(
    plan: Plan,
    release: Release,
    lane: Lane,
    ball: _motion.RollingBall,
    axes: tuple[Vector, Vector, Vector],
    trail: _motion.Trail,
) -> Roll:
    """What a trail comes to: path, rings and cautions."""
    rows, hand = np.array(axes), plan.job.bowler.hand
    states, x = trail.states, trail.states[:, 0]
    turns = matrices(states[:, 7:])
    touch = -turns[:, 2] @ rows
    path = _path(trail, ball, lane)
    found: _flare.Flare | None = None
    near: tuple[_flare.Near, ...] = ()
    if has_rg(plan) and np.linalg.norm(states[:, 4:7], axis=1).min() > 1e-6:
        own = np.array(ball)[:, None]
        track = track_of(trail, turns, np.arange(len(x) - 1), own, lane, rows[None])
        rings = _flare.rings(track, oil_end(lane))
        found = _flare.spread(rings, plan.radius)
        holes = [(m.hole, mirror(m.center, hand), m.radius) for m in mouths(plan)]
        near = _flare.near_holes(found.rings, holes, plan.radius, NEAR_HOLE)
    sign = 1.0 if hand == "right" else -1.0
    return Roll(
        plan, release, lane, trail.time, x / 12.0, board_of(states[:, 1]),
        plan.radius * touch * [sign, 1.0, 1.0], _frames(turns, rows, hand), path, found, near,
        _cautions(plan, path, float(states[-1, 1]) < 0.0, found, near),
    )  # fmt: skip


def track_of(
    trail: _motion.Trail,
    turns: Array,
    at: NDArray[np.intp],
    ball: Array,
    lane: Lane,
    rows: Array,
) -> _flare.Track:
    """What the rings of shots are read from.

    ``trail`` has their states (t, 11) one shot after the other, ``turns`` (t, 3, 3) are their
    `matrices`, and ``at`` the rows with which a step begins. ``ball`` (7, t) is in the order of
    `motion.RollingBall`, ``rows`` (t, 3, 3) the balls' principal axes as rows in the bowler's frame; of
    one ball (7, 1) and (1, 3, 3).
    """
    states = trail.states
    starts, mu, slope = np.array(stretches(lane)).T
    # a step lies on one stretch, on which it begins
    piece = np.searchsorted(starts, states[at, 0], "right") - 1

    def some(a: Array, row: NDArray[np.intp]) -> Array:
        return a if len(a) == 1 else a[row]

    def within(row: NDArray[np.intp], v: Array) -> Array:
        """Vectors of the lane's frame in the bowler's."""
        own = v[:, None] @ turns[row]
        return np.asarray((own @ some(rows, row))[:, 0])

    changes = []
    for row in (at, at + 1):
        s = states[row]
        friction = mu[piece] + slope[piece] * (s[:, 0] - starts[piece])
        rate = _motion.turning(s, friction, some(ball.T, row).T, trail.modes[at])
        # w is the same from either frame, so the derivative of w is too
        changes.append(np.column_stack([within(row, rate), rate[:, 2], s[:, 2]]))
    spin = within(np.arange(len(states)), states[:, 4:7])
    values = np.column_stack([spin, states[:, 6], states[:, 0]])
    return _flare.Track(trail.time, values, at, *changes)


def no_flare(plan: Plan) -> str:
    """Why a shot of this plan that has no flare has none."""
    return NO_TURN if has_rg(plan) else NO_FLARE


def has_rg(plan: Plan) -> bool:
    """Whether a ball's core is known, without which there is no flare."""
    return plan.job.ball.rg_low is not None and plan.core is not None


def matrices(q: Array) -> Array:
    """Rotation matrices (t, 3, 3) of quaternions (t, 4)."""
    a, b, c, d = q.T
    return np.array(
        [
            [1.0 - 2.0 * (c * c + d * d), 2.0 * (b * c - a * d), 2.0 * (b * d + a * c)],
            [2.0 * (b * c + a * d), 1.0 - 2.0 * (b * b + d * d), 2.0 * (c * d - a * b)],
            [2.0 * (b * d - a * c), 2.0 * (c * d + a * b), 1.0 - 2.0 * (b * b + c * c)],
        ]
    ).transpose(2, 0, 1)


def _frames(turns: Array, rows: Array, hand: str) -> Array:
    """Rotation matrices (t, 3, 3) from the grip frame to the lane's."""
    found = turns @ rows  # bowler's frame to the mirrored lane
    if hand == "left":
        found = np.diag([1.0, -1.0, 1.0]) @ found @ np.diag([-1.0, 1.0, 1.0])
    return np.asarray(found)


class Mouth(NamedTuple):
    """A gripping hole on the ball's surface, as wide as it is cut: its centre, a unit vector of the
    grip frame, and its radius in inches of arc."""

    hole: str
    center: Vector
    radius: float


def mouths(plan: Plan) -> tuple[Mouth, ...]:
    """The mouths of the gripping holes: of the sleeves' bores where there are any.

    An oval's is taken as a circle as wide as the oval is long.
    """
    wide = [
        h.bore.diameter if h.bore else h.oval.length if h.oval else h.diameter for h in plan.holes
    ]
    return tuple(
        Mouth(h.name, scaled(h.entry, 1.0 / plan.radius), float(hole_arc(w, plan.radius)))
        for h, w in zip(plan.holes, wide, strict=True)
    )


def _path(trail: _motion.Trail, ball: _motion.RollingBall, lane: Lane) -> Path:
    s, modes = trail.states, trail.modes
    x, y = s[:, 0], s[:, 1]
    end = float(x[-1])
    board, entry_angle = arrival(s[-1])
    arrived = bool(np.isfinite(board))
    gutter = abs(float(y[-1])) >= _motion.HALF_WIDTH - 1e-9
    oil = min(oil_end(lane), end)
    settled = _settled(trail, ball)
    skid = min(oil, settled)
    phases = [Phase("skid", 0.0, skid / 12.0)]
    if settled > skid:
        phases.append(Phase("hook", skid / 12.0, (settled - skid) / 12.0))
    if end > settled:
        phases.append(Phase("roll", settled / 12.0, (end - settled) / 12.0))
    vx, vy = float(s[-1, 2]), float(s[-1, 3])
    return Path(
        tuple(phases),
        board_at(trail, 12.0 * ARROWS),
        breakpoint_of(trail),
        float(board) if arrived else None,
        float(entry_angle) if arrived else None,
        math.hypot(vx, vy) / IN_S_PER_MPH,
        float(np.linalg.norm(s[-1, 4:7])) * 30.0 / math.pi,
        float(trail.time[-1]),
        end / 12.0 if gutter and not arrived else None,
        not arrived and not gutter,
        bool(modes[-1] == _motion.HOPS),
    )


def arrival(ends: Array) -> tuple[Array, Array]:
    """Board and angle at the pins of shots that ended like this, (..., 11); not a number of those that
    never came there."""
    arrived = ends[..., 0] >= _motion.LANE_LENGTH - 1e-6
    entry_angle = np.degrees(np.arctan2(ends[..., 3], ends[..., 2]))
    return np.where(arrived, board_of(ends[..., 1]), np.nan), np.where(arrived, entry_angle, np.nan)


def _settled(trail: _motion.Trail, ball: _motion.RollingBall) -> float:
    """Where the ball takes to rolling for good, in inches: from there on its slip stays below `ROLLS`.

    Its centre of gravity may let it slip by an inch or two a second now and then while it rolls: that
    is no sliding, and neither the ball's path nor its turning shows it.
    """
    s = trail.states
    sx, sy = _motion.slip(s.T, ball)
    rolls = trail.modes == _motion.ROLLING
    sx, sy = np.where(rolls, 0.0, sx), np.where(rolls, 0.0, sy)
    slides = np.flatnonzero(np.hypot(sx, sy) >= ROLLS)
    if not len(slides):
        return 0.0
    i = int(slides[-1])
    if i == len(s) - 1:
        return float(s[-1, 0])

    def slips(u: float) -> bool:
        return math.hypot(sx[i] + u * (sx[i + 1] - sx[i]), sy[i] + u * (sy[i + 1] - sy[i])) >= ROLLS

    # friction is even within a step, so the slip shrinks evenly
    share = bisection(slips, 0.0, 1.0, 1e-9)
    return cubic(s[i], s[i + 1], float(trail.time[i + 1] - trail.time[i]), share)[1]


def _cautions(
    plan: Plan,
    path: Path,
    own_gutter: bool,
    found: _flare.Flare | None,
    near: Sequence[_flare.Near],
) -> tuple[str, ...]:
    told = []
    if path.gutter is not None:
        side = side_of(plan, own_gutter)
        told.append(f"The ball falls into the {side} gutter {path.gutter:.1f} ft down the lane.")
    if path.hops:
        told.append(
            f"The ball hops {sum(p.length for p in path.phases):.1f} ft down the lane, as its centre of "
            "gravity lies so far off: the calculation ends there."
        )
    elif path.stopped:
        told.append("The ball does not come to the pins under this release and friction.")
    for n in near:
        what = "runs over" if n.gap <= 0.0 else f"passes {n.gap:.2f} in from"
        told.append(
            f"Ring {n.turn} of the track {what} the edge of the {n.hole} hole: expect the sound and the "
            "wear of it, or move the layout."
        )
    if found is None:
        told.append(no_flare(plan))
    missing = [name for name in ("release", "lane") if getattr(plan.job, name) is None]
    if missing:
        told.append(CONVENTIONAL[tuple(missing)])
    told.append(LEFT_OUT)
    return tuple(told)


# --- several layouts ------------------------------------------------------------------------------

FIGURES = (
    ("board at the pins", "boards"),
    ("entry angle", "degrees"),
    ("board at the arrows", "boards"),
    ("breakpoint", "ft"),
    ("board at the breakpoint", "boards"),
    ("skid", "ft"),
    ("hook", "ft"),
    ("speed at the pins", "mph"),
    ("revs at the pins", "rpm"),
    ("flare width", "in"),
)


def figures(shot: Roll) -> dict[str, float]:
    """The figures of a shot by the names of `FIGURES`; not a number where it has none."""
    p, none = shot.path, math.nan
    lengths = {phase.name: phase.length for phase in p.phases}
    point = p.breakpoint or (none, none)
    values = (
        p.board_at_pins, p.entry_angle, p.board_at_arrows, *point, lengths.get("skid"),
        lengths.get("hook", 0.0),
        none if p.board_at_pins is None else p.end_speed,
        none if p.board_at_pins is None else p.end_revs,
        None if shot.flare is None else shot.flare.width,
    )  # fmt: skip
    pairs = zip(FIGURES, values, strict=True)
    return {name: none if value is None else float(value) for (name, _), value in pairs}


def under(first: Plan, other: Plan) -> Plan:
    """The other plan with the first one's release and lane."""
    job = other.job.model_copy(update={"release": first.job.release, "lane": first.job.lane})
    return replace(other, job=job)


def compare(
    first: Plan, others: Sequence[Plan], draws: int = DRAWS, release: Release | None = None
) -> tuple[tuple[Difference, ...], ...]:
    """How each other plan's shot differs from the first one's, under that one's lane and one release.

    The release is the first plan's by default, as `roll` has it.

    Friction and release are varied within `VARIED`, alike for all plans, so that what they share drops
    out; seeded, so that the same plans give the same numbers. A figure that one of two shots lacks is
    left out.
    """
    release, lane = release or released(first), first.job.lane or Lane()
    drawn = _draws(release, lane, draws)
    base = _varied_figures(first, drawn)
    own = figures(roll(first, release))
    found = []
    for other in others:
        theirs = figures(roll(under(first, other), release))
        varied = _varied_figures(other, drawn)
        rows = []
        for name, unit in FIGURES:
            value = theirs[name] - own[name]
            apart = varied[name] - base[name]
            apart = apart[np.isfinite(apart)]
            if math.isfinite(value) and len(apart) > 1:
                sd = float(np.sqrt(np.mean((apart - value) ** 2)))
                rows.append(Difference(name, unit, value, 2.0 * sd))
        found.append(tuple(rows))
    return tuple(found)


def spread(plan: Plan, release: Release | None = None, draws: int = DRAWS) -> dict[str, float]:
    """Two standard deviations of the figures of one shot on its line, by the names of `FIGURES`.

    Friction and release are varied as in `compare`, but for the line: where it starts and its direction.
    A figure that the shot lacks is left out.
    """
    release, lane = release or released(plan), plan.job.lane or Lane()
    own = figures(roll(plan, release))
    varied = _varied_figures(plan, _draws(release, lane, draws, ("board", "direction")))
    found = {}
    for name, value in own.items():
        off = varied[name] - value
        off = off[np.isfinite(off)]
        if math.isfinite(value) and len(off) > 1:
            found[name] = 2.0 * float(np.sqrt(np.mean(off**2)))
    return found


def _draws(
    release: Release, lane: Lane, draws: int, kept: Collection[str] = ()
) -> list[tuple[Release, Lane]]:
    """Releases and lanes within `VARIED` of the given ones, and within what a record may hold.

    What is ``kept`` is not varied.
    """
    rng = np.random.default_rng(SEED)
    found = []
    for _ in range(draws):
        by = {name: float(rng.uniform(-half, half)) for name, half in VARIED.items()}
        by |= dict.fromkeys(kept, 0.0)
        thrown = {
            name: _within(f"release.{name}", getattr(release, name) + by[name])
            for name in Release.model_fields
            if name in by
        }
        if lane.table:
            rows = tuple(
                row.model_copy(
                    update={"friction": _within("lane.table.*.friction", row.friction + by["oil"])}
                )
                for row in lane.table
            )
            oiled = lane.model_copy(update={"table": rows})
        else:
            parts = ("oil", "dry", "oil_length")
            update = {n: _within(f"lane.{n}", getattr(lane, n) + by[n]) for n in parts}
            oiled = lane.model_copy(update=update)
        found.append((release.model_copy(update=thrown), oiled))
    return found


def _within(path: str, value: float) -> float:
    limit = limit_at(path)
    assert limit is not None
    return limit.nearest(value)


def _varied_figures(plan: Plan, drawn: Sequence[tuple[Release, Lane]]) -> dict[str, Array]:
    """The figures of all draws, (draws,) each."""
    ball, axes = ball_of(plan)
    starts = [start_of(plan, release, axes) for release, _ in drawn]
    state = _motion.State(*(np.array(column) for column in zip(*starts, strict=True)))
    lanes = [stretches(lane) for _, lane in drawn]
    shots: list[Roll | None] = [None] * len(drawn)
    # lanes with the same number of stretches go together
    for pieces in {len(lane) for lane in lanes}:
        at = [i for i, lane in enumerate(lanes) if len(lane) == pieces]
        fields = np.array([lanes[i] for i in at])  # (n, pieces, 3)
        lane = [_motion.Stretch(*fields[:, k].T) for k in range(pieces)]
        trail = _motion.many(ball, _motion.State(*(v[at] for v in state)), lane)
        for k, i in enumerate(at):
            over = int(np.argmax(trail.modes[:, k] >= _motion.DONE)) + 1
            own = _motion.Trail(trail.time[:over, k], trail.states[:over, k], trail.modes[:over, k])
            shots[i] = _shot(plan, *drawn[i], ball, axes, own)
    told = [figures(shot) for shot in shots if shot is not None]
    return {name: np.array([each[name] for each in told]) for name, _ in FIGURES}
