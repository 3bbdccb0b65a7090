"""The shop's book for the window: what a search finds, a person's card, the bin, and saving a job.

A desk keeps the book open from its first search until `close`. What the book refuses is kept in
`trouble`, one sentence for the place where the person looks.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Literal, NamedTuple

from gui.state.presenter import Presenter
from layoutkit import __version__
from layoutkit.book.book import BIN_DAYS, Book, JobEntry, Person, grip_differences
from layoutkit.book.schema import book_path
from layoutkit.errors import InputError
from layoutkit.job.record import Job, dump_job
from layoutkit.job.store import record_text
from layoutkit.output.book_report import (
    ball_text,
    difference_words,
    job_text,
    person_text,
)

HEADINGS = ("date", "customer", "serial", "outcome", "title")
NO_BOOK = "There is no book yet: File, Save into the book makes it."
NO_NAME = "The form names no bowler yet."
MOST_JOBS, MOST_PEOPLE = 60, 6  # rows that a search shows
LONGEST_WAIT = (
    1000  # milliseconds for another program that writes; the window stands still meanwhile
)

Part = Literal["person", "job"]


class BookRow(NamedTuple):
    """One customer or one job, with its cells under `HEADINGS`."""

    part: Part
    number: int
    cells: tuple[str, ...]
    job: JobEntry | None = None
    person: int | None = None

    @property
    def name(self) -> str:
        """How a sentence calls it: `Job 12`, `Customer 3`."""
        return f"{'Job' if self.part == 'job' else 'Customer'} {self.number}"


class Offer(NamedTuple):
    """What would be saved: the job, whose it is, what changed in his grip, and what it may replace."""

    who: str
    ball: str
    changes: tuple[str, ...]
    replaces: JobEntry | None


class BookDesk:
    """The book of one dialog; ``path`` is the user's own without another."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = book_path() if path is None else path
        self.trouble = ""
        self.rows: tuple[BookRow, ...] = ()
        self.heading = ""  # what the rows are
        self.in_bin = False
        self._book: Book | None = None
        self._deleted: list[BookRow] = []
        self._card: tuple[BookRow, str] | None = None

    def close(self) -> None:
        """Close the book's file."""
        if self._book is not None:
            self._book.close()
            self._book = None

    def _opened(self, create: bool = False) -> Book:
        if self._book is None:
            if not create and not self.path.exists():
                raise InputError(NO_BOOK)
            self._book = Book(self.path, create=create)
            self._book.db.execute(f"PRAGMA busy_timeout = {LONGEST_WAIT}")
        return self._book

    # --- finding ----------------------------------------------------------------------------------

    def search(self, text: str) -> None:
        """Fill `rows` with what a text finds; without one, with recent people and the latest jobs."""

        def found(book: Book) -> tuple[BookRow, ...]:
            blank = not text.strip()
            people = book.recent_people() if blank else book.people(text.strip(), MOST_PEOPLE)
            self.heading = (
                "Recent people, then the latest jobs" if blank else "Customers, then jobs"
            )
            return (*map(_person_row, people), *map(_job_row, book.find(text, MOST_JOBS)))

        self._fill(found)

    def jobs_of(self, row: BookRow) -> None:
        """Fill `rows` with a customer's jobs."""

        def found(book: Book) -> tuple[BookRow, ...]:
            self.heading = f"Jobs of {row.cells[1]}"
            return tuple(map(_job_row, book.jobs_of(row.number)))

        self._fill(found)

    def show_bin(self) -> None:
        """Fill `rows` with what is in the bin."""

        def found(book: Book) -> tuple[BookRow, ...]:
            people, jobs = book.in_bin()
            self.heading = f"The bin: what was deleted stays here for {BIN_DAYS} days"
            return (*map(_person_row, people), *map(_job_row, jobs))

        self._fill(found, in_bin=True)

    def _fill(self, found: Callable[[Book], tuple[BookRow, ...]], in_bin: bool = False) -> None:
        self.rows, self.trouble, self.in_bin, self._card = (), "", in_bin, None
        try:
            self.rows = found(self._opened())
        except InputError as error:
            self.trouble = str(error)

    def card(self, row: BookRow) -> str:
        """The card of a row's customer; of a job without one, the life of its ball."""
        if self._card is None or self._card[0] != row:
            try:
                self._card = row, self._card_of(self._opened(), row)
            except InputError as error:
                self.trouble = str(error)
                return ""
        return self._card[1]

    def _card_of(self, book: Book, row: BookRow) -> str:
        own = "" if row.job is None else f"{row.name}: {row.job.title or 'no title'}\n\n"
        if row.person is not None:
            return own + person_text(book, row.person)
        if row.job is not None and row.job.ball is not None:
            return own + ball_text(book, row.job.ball)
        return own

    def customer_card(self, presenter: Presenter) -> str:
        """The card of the customer whom the form names; empty, with `trouble`, where there is none."""
        self.trouble = ""
        name, hand = presenter.entry("bowler.name").strip(), presenter.entry("bowler.hand")
        try:
            book, kept = self._opened(), presenter.document.kept
            number = None if kept is None else kept.person
            if number is None or book.person(number).name.casefold() != name.casefold():
                same = _of_name(book, name)
                same = [p for p in same if p.hand in hand] or same
                number = same[0].id if same else None
            if number is not None:
                return person_text(book, number)
            self.trouble = f"The book has no customer called {name}." if name else NO_NAME
        except InputError as error:
            self.trouble = str(error)
        return ""

    def shown_then(self, row: BookRow) -> str:
        """A job as it was shown when it was added; empty, with `trouble`, where that cannot be read."""
        try:
            return job_text(self._opened(), row.number, __version__)
        except InputError as error:
            self.trouble = str(error)
            return ""

    def record(self, row: BookRow) -> str:
        """A job's record as it was written; empty, with `trouble`, where that cannot be read."""
        try:
            return self._opened().record(row.number)
        except InputError as error:
            self.trouble = str(error)
            return ""

    # --- the bin ----------------------------------------------------------------------------------

    def delete(self, row: BookRow) -> str:
        """Put a row into the bin; what to say of that, empty, with `trouble`, where that cannot be."""
        try:
            self._opened().delete(row.part, row.number)
        except InputError as error:
            self.trouble = str(error)
            return ""
        self._deleted.append(row)
        self.rows = tuple(each for each in self.rows if each != row)
        self._card = None
        return f"{row.name} is in the bin for {BIN_DAYS} days: Undo brings it back."

    def undo(self, row: BookRow | None = None) -> str:
        """Take a row out of the bin, or what was deleted last; what to say of that, as `delete`."""
        wanted = row if row is not None else self._deleted[-1] if self._deleted else None
        if wanted is None:
            return "Nothing was deleted here. The bin shows what was deleted before."
        try:
            self._opened().undelete(wanted.part, wanted.number)
        except InputError as error:
            self.trouble = str(error)
            return ""
        with suppress(ValueError):
            self._deleted.remove(wanted)
        return f"{wanted.name} is back."

    # --- saving -----------------------------------------------------------------------------------

    def offer(self, presenter: Presenter) -> Offer | None:
        """What saving the present job would do; None, with `trouble`, where it cannot be saved."""
        job = presenter.job
        if job is None:
            self.trouble = "The record is not complete."
            return None
        self.trouble = ""
        name = job.bowler.name.strip()
        who = name or "no customer, as the record names no bowler"
        changes: tuple[str, ...] = ()
        try:
            if self.path.exists():
                book = self._opened()
                same = [p for p in _of_name(book, name) if p.hand == job.bowler.hand]
                who = f"{who}, {'customer ' + str(same[0].id) if same else 'a new customer'}"
                changes = self._changes(book, same[0], job) if same else ()
            elif name:
                who = f"{who}, the first customer of a new book: {self.path}"
        except InputError as error:
            self.trouble = str(error)
            return None
        ball = f"{job.ball.name or 'no name'}, serial {job.ball.serial or 'none'}"
        return Offer(who, ball, changes, presenter.document.kept)

    def _changes(self, book: Book, person: Person, job: Job) -> tuple[str, ...]:
        grips = book.grips(person.id)
        if not grips:
            return ()
        grip = dump_job(job)["bowler"]["grip"]
        return tuple(difference_words(*each) for each in grip_differences(grips[-1].grip, grip))

    def save(self, presenter: Presenter, why: str = "", replace: bool = False) -> tuple[str, ...]:
        """Save the present job; what is odd about its ball. `trouble` says why it is not saved.

        With ``replace`` it takes the place of the job of the book that it is.
        """
        self.trouble = ""
        plan = presenter.sound_plan("saving it into the book")
        if plan is None:
            self.trouble = presenter.message
            return ()
        text = record_text(presenter.document.record())
        old = presenter.document.kept if replace else None
        try:
            book = self._opened(create=True)
            added = book.add_job(
                text, plan, presenter.plan_text(), __version__, why=why.strip(), instead_of=old
            )
            entry = book.job(added.number)
        except InputError as error:
            self.trouble = str(error)
            return ()
        again = "" if added.new or old is not None else ", which it was already"
        presenter.kept_in_book(entry, f"Saved as job {added.number} of the book{again}.")
        return added.warnings


def _of_name(book: Book, name: str) -> list[Person]:
    """The customers who are called so; nobody is called by an empty name."""
    people = book.people(name) if name else []
    return [p for p in people if p.name.casefold() == name.casefold()]


def today() -> str:
    """This day, year-month-day."""
    return date.today().isoformat()


def _person_row(p: Person) -> BookRow:
    return BookRow("person", p.id, ("customer", p.name, "", "", p.contact), None, p.id)


def _job_row(j: JobEntry) -> BookRow:
    cells = (j.date, j.name or "-", j.serial or "-", j.outcome, j.title or "-")
    return BookRow("job", j.id, cells, j, j.person)
