"""Practice problems of thousands of seeds, each solved again from its words by an independent solver.

python tests/bench/check_practice.py [SEEDS [KIND ...]]

Prints by kind how many problems have a fault, the least share of problems in which a slip is named, and
how long a problem takes.
"""

from __future__ import annotations

import runpy
import sys
import time
from collections import Counter
from pathlib import Path

from layoutkit.practice.problems import KINDS, problem

TESTS = Path(__file__).parents[1] / "validation" / "test_practice_problems.py"


def main() -> None:
    """Check every kind."""
    seeds = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    checks = runpy.run_path(str(TESTS))
    bad = 0
    for kind in sys.argv[2:] or KINDS:
        begun, making = time.perf_counter(), 0.0
        faulty, told = 0, 0
        seen: Counter[str] = Counter()
        missed: Counter[str] = Counter()
        for seed in range(seeds):
            start = time.perf_counter()
            asked = problem(kind, seed)
            making += time.perf_counter() - start
            faults = checks["faults"](asked)
            faulty += bool(faults)
            if faults and told < 3:
                told += 1
                print(f"  {kind} {seed}: {'; '.join(faults)}")
            seen.update(slip.name for slip in asked.draft.slips)
            missed.update(checks["unnamed"](asked))
        least = min((1.0 - missed[name] / seen[name] for name in seen), default=1.0)
        bad += faulty + (least < 0.95)
        took = time.perf_counter() - begun
        print(
            f"{kind:17} {seeds} seeds, {faulty} faulty, slips named in {least:.4f} or more, "
            f"{1000.0 * making / seeds:.2f} ms to make, {took:.0f} s in all",
            flush=True,
        )
    print("all right" if bad == 0 else f"{bad} faults")


if __name__ == "__main__":
    main()
