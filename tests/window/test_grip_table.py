"""The grip's table, on a real display: two whole jobs by keys alone, folds, letters and copies."""

from pathlib import Path

import pytest

from layoutkit.job.store import load_job
from layoutkit.planning.plan import plan

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))


class Typist:
    """Sends keys to whatever has the keyboard; counts presses of Tab and values typed."""

    def __init__(self, window, hands):
        self.window, self.hands, self.tabs, self.values = window, hands, 0, 0

    def keys(self, *names):
        for name in names:
            self.tabs += name == "Tab"
            self.hands.key(self.window.focus_get(), name)

    def write(self, *texts):
        """Values one below the other: Tab between them, an empty one passed over, a key in brackets."""
        for i, text in enumerate(texts):
            if i:
                self.keys("Tab")
            if text.startswith("["):
                self.keys(text[1:-1])
            elif text:
                self.values += 1
                letters = {" ": "space", "/": "slash", ".": "period"}
                self.keys(*(f"Key-{letters.get(each, each)}" for each in text))


def same_grip(window, job):
    """Whether the window's grip is that of a job, its drill points apart."""
    ours, grip = window.presenter.job.bowler.grip, job.bowler.grip
    thumb = grip.thumb.model_copy(update={"tip_angle": None})
    return ours.model_dump() == grip.model_copy(update={"thumb": thumb}).model_dump()


def test_a_symmetric_ball_from_empty_window_to_sheet_by_keys_alone(
    open_window, hands, pump, chosen, tmp_path
):
    window, job = open_window(), load_job(SAMPLES[2])
    typist = Typist(window, hands)
    typist.keys("Alt-Key-1")
    typist.write("Demo Bowler Three", "", "4 3/4", "1/4")
    typist.keys("Alt-Key-2")
    typist.write("3/8", "15/16", "2 1/2", "1/8", "", "4 1/8", "23/32", "2", "1/8", "", "4", "11/16")
    typist.keys("Control-m")
    typist.keys("Alt-Key-3")
    typist.write("Demo Symmetric", "DEMO0003", "8.55", "", "15.03", "2.9", "2 1/2", "[space]", "")
    typist.keys("Tab")
    typist.write("2.55", "0.04")
    typist.keys("Alt-Key-4")
    typist.write("[Key-a]", "70", "4", "40")
    assert not window.presenter.problems
    assert same_grip(window, job)
    marks = window.presenter.plan.marks
    assert marks.pin.xyz == pytest.approx(plan(job).marks.pin.xyz, abs=1e-9)
    assert window.presenter.job.ball.psa is None
    page = tmp_path / "sheet.pdf"
    chosen(page)
    typist.keys("Control-p")
    pump(page.exists, "the sheet")
    assert typist.values <= 25
    assert typist.tabs <= 35


def test_an_asymmetric_ball_with_sleeves_by_keys_alone(open_window, hands):
    window, job = open_window(), load_job(SAMPLES[0])
    typist = Typist(window, hands)
    typist.keys("Alt-Key-1")
    typist.write("Demo Bowler One", "", "5", "1/2")
    typist.keys("Alt-Key-2")
    typist.write("1/4", "1", "2 3/4", "1/8 reverse", "1/16 l")
    typist.keys("Tab")
    typist.write("4 3/8", "3/4", "1 1/4", "1/8", "1/16l", "4 1/4", "23/32", "", "1/16", "1/16")
    typist.keys("Tab", "space")
    typist.write("[space]", "1 3/8", "2 3/4", "1.2", "", "")
    typist.keys("Tab")
    typist.write("[space]", "31/32", "1 1/2", "1.15", "[space]", "1 1/4")
    typist.keys("Control-m")
    typist.keys("Alt-Key-3")
    typist.write("Demo Asymmetric", "DEMO0001", "8.55")
    typist.keys("F8")
    typist.write("15.12", "2.75", "3")
    typist.keys("F8")
    typist.write("quarter", "20")
    typist.keys("F8")
    typist.write("2.52", "0.05", "0.015")
    typist.keys("Alt-Key-4")
    typist.write("[Key-a]", "50", "4 1/2", "35")
    assert not window.presenter.problems
    ours, grip = window.presenter.job.bowler.grip, job.bowler.grip
    length = {"length": grip.thumb.sleeve.length_net}
    sleeve = ours.thumb.sleeve.model_copy(update=length)
    thumb = ours.thumb.model_copy(update={"sleeve": sleeve})
    assert ours.model_copy(update={"thumb": thumb}) == grip
    marks = window.presenter.plan.marks
    assert marks.pin.xyz == pytest.approx(plan(job).marks.pin.xyz, abs=1e-9)
    assert typist.values <= 40
    assert typist.tabs <= 40


def test_folded_rows_are_out_of_the_way_until_they_are_gone_to(sample, pump):
    form = sample.form
    bore = form.rows["bowler.grip.thumb.sleeve.bore"]
    form.show_group("grip")
    assert not bore.box.winfo_ismapped()
    assert str(form.table.folds["sleeve"].cget("text")) == "▸ Sleeves: thumb, middle, ring"
    sample.presenter.edit("bowler.grip.thumb.sleeve.bore", "x")
    assert bore.words_shown
    pump(bore.message.winfo_viewable, "what is wrong, under the table")
    assert str(bore.message.cget("text")).startswith("✗ Thumb, Bore diameter: ")
    sample.presenter.undo()
    form.show_field("bowler.grip.thumb.sleeve.bore")
    pump(bore.box.winfo_ismapped, "the row")
    assert sample.focus_get() is bore.inputs[0]
    assert not form.rows["bowler.grip.index.span"].box.winfo_ismapped()
    sample.presenter.edit("bowler.grip.index", "yes")
    pump(form.rows["bowler.grip.index.gap"].box.winfo_ismapped, "the index finger's column")


def test_what_an_empty_hole_lacks_comes_from_the_middle_finger_in_one_step(sample, hands):
    p = sample.presenter
    p.edit("bowler.grip.little", "yes")
    for name in ("span", "diameter"):
        p.edit(f"bowler.grip.little.{name}", "4")
    span = sample.form.rows["bowler.grip.little.span"]
    sample.form.show_field(span.field.path)
    before = dict(p.entries)
    hands.key(span.inputs[0], "Control-m")
    little, middle = (
        {k.partition(f".{d}.")[2]: v for k, v in p.entries.items() if f"grip.{d}." in k}
        for d in ("little", "middle")
    )
    assert little == {**middle, "span": "4", "diameter": "4"}
    p.undo()
    assert dict(p.entries) == before
