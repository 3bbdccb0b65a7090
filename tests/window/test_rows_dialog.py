"""The dialogs of vents and old holes, and the one that plugs a ball, on a real display."""

import json

import pytest

from gui.state.commands import command
from gui.state.fields import LISTS
from gui.views.rows_dialog import RedrillDialog, RowsDialog

VENTS, HOLES, TABLE = "extra_holes.vents", "history.holes", "lane.table"


@pytest.fixture
def odd_window(open_window, odd, tmp_path):
    path = tmp_path / "job.json"
    path.write_text(json.dumps(odd), encoding="utf-8")
    return open_window(path)


@pytest.fixture
def dialog(odd_window, hands, pump):
    """Opens the dialog of a list by the button in the form."""

    def run(path):
        if path == TABLE:
            odd_window.presenter.edit("lane", "yes")
        odd_window.form.show_field(path)
        hands.press(odd_window.form.rows[path].inputs[0])
        found = odd_window.dialog
        assert isinstance(found, RowsDialog)
        pump(found.winfo_viewable, "the dialog")
        found.focus_lastfor().focus_force()
        pump(lambda: found.focus_get() is not None, "the keyboard")
        return found

    return run


def field(dialog, name):
    return dialog.rows[f"{dialog.draft.path}.*.{name}"]


def names(dialog):
    return [str(dialog.tree.set(i, "name")) for i in dialog.tree.get_children()]


def test_the_form_tells_lists_in_a_few_words(odd_window, hands):
    rows = odd_window.form.rows
    assert str(rows[VENTS].label.cget("text")) == "1 vent"
    assert str(rows[HOLES].label.cget("text")) == "2 old holes, 1 plugged"
    odd_window.presenter.edit(HOLES, "")
    assert str(rows[HOLES].label.cget("text")) == "no old holes"
    odd_window.presenter.undo()
    assert str(rows[HOLES].label.cget("text")) == "2 old holes, 1 plugged"
    # what is wrong with a list is said below it, and F8 finds it
    odd_window.presenter.edit("bowler.grip.thumb.depth", "1")
    hands.key(odd_window, "F8")
    assert odd_window.focus_lastfor() is rows[VENTS].inputs[0]
    assert rows[VENTS].words_shown.startswith(
        "Vent 1, Meets it at: 2 in is below the thumb hole's bottom"
    )
    assert rows[VENTS].message.winfo_viewable()


def test_a_row_is_added_typed_and_taken_as_one_step_of_undo(odd_window, dialog, hands, pump):
    p = odd_window.presenter
    before = dict(p.entries)
    shown = dialog(HOLES)
    hands.press(shown.buttons["add"])
    assert names(shown) == ["old thumb", "", "old open"]
    pump(lambda: shown.focus_get() is field(shown, "name").inputs[0], "the keyboard in the new row")
    for name, text in (
        ("name", "old ring"), ("from_pin", "4 3/8"), ("bearing", "-30"), ("diameter", "25.4 mm"),
        ("depth", "2 1/2"), ("plug.density", "1.2"),
    ):  # fmt: skip
        hands.write(field(shown, name).inputs[0], text)
    assert shown.tree.item("1", "values") == (
        "2", "old ring", "4 3/8", "-30", "25.4 mm", "2 1/2", "1.2, whole",
    )  # fmt: skip
    assert dict(p.entries) == before
    hands.press(shown.buttons["ok"])
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    assert p.document.record()["history"]["holes"][1] == {
        "name": "old ring",
        "from_pin": "4 3/8",
        "bearing": -30,
        "diameter": "25.4 mm",
        "depth": "2 1/2",
        "plug": {"density": 1.2},
    }
    assert not p.problems
    assert odd_window.focus_lastfor() is odd_window.form.rows[HOLES].inputs[0]
    hands.key(odd_window, "Control-z")
    assert dict(p.entries) == before
    hands.key(odd_window, "Control-y")
    assert [h.name for h in p.plan.old_holes] == ["old thumb", "old ring", "old open"]


def test_a_dialog_that_is_given_up_changes_nothing(odd_window, dialog, hands, pump):
    p = odd_window.presenter
    before = dict(p.entries)
    for way in ("cancel", "Escape"):
        shown = dialog(HOLES)
        hands.write(field(shown, "depth").inputs[0], "1")
        hands.press(shown.buttons["down"])
        hands.press(shown.buttons["remove"])
        assert names(shown) == ["old open"]
        if way == "cancel":
            hands.press(shown.buttons["cancel"])
        else:
            hands.key(field(shown, "depth").inputs[0], "Escape")
        pump(lambda shown=shown: not shown.winfo_exists(), "the dialog to go")
        assert dict(p.entries) == before
        assert not p.document.can_undo
        assert not p.document.dirty


def test_bad_input_is_told_beside_its_field_and_keeps_the_dialog(odd_window, dialog, hands, pump):
    p = odd_window.presenter
    before = dict(p.entries)
    shown = dialog(HOLES)
    row = field(shown, "depth")
    hands.write(row.inputs[0], "9")
    pump(row.message.winfo_viewable, "the message")
    assert str(row.message.cget("text")) == "✗ 9 in is outside 0 to 6 in."
    assert row.message.winfo_rooty() >= row.inputs[0].winfo_rooty()
    assert str(shown.tree.set("0", "number")) == "1 •"
    # from another row it is told below, and OK goes back to it
    hands.key(shown.tree, "Down")
    assert shown.draft.selected == 1
    assert not row.words_shown
    assert str(shown.problem.cget("text")) == "✗ Old hole 1, Depth: 9 in is outside 0 to 6 in."
    hands.press(shown.buttons["ok"])
    assert shown.winfo_exists()
    assert shown.draft.selected == 0
    assert shown.tree.selection() == ("0",)
    assert shown.focus_lastfor() is row.inputs[0]
    assert row.words_shown == "9 in is outside 0 to 6 in."
    assert dict(p.entries) == before
    hands.write(row.inputs[0], "2")
    assert not row.words_shown
    hands.press(shown.buttons["ok"])
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    assert p.document.record()["history"]["holes"][0]["depth"] == 2


def test_rows_move_by_button_and_by_letter(odd_window, dialog, hands, pump):
    shown = dialog(HOLES)
    assert shown.buttons["up"].instate(["disabled"])
    hands.press(shown.buttons["down"])
    assert names(shown) == ["old open", "old thumb"]
    assert shown.tree.selection() == ("1",)
    assert field(shown, "name").text == "old thumb"
    assert shown.buttons["down"].instate(["disabled"])
    hands.key(shown.tree, "Alt-u")
    assert names(shown) == ["old thumb", "old open"]
    hands.key(shown.tree, "Alt-d", "Alt-o")
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    told = odd_window.presenter.document.record()["history"]["holes"]
    assert [hole["name"] for hole in told] == ["old open", "old thumb"]


def test_a_switch_shows_and_hides_the_plugs_fields(dialog, hands):
    shown = dialog(HOLES)
    assert field(shown, "plug.density").inputs[0].winfo_viewable()
    hands.focus(field(shown, "plug").inputs[0])
    hands.key(field(shown, "plug").inputs[0], "space")
    assert not field(shown, "plug.density").inputs[0].winfo_viewable()
    assert str(shown.tree.set("0", "plug")) == "left open"
    hands.key(shown.tree, "Delete", "Delete")
    assert shown.tree.get_children() == ()
    assert not field(shown, "name").inputs[0].winfo_viewable()
    assert shown.buttons["remove"].instate(["disabled"])


def test_vents_are_chosen_and_typed(odd_window, dialog, hands, pump):
    shown = dialog(VENTS)
    assert "up" not in shown.buttons
    hands.choose(field(shown, "hole").inputs[0], "ring finger")
    row = field(shown, "meets")
    pump(lambda: row.words_shown, "the refusal")
    assert (
        row.words_shown
        == "2 in is below the ring hole's bottom; possible: up to 1.5 in, its depth."
    )
    hands.write(row.inputs[0], "1")
    hands.write(field(shown, "over").inputs[0], "2")
    hands.choose(field(shown, "up").inputs[1], "up")
    hands.key(row.inputs[0], "Alt-o")
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    assert odd_window.presenter.document.record()["extra_holes"]["vents"] == [
        {"hole": "ring", "over": 2, "up": "2 1/2", "diameter": "1/4", "meets": 1}
    ]
    assert odd_window.presenter.plan.extra_holes[0].into == "ring"


def test_every_field_of_a_row_has_its_help(odd_window, dialog, hands, pump):
    for path in sorted(LISTS):
        odd_window.presenter.edit(path, "")
        shown = dialog(path)
        assert shown.focus_lastfor() is shown.buttons["add"]
        hands.key(shown.buttons["add"], "Return")
        pump(lambda shown=shown: shown.draft.rows, "the row")
        for row in shown.rows.values():
            if row.visible:
                hands.focus(row.inputs[0])
                assert len(shown.help.of(row.inputs[0])) > 40
                assert str(shown.problem.cget("text")).startswith(row.field.label)
        first = next(iter(shown.rows.values())).inputs[0]
        hands.key(first, "F1")
        reader = next(w for w in shown.winfo_children() if hasattr(w, "view"))
        assert shown.help.of(first) in reader.view.content
        hands.key(reader.view.text, "Escape")
        assert not reader.winfo_exists()
        assert shown.grab_current() is shown
        hands.press(shown.buttons["cancel"])
        pump(lambda shown=shown: not shown.winfo_exists(), "the dialog to go")


def cut_off(dialog):
    found = []

    def look(widget):
        for child in widget.winfo_children():
            if child.winfo_class() == "Toplevel" or not child.winfo_viewable():
                continue
            kind = child.winfo_class()
            if kind in ("TLabel", "TButton", "TCheckbutton"):
                lacks = child.winfo_reqwidth() > child.winfo_width() + 1
                if lacks or child.winfo_reqheight() > child.winfo_height() + 1:
                    found.append((str(child), str(child.cget("text"))))
            look(child)

    look(dialog)
    return found


def test_nothing_of_form_and_dialogs_is_cut_off(odd_window, scaled, pump, hands):
    for size in ("1024x670", "1590x1150"):
        if size == "1590x1150":
            scaled(2.0)
            odd_window.refresh()
        odd_window.geometry(size)
        width, height = map(int, size.split("x"))
        pump(
            lambda: (odd_window.winfo_width(), odd_window.winfo_height()) == (width, height),  # noqa: B023
            "the size",
        )
        for group in ("grip", "ball"):
            odd_window.form.show_group(group)
            odd_window.update()
            assert cut_off(odd_window.form.pages[group]) == []
        nothing_of_a_dialog_is_cut_off(odd_window, pump, hands, 1024 if width == 1024 else 1600)


def nothing_of_a_dialog_is_cut_off(odd_window, pump, hands, wide):
    for path in (*sorted(LISTS), ""):
        if path:
            odd_window.change_list(path)
            odd_window.dialog.draft.add()
            odd_window.dialog.take()  # every message that there can be at once
        else:
            odd_window.redrill()
            odd_window.dialog.value.set("9")
        shown = odd_window.dialog
        pump(shown.winfo_viewable, "the dialog")
        shown.update()
        assert cut_off(shown) == []
        assert shown.winfo_width() <= wide
        assert shown.winfo_rootx() >= 0
        assert shown.winfo_rootx() + shown.winfo_width() <= 1600
        hands.key(shown, "Escape")
        pump(lambda shown=shown: not shown.winfo_exists(), "the dialog to go")


def test_menu_and_form_open_the_same_dialogs(odd_window, hands, pump):
    odd_window.presenter.edit("lane", "yes")
    for path in LISTS:
        odd_window.run(command(f"list_{path}"))
        shown = odd_window.dialog
        assert shown.draft.path == path
        pump(shown.winfo_viewable, "the dialog")
        hands.key(shown.tree, "Escape")
        assert not shown.winfo_exists()


def test_the_holes_page_shows_the_oval_the_extra_and_the_old_holes(odd_window):
    odd_window.readings.select(2)
    odd_window.update()
    text = odd_window.readings.holes.content
    for words in ("The oval thumb hole", "thumb vent", "inspection", "old thumb", "none: open"):
        assert words in text
    odd_window.presenter.edit("bowler.grip.thumb.oval", "no")
    assert "The oval thumb hole" not in odd_window.readings.holes.content


# --- plugging and drilling anew -------------------------------------------------------------------


def test_a_ball_is_plugged_to_be_redrilled(odd_window, hands, pump):
    p = odd_window.presenter
    path = p.document.path
    odd_window.run(command("redrill"))
    shown = odd_window.dialog
    assert isinstance(shown, RedrillDialog)
    pump(shown.winfo_viewable, "the dialog")
    assert shown.input.get() == "1.15"
    hands.write(shown.input, "7")
    assert str(shown.message.cget("text")) == "✗ 7 g/cm3 is outside 0.1 to 5 g/cm3."
    hands.press(shown.buttons["redrill"])
    assert shown.winfo_exists()
    assert p.document.path == path
    hands.write(shown.input, "1.2")
    assert str(shown.message.cget("text")) == ""
    hands.press(shown.buttons["redrill"])
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    assert p.document.path is None
    assert odd_window.title() == "*redrill of job.json - layoutkit"
    assert p.plan.old_holes[-1].plug_density == 1.2
    label = odd_window.form.rows[HOLES].label
    assert str(label.cget("text")) == "8 old holes, 7 plugged"
    assert str(odd_window.form.rows[VENTS].label.cget("text")) == "no vents"
    # closing asks first: the new job is in no file
    odd_window.close()
    hands.press(odd_window.dialog.buttons["cancel"])


def test_redrilling_asks_about_unsaved_changes_and_can_be_given_up(odd_window, hands, pump):
    p = odd_window.presenter
    p.edit("title", "changed")
    before = dict(p.entries)
    odd_window.run(command("redrill"))
    hands.press(odd_window.dialog.buttons["discard"])
    shown = odd_window.dialog
    assert isinstance(shown, RedrillDialog)
    pump(shown.winfo_viewable, "the dialog")
    hands.key(shown.input, "Escape")
    pump(lambda: not shown.winfo_exists(), "the dialog to go")
    assert dict(p.entries) == before
    assert p.document.can_undo
    # of a record that makes no plan there is nothing to plug
    p.edit("ball.weight", "x")
    assert not command("redrill").enabled(p)
