"""Sets of problems for paper, and a task on a real scrap ball, both from a seed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from layoutkit.errors import InputError
from layoutkit.job.record import Job, parse_job
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan
from layoutkit.practice.grips import Sizes, grip_record
from layoutkit.practice.problems import KINDS, MOST_SEED, problem
from layoutkit.practice.values import Dice, Hand, Kind, Problem
from layoutkit.units import shown

MOST_PROBLEMS = 60
NOTICE = "Practice: nobody drills a customer's ball from this."


class PracticeSet(NamedTuple):
    """The problems of a printed set, in their order, and the seed that makes it again."""

    seed: int
    problems: tuple[Problem, ...]


def practice_set(count: int, seed: int, kinds: Mapping[str, Kind] = KINDS) -> PracticeSet:
    """A set of so many problems; none has the kind of another while there are kinds left.

    Raises InputError for a count from which no set is made, or a bad seed.
    """
    if not 1 <= count <= MOST_PROBLEMS:
        raise InputError(f"{shown(count)} problems make no set; possible: 1 to {MOST_PROBLEMS}.")
    if not 0 <= seed <= MOST_SEED:
        raise InputError(f"{shown(seed)} is no seed; possible: 0 to {MOST_SEED}.")
    dice, names = Dice(seed), list(kinds)
    order: list[str] = []
    while len(order) < count:
        left = list(names)
        while left and len(order) < count:
            order.append(left.pop(dice.below(len(left))))
    place = {name: i for i, name in enumerate(names)}
    chosen = [problem(name, dice.below(1_000_000)) for name in order]
    # as they are taught: easy ones first
    return PracticeSet(seed, tuple(sorted(chosen, key=lambda p: place[p.kind])))


def scrap_plan(seed: int, diameter: float) -> Plan:
    """The plan of an ordinary layout to be marked on a scrap ball of this diameter that has a pin.

    No weights are known of it, and it is not to be drilled.
    """
    return plan(scrap_job(seed, diameter))


def scrap_job(seed: int, diameter: float) -> Job:
    """The job of `scrap_plan`. Raises InputError for a diameter that no ball has."""
    dice = Dice(seed)
    hand: Hand = dice.hand()
    ring = dice.grid(4.0, 4.5)
    sizes = Sizes(
        middle_span=ring + dice.one((0.0, 0.0625, 0.125)),
        ring_span=ring,
        bridge=dice.one((0.25, 0.3125, 0.375)),
        thumb=dice.grid(0.875, 1.125),
        finger=dice.grid(0.625, 0.75),
    )
    over, up = dice.grid(4.0, 5.75, 8), dice.grid(0.125, 0.75, 8)
    pin_over, pin_up = dice.grid(0.5, 2.5, 8), dice.grid(2.0, 3.5, 8)
    return marked_job(diameter, hand, (over, up), (pin_over, pin_up), sizes)


def marked_job(
    diameter: float,
    hand: Hand,
    pap: tuple[float, float],
    pin: tuple[float, float],
    sizes: Sizes | None = None,
) -> Job:
    """A job of which only the marks matter: PAP and pin by over and up. Its weights are not known.

    Raises InputError for places or a diameter that no job has.
    """
    (over, up), (pin_over, pin_up) = pap, pin
    record = {
        "format": "layoutkit-job",
        "version": 2,
        "title": NOTICE,
        "notes": "Invented: a task for a scrap ball.",
        "bowler": {
            "name": "invented",
            "hand": hand,
            "pap": {"over": over, "down" if up < 0.0 else "up": abs(up)},
            "grip": grip_record(sizes or Sizes()),
        },
        "ball": {
            "name": "scrap ball",
            "serial": "SCRAP",
            "diameter": diameter,
            "weight": 15.0,
            "top_weight": None,
            "pin_to_cg": None,
        },
        "layout": {
            "by": "placement",
            "pin": {"over": pin_over, "down" if pin_up < 0.0 else "up": abs(pin_up)},
            "bearing": 0,
        },
    }
    return parse_job(record)
