"""How long a long list of balls takes at the check-in desk: reading, judging, and each way out.

    python tests/bench/bench_checkin.py [ROWS]

Time of the processor. Under 5 s is asked for 10,000 rows with the table made; JSON, and the log of the
first thousand balls, are told apart. Not a test: no machine is quiet enough to fail on it.
"""

import random
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from layoutkit.bench.checkin import COLUMNS, ball_table, check_in, entries_of
from layoutkit.job.built_in_rules import rule_set
from layoutkit.job.record import Scale
from layoutkit.output.checkin_log import log_bytes
from layoutkit.output.checkin_report import checkin_csv, checkin_dict, checkin_text

SECONDS = 5.0


def table(rows: int) -> str:
    """An invented list, half of it with raw readings."""
    chance = random.Random(1)
    lines = [",".join(COLUMNS)]
    for n in range(rows):
        statics = [f"{chance.gauss(0.4, 0.5):.2f}" for _ in range(3)]
        halves = [chance.gauss(0.3, 0.4) for _ in range(3)]
        readings = [f"{0.05 + chance.gauss(h, 0.03):.2f}" for each in halves for h in (each, -each)]
        raw = n % 2
        cells = [*(statics if not raw else [""] * 3), *(readings if raw else [""] * 6)]
        lines.append(
            f"{n},Demo {n},Demo ball,S{n},8.55,{chance.uniform(10.2, 15.8):.2f},{','.join(cells)},"
            "3,yes,no,0,"
        )
    return "\n".join(lines) + "\n"


def main() -> None:
    """Time each step once and say whether the whole is quick enough."""
    rows = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    total = 0.0

    def timed(what: str, call: Callable[[], Any], counts: bool = True) -> Any:
        nonlocal total
        start = time.process_time()
        result = call()
        seconds = time.process_time() - start
        total += seconds if counts else 0.0
        print(f"{what:<8} {seconds:6.2f} s", flush=True)
        return result

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "balls.csv"
        path.write_text(table(rows), encoding="utf-8")
        read = timed("read", lambda: ball_table(str(path)))
        entries = timed("entries", lambda: entries_of(read))
        scale = Scale(arm=4.275, pan_lever=6.0)
        result = timed("judge", lambda: check_in(entries, rule_set("usbc-2020"), scale))
        timed("text", lambda: checkin_text(result, "fraction", read))
        timed("table", lambda: checkin_csv(result, read))
        timed("json", lambda: checkin_dict(result, read), counts=False)
        first = result._replace(verdicts=result.verdicts[:1000], moved=())
        timed("log", lambda: log_bytes(first), counts=False)
    print(f"{rows} rows in {total:.2f} s, {SECONDS:g} s asked")


if __name__ == "__main__":
    main()
