"""The versions of the program and of what it stands on."""

from __future__ import annotations

import platform

from layoutkit import __version__

PACKAGES = ("numpy", "scipy", "matplotlib", "pydantic", "tkinter-tooltip")


def versions() -> tuple[tuple[str, str], ...]:
    """Names and versions: layoutkit, Python and the packages that it needs."""
    from importlib.metadata import PackageNotFoundError, version

    rows = [("layoutkit", __version__), ("Python", platform.python_version())]
    for name in PACKAGES:
        try:
            rows.append((name, version(name)))
        except PackageNotFoundError:
            rows.append((name, "not installed"))
    return tuple(rows)
