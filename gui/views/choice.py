"""A box that offers a few words to choose one from."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable, Sequence
from tkinter import ttk


def choice_box(
    parent: tk.Misc, options: Sequence[str], chosen: Callable[[], object]
) -> ttk.Combobox:
    """A box as wide as its longest option, with nothing to type in; ``chosen`` hears of each choice."""
    width = max(map(len, options)) + 1  # a "w" is wider than the digit that Tk counts by
    box = ttk.Combobox(parent, values=tuple(options), state="readonly", width=width)

    def selected(_: tk.Event[tk.Misc]) -> None:
        box.selection_clear()  # else the chosen word stays marked
        chosen()

    box.bind("<<ComboboxSelected>>", selected)
    return box
