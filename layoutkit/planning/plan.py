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

from layoutkit.ball import body as _body
from layoutkit.geometry import vectors as _v
from layoutkit.geometry.solids import Bore
from layoutkit.geometry.sphere import (
    arc,
    direction,
    from_over_up,
    hole_arc,
    mirror,
    to_over_up,
    walk,
)
from layoutkit.geometry.vectors import Array, Vector
from layoutkit.job import rules as _rules
from layoutkit.job.record import Job, Scale
from layoutkit.planning import extras as _extras
from layoutkit.planning import given as _given
from layoutkit.planning import grip as _grip
from layoutkit.planning import history as _history
from layoutkit.planning import layout as _layout
from layoutkit.planning import oval as _oval
from layoutkit.units import OZ_PER_LB, fraction

if TYPE_CHECKING:
    from layoutkit.planning.certainty import Spread

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


class OvalCut(NamedTuple):
    """One bore of an oval hole: where the press sets the bit, from the oval's middle, in inches.

    ``along`` toward the fingers, ``across`` to the right, square to the drill; ``travel`` as a
    hole's.
    """

    along: float
    across: float
    travel: float


class OvalPlan(NamedTuple):
    """An oval hole: ``cuts`` in the order of cutting, ``scallop`` the height left between two.

    ``direction`` is that of its long way, degrees from the centreline to the right. A milled slot has
    no scallop and its two ends for cuts.
    """

    length: float
    direction: float
    milled: bool
    scallop: float
    cuts: tuple[OvalCut, ...]


class HolePlan(NamedTuple):
    """One hole; ``axis`` points inward. ``clearance`` is the least arc from its edge to a mark.

    Of an ``oval`` hole ``over``, ``up`` and ``entry`` are its middle's and ``diameter`` is the bit's.
    """

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
    oval: OvalPlan | None = None


class ExtraHolePlan(NamedTuple):
    """A vent or inspection hole; ``into`` names the gripping hole that a vent opens into."""

    kind: str
    name: str
    into: str
    over: float
    up: float
    entry: Vector
    axis: Vector
    diameter: float
    depth: float
    travel: float
    removed_oz: float


class OldHolePlan(NamedTuple):
    """A hole that the ball had before; ``plugged`` is how far down it is filled, 0 where open.

    ``removed_oz`` is what it lost, net of its plug.
    """

    name: str
    over: float
    up: float
    entry: Vector
    axis: Vector
    diameter: float
    depth: float
    tip_angle: float | None
    plugged: float
    plug_density: float | None
    removed_oz: float


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
    extra_holes: tuple[ExtraHolePlan, ...] = ()
    old_holes: tuple[OldHolePlan, ...] = ()

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
            "extra_holes": [_plain(h) for h in self.extra_holes],
            "old_holes": [_plain(h) for h in self.old_holes],
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
    if isinstance(value, tuple) and value and hasattr(value[0], "_asdict"):
        return [_plain(part) for part in value]
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
    extras = _extras.place_extras(job.extra_holes, holes, radius)
    old: tuple[_history.Old, ...] = ()
    if job.history is not None:
        reference = numbers.bearing
        old = _history.place_old(job.history.holes, marks["pin"], reference, hand, radius)

    cg = _v.scaled(marks["cg"], 1.0 / radius)
    scale = job.scale or Scale()
    arms = _given.arms(job)
    label = _given.label_of(job)
    layers = _body.fit_layers(label, ball.top_weight * arms[0])
    axes = _core_axes(marks["pin"], numbers.bearing)
    bodies = [
        _body.build_body(label, layers, axes, _v.scaled(cg, ball.top_weight * arm)) for arm in arms
    ]
    changes = _changes(bodies, holes, extras, old)
    statics = _statics(ball.top_weight, bodies[0].weight_oz, changes, cg, arms)
    inertia = _inertia(bodies[0], changes[0], marks, radius, hand)
    hole_plans = _hole_plans(job, holes, changes[0], marks, radius)
    walls = _grip.least_walls(holes, radius)
    cavities = [(h.name, h.cavities) for h in holes]
    if extras or old:
        walls += _other_walls(cavities, extras, old, radius)
    facts = _facts(job, statics, scale.allowance, cavities, extras, old)
    checks = _rules.check(rule_set, facts)
    spreads = None
    if job.tolerances is not None:
        # numerical derivatives of many plans: loaded where they are wanted
        from layoutkit.planning.certainty import linear

        spreads = linear(job)
        checks = _banded(rule_set, facts, spreads)
    core = None
    if layers is not None:
        core = Core(layers.semi_axes, layers.core_density, layers.filler_density)
    place = {name: _mark(point, radius, hand) for name, point in marks.items()}
    cavities += [(e.name, (e.bore,)) for e in extras]
    through = [name for name, cut in cavities if any(_grip.runs_out(c, radius) for c in cut)]
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
        (
            *_cautions(
                job,
                rule_set,
                layers,
                through,
                holes,
                hole_plans,
                walls,
                statics,
                scale,
                marks,
                radius,
            ),
            *_other_cautions(holes, cavities, old),
        ),
        spreads,
        _extra_plans(extras, changes[0], len(holes), radius, hand),
        _old_plans(old, changes[0], len(holes) + len(extras), radius, hand),
    )


def _changes(
    bodies: list[_body.Body],
    holes: tuple[_grip.Hole, ...],
    extras: tuple[_extras.ExtraHole, ...],
    old: tuple[_history.Old, ...],
) -> list[_body.Change]:
    """What all steps take: the old holes and their plugs first, then the grip, then the extra holes.

    A milled slot is approached by bores, whose missing slivers shrink with the square of the distance
    from bore to bore: half of that distance tells how much is still missing (Richardson, Phil. Trans.
    R. Soc. A 210, 1911, 307).
    """
    n, m = len(holes), len(holes) + len(extras)
    before, after = _history.history_steps(old, m), _extras.extra_steps(extras, n)

    def cut(finer: bool) -> list[_body.Change]:
        steps = [*before, *_grip.drilling_steps(holes, finer), *after]
        return _body.drill(bodies, steps, m + len(old))

    changes = cut(False)
    if not any(h.finer for h in holes):
        return changes

    def limit(a: float, b: float) -> float:
        return b + (b - a) / 3.0

    better = []
    for a, b in zip(changes, cut(True), strict=True):
        removed = tuple(map(limit, a.removed_oz, b.removed_oz))
        x, y, z = map(limit, a.first, b.first)
        better.append(_body.Change(removed, (x, y, z), b.second + (b.second - a.second) / 3.0))
    return better


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
        wide, oval = grip.thumb.diameter, grip.thumb.oval
        if oval is not None:
            wide = 2.0 * _oval.front(wide, oval.length, oval.direction)
        thumb = hole_arc(grip.thumb.sleeve.bore, radius) - hole_arc(wide, radius)
    result = []
    for h, removed in zip(holes, change.removed_oz, strict=False):
        finished, bore, sleeve = h.finished, h.bore, h.sleeve
        entry, diameter = finished.entry, 2.0 * finished.radius
        over, up = to_over_up(entry, radius)
        from_pin, from_cg = arc(entry, pin, radius), arc(entry, cg, radius)
        from_psa = None if psa is None else arc(entry, psa, radius)
        nearest = min(from_pin, from_cg) if from_psa is None else min(from_pin, from_cg, from_psa)
        if len(h.mouths) > 1:
            there = [mark for mark in (pin, cg, psa) if mark is not None]
            nearest = min([arc(m.entry, mark, radius) for m in h.mouths for mark in there])
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
                _oval_plan(job, h, radius),
            )
        )
    return tuple(result)


def _oval_plan(job: Job, hole: _grip.Hole, radius: float) -> OvalPlan | None:
    """Where the press sets the bit for an oval thumb hole."""
    thumb = job.bowler.grip.thumb
    if hole.name != "thumb" or thumb is None or thumb.oval is None:
        return None
    oval, bit = thumb.oval, thumb.diameter
    n = 2 if oval.milled else len(hole.cuts)
    places = _oval.offsets(bit, oval.length, oval.direction, n)
    scallop = 0.0 if oval.milled else _oval.scallop_of(bit, (oval.length - bit) / (n - 1))
    cuts = tuple(
        OvalCut(at.along, at.across, _grip.travel(cut, radius))
        for at, cut in zip(places, hole.cuts, strict=False)
    )
    return OvalPlan(oval.length, oval.direction, oval.milled, scallop, cuts)


def _extra_plans(
    extras: tuple[_extras.ExtraHole, ...],
    change: _body.Change,
    first: int,
    radius: float,
    hand: str,
) -> tuple[ExtraHolePlan, ...]:
    plans = []
    for e, removed in zip(extras, change.removed_oz[first:], strict=False):
        b = e.bore
        over, up = to_over_up(b.entry, radius)
        plans.append(
            ExtraHolePlan(
                e.kind, e.name, e.into, over, up, mirror(b.entry, hand), mirror(b.axis, hand),
                2.0 * b.radius, b.depth, _grip.travel(b, radius), removed,
            )
        )  # fmt: skip
    return tuple(plans)


def _old_plans(
    old: tuple[_history.Old, ...], change: _body.Change, first: int, radius: float, hand: str
) -> tuple[OldHolePlan, ...]:
    plans = []
    for o, removed in zip(old, change.removed_oz[first:], strict=True):
        b = o.bore
        over, up = to_over_up(b.entry, radius)
        plans.append(
            OldHolePlan(
                o.name, over, up, mirror(b.entry, hand), mirror(b.axis, hand),
                2.0 * b.radius, b.depth, b.tip_angle, o.plugged,
                None if o.plug is None else o.plug.density, removed,
            )
        )  # fmt: skip
    return tuple(plans)


# --- checks and cautions --------------------------------------------------------------------------


def _facts(
    job: Job,
    s: Statics,
    allowance_oz: float,
    cavities: list[tuple[str, tuple[Bore, ...]]],
    extras: tuple[_extras.ExtraHole, ...],
    old: tuple[_history.Old, ...],
) -> _rules.Facts:
    grip = job.bowler.grip
    vents = [e for e in extras if e.kind == _extras.VENT]
    mouths = [bore for _, bores in cavities for bore in bores]
    mills = [e.bore for e in extras if e.kind == _extras.INSPECTION]
    into = [v.into for v in vents]
    return _rules.Facts(
        weight_lb=s.weight_lb,
        top=_rules.Static(s.top_oz, *s.range.top_oz),
        side=_rules.Static(s.side_oz, *s.range.side_oz),
        finger=_rules.Static(s.finger_oz, *s.range.finger_oz),
        gripping_holes=2 if grip.thumb is None else 3,
        has_thumb=grip.thumb is not None,
        palm_marked=grip.thumb is None,  # the marking steps put it on the ball
        serial=job.ball.serial,
        # what nobody's finger is in counts as a balance hole (USBC, in force 2020-08-01)
        balance_holes=tuple(2.0 * o.bore.radius for o in _history.left_open(old, mouths)),
        vent_holes=tuple(2.0 * v.bore.radius for v in vents),
        most_vents=max(map(into.count, into), default=0),
        inspection_holes=tuple((2.0 * b.radius, b.depth) for b in mills),
        allowance_oz=allowance_oz,
    )


def _banded(
    rule_set: _rules.RuleSet, facts: _rules.Facts, spreads: Mapping[str, Spread]
) -> tuple[_rules.Check, ...]:
    """The checks of a record with tolerances: bands of two standard deviations, allowance included."""

    def within(name: str, static: _rules.Static) -> _rules.Static:
        # the check itself puts the allowance on both sides
        more = spreads[name].uncertainty - facts.allowance_oz
        return _rules.Static(static.value, static.value - more, static.value + more)

    widened = replace(
        facts,
        top=within("top_oz", facts.top),
        side=within("side_oz", facts.side),
        finger=within("finger_oz", facts.finger),
    )
    gross, *others = _rules.check(rule_set, widened)
    reach = spreads["weight_lb"].uncertainty
    band = (gross.value - reach, gross.value + reach)
    judged = _rules.outcome(gross.value, band, -math.inf, gross.limit)
    return (gross._replace(band=band, outcome=judged), *others)


def _other_walls(
    cavities: list[tuple[str, tuple[Bore, ...]]],
    extras: tuple[_extras.ExtraHole, ...],
    old: tuple[_history.Old, ...],
    radius: float,
) -> tuple[_grip.Wall, ...]:
    """Walls of the extra holes, but between a vent and its hole, and of what is open of old ones."""
    named = list(cavities)
    walls = []
    for extra in extras:
        walls += [
            _grip.wall((name, extra.name), bores, [extra.bore], radius)
            for name, bores in named
            if name != extra.into
        ]
        named.append((extra.name, (extra.bore,)))
    return (*walls, *_history.old_walls(old, named, radius))


def _other_cautions(
    holes: tuple[_grip.Hole, ...],
    cavities: list[tuple[str, tuple[Bore, ...]]],
    old: tuple[_history.Old, ...],
) -> list[str]:
    """What odd holes and old ones call for."""
    told = []
    if any(len(h.cuts) > 1 for h in holes):
        told.append(
            "Overlapping bores pull the bit aside: clamp the ball, cut in the printed order, and work "
            "the scallops off before anyone puts a thumb in."
        )
    if old:
        told.append(
            "What was drilled before is taken from the record: the marks' arcs to the old holes decide "
            "where the plugs lie, so measure them on the ball."
        )
    told += [
        f"The {name} hole cuts into the plug of {was}: let the plug cure as its maker says, and keep its "
        "dust off skin and out of lungs."
        for name, was in _history.runs_into(old, cavities)
    ]
    told += [
        f"{o.name} is left open and counts as a balance hole."
        for o in _history.left_open(old, [b for _, bores in cavities for b in bores])
    ]
    return told


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
    marks: dict[str, Vector],
    radius: float,
) -> tuple[str, ...]:
    """What the driller should know, the gravest first: ruin, damage to a mark, law, then the model."""
    ball, grip = job.ball, job.bowler.grip
    told = [
        f"The {name} hole comes out of the far side of the ball: do not drill it."
        for name in through
    ]
    names = {"pin": "pin", "cg": "CG mark", "psa": "PSA mark"}
    told += [
        f"The {h.name} hole cuts the {name} away."
        for h, p in zip(holes, plans, strict=True)
        if p.clearance <= 0.0
        for mark, name in names.items()
        if mark in marks and any(_covers(mouth, marks[mark], radius) for mouth in h.mouths)
    ]
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


def _covers(mouth: Bore, point: Vector, radius: float) -> bool:
    """Whether a point of the surface lies within a bore's mouth."""
    return bool(arc(mouth.entry, point, radius) <= hole_arc(2.0 * mouth.radius, radius))


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
