"""The guided comparisons in a real window, by keys."""

from gui.state.commands import command
from gui.views.tour_view import TourDialog


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
