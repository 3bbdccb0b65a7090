"""Where each system keeps what a program remembers: settings, data and logs.

Linux follows the XDG Base Directory Specification 0.8, Windows its known folders in APPDATA and
LOCALAPPDATA, macOS the user's Library. A variable of that specification counts on every system.
"""

from __future__ import annotations

import ntpath
import os
import posixpath
import sys
from collections.abc import Mapping
from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath
from typing import Literal

from layoutkit.errors import InputError

Kind = Literal["settings", "data", "state", "logs"]

NAME = "layoutkit"

# by kind: the XDG variable and its folder under the home, the variable and folder on Windows, and
# the folder on macOS
_PLACES: dict[Kind, tuple[str, str, str, str, str]] = {
    "settings": ("XDG_CONFIG_HOME", ".config", "APPDATA", "AppData/Roaming", "Application Support"),
    "data": (
        "XDG_DATA_HOME",
        ".local/share",
        "LOCALAPPDATA",
        "AppData/Local",
        "Application Support",
    ),
    "state": (
        "XDG_STATE_HOME",
        ".local/state",
        "LOCALAPPDATA",
        "AppData/Local",
        "Application Support",
    ),
    "logs": ("XDG_STATE_HOME", ".local/state", "LOCALAPPDATA", "AppData/Local", "Logs"),
}


def user_folder(
    kind: Kind, environ: Mapping[str, str] | None = None, platform: str = sys.platform
) -> Path:
    """The user's folder of a kind for this program; it need not be there yet.

    ``environ`` and ``platform`` are this process's unless they are stated. On macOS a folder of
    settings that an earlier version made under `~/.config` is kept. Raises InputError where no home
    is known.
    """
    env = os.environ if environ is None else environ
    windows = platform == "win32"
    is_absolute = ntpath.isabs if windows else posixpath.isabs
    variable, usual, windows_variable, windows_usual, library = _PLACES[kind]
    # that specification says that a relative path there is to be passed over
    for name in (variable, windows_variable) if windows else (variable,):
        if is_absolute(env.get(name, "")):
            return Path(_pure(env[name], windows) / NAME)
    home = _pure(_home(env, windows, variable), windows)
    if windows:
        return Path(home / windows_usual / NAME)
    earlier = Path(home / usual / NAME)
    if platform != "darwin" or (kind == "settings" and earlier.is_dir()):
        return earlier
    return Path(home / "Library" / library / NAME)


def _pure(text: str, windows: bool) -> PurePath:
    return PureWindowsPath(text) if windows else PurePosixPath(text)


def _home(env: Mapping[str, str], windows: bool, variable: str) -> str:
    named = env.get("USERPROFILE" if windows else "HOME")
    if named:
        return named
    try:
        return str(Path.home())
    except RuntimeError:
        raise InputError(f"no home folder is known; set {variable}.") from None
