"""What is measured on a track and what follows from it, for the window: text in, values out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.bench.axis import DEVIATION, AxisFit, Ring, fit_axis
from layoutkit.bench.track import parse_track
from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at
from layoutkit.output.axis_report import axis_text
from layoutkit.units import Units, as_hand

HOW = (
    "Marks on the first oil ring, one a line: over, up from the grip centre of the ball that was "
    "thrown. Over is negative toward the negative side, up negative toward the thumb. Or arcs from "
    "two known points."
)
EXAMPLE = "# for example\n# -3 1/8, 2\n# known pin = 1, 3\n# pin 5 11/16, grip 3\n# ring = second\n"


@dataclass(frozen=True, slots=True)
class TrackResult:
    """What a track's text gives: the fit and its words, or why there is none.

    ``wrong`` where something must be changed, not only added.
    """

    words: str
    wrong: bool = False
    fit: AxisFit | None = None
    rings: tuple[Ring, ...] = ()
    hand: Literal["right", "left"] = "right"


def fit_track(text: str, entries: Mapping[str, str], units: Units = "fraction") -> TrackResult:
    """The fit to a track's text; hand and diameter are the record's unless the track says them."""
    hand: Literal["right", "left"] = (
        "left" if as_hand(entries.get("bowler.hand")) == "left" else "right"
    )
    try:
        track = parse_track(text, "marks")
        if track.hand not in (None, hand):
            raise InputError(f"The track is of a {track.hand} hand, but the record says {hand}.")
        if not track.marks:
            return TrackResult("No marks yet: three or more are needed, well apart along the ring.")
        radius = (track.diameter or _diameter(entries)) / 2.0
        rings = track.rings(radius)
        fit = fit_axis(rings, radius, track.deviation or DEVIATION)
    except InputError as error:
        words = str(error)
        return TrackResult(words[:1].upper() + words[1:], wrong=True)
    return TrackResult(axis_text(fit, hand, units), False, fit, rings, hand)


def _diameter(entries: Mapping[str, str]) -> float:
    limit = limit_at("ball.diameter")
    assert limit is not None
    now = entries.get("ball.diameter_now", "").strip()
    try:
        value = limit.parse(now or entries.get("ball.diameter", ""))
    except ValueError:  # not filled in yet; the form says so
        return USUAL_DIAMETER
    return float(value)
