"""What a person does with form, files and help, and what the window shows, on a real display."""

import gc
import itertools
import json
import threading
import time
from pathlib import Path
from tkinter import font

import pytest

from gui.state.commands import COMMANDS, command
from gui.state.fields import NO, YES, all_fields
from gui.views.ball_view import BallView
from gui.views.dialogs import Reader
from layoutkit.job.store import load_job
from layoutkit.output.icon import SIZES
from layoutkit.output.sheet import sheet_bytes
from layoutkit.output.strips import strips_bytes
from layoutkit.planning.plan import plan
from layoutkit.units import parse_length

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
LAYOUTS = ("angles", "distances", "placement")


def record(window):
    """The record as JSON text, to compare."""
    return json.dumps(window.presenter.document.record(), sort_keys=True)


def other(field, text):
    """Another text that the record accepts in this field."""
    if field.kind == "length":
        if text == "quarter":
            return "6 5/8"
        # a sleeve as long as its bore cannot be longer
        more = -0.1 if field.path.endswith("sleeve.length") else 0.1
        return (
            f"{(parse_length(text) if text else field.limit.nearest(0.125)) * 25.4 + more:.2f} mm"
        )
    if field.kind in ("weight", "ounces", "density", "angle"):
        usual = 118.0 if field.kind == "angle" else 1.0
        weight = field.kind == "weight"
        return "15 lb 2.5 oz" if weight else f"{float(text or usual) + 0.01:.2f}"
    return "2026-12-01" if field.kind == "date" else "Typed 1/2, by hand."


def test_what_would_act_in_a_records_text_is_shown_and_does_not(open_window, tmp_path, pump):
    acting = "a\u202eb"
    job = json.loads(SAMPLES[12].read_text(encoding="utf-8"))
    job["history"]["holes"][0]["name"] = acting
    path = tmp_path / f"{acting}.json"
    path.write_text(json.dumps(job), encoding="utf-8")
    window = open_window(path)
    shown = r"a\u202eb"
    assert shown in window.title()
    assert acting not in window.title()
    window.readings.select(window.readings.holes)
    pump(lambda: shown in window.readings.holes.content, "the old hole's name")
    assert acting not in window.readings.holes.content


def test_form_is_there_before_the_figure_is_made(app, pump, monkeypatch):
    seen = []
    build = BallView.build

    def watched(ball):
        seen.append(ball.winfo_toplevel().form.rows["bowler.name"].inputs[0].winfo_viewable())
        build(ball)

    monkeypatch.setattr(BallView, "build", watched)
    window = app.open_window()
    pump(lambda: window.ball.frames, "the ball")
    assert seen == [1]
    # the keyboard waits in the first field
    assert window.focus_lastfor() is window.form.rows["bowler.name"].inputs[0]


# --- fields ---------------------------------------------------------------------------------------


def some_of_each_kind():
    """A fifth of all fields, and of each kind at least the first."""
    kinds = {}
    for field in all_fields():
        # what changes a list, two readings, and boxes to tick have tests of their own
        if field.kind not in ("rows", "readings", "digits"):
            kinds.setdefault(field.kind, []).append(field)
    return [field for fields in kinds.values() for field in fields[::5]]


def test_typing_into_fields_of_each_kind_and_taking_it_back(sample, hands, pump):
    for by in LAYOUTS:
        sample.form.show_field("layout.by")
        hands.choose(sample.form.rows["layout.by"].inputs[0], by)
        assert not sample.presenter.problems
        layout = [f for f in all_fields() if f.group == "layout"]
        typed = typed_and_taken_back(
            sample, hands, pump, some_of_each_kind() if by == "angles" else layout
        )
        assert typed >= (10 if by == "angles" else 3)


def typed_and_taken_back(sample, hands, pump, fields):
    """Type into those of the fields that are shown; how many these are."""
    typed = 0
    for field in fields:
        if field.kind in ("rows", "readings", "digits"):
            continue
        if not field.shown(sample.presenter.entries):
            continue
        row, before = sample.form.rows[field.path], record(sample)
        sample.form.show_field(field.path)
        pump(row.inputs[0].winfo_viewable, field.path)
        old = sample.presenter.entry(field.path)
        if field.kind == "switch":
            new = NO if (old or NO) == YES else YES
            hands.focus(row.inputs[0])
            hands.key(row.inputs[0], "space")
        elif field.kind == "choice":
            if len(field.options) == 1 or field.path == "layout.by":
                continue
            new = next(value for value, _ in field.options if value != old)
            hands.choose(row.inputs[0], dict(field.options)[new])
        else:
            new = other(field, old)
            hands.write(row.inputs[0], new)
        typed += 1
        assert row.text == new, field.path
        assert sample.presenter.entry(field.path) == new, field.path
        assert field.path not in sample.presenter.problems, field.path
        assert record(sample) != before, field.path
        hands.key(row.inputs[0], "Control-z")
        assert record(sample) == before, field.path
        assert row.text == (old or (NO if field.kind == "switch" else "")), field.path
    return typed


def test_directions_are_chosen_beside_the_number(sample, hands):
    row = sample.form.rows["bowler.pap.up"]
    hands.choose(row.inputs[1], "down")
    assert sample.presenter.document.record()["bowler"]["pap"] == {"over": "5", "down": "1/2"}
    assert sample.presenter.plan.marks.pap.up == pytest.approx(-0.5, abs=1e-12)


def test_every_choice_shows_its_whole_text(sample, scaled):
    for scaling in (4 / 3, 2.0):
        scaled(scaling)
        sample.refresh()
        every_choice_shows_its_whole_text(sample)


def every_choice_shows_its_whole_text(sample):
    for path, row in sample.form.rows.items():
        for box in row.inputs:
            if box.winfo_class() != "TCombobox":
                continue
            sample.form.show_field(path)
            if not box.winfo_ismapped():
                continue
            before = box.get()
            for text in box.cget("values"):
                box.set(text)
                sample.update_idletasks()
                assert box.xview() == (0.0, 1.0), (path, text)
            box.set(before)


def test_letters_stay_as_they_are_typed(sample, hands):
    row = sample.form.rows["layout.pin_to_pap"]
    sample.form.show_field("layout.pin_to_pap")
    seen = []
    row.value.trace_add("write", lambda *_: seen.append(row.value.get()))
    hands.write(row.inputs[0], "4 3/8")
    assert seen[-5:] == ["4", "4 ", "4 3", "4 3/", "4 3/8"]
    assert sample.presenter.plan.layout.pin_to_pap == 4.375


def test_invalid_text_is_told_beside_the_field_and_the_last_plan_stays_pale(
    sample, hands, pump, monkeypatch
):
    monkeypatch.setattr("gui.views.form_view.TYPING_REST", 2000)  # for slow machines
    row = sample.form.rows["layout.pin_to_pap"]
    sample.form.show_field("layout.pin_to_pap")
    last, wide = sample.presenter.plan, sample.form.winfo_width()
    hands.write(row.inputs[0], "abc")
    assert not row.message.winfo_viewable()  # let the typist finish
    pump(row.message.winfo_viewable, "the message")
    assert '"abc" is not a length' in str(row.message.cget("text"))
    assert row.message.winfo_rooty() >= row.inputs[0].winfo_rooty()
    assert sample.form.winfo_width() == wide  # a long message is wrapped
    assert cut_off(sample) == []
    assert sample.presenter.plan is last
    pump(lambda: sample.ball._painting.style.stale, "a pale ball")
    assert "Out of date" in str(sample.ball.notice.cget("text"))
    assert sample.ball.notice.winfo_viewable()
    assert "•" in sample.form.tabs.tab(sample.form.pages["layout"], "text")
    tree = sample.readings.numbers.tree
    assert "stale" in tree.item("layout.pin_to_pap", "tags")
    hands.write(row.inputs[0], "4")
    pump(lambda: not row.message.winfo_viewable(), "the message to go")
    pump(lambda: not sample.ball._painting.style.stale, "a fresh ball")
    assert not sample.ball.notice.winfo_viewable()
    assert "•" not in sample.form.tabs.tab(sample.form.pages["layout"], "text")


def test_a_number_that_is_half_typed_changes_nothing_but_its_field(
    sample, person, pump, monkeypatch
):
    monkeypatch.setattr("gui.views.form_view.TYPING_REST", 100_000)  # for slow machines
    p, entry = sample.presenter, sample.form.rows["bowler.pap.over"].inputs[0]

    def seen():
        return (
            str(sample.outcome.cget("text")),
            sample.ball._painting.style.stale,
            sample.ball.notice.winfo_ismapped(),
            sample.form._foot.winfo_ismapped(),
            sample.form.tabs.tab(sample.form.pages["bowler"], "text"),
            sample.form.winfo_width(),
            str(sample.ball.widget.winfo_geometry()),
        )

    before, last = seen(), p.plan
    person.click(entry)
    person.keys("Control-a", "BackSpace")
    for letters in ("4 ", "3/"):
        person.write(letters)
        assert seen() == before, entry.get()
    assert p.sound_plan("drilling") is None
    person.write("4")
    assert seen() == before
    assert p.plan is not last
    assert p.plan.job.bowler.pap.over == 4.75
    # and where the typist stops half way, it is told
    person.keys("BackSpace")
    assert seen() == before
    monkeypatch.setattr("gui.views.form_view.TYPING_REST", 50)
    person.keys("BackSpace")
    pump(lambda: p.stale and "Out of date" in str(sample.outcome.cget("text")), "a word of it")
    pump(sample.form.rows["bowler.pap.over"].message.winfo_viewable, "the message")


def test_what_is_wrong_with_the_whole_record_is_told_below_the_form(sample, monkeypatch):
    told = "An invented sentence about the whole record."
    monkeypatch.setattr(type(sample.presenter), "problems", property(lambda _: {"": told}))
    sample.form._show_problems()
    sample.update()
    assert told in str(sample.form.left.cget("text"))
    assert sample.form.left.winfo_viewable()
    assert cut_off(sample) == []


def test_keys_of_the_window_do_not_edit_the_field_that_has_the_keyboard(sample, hands, monkeypatch):
    done = []
    monkeypatch.setattr(sample, "run", lambda command: done.append(command.id))
    sample.clipboard_clear()
    sample.clipboard_append("7")
    for path in ("layout.pin_to_pap", "notes"):
        done.clear()
        sample.form.show_field(path)
        widget = sample.form.rows[path].inputs[0]
        before = sample.presenter.entry(path)
        assert before
        hands.focus(widget)
        widget.event_generate("<<SelectAll>>")
        hands.key(widget, "Control-y", "Control-o", "Control-w", "Control-n", "Control-p")
        assert done == ["redo", "open", "close", "new", "sheet"]
        assert sample.presenter.entry(path) == before


def test_select_all_has_the_usual_key(sample, hands):
    entry = sample.form.rows["bowler.name"].inputs[0]
    hands.key(entry, "End", "Control-a", "BackSpace")
    assert sample.presenter.entry("bowler.name") == ""


def test_leaving_a_field_tells_at_once(sample, hands):
    rows = sample.form.rows
    sample.form.show_field("bowler.pap.over")
    hands.write(rows["bowler.pap.over"].inputs[0], "99")
    hands.focus(rows["bowler.name"].inputs[0])
    assert rows["bowler.pap.over"].message.winfo_viewable()
    assert "outside 0 to 8 in" in str(rows["bowler.pap.over"].message.cget("text"))


def test_another_statement_converts_the_numbers_and_undo_brings_them_back(sample, hands):
    for by in LAYOUTS[1:]:
        converted_and_brought_back(sample, hands, by)
        hands.key(sample.form.rows["layout.by"].inputs[0], "Control-z")


def converted_and_brought_back(sample, hands, by):
    before, was = record(sample), sample.presenter.plan
    row = sample.form.rows["layout.by"]
    sample.form.show_field("layout.by")
    hands.choose(row.inputs[0], by)
    shown = {f.path for f in all_fields() if sample.form.rows[f.path].inputs[0].winfo_viewable()}
    assert ("layout.bearing" in shown) == (by == "placement")
    assert ("layout.psa_to_pap" in shown) == (by == "distances")
    assert "layout.angle_at_pin" not in shown
    # a thousandth of an inch: the numbers are written with so many digits
    assert sample.presenter.plan.marks.pin.xyz == pytest.approx(was.marks.pin.xyz, abs=1e-3)
    hands.key(row.inputs[0], "Control-z")
    assert record(sample) == before
    assert row.text == "angles"
    hands.key(row.inputs[0], "Control-y")
    assert row.text == by


def test_a_statement_that_cannot_be_is_refused_and_the_choice_goes_back(open_window, hands):
    window = open_window(SAMPLES[2])  # no PSA mark
    row = window.form.rows["layout.by"]
    window.form.show_field("layout.by")
    was = row.text
    hands.choose(row.inputs[0], "distances")
    assert row.text == was
    assert "PSA mark" in str(window.status.cget("text"))


def test_empty_record_says_what_it_needs_and_fills_up(open_window, hands, pump):
    window = open_window()
    assert "to complete" in str(window.form.left.cget("text"))
    assert "The ball so far" in str(window.ball.notice.cget("text"))
    assert str(window.outcome.cget("text")) == "Record not complete"
    data = load_texts(SAMPLES[0]) | {
        "layout.pin.over": "1 7/32", "layout.pin.up": "3 23/32", "layout.bearing": "168",
    }  # fmt: skip
    for _ in range(60):
        if not window.presenter.problems:
            break
        hands.key(window.form, "F8")
        field = next(f for f in window.form.rows.values() if window.focus_get() in f.inputs)
        assert field.mark.winfo_viewable(), field.field.path  # says that it is needed
        assert field.message.winfo_viewable()  # and what
        hands.write(window.focus_get(), data[field.field.path])
    assert window.presenter.plan is not None
    pump(lambda: window.ball.shown is not None and window.ball.shown.spots, "the ball")
    assert str(window.outcome.cget("text")) == "✗ FAIL"
    assert str(window.strip.reason.cget("text")).startswith("serial number missing; ")
    hands.key(window.ball.widget, "Shift-F8")
    assert window.form.focused_path == "ball.serial"
    assert not window.form._foot.winfo_viewable()


def load_texts(path):
    """The texts of a record by path."""
    found = {}

    def walk(value, path):
        for key, part in value.items():
            if isinstance(part, dict):
                walk(part, f"{path}{key}.")
            else:
                found[f"{path}{key}"] = str(part)

    walk(json.loads(path.read_text()), "")
    return found


def test_tabulator_goes_through_the_form_in_order(sample, hands):
    paths = [p for p, row in sample.form.rows.items() if row.field.group == "layout"]
    sample.form.show_field("layout.by")
    hands.focus(sample.form.rows["layout.by"].inputs[0])
    met = []
    for _ in range(3):
        hands.key(sample.focus_get(), "Tab")
        met += [p for p in paths if sample.focus_get() in sample.form.rows[p].inputs]
    assert met == ["layout.angle_at_pin", "layout.pin_to_pap", "layout.angle_at_pap"]
    sample.form.show_field("notes")
    notes = sample.form.rows["notes"].inputs[0]
    hands.key(notes, "Tab")
    assert sample.focus_get() is not notes
    assert "\t" not in sample.presenter.entry("notes")


# --- files ----------------------------------------------------------------------------------------


def test_opening_and_saving_a_sample_keeps_its_meaning(open_window, hands, chosen, tmp_path):
    window = open_window()
    for path in SAMPLES[::3]:  # the presenter's own tests open and save them all
        assert window.presenter.open(path)
        kept = tmp_path / f"saved-{path.name}"
        chosen(kept)
        hands.key(window, "Control-S")  # with Shift
        assert load_job(kept) == load_job(path)
        assert plan(load_job(kept)) == plan(load_job(path))
        # 4 3/8 stays 4 3/8
        assert load_texts(path).items() <= load_texts(kept).items()
        assert window.title() == f"{kept.name} - layoutkit"


def test_samples_and_recent_files_are_in_the_menu(sample, app):
    sample._fill("File")
    menu = sample.menus["File"]
    labels = [
        menu.entrycget(i, "label")
        for i in range(menu.index("end") + 1)
        if menu.type(i) != "separator"
    ]
    assert labels[:3] == ["New", "New from this one", "New window"]
    assert labels[3:5] == ["Open ...", "Open recent"]

    def under(label):
        index = next(
            i
            for i in range(menu.index("end") + 1)
            if menu.type(i) == "cascade" and menu.entrycget(i, "label") == label
        )
        inner = sample.nametowidget(menu.entrycget(index, "menu"))
        return inner, [inner.entrycget(i, "label") for i in range(inner.index("end") + 1)]

    inner, names = under("Open a sample")
    assert names == [p.stem for p in SAMPLES]
    _, recent = under("Open recent")
    assert recent == [str(sample.presenter.document.path)]
    inner.invoke(4)
    assert sample.presenter.document.name == f"sample {SAMPLES[4].stem}"
    assert sample.presenter.document.path is None


def test_title_marks_what_is_not_saved(sample, hands):
    assert sample.title() == "job.json - layoutkit"
    hands.write(sample.form.rows["bowler.pap.over"].inputs[0], "4")
    assert sample.title() == "*job.json - layoutkit"
    hands.key(sample, "Control-s")
    assert sample.title() == "job.json - layoutkit"
    assert json.loads(sample.presenter.document.path.read_text())["bowler"]["pap"]["over"] == 4


def test_closing_asks_about_unsaved_changes(sample, app, hands, pump):
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Somebody")
    path = sample.presenter.document.path
    before = path.read_bytes()
    sample.close()
    assert "job.json are not saved" in sample.dialog.text
    hands.key(sample.dialog, "Escape")
    assert sample.winfo_exists()
    assert app.windows == [sample]
    sample.close()
    hands.press(sample.dialog.buttons["discard"])
    assert app.windows == []
    assert path.read_bytes() == before


def test_closing_can_save_first(sample, app, hands):
    hands.write(sample.form.rows["bowler.pap.over"].inputs[0], "4")
    path = sample.presenter.document.path
    sample.close()
    hands.key(sample.dialog.buttons["save"], "Return")
    assert app.windows == []
    assert json.loads(path.read_text())["bowler"]["pap"]["over"] == 4


def test_closing_an_unnamed_job_asks_for_a_name_and_no_name_keeps_it(
    open_window, app, hands, chosen, tmp_path
):
    window = open_window()
    hands.write(window.form.rows["bowler.name"].inputs[0], "Somebody")
    chosen("")  # what the file dialog answers when it is cancelled
    window.close()
    hands.press(window.dialog.buttons["save"])
    assert app.windows == [window]
    chosen(tmp_path / "named.json")
    window.close()
    hands.press(window.dialog.buttons["save"])
    assert app.windows == []
    assert (tmp_path / "named.json").is_file()


def test_quitting_asks_window_by_window_until_one_stays(sample, app, hands, open_window):
    second = open_window()
    for window in (sample, second):
        hands.write(window.form.rows["bowler.name"].inputs[0], "Somebody")
    hands.key(sample, "Control-q")
    assert sample.dialog is None
    hands.press(second.dialog.buttons["discard"])
    assert app.windows == [sample]
    hands.press(sample.dialog.buttons["cancel"])
    assert app.windows == [sample]
    hands.key(sample, "Control-q")
    hands.press(sample.dialog.buttons["discard"])
    assert app.windows == []


def test_nothing_is_asked_when_nothing_is_unsaved(sample, app):
    sample.close()
    assert app.windows == []


def test_what_another_program_wrote_is_not_overwritten_unasked(sample, hands, pump):
    path = sample.presenter.document.path
    theirs = path.read_text().replace("Demo Bowler One", "Their Name")
    path.write_text(theirs)
    hands.write(sample.form.rows["bowler.pap.over"].inputs[0], "5 1/8")
    hands.key(sample, "Control-s")
    assert "changed by another program" in sample.dialog.text
    hands.press(sample.dialog.buttons["cancel"])
    assert path.read_text() == theirs
    hands.key(sample, "Control-s")
    hands.press(sample.dialog.buttons["overwrite"])
    bowler = json.loads(path.read_text())["bowler"]
    assert (bowler["name"], bowler["pap"]["over"]) == ("Demo Bowler One", "5 1/8")
    assert path.with_name("job.json.bak").read_text() == theirs


def test_what_cannot_be_opened_is_told_and_changes_nothing(sample, hands, chosen, tmp_path):
    before = record(sample)
    bad = tmp_path / "bad.json"
    bad.write_text("{")
    chosen(bad)
    hands.key(sample, "Control-o")
    assert "bad.json" in sample.dialog.text
    hands.press(sample.dialog.buttons["close"])
    assert record(sample) == before


def test_sheet_is_made_while_the_window_lives(sample, app, hands, pump, chosen, tmp_path):
    target = tmp_path / "sheet.pdf"
    chosen(target)
    beats = []

    def beat():
        beats.append(time.perf_counter())
        if not target.exists():
            sample.after(10, beat)

    beat()
    hands.key(sample, "Control-p")
    pump(target.exists, "the sheet")
    pump(lambda: str(target) in str(sample.status.cget("text")), "the status line")
    # Tk went on while the page was made
    assert len(beats) > 5
    assert target.read_bytes() == sheet_bytes(sample.presenter.plan, "letter")


def test_paper_strips_are_made_from_the_menu(sample, pump, chosen, tmp_path):
    target = tmp_path / "strips.pdf"
    chosen(target)
    sample.presenter.set_units("metric")
    sample.run(command("strips"))
    pump(target.exists, "the strips")
    assert target.read_bytes() == strips_bytes(sample.presenter.plan, "letter", "metric")


def test_sheet_that_is_given_up_is_not_written(
    sample, app, hands, pump, chosen, tmp_path, monkeypatch
):
    started, go = threading.Event(), threading.Event()

    def slow(*_):
        started.set()
        assert go.wait(20.0)
        return b"%PDF"

    monkeypatch.setattr("gui.views.window.sheet", slow)
    chosen(tmp_path / "sheet.pdf")
    hands.key(sample, "Control-p")
    pump(started.is_set, "the worker")
    hands.press(sample.dialog.cancel)
    go.set()
    until = time.monotonic() + 0.3
    pump(lambda: time.monotonic() > until)
    assert not (tmp_path / "sheet.pdf").exists()
    assert gc.isenabled()


def test_paper_is_chosen_in_the_menu(sample, hands, pump, chosen, tmp_path, monkeypatch):
    target = tmp_path / "sheet.pdf"
    chosen(target)
    made = []
    # what is made of the plan and the paper has a test above
    monkeypatch.setattr("gui.views.window.sheet", lambda *given: made.append(given) or b"%PDF")
    sample.run(command("paper_a4"))
    sample._fill("File")
    assert sample._chosen["paper_a4"].get()
    assert not sample._chosen["paper_letter"].get()
    hands.key(sample, "Control-p")
    pump(target.exists, "the sheet")
    assert made == [(sample.presenter.plan, "a4", "fraction")]
    assert target.read_bytes() == b"%PDF"


def test_sheet_that_cannot_be_written_is_told(sample, hands, pump, chosen, tmp_path, monkeypatch):
    monkeypatch.setattr("gui.views.window.sheet", lambda *_: b"%PDF")
    chosen(tmp_path / "nowhere" / "sheet.pdf")
    hands.key(sample, "Control-p")
    pump(lambda: hasattr(sample.dialog, "text"), "the message")
    assert "cannot be written" in sample.dialog.text


def test_plan_goes_to_the_clipboard(sample, hands):
    hands.key(sample, "Control-C")
    text = sample.clipboard_get()
    assert text.startswith("Demo 01")
    assert "PASS under usbc-2020" in text


# --- several windows, commands, help ----------------------------------------------------------------


def test_two_windows_have_nothing_in_common(sample, app, hands, pump, open_window):
    second = open_window(SAMPLES[1])
    before = record(second)
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Only here")
    assert record(second) == before
    assert second.form.rows["bowler.name"].text == "Demo Bowler Two"
    second.presenter.set_units("metric")
    assert sample.presenter.units == "fraction"
    assert str(sample.unit_box.get()) == "Fractions"
    second.close()
    assert app.windows == [sample]
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Still here")
    assert sample.presenter.entry("bowler.name") == "Still here"


def test_every_command_is_carried_out_and_every_key_is_bound(sample):
    for each in COMMANDS:
        if not each.method and not each.submenu:
            assert callable(sample.actions[each.id]), each.id
        place = sample if each.where == "window" else sample.ball.widget
        for key in each.sequences():
            assert place.bind(key), (each.id, key)
    own = {c.id for c in COMMANDS if not c.method}
    assert set(sample.actions) <= own


def test_menus_hold_every_command_with_its_key(sample):
    shown = {}
    for name, menu in sample.menus.items():
        sample._fill(name)
        for i in range(menu.index("end") + 1):
            if menu.type(i) in ("command", "checkbutton"):
                shown[menu.entrycget(i, "label")] = (
                    menu.entrycget(i, "accelerator"),
                    menu.entrycget(i, "state"),
                )
    for each in COMMANDS:
        if not each.submenu:
            accelerator, state = shown[each.text]
            assert accelerator == each.accelerator()
            assert (state == "normal") == each.enabled(sample.presenter), each.id


def test_numbers_of_tabs_by_key(sample, hands):
    hands.key(sample, "Alt-Key-4")
    assert sample.focus_get() is sample.form.rows["layout.by"].inputs[0]


def test_help_shows_on_focus_and_on_f1_and_under_the_pointer(sample, app, hands, pump):
    entry = sample.form.rows["bowler.pap.over"].inputs[0]
    hands.focus(entry)
    assert "PAP over" in str(sample.status.cget("text"))
    hands.key(entry, "F1")
    readers = [
        w for w in sample.winfo_children() if w.winfo_class() == "Toplevel" and hasattr(w, "view")
    ]
    assert "Possible: 0 to 8 in" in readers[-1].view.content
    picture = readers[-1].picture
    words = [i for i in picture.find_all() if picture.type(i) == "text"]
    assert {"PAP", "midline"} <= {picture.itemcget(i, "text") for i in words}
    boxes = [picture.bbox(i) for i in words]
    assert min(min(box[:2]) for box in boxes) >= 0
    assert max(box[2] for box in boxes) <= picture.winfo_reqwidth()
    assert max(box[3] for box in boxes) <= picture.winfo_reqheight()
    hands.key(readers[-1], "Escape")
    assert not readers[-1].winfo_exists()
    entry.event_generate("<Enter>", x=2, y=2)
    tips = lambda: [w for w in entry.winfo_children() if w.winfo_viewable()]  # noqa: E731
    assert not tips()
    pump(tips, "the tooltip")
    assert "Possible: 0 to 8 in" in tips()[0].msg_var.get()
    # it goes with the pointer, and again comes once
    entry.event_generate("<Leave>")
    app.root.update()
    assert not tips()
    for _ in range(3):
        entry.event_generate("<Enter>", x=2, y=2)
    pump(tips, "the tooltip again")
    assert len(tips()) == 1
    # below the field, which stays to be seen, and gone with the next key
    assert tips()[0].winfo_rooty() >= entry.winfo_rooty() + entry.winfo_height()
    hands.key(sample.form.rows["bowler.name"].inputs[0], "End")
    assert not tips()


def test_help_does_not_cover_a_dialog_that_came_meanwhile(sample, app, hands, pump):
    entry = sample.form.rows["bowler.name"].inputs[0]
    entry.event_generate("<Enter>", x=2, y=2)
    sample.show_about()
    reader = sample.winfo_children()[-1]
    pump(lambda: reader.focus_displayof() is reader.view.text, "the dialog")
    tip = entry.winfo_children()[0]
    pump(lambda: not tip._timer, "the time of the tooltip")
    assert not tip.winfo_viewable()


def test_pointing_at_another_reading_explains_that_one(sample, app, pump):
    tree = sample.readings.numbers.tree
    rows = tree.get_children("weights")
    told = []
    for row in rows[:2]:
        x, y, _, high = tree.bbox(row)
        tree.event_generate("<Enter>", x=x + 4, y=y + high // 2)
        tree.event_generate("<Motion>", x=x + 4, y=y + high // 2)
        seen = lambda: [w for w in tree.winfo_children() if w.winfo_viewable()]  # noqa: E731
        pump(seen, "the tooltip")
        told.append(seen()[0].msg_var.get())
    assert told[0].startswith("Gross weight")
    assert told[1].startswith("Removed in all")


def test_pointing_at_a_check_explains_it(sample, pump):
    sample.readings.select(1)
    text = sample.readings.checks.text
    pump(lambda: text.tag_ranges("about side"), "the checks")
    text.see("about side.first")
    pump(lambda: text.bbox("about side.first"), "the line")
    x, y, _, _ = text.bbox("about side.first")
    text.event_generate("<Enter>", x=x + 2, y=y + 2)
    text.event_generate("<Motion>", x=x + 2, y=y + 2)
    seen = lambda: [w for w in text.winfo_children() if w.winfo_viewable()]  # noqa: E731
    pump(seen, "the tooltip")
    assert seen()[0].msg_var.get().startswith("Side\n")


def test_wheel_scrolls_the_form_and_changes_no_choice(sample, pump):
    sample.form.show_group("grip")
    page = sample.form.pages["grip"]
    for fold in sample.form.table.folds.values():
        fold.invoke()
    pump(lambda: page._bar.winfo_ismapped(), "a scrollbar")
    sample.form.rows["bowler.grip.bridge"].take_focus()
    row = sample.form.rows["extra_holes.inspection.up"]
    sample.presenter.edit("extra_holes.inspection", YES)
    sample.update()
    page._canvas.yview_moveto(0.0)
    for widget in (row.label, row.inputs[0], row.inputs[1]):
        before, chosen = page._canvas.yview()[0], row.direction.get()
        widget.event_generate("<Button-5>", x=2, y=2)
        sample.update()
        assert page._canvas.yview()[0] > before
        assert row.direction.get() == chosen


def test_field_with_the_keyboard_is_scrolled_into_view(sample, hands, pump):
    sample.form.show_group("grip")
    page = sample.form.pages["grip"]
    last = [r for r in page.rows if r.visible][-1]
    hands.focus(last.inputs[0])
    sample.update()
    bottom = last.inputs[0].winfo_rooty() + last.inputs[0].winfo_height()
    assert bottom <= page.winfo_rooty() + page.winfo_height()


def test_ball_with_the_keyboard_says_what_can_be_done(sample, hands):
    hands.key(sample, "F6")
    assert sample.focus_get() is sample.ball.widget
    assert "Drag the pin or the PAP" in str(sample.status.cget("text"))


def test_every_field_and_reading_has_its_help(sample):
    for path, row in sample.form.rows.items():
        for widget in (*row.inputs, row.label):
            assert len(sample.help.of(widget)) > 40, path
    for bar in sample.readings.bars.values():
        assert "Limit:" in sample.help.of(bar)
    numbers = sample.readings.numbers
    for group in numbers.tree.get_children():
        for row in numbers.tree.get_children(group):
            numbers.tree.selection_set(row)
            sample.update()
            assert len(str(sample.status.cget("text"))) > 20, row


def test_glossary_keys_and_about_can_be_read(sample, hands):
    for name, words in (("glossary", "Pin"), ("keys", "Ctrl+S"), ("about", "eye protection")):
        sample.actions[name]()
        reader = [w for w in sample.winfo_children() if hasattr(w, "view")][-1]
        assert words in reader.view.content
        hands.key(reader.view.text, "Escape")
        assert not reader.winfo_exists()


def test_the_glossary_searches_and_leads_from_term_to_term(sample, hands, pump):
    sample.show_glossary()
    dialog = sample.dialog
    hands.write(dialog.entry, "bridge")
    assert dialog.view.content.startswith("Bridge\n")
    hands.write(dialog.entry, "grip ce")
    assert dialog.view.content.startswith("Grip centre\n")
    text = dialog.view.text
    other = next(tag for tag in text.tag_names() if tag.startswith("to ") and text.tag_ranges(tag))
    x, y, wide, high = text.bbox(f"{other}.first")
    text.event_generate("<Motion>", x=x + wide // 2, y=y + high // 2)
    text.event_generate("<Button-1>", x=x + wide // 2, y=y + high // 2)
    pump(lambda: dialog.view.content.startswith(f"{other[3:]}\n"), "the other term")
    hands.write(dialog.entry, "xyzzy")
    assert "No term has this" in dialog.view.content
    hands.key(dialog.entry, "Escape")
    assert not dialog.winfo_exists()


def test_text_size_follows_the_keys_and_is_remembered(sample, app, hands, pump):
    before, entry = app.style.em, sample.form.rows["bowler.name"].inputs[0]
    high = entry.winfo_reqheight()
    for _ in range(3):
        hands.key(sample, "Control-plus")
    assert app.style.em > before
    pump(lambda: entry.winfo_reqheight() > high, "higher fields")
    hands.key(sample, "Control-minus")
    from gui.state import settings

    assert settings.load(app.config).text_size == app.style.text
    hands.key(sample, "Control-Key-0")
    assert app.style.em == before


def test_place_and_panes_are_remembered_and_an_icon_is_there(sample, app, pump):
    sample.geometry("1200x800+120+40")
    pump(lambda: sample.winfo_width() == 1200 and sample.winfo_rootx() == 120, "the place")
    sample._across.sashpos(0, 470)
    sample._down.sashpos(0, 350)
    app.root.update()
    assert [(each.width(), each.height()) for each in app.icons] == [(s, s) for s in SIZES]
    assert app.icons[-1].get(64, 64) == (23, 72, 143)
    assert app.icons[-1].transparency_get(0, 0)
    sample._remember()
    app.windows.remove(sample)  # a second window is put beside the first
    again = app.open_window()
    app.windows.append(sample)
    pump(lambda: again._divided and again.winfo_rootx() == 120, "the place again")
    pump(lambda: again._across.sashpos(0) == 470, "the panes again")
    assert (again.winfo_rooty(), again.winfo_width()) == (sample.winfo_rooty(), 1200)
    assert abs(again._down.sashpos(0) - 350) <= 2
    from gui.state import settings

    settings.change(app.config, place=(90_000, 10))
    app.windows[:] = []
    lost = app.open_window()
    app.windows += [sample, again]
    pump(lambda: lost._divided, "a window")
    assert lost.winfo_rootx() < 1600


def test_size_and_units_are_remembered(sample, app, pump, hands):
    sample.geometry("1150x760")
    pump(lambda: sample.winfo_width() == 1150, "the size")
    hands.choose(sample.unit_box, "Metric")
    second = app.open_window()  # keeps the application alive
    sample.close()
    third = app.open_window()
    pump(lambda: third.winfo_width() == 1150 and third.winfo_height() == 760, "the size again")
    assert third.presenter.units == "metric"
    assert second.winfo_exists()


# --- room -----------------------------------------------------------------------------------------


def cut_off(window):
    """Labels and buttons that do not get the room that their texts need."""
    found = []

    def look(widget):
        for child in widget.winfo_children():
            if child.winfo_class() == "Toplevel" or not child.winfo_viewable():
                continue
            if child.winfo_class() in ("TLabel", "TButton", "TCheckbutton"):
                lacks = child.winfo_reqwidth() > child.winfo_width() + 1
                if lacks or child.winfo_reqheight() > child.winfo_height() + 1:
                    found.append((str(child), str(child.cget("text"))))
            right = child.winfo_rootx() + child.winfo_width()
            if right > window.winfo_rootx() + window.winfo_width():
                found.append((str(child), "beyond the window"))
            look(child)

    look(window)
    return found


@pytest.mark.parametrize("size", ["1024x670", "1590x1150"])
def test_nothing_is_cut_off(open_window, scaled, pump, size):
    if size == "1590x1150":
        scaled(2.0)
    window = open_window()
    window.geometry(size)
    width, height = map(int, size.split("x"))
    pump(lambda: (window.winfo_width(), window.winfo_height()) == (width, height), "the size")
    nothing_is_cut_off(window, pump, None)
    for path in SAMPLES[::2] if size == "1024x670" else SAMPLES[2::3]:
        assert window.presenter.open(path)
        nothing_is_cut_off(window, pump, path)


def nothing_is_cut_off(window, pump, path):
    frames = window.ball.frames
    window.ball.schedule()
    pump(lambda: window.ball.frames > frames, "the ball")
    for page in window.form.tabs.tabs():
        window.form.tabs.select(page)
        window.update()
        assert cut_off(window) == [], path
    ball = window.ball
    renderer = ball._canvas.get_renderer()
    assert ball.shown is not None
    for what in ("grip", "pin", "underside"):
        if path is not None:
            ball.face(what)
            window.update()
        for label, (left, bottom, right, top) in ball._painting.boxes(renderer):
            assert left >= 0.0, label.text
            assert bottom >= 0.0, label.text
            assert right <= renderer.width, label.text
            assert top <= renderer.height, label.text
    for bar in window.readings.bars.values():
        texts = (bar.figure, bar.label, bar.reading, bar.outcome, bar.limit, bar.undrilled)
        boxes = [bar.bbox(i) for i in texts if bar.itemcget(i, "text") and bar.bbox(i)]
        assert all(box[2] <= bar.winfo_width() for box in boxes)
        assert all(box[3] <= bar.winfo_height() for box in boxes)
        for one, other in itertools.combinations(boxes, 2):
            beside = one[2] <= other[0] or other[2] <= one[0]
            assert beside or one[3] <= other[1] or other[3] <= one[1]


@pytest.fixture
def screen(monkeypatch, scaled):
    """Makes the program believe in another screen: its size in pixels and pixels to the inch."""

    def run(width, height, density):
        monkeypatch.setattr("tkinter.Misc.winfo_screenwidth", lambda _: width)
        monkeypatch.setattr("tkinter.Misc.winfo_screenheight", lambda _: height)
        scaled(density / 72.0)

    return run


def cut_tabs(book):
    """The tabs of a notebook that are narrower than their names."""
    book.update_idletasks()
    row = book.winfo_toplevel().style.pixels(0.9)  # within the names, below the tabs' upper edges
    found = (book.tk.call(book, "identify", "tab", x, row) for x in range(0, book.winfo_width(), 2))
    shown = [int(each) for each in found if str(each)]
    plain = font.nametofont("TkDefaultFont", book)
    names = [book.tab(each, "text") for each in book.tabs()]
    # the inside of a tab: what the pointer finds is the tab with its edges
    around = book.winfo_toplevel().style.pixels(0.7)
    return [
        name
        for i, name in enumerate(names)
        if 2 * shown.count(i) + 2 < plain.measure(name) + around
    ]


# points of text that each screen takes at 192 pixels to the inch: half of 1180 pixels, which are 6.1
# inches, is all that the form may have, and 768 pixels are four inches of height
MOST_DENSE = {(1366, 768): 11, (1180, 830): 10, (1920, 1080): 16, (2560, 1440): 16}


@pytest.mark.parametrize("density", [96, 192])
def test_every_screen_and_text_size_shows_all(sample, app, hands, pump, screen, density):
    for (width, height), dense in MOST_DENSE.items():
        if width == (1920 if density == 96 else 2560):
            continue  # the small screens are looked at in both densities, each large one in one
        screen(width, height, density)
        labels = []
        for size in (8, 16):  # points: two less and six more than usual
            app.style.apply(size)
            assert app.style.text == (size if density == 96 else min(size, dense))
            sample.refresh()
            high = height - sample.style.pixels(1.6)  # less the menu
            sample.geometry(f"{width}x{high}")
            pump(lambda s=(width, high): (sample.winfo_width(), sample.winfo_height()) == s)
            pump(lambda: not sample._dividing, "the room to be divided")
            frames = sample.ball.frames
            sample.ball.schedule()
            pump(lambda f=frames: sample.ball.frames > f, "the ball")
            assert cut_off(sample) == [], (width, density, size)
            assert sample.ball.winfo_width() >= width / 2
            renderer = sample.ball._canvas.get_renderer()
            for _, (left, bottom, right, top) in sample.ball._painting.boxes(renderer):
                assert (left >= 0.0, bottom >= 0.0) == (True, True)
                assert (right <= renderer.width, top <= renderer.height) == (True, True)
            for book in (sample.form.tabs, sample.readings):
                assert cut_tabs(book) == [], (width, density, size)
            labels.append(sample.ball._painting.style.text)
        assert labels[1] > labels[0]
    hands.key(sample, "Control-Key-0")
    assert app.style.text == min(10, app.style.most)


def bottom(widget):
    """The screen's row below a widget."""
    return widget.winfo_rooty() + widget.winfo_height()


def test_what_has_too_little_room_scrolls_to_the_keyboard(sample, app, hands, pump, screen):
    screen(1366, 768, 96)
    app.style.apply(16)
    sample.refresh()
    sample.geometry(f"1366x{768 - sample.style.pixels(1.6)}")
    pump(lambda: sample.winfo_width() == 1366 and sample._flat, "the size")
    pump(lambda: not sample._dividing, "the room to be divided")
    weights, last, numbers = (
        sample.readings.front,
        sample.readings.bars["top"],
        sample.readings.numbers,
    )
    hands.focus(last)
    pump(lambda: last.winfo_rooty() + last.winfo_height() <= bottom(weights), "the last bar")
    assert last.winfo_rooty() >= weights.winfo_rooty()
    # the numbers stand under the bars, and are back beside them in the usual text
    assert numbers.winfo_rooty() >= last.winfo_rooty() + last.winfo_height()
    hands.focus(numbers.tree)
    pump(lambda: numbers.winfo_rooty() <= weights.winfo_rooty() + app.style.em, "the numbers")
    hands.key(sample, "Control-Key-0")
    pump(lambda: numbers.winfo_rootx() > last.winfo_rootx() + 100, "the numbers beside the bars")
    assert numbers.winfo_rooty() <= sample.readings.bars["side"].winfo_rooty()


def test_text_that_would_not_fit_the_screen_is_refused_in_words(sample, app, hands, screen):
    screen(1180, 830, 192)
    for _ in range(3):
        hands.key(sample, "Control-plus")
    assert app.style.text == app.style.most == 10
    assert "would not fit this screen" in str(sample.status.cget("text"))


def test_dialogs_fit_a_small_screen(sample, app, pump, screen, chosen):
    screen(1366, 768, 96)
    app.style.apply(16)
    chosen(SAMPLES[0].with_name("shelf.csv"))
    for name in ("axis", "copy_grip", "shelf", "list_history.holes", "scale"):
        sample.run(command(name))
        dialog = sample.dialog
        pump(dialog.winfo_viewable, "the dialog")
        assert dialog.winfo_width() <= 1366, name
        assert dialog.winfo_height() <= 768 - sample.style.pixels(2), name
        assert cut_off(dialog) == [], name
        dialog.destroy()
        sample.dialog = None
        app.root.update()


def test_certainty_is_worked_out_beside_the_window(sample, hands, pump):
    sample.run(command("sure"))
    pump(lambda: isinstance(sample.dialog, Reader), "the text")
    assert "Chance that the event's scale" in sample.dialog.view.content
    sample.dialog.leave()


def test_maps_are_made_while_the_window_lives(sample, pump, chosen, tmp_path):
    target = tmp_path / "maps.pdf"
    chosen(target)
    sample.make_maps()
    pump(target.exists, "the maps")
    assert target.read_bytes().startswith(b"%PDF")


def test_the_edit_menu_names_what_is_undone_and_done_again(sample, pump):
    labels = lambda: [  # noqa: E731
        sample.menus["Edit"].entrycget(i, "label") for i in range(2) if sample._fill("Edit") is None
    ]
    assert labels() == ["Undo", "Redo"]
    sample.presenter.edit("title", "x")
    assert labels() == ["Undo: Title", "Redo"]
    sample.presenter.undo()
    assert labels() == ["Undo", "Redo: Title"]


def test_a_change_of_the_file_is_told_when_the_window_gets_the_keyboard(sample, app, pump):
    path = sample.presenter.document.path
    other = app.open_window()
    pump(other.winfo_viewable, "the other window")
    other.focus_force()
    pump(lambda: other.focus_displayof() is other, "the keyboard in the other window")
    path.write_bytes(path.read_bytes() + b"\n")
    assert sample.presenter.message == ""
    sample.focus_force()
    pump(lambda: "was changed by another program" in sample.status.cget("text"), "the notice")


def test_both_readings_of_a_weighing_are_typed_side_by_side(sample, hands):
    path = "weighings.drilled.pairs.side"
    sample.form.show_field(path)
    row = sample.form.rows[path]
    assert sample.form.rows["scale.reading"].inputs[0].get() == "a moment"
    hands.write(row.inputs[0], "1.10")
    hands.write(row.inputs[1], "-0.42")
    drilled = sample.presenter.document.record()["weighings"]["drilled"]
    assert drilled["pairs"] == {"side": [1.10, -0.42]}
    assert row.inputs[0].winfo_rooty() == row.inputs[1].winfo_rooty()
    hands.key(row.inputs[1], "Control-z")
    assert row.inputs[1].get() == ""
    assert row.inputs[0].get() == "1.10"


def test_one_click_under_the_field_confirms_what_is_asked(sample, hands, pump):
    row = sample.form.rows["ball.top_weight"]
    sample.form.show_field("ball.top_weight")
    assert row.confirm_button is None
    hands.write(row.inputs[0], "5.5")
    pump(
        lambda: row.confirm_button is not None and row.confirm_button.winfo_viewable(),
        "the question",
    )
    assert "top weight" in row.question.lower()
    sample.readings.select(4)
    sample.update()
    assert "Questions" in sample.readings.cautions.content
    hands.press(row.confirm_button)
    assert sample.presenter.document.record()["confirmed"] == {"ball.top_weight": 5.5}
    assert row.confirm_button is None
    assert not sample.presenter.questions
    assert "Questions" not in sample.readings.cautions.content
    sample.run(command("undo"))
    assert row.confirm_button is not None
    hands.key(row.inputs[0], "F2")
    assert not sample.presenter.questions


def test_a_ball_without_label_and_pap_is_shown_without_these_marks(sample, hands, pump):
    p = sample.presenter
    p.edit("layout.by", "placement")
    for path in ("bowler.pap.over", "bowler.pap.up", "ball.pin_to_cg", "ball.top_weight"):
        p.edit(path, "")
    frames = sample.ball.frames
    pump(lambda: sample.ball.frames > frames, "the ball")
    names = {spot.name for spot in sample.ball.shown.spots}
    assert "pin" in names
    assert names.isdisjoint({"pap", "cg"})
    assert str(sample.outcome.cget("text")) == "? INCOMPLETE"
    words = "top, side and finger weight not known"
    assert str(sample.strip.reason.cget("text")) == words
    hands.press(sample.strip.reason)
    assert sample.form.focused_path == "ball.top_weight"
    for each in ("pap", "cg", "psa"):
        hands.press(sample.ball.face_buttons[each])
    for bar in sample.readings.bars.values():
        assert ": not known without" in bar.itemcget(bar.reading, "text")
    for tab in range(7):
        sample.readings.select(tab)
        sample.update()
    assert str(sample.odds.cget("text")) == ""
    notice = sample.readings.lane.notice
    pump(lambda: "not known without" in str(notice.cget("text")), "the lane's words")


def test_the_handbook_is_made_and_opened_from_the_menu(sample, pump, hands, monkeypatch, tmp_path):
    page, opened = tmp_path / "handbook.html", []
    monkeypatch.setattr("gui.views.window.write_handbook", lambda: page)
    monkeypatch.setattr("gui.views.window.show_in_browser", lambda path: bool(opened.append(path)))
    sample.run(command("handbook"))
    pump(lambda: opened == [page] and "close" in getattr(sample.dialog, "buttons", ""), "a word")
    hands.press(sample.dialog.buttons["close"])
