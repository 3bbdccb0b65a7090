"""The map: what other layouts would do; a layout to look at, and to put into the record.

Its first view is the ball, shaded by where the pin may go; its second one has contours over the angles.

Only pixels are worked out here. The map, and the plan of a layout that is looked at, are the library's.
"""

from __future__ import annotations

import math
import tkinter as tk
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING, Any

import numpy as np

from gui.state.presenter import Presenter, Refresh
from gui.state.readings import layout_words, result_words
from gui.state.shade import PANELS, contours, legend
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.notice import Notice
from gui.views.still_canvas import show_focus, still_canvas, whole_axes
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.geometry.vectors import Vector
from layoutkit.output import drawing, maps, render, shading
from layoutkit.planning.unknown import by_angles_of
from layoutkit.planning.values import Plan

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

PAUSE = 15  # milliseconds between two pieces of the ball's shading
FINE, COARSE = 1, 10  # degrees for an arrow key, and with Shift
HOW = "Hatched: fails. Dotted: close, weigh it. +: the present layout.\n"
POINT = "Click on the map to look at a layout, double-click to use it."
ON_BALL = "Where the pin may go"
VIEWS = (ON_BALL, "By angles")
BALL_HELP = (
    "The ball as the grip is seen. Hatched: the pin there fails the rules or ruins the ball; dotted: "
    "close, the scale decides; clear: it passes. The layout stays stated as it is, as in a drag of the "
    "pin. Click to look at a place, double-click to put the pin there.\n"
    "By angles: contours over the angle at the pin and the angle at the PAP."
)
ABOUT = (
    "The map\n"
    "Angle at the pin to the right, angle at the PAP up, pin-to-PAP as it is. Hatched: the drilled ball "
    "fails the rules; dotted: close, the scale decides; +: the present layout, o: the one you look at.\n"
    "Click, or move with the arrow keys (Shift: by 10 degrees), to look at another layout; Return or a "
    "double-click puts it into the record, Esc gives it up. The map is drawn from a layout every two "
    "degrees; what is told beside it is that layout's own plan."
)
_ARROWS = {"Left": (-1, 0), "Right": (1, 0), "Up": (0, 1), "Down": (0, -1)}


class MapView(ttk.Frame):
    """Canvas, choice of the figure, and the layout that is looked at. ``words`` explains a figure."""

    def __init__(
        self,
        parent: tk.Misc,
        presenter: Presenter,
        style: Appearance,
        helper: Help,
        words: Callable[[str], str],
    ) -> None:
        super().__init__(parent)
        self._presenter, self._style, self._helper = presenter, style, helper
        self._shown: maps.Map | None = None
        self._canvas: Any = None
        self._axes: Any = None
        self._marks: list[Any] = []
        self._waiting, self._painting = Timer(self), Timer(self)
        self._size = (0, 0)
        self.chosen: tuple[float, float] | None = None  # degrees, at the pin and at the PAP
        self.spot: Vector | None = None  # of the pin, in the first view
        self._ball: render.Painting | None = None
        self._radius = 1.0  # of the ball in the first view, in pixels
        self._looks: tuple[object, Any] = (
            None,
            None,
        )  # a place, and the plan that has its pin there
        self.frames = 0  # finished redraws
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.area = tk.Frame(
            self, background=look.PAPER, width=style.pixels(12.0), height=style.pixels(6.0)
        )
        # the canvas takes what room there is; on a dense screen it would ask for a great deal
        self.area.pack_propagate(False)
        self.area.grid(row=0, column=0, sticky="nsew")
        self.notice = Notice(self.area, style="Banner.TLabel")
        side = ttk.Frame(self)
        side.grid(row=0, column=1, sticky="ns", padx=style.pixels(0.4), pady=style.pixels(0.3))
        side.rowconfigure(2, weight=1)
        self.views = choice_box(side, VIEWS, self._view_chosen)
        self.views.current(0)
        self.views.grid(row=0, column=0, sticky="ew", pady=(0, style.pixels(0.2)))
        helper.attach(self.views, f"{ON_BALL}\n{BALL_HELP}")
        every = (*PANELS.values(), *maps.PANELS)  # the box is as wide as the longest name of both
        self.choice = choice_box(side, [_name(panel) for panel in every], self._figure_chosen)
        self.choice.configure(values=[_name(panel) for panel in PANELS.values()])
        self.choice.current(0)
        self.choice.grid(row=1, column=0, sticky="ew")
        helper.attach(self.choice, lambda: f"{self.panel.title}\n{words(self.panel.name)}")
        self.description = TextView(side, style, 24, 4)
        self.description.grid(row=2, column=0, sticky="nsew", pady=style.pixels(0.3))
        self.use = ttk.Button(side, text="Use this layout", command=self.take)
        self.use.grid(row=3, column=0, sticky="ew")
        helper.attach(
            self.use,
            "Use this layout\nPut the layout at the circle into the record, as one step of undo.",
        )
        presenter.subscribe(self._changed)
        self._tell()

    @property
    def on_ball(self) -> bool:
        """Whether the first view is shown."""
        return bool(self.views.current() == 0)

    @property
    def panel(self) -> maps.Panel:
        """The figure that is shown."""
        return (tuple(PANELS.values()) if self.on_ball else maps.PANELS)[self.choice.current()]

    def _view_chosen(self) -> None:
        panels = tuple(PANELS.values()) if self.on_ball else maps.PANELS
        self.choice.configure(values=[_name(panel) for panel in panels])
        self.choice.current(0)
        self.chosen = self.spot = None
        if self._canvas is not None:
            self._draw()
            self._show()

    # --- when to work -----------------------------------------------------------------------------

    def seen(self) -> None:
        """The tab came to the front: show the present plan's map."""
        if self._canvas is None:
            self._build()
        self._later(1)

    def refresh(self) -> None:
        """Show anew, as after another text size."""
        self.description.refresh()
        self.area.configure(width=self._style.pixels(12.0), height=self._style.pixels(6.0))
        if self._canvas is not None and self._shown is not None:
            self._draw()

    def _changed(self, change: Refresh) -> None:
        # only while it is seen: a drag changes the plan a hundred times a second
        if change.has("plan", "problems", "units") and self.winfo_viewable():
            self._later(look.REST)

    def _later(self, wait: int) -> None:
        if self._presenter.dragging and self._waiting.waiting:
            return
        self._waiting.start(wait, self._show)
        if self._stale():
            self._give_up()

    def _stale(self) -> bool:
        """Whether what is painted is not of the present record."""
        p = self._presenter
        if p.plan is None or p.stale:
            return True
        if self.on_ball:
            return p.globe_known and (p.globe is None or not p.globe.changes)
        return self._shown is None or self._shown.plan is not p.plan

    def _show(self) -> None:
        if not self.winfo_viewable():
            return
        if self._presenter.dragging:
            self._waiting.start(look.REST, self._show)
            return
        if self.on_ball:
            if not self._presenter.stale and self._presenter.work_on_globe():
                self._waiting.start(PAUSE, self._show)
            self._draw()
            self._look_at(self.spot)
            return
        wanted = None if self._presenter.stale else self._presenter.layout_map()
        if wanted is not None and wanted is not self._shown:
            self._shown, self.chosen = wanted, None
            self._draw()
        self._look(self.chosen)

    # --- the canvas -------------------------------------------------------------------------------

    def _build(self) -> None:
        focused = self.focus_get()
        self._canvas, self.widget = still_canvas(self.area, self.schedule)
        show_focus(self.widget)
        self.widget.bind("<Button-1>", self._press)
        self.widget.bind("<Double-Button-1>", self._double)
        self.widget.bind("<Return>", lambda _: self.take())
        self.widget.bind("<Escape>", lambda _: self._give_up())
        for key, (right, up) in _ARROWS.items():
            self.widget.bind(f"<{key}>", partial(self._step, right * FINE, up * FINE))
            self.widget.bind(f"<Shift-{key}>", partial(self._step, right * COARSE, up * COARSE))
            self.widget.bind(f"<Alt-{key}>", lambda _: None)  # the window's own
        self._helper.on_focus(self.widget, ABOUT)
        self.notice.lift()
        if focused is not None:  # matplotlib takes the focus for its canvas
            focused.focus_set()

    def take_focus(self) -> None:
        """Put the keyboard on the map."""
        if self._canvas is not None:
            self.widget.focus_set()

    def schedule(self) -> None:
        """Paint when Tk is idle; however often it is asked for, once."""
        if self._canvas is not None:
            self._painting.when_idle(self._paint)

    def _paint(self) -> None:
        if self._shown is None or self._canvas.get_width_height(physical=True) != self._size:
            self._draw(paint=False)
        if self._axes is not None:
            self._canvas.draw()
            self.frames += 1

    def _draw(self, paint: bool = True) -> None:
        """Draw the map again: another map, another figure, or another size."""
        import matplotlib as mpl

        figure, swept_map = self._canvas.figure, self._shown
        width, height = self._size = self._canvas.get_width_height(physical=True)
        figure.clear()
        self._axes, self._marks, self._ball = None, [], None
        if self.on_ball:
            self._draw_ball(width, height)
            if paint:
                self.schedule()
            return
        text = self._style.text * 0.8
        line = text / 72.0 * figure.dpi  # pixels
        room = (line * 4.5, line * 3.6, width - line * 8.1, height - line * 5.6)
        if swept_map is None or room[2] < line * 6.0 or room[3] < line * 2.0:
            return
        with mpl.rc_context({"font.size": text, "hatch.linewidth": 0.6}):
            share = [side / whole for side, whole in zip(room, (width, height) * 2, strict=True)]
            self._axes = figure.add_axes(share)
            maps.draw_panel(self._axes, swept_map, 0, self.panel, 1.0)
            self._axes.set_title(self.panel.title, fontsize=text, pad=line * 0.3)
            self._axes.set_xlabel("Angle at the pin, degrees", labelpad=1.0)
            self._axes.set_ylabel("Angle at the PAP, degrees", labelpad=1.0)
        for color, wide in (("white", 3.5), ("black", 1.5)):
            self._marks += self._axes.plot([], [], "o", ms=10, mew=wide, mec=color, mfc="none")
        self._place()
        if paint:
            self.schedule()

    def _draw_ball(self, width: int, height: int) -> None:
        """The ball as the grip is seen, with the shading as far as it is worked out."""
        p = self._presenter
        self._radius = min(width, height) / 2.0 - 4.0
        if p.plan is None or self._radius < 20.0:
            return
        view = drawing.facing(p.plan, "grip")
        scene = replace(drawing.scene(p.plan, p.units), callouts=())
        self._axes = whole_axes(self._canvas)
        self._axes.set_xlim(-width / 2.0 / self._radius, width / 2.0 / self._radius)
        self._axes.set_ylim(-height / 2.0 / self._radius, height / 2.0 / self._radius)
        shown = render.Style(scale=0.8, stale=p.stale, lit=True)
        self._ball = render.draw(self._axes, drawing.project(scene, view), shown)
        globe = p.globe
        if globe is not None and globe.changes:
            lines = contours(globe, self.panel.name)
            self._ball.under = shading.image(globe, view, round(self._radius), lines)
        if p.around is not None:
            self._ball.fields = shading.ring(p.around, view)
        for color, wide in (("white", 3.5), ("black", 1.5)):
            self._marks += self._axes.plot([], [], "o", ms=10, mew=wide, mec=color, mfc="none")
        self._place()

    def _place(self) -> None:
        if self.on_ball:
            plan, at = self._presenter.plan, None
            if plan is not None and self.spot is not None:
                right, up, _ = drawing.facing(plan, "grip").frame @ np.array(self.spot)
                at = (right / plan.radius, up / plan.radius)
            for mark in self._marks:
                mark.set_data(*(([], []) if at is None else ([at[0]], [at[1]])))
            return
        for mark in self._marks:
            mark.set_data(*(([], []) if self.chosen is None else zip(self.chosen, strict=True)))

    def _figure_chosen(self) -> None:
        if self._shown is not None or self.on_ball:
            self._draw()
        self._tell()

    # --- a layout to look at ----------------------------------------------------------------------

    def _look(self, chosen: tuple[float, float] | None) -> None:
        """Look at another layout, or at none."""
        if chosen is not None and self._stale():
            chosen = None
        if chosen != self.chosen:
            self.chosen = chosen
            self._place()
            self.schedule()
        self._tell()

    def _look_at(self, place: Vector | None) -> None:
        """Look at the layout with the pin at another place of the ball, or at none."""
        if self._stale():
            place = None
        if place != self.spot:
            self.spot = place
            self._place()
            self.schedule()
        self._tell()

    def _candidate(self) -> Plan | None:
        """The plan of the layout that is looked at."""
        p = self._presenter
        if not self.on_ball:
            return None if self.chosen is None else p.layout_at(*self.chosen)
        key = (self.spot, p.plan)
        if self._looks[0] != key:
            self._looks = (key, None if self.spot is None else p.pin_at(self.spot))
        looked: Plan | None = self._looks[1]
        return looked

    def _tell(self) -> None:
        """Show the words beside the map, and the notice above one that is not the present record's."""
        p = self._presenter
        words = self.notice.tell(p, "map", self._stale())
        looking = self.spot is not None if self.on_ball else self.chosen is not None
        plan = self._candidate() if looking and not words else None
        self.use.state(["disabled" if plan is None else "!disabled"])
        if plan is not None:
            sign = look.OUTCOMES[plan.outcome][2]
            self.description.show([
                *((f"{line}\n", "bold") for line in layout_words(plan, p.units)),
                (f"{sign} {plan.outcome}\n", str(plan.outcome)),
                ("\n".join(result_words(plan, p.units)), ""),
            ])  # fmt: skip
        elif looking and not words:
            self.description.show([(p.message, "fail")])
        elif self.on_ball:
            more = f"\n{maps.FLARE}" if self.panel.name == "flare" else ""
            told = legend(p.globe, self.panel.name)
            self.description.show([(f"{told}\n", ""), (POINT, ""), (more, "quiet")])
        else:
            more = f"\n{maps.FLARE}" if self.panel.name == "flare" else ""
            self.description.show([(HOW, ""), (POINT, ""), (more, "quiet")])

    def _give_up(self) -> None:
        """Look at no other layout any more."""
        if self.on_ball:
            self._look_at(None)
        else:
            self._look(None)

    def take(self) -> None:
        """Put the layout that is looked at into the record."""
        if self.on_ball:
            if self.spot is None or self._stale():
                self.bell()
            else:
                place, self.spot = self.spot, None
                self._presenter.take_pin(place)
        elif self.chosen is None or self._stale():
            self.bell()
        else:
            self._presenter.take_layout(*self.chosen)

    def _at(self, event: tk.Event[tk.Misc]) -> tuple[float, float] | None:
        """The layout under the pointer; None beside the map."""
        if self._axes is None or self._shown is None:
            return None
        x, y = event.x, self._size[1] - event.y
        if not self._axes.bbox.contains(x, y):
            return None
        return self._shown.nearest(*self._axes.transData.inverted().transform((x, y)))

    def _spot(self, event: tk.Event[tk.Misc]) -> Vector | None:
        """The place of the ball under the pointer in the first view; None beside the ball."""
        plan = self._presenter.plan
        x = (event.x - self._size[0] / 2.0) / self._radius
        y = (self._size[1] / 2.0 - event.y) / self._radius
        if plan is None or self._ball is None or math.hypot(x, y) > 1.0:
            return None
        return drawing.facing(plan, "grip").under(x, y, plan.radius)

    def _press(self, event: tk.Event[tk.Misc]) -> None:
        self.widget.focus_set()
        if self.on_ball:
            self._look_at(self._spot(event))
            return
        layout = self._at(event)
        if layout is not None:
            self._look(layout)

    def _double(self, event: tk.Event[tk.Misc]) -> None:
        if (self.spot if self.on_ball else self._at(event)) is not None:
            self.take()

    def _step(self, right: int, up: int, _: tk.Event[tk.Misc]) -> None:
        if self.on_ball:
            self._step_pin(right, up)
            return
        if self._shown is None or self._stale():
            self.bell()
            return
        first, _arc, second = by_angles_of(self._shown.plan, "a map of layouts")
        at_pin, at_pap = self.chosen or (first, second)
        self._look(self._shown.nearest(at_pin + right, at_pap + up))

    def _step_pin(self, right: int, up: int) -> None:
        """Look a little further on: one degree of the ball, or ten with Shift."""
        plan = self._presenter.plan
        if plan is None or self._stale():
            self.bell()
            return
        view = drawing.facing(plan, "grip")
        x, y, _ = view.frame @ np.array(self.spot or plan.marks.pin.xyz) / plan.radius
        step = math.radians(1.0)
        self._look_at(view.under(x + right * step, y + up * step, plan.radius))


def _name(panel: maps.Panel) -> str:
    """A figure's name without its unit."""
    return panel.title.partition(",")[0]
