"""Practice in real windows: a mark put on the ball by the pointer and by keys, an answer typed."""

from gui.state.commands import command
from gui.views.practice_view import PracticeDialog


def test_a_mark_is_put_handed_in_worked_and_kept(open_window, pump, hands, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    window = open_window()
    window.run(command("practice"))
    dialog = window.dialog
    assert isinstance(dialog, PracticeDialog)
    desk, ball = dialog.desk, dialog.ball
    pump(lambda: dialog.winfo_viewable() and ball.frames, "the ball")
    desk.ask("pin-by-placement", 3)
    dialog.show_problem()
    pump(lambda: ball.to_ball(0, 0)[0] < -1.0, "the ball of the problem")
    right = next(m.xyz for m in desk.problem.draft.drawn.marks if m.kind == "pin")
    x, y, _ = ball.view.frame @ right / ball.scene.radius
    left, top = ball.to_ball(0, 0)
    per_pixel = ball.to_ball(1, 0)[0] - left
    at = {"x": round((x - left) / per_pixel), "y": round((top - y) / per_pixel)}
    ball.widget.event_generate("<Button-1>", **at)
    ball.widget.event_generate("<ButtonRelease-1>", **at)
    assert "square to it" in dialog.rule.cget("text")
    before = desk.point
    hands.key(ball.widget, "Right")
    assert desk.point != before
    hands.key(ball.widget, "Left")
    hands.key(ball.widget, "Return")
    assert desk.marked.score == "full"
    hands.key(dialog.buttons["next"], "Alt-Right")
    assert "▸" in dialog.text.content
    hands.key(dialog.buttons["next"], "Return")
    assert desk.problem is None
    desk.ask("pin-to-pap", 7)
    dialog.show_problem()
    hands.write(dialog.box, "no")
    hands.key(dialog.box, "Return")
    assert "✗" in dialog.message.cget("text")
    hands.write(dialog.box, "9")
    hands.key(dialog.box, "Return")
    assert desk.marked.score == "none"
    desk.ask("holes-meet", 1)
    dialog.show_problem()
    place = desk.problem.draft.asked.choices.index(desk.problem.draft.right)
    dialog.choices[place].invoke()
    assert desk.marked.score == "full"
    assert len(desk.log.answers) == 3
    # a name that is typed counts also without Return; Escape takes it back
    hands.write(dialog.trainee, "Nobody")
    hands.key(dialog.trainee, "Escape")
    assert dialog.trainee.get() == desk.trainee == "trainee"
    hands.write(dialog.trainee, "Demo Trainee")
    hands.focus(dialog.box)
    assert desk.trainee == "Demo Trainee"
    dialog.leave()
