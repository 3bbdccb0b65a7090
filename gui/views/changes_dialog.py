"""What to change: each offer with its preview on a ball, and a button that takes it."""

from __future__ import annotations

import tkinter as tk
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.changes import HEADINGS, Changes
from gui.state.presenter import Presenter, Refresh
from gui.views.dialogs import Dialog
from gui.views.picture_ball import PictureBall
from gui.views.text_view import TextView
from layoutkit.output import drawing

if TYPE_CHECKING:
    from gui.views.style import Appearance

_WIDEST = (50, 29, 14, 12, 11, 6)  # letters of each column
STALE = "The record has changed since: look again under View, What to change."
PREVIEW = "Preview of {}: grey and (kept) is what the record has now."


class ChangesDialog(Dialog):
    """Offers above, the preview of the chosen one below; the window beside it goes on."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, presenter: Presenter, changes: Changes
    ) -> None:
        super().__init__(parent, style, "What to change")
        self.presenter, self.changes = presenter, changes
        pad = style.pixels(0.6)
        self.notice = ttk.Label(self, style="Banner.TLabel", text=STALE)
        self.notice.grid(row=0, column=0, sticky="ew", padx=pad, pady=(pad, 0))
        self.notice.grid_remove()
        self.notes = TextView(self, style, 88, 3 if changes.offers else 12)
        self.notes.show([(changes.notes, "")])
        self.notes.grid(row=4, column=0, sticky="nsew", padx=pad)
        buttons = ttk.Frame(self)
        buttons.grid(row=5, column=0, sticky="e", padx=pad, pady=pad)
        self.apply = self.button(buttons, "apply", "Apply", 0, self.take)
        close = self.button(buttons, "close", "Close", 0, self.leave)
        for button in (self.apply, close):
            button.pack(side="left", padx=(style.pixels(0.4), 0))
        if changes.offers:
            self._offers(pad)
        else:
            self.rowconfigure(4, weight=1)
        self._end = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self._tell()
        self.rise(self.table if changes.offers else close)

    def _offers(self, pad: int) -> None:
        names = [str(i) for i in range(len(HEADINGS))]
        rows = self.changes.rows
        self.table = ttk.Treeview(
            self, columns=names, show="headings", selectmode="browse", height=len(rows)
        )
        letter = font.nametofont("TkDefaultFont", self).measure("0")
        for name, heading, wide in zip(names, HEADINGS, _WIDEST, strict=True):
            self.table.heading(name, text=heading, anchor="w")
            self.table.column(name, width=letter * wide, anchor="w", stretch=name == "0")
        for i, row in enumerate(rows):
            self.table.insert("", "end", str(i), values=row)
        self.table.grid(row=1, column=0, sticky="ew", padx=pad, pady=(pad, 0))
        self.table.bind("<<TreeviewSelect>>", lambda _: self._preview())
        self.table.bind("<Return>", lambda _: self.take())
        wide = letter * sum(_WIDEST)
        self.told = ttk.Label(self, style="Quiet.TLabel", wraplength=wide, justify="left")
        self.told.grid(row=2, column=0, sticky="w", padx=pad, pady=(pad, 0))
        self.ball = PictureBall(self, self.style, lambda _: None)
        self.ball.grid(row=3, column=0, sticky="nsew", padx=pad)
        self.rowconfigure(3, weight=1)
        self.table.selection_set("0")
        self.table.focus("0")

    @property
    def chosen(self) -> int | None:
        """The position of the offer that is selected."""
        selected = self.table.selection() if self.changes.offers else ()
        return int(selected[0]) if selected else None

    @property
    def stale(self) -> bool:
        """Whether the offers are of another plan than the present one."""
        return self.presenter.plan is not self.changes.plan or self.presenter.stale

    def _preview(self) -> None:
        """Show the ball as it would be, over what it is."""
        chosen, units = self.chosen, self.presenter.units
        if chosen is not None:
            offer = self.changes.offers[chosen]
            self.told.configure(text=PREVIEW.format(self.changes.rows[chosen][0]))
            there, here = (drawing.scene(p, units) for p in (offer.plan, self.changes.plan))
            self.ball.show(drawing.with_reference(there, here))
        self._tell()

    def _tell(self) -> None:
        if self.stale:
            self.notice.grid()
        else:
            self.notice.grid_remove()
        on = not self.stale and self.chosen is not None
        self.apply.state(["!disabled" if on else "disabled"])

    def take(self) -> None:
        """Put the chosen change into the record, as one step of undo, and go away."""
        chosen = self.chosen
        if chosen is None or self.stale:
            self.bell()
        elif self.presenter.take_offer(self.changes.offers[chosen]):
            self.leave()

    def _changed(self, change: Refresh) -> None:
        if change.has("units") and self.changes.offers:
            self._preview()
        if change.has("plan", "problems") and not self.presenter.dragging:
            self._tell()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
