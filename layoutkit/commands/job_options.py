"""What the commands that plan a job take: the record, the rules, the shop's file, and the form."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from layoutkit.commands.streams import read_standard_input
from layoutkit.errors import InputError, LayoutkitError

if TYPE_CHECKING:
    from layoutkit.book.book import Book
    from layoutkit.job.record import Job
    from layoutkit.job.rules import RuleSet
    from layoutkit.job.shop import Bit, Shop
    from layoutkit.job.tables import Wanted
    from layoutkit.planning.values import Plan


BOOK = "book:"  # in front of a number, a job of the shop's book


# --- arguments --------------------------------------------------------------------------------------


def job_arguments(p: argparse.ArgumentParser, many: bool = False) -> None:
    """The record, the rules and the shop's file; as many records as are named where ``many``."""
    record = (
        "the job record, a JSON file; book:NUMBER is a job of the shop's book, - reads standard "
        "input"
    )
    if many:
        p.add_argument(
            "jobs",
            metavar="JOB",
            nargs="+",
            help=f"{record}; several files, a folder of them or a pattern such as '2026/*.json' make "
            "one line a job",
        )
    else:
        p.add_argument("job", metavar="JOB", help=record)
    p.add_argument(
        "--rules", metavar="FILE.json", help="a shop's own rule set, in place of the record's"
    )
    shop = p.add_mutually_exclusive_group()
    shop.add_argument(
        "--shop",
        metavar="FILE",
        help="the shop's file, whose arm is taken where the record states none (default: "
        "LAYOUTKIT_SHOP, else shop.json in the user's configuration folder)",
    )
    shop.add_argument("--no-shop", action="store_true", help="ignore the shop's file")
    p.add_argument(
        "--confirm",
        metavar="FIELD",
        action="append",
        default=[],
        help="the unusual value of this field, which a question names, is meant; again for each field",
    )
    p.add_argument(
        "--fitted",
        action="store_true",
        help="take arm, shell and filler as fitted to the shop's weighed jobs, where the record is "
        "silent",
    )
    p.add_argument(
        "--inner",
        metavar="NAME",
        help="plan with this one of the record's bowler.grip.thumb.inners",
    )


def json_argument(p: argparse.ArgumentParser) -> None:
    """The option --json, alone."""
    p.add_argument("--json", action="store_true", help="print JSON at full precision")


def form_arguments(
    p: argparse.ArgumentParser, json_help: str = "print JSON at full precision"
) -> None:
    """The options --json and --units, of which one can be given."""
    form = p.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help=json_help)
    units_argument(form, "how the text prints lengths and weights")


def units_argument(p: argparse._ActionsContainer, of: str) -> None:
    """The option --units; ``of`` says in its help what it is about."""
    p.add_argument(
        "--units",
        choices=("fraction", "decimal", "metric"),
        default="fraction",
        help=f"{of} (default: %(default)s)",
    )


def columns_argument(p: argparse.ArgumentParser, example: str) -> None:
    """The option --columns of a command that reads a table; ``example`` is one of its names."""
    p.add_argument(
        "--columns",
        metavar="MAP",
        action="append",
        default=[],
        help="what the table's own headings stand for, with a unit where its cells have none: "
        f"'Ser. no.=serial,Wt={example} kg'",
    )


def read_columns_argument(args: argparse.Namespace, possible: Sequence[str]) -> dict[str, Wanted]:
    """What --columns says of a table's headings; ``possible`` are the names they may stand for."""
    from layoutkit.job.tables import read_columns

    try:
        return read_columns(args.columns, possible)
    except InputError as error:
        raise InputError(f"--columns: {error}") from None


# --- from arguments to a plan -----------------------------------------------------------------------


def planned_job(args: argparse.Namespace) -> Plan:
    """The plan of the record under the rules that the arguments name."""
    job = read_shop_job(args.job, args)
    rules = read_named_rules(args)
    from layoutkit.planning.plan import plan

    return plan(job, rules)


def shop_bits(args: argparse.Namespace) -> tuple[Bit, ...]:
    """The bits that the shop's file lists; none without a file, or where it is to be ignored."""
    if args.no_shop:
        return ()
    shop = read_shop_file(args.shop)[1]
    return () if shop is None else shop.owned


def read_shop_job(source: str, args: argparse.Namespace) -> Job:
    """The record of a file, or of standard input for `-`, with what the shop's file says."""
    job = with_shop_file(read_job(source, args), args)
    if args.inner is not None:
        from layoutkit.planning.inners import with_inner

        try:
            job = with_inner(job, args.inner)
        except InputError as error:
            raise InputError(error.words, "--inner") from None
    if not args.confirm:
        return job
    from layoutkit.planning.questions import confirmed

    try:
        return confirmed(job, args.confirm)
    except InputError as error:
        raise InputError(f"--confirm: {error}") from None


def with_confirmed(record: Mapping[str, Any], job: Job, fields: Sequence[str]) -> dict[str, Any]:
    """A decoded record with the values of some fields confirmed; all else stays as it was typed.

    ``job`` is the plan's: a figure that was measured after drilling is confirmed as it was measured.
    """
    from layoutkit.job.usual import same_value, value_at
    from layoutkit.planning.questions import confirmable

    answers = dict(record.get("confirmed") or {})
    for field in fields:
        typed, answer = value_at(record, field), confirmable(job, field)
        as_typed = typed is not None and same_value(field, typed, answer)
        answers[field] = typed if as_typed else answer
    return {**record, "confirmed": answers} if answers else dict(record)


def read_job(source: str, args: argparse.Namespace) -> Job:
    """The record of a file, or of standard input for `-`.

    A record of version 1 is kept in ``args`` for `as_read`.
    """
    from layoutkit.job.files import JOB_RECORD, LARGEST_FILE, decode_json, read_json
    from layoutkit.job.record import parse_job
    from layoutkit.job.version1 import is_version_1

    if source == "-":
        data = read_standard_input(LARGEST_FILE + 1)  # one more shows what is too large
        record = decode_json(data, "standard input", JOB_RECORD)
    elif source.startswith(BOOK):
        record = decode_json(_from_book(source), source, JOB_RECORD)
    else:
        record = read_json(source, JOB_RECORD)
    if is_version_1(record):
        args.version_1 = record
    return parse_job(record)


def _from_book(source: str) -> str:
    """The record of a job in the shop's book, by ``book:NUMBER``."""
    with opened_book() as book:
        return book.record(book_number(source))


MOST_DIGITS = 18  # of a row's number; SQLite holds no more


def book_number(source: str) -> int:
    """The number in ``book:NUMBER``. Raises InputError where there is none."""
    number = source.removeprefix(BOOK).strip()
    if not (number.isascii() and number.isdigit() and len(number) <= MOST_DIGITS):
        raise InputError(f"{source}: is no job of the book; possible: book:NUMBER.")
    return int(number)


def opened_book() -> Book:
    """The shop's book, where it usually is."""
    from layoutkit.book.book import Book
    from layoutkit.book.schema import book_path

    return Book(book_path(), create=False)


def held(source: str) -> AbstractContextManager[None]:
    """Holds a job's file while it is changed; a job of the book is compared when it is written."""
    if source.startswith(BOOK):
        return nullcontext()
    from layoutkit.job.files import locked

    return locked(source)


def record_to_change(source: str, args: argparse.Namespace) -> dict[str, Any]:
    """The decoded record of a file or of a job of the book, to be written by `write_record`."""
    from layoutkit.job.files import JOB_RECORD, decode_json
    from layoutkit.job.store import load_record

    if not source.startswith(BOOK):
        return load_record(source)
    args.book_was = _from_book(source)
    return decode_json(args.book_was, source, JOB_RECORD)


def write_record(record: Mapping[str, Any], source: str, args: argparse.Namespace) -> Path | None:
    """Write a changed record to where it came from; where a text of version 1 was kept, else None."""
    from layoutkit.job.store import record_text, save_record

    if not source.startswith(BOOK):
        return save_record(record, source)
    with opened_book() as book:
        book.change_record(book_number(source), record_text(record), args.book_was)
    return None


def as_read(error: LayoutkitError, args: argparse.Namespace | None) -> LayoutkitError:
    """An error of a field under the name that a record of version 1, if one was read, gives it."""
    record = getattr(args, "version_1", None)
    if record is None or not isinstance(error, InputError) or not error.field:
        return error
    from layoutkit.job.problems import Problem
    from layoutkit.job.version1 import as_stated

    stated = as_stated(Problem(error.field, error.words), record)
    return InputError(stated.words, stated.field, error.file)


def read_named_rules(args: argparse.Namespace) -> RuleSet | None:
    """The rule set of the file that --rules names; None where the option is not given."""
    if args.rules is None:
        return None
    from layoutkit.job.rule_files import load_rules

    return load_rules(args.rules)


def with_shop_file(job: Job, args: argparse.Namespace) -> Job:
    """The job with what the shop's file says, where its record is silent and the file is wanted.

    Raises InputError for a file that was named and does not exist, that cannot be used, or that
    holds no fit where one was asked for.
    """
    if args.no_shop:
        if args.fitted:
            raise InputError("--fitted: is in the shop's file; leave --no-shop out.")
        return job
    if not args.fitted and not args.shop and job.scale is not None and job.scale.arm is not None:
        return job
    from layoutkit.job.shop import with_arm

    path, shop = read_shop_file(args.shop)
    if args.shop and shop is None:
        raise InputError(f"--shop: {path}: no such file; `layoutkit scale --save` writes one.")
    if not args.fitted:
        return with_arm(job, shop, path)
    if shop is None or shop.fitted is None:
        raise InputError(
            f"--fitted: {path} holds no fit; `layoutkit scale --jobs FOLDER --save` makes one."
        )
    from layoutkit.bench.shopfit import with_fitted
    from layoutkit.job.record import scale_kind

    kind = {} if shop.scale is None else scale_kind(shop.scale)
    return with_fitted(job, shop.fitted, shop.fitted.told, kind)


def read_shop_file(named: str | None) -> tuple[Path, Shop | None]:
    """The path of the shop's file, and what it holds; None where there is no such file.

    ``named`` is the path that an option gave, None for the usual place.
    """
    from layoutkit.job.shop import load_shop, shop_path

    path = Path(named) if named else shop_path()
    try:
        return path, load_shop(path)
    except InputError as error:
        raise InputError(f"{str(error).removesuffix('.')}; --no-shop ignores the file.") from None
