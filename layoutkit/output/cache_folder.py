"""Where matplotlib and fontconfig keep what they find out about fonts, so that nothing is said of it.

Without a folder that can be written both complain on standard error, before the answer.
"""

from __future__ import annotations

import os
import sys
from functools import cache
from pathlib import Path

from layoutkit.errors import InputError


@cache
def provide_cache_folder() -> bool:
    """Name a temporary folder where the user's own cannot be written; call it before matplotlib's import.

    The folder is removed when the process ends. A choice that was made before stands. Returns whether
    what is found out is kept for the next process. Raises InputError where no folder at all can be
    written.
    """
    if "matplotlib" in sys.modules:
        return True
    caches = _xdg_folder("XDG_CACHE_HOME", ".cache")
    if all(_can_be_written(each) for each in _matplotlib_folders(caches)):
        return True

    import atexit
    import logging
    import shutil
    import tempfile

    try:
        folder = tempfile.mkdtemp(prefix="layoutkit-")
    except OSError as error:
        words = f"drawing needs a folder for temporary files, and none can be written: {error}."
        raise InputError(" ".join(words.split())) from None
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    os.environ["MPLCONFIGDIR"] = folder
    if caches is None or not _can_be_written(caches):
        os.environ["XDG_CACHE_HOME"] = (
            folder  # fontconfig, which matplotlib starts, asks for this one
        )
    # the list of fonts is made anew in every run then, and after 5 s a warning says so
    logging.getLogger("matplotlib.font_manager").setLevel(logging.ERROR)
    return False


def _matplotlib_folders(caches: Path | None) -> list[Path | None]:
    """The folders that matplotlib writes to; None stands for one that nobody knows."""
    named = os.environ.get("MPLCONFIGDIR")
    if named:
        return [Path(named)]
    if sys.platform.startswith(("linux", "freebsd")):
        settings = _xdg_folder("XDG_CONFIG_HOME", ".config")
        return [each and each / "matplotlib" for each in (settings, caches)]
    home = _home()
    local = os.environ.get("LOCALAPPDATA")
    if sys.platform == "win32" and local and not (home and (home / ".matplotlib").is_dir()):
        return [Path(local) / "matplotlib"]
    return [home and home / ".matplotlib"]


def _xdg_folder(variable: str, usual: str) -> Path | None:
    named = os.environ.get(variable)
    home = _home()
    return Path(named) if named else home and home / usual


def _home() -> Path | None:
    try:
        return Path.home()
    except RuntimeError:  # no home is known
        return None


def _can_be_written(folder: Path | None) -> bool:
    """Whether a folder is there, or can be made, and written to; it is made."""
    try:
        if folder is None:
            return False
        folder.mkdir(parents=True, exist_ok=True)
        return folder.is_dir() and os.access(folder, os.W_OK)
    except (OSError, RuntimeError, ValueError):
        return False
