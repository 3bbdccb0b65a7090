"""From a job to a plan: where every mark and hole lies, what is left, and whether it is legal.

`plan` is one pure function. A plan is a complete frozen value; `Plan.as_dict` is its JSON. Lengths
are inches, static weights and masses ounces, ball weight pounds, angles degrees; ``xyz`` is in the
grip frame: +z out through the grip centre, +y toward the fingers, +x right seen from outside.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from layoutkit import body as _body
from layoutkit import given as _given
from layoutkit import grip as _grip
from layoutkit import layout as _layout
from layoutkit import rules as _rules
from layoutkit import vectors as _v
from layoutkit.record import Job, Scale
from layoutkit.sphere import arc, direction, from_over_up, hole_arc, mirror, to_over_up, walk
from layoutkit.units import OZ_PER_LB, fraction
from layoutkit.vectors import Array, Vector

if TYPE_CHECKING:
    from layoutkit.certainty import Spread

PROOF_TOLERANCE = 1.0 / 16.0  # inches; arcs are laid out to about this with a rule on the ball
BIT_STEP = 64  # stocked bits come in sixty-fourths


class Mark(NamedTuple):
    """A point on the ball: over and up from the grip centre, and in the grip frame."""

    over: float
    up: float
    xyz: Vector


class Marks(NamedTuple):
    """The factory's marks and the bowler's; ``psa`` is None on a ball without one."""

    pin: Mark
    cg: Mark
    psa: Mark | None
    pap: Mark
    grip_center: Mark


class LayoutNumbers(NamedTuple):
    """The layout in all three statements; ``psa_to_pap`` is None without a PSA mark."""

    drilling_angle: float
    pin_to_pap: float
    val_angle: float
    psa_to_pap: float | None
    pin_to_val: float
    bearing: float


class Distances(NamedTuple):
    """Arcs between marks, in inches."""

    pin_to_cg: float
    pin_to_grip_center: float
    cg_to_grip_center: float
    psa_to_grip_center: float | None
    cg_to_pap: float


class BoreCut(NamedTuple):
    """The bore for a sleeve: what the first bit cuts."""

    diameter: float
    depth: float
    travel: float
    sleeve_length: float


class HolePlan(NamedTuple):
    """One hole; ``axis`` points inward. ``clearance`` is the least arc from its edge to a mark."""

    name: str
    over: float
    up: float
    entry: Vector
    axis: Vector
    diameter: float
    depth: float
    tip_angle: float | None
    forward: float
    right: float
    tilt: float
    travel: float
    removed_oz: float
    from_pin: float
    from_psa: float | None
    from_cg: float
    bore: BoreCut | None
    span: float | None
    bored_span: float | None
    clearance: float


class Undrilled(NamedTuple):
    """Static weights before drilling, in scale ounces."""

    side_oz: float
    finger_oz: float
    top_oz: float


class Ranges(NamedTuple):
    """Each static weight for arms from 3 in to the ball's radius; one value where calibrated."""

    side_oz: tuple[float, float]
    finger_oz: tuple[float, float]
    top_oz: tuple[float, float]


class Statics(NamedTuple):
    """The drilled ball on the scale. + side is toward the PAP, + finger toward the fingers."""

    weight_lb: float
    removed_oz: float
    side_oz: float
    finger_oz: float
    top_oz: float
    arm: float
    calibrated: bool
    range: Ranges
    undrilled: Undrilled


class RGs(NamedTuple):
    """Principal radii of gyration about the centre of gravity, in inches."""

    rg_low: float
    rg_mid: float
    rg_high: float
    differential: float
    intermediate_differential: float


class Inertia(NamedTuple):
    """The drilled ball's RGs, where its axes meet the surface, and the undrilled model's RGs."""

    rg_low: float
    rg_mid: float
    rg_high: float
    differential: float
    intermediate_differential: float
    low_axis: Mark
    high_axis: Mark
    undrilled: RGs


class Core(NamedTuple):
    """The core that the label implies: semi-axes along pin, reference and third; g/cm3."""

    semi_axes: Vector
    density: float
    filler_density: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that `plan` computes for a job.

    ``outcome`` is about the rules; ``do_not_drill`` tells that a hole would ruin the ball. ``spreads``
    are the figures' uncertainties where the record carries tolerances, else None.
    """

    job: Job
    radius: float
    marks: Marks
    layout: LayoutNumbers
    distances: Distances
    holes: tuple[HolePlan, ...]
    walls: tuple[_grip.Wall, ...]
    statics: Statics
    inertia: Inertia
    core: Core | None
    rules: _rules.RuleSet
    checks: tuple[_rules.Check, ...]
    outcome: str
    do_not_drill: bool
    cautions: tuple[str, ...]
    spreads: Mapping[str, Spread] | None = None

    def as_dict(self) -> dict[str, object]:
        """The plan as JSON-ready plain values, full precision."""
        found: dict[str, object] = {
            "format": "layoutkit-plan",
            "version": 1,
            "title": self.job.title,
            "rules": self.rules.name,
            "marks": _plain(self.marks),
            "layout": _plain(self.layout),
            "distances": _plain(self.distances),
            "holes": [_plain(h) for h in self.holes],
            "walls": [_plain(w) for w in self.walls],
            "statics": _plain(self.statics),
            "arm_from": None if self.job.scale is None else self.job.scale.calibrated,
            "inertia": _plain(self.inertia),
            "core": None if self.core is None else _plain(self.core),
            "checks": [_plain(c) for c in self.checks],
            "outcome": self.outcome,
            "do_not_drill": self.do_not_drill,
            "cautions": list(self.cautions),
        }
        if self.spreads is not None:
            found["uncertainty"] = {
                name: {"uncertainty": s.uncertainty, "shares": dict(s.shares)}
                for name, s in self.spreads.items()
            }
        return found


def _plain(value: object) -> object:
    """A value of named fields as a dictionary, and so on inside it."""
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: _plain(part) for name, part in value._asdict().items()}
    return value


def plan(job: Job, rules: _rules.RuleSet | None = None) -> Plan:
    """Plan a job: marks, holes, statics, inertia, checks and cautions.

    ``rules`` overrides the built-in rule set that the record names. Raises InputError where the
    layout, the grip, the ball's data or the rule set's name cannot be.
    """
    rule_set = rules or _rules.rule_set(job.rules)
    hand, ball = job.bowler.hand, job.ball
    radius = ball.diameter / 2.0
    marks, numbers = _place_marks(job, radius)
    holes = _grip.place_holes(job.bowler.grip, radius, hand)

    cg = _v.scaled(marks["cg"], 1.0 / radius)
    scale = job.scale or Scale()
    arms = _given.arms(job)
    label = _given.label_of(job)
    layers = _body.fit_layers(label, ball.top_weight * arms[0])
    axes = _core_axes(marks["pin"], numbers.bearing)
    bodies = [
        _body.build_body(label, layers, axes, _v.scaled(cg, ball.top_weight * arm)) for arm in arms
    ]
    changes = _body.drill(bodies, _grip.drilling_steps(holes), len(holes))
    statics = _statics(ball.top_weight, bodies[0].weight_oz, changes, cg, arms)
    inertia = _inertia(bodies[0], changes[0], marks, radius, hand)
    hole_plans = _hole_plans(job, holes, changes[0], marks, radius)
    walls = _grip.least_walls(holes, radius)
    checks = _rules.check(rule_set, _facts(job, statics, scale.allowance))
    spreads = None
    if job.tolerances is not None:
        # numerical derivatives of many plans: loaded where they are wanted
        from layoutkit.certainty import linear

        spreads = linear(job)
        checks = _banded(job, rule_set, statics, scale.allowance, spreads)
    core = None
    if layers is not None:
        core = Core(layers.semi_axes, layers.core_density, layers.filler_density)
    place = {name: _mark(point, radius, hand) for name, point in marks.items()}
    through = [h.name for h in holes if any(_grip.runs_out(c, radius) for c in h.cavities)]
    return Plan(
        job,
        radius,
        Marks(place["pin"], place["cg"], place.get("psa"), place["pap"], place["grip_center"]),
        numbers,
        _distances(marks, radius),
        hole_plans,
        walls,
        statics,
        inertia,
        core,
        rule_set,
        checks,
        _rules.overall(checks),
        bool(through),
        _cautions(job, rule_set, layers, through, holes, hole_plans, walls, statics, scale, radius),
        spreads,
    )


def _place_marks(job: Job, radius: float) -> tuple[dict[str, Vector], LayoutNumbers]:
    """All marks in the bowler's frame, and the layout in every statement."""
    ball = job.ball
    pap = _layout.PAP(job.bowler.pap.over, job.bowler.pap.up_net)
    reference = _given.psa_arc(job)
    given = _layout.stated(job.layout)
    angles = _layout.to_angles(given, reference, pap, radius)
    placed = _layout.to_placement(given, reference, pap, radius)
    pin = from_over_up(placed.pin_over, placed.pin_up, radius)
    bearing = float(placed.bearing)
    marks = {"pin": pin}
    if ball.psa is None or reference is None:
        marks["cg"] = walk(pin, bearing, ball.pin_to_cg)[0]
    else:
        # the CG mark's bearing belongs to the ball: clockwise whatever the hand
        turn = ball.psa.cg_bearing if job.bowler.hand == "right" else -ball.psa.cg_bearing
        marks["cg"] = walk(pin, bearing + turn, ball.pin_to_cg)[0]
        marks["psa"] = walk(pin, bearing, reference)[0]
    marks["pap"] = from_over_up(pap.over, pap.up, radius)
    marks["grip_center"] = (0.0, 0.0, radius)
    pin_to_pap, val = float(angles.pin_to_pap), float(angles.val_angle)
    numbers = LayoutNumbers(
        float(angles.drilling_angle),
        pin_to_pap,
        val,
        arc(marks["psa"], marks["pap"], radius) if "psa" in marks else None,
        radius * math.asin(math.sin(pin_to_pap / radius) * math.sin(math.radians(val))),
        bearing,
    )
    return marks, numbers


def _mark(point: Vector, radius: float, hand: str) -> Mark:
    over, up = to_over_up(point, radius)
    return Mark(over, up, mirror(point, hand))


def _distances(marks: dict[str, Vector], radius: float) -> Distances:
    pin, cg, center = marks["pin"], marks["cg"], marks["grip_center"]
    return Distances(
        arc(pin, cg, radius),
        arc(pin, center, radius),
        arc(cg, center, radius),
        arc(marks["psa"], center, radius) if "psa" in marks else None,
        arc(cg, marks["pap"], radius),
    )


def _core_axes(pin: Vector, bearing: float) -> tuple[Vector, Vector, Vector]:
    """Unit vectors along the pin, along the reference mark made square to it, and the third.

    Square to the pin the reference mark's direction is the tangent at the pin with its bearing.
    """
    a: Vector = _v.unit(pin)
    b: Vector = direction(a, bearing)
    return a, b, _v.cross(a, b)


# --- statics and inertia --------------------------------------------------------------------------


def _statics(
    top_weight: float,
    weight: float,
    changes: list[_body.Change],
    cg: Vector,
    arms: list[float],
) -> Statics:
    """The scale's readings: the first moment left, over the arm; and their range over the arms.

    The label's top weight is in scale ounces already and needs no arm. A reading is monotonic in
    the arm, so that the two ends bound it.
    """
    before = _v.scaled(cg, top_weight)
    readings = [
        _v.along(before, change.first, -1.0 / arm)
        for change, arm in zip(changes, arms, strict=True)
    ]
    low = [min(values) for values in zip(*readings, strict=True)]
    high = [max(values) for values in zip(*readings, strict=True)]
    removed = sum(changes[0].removed_oz)
    side, finger, top = readings[0]
    return Statics(
        (weight - removed) / OZ_PER_LB,
        removed,
        side,
        finger,
        top,
        arms[0],
        len(arms) == 1,
        Ranges((low[0], high[0]), (low[1], high[1]), (low[2], high[2])),
        Undrilled(*before),
    )


def _central(weight: float, first: Vector, second: Array) -> list[list[float]]:
    """The inertia tensor about the centre of gravity, per weight, in in2.

    I = tr(S) 1 - S with S the second moment, shifted to the centre of gravity (Huygens-Steiner).
    """
    x, y, z = first
    (xx, _, _), (xy, yy, _), (xz, yz, zz) = second.tolist()
    xx, yy, zz = xx - x * x / weight, yy - y * y / weight, zz - z * z / weight
    xy, xz, yz = xy - x * y / weight, xz - x * z / weight, yz - y * z / weight
    return [
        [(yy + zz) / weight, -xy / weight, -xz / weight],
        [-xy / weight, (xx + zz) / weight, -yz / weight],
        [-xz / weight, -yz / weight, (xx + yy) / weight],
    ]


def _rgs(squares: list[float]) -> RGs:
    low, mid, high = math.sqrt(squares[0]), math.sqrt(squares[1]), math.sqrt(squares[2])
    return RGs(low, mid, high, high - low, high - mid)


def _inertia(
    model: _body.Body,
    change: _body.Change,
    marks: dict[str, Vector],
    radius: float,
    hand: str,
) -> Inertia:
    weight = model.weight_oz - sum(change.removed_oz)
    first = _v.minus(model.first, change.first)
    before = _central(model.weight_oz, model.first, model.second)
    after = _central(weight, first, model.second - change.second)
    squares, axes = np.linalg.eigh(np.array((before, after)))
    undrilled, drilled = squares.tolist()
    low, _, high = axes[1].T.tolist()
    return Inertia(
        *_rgs(drilled),
        _end(low, marks["pin"], radius, hand),
        _end(high, marks.get("psa", (0.0, 0.0, 1.0)), radius, hand),
        _rgs(undrilled),
    )


def _end(axis: Vector, near: Vector, radius: float, hand: str) -> Mark:
    """Where an axis meets the surface on the side of a mark."""
    return _mark(_v.scaled(axis, radius if _v.dot(axis, near) >= 0.0 else -radius), radius, hand)


# --- holes ----------------------------------------------------------------------------------------


def _hole_plans(
    job: Job,
    holes: tuple[_grip.Hole, ...],
    change: _body.Change,
    marks: dict[str, Vector],
    radius: float,
) -> tuple[HolePlan, ...]:
    hand, grip = job.bowler.hand, job.bowler.grip
    spans = {"middle": grip.middle.span, "ring": grip.ring.span}
    pin, cg, psa = marks["pin"], marks["cg"], marks.get("psa")
    # how far the bore's edge lies outside the finished one, at the thumb's end of a span
    thumb = 0.0
    if grip.thumb is not None and grip.thumb.sleeve is not None:
        thumb = hole_arc(grip.thumb.sleeve.bore, radius) - hole_arc(grip.thumb.diameter, radius)
    result = []
    for h, removed in zip(holes, change.removed_oz, strict=True):
        finished, bore, sleeve = h.finished, h.bore, h.sleeve
        entry, diameter = finished.entry, 2.0 * finished.radius
        over, up = to_over_up(entry, radius)
        from_pin, from_cg = arc(entry, pin, radius), arc(entry, cg, radius)
        from_psa = None if psa is None else arc(entry, psa, radius)
        nearest = min(from_pin, from_cg) if from_psa is None else min(from_pin, from_cg, from_psa)
        edge = bored_edge = hole_arc(diameter, radius)
        cut = None
        if bore is not None and sleeve is not None:
            bored_edge = hole_arc(sleeve.bore, radius)
            cut = BoreCut(sleeve.bore, bore.depth, _grip.travel(bore, radius), sleeve.length_net)
        span = spans.get(h.name)
        result.append(
            HolePlan(
                h.name,
                over,
                up,
                mirror(entry, hand),
                mirror(finished.axis, hand),
                diameter,
                finished.depth,
                finished.tip_angle,
                h.forward,
                h.right,
                h.tilt,
                _grip.travel(finished, radius),
                removed,
                from_pin,
                from_psa,
                from_cg,
                cut,
                span,
                None if span is None else span - (bored_edge - edge) - thumb,
                nearest - bored_edge,
            )
        )
    return tuple(result)


# --- checks and cautions --------------------------------------------------------------------------


def _facts(job: Job, s: Statics, allowance_oz: float) -> _rules.Facts:
    grip = job.bowler.grip
    return _rules.Facts(
        weight_lb=s.weight_lb,
        top=_rules.Static(s.top_oz, *s.range.top_oz),
        side=_rules.Static(s.side_oz, *s.range.side_oz),
        finger=_rules.Static(s.finger_oz, *s.range.finger_oz),
        gripping_holes=2 if grip.thumb is None else 3,
        has_thumb=grip.thumb is not None,
        palm_marked=grip.thumb is None,  # the marking steps put it on the ball
        serial=job.ball.serial,
        balance_holes=(),  # a record describes gripping holes only
        vent_holes=(),
        allowance_oz=allowance_oz,
    )


def _banded(
    job: Job,
    rule_set: _rules.RuleSet,
    s: Statics,
    allowance: float,
    spreads: Mapping[str, Spread],
) -> tuple[_rules.Check, ...]:
    """The checks of a record with tolerances: bands of two standard deviations, allowance included."""

    def within(name: str, value: float) -> _rules.Static:
        # the check itself puts the allowance on both sides
        more = spreads[name].uncertainty - allowance
        return _rules.Static(value, value - more, value + more)

    facts = replace(
        _facts(job, s, allowance),
        top=within("top_oz", s.top_oz),
        side=within("side_oz", s.side_oz),
        finger=within("finger_oz", s.finger_oz),
    )
    gross, *others = _rules.check(rule_set, facts)
    reach = spreads["weight_lb"].uncertainty
    band = (gross.value - reach, gross.value + reach)
    judged = _rules.outcome(gross.value, band, -math.inf, gross.limit)
    return (gross._replace(band=band, outcome=judged), *others)


def nearest_bit(diameter: float) -> float:
    """The stocked bit nearest to a diameter; bits come in sixty-fourths of an inch."""
    return math.floor(diameter * BIT_STEP + 0.5) / BIT_STEP


def _cautions(
    job: Job,
    rule_set: _rules.RuleSet,
    layers: _body.Layers | None,
    through: list[str],
    holes: tuple[_grip.Hole, ...],
    plans: tuple[HolePlan, ...],
    walls: tuple[_grip.Wall, ...],
    statics: Statics,
    scale: Scale,
    radius: float,
) -> tuple[str, ...]:
    """What the driller should know, the gravest first: ruin, damage to a mark, law, then the model."""
    ball, grip = job.ball, job.bowler.grip
    told = [
        f"The {name} hole comes out of the far side of the ball: do not drill it."
        for name in through
    ]
    names = ("pin", "CG mark", "PSA mark")
    for p in plans:
        edge = hole_arc(p.bore.diameter if p.bore else p.diameter, radius)
        for name, distance in zip(names, (p.from_pin, p.from_cg, p.from_psa), strict=True):
            if distance is not None and distance <= edge:
                told.append(f"The {p.name} hole cuts the {name} away.")
    deeper = [p.name for p in plans if p.bore and p.depth > p.bore.depth]
    if deeper:
        told.append(
            f"The finished {_listed(deeper)} {'holes are' if deeper[1:] else 'hole is'} deeper "
            "than the bore: nobody drills through a set insert; bore deeper or finish shallower."
        )
    if grip.thumb is None:
        told.append(
            "No thumb hole: engrave a plus sign at the palm mark (the grip centre) and cover it with "
            "the palm on every shot."
        )
    own = rule_set.weight_class(statics.weight_lb)
    near = _rules.other_classes(rule_set, statics.weight_lb, scale.allowance)
    for other in near:
        edge = own.over_lb if other.up_to_lb <= own.over_lb else own.up_to_lb
        told.append(
            f"The drilled weight of {statics.weight_lb:.3f} lb is within the scale's allowance of "
            f"{edge:.2f} lb, where other static limits begin: weigh the ball before judging it."
        )
    if any(c.status == _rules.FROM_MEMORY for c in (own, *near)):
        told.append(
            "The static limits of this weight class are from memory: confirm them in the current "
            "manual."
        )
    told += _rules.undrilled_cautions(
        rule_set,
        diameter=ball.diameter,
        weight_lb=ball.weight,
        rg_low=ball.rg_low,
        rg_high=None if ball.rg_low is None else ball.rg_low + (ball.differential or 0.0),
        differential=ball.differential,
        intermediate_differential=None
        if ball.rg_low is None
        else ball.intermediate_differential or 0.0,
        has_psa=ball.psa is not None,
        core_density=None if layers is None else layers.core_density,
    )
    if layers is None:
        told.append(
            "No RG data: the ball is taken as one uniform density, so the RGs after drilling are "
            "those of a ball without a core."
            if ball.rg_low is None
            else "No core fits these RGs under the default shell and filler: the ball is taken as one "
            "uniform density, and the RGs after drilling do not follow the label."
        )
    elif job.ball.shell is None or job.ball.filler_density is None:
        shell = f"shell {fraction(layers.shell_thickness)} in of {layers.shell_density:.2f} g/cm3"
        filler = f"filler {layers.filler_density:.2f} g/cm3"
        if job.ball.shell is not None:
            what = f"The filler is assumed ({filler})"
        elif job.ball.filler_density is not None:
            what = f"The shell is assumed ({shell})"
        else:
            what = f"Shell and filler are assumed ({shell}, {filler})"
        told.append(f"{what}: common practice, not this ball's data.")
    if not statics.calibrated:
        told.append(
            "The scale's arm is not calibrated: static weights are a range until a known weight on "
            "the surface calibrates it."
        )
    for w in walls:
        if w.meets:
            told.append(_meeting_caution(job, holes, w, radius))
    return tuple(told)


def _listed(names: list[str]) -> str:
    """Names as in a sentence: a, b and c."""
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _meeting_caution(
    job: Job, holes: tuple[_grip.Hole, ...], wall: _grip.Wall, radius: float
) -> str:
    text = (
        f"The {wall.holes[0]} and {wall.holes[1]} holes meet {wall.depth:.2f} in below the surface"
    )
    if wall.holes != _grip.FINGERS:
        return text + "."
    bridge, pitch = _grip.clearing_changes(job.bowler.grip, holes, radius, job.bowler.hand)
    ways = []
    if bridge is not None:
        ways.append(f"a bridge of {fraction(bridge)} in")
    if pitch is not None:
        ways.append(f"{fraction(pitch)} in more lateral pitch on each, bottoms apart,")
    if not ways:
        return text + "; neither a wider bridge nor lateral pitch within reason would clear them."
    return f"{text}; {' or '.join(ways)} would clear them."
