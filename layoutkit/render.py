"""Paints a projected drawing on matplotlib axes, for the work sheet and the window alike.

What lies on the far side is dashed or hollow. Marks differ by shape, lines by width and label, so
that nothing depends on colour alone. matplotlib is imported inside the functions: whoever only
computes must not pay for it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from layoutkit.drawing import Drawing, Label, LineKind, MarkerKind, Piece

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes
    from matplotlib.font_manager import FontProperties

INK = "#1c1c1c"
GREY = "#6e6e6e"
BALL = "#f4f4f2"

# colour and width in points
LINES: dict[LineKind, tuple[str, float]] = {
    "midline": (GREY, 0.7),
    "centreline": (GREY, 0.7),
    "val": ("#0b6b57", 1.2),
    "pin_pap": ("#17488f", 1.9),
    "reference": ("#9a4d00", 1.9),
    "psa_pap": ("#6a3d9a", 1.2),
    "pin_val": ("#0b6b57", 1.2),
    "angle": (INK, 0.8),
    "finished": (INK, 1.3),
    "bored": (INK, 0.7),
}
# shape as matplotlib names it, colour, size in points
MARKERS: dict[MarkerKind, tuple[str, str, float]] = {
    "pin": ("o", "#17488f", 6.5),
    "cg": ("s", INK, 5.5),
    "psa": ("^", "#9a4d00", 7.5),
    "pap": ("D", "#0b6b57", 5.5),
    "grip_center": ("P", INK, 6.5),
    "hole": ("+", INK, 5.0),
}
_FILLS: dict[str, str] = {"bored": "#cfcfcf", "finished": "#ffffff"}
_FAR_DASHES = (0.0, (3.0, 2.4))


@dataclass(frozen=True, slots=True)
class Style:
    """Sizes in points: ``text`` of the labels, and ``scale`` by which lines and marks grow."""

    text: float = 8.0
    scale: float = 1.0


@lru_cache(maxsize=16)
def font(bold: bool = False, size: float = 8.0) -> FontProperties:
    """The sans-serif face that comes with matplotlib, by its file: the same on every computer.

    ``size`` is in points.
    """
    import matplotlib
    from matplotlib.font_manager import FontProperties

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    path = Path(matplotlib.get_data_path(), "fonts", "ttf", name)
    return FontProperties(fname=str(path), size=size)


def draw(ax: Axes, drawing: Drawing, style: Style | None = None) -> list[Artist]:
    """Paint a drawing on axes whose data unit is the ball's radius; returns what was added.

    The caller sets the limits, with equal scales on both axes.
    """
    from matplotlib.patches import Circle

    style = style or Style()
    outline = Circle((0.0, 0.0), 1.0, fc=BALL, ec=INK, lw=1.2 * style.scale, zorder=1.0)
    added: list[Artist] = [ax.add_patch(outline)]
    # the far side first, so that the near side covers it
    for piece in sorted(drawing.pieces, key=lambda p: not p.far):
        added += _line(ax, piece, style)
    added += _markers(ax, drawing, style)
    for label in drawing.labels:
        added += _label(ax, label, style)
    return added


def _line(ax: Axes, piece: Piece, style: Style) -> list[Artist]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Polygon

    color, width = LINES[piece.kind]
    added: list[Artist] = []
    fill = _FILLS.get(piece.kind)
    hole = fill is not None
    # a bore lies under the finished hole in it, and both under the lines that a driller measures
    depth = (2.0 if piece.kind == "bored" else 2.2 if hole else 3.0) - 0.9 * piece.far
    if fill is not None and piece.whole and not piece.far:
        added.append(ax.add_patch(Polygon(piece.points, fc=fill, ec="none", zorder=depth)))
    line = Line2D(
        piece.points[:, 0],
        piece.points[:, 1],
        color=color,
        lw=width * style.scale * (0.75 if piece.far else 1.0),
        ls=_FAR_DASHES if piece.far else "-",
        alpha=0.65 if piece.far else 1.0,
        solid_capstyle="round",
        zorder=depth + 0.05,
    )
    added.append(ax.add_line(line))
    return added


def _markers(ax: Axes, drawing: Drawing, style: Style) -> list[Artist]:
    from matplotlib.lines import Line2D

    added: list[Artist] = []
    for spot in drawing.spots:
        shape, color, size = MARKERS[spot.kind]
        line = Line2D(
            [spot.x],
            [spot.y],
            ls="none",
            marker=shape,
            ms=size * style.scale,
            mfc="#ffffff" if spot.far else color,
            mec=color if spot.far or shape == "+" else "#ffffff",
            mew=(1.0 if spot.far or shape == "+" else 0.7) * style.scale,
            zorder=5.0 - 0.5 * spot.far,
        )
        added.append(ax.add_line(line))
    return added


def _label(ax: Axes, label: Label, style: Style) -> list[Artist]:
    from matplotlib.lines import Line2D

    (x, y), (end, row) = label.leader
    leader = Line2D(
        np.array([x, end]), np.array([y, row]), color=GREY, lw=0.45 * style.scale, zorder=4.0
    )
    text = ax.text(
        label.x,
        label.y,
        label.text,
        fontproperties=font(size=style.text),
        color=INK,
        ha="left" if label.side == "right" else "right",
        va="center",
        zorder=6.0,
        parse_math=False,
    )
    return [ax.add_line(leader), text]
