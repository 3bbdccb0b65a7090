"""How long the command line takes as a whole process, as ratios within one run.

    python tests/bench/bench_cli.py

Prints the time of `layoutkit plan JOB --json` over that of the imports which no such program can
do without (argparse, json, numpy and pydantic; at most 1.5 is asked), the cold time and the size of
a work sheet (under 2.5 s and 300 kB), and what the other commands take. The bytecode of the package
is written first, as any installation does. Not a test: no machine is quiet enough to fail on it.
"""

import compileall
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
JOB = str(ROOT / "sample_bowlers/01_right_asymmetric.json")
REFERENCE = ["-c", "import argparse, json, numpy; from pydantic import BaseModel"]
ROUNDS = 25
SHEETS = 5
RATIO, SHEET_SECONDS, SHEET_BYTES = 1.5, 2.5, 300_000


def seconds(arguments: list[str]) -> float:
    """Wall time of one run of the interpreter."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPATH"] = str(ROOT)
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, *arguments], env=environment, stdout=subprocess.DEVNULL, check=False
    )
    if done.returncode not in (0, 1, 3):
        sys.exit(f"{arguments} ended with {done.returncode}")
    return time.perf_counter() - start


def main() -> None:
    """Interleave the runs, so that a busy moment falls on all of them, and report the medians."""
    compileall.compile_dir(ROOT / "layoutkit", quiet=1)
    commands = {
        "reference": REFERENCE,
        "plan --json": ["-m", "layoutkit", "plan", JOB, "--json"],
        "plan (text)": ["-m", "layoutkit", "plan", JOB],
        "weigh": ["-m", "layoutkit", "weigh", JOB, "--side", "0.5"],
        "convert": [
            "-m",
            "layoutkit",
            "convert",
            "--to",
            "distances",
            "angle_at_pin=50",
            "pin_to_pap=4.5",
            "angle_at_pap=35",
        ],
        "--help": ["-m", "layoutkit", "--help"],
    }
    times: dict[str, list[float]] = {name: [] for name in commands}
    for arguments in commands.values():
        seconds(arguments)  # warms the file cache
    for _ in range(ROUNDS):
        for name, arguments in commands.items():
            times[name].append(seconds(arguments))
    reference = statistics.median(times["reference"])
    for name, taken in times.items():
        median = statistics.median(taken)
        limit = f"  (at most {RATIO} asked)" if name == "plan --json" else ""
        print(f"{name:12} {1000 * median:6.0f} ms  {median / reference:5.2f} of reference{limit}")
    with tempfile.TemporaryDirectory() as place:
        sheet = Path(place) / "sheet.pdf"
        taken = [
            seconds(["-m", "layoutkit", "plan", JOB, "--json", "--sheet", str(sheet)])
            for _ in range(SHEETS)
        ]
        size = sheet.stat().st_size
    print(
        f"{'--sheet':12} {1000 * statistics.median(taken):6.0f} ms  (under {SHEET_SECONDS} s "
        f"asked), {size / 1000:.0f} kB  (under {SHEET_BYTES / 1000:.0f} kB asked)"
    )


if __name__ == "__main__":
    main()
