"""`layoutkit-window`: starts the window, or says why it is not there.

The window's package is called `gui`, as others may be called too. Where another `gui` comes first on
Python's path, a script that named it would end in a traceback that says nothing of this program. So it
begins here, in a package whose name nobody else has, and asks for `gui.app` by name: nothing else of
this package knows the window.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module

PROGRAM = "layoutkit-window"


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window; its exit code, or 2 with one sentence where another `gui` stands in the way."""
    try:
        app = import_module("gui.app")
    except ModuleNotFoundError as error:
        if not str(error.name).startswith("gui"):
            raise
        return _refused()
    # a constant of its own tells our package from another that has an `app` as well
    if getattr(app, "PROGRAM", None) != PROGRAM:
        return _refused()
    return int(app.main(argv))


def _refused() -> int:
    from layoutkit.output.console import tell

    package = sys.modules.get("gui")
    places = getattr(package, "__path__", None)
    if places is None:
        words = "its package gui is not installed; install layoutkit again."
    else:
        words = (
            f"another package called gui, in {next(iter(places), 'an unknown folder')}, stands in the "
            "way of the window's; start it from another folder, or install layoutkit into an "
            "environment of its own."
        )
    tell(f"{PROGRAM}: {words}\n", sys.stderr, PROGRAM)
    return 2


if __name__ == "__main__":
    sys.exit(main())
