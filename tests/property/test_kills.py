"""A writer that is killed, or finds no room or no folder, leaves the old file or the new one whole."""

import errno
import io
import itertools
import json
import multiprocessing
import os
import random
import signal
import time
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.store import load_job, save_record
from layoutkit.job.templates import example_record

Captured = pytest.CaptureFixture[str]
ROUNDS = 25
fork = multiprocessing.get_context("fork")


def write_for_ever(path: Path, begun: Any) -> None:
    """Write a record again and again, each time with another number and notes of another length.

    A mixture of two versions would show.
    """
    record = example_record("2026-01-02")
    for number in itertools.count():
        words = str(number % 10) * (2000 - 100 * (number % 10))
        save_record({**record, "title": f"version {number}", "notes": words}, path)
        if number == 0:
            begun.set()


def is_whole(path: Path) -> bool:
    """Whether a file holds one version and nothing else."""
    record = json.loads(path.read_bytes())
    number = int(record["title"].removeprefix("version ")) % 10
    return bool(record["notes"] == str(number) * (2000 - 100 * number))


@pytest.mark.skipif(os.name != "posix", reason="needs a kill that cannot be caught")
def test_a_record_is_whole_whenever_its_writer_is_killed(tmp_path: Path) -> None:
    chance = random.Random(0)
    path = tmp_path / "job.json"
    for _ in range(ROUNDS):
        begun = fork.Event()
        writer = fork.Process(target=write_for_ever, args=(path, begun))
        writer.start()
        assert begun.wait(60)
        time.sleep(chance.uniform(0.0, 0.03))
        writer.kill()  # SIGKILL
        writer.join(60)
        assert writer.exitcode == -signal.SIGKILL
        assert is_whole(path)
        load_job(path)
    save_record(example_record("2026-01-02"), path)
    assert os.listdir(tmp_path) == [
        "job.json"
    ]  # the last write clears away what the killed ones left


# --- no room ----------------------------------------------------------------------------------------


class FullDisk(io.FileIO):
    """A file that takes some bytes and then finds no room."""

    def write(self, data: Any) -> int:
        super().write(bytes(data)[:100])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def full_while_writing(monkeypatch: pytest.MonkeyPatch) -> None:
    real = open

    def opened(file: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        return FullDisk(file, mode) if mode == "wb" else real(file, mode, *more, **named)

    monkeypatch.setattr("builtins.open", opened)


def full_while_syncing(monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)


FULL = [full_while_writing, full_while_syncing]


@pytest.mark.parametrize("fill", FULL)
@pytest.mark.parametrize("old", [None, "version 7"])
def test_a_full_disk_is_one_sentence_and_the_old_record_stays(
    fill: Any, old: str | None, tmp_path: Path
) -> None:
    path = tmp_path / "job.json"
    if old is not None:
        save_record({**example_record("2026-01-02"), "title": old}, path)
    before = None if old is None else path.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        fill(patch)
        with pytest.raises(InputError) as caught:
            save_record(example_record("2026-01-03"), path)
    assert str(caught.value) == f"{path}: cannot be written: no space left on device."
    assert os.listdir(tmp_path) == ([] if old is None else ["job.json"])
    assert before is None or path.read_bytes() == before


@pytest.mark.parametrize("fill", FULL)
def test_a_full_disk_is_exit_code_2_of_a_command(
    fill: Any, tmp_path: Path, capsys: Captured
) -> None:
    job, new = tmp_path / "job.json", tmp_path / "new.json"
    save_record(example_record("2026-01-02"), job)
    with pytest.MonkeyPatch.context() as patch:
        fill(patch)
        assert main(["redrill", str(job), "--out", str(new)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.endswith("new.json: cannot be written: no space left on device.\n")
    assert os.listdir(tmp_path) == ["job.json"]


# --- no folder --------------------------------------------------------------------------------------


@pytest.mark.skipif(os.name != "posix", reason="the words are those of the system")
@pytest.mark.parametrize("folder", ["below a file", "/proc", "missing"])
@pytest.mark.parametrize(
    ("words", "option", "name"),
    [
        (("redrill", "JOB"), "--out", "new.json"),
        (("plan", "JOB"), "--sheet", "sheet.pdf"),
        (("weigh", "RECORD", "--gross", "14.9"), "--record", ""),
        (("scale", "--test", "2", "2.02", "--diameter", "8.55", "--save"), "--shop", "shop.json"),
    ],
    ids=["redrill", "sheet", "weigh", "scale"],
)
def test_a_folder_that_cannot_be_written_is_exit_code_2(
    folder: str,
    words: tuple[str, ...],
    option: str,
    name: str,
    tmp_path: Path,
    capsys: Captured,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job = tmp_path / "job.json"
    save_record(example_record("2026-01-02"), job)
    before = job.read_bytes()
    (tmp_path / "a file").write_bytes(b"kept")
    if words[0] == "scale" and folder == "missing":
        pytest.skip("the shop's file makes its folder")
    places = {"below a file": tmp_path / "a file", "missing": tmp_path / "none", "/proc": "/proc"}
    record = Path(places[folder]) / "job.json"
    argv = [{"JOB": str(job), "RECORD": str(record)}.get(word, word) for word in words]
    target = [str(Path(places[folder]) / name)] if name else []
    assert main([*argv, option, *target]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err.endswith(".\n")
    assert job.read_bytes() == before
    assert (tmp_path / "a file").read_bytes() == b"kept"
    assert sorted(os.listdir(tmp_path)) == ["a file", "job.json"]
