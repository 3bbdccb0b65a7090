"""How long draws take: for the command line, for the window, and of stacks of old holes.

    python tests/bench/bench_sure.py

Processor time of this process alone, and beside it how many plans of the same record that is: a ratio
that says the same on a busy machine. Asked: 100,000 draws within 2 s; the window's draws within 0.25 s,
no piece longer than 30 ms; 2,000 draws of a ball with 20 old holes within 3 s. Not a test: no machine
is quiet enough to fail on it.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, before numpy starts its own threads
os.environ.setdefault("OMP_NUM_THREADS", "1")

import time
from collections.abc import Callable
from pathlib import Path

from bench_stacks import stacked

from layoutkit import load_job, parse_job, plan
from layoutkit.job.record import Job
from layoutkit.planning.certainty import DRAWS, gradually, monte_carlo

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
MANY, ASKED = 100_000, 2.0
IN_WINDOW, LONGEST, OLD_HOLES = 0.25, 30.0, 3.0


def seconds(work: Callable[[], object], tries: int = 3) -> float:
    """The least processor time that something takes."""
    times = []
    for _ in range(tries):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def pieces(job: Job) -> list[float]:
    """How long each piece of the window's draws takes."""
    work = gradually(job)
    times = []
    going = True
    while going:
        begun = time.process_time()
        going = next(work, None) is not None
        times.append(time.process_time() - begun)
    return times


def main() -> None:
    """Print times and ratios for the samples with the most to draw."""
    for name in ("01", "11", "12", "13"):
        path = next(SAMPLES.glob(f"{name}_*.json"))
        job = load_job(path)
        one = seconds(lambda job=job: plan(job), 20)
        many = seconds(lambda job=job: monte_carlo(job, MANY), 1)
        runs = [pieces(job) for _ in range(3)]
        window, longest = min(map(sum, runs)), min(map(max, runs))
        print(
            f"{path.stem}: {MANY:,} draws {many:.1f} s (asked: {ASKED:g}), "
            f"{many / MANY / one:.3f} plans a draw; the window's {DRAWS:,} {window:.2f} s "
            f"(asked: {IN_WINDOW:g}), longest piece {longest * 1e3:.0f} ms (asked: {LONGEST:g})"
        )
    old = parse_job(stacked(20))
    one, draws = seconds(lambda: plan(old), 3), seconds(lambda: monte_carlo(old), 2)
    print(
        f"20 old holes: {DRAWS:,} draws {draws:.1f} s (asked: {OLD_HOLES:g}), "
        f"{draws / one:.0f} plans"
    )


if __name__ == "__main__":
    main()
