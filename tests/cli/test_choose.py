"""The command `choose`: the customer's page, what owned balls come to, and refusals."""

import importlib
import json
from functools import partial
from pathlib import Path

import pypdf
import pytest

from layoutkit.commands.main import main
from layoutkit.lane.roll import compare

FOLDER = Path(__file__).parents[2] / "sample_bowlers"
JOB = str(FOLDER / "01_right_asymmetric.json")
NAME = "03_right_symmetric_pin_up.json"
UP = str(FOLDER / NAME)
NEAR = ("--want", "moved=:1", "--want", "turned=:20")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search round fewer seeds, and fewer varied shots, which is all that differs."""
    module = importlib.import_module("layoutkit.choosing.choose")
    for name, value in (
        ("SEEDS", 2),
        ("SHOTS", (20,)),
        ("FEWER", (20,)),
        ("DRAWS", 100),
        ("MOST", 2),
    ):
        monkeypatch.setattr(module, name, value)
    places = importlib.import_module("layoutkit.choosing.places")
    monkeypatch.setattr(places, "NEAR", places.NEAR[:1])
    page = importlib.import_module("layoutkit.output.choose_page")
    for each in (module, page):
        monkeypatch.setattr(each, "compare", partial(compare, draws=4))


def test_the_customers_page_has_each_ball_with_its_own_columns(
    tmp_path: Path, capsys: Captured
) -> None:
    rows = (FOLDER / "shelf.csv").read_text().splitlines()[:3]
    table = tmp_path / "shelf.csv"
    table.write_text("\n".join([f"{rows[0]},price", f"{rows[1]},120", f"{rows[2]},95"]))
    out = tmp_path / "page.pdf"
    assert main(["choose", JOB, "--balls", str(table), *NEAR, "--out", str(out)]) == 0
    assert capsys.readouterr().out.endswith("Page written to " + str(out) + "\n")
    (page,) = pypdf.PdfReader(out).pages
    words = " ".join(page.extract_text().split())
    for name, price in (("Demo shelf A (invented)", "120"), ("Demo shelf B (invented)", "95")):
        assert name in words
        assert f"price {price}" in words
    assert "What is assumed" in words
    assert "promises no score" in words
    assert "the program's own convention" in words


def test_what_an_owned_ball_leaves_open_is_searched_on_both_sides(capsys: Captured) -> None:
    words = ["choose", JOB, "--owned", UP, "--oil", "42", *NEAR, "--json"]
    assert main(words) == 0
    told = json.loads(capsys.readouterr().out)
    assert [lane["lane"]["oil_length"] for lane in told["lanes"]] == [40.0, 42.0]
    assert told["owned"] == [Path(UP).name]
    assert [gap["kind"] for gap in told["gaps"]] == ["more", "less"]
    for gap in told["gaps"]:
        wanted = {w["name"]: w for w in gap["choice"]["wants"]}
        assert wanted["board_at_pins"]["than"] == gap["of"][0]
        assert 1 <= len(gap["choice"]["proposals"]) <= 3


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--oil", "42"], "--oil: is for comparing owned balls; give --owned too."),
        (["--owned", f"{UP},{UP}"], "--owned: names a ball twice; give each once."),
        (["--owned", UP, "--oil", "900"], '--oil: "900" is outside 0 to 60 ft.'),
        (["--owned", UP, "--out", NAME], f'--out: "{NAME}" is read from; give another name.'),
        (["--number", "9"], '--number: "9" is not possible; possible: 1 to 6.'),
        (["--number", "²"], '--number: "²" is not possible; possible: 1 to 6.'),
        (["--number", "2"], "--number: is about the record that is written"),
        (["--number", "2", "--out", "new.pdf"], "--number: is about the record that is written"),
        (["--force"], "--force: replaces a file; give --out OUT.json or OUT.pdf too."),
    ],
)
def test_what_cannot_be_is_refused(
    words: list[str], sentence: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.chdir(FOLDER)
    assert main(["choose", JOB, *words]) == 2
    assert sentence in capsys.readouterr().err


def test_a_file_of_another_kind_is_not_replaced_by_a_page(tmp_path: Path, capsys: Captured) -> None:
    notes = tmp_path / "notes.pdf"
    notes.write_text("notes of the shop")
    assert main(["choose", JOB, "--out", str(notes)]) == 2
    assert "exists and is no PDF" in capsys.readouterr().err
    assert notes.read_text() == "notes of the shop"
