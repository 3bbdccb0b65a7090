"""The verdict: of a plan, and of the ball that was weighed after it."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from gui.state.presenter import Presenter
from gui.state.readings import readings
from gui.state.verdict import verdict


@pytest.fixture
def failing(opened: Callable[[str], Presenter]) -> Presenter:
    """The sample whose side weight, 3.48 oz, is more than the 3 oz of the rules of 2020."""
    return opened("07")


def test_what_fails_most_comes_first_and_paperwork_is_told_apart(failing: Presenter) -> None:
    failing.edit("ball.serial", "")
    told = verdict(failing.plan)
    assert (told.outcome, told.headline, told.of) == ("fail", "FAIL", "as planned")
    assert [(r.words, r.kind) for r in told.reasons] == [
        ("side weight 3.48 oz positive, limit 3.00 oz", "weights"),
        ("serial number missing", "paperwork"),
    ]
    assert told.reasons[1].path == "ball.serial"
    assert len(told.mends) == 2


def test_a_weighed_ball_is_judged_by_the_scale(failing: Presenter) -> None:
    for name, ounces in (("side", "2.5"), ("finger", "0.5"), ("top", "1")):
        failing.edit(f"weighings.drilled.{name}", ounces)
    told = verdict(failing.plan)
    assert (told.outcome, told.of, told.beside) == ("incomplete", "as weighed", "planned: fail")
    assert [r.path for r in told.reasons] == ["weighings.drilled.gross"]
    failing.edit("weighings.drilled.gross", "15")
    told = verdict(failing.plan)
    assert (told.outcome, told.headline, told.reasons) == ("pass", "LEGAL", ())
    side = readings(failing.plan).bars[0]
    assert (side.value, side.outcome, side.text) == (2.5, "pass", "2.50 oz positive side")
    assert side.planned == failing.plan.statics.side_oz
    failing.edit("ball.serial", "")
    assert verdict(failing.plan).outcome == "fail"


def test_a_ruined_ball_says_what_ruins_it(failing: Presenter) -> None:
    for finger in ("middle", "ring", "thumb"):
        failing.edit(f"bowler.grip.{finger}.sleeve", "no")
        failing.edit(f"bowler.grip.{finger}.depth", "0")
    told = verdict(failing.plan)
    assert told.headline == "DO NOT DRILL"
    assert told.reasons[0].words == failing.plan.reasons[0]
