"""Records to start from: an example with every field, and the next ball of a returning bowler."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from layoutkit.job.limits import LIMITS
from layoutkit.job.record import Job, dump_job


def _finger(span: str, outward: str) -> dict[str, Any]:
    """A finger hole with a ready-cut insert.

    It is moulded, so it comes with its hole.
    The lateral pitch leans the bottom ``outward``, left or right, away from the other finger.
    """
    return {
        "span": span,
        "diameter": "3/4",
        "depth": "1 1/4",
        "pitch": {"forward": "1/16", outward: "1/8"},
        "sleeve": {
            "bore": "31/32",
            "bore_depth": "1 1/2",
            "length": "1 1/4",
            "density": 1.15,
            "ready": True,
            "name": "example insert",
        },
        "tip_angle": 180,
        "bevel": "1/16",
    }


# The example for a right hand; the date is left to fill in.
_EXAMPLE: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "title": "Example job",
    "notes": "Every value here is an invented example: replace them all before drilling. "
    "scale.arm stays null until the scale is calibrated.",
    "work": {
        "order": "EXAMPLE-1",
        "date": None,
        "driller": "Example Driller",
        "checked_by": "Example Checker",
        "ball_is": "new",
        "order_of_cuts": "fingers first",
    },
    "bowler": {
        "name": "Example Bowler",
        "hand": "right",
        "pap": {"over": "5", "up": "1/2"},
        "grip": {
            "bridge": "3/8",
            "middle": _finger("4 3/8", "left"),
            "ring": _finger("4 1/4", "right"),
            "thumb": {
                "diameter": "1",
                "depth": "2 3/4",
                "pitch": {"reverse": "1/8", "left": "1/16"},
                "sleeve": {
                    "bore": "1 3/8",
                    "bore_depth": "2 3/4",
                    "length": "2 3/4",
                    "density": 1.2,
                },
                "tip_angle": 180,
                "bevel": "1/8",
            },
        },
    },
    "ball": {
        "name": "Example Ball",
        "serial": "EXAMPLE1",
        "diameter": 8.55,
        "weight": 15.12,
        "top_weight": 2.75,
        "pin_to_cg": "3",
        "psa": {"distance": "quarter", "cg_bearing": 20},
        "rg_low": 2.52,
        "differential": 0.05,
        "intermediate_differential": 0.015,
        "shell": {"thickness": "3/4", "density": 1.2},
        "filler_density": 0.7,
    },
    "layout": {"by": "placement", "pin": {"over": "1 7/32", "up": "3 23/32"}, "bearing": 168},
    # an invented arm would pass for a calibrated one
    "scale": {"arm": None, "arm_sd": None, "allowance": 0.25},
    "tolerances": {
        "marks": "1/16",
        "spans": "1/32",
        "depths": "1/32",
        "pitches": "1/32",
        "diameter": 0.005,
        "weight": 0.01,
        "top_weight": 0.25,
        "rg": 0.005,
        "differential": 0.002,
        "densities": 0.05,
        "low_axis": "1",
        "arm": 0.1,
    },
    # an invented release would pass for the bowler's own
    "release": None,
    "lane": None,
    "rules": "usbc-2020",
}


def example_record(date: str, hand: str = "right") -> dict[str, Any]:
    """A record with every field, all values invented; ``date`` is year-month-day.

    ``hand`` is right or left; the left-handed record is the mirror image of the other. Only the
    scale's arm and its deviation, the release and the lane are null: an invented one would pass
    for a measured one.
    """
    record = deepcopy(_EXAMPLE)
    record["work"]["date"] = date
    if hand == "left":
        record["bowler"]["hand"] = "left"
        for digit in ("middle", "ring", "thumb"):
            hole = record["bowler"]["grip"][digit]
            hole["pitch"] = {_MIRRORED.get(way, way): by for way, by in hole["pitch"].items()}
        record["ball"]["psa"]["cg_bearing"] *= -1
    return record


_MIRRORED = {"left": "right", "right": "left"}


def returning_record(job: Job, date: str) -> dict[str, Any]:
    """A record for the same bowler's next ball: ball and layout say what to fill in.

    ``date`` is year-month-day. The record is JSON but no job yet: each number to come is a text that
    names it and its range, each text to come is null. Reading it is refused at the first of them.
    """
    old = dump_job(job)
    kept = ("scale", "tolerances", "release", "lane", "rules")
    return {
        "format": old["format"],
        "version": old["version"],
        "title": f"Next ball for {job.bowler.name or 'the bowler'}"[:200],
        "notes": _next_notes(job.notes),
        "work": {
            "order": None,
            "date": date,
            "driller": None if job.work is None else job.work.driller,
            "checked_by": None,
            "ball_is": "new",
        },
        "bowler": old["bowler"],
        "ball": deepcopy(_BLANK_BALL),
        "layout": _blank_layout(old["layout"]),
        **{section: old[section] for section in kept if section in old},
    }


def _next_notes(earlier: str | None) -> str:
    notes = (
        "Bowler, scale and rules are kept from an earlier job. Fill in the ball and the layout; "
        "shell and filler_density may stay null, psa is null on a ball with no PSA mark."
    )
    return f"{notes}\nNotes of the earlier job: {earlier}"[:2000] if earlier else notes


_BLANKS = {row.path: f"FILL IN: {row.meaning}, {row.range}" for row in LIMITS}
_OR_NULL = "; null where it is not known"

_BLANK_BALL: dict[str, Any] = {
    "name": None,
    "serial": None,
    "diameter": _BLANKS["ball.diameter"],
    "weight": _BLANKS["ball.weight"],
    "top_weight": _BLANKS["ball.top_weight"],
    "pin_to_cg": _BLANKS["ball.pin_to_cg"],
    "psa": {
        "distance": _BLANKS["ball.psa.distance"],
        "cg_bearing": _BLANKS["ball.psa.cg_bearing"],
    },
    "rg_low": _BLANKS["ball.rg_low"] + _OR_NULL,
    "differential": _BLANKS["ball.differential"] + _OR_NULL,
    "intermediate_differential": _BLANKS["ball.intermediate_differential"] + _OR_NULL,
    "shell": None,
    "filler_density": None,
}


def _blank_layout(layout: dict[str, Any], path: str = "layout.") -> dict[str, Any]:
    """A layout stated in the same way as the old one, with its numbers to fill in."""
    blank: dict[str, Any] = {}
    for name, value in layout.items():
        if isinstance(value, dict):
            blank[name] = _blank_layout(value, f"{path}{name}.")
        elif name == "by":
            blank[name] = value
        elif path + name in _BLANKS:
            asked = "up" if name == "down" else name  # the next pin may lie on the other side
            blank[asked] = _BLANKS[path + asked]
    return blank
