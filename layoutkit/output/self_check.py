"""Whether the program works on this machine: what it stands on, tried one after the other.

The report goes into a letter or a public page, so it holds no name, no job and no folder outside the
program's own; the user's home is written as ~.
"""

from __future__ import annotations

import io
import os
import platform
import re
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Literal, NamedTuple, get_args

from layoutkit.errors import InputError, LayoutkitError
from layoutkit.job.folders import Kind, user_folder
from layoutkit.output.versions import versions

if TYPE_CHECKING:
    from layoutkit.planning.values import Plan

State = Literal["ok", "note", "fails"]

SAMPLE = "01_right_asymmetric.json"
# what the tests of this version hold that sample to: the figure, its value and how far it may be off
KNOWN: tuple[tuple[str, float, float], ...] = (
    ("statics.weight_lb", 14.9455, 0.0005),
    ("statics.side_oz", 0.539, 0.001),
    ("statics.finger_oz", 0.629, 0.001),
    ("statics.top_oz", 1.182, 0.001),
    ("inertia.rg_low", 2.5238, 0.0002),
    ("inertia.differential", 0.0516, 0.0001),
    ("layout.pin_to_pap", 4.5, 1e-9),
)


class Finding(NamedTuple):
    """One thing that was tried, how it went, and what there is to say of it."""

    name: str
    state: State
    words: str


def findings() -> Iterator[Finding]:
    """Everything that is checked, each as soon as it is done; nothing of it stays on the disk.

    The list of fonts stays: it is made here, so that no first drawing has to wait for it.
    """
    yield Finding("system", "ok", f"{platform.system()} {platform.release()}, {platform.machine()}")
    for name, version in versions():
        yield Finding(name, "fails" if version == "not installed" else "ok", version)
    yield _tried("tk", _tk)
    for kind in get_args(Kind):
        yield _tried(f"folder of {kind}", lambda kind=kind: _folder(kind))  # type: ignore[misc]
    yield _tried("temporary files", lambda: _can_write(Path(tempfile.gettempdir())))
    yield _tried("fonts", _fonts)
    plans: list[Plan] = []
    yield _tried("sample", lambda: _sample(plans))
    for plan in plans:
        yield _tried("work sheet", lambda plan=plan: _sheet(plan))  # type: ignore[misc]
        yield _tried("paper strips", lambda plan=plan: _strips(plan))  # type: ignore[misc]
    yield _tried("book", _book)


def report(found: list[Finding]) -> str:
    """All findings as a table, and how many fail."""
    width = max(len(each.name) for each in found)
    lines = [f"{each.name:<{width}}  {each.state:<5}  {each.words}" for each in found]
    failed = [each.name for each in found if each.state == "fails"]
    end = f"Does not work here: {', '.join(failed)}." if failed else "All of it works here."
    return "\n".join([*lines, "", end, ""])


def without_home(text: str) -> str:
    """The text with ~ for the user's home folder, whose name may be a person's."""
    with suppress(RuntimeError):  # no home is known
        home = str(Path.home())
        if len(home) > 1:
            text = text.replace(home, "~")
    return text


def _tried(name: str, check: Callable[[], tuple[State, str]]) -> Finding:
    """What a check found; whatever it raises is a failure, and no check stops the others."""
    try:
        state, words = check()
    except LayoutkitError as error:
        state, words = "fails", str(error)
    except Exception as error:
        state, words = "fails", f"{type(error).__name__}: {error}"
    return Finding(name, state, " ".join(without_home(words).split()))


def _tk() -> tuple[State, str]:
    try:
        import tkinter
    except ImportError:
        return "fails", "this Python has no tkinter, so that the window cannot open"
    try:
        root = tkinter.Tk()
    except tkinter.TclError:
        return "note", f"{tkinter.TkVersion}; there is no display here, so the window was not tried"
    try:
        root.withdraw()
        call = root.tk.call
        words = (
            f"{call('info', 'patchlevel')}, {call('tk', 'windowingsystem')}, scaling "
            f"{float(call('tk', 'scaling')):.2f}, {root.winfo_screenwidth()} x "
            f"{root.winfo_screenheight()} pixels"
        )
    finally:
        root.destroy()
    return "ok", words


def _folder(kind: Kind) -> tuple[State, str]:
    folder = user_folder(kind)
    shown = without_home(str(folder))
    # a folder elsewhere may be named after a person or a shop
    return _can_write(folder, shown if shown.startswith("~") else f".../{folder.name}")


def _can_write(folder: Path, shown: str = "") -> tuple[State, str]:
    """Write a file into a folder, or into the nearest above it that is there, and take it away."""
    place = folder
    while not place.exists() and place != place.parent:
        place = place.parent
    try:
        handle, name = tempfile.mkstemp(prefix=".layoutkit-check-", dir=place)
        os.close(handle)
        os.unlink(name)
    except OSError as error:
        return "fails", f"{shown} cannot be written: {(error.strerror or 'unknown reason').lower()}"
    return "ok", f"{shown} can be written".strip()


def _fonts() -> tuple[State, str]:
    from layoutkit.output.cache_folder import provide_cache_folder

    start = time.perf_counter()
    kept = provide_cache_folder()
    from matplotlib import font_manager

    from layoutkit.output import render

    for bold in (False, True):
        with open(str(render.font(bold).get_file()), "rb") as file:
            file.read(4)
    words = f"{len(font_manager.fontManager.ttflist)} found in {time.perf_counter() - start:.1f} s"
    if not kept:
        return "note", f"{words}; their list cannot be kept here, so every start makes it anew"
    return "ok", words


def _sample(plans: list[Plan]) -> tuple[State, str]:
    """Plan the sample; the plan goes into ``plans`` for the pages."""
    from layoutkit.job.samples import samples
    from layoutkit.job.store import load_job
    from layoutkit.planning.plan import plan

    paths = [path for path in samples() if path.name == SAMPLE]
    if not paths:
        return "fails", f"{SAMPLE} is not where the installation puts it; install layoutkit again"
    planned = plan(load_job(paths[0]))
    plans.append(planned)
    for name, value, off in KNOWN:
        part, _, figure = name.partition(".")
        actual = getattr(getattr(planned, part), figure)
        if actual is None or abs(actual - value) > off:
            return "fails", f"{name} is {actual}, and known to be {value}: trust no plan made here"
    return "ok", f"{len(KNOWN)} figures of {SAMPLE} are as they are known"


def _sheet(plan: Plan) -> tuple[State, str]:
    from layoutkit.output.sheet import write_sheet

    return _read_back(lambda path: write_sheet(plan, path))


def _strips(plan: Plan) -> tuple[State, str]:
    from layoutkit.output.strips import write_strips

    return _read_back(lambda path: write_strips(plan, path))


def _read_back(write: Callable[[Path], None]) -> tuple[State, str]:
    with tempfile.TemporaryDirectory(prefix="layoutkit-") as folder:
        path = Path(folder) / "page.pdf"
        write(path)
        data = path.read_bytes()
    pages = pages_of(data)
    return "ok", f"{pages} page{'s' * (pages > 1)} written and read back"


def pages_of(data: bytes) -> int:
    """How many pages a PDF says that it has; raises InputError where it is cut short or is none.

    ISO 32000-1, 7.5: a header, objects, the table of cross-references that `startxref` points at,
    and an end.
    """
    ends = re.findall(rb"startxref\s+(\d+)\s+%%EOF", data)
    if not data.startswith(b"%PDF-") or not ends or not data.rstrip().endswith(b"%%EOF"):
        raise InputError("the file that was read back is no whole PDF.")
    table = io.BytesIO(data)
    table.seek(int(ends[-1]))
    counts = re.findall(rb"/Type /Pages\b[^>]*/Count (\d+)|/Count (\d+)[^>]*/Type /Pages\b", data)
    if table.read(4) != b"xref" or not counts:
        raise InputError("the PDF that was read back does not list its pages.")
    return int(b"".join(counts[0]))


def _book() -> tuple[State, str]:
    from layoutkit.book.book import Book
    from layoutkit.book.exchange import check
    from layoutkit.book.schema import book_path

    path = book_path()
    if not path.exists():
        return "ok", "there is none yet"
    try:
        with Book(path, create=False) as book:
            wrong = check(book)
    except InputError as error:
        return "fails", error.words  # the path would name the shop's folder
    if wrong:
        return "fails", f"damaged in {len(wrong)} places; `layoutkit book restore` takes a backup"
    return "ok", f"whole, {path.stat().st_size / 1e6:.1f} MB"
