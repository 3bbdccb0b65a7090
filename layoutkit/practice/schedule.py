"""What a trainee knows, from the answers alone, and what comes back on which day.

The boxes of flash cards: a kind that is answered well moves to the next box and comes back after 1, 2,
4, 8 and then 16 days; one that is not goes back to before the first box and comes the next day. An
answer before a kind is due moves it to no later box, but a bad one does send it back.
"""

from __future__ import annotations

import zlib
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Literal, NamedTuple

from layoutkit.practice.marking import Score
from layoutkit.practice.values import Kind

Standing = Literal["sure", "learning", "shaky"]

DAYS = (1, 2, 4, 8, 16)  # until a kind comes back, by its box
MINUTES = 15.0  # of a day's set
SURE_BOX = 3  # the first box in which a kind counts as sure
LOOK_BACK = 5  # answers on which the standing rests
REPEATED = 2  # times from which on a slip counts as repeated


class Answered(NamedTuple):
    """One answer of the log; ``slips`` are the names of those that it matched."""

    day: date
    kind: str
    seed: int
    score: Score
    slips: tuple[str, ...] = ()


class Known(NamedTuple):
    """What the answers say of one kind: its box, 0 before the first one, and when it is due.

    ``scores`` are all in their order, ``slips`` how often each was matched, and ``first`` and ``last``
    the days of the first and the last answer.
    """

    box: int
    due: date
    scores: tuple[Score, ...]
    slips: Mapping[str, int]
    first: date
    last: date

    @property
    def standing(self) -> Standing:
        """How sure the trainee is of it."""
        lately = self.scores[-LOOK_BACK:]
        if self.box >= SURE_BOX:
            return "sure"
        if lately[-1] != "full" or 3 * lately.count("full") < 2 * len(lately):
            return "shaky"
        return "learning"

    @property
    def repeated(self) -> tuple[tuple[str, int], ...]:
        """The slips that were matched again and again, most often first."""
        often = [each for each in self.slips.items() if each[1] >= REPEATED]
        return tuple(sorted(often, key=lambda each: (-each[1], each[0])))


def known(answers: Iterable[Answered]) -> dict[str, Known]:
    """What a trainee knows by kind, computed anew from all answers in their order."""
    found: dict[str, Known] = {}
    for answer in answers:
        before = found.get(answer.kind)
        box = 0 if before is None else before.box
        due = answer.day if before is None else before.due
        if answer.score != "full":
            box, due = 0, answer.day + timedelta(days=1)
        elif answer.day >= due:
            box = min(box + 1, len(DAYS))
            due = answer.day + timedelta(days=DAYS[box - 1])
        slips = Counter({} if before is None else before.slips) + Counter(answer.slips)
        scores = () if before is None else before.scores
        first = answer.day if before is None else before.first
        found[answer.kind] = Known(
            box, due, (*scores, answer.score), dict(slips), first, answer.day
        )
    return found


def todays_set(
    answers: Sequence[Answered],
    kinds: Mapping[str, Kind],
    today: date,
    minutes: float = MINUTES,
) -> tuple[str, ...]:
    """The kinds to ask today: what is due, the longest due first, then new ones in their order.

    They fill what today's answers left of the minutes.
    """
    state = known(a for a in answers if a.kind in kinds)
    left = minutes - sum(
        kinds[a.kind].minutes for a in answers if a.day == today and a.kind in kinds
    )
    due = sorted(
        (k for k in kinds if k in state and state[k].due <= today), key=lambda k: state[k].due
    )
    chosen = []
    for kind in (*due, *(k for k in kinds if k not in state)):
        if kinds[kind].minutes <= left + 1e-9:
            chosen.append(kind)
            left -= kinds[kind].minutes
    return tuple(chosen)


def next_seed(trainee: str, kind: str, times: int) -> int:
    """The seed of a trainee's next problem of a kind, which was asked so many times before."""
    return zlib.crc32(f"{trainee}\n{kind}\n{times}".encode()) % 1_000_000
