"""The search: from wants to a few layouts that differ, on the job's own ball or on those of a shelf.

Every ball is tried all over at 1/2 in and 10 degrees with the figures that need no shot. Where a want
needs one, some layouts are rolled, and what their shots have in common with the other figures tells
where to look. The best of each kind are then refined to 1/16 in and 1 degree, planned and rolled singly.
What is proposed was planned from the figures that are printed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from heapq import heapify, heappop, heappush
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.bench.shelf import UnusableBall, share_of_limit
from layoutkit.choosing import figures as _figures
from layoutkit.choosing import places as _places
from layoutkit.choosing.figures import CHANCE, FAILS, HEAVY, Pair, Present, Score, Wanted
from layoutkit.choosing.regions import Place, place_of
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Job, PinPlace, PlacementLayout, Release, dump_job, parse_job
from layoutkit.job.rules import STATICS, RuleSet
from layoutkit.job.wants import Wants
from layoutkit.lane.aim import released
from layoutkit.lane.layouts import shots
from layoutkit.lane.roll import Difference, Roll, compare, roll, under
from layoutkit.planning.certainty import (
    Illegal,
    Spread,
    chance_bounds,
    illegal,
    limits,
    linear,
    monte_carlo,
)
from layoutkit.planning.placing import for_other_layouts
from layoutkit.planning.plan import plan
from layoutkit.planning.surface import Surface, surface
from layoutkit.planning.unknown import FIELDS, pap_of, require
from layoutkit.planning.values import Plan

CHOOSING = "choosing a layout"
SEEDS = 20  # layouts that are refined
KINDS = (1.0, 30.0)  # inches, degrees: layouts nearer than that are of one kind
# shots by which a ball's other layouts are judged: far apart at first, then where these look the best
SHOTS, FEWER = (300, 200, 200), (120, 80)  # fewer of many balls
MANY_BALLS = 2
TOGETHER = 8  # balls that are rolled at once
NEXT = 0.6, 12.0  # inches, degrees: layouts no nearer than that are rolled first of those
LOOKED = 16  # round each seed, rolled in each round
KEPT = 10  # of the seeds, in sixteenths
TRIED = 2  # of each seed, planned singly in the end
LEAST, MOST = 3, 6  # proposals
DEARER = 1.0  # cost; more than the least number is proposed only within that of the best
EQUAL = 1e-6  # costs nearer than this are equal
DRAWS = 1000  # for the chance of being illegal
OF_SHOT = {  # names of `roll.FIGURES`
    "board_at_pins": "board at the pins",
    "entry_angle": "entry angle",
    "flare_width": "flare width",
}

Told = Callable[[int, int], None]
Labels = Sequence[tuple[int, dict[str, Any] | InputError]]


class Result(NamedTuple):
    """How a proposal stands to a want: its figure at the least and the greatest, and the steps missed.

    ``apart`` is how sure the difference from another job's shot is, where one was asked for.
    """

    want: Wanted
    low: float
    high: float
    miss: float
    apart: Difference | None = None

    @property
    def met(self) -> bool:
        """Whether the want is met."""
        return self.miss <= _figures.NEAR

    @property
    def told_apart(self) -> bool:
        """Whether a difference that was asked for is larger than its uncertainty."""
        return self.apart is None or abs(self.apart.value) > self.apart.uncertainty


class Proposal(NamedTuple):
    """A ball and a layout, planned from the figures that are printed.

    ``line`` is the ball's in its table, 0 for the job's own. ``dropped`` names the musts that it does
    not meet, ``cost`` is that of the wishes, ``dearer`` that over the best proposal's. ``limit_of`` is
    the static weight that uses the largest share of its limit, ``limit_used`` that share. ``tied`` tells
    that the wants do not tell it from the best.
    """

    line: int
    plan: Plan
    results: tuple[Result, ...]
    dropped: tuple[str, ...]
    cost: float
    dearer: float
    tied: bool
    chance: Illegal
    limit_of: str
    limit_used: float
    shot: Roll

    @property
    def layout(self) -> PlacementLayout:
        """The layout by placement."""
        assert isinstance(self.plan.job.layout, PlacementLayout)
        return self.plan.job.layout


class Impossible(NamedTuple):
    """A want that no layout of any ball meets, and the range of its figure that is possible."""

    want: Wanted
    low: float
    high: float


class Choice(NamedTuple):
    """What was found: proposals, the best first; wants that nothing meets; rows that make no ball.

    ``tried`` layouts of ``balls`` balls were computed, ``rolled`` of them rolled. ``possible`` has the
    range of each figure over all of them.
    """

    wants: tuple[Wanted, ...]
    proposals: tuple[Proposal, ...]
    impossible: tuple[Impossible, ...]
    unusable: tuple[UnusableBall, ...]
    possible: Mapping[str, tuple[float, float]]
    tried: int
    rolled: int
    balls: int


def choose(
    job: Job,
    wants: Wants | None = None,
    balls: Labels | None = None,
    rules: RuleSet | None = None,
    others: Mapping[str, Plan] | None = None,
    told: Told | None = None,
) -> Choice:
    """Layouts for a job's bowler that bring what is wanted, on its own ball or on those of ``balls``.

    ``wants`` are the record's by default; ``balls`` as `bench.shelf.load_labels` gives them; ``others``
    the plans of the jobs that wants name with ``than``; ``told`` hears how much of the work is done.
    Shots are under the record's release and lane, all on one line (`lane.aim.released`). Raises
    InputError without the bowler's PAP, without label figures, or where no row makes a ball.
    """
    require(job, CHOOSING, "bowler.pap")
    asked = wants or job.wants or Wants()
    return _Search(job, asked, rules, others or {}, told).run(balls)


# --- what is judged -------------------------------------------------------------------------------


class _Ball(NamedTuple):
    """One ball to be searched: its plan under a layout that only stands in, where its pin is wanted,
    and the spreads of its figures where the chance of being legal counts."""

    line: int
    plan: Plan
    pin: Place | None
    spreads: Mapping[str, Spread] | None


class _Guess(NamedTuple):
    """What shots have in common with the figures that need none: a quadratic in `_features`.

    ``rest`` is what a guess is off by in the middle; within that a want counts as met.
    """

    names: tuple[str, ...]
    mean: Array
    size: Array
    slopes: Array
    rest: Array

    def pairs(self, features: Array) -> dict[str, Pair]:
        """The guessed figures (n,), turned inside out by what they may be off by."""
        told = _quadratic((features - self.mean) / self.size) @ self.slopes
        return {
            name: (told[:, k] + self.rest[k], told[:, k] - self.rest[k])
            for k, name in enumerate(self.names)
        }


def _quadratic(table: Array) -> Array:
    """1, the columns of a table (n, k) and the products of each two of them."""
    i, j = np.triu_indices(table.shape[1])
    return np.column_stack([np.ones(len(table)), table, table[:, i] * table[:, j]])


class _Sweep:
    """Layouts of a ball that were swept, (n,), with their ``figures`` that need no shot; and which of
    them were rolled: their figures of the lane, in the order of ``names``."""

    def __init__(
        self,
        ball: _Ball,
        rows: Array,
        found: Surface,
        figures: dict[str, Pair],
        names: tuple[str, ...],
    ) -> None:
        self.ball, self.rows, self.found, self.names = ball, rows, found, names
        self.figures, self.used = figures, _figures.limit_used(found)
        # only shots are guessed from these
        self.features = _features(found) if names else np.empty((len(rows), 0))
        self.known = np.zeros(len(rows), dtype=bool)
        self.values = np.full((len(rows), len(names)), np.nan)

    def pairs(self, guess: _Guess | None) -> dict[str, Pair]:
        """The figures of those that were rolled, and what those of the others are guessed to be."""
        guessed = {} if guess is None else guess.pairs(self.features)
        result = {}
        for name, own in zip(self.names, self.values.T, strict=True):
            low, high = guessed.get(name, (own, own))
            result[name] = (np.where(self.known, own, low), np.where(self.known, own, high))
        return result

    def seed(self, at: int, scored: Score) -> _Seed:
        """One of the layouts, by how it stands."""
        return _Seed((*scored.key(at), self.ball.line), self.ball, self.rows[at].copy())


class _Seed(NamedTuple):
    """A layout round which to look, (3,), with the key by which it stands among the others."""

    key: tuple[float, ...]
    ball: _Ball
    row: Array


class _Single:
    """One layout that was planned: its exact figures, and what is known of them so far."""

    def __init__(self, ball: _Ball, planned: Plan) -> None:
        self.ball, self.plan = ball, planned
        self.pairs: dict[str, tuple[float, float]] = {}
        self.shot: Roll | None = None
        self.chance: Illegal | None = None
        self.apart: dict[str, Difference] = {}
        self.results: tuple[Result, ...] = ()
        self.used, self.used_by = 0.0, ""

    @property
    def layout(self) -> Array:
        """Over, up and bearing, (3,)."""
        stated = self.plan.job.layout
        assert isinstance(stated, PlacementLayout)
        return np.array([stated.pin.over, stated.pin.up_net, stated.bearing_net])

    @property
    def dropped(self) -> tuple[str, ...]:
        """The musts that it misses."""
        return tuple(r.want.name for r in self.results if r.want.must and not r.met)

    @property
    def cost(self) -> float:
        """What the wishes cost that it misses."""
        return sum(r.want.weight * r.miss**2 for r in self.results if r.want.weight is not None)

    @property
    def missed(self) -> float:
        """How many musts it misses; one that is not legal misses more than any number."""
        return sum(HEAVY if name == FAILS else 1.0 for name in self.dropped)

    @property
    def key(self) -> tuple[float, ...]:
        """By what layouts are put in order, the best first; as `figures.Score.order`."""
        excess = sum(r.miss for r in self.results if r.want.must)
        used = math.floor(self.used / _figures.USED_STEP + 1e-9)
        away = float(_figures.away(*(np.array(self.pairs[n][0]) for n in ("moved", "turned"))))
        rounded = (self.missed, round(excess, 6), round(self.cost, 6))
        return (*rounded, used, away, self.ball.line, *self.layout.tolist())


def _features(found: Surface) -> Array:
    """What a shot's figures are guessed from, (n, 14): what of the ball bears on its path.

    The PAP stays where it is in the grip, so to first order that is each part of the tensor of RGs and
    of the centre of gravity's place. What makes the axis move counts squared too.
    """
    o, plan = found.outcomes, found.plan
    a, b, c, d, e, f = o.tensor.T
    pap = np.array(mirror(pap_of(plan, CHOOSING).xyz, plan.job.bowler.hand)) / plan.radius
    x, y, z = pap
    turning = np.column_stack([a * x + d * y + e * z, d * x + b * y + f * z, e * x + f * y + c * z])
    # two directions square to the PAP
    one = np.cross(pap, (0.0, 1.0, 0.0) if abs(y) < 0.9 else (0.0, 0.0, 1.0))
    one /= np.linalg.norm(one)
    p, q = turning @ one, turning @ np.cross(pap, one)
    columns = (
        a,
        b,
        c,
        d,
        e,
        f,
        o.side_oz,
        o.finger_oz,
        o.top_oz,
        o.flare,
        o.flare**2,
        p * p,
        q * q,
    )
    return np.asarray(np.nan_to_num(np.column_stack((*columns, p * q))))


# --- the search -----------------------------------------------------------------------------------


class _Search:
    """One call of `choose`: what it is about, and what it has found so far."""

    def __init__(
        self,
        job: Job,
        wants: Wants,
        rules: RuleSet | None,
        others: Mapping[str, Plan],
        told: Told | None,
    ) -> None:
        self.job, self.wants, self.rules, self.others = job, wants, rules, others
        self.told = told
        self.tried = self.rolled = 0
        self.possible: dict[str, tuple[float, float]] = {}
        self.least: dict[str, float] = {}
        self.known: dict[tuple[float, ...], _Single] = {}
        # what shots are guessed from and what they came to, by the ball's line
        self.shots: dict[int, list[tuple[Array, Array]]] = {}
        here = plan(job, rules)
        self.present = Present(here.marks.pin.over, here.marks.pin.up, here.layout.bearing or 0.0)

    def run(self, labels: Labels | None) -> Choice:
        """The whole search."""
        balls, unusable = self._balls(labels)
        self._prepare(balls[0].plan)
        each = max(SEEDS // len(balls), 2)
        seeds: list[_Seed] = []
        for n in range(0, len(balls), TOGETHER):
            seeds += self._over_the_balls(balls[n : n + TOGETHER], n, len(balls), each)
        seeds.sort(key=lambda seed: seed.key)
        groups = self._refined(seeds[:SEEDS])
        proposals = self._proposals(self._picked(groups))
        self._tell(1.0)
        return Choice(
            self.asked, proposals, self._impossible(), unusable, dict(self.possible), self.tried,
            self.rolled, len(balls),
        )  # fmt: skip

    def _tell(self, share: float) -> None:
        if self.told is not None:
            self.told(round(1000.0 * share), 1000)

    def _balls(self, labels: Labels | None) -> tuple[list[_Ball], tuple[UnusableBall, ...]]:
        """The balls that can be searched, and the rows that make none."""
        if labels is None:
            require(self.job, CHOOSING, *FIELDS)
            cleared = {"as_drilled": None, "weighings": None}
            return [self._ball(0, for_other_layouts(self.job).model_copy(update=cleared))], ()
        record = dump_job(self.job)
        for name in ("weighings", "history", "as_drilled"):
            record.pop(name, None)
        stand_in = {"by": "placement", "pin": {"over": 0.0}, "bearing": 0.0}
        balls, unusable = [], []
        for line, label in labels:
            name = "" if isinstance(label, InputError) else str(label.get("name", ""))
            try:
                if isinstance(label, InputError):
                    raise label
                job = parse_job({**record, "ball": label, "layout": stand_in})
                require(job, CHOOSING, *FIELDS)
                balls.append(self._ball(line, job))
            except InputError as error:
                unusable.append(UnusableBall(line, name, str(error)))
        if not balls:
            first = unusable[0]
            raise InputError(f"no row can be used; line {first.line}: {first.reason}")
        return balls, tuple(unusable)

    def _ball(self, line: int, job: Job) -> _Ball:
        here = plan(job, self.rules)
        pin = None if self.wants.pin is None else place_of(here, self.wants.pin)
        return _Ball(line, here, pin, None if self.wants.legal is None else linear(job))

    def _prepare(self, first: Plan) -> None:
        """The release that all shots have, and the wants with the other jobs' figures."""
        self.first = first
        self.release: Release = released(first)
        figures = {}
        for name, other in self.others.items():
            shot = roll(under(first, other), self.release)
            single = _figures.of_plan(other, self.present, None)
            figures[name] = {n: low for n, (low, _) in single.items()} | _figures.of_shot(shot)
        self.asked = _figures.wanted(self.wants, figures)
        self.of_lane = tuple(w.name for w in self.asked if w.figure.lane)

    # --- many layouts -------------------------------------------------------------------------

    def _over_the_balls(self, balls: list[_Ball], n: int, whole: int, most: int) -> list[_Seed]:
        """The best of each kind on a grid over each of some balls, from the ``n``-th of so many on."""
        sweeps = []
        swept = 0.3 if self.of_lane else 1.0  # of the work on a ball

        def tell(done: float) -> None:
            """So many of these balls are done."""
            self._tell(0.7 * (n + done) / whole)

        for k, ball in enumerate(balls):

            def told(done: int, of: int, before: int = k) -> None:
                tell(swept * (before + done / of))

            rows = self._sensible(ball, _places.whole_ball(ball.plan.radius))
            sweeps.append(self._swept(ball, rows, told))
        if self.of_lane:
            counts = SHOTS if whole <= MANY_BALLS else FEWER
            for k, count in enumerate(counts):
                picked = self._promising if k else self._far_apart
                self._roll_many([(sweep, picked(sweep, count)) for sweep in sweeps])
                tell(len(balls) * (swept + (1.0 - swept) * (k + 1) / len(counts)))
        seeds = []
        for sweep in sweeps:
            scored, order = self._in_order(sweep)
            best = _places.kinds(sweep.rows, order, sweep.ball.plan.radius, *KINDS, most)
            seeds += [sweep.seed(i, scored) for i in best]
        return seeds

    def _swept(self, ball: _Ball, rows: Array, told: Told | None = None) -> _Sweep:
        found = surface(ball.plan, rows[:, 0], rows[:, 1], rows[:, 2], told)
        self.tried += len(rows)
        figures = _figures.on_surface(found, self.present, ball.pin, ball.spreads)
        for want in self.asked:
            if want.name in figures:
                self._note(want, figures[want.name])
        return _Sweep(ball, rows, found, figures, self.of_lane)

    def _in_order(self, sweep: _Sweep) -> tuple[Score, NDArray[np.intp]]:
        """The score of a sweep's layouts, and these from the best to the worst: those that were rolled,
        where a want needs a shot."""
        scored = self._scored(sweep, sweep.pairs(None))
        order = scored.order()
        return scored, order[sweep.known[order]] if self.of_lane else order

    def _sensible(self, ball: _Ball, rows: Array) -> Array:
        """The layouts of a grid without those that miss a must about their place by more than a step.

        The record's own layout is among them, and some are left whatever is asked for.
        """
        present = np.array([self.present.over, self.present.up, self.present.bearing])
        rows = np.concatenate([_places.on_ball(present[None], ball.plan.radius), rows])
        kept = np.ones(len(rows), dtype=bool)
        reach = _places.COARSE
        places = _figures.of_places(rows, self.present, ball.pin, ball.plan.radius)
        for want in self.asked:
            if want.must and want.name in places:
                step = reach.turn if want.name == "turned" else reach.arc
                pair = (places[want.name],) * 2
                off = want.miss(pair) * want.figure.step
                if kept.any():
                    self._note(want, pair)
                kept &= off <= step
        return rows[kept] if kept.any() else rows

    def _scored(self, sweep: _Sweep, of_lane: Mapping[str, Pair]) -> Score:
        """The score of layouts by these figures of the lane, and all others."""
        return _figures.score(self.asked, sweep.figures | dict(of_lane), sweep.used)

    def _note(self, want: Wanted, pair: Pair) -> None:
        """Keep in mind what is possible of a figure, and how near a want comes to being met."""
        low, high = np.asarray(pair[0]), np.asarray(pair[1])
        known = np.isfinite(low + high)
        if not known.any():
            return
        ends = (float(low[known].min()), float(high[known].max()))
        old = self.possible.get(want.name, ends)
        self.possible[want.name] = (min(old[0], ends[0]), max(old[1], ends[1]))
        # one of a range's ends is enough to say that the figure reaches there
        least = float(np.min(want.miss(pair)))
        self.least[want.name] = min(self.least.get(want.name, math.inf), least)

    def _far_apart(self, sweep: _Sweep, count: int) -> NDArray[np.intp]:
        """Layouts from end to end of the flare potential, so that none is guessed far from a shot."""
        missed = self._scored(sweep, {}).missed
        sound = np.flatnonzero(missed == missed.min())
        flare = np.nan_to_num(sweep.found.outcomes.flare[sound])
        by_flare = sound[np.argsort(flare, kind="stable")]
        steps = np.unique(np.linspace(0, len(by_flare) - 1, count).round().astype(int))
        return np.asarray(by_flare[steps])

    def _promising(self, sweep: _Sweep, count: int) -> NDArray[np.intp]:
        """Layouts that were not rolled and by the shots so far look the best, half of them of different
        kinds."""
        order = self._guessed(sweep)
        order = order[~sweep.known[order]]
        radius = sweep.ball.plan.radius
        first = _places.kinds(sweep.rows, order[: 8 * count], radius, *NEXT, count // 2)
        rest = order[~np.isin(order, first)][: count - len(first)]
        return np.concatenate([first, rest]).astype(np.intp)

    def _roll_many(self, cases: Sequence[tuple[_Sweep, NDArray[np.intp]]]) -> None:
        """Roll some layouts of each sweep, and keep what they came to."""
        wanted = [(sweep.found, which) for sweep, which in cases]
        rolled = shots(wanted, self.first, self.release, self.of_lane)
        for (sweep, which), figures in zip(cases, rolled, strict=True):
            self.rolled += len(which)
            sweep.values[which] = np.column_stack([figures[name] for name in sweep.names])
            sweep.known[which] = True
            for want in self.asked:
                if want.name in figures:
                    self._note(want, (figures[want.name],) * 2)
            known = sweep.features[which], sweep.values[which]
            self.shots.setdefault(sweep.ball.line, []).append(known)

    def _guessed(self, sweep: _Sweep) -> NDArray[np.intp]:
        """A sweep's layouts from the best to the worst, with guesses for those that were not rolled."""
        return self._scored(sweep, sweep.pairs(self._fitted(sweep.ball.line))).order()

    def _fitted(self, line: int) -> _Guess | None:
        """What all shots of a ball have in common; None where none has all figures that are wanted."""
        used, values = map(np.concatenate, zip(*self.shots[line], strict=True))
        known = np.isfinite(values).all(axis=1)
        if not known.any():
            return None
        used, values = used[known], values[known]
        mean, size = used.mean(axis=0), np.maximum(used.std(axis=0), 1e-9)
        table = _quadratic((used - mean) / size)
        # a little weight on small slopes keeps figures that hardly differ from ruling the rest
        square = table.T @ table + 1e-3 * len(used) * np.eye(table.shape[1])
        slopes = np.linalg.solve(square, table.T @ values)
        rest = np.median(np.abs(values - table @ slopes), axis=0)
        return _Guess(self.of_lane, mean, size, slopes, rest)

    # --- single layouts -----------------------------------------------------------------------

    def _single(self, ball: _Ball, row: Array) -> _Single:
        """One layout, planned, and rolled where a want needs that; each only once."""
        key = (ball.line, *row.tolist())
        if key in self.known:
            return self.known[key]
        over, up, bearing = key[1:]
        pin = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
        layout = PlacementLayout(by="placement", pin=pin, bearing=bearing)
        planned = plan(ball.plan.job.model_copy(update={"layout": layout}), self.rules)
        single = _Single(ball, planned)
        single.pairs = _figures.of_plan(planned, self.present, ball.pin)
        if self.of_lane:
            self._roll(single)
        single.used, single.used_by = most_used(planned)
        self._judge(single)
        self.known[key] = single
        return single

    def _roll(self, single: _Single) -> None:
        single.shot = roll(under(self.first, single.plan), self.release)
        self.rolled += 1
        told = _figures.of_shot(single.shot)
        single.pairs |= {name: (value, value) for name, value in told.items()}
        for want in self.asked:
            if want.name in told:
                self._note(want, (np.array(told[want.name]),) * 2)

    def _judge(self, single: _Single) -> None:
        """How a layout stands to every want whose figure is there."""
        results = []
        for want in self.asked:
            if want.name not in single.pairs:
                continue
            low, high = single.pairs[want.name]
            miss = float(want.miss((np.array(low), np.array(high))))
            result = Result(want, low, high, miss, single.apart.get(want.name))
            if not result.told_apart and result.met and _differs(want):
                assert result.apart is not None
                short = result.apart.uncertainty - abs(result.apart.value)
                result = result._replace(miss=max(short / want.figure.step, 2.0 * _figures.NEAR))
            results.append(result)
        single.results = tuple(results)

    def _refined(self, seeds: list[_Seed]) -> list[list[_Single]]:
        """For each seed what was planned round it, the best first."""
        best = [[seed] for seed in seeds]
        for n, steps in enumerate(_places.NEAR):
            fine = n >= _places.FINE
            if fine:
                best.sort(key=lambda each: each[0].key)
            going = best[:KEPT] if fine else best
            found = self._round([each[0] for each in going], steps, TRIED if fine else 1)
            best[: len(going)] = found
            self._tell(0.7 + 0.2 * (n + 1) / len(_places.NEAR))
        groups = []
        for n, each in enumerate(best):
            singles = {id(s): s for s in (self._single(seed.ball, seed.row) for seed in each)}
            groups.append(sorted(singles.values(), key=lambda single: single.key))
            self._tell(0.9 + 0.05 * (n + 1) / len(best))
        return groups

    def _round(self, seeds: list[_Seed], steps: _places.Steps, most: int) -> list[list[_Seed]]:
        """The best layouts, so many at most, of a grid round each seed."""
        own: dict[int, list[int]] = {}  # which seeds are of a ball, by its line
        for k, seed in enumerate(seeds):
            own.setdefault(seed.ball.line, []).append(k)
        sweeps, abouts = [], []
        for some in own.values():
            ball = seeds[some[0]].ball
            centers = np.array([seeds[k].row for k in some])
            rows, about = _places.around(centers, steps, ball.plan.radius)
            sweeps.append(self._swept(ball, rows))
            abouts.append(about)
        if self.of_lane:
            looked = map(self._looked_at, sweeps, abouts)
            self._roll_many(list(zip(sweeps, looked, strict=True)))
        result: list[list[_Seed]] = [[] for _ in seeds]
        for some, sweep, about in zip(own.values(), sweeps, abouts, strict=True):
            scored, order = self._in_order(sweep)
            for n, k in enumerate(some):
                best = order[about[order] == n][:most]
                result[k] = [sweep.seed(i, scored) for i in best.tolist()]
        return result

    def _looked_at(self, sweep: _Sweep, about: NDArray[np.intp]) -> NDArray[np.intp]:
        """The layouts that are rolled on grids round some: what each is about, and what looks best."""
        order = self._guessed(sweep)
        grids = np.arange(len(about)).reshape(about[-1] + 1, -1)
        middle = grids[:, grids.shape[1] // 2]
        best = [order[about[order] == n][:LOOKED] for n in range(len(grids))]
        return np.unique(np.concatenate([*best, middle]))

    def _finish(self, single: _Single) -> None:
        """Draw the chance of being illegal, and how sure differences from other jobs' shots are."""
        if single.shot is None:
            self._roll(single)
        drawn = monte_carlo(single.plan.job, DRAWS)
        single.chance = illegal(drawn, limits(single.plan.checks))
        low, high = chance_bounds(single.chance.any, DRAWS)
        single.pairs[CHANCE] = (100.0 * (1.0 - high), 100.0 * (1.0 - low))
        for want in self.asked:
            if want.than is not None and want.name in OF_SHOT:
                other = under(self.first, self.others[want.than])
                rows = compare(other, [single.plan], release=self.release)[0]
                named = {row.name: row for row in rows}
                if OF_SHOT[want.name] in named:
                    single.apart[want.name] = named[OF_SHOT[want.name]]
        self._judge(single)

    def _picked(self, groups: list[list[_Single]]) -> list[_Single]:
        """A few that differ, the best first; each finished before it is compared with the rest."""
        heap = [(group[0].key, n) for n, group in enumerate(groups)]
        heapify(heap)
        picked: list[_Single] = []
        while heap and len(picked) < MOST:
            _, n = heappop(heap)
            best = groups[n][0]
            if any(_alike(best, other) for other in picked):
                continue
            if best.chance is None:
                self._finish(best)
                groups[n].sort(key=lambda single: single.key)
                heappush(heap, (groups[n][0].key, n))
                continue
            if picked and (
                best.missed > picked[0].missed
                or (len(picked) >= LEAST and best.cost > picked[0].cost + DEARER)
            ):
                break
            picked.append(best)
            self._tell(0.95 + 0.05 * len(picked) / MOST)
        return picked

    def _proposals(self, picked: list[_Single]) -> tuple[Proposal, ...]:
        proposals = []
        for single in picked:
            assert single.chance is not None
            assert single.shot is not None
            dearer = single.cost - picked[0].cost
            alike = single.dropped == picked[0].dropped and abs(dearer) < EQUAL
            if single.dropped:
                alike = alike and round(single.key[1] - picked[0].key[1], 6) == 0.0
            proposals.append(
                Proposal(
                    single.ball.line, single.plan, single.results, single.dropped, single.cost,
                    dearer, alike and single is not picked[0], single.chance, single.used_by,
                    single.used, single.shot,
                )
            )  # fmt: skip
        return tuple(proposals)

    def _impossible(self) -> tuple[Impossible, ...]:
        """Wants that nothing which was looked at meets."""
        return tuple(
            Impossible(want, *self.possible[want.name])
            for want in self.asked
            if want.must and self.least.get(want.name, 0.0) > _figures.NEAR
        )


def _differs(want: Wanted) -> bool:
    """Whether a want is only met by a difference: its range has no 0."""
    return want.than is not None and not (
        (want.least is None or want.least <= 0.0) and (want.most is None or want.most >= 0.0)
    )


def _alike(one: _Single, other: _Single) -> bool:
    """Whether two are one ball, laid out within what a driller marks no better."""
    if one.ball.line != other.ball.line:
        return False
    radius = one.plan.radius
    rows = one.layout[None]
    return bool(_places.same(rows, other.layout, radius, _places.APART, _places.TURNED)[0])


def most_used(planned: Plan) -> tuple[float, str]:
    """The largest share of a static limit, at the worst of the arm's range, and which weight uses it."""
    shares = [(share_of_limit(planned, c), c.name) for c in planned.checks if c.name in STATICS]
    return max(shares, key=lambda each: each[0])
