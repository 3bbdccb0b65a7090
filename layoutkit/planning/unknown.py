"""What a plan does not say because the record leaves a figure open, and what needs that figure.

A first ball has no PAP, a plain ball no CG mark, a used ball no label. Nothing is filled in for them:
what depends on such a figure is None in the plan, and told here.
"""

from __future__ import annotations

from collections.abc import Iterator

from layoutkit.errors import InputError
from layoutkit.geometry.vectors import Vector
from layoutkit.job.record import Job
from layoutkit.planning.values import Mark, Plan

# fields that a record may leave open, and how a sentence names them
FIELDS = {
    "bowler.pap": "the bowler's PAP",
    "ball.top_weight": "the top weight",
    "ball.pin_to_cg": "the pin-to-CG distance",
}
LABEL = ("ball.top_weight", "ball.pin_to_cg")  # what the static weights need


def open_fields(job: Job) -> tuple[str, ...]:
    """Those of `FIELDS` that a record leaves open, by their paths."""
    values = (job.bowler.pap, job.ball.top_weight, job.ball.pin_to_cg)
    return tuple(field for field, value in zip(FIELDS, values, strict=True) if value is None)


def require(job: Job, what: str, *fields: str) -> None:
    """Raise InputError where the record leaves one of these fields open, which ``what`` needs."""
    for field in open_fields(job):
        if field in fields:
            raise InputError(f"missing; {what} needs {FIELDS[field]}, so give it.", field)


def statics_of(plan: Plan, what: str) -> Vector:
    """Side, finger and top weight in ounces; raises InputError where ``what`` needs and lacks them."""
    require(plan.job, what, *LABEL)
    s = plan.statics
    assert s.side_oz is not None
    assert s.finger_oz is not None
    assert s.top_oz is not None
    return s.side_oz, s.finger_oz, s.top_oz


def pap_of(plan: Plan, what: str) -> Mark:
    """The PAP; raises InputError where ``what`` needs and lacks it."""
    require(plan.job, what, "bowler.pap")
    assert plan.marks.pap is not None
    return plan.marks.pap


def by_angles_of(plan: Plan, what: str) -> tuple[float, float, float]:
    """Angle at the pin, pin to PAP, angle at the PAP; raises InputError where anything is open."""
    require(plan.job, what, *FIELDS)
    assert plan.layout.by_angles is not None
    return plan.layout.by_angles


def without(job: Job, *fields: str) -> str:
    """The end of a sentence, which names those of these fields that are open; empty without any."""
    names = [FIELDS[field] for field in open_fields(job) if field in fields]
    return f"not known without {' and '.join(names)}" if names else ""


def unknown(plan: Plan) -> tuple[str, ...]:
    """What the plan leaves open, a sentence each: ``side weight: not known without ...``."""
    return tuple(_sentences(plan))


def _sentences(plan: Plan) -> Iterator[str]:
    job = plan.job
    if job.bowler.pap is None:
        why = without(job, "bowler.pap")
        yield f"Angles, pin to PAP, pin to VAL, flare and lane: {why}."
    if plan.statics.side_oz is None:
        yield f"Top, side and finger weight: {without(job, *LABEL)}."
    if plan.marks.cg is None:
        yield f"CG mark and its distances: {without(job, 'ball.pin_to_cg')}."
    if plan.layout.bearing is None:
        yield (
            "Bearing at the pin: there is none without a PSA mark or a CG mark, so the ball is marked "
            "by the pin's place alone."
        )
