"""From a plan to the lane: boards, stretches, breakpoint, phases, both hands; and the rings, exactly."""

import json
import math
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from layoutkit.geometry.vectors import dot
from layoutkit.job.record import Lane, Release, parse_job
from layoutkit.lane import flare, motion, roll, start
from layoutkit.output.roll_report import flare_rows, path_rows
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
RIGHT = next(SAMPLES.glob("01*.json"))
RADIUS = 4.275


@cache
def made(hand: str = "right") -> Plan:
    """The first sample without release and lane, mirrored for a left hand."""
    record = json.loads(RIGHT.read_text(encoding="utf-8"))
    record.pop("release", None), record.pop("lane", None)
    if hand == "left":
        record["bowler"]["hand"] = "left"
        record["ball"]["psa"]["cg_bearing"] *= -1
        for hole in ("middle", "ring", "thumb"):
            pitch = record["bowler"]["grip"][hole].get("pitch", {})
            turned = {"left": "right", "right": "left"}
            record["bowler"]["grip"][hole]["pitch"] = {
                turned.get(name, name): value for name, value in pitch.items()
            }
    return plan(parse_job(record))


def thrown(
    job: Plan, release: dict[str, float] | None = None, lane: Lane | None = None
) -> roll.Roll:
    said = {"release": Release(**release) if release is not None else None, "lane": lane}
    return roll.roll(replace(job, job=job.job.model_copy(update=said)))


# --- the lane -------------------------------------------------------------------------------------


def test_a_lane_of_39_boards_is_as_wide_as_the_rules_have_it() -> None:
    # 41 1/2 in of 39 boards: common practice, no source
    assert pytest.approx(41.5) == 39.0 * start.BOARD
    right, left = (thrown(made(hand), {"board": 18.0}) for hand in ("right", "left"))
    # board 18 at the release, counted from the bowler's own side: two boards toward it from the middle
    assert right.board[0] == left.board[0] == 18.0
    assert right.y[0] == pytest.approx(-2.0 * start.BOARD)
    assert left.y[0] == pytest.approx(2.0 * start.BOARD)


def test_stretches_are_oil_and_then_none() -> None:
    lane = Lane(oil_length=38.0, oil=0.05, dry=0.18)
    assert start.stretches(lane) == (
        motion.Stretch(0.0, 0.05, 0.0),
        motion.Stretch(456.0, 0.18, 0.0),
    )
    assert start.oil_end(lane) == 456.0
    assert start.stretches(Lane(oil_length=60.0)) == (motion.Stretch(0.0, 0.04, 0.0),)
    assert start.stretches(Lane(oil_length=0.0)) == (motion.Stretch(0.0, 0.20, 0.0),)


def test_stretches_of_a_table_run_through_its_rows() -> None:
    lane = Lane.model_validate(
        {"table": [{"at": 5, "friction": 0.04}, {"at": 35, "friction": 0.04},
                   {"at": 45, "friction": 0.2}, {"at": 55, "friction": 0.18}]}
    )  # fmt: skip
    found = start.stretches(lane)
    xs = np.array([60.0, 420.0, 480.0, 540.0, 660.0])
    for x, mu in zip([0.0, *xs, 719.0], [0.04, 0.04, 0.04, 0.12, 0.2, 0.18, 0.18], strict=True):
        piece = [p for p in found if p.start <= x][-1]
        assert piece.mu + piece.slope * (x - piece.start) == pytest.approx(mu), x
    # half way from 0.04 to the last 0.18 is 0.11, at 7/16 of the way from 35 to 45 ft
    assert start.oil_end(lane) == pytest.approx(12.0 * (35.0 + 10.0 * 7.0 / 16.0))


def test_an_even_table_has_oil_to_the_pins() -> None:
    lane = Lane.model_validate({"table": [{"at": 0, "friction": 0.1}]})
    assert start.oil_end(lane) == motion.LANE_LENGTH
    assert start.stretches(lane) == (motion.Stretch(0.0, 0.1, 0.0),)


# --- the path -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["01", "05", "06", "10"])
def test_phases_fill_the_path_in_their_order(name: str) -> None:
    job = plan(parse_job(json.loads(next(SAMPLES.glob(f"{name}*")).read_text(encoding="utf-8"))))
    shot = thrown(job, {"speed": 14.0, "revs": 350.0})
    path = shot.path
    names = [phase.name for phase in path.phases]
    assert names == ["skid", "hook", "roll"][: len(names)]
    reached = 0.0
    for phase in path.phases:
        assert phase.start == pytest.approx(reached)
        reached += phase.length
    assert reached == pytest.approx(shot.x[-1])


def test_breakpoint_is_the_outermost_place_of_the_path() -> None:
    shot = thrown(made())
    assert shot.path.breakpoint is not None
    feet, board = shot.path.breakpoint
    # against a parabola through the three lowest of the steps
    i = int(shot.board.argmin())
    a, b, c = np.polyfit(shot.x[i - 1 : i + 2], shot.board[i - 1 : i + 2], 2)
    assert feet == pytest.approx(-b / (2.0 * a), abs=0.05)
    assert board == pytest.approx(c - b * b / (4.0 * a), abs=0.002)
    assert board <= shot.board.min() + 1e-9


def test_board_at_the_arrows_lies_on_the_path() -> None:
    shot = thrown(made())
    assert shot.path.board_at_arrows == pytest.approx(np.interp(15.0, shot.x, shot.board), abs=0.01)


def test_entry_angle_is_the_path_s_own_at_the_pins() -> None:
    shot = thrown(made())
    # against the mean of the last steps; the middle circles the centre of gravity meanwhile
    aside, along = shot.y[-1] - shot.y[-4], 12.0 * (shot.x[-1] - shot.x[-4])
    offset = np.linalg.norm(start.gravity(shot.plan))
    circling = math.degrees(
        offset * shot.path.end_revs * math.pi / 30.0 / (17.6 * shot.path.end_speed)
    )
    wanted = math.degrees(math.atan2(aside, along))
    assert shot.path.entry_angle == pytest.approx(wanted, abs=0.05 + 2.0 * circling)
    assert shot.path.time == shot.time[-1]


def test_without_friction_the_ball_goes_straight_and_never_rolls() -> None:
    lane = Lane(oil=0.0, dry=0.0)
    shot = thrown(made(), {"board": 25.0, "direction": 1.0}, lane)
    # a straight line from board 25, one degree toward the bowler's own gutter
    wanted = 25.0 - 720.0 * math.tan(math.radians(1.0)) / start.BOARD
    # the middle circles the centre of gravity, which goes straight, by some hundredths of an inch
    assert shot.path.board_at_pins == pytest.approx(wanted, abs=0.04)
    assert shot.path.entry_angle == pytest.approx(-1.0, abs=0.1)
    assert [phase.name for phase in shot.path.phases] == ["skid", "hook"]
    assert shot.path.end_revs == pytest.approx(300.0, rel=0.01)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_the_release_throws_the_center_of_gravity(hand: str) -> None:
    """Newton's first law: without friction that point goes straight on, at the speed of the release.

    It lies off the ball's middle by the static weights times the arm over the ball's weight.
    """
    release = {"speed": 17.0, "revs": 500.0, "axis_rotation": 50.0, "direction": 1.0}
    shot = thrown(made(hand), release, Lane(oil=0.0, dry=0.0))
    s, sign = shot.plan.statics, 1.0 if hand == "right" else -1.0
    off = np.array([sign * s.side_oz, s.finger_oz, s.top_oz]) * s.arm / (16.0 * s.weight_lb)
    assert np.linalg.norm(off) > 0.02
    off = shot.turned @ off
    speed, way = 17.0 * 17.6, math.radians(1.0)  # in/s in a mile an hour: 63360 / 3600
    along = 12.0 * shot.x + off[:, 0]
    aside = shot.y + off[:, 1]
    assert along - along[0] == pytest.approx(speed * math.cos(way) * shot.time, abs=0.02)
    assert aside - aside[0] == pytest.approx(-sign * speed * math.sin(way) * shot.time, abs=0.02)


def test_gutter_is_told_with_its_place() -> None:
    shot = thrown(made(), {"board": 5.0, "direction": 8.0})
    path = shot.path
    assert path.gutter == pytest.approx(shot.x[-1])
    assert path.board_at_pins is path.entry_angle is None
    assert not path.stopped
    # the edge is 19 1/2 boards from the middle
    assert shot.board[-1] == pytest.approx(0.5)
    assert shot.gutter_side == "right"
    assert any("right gutter" in caution for caution in shot.cautions)
    told = roll.figures(shot)
    assert math.isnan(told["board at the pins"])
    assert math.isnan(told["speed at the pins"])


@pytest.mark.parametrize(("hand", "out", "side"), [
    ("right", 8.0, "right"), ("right", -8.0, "left"), ("left", 8.0, "left"), ("left", -8.0, "right"),
])  # fmt: skip
def test_which_gutter_it_is(hand: str, out: float, side: str) -> None:
    shot = thrown(made(hand), {"board": 20.0, "direction": out})
    assert shot.gutter_side == side
    # y is to the left for both hands
    assert (shot.y[-1] > 0.0) == (side == "left")
    assert dict(path_rows(shot))["board at the pins"] == f"{side} gutter"


@pytest.mark.parametrize("again", [2.9, 3.1])
def test_rolling_begins_where_slip_stays_small(again: float) -> None:
    """A trail that is written down: the slip shrinks evenly from 30 to 0 in/s, and comes again."""
    slip = np.array([30.0, 0.0, 0.0, again, 0.0, 0.0])
    time = np.array([0.0, 1.0, 1.5, 1.75, 2.0, 3.0])
    speed = 240.0 / 0.9  # so that a slip of 3 in/s is 20 ft down the lane
    states = np.zeros((6, 11))
    states[:, 0], states[:, 2] = speed * time, speed
    states[:, 5] = (speed - slip) / RADIUS
    modes = np.array([0, 1, 0, 0, 1, 2], dtype=np.int8)
    ball = motion.RollingBall(RADIUS, 6.3, 6.4, 6.5, 0.0, 0.0, 0.0)
    found = roll._settled(motion.Trail(time, states, modes), ball) / 12.0
    if again < roll.ROLLS:
        assert found == pytest.approx(20.0)
    else:
        assert found == pytest.approx(speed * (2.0 - 0.25 * roll.ROLLS / again) / 12.0)


def test_a_ball_that_comes_back_stops_short() -> None:
    # five miles an hour with strong backspin
    shot = thrown(made(), {"speed": 5.0, "revs": -800.0, "axis_rotation": 0.0}, Lane(oil=0.3))
    assert shot.path.stopped
    assert shot.path.board_at_pins is shot.path.gutter is None
    assert any("does not come to the pins" in caution for caution in shot.cautions)


def test_both_hands_roll_alike() -> None:
    right, left = thrown(made()), thrown(made("left"))
    assert right.path == left.path
    assert np.array_equal(right.board, left.board)
    assert np.array_equal(right.y, -left.y)
    assert right.flare == left.flare
    assert np.array_equal(right.touch * [-1.0, 1.0, 1.0], left.touch)
    # a matrix turns the touching point down in both lanes' own frames
    for shot in (right, left):
        down = np.einsum("tij,tj->ti", shot.turned, shot.touch) / shot.plan.radius
        assert np.allclose(down, [0.0, 0.0, -1.0], atol=1e-9)
        assert np.allclose(np.linalg.det(shot.turned), 1.0)


def test_release_spins_about_the_pap_with_the_grip_on_top() -> None:
    release = {"axis_rotation": 60.0, "axis_tilt": 20.0, "direction": 2.0}
    shot = thrown(made(), release)
    pap = np.array(shot.plan.marks.pap.xyz) / shot.plan.radius
    turned = shot.turned[0]
    way = math.radians(60.0 - 2.0)  # direction 2 degrees to the right
    tilt = math.radians(20.0)
    wanted = [-math.sin(way) * math.cos(tilt), math.cos(way) * math.cos(tilt), math.sin(tilt)]
    assert np.allclose(turned @ pap, wanted)
    # no turn about that axis brings the grip centre higher
    heights = []
    for phase in (-1.0, 0.0, 1.0):
        other = thrown(made(), {**release, "phase": phase})
        heights.append((other.turned[0] @ [0.0, 0.0, 1.0])[2])
    assert heights[1] == max(heights)
    # the ring about the PAP has that tilt beyond a right angle
    assert shot.flare is not None
    assert shot.flare.rings[0].radius == pytest.approx(110.0)
    assert np.allclose(shot.flare.rings[0].axis, pap)


def test_without_rg_data_flare_is_refused() -> None:
    record = json.loads(RIGHT.read_text(encoding="utf-8"))
    for name in ("rg_low", "differential", "intermediate_differential", "filler_density"):
        record["ball"][name] = None
    shot = roll.roll(plan(parse_job(record)))
    assert shot.flare is None
    assert shot.near_holes == ()
    assert roll.NO_FLARE in shot.cautions
    assert shot.path.board_at_pins is not None


def test_a_ball_that_does_not_turn_at_first_has_no_flare_and_says_so() -> None:
    shot = thrown(made(), {"revs": 0.0, "direction": 0.0})
    assert shot.flare is None
    assert roll.NO_TURN in shot.cautions
    assert roll.NO_FLARE not in shot.cautions
    assert shot.path.board_at_pins is not None
    assert shot.path.end_revs > 0.0


@pytest.mark.parametrize(
    ("release", "lane"),
    [
        ({"speed": 5.0, "revs": 800.0, "axis_tilt": 90.0}, {"oil": 0.0, "dry": 0.0}),
        ({"speed": 40.0, "revs": -800.0, "axis_tilt": -90.0}, {"oil": 1.0, "dry": 1.0}),
        ({"speed": 5.0, "axis_rotation": 180.0, "phase": 360.0}, {"oil": 1.0, "oil_length": 60.0}),
        ({"board": 1.0, "direction": 15.0}, {"oil": 0.0, "oil_length": 0.0}),
        ({"board": 39.0, "direction": -15.0, "axis_rotation": -180.0}, {}),
    ],
)
def test_the_ends_of_what_a_record_may_hold_end_sensibly(
    release: dict[str, float], lane: dict[str, float]
) -> None:
    shot = thrown(made(), release, Lane(**lane))
    assert len(shot.time) <= motion.MOST_STEPS + 1
    assert shot.time[-1] <= motion.LONGEST_TIME + 1.0
    assert np.isfinite(shot.turned).all()
    ends = [shot.path.board_at_pins is not None, shot.path.gutter is not None, shot.path.stopped]
    assert ends.count(True) == 1
    for _, value in flare_rows(shot) + path_rows(shot):
        assert "nan" not in value


def test_cautions_say_what_is_conventional_and_what_is_left_out() -> None:
    job = made()
    assert thrown(job).cautions[-2] == roll.CONVENTIONAL["release", "lane"]
    assert thrown(job, {}).cautions[-2] == roll.CONVENTIONAL["lane",]
    assert thrown(job, None, Lane()).cautions[-2] == roll.CONVENTIONAL["release",]
    both = thrown(job, {}, Lane()).cautions
    assert both[-1] == roll.LEFT_OUT
    assert not set(both) & set(roll.CONVENTIONAL.values())
    words = ("moves", "across the boards", "depends on speed", "at rest", "upright", "rolling resistance",
             "loft", "pins", "worn", "shot to shot")  # fmt: skip
    assert all(word in roll.LEFT_OUT for word in words)


# --- comparing ------------------------------------------------------------------------------------


def test_a_plan_does_not_differ_from_itself() -> None:
    (rows,) = roll.compare(made(), [made()], draws=6)
    assert {row.name for row in rows} == {name for name, _ in roll.FIGURES}
    assert all(row.value == row.uncertainty == 0.0 for row in rows)


def test_comparison_is_under_the_first_one_s_release_and_the_same_every_time() -> None:
    second = plan(parse_job(json.loads(next(SAMPLES.glob("05*")).read_text(encoding="utf-8"))))
    job = second.job.model_copy(update={"release": Release(speed=12.0, revs=450.0)})
    one = roll.compare(made(), [replace(second, job=job)], draws=8)
    two = roll.compare(made(), [second], draws=8)
    assert one == two
    (rows,) = one
    told = {row.name: row for row in rows}
    mine = thrown(made())
    theirs = roll.roll(roll.under(made(), second), mine.release)
    mine, theirs = roll.figures(mine), roll.figures(theirs)
    for name, row in told.items():
        assert row.value == pytest.approx(theirs[name] - mine[name], abs=1e-12)
    assert told["flare width"].uncertainty > 0.0


def test_many_shots_at_once_give_the_figures_of_each_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(roll, "LONGEST_TURN", math.inf)  # the batch's own steps
    releases = [
        (Release(speed=s, board=20.0), Lane(oil_length=o)) for s, o in ((15.0, 38.0), (18.0, 60.0))
    ]
    found = roll._varied_figures(made(), releases)
    for i, (release, lane) in enumerate(releases):
        job = made().job.model_copy(update={"release": release, "lane": lane})
        alone = roll.figures(roll.roll(replace(made(), job=job)))
        for name, values in found.items():
            assert values[i] == pytest.approx(alone[name], rel=1e-9, nan_ok=True), name


# --- rings, exactly -------------------------------------------------------------------------------

STEP = 0.1  # radians that the axis moves in a turn
WIDE = 100.0  # degrees from the axis to the ring


def about(angle: float) -> tuple[float, float, float]:
    """A unit vector on one great circle."""
    return (math.cos(angle), math.sin(angle), 0.0)


def synthetic() -> tuple[flare.FlareRing, ...]:
    """Six rings whose axes move along a great circle by equal steps, the last two off the oil."""
    return tuple(flare.FlareRing(n, about(STEP * n), WIDE, 5.0 * n, n < 4) for n in range(6))


def circle(ring: flare.FlareRing, number: int = 20001) -> np.ndarray:
    """Many points (n, 3) of a ring, from any two directions square to its axis."""
    axis = np.array(ring.axis)
    one = np.cross(axis, [0.3, -0.2, 0.9])
    one /= np.linalg.norm(one)
    two = np.cross(axis, one)
    t = np.linspace(0.0, 2.0 * math.pi, number)[:, None]
    wide = math.radians(ring.radius)
    return math.cos(wide) * axis + math.sin(wide) * (np.cos(t) * one + np.sin(t) * two)


def farthest(a: flare.FlareRing, b: flare.FlareRing) -> float:
    """The arc on a unit ball by which b's points lie off a's circle at most, over many points."""
    off = np.arccos(np.clip(circle(b) @ np.array(a.axis), -1.0, 1.0)) - math.radians(a.radius)
    return float(np.abs(off).max())


def test_equal_steps_give_equal_spacing_and_a_width_of_their_sum() -> None:
    found = flare.spread(synthetic(), RADIUS)
    assert found.spacing == pytest.approx([RADIUS * STEP] * 3)
    assert found.width == pytest.approx(RADIUS * STEP * 3)
    assert found.migration == pytest.approx(RADIUS * STEP * 3)
    assert len(found.rings) == 6


def test_crossings_lie_on_both_circles() -> None:
    rings = synthetic()
    found = flare.spread(rings, RADIUS)
    assert len(found.crossings) == 3
    for (a, b), pair in zip(pairwise(rings[:4]), found.crossings, strict=True):
        assert len(pair) == 2
        assert pair[0] != pair[1]
        for point in pair:
            assert dot(point, point) == pytest.approx(1.0)
            for ring in (a, b):
                assert dot(point, ring.axis) == pytest.approx(math.cos(math.radians(WIDE)))


def test_rings_of_different_widths_cross_or_do_not() -> None:
    one = flare.FlareRing(0, about(0.0), 80.0, 0.0, True)
    inside = flare.FlareRing(1, about(0.05), 70.0, 4.0, True)
    across = flare.FlareRing(1, about(0.3), 70.0, 4.0, True)
    assert flare.crossing(one, inside) == ()
    pair = flare.crossing(one, across)
    assert len(pair) == 2
    for point in pair:
        assert dot(point, one.axis) == pytest.approx(math.cos(math.radians(80.0)))
        assert dot(point, across.axis) == pytest.approx(math.cos(math.radians(70.0)))
    assert flare.crossing(one, one) == ()


@pytest.mark.parametrize(("turn", "other"), [(0.05, 100.0), (0.4, 100.0), (0.2, 93.0), (0.0, 96.0)])
def test_how_far_apart_two_rings_are_against_many_points(turn: float, other: float) -> None:
    a = flare.FlareRing(0, about(0.0), WIDE, 0.0, True)
    b = flare.FlareRing(1, about(turn), other, 4.0, True)
    assert flare.apart(a, b, RADIUS) == pytest.approx(RADIUS * farthest(a, b), abs=1e-6)


def test_holes_near_rings_against_many_points() -> None:
    rings = synthetic()
    rng = np.random.default_rng(7)
    centers = rng.normal(size=(40, 3))
    centers /= np.linalg.norm(centers, axis=1)[:, None]
    holes = [(f"hole {i}", tuple(c), 0.5) for i, c in enumerate(centers.tolist())]
    found = {n.hole: n for n in flare.near_holes(rings, holes, RADIUS, 0.25)}
    told = 0
    for name, center, size in holes:
        # the least arc from any point of any ring
        gaps = [
            RADIUS * float(np.arccos(np.clip(circle(r) @ np.array(center), -1.0, 1.0)).min()) - size
            for r in rings
        ]
        if min(gaps) > 0.25:
            assert name not in found
            continue
        told += 1
        assert found[name].gap == pytest.approx(min(gaps), abs=1e-5)
        assert found[name].turn == int(np.argmin(gaps))
    assert 0 < told < len(holes)


def test_a_hole_of_many_mouths_is_told_once_by_its_nearest() -> None:
    ring = flare.FlareRing(3, (0.0, 0.0, 1.0), 90.0, 0.0, True)
    holes = [("thumb", (math.cos(t), 0.0, math.sin(t)), 0.2) for t in (0.1, 0.0, -0.08)]
    (near,) = flare.near_holes([ring], holes, RADIUS, 0.25)
    assert near == ("thumb", 3, -0.2)
    assert flare.near_holes([ring], [("far", (0.0, 0.0, 1.0), 0.2)], RADIUS, 0.25) == ()


def test_rings_are_taken_at_whole_turns() -> None:
    # an axis that goes evenly about a great circle, on a ball that turns ever faster
    time = np.linspace(0.0, 1.0, 27)
    turned, pace, gain = 2.0 * time + 0.6 * time**2, 2.0 + 1.2 * time, 1.2
    angle = 0.05 * turned
    spin = math.tau * pace[:, None] * [about(a) for a in angle]
    along = np.array([(-math.sin(a), math.cos(a), 0.0) for a in angle])
    rate = math.tau * (
        gain * np.array([about(a) for a in angle]) + 0.05 * (pace**2)[:, None] * along
    )
    # what touches the lane is square to the axis
    none = np.zeros(27)
    values = np.column_stack([spin, none, 100.0 * turned])
    rates = np.column_stack([rate, none, 100.0 * pace])
    found = flare.rings(flare.Track(time, values, np.arange(26), rates[:-1], rates[1:]), 150.0)
    assert [ring.turn for ring in found] == [0, 1, 2]
    assert [ring.oily for ring in found] == [True, True, False]
    for ring in found:
        assert ring.x == pytest.approx(100.0 * ring.turn / 12.0, abs=1e-4)
        assert ring.radius == pytest.approx(90.0)
        assert ring.axis == pytest.approx(about(0.05 * ring.turn), abs=1e-7)
    none_at_all = np.arange(0)
    only = flare.Track(time[:1], values[:1], none_at_all, rates[:0], rates[:0])
    assert flare.rings(only, 1.0) == ()


def test_no_rings_on_the_oil_have_no_width() -> None:
    dry = [ring._replace(oily=False) for ring in synthetic()]
    found = flare.spread(dry, RADIUS)
    assert (found.width, found.migration, found.spacing, found.crossings) == (0.0, 0.0, (), ())
