"""The command book, and jobs of the book where a command takes a file."""

import json
import os
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from layoutkit.book.book import Book
from layoutkit.book.exchange import check
from layoutkit.commands.main import main
from layoutkit.errors import InputError

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
ONE = str(SAMPLES / "01_right_asymmetric.json")


@pytest.fixture(autouse=True)
def own_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "book.sqlite"
    monkeypatch.setenv("LAYOUTKIT_BOOK", str(path))
    return path


def test_a_job_is_added_found_shown_planned_and_written_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["book", "add", ONE]) == 0
    assert "job 1 added" in capsys.readouterr().out
    assert main(["book", "find", "asymm", "demo0001"]) == 0
    assert "Demo Bowler One" in capsys.readouterr().out
    assert main(["book", "show", "1"]) == 0
    shown = capsys.readouterr().out
    assert "shown as it was" in shown
    assert "MARKS (from the grip centre" in shown
    assert main(["plan", ONE]) == 0
    plain = capsys.readouterr().out
    assert main(["plan", "book:1"]) == 0
    assert capsys.readouterr().out == plain
    out = tmp_path / "again.json"
    assert main(["book", "show", "1", "--out", str(out)]) == 0
    assert out.read_bytes() == Path(ONE).read_bytes()
    capsys.readouterr()
    assert main(["book", "show", "person:1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["person"]["name"] == "Demo Bowler One"
    assert main(["book", "find", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["id"] == 1


def test_a_job_knows_where_its_photographs_lie(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    picture = tmp_path / "ball.jpg"
    picture.write_bytes(b"a picture")
    assert main(["book", "add", ONE]) == 0
    for _ in range(2):  # the same one is noted once
        assert main(["book", "photo", "1", str(picture)]) == 0
    assert "has 1 photograph;" in capsys.readouterr().out
    assert main(["book", "show", "1"]) == 0
    assert f"Photograph: {picture}" in " ".join(capsys.readouterr().out.split())
    assert main(["book", "show", "person:1", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["jobs"][0]["photographs"] == [str(picture)]
    for words, said in (
        (["1"], "one or more files"),
        (["9", str(picture)], "no job number 9"),
        (["ball:1", str(picture)], "is of a job"),
        (["1", str(tmp_path / "none.jpg")], "is no file"),
    ):
        assert main(["book", "photo", *words]) == 2
        assert said in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["find", "x"], "there is no book here"),
        (["show"], "takes one of NUMBER"),
        (["show", "person:x"], "takes one of NUMBER"),
        (["add"], "names nothing"),
        (["add", "nothing.json"], "nothing.json"),
        (["import", "nowhere"], "is not there"),
        (["export"], "takes one new folder"),
        (["restore", "x"], "say --yes"),
        (["find", "--since", "yesterday"], "is no day"),
        (["find", "--not-seen", "x"], "is no number"),
        (["find", "--not-seen", "²"], "is no number"),
        (["find", "--not-seen", "9" * 21], "is too large; possible: up to 99999"),
        (["find", "--thumb-opened", "9" * 21], "is too large; possible: up to 99999"),
        (["find", "x", "--not-seen=--"], "is no number"),
        (["show", "9" * 21], "takes one of NUMBER"),
        (["show", f"person:{'9' * 21}"], "takes one of NUMBER"),
        (["shake"], "invalid choice"),
    ],
)
def test_bad_words_get_one_sentence(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    if words[0] == "find" and len(words) > 2:
        main(["book", "add", ONE])
        capsys.readouterr()
    assert main(["book", *words]) == 2
    message = capsys.readouterr().err
    assert said in message
    assert len(message.splitlines()) == 1


@pytest.mark.parametrize(
    "words",
    [
        ["export", ONE],
        ["export", "x" * 300],
        ["import", "x" * 300],
        ["merge", "x" * 300],
        ["restore", "x" * 300, "--yes"],
        ["backup", "x" * 300],
        ["backup", "nowhere/at/all"],
        ["photo", "1", "x" * 300],
        ["find", "x", "--book", "x" * 300],
    ],
)
def test_a_file_or_folder_that_cannot_be_is_named(
    words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    main(["book", "add", ONE])
    capsys.readouterr()
    assert main(["book", *words]) == 2
    message = capsys.readouterr().err
    assert "; possible: " in message
    assert message.endswith(".\n")
    assert message.count("\n") == 1


def test_a_job_number_longer_than_any_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    main(["book", "add", ONE])
    capsys.readouterr()
    assert main(["plan", f"book:{'9' * 21}"]) == 2
    assert "possible: book:NUMBER" in capsys.readouterr().err


def test_a_job_of_the_book_is_weighed_and_confirmed_in_the_book(
    capsys: pytest.CaptureFixture[str],
) -> None:
    main(["book", "add", ONE])
    words = ["--gross", "14.9", "--top", "1", "--side", "0.5", "--finger", "0.25"]
    assert main(["weigh", "book:1", *words, "--record", "--by", "Demo"]) == 0
    assert main(["plan", "book:1", "--confirm", "bowler.grip.bridge"]) == 0
    capsys.readouterr()
    with Book(Path(os.environ["LAYOUTKIT_BOOK"]), create=False) as book:
        record = json.loads(book.record(1))
        assert record["weighings"]["drilled"]["side"] == 0.5
        assert "bowler.grip.bridge" in record["confirmed"]
        assert [e.kind for e in book.life(1)] == ["drilled", "weighed"]
    assert main(["weigh", "book:1"]) == 0


@pytest.mark.parametrize("source", ["book:9", "book:x", "book:"])
def test_a_job_that_the_book_has_not_is_refused(
    source: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["book", "add", ONE])
    capsys.readouterr()
    assert main(["plan", source]) == 2
    assert "book" in capsys.readouterr().err


def test_a_table_of_customers_is_imported_as_far_as_it_can_be(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "customers.csv"
    path.write_bytes("Kunde;Hand;Tel\nMüller;LH;0123\n;R;1\nDoe;up;\n".encode("cp1252"))
    assert main(["book", "import", str(path), "--columns", "Kunde=name,Tel=contact"]) == 0
    text = capsys.readouterr().out
    assert "line 3: has no name" in text
    assert "line 4: hand" in text
    assert "1 customers added" in text
    assert main(["book", "people", "ller"]) == 0
    assert "0123" in capsys.readouterr().out


def test_a_backup_is_made_and_put_back(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["book", "import", str(SAMPLES)])
    copy = str(tmp_path / "copy.sqlite")
    assert main(["book", "backup", copy]) == 0
    assert main(["book", "erase", "person:1", "--yes", "--out", str(tmp_path / "held.json")]) == 0
    assert main(["book", "restore", copy, "--yes"]) == 0
    capsys.readouterr()
    assert main(["book", "show", "person:1"]) == 0
    assert "Demo Bowler One" in capsys.readouterr().out
    assert main(["book", "check"]) == 0
    assert main(["book", "merge", copy]) == 0
    assert "0 rows differ" in capsys.readouterr().out


WRITER = """
import sys
from pathlib import Path
from layoutkit.book.book import Book
with Book(Path(sys.argv[1])) as book:
    for number in range(100000):
        book.add_person(f"Person {number}", "right")
        print(number, flush=True)
"""


def test_a_killed_writer_loses_nothing_that_it_told(own_book: Path) -> None:
    """A few rounds of the many in tests/bench/bench_book.py."""
    for round_ in range(4):
        own_book.unlink(missing_ok=True)
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(own_book)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(0.01 * (round_ + 1))
            writer.send_signal(signal.SIGKILL)
            rest = writer.stdout.read().split()
        told = int(rest[-1]) if rest else 0
        with Book(own_book, create=False) as book:
            assert check(book) == []
            assert book.rows("SELECT count(*) FROM people")[0][0] >= told + 1


def test_a_full_disk_is_one_sentence_and_nothing_half_done(
    own_book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["book", "add", ONE])
    with Book(own_book, create=False) as book:
        pages = book.rows("PRAGMA page_count")[0][0]
        book.db.execute(f"PRAGMA max_page_count = {pages}")
        text = json.dumps({"a": "x" * 200000})
        with pytest.raises(InputError, match="the disk is full"):
            book.add_person("Somebody", "right", text)
        assert book.people("Somebody") == []
        assert check(book) == []
    with closing(sqlite3.connect(own_book)) as db:
        assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    capsys.readouterr()
