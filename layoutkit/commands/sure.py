"""The command `layoutkit sure`: how certain a plan is."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from layoutkit.commands.batch import many
from layoutkit.commands.common import Command, exit_code, json_line, quoted
from layoutkit.commands.job_options import job_arguments, json_argument, planned_job
from layoutkit.commands.streams import progress_bar, write
from layoutkit.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p, many=True)
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


def _line(values: Mapping[str, Any]) -> str:
    """The chance that the ball is illegal, and of which limits."""
    if values["outcome"] == "incomplete":
        return "a figure is missing, so no chance is known"
    limits = {name: each["chance"] for name, each in values["chances"].items() if each["chance"]}
    told = ", ".join(f"{name.rpartition('_')[0]} {_percent(c)}" for name, c in limits.items())
    illegal = f"illegal with a chance of {_percent(values['illegal']['chance'])}"
    return f"{illegal} ({told})" if told else illegal


def _percent(chance: float) -> str:
    return "below 1 %" if 0.0 < chance < 0.005 else f"{100.0 * chance:.0f} %"


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
    many(run, _line),
)
