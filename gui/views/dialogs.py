"""Questions, long texts and progress, each in a small window of its own.

A question does not wait: it calls back with the answer. While it is open its window alone answers.
"""

from __future__ import annotations

import gc
import queue
import threading
import tkinter as tk
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from tkinter import ttk
from typing import TYPE_CHECKING, Any

from gui.views import style as look
from gui.views.text_view import TextView
from gui.views.timer import Timer
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance

_TITLE = 2.5  # ems, for the title that the system puts above a window
POLL = 50  # milliseconds between two looks at a worker


@dataclass(frozen=True, slots=True)
class Choice:
    """A button: its answer, its text, and which of its letters Alt reaches it by."""

    answer: str
    text: str
    underline: int = 0


SAVE_FIRST = (Choice("save", "Save"), Choice("discard", "Do not save"), Choice("cancel", "Cancel"))
RECOVER = (
    Choice("recover", "Recover"),
    Choice("discard", "Throw away"),
    Choice("later", "Ask again later"),
)
DISK = (
    Choice("overwrite", "Overwrite"),
    Choice("as", "Save under another name"),
    Choice("cancel", "Cancel"),
)
EARLIER = (
    Choice("as", "Save under another name"),
    Choice("overwrite", "Overwrite"),
    Choice("cancel", "Cancel"),
)
CLOSE = (Choice("close", "Close"),)


def focused(widget: tk.Misc) -> tk.Misc | None:
    """What has the keyboard; None also for the open list of a choice, no widget to tkinter."""
    try:
        return widget.focus_get()
    except KeyError:
        return None


def focused_outside(window: tk.Toplevel, before: tk.Misc | None) -> tk.Misc | None:
    """What has the keyboard outside a window, else what had it ``before``."""
    now = focused(window)
    return before if now is None or now.winfo_toplevel() is window else now


def give_back(window: tk.Toplevel, before: tk.Misc | None) -> None:
    """Destroy a window, the keyboard back in what had it before, or in the window under it."""
    if before is None or not before.winfo_exists():
        before = window.master
    # while it is still here: once the window with the keyboard is gone, no other of the program's
    # has it, and none can take it but by force
    before.focus_set()
    window.destroy()


class Dialog(tk.Toplevel):
    """A window over ``parent``, in its middle; Escape gives ``refused``."""

    def __init__(self, parent: tk.Misc, style: Appearance, title: str) -> None:
        super().__init__(
            parent, background=look.GROUND, highlightthickness=1, highlightbackground=look.QUIET
        )
        self.withdraw()
        self.title(printable(title))
        self.style = style
        self.system = str(self.tk.call("tk", "windowingsystem"))
        self.transient(parent.winfo_toplevel())
        self.protocol("WM_DELETE_WINDOW", self.refuse)
        self.bind("<Escape>", lambda _: self.refuse())
        self.columnconfigure(0, weight=1)
        self.buttons: dict[str, ttk.Button] = {}
        self._before = focused(parent)

    def refuse(self) -> None:
        """Go away without an answer."""
        self.leave()

    def come_back(self) -> None:
        """Come to the front, the keyboard where it was in here; it goes back to where it is now."""
        self._before = focused_outside(self, self._before)
        self.deiconify()
        self.lift()
        last = self.focus_lastfor()
        (self if last is None else last).focus_set()

    def leave(self) -> None:
        """Go away, and give the keyboard back."""
        give_back(self, self._before)

    def rise(self, focus: tk.Misc) -> None:
        """Show the dialog in the middle of its parent, the keyboard in ``focus``."""
        self.update_idletasks()
        over = self.master.winfo_toplevel()
        room = self.winfo_screenwidth() - self.style.pixels(2.0)
        for label in self.winfo_children():
            if isinstance(label, ttk.Label) and label.winfo_reqwidth() > room:
                label.configure(wraplength=room)
        self.update_idletasks()
        # on a small screen the parts that scroll give way
        width = min(self.winfo_reqwidth(), self.winfo_screenwidth())
        height = min(self.winfo_reqheight(), self.winfo_screenheight() - self.style.pixels(_TITLE))
        if (width, height) != (self.winfo_reqwidth(), self.winfo_reqheight()):
            self.geometry(f"{width}x{height}")
        x = over.winfo_rootx() + (over.winfo_width() - width) // 2
        y = over.winfo_rooty() + (over.winfo_height() - height) // 3
        right = max(self.winfo_screenwidth() - width, 0)
        bottom = max(self.winfo_screenheight() - height, 0)
        self.geometry(f"+{min(max(x, 0), right)}+{min(max(y, 0), bottom)}")
        self.deiconify()
        self.lift()
        focus.focus_set()

    def button(
        self, parent: tk.Misc, name: str, text: str, letter: int, command: Callable[[], object]
    ) -> ttk.Button:
        """A button that Alt and its letter press, and Return where it has the keyboard."""

        def press(_: tk.Event[tk.Misc]) -> str:
            made.invoke()
            return "break"

        made = ttk.Button(parent, text=text, underline=letter, command=command, width=-6)
        made.bind("<Return>", press)
        self.bind(f"<Alt-{text[letter].lower()}>", press)
        self.buttons[name] = made
        return made


class Asking(Dialog):
    """A dialog that alone answers until it is gone."""

    def __init__(self, parent: tk.Misc, style: Appearance, title: str) -> None:
        super().__init__(parent, style, title)
        self.bind("<Map>", self._grab)

    def _grab(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self.grab_set()


class QuestionDialog(Asking):
    """A sentence or two and a row of buttons; the last one is what Escape answers."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        title: str,
        text: str,
        choices: Sequence[Choice],
        answered: Callable[[str], None],
        sign: str = "?",
    ) -> None:
        super().__init__(parent, style, title)
        self.text, self._answered, self._choices = text, answered, tuple(choices)
        pad = style.pixels(1.0)
        ttk.Label(self, text=sign, style="Big.TLabel").grid(
            row=0, column=0, sticky="nw", padx=(pad, 0), pady=pad
        )
        self.columnconfigure(0, weight=0)
        self.columnconfigure(1, weight=1)
        words = printable(text)
        ttk.Label(self, text=words, wraplength=style.pixels(28), justify="left").grid(
            row=0, column=1, sticky="w", padx=pad, pady=pad
        )
        row = ttk.Frame(self)
        row.grid(row=1, column=0, columnspan=2, sticky="e", padx=pad, pady=(0, pad))
        for choice in self._choices:
            button = ttk.Button(row, text=choice.text, underline=choice.underline)
            button.configure(command=partial(self.answer, choice.answer))
            button.bind("<Return>", partial(self._returned, choice.answer))
            button.pack(side="left", padx=(style.pixels(0.4), 0))
            letter = choice.text[choice.underline].lower()
            self.bind(f"<Alt-{letter}>", partial(self._returned, choice.answer))
            self.buttons[choice.answer] = button
        self.resizable(False, False)
        self.rise(self.buttons[self._choices[0].answer])

    def _returned(self, answer: str, _: tk.Event[tk.Misc]) -> str:
        self.answer(answer)
        return "break"

    def answer(self, answer: str) -> None:
        """Answer as the button does."""
        self.grab_release()
        self.leave()
        self._answered(answer)

    def refuse(self) -> None:
        """Answer as the last button does."""
        self.answer(self._choices[-1].answer)


class Reader(Dialog):
    """A long text to read, with a picture beside it or none; the window behind it goes on."""

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        title: str,
        pieces: Sequence[tuple[str, str]],
        width: int = 64,
        height: int = 26,
        picture: Callable[[tk.Misc], tk.Widget] | None = None,
    ) -> None:
        super().__init__(parent, style, title)
        self.view = TextView(self, style, width, height)
        if picture is not None:
            self.picture = picture(self)
            self.picture.grid(row=0, column=1, sticky="n", padx=style.pixels(0.5), pady=4)
        self.view.show(pieces)
        self.view.grid(row=0, column=0, sticky="nsew")
        self.rowconfigure(0, weight=1)
        close = ttk.Button(self, text="Close", command=self.leave, underline=0)
        close.grid(
            row=1,
            column=0,
            columnspan=2,
            sticky="e",
            padx=style.pixels(0.6),
            pady=style.pixels(0.5),
        )
        self.bind("<Alt-c>", lambda _: self.leave())
        self.minsize(style.pixels(18), style.pixels(8))
        self.rise(self.view.text)


class Progress(Dialog):
    """Runs ``work`` in a thread, and says so, while the windows stay alive.

    ``done`` gets the result in Tk's thread, or ``failed`` the error. After Cancel neither is called.
    """

    def __init__(
        self,
        parent: tk.Misc,
        style: Appearance,
        title: str,
        text: str,
        work: Callable[[], Any],
        done: Callable[[Any], None],
        failed: Callable[[BaseException], None],
    ) -> None:
        super().__init__(parent, style, title)
        self._done, self._failed = done, failed
        self._results: queue.SimpleQueue[tuple[bool, Any]] = queue.SimpleQueue()
        pad = style.pixels(1.0)
        ttk.Label(self, text=text).grid(row=0, column=0, sticky="w", padx=pad, pady=(pad, 0))
        self.bar = ttk.Progressbar(self, mode="indeterminate", length=style.pixels(18))
        self.bar.grid(row=1, column=0, sticky="ew", padx=pad, pady=pad)
        self.bar.start(40)
        self.cancel = ttk.Button(self, text="Cancel", command=self.refuse)
        self.cancel.grid(row=2, column=0, sticky="e", padx=pad, pady=(0, pad))
        self.resizable(False, False)
        self.rise(self.cancel)
        threading.Thread(target=self._run, args=(work,), daemon=True).start()
        self._look = Timer(self)
        self._look.start(POLL, self._poll)

    def _run(self, work: Callable[[], Any]) -> None:
        """In the worker: nothing of Tk may be touched here, not even by a variable's finalizer."""
        gc.disable()
        try:
            self._results.put((True, work()))
        except BaseException as error:  # whatever it is, the window has to hear of it
            self._results.put((False, error))
        finally:
            gc.enable()

    def _poll(self) -> None:
        try:
            fine, result = self._results.get_nowait()
        except queue.Empty:
            self._look.start(POLL, self._poll)
            return
        self.leave()
        if fine:
            self._done(result)
        else:
            self._failed(result)
