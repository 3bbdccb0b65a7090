"""The command `layoutkit strips`: what it writes, says and refuses."""

import io
from pathlib import Path

import pypdf
import pytest

from layoutkit.commands.main import main

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
GOOD, FAILS = (str(SAMPLES / n) for n in ("01_right_asymmetric.json", "07_fails_statics.json"))
FIRST = str(SAMPLES / "14_first_ball.json")

Captured = pytest.CaptureFixture[str]


def test_pages_of_the_paper_and_units_asked_for(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "strips.pdf"
    assert main(["strips", FIRST, "--out", str(out), "--paper", "a4", "--units", "metric"]) == 0
    said, err = capsys.readouterr()
    assert said.startswith(f"Strips written to {out}. Print at 100 %")
    assert err == ""
    pages = pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages
    for page in pages:
        # ISO 216, lying on its long side
        assert [float(x) for x in page.mediabox[2:]] == pytest.approx([841.89, 595.276], abs=0.01)
    figures = pages[1].extract_text()
    assert "CG mark 63.5 mm" in figures  # 2 1/2 in on the record
    assert "Fails a rule" not in figures


def test_a_plan_that_fails_says_so_on_every_page(tmp_path: Path, capsys: Captured) -> None:
    out = tmp_path / "strips.pdf"
    assert main(["strips", FAILS, "--out", str(out)]) == 1
    assert "Fails a rule: do not drill" in capsys.readouterr().out
    for page in pypdf.PdfReader(io.BytesIO(out.read_bytes())).pages:
        assert "Fails a rule: do not drill" in page.extract_text()


def test_only_a_pdf_is_written_and_only_a_pdf_replaced(tmp_path: Path, capsys: Captured) -> None:
    assert main(["strips", GOOD, "--out", "strips.png"]) == 2
    assert capsys.readouterr().err == (
        'layoutkit: --out: "strips.png" is no PDF name; possible: OUT.pdf.\n'
    )
    out = tmp_path / ("a folder with a long name " * 4) / "notes.pdf"
    out.parent.mkdir()
    out.write_text("notes of the shop")
    assert main(["strips", GOOD, "--out", str(out)]) == 2
    assert 'long name /notes.pdf" exists and is no PDF' in capsys.readouterr().err
    assert out.read_text() == "notes of the shop"
    assert main(["strips", GOOD, "--out", str(out), "--force"]) == 0
    assert out.read_bytes().startswith(b"%PDF-")
