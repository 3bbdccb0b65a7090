"""The map: what other layouts would do, as contours; a layout to look at, and to put into the record.

Only pixels are worked out here. The map, and the plan of a layout that is looked at, are the library's.
"""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING, Any

from gui.state.presenter import Presenter, Refresh
from gui.state.readings import layout_words, result_words
from gui.views import style as look
from gui.views.choice import choice_box
from gui.views.notice import Notice
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.output import maps
from layoutkit.planning.unknown import by_angles_of

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.tooltips import Help

FINE, COARSE = 1, 10  # degrees for an arrow key, and with Shift
HOW = "Hatched: fails. Dotted: close, weigh it. +: the present layout.\n"
POINT = "Click on the map to look at a layout, double-click to use it."
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
        self.frames = 0  # finished redraws
        self.columnconfigure(0, weight=1)
        self.rowconfigure(0, weight=1)
        self.area = tk.Frame(self, background=look.PAPER)
        self.area.grid(row=0, column=0, sticky="nsew")
        self.notice = Notice(self.area, style="Banner.TLabel")
        side = ttk.Frame(self)
        side.grid(row=0, column=1, sticky="ns", padx=style.pixels(0.4), pady=style.pixels(0.3))
        side.rowconfigure(1, weight=1)
        names = tuple(panel.title.partition(",")[0] for panel in maps.PANELS)
        self.choice = choice_box(side, names, self._figure_chosen)
        self.choice.current(0)
        self.choice.grid(row=0, column=0, sticky="ew")
        helper.attach(self.choice, lambda: f"{self.panel.title}\n{words(self.panel.name)}")
        self.description = TextView(side, style, 24, 4)
        self.description.grid(row=1, column=0, sticky="nsew", pady=style.pixels(0.3))
        self.use = ttk.Button(side, text="Use this layout", command=self.take)
        self.use.grid(row=2, column=0, sticky="ew")
        helper.attach(
            self.use,
            "Use this layout\nPut the layout at the circle into the record, as one step of undo.",
        )
        presenter.subscribe(self._changed)
        self._tell()

    @property
    def panel(self) -> maps.Panel:
        """The figure that is shown."""
        return maps.PANELS[self.choice.current()]

    # --- when to work -----------------------------------------------------------------------------

    def seen(self) -> None:
        """The tab came to the front: show the present plan's map."""
        if self._canvas is None:
            self._build()
        self._later(1)

    def refresh(self) -> None:
        """Show anew, as after another text size."""
        self.description.refresh()
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
            self._look(None)

    def _stale(self) -> bool:
        """Whether what is painted is not of the present record."""
        p = self._presenter
        return p.plan is None or p.stale or self._shown is None or self._shown.plan is not p.plan

    def _show(self) -> None:
        if not self.winfo_viewable():
            return
        if self._presenter.dragging:
            self._waiting.start(look.REST, self._show)
            return
        wanted = None if self._presenter.stale else self._presenter.layout_map()
        if wanted is not None and wanted is not self._shown:
            self._shown, self.chosen = wanted, None
            self._draw()
        self._look(self.chosen)

    # --- the canvas -------------------------------------------------------------------------------

    def _build(self) -> None:
        from matplotlib.backends.backend_tkagg import FigureCanvasTkAgg
        from matplotlib.figure import Figure

        view = self

        class MapCanvas(FigureCanvasTkAgg):
            def draw_idle(self) -> None:
                view.schedule()

        focused = self.focus_get()
        make: Any = MapCanvas  # matplotlib's canvas has no types
        self._canvas = make(Figure(dpi=96.0, facecolor=look.PAPER), self.area)
        self.widget: tk.Widget = self._canvas.get_tk_widget()
        # the canvas's own events would make matplotlib events that nobody reads
        for name in ("<Key>", "<KeyRelease>", "<Motion>", "<Enter>", "<Leave>"):
            self.widget.unbind(name)
        options: Any = {
            "takefocus": True, "highlightthickness": 2, "background": look.PAPER,
            "highlightcolor": look.ACCENT, "highlightbackground": look.PAPER,
        }  # fmt: skip
        self.widget.configure(**options)
        self.widget.pack(fill="both", expand=True)
        self.widget.bind("<Button-1>", self._press)
        self.widget.bind("<Double-Button-1>", self._double)
        self.widget.bind("<Return>", lambda _: self.take())
        self.widget.bind("<Escape>", lambda _: self._look(None))
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
        self._axes, self._marks = None, []
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

    def _place(self) -> None:
        for mark in self._marks:
            mark.set_data(*(([], []) if self.chosen is None else zip(self.chosen, strict=True)))

    def _figure_chosen(self) -> None:
        if self._shown is not None:
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

    def _tell(self) -> None:
        """Show the words beside the map, and the notice above one that is not the present record's."""
        p = self._presenter
        words = self.notice.tell(p, "map", self._stale())
        plan = None if self.chosen is None or words else p.layout_at(*self.chosen)
        self.use.state(["disabled" if plan is None else "!disabled"])
        if plan is not None:
            sign = look.OUTCOMES[plan.outcome][2]
            self.description.show([
                *((f"{line}\n", "bold") for line in layout_words(plan, p.units)),
                (f"{sign} {plan.outcome}\n", str(plan.outcome)),
                ("\n".join(result_words(plan, p.units)), ""),
            ])  # fmt: skip
        elif self.chosen is not None and not words:
            self.description.show([(p.message, "fail")])
        else:
            more = f"\n{maps.FLARE}" if self.panel.name == "flare" else ""
            self.description.show([(HOW, ""), (POINT, ""), (more, "quiet")])

    def take(self) -> None:
        """Put the layout that is looked at into the record."""
        if self.chosen is None or self._stale():
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

    def _press(self, event: tk.Event[tk.Misc]) -> None:
        self.widget.focus_set()
        layout = self._at(event)
        if layout is not None:
            self._look(layout)

    def _double(self, event: tk.Event[tk.Misc]) -> None:
        if self._at(event) is not None:
            self.take()

    def _step(self, right: int, up: int, _: tk.Event[tk.Misc]) -> None:
        if self._shown is None or self._stale():
            self.bell()
            return
        first, _arc, second = by_angles_of(self._shown.plan, "a map of layouts")
        at_pin, at_pap = self.chosen or (first, second)
        self._look(self._shown.nearest(at_pin + right, at_pap + up))
