"""Whether `choose` finds what a search of single plans finds.

Every layout of a grid over the ball is planned, and rolled where a want needs a shot, one by one; none
may be better than the best proposal by more than `SLACK`. Left out is only what cannot be better than a
proposal that meets every must: plans of layouts whose place alone misses a must or costs more than it,
and shots of those that miss another must. Then every must of every proposal is looked at again from its
printed record.

    python tests/bench/check_choose.py [--pin INCHES] [--turn DEGREES] [--jobs PART,PART] [--cores N]
        [--kept FILE.jsonl]

The default grid of 1/2 in and 10 degrees has some 33,000 layouts a job, which take minutes, and more
where shots are wanted. They are computed in pieces by ``--cores`` processes. With ``--kept`` each
finished piece is a line of that file, and a piece that is there already is not computed again; single
plans do not depend on the search, so the file stays good when the search changes.

It printed "ok" last for all of the ten jobs.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import time
from collections.abc import Iterable, Iterator, Mapping
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import NamedTuple

import numpy as np

from layoutkit import InputError, choose, load_job, parse_job, plan, roll
from layoutkit.choosing import figures, places
from layoutkit.choosing.regions import place_of
from layoutkit.job.record import Job, PinPlace, PlacementLayout, dump_job
from layoutkit.job.wants import Wants, read_wants
from layoutkit.lane.aim import released
from layoutkit.lane.roll import under
from layoutkit.planning.placing import for_other_layouts

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
SLACK = 0.05  # of cost: what a sixteenth of an inch and a degree may leave
PIECE = 500  # layouts that are computed and kept together

# both hands, symmetric and not, no thumb, an oval, a plugged ball; with shots and without. Nothing meets
# all of what is wished of one, so that there is something to be better in
JOBS = (
    ("01_right", ["side=1:1.25@2", "differential=0.065:@1", "marks_clear=0.25:", "moved=:1@1"]),
    ("02_left", ["board_at_pins=:10@1", "flare_width=6:@1", "rings_clear=1:@1", "moved=:3@0.5"]),
    ("03_right", ["finger=2:@1", "rg_about_pap=2.65:@1", "moved=1:2", "top=:-1.5@1"]),
    ("04_right", ["flare_width=2:2.5", "side=-1:-0.75@1", "marks_clear=1/2:", "moved=:1@1"]),
    ("05_no", ["top=:-1@1", "differential=:0.02@1", "marks_clear=1:", "moved=:2@0.5"]),
    ("08_left", ["pin=above the fingers", "side=1.5:@2", "turned=:20@1", "top=:-1@1"]),
    (
        "10_far",
        ["marks_clear=1.5:", "side=2.5:@1", "intermediate_differential=0.03:@1", "moved=:1@1"],
    ),
    ("11_with", ["entry_angle=5:@1", "flare_width=:3@1"]),
    ("12_oval", ["finger=-2:-1.5@1", "top=1.5:@1", "pin=between ring hole and PAP"]),
    ("13_plug", ["side=3:@1", "moved=:1@1", "marks_clear=1:", "turned=:20@1"]),
)
REFUSED = "14_first"  # it has no PAP


def laid(job: Job, over: float, up: float, bearing: float) -> Job:
    """The job under a layout by placement."""
    pin = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
    layout = PlacementLayout(by="placement", pin=pin, bearing=bearing)
    return job.model_copy(update={"layout": layout})


class Standing(NamedTuple):
    """How good a layout is, the most telling first: musts missed, by how many steps, and the cost of
    the wishes."""

    missed: float
    excess: float
    cost: float


class Judge:
    """Single layouts of one job, judged by their own plans and shots."""

    def __init__(self, job: Job, wants: Wants) -> None:
        cleared = {"as_drilled": None, "weighings": None}
        self.whole = for_other_layouts(job).model_copy(update=cleared)
        # what scatters changes no figure of a plan, and makes it six times as long
        self.job = self.whole.model_copy(update={"tolerances": None})
        self.first = plan(self.job)
        marks = self.first.marks
        self.present = figures.Present(
            marks.pin.over, marks.pin.up, self.first.layout.bearing or 0.0
        )
        self.pin = None if wants.pin is None else place_of(self.first, wants.pin)
        self.asked = [w for w in figures.wanted(wants, {}) if w.name != figures.CHANCE]
        self.release = released(self.first)

    def placed(self, rows: np.ndarray, most: float) -> np.ndarray:
        """The layouts (n, 3) whose place alone, which is told without a plan, misses no must and costs
        no more than ``most``."""
        there = figures.of_places(rows, self.present, self.pin, self.first.radius)
        fine, cost = np.ones(len(rows), dtype=bool), np.zeros(len(rows))
        for want in self.asked:
            if want.name not in there:
                continue
            off = want.miss((there[want.name],) * 2)
            if want.weight is None:
                fine &= off <= figures.NEAR
            else:
                cost += want.weight * off * off
        return rows[fine & (cost <= most)]

    def score(self, over: float, up: float, bearing: float) -> Standing:
        """How a layout stands to the wants; no better where a must is missed that needs no shot."""
        planned = plan(laid(self.job, over, up, bearing))
        if planned.outcome == "fail" and self.whole.tolerances is not None:
            planned = plan(laid(self.whole, over, up, bearing))  # it may be close with these
        pairs = figures.of_plan(planned, self.present, self.pin)
        standing = self._standing(pairs, [w for w in self.asked if not w.figure.lane])
        if standing.missed or not any(w.figure.lane for w in self.asked):
            return standing
        shot = figures.of_shot(roll(under(self.first, planned), self.release))
        return self._standing(pairs | {n: (v, v) for n, v in shot.items()}, self.asked)

    @staticmethod
    def _standing(
        pairs: Mapping[str, tuple[float, float]], asked: Iterable[figures.Wanted]
    ) -> Standing:
        missed = excess = cost = 0.0
        for want in asked:
            low, high = pairs[want.name]
            off = float(want.miss((np.array(low), np.array(high))))
            if want.weight is not None:
                cost += want.weight * off * off
            elif off > figures.NEAR:
                missed += figures.HEAVY if want.name == figures.FAILS else 1.0
                excess += off
        return Standing(missed, round(excess, 6), cost)


# --- the grid, in pieces --------------------------------------------------------------------------


class Best(NamedTuple):
    """The best layout of a piece of the grid."""

    standing: Standing
    row: tuple[float, ...]


def read_job(name: str, texts: Iterable[str]) -> tuple[Job, Wants]:
    """A sample and what is wanted of it."""
    (path,) = SAMPLES.glob(f"{name}*.json")
    return load_job(path), read_wants(list(texts))


def best_of(name: str, texts: tuple[str, ...], rows: list[tuple[float, ...]]) -> Best:
    """The best of some layouts of one job; for a process of its own."""
    judge = Judge(*read_job(name, texts))
    return min(Best(judge.score(*row), row) for row in rows)


def pieces(
    name: str, texts: tuple[str, ...], grid: list[tuple[float, ...]], step: str, args: Options
) -> Iterator[Best]:
    """The best of each piece of a grid, from the file where it is there already."""
    parts = [grid[n : n + PIECE] for n in range(0, len(grid), PIECE)]
    keys = [json.dumps([name, texts, step, n]) for n in range(len(parts))]
    there = _kept(args.kept)
    left = [n for n, key in enumerate(keys) if key not in there]
    yield from (there[key] for key in keys if key in there)
    begun = time.perf_counter()
    with ProcessPoolExecutor(args.cores) as pool:
        found = pool.map(best_of, [name] * len(left), [texts] * len(left), [parts[n] for n in left])
        for done, (n, best) in enumerate(zip(left, found, strict=True), 1):
            if args.kept:
                with open(args.kept, "a", encoding="utf-8") as file:
                    file.write(json.dumps([keys[n], best]) + "\n")
            rest = (time.perf_counter() - begun) / done * (len(left) - done)
            words = f"{name}: {done} of {len(left)} pieces, {rest / 60.0:.1f} min left"
            print(words, file=sys.stderr, flush=True)
            yield best


def _kept(path: str) -> dict[str, Best]:
    if not path or not Path(path).exists():
        return {}
    lines = [json.loads(line) for line in Path(path).read_text(encoding="utf-8").splitlines()]
    return {key: Best(Standing(*standing), tuple(row)) for key, (standing, row) in lines}


# --- the checks -----------------------------------------------------------------------------------


class Options(NamedTuple):
    """What was asked for: the steps of the grid, processes, and where finished pieces are kept."""

    pin: float
    turn: float
    cores: int
    kept: str


def check_job(name: str, texts: tuple[str, ...], args: Options) -> bool:
    """Whether no layout of the grid is better, and every must of every proposal holds again."""
    job, wants = read_job(name, texts)
    begun = time.process_time()
    choice = choose(job, wants)
    took = time.process_time() - begun
    judge = Judge(job, wants)
    scores = []
    for p in choice.proposals:
        again = parse_job(json.loads(json.dumps(dump_job(p.plan.job)))).layout
        assert isinstance(again, PlacementLayout)
        assert again.bearing is not None
        scores.append(judge.score(again.pin.over, again.pin.up_net, again.bearing))
    holds = all(
        (s.missed == 0.0) == (not p.dropped) for s, p in zip(scores, choice.proposals, strict=True)
    )
    steps = places.Steps(args.pin, args.turn)
    whole = places.whole_ball(judge.first.radius, steps)
    grid = whole if scores[0].missed else judge.placed(whole, scores[0].cost)
    step = f"{args.pin:g} in, {args.turn:g} degrees, {len(grid)} to {scores[0].cost:.6f}"
    none = Best(Standing(math.inf, math.inf, math.inf), ())
    best = min(pieces(name, texts, list(map(tuple, grid.tolist())), step, args), default=none)
    bar = best.standing._replace(cost=best.standing.cost + SLACK)
    fine = holds and bar >= scores[0]
    print(
        f"{'ok  ' if fine else 'MISS'} {name}: proposal {_words(scores[0])} in {took:.1f} s; best of "
        f"{len(whole)} layouts, {len(grid)} of them planned, {_words(best.standing)} at {best.row}"
        f"{'' if holds else '; a must does not hold again'}",
        flush=True,
    )  # fmt: skip
    return fine


def _words(standing: Standing) -> str:
    return f"{standing.missed:g} missed by {standing.excess:.3f}, cost {standing.cost:.3f}"


def main() -> int:
    """Run the checks that were asked for; 1 where one fails."""
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("--pin", type=float, default=0.5)
    p.add_argument("--turn", type=float, default=10.0)
    p.add_argument("--jobs", default="", help="names of samples, as 01_right,08_left")
    p.add_argument("--cores", type=int, default=1, help="processes for the grid")
    p.add_argument("--kept", default="", help="file of finished pieces, to go on from")
    args = p.parse_args()
    options = Options(args.pin, args.turn, args.cores, args.kept)
    chosen = [j for j in JOBS if not args.jobs or j[0] in args.jobs.split(",")]
    results = [check_job(name, tuple(texts), options) for name, texts in chosen]
    fine = all(results)
    try:
        choose(load_job(next(SAMPLES.glob(f"{REFUSED}*.json"))))
        fine = False
    except InputError as error:
        print(f"refused: {error}")
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
