"""The command `layoutkit shelf`: the balls of a table, ranked under a job's layout."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import Command, exit_code, json_line, named
from layoutkit.commands.job_options import (
    columns_argument,
    form_arguments,
    job_arguments,
    read_columns_argument,
    read_named_rules,
    read_shop_job,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p)
    form_arguments(p)
    p.add_argument("balls", metavar="BALLS.csv", help="the labels, columns named like the record's")
    columns_argument(p, "weight")


def run(args: argparse.Namespace) -> int:
    """Print the balls in order of merit; raises InputError where none can be used."""
    job = read_shop_job(args.job, args)
    rules = read_named_rules(args)
    from layoutkit.bench.shelf import COLUMNS, label_table, rank, read_labels
    from layoutkit.output.shelf_report import shelf_dict, shelf_text

    table = label_table(args.balls, read_columns_argument(args, COLUMNS))
    shelf = rank(job, read_labels(table, named(args.balls)), rules)
    if not shelf.ranked:
        first = shelf.unusable[0]
        raise InputError(f"{args.balls}: no row can be used; line {first.line}: {first.reason}")
    write(
        json_line(shelf_dict(shelf, table))
        if args.json
        else shelf_text(job, shelf, args.units, table)
    )
    return exit_code(shelf.ranked[0].plan.outcome)


COMMAND = Command(
    "shelf",
    "rank the balls on the shelf under a job's layout",
    "Plan the bowler and layout of a job on each ball of a table of labels, and rank them by\n"
    "outcome, static weights and differential. The first line names the columns, as in the\n"
    "record's ball: name, serial, diameter, diameter_now, weight, top_weight, pin_to_cg,\n"
    "psa.distance, psa.cg_bearing, rg_low, differential, intermediate_differential, shell.thickness,\n"
    "shell.density, filler_density. Other columns are kept as they stand. Exit code 1 where every\n"
    "ball fails, 3 where none is better than incomplete.",
    "  layoutkit shelf job.json sample_bowlers/shelf.csv\n"
    '  layoutkit shelf job.json stock.csv --columns "Ball=name,Size=diameter mm,Wt=weight"',
    arguments,
    run,
)
