"""Where a job's marks and holes lie, in the bowler's frame of `layoutkit.geometry.sphere`.

Marks are placed for one layout, each a tuple of three floats, or for many at once, each an array
(n, 3). Lengths are inches, angles degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import chain
from types import MappingProxyType
from typing import Any, NamedTuple

from layoutkit.geometry import vectors as _v
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import Number, direction, from_over_up, walked
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import History, Job, OldHole
from layoutkit.planning import layout as _layout
from layoutkit.planning.extras import ExtraHole, place_extras
from layoutkit.planning.given import pin_to_cg, psa_arc
from layoutkit.planning.grip import Hole, place_holes, runs_out
from layoutkit.planning.history import Old, left_open, place_old, told_by_marks

NOT_SHIFTED: Mapping[str, Array] = MappingProxyType({})


class MarkPoints(NamedTuple):
    """The marks as points on the ball; ``cg``, ``psa`` and ``pap`` are None where not known.

    ``bearing`` is that of the reference mark at the pin; without one it only names a direction. A
    point is a `Vector`, or an array (n, 3).
    """

    pin: Any
    cg: Any
    psa: Any
    pap: Any
    bearing: Number

    @property
    def factory(self) -> dict[str, Any]:
        """The marks that the ball comes with, by name."""
        marks = {"pin": self.pin, "cg": self.cg, "psa": self.psa}
        return {name: point for name, point in marks.items() if point is not None}


def place_marks(
    job: Job,
    layout: _layout.Stated | None = None,
    shift: Mapping[str, Array] = NOT_SHIFTED,
) -> MarkPoints:
    """The marks of a job; arrays as soon as the layout or a shift has arrays.

    ``layout`` replaces the record's. ``shift`` maps names of `certainty.inputs` to what is added to
    a measurement, each (n,). Raises InputError where the layout cannot be on this ball.
    """
    ball, radius = job.ball, job.ball.radius
    reference = psa_arc(job)
    stated = layout or _layout.stated(job.layout)
    pap = _layout.axis_point(job.bowler)
    placed = _layout.to_placement(stated, reference, pap, radius)
    pin = _put_off(from_over_up(placed.pin_over, placed.pin_up, radius), "pin", shift)
    bearing = placed.bearing + shift.get("bearing", 0.0)
    turn = 0.0
    if ball.psa is not None:
        # the CG mark's bearing belongs to the ball: clockwise whatever the hand
        turn = ball.psa.cg_bearing if job.bowler.hand == "right" else -ball.psa.cg_bearing
    cg = axis = None
    to_cg = pin_to_cg(job)
    if to_cg is not None:
        cg = _put_off(walked(pin, bearing + turn, to_cg), "cg", shift)
    if pap is not None:
        over, up = pap.over + shift.get("pap.over", 0.0), pap.up + shift.get("pap.up", 0.0)
        axis = from_over_up(over, up, radius)
    psa = None if reference is None else walked(pin, bearing, reference)
    return MarkPoints(pin, cg, psa, axis, bearing)


def _put_off(point: Any, name: str, shift: Mapping[str, Array]) -> Any:
    """A point that was put down a little off, toward the fingers and then across."""
    for part, bearing in (("along", 0.0), ("across", 90.0)):
        if f"{name}.{part}" in shift:
            point = walked(point, bearing, shift[f"{name}.{part}"])
    return point


def core_axes(marks: MarkPoints, shift: Mapping[str, Array] = NOT_SHIFTED) -> Any:
    """The core's unit axes, each three components: low axis, reference, and third.

    The low axis is the pin, or beside it where ``shift`` says so. Square to the pin the reference
    mark's direction is the tangent at the pin with its bearing; it is made square to the low axis.
    """
    low_mark = _put_off(marks.pin, "low_axis", shift)
    low = _v.unit(_components(low_mark))
    reference = _components(direction(marks.pin, marks.bearing))
    if low_mark is not marks.pin:
        reference = _v.unit(_v.square_to(reference, low))
    return low, reference, _v.cross(low, reference)


def _components(point: Any) -> Any:
    """The three components of one point, or of many (n, 3) as arrays (n,)."""
    return point if isinstance(point, tuple) else point.T


class Placed(NamedTuple):
    """One job's marks and holes in space."""

    radius: float
    hand: str
    marks: MarkPoints
    holes: tuple[Hole, ...]
    extras: tuple[ExtraHole, ...]
    old: tuple[Old, ...]

    @property
    def cavities(self) -> list[tuple[str, tuple[Bore, ...]]]:
        """The bores that bound each gripping hole, by its name."""
        return [(hole.name, hole.cavities) for hole in self.holes]

    @property
    def new_cavities(self) -> list[tuple[str, tuple[Bore, ...]]]:
        """The same of all new holes: gripping, vent and inspection."""
        return [*self.cavities, *((extra.name, (extra.bore,)) for extra in self.extras)]

    @property
    def open_old(self) -> tuple[Old, ...]:
        """The old holes that stay open beside the gripping holes."""
        return left_open(self.old, list(chain.from_iterable(bores for _, bores in self.cavities)))

    @property
    def through(self) -> list[str]:
        """The names of the new holes that come out of the far side of the ball."""
        return [
            name
            for name, bores in self.new_cavities
            if any(runs_out(bore, self.radius) for bore in bores)
        ]


def place(job: Job) -> Placed:
    """A job's marks and holes. Raises InputError where the layout or the grip cannot be."""
    radius, hand = job.ball.radius, job.bowler.hand
    marks = place_marks(job)
    holes = place_holes(job.bowler.grip, radius, hand)
    extras = place_extras(job.extra_holes, holes, radius)
    return Placed(radius, hand, marks, holes, extras, old_of(job, marks))


def old_of(job: Job, marks: MarkPoints) -> tuple[Old, ...]:
    """The holes that a job's ball had before, told from the marks of its own layout."""
    if job.history is None:
        return ()
    radius = job.ball.radius
    points = {**marks.factory, "grip_center": (0.0, 0.0, radius)}
    return place_old(job.history.holes, points, float(marks.bearing), job.bowler.hand, radius)


def told_by_the_ball(hole: OldHole, old: Old, placed: Placed) -> OldHole:
    """An old hole told from the pin, where its record leans on this layout or on other old holes."""
    by_layout = hole.arcs is not None and hole.arcs.grip_center is not None
    if not by_layout and hole.pitch is None:
        return hole
    marks, frame = placed.marks, (placed.hand, placed.radius)
    return told_by_marks(hole.name, old.bore, marks.pin, float(marks.bearing), *frame, hole.plug)


def for_other_layouts(job: Job) -> Job:
    """The job with its old holes told so that they stay where they are when the layout changes."""
    before = () if job.history is None else job.history.holes
    if all(hole.arcs is None or hole.arcs.grip_center is None for hole in before):
        return job
    placed = place(job)
    told = [told_by_the_ball(h, old, placed) for h, old in zip(before, placed.old, strict=True)]
    return job.model_copy(update={"history": History(holes=tuple(told))})
