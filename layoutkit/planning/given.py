"""What a record gives, in the geometry's terms: the ball's label, its PSA arc, the arms of the scale."""

from __future__ import annotations

import math

from layoutkit.ball.layers import Label, Layers, fit_layers
from layoutkit.job.record import Job

# The arm while it is not calibrated, in shares of the ball's radius. No published figure fixes it. The
# weight difference between two halves of a ball whose density changes evenly across it comes to 8/15;
# an ounce on the surface that reads one ounce comes to 1. The default is the middle of the two.
UNCALIBRATED_LOW, UNCALIBRATED_ARM, UNCALIBRATED_HIGH = 8.0 / 15.0, 23.0 / 30.0, 1.0
ORDINARY_TOP_WEIGHT = (
    3.0  # oz, of a label whose top weight is not known; common practice, no source
)


def label_of(job: Job) -> Label:
    """What the record says of the ball's body."""
    ball = job.ball
    shell = None if ball.shell is None else (ball.shell.thickness, ball.shell.density)
    return Label(
        ball.diameter / 2.0,
        ball.weight,
        ball.rg_low,
        ball.differential or 0.0,
        ball.intermediate_differential or 0.0,
        shell,
        ball.filler_density,
    )


def layers_of(job: Job) -> Layers | None:
    """Shell, filler and core that the label implies; None where a uniform ball stands for them.

    Where the record is silent about shell or filler, they are chosen by `usual_moment`: neither a
    calibration nor a figure that is left open may change what the ball is made of. Stated ones are
    judged with the scale's arm, but with none beyond the radius. Raises InputError as `fit_layers`
    does.
    """
    ball = job.ball
    if ball.shell is None or ball.filler_density is None:
        return fit_layers(label_of(job), usual_moment(job))
    lever = min(max(arms(job)), ball.diameter / 2.0)
    return fit_layers(label_of(job), (imbalance(job) or 0.0) * lever)


def usual_moment(job: Job) -> float:
    """The first moment in oz in by which layers are chosen that the record does not state.

    It is the label's top weight at the ball's radius, whatever the scale's arm and wherever the CG
    mark lies. A label of an unknown top weight is taken for one of `ORDINARY_TOP_WEIGHT`.
    """
    ball = job.ball
    top_weight = ORDINARY_TOP_WEIGHT if ball.top_weight is None else ball.top_weight
    return top_weight * ball.diameter / 2.0


def imbalance(job: Job) -> float | None:
    """The label's top weight in ounces; None where it, or where the CG mark lies, is not known.

    One without the other says nothing of side and finger weight, nor where the core lies.
    """
    ball = job.ball
    return None if ball.pin_to_cg is None else ball.top_weight


def psa_arc(job: Job) -> float | None:
    """Arc from the pin to the PSA mark on this ball, in inches; None without one."""
    psa = job.ball.psa
    if psa is None:
        return None
    quarter = math.pi * job.ball.diameter / 4.0
    return quarter if psa.distance == "quarter" else float(psa.distance)


def arms(job: Job) -> list[float]:
    """The stated arm; while there is none, the default and the two ends of its range, in inches."""
    if job.scale is None or job.scale.arm is None:
        radius = job.ball.diameter / 2.0
        return [s * radius for s in (UNCALIBRATED_ARM, UNCALIBRATED_LOW, UNCALIBRATED_HIGH)]
    return [job.scale.arm]
