"""The program's icon, drawn by the program: a ball with its holes, the pin, the PAP and their arc.

One list of shapes makes all its forms: SVG for Linux, ICO for Windows, ICNS for macOS.
"""

from __future__ import annotations

import io
import struct
from typing import NamedTuple

SIZE = 256  # pixels of the square


class _Disc(NamedTuple):
    """A filled circle, in pixels from the upper left corner."""

    x: float
    y: float
    radius: float
    fill: str
    edge: str = "none"
    width: float = 0.0


_BALL = _Disc(128, 128, 118, "#2f5f9e", "#17304f", 8)
_ARC = ((150.0, 52.0), (205.0, 70.0), (214.0, 128.0))  # from the pin, its corner, to the PAP
_ARC_LOOK = ("#f4c95d", 9.0)
_MARKS = (
    _Disc(103, 82, 17, "#101c2c"),  # middle finger
    _Disc(150, 96, 17, "#101c2c"),  # ring finger
    _Disc(124, 176, 23, "#101c2c"),  # thumb
    _Disc(150, 52, 12, "#ffffff", "#17304f", 4),  # pin
    _Disc(214, 128, 12, "#f4c95d", "#17304f", 4),  # PAP
)


def svg() -> str:
    """The icon as an SVG file's text."""
    (x, y), corner, end = _ARC
    color, width = _ARC_LOOK
    arc = (
        f'<path d="M{x:g} {y:g}Q{corner[0]:g} {corner[1]:g} {end[0]:g} {end[1]:g}" fill="none" '
        f'stroke="{color}" stroke-width="{width:g}"/>'
    )
    discs = [
        f'<circle cx="{d.x:g}" cy="{d.y:g}" r="{d.radius:g}" fill="{d.fill}" stroke="{d.edge}" '
        f'stroke-width="{d.width:g}"/>'
        for d in (_BALL, *_MARKS)
    ]
    inner = "\n".join((discs[0], arc, *discs[1:]))
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {SIZE} {SIZE}">'
    return f"{head}\n{inner}\n</svg>\n"


def png() -> bytes:
    """The icon as a PNG of 256 x 256 pixels."""
    from layoutkit.output.cache_folder import provide_cache_folder

    provide_cache_folder()
    from matplotlib.figure import Figure
    from matplotlib.patches import Circle, PathPatch
    from matplotlib.path import Path

    made = Figure(figsize=(1.0, 1.0), dpi=SIZE)
    axes = made.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_axis_off()
    axes.set_xlim(0, SIZE)
    axes.set_ylim(SIZE, 0)
    point = 72.0 / SIZE  # a pixel in points
    arc = Path(list(_ARC), [Path.MOVETO, Path.CURVE3, Path.CURVE3])
    color, width = _ARC_LOOK
    axes.add_patch(PathPatch(arc, fill=False, edgecolor=color, linewidth=width * point, zorder=2))
    for order, disc in ((1, _BALL), *((3, each) for each in _MARKS)):
        axes.add_patch(
            Circle(
                (disc.x, disc.y),
                disc.radius,
                facecolor=disc.fill,
                edgecolor=disc.edge,
                linewidth=disc.width * point,
                zorder=order,
            )
        )
    data = io.BytesIO()
    made.savefig(data, format="png", transparent=True, metadata={"Software": None})
    return data.getvalue()


def ico(picture: bytes) -> bytes:
    """A PNG of 256 x 256 pixels as the only picture of a Windows icon.

    A directory of one entry, in which 0 stands for 256 pixels, then the PNG itself, which Windows reads
    since Vista (the format is from memory).
    """
    header = struct.pack("<HHH", 0, 1, 1)
    entry = struct.pack("<BBBBHHII", 0, 0, 0, 0, 1, 32, len(picture), 22)
    return header + entry + picture


def icns(picture: bytes) -> bytes:
    """A PNG of 256 x 256 pixels as the only picture of a macOS icon, of type ic08 (from memory)."""
    part = b"ic08" + struct.pack(">I", len(picture) + 8) + picture
    return b"icns" + struct.pack(">I", len(part) + 8) + part
