"""Guided comparisons beside the window: the layout moves there, and a sentence says what that does."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.state.presenter import Presenter, Refresh
from gui.state.tour import TOURS, Guide, Tour
from gui.views.dialogs import Dialog
from layoutkit.practice.sets import NOTICE
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

HOW = (
    "Choose what is to move, then go from stop to stop. The ball shows the layout before in grey and "
    "where the pin may go; the Lane tab shows the rings. Close brings the layout back."
)


class TourDialog(Dialog):
    """The three comparisons; ``show_rings`` brings the tab with the rings to the front."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        show_rings: Callable[[], object],
    ) -> None:
        super().__init__(parent, style, "Guided comparisons")
        self.presenter, self._show_rings = presenter, show_rings
        self.guide: Guide | None = None
        pad, wide = style.pixels(0.6), style.pixels(24)
        how = ttk.Label(self, text=HOW, wraplength=wide, justify="left")
        how.grid(row=0, column=0, sticky="w", padx=pad, pady=pad)
        letters = {"nearer": 0, "angle": 0, "up": 4}
        for row, tour in enumerate(TOURS, 1):
            made = self.button(
                self, tour.name, tour.title, letters[tour.name], partial(self.begin, tour)
            )
            made.grid(row=row, column=0, sticky="ew", padx=pad, pady=(0, pad // 2))
        self.words = ttk.Label(
            self, wraplength=wide, justify="left", style="Bold.TLabel", anchor="nw"
        )
        self.words.grid(row=4, column=0, sticky="nsew", padx=pad, pady=pad)
        self.rowconfigure(4, minsize=style.pixels(9), weight=1)
        notice = ttk.Label(self, text=NOTICE, style="Quiet.TLabel", wraplength=wide)
        notice.grid(row=5, column=0, sticky="w", padx=pad)
        buttons = ttk.Frame(self)
        buttons.grid(row=6, column=0, sticky="e", padx=pad, pady=pad)
        for name, text, command in (
            ("back", "Back", partial(self.move, -1)),
            ("next", "Next stop", partial(self.move, 1)),
            ("close", "Close", self.leave),
        ):
            self.button(buttons, name, text, 0, command).pack(side="left", padx=(pad // 2, 0))
        self.bind("<Alt-Left>", lambda _: self.move(-1))
        self.bind("<Alt-Right>", lambda _: self.move(1))
        self.protocol("WM_DELETE_WINDOW", self.leave)
        self._unsubscribe = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self._show()
        self.rise(self.buttons[TOURS[0].name])
        over = parent.winfo_toplevel()  # over the form, beside what moves
        self.geometry(f"+{over.winfo_rootx()}+{over.winfo_rooty() + style.pixels(4)}")

    def begin(self, tour: Tour) -> None:
        """Begin a comparison from the layout that was there."""
        self._end()
        guide = Guide(self.presenter, tour)
        self._show_rings()
        if guide.begin():
            self.guide = guide
            self._show()
            self.buttons["next"].focus_set()
        else:
            self.words.configure(text=printable(f"✗ {guide.sentence}"))
            self.bell()

    def move(self, by: int) -> None:
        """Go to another stop."""
        if self.guide is None or not 0 <= self.guide.at + by < len(self.guide.stops):
            self.bell()
            return
        self.guide.go(self.guide.at + by)
        self._show()

    def _show(self) -> None:
        guide = self.guide
        self.words.configure(text="" if guide is None else printable(guide.sentence))
        for name, on in (
            ("back", guide is not None and guide.at > 0),
            ("next", guide is not None and guide.at + 1 < len(guide.stops)),
        ):
            self.buttons[name].state(["!disabled" if on else "disabled"])

    def _end(self) -> None:
        if self.guide is not None:
            self.guide.end()
            self.guide = None

    def _changed(self, change: Refresh) -> None:
        """Another job has nothing to do with the layout that the comparison began from."""
        if change.has("job") and self.guide is not None:
            self.guide.forget()
            self.guide = None
            self._show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._unsubscribe()

    def leave(self) -> None:
        """Bring the layout back, and go away."""
        self._end()
        super().leave()
