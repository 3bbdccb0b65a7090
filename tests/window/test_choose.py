"""The tab in which a layout is chosen, on a real display."""

import importlib
import threading
from copy import deepcopy
from dataclasses import replace
from pathlib import Path

import pytest

from gui.state.choose import searched
from gui.state.commands import command
from layoutkit import load_job
from layoutkit.job.wants import parse_wants

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "01_right_asymmetric.json"
WANTS = {"moved": {"least": 0.5, "most": 2}, "turned": {"least": 20, "most": 60}}


@pytest.fixture(scope="module")
def found():
    """A search round fewer seeds, once for all tests."""
    module = importlib.import_module("layoutkit.choosing.choose")
    places = importlib.import_module("layoutkit.choosing.places")
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("SEEDS", 2), ("DRAWS", 100), ("MOST", 2)):
            patch.setattr(module, name, value)
        patch.setattr(places, "NEAR", places.NEAR[:1])
        job = load_job(SAMPLE).model_copy(update={"wants": parse_wants(WANTS)})
        return searched(job, "", {}, threading.Event())


@pytest.fixture
def view(sample, pump, found, monkeypatch):
    """The tab with its proposals."""
    monkeypatch.setattr("gui.views.choose_view.searched", lambda *_: found)
    sample.presenter.state_wants(WANTS)
    sample.run(command("choose"))
    shown = sample.readings.choice
    pump(shown.winfo_viewable, "the tab")
    shown.buttons["search"].invoke()
    pump(lambda: shown.rows, "the proposals")
    return shown


def test_a_click_shows_a_proposals_ball_on_its_map_and_apply_takes_it(sample, view, pump):
    assert view.table.selection() == ("0",)
    assert view.seen is view.rows[0].proposal.plan
    assert view.reasons.content == view.rows[0].words
    before = dict(sample.presenter.entries)
    view.table.selection_set("1")
    pump(lambda: view.seen is view.rows[1].proposal.plan, "the other ball")
    pump(lambda: view.map is not None and view.map.around is not None, "its map")
    assert view.map.globe.plan is view.seen
    assert view.cover.winfo_viewable()
    assert "Proposal 2, not in the record" in view.covered.cget("text")
    assert dict(sample.presenter.entries) == before  # looking changes nothing
    view.buttons["take"].invoke()
    assert sample.presenter.job.layout == view.rows[1].proposal.plan.job.layout
    assert not view.stale
    pump(lambda: not view.cover.winfo_ismapped(), "the record's ball")
    sample.presenter.undo()
    assert dict(sample.presenter.entries) == before


def test_the_ball_is_the_records_again_in_another_tab_or_after_escape(sample, view, pump):
    pump(view.cover.winfo_ismapped, "the proposal's ball")
    sample.readings.show_lane()
    pump(lambda: not view.cover.winfo_ismapped(), "the record's ball")
    sample.run(command("choose"))
    pump(view.cover.winfo_ismapped, "the proposal's ball again")
    view.table.focus_force()
    pump(lambda: view.focus_get() is view.table, "the keyboard")
    view.table.event_generate("<Escape>")
    pump(lambda: not view.cover.winfo_ismapped(), "the record's ball")
    assert view.seen is None


def test_proposals_of_another_record_or_other_wants_cannot_be_taken(sample, view, pump):
    view.fields["moved"][1].insert("end", ".5")
    pump(view.notice.winfo_viewable, "the notice")
    assert sample.presenter.wants["moved"]["most"] == 2.5
    sample.presenter.undo()
    assert view.fields["moved"][1].get() == "2"
    assert not view.stale
    sample.presenter.edit("bowler.pap.over", "4")
    pump(view.notice.winfo_viewable, "the notice")
    assert view.buttons["take"].instate(["disabled"])
    here = dict(sample.presenter.entries)
    view.take()
    assert dict(sample.presenter.entries) == here


def test_what_is_typed_is_in_the_record_or_told_and_a_search_given_up_ends(
    sample, pump, monkeypatch, tmp_path
):
    ended = []

    def spied(*words):
        try:
            return searched(*words)
        except BaseException as error:
            ended.append(type(error).__name__)
            raise

    monkeypatch.setattr("gui.views.choose_view.searched", spied)
    sample.run(command("choose"))
    view, p = sample.readings.choice, sample.presenter
    pump(view.winfo_viewable, "the tab")
    assert not p.document.dirty  # looking states nothing
    assert sample.focus_get() is view.fields["legal"][0]
    view.fields["side"][0].insert(0, "much")
    assert "side" in view.reasons.content
    view.buttons["search"].invoke()
    assert view.progress is None
    assert p.wants is None
    view.fields["side"][0].delete(0, "end")
    view.fields["side"][1].insert(0, "1/2")
    assert p.wants == {"legal": {"least": 95}, "marks_clear": {"least": 0}, "side": {"most": "1/2"}}
    assert p.document.dirty
    other = tmp_path / "other.json"
    other.write_bytes(SAMPLE.read_bytes())
    monkeypatch.setattr("gui.views.choose_view.filedialog.askopenfilename", lambda **_: str(other))
    view.fields["differential"][0].insert(0, "-0.01")
    view.others["differential"].invoke()
    assert p.wants["differential"] == {
        "least": -0.01,
        "than": "other.json",
    }  # they are in one folder
    assert view.others["differential"].cget("text") == "other"
    view.buttons["search"].invoke()
    pump(view.progress.winfo_viewable, "the progress")
    view.progress.cancel.invoke()
    pump(lambda: ended, "the end of the search")
    assert ended == ["GivenUp"]
    assert view.rows == ()
    view.others["differential"].invoke()
    assert "than" not in p.wants["differential"]
    # another job ends a search under way, and what could not be read is not its own
    view.buttons["search"].invoke()
    pump(view.progress.winfo_viewable, "the progress")
    view.fields["side"][0].insert(0, "much")
    p.open_sample(SAMPLE)
    assert not view.progress.winfo_exists()
    assert view.fields["side"][0].get() == ""
    assert view.reasons.content == ""
    pump(lambda: len(ended) == 2, "the end of the search")
    assert view.search is None


def test_the_same_wants_are_searched_again(view, found, monkeypatch, pump):
    again = replace(found, choice=deepcopy(found.choice))
    monkeypatch.setattr("gui.views.choose_view.searched", lambda *_: again)
    view.buttons["search"].invoke()
    pump(lambda: view.search is again, "the other search")
    assert [row.words for row in view.rows]


def test_wants_and_proposals_take_turns_where_there_is_no_room_for_both(sample, view, pump):
    for size in ("1024x738", "1366x738"):
        sample.geometry(size)
        pump(lambda size=size: sample.winfo_width() == int(size[:4]), "the size")
        pump(view.table.winfo_viewable, "the proposals")
        assert not view.page.winfo_viewable()
        right = view.winfo_rootx() + view.winfo_width()
        bottom = view.winfo_rooty() + view.winfo_height()
        for part in (view.table, view.reasons, *view.buttons.values()):
            assert part.winfo_rootx() + part.winfo_width() <= right
            assert part.winfo_rooty() + part.winfo_height() <= bottom
        view.buttons["turn"].invoke()
        pump(view.page.winfo_viewable, "the wants")
        assert not view.table.winfo_viewable()
        assert sample.focus_get() is view.fields["legal"][0]
        view.fields["side"][0].insert("end", "much")  # told where it can be read
        assert "side" in view.head.cget("text")
        view.fields["side"][0].delete(0, "end")
        view.buttons["turn"].invoke()
    sample.geometry("1600x1170")
    pump(lambda: view.page.winfo_viewable() and view.table.winfo_viewable(), "both")
    assert not view.buttons["turn"].winfo_ismapped()
