"""The press view: the ball, one piece of work in large figures, and a box to tick; nothing else.

A window of its own, so that it may stand on a second screen while the main window stays in use.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Sequence
from dataclasses import replace
from tkinter import font
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from gui.state.presenter import Presenter, Refresh
from gui.state.press import Progress, Slide, slides
from gui.views import style as look
from gui.views.dialogs import focused, focused_outside, give_back
from gui.views.still_canvas import still_canvas, whole_axes
from gui.views.timer import Timer
from layoutkit.output import drawing, render
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

_BALL = 0.4  # of the height: the ball's radius
_PANEL = 0.32  # of the width: what is read
_LABEL = 0.075  # of the ball's radius: a label's height
_LEAST_LABEL = 8.0  # points
_HEAD = 0.042  # of the height: the title
_FIGURE = 0.068  # of the height, at most: a figure
_WORDS = 0.024  # of the height
_LEAST_TEXT = 11  # pixels
_WEIGHTS: tuple[tuple[str, Literal["normal", "bold"]], ...] = (
    ("head", "bold"), ("figure", "bold"), ("words", "normal"),
)  # fmt: skip
# of the whole ball, what a cut needs
_LINES = ("midline", "centreline", "finished", "bored", "plugged", "open")
_MARKS = ("hole", "grip_center")
_BOXES = ("☐  Done", "☑  Done")
_KEYS = "Space: next    Backspace: back    Return: done    F11: full screen    Escape: close"
_NONE = "There is no plan yet: it appears when the record is complete."
_STALE = "Out of date: a field of the record is invalid. Do not work by this."


class PressView(tk.Toplevel):
    """One slide at a time of the plan in a window's presenter. ``progress`` outlives this window."""

    def __init__(
        self, parent: tk.Misc, presenter: Presenter, style: Appearance, progress: Progress
    ) -> None:
        super().__init__(parent, background=look.PAPER)
        self._before = focused(parent)
        self._presenter, self._style, self.progress = presenter, style, progress
        self._note = ""  # what the last change of the plan took back
        self._high = 0  # pixels, for which the fonts were made
        over = parent.winfo_toplevel()
        self.geometry(
            f"{over.winfo_width()}x{over.winfo_height()}+{over.winfo_rootx()}+{over.winfo_rooty()}"
        )
        usual = font.nametofont("TkDefaultFont", self).actual()["family"]
        self._fonts = {
            name: font.Font(self, family=usual, weight=weight) for name, weight in _WEIGHTS
        }
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.ball = _Still(self, style)
        self.ball.grid(row=0, column=0, sticky="nsew")
        self._panel = tk.Frame(self, background=look.PAPER)
        self._panel.grid(row=0, column=1, sticky="nsew")
        self._panel.grid_propagate(False)
        self._lay_out()
        for key, action in (
            ("<space>", lambda: self._go(1)),
            ("<Right>", lambda: self._go(1)),
            ("<Next>", lambda: self._go(1)),
            ("<BackSpace>", lambda: self._go(-1)),
            ("<Left>", lambda: self._go(-1)),
            ("<Prior>", lambda: self._go(-1)),
            ("<Return>", self._tick),
            ("<F11>", self.toggle_full),
            ("<Escape>", self.leave),
        ):
            self.bind(key, lambda _, action=action: action())  # type: ignore[misc]
        self.bind("<Configure>", self._sized)
        self.bind("<Destroy>", self._gone)
        self.protocol("WM_DELETE_WINDOW", self.leave)
        self._build = Timer(self)
        self._build.start(1, self.ball.build)
        self._unsubscribe = presenter.subscribe(self._changed)
        self._take()
        self.full = False
        self.toggle_full()
        self.focus_set()

    def _lay_out(self) -> None:
        panel, fonts = self._panel, self._fonts
        panel.columnconfigure(0, weight=1)
        panel.rowconfigure(4, weight=1)
        paper: dict[str, Any] = {"background": look.PAPER, "anchor": "w", "justify": "left"}
        self.count = tk.Label(panel, foreground=look.QUIET, font=fonts["words"], **paper)
        self.warning = tk.Label(panel, foreground=look.BAD, font=fonts["words"], **paper)
        self.title_label = tk.Label(panel, foreground=look.INK, font=fonts["head"], **paper)
        self.table = tk.Frame(panel, background=look.PAPER)
        self.words = tk.Label(panel, foreground=look.INK, font=fonts["words"], **paper)
        self.words.configure(anchor="nw")
        # the toolkit's own box does not grow with the text
        self.box = tk.Button(
            panel, text=_BOXES[0], command=self._tick, takefocus=False, font=fonts["head"],
            foreground=look.INK, background=look.PAPER, anchor="w", relief="flat",
            activebackground=look.POINTED, activeforeground=look.INK, borderwidth=0,
            highlightthickness=0, padx=0,
        )  # fmt: skip
        self.hint = tk.Label(
            panel, text=_KEYS, foreground=look.QUIET, font="TkDefaultFont", **paper
        )
        rows = (
            self.count, self.warning, self.title_label, self.table, self.words, self.box, self.hint,
        )  # fmt: skip
        for row, part in enumerate(rows):
            part.grid(row=row, column=0, sticky="nsew", padx=(0, 16), pady=(6, 0))
        self.hint.grid_configure(pady=(6, 12))

    # --- what is shown ----------------------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("plan", "problems", "units", "file"):
            self._take()

    def _take(self) -> None:
        """Show the present plan."""
        p = self._presenter
        found = () if p.plan is None else slides(p.plan, p.steps, p.units)
        lost = self.progress.take(found)
        if lost:
            self._note = f"The plan has changed: {lost} done before must be done again or checked."
        self._show()

    def _show(self) -> None:
        p, progress = self._presenter, self.progress
        slide = progress.slide
        self.title(f"Press: {p.document.name}")
        if slide is None or p.plan is None:
            self._say(self.title_label, _NONE)
            for label in (self.count, self.warning, self.words):
                self._say(label, "")
            self._figures(())
            self.ball.show(None, None)
            self.box.configure(state="disabled", text=_BOXES[0])
            return
        self._say(
            self.count, f"{progress.at + 1} of {len(progress.slides)}, {len(progress.done)} done"
        )
        self._say(self.warning, "\n".join(self._warnings()))
        self._say(self.title_label, slide.title)
        self._say(self.words, slide.words)
        self._figures(slide.figures)
        done = progress.at in progress.done
        self.box.configure(state="normal", text=_BOXES[done])
        self.ball.show(*self._picture(slide), slide.hole, p.stale)

    def _warnings(self) -> list[str]:
        """What must be known before a tool is taken up."""
        p = self._presenter
        said = [_STALE] if p.stale else []
        if p.plan is not None and p.plan.outcome == "fail":
            said.append("This plan fails: see the checks in the main window before drilling.")
        return [*said, self._note] if self._note else said

    @staticmethod
    def _say(label: tk.Label, words: str) -> None:
        words = (
            printable(words) if "\n" not in words else "\n".join(map(printable, words.split("\n")))
        )
        if str(label.cget("text")) != words:
            label.configure(text=words)

    def _figures(self, figures: Sequence[tuple[str, str]]) -> None:
        for old in self.table.winfo_children():
            old.destroy()
        if not figures:
            self.table.grid_remove()  # empty, it would keep its height
            return
        self.table.grid()
        self.table.columnconfigure(0, weight=1)
        # many figures stand in rows of a label and a value, few one below the other
        few = len(figures) <= 3
        name = "figure" if few else "head"
        for row, (label, value) in enumerate(figures):
            told = tk.Label(
                self.table, text=printable(label), font=self._fonts["words"], anchor="w",
                foreground=look.QUIET, background=look.PAPER,
            )  # fmt: skip
            number = tk.Label(
                self.table, text=printable(value), font=self._fonts[name], anchor="w",
                foreground=look.INK, background=look.PAPER,
            )  # fmt: skip
            told.grid(row=2 * row, column=0, sticky="w")
            number.grid(row=2 * row + few, column=0 if few else 1, sticky="w" if few else "e")

    def _picture(self, slide: Slide) -> tuple[drawing.Scene, drawing.View]:
        p = self._presenter
        plan = p.plan
        assert plan is not None
        if slide.step is not None:
            step = p.steps[slide.step]
            scene = drawing.step_scene(plan, step, p.units)
            # how it is turned stands beside the ball: long labels would be small ones
            short = tuple(replace(c, text=_short(c.text)) for c in scene.callouts)
            return replace(scene, callouts=short), drawing.step_view(plan, step, p.units)
        whole = drawing.scene(plan, p.units)
        scene = drawing.Scene(
            whole.radius,
            whole.hand,
            tuple(each for each in whole.lines if each.kind in _LINES),
            tuple(each for each in whole.markers if each.kind in _MARKS),
            tuple(each for each in whole.callouts if each.kind in _MARKS),
        )
        there = next((m.point for m in scene.markers if m.name == slide.hole and not m.ghost), None)
        return scene, drawing.view_at(np.array([0.0, 0.0, 1.0]) if there is None else there)

    # --- sizes ------------------------------------------------------------------------------------

    def _sized(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is not self:
            return
        wide = round(event.width * _PANEL)
        self._panel.configure(width=wide)
        for label in (self.count, self.warning, self.title_label, self.words, self.hint):
            label.configure(wraplength=wide - 20)
        # on a narrow window words would else not fit their panel
        high = min(event.height, round(event.width * 0.62))
        if high == self._high:
            return
        self._high = high
        for name, share in (("head", _HEAD), ("figure", _FIGURE), ("words", _WORDS)):
            self._fonts[name].configure(size=-max(round(high * share), _LEAST_TEXT))

    # --- keys -------------------------------------------------------------------------------------

    def _go(self, by: int) -> None:
        self._note = ""
        self.progress.go(by)
        self._show()

    def _tick(self) -> None:
        if self.progress.slide is not None:
            self.progress.tick()
            self._show()

    def come_back(self) -> None:
        """Come to the front; the keyboard goes back to where it is now."""
        self._before = focused_outside(self, self._before)
        self.lift()
        self.focus_set()

    def toggle_full(self) -> None:
        """Fill the screen that the window is on, or no longer."""
        self.full = not self.full
        self.attributes("-fullscreen", self.full)

    def leave(self) -> None:
        """Close; what is done is kept, and the keyboard goes back to where it was."""
        give_back(self, self._before)

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._unsubscribe()


def _short(text: str) -> str:
    for way in (" counter-clockwise", " clockwise"):
        text = text.removesuffix(way)
    return text.removeprefix("measure ")


class _Still(tk.Frame):
    """A picture of the ball that is looked at only, its labels as large as the ball allows."""

    def __init__(self, parent: tk.Misc, style: Appearance) -> None:
        super().__init__(parent, background=look.PAPER)
        self._style = style
        self._scene: drawing.Scene | None = None
        self._view: drawing.View | None = None
        self._selected: str | None = None
        self._stale = False
        self._canvas: Any = None
        self._painting: render.Painting | None = None
        self._pending = Timer(self)
        self.radius = 0.0  # pixels
        self.text = 0.0  # points

    def build(self) -> None:
        """Make the canvas, which takes a moment."""
        self._canvas, widget = still_canvas(self, self._schedule)
        self._axes = whole_axes(self._canvas)
        widget.configure(takefocus=False, highlightthickness=0)
        # the keys are the window's
        widget.bindtags((str(widget), str(self.winfo_toplevel()), "all"))
        self.winfo_toplevel().focus_set()  # matplotlib takes the focus for its canvas
        self._schedule()

    def show(
        self,
        scene: drawing.Scene | None,
        view: drawing.View | None,
        selected: str | None = None,
        stale: bool = False,
    ) -> None:
        """Show a scene from a view, or an empty sheet; a ring about the mark ``selected``."""
        self._scene, self._view = scene, view
        self._selected, self._stale = selected, stale
        self._schedule()

    def _schedule(self) -> None:
        if self._canvas is not None:
            self._pending.when_idle(self._paint)

    def _paint(self) -> None:
        width, height = self._canvas.get_width_height(physical=True)
        if width < 8 or height < 8:
            return
        self._axes.set_visible(self._scene is not None)
        if self._scene is not None and self._view is not None:
            row = self._fit(width, height, self._scene)
            shown = drawing.project(self._scene, self._view, row / self.radius)
            half = width / 2.0 / self.radius, height / 2.0 / self.radius
            self._axes.set_xlim(-half[0], half[0])
            self._axes.set_ylim(-half[1], half[1])
            inch = self.radius / self._canvas.figure.dpi
            style = render.Style(
                text=self.text,
                scale=0.4 + inch / 2.0,
                selected=self._selected,
                stale=self._stale,
                lit=True,
            )
            if self._painting is None:
                self._painting = render.draw(self._axes, shown, style)
            else:
                self._painting.show(shown, style)
        self._canvas.draw()

    def _fit(self, width: int, height: int, scene: drawing.Scene) -> float:
        """Find the radius and the labels' size; smaller labels come before a smaller ball.

        Returns the height of a row in pixels.
        """
        dpi = self._canvas.figure.dpi
        text = round(_LABEL * _BALL * height * 72.0 / dpi * 2.0) / 2.0
        while True:
            room = max((render.text_width(c.text, text, dpi) for c in scene.callouts), default=0.0)
            row = render.line_height(text, dpi) * 1.2
            self.radius = min((width / 2.0 - room - row / 2.0) / drawing.COLUMN, _BALL * height)
            self.radius = max(self.radius, 20.0)
            if self.radius >= _BALL * height or text <= _LEAST_LABEL:
                self.text = text
                return row
            text -= 0.5
