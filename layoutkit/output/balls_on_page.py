"""Balls on a printed page: each as large as its box holds with its labels, and its caption below."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from layoutkit.output import blocks as _blocks
from layoutkit.output import drawing, render
from layoutkit.output.typeset import LEAD, PAPERS, TYPE, Paper, typeface

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True)
class Picture:
    """A drawing in its place: the ball's middle and radius in points."""

    drawing: drawing.Drawing
    x: float
    y: float
    radius: float
    caption: str

    @property
    def reach(self) -> float:
        """Points from the ball's middle to the end of the ball or of the outermost label."""
        rows = max((abs(label.y) for label in self.drawing.labels), default=0.0) * self.radius
        return max(self.radius + 1.0, rows + LEAD / 2.0)

    @property
    def height(self) -> float:
        """Points that the picture and its caption need."""
        return 2.0 * self.reach + LEAD + 2.0 * _blocks.RISE


def _label_room(picture: drawing.Drawing) -> tuple[float, float]:
    """Points that the texts in the left and in the right column need."""
    widths = {"left": 0.0, "right": 0.0}
    for label in picture.labels:
        widths[label.side] = max(widths[label.side], typeface().width(label.text) * TYPE)
    return widths["left"], widths["right"]


def place(
    scene: drawing.Scene, view: drawing.View, box: tuple[float, float, float, float], caption: str
) -> Picture:
    """The largest ball that fits with its labels into box (left, bottom, width, height)."""
    x, y, width, height = box
    left, right = _label_room(drawing.project(scene, view))
    radius = min((width - left - right - 2.0) / (2.0 * drawing.COLUMN), height / 2.0)
    radius = max(radius, LEAD)  # where the labels leave no room at all, a ball as small as a line
    while True:
        spare = width - left - right - 2.0 * drawing.COLUMN * radius
        projected = drawing.project(scene, view, LEAD / radius)
        middle = x + spare / 2.0 + left + drawing.COLUMN * radius
        picture = Picture(projected, middle, y + (height + LEAD) / 2.0, radius, caption)
        # the rows of many labels may need more than the ball's height
        if picture.height <= height or radius < LEAD:
            return picture
        radius *= 0.98


def captions(page: _blocks.Page, pictures: Iterable[Picture]) -> None:
    """Put the captions of pictures on their page."""
    for p in pictures:
        page.text(p.x, p.y - p.reach - LEAD, p.caption, align="center", color=render.GREY)


def figure(page: _blocks.Page, pictures: Sequence[Picture], paper: Paper) -> Figure:
    """A page of some paper with its pictures, painted."""
    width, height = PAPERS[paper]
    painted = _blocks.figure(page, width, height)
    for p in pictures:
        # a square a little wider than the ball; the labels reach beyond it, into room kept for them
        reach = p.radius * 1.05
        x, y, side = p.x - reach, p.y - reach, 2.0 * reach
        ax = painted.add_axes((x / width, y / height, side / width, side / height))
        ax.set_axis_off()
        ax.set_xlim(-1.05, 1.05)
        ax.set_ylim(-1.05, 1.05)
        render.draw(ax, p.drawing, render.Style(text=TYPE, scale=0.9))
    return painted
