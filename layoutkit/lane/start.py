"""From a plan and a release to the ball at the foul line, and from a lane to stretches of friction."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import Array, Vector, cross, dot, scaled
from layoutkit.job.record import Lane, Release
from layoutkit.lane import motion as _motion
from layoutkit.planning import unknown
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

BOARD = 2.0 * _motion.HALF_WIDTH / 39.0  # inches
ARROWS = 15.0  # ft from the foul line; common practice: the arrows lie from some 12 to 16 ft
IN_S_PER_MPH = 17.6
LONGEST_TURN = 0.8  # radians in a step of one shot: its rings are then within 0.03 in
THE_LANE = "what the ball does on the lane"


def ball_of(plan: Plan) -> tuple[_motion.RollingBall, tuple[Vector, Vector, Vector]]:
    """The drilled ball for the lane, and its principal axes as unit rows, in the bowler's frame."""
    hand, n = plan.job.bowler.hand, plan.inertia
    low = scaled(mirror(n.low_axis.xyz, hand), 1.0 / plan.radius)
    high = scaled(mirror(n.high_axis.xyz, hand), 1.0 / plan.radius)
    axes = (low, cross(high, low), high)
    off = gravity(plan)
    d = [dot(axis, off) for axis in axes]
    return _motion.RollingBall(plan.radius, n.rg_low**2, n.rg_mid**2, n.rg_high**2, *d), axes


def gravity(plan: Plan) -> Vector:
    """The drilled ball's centre of gravity from its middle, in inches in the bowler's frame."""
    s = plan.statics
    # a reading times the arm is the moment about the centre (section 6 of the record's meaning)
    lever = s.arm / (OZ_PER_LB * s.weight_lb)
    side, finger, top = unknown.statics_of(plan, THE_LANE)
    return (side * lever, finger * lever, top * lever)


def start_of(
    plan: Plan,
    release: Release,
    axes: tuple[Vector, Vector, Vector],
    center: Vector | None = None,
) -> _motion.State:
    """The state at the foul line: spinning about the PAP, the grip centre as high as that allows.

    Speed and direction are the centre of gravity's: the hand's push gives it the same velocity however
    the ball is balanced. It is the plan's, or at ``center`` from the middle, in the bowler's frame.
    """
    middle = gravity(plan) if center is None else center
    found = starts_of(plan, release, np.array([axes]), np.array([middle]))
    return _motion.State(*(float(v[0]) for v in np.broadcast_arrays(*found)))


def starts_of(plan: Plan, release: Release, axes: Array, centers: Array) -> _motion.State:
    """The same of many balls of one bowler, by their principal axes (n, 3, 3) and centres of gravity
    (n, 3); fields are numbers or (n,)."""
    hand = plan.job.bowler.hand
    out, turn, tilt, phase = (
        math.radians(v)
        for v in (release.direction, release.axis_rotation, release.axis_tilt, release.phase)
    )
    # the axis point: to the left of the way at no rotation, back toward the bowler at 90
    way = -out + turn
    axis = (-math.sin(way) * math.cos(tilt), math.cos(way) * math.cos(tilt), math.sin(tilt))
    pap = scaled(mirror(unknown.pap_of(plan, THE_LANE).xyz, hand), 1.0 / plan.radius)
    up = (0.0, 0.0, 1.0)
    # from the bowler's frame to the lane's
    turned = _triad(axis, up, phase) @ _triad(pap, up, 0.0).T
    speed = IN_S_PER_MPH * release.speed
    spin = 2.0 * math.pi * release.revs / 60.0
    wx, wy, wz = spin * axis[0], spin * axis[1], spin * axis[2]
    dx, dy, dz = turned @ centers.T
    return _motion.State(
        0.0, (release.board - 20.0) * BOARD, speed * math.cos(out) - (wy * dz - wz * dy),
        -speed * math.sin(out) - (wz * dx - wx * dz), wx, wy, wz,
        *_quaternions(turned @ axes.transpose(0, 2, 1)).T,
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


def _quaternions(matrices: Array) -> Array:
    """The quaternions (n, 4) of rotation matrices (n, 3, 3), by their largest part (S. W. Shepperd,
    1978)."""
    (a, p, q), (r, b, s), (t, u, c) = matrices.transpose(1, 2, 0)
    trace = a + b + c
    largest = np.argmax([trace, a, b, c], axis=0)
    rows = (
        (1.0 + trace, u - s, q - t, r - p),
        (u - s, 1.0 + 2.0 * a - trace, p + r, q + t),
        (q - t, p + r, 1.0 + 2.0 * b - trace, s + u),
        (r - p, q + t, s + u, 1.0 + 2.0 * c - trace),
    )
    four = np.transpose(rows, (2, 0, 1))[np.arange(len(matrices)), largest]
    return np.asarray(four / np.linalg.norm(four, axis=1, keepdims=True))


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


def side_of(plan: Plan, own: bool) -> str:
    """The bowler's own side, or the other one: "left" or "right"."""
    return "right" if (plan.job.bowler.hand == "right") is own else "left"
