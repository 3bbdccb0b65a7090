"""What the track says about the axis point, in words and as values for another program."""

from __future__ import annotations

from typing import Any

from layoutkit.bench.axis import AxisFit, Sureness
from layoutkit.geometry.sphere import mirror
from layoutkit.output.report import table, wrap
from layoutkit.units import MM_PER_INCH, Units, format_length


def axis_text(fit: AxisFit, hand: str, units: Units = "fraction") -> str:
    """The fit for people, with a line for each mark."""
    size = format_length(2.0 * fit.radius, "metric" if units == "metric" else "decimal")
    lines = [f"Axis point from the track: {hand} hand, ball of {size}"]
    up = f"{_length(abs(fit.up), units)} {'up' if fit.up >= 0.0 else 'down'}"
    rows = [
        ("PAP", f"{_length(fit.over, units)} over, {up}", f"({fit.over:.3f}, {fit.up:+.3f} in)")
    ]
    rows.append(
        ("unsure by", _small(fit.unsure, units), "one standard deviation, where it is most")
    )
    of_a_mark = f"of {_small(fit.deviation, units)} for a mark"
    rows.append(("  by marking", _small(fit.stated.most, units), of_a_mark))
    if fit.observed is None:
        rows.append(("  by misfit", "unknown", "as many marks as the ring needs, none to check"))
    else:
        rows.append(("  by misfit", _small(fit.observed.most, units), "of the marks from the ring"))
    lines += table(rows)
    lines += wrap("Twice as much covers some nine cases in ten.")
    for ring in fit.rings:
        lines += ["", f"Ring {ring.name}"]
        facts = [
            ("axis tilt", f"{ring.tilt:.1f} deg"),
            ("from PAP to ring", _length(ring.from_pap, units)),
            ("track, arc", f"{_length(ring.track_arc, units)} across the negative side"),
            ("track, diameter", f"{_length(ring.track_diameter, units)} straight through"),
            ("marks span", f"{ring.covered:.0f} deg of the ring"),
        ]
        if len(fit.rings) > 1 and not fit.shared:
            facts.insert(0, ("axis", f"{_length(ring.over, units)} over, {ring.up:+.3f} in up"))
            facts.append(("from first axis", _small(ring.migration, units)))
        facts += [
            (f"mark {i}", f"{_small(abs(off), units)} {'outside' if off > 0 else 'inside'}")
            for i, off in enumerate(ring.residuals, start=1)
        ]
        lines += table(facts)
    for caution in fit.cautions:
        lines += ["", *wrap(f"Caution: {caution}", indent="")]
    return "\n".join(lines) + "\n"


def _length(inches: float, units: Units) -> str:
    return format_length(inches, units, 16)


def _small(inches: float, units: Units) -> str:
    """A misfit or a deviation, which no rule shows in fractions."""
    return f"{inches * MM_PER_INCH:.1f} mm" if units == "metric" else f"{inches:.3f} in"


def axis_dict(fit: AxisFit, hand: str) -> dict[str, Any]:
    """The fit at full precision; ``xyz`` in the grip frame, residuals positive outside the ring."""
    return {
        "format": "layoutkit-axis",
        "version": 1,
        "hand": hand,
        "diameter": 2.0 * fit.radius,
        "standard_deviation": fit.deviation,
        "shared": fit.shared,
        "pap": {"over": fit.over, "up": fit.up, "xyz": list(mirror(fit.xyz, hand))},
        "tilt": fit.tilt,
        "uncertainty": {
            "used": fit.unsure,
            "stated": _sureness(fit.stated),
            "observed": _sureness(fit.observed),
        },
        "rms": fit.rms,
        "freedom": fit.freedom,
        "rings": [
            {
                "name": ring.name,
                "pap": {"over": ring.over, "up": ring.up, "xyz": list(mirror(ring.xyz, hand))},
                "tilt": ring.tilt,
                "from_pap": ring.from_pap,
                "track_arc": ring.track_arc,
                "track_diameter": ring.track_diameter,
                "covered": ring.covered,
                "migration": ring.migration,
                "residuals": list(ring.residuals),
                "stated": _sureness(ring.stated),
                "observed": _sureness(ring.observed),
            }
            for ring in fit.rings
        ],
        "cautions": list(fit.cautions),
    }


def _sureness(value: Sureness | None) -> dict[str, float] | None:
    return None if value is None else value._asdict()
