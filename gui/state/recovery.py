"""Recovery copies: what one window holds unsaved, kept where a crash cannot take it.

Each window owns one copy and one lock beside it. The system frees a lock when its process ends,
however it ends, so a copy whose lock is free is what a crash left behind. While a copy is offered
the lock is held, so that no second window offers it too.
"""

from __future__ import annotations

import contextlib
import json
import logging
import os
import secrets
import time
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from layoutkit.errors import InputError
from layoutkit.job.files import lock_handle, write_atomic

FORMAT = "layoutkit-recovery"
VERSION = 1
LATEST = 32_503_680_000.0  # seconds: the year 3000; some systems know no later dates
STALE_AFTER = 86_400.0  # seconds; leftovers of a start or a write that was killed

log = logging.getLogger("layoutkit.window")


@dataclass(frozen=True, slots=True)
class UnsavedWork:
    """Unsaved work: the entries, those last saved, the job's file and its digest ("" for none).

    ``opened`` is the record that the work began from, None for a new one.
    """

    entries: dict[str, str]
    saved: dict[str, str]
    path: str
    digest: str
    opened: Mapping[str, Any] | None = None


class Lock:
    """A lock on a file, held until `free` or until the process ends."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._handle: int | None = None

    def take(self) -> bool:
        """Take the lock; False when another one holds it, in this process or another.

        Raises OSError where the file cannot be made.
        """
        handle = os.open(self.path, os.O_RDWR | os.O_CREAT, 0o600)
        if not _locked(handle):
            os.close(handle)
            return False
        self._handle = handle
        return True

    def free(self, remove: bool) -> None:
        """Let the lock go, and ``remove`` its file."""
        if self._handle is None:
            return
        if remove and os.name == "posix":
            _unlink(self.path)
        os.close(self._handle)
        self._handle = None
        if remove and os.name != "posix":  # an open file cannot be removed there
            _unlink(self.path)


class Keeper:
    """Keeps the recovery copy of one window in the folder ``config``."""

    def __init__(self, config: Path) -> None:
        self._folder = config / "recovery"
        self._name = f"{os.getpid()}-{secrets.token_hex(4)}"
        self._lock = Lock(self._folder / f"{self._name}.lock")
        self._held = False

    @property
    def path(self) -> Path:
        """The copy's file."""
        return self._folder / f"{self._name}.json"

    def write(self, work: UnsavedWork) -> bool:
        """Replace the copy; False, and logged, where it cannot be written."""
        data = {"format": FORMAT, "version": VERSION, "time": time.time(), **asdict(work)}
        try:
            if not self._held:
                self._folder.mkdir(parents=True, exist_ok=True)
                self._held = self._lock.take()
            write_atomic(self.path, json.dumps(data).encode("ascii"))
        except (OSError, InputError) as error:
            log.warning("no recovery copy is kept: %s", error)
            return False
        return True

    def discard(self) -> None:
        """Remove the copy: everything is saved, or given up."""
        if self._held:
            _unlink(self.path)
            self._lock.free(remove=True)
            self._held = False


@dataclass(frozen=True, slots=True)
class LeftCopy:
    """A copy that a crash left behind; ``time`` is seconds since 1970."""

    work: UnsavedWork
    time: float
    path: Path
    lock: Lock

    def discard(self) -> None:
        """Remove the copy: it was taken over, or is not wanted."""
        _unlink(self.path)
        for left in self.path.parent.glob(f".{self.path.name}.*.tmp"):
            _unlink(left)
        self.lock.free(remove=True)

    def leave(self) -> None:
        """Keep the copy for another time."""
        self.lock.free(remove=False)


def find(config: Path) -> tuple[LeftCopy, ...]:
    """The copies that crashes left behind in a folder, the latest first.

    Each is held: `discard` or `leave` it.
    """
    folder = config / "recovery"
    copies = []
    with contextlib.suppress(OSError):
        for path in sorted(folder.glob("*.json")):
            lock = Lock(path.with_suffix(".lock"))
            with contextlib.suppress(OSError):
                if not lock.take():
                    continue
                data = _read(path)
                if data is None:
                    lock.free(remove=not path.exists())
                    continue
                when, work = data
                copies.append(LeftCopy(work, when, path, lock))
        _sweep(folder)
    return tuple(sorted(copies, key=lambda f: -f.time))


def _read(path: Path) -> tuple[float, UnsavedWork] | None:
    try:
        data = json.loads(path.read_text(encoding="ascii"))
        if data["format"] != FORMAT or data["version"] != VERSION:
            return None
        entries, saved = _texts(data["entries"]), _texts(data["saved"])
        opened = data.get("opened")  # earlier copies have none
        work = UnsavedWork(
            entries,
            saved,
            str(data["path"]),
            str(data["digest"]),
            opened if isinstance(opened, dict) else None,
        )
        return _time(data.get("time"), path), work
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def _time(value: Any, path: Path) -> float:
    """The time that a copy states; its file's time where it states no possible one."""
    if isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < LATEST:
        return float(value)
    return path.stat().st_mtime


def _texts(data: Any) -> dict[str, str]:
    if not isinstance(data, Mapping):
        raise TypeError("no entries")
    return {str(path): str(text) for path, text in data.items()}


def _sweep(folder: Path) -> None:
    for left in (*folder.glob(".*.tmp"), *folder.glob("*.lock")):
        with contextlib.suppress(OSError):
            alone = left.suffix == ".tmp" or not left.with_suffix(".json").exists()
            if not alone or time.time() - left.stat().st_mtime < STALE_AFTER:
                continue
            lock = Lock(left)
            if lock.take():
                lock.free(remove=True)


def _unlink(path: Path) -> None:
    with contextlib.suppress(OSError):
        path.unlink()


def _locked(handle: int) -> bool:
    try:
        lock_handle(handle)
    except OSError:
        return False
    return True
