"""A list of the record while a dialog changes it: rows of entries, what is wrong, the table of them.

Nothing reaches the record before `Draft.take`, which writes the whole list as one step of undo.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from gui.state.entries import row_entries, row_record, rows_of, rows_text, to_record
from gui.state.fields import LISTS, NEEDED_UNLESS, YES, Field, field_at, in_row, row_fields
from gui.state.presenter import Presenter
from gui.state.redrill import DENSITY, USUAL_DENSITY
from layoutkit.job.record import problems as record_problems

# the columns of the table: heading, and which entry they show
COLUMNS: dict[str, tuple[tuple[str, str], ...]] = {
    "bowler.grip.thumb.inners": (
        ("Name", "name"),
        ("Hole", "diameter"),
        ("Bore", "sleeve.bore"),
        ("Size", "sleeve.size"),
    ),
    "extra_holes.vents": (
        ("Opens into", "hole"),
        ("Over", "over"),
        ("Up or down", "up"),
        ("Diameter", "diameter"),
        ("Meets at", "meets"),
    ),
    "history.holes": (
        ("Name", "name"),
        ("From pin", "from_pin"),
        ("Bearing", "bearing"),
        ("Diameter", "diameter"),
        ("Depth", "depth"),
        ("Plug", "plug"),
    ),
    "lane.table": (("From the foul line, ft", "at"), ("Friction", "friction")),
}
HOW: dict[str, str] = {
    "bowler.grip.thumb.inners": "The thumb sleeves that the bowler exchanges. All of them stand in the "
    "outer sleeve, so each one's bore is what the outer sleeve has inside. The grip's own thumb hole is "
    "the one that is planned.",
    "extra_holes.vents": "A vent is drilled from the surface to the axis of a gripping hole. Over and "
    "up are told from the grip centre as on the ball.",
    "history.holes": "Holes that the ball had before, in the order of the work: each is drilled, then "
    "filled if it is plugged. Place each by the ball's own marks: its arc from the pin, and the bearing "
    "at the pin from the line to the PSA mark (without one the CG mark), clockwise positive. Or give the "
    "arcs from two marks, and the side of the line between them.",
    "lane.table": "The lane's friction at places down the lane, in their order; between two places it "
    "changes evenly. With any place here, the length of the oil and its two frictions count no more.",
}
ORDERED = ("history.holes", "lane.table")  # lists whose order means something
_LONG = re.compile(r"[+-]?[0-9]*[.][0-9]{4,}")  # what nobody typed


class Draft:
    """The rows of one list, one of them selected. ``changed`` is called after each change.

    `entry`, `edit`, `problems`, `needed`, `end_run` and `dragging` are about the selected row, as a
    presenter's are about the record, by the paths of `row_fields`.
    """

    dragging = False

    def __init__(
        self, presenter: Presenter, path: str, changed: Callable[[], object] = lambda: None
    ) -> None:
        self._presenter, self.path, self._changed = presenter, path, changed
        self.fields = row_fields(path)
        # each row of the record as it stands, None for a new one
        self._opened: list[Any] = rows_of(path, presenter.entry(path))
        self.rows = [row_entries(path, row) for row in self._opened]
        self.selected: int | None = 0 if self.rows else None
        self._wrong: dict[tuple[int | None, str], str] = {}
        self._own = False
        self._judge()

    # --- the selected row -------------------------------------------------------------------------

    def entry(self, path: str) -> str:
        """What stands in one field of the selected row."""
        return "" if self.selected is None else self.rows[self.selected].get(path, "")

    def edit(self, path: str, text: str) -> None:
        """A new text in a field of the selected row."""
        if self.selected is not None and text != self.entry(path):
            self.rows[self.selected][path] = text
            self._judge()

    type_in = edit
    half_typed = False

    def settle(self) -> None:
        """Nothing to do: what is wrong is told at once."""

    def end_run(self) -> None:
        """Nothing to do: the whole dialog is one step of undo."""

    @property
    def problems(self) -> Mapping[str, str]:
        """What is wrong with the selected row, by the path of its field."""
        return {p: w for (row, p), w in self._wrong.items() if row == self.selected and p}

    @property
    def needed(self) -> frozenset[str]:
        """The selected row's fields that cannot stay empty, and are."""
        figures = (f for f in row_fields(self.path) if f.limit is not None and not f.optional)
        paths = {*self.problems, *(f.path for f in figures if self.shown(f))}
        return frozenset(
            p
            for p in paths
            if not any(self.entry(each).strip() for each in (p, *NEEDED_UNLESS.get(p, ())))
        )

    def shown(self, field: Field) -> bool:
        """Whether the selected row needs this field."""
        return self.selected is not None and field.shown(self.rows[self.selected])

    # --- the rows ---------------------------------------------------------------------------------

    @property
    def name(self) -> str:
        """What the selected row is: `Old hole 2`; empty without one."""
        one = LISTS[self.path][1].capitalize()
        return "" if self.selected is None else f"{one} {self.selected + 1}"

    def select(self, index: int) -> None:
        """Select a row."""
        if index != self.selected and 0 <= index < len(self.rows):
            self.selected = index
            self._changed()

    def add(self) -> None:
        """A new row behind the selected one, selected."""
        row = row_entries(self.path, {})
        if self.path == "extra_holes.vents":
            thumb = self._presenter.entry("bowler.grip.thumb") == YES
            row["extra_holes.vents.*.hole"] = "thumb" if thumb else "middle"
        elif self.path == "history.holes":
            row["history.holes.*.plug"], row[DENSITY] = YES, USUAL_DENSITY
        self.selected = len(self.rows) if self.selected is None else self.selected + 1
        self.rows.insert(self.selected, row)
        self._opened.insert(self.selected, None)
        self._judge()

    def remove(self) -> None:
        """Take the selected row out; the next one is selected."""
        if self.selected is not None:
            del self.rows[self.selected], self._opened[self.selected]
            self.selected = min(self.selected, len(self.rows) - 1) if self.rows else None
            self._judge()

    def move(self, by: int) -> None:
        """Move the selected row up or down by one place, if it can be."""
        here = self.selected
        if here is not None and 0 <= here + by < len(self.rows):
            for rows in (self.rows, self._opened):
                rows.insert(here + by, rows.pop(here))
            self.selected = here + by
            self._judge()

    def can_move(self, by: int) -> bool:
        """Whether the selected row can go up or down by one."""
        return self.selected is not None and 0 <= self.selected + by < len(self.rows)

    # --- what is shown ----------------------------------------------------------------------------

    def cells(self, index: int) -> tuple[str, ...]:
        """A row of the table: its number, marked where something is wrong, and its columns."""
        wrong = any(row == index for row, _ in self._wrong)
        return (f"{index + 1}{' •' if wrong else ''}", *(
            self._cell(self.rows[index], name) for _, name in COLUMNS[self.path]
        ))  # fmt: skip

    def _cell(self, row: Mapping[str, str], name: str) -> str:
        path = f"{self.path}.*.{name}"
        text = _short(row.get(path, "").strip())
        field = next(f for f in self.fields if f.path == path)
        if field.kind == "choice":
            return field.label_of(text)
        if field.directions is not None:
            return f"{text} {row.get(field.direction_path, '')}" if text else ""
        if name == "plug":
            if text != YES:
                return "left open"
            length = _short(row.get(f"{path}.length", "").strip())
            return f"{_short(row.get(DENSITY, ''))}, {length or 'whole'}"
        return text

    @property
    def problem_elsewhere(self) -> str:
        """What is wrong outside the selected row's fields, in one sentence; empty for nothing."""
        others = [
            (row, path) for row, path in self._wrong if row is None or row != self.selected or not path
        ]  # fmt: skip
        if not others:
            return ""
        row, path = others[0]
        words = self._wrong[row, path]
        if row is None:
            return words
        one = f"{LISTS[self.path][1].capitalize()} {row + 1}"
        label = next((f"{f.label}: " for f in self.fields if f.path == path), "")
        return f"{one}, {label}{words}" if label else f"{one}: {words}"

    # --- taking it --------------------------------------------------------------------------------

    @property
    def text(self) -> str:
        """The entry of the list that these rows make."""
        return rows_text(self._written())

    def _written(self) -> list[Any]:
        """The rows of the record that these rows state; what nobody changed is as it was."""
        pairs = zip(self.rows, self._opened, strict=True)
        return [row_record(self.path, row, opened) for row, opened in pairs]

    @property
    def sound(self) -> bool:
        """Whether each row is possible by itself: then the list can be taken.

        What only the rest of the record contradicts, such as a thumb hole that is still to be
        changed, does not stand in the way.
        """
        return not self._own

    def take(self) -> bool:
        """Write the list into the record, as one step of undo; False, nothing done, if not sound.

        Where it is not sound the first row that has something wrong is selected.
        """
        if not self.sound:
            wrong = [row for row, _ in self._wrong if row is not None]
            if wrong and self.selected not in wrong:
                self.select(wrong[0])
            return False
        if self.text != self._presenter.entry(self.path):
            self._presenter.edit(self.path, self.text)
        return True

    def _judge(self) -> None:
        text = self.text
        self._wrong = {}
        part = self.path.partition(".")[0]
        field = field_at(self.path)
        assert field is not None
        shown = {condition.path: condition.values[0] for condition in field.shown_if}
        alone = record_problems(to_record({part: YES, **shown, self.path: text}))
        self._own = any(_within(self.path, path) for path, _ in alone)
        for path, words in (*self._presenter.problems_with(self.path, text), *alone):
            if _within(self.path, path):
                place = in_row(path)
                row = None if place is None else place.row
                inner = "" if place is None or place.field is None else place.field.path
                self._wrong.setdefault((row, inner), words)
        self._changed()


def _within(list_path: str, path: str) -> bool:
    field = field_at(path)
    return field is not None and field.path == list_path


def _short(text: str) -> str:
    """A number to its third decimal, for a table; other text as it is."""
    return f"{float(text):.3f}" if _LONG.fullmatch(text) else text
