"""A ball to press on, which shows any display list: turned by dragging, pressed for a place."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from gui.views import style as look
from gui.views.still_canvas import show_focus, still_canvas, whole_axes
from gui.views.timer import Timer
from layoutkit.geometry.vectors import Vector
from layoutkit.output import drawing, render

if TYPE_CHECKING:
    from gui.views.style import Appearance

FAR = " (far)"
STEP = 1.0 / 16.0  # inches by which an arrow key moves the place
TURN = 0.12  # radians by which an arrow key with Shift turns the ball
_STILL = 4  # pixels within which a press is no drag
_KEYS = {"Left": (-1.0, 0.0), "Right": (1.0, 0.0), "Up": (0.0, 1.0), "Down": (0.0, -1.0)}
_EMPTY = drawing.Scene(1.0, "right", (), (), ())
_FRONT = drawing.view_at(np.array([0.0, 0.0, 1.0]))


class PictureBall(tk.Frame):
    """The ball. ``placed`` hears of each point that was pressed or moved to, in inches."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, placed: Callable[[Vector], object]
    ) -> None:
        super().__init__(parent, background=look.PAPER)
        self._style, self._placed = style, placed
        self.scene, self.view = _EMPTY, _FRONT
        self.point: Vector | None = None
        self.frames = 0  # finished redraws
        self._radius = 1.0  # pixels
        self._at: tuple[int, int] | None = None
        self._moved = False
        self._pending = Timer(self)
        self._canvas, self.widget = still_canvas(self, self.schedule)
        show_focus(self.widget)
        self.widget.configure(width=style.pixels(34), height=style.pixels(25))
        self._axes = whole_axes(self._canvas)
        self._painting = render.draw(self._axes, drawing.project(_EMPTY, _FRONT))
        self.widget.bind("<Button-1>", self._press)
        self.widget.bind("<B1-Motion>", self._motion)
        self.widget.bind("<ButtonRelease-1>", self._release)
        for key, way in _KEYS.items():
            self.widget.bind(f"<{key}>", partial(self._nudge, way))
            self.widget.bind(f"<Shift-{key}>", partial(self._turn, way))

    def show(self, scene: drawing.Scene, view: drawing.View | None = None) -> None:
        """Show another display list, from where it is looked at now or from another view."""
        self.scene = scene
        if view is not None:
            self.view = view
        self.schedule()

    def schedule(self) -> None:
        """Paint when Tk is idle; however often it is asked for, once."""
        self._pending.when_idle(self.paint)

    def paint(self) -> None:
        """Paint now."""
        width, height = self._canvas.get_width_height(physical=True)
        if width < 8 or height < 8:
            return
        dpi, text = self._canvas.figure.dpi, self._style.text * 0.85
        row = render.line_height(text, dpi) * 1.2
        texts = [f"{each.text}{FAR}" for each in self.scene.callouts]
        room = max((render.text_width(each, text, dpi) for each in texts), default=0.0) + row / 2.0
        self._radius = max(
            min((width / 2.0 - room) / drawing.COLUMN, height / 2.0 - row * 0.8), 20.0
        )
        self._axes.set_xlim(-width / 2.0 / self._radius, width / 2.0 / self._radius)
        self._axes.set_ylim(-height / 2.0 / self._radius, height / 2.0 / self._radius)
        shown = drawing.project(self.scene, self.view, row / self._radius, FAR)
        self._painting.show(shown, render.Style(text=text))
        self._canvas.draw()
        self.frames += 1

    # --- the pointer and the keys -------------------------------------------------------------------

    def to_ball(self, x: float, y: float) -> tuple[float, float]:
        """A place of the canvas, in pixels from its upper left, in ball radii."""
        width, height = self._canvas.get_width_height(physical=True)
        return (x - width / 2.0) / self._radius, (height / 2.0 - y) / self._radius

    def _press(self, event: tk.Event[tk.Misc]) -> None:
        self.widget.focus_set()
        self._at, self._moved = (event.x, event.y), False

    def _motion(self, event: tk.Event[tk.Misc]) -> None:
        if self._at is None:
            return
        dx, dy = event.x - self._at[0], event.y - self._at[1]
        if not self._moved and max(abs(dx), abs(dy)) <= _STILL:
            return
        self._moved, self._at = True, (event.x, event.y)
        self.view = self.view.turned(dx / self._radius, -dy / self._radius)
        self.schedule()

    def _release(self, event: tk.Event[tk.Misc]) -> None:
        if self._at is not None and not self._moved:
            x, y = self.to_ball(event.x, event.y)
            if x * x + y * y <= 1.0:
                self._place(self.view.under(x, y, self.scene.radius))
        self._at = None

    def _place(self, point: Vector) -> None:
        self.point = point
        self._placed(point)

    def _nudge(self, way: tuple[float, float], _: tk.Event[tk.Misc]) -> str:
        """Move the place by a sixteenth as it is seen; the first press puts it into the middle."""
        if self.point is None:
            self._place(self.view.under(0.0, 0.0, self.scene.radius))
            return "break"
        x, y, depth = self.view.frame @ np.array(self.point) / self.scene.radius
        if depth < 0.2:  # bring it to the front, where a step on the screen is one on the ball
            self.view = drawing.view_at(np.array(self.point))
            x = y = 0.0
        by = STEP / self.scene.radius
        self._place(self.view.under(x + way[0] * by, y + way[1] * by, self.scene.radius))
        return "break"

    def _turn(self, way: tuple[float, float], _: tk.Event[tk.Misc]) -> str:
        self.view = self.view.turned(-way[0] * TURN, -way[1] * TURN)
        self.schedule()
        return "break"
