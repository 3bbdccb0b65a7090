"""Choosing: proposals against brute force, against plans of their own, in the mirror, and refusals."""

import importlib
import json
from collections.abc import Sequence
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layoutkit import InputError, choose, load_job, parse_job, plan, roll
from layoutkit.bench.shelf import load_labels
from layoutkit.choosing.choose import Choice, Proposal
from layoutkit.choosing.places import Steps, whole_ball
from layoutkit.choosing.regions import region
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Job, PinPlace, PlacementLayout, dump_job
from layoutkit.job.wants import REGIONS, Range, Wants, read_wants
from layoutkit.lane.aim import released
from layoutkit.lane.layouts import Places, shots
from layoutkit.lane.roll import under
from layoutkit.output.choose_report import PLACED, choose_dict, choose_text, drop_words
from layoutkit.planning.certainty import illegal, limits, monte_carlo
from layoutkit.planning.values import Plan

FOLDER = Path(__file__).parents[2] / "sample_bowlers"
SHELF = FOLDER / "shelf.csv"
RIGHT = load_job(FOLDER / "01_right_asymmetric.json")
LEFT_PLAIN = load_job(FOLDER / "08_left_symmetric.json")


def laid(job: Job, over: float, up: float, bearing: float) -> Job:
    pin = PinPlace(over=over, up=up) if up >= 0.0 else PinPlace(over=over, down=-up)
    layout = PlacementLayout(by="placement", pin=pin, bearing=bearing)
    return job.model_copy(update={"layout": layout})


def again(p: Proposal) -> Plan:
    """The proposal planned from nothing but the figures of its record's text."""
    return plan(parse_job(json.loads(json.dumps(dump_job(p.plan.job)))))


WISHES = read_wants(
    ["side=1:1.25@2", "differential=0.065:@1", "marks_clear=0.25:", "moved=:0.5@40"]
)


@pytest.fixture(scope="module")
def wished() -> Choice:
    """Wishes that cannot all be met, without a shot."""
    return choose(RIGHT, WISHES)


RINGS = read_wants(
    ["flare_width=3.5:4", "rings_clear=1/4:", "legal=95", "pin=above the fingers", "side=:0.4"]
)


def searched(job: Job, wants: Wants) -> Choice:
    """A search round fewer seeds, by fewer shots, which is all that differs."""
    module = importlib.import_module("layoutkit.choosing.choose")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "SEEDS", 6)
        patch.setattr(module, "SHOTS", (60, 40))
        return choose(job, wants)


@pytest.fixture(scope="module")
def rolled() -> Choice:
    """Musts about the rings, the chance of being legal and the place of the pin."""
    return searched(RIGHT, RINGS)


# all of the ball on 1/2 in and 10 degrees: what lies farther from the record's pin than the best
# proposal's cost would pay for needs no plan
@pytest.mark.parametrize("job", [RIGHT, LEFT_PLAIN], ids=["right", "left"])
def test_no_layout_of_a_grid_of_single_plans_is_better(job: Job, wished: Choice) -> None:
    choice = wished if job is RIGHT else choose(job, WISHES)
    best = choice.proposals[0]
    assert best.dropped == ()
    assert best.cost > 1.0  # so that there is something to be better in
    here = np.array(plan(job).marks.pin.xyz)
    radius = float(np.linalg.norm(here))
    rows = whole_ball(radius, Steps(0.5, 10.0))
    over, up = rows.T[:2] / radius
    side = 1.0 if job.bowler.hand == "right" else -1.0
    pins = [side * np.sin(over) * np.cos(up), np.sin(up), np.cos(over) * np.cos(up)]
    there = radius * np.transpose(pins)
    arcs = radius * np.arctan2(np.linalg.norm(np.cross(there, here), axis=1), there @ here)
    moved = 40.0 * (np.maximum(arcs - 0.5, 0.0) / 0.5) ** 2
    near = np.flatnonzero(moved <= best.cost)
    assert len(near) > 100
    cheapest = np.inf
    for row, pin, far in zip(rows[near].tolist(), there[near], moved[near], strict=True):
        p = plan(laid(job, *row))
        assert p.marks.pin.xyz == pytest.approx(pin, abs=1e-9)
        if p.outcome == "fail" or min(h.clearance for h in p.holes) < 0.25:
            continue
        ends = p.statics.range.side_oz
        assert ends is not None
        off = max(1.0 - ends[0], ends[1] - 1.25, 0.0) / 0.25
        thin = max(0.065 - p.inertia.differential, 0.0) / 0.005
        cheapest = min(cheapest, 2.0 * off**2 + thin**2 + far)
    assert best.cost <= cheapest + 1e-6
    assert cheapest < np.inf


def test_every_must_holds_when_a_proposal_is_planned_again(rolled: Choice) -> None:
    assert len(rolled.proposals) >= 3
    base = plan(RIGHT)
    fingers = region(base, "above the fingers")
    for p in rolled.proposals:
        assert p.dropped == ()
        layout = p.layout
        assert (16.0 * layout.pin.over).is_integer()
        assert (16.0 * layout.pin.up_net).is_integer()
        assert layout.bearing is not None
        assert layout.bearing.is_integer()
        fresh = again(p)
        assert fresh.outcome != "fail"
        side = fresh.statics.range.side_oz
        assert side is not None
        assert side[1] <= 0.4
        shot = roll(under(base, fresh), released(base))
        assert shot.flare is not None
        assert 3.5 <= shot.flare.width <= 4.0
        assert not shot.near_holes  # none within a quarter of an inch
        chance = illegal(monte_carlo(fresh.job, 1000), limits(fresh.checks)).any.chance
        assert chance == p.chance.any.chance <= 0.05
        low, high = fingers.over
        assert low <= fresh.marks.pin.over <= high
        assert fresh.marks.pin.up >= fingers.up[0]


def test_proposals_differ_by_more_than_a_driller_can_mark(rolled: Choice, wished: Choice) -> None:
    for choice in (rolled, wished):
        assert 3 <= len(choice.proposals) <= 6
        for n, p in enumerate(choice.proposals):
            for q in choice.proposals[:n]:
                a, b = p.plan.marks.pin.xyz, q.plan.marks.pin.xyz
                apart = np.linalg.norm(np.subtract(a, b))
                turn = abs(
                    ((p.layout.bearing or 0.0) - (q.layout.bearing or 0.0) + 180.0) % 360.0 - 180.0
                )
                assert apart > 0.249 or turn > 10.0


def test_proposals_come_in_the_order_of_their_cost(wished: Choice) -> None:
    costs = [p.cost for p in wished.proposals]
    assert all(a <= b + 1e-6 for a, b in pairwise(costs))
    assert [p.dearer for p in wished.proposals] == pytest.approx([c - costs[0] for c in costs])
    assert [p.tied for p in wished.proposals] == [False] + [
        abs(c - costs[0]) < 1e-6 for c in costs[1:]
    ]


def test_mirrored_jobs_give_mirrored_proposals(rolled: Choice) -> None:
    record = dump_job(RIGHT)
    record["bowler"]["hand"] = "left"
    for hole in record["bowler"]["grip"].values():
        if isinstance(hole, dict) and "pitch" in hole:
            swap = {"left": "right", "right": "left"}
            hole["pitch"] = {swap.get(name, name): v for name, v in hole["pitch"].items()}
    record["ball"]["psa"]["cg_bearing"] *= -1
    mirrored = searched(parse_job(record), RINGS)
    one, other = choose_dict(rolled), choose_dict(mirrored)
    assert one["proposals"] == other["proposals"]
    assert one["possible"] == other["possible"]


# sets of wants with one that nothing can meet, beside what can be
IMPOSSIBLE = (
    ("differential", ["differential=0.12:", "side=-1:1"]),
    ("differential", ["differential=:-0.05", "top=-3:3", "turned=:90@1"]),
    ("intermediate_differential", ["intermediate_differential=0.1:", "moved=:6"]),
    ("rg_about_pap", ["rg_about_pap=:2.3", "marks_clear=-1:"]),
    ("rg_about_pap", ["rg_about_pap=2.9:", "finger=-2:2", "legal=1:"]),
    ("moved", ["moved=13.6:", "legal=1:"]),
    ("moved", ["moved=14:", "side=0:0.5@2"]),
    ("side", ["side=6:", "turned=:90"]),
    ("side", ["side=:-6", "differential=0.03:"]),
    ("finger", ["finger=6:", "pin=past the PAP"]),
    ("finger", ["finger=:-6", "moved=0.5:"]),
    ("top", ["top=7:", "marks_clear=-1:"]),
    ("top", ["top=:-7", "intermediate_differential=0.001:"]),
    ("flare_width", ["flare_width=12:", "side=-1:1"]),
    ("ring_spacing", ["ring_spacing=3:", "top=-3:3"]),
    ("rings_clear", ["rings_clear=6.9:", "flare_width=0:14"]),
    ("marks_clear", ["marks_clear=9:", "side=-2:2"]),
    ("entry_angle", ["entry_angle=20:", "marks_clear=-1:"]),
    ("board_at_pins", ["board_at_pins=:2", "top=-3:3"]),
    ("board_at_pins", ["board_at_pins=38:", "pin=past the PAP"]),
)


@pytest.fixture
def wide(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search on a wide grid, which tells what is possible all the same."""
    module = importlib.import_module("layoutkit.choosing.choose")
    places = importlib.import_module("layoutkit.choosing.places")
    grid = partial(places.whole_ball, steps=places.Steps(1.0, 30.0))
    monkeypatch.setattr(places, "whole_ball", grid)
    monkeypatch.setattr(places, "NEAR", places.NEAR[:1])
    for what, value in (("SEEDS", 1), ("SHOTS", (30,)), ("DRAWS", 50), ("MOST", 1)):
        monkeypatch.setattr(module, what, value)


@pytest.mark.usefixtures("wide")
@pytest.mark.parametrize(("name", "texts"), IMPOSSIBLE, ids=[" ".join(t) for _, t in IMPOSSIBLE])
def test_an_impossible_want_is_named_with_what_is_possible(name: str, texts: list[str]) -> None:
    choice = choose(RIGHT, read_wants(texts))
    (told,) = choice.impossible
    assert told.want.name == name
    assert name in choice.proposals[0].dropped
    least, most = told.want.least, told.want.most
    assert told.high < least if least is not None else told.low > most
    words = " ".join(choose_text(choice).split())
    placed = any(text.startswith(("pin", "moved", "turned")) and "@" not in text for text in texts)
    where = " with pin and mark where they must be" if placed and name not in PLACED else ""
    assert f"Not possible on this ball{where}: {told.want.figure.words}" in words
    assert (f"possible, of the {choice.rolled} layouts rolled:" in words) is told.want.figure.lane
    assert "No layout meets every must: the nearest drops" in words


@pytest.mark.usefixtures("wide")
def test_shots_tell_where_to_look_on_each_of_many_balls_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    module = importlib.import_module("layoutkit.choosing.choose")
    monkeypatch.setattr(module, "MANY_BALLS", 0)
    wants = read_wants(["flare_width=:3@1", "entry_angle=5:@1"])  # nothing has both
    cases: list[Places] = []

    def noted(some: Sequence[Places], *rest: Any) -> list[dict[str, Array]]:
        cases.extend(some)
        return shots(some, *rest)

    monkeypatch.setattr(module, "shots", noted)
    led = choose(RIGHT, wants)
    whole = np.concatenate([which for found, which in cases if found is cases[0][0]])
    assert len(whole) == len(set(whole.tolist())) == sum(module.FEWER)
    # as many, none of them where others look the best
    monkeypatch.setattr(module, "FEWER", (sum(module.FEWER),))
    even = choose(RIGHT, wants)
    assert abs(led.rolled - even.rolled) < 5
    assert led.proposals[0].cost < even.proposals[0].cost - 0.1


@pytest.mark.usefixtures("wide")
def test_wants_that_only_clash_are_dropped_without_being_called_impossible() -> None:
    choice = choose(RIGHT, read_wants(["pin=above the fingers", "moved=3:", "turned=:1"]))
    assert choice.impossible == ()
    clash = choose(RIGHT, read_wants(["pin=thumb side of the midline", "moved=:1"]))
    assert clash.impossible == ()
    assert len(clash.proposals[0].dropped) == 1
    assert drop_words(clash, "fraction").startswith("No layout meets every must")


def test_a_shelf_is_searched_and_its_other_columns_come_along(tmp_path: Path) -> None:
    table = tmp_path / "shelf.csv"
    rows = SHELF.read_text().splitlines()[:3]
    table.write_text(
        "\n".join([f"{rows[0]},price", f"{rows[1]},120", f"{rows[2]},95", "Bad,,x"]) + "\n"
    )
    labels = load_labels(str(table))
    choice = choose(RIGHT, read_wants(["moved=:1", "turned=:20"]), labels)
    assert choice.balls == 2
    assert [u.line for u in choice.unusable] == [4]
    assert {p.line for p in choice.proposals} == {2, 3}
    from layoutkit.bench.shelf import label_table

    assert "price 120" in choose_text(choice, table=label_table(str(table)))


def test_another_jobs_figure_is_what_a_want_may_be_about() -> None:
    other = plan(laid(RIGHT, 1.0, 3.0, 90.0))
    wants = Wants(
        differential=Range(least=0.002, than="kept", weight=None), turned=Range(most=60.0)
    )
    choice = choose(RIGHT, wants, others={"kept": other})
    for p in choice.proposals:
        assert p.plan.inertia.differential >= other.inertia.differential + 0.002
    with pytest.raises(InputError, match="not among the other jobs"):
        choose(RIGHT, wants)


def test_a_job_without_a_pap_or_label_is_refused_with_its_reason() -> None:
    with pytest.raises(InputError, match=r"bowler\.pap: missing; choosing a layout needs"):
        choose(load_job(FOLDER / "14_first_ball.json"))
    with pytest.raises(InputError, match=r"ball\.top_weight: missing; choosing a layout needs"):
        choose(load_job(FOLDER / "15_used_ball.json"))


@pytest.mark.parametrize(
    ("wants", "words"),
    [
        (
            {"flare_width": {}},
            "wants.flare_width: asks for nothing; possible: least, most or both.",
        ),
        (
            {"side": {"least": 1, "most": 0}},
            "wants.side.most: 0 is below least; possible: 1 or more.",
        ),
        ({"flare_width": {"least": 20}}, "wants.flare_width.least: 20 in is outside -14 to 14 in."),
        ({"pin": {"region": "here"}}, "wants.pin.region: "),
        ({"pin": {"region": REGIONS[0], "up": {"least": 1}}}, "wants.pin.region: stands beside"),
        ({"side": {"least": 1, "than": "x"}}, "wants.side.than: has no other job's figure"),
        ({"side": {"least": 1, "weight": 0}}, "wants.side.weight: 0 is not possible"),
    ],
)
def test_wants_that_cannot_be_are_refused_in_one_sentence(wants: Any, words: str) -> None:
    with pytest.raises(InputError) as error:
        parse_job({**dump_job(RIGHT), "wants": wants})
    assert str(error.value).startswith(words)


def test_wants_stay_in_the_record_as_they_were_written() -> None:
    wants = {"flare_width": {"least": "3 1/2", "weight": 2}, "pin": {"over": {"most": "1/2"}}}
    job = parse_job({**dump_job(RIGHT), "wants": wants})
    assert dump_job(job)["wants"] == wants
    read = read_wants(["flare-width=3 1/2:@2", "side=:0,5"], job.wants)
    assert read.flare_width == Range(least=3.5, weight=2.0)
    assert read.side == Range(most=0.5)
    assert read.pin is not None


def test_regions_lie_where_their_names_say() -> None:
    p = plan(RIGHT)
    holes = {h.name: h for h in p.holes}
    above, below = region(p, "above the fingers"), region(p, "below the fingers")
    for name in ("middle", "ring"):
        assert above.over[0] < holes[name].over < above.over[1]
        assert below.up[1] < holes[name].up < above.up[0]
    between = region(p, "between ring hole and PAP")
    assert p.marks.pap is not None
    assert holes["ring"].over < between.over[0] < between.over[1] == p.marks.pap.over
    assert between.outside(np.array([between.over[0] - 0.3]), np.array([between.up[1] + 0.4])) == (
        pytest.approx(0.5)
    )
