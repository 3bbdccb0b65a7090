"""The marking steps as a list to walk through; the ball shows the selected one alone."""

from __future__ import annotations

import tkinter as tk
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.state.presenter import Presenter, Refresh
from gui.views import style as look
from gui.views.text_view import TextView
from layoutkit.planning.marking import ROUNDING_NOTE

if TYPE_CHECKING:
    from gui.views.style import Appearance


class StepsView(ttk.Frame):
    """List, Back, Next, and a way back to the whole ball."""

    def __init__(self, parent: tk.Misc, presenter: Presenter, style: Appearance) -> None:
        super().__init__(parent)
        self._presenter, self._style = presenter, style
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.list = TextView(self, style)
        self.list.grid(row=0, column=0, sticky="nsew")
        side = ttk.Frame(self)
        side.grid(row=0, column=1, sticky="ns", padx=style.pixels(0.4), pady=style.pixels(0.3))
        self.back = ttk.Button(side, text="Back", command=presenter.back_step)
        self.next = ttk.Button(side, text="Next", command=presenter.next_step)
        self.whole = ttk.Button(side, text="Whole ball", command=self._whole)
        for button in (self.next, self.back, self.whole):
            button.pack(fill="x", pady=(0, style.pixels(0.3)))
        text = self.list.text
        text.bind("<Up>", lambda _: presenter.back_step())
        text.bind("<Down>", lambda _: presenter.next_step())
        text.bind("<Button-1>", self._clicked)
        self._write()
        presenter.subscribe(self._changed)

    def _changed(self, change: Refresh) -> None:
        # only while it is seen: a drag changes the plan a hundred times a second
        if change.has("plan", "steps", "problems", "units") and self.winfo_viewable():
            self._write()

    def seen(self) -> None:
        """The list has come to the front."""
        self._write()

    def refresh(self) -> None:
        """Write anew, as after another text size."""
        self.list.refresh()
        self._write()

    def _write(self) -> None:
        p = self._presenter
        steps = p.steps
        if not steps:
            self.list.show([("The steps appear when the record is complete.", "quiet")])
        else:
            stale = ("stale",) if p.stale else ()
            lines = [
                (f"{step.number}\t{step.text}\n", ("item", f"step{i}", *stale))
                for i, step in enumerate(steps)
            ]
            self.list.show([*lines, (ROUNDING_NOTE, "quiet")])
        text = self.list.text
        for i in range(len(steps)):
            text.tag_configure(f"step{i}", background="", foreground="")
        if p.step is not None:
            text.tag_configure(f"step{p.step}", background=look.ACCENT, foreground=look.PAPER)
            text.tag_raise(f"step{p.step}")
            text.see(f"step{p.step}.last - 1 chars")
            text.see(f"step{p.step}.first")
        for button, on in (
            (self.back, p.step is not None),
            (self.next, bool(steps) and (p.step is None or p.step < len(steps) - 1)),
            (self.whole, p.step is not None),
        ):
            button.state(["!disabled" if on else "disabled"])

    def _whole(self) -> None:
        self._presenter.select_step(None)

    def _clicked(self, event: tk.Event[tk.Misc]) -> str:
        text = self.list.text
        text.focus_set()
        names = text.tag_names(f"@{event.x},{event.y}")
        steps = [int(n.removeprefix("step")) for n in names if n.startswith("step")]
        if steps:
            self._presenter.select_step(steps[0])
        return "break"
