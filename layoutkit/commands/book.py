"""The command `layoutkit book`: the shop's customers, balls and jobs in one file."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from layoutkit import __version__
from layoutkit.commands.common import FINE, Command, json_line, named, quoted, quoted_name, today
from layoutkit.commands.job_options import MOST_DIGITS
from layoutkit.commands.streams import progress_bar, write
from layoutkit.errors import InputError
from layoutkit.job.files import file_name

if TYPE_CHECKING:
    from layoutkit.book.book import Book
    from layoutkit.planning.values import Plan

DAMAGED = 1
MOST_ASKED = 5  # digits of a number of days or times; a date holds no more
PARTS = ("job", "person", "ball")


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("action", metavar="ACTION", choices=tuple(_ACTIONS), help=", ".join(_ACTIONS))
    p.add_argument("what", metavar="WHAT", nargs="*", help="what the action is about, as below")
    book_arguments(p)
    p.add_argument("--json", action="store_true", help="print JSON (find, show, erase --out -)")
    p.add_argument("--since", metavar="DAY", help="find: jobs changed on this day or later")
    p.add_argument("--not-seen", metavar="DAYS", help="find: customers not seen for so many days")
    p.add_argument(
        "--thumb-opened", metavar="TIMES", help="find: customers whose thumb was opened this year"
    )
    p.add_argument(
        "--pin-above", choices=("ring", "middle"), help="find: jobs with the pin above this finger"
    )
    p.add_argument("--why", metavar="TEXT", default="", help="add: why the grip changed")
    p.add_argument(
        "--columns",
        metavar="HEADING=NAME,...",
        action="append",
        default=[],
        help="import: which columns of a table are name, hand, contact and notes",
    )
    p.add_argument("--out", metavar="FILE", help="show: the job's record; erase: all that was held")
    p.add_argument(
        "--yes", action="store_true", help="erase, restore: do it without being asked again"
    )


def book_arguments(p: argparse.ArgumentParser) -> None:
    """Where the book is, and whether on a network."""
    p.add_argument(
        "--book",
        metavar="FILE",
        help="the book (default: LAYOUTKIT_BOOK, else where the system keeps a program's data)",
    )
    p.add_argument(
        "--network",
        action="store_true",
        help="the book lies in a folder on a network: keep a rollback journal there, not a log",
    )


def opened(args: argparse.Namespace, create: bool = False) -> Book:
    """The book that the arguments name."""
    from layoutkit.book.book import Book
    from layoutkit.book.schema import book_path

    path = book_path() if args.book is None else Path(args.book)
    return Book(path, create=create, network=args.network)


def run(args: argparse.Namespace) -> int:
    """Do what is asked of the book."""
    try:
        return _ACTIONS[args.action](args)
    except OSError as error:
        if error.filename is None:  # it is not about a file that somebody named
            raise
        reason = (error.strerror or "cannot be used").lower()
        raise InputError(
            f"{reason}; possible: another file or folder.", file=file_name(error.filename)
        ) from None


def _find(args: argparse.Namespace) -> int:
    from layoutkit.output.book_report import jobs_text, people_text

    text = " ".join(args.what)
    with opened(args) as book:
        jobs, people = None, None
        if args.since is not None:
            jobs = book.changed_since(_day("--since", args.since))
        elif args.pin_above is not None:
            jobs = book.pin_above(args.pin_above)
        elif args.not_seen is not None:
            people = book.not_seen_for(_number("--not-seen", args.not_seen), today())
        elif args.thumb_opened is not None:
            people = book.thumb_opened(_number("--thumb-opened", args.thumb_opened), today()[:4])
        elif args.action == "people":
            people = book.people(text)
        else:
            jobs = book.find(text)
    found = jobs if jobs is not None else people
    assert found is not None
    if args.json:
        write("".join(json_line(dict(each._asdict())) for each in found))
    else:
        write(jobs_text(jobs) if jobs is not None else people_text(people or []))
    return FINE


def _show(args: argparse.Namespace) -> int:
    from layoutkit.output import book_report

    kind, number = _one("show", args.what)
    with opened(args) as book:
        if kind == "job" and args.out is not None:
            from layoutkit.commands.common import refuse_overwriting
            from layoutkit.job.files import write_atomic

            refuse_overwriting(args.out, None, False)
            write_atomic(args.out, book.record(number).encode())
            write(f"Wrote {named(args.out)}: the record of job {number}, as it was.\n")
        elif args.json:
            write(json_line(_as_json(book, kind, number)))
        elif kind == "job":
            write(book_report.job_text(book, number, __version__))
        elif kind == "person":
            write(book_report.person_text(book, number))
        else:
            write(book_report.ball_text(book, number))
    return FINE


def _as_json(book: Book, kind: str, number: int) -> object:
    if kind == "job":
        return {
            **book.job(number)._asdict(),
            "figures": book.figures(number),
            "photographs": book.photographs(number),
        }
    if kind == "person":
        from layoutkit.book.exchange import everything_about

        return everything_about(book, number)
    return {**book.ball(number)._asdict(), "life": [e._asdict() for e in book.life(number)]}


def _add(args: argparse.Namespace) -> int:
    if not args.what:
        raise InputError("add: names nothing; possible: one or more job files.")
    from layoutkit.book.exchange import add_file

    with opened(args, create=True) as book:
        for name in args.what:
            added = add_file(book, Path(name), _shown(), __version__, args.why)
            state = "added" if added.new else "is there already"
            write(f"{named(name)}: job {added.number} {state}.\n")
            for warning in added.warnings:
                write(f"  ? {warning}\n")
    return FINE


def _photo(args: argparse.Namespace) -> int:
    """Note where photographs of a job lie."""
    if len(args.what) < 2:
        raise InputError("photo: takes a job's number and one or more files of pictures.")
    kind, number = _one("photo", args.what[:1])
    if kind != "job":
        raise InputError("photo: is of a job; give its number.")
    paths = [Path(name) for name in args.what[1:]]
    for path in paths:
        if not path.is_file():
            raise InputError(f"photo: {quoted_name(str(path))} is no file.")
    with opened(args) as book:
        book.add_photographs(number, [str(path.resolve()) for path in paths])
        count = len(book.photographs(number))
    has = "1 photograph" if count == 1 else f"{count} photographs"
    write(f"Job {number} has {has}; the book keeps where they lie, not the pictures.\n")
    return FINE


def _shown() -> Callable[[Plan], str]:
    from layoutkit.output.report import report

    return report


def _import(args: argparse.Namespace) -> int:
    if len(args.what) != 1:
        raise InputError("import: takes one folder of job files or one table of customers.")
    path = Path(args.what[0])
    if not path.exists():
        raise InputError(f"import: {quoted_name(args.what[0])} is not there.")
    if path.is_file():
        return _import_people(args, path)
    from layoutkit.book.exchange import import_checks, import_folder

    new = known = 0
    problems = []
    with opened(args, create=True) as book:
        for each in import_folder(book, path, _shown(), __version__, progress_bar()):
            if each.added is None:
                problems.append(f"{named(str(each.path))}: {each.problem}")
                continue
            new, known = new + each.added.new, known + (not each.added.new)
            problems += [f"{named(str(each.path))}: {w}" for w in each.added.warnings]
        checks = import_checks(book, path)
    write("".join(f"  ? {problem}\n" for problem in problems))
    write(f"{new} jobs added, {known} were there already, {len(problems)} to look at.\n")
    if checks:
        write(f"{checks} checks of balls added.\n")
    return FINE


def _import_people(args: argparse.Namespace, path: Path) -> int:
    from layoutkit.book.exchange import Customer, import_people
    from layoutkit.job.tables import load_table, read_columns
    from layoutkit.units import as_hand

    columns = read_columns(args.columns, Customer._fields)
    table = load_table(path, "table of customers", Customer._fields, columns)
    rows, problems = [], []
    for row in table.rows:
        try:
            if row.fault:
                raise InputError(row.fault)
            name = row.values.get("name", "").strip()
            if not name:
                raise InputError("has no name.")
            hand = str(as_hand(row.values.get("hand", "right")))
            if hand not in ("right", "left"):
                raise InputError(f"hand: {quoted(hand)} is no hand; possible: right or left.")
            said = (row.values.get(each, "") for each in ("contact", "notes"))
            rows.append(Customer(name, hand, *said))
        except InputError as error:
            problems.append(f"  ? {named(str(path))}, line {row.line}: {error}\n")
    with opened(args, create=True) as book:
        new, known = import_people(book, rows)
    write("".join(problems))
    write(
        f"{new} customers added, {known} were there already, {len(problems)} rows passed over. Without a "
        "hand the right one was taken.\n"
    )
    return FINE


def _export(args: argparse.Namespace) -> int:
    from layoutkit.book.exchange import export

    if len(args.what) != 1:
        raise InputError("export: takes one new folder.")
    with opened(args) as book:
        number = export(book, Path(args.what[0]))
    write(f"{number} jobs written to {named(args.what[0])}, and the customers as customers.csv.\n")
    return FINE


def _backup(args: argparse.Namespace) -> int:
    from layoutkit.book.exchange import backup

    with opened(args) as book:
        if len(args.what) > 1:
            raise InputError("backup: takes one file, or none for one beside the book.")
        name = f"{book.path.stem}-{today()}.backup.sqlite"
        target = Path(args.what[0]) if args.what else book.path.with_name(name)
        backup(book, target)
    write(f"The book is copied to {named(str(target))}, and the copy is verified.\n")
    return FINE


def _restore(args: argparse.Namespace) -> int:
    from layoutkit.book.exchange import restore
    from layoutkit.book.schema import book_path

    if len(args.what) != 1:
        raise InputError("restore: takes one backup.")
    if not args.yes:
        raise InputError("restore: puts the backup in the book's place; say --yes to do it.")
    target = book_path() if args.book is None else Path(args.book)
    found = restore(Path(args.what[0]), target)
    write(
        f"Restored: {found['people']} customers, {found['balls']} balls, {found['jobs']} jobs. What was "
        f"there is kept beside it as {named(str(target))}.before.\n"
    )
    return FINE


def _check(args: argparse.Namespace) -> int:
    from layoutkit.book.exchange import check

    with opened(args) as book:
        wrong = check(book)
        gone = book.empty_bin()
    if gone:
        write(f"{gone} rows that were in the bin for thirty days are gone.\n")
    write("".join(f"{words}\n" for words in wrong) or "The book is whole.\n")
    return DAMAGED if wrong else FINE


def _merge(args: argparse.Namespace) -> int:
    from layoutkit.book.book import Book
    from layoutkit.book.exchange import merge
    from layoutkit.output.book_report import conflicts_text

    if len(args.what) != 1:
        raise InputError("merge: takes one other book.")
    with opened(args, create=True) as book, Book(Path(args.what[0]), create=False) as other:
        came, conflicts = merge(book, other)
    write(conflicts_text(conflicts))
    write(
        f"{came['person']} customers, {came['ball']} balls and {came['job']} jobs came; "
        f"{len(conflicts)} rows differ.\n"
    )
    return FINE


def _erase(args: argparse.Namespace) -> int:
    from layoutkit.book.exchange import erase, everything_about

    kind, number = _one("erase", args.what)
    if kind != "person":
        raise InputError(
            "erase: is about a customer; possible: person:NUMBER. Delete a job instead."
        )
    with opened(args) as book:
        if args.out is not None:
            import json

            from layoutkit.commands.common import refuse_overwriting
            from layoutkit.job.files import write_atomic

            refuse_overwriting(args.out, None, False)
            held = json.dumps(everything_about(book, number), ensure_ascii=False, indent=2)
            write_atomic(args.out, held.encode())
            write(f"All that was held is in {named(args.out)}.\n")
        if not args.yes:
            raise InputError("erase: cannot be undone; say --yes to do it.")
        left = erase(book, number)
    write(
        f"Erased. {left} jobs stay as records of nobody. Older backups and files that were exported "
        "still have the name: delete them, too.\n"
    )
    return FINE


def _delete(args: argparse.Namespace) -> int:
    kind, number = _one(args.action, args.what)
    with opened(args) as book:
        if args.action == "delete":
            book.delete(kind, number)
            write(
                f"{kind} {number} is in the bin for 30 days: `layoutkit book undelete {kind}:{number}`.\n"
            )
        else:
            book.undelete(kind, number)
            write(f"{kind} {number} is back.\n")
    return FINE


def _one(action: str, what: list[str]) -> tuple[str, int]:
    """The kind and the number of one row, from `12`, `job:12`, `person:3` or `ball:4`."""
    if len(what) == 1:
        kind, colon, number = what[0].rpartition(":")
        kind = kind if colon else "job"
        kind = "job" if kind == "book" else kind
        digits = number.isascii() and number.isdigit()
        if kind in PARTS and digits and len(number) <= MOST_DIGITS:
            return kind, int(number)
    raise InputError(f"{action}: takes one of NUMBER (a job), person:NUMBER and ball:NUMBER.")


def _number(option: str, text: str) -> int:
    if not (text.isascii() and text.strip().isdigit()):
        raise InputError(f"{option}: {quoted(text)} is no number; possible: a whole number.")
    if len(text.strip()) > MOST_ASKED:
        raise InputError(
            f"{option}: {quoted(text)} is too large; possible: up to {'9' * MOST_ASKED}."
        )
    return int(text)


def _day(option: str, text: str) -> str:
    from datetime import date

    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError:
        raise InputError(f"{option}: {quoted(text)} is no day; possible: year-month-day.") from None


_ACTIONS: dict[str, Callable[[argparse.Namespace], int]] = {
    "find": _find,
    "people": _find,
    "show": _show,
    "add": _add,
    "photo": _photo,
    "import": _import,
    "export": _export,
    "backup": _backup,
    "restore": _restore,
    "check": _check,
    "merge": _merge,
    "erase": _erase,
    "delete": _delete,
    "undelete": _delete,
}

COMMAND = Command(
    "book",
    "the shop's book: customers, grips over time, balls, jobs",
    "Keep customers, balls and jobs in one file, find them again, and tell their history. A job keeps "
    "its record\nand what was shown of its plan. Commands that take a job's file take book:NUMBER "
    "too. One book belongs to one\nmachine: carry jobs as files or by merge. In a folder on a network "
    "use --network and one program at a time.\nA backup holds names: keep it as safely as the book.\n\n"
    "  find TEXT...      jobs by any parts of a name, serial, ball, note, date, order number\n"
    "  people TEXT...    customers by any part of a name or contact\n"
    "  show NUMBER       a job as it was shown then; person:NUMBER, ball:NUMBER\n"
    "  add FILE...       job files        import FOLDER   all of a folder, or a CSV of customers\n"
    "  export FOLDER     all as files     merge BOOK      take in another book\n"
    "  photo NUMBER FILE...  note where photographs of a job lie\n"
    "  backup [FILE]     a verified copy  restore FILE    put it back      check    is it whole?\n"
    "  delete, undelete  into the bin for 30 days, and back\n"
    "  erase person:N    a customer's name and contact, everywhere, for good",
    "  layoutkit book import jobs/\n"
    "  layoutkit book find demo 31/32\n"
    "  layoutkit plan book:12 --sheet again.pdf\n"
    "  layoutkit book erase person:3 --out held.json --yes",
    arguments,
    run,
)
