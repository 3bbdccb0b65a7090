"""The press view, walked through with keys and the pointer alone."""

import pytest


@pytest.fixture
def press(sample, person, pump):
    person.keys("F11")
    pump(lambda: sample.press is not None and sample.press.winfo_viewable(), "the press view")
    sample.press.geometry("1366x768+0+0")
    pump(lambda: sample.press.ball.radius and sample.press.winfo_width() == 1366, "its ball")
    return sample.press


def shown(press):
    """What can be read as a figure, in order."""
    labels = press.table.grid_slaves() if press.table.winfo_ismapped() else []
    return [str(each.cget("text")) for each in reversed(labels)]


def test_a_trainee_walks_through_every_mark_and_cut(press, sample, person, pump):
    high = press.winfo_height()
    pump(lambda: abs(2.0 * press.ball.radius - 0.8 * high) < 2.0, "a ball of 80 % of the height")
    # of 13.5 points: a label grows with the ball, not with the window's text
    assert press.ball.text > 1.2 * sample.style.text
    assert str(press.title_label.cget("text")) == "Mark the PAP"
    assert shown(press) == [
        "swing counter-clockwise", "50°", "measure from the pin", "4 1/2 in",
    ]  # fmt: skip
    titles = []
    for i in range(len(press.progress.slides)):
        titles.append(str(press.title_label.cget("text")))
        if i % 2:
            person.click(press.box)
        else:
            person.keys("Return")
        assert str(press.count.cget("text")) == f"{i + 1} of 17, {i + 1} done"
        for part in (press.count, press.title_label, press.words, press.box, press.hint):
            assert part.winfo_rootx() + part.winfo_width() <= press.winfo_rootx() + 1366
            assert part.winfo_rooty() + part.winfo_height() <= press.winfo_rooty() + high
            assert part.winfo_reqheight() <= part.winfo_height() + 1
        person.keys("space")
    assert titles[5:11] == [
        "Mark the ring", "Measure the middle", "Measure the ring", "Measure the thumb",
        "Measure the spans", "Bore middle",
    ]  # fmt: skip
    assert titles[-1] == "Finish thumb"
    assert "1 3/8 in" not in shown(press)
    assert "1 in" in shown(press)
    person.keys("BackSpace", "BackSpace")
    assert str(press.title_label.cget("text")) == titles[-3]
    # the main window stays in use: what follows a changed mark is to be done again
    person.click(sample.layout_strip.inputs["pin_to_pap"])
    person.keys("Control-a")
    person.write("4 1/4")
    person.keys("Return")
    pump(lambda: "done before must be done again" in str(press.warning.cget("text")), "the word")
    assert not press.progress.done
    strip = sample.layout_strip.inputs["pin_to_pap"]
    person.keys("F11", "Escape")
    assert sample.press is not None
    assert not sample.press.winfo_exists()
    pump(lambda: sample.focus_get() is strip, "the keyboard where it was")


def test_what_is_done_is_kept_while_the_view_is_closed_but_not_for_another_job(
    press, sample, hands, pump
):
    hands.key(press, "Return", "space", "Return", "Escape")
    hands.key(sample, "F11")
    pump(lambda: sample.press.winfo_exists(), "the press view again")
    assert sample.press.progress.done == {0, 1}
    hands.key(sample.press, "Escape")
    sample.presenter.new()
    assert sample.presenter.plan is None
    hands.key(sample, "F11")  # nothing to work by
    assert not sample.press.winfo_exists()
    assert not sample._bench.done


def test_what_speaks_against_drilling_comes_first(press, sample, hands, pump):
    sample.presenter.edit("bowler.grip.bridge", "0")
    sample.presenter.edit("ball.serial", "")
    pump(lambda: "Stop: FAIL" in str(press.title_label.cget("text")), "the stop")
    said = str(press.words.cget("text"))
    assert "Serial number missing." in said
    assert "The bridge is 0 in" in said
    hands.key(press, "Return", "space")
    assert str(press.title_label.cget("text")) == "Mark the PAP"
