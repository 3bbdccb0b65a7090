"""A job with another of the thumb sleeves that its bowler exchanges."""

from __future__ import annotations

from layoutkit.errors import InputError
from layoutkit.job.record import Job, ThumbSleeve


def with_inner(job: Job, name: str) -> Job:
    """The job with the inner sleeve of that name in its outer one, and the hole that comes with it.

    Raises InputError where the record has no such inner sleeve.
    """
    grip = job.bowler.grip
    thumb = grip.thumb
    owned = () if thumb is None else thumb.inners
    inner = next((each for each in owned if each.name == name), None)
    if thumb is None or thumb.sleeve is None or inner is None:
        there = ", ".join(each.name for each in owned)
        raise InputError(
            f'"{name}" is no inner sleeve of this record; possible: '
            f"{there or 'none, as bowler.grip.thumb.inners has none'}."
        )
    stated = {key: getattr(inner.sleeve, key) for key in inner.sleeve.model_fields_set}
    sleeve = ThumbSleeve(**{"name": name, **stated}, outer=thumb.sleeve.outer)
    changed = thumb.model_copy(update={"sleeve": sleeve, "diameter": inner.diameter})
    grip = grip.model_copy(update={"thumb": changed})
    return job.model_copy(update={"bowler": job.bowler.model_copy(update={"grip": grip})})
