"""The command `layoutkit change`: the smallest changes that bring a plan inside the rules."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from layoutkit.commands.batch import many
from layoutkit.commands.common import Command, exit_code, json_line
from layoutkit.commands.job_options import job_arguments, json_argument, planned_job
from layoutkit.commands.streams import write


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p, many=True)
    p.add_argument(
        "--shelf",
        metavar="BALLS.csv",
        help="also the balls of this table on which the layout passes, the likest label first",
    )
    json_argument(p)


def run(args: argparse.Namespace) -> int:
    """Print what would bring the plan inside, and the balls on which the layout passes."""
    plan = planned_job(args)
    from layoutkit.output.changes_report import changes_dict, changes_text
    from layoutkit.planning.changes import search

    shelf = None
    if args.shelf is not None:
        from layoutkit.bench.shelf import load_labels, rank

        shelf = rank(plan.job, load_labels(args.shelf), plan.rules)
    changes = search(plan)
    if args.json:
        write(json_line(changes_dict(plan, changes, shelf)))
    else:
        write(changes_text(plan, changes, shelf))
    return exit_code(plan.outcome)


def _line(values: Mapping[str, Any]) -> str:
    """How many changes would help, and what the cheapest is about."""
    changes = values["changes"]
    if not changes:
        return "no change is needed" if values["outcome"] == "pass" else "no change was found"
    cheapest = min(changes, key=lambda each: float(each["cost"]))
    count = "1 change" if len(changes) == 1 else f"{len(changes)} changes"
    return f"{count}, the cheapest: {cheapest['kind']} (cost {cheapest['cost']:.1f})"


COMMAND = Command(
    "change",
    "the smallest changes that bring a plan inside the rules",
    "Search the smallest changes of hole depths, of the layout and of both together that bring "
    "a plan\ninside the rules; spans, pitches and balance holes are left alone. Exit code 1 where "
    "the plan\nfails a rule, 3 where a figure that a check needs is missing.",
    "  layoutkit change job.json\n  layoutkit change job.json --shelf balls.csv",
    arguments,
    many(run, _line),
)
