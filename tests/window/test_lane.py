"""The lane as a tab of the window: figures, the picture at a moment, and its playback."""

import time
from pathlib import Path

import numpy as np
import pytest

from gui.state.commands import command
from gui.views.lane_canvas import VIEWS
from gui.views.lane_view import ABOUT

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
LANE = 6  # its place among the tabs


@pytest.fixture
def lane(sample, pump):
    sample.run(command("lane"))
    found = sample.readings.lane
    settle(found, pump)
    return found


def settle(view, pump):
    pump(lambda: view._shown and view.canvas.frames and not view._waiting.waiting, "the shot")


def shown(view, tag):
    """The items of a kind that are seen."""
    canvas = view.canvas
    return [i for i in canvas.find_withtag(tag) if canvas.itemcget(i, "state") != "hidden"]


def middle(view, tag):
    left, top, right, bottom = view.canvas.coords(tag)
    return (left + right) / 2.0, (top + bottom) / 2.0


def test_the_shot_is_worked_out_only_when_the_tab_is_seen(odds_drawn, sample, pump):
    view = sample.readings.lane
    pump(lambda: sample.presenter.odds, "quiet")
    assert view._shown is None
    sample.run(command("lane"))
    settle(view, pump)
    assert view._shown.shot.plan is sample.presenter.plan
    assert view.focus_displayof() is view.canvas
    assert not view._next.waiting  # at rest no timer runs
    sample.readings.select(0)
    pump(lambda: not view.winfo_viewable(), "another tab")
    before = view._shown
    sample.presenter.edit("layout.angle_at_pap", "40")
    pump(lambda: sample.presenter.odds, "quiet")
    assert view._shown is before
    sample.readings.select(LANE)
    pump(lambda: view._shown is not before and not view._waiting.waiting, "another shot")
    assert view._shown.shot.plan is sample.presenter.plan


def test_lane_path_and_rings_are_on_the_canvas(lane):
    canvas, shot = lane.canvas, lane._shown.shot
    dashes = [canvas.itemcget(i, "dash") for i in canvas.find_withtag("path")]
    assert len(dashes) == len(shot.path.phases)
    assert len(set(dashes)) == len(dashes)  # told apart without colour
    texts = [canvas.itemcget(i, "text") for i in canvas.find_all() if canvas.type(i) == "text"]
    assert {"skid", "hook", "10", "20", "30", "60"} <= set(texts)
    assert len(canvas.find_withtag("breakpoint")) == 1
    x, _ = middle(lane, "ball")
    assert x == pytest.approx(canvas.coords(canvas.find_withtag("path")[-1])[-2], abs=1.0)
    assert len(shown(lane, "ring")) > 10
    assert not canvas.find_withtag("kept_path")
    for words in ("board at the pins: ", "entry angle: ", "flare width: ", "promises no score"):
        assert words in lane.figures.content


def test_a_left_hand_comes_from_the_other_side(open_window, pump, sample):
    paths = {}
    for number in ("01", "02"):
        window = open_window(next(p for p in SAMPLES if p.name.startswith(number)))
        window.run(command("lane"))
        view = window.readings.lane
        settle(view, pump)
        first = view.canvas.coords(view.canvas.find_withtag("path")[0])
        breakpoint_ = view.canvas.coords("breakpoint")
        ten = next(
            i
            for i in view.canvas.find_all()
            if view.canvas.type(i) == "text" and view.canvas.itemcget(i, "text") == "10"
        )
        # it goes out toward its own low boards: down for a right hand, the bowler's left is up
        paths[number] = breakpoint_[1] - first[1], view.canvas.coords(ten)[1] - first[1]
    assert min(paths["01"]) > 0.0
    assert max(paths["02"]) < 0.0


def test_the_slider_and_keys_show_any_moment_at_rest(lane, hands, pump):
    canvas = lane.canvas
    hands.key(canvas, "Home")
    assert lane.player.time == 0.0
    assert canvas.itemcget("now", "text").startswith("0.00 s, skid: 0.0 ft")
    assert len(shown(lane, "ring")) <= 1
    start = middle(lane, "ball")
    hands.key(canvas, "Right", "Right", "Shift-Right")
    assert lane.player.time == pytest.approx(0.24)
    assert middle(lane, "ball")[0] > start[0]
    hands.key(canvas, "Left")
    assert lane.player.time == pytest.approx(0.22)
    hands.key(lane.slider, "End")
    assert lane.player.time == lane.player.duration
    lane.slider.set(1.0)
    assert lane.player.time == pytest.approx(1.0)
    x = round(lane.slider.winfo_width() * 0.5)
    lane.slider.event_generate("<Button-1>", x=x, y=lane.slider.winfo_height() // 2)
    lane.slider.event_generate("<ButtonRelease-1>", x=x, y=lane.slider.winfo_height() // 2)
    assert lane.player.time == pytest.approx(lane.player.duration / 2.0, abs=0.15)
    assert not lane.player.running
    assert not lane._next.waiting


def test_space_plays_to_the_end_and_the_rings_appear(lane, hands, pump):
    lane.player.rate = 2.0
    hands.key(lane.canvas, "space")
    assert lane.player.running
    assert lane.button.cget("text") == "Pause"
    places, rings = [], []
    frames = lane.canvas.frames

    def over():
        if lane.player.running:
            places.append(middle(lane, "ball")[0])
            rings.append(len(shown(lane, "ring")))
        return not lane.player.running

    pump(over, "the end of the shot")
    assert lane.player.time == lane.player.duration
    assert lane.button.cget("text") == "Play"
    assert lane.canvas.frames - frames >= 10
    assert places == sorted(places)
    assert len(set(places)) >= 10
    assert rings[0] < rings[-1]
    assert not lane._next.waiting


def test_the_button_pauses_and_the_speed_slows(sample, lane, hands, pump):
    hands.choose(lane.speed, "1/10")
    begun = time.perf_counter()
    hands.press(lane.button)
    pump(lambda: lane.player.time > 0.02, "some frames")
    hands.press(lane.button)
    assert not lane.player.running
    assert lane.player.time <= (time.perf_counter() - begun) / 10.0 + 1e-6
    stopped = lane.player.time
    frames = lane.canvas.frames
    sample.update()
    assert (lane.player.time, lane.canvas.frames, lane._next.waiting) == (stopped, frames, False)


def test_leaving_the_tab_or_changing_the_record_stops_the_playback(sample, lane, hands, pump):
    hands.key(lane.canvas, "space")
    sample.readings.select(0)
    pump(lambda: not lane.winfo_viewable(), "another tab")
    assert not lane.player.running
    assert not lane._next.waiting
    sample.readings.select(LANE)
    settle(lane, pump)
    hands.key(lane.canvas, "space")
    assert lane.player.running
    sample.presenter.edit("layout.angle_at_pap", "40")
    assert not lane.player.running
    assert lane.notice.winfo_manager()


def test_the_ball_turns_in_one_view_and_is_held_in_the_others(lane, hands):
    moved = {}
    for name in VIEWS:
        hands.choose(lane.side, name)
        lane.seek(0.0)
        before = [lane.canvas.coords(i) for i in lane.canvas.find_withtag("hole")]
        marks = [lane.canvas.coords(i) for i in lane.canvas.find_withtag("mark")]
        lane.seek(0.05)
        moved[name] = before != [lane.canvas.coords(i) for i in lane.canvas.find_withtag("hole")]
        moved[name] |= marks != [lane.canvas.coords(i) for i in lane.canvas.find_withtag("mark")]
    assert moved == {name: name == "as it rolls" for name in VIEWS}


def test_a_kept_plan_is_laid_over_it_and_the_differences_are_listed(sample, lane, pump):
    p = sample.presenter
    p.keep_reference()
    p.edit("layout.pin_to_pap", "2")
    pump(lambda: p.study is not None and p.study.done, "the differences")
    lane._tell()
    assert len(lane.canvas.find_withtag("kept_path")) >= 2
    assert lane._kept.shot.plan.marks is p.reference.plan.marks
    content = lane.figures.content
    assert content.count(" from kept\n") >= 8
    assert "±" in content
    order = [
        content.index(word) for word in ("flare width: ", "aim: ", "why, ", "board at the pins: ")
    ]
    assert order == sorted(order)
    assert "the kept plan's own: from board " in content
    assert "from the kept plan's line: start " in content
    lane.seek(1.0)
    assert middle(lane, "kept_ball")[0] == pytest.approx(middle(lane, "ball")[0], abs=3.0)
    p.drop_reference()
    pump(lambda: not lane.canvas.find_withtag("kept_path"), "one path")
    assert "from kept" not in lane.figures.content


def test_a_shot_of_another_record_is_said_to_be_out_of_date(sample, lane, pump):
    assert not lane.notice.winfo_ismapped()
    sample.presenter.edit("layout.angle_at_pap", "40")
    pump(lane.notice.winfo_ismapped, "the notice")
    pump(lambda: not lane.notice.winfo_ismapped(), "the new shot")
    sample.presenter.edit("layout.angle_at_pap", "")
    pump(lane.notice.winfo_ismapped, "the notice")
    assert "Out of date" in str(lane.notice.cget("text"))
    assert lane.button.instate(["disabled"])
    lane.toggle()
    assert not lane.player.running


def test_an_empty_record_has_no_lane_yet(open_window, pump):
    window = open_window()
    window.run(command("lane"))
    view = window.readings.lane
    pump(view.notice.winfo_ismapped, "the notice")
    assert "when the record is complete" in str(view.notice.cget("text"))
    assert view.figures.content == ""
    view.seek(1.0)
    view.toggle()
    assert not view.player.running


def test_a_drag_is_over_before_the_shot_is_made_anew(sample, lane, pump, where):
    ball, p = sample.ball, sample.presenter
    x, y = where(sample, "pin")
    before, frames = lane._shown, lane.canvas.frames
    ball.widget.event_generate("<Button-1>", x=x, y=y)
    ball.widget.event_generate("<B1-Motion>", x=x + 9, y=y + 5)
    end = time.monotonic() + 0.7
    while time.monotonic() < end:
        sample.update()
        assert lane._shown is before
    assert lane.canvas.frames == frames
    assert lane.notice.winfo_ismapped()
    ball.widget.event_generate("<ButtonRelease-1>", x=x + 9, y=y + 5)
    pump(lambda: lane._shown is not before, "the shot")
    assert lane._shown.shot.plan is p.plan


def test_release_and_lane_are_set_in_the_form(sample, lane, hands, pump):
    p, form = sample.presenter, sample.form
    form.show_field("release")
    form.rows["release"].inputs[0].invoke()
    sample.update()
    hands.write(form.rows["release.speed"].inputs[0], "20")
    assert p.job.release.speed == 20.0
    assert str(form.rows["release.speed"].unit.cget("text")) == "mph"
    pump(lambda: lane._shown.shot.release.speed == 20.0 and not lane._waiting.waiting, "the shot")
    lane.seek(0.0)
    assert "20.0 mph" in lane.canvas.itemcget("now", "text")
    assert not sample.presenter.problems


def test_every_part_has_its_help(sample, lane, hands):
    for widget, word in (
        (lane.canvas, "The lane"), (lane.button, "Play"), (lane.slider, "Time"),
        (lane.speed, "Speed"), (lane.side, "The ball"),
    ):  # fmt: skip
        assert sample.help.of(widget).startswith(word)
    assert "promises no score" in ABOUT
    text = lane.figures.text
    place = text.search("entry angle", "1.0")
    text.see(place)
    sample.update()
    x, y, *_ = text.bbox(place)
    text.event_generate("<Motion>", x=x + 3, y=y + 3)
    assert sample.help.of(text).startswith("Entry angle")


def test_nothing_leaves_the_canvas(sample, lane, pump):
    for size in ((1024, 670), (1500, 1000)):
        sample.geometry("{}x{}".format(*size))
        pump(lambda s=size: (sample.winfo_width(), sample.winfo_height()) == s, "the size")
        settle(lane, pump)
        nothing_leaves_the_canvas(lane)


def nothing_leaves_the_canvas(view):
    canvas = view.canvas
    for part in np.linspace(0.0, 1.0, 5):
        view.seek(view.player.duration * part)
        for item in canvas.find_all():
            box = canvas.bbox(item)
            if canvas.itemcget(item, "state") == "hidden" or not box or box[2] < 0:
                continue
            left, top, right, bottom = box
            assert left >= -2, canvas.gettags(item)
            assert top >= -2, canvas.gettags(item)
            assert right <= canvas.winfo_width() + 2, canvas.gettags(item)
            assert bottom <= canvas.winfo_height() + 2, canvas.gettags(item)


def test_the_lane_takes_the_pictures_place_and_gives_it_back(sample, lane, hands, pump):
    low, room = lane.canvas.winfo_height(), sample._down.winfo_height()
    hands.key(sample, "Shift-F3")
    pump(lambda: sample.readings.winfo_height() > 0.95 * room, "the lane at full size")
    assert lane.canvas.winfo_height() > low + 200
    hands.key(sample, "Shift-F3")
    pump(lambda: abs(lane.canvas.winfo_height() - low) <= 2, "the picture again")
