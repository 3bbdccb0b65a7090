"""Why two layouts roll alike or not: what of each ball bears on it, and what matters more."""

from __future__ import annotations

import math
from typing import NamedTuple

from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import cross, dot, length, scaled
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Lane, Release
from layoutkit.lane import motion as _motion
from layoutkit.lane.places import board_of
from layoutkit.lane.roll import Roll
from layoutkit.lane.start import LONGEST_TURN, THE_LANE, ball_of, gravity, start_of, stretches
from layoutkit.planning.placing import core_axes, place_marks
from layoutkit.planning.unknown import pap_of
from layoutkit.planning.values import Plan
from layoutkit.units import MM_PER_INCH

NEWTON_PER_LB = 4.4482216152605  # by definition (ISO 80000-4, with standard gravity)
STIFFNESS = (
    1.5e3  # N/mm2: a ball's shell on a lane as one body, E / (1 - nu^2); an estimate, no source
)
FRICTION, SPEED = (
    0.01,
    0.5,
)  # the changes of friction on the oil and of speed (mph) whose effect is told


class Grounds(NamedTuple):
    """What of a ball bears on its shot. Lengths in inches, angles in degrees.

    ``gap`` is the middle one of the ring spacings on the oil, None without flare; ``contact`` the width
    of the patch that touches the lane. ``pap_to_axes`` are the angles from the PAP to the nearer ends of
    the low, middle and high RG axes of the drilled ball; ``rg_pap`` the RG about the PAP, drilled and
    undrilled. ``off`` is how far the centre of gravity lies from the ball's middle, and ``off_moves`` by
    how many boards the ball comes to the pins elsewhere for it, None where a shot does not arrive.
    """

    gap: float | None
    contact: float
    pap_to_axes: tuple[float, float, float]
    rg_pap: float
    rg_pap_undrilled: float
    off: float
    off_moves: float | None


class Sensitivity(NamedTuple):
    """By how many boards a shot moves at the pins with `FRICTION` more on the oil, and with `SPEED` more;
    None where one of the shots does not arrive."""

    friction: float | None
    speed: float | None


def contact_width(weight: float, radius: float) -> float:
    """How wide the patch is on which a ball of this weight (lb) and radius rests, in inches: an estimate.

    Twice Hertz's radius of the contact of a sphere with a plane, (3 F R / (4 E))^(1/3) (K. L. Johnson,
    Contact Mechanics, 1985, section 4.2), with E = `STIFFNESS`, of which only the cube root counts.
    """
    force, size = NEWTON_PER_LB * weight, MM_PER_INCH * radius
    return 2.0 * float((0.75 * force * size / STIFFNESS) ** (1.0 / 3.0)) / MM_PER_INCH


def rg_about_pap(plan: Plan) -> float:
    """The drilled ball's RG about the axis through the PAP and its centre of gravity, in inches."""
    ball, axes = ball_of(plan)
    pap = scaled(mirror(pap_of(plan, THE_LANE).xyz, plan.job.bowler.hand), 1.0 / plan.radius)
    return math.sqrt(sum(k * dot(axis, pap) ** 2 for k, axis in zip(ball[1:4], axes, strict=True)))


def grounds(shot: Roll) -> Grounds:
    """What of a shot's ball bears on it."""
    plan, hand = shot.plan, shot.plan.job.bowler.hand
    _, axes = ball_of(plan)
    pap = scaled(mirror(pap_of(plan, THE_LANE).xyz, hand), 1.0 / plan.radius)
    low, high, middle = core_axes(place_marks(plan.job))
    before = plan.inertia.undrilled
    squares = ((low, before.rg_low), (middle, before.rg_mid), (high, before.rg_high))
    undrilled = math.sqrt(sum((k * dot(axis, pap)) ** 2 for axis, k in squares))
    nearest = [math.degrees(math.atan2(length(cross(a, pap)), abs(dot(a, pap)))) for a in axes]
    off_moves = None
    if shot.path.board_at_pins is not None:
        centred = _at_pins(plan, shot.release, shot.lane, balanced=True)
        off_moves = None if centred is None else shot.path.board_at_pins - centred
    gaps = () if shot.flare is None else sorted(shot.flare.spacing)
    return Grounds(
        gaps[len(gaps) // 2] if gaps else None,
        contact_width(plan.statics.weight_lb, plan.radius),
        (nearest[0], nearest[1], nearest[2]),
        rg_about_pap(plan),
        undrilled,
        length(gravity(plan)),
        off_moves,
    )


def sensitivity(shot: Roll) -> Sensitivity:
    """What a little more friction and a little more speed do to a shot."""
    release, lane = shot.release, shot.lane
    limit = limit_at("lane.oil")
    assert limit is not None
    if lane.table:
        rows = tuple(
            row.model_copy(update={"friction": limit.nearest(row.friction + FRICTION)})
            for row in lane.table
        )
        slower = lane.model_copy(update={"table": rows})
    else:
        slower = lane.model_copy(update={"oil": limit.nearest(lane.oil + FRICTION)})
    faster = release.model_copy(update={"speed": release.speed + SPEED})
    here = shot.path.board_at_pins

    def moved(release: Release, lane: Lane) -> float | None:
        there = _at_pins(shot.plan, release, lane)
        return None if here is None or there is None else there - here

    return Sensitivity(moved(release, slower), moved(faster, lane))


def _at_pins(plan: Plan, release: Release, lane: Lane, balanced: bool = False) -> float | None:
    """The board at the pins, had the lane no gutters; None where the ball does not come there.

    ``balanced``: of the ball with its centre of gravity in its middle.
    """
    ball, axes = ball_of(plan)
    if balanced:
        ball = ball._replace(d1=0.0, d2=0.0, d3=0.0)
    start = start_of(plan, release, axes, (0.0, 0.0, 0.0) if balanced else None)
    end = _motion.one(ball, start, stretches(lane), LONGEST_TURN, math.inf).states[-1]
    return float(board_of(end[1])) if end[0] >= _motion.LANE_LENGTH - 1e-6 else None
