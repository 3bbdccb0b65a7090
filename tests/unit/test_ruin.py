"""What would ruin the ball fails the check `drillable`, and the plan says why."""

import math
from typing import Any

import numpy as np
import pytest

from layoutkit import plan
from layoutkit.geometry.sphere import from_over_up, to_over_up, walk
from layoutkit.job.record import parse_job
from layoutkit.job.rules import FAIL
from layoutkit.job.words import check_words
from layoutkit.planning.changes import layout_changed, offers
from layoutkit.planning.layout import Angles
from layoutkit.planning.ruin import under_layouts
from layoutkit.planning.sweep import Layouts, sweep
from layoutkit.planning.values import Plan

INSPECTION = {"over": 3, "up": 0, "diameter": "1/2", "depth": "1/8"}


def planned(record: dict[str, Any]) -> Plan:
    return plan(parse_job(record))


def assert_ruined(found: Plan, *words: str) -> None:
    check = found.checks[0]
    assert (check.name, check.value, check.outcome) == ("drillable", 0.0, "fail")
    assert found.outcome == "fail"
    assert found.cautions[: len(found.reasons)] == found.reasons
    for each in words:
        assert any(each in reason for reason in found.reasons), found.reasons


def assert_drillable(found: Plan) -> None:
    assert (found.checks[0].name, found.checks[0].outcome) == ("drillable", "pass")
    assert found.reasons == ()


def old_hole(**changes: Any) -> dict[str, Any]:
    hole = {"name": "old one", "from_pin": 6, "bearing": 90, "diameter": "3/4", "depth": "1 1/2"}
    return {**hole, **changes}


def test_a_hole_out_of_the_far_side(record: dict[str, Any]) -> None:
    pitch = {"forward": 2, "right": 2}
    record["bowler"]["grip"]["thumb"] = {"diameter": 1, "depth": 6, "pitch": pitch}
    assert_ruined(planned(record), "thumb hole comes out of the far side")


@pytest.mark.parametrize("plug", [None, {"density": 1.15}])
def test_an_old_hole_out_of_the_far_side_even_where_it_is_plugged(
    record: dict[str, Any], plug: Any
) -> None:
    deep = old_hole(toward_pin=2.5, right=2.5, depth=6, plug=plug)
    record["history"] = {"holes": [deep]}
    assert_ruined(planned(record), "old hole old one comes out of the far side")
    record["history"] = {"holes": [{**deep, "depth": 2}]}
    assert_drillable(planned(record))


def test_the_palm_mark_of_a_grip_without_a_thumb_is_not_cut_away(record: dict[str, Any]) -> None:
    record["bowler"]["grip"]["thumb"] = None
    for name in ("middle", "ring"):
        record["bowler"]["grip"][name]["span"] = 2
    record["extra_holes"] = {"inspection": {**INSPECTION, "over": "1/8"}}
    assert_ruined(planned(record), "palm mark")
    record["extra_holes"] = {"inspection": {**INSPECTION, "over": "9/32"}}
    assert_drillable(planned(record))


def test_a_grip_with_a_thumb_needs_no_palm_mark(record: dict[str, Any]) -> None:
    record["extra_holes"] = {"inspection": {**INSPECTION, "over": 0}}
    assert_drillable(planned(record))


def test_two_open_holes_that_overlap_at_the_surface(record: dict[str, Any]) -> None:
    ring = planned(record).holes[1]
    # the edges of mouths 0.55 in across and wider touch where the centres are the radii apart
    wide = 1.1 if ring.bore is None else ring.bore.diameter + 0.1
    place = {**INSPECTION, "over": ring.over + wide / 2.0, "up": ring.up}
    record["extra_holes"] = {"inspection": place}
    found = planned(record)
    assert_ruined(found, "ring and inspection holes overlap at the surface")
    assert not any("meet 0.00" in caution for caution in found.cautions)


def test_an_open_old_hole_overlaps_and_a_plugged_one_does_not(record: dict[str, Any]) -> None:
    thumb = planned(record).holes[2]
    assert thumb.from_pin > 0.0
    holes = [
        old_hole(name=f"old {bearing}", from_pin=thumb.from_pin - 0.6, bearing=bearing)
        for bearing in range(0, 360, 8)
    ][:20]
    record["history"] = {"holes": holes}
    overlapping = [r for r in planned(record).reasons if "overlap at the surface" in r]
    assert overlapping
    plugged = [{**hole, "plug": {"density": 1.15}} for hole in holes]
    record["history"] = {"holes": plugged}
    assert_drillable(planned(record))


@pytest.mark.parametrize("name", ["middle", "ring", "thumb"])
def test_a_sleeve_as_wide_as_its_hole(record: dict[str, Any], name: str) -> None:
    sleeve = {"bore": 1, "bore_depth": "1 1/4", "density": 1.1}
    part = record["bowler"]["grip"][name]
    part |= {"diameter": 1, "depth": "1 1/4", "sleeve": sleeve}
    assert_ruined(planned(record), f"{name} hole is as wide as the bore of its sleeve")
    part["diameter"] = "63/64"
    assert_drillable(planned(record))


def test_nothing_drilled_at_all(record: dict[str, Any]) -> None:
    grip = record["bowler"]["grip"]
    for name in ("middle", "ring", "thumb"):
        grip[name]["depth"] = 0
        grip[name].pop("sleeve", None)
    assert_ruined(planned(record), "nothing is drilled at all")
    grip["ring"]["depth"] = "1/2"
    assert_drillable(planned(record))


def test_sleeves_without_a_hole_in_any(record: dict[str, Any]) -> None:
    grip = record["bowler"]["grip"]
    for name in ("middle", "ring", "thumb"):
        grip[name] |= {"depth": 0, "sleeve": {"bore": "1 3/8", "bore_depth": 2, "density": 1.1}}
    assert_ruined(planned(record), "finished depth of 0")


def test_a_hole_through_a_mark_is_a_caution_only(record: dict[str, Any]) -> None:
    middle = planned(record).holes[0]
    record["layout"] = {
        "by": "placement",
        "pin": {"over": middle.over, "up": middle.up},
        "bearing": 170,
    }
    found = planned(record)
    assert_drillable(found)
    assert "The middle hole cuts the pin away." in found.cautions


def placed_away_from_middle(record: dict[str, Any], distance: float) -> None:
    """Lay the ball out so that the mark this far from the pin lies on the middle hole's centre."""
    now = planned(record)
    middle = from_over_up(now.holes[0].over, now.holes[0].up, now.radius)
    pin, onward = walk(middle, 160.0, distance)
    over, up = to_over_up(pin, now.radius)
    back = (onward + 180.0) % 360.0
    record["layout"] = {"by": "placement", "pin": {"over": over, "up": up}, "bearing": back}


@pytest.mark.parametrize(
    ("mark", "distance"), [("CG mark", 3.0), ("PSA mark", math.pi / 2.0 * 8.55 / 2.0)]
)
def test_a_hole_through_another_mark_is_a_caution_only(
    mark: str, distance: float, record: dict[str, Any]
) -> None:
    if mark == "CG mark":  # then it is the reference mark itself
        del record["ball"]["psa"], record["ball"]["intermediate_differential"]
    placed_away_from_middle(record, distance)
    found = planned(record)
    assert_drillable(found)
    assert [c for c in found.cautions if "cuts the" in c] == [
        f"The middle hole cuts the {mark} away."
    ]


def test_an_open_old_hole_cuts_the_palm_mark_away_and_a_plugged_one_does_not(
    record: dict[str, Any],
) -> None:
    record["bowler"]["grip"]["thumb"] = None
    # the reference mark's line leads from the pin, 3 in out on the midline, to the grip centre
    record["layout"] = {"by": "placement", "pin": {"over": 3, "up": 0}, "bearing": 270}
    record["history"] = {"holes": [old_hole(from_pin="3 1/4", bearing=0)]}
    assert_ruined(planned(record), "old one hole cuts the palm mark away")
    record["history"] = {"holes": [old_hole(from_pin="3 1/2", bearing=0)]}
    assert_drillable(planned(record))
    record["history"] = {"holes": [old_hole(from_pin=3, bearing=0, plug={"density": 1.15})]}
    assert_drillable(planned(record))


def test_a_finger_hole_that_overlaps_the_thumb_hole(record: dict[str, Any]) -> None:
    grip = record["bowler"]["grip"]
    grip["middle"]["span"] = "1/2"
    assert_drillable(planned(record))
    # the span holds for the finished hole; a wider bore reaches over the thumb hole's edge
    sleeve = {"bore": 2, "bore_depth": "1 1/2", "density": 1.1}
    grip["middle"]["sleeve"] = sleeve
    assert_ruined(planned(record), "middle and thumb holes overlap at the surface")


def test_the_bores_of_one_hole_do_not_overlap(record: dict[str, Any]) -> None:
    thumb = record["bowler"]["grip"]["thumb"]
    thumb["oval"] = {"length": "1 3/8", "direction": 20}
    assert_drillable(planned(record))
    thumb["sleeve"] = {"bore": "1 5/8", "bore_depth": "2 3/4", "density": 1.1}
    assert_drillable(planned(record))


def test_an_open_old_hole_that_a_new_hole_takes_in_whole_does_not_overlap(
    record: dict[str, Any],
) -> None:
    # a pin on the thumb hole's centre makes the old hole concentric with it
    thumb = planned(record).holes[2]
    record["layout"] = {
        "by": "placement",
        "pin": {"over": thumb.over, "up": thumb.up},
        "bearing": 90,
    }
    record["history"] = {"holes": [old_hole(from_pin=0, bearing=0, diameter="7/8")]}
    assert_drillable(planned(record))
    record["history"] = {"holes": [old_hole(from_pin="1/2", bearing=0, diameter="7/8")]}
    assert_ruined(planned(record), "thumb and old one holes overlap at the surface")


def test_a_hole_within_another_leaves_no_torn_hole(record: dict[str, Any]) -> None:
    thumb = planned(record).holes[2]
    within = {**INSPECTION, "over": thumb.over, "up": thumb.up}
    record["extra_holes"] = {"inspection": within}
    assert_drillable(planned(record))
    record["extra_holes"] = {"inspection": {**within, "over": thumb.over + 0.5}}
    assert_ruined(planned(record), "thumb and inspection holes overlap at the surface")


@pytest.mark.parametrize("name", ["middle", "ring", "thumb"])
def test_one_hole_of_depth_0_among_others_is_still_drillable(
    name: str, record: dict[str, Any]
) -> None:
    record["bowler"]["grip"][name]["depth"] = 0
    assert_drillable(planned(record))


def test_a_diameter_outside_the_rules_is_close(record: dict[str, Any]) -> None:
    record["scale"] = {"arm": record["ball"]["diameter"] / 2.0}
    inside = planned(record)
    assert "diameter" not in [c.name for c in inside.checks]
    for diameter, limit in ((8.45, 8.5), (8.61, 8.595)):  # USBC: 8.500 to 8.595 in
        record["ball"]["diameter"] = diameter
        found = planned(record)
        check = found.checks[-1]
        assert check[:4] == ("diameter", diameter, limit, "in")
        assert (check.outcome, found.outcome) == ("close", "close")
        assert check_words(check, diameter) == f"{diameter:.3f} in"


@pytest.mark.parametrize("hand", ["right", "left"])
def test_many_layouts_are_ruined_as_each_alone_is(record: dict[str, Any], hand: str) -> None:
    record["bowler"]["hand"] = hand
    away = planned(record).holes[1].from_pin + 0.3
    record["history"] = {
        "holes": [
            old_hole(name=f"old {bearing}", from_pin=away, bearing=bearing)
            for bearing in (0, 120, 240)
        ]
    }
    now = planned(record)
    steps = np.arange(0.0, 120.0, 5.0)
    found = sweep(
        now,
        Layouts(
            now.layout.angle_at_pin + steps,
            np.full(len(steps), now.layout.pin_to_pap),
            np.full(len(steps), now.layout.angle_at_pap),
        ),
    )
    alone = [bool(plan(layout_changed(now, step, 0.0, 0.0)).reasons) for step in steps]
    assert any(alone)
    assert not all(alone)
    many = under_layouts(now.job, Angles(*found.layouts))
    assert many.tolist() == alone
    assert (found.verdict[many] == FAIL).all()


def test_nothing_is_offered_and_no_layout_passes_where_a_sleeve_has_no_wall(
    record: dict[str, Any],
) -> None:
    sleeve = {"bore": 1, "bore_depth": "1 1/4", "density": 1.1}
    record["bowler"]["grip"]["middle"] |= {"diameter": 1, "depth": "1 1/4", "sleeve": sleeve}
    now = planned(record)
    assert offers(now) == ()
    angles = np.array([30.0, 50.0, 70.0])
    found = sweep(now, Layouts(angles, np.full(3, 4.0), np.full(3, 40.0)))
    assert (found.verdict == FAIL).all()
