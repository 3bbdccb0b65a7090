"""Rule sets in a shop's own files: the models here say what such a file may hold.

`built_in_rules.rule_set_of` makes a `rules.RuleSet` of them, as it does of the built-in ones.
"""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import ValidationError, model_validator

from layoutkit.errors import InputError
from layoutkit.job.built_in_rules import rule_set_of
from layoutkit.job.files import RULE_SET, file_name, read_json
from layoutkit.job.problems import problems_of
from layoutkit.job.rules import RuleSet, Status
from layoutkit.job.validators import Date, Model, Number, Text, few, only_version
from layoutkit.units import shown

FORMAT = "layoutkit-rules"
VERSION = 1

_MOST_CLASSES = 20
_MOST_NOTES = 100

_Words = Annotated[str, Text(1000, filled=True)]
_Count = Annotated[float, Number(whole=True)]  # 0 forbids
_Size = Annotated[float, Number(above=True)]
_AtLeastZero = Annotated[float, Number()]


class _SourcedPart(Model):
    source: _Words
    status: Status


class _GrossWeight(_SourcedPart):
    max_lb: _Size


class _GrippingHoles(_SourcedPart):
    max: _Count


class _BalanceHoles(_SourcedPart):
    max_count: _Count
    max_diameter_in: _Size | None

    @model_validator(mode="after")
    def _agrees(self) -> "_BalanceHoles":
        if (self.max_count > 0.0) != (self.max_diameter_in is not None):
            possible = "a number above 0" if self.max_count > 0.0 else "null"
            raise InputError(
                f"{shown(self.max_diameter_in)} is not possible where max_count is "
                f"{self.max_count:g}; possible: {possible}.",
                "max_diameter_in",
            )
        return self


class _VentHoles(_SourcedPart):
    per_gripping_hole: _Count
    max_diameter_in: _Size


class _InspectionHoles(_SourcedPart):
    max_count: _Count
    max_diameter_in: _Size
    max_depth_in: _Size


class _Requirement(_SourcedPart):
    required: bool


class _Note(_SourcedPart):
    text: _Words


class _WeightClass(_SourcedPart):
    over_lb: _AtLeastZero
    up_to_lb: _Size | None
    top_oz: _AtLeastZero
    side_oz: _AtLeastZero
    finger_oz: _AtLeastZero


class _Figure(_SourcedPart):
    value: _Size


class _Undrilled(Model):
    diameter_min_in: _Figure
    diameter_max_in: _Figure
    circumference_min_in: _Figure
    circumference_max_in: _Figure
    rg_from_lb: _Figure
    rg_min_in: _Figure
    rg_max_in: _Figure
    differential_max_in: _Figure
    component_density_max: _Figure
    asymmetric_share: _Figure

    @model_validator(mode="after")
    def _agrees(self) -> "_Undrilled":
        for kind in ("diameter", "circumference", "rg"):
            low = getattr(self, f"{kind}_min_in").value
            high = getattr(self, f"{kind}_max_in").value
            if low >= high:
                raise InputError(
                    f"{low:g} is not possible; possible: less than {kind}_max_in, {high:g}.",
                    f"{kind}_min_in.value",
                )
        share = self.asymmetric_share.value
        if share >= 1.0:
            raise InputError(
                f"{share:g} is not possible; possible: a fraction below 1.",
                "asymmetric_share.value",
            )
        return self


class _RuleFile(Model):
    format: Literal["layoutkit-rules"]
    version: Annotated[Literal[1], only_version(VERSION)]
    name: _Words
    title: _Words
    in_force: _Words
    first_day: Annotated[str, Date()] | None = None
    last_day: Annotated[str, Date()] | None = None
    static_limits: Annotated[tuple[_WeightClass, ...], few(_MOST_CLASSES)]
    gross_weight: _GrossWeight
    gripping_holes: _GrippingHoles
    balance_holes: _BalanceHoles
    vent_holes: _VentHoles
    inspection_holes: _InspectionHoles
    palm_mark_without_thumb: _Requirement
    serial_number: _Requirement
    notes: Annotated[tuple[_Note, ...], few(_MOST_NOTES)]
    undrilled: _Undrilled
    readings: Annotated[tuple[Literal["gross", "top", "side", "finger"], ...], few(4)] = (
        "gross",
        "top",
        "side",
        "finger",
    )
    looked_at: Annotated[
        tuple[Literal["diameter", "serial", "holes", "balance_holes", "vents", "palm_mark"], ...],
        few(6),
    ] = ()

    @model_validator(mode="after")
    def _covers_every_ball(self) -> "_RuleFile":
        """Each class starts where the one before it ends, and the last has no end."""
        if not self.static_limits:
            raise InputError(
                "the list is empty; possible: one weight class or more.", "static_limits"
            )
        reached: float | None = 0.0
        for n, each in enumerate(self.static_limits):
            at = f"static_limits.{n}"
            if reached is None:
                raise InputError(
                    "null is not possible; possible: a number above 0 in every class but the last.",
                    f"static_limits.{n - 1}.up_to_lb",
                )
            if each.over_lb != reached:
                fault = "leaves a gap" if each.over_lb > reached else "overlaps the class before it"
                raise InputError(
                    f"{each.over_lb:g} lb {fault}; possible: {reached:g} lb.", f"{at}.over_lb"
                )
            if each.up_to_lb is not None and each.up_to_lb <= each.over_lb:
                raise InputError(
                    f"{each.up_to_lb:g} lb is not possible; possible: more than over_lb, "
                    f"{each.over_lb:g} lb.",
                    f"{at}.up_to_lb",
                )
            reached = each.up_to_lb
        if reached is not None:
            raise InputError(
                f"{reached:g} lb is not possible; possible: null in the last class, so that no heavy "
                "ball is left out.",
                f"static_limits.{len(self.static_limits) - 1}.up_to_lb",
            )
        return self


def load_rules(path: str | Path) -> RuleSet:
    """The rule set of a file; raises InputError where it cannot be read or is none."""
    return parse_rules(read_json(path, RULE_SET), file_name(path))


def parse_rules(data: object, file: str) -> RuleSet:
    """The rule set of a decoded file; ``file`` names it in messages.

    Raises InputError about the first field that is unknown, missing or of a wrong type, a figure out
    of its range, and weight classes that overlap, leave a gap, or leave a ball out.
    """
    try:
        return rule_set_of(_RuleFile.model_validate(data).model_dump())
    except ValidationError as error:
        first = problems_of(error, _RuleFile, "the rule set")[0]
    raise first.error(file)
