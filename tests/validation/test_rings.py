"""The rings of a shot on the oil against scipy's integrator, turn by turn."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Lane, Release, parse_job
from layoutkit.lane import motion, roll, start
from layoutkit.planning.plan import plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"


@pytest.mark.parametrize("number", ["01", "07"])
def test_rings_on_the_oil_as_by_scipys_integrator(number: str) -> None:
    """E. Hairer, S. P. Norsett and G. Wanner's DOP853 at 1e-12, the turns as one more figure of it."""
    record = json.loads(next(SAMPLES.glob(f"{number}*")).read_text(encoding="utf-8"))
    record["release"] = Release(speed=15.0, revs=440.0, board=22.0, direction=1.5).model_dump()
    now = plan(parse_job(record))
    ball, axes = start.ball_of(now)
    begun = start.start_of(now, now.job.release, axes)
    mu = Lane().oil

    def law(_: float, s: Array) -> tuple[float, ...]:
        _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3, _ = s.tolist()
        ax, ay, az, px, py = motion._slide(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, math.sqrt)
        return (
            vx, vy, px, py, ax, ay, az,
            -0.5 * (wx * q1 + wy * q2 + wz * q3), 0.5 * (wx * q0 + wy * q3 - wz * q2),
            0.5 * (wy * q0 + wz * q1 - wx * q3), 0.5 * (wz * q0 + wx * q2 - wy * q1),
            math.sqrt(wx * wx + wy * wy + wz * wz) / math.tau,
        )  # fmt: skip

    def whole(_: float, s: Array) -> float:
        return math.sin(math.pi * s[11])

    def off_the_oil(_: float, s: Array) -> float:
        return float(s[0]) - 12.0 * Lane().oil_length

    off_the_oil.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        law,
        (0.0, 9.0),
        [*begun, 0.0],
        "DOP853",
        rtol=1e-12,
        atol=1e-13,
        events=[whole, off_the_oil],
    )
    shot = roll.roll(now)
    assert shot.flare is not None
    rings = {ring.turn: ring for ring in shot.flare.rings if ring.oily}
    states = {round(s[11]): s for s in run.y_events[0]}
    assert len(rings) > 10
    assert set(rings) - {0} == set(states) - {0}
    for turn in set(states) - {0}:
        s, ring = states[turn], rings[turn]
        q, w = s[7:11] / np.linalg.norm(s[7:11]), s[4:7]
        skew = np.array([[0.0, -q[3], q[2]], [q[3], 0.0, -q[1]], [-q[2], q[1], 0.0]])
        turned = np.eye(3) + 2.0 * q[0] * skew + 2.0 * skew @ skew
        axis = w @ turned @ np.array(axes) / np.linalg.norm(w)
        assert now.radius * np.linalg.norm(axis - ring.axis) < 0.03
        assert ring.x == pytest.approx(s[0] / 12.0, abs=0.01)
        wide = math.degrees(math.acos(-w[2] / np.linalg.norm(w)))
        assert ring.radius == pytest.approx(wide, abs=0.2)
