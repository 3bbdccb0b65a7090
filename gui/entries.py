"""From a record to the texts in the window's fields, and back.

The record keeps what was typed: `4 3/8` stays `4 3/8`, `111 mm` stays `111 mm`. Nothing is judged
here; the record's own models do that.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from gui.fields import NO, RG_DATA, YES, Field, all_fields
from layoutkit.record import FORMAT, VERSION

Entries = Mapping[str, str]

# what a record means where it says nothing, for the fields that always show some choice
_SILENT: Entries = {
    "rules": "usbc-2020",
    "layout.obtuse_val_angle": NO,
    **{f.direction_path: f.directions[0] for f in all_fields() if f.directions is not None},
}
NEW: Entries = {
    **_SILENT,
    "bowler.hand": "right",
    "bowler.grip.thumb": YES,
    "ball.psa": YES,
    RG_DATA: YES,
    "layout.by": "angles",
}
# parts that need no switch: they are in the record once something is typed into them, or if they
# stood there empty
_PARTS = ("work", "scale", "weighings")
_PLAIN_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_LONGEST_NUMBER = 40  # characters, as in layoutkit.units


def from_record(record: Mapping[str, Any]) -> dict[str, str]:
    """The entries of a record, finished or not. What no field can show is passed over."""
    entries = dict(_SILENT)
    for field in all_fields():
        if field.kind == "switch" and not field.path.startswith("layout."):
            there = field.path != RG_DATA and isinstance(_get(record, field.path), dict)
            entries[field.path] = YES if there else NO
            continue
        for path in reversed(field.record_paths):
            value = _get(record, path)
            if value is None:
                continue
            entries[field.path] = _text(value)
            if field.directions is not None:
                entries[field.direction_path] = path.rpartition(".")[2]
    ball = record.get("ball")
    rgs = ("rg_low", "differential", "intermediate_differential")
    if isinstance(ball, dict) and any(ball.get(name) is not None for name in rgs):
        entries[RG_DATA] = YES
    for part in _PARTS:
        if record.get(part) == {}:
            entries[part] = YES
    return entries


def to_record(entries: Entries) -> dict[str, Any]:
    """The record that these entries state, ready for JSON and for `parse_job`."""
    record: dict[str, Any] = {"format": FORMAT, "version": VERSION}
    for part in _PARTS:
        if entries.get(part) == YES:
            record[part] = {}
    for field in all_fields():
        if not field.shown(entries):
            continue
        if field.kind == "switch" and not field.path.startswith("layout."):
            if field.path == RG_DATA:
                continue
            if entries.get(field.path, NO) == YES:
                _put(record, field.path, {})
            elif field.path in ("bowler.grip.thumb", "ball.psa"):
                _put(record, field.path, None)
            continue
        text = entries.get(field.path)
        if text is None and field.kind == "text" and not field.optional:
            text = ""
        if text is None or (not text.strip() and field.kind not in ("text", "lines")):
            _place(record, field.path)
            continue
        _put(record, _record_path(field, entries), _value(field, text))
    return record


def _record_path(field: Field, entries: Entries) -> str:
    if field.directions is None:
        return field.path
    direction = entries.get(field.direction_path, field.directions[0])
    return field.record_paths[field.directions.index(direction)]


def _text(value: Any) -> str:
    if isinstance(value, bool):
        return YES if value else NO
    if isinstance(value, float):
        return format(Decimal(repr(value)), "f")
    return str(value)


def _value(field: Field, text: str) -> Any:
    if field.kind in ("text", "lines"):
        return text
    text = text.strip()
    if field.kind == "switch":
        return text == YES
    if field.limit is not None and len(text) <= _LONGEST_NUMBER and _PLAIN_NUMBER.fullmatch(text):
        return float(text) if "." in text else int(text)
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
        if name in _PARTS or name == "pitch":
            return place.get(name) or {}
        place = place.setdefault(name, {})
    return place


def _put(record: dict[str, Any], path: str, value: Any) -> None:
    place = record
    *parents, leaf = path.split(".")
    for name in parents:
        place = place.setdefault(name, {})
    place[leaf] = value
