"""Paints a projected drawing on matplotlib axes, for the work sheet and the window alike.

What lies on the far side is dashed or hollow. Marks differ by shape, lines by width and label, so
that nothing depends on colour alone. matplotlib is imported inside the functions: whoever only
computes must not pay for it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from layoutkit.geometry.vectors import Array
from layoutkit.job.rules import CLOSE, FAIL, PASS
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.drawing import Drawing, LineKind, MarkerKind, Piece, PlacedCallout, Spot

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.font_manager import FontProperties

INK = "#1c1c1c"
GREY = "#595959"  # the one grey of words and of what only helps the eye; 6:1 against the ball
BALL = "#f4f4f2"
PALE = "#b4b4b2"  # everything, while a drawing is stale

# colour and width in points; the colours stay apart in the three usual colour deficiencies
LINES: dict[LineKind, tuple[str, float]] = {
    "midline": (GREY, 0.7),
    "centreline": (GREY, 0.7),
    "val": ("#0b8a63", 1.2),
    "pin_pap": ("#17488f", 1.9),
    "reference": ("#9a4d00", 1.9),
    "psa_pap": ("#a050c8", 1.2),
    "pin_val": ("#0b8a63", 1.2),
    "angle": (INK, 0.8),
    "finished": (INK, 1.3),
    "bored": (INK, 0.7),
    "plugged": (GREY, 1.0),
    "open": (GREY, 1.3),
    "sight": (GREY, 1.0),
    "measure": ("#17488f", 2.2),
    "ring": ("#17488f", 1.3),
    "late_ring": ("#8fa9cf", 0.8),
}
# shape as matplotlib names it, colour, size in points
MARKERS: dict[MarkerKind, tuple[str, str, float]] = {
    "pin": ("o", "#17488f", 6.5),
    "cg": ("s", INK, 5.5),
    "psa": ("^", "#9a4d00", 7.5),
    "pap": ("D", "#0b8a63", 5.5),
    "grip_center": ("P", INK, 7.5),
    "hole": ("+", INK, 5.0),
    "foot": ("X", INK, 6.0),
}
_FILLS: dict[str, str] = {
    "plugged": "#e0e0de",
    "open": "#ffffff",
    "bored": "#cfcfcf",
    "finished": "#ffffff",
}
# from the bottom up: old ones as they came, new holes through them, a finished hole through its bore
_LAYERS: tuple[tuple[LineKind, ...], ...] = (("plugged", "open"), ("bored",), ("finished",))
_LIGHT = frozenset({BALL, "#ffffff", _FILLS["plugged"]})  # what stays as it is while stale
_PLUG_DASHES = (5.0, 2.0)  # in line widths
_FAR_DASHES = (3.0, 2.4)  # in line widths
_GHOST_DASHES = (1.0, 1.6)
_RING = 9.0  # points, the radius of the ring around a selected mark


@dataclass(frozen=True, slots=True)
class Style:
    """How a drawing is painted.

    Sizes in points: ``text`` of the labels, and ``scale`` by which lines and marks grow. The mark
    called ``selected`` has a ring around it. A ``stale`` drawing is pale: it is no longer true. A ``lit``
    ball, on a screen, is shaded as by a lamp, and what lies on its far side fades.
    """

    text: float = 8.0
    scale: float = 1.0
    selected: str | None = None
    stale: bool = False
    lit: bool = False


class Painting(Protocol):
    """A painted drawing, one artist on its axes."""

    drawing: Drawing
    style: Style
    under: (
        Array | None
    )  # an image (height, width, 4), lowest row first, on the ball under its lines
    fields: Sequence[tuple[int, Array]]  # outcomes by number, with the corners of their fields

    def show(self, drawing: Drawing, style: Style) -> None:
        """Paint another drawing in place of this one from the next time on."""

    def boxes(self, renderer: Any) -> list[tuple[PlacedCallout, Array]]:
        """Each label and its box (left, bottom, right, top) in pixels."""


@lru_cache(maxsize=16)
def font(bold: bool = False, size: float = 8.0) -> FontProperties:
    """The sans-serif face that comes with matplotlib, by its file: the same on every computer.

    ``size`` is in points.
    """
    provide_cache_folder()
    import matplotlib
    from matplotlib.font_manager import FontProperties

    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    path = Path(matplotlib.get_data_path(), "fonts", "ttf", name)
    return FontProperties(fname=str(path), size=size)


def draw(ax: Axes, drawing: Drawing, style: Style | None = None) -> Painting:
    """Paint a drawing on axes whose data unit is the ball's radius; returns what was added to them.

    The caller sets the limits, with equal scales on both axes.
    """
    painting: Any = _artist_type()(drawing, style or Style())
    ax.add_artist(painting)
    shown: Painting = painting
    return shown


@lru_cache(maxsize=1)
def _artist_type() -> Any:
    """The artist's class; made when first needed, for its base comes from matplotlib."""
    from matplotlib.artist import Artist

    class PaintedBall(Artist):
        """A whole drawing as one artist.

        An artist for each line and text would cost five times as long as what they paint.
        """

        def __init__(self, drawing: Drawing, style: Style) -> None:
            super().__init__()
            self.under, self.fields = None, ()
            self.show(drawing, style)

        def show(self, drawing: Drawing, style: Style) -> None:
            self.drawing, self.style = drawing, style
            self.stale = True

        def draw(self, renderer: Any) -> None:
            if self.get_visible():
                renderer.open_group("ball")
                brush = _Brush(renderer, self.get_transform(), self.style)
                brush.drawing(self.drawing, self.under, self.fields)
                renderer.close_group("ball")
                self.stale = False

        def boxes(self, renderer: Any) -> list[tuple[PlacedCallout, Array]]:
            brush = _Brush(renderer, self.get_transform(), self.style)
            return [(label, brush.box(label)) for label in self.drawing.labels]

    return PaintedBall


class _Brush:
    """Paints on one renderer; ``transform`` leads from ball radii to pixels."""

    def __init__(self, renderer: Any, transform: Any, style: Style) -> None:
        from matplotlib.transforms import IdentityTransform

        self.renderer, self.style = renderer, style
        self.transform = transform.get_affine().frozen()
        self.identity = IdentityTransform()
        self.point = renderer.points_to_pixels(1.0)
        self.font = font(size=style.text)
        self.context = renderer.new_gc()
        self.context.set_capstyle("round")
        self.context.set_joinstyle("round")
        self.context.set_snap(False)  # small marks would lose their shape

    def drawing(
        self, drawing: Drawing, under: Array | None, fields: Sequence[tuple[int, Array]]
    ) -> None:
        """Everything, from the bottom up: the near side covers the far one."""
        self.circle(0.0, 0.0, 1.0, INK, BALL, 1.2)
        if self.style.lit:
            self.image(_lamp(round(self.transform.get_matrix()[0, 0])))
        pieces = drawing.pieces
        near = [p for p in pieces if not p.far]
        # all holes lie under the lines that a driller measures
        holes = [p for kinds in _LAYERS for p in near if p.kind in kinds]
        self.lines(p for p in pieces if p.far)
        self.spots(s for s in drawing.spots if s.far)
        if under is not None:
            self.image(under)
        self.fields(fields)
        for piece in holes:
            self.lines([piece], fill=_FILLS[piece.kind] if piece.whole else None)
        self.lines(p for p in near if p.kind not in _FILLS)
        self.leaders(drawing.labels)
        self.spots(s for s in drawing.spots if not s.far)
        for label in drawing.labels:
            self.label(label)
        self.context.restore()

    def tone(self, color: str) -> tuple[float, ...]:
        """A colour, or pale while the drawing is stale."""
        return _rgb(PALE if self.style.stale and color not in _LIGHT else color)

    def pen(
        self, color: str, width: float, dashes: tuple[float, float] | None, alpha: float
    ) -> None:
        """Set colour, width in points, dashes in widths, and opacity."""
        wide = width * self.style.scale  # points: the renderer makes pixels of them
        self.context.set_alpha(alpha)
        self.context.set_foreground(self.tone(color), isRGBA=False)
        self.context.set_linewidth(wide)
        if dashes is None:
            self.context.set_dashes(0.0, None)
        else:
            self.context.set_dashes(0.0, [wide * d for d in dashes])

    def circle(
        self, x: float, y: float, radius: float, edge: str, fill: str | None, width: float
    ) -> None:
        from matplotlib.path import Path as Curve
        from matplotlib.transforms import Affine2D

        self.pen(edge, width, None, 1.0)
        place = Affine2D().scale(radius).translate(x, y) + self.transform
        face = None if fill is None else self.tone(fill)
        self.renderer.draw_path(self.context, Curve.unit_circle(), place.frozen(), face)

    def lines(self, pieces: Iterable[Piece], fill: str | None = None) -> None:
        from matplotlib.path import Path as Curve

        for piece in pieces:
            color, width = LINES[piece.kind]
            plug = _PLUG_DASHES if piece.kind == "plugged" else None
            dashes = _GHOST_DASHES if piece.ghost else _FAR_DASHES if piece.far else plug
            width *= 0.75 if piece.far else 1.0
            alpha = 1.0 if not piece.far else 0.4 if self.style.lit else 0.65
            self.pen(GREY if piece.ghost else color, width, dashes, alpha)
            face = None if fill is None or piece.ghost else self.tone(fill)
            self.renderer.draw_path(self.context, Curve(piece.points), self.transform, face)

    def image(self, image: Array) -> None:
        """An image with its middle in the middle of the ball."""
        if not hasattr(self.renderer, "buffer_rgba"):  # on paper it would be no lines
            return
        high, wide = image.shape[:2]
        x, y = self.transform.transform((0.0, 0.0))
        self.pen(INK, 1.0, None, 1.0)
        self.renderer.draw_image(self.context, round(x - wide / 2.0), round(y - high / 2.0), image)

    def fields(self, fields: Sequence[tuple[int, Array]]) -> None:
        """Small fields filled by their outcomes: black fails, grey is close, white passes."""
        from matplotlib.path import Path as Curve

        for level, color in ((FAIL, INK), (CLOSE, "#9a9a98"), (PASS, "#ffffff")):
            corners = [each for number, each in fields if number == level]
            if corners:
                points = np.concatenate([np.concatenate((c, c[:1])) for c in corners])
                codes = [Curve.MOVETO, *[Curve.LINETO] * 3, Curve.CLOSEPOLY] * len(corners)
                self.pen(color, 0.3, None, 1.0)
                self.renderer.draw_path(
                    self.context, Curve(points, codes), self.transform, self.tone(color)
                )
        if fields:
            self.pen(GREY, 0.6, None, 1.0)
            for corner in (0, 2):  # the inner and the outer edge of the ring that they make
                edge = np.array([corners[corner] for _, corners in (*fields, fields[0])])
                self.renderer.draw_path(self.context, Curve(edge), self.transform, None)

    def leaders(self, labels: Iterable[PlacedCallout]) -> None:
        from matplotlib.path import Path as Curve

        ends = np.array([end for label in labels for end in label.leader])
        if not len(ends):
            return
        self.pen(GREY, 0.45, None, 1.0)
        codes = [Curve.MOVETO, Curve.LINETO] * (len(ends) // 2)
        self.renderer.draw_path(self.context, Curve(ends, codes), self.transform, None)

    def spots(self, spots: Iterable[Spot]) -> None:
        from matplotlib.path import Path as Curve
        from matplotlib.transforms import Affine2D

        for spot in spots:
            shape, color, size = MARKERS[spot.kind]
            color = GREY if spot.ghost else color
            outline, turn, filled = _shape(shape)
            hollow = spot.far or spot.ghost or not filled
            grow = (turn + Affine2D().scale(size * self.style.scale * self.point)).frozen()
            place = Curve(np.array([[spot.x, spot.y]]))
            # a white edge keeps marks apart that overlap; it lies outside the mark, not on it
            strokes = [(color, 1.0, None if not filled else "#ffffff")]
            if not hollow:
                strokes = [("#ffffff", 1.4, color), ("#ffffff", 0.0, color)]
            for edge, width, fill in strokes:
                self.pen(edge, width, None, 0.55 if spot.far and self.style.lit else 1.0)
                face = None if fill is None else self.tone(fill)
                self.renderer.draw_markers(self.context, outline, grow, place, self.transform, face)
            if spot.name == self.style.selected and not spot.ghost:
                ring = _RING * self.style.scale * self.point / self.transform.get_matrix()[0, 0]
                self.circle(spot.x, spot.y, ring, INK, None, 1.3)

    def corner(self, label: PlacedCallout) -> tuple[float, float, float, float, float]:
        """Left, baseline, width, height and descent of a label in pixels."""
        width, _, _ = self.renderer.get_text_width_height_descent(label.text, self.font, False)
        # every line is as high as one with the tallest and the deepest letters
        _, height, descent = self.renderer.get_text_width_height_descent("lp", self.font, False)
        x, middle = self.transform.transform((label.x, label.y))
        left = x if label.side == "right" else x - width
        return left, middle - height / 2.0 + descent, width, height, descent

    def box(self, label: PlacedCallout) -> Array:
        left, base, width, height, descent = self.corner(label)
        return np.array([left, base - descent, left + width, base - descent + height])

    def label(self, label: PlacedCallout) -> None:
        from matplotlib.backends.backend_agg import RendererAgg

        self.pen(INK, 1.0, None, 1.0)
        if not isinstance(self.renderer, RendererAgg):
            left, base, _, _, _ = self.corner(label)
            _, canvas = self.renderer.get_canvas_width_height()
            y = canvas - base if self.renderer.flipy() else base
            self.renderer.draw_text(self.context, left, y, label.text, self.font, 0.0)
            return
        # text is what costs most on a screen, and the same texts come again from frame to frame
        color = self.tone(INK)
        image, base = _typeset(label.text, self.style.text, color, self.renderer.dpi)
        _, row, _ = _line_box(self.style.text, self.renderer.dpi)
        x, middle = self.transform.transform((label.x, label.y))
        left = x if label.side == "right" else x - image.shape[1] + _SPARE
        bottom = middle - row / 2.0
        self.renderer.draw_image(self.context, round(left), round(bottom) - base, image)


def line_height(size: float, dpi: float) -> float:
    """Pixels from the top of the highest to the bottom of the deepest letter.

    ``size`` in points, on a screen of ``dpi`` pixels to the inch.
    """
    return _line_box(size, dpi)[1]


@lru_cache(maxsize=512)
def text_width(text: str, size: float, dpi: float) -> float:
    """Pixels that a label of this text takes; ``size`` in points, ``dpi`` pixels to the inch."""
    face = font(size=size)
    return float(_canvas(1, 1, dpi).get_text_width_height_descent(text, face, False)[0])


@lru_cache(maxsize=4)
def _lamp(radius: int) -> Array:
    """A faint shade on a ball of so many pixels under a lamp, (2 radius, 2 radius, 4) bytes."""
    line = (np.arange(2 * radius) + 0.5) / max(radius, 1) - 1.0
    x, y = np.meshgrid(line, line)
    size = np.hypot(x, y)
    depth = np.sqrt(np.maximum(1.0 - size * size, 0.0))
    # Lambert's law for a lamp over the left shoulder
    light = np.clip((-0.45 * x + 0.55 * y + 0.70 * depth) / 0.996, 0.0, 1.0)
    shade = np.zeros((*size.shape, 4), dtype=np.uint8)
    shade[..., 3] = np.where(size < 0.995, 36.0 * (1.0 - light), 0.0)
    return shade


@lru_cache(maxsize=64)
def _rgb(color: str) -> tuple[float, ...]:
    from matplotlib.colors import to_rgb

    return tuple(to_rgb(color))


@lru_cache(maxsize=16)
def _shape(name: str) -> tuple[Any, Any, bool]:
    """A marker's outline, its own transform, and whether it can be filled."""
    from matplotlib.markers import MarkerStyle

    style = MarkerStyle(name)
    return style.get_path(), style.get_transform(), style.is_filled()


def _canvas(width: int, height: int, dpi: float) -> Any:
    from matplotlib.backends import backend_agg

    renderer: Any = backend_agg.RendererAgg  # matplotlib does not type it
    return renderer(width, height, dpi)


@lru_cache(maxsize=64)
def _line_box(size: float, dpi: float) -> tuple[float, float, float]:
    """Width, height and descent in pixels of the highest and deepest letters."""
    face = font(size=size)
    box: tuple[float, float, float]
    box = _canvas(1, 1, dpi).get_text_width_height_descent("lp", face, False)
    return box


_TOKENS = re.compile(r"[0-9]|[^0-9]+")
_SPARE = 3  # pixels around a token's line box, for what reaches beyond l and p, and for hinting


@lru_cache(maxsize=256)
def _typeset(text: str, size: float, color: tuple[float, ...], dpi: float) -> tuple[Any, int]:
    """A line of text as an image (height, width, 4), lowest row first as matplotlib paints images.

    And the number of rows below the line's own box. Put together from words and single digits, which
    are kept: while something is dragged there are new numbers in every frame, but no new digits.
    """
    tokens = _TOKENS.findall(text)
    images = [_token(token, size, color, dpi) for token in tokens]
    starts = np.cumsum([0.0, *(_advance(token, size, dpi) for token in tokens)])
    height = images[0].shape[0] if images else 1
    line = np.zeros((height, int(starts[-1]) + 2 * _SPARE + 1, 4), dtype=np.uint8)
    line[:, :, :3] = np.round(np.array(color[:3]) * 255.0)
    for image, start in zip(images, starts.tolist(), strict=False):
        left = round(start)
        part = line[:, left : left + image.shape[1], 3]
        np.maximum(part, image[:, : part.shape[1]], out=part)
    return line[:, _SPARE:], _SPARE


@lru_cache(maxsize=512)
def _advance(token: str, size: float, dpi: float) -> float:
    """Pixels by which a token moves on what follows it, blanks at its ends included."""
    return text_width(f"|{token}|", size, dpi) - text_width("||", size, dpi)


@lru_cache(maxsize=512)
def _token(token: str, size: float, color: tuple[float, ...], dpi: float) -> Any:
    """How much of each pixel a token covers, (height, width), lowest row first."""
    face = font(size=size)
    _, height, descent = _line_box(size, dpi)
    across = int(_advance(token, size, dpi)) + 2 * _SPARE + 1
    tall = int(height) + 2 * _SPARE + 1
    renderer = _canvas(across, tall, dpi)
    context = renderer.new_gc()
    context.set_foreground(color, isRGBA=False)
    renderer.draw_text(context, _SPARE, tall - _SPARE - descent, token, face, 0.0)
    return np.array(renderer.buffer_rgba())[::-1, :, 3]
