"""What the two readings of a weighing make is told beside them, and nothing while one is missing."""

from collections.abc import Callable

import pytest

from gui.state.presenter import Presenter
from gui.state.readings import pair_notes, readings

SIDE = "weighings.drilled.pairs.side"
FINGER = "weighings.drilled.pairs.finger"


@pytest.fixture
def weighed(opened: Callable[[str], Presenter]) -> Presenter:
    """A sample that is weighed on two supports 8 in apart, with an arm of 4 in."""
    p = opened("01")
    for path, text in (
        ("scale.arm", "4"),
        ("scale.supports", "8"),
        ("weighings.drilled.gross", "15"),
        (SIDE, "120.50"),
        (f"{SIDE}/turned", "120.10"),
    ):
        p.edit(path, text)
    assert not p.problems
    return p


def notes(p: Presenter) -> dict[str, str]:
    assert p.plan is not None
    return pair_notes(p.plan, p.units)


def test_two_readings_show_their_weight_and_zero_error(weighed: Presenter) -> None:
    # statics, by hand: 8 in (120.50 - 120.10) / 2 = 1.6 oz in, over 4 in is 0.40 oz; half of 15 lb is
    # 120 oz, so the mean of 120.30 oz is 0.30 oz above it. The mean of two readings of 0.05 oz has
    # 0.035 oz, and the weight twice that
    assert notes(weighed) == {
        SIDE: "0.40 oz positive side +/- 0.07 oz; zero error +0.30 oz +/- 0.04 oz"
    }


def test_the_reading_of_the_other_side_turns_the_weight_round(weighed: Presenter) -> None:
    weighed.edit(SIDE, "120.10")
    weighed.edit(f"{SIDE}/turned", "120.50")
    assert notes(weighed)[SIDE].startswith("0.40 oz negative side")


def test_a_reading_that_is_missing_makes_no_weight(weighed: Presenter) -> None:
    weighed.edit(f"{SIDE}/turned", "")
    assert weighed.stale
    weighed.edit(SIDE, "")
    assert not weighed.stale
    assert notes(weighed) == {}


def test_a_scale_that_does_not_say_what_two_readings_mean_makes_no_weight(
    weighed: Presenter,
) -> None:
    weighed.edit("scale.supports", "")
    assert weighed.stale or notes(weighed) == {}


def test_a_zero_error_that_stands_out_is_told_with_the_weighing(weighed: Presenter) -> None:
    assert weighed.plan is not None
    assert not any("repeat" in r for r in readings(weighed.plan).weighed[0].remarks)
    weighed.edit(FINGER, "121.50")
    weighed.edit(f"{FINGER}/turned", "121.40")
    assert any("do not repeat" in r for r in readings(weighed.plan).weighed[0].remarks)


def test_the_weight_of_an_arm_that_is_not_calibrated_starts_with_its_range(
    weighed: Presenter,
) -> None:
    weighed.edit("scale.arm", "")
    assert " to " in notes(weighed)[SIDE].partition("(")[0]
    assert "at the default arm)" in notes(weighed)[SIDE]
