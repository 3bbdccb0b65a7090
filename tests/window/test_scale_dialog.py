"""The dialogs about the shop's scale, and the weigh-in among the checks, on a real display."""

import json

import pytest

from gui.state.commands import command
from layoutkit.job.record import parse_job
from layoutkit.job.shop import load_shop
from layoutkit.planning.plan import plan


@pytest.fixture
def job(record, tmp_path):
    """A job that states neither arm nor shell nor filler."""
    del record["scale"], record["ball"]["shell"], record["ball"]["filler_density"]
    path = tmp_path / "silent.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    return path


@pytest.fixture
def window(open_window, job):
    return open_window(job)


@pytest.fixture
def folder(record, job, tmp_path, monkeypatch):
    """Invented jobs weighed on a scale with an arm of 3.8 in, which the folder's dialog answers."""
    found = tmp_path / "weighed"
    found.mkdir()
    for i, pin in enumerate((3.5, 4.0, 4.5, 5.0)):
        record["layout"]["pin_to_pap"] = pin
        s = plan(parse_job(record | {"scale": {"arm": 3.8}})).statics
        weights = {"top": s.top_oz, "side": s.side_oz, "finger": s.finger_oz, "gross": s.weight_lb}
        told = record | {"weighings": {"drilled": weights}}
        (found / f"{i}.json").write_text(json.dumps(told), encoding="utf-8")
    monkeypatch.setattr("tkinter.filedialog.askdirectory", lambda **_: str(found))
    return found


def opened(window, pump, name):
    window.run(command(name))
    pump(window.dialog.winfo_viewable, "the dialog")
    return window.dialog


# --- the arm --------------------------------------------------------------------------------------


def test_typed_tests_give_the_arm_and_it_is_kept_and_taken(window, hands, pump, no_shop):
    dialog = opened(window, pump, "scale")
    first = dialog.rows[0]["weight"]
    pump(lambda: first.focus_displayof() is first, "the keyboard in the first row")
    assert "No test yet" in dialog.findings.content
    assert dialog.buttons["keep"].instate(["disabled"])
    hands.write(first, "2")
    pump(lambda: "still needs" in dialog.findings.content, "what is missing")
    hands.write(dialog.rows[0]["growth"], "x")
    pump(lambda: '"x" is not a weight' in dialog.findings.content, "the refusal")
    assert str(dialog.rows[0]["growth"].cget("style")) == "Bad.TEntry"
    hands.write(dialog.rows[0]["growth"], "1.94")
    for entry, text in zip(dialog.rows[1].values(), ("60 g", "2.06"), strict=False):
        hands.write(entry, text)
    hands.key(dialog.rows[2]["weight"], "Alt-a")
    rows = (("3", "2.90"), ("1", "1.9"))
    for row, texts in zip(dialog.rows[2:], rows, strict=True):
        for entry, text in zip(row.values(), texts, strict=False):
            hands.write(entry, text)
    pump(lambda: "outlier" in dialog.findings.content, "the arm")
    assert str(dialog.rows[0]["growth"].cget("style")) == "TEntry"
    assert "Left out as outliers: test 4" in dialog.findings.content
    assert not no_shop.exists()
    hands.write(dialog.by, "Demo")
    hands.key(dialog.by, "Alt-k")
    pump(lambda: "Kept in" in dialog.findings.content, "that it is kept")
    shop = load_shop(no_shop)
    assert shop.scale.by == "Demo"
    assert len(shop.scale.left_out) == 1
    arm = window.presenter.plan.statics.arm
    assert arm == shop.scale.arm
    assert not window.presenter.document.dirty
    assert dialog.winfo_width() <= 1024
    hands.key(dialog.by, "Escape")
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")
    # it opens with what the shop's file holds
    dialog = opened(window, pump, "scale")
    assert [row.weight for row in dialog.typed] == ["2", "2.11644", "3", "1"]
    assert dialog.by.get() == "Demo"
    assert f"{arm:.3f} +/-" in dialog.findings.content


def test_rows_are_reached_by_the_keyboard_and_added(window, hands, pump):
    dialog = opened(window, pump, "scale")
    hands.write(dialog.rows[0]["diameter"], "8.5")
    hands.key(dialog.rows[0]["growth"], "Down")
    there = dialog.rows[1]["growth"]
    pump(lambda: there.focus_displayof() is there, "the next row")
    hands.key(there, "Up")
    here = dialog.rows[0]["growth"]
    pump(lambda: here.focus_displayof() is here, "the row before")
    hands.write(dialog.rows[2]["diameter"], "8.52")
    hands.key(here, "Alt-a")
    pump(lambda: len(dialog.rows) == 4, "one more row")
    new = dialog.rows[3]["weight"]
    pump(lambda: new.focus_displayof() is new, "the keyboard in it")
    assert dialog.typed[3].diameter == "8.52"  # the ball of the row before
    hands.key(dialog.rows[0]["height"], "F1")
    pump(lambda: [w for w in dialog.winfo_children() if w.winfo_class() == "Toplevel"], "the help")
    (reader,) = (w for w in dialog.winfo_children() if w.winfo_class() == "Toplevel")
    assert "lengthens the lever" in reader.view.content


def test_a_broken_file_is_told_and_not_written_over(window, hands, pump, no_shop):
    no_shop.parent.mkdir()
    no_shop.write_text("{", encoding="utf-8")
    dialog = opened(window, pump, "scale")
    hands.write(dialog.rows[0]["weight"], "2")
    hands.write(dialog.rows[0]["growth"], "2")
    pump(lambda: "4.275" in dialog.findings.content, "the arm")
    assert "shop.json" in dialog.findings.content
    assert dialog.buttons["keep"].instate(["disabled"])
    dialog.keep()
    assert no_shop.read_text(encoding="utf-8") == "{"


def test_a_record_with_an_arm_of_its_own_keeps_it_and_that_is_told(window, hands, pump):
    window.presenter.edit("scale.arm", "4")
    dialog = opened(window, pump, "scale")
    hands.write(dialog.rows[0]["weight"], "2")
    hands.write(dialog.rows[0]["growth"], "2")
    pump(lambda: "4.275" in dialog.findings.content, "the arm")
    hands.press(dialog.buttons["keep"])
    pump(lambda: "states its own, 4," in dialog.findings.content, "whose arm it is")
    assert window.presenter.plan.statics.arm == 4.0


# --- the fit --------------------------------------------------------------------------------------


def test_a_fit_is_made_kept_and_taken_in_every_window_and_said(
    app, window, open_window, job, folder, hands, pump, no_shop
):
    other = open_window(job)
    dialog = opened(window, pump, "fit")
    assert dialog.check.instate(["disabled"])
    assert dialog.buttons["keep"].instate(["disabled"])
    hands.press(dialog.buttons["choose"])
    pump(lambda: dialog.fitting is not None, "the fit")
    assert "job left out" in dialog.findings.content
    assert not no_shop.exists()
    hands.press(dialog.buttons["keep"])
    pump(lambda: "Kept in" in dialog.findings.content, "that it is kept")
    fitted = load_shop(no_shop).fitted
    assert fitted.jobs == 4
    for each in (window, other):
        assert not each.presenter.plan.statics.calibrated
        assert "fitted" not in each.strip.basis.cget("text")
    dialog.check.focus_force()
    hands.key(dialog.check, "Alt-t")
    pump(lambda: "fitted" in window.strip.basis.cget("text"), "what the outcome is of")
    for each in (window, other):
        assert each.presenter.plan.statics.arm == fitted.arm
        assert each.strip.basis.cget("text").endswith(", fitted")
        assert "As fitted to 4 weighed jobs" in each._verdict()
    window.readings.select(window.readings.cautions)
    pump(lambda: "As fitted to 4" in window.readings.cautions.content, "the caution")
    # the menu of another window has the same switch
    other.run(command("fitted"))
    pump(lambda: not dialog.taking.get(), "the switch to follow")
    assert not window.presenter.plan.statics.calibrated
    assert "fitted" not in window.strip.basis.cget("text")
    # a window that is opened later knows it too; nothing of it is kept
    other.run(command("fitted"))
    assert open_window(job).presenter.plan.statics.arm == fitted.arm
    assert "fitted" not in (app.config / "settings.json").read_text(encoding="utf-8")


def test_too_few_jobs_are_told_with_the_files_that_were_not_used(window, folder, hands, pump):
    for name in ("1.json", "2.json"):
        (folder / name).unlink()
    (folder / "3.json").write_text("{", encoding="utf-8")
    dialog = opened(window, pump, "fit")
    hands.press(dialog.buttons["choose"])
    pump(lambda: "at least 3" in dialog.findings.content, "the reason")
    assert "3.json not used" in dialog.findings.content
    assert dialog.buttons["keep"].instate(["disabled"])
    dialog.keep()
    hands.key(dialog.buttons["choose"], "Escape")
    pump(lambda: not dialog.winfo_exists(), "the dialog to go")
    window.presenter.edit("title", "again")  # nobody is told who is gone


def test_the_strip_has_room_for_outcome_and_chance(odds_drawn, window, folder, hands, pump):
    dialog = opened(window, pump, "fit")
    hands.press(dialog.buttons["choose"])
    pump(lambda: dialog.fitting is not None, "the fit")
    hands.press(dialog.buttons["keep"])
    hands.press(dialog.buttons["close"])
    window.run(command("fitted"))
    window.geometry("1024x700")
    pump(lambda: window.winfo_width() == 1024, "the least size")
    pump(lambda: "by defaults" in window.odds.cget("text"), "the chance")
    pump(lambda: window.odds.winfo_width() >= window.odds.winfo_reqwidth(), "room for the chance")


# --- the weigh-in ---------------------------------------------------------------------------------


def test_what_was_weighed_is_a_table_among_the_checks_with_its_verdict(window, pump):
    p, view = window.presenter, window.readings
    view.select(view.checks)
    pump(view.checks.winfo_viewable, "the checks")
    assert "Weighed" not in view.checks.content
    before = view.tab(view.checks, "text")
    p.edit("weighings.drilled.side", "3.9")
    p.edit("weighings.drilled.top", "1.2")
    p.edit("weighings.undrilled.top", "2 3/4")
    pump(lambda: "Weighed drilled" in view.checks.content, "the weigh-in")
    told = view.checks.content
    lines = told.split("\n")
    assert lines[0] == "Weighed drilled"
    assert lines[1].startswith("✗ NOT LEGAL as weighed (side)")
    assert lines[2].split() == ["measured", "predicted", "difference"]
    assert lines[4].startswith("side  3.90 oz positive side")
    assert (
        told.index("Weighed drilled") < told.index("Weighed undrilled") < told.index("As planned")
    )
    assert view.tab(view.checks, "text") != before  # one more that does not pass
    assert str(window.strip.basis.cget("text")) == "as weighed"
    assert str(window.strip.beside.cget("text")) == "planned: pass"
    assert "side weight 3.90 oz positive" in str(window.strip.reason.cget("text"))
    view.select(view.front)
    bar = view.bars["side"]
    pump(lambda: bar.words == "3.90 oz positive side", "the weighed bar")
    assert "plan" in bar.itemcget(bar.undrilled, "text")
    assert "fail" in bar.itemcget(bar.outcome, "text")
    view.select(view.checks)
    pump(view.checks.winfo_viewable, "the checks")
    text = view.checks.text
    for line, words in (("3.0", "measured - predicted"), ("5.0", "Side")):
        text.see(line)
        window.update()
        x, y, _, high = text.bbox(line)
        text.event_generate("<Motion>", x=x + 4, y=y + high // 2)
        assert words in view._check_help()
    p.edit("weighings.drilled.side", "")
    p.edit("weighings.drilled.top", "")
    pump(lambda: "Weighed drilled" not in view.checks.content, "the weigh-in to go")
