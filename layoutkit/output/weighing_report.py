"""A weigh-in in words: measured beside predicted, what to look at, and the verdict.

The command line prints all of it; the window takes the parts.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from layoutkit.bench.pairs import READING_OZ, PairWeight, zero_errors_apart
from layoutkit.bench.weighing import (
    NAMES,
    Compared,
    Stage,
    from_undrilled,
    judge,
    predicted,
    weigh_in,
)
from layoutkit.job.record import Job, Scale
from layoutkit.job.rules import CONFIRM, Check, not_in_force, overall
from layoutkit.job.words import NOT_KNOWN, range_words, static_words
from layoutkit.output.report import (
    WEIGHED,
    allowance,
    ball_weight,
    check_table,
    table,
    wrap,
)
from layoutkit.planning.given import kilograms_meant
from layoutkit.planning.values import Plan
from layoutkit.units import KG_PER_LB, OZ_PER_LB, Units, format_ounces


def _predicted(c: Compared, units: Units) -> str:
    """What the plan says of a weight, its range first where the arm leaves one."""
    if c.predicted is None or c.low is None or c.high is None:
        return NOT_KNOWN
    if c.low == c.high:
        return _words(c.name, c.predicted, units)
    return range_words(c.name, c.predicted, (c.low, c.high), units)


def weighing_rows(
    plan: Plan, compared: Sequence[Compared], units: Units = "fraction"
) -> list[tuple[str, str, str, str, str]]:
    """Name, measured, predicted, difference and a remark, under their heading."""
    most = allowance(plan)
    rows = [
        (
            c.name,
            _words(c.name, c.measured, units),
            _predicted(c, units),
            "" if c.apart_oz is None else format_ounces(c.apart_oz, units, signed=True),
            "beyond the allowance" if c.beyond_oz > most else "",
        )
        for c in compared
    ]
    return [("", "measured", "predicted", "difference", ""), *rows]


def weighing_remarks(
    plan: Plan, stage: Stage, compared: Sequence[Compared], units: Units = "fraction"
) -> tuple[str, ...]:
    """Remarks on the differences, a sentence or two each."""
    remarks, most = list(_slips(plan, compared, units)), allowance(plan)
    before = from_undrilled(plan) if stage == "drilled" else {}
    if before:
        counted = ", ".join(
            f"{name} {_words(name, value, units)}" for name, value in before.items()
        )
        remarks.append(f"Counted from the undrilled weighing: {counted}.")
        remarks += _contradictions(plan, compared, before, units)
    if any(c.beyond_oz > most for c in compared):
        remarks.append(
            f"A difference beyond the scale's allowance of {format_ounces(most, units)} has a "
            "reason: weigh again, and look at the label, the holes' depths and the scale's arm."
        )
    statics = any(c.name != "gross" for c in compared)
    if stage == "drilled" and statics and not plan.statics.calibrated:
        remarks.append(
            "The scale's arm is not calibrated: a difference from the prediction may be the arm's, "
            "and is remarked on only outside the prediction's range. What was measured is judged "
            "as the scale shows it."
        )
    return tuple(remarks)


def _slips(plan: Plan, compared: Sequence[Compared], units: Units) -> Iterator[str]:
    """What a weight that is not as predicted may have been meant as: kilograms, the other sign."""
    most = allowance(plan)
    for c in compared:
        if c.beyond_oz <= most or c.low is None or c.high is None:
            continue
        meant = kilograms_meant(c.measured) if c.name == "gross" else ""
        if meant and abs(c.measured / KG_PER_LB - c.low) <= 1.0:
            yield f"The gross weight is {c.measured:.2f} lb: {meant}"
        elif c.name != "gross" and c.low - most <= -c.measured <= c.high + most:
            yield (
                f"With the other sign the {c.name} weight would be as predicted, "
                f"{_words(c.name, -c.measured, units)}: which way did the ball lie on the scale?"
            )


def _contradictions(
    plan: Plan, compared: Sequence[Compared], before: Mapping[str, float], units: Units
) -> Iterator[str]:
    """Weights of the drilled ball that cannot be, after what the undrilled one weighed.

    Two weighings may be off by the allowance each. Static weights are told where the arm is known,
    as the change by drilling hangs on it.
    """
    for c in compared:
        if c.name not in before or not (c.name == "gross" or plan.statics.calibrated):
            continue
        off = (c.measured - before[c.name]) * (OZ_PER_LB if c.name == "gross" else 1.0)
        if abs(off) > 2.0 * allowance(plan):
            yield (
                f"The two weighings contradict each other: after the undrilled one the {c.name} weight "
                f"would be {_words(c.name, before[c.name], units)}, and it is "
                f"{format_ounces(abs(off), units)} off that. One of the two readings is wrong, or the "
                "holes are not those of the plan."
            )


def weighing_verdict(plan: Plan, checks: tuple[Check, ...]) -> str:
    """The outcome of the drilled ball's checks, with the checks that make it so."""
    outcome = overall(checks)
    marked = [c.name for c in checks if c.outcome == outcome != "pass"]
    which = f" ({', '.join(marked)})" if marked else ""
    return f"{WEIGHED[outcome]}{which}, under {plan.rules.name}."


def weighing_gaps(
    plan: Plan, measured: Mapping[str, float], units: Units = "fraction"
) -> tuple[str, ...]:
    """Which weights of the drilled ball were not measured, and what follows from that."""
    missing = [name for name in NAMES if name not in measured]
    gaps = []
    if missing:
        needed = [name for name in missing if name in plan.rules.readings]
        why = f"; {plan.rules.name} asks for {', '.join(needed)}" if needed else ""
        gaps.append(f"Not measured: {', '.join(missing)}{why}.")
    if "gross" in missing:
        gross = _words("gross", predicted(plan)["gross"], units)
        gaps.append(f"The limits are those for the predicted {gross}.")
    return tuple(gaps)


def weighing_text(
    plan: Plan,
    stage: Stage,
    compared: Sequence[Compared],
    units: Units = "fraction",
    pairs: Mapping[str, PairWeight] | None = None,
) -> str:
    """A weigh-in as text, with the job that it is of and the checks of a drilled ball.

    ``pairs`` are those of its weights that two readings make.
    """
    pairs = pairs or {}
    job = plan.job
    lines = wrap(job.title, indent="") if job.title else []
    lines += wrap(
        f"{job.bowler.name or 'Bowler not named'}, {job.ball.name or 'ball not named'}, serial "
        f"{job.ball.serial or 'not given'}, {stage} and weighed",
        indent="",
    )
    lines += ["", *table(weighing_rows(plan, compared, units))]
    for sentence in weighing_remarks(plan, stage, compared, units):
        lines += wrap(sentence)
    if pairs:
        lines += ["", *table(pair_rows(pairs, units))]
    for sentence in pair_remarks(plan, pairs, units):
        lines += wrap(sentence)
    if stage == "undrilled":
        lines += wrap(
            "Static limits are for the drilled ball, so nothing is judged. With --record, the weights "
            "after drilling are also counted from this weighing."
        )
        return "\n".join(lines) + "\n"
    measured = {c.name: c.measured for c in compared}
    checks = judge(plan, measured, pairs)
    lines += ["", *wrap(weighing_verdict(plan, checks), indent=""), *check_table(checks, units)]
    for sentence in weighing_gaps(plan, measured, units):
        lines += wrap(sentence)
    for sentence in not_in_force(plan.rules, _day(job)):
        lines += wrap(sentence)
    lines += wrap("Weights only: `layoutkit plan` checks the holes and the serial number.")
    lines += wrap(CONFIRM)
    return "\n".join(lines) + "\n"


def _day(job: Job) -> str | None:
    """The day of the drilled ball's weighing, else that of the job; None where neither is written."""
    drilled = None if job.weighings is None else job.weighings.drilled
    weighed = None if drilled is None else drilled.date
    return weighed or (None if job.work is None else job.work.date)


def _words(name: str, value: float, units: Units) -> str:
    return ball_weight(value, units) if name == "gross" else static_words(name, value, units)


def pair_rows(pairs: Mapping[str, PairWeight], units: Units = "fraction") -> list[tuple[str, ...]]:
    """Each pair of readings, the weight that they make and its zero error, under their heading.

    Each with its standard deviation; none without pairs.
    """
    rows = [
        (
            name,
            *(format_ounces(reading, units, signed=True) for reading in (w.a, w.b)),
            f"{static_words(name, w.weight, units)} +/- {format_ounces(w.weight_sd, units)}",
            f"{format_ounces(w.zero_error, units, signed=True)} +/- "
            f"{format_ounces(w.zero_error_sd, units)}",
        )
        for name, w in pairs.items()
    ]
    heading = ("two readings", "first", "turned", "weight", "zero error")
    return [heading, *rows] if rows else []


def pair_words(name: str, w: PairWeight, units: Units = "fraction") -> str:
    """What one pair of readings makes: the weight, its range first where the arm leaves one, and the
    zero error, each with its standard deviation.
    """
    weight = (
        range_words(name, w.weight, (w.low, w.high), units)
        if w.low < w.high
        else static_words(name, w.weight, units)
    )
    return (
        f"{weight} +/- {format_ounces(w.weight_sd, units)}; zero error "
        f"{format_ounces(w.zero_error, units, signed=True)} +/- "
        f"{format_ounces(w.zero_error_sd, units)}"
    )


def pair_remarks(
    plan: Plan, pairs: Mapping[str, PairWeight], units: Units = "fraction"
) -> tuple[str, ...]:
    """Remarks on pairs of readings, a sentence or two each; none without pairs."""
    if not pairs:
        return ()
    remarks = [
        "Each +/- is one standard deviation, of readings good to "
        f"{format_ounces(READING_OZ, units)}."
    ]
    apart = zero_errors_apart(pairs)
    if apart is not None:
        remarks.append(apart)
    if (plan.job.scale or Scale()).reading is not None:
        remarks.append("On two supports the zero error still has half the ball's weight in it.")
    ends = {name: (w.low, w.high) for name, w in pairs.items() if w.low < w.high}
    if ends:
        ranges_told = "; ".join(
            range_words(name, pairs[name].weight, each, units) for name, each in ends.items()
        )
        remarks.append(f"The scale's arm is not calibrated, so two readings make {ranges_told}.")
    return tuple(remarks)


def weighing_dict(
    plan: Plan,
    stage: Stage,
    measured: Mapping[str, float],
    pairs: Mapping[str, PairWeight] | None = None,
) -> dict[str, Any]:
    """A weigh-in as plain values; ``measured`` by name, gross in pounds, the others in ounces.

    ``pairs`` are those of its weights that two readings make.
    """
    result = weigh_in(plan, stage, measured, pairs or {})
    return {
        "format": "layoutkit-weighing",
        "version": 2,
        "title": plan.job.title,
        "rules": plan.rules.name,
        "stage": stage,
        **result._asdict(),
        "pairs": {field: pair._asdict() for field, pair in result.pairs.items()},
        "checks": [check._asdict() for check in result.checks],
    }
