"""Fields that a record can state and that this version does not work with yet.

They stand in the models and the schema, so that a record keeps its shape when their turn comes. Each
is one row of `NOT_YET`: delete the row with the work that makes the field count.
"""

from collections.abc import Iterator
from fnmatch import fnmatchcase
from typing import Any

from pydantic import BaseModel

from layoutkit.errors import InputError

# what this version does not do, by the field's dotted path; * stands for one part of it
NOT_YET = {
    "wants": "does not choose a layout",
}


def is_not_yet(path: str) -> bool:
    """Whether a field, or what it stands in, is one that this version does not work with.

    ``path`` is dotted; the place of a row in a list is its number or ``*``.
    """
    parts = path.split(".")
    wholes = [".".join(parts[: n + 1]) for n in range(len(parts))]
    return any(
        whole.count(".") == pattern.count(".") and fnmatchcase(whole, pattern)
        for pattern in NOT_YET
        for whole in wholes
    )


def refuse_not_yet(record: BaseModel) -> None:
    """Raise InputError for the first field of `NOT_YET` that a record states.

    A field that states what it means when left out is no reason.
    """
    for pattern, what in NOT_YET.items():
        for path in _stated(record, pattern.split("."), ""):
            raise InputError(f"not yet: this version {what}.", path)


def _stated(value: Any, pattern: list[str], path: str) -> Iterator[str]:
    """The paths in a value that match a pattern and say more than their default."""
    if not pattern:
        yield path
        return
    inner: dict[str, Any] = {}
    if isinstance(value, tuple):
        inner = {str(n): each for n, each in enumerate(value)}
    elif isinstance(value, BaseModel):
        defaults = type(value).model_fields
        inner = {name: each for name, each in value if each != defaults[name].default}
    for name, each in inner.items():
        if fnmatchcase(name, pattern[0]):
            yield from _stated(each, pattern[1:], f"{path}.{name}".lstrip("."))
