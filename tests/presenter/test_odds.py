"""The chance of an illegal ball in the presenter: when it is due, what it says, when it is gone."""

from collections.abc import Callable
from typing import Any

import pytest

from gui.state import odds
from gui.state.presenter import Presenter, Refresh
from layoutkit.job.record import parse_job
from layoutkit.planning.certainty import illegal, limits, monte_carlo, percent
from layoutkit.planning.plan import plan

Opened = Callable[..., Presenter]


def work(p: Presenter) -> int:
    """All pieces that are due; how many they were."""
    for count in range(1000):
        if not p.odds_due:
            return count
        p.work_on_odds()
    raise AssertionError("it never ends")


def test_the_chance_is_that_of_the_plan_by_the_same_draws(opened: Opened) -> None:
    p = opened("06")
    heard: list[Refresh] = []
    p.subscribe(heard.append)
    assert p.odds is None
    assert work(p) > 5
    assert [c.what for c in heard] == [frozenset({"chance"})]
    assert p.plan is not None
    found = illegal(monte_carlo(p.plan.job), limits(p.plan.checks))
    words = percent(found.any, found.draws)
    assert p.odds is not None
    assert p.odds.text == f"Illegal: {words} by defaults"
    assert odds.DEFAULTS in p.odds.words
    for each in found.each:
        assert percent(each, found.draws) in p.odds.words
    assert not p.odds_due
    p.work_on_odds()
    assert len(heard) == 1


def test_a_record_with_tolerances_is_not_told_of_defaults(opened: Opened) -> None:
    p = opened("06")
    p.edit("tolerances", "yes")
    work(p)
    assert p.odds is not None
    assert "defaults" not in p.odds.text + p.odds.words


def test_no_number_outlives_its_plan(opened: Opened) -> None:
    p = opened("01")
    work(p)
    assert p.odds is not None
    p.edit("bowler.pap.over", "4 7/8")
    assert p.odds is None
    assert p.odds_due
    p.work_on_odds()  # half done, then overtaken
    p.edit("bowler.pap.over", "nowhere")
    assert p.odds is None
    assert not p.odds_due
    p.work_on_odds()
    p.undo()
    assert work(p) > 5
    assert p.odds is not None


def test_nothing_is_worked_out_during_a_drag_and_it_is_due_after(opened: Opened) -> None:
    p = opened("01")
    work(p)
    heard: list[Refresh] = []
    p.subscribe(heard.append)
    assert p.begin_drag("pin")
    assert p.plan is not None
    x, y, z = p.plan.marks.pin.xyz
    p.drag_pin((x + 0.2, y, z))
    assert p.odds is None
    assert not p.odds_due
    p.work_on_odds()
    assert p.odds is None
    heard.clear()
    p.end_drag()
    assert any(c.has("chance") for c in heard)
    work(p)
    assert p.odds is not None


def test_what_fails_whatever_it_weighs_is_told(opened: Opened) -> None:
    p = opened("01")
    p.edit("ball.serial", "")
    work(p)
    assert p.odds is not None
    assert p.odds.text == "Surely illegal"
    assert "serial" in p.odds.words


def test_draws_that_are_refused_give_the_reason(
    record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = odds.OddsWork(plan(parse_job(record)))
    monkeypatch.setattr("layoutkit.planning.certainty.figures_of", _no_core)
    said = None
    while said is None:
        said = found.step()
    assert said.text == "Illegal: unknown"
    assert "core" in said.words


def _no_core(*_: Any) -> dict[str, Any]:
    import numpy as np

    return {"rg_low": np.full(1, np.nan), "side_oz": np.zeros(1)}
