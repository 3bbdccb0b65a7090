"""The handbook's pictures, drawn when it is opened, of the first sample's plan."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import TYPE_CHECKING

from layoutkit.output import render
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.drawing import Drawing, facing, project, scene, step_scene, step_view

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from layoutkit.planning.values import Plan

_WIDE, _HIGH = 2.2, 1.12  # ball radii from the middle to the picture's edge


def _ball(drawn: Drawing) -> bytes:
    provide_cache_folder()
    from matplotlib.figure import Figure

    made = Figure(figsize=(7.0, 7.0 * _HIGH / _WIDE), facecolor="white")
    axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(-_WIDE, _WIDE)
    axes.set_ylim(-_HIGH, _HIGH)
    render.draw(axes, drawn, render.Style(text=8.0))
    return _png(made, 110.0)


def marks(plan: Plan) -> bytes:
    """The whole ball, facing the grip, with the name of every mark and line."""
    return _ball(project(scene(plan), facing(plan, "grip")))


def step(plan: Plan) -> bytes:
    """The marking step that places the PAP alone on the ball, or the last where none does."""
    from layoutkit.planning.marking import marking_steps

    steps = marking_steps(plan)
    chosen = next((each for each in steps if each.new == "pap"), steps[-1])
    return _ball(project(step_scene(plan, chosen), step_view(plan, chosen)))


def sheet(plan: Plan) -> bytes:
    """The first page of the work sheet."""
    from layoutkit.output.sheet import sheet_figures

    provide_cache_folder()
    return _png(sheet_figures(plan)[0], 90.0)


def strips(plan: Plan) -> bytes:
    """The second page of the paper strips, which has the first of them."""
    from layoutkit.output.strips import strips_figures

    provide_cache_folder()
    return _png(strips_figures(plan)[1], 60.0)


def roll(plan: Plan) -> bytes:
    """The ball on the lane."""
    from layoutkit.lane.roll import roll as rolled
    from layoutkit.output.roll_picture import figure

    provide_cache_folder()
    return _png(figure((rolled(plan),)), 70.0)


PICTURES: dict[str, Callable[[Plan], bytes]] = {
    each.__name__: each for each in (marks, step, sheet, strips, roll)
}


def _png(figure: Figure, dpi: float) -> bytes:
    data = io.BytesIO()
    figure.savefig(data, format="png", dpi=dpi, metadata={"Software": None})
    return data.getvalue()
