"""The dialog with the balls on the shelf: ranked under the present layout, one to take."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tkinter import filedialog, ttk
from typing import TYPE_CHECKING

from gui.state.help_texts import SHELF
from gui.state.presenter import Presenter, Refresh
from gui.state.shelf import HEADINGS, Ranking, ShelfRow, ranked, shelf_rows
from gui.views import style as look
from gui.views.dialogs import Dialog, Progress
from gui.views.ranked_table import RankedTable
from gui.views.text_view import TextView
from layoutkit.errors import InputError
from layoutkit.output.shelf_report import ranking_words
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

TABLES = (("Tables", "*.csv"), ("All files", "*"))
STALE = "Out of date: the record has changed since. Rank again."
_WIDEST = (4, 21, 14, 11, 17, 17, 17, 10, 12)  # letters of each column
_LEFT = ("", "ball", "outcome")  # columns of words; the others are numbers


class ShelfDialog(Dialog):
    """A table of balls in order of merit; the window beside it goes on.

    ``keep`` hears the table's path once it could be read.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        path: str,
        helper: Help,
        keep: Callable[[str], object] = lambda _: None,
    ) -> None:
        super().__init__(parent, style, "Balls on the shelf")
        self.presenter, self._keep = presenter, keep
        self.path = path
        self.ranking: Ranking | None = None
        self.rows: tuple[ShelfRow, ...] = ()
        self.progress: Progress | None = None
        self._shown: object = None
        self._trouble = ""  # why there is no new ranking
        self._pointed = ""  # the heading under the pointer
        self._lay_out()
        self.table.bind("<Motion>", self._point, add="+")
        helper.attach(self.table, self._help, parts=True)
        self._end = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self.rise(self.table)
        self.again()

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.6)
        wide = min(self.style.pixels(56), self.winfo_screenwidth() - self.style.pixels(2))
        self.head = ttk.Label(self, wraplength=wide, justify="left")
        self.head.grid(row=0, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0))
        self.notice = ttk.Label(self, text=STALE, style="Banner.TLabel")
        self.notice.grid(row=1, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad, 0))
        self.notice.grid_remove()
        numbers = [each for each in HEADINGS if each not in _LEFT]
        self.table = RankedTable(self, HEADINGS, _WIDEST, "ball", 8, numbers)
        bar = ttk.Scrollbar(self, orient="vertical", command=self.table.yview)
        self.table.configure(yscrollcommand=bar.set)
        self.table.grid(row=2, column=0, sticky="nsew", padx=(pad, 0), pady=pad)
        bar.grid(row=2, column=1, sticky="ns", padx=(0, pad), pady=pad)
        self.table.bind("<<TreeviewSelect>>", lambda _: self._tell())
        self.table.bind("<Return>", lambda _: self.take())
        self.table.bind("<Double-Button-1>", self._double)
        self.reasons = TextView(self, self.style, 80, 4)
        self.reasons.grid(row=3, column=0, columnspan=2, sticky="nsew", padx=pad)
        buttons = ttk.Frame(self)
        buttons.grid(row=4, column=0, columnspan=2, sticky="e", padx=pad, pady=pad)
        for name, label, command in (
            ("open", "Open a table ...", self.open),
            ("again", "Rank again", self.again),
            ("take", "Take this ball", self.take),
            ("close", "Close", self.leave),
        ):
            self.button(buttons, name, label, 0, command).pack(
                side="left", padx=(self.style.pixels(0.4), 0)
            )
        self.rowconfigure(2, weight=1)

    # --- the table --------------------------------------------------------------------------------

    def open(self) -> None:
        """Choose another table, and rank its balls."""
        folder = str(Path(self.path).parent)
        path = filedialog.askopenfilename(
            parent=self, title="Open a table of balls", initialdir=folder, filetypes=TABLES
        )
        if path:
            self.path = path
            self.again()

    def again(self) -> None:
        """Read the table anew and rank its balls under the present record, in a thread."""
        plan, job = self.presenter.sound_plan("ranking balls"), self.presenter.filled_job
        if plan is None or job is None:
            self._trouble = self.presenter.message
            self._tell()
            return
        if self.progress is not None and self.progress.winfo_exists():
            return
        self.progress = Progress(
            self, self.style, "Balls on the shelf", "Planning the balls ...",
            partial(ranked, job, self.path), self._done, self._failed,
        )  # fmt: skip

    def _done(self, ranking: Ranking) -> None:
        self._keep(self.path)
        self.ranking, self._trouble = ranking, ""
        self.show()
        self.table.begin()

    def _failed(self, error: BaseException) -> None:
        if not isinstance(error, InputError):
            raise error
        self._keep("")
        self.ranking, self._trouble = None, str(error)
        self.show()

    def show(self) -> None:
        """The rows as they are now, pale where they are of an earlier record."""
        ranking, units = self.ranking, self.presenter.units
        stale = ranking is not None and not self.presenter.ranks(ranking)
        wanted = (None if ranking is None else id(ranking), units, stale)
        if wanted == self._shown:  # a long table is not written anew for every letter typed
            self._tell()
            return
        self._shown = wanted
        self.rows = () if ranking is None else shelf_rows(ranking, units)
        if stale:
            self.notice.grid()
        else:
            self.notice.grid_remove()
        who = "" if ranking is None else ranking.job.title or ranking.job.bowler.name
        of = f" of {who}" if who else ""
        by = "" if ranking is None else f" {ranking_words(ranking.shelf)}"
        self.head.configure(
            text=printable(f"The present layout{of} on each ball of {Path(self.path).name}.{by}")
        )
        written = []
        for row in self.rows:
            rank, ball, outcome, *rest = row.cells
            sign = look.OUTCOMES[row.outcome][2] if row.label is not None else ""
            cells = (rank, printable(ball), f"{sign} {outcome}".lstrip(), *rest)
            written.append((cells, "stale" if stale else row.outcome))
        self.table.fill(written)
        self._tell()

    @property
    def chosen(self) -> ShelfRow | None:
        """The row that is selected."""
        place = self.table.chosen
        return None if place is None else self.rows[place]

    def _point(self, event: tk.Event[tk.Misc]) -> None:
        self._pointed = ""
        if self.table.identify_region(event.x, event.y) == "heading":
            self._pointed = HEADINGS[int(self.table.identify_column(event.x)[1:]) - 1]

    def _help(self) -> str:
        return f"{self._pointed.capitalize()}\n{SHELF[self._pointed]}" if self._pointed else ""

    def _tell(self) -> None:
        row = self.chosen
        if self._trouble:  # a table that changes tells of its selection later: this stays
            self.reasons.show([(self._trouble, "fail")])
        else:
            self.reasons.show([] if row is None else [(row.words, "")])
        usable = row is not None and row.label is not None
        self.buttons["take"].state(["!disabled" if usable else "disabled"])

    def _double(self, event: tk.Event[tk.Misc]) -> None:
        if self.table.identify_row(event.y):
            self.take()

    def take(self) -> None:
        """Put the selected ball into the record, as one step of undo."""
        row = self.chosen
        if row is None or row.label is None:
            self.bell()
        else:
            self.presenter.take_ball(row.label)

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        # a drag changes the plan a hundred times a second
        if change.has("plan", "problems", "units", "chance") and not self.presenter.dragging:
            if self.ranking is not None:
                self._trouble = ""
            self.show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
