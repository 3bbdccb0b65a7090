"""A plan's figures as rows ready to show; only differences and roundings are computed here.

`readings` is a pure function of a plan and, where there is one, a reference plan. The rows and their
order stand in tables, so that explanations and tests can go through them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from textwrap import wrap
from typing import Literal

from gui.state.fields import field_at, row_words
from gui.state.verdict import Kind, Verdict, kind_of, verdict, weighed_checks
from layoutkit.bench.weighing import (
    STAGES,
    Stage,
    compare,
    judge,
    pair_weights,
    recorded,
    unread_pairs,
)
from layoutkit.geometry.sphere import wrap180
from layoutkit.job.rules import CONFIRM, DRILLABLE, YES_NO, Check, Outcome, overall
from layoutkit.job.words import NOT_KNOWN, range_words, static_words
from layoutkit.output.report import (
    VERDICTS,
    ball_weight,
    check_row,
    difference_rows,
    difference_words,
    extra_rows,
    hole_rows,
    old_rows,
    operation_rows,
    oval_rows,
    oval_words,
    proof_rows,
    proof_words,
    rg_words,
    shop_cautions,
    today_words,
    wall_rows,
    weighed_words,
)
from layoutkit.output.weighing_report import (
    pair_remarks,
    pair_words,
    weighing_gaps,
    weighing_remarks,
    weighing_rows,
    weighing_verdict,
)
from layoutkit.planning.as_drilled import BRIDGE
from layoutkit.planning.unknown import LABEL, unknown, without
from layoutkit.planning.values import Plan
from layoutkit.units import Units, format_length, format_ounces

Group = Literal["weights", "layout", "distances", "marks", "inertia", "axes", "core"]

SAME = "same"  # a difference that rounds to nothing
_WRAP = 80  # columns of words under a table
WEIGH_IN = "weigh-in"  # the explanation of its table
NOTHING = ""  # where a plan has no such number

GROUPS: dict[Group, str] = {
    "weights": "Weights",
    "layout": "Layout",
    "distances": "Distances",
    "marks": "Marks",
    "inertia": "Radii of gyration",
    "axes": "Axes of the drilled ball",
    "core": "Core that the label implies",
}
OUTCOMES: dict[Outcome, str] = {
    "pass": "within the limit",
    "close": "the limit lies within the uncertainty: weigh it",
    "incomplete": "a figure that the check needs is missing",
    "fail": "beyond the limit",
}


@dataclass(frozen=True, slots=True)
class Bar:
    """A static weight against its limits, in scale ounces.

    ``value`` and ``before`` are the drilled and the undrilled ball's; where the drilled ball was
    weighed, ``value`` is what the scale showed and ``planned`` what the plan says, which is else None.
    ``band`` is the value with its uncertainty, ``limits`` the least and the most allowed, ``reference``
    the reference plan's value.
    ``scale`` is the greatest of all these as a magnitude, at least the limit's: the bar's half length.
    Texts are in the units asked for; ``text`` starts with the range where it is ``ranged``, while the
    arm is not calibrated.
    """

    key: str
    label: str
    minus: str
    plus: str
    value: float
    before: float
    band: tuple[float, float]
    limits: tuple[float, float]
    reference: float | None
    scale: float
    outcome: Outcome
    words: str
    text: str
    ranged: bool
    before_text: str
    band_text: str
    limit_text: str
    difference: str
    planned: float | None = None
    planned_text: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One number: its text, before drilling and by drilling where that means something.

    ``difference`` is from the reference plan: signed, `same`, or empty without one. ``missing`` says
    without which figure of the record the number is not known; empty where it is known.
    """

    key: str
    group: Group
    label: str
    text: str
    before: str
    change: str
    difference: str
    missing: str = ""


@dataclass(frozen=True, slots=True)
class CheckRow:
    """A check in words; ``reference`` is the outcome in the reference plan where that differs."""

    name: str
    value: str
    limit: str
    band: str
    outcome: Outcome
    words: str
    source: str
    reference: str
    kind: Kind


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of texts under a heading of as many columns; a shorter row runs on over the columns."""

    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Weighed:
    """One weigh-in: a row for each weight (its name first), remarks on it, the verdict.

    ``beyond`` are the names of the weights that lie farther off than the scale's allowance.
    ``outcome`` is None, and ``checks`` and ``verdict`` are empty, of an undrilled ball.
    """

    title: str
    table: Table
    beyond: tuple[str, ...]
    remarks: tuple[str, ...]
    outcome: Outcome | None
    verdict: str
    checks: tuple[CheckRow, ...]
    gaps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Readings:
    """Everything that the window reads out of one plan."""

    outcome: Outcome
    verdict: str
    judged: Verdict  # on the ball as weighed, where it was
    why: str  # the first reason of an outcome that is neither pass nor close
    reasons: tuple[str, ...]
    rules: str
    confirm: str
    bars: tuple[Bar, ...]
    no_bars: str  # without which figures the static weights are not known
    rows: tuple[Reading, ...]
    checks: tuple[CheckRow, ...]
    operations: Table
    oval: Table
    extra: Table
    old: Table
    drilled: Table  # as drilled, beside what was planned
    holes: Table
    proof: Table
    walls: Table
    unknown: tuple[str, ...]  # what the record leaves open
    questions: tuple[str, ...]
    cautions: tuple[str, ...]
    shop: tuple[str, ...]
    weighed: tuple[Weighed, ...]  # the drilled ball first


@dataclass(frozen=True, slots=True)
class Spec:
    """How one reading is taken from a plan: None where the plan has no such number.

    ``needs`` tells which fields of a record, that it may leave open, the number needs on such a ball.
    """

    key: str
    group: Group
    label: str
    get: Callable[[Plan], float | None]
    show: Callable[[float, Units], str]
    before: Callable[[Plan], float] | None = None
    needs: Callable[[Plan], tuple[str, ...]] = lambda _: ()


def _degrees(value: float, units: Units) -> str:
    return f"{value:.1f}°"


def _density(value: float, units: Units) -> str:
    return f"{value:.2f} g/cm3"


def _core_axis(value: float, units: Units) -> str:
    return rg_words(value, units, places=2)


def _arm(value: float, units: Units) -> str:
    return format_length(value, "decimal" if units == "fraction" else units)


def _axis(index: int) -> Callable[[Plan], float | None]:
    return lambda p: None if p.core is None else p.core.semi_axes[index]


def _pap(_: Plan) -> tuple[str, ...]:
    return ("bowler.pap",)


def _cg(_: Plan) -> tuple[str, ...]:
    return ("ball.pin_to_cg",)


def _pap_and_cg(_: Plan) -> tuple[str, ...]:
    return ("bowler.pap", "ball.pin_to_cg")


def _reference_line(plan: Plan) -> tuple[str, ...]:
    """The line to the reference mark runs to the CG mark only where there is no PSA mark."""
    return () if plan.marks.psa is not None else _cg(plan)


def _pap_and_line(plan: Plan) -> tuple[str, ...]:
    return (*_pap(plan), *_reference_line(plan))


def _pap_beside_psa(plan: Plan) -> tuple[str, ...]:
    """Without a PSA mark there is no such number, whatever the record says."""
    return () if plan.marks.psa is None else _pap(plan)


SPECS: tuple[Spec, ...] = (
    Spec(
        "gross", "weights", "Gross weight", lambda p: p.statics.weight_lb, ball_weight,
        lambda p: p.undrilled_lb,
    ),
    Spec("removed", "weights", "Removed in all", lambda p: p.statics.removed_oz, format_ounces),
    Spec("arm", "weights", "Scale's arm", lambda p: p.statics.arm, _arm),
    Spec("pin_over", "layout", "Pin over", lambda p: p.marks.pin.over, proof_words),
    Spec("pin_up", "layout", "Pin up", lambda p: p.marks.pin.up, proof_words),
    Spec(
        "bearing", "layout", "Bearing",
        lambda p: p.layout.bearing, _degrees, needs=_reference_line,
    ),
    Spec(
        "angle_at_pin", "layout", "Angle at the pin",
        lambda p: p.layout.angle_at_pin, _degrees, needs=_pap_and_line,
    ),
    Spec(
        "pin_to_pap", "layout", "Pin to PAP",
        lambda p: p.layout.pin_to_pap, proof_words, needs=_pap,
    ),
    Spec(
        "angle_at_pap", "layout", "Angle at the PAP",
        lambda p: p.layout.angle_at_pap, _degrees, needs=_pap,
    ),
    Spec(
        "psa_to_pap", "layout", "PSA to PAP",
        lambda p: p.layout.psa_to_pap, proof_words, needs=_pap_beside_psa,
    ),
    Spec(
        "pin_to_val", "layout", "Pin to VAL",
        lambda p: p.layout.pin_to_val, proof_words, needs=_pap,
    ),
    Spec(
        "pin_to_cg", "distances", "Pin to CG",
        lambda p: p.distances.pin_to_cg, proof_words, needs=_cg,
    ),
    Spec(
        "pin_to_grip_center", "distances", "Pin to grip centre",
        lambda p: p.distances.pin_to_grip_center, proof_words,
    ),
    Spec(
        "cg_to_grip_center", "distances", "CG to grip centre",
        lambda p: p.distances.cg_to_grip_center, proof_words, needs=_cg,
    ),
    Spec(
        "psa_to_grip_center", "distances", "PSA to grip centre",
        lambda p: p.distances.psa_to_grip_center, proof_words,
    ),
    Spec(
        "cg_to_pap", "distances", "CG to PAP",
        lambda p: p.distances.cg_to_pap, proof_words, needs=_pap_and_cg,
    ),
    Spec(
        "cg_over", "marks", "CG over",
        lambda p: p.marks.cg and p.marks.cg.over, proof_words, needs=_cg,
    ),
    Spec("cg_up", "marks", "CG up", lambda p: p.marks.cg and p.marks.cg.up, proof_words, needs=_cg),
    Spec(
        "psa_over", "marks", "PSA over",
        lambda p: None if p.marks.psa is None else p.marks.psa.over, proof_words,
    ),
    Spec(
        "psa_up", "marks", "PSA up",
        lambda p: None if p.marks.psa is None else p.marks.psa.up, proof_words,
    ),
    Spec(
        "pap_over", "marks", "PAP over",
        lambda p: p.marks.pap and p.marks.pap.over, proof_words, needs=_pap,
    ),
    Spec(
        "pap_up", "marks", "PAP up",
        lambda p: p.marks.pap and p.marks.pap.up, proof_words, needs=_pap,
    ),
    Spec(
        "rg_low", "inertia", "Low RG", lambda p: p.inertia.rg_low, rg_words,
        lambda p: p.inertia.undrilled.rg_low,
    ),
    Spec(
        "rg_mid", "inertia", "Middle RG", lambda p: p.inertia.rg_mid, rg_words,
        lambda p: p.inertia.undrilled.rg_mid,
    ),
    Spec(
        "rg_high", "inertia", "High RG", lambda p: p.inertia.rg_high, rg_words,
        lambda p: p.inertia.undrilled.rg_high,
    ),
    Spec(
        "differential", "inertia", "Differential", lambda p: p.inertia.differential, rg_words,
        lambda p: p.inertia.undrilled.differential,
    ),
    Spec(
        "intermediate_differential", "inertia", "Intermediate differential",
        lambda p: p.inertia.intermediate_differential, rg_words,
        lambda p: p.inertia.undrilled.intermediate_differential,
    ),
    Spec("low_over", "axes", "Low RG axis over", lambda p: p.inertia.low_axis.over, proof_words),
    Spec("low_up", "axes", "Low RG axis up", lambda p: p.inertia.low_axis.up, proof_words),
    Spec("high_over", "axes", "High RG axis over", lambda p: p.inertia.high_axis.over, proof_words),
    Spec("high_up", "axes", "High RG axis up", lambda p: p.inertia.high_axis.up, proof_words),
    Spec("core_pin", "core", "Semi-axis along the pin", _axis(0), _core_axis),
    Spec("core_reference", "core", "Semi-axis along the reference mark", _axis(1), _core_axis),
    Spec("core_across", "core", "Semi-axis across", _axis(2), _core_axis),
    Spec(
        "core_density", "core", "Core density",
        lambda p: None if p.core is None else p.core.density, _density,
    ),
    Spec(
        "filler_density", "core", "Filler density",
        lambda p: None if p.core is None else p.core.filler_density, _density,
    ),
)  # fmt: skip

# name of the check, label, and what each direction is called, negative first
BARS: tuple[tuple[Literal["side", "finger", "top"], str, str, str], ...] = (
    ("side", "Side weight", "negative", "positive"),
    ("finger", "Finger or thumb weight", "thumb", "finger"),
    ("top", "Top weight", "bottom", "top"),
)


def readings(
    plan: Plan, units: Units = "fraction", reference: Plan | None = None, fit_words: str = ""
) -> Readings:
    """The rows of a plan, with differences from a reference where there is one.

    ``fit_words`` is what the plan takes of the shop's fit, the first of the cautions.
    """
    checks = {c.name: c for c in plan.checks}
    old = {} if reference is None else {c.name: c for c in reference.checks}
    outcome_words = f"{plan.outcome.upper()} under {plan.rules.name}: {VERDICTS[plan.outcome]}"
    weighed = {c.name: c for c in weighed_checks(plan) if c.value is not None}
    heading, *operations = operation_rows(plan, units)
    hole_heading, *holes = hole_rows(plan, units)
    proof_heading, *proof = proof_rows(plan, units)
    return Readings(
        plan.outcome,
        outcome_words,
        verdict(plan, units),
        _why(plan, units),
        plan.reasons,
        f"{plan.rules.title}. {plan.rules.in_force}",
        CONFIRM,
        tuple(
            _bar(*bar, plan, check, units, reference, weighed.get(bar[0]))
            for bar in BARS
            if (check := checks[bar[0]]).value is not None
        ),
        without(plan.job, *LABEL),
        tuple(_reading(spec, plan, units, reference) for spec in SPECS),
        tuple(_check(c, units, old.get(c.name)) for c in plan.checks),
        Table(heading, tuple(operations)),
        _oval(plan, units),
        _table(extra_rows(plan, units)),
        _table(old_rows(plan, units)),
        _table(difference_rows(plan, units)) if plan.differences else Table((), ()),
        Table(hole_heading, tuple(holes)),
        Table(proof_heading, tuple(proof)),
        Table(("holes", "the least wall between them"), tuple(wall_rows(plan, units))),
        unknown(plan),
        tuple(question_words(path, words) for path, words in plan.questions),
        (
            *((fit_words,) if fit_words else ()), *weighed_words(plan, units), *_arm_words(plan),
            *difference_words(plan, units), *today_words(plan, units),
            *plan.cautions,
        ),
        shop_cautions(plan),
        tuple(each for stage in reversed(STAGES) if (each := _weighed(plan, stage, units)) is not None),
    )  # fmt: skip


def question_words(path: str, words: str) -> str:
    """A question, with the name of its field in front."""
    field = field_at(path)
    return words if field is None else f"{field.section}, {field.label}: {row_words(path, words)}"


def _why(plan: Plan, units: Units) -> str:
    """The first reason why a plan fails or is incomplete, empty where it does neither."""
    if plan.outcome not in ("fail", "incomplete"):
        return ""
    if plan.reasons:
        return plan.reasons[0]
    first = next(check for check in plan.checks if check.outcome == plan.outcome)
    row = _check(first, units, None)
    limit = f", {row.limit}" if row.limit else ""
    return f"{row.name}: {row.value}{limit}: {row.words}."


def _weighed(plan: Plan, stage: Stage, units: Units) -> Weighed | None:
    """What the record says was weighed at one stage, beside what the plan says; None without."""
    measured = recorded(plan, stage)
    if not measured:
        return None
    assert plan.job.weighings is not None
    one = getattr(plan.job.weighings, stage)
    when = "".join(f" {word} {text}" for word, text in (("on", one.date), ("by", one.by)) if text)
    compared = compare(plan, measured, stage)
    pairs = {} if unread_pairs(plan.job, stage) else pair_weights(plan, stage)
    heading, *rows = weighing_rows(plan, compared, units)
    checks = judge(plan, measured, pairs) if stage == "drilled" else ()
    return Weighed(
        f"Weighed {stage}{when}",
        Table(heading, tuple(rows)),
        tuple(row[0] for row in rows if row[-1]),
        (*weighing_remarks(plan, stage, compared, units), *pair_remarks(plan, pairs, units)),
        overall(checks) if stage == "drilled" else None,
        weighing_verdict(plan, checks) if stage == "drilled" else "",
        tuple(_check(c, units, None) for c in checks),
        weighing_gaps(plan, measured, units) if stage == "drilled" else (),
    )


def pair_notes(plan: Plan, units: Units = "fraction") -> dict[str, str]:
    """What each pair of readings of the record makes, in words, by the pair's field.

    A pair that makes no weight, because the scale does not say what it means, is left out.
    """
    return {
        f"weighings.{stage}.pairs.{name}": pair_words(name, pair, units)
        for stage in STAGES
        if unread_pairs(plan.job, stage) is None
        for name, pair in pair_weights(plan, stage).items()
    }


def drilled_notes(plan: Plan, units: Units = "fraction") -> dict[str, str]:
    """What was planned and how far the measure is off, by the field of each measure after drilling."""
    rows = difference_rows(plan, units)[1:] if plan.differences else []
    notes = {}
    for d, (_, planned, _, off, beyond) in zip(plan.differences, rows, strict=True):
        digit, *measure = d.name.split()
        path = ".".join(
            (digit, *reversed(measure))
        )  # of "middle forward pitch" middle.pitch.forward
        words = f"planned {planned}, off by {off}{f', {beyond}' if beyond else ''}"
        notes[f"as_drilled.{'bridge' if d.name == BRIDGE else path}"] = words
    return notes


def _short(angle: float) -> str:
    """An angle to a tenth of a degree, whole ones without a decimal."""
    return f"{round(angle, 1) + 0.0:g}°"


def layout_words(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """A plan's layout in short lines, each figure with its name."""
    n, pin = plan.layout, plan.marks.pin
    placed = (
        f"pin over {proof_words(pin.over, units)}",
        f"pin {'down' if pin.up < 0.0 else 'up'} {proof_words(abs(pin.up), units)}",
    )
    if n.by_angles is None:
        return placed
    at_pin, away, at_pap = n.by_angles
    return (
        *placed,
        f"angle at the pin {_short(at_pin)}",
        f"angle at the PAP {_short(at_pap)}",
        f"pin to PAP {proof_words(away, units)}",
    )


def drilled_words(
    plan: Plan, key: Literal["side", "finger", "top"], units: Units = "fraction"
) -> str:
    """A static weight of the drilled ball; its range first while the arm is not calibrated."""
    value = getattr(plan.statics, f"{key}_oz")
    ends = getattr(plan.statics.range, f"{key}_oz")
    if plan.statics.calibrated or value is None or ends is None:
        return static_words(key, value, units)
    return range_words(key, value, ends, units)


def result_words(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """What a plan's layout comes to, in short lines: static weights and differentials."""
    s, i = plan.statics, plan.inertia
    weights = [static_words(k, getattr(s, f"{k}_oz"), units) for k in ("side", "finger", "top")]
    if plan.core is None:
        return tuple(weights)
    return (
        *weights,
        f"differential {rg_words(i.differential, units)}",
        f"intermediate {rg_words(i.intermediate_differential, units)}",
    )


def _oval(plan: Plan, units: Units) -> Table:
    """Where the press sets the bit for an oval thumb hole, between what has to be known first."""
    hole = next((h for h in plan.holes if h.oval is not None), None)
    if hole is None or hole.oval is None:
        return Table((), ())
    heading, *rows = oval_rows(hole.oval, units)
    before, after = oval_words(hole, hole.oval, units)
    notes = [("", line) for line in (*wrap(before, _WRAP), *wrap(after, _WRAP))]
    return Table(heading, (*rows, *notes))


def _table(rows: list[tuple[str, ...]]) -> Table:
    heading, *rest = rows
    return Table(heading, tuple(rest))


def _arm_words(plan: Plan) -> tuple[str, ...]:
    """Where the scale's arm comes from, where that is known."""
    calibrated = "" if plan.job.scale is None else plan.job.scale.calibrated
    if not calibrated:
        return ()
    return (f"The scale's arm, {plan.statics.arm:.3f} in, was calibrated: {calibrated}.",)


def _bar(
    key: Literal["side", "finger", "top"],
    label: str,
    minus: str,
    plus: str,
    plan: Plan,
    check: Check,
    units: Units,
    reference: Plan | None,
    weighed: Check | None,
) -> Bar:
    before = getattr(plan.statics.undrilled, f"{key}_oz")
    old = None if reference is None else getattr(reference.statics, f"{key}_oz")
    planned = check.value
    text, ranged = drilled_words(plan, key, units), not plan.statics.calibrated
    if weighed is not None:
        check, ranged = weighed, False
        text = static_words(key, weighed.value, units)
    assert planned is not None
    assert check.value is not None
    assert check.band is not None
    _, _, limit, band, _ = check_row(check, units)
    outcome = check.outcome
    reach = (check.limit, before, planned, *check.band, old or 0.0)
    return Bar(
        key,
        label,
        minus,
        plus,
        check.value,
        before,
        check.band,
        (-check.limit, check.limit),
        old,
        max(map(abs, reach)),
        outcome,
        OUTCOMES[outcome],
        text,
        ranged,
        static_words(key, before, units),
        band,
        limit,
        "" if old is None else _difference(planned, old, format_ounces, units),
        None if weighed is None else planned,
        "" if weighed is None else static_words(key, planned, units),
    )


def _reading(spec: Spec, plan: Plan, units: Units, reference: Plan | None) -> Reading:
    value = spec.get(plan)
    if value is None:
        missing = without(plan.job, *spec.needs(plan))
        text = NOT_KNOWN if missing else NOTHING
        return Reading(spec.key, spec.group, spec.label, text, "", "", "", missing)
    before = None if spec.before is None else spec.before(plan)
    old = None if reference is None else spec.get(reference)
    return Reading(
        spec.key,
        spec.group,
        spec.label,
        spec.show(value, units),
        "" if before is None else spec.show(before, units),
        "" if before is None else _difference(value, before, spec.show, units),
        "" if old is None else _difference(value, old, spec.show, units),
    )


def _difference(
    value: float, other: float, show: Callable[[float, Units], str], units: Units
) -> str:
    """How much the value is above the other, with a sign; angles the shorter way round."""
    more = float(wrap180(value - other)) if show is _degrees else value - other
    text = show(abs(more), units)
    if not any(c in "123456789" for c in text.removesuffix("cm3")):
        return SAME
    return f"{'+' if more > 0.0 else '-'}{text}"


def _check(check: Check, units: Units, old: Check | None) -> CheckRow:
    name, value, limit, band, _ = check_row(check, units)
    outcome = check.outcome
    words = OUTCOMES[outcome]
    if check.name == DRILLABLE:
        words = "nothing ruins the ball" if outcome == "pass" else "do not drill"
    elif check.unit == YES_NO:
        words = "is there" if outcome == "pass" else "is missing"
    before = "" if old is None or old.outcome == check.outcome else f"was {old.outcome}"
    kind = kind_of(check.name, check.unit)
    return CheckRow(name, value, limit, band, outcome, words, check.source, before, kind)
