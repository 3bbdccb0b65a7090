"""The system's own programs: to look at a file, and to print it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from layoutkit.errors import InputError

_OPENERS = {"darwin": ("open",)}
_USUAL_OPENERS = ("xdg-open",)
_PRINTERS = ("lp", "lpr")  # of CUPS, which macOS has too


def open_file(path: Path, run: Callable[[Sequence[str]], object] | None = None) -> None:
    """Show a file in the program that the system has for it; InputError where it has none.

    ``run`` starts a command in place of the system, for tests.
    """
    _hand_over(path, "open", _OPENERS.get(sys.platform, _USUAL_OPENERS), run)


def print_file(path: Path, run: Callable[[Sequence[str]], object] | None = None) -> None:
    """Send a file to the system's printer; otherwise as `open_file`."""
    _hand_over(path, "print", _PRINTERS, run)


def _hand_over(
    path: Path,
    verb: str,
    programs: Sequence[str],
    run: Callable[[Sequence[str]], object] | None,
) -> None:
    start = getattr(os, "startfile", None)
    try:
        if start is not None and run is None:  # Windows
            start(str(path), verb)
            return
        program = next((each for each in map(shutil.which, programs) if each), None)
        if program is None:
            raise InputError(
                f"this computer has no program to {verb} it with ({' or '.join(programs)}); "
                f"the file is {path}"
            )
        (run or _start)([program, str(path)])
    except OSError as error:
        raise InputError(f"{path} could not be handed over: {error.strerror or error}") from None


def _start(command: Sequence[str]) -> None:
    """Start a program and leave it alone."""
    subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
