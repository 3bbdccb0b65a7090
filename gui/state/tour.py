"""Guided comparisons: one figure of the layout moved from stop to stop, each stop said in a sentence.

The layout that was there is kept as the plan to compare with. At the end it comes back, and so does the
plan that was kept before. Every number of a sentence is a text that the window shows: of the layout's
strip, the readings or the lane.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from gui.state.lane import figure_rows
from gui.state.presenter import Presenter, Reference
from gui.state.readings import readings
from gui.state.strip import FORMS, Figure, figure_text
from layoutkit.lane.roll import figures
from layoutkit.units import fraction

FLARE = "flare width"
_FIGURES = {figure.key: figure for form in FORMS.values() for figure in form}
_EIGHTH = 8


class Tour(NamedTuple):
    """One comparison: which figure moves, what stays, which contours the ball shows, what is told.

    ``stops`` are texts of the figure, or with ``by`` inches to be added to what it was.
    """

    name: str
    title: str
    key: str
    stays: str
    contours: str
    told: tuple[str, ...]
    stops: tuple[str, ...] = ()
    by: tuple[float, ...] = ()


TOURS: tuple[Tour, ...] = (
    Tour(
        "nearer", "Pin nearer and farther from the PAP", "pin_to_pap", "both angles stay", "flare",
        (FLARE, "differential", "side"), by=(-1.0, -0.5, 0.5, 1.0, 1.5),
    ),
    Tour(
        "angle", "Angle at the pin", "angle_at_pin",
        "pin to PAP and the angle at the PAP stay", "flare",
        (FLARE, "intermediate_differential", "side"), stops=("20", "35", "50", "65", "80"),
    ),
    Tour(
        "up", "Pin up and down", "pin_up", "pin over and the bearing stay", "finger_oz",
        ("finger", "side", FLARE), stops=("3", "2", "1", "1/2", "1 down"),
    ),
)  # fmt: skip
_HEADS = {
    FLARE: "the rings spread over",
    "differential": "the differential is",
    "intermediate_differential": "the intermediate differential is",
    "side": "side weight:",
    "finger": "finger or thumb weight:",
}


class Told(NamedTuple):
    """A number of a sentence: its text as the window shows it, and its value."""

    text: str
    value: float


class Guide:
    """One comparison under way. `sentence` says what the present stop shows."""

    def __init__(self, presenter: Presenter, tour: Tour) -> None:
        self.presenter, self.tour = presenter, tour
        self.at = -1
        self.sentence = ""
        self.stops: tuple[str, ...] = ()
        self._first: dict[str, Told] = {}
        self._before = ""
        self._shading = presenter.shading, presenter.figure
        self._own: Reference | None = None  # the plan from which the comparison began
        self._kept: Reference | None = None  # the plan that was kept before

    def begin(self) -> bool:
        """Keep the present plan and go to the first stop; False, with a sentence, where there is none."""
        p = self.presenter
        plan = p.sound_plan("comparing layouts")
        if plan is None or plan.marks.pap is None:
            self.sentence = p.message if plan is None else "The record has no PAP to compare with."
            return False
        if self.tour.by:
            start = (
                round(plan.layout.pin_to_pap * _EIGHTH) / _EIGHTH if plan.layout.pin_to_pap else 3.0
            )
            self.stops = tuple(
                fraction(start + by, 16) for by in self.tour.by if 1.0 <= start + by <= 6.5
            )
        else:
            self.stops = self.tour.stops
        if not self.stops:
            self.sentence = (
                f"{self.tour.title}: the pin is too far from the PAP to begin from here."
            )
            return False
        self._kept = p.reference
        p.keep_reference()
        self._own = p.reference
        self._before = self._text()
        self._first = numbers(p)
        p.show_contours(self.tour.contours)
        if p.globe_known and not p.shading:
            p.toggle_shading()
        self.go(0)
        return True

    def go(self, place: int) -> None:
        """Go to a stop: the layout moves there, and the sentence says what that does."""
        place = min(max(place, 0), len(self.stops) - 1)
        self.at = place
        figure = _FIGURES[self.tour.key]
        head = f"Stop {place + 1} of {len(self.stops)}. "
        if not self.presenter.set_figure(figure, self.stops[place]):
            self.sentence = f"{head}{self.presenter.message}"
            return
        self.sentence = head + self._words(figure)

    def _text(self) -> str:
        p = self.presenter
        return figure_text(_FIGURES[self.tour.key], p.entries, p.plan, p.units)

    def _words(self, figure: Figure) -> str:
        label = figure.label if figure.label.startswith("pin") else f"angle {figure.label}"
        unit = "°" if self.tour.key == "angle_at_pin" else " in"
        now_text, before = _with(self._text(), unit), _with(self._before, unit)
        head = f"{label[:1].upper()}{label[1:]} {now_text}, before {before}; "
        now = numbers(self.presenter)
        parts = [
            _compared(name, now[name], self._first[name])
            for name in self.tour.told
            if name in now and name in self._first
        ]
        return f"{head}{self.tour.stays}: {'; '.join(parts)}."

    def end(self) -> None:
        """Bring the layout back that was there, as one step of undo, and what it was compared with.

        A plan that somebody has kept since then stays.
        """
        own, p = self._own, self.presenter
        if own is not None:
            p.back_to(own.entries, self._kept if p.reference is own else p.reference)
            self.forget()

    def forget(self) -> None:
        """Leave the layout as it is, as where another job has taken its place."""
        if self._own is None:
            return
        self._own = None
        p = self.presenter
        on, contours = self._shading
        p.show_contours(contours)
        if p.shading != on:
            p.toggle_shading()


def _with(text: str, unit: str) -> str:
    """A text of the strip with its unit, unless it has one; a direction stays last."""
    if not text or text.endswith(unit.strip()) or {"in", "mm"} & set(text.split()):
        return text
    number, _, word = text.rpartition(" ")
    return f"{number}{unit} {word}" if number and word.isalpha() else f"{text}{unit}"


def numbers(presenter: Presenter) -> dict[str, Told]:
    """What a sentence can tell of the present plan, as the readings and the lane show it."""
    plan, units = presenter.plan, presenter.units
    if plan is None:
        return {}
    shown = readings(plan, units)
    told = {bar.key: Told(bar.text, bar.value) for bar in shown.bars}
    values = {
        "differential": plan.inertia.differential,
        "intermediate_differential": plan.inertia.intermediate_differential,
    }
    told |= {row.key: Told(row.text, values[row.key]) for row in shown.rows if row.key in values}
    shot = presenter.shot()
    if shot is not None:
        width = figures(shot)[FLARE]
        text = next(row.text for row in figure_rows(shot, units) if row.name == FLARE)
        if math.isfinite(width):
            told[FLARE] = Told(text, width)
    return told


def _compared(name: str, now: Told, first: Told) -> str:
    """A number now and before, and which way it went, judged by what is shown of both."""
    head = f"{_HEADS[name]} {now.text}"
    if now.text == first.text:
        return f"{head}, as before"
    if name in ("side", "finger"):
        if now.value * first.value < 0.0:
            return f"{head}, on the other side of {first.text} before"
        more = abs(now.value) > abs(first.value)
    else:
        more = now.value > first.value
    ways = ("wider", "narrower") if name == FLARE else ("more", "less")
    return f"{head}, {ways[not more]} than {first.text} before"
