"""Pictures of shots: the lane from above beside the rings on the ball, as PNG or PDF.

matplotlib is imported by the functions that paint.
"""

from __future__ import annotations

import io
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Literal

from layoutkit.lane.motion import HALF_WIDTH
from layoutkit.lane.roll import LEFT_OUT, NO_FLARE, Roll, no_flare
from layoutkit.output import drawing, render
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.lane_drawing import (
    LANE_FEET,
    LaneDrawing,
    lane_drawing,
    rings_drawing,
    rings_view,
)
from layoutkit.output.roll_report import (
    ABSENT,
    conditions,
    feet_words,
    flare_rows,
    path_rows,
)
from layoutkit.units import Units, format_length, printable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Form = Literal["png", "pdf"]

# a shot's colour, the shape of its marks and its width in points
SHOTS = (
    ("#17488f", "o"),
    ("#b04a00", "s"),
    ("#0b6b57", "^"),
    ("#6a3d9a", "D"),
    ("#8c1c3b", "v"),
    ("#222222", "P"),
)
# told apart by dashes (in line widths) and width (points), whatever the colour
PHASES: dict[str, tuple[tuple[float, float] | None, float]] = {
    "skid": ((1.0, 1.6), 1.8),
    "hook": (None, 2.2),
    "roll": ((5.0, 2.0), 2.2),
}
PHASE_WORDS = {
    "skid": "skid: sliding on the oil",
    "hook": "hook: sliding beyond it",
    "roll": "roll: sliding no more",
}
_WIDER, _WIDEST = 0.7, 1.6  # shares by which a path is wider than the next one, the last one
_WOOD, _OIL, _GUTTER = "#f3ead8", "#9fc1dc", "#d6d6d3"
_BEFORE, _BEYOND = 0.5, 2.5  # feet that are shown before the foul line and beyond the pins' place
_SIZE = (11.0, 8.2)  # inches
_TEXT, _LINE = 8.0, 10.0  # points: the type, and from line to line


def draw_lane(ax: Any, lane: LaneDrawing, text: float = 8.0, units: Units = "fraction") -> None:
    """Paint the lane on an Axes: the foul line below, the pins above, left to the left.

    ``text`` is points. The lane is stretched in width to fill the Axes. Each place is named where
    there is a single shot.
    """
    last = max((line.shot for line in lane.lines), default=0)
    wider = min(_WIDER, _WIDEST / max(last, 1))
    _draw_floor(ax, lane, text)
    _draw_paths(ax, lane, last, wider)
    _draw_spots(ax, lane, text, last, wider)
    _draw_scales(ax, lane, text, units)


def _draw_floor(ax: Any, lane: LaneDrawing, text: float) -> None:
    """The boards between the gutters, the oil, the foul line, the pins' line and the arrows."""
    from matplotlib.patches import Rectangle

    whole = LANE_FEET + _BEFORE + _BEYOND
    ax.set_xlim(-HALF_WIDTH - 2.5, HALF_WIDTH + 2.5)
    ax.set_ylim(-_BEFORE, LANE_FEET + _BEYOND)
    for left in (-HALF_WIDTH - 2.5, HALF_WIDTH):
        ax.add_patch(Rectangle((left, -_BEFORE), 2.5, whole, fc=_GUTTER, ec="none"))
    ax.add_patch(Rectangle((-HALF_WIDTH, -_BEFORE), 2.0 * HALF_WIDTH, whole, fc=_WOOD, ec="none"))
    for strip in lane.oil:
        if strip.depth > 0.0:
            ax.add_patch(
                Rectangle(
                    (-HALF_WIDTH, strip.start), 2.0 * HALF_WIDTH, strip.end - strip.start,
                    fc=_OIL, ec="none", alpha=0.75 * strip.depth,
                )
            )  # fmt: skip
    for _, y in lane.boards:
        ax.plot([-y, -y], [0.0, LANE_FEET], color=render.GREY, lw=0.35, alpha=0.6)
    ax.plot([-HALF_WIDTH, HALF_WIDTH], [0.0, 0.0], color=render.INK, lw=1.2)
    ax.plot([-HALF_WIDTH, HALF_WIDTH], [LANE_FEET] * 2, color=render.INK, lw=0.8)
    ax.plot(
        [-y for _, y in lane.arrows], [x for x, _ in lane.arrows], "^",
        ms=text * 0.75, mfc="#8a6d3b", mec="none",
    )  # fmt: skip


def _draw_paths(ax: Any, lane: LaneDrawing, last: int, wider: float) -> None:
    """The shots' paths by their phases, and the ways into the pins.

    ``last`` is the number of the last shot; each earlier one is drawn wider by ``wider``.
    """
    for entry in lane.entries:
        color, _ = SHOTS[entry.shot]
        ax.plot(-entry.straight[:, 1], entry.straight[:, 0], color=color, lw=0.9, ls=(0, (4, 3)))
        ax.plot(-entry.way[:, 1], entry.way[:, 0], color=color, lw=0.7)
    for line in lane.lines:
        color, _ = SHOTS[line.shot]
        dashes, width = PHASES[line.kind]
        style: Any = "-" if dashes is None else (0, dashes)
        # an earlier one is wider, to be seen beneath those that cover it
        width *= 1.0 + wider * (last - line.shot)
        ax.plot(-line.points[:, 1], line.points[:, 0], color=color, lw=width, ls=style)


def _draw_spots(ax: Any, lane: LaneDrawing, text: float, last: int, wider: float) -> None:
    """The places on the paths, with their names where there is a single shot."""
    font = render.font(size=text)
    for spot in lane.spots:
        color, shape = SHOTS[spot.shot]
        hollow = spot.kind in ("arrows", "pins")
        ax.plot(
            [-spot.y], [spot.x], shape, mec=color,
            ms=text * (0.7 + 0.4 * wider * (last - spot.shot)),
            mfc="white" if hollow else color, zorder=4, clip_on=False,
        )  # fmt: skip
        if last == 0:
            left = spot.y < 0.0  # toward the lane's middle
            ax.annotate(
                spot.text, (-spot.y, spot.x), (-8 if left else 8, 9 if spot.kind == "pins" else 0),
                textcoords="offset points", ha="right" if left else "left", va="center",
                fontproperties=font, color=render.INK, zorder=5,
                bbox={"fc": "white", "ec": "none", "alpha": 0.75, "pad": 1.0},
            )  # fmt: skip


def _draw_scales(ax: Any, lane: LaneDrawing, text: float, units: Units) -> None:
    """Boards along the foul line, and the distance from it up the side."""
    font = render.font(size=text)
    ax.set_xticks([-y for _, y in lane.boards], [f"{n}" for n, _ in lane.boards])
    feet = [10.0 * i for i in range(7)]
    names = [feet_words(f, units) if units == "metric" else f"{f:g} ft" for f in feet]
    ax.set_yticks(feet, names)
    ax.tick_params(labelsize=text, length=2.0)
    for label in (*ax.get_xticklabels(), *ax.get_yticklabels()):
        label.set_fontproperties(font)
    # each bowler counts from the gutter on the own side
    ax.set_xlabel(f"board, from the {lane.hand} gutter", fontproperties=font, labelpad=2.0)
    for side in ax.spines.values():
        side.set_visible(False)


def stretch(ax: Any) -> float:
    """How many times wider than long the lane stands on an Axes."""
    box = ax.get_window_extent()
    (left, right), (low, high) = ax.get_xlim(), ax.get_ylim()
    return float((box.width / (right - left)) / (box.height / (12.0 * (high - low))))


def figure(shots: Sequence[Roll], units: Units = "fraction") -> Figure:
    """One page: the lane to the left, a ball for each shot to the right, their figures below."""
    provide_cache_folder()
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    made = Figure(figsize=_SIZE, dpi=110, facecolor="white")
    FigureCanvasAgg(made)
    title = shots[0].plan.job.title or "Untitled job"
    if len(shots) > 1:
        title = f"{len(shots)} layouts under one release"
    _text(made, 0.03, 0.965, title, 13.0, bold=True)
    _text(made, 0.03, 0.937, conditions(shots[0], units), 8.0)
    ax = made.add_axes((0.075, 0.142, 0.37, 0.773))
    draw_lane(ax, lane_drawing(shots), units=units)
    note = (
        f"Lane from above, drawn {stretch(ax):.0f} times as wide as long, and all angles with it. "
        "Shaded: oil."
    )
    _text(made, 0.03, 0.077, note, 8.0)
    for line, words in enumerate(textwrap.wrap(LEFT_OUT, 200)):
        _text(made, 0.03, 0.058 - 0.017 * line, words, 7.5)
    _phase_legend(made, 0.03)
    _balls(made, shots)
    if len(shots) == 1:
        _single(made, shots[0], units)
    else:
        _legend(made, shots, units)
    return made


def _text(made: Figure, x: float, y: float, text: str, size: float, bold: bool = False) -> None:
    made.text(
        x,
        y,
        printable(text),
        fontproperties=render.font(bold, size),
        color=render.INK,
        parse_math=False,
    )


def _phase_legend(made: Figure, y: float) -> None:
    from matplotlib.lines import Line2D

    x = 0.03
    for name, words in PHASE_WORDS.items():
        dashes, width = PHASES[name]
        style: Any = "-" if dashes is None else (0, dashes)
        made.add_artist(
            Line2D([x, x + 0.035], [y - 0.004] * 2, color=render.INK, lw=width, ls=style)
        )
        _text(made, x + 0.04, y - 0.008, words, 8.0)
        x += 0.21
    for shape, words, fill in (("o", "breakpoint", render.INK), ("o", "arrows, pins", "white")):
        made.add_artist(
            Line2D([x], [y - 0.004], marker=shape, ms=5.5, mfc=fill, mec=render.INK, ls="none")
        )
        _text(made, x + 0.012, y - 0.008, words, 8.0)
        x += 0.1


def _balls(made: Figure, shots: Sequence[Roll]) -> None:
    """The rings on each ball, two in a row where there are more than two."""
    left, bottom, width, height = 0.47, 0.3, 0.52, 0.625
    columns = 1 if len(shots) < 3 else 2
    rows = -(-len(shots) // columns)
    for i, shot in enumerate(shots):
        row, column = divmod(i, columns)
        wide, high = width / columns, height / rows
        box = (left + column * wide, bottom + (rows - 1 - row) * high, wide, high)
        _ball(made, shot, box, i if len(shots) > 1 else None, columns == 1)


def _ball(
    made: Figure,
    shot: Roll,
    box: tuple[float, float, float, float],
    number: int | None,
    detail: bool,
) -> None:
    """A ball as large as its box lets it be beside its labels, and a line below it."""
    x, y, wide, high = box
    low = 0.028
    ax = made.add_axes((x, y + low, wide, high - low))
    ax.set_axis_off()
    across, up = (72.0 * v for v in (wide * _SIZE[0], (high - low) * _SIZE[1]))  # points
    view = rings_view(shot)
    radius = 0.5 * up / 1.04
    for _ in range(2):  # the labels' rows depend on the radius, and the radius on their widths
        drawn = rings_drawing(shot, view, _LINE / radius, detail)
        room = max((render.text_width(e.text, _TEXT, 72.0) for e in drawn.labels), default=0.0)
        radius = min(radius, (0.5 * across - room - 2.0) / drawing.COLUMN)
    drawn = rings_drawing(shot, view, _LINE / radius, detail)
    ax.set_xlim(-0.5 * across / radius, 0.5 * across / radius)
    ax.set_ylim(-0.5 * up / radius, 0.5 * up / radius)
    render.draw(ax, drawn, render.Style(text=_TEXT, scale=0.9))
    words = "rings on the ball: strong on the oil, light beyond it"
    if shot.flare is None:
        words = _no_rings(shot)
    elif number is not None and not detail:
        words = "rings on the ball"
    made.text(
        x + wide / 2.0, y + 0.006, words if number is None else f"{number + 1}: {words}",
        fontproperties=render.font(size=_TEXT), ha="center", color=render.GREY,
    )  # fmt: skip


def _no_rings(shot: Roll) -> str:
    return (
        "no RG data, no rings" if no_flare(shot.plan) == NO_FLARE else "it does not turn: no rings"
    )


def _single(made: Figure, shot: Roll, units: Units) -> None:
    """All figures of one shot, in two columns."""
    rows = [row for row in (*path_rows(shot, units), *flare_rows(shot, units)) if row[1] != ABSENT]
    names = {name for name, _ in flare_rows(shot, units)}
    named = [(f"flare: {name}" if name in names else name, value) for name, value in rows]
    each = -(-len(named) // 2)
    for i, (name, value) in enumerate(named):
        column, row = divmod(i, each)
        x, y = 0.475 + 0.265 * column, 0.275 - 0.021 * row
        _text(made, x, y, name, _TEXT)
        _text(made, x + 0.165, y, value, _TEXT, bold=True)
    y = 0.275 - 0.021 * each
    for told in (*([_no_rings(shot)] if shot.flare is None else ()), *_near([shot])):
        _text(made, 0.475, y, told, _TEXT, bold=True)
        y -= 0.021


def _legend(made: Figure, shots: Sequence[Roll], units: Units) -> None:
    """Each shot's mark, name and main figures."""
    from matplotlib.lines import Line2D

    x, y = 0.475, 0.272
    heads = ("", "arrows", "breakpoint", "pins", "entry", "flare")
    places = (0.014, 0.215, 0.265, 0.37, 0.415, 0.46)
    for head, place in zip(heads, places, strict=True):
        _text(made, x + place, y, head, _TEXT)
    for i, shot in enumerate(shots):
        y -= 0.021
        color, shape = SHOTS[i]
        made.add_artist(Line2D([x + 0.004], [y + 0.004], marker=shape, ms=6, mfc=color, mec=color))
        p = shot.path
        point = ABSENT
        if p.breakpoint is not None:
            point = f"{p.breakpoint.board:.1f} at {feet_words(p.breakpoint.x, units)}"
        cells = (
            _fitted(f"{i + 1}  {shot.plan.job.title or 'Untitled job'}", 0.195 * 72.0 * _SIZE[0]),
            _number(p.board_at_arrows),
            point,
            _number(p.board_at_pins) if p.gutter is None else f"{shot.gutter_side} gutter",
            ABSENT if p.entry_angle is None else f"{p.entry_angle:.1f}°",
            ABSENT if shot.flare is None else format_length(shot.flare.width, units, 16),
        )
        for cell, place in zip(cells, places, strict=True):
            _text(made, x + place, y, cell, _TEXT)
    near = _near(shots)
    if near:
        _text(made, x, y - 0.021, near[0], _TEXT, bold=True)


def _fitted(text: str, width: float) -> str:
    """The text, or as much of it with an ellipsis as ``width`` points hold."""
    shown = text = printable(text)
    while text and render.text_width(shown, _TEXT, 72.0) > width:
        text = text[:-1].rstrip()
        shown = f"{text}..."
    return shown


def _near(shots: Sequence[Roll]) -> list[str]:
    """The holes that rings come near, in a line."""
    found = []
    for i, shot in enumerate(shots, 1):
        lead = f"{i}: " if len(shots) > 1 else ""
        found += [f"{lead}{n.hole} hole, ring {n.turn}" for n in shot.near_holes]
    return [f"Rings near or over: {'; '.join(found)}"] if found else []


def _number(board: float | None) -> str:
    return ABSENT if board is None else f"{board:.1f}"


def picture(shots: Sequence[Roll], form: Form, units: Units = "fraction") -> bytes:
    """The picture as a file's content; the same shots give the same bytes."""
    provide_cache_folder()
    import matplotlib as mpl

    settings: dict[Any, Any] = {"pdf.fonttype": 42, "text.usetex": False}
    with mpl.rc_context(settings):
        data = io.BytesIO()
        made = figure(shots, units)
        metadata: dict[str, Any] = {"CreationDate": None} if form == "pdf" else {"Software": None}
        made.savefig(data, format=form, metadata=metadata)
    return data.getvalue()
