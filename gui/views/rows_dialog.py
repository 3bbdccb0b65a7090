"""The dialogs about holes beside the grip's: lists of them, and a drilled ball to plug and redrill."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.fields import field_at
from gui.state.help_texts import field_words
from gui.state.list_draft import COLUMNS, HOW, ORDERED, Draft
from gui.state.presenter import Presenter
from gui.state.redrill import CHOICES, DENSITY, USUAL_DENSITY, density_of
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.dialogs import Asking, Reader, focused
from gui.views.form_view import FieldRow, Messages, Page
from gui.views.tooltips import Help
from layoutkit.errors import InputError
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

# the longest text that a column has to show, where that is no length
_WIDTHS = {
    "name": "thumb bore 2 of 3",
    "hole": "middle finger",
    "up": "2 15/16 down",
    "plug": "1.15, 2 15/16",
    "": "20 •",
}


class RowsDialog(Asking):
    """The rows of one list of the record: a table, and the fields of the row that is selected.

    OK writes the list into the record as one step of undo; before that nothing is changed.
    """

    def __init__(self, parent: tk.Misc, style: Appearance, presenter: Presenter, path: str) -> None:
        field = field_at(path)
        assert field is not None
        super().__init__(parent, style, field.label)
        self._ready = False
        self.draft = Draft(presenter, path, self._changed)
        self.rows: dict[str, FieldRow] = {}
        self._messages = Messages(self, self.draft, self.rows)
        self._shown: object = None
        self._lay_out()
        self._ready = True
        self.bind("<F1>", lambda _: self._explain())
        self.show()
        self.maxsize(self.winfo_screenwidth(), self.winfo_screenheight())
        self.rise(self.tree if self.draft.rows else self.buttons["add"])

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.6)
        self.rowconfigure(1, weight=1)
        how = ttk.Label(self, text=HOW[self.draft.path], justify="left")
        how.configure(wraplength=self.style.pixels(52))
        how.grid(row=0, column=0, columnspan=2, sticky="ew", padx=pad, pady=(pad, 0))
        how.bind("<Configure>", lambda e: how.configure(wraplength=e.width - pad))
        left = ttk.Frame(self)
        left.grid(row=1, column=0, sticky="nsew", padx=(pad, 0), pady=pad)
        left.rowconfigure(0, weight=1)
        left.columnconfigure(0, weight=1)
        self._table(left)
        row = ttk.Frame(self)
        row.grid(row=2, column=0, columnspan=2, sticky="w", padx=pad, pady=(0, pad))
        draft = self.draft
        actions: list[tuple[str, str, Callable[[], object]]] = [
            ("add", "Add", self.add), ("remove", "Remove", draft.remove),
        ]  # fmt: skip
        if draft.path in ORDERED:
            actions += [
                ("up", "Up", partial(draft.move, -1)),
                ("down", "Down", partial(draft.move, 1)),
            ]
        for name, text, command in actions:
            made = self.button(row, name, text, 0, command)
            made.configure(width=-4)
            made.pack(side="left", padx=(0, self.style.pixels(0.3)))
        self.page = Page(self, self.style)
        self.page.grid(row=1, column=1, sticky="nsew", padx=pad, pady=pad)
        self.help = Help(self._hint, self.style.pixels)
        self.page.heading("")
        for field in draft.fields:
            each = FieldRow(self.page, field, draft, self.style, self._messages.typed)
            self.page.add(each)
            self.rows[field.path] = each
            for widget in (*each.inputs, each.label):
                self.help.attach(widget, partial(field_words, field.path))
        self.page.resize()
        foot = ttk.Frame(self)
        foot.grid(row=3, column=0, columnspan=2, sticky="ew", padx=pad, pady=(0, pad))
        foot.columnconfigure(0, weight=1)
        # two lines, always: else the buttons would move with each message
        room = ttk.Frame(foot, height=self.style.pixels(2.3))
        room.pack_propagate(False)
        room.grid(row=0, column=0, sticky="ew")
        self.problem = ttk.Label(room, justify="left", anchor="nw")
        self.problem.pack(fill="both", expand=True)
        room.bind("<Configure>", lambda e: self.problem.configure(wraplength=e.width - pad))
        self._words = ""
        for column, (name, text, act) in enumerate(
            (("ok", "OK", self.take), ("cancel", "Cancel", self.refuse)), 1
        ):
            made = self.button(foot, name, text, 0, act)
            made.grid(row=0, column=column, padx=(self.style.pixels(0.4), 0))

    def _table(self, parent: tk.Misc) -> None:
        columns = ("", *(name for _, name in COLUMNS[self.draft.path]))
        titles = ("", *(title for title, _ in COLUMNS[self.draft.path]))
        names = tuple(name or "number" for name in columns)
        self.tree = ttk.Treeview(
            parent, columns=names, show="headings", selectmode="browse", height=12
        )
        plain, bold = (font.nametofont(n, self) for n in ("TkDefaultFont", look.BOLD))
        for name, key, title in zip(names, columns, titles, strict=True):
            text = _WIDTHS.get(key, "12 15/16")
            width = max(plain.measure(text), bold.measure(title)) + self.style.em * 3 // 4
            self.tree.heading(name, text=title, anchor="w")
            self.tree.column(name, width=width, minwidth=self.style.em * 2, stretch=name == "name")
        bar = ttk.Scrollbar(parent, orient="vertical", command=self.tree.yview)
        self.tree.configure(yscrollcommand=bar.set)
        self.tree.grid(row=0, column=0, sticky="nsew")
        bar.grid(row=0, column=1, sticky="ns")
        self.tree.bind("<<TreeviewSelect>>", self._selected)
        self.tree.bind("<Delete>", lambda _: self.buttons["remove"].invoke())

    # --- both ways --------------------------------------------------------------------------------

    def _changed(self) -> None:
        if self._ready:
            self.show()

    def show(self) -> None:
        """Show the draft: table, fields, what is wrong, and which buttons can be pressed."""
        draft = self.draft
        here = [tuple(map(printable, draft.cells(i))) for i in range(len(draft.rows))]
        there = self.tree.get_children()
        if len(there) > len(here):
            self.tree.delete(*there[len(here) :])
        for i, cells in enumerate(here):
            if i < len(there):
                self.tree.item(str(i), values=cells)
            else:
                self.tree.insert("", "end", str(i), values=cells)
        if draft.selected is not None and self.tree.selection() != (str(draft.selected),):
            self.tree.selection_set(str(draft.selected))
            self.tree.focus(str(draft.selected))
            self.tree.see(str(draft.selected))
        shown = (draft.name, frozenset(p for p, r in self.rows.items() if draft.shown(r.field)))
        for each in self.rows.values():
            each.load()
            each.shown(each.field.path in shown[1])
        if shown != self._shown:
            self._shown = shown
            self.page.title(printable(draft.name))
            self.page.arrange()
        self._messages.show()
        for name, on in (
            ("remove", draft.selected is not None), ("up", draft.can_move(-1)),
            ("down", draft.can_move(1)),
        ):  # fmt: skip
            if name in self.buttons:
                self.buttons[name].state(["!disabled" if on else "disabled"])
        self._tell()

    def _tell(self) -> None:
        """What is wrong elsewhere in the list, else help on what has the keyboard."""
        wrong = self.draft.problem_elsewhere
        self.problem.configure(
            text=f"✗ {wrong}" if wrong else self._words,
            style="Bad.TLabel" if wrong else "Quiet.TLabel",
        )

    def _hint(self, words: str) -> None:
        self._words = words
        self._tell()

    def _selected(self, _: tk.Event[tk.Misc]) -> None:
        chosen = self.tree.selection()
        if chosen:
            self.draft.select(int(chosen[0]))

    # --- what the buttons do ----------------------------------------------------------------------

    def add(self) -> None:
        """One more row, the keyboard in its first field."""
        self.draft.add()
        self.update_idletasks()
        next(row for row in self.rows.values() if row.visible).take_focus()

    def take(self) -> None:
        """Write the list into the record; what is impossible is told beside its field instead."""
        if self.draft.take():
            self.leave()
            return
        self.bell()
        self.show()
        for path, words in self.draft.problems.items():
            self.rows[path].tell(words)
        wrong = next((p for p in self.rows if p in self.draft.problems), None)
        if wrong is not None:
            self.rows[wrong].take_focus()
            self.rows[wrong].tell(self.draft.problems[wrong])

    def _explain(self) -> None:
        words = self.help.of(focused(self))
        if words:
            reader = Reader(self, self.style, "What is this?", [(words, "")], 52, 12)
            reader.grab_set()
            reader.bind("<Destroy>", self._answer_again, add="+")

    def _answer_again(self, _: tk.Event[tk.Misc]) -> None:
        if self.winfo_exists():
            self.grab_set()


class RedrillDialog(Asking):
    """Asks for the plugs' density, and makes the new job."""

    def __init__(self, parent: tk.Misc, style: Appearance, presenter: Presenter) -> None:
        super().__init__(parent, style, "Redrill")
        self._presenter = presenter
        pad = style.pixels(0.8)
        wide = style.pixels(30)
        ttk.Label(self, text=_REDRILL, wraplength=wide, justify="left").grid(
            row=0, column=0, columnspan=3, sticky="w", padx=pad, pady=pad
        )
        self.columnconfigure(0, weight=0)
        self.columnconfigure(2, weight=1)
        ttk.Label(self, text="Plug density").grid(row=1, column=0, sticky="w", padx=pad)
        self.value = tk.StringVar(self, USUAL_DENSITY)
        self.input = ttk.Entry(self, textvariable=self.value, width=8, font="TkTextFont")
        self.input.grid(row=1, column=1, sticky="w")
        self.input.bind("<Return>", lambda _: self.take())
        ttk.Label(self, text="g/cm3", style="Quiet.TLabel").grid(
            row=1, column=2, sticky="w", padx=(style.pixels(0.3), pad)
        )
        ttk.Label(self, text="Drill again").grid(
            row=2, column=0, sticky="w", padx=pad, pady=pad // 2
        )
        self.holes = choice_box(self, tuple(CHOICES), lambda: None)
        self.holes.set(next(iter(CHOICES)))
        self.holes.grid(row=2, column=1, columnspan=2, sticky="w", padx=(0, pad))
        self.message = ttk.Label(self, style="Bad.TLabel", wraplength=wide, justify="left")
        self.message.grid(row=3, column=0, columnspan=3, sticky="w", padx=pad, pady=(pad // 2, 0))
        row = ttk.Frame(self)
        row.grid(row=4, column=0, columnspan=3, sticky="e", padx=pad, pady=pad)
        self.button(row, "redrill", "Redrill", 0, self.take).pack(side="left")
        self.button(row, "cancel", "Cancel", 0, self.refuse).pack(
            side="left", padx=(style.pixels(0.4), 0)
        )
        self.help = Help(lambda _: None, style.pixels)
        self.help.attach(self.input, partial(field_words, DENSITY))
        self.value.trace_add("write", lambda *_: self._check())
        self.resizable(False, False)
        self.rise(self.input)
        self.input.selection_range(0, "end")

    def _check(self) -> bool:
        """Say under the field what is wrong with it; whether nothing is."""
        words = ""
        try:
            density_of(self.value.get())
        except InputError as error:
            words = f"✗ {error}"
        self.message.configure(text=words)
        self.input.configure(style="Bad.TEntry" if words else "TEntry")
        return not words

    def take(self) -> None:
        """Make the new job; what is impossible is told here."""
        if not self._check():
            self.bell()
        elif self._presenter.redrill(self.value.get(), CHOICES[self.holes.get()]):
            self.leave()
        else:
            self.message.configure(text=f"✗ {self._presenter.message}")


_REDRILL = (
    "This makes a new job of the same ball and bowler. Everything that the present job drills becomes "
    "an old hole of the ball, filled to the top with a plug of this density; the new job then drills "
    "its own holes. Where some holes only are drilled again, the others stay as they are. "
    f"{USUAL_DENSITY} g/cm3 is common practice; better is what the plug's data sheet "
    "says. Plug and cure as its instructions say, and let nobody breathe dust or fumes."
)
