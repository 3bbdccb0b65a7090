"""The work at the press as slides: one marking step or one cut at a time, and which of them are done."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from gui.state.verdict import verdict
from layoutkit.output.report import (
    NEAR_BIT,
    operation_rows,
    oval_rows,
    oval_words,
    proof_rows,
    todays_edges,
)
from layoutkit.planning.grip_marks import STOP
from layoutkit.planning.plan import PROOF_TOLERANCE
from layoutkit.units import Units, format_length

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from layoutkit.planning.marking import MarkingStep
    from layoutkit.planning.values import Plan


MOST_SAID = 4  # sentences that fit beside the ball


@dataclass(frozen=True, slots=True)
class Slide:
    """One piece of work.

    ``figures`` are labels with the values to be set, in the order of their setting. ``step`` is the
    position of a marking step among the plan's, ``hole`` the hole that a cut makes; else None.
    """

    kind: Literal["stop", "mark", "check", "cut"]
    title: str
    figures: tuple[tuple[str, str], ...]
    words: str
    step: int | None = None
    hole: str | None = None


def bench_units(units: Units) -> Units:
    """The units of the rule and the bits at the bench: they have no decimals of an inch."""
    return "metric" if units == "metric" else "fraction"


def slides(plan: Plan, steps: Sequence[MarkingStep], units: Units) -> tuple[Slide, ...]:
    """The marking ``steps``, what is measured before the bit, then the cuts in the order of the work.

    First what there is to stop at, where the plan does not simply pass.
    """
    rule = bench_units(units)
    return (
        *_stop(plan, rule),
        *(_mark(step, index, rule) for index, step in enumerate(steps)),
        *_checks(plan, rule),
        *_cuts(plan, rule),
    )


def _stop(plan: Plan, units: Units) -> list[Slide]:
    """What speaks against drilling: checks that do not pass, and questions that nobody answered."""
    judged = verdict(plan, units)
    reasons = [reason.words for reason in judged.reasons]
    asked = [question.words for question in plan.questions]
    if judged.outcome == "pass" and not asked:
        return []
    words = [f"{each[:1].upper()}{each[1:].removesuffix('.')}." for each in reasons]
    said = [*words, *asked]
    more = [f"And {len(said) - MOST_SAID} more in the window."] if len(said) > MOST_SAID else []
    title = "Answer before the bit" if judged.outcome == "pass" else f"Stop: {judged.headline}"
    return [Slide("stop", title, (), "\n".join([*said[:MOST_SAID], *more]))]


def _checks(plan: Plan, units: Units) -> Iterator[Slide]:
    """What somebody else measures on the marked ball before the bit touches it."""
    (_, *heads), *rows = proof_rows(plan, units)
    off, edge = format_length(PROOF_TOLERANCE, units), format_length(STOP, units)
    for name, *arcs in rows:
        figures = tuple(zip(heads, arcs, strict=False))
        words = f"From the centre of the {name} hole. Stop if an arc is off by {off}."
        yield Slide("check", f"Measure the {name}", figures, words, hole=name)
    edges = tuple((check.name, format_length(check.cut, units)) for check in todays_edges(plan))
    if edges:
        words = f"Between the edges of the cuts. Stop if one is off by {edge}."
        yield Slide("check", "Measure the spans", edges, words)


def _mark(step: MarkingStep, index: int, units: Units) -> Slide:
    figures = []
    if step.swing:
        way = "clockwise" if step.swing > 0 else "counter-clockwise"
        figures.append((f"swing {way}", f"{abs(step.swing)}°"))
    figures.append((f"measure from the {_name(step.at)}", format_length(step.length, units)))
    if step.crossing is not None:
        length = format_length(step.crossing.length, units)
        figures.append((f"and from the {_name(step.crossing.mark)}", length))
    return Slide("mark", f"Mark the {_name(step.new)}", tuple(figures), step.text, step=index)


def _name(mark: str) -> str:
    names = {"psa": "PSA mark", "pap": "PAP", "grip_center": "grip centre", "foot": "midline foot"}
    return names.get(mark, mark.replace("_", " "))


def _cuts(plan: Plan, units: Units) -> list[Slide]:
    heading, *rows = operation_rows(plan, units)
    holes = [*(h.name for h in plan.holes), *(e.name for e in plan.extra_holes)]
    names = sorted(holes, key=len, reverse=True)
    made = []
    for _, words, *cells in rows:
        name, _, rest = words.partition(", ")
        hole = next((each for each in names if each in name), None)
        title = name[:1].upper() + name[1:]
        # a sleeve that is set, or an edge that is rounded, has nothing to be set at the press
        figures = tuple(_figures(heading[2:], cells, units)) if cells else ()
        notes = [rest] if rest else []
        if any(value.startswith("~") for _, value in figures):
            notes.append(NEAR_BIT)
        if name.endswith(" oval"):
            notes += _oval(plan, str(hole), units)
        made.append(Slide("cut", title, figures, "\n".join(notes), hole=hole))
    return made


def _figures(
    heading: Sequence[str], cells: Sequence[str], units: Units
) -> Iterator[tuple[str, str]]:
    """The cells of a cut that say something, each with its label and unit."""
    length = " mm" if units == "metric" else " in"
    for label, value in zip(heading, cells, strict=False):
        name = label.partition(" (")[0]
        unit = "°" if name in ("point", "tilt") else length
        if value:
            yield name, value + (unit if value[-1].isdigit() and value != "0" else "")


def _oval(plan: Plan, name: str, units: Units) -> Iterator[str]:
    """Where the bit stands for each bore of an oval."""
    hole = next(h for h in plan.holes if h.name == name)
    if hole.oval is None:
        return
    before, after = oval_words(hole, hole.oval, units)
    yield before
    (_, *heads), *rows = oval_rows(hole.oval, units)
    for number, *places in rows:
        told = (f"{head} {place}" for head, place in zip(heads, places, strict=True))
        yield f"Bore {number}: {', '.join(told)}"
    yield after


class Progress:
    """Where someone is among the slides, and what is done.

    What follows a slide that was changed is no longer done: it started from marks that lie elsewhere now.
    """

    def __init__(self) -> None:
        self.slides: tuple[Slide, ...] = ()
        self.at = 0
        self.done: frozenset[int] = frozenset()

    @property
    def slide(self) -> Slide | None:
        """The present slide; None without any."""
        return self.slides[self.at] if self.slides else None

    def take(self, new: tuple[Slide, ...]) -> int:
        """Take the slides of another plan; returns how many of those done are to be done again."""
        pairs = enumerate(zip(self.slides, new, strict=False))
        same = next((i for i, (old, now) in pairs if old != now), min(len(self.slides), len(new)))
        kept = frozenset(i for i in self.done if i < same)
        lost = len(self.done) - len(kept)
        self.slides, self.done = new, kept
        self.at = min(self.at, max(len(new) - 1, 0))
        return lost

    def restart(self) -> None:
        """Begin another ball: nothing is done."""
        self.at, self.done = 0, frozenset()

    def go(self, by: int) -> None:
        """Go some slides on, or back where negative, within the first and the last."""
        self.at = min(max(self.at + by, 0), max(len(self.slides) - 1, 0))

    def tick(self) -> None:
        """Say of the present slide that it is done, or take that back."""
        if self.slides:
            self.done = self.done ^ {self.at}
