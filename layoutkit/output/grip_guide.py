"""One page to print: how to measure the grip of a drilled ball, and where to write what was read.

Lengths are points (72 to the inch). The page holds on letter and on A4, for its content is no wider than
the one and no higher than the other. Drawings are made here; none is to scale but the oil ring, which
is seen as it lies on a ball.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from layoutkit.geometry.sphere import from_over_up, walked
from layoutkit.job.files import write_atomic
from layoutkit.output import render
from layoutkit.output.blocks import (
    BLANK,
    Block,
    Column,
    Page,
    beside,
    figure,
    heading,
    initials,
    paragraph,
    stack,
    table,
)
from layoutkit.output.typeset import PAPERS, Paper, pdf_bytes

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

TITLE = "Measure the grip of a ball that fits"
MARGIN = 30.0
WIDTH = min(width for width, _ in PAPERS.values()) - 2.0 * MARGIN
APART = 12.0  # points between two panels
PANEL = (WIDTH - 2.0 * APART) / 3.0  # points, the width of a panel
HIGH = 124.0  # points, the height of a drawing
WRITE = 20.0  # points for a row in which someone writes
WHITE = "#ffffff"
DASHES = (3.0, 2.0)

HOW = (
    "Read to 1/64 in. Write what you read and how you read it, not what you think it should be: "
    "`layoutkit grip --new measured.json` makes the file with these names, `layoutkit grip "
    "measured.json` works the grip out of it and names what to measure again."
)
NAMES = (
    "In the file: bar or axis is depth_from; forward or reverse and right or left stand under pitch; a "
    "bore needs sleeve true; between is bridge_between. Write lengths as 4 3/8, 4.375 or 111 mm."
)
CAUTION = (
    "The grip is a calculation from these readings. Compare it with the hand before you drill; local "
    "rules, the current rule book and licensed practice decide. Where the hand hurts, see a doctor first."
)

HEADS = (
    *("span", "straight", "diameter", "bore", "depth"),
    *("bar or axis", "forw., rev.", "right, left", "gap"),
)

Point = tuple[float, float]


class _Shape(NamedTuple):
    """A line through points: its width, its colour, what fills it, and its dashes in points."""

    points: Sequence[Point]
    width: float
    color: str
    fill: str | None
    dashes: tuple[float, float] | None


@dataclass
class _Art:
    """The shapes of a page, in the order in which they are painted."""

    shapes: list[_Shape] = field(default_factory=list)

    def line(
        self,
        *points: Point,
        width: float = 0.8,
        color: str = render.INK,
        fill: str | None = None,
        dashes: tuple[float, float] | None = None,
    ) -> None:
        """A line with round ends, and what it encloses where that is filled."""
        self.shapes.append(_Shape(points, width, color, fill, dashes))

    def circle(self, x: float, y: float, radius: float, **style: Any) -> None:
        """A circle."""
        self.line(*_bow(x, y, radius, 0.0, 360.0), **style)

    def dot(self, x: float, y: float) -> None:
        """A mark."""
        self.circle(x, y, 1.6, fill=render.INK)

    def measure(self, a: Point, b: Point) -> None:
        """A thick line between two places with a stroke across each end: what is read."""
        color, width = render.LINES["measure"]
        length = math.dist(a, b)
        across = (3.0 * (b[1] - a[1]) / length, 3.0 * (a[0] - b[0]) / length)
        self.line(a, b, width=width, color=color)
        for x, y in (a, b):
            ends = ((x - across[0], y - across[1]), (x + across[0], y + across[1]))
            self.line(*ends, width=1.0, color=color)

    def paint(self, axes: Axes) -> None:
        """Paint all on axes whose data unit is the point."""
        from matplotlib.patches import PathPatch
        from matplotlib.path import Path as Curve

        for z, shape in enumerate(self.shapes):
            style: Any = (0.0, shape.dashes) if shape.dashes else "solid"
            axes.add_patch(
                PathPatch(
                    Curve(list(shape.points)),
                    fc=shape.fill or "none",
                    ec=shape.color,
                    lw=shape.width,
                    ls=style,
                    capstyle="butt" if shape.dashes else "round",
                    joinstyle="round",
                    zorder=1.0 + z / 1000.0,
                )
            )


def _bow(x: float, y: float, radius: float, start: float, end: float) -> list[Point]:
    """Points of a circle from one angle to another, in degrees from the right, anticlockwise."""
    turns = np.radians(np.linspace(start, end, 61))
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns.tolist()]


# --- drawings -------------------------------------------------------------------------------------

Draw = Callable[[Page, _Art, float, float], None]  # page, art, left and lower edge


def _hand(page: Page, art: _Art, x: float, y: float) -> None:
    """The back of a right hand on the ball, as it is seen from outside."""
    palm = [(60.0, 14.0), (106.0, 14.0), (110.0, 50.0), (62.0, 50.0), (60.0, 14.0)]
    limbs = {
        "index": ((64.0, 50.0), (44.0, 84.0), 14.0),
        "middle": ((78.0, 54.0), (70.0, 98.0), 15.0),
        "ring": ((94.0, 54.0), (100.0, 96.0), 14.5),
        "little": ((108.0, 48.0), (130.0, 76.0), 12.5),
        "thumb": ((64.0, 22.0), (32.0, 46.0), 17.0),
    }
    for more, color in ((1.4, render.INK), (0.0, WHITE)):
        art.line(*((x + a, y + b) for a, b in palm), width=14.0 + more, color=color, fill=color)
        for (a, b), (c, d), thick in limbs.values():
            art.line((x + a, y + b), (x + c, y + d), width=thick + more, color=color)
    for name, place in (
        ("index", (6.0, 92.0)),
        ("middle", (52.0, 112.0)),
        ("ring", (96.0, 110.0)),
        ("little", (136.0, 86.0)),
        ("thumb", (2.0, 26.0)),
    ):
        page.text(x + place[0], y + place[1], name)
    for name in ("middle", "ring", "thumb"):
        _, (a, b), thick = limbs[name]
        art.circle(x + a, y + b, thick / 2.0 + 2.6, dashes=(2.0, 1.4), color=render.GREY)
    page.text(x + 124.0, y + 34.0, "forward:")
    page.text(x + 124.0, y + 24.0, "bottom to")
    page.text(x + 124.0, y + 14.0, "the palm")


def _spans(page: Page, art: _Art, x: float, y: float) -> None:
    """Spans between finished edges; and along the ball against straight across."""
    thumb, fingers = (x + 54.0, y + 20.0, 16.0), ((x + 30.0, y + 96.0), (x + 76.0, y + 92.0))
    for (a, b), name in zip(fingers, ("middle", "ring"), strict=True):
        away = math.dist((a, b), thumb[:2])
        unit = ((a - thumb[0]) / away, (b - thumb[1]) / away)
        near, far = thumb[2], away - 15.0
        art.measure(
            (thumb[0] + near * unit[0], thumb[1] + near * unit[1]),
            (thumb[0] + far * unit[0], thumb[1] + far * unit[1]),
        )
        art.circle(a, b, 15.0)
        page.text(a, b - 3.0, name, align="center")
    art.circle(*thumb)
    page.text(thumb[0], thumb[1] - 3.0, "thumb", align="center")
    page.text(x + 36.0, y + 56.0, "span", align="right")
    page.text(x + 70.0, y + 56.0, "span")
    # a ball from the side, its rule along it and another straight across
    middle, radius = (x + 98.0, y + 58.0), 50.0
    art.line(*_bow(*middle, radius, -66.0, 66.0), width=0.6, color=render.GREY)
    color, width = render.LINES["measure"]
    art.line(*_bow(*middle, radius, -48.0, 48.0), width=width, color=color)
    ends = [_bow(*middle, radius, turn, turn)[0] for turn in (-48.0, 48.0)]
    art.line(*ends, dashes=DASHES)
    page.text(x + PANEL, y + 110.0, "along: 4 3/8", align="right")
    page.text(x + PANEL, y + 2.0, "across: 4 3/16", align="right")


def _bridge(page: Page, art: _Art, x: float, y: float) -> None:
    """The bridge between bored edges, sleeves in their bores."""
    middle, ring, bore, finished = (x + 46.0, y + 74.0), (x + 122.0, y + 64.0), 31.0, 23.0
    away = math.dist(middle, ring)
    unit = ((ring[0] - middle[0]) / away, (ring[1] - middle[1]) / away)
    art.line((x + 85.0, y + 118.0), (x + 85.0, y + 26.0), color=render.GREY, dashes=DASHES)
    for (a, b), name in ((middle, "middle"), (ring, "ring")):
        art.circle(a, b, bore, fill=render.BALL)
        art.circle(a, b, finished, fill=WHITE)
        page.text(a, b - 3.0, name, align="center")
    art.measure(
        (middle[0] + bore * unit[0], middle[1] + bore * unit[1]),
        (ring[0] - bore * unit[0], ring[1] - bore * unit[1]),
    )
    art.line((x + 84.0, y + 66.0), (x + 74.0, y + 17.0), width=0.5)
    page.text(x + 40.0, y + 8.0, "bridge, at the cut edges")
    page.text(x + 90.0, y + 112.0, "centreline", color=render.GREY)
    art.line((middle[0] - 20.0, middle[1] - 23.7), (x + 14.0, y + 38.0), width=0.5)
    page.text(x + 2.0, y + 30.0, "bored edge")
    art.line((ring[0] + 14.0, ring[1] - 18.2), (x + 150.0, y + 31.0), width=0.5)
    page.text(x + PANEL, y + 22.0, "finished edge", align="right")


def _section(art: _Art, center: Point, radius: float) -> None:
    """The upper part of a ball cut through."""
    art.line(*_bow(*center, radius, 22.0, 158.0), width=1.0)


def _pitch(page: Page, art: _Art, x: float, y: float) -> None:
    """A gauge on a hole whose axis misses the ball's centre."""
    center, radius, half = (x + 84.0, y + 14.0), 84.0, 9.0
    _section(art, center, radius)
    entry = (center[0], center[1] + radius)
    lean = math.radians(14.0)  # more than any grip has, to be seen
    down, aside = (math.sin(lean), -math.cos(lean)), (math.cos(lean), math.sin(lean))

    def at(along: float, off: float) -> Point:
        return (
            entry[0] + along * down[0] + off * aside[0],
            entry[1] + along * down[1] + off * aside[1],
        )

    art.line(
        at(-1.0, -half), at(42.0, -half), at(42.0, half), at(-2.4, half), fill=WHITE, width=1.0
    )
    art.line(at(-3.0, -half + 0.6), at(-3.0, half - 0.6), color=WHITE, width=3.0)
    art.line(entry, center, color=render.GREY, dashes=DASHES)
    art.line(at(-12.0, 0.0), at(90.0, 0.0), dashes=DASHES)
    foot = radius * math.cos(lean)
    art.measure(center, at(foot, 0.0))
    art.dot(*center)
    page.text(center[0] - 5.0, center[1] - 3.0, "ball's centre", align="right")
    page.text(center[0] + 26.0, center[1] + 1.0, "pitch")
    # the gauge: two feet on the surface, a rod down the hole
    for side in (-1.0, 1.0):
        foot_x = 24.0 * side
        on_ball = center[1] + math.sqrt(radius * radius - foot_x * foot_x)
        art.line((center[0] + foot_x, on_ball), (center[0] + foot_x, y + 110.0), width=2.0)
    art.line((center[0] - 30.0, y + 110.0), (center[0] + 30.0, y + 110.0), width=2.0)
    art.line(at(-13.0, 0.0), at(38.0, 0.0), width=2.6, color=render.GREY)
    page.text(x + 122.0, y + 108.0, "gauge")
    page.text(x + 15.0, y + 48.0, "toward")
    page.text(x + 15.0, y + 38.0, "the fingers")
    page.text(x + 153.0, y + 48.0, "toward", align="right")
    page.text(x + 153.0, y + 38.0, "the palm", align="right")


def _depth(page: Page, art: _Art, x: float, y: float) -> None:
    """A bar across the opening, and a rod to the bottom."""
    center, radius, half = (x + 84.0, y + 14.0), 82.0, 27.0
    _section(art, center, radius)
    rim = center[1] + math.sqrt(radius * radius - half * half)
    bottom = y + 26.0
    left, right = center[0] - half, center[0] + half
    art.line((left, rim), (left, bottom), (right, bottom), (right, rim), fill=WHITE, width=1.0)
    edge = math.degrees(math.asin(half / radius))
    lid = _bow(*center, radius, 90.0 - edge, 90.0 + edge)
    art.line(*lid, color=WHITE, width=3.0)
    bar = [
        (left - 16.0, rim),
        (right + 16.0, rim),
        (right + 16.0, rim + 6.0),
        (left - 16.0, rim + 6.0),
    ]
    art.line(*bar, bar[0], fill=render.BALL)
    art.line(*lid, dashes=(2.0, 1.6), width=1.0)
    art.measure((center[0], rim), (center[0], bottom))
    page.text(center[0] + 4.0, y + 56.0, "read")
    page.text(x + 2.0, y + 108.0, "bar")
    art.line((x + 18.0, y + 108.0), (left - 12.0, rim + 5.0), width=0.5)
    page.text(x + PANEL, y + 112.0, "the surface before", align="right")
    art.line((x + 120.0, y + 109.0), (center[0] + 8.0, center[1] + radius - 0.2), width=0.5)
    page.text(center[0], y + 15.0, "bottom of the full diameter", align="center")
    page.text(center[0], y + 4.0, "(on a drill point: its tip)", align="center")


def _track(page: Page, art: _Art, x: float, y: float) -> None:
    """The first oil ring and the axis point on a ball, as they lie, seen from over the grip centre."""
    ball, size = 4.275, 54.0
    center = (x + 64.0, y + 60.0)
    pap = from_over_up(4.75, 0.5, ball)
    turns = np.linspace(0.0, 360.0, 181)
    pole = np.repeat(np.array([pap]), len(turns), axis=0)
    ring = np.asarray(walked(pole, turns, 6.0))

    def seen(point: Any) -> Point:
        return center[0] + size * point[0] / ball, center[1] + size * point[1] / ball

    art.circle(*center, size, width=1.0)
    art.line(seen((-ball, 0, 0)), seen((ball, 0, 0)), color=render.GREY, width=0.6, dashes=DASHES)
    near = ring[:, 2] > 0.0
    first = int(np.flatnonzero(ring[:, 2] <= 0.0)[-1]) + 1  # where it comes round to the near side
    shown = np.roll(ring, -first, axis=0)[: int(near.sum())]
    color, width = render.LINES["ring"]
    art.line(*(seen(p) for p in shown.tolist()), color=color, width=width)
    for share in (0.12, 0.38, 0.62, 0.88):
        art.dot(*seen(shown[int(share * len(shown))]))
    a, b = seen((0.0, 0.0, ball))
    art.line((a - 4.0, b), (a + 4.0, b), width=1.4)
    art.line((a, b - 4.0), (a, b + 4.0), width=1.4)
    c, d = seen(pap)
    art.measure((a, b), (c, b))
    art.measure((c, b), (c, d))
    art.dot(c, d)
    page.text(a + 16.0, b - 11.0, "over")
    page.text(a - 2.0, b - 24.0, "grip centre")
    art.line((a + 1.0, b - 6.0), (a + 5.0, b - 15.0), width=0.5)
    page.text(c + 8.0, d + 9.0, "PAP")
    page.text(c + 8.0, b - 1.0, "up")
    page.text(x + PANEL, y + 112.0, "4 marks or more", align="right")
    page.text(x + PANEL, y + 102.0, "on the first ring", align="right")
    page.text(x, y + 112.0, "fingers up")


class _Panel(NamedTuple):
    """A drawing with its heading and what it says."""

    title: str
    draw: Draw
    words: tuple[str, ...]


PANELS: tuple[_Panel, ...] = (
    _Panel(
        "1. The hand",
        _hand,
        (
            "A right hand on the ball, seen from outside with the fingers up; a left hand is its mirror "
            "image. Right and left of a pitch are as you look at the ball, whatever the hand.",
        ),
    ),
    _Panel(
        "2. Spans",
        _spans,
        (
            "Lay a flexible rule on the ball from the thumb's finished edge to the finger's, sleeves in "
            "place. No thumb hole: from the palm mark. Straight across it reads 3/16 in less; write that "
            "too, as a check.",
        ),
    ),
    _Panel(
        "3. Bridge",
        _bridge,
        (
            "Where sleeves sit in the holes, lay the rule between the bored edges, along the line of the "
            "two centres. If you lay it between finished edges, say so. A gap to an index or little "
            "finger's hole is read in the same way.",
        ),
    ),
    _Panel(
        "4. Pitch",
        _pitch,
        (
            "The gauge's feet stand on both sides of the opening, its rod along the hole. Read once "
            "along the centreline, forward or reverse, and once across, right or left. Forward: the "
            "hole's bottom leans to the palm.",
        ),
    ),
    _Panel(
        "5. Depth and diameters",
        _depth,
        (
            "Read from a bar that lies across the opening, of an oval hole the narrow way; or along the "
            "axis from where the surface was. Diameter: the finished hole. Bore: the outer edge of the "
            "sleeve's ring.",
        ),
    ),
    _Panel(
        "6. PAP from the track",
        _track,
        (
            "Mark the first oil ring of a thrown ball at places well apart. Read each from the grip "
            "centre: over (negative toward the negative side), up (negative toward the thumb). "
            "`layoutkit axis` finds the PAP.",
        ),
    ),
)


def panel_picture(number: int, dpi: float) -> bytes:
    """The drawing of a panel alone, by its place in `PANELS`, as PNG at so many pixels to the inch."""
    from io import BytesIO

    page, art = Page(), _Art()
    PANELS[number].draw(page, art, 3.0, 3.0)
    made = figure(page, PANEL + 6.0, HIGH + 6.0)
    art.paint(made.axes[0])
    content = BytesIO()
    made.savefig(content, dpi=dpi, format="png", metadata={"Software": None})
    return content.getvalue()


# --- the page -------------------------------------------------------------------------------------


def _panel(panel: _Panel, art: _Art) -> Block:
    """A panel as a block, whose drawing goes to the page's art."""

    def paint(page: Page, x: float, top: float) -> None:
        panel.draw(page, art, x, top - HIGH)

    words = [paragraph(each, PANEL) for each in panel.words]
    return stack([heading(panel.title, PANEL), Block(HIGH, paint), *words], 3.0)


def _form() -> list[Block]:
    """The blanks, under the names of the file's fields."""
    name = 46.0
    share = (WIDTH - name) / len(HEADS)
    columns = [Column(name), *(Column(share) for _ in HEADS)]
    rows = []
    for digit in ("middle", "ring", "thumb", "index", "little"):
        unused = {"thumb": ("span", "straight", "gap"), "middle": ("gap",), "ring": ("gap",)}
        rows.append([digit, *("" if h in unused.get(digit, ()) else BLANK for h in HEADS)])
    return [
        heading("Write here", WIDTH),
        initials(("bowler", "hand", "ball's diameter", "date, by"), WIDTH),
        initials(("bridge", "between bored or finished edges", "rule, flexible or stiff"), WIDTH),
        table(columns, ("", *HEADS), rows, WRITE),
        paragraph(NAMES, WIDTH),
        initials(("mark 1", "mark 2", "mark 3", "mark 4", "PAP over", "up"), WIDTH),
    ]


def guide_figure(paper: Paper = "letter") -> Figure:
    """The page as a figure."""
    width, height = PAPERS[paper]
    page, art = Page(), _Art()
    left, top = (width - WIDTH) / 2.0, height - MARGIN
    page.text(left, top - 11.0, TITLE, True, 13.0)
    panels = [_panel(panel, art) for panel in PANELS]
    blocks = [
        paragraph(HOW, WIDTH),
        *(beside(panels[n : n + 3], PANEL + APART) for n in (0, 3)),
        *_form(),
        paragraph(CAUTION, WIDTH, bold=True),
    ]
    stack(blocks, 7.0).paint(page, left, top - 19.0)
    made = figure(page, width, height)
    art.paint(made.axes[0])
    return made


def guide_bytes(paper: Paper = "letter") -> bytes:
    """The page as a PDF file's content; the same paper gives the same bytes."""
    return pdf_bytes(lambda: [guide_figure(paper)], TITLE)


def write_guide(path: str | Path, paper: Paper = "letter") -> None:
    """Write the page to a PDF file, whole or not at all.

    Raises InputError where the file cannot be written.
    """
    write_atomic(path, guide_bytes(paper))
