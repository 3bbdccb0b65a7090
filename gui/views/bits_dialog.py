"""The dialog that shows the shop's bits, adds one and removes one."""

from __future__ import annotations

import tkinter as tk
from tkinter import font, ttk
from typing import TYPE_CHECKING

from gui.state.bits import HEADINGS, HOW, add, remove, rows
from gui.state.shop import ShopFile
from gui.views.scale_dialog import Helped
from layoutkit.errors import InputError
from layoutkit.units import printable

if TYPE_CHECKING:
    from gui.views.style import Appearance


class BitsDialog(Helped):
    """The bits as a table, what is typed to add one, and buttons; each change is written at once."""

    def __init__(self, parent: tk.Misc, style: Appearance, file: ShopFile) -> None:
        super().__init__(parent, style, "Shop's bits")
        self.file = file
        self.names: tuple[str, ...] = ()  # of the bits, in the table's order
        self._lay_out()
        self._end = file.subscribe(self.show)  # another window may change them too
        self.bind("<Destroy>", self._gone, add="+")
        self.show()
        self.rise(self.entry)

    def _lay_out(self) -> None:
        pad = self.style.pixels(0.6)
        wide = self.style.pixels(44)  # the help at the foot takes two lines then
        ttk.Label(self, text=HOW, wraplength=wide, justify="left").grid(
            row=0, column=0, sticky="w", padx=pad, pady=pad
        )
        table = ttk.Frame(self)
        table.grid(row=1, column=0, sticky="nsew", padx=pad)
        table.columnconfigure(0, weight=1)
        table.rowconfigure(0, weight=1)
        self.rowconfigure(1, weight=1)
        self.tree = ttk.Treeview(
            table, columns=HEADINGS, show="headings", selectmode="browse", height=10
        )
        plain = font.nametofont("TkDefaultFont", self)
        for heading in HEADINGS:
            self.tree.heading(heading, text=heading, anchor="w")
            self.tree.column(heading, width=plain.measure("000 000/000 in"))
        bar = ttk.Scrollbar(table, orient="vertical", command=self.tree.yview)
        self.tree.configure(yscrollcommand=bar.set)
        self.tree.grid(row=0, column=0, sticky="nsew")
        bar.grid(row=0, column=1, sticky="ns")
        self.tree.bind("<<TreeviewSelect>>", lambda _: self._enable())
        self.tree.bind("<Delete>", lambda _: self.buttons["remove"].invoke())
        row = ttk.Frame(self)
        row.grid(row=2, column=0, sticky="ew", padx=pad, pady=(pad, 0))
        label = ttk.Label(row, text="New size")
        label.pack(side="left")
        self.text = tk.StringVar(self)
        self.text.trace_add("write", lambda *_: self._tell(""))
        self.entry = ttk.Entry(row, textvariable=self.text, width=12, font="TkTextFont")
        self.entry.pack(side="left", padx=pad)
        self.entry.bind("<Return>", lambda _: self.buttons["add"].invoke())
        for widget in (label, self.entry):
            self.explained(widget, "bit", "Bit")
        self.button(row, "add", "Add", 0, self.add).pack(side="left")
        self.button(row, "remove", "Remove", 0, self.remove).pack(side="right")
        # two lines, always: else the buttons would move with each message
        room = ttk.Frame(self, height=self.style.pixels(2.3))
        room.pack_propagate(False)
        room.grid(row=3, column=0, sticky="ew", padx=pad)
        self.message = ttk.Label(
            room, style="Bad.TLabel", wraplength=wide, justify="left", anchor="nw"
        )
        self.message.pack(fill="both", expand=True)
        self._room.grid(row=4, column=0, sticky="ew", padx=pad)
        self.button(self, "close", "Close", 0, self.leave).grid(
            row=5, column=0, sticky="e", padx=pad, pady=pad
        )

    # --- the bits ---------------------------------------------------------------------------------

    def show(self) -> None:
        """Show what the file holds; where it cannot be used, why, and nothing can be changed."""
        chosen = self.chosen
        self.tree.delete(*self.tree.get_children())
        try:
            bits = rows(self.file)
        except InputError as error:
            self._tell(str(error))
            bits, usable = (), False
        else:
            usable = True
        self.names = tuple(bit.name for bit in bits)
        for bit in bits:
            self.tree.insert("", "end", values=tuple(map(printable, bit)))
        self._choose(chosen)
        self.buttons["add"].state(["!disabled" if usable else "disabled"])
        self._enable()

    def add(self) -> None:
        """Write one more bit, the keyboard back in the field for the next; or tell why not."""
        self.entry.focus_set()
        try:
            name = add(self.file, self.text.get())
        except InputError as error:
            self._tell(str(error))
            self.bell()
            return
        self.text.set("")
        self._choose(name)

    def remove(self) -> None:
        """Write the file without the bit that is selected; the one after it is selected then."""
        name = self.chosen
        place = self.names.index(name)
        others = (*self.names[place + 1 :], *reversed(self.names[:place]))
        try:
            remove(self.file, name)
        except InputError as error:
            self._tell(str(error))
            self.bell()
            return
        self._tell("")
        self._choose(next((other for other in others if other in self.names), ""))

    @property
    def chosen(self) -> str:
        """The bit that is selected, empty for none."""
        selection = self.tree.selection()
        return self.names[self.tree.index(selection[0])] if selection else ""

    def _choose(self, name: str) -> None:
        if name in self.names:
            row = self.tree.get_children()[self.names.index(name)]
            self.tree.selection_set((row,))
            self.tree.focus(row)
            self.tree.see(row)

    def _enable(self) -> None:
        self.buttons["remove"].state(["!disabled" if self.tree.selection() else "disabled"])

    def _tell(self, words: str) -> None:
        """What is wrong with the size or with the file; an empty text for nothing."""
        self.message.configure(text=printable(f"✗ {words}") if words else "")
        self.entry.configure(style="Bad.TEntry" if words else "TEntry")

    def _gone(self, event: tk.Event[tk.Misc]) -> None:
        if event.widget is self:
            self._end()
