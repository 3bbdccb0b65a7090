"""Choosing: the wants as a short form and the proposals as a list, a tab beside the ball.

What is typed goes into the record as it is typed, if it can be read. A proposal that is selected is
shown in the ball's place, on the map of where its pin may go.
"""

from __future__ import annotations

import math
import threading
import tkinter as tk
from functools import partial
from pathlib import Path
from tkinter import filedialog, ttk
from typing import TYPE_CHECKING, Any

import numpy as np

from gui.state.choose import (
    HEADINGS,
    LINES,
    OTHER,
    PLACES,
    WEIGHT,
    Asked,
    Form,
    ProposalRow,
    Search,
    contours_of,
    form_of,
    head_words,
    parts_of,
    proposal_rows,
    same_but_layout,
    searched,
    stated_by,
)
from gui.state.presenter import Presenter, Refresh
from gui.state.shade import contours, legend
from gui.views import style as look
from gui.views.ball_view import FACED
from gui.views.choice import choice_box
from gui.views.dialogs import Progress, focused
from gui.views.form_view import Page
from gui.views.ranked_table import RankedTable
from gui.views.still_canvas import still_canvas, whole_axes
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.choosing.figures import FIGURES
from layoutkit.choosing.others import name_beside, other_plans
from layoutkit.errors import InputError
from layoutkit.job.store import load_job
from layoutkit.job.wants import AGAINST, parse_wants
from layoutkit.output import drawing, render, shading
from layoutkit.planning.globe import Globe
from layoutkit.planning.surface import Surface, round_the_pin
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.ball_view import BallView
    from gui.views.style import Appearance
    from gui.views.tooltips import Help
    from layoutkit.planning.values import Plan

TABLES = (("Tables", "*.csv"), ("All files", "*"))
JOBS = (("Job records", "*.layoutjob *.json *.JSON"), ("All files", "*"))
STALE = "Out of date: the record has changed since. Search again."
START = "Say what is wanted, then search. A line that is left empty does not count."
NO_TABLE = "on the present ball"
PAUSE = 15  # milliseconds between two pieces of the map
FIRST = 2  # pieces after which every place of the map has something
NO_OTHER = "..."  # on the button that chooses another job
_WIDEST = (3, 18, 30, 11, 8)  # letters of each column
WANTS, PROPOSALS = "Wants", "Proposals"  # what is shown, and on the button that shows it
_FORM_HEADS = ("", "from", "to", "", "weight", "against")
_MOST_BLOCKS = 3  # of the form's lines, beside each other
_BESIDE, _HIGH = 30.0, 17.0  # ems that the proposals take beside the wants, and the height of both
_HEAD = 18.0  # ems that what was searched takes beside the buttons
_APART = 50.0  # ems of width in which the reasons stand beside the table
_LEGEND = 12.0  # ems of the ball's height at which what its lines mean has room, too
_LEAST = 20  # pixels; a smaller ball is not drawn
_NOT_YET = "Proposal {}, not in the record: Apply puts it there. Click or Esc: the ball as it is."
_BALL = (
    "The proposal\nThe ball under the proposal that is selected, with the map of where its pin may go; "
    "numbers are the pins of the other proposals. A click shows the record's ball again."
)
_BUTTONS = {
    "balls": "Choose a table of balls to search; with none, the present ball is searched.",
    "search": "Search all layouts for what is wanted; it takes some seconds.",
    "turn": "What is wanted, or what was found: there is room for one of them.",
    "take": "Put the selected proposal into the record, as one step of undo; so does Return in the list.",
}


class MapOf:
    """Where a proposal's pin and reference mark may go, worked out a piece at a time."""

    def __init__(self, plan: Plan) -> None:
        self.globe = Globe(plan)
        self.around: Surface | None = None

    def step(self) -> bool:
        """Work out one piece; whether there was one to do."""
        if not self.globe.done:
            self.globe.step()
        elif self.around is None:
            self.around = round_the_pin(self.globe.plan)
        else:
            return False
        return True


class ChooseView(ttk.Frame):
    """Wants and proposals, alone in their ``parent``. What is looked at covers ``ball``."""

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        ball: BallView,
    ) -> None:
        super().__init__(parent)
        self.presenter, self.style, self._helper, self._ball = presenter, style, helper, ball
        self.path = ""  # the table of balls, empty for the present ball
        self.search: Search | None = None
        self.rows: tuple[ProposalRow, ...] = ()
        self.progress: Progress | None = None
        self.seen: Plan | None = None  # the proposal's plan that covers the ball
        self.maps: dict[int, MapOf] = {}  # of the proposals that were looked at
        self.fields: dict[str, tuple[ttk.Entry, ttk.Entry, ttk.Entry]] = {}
        self.others: dict[str, ttk.Button] = {}
        self.buttons: dict[str, ttk.Button] = {}
        self._than: dict[str, str] = {}  # the other job's file of each line that has one
        self._texts: list[tk.StringVar] = []
        self._trouble = ""
        self._front = WANTS  # what is shown where there is room for one of them
        self._shown: object = None
        self._filling = False
        self._painting, self._waiting = Timer(self), Timer(self)
        before = focused(self)
        self._lay_out()
        self._words = ""  # at the head, while nothing is wrong
        self._fill(form_of(presenter.wants))
        if before is not None:  # matplotlib takes the focus for its canvas
            before.focus_set()
        parent.bind("<Unmap>", lambda _: self._cover(), add="+")
        presenter.subscribe(self._changed)
        self.show()

    # --- what stands where ------------------------------------------------------------------------

    def take_focus(self) -> None:
        """Put the keyboard on the first want, or among the proposals where these stand in its place."""
        first = next(iter(self.fields.values()))[0]
        (first if self.page.winfo_manager() else self.table).focus_set()

    def refresh(self) -> None:
        """Show anew, as after another text size."""
        self.page.resize()
        self.reasons.refresh()
        self._measure()
        self._arrange()
        self._tell()

    def _lay_out(self) -> None:
        gap = self.style.pixels(0.3)
        top = ttk.Frame(self)
        top.grid(row=0, column=0, columnspan=2, sticky="ew", pady=gap)
        top.columnconfigure(1, weight=1)
        self._row = self._lay_out_buttons(top)
        self._row.grid(row=0, column=0, sticky="w")
        self.head = ttk.Label(top, justify="left")
        self.page = Page(self, self.style)
        self._lay_out_form(self.page.inner)
        told = self._told = ttk.Frame(self)
        self.notice = ttk.Label(told, text=STALE, style="Banner.TLabel")
        self.table = RankedTable(told, HEADINGS, _WIDEST, "layout", 3)
        self.table.grid(row=1, column=0, sticky="nsew")
        self.table.bind("<<TreeviewSelect>>", lambda _: self._tell())
        self.table.bind("<Return>", lambda _: self.take())
        self.table.bind("<Escape>", lambda _: self.give_up())
        self._helper.on_focus(
            self.table,
            "The proposals, the best first: Up and Down look, Return applies, Esc ends it.",
        )
        self.reasons = TextView(told, self.style, 20, 2)
        told.rowconfigure(1, weight=1)
        self.rowconfigure(1, weight=1)
        self.head.bind("<Configure>", lambda event: self.head.configure(wraplength=event.width))
        self.page.grid(row=1, column=0, sticky="nsew")  # before it is known how much room there is
        self._measure()
        self.bind("<Configure>", self._sized, add="+")
        self._build_ball()

    def _lay_out_buttons(self, parent: ttk.Frame) -> ttk.Frame:
        row = ttk.Frame(parent)
        for name, text, command in (
            ("search", "Search", self.again),
            ("take", "Apply", self.take),
            ("balls", "Balls of a table ...", self.open),
            ("turn", PROPOSALS, self.turn),
        ):
            button = ttk.Button(row, text=text, style="Small.TButton", width=-6, command=command)
            button.pack(side="left", padx=(0, self.style.pixels(0.3)))
            self._helper.attach(button, f"{text.removesuffix(' ...')}\n{_BUTTONS[name]}")
            self.buttons[name] = button
        return row

    def _lay_out_form(self, form: ttk.Frame) -> None:
        self._heads = [
            [ttk.Label(form, text=each, style="Quiet.TLabel") for each in _FORM_HEADS]
            for _ in range(_MOST_BLOCKS)
        ]
        # of each line the widgets with their columns, and how many columns the last one has
        self._lines: list[tuple[list[tuple[tk.Widget, int]], int]] = []
        for name, words in LINES.items():
            figure = FIGURES[name]
            label = ttk.Label(form, text=figure.words)
            unit = ttk.Label(form, text=figure.unit, style="Quiet.TLabel")
            entries = [self._entry(form, name, wide) for wide in (6, 6, 3)]
            for entry, column in zip(entries, (1, 2, 4), strict=True):
                about = f"Weight\n{WEIGHT}" if column == 4 else f"{figure.words}\n{words}"
                self._helper.attach(entry, about[0].upper() + about[1:])
            self.fields[name] = (entries[0], entries[1], entries[2])
            line: list[tuple[tk.Widget, int]] = [
                (label, 0), (entries[0], 1), (entries[1], 2), (unit, 3), (entries[2], 4),
            ]  # fmt: skip
            if name in AGAINST:
                other = ttk.Button(
                    form, text=NO_OTHER, style="Small.TButton", width=-2,
                    command=partial(self.choose_other, name),
                )  # fmt: skip
                self._helper.attach(other, partial(self._other_words, name))
                self.others[name] = other
                line.append((other, 5))
            self._lines.append((line, 1))
        self.where = choice_box(form, PLACES, lambda: self._typed(""))
        self._lines.append(([(ttk.Label(form, text="pin"), 0), (self.where, 1)], 5))
        self._helper.attach(self.where, "Pin\nWhere on the ball the pin is to lie.")
        for widget in (self.where, *(e for each in self.fields.values() for e in each)):
            for event in ("<MouseWheel>", "<Button-4>", "<Button-5>"):
                widget.bind(event, self.page.wheel)
            widget.bind("<FocusIn>", self._see, add="+")

    def _grid_form(self, blocks: int) -> None:
        """Put the lines of the form into so many blocks beside each other."""
        across = len(_FORM_HEADS)
        for column in range(_MOST_BLOCKS * across):  # what is left over stands after each block
            last = column % across == across - 1 and column < blocks * across
            self.page.inner.columnconfigure(column, weight=int(last))
        for block, heads in enumerate(self._heads):
            for column, head in enumerate(heads):
                if block < blocks:
                    head.grid(row=0, column=block * across + column, sticky="w", padx=1)
                else:
                    head.grid_remove()
        high = math.ceil(len(self._lines) / blocks)
        for place, (line, span) in enumerate(self._lines):
            block, row = divmod(place, high)
            for widget, column in line:
                last = widget is line[-1][0]
                widget.grid(
                    row=1 + row, column=block * across + column, columnspan=span if last else 1,
                    sticky="w", padx=1, pady=1,
                )  # fmt: skip

    def _measure(self) -> None:
        """Find how wide one block of the form is; how all is arranged must then be found anew."""
        self._arranged: object = None
        self._grid_form(1)
        self.update_idletasks()
        self._block = self.page.inner.winfo_reqwidth() + self.style.em

    def _sized(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._arrange()

    def _arrange(self) -> None:
        """Show wants and proposals side by side where there is room for both, else one of them."""
        wide, high, em = self.winfo_width(), self.winfo_height(), self.style.em
        if wide <= 1:
            return
        both = wide >= self._block + _BESIDE * em and high >= _HIGH * em
        blocks = 1 if both else max(1, min(wide // self._block, _MOST_BLOCKS))
        apart = not both and wide >= _APART * em
        under = wide < self._row.winfo_reqwidth() + _HEAD * em
        wanted = both, blocks, apart, under, self._front
        if wanted == self._arranged:
            return
        self._arranged = wanted
        self._grid_form(blocks)
        self.head.grid(row=int(under), column=int(not under), columnspan=1 + under, sticky="ew")
        for widget, there, column in (
            (self.page, both or self._front == WANTS, 0),
            (self._told, both or self._front == PROPOSALS, int(both)),
        ):
            if there:
                widget.grid(row=1, column=column, sticky="nsew")
            else:
                widget.grid_remove()
        self.columnconfigure(0, weight=0 if both else 1)
        self.columnconfigure(1, weight=1 if both else 0)
        self.reasons.grid(row=1 if apart else 2, column=int(apart), sticky="nsew")
        half = "half" if apart else ""
        self._told.columnconfigure(0, weight=1, uniform=half)
        self._told.columnconfigure(1, weight=int(apart), uniform=half)
        self._told.rowconfigure(2, weight=0 if apart else 1)
        turn = self.buttons["turn"]
        if both:
            turn.pack_forget()
        else:
            turn.configure(text=PROPOSALS if self._front == WANTS else WANTS)
            turn.pack(side="left", padx=(0, self.style.pixels(0.3)))

    def _turn_to(self, front: str) -> None:
        self._front = front
        self._arrange()

    def turn(self) -> None:
        """Show the proposals in the place of the wants, or these again, with the keyboard."""
        self._turn_to(PROPOSALS if self._front == WANTS else WANTS)
        self.take_focus()

    def _entry(self, form: ttk.Frame, name: str, wide: int) -> ttk.Entry:
        text = tk.StringVar(form)
        text.trace_add("write", lambda *_: self._typed(name))
        self._texts.append(text)  # else it is gone, and with it what is typed
        entry = ttk.Entry(form, width=wide, textvariable=text)
        # the window's keys come first: Tk's own Ctrl+Y pastes
        top = str(entry.winfo_toplevel())
        entry.bindtags((str(entry), top, entry.winfo_class(), "all"))
        entry.bind("<Return>", lambda _: self.again())
        entry.bind("<Escape>", lambda _: self.give_up())
        entry.bind("<FocusOut>", lambda _: self.presenter.end_run(), add="+")
        return entry

    def _see(self, event: tk.Event[tk.Misc]) -> None:
        part = event.widget
        self.page.see(part.winfo_x(), part.winfo_y(), part.winfo_width(), part.winfo_height())

    # --- the form ---------------------------------------------------------------------------------

    def _fill(self, form: Form) -> None:
        self._filling = True
        for name, entries in self.fields.items():
            asked = form.lines.get(name, Asked())
            for entry, text in zip(entries, (asked.least, asked.most, asked.weight), strict=True):
                if entry.get() != text:
                    entry.delete(0, "end")
                    entry.insert(0, text)
        self._than = {name: asked.than for name, asked in form.lines.items() if asked.than}
        self.where.current(PLACES.index(form.place))
        self._filling = False
        self._name_others()

    @property
    def typed(self) -> Form:
        """What is typed."""
        lines = {
            name: Asked(least.get(), most.get(), weight.get(), self._than.get(name, ""))
            for name, (least, most, weight) in self.fields.items()
        }
        return Form(lines, PLACES[self.where.current()])

    def _typed(self, name: str) -> None:
        """A letter more or less in a line: it goes into the record, if all lines can be read."""
        if not self._filling:
            self._state(f"wants.{name}" if name else "")

    def _state(self, run: str = "") -> bool:
        """Put the wants that are typed into the record; False, told, where they cannot be read."""
        p = self.presenter
        try:
            stated = stated_by(self.typed, p.wants)
            parse_wants(stated)
        except InputError as error:
            self._fail(f"Not in the record yet. {error}")
            return False
        self._trouble = ""
        if stated != p.wants:
            p.state_wants(stated, run)
        self._tell()
        return True

    def _begin_anew(self) -> None:
        """Leave nothing of the job before: neither what could not be read, nor a search under way."""
        if self.progress is not None and self.progress.winfo_exists():
            self.progress.leave()
        self.search, self._trouble = None, ""
        self.maps.clear()
        self._fill(form_of(self.presenter.wants))

    def _restore(self) -> None:
        """Show what the record states where something else is typed, as after undo."""
        try:
            same = stated_by(self.typed, self.presenter.wants) == self.presenter.wants
        except InputError:
            same = False
        if not same:
            self._trouble = ""
            self._fill(form_of(self.presenter.wants))

    def open(self) -> None:
        """Choose a table of balls to search, or with none the present ball."""
        self.path = filedialog.askopenfilename(
            parent=self, title="Open a table of balls", filetypes=TABLES
        )
        self.show()

    def choose_other(self, name: str) -> None:
        """Choose the job from whose figure a line's is to differ; where there is one, leave it out."""
        if not self._than.pop(name, ""):
            path = filedialog.askopenfilename(
                parent=self, title="Another job to differ from", filetypes=JOBS
            )
            if path:
                self._than[name] = name_beside(path, self._file)
        self._name_others()
        self._state()

    @property
    def _file(self) -> str:
        """The record's own file, "" without one."""
        path = self.presenter.document.path
        return "" if path is None else str(path)

    def _name_others(self) -> None:
        for name, button in self.others.items():
            path = self._than.get(name, "")
            button.configure(text=printable(Path(path).stem[:10]) if path else NO_OTHER)

    def _other_words(self, name: str) -> str:
        path = self._than.get(name, "")
        now = f"\nNow: {printable(path)}" if path else ""
        return f"Against\n{OTHER}{now}"

    # --- the search -------------------------------------------------------------------------------

    def again(self) -> None:
        """Search for what is wanted under the present record, in a thread."""
        p = self.presenter
        if self.progress is not None and self.progress.winfo_exists():
            return
        if not self._state():
            return
        plan, job = p.sound_plan("choosing a layout"), p.filled_job
        if plan is None or job is None or job.wants is None:
            self._fail(p.message)
            return
        try:
            others = other_plans(job.wants, self._file, lambda path: p.shop.fill(load_job(path)))
        except InputError as error:
            self._fail(str(error))
            return
        given_up = threading.Event()
        self.progress = Progress(
            self, self.style, "Choose a layout", "Trying layouts all over the ball ...",
            partial(searched, job, self.path, others, given_up), self._done, self._failed,
        )  # fmt: skip
        self.progress.bind("<Destroy>", lambda _: given_up.set(), add="+")

    def _done(self, search: Search) -> None:
        self.search, self._trouble = search, ""
        self.maps.clear()
        self._turn_to(PROPOSALS)
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
        self._words = printable(words)
        wanted = (search, units, self.stale)
        if wanted == self._shown:
            self._tell()
            return
        self._shown = wanted
        if self.stale:
            self.notice.grid(row=0, column=0, columnspan=2, sticky="ew")
        else:
            self.notice.grid_remove()
        self.rows = () if search is None else proposal_rows(search, units)
        # the outcome before what a narrow list cuts off; balls only where there are several
        shown = ("", "outcome", *(("ball",) if search and search.path else ()), "layout", "misses")
        self.table.configure(displaycolumns=[str(HEADINGS.index(name)) for name in shown])
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
        # where the proposals are not seen, what cannot be done must be
        self.head.configure(
            text=printable(f"✗ {self._trouble}") if self._trouble else self._words,
            style="Bad.TLabel" if self._trouble else "TLabel",
        )
        if self._trouble:
            self.reasons.show([(self._trouble, "fail")])
        else:
            self.reasons.show([] if row is None else [(row.words, "")])
        usable = row is not None and not self.stale
        self.buttons["take"].state(["!disabled" if usable else "disabled"])
        self._cover()

    def take(self) -> None:
        """Put the selected proposal into the record, as one step of undo, and look at that."""
        row = self.chosen
        if row is None or self.search is None or self.stale:
            self.bell()
        else:
            self.presenter.take_proposal(parts_of(self.search, row.proposal))
            self.give_up()

    def give_up(self) -> None:
        """Look at no proposal any more."""
        self.table.selection_set()
        self._tell()

    # --- the ball and its map ---------------------------------------------------------------------

    def _build_ball(self) -> None:
        """What covers the ball: a picture, and under it what that is."""
        self.cover = tk.Frame(self._ball, background=look.PAPER)
        self.covered = ttk.Label(self.cover, style="Banner.TLabel", justify="left")
        self.covered.pack(side="bottom", fill="x")
        self.covered.bind(
            "<Configure>",
            lambda event: self.covered.configure(wraplength=event.width - self.style.em),
        )
        area = tk.Frame(self.cover, background=look.PAPER)
        area.pack_propagate(False)
        area.pack(fill="both", expand=True)
        self._canvas, widget = still_canvas(area, self._paint_later)
        widget.configure(takefocus=False, highlightthickness=0)
        widget.bind("<Button-1>", lambda _: self.give_up())
        self._helper.under(widget, lambda: _BALL)
        self._ball.bind(FACED, lambda _: self._paint_later(), add="+")

    def _cover(self) -> None:
        """Show the selected proposal in the ball's place, or the ball where none is looked at."""
        row = self.chosen
        looking = row is not None and not self.stale and self.winfo_viewable()
        self.seen = row.proposal.plan if row is not None and looking else None
        if row is None or not looking:
            self.cover.grid_forget()
            return
        self.cover.grid(row=1, column=0, rowspan=2, sticky="nsew")
        self.cover.lift()
        globe = None if self.map is None else self.map.globe
        words = _NOT_YET.format(row.cells[0].rstrip("."))
        if self._ball.winfo_height() >= _LEGEND * self.style.em:  # else the ball needs the room
            words += f" {legend(globe, self.figure)}"
        self.covered.configure(text=words)
        self._work_later()
        self._paint_later()

    @property
    def figure(self) -> str:
        """The figure whose contours the map shows: the first that is wanted."""
        job = self.presenter.job if self.search is None else self.search.job
        return contours_of(None if job is None else job.wants)

    @property
    def map(self) -> MapOf | None:
        """The map of the proposal that is selected; None before its first piece."""
        place = self.table.chosen
        return None if place is None else self.maps.get(place)

    def _work_later(self) -> None:
        if not self._waiting.waiting:
            self._waiting.start(PAUSE, self._work)

    def _work(self) -> None:
        """One piece of the map, while it is seen and nothing is dragged."""
        place = self.table.chosen
        if self.seen is None or place is None:
            return
        if self.presenter.dragging:
            self._waiting.start(look.REST, self._work)
            return
        if place not in self.maps:
            self.maps[place] = MapOf(self.seen)
        there = self.maps[place]
        if there.step():
            self._work_later()
            # painting takes longer than a piece: at first, and when all is there
            if there.globe.done or there.globe.changes == FIRST:
                self._cover()

    def _paint_later(self) -> None:
        self._painting.when_idle(self._paint)

    def _paint(self) -> None:
        plan, figure = self.seen, self._canvas.figure
        figure.clear()
        width, height = self._canvas.get_width_height(physical=True)
        text = self.style.text
        row = render.line_height(text, figure.dpi) * 1.2
        if plan is None:
            return
        scene = drawing.scene(plan, self.presenter.units)
        texts = [f"{each.text}{drawing.FAR}" for each in scene.callouts]
        room = max((render.text_width(each, text, figure.dpi) for each in texts), default=0.0)
        radius = min((width / 2.0 - room) / drawing.COLUMN, height / 2.0 - row)
        if radius < _LEAST:
            return
        axes = whole_axes(self._canvas)
        axes.set_xlim(-width / 2.0 / radius, width / 2.0 / radius)
        axes.set_ylim(-height / 2.0 / radius, height / 2.0 / radius)
        view = self._ball.view
        shown = render.Style(text=text, lit=True)
        painting = render.draw(axes, drawing.project(scene, view, row / radius), shown)
        there = self.map
        if there is not None and there.globe.changes:
            lines = contours(there.globe, self.figure)
            painting.under = shading.image(there.globe, view, round(radius), lines)
            if there.around is not None:
                painting.fields = shading.ring(there.around, view)
        self._number(axes, view, text)
        self._canvas.draw()

    def _number(self, axes: Any, view: drawing.View, text: float) -> None:
        """The numbers of the other proposals on the same ball, where their pins are."""
        row = self.chosen
        for other in self.rows:
            plan = other.proposal.plan
            if other is row or (row is not None and other.proposal.line != row.proposal.line):
                continue
            right, up, toward = view.frame @ np.array(plan.marks.pin.xyz) / plan.radius
            if toward > 0.0:
                axes.text(
                    right, up, other.cells[0].rstrip("."), fontsize=text, ha="center", va="center",
                    bbox={"boxstyle": "circle,pad=0.15", "fc": look.PAPER, "ec": look.INK},
                )  # fmt: skip

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if self.presenter.dragging:
            return
        if change.has("job"):
            self._begin_anew()
        elif change.has("entries") and "wants" in change.paths:
            self._restore()
        # only while it is seen; it is shown anew when it comes to the front
        if self.winfo_viewable() and change.has("plan", "problems", "units"):
            self.show()
