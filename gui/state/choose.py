"""Choosing for the window: wants as a short form, a search that can be given up, proposals as rows."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from gui.state.shelf import same_but
from layoutkit.bench.shelf import load_labels
from layoutkit.choosing.choose import Choice, Proposal, choose
from layoutkit.choosing.figures import FIGURES
from layoutkit.errors import InputError
from layoutkit.job.record import Job, dump_job
from layoutkit.job.wants import REGIONS, Wants, read_wants
from layoutkit.output.choose_report import (
    cost_words,
    drop_words,
    impossible_words,
    limit_words,
    reason_words,
)
from layoutkit.output.report import layout_words
from layoutkit.planning.certainty import percent
from layoutkit.units import Units

ANYWHERE = "anywhere"
PLACES = (ANYWHERE, *REGIONS)
HEADINGS = ("", "ball", "layout", "outcome", "misses")
# what the form asks for, with what is meant; the other wants stay as the record states them
LINES: dict[str, str] = {
    "legal": "The chance in percent that the ball drilled like this is within every limit.",
    "flare_width": "From the first oil ring to the last, where they are widest apart.",
    "rings_clear": "From the nearest oil ring to the edge of a hole; below 0 it runs over it.",
    "marks_clear": "From the edge of the nearest hole to pin, CG or PSA mark; below 0 it is cut.",
    "rg_about_pap": "The RG about the axis through the PAP.",
    "differential": "The drilled ball's differential.",
    "side": "Side weight, + toward the positive axis.",
    "finger": "Finger weight, - is thumb weight.",
    "top": "Top weight, - is bottom weight.",
    "entry_angle": "The angle at which the ball comes to the pins, all on one line.",
    "moved": "How far the pin is from where the record has it.",
    "turned": "How far the reference mark is turned from where the record has it.",
}
WEIGHT = (
    "Empty: a must. A number above 0: a wish, which may be missed at a price that grows with it."
)
# the parts of a record that proposals do not depend on once they are there
_APART = ("layout", "weighings", "as_drilled", "title", "notes", "work", "wants")


@dataclass(frozen=True, slots=True)
class Asked:
    """A line of the form as it is typed: the ends, and the weight of a wish."""

    least: str = ""
    most: str = ""
    weight: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """What is wanted, as it is typed: lines by the names of `LINES`, and where the pin is to be."""

    lines: Mapping[str, Asked]
    place: str = ANYWHERE


@dataclass(frozen=True, slots=True)
class Search:
    """What was searched: the record with the shop's arm, the table if any, and what was found."""

    job: Job
    path: str
    labels: Mapping[int, Mapping[str, Any]]
    choice: Choice


@dataclass(frozen=True, slots=True)
class ProposalRow:
    """One proposal: its cells under `HEADINGS`, and at length what speaks for and against it."""

    cells: tuple[str, ...]
    outcome: str
    words: str
    proposal: Proposal


class GivenUp(Exception):
    """Nobody waits for the search any more."""


def form_of(wants: Wants | None) -> Form:
    """The form as a record's wants fill it; what the form has no line for is left to the record."""
    if wants is None:
        return Form({"legal": Asked("95"), "marks_clear": Asked("0")})
    lines = {
        name: Asked(
            *("" if v is None else f"{v:.12g}" for v in (each.least, each.most, each.weight))
        )
        for name, each in wants.ranges.items()
        if name in LINES and each.than is None
    }
    place = wants.pin.region if wants.pin is not None else None
    return Form(lines, place or ANYWHERE)


def wants_of(form: Form, own: Wants | None) -> Wants:
    """The wants of a form; ``own`` are the record's, of which those without a line stay.

    Raises InputError that names the line.
    """
    texts = []
    for name, asked in form.lines.items():
        least, most, weight = (part.strip() for part in (asked.least, asked.most, asked.weight))
        if not least and not most:
            if weight:
                words = f"{FIGURES[name].words}: has a weight but no end; give one."
                raise InputError(words)
            continue
        texts.append(f"{name}={least}:{most}" + (f"@{weight}" if weight else ""))
    shown = form_of(own)
    on_form = set(shown.lines)
    if form.place != shown.place:  # the weight of a place that stays is the record's
        on_form.add("pin")
        texts += [f"pin={form.place}"] if form.place != ANYWHERE else []
    kept = {} if own is None else {name: each for name, each in own if name not in on_form}
    return read_wants(texts, Wants().model_copy(update=kept))


def searched(job: Job, wants: Wants, path: str, given_up: threading.Event) -> Search:
    """Search the present ball, or those of a table if ``path`` names one; safe in a worker thread.

    Raises InputError as `choose` does, and `GivenUp` soon after that event is set.
    """

    def told(done: int, whole: int) -> None:
        if given_up.is_set():
            raise GivenUp

    labels = load_labels(path) if path else None
    known = {line: v for line, v in labels or () if not isinstance(v, InputError)}
    return Search(job, path, known, choose(job, wants, labels, told=told))


def proposal_rows(search: Search, units: Units = "fraction") -> tuple[ProposalRow, ...]:
    """The proposals, the best first."""
    rows = []
    for n, p in enumerate(search.choice.proposals, 1):
        stop = "DO NOT DRILL" if p.plan.reasons else str(p.plan.outcome)
        layout = p.layout
        bearing = 0.0 if layout.bearing is None else layout.bearing
        place = layout_words(p.plan, units).partition(", bearing")[0]
        missed = sum(not r.met for r in p.results)
        cells = (
            f"{n}.", p.plan.job.ball.name, f"{place}, mark at {bearing:g}°", stop,
            "tied" if p.tied and not missed else f"{missed}" if missed else "nothing",
        )  # fmt: skip
        words = (
            f"{layout_words(p.plan, units)}\nFor it: {reason_words(p, units)}.\n"
            f"Limits: {limit_words(p, units)}.\nCost: {cost_words(p, n == 1, units)}.\n"
            f"Illegal: {percent(p.chance.any, p.chance.draws)} of balls drilled like this."
        )
        rows.append(ProposalRow(cells, p.plan.outcome, words, p))
    return tuple(rows)


def head_words(search: Search, units: Units = "fraction") -> str:
    """What was searched, and what cannot be had."""
    choice = search.choice
    balls = "the present ball" if not search.path else f"{choice.balls} balls of the table"
    lines = [f"{len(choice.proposals)} of {choice.tried} layouts of {balls}."]
    lines += [impossible_words(each, choice.balls, units) for each in choice.impossible]
    lines += [words for words in (drop_words(choice, units),) if words]
    return " ".join(lines)


def same_but_layout(search: Search, job: Job) -> bool:
    """Whether proposals are still about a record."""
    return same_but(search.job, job, (*_APART, "ball") if search.path else _APART)


def parts_of(search: Search, proposal: Proposal) -> dict[str, Any]:
    """The parts of a record that a proposal takes the place of: its layout, and the ball of a table."""
    parts: dict[str, Any] = {"layout": dump_job(proposal.plan.job)["layout"]}
    if proposal.line:
        parts["ball"] = dict(search.labels[proposal.line])
    return parts
