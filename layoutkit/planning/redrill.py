"""A drilled ball made ready for another layout: what its job drills, told as old holes and plugged.

Lengths in inches, angles in degrees. The ball and the bowler stay as they are; old holes belong to
the ball, so they stay where they are on it whatever layout follows.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from layoutkit.errors import InputError
from layoutkit.job.problems import problems_of
from layoutkit.job.record import (
    MOST_OLD_HOLES,
    AsDrilled,
    Digit,
    DrilledFinger,
    History,
    Job,
    OldHole,
    Plug,
    Work,
)
from layoutkit.planning.as_drilled import as_measured
from layoutkit.planning.extras import unused
from layoutkit.planning.history import left_open, told_by_marks
from layoutkit.planning.placing import place, told_by_the_ball
from layoutkit.planning.unknown import require

PLUG_DENSITY = 1.15  # g/cm3 of cured plug resin; common practice, no source

TOLD = (
    "The holes of the job before are plugged; history has them as that job planned them, so measure "
    "their arcs from the pin on the ball. The layout is still the old one: give it the new one. The "
    "plugs' {density:g} g/cm3 are to be checked in the resin maker's data sheet."
)


TOLD_ONLY = (
    "Drilled again: {names}; the other holes stay as they are. Each old hole is in history as it was, "
    "so measure its arcs from the pin on the ball; the grip has its old size until it gets the new "
    "one. The plugs' {density:g} g/cm3 are to be checked in the resin maker's data sheet."
)


def redrilled(job: Job, density: float = PLUG_DENSITY, only: Sequence[Digit] = ()) -> Job:
    """The same bowler and ball with everything that the job drills plugged, to be laid out anew.

    With ``only`` no other gripping holes than these are plugged, with the vents that open into them;
    they are the work of the day, and all else stays.

    Each bore becomes an old hole with a plug of ``density`` g/cm3 that fills it whole: the bore of a
    sleeve, which is taken out, the finished hole where it goes deeper, each bore of an oval, vents
    and the inspection hole. An old hole that was open and that the job drilled out is filled too.
    Weighings are dropped, the layout stays. Raises InputError where the job cannot be laid out, where
    a record cannot hold its holes as old ones, or where the ball has no mark beside the pin to tell
    them from.
    """
    if job.ball.psa is None:
        require(job, "a ball with no PSA mark that is drilled again", "ball.pin_to_cg")
    grip = job.bowler.grip
    for digit in only:
        if getattr(grip, digit) is None:
            there = ", ".join(grip.digits)
            raise InputError(f"{digit} is no hole of this grip; possible: {there}.", "work.only")
    placed = place(as_measured(job))
    gone = {e.name for e in placed.extras if not only or e.into in only}
    gone |= set(only) or {hole.name for hole in placed.holes}
    cuts = [(name, bore) for name, bores in placed.new_cavities if name in gone for bore in bores]
    plug = _plug(density)
    before = () if job.history is None else job.history.holes
    number = len(before) + len(cuts)
    if number > MOST_OLD_HOLES:
        raise InputError(
            f"the ball would have {number} old holes; possible: up to {MOST_OLD_HOLES}.",
            "history.holes",
        )
    old = placed.old
    still_open = left_open(old, [bore for _, bore in cuts])
    filled = [
        hole.model_copy(update={"plug": plug}) if o.plugged == 0.0 and o not in still_open else hole
        for hole, o in zip(before, old, strict=True)
    ]
    told = [told_by_the_ball(hole, o, placed) for hole, o in zip(filled, old, strict=True)]
    pin, reference = placed.marks.pin, float(placed.marks.bearing)
    for name, bore in cuts:
        own = unused(f"old {name}", [hole.name for hole in told])
        try:
            told.append(told_by_marks(own, bore, pin, reference, placed.hand, placed.radius, plug))
        except ValidationError as error:
            raise _refused(error, OldHole, f"the {name} hole as an old one: ") from None
    kept = {name: getattr(job, name) for name in job.model_fields_set - _LEFT_OUT}
    return Job(**kept | _changed(job, told, density, only))


_LEFT_OUT = frozenset({"extra_holes", "weighings", "as_drilled"})


def _changed(
    job: Job, told: Sequence[OldHole], density: float, only: Sequence[Digit]
) -> dict[str, Any]:
    """What differs in the record of the plugged ball."""
    names = " and ".join(only)
    words = (TOLD_ONLY if only else TOLD).format(names=names, density=density)
    what = f"To be drilled again, {names} only" if only else "Plugged, to be drilled again"
    driller = None if job.work is None else job.work.driller
    changed: dict[str, Any] = {
        "title": f"{what}: {job.title or job.ball.name}"[:200],
        "notes": "\n".join(filter(None, (words, job.notes)))[:2000],
        "work": Work(driller=driller, ball_is="plugged"),
        "history": History(holes=tuple(told)),
    }
    if only:
        changed["work"] = Work(driller=driller, ball_is="plugged", only=tuple(only))
        changed |= _as_they_are(job, only)
    return changed


def _as_they_are(job: Job, only: Sequence[Digit]) -> dict[str, Any]:
    """The vents and measures of the holes that stay.

    A span was measured to the thumb hole that is plugged; the new one is to have the grip's own spans.
    """
    stay: dict[str, Any] = {}
    extra, measured = job.extra_holes, job.as_drilled
    if extra is not None:
        vents = tuple(vent for vent in extra.vents if vent.hole not in only)
        stay["extra_holes"] = extra.model_copy(update={"vents": vents})
    if measured is not None:
        gone = {*only, "bridge"} if {"middle", "ring"} & set(only) else set(only)
        parts = {n: v for n, v in measured if v is not None and n not in gone}
        if "thumb" in only:
            parts = {n: v if n == "bridge" else _without_span(v) for n, v in parts.items()}
        parts = {n: v for n, v in parts.items() if v is not None}
        if parts:
            stay["as_drilled"] = AsDrilled(**parts)
    return stay


def _without_span(found: DrilledFinger) -> DrilledFinger | None:
    """What else was measured of a finger hole; None where that is nothing."""
    rest = {name: value for name, value in found if name != "span" and value is not None}
    return DrilledFinger(**rest) if rest else None


def _plug(density: float) -> Plug:
    try:
        return Plug(density=density)
    except ValidationError as error:
        raise _refused(error, Plug, "plug ") from None


def _refused(error: ValidationError, model: type[BaseModel], opening: str) -> InputError:
    """The first problem of a hole or a plug that was to be written into the history."""
    first = problems_of(error, model, "it")[0]
    return InputError(f"{opening}{first.error()}")
