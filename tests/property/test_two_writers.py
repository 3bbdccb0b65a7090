"""Two programs that change one file at once: nothing that one of them wrote is lost."""

import json
import multiprocessing
import os
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gui.state.presenter import Presenter
from gui.state.settings import change as change_settings
from gui.state.settings import load as load_settings
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.files import locked, read_json, write_atomic
from layoutkit.job.shop import change_shop, load_shop
from layoutkit.job.templates import example_record

ROUNDS = 10
fork = multiprocessing.get_context("fork")


def at_once(*works: Callable[[], Any]) -> None:
    """Run functions at the same time, each in a process of its own; all must end well."""
    start = fork.Barrier(len(works))

    def run(work: Callable[[], Any]) -> None:
        start.wait()
        work()

    workers = [fork.Process(target=run, args=(work,)) for work in works]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
        assert worker.exitcode == 0


def counted(path: Path, times: int) -> None:
    for _ in range(times):
        with locked(path):
            count = json.loads(path.read_text())["count"]
            time.sleep(0.0005)  # where another one would come between
            write_atomic(path, json.dumps({"count": count + 1}).encode())


def test_no_change_is_lost_under_a_lock(tmp_path: Path) -> None:
    path = tmp_path / "count.json"
    path.write_text('{"count": 0}')
    at_once(*[lambda: counted(path, 40)] * 3)
    assert json.loads(path.read_text()) == {"count": 120}
    assert os.listdir(tmp_path) == ["count.json"]


def test_two_weighings_at_once_are_both_kept(tmp_path: Path) -> None:
    def weigh(*options: str) -> Callable[[], None]:
        def work() -> None:
            code = main(["weigh", str(path), "--record", "--no-shop", *options])
            assert code in (0, 1, 3)

        return work

    for round_ in range(ROUNDS):
        path = tmp_path / f"{round_}.json"
        path.write_text(json.dumps(example_record("2026-01-01")))
        at_once(weigh("--gross", "15.1", "--undrilled"), weigh("--top", "1.25"))
        stages = json.loads(path.read_text())["weighings"]
        assert stages["undrilled"]["gross"] == 15.1
        assert stages["drilled"]["top"] == 1.25


def test_a_pap_and_a_weighing_at_once_are_both_kept(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(json.dumps(example_record("2026-01-01")))
    marks = ["-5 1/16, 4 11/16", "-3 1/8, 2 1/16", "-2 9/16, -3", "-3 1/16, -5 3/16"]
    at_once(
        lambda: main(["axis", *marks, "--job", str(path), "--write"]),
        lambda: main(["weigh", str(path), "--top", "1.25", "--record", "--no-shop"]),
    )
    record = json.loads(path.read_text())
    assert record["bowler"]["pap"] != example_record("2026-01-01")["bowler"]["pap"]
    assert record["weighings"]["drilled"]["top"] == 1.25


def test_two_keepers_of_the_shop_at_once(tmp_path: Path) -> None:
    """Each adds a test to the calibration; all are there."""
    path = tmp_path / "new" / "shop.json"
    tests = ["--test", "2", "1.94", "--test", "3", "2.95"]
    assert main(["scale", *tests, "--shop", str(path), "--save"]) == 0

    def add(by: str) -> None:
        def longer(shop: Any) -> Any:
            return shop.model_copy(
                update={"scale": shop.scale.model_copy(update={"by": shop.scale.by + by})}
            )

        for _ in range(20):
            change_shop(path, longer)

    at_once(lambda: add("a"), lambda: add("b"))
    shop = load_shop(path)
    assert shop is not None
    assert shop.scale is not None
    assert sorted(shop.scale.by) == ["a"] * 20 + ["b"] * 20


def test_settings_of_two_windows_at_once(tmp_path: Path) -> None:
    def first() -> None:
        for size in range(10, 20):
            change_settings(tmp_path, text_size=size)

    def second() -> None:
        for width in range(800, 810):
            change_settings(tmp_path, width=width)

    at_once(first, second)
    settings = load_settings(tmp_path)
    assert (settings.text_size, settings.width) == (19, 809)


def test_a_held_file_is_refused_in_a_sentence(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text("{}")
    words = "is being changed by another program for more than 0.05 s"
    with locked(path), pytest.raises(InputError, match=words), locked(path, longest_wait=0.05):
        pass
    assert os.listdir(tmp_path) == ["job.json"]


def test_a_lock_left_by_a_killed_program_holds_nobody(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text("{}")

    def die() -> None:
        context = locked(path)
        context.__enter__()
        os._exit(0)

    at_once(die)
    with locked(path, longest_wait=0.5):
        write_atomic(path, b"[]")
    assert os.listdir(tmp_path) == ["job.json"]


def test_a_folder_that_takes_no_lock_leaves_the_refusal_to_the_write(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "job.json"
    with locked(path), pytest.raises(InputError, match="no such file or directory"):
        write_atomic(path, b"{}")


def test_the_window_waits_for_a_weighing_and_then_asks(tmp_path: Path) -> None:
    """What a command writes while the window wants to save is met, not written over."""
    path = tmp_path / "job.json"
    path.write_text(json.dumps(example_record("2026-01-01")))
    window = Presenter(tmp_path / "config")
    assert window.open(path)
    window.edit("title", "Another title")
    begun = threading.Event()

    def weigh() -> None:
        with locked(path):
            begun.set()
            time.sleep(0.2)
            record = read_json(path, "a job record")
            write_atomic(path, json.dumps({**record, "notes": "weighed"}).encode())

    other = threading.Thread(target=weigh)
    other.start()
    begun.wait()
    try:
        assert window.save() == "changed on disk"
    finally:
        other.join()
    assert json.loads(path.read_text())["notes"] == "weighed"
