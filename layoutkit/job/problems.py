"""From pydantic's errors to sentences about a file's fields, for every model of this package.

What a field can be is read from its model: an annotation with a `range` says it, as the rows of
`limits.LIMITS` do; so a new field needs no words here.
"""

import re
from collections.abc import Iterable, Iterator
from typing import Any, Literal, NamedTuple, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from layoutkit.errors import InputError
from layoutkit.units import shown

# a wrong version explains every other problem, and a misspelled name explains a missing one
_FIRST_FIELDS = ("format", "version")
_UNKNOWN_FIELD = ("extra_forbidden", "invalid_key")


class Problem(NamedTuple):
    """One thing that is wrong: the field's dotted path, empty for the whole file, and the words."""

    field: str
    words: str

    def error(self, file: str = "") -> InputError:
        """The problem as an error about a file."""
        return InputError(self.words, self.field, file)


def problems_of(error: ValidationError, root: type[BaseModel], what: str) -> tuple[Problem, ...]:
    """All problems of a validation, the most telling first.

    ``root`` is the model that was validated, ``what`` the noun for the whole of it.
    """
    found = sorted(error.errors(include_url=False), key=lambda each: _rank(dict(each)))
    return tuple(_problem(dict(each), root, what) for each in found)


def _rank(problem: dict[str, Any]) -> tuple[int, bool]:
    loc = problem["loc"]
    leading = len(loc) == 1 and loc[0] in _FIRST_FIELDS
    return (0 if leading else 1, problem["type"] not in _UNKNOWN_FIELD)


class _Place(NamedTuple):
    """Where a problem is: its path, the field there, and the model of the object there if any."""

    path: str
    field: FieldInfo | None
    model: type[BaseModel] | None


def _problem(problem: dict[str, Any], root: type[BaseModel], what: str) -> Problem:
    kind, value, loc = problem["type"], problem["input"], problem["loc"]
    if kind in _UNKNOWN_FIELD:
        place = _place(root, loc[:-1])
        path = _joined(place.path, _key(str(loc[-1])))
        names = "" if place.model is None else _names(place)
        return Problem(path, f"unknown field; possible here: {names}.")
    place = _place(root, loc)
    if kind == "value_error":
        inner = problem["ctx"]["error"]
        return Problem(_joined(place.path, inner.field), inner.words)
    if kind.startswith("union_tag") and place.field is not None:
        key = str(place.field.discriminator)
        tag = value.get(key) if isinstance(value, dict) else None
        words = "missing" if tag is None else f"{shown(tag)} is not possible"
        return Problem(_joined(place.path, key), f"{words}; possible: {_tags(place.field)}.")
    words = "missing" if kind == "missing" else f"{shown(value)} is not possible"
    words = f"{words}; possible: {_possible(place)}."
    return Problem(place.path, words if place.path else f"{what}: {words}")


def _place(root: type[BaseModel], loc: Iterable[int | str]) -> _Place:
    """The place that pydantic's ``loc`` names; the path leaves out the tag of a union."""
    path, field, model = "", None, root
    parts = iter(loc)
    for part in parts:
        path = _joined(path, _key(str(part)) if isinstance(part, str) else str(part))
        if isinstance(part, int):  # an item has the model that its list is of
            field = None
            continue
        field = model.model_fields[part]
        models = tuple(_models(field.annotation))
        tag = next(parts, None) if field.discriminator is not None else None
        tagged = (each for each in models if tag in _tags_of(each, field))
        model = next(tagged, None) or next(iter(models), model)
    inside = field is None or any(_models(field.annotation))
    return _Place(path, field, model if inside else None)


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    """The models inside an annotation, in its order."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for each in get_args(annotation):
        yield from _models(each)


def _possible(place: _Place) -> str:
    """What can stand at a place, in words."""
    field = place.field
    if field is None:
        assert place.model is not None
        return f"an object with {_names(place)}"
    annotation: Any = field.annotation
    for each in (*field.metadata, *_metadata(annotation)):
        if hasattr(each, "range"):
            return str(each.range)
    if annotation is bool:
        return "true or false"
    kinds = (annotation, *get_args(annotation))
    words = next((get_args(kind) for kind in kinds if get_origin(kind) is Literal), None)
    if words is not None:
        return _options(words)
    if field.discriminator is not None:
        return f"an object with {field.discriminator}, one of {_tags(field)}"
    if place.model is None:
        return "an object" if any(get_origin(kind) is dict for kind in kinds) else "text"
    if get_origin(annotation) is tuple:
        return f"a list of objects with {_names(place)}"
    none = "null or " if type(None) in get_args(annotation) else ""
    return f"{none}an object with {_names(place)}"


def _metadata(annotation: Any) -> Iterator[Any]:
    """What `Annotated` says inside an optional field's annotation."""
    for each in get_args(annotation):
        yield from getattr(each, "__metadata__", ())


def _names(place: _Place) -> str:
    """The fields of the object at a place."""
    assert place.model is not None
    return ", ".join(place.model.model_fields)


def _tags_of(model: type[BaseModel], field: FieldInfo) -> tuple[Any, ...]:
    """What a model of a union has in the field that tells the union's models apart."""
    if field.discriminator is None:
        return ()
    return get_args(model.model_fields[str(field.discriminator)].annotation)


def _tags(field: FieldInfo) -> str:
    return _options(tag for each in _models(field.annotation) for tag in _tags_of(each, field))


def _options(values: Iterable[object]) -> str:
    *head, last = (f'"{v}"' if isinstance(v, str) else str(v) for v in values)
    return f"{', '.join(head)} or {last}" if head else last


def _joined(path: str, name: str) -> str:
    return ".".join(part for part in (path, name) if part)


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]{0,40}", name) else shown(name, 40)
