"""A practice picture as a display list, and as a PNG."""

from __future__ import annotations

import io
import math
from pathlib import Path

import numpy as np

from layoutkit.geometry.sphere import arc, bearing, walked
from layoutkit.geometry.vectors import Array
from layoutkit.job.files import write_atomic
from layoutkit.output import render
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.drawing import (
    Callout,
    Drawing,
    Marker,
    Polyline,
    Scene,
    project,
    view_at,
)
from layoutkit.practice.sets import NOTICE
from layoutkit.practice.values import Picture

_STEP = math.radians(2.5)  # between the points of a line
WIDE, HIGH = 1.95, 1.2  # ball radii from the middle to the picture's edges
_MOST_TICKS = 6  # on either side of the grip centre, inches


def practice_scene(picture: Picture) -> Scene:
    """The picture's marks and arcs on the ball, with midline and centreline."""
    r = picture.radius
    x, y, z = np.eye(3)
    t = np.linspace(0.0, 2.0 * math.pi, 145)[:, None]
    lines = [
        Polyline("midline", "midline", r * (np.cos(t) * -x + np.sin(t) * z)),
        Polyline("centreline", "centreline", r * (np.cos(t) * -y + np.sin(t) * z)),
    ]
    if picture.ticks:
        lines += _ticks(r)
    callouts = []
    for each in picture.arcs:
        start, end = np.array(each.start), np.array(each.end)
        length, course = float(arc(start, end, r)), float(bearing(start, end))
        steps = np.linspace(0.0, length, max(int(length / r / _STEP), 1) + 1)
        lines.append(Polyline(each.kind, each.words, _walked(start, course, steps)))
        middle = _walked(start, course, np.array([length / 2.0]))[0]
        callouts.append(Callout(each.kind, each.words, each.words, middle))
    markers = [Marker(m.kind, m.words, np.array(m.xyz)) for m in picture.marks]
    callouts += [Callout(m.kind, m.words, m.words, np.array(m.xyz)) for m in picture.marks]
    return Scene(r, picture.hand, tuple(lines), tuple(markers), tuple(callouts))


def _walked(start: Array, course: float, steps: Array) -> Array:
    """Points (n, 3) of a walk from a point (3,)."""
    return np.asarray(walked(np.repeat(start[None], len(steps), axis=0), course, steps))


def _ticks(radius: float) -> list[Polyline]:
    """A short line across midline and centreline at every inch from the grip centre."""
    half = np.linspace(-0.12, 0.12, 5) / radius
    ticks = []
    for n in (n for n in range(-_MOST_TICKS, _MOST_TICKS + 1) if n):
        a = n / radius
        s, c = np.sin(half), np.cos(half)
        across = np.stack([math.sin(a) * c, s, math.cos(a) * c], axis=-1)
        upward = np.stack([s, math.sin(a) * c, math.cos(a) * c], axis=-1)
        ticks.append(Polyline("midline", f"{n} in", radius * across))
        ticks.append(Polyline("centreline", f"{n} in", radius * upward))
    return ticks


def practice_drawing(picture: Picture, line_height: float = 0.12) -> Drawing:
    """The picture seen from over the middle of its marks, not far from the grip centre."""
    points = np.array([m.xyz for m in picture.marks])
    middle = points.mean(axis=0) + np.array([0.0, 0.0, 0.6 * picture.radius])
    return project(practice_scene(picture), view_at(middle), line_height)


def picture_bytes(picture: Picture) -> bytes:
    """The picture as a PNG's content."""
    provide_cache_folder()
    from matplotlib.figure import Figure

    made = Figure(figsize=(7.0, 7.0 * HIGH / WIDE), dpi=130, facecolor="white")
    axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(-WIDE, WIDE)
    axes.set_ylim(-HIGH, HIGH)
    render.draw(axes, practice_drawing(picture), render.Style(text=9.0))
    axes.text(
        -WIDE + 0.04,
        -HIGH + 0.04,
        NOTICE,
        fontproperties=render.font(True, 8.0),
        color=render.INK,
    )
    data = io.BytesIO()
    made.savefig(data, format="png")
    return data.getvalue()


def write_picture(picture: Picture, path: str | Path) -> None:
    """Write the picture to a PNG file, whole or not at all; InputError where that cannot be."""
    write_atomic(path, picture_bytes(picture))
