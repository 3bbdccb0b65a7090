"""The command `layoutkit choose`: from what a bowler needs to a ball and a layout."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

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
    from layoutkit.choosing.choose import Choice, Labels
    from layoutkit.job.record import Job
    from layoutkit.job.rules import RuleSet
    from layoutkit.job.tables import Table
    from layoutkit.job.wants import Wants
    from layoutkit.planning.values import Plan


NUMBERS = ("1", "2", "3", "4", "5", "6")  # of proposals


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
    p.add_argument(
        "--owned",
        metavar="FIRST.json,SECOND.json",
        help="balls that the bowler has already: how they differ, and what fills the gap",
    )
    p.add_argument(
        "--oil",
        metavar="FEET,FEET",
        help="with --owned: other lengths of oil beside the record's (5 ft less and more)",
    )
    p.add_argument(
        "--out",
        metavar="OUT.json",
        help="write the record of a proposal; OUT.pdf is a page for the customer with up to three",
    )
    p.add_argument(
        "--number", metavar="N", help="which proposal's record --out OUT.json is (default: 1)"
    )
    force_argument(p, "the file of --out")


def run(args: argparse.Namespace) -> int:
    """Search, print the proposals, write the record of one; raises InputError as `choose` does."""
    if args.number is not None:
        if args.number not in NUMBERS:
            raise InputError(f"--number: {quoted(args.number)} is not possible; possible: 1 to 6.")
        if args.out is None or _is_page(args):
            raise InputError(
                "--number: is about the record that is written; give --out OUT.json too."
            )
    if args.oil is not None and args.owned is None:
        raise InputError("--oil: is for comparing owned balls; give --owned too.")
    if args.columns and args.balls is None:
        raise InputError("--columns: is about a table; give --balls BALLS.csv too.")
    if args.force and args.out is None:
        raise InputError("--force: replaces a file; give --out OUT.json or OUT.pdf too.")
    refuse_input_as_output("--out", args.out, (args.job, args.rules, args.balls, *_names(args)))
    if _is_page(args):
        refuse_another_kind("--out", args.out, args.force)
    elif args.out is not None:
        refuse_overwriting(args.out, None, args.force)
    job = read_shop_job(args.job, args)
    rules = read_named_rules(args)
    from layoutkit.choosing.choose import choose
    from layoutkit.choosing.others import other_plans
    from layoutkit.output.choose_report import choose_dict, choose_text

    wants = _wants(job, args)
    table = _table(args)
    labels = None
    if table is not None:
        from layoutkit.bench.shelf import read_labels

        labels = read_labels(table, named(args.balls))
    others = other_plans(wants, args.job, lambda path: read_shop_job(path, args), rules)
    if args.owned is not None:
        return _owned(_Asked(job, wants, rules, labels, others), table, args)
    choice = choose(job, wants, labels, rules, others, progress_bar())
    text = (
        json_line(choose_dict(choice, table))
        if args.json
        else choose_text(choice, args.units, table)
    )
    write(text + _written([("", choice)], table, args))
    return FINE if choice.proposals and not choice.proposals[0].dropped else FAILS


class _Asked(NamedTuple):
    """What a search is about, as `choose` takes it."""

    job: Job
    wants: Wants
    rules: RuleSet | None
    labels: Labels | None
    others: dict[str, Plan]


def _owned(asked: _Asked, table: Table | None, args: argparse.Namespace) -> int:
    """Compare the owned balls, search what fills each gap, print it."""
    from layoutkit.choosing.owned import compare_owned, fill
    from layoutkit.output.owned_report import filling_dict, filling_text, gap_words
    from layoutkit.planning.plan import plan

    job, wants, rules, labels, others = asked
    names = _names(args)
    plans = {
        name: plan(read_shop_job(source, args), rules)
        for name, source in zip(_short(names), names, strict=True)
    }
    owned = compare_owned(job, plans, _oils(args), rules)
    fillings = [
        (gap, fill(job, owned, gap, wants, labels, rules, others, progress_bar()))
        for gap in owned.gaps
    ]
    text = (
        json_line(filling_dict(owned, fillings, table))
        if args.json
        else filling_text(owned, fillings, args.units, table)
    )
    worded = [(gap_words(owned, gap), choice) for gap, choice in fillings]
    write(text + _written(worded, table, args))
    return FAILS if any(not c.proposals or c.proposals[0].dropped for _, c in fillings) else FINE


def _names(args: argparse.Namespace) -> list[str]:
    """The files of --owned."""
    if args.owned is None:
        return []
    names = [name.strip() for name in args.owned.split(",") if name.strip()]
    if len(set(names)) < len(names):
        raise InputError("--owned: names a ball twice; give each once.")
    return names


def _short(names: list[str]) -> list[str]:
    """The names of files without their folders, if that tells them apart."""
    short = [os.path.basename(name) for name in names]
    return short if len(set(short)) == len(short) else names


def _oils(args: argparse.Namespace) -> tuple[float, ...]:
    if args.oil is None:
        return ()
    texts = args.oil.split(",")
    return tuple(float(quantity("lane.oil_length", text, "--oil")) for text in texts)


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


def _is_page(args: argparse.Namespace) -> bool:
    """Whether --out names a PDF, a page for the customer, and not a record."""
    return args.out is not None and args.out.lower().endswith(".pdf")


def _written(
    parts: Sequence[tuple[str, Choice]], table: Table | None, args: argparse.Namespace
) -> str:
    """Write the record of a proposal or the customer's page, where that is asked for; what to tell."""
    if args.out is None:
        return ""
    if _is_page(args):
        from layoutkit.job.files import write_atomic
        from layoutkit.output.choose_page import page_bytes

        write_atomic(args.out, page_bytes(parts, table, units=args.units))
        return "" if args.json else f"\nPage written to {named(args.out)}\n"
    from layoutkit.job.store import save_job

    proposals = [proposal for _, choice in parts for proposal in choice.proposals]
    number = int(args.number or "1")
    if number > len(proposals):
        raise InputError(
            f"--number: there is no proposal {number}; possible: 1 to {len(proposals)}."
        )
    save_job(proposals[number - 1].plan.job, args.out)
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
    "      --want 'entry_angle=0.3: than first.json' --out page.pdf\n"
    "  layoutkit choose job.json --owned first.json,second.json --balls sample_bowlers/shelf.csv",
    arguments,
    run,
)
