"""What the scale showed beside what the plan says: compared, judged, and put into a record.

Inside the library weights are named as in a record's weighing: ``gross`` in pounds, ``top``, ``side``
and ``finger`` in signed scale ounces (bottom, negative side and thumb weight are negative). `weigh`
and JSON name them as a plan does: see `FIELDS`.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any, Literal, NamedTuple, TypeVar

from layoutkit.bench.pairs import PairWeight, from_pairs, no_kind, stated, zero_errors_apart
from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Job, Scale, Weighing, scale_kind
from layoutkit.job.rules import STATICS, Check, Outcome, Static, check_weights, overall
from layoutkit.planning.given import undrilled_lb
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

Stage = Literal["undrilled", "drilled"]
_Value = TypeVar("_Value")

STAGES: tuple[Stage, ...] = ("undrilled", "drilled")
NAMES = ("gross", "top", "side", "finger")
# a weighing's names, and what a plan calls the same weights
FIELDS = {"gross": "weight_lb", "top": "top_oz", "side": "side_oz", "finger": "finger_oz"}
_NAMES = {field: name for name, field in FIELDS.items()}


class Compared(NamedTuple):
    """One weight: what was measured, what the plan says, and the ends of what it may be.

    ``low`` and ``high`` differ from ``predicted`` only while the scale's arm is not calibrated. All
    three are None where the plan does not know the weight.
    """

    name: str
    measured: float
    predicted: float | None
    low: float | None
    high: float | None

    @property
    def apart_oz(self) -> float | None:
        """Measured less predicted, in ounces for every weight; None where nothing is predicted."""
        if self.predicted is None:
            return None
        return (self.measured - self.predicted) * (OZ_PER_LB if self.name == "gross" else 1.0)

    @property
    def beyond_oz(self) -> float:
        """By how much the measured weight lies outside what it may be, in ounces; 0 inside.

        0 where nothing is predicted, too.
        """
        if self.low is None or self.high is None:
            return 0.0
        scale = OZ_PER_LB if self.name == "gross" else 1.0
        return max(self.low - self.measured, self.measured - self.high, 0.0) * scale


def _weighing(job: Job, stage: Stage) -> Weighing:
    both = job.weighings
    one: Weighing | None = None if both is None else getattr(both, stage)
    return one or Weighing()


def values(job: Job, stage: Stage) -> dict[str, float]:
    """The weights of one stage that a record states, by name: plain ones, and those of its pairs.

    Pairs are left out where the scale does not say what they mean; see `unread_pairs`.
    """
    weighing = _weighing(job, stage)
    weights = {name: getattr(weighing, name) for name in NAMES}
    if unread_pairs(job, stage) is None:
        pairs = from_pairs(job, stated(weighing.pairs), weighing.gross or undrilled_lb(job))
        weights |= {name: pair.weight for name, pair in pairs.items()}
    return {name: float(value) for name, value in weights.items() if value is not None}


def recorded(plan: Plan, stage: Stage) -> dict[str, float]:
    """What the record of a plan states of one stage, by name; pairs count as their weights do."""
    return values(plan.job, stage)


def unread_pairs(job: Job, stage: Stage) -> str | None:
    """Why the record's pairs of one stage make no weights, None where they do or there are none."""
    if not stated(_weighing(job, stage).pairs) or scale_kind(job.scale or Scale()):
        return None
    return str(no_kind())


def pair_weights(
    plan: Plan,
    stage: Stage,
    pairs: Mapping[str, tuple[float, float]] | None = None,
    gross: float | None = None,
) -> dict[str, PairWeight]:
    """The weights of pairs of readings by name, the record's of one stage where none are given.

    ``gross`` is the ball's weight in pounds; without it the weighed one of the record is taken, or
    the planned one. Raises InputError where the scale does not say what half the difference of two
    readings means, and for a name that has no pair.
    """
    weighing = _weighing(plan.job, stage)
    planned = plan.statics.weight_lb if stage == "drilled" else plan.undrilled_lb
    return from_pairs(
        plan.job,
        stated(weighing.pairs) if pairs is None else pairs,
        gross or weighing.gross or planned,
    )


def predicted(plan: Plan, stage: Stage = "drilled") -> dict[str, float]:
    """What the plan says that the scale will show, by name; what it does not know is left out."""
    drilled = stage == "drilled"
    s = plan.statics if drilled else plan.statics.undrilled
    weights = {
        "gross": plan.statics.weight_lb if drilled else plan.undrilled_lb,
        "top": s.top_oz,
        "side": s.side_oz,
        "finger": s.finger_oz,
    }
    return {name: value for name, value in weights.items() if value is not None}


def ranges(plan: Plan, stage: Stage = "drilled") -> dict[str, tuple[float, float]]:
    """The ends of what the scale may show while its arm is not calibrated."""
    result = {name: (value, value) for name, value in predicted(plan, stage).items()}
    if stage == "drilled":
        r = plan.statics.range
        statics = {"top": r.top_oz, "side": r.side_oz, "finger": r.finger_oz}
        result |= {name: ends for name, ends in statics.items() if ends is not None}
    return result


def compare(plan: Plan, measured: Mapping[str, float], stage: Stage = "drilled") -> list[Compared]:
    """Each measured weight beside the plan's, in the order of `NAMES`."""
    expected, ends = predicted(plan, stage), ranges(plan, stage)
    none = (None, None)
    return [
        Compared(n, measured[n], expected.get(n), *ends.get(n, none))
        for n in NAMES
        if n in measured
    ]


def from_undrilled(plan: Plan) -> dict[str, float]:
    """What the drilled ball will show, counted from the undrilled ball's own weighing.

    The plan's change by drilling is added to what was measured before, so that the label's rounding
    and the marks' errors drop out. Only what was weighed undrilled is in it.
    """
    s = plan.statics
    change = {"gross": s.weight_lb - plan.undrilled_lb}
    change |= {name: getattr(s.change, f"{name}_oz") for name in STATICS}
    return {name: value + change[name] for name, value in recorded(plan, "undrilled").items()}


def judge(
    plan: Plan, measured: Mapping[str, float], pairs: Mapping[str, PairWeight] | None = None
) -> tuple[Check, ...]:
    """The checks of the ball as weighed: of the measured weights, and of those that the rules ask for.

    A weight that the rule set asks for and that was not measured is incomplete. A measured value is
    what the scale shows, whatever its arm: its band is the allowance only. One of ``pairs`` on a scale
    whose arm is needed for it, and not calibrated, has a band as wide as the arm leaves it; the
    record's pairs are taken without them. The weight class follows the predicted weight where gross
    was not weighed. Raises InputError where the gross weight is not
    above 0.
    """
    value = predicted(plan) | dict(measured)
    if pairs is None:
        kept = {} if unread_pairs(plan.job, "drilled") else pair_weights(plan, "drilled")
        pairs = {name: w for name, w in kept.items() if measured.get(name) == w.weight}
    statics = {
        name: Static(value[name], value[name], value[name]) if name in value else None
        for name in STATICS
    } | {name: Static(w.weight, w.low, w.high) for name, w in pairs.items()}
    allowance = (plan.job.scale or Scale()).allowance
    checks = check_weights(plan.rules, value["gross"], statics, allowance)
    return tuple(
        c if c.name in measured else c._replace(value=None, band=None, outcome="incomplete")
        for c in checks
        if c.name in measured or c.name in plan.rules.readings
    )


class WeighIn(NamedTuple):
    """A weighing beside the plan, with the names of a plan's `Statics` throughout.

    ``measured``, ``predicted``, ``difference`` (measured less predicted) and ``from_undrilled`` (what
    the undrilled ball's weighing makes expected) have pounds by "weight_lb" and ounces by "top_oz",
    "side_oz" and "finger_oz", None where there is none; ``range`` has both ends. ``pairs`` are the
    weights made of two readings, and ``zero_errors`` says that their zero errors do not repeat, None
    where they do. ``checks`` are empty and ``outcome`` is None of an undrilled ball.
    """

    measured: Mapping[str, float | None]
    predicted: Mapping[str, float | None]
    range: Mapping[str, tuple[float, float] | None]
    difference: Mapping[str, float | None]
    from_undrilled: Mapping[str, float | None]
    pairs: Mapping[str, PairWeight]
    zero_errors: str | None
    checks: tuple[Check, ...]
    outcome: Outcome | None


def weigh(
    plan: Plan,
    readings: Mapping[str, float],
    pairs: Mapping[str, tuple[float, float]] | None = None,
) -> WeighIn:
    """What the scale showed of the drilled ball beside its plan, and whether it is legal.

    ``readings`` has pounds by "weight_lb", and by "top_oz", "side_oz" and "finger_oz" signed scale
    ounces (bottom, negative side and thumb weight are negative); any may be left out. ``pairs`` has by
    the same names, but the weight's, two readings in ounces, before and after the ball is turned end
    for end. Raises InputError for another name, for one in both, where the scale does not say what two
    readings mean, and where the gross weight is not above 0.
    """
    typed = _named(readings, "readings", FIELDS)
    turned = _named(pairs or {}, "pairs", {name: FIELDS[name] for name in STATICS})
    refuse_both(typed, turned)
    made = pair_weights(plan, "drilled", turned, typed.get("gross"))
    measured = {**typed, **{name: w.weight for name, w in made.items()}}
    return weigh_in(plan, "drilled", measured, made)


def weigh_in(
    plan: Plan, stage: Stage, measured: Mapping[str, float], pairs: Mapping[str, PairWeight]
) -> WeighIn:
    """What was measured at one stage, by the names of `NAMES`, beside the plan.

    ``pairs`` are those of its weights that two readings make. Raises InputError where the gross
    weight of a drilled ball is not above 0.
    """
    drilled = stage == "drilled"
    checks = judge(plan, measured, pairs) if drilled else ()
    expected = predicted(plan, stage)
    apart = {name: value - expected[name] for name, value in measured.items() if name in expected}
    return WeighIn(
        _fields(measured),
        _fields(expected),
        _fields(ranges(plan, stage)),
        _fields(apart),
        _fields(from_undrilled(plan) if drilled else {}),
        {FIELDS[name]: pair for name, pair in pairs.items()},
        zero_errors_apart(pairs),
        checks,
        overall(checks) if drilled else None,
    )


def _named(
    values: Mapping[str, _Value], what: str, possible: Mapping[str, str]
) -> dict[str, _Value]:
    """Values under the names of a weighing; raises InputError for a name that is not possible."""
    for field in values:
        if field not in possible.values():
            raise InputError(
                f"{what}: {field!r} is not weighed; possible: {', '.join(possible.values())}."
            )
    return {_NAMES[field]: value for field, value in values.items()}


def _fields(values: Mapping[str, _Value]) -> dict[str, _Value | None]:
    """Values of a weighing's names under a plan's; None where there is none."""
    return {field: values.get(name) for name, field in FIELDS.items()}


def refuse_both(readings: Mapping[str, float], pairs: Mapping[str, object]) -> None:
    """Raise InputError for the first weight that has a pair of readings and a plain one."""
    for name in pairs:
        if name in readings:
            raise InputError(
                f"pair {name}: stands beside a plain reading of it; give one of the two."
            )


def with_weighing(
    record: Mapping[str, Any],
    stage: Stage,
    measured: Mapping[str, Any],
    date: str,
    by: str,
    pairs: Mapping[str, tuple[float, float]] | None = None,
) -> dict[str, Any]:
    """A decoded record with a weighing put in; everything else stays as it was written.

    Weights measured earlier at the same stage and not now stay; a pair takes the place of a plain
    reading of the same weight, and the other way round. ``date`` and ``by`` are left as they
    were where empty. The record is not judged here: `parse_job` does that.
    """
    changed = copy.deepcopy(dict(record))
    both = changed.get("weighings") or {}
    one = dict(both.get(stage) or {})
    for name, value in measured.items():
        limit = limit_at(f"weighings.{stage}.{name}")
        assert limit is not None
        one[name] = limit.write(float(value))
    kept = {
        name: pair for name, pair in (one.pop("pairs", None) or {}).items() if name not in measured
    }
    for name, pair in (pairs or {}).items():
        limit = limit_at(f"weighings.{stage}.pairs.{name}.0")
        assert limit is not None
        kept[name] = [limit.write(float(reading)) for reading in pair]
        one.pop(name, None)
    if kept:
        one["pairs"] = kept
    one |= {name: text for name, text in (("date", date), ("by", by)) if text}
    changed["weighings"] = {**both, stage: one}
    return changed
