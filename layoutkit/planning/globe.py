"""What a plan would be with its pin anywhere on the ball, worked out a piece at a time.

A globe lies in the bowler's frame and moves with no view, so that it can be made once and looked at
from anywhere. Each of its places is where a drag of the pin would put it: the layout stays stated as
it is.
"""

from __future__ import annotations

import math
from collections.abc import Generator

import numpy as np

from layoutkit.geometry.sphere import to_over_up
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Job
from layoutkit.planning import layout as _layout
from layoutkit.planning import surface as _surface
from layoutkit.planning.unknown import LABEL, require
from layoutkit.planning.values import Plan

ROWS = 64  # of latitude; twice as many columns
COARSE = 4  # rows and columns of the finest cells in one of the first ones
PIECE = 384  # places between two pauses
UNKNOWN = -1.0  # the verdict of a place that is not worked out yet
NOWHERE = -2.0  # the verdict where the layout, stated as it is, cannot have its pin
FIGURES = ("side_oz", "top_oz", "finger_oz", "differential", "flare")


class Globe:
    """Verdicts (ROWS, 2 ROWS) as in `rules.OUTCOMES`, and figures by name, of the same shape.

    ``changes`` counts the pieces that are done. Rows run from the thumb's pole to the fingers', columns
    once round from the side opposite the grip.
    """

    def __init__(self, plan: Plan) -> None:
        """Prepare the globe of a plan. Raises InputError where the label leaves weights unknown."""
        require(plan.job, "a map over the ball's surface", *LABEL)
        self.plan = plan
        self.verdict = np.full((ROWS, 2 * ROWS), UNKNOWN)
        names = FIGURES if plan.core is not None else FIGURES[:3]
        self.figures = {
            name: np.full((ROWS, 2 * ROWS), np.nan)
            for name in names
            if name != "flare" or plan.marks.pap is not None
        }
        self.changes, self.done = 0, False
        self._work = self._pieces()

    def step(self) -> bool:
        """Work out one piece; False once all is done."""
        if not self.done:
            self.done = next(self._work, None) is None
            self.changes += 1
        return not self.done

    def holds(self, plan: Plan, dragging: bool = False) -> bool:
        """Whether a drag of that plan's pin would meet what is worked out here.

        What scatters may be left out of a plan while a mark is dragged, so tolerances count only when
        nothing is.
        """
        if plan is self.plan:
            return True
        same = dragging or plan.job.tolerances == self.plan.job.tolerances
        return same and _kept(plan) == _kept(self.plan)

    def _pieces(self) -> Generator[int, None, None]:
        rows, columns = np.mgrid[0:ROWS:COARSE, 0 : 2 * ROWS : COARSE]
        yield from self._all(rows.ravel(), columns.ravel(), COARSE)
        rows, columns = np.mgrid[0:ROWS, 0 : 2 * ROWS]
        fine = (rows % COARSE != 0) | (columns % COARSE != 0)
        yield from self._all(rows[fine], columns[fine], 1)

    def _all(self, rows: Array, columns: Array, size: int) -> Generator[int, None, None]:
        """Work out cells in portions; each stands for ``size`` rows and columns until they are done."""
        for at in range(0, len(rows), PIECE):
            row, column = rows[at : at + PIECE], columns[at : at + PIECE]
            verdicts, values = self._portion(row, column)
            for down in range(size):
                for across in range(size):
                    self.verdict[row + down, column + across] = verdicts
                    for name, grid in self.figures.items():
                        grid[row + down, column + across] = values[name]
            yield len(row)

    def _portion(self, row: Array, column: Array) -> tuple[Array, dict[str, Array]]:
        plan = self.plan
        over, up = to_over_up(plan.radius * places(row, column), plan.radius)
        bearing = _surface.bearing_kept(plan, over, up)
        there = np.isfinite(bearing)
        verdicts = np.full(len(over), NOWHERE)
        values = {name: np.full(len(over), np.nan) for name in self.figures}
        if there.any():
            found = _surface.surface(plan, over[there], up[there], bearing[there])
            verdicts[there] = found.verdict
            for name, grid in values.items():
                grid[there] = getattr(found.outcomes, name)
        return verdicts, values


def places(row: Array, column: Array) -> Array:
    """The middles of cells as unit vectors (n, 3) of the bowler's frame."""
    latitude = math.pi * ((row + 0.5) / ROWS - 0.5)
    longitude = math.pi * ((column + 0.5) / ROWS - 1.0)
    flat = np.cos(latitude)
    return np.stack((flat * np.sin(longitude), np.sin(latitude), flat * np.cos(longitude)), axis=-1)


def cells(points: Array) -> tuple[Array, Array]:
    """Rows and columns, with their fractions, at unit vectors (..., 3): `places` the other way round."""
    x, y, z = np.moveaxis(points, -1, 0)
    row = (np.arcsin(np.clip(y, -1.0, 1.0)) / math.pi + 0.5) * ROWS - 0.5
    column = (np.arctan2(x, z) / math.pi + 1.0) * ROWS - 0.5
    return row, column


def _kept(plan: Plan) -> tuple[Job, object]:
    """All of a job but where its pin is; what its layout keeps while the pin is dragged."""
    layout = _layout.stated(plan.job.layout)
    kept: object = None
    if isinstance(layout, _layout.Placement):
        kept = ("bearing", layout.bearing)
    elif isinstance(layout, _layout.Angles):
        kept = ("angle", layout.angle_at_pin)
    else:
        kept = ("arc", layout.psa_to_pap)
    return plan.job.model_copy(update={"layout": None, "tolerances": None}), kept
