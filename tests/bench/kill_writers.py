"""Kill every command that writes, and the window's save, at every step and at chance moments.

    python tests/bench/kill_writers.py [--chances 20]

Each call runs in a process of its own. It is killed (SIGKILL) at each of its touches of the folder in
turn, then ``--chances`` times at a moment drawn with a fixed seed. After each kill every file must be
as it was or whole and new; after a call that ends, nothing that the killed ones left may be there. What
is left in the folder of recovery copies is not counted: a window clears that away at its start, a day
later.
Exit code 1 where that is not so. Linux only.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import multiprocessing
import os
import random
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from gui.state.presenter import Presenter
from layoutkit.commands.main import main as layoutkit
from layoutkit.job.shop import load_shop
from layoutkit.job.store import load_job
from layoutkit.job.templates import example_record

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
VERSION_1 = Path(__file__).parents[1] / "version1" / "01_right_asymmetric.json"
MARKS = ("-5 1/16, 4 11/16", "-3 1/8, 2 1/16", "-2 9/16, -3", "-3 1/16, -5 3/16")
TOUCHES = {"open", "os.rename", "os.remove", "os.chmod", "os.mkdir", "os.scandir"}
fork = multiprocessing.get_context("fork")

# in the folder: job.json of this version, old.json of version 1, made.* by an earlier call
CALLS: dict[str, tuple[str, ...]] = {
    "plan --sheet": ("plan", "job.json", "--sheet", "made.pdf", "--force", "--no-shop"),
    "weigh --record": ("weigh", "job.json", "--gross", "14.9", "--record", "--no-shop"),
    "weigh --record, version 1": ("weigh", "old.json", "--top", "1", "--record", "--no-shop"),
    "axis --write": ("axis", *MARKS, "--job", "job.json", "--write"),
    "redrill": ("redrill", "job.json", "--out", "made.json", "--force"),
    "new": ("new", "made.json", "--force"),
    "scale --save": ("scale", "--test", "2", "1.9", "--save", "--shop", "shop.json"),
    "map": ("map", "job.json", "--out", "map.png", "--force", "--no-shop", "--step", "20"),
    "roll": ("roll", "job.json", "--png", "lane.png", "--force", "--no-shop"),
}


def run_command(words: tuple[str, ...]) -> None:
    """Run a command quietly; it must end well or with a verdict."""
    with open(os.devnull, "w", encoding="utf-8") as quiet, contextlib.redirect_stdout(quiet):
        assert layoutkit(list(words)) in (0, 1, 3)


def save_in_window() -> None:
    """Edit a job and save it as the window does, its backup and its recovery with it."""
    window = Presenter(Path("config"))
    assert window.open(Path("job.json"))
    window.edit("title", "Edited in the window")
    window.keep_recovery()
    assert window.save() == "saved"
    window.close()


WORKS: dict[str, Callable[[], None]] = {
    name: lambda words=words: run_command(words)  # type: ignore[misc]
    for name, words in CALLS.items()
} | {"the window's save": save_in_window}


def die_at(touch: int) -> None:
    """Let this process be killed at its so many-th touch of the folder that it works in."""
    count = 0
    folder = os.getcwd()

    def hook(event: str, arguments: tuple[object, ...]) -> None:
        nonlocal count
        if event not in TOUCHES or not isinstance(arguments[0], str | os.PathLike):
            return
        if os.path.abspath(arguments[0]).startswith(folder):
            count += 1
            if count == touch:
                os.kill(os.getpid(), signal.SIGKILL)

    sys.addaudithook(hook)


def ended(work: Callable[[], None], touch: int | None, moment: float | None) -> bool:
    """Run a work in a process of its own, killed as asked for; whether it came to its end."""

    def child() -> None:
        if touch is not None:
            die_at(touch)
        work()

    process = fork.Process(target=child)
    process.start()
    if moment is not None:
        time.sleep(moment)
        process.kill()
    process.join(120)
    assert process.exitcode in (0, -signal.SIGKILL), process.exitcode
    return process.exitcode == 0


def load_what_it_needs(work: Callable[[], None]) -> None:
    """Run a work once in this process, so that its copies have no more to import."""
    work()


def fill(folder: Path) -> None:
    """The folder as it is before every call."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    (folder / "job.json").write_text(json.dumps(example_record("2026-01-01")))
    shutil.copy(VERSION_1, folder / "old.json")


def broken(folder: Path, before: dict[str, bytes]) -> list[str]:
    """The files of a folder that are neither as they were nor whole."""
    wrong = [name for name in before if not (folder / name).exists()]
    for path in folder.rglob("*"):
        name, data = str(path.relative_to(folder)), path.read_bytes() if path.is_file() else b""
        if not path.is_file() or path.name.startswith(".") or data == before.get(name):
            continue
        try:
            if path.suffix == ".pdf":
                assert data.startswith(b"%PDF")
                assert data.rstrip().endswith(b"%%EOF")
            elif path.suffix == ".png":
                assert data[-8:-4] == b"IEND"
            elif path.name == "shop.json":
                load_shop(path)
            elif path.parent == folder and ".json" in path.name:
                load_job(path)
            elif path.suffix == ".json":
                json.loads(data)
        except Exception as error:
            wrong.append(f"{name}: {error}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--chances", type=int, default=20, help="kills at chance moments")
    chances = parser.parse_args().chances
    chance, failed = random.Random(0), 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name).resolve() / "shop"
        os.environ["LAYOUTKIT_SHOP"] = str(Path(name) / "none.json")
        for label, work in WORKS.items():
            fill(folder)
            os.chdir(folder)
            load_what_it_needs(work)
            begun = time.monotonic()
            assert ended(work, None, None), label
            took = time.monotonic() - begun
            kills, wrong = 0, []
            plans = [(touch, None) for touch in range(1, 200)]
            plans += [(None, chance.uniform(0.0, took)) for _ in range(chances)]
            done = False
            for touch, moment in plans:
                if touch is not None and done:
                    continue
                os.chdir(name)
                fill(folder)
                os.chdir(folder)
                before = {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}
                if ended(work, touch, moment):
                    done = done or touch is not None
                else:
                    kills += 1
                wrong += broken(folder, before)
                # the next call finds its way, and clears away what the killed one left
                assert ended(work, None, None), label
                wrong += [
                    f"{p.name} is left"
                    for p in folder.rglob(".*")
                    if p.is_file() and p.parent.name != "recovery"
                ]
            failed += bool(wrong)
            print(
                f"{label}: {kills} kills, {'; '.join(sorted(set(wrong))) or 'all whole'}",
                flush=True,
            )
        os.chdir("/")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
