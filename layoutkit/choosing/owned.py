"""The balls that a bowler has already: how they differ on a few lanes, what lies between or beyond them.

All are rolled under one release. On each lane they start on the line into the pocket of the first one,
so that what differs at the pins is the balls' own. Friction is the same on all boards: a ball that comes
to the pins so many boards over there comes into the pocket if feet and target move as many boards back.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal, NamedTuple

from layoutkit.choosing.choose import Choice, Labels, Told, choose
from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Job, Lane, Release
from layoutkit.job.rules import RuleSet
from layoutkit.job.wants import Range, Wants
from layoutkit.lane.aim import Aim, Aiming, aim, on_line
from layoutkit.lane.roll import DRAWS, Difference, Roll, compare, roll, spread, under
from layoutkit.lane.why import Sensitivity, sensitivity
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

MOST_OWNED, MOST_LANES = 4, 3
OIL = 5.0  # feet; the other lanes have as much more and less oil than the record's. A convention
SEEN = 1.0  # boards at the pins that are worth a ball of their own; a convention, no source
SHOWN = 3  # proposals for a gap
AT_PINS = "board at the pins"

Kind = Literal["between", "more", "less"]


class Apart(NamedTuple):
    """How one owned ball, ``other``, differs from another, ``first``, by their places in the list.

    ``together`` is by how many boards feet and target move alike, ``feet`` by how many the feet with the
    target kept, ``target`` the reverse; None where a shot or a line is missing. ``rows`` are the
    differences of the two shots on one line, as `lane.roll.compare` gives them.
    """

    first: int
    other: int
    together: Difference | None
    feet: Difference | None
    target: Difference | None
    rows: tuple[Difference, ...]


class OnLane(NamedTuple):
    """The owned balls on one lane: their shots from the first one's line, ``lines`` into the pocket of
    their own, how sure these are, and how each pair differs.

    ``unsure`` has for each ball two standard deviations of its shot's figures on its own line, as
    `lane.roll.spread` gives them. A line that starts a board over ends a board over, so that of the
    board at the pins is that of its boards too.
    """

    lane: Lane
    release: Release
    shots: tuple[Roll, ...]
    lines: tuple[Aiming, ...]
    unsure: tuple[Mapping[str, float], ...]
    apart: tuple[Apart, ...]


class Gap(NamedTuple):
    """What no owned ball does: one "between" two of them, or one that hooks "more" or "less" than all.

    ``of`` are these balls' places in the list, ``boards`` how far they are apart at the pins (0 beyond
    them). ``want`` is about the board at the pins, against the first of ``of``.
    """

    kind: Kind
    of: tuple[int, ...]
    boards: float
    want: Range


class Owned(NamedTuple):
    """The owned balls by their ``names`` on all lanes, and the gaps on the record's own, ``lanes[own]``.

    ``moved`` is what a little more friction and speed do to the first ball there.
    """

    names: tuple[str, ...]
    plans: tuple[Plan, ...]
    lanes: tuple[OnLane, ...]
    own: int
    gaps: tuple[Gap, ...]
    moved: Sensitivity


def lanes_of(job: Job, oils: Sequence[float] = ()) -> tuple[tuple[Lane, ...], int]:
    """The lanes on which owned balls are compared, the least oil first, and which is the record's own.

    The others have its frictions and ``oils`` feet of oil, by default `OIL` less and more. A lane that
    is a table stands alone. Raises InputError where ``oils`` cannot be had.
    """
    own = job.lane or Lane()
    if own.table:
        if oils:
            raise InputError("the record's lane is a table, which has no length of oil to change.")
        return (own,), 0
    limit = limit_at("lane.oil_length")
    assert limit is not None
    wanted = oils or tuple(limit.nearest(own.oil_length + by) for by in (-OIL, OIL))
    lengths = sorted({own.oil_length, *wanted})
    if len(lengths) > MOST_LANES:
        raise InputError(
            f"{len(lengths)} lengths of oil with the record's own are too many; possible: up to "
            f"{MOST_LANES}."
        )
    lanes = tuple(
        own if feet == own.oil_length else own.model_copy(update={"oil_length": feet})
        for feet in lengths
    )
    return lanes, lengths.index(own.oil_length)


def compare_owned(
    job: Job,
    owned: Mapping[str, Plan],
    oils: Sequence[float] = (),
    rules: RuleSet | None = None,
    draws: int = DRAWS,
) -> Owned:
    """How the balls that a bowler has differ under a record's release, on its lane and on others.

    ``owned`` are their plans by name; uncertainties are over so many ``draws``. Raises InputError for
    too many, for a ball of the other hand, and where a record leaves open what a roll needs.
    """
    if not 1 <= len(owned) <= MOST_OWNED:
        raise InputError(f"{len(owned)} owned balls; possible: 1 to {MOST_OWNED}.")
    for name, each in owned.items():
        if each.job.bowler.hand != job.bowler.hand:
            raise InputError(
                f"{name}: is drilled for the {each.job.bowler.hand} hand, and the job is for the "
                f"{job.bowler.hand}; possible: balls of one hand."
            )
    names, lanes = tuple(owned), lanes_of(job, oils)
    here = plan(job, rules)
    plans = tuple(under(here, each) for each in owned.values())
    rolled = tuple(_on_lane(plans, lane, names, draws) for lane in lanes[0])
    own = rolled[lanes[1]]
    return Owned(
        names, plans, rolled, lanes[1], _gaps(own, names), sensitivity(own.shots[0])
    )  # fmt: skip


def _on_lane(plans: Sequence[Plan], lane: Lane, names: Sequence[str], draws: int) -> OnLane:
    balls = [replace(p, job=p.job.model_copy(update={"lane": lane})) for p in plans]
    lines = []
    for name, ball in zip(names, balls, strict=True):
        try:
            lines.append(aim(ball))
        except InputError as error:
            raise InputError(f"{name}: {error}") from None
    release = balls[0].job.release or Release()
    first = lines[0].aim
    if first is not None:
        release = on_line(release, first)
    shots = tuple(roll(ball, release) for ball in balls)
    unsure = tuple(
        spread(ball, release if line.aim is None else on_line(release, line.aim), draws)
        for ball, line in zip(balls, lines, strict=True)
    )
    apart = []
    for i, ball in enumerate(balls[:-1]):
        for k, rows in enumerate(compare(ball, balls[i + 1 :], draws, release), i + 1):
            apart.append(_apart(i, k, rows, first))
    return OnLane(lane, release, shots, tuple(lines), unsure, tuple(apart))


def _apart(i: int, k: int, rows: tuple[Difference, ...], line: Aim | None) -> Apart:
    at_pins = next((row for row in rows if row.name == AT_PINS), None)
    if at_pins is None:
        return Apart(i, k, None, None, None, rows)

    def moved(name: str, effect: float) -> Difference | None:
        """By how much that is moved which moves the ball ``effect`` boards at the pins for each board."""
        if not math.isfinite(effect) or effect == 0.0:
            return None
        return Difference(
            name, "boards", -at_pins.value / effect, at_pins.uncertainty / abs(effect)
        )

    feet, target = (math.nan, math.nan) if line is None else (line.feet, line.target)
    return Apart(
        i, k, moved("feet and target", 1.0), moved("feet, target kept", feet),
        moved("target, feet kept", target), rows,
    )  # fmt: skip


def told_apart(difference: Difference) -> bool:
    """Whether a difference is larger than its uncertainty."""
    return abs(difference.value) > difference.uncertainty


def _gaps(own: OnLane, names: Sequence[str]) -> tuple[Gap, ...]:
    """The widest gap between two owned balls if one more fits in between; else beyond them all."""
    places = [(0.0, 0)]
    known = [each for each in own.apart if each.first == 0]
    places += [(-each.together.value, each.other) for each in known if each.together is not None]
    places.sort()
    pairs = {(a.first, a.other): a.together for a in own.apart}
    widest: Gap | None = None
    for (low, one), (high, other) in pairwise(places):
        between = pairs[min(one, other), max(one, other)]
        boards = high - low
        wide = boards >= 2.0 * SEEN and between is not None and told_apart(between)
        if wide and (widest is None or boards > widest.boards):
            want = Range(least=SEEN, most=boards - SEEN, weight=1.0, than=names[one])
            widest = Gap("between", (one, other), boards, want)
    if widest is not None:
        return (widest,)
    weakest, strongest = places[0][1], places[-1][1]
    return (
        Gap("more", (strongest,), 0.0, Range(least=SEEN, weight=1.0, than=names[strongest])),
        Gap("less", (weakest,), 0.0, Range(most=-SEEN, weight=1.0, than=names[weakest])),
    )


def fill(
    job: Job,
    owned: Owned,
    gap: Gap,
    wants: Wants | None = None,
    balls: Labels | None = None,
    rules: RuleSet | None = None,
    others: Mapping[str, Plan] | None = None,
    told: Told | None = None,
) -> Choice:
    """Layouts, on the job's ball or on those of ``balls``, for what no owned ball does: up to `SHOWN`.

    As `choose`, with the gap as a wish beside the other wants; a want of theirs for the board at the
    pins stands in its place.
    """
    asked = wants or job.wants or Wants()
    if asked.board_at_pins is None:
        asked = asked.model_copy(update={"board_at_pins": gap.want})
    plans = dict(zip(owned.names, owned.plans, strict=True))
    choice = choose(job, asked, balls, rules, {**(others or {}), **plans}, told)
    return choice._replace(proposals=choice.proposals[:SHOWN])
