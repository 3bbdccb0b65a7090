"""The map as a tab of the window, on a real display."""

import numpy as np
import pytest

from gui.state.commands import command
from layoutkit.output import maps


@pytest.fixture
def map_view(sample, pump, hands):
    """The map's second view, by angles."""
    sample.run(command("map"))
    found = sample.readings.map
    hands.choose(found.views, "By angles")
    pump(lambda: found.frames and found._shown and not found._waiting.waiting, "the map")
    return found


def at(view, at_pin, at_pap):
    """The pixel of a layout, as its canvas has it."""
    x, y = view._axes.transData.transform((at_pin, at_pap))
    return {"x": round(x), "y": round(view._size[1] - y)}


def test_the_map_is_worked_out_only_when_it_is_seen(odds_drawn, sample, pump):
    view = sample.readings.map
    view.views.current(1)
    pump(lambda: sample.presenter.odds, "quiet")
    assert view._shown is None
    assert view._canvas is None
    sample.run(command("map"))
    pump(lambda: view.frames and not view._waiting.waiting, "the map")
    assert view._shown.plan is sample.presenter.plan
    assert view.focus_displayof() is view.widget
    sample.readings.select(0)
    pump(lambda: not view.winfo_viewable(), "another tab")
    shown = view._shown
    sample.presenter.edit("layout.angle_at_pap", "40")
    pump(lambda: sample.presenter.odds, "quiet")
    assert view._shown is shown
    sample.readings.select(5)
    pump(lambda: view._shown is not shown, "another map")
    assert view._shown.plan is sample.presenter.plan


def test_contours_are_painted_for_each_figure(sample, map_view, hands, pump):
    seen = []
    for panel, name in zip(maps.PANELS, map_view.choice.cget("values"), strict=True):
        frames = map_view.frames
        hands.choose(map_view.choice, name)
        pump(lambda before=frames: map_view.frames > before, "the figure")
        assert map_view.panel is panel
        picture = np.array(map_view._canvas.buffer_rgba())[..., :3].astype(int)
        assert (np.ptp(picture, axis=-1) > 60).sum() > 2000
        seen.append(picture)
    assert (seen[0] != seen[1]).any()
    assert "promises nothing about a lane" in map_view.description.content


def test_a_click_tells_of_a_layout_and_a_double_click_takes_it(sample, map_view, pump):
    p = sample.presenter
    before = dict(p.entries)
    assert map_view.use.instate(["disabled"])
    map_view.widget.event_generate("<Button-1>", **at(map_view, 40, 25))
    pump(lambda: map_view.chosen, "a layout")
    assert map_view.chosen == pytest.approx((40, 25), abs=1)
    d, v = map_view.chosen
    for words in (f"angle at the pin {d:g}°", f"angle at the PAP {v:g}°", "pin to PAP 4 1/2 in"):
        assert words in map_view.description.content
    assert map_view.use.instate(["!disabled"])
    assert dict(p.entries) == before
    place = at(map_view, 40, 25)
    map_view.widget.event_generate("<Button-1>", **place)
    map_view.widget.event_generate("<ButtonRelease-1>", **place)
    map_view.widget.event_generate("<Button-1>", **place)
    pump(lambda: p.document.undo_name == "layout from the map", "the layout")
    assert (p.plan.layout.angle_at_pin, p.plan.layout.angle_at_pap) == (d, v)
    assert map_view.chosen is None
    pump(lambda: map_view._shown.plan is p.plan, "the map about it")
    p.undo()
    assert dict(p.entries) == before


def test_keys_move_the_circle_and_return_takes_the_layout(sample, map_view, hands, pump):
    p = sample.presenter
    hands.key(map_view.widget, "Right", "Right", "Shift-Down")
    assert map_view.chosen == (52.0, 25.0)
    hands.key(map_view.widget, "Escape")
    assert map_view.chosen is None
    hands.key(map_view.widget, "Left")
    hands.key(map_view.widget, "Return")
    assert p.plan.layout.angle_at_pin == 49.0
    step = p.step
    hands.key(map_view.widget, "Alt-Right")  # the window's own key still works
    assert p.step != step
    assert map_view.chosen is None


def test_the_button_takes_the_layout(sample, map_view, hands, pump):
    hands.key(map_view.widget, "Up")
    hands.press(map_view.use)
    assert sample.presenter.plan.layout.angle_at_pap == 36.0
    pump(lambda: map_view._shown.plan is sample.presenter.plan, "the map about it")
    assert map_view.use.instate(["disabled"])


def test_a_map_of_another_record_is_said_to_be_out_of_date(sample, map_view, pump, monkeypatch):
    # the rest before a new map never ends: on a busy machine the map would come within one update
    monkeypatch.setattr("gui.views.style.REST", 1_000_000)
    assert not map_view.notice.winfo_ismapped()
    sample.presenter.edit("layout.angle_at_pap", "40")
    pump(map_view.notice.winfo_ismapped, "the notice")
    assert str(map_view.notice.cget("text")) == "Working it out ..."
    map_view.seen()
    pump(lambda: not map_view.notice.winfo_ismapped(), "the new map")
    assert map_view._shown.plan is sample.presenter.plan
    sample.presenter.edit("layout.angle_at_pap", "")
    pump(map_view.notice.winfo_ismapped, "the notice")
    assert "Out of date" in str(map_view.notice.cget("text"))
    map_view.widget.event_generate("<Button-1>", **at(map_view, 40, 25))
    sample.update()
    assert map_view.chosen is None


def test_a_drag_is_over_before_the_map_is_made_anew(sample, map_view, pump, where, monkeypatch):
    monkeypatch.setattr("gui.views.style.REST", 1)
    show, tries = map_view._show, []
    monkeypatch.setattr(map_view, "_show", lambda: (tries.append(1), show()))
    ball, p = sample.ball, sample.presenter
    x, y = where(sample, "pin")
    shown = map_view._shown
    ball.widget.event_generate("<Button-1>", x=x, y=y)
    ball.widget.event_generate("<B1-Motion>", x=x + 9, y=y + 5)
    pump(lambda: len(tries) > 3, "the map to be tried during the drag")
    assert map_view._shown is shown
    assert map_view.notice.winfo_ismapped()
    ball.widget.event_generate("<ButtonRelease-1>", x=x + 9, y=y + 5)
    pump(lambda: map_view._shown is not shown, "the map")
    assert map_view._shown.plan is p.plan


# --- the ball, shaded by where the pin may go -----------------------------------------------------


def test_the_first_view_is_the_ball_where_a_click_looks_and_a_double_click_takes(sample, pump):
    p, view = sample.presenter, sample.readings.map
    sample.run(command("map"))
    pump(lambda: p.globe is not None and p.globe.done and p.around is not None, "the globe")
    pump(lambda: view.frames and not view._waiting.waiting and not view._stale(), "the ball")
    before, pin = dict(p.entries), p.plan.marks.pin
    width, height = view._size
    place = {
        "x": round(width / 2 + 0.2 * view._radius),
        "y": round(height / 2 - 0.3 * view._radius),
    }
    view.widget.event_generate("<Button-1>", **place)
    pump(lambda: view.spot is not None, "a place")
    looked = view._candidate().marks.pin
    assert looked.xyz == pytest.approx(view.spot, abs=0.01)
    assert looked.over != pytest.approx(pin.over, abs=0.1)
    assert "pin over" in view.description.content
    assert dict(p.entries) == before
    view.widget.event_generate("<Button-1>", x=2, y=2)  # beside the ball
    pump(lambda: view.spot is None, "no place")
    for _ in range(2):
        view.widget.event_generate("<Button-1>", **place)
        view.widget.event_generate("<ButtonRelease-1>", **place)
    pump(lambda: p.document.undo_name == "pin from the map", "the pin")
    assert p.plan.marks.pin == looked
    p.undo()
    assert dict(p.entries) == before


def test_the_ball_is_shaded_on_demand_and_while_the_pin_is_dragged(sample, hands, pump, where):
    p, ball = sample.presenter, sample.ball
    x, y = where(sample, "pin")
    ball.widget.event_generate("<Button-1>", x=x, y=y)
    for step in range(1, 4):
        ball.widget.event_generate("<B1-Motion>", x=x + 3 * step, y=y + 2 * step)
        sample.update()
    pump(lambda: p.globe is not None and p.globe.done, "the globe, while the pointer rests")
    pump(lambda: ball._painting.under is not None, "the shading")
    made = p.globe
    ball.widget.event_generate("<B1-Motion>", x=x + 30, y=y + 20)
    sample.update()
    assert p.globe is made  # one globe serves the whole drag
    ball.widget.event_generate("<ButtonRelease-1>", x=x + 30, y=y + 20)
    pump(lambda: ball._painting.under is None, "the ball without it")
    hands.key(ball.widget, "Shift-F5")
    pump(lambda: ball._painting.under is not None and p.around is not None, "the shading again")
    pump(lambda: len(ball._painting.fields) == 72, "the ring")
    assert p.globe is made
    assert "hatched: fails" in str(ball.notice.cget("text"))
    hands.key(ball.widget, "Shift-F5")
    pump(lambda: ball._painting.under is None, "the ball without it")
