"""What the shading of the ball says in words, and its contours."""

from __future__ import annotations

from layoutkit.output.maps import Panel
from layoutkit.output.shading import Contours, step_for
from layoutkit.output.surface_map import DIFFERENTIAL, FINGER, POTENTIAL, SIDE, TOP
from layoutkit.planning.globe import NOWHERE, Globe

PANELS: dict[str, Panel] = {p.name: p for p in (SIDE, TOP, FINGER, DIFFERENTIAL, POTENTIAL)}
FIGURES: dict[str, str] = {
    "side_oz": "side weight",
    "top_oz": "top weight",
    "finger_oz": "finger weight",
    "differential": "differential",
    "flare": "flare potential",
}
LEGEND = "Pin where hatched: fails. Dotted: close, the scale decides. Clear: passes."
RING = "Ring: the reference mark at other bearings, black fails."
NOT_THERE = "Grey: no layout stated in this way."


def contours(globe: Globe, figure: str) -> Contours | None:
    """The lines of a figure over a globe; None where the ball does not have it."""
    if figure not in globe.figures:
        return None
    unit = PANELS[figure].unit
    return Contours(figure, unit, step_for(globe, figure, unit))


def legend(globe: Globe | None, figure: str) -> str:
    """What the shading means, in one line or two."""
    if globe is None or not globe.changes:
        return "Where the pin may go: working it out ..."
    words = [LEGEND]
    lines = contours(globe, figure)
    if lines is not None and lines.step:
        words.append(f"Lines: {PANELS[figure].title}, every {lines.step:g}.")
    words.append(RING)
    if (globe.verdict == NOWHERE).any():
        words.append(NOT_THERE)
    return " ".join(words)
