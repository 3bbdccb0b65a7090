"""How many layouts a second one core computes and judges, and how far from single plans they are.

    python tests/bench/bench_map.py

At least 100,000 layouts a second are asked of `variants.layouts`, of an oval with vents 120,000, of a
plugged ball 20,000, within 1e-3 oz of `plan`. Beside that stands how many layouts take as long as one
plan, a ratio that says the same on a busy machine. Not a test of the speed: no machine is quiet enough
to fail on it.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, before numpy starts its own threads
os.environ.setdefault("OMP_NUM_THREADS", "1")

import time
from pathlib import Path

import numpy as np

from layoutkit import load_job, plan
from layoutkit.job.record import AnglesLayout
from layoutkit.planning import variants
from layoutkit.planning.unknown import open_fields

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
LAYOUTS, COMPARED, ASKED = 100_000, 500, 100_000
ASKED_OF_OVAL, ASKED_OF_OLD = 120_000, 20_000


def main() -> None:
    """Print the rate and the largest difference for every sample job."""
    rng = np.random.default_rng(11)
    for path in sorted(SAMPLES.glob("*.json")):
        job = load_job(path)
        if open_fields(job):
            continue  # a map needs what such a record leaves open
        # old holes turn with the layout, which is slower
        number = LAYOUTS if job.history is None else LAYOUTS // 20
        d, v = rng.uniform(-180.0, 180.0, (2, number))
        p = rng.uniform(0.5, 6.5, number)
        begun = time.process_time()
        found = variants.layouts(job, d, p, v)
        rate = number / (time.process_time() - begun)
        thumb = job.bowler.grip.thumb
        asked = ASKED if thumb is None or thumb.oval is None else ASKED_OF_OVAL
        asked = asked if job.history is None else ASKED_OF_OLD
        times = []
        for _ in range(20):
            begun = time.process_time()
            plan(job.model_copy(update={"tolerances": None}))
            times.append(time.process_time() - begun)
        worst = 0.0
        for k in range(COMPARED):
            layout = AnglesLayout(
                by="angles",
                angle_at_pin=float(d[k]),
                pin_to_pap=float(p[k]),
                angle_at_pap=float(v[k]),
            )
            s = plan(job.model_copy(update={"layout": layout})).statics
            for name in ("side_oz", "finger_oz", "top_oz"):
                worst = max(worst, abs(getattr(found, name)[k] - getattr(s, name)))
        print(
            f"{path.stem}: {rate:,.0f} layouts a second (asked: {asked:,}), "
            f"{rate * min(times):,.0f} in the time of a plan, worst {worst:.1e} oz"
        )


if __name__ == "__main__":
    main()
