"""A file to which each change is added as it is made, so that a crash takes nothing of it.

A line is one JSON object. It is with the system as soon as `Journal.add` returns, so a program that is
killed loses nothing; a line that was torn with the machine is left out when the file is read. One
program at a time holds a journal, by a lock that the system frees however the program ends.
"""

from __future__ import annotations

import contextlib
import json
import logging
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from gui.state.recovery import Lock

ENDING = ".jsonl"

log = logging.getLogger("layoutkit.window")


class Journal:
    """An open journal. `trouble` says why nothing can be kept in it; empty while all is."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.trouble = ""
        self._lock = Lock(path.with_suffix(".lock"))
        self._handle: int | None = None

    def take(self) -> bool:
        """Hold the journal, and make it where it is not there; False where another program holds it.

        Where it cannot be written at all it is held, and `trouble` says why nothing is kept.
        """
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            if not self._lock.take():
                return False
            flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
            self._handle = os.open(self.path, flags, 0o600)
            size = os.fstat(self._handle).st_size
            if size and os.lseek(self._handle, size - 1, os.SEEK_SET) >= 0:
                torn = os.read(self._handle, 1) != b"\n"
                os.write(self._handle, b"\n" * torn)
        except OSError as error:
            self._fail(error)
        return True

    def add(self, line: Mapping[str, Any]) -> None:
        """Add a line; `trouble` says so where that cannot be."""
        if self._handle is None:
            return
        data = json.dumps(line, ensure_ascii=True, separators=(",", ":")).encode("ascii") + b"\n"
        if self.trouble:  # a line that was cut short must not take this one with it
            data = b"\n" + data
        try:
            done = os.write(self._handle, data)
            if done != len(data):  # a full disk: the rest is another try
                os.write(self._handle, data[done:])
            self.trouble = ""
        except OSError as error:
            self._fail(error)

    def sync(self) -> None:
        """Have all lines on the disk, where a machine that loses its power leaves them."""
        if self._handle is not None:
            with contextlib.suppress(OSError):
                os.fsync(self._handle)

    def lines(self) -> list[dict[str, Any]]:
        """All lines that can be read, in their order."""
        found = []
        try:
            data = self.path.read_bytes()
        except OSError:
            return []
        for text in data.decode("utf-8", "replace").split("\n"):
            try:
                line = json.loads(text)
            except (ValueError, RecursionError):
                continue
            if isinstance(line, dict):
                found.append(line)
        return found

    def close(self) -> None:
        """Let the journal go; it stays where it is."""
        if self._handle is not None:
            self.sync()
            os.close(self._handle)
            self._handle = None
        self._lock.free(remove=True)

    def _fail(self, error: OSError) -> None:
        words = (error.strerror or str(error)).lower()
        self.trouble = f"What is typed is not kept against a crash: {self.path.name}: {words}."
        log.warning("%s", self.trouble)
