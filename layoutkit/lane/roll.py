"""From a plan to what its ball does on the lane: path, flare, and how two layouts differ.

It compares layouts under one release on one lane of even friction. It does not promise a score: oil that
moves, pins, a worn surface and the bowler's own variation are left out.

Boards are counted from the bowler's own side, so the numbers of a left-handed bowler read as those of a
right-handed one; ``y`` is the lane's, to the left for both.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from layoutkit.geometry.roots import bisection
from layoutkit.geometry.sphere import hole_arc, mirror
from layoutkit.geometry.vectors import Array, Vector, cross, dot, scaled
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Lane, Release
from layoutkit.lane import flare as _flare
from layoutkit.lane import motion as _motion
from layoutkit.planning import unknown
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

BOARD = 2.0 * _motion.HALF_WIDTH / 39.0  # inches
ARROWS = 15.0  # ft from the foul line; common practice: the arrows lie from some 12 to 16 ft
IN_S_PER_MPH = 17.6
LONGEST_TURN = 0.8  # radians in a step of one shot: its rings are then within 0.03 in
ROLLS = 3.0  # in/s; a ball whose slip stays below it rolls. A convention: a hundredth of its speed
NEAR_HOLE = 0.25  # inches; a ring that passes a hole's edge closer than this is told
NO_FLARE = (
    "No RG data: the ball is taken as one uniform density, so its axis keeps its place and flare "
    "cannot be computed."
)
NO_TURN = (
    "The ball stops turning on its way or never turns, so it has no axis: flare cannot be computed."
)
THE_LANE = "what the ball does on the lane"
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


class Breakpoint(NamedTuple):
    """Where the path turns back from the gutter: ``x`` feet from the foul line, and on which board."""

    x: float
    board: float


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


# --- from the plan --------------------------------------------------------------------------------


def ball_of(plan: Plan) -> tuple[_motion.RollingBall, tuple[Vector, Vector, Vector]]:
    """The drilled ball for the lane, and its principal axes as unit rows, in the bowler's frame."""
    hand, n = plan.job.bowler.hand, plan.inertia
    low = scaled(mirror(n.low_axis.xyz, hand), 1.0 / plan.radius)
    high = scaled(mirror(n.high_axis.xyz, hand), 1.0 / plan.radius)
    axes = (low, cross(high, low), high)
    gravity = _gravity(plan)
    d = [dot(axis, gravity) for axis in axes]
    return _motion.RollingBall(plan.radius, n.rg_low**2, n.rg_mid**2, n.rg_high**2, *d), axes


def _gravity(plan: Plan) -> Vector:
    """The drilled ball's centre of gravity from its middle, in inches in the bowler's frame."""
    s = plan.statics
    # a reading times the arm is the moment about the centre (section 6 of the record's meaning)
    lever = s.arm / (OZ_PER_LB * s.weight_lb)
    side, finger, top = unknown.statics_of(plan, THE_LANE)
    return (side * lever, finger * lever, top * lever)


def start_of(plan: Plan, release: Release, axes: tuple[Vector, Vector, Vector]) -> _motion.State:
    """The state at the foul line: spinning about the PAP, the grip centre as high as that allows.

    Speed and direction are the centre of gravity's: the hand's push gives it the same velocity however
    the ball is balanced.
    """
    hand = plan.job.bowler.hand
    out, turn, tilt, phase = (
        math.radians(v)
        for v in (release.direction, release.axis_rotation, release.axis_tilt, release.phase)
    )
    # the axis point: to the left of the way at no rotation, back toward the bowler at 90
    way = -out + turn
    axis = (-math.sin(way) * math.cos(tilt), math.cos(way) * math.cos(tilt), math.sin(tilt))
    pap = scaled(mirror(unknown.pap_of(plan, THE_LANE).xyz, hand), 1.0 / plan.radius)
    body = np.array(axes) @ _triad(pap, (0.0, 0.0, 1.0), 0.0)
    lane = _triad(axis, (0.0, 0.0, 1.0), phase)
    speed = IN_S_PER_MPH * release.speed
    spin = 2.0 * math.pi * release.revs / 60.0
    wx, wy, wz = spin * axis[0], spin * axis[1], spin * axis[2]
    turned = lane @ body.T
    dx, dy, dz = (turned @ np.array(axes) @ np.array(_gravity(plan))).tolist()
    return _motion.State(
        0.0, (release.board - 20.0) * BOARD, speed * math.cos(out) - (wy * dz - wz * dy),
        -speed * math.sin(out) - (wz * dx - wx * dz), wx, wy, wz, *_quaternion(turned),
    )  # fmt: skip


def _triad(axis: Vector, up: Vector, phase: float) -> Array:
    """Columns: a unit axis, what of ``up`` lies across it turned about it by ``phase``, and the third."""
    a = np.array(axis)
    across = np.array(up) - (np.array(up) @ a) * a
    if np.linalg.norm(across) < 1e-9:  # the axis is the grip centre itself, or straight up
        across = np.array((0.0, 1.0, 0.0)) - a[1] * a
    b = across / np.linalg.norm(across)
    c = np.cross(a, b)
    b = math.cos(phase) * b + math.sin(phase) * c
    return np.stack([a, b, np.cross(a, b)], axis=1)


def _quaternion(m: Array) -> tuple[float, float, float, float]:
    """The quaternion of a rotation matrix, by its largest part (S. W. Shepperd, 1978)."""
    squares = np.array([np.trace(m), *np.diag(m)])
    k = int(squares.argmax())
    four = np.array(
        [
            [1.0 + squares[0], m[2, 1] - m[1, 2], m[0, 2] - m[2, 0], m[1, 0] - m[0, 1]],
            [
                m[2, 1] - m[1, 2],
                1.0 + 2.0 * m[0, 0] - squares[0],
                m[0, 1] + m[1, 0],
                m[0, 2] + m[2, 0],
            ],
            [
                m[0, 2] - m[2, 0],
                m[0, 1] + m[1, 0],
                1.0 + 2.0 * m[1, 1] - squares[0],
                m[1, 2] + m[2, 1],
            ],
            [
                m[1, 0] - m[0, 1],
                m[0, 2] + m[2, 0],
                m[1, 2] + m[2, 1],
                1.0 + 2.0 * m[2, 2] - squares[0],
            ],
        ]
    )[k]
    q0, q1, q2, q3 = (four / np.linalg.norm(four)).tolist()
    return q0, q1, q2, q3


def stretches(lane: Lane) -> tuple[_motion.Stretch, ...]:
    """The lane's friction as stretches in inches."""
    if not lane.table:
        oil = 12.0 * lane.oil_length
        first = _motion.Stretch(0.0, lane.oil, 0.0)
        if lane.oil_length >= 60.0:
            return (first,)
        dry = _motion.Stretch(oil, lane.dry, 0.0)
        return (first, dry) if oil > 0.0 else (dry,)
    rows = [(12.0 * row.at, row.friction) for row in lane.table]
    if rows[0][0] > 0.0:
        rows.insert(0, (0.0, rows[0][1]))
    found = []
    for (x, mu), (onward, then) in pairwise(rows):
        found.append(_motion.Stretch(x, mu, (then - mu) / (onward - x)))
    if rows[-1][0] < _motion.LANE_LENGTH:
        found.append(_motion.Stretch(*rows[-1], 0.0))
    return tuple(found)


def oil_end(lane: Lane) -> float:
    """Where the oil ends, in inches: in a table, where friction has risen half way to its last value."""
    if not lane.table:
        return 12.0 * lane.oil_length
    first, last = lane.table[0].friction, lane.table[-1].friction
    middle = 0.5 * (first + last)
    for a, b in pairwise(lane.table):
        if (a.friction - middle) * (b.friction - middle) <= 0.0 and a.friction != b.friction:
            return 12.0 * (a.at + (middle - a.friction) / (b.friction - a.friction) * (b.at - a.at))
    return _motion.LANE_LENGTH


# --- one shot -------------------------------------------------------------------------------------


def roll(plan: Plan) -> Roll:
    """The shot of a plan under its record's release and lane, or the conventional ones.

    Raises InputError where the record leaves open what a roll needs (`unknown.FIELDS`).
    """
    release, lane = plan.job.release or Release(), plan.job.lane or Lane()
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
    to_ball = _matrices(states[:, 7:]).transpose(0, 2, 1)  # the lane's axes as columns
    touch = -to_ball[:, :, 2] @ rows
    path = _path(trail, ball, lane)
    found: _flare.Flare | None = None
    near: tuple[_flare.Near, ...] = ()
    if _has_rg(plan) and np.linalg.norm(states[:, 4:7], axis=1).min() > 1e-6:
        rings = _flare.rings(_track(trail, ball, lane, to_ball, rows), oil_end(lane))
        found = _flare.spread(rings, plan.radius)
        holes = [(m.hole, mirror(m.center, hand), m.radius) for m in mouths(plan)]
        near = _flare.near_holes(found.rings, holes, plan.radius, NEAR_HOLE)
    sign = 1.0 if hand == "right" else -1.0
    return Roll(
        plan, release, lane, trail.time, x / 12.0, _board(states[:, 1]),
        plan.radius * touch * [sign, 1.0, 1.0], _frames(states[:, 7:], rows, hand), path, found, near,
        _cautions(plan, path, float(states[-1, 1]) < 0.0, found, near),
    )  # fmt: skip


def _track(
    trail: _motion.Trail, ball: _motion.RollingBall, lane: Lane, to_ball: Array, rows: Array
) -> _flare.Track:
    """What the rings are read from; ``to_ball`` (t, 3, 3) has the lane's axes as columns, ``rows`` the
    ball's as rows in the bowler's frame."""
    states = trail.states
    starts, mu, slope = np.array(stretches(lane)).T
    # a step lies on one stretch, on which it begins
    piece = np.searchsorted(starts, states[:-1, 0], "right") - 1

    def within(turns: Array, v: Array) -> Array:
        return np.asarray(np.einsum("tij,tj->ti", turns, v) @ rows)

    changes = []
    for s, turns in ((states[:-1], to_ball[:-1]), (states[1:], to_ball[1:])):
        friction = mu[piece] + slope[piece] * (s[:, 0] - starts[piece])
        rate = _motion.turning(s, friction, ball, trail.modes[:-1])
        # w is the same from either frame, so the derivative of w is too
        changes.append(np.column_stack([within(turns, rate), rate[:, 2], s[:, 2]]))
    values = np.column_stack([within(to_ball, states[:, 4:7]), states[:, 6], states[:, 0]])
    return _flare.Track(trail.time, values, *changes)


def side_of(plan: Plan, own: bool) -> str:
    """The bowler's own side, or the other one: "left" or "right"."""
    return "right" if (plan.job.bowler.hand == "right") is own else "left"


def no_flare(plan: Plan) -> str:
    """Why a shot of this plan that has no flare has none."""
    return NO_TURN if _has_rg(plan) else NO_FLARE


def _has_rg(plan: Plan) -> bool:
    return plan.job.ball.rg_low is not None and plan.core is not None


def _matrices(q: Array) -> Array:
    """Rotation matrices (t, 3, 3) of quaternions (t, 4)."""
    a, b, c, d = q.T
    return np.array(
        [
            [1.0 - 2.0 * (c * c + d * d), 2.0 * (b * c - a * d), 2.0 * (b * d + a * c)],
            [2.0 * (b * c + a * d), 1.0 - 2.0 * (b * b + d * d), 2.0 * (c * d - a * b)],
            [2.0 * (b * d - a * c), 2.0 * (c * d + a * b), 1.0 - 2.0 * (b * b + c * c)],
        ]
    ).transpose(2, 0, 1)


def _frames(q: Array, rows: Array, hand: str) -> Array:
    """Rotation matrices (t, 3, 3) from the grip frame to the lane's."""
    found = _matrices(q) @ rows  # bowler's frame to the mirrored lane
    if hand == "left":
        found = np.diag([1.0, -1.0, 1.0]) @ found @ np.diag([-1.0, 1.0, 1.0])
    return np.asarray(found)


def _board(y: Array) -> Array:
    return 20.0 + y / BOARD


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
    arrived = end >= _motion.LANE_LENGTH - 1e-6
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
        _board_at(trail, 12.0 * ARROWS),
        _breakpoint(trail),
        float(_board(y[-1:])[0]) if arrived else None,
        math.degrees(math.atan2(vy, vx)) if arrived else None,
        math.hypot(vx, vy) / IN_S_PER_MPH,
        float(np.linalg.norm(s[-1, 4:7])) * 30.0 / math.pi,
        float(trail.time[-1]),
        end / 12.0 if gutter and not arrived else None,
        not arrived and not gutter,
        bool(modes[-1] == _motion.HOPS),
    )


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
    return _cubic(s[i], s[i + 1], float(trail.time[i + 1] - trail.time[i]), share)[1]


def _cubic(a: Array, b: Array, h: float, u: float) -> tuple[float, float]:
    """y and x at a share ``u`` of the h seconds between two states, by cubics with their slopes."""
    v = 1.0 - u
    y, x = (
        v * v * (1.0 + 2.0 * u) * a[i]
        + u * u * (3.0 - 2.0 * u) * b[i]
        + h * u * v * (v * a[i + 2] - u * b[i + 2])
        for i in (1, 0)
    )
    return float(y), float(x)


def _board_at(trail: _motion.Trail, x: float) -> float | None:
    """The board where the ball first passes this place; None where it does not get there."""
    s = trail.states
    past = np.flatnonzero(s[:, 0] >= x)
    if not len(past):
        return None
    i = int(past[0])
    h = float(trail.time[i] - trail.time[i - 1])
    share = bisection(lambda u: _cubic(s[i - 1], s[i], h, u)[1] < x, 0.0, 1.0, 1e-12)
    return float(_board(np.array([_cubic(s[i - 1], s[i], h, share)[0]]))[0])


def _breakpoint(trail: _motion.Trail) -> Breakpoint | None:
    """Where the path is farthest out toward the bowler's own side before it comes back.

    None where it never turns.
    """
    s = trail.states
    turns = np.flatnonzero((s[:-1, 3] < 0.0) & (s[1:, 3] >= 0.0))
    if not len(turns):
        return None
    i = int(turns[s[turns, 1].argmin()])
    low, high = s[i, 3], s[i + 1, 3]
    h = float(trail.time[i + 1] - trail.time[i])
    y, x = _cubic(s[i], s[i + 1], h, float(-low / (high - low)))
    return Breakpoint(x / 12.0, float(_board(np.array([y]))[0]))


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
    first: Plan, others: Sequence[Plan], draws: int = DRAWS
) -> tuple[tuple[Difference, ...], ...]:
    """How each other plan's shot differs from the first one's, under that one's release and lane.

    Friction and release are varied within `VARIED`, alike for all plans, so that what they share drops
    out; seeded, so that the same plans give the same numbers. A figure that one of two shots lacks is
    left out.
    """
    release, lane = first.job.release or Release(), first.job.lane or Lane()
    drawn = _draws(release, lane, draws)
    base = _varied_figures(first, drawn)
    own = figures(roll(first))
    found = []
    for other in others:
        theirs = figures(roll(under(first, other)))
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


def _draws(release: Release, lane: Lane, draws: int) -> list[tuple[Release, Lane]]:
    """Releases and lanes within `VARIED` of the given ones, and within what a record may hold."""
    rng = np.random.default_rng(SEED)
    found = []
    for _ in range(draws):
        by = {name: float(rng.uniform(-half, half)) for name, half in VARIED.items()}
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
