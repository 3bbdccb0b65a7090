"""The verdict on the ball: its outcome, why, what can mend that, and where to go for it.

A ball that was weighed is judged by what the scale showed; the plan's own outcome stands beside it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from layoutkit.bench.weighing import judge, recorded
from layoutkit.job.rules import DIAMETER, DRILLABLE, OUTCOMES, READINGS, YES_NO, Check, Outcome
from layoutkit.job.rules import overall as worst
from layoutkit.output.report import reason_words
from layoutkit.planning.unknown import FIELDS, LABEL, open_fields
from layoutkit.planning.values import Plan
from layoutkit.units import Units

Kind = Literal["ruin", "weights", "holes", "paperwork"]

KINDS: dict[Kind, str] = {
    "ruin": "The ball itself",
    "weights": "Weights",
    "holes": "Holes and size",
    "paperwork": "Paperwork and marks",
}
PLANNED, AS_WEIGHED = "as planned", "as weighed"
CHANGE = "View, What to change: the least change of depths and layout."
DECIDES = "The scale decides: weigh the drilled ball."
AGAIN = "Weigh again, and look at the label, the holes' depths and the scale's arm."
RUINED = "Move or change the holes; the cautions say which."
ONE_LESS = "Take a hole out of the plan, or make it smaller."
RULE_BOOK = "Ask the rule book in force whether it holds for this ball."
TYPE_IT = "Type it into its field."


@dataclass(frozen=True, slots=True)
class Reason:
    """One check that does not pass: why in words, what can mend it, the field to go to or none."""

    name: str
    kind: Kind
    outcome: Outcome
    words: str
    mend: str
    path: str = ""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The outcome, of what it is, the worst reasons first; ``beside`` is the plan's own outcome.

    ``beside`` is empty where the verdict is the plan's own.
    """

    outcome: Outcome
    headline: str
    of: str
    reasons: tuple[Reason, ...]
    beside: str

    @property
    def mends(self) -> tuple[str, ...]:
        """What can mend the reasons, each once."""
        return tuple(dict.fromkeys(reason.mend for reason in self.reasons))


def kind_of(name: str, unit: str) -> Kind:
    """What a check is about, so that paperwork is told apart from weights."""
    if name == DRILLABLE:
        return "ruin"
    if name in READINGS:
        return "weights"
    return "paperwork" if unit == YES_NO else "holes"


def weighed_checks(plan: Plan) -> tuple[Check, ...]:
    """The checks of the drilled ball as the record says that it was weighed; none where it was not."""
    measured = recorded(plan, "drilled")
    return judge(plan, measured) if measured else ()


def judged_checks(plan: Plan) -> tuple[Check, ...]:
    """The checks that the verdict is made of: a weighed ball's weights in place of the planned ones."""
    weighed = weighed_checks(plan)
    others = (c for c in plan.checks if not weighed or c.name not in READINGS)
    return (*weighed, *others)


def verdict(plan: Plan, units: Units = "fraction") -> Verdict:
    """The verdict on a plan, or on the ball that was weighed after it."""
    weighed = weighed_checks(plan)
    checks = judged_checks(plan)
    outcome = worst(checks)
    wrong = sorted(
        (c for c in checks if c.outcome != "pass"), key=lambda c: -OUTCOMES.index(c.outcome)
    )
    missing = [c.name for c in wrong if c.value is None]
    reasons = [
        reason
        for c in wrong
        if c.value is not None or c.name == missing[0]  # one sentence for all that is missing
        for reason in _reasons(plan, c, missing, bool(weighed), units)
    ]
    headline = "DO NOT DRILL" if plan.reasons and not weighed else outcome.upper()
    if weighed and outcome == "pass":
        headline = "LEGAL"
    return Verdict(
        outcome,
        headline,
        AS_WEIGHED if weighed else PLANNED,
        tuple(reasons),
        f"planned: {plan.outcome}" if weighed else "",
    )


def _reasons(
    plan: Plan, check: Check, missing: list[str], weighed: bool, units: Units
) -> Iterable[Reason]:
    kind = kind_of(check.name, check.unit)
    if kind == "ruin":
        return [Reason(check.name, kind, check.outcome, why, RUINED) for why in plan.reasons]
    if kind == "weights" and weighed:
        path = f"weighings.drilled.{check.name}"
        if check.value is None:
            words, mend = f"{_weights(missing)} not weighed", "Weigh it and type it in."
            return [Reason(check.name, kind, check.outcome, words, mend, path)]
        words = reason_words(check, units)
        return [Reason(check.name, kind, check.outcome, words, AGAIN, path)]
    if check.value is None:
        return [_open(plan, check, missing)]
    words, path = reason_words(check, units), ""
    mend = DECIDES if check.outcome == "close" else CHANGE
    if check.name == DIAMETER:
        mend, path = RULE_BOOK, "ball.diameter_now" if plan.job.ball.resurfaced else "ball.diameter"
    elif kind == "holes":
        mend = ONE_LESS
    elif kind == "paperwork":
        mend, path = TYPE_IT, "ball.serial" if check.name == "serial" else ""
    return [Reason(check.name, kind, check.outcome, words, mend, path)]


def _open(plan: Plan, check: Check, missing: list[str]) -> Reason:
    """Static weights that are not known, because the record leaves something of the label open."""
    fields = [field for field in open_fields(plan.job) if field in LABEL]
    names = " and ".join(FIELDS[field] for field in fields)
    words = f"{_weights(missing)} not known"
    path = fields[0] if fields else ""
    return Reason(check.name, "weights", check.outcome, words, f"Give {names}.", path)


def _weights(names: list[str]) -> str:
    *first, last = names
    return f"{', '.join(first)}{' and ' if first else ''}{last} weight"
