"""How long an aim takes and how near the pocket DOP853 finds its line, over 40 random releases.

    python tests/bench/bench_aim.py

Asked: an aim in 0.2 s; on its line, by DOP853 (scipy) at rtol 1e-12, the pocket within 0.05 boards and
the entry angle within 0.02 degrees. Invented releases on the samples, both hands.
"""

import math
import time
from pathlib import Path

import numpy as np
from bench_roll import by_scipy

from layoutkit import load_job, plan
from layoutkit.job.record import Lane, Release
from layoutkit.lane.aim import POCKET, aim, on_line
from layoutkit.lane.start import BOARD, ball_of, start_of

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
RELEASES = 40


def main() -> None:
    """Print the times and what DOP853 says of the lines."""
    r = np.random.default_rng(20261129)
    plans = []
    for number in ("01", "02", "03", "04", "05", "10"):
        job = load_job(next(SAMPLES.glob(f"{number}*")))
        # the lane of the reference
        plans.append(plan(job.model_copy(update={"lane": Lane()})))
    times, pins, angles, none = [], [], [], 0
    for i in range(RELEASES):
        job = plans[i % len(plans)]
        release = Release(
            speed=r.uniform(14.0, 19.0), revs=r.uniform(150.0, 450.0),
            axis_rotation=r.uniform(15.0, 65.0), axis_tilt=r.uniform(2.0, 22.0),
        )  # fmt: skip
        begun = time.process_time()
        line = aim(job, release).aim
        times.append(time.process_time() - begun)
        if line is None:
            none += 1
            continue
        ball, axes = ball_of(job)
        end = by_scipy(ball, start_of(job, on_line(release, line), axes), 1e-12)
        pins.append(abs(20.0 + end[1] / BOARD - POCKET))
        angles.append(abs(math.degrees(math.atan2(end[3], end[2])) - line.entry_angle))
    print(f"{RELEASES} aims, {none} of them impossible: median {np.median(times) * 1e3:.0f} ms, longest "
          f"{max(times) * 1e3:.0f} (asked: 200)")  # fmt: skip
    print(f"from the pocket by DOP853: median {np.median(pins):.4f}, worst {max(pins):.4f} boards "
          f"(asked: 0.05); entry angle worst {max(angles):.4f} degrees (asked: 0.02)")  # fmt: skip


if __name__ == "__main__":
    main()
