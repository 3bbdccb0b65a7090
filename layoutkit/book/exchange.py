"""What goes into a book and out of it: files, copies, another book, and all about one person."""

from __future__ import annotations

import json
import os
import re
import sqlite3
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from layoutkit.book.book import PARTS, Added, Book, Checked, JobEntry, add_event, insert, job_of
from layoutkit.book.schema import APPLICATION_ID, connect, keep_copy, sentences
from layoutkit.errors import InputError, LayoutkitError
from layoutkit.job.files import JOB_ENDINGS, JOB_RECORD, read_text, write_atomic
from layoutkit.job.rules import READINGS
from layoutkit.job.tables import load_table, table_text
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

CHECKS = "checks.csv"  # of an exported folder
FORGOTTEN = "[erased]"  # what stands for a name that was erased


class Imported(NamedTuple):
    """What became of one file: its job, or why it was passed over."""

    path: Path
    added: Added | None
    problem: str


def add_file(
    book: Book, path: Path, shown: Callable[[Plan], str], program: str, why: str = ""
) -> Added:
    """Add a job's file. Raises InputError where it cannot be read or planned.

    ``shown`` makes the text that is kept of its plan; ``why`` says why the grip changed.
    """
    text = read_text(path, JOB_RECORD)
    planned = plan(job_of(text, str(path)))
    return book.add_job(text, planned, shown(planned), program, str(path.resolve()), why)


def import_folder(
    book: Book,
    folder: Path,
    shown: Callable[[Plan], str],
    program: str,
    told: Callable[[int, int], None] | None = None,
) -> Iterator[Imported]:
    """Add every job file of a folder and of what lies in it; other JSON files are passed over.

    A file that is in the book already is the same job. What cannot be used is told and left.
    """
    paths = sorted(p for p in folder.rglob("*") if p.suffix.lower() in JOB_ENDINGS and p.is_file())
    for number, path in enumerate(paths, 1):
        try:
            yield Imported(path, add_file(book, path, shown, program), "")
        except LayoutkitError as error:
            yield Imported(path, None, str(error))
        if told is not None:
            told(number, len(paths))


class Customer(NamedTuple):
    """A customer as a table has him."""

    name: str
    hand: str
    contact: str = ""
    notes: str = ""


def import_people(book: Book, rows: Sequence[Customer]) -> tuple[int, int]:
    """Add customers who are not in the book yet, by name and hand; how many were new, and known."""
    new = known = 0
    there = {(p.name.casefold(), p.hand) for p in book.people(most=10_000_000)}
    for row in rows:
        if (row.name.strip().casefold(), row.hand) in there:
            known += 1
            continue
        book.add_person(row.name, row.hand, row.contact, row.notes)
        there.add((row.name.strip().casefold(), row.hand))
        new += 1
    return new, known


def export(book: Book, folder: Path) -> int:
    """Write every job as the file that it would have been, customers and checks as tables; how many jobs.

    The folder has to be empty or not there yet.
    """
    if folder.exists() and not folder.is_dir():
        raise InputError("is no folder; possible: a new one.", file=str(folder))
    if folder.exists() and any(folder.iterdir()):
        raise InputError("is not empty; possible: a new folder.", file=str(folder))
    folder.mkdir(parents=True, exist_ok=True)
    jobs = book.rows("SELECT id, record FROM jobs WHERE deleted IS NULL ORDER BY id")
    for row in jobs:
        write_atomic(folder / f"{row['id']:06d}.json", row["record"].encode())
    people = [(p.name, p.hand, p.contact, p.notes) for p in book.people(most=10_000_000)]
    write_atomic(folder / "customers.csv", _table(Customer._fields, people))
    checks = book.checks()
    if checks:
        write_atomic(folder / CHECKS, _table(Checked._fields, checks))
    return len(jobs)


def import_checks(book: Book, folder: Path) -> int:
    """Take in the checks that `export` wrote into a folder; how many are new, none without such a table.

    Raises InputError for a table that is none of checks.
    """
    path = folder / CHECKS
    if not path.exists():
        return 0
    table = load_table(path, "table of checks", Checked._fields)
    checks = []
    for row in table.rows:
        try:
            if row.fault:
                raise InputError(row.fault)
            if not {"serial", "day", "verdict", "rules"} <= row.values.keys():
                raise InputError("lacks the serial, the day, the verdict or the rules.")
            serial, ball, day, verdict, rules = (
                row.values.get(n, "") for n in ("serial", "ball", "day", "verdict", "rules")
            )
            date.fromisoformat(day)
            weights = (float(row.values[n]) if n in row.values else None for n in READINGS)
            checks.append(Checked(serial, ball, day, verdict, rules, *weights))
        except (InputError, ValueError) as error:
            raise InputError(f"line {row.line}: {error}", file=str(path)) from None
    return book.add_checks(checks)


def _table(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> bytes:
    texts = [["" if each is None else str(each) for each in row] for row in rows]
    return table_text(headings, texts).encode()


# --- copies ---------------------------------------------------------------------------------------


def check(book: Book) -> list[str]:
    """What is wrong with the book's file, a sentence each; none where it is whole."""
    words = [row[0] for row in book.rows("PRAGMA integrity_check") if row[0] != "ok"]
    loose = book.rows("PRAGMA foreign_key_check")
    return [*words, *(f"A row of {row[0]} belongs to nothing." for row in loose)]


def backup(book: Book, target: Path) -> Path:
    """Copy the book into a file, read the copy back and compare; the file.

    Raises InputError where the book or its copy is damaged, or the file is something else.
    """
    wrong = check(book)
    if wrong:
        raise InputError(f"the book is damaged: {wrong[0]}", file=str(book.path))
    if target.exists():
        is_book(target)
    with sentences(target):
        keep_copy(book.db, target)
    with closing(sqlite3.connect(target)) as copy, sentences(target):
        if copy.execute("PRAGMA integrity_check").fetchone()[0] != "ok" or counts(copy) != counts(
            book.db
        ):
            raise InputError("the copy is not what was copied; try another disk.", file=str(target))
    return target


def is_book(path: Path) -> None:
    """Raise InputError where a file is no book."""
    name = f"{path.resolve().as_uri()}?mode=ro"
    with sentences(path), closing(sqlite3.connect(name, uri=True)) as db:
        own = db.execute("PRAGMA application_id").fetchone()[0]
    if own != APPLICATION_ID:
        raise InputError("is there already and is no book.", file=str(path))


def counts(db: sqlite3.Connection) -> dict[str, int]:
    """How many rows each of the book's tables has."""
    tables = (*PARTS.values(), "grips", "events", "photographs")
    return {t: db.execute(f"SELECT count(*) FROM {t}").fetchone()[0] for t in tables}


def restore(source: Path, target: Path) -> dict[str, int]:
    """Put a backup in the place of the book; how many rows it has.

    The book that was there is kept beside it as `NAME.before`. Raises InputError where the backup is no
    whole book.
    """
    if not source.exists():
        raise InputError("there is no such file.", file=str(source))
    is_book(source)
    with closing(connect(source, create=False)) as db, sentences(source):
        if db.execute("PRAGMA integrity_check").fetchone()[0] != "ok":
            raise InputError("the backup is damaged.", file=str(source))
        found = counts(db)
        if target.exists():
            with closing(sqlite3.connect(target)) as old, suppress(sqlite3.DatabaseError):
                old.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            os.replace(target, target.with_name(f"{target.name}.before"))
        for ending in ("-wal", "-shm"):
            with suppress(FileNotFoundError):
                target.with_name(target.name + ending).unlink()
        target.parent.mkdir(parents=True, exist_ok=True)
        keep_copy(db, target)
    return found


# --- one book into another ------------------------------------------------------------------------


class Conflict(NamedTuple):
    """A row that both books have and that differs: what it is, and both of its texts."""

    kind: str
    number: int
    here: str
    there: str


def merge(book: Book, other: Book) -> tuple[dict[str, int], list[Conflict]]:
    """Take into a book what another one has and it lacks, by identity; what came, and what differs.

    A row that both have keeps what it says here, and is told where it says something else there.
    """
    came = dict.fromkeys(PARTS, 0)
    conflicts: list[Conflict] = []
    numbers: dict[str, dict[int, int]] = {kind: {} for kind in PARTS}
    with book.change() as db:
        for kind, table in PARTS.items():
            for row in other.rows(f"SELECT * FROM {table} ORDER BY id"):
                values = {name: row[name] for name in row.keys() if name != "id"}  # noqa: SIM118
                for column, part in (("owner", "person"), ("person", "person"), ("ball", "ball")):
                    if values.get(column) is not None:
                        values[column] = numbers[part].get(values[column])
                same = db.execute(
                    f"SELECT * FROM {table} WHERE uid = ?"
                    + (" OR digest = ?" if kind == "job" else ""),
                    (row["uid"], *((row["digest"],) if kind == "job" else ())),
                ).fetchone()
                if same is not None:
                    numbers[kind][row["id"]] = same["id"]
                    here, there = (_said(kind, each) for each in (same, row))
                    if here != there:
                        conflicts.append(Conflict(kind, same["id"], here, there))
                    continue
                numbers[kind][row["id"]] = number = insert(db, table, values)
                came[kind] += 1
                book.say_again(db, kind, number)
                if kind == "job":
                    _take_parts(db, other, row["id"], number, numbers)
        for row in other.rows("SELECT * FROM events WHERE job IS NULL ORDER BY id"):
            ball = numbers["ball"].get(row["ball"])
            if ball is not None:
                add_event(db, ball, row["date"], row["kind"], row["detail"])
    return came, conflicts


def _said(kind: str, row: sqlite3.Row) -> str:
    """What a row says, for whoever decides between two."""
    names = {
        "person": ("name", "hand", "contact", "notes"),
        "ball": ("serial", "name", "label"),
        "job": ("title", "order_no", "date", "record"),
    }[kind]
    return "; ".join(f"{name}: {row[name]}" for name in names)


def _take_parts(
    db: sqlite3.Connection,
    other: Book,
    there: int,
    here: int,
    numbers: Mapping[str, Mapping[int, int]],
) -> None:
    """The grips, events and photographs of a job that came."""
    for table, owner in (("grips", "person"), ("events", "ball")):
        for row in other.rows(f"SELECT * FROM {table} WHERE job = ?", there):
            values = {name: row[name] for name in row.keys() if name != "id"}  # noqa: SIM118
            values |= {owner: numbers[owner].get(row[owner]), "job": here}
            if values[owner] is not None:
                insert(db, table, values)
    for row in other.rows("SELECT path FROM photographs WHERE job = ?", there):
        insert(db, "photographs", {"job": here, "path": row["path"]})


# --- one person -----------------------------------------------------------------------------------


def everything_about(book: Book, number: int) -> dict[str, Any]:
    """All that is held about one person, ready for JSON: to be handed out to him."""
    person = book.person(number)
    jobs: list[JobEntry] = [
        book.job(r["id"]) for r in book.rows("SELECT id FROM jobs WHERE person = ?", number)
    ]
    balls = book.rows("SELECT id FROM balls WHERE owner = ?", number)
    return {
        "person": dict(person._asdict()),
        "grips": [dict(each._asdict()) for each in book.grips(number)],
        "balls": [
            {
                **book.ball(r["id"])._asdict(),
                "life": [dict(e._asdict()) for e in book.life(r["id"])],
            }
            for r in balls
        ],
        "jobs": [
            {
                **job._asdict(),
                "record": json.loads(book.record(job.id)),
                "photographs": book.photographs(job.id),
            }
            for job in jobs
        ],
    }


def erase(book: Book, number: int) -> int:
    """Erase a person: name and contact go from every table, text, index and the bin; how many jobs stay.

    The jobs stay as technical records of nobody. The file is vacuumed and its log cut off, so that no
    byte of the name is left in it; older backups still have it.
    """
    person = book.person(number)
    names = [text for text in (person.name, person.contact, person.notes) if text.strip()]
    with book.change() as db:
        left = [r["id"] for r in db.execute("SELECT id FROM jobs WHERE person = ?", (number,))]
        db.execute("DELETE FROM grips WHERE person = ?", (number,))
        db.execute("DELETE FROM people WHERE id = ?", (number,))
        for job in left:
            _nameless(db, job)
        for table, columns in _TEXTS.items():
            for column in columns:
                for name in names:
                    _replace_in(db, table, column, name)
        book.index_again(db)
    with sentences(book.path):
        book.db.execute("VACUUM")
        book.db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return len(left)


# columns of text in which a name may stand
_TEXTS = {
    "jobs": ("title", "order_no", "source", "record", "figures"),
    "balls": ("name", "label"),
    "events": ("detail",),
    "people": ("notes",),
    "photographs": ("path",),
    "grips": ("why",),
}


def _nameless(db: sqlite3.Connection, job: int) -> None:
    """Take the bowler, title and notes out of a job's record, and what was shown of it."""
    import zlib

    text = db.execute("SELECT record FROM jobs WHERE id = ?", (job,)).fetchone()["record"]
    record = json.loads(text)
    record.get("bowler", {})["name"] = FORGOTTEN
    for name in ("title", "notes"):
        if record.get(name):
            record[name] = FORGOTTEN
    db.execute(
        "UPDATE jobs SET record = ?, title = '', source = '', report = ?, digest = ? WHERE id = ?",
        (
            json.dumps(record, ensure_ascii=False, indent=2),
            zlib.compress(b""),
            uuid.uuid4().hex,
            job,
        ),
    )


def _replace_in(db: sqlite3.Connection, table: str, column: str, name: str) -> None:
    """Put `FORGOTTEN` where a name stands in a table's texts, however its letters are written."""
    forms = {name, json.dumps(name)[1:-1], json.dumps(name, ensure_ascii=False)[1:-1]}
    pattern = re.compile("|".join(map(re.escape, forms)), re.IGNORECASE)
    db.create_function("holds", 1, lambda text: pattern.search(text or "") is not None)
    found = db.execute(f"SELECT id, {column} AS text FROM {table} WHERE holds({column})").fetchall()
    for row in found:
        db.execute(
            f"UPDATE {table} SET {column} = ? WHERE id = ?",
            (pattern.sub(FORGOTTEN, row["text"]), row["id"]),
        )
