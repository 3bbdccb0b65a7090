"""The balls on the shelf for the window: a ranked table as rows of texts."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from layoutkit.bench.shelf import Shelf, load_labels, rank, reason
from layoutkit.errors import InputError
from layoutkit.job.record import Job
from layoutkit.output.report import ball_weight, rg_words
from layoutkit.output.shelf_report import static_cell
from layoutkit.units import Units

HEADINGS = (
    "", "ball", "outcome", "of a limit", "side", "finger or thumb", "top", "gross", "differential",
)  # fmt: skip
# the parts of a record that a ranking does not depend on
_BALLS_OWN = ("ball", "weighings", "history", "as_drilled", "title", "notes", "work", "wants")


@dataclass(frozen=True, slots=True)
class Ranking:
    """A ranked table: the job that its balls were planned for, and the balls' labels by line."""

    path: str
    job: Job
    labels: Mapping[int, Mapping[str, Any]]
    shelf: Shelf


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One ball: its cells under `HEADINGS`, and at length why it stands there or cannot be used.

    ``label`` is None, and ``outcome`` "unusable", where no ball can be made of it.
    """

    cells: tuple[str, ...]
    outcome: str
    words: str
    label: Mapping[str, Any] | None


def ranked(job: Job, path: str) -> Ranking:
    """A job's bowler and layout on each ball of a table; safe to call in a worker thread.

    Raises InputError where the table as a whole cannot be read.
    """
    labels = load_labels(path)
    known = {line: label for line, label in labels if not isinstance(label, InputError)}
    return Ranking(path, job, known, rank(job, labels))


def shelf_rows(ranking: Ranking, units: Units = "fraction") -> tuple[ShelfRow, ...]:
    """The balls in order of merit, then what could not be used."""
    rows = []
    for place, ball in enumerate(ranking.shelf.ranked, 1):
        s, result = ball.plan.statics, ball.plan
        cells = (
            f"{place}.",
            result.job.ball.name,
            "DO NOT DRILL" if result.reasons else result.outcome,
            f"{100.0 * ball.limit_used:.0f} % {ball.limit_of}",
            static_cell(result, "side", units).removesuffix(" side"),
            static_cell(result, "finger", units).removesuffix(" weight"),
            static_cell(result, "top", units).removesuffix(" weight"),
            ball_weight(s.weight_lb, units),
            "" if result.core is None else rg_words(result.inertia.differential, units),
        )
        outcome = result.outcome
        words = f"{result.job.ball.name}: {reason(ball, units)}"
        rows.append(ShelfRow(cells, outcome, words, ranking.labels[ball.line]))
    for each in ranking.shelf.unusable:
        name = each.name or "no name"
        blank = ("",) * (len(HEADINGS) - 3)
        words = f"Line {each.line}, {name}: {each.reason}"
        rows.append(ShelfRow(("-", name, "unusable", *blank), "unusable", words, None))
    return tuple(rows)


def same_but_ball(one: Job, other: Job) -> bool:
    """Whether two jobs differ in nothing that a ranking depends on."""
    return same_but(one, other, _BALLS_OWN)


def same_but(one: Job, other: Job, apart: Collection[str]) -> bool:
    """Whether two jobs differ in nothing but some of their parts."""
    names = (name for name in Job.model_fields if name not in apart)
    return all(getattr(one, name) == getattr(other, name) for name in names)
