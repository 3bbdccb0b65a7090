"""Other layouts: the map of the present plan, one to look at, one to put into the record."""

from collections.abc import Callable

import numpy as np
import pytest

from gui.state.fields import RG_DATA
from gui.state.presenter import Presenter
from gui.state.readings import layout_words, result_words
from layoutkit.job import rules

Opened = Callable[..., Presenter]
VERDICTS = {"pass": rules.PASS, "close": rules.CLOSE, "fail": rules.FAIL}


def test_the_map_is_of_the_present_plan_and_kept_until_that_changes(opened: Opened) -> None:
    p = opened("07")
    found = p.layout_map()
    assert found is not None
    assert found.plan is p.plan
    assert p.layout_map() is found
    assert p.plan is not None
    np.testing.assert_allclose(found.ranges.pin_to_pap, [p.plan.layout.pin_to_pap])
    p.edit("bowler.pap.over", "4 3/4")
    again = p.layout_map()
    assert again is not None
    assert again.plan is p.plan
    p.edit("bowler.pap.over", "nowhere")
    assert p.layout_map() is None


def test_the_map_agrees_with_the_plan_of_a_layout_on_it(opened: Opened) -> None:
    p = opened("07")
    found = p.layout_map()
    assert found is not None
    for j, i in ((0, 0), (11, 30), (30, 11), (44, 44)):
        at_pin, at_pap = found.ranges.angle_at_pin[i], found.ranges.angle_at_pap[j]
        other = p.layout_at(float(at_pin), float(at_pap))
        assert other is not None
        side = found.grid("side_oz", 0)[j, i]
        assert other.statics.side_oz == pytest.approx(side, abs=1e-3)
        weights = [c.outcome for c in other.checks if c.name in ("gross", "top", "side", "finger")]
        assert found.grid("verdict", 0)[j, i] == max(VERDICTS[o] for o in weights)


def test_nothing_is_computed_during_a_drag(opened: Opened) -> None:
    p = opened("01")
    assert p.begin_drag("pin")
    assert p.layout_map() is None
    p.end_drag()
    assert p.layout_map() is not None


def test_looking_changes_nothing_and_taking_is_one_step_of_undo(opened: Opened) -> None:
    p = opened("01")
    before = dict(p.entries)
    looked = p.layout_at(40.0, 25.0)
    assert looked is not None
    assert dict(p.entries) == before
    assert not p.document.can_undo
    assert p.take_layout(40.0, 25.0)
    assert p.document.record()["layout"] == {
        "by": "angles", "angle_at_pin": 40, "pin_to_pap": "4 1/2", "angle_at_pap": 25,
    }  # fmt: skip
    assert p.plan is not None
    assert p.plan.statics == looked.statics
    assert p.document.undo_name == "layout from the map"
    p.undo()
    assert dict(p.entries) == before


@pytest.mark.parametrize("by", ["distances", "placement"])
def test_the_layout_stays_stated_as_it_was(opened: Opened, by: str) -> None:
    p = opened("01")
    arc = p.plan.layout.pin_to_pap if p.plan is not None else 0.0
    p.edit("layout.by", by)
    assert p.take_layout(40.0, 25.0)
    assert p.document.record()["layout"]["by"] == by
    assert p.plan is not None
    n = p.plan.layout
    assert (n.angle_at_pin, n.angle_at_pap) == pytest.approx((40.0, 25.0), abs=0.02)
    assert n.pin_to_pap == pytest.approx(arc, abs=1e-3)


def test_what_the_statement_cannot_say_is_refused_with_the_reason(opened: Opened) -> None:
    p = opened("01")
    p.edit("layout.by", "distances")
    before = dict(p.entries)
    assert p.layout_at(-20.0, 25.0) is None
    assert "negative" in p.message
    assert not p.take_layout(-20.0, 25.0)
    assert dict(p.entries) == before
    p.edit("bowler.pap.over", "nowhere")
    assert p.layout_at(40.0, 25.0) is None
    assert "PAP over" in p.message


def test_a_place_on_the_map_means_the_nearest_whole_degrees_on_it(opened: Opened) -> None:
    p = opened("01")
    found = p.layout_map()
    assert found is not None
    assert found.nearest(47.4, 30.6) == (47.0, 31.0)
    assert found.nearest(-500.0, 500.0) == (5.0, 80.0)


def test_a_layout_in_a_few_lines(opened: Opened) -> None:
    p = opened("01")
    plan = p.layout_at(40.0, 25.0)
    assert plan is not None
    layout, results = layout_words(plan), result_words(plan)
    assert layout[2:] == ("angle at the pin 40°", "angle at the PAP 25°", "pin to PAP 4 1/2 in")
    assert [line.rpartition(" ")[0].split()[:2] for line in layout[:2]] == [
        ["pin", "over"],
        ["pin", "up"],
    ]
    assert len(results) == 5
    assert f"{plan.inertia.differential:.4f}" in results[3]
    p.edit(RG_DATA, "no")
    assert p.plan is not None
    assert p.plan.core is None
    assert len(result_words(p.plan)) == 3
