"""What a plan asks: figures outside their usual ranges, and figures that look like another unit.

A question changes no number, no outcome and no exit code. It is silent for a value that the record
has `confirmed`. The ranges and the habits behind them are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc, hole_arc, wrap180
from layoutkit.geometry.vectors import dot
from layoutkit.job.limits import limit_at
from layoutkit.job.record import AnglesLayout, Job, PlacementLayout
from layoutkit.job.usual import (
    ARM,
    BY_HOLDER,
    LEAST_BETWEEN_BEVELS,
    LEAST_INSERT,
    LEAST_SLEEVE_WALL,
    LEAST_SLUG,
    LEAST_WALL,
    MOST_APART,
    MOST_BEVEL,
    MOST_CG_BEARING,
    MOST_SLEEVE_WALL,
    OLD_HOLE,
    SAME,
    Usual,
    same_value,
    value_at,
)
from layoutkit.planning.as_drilled import as_measured
from layoutkit.planning.extras import INSPECTION, VENT
from layoutkit.planning.given import kilograms_meant
from layoutkit.planning.grip import FINGERS, Wall, outer_of
from layoutkit.planning.placing import Placed
from layoutkit.planning.values import Question
from layoutkit.units import fraction

LONG_SPAN = 4.0  # inches; a hand that large bowls a heavier ball
CG_BEARING = "ball.psa.cg_bearing"


def questions(job: Job, placed: Placed, walls: Sequence[Wall]) -> tuple[Question, ...]:
    """The questions about a job in the order of the record, those confirmed left out."""
    asked = (
        *_outside_usual(job),
        *_spans_apart(job),
        *_sleeves(job),
        *_bevels(job, placed),
        *_layout(job, placed),
        *_thin_walls(job, placed, walls),
        *_vents(placed),
        *_old_holes(job),
        *_kilograms(job),
        *_cg_bearing(job),
    )
    return tuple(each for each in asked if not _is_confirmed(job, each.field))


def confirmed(job: Job, fields: Iterable[str]) -> Job:
    """The job with the values that some fields have now confirmed, as drilled where that was measured.

    Raises InputError for a field that the record does not have or that holds no single value.
    """
    answers, done = dict(job.confirmed), as_measured(job)
    for field in fields:
        answers[field] = confirmable(done, field)
    return job.model_copy(update={"confirmed": answers})


def confirmable(job: Job, field: str) -> float | str:
    """The value of a field as its record states it. Raises InputError where it has no such value."""
    value, row = _value(job, field), limit_at(field)
    if row is None or not isinstance(value, int | float | str):
        raise InputError(
            "has no figure that can be confirmed; possible: a field that a question names.",
            field,
        )
    return value if isinstance(value, str) else row.write(float(value))


def _value(job: Job, field: str) -> object:
    value = value_at(job, field)
    return 0.0 if value is None and field == CG_BEARING and job.ball.psa is not None else value


def _is_confirmed(job: Job, field: str) -> bool:
    return field in job.confirmed and same_value(field, job.confirmed[field], _value(job, field))


def _outside_usual(job: Job) -> Iterator[Question]:
    no_thumb = job.bowler.grip.thumb is None
    half_difference = job.scale is not None and job.scale.reading == "half_difference"
    fields = (
        (usual, getattr(holder, name, None))
        for path, rows in BY_HOLDER.items()
        if (holder := value_at(job, path)) is not None
        for name, usual in rows
    )
    for usual, value in fields:
        if value is None or isinstance(value, str) or usual.holds(value):
            continue
        if usual.no_thumb not in (None, no_thumb) or (usual is ARM and half_difference):
            continue
        yield _unusual(usual.path, _capital(usual.what), value, usual)


def _unusual(field: str, what: str, value: float, usual: Usual) -> Question:
    """Whether a value outside its usual range is meant."""
    shown = _inches(value) if usual.unit == "in" else f"{value:.3g}"
    return Question(field, f"{what} is {shown} {usual.unit}, usual is {usual.range}: is it meant?")


def _spans_apart(job: Job) -> Iterator[Question]:
    grip = job.bowler.grip
    apart = abs(grip.middle.span - grip.ring.span)
    if apart > MOST_APART + SAME:
        yield Question(
            "bowler.grip.ring.span",
            f"The spans are {_inches(apart)} in apart, usual is up to {_inches(MOST_APART)} in: is it "
            "meant?",
        )


def _sleeves(job: Job) -> Iterator[Question]:
    for name in job.bowler.grip.digits:
        part = getattr(job.bowler.grip, name)
        sleeve = part.sleeve
        if sleeve is None:
            continue
        at = f"bowler.grip.{name}.sleeve"
        wall = (sleeve.bore - part.widest) / 2.0
        outer = outer_of(sleeve)
        around = math.inf if outer is None else (outer.bore - sleeve.bore) / 2.0
        if around < LEAST_SLEEVE_WALL - SAME:
            yield Question(
                f"{at}.outer.bore",
                f"The wall of the {name}'s outer sleeve is {_inches(around)} in, usual is "
                f"{_inches(LEAST_SLEEVE_WALL)} in or more: is it meant?",
            )
        if wall < LEAST_SLEEVE_WALL - SAME:
            yield Question(
                f"{at}.bore",
                f"The wall of the {name} sleeve is {_inches(wall)} in, usual is "
                f"{_inches(LEAST_SLEEVE_WALL)} in or more: is it meant?",
            )
        if wall > MOST_SLEEVE_WALL + SAME:
            yield Question(
                f"{at}.bore",
                f"The wall of the {name} sleeve is {_inches(wall)} in, usual is up to "
                f"{_inches(MOST_SLEEVE_WALL)} in: is it meant?",
            )
        if name != "thumb" and sleeve.length_net < LEAST_INSERT - SAME:
            yield Question(
                f"{at}.bore_depth" if sleeve.length is None else f"{at}.length",
                f"The {name} insert is {_inches(sleeve.length_net)} in long, usual is "
                f"{_inches(LEAST_INSERT)} in or more: is it meant?",
            )
        if name == "thumb" and sleeve.length_net < LEAST_SLUG * part.depth - SAME:
            field = f"{at}.bore_depth" if sleeve.length is None else f"{at}.length"
            yield Question(
                field,
                f"The thumb slug is {_inches(sleeve.length_net)} in long, less than half of its hole of "
                f"{_inches(part.depth)} in: is it meant?",
            )


def _bevels(job: Job, placed: Placed) -> Iterator[Question]:
    """The rounded edges of the two finger holes share what lies between their finished edges."""
    grip = job.bowler.grip
    bevels = {name: getattr(grip, name).bevel or 0.0 for name in FINGERS}
    both, most = sum(bevels.values()), max(bevels.values())
    if both == 0.0 or most > MOST_BEVEL + SAME:  # that one is asked about by itself
        return
    entries = {hole.name: hole.finished.entry for hole in placed.holes}
    apart = arc(entries["middle"], entries["ring"], placed.radius) - sum(
        hole_arc(each.diameter, placed.radius) for each in (grip.middle, grip.ring)
    )
    left = apart - both
    if left < LEAST_BETWEEN_BEVELS - SAME:
        name = next(name for name, bevel in bevels.items() if bevel == most)
        yield Question(
            f"bowler.grip.{name}.bevel",
            f"The bevels of the middle and ring holes take {_inches(both)} of the {apart:.3f} in between "
            f"their finished edges and leave {max(left, 0.0):.3f} in, usual is "
            f"{_inches(LEAST_BETWEEN_BEVELS)} in or more: are they meant?",
        )


def _layout(job: Job, placed: Placed) -> Iterator[Question]:
    """A pin past the VAL or far from the axis point, and an angle at the pin of the wrong sign."""
    layout, marks = job.layout, placed.marks
    # the usual sign is that of a ball whose PSA mark tells the sides apart
    if isinstance(layout, AnglesLayout) and job.ball.psa is not None and layout.angle_at_pin < 0.0:
        yield Question(
            "layout.angle_at_pin",
            f"The angle at the pin is {layout.angle_at_pin:.3g} degrees, usual is 0 or more on a ball "
            "with a PSA mark: is it meant?",
        )
    if marks.pap is None:
        return
    over = job.bowler.pap.over if job.bowler.pap is not None else math.inf
    if isinstance(layout, PlacementLayout) and over + 1.0 / 16.0 < layout.pin.over:
        yield Question(
            "layout.pin.over",
            f"The pin lies {_inches(layout.pin.over)} in over, past the VAL at {_inches(over)} in: is it "
            "meant?",
        )
        return
    apart, quarter = arc(marks.pin, marks.pap, placed.radius), math.pi * placed.radius / 2.0
    if apart > quarter + 1.0 / 16.0:
        place = isinstance(layout, PlacementLayout)
        yield Question(
            "layout.pin.over" if place else "layout.pin_to_pap",
            f"The pin lies {apart:.3f} in from the PAP, usual is up to a quarter of the ball "
            f"({quarter:.3f} in): is it meant?",
        )


def _thin_walls(job: Job, placed: Placed, walls: Sequence[Wall]) -> Iterator[Question]:
    fields = _fields(placed)
    for wall in walls:
        if wall.holes == FINGERS or wall.thickness >= LEAST_WALL - SAME:
            continue
        one, other = wall.holes
        # the hole that is easiest to put elsewhere stands second
        yield Question(
            fields[other],
            f"The wall between the {one} and {other} holes is {wall.thickness:.2f} in, usual is "
            f"{_inches(LEAST_WALL)} in or more: is it meant?",
        )


def _fields(placed: Placed) -> dict[str, str]:
    """For each hole by name a field of the record that says where it is or how deep."""
    fields = {hole.name: f"bowler.grip.{hole.name}.depth" for hole in placed.holes}
    vents = 0
    for extra in placed.extras:
        if extra.kind == INSPECTION:
            fields[extra.name] = "extra_holes.inspection.over"
        else:
            fields[extra.name] = f"extra_holes.vents.{vents}.over"
            vents += 1
    for n, old in enumerate(placed.old):
        fields.setdefault(old.name, f"history.holes.{n}.depth")
    return fields


def _vents(placed: Placed) -> Iterator[Question]:
    entries = {hole.name: hole.finished.entry for hole in placed.holes}
    fields = _fields(placed)
    for extra in placed.extras:
        if extra.kind != VENT:
            continue
        # z points out through the grip centre
        entry, hole = extra.bore.entry, entries[extra.into]
        if entry[2] < 0.0 or dot(entry, hole) < 0.0:
            yield Question(
                fields[extra.name],
                f"The {extra.name} enters from the far half of the ball and is "
                f"{extra.bore.depth:.2f} in long: is it meant?",
            )


def _old_holes(job: Job) -> Iterator[Question]:
    for n, hole in enumerate(() if job.history is None else job.history.holes):
        name = hole.name or f"old hole {n + 1}"
        for usual in OLD_HOLE:
            value = value_at(hole, usual.path)
            if value is not None and not usual.holds(value):
                what = f"The {usual.what} of {name}"
                yield _unusual(f"history.holes.{n}.{usual.path}", what, value, usual)


def _kilograms(job: Job) -> Iterator[Question]:
    ball, grip = job.ball, job.bowler.grip
    meant = kilograms_meant(ball.weight)
    if not meant:
        return
    long_span = max(grip.middle.span, grip.ring.span)
    if ball.rg_low is not None:
        beside = "with RG data"
    elif long_span > LONG_SPAN:
        beside = f"beside a span of {_inches(long_span)} in"
    else:
        return
    yield Question(
        "ball.weight",
        f"A ball of {ball.weight:.2f} lb {beside} is unusual: {meant}",
    )


def _cg_bearing(job: Job) -> Iterator[Question]:
    psa = job.ball.psa
    if psa is None or not job.ball.pin_to_cg:
        return
    off = abs(wrap180(psa.cg_bearing))
    if off > MOST_CG_BEARING + SAME:
        yield Question(
            CG_BEARING,
            f"The CG mark's bearing is {psa.cg_bearing:.3g} degrees, so the pin lies between it and the "
            f"PSA mark, usual is up to {MOST_CG_BEARING:g} degrees to either side: is it meant?",
        )
    if "cg_bearing" in psa.model_fields_set:
        return
    yield Question(
        CG_BEARING,
        "The CG mark's bearing is left out on a ball with a PSA mark, so the CG mark is taken to lie on "
        "the line from the pin to the PSA mark: does it?",
    )


def _inches(value: float) -> str:
    """An exact sixty-fourth as a fraction, another length in decimals."""
    exact = abs(value * 64.0 - round(value * 64.0)) < 1e-6
    return fraction(value) if exact else f"{value:.3f}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
