"""The command `layoutkit redrill`: the record of a drilled ball, plugged and to be laid out anew."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from layoutkit.job.record import Job

SUMMARY = "start the record of a ball that is plugged and drilled again"
DESCRIPTION = (
    "Write a record of the same bowler and ball in which everything that JOB drills is an old hole "
    "with a\nplug. Old holes stay on the ball whatever the new layout. Then give the new record its "
    "layout and grip,\nand plan it. The plug's density is that of common practice, without a source: "
    "take the one in the resin\nmaker's data sheet."
)
EXAMPLE = (
    "  layoutkit redrill job.json --out again.json\n"
    "  layoutkit redrill job.json --out again.json --density 1.12"
)


def arguments(p: argparse.ArgumentParser) -> None:
    """What the command takes."""
    p.add_argument("job", metavar="JOB", help="the job record as drilled; - reads standard input")
    p.add_argument("--out", metavar="NEW.json", required=True, help="the record to write")
    p.add_argument(
        "--density", metavar="G/CM3", help="the plugs' density (default: 1.15, common practice)"
    )
    p.add_argument("--force", action="store_true", help="replace NEW.json where it exists")


def answer(job: Job, out: str, density: float | None) -> str:
    """What the command prints, after the new record was written to ``out``."""
    from layoutkit.job.store import save_job
    from layoutkit.planning.redrill import PLUG_DENSITY, redrilled

    dense = PLUG_DENSITY if density is None else density
    plugged = redrilled(job, dense)
    save_job(plugged, out)
    assert plugged.history is not None
    told = f"{len(plugged.history.holes)} old holes, plugged with {dense:g} g/cm3"
    if density is None:
        told += " (common practice; see the resin maker's data sheet)"
    return f"Wrote {out}: {told}. Give it its new layout, then run `layoutkit plan {out}`.\n"
