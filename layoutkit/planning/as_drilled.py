"""A grip as it was drilled: what was measured afterwards in place of what was planned.

Lengths are inches. A rule that is laid between the cut edges of the two finger holes reads an arc, and
the record's bridge is measured square to the centreline: one is turned into the other by spherical
trigonometry at the thumb hole's centre (at the palm mark without a thumb hole), worked out here.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

from pydantic import ValidationError

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import hole_arc
from layoutkit.geometry.vectors import functions_for
from layoutkit.job.problems import problems_of
from layoutkit.job.record import AsDrilled, DrilledThumb, Finger, Grip, Job, Thumb, Tolerances

HOLE = 1.0 / 64.0  # inches that a hole's diameter may be off; common practice, no source
BRIDGE = "bridge at the cut edges"
_FINGERS = ("middle", "ring")
_HALVED = 1e-9  # radians


class Difference(NamedTuple):
    """A measure of a hole, or of the bridge, as planned and as drilled; inches.

    ``tolerance`` is how far it may be off. Of a pitch, forward and right are positive.
    """

    name: str
    planned: float
    measured: float
    tolerance: float

    @property
    def off(self) -> float:
        """Measured less planned."""
        return self.measured - self.planned

    @property
    def beyond(self) -> bool:
        """Whether it is off by more than the tolerance."""
        return abs(self.off) > self.tolerance + 1e-9


def as_measured(job: Job) -> Job:
    """The job with the grip as it was drilled, where that was measured; the same job without.

    What was not measured is as planned. The measures themselves are left out of it, so that whoever
    changes the grip after that does not get them back. Raises InputError where the measures cannot be
    those of one grip, or where a hole is too shallow for its vent.
    """
    measured = job.as_drilled
    if measured is None:
        return job
    parts: dict[str, Any] = {}
    for name in job.bowler.grip.digits:
        found: DrilledThumb | None = getattr(measured, name)
        if found is not None:
            parts[name] = _as_found(name, getattr(job.bowler.grip, name), found)
    grip = job.bowler.grip.model_copy(update=parts)
    if measured.bridge is not None:
        bridge = square_bridge(grip, measured.bridge, job.ball.radius)
        grip = grip.model_copy(update={"bridge": bridge})
    bowler = job.bowler.model_copy(update={"grip": grip})
    done = job.model_copy(update={"bowler": bowler, "as_drilled": None})
    done.refuse_missing_vents()  # a hole may have come out too shallow for its vent
    return done


def _as_found(name: str, planned: Finger | Thumb, found: DrilledThumb) -> Finger | Thumb:
    """A hole with its measures; InputError where it cannot have them."""
    stated = {key: getattr(planned, key) for key in planned.model_fields_set}
    stated |= {key: value for key, value in found if value is not None}
    try:
        return type(planned)(**stated)
    except ValidationError as error:
        first = problems_of(error, type(planned), "the hole")[0].error()
        if found.diameter is not None and first.field in ("sleeve.bore", "oval.length"):
            # what was planned stands in bowler.grip; the measure is what does not go with it
            part, most = "the length of its oval", planned.widest
            if planned.sleeve is not None and first.field == "sleeve.bore":
                part, most = "the bore of its sleeve", planned.sleeve.bore
            raise InputError(
                f"{found.diameter:g} in does not fit {part} as planned; possible: up to {most:g} in, or "
                f"correct bowler.grip.{name}.",
                f"as_drilled.{name}.diameter",
            ) from None
        raise InputError(first.words, f"as_drilled.{name}.{first.field}") from None


def edge_bridge(grip: Grip, radius: float) -> float:
    """The bridge of a grip from cut edge to cut edge, along the arc between the finger holes' centres."""
    middle, ring = (_reach(grip, name, radius) for name in _FINGERS)
    turn = sum(
        math.asin(math.sin((grip.bridge / 2.0 + bore) / radius) / math.sin(reach))
        for reach, bore in (middle, ring)
    )
    apart = math.cos(middle[0]) * math.cos(ring[0])
    apart += math.sin(middle[0]) * math.sin(ring[0]) * math.cos(turn)
    return radius * math.acos(apart) - middle[1] - ring[1]


def square_bridge(grip: Grip, edges: float, radius: float) -> float:
    """The bridge square to the centreline of a grip whose cut edges are ``edges`` inches apart.

    The grip's own bridge plays no part. Raises InputError where its spans allow no such bridge.
    """
    middle, ring = (_reach(grip, name, radius) for name in _FINGERS)
    bridge = float(bridge_between(middle, ring, edges, radius))
    if math.isnan(bridge):
        raise InputError(
            f"{edges:g} in between the cut edges cannot be with these spans; measure all three again.",
            "as_drilled.bridge",
        )
    return bridge


def bridge_between(middle: tuple[Any, Any], ring: tuple[Any, Any], edges: Any, radius: Any) -> Any:
    """The bridge square to the centreline of cut edges ``edges`` inches apart; NaN where none can be.

    Of each finger hole: its centre's arc from the thumb's in radians, and the radius of its cut edge
    along the ball in inches. All are numbers, or all arrays (n,).
    """
    (a, one), (b, other) = middle, ring
    f = functions_for(a, b, edges, radius)
    sine_a, sine_b = f.sin(a), f.sin(b)
    cosine = f.cos((edges + one + other) / radius) - f.cos(a) * f.cos(b)
    cosine = cosine / (sine_a * sine_b)
    whole = f.acos(f.where(abs(cosine) <= 1.0, cosine, math.nan))

    def offsets(turn: Any) -> tuple[Any, Any]:
        return f.asin(sine_a * f.sin(turn)), f.asin(sine_b * f.sin(whole - turn))

    # both near edges lie equally far from the centreline: halve the angle down to where they do
    wanted = (one - other) / radius
    low, high = 0.0 * whole, whole
    for _ in range(60):
        turn = (low + high) / 2.0
        near, far = offsets(turn)
        short = near - far < wanted
        low, high = f.where(short, turn, low), f.where(short, high, turn)
    near, far = offsets((low + high) / 2.0)
    halved = abs(near - far - wanted) < _HALVED  # not where the line would pass beside both holes
    return f.where(halved, radius * (near + far) - one - other, math.nan)


def _reach(grip: Grip, name: str, radius: float) -> tuple[float, float]:
    """A finger hole's centre from the thumb's, in radians, and its bore's radius along the ball.

    Of an oval thumb hole that is the centre of the bit at its front edge, as in `grip.span_arc`.
    """
    finger: Finger = getattr(grip, name)
    reach = finger.span + hole_arc(finger.diameter, radius)
    if grip.thumb is not None:
        reach += hole_arc(grip.thumb.diameter, radius)
    bore = finger.diameter if finger.sleeve is None else finger.sleeve.bore
    return float(reach) / radius, float(hole_arc(bore, radius))


def differences(job: Job) -> tuple[Difference, ...]:
    """Every measure of the holes as drilled beside what the job planned; none where nothing is."""
    measured = job.as_drilled
    if measured is None:
        return ()
    return tuple(_differences(job, measured))


def _differences(job: Job, measured: AsDrilled) -> Iterator[Difference]:
    grip, radius = job.bowler.grip, job.ball.radius
    allowed = job.tolerances or Tolerances()
    if measured.bridge is not None:
        yield Difference(BRIDGE, edge_bridge(grip, radius), measured.bridge, allowed.spans)
    within = {"span": allowed.spans, "diameter": HOLE, "depth": allowed.depths}
    for name in grip.digits:
        found, planned = getattr(measured, name), getattr(grip, name)
        if found is None:
            continue
        for key, most in within.items():
            value = getattr(found, key, None)
            if value is not None:
                yield Difference(f"{name} {key}", getattr(planned, key), value, most)
        if found.pitch is not None:
            for way in ("forward", "right"):
                before, now = (getattr(p, f"{way}_net") for p in (planned.pitch, found.pitch))
                yield Difference(f"{name} {way} pitch", before, now, allowed.pitches)
