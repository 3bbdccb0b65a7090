"""Pictures of problems: marks by over and up, and the arcs between them."""

from __future__ import annotations

from typing import Literal

from layoutkit.geometry.sphere import from_over_up, mirror
from layoutkit.geometry.vectors import Vector
from layoutkit.practice.values import Hand, Picture, PictureArc, PictureMark

MarkKind = Literal["pin", "cg", "psa", "pap", "grip_center", "hole", "foot"]
ArcKind = Literal["val", "pin_pap", "reference", "psa_pap", "pin_val", "measure", "sight"]

NAMES: dict[MarkKind, str] = {
    "pin": "pin",
    "cg": "CG",
    "psa": "PSA",
    "pap": "PAP",
    "grip_center": "grip centre",
    "hole": "hole",
    "foot": "foot",
}


def picture(
    radius: float,
    hand: Hand,
    marks: dict[MarkKind, tuple[float, float]],
    arcs: tuple[tuple[ArcKind, MarkKind, MarkKind, str], ...] = (),
    ticks: bool = False,
) -> Picture:
    """A picture of marks by over and up in inches, and of arcs between two of them with their words.

    The grip centre is always there.
    """
    places: dict[MarkKind, tuple[float, float]] = {"grip_center": (0.0, 0.0), **marks}
    points: dict[MarkKind, Vector] = {
        kind: mirror(from_over_up(*place, radius), hand) for kind, place in places.items()
    }
    return Picture(
        radius,
        hand,
        tuple(PictureMark(kind, NAMES[kind], point) for kind, point in points.items()),
        tuple(PictureArc(kind, words, points[a], points[b]) for kind, a, b, words in arcs),
        ticks,
    )
