"""Marking an answer by distance, as the bench would, and telling which slip it matches.

Size, unit, sign and direction are judged apart: a right size on the wrong side is no right answer, but
it is told as what it is. A slip is named only where the answer lies within the tolerance of its value
and at least twice as near to it as to the right one.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from layoutkit.errors import InputError
from layoutkit.practice.values import Asked, Draft, Slip, Unit, Value
from layoutkit.units import GRAM_PER_OZ, MM_PER_INCH, parse_quantity, shown

Score = Literal["full", "part", "none"]

PART = 4.0  # tolerances to which an answer still counts in part
_SLACK = 1e-9
_OTHER_UNITS = {"in": ("millimetres", MM_PER_INCH), "oz": ("grams", GRAM_PER_OZ)}
_UNITS: tuple[Unit, ...] = ("in", "degrees", "oz")


class Answer(NamedTuple):
    """An answer as it was read: its value in the unit asked, or with another ``unit`` as stated."""

    value: Value
    unit: str


class Marked(NamedTuple):
    """What an answer is worth.

    ``size`` counts the figures without their signs; ``unit`` and ``side`` tell whether unit and sign
    (or the two directions of a place) are right. ``away`` is the distance from the right value in the
    unit asked, None for a choice or a wrong unit. ``other_unit`` is the unit in which it would be right.
    """

    score: Score
    size: Score
    unit: bool
    side: bool
    away: float | None
    slips: tuple[Slip, ...]
    other_unit: str = ""


def read_answer(asked: Asked, text: str) -> Answer:
    """The answer that a text states.

    Raises InputError, saying what is possible, for a text that is none.
    """
    text = text.strip()
    if asked.choices:
        return Answer(_choice(asked.choices, text), "")
    if asked.sides is not None:
        return Answer(_place(asked.sides, text), asked.unit)
    try:
        return Answer((parse_quantity(text, asked.unit),), asked.unit)
    except InputError as error:
        for unit in _UNITS:
            if unit != asked.unit:
                try:
                    return Answer((parse_quantity(text, unit),), unit)
                except InputError:
                    continue
        raise error


def _choice(choices: tuple[str, ...], text: str) -> str:
    """The choice of a number, from 1 on, of its own words, or of their end, such as a row's letter."""
    if text.isdecimal() and 1 <= int(text) <= len(choices):
        return choices[int(text) - 1]
    low = " ".join(text.lower().split())
    fits = [c for c in choices if low and (c.lower() == low or c.lower().split()[-1] == low)]
    fits = fits or [c for c in choices if low and c.lower().startswith(low)]
    if len(fits) != 1:
        raise InputError(f"{shown(text)} is no choice; possible: {', '.join(choices)}.")
    return fits[0]


def _place(sides: tuple[str, str, str, str], text: str) -> tuple[float, float]:
    """Two lengths with their directions, such as `4 7/8 left, 1/2 up`."""
    words = "|".join(sides)
    parts = re.split(r"[,;]\s+|\s+and\s+", text)
    if len(parts) == 1:  # nothing between the two but the first one's direction
        first = re.match(rf"(\S.*?\b(?:{words}))\s+(.+)", text)
        parts = [first[1], first[2]] if first else parts
    lengths: dict[int, float] = {}
    for part in parts:
        match = re.search(rf"\b({words})\b", part.lower())
        if match is None or len(parts) != 2:
            break
        at = sides.index(match[1])
        rest = part[: match.start()] + part[match.end() :]
        lengths[at // 2] = (-1.0 if at % 2 else 1.0) * parse_quantity(rest.strip(), "in")
    if len(lengths) != 2:
        raise InputError(
            f"{shown(text)} is no place; write both lengths with their directions, such as "
            f"4 7/8 {sides[1]}, 1/2 {sides[2]}."
        )
    return lengths[0], lengths[1]


def mark(draft: Draft, answer: Answer) -> Marked:
    """Mark an answer to a problem."""
    asked, right, given = draft.asked, draft.right, answer.value
    if isinstance(right, str) or isinstance(given, str):
        score: Score = "full" if given == right else "none"
        named = tuple(s for s in draft.slips if s.value == given)
        return Marked(score, score, True, True, None, named)
    if answer.unit != asked.unit:
        size = _score(asked, _sizes(given), _sizes(right))
        return Marked(
            "part" if size == "full" else "none", size, False, True, None, (), answer.unit
        )
    away = asked.distance(given, right)
    score = _score(asked, given, right)
    size = _score(asked, _sizes(given), _sizes(right))
    signed = bool(asked.plus) or asked.sides is not None
    side = score == "full" or not signed or _same_sides(given, right, asked.tolerance)
    if not side:
        score = "none"
    named = tuple(s for s in draft.slips if _matches(asked, given, s.value, away))
    other = _other_unit(asked, given, right)
    if size == "none" and not named and other:
        return Marked("part", "full", False, True, None, (), other)
    return Marked(score, score if not signed else size, True, side, away, named)


def _sizes(value: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(abs(each) for each in value)


def _score(asked: Asked, given: Value, right: Value) -> Score:
    away = asked.distance(given, right)
    if away <= asked.tolerance + _SLACK:
        return "full"
    return "part" if away <= PART * asked.tolerance + _SLACK else "none"


def _same_sides(given: tuple[float, ...], right: tuple[float, ...], tolerance: float) -> bool:
    """Whether no figure lies on the other side; one that is right within the tolerance does not."""
    return all(
        g * r >= 0.0 or abs(g - r) <= tolerance + _SLACK for g, r in zip(given, right, strict=True)
    )


def _matches(asked: Asked, given: Value, slip: Value, away: float) -> bool:
    """Whether an answer matches a slip's value clearly better than the right one."""
    near = asked.distance(given, slip)
    return near <= asked.tolerance + _SLACK and 2.0 * near <= away


def _other_unit(asked: Asked, given: tuple[float, ...], right: tuple[float, ...]) -> str:
    """The unit that a bare number would be right in, though another one is asked; empty for none."""
    name, size = _OTHER_UNITS.get(asked.unit, ("", 1.0))
    told = tuple(each / size for each in given)
    return name if name and _score(asked, _sizes(told), _sizes(right)) == "full" else ""
