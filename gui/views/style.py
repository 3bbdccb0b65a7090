"""How the window looks: colours, and sizes in ems that follow the screen and the chosen text size.

Fonts and ttk styles belong to the whole Tk application, so the text size is one for all windows.
"""

from __future__ import annotations

import tkinter as tk
from dataclasses import dataclass
from tkinter import font, ttk
from typing import Any

from layoutkit.output.render import GREY

REST = 250  # milliseconds without a change until what takes a moment is worked out anew

TEXT_SIZES = (8, 9, 10, 11, 12, 14, 16, 18, 21, 24)  # points
USUAL_TEXT = 10
# pixels that the window needs, with its menu, at the usual text and 96 to the inch: half of the width
# for the picture, half for the form, which scrolls; and in the height five lines of the picture and
# three of a tab beside all that does not scroll
ROOM = (588, 336)

PAPER = "#ffffff"
GROUND = "#f3f2ef"  # behind fields and readings
EDGE = "#c6c4bd"
INK = "#1c1c1c"
QUIET = GREY  # units and help
PALE = "#8f8f8c"  # what is out of date
ACCENT = "#17488f"
GOOD = "#0b6b57"
WARN = "#8a4600"
BAD = "#a31515"
GOOD_GROUND = "#e3f1ec"
WARN_GROUND = "#fbefdc"
BAD_GROUND = "#f9e4e2"
POINTED = "#dfe6f1"  # behind what was asked for

# an outcome's colour, its pale ground and a sign that needs no colour
OUTCOMES: dict[str, tuple[str, str, str]] = {
    "pass": (GOOD, GOOD_GROUND, "✓"),
    "close": (WARN, WARN_GROUND, "≈"),
    "incomplete": (WARN, WARN_GROUND, "?"),
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
HUGE = "LayoutkitHuge"


@dataclass(frozen=True, slots=True)
class Ems:
    """A size that follows the text: so many ems in whole pixels, but at least so many pixels."""

    ems: float
    least: int = 0


ROW = 1.35  # ems of a row of a table
_PAD = Ems(1 / 6, 2)
_HALF_PAD = Ems(1 / 12, 1)
_ARROW = Ems(2 / 3, 9)
_BOX: dict[str, Any] = {
    "indicatorsize": _ARROW,
    "padding": (0, _HALF_PAD),
    "indicatorbackground": PAPER,
    "indicatorforeground": ACCENT,
    "upperbordercolor": QUIET,
    "lowerbordercolor": QUIET,
    "indicatormargin": (0, 0, Ems(1 / 3), 0),
}


def _strip(name: str, color: str, ground: str) -> dict[str, dict[str, Any]]:
    """The styles of the strip that says the verdict, in the colours of one outcome."""
    both = {"foreground": color, "background": ground}
    return {
        f"{name}.Strip.TFrame": {"background": ground},
        f"{name}.Huge.TLabel": {**both, "font": HUGE},
        f"{name}.Large.TLabel": {**both, "font": BIG},
        f"{name}.Reason.TLabel": {"foreground": INK, "background": ground, "font": BOLD},
        f"{name}.Why.TLabel": {"foreground": INK, "background": ground, "font": BIG},
        f"{name}.Strip.TLabel": {"foreground": INK, "background": ground},
    }


# the options of each ttk style; "." is what all others start from
_STYLES: dict[str, dict[str, Any]] = {
    ".": {
        "background": GROUND,
        "foreground": INK,
        "fieldbackground": PAPER,
        "bordercolor": EDGE,
        "lightcolor": GROUND,
        "darkcolor": EDGE,
        "troughcolor": "#e4e2dc",
        "focuscolor": ACCENT,
        "selectbackground": ACCENT,
        "selectforeground": PAPER,
        "insertcolor": INK,
        "insertwidth": Ems(1 / 10, 1),
        "font": "TkDefaultFont",
    },
    "TEntry": {"padding": (_PAD, _HALF_PAD), "lightcolor": PAPER, "darkcolor": PAPER},
    "Bad.TEntry": {"bordercolor": BAD, "lightcolor": BAD_GROUND, "fieldbackground": BAD_GROUND},
    "TCombobox": {"padding": (_PAD, _HALF_PAD), "arrowsize": Ems(3 / 4, 8), "lightcolor": PAPER},
    "Bad.TCombobox": {"bordercolor": BAD},
    "TButton": {"padding": (Ems(1 / 2), _PAD), "background": "#e9e7e1", "anchor": "center"},
    "Small.TButton": {"padding": (Ems(1 / 3), _HALF_PAD)},
    "TCheckbutton": _BOX,
    "TRadiobutton": _BOX,
    "TNotebook": {"borderwidth": 0, "tabmargins": (0, _PAD, 0, 0)},
    "TNotebook.Tab": {"padding": (Ems(1 / 3), _PAD), "background": "#e4e2dc"},
    "TScrollbar": {"arrowsize": _ARROW, "width": _ARROW},
    "Treeview": {
        "rowheight": Ems(ROW),
        "indent": Ems(1 / 3),
        "background": PAPER,
        "borderwidth": 0,
    },
    "Treeview.Heading": {"padding": (_PAD, _HALF_PAD), "font": BOLD, "background": GROUND},
    "Horizontal.TProgressbar": {"background": ACCENT, "thickness": Ems(1 / 2)},
    "Quiet.TLabel": {"foreground": QUIET},
    "Bad.TLabel": {"foreground": BAD},
    "Warn.TLabel": {"foreground": WARN},
    "Stale.TLabel": {"foreground": PALE},
    "Bold.TLabel": {"font": BOLD},
    "Big.TLabel": {"font": BIG},
    "Banner.TLabel": {
        "background": WARN_GROUND,
        "foreground": WARN,
        "padding": (Ems(1 / 2), _PAD),
    },
    "Status.TLabel": {"foreground": QUIET, "padding": (Ems(1 / 2), _PAD)},
    **_strip("none", QUIET, "#e4e2dc"),
    **_strip("stale", PALE, "#e4e2dc"),
    **{
        style: options
        for outcome, (color, ground, _) in OUTCOMES.items()
        for style, options in _strip(outcome, color, ground).items()
    },
    **{
        f"{outcome}.TLabel": {
            "foreground": color,
            "background": ground,
            "font": BOLD,
            "padding": (Ems(1 / 2), _PAD),
        }
        for outcome, (color, ground, _) in OUTCOMES.items()
    },
}

# the options that a widget's state changes: pairs of state and value, of which the first that fits holds
_STATES: dict[str, dict[str, list[tuple[str, Any]]]] = {
    "TEntry": {
        "bordercolor": [("focus", ACCENT)],
        "lightcolor": [("focus", ACCENT)],
        "foreground": [("disabled", PALE)],
    },
    "Bad.TEntry": {"bordercolor": [("focus", BAD)], "lightcolor": [("focus", BAD)]},
    "TCombobox": {
        "bordercolor": [("focus", ACCENT)],
        "lightcolor": [("focus", ACCENT)],
        "fieldbackground": [("readonly", PAPER)],
        "selectbackground": [("readonly", PAPER)],
        "selectforeground": [("readonly", INK)],
        "foreground": [("disabled", PALE)],
    },
    "TButton": {
        "background": [("disabled", GROUND), ("pressed", "#d5d2c9"), ("active", "#dedbd3")],
        "foreground": [("disabled", PALE)],
        "bordercolor": [("focus", ACCENT)],
    },
    "TCheckbutton": {"background": [("active", GROUND)]},
    "TRadiobutton": {"background": [("active", GROUND)]},
    "TNotebook.Tab": {
        "background": [("selected", GROUND), ("active", "#ebe9e4")],
        "lightcolor": [("selected", GROUND)],
        "padding": [("selected", (Ems(1 / 3), _PAD))],
        "expand": [("selected", (0, 0, 0, 0))],
    },
    "Treeview": {"background": [("selected", ACCENT)], "foreground": [("selected", PAPER)]},
}

# a row of a tree without the mark that folds it: groups are headings, and always open
_ITEM: Any = [
    (
        "Treeitem.padding",
        {"sticky": "nswe", "children": [("Treeitem.text", {"side": "left", "sticky": ""})]},
    )
]


class Appearance:
    """Fonts and ttk styles of one Tk application, at one text size.

    ``wanted`` is the size in points that was asked for, ``text`` the one in use: no larger than the
    window's parts have room for on this screen.
    """

    def __init__(self, root: tk.Misc, text: int = USUAL_TEXT) -> None:
        self._root = root
        self.wanted = text
        self.text: float = text
        self.bold = font.Font(root, name=BOLD, exists=False, weight="bold")
        self.big = font.Font(root, name=BIG, exists=False, weight="bold")
        self.huge = font.Font(root, name=HUGE, exists=False, weight="bold")
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

    @property
    def most(self) -> float:
        """The largest text, in points, with which the window fits this screen."""
        root = self._root
        shares = zip((root.winfo_screenwidth(), root.winfo_screenheight()), ROOM, strict=True)
        dense = float(root.tk.call("tk", "scaling")) * 72.0 / 96.0
        return int(2.0 * USUAL_TEXT * min(has / needs for has, needs in shares) / dense) / 2.0

    def larger(self) -> bool:
        """The next larger text size; whether there is one that fits the screen."""
        following = min((s for s in TEXT_SIZES if s > self.text), default=None)
        if following is None or self.text >= self.most:
            return False
        self.apply(following)
        return True

    def smaller(self) -> bool:
        """The next smaller text size; whether there is one."""
        following = max((s for s in TEXT_SIZES if s < self.text), default=None)
        if following is not None:
            self.apply(following)
        return following is not None

    def apply(self, wanted: int) -> None:
        """Set the text size in points, as far as it fits, and everything that follows from it."""
        self.wanted = wanted
        self.text = text = min(wanted, max(self.most, 4.0))
        # tk's own points are whole; negative sizes are pixels
        pixels = -max(round(text * float(self._root.tk.call("tk", "scaling"))), 1)
        for name in _FONTS:
            font.nametofont(name, self._root).configure(size=pixels)
        fixed = font.nametofont("TkFixedFont", self._root)
        fixed.configure(size=round(pixels * 0.92))
        usual = font.nametofont("TkDefaultFont", self._root).actual()["family"]
        self.bold.configure(family=usual, size=pixels, weight="bold")
        self.big.configure(family=usual, size=round(pixels * 1.25), weight="bold")
        self.huge.configure(family=usual, size=round(pixels * 1.7), weight="bold")
        styles = ttk.Style(self._root)
        for name, options in _STYLES.items():
            styles.configure(name, **{key: self._sized(value) for key, value in options.items()})
        for name, states in _STATES.items():
            styles.map(name, **{key: self._sized(value) for key, value in states.items()})
        styles.layout("Item", _ITEM)
        self._root.option_add("*TCombobox*Listbox.font", "TkDefaultFont")

    def _sized(self, value: Any) -> Any:
        """An option's value with its sizes in pixels."""
        if isinstance(value, Ems):
            return max(int(value.ems * self.em), value.least)
        if isinstance(value, tuple | list):
            return tuple(self._sized(each) for each in value)
        return value
