"""The command `layoutkit plan`: a job's plan as text or JSON, and its work sheet."""

from __future__ import annotations

import argparse
import os
from dataclasses import replace
from typing import TYPE_CHECKING

from layoutkit.commands.batch import Output, checks_line, many, statics_line
from layoutkit.commands.common import (
    Command,
    exit_code,
    force_argument,
    json_line,
    named,
    refuse_another_kind,
    refuse_input_as_output,
    refuse_other_than_pdf,
)
from layoutkit.commands.job_options import (
    form_arguments,
    held,
    job_arguments,
    planned_job,
    record_to_change,
    shop_bits,
    with_confirmed,
    write_record,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.planning.values import Plan


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p, many=True)
    form_arguments(p)
    p.add_argument("--full", action="store_true", help="print the whole report, not the short one")
    p.add_argument(
        "--sheet",
        metavar="OUT.pdf",
        help="also write the work sheet, in inches or with --units metric in millimetres: one page, or "
        "two where it is full",
    )
    p.add_argument(
        "--card",
        metavar="CARD.pdf",
        help="also write the customer's card, half a page to be signed: what the ball has now",
    )
    force_argument(p, "OUT.pdf and CARD.pdf")
    p.add_argument("--paper", choices=("letter", "a4"), help="their paper (default: letter)")
    p.add_argument(
        "--roll",
        action="store_true",
        help="the sheet also says what the ball does on the lane, as it does where the record has a "
        "release",
    )


def run(args: argparse.Namespace) -> int:
    """Plan the job, write sheet and card where they are wanted, print the plan."""
    outputs = (("--sheet", args.sheet), ("--card", args.card))
    if args.paper is not None and args.sheet is None and args.card is None:
        raise InputError(
            f"--paper {args.paper}: is for a sheet or a card; give --sheet OUT.pdf or --card too."
        )
    if args.roll and args.sheet is None:
        raise InputError(
            "--roll: is for a sheet; give --sheet OUT.pdf too, or use the command `layoutkit roll`."
        )
    for option, path in outputs:
        if path is not None:
            refuse_other_than_pdf(option, path)
    if args.force and args.sheet is None and args.card is None:
        raise InputError("--force: replaces a file; give --sheet OUT.pdf or --card too.")
    if args.sheet is not None and args.card is not None and _same(args.sheet, args.card):
        raise InputError("--card: the sheet goes to that file; give another name.")
    if args.full and args.json:
        raise InputError("--full: is for the text; --json prints every number as it is.")
    for option, path in outputs:
        refuse_input_as_output(option, path, (args.job, args.rules))
        refuse_another_kind(option, path, args.force)
    plan = planned_job(args)
    if args.sheet is not None or not args.json:
        plan = replace(plan, bits=shop_bits(args))
    text = json_line(plan.as_dict()) if args.json else _text(plan, args)
    if args.sheet is not None:
        from layoutkit.output.sheet import write_sheet

        write_sheet(plan, args.sheet, args.paper or "letter", args.roll, args.units)
        if not args.json:
            text += f"\nWork sheet written to {named(args.sheet)}\n"
    if args.card is not None:
        from layoutkit.output.card import write_card

        write_card(plan, args.card, args.paper or "letter", args.units)
        if not args.json:
            text += f"\nCard written to {named(args.card)}\n"
    if args.confirm and args.job != "-":
        text += _keep_confirmed(args, plan)
    write(text)
    return exit_code(plan.outcome)


def _same(one: str, other: str) -> bool:
    return os.path.realpath(one) == os.path.realpath(other)


def _text(plan: Plan, args: argparse.Namespace) -> str:
    """The plan in short, or the whole report."""
    if args.full:
        from layoutkit.output.report import report

        return report(plan, args.units)
    from layoutkit.output.short_report import short_report

    return short_report(plan, args.units)


def _keep_confirmed(args: argparse.Namespace, plan: Plan) -> str:
    """Write what is confirmed into the record's file; what to tell of it."""
    from layoutkit.job.record import parse_job
    from layoutkit.job.store import kept_words

    with held(args.job):
        record = with_confirmed(record_to_change(args.job, args), plan.job, args.confirm)
        parse_job(record)
        kept = write_record(record, args.job, args)
    if args.json:
        return ""
    fields = ", ".join(args.confirm)
    return f"\nConfirmed in {named(args.job)}: {fields}.{kept_words(kept)}\n"


COMMAND = Command(
    "plan",
    "plan a job: marks, holes, weights, inertia, checks, work sheet",
    "Plan a job: whether the drilled ball is legal, its layout and static weights, the cuts and what to\n"
    "mind; with --full also every mark, step, arc, wall, the inertia and the rules' sources. Exit code\n"
    "1 where the plan fails a rule, 3 where a figure that a check needs is missing. With --confirm the\n"
    "record keeps that an unusual value is meant.",
    "  layoutkit plan job.json\n"
    "  layoutkit plan job.json --full\n"
    "  layoutkit plan job.json --units metric --sheet job.pdf --paper a4\n"
    "  layoutkit plan job.json --card card.pdf\n"
    "  layoutkit plan - --json < job.json\n"
    "  layoutkit plan job.json --confirm bowler.grip.bridge",
    arguments,
    many(
        run,
        lambda values: statics_line(values["statics"]) + checks_line(values),
        (Output("--sheet", ".sheet.pdf"), Output("--card", ".card.pdf")),
        ("--full", "--confirm"),
    ),
)
