"""Type and paper of printed pages: sizes, the face's widths, lines that fit, and a PDF of figures."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal, cast

from layoutkit.output import render
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.units import printable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Paper = Literal["letter", "a4"]

PAPERS: dict[Paper, tuple[float, float]] = {"letter": (612.0, 792.0), "a4": (595.276, 841.89)}
TYPE = 8.0  # points; the smallest type on a page, and nearly all of it
LEAD = 9.9  # points from line to line, a little more than the face is high


class Face:
    """Widths in points of a page's face at the size of 1 point, and what it can print."""

    def __init__(self, bold: bool) -> None:
        provide_cache_folder()
        from matplotlib.font_manager import get_font

        self._font = get_font(str(render.font(bold).get_file()))
        self._known = self._font.get_charmap()
        self._widths: dict[str, float] = {}

    def printable(self, text: str) -> str:
        """The text in one line, with a question mark for each character that the face lacks."""
        line = printable(" ".join(text.split()))
        return "".join(c if ord(c) in self._known else "?" for c in line)

    def width(self, text: str) -> float:
        """The sum of the advances; kerning only makes a line shorter."""
        return sum(self._widths.get(c) or self._measure(c) for c in text)

    def _measure(self, c: str) -> float:
        self._font.set_size(100.0, 72.0)
        glyph = self._font.load_char(ord(c))
        self._widths[c] = glyph.linearHoriAdvance / 65536.0 / 100.0
        return self._widths[c]


@lru_cache(maxsize=2)
def typeface(bold: bool = False) -> Face:
    """The face that comes with matplotlib, upright or bold."""
    return Face(bold)


def shorten(text: str, width: float, bold: bool = False, size: float = TYPE) -> str:
    """The text, or as much of it with an ellipsis as ``width`` points hold."""
    face = typeface(bold)
    text = face.printable(text)
    if face.width(text) * size <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if face.width(text[:middle].rstrip() + "...") * size <= width:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "..."


def wrap(text: str, width: float, bold: bool = False) -> list[str]:
    """The text in lines of at most ``width`` points; a longer word is shortened."""
    face = typeface(bold)
    lines: list[str] = []
    line = ""
    for word in face.printable(text).split(" "):
        longer = f"{line} {word}" if line else word
        if face.width(longer) * TYPE <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = shorten(word, width, bold)
    return [*lines, line] if line else lines


def pdf_bytes(figures: Callable[[], Iterable[Figure]], title: str) -> bytes:
    """A PDF file's content with a page for each figure; the same figures give the same bytes.

    ``figures`` makes them, whatever the user's own matplotlib settings say.
    """
    provide_cache_folder()
    import matplotlib
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    settings: dict[Any, Any] = {
        "pdf.fonttype": 42,
        "pdf.compression": 6,
        "pdf.use14corefonts": False,
        "text.usetex": False,
    }
    with matplotlib.rc_context(settings):
        out = io.BytesIO()
        # no date: the same plan prints the same file
        with PdfPages(out, metadata={"Title": title, "CreationDate": None}) as pages:
            for figure in figures():
                FigureCanvasPdf(figure)
                _without_ligatures(figure)
                figure.savefig(pages, format="pdf")
    return out.getvalue()


def _without_ligatures(figure: Figure) -> None:
    """Leave "fi" two letters, as they are measured.

    From 3.11 on matplotlib joins them, for which it embeds a second part of each font: half again the
    time of a page, and a word that not every reader finds.
    """
    from matplotlib.text import Text

    if not hasattr(Text, "set_fontfeatures"):
        return
    for text in figure.findobj(Text):
        cast(Any, text).set_fontfeatures(("-liga", "-clig"))
