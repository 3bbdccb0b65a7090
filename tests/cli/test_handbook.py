"""The handbook: everything is in it, nothing is fetched, and it lies where it can be written."""

import re
import webbrowser
from html.parser import HTMLParser
from pathlib import Path

import pytest

from layoutkit.commands.main import COMMANDS, main
from layoutkit.output import handbook, help_texts, markup
from layoutkit.output.handbook_pictures import PICTURES

Captured = pytest.CaptureFixture[str]
ROOT = Path(__file__).parents[2]
ALONE = ("meta", "img", "input")


class Reader(HTMLParser):
    """What a browser would see: the text, names and links, and every address it would fetch."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.words: list[str] = []
        self.names: list[str] = []
        self.links: list[str] = []
        self.fetched: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag not in ALONE:
            self.open.append(tag)
        known = dict(attrs)
        self.names += [known["id"] or ""] if "id" in known else []
        self.links += [known["href"] or ""] if tag == "a" else []
        self.fetched += [v or "" for k, v in attrs if k in ("src", "srcset") or tag == "link"]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, self.getpos()

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.fixture(scope="module")
def page() -> str:
    return handbook.page(lambda name: name.encode() if name in PICTURES else None)


@pytest.fixture(scope="module")
def seen(page: str) -> Reader:
    reader = Reader()
    reader.feed(page)
    return reader


def test_the_page_is_whole_and_fetches_nothing(page: str, seen: Reader) -> None:
    assert seen.open == []
    assert len(set(seen.names)) == len(seen.names)
    assert {link.removeprefix("#") for link in seen.links} <= set(seen.names)
    assert len(seen.fetched) > 5
    assert all(address.startswith("data:image/png;base64,") for address in seen.fetched)
    assert not re.search(r"https?:|@import|url\(|fetch\(|XMLHttp", page)


def test_every_text_of_the_help_is_in_it(seen: Reader) -> None:
    text = "\n".join(seen.words)
    tables = (help_texts.FIELDS, help_texts.READINGS, help_texts.LANE, help_texts.COLUMNS)
    for table in (*tables, help_texts.MAPS, help_texts.SHOP):
        for key, explanation in table.items():
            assert explanation.what in text, key
            assert explanation.formula in text, key
    for words in (*help_texts.GLOSSARY.values(), *help_texts.SHELF.values()):
        assert words in text


def test_every_command_is_told_of(seen: Reader) -> None:
    text = " ".join(seen.words)
    for name in COMMANDS:
        assert re.search(rf"\b{name}\b", text), name


def test_every_picture_of_the_pages_is_one_that_is_drawn() -> None:
    asked = {
        name for text in handbook._texts() for name in re.findall(r"!\[[^\]]*\]\((.*)\)", text)
    }
    assert asked == set(PICTURES)


def test_marks_of_the_pages_become_html() -> None:
    page = "a `<b>` and **c\nd**\n\n- one\n  more\n- two\n\n```sh\n# x\n\n1. y\n```"
    assert markup.html("| a | b |\n|---|:-:|\n| 1 | <2 |", str) == (
        "<table><tr><th>a</th><th>b</th></tr><tr><td>1</td><td>&lt;2</td></tr></table>"
    )
    made = markup.html(page, str).split("\n", 2)
    assert made[0] == "<p>a <code>&lt;b&gt;</code> and <b>c d</b></p>"
    assert made[1] == "<ul><li>one more</li><li>two</li></ul>"
    assert made[2] == "<pre># x\n\n1. y</pre>"


def test_it_is_written_and_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    opened: list[str] = []
    monkeypatch.setattr(handbook, "page", lambda picture: "<!DOCTYPE html>")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr(webbrowser, "open", lambda address: bool(opened.append(address)))
    assert main(["handbook"]) == 0
    path = tmp_path / "data" / "layoutkit" / "handbook.html"
    assert opened == [path.as_uri()]
    assert "No browser could be started; open " in capsys.readouterr().out
    # a folder that cannot be made: a file is in its way
    monkeypatch.setenv("XDG_DATA_HOME", str(path))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    assert handbook.write_handbook().parent.parent == tmp_path


def test_it_replaces_a_page_of_its_own_only(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setattr(handbook, "page", lambda picture: "<!DOCTYPE html>new")
    path = tmp_path / "page.html"
    path.write_text("mine")
    assert main(["handbook", "--out", str(path)]) == 2
    assert path.read_text() == "mine"
    assert main(["handbook", "--out", str(tmp_path / "page.pdf")]) == 2
    assert main(["handbook", "--out", str(path), "--force"]) == 0
    assert path.read_text() == "<!DOCTYPE html>new"


def test_the_readme_holds_what_the_gate_runs_and_shows_what_is_there() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    shell = re.findall(r"^```sh\n(.*)\n```$", text, re.MULTILINE)
    twins = re.findall(r"^```powershell\n(.*?)\n```$", text, re.MULTILINE | re.DOTALL)
    assert shell[1].endswith("-m pytest -q -n auto")
    assert len(twins[0].split("\n")) == len(shell)
    pictures = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", text)
    assert {ROOT / each for each in pictures} == set((ROOT / ".readme").iterdir())
    named = set(re.findall(r"`layoutkit ([a-z-]+)", text))
    assert named
    assert named <= set(COMMANDS)
