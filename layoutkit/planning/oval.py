"""An oval hole as overlapping bores: where the press sets the bit, and in which order.

Inches on the press's table, which lies square to the drill: ``along`` toward the fingers, ``across``
to the right, from the middle of the oval. Directions are degrees from along, growing to the right.
"""

from __future__ import annotations

import math
from typing import NamedTuple

MILLED = 0.1  # bits' radii from bore to bore where a slot is milled, to integrate it


class Offset(NamedTuple):
    """Where the bit stands for one bore, from the middle of the oval."""

    along: float
    across: float


def pitch_of(bit: float, scallop: float) -> float:
    """Greatest distance from bore to bore that leaves a scallop no higher than this.

    Two circles of radius r whose centres are e apart meet sqrt(r^2 - e^2/4) from the line of the
    centres, and what they leave reaches from there to r.
    """
    return 2.0 * math.sqrt(scallop * (bit - scallop))


def scallop_of(bit: float, apart: float) -> float:
    """Height of the scallop between two bores this far apart."""
    return bit / 2.0 - math.sqrt(max(bit * bit - apart * apart, 0.0)) / 2.0


def count(bit: float, length: float, scallop: float) -> int:
    """How many bores make the oval, its two ends and as many between as the scallop asks for."""
    way = length - bit
    return max(math.ceil(way / pitch_of(bit, scallop) - 1e-9) + 1, 2)


def milled_count(bit: float, length: float) -> int:
    """How many bores stand for a milled slot in a first approximation."""
    return max(math.ceil((length - bit) / (MILLED * bit / 2.0) - 1e-9) + 1, 2)


def offsets(bit: float, length: float, direction: float, bores: int) -> tuple[Offset, ...]:
    """The bores of an oval in the order of cutting, the front end first.

    Both ends come first, then each time the middle of what is left, so that every bit has ball on
    both of its sides, or on neither: it does not wander into the hole beside it.
    """
    turn = math.radians(direction)
    c, s = math.cos(turn), math.sin(turn)
    if c < 0.0:  # the same oval, measured from its front end
        c, s = -c, -s
    half = (length - bit) / 2.0
    steps = [half - i * (length - bit) / (bores - 1) for i in _order(bores)]
    return tuple(Offset(t * c + 0.0, t * s + 0.0) for t in steps)


def _order(bores: int) -> list[int]:
    """0, the last, then the middles of ever smaller parts."""
    order = [0, bores - 1]
    parts = [(0, bores - 1)]
    while parts:
        low, high = parts.pop(0)
        if high - low > 1:
            middle = (low + high) // 2
            order.append(middle)
            parts += [(low, middle), (middle, high)]
    return order


def front(bit: float, length: float, direction: float) -> float:
    """How far the oval reaches from its middle toward the fingers."""
    return bit / 2.0 + (length - bit) / 2.0 * abs(math.cos(math.radians(direction)))
