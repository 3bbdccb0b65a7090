"""Problems that are answered on the ball: what is drawn for them, and what a point on it states.

A task has its frame: inches from the ball's centre, +z out of the point that is seen first. A rule and
an angle gauge are allowed, as at the bench; they show sizes and no sides, for those are what is asked.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from layoutkit.geometry.sphere import (
    arc,
    bearing,
    from_over_up,
    mirror,
    to_over_up,
    wrap180,
    wrap360,
)
from layoutkit.geometry.vectors import Vector
from layoutkit.output.drawing import Scene
from layoutkit.output.practice_drawing import practice_scene
from layoutkit.practice.pictures import NAMES, MarkKind
from layoutkit.practice.values import Picture, PictureArc, PictureMark, Problem, Value
from layoutkit.units import Units, format_length

FRONT: Vector = (0.0, 0.0, 1.0)
OWN = "your mark"


class Task(NamedTuple):
    """How a problem is answered on the ball.

    ``given`` is what is drawn of it, ``kind`` the mark that is placed, ``words`` what to do.
    ``value`` is the answer that a point (inches) states, ``rule`` what rule and gauge read there.
    With ``swung`` a line from that mark of the picture follows the point. ``bare`` has no midline.
    """

    given: Picture
    kind: MarkKind
    words: str
    value: Callable[[Vector], Value]
    rule: Callable[[Vector, Units], str]
    swung: MarkKind | None = None
    bare: bool = False

    def scene(self, point: Vector | None, right: Picture | None = None) -> Scene:
        """The ball with the point that is placed, and with what is ``right`` once that is told."""
        marks, arcs = self.given.marks, self.given.arcs
        if right is not None:
            there = {mark.kind for mark in marks}
            marks += tuple(mark for mark in right.marks if mark.kind not in there)
            arcs += tuple(each for each in right.arcs if each.kind != "val")
        if point is not None and self.swung is not None:
            start = next(mark.xyz for mark in marks if mark.kind == self.swung)
            arcs += (PictureArc("reference", "your line", start, point),)
        elif point is not None:
            marks += (PictureMark(self.kind, OWN, point),)
        found = practice_scene(
            Picture(self.given.radius, self.given.hand, marks, arcs, not self.bare)
        )
        if not self.bare:
            return found
        lines = tuple(line for line in found.lines if line.kind != "midline")
        return Scene(found.radius, found.hand, lines, found.markers, found.callouts)


def task(problem: Problem) -> Task | None:
    """How a problem is answered on the ball; None where it is answered in words."""
    made = _TASKS.get(problem.kind)
    return (
        None if made is None or problem.draft.drawn is None else made(problem, problem.draft.drawn)
    )


def walked(picture: Picture, kind: MarkKind) -> tuple[tuple[str, Picture], ...]:
    """How a mark of a picture is reached from the grip centre: along the midline, then square to it."""
    point = _mark(picture, kind)
    r = picture.radius
    over = float(to_over_up(point, r)[0])
    foot: Vector = from_over_up(over, 0.0, r)
    grip = (PictureMark("grip_center", NAMES["grip_center"], (0.0, 0.0, r)),)
    steps = []
    for words, start, end, last in (
        ("along the midline", (0.0, 0.0, r), foot, PictureMark("foot", NAMES["foot"], foot)),
        ("square to it", foot, point, PictureMark(kind, NAMES[kind], point)),
    ):
        length = float(arc(start, end, r))
        if length > 1.0 / 64.0:
            told = f"{format_length(length, 'fraction', 16)} {words}"
            drawn = (PictureArc("measure", told, start, end),)
            steps.append(
                (f"{told.capitalize()}.", Picture(r, picture.hand, (*grip, last), drawn, True))
            )
    return tuple(steps)


def _mark(picture: Picture, kind: MarkKind) -> Vector:
    return next(mark.xyz for mark in picture.marks if mark.kind == kind)


def _place(point: Vector, radius: float) -> tuple[float, float]:
    over, up = to_over_up(point, radius)
    return float(over), float(up)


def _length(length: float, units: Units) -> str:
    return format_length(abs(length), units, 16)


def _from_grip(
    problem: Problem, drawn: Picture, kind: MarkKind, given: tuple[MarkKind, ...]
) -> Task:
    """A mark to be placed from the grip centre, with some marks of the drawing there already."""
    r = drawn.radius
    marks = tuple(mark for mark in drawn.marks if mark.kind in ("grip_center", *given))
    arcs: tuple[PictureArc, ...] = ()
    pap = next((mark.xyz for mark in marks if mark.kind == "pap"), None)
    if pap is not None:
        ends = (("VAL, finger side", (0.0, r, 0.0)), ("VAL, thumb side", (0.0, -r, 0.0)))
        arcs = tuple(PictureArc("val", words, pap, end) for words, end in ends)

    def value(point: Vector) -> Value:
        return _place(point, r)

    def rule(point: Vector, units: Units) -> str:
        over, up = _place(point, r)
        words = f"along the midline {_length(over, units)}, square to it {_length(up, units)}"
        if pap is None:
            return words
        away = float(arc(pap, point, r))
        turn = abs(float(wrap180(bearing(pap, point) - bearing(pap, (0.0, r, 0.0)))))
        aside = math.sin(away / r) * math.sin(math.radians(turn))
        return (
            f"{words}; from the PAP {_length(away, units)}, there {min(turn, 180.0 - turn):.0f}° off "
            f"the VAL, from the VAL {_length(r * math.asin(max(-1.0, min(1.0, aside))), units)}"
        )

    words = f"Put the {NAMES[kind]} where it belongs."
    return Task(Picture(r, drawn.hand, marks, arcs, True), kind, words, value, rule)


def _grip_from_pap(problem: Problem, drawn: Picture) -> Task:
    """The grip centre, on a ball that has a PAP and its VAL and is seen at the PAP."""
    r = drawn.radius
    marks = (PictureMark("pap", NAMES["pap"], (0.0, 0.0, r)),)
    ends = (("VAL, finger side", (0.0, r, 0.0)), ("VAL, thumb side", (0.0, -r, 0.0)))
    arcs = tuple(PictureArc("val", words, (0.0, 0.0, r), end) for words, end in ends)

    def along(point: Vector) -> tuple[float, float]:
        # first along the VAL, then along the midline, which is square to it
        x, y, z = point
        up, over = _place((y, x, z), r)
        return over, up

    def rule(point: Vector, units: Units) -> str:
        over, up = along(point)
        return f"along the VAL {_length(up, units)}, square to it {_length(over, units)}"

    words = "Put the grip centre where it belongs; the PAP is in the middle."
    return Task(Picture(r, drawn.hand, marks, arcs), "grip_center", words, along, rule, bare=True)


def _bearing(problem: Problem, drawn: Picture) -> Task:
    """The line to the reference mark, swung about the pin."""
    r = drawn.radius
    pin = _mark(drawn, "pin")
    given = Picture(r, drawn.hand, drawn.marks, drawn.arcs, True)

    def value(point: Vector) -> Value:
        own = (mirror(each, drawn.hand) for each in (pin, point))
        return (float(wrap360(bearing(*own))),)

    def rule(point: Vector, units: Units) -> str:
        off = wrap180(bearing(pin, point) - bearing(pin, _mark(drawn, "pap")))
        return f"at the pin {abs(float(off)):.0f}° off the line to the PAP"

    words = "Swing the line to the reference mark: press where it passes."
    return Task(given, "psa", words, value, rule, swung="pin")


_TASKS: dict[str, Callable[[Problem, Picture], Task]] = {
    "pap-place": lambda p, d: _from_grip(p, d, "pap", ()),
    "pin-by-placement": lambda p, d: _from_grip(p, d, "pin", ()),
    "pin-by-angles": lambda p, d: _from_grip(p, d, "pin", ("pap",)),
    "pin-by-distances": lambda p, d: _from_grip(p, d, "pin", ("pap",)),
    "grip-from-pap": _grip_from_pap,
    "bearing": _bearing,
}
ON_THE_BALL = tuple(_TASKS)


def front(task: Task) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Where the ball is looked at first: over the middle of what is drawn, near the front."""
    points = np.array([mark.xyz for mark in task.given.marks])
    middle: np.ndarray[tuple[int, ...], np.dtype[np.float64]]
    middle = points.mean(axis=0) + np.array(FRONT) * 0.6 * task.given.radius
    return middle
