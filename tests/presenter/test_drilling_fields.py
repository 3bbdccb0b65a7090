"""What is cut today, and what was measured after drilling, as fields of the window."""

import json
from pathlib import Path
from typing import Any

import pytest

from gui.state.entries import cut_today, today_text
from gui.state.fields import field_at
from gui.state.presenter import Presenter
from gui.state.readings import drilled_notes, readings
from layoutkit.job.record import parse_job


@pytest.fixture
def p(opened: Any) -> Presenter:
    presenter: Presenter = opened()
    return presenter


def test_holes_that_are_not_cut_today_are_left_out_of_the_steps_and_all_is_left_unsaid(
    p: Presenter,
) -> None:
    before = p.document.record()
    assert cut_today(p.entry("work.only"), p.digits) == dict.fromkeys(
        ("middle", "ring", "thumb"), True
    )
    chosen = {"middle": False, "ring": False, "thumb": True}
    p.edit("work.only", today_text(chosen))
    assert p.document.record()["work"]["only"] == ["thumb"]
    assert p.plan is not None
    assert [h.name for h in p.plan.for_today.holes] == ["thumb"]
    assert "mark the centre of the thumb hole" in p.steps[0].text
    assert not any("mark the centre of the ring hole" in step.text for step in p.steps)
    assert cut_today(p.entry("work.only"), p.digits) == chosen
    p.edit("work.only", today_text(dict.fromkeys(chosen, False)))
    assert "names no hole" in p.problems["work.only"]
    p.edit("work.only", today_text(dict.fromkeys(chosen, True)))
    assert p.document.record() == before


def test_a_thumb_can_be_chosen_only_where_there_is_one_or_where_it_is_named(p: Presenter) -> None:
    assert list(cut_today("", ("middle", "ring"))) == ["middle", "ring"]
    p.edit("work.only", '["thumb"]')
    p.edit("bowler.grip.thumb", "no")
    assert "no hole of this grip" in p.problems["work.only"]
    assert cut_today(p.entry("work.only"), p.digits)["thumb"]
    assert p.digits == ("middle", "ring")
    p.edit("work.only", today_text({"middle": True, "ring": False, "thumb": False}))
    assert p.document.record()["work"]["only"] == ["middle"]
    assert not p.problems


def test_no_two_choices_are_called_alike() -> None:
    field = field_at("work.order_of_cuts")
    assert field is not None
    assert [label for _, label in field.options] == ["fingers first", "thumb first"]
    assert field.label_of("fingers first") == field.label_of("") == "fingers first"


def test_measures_after_drilling_are_written_and_folded_away_again(p: Presenter) -> None:
    before = p.document.record()
    fields = ("as_drilled.bridge", "as_drilled.middle.span", "as_drilled.thumb.depth")
    found = [field_at(path) for path in fields]
    assert not any(f is not None and f.shown(p.entries) for f in found)
    p.edit("as_drilled", "yes")
    assert all(f is not None and f.shown(p.entries) for f in found)
    assert p.document.record()["as_drilled"] == {}
    p.edit("as_drilled.bridge", "17/64")
    p.edit("as_drilled.middle.span", "111 mm")
    p.edit("as_drilled.ring.pitch.right", "1/16")
    p.edit("as_drilled.ring.pitch.right/left", "left")
    measured = {
        "bridge": "17/64",
        "middle": {"span": "111 mm"},
        "ring": {"pitch": {"left": "1/16"}},
    }
    record = p.document.record()
    assert record["as_drilled"] == measured
    assert p.plan is not None
    assert p.plan.job.bowler.grip.middle.span == pytest.approx(111 / 25.4)
    assert [d.name for d in p.plan.differences] == [
        "bridge at the cut edges", "middle span", "ring forward pitch", "ring right pitch",
    ]  # fmt: skip
    p.edit("as_drilled.ring.pitch.right", "")
    del measured["ring"]
    assert p.document.record()["as_drilled"] == measured
    p.edit("as_drilled", "no")
    assert p.document.record() == before


def test_what_came_out_otherwise_stands_at_its_field_and_among_the_holes(p: Presenter) -> None:
    grip = parse_job(p.document.record()).bowler.grip
    assert grip.thumb is not None
    p.edit("as_drilled", "yes")
    p.edit("as_drilled.thumb.diameter", "1 1/32")
    p.edit("as_drilled.middle.pitch.forward", "1/8")
    assert p.plan is not None
    notes = drilled_notes(p.plan)
    assert (grip.thumb.diameter, grip.middle.pitch.right_net) == (1.0, -0.0625)
    assert notes == {
        "as_drilled.thumb.diameter": "planned 1, off by +0.031 in, beyond 1/64 in",
        "as_drilled.middle.pitch.forward": "planned 1/8 forward, off by 0.000 in",
        "as_drilled.middle.pitch.right": "planned 1/16 left, off by +0.063 in, beyond 1/32 in",
    }
    assert all(field_at(path) is not None for path in notes)
    assert len(readings(p.plan).drilled.rows) == 3
    p.edit("as_drilled", "no")
    assert p.plan is not None
    assert drilled_notes(p.plan) == {}
    assert readings(p.plan).drilled.rows == ()


def test_measures_that_cannot_be_are_told_where_they_can_be_mended(p: Presenter) -> None:
    p.edit("as_drilled", "yes")
    p.edit("as_drilled.middle.span", "9")
    assert "0.5 to 7 in" in p.problems["as_drilled.middle.span"]
    p.edit("as_drilled.middle.span", "")
    p.edit("as_drilled.middle.diameter", "1 1/2")  # wider than the bore of its insert
    assert "possible: up to 0.96875 in" in p.problems["as_drilled.middle.diameter"]
    p.edit("as_drilled.middle.diameter", "")
    p.edit("as_drilled.thumb.depth", "2")
    assert not p.problems
    p.edit("bowler.grip.thumb", "no")
    assert "as_drilled" not in p.problems
    assert p.document.record()["as_drilled"] == {}


def test_a_hole_that_no_field_shows_is_kept_and_can_be_left_for_another_day(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    record["bowler"]["grip"]["little"] = {"span": 4, "diameter": 0.75, "depth": 1.5, "gap": 0.5}
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    assert presenter.open(path)
    assert presenter.digits == ("middle", "ring", "little", "thumb")
    chosen = cut_today("", presenter.digits)
    assert all(chosen.values())
    presenter.edit("work.only", today_text({**chosen, "ring": False}))
    assert presenter.document.record() == record | {"work": {"only": ["middle", "little", "thumb"]}}
