"""What a command is, and small helpers that several commands share.

A module that holds a command is imported at every start, so it imports what it needs for running
inside its functions.
"""

from __future__ import annotations

import argparse
import json
import os
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any, NamedTuple

from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.job.rules import Outcome

# how the files start that commands replace, by the ending of their names: ISO 32000-1, 7.5.2, and
# ISO/IEC 15948, 5.2; a page of HTML as this program writes it
_STARTS = {".pdf": b"%PDF-", ".png": b"\x89PNG\r\n\x1a\n", ".html": b"<!DOCTYPE html"}

# exit codes; where several apply, the one that stands first counts: 70, 2, 1, 3, 0
FINE, FAILS, BAD_INPUT, INCOMPLETE = 0, 1, 2, 3
DOES_NOT_WORK = 4  # of self-check alone
INTERNAL_ERROR = 70  # sysexits.h, EX_SOFTWARE


class Command(NamedTuple):
    """One command: its name, its line in the list of commands, its own help, and what it does.

    ``arguments`` adds the command's arguments to its parser; ``run`` does the work, prints, and
    returns the exit code.
    """

    name: str
    summary: str
    description: str
    example: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


def exit_code(outcome: Outcome) -> int:
    """The exit code for an outcome: 1 where a rule fails, 3 where a figure is missing, else 0."""
    return FAILS if outcome == "fail" else INCOMPLETE if outcome == "incomplete" else FINE


def json_line(value: object) -> str:
    """A value as one line of JSON at full precision."""
    return json.dumps(value, allow_nan=False) + "\n"


def today() -> str:
    """Today's date, year-month-day."""
    from datetime import date

    return date.today().isoformat()


def quoted(text: str, longest: int = 60) -> str:
    """A word of the command line for a message: in quotes, printable, shortened."""
    from layoutkit.units import shown

    return shown(text.strip(), longest)


def refuse_other_than_pdf(option: str, path: str) -> None:
    """Raise InputError where the name of a file to be written is not a PDF's."""
    if not path.lower().endswith(".pdf"):
        raise InputError(f"{option}: {quoted_name(path)} is no PDF name; possible: OUT.pdf.")


def named(path: str) -> str:
    """A file's name for a sentence: one printable line, shortened at the front."""
    from layoutkit.job.files import file_name

    return file_name(path)


def quoted_name(path: str) -> str:
    """A file's name for a sentence, in quotes: its end is what tells it from others."""
    return f'"{named(path)}"'


def quantity(field: str, text: str, option: str) -> Any:
    """The value that ``text`` states, held to the range of a record's field; a number or a word.

    ``field`` is the path of the field in a record, ``option`` names the value in messages. Raises
    InputError for a value that the field does not allow.
    """
    from layoutkit.job.limits import limit_at

    limit = limit_at(field)
    assert limit is not None, field
    try:
        return limit.parse(text.strip())
    except ValueError as error:
        raise InputError(f"{option}: {error}") from None


def refuse_input_as_output(option: str, output: str | None, inputs: Iterable[str | None]) -> None:
    """Raise InputError where the file to write is one of the files to read."""
    if output is not None and any(same_file(each, output) for each in inputs if each is not None):
        raise InputError(f"{option}: {quoted_name(output)} is read from; give another name.")


def force_argument(p: argparse.ArgumentParser, outputs: str) -> None:
    """The option --force of a command that replaces only files of its own kind."""
    p.add_argument("--force", action="store_true", help=f"replace {outputs} whatever it holds")


def refuse_another_kind(option: str, output: str | None, force: bool) -> None:
    """Raise InputError where the file to write is not of the kind that its name says, or cannot be.

    A PDF, a PNG or a page of an earlier run is replaced; anything else only if forced.
    """
    from layoutkit.job.files import refuse_unwritable

    if output is None:
        return
    refuse_unwritable(output)
    if force or not os.path.isfile(output):
        return
    kind = os.path.splitext(output)[1].lower()
    start = _STARTS.get(kind)
    if start is None:
        return
    try:
        with open(output, "rb") as file:
            same = file.read(len(start)) == start
    except OSError:  # it cannot be read, so nobody knows what would be lost
        same = False
    if not same:
        raise InputError(
            f"{option}: {quoted_name(output)} exists and is no {kind[1:].upper()}; give another name, or "
            "--force to replace it."
        )


def refuse_overwriting(output: str, old_record: str | None, force: bool) -> None:
    """Raise InputError where a file would be written over, unless forced; never over the old record.

    Also where it cannot be written at all.
    """
    from layoutkit.job.files import refuse_unwritable

    if os.path.lexists(output):
        if old_record is not None and same_file(output, old_record):
            raise InputError(f"{quoted_name(output)} is the old record itself; give another name.")
        if not force:
            raise InputError(
                f"{quoted_name(output)} exists already; give another name, or --force to replace it."
            )
    refuse_unwritable(output)


def same_file(one: str, other: str) -> bool:
    """Whether two paths name the same existing file."""
    try:
        return os.path.samefile(one, other)
    except OSError:  # one of them does not exist
        return False
