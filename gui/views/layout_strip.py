"""The layout in large figures above the ball, whatever way the record states it."""

from __future__ import annotations

import tkinter as tk
from functools import partial
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.fields import OPTION_LABELS
from gui.state.help_texts import field_words
from gui.state.presenter import Presenter, Refresh
from gui.state.strip import CHANGE, FORMS, UNKNOWN, Figure, change_words, figure_text, form_of
from gui.views import style as look
from gui.views.dialogs import focused
from gui.views.timer import Timer
from layoutkit.units import Units, printable

if TYPE_CHECKING:
    from gui.views.ball_view import BallView
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

_LETTERS = 6  # of a figure at least; it takes the room that there is
_LONGEST: dict[Units, str] = {"fraction": "0 00/00", "decimal": "00.000", "metric": "000.0 mm"}
_WHOLE = "all"  # the arrangement that shows every form


class LayoutStrip(ttk.Frame):
    """Figures to change, under the way of stating them, and what the last change did.

    That stands beside the heading over the figures that were changed, or in a corner of the picture.
    A figure is taken when Return is pressed or the keyboard goes on; Escape brings the old one back.
    """

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        ball: BallView,
    ) -> None:
        super().__init__(parent)
        self._presenter = presenter
        self.headings: dict[str, ttk.Button] = {}
        self.inputs: dict[str, ttk.Entry] = {}
        self._figures: dict[str, Figure] = {}
        self._values: dict[str, tk.StringVar] = {}
        self._style = style
        self._labels: dict[str, ttk.Label] = {}
        self._heads = ttk.Frame(self)  # holds the headings where only one form has room
        self._arranged = ""  # the form that has the strip to itself, or _WHOLE
        for by, figures in FORMS.items():
            heading = ttk.Button(
                self, style="Small.TButton", command=partial(presenter.edit, "layout.by", by)
            )
            heading.configure(takefocus=False, width=-4)
            helper.attach(heading, f"State the layout by {by}; the numbers are converted.")
            self.headings[by] = heading
            for figure in figures:
                value = tk.StringVar(self)
                entry = ttk.Entry(
                    self, textvariable=value, width=_LETTERS, font=look.BOLD, justify="center"
                )
                for event in ("<Return>", "<KP_Enter>", "<FocusOut>"):
                    entry.bind(event, partial(self._take, figure), add="+")
                entry.bind("<Escape>", partial(self._restore, figure))
                top = str(entry.winfo_toplevel())
                entry.bindtags((str(entry), top, entry.winfo_class(), "all"))
                helper.attach(entry, partial(self._words, figure))
                label = ttk.Label(self, text=figure.label, style="Quiet.TLabel", justify="center")
                # a narrow column's label takes two lines
                label.configure(anchor="n")
                entry.bind("<Configure>", partial(_fold, label), add="+")
                self._labels[figure.key] = label
                self.inputs[figure.key], self._values[figure.key] = entry, value
                self._figures[figure.key] = figure
        # a line of its own would take the ball's room
        self.beside = ttk.Label(self, style="Quiet.TLabel")
        self.change = ttk.Label(ball, style="Quiet.TLabel", background=look.PAPER)
        self._corner = ball.area
        self._gap = style.pixels(0.5)
        self._told = self._all = ""
        self._changed_by = ""  # the way of stating whose figures were changed last
        for label in (self.beside, self.change):
            helper.attach(label, lambda: self._all)
        self.bind("<Configure>", self._sized)
        self._arrange(_WHOLE)
        self._telling = Timer(self)
        presenter.subscribe(self._changed)
        self._show()

    @property
    def focused_path(self) -> str:
        """The record's field of the figure that has the keyboard, empty for none."""
        widget = focused(self)
        return next((self._figures[key].path for key, e in self.inputs.items() if e is widget), "")

    def _words(self, figure: Figure) -> str:
        """Help on a figure, and what the last change of the record did."""
        words = field_words(figure.path)
        return f"{words}\n\n{self._all}" if self._all else words

    def _sized(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._fit(event.width)

    def _fit(self, width: int) -> None:
        """All forms where they have room, else that which states the layout.

        Large figures where there is room for the longest in every field, else bold ones.
        """
        bold, large = (font.nametofont(name, self) for name in (look.BOLD, look.BIG))
        around = font.nametofont("TkDefaultFont", self).measure("00")
        stated, usual = self._presenter.entry("layout.by"), _LONGEST[self._presenter.units]
        whole = width >= len(self.inputs) * (bold.measure(usual) + around)
        self._arrange(_WHOLE if whole else stated if stated in FORMS else next(iter(FORMS)))
        seen = [entry for entry in self.inputs.values() if entry.winfo_manager()]
        name = look.BIG if width >= len(seen) * (large.measure(usual) + around) else look.BOLD
        # placement may have a direction's word behind the figure
        longest = usual if stated != "placement" else f"{usual} down"
        huge = font.nametofont(look.HUGE, self).measure(longest) + self._gap
        if whole and width - len(FORMS) * self._gap >= len(seen) * huge:
            name = look.HUGE
        for entry in self.inputs.values():
            if str(entry.cget("font")) != name:
                entry.configure(font=name)
        self._telling.start(0, self._put)

    def _arrange(self, which: str) -> None:
        """Lay out all forms side by side, or one with the headings of the others above it."""
        if which == self._arranged:
            return
        self._arranged = which
        self._name_headings()
        gap, column = self._gap, 0
        for child in (*self.headings.values(), *self.inputs.values(), *self._labels.values()):
            child.grid_forget()
        self._heads.grid_forget()
        for i in range(self.grid_size()[0]):
            self.columnconfigure(i, weight=0, minsize=0)
        if which == _WHOLE:
            for by, figures in FORMS.items():
                self.headings[by].grid(row=0, column=column, columnspan=len(figures), sticky="w")
                for figure in figures:
                    self._place(figure.key, column, gap)
                    column += 1
                self.columnconfigure(column, minsize=gap)
                column += 1
            return
        self._heads.grid(row=0, column=0, columnspan=len(self.inputs), sticky="w")
        for i, heading in enumerate(self.headings.values()):
            heading.grid(in_=self._heads, row=0, column=i, padx=(0, gap // 2))
            heading.lift()
        for key in self._figures:
            if form_of(key, which) == which:
                self._place(key, column, gap)
                column += 1

    def _place(self, key: str, column: int, gap: int) -> None:
        self.inputs[key].grid(row=1, column=column, sticky="ew", padx=(0, gap // 4))
        self._labels[key].grid(row=2, column=column, sticky="new")
        self.columnconfigure(column, weight=1)

    def refresh(self) -> None:
        """Lay out anew, as after another text size."""
        self._arranged = ""
        self._fit(self.winfo_width())

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("entries"):
            of_layout = any(path.startswith("layout.") for path in change.paths)
            self._changed_by = self._presenter.entry("layout.by") if of_layout else ""
        if change.has("units"):
            self._fit(self.winfo_width())  # a length in millimetres is longer
        if change.has("plan", "entries", "units", "problems", "file"):
            self._show()

    def _show(self) -> None:
        p = self._presenter
        stated = p.entry("layout.by")
        if self._arranged != _WHOLE:
            self._fit(self.winfo_width())
        self._name_headings()
        for key, figure in self._figures.items():
            text = printable(figure_text(figure, p.entries, p.plan, p.units))
            if self._values[key].get() != text:
                self._values[key].set(text)
            ours = form_of(key, stated) == stated
            stale = p.stale and not ours
            color = look.PALE if stale else look.INK if ours else look.QUIET
            self.inputs[key].configure(foreground=color)
        # during a drag the marks come first: what it did is told when they rest
        self._telling.start(0 if not p.dragging else look.REST, self._tell)

    def _name_headings(self) -> None:
        """Mark the form that states the layout; where there is little room, by its sign alone."""
        stated = self._presenter.entry("layout.by")
        for by, heading in self.headings.items():
            text = OPTION_LABELS[by].capitalize()
            if by == stated:
                text = f"● {text}, stated" if self._arranged == _WHOLE else f"● {text}"
            if str(heading.cget("text")) != text:
                heading.configure(text=text)

    def _tell(self) -> None:
        p = self._presenter
        before = None if p.stale else p.plan_before
        self._all = change_words(before, p.plan, p.units)
        self._told = change_words(before, p.plan, p.units, ("side",))
        self._put()

    def _put(self) -> None:
        """The words beside the heading of what was changed if they fit there, else on the picture."""
        figures, short = FORMS.get(self._changed_by, ()), self._told.removeprefix(CHANGE)
        place = left = room = 0
        if figures and self._arranged == _WHOLE:
            heading, last = self.headings[self._changed_by], self.inputs[figures[-1].key]
            left = heading.winfo_x() + heading.winfo_width() + self._gap
            room = last.winfo_x() + last.winfo_width() - left
            place = heading.winfo_y() + heading.winfo_height() // 2
        plain = font.nametofont("TkDefaultFont", self)
        fits = [words for words in (self._told, short) if words and plain.measure(words) < room]
        self.beside.configure(text=fits[0] if fits else "")
        self.change.configure(text="" if fits else self._told)
        if fits:
            self.beside.place(x=left, y=place, anchor="w")
        else:
            self.beside.place_forget()
        if self._told and not fits:
            self.change.place(in_=self._corner, x=4, y=4)
        else:
            self.change.place_forget()

    # --- changing a figure ------------------------------------------------------------------------

    def _take(self, figure: Figure, event: tk.Event[tk.Misc]) -> str | None:
        text = self._values[figure.key].get().strip()
        if text not in ("", UNKNOWN):
            self._presenter.set_figure(figure, text)
        self._show()  # a figure that was refused goes back
        return None if event.type == tk.EventType.FocusOut else "break"

    def _restore(self, figure: Figure, _: tk.Event[tk.Misc]) -> str:
        self._show()
        self.inputs[figure.key].selection_range(0, "end")
        return "break"


def _fold(label: ttk.Label, event: tk.Event[tk.Misc]) -> None:
    """Fold a label's text to the width of its column, less what the label has around it."""
    room = max(event.width - 6, 1)
    if str(label.cget("wraplength")) != str(room):
        label.configure(wraplength=room)
