"""What is said of text that breaks the rules of JSON, RFC 8259, whatever the version of Python."""

import json

import pytest

from layoutkit.job.json_errors import json_error_words


def words(text: str) -> str:
    with pytest.raises(json.JSONDecodeError) as caught:
        json.loads(text)
    return json_error_words(text, caught.value)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('{\n "a": 1,\n}', 'is not JSON: a trailing comma before "}", line 2, column 8'),
        ("[1 , ]", 'is not JSON: a trailing comma before "]", line 1, column 4'),
        ('[{"a": [1, 2\n,\t]}]', 'is not JSON: a trailing comma before "]", line 2, column 1'),
        ('{"a" 1}', 'is not JSON at line 1, column 6: a colon is missing before "1"'),
        (
            '{"a": 1 "b": 2}',
            "is not JSON at line 1, column 9: a comma is missing before a double quote",
        ),
        (
            '{"a": 1\n "b": 2}',
            "is not JSON at line 2, column 2: a comma is missing before a double quote",
        ),
        ("[1 true]", 'is not JSON at line 1, column 4: a comma is missing before "true"'),
        ("[1}", 'is not JSON at line 1, column 3: "}" is not expected here'),
        ('{"a": True}', 'is not JSON at line 1, column 7: "True" is not expected here'),
        ("{1: 2}", 'is not JSON at line 1, column 2: "1" is not expected here'),
        ("[1, .5]", 'is not JSON at line 1, column 5: ".5" is not expected here'),
        ("[1, .]", 'is not JSON at line 1, column 5: "." is not expected here'),
        ("[1,,2]", 'is not JSON at line 1, column 4: "," is not expected here'),
        ("{'a': 1}", "is not JSON at line 1, column 2: a single quote; JSON needs double quotes"),
        ("not json", 'is not JSON at line 1, column 1: "not" is not expected here'),
        ("{} {}", "is not JSON at line 1, column 4: more text after the end of the JSON"),
        ('["a\tb"]', "is not JSON at line 1, column 4: a tab inside a text"),
        ('["a\nb"]', "is not JSON at line 1, column 4: a line break inside a text"),
        ('["a\x01b"]', "is not JSON at line 1, column 4: a control character inside a text"),
        (
            r'["C:\shop"]',
            "is not JSON at line 1, column 5: a backslash that begins no escape such as "
            r"\n or \u00e9; write it twice",
        ),
        (
            r'["C:\user"]',
            "is not JSON at line 1, column 5: a backslash that begins no escape such as "
            r"\n or \u00e9; write it twice",
        ),
        ("", "ends at line 1, column 1, before the JSON is complete"),
        ('{"a": 1,\n', "ends at line 2, column 1, before the JSON is complete"),
        ('["a\\"b', "ends inside the text that starts at line 1, column 2"),
    ],
)
def test_the_fault_and_its_place_are_named(text: str, expected: str) -> None:
    assert words(text) == expected


@pytest.mark.parametrize("position", [7, 9])
def test_a_trailing_comma_is_placed_alike_by_every_python(position: int) -> None:
    """Python 3.11 reports the bracket, 3.13 the comma, each in words of its own."""
    text = '{"a": 1, }'
    error = json.JSONDecodeError("", text, position)
    assert (
        json_error_words(text, error)
        == 'is not JSON: a trailing comma before "}", line 1, column 8'
    )


def test_text_nested_as_deeply_as_python_reads_is_answered() -> None:
    deepest = None
    for depth in range(100, 100_000):
        text = "[" * depth + "?"
        try:
            json.loads(text)
        except json.JSONDecodeError as error:
            deepest = text, error
        except RecursionError:
            break
    assert deepest is not None
    assert "is not JSON at line 1, column" in json_error_words(*deepest)
