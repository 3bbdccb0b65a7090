"""Small sketches of how each hole leans, as the driller at the press sees it from the spindle."""

from __future__ import annotations

import math

from layoutkit.geometry.sphere import axes_at
from layoutkit.geometry.vectors import dot
from layoutkit.output import blocks as _blocks
from layoutkit.output.report import way_words
from layoutkit.output.typeset import LEAD, TYPE, typeface
from layoutkit.planning.values import HolePlan, Plan
from layoutkit.units import Units

RADIUS = 12.5  # points; the ball in a sketch
ARROW = 11.0  # points from the hole's centre to the arrow's tip
HEAD = 3.5  # points, the side of an arrow's head
ARMS = 4.0  # points; the cross at the hole's centre
A_ROW = 3  # sketches beside each other, where their words leave room
STRAIGHT = 1e-6  # inches; a pitch below it is none

HEADING = "How each hole leans, seen from the spindle, fingers up"
WORDS = "The arrow shows where the hole's bottom leans."


def leans(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """A sketch for each of today's gripping holes, three to a row."""
    holes = plan.in_order
    lines = [(i == 0, line) for h in holes for i, line in enumerate(_words(h, units))]
    widest = max(typeface(bold).width(line) * TYPE for bold, line in lines)
    in_row = max(min(A_ROW, int(width / (2.0 * RADIUS + 6.0 + widest))), 1)
    share = width / in_row
    rows = [
        _blocks.beside([_sketch(plan, hole, units) for hole in holes[i : i + in_row]], share)
        for i in range(0, len(holes), in_row)
    ]
    heading = _blocks.heading(HEADING, width)
    return _blocks.stack((heading, _blocks.paragraph(WORDS, width), *rows), 1.0)


def lean(plan: Plan, hole: HolePlan) -> tuple[float, float]:
    """How far the bottom of a hole leans to the right and toward the fingers, as pitches in inches.

    Right is the driller's who looks down at the hole with the fingers' side away from him.
    """
    over, up = axes_at(hole.entry)  # in the grip frame over is to the right
    return plan.radius * dot(hole.axis, over), plan.radius * dot(hole.axis, up)


def _sketch(plan: Plan, hole: HolePlan, units: Units) -> _blocks.Block:
    right, forth = lean(plan, hole)
    size = math.hypot(right, forth)

    def paint(page: _blocks.Page, x: float, top: float) -> None:
        middle, centre = x + RADIUS + 0.5, top - 7.0 - RADIUS
        page.circle(middle, centre, RADIUS)
        page.line(middle, centre - RADIUS, middle, centre + RADIUS, 0.4)
        _arrow(page, (middle, centre + RADIUS), (0.0, 1.0), 6.0, 0.6)
        page.line(middle - ARMS, centre, middle + ARMS, centre, 0.8)
        page.line(middle, centre - ARMS, middle, centre + ARMS, 0.8)
        if size > STRAIGHT:
            _arrow(page, (middle, centre), (right / size, forth / size), ARROW, 1.6)
        for i, line in enumerate(_words(hole, units)):
            base = top - 3.0 - LEAD * (i + 1) + _blocks.RISE
            page.text(middle + RADIUS + 3.5, base, line, bold=i == 0)

    return _blocks.Block(8.0 + 2.0 * RADIUS, paint)


def _words(hole: HolePlan, units: Units) -> tuple[str, str, str]:
    """The hole's name and its pitches."""
    forward = way_words(hole.forward, "fwd", "reverse", units)
    right = way_words(hole.right, "right", "left", units)
    return (
        hole.name,
        "0 fwd/reverse" if forward == "0" else forward,
        "0 left/right" if right == "0" else right,
    )


def _arrow(
    page: _blocks.Page,
    start: tuple[float, float],
    way: tuple[float, float],
    length: float,
    width: float,
) -> None:
    """An arrow from a place some points in a direction, a unit vector."""
    (x, y), (dx, dy) = start, way
    tip = x + length * dx, y + length * dy
    page.line(x, y, *tip, width)
    for side in (1.0, -1.0):
        back = -dx * HEAD + side * dy * HEAD * 0.6, -dy * HEAD - side * dx * HEAD * 0.6
        page.line(*tip, tip[0] + back[0], tip[1] + back[1], width)
