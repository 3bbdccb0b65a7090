"""A call that a widget makes later: at most one waits, and none outlives the widget."""

from __future__ import annotations

import tkinter as tk
from collections.abc import Callable


class Timer:
    """One call that may be waiting for its time, or for Tk to be idle."""

    def __init__(self, widget: tk.Misc) -> None:
        """No call waits; what waits when ``widget`` is destroyed is given up."""
        self._widget = widget
        # The call is registered with the root: a widget that the call itself destroys forgets what it
        # registered, and Tk's wrapper would then take away a later call that has got the same name.
        self._root = widget.nametowidget(".")
        self._id = ""
        widget.bind("<Destroy>", self._gone, add="+")

    @property
    def waiting(self) -> bool:
        """Whether a call is still to come."""
        return bool(self._id)

    def start(self, milliseconds: int, action: Callable[[], object]) -> None:
        """Make this call after a while, in place of one that waits."""
        self.stop()
        self._id = self._root.after(milliseconds, self._due, action)

    def when_idle(self, action: Callable[[], object]) -> None:
        """Make this call when Tk is idle; one that waits already is enough."""
        if not self._id:
            self._id = self._root.after_idle(self._due, action)

    def stop(self) -> None:
        """Give up the call that waits, if there is one."""
        if self._id:
            self._root.after_cancel(self._id)
            self._id = ""

    def _due(self, action: Callable[[], object]) -> None:
        self._id = ""
        action()

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self._widget:
            self.stop()
