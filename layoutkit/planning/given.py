"""What a record gives, in the geometry's terms: the ball's label, its PSA arc, the arms of the scale."""

from __future__ import annotations

import math

from layoutkit.ball.layers import Label, Layers, fit_layers
from layoutkit.job.record import Job

UNCALIBRATED_ARM_LOW = 3.0  # inches; the shortest lever considered while the arm is not calibrated


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


def layers_of(job: Job, arm: float | None = None) -> Layers | None:
    """Shell, filler and core that the label implies; None where a uniform ball stands for them.

    ``arm`` replaces a calibrated scale's, in inches. Raises InputError as `fit_layers` does.
    """
    own = arms(job)
    lever = own[0] if arm is None or len(own) > 1 else arm
    return fit_layers(label_of(job), job.ball.top_weight * lever)


def psa_arc(job: Job) -> float | None:
    """Arc from the pin to the PSA mark on this ball, in inches; None without one."""
    psa = job.ball.psa
    if psa is None:
        return None
    quarter = math.pi * job.ball.diameter / 4.0
    return quarter if psa.distance == "quarter" else float(psa.distance)


def arms(job: Job) -> list[float]:
    """The stated arm; while there is none, the ball's radius and the shortest lever considered."""
    if job.scale is None or job.scale.arm is None:
        return [job.ball.diameter / 2.0, UNCALIBRATED_ARM_LOW]
    return [job.scale.arm]
