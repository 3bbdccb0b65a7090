"""Blocks of a printed page: headings, paragraphs, tables and blanks, each of a known height.

Lengths are points (72 to the inch), measured from the lower left corner. A block knows its height
before anything is painted, from the font's own advances: text is wrapped or shortened to its width.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from layoutkit.output import render
from layoutkit.output.typeset import LEAD, TYPE, shorten, typeface, wrap

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Align = Literal["left", "right", "center"]

BLANK_LEAD = 13.0  # points for a row in which someone writes
GAP = 6.0  # points between blocks
RISE = 2.3  # points from the bottom of a line to its baseline
TICK_SIDE = 6.5  # points, the side of a tick box


@dataclass
class Page:
    """What is to be painted: texts, rules, tick boxes, shaded bands, and a sketch's lines and circles."""

    texts: list[tuple[float, float, str, bool, float, Align, str]] = field(default_factory=list)
    rules: list[tuple[float, float, float, float, float]] = field(default_factory=list)
    ticks: list[tuple[float, float]] = field(default_factory=list)
    bands: list[tuple[float, float, float, float]] = field(default_factory=list)
    lines: list[tuple[float, float, float, float, float]] = field(default_factory=list)
    circles: list[tuple[float, float, float]] = field(default_factory=list)

    def text(
        self,
        x: float,
        y: float,
        text: str,
        bold: bool = False,
        size: float = TYPE,
        align: Align = "left",
        color: str = render.INK,
    ) -> None:
        """A line of text with its baseline at y."""
        if text:
            self.texts.append((x, y, text, bold, size, align, color))

    def rule(self, x0: float, x1: float, y: float, width: float = 0.5) -> None:
        """A level line of some points in width."""
        self.rules.append((x0, x1, y, y, width))

    def line(self, x0: float, y0: float, x1: float, y1: float, width: float) -> None:
        """A line of a sketch, some points in width."""
        self.lines.append((x0, y0, x1, y1, width))

    def circle(self, x: float, y: float, radius: float) -> None:
        """A circle of a sketch."""
        self.circles.append((x, y, radius))


Paint = Callable[[Page, float, float], None]  # page, left edge, top edge


@dataclass(frozen=True)
class Block:
    """Something of a known height that can be painted anywhere."""

    height: float
    paint: Paint


def stack(blocks: Sequence[Block], gap: float = GAP) -> Block:
    """Blocks under each other."""
    height = sum(b.height for b in blocks) + gap * max(len(blocks) - 1, 0)

    def paint(page: Page, x: float, top: float) -> None:
        for block in blocks:
            block.paint(page, x, top)
            top -= block.height + gap

    return Block(height, paint)


def heading(text: str, width: float) -> Block:
    """A line in bold over a rule."""
    shown = shorten(text, width, bold=True)

    def paint(page: Page, x: float, top: float) -> None:
        page.text(x, top - LEAD + RISE, shown, bold=True)
        page.rule(x, x + width, top - LEAD - 0.8, 0.8)

    return Block(LEAD + 2.2, paint)


def paragraph(text: str, width: float, lead: str = "", bold: bool = False) -> Block:
    """Wrapped text; ``lead`` stands before the first line and the rest hangs."""
    face = typeface(bold)
    hang = face.width(lead + " ") * TYPE if lead else 0.0
    lines = wrap(text, width - hang, bold)

    def paint(page: Page, x: float, top: float) -> None:
        page.text(x, top - LEAD + RISE, lead, bold)
        for i, line in enumerate(lines):
            page.text(x + hang, top - LEAD * (i + 1) + RISE, line, bold)

    return Block(LEAD * len(lines), paint)


@dataclass(frozen=True)
class Column:
    """A column of a table, ``width`` points wide."""

    width: float
    align: Align = "left"


BLANK = "\x00blank"  # a cell in which someone writes
TICK = "\x00tick"  # at the end of a cell: a box to tick
BOLD = "\x00bold"  # at the start of a cell
SPAN = "\x00span"  # at the start of a cell that reaches over the empty ones to its right


def table(
    columns: Sequence[Column],
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    lead: float = LEAD,
) -> Block:
    """Rows of cells, each shortened to its column, under a head that may be empty."""
    head_lead = LEAD if head else 0.0
    width = sum(c.width for c in columns)

    def row(page: Page, x: float, base: float, cells: Sequence[str], heading: bool) -> None:
        for i, (column, cell) in enumerate(zip(columns, cells, strict=True)):
            inner = column.width - 4.0
            if cell == BLANK:
                page.rule(x + 2.0, x + 2.0 + inner, base - 1.0)
            elif cell.startswith(SPAN):
                reach = inner + sum(c.width for c in columns[i + 1 : -1])
                page.text(x + 2.0, base, shorten(cell.removeprefix(SPAN), reach))
            else:
                bold = cell.startswith(BOLD)
                text = cell.removeprefix(BOLD)
                if text.endswith(TICK):
                    text = text.removesuffix(TICK)
                    inner -= TICK_SIDE + 3.0
                    page.ticks.append((x + 2.0 + inner + 3.0, base - 0.6))
                place = {"left": 0.0, "right": inner, "center": inner / 2.0}[column.align]
                color = render.GREY if heading else render.INK
                shown = shorten(text, inner, bold)
                page.text(x + 2.0 + place, base, shown, bold, TYPE, column.align, color)
            x += column.width

    def paint(page: Page, x: float, top: float) -> None:
        if head:
            row(page, x, top - head_lead + RISE, head, heading=True)
        for i, cells in enumerate(rows):
            bottom = top - head_lead - lead * (i + 1)
            if i % 2 == 1 and lead == LEAD:
                page.bands.append((x, bottom - 0.3, width, lead))
            row(page, x, bottom + RISE, cells, heading=False)

    return Block(head_lead + lead * len(rows), paint)


def beside(blocks: Sequence[Block], apart: float) -> Block:
    """Blocks in a row, their left edges ``apart`` points from each other."""

    def paint(page: Page, x: float, top: float) -> None:
        for i, block in enumerate(blocks):
            block.paint(page, x + i * apart, top)

    return Block(max(block.height for block in blocks), paint)


def initials(names: Sequence[str], width: float) -> Block:
    """Blanks to sign, side by side."""
    share = width / len(names)

    def paint(page: Page, x: float, top: float) -> None:
        base = top - BLANK_LEAD + RISE
        for name in names:
            page.text(x, base, name)
            used = typeface().width(name) * TYPE + 4.0
            page.rule(x + used, x + share - 6.0, base - 1.0)
            x += share

    return Block(BLANK_LEAD, paint)


def figure(page: Page, width: float, height: float) -> Figure:
    """A page of these points in width and height, painted."""
    from matplotlib.collections import LineCollection, PatchCollection
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, Rectangle

    figure = Figure(figsize=(width / 72.0, height / 72.0), dpi=72.0, facecolor="white")
    sheet = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    sheet.set_axis_off()
    sheet.set_xlim(0.0, width)
    sheet.set_ylim(0.0, height)
    bands = [Rectangle((x, y), w, h) for x, y, w, h in page.bands]
    sheet.add_collection(PatchCollection(bands, fc="#f0f0ee", ec="none", zorder=0.5))
    sheet.add_collection(
        LineCollection(
            [[(x0, y0), (x1, y1)] for x0, x1, y0, y1, _ in page.rules],
            linewidths=[r[4] for r in page.rules],
            colors=render.INK,
        )
    )
    ticks = [Rectangle((x, y), TICK_SIDE, TICK_SIDE) for x, y in page.ticks]
    sheet.add_collection(PatchCollection(ticks, fc="white", ec=render.INK, lw=0.6))
    if page.lines:
        circles = [Circle((x, y), radius) for x, y, radius in page.circles]
        sheet.add_collection(PatchCollection(circles, fc="none", ec=render.INK, lw=0.8))
        strokes = [[(x0, y0), (x1, y1)] for x0, y0, x1, y1, _ in page.lines]
        widths = [line[4] for line in page.lines]
        sheet.add_collection(LineCollection(strokes, linewidths=widths, colors=render.INK))
    for x, y, text, bold, size, align, color in page.texts:
        sheet.text(
            x,
            y,
            text,
            fontproperties=render.font(bold, size),
            ha=align,
            va="baseline",
            color=color,
            parse_math=False,
        )
    return figure
