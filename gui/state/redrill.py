"""A job's entries once its ball is plugged: what it had drilled becomes its history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from gui.state.entries import from_record, rows_of, rows_text, value_of
from gui.state.fields import row_fields
from gui.state.undo import difference
from layoutkit.job.record import Digit, Job, dump_job
from layoutkit.planning.redrill import PLUG_DENSITY, redrilled

HOLES = "history.holes"
DENSITY = f"{HOLES}.*.plug.density"
USUAL_DENSITY = f"{PLUG_DENSITY:g}"  # g/cm3, as typed


# what may be drilled again, in words, and its holes; all of them without any
CHOICES: Mapping[str, tuple[Digit, ...]] = {
    "all holes, by another layout": (),
    "the thumb hole only": ("thumb",),
    "the middle finger's hole only": ("middle",),
    "the ring finger's hole only": ("ring",),
    "both finger holes only": ("middle", "ring"),
}


def density_of(text: str) -> float:
    """A plug's density as typed, in g/cm3; InputError in the record's own words where impossible."""
    field = next(f for f in row_fields(HOLES) if f.path == DENSITY)
    assert field.limit is not None
    return float(field.limit.parse(value_of(field, text)))


def redrilled_entries(
    entries: Mapping[str, str], job: Job, density: float, only: Sequence[Digit] = ()
) -> dict[str, str]:
    """The entries of the job that plugs what this one drilled; what stays is kept as typed.

    With ``only`` no other holes than these are plugged and drilled again. Raises InputError where the
    library refuses.
    """
    new = redrilled(job, density, only)
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
