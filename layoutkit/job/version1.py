"""Records of version 1, read for good: what they state, under the names of the present version."""

from collections.abc import Mapping
from typing import Any

# fields of `layout` that go by where the angle stands since version 2
RENAMED = {
    "drilling_angle": "angle_at_pin",
    "val_angle": "angle_at_pap",
    "obtuse_val_angle": "obtuse_angle_at_pap",
}


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
