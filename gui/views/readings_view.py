"""The plan's readings: bars against their limits, numbers, checks, holes and cautions."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from tkinter import font, ttk
from typing import TYPE_CHECKING, Any

from gui.state.help_texts import COLUMNS, column_words, lane_words, map_words
from gui.state.presenter import Presenter, Refresh
from gui.state.readings import (
    BARS,
    GROUPS,
    SPECS,
    WEIGH_IN,
    Bar,
    CheckRow,
    Readings,
    Table,
    Weighed,
    readings,
)
from gui.state.verdict import KINDS
from gui.views import style as look
from gui.views.lane_view import LaneView
from gui.views.map_view import MapView
from gui.views.scrolling import Scrolling
from gui.views.steps_view import StepsView
from gui.views.tabs import Tab, name_tabs
from gui.views.text_view import TextView
from gui.views.tooltips import short
from layoutkit.job.rules import OUTCOMES

if TYPE_CHECKING:
    from gui.views.ball_view import BallView
    from gui.views.choose_view import ChooseView
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

_WAITING = "The readings appear when the record is complete."
ANOTHER_HEIGHT = "<<AnotherHeight>>"  # a bar has come to need another line, or one less
_COLUMNS = {"text": "value", "before": "undrilled", "difference": "from kept"}
# rows of the numbers: beside the bars, where there may be more, and under them
_LEAST_ROWS, _ROWS = 4, 7
_ABOUT = "about "  # tags of the texts that have a help
_BANDS = {"pass": "#bfe0d5", "close": "#f1cf9f", "incomplete": "#f1cf9f", "fail": "#f1cf9f"}
_STALE_BAND = "#d8d8d6"
_SHORT = {"side": "Side", "finger": "Finger", "top": "Top"}


class ReadingsView(ttk.Notebook):
    """Tabs of readings; only the one in front is kept up to date. ``words`` gives a reading's help.

    What one of them would make of the job is shown in the place of ``ball``.
    """

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        words: Callable[[str], str],
        ball: BallView,
    ) -> None:
        super().__init__(parent)
        self._presenter, self._words = presenter, words
        self._step: int | None = None
        self._readings: Readings | None = None
        self._looked_at = ""  # the tag of the check that was gone to
        self._fresh = False
        self._weights = Scrolling(self, style, fills=True)
        front = self._weights.inner
        front.columnconfigure(0, weight=2)
        front.columnconfigure(1, weight=3)
        front.rowconfigure(0, weight=1)
        bars = ttk.Frame(front)
        bars.grid(row=0, column=0, sticky="nsew", padx=(0, style.pixels(0.3)))
        self.bars: dict[str, BarView] = {}
        for key, *_ in BARS:
            bar = BarView(bars, style)
            bar.pack(fill="x")
            bar.bind(ANOTHER_HEIGHT, lambda _: self.after_idle(self._refit))
            self.bars[key] = bar
            helper.attach(bar, partial(self._bar_help, key))
        self.numbers = NumbersView(front, style, helper, words)
        self._under = False  # whether the numbers stand under the bars
        self.numbers.grid(row=0, column=1, sticky="nsew")
        self.checks = TextView(self, style)
        self.holes = TextView(self, style)
        self.cautions = TextView(self, style)
        self._pointed = ""  # the check under the pointer
        self.checks.text.bind("<Motion>", self._point, add="+")
        helper.attach(self.checks.text, self._check_help, parts=True)
        places = [Scrolling(self, style, fills=True) for _ in range(3)]
        self._steps, self._map, self._lane = places
        self.steps = StepsView(self._steps.inner, presenter, style)
        self.map = MapView(self._map.inner, presenter, style, helper, map_words)
        self.lane = LaneView(self._lane.inner, presenter, style, helper, lane_words)
        views: tuple[StepsView | MapView | LaneView, ...] = (self.steps, self.map, self.lane)
        for place, view in zip(places, views, strict=True):
            view.pack(fill="both", expand=True)
            place.when_seen(view, view.seen)
        self._helper, self._ball = helper, ball
        self.choosing = ttk.Frame(self)
        self.choosing.pack_propagate(False)  # the other tabs say how much room there is
        self._choice: ChooseView | None = None
        self._waiting = ttk.Label(front, text=_WAITING, style="Quiet.TLabel", anchor="center")
        self._tabs: Any = self  # the notebook's own methods are not typed
        self.front = self._weights
        self._names: dict[tk.Widget, Tab] = {
            self._weights: Tab("Readings"),
            self.checks: Tab("Checks"),
            self.holes: Tab("Holes"),
            self._steps: Tab("Steps"),
            self.cautions: Tab("Cautions"),
            self._map: Tab("Map"),
            self._lane: Tab("Lane"),
            self.choosing: Tab("Choose"),
        }
        for shown, tab in self._names.items():
            self._tabs.add(shown, text=tab.name, sticky="nsew")
        self.enable_traversal()
        self._style = style
        self._reserve()
        self.bind("<<NotebookTabChanged>>", self._turned)
        self.bind("<Configure>", self._narrowed)
        presenter.subscribe(self._changed)
        self._show()

    # --- state ------------------------------------------------------------------------------------

    @property
    def readings(self) -> Readings | None:
        """The readings of the present plan, None without one."""
        p = self._presenter
        if not self._fresh:
            kept = None if p.reference is None else p.reference.plan
            self._readings = (
                None if p.plan is None else readings(p.plan, p.units, kept, p.shop.fit_words)
            )
            self._fresh = True
        return self._readings

    def _changed(self, change: Refresh) -> None:
        if change.has("plan", "problems", "units", "reference"):
            self._fresh = False
            self._look_at_none()
            self._show()
        if self._presenter.step != self._step:
            self._step = self._presenter.step
            if self._step is not None:
                self._tabs.select(self._steps)

    def show_check(self, name: str) -> None:
        """Bring the checks to the front, the keyboard and the eye on one of them."""
        self._tabs.select(self.checks)
        self._show()
        self.update_idletasks()
        text, tag = self.checks.text, f"{_ABOUT}{name}"
        text.focus_set()
        if not text.tag_ranges(tag):
            return
        self._look_at_none()
        self._looked_at = tag
        text.tag_configure(tag, background=look.POINTED)
        text.see(f"{tag}.last")
        text.see(f"{tag}.first")

    def _look_at_none(self) -> None:
        """Take the colour off the check that was gone to."""
        if self._looked_at:
            self.checks.text.tag_configure(self._looked_at, background="")
            self._looked_at = ""

    def show_map(self) -> None:
        """Bring the map to the front, and the keyboard to it."""
        self._tabs.select(self._map)
        self.update_idletasks()
        self.map.seen()
        self.map.take_focus()

    def show_lane(self) -> None:
        """Bring the lane to the front, and the keyboard to it."""
        self._tabs.select(self._lane)
        self.update_idletasks()
        self.lane.seen()
        self.lane.take_focus()

    def show_choice(self) -> None:
        """Bring the wants and proposals to the front, and the keyboard to them."""
        self._tabs.select(self.choosing)
        self.update_idletasks()
        self.choice.show()
        self.choice.take_focus()

    @property
    def choice(self) -> ChooseView:
        """The wants and proposals, made when they are first asked for."""
        if self._choice is None:
            from gui.views.choose_view import ChooseView

            choice = self._choice = ChooseView(
                self.choosing, self._presenter, self._style, self._helper, self._ball
            )
            choice.pack(fill="both", expand=True)
            for widget in (self.choosing, choice):  # whichever comes last
                widget.bind(
                    "<Map>", lambda _: choice.show() if choice.winfo_viewable() else None, add="+"
                )
        return self._choice

    def _turned(self, _: tk.Event[tk.Misc]) -> None:
        self._show()
        if self._tabs.select() == str(self.choosing):
            self.choice.show()

    def _narrowed(self, event: tk.Event[tk.Misc]) -> None:
        """Put the numbers under the bars where there is too little room beside them."""
        if event.widget is not self:
            return
        under = event.width < self._beside + self.numbers.least
        if under != self._under:
            self._under = under
            self._weights.inner.columnconfigure(1, weight=0 if under else 3)
            self.numbers.grid(row=int(under), column=int(not under))
            self.numbers.ask(_ROWS if under else _LEAST_ROWS)
        self._widen(event.width)
        name_tabs(self, self._style, self._names)

    def _widen(self, width: int) -> None:
        """Keep as much room for the bars as large figures beside them take, where there is so much."""
        wide = max(bar.wide for bar in self.bars.values()) + self._style.pixels(1.0)
        room = width >= wide + self.numbers.least
        self._weights.inner.columnconfigure(0, minsize=wide if room else self._beside)

    def _refit(self) -> None:
        """Ask for the room of the bars as they are now."""
        self.update_idletasks()  # their sum is known after that
        self._weights.resize()

    def refresh(self) -> None:
        """Show anew, as after another text size."""
        for bar in self.bars.values():
            bar.refresh()
        self._reserve()
        for scrolled in (self._weights, self._steps, self._map, self._lane):
            scrolled.resize()
        for view in (
            self.checks, self.holes, self.cautions, self.steps, self.numbers, self.map, self.lane,
        ):  # fmt: skip
            view.refresh()
        if self._choice is not None:
            self._choice.refresh()
        self._show()

    def _reserve(self) -> None:
        """Keep the room that the bars' texts need, also in a narrow window."""
        widest = max(bar.winfo_reqwidth() for bar in self.bars.values())
        self._beside = widest + self._style.pixels(1.0)  # with the bar that scrolls them
        self._widen(self.winfo_width())

    def _show(self) -> None:
        readings, stale = self.readings, self._presenter.stale
        front = self._tabs.nametowidget(self._tabs.select()) if self._tabs.select() else self.front
        if front is self.front:
            if readings is None:
                self._waiting.grid(row=0, column=0, columnspan=2, sticky="nsew")
                self._waiting.lift()
            else:
                self._waiting.grid_remove()
            for key, bar in self.bars.items():
                each = next((b for b in readings.bars if b.key == key), None) if readings else None
                missing = "" if readings is None or each is not None else readings.no_bars
                bar.show(each, stale, f"{_SHORT[key]}: {missing}" if missing else "")
            self.numbers.show(readings, stale, self._presenter.reference is not None)
        elif front is self._steps:
            self.steps.seen()
        elif isinstance(front, TextView):
            pieces = {self.checks: _checks, self.holes: _holes, self.cautions: _cautions}
            wanted = [(_WAITING, "quiet")] if readings is None else list(pieces[front](readings))
            if stale:
                wanted = [(words, "stale") for words, _ in wanted]
            front.show(wanted)
        wrong = 0
        if readings is not None:
            wrong = len(readings.judged.reasons)
        cautions = 0 if readings is None else len(readings.questions) + len(readings.cautions)
        for view, count in ((self.checks, wrong), (self.cautions, cautions)):
            self._names[view] = self._names[view]._replace(
                mark=f" ({count})" if count else "", sign="\u2009•" if count else ""
            )
        name_tabs(self, self._style, self._names)

    def _point(self, event: tk.Event[tk.Misc]) -> None:
        names = self.checks.text.tag_names(f"@{event.x},{event.y}")
        about = [n.removeprefix(_ABOUT) for n in names if n.startswith(_ABOUT)]
        self._pointed = about[0] if about else ""

    def _check_help(self) -> str:
        if not self._pointed:
            return ""
        return f"{self._pointed.capitalize()}\n{self._words(self._pointed)}"

    def _bar_help(self, key: str) -> str:
        """A bar's explanation, and its numbers in words."""
        readings = self.readings
        label = next(label for name, label, *_ in BARS if name == key)
        bar = None if readings is None else next((b for b in readings.bars if b.key == key), None)
        if bar is None:
            missing = f": {readings.no_bars}" if readings is not None and readings.no_bars else ""
            return f"{label}{missing}\n{self._words(key)}"
        band = f" Within the uncertainty it is {bar.band_text}." if bar.band_text else ""
        kept = f" From the kept plan: {bar.difference}." if bar.difference else ""
        weighed = f"That was weighed; planned: {bar.planned_text}. " if bar.planned_text else ""
        return (
            f"{label}\n{self._words(key)}\n\nNow: {bar.text}, {bar.words}. Limit: {bar.limit_text}. "
            f"{weighed}Undrilled: {bar.before_text}.{band}{kept}\n"
            f"▼ drilled{', ▽ planned' if bar.planned_text else ''}, △ undrilled, ◇ kept plan; "
            f"left is {bar.minus}, right is {bar.plus}. Allowed is "
            "what lies between the two ticks; shaded is what the uncertainty covers."
        )


def _holes(readings: Readings) -> Iterator[tuple[str, str]]:
    tables = (
        ("As drilled: the plan is made of these measures", readings.drilled),
        ("Bits and depths, in the order of work", readings.operations),
        ("The oval thumb hole: where the press sets the bit, from its middle", readings.oval),
        ("Holes", readings.holes),
        ("Vents and inspection hole, drilled last", readings.extra),
        ("Holes drilled before", readings.old),
        ("To prove the marks: arcs with a rule on the ball", readings.proof),
        ("Walls", readings.walls),
    )
    for title, table in tables:
        if table.rows:
            yield f"{title}\n", "bold"
            yield from _table(table)
            yield "\n", ""
    yield "What the columns mean\n", "bold"
    for heading in dict.fromkeys(
        h for t in tables if t[1].rows for h in t[1].heading if h in COLUMNS
    ):
        yield f"{heading}\n", ""
        yield f"{column_words(heading)}\n", "under"


def _checks(readings: Readings) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    for weighed in readings.weighed:
        yield from _weighed(weighed)
    if readings.weighed:
        yield "As planned\n", "bold"
    yield f"{look.OUTCOMES[readings.outcome][2]} {readings.verdict}\n", readings.outcome
    if readings.why and not readings.reasons:
        yield f"{readings.why}\n", readings.outcome
    for reason in readings.reasons:
        yield f"DO NOT DRILL: {reason}\n", "fail"
    for line in readings.unknown:
        yield f"{line}\n", "quiet"
    yield from _check_lines(readings.checks, headed=True)
    yield f"{readings.rules}\n{readings.confirm}", "quiet"


def _weighed(weighed: Weighed) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    """A weigh-in: measured beside predicted, then the verdict for the ball as weighed."""
    yield f"{weighed.title}\n", "bold"
    if weighed.outcome is not None:
        yield f"{look.OUTCOMES[weighed.outcome][2]} {weighed.verdict}\n", weighed.outcome
    names = ("", *(row[0] for row in weighed.table.rows))
    for name, (line, tag) in zip(names, _table(weighed.table), strict=True):
        kind = ("beyond",) if name in weighed.beyond else ()
        yield line, (tag, *kind, f"{_ABOUT}{name or WEIGH_IN}")
    for remark in weighed.remarks:
        yield f"{remark}\n", "quiet"
    yield from _check_lines(weighed.checks)
    for gap in weighed.gaps:
        yield f"{gap}\n", "quiet"
    yield "\n", ""


def _check_lines(
    checks: Sequence[CheckRow], headed: bool = False
) -> Iterator[tuple[str, str | tuple[str, ...]]]:
    """The checks, what does not pass first; ``headed`` tells paperwork apart from weights."""
    kinds = list(KINDS)
    ordered = sorted(
        checks,
        key=lambda c: (c.outcome == "pass", kinds.index(c.kind), -OUTCOMES.index(c.outcome)),
    )
    part = ""
    for check in ordered:
        title = f"{KINDS[check.kind]}{'' if check.outcome == 'pass' else ': not passed'}\n"
        if headed and title != part:
            part = title
            yield title, "bold"
        about = f"{_ABOUT}{check.name}"
        yield f"{look.OUTCOMES[check.outcome][2]}\t", ("item", check.outcome, about)
        yield f"{check.name}: {check.value}", ("item", "bold", about)
        limit = f", {check.limit}" if check.limit else ""
        band = f" ({check.band} with its uncertainty)" if check.band else ""
        before = f"; {check.reference} in the kept plan" if check.reference else ""
        yield f"{band}{limit}: {check.words}{before}\n", ("item", about)
        yield f"{check.source}\n", ("under", about)


def _cautions(readings: Readings) -> Iterator[tuple[str, str]]:
    if readings.questions:
        yield "Questions: correct the value, or confirm it at its field or with F2\n", "bold"
        for question in readings.questions:
            yield f"?\t{question}\n", "item"
        yield "\nCautions\n", "bold"
    for caution in readings.cautions:
        yield f"!\t{caution}\n", "item"
    yield "\nIn every shop\n", "bold"
    for line in readings.shop:
        yield f"·\t{line}\n", "item"


def _table(table: Table) -> Iterator[tuple[str, str]]:
    """Rows of a table in a face whose letters are all as wide."""
    rows = [table.heading, *table.rows]
    columns = len(table.heading)
    whole = [row for row in rows if len(row) == columns]
    widths = [max(len(row[i]) for row in whole) for i in range(columns)]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=False)]
        text = "  ".join(cells) if len(row) == columns else "  ".join(row)
        yield f"{text.rstrip()}\n", "heading" if row is table.heading else "table"


class BarView(tk.Canvas):
    """One static weight against its limits, its figure large beside the bar where there is room.

    The allowed part is white between two ticks. The filled pointer above is the drilled ball, the
    hollow one below the undrilled; the shaded part is where the drilled weight may lie, and a hollow
    diamond is the kept plan.
    """

    def __init__(self, parent: tk.Misc, style: Appearance) -> None:
        super().__init__(
            parent,
            background=look.GROUND,
            borderwidth=0,
            highlightthickness=2,
            highlightbackground=look.GROUND,
            highlightcolor=look.ACCENT,
            takefocus=True,
        )
        self._style = style
        self._shown: tuple[Bar | None, bool] = (None, False)
        self._unknown = ""
        self._done: dict[object, object] = {}  # what Tk was told, by item
        self.figure = self.create_text(0, 0, anchor="nw", font=look.HUGE)
        self.label = self.create_text(0, 0, anchor="nw", font=look.BOLD)
        self.reading = self.create_text(0, 0, anchor="nw")
        self.outcome = self.create_text(0, 0, anchor="ne", font=look.BOLD)
        self._track = self.create_rectangle(0, 0, 0, 0, outline=look.EDGE, fill="#dedcd5")
        self._allowed = self.create_rectangle(0, 0, 0, 0, outline="", fill=look.PAPER)
        self._band = self.create_rectangle(0, 0, 0, 0, outline="")
        self._lines = [self.create_line(0, 0, 0, 0) for _ in range(3)]
        self._before = self.create_polygon(0, 0, 0, 0, 0, 0, fill=look.GROUND, outline=look.INK)
        self._kept = self.create_polygon(0, 0, 0, 0, 0, 0, fill=look.GROUND, outline=look.QUIET)
        self._planned = self.create_polygon(0, 0, 0, 0, 0, 0, fill=look.GROUND, outline=look.INK)
        self._value = self.create_polygon(0, 0, 0, 0, 0, 0)
        self.limit = self.create_text(0, 0, anchor="nw", fill=look.QUIET)
        self.undrilled = self.create_text(0, 0, anchor="ne", fill=look.QUIET)
        self.bind("<Configure>", lambda _: self._place())
        self.bind("<Button-1>", lambda _: self.focus_set())
        self.refresh()

    def refresh(self) -> None:
        """Take the present text size."""
        em = self._style.em
        self._done.clear()
        plain, bold = (font.nametofont(n, self) for n in ("TkDefaultFont", look.BOLD))
        self._indent = bold.measure("Finger ") + em // 4
        longest = plain.measure("0.00 oz positive side") + bold.measure(" ≈ close")
        self._plain, self._least = plain, self._indent + longest + em * 3 // 2
        figure = font.nametofont(look.HUGE, self)
        self._side = max(figure.measure("0.00 oz"), plain.measure("negative side")) + em
        self._high = figure.metrics("linespace")
        under = plain.measure("| within 3.00 oz") + plain.measure("▽ plan 0.00 oz positive")
        self.wide = self._side + under + em * 2
        self.configure(width=self._least, height=round(em * 3.4))
        self._place()

    def show(self, bar: Bar | None, stale: bool, unknown: str = "") -> None:
        """Show a reading, pale where it is out of date, or that it is ``unknown``."""
        if (bar, stale, unknown) != (*self._shown, self._unknown):
            self._shown, self._unknown = (bar, stale), unknown
            self._place()

    def _place(self) -> None:
        bar, stale = self._shown
        if bar is None:
            self._place_unknown()
            return
        em, width = self._style.em, self.winfo_width()
        edge = em // 2
        # a range fills a line of its own; the bar's help has the value at the default arm
        text, lower = bar.text, 0
        if bar.ranged:
            text, lower = bar.text.partition(" (")[0], self._plain.metrics("linespace")
        number, unit, *side = text.split(" ")
        beside = bool(side) and not bar.ranged and width >= self.wide
        pad = edge + self._side if beside else edge
        left, right = pad + em // 3, max(width - edge - em // 3, pad + em)
        top, bottom = round(em * 1.5) + lower, round(em * 2.0) + lower
        if self._done.get("height") != lower:
            self._done["height"] = lower
            self.configure(height=round(em * 3.4) + lower)
            self.event_generate(ANOTHER_HEIGHT)
        middle, reach = (left + right) / 2.0, (right - left) / 2.0 / (bar.scale * 1.06)

        def at(ounces: float) -> int:
            return round(middle + ounces * reach)

        self._set("all", state="normal")
        color, _, sign = look.OUTCOMES[bar.outcome]
        ink = look.PALE if stale else look.INK
        color = look.PALE if stale else color
        quiet = look.PALE if stale else look.QUIET
        self._at(self.label, pad, em // 6)
        self._set(self.label, text=_SHORT[bar.key], fill=ink)
        self._at(self.figure, edge, em // 3)
        self._set(self.figure, text=f"{number} {unit}" if beside else "", fill=color)
        if beside:
            self._at(self.reading, edge, em // 3 + self._high)
        else:
            self._at(self.reading, pad if lower else pad + self._indent, em // 6 + lower)
        self._set(self.reading, text=" ".join(side) if beside else text, fill=ink, width=0)
        self._at(self.outcome, width - edge, em // 6)
        self._set(self.outcome, text=f"{sign} {bar.outcome}", fill=color)
        self._at(self._track, left, top, right, bottom)
        self._at(self._allowed, at(bar.limits[0]), top + 1, at(bar.limits[1]), bottom)
        ground = _STALE_BAND if stale else _BANDS[bar.outcome]
        self._at(self._band, at(bar.band[0]) - 1, top + 1, at(bar.band[1]) + 1, bottom)
        self._set(self._band, fill=ground)
        for line, place in zip(self._lines, (*bar.limits, 0.0), strict=True):
            self._at(line, at(place), top - 2, at(place), bottom + 2)
            self._set(line, fill=ink if place else look.EDGE, width=2 if place else 1)
        tip, half = round(em * 0.42), round(em * 0.3)
        x = at(bar.value)
        self._at(self._value, x, top + tip, x - half, top - tip // 2, x + half, top - tip // 2)
        self._set(self._value, fill=color, outline=color)
        if bar.planned is None:
            self._set(self._planned, state="hidden")
        else:
            x = at(bar.planned)
            self._set(self._planned, state="normal")
            self._at(
                self._planned, x, top + tip, x - half, top - tip // 2, x + half, top - tip // 2
            )
        x, low = at(bar.before), bottom + tip // 2
        self._at(self._before, x, bottom - tip, x - half, low, x + half, low)
        self._set(self._before, outline=ink)
        if bar.reference is None:
            self._set(self._kept, state="hidden")
        else:
            x, y = at(bar.reference), (top + bottom) // 2
            self._set(self._kept, state="normal")
            self._at(self._kept, x, y - half, x + half, y, x, y + half, x - half, y)
        below = bottom + em // 3
        self._at(self.limit, pad, below)
        words = f"◇ {bar.difference}" if bar.difference else f"| {bar.limit_text}"
        self._set(self.limit, text=words, fill=quiet)
        self._at(self.undrilled, width - edge, below)
        before = (bar.planned_text or bar.before_text).split(" ")
        sign = "▽ plan" if bar.planned_text else "△"
        self._set(self.undrilled, text=f"{sign} {' '.join(before[:3])}", fill=quiet)

    @property
    def words(self) -> str:
        """The reading as it stands there, its figure first."""
        parts = (self.figure, self.reading)
        texts = (self.itemcget(part, "text") for part in parts)  # type: ignore[no-untyped-call]
        return " ".join(str(text) for text in texts if text)

    def _place_unknown(self) -> None:
        """Nothing but the words for a reading that is not known."""
        self._set("all", state="hidden")
        self._set(self.figure, text="")
        if self._unknown:
            em = self._style.em
            room = self.winfo_width() - em
            self._set(self.reading, state="normal", text=self._unknown, fill=look.QUIET, width=room)
            self._at(self.reading, em // 2, em // 6)

    # while a mark is dragged, most of a bar stays as it is: Tk gets only the changes

    def _at(self, item: int, *places: int) -> None:
        if self._done.get(item) != places:
            self._done[item] = places
            self.coords(item, *places)

    def _set(self, item: int | str, **options: Any) -> None:
        if item == "all":
            hidden = options["state"] == "hidden"
            if self._done.get("hidden") != hidden:
                self._done["hidden"] = hidden
                for item in (self._kept, self._planned):
                    self._done.pop((item, "options"), None)
                self.itemconfigure("all", state=options["state"])
            return
        if self._done.get((item, "options")) != options:
            self._done[item, "options"] = options
            self.itemconfigure(item, **options)


class NumbersView(ttk.Frame):
    """All numbers by group, with what they were undrilled and in the kept plan."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, helper: Help, words: Callable[[str], str]
    ) -> None:
        super().__init__(parent)
        self._style, self._words = style, words
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.tree = ttk.Treeview(self, columns=tuple(_COLUMNS), selectmode="browse", height=1)
        bar = ttk.Scrollbar(self, orient="vertical", command=self.tree.yview)
        self.tree.configure(yscrollcommand=bar.set)
        self.tree.grid(row=0, column=0, sticky="nsew")
        bar.grid(row=0, column=1, sticky="ns")
        self.grid_propagate(False)
        self._rows = _LEAST_ROWS
        self._under = ""  # the row under the pointer
        for group, title in GROUPS.items():
            self.tree.insert("", "end", group, text=title, open=True, tags=("group",))
            for spec in SPECS:
                if spec.group == group:
                    self.tree.insert(group, "end", f"{group}.{spec.key}", text=spec.label)
        self._cells: dict[str, tuple[str, ...]] = {}
        self._missing: dict[str, str] = {}  # what a row's help says of a number that is not known
        self._hidden: set[str] = set()
        self._compared: bool | None = None
        self.tree.bind("<<TreeviewSelect>>", lambda _: helper.say(short(self._help_of_selected())))
        self.tree.bind("<Motion>", self._moved, add="+")
        self.tree.bind("<Configure>", lambda _: self._share())
        helper.attach(self.tree, lambda: self._help(self._under), parts=True)
        self.refresh()
        self.show(None, False, False)

    def refresh(self) -> None:
        """Take the present text size."""
        em = self._style.em
        self.tree.tag_configure("group", font=look.BOLD, background=look.GROUND)
        self.tree.tag_configure("stale", foreground=look.PALE)
        plain = font.nametofont("TkDefaultFont", self)
        widest = max(plain.measure(spec.label) for spec in SPECS if spec.group != "core")
        self._widest = widest + em
        self.tree.column("#0", width=self._widest, minwidth=em * 6, stretch=True)
        bold = font.nametofont(look.BOLD, self)
        titles = max(bold.measure(title) for title in _COLUMNS.values())
        self._narrow = max(plain.measure("12 15/16 in"), titles) + em // 2
        for name, title in _COLUMNS.items():
            self.tree.heading(name, text=title, anchor="e")
            self.tree.column(name, width=self._narrow, minwidth=em * 3, anchor="e", stretch=False)
        self.tree.heading("#0", text="reading", anchor="w")
        self.ask(self._rows)

    def ask(self, rows: int) -> None:
        """Ask for so many rows, and for no more width than is of use: the columns take what there is."""
        self._rows = rows
        high = self._style.pixels(look.ROW * rows + 1.7)  # with the headings
        self.configure(width=self.least, height=high)

    @property
    def least(self) -> int:
        """The width in pixels below which names and numbers are of no use side by side."""
        return self._style.em * 7 + 2 * self._narrow

    def _share(self) -> None:
        """Choose the columns that there is room for; give the names what the numbers leave."""
        room = self.tree.winfo_width() - 2
        shown: tuple[str, ...] = ("text", "before")
        if self._compared:
            wide = room >= self._widest + 3 * self._narrow
            shown = (*shown, "difference") if wide else ("text", "difference")
        if tuple(map(str, self.tree.cget("displaycolumns"))) != shown:
            self.tree.configure(displaycolumns=shown)
        names = min(self._widest * 3 // 2, room - self._narrow * len(shown))
        self.tree.column("#0", width=max(names, self._style.em * 6))
        for name in shown:
            self.tree.column(name, width=max((room - names) // len(shown), self._narrow))

    def show(self, readings: Readings | None, stale: bool, compared: bool) -> None:
        """Show the numbers, pale where they are out of date."""
        if compared != self._compared:
            self._compared = compared
            self._share()
        rows = () if readings is None else readings.rows
        tags = ("stale",) if stale else ()
        seen = set()
        for row in rows:
            iid = f"{row.group}.{row.key}"
            cells = (row.text, row.before, row.difference)
            if not row.text:
                continue
            seen.add(iid)
            self._missing[iid] = row.missing
            if self._cells.get(iid) != (*cells, *tags):
                self._cells[iid] = (*cells, *tags)
                self.tree.item(iid, values=cells, tags=tags)
        self._hide({f"{s.group}.{s.key}" for s in SPECS} - seen)

    def _hide(self, hidden: set[str]) -> None:
        if hidden == self._hidden:
            return
        self._hidden = hidden
        for group in GROUPS:
            keys = [f"{group}.{s.key}" for s in SPECS if s.group == group]
            self.tree.set_children(group, *[k for k in keys if k not in hidden])
        self.tree.set_children("", *[g for g in GROUPS if self.tree.get_children(g)])

    def cell(self, key: str, column: str = "text") -> str:
        """What a reading shows in a column."""
        group = next(s.group for s in SPECS if s.key == key)
        return str(self.tree.set(f"{group}.{key}", column))

    def _moved(self, event: tk.Event[tk.Misc]) -> None:
        self._under = self.tree.identify_row(event.y)

    def _help_of_selected(self) -> str:
        selected: Sequence[str] = self.tree.selection()
        return self._help(selected[0]) if selected else ""

    def _help(self, iid: str) -> str:
        key = iid.partition(".")[2]
        if not key:
            return ""
        label = next(spec.label for spec in SPECS if spec.key == key)
        missing = self._missing.get(iid, "")
        return f"{label}{f': {missing}' if missing else ''}\n{self._words(key)}"
