"""A drilled ball as it is measured in the window's dialog: what was typed, and the grip that follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from layoutkit.bench.grip_copy import GripCopy, copied
from layoutkit.errors import InputError
from layoutkit.job.measured import FORMAT, VERSION, parse_measured
from layoutkit.output.grip_report import grip_text
from layoutkit.units import Units

HOW = (
    "Measure a ball that fits, and type what you read. A hole with a bore has a sleeve in it; a hole "
    "without any figure is not there. Pitches take a letter: 1/8 r is reverse on the upper row, right on "
    "the lower one. Finger sleeves count as ready-made."
)
DIGITS = ("thumb", "middle", "ring", "index", "little")
# the rows: name in the file, label, and which drawing of the guide shows where it is read
ROWS: tuple[tuple[str, str, int], ...] = (
    ("span", "Span", 1),
    ("straight", "Straight across", 1),
    ("gap", "Gap", 2),
    ("diameter", "Finished size", 4),
    ("bore", "Bored size", 4),
    ("depth", "Depth", 4),
    ("forward", "Forward, reverse", 3),
    ("right", "Right, left", 3),
)
_ONLY = {"span": DIGITS[1:], "straight": DIGITS[1:], "gap": DIGITS[3:]}
# what is said of all holes: name, label, the choices (none where a figure is typed), the drawing
HEAD: tuple[tuple[str, str, tuple[str, ...], int], ...] = (
    ("hand", "Hand", ("right", "left"), 0),
    ("diameter", "Ball's diameter", (), 4),
    ("rule", "Rule", ("flexible", "stiff"), 1),
    ("bridge", "Bridge", (), 2),
    ("bridge_between", "Between", ("bored edges", "finished edges"), 2),
    ("depth_from", "Depth from", ("bar", "axis"), 4),
)
_WAYS = {"forward": ("forward", "reverse"), "right": ("right", "left")}


def has(digit: str, row: str) -> bool:
    """Whether a digit's hole has a figure of this row."""
    return digit in _ONLY.get(row, DIGITS)


def start(hand: str) -> dict[str, str]:
    """What stands in the dialog before anything is typed."""
    return {name: choices[0] for name, _, choices, _ in HEAD if choices} | {"hand": hand or "right"}


def label_of(field: str) -> str:
    """What the dialog calls a field of the file, `Middle, Span`; one that it does not show, as it is."""
    digit, _, rest = field.partition(".")
    if digit not in DIGITS:
        return next((label for name, label, *_ in HEAD if name == field), field)
    way = rest.removeprefix("pitch.")
    row = next((row for row, ways in _WAYS.items() if way in ways), rest)
    label = next((label for name, label, _ in ROWS if name == row), rest)
    return f"{digit.capitalize()}, {label}" if label else digit.capitalize()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What follows from the readings: the grip and a text about it, or only what is wrong or missing."""

    copy: GripCopy | None
    words: str
    field: str = ""


def measured_record(texts: Mapping[str, str]) -> dict[str, Any]:
    """The file of a measured grip with these texts; a hole's are at `middle.span`."""
    filled = {path: text.strip() for path, text in texts.items() if text.strip()}
    record: dict[str, Any] = {"format": FORMAT, "version": VERSION, "thumb": None}
    record |= {name: filled[name] for name, *_ in HEAD if name in filled and name != "depth_from"}
    for digit in DIGITS:
        hole: dict[str, Any] = {}
        pitch: dict[str, str] = {}
        for row, *_ in ROWS:
            text = filled.get(f"{digit}.{row}")
            if text is None or not has(digit, row):
                continue
            if row in _WAYS:
                number, way = _turned(text, *_WAYS[row])
                pitch[way] = number
            else:
                hole[row] = text
        if not hole and not pitch:
            continue
        if pitch:
            hole["pitch"] = pitch
        if "bore" in hole:
            hole |= {"sleeve": True, "ready": digit != "thumb"}
        record[digit] = hole | {"depth_from": filled.get("depth_from", "bar")}
    return record


def _turned(text: str, plus: str, minus: str) -> tuple[str, str]:
    """A pitch's number and direction: `1/8 r`, `1/8 reverse` or `-1/8` is reverse."""
    number = text.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
    word = text[len(number) :].lower()
    if word and number.strip() and plus.startswith(word):
        return number.strip(), plus
    if word and number.strip() and minus.startswith(word):
        return number.strip(), minus
    return (text[1:].strip(), minus) if text.startswith("-") else (text, plus)


def outcome(texts: Mapping[str, str], units: Units) -> Outcome:
    """The grip of these readings as `layoutkit.bench.grip_copy` works it out, in words."""
    try:
        copy = copied(parse_measured(measured_record(texts)))
    except InputError as error:
        words = ": ".join(filter(None, (label_of(error.field), error.words)))
        return Outcome(None, words, error.field)
    return Outcome(copy, grip_text(copy, units))
