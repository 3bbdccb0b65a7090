"""A drilled ball as one to drill again: its holes plugged and told by the ball's own marks."""

from __future__ import annotations

from layoutkit.errors import InputError
from layoutkit.extras import place_extras
from layoutkit.given import psa_arc
from layoutkit.grip import place_holes
from layoutkit.history import told_by_marks
from layoutkit.layout import PAP, stated, to_placement
from layoutkit.record import MOST_OLD_HOLES, History, Job, Plug
from layoutkit.sphere import from_over_up

PLUG_DENSITY = 1.15  # g/cm3 of cured plug resin; common practice, no source


def redrilled(job: Job, density: float) -> Job:
    """The job whose history ends with what this one drilled, plugged at ``density`` g/cm3.

    The extra holes and the weighings are left out. Raises InputError where the job cannot be laid out
    or the ball would have more old holes than a record can hold.
    """
    radius, hand, pap = job.ball.diameter / 2.0, job.bowler.hand, job.bowler.pap
    placed = to_placement(stated(job.layout), psa_arc(job), PAP(pap.over, pap.up_net), radius)
    pin = from_over_up(float(placed.pin_over), float(placed.pin_up), radius)
    reference = float(placed.bearing)
    holes = place_holes(job.bowler.grip, radius, hand)
    cuts = [(f"old {hole.name}", bore) for hole in holes for bore in hole.cavities]
    cuts += [(f"old {e.name}", e.bore) for e in place_extras(job.extra_holes, holes, radius)]
    plug = Plug(density=density)
    old = () if job.history is None else job.history.holes
    if len(old) + len(cuts) > MOST_OLD_HOLES:
        raise InputError(
            f"history.holes: the ball would have {len(old) + len(cuts)} old holes; possible: up to "
            f"{MOST_OLD_HOLES}.",
            "history.holes",
        )
    told = (told_by_marks(*cut, pin, reference, hand, radius, plug) for cut in cuts)
    after = {"history": History(holes=(*old, *told)), "extra_holes": None, "weighings": None}
    return job.model_copy(update=after)
