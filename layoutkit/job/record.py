"""The job record: what a shop writes down about a bowler, a ball and a layout.

The models are frozen. Once parsed, lengths are inches, the ball's weight pounds, top weight ounces,
densities g/cm3 and angles degrees. `parse_job` makes a `Job` from decoded JSON and raises
InputError with one sentence; a model built directly raises pydantic's ValidationError, a
ValueError, instead.
"""

import datetime
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from fnmatch import fnmatchcase
from itertools import pairwise
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import core_schema

from layoutkit.errors import InputError
from layoutkit.units import finite, fraction, parse_length, parse_ounces, parse_weight, shown

FORMAT = "layoutkit-job"
VERSION = 1

_PARSERS: dict[str, Callable[[Any], float]] = {
    "in": parse_length,
    "lb": parse_weight,
    "oz": parse_ounces,
}
_WRITTEN = {
    "in": 'number of inches or text such as "3 3/8", "3.375 in" or "85.7 mm"',
    "lb": 'number of pounds or text such as "15 lb 2 oz" or "6.86 kg"',
    "oz": 'number of ounces or text such as "2 3/4", "2.75 oz" or "78 g"',
    "g/cm3": "number of g/cm3",
    "degrees": "number of degrees",
    "mph": "number of miles an hour",
    "rpm": "number of turns a minute",
    "ft": "number of feet",
    "boards": "number of boards",
    "friction": "coefficient of friction",
}


class _Problem(ValueError):
    """One thing wrong: ``field`` counted from where it was found, and the words after the path."""

    def __init__(self, words: str, field: str = "") -> None:
        super().__init__(words)
        self.field = field


@dataclass(frozen=True, slots=True)
class Limit:
    """The physical range of one field, and its validator: a row of `LIMITS`.

    ``path`` is dotted; ``*`` stands for one part of it. ``low`` and ``high`` are possible
    themselves, in ``unit``: in, lb, oz, g/cm3 or degrees. With ``on_rule`` the trade states the
    length in fractions of an inch. ``word`` is text that may stand for the number.
    """

    path: str
    low: float
    high: float
    unit: str
    meaning: str
    on_rule: bool = False
    word: str = ""

    @property
    def range(self) -> str:
        """What is possible, for a message: `0.5 to 7 in`."""
        text = f"{self.low:g} to {self.high:g} {self.unit}"
        return f'{text} or "{self.word}"' if self.word else text

    def parse(self, value: object) -> float | str:
        """The value as a number of ``unit``, or the word; ValueError tells what is possible."""
        if self.word and value == self.word:
            return self.word
        number = self._number(value)
        if not self.low <= number <= self.high:
            given = shown(value) if isinstance(value, str) else f"{shown(value)} {self.unit}"
            raise _Problem(f"{given} is outside {self.range}.")
        return number

    def _number(self, value: object) -> float:
        read = _PARSERS.get(self.unit)
        try:
            if read is not None:
                return read(value)
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise _Problem(f"{shown(value)} is not a number; possible: {self.range}.")
            return finite(value)
        except InputError as error:
            stem = str(error).removesuffix(".")
            joint = ", " if "possible: " in stem else "; possible: "
            raise _Problem(f"{stem}{joint}{self.range}.") from None

    def nearest(self, value: float) -> float:
        """The possible number nearest to a value."""
        return min(max(value, self.low), self.high)

    def write(self, value: float) -> float | int | str:
        """The number as a record states it; reading it gives the same number again."""
        if self.on_rule and (value * 64.0).is_integer():
            return fraction(value)
        return int(value) if value.is_integer() else value

    # pydantic calls these two because the row is the annotation of its field
    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        """One plain call a field; pydantic's own float parsing would refuse the text forms."""
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        """Number, or where the unit has one a text form, with unit and range in words."""
        what = _WRITTEN[self.unit]
        if self.word:
            what += f' or the word "{self.word}"'
        number: dict[str, Any] = {"type": "number", "minimum": self.low, "maximum": self.high}
        text = f"{self.meaning}: {what}, {self.low:g} to {self.high:g} {self.unit}"
        if self.unit in _PARSERS:
            return {"description": text, "anyOf": [number, {"type": "string"}]}
        return {"description": text, **number}


LIMITS: tuple[Limit, ...] = (
    Limit("bowler.pap.over", 0.0, 8.0, "in", "PAP along the midline from the grip centre", True),
    Limit("bowler.pap.up", -4.0, 4.0, "in", "PAP above the midline, toward the fingers", True),
    Limit("bowler.pap.down", -4.0, 4.0, "in", "PAP below the midline, toward the thumb", True),
    Limit("bowler.grip.bridge", 0.0, 2.0, "in", "Arc between the bored finger holes", True),
    Limit("bowler.grip.*.span", 0.5, 7.0, "in", "Arc from finished edge to finished edge", True),
    Limit("bowler.grip.*.diameter", 0.25, 2.0, "in", "Diameter of the finished hole", True),
    Limit("bowler.grip.*.depth", 0.0, 6.0, "in", "Depth along the axis to the full diameter", True),
    Limit("bowler.grip.*.pitch.*", -2.0, 2.0, "in", "Distance of the axis from the centre", True),
    Limit("bowler.grip.*.sleeve.bore", 0.25, 2.5, "in", "Diameter bored for the sleeve", True),
    Limit("bowler.grip.*.sleeve.bore_depth", 0.0, 6.0, "in", "Depth of the sleeve's bore", True),
    Limit("bowler.grip.*.sleeve.length", 0.0, 6.0, "in", "Length of the sleeve", True),
    Limit("bowler.grip.*.sleeve.density", 0.1, 5.0, "g/cm3", "Density of the sleeve"),
    Limit("bowler.grip.*.tip_angle", 60.0, 180.0, "degrees", "Included angle of the drill point"),
    Limit("bowler.grip.thumb.oval.length", 0.25, 3.0, "in", "Finished length of the oval", True),
    Limit(
        "bowler.grip.thumb.oval.direction",
        -90.0,
        90.0,
        "degrees",
        "The oval's long way from the centreline, growing to the right",
    ),
    Limit(
        "bowler.grip.thumb.oval.scallop",
        1.0 / 128.0,
        0.125,
        "in",
        "Greatest height left between two bores",
        True,
    ),
    Limit("ball.diameter", 8.0, 9.0, "in", "Diameter of the ball"),
    Limit("ball.weight", 4.0, 18.0, "lb", "Gross weight before drilling"),
    Limit("ball.top_weight", 0.0, 8.0, "oz", "Top weight on the label"),
    Limit("ball.pin_to_cg", 0.0, 7.0, "in", "Arc from the pin to the CG mark", True),
    Limit(
        "ball.psa.distance",
        0.5,
        12.5,
        "in",
        "Arc from the pin to the PSA mark",
        True,
        "quarter",
    ),
    Limit(
        "ball.psa.cg_bearing",
        -360.0,
        360.0,
        "degrees",
        "At the pin, from the PSA mark's line to the CG mark's, clockwise positive",
    ),
    Limit("ball.rg_low", 2.2, 3.0, "in", "Low radius of gyration"),
    Limit("ball.differential", 0.0, 0.15, "in", "High less low radius of gyration"),
    Limit(
        "ball.intermediate_differential",
        0.0,
        0.15,
        "in",
        "High less middle radius of gyration",
    ),
    Limit("ball.shell.thickness", 0.1, 2.5, "in", "Thickness of the shell"),
    Limit("ball.shell.density", 0.3, 3.0, "g/cm3", "Density of the shell"),
    Limit("ball.filler_density", 0.1, 3.8, "g/cm3", "Density of the filler"),
    Limit(
        "layout.drilling_angle",
        -180.0,
        180.0,
        "degrees",
        "At the pin, from the reference mark's line to the PAP's",
    ),
    Limit(
        "layout.val_angle",
        -180.0,
        180.0,
        "degrees",
        "At the PAP, between the pin's line and the finger side of the VAL",
    ),
    Limit("layout.pin_to_pap", 0.0, 14.2, "in", "Arc from the pin to the PAP", True),
    Limit("layout.psa_to_pap", 0.0, 14.2, "in", "Arc from the PSA mark to the PAP", True),
    Limit("layout.pin_to_val", -7.1, 7.1, "in", "Arc from the pin to the VAL", True),
    Limit("layout.pin.over", -14.2, 14.2, "in", "Pin along the midline, toward the PAP", True),
    Limit("layout.pin.up", -7.1, 7.1, "in", "Pin above the midline, toward the fingers", True),
    Limit("layout.pin.down", -7.1, 7.1, "in", "Pin below the midline, toward the thumb", True),
    Limit(
        "layout.bearing",
        0.0,
        360.0,
        "degrees",
        "At the pin, the reference mark's line from the fingers' pole toward the PAP side",
    ),
    Limit("scale.arm", 1.0, 6.0, "in", "Lever that the scale is graduated for"),
    Limit("scale.arm_sd", 0.0, 6.0, "in", "Standard deviation of the calibrated arm"),
    Limit("scale.allowance", 0.0, 2.0, "oz", "Allowance for the scale in every static weight"),
    Limit("tolerances.marks", 0.0, 0.5, "in", "How far a mark may lie from its place", True),
    Limit("tolerances.spans", 0.0, 0.5, "in", "How far a span or the bridge may be off", True),
    Limit("tolerances.depths", 0.0, 0.5, "in", "How far a hole's depth may be off", True),
    Limit("tolerances.pitches", 0.0, 0.5, "in", "How far a pitch may be off", True),
    Limit("tolerances.diameter", 0.0, 0.1, "in", "How far the ball's diameter may be off"),
    Limit("tolerances.weight", 0.0, 1.0, "lb", "How far the label's weight may be off"),
    Limit("tolerances.top_weight", 0.0, 2.0, "oz", "How far the label's top weight may be off"),
    Limit("tolerances.rg", 0.0, 0.1, "in", "How far the label's low RG may be off"),
    Limit("tolerances.differential", 0.0, 0.05, "in", "How far either differential may be off"),
    Limit("tolerances.densities", 0.0, 0.5, "g/cm3", "How far each density may be off"),
    Limit("tolerances.low_axis", 0.0, 2.0, "in", "How far the low axis may lie from the pin", True),
    Limit("extra_holes.vents.*.over", -8.0, 8.0, "in", "Vent along the midline", True),
    Limit("extra_holes.vents.*.up", -8.0, 8.0, "in", "Vent above the midline", True),
    Limit("extra_holes.vents.*.down", -8.0, 8.0, "in", "Vent below the midline", True),
    Limit("extra_holes.vents.*.diameter", 0.0625, 0.5, "in", "Diameter of the vent", True),
    Limit("extra_holes.vents.*.meets", 0.25, 6.0, "in", "Depth where it meets its hole", True),
    Limit("extra_holes.inspection.over", -14.2, 14.2, "in", "Along the midline", True),
    Limit("extra_holes.inspection.up", -7.1, 7.1, "in", "Above the midline", True),
    Limit("extra_holes.inspection.down", -7.1, 7.1, "in", "Below the midline", True),
    Limit("extra_holes.inspection.diameter", 0.0625, 1.5, "in", "Its diameter", True),
    Limit("extra_holes.inspection.depth", 0.0, 2.0, "in", "Its depth", True),
    Limit("history.holes.*.from_pin", 0.0, 14.2, "in", "Arc from the pin to its centre", True),
    Limit(
        "history.holes.*.bearing",
        -360.0,
        360.0,
        "degrees",
        "At the pin, from the reference mark's line to the hole, clockwise positive",
    ),
    Limit("history.holes.*.toward_pin", -2.5, 2.5, "in", "Pitch toward the pin", True),
    Limit("history.holes.*.right", -2.5, 2.5, "in", "Pitch to the right, the pin up", True),
    Limit("history.holes.*.diameter", 0.0625, 2.5, "in", "Diameter that was drilled", True),
    Limit("history.holes.*.depth", 0.0, 6.0, "in", "Depth that was drilled", True),
    Limit("history.holes.*.tip_angle", 60.0, 180.0, "degrees", "Included angle of its drill point"),
    Limit("history.holes.*.plug.density", 0.1, 5.0, "g/cm3", "Density of the plug"),
    Limit(
        "history.holes.*.plug.length", 0.0, 6.5, "in", "Length of the plug from the surface", True
    ),
    Limit("tolerances.arm", 0.0, 1.0, "in", "How far a stated arm with no deviation may be off"),
    Limit("release.speed", 5.0, 40.0, "mph", "Speed of the ball at the foul line"),
    Limit("release.revs", -800.0, 800.0, "rpm", "Rev rate at release, negative for backspin"),
    Limit(
        "release.axis_rotation",
        -180.0,
        180.0,
        "degrees",
        "From rolling straight on, 0, to turning sideways, 90",
    ),
    Limit(
        "release.axis_tilt", -90.0, 90.0, "degrees", "The axis above the lane, on the PAP's side"
    ),
    Limit("release.board", 1.0, 39.0, "boards", "At the foul line, from the bowler's own side"),
    Limit("release.direction", -15.0, 15.0, "degrees", "Toward the bowler's own gutter"),
    Limit(
        "release.phase",
        -360.0,
        360.0,
        "degrees",
        "Turned about the axis from where the grip centre is highest",
    ),
    Limit("lane.oil_length", 0.0, 60.0, "ft", "Length of the oil from the foul line"),
    Limit("lane.oil", 0.0, 1.0, "friction", "Friction on the oil"),
    Limit("lane.dry", 0.0, 1.0, "friction", "Friction beyond the oil"),
    Limit("lane.table.*.at", 0.0, 60.0, "ft", "Distance from the foul line"),
    Limit("lane.table.*.friction", 0.0, 1.0, "friction", "Friction there"),
    Limit("weighings.*.gross", 3.0, 18.0, "lb", "Gross weight as weighed"),
    Limit("weighings.*.top", -16.0, 16.0, "oz", "Top weight as weighed, negative for bottom"),
    Limit("weighings.*.side", -16.0, 16.0, "oz", "Side weight as weighed, positive to the PAP"),
    Limit("weighings.*.finger", -16.0, 16.0, "oz", "Finger weight as weighed, negative for thumb"),
)

_LIMIT = {row.path: row for row in LIMITS}


def limit_at(path: str) -> Limit | None:
    """The row of `LIMITS` for a field's dotted path, None where the field is not a quantity."""
    if path in _LIMIT:
        return _LIMIT[path]
    parts = path.count(".")
    for row in LIMITS:
        if row.path.count(".") == parts and fnmatchcase(path, row.path):
            return row
    return None


@dataclass(frozen=True, slots=True)
class Text:
    """Validator of free text: its greatest length, and whether it may have several lines."""

    longest: int
    lines: bool = False

    def parse(self, value: object) -> str:
        """The text; ValueError tells what is possible."""
        if not isinstance(value, str):
            raise _Problem(
                f"{shown(value)} is not text; possible: up to {self.longest} characters."
            )
        if len(value) > self.longest:
            raise _Problem(
                f"{shown(value)} has {len(value)} characters; possible: up to {self.longest}."
            )
        for c in value:
            # control characters garble a printed sheet; lone surrogates cannot be written to a file
            if (c < " " or "\x7f" <= c <= "\x9f" or "\ud800" <= c <= "\udfff") and not (
                self.lines and c == "\n"
            ):
                allowed = "text and line breaks" if self.lines else "one line of text"
                raise _Problem(
                    f"{shown(value)} contains the character U+{ord(c):04X}; possible: {allowed}."
                )
        return value

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest}


@dataclass(frozen=True, slots=True)
class Date:
    """Validator of a date; it stays text."""

    def parse(self, value: object) -> str:
        """The date as written; ValueError tells what is possible."""
        if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
            try:
                datetime.date.fromisoformat(value)
                return value
            except ValueError:
                pass
        raise _Problem(
            f"{shown(value)} is not a date; possible: year-month-day such as 2026-11-25."
        )

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(self.parse)

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        return {"type": "string", "format": "date"}


_Line = Annotated[str, Text(200)]
_Name = Annotated[str, Text(30)]  # stands in tables and beside the ball
_Notes = Annotated[str, Text(2000, lines=True)]
_Pitch = Annotated[float, _LIMIT["bowler.grip.*.pitch.*"]]
_Diameter = Annotated[float, _LIMIT["bowler.grip.*.diameter"]]
_Depth = Annotated[float, _LIMIT["bowler.grip.*.depth"]]
_TipAngle = Annotated[float, _LIMIT["bowler.grip.*.tip_angle"]]
_PinToPAP = Annotated[float, _LIMIT["layout.pin_to_pap"]]


class _Model(BaseModel):
    # built when first needed: building each model and then again inside Job would double the cost
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, defer_build=True)


def _net(plus: float | None, minus: float | None) -> float:
    return (plus or 0.0) - (minus or 0.0)


def _one_of_pair(model: BaseModel, plus: str, minus: str) -> None:
    one, other = getattr(model, plus), getattr(model, minus)
    if one is not None and other is not None:
        raise _Problem(
            f"{plus} {one:g} in and {minus} {other:g} in are both given; possible: one of the two."
        )


class PAP(_Model):
    """The positive axis point, from the grip centre; inches."""

    over: Annotated[float, _LIMIT["bowler.pap.over"]]
    up: Annotated[float, _LIMIT["bowler.pap.up"]] | None = None
    down: Annotated[float, _LIMIT["bowler.pap.down"]] | None = None

    @model_validator(mode="after")
    def _pairs(self) -> "PAP":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class Pitch(_Model):
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


class Sleeve(_Model):
    """A finger insert or a thumb slug; inches and g/cm3."""

    bore: Annotated[float, _LIMIT["bowler.grip.*.sleeve.bore"]]
    bore_depth: Annotated[float, _LIMIT["bowler.grip.*.sleeve.bore_depth"]]
    length: Annotated[float, _LIMIT["bowler.grip.*.sleeve.length"]] | None = None
    density: Annotated[float, _LIMIT["bowler.grip.*.sleeve.density"]]

    @model_validator(mode="after")
    def _fits(self) -> "Sleeve":
        if self.length_net > self.bore_depth:
            raise _Problem(
                f"{self.length_net:g} in is longer than the bore; "
                f"possible: 0 to {self.bore_depth:g} in, the bore_depth.",
                "length",
            )
        return self

    @property
    def length_net(self) -> float:
        """The sleeve's length in inches: the bore's depth where none is given."""
        return self.bore_depth if self.length is None else self.length


def _sleeve_fits(sleeve: Sleeve | None, diameter: float) -> None:
    if sleeve is not None and sleeve.bore < diameter:
        raise _Problem(
            f"{sleeve.bore:g} in is narrower than the finished hole; "
            f"possible: {diameter:g} in, its diameter, or more.",
            "sleeve.bore",
        )


class Finger(_Model):
    """A finger hole; inches, ``tip_angle`` degrees."""

    span: Annotated[float, _LIMIT["bowler.grip.*.span"]]
    diameter: _Diameter
    depth: _Depth
    pitch: Pitch = Field(default_factory=Pitch)
    sleeve: Sleeve | None = None
    tip_angle: _TipAngle | None = None

    @model_validator(mode="after")
    def _fits(self) -> "Finger":
        _sleeve_fits(self.sleeve, self.diameter)
        return self


LONGEST_WAY = 1.0  # inches; what an oval may be longer than its bit


class Oval(_Model):
    """An oval hole, longer one way than its bit: inches, ``direction`` degrees from the centreline.

    It is cut as overlapping bores that leave no more than ``scallop`` between them, or milled.
    """

    length: Annotated[float, _LIMIT["bowler.grip.thumb.oval.length"]]
    direction: Annotated[float, _LIMIT["bowler.grip.thumb.oval.direction"]] = 0.0
    scallop: Annotated[float, _LIMIT["bowler.grip.thumb.oval.scallop"]] | None = None
    milled: bool = False

    @model_validator(mode="after")
    def _agrees(self) -> "Oval":
        if self.milled and self.scallop is not None:
            raise _Problem(
                f"{self.scallop:g} in on a milled slot, which has none; "
                "possible: leave it out, or milled false.",
                "scallop",
            )
        return self

    @property
    def scallop_net(self) -> float:
        """The scallop in inches: 1/64 where none is given."""
        return 1.0 / 64.0 if self.scallop is None else self.scallop


class Thumb(_Model):
    """The thumb hole; inches, ``tip_angle`` degrees. Of an ``oval`` one, ``diameter`` is the bit's."""

    diameter: _Diameter
    depth: _Depth
    pitch: Pitch = Field(default_factory=Pitch)
    sleeve: Sleeve | None = None
    tip_angle: _TipAngle | None = None
    oval: Oval | None = None

    @model_validator(mode="after")
    def _fits(self) -> "Thumb":
        widest = self.diameter
        if self.oval is not None:
            widest = self.oval.length
            if not self.diameter < widest <= self.diameter + LONGEST_WAY:
                raise _Problem(
                    f"{widest:g} in with a bit of {self.diameter:g} in; possible: more than the bit, "
                    f"up to {self.diameter + LONGEST_WAY:g} in.",
                    "oval.length",
                )
        _sleeve_fits(self.sleeve, widest)
        return self


class Grip(_Model):
    """The holes of one hand; ``thumb`` is None on a no-thumb grip. ``bridge`` in inches."""

    bridge: Annotated[float, _LIMIT["bowler.grip.bridge"]]
    middle: Finger
    ring: Finger
    thumb: Thumb | None


class Bowler(_Model):
    """Whom the ball is drilled for."""

    name: _Line
    hand: Literal["right", "left"]
    pap: PAP
    grip: Grip


class PSA(_Model):
    """The PSA mark: its arc from the pin in inches or `quarter`, 90 degrees; bearing in degrees."""

    distance: Annotated[Literal["quarter"] | float, _LIMIT["ball.psa.distance"]]
    cg_bearing: Annotated[float, _LIMIT["ball.psa.cg_bearing"]] = 0.0


class Shell(_Model):
    """The outer shell; inches and g/cm3."""

    thickness: Annotated[float, _LIMIT["ball.shell.thickness"]]
    density: Annotated[float, _LIMIT["ball.shell.density"]]


class Ball(_Model):
    """The undrilled ball: its label, its marks and what is known of its body.

    Inches, ``weight`` pounds, ``top_weight`` ounces, densities g/cm3. ``psa`` is None on a ball
    with no PSA mark.
    """

    name: _Line
    serial: _Line = ""
    diameter: Annotated[float, _LIMIT["ball.diameter"]]
    weight: Annotated[float, _LIMIT["ball.weight"]]
    top_weight: Annotated[float, _LIMIT["ball.top_weight"]]
    pin_to_cg: Annotated[float, _LIMIT["ball.pin_to_cg"]]
    psa: PSA | None = None
    rg_low: Annotated[float, _LIMIT["ball.rg_low"]] | None = None
    differential: Annotated[float, _LIMIT["ball.differential"]] | None = None
    intermediate_differential: Annotated[float, _LIMIT["ball.intermediate_differential"]] | None = (
        None
    )
    shell: Shell | None = None
    filler_density: Annotated[float, _LIMIT["ball.filler_density"]] | None = None

    @model_validator(mode="after")
    def _agrees(self) -> "Ball":
        if (self.rg_low is None) != (self.differential is None):
            absent, given, size = "rg_low", "differential", self.differential
            if size is None:
                absent, given, size = given, absent, self.rg_low
            raise _Problem(
                f"missing beside {given} {size:g} in; possible: give both or neither.", absent
            )
        mid = self.intermediate_differential
        if mid is not None:
            field = "intermediate_differential"
            if self.differential is None:
                raise _Problem(f"{mid:g} in needs rg_low and differential beside it.", field)
            if mid > self.differential:
                raise _Problem(
                    f"{mid:g} in is above the differential; "
                    f"possible: 0 to {self.differential:g} in.",
                    field,
                )
            if mid > 0.0 and self.psa is None:
                raise _Problem(
                    f"{mid:g} in on a ball with no PSA mark; possible: 0 in, or give ball.psa.",
                    field,
                )
        if self.psa is None and self.pin_to_cg == 0.0:
            raise _Problem(
                "0 in on a ball with no PSA mark leaves no reference line; "
                "possible: more than 0 in, or give ball.psa.",
                "pin_to_cg",
            )
        return self


class AnglesLayout(_Model):
    """A layout by two angles, in degrees, and the pin's arc to the PAP, in inches."""

    by: Literal["angles"]
    drilling_angle: Annotated[float, _LIMIT["layout.drilling_angle"]]
    pin_to_pap: _PinToPAP
    val_angle: Annotated[float, _LIMIT["layout.val_angle"]]


class DistancesLayout(_Model):
    """A layout by three arcs, in inches; ``obtuse_val_angle`` picks the other of two VAL angles."""

    by: Literal["distances"]
    pin_to_pap: _PinToPAP
    psa_to_pap: Annotated[float, _LIMIT["layout.psa_to_pap"]]
    pin_to_val: Annotated[float, _LIMIT["layout.pin_to_val"]]
    obtuse_val_angle: bool = False


class PinPlace(_Model):
    """Where the pin lies, from the grip centre; inches."""

    over: Annotated[float, _LIMIT["layout.pin.over"]]
    up: Annotated[float, _LIMIT["layout.pin.up"]] | None = None
    down: Annotated[float, _LIMIT["layout.pin.down"]] | None = None

    @model_validator(mode="after")
    def _pairs(self) -> "PinPlace":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class PlacementLayout(_Model):
    """A layout by the pin's place and the reference mark's bearing at the pin, in degrees."""

    by: Literal["placement"]
    pin: PinPlace
    bearing: Annotated[float, _LIMIT["layout.bearing"]]


Layout = AnglesLayout | DistancesLayout | PlacementLayout
LAYOUTS: dict[str, type[BaseModel]] = {
    "angles": AnglesLayout,
    "distances": DistancesLayout,
    "placement": PlacementLayout,
}


class Work(_Model):
    """The shop's own notes on the work; all may be left out."""

    order: _Line | None = None
    date: Annotated[str, Date()] | None = None
    driller: _Line | None = None
    checked_by: _Line | None = None
    ball_is: _Line | None = None


class Scale(_Model):
    """The scale: ``arm`` in inches, None while not calibrated; ``allowance`` in ounces.

    ``arm_sd`` is the arm's standard deviation in inches, where its calibration tells it.
    ``calibrated`` tells when and from what, for whoever reads the plan.
    """

    arm: Annotated[float, _LIMIT["scale.arm"]] | None = None
    arm_sd: Annotated[float, _LIMIT["scale.arm_sd"]] | None = None
    calibrated: _Line | None = None
    # convention for a two-position scale; no published source
    allowance: Annotated[float, _LIMIT["scale.allowance"]] = 0.25


class Tolerances(_Model):
    """How far each measured input may be off, to either side; see `certainty` for what follows.

    Common practice, no source, but ``low_axis``: the standard's worst (USBC, in force 2012-01-31).
    """

    marks: Annotated[float, _LIMIT["tolerances.marks"]] = 0.0625
    spans: Annotated[float, _LIMIT["tolerances.spans"]] = 0.03125
    depths: Annotated[float, _LIMIT["tolerances.depths"]] = 0.03125
    pitches: Annotated[float, _LIMIT["tolerances.pitches"]] = 0.03125
    diameter: Annotated[float, _LIMIT["tolerances.diameter"]] = 0.005
    weight: Annotated[float, _LIMIT["tolerances.weight"]] = 0.01
    top_weight: Annotated[float, _LIMIT["tolerances.top_weight"]] = 0.25
    rg: Annotated[float, _LIMIT["tolerances.rg"]] = 0.005
    differential: Annotated[float, _LIMIT["tolerances.differential"]] = 0.002
    densities: Annotated[float, _LIMIT["tolerances.densities"]] = 0.05
    low_axis: Annotated[float, _LIMIT["tolerances.low_axis"]] = 1.0
    arm: Annotated[float, _LIMIT["tolerances.arm"]] = 0.1


def _few(most: int) -> BeforeValidator:
    """Validator of a list that becomes a tuple of at most so many."""

    def parse(value: object) -> object:
        if not isinstance(value, list | tuple):
            raise _Problem(f"{shown(value)} is not a list; possible: a list of up to {most}.")
        if len(value) > most:
            raise _Problem(f"{len(value)} are too many; possible: up to {most}.")
        return tuple(value)

    return BeforeValidator(parse)


class Release(_Model):
    """How the bowler releases the ball: mph, rpm, degrees, boards.

    The defaults are a convention for comparing layouts, no source: give the bowler's own.
    """

    speed: Annotated[float, _LIMIT["release.speed"]] = 17.0
    revs: Annotated[float, _LIMIT["release.revs"]] = 300.0
    axis_rotation: Annotated[float, _LIMIT["release.axis_rotation"]] = 45.0
    axis_tilt: Annotated[float, _LIMIT["release.axis_tilt"]] = 15.0
    board: Annotated[float, _LIMIT["release.board"]] = 18.0
    direction: Annotated[float, _LIMIT["release.direction"]] = 2.0
    phase: Annotated[float, _LIMIT["release.phase"]] = 0.0


MOST_FRICTIONS = 40


class Friction(_Model):
    """The friction at one place of the lane: feet from the foul line, and the coefficient."""

    at: Annotated[float, _LIMIT["lane.table.*.at"]]
    friction: Annotated[float, _LIMIT["lane.table.*.friction"]]


class Lane(_Model):
    """The lane's friction: oil, then none, or a table that takes the place of these.

    Between the rows of a table friction changes evenly; before the first and after the last it stays.
    The defaults are a convention, no source.
    """

    oil_length: Annotated[float, _LIMIT["lane.oil_length"]] = 40.0
    oil: Annotated[float, _LIMIT["lane.oil"]] = 0.04
    dry: Annotated[float, _LIMIT["lane.dry"]] = 0.20
    table: Annotated[tuple[Friction, ...], _few(MOST_FRICTIONS)] = ()

    @model_validator(mode="after")
    def _rises(self) -> "Lane":
        for n, (before, after) in enumerate(pairwise(self.table), 1):
            if after.at <= before.at:
                raise _Problem(
                    f"{after.at:g} ft does not come after {before.at:g} ft, the row before it; "
                    "possible: rows in the order of the lane.",
                    f"table.{n}.at",
                )
        return self


class Weighing(_Model):
    """What the scale showed, the ball turned as it will be held: pounds and signed scale ounces."""

    gross: Annotated[float, _LIMIT["weighings.*.gross"]] | None = None
    top: Annotated[float, _LIMIT["weighings.*.top"]] | None = None
    side: Annotated[float, _LIMIT["weighings.*.side"]] | None = None
    finger: Annotated[float, _LIMIT["weighings.*.finger"]] | None = None
    date: Annotated[str, Date()] | None = None
    by: _Line | None = None


class Weighings(_Model):
    """The ball on the scale, before drilling and after."""

    undrilled: Weighing | None = None
    drilled: Weighing | None = None


MOST_VENTS = 6
MOST_OLD_HOLES = 20


class Vent(_Model):
    """A vent hole, from a place on the surface to the axis of a gripping hole; inches.

    ``meets`` is how deep down that hole, measured along its axis.
    """

    hole: Literal["middle", "ring", "thumb"]
    over: Annotated[float, _LIMIT["extra_holes.vents.*.over"]]
    up: Annotated[float, _LIMIT["extra_holes.vents.*.up"]] | None = None
    down: Annotated[float, _LIMIT["extra_holes.vents.*.down"]] | None = None
    diameter: Annotated[float, _LIMIT["extra_holes.vents.*.diameter"]]
    meets: Annotated[float, _LIMIT["extra_holes.vents.*.meets"]]

    @model_validator(mode="after")
    def _pairs(self) -> "Vent":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class Inspection(_Model):
    """An inspection hole, straight toward the ball's centre; inches."""

    over: Annotated[float, _LIMIT["extra_holes.inspection.over"]]
    up: Annotated[float, _LIMIT["extra_holes.inspection.up"]] | None = None
    down: Annotated[float, _LIMIT["extra_holes.inspection.down"]] | None = None
    diameter: Annotated[float, _LIMIT["extra_holes.inspection.diameter"]]
    depth: Annotated[float, _LIMIT["extra_holes.inspection.depth"]]

    @model_validator(mode="after")
    def _pairs(self) -> "Inspection":
        _one_of_pair(self, "up", "down")
        return self

    @property
    def up_net(self) -> float:
        """Inches toward the fingers; negative toward the thumb."""
        return _net(self.up, self.down)


class ExtraHoles(_Model):
    """Holes beside those of the grip, drilled last."""

    vents: Annotated[tuple[Vent, ...], _few(MOST_VENTS)] = ()
    inspection: Inspection | None = None


class Plug(_Model):
    """What an old hole is filled with, from the surface down: g/cm3 and inches.

    Without a ``length`` the whole hole is filled, its drill point too.
    """

    density: Annotated[float, _LIMIT["history.holes.*.plug.density"]]
    length: Annotated[float, _LIMIT["history.holes.*.plug.length"]] | None = None


class OldHole(_Model):
    """A hole that the ball had before, by the ball's own marks; inches and degrees.

    It belongs to the ball, so it stays where it is when the layout changes. ``toward_pin`` and
    ``right`` are its pitches, right as seen from outside with the pin up. Without a ``plug`` it is
    left open.
    """

    name: _Name
    from_pin: Annotated[float, _LIMIT["history.holes.*.from_pin"]]
    bearing: Annotated[float, _LIMIT["history.holes.*.bearing"]]
    toward_pin: Annotated[float, _LIMIT["history.holes.*.toward_pin"]] = 0.0
    right: Annotated[float, _LIMIT["history.holes.*.right"]] = 0.0
    diameter: Annotated[float, _LIMIT["history.holes.*.diameter"]]
    depth: Annotated[float, _LIMIT["history.holes.*.depth"]]
    tip_angle: Annotated[float, _LIMIT["history.holes.*.tip_angle"]] | None = None
    plug: Plug | None = None

    @model_validator(mode="after")
    def _fits(self) -> "OldHole":
        if self.plug is not None and (self.plug.length or 0.0) > self.depth:
            raise _Problem(
                f"{self.plug.length:g} in is longer than the hole; possible: 0 to {self.depth:g} in, "
                "or leave it out to fill the whole hole.",
                "plug.length",
            )
        return self


class History(_Model):
    """What was drilled before, in the order of the work: each hole drilled, then filled."""

    holes: Annotated[tuple[OldHole, ...], _few(MOST_OLD_HOLES)] = ()


def _not_bool(value: object) -> object:
    """True equals 1, but it is no version."""
    if isinstance(value, bool):
        raise _Problem(f"{shown(value)} is not a version; possible: {VERSION}.")
    return value


class Job(_Model):
    """A whole job record."""

    format: Literal["layoutkit-job"]
    version: Annotated[Literal[1], BeforeValidator(_not_bool)]
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

    @model_validator(mode="after")
    def _agrees(self) -> "Job":
        if isinstance(self.layout, DistancesLayout) and self.ball.psa is None:
            raise _Problem(
                '"distances" needs a PSA mark on the ball; possible: angles or placement.',
                "layout.by",
            )
        self._vents_meet()
        return self

    def _vents_meet(self) -> None:
        """Each vent's hole is there and deep enough."""
        for n, vent in enumerate(self.extra_holes.vents if self.extra_holes else ()):
            part = getattr(self.bowler.grip, vent.hole)
            if part is None:
                raise _Problem(
                    '"thumb" on a no-thumb grip; possible: "middle" or "ring".',
                    f"extra_holes.vents.{n}.hole",
                )
            if vent.meets > part.depth:
                raise _Problem(
                    f"{vent.meets:g} in is below the {vent.hole} hole's bottom; "
                    f"possible: up to {part.depth:g} in, its depth.",
                    f"extra_holes.vents.{n}.meets",
                )


def parse_job(data: object) -> Job:
    """The job of a decoded JSON record.

    Raises InputError about the first problem: the field's dotted path, the value as written and
    what is possible.
    """
    try:
        return Job.model_validate(data)
    except ValidationError as error:
        field, words = _explained(error)[0]
    raise InputError(f"{field}: {words}" if field else words, field)


def problems(data: object) -> tuple[tuple[str, str], ...]:
    """All that keeps a decoded JSON record from being a job, the most telling first.

    Each is the field's dotted path, empty for the whole record, and the words after it. What fields
    must be to each other is looked at only where each is possible by itself.
    """
    try:
        Job.model_validate(data)
    except ValidationError as error:
        return _explained(error)
    return ()


def _explained(error: ValidationError) -> tuple[tuple[str, str], ...]:
    # a wrong version explains every other problem, and a misspelled name explains a missing one
    ranks = {"format": 0, "version": 0}
    ordered = sorted(
        error.errors(include_url=False),
        key=lambda p: (
            ranks.get(str(p["loc"][0]), 1) if len(p["loc"]) == 1 else 1,
            p["type"] not in ("extra_forbidden", "invalid_key"),
        ),
    )
    return tuple(_explain(dict(p)) for p in ordered)


def dump_job(job: Job) -> dict[str, Any]:
    """The record of a job, ready for JSON; `parse_job` makes an equal job of it.

    Lengths that the trade states in fractions are text where they are whole sixty-fourths. What was
    left out of the record stays left out.
    """
    return _dump(job, "")


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
            record[name] = [_dump(part, f"{path}{name}.{n}.") for n, part in each]
            continue
        limit = limit_at(path + name)
        if limit is not None and isinstance(value, int | float):
            value = limit.write(float(value))
        record[name] = value
    return record


# --- sentences about a wrong record ---------------------------------------------------------------


def _explain(problem: dict[str, Any]) -> tuple[str, str]:
    """The dotted path and the rest of the sentence for one of pydantic's errors."""
    kind, value = problem["type"], problem["input"]
    loc = [str(part) for part in problem["loc"]]
    by = loc.pop(1) if len(loc) > 1 and loc[0] == "layout" else ""
    if kind.startswith("union_tag"):
        given = value.get("by") if isinstance(value, dict) else None
        words = "missing" if given is None else f"{shown(given)} is not possible"
        return "layout.by", f"{words}; possible: {_options(LAYOUTS)}."
    path = ".".join(loc)
    if kind == "value_error":
        found = problem["ctx"]["error"]
        return ".".join(filter(None, (path, found.field))), str(found)
    if kind in ("extra_forbidden", "invalid_key"):
        names = ", ".join(_model_at(loc[:-1], by).model_fields)
        return ".".join([*loc[:-1], _key(loc[-1])]), f"unknown field; possible here: {names}."
    words = "missing" if kind == "missing" else f"{shown(value)} is not possible"
    return path or "the record", f"{words}; possible: {_possible(loc, by)}."


def _possible(loc: Sequence[str], by: str) -> str:
    """What a field can be, in words."""
    limit = limit_at(".".join(loc))
    if limit is not None:
        return limit.range
    if not loc:
        return f"an object with {', '.join(Job.model_fields)}"
    if loc[-1].isdecimal():  # a place in a list
        return f"an object with {', '.join(_model_at(loc, by).model_fields)}"
    annotation: Any = _model_at(loc[:-1], by).model_fields[loc[-1]].annotation
    if annotation is bool:
        return "true or false"
    if get_origin(annotation) is Literal:
        return _options(get_args(annotation))
    if annotation is str:
        return "text"
    if loc[-1] == "layout":
        return f"an object with by, one of {_options(LAYOUTS)}"
    names = ", ".join(_model_at(loc, by).model_fields)
    none = "null or " if type(None) in get_args(annotation) else ""
    return f"{none}an object with {names}"


def _options(values: Iterable[object]) -> str:
    *head, last = (f'"{v}"' if isinstance(v, str) else str(v) for v in values)
    return f"{', '.join(head)} or {last}" if head else last


def _model_at(loc: Sequence[str], by: str) -> type[BaseModel]:
    """The model of the object at a path; ``by`` tells which layout."""
    model: type[BaseModel] = Job
    for name in loc:
        if model is Job and name == "layout":
            model = LAYOUTS[by]
        elif not name.isdecimal():  # a place in a list has the model that the list is of
            annotation: Any = model.model_fields[name].annotation
            model = next(
                each
                for each in (annotation, *get_args(annotation))
                if isinstance(each, type) and issubclass(each, BaseModel)
            )
    return model


def _key(name: str) -> str:
    return name if re.fullmatch(r"[A-Za-z_][A-Za-z0-9_]{0,40}", name) else shown(name, 40)
