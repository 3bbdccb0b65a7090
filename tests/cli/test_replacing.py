"""A sheet, a map or a picture replaces a file of its own kind only; anything else needs --force."""

import json
import os
from pathlib import Path

import pytest

from layoutkit.commands.main import main
from layoutkit.job.templates import example_record

Captured = pytest.CaptureFixture[str]

WRITERS = {
    "--sheet": ["plan", "job.json", "--sheet", "out.pdf"],
    "--out": ["map", "job.json", "--pin-to-pap", "4", "--step", "30", "--out", "out.png"],
    "--png": ["roll", "job.json", "--png", "out.png"],
    "--pdf": ["roll", "job.json", "--pdf", "out.pdf"],
}
STARTS = {".pdf": b"%PDF-1.4\nolder", ".png": b"\x89PNG\r\n\x1a\nolder"}
OTHERS = (b"", b"notes of the shop", b"%PD", STARTS[".png"][:7])


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("LAYOUTKIT_SHOP", str(tmp_path / "shop.json"))
    (tmp_path / "job.json").write_text(json.dumps(example_record("2026-01-01")))
    return tmp_path


@pytest.mark.parametrize("option", WRITERS)
def test_another_kind_is_replaced_only_if_forced(
    option: str, folder: Path, capsys: Captured
) -> None:
    argv = WRITERS[option]
    out = folder / argv[-1]
    wrong_kind = next(start for ending, start in STARTS.items() if ending != out.suffix)
    for content in (*OTHERS, wrong_kind):
        out.write_bytes(content)
        assert main(argv) == 2
        printed, err = capsys.readouterr()
        kind = out.suffix[1:].upper()
        assert err == (
            f'layoutkit: {option}: "{out.name}" exists and is no {kind}; give another name, or '
            "--force to replace it.\n"
        )
        assert printed == ""
        assert out.read_bytes() == content
    assert main([*argv, "--force"]) in (0, 1)
    assert out.read_bytes().startswith(STARTS[out.suffix][:5])
    assert sorted(os.listdir(folder)) == ["job.json", out.name]


@pytest.mark.parametrize("option", ["--out", "--pdf"])  # one of each kind
def test_its_own_kind_is_replaced(option: str, folder: Path, capsys: Captured) -> None:
    argv = WRITERS[option]
    out = folder / argv[-1]
    out.write_bytes(STARTS[out.suffix])
    assert main(argv) in (0, 1)
    assert len(out.read_bytes()) > 1000


# a record is replaced whatever it holds
RECORDS = {
    "choose": ["choose", "job.json", "--want", "side=0:1", "--out", "out.json"],
    "redrill": ["redrill", "job.json", "--out", "out.json"],
}


@pytest.mark.parametrize("option", [*WRITERS, *RECORDS])
def test_what_cannot_be_written_is_refused_before_anything_is_computed(
    option: str, folder: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    *argv, usual = (WRITERS | RECORDS)[option]
    taken = f"taken{Path(usual).suffix}"
    (folder / taken).mkdir()

    def never(*_: object) -> None:
        raise AssertionError("a job is planned")

    monkeypatch.setattr("layoutkit.planning.plan.plan", never)
    for name, reason in (
        (f"none/{usual}", "no such file or directory."),
        (taken, "it is a directory."),
    ):
        assert main([*argv, name, "--force"]) == 2
        assert capsys.readouterr().err == f"layoutkit: {name}: cannot be written: {reason}\n"


def test_force_alone_is_refused(folder: Path, capsys: Captured) -> None:
    assert main(["plan", "job.json", "--force"]) == 2
    assert main(["roll", "job.json", "--force"]) == 2
    assert capsys.readouterr().err.count("--force: replaces a file; give") == 2


def test_the_job_itself_is_never_replaced(folder: Path, capsys: Captured) -> None:
    record = (folder / "job.json").rename(folder / "job.pdf")
    before = record.read_bytes()
    assert main(["plan", "job.pdf", "--sheet", "job.pdf", "--force"]) == 2
    assert record.read_bytes() == before
