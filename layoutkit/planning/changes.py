"""The smallest changes that bring a plan inside the rules.

A change's cost is the sum of (change / tolerance of that quantity) squared. Each kind of change is
searched by itself, on a grid of 1/16 in and 1 degree about the record's figures, the cheapest first.
Every offer has been planned by `plan`. Balance holes, spans and pitches are never changed: rules forbid
the first, and the bowler's hand fixes the others.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import wrap180
from layoutkit.geometry.vectors import Array
from layoutkit.job.limits import limit_at
from layoutkit.job.record import AnglesLayout, Job, OuterSleeve, Scale
from layoutkit.job.rules import PASS, READINGS, STATICS, Check
from layoutkit.planning import certainty as _certainty
from layoutkit.planning import given as _given
from layoutkit.planning import sweep as _sweep
from layoutkit.planning import variants as _variants
from layoutkit.planning.grip import outer_of
from layoutkit.planning.placing import for_other_layouts
from layoutkit.planning.plan import plan
from layoutkit.planning.unknown import LABEL, by_angles_of, require
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_IN3, OZ_PER_LB, fraction

Indices = NDArray[np.intp]

STEP = 1.0 / 16.0  # inches
ANGLE_TOLERANCE = 1.0  # degrees: what an angle from marks is worth; common practice, no source
DEPTH_REACH, LEAST_DEPTH = 8, 0.75  # sixteenths from the stated depth; inches
ANGLE_REACH, ARC_REACH = 40, 24  # degrees, sixteenths
# the same where depths and layout are changed together
MIXED_COST = 200.0  # a mixed change that costs more is no small one
MIXED_DEPTH, MIXED_ANGLE, MIXED_ARC = 4, 14, 16  # a turn by 15 degrees alone costs 225
# oz; a candidate this near to a limit gets a plan of its own, for the many are computed to that error
# only; the second is for records with tolerances, whose band changes from one candidate to the next
MARGIN, BANDED_MARGIN = 4e-3, 3e-2
COMPETITION = (
    "Holes may not be deepened to change the static weight during competition (USBC, in force "
    "2020-08-01): do it before, and weigh again."
)
BALL = "Another ball: a label with less top weight, or its CG mark nearer to the pin, moves less."

OTHER_LAYOUTS = "a search of other layouts"
PIECE = 16384  # layouts whose figures are computed at once
FIRST_PORTION, SHORT = 16, 0.2  # layouts; seconds
BATCH, FEW = 2048, 4  # layouts judged at once with other depths; so few are planned right away
EQUAL = 1e-9  # costs nearer than this are equal

KINDS = ("hole depth", "both angles", "pin to PAP", "mixed")
LONGEST = 4.5  # seconds of a search for which someone waits
SHARES = (0.4, 0.6, 0.7)  # by when, of the whole time, the first kinds end
ANGLES = {"angle_at_pin": "angle at the pin", "angle_at_pap": "angle at the PAP"}


class Offer(NamedTuple):
    """One change that passes: its kind, by how much each quantity changes, cost, job and plan.

    ``by`` has inches, and degrees for `ANGLES`: "angle_at_pin", "pin_to_pap", "thumb_depth" and so on.
    """

    kind: str
    by: Mapping[str, float]
    cost: float
    job: Job
    plan: Plan


class Found(NamedTuple):
    """What a search offers, and where it ended early: ``seconds`` is None where it did not.

    ``in_part`` and ``untouched`` are the kinds that were searched in part, and not at all. Where
    there are no offers, ``not_mended`` are the checks that no change of depths or layout mends.
    """

    offers: tuple[Offer, ...]
    seconds: float | None = None
    in_part: tuple[str, ...] = ()
    untouched: tuple[str, ...] = ()
    not_mended: tuple[Check, ...] = ()


class _OutOfTime(Exception):
    """A search has used up its time."""


class _Watch:
    """Ends a search at a moment of `time.thread_time`.

    It counts the processor's time of this thread, so that a busy computer finds the same offers.
    """

    def __init__(self) -> None:
        self.end = math.inf
        self._portion = FIRST_PORTION

    def look(self) -> None:
        """Raise _OutOfTime where the moment has passed."""
        if time.thread_time() >= self.end:
            raise _OutOfTime

    def portions(self, i: Indices) -> Iterator[Indices]:
        """The layouts in portions that take a fraction of a second each, with a look before each.

        One layout takes microseconds, or some hundredths of a second where odd holes meet.
        """
        at = 0
        while at < len(i):
            self.look()
            begun, size = time.thread_time(), self._portion
            yield i[at : at + size]
            at += size
            took = time.thread_time() - begun
            if took > SHORT:
                self._portion = max(size // 4, 1)
            elif took < SHORT / 4.0 and at <= len(i):  # a whole portion
                self._portion = 4 * size


def _bored_deeper(sleeve: OuterSleeve, change: float) -> OuterSleeve:
    """A sleeve in a bore deeper by ``change`` inches, as long as it was where that still fits."""
    bore = sleeve.bore_depth + change
    return sleeve.model_copy(update={"bore_depth": bore, "length": min(sleeve.length_net, bore)})


def depth_changed(job: Job, name: str, change: float) -> Job:
    """The job with one hole deeper by ``change`` inches; its bore follows, a sleeve stays as long."""
    part = getattr(job.bowler.grip, name)
    update: dict[str, object] = {"depth": part.depth + change}
    if part.sleeve is not None:
        outer = outer_of(part.sleeve)
        sleeve = _bored_deeper(part.sleeve, change)
        if outer is not None:
            sleeve = sleeve.model_copy(update={"outer": _bored_deeper(outer, change)})
        update["sleeve"] = sleeve
    grip = job.bowler.grip.model_copy(update={name: part.model_copy(update=update)})
    return job.model_copy(update={"bowler": job.bowler.model_copy(update={"grip": grip})})


def layout_changed(now: Plan, drilling: float, pin_to_pap: float, val: float) -> Job:
    """The plan's job, its layout stated by angles and changed by these degrees and inches."""
    turn, away, lean = by_angles_of(now, OTHER_LAYOUTS)
    stated = AnglesLayout(
        by="angles",
        angle_at_pin=wrap180(turn + drilling),
        pin_to_pap=away + pin_to_pap,
        angle_at_pap=wrap180(lean + val),
    )
    return for_other_layouts(now.job).model_copy(update={"layout": stated})


def offers(now: Plan) -> tuple[Offer, ...]:
    """The offers of a `search` without an end in time."""
    return search(now, math.inf).offers


def search(now: Plan, seconds: float | None = None) -> Found:
    """The cheapest change of each kind that passes, in the order of `KINDS`; none for one that does.

    The search ends after about ``seconds``, or after `LONGEST` where none are given. The offers that
    it has by then pass, but may not be the cheapest.

    Each kind is searched in steps of 1/16 in and 1 degree from what the plan has:

    - hole depth: each hole's depth within 1/2 in;
    - both angles: each within 40 degrees;
    - pin to PAP: within 1 1/2 in;
    - mixed: each depth within 1/4 in, each angle within 14 degrees and pin-to-PAP within 1 in, all at
      once, as far as the whole costs less than `MIXED_COST` and less than the other kinds' offers.

    Without a PAP only depths are searched, because other layouts are stated from the PAP. Raises
    InputError for a plan whose static weights are not known.
    """
    if now.outcome != "pass":
        require(now.job, "a search for changes", *LABEL)
    wrong = [c for c in now.checks if c.outcome != "pass"]
    fixed = tuple(c for c in wrong if c.name not in READINGS)
    if not wrong or fixed:
        return Found((), not_mended=fixed)
    seconds = LONGEST if seconds is None else seconds
    begun, watch = time.thread_time(), _Watch()
    none = _reach(0)
    depths = _Depths(now)
    if now.layout.by_angles is None:
        only = _Search(now, KINDS[0], depths, depths.combos, _grid(now, none, none, none))
        watch.end = begun + seconds
        only.run(watch)
        return _found(now, [only], seconds)
    angles, arcs = _reach(ANGLE_REACH), STEP * _reach(ARC_REACH)
    nothing = ((0,) * len(now.holes),)
    searches = [
        _Search(now, KINDS[0], depths, depths.combos, _grid(now, none, none, none)),
        _Search(now, KINDS[1], depths, nothing, _grid(now, angles, none, angles)),
        _Search(now, KINDS[2], depths, nothing, _grid(now, none, arcs, none)),
    ]
    # each kind has its share, so that a long search of one does not leave out all the others
    for each, share in zip(searches, SHARES, strict=False):
        watch.end = begun + share * seconds
        each.run(watch)
    least = min((s.best.cost for s in searches if s.best is not None), default=MIXED_COST)
    least = min(least, MIXED_COST)
    angles, arcs = _reach(MIXED_ANGLE), STEP * _reach(MIXED_ARC)
    shallow = tuple(c for c in depths.combos if max(map(abs, c)) <= MIXED_DEPTH)
    mixed = _Search(now, KINDS[3], depths, shallow, _grid(now, angles, arcs, angles))
    searches.append(mixed)
    watch.end = begun + seconds
    budget = MIXED_COST / 16.0
    # what a small budget finds is the cheapest of all, and spares the many dearer ones
    while mixed.best is None and mixed.state != "in part" and budget < 2.0 * least:
        mixed.run(watch, min(budget, least))
        budget *= 2.0
    return _found(now, searches, seconds)


def _found(now: Plan, searches: list[_Search], seconds: float) -> Found:
    """The best offers of some searches, and how far these came in so many seconds."""
    in_part = tuple(s.kind for s in searches if s.state == "in part")
    untouched = tuple(s.kind for s in searches if s.state == "untouched")
    stopped = seconds if in_part or untouched else None
    offers = tuple(s.best for s in searches if s.best is not None)
    # no layout changes the gross weight, and depths within reach did not
    heavy = tuple(c for c in now.checks if c.name == "gross" and c.outcome != "pass")
    not_mended = heavy if not offers and stopped is None else ()
    return Found(offers, stopped, in_part, untouched, not_mended)


def _reach(most: int) -> Array:
    """The whole numbers from -most to most."""
    return np.arange(-most, most + 1, dtype=float)


# --- depths ---------------------------------------------------------------------------------------


class _Cut(NamedTuple):
    """What a change of depths adds under the present layout, and how far other layouts may differ.

    ``statics`` (arms, 3) and ``width`` (3,) are of top, side and finger weight in oz, ``weight`` and
    ``weight_width`` of the gross weight in lb.
    """

    statics: Array
    width: Array
    weight: float
    weight_width: float


class _Depths:
    """The depths of all holes together, in sixteenths from what they are, the cheapest first.

    What holes take adds up where they cannot meet, so only holes that may meet are planned together.
    """

    def __init__(self, now: Plan) -> None:
        self._now = now
        # nobody reads the uncertainty of these plans, and it would take most of their time
        self._job = now.job.model_copy(update={"tolerances": None})
        self._names = tuple(h.name for h in now.holes)
        self._base = plan(self._job, now.rules)
        steps = [self._steps(name) for name in self._names]
        combos = itertools.product(*steps)
        self.combos = tuple(sorted(combos, key=lambda c: sum(k * k for k in c)))
        self.tolerance = _certainty.tolerances(now.job).depths or STEP
        self._groups = self._meeting([max(each) for each in steps])
        self._known: dict[tuple[int, ...], _Cut | None] = {}

    def _steps(self, name: str) -> list[int]:
        depth = getattr(self._job.bowler.grip, name).depth
        row = limit_at(f"bowler.grip.{name}.depth")
        assert row is not None
        return [
            k
            for k in range(-DEPTH_REACH, DEPTH_REACH + 1)
            if k == 0 or LEAST_DEPTH <= depth + k * STEP <= row.high
        ]

    def _meeting(self, deepest: list[int]) -> list[tuple[int, ...]]:
        """The holes' numbers in groups; holes of different groups never meet, however deep they are."""
        try:
            walls = plan(self.job(tuple(deepest)), self._now.rules).walls
        except InputError:
            return [tuple(range(len(deepest)))]
        groups = [{n} for n in range(len(deepest))]
        for w in walls:
            # a hole that meets an old one still takes only its own material
            if w.meets and all(name in self._names for name in w.holes):
                i, j = (next(g for g in groups if self._names.index(n) in g) for n in w.holes)
                if i is not j:
                    i |= j
                    groups.remove(j)
        return [tuple(sorted(g)) for g in groups]

    def job(self, combo: tuple[int, ...]) -> Job:
        """The job with these depths, its tolerances left out."""
        return self.deepened(self._job, combo)

    def deepened(self, job: Job, combo: tuple[int, ...]) -> Job:
        """A job with its holes deeper by so many sixteenths."""
        for name, k in zip(self._names, combo, strict=True):
            job = depth_changed(job, name, k * STEP) if k else job
        return job

    def changes(self, combo: tuple[int, ...]) -> dict[str, float]:
        """The changes by name, inches."""
        return {f"{n}_depth": k * STEP for n, k in zip(self._names, combo, strict=True) if k}

    def cost(self, combo: tuple[int, ...]) -> float:
        """The sum of (change / tolerance) squared."""
        return sum((k * STEP / self.tolerance) ** 2 for k in combo)

    def cut(self, combo: tuple[int, ...]) -> _Cut | None:
        """What these depths add; None where they are impossible, or make holes meet or run out."""
        arms = len(_readings(self._base))
        total = _Cut(np.zeros((arms, 3)), np.zeros(3), 0.0, 0.0)
        for group in self._groups:
            own = tuple(k if n in group else 0 for n, k in enumerate(combo))
            if own not in self._known:
                self._known[own] = self._planned(own) if any(own) else total
            part = self._known[own]
            if part is None:
                return None
            total = _Cut(
                total.statics + part.statics,
                total.width + part.width,
                total.weight + part.weight,
                total.weight_width + part.weight_width,
            )
        return total

    def rest(self, combo: tuple[int, ...]) -> _Cut | None:
        """What the sum of the single holes' changes lacks; None where a single one is impossible."""
        whole = self.cut(combo)
        parts = [self.cut(c) for c in alone(combo)]
        if whole is None or None in parts:
            return None
        singles = [part for part in parts if part is not None]
        statics = whole.statics - sum((part.statics for part in singles), 0.0 * whole.statics)
        weight = whole.weight - sum(part.weight for part in singles)
        core = self._base.core
        if core is None or abs(weight) < EQUAL:
            return _Cut(statics, 0.0 * whole.width, weight, 0.0)
        # two holes share at most as much as this weight fills of the lightest layer
        light = min(core.density, core.filler_density)
        part = OZ_PER_LB * abs(weight) / (light * OZ_PER_IN3)
        most = math.pi / 4.0 * min(h.diameter for h in self._base.holes) ** 2 * STEP
        share = part / most
        return _Cut(statics, share * whole.width, weight, share * whole.weight_width)

    def _planned(self, combo: tuple[int, ...]) -> _Cut | None:
        try:
            changed = plan(self.job(combo), self._now.rules)
        except InputError:
            return None
        if _worse(self._now, changed):
            return None
        width, weight_width = np.zeros(3), 0.0
        for n, k in enumerate(combo):
            own, heavy = _core_width(self._base, n, k * STEP)
            width, weight_width = width + own, weight_width + heavy
        weight = changed.statics.weight_lb - self._base.statics.weight_lb
        return _Cut(_readings(changed) - _readings(self._base), width, weight, weight_width)


def alone(combo: tuple[int, ...]) -> list[tuple[int, ...]]:
    """The changes of each hole by itself."""
    return [tuple(k if n == m else 0 for m in range(len(combo))) for n, k in enumerate(combo) if k]


def _readings(p: Plan) -> Array:
    """Top, side and finger weight (arms, 3) for each of `given.arms`, oz."""
    s = p.statics
    first = np.array([s.top_oz, s.side_oz, s.finger_oz])
    if s.calibrated:
        return first[None]
    low, high = np.array([s.range.top_oz, s.range.side_oz, s.range.finger_oz]).T
    # drilling moves a reading farther where the arm is shorter
    down = np.array([s.change.top_oz, s.change.side_oz, s.change.finger_oz]) < 0.0
    return np.stack((first, np.where(down, low, high), np.where(down, high, low)))


def _core_width(base: Plan, number: int, change: float) -> tuple[Array, float]:
    """By how much what a deeper hole takes may differ where the core is turned another way.

    Within the core's reach the hole may cut core in place of filler, or the other way round. Returns
    top, side and finger weight (3,) in oz, and the gross weight in lb.
    """
    core, hole = base.core, base.holes[number]
    if core is None or change == 0.0:
        return np.zeros(3), 0.0
    arms = _given.arms(base.job)
    apart = abs(core.density - core.filler_density) * OZ_PER_IN3
    excess = 4.0 / 3.0 * math.pi * math.prod(core.semi_axes) * apart
    reach = max(core.semi_axes) + (_given.imbalance(base.job) or 0.0) * max(arms) / excess
    entry, axis = np.array(hole.entry), np.array(hole.axis)
    width, weight = np.zeros(3), 0.0
    ends = [(hole.diameter, hole.depth)]
    if hole.bore is not None:
        ends.append((hole.bore.diameter, hole.bore.depth))
    for diameter, depth in ends:
        radius = diameter / 2.0
        # a drill point goes ahead of the full diameter by less than the diameter
        start, stop = min(depth, depth + change), max(depth, depth + change) + diameter
        nearest = min(max(-float(entry @ axis), start), stop)
        if np.linalg.norm(entry + nearest * axis) - radius >= reach:
            continue
        spots = np.stack((entry + start * axis, entry + stop * axis))
        low = np.minimum(spots.min(axis=0) - radius, 0.0)
        high = np.maximum(spots.max(axis=0) + radius, 0.0)
        moment = math.pi * radius**2 * abs(change) * apart
        x, y, z = (moment * (high - low) / min(arms)).tolist()
        width, weight = width + np.array([z, x, y]), weight + moment / OZ_PER_LB
    return width, weight


# --- layouts --------------------------------------------------------------------------------------


class _Grid:
    """Layouts about the plan's, the cheapest first, and the figures of the ball under each of them.

    The changes ``d``, ``p``, ``v`` and ``cost`` are (n,). Figures are computed when first asked for.
    """

    def __init__(self, now: Plan, d: Array, p: Array, v: Array, cost: Array) -> None:
        self._now = now
        self.d, self.p, self.v, self.cost = d, p, v, cost
        self._known: dict[tuple[int, tuple[int, ...]], Array] = {}

    def layouts(self, i: Indices) -> _sweep.Layouts:
        """The layouts of some indices."""
        turn, away, lean = by_angles_of(self._now, OTHER_LAYOUTS)
        return _sweep.Layouts(turn + self.d[i], away + self.p[i], lean + self.v[i])

    def _evaluated(self, job: Job, i: Indices) -> list[_variants.Outcomes]:
        """The figures of a job under some layouts, for each arm; without a PAP under its own layout."""
        if self._now.layout.by_angles is None:
            return [_variants.evaluate(_variants.model(job, arm=arm)) for arm in _given.arms(job)]
        return _sweep.evaluate(job, self.layouts(i))

    def figures(
        self, piece: int, combo: tuple[int, ...], job: Job, wanted: Indices, watch: _Watch
    ) -> Array:
        """The figures (k, columns) of some layouts (k,) of a piece, with some depths.

        The columns are top, side and finger weight for each arm, then the gross weight. Figures that
        are known already are not computed again.
        """
        key = (piece, combo)
        width = 3 * len(_given.arms(job)) + 1
        known = self._known.setdefault(key, np.full((PIECE, width), np.nan))
        new = wanted[np.isnan(known[wanted, 0])]
        for some in watch.portions(new):
            outcomes = self._evaluated(job, some + piece * PIECE)
            columns = [getattr(o, f"{n}_oz") for o in outcomes for n in STATICS]
            known[some] = np.stack([*columns, outcomes[0].weight_lb], axis=-1)
        return known[wanted]

    def change(self, k: int) -> tuple[float, float, float]:
        """The changes of one layout, in degrees, inches, degrees."""
        return float(self.d[k]), float(self.p[k]), float(self.v[k])


def _grid(now: Plan, drilling: Array, arcs: Array, val: Array) -> _Grid:
    tolerance = _certainty.tolerances(now.job).marks or STEP
    d, p, v = (a.ravel() for a in np.meshgrid(drilling, arcs, val, indexing="ij"))
    cost = (d / ANGLE_TOLERANCE) ** 2 + (p / tolerance) ** 2 + (v / ANGLE_TOLERANCE) ** 2
    order = np.argsort(cost, kind="stable")
    away = now.layout.pin_to_pap
    if away is not None:
        possible = (away + p > 0.0) & (away + p < math.pi * now.radius)
        order = order[possible[order]]
    return _Grid(now, d[order], p[order], v[order], cost[order])


# --- the search -----------------------------------------------------------------------------------


class _Search:
    """The search for the cheapest pair of some depths and some layouts that passes.

    ``best`` is the cheapest yet; ``state`` says how far the search came: "untouched", "in part" or
    "whole".
    """

    def __init__(
        self,
        now: Plan,
        kind: str,
        depths: _Depths,
        combos: tuple[tuple[int, ...], ...],
        grid: _Grid,
    ) -> None:
        self.kind = kind
        self.best: Offer | None = None
        self.state = "untouched"
        self._now, self._depths, self._combos, self._grid = now, depths, combos, grid

    def run(self, watch: _Watch, below: float = math.inf) -> None:
        """Search what costs less than ``below``, until the watch ends it."""
        try:
            watch.look()
            self.state = "in part"
            self._look_for(watch, below)
            self.state = "whole"
        except _OutOfTime:
            if self.state == "whole":  # with a smaller ``below``
                self.state = "in part"

    def _look_for(self, watch: _Watch, below: float) -> None:
        """Go through the depths in the order of their cost, and with each through the layouts.

        Only layouts that keep the whole cheaper than the best offer yet are looked at. Bounds leave out
        those that cannot pass, and a plan decides about the rest.
        """
        now, depths, grid = self._now, self._depths, self._grid
        nothing = (0,) * len(now.holes)
        # first all depths of one cost together, for most layouts pass with none of them
        for own, same in itertools.groupby(self._combos, depths.cost):
            if own >= below - EQUAL:
                break
            cuts: list[tuple[tuple[int, ...], _Cut]] = []
            for combo in same:
                watch.look()
                cut = depths.cut(combo)
                if cut is not None:
                    cuts.append((combo, cut))
            if len(grid.cost) == 1:
                # the cuts were planned under this very layout
                cuts = [
                    (c, cut._replace(width=0.0 * cut.width, weight_width=0.0)) for c, cut in cuts
                ]
            if not cuts:
                continue
            for at in range(0, len(grid.cost), PIECE):
                watch.look()
                reach = int(np.searchsorted(grid.cost[at : at + PIECE], below - own - EQUAL))
                if reach == 0:
                    break
                figures = grid.figures(at // PIECE, nothing, now.job, np.arange(reach), watch)
                some = np.flatnonzero(_may_pass(now, figures, [cut for _, cut in cuts]))
                for combo, cut in cuts:
                    watch.look()
                    hopeful = some[_may_pass(now, figures[some], [cut])]
                    if len(hopeful) > FEW and len(grid.cost) > 1:
                        hopeful = _summed(
                            now, depths, combo, grid, at // PIECE, some, hopeful, watch
                        )
                    offer = _first_offer(
                        now, self.kind, depths, combo, grid, hopeful + at, below, watch
                    )
                    if offer is not None:
                        self.best, below = offer, offer.cost


def _first_offer(
    now: Plan,
    kind: str,
    depths: _Depths,
    combo: tuple[int, ...],
    grid: _Grid,
    hopeful: Indices,
    below: float,
    watch: _Watch,
) -> Offer | None:
    """With one set of depths, the cheapest of the ``hopeful`` layouts whose plan passes.

    None where none passes for less than ``below``; the depths' own cost counts.
    """
    own = depths.cost(combo)
    changing = hopeful[grid.cost[hopeful] > -own]  # what changes nothing costs nothing
    for k in _likely(now, depths, combo, grid, changing, watch):
        watch.look()
        cost = own + float(grid.cost[k])
        if cost >= below - EQUAL:
            return None
        passing = _decided(now, depths, combo, grid, k)
        if passing is not None:
            moves = zip(("angle_at_pin", "pin_to_pap", "angle_at_pap"), grid.change(k), strict=True)
            by = depths.changes(combo) | {name: change for name, change in moves if change}
            return Offer(kind, by, cost, passing.job, passing)
    return None


def _may_pass(now: Plan, figures: Array, cuts: list[_Cut]) -> NDArray[np.bool_]:
    """Which layouts (m,) may pass with one of some changes of depth; ``figures`` is (m, columns)."""
    bands = _sweep.half_bands(now)
    margin = _margin(now)
    gross = next(c.limit for c in now.checks if c.name == "gross")
    weight = figures[:, -1]
    lightest = min(c.weight - c.weight_width for c in cuts)
    may = weight + lightest + bands["gross"] <= gross + margin / OZ_PER_LB
    if not may.any():
        return np.asarray(may)
    reach = bands["gross"] + (now.job.scale or Scale()).allowance / OZ_PER_LB
    heaviest = max(c.weight + c.weight_width for c in cuts) + float(weight.max()) + reach
    limits = [
        c
        for c in now.rules.static_limits
        if c.over_lb < heaviest and float(weight.min()) + lightest - reach <= c.up_to_lb
    ]
    arms = 1 if now.job.tolerances is not None else len(cuts[0].statics)
    for n, name in enumerate(STATICS):
        most = max(getattr(c, f"{name}_oz") for c in limits)
        room = most - bands[name] + margin
        for arm in range(arms):
            low = min(float(c.statics[arm, n] - c.width[n]) for c in cuts)
            high = max(float(c.statics[arm, n] + c.width[n]) for c in cuts)
            value = figures[:, 3 * arm + n]
            may &= (value + low <= room) & (value + high >= -room)
    return np.asarray(may)


def _summed(
    now: Plan,
    depths: _Depths,
    combo: tuple[int, ...],
    grid: _Grid,
    piece: int,
    some: Indices,
    hopeful: Indices,
    watch: _Watch,
) -> Indices:
    """Those of the ``hopeful`` layouts of a piece that may pass by the sum of single holes' changes.

    ``some`` holds these and all layouts that other depths of the same cost will ask for.
    """
    rest = depths.rest(combo)
    if rest is None:
        return hopeful
    base = grid.figures(piece, (0,) * len(combo), now.job, hopeful, watch)
    total = base
    for single in alone(combo):
        cut = depths.cut(single)
        if cut is not None and not cut.width.any():
            total = total + np.append(cut.statics.ravel(), cut.weight)
        else:
            job = depths.job(single)
            grid.figures(piece, single, job, some, watch)  # many at once
            total = total + (grid.figures(piece, single, job, hopeful, watch) - base)
    return hopeful[_may_pass(now, total, [rest])]


def _likely(
    now: Plan,
    depths: _Depths,
    combo: tuple[int, ...],
    grid: _Grid,
    hopeful: Indices,
    watch: _Watch,
) -> Iterator[int]:
    """Those of some layouts whose figures with these depths pass, or nearly pass."""
    for at in range(0, len(hopeful), BATCH):
        i = hopeful[at : at + BATCH]
        if len(i) > FEW:
            for some in watch.portions(i):
                outcomes = _sweep.evaluate(depths.job(combo), grid.layouts(some))
                yield from some[_sweep.judge(now, outcomes, _margin(now)) == PASS].tolist()
        else:
            yield from i.tolist()


def _decided(
    now: Plan, depths: _Depths, combo: tuple[int, ...], grid: _Grid, k: int
) -> Plan | None:
    """The plan of a changed job, if it passes and no hole comes to meet another or run out."""
    change = grid.change(k)
    job = layout_changed(now, *change) if any(change) else now.job
    job = depths.deepened(job, combo)
    try:
        changed = plan(job, now.rules)
    except InputError:
        return None
    return None if changed.outcome != "pass" or _worse(now, changed) else changed


def _worse(now: Plan, changed: Plan) -> bool:
    """Whether the ball would be ruined, or a hole meets one that it did not meet."""
    met = {w.holes for w in now.walls if w.meets}
    return bool(changed.reasons) or any(w.meets and w.holes not in met for w in changed.walls)


def _margin(now: Plan) -> float:
    return MARGIN if now.job.tolerances is None else BANDED_MARGIN


def words(offer: Offer) -> str:
    """The changes as a sentence's beginning: `angle at the pin +4 degrees, pin to PAP +1/8 in`."""
    return ", ".join(
        f"{ANGLES[name]} {change:+g} degrees"
        if name in ANGLES
        else f"{name.replace('_', ' ').replace('pap', 'PAP')} "
        f"{'+' if change > 0.0 else '-'}{fraction(abs(change))} in"
        for name, change in offer.by.items()
    )


def effort(offer: Offer) -> str:
    """How much the changes come to, in what a driller marks: `2 marks of 1/16 and 9 degrees`."""
    degrees = sum(abs(change) for name, change in offer.by.items() if name in ANGLES)
    lengths = sum(abs(change) for name, change in offer.by.items() if name not in ANGLES)
    marks = round(lengths / STEP)
    parts = [f"{marks} mark{'s' if marks > 1 else ''} of {fraction(STEP)}"] if marks else []
    if degrees:
        parts.append(f"{degrees:g} degree{'s' if degrees > 1 else ''}")
    return " and ".join(parts)
