"""The display lists of shots: the lane seen from above, and the rings on the ball.

On the lane x is feet from the foul line and y inches to the left of its middle; nothing here knows how
to paint. The rings are a `drawing.Scene` like every other picture of the ball.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np

from layoutkit.geometry.sphere import axes_at, mirror
from layoutkit.geometry.vectors import Array
from layoutkit.lane.flare import FlareRing
from layoutkit.lane.motion import LANE_LENGTH, Stretch
from layoutkit.lane.roll import Path, Roll
from layoutkit.lane.start import ARROWS, BOARD, stretches
from layoutkit.output import drawing

PhaseName = Literal["skid", "hook", "roll"]
SpotKind = Literal["arrows", "breakpoint", "pins", "gutter", "stopped"]
Hand = Literal["right", "left"]

LANE_FEET = LANE_LENGTH / 12.0
_ARROW_BOARDS = (5, 10, 15, 20, 25, 30, 35)
_ENTRY_FEET = 8.0  # of the line that shows the entry angle
_TURN = np.linspace(0.0, 2.0 * math.pi, 145)[:, None]
_LEAN = 0.6  # of the view, from where the rings are widest apart toward the grip
_HOLES = ("finished", "midline", "centreline")


class LaneLine(NamedTuple):
    """A part of the path of shot number ``shot``: ``points`` (n, 2), feet and inches to the left."""

    kind: PhaseName
    shot: int
    points: Array


class LaneSpot(NamedTuple):
    """A place on a path, feet and inches to the left, and what is to be said of it."""

    kind: SpotKind
    shot: int
    x: float
    y: float
    text: str


class Entry(NamedTuple):
    """The entry angle of a shot: ``way`` (2, 2) its direction at the pins drawn back, and ``straight``
    (2, 2) the line down the lane from which the angle is counted."""

    shot: int
    degrees: float
    way: Array
    straight: Array


class Oil(NamedTuple):
    """A strip of lane from ``start`` to ``end`` feet; ``depth`` is 1 where friction is least, 0 where
    it is greatest."""

    start: float
    end: float
    depth: float


@dataclass(frozen=True, slots=True, eq=False)
class LaneDrawing:
    """The lane from above: ``boards`` are the fives with the inches to the left of their middles."""

    hand: Hand
    boards: tuple[tuple[int, float], ...]
    arrows: tuple[tuple[float, float], ...]
    oil: tuple[Oil, ...]
    lines: tuple[LaneLine, ...]
    spots: tuple[LaneSpot, ...]
    entries: tuple[Entry, ...]


def lane_drawing(shots: Sequence[Roll]) -> LaneDrawing:
    """The lane of the first shot with the paths of all; boards are counted from its bowler's side."""
    first = shots[0]
    hand = first.plan.job.bowler.hand
    sign = 1.0 if hand == "right" else -1.0
    boards = tuple((n, sign * (n - 20) * BOARD) for n in (1, *range(5, 40, 5), 39))
    # common practice: the middle arrow is the farthest, the outer ones some 12 ft from the foul line
    arrows = tuple((16.0 - 4.0 * abs(n - 20) / 15.0, (n - 20) * BOARD) for n in _ARROW_BOARDS)
    lines: list[LaneLine] = []
    spots: list[LaneSpot] = []
    entries: list[Entry] = []
    for i, shot in enumerate(shots):
        lines += _lines(shot, i)
        spots += _spots(shot, i)
        if shot.path.entry_angle is not None:
            entries.append(_entry(shot, shot.path.entry_angle, i))
    oil = oil_strips(stretches(first.lane))
    return LaneDrawing(hand, boards, arrows, oil, tuple(lines), tuple(spots), tuple(entries))


def oil_strips(lane: Sequence[Stretch]) -> tuple[Oil, ...]:
    """The lane's friction as strips, one for an even stretch and a foot each where it changes."""
    ends = [piece.start for piece in lane[1:]] + [LANE_LENGTH]
    found: list[tuple[float, float, float]] = []
    for piece, end in zip(lane, ends, strict=True):
        count = 1 if piece.slope == 0.0 else max(math.ceil((end - piece.start) / 12.0), 1)
        cuts = np.linspace(piece.start, end, count + 1).tolist()
        for a, b in pairwise(cuts):
            found.append((a, b, piece.mu + piece.slope * (0.5 * (a + b) - piece.start)))
    low, high = min(mu for *_, mu in found), max(mu for *_, mu in found)
    span = high - low
    return tuple(
        Oil(a / 12.0, b / 12.0, (high - mu) / span if span > 0.0 else 0.0) for a, b, mu in found
    )


def _lines(shot: Roll, number: int) -> list[LaneLine]:
    """The path cut where one phase gives way to the next."""
    x, y = shot.x, shot.y
    found = []
    begin, at = 0, np.array([[x[0], y[0]]])
    for phase in shot.path.phases:
        end = phase.start + phase.length
        past = np.flatnonzero(x[begin:] >= end - 1e-9)
        if phase is shot.path.phases[-1] or not len(past):
            k, last = len(x), np.empty((0, 2))
        else:
            k = begin + int(past[0])
            share = 1.0 if k == 0 else (end - x[k - 1]) / (x[k] - x[k - 1])
            last = np.array([[end, y[max(k - 1, 0)] + share * (y[k] - y[max(k - 1, 0)])]])
        points = np.concatenate([at, np.stack([x[begin:k], y[begin:k]], axis=1), last])
        if len(points) > 1:
            name: PhaseName = "skid"
            if phase.name == "hook":
                name = "hook"
            elif phase.name == "roll":
                name = "roll"
            found.append(LaneLine(name, number, points))
        begin, at = k, last
    return found


def _inches(board: float, shot: Roll) -> float:
    sign = 1.0 if shot.plan.job.bowler.hand == "right" else -1.0
    return sign * (board - 20.0) * BOARD


def _spots(shot: Roll, number: int) -> list[LaneSpot]:
    p: Path = shot.path
    found = []
    if p.board_at_arrows is not None:
        text = f"board {p.board_at_arrows:.1f} at the arrows"
        found.append(LaneSpot("arrows", number, ARROWS, _inches(p.board_at_arrows, shot), text))
    if p.breakpoint is not None:
        feet, board = p.breakpoint
        text = f"breakpoint: board {board:.1f}, {feet:.1f} ft"
        found.append(LaneSpot("breakpoint", number, feet, _inches(board, shot), text))
    x, y = float(shot.x[-1]), float(shot.y[-1])
    if p.board_at_pins is not None and p.entry_angle is not None:
        text = f"board {p.board_at_pins:.1f}, entry {p.entry_angle:.1f}°"
        found.append(LaneSpot("pins", number, LANE_FEET, y, text))
    elif p.gutter is not None:
        found.append(
            LaneSpot("gutter", number, x, y, f"{shot.gutter_side} gutter, {p.gutter:.1f} ft")
        )
    else:
        found.append(LaneSpot("stopped", number, x, y, f"stops, {x:.1f} ft"))
    return found


def _entry(shot: Roll, degrees: float, number: int) -> Entry:
    y = float(shot.y[-1])
    sign = 1.0 if shot.plan.job.bowler.hand == "right" else -1.0
    back = LANE_FEET - _ENTRY_FEET
    aside = sign * 12.0 * _ENTRY_FEET * math.tan(math.radians(degrees))
    return Entry(
        number,
        degrees,
        np.array([[back, y - aside], [LANE_FEET, y]]),
        np.array([[back, y], [LANE_FEET, y]]),
    )


# --- the rings ------------------------------------------------------------------------------------


def rings_scene(shot: Roll, detail: bool = True) -> drawing.Scene:
    """The ball with its holes, pin and PAP, and the rings, those on the oil apart from later ones.

    With ``detail`` the first and the last ring on the oil are named. Without RG data no rings.
    """
    whole = drawing.scene(shot.plan)
    lines = [each for each in whole.lines if each.kind in _HOLES]
    kept = ("pin", "pap", "grip_center")
    markers = [each for each in whole.markers if each.kind in kept]
    named = (*kept, "hole") if detail else ("pin", "pap")
    callouts = [each for each in whole.callouts if each.kind in named]
    rings = () if shot.flare is None else shot.flare.rings
    hand, radius = shot.plan.job.bowler.hand, shot.plan.radius
    oily = [ring for ring in rings if ring.oily]
    for ring in rings:
        points = np.asarray(mirror(ring_points(ring, radius), hand))
        lines.append(drawing.Polyline("ring" if ring.oily else "late_ring", _name(ring), points))
    if detail and len(oily) > 1:
        place = _widest(oily)
        for ring, words in ((oily[0], "first ring"), (oily[-1], "last oil ring")):
            point = radius * _nearest(ring, place)
            callouts.append(
                drawing.Callout("ring", _name(ring), words, np.asarray(mirror(point, hand)))
            )
    return drawing.Scene(radius, whole.hand, tuple(lines), tuple(markers), tuple(callouts))


def rings_view(shot: Roll) -> drawing.View:
    """The view in which the rings face the eye: where they are widest apart, turned toward the grip.

    Of the two such places the one that is nearer to the grip. Without rings, straight at the grip.
    """
    oily = [] if shot.flare is None else [ring for ring in shot.flare.rings if ring.oily]
    toward = np.array([0.0, 0.0, 1.0])
    if len(oily) > 1:
        # opposite the grip there is nothing to turn toward
        place = _widest(oily)
        toward = place + (_LEAN if place[2] > -0.9 else 0.0) * toward
    return drawing.view_at(np.asarray(mirror(toward, shot.plan.job.bowler.hand)))


def rings_drawing(
    shot: Roll, view: drawing.View, line_height: float = 0.12, detail: bool = True
) -> drawing.Drawing:
    """The ball of `rings_seen` from one side, ready to be painted."""
    return without_far_rings(drawing.project(rings_seen(shot, view, detail), view, line_height))


def rings_seen(shot: Roll, view: drawing.View, detail: bool = True) -> drawing.Scene:
    """The scene of the rings, of the far side only pin and PAP named."""
    scene, front = rings_scene(shot, detail), view.frame[2]
    seen = [c for c in scene.callouts if c.kind in ("pin", "pap") or c.point @ front >= 0.0]
    return replace(scene, callouts=tuple(seen))


def without_far_rings(found: drawing.Drawing) -> drawing.Drawing:
    """A drawing without the rings of its far side, which would hide those of the near one."""
    pieces = [p for p in found.pieces if not (p.far and p.kind in ("ring", "late_ring"))]
    return replace(found, pieces=tuple(pieces))


def ring_points(ring: FlareRing, radius: float) -> Array:
    """The points of a ring (145, 3), closed, in inches in the bowler's frame."""
    axis = np.array(ring.axis)
    over, up = (np.asarray(a) for a in axes_at(axis))
    wide = math.radians(ring.radius)
    return np.asarray(
        radius
        * (math.cos(wide) * axis + math.sin(wide) * (np.cos(_TURN) * over + np.sin(_TURN) * up))
    )


def _name(ring: FlareRing) -> str:
    return f"ring {ring.turn}"


def _widest(oily: Sequence[FlareRing]) -> Array:
    """The unit vector (3,) to the place on the middle ring that its axis moves along, near the grip."""
    first, last, middle = (np.array(oily[i].axis) for i in (0, -1, len(oily) // 2))
    way = last - first
    way -= (way @ middle) * middle
    size = math.sqrt(way @ way)
    if size < 1e-9:  # the axis stays: any place will do, so the one nearest to the grip
        way = np.array([0.0, 0.0, 1.0]) - middle[2] * middle
        size = max(math.sqrt(way @ way), 1e-9)
    wide = math.radians(oily[len(oily) // 2].radius)
    ends = [math.cos(wide) * middle + s * math.sin(wide) / size * way for s in (1.0, -1.0)]
    return max(ends, key=lambda p: float(p[2]))


def _nearest(ring: FlareRing, place: Array) -> Array:
    """The unit vector (3,) to the ring's point nearest to a place."""
    points = ring_points(ring, 1.0)
    return np.asarray(points[int((points @ place).argmax())])
