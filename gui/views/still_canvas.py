"""matplotlib's canvas as a plain Tk widget, without its own events, painted when it is told."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from typing import Any

from gui.views import style as look

_EVENTS = (
    *("<Key>", "<KeyRelease>", "<Motion>", "<Enter>", "<Leave>"),
    *(f"<{kind}-{n}>" for n in (1, 2, 3) for kind in ("Button", "Double-Button", "ButtonRelease")),
)


def still_canvas(master: tk.Misc, redraw: Callable[[], object]) -> tuple[Any, tk.Canvas]:
    """A canvas with an empty figure, and its widget, which fills ``master``.

    Where matplotlib would paint by itself, after a new size, ``redraw`` is called. Its own events would
    make matplotlib's, which nobody reads. It takes the keyboard; whoever minds has to give it back.
    """
    from matplotlib.backends.backend_tkagg import FigureCanvasTkAgg
    from matplotlib.figure import Figure

    class StillCanvas(FigureCanvasTkAgg):
        def draw_idle(self) -> None:
            redraw()

    make: Any = StillCanvas  # matplotlib's canvas has no types
    canvas = make(Figure(dpi=96.0, facecolor=look.PAPER), master)
    widget: tk.Canvas = canvas.get_tk_widget()
    for name in _EVENTS:
        widget.unbind(name)
    widget.configure(background=look.PAPER)
    widget.pack(fill="both", expand=True)
    return canvas, widget


def show_focus(widget: tk.Canvas) -> None:
    """Let a canvas take the keyboard, with a border while it has it."""
    widget.configure(takefocus=True, highlightthickness=2)
    widget.configure(highlightcolor=look.ACCENT, highlightbackground=look.PAPER)


def whole_axes(canvas: Any) -> Any:
    """Axes without lines that fill the canvas."""
    axes = canvas.figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    return axes
