"""What a fitter looks at where a grip does not fit, in the order in which it is cheap to try.

All of it is common practice, no source: help for a trial of one change at a time, no diagnosis.
"""

from __future__ import annotations

from typing import NamedTuple

from layoutkit.errors import InputError
from layoutkit.units import shown

# starting thumb pitches by span, inches; common practice, no source
STARTING_THUMB_PITCHES = ((4.0, "1/8 forward"), (4.25, "0"))


class Complaint(NamedTuple):
    """Something that a bowler complains of: its name, the words for it, and what to look at in order.

    The first steps cost nothing and can be taken back; the last ones take the drill.
    """

    name: str
    words: str
    steps: tuple[str, ...]


COMPLAINTS: tuple[Complaint, ...] = (
    Complaint(
        "thumb-hangs",
        "The thumb hangs in its hole",
        (
            "Clean and dry the hole and the thumb; old tape and glue hold like rubber.",
            "Measure the thumb again after some frames: thumbs swell while they bowl.",
            "Take out one piece of tape, or set a larger inner where the sleeve is exchangeable.",
            "Look where the skin is red, and bevel the hole's edge there a little more.",
            "Lay the rule on both spans: a stretched hand pulls the thumb against the back of its hole.",
            "See whether the thumb is wider one way: an oval that follows it frees it without slack.",
            "Open the hole by the least step that you can cut, evenly.",
            "Last, for it takes a new hole: a little less forward pitch, or more reverse.",
        ),
    ),
    Complaint(
        "thumb-slips",
        "The thumb slips out early",
        (
            "Dry the hand and the hole.",
            "Put one piece of tape at the back of the hole; then one at the front in its place.",
            "Measure the thumb cold: it may have shrunk; set a smaller inner where there is one.",
            "See whether the edge is bevelled so far that the thumb has little wall left to hold.",
            "Lay the rule on both spans: one that is too short or too long lets the thumb turn out.",
            "Last, for it takes a new hole: a little more forward pitch, or less reverse.",
        ),
    ),
    Complaint(
        "knuckle",
        "A knuckle rubs or is squeezed",
        (
            "Mark the sore place with chalk, grip the ball, and see where the hole takes the chalk off.",
            "Bevel or smooth the edge at that place.",
            "See whether the hole is tight at the knuckle and loose at its base: an oval, or a larger "
            "hole with tape where it is loose.",
            "Lay the rule on the span: the finger's crease should lie at the hole's edge without a pull.",
            "Last, for it takes a new hole: lateral pitch that follows the finger.",
        ),
    ),
    Complaint(
        "ring-blister",
        "A blister at the ring finger's base",
        (
            "Rest until the skin is whole; then see which edge lies on it.",
            "Look at the insert: a worn or sharp edge is changed in minutes.",
            "Bevel the edge of the hole, or of its bore, on the palm's side.",
            "Try an insert of another size: a tight one drags, a loose one lets the finger rub.",
            "Compare the spans: where the ring's is the longer one, its finger carries the pull.",
            "Last, for it takes a new hole: the ring's span a little shorter, or its pitch changed.",
        ),
    ),
    Complaint(
        "squeezing",
        "The hand squeezes the ball to hold it",
        (
            "Dry the hand; try a piece of tape with more grip.",
            "Put tape in the thumb hole piece by piece until it is held without a squeeze.",
            "Try inserts one size smaller, or with more lift.",
            "See that the ball is not too heavy for a relaxed swing.",
            "Lay the rule on both spans: a short span makes the hand pinch.",
            "Last, for it takes a new hole: a little more forward pitch in the thumb.",
        ),
    ),
    Complaint(
        "sore-wrist",
        "The wrist is sore",
        (
            "Stop bowling with it, and let a doctor look at it before anything else is tried.",
            "Try a lighter ball that fits.",
            "See whether the hand squeezes: `layoutkit grip --fit squeezing`.",
            "Lay the rule on both spans: a stretched or pinched hand loads the wrist.",
            "Try a plain release without turning, and ask a coach.",
        ),
    ),
)


def complaint(name: str) -> Complaint:
    """The complaint of a name; InputError where there is none."""
    for each in COMPLAINTS:
        if each.name == name.strip().lower():
            return each
    names = ", ".join(each.name for each in COMPLAINTS)
    raise InputError(f"{shown(name)} is no complaint of the list; possible: {names}.")


def note(of: Complaint, date: str) -> str:
    """A dated line for the notes of a job's record, its blanks to be filled in after the trial."""
    return f"{date} fit, {of.name}: changed ____ from ____ to ____; after ____ games: ____"
