"""The command `layoutkit roll`: path and flare of a drilled ball, and how layouts differ."""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.job.record import Job
    from layoutkit.output.roll_picture import Form
    from layoutkit.planning.values import Plan

MOST_JOBS = 6  # compared at once: a picture's colours, a text's columns

SUMMARY = "what the drilled ball does on the lane: path, flare, comparison"
DESCRIPTION = (
    "Roll the drilled ball down the lane, from its own inertia and centre of gravity: the path with "
    "skid,\nhook and roll, and the oil rings on the ball. Release and lane are the record's, or "
    "conventional ones,\nmarked *; options replace single values for a quick look. --against rolls "
    "other jobs under the first\none's release and lane, and says by how much they differ and how sure "
    "that is. It compares layouts and\npromises no score. Exit code 1 where a plan fails a rule."
)
EXAMPLE = (
    "  layoutkit roll job.json\n"
    "  layoutkit roll job.json --against pin-down.json --png roll.png\n"
    "  layoutkit roll job.json --speed 15.5 --revs 380 --oil-length 44 --json"
)

# option, field of the record, what it is
_OPTIONS = (
    ("--speed", "release.speed", "MPH", "speed at the foul line"),
    ("--revs", "release.revs", "RPM", "rev rate, negative for backspin"),
    ("--rotation", "release.axis_rotation", "DEGREES", "axis rotation"),
    ("--tilt", "release.axis_tilt", "DEGREES", "axis tilt"),
    ("--board", "release.board", "BOARD", "at the foul line, from the bowler's own side"),
    ("--direction", "release.direction", "DEGREES", "toward the bowler's own gutter"),
    ("--oil-length", "lane.oil_length", "FT", "length of the oil; replaces a table"),
    ("--oil", "lane.oil", "FRICTION", "friction on the oil; replaces a table"),
    ("--dry", "lane.dry", "FRICTION", "friction beyond the oil; replaces a table"),
)


def arguments(p: argparse.ArgumentParser) -> None:
    """What the command takes beside a job."""
    p.add_argument(
        "--against",
        metavar="JOB2",
        nargs="+",
        default=[],
        help=f"other jobs to compare with JOB, up to {MOST_JOBS - 1}",
    )
    p.add_argument("--png", metavar="OUT.png", help="also draw the lane and the rings")
    p.add_argument("--pdf", metavar="OUT.pdf", help="the same as a PDF")
    for option, _, what, words in _OPTIONS:
        p.add_argument(option, metavar=what, help=words)


def check(args: argparse.Namespace) -> None:
    """Raises InputError for what cannot be right whatever the jobs hold."""
    if len(args.against) >= MOST_JOBS:
        raise InputError(
            f"--against: {len(args.against)} jobs are too many; possible: up to {MOST_JOBS - 1}."
        )
    if "-" in args.against:
        raise InputError("--against: standard input is read for JOB only; give files.")
    for option in ("png", "pdf"):
        name = getattr(args, option)
        if name is not None and not name.lower().endswith(f".{option}"):
            raise InputError(
                f"--{option}: {_quoted(name)} is no {option.upper()} name; possible: OUT.{option}."
            )


def overridden(job: Job, args: argparse.Namespace) -> Job:
    """The job with what the options say of release and lane.

    Raises InputError for a value outside the record's range.
    """
    from layoutkit.job.record import Lane, Release

    said: dict[str, dict[str, object]] = {"release": {}, "lane": {}}
    for option, path, _, _ in _OPTIONS:
        text = getattr(args, option[2:].replace("-", "_"))
        if text is not None:
            section, _, field = path.partition(".")
            said[section][field] = _value(option, path, text)
    changed: dict[str, object] = {}
    if said["release"]:
        changed["release"] = (job.release or Release()).model_copy(update=said["release"])
    if said["lane"]:
        lane = job.lane or Lane()
        changed["lane"] = lane.model_copy(update={**said["lane"], "table": ()})
    return job.model_copy(update=changed) if changed else job


def _value(option: str, path: str, text: str) -> float:
    from layoutkit.job.limits import limit_at

    limit = limit_at(path)
    assert limit is not None, path
    try:
        return float(limit.parse(text.strip()))
    except ValueError as error:
        raise InputError(f"{option}: {error}") from None


def answer(plans: Sequence[Plan], args: argparse.Namespace) -> str:
    """What the command prints, after the pictures were written where they were asked for."""
    from layoutkit.lane.roll import compare, roll, under

    first, *others = plans
    shots = [roll(first), *(roll(under(first, other)) for other in others)]
    differences = compare(first, others) if others else ()
    told = ""
    if args.png is not None or args.pdf is not None:
        from layoutkit.job.files import write_atomic
        from layoutkit.output.roll_picture import picture

        # both are made before one is written
        wanted: tuple[tuple[Form, str | None], ...] = (("png", args.png), ("pdf", args.pdf))
        made = [(name, picture(shots, form, args.units)) for form, name in wanted if name]
        for name, data in made:
            write_atomic(name, data)
            told += f"\nPicture written to {name}\n"
    if args.json:
        from layoutkit.output.roll_report import roll_dict

        return json.dumps(roll_dict(shots, differences), allow_nan=False) + "\n"
    from layoutkit.output.roll_report import roll_text

    return roll_text(shots, differences, args.units) + told


def _quoted(text: str) -> str:
    from layoutkit.units import shown

    return shown(text.strip(), 60)
