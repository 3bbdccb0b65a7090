"""The shop's book in real windows: saved into and opened from by the keyboard alone."""

from gui.state.commands import command
from gui.views.book_view import BookDialog, SaveDialog


def test_a_job_is_saved_found_opened_deleted_and_brought_back_by_keys(
    sample, pump, hands, tmp_path, monkeypatch
):
    monkeypatch.setenv("LAYOUTKIT_BOOK", str(tmp_path / "data" / "book.sqlite"))
    p = sample.presenter
    p.edit("ball.serial", "AB-77-X")
    sample.run(command("book"))
    assert "There is no book yet" in sample.dialog.message.cget("text")
    hands.key(sample.dialog.box, "Escape")
    sample.run(command("save_in_book"))
    dialog = sample.dialog
    assert isinstance(dialog, SaveDialog)
    # it is about the job that was in the form when it asked
    pump(lambda: dialog.grab_current() is dialog, "the dialog alone to answer")
    hands.key(dialog.buttons["new"], "Return")
    pump(lambda: not dialog.winfo_exists(), "the job to be saved")
    assert p.document.kept.id == 1
    p.new()
    sample.run(command("book"))
    dialog = sample.dialog
    assert isinstance(dialog, BookDialog)
    hands.write(dialog.box, "b-77")
    pump(lambda: len(dialog.desk.rows) == 1, "the job that has this serial")
    pump(lambda: "GRIPS" in dialog.card.content, "the customer's card")
    hands.key(dialog.table, "Delete")
    assert not dialog.desk.rows
    assert "30 days" in dialog.message.cget("text")
    hands.key(dialog.table, "Control-z")
    assert len(dialog.desk.rows) == 1
    hands.key(dialog.box, "Down", "Return")
    pump(lambda: not dialog.winfo_exists(), "the job to be opened")
    assert p.entry("ball.serial") == "AB-77-X"
    assert p.document.name == "job 1 of the book"
    assert not p.document.dirty
