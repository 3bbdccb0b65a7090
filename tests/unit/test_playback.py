"""A shot moment by moment: between its steps, and the circles of the ball as they are seen."""

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation, Slerp

from layoutkit.geometry.vectors import Array
from layoutkit.job.record import parse_job
from layoutkit.lane import playback as pb
from layoutkit.lane.roll import Roll, roll
from layoutkit.planning.plan import plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"


def shot_of(number: str, **parts: Any) -> Roll:
    (path,) = SAMPLES.glob(f"{number}_*.json")
    return roll(plan(parse_job({**json.loads(path.read_text(encoding="utf-8")), **parts})))


@pytest.fixture(scope="module", params=["01", "02"])
def shot(request: pytest.FixtureRequest) -> Roll:
    """A right and a left hand's."""
    return shot_of(request.param)


def test_between_two_steps_the_ball_turns_evenly(shot: Roll) -> None:
    found = pb.playback(shot)
    # the interpolation of scipy, another program's
    long = np.flatnonzero(np.diff(shot.time, append=np.inf) > 1e-9)
    turning = Slerp(shot.time[long], Rotation.from_matrix(shot.turned[long]))
    for time in np.linspace(0.0, found.duration, 57):
        wanted = turning(min(time, shot.time[long][-1])).as_matrix()
        np.testing.assert_allclose(found.at(float(time)).turned, wanted, atol=1e-9)


def test_a_moment_at_a_step_is_that_step(shot: Roll) -> None:
    found = pb.playback(shot)
    for i in (0, 7, len(shot.time) - 1):
        moment = found.at(float(shot.time[i]))
        assert moment.feet == pytest.approx(shot.x[i])
        assert moment.board == pytest.approx(shot.board[i])
        assert moment.left == pytest.approx(shot.y[i])
        np.testing.assert_allclose(moment.turned, shot.turned[i], atol=1e-9)


def test_times_before_and_after_the_shot_are_its_ends(shot: Roll) -> None:
    found = pb.playback(shot)
    assert found.at(-1.0)[:7] == found.at(0.0)[:7]
    assert found.at(99.0)[:7] == found.at(found.duration)[:7]


def test_speed_revs_and_phase_are_those_of_release_and_path(shot: Roll) -> None:
    found = pb.playback(shot)
    first, last = found.at(0.0), found.at(found.duration)
    assert first.speed == pytest.approx(shot.release.speed, rel=0.01)
    assert first.revs == pytest.approx(shot.release.revs, rel=0.03)
    assert last.speed == pytest.approx(shot.path.end_speed, rel=0.01)
    assert last.revs == pytest.approx(shot.path.end_revs, rel=0.01)
    assert (first.phase, last.phase) == ("skid", shot.path.phases[-1].name)


def test_at_release_the_pap_lies_on_the_axis_that_the_record_tells(shot: Roll) -> None:
    marks = dict(pb.marks(shot.plan))
    turned = pb.playback(shot).at(0.0).turned
    ahead, left, up = turned @ np.array(marks["PAP"])
    tilt = math.radians(shot.release.axis_tilt)
    way = math.radians(shot.release.axis_rotation - shot.release.direction)
    side = 1.0 if shot.plan.job.bowler.hand == "right" else -1.0
    wanted = (
        -math.sin(way) * math.cos(tilt),
        side * math.cos(way) * math.cos(tilt),
        math.sin(tilt),
    )
    assert (ahead, left, up) == pytest.approx(wanted, abs=1e-9)


def test_each_ring_passes_where_the_ball_touches_the_lane_when_it_begins(shot: Roll) -> None:
    found = pb.playback(shot)
    axes, radii = pb.rings(shot)
    assert len(radii) > 10
    assert shot.flare is not None
    for ring, axis, radius in zip(shot.flare.rings, axes, radii, strict=True):
        time = float(np.interp(ring.x, shot.x, shot.time))
        moment = found.at(time)
        touch = -moment.turned[2]
        off = math.degrees(math.acos(float(np.clip(axis @ touch, -1.0, 1.0)))) - radius
        # the axis and its circle move between two steps of the shot, up to a quarter turn apart
        assert abs(off) < 1.0
        assert moment.rings in (ring.turn, ring.turn + 1)
    assert found.at(found.duration).rings == len(radii)


@given(
    axis=st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: math.hypot(*v) > 0.1),
    radius=st.floats(1.0, 179.0),
    turn=st.tuples(*[st.floats(-3.0, 3.0)] * 3),
)
def test_what_is_seen_of_a_circle(
    axis: tuple[float, float, float], radius: float, turn: tuple[float, float, float]
) -> None:
    a = np.array(axis) / math.hypot(*axis)
    frame = Rotation.from_rotvec(turn).as_matrix()
    lines, seen = pb.circles(a[None], np.array([radius]), frame, 65)
    x, y = lines[0].T
    z = np.sqrt(np.maximum(1.0 - x * x - y * y, 0.0))
    # a great many points of the circle, made another way
    over = np.linalg.svd(a[None])[2][1:]
    phi = np.linspace(0.0, 2.0 * math.pi, 4001)
    r = math.radians(radius)
    around = np.outer(np.cos(phi), over[0]) + np.outer(np.sin(phi), over[1])
    whole = (math.cos(r) * a + math.sin(r) * around) @ frame.T
    near = whole[whole[:, 2] > 0.0]
    if not seen[0]:
        assert whole[:, 2].max() < 1e-6
        return
    points = np.stack([x, y, z], axis=1)
    np.testing.assert_allclose(points @ (frame @ a), math.cos(r), atol=1e-6)
    if whole[:, 2].min() < -1e-3:  # cut by the limb: both ends lie on it
        np.testing.assert_allclose(np.hypot(x, y)[[0, -1]], 1.0, atol=1e-6)
    elif whole[:, 2].min() > 1e-3:
        np.testing.assert_allclose(lines[0][0], lines[0][-1], atol=1e-9)
    if len(near):
        gaps = np.linalg.norm(near[:, None, :2] - lines[0][None], axis=2).min(axis=1)
        assert gaps.max() < 0.06


def test_a_circle_seen_straight_on_is_whole_in_front_and_hidden_behind() -> None:
    toward = np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]])
    lines, seen = pb.circles(toward, np.array([30.0, 30.0]), np.eye(3))
    assert seen.tolist() == [True, False]
    np.testing.assert_allclose(np.hypot(*lines[0].T), 0.5, atol=1e-12)


def test_the_eye_behind_the_ball_sees_right_left_and_up_as_the_bowler_does() -> None:
    frame = pb.behind()
    np.testing.assert_allclose(frame @ frame.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(frame) == pytest.approx(1.0)
    right, up, toward = frame
    assert right.tolist() == [0.0, -1.0, 0.0]
    assert up[2] > 0.9
    assert toward[0] < 0.0 < toward[2]


@pytest.mark.parametrize(
    "release",
    [
        {"revs": 0},
        {"revs": -800, "speed": 5},
        {"speed": 40, "direction": 15},
        {"axis_tilt": 90},
        {"axis_tilt": -90, "axis_rotation": 180},
    ],
)
@pytest.mark.parametrize("lane", [{"oil": 0, "dry": 0}, {"oil": 1, "dry": 1}])
def test_odd_releases_have_moments_too(release: dict[str, float], lane: dict[str, float]) -> None:
    shot = shot_of("01", release=release, lane=lane)
    found = pb.playback(shot)
    for time in np.linspace(0.0, found.duration, 9):
        moment = found.at(float(time))
        assert np.isfinite([*moment[:5], *moment.turned.ravel()]).all()
        np.testing.assert_allclose(moment.turned @ moment.turned.T, np.eye(3), atol=1e-9)


def test_a_ball_without_rg_data_has_no_rings() -> None:
    (path,) = SAMPLES.glob("01_*.json")
    record = json.loads(path.read_text(encoding="utf-8"))
    for name in ("rg_low", "differential", "intermediate_differential"):
        record["ball"].pop(name, None)
    shot = roll(plan(parse_job(record)))
    axes, radii = pb.rings(shot)
    assert axes.shape == (0, 3)
    lines, seen = pb.circles(axes, radii, np.eye(3))
    assert len(lines) == len(seen) == 0
    assert pb.playback(shot).at(1.0).rings == 0


def test_the_mouths_are_those_of_the_widest_that_is_cut() -> None:
    shot = shot_of("12")  # an oval thumb hole
    axes, radii = pb.mouths(shot.plan)
    wide: Array = 2.0 * shot.plan.radius * np.sin(np.radians(radii))
    for h, axis, width in zip(shot.plan.holes, axes, wide, strict=True):
        assert np.linalg.norm(axis) == pytest.approx(1.0)
        own = h.bore.diameter if h.bore else h.oval.length if h.oval else h.diameter
        assert width == pytest.approx(own)
