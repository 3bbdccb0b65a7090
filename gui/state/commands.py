"""Every command of the window as data: menus, keys, help and tests go through the same table.

A command either calls a method of the presenter, or is carried out by the window under its `id`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from gui.state import settings
from gui.state.fields import YES
from gui.state.moves import Size
from gui.state.presenter import Presenter
from gui.state.shade import FIGURES

Menu = Literal["File", "Edit", "View", "Ball", "Steps", "Compare", "Help"]
Where = Literal["window", "ball"]

# titles with "&" before the letter that opens the menu with Alt
MENUS: dict[Menu, str] = {
    "File": "&File",
    "Edit": "&Edit",
    "View": "&View",
    "Ball": "&Ball",
    "Steps": "&Steps",
    "Compare": "&Compare",
    "Help": "&Help",
}


def _always(_: Presenter) -> bool:
    return True


def _sound(p: Presenter) -> bool:
    return p.plan is not None and not p.stale


def _planned(p: Presenter) -> bool:
    return p.plan is not None


def _movable(p: Presenter) -> bool:
    return _sound(p) and p.selected in ("pin", "pap")


def _pap(p: Presenter) -> bool:
    return p.plan is not None and p.plan.marks.pap is not None


def _cg(p: Presenter) -> bool:
    return p.plan is not None and p.plan.marks.cg is not None


def _psa(p: Presenter) -> bool:
    return p.plan is not None and p.plan.marks.psa is not None


def _lane(p: Presenter) -> bool:
    return p.entry("lane") == YES


@dataclass(frozen=True, slots=True)
class MenuCommand:
    """One command.

    ``label`` has "&" before its mnemonic. ``keys`` are as Tk writes them, the first is shown in the
    menu; with ``where`` "ball" they work while the ball has the keyboard. ``method`` is the
    presenter's, called with ``args``; without one the window carries the command out. ``submenu`` is
    filled by the window. ``chosen`` tells which of several commands is in force now. ``acts_on`` names
    what the command would act on now, for the menu to add. ``group`` parts a menu by lines.
    """

    id: str
    menu: Menu
    label: str
    keys: tuple[str, ...] = ()
    method: str = ""
    args: tuple[object, ...] = ()
    enabled: Callable[[Presenter], bool] = _always
    chosen: Callable[[Presenter], bool] | None = None
    where: Where = "window"
    group: int = 0
    submenu: bool = False
    acts_on: Callable[[Presenter], str] | None = None

    @property
    def text(self) -> str:
        """The label without the mark of its mnemonic."""
        return self.label.replace("&", "")

    def menu_text(self, presenter: Presenter) -> str:
        """The text in the menu now, `Undo: move the pin`."""
        name = "" if self.acts_on is None else self.acts_on(presenter)
        return f"{self.text}: {name}" if name else self.text

    @property
    def underline(self) -> int:
        """The position of the mnemonic in `text`, -1 for none."""
        return self.label.find("&")

    def accelerator(self, system: str = "x11") -> str:
        """The first key for people, `Ctrl+S`; empty without one. ``system`` is Tk's windowing system."""
        return key_text(on_system(self.keys[0], system)) if self.keys else ""

    def sequences(self, system: str = "x11") -> tuple[str, ...]:
        """What to bind: each key, a letter in both cases so that Caps Lock does not matter."""
        sequences: list[str] = []
        for key in self.keys:
            head, dash, last = on_system(key, system)[1:-1].rpartition("-")
            ends = (last.lower(), last.upper()) if len(last) == 1 and last.isalpha() else (last,)
            sequences += [f"<{head}{dash}{'Key-' if not head else ''}{end}>" for end in ends]
        return tuple(sequences)

    def run(self, presenter: Presenter) -> None:
        """Call the presenter's method; only for a command that has one."""
        getattr(presenter, self.method)(*self.args)


_KEY_NAMES = {
    "Control": "Ctrl",
    "plus": "plus",
    "equal": "=",
    "minus": "minus",
    "Escape": "Esc",
    "Prior": "Page Up",
    "Next": "Page Down",
}


def on_system(key: str, system: str) -> str:
    """A key of the tables as that system has it: on macOS, Tk's "aqua", Command stands for Control."""
    if system != "aqua":
        return key
    return key.replace("Control-", "Command-").replace("Alt-", "Option-")


def words_on_system(words: str, system: str) -> str:
    """A sentence that names keys, with the names that they have on that system."""
    return words.replace("Ctrl+", "Command+") if system == "aqua" else words


def key_text(key: str) -> str:
    """A Tk key for people: `<Control-Shift-S>` is `Ctrl+Shift+S`."""
    parts = key[1:-1].split("-")
    return "+".join(_KEY_NAMES.get(p, p.upper() if len(p) == 1 else p) for p in parts if p != "Key")


def _unit(name: Literal["fraction", "decimal", "metric"], label: str, key: str) -> MenuCommand:
    return MenuCommand(
        f"units_{name}", "View", label, (key,), "set_units", (name,),
        chosen=lambda p: p.units == name,
    )  # fmt: skip


_SIZES: dict[Size, tuple[str, str, int]] = {
    # the words of a step, the key held with an arrow, and the menu's group
    "usual": ("1/16 in", "", 2),
    "coarse": ("1/4 in", "Shift-", 3),
    "fine": ("1/32 in, unsnapped", "Control-", 4),
}


def _nudge(direction: str, size: Size) -> MenuCommand:
    words, held, group = _SIZES[size]
    return MenuCommand(
        f"nudge_{direction}{'' if size == 'usual' else f'_{size}'}", "Ball",
        f"Selected mark {direction} {words}", (f"<{held}{direction.capitalize()}>",), "nudge",
        (direction, size), _movable, where="ball", group=group,
    )  # fmt: skip


COMMANDS: tuple[MenuCommand, ...] = (
    MenuCommand("new", "File", "&New", ("<Control-n>",)),
    MenuCommand("new_from", "File", "New from this one", ("<Alt-n>",), enabled=_sound),
    MenuCommand("new_window", "File", "New &window", ("<Control-Shift-N>",)),
    MenuCommand("open", "File", "&Open ...", ("<Control-o>",)),
    MenuCommand("recent", "File", "Open &recent", submenu=True),
    MenuCommand("samples", "File", "Open a sa&mple", submenu=True),
    MenuCommand("book", "File", "Open from the &book ...", ("<Control-b>",)),
    MenuCommand("redrill", "File", "Re&drill ...", enabled=_sound),
    MenuCommand("desk", "File", "C&heck-in desk ...", ("<Control-Shift-K>",)),
    MenuCommand("save", "File", "&Save", ("<Control-s>",), group=1),
    MenuCommand("save_as", "File", "Save &as ...", ("<Control-Shift-S>",), group=1),
    MenuCommand(
        "save_in_book", "File", "Save into the boo&k ...", ("<Control-Shift-B>",), group=1
    ),
    MenuCommand(
        "sheet", "File", "Work sheet as &PDF ...", ("<Control-p>",), enabled=_sound, group=2
    ),
    MenuCommand("open_sheet", "File", "Look at the work sheet", enabled=_sound, group=2),
    MenuCommand("print_sheet", "File", "Print the work sheet", enabled=_sound, group=2),
    *(
        MenuCommand(
            f"paper_{paper}", "File", label, group=2,
            chosen=lambda p, paper=paper: settings.load(p.config).paper == paper,  # type: ignore[misc]
        )
        for paper, label in (("letter", "Print on le&tter paper"), ("a4", "Print on A&4 paper"))
    ),
    MenuCommand("strips", "File", "Paper str&ips as PDF ...", enabled=_sound, group=2),
    MenuCommand("card", "File", "C&ustomer's card as PDF ...", enabled=_sound, group=2),
    MenuCommand("maps", "File", "Layout maps as PD&F ...", enabled=_sound, group=2),
    MenuCommand(
        "copy_plan", "File", "&Copy the plan as text", ("<Control-Shift-C>",), enabled=_sound,
        group=2,
    ),
    MenuCommand("close", "File", "C&lose", ("<Control-w>",), group=3),
    MenuCommand("quit", "File", "&Quit", ("<Control-q>",), group=3),
    MenuCommand(
        "undo", "Edit", "&Undo", ("<Control-z>",), "undo",
        enabled=lambda p: p.document.can_undo, acts_on=lambda p: p.document.undo_name,
    ),
    MenuCommand(
        "redo", "Edit", "&Redo", ("<Control-y>", "<Control-Shift-Z>"), "redo",
        enabled=lambda p: p.document.can_redo, acts_on=lambda p: p.document.redo_name,
    ),
    MenuCommand(
        "next_problem", "Edit", "Next &field to complete", ("<F8>",),
        enabled=lambda p: bool(p.problems), group=1,
    ),
    MenuCommand(
        "reason", "Edit", "To what does not &pass", ("<Shift-F8>",), enabled=_planned, group=1
    ),
    MenuCommand(
        "confirm", "Edit", "&Confirm what is asked", ("<F2>",),
        enabled=lambda p: bool(p.questions), group=1,
    ),
    MenuCommand("copy_grip", "Edit", "Copy a &grip from a ball ...", ("<Control-g>",), group=1),
    MenuCommand("fit_help", "Edit", "Help with the f&it ...", group=1),
    MenuCommand("same", "Edit", "Same as the &middle finger", ("<Control-m>",), group=1),
    MenuCommand("axis", "Edit", "PAP from the &track ...", ("<F7>",), group=1),
    MenuCommand("scale", "Edit", "Shop's &scale ...", group=3),
    MenuCommand("bits", "Edit", "Shop's &bits ...", group=3),
    MenuCommand("fit", "Edit", "Fit to &weighed jobs ...", group=3),
    MenuCommand(
        "fitted", "Edit", "Ta&ke the shop's fit", (), "toggle_fitted",
        enabled=lambda p: p.can_take_fitted, chosen=lambda p: p.shop.taking, group=3,
    ),
    MenuCommand("list_bowler.grip.thumb.inners", "Edit", "Sleeves to e&xchange ...", group=2),
    MenuCommand("list_extra_holes.vents", "Edit", "&Vents ...", group=2),
    MenuCommand("list_history.holes", "Edit", "Old &holes ...", group=2),
    MenuCommand("list_lane.table", "Edit", "&Lane's friction ...", enabled=_lane, group=2),
    _unit("fraction", "&Fractions", "<Control-Key-1>"),
    _unit("decimal", "&Decimals", "<Control-Key-2>"),
    _unit("metric", "&Metric", "<Control-Key-3>"),
    MenuCommand(
        "text_larger", "View", "&Larger text", ("<Control-plus>", "<Control-equal>"), group=1
    ),
    MenuCommand("text_smaller", "View", "&Smaller text", ("<Control-minus>",), group=1),
    MenuCommand("text_usual", "View", "&Usual text", ("<Control-Key-0>",), group=1),
    *(
        MenuCommand(f"group_{name}", "View", label, (f"<Alt-Key-{number}>",), group=2)
        for number, (name, label) in enumerate(
            (
                ("bowler", "&Bowler's fields"),
                ("grip", "&Grip's fields"),
                ("ball", "B&all's fields"),
                ("layout", "La&yout's fields"),
                ("scale", "Scal&e and rules"),
                ("work", "&Work and notes"),
            ),
            1,
        )
    ),
    MenuCommand("customer", "View", "Custome&r's card", ("<Control-k>",), group=3),
    MenuCommand("map", "View", "Ma&p of other layouts", ("<F5>",), group=3),
    MenuCommand("lane", "View", "La&ne and track", ("<F3>",), group=3),
    MenuCommand("enlarge", "View", "The tab below over the picture", ("<Shift-F3>",), group=3),
    MenuCommand("sure", "View", "&How sure the plan is", enabled=_sound, group=3),
    MenuCommand(
        "change", "View", "What to &change", ("<Control-F8>",), enabled=_sound, group=3
    ),
    MenuCommand(
        "shading", "Ball", "Where the pin &may go", ("<Shift-F5>",), "toggle_shading",
        enabled=lambda p: p.shading or (_sound(p) and p.globe_known), chosen=lambda p: p.shading,
        group=4,
    ),
    *(
        MenuCommand(
            f"contours_{name}", "Ball", f"Contours of {label}", (), "show_contours", (name,),
            enabled=lambda p: p.globe_known,
            chosen=lambda p, name=name: p.figure == name, group=4,  # type: ignore[misc]
        )
        for name, label in FIGURES.items()
    ),
    MenuCommand("focus_ball", "Ball", "&Keyboard to the ball", ("<F6>",)),
    *(
        MenuCommand(
            f"face_{what}", "Ball", label, (f"<{key}>",), enabled=enabled, where="ball", group=1
        )
        for what, label, key, enabled in (
            ("grip", "Face the &grip", "g", _planned),
            ("pin", "Face the &pin", "p", _planned),
            ("pap", "Face the P&AP", "a", _pap),
            ("psa", "Face the P&SA mark", "s", _psa),
            ("cg", "Face the &CG mark", "c", _cg),
            ("underside", "Face the &underside", "u", _planned),
        )
    ),
    MenuCommand("reset_view", "Ball", "&Reset the view", ("<Home>",), where="ball", group=1),
    MenuCommand(
        "select_pin", "Ball", "Select the p&in", ("<i>",), "select", ("pin",), _planned,
        lambda p: p.selected == "pin", "ball", 2,
    ),
    MenuCommand(
        "select_pap", "Ball", "Se&lect the PAP", ("<x>",), "select", ("pap",), _pap,
        lambda p: p.selected == "pap", "ball", 2,
    ),
    *(_nudge(d, size) for size in _SIZES for d in ("left", "right", "up", "down")),
    MenuCommand(
        "next_step", "Steps", "&Next step", ("<Alt-Right>",), "next_step",
        enabled=lambda p: p.step is None or p.step + 1 < len(p.steps) if p.steps else False,
    ),
    MenuCommand(
        "back_step", "Steps", "&Back a step", ("<Alt-Left>",), "back_step",
        enabled=lambda p: p.step is not None,
    ),
    MenuCommand(
        "whole_ball", "Steps", "&Whole ball", ("<Alt-Up>",), "select_step", (None,),
        lambda p: p.step is not None,
    ),
    MenuCommand("press", "Steps", "&Press view", ("<F11>",), enabled=_planned, group=1),
    MenuCommand("keep", "Compare", "&Keep the present plan", ("<F9>",), "keep_reference", (), _sound),
    MenuCommand(
        "swap", "Compare", "&Swap with the kept plan", ("<Shift-F9>",), "swap_reference", (),
        lambda p: p.reference is not None and _sound(p),
    ),
    MenuCommand(
        "drop", "Compare", "&Drop the kept plan", ("<Control-F9>",), "drop_reference", (),
        lambda p: p.reference is not None,
    ),
    MenuCommand(
        "tour", "Compare", "&Guided comparisons ...", ("<Shift-F12>",), enabled=_sound, group=1
    ),
    MenuCommand(
        "shelf", "Compare", "&Balls on the shelf ...", ("<F4>",), enabled=_sound, group=1
    ),
    MenuCommand(
        "choose", "Compare", "C&hoose a layout ...", ("<Shift-F4>",), enabled=_sound, group=1
    ),
    MenuCommand("help_field", "Help", "&What is this?", ("<F1>",)),
    MenuCommand("glossary", "Help", "&Glossary", ("<Shift-F1>",)),
    MenuCommand("handbook", "Help", "&Handbook in the browser"),
    MenuCommand("practice", "Help", "&Practice ...", ("<F12>",)),
    MenuCommand("keys", "Help", "&Keys"),
    MenuCommand("about", "Help", "&About and care"),
)  # fmt: skip

_BY_ID = {c.id: c for c in COMMANDS}


def command(id: str) -> MenuCommand:
    """The command of that name; KeyError for none."""
    return _BY_ID[id]


def in_menu(menu: Menu) -> tuple[MenuCommand, ...]:
    """A menu's commands in their order."""
    return tuple(sorted((c for c in COMMANDS if c.menu == menu), key=lambda c: c.group))


def keys_text(system: str = "x11") -> str:
    """All keys, for the help: one line a command, by menus."""
    lines: list[str] = []
    for menu in MENUS:
        with_keys = [c for c in in_menu(menu) if c.keys]
        if not with_keys:
            continue
        lines += ["", menu]
        for c in with_keys:
            keys = " or ".join(key_text(on_system(k, system)) for k in c.keys)
            place = ", on the ball" if c.where == "ball" else ""
            lines.append(f"  {keys:<28}{c.text.removesuffix(' ...')}{place}")
    free = key_text(on_system("<Control-B1>", system)).partition("+")[0]
    lines += [
        "",
        "Mouse on the ball",
        f"  {'drag the pin or the PAP':<28}move it",
        f"  {'drag elsewhere':<28}turn the ball",
        f"  {'double-click a mark':<28}face it",
        f"  {free + ' while dragging':<28}do not snap to 1/16 in and degrees",
        f"  {'Esc while dragging':<28}give the drag up",
    ]
    return "\n".join(lines[1:]) + "\n"
