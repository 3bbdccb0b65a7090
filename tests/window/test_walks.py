"""Whole jobs as people do them, by keys and the pointer alone, from an empty window or a file to paper.

Nothing of the window is called: what is asked of it comes after the last key.
"""

from pathlib import Path

import pytest
from pypdf import PdfReader

from gui.views import style as look
from gui.views.changes_dialog import ChangesDialog
from layoutkit.job.store import load_job
from layoutkit.planning.plan import plan

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))


def same_figures(ours, theirs):
    """Whether two plans have the same marks, weights, inertia and verdict."""
    for name in ("pin", "pap", "cg", "psa"):
        one, other = (getattr(each.marks, name) for each in (ours, theirs))
        assert (one is None) == (other is None), name
        assert one is None or one.xyz == pytest.approx(other.xyz, abs=1e-9), name
    for part in ("statics", "inertia"):
        one, other = (getattr(each, part) for each in (ours, theirs))
        for name in one._fields:
            value = getattr(one, name)
            if isinstance(value, float):
                assert value == pytest.approx(getattr(other, name), abs=1e-6), name
    assert ours.outcome == theirs.outcome
    return True


def words_of(path):
    """The text of a PDF, in one line."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(path).pages).split())


def test_a_symmetric_ball_from_empty_window_to_sheet(open_window, person, pump, tmp_path):
    window, job = open_window(), load_job(SAMPLES[2])
    person.keys("Alt-Key-1")
    person.fill("Demo Bowler Three", "", "4 3/4", "1/4")
    person.keys("Alt-Key-2")
    person.fill("3/8", "15/16", "2 1/2", "1/8", "", "4 1/8", "23/32", "2", "1/8", "", "4", "11/16")
    person.keys("Control-m", "Tab", "Tab", "Tab", "Tab", "space")
    person.write("118")  # the thumb's drill point
    person.keys("Alt-Key-3")
    person.fill("Demo Symmetric", "DEMO0003", "8.55", "", "15.03", "2.9", "2 1/2", "")
    person.keys("space", "Tab", "Tab")
    person.fill("2.55", "0.04")
    person.keys("Alt-Key-4", "Key-a", "Tab")
    person.fill("70", "4", "40")
    page = tmp_path / "sheet.pdf"
    person.name_file(page, "Control-p")
    pump(page.exists, "the sheet")
    assert "Demo Bowler Three" in words_of(page)
    assert person.values <= 25
    assert person.tabs <= 35
    # the defaults stand for shell and filler; with the sample's filler all is as in the sample
    silent = job.ball.model_copy(update={"shell": None, "filler_density": None})
    assert same_figures(window.presenter.plan, plan(job.model_copy(update={"ball": silent})))
    person.click(window.form.tabs, 130, 8)
    person.click(window.form.rows["ball.filler_density"].inputs[0])
    person.write("0.8")
    assert same_figures(window.presenter.plan, plan(job))


def test_an_asymmetric_ball_with_sleeves_from_empty_window_to_plan(open_window, person):
    window, job = open_window(), load_job(SAMPLES[0])
    person.keys("Alt-Key-1")
    person.fill("Demo Bowler One", "", "5", "1/2")
    person.keys("Alt-Key-2")
    person.fill("1/4", "1", "2 3/4", "1/8 reverse", "1/16 l")
    person.keys("Tab")
    person.fill("4 3/8", "3/4", "1 1/4", "1/8", "1/16l", "4 1/4", "23/32", "", "1/16", "1/16")
    person.keys("Tab", "Tab", "space", "space", "Tab")  # the sleeves' fold, the thumb's sleeve
    person.fill("1 3/8", "2 3/4", "1.2", "", "", "")
    person.keys("space", "Tab")
    person.fill("31/32", "1 1/2", "1.15", "")
    person.keys("space", "Tab")
    person.write("1 1/4")
    person.keys("Control-m", "Alt-Key-3")
    person.fill(
        "Demo Asymmetric", "DEMO0001", "8.55", "", "15.12", "2.75", "3", "", "quarter", "20"
    )
    person.keys("Tab", "Tab")
    person.fill("2.52", "0.05", "0.015", "", "0.7")
    person.keys("Alt-Key-4", "Key-a", "Tab")
    person.fill("50", "4 1/2", "35")
    person.keys("Alt-Key-5")
    person.write("4.275")
    assert not window.presenter.problems
    assert same_figures(window.presenter.plan, plan(job))
    assert person.values <= 40


def test_a_left_handed_customer_from_empty_window_to_sheet(open_window, person, pump, tmp_path):
    window, job = open_window(), load_job(SAMPLES[1])
    rows, pages = window.form.rows, window.form.tabs
    person.click(rows["bowler.name"].inputs[0])
    person.write("Demo Bowler Two")
    person.keys("Tab", "Key-l", "Tab")
    assert rows["bowler.hand"].text == "left"
    person.fill("5 1/4", "3/8")
    person.click(pages, 80, 8)
    person.click(rows["bowler.grip.bridge"].inputs[0])
    person.fill("1/4", "31/32", "2 3/4", "1/4 r", "1/8 l", "4 1/2", "3/4", "1 1/4", "1/16r", "1/16")
    person.keys("Tab")
    person.fill("4 7/16", "", "", "", "1/16l")
    person.click(window.form.table.folds["more"])
    person.write("118")
    person.click(window.form.table.folds["sleeve"])
    person.click(rows["bowler.grip.middle.sleeve"].inputs[0])
    person.keys("Tab")
    person.fill("31/32", "1 1/2", "1.15", "", "1 1/4")
    person.keys("Control-m")
    person.click(pages, 130, 8)
    person.click(rows["ball.name"].inputs[0])
    person.fill("Demo Asymmetric Two", "DEMO0002", "8.56", "", "14.87", "2.5", "2 3/4")
    person.keys("Tab", "Tab")
    person.fill("6 5/8", "-15", "", "2.49", "0.052", "0.017")
    person.keys("Alt-Key-4", "Key-d", "Tab")
    person.fill("4", "4 3/4", "2")
    assert not window.presenter.problems
    page = tmp_path / "sheet.pdf"
    person.name_file(page, "Control-p")
    pump(page.exists, "the sheet")
    assert same_figures(window.presenter.plan, plan(job))
    assert "Bowler Demo Bowler Two Hand left PAP 5 1/4 over, 3/8 up" in words_of(page)


def test_a_checker_mends_a_failed_ball_from_file_to_reason_to_plan(
    open_window, person, pump, tmp_path
):
    path = tmp_path / "fails.json"
    path.write_bytes(SAMPLES[6].read_bytes())
    window = open_window()
    person.name_file(path, "Control-o")
    assert "FAIL" in str(window.outcome.cget("text"))
    failed = window.presenter.plan.statics
    reason = str(window.strip.reason.cget("text"))
    assert f"side weight {failed.side_oz:.2f} oz positive, limit 3.00 oz" in reason
    person.keys("Shift-F8")
    checks = window.readings.checks.text
    assert checks.winfo_viewable()
    assert str(checks.tag_cget("about side", "background")) == look.POINTED
    assert "weight" in str(window.status.cget("text"))
    assert "What to change" in str(window.strip.mend.cget("text"))
    person.click(window.strip.mend)
    pump(lambda: isinstance(window.dialog, ChangesDialog), "the changes")
    dialog = window.dialog
    pump(lambda: dialog.ball.frames, "the preview")
    assert dialog.ball.scene.markers
    assert "degree" in dialog.changes.rows[-1][1]
    person.keys("Down", "Return")
    assert not dialog.winfo_exists()
    assert "PASS" in str(window.outcome.cget("text"))
    assert not str(checks.tag_cget("about side", "background"))
    person.keys("Control-s")
    mended = plan(load_job(path))
    assert mended.outcome == "pass"
    wanted = dialog.changes.offers[1].plan.statics
    assert mended.statics.side_oz == pytest.approx(wanted.side_oz, abs=1e-3)
    person.keys("Control-z")
    assert window.presenter.plan.statics == failed
