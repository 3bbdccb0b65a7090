"""A frame whose content scrolls, both ways, where it has less room than it needs."""

from __future__ import annotations

import math
import tkinter as tk
from collections.abc import Callable
from tkinter import ttk
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gui.views.style import Appearance

_BEGINNING = 5.0  # ems of a part that must be seen across
_STEP = 0.5  # ems by which it scrolls
_OWN_WHEEL = ("Text", "Treeview", "TCombobox", "Listbox")  # what does something else with the wheel


class Scrolling(ttk.Frame):
    """Asks for the room that ``inner`` needs; a bar comes at each side on which it gets less.

    A content that fills takes all the room there is; any other keeps its height. The part that has the
    keyboard is scrolled into sight.
    """

    def __init__(self, parent: tk.Misc, style: Appearance, fills: bool = False) -> None:
        super().__init__(parent)
        self._style, self._fills = style, fills
        background = ttk.Style(self).lookup("TFrame", "background")
        self._canvas = tk.Canvas(
            self, background=background, highlightthickness=0, borderwidth=0, takefocus=False
        )
        self._bar = ttk.Scrollbar(self, orient="vertical", command=self._canvas.yview)
        self._low_bar = ttk.Scrollbar(self, orient="horizontal", command=self._canvas.xview)
        self._canvas.configure(yscrollcommand=self._bar.set, xscrollcommand=self._low_bar.set)
        self._canvas.grid(row=0, column=0, sticky="nsew")
        self._bar.grid(row=0, column=1, sticky="ns")
        self._low_bar.grid(row=1, column=0, sticky="ew")
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.inner = ttk.Frame(self._canvas)
        self._window = self._canvas.create_window(0, 0, window=self.inner, anchor="nw")
        self.inner.bind("<Configure>", lambda _: self._fit())
        self._canvas.bind("<Configure>", lambda _: self._fit())
        top = self.winfo_toplevel()
        for event in ("<MouseWheel>", "<Button-4>", "<Button-5>"):
            top.bind(event, self._wheeled, add="+")
        top.bind("<FocusIn>", self._came, add="+")
        self.resize()

    def when_seen(self, content: tk.Misc, act: Callable[[], object]) -> None:
        """Call ``act`` whenever the content has come to be seen, a little later than the frame."""

        def mapped(_: tk.Event[tk.Misc]) -> None:
            if content.winfo_viewable():
                act()

        # whichever of these comes last
        for widget in (self, self._canvas, self.inner, content):
            widget.bind("<Map>", mapped, add="+")

    def resize(self) -> None:
        """Take the present text size."""
        step = self._style.pixels(_STEP)
        self._canvas.configure(yscrollincrement=step, xscrollincrement=step)
        self._fit()

    @property
    def _asks(self) -> tuple[int, int]:
        """The width and height to ask for, in pixels; 0 asks for no height of its own."""
        return self.inner.winfo_reqwidth(), self.inner.winfo_reqheight()

    def _fit(self) -> None:
        """Ask for what the content needs, and show a bar where there is less."""
        wide, high = self._asks
        whole = self.inner.winfo_reqwidth(), self.inner.winfo_reqheight()
        self._canvas.configure(scrollregion=(0, 0, *whole), width=wide)
        if high:
            self._canvas.configure(height=high)
        has = self._canvas.winfo_width(), self._canvas.winfo_height()
        # until it is known what there is, the content has its own size
        wide, high = (
            max(room, own) if room > 1 else 0 for room, own in zip(has, whole, strict=True)
        )
        self._canvas.itemconfigure(self._window, width=wide)
        if self._fills:
            self._canvas.itemconfigure(self._window, height=high)
        # a bar at one side takes of the other's room, so both sides are measured without bars
        room = self.winfo_width(), self.winfo_height()
        across, down = self._bar.winfo_reqwidth(), self._low_bar.winfo_reqheight()
        low = whole[0] > room[0] - self._kept > 1
        side = whole[1] > room[1] - (down if low else 0) > 1
        low = low or whole[0] > room[0] - (across if side else self._kept) > 1
        for bar, wanted, home in (
            (self._bar, side, self._canvas.yview_moveto),
            (self._low_bar, low, self._canvas.xview_moveto),
        ):
            if wanted:
                bar.grid()
            else:
                home(0.0)
                bar.grid_remove()

    @property
    def _kept(self) -> int:
        """Pixels that are kept free for the bar at the side whether or not it is there."""
        return 0

    def wheel(self, event: tk.Event[tk.Misc]) -> str:
        """Scroll as the wheel turns."""
        if self._bar.winfo_ismapped():
            up = event.num == 4 or (event.num != 5 and event.delta > 0)
            self._canvas.yview_scroll(round((-3 if up else 3) / _STEP), "units")
        return "break"

    def _holds(self, widget: object) -> bool:
        return str(widget).startswith(f"{self.inner}.")

    def _wheeled(self, event: tk.Event[tk.Misc]) -> None:
        """The wheel over the content, whatever of it is under the pointer."""
        if self._holds(event.widget) and event.widget.winfo_class() not in _OWN_WHEEL:
            self.wheel(event)

    def _came(self, event: tk.Event[tk.Misc]) -> None:
        """The keyboard has come to a part of the content."""
        if self._holds(event.widget):
            part = event.widget
            self.see(
                part.winfo_rootx() - self.inner.winfo_rootx(),
                part.winfo_rooty() - self.inner.winfo_rooty(),
                part.winfo_width(),
                part.winfo_height(),
            )

    def see(self, left: int, top: int, width: int, height: int, margin: int = 0) -> None:
        """Scroll so that a part is seen, in its height whole; places and sizes are pixels of the content.

        Across, its beginning is enough, so that the name before it stays where it can.
        """
        step = self._style.pixels(_STEP)
        width = min(width, self._style.pixels(_BEGINNING))
        for at, size, whole, view, move in (
            (left, width, self.inner.winfo_width(), self._canvas.xview, self._canvas.xview_moveto),
            (top, height, self.inner.winfo_height(), self._canvas.yview, self._canvas.yview_moveto),
        ):
            whole = max(whole, 1)
            first, last = (part * whole for part in view())
            if at - margin < first:
                move(max(at - margin, 0) / whole)
            elif at + size + margin > last:
                # the beginning matters more than the end where both cannot be seen; Tk goes by whole
                # steps, so up to the next one
                beyond = max(min(at + size + margin - (last - first), at), 0)
                move(math.ceil(beyond / step) * step / whole)
