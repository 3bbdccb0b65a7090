"""Holes beside those of the grip: vents that open into a gripping hole, and the inspection hole.

Everything is in the bowler's frame of `layoutkit.geometry.sphere`, lengths in inches.
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import chain
from typing import NamedTuple

from layoutkit.ball.density import Step
from layoutkit.errors import InputError
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import from_over_up
from layoutkit.geometry.vectors import along, length, minus, scaled
from layoutkit.job.record import ExtraHoles
from layoutkit.planning.grip import Hole

VENT, INSPECTION = "vent", "inspection"


class ExtraHole(NamedTuple):
    """One such hole: what it is, the gripping hole that it opens into ("" for none), its bore."""

    kind: str
    name: str
    into: str
    bore: Bore


def place_extras(
    extra: ExtraHoles | None, holes: tuple[Hole, ...], radius: float
) -> tuple[ExtraHole, ...]:
    """The vents in the record's order, then the inspection hole.

    A vent aims at the axis of its gripping hole, where it ends. Raises InputError where it starts
    on that axis.
    """
    if extra is None:
        return ()
    placed = []
    names: list[str] = []
    for n, vent in enumerate(extra.vents):
        hole = next(h for h in holes if h.name == vent.hole)
        entry = from_over_up(vent.over, vent.up_net, radius)
        target = along(hole.finished.entry, hole.finished.axis, vent.meets)
        way = minus(target, entry)
        near = minus(entry, hole.finished.entry)
        if length(near) <= hole.finished.radius:
            raise InputError(
                f"starts inside the {vent.hole} hole; possible: a place on the ball beside it.",
                f"extra_holes.vents.{n}.over",
            )
        depth = length(way)
        bore = Bore(entry, scaled(way, 1.0 / depth), vent.diameter / 2.0, depth)
        names.append(unused(f"{vent.hole} vent", names))
        placed.append(ExtraHole(VENT, names[-1], vent.hole, bore))
    inspection = extra.inspection
    if inspection is not None:
        entry = from_over_up(inspection.over, inspection.up_net, radius)
        inward = scaled(entry, -1.0 / radius)
        bore = Bore(entry, inward, inspection.diameter / 2.0, inspection.depth)
        placed.append(ExtraHole(INSPECTION, "inspection", "", bore))
    return tuple(placed)


def unused(name: str, names: Collection[str]) -> str:
    """The name, or with the first ordinal from 2nd on before it that makes it one of its own.

    For at most twenty of a kind. A plain number behind the name would run into the size that
    follows it in a table.
    """
    if name not in names:
        return name
    ordinals = chain(("2nd", "3rd"), (f"{n}th" for n in range(4, 21)))
    return next(f"{nth} {name}" for nth in ordinals if f"{nth} {name}" not in names)


def extra_steps(extras: tuple[ExtraHole, ...], first: int) -> list[Step]:
    """Their cuts, which come last; ``first`` is the number of the first one."""
    return [Step(extra.bore, 0.0, first + i) for i, extra in enumerate(extras)]
