"""The command `layoutkit redrill`: the record of a drilled ball, plugged and to be laid out anew."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from layoutkit.commands.common import FINE, Command, named, quantity, quoted, refuse_overwriting
from layoutkit.commands.job_options import read_job
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.job.record import Digit


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("job", metavar="JOB", help="the job record as drilled; - reads standard input")
    p.add_argument("--out", metavar="NEW.json", required=True, help="the record to write")
    p.add_argument(
        "--density", metavar="G/CM3", help="the plugs' density (default: 1.15, common practice)"
    )
    p.add_argument(
        "--only",
        metavar="DIGIT,...",
        help="the holes to drill again, as thumb or middle,ring; the others stay as they are",
    )
    p.add_argument("--force", action="store_true", help="replace NEW.json where it exists")


def run(args: argparse.Namespace) -> int:
    """Write the record of the plugged ball, and print where it is."""
    refuse_overwriting(args.out, args.job, args.force)
    from layoutkit.job.store import kept_words, save_job
    from layoutkit.planning.redrill import PLUG_DENSITY, redrilled

    density = PLUG_DENSITY
    if args.density is not None:
        density = quantity("history.holes.0.plug.density", args.density, "--density")
    plugged = redrilled(read_job(args.job, args), density, _only(args.only))
    kept = kept_words(save_job(plugged, args.out))
    assert plugged.history is not None
    number = len(plugged.history.holes)
    summary = f"{number} old hole{'' if number == 1 else 's'}, plugged with {density:g} g/cm3"
    if args.density is None:
        summary += " (common practice; see the resin maker's data sheet)"
    new = "layout" if args.only is None else "size"
    write(
        f"Wrote {named(args.out)}: {summary}. Give it its new {new}, then run "
        f"`layoutkit plan {named(args.out)}`.{kept}\n"
    )
    return FINE


def _only(text: str | None) -> tuple[Digit, ...]:
    """The digits that --only names; none where it is not given."""
    from layoutkit.job.record import DIGITS

    digits = []
    for word in () if text is None else text.split(","):
        digit = next((d for d in DIGITS if d == word.strip().lower()), None)
        if digit is None or digit in digits:
            raise InputError(
                f"--only: {quoted(word)} is none of the holes or named twice; possible: one or more of "
                f"{', '.join(DIGITS)}, with commas between."
            )
        digits.append(digit)
    return tuple(digits)


COMMAND = Command(
    "redrill",
    "start the record of a ball that is plugged and drilled again",
    "Write a record of the same bowler and ball in which everything that JOB drills is an old hole "
    "with a\nplug. Old holes stay on the ball whatever the new layout. Then give the new record its "
    "layout and grip,\nand plan it. With --only some holes are plugged, the others stay, and the "
    "sheet holds just the work\non those. The plug's density is that of common practice, without a "
    "source: take the one in the resin\nmaker's data sheet.",
    "  layoutkit redrill job.json --out again.json\n"
    "  layoutkit redrill job.json --out again.json --density 1.12\n"
    "  layoutkit redrill job.json --only thumb --out again.json",
    arguments,
    run,
)
