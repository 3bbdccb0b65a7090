"""From a record to the texts in the window's fields, and back.

The record keeps what was typed: `4 3/8` stays `4 3/8`, `111 mm` stays `111 mm`. Nothing is judged
here; the record's own models do that. A whole list of the record is one entry: its JSON text, so that
undo, saving and recovery need no rules of their own for lists.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from gui.state.fields import LISTS, NO, RG_DATA, YES, Field, all_fields, row_fields
from layoutkit.job.record import FORMAT, VERSION
from layoutkit.units import LONGEST_TEXT

Entries = Mapping[str, str]

# what a record means where it says nothing, for the fields that always show some choice
_SILENT: Entries = {
    "rules": "usbc-2020",
    "layout.obtuse_angle_at_pap": NO,
    **{f.direction_path: f.directions[0] for f in all_fields() if f.directions is not None},
}
NEW: Entries = {
    **_SILENT,
    "bowler.hand": "right",
    "bowler.grip.thumb": YES,
    "ball.psa": YES,
    RG_DATA: YES,
    "layout.by": "placement",
}
# parts that need no switch: they are in the record once something is typed into them, or if they
# stood there empty
PARTS = ("work", "scale", "weighings", "extra_holes", "history")
CONFIRMED = "confirmed"  # an entry that no field shows: the answers to questions, as JSON text
_PLAIN_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


def from_record(record: Mapping[str, Any]) -> dict[str, str]:
    """The entries of a record, finished or not. What no field can show is passed over."""
    entries = {**_SILENT, **_read(all_fields(), record)}
    ball = record.get("ball")
    rgs = ("rg_low", "differential", "intermediate_differential")
    if isinstance(ball, dict) and any(ball.get(name) is not None for name in rgs):
        entries[RG_DATA] = YES
    for part in PARTS:
        if record.get(part) == {}:
            entries[part] = YES
    confirmed = record.get(CONFIRMED)
    if isinstance(confirmed, dict) and confirmed:
        entries[CONFIRMED] = json.dumps(confirmed)
    return entries


def to_record(entries: Entries) -> dict[str, Any]:
    """The record that these entries state, ready for JSON and for `parse_job`."""
    record: dict[str, Any] = {"format": FORMAT, "version": VERSION}
    for part in PARTS:
        if entries.get(part) == YES:
            record[part] = {}
    _write(all_fields(), entries, record)
    if entries.get(CONFIRMED):
        record[CONFIRMED] = confirmed_values(entries)
    return record


def confirmed_values(entries: Entries) -> dict[str, Any]:
    """The answers to the plan's questions that these entries hold: a field's path, and its value."""
    try:
        values = json.loads(entries.get(CONFIRMED, "{}"))
    except ValueError:  # a recovery copy may hold anything
        return {}
    return values if isinstance(values, dict) else {}


def rows_of(path: str, text: str) -> list[Any]:
    """The rows of the record that the entry of a list stands for; none where it is no list."""
    value = _decoded(text)
    return value if isinstance(value, list) else []


def rows_text(rows: Sequence[Any]) -> str:
    """The entry of a list with these rows of the record; empty without any."""
    return json.dumps(rows) if rows else ""


def row_entries(path: str, row: Any) -> dict[str, str]:
    """The entries of one row of the list at a path, by the paths of `row_fields`."""
    fields = row_fields(path)
    silent = {f.direction_path: f.directions[0] for f in fields if f.directions is not None}
    record: dict[str, Any] = {}
    _put(record, f"{path}.*", row)
    return {**silent, **_read(fields, record)}


def row_record(path: str, entries: Entries) -> dict[str, Any]:
    """The row of the record that these entries state."""
    record: dict[str, Any] = {}
    _put(record, f"{path}.*", {})
    _write(row_fields(path), entries, record)
    row: dict[str, Any] = _get(record, f"{path}.*")
    return row


def summary(path: str, text: str) -> str:
    """A list's entry in a few words: `3 old holes, 2 plugged`."""
    rows = rows_of(path, text)
    count = f"{len(rows) or 'no'} {LISTS[path][1]}{'' if len(rows) == 1 else 's'}"
    if path != "history.holes" or not rows:
        return count
    plugged = sum(isinstance(row, dict) and row.get("plug") is not None for row in rows)
    return f"{count}, {plugged or 'none'} plugged"


def _read(fields: Sequence[Field], record: Mapping[str, Any]) -> dict[str, str]:
    """What a record, or the part of it that these fields are about, says in each of them."""
    entries = {}
    for field in fields:
        if field.part:
            there = field.path != RG_DATA and isinstance(_get(record, field.path), dict)
            entries[field.path] = YES if there else NO
            continue
        if field.kind == "readings":
            pair = _get(record, field.path)
            for path, value in zip(
                field.paths, pair if isinstance(pair, list) else (), strict=False
            ):
                if value is not None:
                    entries[path] = _text(value)
            continue
        for path in reversed(field.record_paths):
            value = _get(record, path)
            if value is None:
                continue
            entries[field.path] = _text(value)
            if field.directions is not None:
                entries[field.direction_path] = path.rpartition(".")[2]
    return entries


def _write(fields: Sequence[Field], entries: Entries, record: dict[str, Any]) -> None:
    """Put what these fields state into the record."""
    for field in fields:
        if not field.shown(entries):
            continue
        if field.part:
            if field.path == RG_DATA:
                continue
            if entries.get(field.path, NO) == YES:
                _put(record, field.path, {})
            elif field.path in ("bowler.grip.thumb", "ball.psa"):
                _put(record, field.path, None)
            continue
        if field.kind == "readings":
            pair = [entries.get(path, "") for path in field.paths]
            if any(text.strip() for text in pair):
                _put(
                    record,
                    field.path,
                    [value_of(field, text) if text.strip() else None for text in pair],
                )
            continue
        text = entries.get(field.path)
        if text is None and field.kind == "text" and not field.optional:
            text = ""
        if text is None or (not text.strip() and field.kind not in ("text", "lines")):
            _place(record, field.path)
            continue
        _put(record, _record_path(field, entries), value_of(field, text))


def _record_path(field: Field, entries: Entries) -> str:
    if field.directions is None:
        return field.path
    direction = entries.get(field.direction_path, field.directions[0])
    return field.record_paths[field.directions.index(direction)]


def _text(value: Any) -> str:
    if isinstance(value, list):
        return json.dumps(value)
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")
    return str(value)


def value_of(field: Field, text: str) -> Any:
    """What the record holds for a text in a field."""
    if field.kind in ("text", "lines"):
        return text
    if field.kind == "rows":
        return _decoded(text)
    text = text.strip()
    if field.kind == "switch":
        return text == YES
    if field.limit is not None and len(text) <= LONGEST_TEXT and _PLAIN_NUMBER.fullmatch(text):
        return float(text) if "." in text else int(text)
    return text


def _decoded(text: str) -> Any:
    """The list that an entry of ours states; any other text as it is, for the record to refuse."""
    try:
        value = json.loads(text)
        if isinstance(value, list) and json.dumps(value, allow_nan=False) == text:
            return value
    except (ValueError, RecursionError):
        pass
    return text


def _get(record: Mapping[str, Any], path: str) -> Any:
    value: Any = record
    for name in path.split("."):
        if not isinstance(value, dict):
            return None
        value = value.get(name)
    return value


def _place(record: dict[str, Any], path: str) -> dict[str, Any]:
    """The object of the record that a required path stands in; made where it is not yet there."""
    place = record
    for name in path.split(".")[:-1]:
        if name in PARTS or name in ("pitch", "pap"):
            return place.get(name) or {}
        place = place.setdefault(name, {})
    return place


def _put(record: dict[str, Any], path: str, value: Any) -> None:
    place = record
    *parents, leaf = path.split(".")
    for name in parents:
        place = place.setdefault(name, {})
    place[leaf] = value
