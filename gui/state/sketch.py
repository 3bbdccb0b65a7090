"""The pictures of the help: which marks and lines of a ball belong to a field, and the ball they are on.

The picture is the library's own drawing of a plan: the present one, or where that lacks a mark the first
sample's.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from gui.state.files import samples
from layoutkit.job.store import load_job
from layoutkit.output import drawing
from layoutkit.planning.plan import plan as make_plan
from layoutkit.planning.values import Plan

_ROW = 0.2  # ball radii from label to label
# what a picture shows, by the end of a field's path: kinds or names of the drawing's marks and lines
SHOWN: dict[str, tuple[str, ...]] = {
    "pap.over": ("grip_center", "midline", "centreline", "pap"),
    "pap.up": ("grip_center", "midline", "centreline", "pap"),
    "pin.over": ("grip_center", "midline", "centreline", "pin"),
    "pin.up": ("grip_center", "midline", "centreline", "pin"),
    "angle_at_pin": ("angle at the pin", "pin", "pin_pap", "reference", "pap"),
    "angle_at_pap": ("angle at the PAP", "pap", "val", "pin_pap", "pin"),
    "pin_to_pap": ("pin", "pin_pap", "pap"),
    "psa_to_pap": ("psa", "psa_pap", "pap"),
    "pin_to_val": ("pin", "pin_val", "val", "pap"),
}
# the drawing of the measuring guide, by the end of a field's path
GUIDE: dict[str, int] = {"span": 1, "bridge": 2, "pitch.forward": 3, "pitch.right": 3}


class Sketch(NamedTuple):
    """A drawing in ball radii, and the kinds or names in it that are meant; the rest is pale."""

    drawn: drawing.Drawing
    meant: frozenset[str]


def _ends(path: str, table: Mapping[str, object]) -> str:
    """The longest key of a table that a field's path ends in; empty for none."""
    found = [end for end in table if path == end or path.endswith(f".{end}")]
    return max(found, key=len, default="")


def guide_of(path: str) -> int | None:
    """The place of a field's drawing in the measuring guide, None where it has none."""
    return GUIDE.get(_ends(path, GUIDE))


def sketch_of(path: str, plan: Plan | None) -> Sketch | None:
    """The picture that belongs to a field; None where words are shorter."""
    meant = frozenset(SHOWN.get(_ends(path, SHOWN), ()))
    if not meant:
        return None
    facings: tuple[drawing.Facing, ...] = ("grip", "pin")
    for each in (plan, _example()):
        for facing in facings if each is not None else ():
            assert each is not None
            view = drawing.facing(each, facing)
            drawn = drawing.project(drawing.scene(each), view, _ROW, "")
            near: set[str] = set()
            for piece in drawn.pieces:
                near |= set() if piece.far else {piece.kind, piece.name}
            for spot in drawn.spots:
                near |= set() if spot.far else {spot.kind, spot.name}
            if meant <= near:
                return Sketch(drawn, meant)
    return None


@lru_cache(maxsize=1)
def _example() -> Plan | None:
    """The plan of the first sample, None where the samples are not installed."""
    there = samples()
    return make_plan(load_job(there[0])) if there else None
