"""Pages of paper strips at true size: cut out, fold, and lay them on the ball.

Lengths here are points (72 to the inch), measured from the lower left corner of a page that lies on
its long side. The first page says how to use the strips and in which order; it stays whole. On the
others the strips lie in rows, in their order. What is longer than the page comes in parts that lap.

A strip's line is its middle: over it stand the ticks and their labels, under it what the strip is
for, which is the strip's back once it is folded. Every page has two bars to measure, since a printer may
stretch either way, and the file asks the printer for no scaling; it may not obey.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise, product
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from layoutkit.geometry.vectors import Array
from layoutkit.job.files import write_atomic
from layoutkit.output import drawing, render
from layoutkit.output.report import do_not_drill
from layoutkit.output.typeset import LEAD, PAPERS, TYPE, Paper, pdf_bytes, shorten, typeface, wrap
from layoutkit.planning.strips import SAME, Strip, StripSet, paper_strips
from layoutkit.planning.values import Plan
from layoutkit.units import MM_PER_INCH, Units, format_length

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INCH = 72.0  # points
MARGIN = 30.0  # points; printers do not reach the very edge
HALF = (
    18.0  # points on either side of a strip's line: 1/2 in wide, so that its edges stay on the ball
)
HEAD = 32.0  # points of paper before a strip's first tick, which its number takes
TAIL = 22.0  # points of paper after its last tick
PAD = 5.0  # points between a strip's outline and what is printed on it
APART = 11.0  # points between two strips, for the scissors
LAP = 36.0  # points by which two parts of a strip lap
CROSS = (4.2, 1.8)  # points by which a cross reaches up and down from the line, clear of the words
UPRIGHT, ACROSS = 6.0, 10.0  # inches; the bars
RIGHT = 58.0  # points at the right edge for the upright bar
BOTTOM = 92.0  # points at the lower edge for the other bar
TOP = 58.0  # points at the upper edge for the heading
NEAR, FAR = 2.4, 10.4  # points from a strip's line to the baselines of the two rows of labels
SHORT = 9.0  # points of a tick over which a label passes
CLEAR = 6.5  # points from a tick to its label
LEAST_NAME = 250.0  # points that the words on a strip's back get if they need them
FINGERS = "fingers"  # an arrow follows
ARROW = 14.0  # points
LETTERS = "abcdefgh"  # of the parts of a strip
COLUMN = 322.0  # points; how to use the strips, on the first page
LEAST_BALL, MOST_BALL = 75.0, 130.0  # points, the radius of the ball on the first page
_SHARES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8)  # of a strip's length, where its number may stand
GUTTER = 18.0  # points between the columns

HOW = (
    'Print on one side of plain paper at 100 %, "actual size". The file asks the printer for no scaling, '
    "but a printer may not obey.",
    "Measure both bars on every page with a steel rule before you cut: 10 in and 6 in. If one is off by "
    "more than 1/64 in, use nothing of that page and print again.",
    "Keep this page whole. Cut along the dashed outlines, then fold each strip back along its middle "
    "line, sharply, or cut it there: the edge is the strip's line, and its ticks end on that line.",
    "Lay the edge on the clean, dry ball so that the paper lies flat along its whole length, without a "
    "crease or a bow: it then follows a great circle. Fix it with tape.",
    "Follow the steps in their order. Mark the ball at the edge, where the tick ends, with a sharp "
    "pencil. A dot is where a strip starts; a cross is where two strips meet.",
    "Two strips that meet: hold each by its own dot, turn them about the dots until their crosses lie on "
    "each other, then fix both. Take away what is in the way once its marks are made.",
)
PARTS = (
    "A strip in parts: lay one over the next, their crosses called join on each other and the lines "
    "straight on, and fix them with tape."
)
EXACT = (
    "The ticks stand at the plan's exact arcs; the figures beside them are rounded. The steps on the "
    "work sheet are rounded so that they allow for each other: follow the strips or those steps, never "
    "some of each. The paper's thickness, left out, changes a quarter of the ball by less than 1/300 in."
)
BEFORE = (
    "Before the bit: measure the arcs and edges that the work sheet lists, and stop if one is off. The "
    "strips are a calculation for one ball; local rules, the current rule book and licensed practice "
    "decide."
)


_Room = tuple[float, float, float, float]  # left, bottom, width and height of a part of a page

# --- pages ----------------------------------------------------------------------------------------


class _Pen(NamedTuple):
    """Width in points, colour, and dashes in points, none for a whole line."""

    width: float
    color: str = render.INK
    dashes: tuple[float, ...] = ()


TICK = _Pen(0.6)
FOLD = _Pen(0.5)
CUT = _Pen(0.5, render.GREY, (4.0, 2.5))
JOIN = _Pen(0.6, render.INK, (2.0, 1.5))
RULE = _Pen(0.8)


@dataclass
class _Page:
    """What is to be painted: texts, lines by their pens, curves, white discs and dots."""

    texts: list[tuple[float, float, str, bool, float, str]] = field(default_factory=list)
    lines: dict[_Pen, list[tuple[float, float, float, float]]] = field(default_factory=dict)
    dots: list[tuple[float, float]] = field(default_factory=list)
    curves: list[tuple[_Pen, list[tuple[float, float]]]] = field(default_factory=list)
    discs: list[tuple[float, float, float]] = field(default_factory=list)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        bold: bool = False,
        size: float = TYPE,
        align: str = "left",
    ) -> None:
        """A line of text with its baseline at y."""
        self.texts.append((x, y, text, bold, size, align))

    def line(self, pen: _Pen, x0: float, y0: float, x1: float, y1: float) -> None:
        """A straight line."""
        self.lines.setdefault(pen, []).append((x0, y0, x1, y1))

    def cross(self, x: float, y: float) -> None:
        """Two short strokes that cross at a place."""
        up, down = CROSS
        for way in (1.0, -1.0):
            self.line(TICK, x - way * down, y - down, x + way * up, y + up)

    def paragraph(
        self, x: float, top: float, width: float, text: str, lead: str, bold: bool = False
    ) -> float:
        """Wrapped text, hanging behind ``lead``; returns where it ends."""
        hang = 16.0 if lead else 0.0
        lines = wrap(text, width - hang, bold)
        self.text(x, top - LEAD + 2.3, lead, bold=True)
        for i, line in enumerate(lines):
            self.text(x + hang, top - LEAD * (i + 1) + 2.3, line, bold)
        return top - LEAD * len(lines)


# --- strips on paper ------------------------------------------------------------------------------


class _Label(NamedTuple):
    """A text on a strip: its left edge from the strip's left end, its baseline from the line."""

    x: float
    y: float
    text: str

    @property
    def box(self) -> _Box:
        """The room that it takes."""
        return _Box(self.x, self.x + typeface().width(self.text) * TYPE, self.y)


class _Box(NamedTuple):
    """The room of a label: from left to right, in the near or the far row."""

    low: float
    high: float
    row: float

    def meets(self, other: _Box) -> bool:
        """Whether two labels would touch."""
        return self.row == other.row and self.low < other.high + 2.0 and self.high > other.low - 2.0

    def holds(self, x: float) -> bool:
        """Whether a tick at a place would touch the label."""
        return self.low - 2.0 < x < self.high + 2.0


class _Stroke(NamedTuple):
    """A tick: its place from the strip's left end, and how it is drawn."""

    x: float
    start: bool
    crossed: bool
    join: bool = False


@dataclass(frozen=True)
class _Cutout:
    """A strip, or a part of one, as it is printed: its length and what stands on it."""

    title: str
    length: float
    strokes: tuple[_Stroke, ...]
    labels: tuple[_Label, ...]
    back: tuple[str, str]

    def paint(self, page: _Page, x: float, line: float) -> None:
        """Paint it with its left end at x and its line at a height."""
        left, right, low, high = x, x + self.length, line - HALF, line + HALF
        for y in (low, high):
            page.line(CUT, left, y, right, y)
        for end in (left, right):
            page.line(CUT, end, low, end, high)
        page.line(FOLD, left, line, right, line)
        page.text(left + PAD, line + 4.6, self.title, True, 12.0)
        for s in self.strokes:
            over = any(label.y == FAR and label.box.holds(s.x) for label in self.labels)
            top = line + SHORT if over else high
            page.line(JOIN if s.join else TICK, left + s.x, line, left + s.x, top)
            if s.crossed or s.join:
                page.cross(left + s.x, line)
            if s.start:
                page.dots.append((left + s.x, line))
        for label in self.labels:
            page.text(left + label.x, line + label.y, label.text)
            if label.text == FINGERS:
                tip, y = right - PAD, line + label.y + 3.0
                page.line(TICK, tip - ARROW, y, tip, y)
                for off in (3.0, -3.0):
                    page.line(TICK, tip - 4.0, y + off, tip, y)
        page.text(left + PAD, line - 7.9, self.back[0], True)
        page.text(left + PAD, line - 15.9, self.back[1])


def _cutouts(strips: StripSet, plan: Plan, units: Units, room: float) -> list[_Cutout]:
    """All strips as they are printed, none longer than ``room`` points."""
    crossed = {n: set[str]() for n in range(1, len(strips.strips) + 1)}
    for s in strips.strips:
        if s.meets is not None:
            for number in (s.number, s.meets.other):
                crossed[number].add(s.meets.name)
    title = plan.job.title or "Untitled job"
    whose = f"ball {_diameter(plan, units)}, {plan.job.bowler.hand} hand; {title}"
    return [c for s in strips.strips for c in _parts(s, crossed[s.number], whose, units, room)]


def _diameter(plan: Plan, units: Units) -> str:
    """The ball's diameter: inches, in which balls are sold, and millimetres where wanted."""
    inches = format_length(2.0 * plan.radius, "decimal")
    return f"{inches} ({format_length(2.0 * plan.radius, units)})" if units == "metric" else inches


def _parts(strip: Strip, crossed: set[str], whose: str, units: Units, room: float) -> list[_Cutout]:
    """One cut-out, or two or more with their joins where the strip is longer than the page."""
    groups = _groups(strip, units)
    places = [INCH * place for place, *_ in groups]
    count, bounds = 0, [places[0], places[-1]]
    spare = HEAD + TAIL
    while count == 0 or max(high - low for low, high in pairwise(bounds)) + spare > room:
        count += 1
        spare = HEAD + TAIL + (LAP if count > 1 else 0.0)
        bounds = [places[0], *_joins(places, count), places[-1]]
    made = []
    for i, (low, high) in enumerate(pairwise(bounds)):
        begin = low - HEAD - (LAP / 2.0 if i > 0 else 0.0)
        end = high - begin + TAIL + (LAP / 2.0 if i < count - 1 else 0.0)
        strokes, texts = [], []
        for (_, names, *text), place in zip(groups, places, strict=True):
            if low - 1e-6 <= place <= high + 1e-6:
                crosses = bool(crossed & set(names))
                strokes.append(_Stroke(place - begin, "start" in names, crosses))
                texts.append((text[0], text[1]))
        for j, join in ((i, low), (i + 1, high)):
            if 0 < j < count:
                strokes.append(_Stroke(join - begin, False, False, True))
                texts.append((f"join {LETTERS[j - 1]}{LETTERS[j]}", ""))
        letter = LETTERS[i] if count > 1 else ""
        made.append(_cutout(strip, f"{strip.number}{letter}", strokes, texts, end, whose, room))
    return made


def _groups(strip: Strip, units: Units) -> list[tuple[float, tuple[str, ...], str, str]]:
    """The ticks by place, those at one place together: inches, names (and `start`), words, figure."""
    groups: list[tuple[float, list[str]]] = []
    for tick in strip.ticks:
        if groups and tick.place - groups[-1][0] < SAME:
            groups[-1][1].append(tick.name)
        else:
            groups.append((tick.place, [tick.name]))
    labelled = []
    for place, names in groups:
        text = ", ".join(strip.words[n] for n in names)
        if abs(place) < SAME:
            labelled.append((place, (*names, "start"), text, ""))
        else:
            figure = format_length(abs(place), units, strip.parts)
            labelled.append((place, tuple(names), text, figure))
    return labelled


def _joins(places: Sequence[float], count: int) -> list[float]:
    """Where a strip of some parts is joined: near the even parts, away from its ticks."""
    first, last = places[0], places[-1]
    joins = []
    for i in range(1, count):
        even = first + (last - first) * i / count
        shifts = (step * way for step, way in product((0.0, 9.0, 18.0, 27.0, 36.0), (1.0, -1.0)))
        tries = [even + shift for shift in shifts]
        joins.append(max(tries, key=lambda x: min(LAP, *(abs(x - p) for p in places))))
    return joins


def _cutout(
    strip: Strip,
    title: str,
    strokes: list[_Stroke],
    texts: list[tuple[str, str]],
    end: float,
    whose: str,
    room: float,
) -> _Cutout:
    """Place the labels, on as much paper as they and the words on the back need."""
    face, bold = typeface(), typeface(bold=True)
    do = face.printable(strip.do)
    name = f"{strip.name}; {whose}"
    least = max(face.width(do) * TYPE, min(bold.width(name) * TYPE, LEAST_NAME)) + 2.0 * PAD
    if strip.fingers:
        end += face.width(FINGERS) * TYPE + ARROW + 3.0 * PAD
    end = min(max(end, least), room)
    names = [text for text, _ in texts]
    both = [f"{text} {figure}".rstrip() for text, figure in texts]
    tries = product((both, names), (0.0, 50.0, 90.0), (0.0, 40.0, 80.0))
    for words, head, tail in tries:
        shifted = [s._replace(x=s.x + head) for s in strokes]
        length = end + head + tail
        labels = _labels(strip, title, shifted, words, length) if length <= room else None
        if labels is not None:
            break
    else:  # too many ticks in one place for any order: beside each tick its text, in turn in both rows
        shifted, length, rows = strokes, end, (NEAR, FAR)
        places = enumerate(zip(strokes, names, strict=True))
        labels = [_Label(s.x + CLEAR, rows[i % 2], text) for i, (s, text) in places]
    back = shorten(name, length - 2.0 * PAD, bold=True), do
    return _Cutout(title, length, tuple(shifted), tuple(labels), back)


def _labels(
    strip: Strip, title: str, strokes: list[_Stroke], texts: list[str], length: float
) -> list[_Label] | None:
    """A place for each tick's text beside the tick, in one of two rows; None where there is none.

    A text in the far row may pass over a tick whose own text is in the near row: that one is cut short.
    """
    number = PAD + typeface(bold=True).width(title) * 12.0 + 3.0
    taken = [_Box(0.0, number, NEAR), _Box(0.0, number, FAR)]
    fixed = []
    if strip.fingers:
        x = length - 2.0 * PAD - ARROW - typeface().width(FINGERS) * TYPE
        fixed.append(_Label(x, NEAR, FINGERS))
        taken += [_Box(x - 3.0, length, NEAR), _Box(x - 3.0, length, FAR)]
    ticks = [s.x for s in strokes]
    widths = [typeface().width(text) * TYPE for text in texts]

    def free(i: int, box: _Box, placed: list[_Box]) -> bool:
        """Whether the text of a tick can stand in a box, those of the ticks before it being placed."""
        if box.low < PAD or box.high > length - PAD or any(map(box.meets, [*taken, *placed])):
            return False
        if box.row == NEAR:
            return not any(box.holds(t) for j, t in enumerate(ticks) if j != i)
        far = [(other, ticks[j]) for j, other in enumerate(placed) if other.row == FAR]
        return not any(box.holds(tick) or other.holds(ticks[i]) for other, tick in far)

    def place(placed: list[_Box]) -> list[_Box] | None:
        i = len(placed)
        if i == len(texts):
            return placed
        for row, x in product((NEAR, FAR), (ticks[i] + CLEAR, ticks[i] - CLEAR - widths[i])):
            box = _Box(x, x + widths[i], row)
            if free(i, box, placed):
                whole = place([*placed, box])
                if whole is not None:
                    return whole
        return None

    placed = place([])
    if placed is None:
        return None
    return [*fixed, *(_Label(b.low, b.row, t) for b, t in zip(placed, texts, strict=True))]


# --- composing ------------------------------------------------------------------------------------


def _compose(plan: Plan, paper: Paper, units: Units) -> list[_Page]:
    """The first page, then as many as the strips take."""
    height, width = PAPERS[paper]
    room = width - MARGIN - RIGHT - MARGIN
    strips = paper_strips(plan, units)
    cutouts = _cutouts(strips, plan, units, room)
    parts = len(cutouts) > len(strips.strips)
    pages, left = _first(plan, strips, parts, width, height)
    shown = _ball(pages[-1], strips, left)
    rows: list[list[list[_Cutout]]] = [[]]
    most = int((height - TOP - BOTTOM + APART) // (2.0 * HALF + APART))
    for cutout in cutouts:
        free = (
            row for row in rows[-1] if sum(c.length + APART for c in row) + cutout.length <= room
        )
        row = next(free, None)
        if row is None:
            if len(rows[-1]) == most:
                rows.append([])
            row = []
            rows[-1].append(row)
        row.append(cutout)
    for lines in rows:
        page = _Page()
        y = height - TOP - HALF
        for row in lines:
            x = MARGIN
            for cutout in row:
                cutout.paint(page, x, y)
                x += cutout.length + APART
            y -= 2.0 * HALF + APART
        pages.append(page)
    if not shown:
        _ball(pages[-1], strips, (MARGIN, BOTTOM, room, y + HALF - BOTTOM))
    for number, page in enumerate(pages, 1):
        _heading(page, plan, f"page {number} of {len(pages)}", width, height, units)
        _bars(page, width, height)
    return pages


def _heading(
    page: _Page, plan: Plan, which: str, width: float, height: float, units: Units
) -> None:
    """Whose strips these are, on every page."""
    kind = do_not_drill(plan) or "Paper strips at true size"
    right = width - MARGIN
    top = height - MARGIN
    used = typeface(bold=True).width(kind) * 10.0
    title = shorten(plan.job.title or "Untitled job", right - MARGIN - used - 20.0, True, 12.0)
    page.text(MARGIN, top - 10.0, title, True, 12.0)
    page.text(right, top - 10.0, kind, True, 10.0, "right")
    page.line(RULE, MARGIN, top - 13.0, right, top - 13.0)
    about = f"Ball of {_diameter(plan, units)}, {plan.job.bowler.hand} hand. For no other ball."
    page.text(MARGIN, top - 21.0 - 0.5, about)
    page.text(right, top - 21.0 - 0.5, which, align="right")


def _bars(page: _Page, width: float, height: float) -> None:
    """A bar across and an upright one, in inches and millimetres, to measure with a rule."""
    x, y = (width - MARGIN - RIGHT - ACROSS * INCH) / 2.0 + MARGIN / 2.0, 46.0
    x = max(x, 18.0)
    page.text(
        x,
        y + 30.0,
        f"Measure this before you cut: {ACROSS:g} in, {ACROSS * MM_PER_INCH:g} mm",
        True,
    )
    _bar(page, x, y, ACROSS, False)
    right, low = width - MARGIN - 20.0, (height - UPRIGHT * INCH) / 2.0 + 14.0
    _bar(page, right, low, UPRIGHT, True)
    page.text(width - MARGIN + 12.0, low - 12.0, "Measure too:", True, align="right")
    page.text(width - MARGIN + 12.0, low - 22.0, f"{UPRIGHT:g} in", True, align="right")
    page.text(
        width - MARGIN + 12.0, low - 32.0, f"{UPRIGHT * MM_PER_INCH:g} mm", True, align="right"
    )


def _bar(page: _Page, x: float, y: float, inches: float, upright: bool) -> None:
    """A bar from a corner on: inches on the one side, millimetres on the other."""

    def stroke(along: float, off: float) -> None:
        if upright:
            page.line(TICK, x, y + along, x - off, y + along)
        else:
            page.line(TICK, x + along, y, x + along, y + off)

    def figure(along: float, side: float, text: str) -> None:
        if upright:
            align = "right" if side > 0.0 else "left"
            page.text(x - side * 14.0, y + along - 2.8, text, align=align)
        else:
            page.text(x + along, y + (16.0 if side > 0.0 else -21.5), text, align="center")

    ends = (x, y + inches * INCH) if upright else (x + inches * INCH, y)
    page.line(RULE, x, y, *ends)
    for n in range(int(inches * 8.0) + 1):
        stroke(n * INCH / 8.0, 12.0 if n % 8 == 0 else 8.0 if n % 4 == 0 else 5.0)
        if n % 8 == 0:
            figure(n * INCH / 8.0, 1.0, f"{n // 8}")
    for n in range(int(inches * MM_PER_INCH / 5.0) + 1):
        along = n * 5.0 * INCH / MM_PER_INCH
        stroke(along, -(12.0 if n % 2 == 0 else 6.0))
        if n % 10 == 0:
            figure(along, -1.0, f"{n * 5}")


def _first(
    plan: Plan, strips: StripSet, parts: bool, width: float, height: float
) -> tuple[list[_Page], _Room]:
    """How to use the strips, and the steps in their order; on a second page what one cannot hold.

    Also the room that they leave on the last page.
    """
    page = _Page()
    top = height - TOP - 4.0
    page.text(MARGIN, top - 8.0, "How to use the strips", True, 10.0)
    y = top - 14.0
    for i, words in enumerate(HOW, 1):
        y = page.paragraph(MARGIN, y, COLUMN, words, f"{i}.") - 2.5
    for words in [*([PARTS] if parts else []), EXACT]:
        y = page.paragraph(MARGIN, y, COLUMN, words, "") - 2.5
    y = page.paragraph(MARGIN, y, COLUMN, BEFORE, "", bold=True)
    _sketch(page, MARGIN, y - 12.0)
    pages = [page]
    x = MARGIN + COLUMN + GUTTER
    reach = width - MARGIN - RIGHT - x
    page.text(x, top - 8.0, "Steps", True, 10.0)
    y = top - 14.0
    for step in strips.steps:
        lines = len(wrap(step.text, reach - 16.0))
        if y - LEAD * lines < BOTTOM:
            page = _Page()
            pages.append(page)
            x, reach, y = MARGIN, COLUMN, top - 14.0
            page.text(x, top - 8.0, "Steps, continued", True, 10.0)
        y = page.paragraph(x, y, reach, step.text, f"{step.number}.") - 3.5
    return pages, (x, BOTTOM, reach, y - BOTTOM - 6.0)


def _ball(page: _Page, strips: StripSet, box: _Room) -> bool:
    """The ball with all strips laid, by their numbers; whether the box has room for it.

    Seen from over the middle of the marks; what lies behind is dashed.
    """
    left, bottom, width, height = box
    size = min((height - LEAD - 4.0) / 2.0, width / 2.0 - 60.0, MOST_BALL)
    if size < LEAST_BALL:
        return False
    x0, y0 = left + width / 2.0, bottom + LEAD + 4.0 + size
    laid = strips.strips[:-1]  # the last one turns about the pin
    marks = {t.name: np.array(t.xyz) for s in laid for t in s.ticks}
    words = {name: word for s in laid for name, word in s.words.items()}
    radius = float(np.linalg.norm(marks["pin"]))
    middle = np.sum(list(marks.values()), axis=0)
    view = drawing.view_at(middle if np.linalg.norm(middle) > 0.1 * radius else marks["pin"])
    turns = np.linspace(0.0, 2.0 * np.pi, 121)
    limb = np.stack([x0 + size * np.cos(turns), y0 + size * np.sin(turns)], axis=-1)
    page.curves.append((TICK, limb.tolist()))
    page.text(
        x0, bottom, "the strips on the ball, by their numbers; dashed is behind", align="center"
    )

    def seen(points: Array) -> tuple[Array, Array]:
        """Places on the page of points (n, 3), and whether each is on the near side."""
        right, up, toward = view.frame @ points.T / radius
        return np.stack([x0 + size * right, y0 + size * up], axis=-1), toward >= 0.0

    taken: list[tuple[float, float, float, float]] = []
    arcs = []
    for strip in laid:
        points = np.concatenate(
            [_arc(np.array(a.xyz), np.array(b.xyz)) for a, b in pairwise(strip.ticks)]
        )
        places, near = seen(points)
        arcs.append(places)
        width_of = 0.7 if strip.meets is not None else 1.2
        for start, end in _runs(near):
            pen = _Pen(width_of) if near[start] else _Pen(width_of, render.GREY, (3.0, 2.0))
            run = places[start : min(end + 1, len(places))]
            page.curves.append((pen, run.tolist()))
    spots = {name: seen(point[np.newaxis])[0][0] for name, point in marks.items()}
    for x, y in spots.values():
        taken.append((x - 3.0, y - 3.0, x + 3.0, y + 3.0))
        page.dots.append((float(x), float(y)))
    for name, (x, y) in spots.items():
        text = words[name]
        wide = typeface().width(text) * TYPE
        right, left, above = 5.0, -5.0 - wide, -wide / 2.0
        sides = ((right, -3.0), (left, -3.0), (above, 5.0), (above, -12.0))
        more = ((right, 5.0), (right, -11.0), (left, 5.0), (left, -11.0))
        boxes = [(x + dx, y + dy - 2.0, x + dx + wide, y + dy + 6.5) for dx, dy in (*sides, *more)]
        best = min(boxes, key=lambda b: _cover(b, taken, arcs))
        if _cover(best, taken, []) > 0.0:
            continue  # so close to others that its name could not be read
        taken.append(best)
        page.text(float(best[0]), float(best[1]) + 2.0, text)
    for strip, places in zip(laid, arcs, strict=True):
        text = f"{strip.number}"
        half = typeface(bold=True).width(text) * TYPE / 2.0 + 1.0
        tries = [places[round(share * (len(places) - 1))] for share in _SHARES]
        boxes = [(x - half, y - 5.0, x + half, y + 5.0) for x, y in tries]
        best = min(boxes, key=lambda b: _cover(b, taken, arcs))
        if _cover(best, taken, []) > 0.0:
            continue
        taken.append(best)
        x, y = float(best[0]) + half, float(best[1]) + 5.0
        page.discs.append((x, y, max(half, 5.0)))
        page.text(x, y - 2.9, text, True, align="center")
    return True


def _arc(a: Array, b: Array) -> Array:
    """Points (n, 3) of the great circle from one point (3,) to another that is not opposite."""
    angle = float(np.arctan2(np.linalg.norm(np.cross(a, b)), a @ b))
    share = np.linspace(0.0, 1.0, 2 + int(angle / 0.05))[:, np.newaxis]
    if angle < 1e-9:
        return np.repeat(a[np.newaxis], len(share), axis=0)
    return np.asarray(
        (np.sin((1.0 - share) * angle) * a + np.sin(share * angle) * b) / np.sin(angle)
    )


def _runs(near: Array) -> list[tuple[int, int]]:
    """Where stretches of one side begin and end."""
    turns = [0, *(np.flatnonzero(np.diff(near)) + 1).tolist(), len(near)]
    return list(pairwise(turns))


def _cover(
    box: tuple[float, ...], taken: Sequence[tuple[float, ...]], arcs: Sequence[Array]
) -> float:
    """How much a label in a box would hide: other labels by their area, arcs by their points."""
    left, low, right, high = box
    shared = 0.0
    for a, b, c, d in taken:
        shared += max(0.0, min(right, c) - max(left, a)) * max(0.0, min(high, d) - max(low, b))
    inside = 0
    for places in arcs:
        x, y = places.T
        inside += int(((x > left) & (x < right) & (y > low) & (y < high)).sum())
    return 10.0 * shared + inside


def _sketch(page: _Page, x: float, top: float) -> None:
    """A strip's parts named, and an angle set by two strips and a chord; neither to scale."""
    line, right = top - 20.0, x + 150.0
    for y in (line - HALF, line + HALF):
        page.line(CUT, x, y, right, y)
    for end in (x, right):
        page.line(CUT, end, line - HALF, end, line + HALF)
    page.line(FOLD, x, line, right, line)
    page.text(x + PAD, line + 4.6, "2", True, 12.0)
    page.dots.append((x + 30.0, line))
    for place in (x + 30.0, x + 115.0):
        page.line(TICK, place, line, place, line + HALF)
    page.cross(x + 115.0, line)
    page.text(x + 30.0 + CLEAR, line + NEAR, "pin")
    page.text(x + PAD, line - 7.9, "what the strip is for", True)
    page.text(x + PAD, line - 15.9, "what to do with it")
    for y, words in (
        (line + 9.0, "mark the ball where a tick ends"),
        (line - 3.0, "whole line: fold it back, or cut it"),
        (line - 15.0, "dashed outline: cut it"),
    ):
        page.text(right + 12.0, y, words)
    base = line - 110.0
    corner, known, new = (x + 20.0, base), (x + 150.0, base), (x + 118.0, base + 74.0)
    for a, b in ((corner, known), (corner, new), (known, new)):
        page.line(RULE, *a, *b)
    page.dots += [corner, known]
    page.cross(*new)
    page.text(x, base - 12.0, "corner")
    page.text(x + 40.0, base - 12.0, "strip that is laid already")
    page.text(known[0] + 6.0, base - 2.5, "mark on it")
    page.text(x, base + 56.0, "first strip:")
    page.text(x, base + 46.0, "dot on the corner")
    page.text(x + 146.0, base + 46.0, "second strip: dot on the mark;")
    page.text(x + 146.0, base + 36.0, "it sets the angle")
    page.text(new[0] + 8.0, new[1] + 2.0, "the crosses meet: fix both strips")


# --- files ----------------------------------------------------------------------------------------


def strips_bytes(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> bytes:
    """The paper strips as a PDF file's content; the same plan gives the same bytes.

    ``units`` are those of the figures beside the ticks.
    """
    title = typeface().printable(f"{plan.job.title or 'Untitled job'}: paper strips")
    return _without_scaling(pdf_bytes(lambda: strips_figures(plan, paper, units), title))


def strips_figures(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> list[Figure]:
    """The paper strips as a figure a page: the first says how, the strips themselves follow."""
    return [_figure(page, paper) for page in _compose(plan, paper, units)]


def write_strips(
    plan: Plan, path: str | Path, paper: Paper = "letter", units: Units = "fraction"
) -> None:
    """Write the paper strips to a PDF file, whole or not at all; as `strips_bytes`.

    Raises InputError where the file cannot be written.
    """
    write_atomic(path, strips_bytes(plan, paper, units))


def _without_scaling(pdf: bytes) -> bytes:
    """A PDF that asks the printer for no scaling and for one side of the paper.

    An update is added to the file's end, with a new catalogue in place of the old one: ISO 32000-1,
    7.5.6 (incremental updates) and 12.2 (viewer preferences). The file has one table of
    cross-references, as matplotlib writes it.
    """
    trailer = pdf[pdf.rindex(b"trailer") :]
    root = re.search(rb"/Root (\d+) 0 R", trailer)
    size = re.search(rb"/Size (\d+)", trailer)
    info = re.search(rb"/Info \d+ 0 R", trailer)
    before = re.search(rb"startxref\s+(\d+)", trailer)
    assert root is not None
    assert size is not None
    assert info is not None
    assert before is not None
    start = pdf.index(b"\n" + root[1] + b" 0 obj")
    old = re.search(rb"<<(.*?)>>", pdf[start:], re.DOTALL)
    assert old is not None
    preferences = b"/ViewerPreferences << /PrintScaling /None /Duplex /Simplex >>"
    # these preferences came with version 1.7 of the format
    catalogue = (
        root[1] + b" 0 obj\n<<" + old[1] + b"/Version /1.7 " + preferences + b" >>\nendobj\n"
    )
    place = len(pdf)
    table = place + len(catalogue)
    entry = b"xref\n" + root[1] + b" 1\n%010d 00000 n \n" % place
    end = b"trailer\n<< /Size %s /Root %s 0 R %s /Prev %s >>\nstartxref\n%d\n%%%%EOF\n"
    return pdf + catalogue + entry + end % (size[1], root[1], info[0], before[1], table)


def _figure(page: _Page, paper: Paper) -> Figure:
    """A page as a figure whose data unit is the point."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, PathPatch
    from matplotlib.path import Path as Curve

    height, width = PAPERS[paper]
    figure = Figure(figsize=(width / INCH, height / INCH), dpi=INCH, facecolor="white")
    sheet = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    sheet.set_axis_off()
    sheet.set_xlim(0.0, width)
    sheet.set_ylim(0.0, height)
    for pen, lines in page.lines.items():
        ends = [end for x0, y0, x1, y1 in lines for end in ((x0, y0), (x1, y1))]
        curve = Curve(ends, [Curve.MOVETO, Curve.LINETO] * len(lines))
        curve.should_simplify = False  # every end stays where it was put
        style: Any = (0.0, pen.dashes) if pen.dashes else "solid"
        sheet.add_patch(
            PathPatch(
                curve, fill=False, lw=pen.width, ec=pen.color, ls=style, capstyle="butt", snap=False
            )
        )
    for pen, points in page.curves:
        dashes: Any = (0.0, pen.dashes) if pen.dashes else "solid"
        curve = Curve(points)
        sheet.add_patch(PathPatch(curve, fill=False, lw=pen.width, ec=pen.color, ls=dashes))
    for x, y, radius in page.discs:
        sheet.add_patch(Circle((x, y), radius, fc="white", ec="none"))
    for x, y in page.dots:
        sheet.add_patch(Circle((x, y), 2.2, fc=render.INK, ec="none"))
    for x, y, text, bold, size, align in page.texts:
        sheet.text(
            x, y, text, fontproperties=render.font(bold, size), ha=align, va="baseline",
            color=render.INK, parse_math=False,
        )  # fmt: skip
    return figure
