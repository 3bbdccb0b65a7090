"""One window: form, ball and readings around one presenter, with the menus and keys of the commands.

It decides nothing about the job. What it holds itself is which dialog is open. Dialogs are imported when
they are first opened, so that the window is sooner there.
"""

from __future__ import annotations

import time
import tkinter as tk
from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path
from tkinter import filedialog, font, ttk
from typing import TYPE_CHECKING, Any, Protocol

from gui.state import files, help_texts, odds, programs, recovery, settings
from gui.state.commands import COMMANDS, MENUS, Menu, MenuCommand, in_menu, keys_text
from gui.state.fields import GROUPS, LISTS
from gui.state.presenter import (
    Presenter,
    Refresh,
    card,
    certainty_text,
    maps_bytes,
    sheet,
    strips,
)
from gui.state.press import Progress as Work
from gui.state.shop import ShopFile
from gui.state.verdict import CHANGE
from gui.views import style as look
from gui.views.ball_view import BallView
from gui.views.choice import choice_box
from gui.views.dialogs import (
    CLOSE,
    DISK,
    EARLIER,
    RECOVER,
    SAVE_FIRST,
    Choice,
    Dialog,
    Progress,
    QuestionDialog,
    Reader,
)
from gui.views.form_view import FormView
from gui.views.layout_strip import LayoutStrip
from gui.views.readings_view import ANOTHER_HEIGHT, ReadingsView
from gui.views.tooltips import Help
from gui.views.verdict_view import VerdictView, cut
from layoutkit import __version__
from layoutkit.errors import InputError
from layoutkit.job.files import write_atomic
from layoutkit.output.drawing import FACINGS
from layoutkit.output.handbook import show_in_browser, write_handbook
from layoutkit.output.report import SHOP_CAUTIONS
from layoutkit.output.typeset import PAPERS
from layoutkit.output.versions import versions
from layoutkit.planning.values import Plan
from layoutkit.units import Units, printable

if TYPE_CHECKING:
    from gui.state.changes import Changes
    from gui.views.press_view import PressView

# hundredths of the height that the ball keeps where the tabs below ask for more, and in a low window
_PICTURE, _FLAT_PICTURE = 45, 55
_FLAT = 36.0  # ems of height below which what stands above and below the picture gets lower
_USUAL = (1280, 860)
_MENU = 1.6  # ems of the menu, which is not counted in a window's height
_GRIP = 100  # pixels of a window that must be on the screen for it to be taken hold of
_QUIET = 200  # milliseconds without a change until the chance of an illegal ball is worked out
_PAUSE = 5  # milliseconds between two pieces of it, for whatever happens meanwhile
_READ = 6000  # milliseconds for which a message is not replaced by help
_RECOVERY = 400  # milliseconds after an edit until the recovery copy is written
_RECOVERY_AGAIN = 10_000  # milliseconds until the next try where it could not be written
_JOBS = (("Job records", "*.layoutjob *.json *.JSON"), ("All files", "*"))
_UNITS: dict[Units, str] = {"fraction": "Fractions", "decimal": "Decimals", "metric": "Metric"}
_UNITS_HELP = (
    "How readings are written: in fractions of an inch, in decimals or in metric units. "
    "Fields keep what you typed."
)
_COMPARE_HELP = {
    "keep": "Keep the present plan. The ball then shows the kept plan's marks as ghosts, and the "
    "readings show how they differ from it.",
    "swap": "Exchange the present plan and the kept plan.",
    "drop": "Forget the kept plan, and compare no more.",
}


_BALL = (
    "The ball, seen from outside\n"
    "Drag the pin or the PAP to move it, anything else to turn the ball; double-click a mark to face "
    "it. Arrow keys nudge a selected pin or PAP. Dashed, hollow and (far): on the far side.\n"
    "Grey and (kept) are the marks of the plan that you compare with. The lines are the midline across "
    "the grip, the centreline along it and the VAL through the PAP; the coloured arcs are the layout, "
    "their lengths rounded to what a rule marks, as on the sheet. The readings are finer."
)


class Application(Protocol):
    """What a window needs of the application around it."""

    root: tk.Tk
    style: look.Appearance
    config: Path
    shop: ShopFile
    windows: list[Window]

    def open_window(self) -> Window:
        """Open one more window."""

    def closed(self, window: Window) -> None:
        """Hear that a window is gone."""

    def quit(self) -> None:
        """Close every window."""

    def set_text_size(self, change: int) -> None:
        """Larger, smaller, or with 0 usual text in every window."""


class Window(tk.Toplevel):
    """A window with a job of its own."""

    def __init__(self, app: Application) -> None:
        super().__init__(app.root, background=look.GROUND)
        self.app, self.style = app, app.style
        self.system = str(self.tk.call("tk", "windowingsystem"))
        self.presenter = Presenter(app.config, app.shop)
        self.dialog: tk.Toplevel | None = None
        self.tools: dict[type[Dialog], Dialog] = {}  # of each kind the one that was opened last
        self.press: PressView | None = None
        self._bench = Work()  # what of the present job is done at the press
        self._track = ""  # what was typed into the last dialog of the track
        self._measured: dict[str, str] = {}  # as typed into the last dialog that copies a grip
        self._shelf = ""  # the table of balls that was chosen last
        self._weighed = ""  # the folder of weighed jobs that was chosen last
        self._keep = self._dividing = self._working = ""
        self._divided = False
        self._below = 0  # where the picture ends while a tab has its place
        self._reason = ("", "")  # the reason that was gone to last
        self._headed: list[ttk.Widget] | None = (
            None  # what is shown above the ball beside what faces it
        )
        self._holding = self._message = self._helping = self._saying = ""
        self._flat = False  # whether the window is so low that all but the picture gives way
        self._chosen: dict[str, tk.BooleanVar] = {}
        kept = settings.load(app.config)
        self.presenter.set_units(kept.units)
        self.help = Help(self._hint, self.style.pixels)
        self._size(kept.width or _USUAL[0], kept.height or _USUAL[1])
        self._panes = kept.panes
        self._put(kept)
        self._lay_out()
        self.actions = self._make_actions()
        self._make_menus()
        self.presenter.subscribe(self._changed)
        self.protocol("WM_DELETE_WINDOW", self.close)
        self.bind("<Destroy>", self._gone)
        self.bind("<FocusIn>", self._entered, add="+")
        self.bind("<Configure>", self._flatten, add="+")
        self._tell_state()
        self._say("Fill in the record, or choose Open a sample in the File menu.")
        # the form is there at once; the figure, which takes longer, when that has been painted
        self._building = self.after(1, self._build)

    def _size(self, width: int, height: int) -> None:
        """Take a size, or a larger one where the window's parts need more."""
        screen = self.winfo_screenwidth(), self.winfo_screenheight()
        # screens are never quite as dense as they say
        share = round(self.winfo_fpixels("1i") / 96.0, 1) * self.style.text / look.USUAL_TEXT
        wide, high = (
            min(round(side * max(share, 1.0)), most)
            for side, most in zip(look.ROOM, screen, strict=True)
        )
        least = wide, high - self.style.pixels(_MENU)
        self.minsize(*least)
        wide, high = (
            min(max(side, low), most)
            for side, low, most in zip((width, height), least, screen, strict=True)
        )
        if (wide, high) != (self.winfo_width(), self.winfo_height()):
            self.geometry(f"{wide}x{high}")

    def _put(self, kept: settings.Settings) -> None:
        """Stand where the last window stood, unless that is off the screen or another one is open."""
        if self.app.windows:
            return
        screen = self.winfo_vrootwidth(), self.winfo_vrootheight()
        corner = self.winfo_vrootx(), self.winfo_vrooty()
        if kept.place and all(
            low <= at <= low + size - _GRIP
            for at, low, size in zip(kept.place, corner, screen, strict=True)
        ):
            self.geometry("+{}+{}".format(*kept.place))
        if kept.maximised:
            self.maximised = True

    @property
    def maximised(self) -> bool:
        """Whether the window fills its screen."""
        if self.system == "x11":
            return bool(self.attributes("-zoomed"))
        return str(self.state()) == "zoomed"

    @maximised.setter
    def maximised(self, on: bool) -> None:
        if self.system == "x11":
            self.attributes("-zoomed", on)
        else:
            self.state("zoomed" if on else "normal")

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.4)
        # as many lines, always: else the ball would change its size with each message
        foot = ttk.Frame(self, height=self.style.pixels(2.7))
        foot.pack_propagate(False)
        foot.pack(side="bottom", fill="x")
        self._foot = foot
        self.status = ttk.Label(foot, style="Status.TLabel", anchor="nw", justify="left")
        self.status.pack(fill="both", expand=True)
        foot.bind("<Configure>", lambda _: self._write())
        self.help.attach(self.status, lambda: self._saying)
        self.strip = VerdictView(self, self.style, self.show_reason, self.mend_reason)
        self.strip.pack(side="top", fill="x")
        self.outcome, self.odds = self.strip.outcome, self.strip.odds
        for label in (self.strip.outcome, self.strip.reason, self.strip.mend, self.strip.basis):
            self.help.attach(label, self._verdict)
        self.help.attach(self.odds, self._odds_words)
        self._across: Any = ttk.PanedWindow(self, orient="horizontal")
        self._across.pack(fill="both", expand=True, padx=pad, pady=(pad, 0))
        self.form = FormView(
            self._across, self.presenter, self.style, self.help, help_texts.field_words,
            self.change_list,
        )  # fmt: skip
        right = ttk.Frame(self._across)
        self._across.add(self.form, weight=0)
        self._across.add(right, weight=1)
        self._down: Any = ttk.PanedWindow(right, orient="vertical")
        self.ball = BallView(self._down, self.presenter, self.style)
        self.layout_strip = LayoutStrip(right, self.presenter, self.style, self.help, self.ball)
        self.layout_strip.pack(fill="x", padx=(self.style.pixels(0.3), 0))
        self._down.pack(fill="both", expand=True)
        self._down.bind("<Configure>", self._sized)
        self._head(self.ball.bar)
        self.readings = ReadingsView(
            self._down, self.presenter, self.style, self.help, help_texts.reading_words, self.ball
        )
        for bar in self.readings.bars.values():
            bar.bind(ANOTHER_HEIGHT, self._asked, add="+")
        self._down.add(self.ball, weight=2)
        self._down.add(self.readings, weight=1)

    def _head(self, head: ttk.Frame) -> None:
        """Comparison and units, at the right end of the row of buttons above the ball."""
        self._top = head
        # from the right edge inward
        self._words: dict[str, ttk.Label] = {"Face": self.ball.word}
        self.unit_box = choice_box(head, tuple(_UNITS.values()), self._unit_chosen)
        self.unit_box.configure(width=9)  # the row has little room, and the words no wide letters
        self.help.attach(self.unit_box, _UNITS_HELP)
        self._head_word("Units")
        self._compare_buttons(head)
        self._head_word("Compare")
        head.bind("<Configure>", lambda _: self._fit_head())

    def _head_word(self, word: str) -> None:
        """A word before the buttons, hidden where there is no room for it."""
        self._words[word] = ttk.Label(self._top, text=word, style="Quiet.TLabel")

    def _compare_buttons(self, head: ttk.Frame) -> None:
        p = self.presenter
        self.compare: dict[str, ttk.Button] = {}
        buttons: tuple[tuple[str, Callable[[], object]], ...] = (
            ("drop", p.drop_reference), ("swap", p.swap_reference), ("keep", p.keep_reference),
        )  # fmt: skip
        for name, command in buttons:
            button = ttk.Button(
                head, text=name.capitalize(), style="Small.TButton", command=command, width=-4
            )
            self.help.attach(button, _COMPARE_HELP[name])
            self.compare[name] = button

    def _fit_head(self) -> None:
        """Fold away what the row above the ball is too narrow for; the menus have all of it."""
        head, wide, near = self._top, self.style.pixels(0.3), 1
        faces = list(self.ball.face_buttons.values())
        room = head.winfo_width() - sum(b.winfo_reqwidth() + 2 * near for b in faces)
        # what folds last comes first
        groups: tuple[tuple[list[ttk.Widget], int], ...] = (
            ([self.unit_box], near),
            ([self.ball.reset_button], 5),
            (list(self.compare.values()), near),
            ([self._words["Face"]], wide),
            ([self._words["Units"]], wide),
            ([self._words["Compare"]], wide),
        )
        seen: list[ttk.Widget] = []
        for group, beside in groups:
            room -= sum(widget.winfo_reqwidth() + 2 * beside for widget in group)
            if room < 0 and head.winfo_width() > 1:
                break
            seen += group
        if seen == self._headed:
            return
        self._headed = seen
        left = (
            (self._words["Face"], wide),
            *((b, near) for b in faces),
            (self.ball.reset_button, 5),
        )
        right = (
            (self.unit_box, near), (self._words["Units"], wide),
            *((b, near) for b in self.compare.values()), (self._words["Compare"], wide),
        )  # fmt: skip
        for side, parts in (("left", left), ("right", right)):
            for widget, beside in parts:
                widget.pack_forget()
                if widget in seen or widget in faces:
                    widget.pack(side=side, padx=beside)  # type: ignore[arg-type]

    def _build(self) -> None:
        self._building = ""
        self.update_idletasks()
        self.ball.build()
        if self.presenter.plan is None and self.focus_get() in (None, self.ball.widget):
            self.form.show_group("bowler")  # an empty record begins with the name
        self.help.on_focus(self.ball.widget, _BALL)
        self.help.under(self.ball.widget, lambda: self.ball.pointed_words)
        for command in COMMANDS:
            if command.where == "ball":
                for key in command.sequences(self.system):
                    self.ball.widget.bind(key, partial(self._pressed, command))
        # Tk passes over modifiers that a binding does not name: Ctrl+S is no S, Alt+Right no arrow
        own = {key for c in COMMANDS if c.where == "ball" for key in c.sequences(self.system)}
        for command in COMMANDS:
            if command.where == "ball":
                for key in command.sequences(self.system):
                    for modifier in ("Control", "Alt"):
                        plain = f"<{modifier}-{key[1:].removeprefix('Key-')}"
                        if plain in own or "Control" in key:
                            continue
                        self.ball.widget.bind(f"<{modifier}-{key[1:]}", lambda _: None)

    def _sized(self, event: tk.Event[tk.Misc]) -> None:
        """Divide the room once it is known; later keep every part from getting too little."""
        if event.height > 1 and event.width > 1 and not self._dividing:
            self._dividing = self.after_idle(self._keep_room if self._divided else self._divide)

    def _asked(self, _: tk.Event[tk.Misc]) -> None:
        """Give the readings the room that they have come to need, as of another job."""
        if self._divided and not self._dividing:
            self._dividing = self.after_idle(self._keep_room)

    def _divide(self) -> None:
        """Give form and readings the room that they ask for, and the ball the rest."""
        self._dividing = ""
        self._divided = True
        if self._panes:  # as someone has divided it; later they follow the text
            across, down = self._panes
            self._panes = ()
            self._across.sashpos(0, min(across, self._half))
            self._down.sashpos(0, down)
            self._keep_room()
            return
        self._across.sashpos(0, self._form_width)
        high = self._down.winfo_height()
        wanted = max(self._readings_height, high * 3 // 8)
        self._down.sashpos(0, max(high - wanted, high * self._picture // 100))

    @property
    def _readings_height(self) -> int:
        """The height that the readings ask for, with the sash above them, in pixels."""
        return self.readings.winfo_reqheight() + self.style.pixels(0.4)

    @property
    def _picture(self) -> int:
        return _FLAT_PICTURE if self._flat else _PICTURE

    @property
    def _half(self) -> int:
        """The most that the form may have, in pixels: the picture keeps half of the window."""
        return int(self._across.winfo_width()) - self.winfo_width() // 2 - self.style.pixels(0.6)

    @property
    def _form_width(self) -> int:
        """The width that the form needs, or as much of it as it may have, in pixels."""
        return min(self.form.winfo_reqwidth(), max(self._half, 1))

    def _keep_room(self) -> None:
        """After another size of the window: what the form and the readings need, the ball gives.

        But the ball keeps half of the width and of the height; then the others scroll.
        """
        self._dividing = ""
        self.update_idletasks()  # what they ask for is known after that
        across = self._across.sashpos(0)
        if not self._form_width <= across <= max(self._half, 1):
            self._across.sashpos(0, self._form_width)
        high = self._down.winfo_height()
        most = high - min(self._readings_height, high * (100 - self._picture) // 100)
        if self._down.sashpos(0) > most:
            self._down.sashpos(0, most)

    def enlarge_tab(self) -> None:
        """Let the tab in front, as the map or the lane, take the picture's place, or no longer."""
        if self._below:
            self._down.sashpos(0, self._below)
            self._below = 0
            self._keep_room()
        else:
            self._below = max(self._down.sashpos(0), 1)
            self._down.sashpos(0, 0)

    # --- commands ---------------------------------------------------------------------------------

    def _make_actions(self) -> dict[str, Callable[[], object]]:
        """The actions of the commands that the presenter does not carry out, by the commands' names."""
        ball, form, app = self.ball, self.form, self.app
        return {
            "new": self.new,
            "new_from": self.new_from_this,
            "new_window": app.open_window,
            "open": self.open,
            "redrill": self.redrill,
            **{f"list_{path}": partial(self.change_list, path) for path in LISTS},
            "save": self.save,
            "save_as": self.save_as,
            "book": self.open_book,
            "save_in_book": self.save_in_book,
            "customer": self.show_customer,
            "desk": self.open_desk,
            "practice": self.open_practice,
            "tour": self.open_tour,
            "sheet": self.make_sheet,
            "open_sheet": partial(self._hand_over_sheet, programs.open_file, "Opened"),
            "print_sheet": partial(
                self._hand_over_sheet, programs.print_file, "Sent to the printer:"
            ),
            **{f"paper_{paper}": partial(self.set_paper, paper) for paper in PAPERS},
            "strips": self.make_strips,
            "card": self.make_card,
            "maps": self.make_maps,
            "map": self.readings.show_map,
            "lane": self.readings.show_lane,
            "enlarge": self.enlarge_tab,
            "sure": partial(self._work_out, "How sure the plan is", certainty_text),
            "change": self.what_to_change,
            "copy_plan": self.copy_plan,
            "close": self.close,
            "quit": app.quit,
            "axis": self.find_axis,
            "shelf": self.rank_shelf,
            "choose": self.readings.show_choice,
            "scale": self.calibrate_scale,
            "bits": self.list_bits,
            "press": self.show_press,
            "fit": self.fit_shop,
            "next_problem": form.next_problem,
            "reason": self.show_reason,
            "copy_grip": self.copy_grip,
            "fit_help": self.help_fit,
            "same": lambda: self.presenter.same_as_middle(form.focused_path),
            "confirm": lambda: self.presenter.confirm(form.focused_path),
            "text_larger": partial(app.set_text_size, 1),
            "text_smaller": partial(app.set_text_size, -1),
            "text_usual": partial(app.set_text_size, 0),
            **{f"group_{name}": partial(form.show_group, name) for name in GROUPS},
            "focus_ball": ball.take_focus,
            **{f"face_{what}": partial(ball.face, what) for what in FACINGS},
            "reset_view": ball.reset,
            "help_field": self.explain_focused,
            "glossary": self.show_glossary,
            "handbook": self.show_handbook,
            "keys": self.show_keys,
            "about": self.show_about,
        }

    def _make_menus(self) -> None:
        bar = tk.Menu(self, tearoff=False, background=look.GROUND, relief="flat", borderwidth=0)
        self.menus: dict[str, tk.Menu] = {}
        for name, label in MENUS.items():
            menu = tk.Menu(bar, tearoff=False)
            menu.configure(postcommand=partial(self._fill, name))
            self.menus[name] = menu
            plain = label.replace("&", "")
            bar.add_cascade(label=plain, underline=label.find("&"), menu=menu)
            self._fill(name)
        self.configure(menu=bar)
        for command in COMMANDS:
            if command.where == "window":
                for key in command.sequences(self.system):
                    self.bind(key, partial(self._pressed, command))

    def _fill(self, name: Menu) -> None:
        """Make a menu anew, as it is now."""
        menu = self.menus[name]
        menu.delete(0, "end")
        group = 0
        for command in in_menu(name):
            if command.group != group:
                menu.add_separator()
                group = command.group
            label = command.menu_text(self.presenter)
            entry: dict[str, Any] = {"label": label, "underline": command.underline}
            if command.submenu:
                menu.add_cascade(menu=self._files(menu, command.id), **entry)
                continue
            entry["accelerator"] = command.accelerator(self.system)
            entry["command"] = partial(self.run, command)
            entry["state"] = "normal" if command.enabled(self.presenter) else "disabled"
            if command.chosen is None:
                menu.add_command(**entry)
            else:
                # the sign is drawn by the menu; which one is in force the presenter says
                chosen = tk.BooleanVar(menu, command.chosen(self.presenter))
                self._chosen[command.id] = chosen
                menu.add_checkbutton(variable=chosen, **entry)

    def _files(self, parent: tk.Menu, which: str) -> tk.Menu:
        """The submenu of recent files or of samples."""
        menu = tk.Menu(parent, tearoff=False)
        if which == "recent":
            for path in settings.recent_files(self.app.config):
                menu.add_command(label=printable(str(path)), command=partial(self.open_file, path))
        else:
            for path in files.samples():
                menu.add_command(label=path.stem, command=partial(self.open_sample, path))
        if menu.index("end") is None:
            nothing = "No recent files" if which == "recent" else files.NO_SAMPLES
            menu.add_command(label=nothing, state="disabled")
        return menu

    def run(self, command: MenuCommand) -> None:
        """Carry a command out, if it can be now."""
        self.presenter.settle()
        if not command.enabled(self.presenter):
            self.bell()
        elif command.method:
            command.run(self.presenter)
        else:
            self.actions[command.id]()

    def _pressed(self, command: MenuCommand, _: tk.Event[tk.Misc]) -> str:
        self.run(command)
        return "break"

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("job"):
            self._bench.restart()
            self._track, self._measured = "", {}
        if change.has("message", "file"):
            self._say(self.presenter.message)
        if change.has("plan", "problems", "file", "reference", "units", "history"):
            self._tell_state()
        if change.has("entries"):
            if self._keep:
                self.after_cancel(self._keep)
            self._keep = self.after(_RECOVERY, self._keep_recovery)
        if change.has("chance"):
            self._tell_odds()
        if change.has("units"):
            settings.change(self.app.config, units=self.presenter.units)

    def _tell_odds(self) -> None:
        """Show the chance of an illegal ball, or that the present plan's is not worked out yet."""
        p = self.presenter
        waiting = odds.WAITING if p.odds_known else ""
        self.strip.chance(waiting if p.odds is None else p.odds.text)
        # while a mark is dragged, the next piece waits by itself
        if not p.dragging or not self._working:
            self._work_later(_QUIET)

    def _work_later(self, wait: int) -> None:
        if self._working:
            self.after_cancel(self._working)
            self._working = ""
        if self.presenter.dragging or self.presenter.odds_due:
            self._working = self.after(wait, self._work)

    def _work(self) -> None:
        self._working = ""
        if self.presenter.dragging or self.ball.held:
            self._work_later(_QUIET)
            return
        self.presenter.work_on_odds()
        self._work_later(_PAUSE)

    def _odds_words(self) -> str:
        words = f"{odds.LABEL}\n{help_texts.reading_words(odds.KEY)}"
        odds_now = self.presenter.odds
        return words if odds_now is None else f"{words}\n\n{odds_now.words}"

    def _keep_recovery(self) -> None:
        self._keep = ""
        if not self.presenter.keep_recovery():
            self._keep = self.after(_RECOVERY_AGAIN, self._keep_recovery)

    def _tell_state(self) -> None:
        """Show the title, the outcome, and which buttons can be pressed."""
        p = self.presenter
        title = printable(p.document.title)
        if self.title() != title:
            self.title(title)
        readings = self.readings.readings
        if readings is None:
            self.strip.say("Record not complete", "The verdict comes with the last field.")
        elif p.stale:
            self.strip.say("Out of date", "A field is invalid: correct it.", stale=True)
        else:
            self.strip.show(readings.judged, "" if p.shop.fit is None else ", fitted")
        self.unit_box.set(_UNITS[p.units])
        for name, on in (
            ("keep", p.plan is not None and not p.stale),
            ("swap", p.reference is not None and not p.stale),
            ("drop", p.reference is not None),
        ):
            self.compare[name].state(["!disabled" if on else "disabled"])

    def _verdict(self) -> str:
        readings = self.readings.readings
        if readings is None:
            return "The plan's outcome under the rules appears here when the record is complete."
        if self.presenter.stale:
            return "A field is invalid: what is shown is the last plan that could be made."
        fit_words = self.presenter.shop.fit_words
        judged = readings.judged
        lines = (readings.verdict, *(r.words for r in judged.reasons), *judged.mends, fit_words)
        return "\n".join(line for line in lines if line)

    def show_reason(self) -> None:
        """Go to what does not pass: its field, or its line among the checks; then to the next one."""
        readings = self.readings.readings
        if self.presenter.problems:
            self.form.next_problem()
            return
        if readings is None or not readings.judged.reasons:
            self.bell()
            return
        reasons = readings.judged.reasons
        names = [(reason.name, reason.words) for reason in reasons]
        last = names.index(self._reason) if self._reason in names else -1
        reason = reasons[(last + 1) % len(reasons)]
        self._reason = (reason.name, reason.words)
        if reason.path and reason.path in self.form.rows:
            self.form.show_field(reason.path)
        else:
            self.readings.show_check(reason.name)
        self._say(f"{reason.words[:1].upper()}{reason.words[1:]}. {reason.mend}")

    def mend_reason(self) -> None:
        """Look for changes where these can mend the worst reason; else go to that."""
        readings = self.readings.readings
        mends = () if readings is None or self.presenter.stale else readings.judged.mends
        if mends[:1] == (CHANGE,):
            self.what_to_change()
        else:
            self.show_reason()

    def _say(self, words: str) -> None:
        """Say what happened; the words stay for a while, whatever has the keyboard then."""
        self._message = words
        if self._holding:
            self.after_cancel(self._holding)
            self._holding = ""
        if words:
            self._holding = self.after(_READ, self._release)
        self._write()

    def _release(self) -> None:
        self._holding = ""
        self._write()

    def _hint(self, words: str) -> None:
        """Help on what has the keyboard."""
        self._helping = words
        self._write()

    def _write(self) -> None:
        """Say what there is to say: in two lines, in a low window in one, cut where it is longer."""
        self._saying = self._message if self._holding else self._helping or self._message
        room = max(self._foot.winfo_width() - self.style.pixels(1.2), 1)
        words = printable(self._saying)
        if self._foot.winfo_width() > 1:
            plain = font.nametofont("TkDefaultFont", self)
            words = cut(words, room if self._flat else round(room * 1.85), plain.measure)
        if str(self.status.cget("text")) != words or self.status.cget("wraplength") != room:
            self.status.configure(text=words, wraplength=room)

    def _flatten(self, event: tk.Event[tk.Misc]) -> None:
        """In a low window let what stands above and below the picture take fewer lines."""
        if event.widget is self and event.height > 1:
            self._fit_height(event.height)

    def _fit_height(self, height: int) -> None:
        self._flat = height < _FLAT * self.style.em
        self._foot.configure(height=self.style.pixels(1.6 if self._flat else 2.7))
        self.strip.flatten(self._flat)
        self._write()

    def _unit_chosen(self) -> None:
        chosen = self.unit_box.get()
        for units, text in _UNITS.items():
            if text == chosen:
                self.presenter.set_units(units)

    def refresh(self) -> None:
        """Show all anew, as after another text size."""
        for view in (self.strip, self.form, self.layout_strip, self.ball, self.readings):
            view.refresh()
        self._fit_height(self.winfo_height())
        self._fit_head()
        self._size(self.winfo_width(), self.winfo_height())
        if not self._dividing:
            self._dividing = self.after_idle(self._divide)

    def say_text_stays(self, change: int) -> None:
        """Say why the text has not become larger, or smaller where ``change`` is negative."""
        if change < 0:
            self._say("The text has its smallest size.")
        else:
            self._say(
                "Larger text would not fit this screen. The press view (F11) has large figures."
            )

    # --- dialogs ----------------------------------------------------------------------------------

    def ask(
        self,
        title: str,
        text: str,
        choices: tuple[Choice, ...],
        answered: Callable[[str], None],
        sign: str = "?",
    ) -> None:
        """Ask a question in a window of its own."""
        self.dialog = QuestionDialog(self, self.style, title, text, choices, answered, sign)

    def tell(self, title: str, text: str, read: Callable[[str], None] = lambda _: None) -> None:
        """Tell something that must be read."""
        self.ask(title, text, CLOSE, read, "!")

    def _open(self, kind: type[Dialog], make: Callable[[], Dialog], of_all: bool = False) -> None:
        """Open a dialog, or bring the one of its kind to the front that is open.

        With ``of_all`` the windows have one together.
        """
        if not self._brought_back(kind, of_all):
            self.dialog = self.tools[kind] = make()

    def _brought_back(self, kind: type[Dialog], of_all: bool = False) -> bool:
        """Bring a dialog to the front that is open; whether there is one of its kind."""
        for window in self.app.windows if of_all else (self,):
            there = window.tools.get(kind)
            if there is not None and there.winfo_exists():
                there.come_back()
                self.dialog = there
                return True
        return False

    def find_axis(self) -> None:
        """Find the PAP from marks on the track, in a window of its own."""
        from gui.views.axis_dialog import AxisDialog

        def keep(text: str) -> None:
            self._track = text

        self._open(
            AxisDialog,
            lambda: AxisDialog(self, self.style, self.presenter, self._track, keep),
        )

    def copy_grip(self) -> None:
        """Copy the grip of a drilled ball that was measured, in a window of its own."""
        from gui.views.grip_copy_dialog import GripCopyDialog

        def keep(texts: dict[str, str]) -> None:
            self._measured = texts

        p = self.presenter
        self._open(
            GripCopyDialog, lambda: GripCopyDialog(self, self.style, p, self._measured, keep)
        )

    def help_fit(self) -> None:
        """Help with a grip that does not fit, in a window of its own."""
        from gui.views.grip_copy_dialog import FitDialog as GripFitDialog

        self._open(GripFitDialog, lambda: GripFitDialog(self, self.style, self.presenter))

    def rank_shelf(self) -> None:
        """Rank the balls of a table under the present layout, in a window of its own."""
        from gui.views.shelf_dialog import TABLES, ShelfDialog

        if self._brought_back(ShelfDialog):
            return
        if self.presenter.sound_plan("ranking balls") is None:
            self.tell("No ranking yet", self.presenter.message)
            return
        path = self._shelf or filedialog.askopenfilename(
            parent=self,
            title="Open a table of balls",
            initialdir=settings.load(self.app.config).last_folder or None,
            filetypes=TABLES,
        )
        if not path:
            return

        def keep(name: str) -> None:
            self._shelf = name

        self._open(
            ShelfDialog,
            lambda: ShelfDialog(self, self.style, self.presenter, path, self.help, keep),
        )

    def calibrate_scale(self) -> None:
        """Find the arm of the shop's scale from known weights, in a window of its own."""
        from gui.views.scale_dialog import ScaleDialog

        self._open(ScaleDialog, lambda: ScaleDialog(self, self.style, self.presenter))

    def show_press(self) -> None:
        """The work at the press, a piece at a time, in a window that fills the screen."""
        from gui.views.press_view import PressView

        if self.press is not None and self.press.winfo_exists():
            self.press.come_back()
        else:
            self.press = PressView(self, self.presenter, self.style, self._bench)

    def list_bits(self) -> None:
        """See, add and remove the sizes of the shop's bits, in a window of its own."""
        from gui.views.bits_dialog import BitsDialog

        self._open(BitsDialog, lambda: BitsDialog(self, self.style, self.presenter.shop))

    def fit_shop(self) -> None:
        """Fit the shop's arm and densities to weighed jobs, in a window of its own."""
        from gui.views.scale_dialog import FitDialog

        def keep(folder: str) -> None:
            self._weighed = folder

        folder = self._weighed or settings.load(self.app.config).last_folder
        self._open(FitDialog, lambda: FitDialog(self, self.style, self.presenter, folder, keep))

    def change_list(self, path: str) -> None:
        """Change a list of the record in a window of its own."""
        from gui.views.rows_dialog import RowsDialog

        self.dialog = RowsDialog(self, self.style, self.presenter, path)

    def redrill(self) -> None:
        """Make of this job a new one whose holes are plugged, after asking about unsaved changes."""
        from gui.views.rows_dialog import RedrillDialog

        def go() -> None:
            self.dialog = RedrillDialog(self, self.style, self.presenter)

        self._unsaved(go)

    def explain_focused(self) -> None:
        """Explain the field or reading that has the keyboard, at length."""
        words = self.help.of(self.focus_get())
        if words:
            picture = self._picture_of(self.form.focused_path or self.layout_strip.focused_path)
            self.dialog = Reader(self, self.style, "What is this?", [(words, "")], 52, 12, picture)
        else:
            self.show_keys()

    def _picture_of(self, path: str) -> Callable[[tk.Misc], tk.Widget] | None:
        """What makes the picture that belongs to a field, None where words are shorter."""
        from gui.state.sketch import guide_of, sketch_of
        from gui.views.sketch_view import GuideView, SketchView

        number = guide_of(path)
        if number is not None:
            return lambda parent: GuideView(parent, self.style, number)
        sketch = sketch_of(path, self.presenter.plan)
        if sketch is None:
            return None
        return lambda parent: SketchView(parent, self.style, sketch)

    def show_glossary(self) -> None:
        """The trade's terms, to be searched."""
        from gui.views.glossary_dialog import GlossaryDialog

        self._open(GlossaryDialog, lambda: GlossaryDialog(self, self.style))

    def show_handbook(self) -> None:
        """Make the handbook in a thread, and open it in the browser."""

        def done(path: Path) -> None:
            if show_in_browser(path):
                self._say(f"The handbook is in {path}.")
            else:
                self.tell("No browser could be started", f"Open {path} in one.")

        self.dialog = Progress(
            self, self.style, "Handbook", "Making the handbook ...", write_handbook, done,
            self._handbook_failed,
        )  # fmt: skip

    def _handbook_failed(self, error: BaseException) -> None:
        if not isinstance(error, InputError):
            raise error
        self.tell("The handbook could not be written", str(error))

    def show_keys(self) -> None:
        """All keys."""
        Reader(self, self.style, "Keys", [(keys_text(self.system), "table")], 66)

    def show_about(self) -> None:
        """What this is, and what to be careful with."""
        Reader(self, self.style, "About and care", about(), 60, 20)

    # --- files ------------------------------------------------------------------------------------

    def _unsaved(self, then: Callable[[], object]) -> None:
        """Ask about unsaved changes, then go on unless that is cancelled."""
        self._end_tour()
        if not self.presenter.document.dirty:
            then()
            return

        def answered(answer: str) -> None:
            if answer == "discard":
                then()
            elif answer == "save":
                self.save(then)

        text = f"The changes in {self.presenter.document.name} are not saved. Save them first?"
        self.ask("Unsaved changes", text, SAVE_FIRST, answered)

    def new(self) -> None:
        """Start an empty record."""
        self._unsaved(self.presenter.new)

    def new_from_this(self) -> None:
        """Start a new job with the bowler of this one."""
        self._unsaved(lambda: self.presenter.new_from_this(date.today().isoformat()))

    def open(self) -> None:
        """Choose a file and open it."""
        self._unsaved(self._choose)

    def _choose(self) -> None:
        folder = settings.load(self.app.config).last_folder
        path = filedialog.askopenfilename(
            parent=self, title="Open a job", initialdir=folder or None, filetypes=_JOBS
        )
        if path:
            self.open_path(Path(path))

    def open_file(self, path: Path) -> None:
        """Open a recent file, after asking about unsaved changes."""
        self._unsaved(partial(self.open_path, path))

    def open_path(self, path: Path) -> None:
        """Open a file; a dialog says why where it cannot be read."""
        if not self.presenter.open(path):
            self.tell("The file cannot be opened", self.presenter.message)

    def open_sample(self, path: Path) -> None:
        """Open a sample as a new job."""

        def go() -> None:
            if not self.presenter.open_sample(path):
                self.tell("The sample cannot be opened", self.presenter.message)

        self._unsaved(go)

    def save(self, then: Callable[[], object] = lambda: None) -> None:
        """Save, asking what has to be asked, then go on if it is saved."""
        document = self.presenter.document
        if document.path is None and document.kept is not None:
            self.save_in_book(then)
            return
        if document.path is not None and document.earlier:
            self._ask_earlier(document.path.name, document.earlier, then)
            return
        self._saved(self.presenter.save(), then)

    def _ask_earlier(self, name: str, whose: str, then: Callable[[], object]) -> None:
        """Ask before a file that holds the job of another bowler or ball is written over."""

        def answered(answer: str) -> None:
            if answer == "overwrite":
                self._saved(self.presenter.save(), then)
            elif answer == "as":
                self.save_as(then)

        text = (
            f"{name} holds an earlier job ({whose}); the form has another bowler or ball now. "
            "Overwriting keeps the earlier job as a .bak file."
        )
        self.ask("Another job", text, EARLIER, answered)

    def save_as(self, then: Callable[[], object] = lambda: None) -> None:
        """Choose a file and save to it."""
        document = self.presenter.document
        place = None if document.earlier else document.path
        kept = settings.load(self.app.config).last_folder
        path = filedialog.asksaveasfilename(
            parent=self,
            title="Save the job",
            initialdir=kept or None,
            initialfile=place.name if place else f"{document.offered_name}.json",
            defaultextension=".json",
            filetypes=_JOBS,
        )
        if path:
            self._saved(self.presenter.save_as(path), then)

    def _saved(self, result: str, then: Callable[[], object]) -> None:
        p = self.presenter
        if result == "saved":
            then()
        elif result == "unnamed":
            self.save_as(then)
        elif result == "failed":
            self.tell("The job is not saved", p.message)
        else:

            def answered(answer: str) -> None:
                if answer == "overwrite":
                    self._saved(p.save(overwrite=True), then)
                elif answer == "as":
                    self.save_as(then)

            text = f"{p.message} Overwriting keeps what the other program wrote as a .bak file."
            self.ask("Changed on disk", text, DISK, answered)

    def open_book(self) -> None:
        """Find a job in the shop's book, in a window of its own."""
        from gui.views.book_view import BookDialog

        self._open(BookDialog, lambda: BookDialog(self, self.style, self.presenter, self._unsaved))

    def save_in_book(self, then: Callable[[], object] = lambda: None) -> None:
        """Save into the shop's book, then go on if it is saved."""
        from gui.views.book_view import SaveDialog

        if self.presenter.sound_plan("saving it into the book") is None:
            self.tell("Not in the book yet", self.presenter.message)
            return
        self.dialog = SaveDialog(self, self.style, self.presenter, then)

    def show_customer(self) -> None:
        """What the shop's book knows of the form's customer, beside the form."""
        from gui.state.book_desk import BookDesk

        desk = BookDesk()
        card = desk.customer_card(self.presenter)
        desk.close()
        if not card:
            self.tell("No customer's card", desk.trouble)
            return
        self.dialog = Reader(self, self.style, "Customer's card", [(card, "table")], 76)
        right = self.winfo_rootx() + self.winfo_width() - self.dialog.winfo_reqwidth()
        self.dialog.geometry(f"+{max(right, 0)}+{self.dialog.winfo_rooty()}")

    def open_desk(self) -> None:
        """The check-in desk, in a window of its own."""
        from gui.views.desk_view import DeskDialog

        shop = self.app.shop.shop
        self._open(DeskDialog, lambda: DeskDialog(self, self.style, self.app.config, shop), True)

    def open_practice(self) -> None:
        """Problems for a trainee, in a window of its own."""
        from gui.views.practice_view import PracticeDialog

        p = self.presenter
        self._open(PracticeDialog, lambda: PracticeDialog(self, self.style, lambda: p.units))

    def open_tour(self) -> None:
        """The guided comparisons, in a window beside the ball."""
        from gui.views.tour_view import TourDialog

        show = self.readings.show_lane
        self._open(TourDialog, lambda: TourDialog(self, self.style, self.presenter, show))

    def _end_tour(self) -> None:
        """Bring the layout back that a guided comparison has moved: that is no change to be saved."""
        from gui.views.tour_view import TourDialog

        there = self.tools.get(TourDialog)
        if there is not None and there.winfo_exists():
            there.leave()

    def set_paper(self, paper: str) -> None:
        """The paper of work sheets, strips and cards from now on."""
        settings.change(self.app.config, paper=paper)

    def make_sheet(self) -> None:
        """Choose a PDF file and write the work sheet to it, in a thread."""
        paper, units = settings.load(self.app.config).paper, self.presenter.units
        self._make_pdf("work sheet", "sheet", lambda plan: sheet(plan, paper, units))

    def _hand_over_sheet(self, hand_over: Callable[[Path], None], done: str) -> None:
        """Make the work sheet beside the settings, and give it to a program of the system."""
        plan = self.presenter.sound_plan("making the work sheet")
        if plan is None:
            self.tell("No work sheet yet", self.presenter.message)
            return
        paper, units = settings.load(self.app.config).paper, self.presenter.units
        path = self.app.config / "sheets" / f"{self.presenter.document.offered_name}.pdf"

        def finish(page: bytes) -> None:
            try:
                path.parent.mkdir(parents=True, exist_ok=True)
                write_atomic(path, page)
                hand_over(path)
            except (InputError, OSError) as error:
                self.tell("The work sheet was not handed over", str(error))
            else:
                self._say(f"{done} {path.name}.")

        self.dialog = Progress(
            self, self.style, "Work sheet", f"Making {path.name} ...",
            partial(sheet, plan, paper, units), finish, self._work_failed,
        )  # fmt: skip

    def make_strips(self) -> None:
        """Choose a PDF file and write the paper strips to it, in a thread."""
        paper, units = settings.load(self.app.config).paper, self.presenter.units
        self._make_pdf("paper strips", "strips", lambda plan: strips(plan, paper, units))

    def make_card(self) -> None:
        """Choose a PDF file and write the customer's card to it, in a thread."""
        paper, units = settings.load(self.app.config).paper, self.presenter.units
        self._make_pdf("card", "card", lambda plan: card(plan, paper, units))

    def make_maps(self) -> None:
        """Choose a PDF file and write maps of other layouts to it, in a thread."""
        self._make_pdf("layout maps", "maps", maps_bytes)

    def _make_pdf(self, what: str, stem: str, work: Callable[[Plan], bytes]) -> None:
        plan = self.presenter.sound_plan(f"making the {what}")
        if plan is None:
            self.tell(f"No {what} yet", self.presenter.message)
            return
        document = self.presenter.document
        own = document.offered_name if document.path is None else document.path.stem
        stem = own if stem == "sheet" else f"{own}-{stem}"
        name = filedialog.asksaveasfilename(
            parent=self,
            title=f"Save the {what}",
            initialdir=settings.load(self.app.config).last_folder or None,
            initialfile=f"{stem}.pdf",
            defaultextension=".pdf",
            filetypes=(("PDF", "*.pdf"), ("All files", "*")),
        )
        if not name:
            return
        path = Path(name)
        self.dialog = Progress(
            self,
            self.style,
            what.capitalize(),
            f"Making {path.name} ...",
            partial(work, plan),
            partial(self._write_pdf, path, what),
            self._work_failed,
        )

    def _work_out(self, title: str, work: Callable[[Plan], str]) -> None:
        """A text that takes a moment, worked out in a thread, to read beside the window."""
        plan = self.presenter.sound_plan("working this out")
        if plan is None:
            self.tell(f"{title}: not yet", self.presenter.message)
            return

        def done(text: str) -> None:
            self.dialog = Reader(self, self.style, title, [(text, "table")], 96)

        self.dialog = Progress(
            self, self.style, title, "Working it out ...", partial(work, plan), done,
            self._work_failed,
        )  # fmt: skip

    def what_to_change(self) -> None:
        """Look for changes that bring the plan inside, to preview and to take."""
        from gui.state.changes import changes
        from gui.views.changes_dialog import ChangesDialog

        plan = self.presenter.sound_plan("looking for changes")
        if plan is None:
            self.tell("What to change: not yet", self.presenter.message)
            return

        def done(found: Changes) -> None:
            self.dialog = ChangesDialog(self, self.style, self.presenter, found)

        self.dialog = Progress(
            self, self.style, "What to change", "Looking for changes ...", partial(changes, plan),
            done, self._work_failed,
        )  # fmt: skip

    def _write_pdf(self, path: Path, what: str, page: bytes) -> None:
        # not in the thread: a sheet that was given up must not be written
        try:
            write_atomic(path, page)
        except InputError as error:
            self.tell(f"The {what} could not be written", str(error))
        else:
            self._say(f"Saved the {what} as {path}.")

    def _work_failed(self, error: BaseException) -> None:
        raise error  # a fault of the program: told and logged like any other

    def copy_plan(self) -> None:
        """The plan as text into the clipboard."""
        text = self.presenter.plan_text()
        if text:
            self.clipboard_clear()
            self.clipboard_append(text)
            self._say("The plan is in the clipboard, as text.")

    # --- crash and end ----------------------------------------------------------------------------

    def offer_recovery(self) -> None:
        """Offer what a crash left behind, one copy at a time."""
        self._offer(list(recovery.find(self.app.config)))

    def _offer(self, left: list[recovery.LeftCopy]) -> None:
        if not left:
            return
        copy, *rest = left
        name = Path(copy.work.path).name if copy.work.path else "a new job"
        when = time.strftime("%Y-%m-%d %H:%M", time.localtime(copy.time))

        def answered(answer: str) -> None:
            if answer == "recover":
                target = self
                if self.presenter.document.dirty or self.presenter.document.path is not None:
                    target = self.app.open_window()
                target.presenter.recover(copy)
            elif answer == "discard":
                copy.discard()
            else:
                copy.leave()
            self._offer(rest)

        text = f"The program ended before changes in {name} were saved. They were kept at {when}."
        self.ask("Unsaved work was kept", text, RECOVER, answered)

    def close(self, then: Callable[[], object] = lambda: None) -> None:
        """Close the window, after asking about unsaved changes, then go on if it is closed."""
        self._unsaved(partial(self._close, then))

    def _close(self, then: Callable[[], object]) -> None:
        self._remember()
        self.presenter.close()
        self.destroy()
        self.app.closed(self)
        then()

    def _remember(self) -> None:
        """Keep the window's size, place and panes for the next one."""
        found: dict[str, Any] = {"maximised": self.maximised}
        if not found["maximised"]:  # else the size below it would be lost
            found |= {"width": self.winfo_width(), "height": self.winfo_height()}
            # what `geometry` says is what it takes, with the system's frame around the window
            _, left, top = str(self.geometry()).replace("+-", "+=").split("+")
            found["place"] = tuple(int(each.replace("=", "-")) for each in (left, top))
        if self._divided:
            found["panes"] = (self._across.sashpos(0), self._below or self._down.sashpos(0))
        settings.change(self.app.config, **found)

    def _entered(self, event: tk.Event[tk.Misc]) -> None:
        """The keyboard has come to this window: look whether another program changed the file."""
        if event.widget is self:
            self.presenter.look_at_disk()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is not self:
            return
        for pending in (self._building, self._dividing, self._keep, self._holding, self._working):
            if pending:
                self.after_cancel(pending)
        self._building = self._dividing = self._keep = self._holding = self._working = ""


def tk_version() -> str:
    """The version of Tcl, and so of Tk, to the last digit."""
    return str(tk.Tcl().call("info", "patchlevel"))


def about() -> list[tuple[str, str]]:
    """What the program is, the cautions of every shop, and the versions of all that it stands on."""
    return [
        (f"layoutkit {__version__}\n", "bold"),
        (
            "Plans the drilling of a bowling ball: marks, holes, static weights, inertia, and whether "
            "the drilled ball is legal, before the bit touches it. It works without a network.\n\n",
            "",
        ),
        ("Care\n", "bold"),
        *((f"·\t{line}\n", "item") for line in SHOP_CAUTIONS),
        ("\nVersions\n", "bold"),
        (
            ", ".join(f"{name} {version}" for name, version in (*versions(), ("Tk", tk_version())))
            + "\n",
            "",
        ),
    ]
