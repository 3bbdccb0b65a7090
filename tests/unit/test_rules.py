"""The rule sets' reader and the checks, each driven to every outcome that it can have."""

import copy
import dataclasses
import json
import math
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from layoutkit.errors import InputError
from layoutkit.job import built_in_rules, rule_files, rules
from layoutkit.job.built_in_rules import BUILT_IN
from layoutkit.job.record import parse_job
from layoutkit.job.rules import Check, Facts, Static
from layoutkit.planning.plan import plan

NEW = built_in_rules.rule_set("usbc-2020")
OLD = built_in_rules.rule_set("usbc-pre-2018")
ZERO = Static(0.0, 0.0, 0.0)
LEGAL = Facts(
    weight_lb=14.9,
    ruined=False,
    diameter_in=8.55,
    top=ZERO,
    side=ZERO,
    finger=ZERO,
    gripping_holes=3,
    has_thumb=True,
    palm_marked=False,
    serial="A1",
    balance_holes=(),
    vent_holes=(),
    most_vents=0,
    inspection_holes=(),
    allowance_oz=0.25,
)


def checked(rule_set: rules.RuleSet = NEW, **changes: Any) -> dict[str, Check]:
    found = rules.check(rule_set, dataclasses.replace(LEGAL, **changes))
    return {each.name: each for each in found}


def exact(value: float) -> Static:
    return Static(value, value, value)


# outcome ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "band", "expected"),
    [
        (2.0, (1.75, 2.25), "pass"),
        (2.8, (2.55, 3.05), "close"),
        (2.75, (2.5, 3.0), "close"),  # the band just reaches the limit
        (3.25, (3.0, 3.5), "close"),  # from the other side too
        (3.3, (3.05, 3.55), "fail"),
        (-2.8, (-3.05, -2.55), "close"),
        (-3.3, (-3.55, -3.05), "fail"),
        (0.0, (-4.0, 4.0), "close"),
        (3.0, (3.0, 3.0), "pass"),  # exact figures: within means up to and including
        (3.001, (3.001, 3.001), "fail"),
        (-3.001, (-3.001, -3.001), "fail"),
        (math.nan, (math.nan, math.nan), "fail"),
    ],
)
def test_outcome_of_a_value_against_three_ounces(
    value: float, band: tuple[float, float], expected: str
) -> None:
    assert rules.outcome(value, band, -3.0, 3.0) == expected


# check -----------------------------------------------------------------------------------------


def test_a_legal_ball_passes_every_check_in_the_stated_order() -> None:
    found = rules.check(NEW, dataclasses.replace(LEGAL, has_thumb=False, palm_marked=True))
    assert [each.name for each in found] == [
        "drillable",
        "gross",
        "top",
        "side",
        "finger",
        "hole count",
        "balance holes",
        "vent holes",
        "palm mark",
        "serial",
    ]
    assert {each.outcome for each in found} == {"pass"}
    assert rules.overall(found) == "pass"


@pytest.mark.parametrize(
    ("weight", "expected"),
    # 0.25 oz is 0.015625 lb
    [(15.98, "pass"), (15.99, "close"), (16.0, "close"), (16.01, "close"), (16.02, "fail")],
)
def test_gross_weight(weight: float, expected: str) -> None:
    gross = checked(weight_lb=weight)["gross"]
    assert gross.outcome == expected
    assert gross.band == pytest.approx((weight - 0.015625, weight + 0.015625), abs=1e-12)
    assert (gross.value, gross.limit, gross.unit) == (weight, 16.0, "lb")


@pytest.mark.parametrize("name", ["top", "side", "finger"])
@pytest.mark.parametrize("sign", [1.0, -1.0])
@pytest.mark.parametrize(
    ("size", "expected"), [(2.7, "pass"), (2.9, "close"), (3.1, "close"), (3.3, "fail")]
)
def test_static_weights(name: str, sign: float, size: float, expected: str) -> None:
    changes: dict[str, Any] = {name: exact(sign * size)}
    found = checked(**changes)
    assert found[name].outcome == expected
    assert found[name].value == sign * size
    assert (found[name].limit, found[name].unit) == (3.0, "oz")
    assert {found[other].outcome for other in {"top", "side", "finger"} - {name}} == {"pass"}


def test_the_band_is_the_arms_range_widened_by_the_allowance() -> None:
    side = checked(side=Static(2.0, 2.0, 2.85))["side"]
    assert side.band == pytest.approx((1.75, 3.1), abs=1e-12)
    assert side.outcome == "close"
    assert checked(side=Static(2.0, 2.0, 2.7))["side"].outcome == "pass"


def test_without_any_uncertainty_the_limit_itself_passes() -> None:
    assert checked(top=exact(3.0), allowance_oz=0.0)["top"].outcome == "pass"
    assert checked(weight_lb=16.0, allowance_oz=0.0)["gross"].outcome == "pass"
    assert checked(top=exact(3.0001), allowance_oz=0.0)["top"].outcome == "fail"


@pytest.mark.parametrize(("count", "expected"), [(2, "pass"), (5, "pass"), (6, "fail")])
def test_hole_count(count: int, expected: str) -> None:
    holes = checked(gripping_holes=count)["hole count"]
    assert holes.outcome == expected
    assert (holes.value, holes.limit, holes.unit) == (count, 5.0, "holes")
    assert holes.band == (count, count)


@pytest.mark.parametrize(
    ("rule_set", "diameters", "value", "limit", "unit", "expected"),
    [
        (NEW, (), 0.0, 0.0, "holes", "pass"),
        (NEW, (1.0,), 1.0, 0.0, "holes", "fail"),
        (OLD, (), 0.0, 1.0, "holes", "pass"),
        (OLD, (1.25,), 1.25, 1.25, "in", "pass"),
        (OLD, (1.26,), 1.26, 1.25, "in", "fail"),
        (OLD, (0.5, 0.5), 2.0, 1.0, "holes", "fail"),
    ],
)
def test_balance_holes(
    rule_set: rules.RuleSet,
    diameters: tuple[float, ...],
    value: float,
    limit: float,
    unit: str,
    expected: str,
) -> None:
    holes = checked(rule_set, balance_holes=diameters)["balance holes"]
    assert (holes.value, holes.limit, holes.unit) == (value, limit, unit)
    assert holes.outcome == expected


@pytest.mark.parametrize(
    ("diameters", "value", "limit", "unit", "expected"),
    [
        ((), 0.0, 3.0, "holes", "pass"),
        ((0.125, 0.25, 0.2), 0.25, 0.25, "in", "pass"),
        ((0.125, 0.26), 0.26, 0.25, "in", "fail"),
        ((0.1, 0.1, 0.1, 0.1), 4.0, 3.0, "holes", "fail"),
    ],
)
def test_vent_holes_of_a_ball_with_three_gripping_holes(
    diameters: tuple[float, ...], value: float, limit: float, unit: str, expected: str
) -> None:
    holes = checked(vent_holes=diameters)["vent holes"]
    assert (holes.value, holes.limit, holes.unit) == (value, limit, unit)
    assert holes.outcome == expected


def test_the_palm_mark_matters_only_without_a_thumb_and_where_it_is_asked_for() -> None:
    assert "palm mark" not in checked()
    missing = checked(has_thumb=False)["palm mark"]
    assert (missing.value, missing.limit, missing.outcome) == (0.0, 1.0, "fail")
    assert checked(has_thumb=False, palm_marked=True)["palm mark"].outcome == "pass"
    assert "palm mark" not in checked(OLD, has_thumb=False)


@pytest.mark.parametrize(("serial", "expected"), [("A1", "pass"), ("", "fail"), ("  ", "fail")])
def test_a_missing_serial_number_fails_and_says_that_it_is_required(
    serial: str, expected: str
) -> None:
    found = checked(serial=serial)["serial"]
    assert found.outcome == expected
    assert "required" in found.source


def test_a_set_that_asks_for_no_serial_number_does_not_check_it() -> None:
    free = dataclasses.replace(
        NEW, serial_number=dataclasses.replace(NEW.serial_number, required=False)
    )
    assert "serial" not in checked(free, serial="")


def test_overall_is_the_worst_outcome() -> None:
    close = dataclasses.replace(LEGAL, side=exact(2.9))
    assert rules.overall(rules.check(NEW, close)) == "close"
    both = dataclasses.replace(close, top=exact(-4.0))
    assert rules.overall(rules.check(NEW, both)) == "fail"


# weight classes --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rule_set", "weight", "top", "side", "finger"),
    [
        (NEW, 6.0, 0.75, 0.75, 0.75),
        (NEW, 8.5, 0.75, 0.75, 0.75),
        (NEW, 10.0, 0.75, 0.75, 0.75),
        (NEW, 10.01, 3.0, 3.0, 3.0),
        (NEW, 16.5, 3.0, 3.0, 3.0),
        (OLD, 8.0, 0.75, 0.75, 0.75),
        (OLD, 8.5, 2.0, 0.75, 0.75),
        (OLD, 10.0, 2.0, 0.75, 0.75),
        (OLD, 10.01, 3.0, 1.0, 1.0),
    ],
)
def test_the_drilled_weight_chooses_the_class(
    rule_set: rules.RuleSet, weight: float, top: float, side: float, finger: float
) -> None:
    found = checked(rule_set, weight_lb=weight)
    assert [found[name].limit for name in ("top", "side", "finger")] == [top, side, finger]


def test_a_light_ball_is_judged_differently_by_the_two_sets() -> None:
    assert checked(NEW, weight_lb=8.5, top=exact(1.5))["top"].outcome == "fail"
    assert checked(OLD, weight_lb=8.5, top=exact(1.5))["top"].outcome == "pass"
    assert checked(NEW, weight_lb=8.5)["top"].source.startswith("from memory: ")
    assert not checked(NEW, weight_lb=10.01)["top"].source.startswith("from memory")


@pytest.mark.parametrize("weight", [0.0, -1.0, math.nan, math.inf])
def test_a_weight_that_no_ball_has_is_refused(weight: float) -> None:
    with pytest.raises(InputError, match=r"^weight: .* lb is not possible"):
        checked(weight_lb=weight)


# built-in sets and templates -------------------------------------------------------------------


def test_the_built_in_names_are_the_files_that_are_shipped() -> None:
    folder = Path(rules.__file__).parent / "rule_sets"
    assert sorted(BUILT_IN) == sorted(path.stem for path in folder.glob("*.json"))
    assert [built_in_rules.rule_set(name).name for name in BUILT_IN] == list(BUILT_IN)


@pytest.mark.parametrize("call", [built_in_rules.rule_set, built_in_rules.rules_template])
def test_an_unknown_name_is_refused_naming_the_possible_ones(call: Callable[[str], object]) -> None:
    with pytest.raises(InputError) as caught:
        call("../usbc-2020")
    assert str(caught.value) == (
        'rules: "../usbc-2020" is not a built-in rule set; possible: "usbc-2020", "usbc-pre-2018".'
    )


@pytest.mark.parametrize("name", BUILT_IN)
def test_a_built_in_set_is_read_unchecked_as_its_file_is_checked(name: str) -> None:
    own = json.loads(built_in_rules.rules_template(name))
    checked_set = rule_files.parse_rules(own, "own.json")
    assert repr(built_in_rules.rule_set(name)) == repr(checked_set)  # 3 and 3.0 differ, too


def test_a_changed_figure_of_a_template_counts() -> None:
    own = json.loads(built_in_rules.rules_template("usbc-2020"))
    own["static_limits"][1]["side_oz"] = 1.5
    assert (
        checked(rule_files.parse_rules(own, "own.json"), side=exact(2.0))["side"].outcome == "fail"
    )


def test_reading_the_built_in_rules_loads_neither_numpy_nor_pydantic() -> None:
    code = (
        "import sys; from layoutkit.job.built_in_rules import rule_set; rule_set('usbc-2020'); "
        "print(sorted({'numpy', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=Path(rules.__file__).parents[2],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "[]"


# a shop's own file -----------------------------------------------------------------------------

GONE = object()


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (("format",), "rules", 'format: "rules" is not possible; possible: "layoutkit-rules".'),
        (("version",), 2, "version: 2 is not possible; possible: 1."),
        (("version",), True, "version: true is not a version; possible: 1."),
        (("title",), " ", 'title: " " is blank; possible: text.'),
        (("colour",), "red", "colour: unknown field; possible here: format, version, name, title"),
        (
            ("notes",),
            GONE,
            "notes: missing; possible: a list of objects with source, status, text.",
        ),
        (("notes",), "none", 'notes: "none" is not a list; possible: a list of up to 100.'),
        (
            ("notes", 0, "text"),
            None,
            "notes.0.text: null is not text; possible: up to 1000 characters.",
        ),
        (
            ("gross_weight", "max_kg"),
            7.26,
            "gross_weight.max_kg: unknown field; possible here: source, status, max_lb.",
        ),
        (
            ("gross_weight", "max_lb"),
            0,
            "gross_weight.max_lb: 0 is not possible; possible: a number above 0.",
        ),
        (
            ("gross_weight", "max_lb"),
            10**400,
            "gross_weight.max_lb: about 1e400 is not possible",
        ),
        (("gross_weight",), [16], "gross_weight: a list is not possible; possible: an object with"),
        (
            ("gripping_holes", "max"),
            4.5,
            "gripping_holes.max: 4.5 is not possible; possible: a whole number",
        ),
        (("gripping_holes", "max"), True, "gripping_holes.max: true is not possible"),
        (("gripping_holes", "max"), "5", 'gripping_holes.max: "5" is not possible'),
        (("gripping_holes", "max"), {}, "gripping_holes.max: an object is not possible"),
        (
            ("balance_holes", "max_diameter_in"),
            1.25,
            "balance_holes.max_diameter_in: 1.25 is not possible where max_count is 0; possible: null.",
        ),
        (
            ("balance_holes", "max_count"),
            1,
            "balance_holes.max_diameter_in: null is not possible where max_count is 1; possible:",
        ),
        (
            ("serial_number", "required"),
            1,
            "serial_number.required: 1 is not possible; possible: true or false.",
        ),
        (
            ("serial_number", "status"),
            "sure",
            'serial_number.status: "sure" is not possible; possible: "read in a source" or "from',
        ),
        (("serial_number", "source"), "", 'serial_number.source: "" is blank; possible: text.'),
        (
            ("static_limits",),
            [],
            "static_limits: the list is empty; possible: one weight class or more.",
        ),
        (
            ("static_limits", 0, "top_oz"),
            -3,
            "static_limits.0.top_oz: -3 is not possible; possible: a number of 0 or more",
        ),
        (
            ("static_limits", 0, "side_oz"),
            math.nan,
            "static_limits.0.side_oz: nan is not possible; possible: a number of 0 or more",
        ),
        (
            ("static_limits", 0, "finger_oz"),
            math.inf,
            "static_limits.0.finger_oz: inf is not possible",
        ),
        (
            ("static_limits", 0, "over_lb"),
            1,
            "static_limits.0.over_lb: 1 lb leaves a gap; possible: 0 lb.",
        ),
        (
            ("static_limits", 1, "over_lb"),
            10.5,
            "static_limits.1.over_lb: 10.5 lb leaves a gap; possible: 10 lb.",
        ),
        (
            ("static_limits", 1, "over_lb"),
            9,
            "static_limits.1.over_lb: 9 lb overlaps the class before it; possible: 10 lb.",
        ),
        (
            ("static_limits", 0, "up_to_lb"),
            None,
            "static_limits.0.up_to_lb: null is not possible; possible: a number above 0 in every class",
        ),
        (
            ("static_limits", 1, "up_to_lb"),
            16,
            "static_limits.1.up_to_lb: 16 lb is not possible; possible: null in the last class",
        ),
        (
            ("undrilled", "diameter_min_in", "value"),
            9,
            "undrilled.diameter_min_in.value: 9 is not possible; possible: less than diameter_max_in",
        ),
        (
            ("undrilled", "asymmetric_share", "value"),
            5,
            "undrilled.asymmetric_share.value: 5 is not possible; possible: a fraction below 1.",
        ),
    ],
)
def test_a_bad_file_is_refused_in_one_sentence(
    path: tuple[str | int, ...], value: object, message: str
) -> None:
    data = copy.deepcopy(json.loads(built_in_rules.rules_template("usbc-2020")))
    inner = data
    for step in path[:-1]:
        inner = inner[step]
    if value is GONE:
        del inner[path[-1]]
    else:
        inner[path[-1]] = value
    with pytest.raises(InputError) as caught:
        rule_files.parse_rules(data, "own.json")
    told = str(caught.value)
    assert told.startswith("own.json: ")
    assert message in told
    assert "\n" not in told


def test_a_class_that_ends_before_it_starts_is_refused() -> None:
    data = json.loads(built_in_rules.rules_template("usbc-pre-2018"))
    data["static_limits"][1]["up_to_lb"] = 7
    with pytest.raises(
        InputError, match=r"up_to_lb: 7 lb is not possible; possible: more than over_lb, 8 lb"
    ):
        rule_files.parse_rules(data, "own.json")


def test_a_file_that_is_no_object_is_refused_naming_the_file() -> None:
    with pytest.raises(
        InputError, match=r"^own\.json: the rule set: a list is not possible; possible: an obj"
    ):
        rule_files.parse_rules([], "own.json")


def test_a_long_value_is_cut_short() -> None:
    data = json.loads(built_in_rules.rules_template("usbc-2020"))
    data["format"] = "x" * 1000
    with pytest.raises(InputError) as caught:
        rule_files.parse_rules(data, "own.json")
    assert len(str(caught.value)) < 200


# undrilled -------------------------------------------------------------------------------------

SOUND: dict[str, Any] = {
    "diameter": 8.55,
    "weight_lb": 15.12,
    "rg_low": 2.52,
    "rg_high": 2.57,
    "differential": 0.05,
    "intermediate_differential": 0.015,
    "has_psa": True,
    "core_density": 1.9,
}


def test_a_sound_ball_gets_no_caution_even_on_the_limits() -> None:
    assert rules.undrilled_cautions(NEW, **SOUND) == ()
    # 2.74 + 0.06 is a little above 2.8 in binary
    edge = {"rg_low": 2.74, "rg_high": 2.74 + 0.06, "differential": 0.06, "core_density": 3.8}
    assert edge["rg_high"] > 2.8
    assert rules.undrilled_cautions(NEW, **{**SOUND, **edge, "diameter": 8.595}) == ()
    assert rules.undrilled_cautions(NEW, **{**SOUND, "rg_low": 2.46, "diameter": 8.5}) == ()


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"diameter": 8.6}, ("diameter 8.6 in", "8.500 to 8.595 in", "26.704 to 27.002 in")),
        ({"diameter": 8.49}, ("diameter 8.49 in", "USBC")),
        ({"rg_low": 2.459}, ("lowest RG 2.459 in", "2.460 in", "13 lb", "2010-07-01")),
        ({"rg_high": 2.801}, ("highest RG 2.801 in", "2.800 in", "13 lb", "USBC")),
        ({"differential": 0.061}, ("differential 0.061 in", "0.060 in", "2005-02-01")),
        ({"core_density": 3.81}, ("density 3.81 g/cm3", "3.80 g/cm3", "USBC")),
        (
            {"intermediate_differential": 0.0025},
            ("0.0025 in is not more than 5 %", "symmetric, but it has a PSA mark", "glossary"),
        ),
        (
            {"has_psa": False},
            ("0.015 in is more than 5 %", "asymmetric, but it has no PSA mark", "glossary"),
        ),
    ],
)
def test_each_undrilled_limit_has_its_sentence(
    changes: dict[str, Any], words: tuple[str, ...]
) -> None:
    cautions = rules.undrilled_cautions(NEW, **{**SOUND, **changes})
    assert len(cautions) == 1
    for word in words:
        assert word in cautions[0]


def test_rg_limits_start_at_thirteen_pounds_and_unknown_figures_are_not_judged() -> None:
    bad = {"rg_low": 2.4, "rg_high": 2.9, "differential": 0.5, "intermediate_differential": 0.1}
    assert len(rules.undrilled_cautions(NEW, **{**SOUND, **bad, "weight_lb": 13.0})) == 3
    assert rules.undrilled_cautions(NEW, **{**SOUND, **bad, "weight_lb": 12.99}) == ()
    unknown = dict.fromkeys([*bad, "core_density"])
    assert rules.undrilled_cautions(NEW, **{**SOUND, **unknown}) == ()


def test_a_weight_near_a_class_limit_is_judged_by_both_classes():
    """10.00 lb divides the classes; the scale's allowance of 1/4 oz reaches across."""
    between = Static(1.5, 1.5, 1.5)  # within 3 oz, beyond 3/4 oz
    for weight in (9.99, 10.0, 10.01):
        found = rules.check(NEW, dataclasses.replace(LEGAL, weight_lb=weight, side=between))
        assert next(c for c in found if c.name == "side").outcome == "close", weight
    for weight, outcome in ((9.9, "fail"), (10.1, "pass")):
        found = rules.check(NEW, dataclasses.replace(LEGAL, weight_lb=weight, side=between))
        assert next(c for c in found if c.name == "side").outcome == outcome
    # what both classes judge alike stays as it is
    for value, outcome in ((0.1, "pass"), (4.0, "fail")):
        side = Static(value, value, value)
        found = rules.check(NEW, dataclasses.replace(LEGAL, weight_lb=10.005, side=side))
        assert next(c for c in found if c.name == "side").outcome == outcome
    assert rules.other_classes(NEW, 12.0, 0.25) == ()
    assert [c.up_to_lb for c in rules.other_classes(NEW, 10.005, 0.25)] == [10.0]


@pytest.mark.parametrize(
    ("name", "day", "words"),
    [
        ("usbc-2020", "2020-08-01", []),
        ("usbc-2020", None, []),
        ("usbc-2020", "2020-07-31", ["is in force from 2020-08-01", "is dated 2020-07-31"]),
        ("usbc-pre-2018", "2020-07-31", []),
        ("usbc-pre-2018", "2020-08-01", ["up to 2020-07-31", "is dated 2020-08-01"]),
        ("usbc-pre-2018", None, ["up to 2020-07-31", "has no date"]),
    ],
)
def test_rules_of_another_time_than_the_job_are_told(
    record: dict[str, Any], name: str, day: str | None, words: list[str]
) -> None:
    """The last balance holes were allowed up to 2020-07-31 (USBC)."""
    record |= {"rules": name, "work": {"date": day}}
    cautions = [c for c in plan(parse_job(record)).cautions if c.startswith(f"{name} ")]
    assert len(cautions) == bool(words)
    assert all(word in cautions[0] for word in words)
