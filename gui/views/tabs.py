"""The names of a notebook's tabs: whole where there is room, else cut, but never the one in front."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from tkinter import font, ttk
from typing import TYPE_CHECKING, Any, NamedTuple

if TYPE_CHECKING:
    from gui.views.style import Appearance

_LETTERS = (99, 7, 6, 5, 4, 3, 2)  # of a name that is cut, the most first
_AROUND = 0.8  # ems beside a name, with the tab's edges


class Tab(NamedTuple):
    """What a tab is called, and a mark behind the name; where room is least, ``sign`` takes its place."""

    name: str
    mark: str = ""
    sign: str = ""


def shortened(
    tabs: Sequence[Tab], front: int, room: float, measure: Callable[[str], float]
) -> tuple[str, ...]:
    """The tabs' texts; all but that in ``front`` are cut as much as it takes to fit the room.

    ``measure`` gives the pixels of a text with what stands around it.
    """
    texts: tuple[str, ...] = ()
    for letters in _LETTERS:
        least = letters == _LETTERS[-1]
        texts = tuple(
            f"{tab.name}{tab.mark}"
            if i == front
            else f"{_cut(tab.name, letters)}{tab.sign if least else tab.mark}"
            for i, tab in enumerate(tabs)
        )
        if sum(map(measure, texts)) <= room:
            break
    return texts


def _cut(name: str, letters: int) -> str:
    """A name cut to so many letters with a point; not cut where that spares but two letters.

    The shortest names have no point, and all of them are as short.
    """
    if letters == _LETTERS[-1]:
        return name[:letters]
    return name if len(name) <= letters + 2 else f"{name[:letters].rstrip()}."


def name_tabs(notebook: ttk.Notebook, style: Appearance, names: Mapping[Any, Tab]) -> None:
    """Give the tabs that the notebook has now their names; ``names`` are by what a tab shows."""
    book: Any = notebook  # its methods are not typed
    there = [widget for widget in names if str(widget) in book.tabs()]
    there.sort(key=lambda widget: book.index(widget))
    if not there:
        return
    plain, around = font.nametofont("TkDefaultFont", notebook), style.pixels(_AROUND)
    width = notebook.winfo_width()
    room = float(width) if width > 1 else float("inf")
    selected = book.select()
    front = next((i for i, widget in enumerate(there) if str(widget) == selected), 0)
    texts = shortened(
        [names[widget] for widget in there], front, room, lambda t: plain.measure(t) + around
    )
    for widget, text in zip(there, texts, strict=True):
        if book.tab(widget, "text") != text:
            book.tab(widget, text=text)
