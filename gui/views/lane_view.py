"""The lane's tab: what the drilled ball does under the record's release, in figures and played back."""

from __future__ import annotations

import time
import tkinter as tk
from collections.abc import Callable, Iterator
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING, Any

from gui.state.lane import (
    FLARE,
    RATES,
    Player,
    Study,
    aim_words,
    figure_rows,
    flare_words,
    line_words,
    moved_words,
)
from gui.state.presenter import Presenter, Refresh
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.lane_canvas import VIEWS, LaneCanvas
from gui.views.notice import Notice
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.lane.playback import Playback, playback
from layoutkit.lane.roll import Roll

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

LONG_REST = 700  # milliseconds of rest until lines into the pocket and differences are worked out
PAUSE = 20  # milliseconds between two pieces of that, for whatever happens meanwhile
FRAME = 16  # milliseconds between the frames of the playback
STEP, LEAP = 0.02, 0.2  # seconds for an arrow key, and with Shift
ABOUT = (
    "The lane\n"
    "The lane from above, the bowler's left up: oil shaded, skid dashed, hook whole, roll dotted, a "
    "diamond at the breakpoint; the kept plan's path is a broad pale band, its ball hollow. Beside it "
    "the ball with its holes, marks and oil rings.\n"
    "Space plays and pauses, the arrow keys go on or back by 0.02 s (Shift: 0.2 s), Home and End to "
    "foul line and pins. Rings beyond the oil are dashed, the newest is thick; the red line is the way "
    "of the axis over the ball, the red circle where it touches the lane.\n"
    "The aim is the line into the pocket for this ball, and for the kept plan's. Release and lane are "
    "the Bowler tab's, else the program's convention. It compares layouts and promises no score."
)
PLAY = "Play\nThe ball goes down the lane in real time, or slower as chosen beside; Space does the same."
SLIDER = "Time\nThe time since the release: drag it, or use the arrow keys; Space plays and pauses."
SPEED = "Speed\nReal time, a quarter of it, or a tenth."
VIEW = (
    "The ball\nAs it rolls: from behind, as the bowler sees it. Facing the rings: held still where "
    "they lie farthest apart, toward the grip. From the PAP: held still, so that the axis can be seen "
    "to move."
)
COMPARED = "From the kept plan under this release. ±: friction and release varied; ≈: within that."
COMPARING = "Comparing with the kept plan ..."
AIMING = "looking for it ..."
_ABOUT = "about "  # tags of the rows that have a help


class LaneView(ttk.Frame):
    """Picture, clock and figures. ``words`` explains a figure."""

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        words: Callable[[str], str],
    ) -> None:
        super().__init__(parent)
        self._presenter, self._style, self._words = presenter, style, words
        self._shown: Playback | None = None
        self._kept: Playback | None = None
        self._waiting, self._next, self._resting = Timer(self), Timer(self), Timer(self)
        self._pointed = ""
        self.player = Player()
        self.columnconfigure(0, weight=3)
        self.columnconfigure(1, weight=1)
        self.rowconfigure(0, weight=1)
        self.canvas = LaneCanvas(self, style)
        self.canvas.grid(row=0, column=0, sticky="nsew")
        helper.on_focus(self.canvas, ABOUT)
        self.figures = TextView(self, style, 26, 4)
        self.figures.grid(row=0, column=1, sticky="nsew", padx=(style.pixels(0.3), 0))
        self.figures.text.bind("<Motion>", self._point, add="+")
        helper.attach(self.figures.text, self._figure_help, parts=True)
        self.notice = Notice(self.canvas, style="Banner.TLabel")
        self._controls(helper)
        for widget in (self.canvas, self.slider):
            self._keys(widget)
        self.canvas.bind("<Button-1>", lambda _: self.canvas.focus_set())
        self.bind("<Unmap>", self._left)
        presenter.subscribe(self._changed)
        self._tell()

    def _controls(self, helper: Help) -> None:
        gap = self._style.pixels(0.3)
        row = ttk.Frame(self)
        row.grid(row=1, column=0, columnspan=2, sticky="ew", pady=(gap, 0))
        row.columnconfigure(1, weight=1)
        self.button = ttk.Button(row, text="Play", width=6, command=self.toggle)
        self.button.grid(row=0, column=0, padx=(0, gap))
        helper.attach(self.button, PLAY)
        self.slider = ttk.Scale(row, orient="horizontal", command=self._slid)
        self.slider.configure(takefocus=True)
        self.slider.grid(row=0, column=1, sticky="ew")
        self.slider.bind("<Button-1>", self._jump)
        helper.attach(self.slider, SLIDER)
        self.speed = self._choice(row, 2, tuple(name for name, _ in RATES), self._speed_chosen)
        helper.attach(self.speed, SPEED)
        self.side = self._choice(row, 3, VIEWS, self._view_chosen)
        helper.attach(self.side, VIEW)

    def _keys(self, widget: tk.Misc) -> None:
        """The keys of the playback on a widget, with nothing of Tk's own after them."""

        def bind(key: str, act: Callable[[], None]) -> None:
            def run(_: tk.Event[tk.Misc]) -> str:
                act()
                return "break"

            widget.bind(f"<{key}>", run)

        bind("space", self.toggle)
        bind("Home", lambda: self.seek(0.0))
        bind("End", lambda: self.seek(self.player.duration))
        for key, way in (("Left", -1), ("Right", 1)):
            bind(key, partial(self._by, way * STEP))
            bind(f"Shift-{key}", partial(self._by, way * LEAP))
            widget.bind(f"<Alt-{key}>", lambda _: None)  # the window's own

    def _choice(
        self, parent: tk.Misc, column: int, values: tuple[str, ...], chosen: Callable[[], None]
    ) -> ttk.Combobox:
        box = choice_box(parent, values, chosen)
        box.current(0)
        box.grid(row=0, column=column, padx=(self._style.pixels(0.2), 0))
        return box

    # --- when to work -----------------------------------------------------------------------------

    def seen(self) -> None:
        """The tab came to the front: show the present plan's shot."""
        self._later(1)

    def take_focus(self) -> None:
        """Put the keyboard on the picture."""
        self.canvas.focus_set()

    def refresh(self) -> None:
        """Show anew, as after another text size."""
        self.figures.refresh()
        self.canvas.refresh()

    def _changed(self, change: Refresh) -> None:
        # only while it is seen: a drag changes the plan a hundred times a second
        if change.has("plan", "problems", "units", "reference") and self.winfo_viewable():
            self._later(look.REST)

    def _later(self, wait: int) -> None:
        if self._presenter.dragging and self._waiting.waiting:
            return
        self._resting.stop()
        self._waiting.start(wait, self._show)
        if self._stale():
            self._stop()
        self._tell()

    def _stale(self) -> bool:
        """Whether what is painted is not of the present record."""
        p = self._presenter
        return (
            p.plan is None or p.stale or self._shown is None or self._shown.shot.plan is not p.plan
        )

    def _show(self) -> None:
        if not self.winfo_viewable():
            return
        if self._presenter.dragging:
            self._waiting.start(look.REST, self._show)
            return
        p = self._presenter
        shot, kept = p.shot(), p.kept_shot()
        if shot is not None and (
            self._shown is None
            or shot is not self._shown.shot
            or kept is not (None if self._kept is None else self._kept.shot)
        ):
            self._stop()
            self._shown = playback(shot)
            self._kept = None if kept is None else playback(kept)
            self.player.load(self._shown.duration)
            self.slider.configure(to=max(self.player.duration, 1e-3))
            self.canvas.load(self._shown, self._kept)
            self._frame()
        self._tell()
        if not self._stale():
            self._resting.start(LONG_REST, self._study)

    def _study(self) -> None:
        """What takes some frames' time: not before all is quiet, nor while the ball runs."""
        if not self.winfo_viewable() or self._stale():
            return
        if self._presenter.dragging or self.player.running:
            self._resting.start(LONG_REST, self._study)
            return
        study = self._presenter.study
        if study is not None and not study.done:
            study.step()
            self._tell()
            self._resting.start(PAUSE, self._study)

    def _left(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._stop()

    # --- playback ---------------------------------------------------------------------------------

    def toggle(self) -> None:
        """Play, from the start where the end is shown; or pause."""
        if self.player.running:
            self._stop()
        elif self._stale():
            self.bell()
        else:
            self.player.play(time.perf_counter())
            self._tick()
            self._name_button()

    def seek(self, at: float) -> None:
        """Show this time, at rest."""
        self._stop()
        self.player.seek(at)
        self._frame()

    def _by(self, seconds: float) -> None:
        self.seek(self.player.time + seconds)

    def _tick(self) -> None:
        if not self.winfo_viewable():  # the window was made an icon
            self._stop()
            return
        self.player.tick(time.perf_counter())
        self._frame()
        if self.player.running:
            self._next.start(FRAME, self._tick)
        else:
            self._name_button()

    def _stop(self) -> None:
        self.player.pause()
        self._next.stop()
        self._name_button()

    def _name_button(self) -> None:
        self.button.configure(text="Pause" if self.player.running else "Play")

    def _frame(self) -> None:
        if self._shown is not None:
            at = self.player.time
            kept = None if self._kept is None else self._kept.at(at)
            self.canvas.show(self._shown.at(at), kept)
            self._sliding = True
            self.slider.set(at)
            self._sliding = False

    _sliding = False  # whether the slider is moved from here

    def _slid(self, value: str) -> None:
        if not self._sliding:
            self.seek(float(value))

    def _jump(self, event: tk.Event[tk.Misc]) -> None:
        """A click beside the slider brings it there, and it can be dragged on."""
        self.slider.focus_set()
        slider: Any = self.slider  # its place under the pointer is not typed
        if "slider" not in str(slider.identify(event.x, event.y)):
            self.seek(float(slider.get(event.x, event.y)))
            self.slider.update_idletasks()

    def _speed_chosen(self) -> None:
        self.player.rate = RATES[self.speed.current()][1]

    def _view_chosen(self) -> None:
        self.canvas.side = VIEWS[self.side.current()]
        self.canvas.refresh()

    # --- words ------------------------------------------------------------------------------------

    def _tell(self) -> None:
        """The figures, and over the picture why it is not the present record's."""
        p = self._presenter
        words = self.notice.tell(p, "lane", self._stale())
        self.button.state(["disabled" if words else "!disabled"])
        pieces = list(self._figures())
        if words:
            pieces = [(text, "stale") for text, _ in pieces]
        self.figures.show(pieces)

    def _figures(self) -> Iterator[tuple[str, str | tuple[str, ...]]]:
        if self._shown is None:
            return
        p, shot = self._presenter, self._shown.shot
        study = None if self._stale() else p.study
        known = () if study is None or study.differences is None else study.differences
        for row in figure_rows(shot, p.units, known):
            about = f"{_ABOUT}{row.name}"
            yield f"{row.name}: ", ("item", about)
            yield f"{row.text}\n", ("item", "bold", about)
            if row.difference:
                sign = "" if row.sure else "≈ "
                yield f"{sign}{row.difference} from kept\n", ("under", about)
            if row.name == FLARE:
                yield f"{flare_words(shot, p.units)}\n", ("under", about)
                yield from self._aims(shot, study)
        if self._kept is not None:
            yield (f"\n{COMPARED if known else COMPARING}\n", "quiet")
        for caution in shot.cautions:
            yield f"!\t{caution}\n", "item"

    def _aims(self, shot: Roll, study: Study | None) -> Iterator[tuple[str, str | tuple[str, ...]]]:
        """Each ball's own line into the pocket, and why they differ."""
        kept = self._kept is not None
        yield "aim: ", ("item", f"{_ABOUT}aim")
        found = None if study is None else study.aim
        yield f"{AIMING if found is None else aim_words(found)}\n", ("item", "bold", f"{_ABOUT}aim")
        if found is not None and found.aim is not None:
            yield f"{line_words(shot)}\n", "under"
        if study is None or not kept:
            return
        if study.kept_aim is not None:
            yield f"the kept plan's own: {aim_words(study.kept_aim)}\n", "under"
        moved = moved_words(study)
        if moved:
            yield f"{moved}\n", "under"
        why = study.why(self._presenter.units)
        if why:
            yield "why, the kept plan first: ", ("item", f"{_ABOUT}why")
            yield f"{why}\n", ("item", f"{_ABOUT}why")

    def _point(self, event: tk.Event[tk.Misc]) -> None:
        names = self.figures.text.tag_names(f"@{event.x},{event.y}")
        about = [n.removeprefix(_ABOUT) for n in names if n.startswith(_ABOUT)]
        self._pointed = about[0] if about else ""

    def _figure_help(self) -> str:
        if not self._pointed:
            return ""
        return f"{self._pointed.capitalize()}\n{self._words(self._pointed)}"
