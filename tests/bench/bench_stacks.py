"""How a plan's time and memory grow with old holes that all meet: 5, 10 and 20 of them.

    python tests/bench/bench_stacks.py

Each is planned in a process of its own, whose time and most memory are told, above those of a plan
without old holes. Both are asked to grow no faster than the number of holes; ends with 1 where one
does. Asked besides of 20: 0.5 s and 300 MB for the whole process. Linux only.
"""

from __future__ import annotations

import copy
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "13_plug_and_redrill.json"
COUNTS, TRIES = (0, 5, 10, 20), 3
MOST_MB, MOST_SECONDS = 300.0, 0.5
NOISE_MB = 10.0  # what numpy's own allocations differ by
NOISE_SECONDS = 0.05  # of a whole process, most of which is its start
PLANNED = """
import json, pathlib, re, sys, time
from layoutkit import parse_job, plan
plan(parse_job(json.load(sys.stdin)))
most = re.search(r"VmHWM:\\s*(\\d+)", pathlib.Path("/proc/self/status").read_text())[1]
print(time.process_time(), int(most) / 1024.0)
"""


def stacked(holes: int) -> dict[str, Any]:
    """The sample on a ball whose thumb was plugged and drilled again, a little further each time."""
    record: dict[str, Any] = json.loads(SAMPLE.read_text())
    first = record["history"]["holes"][2]
    record["history"]["holes"] = []
    for n in range(holes):
        hole = copy.deepcopy(first)
        hole["name"] = f"old {n}"
        hole["from_pin"] += n / 48.0
        hole["bearing"] += 0.7 * (n % 5)
        record["history"]["holes"].append(hole)
    return record


def planned(holes: int) -> tuple[float, float]:
    """Processor time in s and most memory in MB of a process that plans; the best of a few."""
    runs = []
    for _ in range(TRIES):
        done = subprocess.run(
            [sys.executable, "-c", PLANNED],
            input=json.dumps(stacked(holes)),
            capture_output=True,
            text=True,
            check=True,
        )
        seconds, most = map(float, done.stdout.split())
        runs.append((seconds, most))
    return min(r[0] for r in runs), min(r[1] for r in runs)


def main() -> int:
    """Print time and memory, and whether they grow as asked."""
    found = {n: planned(n) for n in COUNTS}
    base = found[0]
    for n, (seconds, most) in found.items():
        print(f"{n:2} old holes: {seconds:.2f} s, {most:.0f} MB")
    (seconds, most), (first, little) = found[COUNTS[-1]], found[COUNTS[1]]
    times = COUNTS[-1] / COUNTS[1]
    slow = seconds - base[0] > times * max(first - base[0], NOISE_SECONDS)
    large = most - base[1] > times * max(little - base[1], NOISE_MB)
    print(f"asked of the last: {MOST_SECONDS} s, {MOST_MB:.0f} MB")
    print("grows faster than the holes" if slow or large else "grows no faster than the holes")
    return int(slow or large)


if __name__ == "__main__":
    sys.exit(main())
