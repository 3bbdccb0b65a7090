"""The dialogs about grips that walk in: one copied from a drilled ball, and help with one that hurts."""

from __future__ import annotations

import time
import tkinter as tk
from collections.abc import Callable, Mapping
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.state.grip_copy import DIGITS, HEAD, HOW, ROWS, Outcome, has, outcome, start
from gui.state.presenter import Presenter, Refresh
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.dialogs import Dialog
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.bench.fit import COMPLAINTS, note
from layoutkit.output.grip_guide import PANELS, panel_picture
from layoutkit.output.grip_report import DOCTOR, SOURCE
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance


class GripCopyDialog(Dialog):
    """Readings above, the grip that follows below; the window beside it goes on.

    The drawing is of where the figure is read that has the keyboard. ``texts`` are what was typed here
    before, and ``keep`` gets what is typed now, and nothing once the grip is taken.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        texts: Mapping[str, str],
        keep: Callable[[dict[str, str]], object],
    ) -> None:
        super().__init__(parent, style, "Copy a grip")
        self.presenter, self._keep = presenter, keep
        self.values: dict[str, tk.StringVar] = {}
        self.inputs: dict[str, tk.Widget] = {}
        self.outcome = Outcome(None, "")
        self._waiting = Timer(self)
        self._pictures: dict[int, tk.PhotoImage] = {}
        self._shown = -1
        self._lay_out()
        for name, text in (start(presenter.entry("bowler.hand")) | dict(texts)).items():
            self.values[name].set(text)
        for value in self.values.values():
            value.trace_add("write", lambda *_: self._typed())
        self._end = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self._draw(1)
        self.show()
        self.rise(self.inputs["diameter"])

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.5)
        wide = self.style.pixels(58)
        how = ttk.Label(self, text=HOW, wraplength=wide, justify="left")
        how.grid(row=0, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0))
        left = ttk.Frame(self)
        left.grid(row=1, column=0, sticky="nw", padx=pad, pady=pad)
        self._head(left)
        self._table(left)
        right = ttk.Frame(self)
        right.grid(row=1, column=1, sticky="ne", padx=pad, pady=pad)
        self.picture = ttk.Label(right)
        self.picture.pack()
        self.legend = ttk.Label(right, style="Quiet.TLabel", justify="left")
        self.legend.pack(anchor="w")
        self.result = TextView(self, self.style, 90, 9)
        self.result.grid(row=2, column=0, columnspan=2, sticky="nsew", padx=pad)
        self.rowconfigure(2, weight=1)
        row = ttk.Frame(self)
        row.grid(row=3, column=0, columnspan=2, sticky="e", padx=pad, pady=pad)
        self.button(row, "take", "Use this grip", 0, self.take).pack(side="left")
        self.button(row, "close", "Close", 0, self.leave).pack(side="left", padx=(pad, 0))

    def _head(self, parent: ttk.Frame) -> None:
        for i, (name, label, choices, drawing) in enumerate(HEAD):
            line, column = divmod(i, 3)
            box = ttk.Frame(parent)
            box.grid(row=line, column=2 * column, columnspan=2, sticky="w")
            ttk.Label(box, text=label, width=13).pack(side="left")
            self._input(box, name, choices, drawing).pack(side="left", pady=1, padx=(0, 8))

    def _table(self, parent: ttk.Frame) -> None:
        table = ttk.Frame(parent)
        table.grid(row=2, column=0, columnspan=6, sticky="w", pady=(self.style.pixels(0.4), 0))
        for column, digit in enumerate(DIGITS, 1):
            ttk.Label(table, text=digit, style="Quiet.TLabel").grid(
                row=0, column=column, sticky="w"
            )
            for line, (name, _, drawing) in enumerate(ROWS, 1):
                if has(digit, name):
                    entry = self._input(table, f"{digit}.{name}", (), drawing)
                    entry.grid(row=line, column=column, padx=(0, 4), pady=1)
        for line, (_, label, _) in enumerate(ROWS, 1):
            ttk.Label(table, text=label).grid(row=line, column=0, sticky="w", padx=(0, 8))

    def _input(
        self, parent: tk.Misc, name: str, choices: tuple[str, ...], drawing: int
    ) -> tk.Widget:
        value = self.values[name] = tk.StringVar(self)
        made: ttk.Entry
        if choices:
            made = choice_box(parent, choices, lambda: None)
            made.configure(textvariable=value)
        else:
            made = ttk.Entry(parent, textvariable=value, width=9, font="TkTextFont")
        made.bind("<FocusIn>", lambda _: self._draw(drawing), add="+")
        self.inputs[name] = made
        return made

    def _draw(self, drawing: int) -> None:
        """Show one of the guide's drawings."""
        if drawing == self._shown:
            return
        self._shown = drawing
        if drawing not in self._pictures:
            dpi = self.style.em * 7.5
            self._pictures[drawing] = tk.PhotoImage(master=self, data=panel_picture(drawing, dpi))
        image = self._pictures[drawing]
        self.picture.configure(image=image)
        self.legend.configure(
            text="\n".join((PANELS[drawing].title, *PANELS[drawing].words)),
            wraplength=image.width(),
        )

    # --- what follows -----------------------------------------------------------------------------

    @property
    def texts(self) -> dict[str, str]:
        """What stands in the fields."""
        return {name: value.get() for name, value in self.values.items()}

    def _typed(self) -> None:
        self._keep(self.texts)
        self._waiting.start(look.REST, self.show)

    def show(self) -> None:
        """Work the grip out anew; while it cannot be, say what is wrong or still missing."""
        self._waiting.stop()
        self.outcome = outcome(self.texts, self.presenter.units)
        sound = self.outcome.copy is not None
        tag = "table" if sound else "quiet"
        self.result.show([(printable(self.outcome.words), tag)])
        self.buttons["take"].state(["!disabled" if sound else "disabled"])

    def _changed(self, change: Refresh) -> None:
        if change.has("units"):
            self.show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()

    def take(self) -> None:
        """Put the grip into the record, as one step of undo."""
        self.show()
        if self.outcome.copy is None:
            self.bell()
        else:
            self.presenter.take_grip(self.outcome.copy)
            self._keep({})
            self.leave()


class FitDialog(Dialog):
    """What to look at where a grip does not fit, and a dated line for the record's notes."""

    def __init__(self, parent: tk.Misc, style: Appearance, presenter: Presenter) -> None:
        super().__init__(parent, style, "Help with the fit")
        self.presenter = presenter
        pad = style.pixels(0.6)
        words = {each.words: each for each in COMPLAINTS}
        self._words = words
        self.choice = choice_box(self, tuple(words), self.show)
        self.choice.set(next(iter(words)))
        self.choice.grid(row=0, column=0, sticky="w", padx=pad, pady=pad)
        self.steps = TextView(self, style, 66, 14)
        self.steps.grid(row=1, column=0, sticky="nsew", padx=pad)
        self.rowconfigure(1, weight=1)
        ttk.Label(self, text="A line for the notes, once one thing was changed:").grid(
            row=2, column=0, sticky="w", padx=pad, pady=(pad, 0)
        )
        self.line = tk.StringVar(self)
        self.input = ttk.Entry(self, textvariable=self.line, font="TkTextFont")
        self.input.grid(row=3, column=0, sticky="ew", padx=pad)
        row = ttk.Frame(self)
        row.grid(row=4, column=0, sticky="e", padx=pad, pady=pad)
        self.button(row, "add", "Add to the notes", 0, self.add).pack(side="left")
        self.button(row, "close", "Close", 0, self.leave).pack(side="left", padx=(pad, 0))
        self.show()
        self.rise(self.choice)

    def show(self) -> None:
        """Show the steps of the complaint that is chosen."""
        chosen = self._words[self.choice.get()]
        pieces = [(f"{n}.\t{step}\n", "item") for n, step in enumerate(chosen.steps, 1)]
        self.steps.show(
            [
                (f"One change at a time, the cheapest first ({SOURCE}).\n", "quiet"),
                *pieces,
                (DOCTOR, "bold"),
            ]
        )
        self.line.set(note(chosen, time.strftime("%Y-%m-%d")))

    def add(self) -> None:
        """Write the line behind the record's notes, as one step of undo."""
        self.presenter.add_note(self.line.get())
        self.leave()
