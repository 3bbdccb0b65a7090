"""The shop's book in the window's state: saving, finding, the card, the bin."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from gui.state.book_desk import NO_BOOK, BookDesk
from gui.state.presenter import Presenter
from layoutkit.book.book import Book

Opened = Callable[..., Presenter]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[BookDesk]:
    made = BookDesk(tmp_path / "data" / "book.sqlite")
    yield made
    made.close()


def test_without_a_book_one_sentence_says_so_and_nothing_is_made(desk: BookDesk) -> None:
    desk.search("anybody")
    assert desk.trouble == NO_BOOK
    assert not desk.path.parent.exists()


def test_a_file_that_is_no_book_is_told_where_the_person_looks(desk: BookDesk) -> None:
    desk.path.parent.mkdir()
    desk.path.write_bytes(b"no book at all " * 100)
    desk.search("")
    assert "is no book of layoutkit" in desk.trouble
    assert desk.rows == ()


def test_a_job_goes_into_the_book_and_comes_back_as_it_was(opened: Opened, desk: BookDesk) -> None:
    p = opened("01")
    record = p.document.record()
    p.edit("ball.serial", "AB-77-X")
    offer = desk.offer(p)
    assert offer is not None
    assert "first customer of a new book" in offer.who
    assert offer.replaces is None
    assert desk.save(p) == ()
    assert not desk.trouble
    assert not p.document.dirty
    assert p.message == "Saved as job 1 of the book."
    assert p.document.title == "job 1 of the book - layoutkit"
    p.new()
    name = record["bowler"]["name"]
    for part in ("b-77", name[:4], record["ball"]["name"][2:]):
        desk.search(part)
        (row,) = [row for row in desk.rows if row.part == "job"]
        assert row.cells[2] == "AB-77-X"
    assert f"Customer 1: {name}" in desk.card(row)
    assert row.job is not None
    assert p.open_kept(desk.record(row), row.job)
    assert not p.document.dirty
    record["ball"]["serial"] = "AB-77-X"
    assert p.document.record() == record
    p.edit("ball.serial", "C")
    assert p.document.dirty
    p.undo()
    assert not p.document.dirty
    assert f"Customer 1: {name}" in desk.customer_card(p)
    p.edit("bowler.name", "Somebody Else")
    assert desk.customer_card(p) == ""
    assert "no customer called Somebody Else" in desk.trouble


def test_a_job_of_the_book_is_replaced_only_where_that_is_asked(
    opened: Opened, desk: BookDesk
) -> None:
    p = opened("01")
    desk.save(p)
    p.edit("bowler.grip.thumb.diameter", "1 1/64")
    offer = desk.offer(p)
    assert offer is not None
    assert offer.replaces is not None
    assert offer.replaces.id == 1
    assert any(words.startswith("thumb diameter") for words in offer.changes)
    desk.save(p, "swollen")
    assert p.document.kept is not None
    assert p.document.kept.id == 2
    p.edit("title", "Another title")
    desk.save(p, replace=True)
    desk.search("")
    assert [row.cells[4] for row in desk.rows if row.job and row.number == 2] == ["Another title"]
    assert len([row for row in desk.rows if row.part == "job"]) == 2
    (person,) = [row for row in desk.rows if row.part == "person"]
    assert "job 2, swollen: thumb diameter" in " ".join(desk.card(person).split())


def test_a_job_that_changed_meanwhile_is_not_replaced(opened: Opened, desk: BookDesk) -> None:
    p = opened("01")
    desk.save(p)
    with Book(desk.path) as other:
        text = other.record(1)
        changed = json.dumps(json.loads(text) | {"notes": "of another window"})
        other.change_record(1, changed, text)
    p.edit("title", "Mine")
    desk.save(p, replace=True)
    assert "another program changed this job" in desk.trouble
    assert p.document.dirty
    with Book(desk.path) as other:
        assert other.record(1) == changed


def test_what_is_deleted_comes_back_by_undo_and_from_the_bin(
    opened: Opened, desk: BookDesk
) -> None:
    p = opened("01")
    desk.save(p)
    desk.search("")
    (job,) = [row for row in desk.rows if row.part == "job"]
    assert "30 days" in desk.delete(job)
    assert job not in desk.rows
    assert desk.undo() == "Job 1 is back."
    desk.search("")
    assert job in desk.rows
    desk.delete(job)
    later = BookDesk(desk.path)  # as after another start
    later.show_bin()
    (row,) = later.rows
    assert later.undo(row) == "Job 1 is back."
    later.show_bin()
    assert later.rows == ()
    later.close()


def test_the_last_job_is_the_start_of_the_new_one(opened: Opened, desk: BookDesk) -> None:
    p = opened("01")
    desk.save(p)
    before = p.document.record()
    desk.search("")
    job = next(row for row in desk.rows if row.job is not None)
    assert job.job is not None
    assert p.start_from(desk.record(job), job.job, "2026-11-29")
    after = p.document.record()
    assert after["bowler"]["name"] == before["bowler"]["name"]
    assert p.problems  # ball and layout are left to fill in
    assert p.document.dirty
    assert p.document.kept is None


def test_a_ball_that_was_another_persons_is_asked_about(opened: Opened, desk: BookDesk) -> None:
    p = opened("01")
    p.edit("ball.serial", "AB-77-X")
    desk.save(p)
    p.edit("bowler.name", "Somebody Else")
    (words,) = desk.save(p)
    assert "is it the same ball?" in words
    desk.search("")
    people = [row.cells[1] for row in desk.rows if row.part == "person"]
    assert people[0] == "Somebody Else"  # the latest first
    assert len(people) == 2
