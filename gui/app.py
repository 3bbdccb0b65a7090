"""`layoutkit-window [JOB]`: the Tk application with its windows, and what happens when one fails."""

from __future__ import annotations

import argparse
import logging
import sys
import traceback
from collections.abc import Sequence
from contextlib import suppress
from logging.handlers import RotatingFileHandler
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, NoReturn

from gui.state import settings
from gui.state.shop import ShopFile
from layoutkit import __version__
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.console import tell
from layoutkit.output.icon import SIZES, png

if TYPE_CHECKING:
    from gui.views.style import Appearance
    from gui.views.window import Window

PROGRAM = "layoutkit-window"
LOG = "window.log"
_LARGEST_LOG = 200_000  # bytes; one older file is kept beside it

log = logging.getLogger("layoutkit.window")


class App:
    """One Tk application: a hidden root, and any number of windows, each with its own job."""

    def __init__(self, config: Path | None = None, logs: Path | None = None) -> None:
        """``config`` is the folder of settings and recovery copies, ``logs`` that of the log.

        Without ``logs`` the log is among the settings.

        Raises tkinter.TclError where there is no display.
        """
        import tkinter as tk

        from gui.views.style import Appearance

        self.config = settings.config_dir() if config is None else config
        self.logs = self.config if logs is None else logs
        be_sharp()
        self.root = tk.Tk(className="Layoutkit")
        self.root.withdraw()
        if self.root.tk.call("tk", "windowingsystem") == "aqua":
            self.adopt_menu_of_macos()
        self.root.report_callback_exception = self.report
        self.icons = [tk.PhotoImage(master=self.root, data=png(size)) for size in SIZES]
        self.root.iconphoto(True, *self.icons)
        self.style: Appearance = Appearance(self.root, settings.load(self.config).text_size)
        self.windows: list[Window] = []
        self.shop = ShopFile()  # one for all windows
        self._reported = False

    def open_window(self) -> Window:
        """Open one more window, with an empty record."""
        from gui.views.window import Window

        window = Window(self)
        self.windows.append(window)
        return window

    def closed(self, window: Window) -> None:
        """A window is gone; with the last one the application ends."""
        self.windows.remove(window)
        if not self.windows:
            self.root.destroy()

    def quit(self) -> None:
        """Close every window, one after the other, until someone keeps one open."""
        if self.windows:
            self.windows[-1].close(self.quit)

    def adopt_menu_of_macos(self) -> None:
        """Take over what the system's own menu does: its Quit would pass the question about saving by."""

        def show_about(*_: object) -> None:
            if self.windows:
                self.windows[-1].show_about()

        def open_files(*paths: str) -> None:
            for path in paths:
                self.open_window().presenter.open(path)

        self.root.createcommand("tk::mac::Quit", self.quit)
        self.root.createcommand("tk::mac::OpenDocument", open_files)
        self.root.createcommand("tkAboutDialog", show_about)

    def set_text_size(self, change: int) -> None:
        """Make the text of every window larger, smaller, or with 0 as it usually is."""
        from gui.views.style import USUAL_TEXT

        changed = True
        if change > 0:
            changed = self.style.larger()
        elif change < 0:
            changed = self.style.smaller()
        else:
            self.style.apply(USUAL_TEXT)
        if not changed:
            for window in self.windows:
                window.say_text_stays(change)
            return
        settings.change(self.config, text_size=self.style.wanted)
        for window in self.windows:
            window.refresh()

    def run(self) -> None:
        """Until the last window is closed."""
        self.root.mainloop()

    def report(
        self,
        kind: type[BaseException],
        error: BaseException,
        trace: TracebackType | None,
    ) -> None:
        """An error in a callback: keep everybody's work, log it, and say so once."""
        log.error("".join(traceback.format_exception(kind, error, trace)))
        for window in self.windows:
            try:
                window.presenter.keep_recovery()
            except Exception:  # the first error is the one to tell
                log.exception("no recovery copy")
        if self._reported or not self.windows:
            return
        self._reported = True
        from gui.views.dialogs import focused

        holder = focused(self.root)
        top = None if holder is None else holder.winfo_toplevel()
        active = next((w for w in self.windows if w is top), self.windows[0])

        def read(_: str) -> None:
            self._reported = False

        active.tell(
            "Something went wrong",
            "That did not work, through a fault of this program. Your record is as it stands in the "
            "fields, and a recovery copy is kept. Save it under another name if in doubt. Details "
            f"are in {self.logs / LOG}.",
            read,
        )


def be_sharp(platform: str = sys.platform) -> None:
    """Tell Windows, before the first window, that the program draws at the screen's own density.

    Windows would else enlarge a picture of the window, in which text and fine lines are blurred.
    """
    if platform != "win32":
        return
    import ctypes

    libraries = getattr(ctypes, "windll", None)
    try:
        libraries.shcore.SetProcessDpiAwareness(1)  # type: ignore[union-attr]
    except (AttributeError, OSError):  # before Windows 8.1
        with suppress(AttributeError, OSError):
            libraries.user32.SetProcessDPIAware()  # type: ignore[union-attr]


def start_log(folder: Path) -> None:
    """Write warnings and errors to a file in this folder; where that cannot be, to stderr."""
    handler: logging.Handler
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handler = RotatingFileHandler(
            folder / LOG, maxBytes=_LARGEST_LOG, backupCount=1, encoding="utf-8", delay=True
        )
    except OSError:
        handler = logging.StreamHandler()
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    log.addHandler(handler)
    log.propagate = False


class _Parser(argparse.ArgumentParser):
    """A parser whose help, version and errors reach a person also where there is no console."""

    def error(self, message: str) -> NoReturn:
        raise SystemExit(_fail(f"{message}; see {PROGRAM} --help."))

    def _print_message(self, message: str, file: Any = None) -> None:
        tell(message, file, PROGRAM)


def main(argv: Sequence[str] | None = None) -> int:
    """Open the window; 0 when it was closed, 2 with one sentence where it cannot open."""
    parser = _Parser(prog=PROGRAM, description="Plan a layout by eye and by number, in a window.")
    parser.add_argument("job", nargs="?", metavar="JOB", help="a job record to open")
    parser.add_argument("--version", action="version", version=f"layoutkit {__version__}")
    job = parser.parse_args(argv).job
    try:
        import tkinter as tk
    except ImportError:
        return _fail(
            "this Python has no tkinter; install it (on Debian and Ubuntu: apt install python3-tk)."
        )
    provide_cache_folder()
    logs = settings.log_dir()
    start_log(logs)
    try:
        app = App(logs=logs)
    except tk.TclError as error:
        return _fail(f"no window can be opened here: {error}.")
    window = app.open_window()
    if job is not None and not window.presenter.open(job):
        words = window.presenter.message
        window.presenter.close()
        app.root.destroy()
        return _fail(words)
    window.offer_recovery()
    app.run()
    return 0


def _fail(sentence: str) -> int:
    tell(f"{PROGRAM}: {sentence}\n", sys.stderr, PROGRAM)
    return 2
