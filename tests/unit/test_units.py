"""Reading and printing quantities as a shop writes them."""

import math
import re
import subprocess
import sys
import unicodedata
from fractions import Fraction

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
        ("4,56", 4.56),
        ("4,375", 4.375),
        ("15,08", 15.08),
        (",5 in", 0.5),
        ("4½", 4.5),
        ("4 ½", 4.5),
        ("4\u00a0½", 4.5),  # a no-break space, as a word processor puts it
        ("4-½", 4.5),
        ("-½", -0.5),
        ("¼", 0.25),
        ("½", 0.5),
        ("¾", 0.75),
        ("⅛", 0.125),
        ("⅜", 0.375),
        ("⅝", 0.625),
        ("⅞", 0.875),
        ("3⁄16", 0.1875),
        ("4 3⁄16", 4.1875),
        ("4³⁄₁₆", 4.1875),
        ('4 1/2"', 4.5),
        ("4 1/2″", 4.5),
        ("4 1/2”", 4.5),
        ("4½″", 4.5),
        ("\N{MINUS SIGN}3/8", -0.375),
        ("111 mm", 111.0 / 25.4),
        ("111mm", 111.0 / 25.4),
        ("11.1 cm", 111.0 / 25.4),
        ("11,1 CM", 111.0 / 25.4),
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
        ("3,", "possible"),
        ("1,234.5", "possible"),
        ("1,234,5", "possible"),
        ("4.½", "possible"),
        ("½1", "possible"),
        ("½½", "possible"),
        ("½/8", "possible"),
        ("1/½", "possible"),
        ("⅓", "denominator"),
        ("3\N{MINUS SIGN}3/8", "possible"),  # a difference, not a mixed number
        ("4 3/8 3/8", "possible"),
        ("11/23/2026", "possible"),
        ("11-23-2026", "possible"),
        ("4 3 8", "write 4 3/8 if that is meant"),
        ("4-3-8", "write 4 3/8 if that is meant"),
        ("4 3 8 in", "write 4 3/8 if that is meant"),
        ("4 8 8", "possible"),
        ("43/8", '"43/8" could be 4 3/8 or 43/8 = 5 3/8; write one of them'),
        ("33/8", '"33/8" could be 3 3/8 or 33/8 = 4 1/8; write one of them'),
        ("23/4", '"23/4" could be 2 3/4 or 23/4 = 5 3/4; write one of them'),
        ("17/16", '"17/16" could be 1 7/16 or 17/16 = 1 1/16; write one of them'),
        ("115/16", "could be 1 15/16, 11 5/16 or 115/16 = 7 3/16; write one of them"),
        ("-43/8 in", "could be -4 3/8 or -43/8 = -5 3/8"),
        ("\N{MINUS SIGN}43⁄8″", "could be -4 3/8 or -43/8 = -5 3/8"),
        ("9/8", "has no whole number; write 1 1/8 if that is meant"),
        ("8/8", "has no whole number; write 1 if that is meant"),
        ("10/8", "has no whole number; write 1 1/4 if that is meant"),
        ("1" * 30 + "/8", "could be " + "1" * 29 + " 1/8 or "),
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
        ("15,08", 15.08),
        ("15½ lb", 15.5),
        ("15 lb 2,5 oz", 15.15625),
        ("15 lb 2½ oz", 15.15625),
        ("15 lb½oz", 15.03125),
        ("1,234", 1.234),  # a decimal comma, never one that parts thousands
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


def test_ounces_beside_pounds_need_their_whole_number() -> None:
    words = 'the ounces of "15 lb 33/4 oz" could be 3 3/4 or 33/4 = 8 1/4; write one of them'
    with pytest.raises(InputError, match=re.escape(words)):
        units.parse_weight("15 lb 33/4 oz")


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        (55, 55.0),
        ("55", 55.0),
        ("55°", 55.0),
        ("50 °", 50.0),
        ("50º", 50.0),  # the ordinal that many keyboards offer in the degree sign's place
        ("50 deg", 50.0),
        ("50 Degrees", 50.0),
        ("-22,5°", -22.5),
        ("22 1/2°", 22.5),
        ("22½°", 22.5),
    ],
)
def test_angle_is_read(text: str | float, degrees: float) -> None:
    assert units.parse_angle(text) == degrees


@pytest.mark.parametrize("value", ["55 in", "55°5", "°", "55°°", "451/2°", "0.5 rad", True, None])
def test_angle_is_refused(value: object) -> None:
    with pytest.raises(InputError, match=r"is not an angle; possible: |could be 45 1/2 or "):
        units.parse_angle(value)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "unit", "number"),
    [
        ("3 3/8", "in", 3.375),
        ("15 lb 2 oz", "lb", 15.125),
        ("2,75", "oz", 2.75),
        ("55°", "degrees", 55.0),
        ("1,15", "g/cm3", 1.15),
        ("1.15 g/cm3", "g/cm3", 1.15),
        ("1.15 g/cm³", "g/cm3", 1.15),
        ("17.5 mph", "mph", 17.5),
        ("300 rpm", "rpm", 300.0),
        ("42 ft", "ft", 42.0),
        ("18½ boards", "boards", 18.5),
        ("0,04", "friction", 0.04),
        (0.04, "friction", 0.04),
    ],
)
def test_every_quantity_is_read_in_its_unit(text: str | float, unit: str, number: float) -> None:
    assert units.parse_quantity(text, unit) == number


@pytest.mark.parametrize("unit", ["g/cm3", "mph", "rpm", "ft", "boards", "friction"])
def test_a_quantity_is_refused_in_another_unit(unit: str) -> None:
    with pytest.raises(InputError, match='"3 mm" is not a number'):
        units.parse_quantity("3 mm", unit)


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


@given(
    st.from_regex(r"[+-]?(?:0|[1-9][0-9]{0,3})?\.[0-9]{1,5}", fullmatch=True),
    st.sampled_from(("in", "lb", "oz", "degrees", "g/cm3", "mph", "rpm", "ft", "boards")),
)
def test_a_decimal_comma_is_a_decimal_point(text: str, unit: str) -> None:
    point = units.parse_quantity(text, unit)
    assert point == float(text)
    assert units.parse_quantity(text.replace(".", ","), unit) == point


RAISED, LOWERED = (str.maketrans("0123456789", digits) for digits in ("⁰¹²³⁴⁵⁶⁷⁸⁹", "₀₁₂₃₄₅₆₇₈₉"))
CHARACTERS = {
    Fraction(unicodedata.numeric(c)): c for c in "¼½¾⅛⅜⅝⅞"
}  # what each fraction character means, as the Unicode character database has it


@st.composite
def meant_and_written(draw: st.DrawFn) -> tuple[Fraction, str]:
    """A length that someone means, and one of the ways in which people write it, slips included."""
    whole = draw(st.integers(0, 130))
    bottom = draw(st.sampled_from(units.DENOMINATORS))
    top = draw(st.integers(1, bottom - 1))
    part = Fraction(top, bottom)
    ways = [f"{top}/{bottom}", f"{top}⁄{bottom}"]
    ways.append(f"{str(top).translate(RAISED)}⁄{str(bottom).translate(LOWERED)}")
    if part in CHARACTERS:
        ways.append(CHARACTERS[part])
    written = draw(st.sampled_from(ways))
    how = draw(st.sampled_from(("mixed", "part", "top-heavy", "decimal", "whole")))
    if how == "mixed":  # the blank may get lost, or all the blanks and the slash come as blanks
        blank = draw(st.sampled_from((" ", "  ", "-", "", "\u00a0")))
        text = f"{whole}{blank}{written}"
        if draw(st.booleans()):
            text = text.replace("/", " ")
        return whole + part, text
    if how == "part":
        return part, written
    if how == "top-heavy":
        return whole + part, f"{whole * bottom + top}/{bottom}"
    if how == "whole":
        return Fraction(whole), f"{whole}"
    places = draw(st.integers(1, 4))
    tail = draw(st.integers(0, 10**places - 1))
    mark = draw(st.sampled_from((".", ",")))
    return whole + Fraction(tail, 10**places), f"{whole}{mark}{tail:0{places}d}"


@given(meant_and_written(), st.sampled_from(("", " in", '"', "″", "in", " Inches")))
def test_no_accepted_text_is_read_otherwise_than_it_was_meant(
    length: tuple[Fraction, str], unit: str
) -> None:
    meant, text = length
    try:
        read = Fraction(units.parse_length(text + unit))
    except InputError:
        return
    if read < 1 and re.fullmatch("[0-9]+[/⁄][0-9]+", text):
        return  # 11/16 can only be eleven sixteenths on a rule: 1 1/16 that lost its blank looks so
    assert float(read) == float(meant)


@given(st.integers(1, 4096), st.sampled_from(units.DENOMINATORS))
def test_every_fraction_of_one_or_more_needs_its_whole_number(top: int, bottom: int) -> None:
    text = f"{top}/{bottom}"
    if top < bottom:
        assert units.parse_length(text) == top / bottom
        return
    with pytest.raises(InputError) as caught:
        units.parse_length(text)
    whole, part = divmod(Fraction(top, bottom), 1)
    exact = f"{whole} {part}" if part else f"{whole}"
    split = [
        f"{before} {after}/{bottom}"
        for before in range(1, top // 10 + 1)
        for after in range(1, bottom)
        if f"{before}{after}" == str(top)
    ]
    words = (
        f"could be {', '.join(split)} or {text} = {exact}; write one of them."
        if split
        else f"is 1 or more and has no whole number; write {exact} if that is meant."
    )
    assert str(caught.value) == f'"{text}" {words}'


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
