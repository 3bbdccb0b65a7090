"""A layout that stands alone, as text and as plain values."""

from __future__ import annotations

from layoutkit.output.report import table
from layoutkit.planning.layout import Angles, Distances, Stated
from layoutkit.units import Units, format_length

# The three numbers of each statement: its field of the record, and its name in print.
LAYOUT_FIELDS: dict[str, tuple[tuple[str, str], ...]] = {
    "angles": (
        ("angle_at_pin", "angle at the pin"),
        ("pin_to_pap", "pin to PAP"),
        ("angle_at_pap", "angle at the PAP"),
    ),
    "distances": (
        ("pin_to_pap", "pin to PAP"),
        ("psa_to_pap", "PSA to PAP"),
        ("pin_to_val", "pin to VAL"),
    ),
    "placement": (("pin.over", "pin over"), ("pin.up", "pin up"), ("bearing", "bearing")),
}


def layout_dict(layout: Stated) -> dict[str, object]:
    """The layout as a record's `layout` states it."""
    if isinstance(layout, Angles):
        return {
            "by": "angles",
            "angle_at_pin": float(layout.angle_at_pin),
            "pin_to_pap": float(layout.pin_to_pap),
            "angle_at_pap": float(layout.angle_at_pap),
        }
    if isinstance(layout, Distances):
        return {
            "by": "distances",
            "pin_to_pap": float(layout.pin_to_pap),
            "psa_to_pap": float(layout.psa_to_pap),
            "pin_to_val": float(layout.pin_to_val),
            "obtuse_angle_at_pap": layout.obtuse_angle_at_pap,
        }
    return {
        "by": "placement",
        "pin": {"over": float(layout.pin_over), "up": float(layout.pin_up)},
        "bearing": float(layout.bearing),
    }


def layout_text(
    target: str, layout: Stated, diameter: float, units: Units, assumptions: tuple[str, ...]
) -> str:
    """The layout as text. ``diameter`` is the ball's, in inches.

    ``assumptions`` stand in the heading: what the conversion took besides the three numbers.
    """
    record = layout_dict(layout)
    values = {**record}
    pin = values.pop("pin", None)
    if isinstance(pin, dict):
        values |= {f"pin.{key}": value for key, value in pin.items()}
    rows: list[tuple[str, ...]] = []
    for field, name in LAYOUT_FIELDS[target]:
        value = values[field]
        assert isinstance(value, float)
        if "angle" in name or name == "bearing":
            rows.append((name, f"{value:.2f} deg"))
        else:
            exact = f"({value:.3f} in)" if units == "fraction" else ""
            rows.append((name, format_length(value, units), exact))
    size = format_length(diameter, "metric" if units == "metric" else "decimal")
    heading = ", ".join((size, *assumptions))
    lines = [f"By {target}, on a ball of {heading}", *table(rows)]
    if record.get("obtuse_angle_at_pap"):
        lines.append(
            "  The angle at the PAP is the one beyond 90 degrees: obtuse_angle_at_pap is true."
        )
    return "\n".join(lines) + "\n"
