"""Direct work on the ball with real pointer and key events, and reading back the numbers."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from gui.state.commands import COMMANDS
from gui.state.readings import readings
from layoutkit.geometry.sphere import arc
from layoutkit.job.record import parse_job
from layoutkit.planning.plan import plan

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
LAYOUTS = ("angles", "distances", "placement")
KEPT = {
    "angles": "layout.angle_at_pin",
    "distances": "layout.psa_to_pap",
    "placement": "layout.bearing",
}


def record(window):
    return json.dumps(window.presenter.document.record(), sort_keys=True)


def way(start, dx, dy, steps=12):
    x, y = start
    return [(x, y), *((x + dx * i // steps, y + dy * i // steps) for i in range(1, steps + 1))]


def settled(window, pump):
    """Nothing left to paint."""
    pump(lambda: not window.ball._pending.waiting, "the ball to be painted")


def state_by(window, hands, by):
    window.form.show_field("layout.by")
    hands.choose(window.form.rows["layout.by"].inputs[0], by)


def check_readings(window):
    """What is on the screen is the plan of the record as it stands."""
    shown = readings(plan(parse_job(window.presenter.document.record())), window.presenter.units)
    for row in shown.rows:
        if row.text:
            assert window.readings.numbers.cell(row.key) == row.text
            assert window.readings.numbers.cell(row.key, "before") == row.before
    for bar in shown.bars:
        canvas = window.readings.bars[bar.key]
        assert canvas.words == bar.text.partition(" (")[0]
        assert window.readings._bar_help(bar.key).count(f"Now: {bar.text}, ") == 1
        assert bar.outcome in canvas.itemcget(canvas.outcome, "text")
    for path, row in window.form.rows.items():
        if row.visible and path != "ball.rg_data" and row.field.kind != "switch":
            assert row.text == window.presenter.entry(path)
    assert shown.outcome.upper() in str(window.outcome.cget("text"))


def test_dragging_the_pin(sample, hands, pump, where):
    for by in LAYOUTS:
        drag_the_pin(sample, hands, pump, by, where)
        hands.key(sample, "Control-z")


def drag_the_pin(sample, hands, pump, by, where):
    state_by(sample, hands, by)
    settled(sample, pump)
    before, kept = record(sample), sample.presenter.entry(KEPT[by])
    marks = sample.presenter.plan.marks
    start = where(sample, "pin")
    x, y = start[0] - 40, start[1] + 30
    hands.drag(sample.ball.widget, way(start, -40, 30))
    settled(sample, pump)
    # the pin is where the pointer let go, to some pixels and what 1/16 in and a degree at 4 in allow
    seen = sample.ball.to_ball(x, y)
    wanted = sample.ball.view.under(*seen, sample.presenter.plan.radius)
    found = sample.presenter.plan.marks.pin.xyz
    pixel = sample.presenter.plan.radius / sample.ball._radius
    assert math.dist(found, wanted) < 3.0 * pixel + 0.07
    assert sample.presenter.entry(KEPT[by]) == kept
    assert sample.presenter.plan.marks.pap == marks.pap
    layout = sample.presenter.plan.layout
    assert layout.pin_to_pap == pytest.approx(
        float(arc(found, sample.presenter.plan.marks.pap.xyz, sample.presenter.plan.radius)),
        abs=1e-9,
    )
    check_readings(sample)
    # one step of undo, back to the same record
    hands.key(sample, "Control-z")
    assert record(sample) == before
    check_readings(sample)
    hands.key(sample, "Control-y")
    assert sample.presenter.plan.marks.pin.xyz == found
    check_readings(sample)


def test_every_frame_of_a_drag_is_the_plan_of_its_record(sample, pump, where):
    settled(sample, pump)
    canvas, start = sample.ball.widget, where(sample, "pin")
    canvas.event_generate("<Button-1>", x=start[0], y=start[1])
    for x, y in way(start, 90, 60, 12)[1:]:  # each further than a sixteenth
        before = sample.ball.frames
        # with Ctrl: a drag that snaps does not move with every pixel
        canvas.event_generate("<B1-Motion>", x=x, y=y, state=0x104)
        pump(lambda before=before: sample.ball.frames > before, "a frame")
        check_readings(sample)
        pin = next(s for s in sample.ball.shown.spots if s.name == "pin")
        marks = sample.presenter.plan.marks
        across = sample.ball.view.frame @ np.array(marks.pin.xyz) / sample.presenter.plan.radius
        assert (pin.x, pin.y) == pytest.approx(tuple(across[:2]), abs=1e-9)
    canvas.event_generate("<ButtonRelease-1>", x=x, y=y)


def test_dragging_the_pap_keeps_the_layout_or_under_placement_the_pin(sample, hands, pump, where):
    settled(sample, pump)
    was = sample.presenter.plan
    hands.drag(sample.ball.widget, way(where(sample, "pap"), -50, -10))
    settled(sample, pump)
    now = sample.presenter.plan
    assert now.marks.pap.over < was.marks.pap.over - 0.2
    assert (now.layout.angle_at_pin, now.layout.pin_to_pap, now.layout.angle_at_pap) == (
        was.layout.angle_at_pin, was.layout.pin_to_pap, was.layout.angle_at_pap,
    )  # fmt: skip
    check_readings(sample)
    hands.key(sample, "Control-z")
    state_by(sample, hands, "placement")
    settled(sample, pump)
    pin = sample.presenter.plan.marks.pin
    hands.drag(sample.ball.widget, way(where(sample, "pap"), -50, -10))
    assert sample.presenter.plan.marks.pin == pin
    assert sample.presenter.plan.marks.pap.over < was.marks.pap.over - 0.2
    check_readings(sample)


def test_left_hand_drags_the_same(open_window, hands, pump, where):
    window = open_window(SAMPLES[1])
    settled(window, pump)
    over = window.presenter.plan.marks.pin.over
    hands.drag(window.ball.widget, way(where(window, "pin"), -30, 0))
    # to the left is toward the positive side of a left hand
    assert window.presenter.plan.marks.pin.over > over + 0.1
    check_readings(window)


def test_escape_gives_a_drag_up(sample, pump, where):
    settled(sample, pump)
    before, canvas, start = record(sample), sample.ball.widget, where(sample, "pin")
    canvas.focus_force()
    pump(lambda: canvas.focus_displayof() is canvas, "the keyboard")
    canvas.event_generate("<Button-1>", x=start[0], y=start[1])
    canvas.event_generate("<B1-Motion>", x=start[0] + 30, y=start[1])
    sample.update()
    assert record(sample) != before
    canvas.event_generate("<Escape>")
    sample.update()
    assert record(sample) == before
    canvas.event_generate("<B1-Motion>", x=start[0] + 60, y=start[1])
    canvas.event_generate("<ButtonRelease-1>", x=start[0] + 60, y=start[1])
    sample.update()
    assert record(sample) == before


def test_invalid_record_is_not_dragged_and_says_why(sample, hands, pump, where):
    settled(sample, pump)
    sample.form.show_field("bowler.grip.bridge")
    hands.write(sample.form.rows["bowler.grip.bridge"].inputs[0], "abc")
    before = record(sample)
    hands.drag(sample.ball.widget, way(where(sample, "pin"), -40, 0))
    assert record(sample) == before
    assert "Bridge" in str(sample.status.cget("text"))


def test_dragging_the_ball_turns_it_and_changes_nothing_else(sample, hands, pump, to_pixel):
    settled(sample, pump)
    before, view = record(sample), sample.ball.view
    x, y = to_pixel(sample.ball, -0.5, -0.3)
    hands.drag(sample.ball.widget, way((x, y), 30, 0))
    # the surface follows the hand: by as much of a radius as the pointer went
    moved = view.turned(30 / sample.ball._radius, 0.0)
    assert sample.ball.view.frame == pytest.approx(moved.frame, abs=1e-9)
    assert record(sample) == before
    hands.press(sample.ball.reset_button)
    assert sample.ball.view.frame == pytest.approx(view.frame, abs=1e-12)


def test_buttons_keys_and_double_clicks_face_a_mark(sample, hands, pump, where):
    settled(sample, pump)

    def middle(what):
        settled(sample, pump)
        name = "grip_center" if what == "grip" else what
        spot = next(s for s in sample.ball.shown.spots if s.name == name)
        return math.hypot(spot.x, spot.y) < 1e-9 and not spot.far

    for what in ("grip", "pin", "pap", "psa", "cg"):
        sample.ball.face("underside")
        settled(sample, pump)
        hands.press(sample.ball.face_buttons[what])
        assert middle(what), what
        sample.ball.face("underside")
        key = {"grip": "g", "pin": "p", "pap": "a", "psa": "s", "cg": "c"}[what]
        hands.key(sample.ball.widget, f"Key-{key}")
        assert middle(what), what
        hands.press(sample.ball.reset_button)
        settled(sample, pump)
        x, y = where(sample, "grip_center" if what == "grip" else what)
        for _ in range(2):
            sample.ball.widget.event_generate("<Button-1>", x=x, y=y)
            sample.ball.widget.event_generate("<ButtonRelease-1>", x=x, y=y)
        sample.update()
        assert middle(what), what


def test_ball_without_a_psa_mark_cannot_face_it(open_window, pump):
    window = open_window(SAMPLES[2])
    settled(window, pump)
    view = window.ball.view
    window.ball.face("psa")
    assert window.ball.view is view


def test_arrow_keys_nudge_the_selected_mark(sample, hands, pump, where):
    state_by(sample, hands, "placement")
    for name, text in (("over", "1 1/4"), ("up", "3 1/2")):
        sample.presenter.edit(f"layout.pin.{name}", text)
    settled(sample, pump)
    x, y = where(sample, "pin")
    hands.drag(sample.ball.widget, [(x, y)])  # a press selects
    assert sample.presenter.selected == "pin"
    for keys, over, up in (
        (("Control-Right",), 1 / 32, 0.0), (("Control-Left",), -1 / 32, 0.0),
        (("Right",), 1 / 16, 0.0), (("Up",), 0.0, 1 / 16),
        (("Shift-Down",), 0.0, -1 / 4), (("Shift-Right", "Shift-Right"), 1 / 2, 0.0),
    ):  # fmt: skip
        was = sample.presenter.plan.marks.pin
        hands.key(sample.ball.widget, *keys)
        now = sample.presenter.plan.marks.pin
        assert now.over - was.over == pytest.approx(over, abs=1e-6), keys
        assert now.up - was.up == pytest.approx(up, abs=1e-6), keys
        settled(sample, pump)
        assert sample.ball._painting.style.selected == "pin"
        check_readings(sample)


def test_the_window_s_keys_work_on_the_ball_and_do_nothing_else(sample, hands, monkeypatch):
    done = []
    monkeypatch.setattr(sample, "run", lambda command: done.append(command.id))
    sample.presenter.select("pin")
    for key in [k for c in COMMANDS if c.where == "window" for k in c.keys]:
        done.clear()
        hands.key(sample.ball.widget, key[1:-1])
        assert done == [c.id for c in COMMANDS if key in c.keys], key


def test_alt_and_an_arrow_walk_through_the_steps_and_do_not_move_the_pin(sample, hands):
    sample.presenter.select("pin")
    before = sample.presenter.document.record()
    for expected in (0, 1):
        hands.key(sample.ball.widget, "Alt-Right")
        assert sample.presenter.step == expected
    hands.key(sample.ball.widget, "Control-Shift-Left", "Alt-Shift-Up")
    assert sample.presenter.document.record() == before


def test_steps_are_walked_by_key_and_shown_alone(sample, hands, pump):
    steps = sample.presenter.steps
    for step in steps:
        hands.key(sample, "Alt-Right")
        settled(sample, pump)
        names = {step.at, step.new}
        if step.crossing is None:
            names.add(step.toward)
        elif step.crossing.mark != "centreline":
            names.add(step.crossing.mark)
        assert {s.name for s in sample.ball.shown.spots} == names
        assert sample.readings.steps.list.text.winfo_viewable()
        text = sample.readings.steps.list.text
        first, last = text.tag_ranges(f"step{step.number - 1}")
        assert step.text in text.get(first, last)
        assert text.tag_cget(f"step{step.number - 1}", "background") != ""
        if step.length:
            middle = next(x for x in sample.ball.shown.labels if x.kind == "measure")
            assert not middle.far
    hands.key(sample, "Alt-Left")
    assert sample.presenter.step == len(steps) - 2
    hands.press(sample.readings.steps.whole)
    settled(sample, pump)
    assert len(sample.ball.shown.spots) > 5
    # by the list itself
    text = sample.readings.steps.list.text
    text.see("step0.first")
    x, y, _, _ = text.bbox("step0.first")
    text.event_generate("<Button-1>", x=x + 2, y=y + 2)
    sample.update()
    assert sample.presenter.step == 0


def test_a_step_s_marks_are_not_dragged(sample, hands, pump, where):
    hands.key(sample, "Alt-Right")
    settled(sample, pump)
    before = record(sample)
    hands.drag(sample.ball.widget, way(where(sample, "pin"), 30, 10))
    assert record(sample) == before


def test_comparing_shows_ghosts_and_differences(sample, hands, pump):
    hands.key(sample, "F9")
    settled(sample, pump)
    kept = sample.presenter.plan
    sample.form.show_field("layout.pin_to_pap")
    hands.write(sample.form.rows["layout.pin_to_pap"].inputs[0], "3 1/2")
    settled(sample, pump)
    ghosts = {s.name for s in sample.ball.shown.spots if s.ghost}
    assert "pin" in ghosts
    assert "pap" not in ghosts
    assert sample.readings.numbers.cell("pin_to_pap", "difference") == "-1 in"
    shown = readings(sample.presenter.plan, "fraction", kept)
    for bar in shown.bars:
        canvas = sample.readings.bars[bar.key]
        assert bar.difference in canvas.itemcget(canvas.limit, "text")
    now = record(sample)
    hands.press(sample.compare["swap"])
    assert sample.presenter.plan == kept
    settled(sample, pump)
    assert sample.readings.numbers.cell("pin_to_pap", "difference") == "+1 in"
    hands.press(sample.compare["swap"])
    assert record(sample) == now
    hands.press(sample.compare["drop"])
    settled(sample, pump)
    assert not any(s.ghost for s in sample.ball.shown.spots)
    assert sample.compare["drop"].instate(["disabled"])


def test_what_was_undrilled_stays_beside_the_difference_where_there_is_room(sample, hands, pump):
    tree = sample.readings.numbers.tree
    for size, compared in (("1024x670", "difference"), ("1590x860", "before difference")):
        sample.geometry(size)
        pump(
            lambda size=size: f"{sample.winfo_width()}x{sample.winfo_height()}" == size, "the size"
        )
        hands.key(sample, "F9")
        wanted = ("text", *compared.split())
        pump(lambda w=wanted: tuple(map(str, tree.cget("displaycolumns"))) == w, str(wanted))
        hands.key(sample, "Control-F9")
        pump(
            lambda: tuple(map(str, tree.cget("displaycolumns"))) == ("text", "before"), "undrilled"
        )
    assert (
        sum(tree.column(name, "width") for name in ("#0", "text", "before")) <= tree.winfo_width()
    )


def test_units_are_switched_everywhere(sample, hands, pump):
    for units, text in (("Decimals", "4.500 in"), ("Metric", "114.3 mm")):
        hands.choose(sample.unit_box, units)
        settled(sample, pump)
        assert sample.readings.numbers.cell("pin_to_pap") == text
        assert any(x.text == f"pin to PAP {text}" for x in sample.ball.shown.labels)
        assert sample.form.rows["layout.pin_to_pap"].text == "4 1/2"  # as typed
        check_readings(sample)


def test_checks_holes_and_cautions_are_told(open_window, pump):
    window = open_window(SAMPLES[6])  # fails
    found = window.readings.readings
    for index, view in ((1, window.readings.checks), (2, window.readings.holes)):
        window.readings.select(index)
        pump(lambda view=view: view.content, "the text")
    told = window.readings.checks.content
    assert found.verdict in told
    for check in found.checks:
        band = f" ({check.band} with its uncertainty)" if check.band else ""
        limit = f", {check.limit}" if check.limit else ""
        assert f"{check.name}: {check.value}{band}{limit}: {check.words}" in told
        assert check.source in told
    for row in found.holes.rows:
        assert row[0] in window.readings.holes.content
    window.readings.select(4)
    pump(lambda: window.readings.cautions.content, "the cautions")
    for caution in (*found.cautions, *found.shop):
        assert caution in window.readings.cautions.content
    assert str(window.outcome.cget("text")) == "✗ FAIL"
    assert found.judged.reasons[0].words in str(window.strip.reason.cget("text"))


def test_redraws_are_gathered(sample, pump):
    settled(sample, pump)
    before = sample.ball.frames
    for _ in range(20):
        sample.ball.schedule()
        sample.ball.view = sample.ball.view.turned(0.01, 0.0)
    settled(sample, pump)
    assert sample.ball.frames == before + 1


def test_what_the_pointer_rests_on_is_named_with_its_numbers(sample, pump, to_pixel, where):
    settled(sample, pump)
    ball = sample.ball
    tips = lambda: [w for w in ball.widget.winfo_children() if w.winfo_viewable()]  # noqa: E731
    for name, told in (
        ("pin", "Pin\n1 7/32 over, 3 23/32 up from the grip centre (inches)"),
        ("thumb", "Thumb hole\nbore 1 3/8 in, 2 3/4 in deep\nfinished 1 in, 2 3/4 in deep"),
        ("pin to PAP", "Pin to PAP 4 1/2 in"),
    ):
        if name in ("pin", "thumb"):
            x, y = where(sample, name)
        else:
            line = next(p for p in ball.shown.pieces if p.name == name and not p.far).points
            x, y = to_pixel(ball, *line[len(line) // 2])
        ball.widget.event_generate("<Motion>", x=x, y=y)
        pump(tips, "the tooltip")
        assert tips()[0].msg_var.get().startswith(told)
        ball.widget.event_generate("<MouseWheel>", x=x, y=y)
        assert not tips()
