"""Records of version 1, read for good: what they state, under the names of the present version."""

import re
from collections.abc import Mapping
from typing import Any

from layoutkit.job.problems import Problem

# fields of `layout` that go by where the angle stands since version 2
RENAMED = {
    "drilling_angle": "angle_at_pin",
    "val_angle": "angle_at_pap",
    "obtuse_val_angle": "obtuse_angle_at_pap",
}


def is_version_1(record: Mapping[str, Any]) -> bool:
    """Whether a decoded record says that it is of version 1."""
    version = record.get("version")
    return version == 1 and not isinstance(version, bool)  # true equals 1 to Python


def upgraded(record: Mapping[str, Any]) -> dict[str, Any]:
    """The record of version 1 as one of version 2; nothing in it is judged.

    Names of the layout change, the order of the fields stays. A field that is given under both names
    is left, for the record's own reader to refuse.
    """
    changed = {**record, "version": 2}
    layout = record.get("layout")
    if isinstance(layout, Mapping):
        changed["layout"] = {
            name if RENAMED.get(name, name) in layout else RENAMED.get(name, name): value
            for name, value in layout.items()
        }
    return changed


def as_stated(problem: Problem, record: Mapping[str, Any]) -> Problem:
    """A problem of the upgraded record under the names that the record of version 1 uses."""
    layout = record.get("layout")
    own = layout if isinstance(layout, Mapping) else {}
    old = {new: name for name, new in RENAMED.items() if new not in own}
    if not problem.field.startswith("layout") or not old:
        return problem
    names = re.compile(rf"\b({'|'.join(old)})\b")
    field, words = (names.sub(lambda match: old[match[0]], text) for text in problem)
    return Problem(field, words)
