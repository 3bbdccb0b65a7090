"""Oval thumbs, vents, the inspection hole, and holes that were drilled before, in record and plan."""

import copy
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import hole_arc, mirror
from layoutkit.job.record import dump_job, parse_job
from layoutkit.planning.grip import place_holes
from layoutkit.planning.history import told_by_marks
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

Record = dict[str, Any]


def planned(record: Record, **changes: Any) -> Plan:
    changed = copy.deepcopy(record)
    changed |= changes
    return plan(parse_job(changed))


def with_oval(record: Record, **oval: Any) -> Record:
    changed = copy.deepcopy(record)
    changed["bowler"]["grip"]["thumb"]["oval"] = oval
    return changed


OLD_HOLE = {
    "name": "old thumb",
    "from_pin": "3 1/4",
    "bearing": 120,
    "toward_pin": "1/8",
    "right": -0.0625,
    "diameter": "1 1/8",
    "depth": "2 1/2",
    "tip_angle": 118,
    "plug": {"density": 1.15},
}


# --- the record -----------------------------------------------------------------------------------


def test_what_is_read_is_what_is_written(record: Record) -> None:
    changed = with_oval(record, length="1 1/8", direction=12, scallop="1/32")
    changed["extra_holes"] = {
        "vents": [{"hole": "thumb", "over": "3/4", "down": "3 1/4", "diameter": "1/4", "meets": 2}],
        "inspection": {"over": -1.5, "up": "1/2", "diameter": "5/8", "depth": "1/8"},
    }
    changed["history"] = {"holes": [OLD_HOLE, {**OLD_HOLE, "name": "again", "bearing": -30}]}
    job = parse_job(changed)
    assert parse_job(dump_job(job)) == job
    written = dump_job(job)
    assert written["history"]["holes"][0]["from_pin"] == "3 1/4"
    assert written["extra_holes"]["vents"][0]["down"] == "3 1/4"
    assert hash(job.history) == hash(parse_job(written).history)


def wrong(record: Record, change: Callable[[Record], Any], field: str, words: str) -> None:
    changed = copy.deepcopy(record)
    changed["extra_holes"] = {
        "vents": [{"hole": "thumb", "over": 0.75, "down": 3.25, "diameter": 0.25, "meets": 2}]
    }
    changed["history"] = {"holes": [copy.deepcopy(OLD_HOLE)]}
    changed["bowler"]["grip"]["thumb"]["oval"] = {"length": 1.125}
    parse_job(changed)
    change(changed)
    with pytest.raises(InputError) as raised:
        parse_job(changed)
    assert raised.value.field == field
    assert words in str(raised.value)


@pytest.mark.parametrize(
    ("oval", "field", "words"),
    [
        ({"length": 1}, "oval.length", "possible: more than the bit, up to 2 in."),
        ({"length": 2.25}, "oval.length", "possible: more than the bit, up to 2 in."),
        ({"length": 1.125, "direction": 91}, "oval.direction", "-90 to 90 degrees"),
        ({"length": 1.125, "scallop": 0.001}, "oval.scallop", "0.0078125 to 0.125 in"),
        ({"length": 1.125, "milled": True, "scallop": 0.02}, "oval.scallop", "leave it out"),
        ({"length": 1.125, "width": 1}, "oval.width", "possible here: length, direction"),
        ({}, "oval.length", "missing"),
    ],
)
def test_a_wrong_oval_is_told(record: Record, oval: Record, field: str, words: str) -> None:
    def change(r: Record) -> None:
        r["bowler"]["grip"]["thumb"]["oval"] = oval

    wrong(record, change, f"bowler.grip.thumb.{field}", words)


def test_a_slug_must_hold_the_whole_oval(record: Record) -> None:
    def change(r: Record) -> None:
        sleeve = {"bore": 1.0625, "bore_depth": 3, "density": 1.2}
        r["bowler"]["grip"]["thumb"]["sleeve"] = sleeve

    wrong(record, change, "bowler.grip.thumb.sleeve.bore", "possible: 1.125 in")


@pytest.mark.parametrize(
    ("place", "value", "words"),
    [
        (("extra_holes", "vents", 0, "hole"), "index", '"middle", "ring" or "thumb"'),
        (("extra_holes", "vents", 0, "meets"), 2.875, "up to 2.75 in, its depth"),
        (("extra_holes", "vents", 0, "up"), 1, "possible: one of the two"),
        (("extra_holes", "vents", 0, "colour"), 1, "possible here: hole, over, up"),
        (("extra_holes", "vents", 0), 7, "an object with hole, over"),
        (("extra_holes", "vents"), "none", "possible: a list of up to 6"),
        (("extra_holes", "inspection"), {"over": 1}, "missing; possible: 0.0625 to 1.5 in"),
        (("history", "holes", 0, "bearing"), "north", "-360 to 360 degrees"),
        (("history", "holes", 0, "plug", "length"), 2.75, "or leave it out to fill the whole"),
        (("history", "holes", 0, "plug", "density"), 9, "0.1 to 5 g/cm3"),
        (("history", "holes"), [OLD_HOLE] * 21, "21 are too many; possible: up to 20"),
    ],
)
def test_a_wrong_extra_or_old_hole_is_told(
    record: Record, place: tuple[str | int, ...], value: Any, words: str
) -> None:
    def change(r: Any) -> None:
        for key in place[:-1]:
            r = r[key]
        r[place[-1]] = value

    expected = ".".join(map(str, place))
    changed_fields = {"extra_holes.inspection": "extra_holes.inspection.diameter"}
    if words == "possible: one of the two":
        expected = "extra_holes.vents.0"
    wrong(record, change, changed_fields.get(expected, expected), words)


def test_a_vent_of_a_thumb_that_is_not_there(record: Record) -> None:
    def change(r: Record) -> None:
        r["bowler"]["grip"]["thumb"] = None

    wrong(record, change, "extra_holes.vents.0.hole", 'possible: "middle" or "ring"')


# --- the oval -------------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", [0, 30, -75, 90])
def test_the_span_runs_to_the_front_edge(record: Record, direction: float) -> None:
    """The front edge and the finger holes stay; the middle lies behind the edge."""
    record["bowler"]["grip"]["thumb"]["pitch"] = {}
    plain = planned(record)
    found = planned(with_oval(record, length=1.25, direction=direction))
    for a, b in zip(plain.holes[:2], found.holes[:2], strict=True):
        assert a.entry == b.entry
    edge = 0.25 * (4.375 + 4.25)
    reach = 0.5 + 0.125 * abs(math.cos(math.radians(direction)))
    assert -found.holes[2].up == pytest.approx(edge + hole_arc(2 * reach, found.radius), abs=1e-12)
    # the foremost point of all bores, which run straight in from the middle, is the edge
    oval = found.holes[2].oval
    assert oval is not None
    foremost = max(c.along for c in oval.cuts) + 0.5
    front = found.radius * math.asin(foremost / found.radius)
    assert -found.holes[2].up - front == pytest.approx(edge, abs=1e-12)


def test_all_bores_end_on_one_plane(record: Record) -> None:
    job = parse_job(with_oval(record, length=1.75, direction=20))
    hole = place_holes(job.bowler.grip, 4.275, "right")[2]
    assert len(hole.cuts) > 3
    axis = np.array(hole.finished.axis)
    ends = [np.array(c.entry) @ axis + c.depth for c in (hole.finished, *hole.cuts)]
    assert ends == pytest.approx([ends[0]] * len(ends), abs=1e-12)
    radii = [np.linalg.norm(c.entry) for c in hole.cuts]
    assert radii == pytest.approx([4.275] * len(radii), abs=1e-12)


def test_a_long_way_takes_more_than_a_short_one_and_less_than_a_slot(record: Record) -> None:
    def taken(**oval: Any) -> float:
        return planned(with_oval(record, **oval)).holes[2].removed_oz

    plain = planned(record).holes[2].removed_oz
    assert plain < taken(length=1.125) < taken(length=1.25) < taken(length=1.25, milled=True)
    # fewer bores leave higher scallops behind
    assert taken(length=1.5, scallop=1 / 16) < taken(length=1.5, scallop=1 / 128)


@pytest.mark.parametrize("oval", [{"length": 1.25, "direction": 25}, {"length": 1.25}])
def test_a_left_hand_mirrors_an_oval(record: Record, oval: Record) -> None:
    """Right and left are the same words for both hands, so the mirrored job names the other."""
    record["bowler"]["grip"]["ring"]["pitch"] = {}
    right = planned(with_oval(record, **oval))
    turned = {**oval, "direction": -oval.get("direction", 0)}
    other = with_oval(record, **turned)
    other["bowler"]["hand"] = "left"
    other["ball"]["psa"]["cg_bearing"] *= -1
    left = planned(other)
    assert left.holes[2].removed_oz == pytest.approx(right.holes[2].removed_oz, abs=1e-12)
    for name in ("side_oz", "finger_oz", "top_oz"):
        a, b = getattr(right.statics, name), getattr(left.statics, name)
        assert a == pytest.approx(b, abs=1e-9)


def test_an_oval_over_the_edge_of_a_mark_is_told(record: Record) -> None:
    record["layout"] = {"by": "placement", "pin": {"over": 0, "down": 3.55}, "bearing": 40}
    assert not any("cuts the pin away" in c for c in planned(record).cautions)
    told = planned(with_oval(record, length=1.5)).cautions
    assert "The thumb hole cuts the pin away." in told


# --- vents and the inspection hole ----------------------------------------------------------------


def vented(record: Record, *vents: Record, **inspection: Any) -> Plan:
    extra: Record = {"vents": list(vents)}
    if inspection:
        extra["inspection"] = inspection
    return planned(record, extra_holes=extra)


THUMB_VENT = {"hole": "thumb", "over": 0.75, "down": 3.25, "diameter": 0.25, "meets": 2.25}


def test_a_vent_ends_on_the_axis_of_its_hole(record: Record) -> None:
    found = vented(record, THUMB_VENT)
    vent, thumb = found.extra_holes[0], found.holes[2]
    end = np.array(vent.entry) + vent.depth * np.array(vent.axis)
    assert end == pytest.approx(np.array(thumb.entry) + 2.25 * np.array(thumb.axis), abs=1e-12)
    assert (vent.over, vent.up) == pytest.approx((0.75, -3.25), abs=1e-12)
    # no wall is asked for between a vent and the hole that it opens into
    walls = [w.holes for w in found.walls]
    assert ("middle", "thumb vent") in walls
    assert ("thumb", "thumb vent") not in walls


def test_a_vent_that_starts_in_its_hole_is_refused(record: Record) -> None:
    with pytest.raises(
        InputError, match=r"vents\.0\.over: starts inside the thumb hole; possible: "
    ):
        vented(record, {**THUMB_VENT, "over": 0.25, "down": 2.75})


def outcomes(found: Plan) -> dict[str, tuple[float, float, str]]:
    return {c.name: (c.value, c.limit, c.outcome) for c in found.checks}


def test_vents_and_inspection_are_judged(record: Record) -> None:
    """World Bowling 11.12.4 and 11.12.5 (text circulated 2019)."""
    mill = {"over": -1.5, "up": 0.5, "diameter": "5/8", "depth": "1/8"}
    told = outcomes(vented(record, THUMB_VENT, **mill))
    assert told["vent holes"] == (0.25, 0.25, "pass")
    assert told["inspection hole"] == (0.625, 0.625, "pass")
    assert told["inspection hole depth"] == (0.125, 0.125, "pass")
    # the same limits in millimetres are 0.002 and 0.001 in more
    mill |= {"diameter": "15.9 mm", "depth": "3.2 mm"}
    told = outcomes(vented(record, {**THUMB_VENT, "diameter": "6.4 mm"}, **mill))
    assert {told[n][2] for n in ("vent holes", "inspection hole", "inspection hole depth")} == {
        "pass"
    }
    mill |= {"diameter": "16.0 mm", "depth": "3.3 mm"}
    told = outcomes(vented(record, {**THUMB_VENT, "diameter": "6.5 mm"}, **mill))
    assert {told[n][2] for n in ("vent holes", "inspection hole", "inspection hole depth")} == {
        "fail"
    }
    two = vented(record, THUMB_VENT, {**THUMB_VENT, "over": -0.75})
    assert outcomes(two)["vents of one hole"] == (2.0, 1.0, "fail")
    assert "vents of one hole" not in outcomes(vented(record, THUMB_VENT))


# --- drilled before -------------------------------------------------------------------------------


def bearing_and_arc(found: Plan) -> tuple[float, float]:
    """An old hole from the pin, by solid angles at the pin: independent of `walk`."""
    old, pin = np.array(found.old_holes[0].entry), np.array(found.marks.pin.xyz)
    assert found.marks.psa is not None
    psa = np.array(found.marks.psa.xyz)
    n, r = pin / found.radius, found.radius
    a, b = psa - (psa @ n) * n, old - (old @ n) * n
    # clockwise seen from outside, in the grip frame: whatever the hand
    turn = math.degrees(math.atan2(np.cross(b, a) @ n, a @ b))
    return turn, r * math.acos(old @ pin / r**2)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    hand=st.sampled_from(["right", "left"]),
    angles=st.tuples(st.floats(-170, 170), st.floats(0.5, 6.0), st.floats(-85, 85)),
)
def test_old_holes_stay_on_the_ball_whatever_the_layout(
    record: Record, hand: str, angles: tuple[float, float, float]
) -> None:
    d, p, v = angles
    record = copy.deepcopy(record)
    record["bowler"]["hand"] = hand
    layout = {"by": "angles", "angle_at_pin": d, "pin_to_pap": p, "angle_at_pap": v}
    found = planned(record, layout=layout, history={"holes": [OLD_HOLE]})
    turn, away = bearing_and_arc(found)
    assert (turn, away) == pytest.approx((120.0, 3.25), abs=1e-9)
    old = found.old_holes[0]
    axis, entry = np.array(old.axis), np.array(old.entry)
    # the axis misses the centre by the pitch
    miss = np.linalg.norm(np.cross(entry, axis))
    assert miss == pytest.approx(math.hypot(0.125, 0.0625), abs=1e-9)
    pin = np.array(found.marks.pin.xyz)
    assert axis @ (pin - (pin @ entry) / found.radius**2 * entry) > 0.0


def absolute(record: Record, **old: Any) -> Plan:
    """Planned with one old hole where the plain record's thumb hole is, or as ``old`` says."""
    p = planned(record)
    hand = p.job.bowler.hand
    hole = place_holes(p.job.bowler.grip, p.radius, hand)[2]
    told = told_by_marks(
        "old thumb", hole.finished, mirror(p.marks.pin.xyz, hand), p.layout.bearing, hand, p.radius,
        None,
    )  # fmt: skip
    first = {k: v for k, v in told.model_dump().items() if v is not None}
    return planned(record, history={"holes": [{**first, **old}]})


def test_the_same_hole_again_takes_nothing(record: Record) -> None:
    """An open hole drilled again where it was: the ball is as it would be without its history."""
    plain, again = planned(record), absolute(record)
    assert again.holes[2].removed_oz == pytest.approx(0.0, abs=1e-6)
    assert again.old_holes[0].removed_oz == pytest.approx(plain.holes[2].removed_oz, abs=1e-6)
    assert again.statics.removed_oz == pytest.approx(plain.statics.removed_oz, abs=1e-6)
    assert again.inertia.rg_low == pytest.approx(plain.inertia.rg_low, abs=1e-6)
    # nor does it count as another hole
    assert outcomes(again)["balance holes"] == (0.0, 0.0, "pass")
    assert [w.holes for w in again.walls] == [w.holes for w in plain.walls]


def test_a_plug_of_the_balls_own_density_is_the_ball_again(record: Record) -> None:
    """In one density throughout, a hole filled with just that is no hole."""
    for name in ("rg_low", "differential", "intermediate_differential", "shell", "filler_density"):
        del record["ball"][name]
    ball = 4.0 / 3.0 * math.pi * (8.55 / 2 * 2.54) ** 3  # cm3
    own = 15.12 * 453.59237 / ball
    plain = planned(record)
    again = absolute(record, plug={"density": own}, depth=3.5, diameter=1.375)
    assert again.old_holes[0].removed_oz == pytest.approx(0.0, abs=1e-6)
    assert again.statics.side_oz == pytest.approx(plain.statics.side_oz, abs=1e-6)
    assert again.statics.weight_lb == pytest.approx(plain.statics.weight_lb, abs=1e-7)
    assert again.inertia.rg_high == pytest.approx(plain.inertia.rg_high, abs=1e-7)


def test_an_old_hole_left_open_counts_as_a_balance_hole(record: Record) -> None:
    """USBC, in force 2020-08-01: none is allowed; before, one of up to 1 1/4 in was."""
    found = planned(record, history={"holes": [{**OLD_HOLE, "plug": None}]})
    assert outcomes(found)["balance holes"] == (1.0, 0.0, "fail")
    assert "old thumb is left open and counts as a balance hole." in found.cautions
    before = planned(record, history={"holes": [{**OLD_HOLE, "plug": None}]}, rules="usbc-pre-2018")
    assert outcomes(before)["balance holes"] == (1.125, 1.25, "pass")
    filled = planned(record, history={"holes": [OLD_HOLE]})
    assert outcomes(filled)["balance holes"] == (0.0, 0.0, "pass")


@pytest.mark.parametrize(
    ("out", "balance"),
    [(0.0, False), (0.0125, False), (0.0155, False), (0.0157, True), (0.02, True)],
)
@pytest.mark.parametrize("aside", [False, True])
def test_an_old_hole_may_stand_a_sixty_fourth_out_of_the_new_one_that_takes_it_over(
    record: Record, aside: bool, out: float, balance: bool
) -> None:
    """1/64 in = 0.015625, the finest mark on a rule: what stands out more is a hole of its own.

    The old hole is wider by twice as much, or as wide and off by as much toward the pin's far side.
    """
    found = absolute(record, diameter=1.0 + 2.0 * out)
    if aside:
        old = found.job.history
        assert old is not None
        found = absolute(record, from_pin=old.holes[0].from_pin + out)
    number, _, outcome = outcomes(found)["balance holes"]
    assert (number, outcome) == ((1.0, "fail") if balance else (0.0, "pass"))
    assert any("old thumb is left open" in c for c in found.cautions) == balance
    assert (("thumb", "old thumb") in [w.holes for w in found.walls]) == balance


def test_the_wall_to_a_void_under_a_plug(record: Record) -> None:
    """A plug of 1 in over a hole of 2 1/2: a shallow new hole above it leaves what lies between."""
    record["bowler"]["grip"]["thumb"] |= {"depth": 0.75, "pitch": {}}
    old = {"plug": {"density": 1.15, "length": 1.0}, "depth": 2.5, "diameter": 1.25}
    found = absolute(record, **old)
    wall = next(w for w in found.walls if w.holes == ("thumb", "old thumb"))
    assert wall.thickness == pytest.approx(0.25, abs=1e-9)
    # told where the void begins
    assert wall.depth == pytest.approx(1.0, abs=0.02)
    # both fingers are far off; the thumb runs into the void once it is deep enough
    record["bowler"]["grip"]["thumb"]["depth"] = 1.25
    deeper = absolute(record, **old)
    wall = next(w for w in deeper.walls if w.holes == ("thumb", "old thumb"))
    assert wall.meets
    assert wall.depth == pytest.approx(1.0, abs=0.05)
    assert any(
        c.startswith("The thumb hole cuts into the plug of old thumb") for c in found.cautions
    )


def test_a_whole_plug_fills_the_drill_point_too(record: Record) -> None:
    def left(**plug: float) -> float:
        old = {**OLD_HOLE, "plug": {"density": 1.0, **plug}}
        return planned(record, history={"holes": [old]}).old_holes[0].removed_oz

    tip = math.pi * 0.5625**2 * (0.5625 / math.tan(math.radians(59))) / 3.0
    oz_per_in3 = 2.54**3 / 28.349523125
    assert left(length=2.5) - left() == pytest.approx(tip * oz_per_in3, abs=1e-9)


def test_a_hole_drilled_through_an_older_plug_leaves_that_plug_cut(record: Record) -> None:
    """The order of the record is that of the work: hole, plug, hole, plug."""
    one = {**OLD_HOLE, "name": "first"}
    two = {**OLD_HOLE, "name": "second", "from_pin": 3.5, "plug": None}
    found = planned(record, history={"holes": [one, two]})
    other = planned(record, history={"holes": [two, one]})
    # filled last, the first one's plug stands in the open hole
    assert other.statics.weight_lb > found.statics.weight_lb + 0.01
