"""Choosing without a display: the form of wants, the search as rows, one proposal taken and undone."""

import importlib
import threading
from dataclasses import replace
from pathlib import Path

import pytest

import gui
from gui.state.choose import (
    ANYWHERE,
    Asked,
    Form,
    GivenUp,
    Search,
    contours_of,
    form_of,
    head_words,
    parts_of,
    proposal_rows,
    same_but_layout,
    searched,
    stated_by,
)
from gui.state.presenter import Presenter
from layoutkit import InputError, load_job
from layoutkit.choosing.others import name_beside, other_file, other_plans
from layoutkit.job.shop import Calibration, Shop, SurfaceTest, save_shop
from layoutkit.job.wants import Wants, parse_wants, read_wants

SAMPLES = Path(gui.__file__).parent.parent / "sample_bowlers"
SAMPLE = SAMPLES / "01_right_asymmetric.json"


def quick(wants: Wants, path: str = "") -> Search:
    """A search round fewer seeds."""
    module = importlib.import_module("layoutkit.choosing.choose")
    with pytest.MonkeyPatch.context() as patch:
        for name, value in (("SEEDS", 2), ("DRAWS", 100), ("MOST", 2)):
            patch.setattr(module, name, value)
        places = importlib.import_module("layoutkit.choosing.places")
        patch.setattr(places, "NEAR", places.NEAR[:1])
        job = load_job(SAMPLE).model_copy(update={"wants": wants})
        return searched(job, path, {}, threading.Event())


@pytest.fixture(scope="module")
def search() -> Search:
    return quick(read_wants(["moved=0.5:2", "turned=20:60"]))


def test_a_form_states_wants_as_typed_and_wants_fill_the_form() -> None:
    form = Form({"side": Asked("", "1/2", "2"), "legal": Asked("95"), "top": Asked()}, ANYWHERE)
    stated = stated_by(form, None)
    assert stated == {"legal": {"least": 95}, "side": {"most": "1/2", "weight": 2}}
    assert parse_wants(stated) == read_wants(["legal=95", "side=:1/2@2"])
    again = form_of(stated)
    assert again.lines == {"side": Asked("", "1/2", "2"), "legal": Asked("95")}
    assert stated_by(again, stated) == stated
    against = {"differential": {"least": 0.005, "than": "first.json"}}
    assert form_of(against).lines["differential"] == Asked("0.005", "", "", "first.json")
    assert stated_by(form_of(against), {}) == against
    placed = stated_by(Form({}, "above the fingers"), None)
    assert form_of(placed).place == "above the fingers"
    wish = {"pin": {"region": "above the fingers", "weight": 2.0}, "side": {"most": "0.50"}}
    assert stated_by(form_of(wish), wish) == wish  # also what a form would write otherwise
    assert stated_by(Form({}, "past the PAP"), wish) == {"pin": {"region": "past the PAP"}}
    assert stated_by(Form({}, ANYWHERE), wish) == {}


def test_what_the_form_has_no_line_for_stays_as_the_record_states_it() -> None:
    pin = {"over": {"least": "1 1/2"}}
    own = {
        "side": {"most": 1},
        "pin": pin,
        "intermediate_differential": {"least": 0.01},
    }
    stated = stated_by(Form({"side": Asked()}), own)
    assert stated == {"pin": pin, "intermediate_differential": {"least": 0.01}}


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(weight="2"), "side weight: has a weight but no end"),
        (Asked(than="x.json"), "side weight: has another job but no end"),
        (
            Asked("1", weight="much"),
            r"side.weight: much is not possible|side.weight: .much. is not",
        ),
        (Asked("much"), "side"),
        (Asked("1", "0"), "side.most: 0 is below least"),
    ],
)
def test_a_form_that_cannot_be_is_refused_in_one_sentence(asked: Asked, words: str) -> None:
    with pytest.raises(InputError, match=words):
        parse_wants(stated_by(Form({"side": asked}), None))


def test_a_search_that_nobody_waits_for_ends() -> None:
    given_up = threading.Event()
    given_up.set()
    with pytest.raises(GivenUp):
        searched(load_job(SAMPLE), "", {}, given_up)


def test_each_row_tells_its_layout_and_what_speaks_for_it(search: Search) -> None:
    rows = proposal_rows(search)
    assert [row.proposal for row in rows] == list(search.choice.proposals)
    for n, row in enumerate(rows, 1):
        assert row.cells[0] == f"{n}."
        assert "over" in row.cells[2]
        assert "For it: legal; pin moved" in row.words
    assert head_words(search).startswith(f"{len(rows)} of {search.choice.tried} layouts")


def test_a_proposal_is_taken_as_one_step_of_undo(search: Search, tmp_path: Path) -> None:
    p = Presenter(tmp_path)
    assert p.open(SAMPLE)
    before = dict(p.entries)
    proposal = search.choice.proposals[0]
    p.take_proposal(parts_of(search, proposal))
    assert p.plan is not None
    assert p.plan.job.layout == proposal.plan.job.layout
    assert p.plan.statics == proposal.plan.statics
    assert p.filled_job is not None
    assert not same_but_layout(search, p.filled_job)  # the record does not want what was searched
    p.undo()
    assert dict(p.entries) == before
    p.state_wants({"moved": {"least": 0.5, "most": 2}, "turned": {"least": 20, "most": 60}})
    assert p.filled_job is not None
    assert same_but_layout(search, p.filled_job)
    p.edit("bowler.pap.over", "4")
    assert p.filled_job is not None
    assert not same_but_layout(search, p.filled_job)


def test_a_ball_of_a_table_comes_with_its_layout(tmp_path: Path) -> None:
    table = tmp_path / "shelf.csv"
    table.write_text("\n".join((SAMPLES / "shelf.csv").read_text().splitlines()[:2]))
    search = quick(read_wants(["moved=:1", "turned=:20"]), str(table))
    p = Presenter(tmp_path)
    assert p.open(SAMPLE)
    p.take_proposal(parts_of(search, search.choice.proposals[0]))
    assert p.plan is not None
    assert p.plan.job.ball == search.choice.proposals[0].plan.job.ball
    assert p.document.undo_name == "layout that was chosen"


def test_proposals_stay_the_records_where_the_shop_adds_its_arm_or_holes_were_measured(
    search: Search, tmp_path: Path, no_shop: Path
) -> None:
    test = SurfaceTest(weight=2.0, growth=2.0, diameter=8.0)
    arm = Calibration(arm=4.1, sd=0.02, date="2026-11-25", tests=(test,))
    save_shop(Shop(scale=arm), no_shop)
    p = Presenter(tmp_path / "config")
    assert p.open(SAMPLE)
    p.state_wants({"moved": {"least": 0.5, "most": 2}, "turned": {"least": 20, "most": 60}})
    p.edit("scale.arm", "")
    p.edit("as_drilled", "yes")
    p.edit("as_drilled.middle.span", "111 mm")
    assert p.plan is not None
    assert p.filled_job is not None
    assert p.filled_job.scale is not None
    assert p.filled_job.scale.arm == 4.1
    # the grip that was planned, as for any other layout; the measured one is of the holes that are there
    assert p.filled_job.bowler.grip.middle.span != p.plan.job.bowler.grip.middle.span
    of_it = replace(search, job=p.filled_job)
    p.take_proposal(parts_of(of_it, search.choice.proposals[0]))
    assert same_but_layout(of_it, p.filled_job)


def test_wants_are_a_part_of_the_record_with_undo_and_saving(tmp_path: Path) -> None:
    p = Presenter(tmp_path / "config")
    path = tmp_path / "job.json"
    path.write_bytes(SAMPLE.read_bytes())
    assert p.open(path)
    assert p.wants is None
    assert not p.document.dirty
    p.state_wants({"side": {"most": "1/2"}}, "side")
    p.state_wants({"side": {"most": "1/2", "weight": 2}}, "side")
    assert p.document.dirty
    assert p.document.undo_name == "wants"
    assert p.job is not None
    assert p.job.wants == read_wants(["side=:1/2@2"])
    p.undo()  # what was typed in one line is one step
    assert p.wants is None
    assert not p.document.dirty
    p.redo()
    assert p.save() == "saved"
    assert load_job(path).wants == read_wants(["side=:1/2@2"])
    assert p.keep_recovery()
    fresh = Presenter(tmp_path / "other")
    assert fresh.open(path)
    assert fresh.wants == {"side": {"most": "1/2", "weight": 2}}
    fresh.state_wants({})
    assert fresh.wants == {}  # nothing is wanted, which is more than nothing said
    assert fresh.save() == "saved"
    assert load_job(path).wants == Wants()


def test_another_jobs_file_is_found_beside_the_record(tmp_path: Path) -> None:
    record, other = tmp_path / "job.json", tmp_path / "first.json"
    other.write_bytes(SAMPLE.read_bytes())
    assert name_beside(str(other), str(record)) == "first.json"
    assert name_beside(str(other), "") == str(other)
    assert other_file("first.json", str(record)) == str(other)
    assert other_file(str(other), "") == str(other)
    wants = read_wants(["differential=0.005: than first.json"])
    plans = other_plans(wants, str(record), load_job)
    assert plans["first.json"].job == load_job(SAMPLE)
    with pytest.raises(InputError, match=r"gone\.json"):
        other_plans(read_wants(["differential=0: than gone.json"]), str(record), load_job)


def test_the_map_has_the_contours_of_what_is_wanted() -> None:
    assert contours_of(read_wants(["legal=95", "flare_width=3:", "top=:1"])) == "top_oz"
    assert contours_of(read_wants(["ring_spacing=0.25:"])) == "flare"
    assert contours_of(None) == contours_of(Wants()) == "side_oz"
