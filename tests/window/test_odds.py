"""The chance of an illegal ball beside the outcome, on a real display."""

import time

from gui.state import odds


def shown(window):
    return str(window.odds.cget("text"))


def test_the_chance_follows_an_edit_and_is_never_of_another_plan(odds_drawn, sample, hands, pump):
    pump(lambda: sample.presenter.odds, "the chance")
    assert shown(sample) == sample.presenter.odds.text
    assert "%" in shown(sample)
    assert sample.presenter.odds.words in sample._odds_words()
    sample.form.show_field("bowler.pap.over")
    field = sample.form.rows["bowler.pap.over"].inputs[0]
    hands.write(field, "4 7/8")
    assert shown(sample) == odds.WAITING
    pump(lambda: sample.presenter.odds, "the chance again")
    assert "%" in shown(sample)
    hands.write(field, "nowhere")
    # it goes with the plan that it is of, once the typist rests
    pump(lambda: sample.presenter.stale, "the rest")
    assert shown(sample) == ""


def test_nothing_is_worked_out_while_a_mark_is_dragged(odds_drawn, sample, pump, where):
    pump(lambda: sample.presenter.odds, "the chance")
    ball = sample.ball
    x, y = where(sample, "pin")
    ball.widget.event_generate("<Button-1>", x=x, y=y)
    ball.widget.event_generate("<B1-Motion>", x=x + 9, y=y + 5)
    end = time.monotonic() + 0.7
    while time.monotonic() < end:
        sample.update()
        assert shown(sample) == odds.WAITING
        assert sample.presenter._odds_work is None
    ball.widget.event_generate("<ButtonRelease-1>", x=x + 9, y=y + 5)
    pump(lambda: sample.presenter.odds, "the chance after the drag")
    assert "%" in shown(sample)
    assert not sample._working


def test_the_chance_is_readable_where_there_is_little_room(odds_drawn, sample, pump):
    pump(lambda: sample.presenter.odds, "the chance")
    sample.geometry("1024x670")
    pump(lambda: sample.winfo_width() == 1024, "the narrow window")
    pump(lambda: sample.odds.winfo_width() >= sample.odds.winfo_reqwidth() - 1, "room for it")
    pump(lambda: not sample._words["Compare"].winfo_ismapped(), "the word to give way")
    sample.geometry("1366x768")
    pump(lambda: str(sample._words["Compare"].cget("text")) == "Compare", "the word again")
