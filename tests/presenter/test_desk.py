"""The check-in desk's state: typing, verdicts, the list, what a crash leaves, tables in and out."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from gui.state import columns
from gui.state.desk import FOLDER, MARKS, READINGS, WEIGHTS, Desk
from layoutkit.book.book import Book
from layoutkit.job.tables import read_table

TODAY = "2026-11-29"
BALL = {"owner": "Demo One", "serial": "AB-77", "gross": "14.95", "top": "1.5", "side": "0.25"}


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    made = Desk(tmp_path, today=TODAY)
    yield made
    made.close()


def again(desk: Desk) -> Desk:
    """The desk of another start after the first one's end, which told nothing."""
    desk.journal._lock.free(remove=False)
    return Desk(desk.config, today=TODAY)


def type_ball(desk: Desk, **texts: str) -> None:
    for name, text in texts.items():
        for end in range(1, len(text) + 1):
            desk.edit(name, text[:end])


def test_a_ball_takes_nine_fields_with_weights_and_twelve_with_readings() -> None:
    assert len(WEIGHTS) == 9
    assert len(READINGS) == 12


def test_the_verdict_stands_in_words_as_the_last_figure_is_typed(desk: Desk) -> None:
    assert desk.said().outcome is None
    type_ball(desk, **BALL)
    said = desk.said()
    assert said.outcome == "incomplete"
    assert "not measured: finger" in said.headline
    assert desk.after("side") == "finger"
    type_ball(desk, finger="-0.1")
    assert desk.said().outcome == "pass"
    assert desk.said().headline.startswith("PASS")
    assert desk.after("owner") == ""  # from any field: every weight is there
    type_ball(desk, finger="3.4")
    assert desk.said().outcome == "fail"
    assert "finger" in desk.said().reasons[0]


def test_return_begins_the_next_ball_and_up_comes_back_for_a_correction(desk: Desk) -> None:
    assert not desk.next()  # of a blank ball nothing is made
    type_ball(desk, **BALL, finger="0.2")
    assert desk.next()
    assert desk.text("number") == "2"
    assert desk.text("owner") == ""
    desk.same_owner()
    assert desk.text("owner") == "Demo One"
    assert desk.move(-1)
    desk.edit("finger", "3.6")
    assert desk.said().outcome == "fail"
    assert not desk.move(-1)
    assert desk.tally().startswith("2 balls: 1 incomplete, 1 fail")


def test_undo_takes_back_a_field_a_mark_and_a_ball_taken_out(desk: Desk) -> None:
    type_ball(desk, **BALL)
    desk.mark("thumb")
    assert desk.text("thumb") == "yes"
    desk.next()
    desk.go(0)
    desk.drop()
    assert desk.listed == []
    assert desk.undo()
    assert [ball.texts["serial"] for ball in desk.listed] == ["AB-77"]
    desk.undo()
    assert desk.text("thumb") == ""
    desk.undo()
    assert desk.text("side") == ""
    assert desk.text("top") == "1.5"


def test_marks_go_round_by_one_key_each(desk: Desk) -> None:
    assert len({mark.key for mark in MARKS}) == len(MARKS)
    for mark in MARKS:
        seen = []
        for _ in mark.answers:
            desk.mark(mark.name)
            seen.append(desk.text(mark.name))
        assert seen == [*mark.answers[1:], ""]
        desk.mark(mark.name, -1)
        assert desk.text(mark.name) == mark.answers[-1]
        desk.mark(mark.name)


def test_a_ball_checked_twice_shows_both_and_the_difference(desk: Desk) -> None:
    type_ball(desk, **BALL, finger="0.2")
    desk.next()
    type_ball(desk, **{**BALL, "serial": "ab 77", "gross": "14.96"}, finger="0.5")
    (words,) = desk.earlier()
    assert "Ball 1 has the same serial: gross 14.95 lb" in words
    assert "gross +0.16 oz" in words
    assert "finger +0.30 oz" in words
    assert desk.found("ab77") == [1, 0]
    assert desk.found("demo o") == [1, 0]
    assert desk.found("nobody") == []


def test_two_readings_need_a_scale_that_says_what_they_mean(desk: Desk) -> None:
    desk.set_by_readings(True)
    assert "supports=INCHES" in desk.message
    type_ball(desk, gross="15", top_a="1.2", top_b="-1.2")
    assert desk.said().headline == "No verdict"
    desk.set_scale("arm=4.275,pan_lever=4.275")
    assert desk.verdict(desk.ball).weights["top"] == pytest.approx(1.2)
    desk.set_scale("pan=3")
    assert "states no part of a scale" in desk.message
    assert desk.scale_text == "arm=4.275,pan_lever=4.275"
    desk.set_by_readings(False)  # what was typed still counts, so it is told
    assert (
        "Also typed: top, first reading 1.2 oz, top, second reading -1.2 oz"
        in desk.said().reasons[-1]
    )


def test_what_was_typed_is_there_after_a_crash(desk: Desk) -> None:
    desk.set_rules("usbc-pre-2018")
    desk.set_title("An invented event")
    type_ball(desk, **BALL, finger="0.2")
    desk.next()
    type_ball(desk, owner="Demo Tw")
    after = again(desk)
    assert [ball.texts for ball in after.listed] == [ball.texts for ball in desk.listed]
    assert after.rules_name == "usbc-pre-2018"
    assert after.title == "An invented event"
    assert "2 balls" in after.message
    with after.journal.path.open("ab") as file:
        file.write(b'{"ball":2,"pu')  # torn by the machine
    once_more = again(after)
    once_more.edit("owner", "Demo Two")  # one line, which must not join the torn one
    last = again(once_more)
    assert [ball.texts.get("owner") for ball in last.listed] == ["Demo One", "Demo Two"]
    assert last.text("owner") == "Demo Two"  # it was not finished
    last.next()
    last = again(last)
    assert last.text("owner") == ""
    last.start_anew()
    assert last.listed == []
    assert last.rules_name == "usbc-pre-2018"
    assert len(list((desk.config / FOLDER).glob("*.jsonl"))) == 2
    last.close()


def test_a_line_that_a_full_disk_cut_short_takes_no_other_with_it(
    desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    type_ball(desk, owner="Demo One")
    whole = os.write

    def full(handle: int, data: bytes) -> int:
        if len(data) < 9:
            raise OSError(28, "No space left on device")
        return whole(handle, data[:-5])

    with monkeypatch.context() as patch:
        patch.setattr("gui.state.journal.os.write", full)
        desk.edit("owner", "Demo Two")
    assert "not kept" in desk.trouble
    desk.edit("serial", "AB1")
    assert desk.trouble == ""
    assert again(desk).text("serial") == "AB1"


def test_two_windows_have_a_check_in_each(desk: Desk) -> None:
    type_ball(desk, **BALL)
    other = Desk(desk.config, today=TODAY)
    assert other.listed == []
    assert other.journal.path != desk.journal.path
    other.close()
    desk.close()
    # the one with a ball is gone on with, also after the one that was begun later
    third = Desk(desk.config, today=TODAY)
    assert [ball.texts["serial"] for ball in third.listed] == ["AB-77"]
    third.start_anew()
    third.close()
    last = Desk(desk.config, today=TODAY)
    assert last.listed == []
    assert last.journal.path == third.journal.path
    last.close()


_TYPIST = """
import sys
from pathlib import Path
from gui.state.desk import Desk
desk = Desk(Path(sys.argv[1]), today="2026-11-29")
n = 0
while True:
    n += 1
    desk.edit("owner", f"owner {n}")
    if n % 7 == 0:
        desk.next()
    print(n, flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="kills by signal 9")
def test_a_killed_desk_loses_no_letter(tmp_path: Path) -> None:
    command = [sys.executable, "-c", _TYPIST, str(tmp_path)]
    last = 0
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as typist:
        assert typist.stdout is not None
        for line in typist.stdout:
            last = int(line)
            if last == 500:
                typist.send_signal(signal.SIGKILL)
    desk = Desk(tmp_path, today=TODAY)
    owners = {ball.texts["owner"] for ball in desk.listed}
    assert f"owner {last}" in owners or f"owner {last + 1}" in owners
    assert {f"owner {n}" for n in range(7, last, 7)} <= owners
    desk.close()


def test_columns_are_asked_once_and_remembered(desk: Desk, tmp_path: Path) -> None:
    path = tmp_path / "balls.csv"
    path.write_text('"No, here";Wt;Room;Top;side;finger\n4;6,84;12;1,5;0,2;0\n5;x"y;;1;1;1\n')
    read = desk.read(path)
    assert read is not None
    text, table = read
    assert desk.answer_for(table) is None
    answer = columns.guessed(table.headings, ("top", "side", "finger", "gross"))
    assert answer["Top"] == "top"
    assert not desk.take_table(text, "balls.csv", answer)
    assert "gross" in desk.message
    answer |= {"No, here": "number", "Wt": "gross kg"}
    assert desk.take_table(text, "balls.csv", answer)
    assert desk.answer_for(table) == answer
    (ball, bad) = desk.listed
    assert desk.verdict(ball).weights["gross"] == pytest.approx(6.84 / 0.45359237)
    assert desk.verdict(bad).outcome == "incomplete"
    written = desk.csv_bytes().decode("utf-8-sig")
    table = read_table(written, "out.csv", ("gross", "number"))
    assert [dict(table.kept(row))["Room"] for row in table.rows] == ["12", ""]
    assert [dict(table.kept(row))["verdict"] for row in table.rows] == ["pass", "incomplete"]
    assert again(desk).table() == desk.table()


def test_checks_go_into_the_book_without_anybodys_name(desk: Desk, tmp_path: Path) -> None:
    type_ball(desk, **BALL, finger="0.2")
    desk.next()
    type_ball(desk, gross="15")
    path = tmp_path / "book.sqlite"
    desk.into_book(path)
    assert desk.message == (
        "Noted in the book: 1 check, 1 of them new. Balls without a serial that are left out: 1."
    )
    with Book(path) as book:
        (check,) = book.checks()
        assert (check.serial, check.verdict, check.gross) == ("AB-77", "pass", 14.95)
        assert book.people() == []
    assert b"Demo One" not in path.read_bytes()
    path.write_bytes(b"no book" * 100)
    desk.into_book(path)
    assert "is no book" in desk.message


def test_what_cannot_be_kept_is_told_and_typing_goes_on(tmp_path: Path) -> None:
    (tmp_path / FOLDER).write_text("in the way")
    desk = Desk(tmp_path, today=TODAY)
    type_ball(desk, **BALL)
    assert "not kept against a crash" in desk.trouble
    assert desk.text("owner") == "Demo One"
