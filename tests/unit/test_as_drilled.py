"""Holes that were measured after drilling: the plan is made of them, and differences are told."""

import copy
from typing import Any

import pytest

from layoutkit.bench.shelf import rank
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.record import dump_job, parse_job
from layoutkit.job.store import load_job, save_job
from layoutkit.output.report import difference_words, report
from layoutkit.output.short_report import short_report
from layoutkit.planning.as_drilled import BRIDGE, as_measured, differences, square_bridge
from layoutkit.planning.changes import depth_changed
from layoutkit.planning.grip_marks import edge_checks
from layoutkit.planning.plan import plan
from layoutkit.planning.redrill import redrilled

MEASURED: dict[str, dict[str, Any]] = {
    "middle": {"span": "4 7/16", "diameter": "3/4", "depth": 1.3, "pitch": {"forward": "1/16"}},
    "ring": {"span": 4.25},
    "thumb": {"diameter": "1 1/32", "depth": "2 1/2", "pitch": {"reverse": "3/8", "left": "1/8"}},
}


def measured(record: dict[str, Any], **parts: Any) -> dict[str, Any]:
    return copy.deepcopy(record) | {"as_drilled": parts}


def test_the_plan_is_that_of_a_record_of_the_measures(record: dict[str, Any]) -> None:
    """The measures, written into another record by hand, plan the same ball."""
    done = plan(parse_job(measured(record, **MEASURED)))
    for digit, found in MEASURED.items():
        record["bowler"]["grip"][digit] |= found
    want = plan(parse_job(record)).as_dict()
    got = done.as_dict()
    assert [d["name"] for d in got.pop("as_drilled")][:2] == ["middle span", "middle diameter"]
    assert got == want


def test_nothing_measured_changes_nothing(record: dict[str, Any]) -> None:
    job = parse_job(record)
    assert as_measured(job) is job
    assert differences(job) == ()
    assert "as_drilled" not in plan(job).as_dict()


# worked out by hand with geodesics on the sphere, apart from this program:
# ball, spans, finished diameters, bores, cut edges apart, bridge
BACK = [
    (8.50, (4.375, 4.25), (0.75, 0.75, 1.0), (0.96875, 0.96875), 0.256488926908, 0.25),
    (8.55, (4.375, 4.25), (0.75, 0.75, 1.0), (0.96875, 0.75), 0.25651222973, 0.25),
    (8.55, (4.5, 4.0), (0.75, 0.6875, 1.0), (0.96875, 0.96875), 0.362428198854, 0.25),
    (8.59, (5.0, 4.75), (0.84375, 0.8125, 1.125), (0.96875, 0.96875), 0.401432237412, 0.375),
]


@pytest.mark.parametrize(("ball", "spans", "holes", "bores", "edges", "bridge"), BACK)
def test_the_bridge_comes_back_from_its_cut_edges(
    record: dict[str, Any],
    ball: float,
    spans: tuple[float, ...],
    holes: tuple[float, ...],
    bores: tuple[float, ...],
    edges: float,
    bridge: float,
) -> None:
    grip = record["bowler"]["grip"]
    for name, span, hole, bore in zip(("middle", "ring"), spans, holes, bores, strict=False):
        grip[name] = {"span": span, "diameter": hole, "depth": 1}
        if bore > hole:
            grip[name]["sleeve"] = {"bore": bore, "bore_depth": 1.5, "density": 1.1}
    grip["thumb"] = {"diameter": holes[2], "depth": 2}
    assert square_bridge(parse_job(record).bowler.grip, edges, ball / 2.0) == pytest.approx(
        bridge, abs=1e-10
    )


@pytest.mark.parametrize("oval", [False, True])
@pytest.mark.parametrize("bridge", [0.125, 0.3, 0.5])
@pytest.mark.parametrize(("middle", "ring"), [(3.0, 3.3), (4.375, 4.375), (4.9, 4.6)])
def test_what_a_rule_reads_on_the_plan_s_holes_gives_the_bridge_again(
    record: dict[str, Any], middle: float, ring: float, bridge: float, oval: bool
) -> None:
    """The rule's reading is the arc between the holes as they are placed, less their bores."""
    grip = record["bowler"]["grip"]
    grip["bridge"] = bridge
    grip["middle"]["span"], grip["ring"]["span"] = middle, ring
    if oval:
        grip["thumb"] |= {"diameter": 1, "oval": {"length": 1.25, "direction": 20}}
    done = plan(parse_job(record))
    edges = edge_checks(done.holes, bridge, done.radius)[-1].cut
    again = square_bridge(done.job.bowler.grip, edges, done.radius)
    assert again == pytest.approx(bridge, abs=1e-9)


def test_what_is_off_by_more_than_its_tolerance_is_said(record: dict[str, Any]) -> None:
    record["bowler"]["grip"]["middle"] |= {"span": "4 3/8", "depth": "1 1/2"}
    some = {"span": "4 7/16", "depth": "1 33/64"}
    done = plan(parse_job(measured(record, middle=some)))
    (words,) = difference_words(done)
    assert words.startswith("As drilled: middle span 4 7/16, planned 4 3/8, off by +0.06")
    assert words.endswith("(beyond 1/32 in).")
    for text in (report(done), short_report(done)):
        assert "middle span" in text
    assert "AS DRILLED (" in report(done)
    wide = measured(record, middle=some) | {"tolerances": {"spans": "1/8"}}
    (words,) = difference_words(plan(parse_job(wide)))
    assert words == "As drilled: 2 measures, all within their tolerances of what was planned."


def test_the_bridge_planned_is_the_one_between_cut_edges(record: dict[str, Any]) -> None:
    before = plan(parse_job(record))
    edges = edge_checks(before.holes, before.job.bowler.grip.bridge, before.radius)[-1].cut
    done = plan(parse_job(measured(record, bridge=edges)))
    (only,) = done.differences
    assert (only.name, only.beyond) == (BRIDGE, False)
    assert only.off == pytest.approx(0.0, abs=1e-12)
    assert done.holes[0].entry == pytest.approx(before.holes[0].entry, abs=1e-9)


@pytest.mark.parametrize(
    ("parts", "field"),
    [
        ({"bridge": 2.0}, "as_drilled.bridge"),
        ({"middle": {"diameter": 1.5}}, "as_drilled.middle.diameter"),
        ({"little": {"span": 3}}, "as_drilled.little"),
    ],
)
def test_measures_that_cannot_be_are_refused(
    record: dict[str, Any], parts: dict[str, Any], field: str
) -> None:
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1}
    record["bowler"]["grip"]["middle"] |= {"diameter": "3/4", "depth": 1, "sleeve": sleeve}
    record["bowler"]["grip"]["middle"]["span"] = record["bowler"]["grip"]["ring"]["span"] = 0.5
    with pytest.raises(InputError) as refused:
        plan(parse_job(measured(record, **parts)))
    assert refused.value.field == field


def test_a_ball_is_plugged_as_it_was_drilled(record: dict[str, Any]) -> None:
    job = parse_job(measured(record, **MEASURED))
    again = redrilled(job)
    assert again.history is not None
    assert again.history.holes[-1].diameter == 1.03125
    assert again.as_drilled is None
    some = redrilled(job, only=("middle",))
    assert some.as_drilled is not None
    assert (some.as_drilled.middle, some.as_drilled.ring) == (None, job.as_drilled.ring)  # type: ignore[union-attr]
    assert parse_job(dump_job(some)) == some


def test_a_thumb_drilled_again_is_marked_by_the_planned_spans(record: dict[str, Any]) -> None:
    """Spans that came out wrong are no measure of the thumb hole that is to mend them."""
    again = redrilled(parse_job(measured(record, **MEASURED)), only=("thumb",))
    grip = again.bowler.grip
    assert [h.span for h in plan(again).holes] == [grip.middle.span, grip.ring.span, None]
    assert again.as_drilled is not None
    assert again.as_drilled.ring is None
    assert again.as_drilled.middle is not None
    assert again.as_drilled.middle.depth == 1.3
    spans = {name: {"span": 4.25} for name in ("middle", "ring")}
    assert redrilled(parse_job(measured(record, **spans)), only=("thumb",)).as_drilled is None
    assert redrilled(parse_job(measured(record, bridge=0.3)), only=("ring",)).as_drilled is None


def test_a_hole_that_was_measured_can_be_made_deeper(record: dict[str, Any]) -> None:
    """What a search for changes does to a plan's job is not undone by the measures."""
    done = plan(parse_job(measured(record, thumb={"depth": "2 1/2"})))
    assert plan(depth_changed(done.job, "thumb", 0.125)).holes[-1].depth == 2.625


def test_another_ball_of_the_shelf_does_not_have_the_measures(record: dict[str, Any]) -> None:
    ball = record["ball"]
    (other,) = rank(parse_job(measured(record, **MEASURED)), [(2, ball)]).ranked
    assert other.plan.as_dict() == plan(parse_job(record)).as_dict()


def test_a_hole_that_came_out_too_shallow_for_its_vent_is_told(record: dict[str, Any]) -> None:
    vent = {"hole": "middle", "over": "1/2", "up": "3 1/2", "meets": "1 1/8", "diameter": "1/4"}
    record["extra_holes"] = {"vents": [vent]}
    plan(parse_job(record))
    with pytest.raises(InputError) as raised:
        plan(parse_job(measured(record, middle={"depth": 0.5})))
    assert raised.value.field == "extra_holes.vents.0.meets"
    assert "possible: up to 0.5 in, its depth." in str(raised.value)


def test_an_unusual_measure_can_be_confirmed(record: dict[str, Any], tmp_path: Any) -> None:
    path = str(tmp_path / "job.json")
    save_job(parse_job(measured(record, bridge="1 1/8")), path)
    asked = {q.field for q in plan(load_job(path)).questions}
    assert main(["plan", path, "--no-shop", "--confirm", "bowler.grip.bridge"]) == 0
    left = {q.field for q in plan(load_job(path)).questions}
    assert asked - left == {"bowler.grip.bridge"}
