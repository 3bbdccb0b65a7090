"""What the shop's book can do: add people, balls and jobs, find them, and tell their history.

A `Book` holds one connection; each of its changes is one transaction. Dates are year-month-day, moments
are UTC with a trailing Z. A job's record is kept as the text that it was, its figures as they were shown
when it was added.
"""

from __future__ import annotations

import json
import sqlite3
import uuid
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple

from layoutkit.book.schema import connect, indexed, sentences
from layoutkit.errors import InputError
from layoutkit.job.files import decode_json
from layoutkit.job.record import DIGITS, Job, dump_job, parse_job
from layoutkit.planning.values import Plan

MOST_FOUND = 200  # rows that a search gives
BESIDE = 0.75  # inches from a hole's centre within which the pin is above it
TRIGRAM = 3  # letters of the index's terms
PADDING = "\n\n"  # so that a text's last letters begin a term, too
MANY = 5000  # times that terms are in the book, of which the latest are found quicker without the index
MOST_PARTS = 12  # of a search's text
BIN_DAYS = 30
_MEANWHILE = "another program changed this job meanwhile; open it again."
PARTS = {"person": "people", "ball": "balls", "job": "jobs"}


class Person(NamedTuple):
    """A customer; ``deleted`` is the moment at which he went into the bin, None else."""

    id: int
    name: str
    hand: str
    contact: str
    notes: str
    changed: str
    deleted: str | None


class BallEntry(NamedTuple):
    """A ball: serial and name, its label as the record states it, and its owner's number."""

    id: int
    serial: str
    name: str
    label: Mapping[str, Any]
    owner: int | None
    changed: str
    deleted: str | None


class JobEntry(NamedTuple):
    """A job: whose, on which ball, and what was shown of its plan when it was added."""

    id: int
    person: int | None
    ball: int | None
    name: str
    serial: str
    title: str
    order_no: str
    date: str
    rules: str
    program: str
    outcome: str
    changed: str
    deleted: str | None


class DatedGrip(NamedTuple):
    """A grip and since when it was drilled: the record's own, why it changed, and of which job."""

    date: str
    why: str
    grip: Mapping[str, Any]
    job: int | None


class Event(NamedTuple):
    """What happened to a ball: drilled, plugged, resurfaced, weighed or checked."""

    date: str
    kind: str
    detail: Mapping[str, Any]
    job: int | None


class Checked(NamedTuple):
    """A ball that was checked in on a day, by its serial; weights in pounds and signed ounces.

    It names nobody: whose ball it is the book knows, or does not.
    """

    serial: str
    ball: str
    day: str
    verdict: str
    rules: str
    gross: float | None = None
    top: float | None = None
    side: float | None = None
    finger: float | None = None

    @property
    def detail(self) -> dict[str, Any]:
        """What stands in the life of the ball; a weight that was not taken is left out."""
        own = {n: v for n, v in self._asdict().items() if n not in ("serial", "ball", "day")}
        return {name: value for name, value in own.items() if value is not None}


class PitchRange(NamedTuple):
    """The thumb pitches of the shop's own grips near a span, in inches, reverse below 0."""

    span: float
    low: float
    high: float
    grips: int


class Added(NamedTuple):
    """What became of a job that was added: its number, whether it is new, and what to be told."""

    number: int
    new: bool
    warnings: tuple[str, ...]


def now() -> str:
    """This moment, in UTC."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def digest_of(record: Mapping[str, Any]) -> str:
    """What tells two records apart: the hash of what they state, however it is laid out."""
    text = json.dumps(record, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return sha256(text.encode()).hexdigest()


class Book:
    """An open book. Use it as a context, or call `close`."""

    def __init__(self, path: Path, *, create: bool = True, network: bool = False) -> None:
        """Open the book at ``path``; raises InputError as `schema.connect` does."""
        self.path = path
        self._db = connect(path, create=create, network=network)
        try:
            with sentences(path):
                self.indexed = indexed(self._db)
                if self.indexed:
                    self._db.execute(_TERMS)
        except BaseException:
            self._db.close()
            raise

    def __enter__(self) -> Book:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    @property
    def db(self) -> sqlite3.Connection:
        """The connection, for what else works on a book."""
        return self._db

    @contextmanager
    def change(self) -> Iterator[sqlite3.Connection]:
        """One change, whole or not at all; raises InputError where the file refuses it."""
        with sentences(self.path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield self._db
                self._db.execute("COMMIT")
            except BaseException:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
                raise

    def rows(self, sql: str, *values: object) -> list[sqlite3.Row]:
        """What a query gives; raises InputError where the file cannot be read."""
        with sentences(self.path):
            return self._db.execute(sql, values).fetchall()

    # --- adding ---------------------------------------------------------------------------------

    def add_person(self, name: str, hand: str, contact: str = "", notes: str = "") -> int:
        """A new customer's number. Raises InputError for an empty name or another hand."""
        if not name.strip():
            raise InputError("is empty; possible: how the customer is called.", "name")
        if hand not in ("right", "left"):
            raise InputError(f'"{hand}" is no hand; possible: right or left.', "hand")
        with self.change() as db:
            return self._person(db, name.strip(), hand, contact, notes)

    def _person(
        self, db: sqlite3.Connection, name: str, hand: str, contact: str = "", notes: str = ""
    ) -> int:
        values = {"name": name, "contact": contact, "hand": hand, "notes": notes}
        number = insert(db, "people", {"uid": uuid.uuid4().hex, **values, "changed": now()})
        self._say(db, "person", number, name, contact, notes)
        return number

    def change_person(self, number: int, **new: str) -> None:
        """Change a customer's name, contact, hand or notes. Raises InputError where he is not there."""
        known = {"name", "contact", "hand", "notes"}
        if not set(new) <= known:
            raise ValueError(f"a person has {sorted(known)}")
        person = self.person(number)
        values = {**{n: getattr(person, n) for n in known}, **new}
        with self.change() as db:
            db.execute(
                "UPDATE people SET name = ?, contact = ?, hand = ?, notes = ?, changed = ? WHERE id = ?",
                (values["name"], values["contact"], values["hand"], values["notes"], now(), number),
            )
            self._say(db, "person", number, values["name"], values["contact"], values["notes"])
            for row in db.execute("SELECT id FROM jobs WHERE person = ?", (number,)).fetchall():
                self.say_again(db, "job", row["id"])

    def add_job(
        self,
        text: str,
        plan: Plan,
        report: str,
        program: str,
        source: str = "",
        why: str = "",
        instead_of: JobEntry | None = None,
    ) -> Added:
        """Add a job, with the person, the ball and the grip that its record tells.

        ``text`` is the record as it was written, ``plan`` its plan, ``report`` what was shown of it, and
        ``program`` who computed that. A record that is in the book already is one job; one that was read
        from the same ``source`` before takes the place of what it was. ``why`` says why the grip changed.
        ``instead_of`` is a job whose place it takes; raises InputError where that was changed meanwhile.
        """
        record = decode_json(text, source or "the record", "record")
        digest, job = digest_of(record), plan.job
        order = (job.work and job.work.order) or ""
        day = (job.work and job.work.date) or now()[:10]
        with self.change() as db:
            same = db.execute("SELECT id FROM jobs WHERE digest = ?", (digest,)).fetchone()
            if same is not None:
                db.execute("UPDATE jobs SET deleted = NULL WHERE id = ?", (same["id"],))
                return Added(same["id"], False, ())
            person = self._person_of(db, job)
            ball, warnings = self._ball_of(db, job, person)
            values = {
                "digest": digest,
                "person": person,
                "ball": ball,
                "title": job.title,
                "order_no": order,
                "date": day,
                "record": text,
                "rules": plan.rules.name,
                "program": program,
                "outcome": plan.outcome,
                "thumb": None if job.bowler.grip.thumb is None else job.bowler.grip.thumb.diameter,
                "pin_above": " ".join(fingers_below_pin(plan)),
                "figures": json.dumps(figures_of(plan), separators=(",", ":")),
                "report": zlib.compress(report.encode()),
                "changed": now(),
            }
            if instead_of is not None:
                at = db.execute(
                    "SELECT id, changed FROM jobs WHERE id = ?", (instead_of.id,)
                ).fetchone()
                if at is None or at["changed"] != instead_of.changed:
                    raise InputError(_MEANWHILE)
            before = (instead_of is not None and at) or (
                source
                and db.execute(
                    "SELECT id FROM jobs WHERE source = ? AND source <> ''", (source,)
                ).fetchone()
            )
            if before:
                number = int(before["id"])
                names = ", ".join(f"{name} = ?" for name in values)
                db.execute(
                    f"UPDATE jobs SET {names}, deleted = NULL WHERE id = ?",
                    (*values.values(), number),
                )
                was = db.execute("SELECT why FROM grips WHERE job = ?", (number,)).fetchone()
                why = why or (was["why"] if was is not None else "")
                db.execute("DELETE FROM grips WHERE job = ?", (number,))
                db.execute("DELETE FROM events WHERE job = ?", (number,))
            else:
                number = insert(db, "jobs", values | {"uid": uuid.uuid4().hex, "source": source})
            self._add_grip(db, person, number, day, job, why)
            self._add_events(db, ball, number, day, job)
            self.say_again(db, "job", number)
        return Added(number, not before, warnings)

    def add_checks(self, checks: Iterable[Checked]) -> int:
        """Note in the lives of balls that they were checked in; how many checks are new.

        A ball of a serial that the book has not comes into it, owned by nobody. The same check of the
        same day is one. A check without a serial is passed over: nobody knows which ball that was.
        """
        new = 0
        with self.change() as db:
            for check in checks:
                serial = check.serial.strip()
                if not serial:
                    continue
                row = db.execute(
                    "SELECT id FROM balls WHERE serial = ? COLLATE NOCASE AND deleted IS NULL",
                    (serial,),
                ).fetchone()
                if row is not None:
                    ball = int(row["id"])
                else:
                    label = json.dumps({"name": check.ball, "serial": serial}, ensure_ascii=False)
                    values = {"serial": serial, "name": check.ball, "label": label}
                    ball = insert(
                        db, "balls", {"uid": uuid.uuid4().hex, **values, "changed": now()}
                    )
                    self._say(db, "ball", ball, serial, check.ball)
                new += add_event(db, ball, check.day, "checked", json.dumps(check.detail))
        return new

    def checks(self) -> list[Checked]:
        """All checks of balls, in the order of their days."""
        found = self.rows(
            "SELECT b.serial, b.name, e.date, e.detail FROM events e JOIN balls b ON b.id = e.ball "
            "WHERE e.kind = 'checked' AND b.deleted IS NULL ORDER BY e.date, e.id"
        )
        return [
            Checked(r["serial"], r["name"], r["date"], **json.loads(r["detail"])) for r in found
        ]

    def change_record(self, number: int, text: str, was: str) -> None:
        """Put another text in the place of a job's record ``was``; what was shown of its plan stays.

        That is for what is written down later: weighings, and answers to questions. Raises InputError
        where the record is not what it was any more.
        """
        entry, job = self.job(number), job_of(text, f"job {number}")
        with self.change() as db:
            now_there = db.execute("SELECT record FROM jobs WHERE id = ?", (number,)).fetchone()
            if now_there is None or now_there["record"] != was:
                raise InputError(_MEANWHILE)
            record = decode_json(text, f"job {number}", "record")
            db.execute(
                "UPDATE jobs SET record = ?, digest = ?, changed = ? WHERE id = ?",
                (text, digest_of(record), now(), number),
            )
            if entry.ball is not None:
                db.execute("DELETE FROM events WHERE job = ?", (number,))
                self._add_events(db, entry.ball, number, entry.date, job)
            self.say_again(db, "job", number)

    def _person_of(self, db: sqlite3.Connection, job: Job) -> int | None:
        """The customer of a record, by name and hand; made where there is none."""
        name, hand = job.bowler.name.strip(), job.bowler.hand
        if not name:
            return None
        row = db.execute(
            "SELECT id FROM people WHERE name = ? COLLATE NOCASE AND hand = ? AND deleted IS NULL "
            "ORDER BY id LIMIT 1",
            (name, hand),
        ).fetchone()
        return int(row["id"]) if row is not None else self._person(db, name, hand)

    def _ball_of(
        self, db: sqlite3.Connection, job: Job, person: int | None
    ) -> tuple[int, tuple[str, ...]]:
        """The ball of a record by its serial number, and what is odd about that."""
        ball, warnings = job.ball, []
        label = json.dumps(dump_job(job)["ball"], separators=(",", ":"), ensure_ascii=False)
        serial = ball.serial.strip()
        row = (
            serial
            and db.execute(
                "SELECT * FROM balls WHERE serial = ? COLLATE NOCASE AND deleted IS NULL", (serial,)
            ).fetchone()
        )
        if row:
            if row["owner"] is not None and person is not None and row["owner"] != person:
                owner = db.execute(
                    "SELECT name FROM people WHERE id = ?", (row["owner"],)
                ).fetchone()
                warnings.append(
                    f"Serial {serial} was {owner['name']}'s ball before: is it the same ball?"
                )
            db.execute(
                "UPDATE balls SET label = ?, name = ?, owner = coalesce(?, owner), changed = ? "
                "WHERE id = ?",
                (label, ball.name, person, now(), row["id"]),
            )
            number = int(row["id"])
        else:
            values = {"serial": serial, "name": ball.name, "label": label, "owner": person}
            number = insert(db, "balls", {"uid": uuid.uuid4().hex, **values, "changed": now()})
        self._say(db, "ball", number, serial, ball.name)
        return number, tuple(warnings)

    def _add_grip(
        self,
        db: sqlite3.Connection,
        person: int | None,
        job_number: int,
        day: str,
        job: Job,
        why: str,
    ) -> None:
        if person is None:
            return
        grip = json.dumps(dump_job(job)["bowler"]["grip"], separators=(",", ":"))
        last = db.execute(
            "SELECT grip FROM grips WHERE person = ? AND date <= ? ORDER BY date DESC, id DESC LIMIT 1",
            (person, day),
        ).fetchone()
        if last is None or last["grip"] != grip:
            db.execute(
                "INSERT INTO grips (person, job, date, why, grip) VALUES (?,?,?,?,?)",
                (person, job_number, day, why, grip),
            )

    def _add_events(
        self, db: sqlite3.Connection, ball: int, number: int, day: str, job: Job
    ) -> None:
        found: list[tuple[str, dict[str, Any]]] = []
        if job.ball.diameter_now is not None and job.ball.diameter_now < job.ball.diameter:
            found.append(("resurfaced", {"diameter": job.ball.diameter_now}))
        old = () if job.history is None else job.history.holes
        plugged = [hole.name for hole in old if hole.plug is not None]
        if plugged:
            found.append(("plugged", {"holes": plugged}))
        only = job.work and job.work.only
        found.append(("drilled", {"holes": list(only or job.bowler.grip.digits)}))
        for stage in ("undrilled", "drilled"):
            weighing = getattr(job.weighings, stage, None)
            if weighing is not None:
                stated = {n: v for n, v in weighing if isinstance(v, int | float | str)}
                found.append(("weighed", {"stage": stage, **stated}))
        db.executemany(
            "INSERT INTO events (ball, job, date, kind, detail) VALUES (?,?,?,?,?)",
            [(ball, number, day, kind, json.dumps(detail)) for kind, detail in found],
        )

    def _say(self, db: sqlite3.Connection, kind: str, number: int, *texts: str) -> None:
        """Put a row's texts into the index, in place of those that it had."""
        self._forget(db, kind, number)
        text = "\n".join(filter(None, texts)) + PADDING
        place = _place(kind, number)
        if self.indexed:
            db.execute(
                "INSERT INTO words (rowid, text, kind, ref) VALUES (?,?,?,?)",
                (place, text, kind, number),
            )
        else:
            db.execute("INSERT INTO words (text, kind, ref) VALUES (?,?,?)", (text, kind, number))

    def say_again(self, db: sqlite3.Connection, kind: str, number: int) -> None:
        """Put a row's texts into the index as they are now."""
        if kind == "person":
            row = db.execute("SELECT * FROM people WHERE id = ?", (number,)).fetchone()
            self._say(db, kind, number, row["name"], row["contact"], row["notes"])
        elif kind == "ball":
            row = db.execute("SELECT * FROM balls WHERE id = ?", (number,)).fetchone()
            self._say(db, kind, number, row["serial"], row["name"])
        else:
            row = db.execute(
                "SELECT j.title, j.order_no, j.date, j.record, p.name, p.contact, p.notes FROM jobs j "
                "LEFT JOIN people p ON p.id = j.person WHERE j.id = ?",
                (number,),
            ).fetchone()
            record = json.loads(row["record"])
            ball, bowler = record.get("ball", {}), record.get("bowler", {})
            texts = (
                *(row[n] for n in ("title", "order_no", "date", "name", "contact", "notes")),
                *(record.get("notes"), bowler.get("name"), ball.get("serial"), ball.get("name")),
            )
            self._say(db, kind, number, *dict.fromkeys(text for text in texts if text))

    def index_again(self, db: sqlite3.Connection) -> None:
        """Make the whole index anew."""
        db.execute("DELETE FROM words")
        for kind, table in PARTS.items():
            for row in db.execute(f"SELECT id FROM {table}").fetchall():
                self.say_again(db, kind, row["id"])
        if self.indexed:
            db.execute("INSERT INTO words (words) VALUES ('rebuild')")
            db.execute("INSERT INTO words (words) VALUES ('optimize')")

    def _forget(self, db: sqlite3.Connection, kind: str, number: int) -> None:
        if self.indexed:
            db.execute("DELETE FROM words WHERE rowid = ?", (_place(kind, number),))
        else:
            db.execute("DELETE FROM words WHERE kind = ? AND ref = ?", (kind, number))

    # --- reading --------------------------------------------------------------------------------

    def person(self, number: int) -> Person:
        """A customer by number. Raises InputError where there is none."""
        return Person(*self._row("people", number, Person._fields))

    def ball(self, number: int) -> BallEntry:
        """A ball by number. Raises InputError where there is none."""
        row = self._row("balls", number, BallEntry._fields)
        return BallEntry(*row)._replace(label=json.loads(row["label"]))

    def job(self, number: int) -> JobEntry:
        """A job by number. Raises InputError where there is none."""
        return self._jobs("j.id = ?", (number,), 1, "job", number)[0]

    def _row(self, table: str, number: int, fields: Sequence[str]) -> sqlite3.Row:
        found = self.rows(f"SELECT {', '.join(fields)} FROM {table} WHERE id = ?", number)
        if not found:
            kind = next(kind for kind, name in PARTS.items() if name == table)
            raise InputError(f"the book has no {kind} number {number}.", file=str(self.path))
        return found[0]

    def _jobs(
        self,
        where: str,
        values: Sequence[object],
        most: int = MOST_FOUND,
        asked: str = "",
        number: int = 0,
    ) -> list[JobEntry]:
        # the rows are long: which ones is decided on the indexes alone where that can be
        found = self.rows(
            "SELECT j.id, j.person, j.ball, coalesce(p.name, '') AS name, "
            "coalesce(b.serial, '') AS serial, j.title, j.order_no, j.date, j.rules, j.program, "
            f"j.outcome, j.changed, j.deleted FROM (SELECT j.id FROM jobs j WHERE {where} "
            "ORDER BY j.date DESC, j.id DESC LIMIT ?) q JOIN jobs j ON j.id = q.id "
            "LEFT JOIN people p ON p.id = j.person LEFT JOIN balls b ON b.id = j.ball "
            "ORDER BY j.date DESC, j.id DESC",
            *values,
            most,
        )
        if asked and not found:
            raise InputError(f"the book has no {asked} number {number}.", file=str(self.path))
        return [JobEntry(*row) for row in found]

    def record(self, number: int) -> str:
        """A job's record as it was written."""
        return str(self._row("jobs", number, ("record",))["record"])

    def shown_then(self, number: int) -> str:
        """The text that was shown of a job's plan when it was added."""
        return zlib.decompress(self._row("jobs", number, ("report",))["report"]).decode()

    def figures(self, number: int) -> Mapping[str, Any]:
        """The plan's figures of then."""
        found: Mapping[str, Any] = json.loads(self._row("jobs", number, ("figures",))["figures"])
        return found

    def grips(self, person: int) -> list[DatedGrip]:
        """A customer's grips, the earliest first."""
        found = self.rows(
            "SELECT date, why, grip, job FROM grips WHERE person = ? ORDER BY date, id", person
        )
        return [DatedGrip(r["date"], r["why"], json.loads(r["grip"]), r["job"]) for r in found]

    def thumb_pitches(self) -> list[PitchRange]:
        """The forward pitches of the thumbs in the customers' latest grips, by quarters of mean span."""
        latest = (
            "SELECT grip FROM (SELECT grip, row_number() OVER (PARTITION BY person "
            "ORDER BY g.date DESC, g.id DESC) AS place FROM grips g JOIN people p ON p.id = g.person "
            "WHERE p.deleted IS NULL) WHERE place = 1"
        )
        found: dict[float, list[float]] = {}
        for row in self.rows(latest):
            grip = grip_lengths(json.loads(row["grip"]))
            if "thumb forward pitch" in grip:
                mean = (grip["middle span"] + grip["ring span"]) / 2.0
                found.setdefault(round(4.0 * mean) / 4.0, []).append(grip["thumb forward pitch"])
        return [PitchRange(s, min(p), max(p), len(p)) for s, p in sorted(found.items())]

    def add_photographs(self, number: int, paths: Sequence[str]) -> None:
        """Note where photographs of a job lie; the files stay there. InputError where it is not there."""
        self.job(number)
        known = self.photographs(number)
        with self.change() as db:
            for path in dict.fromkeys(paths):
                if path not in known:
                    insert(db, "photographs", {"job": number, "path": path})

    def photographs(self, number: int) -> list[str]:
        """Where a job's photographs lie, in the order in which they were noted."""
        found = self.rows("SELECT path FROM photographs WHERE job = ? ORDER BY id", number)
        return [row["path"] for row in found]

    def life(self, ball: int) -> list[Event]:
        """What happened to a ball, in the order of the days."""
        found = self.rows(
            "SELECT date, kind, detail, job FROM events WHERE ball = ? ORDER BY date, id", ball
        )
        return [Event(r["date"], r["kind"], json.loads(r["detail"]), r["job"]) for r in found]

    # --- finding --------------------------------------------------------------------------------

    def find(self, text: str, most: int = MOST_FOUND) -> list[JobEntry]:
        """Jobs by any parts of a name, a serial, a ball, a note, a date or an order number.

        All parts of ``text`` must be there.
        """
        parts = _plain(text).split()[:MOST_PARTS]
        if not parts:
            return self._jobs("j.deleted IS NULL", (), most)
        keys: list[str] = []
        values: list[str] = []
        matches = []
        for part in parts:
            terms = self._terms(part) if self.indexed else None
            if terms is None:
                keys.append(_IN_INDEXED if self.indexed else _IN_TEXT)
                values.append(_anywhere(part))
            elif terms:
                matches.append(" OR ".join('"' + term.replace('"', '""') + '"' for term in terms))
            else:
                return []
        if matches:
            keys.insert(0, _MATCHES)
            values.insert(0, " AND ".join(f"({each})" for each in matches))
        return self._jobs(f"j.deleted IS NULL AND {' AND '.join(keys)}", values, most)

    def _terms(self, part: str) -> list[str] | None:
        """The terms of the index of which each finds a part of a text; None where it is in too many jobs.

        The index holds three letters and more. One or two are found as the first ones of its trigrams.
        """
        if len(part) >= TRIGRAM:
            return [part]
        low = part.lower()
        beyond = low[:-1] + chr(ord(low[-1]) + 1)
        sql = "SELECT term, doc FROM temp.terms WHERE term >= ? AND term < ?"
        found = self.rows(sql, low, beyond)
        return None if sum(row["doc"] for row in found) > MANY else [row["term"] for row in found]

    def people(self, text: str = "", most: int = MOST_FOUND) -> list[Person]:
        """Customers by a part of their name or contact, by name."""
        columns = ", ".join(Person._fields)
        text = _plain(text)
        found = self.rows(
            f"SELECT {columns} FROM people WHERE deleted IS NULL AND "
            "(name LIKE ? ESCAPE '\\' OR contact LIKE ? ESCAPE '\\') ORDER BY name LIMIT ?",
            _anywhere(text),
            _anywhere(text),
            most,
        )
        return [Person(*row) for row in found]

    def recent_people(self, most: int = 10) -> list[Person]:
        """Customers whose jobs were added or changed last, the latest first."""
        found = self.rows(
            "SELECT person FROM jobs WHERE deleted IS NULL AND person IS NOT NULL "
            "ORDER BY changed DESC LIMIT ?",
            10 * most,
        )
        numbers = dict.fromkeys(r["person"] for r in found)
        people = (self.person(number) for number in numbers)
        return [person for person in people if person.deleted is None][:most]

    def jobs_of(self, person: int) -> list[JobEntry]:
        """A customer's jobs, the latest first."""
        return self._jobs("j.deleted IS NULL AND j.person = ?", (person,))

    def changed_since(self, day: str) -> list[JobEntry]:
        """Jobs that were added or changed on a day or after it."""
        return self._jobs("j.deleted IS NULL AND j.changed >= ?", (day,))

    def not_seen_for(self, days: int, today: str) -> list[Person]:
        """Customers whose last job is longer ago than that, the longest first."""
        last = (date.fromisoformat(today) - timedelta(days=days)).isoformat()
        columns = ", ".join(f"p.{name}" for name in Person._fields)
        found = self.rows(
            f"SELECT {columns} FROM (SELECT id, (SELECT max(date) FROM jobs WHERE person = people.id AND "
            "deleted IS NULL) AS last FROM people WHERE deleted IS NULL) q JOIN people p ON p.id = q.id "
            "WHERE q.last < ? ORDER BY q.last LIMIT ?",
            last,
            MOST_FOUND,
        )
        return [Person(*row) for row in found]

    def thumb_opened(self, times: int, year: str) -> list[Person]:
        """Customers whose thumb hole became wider at least so many times in a year's jobs."""
        columns = ", ".join(f"p.{name}" for name in Person._fields)
        found = self.rows(
            "WITH wider AS (SELECT j.person FROM jobs j WHERE j.deleted IS NULL "
            "AND j.date BETWEEN ? AND ? AND j.thumb > (SELECT k.thumb FROM jobs k "
            "WHERE k.person = j.person AND k.deleted IS NULL AND k.thumb IS NOT NULL "
            "AND (k.date, k.id) < (j.date, j.id) ORDER BY k.date DESC, k.id DESC LIMIT 1)) "
            f"SELECT {columns} FROM people p JOIN wider w ON w.person = p.id WHERE p.deleted IS NULL "
            "GROUP BY p.id HAVING count(*) >= ? ORDER BY p.name LIMIT ?",
            f"{year}-01-01",
            f"{year}-12-31",
            times,
            MOST_FOUND,
        )
        return [Person(*row) for row in found]

    def pin_above(self, finger: str = "ring") -> list[JobEntry]:
        """Jobs whose pin lies above a finger's hole, as `fingers_below_pin` has it."""
        return self._jobs("j.deleted IS NULL AND instr(j.pin_above, ?)", (finger,))

    # --- the bin --------------------------------------------------------------------------------

    def delete(self, kind: str, number: int) -> None:
        """Put a person, a ball or a job into the bin, where it stays for thirty days."""
        self._set_deleted(kind, number, now())

    def undelete(self, kind: str, number: int) -> None:
        """Take it out of the bin."""
        self._set_deleted(kind, number, None)

    def _set_deleted(self, kind: str, number: int, moment: str | None) -> None:
        with self.change() as db:
            done = db.execute(
                f"UPDATE {PARTS[kind]} SET deleted = ? WHERE id = ?", (moment, number)
            ).rowcount
        if not done:
            raise InputError(f"the book has no {kind} number {number}.", file=str(self.path))

    def in_bin(self) -> tuple[list[Person], list[JobEntry]]:
        """The customers and the jobs that are in the bin."""
        # by the index of those that are not: a look at each job's row would read the whole book
        there = "SELECT id FROM jobs EXCEPT SELECT id FROM jobs WHERE deleted IS NULL"
        columns = ", ".join(Person._fields)
        people = self.rows(
            f"SELECT {columns} FROM people WHERE deleted IS NOT NULL ORDER BY deleted DESC LIMIT ?",
            MOST_FOUND,
        )
        return [Person(*row) for row in people], self._jobs(f"j.id IN ({there})", ())

    def empty_bin(self, today: str | None = None) -> int:
        """Delete for good what has been in the bin for thirty days; how many rows went."""
        last = date.fromisoformat(today or now()[:10]) - timedelta(days=BIN_DAYS)
        gone = 0
        with self.change() as db:
            for kind, table in PARTS.items():
                numbers = [
                    r["id"]
                    for r in db.execute(
                        f"SELECT id FROM {table} WHERE deleted < ?", (last.isoformat(),)
                    )
                ]
                for number in numbers:
                    self._forget(db, kind, number)
                    db.execute(f"DELETE FROM {table} WHERE id = ?", (number,))
                gone += len(numbers)
        return gone


def insert(db: sqlite3.Connection, table: str, values: Mapping[str, Any]) -> int:
    """Put a row into a table; its number."""
    marks = ", ".join("?" for _ in values)
    sql = f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})"
    number = db.execute(sql, tuple(values.values())).lastrowid
    assert number is not None
    return number


def add_event(db: sqlite3.Connection, ball: int, day: str, kind: str, detail: str) -> bool:
    """Put what happened to a ball, of no job, into its life; False where it stands there already."""
    values = {"ball": ball, "date": day, "kind": kind, "detail": detail}
    same = db.execute(
        "SELECT 1 FROM events WHERE job IS NULL AND ball = ? AND date = ? AND kind = ? AND detail = ?",
        tuple(values.values()),
    ).fetchone()
    if same is None:
        insert(db, "events", values)
    return same is None


def _plain(text: str) -> str:
    """A text without what no text of a book can have."""
    return text.replace("\0", " ").encode("utf-8", "replace").decode()


def _place(kind: str, number: int) -> int:
    """A row's place in the index."""
    return 3 * number + list(PARTS).index(kind)


_JOB = _place("job", 0)
_TERMS = "CREATE VIRTUAL TABLE temp.terms USING fts5vocab (main, words, row)"
_MATCHES = (
    f"j.id IN (SELECT (rowid - {_JOB}) / 3 FROM words WHERE words MATCH ? AND rowid % 3 = {_JOB})"
)
_IN_INDEXED = f"(SELECT text FROM words WHERE rowid = 3 * j.id + {_JOB}) LIKE ? ESCAPE '\\'"
_IN_TEXT = "(SELECT text FROM words WHERE kind = 'job' AND ref = j.id) LIKE ? ESCAPE '\\'"


def _anywhere(text: str) -> str:
    """A pattern for LIKE that finds a text anywhere, with backslash for its own signs."""
    escaped = text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    return f"%{escaped}%"


def fingers_below_pin(plan: Plan) -> list[str]:
    """The fingers above whose holes the pin lies: no farther aside than a hole, and farther up."""
    pin = plan.marks.pin
    return [
        h.name
        for h in plan.holes
        if h.name != "thumb" and abs(pin.over - h.over) <= BESIDE and pin.up > h.up
    ]


def figures_of(plan: Plan) -> dict[str, Any]:
    """The figures of a plan that the book keeps beside its record."""
    s = plan.statics
    return {
        "outcome": plan.outcome,
        "layout": dict(plan.layout._asdict()),
        "statics": {
            "weight_lb": s.weight_lb,
            "side_oz": s.side_oz,
            "finger_oz": s.finger_oz,
            "top_oz": s.top_oz,
            "arm": s.arm,
            "calibrated": s.calibrated,
        },
        "holes": {h.name: {"over": h.over, "up": h.up, "diameter": h.diameter} for h in plan.holes},
        "checks": {c.name: [c.value, c.outcome] for c in plan.checks},
    }


def job_of(text: str, name: str) -> Job:
    """The job of a record's text. Raises InputError where it cannot be used."""
    return parse_job(decode_json(text, name, "record"))


def grip_lengths(grip: Mapping[str, Any]) -> dict[str, float]:
    """The figures of a record's grip by name, in inches; pitches positive forward and right."""
    from layoutkit.job.limits import limit_at

    found: dict[str, float] = {}
    for digit in ("", *DIGITS):
        part = grip if not digit else grip.get(digit) or {}
        for name, value in part.items():
            row = limit_at(".".join(filter(None, ("bowler.grip", digit, name))))
            if row is not None and value is not None and not isinstance(value, dict | list):
                found[" ".join(filter(None, (digit, name)))] = float(row.parse(value))
        pitch = part.get("pitch") if digit else None
        for plus, minus in (("forward", "reverse"), ("right", "left")):
            if pitch and (plus in pitch or minus in pitch):
                row = limit_at(f"bowler.grip.{digit}.pitch.{plus}")
                assert row is not None
                size = float(row.parse(pitch.get(plus, pitch.get(minus))))
                found[f"{digit} {plus} pitch"] = size if plus in pitch else -size
    return found


def grip_differences(
    earlier: Mapping[str, Any], later: Mapping[str, Any]
) -> list[tuple[str, float | None, float | None]]:
    """What differs between two grips of a record: the figure's name, then and now, in inches.

    None stands for a figure that a grip has not.
    """
    then, since = grip_lengths(earlier), grip_lengths(later)
    names = dict.fromkeys((*then, *since))
    return [
        (n, then.get(n), since.get(n))
        for n in names
        if then.get(n) is None or since.get(n) is None or abs(then[n] - since[n]) > 1e-9
    ]
