"""The notice over a picture, which says why the picture is not of the present record."""

from __future__ import annotations

from tkinter import ttk

from gui.state.presenter import Presenter
from layoutkit.planning.unknown import FIELDS, without


class Notice(ttk.Label):
    """A label in the middle of a picture, shown only while there is something to say."""

    def tell(self, presenter: Presenter, what: str, working: bool) -> str:
        """Show, or hide, what is to be said of the picture of ``what``; returns it, "" for nothing.

        ``working`` says that the picture is not yet of the present plan.
        """
        if presenter.plan is None:
            words = f"The {what} appears when the record is complete."
        elif presenter.stale:
            words = "Out of date: a field is invalid."
        elif not_known := without(presenter.plan.job, *FIELDS):
            words = f"The {what} is {not_known}."
        else:
            words = "Working it out ..." if working else ""
        if words:
            self.configure(text=words)
            self.place(relx=0.5, rely=0.5, anchor="center")
        else:
            self.place_forget()
        return words
