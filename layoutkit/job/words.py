"""The value of a check or of a static weight in words, as a person reads it."""

from layoutkit.job.rules import DIAMETER, Check
from layoutkit.units import Units, format_length, format_ounces, format_weight

NOT_KNOWN = "not known"
# a static weight's two directions, positive first
SIDES = {
    "top": ("top weight", "bottom weight"),
    "side": ("positive side", "negative side"),
    "finger": ("finger weight", "thumb weight"),
}


def static_words(name: str, ounces: float | None, units: Units = "fraction") -> str:
    """A static weight with its side in words: `0.54 oz positive side`.

    ``name`` is top, side or finger; ``ounces`` is signed as in a plan, None where it is not known.
    """
    if ounces is None:
        return NOT_KNOWN
    text = format_ounces(abs(ounces), units)
    if not any(c in "123456789" for c in text):
        return text  # nothing to either side
    plus, minus = SIDES[name]
    return f"{text} {minus if ounces < 0.0 else plus}"


def range_words(
    name: str, ounces: float, ends: tuple[float, float], units: Units = "fraction"
) -> str:
    """A static weight of a scale whose arm is not calibrated, its range first.

    `0.21 to 0.44 oz positive side (0.31 at the default arm)`; ``ends`` are the least and the greatest
    that it may be, ``ounces`` what it is at the default arm, all signed as in a plan. Ends that print
    alike are one weight, whatever the arm.
    """
    near, far = sorted(ends, key=abs)
    if static_words(name, near, units) == static_words(name, far, units):
        return static_words(name, far, units)
    if near * far >= 0.0:
        first, default = (format_ounces(abs(oz), units).split()[0] for oz in (near, ounces))
        return f"{first} to {static_words(name, far, units)} ({default} at the default arm)"
    # a table's row has no room for the unit and the noun three times
    first, default = (
        " ".join(static_words(name, oz, units).split()[0:3:2]) for oz in (ends[0], ounces)
    )
    return f"{first} to {static_words(name, ends[1], units)} ({default} by default)"


def check_words(check: Check, value: float | None, units: Units = "fraction") -> str:
    """A value in the unit of a check, with a sign where the check has two directions."""
    if value is None:
        return NOT_KNOWN
    if check.unit == "oz":
        return format_ounces(value, units, signed=True)
    if check.unit == "lb":
        # pounds as the rule states them: ounces beside pounds would hide how near a limit is
        return format_weight(value, "decimal" if units == "fraction" else units)
    if check.unit == "in":
        # no rule reads a ball's diameter in fractions
        decimal = check.name == DIAMETER and units == "fraction"
        return format_length(value, "decimal" if decimal else units)
    if check.unit == "holes":
        return f"{value:g}"
    return "yes" if value >= 1.0 else "no"
