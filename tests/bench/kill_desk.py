"""Kill a check-in desk that is typed at without a pause, at chance moments, and look what it kept.

    python tests/bench/kill_desk.py [KILLS]

The typist tells each change after it was made; whatever it told must be there when the desk is opened
again, and each start goes on with the check-in of the one before. Exit code 1 where anything is lost.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from gui.state.desk import Desk

DAY = "2026-11-29"
TYPIST = """
import sys
from pathlib import Path
from gui.state.desk import Desk
desk = Desk(Path(sys.argv[1]), today=sys.argv[2])
n = int(sys.argv[3])
while True:
    n += 1
    desk.edit("owner", f"owner {n}")
    print(n, flush=True)
    if n % 5 == 0:
        desk.next()
"""


def killed_at(folder: Path, moment: float, last: int) -> int:
    """Type on from a number, kill that after so many seconds; the last number that was told."""
    command = [sys.executable, "-c", TYPIST, str(folder), DAY, str(last)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as typist:
        assert typist.stdout is not None
        told = typist.stdout.readline()
        time.sleep(moment)
        typist.send_signal(signal.SIGKILL)
        return int((told + typist.stdout.read()).rstrip().split("\n")[-1])


def main() -> int:
    """Print how often something was lost."""
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    rng, last, lost = random.Random(1), 0, 0
    with tempfile.TemporaryDirectory() as name:
        for _ in range(kills):
            last = killed_at(Path(name), rng.uniform(0.0, 0.02), last)
            desk = Desk(Path(name), today=DAY)
            kept = {ball.texts.get("owner") for ball in desk.listed}
            finished = {f"owner {n}" for n in range(5, last, 5)}
            lost += not finished <= kept or not {f"owner {last}", f"owner {last + 1}"} & kept
            desk.close()
    print(f"{lost} of {kills} killed desks lost anything of {last} changes")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
