"""How certain a plan is, as text and as plain values."""

from __future__ import annotations

from typing import Any

from layoutkit.output.report import table, wrap
from layoutkit.planning.certainty import Certainty, Draws, tolerances
from layoutkit.planning.values import Plan

DEFAULTS_TAKEN = "The record has no tolerances: the documented defaults are taken."


def certainty_text(plan: Plan, certainty: Certainty) -> str:
    """Every figure of a plan with two standard deviations, and the chance of each limit."""
    lines = [f"How sure: {plan.job.title or 'the plan'}", ""]
    if plan.job.tolerances is None:
        lines += [*wrap(DEFAULTS_TAKEN, "", ""), ""]
    rows = [("", "value +/- two standard deviations", "most of it from")]
    for name, value, unit, places in figures(plan):
        spread = certainty.figures[name]
        largest = ", ".join(f"{what} {100.0 * share:.0f}%" for what, share in spread.shares[:2])
        text = f"{value:.{places}f} +/- {spread.uncertainty:.{places}f} {unit}"
        rows.append((_short_name(name).replace("_", " "), text, largest))
    lines += [*table(rows), "", "Chance that the event's scale reads beyond the limit"]
    for chance in certainty.chances.values():
        unit = "lb" if chance.name == "weight_lb" else "oz"
        lines.append(
            f"  {_short_name(chance.name):<8}{100.0 * chance.chance:5.1f} %  "
            f"(limit {chance.limit:g} {unit}, sampling error +/- {100.0 * chance.error:.1f} %)"
        )
    if certainty.draws.dropped:
        lines += ["", *wrap(dropped_words(certainty.draws), "", "")]
    return "\n".join(lines) + "\n"


def certainty_dict(plan: Plan, certainty: Certainty) -> dict[str, Any]:
    """The same as plain values at full precision."""
    return {
        "format": "layoutkit-certainty",
        "version": 2,
        "title": plan.job.title,
        "tolerances": tolerances(plan.job).model_dump(),
        "figures": {
            name: {
                "value": value,
                "uncertainty": certainty.figures[name].uncertainty,
                "unit": unit,
                "shares": dict(certainty.figures[name].shares),
            }
            for name, value, unit, _ in figures(plan)
        },
        "chances": {
            chance.name: {"limit": chance.limit, "chance": chance.chance, "error": chance.error}
            for chance in certainty.chances.values()
        },
        "illegal": {"chance": certainty.illegal.chance, "error": certainty.illegal.error},
        "draws": certainty.draws._asdict(),
        "outcome": plan.outcome,
    }


def dropped_words(draws: Draws) -> str:
    """What is said of draws that were left out."""
    return (
        f"{draws.dropped} of {draws.asked} draws are left out: no core that a ball may have "
        "fits the label as it was drawn."
    )


def _short_name(name: str) -> str:
    return name.removesuffix("_oz").removesuffix("_lb")


def figures(plan: Plan) -> list[tuple[str, float, str, int]]:
    """The plan's figures that have an uncertainty: name, value, unit, decimals."""
    s, i, d, n = plan.statics, plan.inertia, plan.distances, plan.layout
    every: list[tuple[str, float | None, str, int]] = [
        ("weight_lb", s.weight_lb, "lb", 3),
        *((k, getattr(s, k), "oz", 2) for k in ("top_oz", "side_oz", "finger_oz")),
        *((k, getattr(i, k), "in", 4) for k in ("rg_low", "rg_mid", "rg_high")),
        *((k, getattr(i, k), "in", 4) for k in ("differential", "intermediate_differential")),
        *((k, getattr(n, k), "in", 2) for k in ("pin_to_pap", "psa_to_pap", "pin_to_val")),
        *((k, v, "in", 2) for k, v in d._asdict().items()),
    ]
    return [(k, v, unit, places) for k, v, unit, places in every if v is not None]
