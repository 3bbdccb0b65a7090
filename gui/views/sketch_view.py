"""A small picture in the help: the library's drawing on a canvas, what is meant in colour."""

from __future__ import annotations

import tkinter as tk
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.views import style as look
from layoutkit.output import render
from layoutkit.output.grip_guide import panel_picture

if TYPE_CHECKING:
    from gui.state.sketch import Sketch
    from gui.views.style import Appearance

_EMS = (27.0, 14.0)  # of the canvas; the ball takes what its labels leave
_GUIDE = 7.5  # pixels to the inch of the guide, an em of the text
_DOT = 0.28  # ems from a mark's middle to its edge


class SketchView(tk.Canvas):
    """The picture, drawn once."""

    def __init__(self, parent: tk.Misc, style: Appearance, sketch: Sketch) -> None:
        wide, high = (style.pixels(ems) for ems in _EMS)
        super().__init__(
            parent, width=wide, height=high, background=look.PAPER, highlightthickness=0
        )
        plain = font.nametofont("TkDefaultFont", self)
        labels = [label for label in sketch.drawn.labels if _meant(sketch, label.kind, label.name)]
        # lines by their names alone: what they measure here is not what is explained
        texts = [each.text if each.kind in render.MARKERS else each.name for each in labels]
        room = max((plain.measure(text) for text in texts), default=0) + style.em
        self._radius = min((wide / 2 - room) / 1.15, high / 2 - style.em)
        self._middle = wide / 2, high / 2
        self._ball()
        for piece in sorted(
            sketch.drawn.pieces, key=lambda p: (_meant(sketch, p.kind, p.name), not p.far)
        ):
            meant = _meant(sketch, piece.kind, piece.name)
            places = [each for x, y in piece.points.tolist() for each in self._at(x, y)]
            if len(piece.points) > 1:
                self.create_line(
                    *places,
                    fill=render.LINES[piece.kind][0] if meant else look.EDGE,
                    width=style.pixels(0.17) if meant else 1,
                    dash=(3, 3) if piece.far else (),
                )
        size = style.pixels(_DOT)
        for spot in sketch.drawn.spots:
            if spot.far or not _meant(sketch, spot.kind, spot.name):
                continue
            x, y = self._at(spot.x, spot.y)
            color = render.MARKERS[spot.kind][1]
            self.create_oval(x - size, y - size, x + size, y + size, fill=color, outline=look.PAPER)
        for label, text in zip(labels, texts, strict=True):
            (x, y), end = label.leader
            self.create_line(*self._at(x, y), *self._at(*end), fill=look.EDGE)
            left, row = self._at(label.x, label.y)
            self.create_text(
                left, row, text=text, anchor="w" if label.side == "right" else "e", fill=look.INK
            )

    def _at(self, x: float, y: float) -> tuple[float, float]:
        """The pixels of a place in ball radii."""
        return self._middle[0] + x * self._radius, self._middle[1] - y * self._radius

    def _ball(self) -> None:
        self.create_oval(
            *self._at(-1.0, 1.0), *self._at(1.0, -1.0), fill=render.BALL, outline=look.QUIET
        )


class GuideView(ttk.Label):
    """A drawing of the measuring guide."""

    def __init__(self, parent: tk.Misc, style: Appearance, number: int) -> None:
        self._image = tk.PhotoImage(master=parent, data=panel_picture(number, style.em * _GUIDE))
        super().__init__(parent, image=self._image)


def _meant(sketch: Sketch, kind: str, name: str) -> bool:
    return kind in sketch.meant or name in sketch.meant
