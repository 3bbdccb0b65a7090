"""The command practice."""

import io
from datetime import date
from pathlib import Path

import pytest
from pypdf import PdfReader

from layoutkit.commands import practice
from layoutkit.commands.main import main
from layoutkit.output.practice_report import NOTICE
from layoutkit.practice import log
from layoutkit.practice.problems import KINDS

Out = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(practice, "_today", lambda: date(2026, 3, 2))


def type_in(monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(text))


def test_a_session_marks_explains_and_keeps_the_answers(
    monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    type_in(monkeypatch, "nonsense\n1 left, 9 down\nq\n")
    assert main(["practice", "--trainee", "Ann"]) == 0
    out = capsys.readouterr().out
    assert "Safety: " in out
    assert "is no place" in out
    assert "Not right." in out
    assert "Rule: " in out
    assert "0 of 1 right" in out
    assert NOTICE in out
    assert [(a.kind, a.score) for a in log.read("Ann").answers] == [("pap-place", "none")]


def test_the_end_of_input_ends_a_session(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    type_in(monkeypatch, "")
    assert main(["practice", "--group", "catch"]) == 0
    assert "0 of 0 right" in capsys.readouterr().out
    assert log.trainees() == ()


@pytest.mark.parametrize("kind", KINDS)
def test_eighty_columns_of_plain_text_hold_every_kind(kind: str, capsys: Out) -> None:
    assert main(["practice", "--kind", kind, "--seed", "1", "--worked"]) == 0
    out = capsys.readouterr().out
    assert max(map(len, out.splitlines())) <= 80
    assert out.isascii()
    assert "\x1b" not in out
    assert "Rule: " in out
    assert NOTICE in out


def test_one_answer_is_marked_without_the_log(capsys: Out) -> None:
    args = ["practice", "--kind", "pin-to-pap", "--seed", "7", "--answer"]
    assert main([*args, "4"]) == 0
    assert "Right.\n" in capsys.readouterr().out
    assert main([*args, "4 1/4"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "This is what you get if the ball is taken for flat (Pythagoras)." in out
    assert main([*args, "four"]) == 2
    assert "--answer" in capsys.readouterr().err
    assert log.trainees() == ()


def test_the_owner_s_page(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    for seed in (1, 2):
        log.add("Ann", log.Answered(date(2026, 3, 1), "bearing", seed, "none", ("flat",)))
    assert main(["practice", "--progress", "--trainee", "Ann"]) == 0
    out = capsys.readouterr().out
    assert "bearing  0 of 2 right  due today" in out
    assert "2 times  flat (bearing)" in out
    assert max(map(len, out.splitlines())) <= 80
    assert main(["practice", "--forget", "Ann"]) == 0
    assert main(["practice", "--progress", "--trainee", "Ann"]) == 2
    assert main(["practice", "--forget", "Ann"]) == 2


def test_a_picture_is_a_png(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "ball.png"
    args = ["practice", "--kind", "read-placement", "--seed", "3", "--picture"]
    assert main([*args, str(path)]) == 0
    assert path.read_bytes().startswith(b"\x89PNG")
    assert main([*args, str(tmp_path / "ball.txt")]) == 2
    assert (
        main(["practice", "--kind", "half-way-round", "--seed", "3", "--picture", str(path)]) == 2
    )
    assert "has no picture" in capsys.readouterr().err


@pytest.mark.parametrize(
    "args",
    [["--answer", "4"], ["--seed", "3"], ["--kind", "pap"], ["--seed", "x"], ["--trainee", " "]],
)
def test_what_makes_no_sense_is_one_sentence(args: list[str], capsys: Out) -> None:
    assert main(["practice", *args]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1


def test_a_done_set_says_what_comes_next(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    for name in KINDS:
        log.add("Ann", log.Answered(date(2026, 3, 2), name, 1, "full"))
    assert main(["practice", "--trainee", "Ann"]) == 0
    assert "due on 2026-03-03" in capsys.readouterr().out


def test_a_printed_set_has_its_answers_and_strips_apart(tmp_path: Path, capsys: Out) -> None:
    path = tmp_path / "set.pdf"
    args = ["practice", "--sheet", "2", "--seed", "5", "--out", str(path)]
    assert main([*args, "--scrap", "8.55", "--group", "read"]) == 0
    pages = {
        name: [page.extract_text() for page in PdfReader(tmp_path / name).pages]
        for name in ("set.pdf", "set-answers.pdf", "set-strips.pdf")
    }
    for texts in pages.values():
        assert all(NOTICE in text for text in texts)
    questions, answers = " ".join(pages["set.pdf"]), " ".join(pages["set-answers.pdf"])
    assert questions.count("Answer:") == 2
    assert "Right:" not in questions
    assert answers.count("Right:") == 2
    assert "is what you get if" in answers
    assert "A scrap ball, set 5" in questions
    assert "Clamp the ball" in questions


@pytest.mark.parametrize(
    "args",
    [
        ["--sheet", "3"],
        ["--sheet", "0", "--out", "x.pdf"],
        ["--sheet", "3", "--out", "x.txt"],
        ["--sheet", "3", "--out", "x.pdf", "--scrap", "3 ft"],
        ["--sheet", "3", "--out", "x.pdf", "--kind", "bearing", "--group", "read"],
        ["--out", "x.pdf"],
    ],
)
def test_a_set_that_cannot_be_printed_is_refused(
    args: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["practice", *args]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert list(tmp_path.glob("x*")) == []
