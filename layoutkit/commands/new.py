"""The command `layoutkit new`: a record to fill in, of invented values or for a returning bowler."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.commands.common import FINE, Command, record_text, refuse_overwriting, today
from layoutkit.commands.job_options import read_job
from layoutkit.commands.streams import write
from layoutkit.errors import InputError
from layoutkit.units import as_hand

if TYPE_CHECKING:
    from layoutkit.job.record import Job


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("out", metavar="OUT.json", nargs="?", help="the file (default: standard output)")
    source = p.add_mutually_exclusive_group()
    source.add_argument(
        "--from",
        dest="old",
        metavar="OLD.json",
        help="keep the bowler, the scale and the rule set of this record; ball and layout are "
        "left to fill in",
    )
    source.add_argument(
        "--hand",
        type=as_hand,
        choices=("right", "left"),
        help="the example bowler's hand (default: right)",
    )
    p.add_argument("--force", action="store_true", help="replace OUT.json where it exists")


def run(args: argparse.Namespace) -> int:
    """Write the record, or print it where no file is named."""
    if args.out is not None:
        refuse_overwriting(args.out, args.old, args.force)
    elif args.force:
        raise InputError("--force: replaces a file; give OUT.json too.")
    if args.old is None:
        record = example_record(args.hand or "right")
        advice = "every value in it is an invented example: replace them all"
    else:
        record = returning_record(read_job(args.old))
        advice = "the bowler is kept; fill in the ball and the layout"
    if args.out is None:
        write(record_text(record))
        return FINE
    from layoutkit.job.files import write_atomic

    write_atomic(args.out, record_text(record).encode("utf-8"))
    write(f"Wrote {args.out}: {advice}, then run `layoutkit plan {args.out}`.\n")
    return FINE


def example_record(hand: str = "right") -> dict[str, Any]:
    """A record with every field, all values invented; ``hand`` is right or left.

    Only the scale's arm and its deviation are left null: they are measured, or unknown.
    """
    # lateral pitch that takes the bottoms of the finger holes apart
    middle, ring = ("left", "right") if hand == "right" else ("right", "left")

    def finger(span: str, lateral: str) -> dict[str, Any]:
        return {
            "span": span,
            "diameter": "3/4",
            "depth": "1 1/4",
            "pitch": {"forward": "1/16", lateral: "1/8"},
            "sleeve": {"bore": "31/32", "bore_depth": "1 1/2", "length": "1 1/4", "density": 1.15},
            "tip_angle": 180,
        }

    return {
        "format": "layoutkit-job",
        "version": 2,
        "title": "Example job",
        "notes": "Every value here is an invented example: replace them all before drilling. "
        "scale.arm stays null until the scale is calibrated.",
        "work": {
            "order": "EXAMPLE-1",
            "date": today(),
            "driller": "Example Driller",
            "checked_by": "Example Checker",
            "ball_is": "new",
        },
        "bowler": {
            "name": "Example Bowler",
            "hand": hand,
            "pap": {"over": "5", "up": "1/2"},
            "grip": {
                "bridge": "3/8",
                "middle": finger("4 3/8", middle),
                "ring": finger("4 1/4", ring),
                "thumb": {
                    "diameter": "1",
                    "depth": "2 3/4",
                    "pitch": {"reverse": "1/8", middle: "1/16"},
                    "sleeve": {
                        "bore": "1 3/8",
                        "bore_depth": "2 3/4",
                        "length": "2 3/4",
                        "density": 1.2,
                    },
                    "tip_angle": 180,
                },
            },
        },
        "ball": {
            "name": "Example Ball",
            "serial": "EXAMPLE1",
            "diameter": USUAL_DIAMETER,
            "weight": 15.12,
            "top_weight": 2.75,
            "pin_to_cg": "3",
            "psa": {"distance": "quarter", "cg_bearing": 20 if hand == "right" else -20},
            "rg_low": 2.52,
            "differential": 0.05,
            "intermediate_differential": 0.015,
            "shell": {"thickness": "3/4", "density": 1.2},
            "filler_density": 0.7,
        },
        "layout": {"by": "angles", "angle_at_pin": 50, "pin_to_pap": "4 1/2", "angle_at_pap": 35},
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
        # nor does an invented release belong to any bowler
        "release": None,
        "lane": None,
        "rules": "usbc-2020",
    }


def returning_record(job: Job) -> dict[str, Any]:
    """A record for the same bowler's next ball: ball and layout say what to fill in.

    It is JSON but no job yet: each number to come is a text that names it and its range, each text
    to come is null. Reading it is refused at the first of them.
    """
    from layoutkit.job.limits import LIMITS
    from layoutkit.job.record import dump_job
    from layoutkit.output.layout_report import LAYOUT_FIELDS

    old = dump_job(job)
    blank = {row.path: f"FILL IN: {row.meaning}, {row.range}" for row in LIMITS}
    optional = "; null where it is not known"
    who = job.bowler.name or "the bowler"
    notes = (
        "Bowler, scale and rules are kept from an earlier job. Fill in the ball and the layout; "
        "shell and filler_density may stay null, psa is null on a ball with no PSA mark."
    )
    if job.notes:
        notes = f"{notes}\nNotes of the earlier job: {job.notes}"[:2000]
    by = job.layout.by
    layout: dict[str, Any] = {"by": by}
    for field, _ in LAYOUT_FIELDS[by]:
        parent, _, leaf = field.rpartition(".")
        place = layout.setdefault(parent, {}) if parent else layout
        place[leaf] = blank[f"layout.{field}"]
    sections = ("scale", "tolerances", "release", "lane", "rules")
    kept: dict[str, Any] = {key: old[key] for key in sections if key in old}
    return {
        "format": old["format"],
        "version": old["version"],
        "title": f"Next ball for {who}"[:200],
        "notes": notes,
        "work": {
            "order": None,
            "date": today(),
            "driller": None if job.work is None else job.work.driller,
            "checked_by": None,
            "ball_is": "new",
        },
        "bowler": old["bowler"],
        "ball": {
            "name": None,
            "serial": None,
            "diameter": blank["ball.diameter"],
            "weight": blank["ball.weight"],
            "top_weight": blank["ball.top_weight"],
            "pin_to_cg": blank["ball.pin_to_cg"],
            "psa": {
                "distance": blank["ball.psa.distance"],
                "cg_bearing": blank["ball.psa.cg_bearing"],
            },
            "rg_low": blank["ball.rg_low"] + optional,
            "differential": blank["ball.differential"] + optional,
            "intermediate_differential": blank["ball.intermediate_differential"] + optional,
            "shell": None,
            "filler_density": None,
        },
        "layout": layout,
        **kept,
    }


COMMAND = Command(
    "new",
    "start a job record",
    "Start a job record: one with every field filled with invented example values, or for a "
    "returning\nbowler one that keeps the bowler and leaves ball and layout to fill in.",
    "  layoutkit new job.json --hand left\n  layoutkit new second-ball.json --from job.json",
    arguments,
    run,
)
