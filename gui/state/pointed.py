"""What the pointer rests on on the ball, by its name and with its numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

from layoutkit.output.report import bare, way_words, whole_unit
from layoutkit.units import Units, format_length, format_ounces

if TYPE_CHECKING:
    from layoutkit.output.drawing import Scene
    from layoutkit.planning.values import Plan

_MARKS = {
    "pin": "Pin",
    "cg": "CG mark",
    "psa": "PSA mark",
    "pap": "PAP",
    "grip_center": "Grip centre",
}
_FROM = "The middle of the grip: all places are told from here."


def words(plan: Plan, scene: Scene, name: str, units: Units) -> str:
    """A mark, hole or line of a scene; empty for what has no name of its own."""
    if name in _MARKS:
        return _mark(plan, name, units)
    hole = _hole(plan, name, units)
    if hole:
        return hole
    text = next((c.text for c in scene.callouts if c.name == name), "")
    return text[:1].upper() + text[1:]


def _mark(plan: Plan, name: str, units: Units) -> str:
    mark = getattr(plan.marks, name)
    if mark is None:
        return ""
    if name == "grip_center":
        return f"{_MARKS[name]}\n{_FROM}"
    over = way_words(mark.over, "over", "over to the negative side", units)
    up = way_words(mark.up, "up", "down", units)
    return f"{_MARKS[name]}\n{over}, {up} from the grip centre ({whole_unit(units)})"


def _hole(plan: Plan, name: str, units: Units) -> str:
    for hole in plan.holes:
        if hole.name == name:
            lines = [f"{name.capitalize()} hole"]
            if hole.bore is not None:
                bore = hole.bore
                size, depth = format_length(bore.diameter, units), format_length(bore.depth, units)
                lines.append(f"bore {size}, {depth} deep")
            size, depth = format_length(hole.diameter, units), format_length(hole.depth, units)
            lines.append(f"finished {size}, {depth} deep")
            pitches = (
                way_words(hole.forward, "forward", "reverse", units),
                way_words(hole.right, "right", "left", units),
            )
            lines.append(f"pitch {pitches[0]}, {pitches[1]}")
            lines.append(f"takes {format_ounces(hole.removed_oz, units)}")
            return "\n".join(lines)
    for extra in plan.extra_holes:
        if extra.name == name:
            size, depth = bare(extra.diameter, units), format_length(extra.depth, units)
            return f"{name.capitalize()}\n{size} by {depth}"
    return ""
