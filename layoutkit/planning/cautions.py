"""What a driller should know about a plan, in sentences, the gravest first."""

from __future__ import annotations

from collections.abc import Iterator

from layoutkit.ball.layers import Layers
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import arc, hole_arc
from layoutkit.geometry.vectors import Vector
from layoutkit.job.record import Scale
from layoutkit.job.rules import FROM_MEMORY, not_in_force, other_classes, undrilled_cautions
from layoutkit.planning import grip as _grip
from layoutkit.planning import history as _history
from layoutkit.planning.given import UNCALIBRATED_HIGH, UNCALIBRATED_LOW
from layoutkit.planning.old_places import place_cautions
from layoutkit.planning.placing import Placed
from layoutkit.planning.resurfaced import span_now
from layoutkit.planning.unknown import LABEL, without
from layoutkit.planning.values import Plan
from layoutkit.units import fraction

SHALLOW = 0.5  # inches; common practice, no source: finger holes that meet above it are warned of
AT_SURFACE = 0.005  # inches; what would read as 0.00

_MARK_WORDS = {"pin": "pin", "cg": "CG mark", "psa": "PSA mark"}


def cautions(plan: Plan, placed: Placed, layers: Layers | None) -> tuple[str, ...]:
    """The cautions of a plan: ruin, damage to a mark, law, the model, walls, then odd and old holes.

    ``placed`` has the plan's holes in space, ``layers`` the ball's body, None where it is uniform.
    """
    return (
        *plan.reasons,
        *_marks_cut_away(plan, placed),
        *_insert_drilled_through(plan),
        *_palm_mark(plan),
        *not_in_force(plan.rules, None if plan.job.work is None else plan.job.work.date),
        *_weight_classes(plan),
        *_undrilled_ball(plan, layers),
        *_resurfaced(plan),
        *_model(plan, layers),
        *_core_centred(plan),
        *_scale(plan),
        *_meeting_holes(plan, placed),
        *_oval(placed),
        *_old_holes(plan, placed),
    )


def _marks_cut_away(plan: Plan, placed: Placed) -> Iterator[str]:
    for hole, planned in zip(placed.holes, plan.holes, strict=True):
        if planned.clearance > 0.0:
            continue
        for mark, point in placed.marks.factory.items():
            if any(_covers(mouth, point, plan.radius) for mouth in hole.mouths):
                yield f"The {hole.name} hole cuts the {_MARK_WORDS[mark]} away."
    for old in placed.old:
        for mark, point in placed.marks.factory.items():
            if _covers(old.bore, point, plan.radius):
                yield (
                    f"The {_MARK_WORDS[mark]} lay where {old.name} was drilled, so it is no longer on "
                    "the ball: find its place again before anything is measured from it."
                )


def _covers(mouth: Bore, point: Vector, radius: float) -> bool:
    """Whether a point of the surface lies within a bore's mouth."""
    return bool(arc(mouth.entry, point, radius) <= hole_arc(2.0 * mouth.radius, radius))


def _insert_drilled_through(plan: Plan) -> Iterator[str]:
    bored = ((hole, hole.inner or hole.bore) for hole in plan.holes)
    deeper = [hole.name for hole, bore in bored if bore and hole.depth > bore.depth]
    if deeper:
        yield (
            f"The finished {_listed(deeper)} {'holes are' if deeper[1:] else 'hole is'} deeper "
            "than the bore: nobody drills through a set insert; bore deeper or finish shallower."
        )


def _listed(names: list[str]) -> str:
    """Names as in a sentence: a, b and c."""
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _palm_mark(plan: Plan) -> Iterator[str]:
    if plan.job.bowler.grip.thumb is None:
        yield (
            "No thumb hole: engrave a plus sign at the palm mark (the grip centre) and cover it with "
            "the palm on every shot."
        )


def _weight_classes(plan: Plan) -> Iterator[str]:
    weight = plan.statics.weight_lb
    own = plan.rules.weight_class(weight)
    near = other_classes(plan.rules, weight, (plan.job.scale or Scale()).allowance)
    for other in near:
        edge = own.over_lb if other.up_to_lb <= own.over_lb else own.up_to_lb
        yield (
            f"The drilled weight of {weight:.3f} lb is within the scale's allowance of "
            f"{edge:.2f} lb, where other static limits begin: weigh the ball before judging it."
        )
    if any(each.status == FROM_MEMORY for each in (own, *near)):
        yield (
            "The static limits of this weight class are from memory: confirm them in the current "
            "manual."
        )


def _undrilled_ball(plan: Plan, layers: Layers | None) -> tuple[str, ...]:
    ball = plan.job.ball
    low = ball.rg_low
    return undrilled_cautions(
        plan.rules,
        diameter=ball.diameter,
        weight_lb=ball.weight,
        rg_low=low,
        rg_high=None if low is None else low + (ball.differential or 0.0),
        differential=ball.differential,
        intermediate_differential=None if low is None else ball.intermediate_differential or 0.0,
        has_psa=ball.psa is not None,
        core_density=None if layers is None else layers.core_density,
    )


def _resurfaced(plan: Plan) -> Iterator[str]:
    """What is left out of a resurfaced ball's figures, what is left of its cover, and of older holes."""
    gone = plan.resurfaced
    if gone is None:
        return
    was, now = gone.label.diameter, gone.now.diameter
    yield (
        f"Resurfaced from {was:.3f} to {now:.3f} in: weight, top weight and RGs are the label's less "
        f"an even cover of {gone.depth_lost:.4f} in ({gone.lost_oz:.2f} oz). A cover that came off "
        "unevenly, which moves the centre, or a flat is left out: measure the ball two ways and weigh it."
    )
    least = plan.rules.undrilled.diameter_min_in
    left = now - least.value
    yield (
        (
            f"{left:.3f} in of its diameter are left to {least.value:.3f} in"
            if left >= 0.0
            else f"It is {-left:.3f} in below {least.value:.3f} in"
        )
        + f", the least of an undrilled ball ({least.told}); whether that binds a resurfaced one, ask "
        "whoever runs the event."
    )
    job = plan.job
    only = None if job.work is None else job.work.only
    if plan.old_holes or plan.differences or only is not None:
        yield (
            f"Holes that are older than the resurfacing lost {gone.depth_lost:.4f} in of depth, and "
            f"their spans and bridge shrank{_span_words(plan)}: old holes, and those of the grip that "
            "are there already, count as they measure on the ball now, not as on the old sheet."
        )


def _span_words(plan: Plan) -> str:
    """What a span of this grip on the old sheet reads now: ` (a span of 4 3/8 in to 4.357 in)`."""
    grip, ball = plan.job.bowler.grip, plan.job.ball
    if grip.thumb is None:
        return ""
    span, digits = grip.middle.span, (grip.thumb.diameter, grip.middle.diameter)
    now = span_now(span, *digits, ball.diameter / 2.0, ball.radius)
    return f" (a span of {fraction(span)} in to {now:.3f} in)"


def _model(plan: Plan, layers: Layers | None) -> Iterator[str]:
    ball = plan.job.ball
    if layers is None:
        yield (
            "No RG data: the ball is taken as one uniform density, so the RGs after drilling are "
            "those of a ball without a core."
            if ball.rg_low is None
            else "No core fits these RGs under the default shell and filler: the ball is taken as one "
            "uniform density, and the RGs after drilling do not follow the label."
        )
    elif ball.shell is None or ball.filler_density is None:
        shell = f"shell {fraction(layers.shell_thickness)} in of {layers.shell_density:.2f} g/cm3"
        filler = f"filler {layers.filler_density:.2f} g/cm3"
        if ball.shell is not None:
            what = f"The filler is assumed ({filler})"
        elif ball.filler_density is not None:
            what = f"The shell is assumed ({shell})"
        else:
            what = f"Shell and filler are assumed ({shell}, {filler})"
        yield f"{what}: common practice, not this ball's data."


def _core_centred(plan: Plan) -> Iterator[str]:
    if plan.statics.side_oz is None:
        yield (
            f"Top, side and finger weight are {without(plan.job, *LABEL)}, so weigh the ball. The core "
            "is taken as centred for what drilling removes and changes, and for the RGs."
        )


def _scale(plan: Plan) -> Iterator[str]:
    if not plan.statics.calibrated:
        yield (
            "The scale's arm is not calibrated: static weights are a range until a known weight on "
            "the surface calibrates it."
        )
    scale, radius = plan.job.scale or Scale(), plan.radius
    shortest, longest = UNCALIBRATED_LOW * radius, UNCALIBRATED_HIGH * radius
    arm = plan.statics.arm
    if scale.reading is not None and not shortest <= arm <= longest:
        yield (
            f"On this scale half the difference of two readings counts as the weight, and its arm of "
            f"{arm:.2f} in lies outside the usual {shortest:.2f} to {longest:.2f} in. Static weights are "
            "stated and judged in what this scale shows: a scale with a usual arm shows "
            f"{arm / longest:.2f} to {arm / shortest:.2f} times as much. Ask which scale the event "
            "weighs on."
        )


def _meeting_holes(plan: Plan, placed: Placed) -> Iterator[str]:
    for wall in plan.walls:
        if not wall.meets:
            continue
        one, other = wall.holes
        names = f"The {one} and {other} holes"
        if wall.depth < AT_SURFACE:
            if not any(reason.startswith(names) for reason in plan.reasons):
                yield f"{names} touch or overlap at the surface."
        elif wall.holes != _grip.FINGERS:
            yield f"{names} meet {wall.depth:.2f} in below the surface."
        elif wall.depth < SHALLOW:
            yield (
                f"{names} meet {wall.depth:.2f} in below the surface, within {fraction(SHALLOW)} in of "
                f"it, where the wall between them breaks easily{_cleared(plan, placed)}"
            )
        else:
            yield f"{names} meet {wall.depth:.2f} in below the surface{_usually(plan, placed, wall)}"


def _usually(plan: Plan, placed: Placed, wall: _grip.Wall) -> str:
    """The end of a sentence: that finger holes meet deep down as usual, and what depth clears."""
    bridge = plan.job.bowler.grip.bridge
    depth = _grip.clearing_depth(placed.holes, plan.radius, wall.depth)
    return (
        f", as is usual with a {fraction(bridge)} in bridge; they stay apart above that: a depth of "
        f"{fraction(depth)} in clears."
    )


def _cleared(plan: Plan, placed: Placed) -> str:
    """The end of a sentence: what would clear finger holes that meet."""
    bowler = plan.job.bowler
    bridge, pitch = _grip.clearing_changes(bowler.grip, placed.holes, plan.radius, bowler.hand)
    ways = []
    if bridge is not None:
        ways.append(f"a bridge of {fraction(bridge)} in")
    if pitch is not None:
        ways.append(f"{fraction(pitch)} in more lateral pitch on each, bottoms apart,")
    if not ways:
        return "; neither a wider bridge nor lateral pitch within reason would clear them."
    return f"; {' or '.join(ways)} would clear them."


def _oval(placed: Placed) -> Iterator[str]:
    if any(len(hole.cuts) > 1 for hole in placed.holes):
        yield (
            "Overlapping bores pull the bit aside: clamp the ball, cut in the printed order, and work "
            "the scallops off before anyone puts a thumb in."
        )


def _old_holes(plan: Plan, placed: Placed) -> Iterator[str]:
    if placed.old:
        assert plan.job.history is not None
        yield from place_cautions(plan.job.history.holes, [old.crossing for old in placed.old])
        yield (
            "What was drilled before is taken from the record: the marks' arcs to the old holes decide "
            "where the plugs lie, so measure them on the ball."
        )
    for name, was in _history.runs_into(placed.old, placed.new_cavities):
        yield (
            f"The {name} hole cuts into the plug of {was}: let the plug cure as its maker says, and "
            "keep its dust off skin and out of lungs."
        )
    for name, was in _history.goes_on(placed.old, placed.cavities):
        yield (
            f"The open {was} goes on beside or below the {name} hole that takes its place: plug what the "
            "new hole does not take away, or a void stays under it."
        )
    for old in _history.left_open(
        placed.old, [b for _, bores in placed.new_cavities for b in bores]
    ):
        yield f"{old.name} is left open and counts as a balance hole."
