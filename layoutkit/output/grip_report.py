"""A copied grip, and help with one that does not fit, in words and as values for another program."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from layoutkit.bench.fit import COMPLAINTS, STARTING_THUMB_PITCHES, Complaint, note
from layoutkit.bench.grip_copy import PITCH_READING, READING, Figure, GripCopy, record_grip
from layoutkit.output.report import table, wrap
from layoutkit.units import MM_PER_INCH, Units, format_length, fraction

if TYPE_CHECKING:
    from layoutkit.book.book import PitchRange

SOURCE = "common practice, no source"
DOCTOR = (
    "Pain, numbness or swelling is for a doctor, not for the drill: stop bowling until it has been "
    "looked at."
)


def grip_text(copy: GripCopy, units: Units = "fraction") -> str:
    """The record's grip beside what was measured, how sure it is, and what to measure again."""
    measured = copy.measured
    form: Units = "metric" if units == "metric" else "decimal"
    whose = f"{measured.name}, " if measured.name else ""
    lines = wrap(
        f"Grip copied from a ball of {format_length(measured.diameter, form)}: {whose}"
        f"{measured.hand} hand{'' if measured.thumb else ', no thumb hole'}",
        indent="",
    )
    if copy.again:
        lines += ["", "MEASURE AGAIN before a hole is drilled from this"]
        for remark in copy.again:
            lines += wrap(f"{remark.field}: {remark.words}", "- ")
    lines += ["", "For the record"]
    rows = [("", "as read", "in the record", "+/-")]
    rows += [_row(figure, units) for figure in copy.figures]
    lines += table(rows)
    lines += wrap(
        f"+/- is one standard deviation, for {fraction(READING)} in of each arc, diameter and depth as "
        f"read and {fraction(PITCH_READING)} in of each pitch; twice as much covers some nineteen cases "
        "in twenty."
    )
    lines += ["", *_what_was_made(copy, units)]
    for remark in copy.assumed:
        lines += wrap(f"Not measured: {remark.words}", indent="")
    return "\n".join(lines) + "\n"


def _what_was_made(copy: GripCopy, units: Units) -> list[str]:
    """What was made of the readings, and why it holds on another ball."""
    measured = copy.measured
    bridge = copy.figure("bridge")
    lines = wrap(
        f"Bridge: {_length(bridge.measured, units)} was read between the "
        f"{measured.bridge_between}; the record's, square to the centreline between the bored edges, is "
        f"{_length(bridge.value, units)}.",
        indent="",
    )
    spans = ", ".join(f"{name} {_length(value, units)}" for name, value in copy.straight.items())
    lines += wrap(
        f"Straight across, with a caliper or a stiff rule, the spans are: {spans}. Check one of them; if "
        'your readings above are these, set rule to "stiff".'
        if measured.rule == "flexible"
        else f"Spans were read straight across ({spans}); the record's run along the ball.",
        indent="",
    )
    lines += wrap(
        "Another ball: arcs and pitches are kept in inches, whatever its diameter; a pitch of 1/2 in "
        "then leans by 0.07 degrees more or less at most.",
        indent="",
    )
    return lines


def _row(figure: Figure, units: Units) -> tuple[str, str, str, str]:
    """A figure of the grip: its field, as read, as the record has it, and its deviation."""
    field = figure.field
    if ".pitch." in field:
        plus, minus = ("forward", "reverse") if field.endswith("forward") else ("right", "left")
        way = "" if figure.value == 0.0 else f" {plus if figure.value > 0.0 else minus}"
        name = f"{field.rpartition('.')[0]}, {plus} or {minus}"
        read, value = (f"{_length(abs(v), units)}{way}" for v in (figure.measured, figure.value))
    else:
        name, read, value = field, _length(figure.measured, units), _length(figure.value, units)
        if units == "fraction" and figure.value != figure.measured:
            value += f" ({figure.value:.3f})"
    return name, read, value, _small(figure.deviation, units)


def _length(inches: float, units: Units) -> str:
    return format_length(inches, units)


def _small(inches: float, units: Units) -> str:
    if inches == float("inf"):
        return "not known"
    return f"{inches * MM_PER_INCH:.1f} mm" if units == "metric" else f"{inches:.3f} in"


def grip_dict(copy: GripCopy) -> dict[str, Any]:
    """The copied grip at full precision; ``grip`` is the block of a job record."""
    measured = copy.measured
    return {
        "format": "layoutkit-grip-copy",
        "version": 1,
        "hand": measured.hand,
        "diameter": measured.diameter,
        "grip": record_grip(copy),
        "figures": [
            {
                "field": f.field,
                "measured": f.measured,
                "value": f.value,
                "standard_deviation": f.deviation if f.deviation < float("inf") else None,
            }
            for f in copy.figures
        ],
        "straight": dict(copy.straight),
        "again": [remark._asdict() for remark in copy.again],
        "assumed": [remark._asdict() for remark in copy.assumed],
    }


# --- fit ------------------------------------------------------------------------------------------


def complaints_text() -> str:
    """The complaints for which there is help."""
    rows = [(each.name, each.words) for each in COMPLAINTS]
    lines = ["What is it? Name one: layoutkit grip --fit thumb-hangs", "", *table(rows)]
    return "\n".join([*lines, "", *wrap(DOCTOR, indent="")]) + "\n"


def fit_text(complaint: Complaint, date: str, own: Sequence[PitchRange] = ()) -> str:
    """What to look at, one change at a time, and the line for the record's notes.

    ``own`` are the ranges of thumb pitches in the shop's own grips.
    """
    lines = [f"{complaint.words}: what a fitter looks at, the cheapest first"]
    for number, step in enumerate(complaint.steps, 1):
        lines += wrap(f"{step.removesuffix('.')} ({SOURCE}).", f"{number}. ")
    if complaint.name.startswith("thumb"):
        starts = "; ".join(
            f"{fraction(span)} in span {pitch}" for span, pitch in STARTING_THUMB_PITCHES
        )
        lines += wrap(f"Starting thumb pitch, in inches: {starts} ({SOURCE}).")
        if own:
            lines += wrap(f"In this shop's own grips: {'; '.join(map(_own_words, own))}.")
    lines += [
        "",
        *wrap(
            "Make one change, bowl, write down what it did, and only then make the next one. "
            "This is no diagnosis.",
            indent="",
        ),
        *wrap(DOCTOR, indent=""),
        "",
        "For the record's notes:",
        f"  {note(complaint, date)}",
    ]
    return "\n".join(lines) + "\n"


def _own_words(near: PitchRange) -> str:
    low, high = (
        f"{fraction(abs(pitch))} {'forward' if pitch > 0.0 else 'reverse'}" if pitch else "0"
        for pitch in (near.low, near.high)
    )
    count = "1 grip" if near.grips == 1 else f"{near.grips} grips"
    return (
        f"near {fraction(near.span)} in span {low if low == high else f'{low} to {high}'} ({count})"
    )


def fit_dict(complaint: Complaint, date: str, own: Sequence[PitchRange] = ()) -> dict[str, Any]:
    """The same for another program."""
    return {
        "complaint": complaint.name,
        "words": complaint.words,
        "steps": list(complaint.steps),
        "source": SOURCE,
        "own_thumb_pitches": [near._asdict() for near in own],
        "note": note(complaint, date),
        "caution": DOCTOR,
    }
