"""Whether `choose` finds what a search of single plans finds, and names what is impossible.

Every layout of a grid over the ball is planned, and rolled where a want needs a shot, one by one; none
may be better than the best proposal by more than `SLACK`. Then every must of every proposal is looked at
again from its printed record, and wants that no ball meets have to be named alone.

    python tests/bench/check_choose.py [--pin INCHES] [--turn DEGREES] [--jobs PART,PART] [--impossible]

The default grid of 1/2 in and 10 degrees takes some minutes a job, more where shots are wanted.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from pathlib import Path

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

# both hands, symmetric and not, no thumb, an oval, a plugged ball; with shots and without
JOBS = (
    ("01_right", ["side=1:1.25@2", "differential=0.055:@1", "marks_clear=0.25:", "moved=:3@1"]),
    ("02_left", ["board_at_pins=:14@1", "flare_width=5:@1", "rings_clear=0.3:@1"]),
    ("03_right", ["finger=0.5:0.6@1", "rg_about_pap=2.55:@1", "moved=1:2"]),
    ("04_right", ["flare_width=2:2.5", "side=-0.25:0@1", "marks_clear=1/4:"]),
    ("05_no", ["top=:0@1", "differential=:0.03@1", "marks_clear=0:"]),
    ("08_left", ["pin=above the fingers", "side=-0.5:0.5@2", "turned=:60@1"]),
    ("10_far", ["marks_clear=1/2:", "side=0.5:0.75@1", "intermediate_differential=0.01:@1"]),
    ("11_with", ["entry_angle=5:@1", "flare_width=:3@1"]),
    ("12_oval", ["finger=-0.5:0@1", "top=0:1@1", "pin=between ring hole and PAP"]),
    ("13_plug", ["side=0:1@1", "moved=2:@1", "marks_clear=0:"]),
)
REFUSED = "14_first"  # it has no PAP

IMPOSSIBLE = (
    ("differential", "differential=0.12:"), ("differential", "differential=:-0.05"),
    ("intermediate_differential", "intermediate_differential=0.1:"),
    ("rg_about_pap", "rg_about_pap=:2.3"), ("rg_about_pap", "rg_about_pap=2.9:"),
    ("moved", "moved=13.6:"), ("side", "side=6:"), ("side", "side=:-6"),
    ("finger", "finger=6:"), ("finger", "finger=:-6"), ("top", "top=7:"), ("top", "top=:-7"),
    ("flare_width", "flare_width=12:"), ("ring_spacing", "ring_spacing=3:"),
    ("rings_clear", "rings_clear=6.9:"), ("marks_clear", "marks_clear=9:"),
    ("entry_angle", "entry_angle=20:"), ("entry_angle", "entry_angle=:-20"),
    ("board_at_pins", "board_at_pins=38:"), ("board_at_pins", "board_at_pins=:2"),
)  # fmt: skip


def laid(job: Job, over: float, up: float, bearing: float) -> Job:
    """The job under a layout by placement."""
    pin = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
    layout = PlacementLayout(by="placement", pin=pin, bearing=bearing)
    return job.model_copy(update={"layout": layout})


class Judge:
    """Single layouts of one job, judged by their own plans and shots."""

    def __init__(self, job: Job, wants: Wants) -> None:
        cleared = {"as_drilled": None, "weighings": None}
        self.job = for_other_layouts(job).model_copy(update=cleared)
        self.first = plan(self.job)
        marks = self.first.marks
        self.present = figures.Present(
            marks.pin.over, marks.pin.up, self.first.layout.bearing or 0.0
        )
        self.pin = None if wants.pin is None else place_of(self.first, wants.pin)
        self.asked = [w for w in figures.wanted(wants, {}) if w.name != figures.CHANCE]
        self.release = released(self.first)

    def score(self, over: float, up: float, bearing: float) -> tuple[float, float]:
        """By how many steps musts are missed, and the cost of the wishes."""
        planned = plan(laid(self.job, over, up, bearing))
        pairs = figures.of_plan(planned, self.present, self.pin)
        if any(w.figure.lane for w in self.asked):
            shot = figures.of_shot(roll(under(self.first, planned), self.release))
            pairs |= {name: (value, value) for name, value in shot.items()}
        excess = cost = 0.0
        for want in self.asked:
            low, high = pairs[want.name]
            off = float(want.miss((np.array(low), np.array(high))))
            if want.weight is None:
                excess += off * (figures.HEAVY if want.name == figures.FAILS else 1.0)
            else:
                cost += want.weight * off * off
        return round(excess, 6), cost


def check_job(name: str, texts: list[str], pin: float, turn: float) -> bool:
    """Whether no layout of the grid is better, and every must of every proposal holds again."""
    (path,) = SAMPLES.glob(f"{name}*.json")
    job, wants = load_job(path), read_wants(texts)
    begun = time.perf_counter()
    choice = choose(job, wants)
    took = time.perf_counter() - begun
    judge = Judge(job, wants)
    scores = []
    for p in choice.proposals:
        again = parse_job(json.loads(json.dumps(dump_job(p.plan.job)))).layout
        assert isinstance(again, PlacementLayout)
        assert again.bearing is not None
        scores.append(judge.score(again.pin.over, again.pin.up_net, again.bearing))
    holds = all(
        (s[0] == 0.0) == (not p.dropped) for s, p in zip(scores, choice.proposals, strict=True)
    )
    grid = places.whole_ball(judge.first.radius, places.Steps(pin, turn))
    begun = time.perf_counter()
    best = min((judge.score(*row), row) for row in map(tuple, grid.tolist()))
    fine = holds and (best[0][0], best[0][1] + SLACK) >= scores[0]
    print(
        f"{'ok  ' if fine else 'MISS'} {name}: proposal {scores[0][0]:.3f}, {scores[0][1]:.3f} in "
        f"{took:.1f} s; best of {len(grid)} single layouts {best[0][0]:.3f}, {best[0][1]:.3f} at "
        f"{best[1]} in {time.perf_counter() - begun:.0f} s",
        flush=True,
    )  # fmt: skip
    return fine


def check_impossible() -> bool:
    """Whether each impossible want is named, and no other."""
    job, fine = load_job(next(SAMPLES.glob("01_right*.json"))), True
    for name, text in IMPOSSIBLE:
        choice = choose(job, read_wants([text, "marks_clear=-1:" if name == "top" else "top=-3:3"]))
        named = [each.want.name for each in choice.impossible]
        if named != [name] or name not in choice.proposals[0].dropped:
            fine = False
            print(f"MISS {text}: named {named}", flush=True)
    print("ok   impossible wants" if fine else "MISS impossible wants", flush=True)
    return fine


def main() -> int:
    """Run the checks that were asked for; 1 where one fails."""
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("--pin", type=float, default=0.5)
    p.add_argument("--turn", type=float, default=10.0)
    p.add_argument("--jobs", default="", help="names of samples, as 01_right,08_left")
    p.add_argument("--impossible", action="store_true", help="only the impossible wants")
    args = p.parse_args()
    fine = True
    if not args.impossible:
        chosen = [j for j in JOBS if not args.jobs or j[0] in args.jobs.split(",")]
        results = [check_job(name, texts, args.pin, args.turn) for name, texts in chosen]
        fine = all(results)
        try:
            choose(load_job(next(SAMPLES.glob(f"{REFUSED}*.json"))))
            fine = False
        except InputError as error:
            print(f"refused: {error}")
    if args.impossible or not args.jobs:
        fine = check_impossible() and fine
    return 0 if fine else 1


if __name__ == "__main__":
    sys.exit(main())
