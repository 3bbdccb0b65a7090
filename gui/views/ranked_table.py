"""A table of what was ranked, the best first: rows in the colour of their outcome, one to choose."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Sequence
from tkinter import font, ttk
from typing import Literal

from gui.views import style as look


class RankedTable(ttk.Treeview):
    """The table; ``wide`` are letters of each column, ``numbers`` the headings set to the right."""

    def __init__(
        self,
        parent: tk.Misc,
        headings: Sequence[str],
        wide: Sequence[int],
        widest: str,
        height: int,
        numbers: Sequence[str] = (),
    ) -> None:
        columns = [str(i) for i in range(len(headings))]
        super().__init__(
            parent, columns=columns, show="headings", selectmode="browse", height=height
        )
        letter = font.nametofont("TkDefaultFont", parent).measure("0")
        for name, heading, letters in zip(columns, headings, wide, strict=True):
            side: Literal["w", "e"] = "e" if heading in numbers else "w"
            self.heading(name, text=heading, anchor=side)
            self.column(name, width=letter * letters, anchor=side, stretch=heading == widest)
        for outcome, (color, _, _) in look.OUTCOMES.items():
            self.tag_configure(outcome, foreground=color)
        self.tag_configure("unusable", foreground=look.QUIET)
        self.tag_configure("stale", foreground=look.PALE)

    @property
    def chosen(self) -> int | None:
        """The place of the row that is selected."""
        selected = self.selection()
        return int(selected[0]) if selected else None

    def fill(self, rows: Sequence[tuple[Sequence[str], str]]) -> None:
        """Write other rows, cells and tag of each; the same place stays selected."""
        before = self.selection()
        self.delete(*self.get_children())
        for place, (cells, tag) in enumerate(rows):
            self.insert("", "end", str(place), values=tuple(cells), tags=(tag,))
        self.selection_set(*[name for name in before if self.exists(name)])

    def begin(self) -> None:
        """Take the keyboard, the first row selected."""
        if self.get_children():
            self.selection_set("0")
            self.focus("0")
        self.focus_set()
