"""The guided comparisons in a real window, by keys."""

from pathlib import Path

from gui.state.commands import command
from gui.state.tour import TOURS
from gui.views.tour_view import TourDialog

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))


def test_a_comparison_moves_the_layout_and_brings_it_back(sample, pump, hands):
    p = sample.presenter
    before = p.document.record()
    sample.run(command("tour"))
    dialog = sample.dialog
    assert isinstance(dialog, TourDialog)
    hands.key(dialog.buttons["nearer"], "Return")
    assert dialog.words.cget("text").startswith("Stop 1 of")
    assert p.document.record() != before
    hands.key(dialog.buttons["next"], "Return")
    assert dialog.words.cget("text").startswith("Stop 2 of")
    hands.key(dialog.buttons["close"], "Return")
    pump(lambda: not dialog.winfo_exists(), "the dialog to be gone")
    assert p.document.record() == before


def test_another_job_ends_a_comparison_and_takes_nothing_of_it(sample, pump, hands):
    p = sample.presenter
    saved = p.document.record()
    sample.run(command("tour"))
    dialog = sample.dialog
    hands.key(dialog.buttons["nearer"], "Return")
    sample.run(command("tour"))  # a window has one
    assert sample.dialog is dialog
    p.open_sample(SAMPLES[1])
    assert dialog.guide is None
    assert dialog.words.cget("text") == ""
    other = p.document.record()
    p.keep_reference()
    hands.key(dialog.buttons["close"], "Return")
    assert p.document.record() == other
    assert p.reference is not None
    # what only the comparison has moved is not asked about as a change
    p.open_sample(SAMPLES[0])
    sample.run(command("tour"))
    sample.dialog.begin(TOURS[0])
    assert p.document.dirty
    sample.run(command("new"))
    assert not sample.dialog.winfo_exists()
    assert p.document.record() != saved
