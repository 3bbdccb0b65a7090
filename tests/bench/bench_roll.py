"""How long a shot takes alone and among a thousand, and how far from a tight reference it ends.

    python tests/bench/bench_roll.py

Asked: one shot with all its steps, 60 ft, in 5 ms; in a batch of 1,000 on one core 5,000 shots a second,
and at least 50 times faster a shot than scipy's solve_ivp (DOP853, rtol 1e-9), which gets the engine's
own rates in plain floats; and at the pins within 1 mm of DOP853 at rtol 1e-12. The least of several
runs counts. Not a test of the speed: no machine is quiet enough to fail on it.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # one core, before numpy starts its own threads
os.environ.setdefault("OMP_NUM_THREADS", "1")

import math
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from layoutkit.lane import motion
from layoutkit.lane.motion import (
    HALF_WIDTH,
    LANE_LENGTH,
    ROLLING,
    SLIDING,
    RollingBall,
    State,
    Stretch,
)

SHOTS, REFERENCES, RUNS = 1000, 60, 12
LANE = (Stretch(0.0, 0.04, 0.0), Stretch(480.0, 0.20, 0.0))
MM = 25.4  # mm in an inch


def shots(n: int) -> tuple[RollingBall, State]:
    """Invented drilled balls and releases, (n,) each, that all reach the pins."""
    r = np.random.default_rng(20261125)
    low, whole = r.uniform(2.46, 2.60, n), r.uniform(0.02, 0.06, n)
    d = r.normal(size=(3, n))
    d *= r.uniform(0.0, 0.02, n) / np.linalg.norm(d, axis=0)
    mid = low + whole * r.uniform(0.6, 1.0, n)
    ball = RollingBall(np.full(n, 4.275), low**2, mid**2, (low + whole) ** 2, *d)
    speed, spin = 17.6 * r.uniform(15.0, 19.0, n), r.uniform(200.0, 420.0, n) * math.tau / 60.0
    out, turn, tilt = (np.radians(r.uniform(a, b, n)) for a, b in ((0.5, 2.0), (20, 65), (2, 20)))
    way = turn - out
    axis = -np.sin(way) * np.cos(tilt), np.cos(way) * np.cos(tilt), np.sin(tilt)
    q = r.normal(size=(4, n))
    start = State(
        np.zeros(n), r.uniform(-12.0, -4.0, n), speed * np.cos(out), -speed * np.sin(out),
        *(spin * a for a in axis), *q / np.linalg.norm(q, axis=0),
    )  # fmt: skip
    ends = motion.many(ball, start, LANE).states[-1]
    good = ends[:, 0] == LANE_LENGTH
    if good.all():
        return ball, start
    spare = np.resize(np.flatnonzero(good), n)
    return RollingBall(*(v[spare] for v in ball)), State(*(v[spare] for v in start))


def alone(values: Any, i: int) -> Any:
    return type(values)(*(float(v[i]) for v in values))


def by_scipy(ball: RollingBall, start: State, rtol: float) -> np.ndarray:
    """The state at the end of a shot by DOP853, its events located."""
    r, none = ball.radius, 1e-5
    s, t, mode, piece = np.array(start), 0.0, SLIDING, 0
    ends = [LANE[1].start, LANE_LENGTH]
    while True:
        mu, end = LANE[piece].mu, ends[piece]
        law = motion._slide if mode == SLIDING else motion._roll

        def rates(_: float, s: np.ndarray, law: Any = law, mu: float = mu) -> tuple[float, ...]:
            _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s.tolist()
            if law is motion._roll:
                vx, vy = r * wy, -r * wx
            ax, ay, az, px, py = law(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, math.sqrt)
            return (
                vx, vy, px, py, ax, ay, az,
                -0.5 * (wx * q1 + wy * q2 + wz * q3), 0.5 * (wx * q0 + wy * q3 - wz * q2),
                0.5 * (wy * q0 + wz * q1 - wx * q3), 0.5 * (wz * q0 + wx * q2 - wy * q1),
            )  # fmt: skip

        def asks(s: np.ndarray) -> tuple[float, float, float]:
            values = s.tolist()
            values[2:4] = r * values[5], -r * values[4]
            law = motion._roll(*values[4:], *values[2:4], 0.0, ball, math.sqrt)
            return motion._force(values, law, ball)

        def passes(_: float, s: np.ndarray, end: float = end) -> float:
            return s[0] - end

        def leaves(_: float, s: np.ndarray) -> float:
            return abs(s[1]) - HALF_WIDTH

        def changes(_: float, s: np.ndarray, mode: int = mode, mu: float = mu) -> float:
            if mode == SLIDING:
                return math.hypot(*motion.slip(s, ball)) - none
            fx, fy, n = asks(s)
            return mu * n - math.hypot(fx, fy)

        events: list[Callable[..., float]] = [passes, leaves, changes]
        for event, way in zip(events, (1, 1, -1), strict=True):
            event.terminal, event.direction = True, way  # type: ignore[attr-defined]
        run = solve_ivp(rates, (t, 30.0), s, "DOP853", rtol=rtol, atol=0.1 * rtol, events=events)
        t, s = float(run.t[-1]), run.y[:, -1]
        s[7:] /= np.linalg.norm(s[7:])
        passed, left, changed = (len(found) > 0 for found in run.t_events)
        if mode == ROLLING:
            s[2], s[3] = r * s[5], -r * s[4]
        if left or (passed and end == LANE_LENGTH) or not (passed or changed):
            return s
        piece += passed
        if changed or mode == ROLLING:
            fx, fy, n = asks(s)
            pull = math.hypot(fx, fy)
            held = pull <= LANE[piece].mu * n and not (changed and mode == ROLLING)
            push = 0.0 if held else 10.0 * none / pull
            s[2], s[3] = r * s[5] - push * fx, -r * s[4] - push * fy
            mode = ROLLING if held else SLIDING


def least(work: Callable[[], object], runs: int = RUNS) -> float:
    """Seconds of processor time that the quickest of some runs takes."""
    times = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return min(times)


def main() -> None:
    """Print times, rates and errors beside what is asked of them."""
    ball, start = shots(SHOTS)
    pairs = [(alone(ball, i), alone(start, i)) for i in range(REFERENCES)]
    single = [least(lambda b=b, s=s: motion.one(b, s, LANE)) for b, s in pairs]
    batch = least(lambda: motion.many(ball, start, LANE)) / SHOTS
    scipy = [least(lambda b=b, s=s: by_scipy(b, s, 1e-9), 2) for b, s in pairs[:12]]
    ends = motion.many(ball, start, LANE).states[-1]
    tight = np.array([by_scipy(b, s, 1e-12) for b, s in pairs])
    loose = np.array([by_scipy(b, s, 1e-9) for b, s in pairs])
    steps = [len(motion.one(b, s, LANE).time) for b, s in pairs]

    def off(found: np.ndarray) -> np.ndarray:
        return MM * np.hypot(*(found[:, :2] - tight[:, :2]).T)

    def angle(found: np.ndarray) -> np.ndarray:
        return np.degrees(np.arctan2(found[:, 3], found[:, 2]))

    here, theirs = off(ends[:REFERENCES]), off(loose)
    turn = np.abs(angle(ends[:REFERENCES]) - angle(tight))
    usual = float(np.median(scipy))
    print(f"one shot alone, {np.mean(steps):.0f} steps: median {np.median(single) * 1e3:.2f} ms, "
          f"longest {max(single) * 1e3:.2f} (asked: 5)")  # fmt: skip
    print(f"batch of {SHOTS:,} on one core: {1.0 / batch:,.0f} shots a second (asked: 5,000)")
    print(f"solve_ivp (DOP853, rtol 1e-9): median {usual * 1e3:.1f} ms a shot, {usual / batch:.0f} times "
          f"the batch's (asked: 50)")  # fmt: skip
    print(f"at the pins, from DOP853 at rtol 1e-12, {REFERENCES} shots: median {np.median(here):.3f} mm, "
          f"worst {here.max():.3f} (asked: 1), entry angle worst {turn.max():.4f} degrees; "
          f"solve_ivp at rtol 1e-9 worst {theirs.max():.4f} mm")  # fmt: skip


if __name__ == "__main__":
    main()
