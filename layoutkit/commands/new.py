"""The command `layoutkit new`: a record to fill in, of invented values or for a returning bowler."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import FINE, Command, named, refuse_overwriting, today
from layoutkit.commands.job_options import read_job
from layoutkit.commands.streams import write
from layoutkit.errors import InputError
from layoutkit.units import as_hand


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("out", metavar="OUT.json", nargs="?", help="the file (default: standard output)")
    source = p.add_mutually_exclusive_group()
    source.add_argument(
        "--from",
        dest="old",
        metavar="OLD.json",
        help="keep the bowler, the scale and the rule set of this record; ball and layout are "
        "left to fill in",
    )
    source.add_argument(
        "--hand",
        type=as_hand,
        choices=("right", "left"),
        help="the example bowler's hand (default: right)",
    )
    p.add_argument("--force", action="store_true", help="replace OUT.json where it exists")


def run(args: argparse.Namespace) -> int:
    """Write the record, or print it where no file is named."""
    if args.out is not None:
        refuse_overwriting(args.out, args.old, args.force)
    elif args.force:
        raise InputError("--force: replaces a file; give OUT.json too.")
    from layoutkit.job.templates import example_record, returning_record

    if args.old is None:
        record = example_record(today(), args.hand or "right")
        advice = "every value in it is an invented example: replace them all"
    else:
        record = returning_record(read_job(args.old, args), today())
        advice = "the bowler is kept; fill in the ball and the layout"
    from layoutkit.job.store import kept_words, record_text, save_record

    if args.out is None:
        write(record_text(record))
        return FINE
    kept = kept_words(save_record(record, args.out))
    write(
        f"Wrote {named(args.out)}: {advice}, then run `layoutkit plan {named(args.out)}`.{kept}\n"
    )
    return FINE


COMMAND = Command(
    "new",
    "start a job record",
    "Start a job record: one with every field filled with invented example values, or for a "
    "returning\nbowler one that keeps the bowler and leaves ball and layout to fill in.",
    "  layoutkit new job.json --hand left\n  layoutkit new second-ball.json --from job.json",
    arguments,
    run,
)
