"""The verdict over the whole width: the outcome large, why, what can mend it, and the chance.

It says what `gui.state.verdict` judges; a click on it goes where the first reason is, and one on what
can mend that begins it.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.verdict import Verdict
from gui.views import style as look

if TYPE_CHECKING:
    from gui.views.style import Appearance

FINE = "Inside every limit that was checked."
NOTHING = "none"  # the style while there is no verdict
_AROUND = 4  # pixels above and below the text of a label


class VerdictView(ttk.Frame):
    """A strip of the same height whatever it says, so that nothing under it moves."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        go: Callable[[], object],
        mend: Callable[[], object],
    ) -> None:
        super().__init__(parent)
        self._style = style
        self._verdict: Verdict | None = None
        self._words = ""  # what is said while there is no verdict
        self._flat = False
        self.grid_propagate(False)
        self.columnconfigure(1, weight=1)
        self.outcome = ttk.Label(self, anchor="w")
        self.basis = ttk.Label(self, anchor="w")
        self.reason = ttk.Label(self, anchor="w", justify="left")
        self.mend = ttk.Label(self, anchor="w")
        self.odds = ttk.Label(self, anchor="e")
        self.beside = ttk.Label(self, anchor="e")
        for row, labels in enumerate(
            ((self.outcome, self.reason, self.odds), (self.basis, self.mend, self.beside))
        ):
            self.rowconfigure(row, weight=row)
            for column, label in enumerate(labels):
                label.grid(row=row, column=column, sticky="nsew")
        for widget in (self, *self._labels):
            widget.bind("<Button-1>", lambda _: go())
        self.mend.bind("<Button-1>", lambda _: mend())
        self.bind("<Configure>", lambda _: self._fit())
        self._paint(NOTHING, "", "")
        self.refresh()

    @property
    def _labels(self) -> tuple[ttk.Label, ...]:
        return (self.outcome, self.basis, self.reason, self.mend, self.odds, self.beside)

    def flatten(self, flat: bool) -> None:
        """Take less height, with a smaller outcome, or no longer."""
        if flat != self._flat:
            self._flat = flat
            self._paint(*self._painted)
            self.refresh()

    def refresh(self) -> None:
        """Take the present text size."""
        pad = self._style.pixels(0.25)
        # the labels' own heights are those of the text before, until Tk is idle
        names = (look.BIG if self._flat else look.HUGE, "TkDefaultFont")
        high = sum(font.nametofont(name, self).metrics("linespace") + _AROUND for name in names)
        self.configure(height=high + 2 * pad + 2, padding=(2 * pad, pad))
        for column in (0, 2):
            self.columnconfigure(column, pad=self._style.pixels(1.2))
        self._fit()

    def say(self, headline: str, words: str, stale: bool = False) -> None:
        """No verdict yet, or none any more: what there is instead."""
        self._verdict, self._words = None, words
        self._paint("stale" if stale else NOTHING, headline, "")

    def show(self, verdict: Verdict, remark: str) -> None:
        """Show a verdict; ``remark`` follows the words that say of what it is."""
        self._verdict, self._words = verdict, ""
        sign = look.OUTCOMES[verdict.outcome][2]
        self._paint(verdict.outcome, f"{sign} {verdict.headline}", f"{verdict.of}{remark}")

    def chance(self, words: str) -> None:
        """Show the chance of an illegal ball, or nothing."""
        _tell(self.odds, words)
        self._fit()

    def _paint(self, name: str, headline: str, of: str) -> None:
        self._painted = name, headline, of
        self.configure(style=f"{name}.Strip.TFrame")
        _tell(self.outcome, headline, f"{name}.{'Large' if self._flat else 'Huge'}.TLabel")
        _tell(self.reason, str(self.reason.cget("text")), f"{name}.Reason.TLabel")
        for label in (self.basis, self.mend, self.beside):
            label.configure(style=f"{name}.Strip.TLabel")
        self.odds.configure(style=f"{name}.Reason.TLabel")
        _tell(self.basis, of)
        _tell(self.beside, "" if self._verdict is None else self._verdict.beside)
        self._fit()

    def _fit(self) -> None:
        """As many reasons as there is room for, and how many more there are."""
        verdict = self._verdict
        if verdict is None:
            self.reason.grid(row=0, column=1, rowspan=1)
            self.reason.configure(wraplength=0)
            _tell(self.reason, self._words)
            _tell(self.mend, "")
            self.mend.grid()
            return
        reasons = [reason.words for reason in verdict.reasons]
        sides = (max(a.winfo_reqwidth(), b.winfo_reqwidth()) for a, b in (
            (self.outcome, self.basis), (self.odds, self.beside)
        ))  # fmt: skip
        room = self.winfo_width() - sum(sides) - self._style.pixels(4.0)
        bold, plain = (font.nametofont(n, self) for n in (look.BOLD, "TkDefaultFont"))
        words = fitting(reasons, room, bold.measure, "; ") or FINE
        whole = bold.measure(words) <= room
        # one long sentence takes both lines
        self.reason.grid(row=0, column=1, rowspan=1 if whole else 2)
        self.reason.configure(wraplength=0 if whole else max(room, 1))
        if whole:
            self.mend.grid()
        else:
            self.mend.grid_remove()  # it would cover the second line
        # large where all of it has room so
        large = not self._flat and font.nametofont(look.BIG, self).measure(words) <= room
        self.reason.configure(style=f"{self._painted[0]}.{'Why' if large else 'Reason'}.TLabel")
        _tell(self.reason, words if whole else cut(words, round(room * 1.85), bold.measure))
        mends = fitting(verdict.mends, room, plain.measure, " ") if whole else ""
        _tell(self.mend, cut(mends, room, plain.measure))


def fitting(
    sentences: tuple[str, ...] | list[str], room: int, measure: Callable[[str], int], between: str
) -> str:
    """The first of these that fit into one line, at least one, and how many are left out."""
    for shown in range(len(sentences), 0, -1):
        rest = len(sentences) - shown
        line = between.join(sentences[:shown]) + (f"{between}{rest} more" if rest else "")
        if shown == 1 or measure(line) <= room:
            return line
    return ""


def cut(sentence: str, room: int, measure: Callable[[str], int]) -> str:
    """A sentence that fits into so many pixels: its last words give way to points."""
    words = sentence.split(" ")
    while len(words) > 1 and measure(" ".join(words)) > room:
        words = [*words[:-2], "..."]
    return " ".join(words)


def _tell(label: ttk.Label, words: str, name: str = "") -> None:
    """Tell Tk only what changed."""
    if str(label.cget("text")) != words:
        label.configure(text=words)
    if name and str(label.cget("style")) != name:
        label.configure(style=name)
