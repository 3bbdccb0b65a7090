"""The shop's book of an invented shop: seconds for each question, and a writer that is killed.

    python tests/bench/bench_book.py [JOBS] [KILLS]

The shop has a tenth as many customers as jobs. Each question's time is the median of nine; beside it
stands how often the reference, a count of all jobs, fits into it.
"""

from __future__ import annotations

import json
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Callable
from pathlib import Path

from layoutkit import load_job, plan
from layoutkit.book import exchange
from layoutkit.book.book import Book, digest_of, figures_of, fingers_below_pin
from layoutkit.output.report import report

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
FIRST = (
    "An",
    "Be",
    "Cor",
    "Da",
    "El",
    "Fi",
    "Gre",
    "Ha",
    "Iv",
    "Jo",
    "Ka",
    "Lu",
    "Mi",
    "No",
    "Ot",
    "Pa",
)
LAST = (
    "berg",
    "dale",
    "field",
    "grove",
    "hill",
    "land",
    "moor",
    "sen",
    "stead",
    "ton",
    "wood",
    "worth",
)

WRITER = """
import sys
from pathlib import Path
from layoutkit.book.book import Book
with Book(Path(sys.argv[1])) as book:
    for number in range(100000):
        book.add_person(f"Person {number}", "right")
        print(number, flush=True)
"""


def fill(book: Book, jobs: int) -> None:
    """Rows of an invented shop, put in at once, for what is measured is the asking."""
    rng = random.Random(20261129)
    texts = []
    for path in sorted(SAMPLES.glob("*.json"))[:12]:
        p = plan(load_job(path))
        texts.append((json.loads(path.read_text()), json.dumps(figures_of(p)), report(p), p))
    people = max(jobs // 10, 1)
    with book.change() as db:
        for n in range(1, people + 1):
            name = (
                f"{rng.choice(FIRST)}{rng.choice(LAST)} {rng.choice(FIRST)}{rng.choice(LAST)} {n}"
            )
            db.execute(
                "INSERT INTO people VALUES (?,?,?,?,?,?,?,NULL)",
                (
                    n,
                    f"p{n}",
                    name,
                    f"{n}@example.invalid",
                    rng.choice(("right", "left")),
                    "",
                    "2026",
                ),
            )
            book.say_again(db, "person", n)
        for n in range(1, jobs + 1):
            record, figures, shown, p = texts[n % len(texts)]
            person, day = (
                rng.randint(1, people),
                f"20{rng.randint(15, 26)}-{rng.randint(1, 12):02d}-01",
            )
            record = {**record, "title": f"Job {n}", "work": {"order": f"A{n}", "date": day}}
            label = json.dumps(record["ball"])
            db.execute(
                "INSERT INTO balls VALUES (?,?,?,?,?,?,?,NULL)",
                (n, f"b{n}", f"S{n:07d}", "Invented", label, person, day),
            )
            db.execute(
                "INSERT INTO jobs VALUES (?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,?,NULL)",
                (
                    n, f"j{n}", digest_of(record), "", person, n, record["title"], f"A{n}", day,
                    json.dumps(record), "usbc-2020", "0", p.outcome, rng.uniform(0.9, 1.1),
                    " ".join(fingers_below_pin(p)), figures, zlib.compress(shown.encode()), day,
                ),
            )  # fmt: skip
            db.execute(
                "INSERT INTO events (ball, job, date, kind) VALUES (?,?,?,'drilled')", (n, n, day)
            )
            book.say_again(db, "ball", n)
            book.say_again(db, "job", n)


def timed(work: Callable[[], object]) -> float:
    """Median seconds of nine."""
    times = []
    for _ in range(9):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def kills(folder: Path, rounds: int) -> int:
    """How many of a killed writer's rounds lost what it had told or left a damaged book."""
    bad = 0
    rng = random.Random(1)
    for number in range(rounds):
        path = folder / f"killed{number}.sqlite"
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            writer.stdout.readline()
            time.sleep(rng.uniform(0.0, 0.05))
            writer.send_signal(signal.SIGKILL)
            rest = writer.stdout.read().split()
        told = int(rest[-1]) if rest else 0
        with Book(path, create=False) as book:
            there = book.rows("SELECT count(*) FROM people")[0][0]
            bad += bool(exchange.check(book)) or there < told + 1
    return bad


def main() -> None:
    """Print the figures."""
    jobs = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "book.sqlite"
        with Book(path) as book:
            fill(book, jobs)
            reference = timed(lambda: book.rows("SELECT count(*), max(date) FROM jobs"))
            print(f"{jobs} jobs, {path.stat().st_size / jobs:.0f} bytes each")
            questions: dict[str, Callable[[], object]] = {
                "a part of a name": lambda: book.find("dale"),
                "two letters": lambda: book.find("dx"),
                "name and order": lambda: book.find("berg A123"),
                "a serial": lambda: book.find(f"S{jobs // 2:07d}"),
                "a day": lambda: book.find("2021-05-01"),
                "people": lambda: book.people("hill"),
                "changed since": lambda: book.changed_since("2026-01-01"),
                "not seen for a year": lambda: book.not_seen_for(365, "2026-11-29"),
                "thumb opened twice": lambda: book.thumb_opened(2, "2026"),
                "pin above the ring": lambda: book.pin_above("ring"),
                "one customer's grips": lambda: book.grips(1),
                "one ball's life": lambda: book.life(1),
            }
            for what, ask in questions.items():
                seconds = timed(ask)
                print(f"{what:24} {seconds * 1000.0:8.1f} ms  {seconds / reference:8.1f} x")
        print(f"{kills(Path(name), rounds)} of {rounds} killed writers lost or damaged anything")


if __name__ == "__main__":
    main()
