"""How the window looks: colours, and sizes in ems that follow the screen and the chosen text size.

Fonts and ttk styles belong to the whole Tk application, so the text size is one for all windows.
"""

from __future__ import annotations

import tkinter as tk
from tkinter import font, ttk
from typing import Any

TEXT_SIZES = (8, 9, 10, 11, 12, 14, 16, 18, 21, 24)  # points
USUAL_TEXT = 10

PAPER = "#ffffff"
GROUND = "#f3f2ef"  # behind fields and readings
EDGE = "#c6c4bd"
INK = "#1c1c1c"
QUIET = "#595959"  # units and help; still 6:1 against the ground
PALE = "#8f8f8c"  # what is out of date
ACCENT = "#17488f"
GOOD = "#0b6b57"
WARN = "#8a4600"
BAD = "#a31515"
GOOD_GROUND = "#e3f1ec"
WARN_GROUND = "#fbefdc"
BAD_GROUND = "#f9e4e2"

# an outcome's colour, its pale ground and a sign that needs no colour
OUTCOMES: dict[str, tuple[str, str, str]] = {
    "pass": (GOOD, GOOD_GROUND, "✓"),
    "close": (WARN, WARN_GROUND, "≈"),
    "fail": (BAD, BAD_GROUND, "✗"),
}

_FONTS = (
    "TkDefaultFont",
    "TkTextFont",
    "TkMenuFont",
    "TkHeadingFont",
    "TkIconFont",
    "TkTooltipFont",
    "TkFixedFont",
    "TkCaptionFont",
    "TkSmallCaptionFont",
)
BOLD = "LayoutkitBold"
BIG = "LayoutkitBig"


class Style:
    """Fonts and ttk styles of one Tk application, at one text size in points."""

    def __init__(self, root: tk.Misc, text: int = USUAL_TEXT) -> None:
        self._root = root
        self.text = text
        self.bold = font.Font(root, name=BOLD, exists=False, weight="bold")
        self.big = font.Font(root, name=BIG, exists=False, weight="bold")
        # where Tk follows an older habit, by which Ctrl+A goes to the start of the line
        for letter in ("a", "A"):
            root.event_delete("<<LineStart>>", f"<Control-{letter}>", f"<Control-Lock-{letter}>")
            root.event_add("<<SelectAll>>", f"<Control-{letter}>")
        ttk.Style(root).theme_use("clam")
        self.apply(text)

    @property
    def em(self) -> int:
        """Pixels from line to line of the usual text."""
        return font.nametofont("TkDefaultFont", self._root).metrics("linespace")

    def pixels(self, ems: float) -> int:
        """A size in ems as pixels, at least one."""
        return max(round(ems * self.em), 1)

    def larger(self) -> None:
        """The next larger text size."""
        self.apply(min((s for s in TEXT_SIZES if s > self.text), default=TEXT_SIZES[-1]))

    def smaller(self) -> None:
        """The next smaller text size."""
        self.apply(max((s for s in TEXT_SIZES if s < self.text), default=TEXT_SIZES[0]))

    def apply(self, text: int) -> None:
        """Set the text size in points, and everything that follows from it."""
        self.text = text
        # tk's own points are whole; negative sizes are pixels
        pixels = -max(round(text * float(self._root.tk.call("tk", "scaling"))), 1)
        for name in _FONTS:
            font.nametofont(name, self._root).configure(size=pixels)
        fixed = font.nametofont("TkFixedFont", self._root)
        fixed.configure(size=round(pixels * 0.92))
        usual = font.nametofont("TkDefaultFont", self._root).actual()["family"]
        self.bold.configure(family=usual, size=pixels, weight="bold")
        self.big.configure(family=usual, size=round(pixels * 1.25), weight="bold")
        self._styles()

    def _styles(self) -> None:
        s = ttk.Style(self._root)
        em = self.em
        pad = max(em // 6, 2)
        s.configure(
            ".",
            background=GROUND,
            foreground=INK,
            fieldbackground=PAPER,
            bordercolor=EDGE,
            lightcolor=GROUND,
            darkcolor=EDGE,
            troughcolor="#e4e2dc",
            focuscolor=ACCENT,
            selectbackground=ACCENT,
            selectforeground=PAPER,
            insertcolor=INK,
            insertwidth=max(em // 10, 1),
            font="TkDefaultFont",
        )
        s.configure("TEntry", padding=(pad, pad // 2), lightcolor=PAPER, darkcolor=PAPER)
        s.map(
            "TEntry",
            bordercolor=[("focus", ACCENT)],
            lightcolor=[("focus", ACCENT)],
            foreground=[("disabled", PALE)],
        )
        s.configure(
            "Bad.TEntry", bordercolor=BAD, lightcolor=BAD_GROUND, fieldbackground=BAD_GROUND
        )
        s.map("Bad.TEntry", bordercolor=[("focus", BAD)], lightcolor=[("focus", BAD)])
        s.configure(
            "TCombobox", padding=(pad, pad // 2), arrowsize=max(em * 3 // 4, 8), lightcolor=PAPER
        )
        s.map(
            "TCombobox",
            bordercolor=[("focus", ACCENT)],
            lightcolor=[("focus", ACCENT)],
            fieldbackground=[("readonly", PAPER)],
            selectbackground=[("readonly", PAPER)],
            selectforeground=[("readonly", INK)],
            foreground=[("disabled", PALE)],
        )
        s.configure("Bad.TCombobox", bordercolor=BAD)
        s.configure("TButton", padding=(em // 2, pad), background="#e9e7e1", anchor="center")
        s.map(
            "TButton",
            background=[("disabled", GROUND), ("pressed", "#d5d2c9"), ("active", "#dedbd3")],
            foreground=[("disabled", PALE)],
            bordercolor=[("focus", ACCENT)],
        )
        s.configure("Small.TButton", padding=(em // 3, pad // 2))
        s.configure("TCheckbutton", indicatorsize=max(em * 2 // 3, 9), padding=(0, pad // 2))
        s.configure("TRadiobutton", indicatorsize=max(em * 2 // 3, 9), padding=(0, pad // 2))
        for name in ("TCheckbutton", "TRadiobutton"):
            s.configure(
                name,
                indicatorbackground=PAPER,
                indicatorforeground=ACCENT,
                upperbordercolor=QUIET,
                lowerbordercolor=QUIET,
                indicatormargin=(0, 0, em // 3, 0),
            )
            s.map(name, background=[("active", GROUND)])
        s.configure("TNotebook", borderwidth=0, tabmargins=(0, pad, 0, 0))
        s.configure("TNotebook.Tab", padding=(em * 2 // 5, pad), background="#e4e2dc")
        s.map(
            "TNotebook.Tab",
            background=[("selected", GROUND), ("active", "#ebe9e4")],
            lightcolor=[("selected", GROUND)],
            padding=[("selected", (em * 2 // 5, pad))],
            expand=[("selected", (0, 0, 0, 0))],
        )
        s.configure("TScrollbar", arrowsize=max(em * 2 // 3, 9), width=max(em * 2 // 3, 9))
        s.configure(
            "Treeview",
            rowheight=round(em * 1.35),
            indent=em // 3,
            background=PAPER,
            borderwidth=0,
        )
        # groups are headings: they do not fold
        inner: Any = [("Treeitem.text", {"side": "left", "sticky": ""})]
        s.layout("Item", [("Treeitem.padding", {"sticky": "nswe", "children": inner})])
        s.configure("Treeview.Heading", padding=(pad, pad // 2), font=BOLD, background=GROUND)
        s.map(
            "Treeview",
            background=[("selected", ACCENT)],
            foreground=[("selected", PAPER)],
        )
        s.configure("Horizontal.TProgressbar", background=ACCENT, thickness=em // 2)
        for name, color in (("Quiet", QUIET), ("Bad", BAD), ("Warn", WARN), ("Stale", PALE)):
            s.configure(f"{name}.TLabel", foreground=color)
        s.configure("Bold.TLabel", font=BOLD)
        s.configure("Big.TLabel", font=BIG)
        s.configure(
            "Banner.TLabel", background=WARN_GROUND, foreground=WARN, padding=(em // 2, pad)
        )
        s.configure("Status.TLabel", foreground=QUIET, padding=(em // 2, pad))
        for outcome, (color, ground, _) in OUTCOMES.items():
            s.configure(
                f"{outcome}.TLabel",
                foreground=color,
                background=ground,
                font=BOLD,
                padding=(em // 2, pad),
            )
        self._root.option_add("*TCombobox*Listbox.font", "TkDefaultFont")
