"""No text of a record and no file's name acts on the terminal or on a page."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import main
from layoutkit.job.templates import example_record

ODD = "od\u202ed\x1b[2J\nname"  # each is possible in a file's name on this system
SHOWN = "od\\u202ed\\u001b[2J"

Captured = pytest.CaptureFixture[str]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="no such file names there")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAYOUTKIT_SHOP", str(tmp_path / "shop.json"))
    return tmp_path


def job(name: str = f"{ODD}.json", **texts: str) -> str:
    record: dict[str, Any] = example_record("2026-01-01")
    record |= texts
    record["release"], record["lane"] = {}, {}
    Path(name).write_text(json.dumps(record))
    return name


def safe(captured: Captured) -> str:
    out, err = captured.readouterr()
    for line in (out + err).split("\n"):
        assert line.isprintable(), line
    return str(out + err)


@pytest.mark.parametrize(
    "argv",
    [
        ["new", f"{ODD}.new.json"],
        ["plan", f"{ODD}.json", "--sheet", f"{ODD}.pdf"],
        ["roll", f"{ODD}.json", "--png", f"{ODD}.png"],
        ["redrill", f"{ODD}.json", "--out", f"{ODD}.again.json"],
        ["weigh", f"{ODD}.json", "--top", "1.25", "--record"],
        ["map", f"{ODD}.json", "--out", f"{ODD}.map.png", "--pin-to-pap", "4", "--step", "30"],
        ["scale", "--test", "2", "1.94", "--shop", f"{ODD}.shop", "--save"],
        ["axis", "--track", f"{ODD}.txt", "--job", f"{ODD}.json", "--write"],
    ],
)
def test_a_file_name_is_shown(argv: list[str], folder: Path, capsys: Captured) -> None:
    job()
    track = "-5 1/16, 4 11/16\n-3 1/8, 2 1/16\n-2 9/16, -3\n-3 1/16, -5 3/16\n"
    Path(f"{ODD}.txt").write_text(track)
    assert main(argv) in (0, 1, 3)
    assert SHOWN in safe(capsys)


@pytest.mark.parametrize(
    "argv",
    [
        ["plan", f"{ODD}.absent"],
        ["plan", f"{ODD}.json", "--rules", f"{ODD}.absent"],
        ["plan", f"{ODD}.json", "--sheet", f"{ODD}"],
        ["plan", f"{ODD}.json", "--shop", f"{ODD}.absent"],
        ["plan", f"{ODD}.json", "--paper", f"{ODD}"],
        ["plan", f"{ODD}.json", "--units", f"{ODD}"],
        ["plan", f"{ODD}.json", f"{ODD}", f"--{ODD}"],
        [ODD],
        ["axis", "--track", f"{ODD}.absent"],
        ["shelf", f"{ODD}.json", f"{ODD}.absent"],
        ["scale", "--jobs", f"{ODD}.absent"],
        ["new", f"{ODD}.json"],
        ["new", "x.json", "--from", f"{ODD}.absent"],
    ],
)
def test_a_refused_name_is_shown(argv: list[str], folder: Path, capsys: Captured) -> None:
    job()
    assert main(argv) == 2
    words = safe(capsys)
    assert SHOWN.split("d\\")[0] in words
    assert words.count("\n") == 1
    assert len(words) < 1000


@pytest.mark.parametrize("command", ["plan", "sure", "roll", "weigh"])
def test_a_text_of_a_record_is_shown(command: str, folder: Path, capsys: Captured) -> None:
    record = job(title="Example \u202ebad\u2066 job")
    main([command, record, *(["--top", "1.25"] if command == "weigh" else [])])
    assert "Example \\u202ebad\\u2066 job" in safe(capsys)


def test_a_new_record_on_the_terminal_is_the_same_json(folder: Path, capsys: Captured) -> None:
    record = example_record("2026-01-01")
    record["bowler"]["name"] = "Demo \u202eBowler \U000e0041"
    Path("old.json").write_text(json.dumps(record))
    assert main(["new", "--from", "old.json"]) == 0
    assert json.loads(safe(capsys))["bowler"] == record["bowler"]


def test_pages_are_made_of_any_text(folder: Path, capsys: Captured) -> None:
    """A dollar sign begins no formula, and no sign of the text acts."""
    map_words = ("map", "--out", "m.png", "--pin-to-pap", "4", "--step", "30")
    for title, (command, *words) in (
        ("$a_{$ $\\frac$ a\u202eb\u2028c", map_words),
        ("$a_{$ $\\frac$ a\u202eb\u2028c", ("plan", "--sheet", "s.pdf")),
    ):
        record = job("job.json", title=title)
        assert main([command, record, *words]) in (0, 1)
        safe(capsys)


def test_a_very_long_word_is_cut(folder: Path, capsys: Captured) -> None:
    assert main(["plan", "job.json", "--units", "y" * 100_000]) == 2
    assert len(safe(capsys)) < 1000


def test_a_name_that_is_no_text_is_shown(folder: Path) -> None:
    """Bytes that are not UTF-8 in a name; the program as it is started."""
    name = b"\xff\xfe.json"
    argv = [sys.executable, "-m", "layoutkit", "new", name]
    done = subprocess.run(argv, capture_output=True, timeout=60)
    assert done.returncode == 0
    assert b"Wrote \\udcff\\udcfe.json" in done.stdout
    assert (folder / "\udcff\udcfe.json").exists()
