"""How often two stated deviations of a copied grip cover the truth, over many invented balls.

python tests/bench/check_copies.py [BALLS]
"""

from __future__ import annotations

import runpy
import sys
from pathlib import Path

import numpy as np

TESTS = Path(__file__).parents[1] / "validation" / "test_grip_copy.py"


def main() -> None:
    """Print the share of all figures, and of the bridge alone."""
    balls = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    offs = runpy.run_path(str(TESTS))["offs"](balls, 7)
    every = np.concatenate([np.abs(each) for each in offs.values()])
    bridge = np.abs(offs["bridge"])
    print(f"{balls} balls, {len(every)} figures: {np.mean(every <= 2.0):.3f} within two deviations")
    print(f"the bridge alone: {np.mean(bridge <= 2.0):.3f}")


if __name__ == "__main__":
    main()
