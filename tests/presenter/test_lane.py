"""What the ball does on the lane: the present shot, the kept plan's, the words, the clock, the record."""

import json
from collections.abc import Callable

import pytest

from gui.state import lane
from gui.state.entries import summary
from gui.state.fields import RG_DATA
from gui.state.help_texts import lane_words
from gui.state.list_draft import Draft
from gui.state.presenter import Presenter
from layoutkit.lane.aim import aim
from layoutkit.lane.playback import playback
from layoutkit.lane.roll import FIGURES, figures, roll
from layoutkit.lane.why import grounds, sensitivity
from layoutkit.output.roll_report import why_words

Opened = Callable[..., Presenter]
TABLE = "lane.table"


def test_the_shot_is_of_the_present_plan_and_kept_until_that_changes(opened: Opened) -> None:
    p = opened("01")
    shot = p.shot()
    assert shot is not None
    assert p.plan is not None
    assert shot.plan is p.plan
    assert shot.path == roll(p.plan).path
    assert p.shot() is shot
    p.set_units("metric")
    assert p.shot() is shot
    p.edit("bowler.pap.over", "4 3/4")
    again = p.shot()
    assert again is not None
    assert again.plan is p.plan
    p.edit("bowler.pap.over", "nowhere")
    assert p.shot() is None
    assert p.kept_shot() is None
    assert p.shot_differences() == ()


def test_no_shot_is_worked_out_during_a_drag(opened: Opened) -> None:
    p = opened("01")
    p.keep_reference()
    assert p.begin_drag("pin")
    assert p.shot() is None
    assert p.shot_differences() == ()
    p.end_drag()
    assert p.shot() is not None


def test_the_kept_plan_is_thrown_under_the_present_release_and_lane(opened: Opened) -> None:
    p = opened("01")
    assert p.kept_shot() is None
    p.keep_reference()
    p.edit("layout.pin_to_pap", "2")
    for path, text in (
        ("release", "yes"),
        ("lane", "yes"),
        ("release.speed", "19"),
        ("lane.dry", ".15"),
    ):
        p.edit(path, text)
    shot, kept = p.shot(), p.kept_shot()
    assert shot is not None
    assert kept is not None
    assert (kept.release, kept.lane) == (shot.release, shot.lane)
    assert kept.release.speed == 19.0
    assert p.reference is not None
    assert kept.plan.marks is p.reference.plan.marks
    assert p.kept_shot() is kept
    p.edit("release.speed", "18")
    other = p.kept_shot()
    assert other is not None
    assert other.release.speed == 18.0
    p.drop_reference()
    assert p.kept_shot() is None


def test_differences_are_counted_from_the_kept_plan(opened: Opened) -> None:
    p = opened("01")
    p.keep_reference()
    p.edit("layout.pin_to_pap", "2")
    assert not p.differences_known
    found = p.shot_differences()
    assert p.differences_known
    shot, kept = p.shot(), p.kept_shot()
    assert shot is not None
    assert kept is not None
    study = p.study
    assert study is not None
    assert study.why("fraction") == ""
    while not study.done:
        study.step()
    assert p.study is study
    # each ball's own line, as the library finds it
    for line, ball in ((study.aim, shot), (study.kept_aim, kept)):
        assert line is not None
        assert line.aim is not None
        own = aim(ball.plan, shot.release).aim
        assert own is not None
        assert line.aim.board == pytest.approx(own.board, abs=1e-9)
        assert f"from board {own.board:.1f} over {own.board_at_arrows:.1f}" in lane.aim_words(line)
    moved = sensitivity(kept)
    words = why_words(found, grounds(kept), grounds(shot), moved, "metric")
    assert study.why("metric") == words
    now, before = figures(shot), figures(kept)
    assert {d.name for d in found} >= {"board at the pins", "entry angle", "flare width"}
    for d in found:
        assert d.value == pytest.approx(now[d.name] - before[d.name])
        assert d.uncertainty >= 0.0
    p.edit("layout.pin_to_pap", "3")
    assert not p.differences_known


def test_every_figure_is_told_and_explained(opened: Opened) -> None:
    p = opened("01")
    shot = p.shot()
    assert shot is not None
    told = lane.figure_rows(shot, "fraction")
    assert told[0].name == "flare width"
    assert {row.name for row in told} == {name for name, _ in FIGURES}
    for row in told:
        assert row.text
        assert not row.difference
        assert len(lane_words(row.name)) > 60
    texts = {row.name: row.text for row in told}
    assert texts["entry angle"] == f"{shot.path.entry_angle:.1f}°"
    assert texts["skid"] == "40.0 ft"
    assert texts["flare width"].endswith(" in")
    metric = {row.name: row.text for row in lane.figure_rows(shot, "metric")}
    assert shot.flare is not None
    assert metric["flare width"] == f"{shot.flare.width * 25.4:.1f} mm"


def test_what_a_shot_did_not_come_to_is_told_so(opened: Opened) -> None:
    p = opened("01")
    p.edit("release", "yes")
    p.edit("release.direction", "15")
    p.edit(RG_DATA, "no")
    shot = p.shot()
    assert shot is not None
    assert shot.path.gutter is not None
    texts = {row.name: row.text for row in lane.figure_rows(shot, "fraction")}
    assert texts["board at the pins"] == texts["flare width"] == texts["entry angle"] == "none"
    assert any("gutter" in caution for caution in shot.cautions)


def test_differences_have_a_sign_their_uncertainty_and_whether_it_hides_them(
    opened: Opened,
) -> None:
    p = opened("01")
    p.keep_reference()
    p.edit("layout.pin_to_pap", "2")
    shot = p.shot()
    assert shot is not None
    found = p.shot_differences()
    told = {row.name: row for row in lane.figure_rows(shot, "decimal", found)}
    for d in found:
        row = told[d.name]
        assert row.sure == (abs(d.value) > d.uncertainty)
        number, _, rest = row.difference.partition(" ± ")
        assert rest
        shown = float(number.removesuffix(" in"))
        assert shown == pytest.approx(d.value, abs=0.51 if d.unit == "rpm" else 0.051)
        assert number.startswith(("+", "-")) or shown == 0.0


def test_a_moment_is_told_in_one_line(opened: Opened) -> None:
    shot = opened("01").shot()
    assert shot is not None
    assert lane.now(playback(shot).at(0.0)).startswith(
        f"0.00 s, skid: 0.0 ft, board {shot.board[0]:.1f}, 17.0 mph, 30"
    )


def test_the_clock_plays_pauses_and_ends() -> None:
    clock = lane.Player()
    clock.play(5.0)
    assert not clock.running  # nothing to play
    clock.load(2.0)
    assert (clock.time, clock.running) == (2.0, False)
    clock.play(10.0)
    assert (clock.time, clock.running) == (0.0, True)
    clock.tick(10.5)
    assert clock.time == 0.5
    clock.rate = 0.1
    clock.tick(11.5)
    assert clock.time == pytest.approx(0.6)
    clock.pause()
    clock.tick(20.0)
    assert clock.time == pytest.approx(0.6)
    clock.play(30.0)
    clock.tick(31.0)
    assert clock.time == pytest.approx(0.7)
    clock.seek(9.0)
    assert (clock.time, clock.running) == (2.0, False)
    clock.seek(-1.0)
    clock.play(40.0)
    clock.tick(99.0)
    assert (clock.time, clock.running) == (2.0, False)


# --- the record's part ----------------------------------------------------------------------------


def test_the_switches_put_release_and_lane_into_the_record(opened: Opened) -> None:
    p = opened("01")
    assert "release" not in p.document.record()
    p.edit("release", "yes")
    p.edit("lane", "yes")
    assert (p.document.record()["release"], p.document.record()["lane"]) == ({}, {})
    assert not p.problems
    p.edit("release.speed", "50")
    assert "release.speed" in p.problems
    p.edit("release.speed", "16.5")
    assert p.job is not None
    assert p.job.release is not None
    assert p.job.release.speed == 16.5
    p.edit("release", "no")
    assert "release" not in p.document.record()


def test_the_table_of_friction_is_a_list_in_the_lanes_order(opened: Opened) -> None:
    p = opened("01")
    p.edit("lane", "yes")
    draft = Draft(p, TABLE)
    for at, friction in (("10", "0.03"), ("40", ".04"), ("30", "0.2")):
        draft.add()
        draft.edit(f"{TABLE}.*.at", at)
        draft.edit(f"{TABLE}.*.friction", friction)
    assert not draft.sound
    assert draft.name == "Table row 3"
    assert "does not come after" in next(iter(draft.problems.values()))
    assert not draft.take()
    draft.move(-1)
    assert draft.sound
    assert draft.cells(1) == ("2", "30", "0.2")
    assert draft.take()
    assert p.document.record()["lane"]["table"] == [
        {"at": 10, "friction": 0.03},
        {"at": 30, "friction": 0.2},
        {"at": 40, "friction": 0.04},
    ]
    assert p.job is not None
    assert p.job.lane is not None
    assert [row.at for row in p.job.lane.table] == [10.0, 30.0, 40.0]
    assert summary(TABLE, p.entry(TABLE)) == "3 table rows"
    p.undo()
    assert "table" not in p.document.record()["lane"]


def test_a_row_of_the_table_is_judged_although_the_rest_is_unfinished(presenter: Presenter) -> None:
    presenter.edit("lane", "yes")
    draft = Draft(presenter, TABLE)
    draft.add()
    draft.edit(f"{TABLE}.*.at", "70")
    draft.edit(f"{TABLE}.*.friction", "0.1")
    assert not draft.sound
    draft.edit(f"{TABLE}.*.at", "60")
    assert draft.sound
    assert draft.take()
    assert json.loads(presenter.entry(TABLE)) == [{"at": 60, "friction": 0.1}]
