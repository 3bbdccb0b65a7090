"""What the window remembers between runs, in one small file of the user.

Nothing here may stop a window from working: what cannot be read is as if it were not there, and
what cannot be written is logged.
"""

from __future__ import annotations

import json
import logging
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import Any, Literal

from layoutkit.errors import InputError
from layoutkit.job.files import locked, write_atomic
from layoutkit.job.folders import user_folder
from layoutkit.job.shop import config_dir as stated_folder
from layoutkit.units import Units

MOST_RECENT = 10  # files
TEXT_SIZES = (8, 24)  # points, the least and the most
SMALLEST = (640, 400)  # pixels; a smaller remembered window was a mistake

__all__ = (
    "MOST_RECENT", "Settings", "change", "config_dir", "load", "recent_files", "remember_file",
)  # fmt: skip

log = logging.getLogger("layoutkit.window")


@dataclass(frozen=True, slots=True)
class Settings:
    """Size in pixels (0: not known yet), text size in points, folders and files as paths.

    ``place`` is the window's left and top, ``panes`` where it is divided, across and down; in pixels,
    empty where not known yet.
    """

    width: int = 0
    height: int = 0
    place: tuple[int, ...] = ()
    panes: tuple[int, ...] = ()
    maximised: bool = False
    text_size: int = 10
    units: Units = "fraction"
    paper: Literal["letter", "a4"] = "letter"
    last_folder: str = ""
    recent: tuple[str, ...] = ()


_CHOICES = {"units": ("fraction", "decimal", "metric"), "paper": ("letter", "a4")}


def config_dir(environ: Mapping[str, str] | None = None) -> Path:
    """The folder of settings; one among the temporary files where no home is known."""
    try:
        return stated_folder(environ)
    except InputError as error:
        log.warning("settings last until the system clears its temporary files: %s", error)
        return Path(tempfile.gettempdir()) / "layoutkit-window"


def log_dir() -> Path:
    """The folder of the window's log; that of the settings where no home is known."""
    try:
        return user_folder("logs")
    except InputError:
        return config_dir()


def load(config: Path) -> Settings:
    """The settings in a folder; what is missing or cannot be is the default."""
    try:
        data = json.loads((config / "settings.json").read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return Settings()
    if not isinstance(data, dict):
        return Settings()
    kept = {f.name: data[f.name] for f in fields(Settings) if _fits(f.name, data.get(f.name))}
    for name in ("place", "panes", "recent"):
        if name in kept:
            kept[name] = tuple(kept[name][:MOST_RECENT])
    return Settings(**kept)


def _fits(name: str, value: Any) -> bool:
    if name in _CHOICES:
        return value in _CHOICES[name]
    if name == "recent":
        return isinstance(value, list) and all(isinstance(each, str) for each in value)
    if name in ("place", "panes"):
        pair = isinstance(value, list) and len(value) in (0, 2)
        return pair and all(type(each) is int and abs(each) < 100_000 for each in value)
    if name == "maximised":
        return isinstance(value, bool)
    if name == "last_folder":
        return isinstance(value, str)
    if type(value) is not int:
        return False
    low, high = TEXT_SIZES
    if name == "text_size":
        return low <= value <= high
    return (SMALLEST[name == "height"] <= value < 100_000) or value == 0


def change(config: Path, **new: Any) -> Settings:
    """Set some settings, leaving what another window wrote meanwhile; returns all of them."""
    return _change(config, lambda settings: replace(settings, **new))


def _change(config: Path, change: Callable[[Settings], Settings]) -> Settings:
    path = config / "settings.json"
    try:
        config.mkdir(parents=True, exist_ok=True)
        with locked(path, longest_wait=1.0):
            settings = change(load(config))
            write_atomic(path, (json.dumps(asdict(settings), indent=2) + "\n").encode("utf-8"))
    except (OSError, InputError) as error:
        log.warning("settings are not kept: %s", error)
        settings = change(load(config))
    return settings


def remember_file(config: Path, path: Path) -> Settings:
    """Put a file first among the recent ones, and its folder as the last one."""
    name = str(path.absolute())

    def put_first(settings: Settings) -> Settings:
        recent = (name, *(each for each in settings.recent if each != name))[:MOST_RECENT]
        return replace(settings, recent=recent, last_folder=str(path.absolute().parent))

    return _change(config, put_first)


def recent_files(config: Path) -> tuple[Path, ...]:
    """The recent files that are still there, the latest first."""
    return tuple(path for path in map(Path, load(config).recent) if path.is_file())
