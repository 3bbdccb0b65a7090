"""Every field of the record as the window shows it, derived from the record's own models.

An entry is what stands in one widget, always text: what was typed, the value of a choice, or `yes`
and `no` of a switch. It is named by the dotted path of the record's field. Three kinds of entries are
the window's own: `ball.rg_data`, the switch for three fields that come and go together, for each
pair such as `up` and `down` the direction, named `bowler.pap.up/down`, and for each two readings of a
weighing the second one, named `weighings.drilled.pairs.side/turned`.

A list of the record, such as `history.holes`, is one field of kind "rows". The fields of its rows are
tables of their own (`row_fields`), in which `*` stands for the row's place: `history.holes.*.depth`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic import BaseModel

from layoutkit.job.built_in_rules import BUILT_IN
from layoutkit.job.limits import Limit, limit_at
from layoutkit.job.record import (
    DIGITS,
    LAYOUTS,
    MOST_FRICTIONS,
    MOST_INNERS,
    MOST_OLD_HOLES,
    MOST_VENTS,
    Arcs,
    Friction,
    Inner,
    Job,
    OldHole,
    Vent,
)
from layoutkit.job.validators import Date, Text
from layoutkit.output.labels import LABELS, SECTIONS
from layoutkit.units import as_hand

Kind = Literal[
    "text", "lines", "date", "length", "weight", "ounces", "density", "angle", "speed", "rate",
    "boards", "feet", "friction", "choice", "switch", "rows", "readings", "digits",
]  # fmt: skip
Group = Literal["bowler", "grip", "ball", "layout", "scale", "work"]

YES, NO = "yes", "no"
RG_DATA = "ball.rg_data"

GROUPS: dict[Group, str] = {
    "bowler": "Bowler",
    "grip": "Grip",
    "ball": "Ball",
    "layout": "Layout",
    "scale": "Scale and rules",
    "work": "Work and notes",
}
OPTION_LABELS: dict[str, str] = {
    "right": "right hand",
    "left": "left hand",
    "angles": "angles",
    "distances": "distances",
    "placement": "placement",
    "middle": "middle finger",
    "ring": "ring finger",
    "thumb": "thumb",
    YES: "yes",
    NO: "no",
    "": "a moment",
    "half_difference": "the weight",
}
# fields that the record can state otherwise, and what else is filled in then
NEEDED_UNLESS = {
    f"history.holes.*.{name}": tuple(f"history.holes.*.arcs.{m}" for m in Arcs.model_fields)
    for name in ("from_pin", "bearing")
}
# choices that may stay empty, and what they show where that is not the word itself
_OPTIONAL_CHOICES: dict[str, dict[str, str]] = {
    "history.holes.*.side": {"": "not told"},
    "history.holes.*.digit": {"": "not told"},
}
_PAIRS = {"up": "down", "forward": "reverse", "right": "left"}
_KINDS: dict[str, Kind] = {
    "in": "length",
    "lb": "weight",
    "oz": "ounces",
    "g/cm3": "density",
    "degrees": "angle",
    "mph": "speed",
    "rpm": "rate",
    "boards": "boards",
    "ft": "feet",
    "friction": "friction",
}
_RGS = ("rg_low", "differential", "intermediate_differential")
_SWITCHED = {
    # parts that a record may leave out, which the window shows behind a switch
    "bowler.grip.thumb",
    "bowler.grip.index",
    "bowler.grip.little",
    *(f"bowler.grip.{digit}.sleeve" for digit in DIGITS),
    "bowler.grip.thumb.sleeve.outer",
    "bowler.grip.thumb.oval",
    "extra_holes.inspection",
    "history.holes.*.plug",
    "as_drilled",
    "ball.psa",
    "ball.shell",
    "tolerances",
    "release",
    "lane",
}
# fields that no widget shows
_UNSHOWN = {"confirmed", "wants"}
# fields that mean something only while a switch is off
_UNLESS = {"bowler.grip.thumb.oval.scallop": "bowler.grip.thumb.oval.milled"}
# signed weights: what stands for plus and for minus in a text such as "1.4 thumb"
_SIGNS = {
    "top": ("top", "bottom"),
    "side": ("positive", "negative"),
    "finger": ("finger", "thumb"),
}
# parts that mean something only while another part's switch is on
_BESIDE = {f"as_drilled.{digit}": f"bowler.grip.{digit}" for digit in ("thumb", "index", "little")}


@dataclass(frozen=True, slots=True)
class Condition:
    """An entry that must have one of these values for a field to be shown."""

    path: str
    values: tuple[str, ...]

    def holds(self, entries: Mapping[str, str]) -> bool:
        """Whether it does."""
        return entries.get(self.path, NO) in self.values


@dataclass(frozen=True, slots=True)
class Field:
    """One widget's worth of the record.

    ``path`` names the entry. A field with ``directions`` is a pair of the record's fields: its
    direction is the entry ``direction_path``. A field of kind "readings" is the record's list of two:
    the second is the entry ``turned_path``. ``options`` are (value, label) of a choice or switch, and
    of the holes that one of kind "digits" names some of.
    ``optional`` may stay empty. The field is shown when every condition of ``shown_if`` holds.
    """

    path: str
    group: Group
    section: str
    label: str
    kind: Kind
    options: tuple[tuple[str, str], ...] = ()
    directions: tuple[str, str] | None = None
    optional: bool = False
    shown_if: tuple[Condition, ...] = ()

    @property
    def limit(self) -> Limit | None:
        """The record's row of limits, None where the field is not a quantity."""
        return limit_at(f"{self.path}.0" if self.kind == "readings" else self.path)

    @property
    def direction_path(self) -> str:
        """The entry that holds the direction of a pair, empty for a single field."""
        return "" if self.directions is None else f"{self.path}/{self.directions[1]}"

    @property
    def turned_path(self) -> str:
        """The entry that holds the second of two readings, empty for any other field."""
        return f"{self.path}/turned" if self.kind == "readings" else ""

    @property
    def paths(self) -> tuple[str, ...]:
        """The entries that hold what stands in the field's widgets."""
        return tuple(path for path in (self.path, self.direction_path, self.turned_path) if path)

    @property
    def signs(self) -> tuple[str, str] | None:
        """The words for plus and minus of a signed weight, None where a number has no such words."""
        parent, _, name = self.path.rpartition(".")
        return _SIGNS.get(name) if parent.rpartition(".")[0] == "weighings" else None

    def label_of(self, value: str) -> str:
        """What a choice shows for a value as it is written in the record."""
        known = dict(self.options)
        return known.get(value) or known.get(str(as_hand(value)), value)

    @property
    def part(self) -> bool:
        """Whether this is the switch of a part, not a yes or no that the record states itself."""
        return self.path in _SWITCHED or self.path == RG_DATA

    @property
    def record_paths(self) -> tuple[str, ...]:
        """The paths of the record that this field stands for."""
        if self.path == RG_DATA:
            return ()
        if self.directions is None:
            return (self.path,)
        return (self.path, f"{self.path.rpartition('.')[0]}.{self.directions[1]}")

    def shown(self, entries: Mapping[str, str]) -> bool:
        """Whether the window shows the field beside these entries."""
        return all(c.holds(entries) for c in self.shown_if)


def all_fields() -> tuple[Field, ...]:
    """Every field, in the order in which the window shows them."""
    return _table()


# the lists of the record: what one row is made of, what it is called, and how many there may be
LISTS: dict[str, tuple[type[BaseModel], str, int]] = {
    "bowler.grip.thumb.inners": (Inner, "sleeve", MOST_INNERS),
    "extra_holes.vents": (Vent, "vent", MOST_VENTS),
    "history.holes": (OldHole, "old hole", MOST_OLD_HOLES),
    "lane.table": (Friction, "table row", MOST_FRICTIONS),
}


class InRow(NamedTuple):
    """A place in a list: the list's field, the row from 0, its field; None for the row itself."""

    list: Field
    row: int
    field: Field | None


def field_at(path: str) -> Field | None:
    """The field that shows a path of the record or an entry, None where no field does.

    What is inside a list is shown by the list's field.
    """
    found = _by_path().get(path)
    if found is None:
        place = in_row(path)
        found = None if place is None else place.list
    return found


def row_fields(path: str) -> tuple[Field, ...]:
    """The fields of a row of the list at a path, in their order; KeyError where there is no list."""
    return _rows()[path]


def row_words(path: str, words: str) -> str:
    """What is wrong at a path, with the row and the field in front of it where that is in a list."""
    place = None if path in _by_path() else in_row(path)
    if place is None:
        return words
    row = f"{LISTS[place.list.path][1].capitalize()} {place.row + 1}"
    return f"{row}: {words}" if place.field is None else f"{row}, {place.field.label}: {words}"


def in_row(path: str) -> InRow | None:
    """Where in a list a path of the record is, None where it is in none or no row has such a field."""
    for name, fields in _rows().items():
        index, _, inner = path.removeprefix(f"{name}.").partition(".")
        if not path.startswith(f"{name}.") or not index.isdecimal():
            continue
        within = f"{name}.*.{inner}"
        found = next((f for f in fields if within in f.record_paths), None)
        known = not inner or any(f.path.startswith(f"{within}.") for f in fields)
        if found is not None or known:
            return InRow(_by_path()[name], int(index), found)
    return None


@lru_cache(maxsize=1)
def names_in_order() -> Mapping[str, tuple[str, ...]]:
    """The fields of each object of the record in the order of its model, by the object's path.

    The record itself is at "". A row of a list is at the list's path and `.*`.
    """
    orders: dict[str, tuple[str, ...]] = {}

    def walk(model: type[BaseModel], path: str) -> None:
        orders[path] = tuple(model.model_fields)
        for name, info in model.model_fields.items():
            inner = f"{path}.{name}".lstrip(".")
            part = _part(info.annotation)
            if inner in LISTS:
                walk(LISTS[inner][0], f"{inner}.*")
            elif part is not None:
                walk(part, inner)

    walk(Job, "")
    for each in LAYOUTS.values():
        earlier = orders["layout"]
        walk(each, "layout")
        orders["layout"] = tuple(dict.fromkeys((*earlier, *orders["layout"])))
    return MappingProxyType(orders)


@lru_cache(maxsize=1)
def _by_path() -> dict[str, Field]:
    found: dict[str, Field] = {}
    for field in _table():
        for path in (*field.paths, *field.record_paths):
            found[path] = field
        if field.kind == "readings":
            found[f"{field.path}.0"] = found[f"{field.path}.1"] = field
    found["bowler.pap"] = found[
        "bowler.pap.over"
    ]  # a PAP that a layout needs and that is not given
    for part in _BESIDE:  # measured on a grip that has none such
        found[part] = found["as_drilled"]
    return found


@lru_cache(maxsize=1)
def _rows() -> dict[str, tuple[Field, ...]]:
    return {path: tuple(_walk(model, f"{path}.*.", ())) for path, (model, *_) in LISTS.items()}


@lru_cache(maxsize=1)
def _table() -> tuple[Field, ...]:
    merged: dict[str, Field] = {}
    for field in _walk(Job, "", ()):
        if field.path not in merged:
            merged[field.path] = field
            continue
        # a field that several statements of a layout share is shown for each of them
        earlier = merged[field.path]
        values = tuple(v for f in (earlier, field) for v in f.shown_if[0].values)
        merged[field.path] = replace(earlier, shown_if=(Condition("layout.by", values),))
    order = list(GROUPS)
    return tuple(sorted(merged.values(), key=lambda f: order.index(f.group)))


def _walk(model: type[BaseModel], prefix: str, shown_if: tuple[Condition, ...]) -> Iterator[Field]:
    names = model.model_fields
    # a hole begins with its span, as at the bench
    for name, info in sorted(names.items(), key=lambda each: each[0] != "span"):
        path = prefix + name
        if path in ("format", "version") or (name in _PAIRS.values() and _first(name) in names):
            continue
        if unshown(path):
            continue
        if path == "layout":
            yield _field("layout.by", "choice", shown_if, options=_labelled(LAYOUTS))
            for by, each in LAYOUTS.items():
                yield from _walk(each, "layout.", (Condition("layout.by", (by,)),))
            continue
        if path == "layout.by":
            continue
        if path == f"ball.{_RGS[0]}":
            yield _field(RG_DATA, "switch", shown_if, options=_labelled((YES, NO)))
        conditions = shown_if
        if prefix == "ball." and name in _RGS:
            conditions = (*shown_if, Condition(RG_DATA, (YES,)))
        if path in _UNLESS:
            conditions = (*shown_if, Condition(_UNLESS[path], (NO,)))
        if path in _BESIDE:
            conditions = (*shown_if, Condition(_BESIDE[path], (YES,)))
        if path in LISTS:
            yield _field(path, "rows", shown_if, optional=True)
            continue
        part = _part(info.annotation)
        if part is not None:
            if path in _SWITCHED:
                yield _field(path, "switch", shown_if, options=_labelled((YES, NO)))
                conditions = (*shown_if, Condition(path, (YES,)))
            yield from _walk(part, f"{path}.", conditions)
            continue
        kind, options = _kind(path, info.annotation, info.metadata)
        pair = (name, _PAIRS[name]) if _PAIRS.get(name) in names else None
        optional = not info.is_required() and path not in NEEDED_UNLESS
        yield _field(path, kind, conditions, options, pair, optional)


def unshown(path: str) -> bool:
    """Whether the window has no widget for a field of the record, or for what it stands in."""
    return any(path == each or path.startswith(f"{each}.") for each in _UNSHOWN)


def _first(name: str) -> str:
    return next(plus for plus, minus in _PAIRS.items() if minus == name)


def _part(annotation: Any) -> type[BaseModel] | None:
    for each in (annotation, *get_args(annotation)):
        if isinstance(each, type) and issubclass(each, BaseModel):
            return each
    return None


def _kind(
    path: str, annotation: Any, metadata: list[Any]
) -> tuple[Kind, tuple[tuple[str, str], ...]]:
    limit = limit_at(path)
    if limit is not None:
        return _KINDS[limit.unit], ()
    if path == "rules":
        return "choice", tuple((name, name) for name in BUILT_IN)
    if path.rpartition(".")[0].endswith(".pairs"):
        return "readings", ()
    if path == "work.order_of_cuts":
        # left out it means fingers first: one choice for both, as nothing tells them apart
        return "choice", (("", "fingers first"), ("thumb first", "thumb first"))
    if path == "work.only":
        return "digits", tuple((digit, digit) for digit in DIGITS)
    if path in _OPTIONAL_CHOICES:
        names = ("", *(word for each in get_args(annotation) for word in get_args(each)))
        return "choice", tuple((name, _OPTIONAL_CHOICES[path].get(name, name)) for name in names)
    if get_origin(annotation) is Literal:
        return "choice", _labelled(get_args(annotation))
    for each in get_args(annotation):
        if get_origin(each) is Literal and type(None) in get_args(annotation):
            return "choice", _labelled(("", *get_args(each)))
    if path.endswith(".used"):
        return "choice", (("", YES), (NO, NO))  # left out it means yes
    if annotation is bool:
        return "switch", _labelled((YES, NO))
    for each in (*metadata, *(m for a in get_args(annotation) for m in _metadata(a))):
        if isinstance(each, Date):
            return "date", ()
        if isinstance(each, Text):
            return ("lines" if each.lines else "text"), ()
    raise TypeError(f"{path}: no widget for {annotation}")


def _metadata(annotation: Any) -> tuple[Any, ...]:
    found: tuple[Any, ...] = getattr(annotation, "__metadata__", ())
    return found


def _labelled(values: Any) -> tuple[tuple[str, str], ...]:
    return tuple((str(v), OPTION_LABELS[str(v)]) for v in values)


def _field(
    path: str,
    kind: Kind,
    shown_if: tuple[Condition, ...],
    options: tuple[tuple[str, str], ...] = (),
    directions: tuple[str, str] | None = None,
    optional: bool = False,
) -> Field:
    return Field(
        path, _group(path), _section(path), _longest(LABELS, path, str.endswith), kind, options,
        directions, optional, shown_if,
    )  # fmt: skip


def _group(path: str) -> Group:
    top = path.partition(".")[0]
    if path.startswith("bowler.grip.") or top in ("extra_holes", "as_drilled"):
        return "grip"
    if top == "history":
        return "ball"
    if top in ("release", "lane"):
        return "bowler"
    if top in ("bowler", "ball", "layout"):
        return top  # type: ignore[return-value]
    return "scale" if top in ("scale", "tolerances", "weighings", "rules") else "work"


def _section(path: str) -> str:
    if path == RG_DATA or path in [f"ball.{name}" for name in _RGS]:
        return SECTIONS[RG_DATA]
    if path == "ball.filler_density":
        return SECTIONS["ball.shell"]
    if path == "rules":
        return SECTIONS["rules"]
    within = path
    while within not in SECTIONS or within == "rules":
        within = within.rpartition(".")[0]
    return SECTIONS[within]


def _longest(table: Mapping[str, str], path: str, matches: Any) -> str:
    ends = [end for end in table if path == end or path.endswith(f".{end}")]
    return table[max(ends, key=len)]
