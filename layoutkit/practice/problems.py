"""All kinds of problems, and how one is made from a kind and a seed.

The same kind and seed give the same problem on every machine. A draw is thrown away, and the next
one of the same seed taken, where no ball can have it, where it is too near a thing, or where the right
value and the wrong ones do not lie two tolerances apart.
"""

from __future__ import annotations

import zlib

from layoutkit.errors import InputError
from layoutkit.practice import catch, find, predict, read
from layoutkit.practice.values import Dice, Draft, Kind, Problem, Unfit
from layoutkit.units import shown

_MOST_DRAWS = (
    2000  # of one seed; the scarcest kind takes 12 on the average, 130 at most in 5,000 seeds
)
MOST_SEED = 10**9

KINDS: dict[str, Kind] = {
    kind.name: kind for kind in (*find.KINDS, *read.KINDS, *predict.KINDS, *catch.KINDS)
}


def problem(kind: str, seed: int) -> Problem:
    """The problem of a kind's name and a seed.

    Raises InputError for a kind that is not there, or a seed that is not from 0 to `MOST_SEED`.
    """
    if kind not in KINDS:
        raise InputError(f"{shown(kind)} is no kind of problem; possible: {', '.join(KINDS)}.")
    if not 0 <= seed <= MOST_SEED:
        raise InputError(f"{shown(seed)} is no seed; possible: 0 to {MOST_SEED}.")
    # each kind has its own sequence, so that one seed does not give all kinds like numbers
    dice = Dice(seed * 2**32 + zlib.crc32(kind.encode("ascii")))
    for _ in range(_MOST_DRAWS):
        draft = _draw(KINDS[kind], dice)
        if draft is not None and draft.fair:
            return Problem(kind, seed, KINDS[kind].group, draft)
    raise AssertionError(f"no fair problem of the kind {kind} from the seed {seed}")


def _draw(kind: Kind, dice: Dice) -> Draft | None:
    """A draft; None where the draw is one that no ball can have, or too near a thing to ask."""
    try:
        return kind.draw(dice)
    except (InputError, Unfit):
        return None
