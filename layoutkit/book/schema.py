"""The book's file: its tables, how it is opened, and how an older one is brought up to date.

A book is an SQLite file with an application id of its own. Its schema's version stands in
`user_version`; each script of `MIGRATIONS` leads from one version to the next, and none leads back.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from layoutkit.errors import InputError
from layoutkit.job.folders import user_folder

APPLICATION_ID = 0x4C4B424B  # "LKBK"
LONGEST_WAIT = 5.0  # seconds for another program that writes into the book
ENVIRONMENT = "LAYOUTKIT_BOOK"

_FIRST = """
CREATE TABLE people (
    id INTEGER PRIMARY KEY,
    uid TEXT NOT NULL UNIQUE,
    name TEXT NOT NULL,
    contact TEXT NOT NULL DEFAULT '',
    hand TEXT NOT NULL CHECK (hand IN ('right', 'left')),
    notes TEXT NOT NULL DEFAULT '',
    changed TEXT NOT NULL,
    deleted TEXT
);
CREATE INDEX people_by_name ON people (name COLLATE NOCASE);
CREATE TABLE balls (
    id INTEGER PRIMARY KEY,
    uid TEXT NOT NULL UNIQUE,
    serial TEXT NOT NULL DEFAULT '',
    name TEXT NOT NULL DEFAULT '',
    label TEXT NOT NULL,
    owner INTEGER REFERENCES people (id) ON DELETE SET NULL,
    changed TEXT NOT NULL,
    deleted TEXT
);
CREATE INDEX balls_by_serial ON balls (serial COLLATE NOCASE);
CREATE INDEX balls_by_owner ON balls (owner);
CREATE TABLE jobs (
    id INTEGER PRIMARY KEY,
    uid TEXT NOT NULL UNIQUE,
    digest TEXT NOT NULL,
    source TEXT NOT NULL DEFAULT '',
    person INTEGER REFERENCES people (id) ON DELETE SET NULL,
    ball INTEGER REFERENCES balls (id) ON DELETE SET NULL,
    title TEXT NOT NULL DEFAULT '',
    order_no TEXT NOT NULL DEFAULT '',
    date TEXT NOT NULL,
    record TEXT NOT NULL,
    rules TEXT NOT NULL,
    program TEXT NOT NULL,
    outcome TEXT NOT NULL,
    thumb REAL,
    pin_above TEXT NOT NULL,
    figures TEXT NOT NULL,
    report BLOB NOT NULL,
    changed TEXT NOT NULL,
    deleted TEXT
);
CREATE INDEX jobs_by_digest ON jobs (digest);
CREATE INDEX jobs_by_source ON jobs (source);
CREATE INDEX jobs_by_person ON jobs (person, date, id, thumb) WHERE deleted IS NULL;
CREATE INDEX jobs_by_ball ON jobs (ball, date);
CREATE INDEX jobs_by_date ON jobs (date, id, pin_above) WHERE deleted IS NULL;
CREATE INDEX jobs_by_change ON jobs (changed);
CREATE TABLE grips (
    id INTEGER PRIMARY KEY,
    person INTEGER NOT NULL REFERENCES people (id) ON DELETE CASCADE,
    job INTEGER REFERENCES jobs (id) ON DELETE CASCADE,
    date TEXT NOT NULL,
    why TEXT NOT NULL DEFAULT '',
    grip TEXT NOT NULL
);
CREATE INDEX grips_by_person ON grips (person, date);
CREATE INDEX grips_by_job ON grips (job);
CREATE TABLE events (
    id INTEGER PRIMARY KEY,
    ball INTEGER NOT NULL REFERENCES balls (id) ON DELETE CASCADE,
    job INTEGER REFERENCES jobs (id) ON DELETE CASCADE,
    date TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('drilled', 'plugged', 'resurfaced', 'weighed', 'checked')),
    detail TEXT NOT NULL DEFAULT '{}'
);
CREATE INDEX events_by_ball ON events (ball, date);
CREATE INDEX events_by_job ON events (job);
CREATE TABLE photographs (
    id INTEGER PRIMARY KEY,
    job INTEGER REFERENCES jobs (id) ON DELETE CASCADE,
    ball INTEGER REFERENCES balls (id) ON DELETE CASCADE,
    path TEXT NOT NULL
);
"""

MIGRATIONS: tuple[str, ...] = (_FIRST,)
VERSION = len(MIGRATIONS)

# trigrams find any part of a word; without them a search reads every text
WORDS = "CREATE VIRTUAL TABLE words USING fts5 (text, kind UNINDEXED, ref UNINDEXED, tokenize='trigram')"
PLAIN_WORDS = "CREATE TABLE words (text TEXT, kind TEXT, ref INTEGER)"


def book_path(environ: Mapping[str, str] | None = None, platform: str = sys.platform) -> Path:
    """Where the book is kept: LAYOUTKIT_BOOK, else where the system keeps a program's data."""
    env = os.environ if environ is None else environ
    if env.get(ENVIRONMENT):
        return Path(env[ENVIRONMENT])
    return user_folder("data", env, platform) / "book.sqlite"


@contextmanager
def sentences(path: Path) -> Iterator[None]:
    """What SQLite refuses, as one sentence of an InputError that names the book."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        raise InputError(_words(error), file=str(path)) from None
    except OSError as error:
        raise InputError(f"cannot be written or read: {error.strerror}.", file=str(path)) from None


def _words(error: sqlite3.DatabaseError) -> str:
    text = str(error)
    if "locked" in text or "busy" in text:
        return "another program is writing into the book; try again when it is done."
    if "not a database" in text:
        return "is no book of layoutkit; possible: another file, or --book with a new name."
    if "malformed" in text:
        return "the book is damaged; possible: `layoutkit book restore` from a backup."
    if "readonly" in text or "read-only" in text:
        return "the book cannot be written: its file or folder is read-only."
    if "full" in text:
        return "the disk is full; nothing of this change was kept."
    if "unable to open" in text:
        return "the book cannot be opened; possible: a folder that is there and may be written."
    return f"the book refuses it: {text}."


def connect(path: Path, *, create: bool = True, network: bool = False) -> sqlite3.Connection:
    """An open book, brought to this program's version; made where there is none and ``create``.

    ``network`` keeps a rollback journal in place of the write-ahead log, which a folder on a network
    cannot share. Raises InputError where the file is no book, is newer than this program, is busy or
    cannot be opened.
    """
    there = path.exists() and path.stat().st_size > 0
    if not there and not create:
        raise InputError(
            "there is no book here; possible: `layoutkit book add` makes one.", file=str(path)
        )
    with sentences(path):
        if not there:
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        connection = sqlite3.connect(path, timeout=LONGEST_WAIT, isolation_level=None)
        try:
            _prepare(connection, path, there, network)
        except BaseException:
            connection.close()
            raise
    return connection


def _prepare(connection: sqlite3.Connection, path: Path, there: bool, network: bool) -> None:
    connection.row_factory = sqlite3.Row
    if there:
        _refuse_others(connection, path)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA secure_delete = ON")
    connection.execute(f"PRAGMA journal_mode = {'DELETE' if network else 'WAL'}")
    connection.execute("PRAGMA synchronous = FULL")
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if there and 0 < version < VERSION:
        keep_copy(connection, path.with_name(f"{path.name}.version{version}"))
    if version < VERSION:
        migrate(connection, version)
    with suppress(OSError):  # a network's folder may not know of rights
        os.chmod(path, 0o600)


def _refuse_others(connection: sqlite3.Connection, path: Path) -> None:
    own = connection.execute("PRAGMA application_id").fetchone()[0]
    version = connection.execute("PRAGMA user_version").fetchone()[0]
    if own != APPLICATION_ID:
        raise InputError(
            "is no book of layoutkit; possible: another file, or --book with a new name.",
            file=str(path),
        )
    if version > VERSION:
        raise InputError(
            f"made by a newer layoutkit (version {version} of the book; this one reads up to {VERSION}).",
            file=str(path),
        )


def keep_copy(connection: sqlite3.Connection, target: Path) -> None:
    """A whole copy of an open book in a file that is not there yet, or takes the place of an old copy."""
    part = target.with_name(f"{target.name}.part")
    with suppress(FileNotFoundError):
        part.unlink()
    copy = sqlite3.connect(part)
    try:
        connection.backup(copy)
    finally:
        copy.close()
    with suppress(OSError):
        os.chmod(part, 0o600)
    shutil.move(part, target)


def migrate(connection: sqlite3.Connection, version: int) -> None:
    """Bring a book's schema from a version to the present one, each step whole or not at all."""
    for number in range(version, VERSION):
        connection.execute("BEGIN IMMEDIATE")
        try:
            for statement in statements(MIGRATIONS[number]):
                connection.execute(statement)
            if number == 0:
                _make_words(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {number + 1}")
            connection.execute("COMMIT")
        except BaseException:
            connection.execute("ROLLBACK")
            raise


def statements(script: str) -> Iterator[str]:
    """The statements of a script, one by one."""
    part = ""
    for line in script.splitlines(keepends=True):
        part += line
        if sqlite3.complete_statement(part):
            yield part
            part = ""


def _make_words(connection: sqlite3.Connection) -> None:
    try:
        connection.execute(WORDS)
    except sqlite3.OperationalError:  # an SQLite without this index
        connection.execute(PLAIN_WORDS)


def indexed(connection: sqlite3.Connection) -> bool:
    """Whether the book has a full-text index."""
    row = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'words'").fetchone()
    return row is not None and "fts5" in row[0]
