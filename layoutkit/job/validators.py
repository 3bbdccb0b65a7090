"""Validators that the models of records, rule sets and the shop's file share."""

import datetime
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, WithJsonSchema
from pydantic_core import core_schema

from layoutkit.errors import InputError
from layoutkit.job.limits import Limit
from layoutkit.units import HANDS, as_hand, shown


class Model(BaseModel):
    """A frozen object of a file that holds no field but those of its class."""

    # built when first needed: building each model and then again inside its owner would double the cost
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)


@dataclass(frozen=True, slots=True)
class Text:
    """Validator of free text: its greatest length, and whether it may have several lines."""

    longest: int
    lines: bool = False
    filled: bool = False  # blank text is none

    def parse(self, value: object) -> str:
        """The text; InputError tells what is possible."""
        if not isinstance(value, str):
            raise InputError(
                f"{shown(value)} is not text; possible: up to {self.longest} characters."
            )
        if len(value) > self.longest:
            raise InputError(
                f"{shown(value)} has {len(value)} characters; possible: up to {self.longest}."
            )
        if self.filled and not value.strip():
            raise InputError(f"{shown(value)} is blank; possible: text.")
        for c in value:
            # control characters garble a printed sheet; lone surrogates cannot be written to a file
            if (c < " " or "\x7f" <= c <= "\x9f" or "\ud800" <= c <= "\udfff") and not (
                self.lines and c == "\n"
            ):
                allowed = "text and line breaks" if self.lines else "one line of text"
                raise InputError(
                    f"{shown(value)} contains the character U+{ord(c):04X}; possible: {allowed}."
                )
        return value

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest}


@dataclass(frozen=True, slots=True)
class Number:
    """Validator of a plain number from ``low`` to ``high``, of ``unit`` where it has one.

    With ``above`` the low end itself is not possible; with ``whole`` only whole numbers are.
    """

    low: float = 0.0
    high: float = math.inf
    unit: str = ""
    above: bool = False
    whole: bool = False

    @property
    def range(self) -> str:
        """What is possible, for a message: `a whole number of 0 or more`, `a number from 1 to 6 in`."""
        noun = "a whole number" if self.whole else "a number"
        unit = f" {self.unit}" if self.unit else ""
        if self.above:
            end = f", up to {self.high:g}{unit}" if math.isfinite(self.high) else unit
            return f"{noun} above {self.low:g}{end}"
        if math.isfinite(self.high):
            return f"{noun} from {self.low:g} to {self.high:g}{unit}"
        return f"{noun} of {self.low:g}{unit} or more"

    def parse(self, value: object) -> float:
        """The number; InputError tells what is possible."""
        # true and false are integers to Python, but no figures
        number = math.nan
        if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) < 1e300:
            number = float(value)
        inside = self.low < number if self.above else self.low <= number
        if not (inside and number <= self.high) or (self.whole and not number.is_integer()):
            raise InputError(f"{shown(value)} is not possible; possible: {self.range}.")
        return number

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)


@dataclass(frozen=True, slots=True)
class Date:
    """Validator of a date; it stays text."""

    def parse(self, value: object) -> str:
        """The date as written; InputError tells what is possible."""
        if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            try:
                datetime.date.fromisoformat(value)
                return value
            except ValueError:
                pass
        likely = _likely_dates(value) if isinstance(value, str) else []
        meant = " if that is meant" if len(likely) == 1 else ", whichever is meant"
        raise InputError(
            f"{shown(value)} is not written year-month-day; write {' or '.join(likely)}{meant}."
            if likely
            else f"{shown(value)} is not a date; possible: year-month-day such as 2026-11-25."
        )

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


_THREE_NUMBERS = re.compile(r"([0-9]{1,4})([/.\- ]) ?([0-9]{1,2})\2 ?([0-9]{1,4})")
_ORDERS = ((0, 1, 2), (2, 0, 1), (2, 1, 0))  # where the year, the month and the day may stand


def _likely_dates(text: str) -> list[str]:
    """The dates, year-month-day, that a text in another order may mean; none where it is no date."""
    match = _THREE_NUMBERS.fullmatch(text.strip())
    numbers = match.group(1, 3, 4) if match else ()
    likely: list[str] = []
    for year, month, day in ([numbers[at] for at in order] for order in _ORDERS if numbers):
        if len(year) not in (2, 4) or max(len(month), len(day)) > 2:
            continue
        try:
            full = int(year) if len(year) == 4 else 2000 + int(year)
            date = datetime.date(full, int(month), int(day)).isoformat()
        except ValueError:
            continue
        if date not in likely:
            likely.append(date)
    return likely


# a hand in any of the ways in which people write it
Hand = Annotated[
    Literal["right", "left"],
    BeforeValidator(as_hand),
    WithJsonSchema({"type": "string", "enum": list(HANDS)}),
]


def few(most: int) -> BeforeValidator:
    """Validator of a list that becomes a tuple of at most so many."""

    def parse(value: object) -> object:
        if not isinstance(value, list | tuple):
            raise InputError(f"{shown(value)} is not a list; possible: a list of up to {most}.")
        if len(value) > most:
            raise InputError(f"{len(value)} are too many; possible: up to {most}.")
        return tuple(value)

    return BeforeValidator(parse)


@dataclass(frozen=True, slots=True)
class Some:
    """Validator of a list of different words out of a few; it becomes a tuple."""

    words: tuple[str, ...]

    @property
    def range(self) -> str:
        """What is possible, for a message."""
        return f"a list of some of {', '.join(self.words)}"

    def parse(self, value: object) -> tuple[str, ...]:
        """The words; InputError tells what is possible."""
        if not isinstance(value, list | tuple):
            raise InputError(f"{shown(value)} is not a list; possible: {self.range}.")
        for word in value:
            if word not in self.words:
                raise InputError(f"{shown(word)} is none of them; possible: {self.range}.")
        if len(set(value)) < len(value):
            raise InputError(f"names one of them twice; possible: {self.range}.")
        return tuple(value)

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        items = {"type": "string", "enum": list(self.words)}
        return {"type": "array", "items": items, "uniqueItems": True}


Answer = float | str | bool | None


@dataclass(frozen=True, slots=True)
class Answers:
    """Validator of an object from field paths to the values that they are meant to have."""

    most: int

    @property
    def range(self) -> str:
        """What is possible, for a message."""
        return f"an object of up to {self.most} fields' paths, each with its value"

    def parse(self, value: object) -> dict[str, Answer]:
        """The answers; InputError tells what is possible."""
        if not isinstance(value, Mapping):
            raise InputError(f"{shown(value)} is not possible; possible: {self.range}.")
        if len(value) > self.most:
            raise InputError(f"{len(value)} are too many; possible: {self.range}.")
        words = Text(200)
        for path, answer in value.items():
            words.parse(path)
            if isinstance(answer, str):
                words.parse(answer)
            elif not (
                answer is None
                or isinstance(answer, bool)
                or (isinstance(answer, int | float) and abs(answer) < 1e300)
            ):
                raise InputError(
                    f"{shown(answer)} is no value of a field; possible: a number, text, true, "
                    "false or null.",
                )
        return dict(value)

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return {
            "type": "object",
            "additionalProperties": {"type": ["number", "string", "boolean", "null"]},
            "maxProperties": self.most,
        }


def two(number: Limit) -> BeforeValidator:
    """Validator of a list of two numbers, such as two readings; it becomes a tuple."""

    def parse(value: object) -> object:
        if not isinstance(value, list | tuple) or len(value) != 2:
            raise InputError(
                f"{shown(value)} is not a list of two; possible: two numbers, each {number.range}."
            )
        return tuple(value)

    return BeforeValidator(parse)


def only_version(version: int) -> BeforeValidator:
    """Validator of a format's version: true equals 1 to Python, but it is no version."""

    def parse(value: object) -> object:
        if isinstance(value, bool):
            raise InputError(f"{shown(value)} is not a version; possible: {version}.")
        return value

    return BeforeValidator(parse)
