"""The record's fields, one tab to a group, driven by the fields table.

Each widget holds one entry of the presenter. Typing goes to the presenter letter by letter; a text
comes back only where the presenter changed the entry itself. What is wrong with a field is said
under it, but under the field that is being typed in only after a moment's rest.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable, Collection, Mapping
from functools import cached_property, partial
from itertools import groupby
from tkinter import ttk
from typing import TYPE_CHECKING, Any, Protocol

from gui.state.entries import cut_today, summary, today_text
from gui.state.fields import NO, YES, Field, Group, all_fields
from gui.state.presenter import Presenter, Refresh
from gui.state.readings import drilled_notes, pair_notes
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.dialogs import focused
from gui.views.grip_table import GripTable, grip_order, in_table
from gui.views.scrolling import Scrolling
from gui.views.tabs import Tab, name_tabs
from gui.views.timer import Timer
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

TYPING_REST = 500  # milliseconds without typing before a message appears under the field
_TABS: dict[Group, str] = {
    "bowler": "Bowler",
    "grip": "Grip",
    "ball": "Ball",
    "layout": "Layout",
    "scale": "Scale",
    "work": "Notes",
}
_UNITS = {
    "length": "in",
    "weight": "lb",
    "ounces": "oz",
    "readings": "oz",
    "density": "g/cm3",
    "angle": "degrees",
    "speed": "mph",
    "rate": "rpm",
    "boards": "boards",
    "feet": "ft",
    "date": "y-m-d",
}
_WIDTHS = {"date": 11, "readings": 5, "weight": 11}  # of entries, in letters: "14 lb 12 oz"
_WORDS = 19.0  # widths of an em in which a message under a field is wrapped
_WIDE = 20.5  # ems of a page at least, where there is room
_CELL = 7  # letters in a cell of the grip's table: "2 15/16"


class Holder(Protocol):
    """Who holds what stands in the fields: a presenter, or a row of a list in a dialog."""

    @property
    def problems(self) -> Mapping[str, str]:
        """What is wrong, by field."""

    @property
    def needed(self) -> frozenset[str]:
        """The fields that are only empty yet."""

    @property
    def dragging(self) -> bool:
        """Whether a mark is being dragged."""

    def entry(self, path: str) -> str:
        """What stands in a field."""

    def edit(self, path: str, text: str) -> None:
        """Take another text."""

    def type_in(self, path: str, text: str) -> None:
        """Take another text, a letter further."""

    @property
    def half_typed(self) -> bool:
        """Whether the last letter left a field invalid, which is not told yet."""

    def settle(self) -> None:
        """Tell it."""

    def end_run(self) -> None:
        """The keyboard left a field."""


class FormView(ttk.Frame):
    """All fields. ``words`` gives a field's help; ``change_list`` opens what changes a list."""

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        words: Callable[[str], str],
        change_list: Callable[[str], object],
    ) -> None:
        super().__init__(parent)
        self._presenter, self._style = presenter, style
        self.rows: dict[str, FieldRow] = {}
        self._grip: GripTable | None = None
        self._messages = Messages(self, presenter, self.rows)
        self._counts: dict[Group, int] = {}  # of problems in a page
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.tabs: Any = ttk.Notebook(self)  # its methods are not typed
        self.tabs.grid(row=0, column=0, sticky="nsew")
        self.pages: dict[Group, Page] = {}
        for name, fields in groupby(all_fields(), key=lambda f: f.group):
            page = Page(self.tabs, style)
            self.tabs.add(page, text=_TABS[name], sticky="nsew")
            self.pages[name] = page
            section = ""
            for field in sorted(fields, key=grip_order):
                place: Page | GripTable = page
                if in_table(field):
                    place = self._table(page)
                    place.prepare(field)
                elif field.section != section:
                    section = field.section
                    page.heading(section)
                row = FieldRow(
                    place, field, presenter, style, self._messages.typed, change_list,
                    lambda: presenter.digits,
                )  # fmt: skip
                place.add(row)
                self.rows[field.path] = row
                for widget in (*row.inputs, row.label):
                    helper.attach(widget, partial(words, field.path))
        self.tabs.enable_traversal()
        self._foot = ttk.Frame(self)
        self._foot.grid(row=1, column=0, sticky="ew", pady=(style.pixels(0.3), 0))
        self.left = ttk.Label(self._foot, style="Warn.TLabel", justify="left")
        self.onward = ttk.Button(
            self._foot, text="Next (F8)", style="Small.TButton", command=self.next_problem
        )
        self.onward.pack(side="right")
        self.left.pack(side="left", padx=style.pixels(0.5))
        self.tabs.bind("<<NotebookTabChanged>>", lambda _: self._name_tabs(), add="+")
        self.bind("<Configure>", self._narrowed, add="+")
        self.tabs.bind("<Configure>", lambda _: self._name_tabs(), add="+")
        self._show_fields()
        presenter.subscribe(self._changed)

    def _table(self, page: Page) -> GripTable:
        """The grip's table, made where its first field comes."""
        if self._grip is None:
            self._grip = GripTable(page.inner, self._style, page.wheel)
            page.add_table(self._grip)
        return self._grip

    @property
    def table(self) -> GripTable:
        """The grip's table."""
        assert self._grip is not None
        return self._grip

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("entries"):
            for path in change.paths:
                row = self.rows.get(path.partition("/")[0])
                if row is not None:
                    row.load()
            if not self._switches.isdisjoint(change.paths):
                self._show_fields()
        if change.has("problems"):
            self._show_problems()
        if change.has("plan", "problems"):
            self._show_questions()
        if change.has("plan", "problems", "units"):
            self._show_notes()

    def _show_fields(self) -> None:
        """Show the fields that these entries need, and hide the others."""
        entries = self._presenter.entries
        for row in self.rows.values():
            row.load()
            row.shown(row.field.shown(entries))
        for page in self.pages.values():
            page.arrange()
        self._show_problems()
        self._show_questions()
        self._show_notes()

    def _show_notes(self) -> None:
        """What two readings make, and what came out otherwise than planned, under their fields.

        Nothing while the record is not whole.
        """
        p = self._presenter
        notes: dict[str, str] = {}
        if p.plan is not None and not p.stale:
            notes = pair_notes(p.plan, p.units) | drilled_notes(p.plan, p.units)
        for path, row in self.rows.items():
            row.note(notes.get(path, ""))

    def _show_questions(self) -> None:
        """What the plan asks, under the fields, each with a button that confirms the value."""
        asked = self._presenter.questions
        for path, row in self.rows.items():
            row.ask(asked.get(path, ""), self._presenter.confirm)

    @property
    def focused_path(self) -> str:
        """The field that has the keyboard, empty for none."""
        widget = focused(self)
        return next((path for path, row in self.rows.items() if widget in row.inputs), "")

    @property
    def _switches(self) -> frozenset[str]:
        return _SWITCHES

    def _show_problems(self) -> None:
        """Messages under their fields, a point in the tabs that have any, and how many are left."""
        problems = self._presenter.problems
        counts = dict.fromkeys(self.pages, 0)
        for path, row in self.rows.items():
            counts[row.field.group] += path in problems
        self._messages.show()
        self._counts = counts
        self._name_tabs()
        left, whole = sum(counts.values()), problems.get("", "")
        if left or whole:
            what = "1 field" if left == 1 else f"{left} fields"
            self.left.configure(text=f"✗ {whole}" if whole else f"• {what} to complete or correct")
            self.onward.state(["!disabled" if left else "disabled"])
            self._foot.grid()
        else:
            self._foot.grid_remove()

    def _name_tabs(self) -> None:
        names = {
            page: Tab(_TABS[name], mark, mark)
            for name, page in self.pages.items()
            for mark in ("\u2009•" if self._counts.get(name) else "",)
        }
        name_tabs(self.tabs, self._style, names)

    def _narrowed(self, event: tk.Event[tk.Misc]) -> None:
        """Fold what stands under the pages to the form's width."""
        if event.widget is self:
            room = event.width - self.onward.winfo_reqwidth() - self._style.pixels(1.0)
            self.left.configure(wraplength=max(room, self._style.pixels(3.0)))

    # --- finding one's way ------------------------------------------------------------------------

    def show_group(self, group: Group) -> None:
        """Bring a group to the front, the keyboard in its first field."""
        page = self.pages[group]
        self.tabs.select(page)
        for row in page.rows:
            if row.visible:
                row.take_focus()
                return

    def show_field(self, path: str) -> None:
        """Bring a field to the front and put the keyboard into it."""
        row = self.rows.get(path)
        if row is not None:
            self.tabs.select(self.pages[row.field.group])
            self.table.unfold(path)
            self.update_idletasks()
            row.take_focus()

    def next_problem(self) -> None:
        """Go to the next field that has something wrong, after the one with the keyboard."""
        paths = [p for p, row in self.rows.items() if self._presenter.problems.get(p)]
        if not paths:
            return
        order = list(self.rows)
        focused = self.focus_get()
        here = next((i for i, p in enumerate(order) if focused in self.rows[p].inputs), -1)
        self.show_field(next((p for p in paths if order.index(p) > here), paths[0]))

    def refresh(self) -> None:
        """Lay out anew, as after another text size."""
        for page in self.pages.values():
            page.resize()


class Messages:
    """The messages under a form's fields.

    They stand there at once, but under the field that is being typed in only after a rest.
    """

    def __init__(self, form: tk.Misc, holder: Holder, rows: Mapping[str, FieldRow]) -> None:
        self._form, self._holder, self._rows = form, holder, rows
        self._timer = Timer(form)

    def show(self) -> None:
        """Show the holder's problems under their fields."""
        problems, needed = self._holder.problems, self._holder.needed
        with_keyboard = focused(self._form)
        waits = False
        for path, row in self._rows.items():
            words = problems.get(path, "")
            row.need(path in needed)
            if path in needed:
                row.tell(words if with_keyboard in row.inputs else "", hint=True)
            elif words and with_keyboard in row.inputs and (row.hinted or not row.words_shown):
                row.tell("")
                waits = True
            else:
                row.tell(words)
        self._timer.stop()
        if waits:
            self._timer.start(TYPING_REST, self._rested)

    def typed(self) -> None:
        """Another letter came: a message that waits begins its rest anew."""
        if self._timer.waiting or self._holder.half_typed:
            self._timer.start(TYPING_REST, self._rested)

    def _rested(self) -> None:
        self._holder.settle()
        self._timer.stop()
        for path, row in self._rows.items():
            if path not in self._holder.needed:
                row.tell(self._holder.problems.get(path, ""))


_SWITCHES = frozenset(c.path for field in all_fields() for c in field.shown_if)


class Page(Scrolling):
    """One tab: headings and rows in a column that scrolls."""

    def __init__(self, parent: tk.Misc, style: Appearance) -> None:
        self.rows: list[FieldRow] = []
        self._items: list[tuple[ttk.Label, list[FieldRow | GripTable]]] = []
        super().__init__(parent, style)
        self.inner.columnconfigure(1, weight=1)
        self._canvas.bind("<Configure>", self._wrap, add="+")
        self.resize()

    def heading(self, text: str) -> None:
        """Begin a section."""
        label = ttk.Label(self.inner, text=text, style="Bold.TLabel")
        self._items.append((label, []))

    def title(self, text: str) -> None:
        """Another text for the first heading."""
        self._items[0][0].configure(text=text)

    def add(self, row: FieldRow) -> None:
        """One more field in the section."""
        self.rows.append(row)
        self._items[-1][1].append(row)
        row.on_focus(self._see)

    def add_table(self, table: GripTable) -> None:
        """The table of the grip in the section."""
        self._items[-1][1].append(table)
        table.adopt(self.rows, self._see, self.arrange)

    def arrange(self) -> None:
        """Grid what is shown, in order."""
        pad = self._style.pixels(0.5)
        line = 0
        for label, rows in self._items:
            seen = [row for row in rows if row.visible]
            if seen:
                above = pad if line == 0 else self._style.pixels(0.9)
                label.grid(
                    row=line, column=0, columnspan=3, sticky="w", padx=pad, pady=(above, pad // 2)
                )
                line += 1
            else:
                label.grid_remove()
            for row in rows:
                line = row.lay(line, pad) if isinstance(row, GripTable) else row.place(line, pad)

    def resize(self) -> None:
        """Take the present text size."""
        # room for the bar whether or not it is there: else it takes that of the units
        self.columnconfigure(1, minsize=self._bar.winfo_reqwidth())
        super().resize()
        for row in self.rows:
            row.resize()
        self.arrange()

    @property
    def _asks(self) -> tuple[int, int]:
        return max(self._style.pixels(_WIDE), self.inner.winfo_reqwidth()), 0

    @property
    def _kept(self) -> int:
        return self._bar.winfo_reqwidth()

    def _wrap(self, event: tk.Event[tk.Misc]) -> None:
        """Fold the messages where the page is narrower than they usually are."""
        for row in self.rows:
            row.wrap(event.width)

    def _see(self, row: FieldRow) -> None:
        """Scroll so that a row is seen whole, with what is told under it."""
        top, height = row.extent()
        left = row.box.winfo_rootx() - self.inner.winfo_rootx()
        self.see(left, top, row.box.winfo_width(), height, self._style.pixels(1.6))


class Asked(ttk.Frame):
    """A question under a field, and the button that says that the value is meant."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        confirm: Callable[[], object],
    ) -> None:
        super().__init__(parent)
        self.words = ttk.Label(
            self, style="Warn.TLabel", justify="left", wraplength=style.pixels(14.5)
        )
        self.words.pack(side="left", fill="x", expand=True)
        self.button = ttk.Button(
            self, text="It is meant", style="Small.TButton", width=-9, command=confirm
        )
        self.button.pack(side="right")


class FieldRow:
    """One field: its label, what is typed into, its unit and the message under it."""

    def __init__(
        self,
        page: Page | GripTable,
        field: Field,
        presenter: Holder,
        style: Appearance,
        typed: Callable[[], None],
        change_list: Callable[[str], object] = lambda _: None,
        digits: Callable[[], Collection[str]] = tuple,
    ) -> None:
        self._change_list, self._digits_there = change_list, digits
        self.field, self._presenter, self._style, self._typed = field, presenter, style, typed
        self.visible = False
        self.words_shown = ""
        self._hint = False
        self.question = ""
        self._note = ""
        self._see: Callable[[FieldRow], None] | None = None
        self._asked: Asked | None = None
        self._line = self._pad = 0  # where the question stands in the grid
        self._room = 0  # pixels of the page's width, as far as it is known
        self._loading = False
        self._page = page
        self.cell = isinstance(page, GripTable) and field.kind != "rows"
        # what is needed is told in the cell's own field, where there is one
        self._over = self.cell and field.kind != "switch"
        inner = page.inner
        self.label = ttk.Label(inner, text=field.label)
        self._message_at: dict[str, Any] = {}  # where a message stands in the grid
        self.box = ttk.Frame(inner)
        self.inputs: list[tk.Widget] = []
        self.value = tk.StringVar(inner)
        self.direction = tk.StringVar(inner)
        self.second = tk.StringVar(inner)  # the second of two readings
        self._text: tk.Text | None = None
        self._word = ""  # how much of a direction's name was typed into the number
        self._holes: dict[str, tuple[tk.BooleanVar, ttk.Checkbutton]] = {}
        self._make()
        for widget in self.inputs:
            # the window's keys come first: Tk's own Ctrl+Y pastes, Ctrl+W cuts and Ctrl+O breaks a line
            top = str(widget.winfo_toplevel())
            widget.bindtags((str(widget), top, widget.winfo_class(), "all"))
            widget.bind("<FocusIn>", self._came, add="+")
            widget.bind("<FocusOut>", self._left, add="+")

    # --- widgets ----------------------------------------------------------------------------------

    # of some two hundred fields few ever need these two, so they are made when they are first wanted

    @cached_property
    def message(self) -> ttk.Label:
        """What is told under the field."""
        inner = self._page.inner
        return ttk.Label(inner, style="Bad.TLabel", justify="left", wraplength=self._fold)

    @cached_property
    def mark(self) -> ttk.Label:
        """The sign that the field is still to be filled in."""
        text = "•" if self._over else "needed"
        made = ttk.Label(self.box, text=text, style="Quiet.TLabel")
        if self._over:
            made.configure(background=look.PAPER)
        return made

    def _made(self, name: str) -> bool:
        """Whether one of them has been made."""
        return name in self.__dict__

    def _make(self) -> None:
        kind = self.field.kind
        if kind == "switch":
            # a switch in the table stands beside its row's name, but at its foot beside its own
            page_text = "" if self.cell and self.field.path.count(".") > 2 else self.field.label
            self.label.configure(text="")
            check = ttk.Checkbutton(
                self.box,
                text=page_text,
                variable=self.value,
                onvalue=YES,
                offvalue=NO,
                command=self._chosen,
            )
            check.pack(side="left")
            self.inputs.append(check)
        elif kind == "choice":
            self._choice(self.value, self.field.options, self._chosen, 0)
        elif kind == "lines":
            self._lines()
        elif kind == "rows":
            self._list()
        elif kind == "digits":
            self._digits()
        else:
            self._entry()

    def _entry(self) -> None:
        free = self.field.kind == "text"
        width = _CELL if self.cell else _WIDTHS.get(self.field.kind, 8)
        entry = ttk.Entry(self.box, textvariable=self.value, width=width)
        entry.pack(side="left", fill="x", expand=free)
        self.inputs.append(entry)
        self.value.trace_add("write", self._edited)
        if self.field.turned_path:
            again = ttk.Entry(self.box, textvariable=self.second, width=_WIDTHS["readings"])
            again.pack(side="left", padx=(4, 0))
            self.inputs.append(again)
            self.second.trace_add("write", self._second_edited)
        if self.field.directions is not None:
            if self.cell:
                self._turn_button()
            else:
                options = tuple((each, each) for each in self.field.directions)
                self._choice(self.direction, options, self._turned, 4)
            # the number takes the letter, so that Tab need not stop here
            self.inputs[-1].configure(takefocus=False)  # type: ignore[call-arg]
            entry.bind("<Key>", self._lettered)
            entry.bind("<FocusIn>", self._first_letter, add="+")
            entry.bind("<Alt-Key>", lambda _: None)  # a letter with Alt is a menu's
        self._unit = "" if self.cell else _UNITS.get(self.field.kind, "")
        if self._unit:
            self.unit = ttk.Label(self.box, text=self._unit, style="Quiet.TLabel")
            self.unit.pack(side="left", padx=(4, 0))
            self.value.trace_add("write", self._show_unit)

    def _turn_button(self) -> None:
        """A small button with the direction's first letter, which turns it."""
        assert self.field.directions is not None
        words = {each: each[0].upper() for each in self.field.directions}

        def turn() -> None:
            plus, minus = words
            self.direction.set(minus if self.direction.get() == plus else plus)
            self._turned()

        button = ttk.Button(self.box, style="Small.TButton", width=2, command=turn)
        self.direction.trace_add(
            "write", lambda *_: button.configure(text=words.get(self.direction.get(), ""))
        )
        button.pack(side="left", padx=(1, 0))
        self.inputs.append(button)

    def _first_letter(self, _: tk.Event[tk.Misc]) -> None:
        self._word = ""

    def _lettered(self, event: tk.Event[tk.Misc]) -> str | None:
        """Letters that begin a direction choose it and do not stand in the number."""
        assert self.field.directions is not None
        letter = event.char.lower()
        if not letter.isalpha() or event.keysym != event.char:
            self._word = ""
            return None
        for word in (self._word + letter, letter):
            for direction in self.field.directions:
                if direction.startswith(word):
                    self._word = word
                    if self.direction.get() != direction:
                        self.direction.set(direction)
                        self._turned()
                    return "break"
        return None

    def _show_unit(self, *_: str) -> None:
        """The unit that a bare number has; none beside a text that states its own."""
        own = any(c.isalpha() or c in '°"″”' for c in self.value.get())
        self.unit.configure(text="" if own else self._unit)

    def _choice(
        self,
        variable: tk.StringVar,
        options: tuple[tuple[str, str], ...],
        chosen: Callable[[], None],
        gap: int,
    ) -> None:
        box = choice_box(self.box, [label for _, label in options], chosen)
        box.configure(textvariable=variable)
        box.pack(side="left", padx=(gap, 0))
        # else the wheel would change the choice while someone scrolls the form
        for event in ("<MouseWheel>", "<Button-4>", "<Button-5>"):
            box.bind(event, self._page.wheel)
        self.inputs.append(box)

    def _lines(self) -> None:
        self._text = tk.Text(
            self.box,
            height=5,
            width=10,
            wrap="word",
            undo=False,
            font="TkTextFont",
            background=look.PAPER,
            foreground=look.INK,
            relief="flat",
            borderwidth=0,
            highlightthickness=1,
            highlightbackground=look.EDGE,
            highlightcolor=look.ACCENT,
            padx=4,
            pady=2,
        )
        self._text.pack(side="left", fill="both", expand=True)
        self._text.bind("<<Modified>>", self._modified, add="+")
        # in a text the tabulator goes on to the next field, as everywhere in a form
        self._text.bind("<Tab>", self._onward)
        for back in ("<Shift-Tab>", "<ISO_Left_Tab>"):
            self._text.bind(back, self._backward)
        self.inputs.append(self._text)

    def _list(self) -> None:
        """What a list holds in a few words for a label, and a button to what changes it."""
        self.label.configure(textvariable=self.value)
        button = ttk.Button(
            self.box,
            text="Edit ...",
            style="Small.TButton",
            width=-4,
            command=lambda: self._change_list(self.field.path),
        )
        button.pack(side="left")
        self.inputs.append(button)

    def _digits(self) -> None:
        """A box to tick for each hole."""
        boxes = ttk.Frame(self.box)
        boxes.pack(side="left")
        for digit, label in self.field.options:
            ticked = tk.BooleanVar(boxes, True)
            check = ttk.Checkbutton(boxes, text=label, variable=ticked, command=self._ticked)
            self._holes[digit] = ticked, check
            self.inputs.append(check)

    def _ticked(self) -> None:
        there = {
            digit: ticked.get()
            for digit, (ticked, check) in self._holes.items()
            if check.winfo_manager()
        }
        self._presenter.edit(self.field.path, today_text(there))
        self.load()

    def _load_digits(self, text: str) -> None:
        there = cut_today(text, self._digits_there())
        place = 0
        for digit, (ticked, check) in self._holes.items():
            ticked.set(there.get(digit, False))
            if digit in there:
                check.grid(row=place // 3, column=place % 3, sticky="w", padx=(0, 6))
                place += 1
            else:
                check.grid_forget()

    def _onward(self, event: tk.Event[tk.Misc]) -> str:
        following = event.widget.tk_focusNext()
        if following is not None:
            following.focus_set()
        return "break"

    def _backward(self, event: tk.Event[tk.Misc]) -> str:
        before = event.widget.tk_focusPrev()
        if before is not None:
            before.focus_set()
        return "break"

    # --- place ------------------------------------------------------------------------------------

    def shown(self, visible: bool) -> None:
        """Whether the form shows this field."""
        self.visible = visible

    def place(self, line: int, pad: int) -> int:
        """Grid the row's three lines from this line on; returns the next free line."""
        if not self.visible:
            self.hide()
            return line
        wide = self.field.kind == "lines"
        gap, edge = max(pad // 5, 1), pad // 4  # beyond it is the room of the bar
        if wide:
            self.label.grid_remove()
            self.box.grid(row=line, column=0, columnspan=2, sticky="ew", padx=(pad, edge), pady=gap)
        else:
            self.label.grid(row=line, column=0, sticky="w", padx=(pad, pad), pady=gap)
            self.box.grid(row=line, column=1, sticky="ew", padx=(0, edge), pady=gap)
        self._message_at = {"row": line + 1, "columnspan": 2, "padx": pad}
        self._place_message()
        self._line, self._pad = line + 2, pad
        self._place_question()
        return line + 3

    def hide(self) -> None:
        """Take the row off the grid."""
        for widget in (self.label, self.box, self._asked):
            if widget is not None:
                widget.grid_remove()
        if self._made("message"):
            self.message.grid_remove()

    def place_cell(self, line: int, column: int, below: int, columns: int, pad: int) -> None:
        """Grid the field in a table's cell, and what is told about it from the line ``below`` on."""
        self.box.grid(row=line, column=column, sticky="ew", padx=(0, pad // 2), pady=1)
        self._message_at = {"row": below, "columnspan": columns, "padx": 0}
        self._place_message()
        self._line, self._pad = below + 1, 0
        self._place_question()

    def place_wide(self, line: int, below: int, columns: int, pad: int) -> None:
        """Grid the field across a table."""
        self.label.grid(row=line, column=0, columnspan=3, sticky="w")
        self.box.grid(row=line, column=3, columnspan=columns - 3, sticky="w", pady=pad // 4)
        self._message_at = {"row": below, "columnspan": columns, "padx": 0}
        self._place_message()
        self._line, self._pad = below + 1, 0
        self._place_question()

    def place_below(self, below: int, columns: int) -> None:
        """Grid only what is told about the field: its cell is folded away."""
        self.place_cell(0, 1, below, columns, 0)
        self.box.grid_remove()

    def _place_message(self) -> None:
        """Show the message in its place in the grid, if there is one to show."""
        if self.words_shown and self._message_at:
            self.message.grid(column=0, sticky="ew", **self._message_at)
        elif self._made("message"):
            self.message.grid_remove()

    def _place_question(self) -> None:
        if self._asked is None:
            return
        if self.question and self.visible:
            columns = 7 if self.cell else 2
            self._asked.grid(
                row=self._line,
                column=0,
                columnspan=columns,
                sticky="ew",
                padx=self._pad,
                pady=(0, 2),
            )
        else:
            self._asked.grid_remove()

    def resize(self) -> None:
        """Take the present text size."""
        for widget in self.inputs:
            if widget.winfo_class() in ("TEntry", "TCombobox"):
                # else the text keeps the place that it had in the smaller field
                widget.configure(font="TkTextFont")  # type: ignore[call-arg]
        self.wrap(self._room)

    def wrap(self, room: int) -> None:
        """Fold what is told under the field to so many pixels, or to its usual width if that is less."""
        self._room = room
        if self._made("message"):
            self.message.configure(wraplength=self._fold)

    @property
    def _fold(self) -> int:
        """The pixels that a message may be wide."""
        most = self._style.pixels(_WORDS)
        return min(most, self._room - self._style.pixels(1.2)) if self._room else most

    def extent(self) -> tuple[int, int]:
        """Where the row begins in its page, and how high it is, in pixels."""
        height = self.box.winfo_height()
        if self.words_shown:
            height += self.message.winfo_height()
        return self.box.winfo_rooty() - self.page_top(), height

    def page_top(self) -> int:
        """Where the page begins on the screen, in pixels."""
        inner = self._page.inner
        return (inner.master if isinstance(inner, GripTable) else inner).winfo_rooty()

    def take_focus(self) -> None:
        """Put the keyboard into the field."""
        there = (each for each in self.inputs if each.winfo_manager())
        next(there, self.inputs[0]).focus_set()

    def on_focus(self, see: Callable[[FieldRow], None]) -> None:
        """Call ``see`` whenever the keyboard comes to the field."""
        self._see = see

    # --- both ways --------------------------------------------------------------------------------

    @property
    def text(self) -> str:
        """What stands in the widget; the entry of a list, of which it shows only a few words."""
        if self.field.kind in ("rows", "digits"):
            return self._presenter.entry(self.field.path)
        if self._text is not None:
            return self._text.get("1.0", "end-1c")
        if self.field.kind == "choice":
            entry = self._presenter.entry(self.field.path)
            if self.value.get() == self.field.label_of(entry):
                return entry  # two values may be called the same
            labels = {label: value for value, label in self.field.options}
            return labels.get(self.value.get(), "")
        return self.value.get()

    def load(self) -> None:
        """Show the presenter's entry, unless it stands there already."""
        text = self._presenter.entry(self.field.path)
        if self.field.kind == "rows":
            self.value.set(summary(self.field.path, text))
            return
        if self.field.kind == "digits":
            self._load_digits(text)
            return
        self._loading = True
        try:
            if self.field.directions is not None:
                shown = self._presenter.entry(self.field.direction_path)
                shown = shown or self.field.directions[0]
                if self.direction.get() != shown:
                    self.direction.set(shown)
            if self.field.turned_path:
                second = self._presenter.entry(self.field.turned_path)
                if self.second.get() != second:
                    self.second.set(second)
            if self.field.kind == "switch":
                text = text or NO
            # a choice may have words for an entry that is empty
            if self.text == text and self.field.kind != "choice":
                return
            if self._text is not None:
                self._text.delete("1.0", "end")
                self._text.insert("1.0", text)
            elif self.field.kind == "choice":
                self.value.set(self.field.label_of(text))
            else:
                self.value.set(text)
        finally:
            self._loading = False

    def _edited(self, *_: str) -> None:
        if not self._loading:
            self._presenter.type_in(self.field.path, self.text)
            self._typed()

    def _second_edited(self, *_: str) -> None:
        if not self._loading:
            self._presenter.type_in(self.field.turned_path, self.second.get())
            self._typed()

    def _chosen(self) -> None:
        self._presenter.edit(self.field.path, self.text)
        self.load()  # a choice that was refused goes back

    def _turned(self) -> None:
        self._presenter.edit(self.field.direction_path, self.direction.get())
        self.load()

    def _modified(self, _: tk.Event[tk.Misc]) -> None:
        if self._text is not None and self._text.edit_modified():
            self._text.edit_modified(False)
            if not self._loading:
                self._presenter.type_in(self.field.path, self.text)
                self._typed()

    def _came(self, _: tk.Event[tk.Misc]) -> None:
        if self._see is not None:
            self._see(self)
        if self.field.path in self._presenter.needed:
            self.tell(self._presenter.problems.get(self.field.path, ""), hint=True)

    def _left(self, _: tk.Event[tk.Misc]) -> None:
        if not self._presenter.dragging:  # the ball, pressed, takes the keyboard a little late
            self._presenter.end_run()
        if self.field.path in self._presenter.needed:
            self.tell("")
        else:
            self.tell(self._presenter.problems.get(self.field.path, ""))

    def need(self, needed: bool) -> None:
        """Say beside the field that it is still to be filled in."""
        if needed != (self._made("mark") and bool(self.mark.winfo_manager())):
            if needed and self._over:
                # over the field's end: else the table would change its width
                self.mark.place(in_=self.inputs[0], relx=1.0, rely=0.5, x=-4, anchor="e")
            elif needed:
                self.mark.pack(side="left", padx=(8, 0))
            else:
                self.mark.pack_forget()
                self.mark.place_forget()

    @property
    def hinted(self) -> bool:
        """Whether what is told is only a hint."""
        return self._hint

    def ask(self, words: str, confirm: Callable[[str], object]) -> None:
        """Show under the field what the plan asks about its value, or nothing."""
        if words == self.question:
            return
        self.question = words
        if self._asked is None:
            self._asked = Asked(self._page.inner, self._style, lambda: confirm(self.field.path))
        self._asked.words.configure(text=f"? {printable(words)}")
        self._place_question()

    @property
    def confirm_button(self) -> ttk.Button | None:
        """The button that confirms the value, None while nothing is asked about it."""
        return self._asked.button if self._asked is not None and self.question else None

    def note(self, words: str) -> None:
        """Show under the field what follows from it, as long as nothing else is to be told."""
        if words != self._note:
            free = self.words_shown in ("", self._note)
            self._note = words
            if free:
                self.tell("")

    def tell(self, words: str, hint: bool = False) -> None:
        """Show under the field what is wrong with it, or as a hint what it needs."""
        if not words:
            words, hint = self._note, bool(self._note)
        if (words, hint) == (self.words_shown, self._hint):
            return
        self.words_shown, self._hint = words, hint
        kind = self.field.kind
        plain = dict.fromkeys(("switch", "lines", "rows", "digits"), "")
        name = {"choice": "TCombobox", **plain}.get(kind, "TEntry")
        if name in ("TEntry", "TCombobox"):
            style = f"Bad.{name}" if words and not hint else name
            self.inputs[0].configure(style=style)  # type: ignore[call-arg]
        if words:
            if self.cell:
                words = f"{self.field.section}, {self.field.label}: {words}"
            self.message.configure(
                text=printable(words if hint else f"✗ {words}"),
                style="Quiet.TLabel" if hint else "Bad.TLabel",
            )
        if self.visible:
            self._place_message()
