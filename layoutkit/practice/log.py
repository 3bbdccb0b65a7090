"""The log of a trainee's answers: a file of JSON lines in the user's state folder, only added to.

Each trainee has a file of their own, so that one can be forgotten whole. Nothing leaves the machine. A
line that was torn by a crash is left out and counted when the log is read.
"""

from __future__ import annotations

import contextlib
import json
import unicodedata
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple, get_args
from urllib.parse import quote, unquote

from layoutkit.errors import InputError
from layoutkit.job.files import add_line, file_name, locked, read_bytes
from layoutkit.job.folders import user_folder
from layoutkit.practice.marking import Score
from layoutkit.practice.schedule import Answered
from layoutkit.units import shown

VERSION = 1
USUAL = "trainee"  # who answers where no name is given
PRACTICE_LOG = "a practice log"
LARGEST_LOG = 20_000_000  # bytes; some hundred thousand answers
_ENDING = ".jsonl"
_LONGEST = 180  # bytes of a file's name, which the system limits


class Log(NamedTuple):
    """The answers of one trainee in their order, and how many lines could not be read."""

    trainee: str
    answers: tuple[Answered, ...]
    unreadable: int


def folder() -> Path:
    """Where the logs are."""
    return user_folder("state") / "practice"


def log_path(trainee: str) -> Path:
    """The file of a trainee; raises InputError for a name that cannot be one."""
    name = unicodedata.normalize("NFC", " ".join(trainee.split()))
    if not name or not name.isprintable():
        raise InputError(f"{shown(trainee)} is no name; possible: letters, digits and blanks.")
    # one file for Ann and ann: some systems know no difference
    whole = quote(name.casefold(), safe=" ").replace(".", "%2E") + _ENDING
    if len(whole) > _LONGEST:
        raise InputError(f"{shown(trainee)} is too long a name; give a shorter one.")
    return folder() / whole


def trainees() -> tuple[str, ...]:
    """All trainees with a log, by name."""
    with contextlib.suppress(OSError):
        return tuple(
            sorted(unquote(p.name.removesuffix(_ENDING)) for p in folder().glob(f"*{_ENDING}"))
        )
    return ()


def add(trainee: str, answer: Answered) -> None:
    """Add an answer to a trainee's log, for good when this returns.

    Raises InputError where the log cannot be written.
    """
    path = log_path(trainee)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        words = (error.strerror or "unknown").lower()
        raise InputError(f"cannot be made: {words}.", file=file_name(path.parent)) from None
    line = {
        "version": VERSION,
        "day": answer.day.isoformat(),
        "kind": answer.kind,
        "seed": answer.seed,
        "score": answer.score,
        "slips": list(answer.slips),
    }
    with locked(path):
        add_line(path, json.dumps(line))


def read(trainee: str) -> Log:
    """A trainee's log, empty where there is none. Raises InputError where it cannot be read."""
    path = log_path(trainee)
    if not path.exists():
        return Log(trainee, (), 0)
    lines = read_bytes(path, PRACTICE_LOG, LARGEST_LOG).decode("utf-8", "replace").splitlines()
    answers = [_answer(line) for line in lines if line.strip()]
    good = tuple(each for each in answers if each is not None)
    return Log(trainee, good, len(answers) - len(good))


def forget(trainee: str) -> bool:
    """Delete a trainee's log; whether there was one. Raises InputError where it cannot be deleted."""
    path = log_path(trainee)
    if not path.exists():
        return False
    with locked(path):
        try:
            path.unlink()
        except OSError as error:
            words = (error.strerror or "unknown").lower()
            raise InputError(f"cannot be deleted: {words}.", file=file_name(path)) from None
    return True


def _answer(line: str) -> Answered | None:
    """The answer of a line; None for one that was torn or is none."""
    try:
        content: Any = json.loads(line)
        score: Score = content["score"]
        slips = content["slips"]
        if content["version"] != VERSION or score not in get_args(Score):
            return None
        return Answered(
            date.fromisoformat(content["day"]),
            str(content["kind"]),
            int(content["seed"]),
            score,
            tuple(str(each) for each in slips),
        )
    except (ValueError, KeyError, TypeError):
        return None
