"""The line into the pocket against a root finder on scipy's integrator, the mirror and shots."""

import json
import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Lane, Release, parse_job
from layoutkit.lane import motion, roll, start
from layoutkit.lane.aim import POCKET, Aim, aim, on_line, released
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"


@cache
def made(hand: str = "right", **lane: float) -> Plan:
    """The first sample without release and lane, mirrored for a left hand."""
    record = json.loads(next(SAMPLES.glob("01*")).read_text(encoding="utf-8"))
    record.pop("release", None), record.pop("lane", None)
    if lane:
        record["lane"] = lane
    if hand == "left":
        record["bowler"]["hand"] = "left"
        record["ball"]["psa"]["cg_bearing"] *= -1
        for hole in ("middle", "ring", "thumb"):
            pitch = record["bowler"]["grip"][hole].get("pitch", {})
            swap = {"left": "right", "right": "left"}
            record["bowler"]["grip"][hole]["pitch"] = {
                swap.get(name, name): value for name, value in pitch.items()
            }
    return plan(parse_job(record))


def on(job: Plan, release: Release, line: Aim, **by: float) -> roll.Roll:
    """The shot on a line, moved by boards or degrees."""
    thrown = on_line(release, line)
    moved = {name: getattr(thrown, name) + value for name, value in by.items()}
    return roll.roll(job, thrown.model_copy(update=moved))


def at_pins(job: Plan, release: Release) -> float:
    """The board at the pins by DOP853 (E. Hairer, S. P. Norsett and G. Wanner), without gutters.

    The slip is kept above 0.01 in/s, so that rolling is a slide of that little slip: by friction it is
    drawn there and held there, as rolling itself would.
    """
    ball, axes = start.ball_of(job)
    s, t = np.array(start.start_of(job, release, axes)), 0.0
    lane = start.stretches(job.job.lane or Lane())
    for piece, end in zip(lane, [*(p.start for p in lane[1:]), motion.LANE_LENGTH], strict=True):

        def law(_: float, s: Array, mu: float = piece.mu) -> tuple[float, ...]:
            _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s.tolist()
            slip = math.hypot(vx - ball.radius * wy, vy + ball.radius * wx)
            mu *= math.tanh(slip / 0.2)
            ax, ay, az, px, py = motion._slide(
                wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, math.sqrt
            )
            return (
                vx, vy, px, py, ax, ay, az,
                -0.5 * (wx * q1 + wy * q2 + wz * q3), 0.5 * (wx * q0 + wy * q3 - wz * q2),
                0.5 * (wy * q0 + wz * q1 - wx * q3), 0.5 * (wz * q0 + wx * q2 - wy * q1),
            )  # fmt: skip

        def there(_: float, s: Array, end: float = end) -> float:
            return float(s[0]) - end

        there.terminal = True  # type: ignore[attr-defined]
        run = solve_ivp(law, (t, 30.0), s, "DOP853", rtol=1e-8, atol=1e-8, events=there)
        t, s = float(run.t[-1]), run.y[:, -1]
    return 20.0 + s[1] / start.BOARD


@pytest.mark.parametrize("seed", [1, 2])
def test_the_direction_is_that_of_a_root_finder(seed: int) -> None:
    """R. P. Brent's root finder (scipy) for the direction from the same board, on DOP853."""
    r = np.random.default_rng(seed)
    release = Release(
        speed=r.uniform(15, 19), revs=r.uniform(200, 400), axis_rotation=r.uniform(25, 60),
        axis_tilt=r.uniform(5, 20),
    )  # fmt: skip
    line = aim(made(), release, effects=False).aim
    assert line is not None

    def off(direction: float) -> float:
        return at_pins(made(), on_line(release, line._replace(direction=direction))) - POCKET

    wanted = brentq(off, line.direction - 0.05, line.direction + 0.05, xtol=1e-3)
    # 0.05 boards at the pins are 0.0042 degrees
    assert line.direction == pytest.approx(wanted, abs=0.0042)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_shot_on_the_line_enters_the_pocket(hand: str) -> None:
    job = made(hand)
    release = Release(speed=16.0, revs=350.0)
    found = aim(job, release, (10.0, 35.0), 8.0)
    line = found.aim
    assert line is not None
    path = on(job, release, line).path
    assert path.board_at_pins == pytest.approx(POCKET, abs=1e-3)
    assert path.breakpoint is not None
    assert path.breakpoint.board == pytest.approx(8.0, abs=1e-3)
    assert path.entry_angle == pytest.approx(line.entry_angle, abs=1e-6)
    assert path.board_at_arrows == pytest.approx(line.board_at_arrows, abs=1e-6)
    # a board of feet and of target, by shots that keep the other one
    per_degree = (on(job, release, line, direction=0.1).path.board_at_arrows or 0.0) - (
        path.board_at_arrows or 0.0
    )
    turned = 0.1 / per_degree
    feet = on(job, release, line, board=1.0, direction=-turned).path
    target = on(job, release, line, direction=turned).path
    assert feet.board_at_arrows == pytest.approx(path.board_at_arrows, abs=0.01)
    assert feet.board_at_pins == pytest.approx(POCKET + line.feet, abs=0.05)
    assert target.board_at_pins == pytest.approx(POCKET + line.target, abs=0.05)
    assert line.feet + line.target == pytest.approx(1.0, abs=0.05)


def test_both_hands_have_the_same_aim_to_the_last_bit() -> None:
    assert aim(made()) == aim(made("left"))


def test_a_line_starts_where_it_may() -> None:
    release = Release()
    for low, high in ((12.0, 16.0), (18.0, 18.0)):
        line = aim(made(), release, (low, high)).aim
        assert line is not None
        assert low - 1e-3 <= line.board <= high + 1e-3
        path = on(made(), release, line).path
        assert path.board_at_pins == pytest.approx(POCKET, abs=1e-3)
    # the more inside it starts, the more inside is its breakpoint
    outer = [aim(made(), release, (b, b), effects=False).aim for b in (15.0, 20.0, 25.0)]
    for a, b in pairwise(outer):
        assert a is not None
        assert b is not None
        assert a.outermost < b.outermost


def test_what_cannot_be_reached_is_told_with_what_can() -> None:
    found = aim(made(), Release(), (10.0, 35.0), 2.0)
    assert found.aim is None
    assert "breakpoint on board 2 cannot be reached" in found.why
    assert found.outermost is not None
    low, high = found.outermost
    assert 2.0 < low < high
    assert aim(made(), Release(), (10.0, 35.0), 0.5 * (low + high)).aim is not None
    straight = aim(made(), Release(revs=0.0), (20.0, 30.0), 8.0)
    assert straight.aim is None
    assert "no breakpoint" in straight.why
    strong = made(oil_length=20.0, oil=0.05, dry=0.25)
    beside = aim(strong, Release(speed=16.0, revs=420.0, axis_rotation=60.0), (10.0, 12.0))
    assert beside.aim is None
    assert "cannot be reached" in beside.why
    assert "possible" in beside.why
    never = aim(made(), Release(speed=5.0, revs=-800.0, axis_rotation=0.0))
    assert never.aim is None
    assert "does not come to the pins" in never.why


def test_a_release_that_states_no_line_is_on_one() -> None:
    job = made()
    thrown = released(job)
    assert thrown.model_fields_set == set()
    shot = roll.roll(job)
    assert shot.release == thrown
    assert shot.path.board_at_pins == pytest.approx(POCKET, abs=1e-3)
    stated = Release(board=18.0, direction=2.0)
    job = replace(job, job=job.job.model_copy(update={"release": stated}))
    assert roll.roll(job).release == stated
