"""The Lane tab: a shot's figures in words, its line into the pocket, why balls differ, and the clock."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import NamedTuple

from layoutkit.lane.aim import Aiming, aim, states_line
from layoutkit.lane.playback import Moment
from layoutkit.lane.roll import FIGURES, Difference, Roll, compare, figures
from layoutkit.lane.start import side_of
from layoutkit.units import Units, format_length

RATES: tuple[tuple[str, float], ...] = (("1/1", 1.0), ("1/4", 0.25), ("1/10", 0.1))
FLARE = "flare width"
_PLACES = {"boards": 1, "degrees": 1, "ft": 1, "mph": 1, "rpm": 0}


class FigureRow(NamedTuple):
    """A figure: its name, its text, and its difference from the kept plan's figure, if there is one.

    ``sure``: the difference is larger than the model's own uncertainty.
    """

    name: str
    text: str
    difference: str = ""
    sure: bool = False


class Study:
    """What takes longer than a shot: the lines into the pocket, what two balls differ in, and why.

    ``kept`` is the other ball's shot under the same release and lane, if there is one. ``aim`` and
    ``kept_aim`` are each ball's own line, ``differences`` are this shot's from the kept one's, ``why``
    says what is behind them. Each is None until its piece is worked out; the longest takes some 300 ms.
    """

    def __init__(self, shot: Roll, kept: Roll | None) -> None:
        self.shot, self.kept = shot, kept
        self.aim: Aiming | None = None
        self.kept_aim: Aiming | None = None
        self.differences: tuple[Difference, ...] | None = None
        self._why: Callable[[Units], str] | None = None
        self._left = [self._aim] if kept is None else [
            self._aim, self._aim_kept, self._compare, self._reason
        ]  # fmt: skip

    @property
    def done(self) -> bool:
        """Whether nothing is left to work out."""
        return not self._left

    def step(self) -> None:
        """Work out one piece more."""
        if self._left:
            self._left.pop(0)()

    def why(self, units: Units) -> str:
        """What is behind the differences; empty until that is known."""
        return "" if self._why is None else self._why(units)

    def _aim(self) -> None:
        self.aim = aim(self.shot.plan, self.shot.release, effects=False)

    def _aim_kept(self) -> None:
        assert self.kept is not None
        self.kept_aim = aim(self.kept.plan, self.kept.release, effects=False)

    def _compare(self) -> None:
        assert self.kept is not None
        (rows,) = compare(self.kept.plan, [self.shot.plan], release=self.shot.release)
        self.differences = rows

    def _reason(self) -> None:
        assert self.kept is not None
        from layoutkit.lane.why import grounds, sensitivity
        from layoutkit.output.roll_report import why_words

        rows, first, other = self.differences or (), grounds(self.kept), grounds(self.shot)
        moved = sensitivity(self.kept)
        self._why = lambda units: why_words(rows, first, other, moved, units)


def aim_words(found: Aiming) -> str:
    """A line into the pocket, or why there is none."""
    line = found.aim
    if line is None:
        return found.why
    return (
        f"from board {line.board:.1f} over {line.board_at_arrows:.1f} at the arrows, farthest out on "
        f"{line.outermost:.1f}, entry angle {line.entry_angle:.1f}°"
    )


def moved_words(study: Study) -> str:
    """By how much this ball's own line lies beside the kept ball's; empty without both."""
    lines = [None if each is None else each.aim for each in (study.kept_aim, study.aim)]
    before, now = lines
    if before is None or now is None:
        return ""

    def way(boards: float) -> str:
        size = f"{abs(boards):.1f}"
        return size if size == "0.0" else f"{size} {side_of(study.shot.plan, boards < 0.0)}"

    return (
        f"from the kept plan's line: start {way(now.board - before.board)}, arrows "
        f"{way(now.board_at_arrows - before.board_at_arrows)}"
    )


def line_words(shot: Roll) -> str:
    """Which line the shot takes."""
    if states_line(shot.release):
        return "The shot takes the record's own line."
    return "The shot takes this line: the record states none."


def flare_words(shot: Roll, units: Units) -> str:
    """What belongs to the width of the flare; empty without flare."""
    from layoutkit.output.roll_report import flare_rows

    rows = dict(flare_rows(shot, units))
    if shot.flare is None or not shot.flare.rings:
        return ""
    return f"{rows['rings on the oil']} rings on the oil, {rows['spacing']} apart"


def figure_rows(
    shot: Roll, units: Units, differences: Sequence[Difference] = ()
) -> tuple[FigureRow, ...]:
    """A shot's figures by the names of `FIGURES`, flare first; what it did not come to is told so."""
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
    return tuple(sorted(rows, key=lambda row: row.name != FLARE))


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
