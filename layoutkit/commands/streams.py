"""Standard input, output and error, whatever is at their other end."""

from __future__ import annotations

import errno
import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TextIO

from layoutkit.errors import InputError, LayoutkitError
from layoutkit.units import printable

_bars: list[int] = []  # of the bar whose line is not ended yet: how many there will be
_quiet: ContextVar[bool] = ContextVar("quiet", default=False)
_collecting: list[list[str]] = []  # the innermost last
_BAR_WIDTH = 70  # columns, with its numbers
_LONGEST_MESSAGE = 800  # characters


@contextmanager
def quiet(wanted: bool) -> Iterator[None]:
    """While this lasts and is ``wanted``, `write` prints nothing and no bar is shown."""
    before = _quiet.set(wanted)
    try:
        yield
    finally:
        _quiet.reset(before)


def write(text: str) -> None:
    """Print to standard output now, as `printable` text. A reader that has gone away is no error.

    Prints nothing while all is to be quiet. Raises InputError where standard output is closed or
    cannot be written.
    """
    if _collecting:
        _collecting[-1].append(text)
        return
    if _quiet.get():
        return
    if sys.stdout is None:
        raise InputError("standard output: is closed; there is nowhere to print to.")
    try:
        sys.stdout.write(_encodable(printable(text), sys.stdout))
        sys.stdout.flush()
    except OSError as error:
        _discard(sys.stdout)
        if error.errno in (errno.EPIPE, errno.EINVAL):  # Windows reports the latter
            return
        raise InputError(f"standard output: cannot be written: {system_reason(error)}.") from None


@contextmanager
def collected() -> Iterator[list[str]]:
    """Collects what is written meanwhile, in place of printing it; no bar is shown."""
    texts: list[str] = []
    _collecting.append(texts)
    try:
        yield texts
    finally:
        _collecting.pop()


def progress_bar() -> Callable[[int, int], None]:
    """A function that shows a bar on standard error after a second, where that is a terminal."""
    if _collecting:
        return lambda done, whole: None
    begun = time.perf_counter()
    _bars.clear()

    def show(done: int, whole: int) -> None:
        if _quiet.get() or sys.stderr is None or not sys.stderr.isatty():
            return
        if time.perf_counter() - begun < 1.0:
            return
        filled = 40 * done // whole
        end = "\n" if done == whole else ""
        _bars[:] = [whole]
        sys.stderr.write(f"\r[{'#' * filled}{'.' * (40 - filled)}] {done} of {whole}{end}")
        sys.stderr.flush()
        if end:
            _bars.clear()

    return show


def wipe_bar() -> None:
    """Clear the line of a bar that is not ended, so that a line can be printed in its place."""
    if _bars and sys.stderr is not None:
        sys.stderr.write("\r" + " " * _BAR_WIDTH + "\r")
        sys.stderr.flush()
        _bars.clear()


def complain(error: LayoutkitError) -> None:
    """Print an error on standard error as one line, whatever a record or a file name holds."""
    if sys.stderr is None:
        return
    words = " ".join(str(error).split())
    if len(words) > _LONGEST_MESSAGE:  # what is possible often stands at the end
        words = f"{words[: _LONGEST_MESSAGE - 200]} ... {words[-195:]}"
    end = "" if words.endswith(".") else "."
    start = "\n" if _bars else ""  # below a bar that was broken off
    _bars.clear()
    try:
        sys.stderr.write(_encodable(start + printable(f"layoutkit: {words}{end}\n"), sys.stderr))
        sys.stderr.flush()
    except OSError:
        _discard(sys.stderr)


def keep_traceback() -> str | None:
    """Write the traceback of the exception at hand to the log; its path, None where none can be written.

    The log lies in the user's state folder, which keeps the last error only, or where that cannot be
    written in the temporary folder.
    """
    import tempfile
    import traceback

    from layoutkit.job.folders import user_folder

    text = traceback.format_exc().encode("utf-8", "backslashreplace")
    try:
        log = user_folder("logs") / "error.log"
        log.parent.mkdir(parents=True, exist_ok=True)
        log.write_bytes(text)
        return str(log)
    except (OSError, InputError):  # the latter where no home is known
        pass
    try:
        handle, name = tempfile.mkstemp(".log", "layoutkit-")
        with os.fdopen(handle, "wb") as file:
            file.write(text)
        return name
    except OSError:
        return None


def read_standard_input(most_bytes: int) -> bytes:
    """Standard input, up to ``most_bytes``; raises InputError where it cannot be read."""
    if sys.stdin is None:
        raise InputError("standard input: is closed; give the path of a job record.")
    try:
        return sys.stdin.buffer.read(most_bytes)
    except OSError as error:
        raise InputError(f"standard input: cannot be read: {system_reason(error)}.") from None


def system_reason(error: Exception) -> str:
    """The system's words for what failed, without a code or a path."""
    words = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return words[:1].lower() + words[1:]


def _encodable(text: str, stream: TextIO) -> str:
    """The text with escapes for what the stream's encoding lacks, such as code page 1252."""
    encoding = getattr(stream, "encoding", None) or "utf-8"
    return text.encode(encoding, "backslashreplace").decode(encoding)


def _discard(stream: TextIO) -> None:
    """Send what is still buffered nowhere, or the interpreter would complain about it at exit."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)
