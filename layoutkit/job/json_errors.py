"""Where and how a text breaks the rules of JSON (RFC 8259), in words.

Python's own words for this differ from version to version, and so does the place of a trailing
comma. Only the position of an error is taken from Python here.
"""

import json
import re

from layoutkit.units import shown

_WHOLE_TEXT = re.compile(r'"(?:[^"\\]|\\.)*"', re.DOTALL)
_WORD = re.compile(r"[\w.+-]{1,20}")
_CONTROL = {"\n": "a line break", "\r": "a line break", "\t": "a tab"}


def json_error_words(text: str, error: json.JSONDecodeError) -> str:
    """What is wrong in ``text``, and at which line and column: the rest of a sentence.

    ``error`` is what `json.loads` raised for it.
    """
    position = error.pos
    if position >= len(text.rstrip()):
        return f"ends at {_place(text, position)}, before the JSON is complete"
    if text[position] == '"' and _WHOLE_TEXT.match(text, position) is None:
        return f"ends inside the text that starts at {_place(text, position)}"
    comma = _trailing_comma(text, position)
    if comma is not None:
        bracket = text[comma + 1 :].lstrip()[0]
        return f"is not JSON: a trailing comma before {shown(bracket)}, {_place(text, comma)}"
    if text[position - 1 : position] == "\\":  # Python reports what follows the backslash of a \\u
        position -= 1
    return f"is not JSON at {_place(text, position)}: {_fault(text, position)}"


def _place(text: str, position: int) -> str:
    line_start = text.rfind("\n", 0, position) + 1
    return f"line {text.count(chr(10), 0, position) + 1}, column {position - line_start + 1}"


def _trailing_comma(text: str, position: int) -> int | None:
    """The place of a comma with only a closing bracket behind it.

    Some versions of Python report the comma, others the bracket.
    """
    comma = position
    if text[position] in "]}":
        before = text[:position].rstrip()
        comma = len(before) - 1
    if comma < 0 or text[comma] != ",":
        return None
    return comma if text[comma + 1 :].lstrip()[:1] in ("]", "}") else None


def _fault(text: str, position: int) -> str:
    """What is wrong with the character at ``position``, which begins no part of the JSON."""
    character = text[position]
    if character < " ":
        return f"{_CONTROL.get(character, 'a control character')} inside a text"
    if character == "\\":
        return "a backslash that begins no escape such as \\n or \\u00e9; write it twice"
    before = text[:position]
    if _first_error(before) is None:
        return "more text after the end of the JSON"
    word = _WORD.match(text, position)
    unexpected = "a double quote" if character == '"' else shown(word[0] if word else character)
    if _may_follow(before, ":"):
        return f"a colon is missing before {unexpected}"
    if _may_follow(before, ",") and character not in "]}":
        return f"a comma is missing before {unexpected}"
    if character == "'":
        return "a single quote; JSON needs double quotes"
    return f"{unexpected} is not expected here"


def _first_error(text: str) -> int | None:
    """The position of the first error in ``text``; None where it is complete JSON."""
    try:
        json.loads(text, parse_int=str, parse_float=str)
    except json.JSONDecodeError as error:
        return error.pos
    except RecursionError:  # nested as deeply as Python can read, and read from deeper here
        return 0
    return None


def _may_follow(before: str, character: str) -> bool:
    """Whether JSON that begins with ``before`` can go on with ``character``."""
    error = _first_error(before + character)
    return error is None or error > len(before)
