"""Ordinary grips for problems, placed by the library."""

from __future__ import annotations

from typing import Any, NamedTuple

from layoutkit.job.record import Grip
from layoutkit.planning.grip import Hole, place_holes
from layoutkit.practice.values import Hand


class Sizes(NamedTuple):
    """What a problem states of a grip, in inches; pitches as forward and right."""

    middle_span: float = 4.375
    ring_span: float = 4.25
    bridge: float = 0.25
    thumb: float = 1.0
    finger: float = 0.75
    bore: float | None = 31.0 / 32.0
    depth: float = 1.5
    thumb_depth: float = 2.75
    thumb_pitch: tuple[float, float] = (0.0, 0.0)
    finger_pitch: tuple[float, float] = (0.0, 0.0)


def holes_of(sizes: Sizes, radius: float, hand: Hand = "right") -> dict[str, Hole]:
    """The gripping holes by their names, in the bowler's frame."""
    grip = Grip.model_validate(grip_record(sizes))
    return {hole.name: hole for hole in place_holes(grip, radius, hand)}


def grip_record(sizes: Sizes) -> dict[str, Any]:
    """The grip as a record has it."""

    def finger(span: float) -> dict[str, Any]:
        forward, right = sizes.finger_pitch
        hole: dict[str, Any] = {"span": span, "diameter": sizes.finger, "depth": sizes.depth}
        hole["pitch"] = {"forward": forward, "right": right}
        if sizes.bore is not None:
            hole["sleeve"] = {"bore": sizes.bore, "bore_depth": sizes.depth, "density": 1.15}
        return hole

    forward, right = sizes.thumb_pitch
    return {
        "bridge": sizes.bridge,
        "middle": finger(sizes.middle_span),
        "ring": finger(sizes.ring_span),
        "thumb": {
            "diameter": sizes.thumb,
            "depth": sizes.thumb_depth,
            "pitch": {"forward": forward, "right": right},
        },
    }
