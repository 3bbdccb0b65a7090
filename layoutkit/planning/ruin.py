"""What would ruin the ball, whatever it weighs: a ball cannot be undrilled.

Everything is in the bowler's frame of `layoutkit.geometry.sphere`, lengths in inches. What ruins a
ball is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import arc, bearing, hole_arc, walked
from layoutkit.job.record import Job
from layoutkit.planning.grip import outer_of, runs_out
from layoutkit.planning.history import SAME_PLACE
from layoutkit.planning.layout import Stated
from layoutkit.planning.placing import Placed, place, place_marks

TOUCHING = 1e-6  # inches by which two mouths overlap before they count as one hole


def reasons(job: Job, placed: Placed) -> tuple[str, ...]:
    """Why the plan would ruin the ball, a sentence each; none where it would not."""
    return (
        *_through(placed),
        *_no_wall(job),
        *_palm_mark(job, placed),
        *_overlapping(placed),
        *_nothing_drilled(placed),
    )


def under_layouts(job: Job, layout: Stated) -> NDArray[np.bool_]:
    """Whether each of many layouts, (n,), would ruin the ball.

    The new holes and the palm mark lie the same under every layout; only open old holes turn with
    the ball. Raises InputError where a layout cannot be on this ball.
    """
    placed = place(job)
    marks = place_marks(job, layout)
    ruined = np.zeros(len(marks.pin), dtype=bool)
    fixed = placed._replace(old=tuple(o for o in placed.old if o.plugged > 0.0))
    if reasons(job, fixed) or any(runs_out(o.bore, placed.radius) for o in placed.old):
        return ~ruined
    new = [mouths for _, mouths in open_mouths(fixed)]
    pin, reference = placed.marks.pin, placed.marks.bearing
    for old in placed.old:
        if old.plugged > 0.0:
            continue
        entry = old.bore.entry
        turn = bearing(pin, entry) - reference
        entries = walked(marks.pin, marks.bearing + turn, arc(pin, entry, placed.radius))
        if job.bowler.grip.thumb is None:
            center = (0.0, 0.0, placed.radius)
            ruined |= arc(entries, center, placed.radius) <= _reach(old.bore, placed.radius)
        for mouths in new:
            crossing, inside = np.zeros((2, len(ruined)), dtype=bool)
            for mouth in mouths:
                apart = arc(entries, mouth.entry, placed.radius)
                crosses, within = _crossing(apart, mouth, old.bore, placed.radius)
                crossing |= crosses
                inside |= within
            ruined |= crossing & ~inside
    return ruined


def _through(placed: Placed) -> Iterator[str]:
    for name in placed.through:
        yield f"The {name} hole comes out of the far side of the ball: do not drill it."
    for old in placed.old:
        if runs_out(old.bore, placed.radius):
            yield (
                f"The old hole {old.name} comes out of the far side of the ball, so a ball like that "
                "cannot be: correct its depth."
            )


def _no_wall(job: Job) -> Iterator[str]:
    grip = job.bowler.grip
    for name in grip.digits:
        part = getattr(grip, name)
        if part.sleeve is None:
            continue
        outer = outer_of(part.sleeve)
        if outer is not None and outer.bore - part.sleeve.bore <= TOUCHING:
            yield (
                f"The {name}'s inner sleeve is as wide as the bore of the outer one, so nothing is left "
                "of the outer sleeve's wall: bore wider for it."
            )
        if part.sleeve.bore - part.widest <= TOUCHING:
            yield (
                f"The {name} hole is as wide as the bore of its sleeve, so nothing is left of the "
                "sleeve's wall: bore wider or finish narrower."
            )


def _palm_mark(job: Job, placed: Placed) -> Iterator[str]:
    if job.bowler.grip.thumb is not None:
        return
    mark = (0.0, 0.0, placed.radius)
    for name, mouths in open_mouths(placed):
        if any(arc(m.entry, mark, placed.radius) <= _reach(m, placed.radius) for m in mouths):
            yield (
                f"The {name} hole cuts the palm mark away, which a grip without a thumb hole needs "
                "engraved."
            )


def _overlapping(placed: Placed) -> Iterator[str]:
    for (one, first), (other, second) in combinations(open_mouths(placed), 2):
        if overlap(first, second, placed.radius):
            yield f"The {one} and {other} holes overlap at the surface: they leave one torn hole."


def _nothing_drilled(placed: Placed) -> Iterator[str]:
    if all(bore.depth <= 0.0 for _, bores in placed.cavities for bore in bores):
        yield "Every gripping hole has depth 0, so nothing is drilled at all."
    elif all(hole.finished.depth <= 0.0 for hole in placed.holes):
        yield "Every gripping hole has a finished depth of 0, so no digit finds a hole."


def open_mouths(placed: Placed) -> list[tuple[str, tuple[Bore, ...]]]:
    """The mouths of every hole that is open in the finished ball, by name.

    A plugged old hole has none, nor has one that a new hole takes over.
    """
    new = [(hole.name, hole.mouths) for hole in placed.holes]
    new += [(extra.name, (extra.bore,)) for extra in placed.extras]
    old = [(o.name, (o.bore,)) for o in placed.open_old]
    mouths = [each for each in (*new, *old) if all(bore.depth > 0.0 for bore in each[1])]
    return mouths


def overlap(first: Sequence[Bore], second: Sequence[Bore], radius: float) -> bool:
    """Whether two holes' mouths overlap at the surface, neither inside the other."""
    crossing = False
    for a, b in product(first, second):
        crosses, inside = _crossing(arc(a.entry, b.entry, radius), a, b, radius)
        if inside:
            return False
        crossing = crossing or bool(crosses)
    return crossing


def _crossing(apart: Any, a: Bore, b: Bore, radius: float) -> tuple[Any, Any]:
    """Whether mouths whose centres are an arc ``apart`` overlap, and whether one holds the other."""
    one, other = _reach(a, radius), _reach(b, radius)
    return apart < one + other - TOUCHING, apart <= abs(one - other) + SAME_PLACE


def _reach(mouth: Bore, radius: float) -> float:
    """A mouth's radius along the surface."""
    return float(hole_arc(2.0 * mouth.radius, radius))
