"""Rule sets in files: two are built in, and a shop may keep its own.

The models here say what a file may hold. `rules.RuleSet` is what they become, in plain Python, since
it is asked on every drag of a mark on the screen.
"""

import json
import math
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Literal

from pydantic import ValidationError, model_validator

from layoutkit.errors import InputError
from layoutkit.job import rules
from layoutkit.job.files import RULE_SET, file_name, read_json
from layoutkit.job.problems import problems_of
from layoutkit.job.rules import RuleSet, Status
from layoutkit.job.validators import Model, Number, Text, few, only_version
from layoutkit.units import shown

FORMAT = "layoutkit-rules"
VERSION = 1
BUILT_IN = ("usbc-2020", "usbc-pre-2018")

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

    def figure(self) -> rules.Figure:
        return rules.Figure(self.value, self.source, self.status)


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

    def rule_set(self) -> RuleSet:
        balance, vents, inspection = self.balance_holes, self.vent_holes, self.inspection_holes
        width = balance.max_diameter_in
        return RuleSet(
            name=self.name,
            title=self.title,
            in_force=self.in_force,
            static_limits=tuple(_weight_class(each) for each in self.static_limits),
            gross_weight_lb=_figure(self.gross_weight.max_lb, self.gross_weight),
            gripping_holes=_figure(self.gripping_holes.max, self.gripping_holes),
            balance_holes=_figure(balance.max_count, balance),
            balance_hole_diameter_in=None if width is None else _figure(width, balance),
            vent_holes_per_gripping_hole=_figure(vents.per_gripping_hole, vents),
            vent_hole_diameter_in=_figure(vents.max_diameter_in, vents),
            inspection_holes=_figure(inspection.max_count, inspection),
            inspection_hole_diameter_in=_figure(inspection.max_diameter_in, inspection),
            inspection_hole_depth_in=_figure(inspection.max_depth_in, inspection),
            palm_mark_without_thumb=_requirement(self.palm_mark_without_thumb),
            serial_number=_requirement(self.serial_number),
            notes=tuple(rules.Note(n.text, n.source, n.status) for n in self.notes),
            undrilled=rules.Undrilled(**{name: part.figure() for name, part in self.undrilled}),
            readings=self.readings,
        )


def _figure(value: float, sourced: _SourcedPart) -> rules.Figure:
    return rules.Figure(value, sourced.source, sourced.status)


def _requirement(part: _Requirement) -> rules.Requirement:
    return rules.Requirement(part.required, part.source, part.status)


def _weight_class(part: _WeightClass) -> rules.WeightClass:
    up_to = math.inf if part.up_to_lb is None else part.up_to_lb
    return rules.WeightClass(
        part.over_lb, up_to, part.top_oz, part.side_oz, part.finger_oz, part.source, part.status
    )


def rules_template(name: str) -> str:
    """The JSON text of the built-in rule set `name`, from which a shop can start its own file.

    Raises InputError naming the built-in sets when there is none of that name.
    """
    if name not in BUILT_IN:
        possible = ", ".join(f'"{each}"' for each in BUILT_IN)
        raise InputError(
            f"{shown(name)} is not a built-in rule set; possible: {possible}.", "rules"
        )
    return (Path(__file__).parent / "rule_sets" / f"{name}.json").read_text(encoding="utf-8")


@lru_cache(maxsize=len(BUILT_IN))
def rule_set(name: str) -> RuleSet:
    """The built-in rule set `name`, read once.

    Raises InputError naming the built-in sets when there is none of that name.
    """
    return parse_rules(json.loads(rules_template(name)), f"{name}.json")


def load_rules(path: str | Path) -> RuleSet:
    """The rule set of a file; raises InputError where it cannot be read or is none."""
    return parse_rules(read_json(path, RULE_SET), file_name(path))


def parse_rules(data: object, file: str) -> RuleSet:
    """The rule set of a decoded file; ``file`` names it in messages.

    Raises InputError about the first field that is unknown, missing or of a wrong type, a figure out
    of its range, and weight classes that overlap, leave a gap, or leave a ball out.
    """
    try:
        return _RuleFile.model_validate(data).rule_set()
    except ValidationError as error:
        first = problems_of(error, _RuleFile, "the rule set")[0]
    raise first.error(file)
