"""The picture of a shot: the lane from above and the ball beside it, at one moment.

What does not move is put on the canvas once for a shot; a frame only moves the ball, its rings and its
marks. Only pixels are worked out here; lines and moments are `layoutkit.lane.playback`'s.
"""

from __future__ import annotations

import math
import tkinter as tk
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from gui.state.lane import now
from gui.views import style as look
from layoutkit.geometry.vectors import Array
from layoutkit.lane import playback as pb
from layoutkit.lane.motion import HALF_WIDTH
from layoutkit.lane.playback import Moment, Playback
from layoutkit.lane.start import THE_LANE
from layoutkit.output.drawing import view_at
from layoutkit.output.lane_drawing import LANE_FEET, LaneDrawing, lane_drawing, rings_view
from layoutkit.output.render import MARKERS
from layoutkit.planning.unknown import pap_of

if TYPE_CHECKING:
    from gui.views.style import Appearance

_BOARD = "#f7efdd"
_OIL = "#b9d3ea"
_LINE = "#d5c7a6"
_KEPT, _KEPT_PATH = "#6a4c93", "#b08fd8"
_BALL = "#fbfaf7"
_HOLE = "#3a3a3a"
_MARKS = {"pin": MARKERS["pin"][1], "PAP": MARKERS["pap"][1], "grip centre": look.INK}
# by the name of a phase: colour, width and dashes, so that colour is not needed
_PHASES: dict[str, tuple[str, int, tuple[int, ...]]] = {
    "skid": ("#17488f", 2, (8, 5)),
    "hook": ("#a1450a", 3, ()),
    "roll": ("#0b6b57", 4, (2, 3)),
}
_RING, _LATE = "#17488f", "#7d7d7a"  # a ring on the oil, and one beyond it
VIEWS = ("as it rolls", "facing the rings", "from the PAP")
_TICKS = (0, 15, 30, 45, 60)  # ft


class LaneCanvas(tk.Canvas):
    """Lane and ball, the ball seen as ``side`` says: one of `VIEWS`."""

    def __init__(self, parent: tk.Misc, style: Appearance) -> None:
        super().__init__(
            parent, background=look.PAPER, width=style.pixels(18), height=style.pixels(7),
            borderwidth=0, highlightthickness=2, highlightbackground=look.PAPER,
            highlightcolor=look.ACCENT, takefocus=True,
        )  # fmt: skip
        self._style = style
        self.side = VIEWS[0]
        self._frames: dict[str, Array] = {}
        self._lane: LaneDrawing
        self.frames = 0  # finished pictures
        self._shot: Playback | None = None
        self._kept: Playback | None = None
        self._moment: tuple[Moment, Moment | None] | None = None
        self._rings: tuple[Array, Array] = (np.zeros((0, 3)), np.zeros(0))
        self._holes: tuple[Array, Array] = self._rings
        self._marks: tuple[Array, tuple[str, ...]] = (np.zeros((0, 3)), ())
        self._ring_items: list[int] = []
        self._hole_items: list[int] = []
        self._mark_items: list[tuple[int, int]] = []
        self._area = (0.0, 0.0, 1.0, 1.0)  # of the lane: left, top, width, height
        self._ball = (0.0, 0.0, 1.0)  # of the ball's picture: middle and radius
        self.bind("<Configure>", lambda _: self.refresh())

    def load(self, shot: Playback | None, kept: Playback | None) -> None:
        """Take another shot, and the kept plan's to lay over it; None for none."""
        self._shot, self._kept, self._moment = shot, kept, None
        if shot is not None:
            plan = shot.shot.plan
            self._rings, self._holes = pb.rings(shot.shot), pb.mouths(plan)
            names, points = zip(*pb.marks(plan), strict=True)
            self._marks = np.array(points), names
            self._frames = {
                "from the PAP": view_at(np.array(pap_of(plan, THE_LANE).xyz)).frame,
                "facing the rings": rings_view(shot.shot).frame,
            }
            self._lane = lane_drawing([shot.shot] if kept is None else [shot.shot, kept.shot])
        self.refresh()

    def show(self, moment: Moment, kept: Moment | None) -> None:
        """Show a moment, of the kept plan's shot too."""
        self._moment = (moment, kept)
        self._move()

    def refresh(self) -> None:
        """Put everything on the canvas anew, as after another size."""
        self.delete("all")
        self._ring_items, self._hole_items, self._mark_items = [], [], []
        if self._shot is None or self.winfo_width() < 2:
            return
        self._arrange()
        if self._area[2] < self._style.em * 3 or self._area[3] < self._style.em:
            return
        self._put_lane()
        self._put_ball()
        self._move()

    # --- where things are -------------------------------------------------------------------------

    def _arrange(self) -> None:
        em, wide, high = self._style.em, self.winfo_width(), self.winfo_height()
        line = round(em * 1.2)  # of text
        if wide > high:  # the ball beside the lane, or below it
            size = min(high - line * 0.6, wide * 0.36)
            self._ball = (
                wide - size / 2.0 - em * 0.4,
                (high - line * 0.2) / 2.0,
                size / 2.0 - em * 0.3,
            )
            room = (wide - size - em * 0.4, float(high))
        else:
            size = min(float(wide), high * 0.5)
            self._ball = (wide / 2.0, high - size / 2.0, size / 2.0 - em * 0.4)
            room = (float(wide), high - size)
        left = self._width_of("20 ") + em * 0.5
        across = room[0] - left - em * 0.8
        # the phases above, the feet and the moment below; wider than true, so that boards can be told
        above = em * 1.6
        below = em * (1.7 + math.ceil(self._width_of(_LONGEST) * 1.1 / max(across + em, 1.0)))
        free = room[1] - above - below
        tall = min(free, across * 0.42)
        top = above + (free - tall) / 2.0
        self._area = (left, top, across, tall)

    def _width_of(self, text: str) -> int:
        return int(self.tk.call("font", "measure", "TkDefaultFont", text))

    def _spot(self, feet: float, aside: float) -> tuple[float, float]:
        """The pixel of a place on the lane, feet and inches to the left of its middle."""
        left, top, wide, high = self._area
        return left + wide * feet / _REACH, top + high * (0.5 - 0.5 * aside / HALF_WIDTH)

    def _line(self, points: Array) -> list[float]:
        return [v for feet, aside in points.tolist() for v in self._spot(feet, aside)]

    # --- what stands still ------------------------------------------------------------------------

    def _put_lane(self) -> None:
        assert self._shot is not None
        em = self._style.em
        left, top, wide, high = self._area
        lane = self._lane

        def band(start: float, end: float, fill: str) -> None:
            self.create_rectangle(
                left + wide * start / _REACH, top, left + wide * end / _REACH, top + high,
                outline="", fill=fill,
            )  # fmt: skip

        band(0.0, _REACH, _BOARD)
        for strip in lane.oil:
            band(strip.start, strip.end, _mixed(_BOARD, _OIL, strip.depth))
        for board, aside in lane.boards:
            x, y = self._spot(0.0, aside)
            if board % 5 == 0:
                self.create_line(x, y, left + wide, y, fill=_LINE)
            if board % 10 == 0:
                self.create_text(x - em * 0.3, y, anchor="e", text=str(board), fill=look.QUIET)
        size = em * 0.2
        for feet, aside in lane.arrows:
            x, y = self._spot(feet, aside)
            self.create_polygon(
                x + size * 1.6, y, x - size, y - size, x - size, y + size, fill=look.QUIET
            )
        for feet, aside in pb.PINS:
            x, y = self._spot(feet, aside)
            self.create_oval(x - size, y - size, x + size, y + size, outline=look.INK, fill="white")
        self.create_rectangle(left, top, left + wide, top + high, outline=look.EDGE)
        self.create_line(left, top, left, top + high, width=3, fill=look.INK)
        for tick in _TICKS:
            x = left + wide * tick / _REACH
            self.create_line(x, top + high, x, top + high + em * 0.25, fill=look.QUIET)
            text = "0 ft" if tick == 0 else str(tick)
            self.create_text(x, top + high + em * 0.3, anchor="n", text=text, fill=look.QUIET)
        kept = [line for line in lane.lines if line.shot]
        for each in kept:
            line = self._line(each.points)
            self.create_line(*line, fill=_KEPT_PATH, width=max(em // 2, 4), tags="kept_path")
        self._put_phases()
        for spot in lane.spots:
            if spot.kind != "breakpoint" or spot.shot:
                continue
            x, y = self._spot(spot.x, spot.y)
            d = em * 0.35
            self.create_polygon(
                x, y - d, x + d, y, x, y + d, x - d, y, fill=look.PAPER, outline=look.INK, width=2,
                tags="breakpoint",
            )  # fmt: skip
        self.create_text(
            left, top + high + em * 1.5, anchor="nw", fill=look.INK, tags="now", width=wide + em
        )
        for tag, fill, outline in (("kept_ball", "", _KEPT), ("ball", look.INK, look.PAPER)):
            self.create_oval(0, 0, 0, 0, fill=fill, outline=outline, width=2, tags=tag)

    def _put_phases(self) -> None:
        """The path, and above the lane how far each phase goes, in the same stroke."""
        assert self._shot is not None
        em = self._style.em
        _, top, _, _ = self._area
        free = 0.0
        for piece in self._lane.lines:
            if piece.shot:
                continue
            color, width, dash = _PHASES[piece.kind]
            options: Any = {"fill": color, "width": width, "dash": dash or ""}
            self.create_line(*self._line(piece.points), **options, tags="path")
            start, end = (self._spot(float(piece.points[i, 0]), 0.0)[0] for i in (0, -1))
            y = top - em * 0.3
            self.create_line(start, y, end, y, **options)
            middle = (start + end) / 2.0
            half = self._width_of(piece.kind) / 2.0
            middle = max(middle, free + half)
            free = middle + half + em * 0.4
            self.create_text(middle, y - em * 0.15, anchor="s", text=piece.kind, fill=color)

    def _put_ball(self) -> None:
        x, y, r = self._ball
        self.create_oval(x - r, y - r, x + r, y + r, fill=_BALL, outline=look.INK, width=2)
        none = (0, 0, 0, 0)
        rings = () if self._shot is None or self._shot.shot.flare is None else self._rings[1]
        for i, _ in enumerate(rings):
            oily = self._oily(i)
            fill, dash = (_RING, "") if oily else (_LATE, (3, 3))
            self._ring_items.append(self.create_line(none, fill=fill, dash=dash, tags="ring"))
        self.create_line(none, fill=look.BAD, width=2, tags="axis")
        self._hole_items = [
            self.create_polygon(none, fill=_HOLE, outline=_HOLE, tags="hole")
            for _ in self._holes[1]
        ]
        for name in self._marks[1]:
            color = _MARKS[name]
            if name == "pin":
                item = self.create_oval(none, fill=color, outline=look.PAPER, tags="mark")
            elif name == "PAP":
                item = self.create_polygon(none, fill=color, outline=look.PAPER, tags="mark")
            else:
                item = self.create_line(none, fill=color, width=2, tags="mark")
            words = name.partition(" ")[0]
            label = self.create_text(0, 0, anchor="w", text=words, fill=color, tags="label")
            self._mark_items.append((item, label))
        self.create_oval(none, outline=look.BAD, width=2, tags="touch")

    def _oily(self, ring: int) -> bool:
        assert self._shot is not None
        assert self._shot.shot.flare is not None
        return self._shot.shot.flare.rings[ring].oily

    # --- what moves -------------------------------------------------------------------------------

    def _move(self) -> None:
        if self._moment is None or self._shot is None or not self.find_withtag("ball"):
            return
        moment, kept = self._moment
        self.itemconfigure("now", text=now(moment))
        size = self._style.em * 0.42
        for tag, each in (("ball", moment), ("kept_ball", kept)):
            if each is None:
                self.coords(tag, -9, -9, -9, -9)
            else:
                x, y = self._spot(each.feet, each.left)
                self.coords(tag, x - size, y - size, x + size, y + size)
        frame = self._frames.get(self.side)
        if frame is None:
            frame = pb.behind() @ moment.turned
        self._turn(frame, moment)
        self.frames += 1

    def _turn(self, frame: Array, moment: Moment) -> None:
        """The ball's picture: rows of ``frame`` are right, up and toward the eye in the grip frame."""
        lines, seen = pb.circles(*self._rings, frame)
        for i, item in enumerate(self._ring_items):
            if i < moment.rings and seen[i]:
                newest = i == moment.rings - 1
                self.coords(item, *self._pixels(lines[i]))
                self.itemconfigure(item, state="normal", width=3 if newest else 1)
            else:
                self.itemconfigure(item, state="hidden")
        lines, seen = pb.circles(*self._holes, frame)
        for i, item in enumerate(self._hole_items):
            self.itemconfigure(item, state="normal" if seen[i] else "hidden")
            if seen[i]:
                self.coords(item, *self._pixels(lines[i]))
        axes = self._rings[0][: moment.rings] @ frame.T
        axes = axes[axes[:, 2] > 0.0]
        self.itemconfigure("axis", state="normal" if len(axes) > 1 else "hidden")
        if len(axes) > 1:
            self.coords("axis", *self._pixels(axes[:, :2]))
        self._place_marks(self._marks[0] @ frame.T)
        x, y, z = frame @ moment.turned.T @ np.array([0.0, 0.0, -1.0])
        d = self._style.em * 0.3
        self.itemconfigure("touch", state="normal" if z > 0.0 else "hidden")
        (px, py) = self._pixels(np.array([[x, y]]))
        self.coords("touch", px - d, py - d, px + d, py + d)

    def _place_marks(self, points: Array) -> None:
        d = self._style.em * 0.28
        ball_x = self._ball[0]
        for (item, label), name, (x, y, z) in zip(
            self._mark_items, self._marks[1], points, strict=True
        ):
            state = "normal" if z > 0.0 else "hidden"
            self.itemconfigure(item, state=state)
            self.itemconfigure(label, state=state)
            if z <= 0.0:
                continue
            px, py = self._pixels(np.array([[x, y]]))
            if name == "pin":
                self.coords(item, px - d, py - d, px + d, py + d)
            elif name == "PAP":
                e = d * 1.3
                self.coords(item, px, py - e, px + e, py, px, py + e, px - e, py)
            else:
                self.coords(item, px - d, py, px + d, py, px, py, px, py - d, px, py + d)
            right = px <= ball_x  # the word toward the middle, where there is room
            self.itemconfigure(label, anchor="w" if right else "e")
            self.coords(label, px + d * 1.6 if right else px - d * 1.6, py)

    def _pixels(self, points: Array) -> list[float]:
        x, y, r = self._ball
        flat: list[float] = (points * (r, -r) + (x, y)).ravel().tolist()
        return flat


_LONGEST = "2.62 s, hook: 60.0 ft, board 23.4, 13.9 mph, 554 rpm"
_REACH = LANE_FEET + 3.0  # the lane as drawn goes on under the pins


def _mixed(plain: str, full: str, much: float) -> str:
    """A colour between two."""
    parts: Sequence[int] = [
        round(int(plain[i : i + 2], 16) * (1.0 - much) + int(full[i : i + 2], 16) * much)
        for i in (1, 3, 5)
    ]
    return "#{:02x}{:02x}{:02x}".format(*parts)
