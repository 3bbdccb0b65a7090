"""A box that offers a few words to choose one from."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable, Sequence
from tkinter import ttk


def choice_box(
    parent: tk.Misc, options: Sequence[str], chosen: Callable[[], object]
) -> ttk.Combobox:
    """A box as wide as its longest option, with nothing to type in; ``chosen`` hears of each choice.

    A letter chooses the next option that begins with it.
    """
    width = max(map(len, options)) + 1  # a "w" is wider than the digit that Tk counts by
    box = ttk.Combobox(parent, values=tuple(options), state="readonly", width=width)

    def selected(_: tk.Event[tk.Misc]) -> None:
        box.selection_clear()  # else the chosen word stays marked
        chosen()

    def typed(event: tk.Event[tk.Misc]) -> str | None:
        words = [str(each) for each in box.cget("values")]
        letter = event.char.lower()
        if not letter.isalpha():
            return None
        here = words.index(box.get()) if box.get() in words else -1
        for index in (*range(here + 1, len(words)), *range(max(here, 0))):
            if words[index].lower().startswith(letter):
                box.current(index)
                box.event_generate("<<ComboboxSelected>>")
                break
        return "break"

    box.bind("<<ComboboxSelected>>", selected)
    box.bind("<Key>", typed)
    for modifier in ("Alt", "Control"):  # a letter with one of these is a command's
        box.bind(f"<{modifier}-Key>", lambda _: None)
    return box
