"""The check-in desk in a window of its own: fields and marks for one ball, its verdict large, the list.

All of it can be done by keys. It decides nothing: `gui.state.desk` does.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from pathlib import Path
from tkinter import filedialog, font, ttk
from typing import TYPE_CHECKING

from gui.state import columns, settings
from gui.state.commands import on_system, words_on_system
from gui.state.desk import LABELS, MARKS, UNIT_OF, Ball, Desk, log_pdf
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.dialogs import Dialog, Progress, Reader
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.bench.checkin import COLUMNS
from layoutkit.errors import InputError
from layoutkit.job.built_in_rules import BUILT_IN
from layoutkit.job.files import write_atomic
from layoutkit.job.shop import Shop
from layoutkit.job.tables import Table
from layoutkit.output.checkin_guide import GUIDE
from layoutkit.output.checkin_report import HEAD, scale_words
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

KEYS = (
    "Return: next field, then next ball. Up: corrections. F7: same owner. Ctrl+Z: take back. "
    "Ctrl+F: find. F1: all keys, and how to weigh."
)
GUIDE_KEYS = """\
the desk's keys:
  Return          the next field; the next ball once every weight is there, or after the last field
  Ctrl+Return     the next ball from anywhere
  Tab             the next field; Shift+Tab the one before
  Up, Down        the ball before and after, to correct it
  F2 to F6        what was looked at: one press a step, with Shift a step back
  F7              the owner of the ball before
  F9              static weights, or two raw readings each
  Ctrl+Z          take back what was typed last; Ctrl+Delete takes the whole ball out
  Ctrl+F          find by serial, owner or number; Return opens, Esc goes back to the next ball
  Nothing needs saving: every letter is kept at once, and the desk goes on where it stopped.

"""
TABLES = (("Tables", "*.csv *.txt *.tsv"), ("All files", "*"))
_WIDE = (5, 11, 9, 10, 8, 9, 9, 9, 11)  # letters of each column
_NONE = "none"  # the style while there is no verdict


class DeskDialog(Dialog):
    """The desk; it goes on with the check-in that was not ended."""

    def __init__(
        self, parent: tk.Misc, style: Appearance, config: Path, shop: Shop | None = None
    ) -> None:
        super().__init__(parent, style, "Check-in desk")
        self.config_folder = config
        self.desk = Desk(config, shop)
        self._loading = False
        self._resting = Timer(self)
        self.progress: Progress | None = None
        self._lay_out()
        self._make_fields()
        self._bind_keys()
        self.protocol("WM_DELETE_WINDOW", self.leave)
        self.bind("<Destroy>", self._gone, add="+")
        self.again(self.desk.message)
        self.rise(self.entries[self._first()])
        self.arrive(self._first())

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.5)
        self.strip = ttk.Frame(self)
        self.strip.grid(row=0, column=0, columnspan=2, sticky="ew")
        self.headline = ttk.Label(self.strip, anchor="w", wraplength=self.style.pixels(58))
        self.headline.pack(side="left", fill="x", expand=True, padx=pad, pady=pad)
        self.reasons = TextView(self, self.style, 84, 5)
        self.reasons.text.configure(takefocus=False)
        self.reasons.grid(row=1, column=0, columnspan=2, sticky="nsew", padx=pad, pady=pad)
        left = ttk.Frame(self)
        left.grid(row=2, column=0, sticky="nw", padx=pad)
        self._form = ttk.Frame(left)
        self._form.pack(anchor="w")
        marks = ttk.Frame(left)
        marks.pack(anchor="w", pady=(pad, 0))
        self.marks: dict[str, ttk.Label] = {}
        for row, mark in enumerate(MARKS):
            ttk.Label(marks, text=f"{mark.key}  {mark.label}").grid(row=row, column=0, sticky="w")
            label = ttk.Label(marks, style="Bold.TLabel", width=14)
            label.grid(row=row, column=1, sticky="w", padx=(pad, 0))
            self.marks[mark.name] = label
        self._lay_out_list(pad)
        self.columnconfigure(0, weight=0)
        self.columnconfigure(1, weight=1)
        self.rowconfigure(2, weight=1)
        self._lay_out_foot(pad)

    def _lay_out_list(self, pad: int) -> None:
        right = ttk.Frame(self)
        right.grid(row=2, column=1, sticky="nsew", padx=(0, pad))
        right.columnconfigure(1, weight=1)
        right.rowconfigure(1, weight=1)
        ttk.Label(right, text="Find").grid(row=0, column=0, sticky="w", padx=(0, pad))
        self.search = tk.StringVar(self)
        self.box = ttk.Entry(right, textvariable=self.search, font="TkTextFont")
        self.box.grid(row=0, column=1, columnspan=2, sticky="ew", pady=(0, pad))
        self.table = ttk.Treeview(
            right, columns=HEAD, show="headings", selectmode="browse", height=10, takefocus=False
        )
        letter = font.nametofont("TkDefaultFont", self).measure("0")
        for name, wide in zip(HEAD, _WIDE, strict=True):
            self.table.heading(name, text=name, anchor="w")
            self.table.column(name, width=letter * wide, anchor="w", stretch=name == "owner")
        for outcome, (color, _, _) in look.OUTCOMES.items():
            self.table.tag_configure(outcome, foreground=color)
        bar = ttk.Scrollbar(right, orient="vertical", command=self.table.yview)
        self.table.configure(yscrollcommand=bar.set)
        self.table.grid(row=1, column=0, columnspan=2, sticky="nsew")
        bar.grid(row=1, column=2, sticky="ns")
        self.tally = ttk.Label(
            right, style="Bold.TLabel", wraplength=self.style.pixels(40), justify="left"
        )
        self.tally.grid(row=2, column=0, columnspan=3, sticky="w", pady=pad)

    def _lay_out_foot(self, pad: int) -> None:
        row = ttk.Frame(self)
        row.grid(row=3, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad, 0))
        ttk.Label(row, text="Rules").pack(side="left")
        self.rules = choice_box(row, BUILT_IN, self._rules_chosen)
        self.rules.pack(side="left", padx=(pad // 2, pad))
        self.readings = tk.BooleanVar(self)
        ttk.Checkbutton(
            row, text="Two raw readings a weight (F9)", variable=self.readings,
            command=lambda: self._set_readings(self.readings.get()),
        ).pack(side="left", padx=(0, pad))  # fmt: skip
        self.event = self._single(row, "Event and day", 20, self._title_typed)
        self._title = tk.StringVar(self)  # kept letter by letter, as a ball's fields are
        self._title.trace_add("write", lambda *_: self._title_typed())
        self.event.configure(textvariable=self._title)
        below = ttk.Frame(self)
        below.grid(row=4, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad // 2, 0))
        self.scale = self._single(below, "Scale, empty for the shop's", 18, self._scale_typed)
        self.basis = ttk.Label(below, style="Quiet.TLabel")
        self.basis.pack(side="left")
        self.message = ttk.Label(self, wraplength=self.style.pixels(60), justify="left")
        self.message.grid(row=5, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad, 0))
        keys = ttk.Label(
            self,
            text=words_on_system(KEYS, self.system),
            style="Quiet.TLabel",
            wraplength=self.style.pixels(62),
            justify="left",
        )
        keys.grid(row=6, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0))
        buttons = ttk.Frame(self)
        buttons.grid(row=7, column=0, columnspan=2, sticky="e", padx=pad, pady=pad)
        for name, text, letter, command in (
            ("next", "Next ball", 0, self.next),
            ("open", "Open ...", 0, self.open_table),
            ("csv", "Table ...", 0, self.write_csv),
            ("log", "Log ...", 0, self.write_log),
            ("book", "Into the book", 9, self.into_book),
            ("anew", "New check-in", 8, self.start_anew),
            ("guide", "Guide", 0, self.show_guide),
            ("close", "Close", 0, self.leave),
        ):
            made = self.button(buttons, name, text, letter, command)
            made.configure(takefocus=False)
            made.pack(side="left", padx=(pad // 2, 0))

    def _single(
        self, row: ttk.Frame, label: str, width: int, typed: Callable[[], bool]
    ) -> ttk.Entry:
        pad = self.style.pixels(0.5)
        ttk.Label(row, text=label).pack(side="left")
        entry = ttk.Entry(row, width=width, font="TkTextFont")
        entry.pack(side="left", padx=(pad // 2, pad))

        def returned(_: tk.Event[tk.Misc]) -> None:
            if typed():
                self.arrive(self._first())

        entry.bind("<Return>", returned)
        entry.bind("<FocusOut>", lambda _: typed())
        return entry

    def _make_fields(self) -> None:
        """The fields of one ball, for weights or for readings."""
        for child in self._form.winfo_children():
            child.destroy()
        pad = self.style.pixels(0.3)
        self.entries: dict[str, ttk.Entry] = {}
        self.texts: dict[str, tk.StringVar] = {}
        for row, name in enumerate(self.desk.fields):
            ttk.Label(self._form, text=LABELS[name]).grid(row=row, column=0, sticky="w")
            text = tk.StringVar(self)
            text.trace_add("write", partial(self._typed, name))
            entry = ttk.Entry(self._form, textvariable=text, width=18, font="TkTextFont")
            entry.grid(row=row, column=1, sticky="w", padx=pad, pady=1)
            unit = UNIT_OF.get(name, "")
            ttk.Label(self._form, text=unit, style="Quiet.TLabel").grid(row=row, column=2)
            entry.bind("<Return>", partial(self._returned, name))
            entry.bind(on_system("<Control-Return>", self.system), self._next_pressed)
            for key, by in (("Up", -1), ("Down", 1)):
                entry.bind(f"<{key}>", partial(self._moved, name, by))
            self.entries[name], self.texts[name] = entry, text

    def _bind_keys(self) -> None:
        for mark in MARKS:
            self.bind(f"<{mark.key}>", partial(self._marked, mark.name, 1))
            self.bind(f"<Shift-{mark.key}>", partial(self._marked, mark.name, -1))
        for key, action in (
            ("F1", self.show_guide),
            ("F7", self.same_owner),
            ("F9", lambda: self._set_readings(not self.desk.by_readings)),
            ("Control-Return", self.next),
            ("Control-z", self.undo),
            ("Control-Z", self.undo),
            ("Control-Delete", self.drop),
            ("Control-f", self.box.focus_set),
        ):
            self.bind(on_system(f"<{key}>", self.system), partial(_do, action))
        self.search.trace_add("write", lambda *_: self.fill_list())
        self.box.bind("<Return>", lambda _: self._open_found())
        for key, by in (("Up", -1), ("Down", 1)):
            self.box.bind(f"<{key}>", partial(self._choose, by))
        self.table.bind("<<TreeviewSelect>>", lambda _: self._selected())

    # --- typing -----------------------------------------------------------------------------------

    def _first(self) -> str:
        """The field in which a ball begins: its number is usually there."""
        return "owner" if self.desk.text("number") else "number"

    def arrive(self, name: str) -> None:
        """Put the keyboard into a field, what stands in it marked."""
        entry = self.entries[name]
        entry.focus_set()
        entry.selection_range(0, "end")
        entry.icursor("end")

    def _typed(self, name: str, *_: str) -> None:
        if not self._loading:
            self.desk.edit(name, self.texts[name].get())
            self.tell()

    def _returned(self, name: str, _: tk.Event[tk.Misc]) -> str:
        after = self.desk.after(name)
        if after:
            self.arrive(after)
        else:
            self.next()
        return "break"

    def _next_pressed(self, _: tk.Event[tk.Misc]) -> str:
        self.next()
        return "break"

    def next(self) -> None:
        """Go to the next ball."""
        if self.desk.next():
            self.search.set("")
            self.show()
            self.arrive(self._first())
        else:
            self.show(self.desk.message)
            self.bell()

    def _moved(self, name: str, by: int, _: tk.Event[tk.Misc]) -> str:
        if self.desk.move(by):
            self.show()
            self.arrive(name)
        else:
            self.bell()
        return "break"

    def _marked(self, name: str, by: int, _: tk.Event[tk.Misc]) -> str:
        self.desk.mark(name, by)
        self.tell()
        return "break"

    def same_owner(self) -> None:
        """Take the owner of the ball before."""
        self.desk.same_owner()
        self.show()

    def undo(self) -> None:
        """Take back what was typed last."""
        if not self.desk.undo():
            self.bell()
        self.fill_list()
        self.show(self.desk.message)

    def drop(self) -> None:
        """Take the ball out of the list."""
        self.desk.drop()
        self.fill_list()
        self.show(self.desk.message)
        self.arrive(self._first())

    def refuse(self) -> None:
        """Escape: no search any more, and the ball that comes next."""
        self.search.set("")
        self.desk.go(len(self.desk.balls) - 1)
        self.show()
        self.arrive(self._first())

    # --- what is shown ----------------------------------------------------------------------------

    def show(self, said: str = "") -> None:
        """Show the ball that is typed, and what is to be said."""
        self._loading = True
        for name, text in self.texts.items():
            if text.get() != self.desk.text(name):
                text.set(self.desk.text(name))
        self._loading = False
        self.tell()
        if said:
            self._say(said)

    def tell(self) -> None:
        """Say what is known of the ball that is typed."""
        desk = self.desk
        said = desk.said()
        sign = "" if said.outcome is None else f"{look.OUTCOMES[said.outcome][2]} "
        kind = said.outcome or _NONE
        self.strip.configure(style=f"{kind}.Strip.TFrame")
        self.headline.configure(
            text=printable(f"{sign}{said.headline}"), style=f"{kind}.Huge.TLabel"
        )
        tag = {"fail": "fail", "close": "close", "pass": "pass"}.get(kind, "")
        pieces = [(f"{printable(words)}\n", "bold") for words in desk.earlier()]
        pieces += [(f"{printable(words)}\n", tag) for words in said.reasons]
        not_seen = desk.not_seen()
        if not desk.ball.blank and not_seen:
            pieces.append((f"{not_seen}\n", "quiet"))
        self.reasons.show(pieces)
        for name, label in self.marks.items():
            label.configure(text=printable(desk.text(name) or "not looked at"))
        self._say("")
        self._row()
        self._resting.start(look.REST, self.count)

    def count(self) -> None:
        """The running tally; it takes a moment where the list is long."""
        self.tally.configure(text=printable(self.desk.tally()))

    def _say(self, words: str) -> None:
        trouble = self.desk.trouble
        self.message.configure(
            text=printable(f"✗ {trouble}" if trouble else words_on_system(words, self.system)),
            style="Bad.TLabel" if trouble else "TLabel",
        )

    def _row(self) -> None:
        """Show the ball that is typed in the list."""
        ball = self.desk.ball
        name = str(ball.id)
        if self.table.exists(name):
            self._write(ball)
        elif not ball.blank and not self.search.get():
            self.table.insert("", "end", name)
            self._write(ball)
        if self.table.exists(name):
            self.table.selection_set(name)
            self.table.see(name)
        else:
            self.table.selection_set(())

    def _write(self, ball: Ball) -> None:
        cells = self.desk.row(ball)
        outcome = cells[-1].lower().removesuffix(" ?")
        self.table.item(str(ball.id), values=tuple(map(printable, cells)), tags=(outcome,))

    def fill_list(self) -> None:
        """Show the whole list, or what the search finds."""
        text = self.search.get()
        balls = [self.desk.balls[n] for n in self.desk.found(text)] if text else self.desk.listed
        self.table.delete(*self.table.get_children())
        for ball in balls:
            self.table.insert("", "end", str(ball.id))
            self._write(ball)
        if text and balls:
            self.table.selection_set(str(balls[0].id))
        elif balls:
            self.table.see(str(balls[-1].id))

    # --- finding ----------------------------------------------------------------------------------

    def _choose(self, by: int, _: tk.Event[tk.Misc]) -> str:
        """Choose another row while the keyboard stays in the box."""
        names = self.table.get_children()
        if names:
            chosen = self.table.selection()
            place = (names.index(chosen[0]) if chosen else -1) + by
            self.table.selection_set(names[min(max(place, 0), len(names) - 1)])
            self.table.see(self.table.selection()[0])
        return "break"

    def _open_found(self) -> str:
        chosen = self.table.selection()
        if chosen:
            self.search.set("")
            self._go(chosen[0])
            self.arrive("gross")
        else:
            self.bell()
        return "break"

    def _selected(self) -> None:
        """A row that was pressed is the ball to correct; one that the box walks over is not yet."""
        chosen = self.table.selection()
        if chosen and self.focus_get() is not self.box and chosen[0] != str(self.desk.ball.id):
            self._go(chosen[0])

    def _go(self, name: str) -> None:
        balls = self.desk.balls
        self.desk.go(next(n for n, ball in enumerate(balls) if str(ball.id) == name))
        self.show()

    # --- settings ---------------------------------------------------------------------------------

    def _show_settings(self) -> None:
        self._loading = True
        self.rules.set(self.desk.rules_name)
        self.readings.set(self.desk.by_readings)
        self.basis.configure(text=printable(scale_words(self.desk.scale)))
        for entry, text in ((self.scale, self.desk.scale_text), (self.event, self.desk.title)):
            if entry.get() != text:
                entry.delete(0, "end")
                entry.insert(0, text)
        self.scale.configure(style="TEntry")
        self._loading = False

    def _rules_chosen(self) -> None:
        self.desk.set_rules(self.rules.get())
        self.again()

    def _set_readings(self, on: bool) -> None:
        self.desk.set_by_readings(on)
        said = self.desk.message
        self._make_fields()
        self.again(said)
        self.arrive(self._first())

    def _scale_typed(self) -> bool:
        """Take the scale that is typed; where it cannot be read it stays to be corrected: False, told."""
        text = self.scale.get().strip()
        if text == self.desk.scale_text:
            self.scale.configure(style="TEntry")
            return True
        self.desk.set_scale(text)
        refused = self.desk.scale_text != text
        self.scale.configure(style="Bad.TEntry" if refused else "TEntry")
        if refused:
            self._say(f"✗ {self.desk.message}")
        else:
            self.again(self.desk.message)
        return not refused

    def _title_typed(self) -> bool:
        if not self._loading and self.event.get() != self.desk.title:
            self.desk.set_title(self.event.get())
        return True

    def again(self, said: str = "") -> None:
        """Judge and show everything anew."""
        self._show_settings()
        self.fill_list()
        self.show(said)

    def start_anew(self) -> None:
        """End this check-in and begin another."""
        if not self._scale_typed():
            return
        self.desk.start_anew()
        self._make_fields()
        self.again(self.desk.message)
        self.arrive(self._first())

    # --- tables, log and guide --------------------------------------------------------------------

    def open_table(self) -> None:
        """Choose a table of balls and add them; what its columns are is asked once."""
        folder = settings.load(self.config_folder).last_folder
        path = filedialog.askopenfilename(
            parent=self, title="Open a table of balls", initialdir=folder or None, filetypes=TABLES
        )
        read = self.desk.read(path) if path else None
        if read is None:
            if path:
                self._say(f"✗ {self.desk.message}")
            return
        text, table = read
        answer = self.desk.answer_for(table)
        take = partial(self._take, text, Path(path).name)
        if answer is None:
            ColumnsDialog(self, self.style, table, take)
        else:
            take(answer)

    def _take(self, text: str, name: str, answer: columns.Answer) -> str:
        """Add the balls; why they are not added, empty where they are."""
        done = self.desk.take_table(text, name, answer)
        said = self.desk.message
        self._make_fields()
        self.again(said if done else f"✗ {said}")
        return "" if done else said

    def _place(self, title: str, ending: str) -> Path | None:
        name = filedialog.asksaveasfilename(
            parent=self,
            title=title,
            initialdir=settings.load(self.config_folder).last_folder or None,
            initialfile=f"checkin-{self.desk.begun}{ending}",
            defaultextension=ending,
            filetypes=((ending[1:].upper(), f"*{ending}"), ("All files", "*")),
        )
        return Path(name) if name else None

    def write_csv(self) -> None:
        """Choose a file and write the list with its verdicts into it."""
        if not self._scale_typed():  # a button takes no keyboard from the field
            return
        try:
            data = self.desk.csv_bytes()
            path = self._place("Save the table with the verdicts", ".csv")
            if path is not None:
                write_atomic(path, data)
                self._say(f"Saved {path}.")
        except InputError as error:
            self._say(f"✗ {error}")

    def write_log(self) -> None:
        """Choose a file and write the log into it, made in a thread."""
        if not self._scale_typed():
            return
        try:
            result = self.desk.result()
        except InputError as error:
            self._say(f"✗ {error}")
            return
        path = self._place("Save the log", ".pdf")
        if path is None:
            return
        kept = settings.load(self.config_folder)

        def done(page: bytes) -> None:
            try:
                write_atomic(path, page)
                self._say(f"Saved the log as {path}.")
            except InputError as error:
                self._say(f"✗ {error}")

        def failed(error: BaseException) -> None:
            raise error  # a fault of the program: told and logged like any other

        work = partial(log_pdf, result, self.desk.title, kept.paper, kept.units)
        self.progress = Progress(
            self, self.style, "Log", f"Making {path.name} ...", work, done, failed
        )

    def into_book(self) -> None:
        """Note the checks in the shop's book."""
        if not self._scale_typed():
            return
        self.desk.into_book()
        self._say(self.desk.message)

    def show_guide(self) -> None:
        """How to weigh, what an orientation costs, and the desk's keys."""
        Reader(
            self,
            self.style,
            "How to weigh",
            [(words_on_system(GUIDE_KEYS, self.system) + GUIDE, "table")],
            100,
            34,
        )

    def leave(self) -> None:
        """Go away; the scale that was typed last counts, too."""
        self._scale_typed()
        super().leave()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self.desk.close()


class ColumnsDialog(Dialog):
    """What the columns of a table stand for; ``take`` hears the answer and says what is wrong with it."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        table: Table,
        take: Callable[[columns.Answer], str],
    ) -> None:
        super().__init__(parent, style, "What the columns are")
        self._take = take
        pad = style.pixels(0.5)
        ttk.Label(
            self,
            text="Say which columns the desk shall read; the others come back as they stand. It is "
            "asked once for a table of these headings.",
            wraplength=style.pixels(36),
            justify="left",
        ).grid(row=0, column=0, columnspan=4, sticky="w", padx=pad, pady=pad)
        guess = columns.guessed(table.headings, COLUMNS)
        self.boxes: dict[str, tuple[ttk.Combobox, ttk.Combobox]] = {}
        for row, heading in enumerate(table.headings, 1):
            cells = (each.cells[row - 1] for each in table.rows[:20] if not each.fault)
            example = next((cell for cell in cells if cell), "")
            ttk.Label(self, text=printable(heading[:30]), style="Bold.TLabel").grid(
                row=row, column=0, sticky="w", padx=pad
            )
            ttk.Label(self, text=printable(example[:24]), style="Quiet.TLabel").grid(
                row=row, column=1, sticky="w", padx=pad
            )
            name = choice_box(self, ("-", *COLUMNS), lambda: None)
            name.set(guess[heading] or "-")
            name.grid(row=row, column=2, padx=(0, pad), pady=1)
            unit = choice_box(self, columns.UNITS, lambda: None)
            unit.grid(row=row, column=3, padx=(0, pad))
            self.boxes[heading] = name, unit
        self.message = ttk.Label(self, style="Bad.TLabel", wraplength=style.pixels(36))
        last = len(table.headings) + 1
        self.message.grid(row=last, column=0, columnspan=4, sticky="w", padx=pad)
        buttons = ttk.Frame(self)
        buttons.grid(row=last + 1, column=0, columnspan=4, sticky="e", padx=pad, pady=pad)
        self.button(buttons, "take", "Add the balls", 0, self.take).pack(side="left")
        self.button(buttons, "cancel", "Cancel", 0, self.leave).pack(side="left", padx=(pad, 0))
        first = next(iter(self.boxes.values()), None)
        self.rise(self.buttons["take"] if first is None else first[0])

    def take(self) -> None:
        """Add the balls; a sentence says why where that cannot be."""
        answer = {
            heading: f"{name.get()} {unit.get()}".strip() if name.get() not in ("", "-") else ""
            for heading, (name, unit) in self.boxes.items()
        }
        wrong = self._take(answer)
        if wrong:
            self.message.configure(text=printable(f"✗ {wrong}"))
            self.bell()
        else:
            self.leave()


def _do(action: Callable[[], object], _: tk.Event[tk.Misc]) -> str:
    action()
    return "break"
