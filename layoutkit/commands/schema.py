"""The command `layoutkit schema`: the record's JSON Schema, its ranges, or a rule set."""

from __future__ import annotations

import argparse
import json

from layoutkit.commands.common import FINE, Command
from layoutkit.commands.streams import write


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    what = p.add_mutually_exclusive_group()
    what.add_argument(
        "--limits", action="store_true", help="print the physical range of every quantity instead"
    )
    what.add_argument(
        "--rules",
        metavar="NAME",
        help="print a built-in rule set instead, from which a shop can start its own file",
    )


def run(args: argparse.Namespace) -> int:
    """Print the schema of the record, its ranges, or a built-in rule set."""
    if args.rules is not None:
        from layoutkit.job.built_in_rules import rules_template

        write(rules_template(args.rules))
        return FINE
    if args.limits:
        from layoutkit.job.limits import LIMITS
        from layoutkit.output.report import table

        rows = [("field", "possible", "meaning")]
        rows += [(row.path, row.range, row.meaning) for row in LIMITS]
        write("\n".join(table(rows, indent="")) + "\n")
        return FINE
    from layoutkit.job.record import job_schema

    write(json.dumps(job_schema(), indent=2) + "\n")
    return FINE


COMMAND = Command(
    "schema",
    "print the record's JSON Schema, the ranges, or a rule set",
    "Print the JSON Schema of the job record, the table of possible ranges, or a built-in rule "
    "set.",
    "  layoutkit schema > job.schema.json\n"
    "  layoutkit schema --limits\n"
    "  layoutkit schema --rules usbc-2020 > our-league.json",
    arguments,
    run,
)
