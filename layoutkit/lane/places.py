"""Where on the lane a shot passes: boards, the arrows, the breakpoint."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from layoutkit.geometry.roots import bisection
from layoutkit.geometry.vectors import Array
from layoutkit.lane import motion as _motion
from layoutkit.lane.flare import cubic as _cubic
from layoutkit.lane.start import BOARD


class Breakpoint(NamedTuple):
    """Where the path turns back from the gutter: ``x`` feet from the foul line, and on which board."""

    x: float
    board: float


def board_of(y: Array) -> Array:
    """Boards from the bowler's own side, of inches to the left in the bowler's lane."""
    return 20.0 + y / BOARD


def cubic(a: Array, b: Array, h: float, u: float) -> tuple[float, float]:
    """y and x at a share ``u`` of the h seconds between two states, by cubics with their slopes."""
    y, x = (_cubic(a[i], b[i], h * a[i + 2], h * b[i + 2], u) for i in (1, 0))
    return float(y), float(x)


def board_at(trail: _motion.Trail, x: float) -> float | None:
    """The board where the ball first passes this place; None where it does not get there."""
    s = trail.states
    past = np.flatnonzero(s[:, 0] >= x)
    if not len(past):
        return None
    i = int(past[0])
    h = float(trail.time[i] - trail.time[i - 1])
    share = bisection(lambda u: cubic(s[i - 1], s[i], h, u)[1] < x, 0.0, 1.0, 1e-12)
    return float(board_of(np.array([cubic(s[i - 1], s[i], h, share)[0]]))[0])


def breakpoint_of(trail: _motion.Trail) -> Breakpoint | None:
    """Where the path is farthest out toward the bowler's own side before it comes back.

    None where it never turns.
    """
    s = trail.states
    turns = np.flatnonzero((s[:-1, 3] < 0.0) & (s[1:, 3] >= 0.0))
    if not len(turns):
        return None
    i = int(turns[s[turns, 1].argmin()])
    low, high = s[i, 3], s[i + 1, 3]
    h = float(trail.time[i + 1] - trail.time[i])
    y, x = cubic(s[i], s[i + 1], h, float(-low / (high - low)))
    return Breakpoint(x / 12.0, float(board_of(np.array([y]))[0]))
