"""Choosing for the window: wants as a short form, a search that can be given up, proposals as rows.

The form shows what the record's `wants` hold, as typed, and states them anew; what it has no line for
stays in the record as it is.
"""

from __future__ import annotations

import re
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
from layoutkit.job.wants import EVERY, REGIONS, Wants
from layoutkit.output.choose_report import (
    cost_words,
    drop_words,
    impossible_words,
    limit_words,
    reason_words,
)
from layoutkit.output.report import layout_words
from layoutkit.planning.certainty import percent
from layoutkit.planning.values import Plan
from layoutkit.units import Units

ANYWHERE = "anywhere"
PLACES = (ANYWHERE, *REGIONS)
HEADINGS = ("", "ball", "layout", "outcome", "misses")
# what the form asks for, with what is meant; the other wants stay as the record states them
LINES: dict[str, str] = {
    "legal": "The chance in percent that the ball drilled like this is within every limit.",
    "flare_width": "From the first oil ring to the last, where they are widest apart.",
    "ring_spacing": "Between two neighbouring oil rings; the middle one of all such gaps.",
    "rings_clear": "From the nearest oil ring to the edge of a hole; below 0 it runs over it.",
    "marks_clear": "From the edge of the nearest hole to pin, CG or PSA mark; below 0 it is cut.",
    "rg_about_pap": "The RG about the axis through the PAP.",
    "differential": "The drilled ball's differential.",
    "side": "Side weight, + toward the positive axis.",
    "finger": "Finger weight, - is thumb weight.",
    "top": "Top weight, - is bottom weight.",
    "entry_angle": "The angle at which the ball comes to the pins, all on one line.",
    "board_at_pins": "The board at which the ball comes to the pins, all on one line.",
    "moved": "How far the pin is from where the record has it.",
    "turned": "How far the reference mark is turned from where the record has it.",
}
WEIGHT = (
    "Empty: a must. A number above 0: a wish, which may be missed at a price that grows with it."
)
OTHER = (
    "Another job's file, from whose figure this one is to differ: from and to are then about the "
    "difference. Press to choose the file; press again for no other job."
)
# which contours of the map over the ball go with a want, the first wanted one first
CONTOURS = {
    "side": "side_oz",
    "finger": "finger_oz",
    "top": "top_oz",
    "differential": "differential",
    "flare_width": "flare",
    "ring_spacing": "flare",
}
# the parts of a record that proposals do not depend on once they are there
_APART = ("layout", "weighings", "as_drilled", "title", "notes", "work")
_PLAIN = re.compile(r"[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)")


@dataclass(frozen=True, slots=True)
class Asked:
    """A line of the form as it is typed: the ends, the weight of a wish, and the other job's file."""

    least: str = ""
    most: str = ""
    weight: str = ""
    than: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """What is wanted, as it is typed: lines by the names of `LINES`, and where the pin is to be."""

    lines: Mapping[str, Asked]
    place: str = ANYWHERE


@dataclass(frozen=True, slots=True, eq=False)
class Search:
    """What was searched: the record with the shop's arm, the table if any, and what was found.

    A search is like no other one: its proposals hold arrays, which have no one truth to compare by.
    """

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


def form_of(stated: Mapping[str, Any] | None) -> Form:
    """The form as a record's `wants` fill it, or where it has none as the program proposes them."""
    if stated is None:
        return Form({"legal": Asked("95"), "marks_clear": Asked("0")})
    parts = {name: part for name, part in stated.items() if isinstance(part, Mapping)}
    lines = {
        name: Asked(*(_text(parts[name].get(each)) for each in ("least", "most", "weight", "than")))
        for name in LINES
        if name in parts
    }
    region = parts.get("pin", {}).get("region")
    return Form(lines, region if region in REGIONS else ANYWHERE)


def stated_by(form: Form, before: Mapping[str, Any] | None) -> dict[str, Any]:
    """The record's `wants` that a form states, in the place of those ``before``.

    A line that is as these fill it stays as it is written there. Raises InputError that names the line.
    """
    shown, stated = form_of(before), dict(before or {})
    for name in LINES:
        asked = form.lines.get(name, Asked())
        least, most, weight, than = (
            part.strip() for part in (asked.least, asked.most, asked.weight, asked.than)
        )
        if before is not None and asked == shown.lines.get(name, Asked()):
            continue
        stated.pop(name, None)
        if not least and not most:
            if weight or than:
                what = "a weight" if weight else "another job"
                raise InputError(f"{FIGURES[name].words}: has {what} but no end; give one.")
            continue
        ends = {"least": _value(least), "most": _value(most), "weight": _value(weight)}
        stated[name] = {
            part: value for part, value in (ends | {"than": than}).items() if value != ""
        }
    if form.place != shown.place:  # the weight of a place that stays is the record's
        stated.pop("pin", None)
        if form.place != ANYWHERE:
            stated["pin"] = {"region": form.place}
    return {name: stated[name] for name in (*EVERY, *(set(stated) - set(EVERY))) if name in stated}


def _text(value: Any) -> str:
    """What the form shows of a value of the record."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return ""
    return value if isinstance(value, str) else f"{value:.12g}"


def _value(text: str) -> float | int | str:
    """What the record holds of a text: a number where it is one, else the text as a quantity."""
    if not _PLAIN.fullmatch(text):
        return text
    plain = text.replace(",", ".")
    return float(plain) if "." in plain else int(plain)


def contours_of(wants: Wants | None) -> str:
    """The name of the figure whose contours go with what is wanted; side weight where none does."""
    asked = () if wants is None else wants.ranges
    return next((CONTOURS[name] for name in CONTOURS if name in asked), CONTOURS["side"])


def searched(
    job: Job,
    path: str,
    others: Mapping[str, Plan],
    given_up: threading.Event,
) -> Search:
    """Search what a job wants on its ball, or on those of a table if ``path`` names one.

    Safe in a worker thread. Raises InputError as `choose` does, and `GivenUp` soon after that event is
    set.
    """

    def told(done: int, whole: int) -> None:
        if given_up.is_set():
            raise GivenUp

    labels = load_labels(path) if path else None
    known = {line: v for line, v in labels or () if not isinstance(v, InputError)}
    return Search(job, path, known, choose(job, None, labels, others=others, told=told))


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
            f"{n}.", p.plan.job.ball.name, f"{place.removeprefix('pin ')}, mark {bearing:g}°", stop,
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
    lines += [impossible_words(each, choice, units) for each in choice.impossible]
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
