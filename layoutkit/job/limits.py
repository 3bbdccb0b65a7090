"""What each number of the job record can be: the table `LIMITS`, and how a field looks its row up.

A new number of the record is one row here and one line in its model.
"""

from dataclasses import dataclass
from fnmatch import fnmatchcase
from typing import Any, NamedTuple, cast

from pydantic_core import core_schema

from layoutkit.errors import InputError
from layoutkit.units import fraction, parse_quantity, shown

_WRITTEN = {
    "in": 'number of inches or text such as "3 3/8", "3.375 in" or "85.7 mm"',
    "lb": 'number of pounds or text such as "15 lb 2 oz" or "6.86 kg"',
    "oz": 'number of ounces or text such as "2 3/4", "2.75 oz" or "78 g"',
    "g/cm3": 'number of g/cm3 or text such as "1.15" or "1,15"',
    "degrees": 'number of degrees or text such as "55" or "55°"',
    "mph": 'number of miles an hour or text such as "17,5"',
    "rpm": 'number of turns a minute or text such as "300 rpm"',
    "ft": 'number of feet or text such as "42 ft"',
    "boards": 'number of boards or text such as "18 1/2"',
    "friction": 'coefficient of friction, a number or text such as "0,04"',
    "percent": 'number of percent or text such as "97,5"',
}


@dataclass(frozen=True, slots=True)
class Limit:
    """The physical range of one field, and its validator: a row of `LIMITS`.

    ``path`` is dotted; ``*`` stands for one part of it. ``low`` and ``high`` are possible
    themselves, in ``unit``, one of those of `units.parse_quantity`. With ``on_rule`` the trade states the
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
        """The value as a number of ``unit``, or the word; InputError tells what is possible."""
        if self.word and value == self.word:
            return self.word
        number = self._number(value)
        if not self.low <= number <= self.high:
            given = shown(value) if isinstance(value, str) else f"{shown(value)} {self.unit}"
            raise InputError(f"{given} is outside {self.range}{hint(self.path, number)}.")
        return number

    def _number(self, value: object) -> float:
        try:
            return parse_quantity(cast(float | str, value), self.unit)
        except InputError as error:
            stem = error.words.removesuffix(".")
            joint = ", " if "possible: " in stem else "; possible: "
            raise InputError(f"{stem}{joint}{self.range}.") from None

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
        """Number or text, with unit and range in words."""
        what = _WRITTEN[self.unit]
        if self.word:
            what += f' or the word "{self.word}"'
        number: dict[str, Any] = {"type": "number", "minimum": self.low, "maximum": self.high}
        text = f"{self.meaning}: {what}, {self.low:g} to {self.high:g} {self.unit}"
        return {"description": text, "anyOf": [number, {"type": "string"}]}


def _sleeve(path: str) -> tuple[Limit, ...]:
    """The rows of a sleeve, at any place where the record has one."""
    return (
        Limit(f"{path}.bore", 0.25, 2.5, "in", "Diameter bored for the sleeve", True),
        Limit(f"{path}.bore_depth", 0.0, 6.0, "in", "Depth of the sleeve's bore", True),
        Limit(f"{path}.length", 0.0, 6.0, "in", "Length of the sleeve", True),
        Limit(f"{path}.density", 0.1, 5.0, "g/cm3", "Density of the sleeve"),
    )


def _want(
    name: str, low: float, high: float, unit: str, meaning: str, on_rule: bool = False
) -> tuple[Limit, ...]:
    """The two ends of a want; where it may be told against another job, it is signed."""
    return (
        Limit(f"wants.{name}.least", low, high, unit, f"At least: {meaning}", on_rule),
        Limit(f"wants.{name}.most", low, high, unit, f"At most: {meaning}", on_rule),
    )


class Hint(NamedTuple):
    """What a number beyond its limits may have been meant as, from ``low`` to ``high``."""

    path: str
    low: float
    high: float
    words: str


# common practice, no source: what people write into these fields
HINTS = (
    Hint("ball.diameter", 26.0, 28.0, "circumference?"),
    Hint("ball.diameter", 210.0, 225.0, "mm?"),
    Hint("weighings.*.gross", 130.0, 260.0, "ounces?"),
    Hint("weighings.*.gross", 2500.0, 7500.0, "grams?"),
    Hint("weighings.*.top", 16.0, 100.0, "grams?"),
    Hint("weighings.*.side", 16.0, 100.0, "grams?"),
    Hint("weighings.*.finger", 16.0, 100.0, "grams?"),
    Hint("bowler.grip.*.span", 50.0, 140.0, "mm?"),
    Hint("ball.top_weight", 14.0, 150.0, "grams?"),
    Hint("bowler.pap.over", -8.0, 0.0, "the other side? over is positive for both hands"),
)


def hint(path: str, number: float) -> str:
    """The end of a refusal: what the number may have been meant as; empty where nobody can tell."""
    for each in HINTS:
        if each.path == path and each.low <= number <= each.high:
            return f" ({each.words})"
    return ""


LIMITS: tuple[Limit, ...] = (
    Limit("bowler.pap.over", 0.0, 8.0, "in", "PAP along the midline from the grip centre", True),
    Limit("bowler.pap.up", -4.0, 4.0, "in", "PAP above the midline, toward the fingers", True),
    Limit("bowler.pap.down", -4.0, 4.0, "in", "PAP below the midline, toward the thumb", True),
    Limit("bowler.grip.bridge", 0.0, 2.0, "in", "Arc between the bored finger holes", True),
    Limit("bowler.grip.*.span", 0.5, 7.0, "in", "Arc from finished edge to finished edge", True),
    Limit("bowler.grip.*.diameter", 0.25, 2.0, "in", "Diameter of the finished hole", True),
    Limit("bowler.grip.*.depth", 0.0, 6.0, "in", "Depth along the axis to the full diameter", True),
    Limit("bowler.grip.*.pitch.*", -2.0, 2.0, "in", "Distance of the axis from the centre", True),
    *_sleeve("bowler.grip.*.sleeve"),
    *_sleeve("bowler.grip.thumb.sleeve.outer"),
    *_sleeve("bowler.grip.thumb.inners.*.sleeve"),
    Limit(
        "bowler.grip.thumb.inners.*.diameter",
        0.25,
        2.0,
        "in",
        "Diameter of the sleeve's hole",
        True,
    ),
    Limit("bowler.grip.*.bevel", 0.0, 0.5, "in", "Radius of the rounded edge", True),
    Limit("bowler.grip.*.gap", 0.0, 2.0, "in", "Arc between the bored hole and the next", True),
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
    Limit("ball.diameter_now", 8.0, 9.0, "in", "Diameter of the ball after resurfacing"),
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
        "layout.angle_at_pin",
        -180.0,
        180.0,
        "degrees",
        "At the pin, from the reference mark's line to the PAP's",
    ),
    Limit(
        "layout.angle_at_pap",
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
    Limit("scale.arm", 1.0, 14.0, "in", "Lever that the scale is graduated for"),
    Limit("scale.arm_sd", 0.0, 6.0, "in", "Standard deviation of the calibrated arm"),
    Limit("scale.supports", 1.0, 14.0, "in", "Distance between the two supports of the ball"),
    Limit("scale.pan_lever", 1.0, 14.0, "in", "Lever of the pan"),
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
    Limit("history.holes.*.arcs.*", 0.0, 14.2, "in", "Arc from a mark to its centre", True),
    Limit("history.holes.*.toward_pin", -2.5, 2.5, "in", "Pitch toward the pin", True),
    Limit("history.holes.*.right", -2.5, 2.5, "in", "Pitch to the right, the pin up", True),
    Limit("history.holes.*.pitch.*", -2.0, 2.0, "in", "Distance of the axis from the centre", True),
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
    Limit("weighings.*.pairs.*.*", -300.0, 300.0, "oz", "One reading of a two-position weighing"),
    Limit("as_drilled.bridge", 0.0, 2.0, "in", "Bridge from cut edge to cut edge", True),
    Limit("as_drilled.*.span", 0.5, 7.0, "in", "Span as drilled", True),
    Limit("as_drilled.*.diameter", 0.25, 2.0, "in", "Diameter of the hole as drilled", True),
    Limit("as_drilled.*.depth", 0.0, 6.0, "in", "Depth of the hole as drilled", True),
    Limit("as_drilled.*.pitch.*", -2.0, 2.0, "in", "Distance of the axis from the centre", True),
    *_want("legal", 0.0, 100.0, "percent", "chance of being within every limit"),
    *_want("flare_width", -14.0, 14.0, "in", "width of the rings on the oil", True),
    *_want("ring_spacing", -7.0, 7.0, "in", "middle gap between two rings", True),
    *_want("rings_clear", -7.0, 7.0, "in", "from the nearest ring to a hole's edge", True),
    *_want("marks_clear", -2.0, 13.0, "in", "from a hole's edge to the nearest mark", True),
    *_want("pin.over", -14.2, 14.2, "in", "pin along the midline, toward the PAP", True),
    *_want("pin.up", -7.1, 7.1, "in", "pin above the midline, toward the fingers", True),
    *_want("rg_about_pap", -3.0, 3.0, "in", "RG about the axis through the PAP"),
    *_want("differential", -0.15, 0.15, "in", "differential of the drilled ball"),
    *_want("intermediate_differential", -0.15, 0.15, "in", "intermediate differential, drilled"),
    *_want("side", -16.0, 16.0, "oz", "side weight, positive to the PAP"),
    *_want("finger", -16.0, 16.0, "oz", "finger weight, negative for thumb"),
    *_want("top", -16.0, 16.0, "oz", "top weight, negative for bottom"),
    *_want("board_at_pins", -80.0, 80.0, "boards", "board at the pins, from the own side"),
    *_want("entry_angle", -30.0, 30.0, "degrees", "entry angle at the pins"),
    *_want("moved", 0.0, 14.2, "in", "pin from its place in the record", True),
    *_want("turned", 0.0, 180.0, "degrees", "reference mark from its bearing in the record"),
)

_BY_PATH = {row.path: row for row in LIMITS}


def limit(path: str) -> Limit:
    """The row of `LIMITS` with exactly this path; KeyError where there is none."""
    return _BY_PATH[path]


def limit_at(path: str) -> Limit | None:
    """The row of `LIMITS` for a field's dotted path, None where the field is not a quantity."""
    if path in _BY_PATH:
        return _BY_PATH[path]
    parts = path.count(".")
    for row in LIMITS:
        if row.path.count(".") == parts and fnmatchcase(path, row.path):
            return row
    return None
