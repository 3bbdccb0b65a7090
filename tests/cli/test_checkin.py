"""`checkin`: the sample list, what it writes, its exit codes, and what it refuses."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from pypdf import PdfReader

from layoutkit import __version__
from layoutkit.commands.main import main
from layoutkit.output.checkin_guide import GUIDE

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_bowlers" / "checkin.csv"
SCALE = ("--scale", "arm=4.275,pan_lever=6")
HEAD = "number,gross,top,side,finger\n"

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*words: object) -> tuple[int, str, str]:
        code = main(["checkin", *map(str, words)])
        return code, *capsys.readouterr()

    return call


def listed(tmp_path: Path, *rows: str) -> Path:
    path = tmp_path / "balls.csv"
    path.write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_the_sample_list_is_judged_line_by_line(run: Run) -> None:
    code, out, _ = run(SAMPLE, *SCALE)
    assert code == 1
    lines = [line for line in out.splitlines() if re.match(r"  [0-9]", line)]
    verdicts = [re.sub(r"[ ?]+$", "", line).split()[-1] for line in lines]
    assert verdicts == [
        "pass", "pass", "pass", "pass", "INCOMPLETE", "pass", "CLOSE", "FAIL", "CLOSE", "FAIL",
        "FAIL", "CLOSE",
    ]  # fmt: skip
    assert "the scale moved by 0.2 oz since ball 8: zero it" in out
    assert "kg? That would be 15.08 lb." in out
    told = json.loads(run(SAMPLE, *SCALE, "--json")[1])
    assert [ball["outcome"].upper() for ball in told["balls"]] == [v.upper() for v in verdicts]
    assert told["rules"]["in_force"].startswith("From 2020-08-01")
    assert told["balls"][0]["others"] == {"lane": "2"}
    check = next(c for c in told["balls"][9]["checks"] if c["name"] == "side")
    assert check["rule"] == "at most 3.00 oz to either side, for a ball over 10 lb"
    assert "USBC" in check["source"]


def test_log_and_table_are_the_same_to_the_byte_and_whole(run: Run, tmp_path: Path) -> None:
    balls = tmp_path / "many.csv"
    lines = SAMPLE.read_text(encoding="utf-8").splitlines()
    balls.write_text("\n".join([lines[0], *lines[1:7] * 4]) + "\n", encoding="utf-8")
    log, table = tmp_path / "log.pdf", tmp_path / "out.csv"
    words = (balls, *SCALE, "--log", log, "--out", table, "--title", "An invented event", "--force")
    assert run(*words)[0] == 3
    first = log.read_bytes(), table.read_bytes()
    assert run(*words)[0] == 3
    assert (log.read_bytes(), table.read_bytes()) == first
    pages = [page.extract_text() for page in PdfReader(log).pages]
    assert len(pages) > 1
    for n, page in enumerate(pages, 1):
        for text in (
            "An invented event", "Rule set usbc-2020", f"layoutkit {__version__}", "checked by",
            "official", f"page {n} of {len(pages)}",
        ):  # fmt: skip
            assert text in page
    assert sum(page.count("Demo 1 (invented)") for page in pages) == 4
    assert len(first[1].decode("utf-8-sig").splitlines()) == 25


@pytest.mark.parametrize(
    ("rows", "code"),
    [
        (["1,15,1,0.5,0.2"], 0),
        (["1,15,2.9,0.5,0.2"], 0),
        (["1,15,1,0.5,0.2", "2,15,1,0.5,"], 3),
        (["1,15,1,0.5,", "2,15,1,0.5,9"], 1),
        (["1,15,1,0.5,0.2", "2,15,one,0.5,0.2", "3,15,1,0.5,0.2,7"], 3),
    ],
)
def test_the_exit_code_is_the_worst_balls(
    rows: list[str], code: int, run: Run, tmp_path: Path
) -> None:
    assert run(listed(tmp_path, *rows))[0] == code


def test_a_bad_row_is_named_by_line_and_column_and_the_others_go_on(
    run: Run, tmp_path: Path
) -> None:
    out = run(listed(tmp_path, "1,15,one,0.5,0.2", "2,15,1,0,5,0", "3,15,1,0.5,0.2"))[1]
    assert 'line 2, column "top": "one" is not a weight' in out
    assert "line 3: has 6 cells for 5 columns" in out
    assert "3 balls: 1 pass, 2 incomplete" in out


def test_a_spreadsheets_own_text_is_read_with_a_map(run: Run, tmp_path: Path) -> None:
    balls = tmp_path / "balls.txt"
    text = "Nr.\tMasse\tOben\tSeite\tFinger\n1\t6,84\t1,2\t0,4\t-0,3\n"
    balls.write_bytes(text.encode("utf-16"))
    columns = "Nr.=number,Masse=gross kg,Oben=top,Seite=side"
    code, out, _ = run(balls, "--columns", columns, "--json")
    measured = json.loads(out)["balls"][0]["measured"]
    assert code == 0
    assert measured["weight_lb"] == pytest.approx(6.84 / 0.45359237)
    assert (measured["top_oz"], measured["finger_oz"]) == (1.2, -0.3)


def test_the_shops_scale_is_taken(run: Run, no_shop: Path) -> None:
    assert run(SAMPLE)[0] == 2  # raw readings, and nobody says what they mean
    words = ["--test", "2", "2", "--diameter", "8.55", "--pan-lever", "6", "--save"]
    assert main(["scale", *words]) == 0
    by_file = json.loads(run(SAMPLE, "--json")[1].splitlines()[-1])
    assert by_file["scale"]["pan_lever"] == 6.0
    by_option = json.loads(run(SAMPLE, *SCALE, "--json")[1])
    assert [b["measured"] for b in by_file["balls"]] == [b["measured"] for b in by_option["balls"]]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("none.csv",), "no such file"),
        ((SAMPLE, "--scale", "arm"), "--scale:"),
        ((SAMPLE, "--scale", "arm=99"), "arm: "),
        ((SAMPLE, "--scale", "supports=8,pan_lever=6"), "stands beside"),
        ((SAMPLE, "--scale", "reading=half"), "half_difference"),
        ((SAMPLE, *SCALE, "--rules", "other"), "usbc-2020, usbc-pre-2018, or FILE.json"),
        ((SAMPLE, *SCALE, "--log", "log.txt"), "no PDF name"),
        ((SAMPLE, *SCALE, "--out", "out.txt"), "no CSV name"),
        ((SAMPLE, *SCALE, "--title", "x"), "give --log"),
        ((SAMPLE, *SCALE, "--force"), "give --log"),
        ((SAMPLE, *SCALE, "--columns", "lane=colour"), "possible: number, owner, ball"),
        ((SAMPLE, *SCALE, "--columns", "Weight=gross"), 'has no column "weight"'),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(
    words: tuple[object, ...], said: str, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*words)
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert said in err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "is empty"),
        ("number,top\n1,2\n", "--columns 'HEADING=gross' says which one"),
        ("number,gross\n", "no ball below"),
        ("number,gross\n1,heavy\n", 'no row can be used; line 2, column "gross": "heavy"'),
    ],
)
def test_a_list_of_which_nothing_can_be_used_is_refused(
    content: str, said: str, run: Run, tmp_path: Path
) -> None:
    path = tmp_path / "balls.csv"
    path.write_text(content)
    code, out, err = run(path)
    assert (code, out) == (2, "")
    assert said in err


def test_no_file_of_another_kind_is_replaced_unforced(run: Run, tmp_path: Path) -> None:
    own = tmp_path / "own.csv"
    shutil.copy(SAMPLE, own)
    before = own.read_bytes()
    for out in (own, listed(tmp_path, "1,15,1,1,1")):
        code, _, err = run(own, *SCALE, "--out", out)
        assert (code, "--out" in err) == (2, True)
    assert own.read_bytes() == before


def test_a_job_of_the_book_is_judged_and_checks_go_into_the_lives_of_balls(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("LAYOUTKIT_BOOK", str(tmp_path / "book.sqlite"))
    record = json.loads((ROOT / "sample_bowlers" / "01_right_asymmetric.json").read_text("utf-8"))
    assert run("book:1")[0] == 2  # there is no book yet
    record["weighings"] = {"drilled": {"gross": 14.9, "top": 1.0, "side": -0.25, "finger": 0.1}}
    job = tmp_path / "job.json"
    job.write_text(json.dumps(record), encoding="utf-8")
    main(["book", "add", str(job)])
    capsys.readouterr()
    code, out, _ = run("book:1", "--into-book")
    assert code == 0
    assert "-0.25 oz" in out
    assert "Noted in the book: 1 check, 1 of them new." in out
    main(["book", "show", "ball:1"])
    assert "checked: verdict pass" in capsys.readouterr().out
    del record["weighings"]
    job.write_text(json.dumps(record), encoding="utf-8")
    main(["book", "add", str(job)])
    capsys.readouterr()
    code, _, err = run("book:1")
    assert code == 2
    assert "book:1: has no weighing of the drilled ball" in err


def test_the_help_has_the_guide(run: Run) -> None:
    code, out, _ = run("--help")
    assert code == 0
    assert GUIDE.strip() in out
    assert all(len(line) <= 100 for line in GUIDE.splitlines())
    assert len(GUIDE.splitlines()) <= 50  # one page
    assert "event's officials decide" in out
