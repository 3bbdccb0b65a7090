"""What a terminal or a page gets: nothing that acts there instead of being printed."""

import json
import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from layoutkit.commands.streams import complain, write
from layoutkit.errors import InputError
from layoutkit.units import printable, shown

# Unicode Standard Annex 9, section 2: the explicit directional formatting characters
DIRECTIONS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
CONTROLS = "".join(map(chr, (*range(32), 127, *range(128, 160))))


@given(st.text())
def test_nothing_acts_and_nothing_is_lost(text: str) -> None:
    safe = printable(text)
    for c in safe:
        assert unicodedata.category(c) not in ("Cc", "Cs", "Co", "Cn", "Zl", "Zp") or c == "\n"
        assert c not in DIRECTIONS
    if "\\" not in text and '"' not in text:
        assert json.loads('"' + safe.replace("\n", "\\n") + '"') == text


@pytest.mark.parametrize("c", DIRECTIONS + CONTROLS.replace("\n", ""))
def test_what_acts_is_shown_as_json_escapes_it(c: str) -> None:
    assert printable(f"a{c}b") == f"a\\u{ord(c):04x}b"
    assert shown(f"a{c}b") == f'"a\\u{ord(c):04x}b"'


@pytest.mark.parametrize(
    "text", ["4 3/8 in", "Žofie Demo", "דמו", "نمو\u200cنه", "5\u00a0lb", "one\ntwo", "½ +/- 1"]
)
def test_what_people_write_stays(text: str) -> None:
    assert printable(text) == text


def test_a_character_beyond_the_first_plane_is_two_escapes() -> None:
    assert printable("\U000e0041") == "\\udb40\\udc41"
    assert json.loads('"' + printable("\U000e0041") + '"') == "\U000e0041"


def test_standard_output_gets_printable_text(capsys: pytest.CaptureFixture[str]) -> None:
    write("Demo \u202eBowler\x1b[31m\nLEGAL\n")
    assert capsys.readouterr().out == "Demo \\u202eBowler\\u001b[31m\nLEGAL\n"


def test_a_complaint_is_one_short_printable_line(capsys: pytest.CaptureFixture[str]) -> None:
    complain(InputError("start \u202e\x1b]0;title\x07\n" + "x" * 5000 + " possible: this one"))
    err = capsys.readouterr().err
    assert err.startswith("layoutkit: start \\u202e\\u001b]0;title\\u0007 xxx")
    assert err.endswith("xxx possible: this one.\n")
    assert " ... " in err
    assert len(err) < 1000
    assert sys.stderr is not None
