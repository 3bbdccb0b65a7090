"""The dialogs about the shop's scale: its arm from known weights, and a fit to weighed jobs."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path
from tkinter import filedialog, ttk
from typing import TYPE_CHECKING

from gui.state.help_texts import SHOP
from gui.state.presenter import Presenter, Refresh
from gui.state.scale import (
    COLUMNS,
    HOW,
    READING,
    USUAL_READING,
    Fitting,
    Tried,
    TypedTest,
    fitting,
    held,
    keep_arm,
    keep_fit,
    kept_tests,
    tried,
)
from gui.views import style as look
from gui.views.dialogs import Dialog, Progress, Reader, focused
from gui.views.text_view import TextView
from gui.views.timer import Timer
from gui.views.tooltips import Help
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from gui.views.style import Appearance

_FEWEST = 3  # rows that are there at once
_MOST = 12  # rows; what is more is no test of one scale
_HOW_FIT = (
    "Choose a folder of job records that hold what the drilled balls weighed. The arm and the usual "
    "densities are fitted to them, drawn toward the defaults; each job is also predicted from the others "
    "alone, which shows what the fit is worth."
)


class Helped(Dialog):
    """A dialog with help on what has the keyboard: a hint at its foot, and more on F1."""

    def __init__(self, parent: tk.Misc, style: Appearance, title: str) -> None:
        super().__init__(parent, style, title)
        # always two lines, else each help would move the buttons
        self._room = ttk.Frame(self, height=style.pixels(2.3))
        self._room.pack_propagate(False)
        self.hint = ttk.Label(self._room, style="Quiet.TLabel", justify="left", anchor="nw")
        self.hint.pack(fill="both", expand=True)
        edge = style.pixels(0.8)  # a label has some room around its text
        self._room.bind("<Configure>", lambda e: self.hint.configure(wraplength=e.width - edge))
        self.help = Help(self._hint, style.pixels)
        self.bind("<F1>", lambda _: self._explain())

    def _hint(self, words: str) -> None:
        self.hint.configure(text=words)

    def explained(self, widget: tk.Widget, key: str, label: str) -> None:
        """Give a widget its help from the table of explanations."""
        self.help.attach(widget, f"{label}\n{SHOP[key].words()}")

    def _explain(self) -> str:
        words = self.help.of(focused(self))
        if words:
            Reader(self, self.style, "What is this?", [(words, "")], 52, 12)
        return "break"


class ScaleDialog(Helped):
    """Rows of tests, the arm that they give, and a button that keeps it in the shop's file."""

    def __init__(self, parent: tk.Misc, style: Appearance, presenter: Presenter) -> None:
        super().__init__(parent, style, "Shop's scale")
        self.presenter, self.file = presenter, presenter.shop
        self.tried = Tried("")
        self.rows: list[dict[str, ttk.Entry]] = []
        self._numbers: list[ttk.Label] = []
        self._texts: list[dict[str, tk.StringVar]] = []
        self._waiting = Timer(self)
        self._trouble = self._kept = ""
        self._lay_out()
        rows: list[TypedTest] = []
        try:
            rows, by = kept_tests(self.file)
            self.by.insert(0, by)
        except InputError as error:
            self._trouble = str(error)
        for row in rows[:_MOST]:
            self._add(row)
        if len(rows) > _MOST:
            self._trouble = (
                f"The shop's file holds {len(rows)} tests, of which {_MOST} have room here; "
                "`layoutkit scale` takes more."
            )
        while len(self.rows) < _FEWEST:
            self._add(self._next())
        self.show()
        self.rise(self.rows[0]["weight"])

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self) -> None:
        pad, wide = self.style.pixels(0.6), self.style.pixels(44)
        ttk.Label(self, text=HOW, wraplength=wide, justify="left").grid(
            row=0, column=0, sticky="w", padx=pad, pady=(pad, 0)
        )
        self._grid = ttk.Frame(self)
        self._grid.grid(row=1, column=0, sticky="w", padx=pad, pady=pad)
        for column, (heading, name, unit) in enumerate(COLUMNS, 1):
            label = ttk.Label(
                self._grid, text=f"{heading}, {unit}", style="Quiet.TLabel", justify="left",
                wraplength=self.style.pixels(9),
            )  # fmt: skip
            label.grid(row=0, column=column, sticky="sw", padx=(0, pad))
            self.explained(label, name, heading)
        below = ttk.Frame(self)
        below.grid(row=2, column=0, sticky="ew", padx=pad)
        self.button(below, "add", "Add a test", 0, self.add).pack(side="left")
        self.reading = self._single(below, "reading", f"{READING}, oz", 7)
        self.reading.insert(0, USUAL_READING)
        self.by = self._single(below, "by", "Calibrated by", 14)
        self.findings = TextView(self, self.style, 84, 9)
        self.findings.grid(row=3, column=0, sticky="nsew", padx=pad, pady=(pad, 0))
        self.rowconfigure(3, weight=1)
        self._room.grid(row=4, column=0, sticky="ew", padx=pad)
        foot = ttk.Frame(self)
        foot.grid(row=5, column=0, sticky="e", padx=pad, pady=pad)
        self.button(foot, "keep", "Keep in the shop's file", 0, self.keep).pack(side="left")
        self.button(foot, "close", "Close", 0, self.leave).pack(side="left", padx=(pad, 0))
        for entry in (self.reading, self.by):
            entry.bind("<KeyRelease>", lambda _: self._typed())

    def _single(self, parent: tk.Misc, key: str, label: str, width: int) -> ttk.Entry:
        pad = self.style.pixels(0.4)
        ttk.Label(parent, text=label).pack(side="left", padx=(pad * 3, pad))
        entry = ttk.Entry(parent, width=width, font="TkTextFont")
        entry.pack(side="left")
        self.explained(entry, key, label.partition(",")[0])
        return entry

    def _next(self) -> TypedTest:
        """A new row: the ball and the kind of weight of the row before."""
        last = self.typed[-1] if self.rows else TypedTest()
        return last._replace(weight="", growth="")

    def _add(self, row: TypedTest) -> None:
        pad, place = self.style.pixels(0.6), len(self.rows) + 1
        number = ttk.Label(self._grid, width=3, anchor="e")
        number.grid(row=place, column=0, padx=(0, pad // 2))
        entries, texts = {}, {}
        for column, (heading, name, _) in enumerate(COLUMNS, 1):
            text = tk.StringVar(self, getattr(row, name))
            text.trace_add("write", lambda *_: self._typed())
            entry = ttk.Entry(self._grid, textvariable=text, width=11, font="TkTextFont")
            entry.grid(row=place, column=column, sticky="w", padx=(0, pad), pady=1)
            self.explained(entry, name, heading)
            entry.bind("<Return>", partial(self._down, place - 1, name))
            entry.bind("<Down>", partial(self._down, place - 1, name))
            entry.bind("<Up>", partial(self._go, place - 2, name))
            entries[name], texts[name] = entry, text
        self.rows.append(entries)
        self._texts.append(texts)
        self._numbers.append(number)
        self.buttons["add"].state(["disabled" if len(self.rows) >= _MOST else "!disabled"])

    # --- the tests --------------------------------------------------------------------------------

    @property
    def typed(self) -> list[TypedTest]:
        """The tests as typed in the rows."""
        return [
            TypedTest(**{name: text.get() for name, text in each.items()}) for each in self._texts
        ]

    def add(self) -> None:
        """One more row, the keyboard in it."""
        if len(self.rows) >= _MOST:
            self.bell()
            return
        self._add(self._next())
        self.rows[-1]["weight"].focus_set()
        self.geometry("")  # as high as it now has to be

    def _go(self, row: int, name: str, _: tk.Event[tk.Misc]) -> str:
        if 0 <= row < len(self.rows):
            self.rows[row][name].focus_set()
            self.rows[row][name].selection_range(0, "end")
        return "break"

    def _down(self, row: int, name: str, event: tk.Event[tk.Misc]) -> str:
        return self._go(row + 1, name, event)

    def _typed(self) -> None:
        self._kept = ""
        self._waiting.start(look.REST, self.show)

    def show(self) -> None:
        """Work the arm out again; show it, or why there is none."""
        self._waiting.stop()
        rows = self.typed
        self.tried = outcome = tried(rows, self.reading.get())
        count = 0
        for i, (row, number) in enumerate(zip(rows, self._numbers, strict=True)):
            count += row.used
            number.configure(text=f"{count}." if row.used else "")
            for name, entry in self.rows[i].items():
                bad = (
                    outcome.wrong is not None and outcome.wrong[0] == i and outcome.wrong[1] == name
                )
                entry.configure(style="Bad.TEntry" if bad else "TEntry")
        bad = outcome.wrong is not None and outcome.wrong[0] is None
        self.reading.configure(style="Bad.TEntry" if bad else "TEntry")
        tag = "fail" if outcome.wrong is not None else "table" if outcome.arm is not None else ""
        sign = "✗ " if outcome.wrong is not None else ""
        pieces = [(f"{sign}{outcome.words}\n", tag)]
        if self._trouble:
            pieces.insert(0, (f"✗ {self._trouble}\n", "fail"))
        if self._kept:
            pieces.append((f"✓ {self._kept}\n", "pass"))
        self.findings.show(pieces)
        usable = outcome.arm is not None and not self._trouble
        self.buttons["keep"].state(["!disabled" if usable else "disabled"])

    def keep(self) -> None:
        """Write the arm into the shop's file; the present job follows where it states none."""
        self.show()
        if self.tried.arm is None or self._trouble:
            self.bell()
            return
        try:
            keep_arm(self.file, self.tried, date.today().isoformat(), self.by.get())
        except InputError as error:
            self.findings.show([(f"✗ {error}", "fail")])
            return
        own = self.presenter.entry("scale.arm").strip()
        then = f" This record states its own, {own}, and keeps it." if own else ""
        self._kept = f"Kept in {self.file.path}: jobs that state no arm take it.{then}"
        self.show()


class FitDialog(Helped):
    """A folder of weighed jobs, what is fitted to them, and the switch that takes it."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        folder: str = "",
        keep: Callable[[str], object] = lambda _: None,
    ) -> None:
        super().__init__(parent, style, "Fit to weighed jobs")
        self.presenter, self.file, self.folder = presenter, presenter.shop, folder
        self._remember = keep
        self.fitting: Fitting | None = None
        self.progress: Progress | None = None
        self._said: tuple[str, str] = ("", "")
        self.taking = tk.BooleanVar(self, self.file.taking)
        self._lay_out()
        self._end = presenter.subscribe(self._changed)
        self.bind("<Destroy>", self._gone, add="+")
        self.show()
        self.rise(self.buttons["choose"])

    def _lay_out(self) -> None:
        pad, wide = self.style.pixels(0.6), self.style.pixels(46)
        ttk.Label(self, text=_HOW_FIT, wraplength=wide, justify="left").grid(
            row=0, column=0, sticky="w", padx=pad, pady=(pad, 0)
        )
        self.findings = TextView(self, self.style, 88, 18)
        self.findings.grid(row=1, column=0, sticky="nsew", padx=pad, pady=pad)
        self.rowconfigure(1, weight=1)
        self.check = ttk.Checkbutton(
            self, text="Take what was fitted where a record is silent, until the program ends",
            variable=self.taking, underline=0, command=self.take,
        )  # fmt: skip
        self.check.grid(row=2, column=0, sticky="w", padx=pad)
        self.bind("<Alt-t>", lambda _: self.check.invoke())
        self.explained(self.check, "take", "Take what was fitted")
        self._room.grid(row=3, column=0, sticky="ew", padx=pad)
        foot = ttk.Frame(self)
        foot.grid(row=4, column=0, sticky="e", padx=pad, pady=pad)
        for name, text, command in (
            ("choose", "Fit to a folder ...", self.choose),
            ("keep", "Keep in the shop's file", self.keep),
            ("close", "Close", self.leave),
        ):
            made = self.button(foot, name, text, 0, command)
            made.pack(side="left", padx=(pad, 0))
            if name in SHOP:
                self.explained(made, name, text.removesuffix(" ..."))

    def choose(self) -> None:
        """Choose a folder and fit to its jobs, in a thread."""
        if self.progress is not None and self.progress.winfo_exists():
            return
        folder = filedialog.askdirectory(
            parent=self, title="A folder of weighed jobs", initialdir=self.folder or None,
            mustexist=True,
        )  # fmt: skip
        if not folder:
            return
        self.folder = folder
        self.progress = Progress(
            self, self.style, "Fit to weighed jobs", "Planning the weighed jobs ...",
            partial(fitting, Path(folder), self.file.path), self._done, self._failed,
        )  # fmt: skip

    def _done(self, fitting: Fitting) -> None:
        self.fitting, self._said = fitting, ("", "")
        if fitting.fit is not None:
            self._remember(self.folder)
        self.show()
        self.buttons["choose" if fitting.fit is None else "keep"].focus_set()

    def _failed(self, error: BaseException) -> None:
        raise error  # a fault of the program: told and logged like any other

    def keep(self) -> None:
        """Write the fit into the shop's file."""
        if self.fitting is None or self.fitting.fit is None:
            self.bell()
            return
        try:
            keep_fit(self.file, self.fitting.fit, date.today().isoformat())
        except InputError as error:
            self._said = (f"✗ {error}\n\n", "fail")
        else:
            self._said = (f"✓ Kept in {self.file.path}.\n\n", "pass")
        self.show()

    def take(self) -> None:
        """Take the fit of the shop's file from now on, or no longer."""
        if self.taking.get() != self.file.taking:
            self.presenter.toggle_fitted()
        self.show()

    def show(self) -> None:
        """Show what the file holds, the new fit, and the switch as it is."""
        try:
            pieces = [(f"{held(self.file)}\n\n", "table")]
        except InputError as error:
            pieces = [(f"✗ {error}\n\n", "fail")]
        fit = None
        if self.fitting is not None:
            fit = self.fitting.fit
            name = f"{Path(self.folder).name}\n"
            words = self.fitting.words
            pieces += [(name, "bold"), (f"{words}\n", "fail" if fit is None else "table")]
        if self._said[0]:
            pieces.insert(0, self._said)
        elif fit is not None:
            pieces.append(("Nothing is kept yet.", "quiet"))
        self.findings.show(pieces)
        self.buttons["keep"].state(["disabled" if fit is None else "!disabled"])
        self.taking.set(self.file.taking)
        self.check.state(["!disabled" if self.presenter.can_take_fitted else "disabled"])

    def _changed(self, change: Refresh) -> None:
        # the menu has the same switch
        if change.has("plan", "problems") and self.taking.get() != self.file.taking:
            self.show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
