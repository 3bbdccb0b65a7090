"""`layoutkit self-check`: what it tries, what it says of it, and that it names nobody."""

from pathlib import Path

import pytest

from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.output import self_check
from layoutkit.output.self_check import Finding

Captured = pytest.CaptureFixture[str]


def test_all_works_and_the_report_names_nobody(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    import matplotlib.font_manager  # noqa: F401  (its list of fonts, which takes time, is made once)

    home = tmp_path / "Ann"
    for variable in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "DISPLAY"):
        monkeypatch.delenv(variable, raising=False)
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("USERPROFILE", str(home))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "of Ann"))
    # a second file of pages is read back as the first is
    monkeypatch.setattr(self_check, "_strips", lambda plan: ("ok", f"{len(plan.holes)} holes"))
    assert main(["self-check"]) == 0
    told = capsys.readouterr().out
    assert "Ann" not in told
    for words in ("layoutkit  ", "~/.config/layoutkit can", ".../layoutkit can", "figures of 01_"):
        assert words in told, told
    assert "work sheet          ok     2 pages written and read back" in told
    assert told.endswith("All of it works here.\n")


def test_a_figure_that_is_off_ends_with_exit_code_4(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    def few() -> object:
        yield Finding("sample", *self_check._sample([]))

    monkeypatch.setattr(self_check, "KNOWN", (("statics.side_oz", 0.6, 0.01),))
    monkeypatch.setattr(self_check, "findings", few)
    assert main(["self-check"]) == 4
    told = capsys.readouterr().out
    assert "statics.side_oz is 0.539" in told
    assert told.endswith("Does not work here: sample.\n")


def test_a_check_that_raises_stops_no_other() -> None:
    def broken() -> tuple[self_check.State, str]:
        raise OSError("no space\nleft")

    assert self_check._tried("pages", broken) == ("pages", "fails", "OSError: no space left")


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"")
    state, words = self_check._can_write(file / "below", "~/below")
    assert (state, words) == ("fails", "~/below cannot be written: not a directory")


@pytest.mark.parametrize("damage", [lambda d: d[: len(d) // 2], lambda d: b"x" + d])
def test_a_page_that_is_not_whole_is_refused(damage: object, tmp_path: Path) -> None:
    from matplotlib.figure import Figure

    path = tmp_path / "page.pdf"
    Figure((1, 1)).savefig(path)
    whole = path.read_bytes()
    assert self_check.pages_of(whole) == 1
    with pytest.raises(InputError, match="read back"):
        self_check.pages_of(damage(whole))  # type: ignore[operator]


def test_a_damaged_book_is_told_without_its_place(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from layoutkit.book.book import Book

    path = tmp_path / "shop of Ann.sqlite"
    monkeypatch.setenv("LAYOUTKIT_BOOK", str(path))
    assert self_check._book() == ("ok", "there is none yet")
    Book(path).close()
    assert self_check._book()[0] == "ok"
    path.write_bytes(b"no book")
    state, words = self_check._book()
    assert state == "fails"
    assert "Ann" not in words
