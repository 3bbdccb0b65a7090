"""The command `layoutkit strips`: paper strips at true size, to lay a plan out with scissors and tape."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import (
    Command,
    exit_code,
    force_argument,
    named,
    refuse_another_kind,
    refuse_input_as_output,
    refuse_other_than_pdf,
)
from layoutkit.commands.job_options import job_arguments, planned_job, units_argument
from layoutkit.commands.streams import write


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p)
    p.add_argument("--out", metavar="OUT.pdf", required=True, help="the pages to print")
    force_argument(p, "OUT.pdf")
    p.add_argument(
        "--paper", choices=("letter", "a4"), default="letter", help="(default: %(default)s)"
    )
    units_argument(p, "of the figures beside the ticks")


def run(args: argparse.Namespace) -> int:
    """Plan the job, write the strips, and say what to do with them first."""
    refuse_other_than_pdf("--out", args.out)
    refuse_input_as_output("--out", args.out, (args.job, args.rules))
    refuse_another_kind("--out", args.out, args.force)
    plan = planned_job(args)
    from layoutkit.output.report import do_not_drill
    from layoutkit.output.strips import write_strips

    write_strips(plan, args.out, args.paper, args.units)
    warning = do_not_drill(plan)
    write(
        f"Strips written to {named(args.out)}. Print at 100 % on one side, and measure both bars on "
        "every page before you cut.\n" + (f"{warning} (`layoutkit plan`).\n" if warning else "")
    )
    return exit_code(plan.outcome)


COMMAND = Command(
    "strips",
    "paper strips at true size, to mark the ball with scissors and tape",
    "Write pages of paper strips at 1:1 for this ball's diameter: one for each arc of the steps,\n"
    "with the chords that set the angles, and how to lay them in order. Exit code 1 where the plan\n"
    "fails a rule, 3 where a figure that a check needs is missing.",
    "  layoutkit strips job.json --out strips.pdf\n"
    "  layoutkit strips job.json --out strips.pdf --paper a4 --units metric",
    arguments,
    run,
)
