"""From a job to a plan: where every mark and hole lies, what is left, and whether it is legal.

`plan` is one pure function. A plan is a complete frozen value; `Plan.as_dict` is its JSON. Lengths
are inches, static weights and masses ounces, ball weight pounds, angles degrees; ``xyz`` is in the
grip frame: +z out through the grip centre, +y toward the fingers, +x right seen from outside.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass

import numpy as np

from layoutkit import body as _body
from layoutkit import grip as _grip
from layoutkit import layout as _layout
from layoutkit import rules as _rules
from layoutkit.errors import InputError
from layoutkit.record import Job
from layoutkit.sphere import Array, arc, direction, from_over_up, mirror, to_over_up, walk, wrap180
from layoutkit.units import fraction

Vector = tuple[float, float, float]

UNCALIBRATED_ARM_LOW = 3.0  # inches; the shortest lever considered while the arm is not calibrated
MARK_CLEARANCE = 0.0  # inches; a hole's edge nearer than this to a mark cuts the mark away
PROOF_TOLERANCE = 1.0 / 16.0  # inches; arcs are laid out to about this with a rule on the ball
BIT_STEP = 64  # stocked bits come in sixty-fourths


@dataclass(frozen=True, slots=True)
class Mark:
    """A point on the ball: over and up from the grip centre, and in the grip frame."""

    over: float
    up: float
    xyz: Vector


@dataclass(frozen=True, slots=True)
class Marks:
    """The factory's marks and the bowler's; ``psa`` is None on a ball without one."""

    pin: Mark
    cg: Mark
    psa: Mark | None
    pap: Mark
    grip_center: Mark


@dataclass(frozen=True, slots=True)
class LayoutNumbers:
    """The layout in all three statements; ``psa_to_pap`` is None without a PSA mark."""

    drilling_angle: float
    pin_to_pap: float
    val_angle: float
    psa_to_pap: float | None
    pin_to_val: float
    bearing: float


@dataclass(frozen=True, slots=True)
class Distances:
    """Arcs between marks, in inches."""

    pin_to_cg: float
    pin_to_grip_center: float
    cg_to_grip_center: float
    psa_to_grip_center: float | None
    cg_to_pap: float


@dataclass(frozen=True, slots=True)
class BoreCut:
    """The bore for a sleeve: what the first bit cuts."""

    diameter: float
    depth: float
    travel: float
    sleeve_length: float


@dataclass(frozen=True, slots=True)
class HolePlan:
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


@dataclass(frozen=True, slots=True)
class Undrilled:
    """Static weights before drilling, in scale ounces."""

    side_oz: float
    finger_oz: float
    top_oz: float


@dataclass(frozen=True, slots=True)
class Ranges:
    """Each static weight for arms from 3 in to the ball's radius; one value where calibrated."""

    side_oz: tuple[float, float]
    finger_oz: tuple[float, float]
    top_oz: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Statics:
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


@dataclass(frozen=True, slots=True)
class RGs:
    """Principal radii of gyration about the centre of gravity, in inches."""

    rg_low: float
    rg_mid: float
    rg_high: float
    differential: float
    intermediate_differential: float


@dataclass(frozen=True, slots=True)
class Inertia(RGs):
    """The drilled ball's RGs, where its axes meet the surface, and the undrilled model's RGs."""

    low_axis: Mark
    high_axis: Mark
    undrilled: RGs


@dataclass(frozen=True, slots=True)
class Core:
    """The core that the label implies: semi-axes along pin, reference and third; g/cm3."""

    semi_axes: Vector
    density: float
    filler_density: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that `plan` computes for a job."""

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
    cautions: tuple[str, ...]

    def as_dict(self) -> dict[str, object]:
        """The plan as JSON-ready plain values, full precision."""
        inertia = asdict(self.inertia)
        return {
            "format": "layoutkit-plan",
            "version": 1,
            "title": self.job.title,
            "rules": self.rules.name,
            "marks": asdict(self.marks),
            "layout": asdict(self.layout),
            "distances": asdict(self.distances),
            "holes": [asdict(h) for h in self.holes],
            "walls": [asdict(w) for w in self.walls],
            "statics": asdict(self.statics),
            "inertia": inertia,
            "core": None if self.core is None else asdict(self.core),
            "checks": [asdict(c) for c in self.checks],
            "outcome": self.outcome,
            "cautions": list(self.cautions),
        }


def plan(job: Job, rules: _rules.RuleSet | None = None) -> Plan:
    """Plan a job: marks, holes, statics, inertia, checks and cautions.

    ``rules`` overrides the built-in rule set that the record names. Raises InputError where the
    layout, the grip, the ball's data or the rule set's name cannot be.
    """
    rule_set = rules or _rules.rule_set(job.rules)
    hand, ball, pap = job.bowler.hand, job.ball, job.bowler.pap
    radius = ball.diameter / 2.0
    marks, numbers = _place_marks(job, radius)
    holes = _grip.place_holes(job.bowler.grip, radius, hand)

    cg = marks["cg"] / radius
    calibrated = job.scale is not None and job.scale.arm is not None
    arm = job.scale.arm if job.scale is not None and job.scale.arm is not None else radius
    label = _label(job)
    layers = _body.fit_layers(label, ball.top_weight * arm)
    axes = _core_axes(marks, numbers.bearing)
    model = _body.build_body(label, layers, axes, ball.top_weight * arm * cg)
    steps = _grip.drilling_steps(holes)
    change = _body.drill(model, steps, len(holes))
    statics = _statics(job, model, change, cg, arm, calibrated)
    if not calibrated:
        short = UNCALIBRATED_ARM_LOW
        other = _body.build_body(label, layers, axes, ball.top_weight * short * cg)
        at_short = _body.drill(other, steps, len(holes))
        statics = _with_range(statics, _scale_readings(job, at_short, cg, short))

    inertia = _inertia(model, change, marks, radius, hand)
    bench = np.array([marks[k] for k in ("pin", "cg", "psa") if k in marks])
    hole_plans = _hole_plans(job, holes, change, bench, radius, hand)
    walls = _grip.least_walls(holes, radius)
    facts = _facts(job, statics)
    checks = _rules.check(rule_set, facts)
    core = None if layers is None else Core(
        layers.semi_axes, layers.core_density, layers.filler_density
    )
    cautions = _cautions(job, rule_set, layers, holes, hole_plans, walls, inertia, calibrated, radius)
    place = {k: _mark(v, radius, hand) for k, v in marks.items()}
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
        cautions,
    )


def psa_arc(job: Job) -> float | None:
    """Arc from the pin to the PSA mark on this ball, in inches; None without one."""
    psa = job.ball.psa
    if psa is None:
        return None
    quarter = math.pi * job.ball.diameter / 4.0
    return quarter if psa.distance == "quarter" else float(psa.distance)


def _place_marks(job: Job, radius: float) -> tuple[dict[str, Array], LayoutNumbers]:
    """All marks in the bowler's frame, and the layout in every statement."""
    ball = job.ball
    pap = _layout.PAP(job.bowler.pap.over, job.bowler.pap.up_net)
    reference = psa_arc(job)
    given = _layout.stated(job.layout)
    angles = _layout.to_angles(given, reference, pap, radius)
    placed = (
        given if isinstance(given, _layout.Placement)
        else _layout.angles_to_placement(angles, pap, radius)
    )
    pin = from_over_up(placed.pin_over, placed.pin_up, radius)
    bearing = float(placed.bearing)
    side = 1.0 if job.bowler.hand == "right" else -1.0
    turned = 0.0 if ball.psa is None else side * ball.psa.cg_bearing
    arcs = [ball.pin_to_cg] if reference is None else [ball.pin_to_cg, reference]
    ends, _ = walk(pin, np.array([bearing + turned, bearing][: len(arcs)]), np.array(arcs))
    marks = {"pin": pin, "cg": ends[0]}
    if reference is not None:
        marks["psa"] = ends[1]
    marks["pap"] = from_over_up(pap.over, pap.up, radius)
    marks["grip_center"] = np.array([0.0, 0.0, radius])
    val = math.radians(float(angles.val_angle))
    across = math.sin(float(angles.pin_to_pap) / radius) * math.sin(val)
    psa_to_pap = None
    if reference is not None:
        psa_to_pap = float(arc(marks["psa"], marks["pap"], radius))
    numbers = LayoutNumbers(
        float(angles.drilling_angle),
        float(angles.pin_to_pap),
        float(angles.val_angle),
        psa_to_pap,
        radius * math.asin(across),
        bearing,
    )
    return marks, numbers


def _mark(point: Array, radius: float, hand: str) -> Mark:
    over, up = to_over_up(point, radius)
    x, y, z = mirror(point, hand).tolist()
    return Mark(float(over), float(up), (x, y, z))


def _distances(marks: dict[str, Array], radius: float) -> Distances:
    names = [("pin", "cg"), ("pin", "grip_center"), ("cg", "grip_center"), ("cg", "pap")]
    if "psa" in marks:
        names.append(("psa", "grip_center"))
    found = arc(
        np.array([marks[a] for a, _ in names]), np.array([marks[b] for _, b in names]), radius
    ).tolist()
    return Distances(found[0], found[1], found[2], found[4] if len(found) > 4 else None, found[3])


def _label(job: Job) -> _body.Label:
    ball = job.ball
    shell = None if ball.shell is None else (ball.shell.thickness, ball.shell.density)
    return _body.Label(
        ball.diameter / 2.0,
        ball.weight,
        ball.rg_low,
        ball.differential or 0.0,
        ball.intermediate_differential or 0.0,
        shell,
        ball.filler_density,
    )


def _core_axes(marks: dict[str, Array], bearing: float) -> Array:
    """Unit rows: along the pin, along the reference mark made square to it, and the third axis.

    Square to the pin the reference mark's direction is the tangent at the pin with its bearing.
    """
    pin = marks["pin"]
    a = pin / math.sqrt(pin @ pin)
    b = direction(a, bearing)
    c = np.array([a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]])
    return np.stack([a, b, c])


# --- statics and inertia --------------------------------------------------------------------------


def _scale_readings(job: Job, change: _body.Change, cg: Array, arm: float) -> list[float]:
    """Side, finger and top weight in scale ounces: the first moment left, over the arm.

    The label's top weight is in scale ounces already and needs no arm.
    """
    return (job.ball.top_weight * cg - change.first / arm).tolist()


def _statics(
    job: Job, model: _body.Body, change: _body.Change, cg: Array, arm: float, calibrated: bool
) -> Statics:
    side, finger, top = _scale_readings(job, change, cg, arm)
    before = (job.ball.top_weight * cg).tolist()
    removed = float(change.removed_oz.sum())
    return Statics(
        (model.weight_oz - removed) / 16.0,
        removed,
        side,
        finger,
        top,
        arm,
        calibrated,
        Ranges((side, side), (finger, finger), (top, top)),
        Undrilled(*before),
    )


def _with_range(s: Statics, short: list[float]) -> Statics:
    """The range between the shortest arm and the default; readings are monotonic in between."""
    pairs = [
        (min(a, b), max(a, b)) for a, b in zip((s.side_oz, s.finger_oz, s.top_oz), short, strict=True)
    ]
    return Statics(
        s.weight_lb, s.removed_oz, s.side_oz, s.finger_oz, s.top_oz, s.arm, s.calibrated,
        Ranges(*pairs), s.undrilled,
    )


def _principal(weight: float, first: Array, second: Array) -> tuple[RGs, Array]:
    """RGs about the centre of gravity, ascending, and their axes as columns (3, 3).

    I = tr(S) 1 - S with S the second moment, shifted to the centre of gravity (Huygens-Steiner).
    """
    s = second - np.multiply.outer(first, first) / weight
    moments, axes = np.linalg.eigh((s[0, 0] + s[1, 1] + s[2, 2]) * np.eye(3) - s)
    low, mid, high = np.sqrt(moments / weight).tolist()
    return RGs(low, mid, high, high - low, high - mid), axes


def _inertia(
    model: _body.Body, change: _body.Change, marks: dict[str, Array], radius: float, hand: str
) -> Inertia:
    before, _ = _principal(model.weight_oz, model.first, model.second)
    weight = model.weight_oz - float(change.removed_oz.sum())
    after, axes = _principal(weight, model.first - change.first, model.second - change.second)
    low, high = axes[:, 0], axes[:, 2]
    if low @ marks["pin"] < 0.0:
        low = -low
    if high @ (marks["psa"] if "psa" in marks else np.array([0.0, 0.0, 1.0])) < 0.0:
        high = -high
    return Inertia(
        after.rg_low, after.rg_mid, after.rg_high, after.differential, after.intermediate_differential,
        _mark(radius * low, radius, hand),
        _mark(radius * high, radius, hand),
        before,
    )


# --- holes ----------------------------------------------------------------------------------------


def _hole_plans(
    job: Job, holes: tuple[_grip.Hole, ...], change: _body.Change, bench: Array, radius: float, hand: str
) -> tuple[HolePlan, ...]:
    """``bench`` (2 or 3, 3): pin, CG and where there is one PSA mark."""
    centers = np.array([h.entry for h in holes])
    arcs = arc(centers[:, None], bench, radius)
    over, up = to_over_up(centers, radius)
    edges = [radius * math.asin(h.cut_diameter / (2.0 * radius)) for h in holes]
    clear = (arcs.min(axis=1) - edges).tolist()
    entries = mirror(centers, hand).tolist()
    axes = mirror(np.array([h.axis for h in holes]), hand).tolist()
    grip = job.bowler.grip
    spans = {"middle": grip.middle.span, "ring": grip.ring.span}
    finished = [radius * math.asin(h.diameter / (2.0 * radius)) for h in holes]
    thumb_growth = edges[2] - finished[2] if grip.thumb is not None else 0.0
    result = []
    for i, h in enumerate(holes):
        bore = h.bore
        cut = None
        if bore is not None and h.sleeve is not None:
            cut = BoreCut(
                h.sleeve.bore, h.sleeve.bore_depth, _grip.travel(bore, radius), h.sleeve.length_net
            )
        span = spans.get(h.name)
        result.append(
            HolePlan(
                h.name,
                float(over[i]),
                float(up[i]),
                tuple(entries[i]),
                tuple(axes[i]),
                h.diameter,
                h.depth,
                h.tip_angle,
                h.forward,
                h.right,
                h.tilt,
                _grip.travel(h.finished, radius),
                float(change.removed_oz[i]),
                float(arcs[i, 0]),
                float(arcs[i, 2]) if len(bench) > 2 else None,
                float(arcs[i, 1]),
                cut,
                span,
                None if span is None else span - (edges[i] - finished[i]) - thumb_growth,
                clear[i],
            )
        )
    return tuple(result)


# --- checks and cautions --------------------------------------------------------------------------


def _facts(job: Job, s: Statics) -> _rules.Facts:
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
        allowance_oz=allowance(job),
    )


DEFAULT_ALLOWANCE = 0.25  # ounces, of a two-position scale; conventional


def allowance(job: Job) -> float:
    """The scale's allowance in ounces."""
    return DEFAULT_ALLOWANCE if job.scale is None else job.scale.allowance


def nearest_bit(diameter: float) -> float:
    """The stocked bit nearest to a diameter; bits come in sixty-fourths of an inch."""
    return math.floor(diameter * BIT_STEP + 0.5) / BIT_STEP


def _cautions(
    job: Job,
    rule_set: _rules.RuleSet,
    layers: _body.Layers | None,
    holes: tuple[_grip.Hole, ...],
    plans: tuple[HolePlan, ...],
    walls: tuple[_grip.Wall, ...],
    inertia: Inertia,
    calibrated: bool,
    radius: float,
) -> tuple[str, ...]:
    """What the driller should know, the gravest first: ruin, damage to a mark, law, then the model."""
    ball, grip = job.ball, job.bowler.grip
    told: list[str] = []
    for h in holes:
        if any(_grip.runs_out(c, radius) for c in h.cavities):
            told.append(f"The {h.name} hole comes out of the far side of the ball: do not drill it.")
    names = ("pin", "CG mark", "PSA mark")
    for p in plans:
        edge = radius * math.asin((p.bore.diameter if p.bore else p.diameter) / (2.0 * radius))
        for name, distance in zip(names, (p.from_pin, p.from_cg, p.from_psa), strict=True):
            if distance is not None and distance - edge <= MARK_CLEARANCE:
                told.append(f"The {p.name} hole cuts the {name} away.")
        if p.bore and p.depth > p.bore.depth:
            told.append(
                f"The finished {p.name} hole is {fraction(p.depth - p.bore.depth)} in deeper than its "
                "bore: nobody drills through a set insert; bore deeper or finish shallower."
            )
    if grip.thumb is None:
        told.append(
            "No thumb hole: engrave a plus sign at the palm mark (the grip centre) and cover it with "
            "the palm on every shot."
        )
    told += _rules.undrilled_cautions(
        rule_set,
        diameter=ball.diameter,
        weight_lb=ball.weight,
        rg_low=ball.rg_low,
        rg_high=None if ball.rg_low is None else ball.rg_low + (ball.differential or 0.0),
        differential=ball.differential,
        intermediate_differential=None if ball.rg_low is None else ball.intermediate_differential or 0.0,
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
        told.append(
            f"Shell and filler are partly assumed (shell {fraction(layers.shell_thickness)} in of "
            f"{layers.shell_density:.2f} g/cm3, filler {layers.filler_density:.2f} g/cm3): common "
            "practice, not this ball's data."
        )
    if not calibrated:
        told.append(
            "The scale's arm is not calibrated: static weights are given for the default arm and as "
            "a range; calibrate with a known weight on the surface."
        )
    for w in walls:
        if w.meets:
            told.append(_meeting_caution(job, w, radius))
    return tuple(told)


def _meeting_caution(job: Job, wall: _grip.Wall, radius: float) -> str:
    text = f"The {wall.holes[0]} and {wall.holes[1]} holes meet {wall.depth:.2f} in below the surface"
    if wall.holes != _grip.FINGERS:
        return text + "."
    bridge, pitch = _grip.clearing_changes(job.bowler.grip, radius, job.bowler.hand)
    ways = []
    if bridge is not None:
        ways.append(f"a bridge of {fraction(bridge)} in")
    if pitch is not None:
        ways.append(f"{fraction(pitch)} in more lateral pitch on each, bottoms apart,")
    if not ways:
        return text + "; neither a wider bridge nor lateral pitch within reason would clear them."
    return f"{text}; {' or '.join(ways)} would clear them."
