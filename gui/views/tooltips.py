"""Tooltips: the help text of a widget under the pointer, and in the status line on focus.

Only this module uses tkinter-tooltip, to mend four habits of it: its tooltips show at once, pile up
timers when the pointer comes back, outlive their widget, and each make a window at the start.
"""

from __future__ import annotations

import contextlib
import tkinter as tk
from collections.abc import Callable
from typing import ClassVar

from tktooltip import ToolTip, ToolTipStatus

from gui.views import style

DELAY = 0.6  # seconds for which the pointer rests before help shows
_WIDTH = 32  # ems
_LOW = 60  # pixels; a widget lower than this is not covered by its own help

Words = Callable[[], str]


class Help:
    """The help texts of one window's widgets: ``say`` writes to its status line, empty words clear it."""

    def __init__(self, say: Callable[[str], None], pixels: Callable[[float], int]) -> None:
        self.say = say
        self._pixels = pixels
        self._words: dict[str, Words] = {}

    def of(self, widget: tk.Misc | None) -> str:
        """A widget's help, empty where it has none."""
        words = self._words.get(str(widget))
        return words() if words is not None else ""

    def attach(self, widget: tk.Widget, words: str | Words, parts: bool = False) -> None:
        """Give a widget a tooltip: these words, or what the function returns when the tooltip opens.

        ``parts``: the words change from place to place on the widget.
        """
        text: Words = words if callable(words) else lambda: words
        tip = _Tip(widget, text, self._pixels)
        widget.bind("<Enter>", tip.enter, add="+")
        widget.bind("<Destroy>", tip.gone, add="+")
        if parts:
            widget.bind("<Motion>", tip.moved, add="+")
        if widget.winfo_class() == "TLabel":
            # it takes no keyboard; a binding to it would make it a stop of the tabulator
            self._words[str(widget)] = text
        else:
            self.on_focus(widget, text)

    def under(self, widget: tk.Widget, words: Words) -> None:
        """Give a widget a tooltip whose words change from place to place, and nothing else."""
        tip = _Tip(widget, words, self._pixels)
        widget.bind("<Motion>", tip.moved, add="+")
        widget.bind("<Destroy>", tip.gone, add="+")

    def on_focus(self, widget: tk.Misc, words: str | Words) -> None:
        """Show these words in the status line only, while the widget has the keyboard."""
        text: Words = words if callable(words) else lambda: words
        self._words[str(widget)] = text
        widget.bind("<FocusIn>", lambda _: self.say(short(text())), add="+")
        widget.bind("<FocusOut>", lambda _: self.say(""), add="+")


# what ends the wait for a tooltip as well, and what only takes a shown one away
_ENDS = ("<KeyPress>", "<ButtonPress>", "<MouseWheel>")
_HIDES = ("<FocusIn>", "<FocusOut>", "<<NotebookTabChanged>>")


def _watch(widget: tk.Widget) -> None:
    """Let tooltips go when someone does something, wherever that is in the application."""
    if widget.bind_all(_ENDS[0]):
        return
    for event in _ENDS:
        widget.bind_all(event, lambda _: _dismiss(False), add="+")
    for event in _HIDES:
        widget.bind_all(event, lambda _: _dismiss(True), add="+")


def _dismiss(only_shown: bool) -> None:
    for tip in tuple(_Quiet.present):
        if not only_shown or tip.status == ToolTipStatus.VISIBLE:
            tip.on_leave()


def short(text: str) -> str:
    """The first two lines of a help, name and meaning, and where to read the rest."""
    name, _, rest = text.partition("\n")
    what, more, _ = rest.partition("\n")
    line = f"{name}: {what}" if what else name
    return f"{line} (F1: more)" if more else line


class _Tip:
    """A tooltip whose window is made when the pointer first comes."""

    def __init__(self, widget: tk.Widget, words: Words, pixels: Callable[[float], int]) -> None:
        self._widget, self._words, self._pixels = widget, words, pixels
        self._tip: _Quiet | None = None
        self._last_words = ""

    def moved(self, event: tk.Event[tk.Misc]) -> None:
        """The pointer moved: what it points at now may be something else."""
        words = self._words()
        if words == self._last_words:
            return
        self._last_words = words
        if self._tip is not None:
            self._tip.on_leave()
            if words:
                self._tip.on_enter(event)
        else:
            self.enter(event)

    def enter(self, event: tk.Event[tk.Misc]) -> None:
        if self._tip is not None or not self._words():
            return
        self._tip = _Quiet(
            self._widget,
            msg=self._words,
            delay=DELAY,
            follow=False,
            parent_kwargs={"master": self._widget, "bg": style.QUIET, "padx": 1, "pady": 1},
            bg="#fffdf4",
            fg=style.INK,
            font="TkTooltipFont",
            justify="left",
            width=self._pixels(_WIDTH),
            padx=self._pixels(0.4),
            pady=self._pixels(0.25),
        )
        _watch(self._widget)
        # it was not yet there when the pointer came
        self._tip.on_enter(event)

    def gone(self, event: tk.Event[tk.Misc]) -> None:
        """The widget is destroyed: so is its tooltip."""
        if event.widget is self._widget and self._tip is not None:
            with contextlib.suppress(tk.TclError):
                self._tip.close()
            self._tip = None


class _Quiet(ToolTip):  # type: ignore[misc]  # the package has no types
    """A tooltip with one timer, which stays on the screen."""

    present: ClassVar[set[_Quiet]] = set()  # those that wait or are shown

    _timer = ""

    def on_enter(self, event: tk.Event[tk.Misc]) -> None:
        self._cancel()
        _Quiet.present.add(self)
        self.status = ToolTipStatus.INSIDE
        self._place = event.x_root, event.y_root
        self._timer = self.after(int(self.delay * self.S_TO_MS), self._show)

    def on_leave(self, event: tk.Event[tk.Misc] | None = None) -> None:
        self._cancel()
        _Quiet.present.discard(self)
        super().on_leave(event)

    def _show(self) -> None:
        self._timer = ""
        # by name: the list of a choice is no widget to tkinter
        focused = str(self.tk.call("focus", "-displayof", str(self.widget)))
        top = str(self.widget.winfo_toplevel())
        if focused and str(self.tk.call("winfo", "toplevel", focused)) != top:
            return  # a dialog came meanwhile, which help would cover
        self.status = ToolTipStatus.VISIBLE
        self._update_message()
        self.update_idletasks()
        x, y = self._place
        room = self.winfo_screenwidth() - self.winfo_reqwidth()
        below, above = y + self.y_offset + 8, y - 8
        top, high = self.widget.winfo_rooty(), self.widget.winfo_height()
        if high < _LOW:
            # a field that is explained stays to be seen
            below, above = max(below, top + high + 2), min(above, top - 2)
        if below + self.winfo_reqheight() > self.winfo_screenheight():
            below = above - self.winfo_reqheight()
        self.geometry(f"+{max(min(x + self.x_offset, room), 0)}+{max(below, 0)}")
        self.deiconify()
        self.lift()

    def close(self) -> None:
        """Go away without touching the widget's own bindings, which unbinding would take along."""
        self._cancel()
        _Quiet.present.discard(self)
        tk.Toplevel.destroy(self)

    def destroy(self) -> None:
        self.close()

    def _cancel(self) -> None:
        if self._timer:
            self.after_cancel(self._timer)
            self._timer = ""
