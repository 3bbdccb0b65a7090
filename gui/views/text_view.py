"""Text to read, not to write: wrapped, scrolling, with emphasis by named tags."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Iterable
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.views import style as look
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

Piece = tuple[str, str | tuple[str, ...]]  # text, and its tag or tags


class TextView(ttk.Frame):
    """A read-only text. Tags: bold, quiet, pass, close, fail, item (hangs under its number)."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, width: int = 30, height: int = 5
    ) -> None:
        super().__init__(parent)
        self._style = style
        self._shown: tuple[Piece, ...] = ()
        self.text = tk.Text(
            self,
            wrap="word",
            width=width,
            height=height,
            font="TkTextFont",
            background=look.PAPER,
            foreground=look.INK,
            relief="flat",
            borderwidth=0,
            highlightthickness=2,
            highlightbackground=look.PAPER,
            highlightcolor=look.ACCENT,
            cursor="arrow",
            state="disabled",
            takefocus=True,
            insertwidth=0,
            selectbackground=look.ACCENT,
            inactiveselectbackground=look.EDGE,
        )
        self._bar = ttk.Scrollbar(self, orient="vertical", command=self.text.yview)
        # lines of tables are not wrapped, so a narrow view moves sideways
        self._low_bar = ttk.Scrollbar(self, orient="horizontal", command=self.text.xview)
        self.text.configure(yscrollcommand=self._scrolled, xscrollcommand=self._moved)
        self.text.grid(row=0, column=0, sticky="nsew")
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        # Tab goes on to the next widget instead of staying in the text
        self.text.bindtags((str(self.text), str(self.winfo_toplevel()), "TextView", "all"))
        for key, lines in (("Up", -1), ("Down", 1), ("Prior", -8), ("Next", 8)):
            self.text.bind(f"<{key}>", partial(self._scroll, lines))
        for key, letters in (("Left", -4), ("Right", 4)):
            self.text.bind(f"<{key}>", partial(self._slide, letters))
        for key, part in (("Home", 0.0), ("End", 1.0)):
            self.text.bind(f"<{key}>", partial(self._go, part))
        for event, lines in (("<Button-4>", -3), ("<Button-5>", 3)):
            self.text.bind(event, partial(self._scroll, lines))
        self.text.bind("<MouseWheel>", self._wheel)
        self.text.bind("<Button-1>", lambda _: self.text.focus_set())
        self.refresh()

    def _scroll(self, lines: int, _: tk.Event[tk.Misc]) -> None:
        self.text.yview_scroll(lines, "units")

    def _wheel(self, event: tk.Event[tk.Misc]) -> None:
        self.text.yview_scroll(-3 if event.delta > 0 else 3, "units")

    def _slide(self, letters: int, _: tk.Event[tk.Misc]) -> None:
        self.text.xview_scroll(letters, "units")

    def _go(self, part: float, _: tk.Event[tk.Misc]) -> None:
        self.text.yview_moveto(part)

    def _scrolled(self, first: float, last: float) -> None:
        self._bar.set(first, last)
        if float(first) <= 0.0 and float(last) >= 1.0:
            self._bar.grid_remove()
        else:
            self._bar.grid(row=0, column=1, sticky="ns")

    def _moved(self, first: float, last: float) -> None:
        self._low_bar.set(first, last)
        if float(first) <= 0.0 and float(last) >= 1.0:
            self._low_bar.grid_remove()
        else:
            self._low_bar.grid(row=1, column=0, sticky="ew")

    def refresh(self) -> None:
        """Set the tags for the present text size."""
        em = self._style.em
        t = self.text
        t.configure(padx=em // 2, pady=em // 3, spacing3=em // 5)
        t.tag_configure("bold", font=look.BOLD)
        t.tag_configure("quiet", foreground=look.QUIET)
        t.tag_configure("item", lmargin2=round(em * 1.6), tabs=(round(em * 1.6),))
        t.tag_configure("under", lmargin1=round(em * 1.6), lmargin2=round(em * 1.6))
        t.tag_configure("under", foreground=look.QUIET)
        t.tag_configure("table", font="TkFixedFont", wrap="none")
        t.tag_configure("heading", font="TkFixedFont", wrap="none", foreground=look.QUIET)
        t.tag_configure("beyond", foreground=look.WARN)
        t.tag_configure("stale", foreground=look.PALE)
        for outcome, (color, _, _) in look.OUTCOMES.items():
            t.tag_configure(outcome, foreground=color, font=look.BOLD)

    def show(self, pieces: Iterable[Piece]) -> None:
        """Show these pieces of text, each with its tag or tags; it stays scrolled as far as it was."""
        wanted = tuple(pieces)
        if wanted == self._shown:
            return
        place = self.text.yview()[0]
        self._shown = wanted
        self.text.configure(state="normal")
        self.text.delete("1.0", "end")
        for words, tag in wanted:
            # tabulators place the words; what acts in a record's text must not
            self.text.insert("end", "\t".join(map(printable, words.split("\t"))), tag)
        self.text.configure(state="disabled")
        self.text.yview_moveto(place)

    @property
    def content(self) -> str:
        """What can be read."""
        return self.text.get("1.0", "end-1c")
