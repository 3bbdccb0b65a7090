"""Reading and printing lengths and weights."""

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutkit import units
from layoutkit.errors import InputError, LayoutkitError


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        ("3.375", 3.375),
        (".5", 0.5),
        ("3 3/8", 3.375),
        ("3-3/8", 3.375),
        ("3/8", 0.375),
        ("9/8", 1.125),
        ("63/64", 0.984375),
        ("-1/16", -0.0625),
        ("+1/16", 0.0625),
        ("-3-3/8", -3.375),
        ("  3   3/8  in ", 3.375),
        ("3 3/8in.", 3.375),
        ("3.375 inch", 3.375),
        ("3 INCHES", 3.0),
        ('3 3/8"', 3.375),
        ("85.725 mm", 3.375),  # 25.4 mm to the inch, exact
        ("25.4mm", 1.0),
        ("2.54 cm", 1.0),
        ("1 1/4 cm", 1.25 / 2.54),
        (3, 3.0),
        (3.375, 3.375),
    ],
)
def test_length_is_read(text: str | float, inches: float) -> None:
    assert units.parse_length(text) == pytest.approx(inches, abs=1e-15)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("3/7", "denominator"),
        ("3/0", "denominator"),
        ("3/1", "denominator"),
        ("3/128", "denominator"),
        ("3 9/8", "less than 1"),
        ("3 8/8", "less than 1"),
        ("", "possible"),
        ("three", "possible"),
        ("3,375", "possible"),
        ("3 -3/8", "possible"),
        ("--3", "possible"),
        ("1e3", "possible"),
        ("nan", "possible"),
        ("3 lb", "possible"),
        ("3 ft", "possible"),
        ("٣", "possible"),  # a digit, but not one that a rule has
        ("1" * 5000, "possible"),
        (True, "true is not a length"),
        (None, "null is not a length"),
        ([3], "a list is not a length"),
        (math.nan, "nan"),
        (math.inf, "inf"),
        pytest.param(10**5000, "about 1e5000", id="5001 digits"),
    ],
)
def test_length_is_refused_in_one_sentence(value: object, words: str) -> None:
    with pytest.raises(InputError) as caught:
        units.parse_length(value)  # type: ignore[arg-type]
    message = str(caught.value)
    assert words in message
    assert message.endswith(".")
    assert "\n" not in message
    assert len(message) < 250
    assert isinstance(caught.value, LayoutkitError)


@pytest.mark.parametrize(
    ("text", "pounds"),
    [
        (15.12, 15.12),
        ("15.12", 15.12),
        ("15.12 lb", 15.12),
        ("15 lb", 15.0),
        ("15 1/2 lbs", 15.5),
        ("15 lb 2 oz", 15.125),
        ("15lb2oz", 15.125),
        ("15 pounds 2 1/2 ounces", 15.15625),
        ("15 lb 15.9 oz", 15.99375),
        ("0 lb 3 oz", 0.1875),
        ("242 oz", 15.125),
        ("0.45359237 kg", 1.0),  # the pound of 1959, exact
        ("6860 g", 6.86 / 0.45359237),
    ],
)
def test_weight_is_read(text: str | float, pounds: float) -> None:
    assert units.parse_weight(text) == pytest.approx(pounds, rel=1e-14)


@pytest.mark.parametrize(
    "text",
    [
        "15 lb 16 oz",
        "15.5 lb 2 oz",
        "15 lb 2 3/7 oz",
        "15 lb 2 kg",
        "15 in",
        "15 lb 1.2.3 oz",
        False,
    ],
)
def test_weight_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="is not a weight"):
        units.parse_weight(text)


@pytest.mark.parametrize(
    ("text", "ounces"),
    [("2 3/4", 2.75), ("2.75 oz", 2.75), ("-1/2 oz", -0.5), (2, 2.0), ("28.349523125 g", 1.0)],
)
def test_ounces_are_read(text: str | float, ounces: float) -> None:
    assert units.parse_ounces(text) == pytest.approx(ounces, rel=1e-14)


def test_ounces_are_not_pounds() -> None:
    with pytest.raises(InputError, match='"2 lb" is not a weight; possible: a number of ounces'):
        units.parse_ounces("2 lb")


@pytest.mark.parametrize(
    ("inches", "denominator", "text"),
    [
        (3.375, 64, "3 3/8 in"),
        (0.0, 64, "0 in"),
        (-0.0625, 64, "-1/16 in"),
        (-3.375, 64, "-3 3/8 in"),
        (4.0, 64, "4 in"),
        (1 / 128, 64, "1/64 in"),  # half of a part goes away from zero
        (-1 / 128, 64, "-1/64 in"),
        (1 / 129, 64, "0 in"),
        (-1 / 129, 64, "0 in"),
        (3.99999, 64, "4 in"),
        (3.375, 4, "3 1/2 in"),
        (3.374, 4, "3 1/4 in"),
        (2.5, 1, "3 in"),
    ],
)
def test_fraction_is_printed(inches: float, denominator: int, text: str) -> None:
    assert units.format_length(inches, denominator=denominator) == text
    assert units.fraction(inches, denominator) + " in" == text


def test_other_units_are_printed() -> None:
    assert units.format_length(3.375, "decimal") == "3.375 in"
    assert units.format_length(0.0625, "decimal") == "0.063 in"
    assert units.format_length(-0.0001, "decimal") == "0.000 in"
    assert units.format_length(3.375, "metric") == "85.7 mm"
    assert units.format_weight(15.125) == "15 lb 2 oz"
    assert units.format_weight(15.0) == "15 lb"
    assert units.format_weight(15.9999) == "16 lb"
    assert units.format_weight(15.995) == "15 lb 15.9 oz"
    assert units.format_weight(-15.125) == "-15 lb 2 oz"
    assert units.format_weight(15.12, "decimal") == "15.12 lb"
    assert units.format_weight(15.12, "metric") == "6.86 kg"
    assert units.format_ounces(0.55, signed=True) == "+0.55 oz"
    assert units.format_ounces(0.55) == "0.55 oz"
    assert units.format_ounces(-0.55, signed=True) == "-0.55 oz"
    assert units.format_ounces(-0.001, signed=True) == "0.00 oz"
    assert units.format_ounces(2.75, "metric") == "78.0 g"


@pytest.mark.parametrize("denominator", [0, 3, 128, -2])
def test_odd_denominator_is_refused(denominator: int) -> None:
    with pytest.raises(InputError, match="denominator"):
        units.fraction(1.0, denominator)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_not_printed(value: float) -> None:
    for print_it in (units.format_length, units.format_weight, units.format_ounces):
        with pytest.raises(InputError, match="finite"):
            print_it(value)


def test_constants_agree_with_their_definitions() -> None:
    # 1 g/cm3 = 0.578037 oz/in3; 28.349523125 g = 1 oz and 16.387064 cm3 = 1 in3 follow from 1959's
    assert pytest.approx(0.578037, abs=5e-7) == units.OZ_PER_IN3
    assert pytest.approx(28.349523125, rel=1e-15) == units.GRAM_PER_OZ
    assert pytest.approx(16.387064, rel=1e-15) == units.CM3_PER_IN3


LENGTHS = st.floats(-20.0, 20.0)


@given(LENGTHS, st.sampled_from((1, *units.DENOMINATORS)))
def test_printed_fraction_reads_back(inches: float, denominator: int) -> None:
    text = units.format_length(inches, denominator=denominator)
    back = units.parse_length(text)
    assert abs(back - inches) <= 0.5 / denominator
    assert units.format_length(back, denominator=denominator) == text


@given(LENGTHS)
def test_printed_decimal_and_metric_read_back(inches: float) -> None:
    assert abs(units.parse_length(units.format_length(inches, "decimal")) - inches) <= 0.000500001
    metric = units.format_length(inches, "metric")
    assert abs(units.parse_length(metric) - inches) <= 0.0500001 / 25.4


@given(st.floats(-20.0, 20.0))
def test_printed_weight_reads_back(pounds: float) -> None:
    text = units.format_weight(pounds)
    assert " 16 oz" not in text
    assert abs(units.parse_weight(text) - pounds) <= 0.0500001 / 16.0
    assert abs(units.parse_weight(units.format_weight(pounds, "decimal")) - pounds) <= 0.00500001
    kilos = units.format_weight(pounds, "metric")
    assert abs(units.parse_weight(kilos) - pounds) * 0.45359237 <= 0.00500001


@given(st.floats(-10.0, 10.0), st.booleans())
def test_printed_ounces_read_back(ounces: float, signed: bool) -> None:
    text = units.format_ounces(ounces, signed=signed)
    assert abs(units.parse_ounces(text) - ounces) <= 0.00500001
    grams = units.format_ounces(ounces, "metric", signed)
    assert abs(units.parse_ounces(grams) - ounces) * 28.349523125 <= 0.0500001


def test_a_value_is_shown_in_one_short_line() -> None:
    assert units.shown("a\nb\u2028") == '"a\\u000ab\\u2028"'
    assert len(units.shown("x" * 500)) == 62
    assert units.shown(40.0) == "40"
    assert units.shown(-0.5) == "-0.5"
    assert units.shown({}) == "an object"
    assert units.shown(b"x") == "a bytes"
    assert units.shown(10**5000) == "about 1e5000"


def test_units_start_fast() -> None:
    # the command line reads units before it knows whether it needs the rest
    heavy = "('numpy', 'pydantic')"
    code = f"import sys, layoutkit.units; print([m for m in {heavy} if m in sys.modules])"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
