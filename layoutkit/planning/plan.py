"""From a job to a plan: where every mark and hole lies, what is left, and whether it is legal.

`plan` is one pure function. Lengths are inches, static weights and masses ounces, angles degrees.
What is placed is in the bowler's frame of `layoutkit.geometry.sphere`; a plan's ``xyz`` are in the
grip frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from layoutkit.ball import density as _density
from layoutkit.ball import layers as _layers
from layoutkit.geometry import vectors as _v
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import arc, hole_arc, mirror, to_over_up
from layoutkit.geometry.vectors import Array, Vector
from layoutkit.job import rules as _rules
from layoutkit.job.built_in_rules import rule_set as built_in_rules
from layoutkit.job.record import Job, OuterSleeve, Scale
from layoutkit.planning import as_drilled as _as_drilled
from layoutkit.planning import drilled as _drilled
from layoutkit.planning import extras as _extras
from layoutkit.planning import given as _given
from layoutkit.planning import grip as _grip
from layoutkit.planning import history as _history
from layoutkit.planning import layout as _layout
from layoutkit.planning import oval as _oval
from layoutkit.planning import placing as _placing
from layoutkit.planning import resurfaced as _resurfaced
from layoutkit.planning import ruin as _ruin
from layoutkit.planning.cautions import cautions
from layoutkit.planning.placing import MarkPoints, Placed
from layoutkit.planning.questions import questions
from layoutkit.planning.values import (
    BoreCut,
    Core,
    ExtraHolePlan,
    HolePlan,
    Inertia,
    LayoutNumbers,
    Mark,
    MarkArcs,
    Marks,
    OldHolePlan,
    OvalCut,
    OvalPlan,
    Plan,
    RGs,
    StaticChange,
    StaticRanges,
    Statics,
    TodaysWork,
    UndrilledStatics,
)
from layoutkit.units import OZ_PER_LB

if TYPE_CHECKING:
    from layoutkit.planning.certainty import Spread

PROOF_TOLERANCE = 1.0 / 16.0  # inches; arcs are laid out to about this with a rule on the ball
BIT_STEP = 64  # stocked bits come in sixty-fourths


def plan(job: Job, rules: _rules.RuleSet | None = None) -> Plan:
    """Plan a job: marks, holes, statics, inertia, checks and cautions.

    Holes that were measured after drilling are taken as they were measured. ``rules`` overrides the
    built-in rule set that the record names. Raises InputError where the layout, the grip, the ball's
    data or the rule set's name cannot be.
    """
    differences, job = _as_drilled.differences(job), _as_drilled.as_measured(job)
    rule_set = rules or built_in_rules(job.rules)
    placed = _placing.place(job)
    radius, marks = placed.radius, placed.marks
    layers = _given.layers_of(job)
    bodies = _bodies(job, marks, layers)
    changes = _changes(bodies, placed)
    statics = _statics(job, bodies[0].weight_oz, changes, marks)
    ruined = _ruin.reasons(job, placed)
    checks, spreads = _checks(job, rule_set, statics, placed, bool(ruined), changes[0])
    holes, extras = len(placed.holes), len(placed.extras)
    walls = _walls(placed)
    result = Plan(
        job=job,
        radius=radius,
        marks=_marks(placed),
        layout=_layout_numbers(job, marks),
        distances=_mark_arcs(marks, radius),
        holes=_hole_plans(job, placed, changes[0]),
        walls=walls,
        statics=statics,
        inertia=_inertia(bodies[0], changes[0], placed),
        core=None
        if layers is None
        else Core(layers.semi_axes, layers.core_density, layers.filler_density),
        rules=rule_set,
        checks=checks,
        outcome=_rules.overall(checks),
        cautions=(),
        reasons=ruined,
        questions=questions(job, placed, walls),
        spreads=spreads,
        extra_holes=_extra_plans(placed, changes[0].removed_oz[holes:]),
        old_holes=_old_plans(placed, changes[0].removed_oz[holes + extras :]),
        today=_todays_work(job, bodies, placed, changes[0]),
        differences=differences,
        resurfaced=_resurfaced.resurfaced(job, layers),
    )
    return replace(result, cautions=cautions(result, placed, layers))


# --- marks ----------------------------------------------------------------------------------------


def _marks(placed: Placed) -> Marks:
    points = placed.marks

    def mark(point: Vector) -> Mark:
        return _mark(point, placed.radius, placed.hand)

    def mark_if_there(point: Vector | None) -> Mark | None:
        return None if point is None else mark(point)

    return Marks(
        mark(points.pin),
        mark_if_there(points.cg),
        mark_if_there(points.psa),
        mark_if_there(points.pap),
        mark((0.0, 0.0, placed.radius)),
    )


def _mark(point: Vector, radius: float, hand: str) -> Mark:
    over, up = to_over_up(point, radius)
    return Mark(over, up, mirror(point, hand))


def _layout_numbers(job: Job, marks: MarkPoints) -> LayoutNumbers:
    radius = job.ball.radius
    bearing = None if marks.psa is None and marks.cg is None else float(marks.bearing)
    pap = _layout.axis_point(job.bowler)
    if pap is None:
        return LayoutNumbers(None, None, None, None, None, bearing)
    angles = _layout.to_angles(_layout.stated(job.layout), _given.psa_arc(job), pap, radius)
    pin_to_pap, val = float(angles.pin_to_pap), float(angles.angle_at_pap)
    return LayoutNumbers(
        None if bearing is None else float(angles.angle_at_pin),
        pin_to_pap,
        val,
        None if marks.psa is None else arc(marks.psa, marks.pap, radius),
        float(_layout.pin_to_val(pin_to_pap, val, radius)),
        bearing,
    )


def _mark_arcs(marks: MarkPoints, radius: float) -> MarkArcs:
    pin, cg, center = marks.pin, marks.cg, (0.0, 0.0, radius)

    def arc_if_there(one: Vector | None, other: Vector | None) -> float | None:
        return None if one is None or other is None else arc(one, other, radius)

    return MarkArcs(
        arc_if_there(pin, cg),
        arc(pin, center, radius),
        arc_if_there(cg, center),
        arc_if_there(marks.psa, center),
        arc_if_there(cg, marks.pap),
    )


# --- the ball and what drilling takes -------------------------------------------------------------


def _bodies(job: Job, marks: MarkPoints, layers: _layers.Layers | None) -> list[_layers.Body]:
    """The undrilled ball for each of the scale's arms; centred where its imbalance is not known."""
    label, axes = _given.label_of(job), _placing.core_axes(marks)
    top_weight = _given.imbalance(job)
    if top_weight is None:
        top_weight, cg = 0.0, marks.pin
    else:
        cg = _v.scaled(marks.cg, 1.0 / job.ball.radius)
    return [
        _layers.build_body(label, layers, axes, _v.scaled(cg, top_weight * arm), job.ball.radius)
        for arm in _given.arms(job)
    ]


def _changes(bodies: list[_layers.Body], placed: Placed) -> list[_density.Change]:
    """What all steps take: the old holes and their plugs first, then the grip, then the extra holes.

    A milled slot is approached by bores, whose missing slivers shrink with the square of the distance
    from bore to bore: half of that distance tells how much is still missing (Richardson, Phil. Trans.
    R. Soc. A 210, 1911, 307).
    """
    holes, extras, old = placed.holes, placed.extras, placed.old
    n, m = len(holes), len(holes) + len(extras)
    before, after = _history.history_steps(old, m), _extras.extra_steps(extras, n)

    def cut(finer: bool) -> list[_density.Change]:
        steps = [*before, *_grip.drilling_steps(holes, finer), *after]
        return _density.drill(bodies, steps, m + len(old))

    changes = cut(False)
    if not any(h.finer for h in holes):
        return changes

    def limit(a: float, b: float) -> float:
        return b + (b - a) / 3.0

    better = []
    for a, b in zip(changes, cut(True), strict=True):
        removed = tuple(map(limit, a.removed_oz, b.removed_oz))
        x, y, z = map(limit, a.first, b.first)
        better.append(_density.Change(removed, (x, y, z), b.second + (b.second - a.second) / 3.0))
    return better


def taken(job: Job) -> Array:
    """What drilling takes of a job's ball, (10,), as `variants.changes` has it. Raises as `plan` does."""
    placed = _placing.place(job)
    return _ten(_changes(_bodies(job, placed.marks, _given.layers_of(job)), placed)[0])


def _ten(change: _density.Change) -> Array:
    second = _drilled.six_of(change.second.tolist())
    return np.array([sum(change.removed_oz), *change.first, *second])


def _statics(job: Job, weight: float, changes: list[_density.Change], marks: MarkPoints) -> Statics:
    """The scale's readings: the first moment left, over the arm; and their range over the arms.

    A reading is monotonic in the arm, so that the two ends bound it. Without the ball's own imbalance
    only what drilling changes is known.
    """
    top_weight, arms = _given.imbalance(job), _given.arms(job)
    removed = sum(changes[0].removed_oz)
    gross = (weight - removed) / OZ_PER_LB
    change = StaticChange(*_v.scaled(changes[0].first, -1.0 / arms[0]))
    calibrated = len(arms) == 1
    if top_weight is None:
        unknown = (None, None, None)
        return Statics(
            gross, removed, *unknown, arms[0], calibrated, StaticRanges(*unknown),
            UndrilledStatics(*unknown), change,
        )  # fmt: skip
    cg = _v.scaled(marks.cg, 1.0 / job.ball.radius)
    readings = [
        _drilled.readings(top_weight, cg, one.first, arm)
        for one, arm in zip(changes, arms, strict=True)
    ]
    low = [min(values) for values in zip(*readings, strict=True)]
    high = [max(values) for values in zip(*readings, strict=True)]
    side, finger, top = readings[0]
    return Statics(
        gross,
        removed,
        side,
        finger,
        top,
        arms[0],
        calibrated,
        StaticRanges((low[0], high[0]), (low[1], high[1]), (low[2], high[2])),
        UndrilledStatics(*_v.scaled(cg, top_weight)),
        change,
    )


def _todays_work(
    job: Job, bodies: list[_layers.Body], placed: Placed, whole: _density.Change
) -> TodaysWork | None:
    """What today's holes take: the whole work less that of the holes that are there already."""
    only = None if job.work is None else job.work.only
    if only is None:
        return None
    before = placed._replace(
        holes=tuple(h for h in placed.holes if h.name not in only),
        extras=tuple(e for e in placed.extras if e.into not in only),
    )
    removed, first = sum(whole.removed_oz), whole.first
    if before.holes or before.extras or before.old:
        there = _changes(bodies[:1], before)[0]
        removed -= sum(there.removed_oz)
        first = _v.minus(first, there.first)
    return TodaysWork(removed, *_v.scaled(first, -1.0 / _given.arms(job)[0]))


def _rgs(squares: list[float]) -> RGs:
    low, mid, high = math.sqrt(squares[0]), math.sqrt(squares[1]), math.sqrt(squares[2])
    return RGs(low, mid, high, high - low, high - mid)


def _inertia(model: _layers.Body, change: _density.Change, placed: Placed) -> Inertia:
    weight = model.weight_oz - sum(change.removed_oz)
    first = _v.minus(model.first, change.first)
    before = _tensor(model.weight_oz, model.first, model.second)
    after = _tensor(weight, first, model.second - change.second)
    squares, axes = np.linalg.eigh(np.array((before, after)))
    undrilled, drilled = squares.tolist()
    low, _, high = axes[1].T.tolist()
    psa = (0.0, 0.0, 1.0) if placed.marks.psa is None else placed.marks.psa
    return Inertia(
        *_rgs(drilled),
        _end(low, placed.marks.pin, placed),
        _end(high, psa, placed),
        _rgs(undrilled),
    )


def _tensor(weight: float, first: Vector, second: Array) -> list[list[float]]:
    """The central inertia tensor from moments (3,), (3, 3) about the ball's centre."""
    six = _drilled.six_of(second.tolist())
    return _drilled.matrix_of(_drilled.central_tensor(weight, first, six))


def _end(axis: Vector, near: Vector, placed: Placed) -> Mark:
    """Where an axis meets the surface on the side of a mark."""
    radius = placed.radius
    side = radius if _v.dot(axis, near) >= 0.0 else -radius
    return _mark(_v.scaled(axis, side), radius, placed.hand)


# --- holes ----------------------------------------------------------------------------------------


def _hole_plans(job: Job, placed: Placed, change: _density.Change) -> tuple[HolePlan, ...]:
    grip, radius, hand = job.bowler.grip, placed.radius, placed.hand
    factory = placed.marks.factory
    thumb = _thumb_bore_beyond(job, radius)
    result = []
    for h, removed in zip(placed.holes, change.removed_oz, strict=False):
        finished, bore, sleeve = h.finished, h.bore, h.sleeve
        entry, diameter = finished.entry, 2.0 * finished.radius
        over, up = to_over_up(entry, radius)
        arcs = {name: arc(entry, mark, radius) for name, mark in factory.items()}
        nearest = min(arcs.values())
        if len(h.mouths) > 1:
            nearest = min(arc(m.entry, mark, radius) for m in h.mouths for mark in factory.values())
        edge = bored_edge = hole_arc(diameter, radius)
        cut = inner = None
        if bore is not None and sleeve is not None:
            bored_edge = hole_arc(2.0 * bore.radius, radius)
            cut = _bore_cut(bore, _grip.outer_of(sleeve) or sleeve, radius)
            inner = None if h.inner is None else _bore_cut(h.inner, sleeve, radius)
        part = getattr(grip, h.name)
        span: float | None = getattr(part, "span", None)
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
                arcs["pin"],
                arcs.get("psa"),
                arcs.get("cg"),
                cut,
                span,
                None if span is None else span - (bored_edge - edge) - thumb,
                nearest - bored_edge,
                _oval_plan(job, h, radius),
                inner,
                getattr(part, "gap", None),
            )
        )
    return tuple(result)


def _bore_cut(bore: Bore, sleeve: OuterSleeve, radius: float) -> BoreCut:
    """What is bored for a sleeve."""
    return BoreCut(sleeve.bore, bore.depth, _grip.travel(bore, radius), sleeve.length_net)


def _thumb_bore_beyond(job: Job, radius: float) -> float:
    """How far the thumb's bore reaches beyond the finished hole at its end of a span, an arc."""
    thumb = job.bowler.grip.thumb
    if thumb is None or thumb.sleeve is None:
        return 0.0
    wide, oval = thumb.diameter, thumb.oval
    if oval is not None:
        wide = 2.0 * _oval.front(wide, oval.length, oval.direction)
    bored = (thumb.sleeve.outer or thumb.sleeve).bore
    return float(hole_arc(bored, radius) - hole_arc(wide, radius))


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


def _extra_plans(placed: Placed, removed_oz: Sequence[float]) -> tuple[ExtraHolePlan, ...]:
    radius, hand = placed.radius, placed.hand
    plans = []
    for e, removed in zip(placed.extras, removed_oz, strict=False):
        b = e.bore
        over, up = to_over_up(b.entry, radius)
        plans.append(
            ExtraHolePlan(
                e.kind, e.name, e.into, over, up, mirror(b.entry, hand), mirror(b.axis, hand),
                2.0 * b.radius, b.depth, _grip.travel(b, radius), removed,
            )
        )  # fmt: skip
    return tuple(plans)


def _old_plans(placed: Placed, removed_oz: Sequence[float]) -> tuple[OldHolePlan, ...]:
    radius, hand = placed.radius, placed.hand
    plans = []
    for o, removed in zip(placed.old, removed_oz, strict=True):
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


def _walls(placed: Placed) -> tuple[_grip.Wall, ...]:
    """Walls between gripping holes, of the extra holes, and of what is open of old ones.

    A vent has none to the hole that it opens into.
    """
    radius = placed.radius
    walls = list(_grip.least_walls(placed.holes, radius))
    named = placed.cavities
    for extra in placed.extras:
        walls += [
            _grip.wall((name, extra.name), bores, [extra.bore], radius)
            for name, bores in named
            if name != extra.into
        ]
        named.append((extra.name, (extra.bore,)))
    return (*walls, *_history.old_walls(placed.old, named, radius))


def nearest_bit(diameter: float) -> float:
    """The stocked bit nearest to a diameter; bits come in sixty-fourths of an inch."""
    return math.floor(diameter * BIT_STEP + 0.5) / BIT_STEP


# --- checks ---------------------------------------------------------------------------------------


def _checks(
    job: Job,
    rule_set: _rules.RuleSet,
    statics: Statics,
    placed: Placed,
    ruined: bool,
    change: _density.Change,
) -> tuple[tuple[_rules.Check, ...], Mapping[str, Spread] | None]:
    """The checks, and the uncertainties that widen them where the record carries tolerances."""
    facts = _facts(job, statics, placed, ruined)
    if job.tolerances is None:
        return _rules.check(rule_set, facts), None
    # numerical derivatives of many plans: loaded where they are wanted
    from layoutkit.planning.certainty import linear

    spreads = linear(job, _ten(change))
    return _banded(rule_set, facts, spreads), spreads


def _facts(job: Job, s: Statics, placed: Placed, ruined: bool) -> _rules.Facts:
    grip = job.bowler.grip
    thumb = grip.thumb
    vents = [e for e in placed.extras if e.kind == _extras.VENT]

    def static(value: float | None, ends: tuple[float, float] | None) -> _rules.Static | None:
        return None if value is None or ends is None else _rules.Static(value, *ends)

    mills = [e.bore for e in placed.extras if e.kind == _extras.INSPECTION]
    into = [v.into for v in vents]
    return _rules.Facts(
        weight_lb=s.weight_lb,
        ruined=ruined,
        diameter_in=2.0 * job.ball.radius,
        top=static(s.top_oz, s.range.top_oz),
        side=static(s.side_oz, s.range.side_oz),
        finger=static(s.finger_oz, s.range.finger_oz),
        gripping_holes=sum(getattr(grip, digit).used for digit in grip.digits),
        has_thumb=thumb is not None,
        palm_marked=thumb is None,  # the marking steps put it on the ball
        serial=job.ball.serial,
        # what nobody's finger is in counts as a balance hole (USBC, in force 2020-08-01)
        balance_holes=(
            *(getattr(grip, d).widest for d in grip.digits if not getattr(grip, d).used),
            *(2.0 * o.bore.radius for o in placed.open_old),
        ),
        vent_holes=tuple(2.0 * v.bore.radius for v in vents),
        most_vents=max(map(into.count, into), default=0),
        inspection_holes=tuple((2.0 * b.radius, b.depth) for b in mills),
        allowance_oz=(job.scale or Scale()).allowance,
    )


def _banded(
    rule_set: _rules.RuleSet, facts: _rules.Facts, spreads: Mapping[str, Spread]
) -> tuple[_rules.Check, ...]:
    """The checks of a record with tolerances: bands of two standard deviations, allowance included."""

    def within(name: str, static: _rules.Static | None) -> _rules.Static | None:
        if static is None:
            return None
        # the check itself puts the allowance on both sides
        more = spreads[name].uncertainty - facts.allowance_oz
        return _rules.Static(static.value, static.value - more, static.value + more)

    widened = replace(
        facts,
        top=within("top_oz", facts.top),
        side=within("side_oz", facts.side),
        finger=within("finger_oz", facts.finger),
    )
    reach = spreads["weight_lb"].uncertainty
    weight, limit = facts.weight_lb, rule_set.gross_weight_lb.value
    band = (weight - reach, weight + reach)
    judged = _rules.outcome(weight, band, -math.inf, limit)
    return tuple(
        each._replace(band=band, outcome=judged) if each.name == "gross" else each
        for each in _rules.check(rule_set, widened)
    )
