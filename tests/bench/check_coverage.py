"""How often two stated deviations of a fit to a shop's weighed jobs hold the truth, over many shops.

    python tests/bench/check_coverage.py [--shops 60]

The shops are invented, from a fixed seed, with arms from 2.3 to 4.6 in and as few jobs as can be
fitted. Ends with 1 where the share of all fitted numbers within two deviations is not 0.90 to 0.99.
The test of the fit asks the same of fewer shops.
"""

from __future__ import annotations

import argparse
import runpy
import sys
from pathlib import Path

import numpy as np

TESTS = Path(__file__).parents[1]
SEED, FIRST_SHOP, READING_OZ = 5, 100, 0.1
LEAST, MOST = 0.90, 0.99


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--shops", type=int, default=60, help="how many shops")
    count = parser.parse_args().shops
    record = runpy.run_path(str(TESTS / "conftest.py"))["RECORD"]
    shop = runpy.run_path(str(TESTS / "validation" / "test_shop.py"))
    rng = np.random.default_rng(SEED)
    rows = []
    for number in range(FIRST_SHOP, FIRST_SHOP + count):
        truth = shop["drawn"](rng)
        jobs = shop["weighed_shop"](number, record, shop["FEWEST_JOBS"], truth, READING_OZ)
        rows.append(shop["covered"](shop["fit_shop"](jobs), truth))
    deviations = np.array(rows)
    inside = deviations <= 2.0
    share = float(inside.mean())
    arm, shell, filler = inside.mean(axis=0)
    print(
        f"{count} shops: {share:.3f} of all numbers within two stated deviations (arm {arm:.3f}, "
        f"shell {shell:.3f}, filler {filler:.3f}); {(deviations <= 1.0).mean():.3f} within one; "
        f"the farthest at {deviations.max():.2f}"
    )
    return 0 if LEAST <= share <= MOST else 1


if __name__ == "__main__":
    sys.exit(main())
