"""The built-in rule sets against the figures and dates of the texts that they come from.

Beside each expected figure stands its source. "From memory" marks a figure for which no text was
read; it must be confirmed in the current manual, and the rule set has to say so.
"""

import json
import math
from collections.abc import Iterator
from typing import Any

import pytest

from layoutkit.job import built_in_rules, rules

NEW = built_in_rules.rule_set("usbc-2020")
OLD = built_in_rules.rule_set("usbc-pre-2018")
BOTH = pytest.mark.parametrize("rule_set", [NEW, OLD], ids=lambda each: each.name)

MM_PER_IN = 25.4  # exact by definition
G_PER_OZ = 28.349523125  # exact by definition


def note(rule_set: rules.RuleSet, words: str) -> rules.Note:
    (found,) = [each for each in rule_set.notes if words in each.text]
    return found


def sourced(value: Any, at: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every object of a rule file that states a rule: below the top, each that is not a container."""
    if isinstance(value, list):
        for index, item in enumerate(value):
            yield from sourced(item, f"{at}[{index}]")
    elif isinstance(value, dict):
        if at and not at.endswith("undrilled"):
            yield at, value
        else:
            for key, item in value.items():
                yield from sourced(item, f"{at}.{key}")


# Every figure has a source ---------------------------------------------------------------------


@pytest.mark.parametrize("name", built_in_rules.BUILT_IN)
def test_every_rule_has_a_source_and_one_of_the_two_statuses(name: str) -> None:
    stated = list(sourced(json.loads(built_in_rules.rules_template(name)), ""))
    # classes, six kinds of holes and marks, ten figures for an undrilled ball, notes
    assert len(stated) >= 2 + 6 + 10 + 4
    for at, rule in stated:
        assert rule["source"].strip(), at
        assert rule["status"] in ("read in a source", "from memory"), at


@pytest.mark.parametrize("name", built_in_rules.BUILT_IN)
def test_what_is_from_memory_asks_to_be_confirmed(name: str) -> None:
    stated = list(sourced(json.loads(built_in_rules.rules_template(name)), ""))
    remembered = [rule for _, rule in stated if rule["status"] == "from memory"]
    assert remembered
    for rule in remembered:
        assert "to be confirmed in the current manual" in rule["source"]


def test_the_program_points_to_the_rule_book() -> None:
    assert "rule book in force" in rules.CONFIRM
    assert "confirm" in rules.CONFIRM


# Drilled ball ----------------------------------------------------------------------------------


@BOTH
def test_gross_weight(rule_set: rules.RuleSet) -> None:
    # USBC equipment specifications (summaries of the manual): at most 16.00 lb, no minimum
    assert rule_set.gross_weight_lb.value == 16.0
    assert rule_set.gross_weight_lb.status == "read in a source"
    assert "USBC equipment specifications" in rule_set.gross_weight_lb.source
    assert "no minimum" in rule_set.gross_weight_lb.source


def test_static_limits_over_ten_pounds() -> None:
    # USBC ball rule changes announced 2018-04-24: 3 oz each, tested one by one, only for a ball
    # with no balance hole. Applied from 2018-08-01 in most texts, from 2020-01-01 in two.
    heavy = NEW.static_limits[-1]
    assert (heavy.over_lb, heavy.up_to_lb) == (10.0, math.inf)
    assert (heavy.top_oz, heavy.side_oz, heavy.finger_oz) == (3.0, 3.0, 3.0)
    assert heavy.status == "read in a source"
    for words in ("2018-04-24", "2018-08-01 in most", "2020-01-01 in two", "no balance hole"):
        assert words in heavy.source


def test_static_limits_over_ten_pounds_before_the_change() -> None:
    # The same announcement: before, 3 oz top/bottom, 1 oz side, 1 oz finger/thumb.
    heavy = OLD.static_limits[-1]
    assert (heavy.over_lb, heavy.up_to_lb) == (10.0, math.inf)
    assert (heavy.top_oz, heavy.side_oz, heavy.finger_oz) == (3.0, 1.0, 1.0)
    assert heavy.status == "read in a source"
    for words in ("2018-04-24", "2018-08-01 in most", "2020-01-01 in two"):
        assert words in heavy.source
        assert words in OLD.in_force or words == "2018-04-24"


def test_static_limits_of_light_balls() -> None:
    # From memory: 10.00 lb or less, 3/4 oz in each direction.
    (light,) = NEW.static_limits[:-1]
    assert (light.over_lb, light.up_to_lb) == (0.0, 10.0)
    assert (light.top_oz, light.side_oz, light.finger_oz) == (0.75, 0.75, 0.75)
    assert light.status == "from memory"


def test_static_limits_of_light_balls_in_older_texts() -> None:
    # From memory: older texts had a class of 8 to 10 lb, 2 oz top/bottom and 3/4 oz otherwise.
    lightest, light = OLD.static_limits[:-1]
    assert (light.over_lb, light.up_to_lb) == (8.0, 10.0)
    assert (light.top_oz, light.side_oz, light.finger_oz) == (2.0, 0.75, 0.75)
    assert (lightest.over_lb, lightest.up_to_lb) == (0.0, 8.0)
    assert (lightest.top_oz, lightest.side_oz, lightest.finger_oz) == (0.75, 0.75, 0.75)
    assert {lightest.status, light.status} == {"from memory"}


def test_balance_holes() -> None:
    # USBC: none since 2020-08-01, before that one of at most 1 1/4 in; World Bowling statutes
    # 11.12.3 (text circulated 2019)
    assert NEW.balance_holes.value == 0
    assert NEW.balance_hole_diameter_in is None
    assert OLD.balance_holes.value == 1
    # holes may reach either: 5/8 in = 15.9 mm, 1/8 in = 3.2 mm
    assert OLD.balance_hole_diameter_in is not None
    twins = {
        OLD.balance_hole_diameter_in.value: 31.8,
        NEW.vent_hole_diameter_in.value: 6.4,
        NEW.inspection_hole_diameter_in.value: 15.9,
        NEW.inspection_hole_depth_in.value: 3.2,
    }
    for inches, millimetres in twins.items():
        assert rules.metric_twin(inches) == pytest.approx(millimetres / MM_PER_IN, abs=1e-12)


def test_the_dates_in_force() -> None:
    # USBC: balance holes ended 2020-08-01; the 2018 changes were announced 2018-04-24 and applied
    # from 2018-08-01 in most texts, from 2020-01-01 in two
    assert NEW.in_force.startswith("From 2020-08-01")
    for rule_set in (NEW, OLD):
        for date in ("2018-04-24", "2018-08-01", "2020-01-01", "2020-08-01"):
            assert date in rule_set.in_force


# Undrilled ball --------------------------------------------------------------------------------


@BOTH
def test_diameter_and_circumference(rule_set: rules.RuleSet) -> None:
    # USBC: 8.500-8.595 in, 26.704-27.002 in
    limits = rule_set.undrilled
    assert (limits.diameter_min_in.value, limits.diameter_max_in.value) == (8.5, 8.595)
    assert (limits.circumference_min_in.value, limits.circumference_max_in.value) == (
        26.704,
        27.002,
    )
    # Derived: the two ranges are one, each circumference given to a thousandth of an inch.
    assert math.pi * limits.diameter_min_in.value == pytest.approx(
        limits.circumference_min_in.value, abs=0.0005
    )
    assert math.pi * limits.diameter_max_in.value == pytest.approx(
        limits.circumference_max_in.value, abs=0.0005
    )


@BOTH
def test_rg_and_differential(rule_set: rules.RuleSet) -> None:
    limits = rule_set.undrilled
    # USBC: 13 lb and up
    assert limits.rg_from_lb.value == 13.0
    # USBC: 2.460 in since 2010-07-01, before 2.430; to 2.800 in
    assert limits.rg_min_in.value == 2.46
    assert "since 2010-07-01; before that 2.430 in" in limits.rg_min_in.source
    assert limits.rg_max_in.value == 2.8
    # USBC: 0.060 in since 2005-02-01, before 0.080
    assert limits.differential_max_in.value == 0.06
    assert "since 2005-02-01; before that 0.080 in" in limits.differential_max_in.source


@BOTH
def test_density_and_asymmetry(rule_set: rules.RuleSet) -> None:
    # USBC: at most 3.80 g/mL
    assert rule_set.undrilled.component_density_max.value == 3.8
    # USBC glossary: mid and high RG differ by more than 5 % of the total differential
    assert rule_set.undrilled.asymmetric_share.value == 0.05
    assert "USBC glossary" in rule_set.undrilled.asymmetric_share.source


@BOTH
def test_marks_and_manufacture(rule_set: rules.RuleSet) -> None:
    # USBC release, in force 2012-01-31: within 1 in of the pin's centre, 1.5 in of the PSA mark
    pin = note(rule_set, "low-RG axis lies within 1 in of the centre of the pin mark")
    psa = note(rule_set, "high-RG axis lies within 1.5 in of the PSA mark")
    assert pin.source == psa.source == "USBC release, in force 2012-01-31"
    # USBC research article on CG placement: about 3 %
    assert note(rule_set, "about 3 %").source == "USBC research article on CG placement"


@BOTH
def test_what_was_read_for_the_undrilled_ball_says_so(rule_set: rules.RuleSet) -> None:
    names = rules.Undrilled.__slots__
    assert {getattr(rule_set.undrilled, name).status for name in names} == {"read in a source"}
