"""The ball's surface shaded by where the pin may go, as an image over its disc.

Illegal places are hatched, close ones dotted, legal ones clear; lines join places of one figure. An
image is made for one view and size, and costs some milliseconds.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.sphere import mirror, walked
from layoutkit.geometry.vectors import Array, dot, scaled
from layoutkit.job.rules import CLOSE, FAIL
from layoutkit.output.drawing import View
from layoutkit.planning import globe as _globe
from layoutkit.planning.globe import NOWHERE, Globe
from layoutkit.planning.surface import Surface

LINES = 8  # contours, about, over a figure's whole range
RING = (0.10, 0.16)  # ball radii from the pin between which bearings are shown
_HATCH, _DOT, _LINE = (110, 20, 20, 150), (138, 70, 0, 190), (23, 72, 143, 150)
_WIDE = 1.2  # pixels from the middle of a line at which it ends
_STEEP = 0.3  # steps between two pixels at which lines would run together
_AWAY = (120, 120, 120, 70)  # where no such layout has its pin


Where = NDArray[np.bool_]


class Contours(NamedTuple):
    """A figure's name, the factor that brings it into the unit shown, and the step between lines."""

    name: str
    unit: float
    step: float


def step_for(globe: Globe, name: str, unit: float) -> float:
    """A round step between contours, some eight over the range that is known; 0 where nothing varies."""
    known = globe.figures[name][np.isfinite(globe.figures[name])] * unit
    reach = float(np.ptp(known)) / LINES if known.size else 0.0
    if reach < 1e-9:
        return 0.0
    power = 10.0 ** math.floor(math.log10(reach))
    return float(power * min((1, 2, 5, 10), key=lambda each: abs(math.log(each * power / reach))))


def image(globe: Globe, view: View, radius: int, contours: Contours | None) -> Array:
    """The shading of a ball of ``radius`` pixels, (2 radius, 2 radius, 4) bytes, lowest row first."""
    points, inside, hatch, dots = _disc(radius)
    toward = mirror(points @ view.frame, globe.plan.job.bowler.hand)
    row, column = _globe.cells(toward)
    low, left = np.floor(row).astype(int), np.floor(column).astype(int)
    up, along = row - low, column - left
    rows = [np.clip(low + each, 0, _globe.ROWS - 1) for each in (0, 1)]
    columns = [(left + each) % (2 * _globe.ROWS) for each in (0, 1)]
    corners = [
        (
            rows[i] * 2 * _globe.ROWS + columns[j],
            (up if i else 1.0 - up) * (along if j else 1.0 - along),
        )
        for i in (0, 1)
        for j in (0, 1)
    ]

    def between(grid: Array) -> Array:
        """A grid's values at the points, each between the four cells around it."""
        flat = grid.ravel()
        return np.asarray(sum(flat[place] * share for place, share in corners))

    verdict = globe.verdict
    fails, close, away = (
        _doubled(between((verdict == level).astype(np.float32)) > 0.5) & inside
        for level in (FAIL, CLOSE, NOWHERE)
    )
    made = np.zeros((*inside.shape, 4), dtype=np.uint8)
    made[away] = _AWAY
    made[fails & hatch] = _HATCH
    made[close & dots] = _DOT
    if contours is not None and contours.step > 0.0:
        values = between(globe.figures[contours.name]) * (contours.unit / contours.step)
        known = between((verdict >= 0.0).astype(np.float32)) > 0.99
        # near a line the value is a whole number of steps; its slope tells how near in pixels
        fine = _finer(np.where(known, values, 0.5))
        slope = np.hypot(*np.gradient(fine))
        near = np.abs(fine - np.rint(fine)) / np.maximum(slope, 1e-6)
        ink = np.clip(_WIDE - near, 0.0, 1.0) * (_doubled(known) & inside & (slope < _STEEP))
        line = ink > 0.0
        made[line, :3] = _LINE[:3]
        made[line, 3] = np.maximum(made[line, 3], ink[line] * _LINE[3])
    made[~inside] = 0
    return made


@lru_cache(maxsize=4)
def _disc(radius: int) -> tuple[Array, Where, Where, Where]:
    """Points of the ball (radius, radius, 3); then what lies inside, on a hatch's line and on a dot.

    These three are (2 radius, 2 radius).
    """
    line = (np.arange(radius) + 0.5) / radius * 2.0 - 1.0
    x, y = np.meshgrid(line, line)
    size = np.hypot(x, y)
    shrink = np.where(size > 1.0, 0.9999 / np.maximum(size, 1e-9), 1.0)
    x, y = x * shrink, y * shrink
    points = np.stack((x, y, np.sqrt(np.maximum(1.0 - x * x - y * y, 0.0))), axis=-1)
    fine = (np.arange(2 * radius) + 0.5) / radius - 1.0
    inside = np.hypot(*np.meshgrid(fine, fine)) < 0.99
    down, across = np.mgrid[0 : 2 * radius, 0 : 2 * radius]
    period = max(radius // 22, 6)
    thick = max(period // 4, 2)
    hatch = (down + across) % period < thick
    shifted = across + (down // period % 2) * (period // 2)
    dots = (down % period < thick) & (shifted % period < thick)
    return points, inside, hatch, dots


def _finer(values: Array) -> Array:
    """Twice as many values along both sides, those between as the mean of their neighbours."""
    for axis in (0, 1):
        twice = np.repeat(values, 2, axis=axis)
        after = np.concatenate((values, values.take([-1], axis=axis)), axis=axis)
        following = after.take(range(1, after.shape[axis]), axis)
        odd = (slice(1, None, 2), slice(None)) if axis == 0 else (slice(None), slice(1, None, 2))
        twice[odd] = (values + following) / 2.0
        values = twice
    return values


def _doubled(small: Where) -> Where:
    return np.repeat(np.repeat(small, 2, axis=0), 2, axis=1)


def ring(found: Surface, view: View) -> tuple[tuple[int, Array], ...]:
    """Verdicts of other bearings: each with the corners (4, 2) of its field, in ball radii, at the pin.

    None where the ball has no reference mark, or where the pin is not seen.
    """
    plan = found.plan
    pin = scaled(plan.marks.pin.xyz, 1.0 / plan.radius)
    if plan.layout.bearing is None or dot(pin, view.frame[2].tolist()) <= 0.05:
        return ()
    pin = mirror(pin, plan.job.bowler.hand)
    half = 180.0 / len(found.bearing)
    inner, outer = RING
    turns = found.bearing[:, None] + half * np.array([-1.0, 1.0, 1.0, -1.0])
    starts = np.broadcast_to(np.array(pin), (*turns.shape, 3))
    reached = walked(starts, turns, np.array([inner, inner, outer, outer]))
    corners = mirror(reached, plan.job.bowler.hand) @ view.frame.T
    return tuple(
        (int(level), each) for level, each in zip(found.verdict, corners[..., :2], strict=True)
    )
