"""Rule sets as data, and the checks of a drilled ball against them.

A rule set comes from a file (see `built_in_rules` and `rule_files`). Each figure says where it was
found and whether that text was read or only remembered.
Weights of balls are pounds, static weights scale ounces, lengths inches, densities g/cm3.

`check` runs on every drag of a mark on the screen, so this module stays in plain Python and
imports neither numpy nor pydantic.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from layoutkit.errors import InputError
from layoutkit.units import OZ_PER_LB

Status = Literal["read in a source", "from memory"]
Outcome = Literal["pass", "close", "incomplete", "fail"]

OUTCOMES: tuple[Outcome, ...] = ("pass", "close", "incomplete", "fail")  # by their numbers
PASS, CLOSE, INCOMPLETE, FAIL = 0, 1, 2, 3
STATICS = ("top", "side", "finger")
READINGS = ("gross", *STATICS)  # what a scale can show of a ball
# what a person looks at on a ball that is checked in, beside its weights
LOOKED_AT = ("diameter", "serial", "holes", "balance_holes", "vents", "palm_mark")
DRILLABLE, DIAMETER = "drillable", "diameter"  # checks by their names
YES_NO = "yes/no"  # the unit of a check of what is so (1) or not (0)
NO_RUIN = "common practice, no source: a ball cannot be undrilled"
READ: Status = "read in a source"
FROM_MEMORY: Status = "from memory"
CONFIRM = "Rules change: the rule book in force on the day decides, so confirm every limit in it."

# Sums such as 2.74 + 0.06 overshoot a limit by rounding; no gauge reads a millionth of an inch.
_ROUNDING = 1e-6


class _Sourced:
    """What has a source and says whether that text was read or only remembered."""

    __slots__ = ()
    source: str
    status: Status

    @property
    def told(self) -> str:
        """The source, with "from memory" in front when no text was read for it."""
        return self.source if self.status == READ else f"{FROM_MEMORY}: {self.source}"


@dataclass(frozen=True, slots=True)
class Figure(_Sourced):
    """One figure of a rule set with its source; the unit is in the name of the field holding it."""

    value: float
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Requirement(_Sourced):
    """Something that a rule set does or does not ask for."""

    required: bool
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class Note(_Sourced):
    """A rule that the program states but cannot check."""

    text: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True)
class WeightClass(_Sourced):
    """Static limits (oz, as magnitudes) of balls heavier than `over_lb`, up to `up_to_lb` included.

    The heaviest class has `up_to_lb` infinite.
    """

    over_lb: float
    up_to_lb: float
    top_oz: float
    side_oz: float
    finger_oz: float
    source: str
    status: Status

    def static_oz(self, name: str) -> float:
        """The limit of "top", "side" or "finger" weight, in ounces."""
        return float(getattr(self, f"{name}_oz"))

    def holds(self, weight_lb: Any, allowance_oz: float = 0.0) -> Any:
        """Whether a ball of this weight, give or take an allowance, may be in this class.

        For one weight in pounds or an array of them.
        """
        reach = allowance_oz / OZ_PER_LB
        return (weight_lb + reach > self.over_lb) & (weight_lb - reach <= self.up_to_lb)


@dataclass(frozen=True, slots=True)
class Undrilled:
    """Limits of a ball as it leaves the factory: inches, pounds, g/cm3; the share is a fraction.

    `rg_from_lb` is the lightest ball to which the RG and differential limits apply.
    """

    diameter_min_in: Figure
    diameter_max_in: Figure
    circumference_min_in: Figure
    circumference_max_in: Figure
    rg_from_lb: Figure
    rg_min_in: Figure
    rg_max_in: Figure
    differential_max_in: Figure
    component_density_max: Figure
    asymmetric_share: Figure


@dataclass(frozen=True, slots=True)
class RuleSet:
    """A rule set. `static_limits` runs from the lightest class to the heaviest without a gap.

    `balance_hole_diameter_in` is None exactly when no balance hole is allowed. `readings` are those of
    `READINGS` that a weighed ball must have before it is legal, `looked_at` those of `LOOKED_AT`
    without which a ball that is checked in is incomplete. `first_day` and `last_day` are the days,
    year-month-day, between which the set may be in force; None where there is no such end.
    """

    name: str
    title: str
    in_force: str
    static_limits: tuple[WeightClass, ...]
    gross_weight_lb: Figure
    gripping_holes: Figure
    balance_holes: Figure
    balance_hole_diameter_in: Figure | None
    vent_holes_per_gripping_hole: Figure
    vent_hole_diameter_in: Figure
    inspection_holes: Figure
    inspection_hole_diameter_in: Figure
    inspection_hole_depth_in: Figure
    palm_mark_without_thumb: Requirement
    serial_number: Requirement
    notes: tuple[Note, ...]
    undrilled: Undrilled
    readings: tuple[str, ...] = READINGS
    looked_at: tuple[str, ...] = ()
    first_day: str | None = None
    last_day: str | None = None

    def weight_class(self, weight_lb: float) -> WeightClass:
        """The class of a drilled ball of `weight_lb` pounds.

        Raises InputError when the weight is not a finite number above 0.
        """
        if 0.0 < weight_lb < math.inf:
            for weight_class in self.static_limits:
                if weight_lb <= weight_class.up_to_lb:
                    return weight_class
        raise InputError(
            f"{weight_lb} lb is not possible; a drilled ball weighs more than 0 lb.", "weight"
        )


class Static(NamedTuple):
    """A static weight in scale ounces, and its range while the scale's arm is uncalibrated.

    With a calibrated arm `low` and `high` equal `value`.
    """

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Facts:
    """What a drilled ball is, planned or measured.

    `weight_lb` is the drilled ball's; `top`, `side` and `finger` are signed (bottom, negative side
    and thumb weight are negative) and None where they are not known; `ruined` tells that the plan
    would ruin the ball; `diameter_in` is the ball's, in inches; `balance_holes` and `vent_holes` are
    diameters in inches, `most_vents` how many of these open into one gripping hole,
    `inspection_holes` diameters and depths; `allowance_oz` is the scale's, added on both sides of
    every weight.
    """

    weight_lb: float
    ruined: bool
    diameter_in: float
    top: Static | None
    side: Static | None
    finger: Static | None
    gripping_holes: int
    has_thumb: bool
    palm_marked: bool
    serial: str
    balance_holes: tuple[float, ...]
    vent_holes: tuple[float, ...]
    most_vents: int
    inspection_holes: tuple[tuple[float, float], ...]
    allowance_oz: float


class Check(NamedTuple):
    """One rule applied to one ball.

    `unit` is "lb", "oz", "in", "holes", or "yes/no" for what is so (1) or not (0). `limit` is the most
    allowed, for static weights as a magnitude in both directions, with unit "yes/no" the least; of
    the diameter it is the end of its range that the ball is beyond. Of a figure that is not known
    `value` and `band` are None and `outcome` is "incomplete".
    """

    name: str
    value: float | None
    limit: float
    unit: str
    band: tuple[float, float] | None
    outcome: Outcome
    source: str


def verdict(value: Any, least: Any, most: Any, low: Any, high: Any) -> Any:
    """Judge a value with its band, ``least`` to ``most``, against the allowed ``low`` to ``high``.

    PASS, CLOSE or FAIL; numbers, or arrays that broadcast, all in one unit. CLOSE when a limit lies
    inside the band, ends included; else PASS from `low` to `high`, both included, and FAIL beyond. A
    band of no width leaves nothing to weigh: the value alone decides. What is not a number fails.
    """
    # comparisons and | & only: these serve arrays as well, and this module needs no numpy
    reached = ((least <= low) & (low <= most)) | ((least <= high) & (high <= most))
    close = (least < most) & reached
    within = (low <= value) & (value <= high)
    return CLOSE * close + FAIL * ((close | within) ^ True)


def outcome(value: float, band: tuple[float, float], low: float, high: float) -> Outcome:
    """The `verdict` on one value in words."""
    number: int = verdict(value, *band, low, high)
    return OUTCOMES[number]


def static_verdict(
    rules: RuleSet,
    name: str,
    weight_lb: Any,
    allowance_oz: float,
    value: Any,
    least: Any,
    most: Any,
) -> Any:
    """The `verdict` on a static weight, "top", "side" or "finger", of a ball of this weight.

    Where the scale's allowance reaches into another weight class that would judge otherwise, it is
    CLOSE. Numbers, or arrays that broadcast; all but the ball's weight in ounces.
    """
    by_class = [
        (each, verdict(value, least, most, -each.static_oz(name), each.static_oz(name)))
        for each in rules.static_limits
    ]
    own = sum(each.holds(weight_lb) * theirs for each, theirs in by_class)
    differs = False
    for each, theirs in by_class:
        differs = differs | (each.holds(weight_lb, allowance_oz) & (theirs != own))
    return own + (CLOSE - own) * differs


def _at_most(name: str, value: float, limit: float, unit: str, source: str) -> Check:
    """A check of something counted or drilled to size, which has no uncertainty."""
    band = (value, value)
    return Check(name, value, limit, unit, band, outcome(value, band, -math.inf, limit), source)


def _present(name: str, there: bool, source: str) -> Check:
    """A check of something that has to be so."""
    value = 1.0 if there else 0.0
    band = (value, value)
    return Check(name, value, 1.0, YES_NO, band, outcome(value, band, 1.0, math.inf), source)


def other_classes(rules: RuleSet, weight_lb: float, allowance_oz: float) -> tuple[WeightClass, ...]:
    """The weight classes beside a weight's own that the scale's allowance reaches into."""
    own = rules.weight_class(weight_lb)
    return tuple(
        each
        for each in rules.static_limits
        if each is not own and each.holds(weight_lb, allowance_oz)
    )


def check_weights(
    rules: RuleSet, weight_lb: float, statics: Mapping[str, Static | None], allowance_oz: float
) -> tuple[Check, ...]:
    """The checks of the gross weight and of each static weight, by the names of `STATICS`.

    A static weight that is None is not known, and its check is incomplete.
    Raises InputError when the weight is not a finite number above 0.
    """
    own, most = rules.weight_class(weight_lb), rules.gross_weight_lb
    reach = allowance_oz / OZ_PER_LB
    band = (weight_lb - reach, weight_lb + reach)
    judged = outcome(weight_lb, band, -math.inf, most.value)
    checks = [Check("gross", weight_lb, most.value, "lb", band, judged, most.told)]
    for name, static in statics.items():
        limit = own.static_oz(name)
        if static is None:
            checks.append(Check(name, None, limit, "oz", None, "incomplete", own.told))
            continue
        band = (static.low - allowance_oz, static.high + allowance_oz)
        number: int = static_verdict(rules, name, weight_lb, allowance_oz, static.value, *band)
        checks.append(Check(name, static.value, limit, "oz", band, OUTCOMES[number], own.told))
    return tuple(checks)


def metric_twin(inches: float) -> float:
    """A hole's limit in inches, or if that is more its twin in tenths of a millimetre.

    The statutes print both for one limit: 1/4 in and 6.4 mm, 1 1/4 in and 31.8 mm (World Bowling
    11.12 and 11.13); a hole that keeps either is within it.
    """
    return max(inches, math.floor(254.0 * inches + 0.5) / 254.0)


def _size(name: str, value: float, limit: Figure) -> Check:
    """A size against its limit, which is shown in inches."""
    band = (value, value)
    judged = outcome(value, band, -math.inf, metric_twin(limit.value) + _ROUNDING)
    return Check(name, value, limit.value, "in", band, judged, limit.told)


def _extra_holes(
    name: str, diameters: tuple[float, ...], allowed: float, count: Figure, diameter: Figure | None
) -> Check:
    """Too many holes are told by their number, otherwise the widest one by its diameter."""
    number = float(len(diameters))
    if diameters and diameter is not None and number <= allowed:
        return _size(name, max(diameters), diameter)
    return _at_most(name, number, allowed, "holes", count.told)


def _inspections(rules: RuleSet, holes: tuple[tuple[float, float], ...]) -> Iterator[Check]:
    """Checks of inspection holes by their diameters and depths; none where there is no such hole."""
    name, allowed = "inspection hole", rules.inspection_holes
    if len(holes) > allowed.value:
        yield _at_most(name, float(len(holes)), allowed.value, "holes", allowed.told)
    elif holes:
        widest, deepest = (max(sizes) for sizes in zip(*holes, strict=True))
        yield _size(name, widest, rules.inspection_hole_diameter_in)
        yield _size(f"{name} depth", deepest, rules.inspection_hole_depth_in)


def _diameter(rules: RuleSet, diameter: float) -> Iterator[Check]:
    """A check of a diameter outside the rules' range; none inside it.

    The range is an undrilled ball's. Whether it binds a ball that was resurfaced since is not known,
    so the check is close.
    """
    low, high = rules.undrilled.diameter_min_in, rules.undrilled.diameter_max_in
    if not low.value - _ROUNDING <= diameter <= high.value + _ROUNDING:
        broken = low if diameter < low.value else high
        band = (diameter, diameter)
        yield Check(DIAMETER, diameter, broken.value, "in", band, "close", broken.told)


def check(rules: RuleSet, facts: Facts) -> tuple[Check, ...]:
    """Check a drilled ball: gross weight (lb), static weights (oz), holes, palm mark, serial number.

    The first check, `drillable`, is whether the plan leaves a ball that can be used.
    The weight class follows the drilled weight; where the allowance reaches into another class and
    that would judge a static weight otherwise, the outcome is `close`. The bands are the value (for
    static weights the arm's range) plus and minus the scale's allowance. Of balance and vent holes
    the number is checked, and when that is allowed the widest diameter (in); of inspection holes the
    depth, too, and nothing where there is none. A diameter or depth may reach the limit's twin in
    millimetres (`metric_twin`). The palm mark is
    checked on a ball without a thumb hole, it and the serial number only where the rule set asks
    for them.

    Raises InputError when the drilled weight is not a finite number above 0.
    """
    statics = {name: getattr(facts, name) for name in STATICS}
    vents = rules.vent_holes_per_gripping_hole
    checks = [
        _present(DRILLABLE, not facts.ruined, NO_RUIN),
        *check_weights(rules, facts.weight_lb, statics, facts.allowance_oz),
        _at_most(
            "hole count",
            float(facts.gripping_holes),
            rules.gripping_holes.value,
            "holes",
            rules.gripping_holes.told,
        ),
        _extra_holes(
            "balance holes",
            facts.balance_holes,
            rules.balance_holes.value,
            rules.balance_holes,
            rules.balance_hole_diameter_in,
        ),
        _extra_holes(
            "vent holes",
            facts.vent_holes,
            vents.value * facts.gripping_holes,
            vents,
            rules.vent_hole_diameter_in,
        ),
    ]
    if facts.most_vents > vents.value:
        most_in_one = float(facts.most_vents)
        checks.append(_at_most("vents of one hole", most_in_one, vents.value, "holes", vents.told))
    checks += _inspections(rules, facts.inspection_holes)
    if not facts.has_thumb and rules.palm_mark_without_thumb.required:
        palm = rules.palm_mark_without_thumb
        checks.append(_present("palm mark", facts.palm_marked, palm.told))
    if rules.serial_number.required:
        serial = bool(facts.serial.strip())
        checks.append(_present("serial", serial, rules.serial_number.told))
    return (*checks, *_diameter(rules, facts.diameter_in))


class Seen(NamedTuple):
    """What was looked at on a ball that is checked in; None is what nobody looked at.

    `diameter_in` is inches; `serial` is empty where the ball has none; `holes`, `balance_holes` and
    `vents` are counted; `thumb` tells whether it has a thumb hole.
    """

    diameter_in: float | None = None
    serial: str | None = None
    holes: int | None = None
    thumb: bool | None = None
    balance_holes: int | None = None
    vents: int | None = None
    palm_mark: bool | None = None


def check_weighed(
    rules: RuleSet,
    gross_lb: float | None,
    statics: Mapping[str, Static | None],
    allowance_oz: float,
) -> tuple[Check, ...]:
    """The checks of `check_weights`, of a ball whose gross weight may be missing.

    Its check is then incomplete, and so is that of every static weight on which the weight classes do
    not agree; the limit shown is the lightest class's. Raises InputError as `check_weights` does.
    """
    if gross_lb is not None:
        return check_weights(rules, gross_lb, statics, allowance_oz)
    most, lightest = rules.gross_weight_lb, rules.static_limits[0]
    checks = [Check("gross", None, most.value, "lb", None, "incomplete", most.told)]
    for name, static in statics.items():
        missing = Check(
            name, None, lightest.static_oz(name), "oz", None, "incomplete", lightest.told
        )
        if static is not None:
            band = (static.low - allowance_oz, static.high + allowance_oz)
            by_class = {
                outcome(static.value, band, -each.static_oz(name), each.static_oz(name))
                for each in rules.static_limits
            }
            if len(by_class) == 1:
                missing = missing._replace(value=static.value, band=band, outcome=by_class.pop())
        checks.append(missing)
    return tuple(checks)


def check_seen(rules: RuleSet, seen: Seen) -> tuple[Check, ...]:
    """The checks of what was looked at; what was not has none, unless the rule set asks for it.

    That check is then incomplete. Vents of a ball whose holes nobody counted, and a palm mark that is
    missing where nobody looked for the thumb hole, are close: the limit may not bind.
    """
    checks: list[Check] = []
    vents, palm, serial = (
        rules.vent_holes_per_gripping_hole,
        rules.palm_mark_without_thumb,
        rules.serial_number,
    )
    low = rules.undrilled.diameter_min_in
    if seen.diameter_in is not None:
        checks += _diameter(rules, seen.diameter_in)
    elif "diameter" in rules.looked_at:
        checks.append(_not_seen(DIAMETER, low.value, "in", low.told))
    if seen.serial is not None and serial.required:
        checks.append(_present("serial", bool(seen.serial.strip()), serial.told))
    elif seen.serial is None and "serial" in rules.looked_at:
        checks.append(_not_seen("serial", 1.0, YES_NO, serial.told))
    for name, field, count, limit in (
        ("hole count", "holes", seen.holes, rules.gripping_holes),
        ("balance holes", "balance_holes", seen.balance_holes, rules.balance_holes),
    ):
        if count is not None:
            checks.append(_at_most(name, float(count), limit.value, "holes", limit.told))
        elif field in rules.looked_at:
            checks.append(_not_seen(name, limit.value, "holes", limit.told))
    holes = rules.gripping_holes.value if seen.holes is None else float(seen.holes)
    if seen.vents is not None:
        number = float(seen.vents)
        judged = _at_most("vent holes", number, vents.value * holes, "holes", vents.told)
        if seen.holes is None and number > vents.value and judged.outcome == "pass":
            judged = judged._replace(outcome="close")
        checks.append(judged)
    elif "vents" in rules.looked_at:
        checks.append(_not_seen("vent holes", vents.value * holes, "holes", vents.told))
    if palm.required and seen.thumb is not True:
        if seen.palm_mark is not None:
            judged = _present("palm mark", seen.palm_mark, palm.told)
            if seen.thumb is None and not seen.palm_mark:
                judged = judged._replace(outcome="close")
            checks.append(judged)
        elif "palm_mark" in rules.looked_at:
            checks.append(_not_seen("palm mark", 1.0, YES_NO, palm.told))
    return tuple(checks)


def _not_seen(name: str, limit: float, unit: str, source: str) -> Check:
    """A check of what a rule set asks for and nobody looked at."""
    return Check(name, None, limit, unit, None, "incomplete", source)


def overall(checks: tuple[Check, ...]) -> Outcome:
    """The worst outcome of some checks, in the order of `OUTCOMES`; "pass" of none."""
    return OUTCOMES[max((OUTCOMES.index(each.outcome) for each in checks), default=PASS)]


def _rg_cautions(
    limits: Undrilled, rg_low: float | None, rg_high: float | None, differential: float | None
) -> Iterator[str]:
    """Cautions of the lowest and highest RG and the differential of a ball heavy enough for limits."""
    heavy = f"for a ball of {limits.rg_from_lb.value:g} lb or more"
    low, high = limits.rg_min_in, limits.rg_max_in
    if rg_low is not None and rg_low < low.value - _ROUNDING:
        yield (
            f"The ball's lowest RG {rg_low:.7g} in is below the {low.value:.3f} in {heavy} "
            f"({low.told})."
        )
    if rg_high is not None and rg_high > high.value + _ROUNDING:
        yield (
            f"The ball's highest RG {rg_high:.7g} in is above the {high.value:.3f} in {heavy} "
            f"({high.told})."
        )
    most = limits.differential_max_in
    if differential is not None and differential > most.value + _ROUNDING:
        yield (
            f"The ball's differential {differential:.7g} in is above the {most.value:.3f} in "
            f"{heavy} ({most.told})."
        )


def not_in_force(rules: RuleSet, day: str | None) -> Iterator[str]:
    """A caution where a rule set is that of another time than a job's, year-month-day.

    Of a job without a date only a set that has ended is told.
    """
    judge = "judge the ball by the rules of its day"
    if day is not None and rules.first_day is not None and day < rules.first_day:
        yield (
            f"{rules.name} is in force from {rules.first_day}, and the job is dated {day}: {judge}."
        )
    if rules.last_day is not None and (day is None or day > rules.last_day):
        dated = "has no date" if day is None else f"is dated {day}"
        yield (
            f"{rules.name} was in force up to {rules.last_day} at the latest, and the job {dated}: "
            f"{judge}."
        )


def undrilled_cautions(
    rules: RuleSet,
    *,
    diameter: float,
    weight_lb: float,
    rg_low: float | None,
    rg_high: float | None,
    differential: float | None,
    intermediate_differential: float | None,
    has_psa: bool,
    core_density: float | None,
) -> tuple[str, ...]:
    """One sentence for each limit of an undrilled ball that the given figures do not keep.

    Inches, pounds and g/cm3; None stands for a figure that is not known and is not judged. The RG
    and differential limits are applied from the rule set's weight on.
    """
    limits = rules.undrilled
    told: list[str] = []
    low, high = limits.diameter_min_in, limits.diameter_max_in
    if not low.value - _ROUNDING <= diameter <= high.value + _ROUNDING:
        broken = low if diameter < low.value else high
        told.append(
            f"The ball's diameter {diameter:.7g} in is outside {low.value:.3f} to {high.value:.3f} "
            f"in (circumference {limits.circumference_min_in.value:.3f} to "
            f"{limits.circumference_max_in.value:.3f} in; {broken.told})."
        )
    if weight_lb >= limits.rg_from_lb.value:
        told += _rg_cautions(limits, rg_low, rg_high, differential)
    if differential is not None and intermediate_differential is not None:
        share = limits.asymmetric_share
        asymmetric = intermediate_differential > share.value * differential + _ROUNDING
        if asymmetric != has_psa:
            told.append(
                f"The intermediate differential {intermediate_differential:.7g} in is "
                f"{'' if asymmetric else 'not '}more than {100.0 * share.value:g} % of the differential "
                f"{differential:.7g} in, so the ball counts as "
                f"{'asymmetric' if asymmetric else 'symmetric'}, but it has "
                f"{'a' if has_psa else 'no'} PSA mark ({share.told})."
            )
    most = limits.component_density_max
    if core_density is not None and core_density > most.value + _ROUNDING:
        told.append(
            f"The core's density {core_density:.7g} g/cm3 is above the {most.value:.2f} g/cm3 "
            f"allowed for any component ({most.told})."
        )
    return tuple(told)
