"""The presenter by examples: editing, undo, restating, direct work, steps, comparison, messages."""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from gui.state.entries import NEW, from_record, to_record
from gui.state.fields import NO, YES, all_fields, field_at
from gui.state.presenter import Presenter, Refresh, sheet
from gui.state.readings import readings
from layoutkit.geometry.sphere import arc
from layoutkit.job.record import DIGITS, parse_job
from layoutkit.job.store import load_job
from layoutkit.planning.plan import plan

Opened = Callable[..., Presenter]


def told(presenter: Presenter) -> list[Refresh]:
    changes: list[Refresh] = []
    presenter.subscribe(changes.append)
    return changes


def consistent(p: Presenter) -> None:
    """What the presenter shows is what its record gives."""
    if p.problems:
        assert p.job is None
    else:
        assert p.job == parse_job(p.document.record())
        assert p.plan == plan(parse_job(p.document.record()))
        assert not p.stale


# --- an empty record ------------------------------------------------------------------------------


def test_a_new_record_says_what_it_needs(presenter: Presenter) -> None:
    assert presenter.plan is None
    assert not presenter.stale
    assert not presenter.document.dirty
    assert presenter.document.title == "new job - layoutkit"
    assert presenter.problems["ball.diameter"] == "missing; possible: 8 to 9 in."
    assert presenter.needed == frozenset(presenter.problems)
    assert presenter.steps == ()


def test_an_empty_record_can_be_filled_in_until_it_plans(presenter: Presenter) -> None:
    typed = {
        "bowler.pap.over": "5",
        "bowler.grip.bridge": "1/4",
        "bowler.grip.middle.span": "4 3/8",
        "bowler.grip.middle.diameter": "3/4",
        "bowler.grip.middle.depth": "1 1/2",
        "bowler.grip.ring.span": "111 mm",
        "bowler.grip.ring.diameter": "3/4",
        "bowler.grip.ring.depth": "1 1/2",
        "bowler.grip.thumb.diameter": "1",
        "bowler.grip.thumb.depth": "2 3/4",
        "ball.diameter": "8.55",
        "ball.weight": "15 lb 2 oz",
        "ball.top_weight": "2.5",
        "ball.pin_to_cg": "3",
        "ball.psa.distance": "quarter",
        "layout.pin.over": "1",
        "layout.bearing": "168",
    }
    # what a customer may not have is not asked for before all else is there
    open_ones = {"bowler.pap.over", "ball.pin_to_cg", "ball.top_weight", "layout.bearing"}
    assert set(typed) - open_ones == set(presenter.problems)
    for path, text in typed.items():
        assert presenter.plan is None
        presenter.edit(path, text)
    assert not presenter.problems
    assert presenter.plan is not None
    consistent(presenter)
    assert presenter.job is not None
    assert presenter.job.bowler.grip.ring.span == pytest.approx(111 / 25.4)


def filled_from_the_middle(p: Presenter, path: str) -> set[str]:
    """The digits of whose holes something changed when the key was pressed in that field."""
    before = dict(p.entries)
    p.same_as_middle(path)
    changed = {k for k in {*before, *p.entries} if before.get(k) != p.entries.get(k)}
    return {path.split(".")[2] for path in changed}


@pytest.mark.parametrize(
    ("path", "digits"),
    [
        ("bowler.grip.ring.depth", {"ring"}),
        ("bowler.grip.little.span", {"little"}),
        ("bowler.grip.middle.depth", {"ring"}),
        ("bowler.grip.thumb.depth", set()),
        ("bowler.grip.index", set()),
        ("ball.diameter", set()),
        ("", set()),
    ],
)
def test_what_the_middle_finger_states_goes_into_the_hole_of_the_column_with_the_keyboard(
    opened: Opened, path: str, digits: set[str]
) -> None:
    p = opened()
    p.edit("bowler.grip.little", YES)
    p.edit("bowler.grip.ring.depth", "")
    assert filled_from_the_middle(p, path) == digits
    assert ("column of the finger" in p.message) == (not digits)


# --- typing ---------------------------------------------------------------------------------------


def test_unfinished_typing_is_a_problem_beside_the_field_and_greys_the_plan(opened: Opened) -> None:
    p = opened()
    before = p.plan
    p.edit("layout.pin_to_pap", "4 3/")
    assert p.entry("layout.pin_to_pap") == "4 3/"
    assert p.problems["layout.pin_to_pap"].startswith('"4 3/" is not a length')
    assert p.plan is before
    assert p.stale
    assert p.sound_plan("copying the plan") is None
    assert p.message.startswith("Finish the record before copying the plan: Layout, Pin to PAP:")
    assert p.plan_text() == ""
    p.edit("layout.pin_to_pap", "4 3/8")
    assert not p.problems
    assert not p.stale
    consistent(p)


def test_several_problems_are_told_at_once_each_beside_its_field(opened: Opened) -> None:
    p = opened()
    p.edit("ball.weight", "x")
    p.edit("bowler.grip.thumb.depth", "99")
    assert set(p.problems) == {"ball.weight", "bowler.grip.thumb.depth"}
    assert p.needed == frozenset()
    p.edit("ball.weight", "")
    assert p.needed == {"ball.weight"}


def test_a_problem_of_a_pairs_other_half_is_shown_beside_the_pair(opened: Opened) -> None:
    p = opened()
    p.edit("bowler.pap.up/down", "down")
    p.edit("bowler.pap.up", "9")
    assert p.problems == {"bowler.pap.up": "9 in is outside -4 to 4 in."}


def test_what_only_the_plan_refuses_is_shown_beside_its_field(opened: Opened) -> None:
    p = opened()
    p.edit("layout.by", "distances")
    p.edit("layout.psa_to_pap", "14")
    assert "cannot be; possible are" in p.problems["layout.psa_to_pap"]
    p.edit("rules", "none-such")
    p.edit("layout.psa_to_pap", "4.1823")
    assert "not a built-in rule set" in p.problems["rules"]


def test_an_equal_text_changes_nothing_and_calls_nobody(opened: Opened) -> None:
    p = opened()
    changes = told(p)
    p.edit("ball.weight", p.entry("ball.weight"))
    p.edit("ball.filler_density", "0.7")
    assert changes == []
    assert not p.document.can_undo


def test_subscribers_are_called_once_with_what_changed(opened: Opened) -> None:
    p = opened()
    changes = told(p)
    p.edit("layout.pin_to_pap", "4")
    (change,) = changes
    assert change.paths == {"layout.pin_to_pap"}
    assert change.has("plan")
    assert change.has("entries", "units")
    assert not change.has("units", "selection")


def test_what_is_half_typed_is_told_only_when_the_typist_rests(opened: Opened) -> None:
    p, path = opened(), "bowler.pap.over"
    changes, last = told(p), p.plan
    for letters in ("4", "4 ", "4 3", "4 3/"):
        changes.clear()
        p.type_in(path, letters)
    assert p.half_typed
    assert not changes[-1].has("plan", "problems", "chance")
    assert not p.stale
    assert p.sound_plan("a sheet") is None
    p.settle()
    assert p.stale
    assert changes[-1].has("plan", "problems")
    p.type_in(path, "4 3/x")  # told already: nothing more to wait for
    assert not p.half_typed
    assert p.stale
    p.type_in(path, "4 3/4")
    consistent(p)
    assert p.plan is not last
    p.type_in(path, "4 3/")
    p.end_run()
    assert p.stale
    assert path in p.problems


def test_a_subscriber_that_ends_is_called_no_more_and_may_edit_itself(opened: Opened) -> None:
    p = opened()
    seen: list[str] = []

    def follow(_: Refresh) -> None:
        seen.append(p.entry("title"))
        p.edit("notes", f"about {p.entry('title')}")

    end = p.subscribe(follow)
    p.edit("title", "one")
    assert p.entry("notes") == "about one"
    end()
    p.edit("title", "two")
    assert seen == ["one", "one"]


def test_an_unknown_path_is_a_fault_of_the_program(presenter: Presenter) -> None:
    for path in ("ball.colour", "bowler.pap.down", "format"):
        with pytest.raises(KeyError):
            presenter.edit(path, "1")


# --- undo -----------------------------------------------------------------------------------------


def test_a_run_of_typing_is_one_step_and_leaving_the_field_ends_it(opened: Opened) -> None:
    p = opened()
    for text in ("4", "4 ", "4 3", "4 3/", "4 3/8"):
        p.edit("layout.pin_to_pap", text)
    p.undo()
    assert p.entry("layout.pin_to_pap") == "4 1/2"
    assert not p.document.can_undo
    p.redo()
    assert p.entry("layout.pin_to_pap") == "4 3/8"
    p.end_run()
    p.edit("layout.pin_to_pap", "4")
    p.undo()
    assert p.entry("layout.pin_to_pap") == "4 3/8"
    assert p.document.undo_name == "Pin to PAP"


def test_notes_are_undone_line_by_line(presenter: Presenter) -> None:
    for i in range(1, len("one\ntwo\nthree") + 1):
        presenter.edit("notes", "one\ntwo\nthree"[:i])
    for left in ("one\ntwo\n", "one\n", ""):
        presenter.undo()
        assert presenter.entry("notes") == left


def test_typing_that_comes_back_leaves_no_step(opened: Opened) -> None:
    p = opened()
    p.edit("layout.pin_to_pap", "4")
    p.edit("layout.pin_to_pap", "4 1/2")
    assert not p.document.can_undo
    assert not p.document.dirty


def test_a_new_edit_ends_redo(opened: Opened) -> None:
    p = opened()
    p.edit("title", "a")
    p.undo()
    p.edit("notes", "b")
    assert not p.document.can_redo
    p.redo()
    assert p.message == "Nothing to redo."


def test_undo_without_limit(opened: Opened) -> None:
    p = opened()
    start = dict(p.entries)
    for i in range(60):
        p.edit("layout.angle_at_pin", str(i % 90))
        p.end_run()
    while p.document.can_undo:
        p.undo()
    assert dict(p.entries) == start
    assert not p.document.dirty


# --- switches -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "switch",
    [
        "bowler.grip.thumb",
        "bowler.grip.middle.sleeve",
        "bowler.grip.thumb.sleeve",
        "ball.shell",
        "ball.rg_data",
    ],
)
def test_a_switch_keeps_what_was_typed(opened: Opened, switch: str) -> None:
    p = opened()
    before = p.document.record()
    assert p.entry(switch) == YES
    p.edit(switch, NO)
    assert not p.problems
    consistent(p)
    assert p.document.record() != before
    p.edit(switch, YES)
    assert p.document.record() == before
    consistent(p)


def test_no_psa_mark_needs_a_symmetric_ball_and_another_statement(opened: Opened) -> None:
    p = opened()
    p.edit("layout.by", "distances")
    p.edit("ball.psa", NO)
    assert "ball.intermediate_differential" in p.problems
    p.edit("ball.intermediate_differential", "")
    assert "needs a PSA mark" in p.problems["layout.by"]
    p.edit("layout.by", "angles")
    assert p.message.startswith("Converted from the last valid plan")
    assert not p.problems
    consistent(p)


# --- restating ------------------------------------------------------------------------------------


@pytest.mark.parametrize("by", ["angles", "distances", "placement"])
def test_restating_converts_and_keeps_the_ball(opened: Opened, by: str) -> None:
    # sample 10 has a negative angle at the pin, which distances cannot state
    for number in ("01", "02", "09") if by == "distances" else ("01", "02", "09", "10"):
        p = opened(number)
        before = p.plan
        assert before is not None
        p.edit("layout.by", by)
        assert p.entry("layout.by") == by, p.message
        assert p.plan is not None
        consistent(p)
        for name in ("pin", "cg", "psa"):
            old, new = getattr(before.marks, name), getattr(p.plan.marks, name)
            # 0.0002 in is what restating may round away
            assert arc(old.xyz, new.xyz, before.radius) < 3e-4
        p.undo()
        consistent(p)


def test_going_back_to_a_statement_takes_up_what_was_typed(opened: Opened) -> None:
    p = opened()
    start = {path: t for path, t in p.entries.items() if path.startswith("layout.")}
    for by in ("placement", "distances", "angles"):
        p.edit("layout.by", by)
    kept = {path: p.entry(path) for path in start}
    assert kept == start


def test_a_metric_layout_is_restated_in_millimetres(opened: Opened) -> None:
    p = opened("09")
    p.edit("layout.by", "distances")
    assert p.entry("layout.psa_to_pap").endswith(" mm")
    assert p.entry("layout.pin_to_pap") == "110 mm"


def test_a_refused_restating_changes_nothing_and_says_why(opened: Opened) -> None:
    p = opened()
    p.edit("layout.angle_at_pin", "-40")
    before = dict(p.entries)
    changes = told(p)
    p.edit("layout.by", "distances")
    assert dict(p.entries) == before
    assert "cannot state the negative angle at the pin" in p.message
    assert p.message[0].isupper()
    assert len(changes) == 1
    assert "layout.by" in changes[0].paths  # so that the widget goes back
    q = opened("05")
    q.edit("layout.by", "distances")
    assert q.entry("layout.by") == "placement"
    assert "need a ball with a PSA mark" in q.message


def test_what_is_unfinished_elsewhere_does_not_stop_restating(opened: Opened) -> None:
    p = opened()
    p.edit("bowler.grip.thumb.depth", "2 3/")
    p.edit("layout.by", "placement")
    assert p.entry("layout.pin.over") == "1.2224"
    assert p.message == ""


def test_an_unfinished_layout_is_not_converted(opened: Opened) -> None:
    p = opened()
    p.edit("layout.pin_to_pap", "4 1/")
    p.edit("layout.by", "placement")
    assert p.entry("layout.by") == "placement"
    assert p.message == "The layout was not converted, because it is not complete."
    assert "layout.pin.over" in p.problems


# --- direct work ----------------------------------------------------------------------------------


def toward(p: Presenter, over: float, up: float) -> tuple[float, float, float]:
    """A point of the grip frame from over and up: the formula of the conventions."""
    assert p.plan is not None
    s = 1.0 if p.plan.job.bowler.hand == "right" else -1.0
    r = p.plan.radius
    a, b = over / r, up / r
    return (
        r * s * math.sin(a) * math.cos(b),
        r * math.sin(b),
        r * math.cos(a) * math.cos(b),
    )


@pytest.mark.parametrize("number", ["01", "02", "09"])
@pytest.mark.parametrize("by", ["angles", "distances", "placement"])
def test_dragging_the_pin_keeps_what_the_statement_keeps(
    opened: Opened, number: str, by: str
) -> None:
    p = opened(number)
    steps = 1 if p.entry("layout.by") == by else 2
    p.edit("layout.by", by)
    kept = {"angles": "angle_at_pin", "distances": "psa_to_pap", "placement": "bearing"}[by]
    text = p.entry(f"layout.{kept}")
    assert p.plan is not None
    value = getattr(p.plan.layout, kept)
    assert p.begin_drag("pin")
    assert p.selected == "pin"
    for i in range(12):
        place = (1.5 + 0.05 * i, 3.0 - 0.1 * i)
        p.drag_pin(toward(p, *place), fine=True)
        consistent(p)
        assert p.plan is not None
        assert p.plan.marks.pin.over == pytest.approx(place[0], abs=3e-3)
        assert p.plan.marks.pin.up == pytest.approx(place[1], abs=3e-3)
        assert getattr(p.plan.layout, kept) == pytest.approx(value, abs=1e-9)
    p.end_drag()
    assert p.entry(f"layout.{kept}") == text
    for _ in range(steps):
        p.undo()
    assert not p.document.can_undo
    assert not p.document.dirty


def test_by_distances_the_pin_stops_at_the_nearest_place_that_can_be(opened: Opened) -> None:
    p = opened()
    p.edit("layout.by", "distances")
    p.begin_drag("pin")
    p.drag_pin(toward(p, 4.9, 0.6), fine=True)  # almost on the PAP
    consistent(p)
    assert p.plan is not None
    # the sides of a triangle: pin-to-PAP is at least pin-to-PSA less PSA-to-PAP
    quarter = math.pi * p.plan.radius / 2.0
    least = quarter - float(p.entry("layout.psa_to_pap"))
    assert p.plan.layout.pin_to_pap == pytest.approx(least, abs=2e-3)


def test_dragging_the_pap_keeps_the_layouts_numbers(opened: Opened) -> None:
    for by in ("angles", "distances", "placement"):
        p = opened()
        p.edit("layout.by", by)
        layout = {path: t for path, t in p.entries.items() if path.startswith("layout.")}
        assert p.plan is not None
        pin = p.plan.marks.pin
        p.begin_drag("pap")
        p.drag_pap(toward(p, 4.25, -0.75), fine=True)
        consistent(p)
        assert p.entry("bowler.pap.over") == "4.25"
        assert (p.entry("bowler.pap.up"), p.entry("bowler.pap.up/down")) == ("0.75", "down")
        assert {q: t for q, t in p.entries.items() if q.startswith("layout.")} == layout
        assert (p.plan.marks.pin == pin) == (by == "placement")
        p.cancel_drag()
        assert p.entry("bowler.pap.over") == "5"


def test_the_pap_stays_where_a_record_can_have_it(opened: Opened) -> None:
    p = opened()
    p.begin_drag("pap")
    p.drag_pap(toward(p, -2.0, 5.5), fine=True)
    assert p.entry("bowler.pap.over") == "0"
    assert p.entry("bowler.pap.up") == "4"
    consistent(p)


@pytest.mark.parametrize("point", [(0.0, 0.0, 0.0), (math.nan, 1.0, 0.0), (math.inf, 0.0, 1.0)])
def test_a_point_that_is_none_moves_nothing(
    opened: Opened, point: tuple[float, float, float]
) -> None:
    p = opened()
    before = dict(p.entries)
    p.begin_drag("pin")
    p.drag_pin(point, fine=True)
    p.end_drag()
    assert dict(p.entries) == before


def test_no_drag_without_a_beginning_or_while_the_record_is_invalid(opened: Opened) -> None:
    p = opened()
    p.drag_pin((0.0, 0.0, 1.0), fine=True)
    assert not p.document.dirty
    p.edit("ball.weight", "x")
    assert not p.begin_drag("pin")
    assert not p.dragging
    assert "Finish the record before moving a mark" in p.message


def test_giving_a_drag_up_leaves_no_step(opened: Opened) -> None:
    p = opened()
    before = dict(p.entries)
    p.begin_drag("pin")
    for i in range(5):
        p.drag_pin(toward(p, 1.0 + 0.1 * i, 2.0), fine=True)
    p.cancel_drag()
    assert dict(p.entries) == before
    assert not p.document.can_undo
    p.drag_pin(toward(p, 1.0, 2.0), fine=True)  # late events of the pointer
    assert dict(p.entries) == before


@pytest.mark.parametrize("number", ["01", "02"])
def test_arrow_keys_move_the_pap_by_thirty_seconds_and_quarters(
    opened: Opened, number: str
) -> None:
    p = opened(number)
    right = number == "01"
    over = float(p.plan.marks.pap.over) if p.plan else 0.0
    p.select("pap")
    p.nudge("left", "coarse")
    assert p.plan is not None
    assert p.plan.marks.pap.over == pytest.approx(over - (1 if right else -1) / 4, abs=1e-9)
    p.nudge("right", "fine")
    assert p.plan.marks.pap.over == pytest.approx(over + (1 if right else -1) * (1 / 32 - 1 / 4))
    p.nudge("right")  # to the next sixteenth at least
    assert p.plan.marks.pap.over == pytest.approx(over - (1 if right else -1) / 8, abs=1 / 16)
    for _ in range(3):
        p.undo()
    assert not p.document.dirty
    up = p.plan.marks.pap.up
    p.nudge("up", "fine")
    p.nudge("down", "fine")
    assert p.plan.marks.pap.up == pytest.approx(up, abs=1e-12)
    consistent(p)


def test_a_mark_is_not_nudged_while_one_step_is_shown_alone(opened: Opened) -> None:
    p = opened()
    p.select("pin")
    p.next_step()
    before = p.document.record()
    p.nudge("right", "fine")
    assert p.document.record() == before
    assert p.message.startswith("Show the whole ball")
    p.select_step(None)
    p.nudge("right", "fine")
    assert p.document.record() != before


def test_a_nudged_pap_is_written_as_a_fraction(opened: Opened) -> None:
    p = opened()
    p.select("pap")
    p.nudge("right", "fine")
    assert p.entry("bowler.pap.over") == "5 1/32"
    p.nudge("down", "coarse")
    p.nudge("down", "coarse")
    p.nudge("down", "fine")
    assert (p.entry("bowler.pap.up"), p.entry("bowler.pap.up/down")) == ("1/32", "down")


@pytest.mark.parametrize("by", ["angles", "distances", "placement"])
def test_arrow_keys_move_the_pin_by_as_much(opened: Opened, by: str) -> None:
    p = opened()
    p.edit("layout.by", by)
    p.select("pin")
    assert p.plan is not None
    before = p.plan.marks.pin
    p.nudge("up", "fine")
    assert p.plan.marks.pin.up == pytest.approx(before.up + 1 / 32, abs=5e-4)
    assert p.plan.marks.pin.over == pytest.approx(before.over, abs=5e-4)
    p.nudge("left", "coarse")
    # by angles the numbers that snap are others than over: an arc and the angle at its end
    near = {"placement": 1 / 32, "angles": 0.07, "distances": 0.07}[by]
    assert p.plan.marks.pin.over == pytest.approx(before.over - 1 / 4, abs=near)
    consistent(p)


def test_only_pin_and_pap_can_be_moved(opened: Opened) -> None:
    p = opened()
    for mark in (None, "cg", "psa", "middle"):
        p.select(mark)  # type: ignore[arg-type]
        p.nudge("up", "fine")
        assert not p.document.dirty
        assert p.message.startswith("Select the pin or the PAP")


def test_a_place_beyond_the_ball_is_refused_in_words(opened: Opened) -> None:
    p = opened()
    p.edit("layout.by", "placement")
    p.edit("layout.pin.up", "6.7")
    p.select("pin")
    p.nudge("up", "coarse")
    assert p.entry("layout.pin.up") == "6.7"
    assert "cannot be" in p.message


# --- steps, selection, units, comparison ----------------------------------------------------------


def test_steps_go_forth_and_back(opened: Opened) -> None:
    p = opened()
    assert p.step is None
    assert len(p.steps) == 6
    for expected in (0, 1, 2, 3, 4, 5, 5):
        p.next_step()
        assert p.step == expected
    p.edit("bowler.grip.thumb", NO)  # a hole less, a step less
    assert len(p.steps) == 5
    assert p.step is None
    p.select_step(1)
    p.back_step()
    assert p.step == 0
    p.back_step()
    assert p.step is None
    p.back_step()
    p.select_step(99)
    assert p.step is None


def test_a_selected_mark_that_goes_is_selected_no_more(opened: Opened) -> None:
    p = opened()
    p.edit("ball.intermediate_differential", "")
    p.select("psa")
    p.edit("ball.psa", NO)
    assert p.selected is None


def test_compare_swap_and_drop(opened: Opened) -> None:
    p = opened()
    first = dict(p.entries)
    one = p.plan
    p.swap_reference()
    assert p.message.startswith("Keep a plan first")
    p.keep_reference()
    p.edit("layout.pin_to_pap", "3 1/2")
    second, two = dict(p.entries), p.plan
    p.swap_reference()
    assert (dict(p.entries), p.plan) == (first, one)
    assert p.reference is not None
    assert p.reference.plan == two
    p.undo()
    assert (dict(p.entries), p.plan) == (second, two)
    assert p.reference.plan == one
    p.redo()
    assert dict(p.entries) == first
    assert p.reference.plan == two
    p.drop_reference()
    assert p.reference is None
    assert dict(p.entries) == first
    p.undo()  # what was dropped stays away
    assert dict(p.entries) == second
    assert p.reference is None


def test_only_what_puts_another_job_in_the_place_of_one_is_told_as_that(opened: Opened) -> None:
    p = opened()
    changes = told(p)
    p.edit("layout.by", "placement")
    p.undo()
    p.redo()
    p.undo()
    assert not any(change.has("job") for change in changes)
    p.new()
    assert changes[-1].has("job")


def test_units_are_for_readings_only(opened: Opened) -> None:
    p = opened()
    changes = told(p)
    p.set_units("metric")
    assert [c.what for c in changes] == [{"units"}]
    assert not p.document.dirty
    assert "mm" in p.plan_text()


def test_two_presenters_do_not_meet(tmp_path: Path, sample: Path) -> None:
    one, other = Presenter(tmp_path), Presenter(tmp_path)
    one.open_sample(sample)
    one.edit("title", "one")
    assert other.entry("title") == ""
    assert other.plan is None
    assert not other.document.can_undo


def test_the_sheet_of_a_sound_plan_is_a_pdf(opened: Opened) -> None:
    p = opened()
    found = p.sound_plan("making the sheet")
    assert found is not None
    assert sheet(found).startswith(b"%PDF")


# --- records and entries --------------------------------------------------------------------------


def test_every_sample_means_the_same_as_entries(sample: Path) -> None:
    record = json.loads(sample.read_text(encoding="utf-8"))
    assert parse_job(to_record(from_record(record))) == load_job(sample)


def test_a_field_reads_what_a_record_reads_and_keeps_it_as_typed(sample: Path) -> None:
    entries = from_record(json.loads(sample.read_text("utf-8")))
    typed = {
        "bowler.hand": "RH",
        "bowler.grip.middle.span": "4 3⁄8″",
        "ball.diameter": "8,55",
        "ball.weight": "15,08",
        "bowler.grip.middle.tip_angle": "118°",
        "ball.filler_density": "0,7",
    }
    record = to_record({**entries, **typed})
    again = from_record(json.loads(json.dumps(record)))
    assert {path: again[path] for path in typed} == typed
    job = parse_job(record)
    assert job.bowler.hand == "right"
    assert job.bowler.grip.middle.span == 4.375
    assert (job.ball.diameter, job.ball.weight) == (8.55, 15.08)
    assert job.bowler.grip.middle.tip_angle == 118.0
    assert job.ball.filler_density == 0.7
    hand = field_at("bowler.hand")
    assert hand is not None
    assert [hand.label_of(each) for each in ("RH", "l", "left")] == [
        "right hand", "left hand", "left hand",
    ]  # fmt: skip


def test_a_record_keeps_what_was_typed(presenter: Presenter) -> None:
    presenter.edit("bowler.pap.over", "4 3/8")
    presenter.edit("bowler.grip.bridge", " 7 mm ")
    presenter.edit("ball.diameter", "8.55")
    presenter.edit("ball.weight", "15 lb 2 oz")
    record: dict[str, Any] = presenter.document.record()
    assert record["bowler"]["pap"]["over"] == "4 3/8"
    assert record["bowler"]["grip"]["bridge"] == "7 mm"
    assert record["ball"]["diameter"] == 8.55
    assert record["ball"]["weight"] == "15 lb 2 oz"


def test_empty_parts_of_a_record_stay(record: dict[str, Any]) -> None:
    record["scale"], record["work"] = {}, {}
    record["bowler"]["grip"]["thumb"]["pitch"] = {}
    assert parse_job(to_record(from_record(record))) == parse_job(record)


def test_the_new_record_is_the_records_own_defaults() -> None:
    assert from_record(to_record(NEW)) == {
        **NEW,
        "bowler.name": "",
        "ball.name": "",
        # a part whose every field is empty is a part left out
        "ball.rg_data": NO,
        **{f"bowler.grip.{h}.sleeve": NO for h in DIGITS},
        "bowler.grip.index": NO,
        "bowler.grip.little": NO,
        "bowler.grip.thumb.sleeve.outer": NO,
        "bowler.grip.thumb.oval": NO,
        "as_drilled": NO,
        "extra_holes.inspection": NO,
        "ball.shell": NO,
        "tolerances": NO,
        "release": NO,
        "lane": NO,
    }


def test_a_direction_that_a_record_leaves_out_is_the_first(opened: Opened) -> None:
    p = opened("05")
    for field in all_fields():
        if field.directions is not None:
            assert p.entry(field.direction_path) in field.directions
    p.edit("bowler.grip.middle.pitch.right/left", "right")
    assert not p.document.dirty


def test_a_move_that_the_record_refuses_leaves_the_mark_where_it_was(
    opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    p = opened()
    before = dict(p.entries)
    monkeypatch.setattr(
        "gui.state.moves.with_pin", lambda entries, *_, **__: {**entries, "ball.weight": "x"}
    )
    p.begin_drag("pin")
    p.drag_pin((1.0, 1.0, 1.0), fine=True)
    p.end_drag()
    assert dict(p.entries) == before
    assert p.message.startswith('Weight: "x" is not a weight')


def test_an_empty_records_layout_is_restated_without_a_word(presenter: Presenter) -> None:
    presenter.set_units("metric")
    presenter.edit("layout.by", "distances")
    assert "layout.psa_to_pap" in presenter.needed
    assert presenter.message == ""


def test_steps_have_names(opened: Opened) -> None:
    p = opened()
    p.begin_drag("pin")
    p.drag_pin((0.5, 2.0, 3.0), fine=True)
    p.undo()  # ends the drag too
    assert not p.dragging
    assert p.document.redo_name == "drag the pin"
    assert p.document.undo_name == ""


def test_tolerances_wait_for_the_end_of_a_drag(opened: Opened) -> None:
    p = opened()
    p.edit("tolerances", YES)
    assert p.plan is not None
    assert p.plan.spreads is not None
    assert p.begin_drag("pin")
    p.drag_pin(toward(p, 1.6, 2.9), fine=True)
    assert p.plan.spreads is None
    p.end_drag()
    consistent(p)
    assert p.plan.spreads is not None
    before = p.plan
    p.begin_drag("pin")
    p.drag_pin(toward(p, 1.0, 2.0), fine=True)
    p.cancel_drag()
    assert p.plan == before
    p.undo()
    p.undo()
    assert not p.document.dirty


# --- two readings of a weighing -------------------------------------------------------------------


def test_two_readings_are_one_list_of_the_record(opened: Opened) -> None:
    p = opened()
    side = "weighings.drilled.pairs.side"
    p.edit("scale.pan_lever", "6")
    p.edit(side, "1.15")
    assert side in p.problems
    p.edit(f"{side}/turned", "-0.42")
    assert not p.problems
    assert p.document.record()["weighings"]["drilled"]["pairs"] == {"side": [1.15, -0.42]}
    assert from_record(p.document.record()) == dict(p.entries)
    p.edit(f"{side}/turned", "x")
    assert p.problems[side].startswith('"x" is not a weight')
    p.undo()
    p.undo()
    assert "weighings" not in p.document.record()


# --- what the plan asks ---------------------------------------------------------------------------


def test_an_unusual_value_is_asked_about_until_it_is_confirmed(opened: Opened) -> None:
    p = opened()
    assert not p.questions
    p.edit("ball.top_weight", "5.5")
    assert set(p.questions) == {"ball.top_weight"}
    assert not p.problems
    found = readings(p.plan) if p.plan is not None else None
    assert found is not None
    (question,) = found.questions
    assert question.startswith("Label and marks, Top weight: ")
    assert question not in found.cautions
    changes = told(p)
    p.confirm("ball.top_weight")
    assert len(changes) == 1
    assert not p.questions
    assert p.document.record()["confirmed"] == {"ball.top_weight": 5.5}
    p.undo()
    assert set(p.questions) == {"ball.top_weight"}
    p.redo()
    p.edit("ball.top_weight", "5.75")  # confirmed was another value
    assert set(p.questions) == {"ball.top_weight"}


def test_without_a_field_the_first_question_is_confirmed(opened: Opened) -> None:
    p = opened()
    p.edit("ball.top_weight", "5.5")
    p.edit("bowler.pap.over", "1")
    assert list(p.questions) == ["bowler.pap.over", "ball.top_weight"]
    p.confirm()
    assert list(p.questions) == ["ball.top_weight"]
    p.confirm("title")
    assert not p.questions
    before = dict(p.entries)
    p.confirm()
    assert p.message == "The plan asks about nothing."
    assert dict(p.entries) == before


# --- why a plan fails -----------------------------------------------------------------------------


def test_a_plan_that_fails_says_why_first(opened: Opened) -> None:
    p = opened("07")
    assert p.plan is not None
    first = next(c for c in p.plan.checks if c.outcome == "fail")
    why = readings(p.plan).why
    assert why.startswith(f"{first.name}: ")
    assert why.endswith("beyond the limit.")
    for finger in ("middle", "ring", "thumb"):
        p.edit(f"bowler.grip.{finger}.sleeve", NO)
        p.edit(f"bowler.grip.{finger}.depth", "0")
    assert p.plan.reasons
    found = readings(p.plan)
    assert found.why == p.plan.reasons[0]
    assert found.checks[0].name == "drillable"
    assert found.checks[0].outcome == "fail"
    assert readings(opened("01").plan).why == ""


# --- what a customer may not have -----------------------------------------------------------------

PAP = ("bowler.pap.over", "bowler.pap.up")
LABEL = ("ball.pin_to_cg", "ball.top_weight")


@pytest.mark.parametrize("empty", [PAP, LABEL[:1], LABEL[1:], (*PAP, *LABEL)])
def test_what_is_not_known_may_stay_empty_beside_a_placement(
    opened: Opened, empty: tuple[str, ...]
) -> None:
    p = opened()
    p.edit("layout.by", "placement")
    for path in empty:
        p.edit(path, "")
    assert not p.problems
    assert not p.needed
    assert p.plan is not None
    assert not p.stale
    found = readings(p.plan)
    assert found.unknown
    assert all("not known without" in line for line in found.unknown[:1])
    known = empty == PAP
    assert p.odds_due == known
    assert (found.outcome == "incomplete") == (not known)
    assert len(found.bars) == (3 if known else 0)
    assert (found.no_bars == "") == known
    rows = {row.key: row for row in found.rows}
    no_pap, no_cg = PAP[0] in empty, LABEL[0] in empty
    assert (rows["pin_to_pap"].text == "not known") == no_pap
    assert (rows["cg_over"].text == "not known") == no_cg
    assert rows["pin_to_pap"].missing == ("not known without the bowler's PAP" if no_pap else "")
    assert rows["cg_over"].missing == ("not known without the pin-to-CG distance" if no_cg else "")
    assert rows["bearing"].missing == ""  # the line runs to the PSA mark
    assert p.shot() is None
    assert "what the ball does on the lane needs" in p.message
    assert p.layout_map() is None
    assert parse_job(p.document.record()) == p.job


def test_a_pap_that_is_not_there_is_neither_dragged_nor_nudged(opened: Opened) -> None:
    p = opened()
    p.edit("layout.by", "placement")
    for path in PAP:
        p.edit(path, "")
    before = dict(p.entries)
    assert not p.begin_drag("pap")
    assert "not known" in p.message
    p.drag_pap((0.3, 0.2, 1.0), fine=True)
    p.nudge("left", "fine")
    assert dict(p.entries) == before
    assert p.begin_drag("pin")
    p.end_drag()


def test_a_layout_by_angles_still_needs_the_pap(opened: Opened) -> None:
    p = opened()
    assert p.entry("layout.by") == "angles"
    for path in PAP:
        p.edit(path, "")
    assert set(p.problems) == {"bowler.pap.over"}
    assert "placement" in p.problems["bowler.pap.over"]


@pytest.mark.parametrize("by", ["angles", "distances"])
def test_a_layout_that_needs_an_open_figure_is_not_taken(presenter: Presenter, by: str) -> None:
    folder = Path(__file__).parents[2] / "sample_bowlers"
    used = folder / "15_used_ball.json"
    assert presenter.open_sample(used)
    before = dict(presenter.entries)
    presenter.edit("layout.by", by)
    assert presenter.entry("layout.by") == "placement"
    assert f"a layout by {by} needs" in presenter.message
    assert dict(presenter.entries) == before
    assert not presenter.stale
