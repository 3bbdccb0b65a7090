"""Words for the person who started a program, also where it has no console."""

from __future__ import annotations

from contextlib import suppress
from typing import TextIO


def tell(text: str, stream: TextIO | None, title: str) -> None:
    """Print a text to a stream; where there is none, as of a program started by its icon, show it.

    ``title`` is that of the box that shows it. Without a display the text is lost.
    """
    with suppress(OSError, ValueError):  # a console that is gone
        if stream is not None:
            encoding = getattr(stream, "encoding", None) or "utf-8"
            stream.write(text.encode(encoding, "backslashreplace").decode(encoding))
            stream.flush()
            return
    with suppress(Exception):  # whatever a system without a display raises
        from tkinter import Tk, messagebox

        root = Tk()
        root.withdraw()
        messagebox.showinfo(title, text.strip(), parent=root)
        root.destroy()
