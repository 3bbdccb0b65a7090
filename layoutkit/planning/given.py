"""What a record gives, in the geometry's terms: the ball's label, its PSA arc, the arms of the scale.

The label's figures belong to the ball of its diameter; all else is about the ball as it is now, which
is smaller where it was resurfaced.
"""

from __future__ import annotations

import math

from layoutkit.ball.layers import Label, Layers, fit_layers, lost_of
from layoutkit.errors import InputError
from layoutkit.job.record import Job, Scale
from layoutkit.units import KG_PER_LB, OZ_PER_LB

# The arm while it is not calibrated, in shares of the ball's radius. No published figure fixes it. The
# weight difference between two halves of a ball whose density changes evenly across it comes to 8/15;
# an ounce on the surface that reads one ounce comes to 1. The default is the middle of the two.
UNCALIBRATED_LOW, UNCALIBRATED_ARM, UNCALIBRATED_HIGH = 8.0 / 15.0, 23.0 / 30.0, 1.0
ORDINARY_TOP_WEIGHT = (
    3.0  # oz, of a label whose top weight is not known; common practice, no source
)


HEAVIEST_KG = 7.4  # a ball of more kilograms would be heavier than any rule allows


def kilograms_meant(pounds: float) -> str:
    """The question whether a ball's weight in pounds was typed in kilograms; empty for a usual one."""
    return "" if pounds > HEAVIEST_KG else f"kg? That would be {pounds / KG_PER_LB:.2f} lb."


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
    does, and where resurfacing left nothing of the shell.
    """
    ball = job.ball
    if ball.shell is None or ball.filler_density is None:
        layers = fit_layers(label_of(job), usual_moment(job))
        if layers is not None and ball.diameter / 2.0 - ball.radius >= layers.shell_thickness:
            raise InputError(
                f"{2.0 * ball.radius:g} in leaves nothing of the shell, which is taken as "
                f"{layers.shell_thickness:g} in thick; possible: more than "
                f"{ball.diameter - 2.0 * layers.shell_thickness:g} in, or state ball.shell.",
                "ball.diameter_now",
            )
        return layers
    lever = min(max(arms(job)), ball.diameter / 2.0)
    try:
        return fit_layers(label_of(job), (imbalance(job) or 0.0) * lever)
    except InputError as error:
        meant = kilograms_meant(ball.weight)
        if not meant:
            raise
        words = f"{error.words} The ball's weight is {ball.weight:.2f} lb: {meant}"
        raise InputError(words, error.field) from None


def undrilled_lb(job: Job) -> float:
    """The undrilled ball's weight as it is now, in pounds. Raises InputError as `layers_of` does."""
    ball = job.ball
    if not ball.resurfaced:
        return ball.weight
    lost: float = lost_of(label_of(job), layers_of(job), ball.radius).weight
    return ball.weight - lost / OZ_PER_LB


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

    One without the other says nothing of side and finger weight, nor where the core lies. Resurfacing
    leaves the first moment as it is, and so the ounces on a calibrated scale; an arm that is taken as a
    share of the radius shrinks with the ball, so its ounces grow.
    """
    ball = job.ball
    if ball.pin_to_cg is None or ball.top_weight is None:
        return None
    return ball.top_weight * top_growth(job)


def top_growth(job: Job) -> float:
    """By how much resurfacing multiplies the top weight that the scale shows."""
    calibrated = job.scale is not None and job.scale.arm is not None
    return 1.0 if calibrated else 1.0 / job.ball.shrunk


def pin_to_cg(job: Job) -> float | None:
    """Arc from the pin to the CG mark on the ball as it is now, in inches; None where not known."""
    arc = job.ball.pin_to_cg
    return None if arc is None else arc * job.ball.shrunk


def psa_arc(job: Job) -> float | None:
    """Arc from the pin to the PSA mark on the ball as it is now, in inches; None without one."""
    psa = job.ball.psa
    if psa is None:
        return None
    quarter = math.pi * job.ball.radius / 2.0
    return quarter if psa.distance == "quarter" else float(psa.distance) * job.ball.shrunk


def arms(job: Job) -> list[float]:
    """The stated arm; while there is none, the default and the two ends of its range, in inches."""
    return scale_arms(job.scale, job.ball.radius)


def scale_arms(scale: Scale | None, radius: float) -> list[float]:
    """The arms of a scale under a ball of this radius, as `arms`; all in inches."""
    if scale is None or scale.arm is None:
        return [s * radius for s in (UNCALIBRATED_ARM, UNCALIBRATED_LOW, UNCALIBRATED_HIGH)]
    return [scale.arm]
