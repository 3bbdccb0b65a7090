"""The frozen values of practice: what is asked, what is right, and which slip leads to what.

Lengths are inches on the ball, weights ounces, angles degrees. A problem's answer is a number, a
place, or one of some choices. A place is two signed lengths, such as right and up.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Literal, NamedTuple, TypeVar

from layoutkit.geometry.sphere import arc, from_over_up
from layoutkit.geometry.vectors import Vector

Group = Literal["find", "read", "predict", "catch"]
Hand = Literal["right", "left"]
Unit = Literal["in", "degrees", "oz", ""]
Value = tuple[float, ...] | str  # one number, two of a place, or the chosen words

GROUPS: dict[Group, str] = {
    "find": "find a mark or a measure",
    "read": "read a ball, a label or a track",
    "predict": "predict what a change does",
    "catch": "catch the slip",
}
APART = 2.0  # tolerances that part the right value and each wrong one, pair by pair
_SAME = 1e-9  # of rounding, so that two values exactly so far apart count alike on every machine

T = TypeVar("T")


class Unfit(Exception):
    """A draw that is too near a thing to ask; the next one is taken."""


class Slip(NamedTuple):
    """A usual wrong way: its short name, the end of "this is what you get if ...", its value."""

    name: str
    words: str
    value: Value


@dataclass(frozen=True, slots=True)
class Asked:
    """What kind of answer is asked.

    ``tolerance`` is in ``unit``; ``plus`` says what a positive number means, and is empty where the
    answer has no sign. ``around`` numbers go round a circle of 360. ``sides`` are the four words of a
    place: positive and negative first, then second length. ``radius`` is that of the ball on which
    two places lie apart, None on a plane.
    """

    unit: Unit = "in"
    tolerance: float = 1.0 / 16.0
    plus: str = ""
    around: bool = False
    choices: tuple[str, ...] = ()
    sides: tuple[str, str, str, str] | None = None
    radius: float | None = None

    def distance(self, one: Value, other: Value) -> float:
        """How far two answers lie apart, in the unit; 0 or infinity between choices."""
        if isinstance(one, str) or isinstance(other, str):
            return 0.0 if one == other else math.inf
        if len(one) == 2:
            if self.radius is None:
                return math.dist(one, other)
            a, b = (from_over_up(over, up, self.radius) for over, up in (one, other))
            return float(arc(a, b, self.radius))
        away = abs(one[0] - other[0])
        return min(away % 360.0, 360.0 - away % 360.0) if self.around else away


class PictureMark(NamedTuple):
    """A mark of a picture: its kind and words as on the ball, inches in the grip frame."""

    kind: Literal["pin", "cg", "psa", "pap", "grip_center", "hole", "foot"]
    words: str
    xyz: Vector


class PictureArc(NamedTuple):
    """A great circle's arc of a picture, between two places in inches in the grip frame."""

    kind: Literal["val", "pin_pap", "reference", "psa_pap", "pin_val", "measure", "sight"]
    words: str
    start: Vector
    end: Vector


@dataclass(frozen=True, slots=True)
class Picture:
    """What is drawn on a ball: marks and arcs; with ``ticks`` every inch on midline and centreline."""

    radius: float
    hand: Hand
    marks: tuple[PictureMark, ...]
    arcs: tuple[PictureArc, ...] = ()
    ticks: bool = False


@dataclass(frozen=True, slots=True)
class Draft:
    """A problem's content before it has a seed.

    ``title`` heads it. ``steps`` are the worked answer; ``rule`` is the rule that was used, one
    sentence. ``shown`` goes with the question, ``drawn`` with the worked answer.
    """

    title: str
    question: str
    asked: Asked
    right: Value
    slips: tuple[Slip, ...]
    steps: tuple[str, ...]
    rule: str
    shown: Picture | None = None
    drawn: Picture | None = None

    @property
    def fair(self) -> bool:
        """Whether the right value and all wrong ones lie two tolerances apart, pair by pair."""
        values = [self.right, *(slip.value for slip in self.slips)]
        least = APART * self.asked.tolerance - _SAME
        pairs = ((a, b) for i, a in enumerate(values) for b in values[:i])
        return all(self.asked.distance(a, b) >= least for a, b in pairs)


@dataclass(frozen=True, slots=True)
class Problem:
    """A draft with the kind and the seed that make it again."""

    kind: str
    seed: int
    group: Group
    draft: Draft


class Dice:
    """Draws from an integer seed: the same ones on every machine and version of Python.

    Only the generator's `random()` is used, whose sequence Python promises to keep.
    """

    def __init__(self, seed: int) -> None:
        self._random = Random(seed).random

    def below(self, count: int) -> int:
        """One of the numbers 0 to ``count`` - 1."""
        return int(self._random() * count)

    def one(self, of: tuple[T, ...]) -> T:
        """One of some values."""
        return of[self.below(len(of))]

    def grid(self, low: float, high: float, parts: int = 16) -> float:
        """A number from low to high, both included, in steps of 1 over ``parts``."""
        first, last = math.ceil(low * parts), math.floor(high * parts)
        return (first + self.below(last - first + 1)) / parts

    def hand(self) -> Hand:
        """A bowler's hand."""
        return "left" if self.below(2) else "right"

    def diameter(self) -> float:
        """A ball's diameter, inches."""
        return self.one((8.500, 8.530, 8.550, 8.570, 8.590))


class Kind(NamedTuple):
    """A kind of problem: its name, its group, what it is about, and what draws one.

    ``minutes`` is how long it takes a trainee.
    """

    name: str
    group: Group
    about: str
    minutes: float
    draw: Callable[[Dice], Draft]
