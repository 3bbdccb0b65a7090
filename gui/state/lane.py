"""The Lane tab: a shot's figures as rows of text, and the clock of its playback."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from layoutkit.lane.playback import Moment
from layoutkit.lane.roll import FIGURES, Difference, Roll, figures
from layoutkit.units import Units, format_length

RATES: tuple[tuple[str, float], ...] = (("1/1", 1.0), ("1/4", 0.25), ("1/10", 0.1))
_PLACES = {"boards": 1, "degrees": 1, "ft": 1, "mph": 1, "rpm": 0}


class FigureRow(NamedTuple):
    """A figure: its name, its text, and its difference from the kept plan's figure, if there is one.

    ``sure``: the difference is larger than the model's own uncertainty.
    """

    name: str
    text: str
    difference: str = ""
    sure: bool = False


def figure_rows(
    shot: Roll, units: Units, differences: Sequence[Difference] = ()
) -> tuple[FigureRow, ...]:
    """The figures of a shot by the names of `FIGURES`; what it did not come to is told so."""
    found = figures(shot)
    apart = {d.name: d for d in differences}
    rows = []
    for name, unit in FIGURES:
        value = found[name]
        if not math.isfinite(value):
            rows.append(FigureRow(name, "none"))
            continue
        row = FigureRow(name, _amount(value, unit, units))
        if name in apart:
            d = apart[name]
            by = _amount(d.uncertainty, unit, units)
            by = f"{_number(d.value, unit, units, True)} ± {by}"
            row = row._replace(difference=by, sure=abs(d.value) > d.uncertainty)
        rows.append(row)
    return tuple(rows)


def _amount(value: float, unit: str, units: Units) -> str:
    """A figure with its unit; boards need none."""
    sign = {"degrees": "°", "boards": "", "in": ""}.get(unit, f" {unit}")
    return f"{_number(value, unit, units)}{sign}"


def _number(value: float, unit: str, units: Units, signed: bool = False) -> str:
    """A figure without its unit; a length takes the form of the unit system, which may show its own."""
    size = abs(value)
    text = format_length(size, units, 16) if unit == "in" else f"{size:.{_PLACES[unit]}f}"
    sign = "-" if value < 0.0 else "+" if signed else ""
    nothing = not any(c in "123456789" for c in text)
    return text if nothing else f"{sign}{text}"


def now(moment: Moment) -> str:
    """A moment in one line."""
    return (
        f"{moment.time:.2f} s, {moment.phase}: {moment.feet:.1f} ft, board {moment.board:.1f}, "
        f"{moment.speed:.1f} mph, {moment.revs:.0f} rpm"
    )


class Player:
    """Which moment of a shot is shown; the shot lasts ``duration`` s and runs at ``rate`` of real time.

    The player has no clock: `tick` takes the present second of a clock that only goes forward.
    """

    def __init__(self) -> None:
        self.duration = 0.0
        self.time = 0.0
        self.rate = 1.0
        self._since: float | None = None

    @property
    def running(self) -> bool:
        """Whether the shot is playing."""
        return self._since is not None

    def load(self, duration: float) -> None:
        """Take another shot, and show its end."""
        self.duration = self.time = duration
        self._since = None

    def play(self, now: float) -> None:
        """Play on from the moment shown, or from the start once the end is shown."""
        if self.duration > 0.0:
            if self.time >= self.duration:
                self.time = 0.0
            self._since = now

    def pause(self) -> None:
        """Stop at the moment shown."""
        self._since = None

    def seek(self, time: float) -> None:
        """Show the moment at this time, and stop there."""
        self._since = None
        self.time = min(max(time, 0.0), self.duration)

    def tick(self, now: float) -> None:
        """Move on to the clock's present second; the end of the shot stops the player."""
        if self._since is not None:
            self.time += (now - self._since) * self.rate
            self._since = now
            if self.time >= self.duration:
                self.seek(self.duration)
