"""The shop's book: what goes in comes out, is found, merged, restored, and can be erased."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutkit import InputError, parse_job, plan
from layoutkit.bench.fit import complaint
from layoutkit.book import exchange, schema
from layoutkit.book.book import Added, Book, Checked, grip_differences
from layoutkit.output.grip_report import fit_text
from layoutkit.planning.values import Plan

NAMES = [
    "O'Brien",
    "50% Anna_B",
    "Robert'); DROP TABLE people;--",
    "Łukasz Żółć",
    "山田 太郎",
    'a "b" c',
]


def shown(p: Plan) -> str:
    return f"shown {p.outcome}"


@pytest.fixture
def book(tmp_path: Path) -> Any:
    with Book(tmp_path / "book.sqlite") as opened:
        yield opened


def put(book: Book, record: dict[str, Any], source: str = "", **bowler: Any) -> Added:
    changed = {**record, "bowler": {**record["bowler"], **bowler}}
    text = json.dumps(changed, ensure_ascii=False)
    return book.add_job(text, plan(parse_job(changed)), "what was shown", "0.0.1", source)


def dated(record: dict[str, Any], day: str, thumb: float = 1.0) -> dict[str, Any]:
    changed: dict[str, Any] = json.loads(json.dumps(record))
    changed["work"] = {"date": day, "order": f"ORDER-{day}"}
    changed["bowler"]["grip"]["thumb"]["diameter"] = thumb
    return changed


def test_a_job_comes_out_as_it_went_in(book: Book, record: dict[str, Any]) -> None:
    text = json.dumps(record, indent=1)
    p = plan(parse_job(record))
    added = book.add_job(text, p, "what was shown", "0.0.1", "a.json")
    assert added == Added(1, True, ())
    assert book.record(1) == text
    assert book.shown_then(1) == "what was shown"
    job = book.job(1)
    assert (job.name, job.serial, job.outcome, job.program) == (
        "Demo",
        "DEMO0000",
        p.outcome,
        "0.0.1",
    )
    assert book.figures(1)["statics"]["side_oz"] == p.statics.side_oz
    # the same record, however it is laid out, is the same job
    assert book.add_job(json.dumps(record), p, "", "0.0.2") == Added(1, False, ())
    assert book.job(1).program == "0.0.1"


def test_a_file_that_changed_takes_the_place_of_what_it_was(
    book: Book, record: dict[str, Any]
) -> None:
    assert put(book, record, "a.json").number == 1
    record["layout"]["angle_at_pin"] = 60
    again = put(book, record, "a.json")
    assert (again.number, again.new) == (1, False)
    assert json.loads(book.record(1))["layout"]["angle_at_pin"] == 60
    assert len(book.find("Demo")) == 1
    assert len(book.life(1)) == 1


@pytest.mark.parametrize("name", NAMES)
def test_every_name_is_a_person_like_others(book: Book, record: dict[str, Any], name: str) -> None:
    put(book, record, name=name)
    put(book, dated(record, "2026-01-02"), name="Somebody Else")
    for part in (name, name[:3], name[-2:].strip()):
        assert 1 in [job.id for job in book.find(part)], part
    assert [p.name for p in book.people(name)] == [name]
    assert exchange.counts(book.db)["people"] == 2


@settings(max_examples=25)
@given(text=st.text(max_size=12))
def test_any_search_text_is_only_text(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    with Book(tmp_path_factory.mktemp("b") / "b.sqlite") as book:
        book.add_person("Anna", "right")
        assert book.find(text) == []
        assert len(book.people(text)) <= 1


@pytest.mark.parametrize("many", [0, 5000])
def test_one_or_two_letters_are_found_in_every_text_to_its_end(
    book: Book, record: dict[str, Any], many: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By the index where few jobs have them, and without it where many do."""
    monkeypatch.setattr("layoutkit.book.book.MANY", many)
    record["ball"] |= {"name": "Invented Jupiter", "serial": "QX-77"}
    number = put(book, record).number
    for part in ("q", "Q", "x-", "77", "er", "r", "Jup er q"):
        assert [job.id for job in book.find(part)] == [number], part
    for part in ("qq", "z!", "er qq"):
        assert book.find(part) == [], part


def test_history_and_the_questions_of_a_shop(book: Book, record: dict[str, Any]) -> None:
    put(book, dated(record, "2024-03-01"), name="Gone Long")
    for n, day in enumerate(("2026-01-01", "2026-03-01", "2026-06-01")):
        put(book, dated(record, day, 1.0 + n / 32.0), name="Opened Twice")
    assert [p.name for p in book.not_seen_for(365, "2026-11-29")] == ["Gone Long"]
    assert [p.name for p in book.thumb_opened(2, "2026")] == ["Opened Twice"]
    assert book.thumb_opened(3, "2026") == []
    grips = book.grips(2)
    assert [g.date for g in grips] == ["2026-01-01", "2026-03-01", "2026-06-01"]
    assert grip_differences(grips[0].grip, grips[2].grip) == [("thumb diameter", 1.0, 1.0625)]
    assert [e.kind for e in book.life(1)] == ["drilled"] * 4
    above = [job.id for job in book.pin_above("ring")]
    pin = plan(parse_job(record)).marks.pin
    ring = next(h for h in plan(parse_job(record)).holes if h.name == "ring")
    assert bool(above) == (abs(pin.over - ring.over) <= 0.75 and pin.up > ring.up)
    assert len(book.changed_since("2026-01-01")) == 4


def test_the_shop_s_own_thumb_pitches_are_told_by_span(book: Book, record: dict[str, Any]) -> None:
    """Of each customer the latest grip alone; worked out by hand."""

    def job(name: str, day: str, span: str, pitch: dict[str, str]) -> None:
        changed = dated(record, day)
        grip = changed["bowler"]["grip"]
        grip["middle"]["span"] = grip["ring"]["span"] = span
        grip["thumb"]["pitch"] = pitch
        put(book, changed, name=name)

    job("One", "2026-01-01", "4", {"forward": "3/8"})  # an earlier one
    job("One", "2026-02-01", "4", {"forward": "1/8"})
    job("Two", "2026-02-01", "4 1/16", {"reverse": "1/16"})
    job("Three", "2026-02-01", "4 1/4", {"forward": "0"})
    own = book.thumb_pitches()
    assert own == [(4.0, -1 / 16, 1 / 8, 2), (4.25, 0.0, 0.0, 1)]
    text = " ".join(fit_text(complaint("thumb-hangs"), "2026-03-01", own).split())
    assert (
        "near 4 in span 1/16 reverse to 1/8 forward (2 grips); near 4 1/4 in span 0 (1 grip)."
        in text
    )


def test_a_serial_number_of_another_owner_is_told(book: Book, record: dict[str, Any]) -> None:
    put(book, record, name="First")
    added = put(book, dated(record, "2026-02-02"), name="Second")
    assert added.warnings == ("Serial DEMO0000 was First's ball before: is it the same ball?",)


def test_the_bin_gives_back_and_is_emptied_after_thirty_days(
    book: Book, record: dict[str, Any]
) -> None:
    put(book, record)
    book.delete("job", 1)
    assert book.find("Demo") == []
    book.undelete("job", 1)
    assert len(book.find("Demo")) == 1
    book.delete("job", 1)
    assert book.empty_bin("2026-11-30") in (0, 1)
    assert book.empty_bin("2999-01-01") in (0, 1)
    with pytest.raises(InputError, match="no job number 1"):
        book.job(1)


def test_export_import_and_export_again_are_the_same(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    put(book, dated(record, "2026-01-01"), name=NAMES[2])
    put(book, dated(record, "2026-02-01"), name=NAMES[4])
    assert exchange.export(book, tmp_path / "one") == 2
    with Book(tmp_path / "other.sqlite") as other:
        for each in exchange.import_folder(other, tmp_path / "one", shown, "0.0.1"):
            assert each.problem == ""
        exchange.export(other, tmp_path / "two")
    files = sorted(p.name for p in (tmp_path / "one").iterdir())
    assert files == ["000001.json", "000002.json", "customers.csv"]
    for name in files:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    with pytest.raises(InputError, match="is not empty"):
        exchange.export(book, tmp_path / "one")


CHECKS = (
    Checked("demo0000", "Demo", "2026-03-01", "pass", "usbc-2020", 14.95, 1.5, -0.25, 0.1),
    Checked("X-9", "Other", "2026-03-01", "incomplete", "usbc-2020", 15.0),
)


def test_checks_stand_in_the_lives_of_balls_once_and_go_from_book_to_book(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    put(book, dated(record, "2026-01-01"))
    nameless = Checked("", "no serial", "2026-03-01", "fail", "usbc-2020")
    assert book.add_checks((*CHECKS, nameless)) == 2
    assert book.add_checks(CHECKS) == 0
    assert [event.kind for event in book.life(1)] == ["drilled", "checked"]
    assert book.life(1)[1].detail["side"] == -0.25
    assert (book.ball(2).serial, book.ball(2).owner) == ("X-9", None)
    put(
        book, dated(record, "2026-01-01", 1.125), source="again"
    )  # the job's own events are another's
    assert [event.kind for event in book.life(1)].count("checked") == 1
    exchange.export(book, tmp_path / "one")
    with Book(tmp_path / "other.sqlite") as other:
        list(exchange.import_folder(other, tmp_path / "one", shown, "0.0.1"))
        assert exchange.import_checks(other, tmp_path / "one") == 2
        assert exchange.import_checks(other, tmp_path / "one") == 0
        exchange.export(other, tmp_path / "two")
    name = exchange.CHECKS
    assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()
    with Book(tmp_path / "third.sqlite") as third:
        exchange.merge(third, book)
        exchange.merge(third, book)
        assert [c._replace(serial=c.serial.lower()) for c in third.checks()] == [
            c._replace(serial=c.serial.lower()) for c in book.checks()
        ]
    (tmp_path / "one" / name).write_text("serial,day,verdict,rules\nX,soon,pass,r\n")
    with pytest.raises(InputError, match="line 2"):
        exchange.import_checks(book, tmp_path / "one")


def test_a_folder_is_imported_as_far_as_it_can_be(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    folder = tmp_path / "jobs"
    folder.mkdir()
    (folder / "a.json").write_text(json.dumps(record))
    (folder / "b.json").write_text("{not json")
    done = list(exchange.import_folder(book, folder, shown, "0.0.1"))
    assert [each.added is not None for each in done] == [True, False]
    assert done[1].problem


def test_a_backup_is_restored_with_all_that_was_in_it(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    put(book, record)
    copy = exchange.backup(book, tmp_path / "copy.sqlite")
    target = tmp_path / "new" / "book.sqlite"
    assert exchange.restore(copy, target)["jobs"] == 1
    with Book(target, create=False) as again:
        assert again.record(1) == book.record(1)
    put(book, dated(record, "2026-05-05"))
    exchange.restore(copy, target)
    assert (tmp_path / "new" / "book.sqlite.before").exists()
    (tmp_path / "text").write_text("no book at all" * 100)
    for act in (exchange.restore, lambda p, _: exchange.backup(book, p)):
        with pytest.raises(InputError):
            act(tmp_path / "text", target)
    assert (tmp_path / "text").read_text().startswith("no book at all")


def test_two_books_become_one_and_differences_are_told(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    put(book, dated(record, "2026-01-01"), name="Both")
    exchange.backup(book, tmp_path / "other.sqlite")
    with Book(tmp_path / "other.sqlite") as other:
        put(other, dated(record, "2026-02-01", 1.0625), name="Both")
        other.change_person(1, contact="by the door")
        came, conflicts = exchange.merge(book, other)
        assert came == {"person": 0, "ball": 0, "job": 1}
        assert (conflicts[0].kind, conflicts[0].number) == ("person", 1)
        assert "by the door" in conflicts[0].there
        assert "by the door" not in conflicts[0].here
        assert len(book.grips(1)) == 2
        assert exchange.merge(book, other)[0] == {"person": 0, "ball": 0, "job": 0}
    assert len(book.find("Both")) == 2


def test_nothing_of_an_erased_person_is_left_in_the_files(
    book: Book, record: dict[str, Any], tmp_path: Path
) -> None:
    name, contact = "Żaneta Geheim", "geheim@example.invalid"
    first = dated(record, "2026-01-01") | {"title": f"For {name}", "notes": f"call {contact}"}
    put(book, first, name=name)
    put(book, dated(record, "2026-02-01") | {"notes": f"as for {name.upper()}"}, name="Another")
    book.change_person(1, contact=contact, notes="likes it tight")
    book.delete("job", 1)
    held = exchange.everything_about(book, 1)
    assert held["person"]["contact"] == contact
    assert held["jobs"][0]["record"]["bowler"]["name"] == name
    assert exchange.erase(book, 1) == 1
    book.close()
    data = b"".join(p.read_bytes() for p in tmp_path.iterdir() if p.name.startswith("book.sqlite"))
    for word in (name, contact, "tight", "Geheim", "GEHEIM", json.dumps(name)[1:-1]):
        assert word.encode() not in data, word
    with Book(tmp_path / "book.sqlite") as again:
        assert json.loads(again.record(1))["bowler"]["name"] == exchange.FORGOTTEN
        assert parse_job(json.loads(again.record(1))).ball.serial == "DEMO0000"
        assert [j.name for j in again.find("")] == ["Another"]
        assert exchange.check(again) == []


def test_an_older_book_is_brought_up_to_date_and_a_copy_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "book.sqlite"
    with Book(path) as old:
        old.add_person("Anna", "left")
    more = "ALTER TABLE people ADD COLUMN nick TEXT NOT NULL DEFAULT '';"
    monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS, more))
    monkeypatch.setattr(schema, "VERSION", 2)
    with Book(path) as new:
        assert new.rows("SELECT name, nick FROM people")[0][:] == ("Anna", "")
    assert (tmp_path / "book.sqlite.version1").exists()
    monkeypatch.undo()
    with pytest.raises(InputError, match="made by a newer layoutkit"):
        Book(path)


@pytest.mark.parametrize("network", [False, True])
def test_the_file_tells_what_it_is(tmp_path: Path, network: bool) -> None:
    path = tmp_path / "deep" / "book.sqlite"
    with Book(path, network=network) as book:
        assert book.rows("PRAGMA application_id")[0][0] == schema.APPLICATION_ID
        assert book.rows("PRAGMA foreign_keys")[0][0] == 1
        mode = book.rows("PRAGMA journal_mode")[0][0]
        assert mode == ("delete" if network else "wal")
    assert path.stat().st_mode & 0o077 == 0


def test_what_is_no_book_is_refused_and_left_alone(tmp_path: Path) -> None:
    for name, data in (("text", b"some text " * 200), ("cut", None)):
        path = tmp_path / name
        if data is None:
            with Book(tmp_path / "whole") as book:
                for n in range(200):
                    book.add_person(f"P{n}", "right")
            whole = (tmp_path / "whole").read_bytes()
            data = whole[: len(whole) // 2]
        path.write_bytes(data)
        with pytest.raises(InputError), Book(path) as opened:
            raise InputError(exchange.check(opened)[0])
        assert path.read_bytes() == data
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as db:
        db.execute("CREATE TABLE a (b)")
    with pytest.raises(InputError, match="is no book of layoutkit"):
        Book(other)
    with pytest.raises(InputError, match="there is no book here"):
        Book(tmp_path / "nothing", create=False)


def test_a_book_that_another_program_holds_is_told_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(schema, "LONGEST_WAIT", 0.05)
    path = tmp_path / "book.sqlite"
    with Book(path) as one, Book(path) as two:
        one.db.execute("BEGIN IMMEDIATE")
        with pytest.raises(InputError, match="another program is writing"):
            two.add_person("Anna", "left")
        one.db.execute("ROLLBACK")
        assert two.add_person("Anna", "left") == 1


def test_a_book_without_the_index_finds_the_same(
    tmp_path: Path, record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(
        schema, "WORDS", "CREATE VIRTUAL TABLE words USING nothing_of_this_name (a)"
    )
    with Book(tmp_path / "plain.sqlite") as book:
        assert not book.indexed
        put(book, record, name=NAMES[3])
        assert [j.id for j in book.find("żół")] in ([1], [])  # plain LIKE folds ASCII letters only
        assert [j.id for j in book.find("Żół")] == [1]
        exchange.erase(book, 1)
        assert book.find("Żół") == []
