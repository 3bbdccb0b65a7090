"""Tables of any shop: the text of a CSV file as rows of named cells.

The first line names the columns. Cells are parted by commas, semicolons or tabs, whichever that line
has most of. The text is UTF-8, UTF-16 with a byte order mark, or Windows code page 1252. A column
that nobody asks for is kept as it stands. What is wrong with one row is told beside it, and the other
rows go on; only a table whose columns cannot be told is refused as a whole.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from pathlib import Path
from typing import NamedTuple

from layoutkit.errors import InputError
from layoutkit.job.files import file_name, read_bytes, utf_text
from layoutkit.units import shown

LARGEST_TABLE = 20_000_000  # bytes
MOST_COLUMNS = 200
DELIMITERS = ",;\t"  # of equally many the first is taken

_MOST_LINES = 20  # of one quoted cell
_ENDS = re.compile(r"\r\n|\r|\n")
_PLAIN = re.compile(r"\s*[+\N{MINUS SIGN}-]?\s*(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)\s*")
_COMMA = re.compile(r"\s*[+\N{MINUS SIGN}-]?\s*[0-9]*,[0-9]+\s*(?:[a-z\"]+\s*)?", re.IGNORECASE)
_SEPARATOR = re.compile(r'"?sep=([,;\t])"?')  # a line that spreadsheets put first


class Wanted(NamedTuple):
    """What a column of the user's stands for: one of the table's own names, in a unit.

    ``unit`` is empty where the cells are in the usual one or say theirs.
    """

    name: str
    unit: str = ""


class Row(NamedTuple):
    """One row: the number of its first line, its cells as typed, and the known ones by name.

    ``cells`` has as many as the table has headings. ``values`` holds no blank cell. ``fault`` is one
    sentence about a row that could not be parted into cells, empty for any other.
    """

    line: int
    cells: tuple[str, ...]
    values: Mapping[str, str]
    fault: str = ""


class Table(NamedTuple):
    """A table's headings as typed, what each stands for, and its rows.

    ``names`` has for each heading the name that it stands for, empty for a column that is kept as it
    stands. ``comma`` says that its numbers have a decimal comma.
    """

    headings: tuple[str, ...]
    names: tuple[str, ...]
    rows: tuple[Row, ...]
    delimiter: str
    comma: bool

    @property
    def others(self) -> tuple[str, ...]:
        """The headings of the columns that are kept as they stand."""
        return tuple(h for h, n in zip(self.headings, self.names, strict=True) if not n)

    def kept(self, row: Row) -> tuple[tuple[str, str], ...]:
        """Heading and text of a row's cells that are kept as they stand."""
        named = zip(self.headings, self.names, row.cells, strict=True)
        return tuple((heading, cell) for heading, name, cell in named if not name)

    def heading(self, name: str) -> str:
        """The heading of the column that stands for a name; the name itself where none does."""
        return self.headings[self.names.index(name)] if name in self.names else name


def load_table(
    path: str | Path,
    what: str,
    possible: Sequence[str],
    columns: Mapping[str, Wanted] | None = None,
    prefix: str = "",
) -> Table:
    """The table of a file, as `read_table`; raises InputError where it cannot be read."""
    data = read_bytes(path, what, LARGEST_TABLE)
    name = file_name(path)
    return read_table(decode_table(data, name), name, possible, columns, prefix)


def decode_table(data: bytes, name: str) -> str:
    """The text of a table's bytes: UTF-16 with its mark, else UTF-8, else code page 1252.

    ``name`` stands for its file. Raises InputError for bytes that are none of these.
    """
    try:
        text = utf_text(data)
    except UnicodeDecodeError:
        try:
            text = data.decode("cp1252")
        except UnicodeDecodeError as error:
            raise InputError(
                f"{name}: is no text: byte 0x{data[error.start]:02x} at offset {error.start} belongs "
                "neither to UTF-8 nor to code page 1252."
            ) from None
    if "\0" in text:
        raise InputError(
            f"{name}: is no table of text; save it as CSV, in UTF-8 or in UTF-16 with its mark."
        )
    return text


def read_columns(texts: Iterable[str], possible: Sequence[str]) -> dict[str, Wanted]:
    """Which of the user's headings stand for which names: `Ser. no.=serial,Wt=gross kg`.

    After a name may stand a unit. A heading that has a comma is put in quotes. Headings are compared
    as `_key` writes them. Raises InputError for a text that does not name one of ``possible``, and for
    a heading or a name that is given twice.
    """
    columns: dict[str, Wanted] = {}
    for text in texts:
        for part in next(csv.reader([text], skipinitialspace=True), []):
            heading, equals, target = part.rpartition("=")
            name, _, unit = target.strip().partition(" ")
            if not equals or not heading.strip():
                raise InputError(f"{shown(part)} names no column; possible: HEADING=NAME.")
            if name not in possible:
                raise InputError(f"{shown(name)} is no name; possible: {', '.join(possible)}.")
            if _key(heading) in columns or any(each.name == name for each in columns.values()):
                raise InputError(f"{shown(part)} is given twice; give it once.")
            columns[_key(heading)] = Wanted(name, unit.strip())
    return columns


def read_table(
    text: str,
    name: str,
    possible: Sequence[str],
    columns: Mapping[str, Wanted] | None = None,
    prefix: str = "",
) -> Table:
    """The table that a text holds; ``name`` stands for its file in messages.

    ``possible`` are the names that a column may stand for: those of ``columns``, as `read_columns` makes
    them, else a heading that is such a name itself, whatever its capitals, with ``prefix`` before it
    or not. Raises InputError for a text without a heading, for two columns of one name, and for a
    heading of ``columns`` that the table has not.
    """
    lines = _ENDS.split(text)
    first = next((n for n, line in enumerate(lines) if line.strip()), None)
    if first is None:
        raise InputError(f"{name}: is empty; its first line names the columns.")
    stated = _SEPARATOR.fullmatch(lines[first].strip(" "))
    if stated:
        first = next((n for n, line in enumerate(lines) if n > first and line.strip()), first)
    delimiter = stated[1] if stated else max(DELIMITERS, key=lines[first].count)
    records = _records(lines, first, delimiter)
    _, heads, fault = next(records)
    if fault:
        raise InputError(f"{name}: line {first + 1} names no columns: it {fault}.")
    # a spreadsheet ends its lines with the delimiters of empty columns
    while heads and not heads[-1]:
        heads = heads[:-1]
    if len(heads) > MOST_COLUMNS:
        raise InputError(f"{name}: has {len(heads)} columns; at most {MOST_COLUMNS} are read.")
    wanted = _wanted(heads, name, possible, columns or {}, prefix)
    rows = tuple(_rows(records, heads, wanted))
    comma = delimiter != "," and any(
        _COMMA.fullmatch(value) for row in rows for value in row.values.values()
    )
    return Table(tuple(heads), tuple(w.name for w in wanted), rows, delimiter, comma)


def nearest_name(heading: str, possible: Sequence[str]) -> str:
    """The name that a heading probably stands for, empty where none is like it."""
    near = get_close_matches(_key(heading), [_key(name) for name in possible], 1, 0.8)
    return next((name for name in possible if near and _key(name) == near[0]), "")


def table_text(headings: Sequence[str], rows: Iterable[Sequence[str]], delimiter: str = ",") -> str:
    """Rows under their headings as the text of a CSV file, with the line ends that RFC 4180 asks for."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    writer.writerow(headings)
    writer.writerows(rows)
    return out.getvalue()


def _key(heading: str) -> str:
    """A heading as it is compared: small letters, one kind of gap."""
    return " ".join(re.sub(r"[\s_-]+", " ", heading).split()).casefold()


def _wanted(
    heads: Sequence[str],
    name: str,
    possible: Sequence[str],
    columns: Mapping[str, Wanted],
    prefix: str,
) -> list[Wanted]:
    """What each heading stands for; the name is empty for a column that is kept as it stands."""
    own = {_key(each): Wanted(each) for each in possible}
    own |= {_key(prefix + each): Wanted(each) for each in possible if prefix}
    mapped = {each.name for each in columns.values()}
    # a column that the map gives a name to takes it from the column that bears it
    own = {key: each for key, each in own.items() if each.name not in mapped}
    keys = [_key(head) for head in heads]
    for key, each in columns.items():
        if key not in keys:
            raise InputError(
                f"{name}: has no column {shown(key)}, which is to be {each.name}; its columns: "
                f"{', '.join(shown(head) for head in heads[:20])}."
            )
    wanted = [columns.get(key) or own.get(key) or Wanted("") for key in keys]
    seen: set[str] = set()
    for each in wanted:
        if each.name and each.name in seen:
            raise InputError(f"{name}: the column {each.name} is given twice; give it once.")
        seen.add(each.name)
    return wanted


def _rows(
    records: Iterator[tuple[int, list[str], str]], heads: Sequence[str], wanted: Sequence[Wanted]
) -> Iterator[Row]:
    count = len(heads)
    for line, cells, fault in records:
        if not fault and len(cells) > count and any(cells[count:]):
            fault = f"has {len(cells)} cells for {count} columns; quote a cell that has a comma"
        # a short row is a spreadsheet's: it leaves out the delimiters of empty cells at the end
        cells = cells[:count] + [""] * (count - len(cells))
        if fault:
            yield Row(line, tuple(cells), {}, fault)
            continue
        values = {
            w.name: f"{cell} {w.unit}" if w.unit and _PLAIN.fullmatch(cell) else cell
            for w, cell in zip(wanted, cells, strict=True)
            if w.name and cell
        }
        yield Row(line, tuple(cells), values)


def _records(
    lines: Sequence[str], start: int, delimiter: str
) -> Iterator[tuple[int, list[str], str]]:
    """The number of the first line, the cells, and what is wrong, of each record that is not blank.

    A quoted cell may have line breaks. One that is never closed would swallow the rows below it, so
    lines are only joined where none of them is a row by itself.
    """
    n = start
    while n < len(lines):
        cells, fault = _cells(lines[n], delimiter)
        used = 1
        if cells is None and fault == _OPEN:
            inside = max(1, (lines[start].count(delimiter) + 1) // 2)
            for more in range(1, min(_MOST_LINES, len(lines) - n)):
                if more > 1 and lines[n + more - 1].count(delimiter) >= inside:
                    break
                joined, told = _cells("\n".join(lines[n : n + more + 1]), delimiter)
                if joined is not None:
                    cells, fault, used = joined, "", more + 1
                    break
                if told != _OPEN:
                    break
        if cells is None:
            yield n + 1, [part.strip() for part in lines[n].split(delimiter)], fault
        elif any(cells):
            yield n + 1, cells, ""
        n += used


_OPEN = "is no CSV: a quotation mark is opened and not closed"


def _cells(text: str, delimiter: str) -> tuple[list[str] | None, str]:
    """The cells of a line, or None and what is wrong with it."""
    if '"' not in text:
        return [cell.strip() for cell in text.split(delimiter)], ""
    try:
        cells = next(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        open_end = "unexpected end" in str(error)
        return None, _OPEN if open_end else f"is no CSV: {error}"
    return [cell.strip() for cell in cells], ""
