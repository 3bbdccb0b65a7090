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
    form_of,
    head_words,
    parts_of,
    proposal_rows,
    same_but_layout,
    searched,
    wants_of,
)
from gui.state.presenter import Presenter
from layoutkit import InputError, load_job
from layoutkit.job.shop import Calibration, Shop, SurfaceTest, save_shop
from layoutkit.job.wants import PinWant, Range, Wants, read_wants

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
        return searched(load_job(SAMPLE), wants, path, threading.Event())


@pytest.fixture(scope="module")
def search() -> Search:
    return quick(read_wants(["moved=0.5:2", "turned=20:60"]))


def test_a_form_reads_as_wants_and_wants_fill_the_form() -> None:
    form = Form({"side": Asked("", "1/2", "2"), "legal": Asked("95"), "top": Asked()}, ANYWHERE)
    wants = wants_of(form, None)
    assert wants.side == Range(most=0.5, weight=2.0)
    assert wants.legal == Range(least=95.0)
    assert wants.top is None
    again = form_of(wants)
    assert again.lines == {"side": Asked("", "0.5", "2"), "legal": Asked("95")}
    assert wants_of(again, wants) == wants
    placed = wants_of(Form({}, "above the fingers"), None)
    assert form_of(placed).place == "above the fingers"
    wish = Wants(pin=PinWant(region="above the fingers", weight=2.0), side=Range(most=0.123456789))
    assert wants_of(form_of(wish), wish) == wish
    assert wants_of(Form({}, "past the PAP"), wish).pin == PinWant(region="past the PAP")
    assert wants_of(Form({}, ANYWHERE), wish).pin is None


def test_what_the_form_has_no_line_for_stays_as_the_record_states_it() -> None:
    own = Wants(
        ring_spacing=Range(least=0.25), side=Range(most=1.0), pin=PinWant(over=Range(least=1.0))
    )
    wants = wants_of(Form({"side": Asked()}), own)
    assert (wants.ring_spacing, wants.side, wants.pin) == (own.ring_spacing, None, own.pin)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (Asked(weight="2"), "side weight: has a weight but no end"),
        (Asked("much"), "side"),
        (Asked("1", "0"), "side.most: 0 is below least"),
    ],
)
def test_a_form_that_cannot_be_is_refused_in_one_sentence(asked: Asked, words: str) -> None:
    with pytest.raises(InputError, match=words):
        wants_of(Form({"side": asked}), None)


def test_a_search_that_nobody_waits_for_ends() -> None:
    given_up = threading.Event()
    given_up.set()
    with pytest.raises(GivenUp):
        searched(load_job(SAMPLE), Wants(), "", given_up)


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
    assert same_but_layout(search, p.filled_job)
    p.undo()
    assert dict(p.entries) == before
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
