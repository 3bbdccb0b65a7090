"""The command `layoutkit checkin`: a list of weighed balls in, verdicts and a log out."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING

from layoutkit.commands.common import (
    Command,
    exit_code,
    force_argument,
    json_line,
    named,
    quoted,
    quoted_name,
    refuse_another_kind,
    refuse_input_as_output,
    refuse_other_than_pdf,
    refuse_overwriting,
    today,
)
from layoutkit.commands.job_options import (
    BOOK,
    book_number,
    columns_argument,
    form_arguments,
    read_columns_argument,
    read_job,
    read_shop_file,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError
from layoutkit.output.checkin_guide import GUIDE

if TYPE_CHECKING:
    from layoutkit.bench.checkin import CheckIn
    from layoutkit.job.record import Scale
    from layoutkit.job.rules import RuleSet
    from layoutkit.job.tables import Table

DEFAULT_RULES = "usbc-2020"


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument(
        "balls",
        metavar="BALLS.csv",
        help="the balls, one a row; book:NUMBER is the drilled ball of a job in the shop's book",
    )
    columns_argument(p, "gross")
    p.add_argument(
        "--scale",
        metavar="PARTS",
        help="the scale, in place of the shop's: 'arm=4.275,supports=8', 'pan_lever=6', "
        "'reading=half_difference'; also allowance=0.25",
    )
    p.add_argument(
        "--shop",
        metavar="FILE",
        help="the shop's file, whose scale is taken (default: LAYOUTKIT_SHOP, else shop.json in the "
        "user's configuration folder)",
    )
    p.add_argument(
        "--rules",
        metavar="RULES",
        default=DEFAULT_RULES,
        help="a built-in rule set or a shop's own, FILE.json (default: %(default)s)",
    )
    p.add_argument("--log", metavar="OUT.pdf", help="also write the log, to be signed")
    p.add_argument("--title", default="", help="for the log: the event and its day")
    p.add_argument("--paper", choices=("letter", "a4"), help="the log's paper (default: letter)")
    p.add_argument(
        "--out", metavar="OUT.csv", help="also write the whole table with the verdicts beside it"
    )
    p.add_argument(
        "--into-book",
        action="store_true",
        help="also note the checks in the lives of the balls in the shop's book, by their serials",
    )
    force_argument(p, "OUT.pdf and OUT.csv")
    form_arguments(p)


def run(args: argparse.Namespace) -> int:
    """Judge the balls, write log and table where they are wanted, print the verdicts."""
    _check(args)
    rules = _rules(args.rules)
    scale = _scale(args)
    from layoutkit.bench.checkin import check_in, entries_of
    from layoutkit.job.record import scale_kind
    from layoutkit.output.checkin_report import checkin_csv, checkin_dict, checkin_text

    table = _table(args)
    entries = entries_of(table)
    if any(entry.pairs for entry in entries) and not scale_kind(scale):
        raise InputError(
            f"{named(args.balls)}: has raw readings, and the scale does not say what two of them "
            "mean; possible: --scale supports=INCHES, pan_lever=INCHES or reading=half_difference, or "
            "the same in the shop's file."
        )
    if not any(entry.gross or entry.readings or entry.pairs for entry in entries):
        first = next((e.problems[0] for e in entries if e.problems), "no weight stands in any row.")
        raise InputError(f"{named(args.balls)}: no row can be used; {first}")
    result = check_in(entries, rules, scale)
    text = (
        json_line(checkin_dict(result, table))
        if args.json
        else checkin_text(result, args.units, table)
    )
    outputs: list[tuple[str, bytes, str]] = []  # all are made before one is written
    if args.log is not None:
        from layoutkit.output.checkin_log import log_bytes

        pdf = log_bytes(result, args.title, args.paper or "letter", args.units)
        outputs.append((args.log, pdf, "Log"))
    if args.out is not None:
        # the mark tells a spreadsheet that it is UTF-8
        outputs.append((args.out, checkin_csv(result, table).encode("utf-8-sig"), "Table"))
    from layoutkit.job.files import write_atomic

    for path, data, what in outputs:
        write_atomic(path, data)
        if not args.json:
            text += f"\n{what} written to {named(path)}\n"
    if args.into_book:
        told = _into_book(result)
        text += "" if args.json else f"\n{told}\n"
    write(text)
    return exit_code(result.outcome)


def _table(args: argparse.Namespace) -> Table:
    """The balls that the argument names: a file's, or the one of a job in the shop's book."""
    from layoutkit.bench.checkin import COLUMNS, ball_table, job_table

    columns = read_columns_argument(args, COLUMNS)
    if not args.balls.startswith(BOOK):
        return ball_table(args.balls, columns)
    if columns:
        raise InputError("--columns: is a table's; a job of the book has none.")
    job = read_job(args.balls, args)
    try:
        return job_table(job, str(book_number(args.balls)))
    except InputError as error:
        raise InputError(f"{named(args.balls)}: {error}") from None


def _into_book(result: CheckIn) -> str:
    """Note the checks in the shop's book; what to say of that."""
    from layoutkit.book.book import Book
    from layoutkit.book.schema import book_path
    from layoutkit.output.checkin_report import book_checks, noted_words

    checks = book_checks(result, today())
    with Book(book_path()) as book:
        new = book.add_checks(checks)
    return noted_words(len(checks), new, len(result.verdicts) - len(checks))


def _check(args: argparse.Namespace) -> None:
    """Raise InputError for what cannot be right whatever the table holds."""
    if args.log is None and (args.title or args.paper):
        raise InputError("--title and --paper: are for the log; give --log OUT.pdf too.")
    if args.force and args.log is None and args.out is None:
        raise InputError("--force: replaces a file; give --log OUT.pdf or --out OUT.csv too.")
    if args.log is not None:
        refuse_other_than_pdf("--log", args.log)
    if args.out is not None and not args.out.lower().endswith(".csv"):
        raise InputError(f"--out: {quoted_name(args.out)} is no CSV name; possible: OUT.csv.")
    for option, path in (("--log", args.log), ("--out", args.out)):
        refuse_input_as_output(option, path, (args.balls, args.rules))
        refuse_another_kind(option, path, args.force)
    if args.out is not None:
        try:
            refuse_overwriting(args.out, args.balls, args.force)
        except InputError as error:
            raise InputError(f"--out: {error}") from None


def _rules(name: str) -> RuleSet:
    """The rule set that --rules names."""
    from layoutkit.job.built_in_rules import BUILT_IN, rule_set

    if name in BUILT_IN:
        return rule_set(name)
    if not name.lower().endswith(".json") and not os.path.exists(name):
        raise InputError(
            f"--rules: {quoted(name)} is no rule set; possible: {', '.join(BUILT_IN)}, or FILE.json."
        )
    from layoutkit.job.rule_files import load_rules

    return load_rules(name)


def _scale(args: argparse.Namespace) -> Scale:
    """The scale that --scale states, else the one of the shop's file, else one not calibrated."""
    from layoutkit.bench.checkin import shop_scale, stated_scale

    if args.scale is not None:
        if args.shop is not None:
            raise InputError("--scale: takes the place of the shop's scale; leave --shop out.")
        try:
            return stated_scale(args.scale)
        except InputError as error:
            raise InputError(f"--scale: {error}") from None
    path, shop = read_shop_file(args.shop)
    if args.shop is not None and shop is None:
        raise InputError(f"--shop: {path}: no such file; `layoutkit scale --save` writes one.")
    return shop_scale(shop)


COMMAND = Command(
    "checkin",
    "the check-in desk: a list of weighed balls, a verdict on each, a log",
    "Check in a list of balls before an event, without plan or layout. The first line of the table\n"
    "names its columns: number, owner, ball, serial, diameter, gross, then top, side and finger in\n"
    "ounces, or two raw readings each (top_a, top_b, side_a, side_b, finger_a, finger_b), and holes,\n"
    "thumb, balance_holes, vents, palm_mark (a count, or yes or no; blank is not looked at). Gross and\n"
    "the three static weights are always needed, the others where the rule set's looked_at says so.\n"
    "Delimiter, encoding and decimal sign are the file's own; other columns come back as they were.\n"
    "Exit code 1 where a ball fails, 3 where none fails and one is incomplete.",
    "  layoutkit checkin sample_bowlers/checkin.csv --scale arm=4.275,pan_lever=6\n"
    "  layoutkit checkin balls.csv --log log.pdf --out checked.csv --title 'An invented event'\n"
    '  layoutkit checkin balls.csv --columns "Ser. no.=serial,Wt=gross kg"\n\n' + GUIDE.rstrip(),
    arguments,
    run,
)
