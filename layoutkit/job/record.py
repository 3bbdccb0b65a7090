"""The job record: what a shop writes down about a bowler, a ball and a layout.

The models are frozen. Once parsed, lengths are inches, the ball's weight pounds, top weight ounces,
densities g/cm3 and angles degrees. `parse_job` makes a `Job` from decoded JSON and raises
InputError about the first problem; a model built directly raises pydantic's ValidationError, a
ValueError, instead.
"""

import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import BaseModel, Field, ValidationError, model_validator

from layoutkit.errors import InputError
from layoutkit.job.limits import limit, limit_at
from layoutkit.job.problems import Problem, problems_of
from layoutkit.job.validators import (
    Answer,
    Answers,
    Date,
    Hand,
    Model,
    Some,
    Text,
    few,
    only_version,
    two,
)
from layoutkit.job.version1 import as_stated, is_version_1, upgraded
from layoutkit.job.wants import Wants
from layoutkit.units import shown

FORMAT = "layoutkit-job"
VERSION = 2


_Line = Annotated[str, Text(200)]
_Name = Annotated[str, Text(30)]  # stands in tables and beside the ball
_Notes = Annotated[str, Text(2000, lines=True)]
_Pitch = Annotated[float, limit("bowler.grip.*.pitch.*")]
_Diameter = Annotated[float, limit("bowler.grip.*.diameter")]
_Depth = Annotated[float, limit("bowler.grip.*.depth")]
_TipAngle = Annotated[float, limit("bowler.grip.*.tip_angle")]
_Bevel = Annotated[float, limit("bowler.grip.*.bevel")]
_PinToPAP = Annotated[float, limit("layout.pin_to_pap")]
_READING = limit("weighings.*.pairs.*.*")
_Reading = Annotated[float, _READING]
_ARC = limit("history.holes.*.arcs.*")
_Arc = Annotated[float, _ARC]

Digit = Literal["index", "middle", "ring", "little", "thumb"]
DIGITS: tuple[Digit, ...] = get_args(Digit)


def _net(plus: float | None, minus: float | None) -> float:
    return (plus or 0.0) - (minus or 0.0)


def _one_of_pair(model: BaseModel, plus: str, minus: str) -> None:
    one, other = getattr(model, plus), getattr(model, minus)
    if one is not None and other is not None:
        raise InputError(
            f"{plus} {one:g} in and {minus} {other:g} in are both given; possible: one of the two."
        )


class PAPPlace(Model):
    """The positive axis point, from the grip centre; inches."""

    over: Annotated[float, limit("bowler.pap.over")]
    up: Annotated[float, limit("bowler.pap.up")] | None = None
    down: Annotated[float, limit("bowler.pap.down")] | None = None

    @model_validator(mode="after")
    def _pairs(self) -> "PAPPlace":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class Pitch(Model):
    """By how much a hole's axis misses the ball's centre; inches."""

    forward: _Pitch | None = None
    reverse: _Pitch | None = None
    right: _Pitch | None = None
    left: _Pitch | None = None

    @model_validator(mode="after")
    def _pairs(self) -> "Pitch":
        _one_of_pair(self, "forward", "reverse")
        _one_of_pair(self, "right", "left")
        return self

    @property
    def forward_net(self) -> float:
        """Inches of forward pitch; negative is reverse."""
        return _net(self.forward, self.reverse)

    @property
    def right_net(self) -> float:
        """Inches of right pitch; negative is left."""
        return _net(self.right, self.left)


class OuterSleeve(Model):
    """What a sleeve is set into: inches and g/cm3."""

    bore: Annotated[float, limit("bowler.grip.*.sleeve.bore")]
    bore_depth: Annotated[float, limit("bowler.grip.*.sleeve.bore_depth")]
    length: Annotated[float, limit("bowler.grip.*.sleeve.length")] | None = None
    density: Annotated[float, limit("bowler.grip.*.sleeve.density")]

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.length_net > self.bore_depth:
            raise InputError(
                f"{self.length_net:g} in is longer than the bore; "
                f"possible: 0 to {self.bore_depth:g} in, the bore_depth.",
                "length",
            )
        return self

    @property
    def length_net(self) -> float:
        """The sleeve's length in inches: the bore's depth where none is given."""
        return self.bore_depth if self.length is None else self.length


class Sleeve(OuterSleeve):
    """A finger insert or a thumb slug; inches and g/cm3.

    A ``ready`` one comes with its hole. ``name``, ``size`` and ``lift`` are in the shop's words.
    """

    ready: bool = False
    name: _Line = ""
    size: _Line = ""
    lift: _Line = ""

    @property
    def called(self) -> str:
        """Name, size and lift in words, as far as they are known."""
        parts = (self.name, self.size and f"size {self.size}", self.lift and f"lift {self.lift}")
        return ", ".join(filter(None, parts))


class ThumbSleeve(Sleeve):
    """A thumb slug, which may be set into an ``outer`` sleeve that stays in the ball."""

    outer: OuterSleeve | None = None

    @model_validator(mode="after")
    def _stands_inside(self) -> Self:
        if self.outer is not None and self.outer.bore < self.bore:
            raise InputError(
                f"{self.outer.bore:g} in is narrower than the inner sleeve; possible: {self.bore:g} in, "
                "its bore, or more.",
                "outer.bore",
            )
        return self


def _sleeve_fits(sleeve: Sleeve | None, diameter: float) -> None:
    if sleeve is not None and sleeve.bore < diameter:
        raise InputError(
            f"{sleeve.bore:g} in is narrower than the finished hole; "
            f"possible: {diameter:g} in, its diameter, or more.",
            "sleeve.bore",
        )


class Finger(Model):
    """A finger hole; inches, ``tip_angle`` degrees.

    ``bevel`` is the radius of its rounded edge. A hole that is not ``used`` is a balance hole.
    """

    span: Annotated[float, limit("bowler.grip.*.span")]
    diameter: _Diameter
    depth: _Depth
    pitch: Pitch = Field(default_factory=Pitch)
    sleeve: Sleeve | None = None
    tip_angle: _TipAngle | None = None
    bevel: _Bevel | None = None
    used: bool = True

    @property
    def widest(self) -> float:
        """How wide the hole is at its widest, in inches."""
        return self.diameter

    @model_validator(mode="after")
    def _fits(self) -> "Finger":
        _sleeve_fits(self.sleeve, self.diameter)
        return self


class OuterFinger(Finger):
    """A hole beside the middle or the ring finger's: ``gap`` inches from its bored edge to theirs."""

    gap: Annotated[float, limit("bowler.grip.*.gap")]


LONGEST_WAY = 1.0  # inches; what an oval may be longer than its bit


class Oval(Model):
    """An oval hole, longer one way than its bit: inches, ``direction`` degrees from the centreline.

    It is cut as overlapping bores that leave no more than ``scallop`` between them, or milled.
    """

    length: Annotated[float, limit("bowler.grip.thumb.oval.length")]
    direction: Annotated[float, limit("bowler.grip.thumb.oval.direction")] = 0.0
    scallop: Annotated[float, limit("bowler.grip.thumb.oval.scallop")] | None = None
    milled: bool = False

    @model_validator(mode="after")
    def _agrees(self) -> "Oval":
        if self.milled and self.scallop is not None:
            raise InputError(
                f"{self.scallop:g} in on a milled slot, which has none; "
                "possible: leave it out, or milled false.",
                "scallop",
            )
        return self

    @property
    def scallop_net(self) -> float:
        """The scallop in inches: 1/64 where none is given."""
        return 1.0 / 64.0 if self.scallop is None else self.scallop


class Inner(Model):
    """One of the thumb sleeves that a bowler exchanges, and the diameter of its hole in inches."""

    name: _Name
    sleeve: Sleeve
    diameter: Annotated[float, limit("bowler.grip.thumb.inners.*.diameter")]


MOST_INNERS = 10


class Thumb(Model):
    """The thumb hole; inches, ``tip_angle`` degrees. Of an ``oval`` one, ``diameter`` is the bit's.

    ``bevel`` and ``used`` are as in a finger's hole; ``inners`` are the sleeves to exchange.
    """

    diameter: _Diameter
    depth: _Depth
    pitch: Pitch = Field(default_factory=Pitch)
    sleeve: ThumbSleeve | None = None
    tip_angle: _TipAngle | None = None
    oval: Oval | None = None
    bevel: _Bevel | None = None
    used: bool = True
    inners: Annotated[tuple[Inner, ...], few(MOST_INNERS)] = ()

    @property
    def widest(self) -> float:
        """How wide the hole is at its widest, in inches: an oval one its long way."""
        return self.diameter if self.oval is None else self.oval.length

    @model_validator(mode="after")
    def _fits(self) -> "Thumb":
        if self.oval is not None and (
            not self.diameter < self.oval.length <= self.diameter + LONGEST_WAY
        ):
            raise InputError(
                f"{self.oval.length:g} in with a bit of {self.diameter:g} in; possible: more than the "
                f"bit, up to {self.diameter + LONGEST_WAY:g} in.",
                "oval.length",
            )
        _sleeve_fits(self.sleeve, self.widest)
        if self.inners and (self.sleeve is None or self.sleeve.outer is None):
            raise InputError(
                "sleeves to exchange need the outer sleeve that they stand in; possible: give "
                "sleeve.outer.",
                "inners",
            )
        for n, inner in enumerate(self.inners):
            if inner.sleeve.bore < inner.diameter:
                raise InputError(
                    f"{inner.sleeve.bore:g} in is narrower than its hole; possible: "
                    f"{inner.diameter:g} in, its diameter, or more.",
                    f"inners.{n}.sleeve.bore",
                )
        return self


class Grip(Model):
    """The holes of one hand; ``thumb`` is None on a no-thumb grip. ``bridge`` in inches.

    ``index`` lies on the outer side of the middle finger's hole, ``little`` on that of the ring
    finger's.
    """

    bridge: Annotated[float, limit("bowler.grip.bridge")]
    middle: Finger
    ring: Finger
    thumb: Thumb | None
    index: OuterFinger | None = None
    little: OuterFinger | None = None

    @property
    def digits(self) -> tuple[Digit, ...]:
        """The digits that have a hole, in the order of the hand."""
        return tuple(digit for digit in DIGITS if getattr(self, digit) is not None)


class Bowler(Model):
    """Whom the ball is drilled for; ``pap`` is None while nobody has measured it."""

    name: _Line
    hand: Hand
    pap: PAPPlace | None = None
    grip: Grip


class PSA(Model):
    """The PSA mark: its arc from the pin in inches or `quarter`, 90 degrees; bearing in degrees."""

    distance: Annotated[Literal["quarter"] | float, limit("ball.psa.distance")]
    cg_bearing: Annotated[float, limit("ball.psa.cg_bearing")] = 0.0


class Shell(Model):
    """The outer shell; inches and g/cm3."""

    thickness: Annotated[float, limit("ball.shell.thickness")]
    density: Annotated[float, limit("ball.shell.density")]


class Ball(Model):
    """The undrilled ball: its label, its marks and what is known of its body.

    Inches, ``weight`` pounds, ``top_weight`` ounces, densities g/cm3. ``psa`` is None on a ball
    with no PSA mark. ``diameter_now`` is that of a ball that was resurfaced: all else here is the
    label's, of the ball of ``diameter``, while layout, grip and history are of the ball as it is now.
    What a box, a used ball or a plain one does not tell is None.
    """

    name: _Line
    serial: _Line = ""
    diameter: Annotated[float, limit("ball.diameter")]
    diameter_now: Annotated[float, limit("ball.diameter_now")] | None = None
    weight: Annotated[float, limit("ball.weight")]
    top_weight: Annotated[float, limit("ball.top_weight")] | None = None
    pin_to_cg: Annotated[float, limit("ball.pin_to_cg")] | None = None
    psa: PSA | None = None
    rg_low: Annotated[float, limit("ball.rg_low")] | None = None
    differential: Annotated[float, limit("ball.differential")] | None = None
    intermediate_differential: Annotated[float, limit("ball.intermediate_differential")] | None = (
        None
    )
    shell: Shell | None = None
    filler_density: Annotated[float, limit("ball.filler_density")] | None = None

    @property
    def radius(self) -> float:
        """The ball's radius as it is now."""
        return (self.diameter if self.diameter_now is None else self.diameter_now) / 2.0

    @property
    def resurfaced(self) -> bool:
        """Whether the ball is smaller now than its label's figures are about."""
        return self.diameter_now is not None and self.diameter_now < self.diameter

    @property
    def shrunk(self) -> float:
        """The radius now over that of the label: an arc between the ball's marks shrank by that."""
        return 2.0 * self.radius / self.diameter

    @model_validator(mode="after")
    def _shell_is_left(self) -> "Ball":
        now = self.diameter_now
        if now is not None and now > self.diameter:
            raise InputError(
                f"{now:g} in is more than the label's; possible: up to {self.diameter:g} in, diameter.",
                "diameter_now",
            )
        if now is not None and self.shell is not None:
            least = self.diameter - 2.0 * self.shell.thickness
            if now <= least:
                raise InputError(
                    f"{now:g} in leaves nothing of a shell {self.shell.thickness:g} in thick; "
                    f"possible: more than {least:g} in.",
                    "diameter_now",
                )
        return self

    @model_validator(mode="after")
    def _agrees(self) -> "Ball":
        if (self.rg_low is None) != (self.differential is None):
            absent, given, size = "rg_low", "differential", self.differential
            if size is None:
                absent, given, size = given, absent, self.rg_low
            raise InputError(
                f"missing beside {given} {size:g} in; possible: give both or neither.", absent
            )
        mid = self.intermediate_differential
        if mid is not None:
            field = "intermediate_differential"
            if self.differential is None:
                raise InputError(f"{mid:g} in needs rg_low and differential beside it.", field)
            if mid > self.differential:
                raise InputError(
                    f"{mid:g} in is above the differential; "
                    f"possible: 0 to {self.differential:g} in.",
                    field,
                )
            if mid > 0.0 and self.psa is None:
                raise InputError(
                    f"{mid:g} in on a ball with no PSA mark; possible: 0 in, or give ball.psa.",
                    field,
                )
        if self.psa is None and self.pin_to_cg == 0.0:
            raise InputError(
                "0 in on a ball with no PSA mark leaves no reference line; "
                "possible: more than 0 in, null, or give ball.psa.",
                "pin_to_cg",
            )
        return self


class AnglesLayout(Model):
    """A layout by two angles, in degrees, and the pin's arc to the PAP, in inches."""

    by: Literal["angles"]
    angle_at_pin: Annotated[float, limit("layout.angle_at_pin")]
    pin_to_pap: _PinToPAP
    angle_at_pap: Annotated[float, limit("layout.angle_at_pap")]


class DistancesLayout(Model):
    """A layout by three arcs, in inches; ``obtuse_angle_at_pap`` picks the other of two."""

    by: Literal["distances"]
    pin_to_pap: _PinToPAP
    psa_to_pap: Annotated[float, limit("layout.psa_to_pap")]
    pin_to_val: Annotated[float, limit("layout.pin_to_val")]
    obtuse_angle_at_pap: bool = False


class PinPlace(Model):
    """Where the pin lies, from the grip centre; inches."""

    over: Annotated[float, limit("layout.pin.over")]
    up: Annotated[float, limit("layout.pin.up")] | None = None
    down: Annotated[float, limit("layout.pin.down")] | None = None

    @model_validator(mode="after")
    def _pairs(self) -> "PinPlace":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class PlacementLayout(Model):
    """A layout by the pin's place and the reference mark's bearing at the pin, in degrees."""

    by: Literal["placement"]
    pin: PinPlace
    bearing: Annotated[float, limit("layout.bearing")] | None = None

    @property
    def bearing_net(self) -> float:
        """The bearing; 0 degrees on a ball with no reference mark, which lies alike all ways round."""
        return 0.0 if self.bearing is None else self.bearing


Layout = PlacementLayout | AnglesLayout | DistancesLayout
LAYOUTS: dict[str, type[BaseModel]] = {
    "placement": PlacementLayout,
    "angles": AnglesLayout,
    "distances": DistancesLayout,
}


class Work(Model):
    """The shop's own notes on the work; all may be left out.

    ``only`` names what is cut today, where the rest is there already.
    """

    order: _Line | None = None
    date: Annotated[str, Date()] | None = None
    driller: _Line | None = None
    checked_by: _Line | None = None
    ball_is: _Line | None = None
    only: Annotated[tuple[Digit, ...], Some(DIGITS)] | None = None
    order_of_cuts: Literal["fingers first", "thumb first"] | None = None


def scale_kind(scale: Any) -> dict[str, Any]:
    """What a scale states of supports, pan_lever and reading: nothing, or one of them.

    Raises InputError where it states more than one.
    """
    stated = {
        name: getattr(scale, name)
        for name in ("supports", "pan_lever", "reading")
        if getattr(scale, name) is not None
    }
    if len(stated) > 1:
        first, second, *_ = stated
        raise InputError(
            f"stands beside {first}; possible: one of supports, pan_lever and reading.", second
        )
    return stated


class Scale(Model):
    """The scale: ``arm`` in inches, None while not calibrated; ``allowance`` in ounces.

    ``arm_sd`` is the arm's standard deviation in inches, where its calibration tells it.
    ``calibrated`` tells when and from what, for whoever reads the plan.

    What half the difference of a two-position weighing's readings means: the ball rests on
    ``supports`` so many inches apart, or on a pan with so long a ``pan_lever``, or ``reading`` says
    that it is the weight itself, on the scale that the arm was calibrated with.
    """

    arm: Annotated[float, limit("scale.arm")] | None = None
    arm_sd: Annotated[float, limit("scale.arm_sd")] | None = None
    calibrated: _Line | None = None
    # convention for a two-position scale; no published source
    allowance: Annotated[float, limit("scale.allowance")] = 0.25
    supports: Annotated[float, limit("scale.supports")] | None = None
    pan_lever: Annotated[float, limit("scale.pan_lever")] | None = None
    reading: Literal["half_difference"] | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> "Scale":
        scale_kind(self)
        return self


class Tolerances(Model):
    """How far each measured input may be off, to either side; see `certainty` for what follows.

    Common practice, no source, but ``low_axis``: the standard's worst (USBC, in force 2012-01-31).
    """

    marks: Annotated[float, limit("tolerances.marks")] = 0.0625
    spans: Annotated[float, limit("tolerances.spans")] = 0.03125
    depths: Annotated[float, limit("tolerances.depths")] = 0.03125
    pitches: Annotated[float, limit("tolerances.pitches")] = 0.03125
    diameter: Annotated[float, limit("tolerances.diameter")] = 0.005
    weight: Annotated[float, limit("tolerances.weight")] = 0.01
    top_weight: Annotated[float, limit("tolerances.top_weight")] = 0.25
    rg: Annotated[float, limit("tolerances.rg")] = 0.005
    differential: Annotated[float, limit("tolerances.differential")] = 0.002
    densities: Annotated[float, limit("tolerances.densities")] = 0.05
    low_axis: Annotated[float, limit("tolerances.low_axis")] = 1.0
    arm: Annotated[float, limit("tolerances.arm")] = 0.1


class Release(Model):
    """How the bowler releases the ball: mph, rpm, degrees, boards.

    The defaults are a convention for comparing layouts, no source: give the bowler's own. Where neither
    board nor direction is stated, the ball rolls on a line into the pocket, if there is one.
    """

    speed: Annotated[float, limit("release.speed")] = 17.0
    revs: Annotated[float, limit("release.revs")] = 300.0
    axis_rotation: Annotated[float, limit("release.axis_rotation")] = 45.0
    axis_tilt: Annotated[float, limit("release.axis_tilt")] = 15.0
    board: Annotated[float, limit("release.board")] = 18.0
    direction: Annotated[float, limit("release.direction")] = 2.0
    phase: Annotated[float, limit("release.phase")] = 0.0


MOST_FRICTIONS = 40


class Friction(Model):
    """The friction at one place of the lane: feet from the foul line, and the coefficient."""

    at: Annotated[float, limit("lane.table.*.at")]
    friction: Annotated[float, limit("lane.table.*.friction")]


class Lane(Model):
    """The lane's friction: oil, then none, or a table that takes the place of these.

    Between the rows of a table friction changes evenly; before the first and after the last it stays.
    The defaults are a convention, no source.
    """

    oil_length: Annotated[float, limit("lane.oil_length")] = 40.0
    oil: Annotated[float, limit("lane.oil")] = 0.04
    dry: Annotated[float, limit("lane.dry")] = 0.20
    table: Annotated[tuple[Friction, ...], few(MOST_FRICTIONS)] = ()

    @model_validator(mode="after")
    def _rises(self) -> "Lane":
        for n, (before, after) in enumerate(pairwise(self.table), 1):
            if after.at <= before.at:
                raise InputError(
                    f"{after.at:g} ft does not come after {before.at:g} ft, the row before it; "
                    "possible: rows in the order of the lane.",
                    f"table.{n}.at",
                )
        return self


_Readings = Annotated[tuple[_Reading, _Reading], two(_READING)]


class Pairs(Model):
    """Raw readings of two-position weighings in ounces: one way up, then turned end for end."""

    top: _Readings | None = None
    side: _Readings | None = None
    finger: _Readings | None = None


class Weighing(Model):
    """What the scale showed, the ball turned as it will be held: pounds and signed scale ounces.

    ``pairs`` are raw readings of which the weights are made; a weight is stated in one way only.
    """

    gross: Annotated[float, limit("weighings.*.gross")] | None = None
    top: Annotated[float, limit("weighings.*.top")] | None = None
    side: Annotated[float, limit("weighings.*.side")] | None = None
    finger: Annotated[float, limit("weighings.*.finger")] | None = None
    date: Annotated[str, Date()] | None = None
    by: _Line | None = None
    pairs: Pairs | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "Weighing":
        for name in Pairs.model_fields:
            if getattr(self, name) is not None and getattr(self.pairs, name, None) is not None:
                raise InputError(
                    f"stands beside a plain reading of {name}; possible: one of the two.",
                    f"pairs.{name}",
                )
        return self


class Weighings(Model):
    """The ball on the scale, before drilling and after."""

    undrilled: Weighing | None = None
    drilled: Weighing | None = None


MOST_VENTS = 6
MOST_OLD_HOLES = 20


class Vent(Model):
    """A vent hole, from a place on the surface to the axis of a gripping hole; inches.

    ``meets`` is how deep down that hole, measured along its axis.
    """

    hole: Literal["middle", "ring", "thumb"]
    over: Annotated[float, limit("extra_holes.vents.*.over")]
    up: Annotated[float, limit("extra_holes.vents.*.up")] | None = None
    down: Annotated[float, limit("extra_holes.vents.*.down")] | None = None
    diameter: Annotated[float, limit("extra_holes.vents.*.diameter")]
    meets: Annotated[float, limit("extra_holes.vents.*.meets")]

    @model_validator(mode="after")
    def _pairs(self) -> "Vent":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class Inspection(Model):
    """An inspection hole, straight toward the ball's centre; inches."""

    over: Annotated[float, limit("extra_holes.inspection.over")]
    up: Annotated[float, limit("extra_holes.inspection.up")] | None = None
    down: Annotated[float, limit("extra_holes.inspection.down")] | None = None
    diameter: Annotated[float, limit("extra_holes.inspection.diameter")]
    depth: Annotated[float, limit("extra_holes.inspection.depth")]

    @model_validator(mode="after")
    def _pairs(self) -> "Inspection":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class ExtraHoles(Model):
    """Holes beside those of the grip, drilled last."""

    vents: Annotated[tuple[Vent, ...], few(MOST_VENTS)] = ()
    inspection: Inspection | None = None


class Plug(Model):
    """What an old hole is filled with, from the surface down: g/cm3 and inches.

    Without a ``length`` the whole hole is filled, its drill point too.
    """

    density: Annotated[float, limit("history.holes.*.plug.density")]
    length: Annotated[float, limit("history.holes.*.plug.length")] | None = None


# what tells the place of an old hole, and what each part of it can be
_PLACES = {
    "from_pin": limit("history.holes.*.from_pin").range,
    "bearing": limit("history.holes.*.bearing").range,
    "arcs": "arcs from two of pin, cg, psa and grip_center",
}


class Arcs(Model):
    """The arcs from two of the ball's marks to a place on it, in inches."""

    pin: _Arc | None = None
    cg: _Arc | None = None
    psa: _Arc | None = None
    grip_center: _Arc | None = None

    @model_validator(mode="after")
    def _two(self) -> "Arcs":
        stated = [name for name, value in self if value is not None]
        if len(stated) != 2:
            raise InputError(
                f"{len(stated)} arcs are given; possible: two of pin, cg, psa and grip_center."
            )
        return self


class OldHole(Model):
    """A hole that the ball had before, by the ball's own marks; inches and degrees.

    It belongs to the ball, so it stays where it is when the layout changes. Its place is told by
    ``from_pin`` and ``bearing``, or by ``arcs`` from two marks and the ``side`` of the line from the
    first to the second on which it lies, seen from outside; without a ``side`` a plan is refused with
    both places. ``toward_pin`` and ``right`` are its pitches, right as seen from outside with the pin
    up. Where the old grip is placed, ``digit`` naming its holes, ``pitch`` may tell them instead, as
    in the grip. Without a ``plug`` it is left open.
    """

    name: _Name
    from_pin: Annotated[float, limit("history.holes.*.from_pin")] | None = None
    bearing: Annotated[float, limit("history.holes.*.bearing")] | None = None
    arcs: Arcs | None = None
    side: Literal["left", "right"] | None = None
    digit: Digit | None = None
    toward_pin: Annotated[float, limit("history.holes.*.toward_pin")] = 0.0
    right: Annotated[float, limit("history.holes.*.right")] = 0.0
    pitch: Pitch | None = None
    diameter: Annotated[float, limit("history.holes.*.diameter")]
    depth: Annotated[float, limit("history.holes.*.depth")]
    tip_angle: Annotated[float, limit("history.holes.*.tip_angle")] | None = None
    plug: Plug | None = None

    @model_validator(mode="after")
    def _placed(self) -> "OldHole":
        """Its place is told in one way, and in that way wholly."""
        ways = (("from_pin", "bearing"), ("arcs", "side"))
        stated = [name for way in ways for name in way if getattr(self, name) is not None]
        way, other = ways if "arcs" not in stated and "side" not in stated else reversed(ways)
        for name in stated:
            if name in other:
                raise InputError(
                    f"given beside {' and '.join(n for n in way if n in stated)}; "
                    "possible: from_pin and bearing, or arcs and side.",
                    name,
                )
        for name in way:
            if name not in stated and name in _PLACES:
                raise InputError(f"missing; possible: {_PLACES[name]}.", name)
        return self

    @model_validator(mode="after")
    def _pitched(self) -> "OldHole":
        """Its pitch is told in one way; the grip's own needs to know which hole this was."""
        if self.pitch is None:
            return self
        for name in ("toward_pin", "right"):
            if getattr(self, name):
                raise InputError(
                    "given beside pitch; possible: toward_pin and right, or pitch.", name
                )
        if self.digit is None:
            raise InputError(f"missing beside pitch; possible: {', '.join(DIGITS)}.", "digit")
        return self

    @property
    def at_pin(self) -> tuple[float, float] | None:
        """The arc from the pin in inches and the bearing there; None where arcs tell the place."""
        if self.from_pin is None or self.bearing is None:
            return None
        return self.from_pin, self.bearing

    @model_validator(mode="after")
    def _fits(self) -> "OldHole":
        if self.plug is not None and (self.plug.length or 0.0) > self.depth:
            raise InputError(
                f"{self.plug.length:g} in is longer than the hole; possible: 0 to {self.depth:g} in, "
                "or leave it out to fill the whole hole.",
                "plug.length",
            )
        return self


class History(Model):
    """What was drilled before, in the order of the work: each hole drilled, then filled."""

    holes: Annotated[tuple[OldHole, ...], few(MOST_OLD_HOLES)] = ()


MOST_ANSWERS = 100


class DrilledThumb(Model):
    """The thumb hole as it was measured after drilling; inches."""

    diameter: Annotated[float, limit("as_drilled.*.diameter")] | None = None
    depth: Annotated[float, limit("as_drilled.*.depth")] | None = None
    pitch: Pitch | None = None


class DrilledFinger(DrilledThumb):
    """A finger hole as it was measured after drilling; inches."""

    span: Annotated[float, limit("as_drilled.*.span")] | None = None


class AsDrilled(Model):
    """What was measured after drilling, as far as it was; ``bridge`` from cut edge to cut edge."""

    bridge: Annotated[float, limit("as_drilled.bridge")] | None = None
    middle: DrilledFinger | None = None
    ring: DrilledFinger | None = None
    thumb: DrilledThumb | None = None
    index: DrilledFinger | None = None
    little: DrilledFinger | None = None


class Job(Model):
    """A whole job record.

    ``confirmed`` has the answers to the plan's questions: a field's path, and the value that it has
    on purpose. ``wants`` is what a layout is to bring.
    """

    format: Literal["layoutkit-job"]
    version: Annotated[Literal[2], only_version(VERSION)]
    title: _Line = ""
    notes: _Notes = ""
    work: Work | None = None
    bowler: Bowler
    ball: Ball
    layout: Annotated[Layout, Field(discriminator="by")]
    extra_holes: ExtraHoles | None = None
    history: History | None = None
    scale: Scale | None = None
    tolerances: Tolerances | None = None
    weighings: Weighings | None = None
    release: Release | None = None
    lane: Lane | None = None
    rules: _Line = "usbc-2020"
    as_drilled: AsDrilled | None = None
    wants: Wants | None = None
    confirmed: Annotated[Mapping[str, Answer], Answers(MOST_ANSWERS)] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _agrees(self) -> "Job":
        if isinstance(self.layout, DistancesLayout) and self.ball.psa is None:
            raise InputError(
                '"distances" needs a PSA mark on the ball; possible: placement or angles.',
                "layout.by",
            )
        self._can_be_laid_out()
        self.refuse_missing_vents()
        self._work_is_there()
        self._drilled_is_there()
        return self

    def _can_be_laid_out(self) -> None:
        """What is left open leaves the layout a way to be stated, and old holes their marks."""
        by, ball = self.layout.by, self.ball
        needed = (
            ("bowler.pap", self.bowler.pap),
            ("ball.pin_to_cg", ball.pin_to_cg),
            ("ball.top_weight", ball.top_weight),
        )
        for field, value in needed:
            if value is None and by != "placement":
                raise InputError(
                    f"missing beside a layout by {by}; possible: give it, or state the layout by "
                    "placement, which works without.",
                    field,
                )
        marked = ball.psa is not None or ball.pin_to_cg is not None
        old = () if self.history is None else self.history.holes
        if not marked and any(hole.arcs is None for hole in old):
            raise InputError(
                "missing on a ball with no PSA mark, and old holes are told from one of the two; "
                "possible: give it, or ball.psa, or tell old holes by arcs from pin and grip_center.",
                "ball.pin_to_cg",
            )
        if marked and isinstance(self.layout, PlacementLayout) and self.layout.bearing is None:
            raise InputError(
                "missing; possible: degrees; only a ball with neither PSA nor CG mark does without.",
                "layout.bearing",
            )

    def _work_is_there(self) -> None:
        """What is cut today is a hole of the grip."""
        grip = self.bowler.grip
        there = grip.digits
        only = None if self.work is None else self.work.only
        if only is None:
            return
        for digit in only:
            if digit not in there:
                raise InputError(
                    f'"{digit}" is no hole of this grip; possible: some of {", ".join(there)}.',
                    "work.only",
                )
        if not only:
            raise InputError(
                f"names no hole; possible: some of {', '.join(there)}, or leave it out for all.",
                "work.only",
            )

    def _drilled_is_there(self) -> None:
        """What was measured after drilling is a hole of the grip."""
        for digit in DIGITS:
            measured = getattr(self.as_drilled, digit, None)
            if measured is not None and getattr(self.bowler.grip, digit) is None:
                raise InputError(
                    "measured, but this grip has no such hole; possible: leave it out.",
                    f"as_drilled.{digit}",
                )

    def refuse_missing_vents(self) -> None:
        """Raise InputError for a vent whose hole is not there or not deep enough to be met."""
        for n, vent in enumerate(self.extra_holes.vents if self.extra_holes else ()):
            part = getattr(self.bowler.grip, vent.hole)
            if part is None:
                raise InputError(
                    '"thumb" on a no-thumb grip; possible: "middle" or "ring".',
                    f"extra_holes.vents.{n}.hole",
                )
            if vent.meets > part.depth:
                raise InputError(
                    f"{vent.meets:g} in is below the {vent.hole} hole's bottom; "
                    f"possible: up to {part.depth:g} in, its depth.",
                    f"extra_holes.vents.{n}.meets",
                )


def parse_job(data: object) -> Job:
    """The job of a decoded JSON record, of the present version or of version 1.

    Raises InputError about the first problem: the field's dotted path, the value as written and
    what is possible.
    """
    job, wrong = _read(data)
    if job is None:
        raise wrong[0].error()
    return job


def problems(data: object) -> tuple[Problem, ...]:
    """All that keeps a decoded JSON record from being a job, the most telling first.

    What fields must be to each other is looked at only where each is possible by itself.
    """
    return _read(data)[1]


def _read(data: object) -> tuple[Job | None, tuple[Problem, ...]]:
    """The job of a record, or all that is wrong with it under the names that the record uses."""
    old = data if isinstance(data, Mapping) and is_version_1(data) else None
    try:
        if isinstance(data, Mapping):
            _refuse_newer(data.get("version"))
        return Job.model_validate(data if old is None else upgraded(old)), ()
    except InputError as error:
        wrong: tuple[Problem, ...] = (Problem(error.field, error.words),)
    except ValidationError as error:
        wrong = problems_of(error, Job, "the record")
    return None, wrong if old is None else tuple(as_stated(each, old) for each in wrong)


def _refuse_newer(version: object) -> None:
    """Raise InputError for a version, a number or text such as "2.1", that is newer than this program."""
    newer = isinstance(version, int | float) and version > VERSION
    if isinstance(version, str) and re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})*", version):
        newer = [int(part) for part in version.split(".")] > [VERSION]
    if newer:
        raise InputError(
            f"{shown(version)}: made by a newer layoutkit; this one reads versions 1 and {VERSION}.",
            "version",
        )


def dump_job(job: Job) -> dict[str, Any]:
    """The record of a job, ready for JSON; `parse_job` makes an equal job of it.

    Lengths that the trade states in fractions are text where they are whole sixty-fourths. What was
    left out of the record stays left out.
    """
    return _dump(job, "")


def dump_grip(grip: Grip) -> dict[str, Any]:
    """A grip as a job's record states it, ready for JSON; as `dump_job`."""
    return _dump(grip, "bowler.grip.")


def job_schema() -> dict[str, Any]:
    """The JSON Schema of the record; every quantity's description has its unit and its range."""
    return Job.model_json_schema()


_PAIRED = frozenset({"up", "down", "forward", "reverse", "right", "left"})


def _dump(model: BaseModel, path: str) -> dict[str, Any]:
    record: dict[str, Any] = {}
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if value is None and name in _PAIRED:
            continue
        if name not in model.model_fields_set and value == field.get_default(
            call_default_factory=True
        ):
            continue
        if isinstance(value, BaseModel):
            record[name] = _dump(value, f"{path}{name}.")
            continue
        if isinstance(value, tuple):
            each = enumerate(value)
            record[name] = [
                _dump(part, f"{path}{name}.{n}.")
                if isinstance(part, BaseModel)
                else _written(part, f"{path}{name}.{n}")
                for n, part in each
            ]
            continue
        record[name] = _written(value, path + name)
    return record


def _written(value: Any, path: str) -> Any:
    """A value that is no object, as the record states it."""
    row = limit_at(path)
    if row is not None and isinstance(value, int | float):
        return row.write(float(value))
    return dict(value) if isinstance(value, Mapping) else value
