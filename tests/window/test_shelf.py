"""The dialog with the balls on the shelf, on a real display."""

import threading
from pathlib import Path

import pytest

from gui.state.commands import command
from gui.state.shelf import ranked

TABLE = Path(__file__).parents[2] / "sample_bowlers" / "shelf.csv"


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "balls.csv"
    bad = "Too heavy,X1,8.55,50,2,3,,,,,\n"
    path.write_text(TABLE.read_text(encoding="utf-8") + bad, encoding="utf-8")
    return path


@pytest.fixture
def dialog(sample, pump, chosen, table):
    chosen(table)
    sample.run(command("shelf"))
    found = sample.dialog
    pump(lambda: found.rows and found.winfo_viewable(), "the ranking")
    return found


def shown(dialog):
    return [dialog.table.item(name, "values") for name in dialog.table.get_children()]


def test_the_balls_stand_in_their_order_with_their_reasons(sample, dialog, pump):
    assert [cells[1] for cells in shown(dialog)] == [row.cells[1] for row in dialog.rows]
    assert shown(dialog)[0][0] == "1."
    assert dialog.table.selection() == ("0",)  # the best one, ready to take
    assert dialog.reasons.content == dialog.rows[0].words
    assert dialog.winfo_width() <= 1024
    last = str(len(dialog.rows) - 1)
    dialog.table.selection_set(last)
    pump(lambda: "ball.weight" in dialog.reasons.content, "what is wrong with the row")
    assert dialog.buttons["take"].instate(["disabled"])
    dialog.take()
    assert not sample.presenter.document.can_undo
    sample.presenter.set_units("metric")
    assert shown(dialog)[0][7].endswith("kg")
    assert dialog.table.selection() == (last,)


def test_the_keyboard_goes_to_the_table_when_the_progress_has_had_it(
    sample, dialog, pump, monkeypatch
):
    # away from all windows, so that the server gives none of them the keyboard for the pointer's sake
    sample.event_generate("<Motion>", warp=True, x=-sample.winfo_rootx(), y=-sample.winfo_rooty())
    go_on = threading.Event()

    def slowly(job, path):
        go_on.wait(20.0)
        return ranked(job, path)

    monkeypatch.setattr("gui.views.shelf_dialog.ranked", slowly)
    dialog.again()
    progress = dialog.progress
    progress.focus_force()
    pump(lambda: progress.focus_displayof() is progress, "the keyboard in the progress")
    go_on.set()
    pump(lambda: not progress.winfo_exists(), "the ranking")
    pump(lambda: dialog.table.focus_displayof() is dialog.table, "the keyboard in the table")


def test_a_ball_is_taken_by_the_keyboard_and_undo_brings_the_old_one(sample, dialog, hands, pump):
    p = sample.presenter
    before = dict(p.entries)
    pump(lambda: dialog.table.focus_displayof() is dialog.table, "the keyboard in the table")
    hands.key(dialog.table, "Down")
    pump(lambda: dialog.table.selection() == ("1",), "the second ball")
    hands.key(dialog.table, "Return")
    assert p.document.record()["ball"]["name"] == dialog.rows[1].cells[1]
    assert not dialog.notice.winfo_ismapped()  # still the same layout
    assert dialog.winfo_exists()
    p.undo()
    assert dict(p.entries) == before
    hands.press(dialog.buttons["take"])
    assert p.document.record()["ball"]["name"] == dialog.rows[1].cells[1]
    hands.key(dialog.table, "Escape")
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")
    p.undo()  # no longer reaches it


def test_another_layout_makes_the_ranking_old_until_it_is_made_again(sample, dialog, hands, pump):
    sample.presenter.edit("layout.angle_at_pap", "60")
    pump(dialog.notice.winfo_ismapped, "the notice")
    assert "stale" in dialog.table.item("0", "tags")
    old = dialog.ranking
    hands.press(dialog.buttons["again"])
    pump(lambda: dialog.ranking is not old, "the new ranking")
    pump(lambda: not dialog.notice.winfo_ismapped(), "the notice to go")
    assert "stale" not in dialog.table.item("0", "tags")
    sample.presenter.edit("layout.angle_at_pap", "")
    pump(dialog.notice.winfo_ismapped, "the notice")
    hands.press(dialog.buttons["again"])
    assert "Finish the record" in dialog.reasons.content


def test_a_table_that_cannot_be_used_is_told_and_another_can_be_opened(
    sample, dialog, hands, pump, chosen, table, tmp_path
):
    wrong = tmp_path / "wrong.csv"
    wrong.write_text("ball,colour\n", encoding="utf-8")
    chosen(wrong)
    hands.press(dialog.buttons["open"])
    pump(lambda: "no column name" in dialog.reasons.content, "what is wrong")
    assert shown(dialog) == []
    assert dialog.buttons["take"].instate(["disabled"])
    chosen(table)
    hands.press(dialog.buttons["open"])
    pump(lambda: dialog.rows, "the ranking")
    # the table is known the next time
    hands.press(dialog.buttons["close"])
    chosen("")
    sample.run(command("shelf"))
    pump(lambda: sample.dialog is not dialog and sample.dialog.rows, "the ranking again")


def test_headings_are_explained(dialog, pump):
    box = dialog.table.bbox("0", "3")
    pump(lambda: dialog.table.identify_region(box[0] + 5, 5) == "heading", "the headings")
    dialog.table.event_generate("<Motion>", x=box[0] + 5, y=5)
    assert "share of a static limit" in dialog._help()
    dialog.table.event_generate("<Motion>", x=box[0] + 5, y=box[1] + 5)
    assert dialog._help() == ""


def test_nothing_is_ranked_without_a_plan_or_a_table(open_window, sample, chosen, pump):
    chosen("")
    sample.run(command("shelf"))
    assert sample.dialog is None
    window = open_window()
    window.rank_shelf()
    pump(lambda: window.dialog is not None, "the reason")
    assert "Finish the record" in window.dialog.text
