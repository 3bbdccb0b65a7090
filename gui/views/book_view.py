"""The shop's book in windows of their own: a box that finds jobs, a card beside it, and saving a job."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.book_desk import HEADINGS, BookDesk, BookRow, today
from gui.state.commands import on_system
from gui.state.presenter import Presenter
from gui.views import style as look
from gui.views.dialogs import Asking, Dialog, Reader
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

HOW = (
    "Type any parts of a name, a serial, a ball, a note, a date or an order number. Up and Down choose, "
    "Return opens a job or lists a customer's jobs, Esc goes back."
)
_TYPING = 25  # milliseconds without a letter until the book is searched
_WIDE = (11, 17, 11, 10, 16)  # letters of each column


class BookDialog(Dialog):
    """One box to type in, what it finds, and the card of the customer that is chosen.

    ``unsaved`` asks about unsaved changes before another job takes their place, then goes on.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        unsaved: Callable[[Callable[[], object]], object],
        desk: BookDesk | None = None,
    ) -> None:
        super().__init__(parent, style, "The shop's book")
        self.presenter, self._unsaved = presenter, unsaved
        self.desk = BookDesk() if desk is None else desk
        self._typing, self._choosing = Timer(self), Timer(self)
        self._lay_out()
        self.bind("<Destroy>", self._gone, add="+")
        self.search()
        self.rise(self.box)

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.6)
        ttk.Label(self, text=HOW, wraplength=self.style.pixels(58), justify="left").grid(
            row=0, column=0, columnspan=3, sticky="w", padx=pad, pady=(pad, 0)
        )
        self.text = tk.StringVar(self)
        self.box = ttk.Entry(self, textvariable=self.text, font="TkTextFont")
        self.box.grid(row=1, column=0, columnspan=3, sticky="ew", padx=pad, pady=pad)
        self.text.trace_add("write", lambda *_: self._typing.start(_TYPING, self.search))
        self.head = ttk.Label(self, style="Bold.TLabel")
        self.head.grid(row=2, column=0, columnspan=3, sticky="w", padx=pad)
        self.table = ttk.Treeview(
            self, columns=HEADINGS, show="headings", selectmode="browse", height=18
        )
        letter = font.nametofont("TkDefaultFont", self).measure("0")
        for name, wide in zip(HEADINGS, _WIDE, strict=True):
            self.table.heading(name, text=name, anchor="w")
            self.table.column(name, width=letter * wide, anchor="w", stretch=name == "title")
        self.table.tag_configure("person", font=look.BOLD)
        bar = ttk.Scrollbar(self, orient="vertical", command=self.table.yview)
        self.table.configure(yscrollcommand=bar.set)
        self.table.grid(row=3, column=0, sticky="nsew", padx=(pad, 0))
        bar.grid(row=3, column=1, sticky="ns")
        self.card = TextView(self, self.style, 52, 18)
        self.card.grid(row=3, column=2, sticky="nsew", padx=pad)
        self.columnconfigure(0, weight=1)
        self.columnconfigure(2, weight=1)
        self.rowconfigure(3, weight=1)
        self.message = ttk.Label(self, wraplength=self.style.pixels(58), justify="left")
        self.message.grid(row=4, column=0, columnspan=3, sticky="ew", padx=pad, pady=pad)
        row = ttk.Frame(self)
        row.grid(row=5, column=0, columnspan=3, sticky="e", padx=pad, pady=(0, pad))
        for name, text, command in (
            ("open", "Open", self.open),
            ("new", "New job for this bowler", self.start),
            ("then", "Shown then", self.show_then),
            ("delete", "Delete", self.delete),
            ("undo", "Undo the deletion", self.undo),
            ("bin", "Bin", self.show_bin),
            ("close", "Close", self.leave),
        ):
            self.button(row, name, text, 0, command).pack(side="left", padx=(pad // 2, 0))
        self.box.bind("<Return>", lambda _: self.open())
        self.table.bind("<Return>", lambda _: self.open())
        self.table.bind("<Double-Button-1>", self._double)
        self.table.bind("<Delete>", lambda _: self.delete())
        self.table.bind(on_system("<Control-z>", self.system), lambda _: self.undo())
        self.table.bind("<<TreeviewSelect>>", lambda _: self._choosing.when_idle(self._tell))
        for key, by in (("Up", -1), ("Down", 1), ("Prior", -10), ("Next", 10)):
            self.box.bind(f"<{key}>", partial(self._move, by))

    # --- finding ----------------------------------------------------------------------------------

    def search(self) -> None:
        """Show what the box's text finds."""
        self._typing.stop()
        self.desk.search(self.text.get())
        self.show()

    def show(self, said: str = "") -> None:
        """Show the desk's rows, the first job chosen, and what is to be said."""
        desk = self.desk
        self.head.configure(text=printable(desk.heading))
        self.table.delete(*self.table.get_children())
        for place, row in enumerate(desk.rows):
            self.table.insert(
                "", "end", str(place), values=tuple(map(printable, row.cells)), tags=(row.part,)
            )
        typed = bool(self.text.get().strip())
        jobs = [str(place) for place, row in enumerate(desk.rows) if row.part == "job"]
        first = jobs[:1] if typed and jobs else ["0"][: len(desk.rows)]
        self._choose(*first)
        nothing = "" if desk.rows or desk.trouble else "Nothing matches."
        self._say(said or nothing)
        self._tell()

    def _choose(self, *name: str) -> None:
        self.table.selection_set(name)
        for each in name:
            self.table.focus(each)
            self.table.see(each)

    def _move(self, by: int, _: tk.Event[tk.Misc]) -> str:
        """Choose another row while the keyboard stays in the box."""
        if self.desk.rows:
            chosen = self.table.selection()
            place = (int(chosen[0]) if chosen else -1) + by
            self._choose(str(min(max(place, 0), len(self.desk.rows) - 1)))
        return "break"

    @property
    def chosen(self) -> BookRow | None:
        """The row that is selected."""
        selected = self.table.selection()
        return self.desk.rows[int(selected[0])] if selected else None

    def _say(self, words: str) -> None:
        """What happened; what the book refuses stands in its place."""
        trouble = self.desk.trouble
        self.message.configure(
            text=printable(f"✗ {trouble}" if trouble else words),
            style="Bad.TLabel" if trouble else "TLabel",
        )

    def _tell(self) -> None:
        row, in_bin = self.chosen, self.desk.in_bin
        card = "" if row is None else self.desk.card(row)
        self.card.show([(card, "table")] if card else [])
        job = row is not None and row.part == "job"
        for name, on in (
            ("open", row is not None and not in_bin),
            ("new", job and not in_bin),
            ("then", job),
            ("delete", row is not None and not in_bin),
        ):
            self.buttons[name].state(["!disabled" if on else "disabled"])
        if self.desk.trouble:
            self._say("")

    # --- what can be done -------------------------------------------------------------------------

    def _double(self, event: tk.Event[tk.Misc]) -> None:
        if self.table.identify_row(event.y):
            self.open()

    def _job(self) -> BookRow | None:
        """The job that is chosen; a bell where there is none or it is in the bin."""
        if self._typing.waiting:  # what was typed last counts
            self.search()
        row = self.chosen
        if row is None or row.part != "job" or self.desk.in_bin:
            self.bell()
            return None
        return row

    def open(self) -> None:
        """Open the chosen job, or list the chosen customer's jobs."""
        if self._typing.waiting:
            self.search()
        row = self.chosen
        if row is not None and row.part == "person" and not self.desk.in_bin:
            self.desk.jobs_of(row)
            self.show()
            return
        row = self._job()
        if row is not None:
            self._take(row, self.presenter.open_kept)

    def start(self) -> None:
        """Start a new job with the chosen job's bowler."""
        row = self._job()
        if row is not None:
            self._take(row, partial(self.presenter.start_from, today=today()))

    def _take(self, row: BookRow, how: Callable[..., bool]) -> None:
        text = self.desk.record(row)
        if not text:
            self._say("")
            return

        def go() -> None:
            if how(text, row.job):
                self.leave()
            else:
                self.desk.trouble = self.presenter.message
                self._say("")

        self._unsaved(go)

    def show_then(self) -> None:
        """Show the chosen job as it was shown when it was added."""
        row = self.chosen
        if row is None or row.part != "job":
            self.bell()
            return
        words = self.desk.shown_then(row)
        if words:
            Reader(self, self.style, row.name, [(words, "table")], 96)
        else:
            self._say("")

    def delete(self) -> None:
        """Put the chosen row into the bin."""
        row = self.chosen
        if row is None or self.desk.in_bin:
            self.bell()
            return
        self.show(self.desk.delete(row))

    def undo(self) -> None:
        """Take the chosen row out of the bin; away from the bin, what was deleted last."""
        in_bin = self.desk.in_bin
        said = self.desk.undo(self.chosen if in_bin else None)
        if said and in_bin:
            self.desk.show_bin()
        elif said:
            self.desk.search(self.text.get())
        self.show(said)

    def show_bin(self) -> None:
        """Show the bin, or what was found before."""
        if self.desk.in_bin:
            self.search()
        else:
            self.desk.show_bin()
            self.show("Undo takes the chosen row out of the bin." if self.desk.rows else "")
        self.box.focus_set()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self.desk.close()


class SaveDialog(Asking):
    """What saving into the book would do, why the grip changed, and the buttons that save.

    It alone answers: what it says is of the job that is in the form now.
    ``then`` goes on once the job is saved.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        then: Callable[[], object] = lambda: None,
        desk: BookDesk | None = None,
    ) -> None:
        super().__init__(parent, style, "Save into the book")
        self.presenter, self._then = presenter, then
        self.desk = BookDesk() if desk is None else desk
        self.offer = self.desk.offer(presenter)
        self._lay_out()
        self.bind("<Destroy>", self._gone, add="+")
        self.rise(self.buttons[self.usual] if self.why is None else self.why)

    def _lay_out(self) -> None:
        pad, wide = self.style.pixels(0.8), self.style.pixels(34)
        offer = self.offer
        self.why: ttk.Entry | None = None
        lines = [] if offer is None else [f"Customer: {offer.who}", f"Ball: {offer.ball}"]
        if offer is not None and offer.changes:
            lines.append(
                f"The grip changed, in sixty-fourths of an inch: {'; '.join(offer.changes)}"
            )
        label = ttk.Label(self, text=printable("\n".join(lines)), wraplength=wide, justify="left")
        label.grid(row=0, column=0, sticky="w", padx=pad, pady=(pad, 0))
        self.reason = tk.StringVar(self)
        if offer is not None and offer.changes:
            row = ttk.Frame(self)
            row.grid(row=1, column=0, sticky="ew", padx=pad, pady=(pad, 0))
            ttk.Label(row, text="Why it changed").pack(side="left")
            self.why = ttk.Entry(row, textvariable=self.reason, font="TkTextFont", width=32)
            self.why.pack(side="left", fill="x", expand=True, padx=(pad, 0))
        self.message = ttk.Label(self, style="Bad.TLabel", wraplength=wide, justify="left")
        self.message.grid(row=2, column=0, sticky="ew", padx=pad, pady=pad)
        buttons = ttk.Frame(self)
        buttons.grid(row=3, column=0, sticky="e", padx=pad, pady=(0, pad))
        old = None if offer is None else offer.replaces
        new = ("new", "Save as a new job", partial(self.save, False))
        choices: list[tuple[str, str, Callable[[], object]]] = [new]
        if old is not None:
            text = f"Replace job {old.id} of {old.date}"
            again = ("replace", text, partial(self.save, True))
            # what was drilled on another day is not replaced by a key that was pressed too soon
            choices = [again, new] if old.date == today() else [new, again]
        self.usual = choices[0][0]
        for name, text, command in (*choices, ("cancel", "Cancel", self.leave)):
            self.button(buttons, name, text, 0, command).pack(side="left", padx=(pad // 2, 0))
        if offer is None:
            self._tell()
        if self.why is not None:
            self.why.bind("<Return>", lambda _: self.buttons[self.usual].invoke())
        self.resizable(False, False)

    def save(self, replace: bool) -> None:
        """Save the job; a sentence says why where that cannot be."""
        warnings = self.desk.save(self.presenter, self.reason.get(), replace)
        if self.desk.trouble:
            self._tell()
            self.bell()
            return
        parent, style = self.master, self.style
        self.leave()
        if warnings:
            Reader(parent, style, "To look at", [(f"{w}\n", "") for w in warnings], 52, 6)
        self._then()

    def _tell(self) -> None:
        self.message.configure(text=printable(f"✗ {self.desk.trouble}"))

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self.desk.close()
