"""Numbers as a problem states them, and sides of the ball as people call them."""

from __future__ import annotations

from layoutkit.practice.values import Hand
from layoutkit.units import fraction


def inches(length: float, parts: int = 16) -> str:
    """A length as on a rule: `4 3/8 in`."""
    return f"{fraction(length, parts)} in"


def exact(length: float) -> str:
    """A computed length in a working: `4.705 in`."""
    return f"{length:.3f} in"


def degrees(angle: float) -> str:
    """An angle in a working: `42.5 degrees`."""
    return f"{angle:.1f} degrees"


def ounces(weight: float) -> str:
    """A weight in a working: `1.03 oz`."""
    return f"{weight:.2f} oz"


def ball(diameter: float) -> str:
    """A ball by its diameter."""
    return f"a ball of {diameter:.3f} in"


def way_up(up: float) -> str:
    """A length along a centreline, with its side: `3 in up`, `1/2 in down`, `0 up`."""
    return f"{inches(abs(up))} {'down' if up < 0.0 else 'up'}"


def side_of(hand: Hand) -> float:
    """+1 where the positive side is right, seen from outside with the fingers up; else -1."""
    return 1.0 if hand == "right" else -1.0
