"""The log of a check-in as a PDF: one line a ball, in the order of check-in, to be signed.

Program version, rule set and lines to sign stand on every page.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from layoutkit import __version__
from layoutkit.bench.checkin import CheckIn
from layoutkit.job.files import write_atomic
from layoutkit.job.rules import CONFIRM
from layoutkit.output import blocks as _blocks
from layoutkit.output.blocks import BOLD, Block, Column, Page
from layoutkit.output.checkin_report import (
    HEAD,
    cells,
    cited,
    moved_words,
    not_seen_words,
    remarks,
    rules_words,
    scale_words,
    tally_words,
)
from layoutkit.output.typeset import LEAD, PAPERS, Paper, pdf_bytes, shorten, typeface
from layoutkit.units import Units

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 36.0  # points; printers do not reach the very edge
TITLE = 13.0  # points in type
INDENT = 30.0  # points before what is said of a ball
SIGNED = ("checked by", "official", "date")
DEFAULT_TITLE = "Check-in log"
_SHARES = (0.065, 0.185, 0.155, 0.125, 0.09, 0.083, 0.083, 0.083, 0.131)


def log_pages(
    result: CheckIn, title: str = "", paper: Paper = "letter", units: Units = "fraction"
) -> list[Page]:
    """The pages of the log, ready to be painted."""
    width, height = PAPERS[paper]
    full = width - 2.0 * MARGIN
    name = title or DEFAULT_TITLE
    columns = [Column(full * share) for share in _SHARES]
    head = _blocks.stack(
        [_blocks.paragraph(rules_words(result.rules), full), _blocks.table(columns, HEAD, ())], 3.0
    )
    room = height - 2.0 * MARGIN - TITLE - 6.0 - head.height - 3.0 - _FOOT
    pages: list[list[Block]] = [[]]
    left = room
    for block in _body(result, full, columns, units):
        if block.height > left and pages[-1]:
            pages.append([])
            left = room
        pages[-1].append(block)
        left -= block.height
    return [
        _page(
            result, shorten(name, full, bold=True, size=TITLE), head, those, (n, len(pages)), paper
        )
        for n, those in enumerate(pages, 1)
    ]


_FOOT = 2.0 * LEAD + _blocks.BLANK_LEAD + 10.0  # points in height


def _body(result: CheckIn, full: float, columns: Sequence[Column], units: Units) -> Iterable[Block]:
    """The balls in their order, then what holds for all of them."""
    moved, sources = {m.seen_at: m for m in result.moved}, cited(result)
    for n, v in enumerate(result.verdicts):
        row = list(cells(v, units))
        if v.outcome != "pass" or v.questions:
            row[0], row[-1] = BOLD + row[0], BOLD + row[-1]
        parts = [_blocks.table(columns, (), [row])]
        parts += [
            _indented(_blocks.paragraph(words, full - INDENT, "-"))
            for words in remarks(v, result.rules, units, sources)
        ]
        if n in moved:
            words = f"{moved_words(moved[n], result)}."
            parts.append(_indented(_blocks.paragraph(words, full - INDENT, "!", bold=True)))
        yield _shaded(_blocks.stack(parts, 0.0), full, n)
    last = [
        _blocks.paragraph(words, full, bold=bold)
        for words, bold in (
            (tally_words(result), True),
            (scale_words(result.scale), False),
            (not_seen_words(result), False),
            *((f"[{number}] {source}", False) for number, source in enumerate(sources, 1)),
            (f"{CONFIRM} The event's officials have the last word.", False),
        )
        if words
    ]
    yield _blocks.stack([Block(4.0, lambda page, x, top: None), *last], 2.0)


def _indented(block: Block) -> Block:
    return Block(block.height, lambda page, x, top: block.paint(page, x + INDENT, top))


def _shaded(block: Block, width: float, n: int) -> Block:
    """Every second ball on a band, so that the eye keeps to its line."""

    def paint(page: Page, x: float, top: float) -> None:
        if n % 2:
            page.bands.append((x, top - block.height - 0.3, width, block.height))
        block.paint(page, x, top)

    return Block(block.height, paint)


def _page(
    result: CheckIn,
    title: str,
    head: Block,
    body: Sequence[Block],
    number: tuple[int, int],
    paper: Paper,
) -> Page:
    width, height = PAPERS[paper]
    full = width - 2.0 * MARGIN
    page = Page()
    top = height - MARGIN
    page.text(MARGIN, top - TITLE + 2.0, title, bold=True, size=TITLE)
    top -= TITLE + 6.0
    head.paint(page, MARGIN, top)
    top -= head.height + 3.0
    for block in body:
        block.paint(page, MARGIN, top)
        top -= block.height
    foot = MARGIN + _FOOT - 6.0
    page.rule(MARGIN, width - MARGIN, foot)
    _blocks.initials(SIGNED, full).paint(page, MARGIN, foot - 4.0)
    base = MARGIN + 1.0
    page.text(
        MARGIN, base, f"layoutkit {__version__}, rule set {typeface().printable(result.rules.name)}"
    )
    page.text(width - MARGIN, base, f"page {number[0]} of {number[1]}", align="right")
    return page


def log_bytes(
    result: CheckIn, title: str = "", paper: Paper = "letter", units: Units = "fraction"
) -> bytes:
    """The log as a PDF file's content; the same balls give the same bytes."""
    width, height = PAPERS[paper]
    pages = log_pages(result, title, paper, units)

    def figures() -> Iterable[Figure]:
        return (_blocks.figure(page, width, height) for page in pages)

    return pdf_bytes(figures, typeface().printable(title) or DEFAULT_TITLE)


def write_log(
    result: CheckIn,
    path: str | Path,
    title: str = "",
    paper: Paper = "letter",
    units: Units = "fraction",
) -> None:
    """Write the log to a PDF file, whole or not at all; InputError where that cannot be."""
    write_atomic(path, log_bytes(result, title, paper, units))
