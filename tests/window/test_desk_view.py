"""The check-in desk in real windows, by the keyboard alone."""

from gui.state.commands import command
from gui.views.desk_view import ColumnsDialog, DeskDialog


def test_a_ball_is_keyed_judged_corrected_and_found_by_keys(
    open_window, pump, hands, chosen, tmp_path
):
    window = open_window()
    window.run(command("desk"))
    dialog = window.dialog
    assert isinstance(dialog, DeskDialog)
    pump(lambda: dialog.focus_get() is dialog.entries["owner"], "the first field")
    hands.write(dialog.entries["owner"], "Demo")
    hands.key(dialog.entries["owner"], "Return", "Return")
    pump(lambda: dialog.focus_get() is dialog.entries["serial"], "the serial's field")
    for name, text in (("serial", "a1"), ("gross", "15"), ("top", "1"), ("side", "3.5")):
        hands.write(dialog.entries[name], text)
    assert "FAIL: side 3.50 oz" in dialog.headline.cget("text")
    hands.write(dialog.entries["finger"], "0")
    hands.key(dialog.entries["finger"], "F3", "Return")
    assert dialog.desk.listed[0].texts["thumb"] == "yes"
    pump(lambda: dialog.focus_get() is dialog.entries["owner"], "the next ball")
    assert dialog.texts["number"].get() == "2"
    hands.key(dialog.entries["owner"], "Up")
    hands.write(dialog.entries["side"], ".5")
    assert "PASS" in dialog.headline.cget("text")
    hands.key(dialog.entries["side"], "Control-z")
    assert dialog.texts["side"].get() == "3.5"
    hands.key(dialog.entries["side"], "Escape")
    hands.write(dialog.box, "A-1")
    hands.key(dialog.box, "Return")
    assert dialog.desk.at == 0
    path = tmp_path / "balls.csv"
    path.write_text("Ser.,Wt,top,side,finger\nB2,15,1,0,0\n")
    chosen(path)
    dialog.open_table()
    (asked,) = [each for each in dialog.winfo_children() if isinstance(each, ColumnsDialog)]
    asked.boxes["Ser."][0].set("serial")
    asked.take()
    assert "gross" in asked.message.cget("text")
    asked.boxes["Wt"][0].set("gross")
    hands.key(asked.boxes["Wt"][0], "Alt-a")
    assert len(dialog.table.get_children()) == 2
    pump(lambda: dialog.tally.cget("text").startswith("2 balls"), "the tally")
    hands.key(dialog.entries["owner"], "F9")
    assert len(dialog.entries) == 12
    chosen(tmp_path / "out.csv")
    hands.write(dialog.event, "Demo Cup")
    assert dialog.desk.title == "Demo Cup"
    # a scale that cannot be read stays to be corrected, and nothing is written by another one
    hands.focus(dialog.scale)
    dialog.scale.insert("end", "arm=x")
    dialog.write_csv()
    assert not (tmp_path / "out.csv").exists()
    assert dialog.scale.get() == "arm=x"
    assert "✗" in dialog.message.cget("text")
    dialog.scale.delete(0, "end")
    window.run(command("desk"))  # there is one
    assert window.dialog is dialog
    dialog.write_csv()
    assert (tmp_path / "out.csv").read_text("utf-8-sig").count("\n") == 3
    dialog.leave()
