"""The ball while the record is being filled in: what is known is drawn, the rest stays dotted.

A part that is not known yet takes a usual figure's place, so that it can be shown dotted.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.output.drawing import Scene, scene
from layoutkit.planning.plan import plan
from layoutkit.units import Units

# of no bowler: what an unfinished record's parts are drawn from, dotted and without words
_FINGER = {"span": 4.5, "diameter": 0.8, "depth": 1.25}
_USUAL: dict[str, Any] = {
    "pap": {"over": 5.0, "up": 0.5},
    "grip": {
        "bridge": 0.25,
        "middle": _FINGER,
        "ring": _FINGER,
        "thumb": {"diameter": 1.0, "depth": 2.5},
    },
    "ball": {"name": "", "diameter": 8.55, "weight": 15.0, "psa": {"distance": 6.75}},
    "layout": {"by": "placement", "pin": {"over": 1.0, "up": 3.0}, "bearing": 160.0},
}
_PLACES = {"pap": "bowler.pap", "grip": "bowler.grip", "ball": "ball", "layout": "layout"}
_HOLES = ("hole", "finished", "bored", "sight")
_NEEDS = {
    **dict.fromkeys(_HOLES, ("grip",)),
    "pap": ("pap",),
    "val": ("pap",),
    "pin": ("layout",),
    "midline": (),
    "centreline": (),
    "grip_center": (),
    "pin_pap": ("layout", "pap"),
    "pin_val": ("layout", "pap"),
}
_DOTTED = (*_HOLES, "pap", "val", "pin")  # what is there on any ball


def blank_scene(record: Mapping[str, Any], problems: Collection[str], units: Units) -> Scene:
    """The scene of an unfinished record whose fields at the paths ``problems`` are wrong or missing."""
    bowler = record.get("bowler", {})
    stated = {
        "pap": bowler.get("pap"), "grip": bowler.get("grip"),
        "ball": record.get("ball"), "layout": record.get("layout"),
    }  # fmt: skip
    known = {
        name
        for name, place in _PLACES.items()
        if stated[name] and not any(f"{path}.".startswith(f"{place}.") for path in problems)
    }
    by = (stated["layout"] or {}).get("by")
    if by != "placement" and not {"pap", "ball"} <= known:
        known.discard("layout")
    hand = bowler.get("hand", "right")
    for left in (known, known - {"layout"}, known & {"pap"}, set()):
        parts = {name: stated[name] if name in left else _USUAL[name] for name in _PLACES}
        if "layout" in left and "ball" not in left and by == "placement":
            # the bearing is that of the ball's reference mark, which comes later
            parts["layout"] = {"bearing": _USUAL["layout"]["bearing"]} | dict(parts["layout"])
        try:
            made = plan(
                parse_job(
                    {
                        "format": "layoutkit-job",
                        "version": 2,
                        "bowler": {
                            "name": "",
                            "hand": hand,
                            "pap": parts["pap"],
                            "grip": parts["grip"],
                        },
                        "ball": parts["ball"],
                        "layout": parts["layout"],
                        "rules": "usbc-2020",
                    }
                )
            )
        except InputError:
            continue  # parts that do not go together, of which the problems tell
        return _partly(scene(made, units), left)
    return Scene(1.0, "right", (), (), ())


def _partly(whole: Scene, known: Collection[str]) -> Scene:
    """The scene with what is not known dotted, or left out where that is not on every ball."""

    def told(kind: str) -> bool:
        return all(part in known for part in _NEEDS.get(kind, tuple(_PLACES)))

    return replace(
        whole,
        lines=tuple(
            each if told(each.kind) else replace(each, ghost=True)
            for each in whole.lines
            if told(each.kind) or each.kind in _DOTTED
        ),
        markers=tuple(
            each if told(each.kind) else replace(each, ghost=True)
            for each in whole.markers
            if told(each.kind) or each.kind in _DOTTED
        ),
        callouts=tuple(each for each in whole.callouts if told(each.kind)),
    )
