"""The command `layoutkit sure`: how certain a plan is."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import Command, exit_code, json_line, quoted
from layoutkit.commands.job_options import job_arguments, json_argument, planned_job
from layoutkit.commands.streams import progress_bar, write
from layoutkit.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p)
    json_argument(p)
    p.add_argument("--draws", default="2000", metavar="N", help="random draws (default: 2000)")


def run(args: argparse.Namespace) -> int:
    """Print every figure with its uncertainty, and the chance of each limit."""
    draws = _draws(args.draws)
    plan = planned_job(args)
    from layoutkit.output.certainty_report import certainty_dict, certainty_text
    from layoutkit.planning.certainty import certainty

    sure = certainty(plan, draws, told=progress_bar())
    write(json_line(certainty_dict(plan, sure)) if args.json else certainty_text(plan, sure))
    return exit_code(plan.outcome)


def _draws(text: str) -> int:
    if not text.isascii() or not text.isdigit() or not 100 <= int(text[:9]) <= 100_000:
        raise InputError(f"--draws: {quoted(text)} is not possible; possible: 100 to 100000.")
    return int(text)


COMMAND = Command(
    "sure",
    "how certain the plan is, and the chance that a limit is exceeded",
    "Carry the tolerances of what was measured through to every distance, static weight and "
    "RG, and\ndraw the chance that the event's scale reads beyond a limit. Exit code 1 where the "
    "plan fails a\nrule, 3 where a figure that a check needs is missing.",
    "  layoutkit sure job.json\n  layoutkit sure job.json --draws 20000 --json",
    arguments,
    run,
)
