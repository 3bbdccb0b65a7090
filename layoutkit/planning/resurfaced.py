"""What a label's figures come to on a ball that was resurfaced since.

The cover is taken to have come off evenly, so that the centre stays where it was. A cover that came off
unevenly, or a flat, is left out: nobody can tell its shape from the record.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from layoutkit.ball.layers import Layers, lost_of
from layoutkit.geometry.sphere import hole_arc
from layoutkit.job.record import Job
from layoutkit.planning.given import label_of, pin_to_cg, top_growth
from layoutkit.units import OZ_PER_LB


class BallFigures(NamedTuple):
    """An undrilled ball's figures; RGs about its centre, as a label has them. None: not known."""

    diameter: float
    weight_lb: float
    top_oz: float | None
    pin_to_cg: float | None
    rg_low: float | None
    rg_mid: float | None
    rg_high: float | None
    differential: float | None
    intermediate_differential: float | None


class Resurfaced(NamedTuple):
    """A ball before and after: its ``label``, as it is ``now``, and what it lost in ounces.

    ``depth_lost`` in inches is what the cover lost everywhere, and every hole that was there before.
    """

    label: BallFigures
    now: BallFigures
    lost_oz: float
    depth_lost: float


def resurfaced(job: Job, layers: Layers | None) -> Resurfaced | None:
    """The figures of a ball of these ``layers`` that is smaller now than its label says; else None.

    RG'^2 = (W RG^2 - lost moment of inertia) / W', for each axis. The lost cover weighs as much as the
    shell, or as the whole ball where that is taken as one density.
    """
    ball = job.ball
    if not ball.resurfaced:
        return None
    lost = lost_of(label_of(job), layers, ball.radius)
    before = ball.weight * OZ_PER_LB
    after = before - lost.weight
    rgs: tuple[float, ...] | None = None
    shrunk: tuple[float, ...] | None = None
    if ball.rg_low is not None:
        high = ball.rg_low + (ball.differential or 0.0)
        rgs = (ball.rg_low, high - (ball.intermediate_differential or 0.0), high)
        shrunk = tuple(math.sqrt((before * rg * rg - lost.inertia) / after) for rg in rgs)
    top = ball.top_weight
    return Resurfaced(
        _figures(ball.diameter, before, top, ball.pin_to_cg, rgs),
        _figures(
            2.0 * ball.radius,
            after,
            None if top is None else top * top_growth(job),
            pin_to_cg(job),
            shrunk,
        ),
        lost.weight,
        ball.diameter / 2.0 - ball.radius,
    )


def _figures(
    diameter: float,
    weight_oz: float,
    top: float | None,
    to_cg: float | None,
    rgs: tuple[float, ...] | None,
) -> BallFigures:
    weight = weight_oz / OZ_PER_LB
    if rgs is None:
        return BallFigures(diameter, weight, top, to_cg, None, None, None, None, None)
    low, mid, high = rgs
    return BallFigures(diameter, weight, top, to_cg, low, mid, high, high - low, high - mid)


def span_now(span: float, thumb: float, finger: float, before: float, now: float) -> float:
    """What a span comes to on a ball ground down from radius ``before`` to ``now``; inches.

    ``thumb`` and ``finger`` are diameters. Radial holes keep their angles, and their mouths their width.
    """
    apart = span + float(hole_arc(thumb, before) + hole_arc(finger, before))
    return apart * now / before - float(hole_arc(thumb, now) + hole_arc(finger, now))
