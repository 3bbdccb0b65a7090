"""The dialog that finds the PAP from the track, on a real display."""

from pathlib import Path

import numpy as np
import pytest

from gui.state.commands import command

TRACK = Path(__file__).parents[2] / "sample_bowlers" / "track.txt"
MARKS = "-5 1/16, 4 11/16\n-3 1/8, 2 1/16\n-2 9/16, -3\n-3 1/16, -5 3/16\n"


@pytest.fixture
def dialog(sample, pump):
    sample.run(command("axis"))
    found = sample.dialog
    pump(lambda: found.frames and found.winfo_viewable(), "the dialog")
    return found


def test_typed_marks_become_the_bowlers_pap_and_undo_takes_it_back(sample, dialog, hands, pump):
    before = dict(sample.presenter.entries)
    assert dialog.buttons["take"].instate(["disabled"])
    assert "No marks yet" in dialog.findings.text.get("1.0", "end")
    hands.focus(dialog.marks)
    dialog.marks.event_generate("<<SelectAll>>")
    dialog.marks.event_generate("<BackSpace>")
    for letter in "-3 1/8, 2":
        name = {" ": "space", "/": "slash", ",": "comma", "-": "minus"}.get(letter, letter)
        dialog.marks.event_generate(f"<Key-{name}>")
    pump(lambda: "only 1 mark" in dialog.findings.text.get("1.0", "end"), "the refusal")
    dialog.marks.insert("end", "\n" + MARKS.replace("-3 1/8, 2 1/16\n", ""))
    pump(lambda: dialog.found.fit is not None, "the fit")
    assert "in over" in dialog.findings.text.get("1.0", "end")
    hands.press(dialog.buttons["take"])
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")
    p = sample.presenter
    assert p.document.record()["bowler"]["pap"] == {"over": "4 7/8", "up": "1/2"}
    assert p.document.undo_name == "PAP from the track"
    p.undo()
    assert dict(p.entries) == before


def test_a_track_file_is_opened_and_drawn_and_the_ball_turns(sample, dialog, hands, pump, chosen):
    chosen(TRACK)
    frames = dialog.frames
    hands.press(dialog.buttons["open"])
    pump(lambda: dialog.found.fit is not None and dialog.frames > frames, "the ring")
    assert "Ring second" in dialog.findings.text.get("1.0", "end")
    # something coloured is painted, and it moves with the ball
    one = np.array(dialog._canvas.buffer_rgba())
    assert (np.ptp(one[..., :3].astype(int), axis=-1) > 60).sum() > 200
    frames = dialog.frames
    hands.drag(dialog.ball, [(100, 100), (160, 120)])
    pump(lambda: dialog.frames > frames, "another view")
    assert (np.array(dialog._canvas.buffer_rgba()) != one).any()
    # what was typed is there again the next time
    hands.press(dialog.buttons["close"])
    sample.run(command("axis"))
    assert sample.dialog.found.fit is not None
    pump(lambda: sample.dialog.frames, "the ball again")
    # but another bowler's PAP does not follow from it
    sample.dialog.leave()
    sample.presenter.new()
    sample.run(command("axis"))
    assert sample.dialog.found.fit is None


def test_keys_close_the_dialog_and_tab_leaves_the_marks(sample, dialog, hands, pump):
    hands.key(dialog.marks, "Tab")
    pump(lambda: dialog.focus_get() is not dialog.marks, "the keyboard elsewhere")
    hands.key(dialog.marks, "Escape")
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")
    # a change of the record no longer reaches it
    sample.presenter.edit("bowler.name", "Another")
