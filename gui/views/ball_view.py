"""The ball: the library's drawing on a matplotlib canvas, and direct work on it with the pointer.

Only pixels are worked out here. Where a mark lies, what is near the pointer and which point of the
ball is under it are the library's answers.
"""

from __future__ import annotations

import re
import time
import tkinter as tk
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING, Any, get_args

import numpy as np

from gui.state import pointed
from gui.state.blank import blank_scene
from gui.state.presenter import Mark, Presenter, Refresh
from gui.state.shade import contours, legend
from gui.views import style as look
from gui.views.still_canvas import show_focus, still_canvas, whole_axes
from gui.views.timer import Timer
from layoutkit.output import drawing, render, shading

if TYPE_CHECKING:
    from gui.views.style import Appearance

FAR = " (far)"
# of an event's state, by windowing system: the key that lets a drag go where it will, on macOS Command
_FREE = {"aqua": 0x8}
_CONTROL = 0x4  # everywhere else
_REACH = 11.0  # points around a mark within which the pointer takes hold of it
_LINE_REACH = 4.0  # points from a line within which it is named
_LEAST_BALL = 0.32  # of the narrower side: labels get smaller before the ball's radius does
_LEAST_TEXT = 6.5  # points
FACED = "<<Faced>>"  # a button has turned the ball
_FILL = 15  # milliseconds between two pieces of the shading
_STILL = 0.04  # seconds after a picture of a drag before one is worked out
_FACES: dict[drawing.Facing, str] = {
    "grip": "Grip",
    "pin": "Pin",
    "pap": "PAP",
    "psa": "PSA",
    "cg": "CG",
    "underside": "Under",
}
_EMPTY = drawing.Scene(1.0, "right", (), (), ())
_FRONT = drawing.view_at(np.array([0.0, 0.0, 1.0]))  # straight at the grip centre


@dataclass(slots=True)
class _Hold:
    """What the pointer holds: a mark with the pointer's offset from it, or with no mark the ball."""

    mark: Mark | None
    x: float
    y: float
    far: bool = False
    dragging: bool = False


class BallView(ttk.Frame):
    """Canvas and facing buttons. `build` makes the canvas, which takes a moment."""

    def __init__(self, parent: tk.Misc, presenter: Presenter, style: Appearance) -> None:
        super().__init__(parent)
        self._presenter, self._style = presenter, style
        self.view = _FRONT
        self._scene: drawing.Scene | None = None
        self._drawing: drawing.Drawing | None = None
        self._painting: render.Painting | None = None
        self._canvas: Any = None
        self._pending = Timer(self)
        self._hold: _Hold | None = None
        self._radius = 1.0  # pixels
        self._step: int | None = None  # the step that the ball was last turned to
        self._label_room: tuple[object, float] = (None, 0.0)
        self.frames = 0  # finished redraws
        self.pointed = ""  # the name of what is under the pointer
        self._filling = Timer(self)  # works out where the pin may go, between events
        self._moved = 0.0  # when the ball was last painted after the pointer, in seconds
        self._following = False  # whether the next picture is one of a drag
        self._image: tuple[object, Any] = (None, None)  # the last shading, and of what it is
        self.face_buttons: dict[drawing.Facing, ttk.Button] = {}
        self.columnconfigure(0, weight=1)
        self.rowconfigure(1, weight=1)
        self._bar()
        self.notice = ttk.Label(self, style="Banner.TLabel", justify="left")
        self.bind("<Configure>", self._wrap, add="+")
        self.area = tk.Frame(self, background=look.PAPER)
        self._free = _FREE.get(str(self.tk.call("tk", "windowingsystem")), _CONTROL)
        # the canvas takes what room there is; on a dense screen it would ask for a great deal
        self.area.pack_propagate(False)
        self.area.grid(row=1, column=0, sticky="nsew")
        presenter.subscribe(self._changed)

    def _bar(self) -> None:
        self.bar = bar = ttk.Frame(self)
        bar.grid(row=0, column=0, sticky="ew")
        # the window packs them, as far as there is room
        self.word = ttk.Label(bar, text="Face", style="Quiet.TLabel")
        for what, text in _FACES.items():
            button = ttk.Button(bar, text=text, style="Small.TButton", width=-3)
            button.configure(command=partial(self.face, what))
            self.face_buttons[what] = button
        self.reset_button = ttk.Button(
            bar, text="Reset", style="Small.TButton", command=self.reset, width=-3
        )

    # --- the canvas -------------------------------------------------------------------------------

    def build(self) -> None:
        """Make the figure and its canvas."""
        focused = self.focus_get()
        self._canvas, self.widget = still_canvas(self.area, self.schedule)
        show_focus(self.widget)
        self._axes = whole_axes(self._canvas)
        self._painting = render.draw(self._axes, drawing.project(_EMPTY, self.view))
        for name, handler in (
            ("<Button-1>", self._press),
            ("<B1-Motion>", self._motion),
            ("<ButtonRelease-1>", self._release),
            ("<Double-Button-1>", self._double),
            ("<Motion>", self._hover),
            ("<Escape>", self._escape),
        ):
            self.widget.bind(name, handler)
        if focused is not None:  # matplotlib takes the focus for its canvas
            focused.focus_set()
        self._tell()
        self.schedule()

    def schedule(self) -> None:
        """Paint when Tk is idle; however often it is asked for, once."""
        if self._canvas is not None:
            self._pending.when_idle(self._paint)

    def _paint(self) -> None:
        width, height = self._canvas.get_width_height(physical=True)
        if width < 8 or height < 8 or self._painting is None:
            return
        if self._scene is None:
            self._scene = self._make_scene()
        text, row = self._fit(width, height)
        self._drawing = drawing.project(self._scene, self.view, row / self._radius, FAR)
        sides = [label.side for label in self._drawing.labels]
        most = max(sides.count("left"), sides.count("right"), 1)
        if most * row > height:  # a low window: smaller labels rather than labels that are cut off
            text, row = text * height / most / row, height / most
            self._drawing = drawing.project(self._scene, self.view, row / self._radius, FAR)
        self._axes.set_xlim(-width / 2.0 / self._radius, width / 2.0 / self._radius)
        self._axes.set_ylim(-height / 2.0 / self._radius, height / 2.0 / self._radius)
        # marks grow with the text, but not over a small ball
        inch = self._radius / self._canvas.figure.dpi
        shown = render.Style(
            text=text,
            scale=min(self._style.text / look.USUAL_TEXT * 1.1, 0.4 + inch / 2.0),
            selected=self._presenter.selected,
            stale=self._presenter.stale,
            lit=True,
        )
        self._painting.show(self._drawing, shown)
        self._shade()
        self._canvas.draw()
        self.frames += 1
        if self._following:
            self._moved, self._following = time.monotonic(), False

    # --- where the pin may go ---------------------------------------------------------------------

    @property
    def shaded(self) -> bool:
        """Whether the ball shows where the pin may go now: when asked for, and while it is dragged."""
        p, hold = self._presenter, self._hold
        dragged = hold is not None and hold.dragging and hold.mark == "pin"
        return (p.shading or dragged) and p.step is None and not p.stale and p.globe_known

    def _shade(self) -> None:
        """Lay the shading under the lines; its image is kept until the view or the globe changes."""
        p, painting = self._presenter, self._painting
        assert painting is not None
        painting.under, painting.fields = None, ()
        if not self.shaded:
            return
        globe = p.globe
        if globe is None or not globe.done or p.around is None:
            self._fill_later()
        if globe is None:
            return
        turning = self._hold is not None and self._hold.mark is None
        # half as fine while the ball is turned, when each frame needs another image
        radius = max(round(self._radius) // (2 if turning else 1), 8)
        key = (id(globe), globe.changes, self.view.frame.tobytes(), radius, p.figure)
        if self._image[0] != key:
            lines = contours(globe, p.figure)
            image = shading.image(globe, self.view, radius, lines)
            if turning:
                image = image.repeat(2, axis=0).repeat(2, axis=1)
            self._image = (key, image)
        painting.under = self._image[1]
        if p.around is not None:
            painting.fields = shading.ring(p.around, self.view)

    def _fill_later(self) -> None:
        if not self._filling.waiting:
            self._filling.start(_FILL, self._fill)

    def _fill(self) -> None:
        """One piece, but never between two movements of a drag."""
        still = not self._following and time.monotonic() - self._moved >= _STILL
        wanted = self.shaded or self._wanted
        if not still or (wanted and self._presenter.work_on_globe()):
            self._fill_later()

    @property
    def _wanted(self) -> bool:
        """Whether the pin is held or selected, so that the shading may be wanted soon."""
        return self._hold is not None and self._hold.mark == "pin"

    def _make_scene(self) -> drawing.Scene:
        p = self._presenter
        if p.plan is None:
            return blank_scene(p.document.record(), tuple(p.problems), p.units)
        if p.step is not None:
            return drawing.step_scene(p.plan, p.steps[p.step], p.units)
        found = drawing.scene(p.plan, p.units)
        if p.reference is None:
            return found
        return drawing.with_reference(found, drawing.scene(p.reference.plan, p.units))

    def _fit(self, width: int, height: int) -> tuple[float, float]:
        """Set the ball's radius so that every label has its room; the text's size and row's height.

        Sizes are points and pixels. The room does not depend on the view, so that a ball that is
        turned keeps its size.
        """
        dpi = self._canvas.figure.dpi
        text = self._style.text * 0.85
        while True:
            row = render.line_height(text, dpi) * 1.2
            room = self._room(text, dpi) + row / 2.0
            most = height / 2.0 - row * 0.8
            self._radius = max(min((width / 2.0 - room) / drawing.COLUMN, most), 20.0)
            if self._radius >= _LEAST_BALL * min(width, height) or text <= _LEAST_TEXT:
                return text, row
            text -= 0.5

    def _room(self, text: float, dpi: float) -> float:
        """Pixels for the longest label, wherever it may be seen from."""
        scene = self._scene or _EMPTY
        texts = frozenset(_widest(c.text) + ("" if c.either else FAR) for c in scene.callouts)
        key = (texts, text, dpi)
        if self._label_room[0] != key:
            widest = max((render.text_width(t, text, dpi) for t in texts), default=0.0)
            self._label_room = (key, widest)
        return self._label_room[1]

    # --- what the presenter tells -----------------------------------------------------------------

    def _changed(self, change: Refresh) -> None:
        if change.has("plan", "steps", "units", "reference"):
            self._scene = None
        filling = self._presenter.plan is None and not self._presenter.half_typed
        if filling and change.has("entries", "problems"):
            self._scene = None
            self.schedule()
        if change.has("job"):
            self.view = _FRONT
        if self._presenter.step != self._step:
            self._step = self._presenter.step
            self._face_step()
        shade = change.has("shade") and self._presenter.shading
        if shade or change.has(
            "plan", "problems", "steps", "units", "reference", "selection", "file"
        ):
            self._tell()
        if shade or change.has(
            "plan", "problems", "steps", "units", "reference", "selection", "file", "shade"
        ):
            self.schedule()

    def _face_step(self) -> None:
        p = self._presenter
        if p.plan is None:
            return
        self.view = (
            _FRONT if p.step is None else drawing.step_view(p.plan, p.steps[p.step], p.units)
        )

    def _tell(self) -> None:
        """What the picture is not, above it."""
        p = self._presenter
        if p.plan is None:
            words = "The ball so far: what is dotted is not known yet."
        elif p.stale:
            words = "Out of date: the last plan that could be made, shown pale."
        elif p.shading and p.step is None and p.globe_known:
            words = legend(p.globe, p.figure)
        else:
            self.notice.grid_remove()
            return
        self.notice.configure(text=words)
        self.notice.grid(row=2, column=0, sticky="ew")

    def _wrap(self, event: tk.Event[tk.Misc]) -> None:
        self.notice.configure(wraplength=max(event.width - self._style.pixels(1.2), 1))

    def refresh(self) -> None:
        """Paint anew, as after another text size."""
        self._tell()
        self.schedule()

    def take_focus(self) -> None:
        """Put the keyboard on the ball."""
        if self._canvas is not None:
            self.widget.focus_set()

    # --- turning ----------------------------------------------------------------------------------

    def face(self, what: drawing.Facing) -> None:
        """Turn the ball so that a mark, or the underside, is in the middle."""
        plan = self._presenter.plan
        marks = None if plan is None else plan.marks
        if plan is None or (what in ("psa", "pap", "cg") and getattr(marks, what) is None):
            self.bell()
            return
        self.view = drawing.facing(plan, what)
        self.event_generate(FACED)
        self.schedule()

    def reset(self) -> None:
        """The grip in the middle, the whole ball, nothing selected."""
        self._presenter.select_step(None)
        self._presenter.select(None)
        self.view = _FRONT
        self.event_generate(FACED)
        self.schedule()

    # --- the pointer ------------------------------------------------------------------------------

    def to_ball(self, x: float, y: float) -> tuple[float, float]:
        """A place of the canvas, in pixels from its upper left, in ball radii."""
        width, height = self._canvas.get_width_height(physical=True)
        return (x - width / 2.0) / self._radius, (height / 2.0 - y) / self._radius

    @property
    def held(self) -> bool:
        """Whether the pointer holds a mark or the ball."""
        return self._hold is not None

    @property
    def shown(self) -> drawing.Drawing | None:
        """The drawing on the screen."""
        return self._drawing

    def _pick(self, event: tk.Event[tk.Misc]) -> drawing.Spot | None:
        if self._drawing is None:
            return None
        reach = _REACH * self._canvas.figure.dpi / 72.0 / self._radius
        return self._drawing.pick(*self.to_ball(event.x, event.y), reach)

    def _press(self, event: tk.Event[tk.Misc]) -> None:
        self.widget.focus_set()
        x, y = self.to_ball(event.x, event.y)
        spot = self._pick(event)
        mark = next((m for m in _MARKS if spot is not None and m == spot.name), None)
        # a single step shows where the rounded marks lie, which are not the plan's to move
        if spot is None or mark is None or self._presenter.step is not None:
            self._hold = _Hold(None, x, y)
            return
        self._presenter.select(mark)
        self._hold = _Hold(mark, spot.x - x, spot.y - y, spot.far)
        if mark == "pin":
            self._fill_later()

    def _motion(self, event: tk.Event[tk.Misc]) -> None:
        hold, plan = self._hold, self._presenter.plan
        if hold is None or plan is None:
            return
        self._moved, self._following = time.monotonic(), True
        x, y = self.to_ball(event.x, event.y)
        if hold.mark is None:
            self.view = self.view.turned(x - hold.x, y - hold.y)
            hold.x, hold.y = x, y
            self.schedule()
            return
        if hold.mark != "pin" and hold.mark != "pap":
            return
        if not hold.dragging:
            hold.dragging = self._presenter.begin_drag(hold.mark)
            if not hold.dragging:
                self._hold = None
                return
        point = self.view.under(x + hold.x, y + hold.y, plan.radius, hold.far)
        drag: Callable[[tuple[float, float, float], bool], None]
        drag = self._presenter.drag_pin if hold.mark == "pin" else self._presenter.drag_pap
        drag(point, bool(int(event.state) & self._free))

    def _release(self, event: tk.Event[tk.Misc]) -> None:
        if self._hold is not None and self._hold.dragging:
            self._presenter.end_drag()
        if self._hold is not None and (self._hold.dragging or self._presenter.shading):
            self.schedule()  # without the shading of a drag, or finer than while it was turned
        self._hold = None
        self._hover(event)

    def _escape(self, event: tk.Event[tk.Misc]) -> None:
        if self._hold is not None and self._hold.dragging:
            self._presenter.cancel_drag()
            self._hold = None
            self.schedule()
        elif self._presenter.selected is not None:
            self._presenter.select(None)

    def _double(self, event: tk.Event[tk.Misc]) -> None:
        spot, plan = self._pick(event), self._presenter.plan
        self._hold = None
        if spot is None or plan is None or self._scene is None:
            return
        point = next(m.point for m in self._scene.markers if m.name == spot.name and not m.ghost)
        self.view = drawing.view_at(point)
        self.schedule()

    def _hover(self, event: tk.Event[tk.Misc]) -> None:
        if self._hold is not None:
            return
        spot = self._pick(event)
        self.pointed = self._name_under(event) if spot is None else spot.name
        moved = spot is not None and spot.kind in ("pin", "pap") and self._presenter.step is None
        shape = "fleur" if moved else "hand2" if spot is not None else ""
        if str(self.widget.cget("cursor")) != shape:
            self.widget.configure(cursor=shape)

    def _name_under(self, event: tk.Event[tk.Misc]) -> str:
        """The name of the line on the near side that the pointer is at; empty where there is none."""
        if self._drawing is None:
            return ""
        here = np.array(self.to_ball(event.x, event.y))
        reach = _LINE_REACH * self._canvas.figure.dpi / 72.0 / self._radius
        found = [
            (_away(here, piece.points), i)
            for i, piece in enumerate(self._drawing.pieces)
            if not piece.far and not piece.ghost
        ]
        away, nearest = min(found, default=(np.inf, 0))
        return self._drawing.pieces[nearest].name if away <= reach else ""

    @property
    def pointed_words(self) -> str:
        """What is under the pointer, with its numbers; empty where that is nothing."""
        p = self._presenter
        if p.plan is None or p.stale or self._hold is not None or not self.pointed:
            return ""
        return pointed.words(p.plan, self._scene or _EMPTY, self.pointed, p.units)


_MARKS: tuple[Mark, ...] = get_args(Mark)


def _away(point: Any, line: Any) -> float:
    """How far a point (2,) is from a line (n, 2)."""
    start, along = line[:-1], np.diff(line, axis=0)
    square = np.maximum((along * along).sum(axis=1), 1e-18)
    share = np.clip(((point - start) * along).sum(axis=1) / square, 0.0, 1.0)
    gaps = start + share[:, None] * along - point
    return float(np.sqrt((gaps * gaps).sum(axis=1).min(initial=np.inf)))


_LENGTHS = re.compile(r"-?[0-9][0-9 /.]*(?= (?:in|mm)$)")
_ANGLES = re.compile(r"-?[0-9][0-9.]*(?=°)")


def _widest(text: str) -> str:
    """The text with wide numbers, so that its room stays while a drag changes them."""
    return _ANGLES.sub("-00.0", _LENGTHS.sub("-0 00/00", text))
