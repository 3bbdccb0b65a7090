"""The trade's terms to look up: a field that searches, and terms that lead to each other."""

from __future__ import annotations

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.state.glossary import found, pieces
from gui.views import style as look
from gui.views.dialogs import Dialog
from gui.views.text_view import TextView

if TYPE_CHECKING:
    from gui.views.style import Appearance

NOTHING = "No term has this in its name or its meaning."


class GlossaryDialog(Dialog):
    """Terms with their meanings, fewer as something is typed; the window beside it goes on."""

    def __init__(self, parent: tk.Misc, style: Appearance) -> None:
        super().__init__(parent, style, "Glossary")
        pad = style.pixels(0.5)
        row = ttk.Frame(self)
        row.grid(row=0, column=0, sticky="ew", padx=pad, pady=(pad, 0))
        ttk.Label(row, text="Search").pack(side="left", padx=(0, pad))
        self.value = tk.StringVar(self)
        self.entry = ttk.Entry(row, textvariable=self.value)
        self.entry.pack(side="left", fill="x", expand=True)
        self.value.trace_add("write", lambda *_: self._show())
        self.view = TextView(self, style, 64, 24)
        self.view.grid(row=1, column=0, sticky="nsew", pady=(pad, 0))
        self.rowconfigure(1, weight=1)
        close = self.button(self, "close", "Close", 0, self.leave)
        close.grid(row=2, column=0, sticky="e", padx=pad, pady=pad)
        self.entry.bind("<Down>", lambda _: self.view.text.focus_set())
        self._show()
        self.rise(self.entry)

    def _show(self) -> None:
        shown: list[tuple[str, str | tuple[str, ...]]] = []
        text = self.view.text
        for term in found(self.value.get()):
            shown.append((f"{term}\n", "bold"))
            for words, other in pieces(term):
                shown.append((words, (f"to {other}",) if other else ""))
                if other:
                    self._link(other)
            shown.append(("\n\n", ""))
        self.view.show(shown or [(NOTHING, "quiet")])
        text.yview_moveto(0.0)

    def _link(self, term: str) -> None:
        """Let words lead to a term."""
        text, tag = self.view.text, f"to {term}"
        text.tag_configure(tag, foreground=look.ACCENT, underline=True)
        text.tag_bind(tag, "<Button-1>", partial(self._go, term))
        text.tag_bind(tag, "<Enter>", lambda _: text.configure(cursor="hand2"))
        text.tag_bind(tag, "<Leave>", lambda _: text.configure(cursor="arrow"))

    def _go(self, term: str, _: tk.Event[tk.Misc]) -> None:
        self.value.set(term)
