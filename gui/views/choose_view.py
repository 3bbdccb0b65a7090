"""Choosing: a short form of wants, proposals beside the ball, one to look at and to take."""

from __future__ import annotations

import threading
import tkinter as tk
from dataclasses import replace
from functools import partial
from pathlib import Path
from tkinter import filedialog, ttk
from typing import TYPE_CHECKING

from gui.state.choose import (
    HEADINGS,
    LINES,
    PLACES,
    WEIGHT,
    Asked,
    Form,
    ProposalRow,
    Search,
    form_of,
    head_words,
    parts_of,
    proposal_rows,
    same_but_layout,
    searched,
    wants_of,
)
from gui.state.presenter import Presenter, Refresh
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.dialogs import Dialog, Progress
from gui.views.ranked_table import RankedTable
from gui.views.still_canvas import still_canvas, whole_axes
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.choosing.figures import FIGURES
from layoutkit.errors import InputError
from layoutkit.output import drawing, render
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help
    from layoutkit.planning.values import Plan

TABLES = (("Tables", "*.csv"), ("All files", "*"))
STALE = "Out of date: the record has changed since. Search again."
START = "Say what is wanted, then search. A line that is left empty does not count."
NO_TABLE = "on the present ball"
_WIDEST = (4, 20, 38, 14, 9)  # letters of each column


class ChooseDialog(Dialog):
    """Wants, proposals and the ball that is looked at; the window beside it goes on."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, presenter: Presenter, helper: Help
    ) -> None:
        super().__init__(parent, style, "Choose a layout")
        self.presenter, self._helper = presenter, helper
        self.path = ""  # the table of balls, empty for the present ball
        self.search: Search | None = None
        self.rows: tuple[ProposalRow, ...] = ()
        self.progress: Progress | None = None
        self.seen: Plan | None = None  # the plan whose ball is shown
        self._trouble = ""
        self._shown: object = None
        self._painting = Timer(self)
        self.fields: dict[str, tuple[ttk.Entry, ttk.Entry, ttk.Entry]] = {}
        self._lay_out()
        self._fill(form_of(None if presenter.job is None else presenter.job.wants))
        self._end = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self.show()
        self.rise(next(iter(self.fields.values()))[0])
        self._look_at(presenter.plan)

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.5)
        self.head = ttk.Label(self, wraplength=self.style.pixels(50), justify="left")
        self.head.grid(row=0, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0))
        self.notice = ttk.Label(self, text=STALE, style="Banner.TLabel")
        self.notice.grid(row=1, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad, 0))
        self._lay_out_form().grid(row=2, column=0, sticky="nw", padx=pad, pady=pad)
        self._build_ball().grid(row=2, column=1, sticky="nsew", padx=(0, pad), pady=pad)
        self.table = RankedTable(self, HEADINGS, _WIDEST, "layout", 6)
        self.table.grid(row=3, column=0, columnspan=2, sticky="ew", padx=pad)
        self.table.bind("<<TreeviewSelect>>", lambda _: self._tell())
        self.table.bind("<Return>", lambda _: self.take())
        self.reasons = TextView(self, self.style, 80, 5)
        self.reasons.grid(row=4, column=0, columnspan=2, sticky="nsew", padx=pad, pady=pad)
        row = ttk.Frame(self)
        row.grid(row=5, column=0, columnspan=2, sticky="e", padx=pad, pady=(0, pad))
        for name, text, command in (
            ("balls", "Balls of a table ...", self.open),
            ("search", "Search", self.again),
            ("take", "Apply", self.take),
            ("close", "Close", self.leave),
        ):
            self.button(row, name, text, 0, command).pack(
                side="left", padx=(self.style.pixels(0.4), 0)
            )
        self.columnconfigure(1, weight=1)
        self.rowconfigure(4, weight=1)

    def _lay_out_form(self) -> ttk.Frame:
        form = ttk.Frame(self)
        for column, heading in enumerate(("", "from", "to", "", "weight")):
            ttk.Label(form, text=heading, style="Quiet.TLabel").grid(row=0, column=column)
        for n, (name, words) in enumerate(LINES.items(), 1):
            figure = FIGURES[name]
            ttk.Label(form, text=figure.words).grid(row=n, column=0, sticky="w")
            least, most, weight = (ttk.Entry(form, width=wide) for wide in (8, 8, 5))
            ttk.Label(form, text=figure.unit, style="Quiet.TLabel").grid(
                row=n, column=3, sticky="w"
            )
            for entry, column in ((least, 1), (most, 2), (weight, 4)):
                entry.grid(row=n, column=column, padx=2, pady=1)
                entry.bind("<Return>", lambda _: self.again())
                about = f"Weight\n{WEIGHT}" if entry is weight else f"{figure.words}\n{words}"
                self._helper.attach(entry, about[0].upper() + about[1:])
            self.fields[name] = (least, most, weight)
        last = len(LINES) + 1
        ttk.Label(form, text="pin").grid(row=last, column=0, sticky="w")
        self.where = choice_box(form, PLACES, lambda: None)
        self.where.grid(row=last, column=1, columnspan=4, sticky="ew", padx=2, pady=1)
        return form

    # --- the form ---------------------------------------------------------------------------------

    def _fill(self, form: Form) -> None:
        for name, asked in form.lines.items():
            parts = (asked.least, asked.most, asked.weight)
            for entry, text in zip(self.fields[name], parts, strict=True):
                entry.delete(0, "end")
                entry.insert(0, text)
        self.where.current(PLACES.index(form.place))

    @property
    def typed(self) -> Form:
        """What is typed."""
        lines = {name: Asked(*(e.get() for e in each)) for name, each in self.fields.items()}
        return Form(lines, PLACES[self.where.current()])

    def open(self) -> None:
        """Choose a table of balls to search, or with none the present ball."""
        self.path = filedialog.askopenfilename(
            parent=self, title="Open a table of balls", filetypes=TABLES
        )
        self.show()

    # --- the search -------------------------------------------------------------------------------

    def again(self) -> None:
        """Search for what is wanted under the present record, in a thread."""
        plan, job = self.presenter.sound_plan("choosing a layout"), self.presenter.filled_job
        if plan is None or job is None:
            self._fail(self.presenter.message)
            return
        if self.progress is not None and self.progress.winfo_exists():
            return
        try:
            wants = wants_of(self.typed, job.wants)
        except InputError as error:
            self._fail(str(error))
            return
        given_up = threading.Event()
        self.progress = Progress(
            self, self.style, "Choose a layout", "Trying layouts all over the ball ...",
            partial(searched, job, wants, self.path, given_up), self._done, self._failed,
        )  # fmt: skip
        self.progress.bind("<Destroy>", lambda _: given_up.set(), add="+")

    def _done(self, search: Search) -> None:
        self.search, self._trouble = search, ""
        self.show()
        self.table.begin()

    def _failed(self, error: BaseException) -> None:
        if not isinstance(error, InputError):
            raise error
        self._fail(str(error))

    def _fail(self, words: str) -> None:
        self._trouble = words
        self._tell()

    @property
    def stale(self) -> bool:
        """Whether the proposals are no longer about the record."""
        job = self.presenter.filled_job
        return self.search is not None and (job is None or not same_but_layout(self.search, job))

    def show(self) -> None:
        """The proposals as they are now, pale where they are of an earlier record."""
        search, units = self.search, self.presenter.units
        there = NO_TABLE if not self.path else f"on the balls of {Path(self.path).name}"
        words = f"{START} The search is {there}." if search is None else head_words(search, units)
        self.head.configure(text=printable(words))
        wanted = (search, units, self.stale)
        if wanted == self._shown:
            self._tell()
            return
        self._shown = wanted
        if self.stale:
            self.notice.grid()
        else:
            self.notice.grid_remove()
        self.rows = () if search is None else proposal_rows(search, units)
        written = []
        for row in self.rows:
            rank, ball, layout, outcome, missed = row.cells
            sign = look.OUTCOMES[row.outcome][2]
            cells = (rank, printable(ball), layout, f"{sign} {outcome}", missed)
            written.append((cells, "stale" if self.stale else row.outcome))
        self.table.fill(written)
        self._tell()

    @property
    def chosen(self) -> ProposalRow | None:
        """The row that is selected."""
        place = self.table.chosen
        return None if place is None else self.rows[place]

    def _tell(self) -> None:
        row = self.chosen
        if self._trouble:
            self.reasons.show([(self._trouble, "fail")])
        else:
            self.reasons.show([] if row is None else [(row.words, "")])
        usable = row is not None and not self.stale
        self.buttons["take"].state(["!disabled" if usable else "disabled"])
        self._look_at(self.presenter.plan if row is None else row.proposal.plan)

    def take(self) -> None:
        """Put the selected proposal into the record, as one step of undo."""
        row = self.chosen
        if row is None or self.search is None or self.stale:
            self.bell()
        else:
            self.presenter.take_proposal(parts_of(self.search, row.proposal))

    # --- the ball ---------------------------------------------------------------------------------

    def _build_ball(self) -> tk.Frame:
        area = tk.Frame(self, background=look.PAPER, width=self.style.pixels(22))
        area.pack_propagate(False)
        self._canvas, widget = still_canvas(area, lambda: self._painting.when_idle(self._paint))
        widget.configure(takefocus=False, highlightthickness=0)
        return area

    def _look_at(self, plan: Plan | None) -> None:
        """Show the ball of a plan."""
        if plan is not self.seen:
            self.seen = plan
            self._painting.when_idle(self._paint)

    def _paint(self) -> None:
        figure = self._canvas.figure
        figure.clear()
        width, height = self._canvas.get_width_height(physical=True)
        radius = min(width * 0.36, height * 0.46)  # the names stand on both sides
        if self.seen is not None and radius > 20.0:
            text = self.style.text * 0.75
            axes = whole_axes(self._canvas)
            axes.set_xlim(-width / 2.0 / radius, width / 2.0 / radius)
            axes.set_ylim(-height / 2.0 / radius, height / 2.0 / radius)
            scene = drawing.scene(self.seen, self.presenter.units)
            marks = tuple(c for c in scene.callouts if c.kind in drawing.MARK_NAMES)
            scene = replace(scene, callouts=marks)  # the words below have the lengths
            view = drawing.facing(self.seen, "grip")
            line = render.line_height(text, figure.dpi) / radius
            shown = render.Style(text=text, scale=0.9, stale=self.stale, lit=True)
            render.draw(axes, drawing.project(scene, view, line), shown)
        self._canvas.draw()

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("plan", "problems", "units") and not self.presenter.dragging:
            self.show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
