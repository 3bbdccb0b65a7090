"""The frozen values that a plan is made of; `Plan.as_dict` is a plan's JSON.

Lengths are inches, static weights and masses ounces, ball weight pounds, angles degrees; ``xyz`` is
in the grip frame: +z out through the grip centre, +y toward the fingers, +x right seen from outside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

from layoutkit.geometry.vectors import Vector
from layoutkit.job.record import Job, Sleeve
from layoutkit.job.rules import Check, Outcome, RuleSet
from layoutkit.job.shop import Bit
from layoutkit.planning.as_drilled import Difference
from layoutkit.planning.grip import Wall
from layoutkit.planning.resurfaced import Resurfaced

if TYPE_CHECKING:
    from layoutkit.planning.certainty import Spread


class Mark(NamedTuple):
    """A point on the ball: over and up from the grip centre, and in the grip frame."""

    over: float
    up: float
    xyz: Vector


class Marks(NamedTuple):
    """The factory's marks and the bowler's; a mark that is not there or not known is None."""

    pin: Mark
    cg: Mark | None
    psa: Mark | None
    pap: Mark | None
    grip_center: Mark


class LayoutNumbers(NamedTuple):
    """The layout in all three statements; what a missing mark leaves unknown is None."""

    angle_at_pin: float | None
    pin_to_pap: float | None
    angle_at_pap: float | None
    psa_to_pap: float | None
    pin_to_val: float | None
    bearing: float | None

    @property
    def by_angles(self) -> tuple[float, float, float] | None:
        """Angle at the pin, pin to PAP, angle at the PAP; None where nothing can be told by them."""
        turn, away, lean = self.angle_at_pin, self.pin_to_pap, self.angle_at_pap
        if turn is None or away is None or lean is None:
            return None
        return turn, away, lean


class MarkArcs(NamedTuple):
    """Arcs between marks, in inches; None where one of the two is missing."""

    pin_to_cg: float | None
    pin_to_grip_center: float
    cg_to_grip_center: float | None
    psa_to_grip_center: float | None
    cg_to_pap: float | None


class BoreCut(NamedTuple):
    """The bore for a sleeve, and how long the sleeve is."""

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
    ``bore`` is what the first bit cuts; where an outer sleeve is set into it, ``inner`` is the bore of
    the sleeve inside that one. ``gap`` is an outer finger hole's, from bored edge to bored edge.
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
    from_cg: float | None
    bore: BoreCut | None
    span: float | None
    bored_span: float | None
    clearance: float
    oval: OvalPlan | None = None
    inner: BoreCut | None = None
    gap: float | None = None


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


class UndrilledStatics(NamedTuple):
    """Static weights before drilling, in scale ounces; None where the label is silent."""

    side_oz: float | None
    finger_oz: float | None
    top_oz: float | None


class StaticChange(NamedTuple):
    """What drilling alone does to each static weight at the arm: drilled less undrilled, in oz."""

    side_oz: float
    finger_oz: float
    top_oz: float


class TodaysWork(NamedTuple):
    """What the holes that are cut today take from the ball as it was before them, in ounces.

    The static weights are at the arm: afterwards less before. Plugs are in place before.
    """

    removed_oz: float
    side_oz: float
    finger_oz: float
    top_oz: float


class StaticRanges(NamedTuple):
    """Each static weight at the least and the greatest over the arm's range; one value where
    calibrated."""

    side_oz: tuple[float, float] | None
    finger_oz: tuple[float, float] | None
    top_oz: tuple[float, float] | None


class Statics(NamedTuple):
    """The drilled ball on the scale. + side is toward the PAP, + finger toward the fingers.

    Side, finger and top weight are None together where top weight or pin-to-CG is not known;
    ``change`` is there always.
    """

    weight_lb: float
    removed_oz: float
    side_oz: float | None
    finger_oz: float | None
    top_oz: float | None
    arm: float
    calibrated: bool
    range: StaticRanges
    undrilled: UndrilledStatics
    change: StaticChange


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


class Question(NamedTuple):
    """A figure outside its usual range, or one that looks like another unit: the field, and the words."""

    field: str
    words: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Everything that `plan` computes for a job.

    ``outcome`` is the worst of the checks. ``reasons`` tell why the plan would ruin the ball, none where
    the check `drillable` passes. ``questions`` are about figures outside their usual ranges. ``spreads``
    are the figures' uncertainties where the record carries tolerances, else None. ``today`` is there
    where only some of the holes are cut today. Where the holes were measured after drilling, ``job`` has
    them as they were measured, and ``differences`` from what was planned. ``resurfaced`` is there where
    the ball is smaller now than its label says. ``bits`` are the shop's own,
    which whoever prints the cuts adds; none where they are not known.
    """

    job: Job
    radius: float
    marks: Marks
    layout: LayoutNumbers
    distances: MarkArcs
    holes: tuple[HolePlan, ...]
    walls: tuple[Wall, ...]
    statics: Statics
    inertia: Inertia
    core: Core | None
    rules: RuleSet
    checks: tuple[Check, ...]
    outcome: Outcome
    cautions: tuple[str, ...]
    reasons: tuple[str, ...] = ()
    questions: tuple[Question, ...] = ()
    spreads: Mapping[str, Spread] | None = None
    extra_holes: tuple[ExtraHolePlan, ...] = ()
    old_holes: tuple[OldHolePlan, ...] = ()
    today: TodaysWork | None = None
    differences: tuple[Difference, ...] = ()
    resurfaced: Resurfaced | None = None
    bits: tuple[Bit, ...] = ()

    @property
    def undrilled_lb(self) -> float:
        """The weight of the undrilled ball as it is now, in pounds."""
        return self.job.ball.weight if self.resurfaced is None else self.resurfaced.now.weight_lb

    @property
    def for_today(self) -> Plan:
        """The plan with no other holes than those that are cut today; all else stays as it is."""
        only = None if self.job.work is None else self.job.work.only
        if only is None:
            return self
        holes = tuple(h for h in self.holes if h.name in only)
        return replace(
            self, holes=holes, extra_holes=tuple(e for e in self.extra_holes if e.into in only)
        )

    @property
    def in_order(self) -> tuple[HolePlan, ...]:
        """Today's gripping holes in the order of the cuts: the fingers' first, or the thumb's."""
        work = self.job.work
        thumb_first = work is not None and work.order_of_cuts == "thumb first"
        return tuple(
            sorted(self.for_today.holes, key=lambda h: (h.name == "thumb") is not thumb_first)
        )

    def sleeve_of(self, hole: HolePlan) -> Sleeve | None:
        """What the record says of a hole's sleeve; None for a hole without one."""
        sleeve: Sleeve | None = getattr(self.job.bowler.grip, hole.name).sleeve
        return sleeve

    def bevel_of(self, hole: HolePlan) -> float | None:
        """The radius of a hole's rounded edge in inches; None where it has none."""
        bevel: float | None = getattr(self.job.bowler.grip, hole.name).bevel
        return bevel

    def finished_at_the_press(self, hole: HolePlan) -> bool:
        """Whether a hole has a finishing cut: a ready-made sleeve comes with its hole."""
        sleeve = self.sleeve_of(hole)
        return sleeve is None or not sleeve.ready

    def as_dict(self) -> dict[str, object]:
        """The plan as JSON-ready plain values, full precision."""
        record: dict[str, object] = {
            "format": "layoutkit-plan",
            "version": 2,
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
            "reasons": list(self.reasons),
            "cautions": list(self.cautions),
            "questions": [_plain(q) for q in self.questions],
        }
        if self.resurfaced is not None:
            record["resurfaced"] = _plain(self.resurfaced)
        if self.today is not None:
            record["today"] = _plain(self.today)
        if self.differences:
            record["as_drilled"] = [
                {**d._asdict(), "off": d.off, "beyond": d.beyond} for d in self.differences
            ]
        if self.spreads is not None:
            record["uncertainty"] = {
                name: {"uncertainty": s.uncertainty, "shares": dict(s.shares)}
                for name, s in self.spreads.items()
            }
        return record


def _plain(value: object) -> object:
    """A value of named fields as a dictionary, and so on inside it."""
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        return {name: _plain(part) for name, part in value._asdict().items()}
    if isinstance(value, tuple) and value and hasattr(value[0], "_asdict"):
        return [_plain(part) for part in value]
    return value
