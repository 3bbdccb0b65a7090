"""A plan in short: whether to drill it and why, the layout, the weights, the cuts, what to mind.

Everything else of the plan, from the marking steps to the sources of the rules, is in `report`.
"""

from __future__ import annotations

from layoutkit.job.words import range_words, static_words
from layoutkit.output.report import (
    PLUG_CAUTION,
    ball_weight,
    cautions_section,
    cuts_section,
    difference_words,
    layout_words,
    outcome_lines,
    questions_section,
    today_words,
    unknown_section,
    weighed_words,
    wrap,
)
from layoutkit.planning.values import Plan
from layoutkit.units import Units

CARE = (
    "Clamp the ball, keep hands, sleeves and hair from the bit, wear eye protection and gloves, extract "
    "dust and fumes. A thumb hole that does not fit can injure: try the grip, and refit before play. "
    "Local rules, the rule book in force and licensed practice decide."
)
MORE = "Marks, marking steps, arcs to measure, walls, inertia and the rules' sources: --full."


def short_report(plan: Plan, units: Units = "fraction") -> str:
    """The plan as text of a few lines, each of at most 100 columns; ``units`` as in `report`."""
    job = plan.job
    whose = ", ".join(filter(None, (job.bowler.name, job.ball.name, job.ball.serial)))
    title = wrap(job.title or whose, indent="") if job.title or whose else []
    plugs = wrap(PLUG_CAUTION, indent="") if plan.old_holes else []
    sections = (
        title,
        outcome_lines(plan, units),
        [
            *_named("Layout", [layout_words(plan, units)]),
            *_named("Weights", _weights(plan, units)),
        ],
        cuts_section(plan, units),
        cautions_section(plan),
        unknown_section(plan),
        questions_section(plan),
        [*wrap(CARE, indent=""), *plugs, *wrap(MORE, indent="")],
    )
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def _named(name: str, sentences: list[str]) -> list[str]:
    """Sentences under each other, a name before the first."""
    lines: list[str] = []
    for sentence in sentences:
        lines += wrap(sentence, f"{'' if lines else name:<9}", indent="")
    return lines


def _weights(plan: Plan, units: Units) -> list[str]:
    """The weights after drilling, what today's work does to them, and what was weighed and measured."""
    s = plan.statics
    parts = []
    for name in ("top", "side", "finger"):
        value, ends = getattr(s, f"{name}_oz"), getattr(s.range, f"{name}_oz")
        sure = s.calibrated or value is None or ends is None
        words = static_words(name, value, units) if sure else range_words(name, value, ends, units)
        parts.append(f"{name} {words}")
    gross = f"gross {ball_weight(s.weight_lb, units)}"
    more = (*today_words(plan, units), *weighed_words(plan, units), *difference_words(plan, units))
    return [f"{'; '.join(parts)}; {gross}.", *more]
