"""Reading and printing quantities as a shop writes them.

Inside the program lengths are inches, ball weights pounds, static weights ounces, densities g/cm3
and angles degrees; conversion happens here only. Needs nothing but the standard library.

Every text that is read follows one set of rules. A decimal point may be a comma: `4,375` is 4.375,
and no comma parts thousands. A fraction is `4 3/8`, `4-3/8` or `3/8`, or has a fraction character
(`4½`) or a fraction slash. A fraction of 1 or more needs its whole number: `43/8` is refused,
because it may be 4 3/8 that lost its blank. A sign stands in front, a unit behind.
"""

import math
import re
import unicodedata
from typing import Literal, NamedTuple

from layoutkit.errors import InputError

Units = Literal["fraction", "decimal", "metric"]

MM_PER_INCH = 25.4  # exact: international yard and pound agreement, 1959
OZ_PER_LB = 16.0  # avoirdupois, by definition
KG_PER_LB = 0.45359237  # exact: international yard and pound agreement, 1959
GRAM_PER_OZ = 1000.0 * KG_PER_LB / OZ_PER_LB  # 28.349523125
CM3_PER_IN3 = (MM_PER_INCH / 10.0) ** 3  # 16.387064
OZ_PER_IN3 = CM3_PER_IN3 / GRAM_PER_OZ  # ounces in a cubic inch of 1 g/cm3: 0.578037

DENOMINATORS = (2, 4, 8, 16, 32, 64)  # the divisions of a shop's rule

# how a hand is written, and which one each word means
HANDS = {
    way(word): hand
    for hand, words in (("right", ("right", "rh", "r")), ("left", ("left", "lh", "l")))
    for word in words
    for way in (str.lower, str.capitalize, str.upper)
}
LONGEST_TEXT = 40  # characters; no sensible quantity needs more
_SIGN = "(?P<sign>[+\N{MINUS SIGN}-]?)"
_FRACTION = r"(?:(?P<whole>[0-9]+)(?:\s+|-))?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
_DECIMAL = r"(?P<decimal>[0-9]+\.?|[0-9]*[.,][0-9]+)"
_UNIT = r"(?P<unit>(?:[a-z°\"][a-z0-9°\"./³]*)?)"
_NUMBER = re.compile(rf"{_SIGN}\s*(?:{_FRACTION}|{_DECIMAL})\s*{_UNIT}")
_LB_OZ = re.compile(
    rf"{_SIGN}\s*(?P<lb>[0-9]+)\s*(?:lbs?\.?|pounds?)\s*(?P<oz>[0-9][0-9 .,/-]*?)\s*"
    r"(?:oz\.?|ounces?)"
)
_NO_SLASH = re.compile(rf"{_SIGN}\s*([0-9]+)[ -]([0-9]+)[ -]([0-9]+)\s*{_UNIT}")
_RAISED, _LOWERED = "⁰¹²³⁴⁵⁶⁷⁸⁹", "₀₁₂₃₄₅₆₇₈₉"
_SMALL_DIGITS = str.maketrans(_RAISED + _LOWERED, "0123456789" * 2)
_SMALL_FRACTION = re.compile(rf"\s*([¼-¾⅐-⅞]|[{_RAISED}]+[⁄/][{_LOWERED}]+)\s*")
_LIKE = str.maketrans("⁄∕″”“º˚", '//"""°°')  # what stands for a slash, an inch, a degree


class _Kind(NamedTuple):
    """How one kind of quantity is written: how many of a unit make the program's own."""

    noun: str
    forms: str
    sizes: dict[str, float]


_OUNCE_NAMES = ("oz", "oz.", "ounce", "ounces")
_LENGTH = _Kind(
    "a length",
    'a number of inches or text such as "3.375", "3 3/8", "3 3/8 in" or "85.7 mm"',
    {
        **dict.fromkeys(("", "in", "in.", "inch", "inches", '"'), 1.0),
        "mm": MM_PER_INCH,
        "cm": MM_PER_INCH / 10.0,
    },
)
_WEIGHT = _Kind(
    "a weight",
    'a number of pounds or text such as "15.12", "15 lb 2 oz", "242 oz" or "6.86 kg"',
    {
        **dict.fromkeys(("", "lb", "lb.", "lbs", "lbs.", "pound", "pounds"), 1.0),
        **dict.fromkeys(_OUNCE_NAMES, OZ_PER_LB),
        "kg": KG_PER_LB,
        "g": 1000.0 * KG_PER_LB,
    },
)
_OUNCES = _Kind(
    "a weight",
    'a number of ounces or text such as "2.75", "2 3/4", "2.75 oz" or "78 g"',
    {**dict.fromkeys(("", *_OUNCE_NAMES), 1.0), "g": GRAM_PER_OZ},
)
_ANGLE = _Kind(
    "an angle",
    'a number of degrees or text such as "55", "55.5" or "55°"',
    dict.fromkeys(("", "°", "deg", "deg.", "degree", "degrees"), 1.0),
)
# quantities that are written in one unit only, by this unit's name
_PLAIN = {
    "g/cm3": ("g/cm3", "g/cm³", "g/cc"),
    "mph": ("mph",),
    "rpm": ("rpm",),
    "ft": ("ft", "ft.", "feet"),
    "boards": ("board", "boards"),
    "friction": (),
    "percent": ("percent",),
}
_KINDS = {
    "in": _LENGTH,
    "lb": _WEIGHT,
    "oz": _OUNCES,
    "degrees": _ANGLE,
    **{
        unit: _Kind("a number", "", dict.fromkeys(("", *names), 1.0))
        for unit, names in _PLAIN.items()
    },
}


def parse_length(value: float | str) -> float:
    """A length in inches from a number of inches or from text.

    Text is `3.375`, `3,375`, `3 3/8`, `3-3/8`, `3⅜` or `3/8`, with a sign before and with `in`, `"`,
    `mm` or `cm` after it. Denominators are 2, 4, 8, 16, 32 and 64.

    Raises InputError where the value is none of these, or where it can be read in two ways.

    >>> parse_length("3 3/8 in")
    3.375
    """
    return _parse(value, _LENGTH)


def parse_weight(value: float | str) -> float:
    """A ball's weight in pounds from a number of pounds or from text.

    Text is `15.12`, `15 lb 2 oz`, `242 oz`, `6.86 kg` or `6860 g`. Raises InputError where the
    value is none of these, or where it can be read in two ways.

    >>> parse_weight("15 lb 2 oz")
    15.125
    """
    if isinstance(value, str) and len(value) <= LONGEST_TEXT:
        match = _LB_OZ.fullmatch(_plain(value))
        beside = _NUMBER.fullmatch(match["oz"]) if match else None
        if match and beside:
            ounces = _amount(beside, value, _WEIGHT, "the ounces of ")
            if ounces >= OZ_PER_LB:
                raise InputError(
                    f"{shown(value)} is not a weight: beside pounds the ounces stay below 16."
                )
            return _signed(match, int(match["lb"]) + ounces / OZ_PER_LB)
    return _parse(value, _WEIGHT)


def parse_ounces(value: float | str) -> float:
    """A static weight in ounces from a number of ounces or from text.

    Text is `2.75`, `2 3/4`, `2.75 oz` or `78 g`, with a sign before it. Raises InputError where the
    value is none of these, or where it can be read in two ways.
    """
    return _parse(value, _OUNCES)


def parse_angle(value: float | str) -> float:
    """An angle in degrees from a number of degrees or from text.

    Text is `55`, `55.5`, `55 1/2`, `55°` or `55 deg`, with a sign before it. Raises InputError where
    the value is none of these, or where it can be read in two ways.

    >>> parse_angle("55°")
    55.0
    """
    return _parse(value, _ANGLE)


def parse_quantity(value: float | str, unit: str) -> float:
    """A quantity in ``unit`` from a number of it or from text.

    ``unit`` is in, lb, oz, degrees, g/cm3, mph, rpm, ft, boards, friction or percent. Raises
    InputError where the value is no such quantity, or where it can be read in two ways.

    >>> parse_quantity("1,15 g/cm3", "g/cm3")
    1.15
    """
    return parse_weight(value) if unit == "lb" else _parse(value, _KINDS[unit])


def as_hand(value: object) -> object:
    """`right` or `left` for one of the words of `HANDS`; any other value as it is."""
    return HANDS.get(value, value) if isinstance(value, str) else value


def fraction(inches: float, denominator: int = 64) -> str:
    """Inches as a reduced mixed fraction without a unit, rounded half away from zero.

    ``denominator`` is 1, 2, 4, 8, 16, 32 or 64. Raises InputError for another one or for a length
    that is not finite.

    >>> fraction(-3.375)
    '-3 3/8'
    """
    if denominator != 1 and denominator not in DENOMINATORS:
        raise InputError(
            f"{shown(denominator)} is not one of 1, 2, 4, 8, 16, 32, 64.", "denominator"
        )
    return _mixed(_rounded(inches, denominator), denominator)


def on_rule(units: Units) -> Units:
    """The units of a rule at the bench: fractions of an inch also where decimals are wanted elsewhere."""
    return "metric" if units == "metric" else "fraction"


def format_length(inches: float, units: Units = "fraction", denominator: int = 64) -> str:
    """A length for people: `3 3/8 in`, `3.375 in` (to 0.001) or `85.7 mm` (to 0.1).

    Rounds half away from zero. Raises InputError for a length that is not finite or a denominator
    that no rule has.
    """
    if units == "metric":
        return f"{_decimals(inches * MM_PER_INCH, 1)} mm"
    if units == "decimal":
        return f"{_decimals(inches, 3)} in"
    return f"{fraction(inches, denominator)} in"


def format_weight(pounds: float, units: Units = "fraction") -> str:
    """A ball's weight for people: `15 lb 2 oz` (to 0.1 oz), `15.12 lb` or `6.86 kg` (to 0.01).

    Raises InputError for a weight that is not finite.
    """
    if units == "metric":
        return f"{_decimals(pounds * KG_PER_LB, 2)} kg"
    if units == "decimal":
        return f"{_decimals(pounds, 2)} lb"
    tenths = _rounded(pounds * OZ_PER_LB, 10)
    whole, rest = divmod(abs(tenths), 160)
    text = f"{'-' if tenths < 0 else ''}{whole} lb"
    if rest == 0:
        return text
    ounces, tenth = divmod(rest, 10)
    return f"{text} {ounces}.{tenth} oz" if tenth else f"{text} {ounces} oz"


def format_ounces(ounces: float, units: Units = "fraction", signed: bool = False) -> str:
    """A static weight for people: `0.55 oz` (to 0.01), or `15.6 g` (to 0.1) where metric.

    Scales read decimal ounces, so `fraction` prints those too. With ``signed`` a positive weight
    carries a plus sign. Raises InputError for a weight that is not finite.
    """
    metric = units == "metric"
    text = _decimals(ounces * GRAM_PER_OZ, 1) if metric else _decimals(ounces, 2)
    plus = "+" if signed and not text.startswith("-") and text.strip("0.") else ""
    return f"{plus}{text} {'g' if metric else 'oz'}"


def shown(value: object, longest: int = 60) -> str:
    """A value as the user wrote it, in one short printable line for a message."""
    if isinstance(value, str):
        text = value if len(value) <= longest else value[: longest - 3] + "..."
        return f'"{_escaped(text, "")}"'
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):
        if value.bit_length() > 120:  # also keeps clear of the longest int that str() converts
            size = int(value.bit_length() * math.log10(2))
            return f"about {'-' if value < 0 else ''}1e{size}"
        return str(value)
    if isinstance(value, float):
        return repr(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple):
        return "a list"
    return f"a {type(value).__name__}"[:longest]


# blanks of other widths, and what joins letters of some scripts and signs: they move nothing
_HARMLESS = "\u00a0\u1680\u202f\u205f\u3000\u200c\u200d" + "".join(map(chr, range(0x2000, 0x200B)))


def printable(text: str) -> str:
    """A text of one or more lines as a terminal or a page may get it.

    What would act there and not print is shown as JSON escapes it: control characters but the line
    break, and what turns the direction of writing, as in `\\u202e`.
    """
    if text.replace("\n", "").isprintable():
        return text
    return _escaped(text, "\n" + _HARMLESS)


def _escaped(text: str, kept: str) -> str:
    return "".join(c if c.isprintable() or c in kept else _escape(c) for c in text)


def _escape(c: str) -> str:
    units = c.encode("utf-16-be", "surrogatepass").hex()
    return "".join(f"\\u{units[i : i + 4]}" for i in range(0, len(units), 4))


def _parse(value: float | str, kind: _Kind) -> float:
    """The value in the kind's own unit; raises InputError with one sentence."""
    if isinstance(value, str):
        text = _plain(value) if len(value) <= LONGEST_TEXT else ""
        match = _NUMBER.fullmatch(text)
        if match is None or match["unit"] not in kind.sizes:
            raise _refusal(value, kind, _likely(text))
        return _signed(match, _amount(match, value, kind)) / kind.sizes[match["unit"]]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise _refusal(value, kind)
    return finite(value, kind.noun)


def _refusal(value: object, kind: _Kind, likely: str = "") -> InputError:
    words = f"{shown(value)} is not {kind.noun}"
    if likely:
        return InputError(f"{words}; write {likely} if that is meant.")
    return InputError(f"{words}; possible: {kind.forms}." if kind.forms else f"{words}.")


def _plain(text: str) -> str:
    """The text in small letters and plain characters, each fraction with its blanks and slash."""

    def spelled(match: re.Match[str]) -> str:
        # NFKC spells ½ as 1, fraction slash, 2
        ratio = unicodedata.normalize("NFKC", match[1]).translate(_SMALL_DIGITS)
        before = text[: match.start()]
        return f"{' ' if before[-1:].isdecimal() else ''}{ratio} "

    spelled_out = _SMALL_FRACTION.sub(spelled, text)
    return " ".join(spelled_out.translate(_LIKE).lower().split())


def _likely(text: str) -> str:
    """The fraction that a text such as `4 3 8` was probably meant to be, empty where none is."""
    match = _NO_SLASH.fullmatch(text)
    if match is None:
        return ""
    whole, top, bottom = match[2], int(match[3]), int(match[4])
    return f"{whole} {top}/{bottom}" if bottom in DENOMINATORS and 0 < top < bottom else ""


def finite(value: float, noun: str = "a number") -> float:
    """A number as a finite float; raises InputError for infinity, NaN and a too large integer."""
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise InputError(f"{shown(value)} is not {noun}; possible: finite numbers.")
    return number


def _amount(match: re.Match[str], value: str, kind: _Kind, part: str = "") -> float:
    """The number that the text states before its unit, without its sign.

    ``part`` tells in a message which part of the text is meant.
    """
    if match["decimal"] is not None:
        return float(match["decimal"].replace(",", "."))
    whole, top, bottom = int(match["whole"] or 0), int(match["top"]), int(match["bottom"])
    if bottom not in DENOMINATORS:
        raise InputError(
            f"{shown(value)} is not {kind.noun}: "
            "the denominator of a fraction must be 2, 4, 8, 16, 32 or 64."
        )
    if top >= bottom and match["whole"] is not None:
        raise InputError(
            f"{shown(value)} is not {kind.noun}: "
            "a fraction after a whole number must be less than 1."
        )
    if top >= bottom:
        raise InputError(f"{part}{shown(value)} {_readings(match)}")
    return whole + top / bottom


def _readings(match: re.Match[str]) -> str:
    """What a fraction of 1 or more without a whole number could be, as the rest of a sentence.

    The blank after the whole number may be missing at each place that leaves a fraction below 1.
    """
    digits, bottom = match["top"], int(match["bottom"])
    sign = "-" if match["sign"] in ("-", "\N{MINUS SIGN}") else ""
    exact = sign + _mixed(int(digits), bottom)
    split = [
        f"{sign}{digits[:n]} {digits[n:]}/{bottom}"
        for n in range(1, len(digits))
        if "0" not in (digits[0], digits[n]) and int(digits[n:]) < bottom
    ]
    if not split:
        return f"is 1 or more and has no whole number; write {exact} if that is meant."
    return f"could be {', '.join(split)} or {sign}{digits}/{bottom} = {exact}; write one of them."


def _signed(match: re.Match[str], size: float) -> float:
    return size if match["sign"] in ("", "+") else -size


def _mixed(parts: int, denominator: int) -> str:
    """So many parts of 1/denominator as a reduced mixed fraction: `-3 3/8`."""
    whole, top = divmod(abs(parts), denominator)
    sign = "-" if parts < 0 else ""
    if top == 0:
        return f"{sign}{whole}"
    common = math.gcd(top, denominator)
    text = f"{top // common}/{denominator // common}"
    return f"{sign}{whole} {text}" if whole else f"{sign}{text}"


def _rounded(value: float, parts: int) -> int:
    """The value in whole parts of 1/parts, half away from zero."""
    size = abs(value) * parts
    if not math.isfinite(size):
        raise InputError(f"{shown(value)} cannot be printed; possible: finite numbers.")
    below = math.floor(size)
    whole = below + 1 if size - below >= 0.5 else below
    return -whole if value < 0.0 else whole


def _decimals(value: float, places: int) -> str:
    parts = _rounded(value, 10**places)
    whole, rest = divmod(abs(parts), 10**places)
    return f"{'-' if parts < 0 else ''}{whole}.{rest:0{places}d}"
