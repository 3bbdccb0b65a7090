"""What a layout is to bring: the record's `wants`.

A want is a range of one figure that the program computes. Without a ``weight`` it is a must; with one
it may be missed at a price that grows with the weight.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import ValidationError, WithJsonSchema, model_validator
from pydantic_core import core_schema

from layoutkit.errors import InputError
from layoutkit.job.limits import limit
from layoutkit.job.problems import problems_of
from layoutkit.job.validators import Model, Number, Text

Region = Literal[
    "above the fingers",
    "below the fingers",
    "between ring hole and PAP",
    "past the PAP",
    "thumb side of the midline",
    "far side of the grip",
]
REGIONS: tuple[Region, ...] = get_args(Region)

_Weight = Annotated[
    float,
    Number(0.0, 100.0, above=True),
    WithJsonSchema({"type": "number", "exclusiveMinimum": 0.0, "maximum": 100.0}),
]
_Than = Annotated[str, Text(200, filled=True)]


class Range(Model):
    """A figure from ``least`` to ``most``, ends included; one of the two may be left out.

    With ``than``, the name of another job's file, they are about the difference from that job's figure:
    ``least`` 0.5 is half an inch more than there, ``most`` -0.5 half an inch less.
    """

    least: float | None = None
    most: float | None = None
    weight: _Weight | None = None
    than: _Than | None = None

    @model_validator(mode="after")
    def _orders(self) -> Self:
        if self.least is None and self.most is None:
            raise InputError("asks for nothing; possible: least, most or both.")
        if self.least is not None and self.most is not None and self.most < self.least:
            raise InputError(
                f"{self.most:g} is below least; possible: {self.least:g} or more.", "most"
            )
        return self


@dataclass(frozen=True, slots=True)
class Quantity:
    """Reads the ends of a `Range` as a record writes quantities, by the rows of `limits.LIMITS`.

    With ``alone`` there is no other job to differ from.
    """

    path: str
    alone: bool = False

    def parse(self, value: object) -> object:
        """The range with numbers for its ends; InputError tells what is possible."""
        if not isinstance(value, Mapping):
            return value
        read = dict(value)
        if self.alone and read.get("than") is not None:
            raise InputError("has no other job's figure to differ from; leave it out.", "than")
        for end in ("least", "most"):
            if read.get(end) is not None:
                try:
                    read[end] = limit(f"{self.path}.{end}").parse(read[end])
                except InputError as error:
                    raise InputError(error.words, end) from None
        return read

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        return core_schema.no_info_before_validator_function(self.parse, handler(source))

    def __get_pydantic_json_schema__(self, schema: object, handler: object) -> dict[str, Any]:
        """An object with the ends in this quantity's unit."""
        ends: dict[str, Any] = {
            end: limit(f"{self.path}.{end}").__get_pydantic_json_schema__(schema, handler)
            for end in ("least", "most")
        }
        ends["weight"] = {"type": "number", "exclusiveMinimum": 0.0, "maximum": 100.0}
        if not self.alone:
            ends["than"] = {"type": "string", "maxLength": 200}
        whole = {"type": "object", "properties": ends, "additionalProperties": False}
        return {"anyOf": [whole, {"type": "null"}]}


_OVER = Annotated[Range | None, Quantity("wants.pin.over", alone=True)]
_UP = Annotated[Range | None, Quantity("wants.pin.up", alone=True)]


class PinWant(Model):
    """Where the pin is to lie: in a ``region``, or between ends of over and up; inches."""

    region: Region | None = None
    over: _OVER = None
    up: _UP = None
    weight: _Weight | None = None

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.region is not None and (self.over is not None or self.up is not None):
            raise InputError("stands beside over or up; possible: one of the two ways.", "region")
        if self.region is None and self.over is None and self.up is None:
            raise InputError("asks for nothing; possible: region, or over and up.")
        for name in ("over", "up"):
            part = getattr(self, name)
            if part is not None and part.weight is not None:
                raise InputError("stands on the pin as a whole; possible: pin.weight.", name)
        return self


class Wants(Model):
    """What a layout is to bring.

    ``legal`` is the chance in percent of being within every limit; ``rings_clear`` the arc from the
    nearest ring to a hole's edge, ``marks_clear`` from the nearest hole's edge to pin, CG or PSA mark,
    which is below 0 where a mark is cut; ``rg_about_pap`` the RG about the axis through the PAP;
    ``moved`` and ``turned`` how far pin and reference mark are from the record's layout. Static weights
    are those over the whole range of an arm that is not calibrated.
    """

    legal: Annotated[Range | None, Quantity("wants.legal", alone=True)] = None
    flare_width: Annotated[Range | None, Quantity("wants.flare_width")] = None
    ring_spacing: Annotated[Range | None, Quantity("wants.ring_spacing")] = None
    rings_clear: Annotated[Range | None, Quantity("wants.rings_clear", alone=True)] = None
    marks_clear: Annotated[Range | None, Quantity("wants.marks_clear", alone=True)] = None
    pin: PinWant | None = None
    rg_about_pap: Annotated[Range | None, Quantity("wants.rg_about_pap")] = None
    differential: Annotated[Range | None, Quantity("wants.differential")] = None
    intermediate_differential: Annotated[
        Range | None, Quantity("wants.intermediate_differential")
    ] = None
    side: Annotated[Range | None, Quantity("wants.side", alone=True)] = None
    finger: Annotated[Range | None, Quantity("wants.finger", alone=True)] = None
    top: Annotated[Range | None, Quantity("wants.top", alone=True)] = None
    board_at_pins: Annotated[Range | None, Quantity("wants.board_at_pins")] = None
    entry_angle: Annotated[Range | None, Quantity("wants.entry_angle")] = None
    moved: Annotated[Range | None, Quantity("wants.moved", alone=True)] = None
    turned: Annotated[Range | None, Quantity("wants.turned", alone=True)] = None

    @property
    def ranges(self) -> dict[str, Range]:
        """The wants that are ranges, by name."""
        return {name: each for name, each in self if isinstance(each, Range)}


EVERY = tuple(Wants.model_fields)
# those that may be about the difference from another job's figure
AGAINST = tuple(
    name
    for name, field in Wants.model_fields.items()
    if any(isinstance(each, Quantity) and not each.alone for each in field.metadata)
)


def read_wants(texts: list[str], wants: Wants | None = None) -> Wants:
    """Wants as a command's options state them, put into or over those of a record.

    ``NAME=LEAST:MOST``, one end may be left out; ``pin=REGION``. Behind it ``@WEIGHT`` makes it a wish,
    ``than FILE`` a difference from another job's figure. Raises InputError.
    """
    stated: dict[str, Any] = {}
    for text in texts:
        name, equals, rest = text.partition("=")
        name = name.strip().replace("-", "_")
        if not equals or name not in EVERY:
            raise InputError(
                f'"{text.strip()[:60]}" is no want; possible: NAME=LEAST:MOST with one of '
                f"{', '.join(EVERY)}."
            )
        if name in stated:
            raise InputError(f"{name} is wanted twice; give it once.")
        rest, _, than = rest.partition(" than ")
        rest, at, weight = rest.partition("@")
        want: dict[str, Any] = {"than": than.strip()} if than.strip() else {}
        if at:
            want["weight"] = _number(name, weight)
        if name == "pin":
            want["region"] = rest.strip()
        else:
            least, colon, most = rest.partition(":")
            ends = (("least", least), ("most", most)) if colon else (("least", least),)
            want |= {end: value.strip() for end, value in ends if value.strip()}
        stated[name] = want
    fresh = parse_wants(stated)
    if wants is None:
        return fresh
    return wants.model_copy(update={name: getattr(fresh, name) for name in stated})


def _number(name: str, text: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise InputError(
            f"{name}: the weight is no number; possible: above 0, up to 100."
        ) from None


def parse_wants(stated: Mapping[str, Any]) -> Wants:
    """Wants from what a record's `wants` hold. Raises InputError that tells what is possible."""
    try:
        return Wants.model_validate(stated)
    except ValidationError as error:
        raise problems_of(error, Wants, "the wants")[0].error() from None
