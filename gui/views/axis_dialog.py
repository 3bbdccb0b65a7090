"""The dialog that finds the PAP from the track: marks to type, the ring on the ball, what follows."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from tkinter import filedialog, ttk
from typing import TYPE_CHECKING

import numpy as np

from gui.state.presenter import Presenter, Refresh
from gui.state.track import EXAMPLE, HOW, TrackResult, fit_track
from gui.views import style as look
from gui.views.ball_view import FAR
from gui.views.dialogs import Dialog
from gui.views.still_canvas import still_canvas, whole_axes
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.errors import InputError
from layoutkit.job.files import TRACK_FILE, read_text
from layoutkit.output import drawing, render
from layoutkit.output.axis_drawing import axis_scene, axis_view

if TYPE_CHECKING:
    from gui.views.style import Appearance

_TRACKS = (("Tracks", "*.txt *.csv *.json"), ("All files", "*"))
_EMPTY = drawing.Scene(1.0, "right", (), (), ())
_FRONT = drawing.view_at(np.array([0.0, 0.0, 1.0]))  # straight at the grip centre


class AxisDialog(Dialog):
    """Marks on the left, the ball on the right, the findings below; the window beside it goes on.

    ``text`` is what was typed here before, and ``keep`` gets what is typed now.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        presenter: Presenter,
        text: str = "",
        keep: Callable[[str], object] = lambda _: None,
    ) -> None:
        super().__init__(parent, style, "PAP from the track")
        self.presenter, self._keep = presenter, keep
        self.found = TrackResult("")
        self.view = _FRONT
        self._scene = _EMPTY
        self._waiting, self._painting = Timer(self), Timer(self)
        self._hold: tuple[float, float] | None = None
        self._radius = 1.0  # pixels
        self.frames = 0  # finished redraws
        self._lay_out(text or EXAMPLE)
        self.bind("<Destroy>", self._gone, add="+")
        self._end = presenter.subscribe(self._changed)
        self._build()
        self.show()
        self._face()
        self.rise(self.marks)

    # --- what stands where ------------------------------------------------------------------------

    def _lay_out(self, text: str) -> None:
        pad = self.style.pixels(0.6)
        ttk.Label(self, text=HOW, wraplength=self.style.pixels(44), justify="left").grid(
            row=0, column=0, columnspan=2, sticky="w", padx=pad, pady=(pad, 0)
        )
        self.marks = tk.Text(
            self, width=22, height=12, undo=True, wrap="none", font="TkTextFont",
            background=look.PAPER, foreground=look.INK, relief="flat", borderwidth=0,
            highlightthickness=2, highlightbackground=look.EDGE, highlightcolor=look.ACCENT,
        )  # fmt: skip
        self.marks.insert("1.0", text)
        self.marks.edit_reset()
        self.marks.grid(row=1, column=0, sticky="nsew", padx=(pad, 0), pady=pad)
        self.marks.bind("<<Modified>>", self._typed)
        self.marks.bind("<Tab>", self._next)
        side = self.style.pixels(32)
        self.area = tk.Frame(self, width=side, height=side * 5 // 8, background=look.PAPER)
        self.area.pack_propagate(False)
        self.area.grid(row=1, column=1, sticky="nsew", padx=pad, pady=pad)
        self.findings = TextView(self, self.style, 90, 9)
        self.findings.grid(row=2, column=0, columnspan=2, sticky="nsew", padx=pad)
        row = ttk.Frame(self)
        row.grid(row=3, column=0, columnspan=2, sticky="e", padx=pad, pady=pad)
        self.buttons: dict[str, ttk.Button] = {}
        for name, label, command in (
            ("open", "Open a track ...", self.open),
            ("take", "Take as the bowler's PAP", self.take),
            ("close", "Close", self.leave),
        ):
            button = ttk.Button(row, text=label, underline=0, command=command)
            button.pack(side="left", padx=(self.style.pixels(0.4), 0))
            self.bind(f"<Alt-{label[0].lower()}>", lambda _, run=command: run())  # type: ignore[misc]
            self.buttons[name] = button
        self.columnconfigure(1, weight=1)
        self.columnconfigure(0, weight=0)
        self.rowconfigure(1, weight=2)
        self.rowconfigure(2, weight=1)

    def _build(self) -> None:
        self._canvas, self.ball = still_canvas(self.area, self.schedule)
        self._axes = whole_axes(self._canvas)
        self._painted = render.draw(self._axes, drawing.project(_EMPTY, self.view))
        self.ball.bind("<Button-1>", self._press)
        self.ball.bind("<B1-Motion>", self._motion)

    # --- marks ------------------------------------------------------------------------------------

    @property
    def text(self) -> str:
        """What stands in the marks."""
        return str(self.marks.get("1.0", "end-1c"))

    def _next(self, _: tk.Event[tk.Misc]) -> str:
        """Tab goes on to the next widget instead of into the text."""
        following = self.marks.tk_focusNext()
        if following is not None:
            following.focus_set()
        return "break"

    def _typed(self, _: tk.Event[tk.Misc]) -> None:
        if self.marks.edit_modified():
            self.marks.edit_modified(False)
            self._keep(self.text)
            self._waiting.start(look.REST, self.show)

    def open(self) -> None:
        """Choose a track file and put its text into the marks."""
        path = filedialog.askopenfilename(parent=self, title="Open a track", filetypes=_TRACKS)
        if not path:
            return
        try:
            text = read_text(path, TRACK_FILE)
        except InputError as error:
            self.findings.show([(str(error), "fail")])
            return
        self.marks.delete("1.0", "end")
        self.marks.insert("1.0", text)
        self.show()
        self._face()

    def take(self) -> None:
        """Write the PAP into the record, as one step of undo."""
        self.show()
        fit = self.found.fit
        if fit is None:
            self.bell()
        elif self.presenter.take_axis(fit.over, fit.up):
            self.leave()
        else:
            self.findings.show([(self.presenter.message, "fail")])

    def show(self) -> None:
        """Fit the marks anew and show what was found."""
        self._waiting.stop()
        first = self.found.fit is None
        self.found = fit_track(self.text, self.presenter.entries, self.presenter.units)
        fit = self.found.fit
        tag = "table" if fit is not None else "fail" if self.found.wrong else ""
        self.findings.show([(self.found.words, tag)])
        self.buttons["take"].state(["disabled" if fit is None else "!disabled"])
        self._scene = _EMPTY
        if fit is not None:
            self._scene = axis_scene(fit, self.found.rings, self.found.hand, self.presenter.units)
            if first:
                self._face()
        self.schedule()

    # --- the ball ---------------------------------------------------------------------------------

    def _face(self) -> None:
        if self.found.fit is not None:
            self.view = axis_view(self.found.fit, self.found.rings, self.found.hand)
            self.schedule()

    def schedule(self) -> None:
        """Paint when Tk is idle; however often it is asked for, once."""
        self._painting.when_idle(self._paint)

    def _paint(self) -> None:
        width, height = self._canvas.get_width_height(physical=True)
        if width < 8 or height < 8:
            return
        dpi, text = self._canvas.figure.dpi, self.style.text * 0.75
        row = render.line_height(text, dpi) * 1.2
        texts = [callout.text + FAR for callout in self._scene.callouts]
        room = max((render.text_width(each, text, dpi) for each in texts), default=0.0) + row / 2.0
        most = height / 2.0 - row * 0.8
        self._radius = max(min((width / 2.0 - room) / drawing.COLUMN, most), 40.0)
        seen = drawing.project(self._scene, self.view, row / self._radius, FAR)
        self._axes.set_xlim(-width / 2.0 / self._radius, width / 2.0 / self._radius)
        self._axes.set_ylim(-height / 2.0 / self._radius, height / 2.0 / self._radius)
        self._painted.show(seen, render.Style(text=text))
        self._canvas.draw()
        self.frames += 1

    def _press(self, event: tk.Event[tk.Misc]) -> None:
        self._hold = (event.x, event.y)

    def _motion(self, event: tk.Event[tk.Misc]) -> None:
        if self._hold is not None:
            dx, dy = event.x - self._hold[0], self._hold[1] - event.y
            self.view = self.view.turned(dx / self._radius, dy / self._radius)
            self._hold = (event.x, event.y)
            self.schedule()

    def _changed(self, change: Refresh) -> None:
        if change.has("entries", "units"):
            self.show()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
