"""Read what was measured on the track: a small text, CSV or JSON file, or words.

The text has one mark a line, over and up from the grip centre, over negative toward the negative
side; or its arcs from two known points. Lines with `=` say what the marks belong to:

    hand = right
    diameter = 8.55
    standard deviation = 1/16
    known pin = 1, 3
    ring = first
    -5 1/16, 4 11/16
    -3 1/16, -5 3/16
    pin 5 11/16, grip 3

A line of three may begin with the name of its ring instead: `first, -3 1/8, 2`. `grip`, the grip
centre, is always known. Of the two places where arcs cross, the one farther toward the negative
side is meant unless the line ends with positive, fingers or thumb. Text after # is a remark. Where
numbers have decimal commas, semicolons part them: `-5,06; 4,69`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, NamedTuple, cast, get_args

from layoutkit.bench.axis import Ring, RingMark, Toward, mark_at, mark_by_arcs
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import from_over_up
from layoutkit.job.files import TRACK_FILE, decode_json, file_name, read_text
from layoutkit.job.limits import Limit, limit_at
from layoutkit.units import as_hand, shown

FORMAT = "layoutkit-track"
DEVIATION = "standard deviation"  # of what is measured for a mark
OLD_DEVIATION = "tolerance"  # what earlier files call it
SETTINGS = ("hand", "diameter", DEVIATION)
FIRST = "first"  # the ring of marks that name none
MOST_MARKS = 500

_OVER = Limit("over", -13.5, 13.5, "in", "Mark along the midline from the grip centre")
_UP = Limit("up", -6.75, 6.75, "in", "Mark square to the midline, positive toward the fingers")
_ARC = Limit("arc", 0.25, 13.25, "in", "Arc from a known point to the mark")
_DEVIATION = Limit("standard deviation", 0.001, 0.5, "in", "Standard deviation of what is measured")
_DIAMETER = cast(Limit, limit_at("ball.diameter"))
_TOWARD: tuple[str, ...] = get_args(Toward)
_NAME = re.compile(r"[^\W\d_][\w .'-]{0,39}")
_ARC_WORDS = re.compile(r"(?P<name>[^\W\d_][\w.'-]{0,39})\s+(?P<arc>[+-]?[0-9.].*)")


class Measured(NamedTuple):
    """One mark as it was measured: over and up, or two arcs from known points; inches."""

    where: str
    ring: str
    place: tuple[float, float] | None
    arcs: tuple[tuple[str, float], ...] = ()
    toward: Toward = "negative"


class Track(NamedTuple):
    """All that was measured; what the file does not say is None."""

    marks: tuple[Measured, ...]
    known: Mapping[str, tuple[float, float]]
    hand: str | None = None
    diameter: float | None = None
    deviation: float | None = None

    def rings(self, radius: float) -> tuple[Ring, ...]:
        """The marks on a ball of this radius, by rings in the order in which these begin.

        Raises InputError where arcs do not meet or name an unknown point.
        """
        marks_of: dict[str, list[RingMark]] = {}
        for each in self.marks:
            marks = marks_of.setdefault(each.ring, [])
            name = f"mark {len(marks) + 1}"
            if each.place is not None:
                marks.append(mark_at(*each.place, radius, name))
                continue
            ends = []
            for point, _ in each.arcs:
                if point not in self.known:
                    names = ", ".join(self.known)
                    raise InputError(
                        f"{each.where}: {shown(point)} is no known point; possible: {names}, or say "
                        "where it lies with known NAME = OVER, UP."
                    )
                ends.append(from_over_up(*self.known[point], radius))
            (_, one), (_, other) = each.arcs
            full = f"ring {each.ring}, {name}"
            placed = mark_by_arcs(ends[0], one, ends[1], other, radius, each.toward, full)
            marks.append(placed._replace(name=name))
        return tuple(Ring(name, tuple(marks)) for name, marks in marks_of.items())


def load_track(path: str | Path) -> Track:
    """The track of a text, CSV or JSON file; raises InputError where it cannot be used."""
    return parse_track(read_text(path, TRACK_FILE), file_name(path))


def parse_track(text: str, name: str = "track") -> Track:
    """The track of a text, in lines or as JSON; ``name`` stands for its file in messages.

    Raises InputError where something in it cannot be used.
    """
    if text.lstrip().startswith("{"):
        return _from_json(decode_json(text, name, TRACK_FILE), name)
    return from_lines(
        (f"{name}, line {i}", line.partition("#")[0])
        for i, line in enumerate(text.splitlines(), start=1)
    )


def from_lines(lines: Iterable[tuple[str, str]]) -> Track:
    """The track of lines, each with its name for messages."""
    reader = _Reader()
    for where, line in lines:
        if line.strip():
            reader.line(where, line.strip())
    return reader.track()


class _Reader:
    """Gathers a track piece by piece."""

    def __init__(self) -> None:
        self.marks: list[Measured] = []
        self.known = {"grip": (0.0, 0.0)}
        self.settings: dict[str, Any] = {}
        self.ring = FIRST

    def track(self) -> Track:
        return Track(tuple(self.marks), self.known, **self.settings)

    def line(self, where: str, line: str) -> None:
        key, equals, value = line.partition("=")
        if equals:
            self.setting(where, key.strip(), value.strip())
            return
        parts = [part.strip().strip('"').strip() for part in _cells(line)]
        if [part.lower() for part in parts] in (["over", "up"], ["ring", "over", "up"]):
            return  # the heading of a CSV file
        if _ARC_WORDS.fullmatch(parts[0]):
            self.arcs(where, parts)
        elif len(parts) == 3:
            self.place(where, parts[1], parts[2], self.named(where, parts[0]))
        elif len(parts) == 2:
            self.place(where, parts[0], parts[1], self.ring)
        else:
            raise InputError(
                f"{where}: {shown(line)} is no mark; possible: OVER, UP as in -3 1/8, 2 or arcs as "
                "in pin 5 11/16, grip 3."
            )

    def setting(self, where: str, key: str, value: str) -> None:
        first, _, rest = key.partition(" ")
        if first == "known" and rest.strip():
            parts = _cells(value)
            if len(parts) != 2:
                raise InputError(f"{where}: {shown(value)} is no place; possible: OVER, UP.")
            self.know(where, rest.strip(), parts[0].strip(), parts[1].strip())
        elif key == "ring":
            self.ring = self.named(where, value)
        elif key in (*SETTINGS, OLD_DEVIATION):
            self.set(where, DEVIATION if key == OLD_DEVIATION else key, value, key)
        else:
            raise InputError(
                f"{where}: {shown(key)} is unknown; possible: {', '.join(SETTINGS)}, ring or "
                "known NAME."
            )

    def set(self, where: str, key: str, value: object, called: str) -> None:
        """Take a setting, which the file calls by its own name for it."""
        self.settings["deviation" if key == DEVIATION else key] = setting(
            key, value, f"{where}: {called}"
        )

    def named(self, where: str, name: object) -> str:
        if not isinstance(name, str) or not _NAME.fullmatch(name):
            raise InputError(
                f"{where}: {shown(name)} is no name of a ring; possible: up to 40 letters, digits "
                "and blanks that begin with a letter."
            )
        return name

    def know(self, where: str, name: str, over: object, up: object) -> None:
        if not _ARC_WORDS.fullmatch(f"{name} 1"):
            raise InputError(
                f"{where}: {shown(name)} is no name of a point; possible: one word of letters."
            )
        self.known[name] = (_number(_OVER, over, where), _number(_UP, up, where))

    def place(self, where: str, over: object, up: object, ring: str) -> None:
        place = (_number(_OVER, over, f"{where}: over"), _number(_UP, up, f"{where}: up"))
        self.add(Measured(where, ring, place))

    def arcs(self, where: str, parts: list[str]) -> None:
        toward = parts.pop() if len(parts) == 3 else "negative"
        matches = [_ARC_WORDS.fullmatch(part) for part in parts]
        if len(matches) != 2 or matches[1] is None or matches[0] is None:
            raise InputError(
                f"{where}: a mark by arcs needs two of them, as in pin 5 11/16, grip 3."
            )
        self.crossed(where, [(m["name"], m["arc"]) for m in matches if m], toward, self.ring)

    def crossed(
        self, where: str, arcs: list[tuple[str, object]], toward: object, ring: str
    ) -> None:
        if toward not in _TOWARD:
            raise InputError(
                f"{where}: {shown(toward)} is no side; possible: {', '.join(_TOWARD)}."
            )
        read = tuple((name, _number(_ARC, arc, f"{where}: {name}")) for name, arc in arcs)
        self.add(Measured(where, ring, None, read, cast(Toward, toward)))

    def add(self, mark: Measured) -> None:
        if len(self.marks) >= MOST_MARKS:
            raise InputError(f"{mark.where}: there are more than {MOST_MARKS} marks.")
        self.marks.append(mark)


def _cells(line: str) -> list[str]:
    """The parts of a line, between semicolons where it has any, so that each may have a comma."""
    return line.split(";" if ";" in line else ",")


def setting(key: str, value: object, name: str) -> Any:
    """A hand, diameter or standard deviation; raises InputError that begins with ``name``."""
    if key == "hand":
        hand = as_hand(value)
        if hand not in ("right", "left"):
            raise InputError(f"{name}: {shown(value)} is no hand; possible: right or left.")
        return hand
    return _number(_DIAMETER if key == "diameter" else _DEVIATION, value, name)


def _number(limit: Limit, value: object, where: str) -> float:
    try:
        number = limit.parse(value)
    except ValueError as error:
        raise InputError(f"{where}: {error}") from None
    assert isinstance(number, float)
    assert math.isfinite(number)
    return number


# --- JSON -----------------------------------------------------------------------------------------


def _from_json(data: dict[str, Any], name: str) -> Track:
    reader = _Reader()
    names = {key.replace(" ", "_"): key for key in SETTINGS}
    possible = ("format", "version", *names, "known", "rings")
    _fields(data, possible, name, also=(OLD_DEVIATION,))
    if data.get("format") != FORMAT or data.get("version") != 1:
        raise InputError(f'{name}: is no track; possible: "format": "{FORMAT}", "version": 1.')
    for called, key in (*names.items(), (OLD_DEVIATION, DEVIATION)):
        if data.get(called) is not None:
            reader.set(name, key, data[called], called)
    known = _object(data.get("known") or {}, f"{name}: known")
    for point, place in known.items():
        where = f"{name}: known {shown(point)}"
        _fields(_object(place, where), ("over", "up"), where)
        reader.know(where, point, place.get("over"), place.get("up", 0))
    for i, ring in enumerate(_list(data.get("rings"), f"{name}: rings"), start=1):
        where = f"{name}: ring {i}"
        _fields(_object(ring, where), ("name", "marks"), where)
        called = reader.named(where, ring.get("name"))
        for k, mark in enumerate(_list(ring.get("marks"), f"{where}: marks"), start=1):
            here = f"{where}, mark {k}"
            _fields(_object(mark, here), ("over", "up", "arcs", "toward"), here)
            if "arcs" not in mark:
                if "toward" in mark:
                    raise InputError(f"{here}: toward belongs to arcs; leave it out.")
                reader.place(here, mark.get("over"), mark.get("up"), called)
                continue
            arcs = list(_object(mark["arcs"], f"{here}: arcs").items())
            if len(arcs) != 2 or "over" in mark or "up" in mark:
                raise InputError(f"{here}: give either over and up, or two arcs.")
            reader.crossed(here, arcs, mark.get("toward", "negative"), called)
    return reader.track()


def _object(value: object, where: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise InputError(f"{where}: is {shown(value)}; possible: an object.")
    return value


def _list(value: object, where: str) -> list[Any]:
    if not isinstance(value, list):
        raise InputError(f"{where}: is {shown(value)}; possible: a list.")
    return value


def _fields(
    value: dict[str, Any], possible: tuple[str, ...], where: str, also: tuple[str, ...] = ()
) -> None:
    """Refuse unknown keys; those ``also`` read are not offered."""
    for key in value:
        if key not in possible and key not in also:
            raise InputError(f"{where}: {shown(key)} is unknown; possible: {', '.join(possible)}.")
