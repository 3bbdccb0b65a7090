"""The reader of any shop's table: delimiters, encodings, headings, and rows that are no rows."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from layoutkit.errors import InputError
from layoutkit.job.tables import (
    Wanted,
    decode_table,
    nearest_name,
    read_columns,
    read_table,
    table_text,
)

NAMES = ("number", "serial", "gross", "psa.distance")


def read(text: str, columns: str = "") -> list[dict[str, str]]:
    wanted = read_columns([columns] if columns else [], NAMES)
    return [dict(row.values) for row in read_table(text, "x.csv", NAMES, wanted).rows]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_the_delimiter_and_the_line_end_are_the_files(delimiter: str, end: str) -> None:
    lines = ["Number,GROSS,Hall", "", "1,15.1,North", "2,14.9,"]
    text = end.join(line.replace(",", delimiter) for line in lines)
    table = read_table(text, "x.csv", NAMES)
    assert [dict(row.values) for row in table.rows] == [
        {"number": "1", "gross": "15.1"}, {"number": "2", "gross": "14.9"},
    ]  # fmt: skip
    assert [row.line for row in table.rows] == [3, 4]
    assert table.others == ("Hall",)
    assert [table.kept(row) for row in table.rows] == [(("Hall", "North"),), (("Hall", ""),)]


@pytest.mark.parametrize(
    "data",
    [
        "Größe;gross\n½ Ball;15,1\n".encode(),
        "\ufeffGröße;gross\n½ Ball;15,1\n".encode(),
        "\ufeffGröße;gross\n½ Ball;15,1\n".encode("utf-16-le"),
        "\ufeffGröße;gross\n½ Ball;15,1\n".encode("utf-16-be"),
        "Größe;gross\n½ Ball;15,1\n".encode("cp1252"),
        "sep=;\nGröße;gross\n½ Ball;15,1\n".encode(),
    ],
)
def test_every_usual_encoding_gives_the_same_rows(data: bytes) -> None:
    table = read_table(decode_table(data, "x.csv"), "x.csv", NAMES)
    assert table.headings == ("Größe", "gross")
    assert [(row.cells, dict(row.values)) for row in table.rows] == [
        (("½ Ball", "15,1"), {"gross": "15,1"})
    ]
    assert table.comma


@pytest.mark.parametrize("data", [b"a,b\n\x811,\x8d", "a,b\n1,2\n".encode("utf-16-le")])
def test_what_is_no_text_is_refused(data: bytes) -> None:
    with pytest.raises(InputError, match=r"x.csv: is no t"):
        decode_table(data, "x.csv")


def test_a_map_names_the_users_headings_and_their_units() -> None:
    columns = 'Ser. no.=serial,Wt=gross kg,"No, of ball"=number'
    assert read_columns([columns], NAMES) == {
        "ser. no.": Wanted("serial"),
        "wt": Wanted("gross", "kg"),
        "no, of ball": Wanted("number"),
    }
    text = 'wt,SER.  NO.,"no, of ball",gross\n6.84,A1,7,x\n15 lb,B2,8,y\n'
    assert read(text, columns) == [
        {"gross": "6.84 kg", "serial": "A1", "number": "7"},
        {"gross": "15 lb", "serial": "B2", "number": "8"},
    ]


@pytest.mark.parametrize(
    ("columns", "words"),
    [
        ("serial", "names no column"),
        ("=serial", "names no column"),
        ("Wt=weight", "possible: number, serial, gross"),
        ("Wt=gross,wt=serial", "twice"),
        ("Wt=gross,Weight=gross", "twice"),
        ("Mass=gross", 'has no column "mass"'),
    ],
)
def test_a_map_that_cannot_be_is_refused(columns: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read("Wt,Weight\n1,2\n", columns)


@pytest.mark.parametrize(
    ("text", "words"),
    [("", "is empty"), (" \n\n", "is empty"), ("gross,Gross\n1,2\n", "given twice"),
     ('a,"b\n1,2\n', "line 1 names no columns")],
)  # fmt: skip
def test_a_table_whose_columns_cannot_be_told_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_table(text, "x.csv", NAMES)


def test_a_row_that_cannot_be_parted_is_named_and_the_others_go_on() -> None:
    text = (
        "number,serial,gross\n"
        '1,"A ""1""",15\n'
        '2,"never closed,15\n'
        "3,C3,15\n"
        "4,14,9,5\n"  # a decimal comma among commas
        '5,"E"5,15\n'
        "6,F6\n"
        '7,"G\n7",15,,\n'
        "8,H8,15\n"
    )
    rows = read_table(text, "x.csv", NAMES).rows
    assert [(row.line, row.values.get("number", "")) for row in rows] == [
        (2, "1"), (3, ""), (4, "3"), (5, ""), (6, ""), (7, "6"), (8, "7"), (10, "8"),
    ]  # fmt: skip
    assert [row.line for row in rows if row.fault] == [3, 5, 6]
    assert "opened and not closed" in rows[1].fault
    assert "4 cells for 3 columns" in rows[3].fault
    assert rows[6].values["serial"] == "G\n7"


_CELLS = st.text(st.characters(codec="cp1252", exclude_characters="\r\0"), max_size=12).map(
    lambda text: " ".join(text.split())
)


@settings(max_examples=25)
@given(st.lists(st.tuples(_CELLS, _CELLS, _CELLS), max_size=8), st.sampled_from(",;\t"))
def test_what_is_written_is_read_again(rows: list[tuple[str, ...]], delimiter: str) -> None:
    text = table_text(("number", "x", "y"), rows, delimiter)
    filled = [row for row in rows if any(row)]
    assert [row.cells for row in read_table(text, "x.csv", NAMES).rows] == filled
    # the standard library's own reader agrees
    assert list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter))[1:] == [
        list(row) for row in rows
    ]


def test_a_misspelt_name_is_recognised() -> None:
    assert nearest_name("Seriall", NAMES) == "serial"
    assert nearest_name("price", NAMES) == ""
