"""From a record to the texts in the window's fields, and back.

The record keeps what was typed: `4 3/8` stays `4 3/8`, `111 mm` stays `111 mm`. Nothing is judged
here; the record's own models do that. Into a record that was opened only what changed is put, so that
the rest stays as somebody wrote it: a number as text, the order of the fields. A whole list of the
record is one entry: its JSON text, so that undo, saving and recovery need no rules of their own for
lists.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple

from gui.state.fields import (
    LISTS,
    NO,
    RG_DATA,
    YES,
    Field,
    all_fields,
    names_in_order,
    row_fields,
)
from layoutkit.job.record import DIGITS, FORMAT, VERSION
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
# parts that no field shows, each an object as JSON text: the answers to questions, and what a layout is
# to bring, of which an empty object is more than nothing
CONFIRMED, WANTS = "confirmed", "wants"
TODAY = "work.only"
THUMB = (
    "bowler.grip.thumb"  # the part that a record must state, and states as null where there is none
)
_SIGNED = re.compile(r"([0-9]*\.?[0-9]+)\s*(?:oz)?\s*([A-Za-z]+)")
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
    answers = record.get(CONFIRMED)
    if isinstance(answers, dict) and answers:
        entries[CONFIRMED] = json.dumps(answers)
    if isinstance(record.get(WANTS), dict):
        entries[WANTS] = json.dumps(record[WANTS])
    return entries


class Opened:
    """A record as it was opened, never to be changed, and what its entries state."""

    def __init__(self, record: Mapping[str, Any]) -> None:
        self.record = record
        self.entries = from_record(record)
        self.stated = _stated_record(self.entries)


def to_record(entries: Entries, opened: Opened | None = None) -> dict[str, Any]:
    """The record that these entries state, ready for JSON and for `parse_job`.

    ``opened`` is the record that they come from, if they come from one. What they do not change in it
    stays as it stands there, the order of its fields too; a new field goes where the model has it.
    """
    now = _stated_record(entries)
    if opened is None:
        result: dict[str, Any] = _values(now)
        return result
    record: dict[str, Any] = _copied(opened.record)
    _merge(record, opened.stated, now, "")
    _clear(record, all_fields(), opened.entries, entries)
    return record


def _stated_record(entries: Entries) -> dict[str, Any]:
    """The record that these entries state, each value with its text."""
    record: dict[str, Any] = {
        "format": _Stated(FORMAT, FORMAT),
        "version": _Stated(str(VERSION), VERSION),
    }
    for part in PARTS:
        if entries.get(part) == YES:
            record[part] = {}
    _write(all_fields(), entries, record)
    for name in (CONFIRMED, WANTS):
        if entries.get(name):
            record[name] = _Stated(entries[name], object_in(entries, name))
    return record


def object_in(entries: Entries, name: str) -> dict[str, Any]:
    """The object that an entry without a field holds: of `CONFIRMED` a field's path and its value."""
    try:
        values = json.loads(entries.get(name, "{}"))
    except (ValueError, RecursionError):  # a recovery copy may hold anything
        return {}
    return values if isinstance(values, dict) else {}


def same_as_middle(entries: Entries, finger: str) -> dict[str, str]:
    """The entries with what a finger's hole leaves empty as in the middle finger's hole, but the span."""
    middle, there = "bowler.grip.middle.", f"bowler.grip.{finger}."
    changed = dict(entries)
    for field in all_fields():
        path = there + field.path.removeprefix(middle)
        empty = entries.get(path, NO if field.kind == "switch" else "") in ("", NO)
        if not field.path.startswith(middle) or field.path == f"{middle}span" or not empty:
            continue
        for each in field.paths:
            if each in entries:
                changed[there + each.removeprefix(middle)] = entries[each]
    return changed


def cut_today(text: str, there: Collection[str]) -> dict[str, bool]:
    """The holes that can be chosen for today, and whether the entry of `TODAY` names them.

    They are those that are ``there``, and what the entry names beside them. An empty entry stands for
    all.
    """
    named = rows_of(TODAY, text)
    return {
        digit: not text or digit in named for digit in DIGITS if digit in there or digit in named
    }


def today_text(chosen: Mapping[str, bool]) -> str:
    """The entry of `TODAY` for these holes, chosen or not: empty where all are."""
    return "" if all(chosen.values()) else json.dumps([d for d, on in chosen.items() if on])


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


def row_record(path: str, entries: Entries, opened: Any = None) -> dict[str, Any]:
    """The row of the record that these entries state.

    ``opened`` is the row that they come from, if they come from one; see `to_record`.
    """
    fields = row_fields(path)

    def stated(each: Entries) -> dict[str, Any]:
        record: dict[str, Any] = {}
        _put(record, f"{path}.*", {})
        _write(fields, each, record)
        return record

    if isinstance(opened, dict):
        whole: dict[str, Any] = {}
        _put(whole, f"{path}.*", _copied(opened))
        then = row_entries(path, opened)
        _merge(whole, stated(then), stated(entries), "")
        _clear(whole, fields, then, entries)
    else:
        whole = _values(stated(entries))
    row: dict[str, Any] = value_at(whole, f"{path}.*")
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
            if field.path == THUMB and not _has(record, THUMB):
                continue  # neither yes nor no: the record refuses it as missing
            there = field.path != RG_DATA and isinstance(value_at(record, field.path), dict)
            entries[field.path] = YES if there else NO
            continue
        if field.kind == "readings":
            pair = value_at(record, field.path)
            for path, value in zip(
                field.paths, pair if isinstance(pair, list) else (), strict=False
            ):
                if value is not None:
                    entries[path] = _text(value)
            continue
        for path in reversed(field.record_paths):
            value = value_at(record, path)
            if value is None:
                continue
            entries[field.path] = _with_sign_word(field, _text(value))
            if field.directions is not None:
                entries[field.direction_path] = path.rpartition(".")[2]
    return entries


def _write(fields: Sequence[Field], entries: Entries, record: dict[str, Any]) -> None:
    """Put what these fields state into the record, each value with its text."""
    for field in fields:
        if not field.shown(entries):
            continue
        if field.part:
            if field.path == RG_DATA:
                continue
            if entries.get(field.path, NO) == YES:
                _put(record, field.path, {})
            elif field.path == "ball.psa" or (field.path == THUMB and entries.get(THUMB)):
                _put(record, field.path, _Stated(NO, None))
            continue
        if field.kind == "readings":
            pair = [entries.get(path, "") for path in field.paths]
            if any(text.strip() for text in pair):
                _put(
                    record,
                    field.path,
                    [_Stated(t, value_of(field, t) if t.strip() else None) for t in pair],
                )
            continue
        text = entries.get(field.path)
        if text is None and field.kind == "text" and not field.optional:
            text = ""
        if text is None or (not text.strip() and field.kind not in ("text", "lines")):
            _place(record, field.path)
            continue
        _put(record, _record_path(field, entries), _Stated(text, value_of(field, text)))


class _Stated(NamedTuple):
    """A value of the record, and the entry's text that states it."""

    text: str
    value: Any


def _values(stated: Any) -> Any:
    """What is stated, without the texts."""
    if isinstance(stated, dict):
        return {name: _values(each) for name, each in stated.items()}
    if isinstance(stated, list):
        return [_values(each) for each in stated]
    return stated.value


def _copied(value: Any) -> Any:
    """A copy of a decoded JSON value that shares no object and no list with it."""
    if isinstance(value, Mapping):
        return {name: _copied(each) for name, each in value.items()}
    return [_copied(each) for each in value] if isinstance(value, list) else value


def _clear(record: dict[str, Any], fields: Sequence[Field], then: Entries, now: Entries) -> None:
    """Remove what would stand beside what changed and contradict it, where nobody sees it."""
    for field in fields:
        if not field.shown(now):
            # an empty field of another kind of layout would be refused where nobody sees it
            gone = field.record_paths if field.shown(then) else ()
        elif field.directions and (
            # a dialog that takes a row shows one of the two
            "*" in field.path or any(now.get(path) != then.get(path) for path in field.paths)
        ):
            here = _record_path(field, now)
            gone = tuple(
                p for p in field.record_paths if p != here and value_at(record, p) is not None
            )
        else:
            continue
        for path in gone:
            place = value_at(record, path.rpartition(".")[0])
            if isinstance(place, dict):
                place.pop(path.rpartition(".")[2], None)


def _merge(
    record: dict[str, Any], then: Mapping[str, Any], now: Mapping[str, Any], at: str
) -> None:
    """Put into an object of the record, at a path, what is stated now and was not stated then."""
    for name, before in then.items():
        if name not in now:
            _take_out(record, name, before, at)
    for name, stated in now.items():
        before, inner = then.get(name), record.get(name)
        if before == stated:
            continue
        if isinstance(stated, dict) and isinstance(inner, dict):
            _merge(inner, before if isinstance(before, dict) else {}, stated, f"{at}{name}.")
        else:
            _insert(record, name, _as_typed(stated, inner), at)


def _as_typed(stated: Any, inner: Any) -> Any:
    """What is stated; where the record has a value with the same text, that value."""
    if isinstance(stated, _Stated):
        return inner if inner is not None and _text(inner) == stated.text else stated.value
    if isinstance(stated, list) and isinstance(inner, list) and len(stated) == len(inner):
        return [_as_typed(*pair) for pair in zip(stated, inner, strict=True)]
    return _values(stated)


def _take_out(record: dict[str, Any], name: str, before: Any, at: str) -> None:
    """Remove what is no longer stated; an object goes with it where nothing is left in it."""
    inner = record.get(name)
    if isinstance(before, dict) and isinstance(inner, dict) and f"{at}{name}" not in _parts():
        for each in before:
            _take_out(inner, each, before[each], f"{at}{name}.")
        if any(value is not None for value in inner.values()):
            return
    record.pop(name, None)


def _insert(record: dict[str, Any], name: str, value: Any, at: str) -> None:
    """Set a field; a new one goes behind the nearest field that the model has before it."""
    order = names_in_order().get(at.rstrip("."), ())
    if name in record or name not in order:
        record[name] = value
        return
    earlier = order[: order.index(name)]
    nearest = next((each for each in reversed(earlier) if each in record), None)
    items = list(record.items())
    place = 0 if nearest is None else list(record).index(nearest) + 1
    items.insert(place, (name, value))
    record.clear()
    record.update(items)


@lru_cache(maxsize=1)
def _parts() -> frozenset[str]:
    """The paths of the parts behind a switch, which go as a whole."""
    rows = (field for path in LISTS for field in row_fields(path))
    return frozenset(field.path for field in (*all_fields(), *rows) if field.part)


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
    if field.kind in ("rows", "digits"):
        return _decoded(text)
    text = _with_sign(field, text.strip())
    if field.kind == "switch" or (field.kind == "choice" and text in (YES, NO)):
        return text == YES
    if field.limit is not None and len(text) <= LONGEST_TEXT and _PLAIN_NUMBER.fullmatch(text):
        return float(text) if "." in text else int(text)
    return text


def _with_sign(field: Field, text: str) -> str:
    """A signed weight with its sign for its word, be that only begun: `1.4 th` is `-1.4`."""
    parts = _SIGNED.fullmatch(text)
    if field.signs is None or parts is None:
        return text
    number, word = parts[1], parts[2].lower()
    plus, minus = field.signs
    return number if plus.startswith(word) else f"-{number}" if minus.startswith(word) else text


def _with_sign_word(field: Field, text: str) -> str:
    """A weight below 0 with the word for its sign."""
    if field.signs is None or not text.startswith("-"):
        return text
    return f"{text[1:]} {field.signs[1]}"


def _decoded(text: str) -> Any:
    """The list that an entry of ours states; any other text as it is, for the record to refuse."""
    try:
        value = json.loads(text)
        if isinstance(value, list) and json.dumps(value, allow_nan=False) == text:
            return value
    except (ValueError, RecursionError):
        pass
    return text


def value_at(record: Mapping[str, Any], path: str) -> Any:
    """What a record has at a dotted path, None where it has nothing there."""
    value: Any = record
    for name in path.split("."):
        if not isinstance(value, dict):
            return None
        value = value.get(name)
    return value


def _has(record: Mapping[str, Any], path: str) -> bool:
    """Whether the record states a path, be it as null."""
    place, _, name = path.rpartition(".")
    inner = value_at(record, place)
    return isinstance(inner, dict) and name in inner


def _place(record: dict[str, Any], path: str) -> dict[str, Any]:
    """The object of the record that a required path stands in; made where it is not yet there."""
    place = record
    for name in path.split(".")[:-1]:
        if name in PARTS or name in ("pitch", "pap", "as_drilled"):
            return place.get(name) or {}
        place = place.setdefault(name, {})
    return place


def _put(record: dict[str, Any], path: str, value: Any) -> None:
    place = record
    *parents, leaf = path.split(".")
    for name in parents:
        place = place.setdefault(name, {})
    place[leaf] = value
