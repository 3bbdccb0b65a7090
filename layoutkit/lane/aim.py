"""Where to stand and in which direction to roll, so that the ball enters the pocket.

Friction is the same on all boards, so a shot that starts a board over passes everywhere a board over:
what is sought depends on the direction alone. A shot on a lane without gutters tells by how many boards
it drifts, and the board at the foul line is what is left to the pocket. Of all such lines one has its
outermost board where it is asked for.

Boards are counted from the bowler's own side, so all is the same for both hands.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.vectors import Array
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Lane, Release
from layoutkit.lane import motion as _motion
from layoutkit.lane.places import board_at, breakpoint_of
from layoutkit.lane.start import ARROWS, BOARD, LONGEST_TURN, ball_of, oil_end, start_of, stretches
from layoutkit.planning.values import Plan

POCKET = 17.5  # boards from the bowler's own side at the head pin: common practice, no source
BETWEEN = (10.0, 35.0)  # boards at the foul line; a convention, no source
RULE = 31.0  # the oil's length in feet less this is the outermost board; common practice, no source
USUAL = (4.0, 20.0)  # boards within which that is kept; a convention
NODES = 7  # directions that are rolled before the line between them is sought
BACK = (
    0.25  # boards that a path comes back after its breakpoint; less is the middle about the center
)
EDGES = (0.55, 39.45)  # the boards between which a line keeps: the gutters begin at 0.5 and 39.5
CLOSE, TRIES = 1e-5, 8  # boards; how near the line that is sought has to be, and tries at it


class Aim(NamedTuple):
    """A line into the pocket; boards from the bowler's own side, degrees.

    ``outermost`` is the least board of its path, that of the breakpoint where it has one (``turns``).
    ``feet`` is by how many boards it moves at the pins if it starts one board farther from the own side
    with the board at the arrows kept, ``target`` if it passes the arrows one board farther with the start
    kept; in all, a board.
    """

    board: float
    direction: float
    board_at_arrows: float
    outermost: float
    turns: bool
    entry_angle: float
    feet: float
    target: float


class Aiming(NamedTuple):
    """What was found: a line, or why there is none.

    ``wanted`` is the outermost board that was asked for, or by convention (``asked`` False).
    ``boards`` are the ends of where at the foul line a line into the pocket can start at all, None where
    none can; ``outermost`` the ends of where such lines from the boards ``between`` are outermost.
    """

    aim: Aim | None
    why: str
    between: tuple[float, float]
    wanted: float
    asked: bool
    boards: tuple[float, float] | None
    outermost: tuple[float, float] | None


class _Line(NamedTuple):
    """A shot of one direction, in boards from where it starts: at the pins, at the arrows, its least and
    its largest board; whether it has a breakpoint; and its entry angle."""

    drift: float
    arrows: float
    least: float
    most: float
    turns: bool
    entry: float


def released(plan: Plan) -> Release:
    """The release of a plan's record; if that states neither board nor direction, on a pocket line.

    Without a release all values are conventional. Where no line is possible, the conventional board and
    direction stay.
    """
    release = plan.job.release or Release()
    if states_line(release):
        return release
    line = aim(plan, release, effects=False).aim
    return release if line is None else on_line(release, line, stated=False)


def states_line(release: Release) -> bool:
    """Whether a release says where the ball starts or in which direction."""
    return not {"board", "direction"}.isdisjoint(release.model_fields_set)


def on_line(release: Release, line: Aim, stated: bool = True) -> Release:
    """The release on another line; not ``stated``: its board and direction stay conventional."""
    values = {**release.model_dump(), "board": line.board, "direction": line.direction}
    fields = set(release.model_fields_set) | ({"board", "direction"} if stated else set())
    return Release.model_construct(_fields_set=fields, **values)


def aim(
    plan: Plan,
    release: Release | None = None,
    between: tuple[float, float] = BETWEEN,
    breakpoint: float | None = None,
    effects: bool = True,
) -> Aiming:
    """A line into the pocket under a release, whose own board and direction do not matter.

    ``release`` is the record's by default, or conventional. The line starts ``between`` these boards, and
    its outermost board is ``breakpoint``; if none is asked for, that nearest to the length of the oil
    less `RULE`. ``effects`` False leaves out what a board of feet and target do. Raises InputError where
    the record leaves open what a roll needs.
    """
    release = release or plan.job.release or Release()
    lane = plan.job.lane or Lane()
    ball, axes = ball_of(plan)
    pieces = stretches(lane)

    def roll(direction: float, longest_turn: float = math.inf) -> _Line | None:
        thrown = release.model_copy(update={"direction": direction, "board": 20.0})
        start = start_of(plan, thrown, axes)
        return _line(_motion.one(ball, start, pieces, longest_turn, math.inf))

    asked = breakpoint is not None
    wanted = breakpoint
    if wanted is None:
        wanted = min(max(oil_end(lane) / 12.0 - RULE, USUAL[0]), USUAL[1])
    directions, lines = _nodes(roll)
    if not lines:
        why = "The ball does not come to the pins under this release and friction."
        return Aiming(None, why, between, wanted, asked, None, None)
    family = _between(directions, lines)
    boards, least, most = family.boards, family.least, family.most
    on_lane = (least >= EDGES[0]) & (most <= EDGES[1]) & (boards >= 1.0) & (boards <= 39.0)
    if not on_lane.any():
        why = (
            "The pocket cannot be reached with this release: every line to it leaves the lane; "
            f"{_pins(roll)}."
        )
        return Aiming(None, why, between, wanted, asked, None, None)
    ends = (float(boards[on_lane].min()), float(boards[on_lane].max()))
    stands = on_lane & (boards >= between[0] - CLOSE) & (boards <= between[1] + CLOSE)
    if between[0] == between[1] and ends[0] <= between[0] <= ends[1]:
        stands = np.zeros_like(on_lane)
        stands[np.abs(boards - between[0]).argmin()] = True
    if not stands.any():
        why = (
            f"The pocket cannot be reached from {_range(between)} with this release; possible: "
            f"{_range(ends)} at the foul line."
        )
        return Aiming(None, why, between, wanted, asked, ends, None)
    outermost = (float(least[stands].min()), float(least[stands].max()))
    result = Aiming(None, "", between, wanted, asked, ends, outermost)
    if asked:
        turning = stands & family.turns
        if not turning.any():
            return result._replace(why="This release has no breakpoint on any line to the pocket.")
        outermost = (float(least[turning].min()), float(least[turning].max()))
        result = result._replace(outermost=outermost)
        if not outermost[0] - 0.05 <= wanted <= outermost[1] + 0.05:
            return result._replace(
                why=f"A breakpoint on board {wanted:g} cannot be reached from {_range(between)} with "
                f"this release; possible: {_range(outermost)} at the breakpoint."
            )
    return result._replace(aim=_found(roll, family, stands, (between, wanted), effects))


def _range(ends: tuple[float, float]) -> str:
    low, high = (f"{v:.4g}" if v == round(v) else f"{v:.1f}" for v in ends)
    return f"board {low}" if low == high else f"boards {low} to {high}"


def _line(trail: _motion.Trail) -> _Line | None:
    """What a shot without gutters comes to; None where it does not come to the pins."""
    s = trail.states
    if s[-1, 0] < _motion.LANE_LENGTH - 1e-6:
        return None
    boards = s[:, 1] / BOARD
    turn = breakpoint_of(trail)
    arrows = board_at(trail, 12.0 * ARROWS)
    assert arrows is not None
    drift, least = float(boards[-1]), float(boards.min())
    if turn is not None:
        least = min(least, turn.board - 20.0)
    vx, vy = float(s[-1, 2]), float(s[-1, 3])
    entry = math.degrees(math.atan2(vy, vx))
    turns = turn is not None and drift - least > BACK
    return _Line(drift, arrows - 20.0, least, float(boards.max()), turns, entry)


def _straight(direction: float) -> float:
    """The boards over which a straight line of this direction drifts to the pins."""
    return -_motion.LANE_LENGTH / BOARD * math.tan(math.radians(direction))


def _toward(direction: float, boards: float) -> float:
    """The direction whose straight line ends so many boards farther from the own side."""
    across = math.tan(math.radians(direction)) - boards * BOARD / _motion.LANE_LENGTH
    limit = limit_at("release.direction")
    assert limit is not None
    return limit.nearest(math.degrees(math.atan(across)))


def _nodes(roll: Callable[[float], _Line | None]) -> tuple[list[float], list[_Line]]:
    """Directions whose lines to the pocket start all over the lane, and their shots.

    A shot turned about the foul line is nearly the same shot, so that one tells where others end.
    """
    direction = 0.0
    for _ in range(2):
        line = roll(direction)
        if line is None:
            return [], []
        # to start on board 20
        direction = _toward(direction, POCKET - line.drift - 20.0)
    reach = np.linspace(-20.0, 20.0, NODES)
    pairs = [(d, roll(d)) for d in dict.fromkeys(_toward(direction, -v) for v in reach.tolist())]
    kept = [(d, line) for d, line in pairs if line is not None]
    return [d for d, _ in kept], [line for _, line in kept]


def _pins(roll: Callable[[float], _Line | None]) -> str:
    """Where at the pins lines that keep on the lane can end."""
    pins = []
    for direction in np.linspace(-8.0, 8.0, 33).tolist():
        line = roll(direction)
        if line is not None:
            low = max(1.0, EDGES[0] - line.least)
            high = min(39.0, EDGES[1] - line.most)
            if low <= high:
                pins += [low + line.drift, high + line.drift]
    if not pins:
        return "no line keeps on it"
    return f"possible: {_range((min(pins), max(pins)))} at the pins"


class _Family(NamedTuple):
    """Many directions, (n,): the boards at the foul line from which they lead to the pocket, the least
    and the largest boards of their paths, and whether they turn."""

    directions: Array
    boards: Array
    least: Array
    most: Array
    turns: NDArray[np.bool_]


def _between(directions: list[float], lines: list[_Line]) -> _Family:
    """Many directions between those that were rolled.

    What is left of a straight line's drift changes slowly, so lines between the nodes do.
    """
    at = np.array(directions)
    there = np.linspace(at[0], at[-1], 401)
    straight = np.array([_straight(d) for d in at])
    hook = np.interp(there, at, [line.drift for line in lines] - straight)
    boards = POCKET - hook - np.array([_straight(d) for d in there.tolist()])
    least, most = (
        boards + np.interp(there, at, values)
        for values in ([line.least for line in lines], [line.most for line in lines])
    )
    turns = np.interp(there, at, [float(line.turns) for line in lines]) > 0.5
    return _Family(there, boards, least, most, turns)


def _found(
    roll: Callable[..., _Line | None],
    family: _Family,
    stands: NDArray[np.bool_],
    sought: tuple[tuple[float, float], float],
    effects: bool,
) -> Aim | None:
    """The line whose outermost board is nearest to what is sought, exactly."""
    there, boards, least, _, _ = family
    between, wanted = sought
    off = np.where(stands, np.abs(least - wanted), np.inf)
    i = int(off.argmin())

    def rolled(direction: float) -> _Line:
        line = roll(direction, LONGEST_TURN)
        if line is None:  # its neighbours come to the pins
            raise ArithmeticError("a shot between two that come to the pins does not")
        return line

    def start(line: _Line) -> float:
        return POCKET - line.drift

    def out(line: _Line) -> float:
        return POCKET - line.drift + line.least

    slope = float((boards[-1] - boards[0]) / (there[-1] - there[0]))
    begin = float(there[i])
    if off[i] < 0.1 and between[0] < between[1]:
        direction, line = _solved(rolled, out, wanted, begin, slope)
    else:  # the nearest that the gutters and the boards at the foul line leave
        direction, line = _solved(rolled, start, float(boards[i]), begin, slope)
    nearest = min(max(start(line), between[0]), between[1])
    if abs(start(line) - nearest) > CLOSE or abs(nearest - boards[i]) < 0.2 < off[i]:
        nearest = min(between, key=lambda b: abs(b - nearest))
        direction, line = _solved(rolled, start, nearest, direction, slope)
    board = start(line)
    feet = target = math.nan
    if effects:
        feet, target = _effects(rolled, direction, line)
    return Aim(
        board, direction, board + line.arrows, out(line), line.turns, line.entry, feet, target
    )


def _solved(
    rolled: Callable[[float], _Line],
    value: Callable[[_Line], float],
    wanted: float,
    direction: float,
    slope: float,
) -> tuple[float, _Line]:
    """The direction for which a line's value is the wanted one, by secants.

    ``slope`` is by how much the value grows with a degree, about.
    """
    line = rolled(direction)
    off = value(line) - wanted
    best = (abs(off), direction, line)
    for _ in range(TRIES):
        if abs(off) < CLOSE:
            break
        onward = direction - off / slope
        line = rolled(onward)
        then = value(line) - wanted
        if then != off:
            slope = (then - off) / (onward - direction)
        direction, off = onward, then
        best = min(best, (abs(off), direction, line), key=lambda each: each[0])
    return best[1], best[2]


def _effects(
    rolled: Callable[[float], _Line], direction: float, line: _Line
) -> tuple[float, float]:
    """By how many boards the ball moves at the pins with a board of feet, and with a board of target."""
    moved = []
    for boards in (-1.0, 1.0):
        # the arrows are passed nearly as by a straight line
        across = math.tan(math.radians(direction)) - boards * BOARD / (12.0 * ARROWS)
        other = rolled(math.degrees(math.atan(across)))
        moved.append(boards * (other.drift - line.drift) / (other.arrows - line.arrows))
    return 1.0 + moved[0], moved[1]
