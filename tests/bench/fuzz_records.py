"""Run very many damaged and extreme records through the command line, and name each that it fails on.

    python tests/bench/fuzz_records.py [--records 100000] [--first 0] [--each 200]

Every ``each``-th record is an extreme one that is possible; the others are damaged. A failure names the
seed that makes the record again. Exit code 1 where there was one.
"""

import argparse
import runpy
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path

DAMAGE = Path(__file__).parents[1] / "property" / "test_damage.py"


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--records", type=int, default=100_000, help="how many records")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--each", type=int, default=200, help="after how many an extreme one comes")
    args = parser.parse_args()
    damage = runpy.run_path(str(DAMAGE))
    pairs = [(kind, words) for kind in damage["EXTREMES"] for words in damage["SHORTLY"]]
    codes: Counter[int] = Counter()
    failed = 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for seed in range(args.first, args.first + args.records):
            try:
                if seed % args.each:
                    code = damage["judge_damaged"](seed, folder / "new.json")
                else:
                    kind, words = pairs[seed // args.each % len(pairs)]
                    code = damage["judge_extreme"](kind, words, seed, folder)
            except Exception:
                failed += 1
                print(f"seed {seed}:", traceback.format_exc()[-2000:], sep="\n", flush=True)
            else:
                codes[code] += 1
            done = seed + 1 - args.first
            if done % 10_000 == 0:
                print(f"{done} records, {failed} failed", file=sys.stderr, flush=True)
    print(f"{failed} failed; exit codes: {dict(sorted(codes.items()))}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
