"""The dialog in which a layout is chosen, on a real display."""

import importlib
import threading
from pathlib import Path

import pytest

from gui.state.choose import searched
from gui.state.commands import command
from layoutkit import load_job
from layoutkit.job.wants import read_wants

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "01_right_asymmetric.json"


@pytest.fixture(scope="module")
def found():
    """A search round fewer seeds, once for all tests."""
    module = importlib.import_module("layoutkit.choosing.choose")
    places = importlib.import_module("layoutkit.choosing.places")
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("SEEDS", 2), ("DRAWS", 100), ("MOST", 2)):
            patch.setattr(module, name, value)
        patch.setattr(places, "NEAR", places.NEAR[:1])
        wants = read_wants(["moved=0.5:2", "turned=20:60"])
        return searched(load_job(SAMPLE), wants, "", threading.Event())


@pytest.fixture
def dialog(sample, pump, found, monkeypatch):
    monkeypatch.setattr("gui.views.choose_view.searched", lambda *_: found)
    sample.run(command("choose"))
    opened = sample.dialog
    pump(opened.winfo_viewable, "the dialog")
    opened.buttons["search"].invoke()
    pump(lambda: opened.rows, "the proposals")
    return opened


def test_a_click_shows_a_proposals_ball_and_apply_takes_it_in_one_step(sample, dialog, pump):
    assert dialog.table.selection() == ("0",)
    assert dialog.seen is dialog.rows[0].proposal.plan
    assert dialog.reasons.content == dialog.rows[0].words
    assert dialog.winfo_width() <= 1024
    before = dict(sample.presenter.entries)
    dialog.table.selection_set("1")
    pump(lambda: dialog.seen is dialog.rows[1].proposal.plan, "the other ball")
    assert dict(sample.presenter.entries) == before  # looking changes nothing
    dialog.buttons["take"].invoke()
    assert sample.presenter.job.layout == dialog.rows[1].proposal.plan.job.layout
    assert dialog.buttons["take"].instate(["!disabled"])
    sample.presenter.undo()
    assert dict(sample.presenter.entries) == before


def test_proposals_of_another_record_cannot_be_taken(sample, dialog, pump):
    sample.presenter.edit("bowler.pap.over", "4")
    pump(dialog.notice.winfo_viewable, "the notice")
    assert dialog.buttons["take"].instate(["disabled"])
    here = dict(sample.presenter.entries)
    dialog.take()
    assert dict(sample.presenter.entries) == here


def test_a_form_that_cannot_be_is_told_and_a_search_given_up_ends(sample, pump, monkeypatch):
    ended = []

    def spied(*words):
        try:
            return searched(*words)
        except BaseException as error:
            ended.append(type(error).__name__)
            raise

    monkeypatch.setattr("gui.views.choose_view.searched", spied)
    sample.run(command("choose"))
    dialog = sample.dialog
    pump(dialog.winfo_viewable, "the dialog")
    dialog.fields["side"][0].insert(0, "much")
    dialog.buttons["search"].invoke()
    assert "side" in dialog.reasons.content
    assert dialog.progress is None
    dialog.fields["side"][0].delete(0, "end")
    dialog.buttons["search"].invoke()
    pump(dialog.progress.winfo_viewable, "the progress")
    dialog.progress.cancel.invoke()
    pump(lambda: ended, "the end of the search")
    assert ended == ["GivenUp"]
    assert dialog.rows == ()
