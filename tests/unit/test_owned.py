"""Owned balls: how they differ against single shots, the gap between them, what fills it."""

import importlib
import math
from functools import partial
from pathlib import Path

import pytest

from layoutkit import InputError, load_job, plan, roll
from layoutkit.choosing.choose import Result
from layoutkit.choosing.figures import Wanted
from layoutkit.choosing.owned import Owned, compare_owned, fill, lanes_of
from layoutkit.job.record import Friction, Lane, Release
from layoutkit.job.wants import Range, Wants
from layoutkit.lane.aim import POCKET, aim
from layoutkit.lane.roll import Difference, compare, figures
from layoutkit.lane.why import FRICTION, sensitivity
from layoutkit.output.choose_page import aside_words
from layoutkit.output.choose_report import room, value_words
from layoutkit.output.owned_report import cannot_words, filling_text, gap_words, owned_text
from layoutkit.planning.values import Plan

FOLDER = Path(__file__).parents[2] / "sample_bowlers"
JOB = load_job(FOLDER / "01_right_asymmetric.json")
OIL = JOB.lane.oil_length if JOB.lane else Lane().oil_length
PLANS = {
    "up": plan(load_job(FOLDER / "03_right_symmetric_pin_up.json")),
    "down": plan(load_job(FOLDER / "04_right_symmetric_pin_down.json")),
}


@pytest.fixture(scope="module")
def owned() -> Owned:
    """Two balls on the record's own lane."""
    return compare_owned(JOB, PLANS, [OIL], draws=10)


def alone(owned: Owned, n: int, release: Release) -> dict[str, float]:
    """The figures of one owned ball's shot, rolled by itself."""
    return figures(roll(owned.plans[n], release))


def test_differences_are_those_of_single_shots_on_the_first_balls_line(owned: Owned) -> None:
    (lane,) = owned.lanes
    one, other = (alone(owned, n, lane.release) for n in (0, 1))
    (pair,) = lane.apart
    for row in pair.rows:
        assert row.value == other[row.name] - one[row.name]
    for n, line in enumerate(lane.lines):
        assert line.aim == aim(owned.plans[n]).aim
    assert one["board at the pins"] == pytest.approx(POCKET, abs=1e-3)


def test_feet_and_target_moved_together_bring_the_other_ball_into_the_pocket(owned: Owned) -> None:
    (lane,) = owned.lanes
    pair = lane.apart[0]
    assert pair.together is not None
    assert pair.feet is not None
    assert abs(pair.together.value) > 0.3
    moved = lane.release.model_copy(update={"board": lane.release.board + pair.together.value})
    assert alone(owned, 1, moved)["board at the pins"] == pytest.approx(POCKET, abs=1e-3)
    # one board of feet with the target kept moves the first ball the other way
    assert pair.feet.value * pair.together.value < 0.0


def test_a_lines_uncertainty_is_what_the_varied_friction_does_to_it(
    owned: Owned, monkeypatch: pytest.MonkeyPatch
) -> None:
    rolling = importlib.import_module("layoutkit.lane.roll")
    (lane,) = owned.lanes
    for n, unsure in enumerate(lane.unsure):
        assert {"board at the pins", "entry angle", "flare width"} <= unsure.keys()
        told = owned_text(owned).splitlines()
        board = unsure["board at the pins"]
        assert any(t.startswith(f"  {n + 1}") and f" +/- {board:.1f} " in t for t in told)
    # a half-width h of friction, which is uniform, has the standard deviation h / sqrt(3)
    monkeypatch.setattr(rolling, "VARIED", dict.fromkeys(rolling.VARIED, 0.0) | {"oil": 0.002})
    shot = lane.shots[0]
    alone = rolling.spread(owned.plans[0], lane.release, 40)
    slope = sensitivity(shot).friction
    assert slope is not None
    expected = 2.0 * abs(slope / FRICTION) * 0.002 / math.sqrt(3.0)
    assert alone["board at the pins"] == pytest.approx(expected, rel=0.25)


def test_a_ball_is_not_told_apart_from_itself() -> None:
    twin = compare_owned(JOB, {"one": PLANS["up"], "other": PLANS["up"]}, [OIL], draws=4)
    assert owned_text(twin).count("not told apart") == 5
    assert [gap.kind for gap in twin.gaps] == ["more", "less"]


def test_a_gap_wide_enough_lies_between_and_else_beyond_the_balls(
    owned: Owned, monkeypatch: pytest.MonkeyPatch
) -> None:
    more, less = owned.gaps
    assert more.want.than == "down"  # it comes farther in from the same line
    assert less.want.than == "up"
    assert "hooks more than down, which hooks most" in gap_words(owned, more)
    module = importlib.import_module("layoutkit.choosing.owned")
    monkeypatch.setattr(module, "SEEN", 0.125)
    together = owned.lanes[0].apart[0].together
    assert together is not None
    (gap,) = compare_owned(JOB, PLANS, [OIL], draws=10).gaps
    assert (gap.kind, gap.of, gap.want.than) == ("between", (0, 1), "up")
    assert gap.boards == pytest.approx(-together.value)
    assert (gap.want.least, gap.want.most) == pytest.approx((0.125, gap.boards - 0.125))


@pytest.mark.parametrize(("least", "met"), [(-0.5, True), (9.0, False)])
def test_what_comes_nearest_to_a_gap_is_told_with_what_no_layout_can_do(
    owned: Owned, least: float, met: bool
) -> None:
    module = importlib.import_module("layoutkit.choosing.choose")
    gap = owned.gaps[0]._replace(want=Range(least=least, weight=1.0, than="down"))
    near = Wants(moved=Range(most=1.0), turned=Range(most=20.0))
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("SEEDS", 1), ("SHOTS", (20,)), ("MOST", 1)):
            patch.setattr(module, name, value)
        patch.setattr(module, "compare", partial(compare, draws=4))
        choice = fill(JOB, owned, gap, near)
    there = {r.want.name: r for r in choice.proposals[0].results}["board_at_pins"]
    assert there.met is met
    assert there.apart is not None
    text = filling_text(owned, [(gap, choice)])
    lead = "Filled: the first proposal" if met else "Not filled: of all layouts the nearest"
    assert f"{lead} comes to the pins {there.apart.value:+.1f} +/-" in text
    low, high = choice.possible["board_at_pins"]
    words = cannot_words(owned, choice, "fraction")
    assert f"within {high - low:.1f} boards" in words
    assert owned.moved.friction is not None
    assert f"moves up {abs(owned.moved.friction):.1f} boards" in words
    assert words.endswith("Surface and release move the ball more than any layout can.")


def test_lanes_are_the_records_own_and_others_beside_it() -> None:
    lanes, own = lanes_of(JOB)
    assert [lane.oil_length for lane in lanes] == [OIL - 5.0, OIL, OIL + 5.0]
    assert own == 1
    lanes, own = lanes_of(JOB, [32.0])
    assert [lane.oil_length for lane in lanes] == [32.0, OIL]
    table = Lane(table=(Friction(at=0.0, friction=0.04), Friction(at=50.0, friction=0.2)))
    tabled = JOB.model_copy(update={"lane": table})
    assert lanes_of(tabled) == ((table,), 0)
    with pytest.raises(InputError, match="no length of oil"):
        lanes_of(tabled, [32.0])
    with pytest.raises(InputError, match="4 lengths of oil"):
        lanes_of(JOB, [32.0, 34.0, 36.0])


def test_balls_that_cannot_be_compared_are_refused() -> None:
    left: Plan = plan(load_job(FOLDER / "08_left_symmetric.json"))
    with pytest.raises(InputError, match="lefty: is drilled for the left hand"):
        compare_owned(JOB, {"lefty": left})
    with pytest.raises(InputError, match="possible: 1 to 4"):
        compare_owned(JOB, {})
    open_ball = plan(load_job(FOLDER / "14_first_ball.json"))
    with pytest.raises(InputError, match=r"new: bowler\.pap"):
        compare_owned(JOB, {"new": open_ball})


def test_what_rounds_to_nothing_has_no_sign() -> None:
    assert value_words("board_at_pins", -0.04, "fraction", signed=True) == "0.0 boards"
    assert value_words("board_at_pins", -0.06, "fraction", signed=True) == "-0.1 boards"


@pytest.mark.parametrize(
    ("value", "words"),
    [(2.0, "farther in: it hooks more."), (-2.0, "farther out: it hooks less.")],
)
def test_a_customer_reads_to_which_side_a_ball_comes_of_the_best(value: float, words: str) -> None:
    there = Difference("board at the pins", "boards", value, 0.3)
    assert aside_words(there, 1).endswith(f"2.0 +/- 0.3 boards {words}")
    assert "cannot be told from 1" in aside_words(there._replace(uncertainty=2.0), 1)


def test_the_room_of_a_want_is_to_its_nearer_end_in_steps() -> None:
    want = Wanted("side", -0.5, 0.5, None)  # steps of 0.25 oz
    assert room(Result(want, -0.1, 0.25, 0.0)) == pytest.approx(1.0)
    assert room(Result(want, -0.375, 0.25, 0.0)) == pytest.approx(0.5)
    against = Wanted("flare_width", 0.5, None, None, "other", 3.0)
    assert room(Result(against, 4.0, 4.0, 0.0)) == pytest.approx(1.0)
