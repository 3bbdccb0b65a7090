"""The help texts of the window: which text belongs to which field, reading, column and figure.

The texts themselves are those of the handbook, too.
"""

from __future__ import annotations

from gui.state.fields import LISTS, Field, field_at, row_fields
from layoutkit.output.help_texts import (
    COLUMNS,
    FIELDS,
    GLOSSARY,
    LANE,
    MAPS,
    READINGS,
    SHELF,
    SHOP,
    Explanation,
)

__all__ = (
    "COLUMNS",
    "FIELDS",
    "GLOSSARY",
    "LANE",
    "MAPS",
    "READINGS",
    "SHELF",
    "SHOP",
    "column_words",
    "field_words",
    "lane_words",
    "map_words",
    "of_field",
    "reading_words",
)


def field_words(path: str) -> str:
    """The help text of a field, with the range of its values; KeyError for a path that no field has."""
    rows = {f.path: f for each in LISTS for f in row_fields(each)}
    field = field_at(path) or rows[path]
    return f"{field.label}\n{of_field(field).words(_possible(field))}"


def of_field(field: Field) -> Explanation:
    """The explanation of a field; KeyError where there is none."""
    ends = [end for end in FIELDS if field.path == end or field.path.endswith(f".{end}")]
    if not ends:
        raise KeyError(field.path)
    return FIELDS[max(ends, key=len)]


def _possible(field: Field) -> str:
    limit = field.limit
    if limit is not None:
        return limit.range
    if field.kind == "rows":
        return f"up to {LISTS[field.path][2]}"
    if field.kind == "digits":
        return f"all, or some of {', '.join(label for _, label in field.options)}"
    return " or ".join(label for _, label in field.options)


def reading_words(key: str) -> str:
    """The help text of a reading, a bar or a check, by its key; KeyError for an unknown key."""
    return READINGS[key].words()


def column_words(heading: str) -> str:
    """The help text of a table's column, by its heading; KeyError for an unknown heading."""
    return COLUMNS[heading].words()


def map_words(name: str) -> str:
    """The help text of a map's figure, by its name; KeyError for an unknown name."""
    return MAPS[name].words()


def lane_words(name: str) -> str:
    """The help text of a shot's figure, by its name; KeyError for an unknown name."""
    return LANE[name].words()
