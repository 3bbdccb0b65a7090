"""The icon: a ball with two finger holes, a thumb hole, and the line from the pin to an axis.

One list of shapes makes all its forms: PNG for the window, SVG for Linux, ICO for Windows and ICNS for
macOS.
"""

from __future__ import annotations

import struct
import zlib

import numpy as np

SIZES = (16, 32, 48, 128)  # pixels
_BALL = (0x17, 0x48, 0x8F)
_HOLE = (0x0E, 0x22, 0x44)
_LINE = (0xF5, 0xB9, 0x42)
# middle and radius of each disc in sides of the picture, from its upper left, and its colour
_DISCS = (
    (0.50, 0.50, 0.47, _BALL),
    (0.37, 0.36, 0.075, _HOLE),
    (0.56, 0.33, 0.075, _HOLE),
    (0.44, 0.70, 0.10, _HOLE),
    (0.68, 0.20, 0.06, _LINE),
    (0.83, 0.52, 0.06, _LINE),
)
_STROKE = ((0.68, 0.20), (0.83, 0.52), 0.022)  # its ends and half its width


def png(size: int) -> bytes:
    """The icon as a PNG file of ``size`` pixels a side, clear around the ball."""
    at = (np.arange(size) + 0.5) / size
    x, y = np.meshgrid(at, at)
    color, alpha = np.zeros((size, size, 3)), np.zeros((size, size))
    (x0, y0), (x1, y1), half = _STROKE
    wide, high = x1 - x0, y1 - y0
    share = np.clip(((x - x0) * wide + (y - y0) * high) / (wide**2 + high**2), 0.0, 1.0)
    stroke = half - np.hypot(x - x0 - share * wide, y - y0 - share * high)
    shapes = [(radius - np.hypot(x - a, y - b), tone) for a, b, radius, tone in _DISCS]
    for inside, tone in (*shapes[:4], (stroke, _LINE), *shapes[4:]):
        cover = np.clip(inside * size + 0.5, 0.0, 1.0)  # of each pixel, so that edges are smooth
        color += cover[..., None] * (np.array(tone) - color)
        alpha = np.maximum(alpha, cover)
    pixels = np.dstack((color, 255.0 * alpha)).round().astype(np.uint8)
    rows = np.concatenate((np.zeros((size, 1), np.uint8), pixels.reshape(size, -1)), axis=1)
    head = struct.pack(">IIBBBBB", size, size, 8, 6, 0, 0, 0)
    parts = ((b"IHDR", head), (b"IDAT", zlib.compress(rows.tobytes())), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )


def svg() -> str:
    """The icon as an SVG file's text."""
    side = SIZES[-1]
    discs = [
        f'<circle cx="{x * side:.2f}" cy="{y * side:.2f}" r="{radius * side:.2f}" fill="{_hex(tone)}"/>'
        for x, y, radius, tone in _DISCS
    ]
    (x0, y0), (x1, y1), half = (np.array(each) * side for each in _STROKE)
    line = (
        f'<path d="M{x0:.2f} {y0:.2f}L{x1:.2f} {y1:.2f}" stroke="{_hex(_LINE)}" '
        f'stroke-width="{2.0 * half:.2f}"/>'
    )
    inner = "\n".join((*discs[:4], line, *discs[4:]))
    size = f'width="{side}" height="{side}" viewBox="0 0 {side} {side}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>\n{inner}\n</svg>\n'


def ico() -> bytes:
    """The icon as Windows reads it.

    A directory, whose entries tell the place of each picture, then the pictures as PNG files, which
    Windows reads since Vista (the format is from memory).
    """
    pictures = [png(size) for size in SIZES]
    place = 6 + 16 * len(pictures)
    directory = [struct.pack("<HHH", 0, 1, len(pictures))]
    for size, picture in zip(SIZES, pictures, strict=True):
        directory.append(struct.pack("<BBBBHHII", size, size, 0, 0, 1, 32, len(picture), place))
        place += len(picture)
    return b"".join((*directory, *pictures))


def icns() -> bytes:
    """The icon as macOS reads it: one picture of 128 pixels a side, of type ic07 (from memory)."""
    picture = png(128)
    part = b"ic07" + struct.pack(">I", len(picture) + 8) + picture
    return b"icns" + struct.pack(">I", len(part) + 8) + part


def _hex(tone: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*tone)
