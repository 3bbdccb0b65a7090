"""A drilled ball as one to drill again: its holes plugged and told by the ball's own marks."""

from __future__ import annotations

from layoutkit.extras import place_extras
from layoutkit.grip import place_holes
from layoutkit.history import told_by_marks
from layoutkit.plan import _place_marks
from layoutkit.record import History, Job, Plug
from layoutkit.solids import Bore

PLUG_DENSITY = 1.15  # g/cm3 of cured plug resin; common practice, no source


def redrilled(job: Job, density: float) -> Job:
    """The job whose history ends with what this one drilled, plugged at ``density`` g/cm3.

    The extra holes and the weighings are left out. Raises InputError where the job cannot be planned.
    """
    radius, hand = job.ball.diameter / 2.0, job.bowler.hand
    marks, numbers = _place_marks(job, radius)
    holes = place_holes(job.bowler.grip, radius, hand)
    cut: list[tuple[str, Bore]] = []
    for hole in holes:
        cavities = hole.cavities
        for n, bore in enumerate(cavities, 1):
            cut.append((hole.name if len(cavities) == 1 else f"{hole.name} {n}", bore))
    cut += [(extra.name, extra.bore) for extra in place_extras(job.extra_holes, holes, radius)]
    old = () if job.history is None else job.history.holes
    plug = Plug(density=density)
    told = (
        told_by_marks(name, bore, marks["pin"], numbers.bearing, hand, radius, plug)
        for name, bore in cut
    )
    after = {"history": History(holes=(*old, *told)), "extra_holes": None, "weighings": None}
    return job.model_copy(update=after)
