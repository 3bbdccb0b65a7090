"""Real windows on a display of the run's own. Nothing is skipped: without a display all of it fails."""

import os
import select
import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
PATIENCE = 45.0  # seconds; two cores are shared by all workers


def start_xvfb() -> tuple[subprocess.Popen[bytes], str]:
    """A server with one screen of 1600 x 1200 pixels, 96 to the inch, and its display's name."""
    program = shutil.which("Xvfb")
    if program is None:
        pytest.fail(
            "Xvfb is missing: the window's tests need it (on Debian and Ubuntu: apt install xvfb).",
            pytrace=False,
        )
    reader, writer = os.pipe()
    command = [program, "-displayfd", str(writer), "-screen", "0", "1600x1200x24", "-dpi", "96"]
    server = subprocess.Popen(
        [*command, "-nolisten", "tcp", "-noreset"],
        pass_fds=(writer,),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    os.close(writer)
    told = b""
    deadline = time.monotonic() + PATIENCE
    # up to the newline: a server whose pipe closes early gives up
    while not told.endswith(b"\n") and time.monotonic() < deadline:
        if select.select([reader], [], [], 0.1)[0]:
            part = os.read(reader, 64)
            if not part:
                break
            told += part
    os.close(reader)
    if not told.endswith(b"\n"):
        server.kill()
        server.wait()
        pytest.fail("Xvfb did not start: no display for the window's tests.", pytrace=False)
    return server, f":{told.decode().strip()}"


@pytest.fixture(scope="session")
def display() -> Iterator[str]:
    """The display of this worker."""
    try:
        import tkinter  # noqa: F401
    except ImportError:
        pytest.fail(
            "This Python has no tkinter: the window's tests need it (on Debian and Ubuntu: apt "
            "install python3-tk).",
            pytrace=False,
        )
    server, name = start_xvfb()
    before = os.environ.get("DISPLAY")
    os.environ["DISPLAY"] = name
    yield name
    if before is None:
        del os.environ["DISPLAY"]
    else:
        os.environ["DISPLAY"] = before
    server.terminate()
    server.wait()


@pytest.fixture
def odds_drawn() -> None:
    """Asked for by a test in which the window works out the chance of an illegal ball."""


@pytest.fixture
def app(
    display: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> Iterator[Any]:
    """An application with its own folder of settings. An error in a callback fails the test.

    The chance of an illegal ball is worked out only in a test that asks for ``odds_drawn``: it would
    take more time than all the rest.
    """
    import tkinter as tk

    from gui.app import App

    if "odds_drawn" not in request.fixturenames:
        monkeypatch.setattr("gui.views.window._QUIET", 1_000_000)
    app = App(tmp_path / "config")
    errors: list[BaseException] = []
    app.root.report_callback_exception = lambda kind, error, trace: errors.append(error)
    app.errors = errors  # type: ignore[attr-defined]
    yield app
    for window in list(app.windows):
        window.presenter.close()
        app.windows.remove(window)
        # each of a thousand widgets would call the window's own handler: half of the time of its end
        window.unbind("<Destroy>")
        window._gone(SimpleNamespace(widget=window))
        window.destroy()
    try:
        app.root.update()
        app.root.destroy()
    except tk.TclError:
        pass  # the last window took it along
    if errors:
        raise errors[0]


@pytest.fixture
def pump(app: Any) -> Callable[..., None]:
    """Let the application live until something holds; fail when it does not."""

    def run(until: Callable[[], object], what: str = "") -> None:
        deadline = time.monotonic() + PATIENCE
        while True:
            app.root.update()
            if app.errors:
                raise app.errors.pop()
            if until():
                return
            if time.monotonic() > deadline:
                pytest.fail(f"waited in vain: {what or until}")
            time.sleep(0.005)

    return run


@pytest.fixture
def open_window(app: Any, pump: Callable[..., None]) -> Callable[..., Any]:
    """Opens one more window, its ball painted, with the keyboard; a job in it where one is given."""

    def run(path: Path | None = None) -> Any:
        window = app.open_window()
        if path is not None:
            assert window.presenter.open(path)
        pump(lambda: window.ball.frames and window.winfo_viewable(), "the window to be painted")
        window.focus_force()
        pump(lambda: window.focus_displayof() is not None, "the keyboard")
        return window

    return run


@pytest.fixture
def scaled(app: Any) -> Iterator[Callable[[float], None]]:
    """Makes the screen denser: so many pixels to the point."""
    before = app.root.tk.call("tk", "scaling")

    def run(scaling: float) -> None:
        app.root.tk.call("tk", "scaling", scaling)
        app.style.apply(app.style.text)

    yield run
    # Tk keeps it for the whole process
    app.root.tk.call("tk", "scaling", before)


@pytest.fixture
def sample(open_window: Callable[..., Any], tmp_path: Path) -> Any:
    """A window with a copy of the first sample."""
    path = tmp_path / "job.json"
    path.write_bytes(SAMPLES[0].read_bytes())
    return open_window(path)


@pytest.fixture
def chosen(monkeypatch: pytest.MonkeyPatch) -> Callable[[Path | str], None]:
    """Lets the file dialogs, which are the system's, answer with a path."""

    def run(path: Path | str) -> None:
        for name in ("askopenfilename", "asksaveasfilename"):
            monkeypatch.setattr(f"tkinter.filedialog.{name}", lambda **_: str(path))

    return run


@pytest.fixture
def to_pixel() -> Callable[[Any, float, float], tuple[int, int]]:
    """Turns a place on a ball's view, in ball radii, into pixels from the canvas's upper left."""

    def run(ball: Any, x: float, y: float) -> tuple[int, int]:
        # the view's own way from pixels to radii, which is linear, the other way round
        left, top = ball.to_ball(0.0, 0.0)
        right, bottom = ball.to_ball(1.0, 1.0)
        return round((x - left) / (right - left)), round((y - top) / (bottom - top))

    return run


@pytest.fixture
def where(
    to_pixel: Callable[[Any, float, float], tuple[int, int]],
) -> Callable[[Any, str], tuple[int, int]]:
    """Tells where a mark of the plan is on a window's canvas, in pixels."""

    def run(window: Any, name: str) -> tuple[int, int]:
        spot = next(s for s in window.ball.shown.spots if s.name == name and not s.ghost)
        return to_pixel(window.ball, spot.x, spot.y)

    return run


@pytest.fixture
def hands(app: Any, pump: Callable[..., None]) -> SimpleNamespace:
    """What a person does: typing, pressing, dragging. Events go to what is on the screen."""

    def focus(widget: Any) -> None:
        widget.focus_force()
        pump(lambda: widget.focus_displayof() is widget, f"the keyboard in {widget}")

    def key(widget: Any, *names: str) -> None:
        focus(widget)
        for name in names:
            widget.event_generate(f"<{name}>")
        app.root.update()

    def write(widget: Any, text: str) -> None:
        """Replace what stands in an entry, letter by letter."""
        focus(widget)
        widget.event_generate("<<SelectAll>>")
        widget.event_generate("<BackSpace>")
        for letter in text:
            name = NAMES.get(letter, letter)
            widget.event_generate(f"<Key-{name}>")
        app.root.update()

    def choose(box: Any, text: str) -> None:
        """Choose from a list; the list's own window is the toolkit's."""
        focus(box)
        box.current(box.cget("values").index(text))
        box.event_generate("<<ComboboxSelected>>")
        app.root.update()

    def press(widget: Any) -> None:
        """Press a button where it is on the screen."""
        pump(widget.winfo_viewable, f"{widget} on the screen")
        x, y = widget.winfo_width() // 2, widget.winfo_height() // 2
        widget.event_generate("<Enter>", x=x, y=y)
        widget.event_generate("<Button-1>", x=x, y=y)
        widget.event_generate("<ButtonRelease-1>", x=x, y=y)
        app.root.update()

    def drag(widget: Any, path: list[tuple[int, int]]) -> None:
        (x, y), *rest = path
        widget.event_generate("<Button-1>", x=x, y=y)
        for x, y in rest:
            widget.event_generate("<B1-Motion>", x=x, y=y)
            app.root.update()
        widget.event_generate("<ButtonRelease-1>", x=x, y=y)
        app.root.update()

    return SimpleNamespace(focus=focus, key=key, write=write, choose=choose, press=press, drag=drag)


class Person:
    """Someone at the window with nothing but keys and the pointer: no widget gets the keyboard unasked.

    A key goes to whatever has the keyboard. Counts the values that were typed and the presses of Tab.
    """

    def __init__(self, app: Any, pump: Callable[..., None]) -> None:
        self._root, self._pump = app.root, pump
        self.values = self.tabs = 0

    def keys(self, *names: str) -> None:
        """Press these keys, one after the other."""
        for name in names:
            self.tabs += name == "Tab"
            self._send(name)
            self._root.update()  # the keyboard may have gone elsewhere

    def write(self, text: str) -> None:
        """Type a value over what is marked, or into what is empty."""
        self.values += 1
        self._letters(text)
        self._root.update()

    def fill(self, *texts: str) -> None:
        """Values in fields that follow each other: Tab between them, an empty one is passed over."""
        for i, text in enumerate(texts):
            if i:
                self.keys("Tab")
            if text:
                self.write(text)

    def click(self, widget: Any, x: int | None = None, y: int | None = None) -> None:
        """Press the pointer's button on a widget, in its middle unless told where."""
        self._pump(widget.winfo_viewable, f"{widget} on the screen")
        x = widget.winfo_width() // 2 if x is None else x
        y = widget.winfo_height() // 2 if y is None else y
        for event in ("Enter", "Motion", "Button-1", "ButtonRelease-1"):
            widget.event_generate(f"<{event}>", x=x, y=y)
        self._root.update()

    def name_file(self, path: Path, *keys: str) -> None:
        """Press keys that ask for a file, and type its path into the toolkit's own dialog.

        The dialog keeps the call waiting that asked for it, so it is answered by a timer.
        """
        waited = []

        def answer() -> None:
            name = str(self._root.tk.call("focus"))
            if "__tk_filedialog" not in name and len(waited) < 1000:
                waited.append(self._root.after(10, answer))
                return
            self._letters(str(path))
            self._send("Return")

        self._root.after(10, answer)
        self.keys(*keys)

    def _letters(self, text: str) -> None:
        for letter in text:
            self._send(f"Key-{NAMES.get(letter, letter)}")

    def _send(self, name: str) -> None:
        # by Tk's own words: the widgets of its menus and dialogs have none of Python's
        place = str(self._root.tk.call("focus"))
        assert place, f"nothing has the keyboard for {name}"
        self._root.tk.call("event", "generate", place, f"<{name}>")


@pytest.fixture
def person(app: Any, pump: Callable[..., None]) -> Person:
    """Someone who sends nothing but keys and the pointer's events."""
    return Person(app, pump)


NAMES = {  # of keys, as Tk has them
    " ": "space",
    "/": "slash",
    ".": "period",
    "-": "minus",
    "+": "plus",
    ":": "colon",
    ",": "comma",
    '"': "quotedbl",
    "_": "underscore",
    "[": "bracketleft",
    "]": "bracketright",
}
