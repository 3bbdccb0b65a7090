"""The grip as a table: a column for each digit, a row for each figure, and what is rarer folded away.

The cells are made column by column, the usual rows first and then those of each fold, so Tab goes down a
column. What is wrong with a cell, or asked about it, is told under the table.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk
from typing import TYPE_CHECKING, NamedTuple

from gui.state.fields import NO, Field

if TYPE_CHECKING:
    from gui.views.form_view import FieldRow
    from gui.views.style import Appearance

DIGITS = ("thumb", "middle", "ring", "index", "little")  # from left to right
_GRIP = "bowler.grip."


class Line(NamedTuple):
    """A row of the table: the end of its fields' paths, its name, and what folds it away with others."""

    end: str
    name: str
    fold: str = ""


FOLDS = {
    "more": "Tip, bevel, used",
    "sleeve": "Sleeves",
    "names": "Sleeves' names",
    "outer": "Outer sleeve",
    "oval": "Oval",
}
LINES = (
    Line("span", "Span, in"),
    Line("gap", "Gap, in"),
    Line("diameter", "Size, in"),
    Line("depth", "Depth, in"),
    Line("pitch.forward", "Forw., rev."),
    Line("pitch.right", "Right, left"),
    Line("tip_angle", "Drill point", "more"),
    Line("bevel", "Bevel, in", "more"),
    Line("used", "Used to grip", "more"),
    Line("sleeve", "Sleeve", "sleeve"),
    Line("sleeve.bore", "Bore, in", "sleeve"),
    Line("sleeve.bore_depth", "Its depth, in", "sleeve"),
    Line("sleeve.density", "Density", "sleeve"),
    Line("sleeve.ready", "Ready-made", "sleeve"),
    Line("sleeve.length", "Length, in", "sleeve"),
    Line("sleeve.name", "Called", "names"),
    Line("sleeve.size", "Size", "names"),
    Line("sleeve.lift", "Lift", "names"),
    Line("sleeve.outer", "Outer sleeve", "outer"),
    Line("sleeve.outer.bore", "Bore, in", "outer"),
    Line("sleeve.outer.bore_depth", "Its depth, in", "outer"),
    Line("sleeve.outer.density", "Density", "outer"),
    Line("sleeve.outer.length", "Length, in", "outer"),
    Line("inners", "", "outer"),
    Line("oval", "Oval", "oval"),
    Line("oval.length", "Length, in", "oval"),
    Line("oval.direction", "Direction", "oval"),
    Line("oval.scallop", "Scallop, in", "oval"),
    Line("oval.milled", "Milled slot", "oval"),
)
_ENDS = {line.end: index for index, line in enumerate(LINES)}
_ACROSS = len(DIGITS) + 1  # columns of the grid


def cell_of(field: Field) -> tuple[str, str]:
    """A field's digit and the end of its path; no digit for a field that is not the table's."""
    digit, _, end = field.path.removeprefix(_GRIP).partition(".")
    there = field.path.startswith(_GRIP) and digit in DIGITS
    return (digit, end) if there else ("", "")


def in_table(field: Field) -> bool:
    """Whether a field stands in the table, or as a digit's switch at its foot."""
    return bool(cell_of(field)[0])


def grip_order(field: Field) -> tuple[int, int, int, int]:
    """Sorts the fields of the grip's page: above the table, its columns, the switches, the rest."""
    digit, end = cell_of(field)
    if not digit:
        return (0 if field.path.startswith(_GRIP) else 2, 0, 0, 0)
    column = DIGITS.index(digit)
    if not end:
        return (1, len(FOLDS) + 1, column, 0)
    return (1, ("", *FOLDS).index(_fold_of(end)), column, _ENDS[end])


def _fold_of(end: str) -> str:
    return LINES[_ENDS[end]].fold if end else ""


class GripTable(ttk.Frame):
    """The table. ``wheel`` scrolls the page that it stands in."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, wheel: Callable[[tk.Event[tk.Misc]], str]
    ) -> None:
        super().__init__(parent)
        self.inner, self._style, self.wheel = self, style, wheel
        self.visible = True
        self._cells: dict[tuple[str, str], FieldRow] = {}
        self._switches: dict[str, FieldRow] = {}
        self._open: set[str] = set()
        self._see: Callable[[FieldRow], None] = lambda _: None
        self._again: Callable[[], object] = lambda: None
        self._rows: list[FieldRow] = []
        self.heads = {d: ttk.Label(self, text=d, style="Quiet.TLabel") for d in DIGITS}
        self._names = {line.end: ttk.Label(self, text=line.name) for line in LINES}
        self.folds: dict[str, ttk.Button] = {}

    def adopt(
        self,
        rows: list[FieldRow],
        see: Callable[[FieldRow], None],
        again: Callable[[], object],
    ) -> None:
        """Be told the page's rows, how it scrolls to one of them, and how it is laid out anew."""
        self._rows, self._see, self._again = rows, see, again

    def add(self, row: FieldRow) -> None:
        """One more field."""
        digit, end = cell_of(row.field)
        if end:
            self._cells[digit, end] = row
        else:
            self._switches[digit] = row
        self._rows.append(row)
        row.on_focus(self._see)

    def prepare(self, field: Field) -> None:
        """Make the button that unfolds a field, before its first cell: so Tab comes to it first."""
        fold = _fold_of(cell_of(field)[1])
        if fold and fold not in self.folds:
            button = ttk.Button(self, style="Small.TButton", width=-4)
            button.configure(command=lambda: self._turn(fold))
            button.bind("<Return>", lambda _: self._turn(fold))
            self.folds[fold] = button

    # --- folding ----------------------------------------------------------------------------------

    def _turn(self, fold: str) -> None:
        """Fold rows away or show them; where they are shown, the keyboard goes into the first."""
        self._open ^= {fold}
        self._again()
        if fold in self._open:
            self.update_idletasks()
            first = next((r for e, r in self._of(fold) if r.visible), None)
            if first is not None:
                first.take_focus()

    def unfold(self, path: str) -> None:
        """Show the row of a field that is to be gone to."""
        for fold in FOLDS:
            if fold not in self._open and any(r.field.path == path for _, r in self._of(fold)):
                self._open.add(fold)
                self._again()

    def _of(self, fold: str) -> list[tuple[str, FieldRow]]:
        """The cells of a fold by digits, column by column."""
        ends = {line.end for line in LINES if line.fold == fold}
        return [(digit, row) for (digit, end), row in self._cells.items() if end in ends]

    def _fold_text(self, fold: str) -> str:
        """The fold's name, and the digits for which something stands in it."""
        there = {d for d, row in self._of(fold) if row.visible and row.text not in ("", NO)}
        # what is used is the rule
        unused = {d for d, row in self._of(fold) if row.field.path.endswith("used")}
        unused = {d for d in unused if self._cells[d, "used"].text == NO}
        names = ", ".join(d for d in DIGITS if d in there | unused)
        sign = "▾" if fold in self._open else "▸"
        return f"{sign} {FOLDS[fold]}{f': {names}' if names else ''}"

    # --- place ------------------------------------------------------------------------------------

    def lay(self, line: int, pad: int) -> int:
        """Grid the table in its page; returns the next free line."""
        self.grid(row=line, column=0, columnspan=3, sticky="ew", padx=(pad, 0))
        there = [d for d in DIGITS if any(r.visible for (e, _), r in self._cells.items() if e == d)]
        for digit, head in self.heads.items():
            if digit in there:
                head.grid(row=0, column=1 + DIGITS.index(digit), sticky="w")
            else:
                head.grid_remove()
        below = 2 * len(LINES) + 4  # messages and questions come there
        self._lines(1, below, pad)
        self._feet(below - 1, below + 2 * len(self._cells), pad)
        return line + 1

    def _lines(self, at: int, below: int, pad: int) -> None:
        fold = ""
        for line in LINES:
            if line.fold != fold:
                fold = line.fold
                any_there = any(row.visible for _, row in self._of(fold))
                if any_there:
                    self.folds[fold].configure(text=self._fold_text(fold))
                    self.folds[fold].grid(
                        row=at, column=0, columnspan=_ACROSS, sticky="w", pady=(pad // 3, 1)
                    )
                else:
                    self.folds[fold].grid_remove()
                at += 1
            rows = {d: self._cells[d, line.end] for d in DIGITS if (d, line.end) in self._cells}
            shown = not line.fold or line.fold in self._open
            name = self._names[line.end]
            if line.name and shown and any(row.visible for row in rows.values()):
                name.grid(row=at, column=0, sticky="w", padx=(0, pad // 2))
            else:
                name.grid_remove()
            for digit, row in rows.items():
                if not row.visible:
                    row.hide()
                elif not row.cell:
                    if shown:
                        row.place_wide(at, below, _ACROSS, pad)
                    else:
                        row.hide()
                elif shown:
                    row.place_cell(at, 1 + DIGITS.index(digit), below, _ACROSS, pad)
                else:
                    row.place_below(below, _ACROSS)
                below += 2
            at += 1

    def _feet(self, at: int, below: int, pad: int) -> None:
        """The switches of the digits that not every grip has, in one line."""
        for digit, row in self._switches.items():
            row.place_cell(at, 1 + list(self._switches).index(digit), below, _ACROSS, pad)
            below += 2
