"""The command `layoutkit roll`: path and flare of a drilled ball, and how layouts differ."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from layoutkit.commands.batch import Output, many
from layoutkit.commands.common import (
    FAILS,
    FINE,
    Command,
    force_argument,
    json_line,
    named,
    quantity,
    quoted,
    refuse_another_kind,
    refuse_input_as_output,
)
from layoutkit.commands.job_options import (
    form_arguments,
    job_arguments,
    read_named_rules,
    read_shop_job,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.job.record import Job
    from layoutkit.output.roll_picture import Form

MOST_JOBS = 6  # compared at once: a picture's colours, a text's columns

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
    """Add what the command takes."""
    job_arguments(p, many=True)
    form_arguments(p)
    p.add_argument(
        "--against",
        metavar="JOB2",
        nargs="+",
        default=[],
        help=f"other jobs to compare with JOB, up to {MOST_JOBS - 1}",
    )
    p.add_argument(
        "--aim", action="store_true", help="find the line into the pocket, and roll on it"
    )
    p.add_argument(
        "--between",
        nargs=2,
        metavar=("LOW", "HIGH"),
        help="with --aim: boards at the foul line between which the line starts (10 35)",
    )
    p.add_argument(
        "--breakpoint",
        metavar="BOARD",
        help="with --aim: where the line is farthest out (the oil's length less 31)",
    )
    p.add_argument("--png", metavar="OUT.png", help="also draw the lane and the rings")
    p.add_argument("--pdf", metavar="OUT.pdf", help="the same as a PDF")
    force_argument(p, "the picture's file")
    for option, _, placeholder, meaning in _OPTIONS:
        p.add_argument(option, metavar=placeholder, help=meaning)


def run(args: argparse.Namespace) -> int:
    """Roll the balls of all jobs, write the pictures, print path, rings and differences."""
    _check(args)
    sources = (args.job, *args.against)
    for option, output in (("--png", args.png), ("--pdf", args.pdf)):
        refuse_input_as_output(option, output, (args.job, args.rules, *args.against))
        refuse_another_kind(option, output, args.force)
    if args.force and args.png is None and args.pdf is None:
        raise InputError("--force: replaces a file; give --png or --pdf too.")
    from layoutkit.job.record import Release
    from layoutkit.lane.aim import aim, on_line, released, states_line
    from layoutkit.lane.roll import compare, roll, under
    from layoutkit.lane.why import grounds, sensitivity
    from layoutkit.planning.plan import plan

    rules = read_named_rules(args)
    jobs = [read_shop_job(source, args) for source in sources]
    jobs[0] = _overridden(jobs[0], args)
    plans = [plan(job, rules) for job in jobs]
    first, *others = plans
    alike = [under(first, other) for other in others]
    release = first.job.release or Release()
    aims = []
    if args.aim or (others and not states_line(release)):
        between, breakpoint = _sought(args)
        aims = [aim(each, release, between, breakpoint) for each in (first, *alike)]
    line = aims[0].aim if aims else None
    release = released(first) if line is None else on_line(release, line, stated=args.aim)
    shots = [roll(each, release) for each in (first, *alike)]
    differences = compare(first, others, release=release) if others else ()
    reasons = [grounds(shot) for shot in shots] if others else []
    moved = sensitivity(shots[0]) if others else None
    pictures_written = ""
    if args.png is not None or args.pdf is not None:
        from layoutkit.job.files import write_atomic
        from layoutkit.output.roll_picture import picture

        wanted: tuple[tuple[Form, str | None], ...] = (("png", args.png), ("pdf", args.pdf))
        # both are made before one is written
        pictures = [(name, picture(shots, form, args.units)) for form, name in wanted if name]
        for name, data in pictures:
            write_atomic(name, data)
            pictures_written += f"\nPicture written to {named(name)}\n"
    if args.json:
        from layoutkit.output.roll_report import roll_dict

        write(json_line(roll_dict(shots, differences, aims, reasons, moved)))
    else:
        from layoutkit.output.roll_report import roll_text

        write(roll_text(shots, differences, args.units, aims, reasons, moved) + pictures_written)
    return FAILS if any(each.outcome == "fail" for each in plans) else FINE


def _line(values: Mapping[str, Any]) -> str:
    """Where the ball came to the pins, and how."""
    shot = values["shots"][0]
    if shot["gutter"]:
        return "in the gutter"
    return f"board {shot['board_at_pins']:.1f} at the pins, entry angle {shot['entry_angle']:.1f} degrees"


def _check(args: argparse.Namespace) -> None:
    """Raise InputError for what cannot be right whatever the jobs hold."""
    if len(args.against) >= MOST_JOBS:
        raise InputError(
            f"--against: {len(args.against)} jobs are too many; possible: up to {MOST_JOBS - 1}."
        )
    if "-" in args.against:
        raise InputError("--against: standard input is read for JOB only; give files.")
    for option, value in (("--between", args.between), ("--breakpoint", args.breakpoint)):
        if value is not None and not args.aim:
            raise InputError(f"{option}: it is where --aim looks for a line; give --aim too.")
    for option, value in (("--board", args.board), ("--direction", args.direction)):
        if value is not None and args.aim:
            raise InputError(
                f"{option}: --aim finds board and direction itself; possible: --between LOW HIGH."
            )
    for form, name in (("png", args.png), ("pdf", args.pdf)):
        if name is not None and not name.lower().endswith(f".{form}"):
            raise InputError(
                f"--{form}: {quoted(name)} is no {form.upper()} name; possible: OUT.{form}."
            )


def _sought(args: argparse.Namespace) -> tuple[tuple[float, float], float | None]:
    """The boards at the foul line and the breakpoint that --aim is held to."""
    from layoutkit.lane.aim import BETWEEN

    between = BETWEEN
    if args.between is not None:
        low, high = (float(quantity("release.board", v, "--between")) for v in args.between)
        if low > high:
            raise InputError(f"--between: {low:g} is above {high:g}; possible: LOW and then HIGH.")
        between = (low, high)
    breakpoint = None
    if args.breakpoint is not None:
        breakpoint = float(quantity("release.board", args.breakpoint, "--breakpoint"))
    return between, breakpoint


def _overridden(job: Job, args: argparse.Namespace) -> Job:
    """The job with what the options say of release and lane.

    Raises InputError for a value outside the record's range.
    """
    from layoutkit.job.record import Lane, Release

    overrides: dict[str, dict[str, object]] = {"release": {}, "lane": {}}
    for option, path, _, _ in _OPTIONS:
        text = getattr(args, option[2:].replace("-", "_"))
        if text is not None:
            section, _, field = path.partition(".")
            overrides[section][field] = float(quantity(path, text, option))
    sections: dict[str, object] = {}
    if overrides["release"]:
        release = job.release or Release()
        sections["release"] = release.model_copy(update=overrides["release"])
    if overrides["lane"]:
        lane = job.lane or Lane()
        sections["lane"] = lane.model_copy(update={**overrides["lane"], "table": ()})
    return job.model_copy(update=sections) if sections else job


COMMAND = Command(
    "roll",
    "what the drilled ball does on the lane: path, flare, comparison",
    "Roll the drilled ball down the lane, from its own inertia and centre of gravity: the path with "
    "skid,\nhook and roll, and the oil rings on the ball. Release and lane are the record's, or "
    "conventional ones,\nmarked *; options replace single values for a quick look. --against rolls "
    "other jobs under the first\none's release and lane, and says by how much they differ, how sure that "
    "is and why. --aim finds\nwhere to start and in which direction to roll, so that the ball enters the "
    "pocket. It compares layouts\nand promises no score. Exit code 1 where a plan fails a rule.",
    "  layoutkit roll job.json\n"
    "  layoutkit roll job.json --against pin-down.json --png roll.png\n"
    "  layoutkit roll job.json --aim --between 15 25\n"
    "  layoutkit roll job.json --speed 15.5 --revs 380 --oil-length 44 --json",
    arguments,
    many(run, _line, (Output("--png", ".roll.png"), Output("--pdf", ".roll.pdf"))),
)
