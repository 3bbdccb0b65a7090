"""The command `layoutkit choose`: from what a bowler needs to a ball and a layout."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from layoutkit.commands.common import (
    FAILS,
    FINE,
    Command,
    force_argument,
    json_line,
    named,
    quoted,
    refuse_input_as_output,
    refuse_overwriting,
)
from layoutkit.commands.job_options import (
    columns_argument,
    form_arguments,
    job_arguments,
    read_columns_argument,
    read_named_rules,
    read_shop_job,
)
from layoutkit.commands.streams import progress_bar, write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.choosing.choose import Choice
    from layoutkit.job.record import Job
    from layoutkit.job.rules import RuleSet
    from layoutkit.job.tables import Table
    from layoutkit.job.wants import Wants
    from layoutkit.planning.values import Plan


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p)
    form_arguments(p)
    p.add_argument(
        "--want",
        metavar="WANT",
        action="append",
        default=[],
        help="NAME=LEAST:MOST, one end may be left out; behind it @WEIGHT for a wish in place of a "
        "must, and 'than FILE' for a difference from another job; again for each want. They come in "
        "place of those of the same name in the record",
    )
    p.add_argument(
        "--balls", metavar="BALLS.csv", help="choose among these balls, not the job's own"
    )
    columns_argument(p, "weight")
    p.add_argument("--out", metavar="OUT.json", help="write the record of a proposal")
    p.add_argument(
        "--number", metavar="N", default="1", help="which proposal that is (default: %(default)s)"
    )
    force_argument(p, "the file of --out")


def run(args: argparse.Namespace) -> int:
    """Search, print the proposals, write the record of one; raises InputError as `choose` does."""
    if not args.number.isdigit() or not 1 <= int(args.number) <= 6:
        raise InputError(f"--number: {quoted(args.number)} is not possible; possible: 1 to 6.")
    if args.columns and args.balls is None:
        raise InputError("--columns: is about a table; give --balls BALLS.csv too.")
    if args.force and args.out is None:
        raise InputError("--force: replaces a file; give --out OUT.json too.")
    refuse_input_as_output("--out", args.out, (args.job, args.rules, args.balls))
    if args.out is not None:
        refuse_overwriting(args.out, None, args.force)
    job = read_shop_job(args.job, args)
    rules = read_named_rules(args)
    from layoutkit.choosing.choose import choose
    from layoutkit.output.choose_report import choose_dict, choose_text

    wants = _wants(job, args)
    table = _table(args)
    labels = None
    if table is not None:
        from layoutkit.bench.shelf import read_labels

        labels = read_labels(table, named(args.balls))
    others = _others(wants, rules, args)
    choice = choose(job, wants, labels, rules, others, progress_bar())
    text = (
        json_line(choose_dict(choice, table))
        if args.json
        else choose_text(choice, args.units, table)
    )
    if args.out is not None:
        text += _written(choice, args)
    write(text)
    return FINE if choice.proposals and not choice.proposals[0].dropped else FAILS


def _wants(job: Job, args: argparse.Namespace) -> Wants:
    from layoutkit.job.wants import read_wants

    try:
        return read_wants(args.want, job.wants)
    except InputError as error:
        raise InputError(f"--want: {error}") from None


def _table(args: argparse.Namespace) -> Table | None:
    if args.balls is None:
        return None
    from layoutkit.bench.shelf import COLUMNS, label_table

    return label_table(args.balls, read_columns_argument(args, COLUMNS))


def _others(wants: Wants, rules: RuleSet | None, args: argparse.Namespace) -> dict[str, Plan]:
    """The plans of the jobs that wants name with ``than``."""
    from layoutkit.planning.plan import plan

    names = {each.than for each in wants.ranges.values() if each.than is not None}
    return {name: plan(read_shop_job(name, args), rules) for name in sorted(names)}


def _written(choice: Choice, args: argparse.Namespace) -> str:
    """Write the record of a proposal; what to tell of it."""
    from layoutkit.job.store import save_job

    number = int(args.number)
    if number > len(choice.proposals):
        raise InputError(
            f"--number: there is no proposal {number}; possible: 1 to {len(choice.proposals)}."
        )
    save_job(choice.proposals[number - 1].plan.job, args.out)
    return "" if args.json else f"\nProposal {number} written to {named(args.out)}\n"


COMMAND = Command(
    "choose",
    "from what a bowler needs to a ball and a layout",
    "Search every place of the pin and every bearing of the reference mark, on the job's own ball or "
    "on\nthose of a table, for a few layouts that bring what is wanted and differ by more than a "
    "driller's\ntolerance. Wants are the record's and those of --want: legal (chance in percent), "
    "flare_width,\nring_spacing, rings_clear, marks_clear, pin (a region), rg_about_pap, differential,\n"
    "intermediate_differential, side, finger, top, board_at_pins, entry_angle, moved, turned. Exit "
    "code 1\nwhere no layout meets every must.",
    "  layoutkit choose job.json --want flare_width=3:5 --want marks_clear=0: --want legal=95:\n"
    "  layoutkit choose job.json --want 'pin=above the fingers' --want side=-0.5:0.5@2\n"
    "  layoutkit choose job.json --balls sample_bowlers/shelf.csv \\\n"
    "      --want 'entry_angle=0.3: than first.json'",
    arguments,
    run,
)
