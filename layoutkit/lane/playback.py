"""A shot moment by moment, and the circles of the ball as they are seen then.

Quick enough for a frame of a playback, so without the words and far sides of
`layoutkit.output.drawing`. A picture of the ball has its own frame: x to the right, y up, z toward the
eye, the ball's radius as unit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import Array, Vector, scaled
from layoutkit.lane.motion import LANE_LENGTH
from layoutkit.lane.roll import Roll
from layoutkit.lane.roll import mouths as _mouths
from layoutkit.lane.start import IN_S_PER_MPH, THE_LANE
from layoutkit.planning.unknown import pap_of
from layoutkit.planning.values import Plan

SHORTEST = 1e-4  # s; a step below it is too short to tell a rate by
ELEVATION = 20.0  # degrees; how high above the lane the eye behind the ball is
# the ten pins, feet and inches to the left: a triangle with sides of 36 in (common practice, no source)
PINS = tuple(
    (LANE_LENGTH / 12.0 + row * math.sqrt(0.75), 12.0 * (place - row / 2.0))
    for row in range(4)
    for place in range(row + 1)
)


class Moment(NamedTuple):
    """A shot at one time: seconds, feet, inches to the left of the lane's middle, board, mph, rpm, the
    phase of the path, how many rings the track has by then, and the matrix (3, 3) that turns the grip
    frame into the lane's."""

    time: float
    feet: float
    left: float
    board: float
    speed: float
    revs: float
    phase: str
    rings: int
    turned: Array


@dataclass(frozen=True, slots=True)
class Playback:
    """A shot that can be asked for any moment: between two steps it turns evenly."""

    shot: Roll
    turns: Array  # (t - 1, 3): axis times angle of each step, in the grip frame
    middles: Array  # (m,): times at which rates are known
    speeds: Array  # (m,) mph
    rates: Array  # (m,) rpm

    @property
    def duration(self) -> float:
        """How long the shot takes, in seconds."""
        return float(self.shot.time[-1])

    def at(self, time: float) -> Moment:
        """The moment nearest to this time that the shot has."""
        shot = self.shot
        time = min(max(time, 0.0), self.duration)
        i = min(int(np.searchsorted(shot.time, time, "right")) - 1, len(self.turns) - 1)
        step = float(shot.time[i + 1] - shot.time[i])
        share = min((time - float(shot.time[i])) / step, 1.0) if step > 0.0 else 1.0
        feet = float(np.interp(time, shot.time, shot.x))
        rings = () if shot.flare is None else shot.flare.rings
        return Moment(
            time,
            feet,
            float(np.interp(time, shot.time, shot.y)),
            float(np.interp(time, shot.time, shot.board)),
            float(np.interp(time, self.middles, self.speeds)),
            float(np.interp(time, self.middles, self.rates)),
            next((p.name for p in reversed(shot.path.phases) if feet >= p.start), "skid"),
            sum(ring.x <= feet + 1e-9 for ring in rings),
            np.asarray(shot.turned[i] @ _rotation(share * self.turns[i])),
        )


def playback(shot: Roll) -> Playback:
    """Make ready to ask a shot for its moments."""
    steps = np.diff(shot.time)
    turns = _vectors(np.swapaxes(shot.turned[:-1], 1, 2) @ shot.turned[1:])
    long = steps > SHORTEST
    inches = np.hypot(12.0 * np.diff(shot.x), np.diff(shot.y))
    middles = 0.5 * (shot.time[1:] + shot.time[:-1])
    if not long.any():
        middles, speeds, rates = (
            np.zeros(1),
            np.array([shot.path.end_speed]),
            np.array([shot.path.end_revs]),
        )
        return Playback(shot, turns, middles, speeds, rates)
    speeds = inches[long] / steps[long] / IN_S_PER_MPH
    rates = np.linalg.norm(turns[long], axis=1) / steps[long] * 30.0 / math.pi
    return Playback(shot, turns, middles[long], speeds, rates)


def _vectors(m: Array) -> Array:
    """Axis times angle (n, 3) of rotation matrices (n, 3, 3) by less than half a turn."""
    v = 0.5 * np.stack(
        [m[:, 2, 1] - m[:, 1, 2], m[:, 0, 2] - m[:, 2, 0], m[:, 1, 0] - m[:, 0, 1]], axis=1
    )
    sine = np.linalg.norm(v, axis=1)
    angle = np.arctan2(sine, 0.5 * (np.trace(m, axis1=1, axis2=2) - 1.0))
    return np.asarray(v * np.where(sine > 1e-12, angle / np.maximum(sine, 1e-12), 1.0)[:, None])


def _rotation(v: Array) -> Array:
    """The rotation matrix of axis times angle (3,): Rodrigues's formula."""
    angle = float(np.linalg.norm(v))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = (v / angle).tolist()
    k = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.asarray(np.eye(3) + math.sin(angle) * k + (1.0 - math.cos(angle)) * (k @ k))


# --- the ball -------------------------------------------------------------------------------------


def marks(plan: Plan) -> tuple[tuple[str, Vector], ...]:
    """Pin, PAP and grip centre as unit vectors of the grip frame; raises InputError without a PAP."""
    m = plan.marks
    pap = pap_of(plan, THE_LANE)
    places = (("pin", m.pin), ("PAP", pap), ("grip centre", m.grip_center))
    return tuple((name, scaled(place.xyz, 1.0 / plan.radius)) for name, place in places)


def mouths(plan: Plan) -> tuple[Array, Array]:
    """The gripping holes as circles: axes (n, 3) in the grip frame and radii (n,) in degrees."""
    found = _mouths(plan)
    centers = np.array([mouth.center for mouth in found])
    return centers, np.array([math.degrees(mouth.radius / plan.radius) for mouth in found])


def rings(shot: Roll) -> tuple[Array, Array]:
    """The rings of the track as circles: axes (n, 3) in the grip frame and radii (n,) in degrees."""
    found = () if shot.flare is None else shot.flare.rings
    hand = shot.plan.job.bowler.hand
    axes = np.array([mirror(ring.axis, hand) for ring in found]).reshape(-1, 3)
    return axes, np.array([ring.radius for ring in found])


@lru_cache(maxsize=1)
def behind() -> Array:
    """Rows (3, 3): right, up and toward the eye, in the lane's frame, as the bowler sees the ball."""
    c, s = math.cos(math.radians(ELEVATION)), math.sin(math.radians(ELEVATION))
    return np.array([[0.0, -1.0, 0.0], [s, 0.0, c], [-c, 0.0, s]])


def circles(
    axes: Array, radii: Array, frame: Array, points: int = 33
) -> tuple[Array, NDArray[np.bool_]]:
    """What is seen of circles about ``axes`` (n, 3), unit vectors, of ``radii`` (n,) degrees: lines
    (n, points, 2) in a picture, and whether anything of each is.

    ``frame`` (3, 3): the picture's right, up and toward the eye in the frame of the axes, as rows. A
    circle's height toward the eye is cos r a_z + sin r cos(phi) s, s the part of the eye's direction
    across its axis, so that it comes into sight where that is 0.
    """
    a = axes @ frame.T
    r = np.radians(radii)
    flat = np.array([0.0, 0.0, 1.0]) - a[:, 2:] * a
    s = np.linalg.norm(flat, axis=1)
    level = s < 1e-9  # seen straight on
    flat[level] = (1.0, 0.0, 0.0)
    u = flat / np.where(level, 1.0, s)[:, None]
    v = np.cross(a, u)
    height, reach = np.cos(r) * a[:, 2], np.sin(r) * s
    safe = np.where(reach > 1e-12, reach, 1.0)
    cosine = np.where(reach > 1e-12, -height / safe, -np.sign(height))
    half = np.arccos(np.clip(cosine, -1.0, 1.0))[:, None]

    phi = half * np.linspace(-1.0, 1.0, points)
    around = np.cos(phi)[..., None] * u[:, None] + np.sin(phi)[..., None] * v[:, None]
    whole = np.cos(r)[:, None, None] * a[:, None] + np.sin(r)[:, None, None] * around
    return np.asarray(whole[..., :2]), half[:, 0] > 0.0
