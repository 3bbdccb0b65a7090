"""The command `layoutkit shortcut`: the window in the system's menu, for files of its own ending."""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from layoutkit.commands.common import FINE, Command, named
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.output.shortcut import System

_HERE: dict[str, System] = {"win32": "windows", "darwin": "macos"}
_DATABASES = (("update-desktop-database", "applications"), ("update-mime-database", "mime"))


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument(
        "--for",
        dest="system",
        choices=("linux", "windows", "macos"),
        help="the system that it is for (default: this one)",
    )
    p.add_argument("--out", metavar="FOLDER", help="write the files there, and change no menu")
    p.add_argument("--remove", action="store_true", help="take away what an earlier run wrote")


def run(args: argparse.Namespace) -> int:
    """Write the files of the entry, or take them away, and say what is left to do."""
    from layoutkit.output.shortcut import files

    here = _HERE.get(sys.platform, "linux")
    system: System = args.system or here
    if args.out is None and system != here:
        raise InputError(f"--for: {system} is not this system; say with --out where the files go.")
    folder = _usual(system) if args.out is None else Path(args.out)
    made = files(system, window_program())
    if args.remove:
        if system == "windows" and args.out is None and (folder / "remove.js").exists():
            raise InputError(
                f"{named(str(folder))}: double-click remove.js there first, then delete the folder."
            )
        _remove(folder, made)
        # while the folders are there still: the databases forget the entry then
        _refresh(folder, system, args.out is None)
        _clear(folder, made)
        write(f"The entry is gone from {named(str(folder))}.\n")
        return FINE
    _write(folder, made)
    missing = _refresh(folder, system, args.out is None)
    left = _LEFT[system]
    if system == "linux" and args.out is not None:
        left = "Put what is in that folder into ~/.local/share: then layoutkit is in the menu."
    elif missing:
        left = (
            f"layoutkit is in the menu. For files that end in .layoutjob {' and '.join(missing)} "
            "must be installed; then give the command again."
        )
    write(f"The entry is in {named(str(folder))}. {left}\n")
    return FINE


# what the user still has to do
_LEFT: dict[System, str] = {
    "linux": "layoutkit is in the menu, and a file that ends in .layoutjob opens in it.",
    "windows": "Double-click install.js there: it puts layoutkit into the Start menu, and files that end "
    "in .layoutjob open in it.",
    "macos": "Double-click layoutkit there once: from then on files that end in .layoutjob open in it.",
}


def window_program() -> tuple[str, ...]:
    """The window's program beside this one, or this Python with the window's module."""
    ending = ".exe" if sys.platform == "win32" else ""
    program = Path(sys.executable).absolute().parent / f"layoutkit-window{ending}"
    if program.is_file():
        return (str(program),)
    return (str(Path(sys.executable).absolute()), "-m", "layoutkit.window")


def _usual(system: System) -> Path:
    from layoutkit.job.folders import user_folder

    own = user_folder("data")  # ends in this program's own folder
    if system == "linux":
        return own.parent
    return own / "shortcut" if system == "windows" else Path.home() / "Applications"


def _write(folder: Path, made: dict[str, bytes]) -> None:
    from layoutkit.job.files import write_atomic
    from layoutkit.output.shortcut import is_program

    for name, data in made.items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            words = (error.strerror or "unknown reason").lower()
            raise InputError(f"{named(str(path.parent))}: cannot be made: {words}.") from None
        write_atomic(path, data)
        if is_program(name):
            with suppress(OSError):  # a share that knows no rights
                path.chmod(0o755)


def _remove(folder: Path, made: dict[str, bytes]) -> None:
    for name in made:
        path = folder / name
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            words = (error.strerror or "unknown reason").lower()
            raise InputError(f"{named(str(path))}: cannot be taken away: {words}.") from None


def _clear(folder: Path, made: dict[str, bytes]) -> None:
    """Take away the folders that this made, as far as nothing else is in them."""
    for name in made:
        path = folder / name
        with suppress(OSError):
            while path.parent != folder:
                path = path.parent
                path.rmdir()


def _refresh(folder: Path, system: System, installed: bool) -> list[str]:
    """Have the system read the entry now; returns the names of the tools for it that are not there."""
    if system != "linux" or not installed:
        return []
    import shutil
    import subprocess

    missing = []
    for tool, part in _DATABASES:
        program = shutil.which(tool)
        if program is None:
            missing.append(tool)
        elif os.path.isdir(folder / part):
            with suppress(OSError, subprocess.SubprocessError):
                subprocess.run([program, str(folder / part)], capture_output=True, timeout=20)
    return missing


COMMAND = Command(
    "shortcut",
    "put the window into the system's menu, opening .layoutjob files",
    "Write an entry for the system's menu, with an icon, that opens the window and files that end in\n"
    ".layoutjob. Such a file is a job like one in .json, which stays readable. --remove takes it away.",
    "  layoutkit shortcut\n  layoutkit shortcut --for windows --out menu\n  layoutkit shortcut --remove",
    arguments,
    run,
)
