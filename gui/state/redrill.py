"""A job's entries once its ball is plugged: what it had drilled becomes its history."""

from __future__ import annotations

from collections.abc import Mapping

from gui.state.entries import from_record, rows_of, rows_text, value_of
from gui.state.fields import row_fields
from gui.state.undo import difference
from layoutkit.job.record import Job, dump_job
from layoutkit.planning.redrill import PLUG_DENSITY, redrilled

HOLES = "history.holes"
DENSITY = f"{HOLES}.*.plug.density"
USUAL_DENSITY = f"{PLUG_DENSITY:g}"  # g/cm3, as typed


def density_of(text: str) -> float:
    """A plug's density as typed, in g/cm3; InputError in the record's own words where impossible."""
    field = next(f for f in row_fields(HOLES) if f.path == DENSITY)
    assert field.limit is not None
    return float(field.limit.parse(value_of(field, text)))


def redrilled_entries(entries: Mapping[str, str], job: Job, density: float) -> dict[str, str]:
    """The entries of the job that plugs what this one drilled; what stays is kept as typed.

    Raises InputError where the library refuses.
    """
    new = redrilled(job, density)
    before, after = from_record(dump_job(job)), from_record(dump_job(new))
    changed = dict(entries)
    for path, (_, text) in difference(before, after).items():
        if text is None:
            changed.pop(path, None)
        else:
            changed[path] = text
    typed, was, now = (rows_of(HOLES, each.get(HOLES, "")) for each in (entries, before, after))
    for n, (old, new_one) in enumerate(zip(was, now, strict=False)):
        if old == new_one:
            now[n] = typed[n]
    changed[HOLES] = rows_text(now)
    return changed
