"""Practice in a window of its own: the day's problems, answered in words or by a mark on the ball."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING

from gui.state.practice_desk import PracticeDesk, groups
from gui.views.choice import choice_box
from gui.views.dialogs import Choice, Dialog, QuestionDialog, Reader
from gui.views.picture_ball import PictureBall
from gui.views.text_view import TextView
from layoutkit.geometry.vectors import Vector
from layoutkit.practice.values import Group
from layoutkit.units import Units, printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

TODAY = "today's set"
_FORGET = (Choice("forget", "Forget", 0), Choice("cancel", "Cancel", 0))
_HERE = "▸"  # before the page that is shown
_TAGS = {"full": "pass", "part": "close", "none": "fail"}


class PracticeDialog(Dialog):
    """One problem at a time, its ball beside it, and the worked answer page by page once it is given.

    ``units`` gives those in which a rule at the ball is read now.
    """

    def __init__(self, parent: tk.Misc, style: Appearance, units: Callable[[], Units]) -> None:
        super().__init__(parent, style, "Practice")
        self.desk = PracticeDesk()
        self._units = units
        self.page = 0
        self.question: QuestionDialog | None = None
        self._lay_out()
        self.show_problem()
        self.protocol("WM_DELETE_WINDOW", self.leave)
        self.rise(self.box)
        self._arrive()

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.5)
        head = ttk.Frame(self)
        head.grid(row=0, column=0, columnspan=2, sticky="ew", padx=pad, pady=pad)
        self.heading = ttk.Label(head, style="Big.TLabel")
        self.heading.pack(side="left")
        names = (TODAY, *(words for _, words in groups()))
        self.kinds = choice_box(head, names, self._group_chosen)
        self.kinds.set(TODAY)
        self.kinds.pack(side="right")
        self.trainee = ttk.Entry(head, width=14, font="TkTextFont")
        self._show_name()
        self.trainee.pack(side="right", padx=pad)
        self.trainee.bind("<Return>", lambda _: self._begin())
        self.trainee.bind("<FocusOut>", lambda _: self._named(), add="+")
        ttk.Label(head, text="Trainee").pack(side="right")
        self.text = TextView(self, self.style, 44, 20)
        self.text.grid(row=1, column=0, sticky="nsew", padx=(pad, 0))
        self.ball = PictureBall(self, self.style, self._placed)
        self.ball.grid(row=1, column=1, sticky="nsew", padx=pad)
        self.ball.widget.bind("<Return>", lambda _: self.hand_in())
        self.rule = ttk.Label(self, style="Quiet.TLabel", wraplength=self.style.pixels(30))
        self.rule.grid(row=2, column=1, sticky="w", padx=pad)
        row = ttk.Frame(self)
        row.grid(row=2, column=0, sticky="ew", padx=pad, pady=pad)
        ttk.Label(row, text="Answer").pack(side="left")
        self.box = ttk.Entry(row, font="TkTextFont")
        self.box.pack(side="left", fill="x", expand=True, padx=(pad, 0))
        self.box.bind("<Return>", lambda _: self.hand_in())
        self.offered = ttk.Frame(self)
        self.offered.grid(row=3, column=0, columnspan=2, sticky="w", padx=pad)
        self.choices: list[ttk.Button] = []
        self.message = ttk.Label(self, style="Bad.TLabel", wraplength=self.style.pixels(60))
        self.message.grid(row=4, column=0, columnspan=2, sticky="w", padx=pad)
        self.safety = ttk.Label(
            self, style="Quiet.TLabel", wraplength=self.style.pixels(60), justify="left"
        )
        self.safety.grid(row=5, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0))
        buttons = ttk.Frame(self)
        buttons.grid(row=6, column=0, columnspan=2, sticky="e", padx=pad, pady=pad)
        for name, text, letter, command in (
            ("hand", "Hand in", 0, self.hand_in),
            ("back", "Page back", 5, partial(self.turn_page, -1)),
            ("on", "Page on", 5, partial(self.turn_page, 1)),
            ("next", "Next problem", 0, self.next),
            ("progress", "Progress", 0, self.show_progress),
            ("forget", "Forget this trainee ...", 0, self.forget_trainee),
            ("close", "Close", 0, self.leave),
        ):
            self.button(buttons, name, text, letter, command).pack(side="left", padx=(pad // 2, 0))
        self.bind("<Alt-Left>", partial(_do, partial(self.turn_page, -1)))
        self.bind("<Alt-Right>", partial(_do, partial(self.turn_page, 1)))
        self.columnconfigure(0, weight=1)
        self.columnconfigure(1, weight=2)
        self.rowconfigure(1, weight=1)

    # --- what is shown ----------------------------------------------------------------------------

    def show_problem(self) -> None:
        """Show the present problem from its beginning."""
        self.page = -1
        self.box.delete(0, "end")
        self.ball.point = None
        self.ball.show(self.desk.scene, self.desk.view)
        self._offer()
        self.show()

    def _offer(self) -> None:
        """A button for each choice; its number or its words can be typed as well."""
        for button in self.choices:
            button.destroy()
        asked = None if self.desk.problem is None else self.desk.problem.draft.asked
        self.choices = []
        for number, words in enumerate(() if asked is None else asked.choices, 1):
            button = ttk.Button(
                self.offered,
                text=printable(words),
                style="Small.TButton",
                command=partial(self._choose, number),
            )
            button.pack(side="left", padx=(0, self.style.pixels(0.3)))
            self.choices.append(button)

    def _choose(self, number: int) -> None:
        self.box.delete(0, "end")
        self.box.insert(0, str(number))
        self.hand_in()

    def show(self) -> None:
        """Show the words, and which buttons are of use now."""
        desk = self.desk
        self.heading.configure(text=printable(desk.heading))
        pieces = [(f"{words}\n", "") for words in desk.question]
        if desk.marked is not None:
            tag = _TAGS[desk.marked.score]
            pieces += [("\n", ""), *((f"{words}\n", tag) for words in desk.said), ("\n", "")]
            for n, page in enumerate(desk.pages):
                mark = f"{_HERE} " if n == self.page else "   "
                style = "bold" if n == self.page else "quiet"
                pieces.append((f"{mark}{page.words}\n", style))
        self.text.show([(printable(words), tag) for words, tag in pieces])
        here = self.text.text.search(_HERE, "1.0")
        if here:
            self.text.text.see(f"{here} lineend")
        self.message.configure(text=printable(f"✗ {desk.message}" if desk.message else ""))
        beside = desk.rule(self._units())
        if desk.problem is not None and not self.ball.scene.lines:
            beside = "No drawing goes with this problem."
        self.rule.configure(text=printable(beside))
        self.safety.configure(text=printable(f"Safety: {desk.safety}"))
        open_now, told = desk.problem is not None and desk.marked is None, desk.marked is not None
        for name, on in (
            ("hand", open_now),
            ("back", told and self.page > -1),
            ("on", told and self.page + 1 < len(desk.pages)),
            ("next", desk.problem is not None),
        ):
            self.buttons[name].state(["!disabled" if on else "disabled"])
        for widget in (self.box, *self.choices):
            widget.state(["!disabled" if open_now else "disabled"])

    def _arrive(self) -> None:
        """Put the keyboard where the answer is given."""
        if self.desk.problem is None:
            self.kinds.focus_set()
        elif self.desk.task is not None:
            self.ball.widget.focus_set()
        else:
            self.box.focus_set()

    # --- answering --------------------------------------------------------------------------------

    def _placed(self, point: Vector) -> None:
        self.desk.place(point)
        self.ball.show(self.desk.scene)
        self.rule.configure(text=printable(self.desk.rule(self._units())))

    def hand_in(self) -> None:
        """Hand in what was typed, else the mark on the ball; once it is marked, go on."""
        desk = self.desk
        if desk.marked is not None:
            self.next()
            return
        text = self.box.get().strip()
        done = desk.answer(text) if text or desk.task is None else desk.hand_in()
        if done:
            self.ball.show(desk.scene)
        else:
            self.bell()
        self.show()
        if done:
            self.buttons["next"].focus_set()

    def next(self) -> None:
        """Go to the next problem."""
        if self.desk.problem is not None:
            self.desk.next()
        self.show_problem()
        self._arrive()

    def turn_page(self, by: int) -> None:
        """Another page of the worked answer, with its ball; before the first one the answer itself."""
        pages = self.desk.pages
        if not pages:
            self.bell()
            return
        self.page = min(max(self.page + by, -1), len(pages) - 1)
        if self.page < 0:
            self.ball.show(self.desk.scene, self.desk.view)
        else:
            self.ball.show(pages[self.page].scene, pages[self.page].view)
        self.show()

    # --- whose practice ---------------------------------------------------------------------------

    def _begin(self, group: Group | None = None, arrive: bool = True) -> None:
        self.desk.begin(self.trainee.get(), group)
        if self.desk.message:  # it is still the set of the one before
            self.show()
            return
        self._show_name()
        self.show_problem()
        if arrive:
            self._arrive()

    def _show_name(self) -> None:
        self.trainee.delete(0, "end")
        self.trainee.insert(0, self.desk.trainee)

    def _named(self) -> None:
        """Begin the set of another trainee also where the name was left without Return."""
        if self.trainee.get().split() not in ([], self.desk.trainee.split()):
            self._begin(arrive=False)  # the keyboard is where somebody has put it

    def _group_chosen(self) -> None:
        words = self.kinds.get()
        self._begin(next((name for name, each in groups() if each == words), None))

    def show_progress(self) -> None:
        """The owner's page: what is sure, what is shaky, which slips repeat."""
        there = ", ".join(self.desk.trainees()) or "nobody"
        text = f"{self.desk.progress()}\nSomething is kept of: {there}.\n"
        Reader(self, self.style, "Progress", [(text, "table")], 84, 30)

    def forget_trainee(self) -> None:
        """Delete all that is kept of this trainee, after asking."""

        def answered(answer: str) -> None:
            if answer == "forget":
                said = self.desk.forget()
                self.show_problem()
                self.message.configure(text=printable(said))

        text = f"Delete every answer that is kept of {self.desk.trainee}? It cannot be undone."
        self.question = QuestionDialog(
            self, self.style, "Forget this trainee", text, _FORGET, answered
        )

    def refuse(self) -> None:
        """Escape takes back what was typed; it does not close the window."""
        self.box.delete(0, "end")
        self._show_name()
        self._arrive()


def _do(action: Callable[[], object], _: tk.Event[tk.Misc]) -> str:
    action()
    return "break"
