"""The display list and its projection."""

import itertools
import math
import re
from typing import get_args

import numpy as np
import pytest

from layoutkit.job.record import parse_job
from layoutkit.output import drawing
from layoutkit.planning.marking import landed, marking_steps
from layoutkit.planning.plan import plan
from layoutkit.units import Units


def record(hand="right", **changes):
    """A job's record; ``changes`` replace whole top-level parts."""
    finger = {"span": "4 3/8", "diameter": "3/4", "depth": "1 1/2"}
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1}
    data = {
        "format": "layoutkit-job",
        "version": 2,
        "bowler": {
            "name": "Test",
            "hand": hand,
            "pap": {"over": "5", "up": "1/2"},
            "grip": {
                "bridge": "1/4",
                "middle": {**finger, "sleeve": sleeve},
                "ring": {**finger, "span": "4 1/4"},
                "thumb": {"diameter": "1", "depth": "2 3/4"},
            },
        },
        "ball": {
            "name": "Ball",
            "serial": "1",
            "diameter": 8.55,
            "weight": 15.0,
            "top_weight": 2.5,
            "pin_to_cg": "3",
            # it belongs to the ball, so the mirrored job has the mirrored ball
            "psa": {"distance": "quarter", "cg_bearing": 20 if hand == "right" else -20},
        },
        "layout": {
            "by": "angles",
            "angle_at_pin": 50,
            "pin_to_pap": "4 1/2",
            "angle_at_pap": 35,
        },
    }
    return {**data, **changes}


def planned(hand="right", odd=False, **changes):
    data = record(hand, **changes)
    return plan(parse_job(made_odd(data, hand) if odd else data))


def made_odd(data, hand):
    """The record with an oval thumb, a vent, an inspection hole and old holes, mirrored if left."""
    side = 1.0 if hand == "right" else -1.0
    oval = {"length": "1 1/4", "direction": 25 * side, "scallop": "1/64"}
    data["bowler"]["grip"]["thumb"] |= {"pitch": {"reverse": "1/4", "right": 0.125 * side}}
    data["bowler"]["grip"]["thumb"] |= {"diameter": "15/16", "oval": oval}
    data["extra_holes"] = {
        "vents": [{"hole": "thumb", "over": 1, "down": 3, "diameter": "1/8", "meets": 2}],
        "inspection": {"over": -2, "up": 2, "diameter": "5/8", "depth": "1/8"},
    }
    old = [("old thumb", 3, 120, "1 1/8", 1.2), ("old thumb 2", 3.125, 122, "1", 1.2)]
    old += [("old back", 11, 40, "1", 1.2), ("old open", 6, 20, "3/4", None)]
    data["history"] = {
        "holes": [
            {"name": name, "from_pin": away, "bearing": at * side, "right": 0.5 * side}
            | {
                "diameter": across,
                "depth": 2,
                "plug": None if dense is None else {"density": dense},
            }
            for name, away, at, across, dense in old
        ]
    }
    return data


UNITS = get_args(Units)
SYMMETRIC = {
    "name": "Ball",
    "serial": "1",
    "diameter": 8.5,
    "weight": 15.0,
    "top_weight": 2.5,
    "pin_to_cg": "2 3/4",
    "psa": None,
}
# pin-to-PAP beyond a quarter: the CG and the reference line pass behind the ball
BEHIND = {"by": "angles", "angle_at_pin": 130, "pin_to_pap": "6", "angle_at_pap": 100}
CASES = {
    "asymmetric": {},
    "symmetric": {"ball": SYMMETRIC},
    "behind": {"layout": BEHIND},
    "pin on the PAP": {
        "layout": {"by": "angles", "angle_at_pin": 40, "pin_to_pap": 0, "angle_at_pap": 20}
    },
    "odd": {"odd": True},
}
VIEWS = [
    drawing.view_at(np.array(p, dtype=float))
    for p in (
        [0, 0, 1],
        [0, 1, 0],
        [0, -1, 0],
        [1, 0, 0],
        [0, 0, -1],
        [0.3, -0.5, -0.2],
        [-2, 1, 3],
    )
]


@pytest.fixture(params=CASES, name="case")
def _case(request):
    return planned(**CASES[request.param])


def test_everything_lies_on_the_ball(case):
    s = drawing.scene(case)
    for line in s.lines:
        assert np.linalg.norm(line.points, axis=1) == pytest.approx(case.radius, rel=1e-12)
    for each in (*s.markers, *s.callouts):
        assert np.linalg.norm(each.point) == pytest.approx(case.radius, rel=1e-12)


def test_an_oval_is_drawn_as_the_outline_of_its_bores():
    """Each point lies on the wall of one bore and in none of the others, but where a slot is milled."""
    for hand in ("right", "left"):
        p = planned(hand, odd=True)
        thumb = next(h for h in p.holes if h.name == "thumb")
        assert len(thumb.oval.cuts) == 3
        line = next(x for x in drawing.scene(p).lines if (x.kind, x.name) == ("finished", "thumb"))
        off = table_places(line.points, thumb)
        gaps = np.hypot(*(off[:, None] - [(c.along, c.across) for c in thumb.oval.cuts]).T)
        assert gaps.min(axis=0) == pytest.approx(thumb.diameter / 2.0, abs=1e-9)
        # it goes once round: each bore has a part of the wall, and the ends are where they should be
        assert set(gaps.argmin(axis=0)) == {0, 1, 2}
        turn = math.radians(thumb.oval.direction)
        reach = off @ [math.cos(turn), math.sin(turn)]
        assert (reach.min(), reach.max()) == pytest.approx((-0.625, 0.625), abs=1e-9)
        assert np.array_equal(line.points[0], line.points[-1])


def test_a_milled_slot_is_drawn_with_straight_sides():
    data = made_odd(record(), "right")
    data["bowler"]["grip"]["thumb"]["oval"] = {"length": "1 1/4", "direction": 0, "milled": True}
    p = plan(parse_job(data))
    thumb = next(h for h in p.holes if h.name == "thumb")
    line = next(x for x in drawing.scene(p).lines if (x.kind, x.name) == ("finished", "thumb"))
    along, across = table_places(line.points, thumb).T
    half = (1.25 - 15.0 / 16.0) / 2.0
    from_row = np.hypot(np.maximum(np.abs(along) - half, 0.0), across)
    assert from_row == pytest.approx(15.0 / 32.0, abs=1e-9)
    assert (np.abs(along) < half - 1e-6).sum() >= 20


def table_places(points, hole):
    """Points on the press's table (n, 2), along toward the fingers and across to the right."""
    axis, entry = np.array(hole.axis), np.array(hole.entry)
    north = np.array([0.0, 1.0, 0.0])
    # toward the fingers' pole on the surface, made square to the drill
    level = north - (north @ entry) / (entry @ entry) * entry
    forth = level / np.linalg.norm(level)
    forth = forth - (forth @ axis) * axis
    forth /= np.linalg.norm(forth)
    right = np.cross(forth, -axis)
    return np.stack([(points - entry) @ forth, (points - entry) @ right], axis=1)


def test_slanted_holes_are_drawn_as_what_they_cut_from_the_surface():
    p = planned(odd=True)
    s = drawing.scene(p)
    for hole, kind in (
        *((e, "finished") for e in p.extra_holes),
        *((o, "plugged" if o.plugged else "open") for o in p.old_holes),
    ):
        line = next(x for x in s.lines if (x.kind, x.name) == (kind, hole.name))
        off = line.points - np.array(hole.entry)
        down = off @ np.array(hole.axis)
        beside = np.linalg.norm(off - down[:, None] * np.array(hole.axis), axis=1)
        assert beside == pytest.approx(hole.diameter / 2.0, abs=1e-9)
        # where the bit enters, not where it would come out
        assert np.abs(down).max() < hole.diameter


def test_old_holes_stay_where_they_are_on_the_ball():
    """Whatever the layout they keep their places about the pin and the PSA mark."""

    def seen(p):
        x, y = (np.array(m.xyz) / p.radius for m in (p.marks.pin, p.marks.psa))
        frame = np.array([x, y, np.cross(x, y)])  # the PSA mark is a quarter from the pin
        lines = [x for x in drawing.scene(p).lines if x.kind in ("plugged", "open")]
        return [(line.kind, line.name, line.points @ frame.T) for line in lines]

    for hand in ("right", "left"):
        one, other = (planned(hand, odd=True, **change) for change in ({}, {"layout": BEHIND}))
        assert one.marks.pin.xyz != other.marks.pin.xyz
        found = seen(one)
        assert [name for _, name, _ in found] == [
            "old thumb",
            "old thumb 2",
            "old back",
            "old open",
        ]
        for (kind, name, a), (same, also, b) in zip(found, seen(other), strict=True):
            assert (kind, name) == (same, also)
            # the edge may begin elsewhere: compare where it is widest and its middle
            assert a[:-1].mean(axis=0) == pytest.approx(b[:-1].mean(axis=0), abs=1e-3)


def test_old_holes_are_named_once_where_they_begin_in_one_another():
    s = drawing.scene(planned(odd=True))
    named = [c.text for c in s.callouts if c.kind in ("plugged", "open")]
    assert named == ["old thumb, plugged", "old back, plugged", "old open, open"]
    assert not [m for m in s.markers if m.name.startswith("old")]


def test_usual_plans_have_no_odd_lines():
    kinds = {line.kind for line in drawing.scene(planned()).lines}
    assert not kinds & {"plugged", "open"}


def test_lines_are_cut_exactly_at_the_limb(case):
    s = drawing.scene(case)
    crossings = 0
    for view in VIEWS:
        seen = drawing.project(s, view)
        for line in s.lines:
            pieces = [p for p in seen.pieces if p.name == line.name and p.kind == line.kind]
            for before, after in itertools.pairwise(pieces):
                crossings += 1
                assert before.far != after.far
                assert np.array_equal(before.points[-1], after.points[0])
                # on the limb to rounding
                assert np.hypot(*after.points[0]) == pytest.approx(1.0, abs=1e-12)
            assert all(p.whole == (len(pieces) == 1) for p in pieces)
    assert crossings > 20


def test_each_point_is_in_a_piece_of_its_own_side(case):
    s = drawing.scene(case)
    for view in VIEWS:
        pieces = drawing.project(s, view).pieces
        for line in s.lines:
            seen = line.points / s.radius @ view.frame.T
            own = [p for p in pieces if (p.kind, p.name) == (line.kind, line.name)]
            near, far = (
                np.concatenate([np.empty((0, 2)), *(p.points for p in own if p.far == side)])
                for side in (False, True)
            )
            for x, y, w in seen[np.abs(seen[:, 2]) > 1e-6]:
                home = near if w > 0.0 else far
                assert np.hypot(home[:, 0] - x, home[:, 1] - y).min() < 1e-12
            # nothing is added but the limb's points, twice for each cut
            assert len(near) + len(far) == len(line.points) + 2 * (len(own) - 1)


@pytest.mark.parametrize(("kind", "size"), [("finished", 0.75), ("bored", 31.0 / 32.0)])
def test_hole_circles_have_the_hole_s_size(kind, size):
    """Derived: a hole of diameter d has its circle at the arc R asin(d / 2R) from its middle."""
    p = planned()
    hole = next(h for h in p.holes if h.name == "middle")
    line = next(x for x in drawing.scene(p).lines if (x.kind, x.name) == (kind, "middle"))
    e = np.array(hole.entry) / p.radius
    angles = np.arccos(line.points @ e / p.radius)
    assert angles * p.radius == pytest.approx(p.radius * math.asin(size / 2.0 / p.radius), abs=1e-9)


def read(text):
    """Inches of a printed mixed fraction."""
    whole, _, rest = text.strip().rpartition(" ")
    if "/" not in rest:
        return float(text)
    top, bottom = rest.split("/")
    sign = -1.0 if text.startswith("-") else 1.0
    return (float(whole) if whole else 0.0) + sign * abs(float(top)) / float(bottom)


def lengths(p):
    found = {}
    for c in drawing.scene(p).callouts:
        if match := re.fullmatch(r"(.+ to .+?) (-?[0-9/ ]+) in", c.text):
            found[match[1]] = read(match[2])
    return found


def test_arc_labels_agree_with_the_plan_and_with_the_drawn_arcs(case):
    shown = lengths(case)
    n = case.layout
    wanted = {"pin to PAP": n.pin_to_pap, "pin to VAL": n.pin_to_val}
    if n.psa_to_pap is None:
        wanted["pin to CG"] = case.distances.pin_to_cg
    else:
        wanted["PSA to PAP"] = n.psa_to_pap
        wanted["pin to PSA"] = math.pi * case.radius / 2.0  # the record says "quarter"
    assert shown == pytest.approx(wanted, abs=1.0 / 32.0 + 1e-9)  # labels are sixteenths
    for line in drawing.scene(case).lines:
        if line.name in wanted:
            steps = np.linalg.norm(np.diff(line.points, axis=0), axis=1)
            drawn = (2.0 * case.radius * np.arcsin(steps / 2.0 / case.radius)).sum()
            assert drawn == pytest.approx(abs(wanted[line.name]), abs=1e-9)


def test_arcs_join_their_marks(case):
    m = {k: np.array(v.xyz) for k, v in (("pin", case.marks.pin), ("PAP", case.marks.pap))}
    m["CG"] = np.array(case.marks.cg.xyz)
    if case.marks.psa is not None:
        m["PSA"] = np.array(case.marks.psa.xyz)
    joined = 0
    for line in drawing.scene(case).lines:
        a, _, b = line.name.partition(" to ")
        if a in m and b in m:
            joined += 1
            assert line.points[0] == pytest.approx(m[a], abs=1e-9)
            assert line.points[-1] == pytest.approx(m[b], abs=1e-9)
    assert joined == (3 if case.marks.psa is not None else 2)


def test_the_foot_lies_on_the_val_and_is_its_nearest_point():
    p = planned()
    lines = {line.name: line.points for line in drawing.scene(p).lines}
    foot, val, pin = lines["pin to VAL"][-1], lines["VAL"], np.array(p.marks.pin.xyz)
    normal = np.cross(val[0], val[30])
    assert foot @ normal == pytest.approx(0.0, abs=1e-9 * np.linalg.norm(normal))
    # samples of the VAL stand 2.5 degrees apart, so none is nearer than the foot
    assert np.linalg.norm(val - pin, axis=1).min() >= np.linalg.norm(foot - pin) - 1e-12


def test_angles_are_drawn_at_their_corners():
    """Each angle's arc begins and ends on the lines between which the angle lies."""
    p = planned()
    lines = {line.name: line.points for line in drawing.scene(p).lines}
    pin, pap, psa = (np.array(x.xyz) for x in (p.marks.pin, p.marks.pap, p.marks.psa))

    def off_line(x, a, b):
        n = np.cross(a, b)
        return abs(x @ n) / np.linalg.norm(n) / np.linalg.norm(x)

    arcs = lines["angle at the pin"]
    assert off_line(arcs[0], pin, pap) < 1e-9
    assert off_line(arcs[-1], pin, psa) < 1e-9
    arcs = lines["angle at the PAP"]
    assert off_line(arcs[0], pap, pin) < 1e-9
    assert off_line(arcs[-1], pap, np.array([0.0, 1.0, 0.0])) < 1e-9
    assert arcs[-1][1] > pap[1]  # the finger side of the VAL


@pytest.mark.parametrize("height", [0.06, 0.1, 0.25, 0.5])
@pytest.mark.parametrize("view", VIEWS)
def test_callouts_do_not_overlap_and_leaders_do_not_cross(case, view, height):
    seen = drawing.project(drawing.scene(case), view, height)
    assert len(seen.labels) == len(drawing.scene(case).callouts)
    for side in ("left", "right"):
        rows = sorted(x.y for x in seen.labels if x.side == side)
        assert all(b - a >= height - 1e-12 for a, b in itertools.pairwise(rows))
    for label in seen.labels:
        assert abs(label.x) > 1.0
        assert (label.x > 0) == (label.side == "right")

    def turn(p, q, r):
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    leaders = [x.leader for x in seen.labels]
    for i, (a, b) in enumerate(leaders):
        for c, d in leaders[:i]:
            one, two, three, four = turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
            # leaders from one point to two rows share that point and do not cross
            split = [min(p) < -1e-9 and max(p) > 1e-9 for p in ((one, two), (three, four))]
            assert not all(split)


def test_far_side_is_said(case):
    s = drawing.scene(case)
    for view in VIEWS:
        seen = drawing.project(s, view)
        for marker, spot in zip(s.markers, seen.spots, strict=True):
            assert spot.far == (marker.point @ view.frame[2] < -1e-9 * s.radius)
        for label in seen.labels:
            assert label.far == label.text.endswith("(far side)")
    behind = [x for x in drawing.project(s, VIEWS[4]).spots if x.kind in ("pin", "grip_center")]
    assert all(x.far for x in behind)


def test_whole_circles_are_named_where_they_are_seen(case):
    for view in VIEWS:
        for label in drawing.project(drawing.scene(case), view).labels:
            if label.kind in ("midline", "centreline", "val"):
                assert not label.far


@pytest.mark.parametrize("name", CASES)
def test_mirrored_job_gives_the_mirrored_drawing(name):
    right, left = (planned(hand, **CASES[name]) for hand in ("right", "left"))
    for what in ("grip", "pin", "pap", "cg", "underside"):
        a = drawing.project(drawing.scene(right), drawing.facing(right, what), 0.11)
        b = drawing.project(drawing.scene(left), drawing.facing(left, what), 0.11)
        for x, y in zip(a.spots, b.spots, strict=True):
            assert (x.name, x.far) == (y.name, y.far)
            assert (-x.x, x.y) == pytest.approx((y.x, y.y), abs=1e-12)
        for x, y in zip(a.labels, b.labels, strict=True):
            assert (x.text, -x.x) == (y.text, y.x)
            assert x.y == pytest.approx(y.y, abs=1e-12)


def test_facing_puts_the_mark_in_the_middle_with_the_fingers_up():
    p = planned()
    s = drawing.scene(p)
    for what, name in (("grip", "grip_center"), ("pin", "pin"), ("pap", "pap"), ("cg", "cg")):
        view = drawing.facing(p, what)
        spot = next(x for x in drawing.project(s, view).spots if x.name == name)
        assert (spot.x, spot.y, spot.far) == (pytest.approx(0), pytest.approx(0), False)
        pole = view.frame @ np.array([0.0, 1.0, 0.0])
        assert pole[0] == pytest.approx(0.0, abs=1e-12)
        assert pole[1] > 0.0
        assert np.linalg.det(view.frame) == pytest.approx(1.0)
    with pytest.raises(KeyError):
        drawing.facing(planned(ball=SYMMETRIC), "psa")


def test_dragging_carries_the_surface_along():
    view = drawing.view_at(np.array([0.2, -0.4, 1.0]))
    middle = view.frame[2]
    turned = view.turned(0.3, -0.4)
    # the point in the middle moves along the drag by the arc 0.5, so by sin 0.5 in the picture
    x, y, w = turned.frame @ middle
    assert (x, y, w) == pytest.approx(
        (0.6 * math.sin(0.5), -0.8 * math.sin(0.5), math.cos(0.5)), abs=1e-12
    )
    for _ in range(2000):
        turned = turned.turned(0.01, 0.007)
    assert turned.frame @ turned.frame.T == pytest.approx(np.eye(3), abs=1e-12)
    assert view.turned(0.0, 0.0) is view


def test_pick_finds_the_nearest_mark_and_prefers_the_near_side():
    p = planned()
    seen = drawing.project(drawing.scene(p), drawing.facing(p, "grip"))
    pin = next(s for s in seen.spots if s.kind == "pin")
    assert seen.pick(pin.x + 0.01, pin.y, 0.05) is pin
    assert seen.pick(pin.x, pin.y + 0.2, 0.05) is None
    near = drawing.Spot("pin", "pin", 0.1, 0.0, False)
    far = drawing.Spot("cg", "cg", 0.0, 0.0, True)
    both = drawing.Drawing(seen.view, (), (far, near), (), 0.1)
    assert both.pick(0.0, 0.0, 0.2) is near
    assert both.pick(0.0, 0.0, 0.05) is far


# --- dragging, comparing, walking through the steps -----------------------------------------------


@pytest.mark.parametrize("view", VIEWS)
def test_under_finds_the_point_that_is_projected_there(case, view):
    s = drawing.scene(case)
    for marker, spot in zip(s.markers, drawing.project(s, view).spots, strict=True):
        found = view.under(spot.x, spot.y, s.radius, spot.far)
        # a thousandth: near the limb a picture says little about the depth
        assert found == pytest.approx(tuple(marker.point), abs=1e-3)


@pytest.mark.parametrize("far", [False, True])
def test_beside_the_ball_lies_the_limb(far):
    view = drawing.view_at(np.array([0.2, -0.4, 1.0]))
    point = np.array(view.under(3.0, -4.0, 4.25, far))
    assert view.frame @ point == pytest.approx((0.6 * 4.25, -0.8 * 4.25, 0.0), abs=1e-12)


def test_reference_marks_are_ghosts_where_they_differ():
    kept = planned(layout={"by": "angles", "angle_at_pin": 70, "pin_to_pap": 4, "angle_at_pap": 35})
    mine, other = drawing.scene(planned()), drawing.scene(kept)
    both = drawing.with_reference(mine, other)
    ghosts = {m.name for m in both.markers if m.ghost}
    # the grip and the PAP are the same bowler's
    assert ghosts == {"pin", "cg", "psa"}
    texts = [c.text for c in both.callouts]
    assert [t for t in texts if t.endswith(drawing.KEPT)] == [
        "pin (kept)",
        "CG (kept)",
        "PSA (kept)",
    ]
    for marker in both.markers:
        if marker.ghost:
            place = next(m.point for m in other.markers if m.name == marker.name)
            assert marker.point == pytest.approx(place, abs=1e-12)
    assert drawing.with_reference(mine, mine).markers == mine.markers


def test_reference_on_a_ball_of_another_size_keeps_its_directions():
    mine = drawing.scene(planned())
    other = drawing.scene(planned(ball=SYMMETRIC))
    ghosts = [m for m in drawing.with_reference(mine, other).markers if m.ghost]
    assert ghosts
    for ghost in ghosts:
        place = next(m.point for m in other.markers if m.name == ghost.name)
        assert np.linalg.norm(ghost.point) == pytest.approx(mine.radius, rel=1e-12)
        assert np.cross(ghost.point, place) == pytest.approx(np.zeros(3), abs=1e-12)
    # a drilled hole that the other plan has elsewhere is shown with its circle
    wide = {"span": "5", "diameter": "3/4", "depth": "1 1/2"}
    changed = record()
    changed["bowler"]["grip"]["middle"] = wide
    moved = drawing.with_reference(mine, drawing.scene(plan(parse_job(changed))))
    assert ("finished", "middle") in {(x.kind, x.name) for x in moved.lines if x.ghost}


def test_ghosts_are_never_picked():
    near = drawing.Spot("pin", "pin", 0.1, 0.0, False)
    ghost = drawing.Spot("pin", "pin", 0.0, 0.0, False, True)
    both = drawing.Drawing(VIEWS[0], (), (ghost, near), (), 0.1)
    assert both.pick(0.0, 0.0, 0.2) is near
    assert both.pick(0.0, 0.0, 0.05) is None


def check_crossing(p, s, step, places):
    """Both measures end at the new hole, each as long as the words say."""
    measures = [x.points for x in s.lines if x.kind == "measure"]
    assert len(measures) == 2
    for points, length in zip(measures, (step.length, step.crossing.length), strict=True):
        assert points[-1] == pytest.approx(places[step.new], abs=1e-9)
        chords = np.linalg.norm(np.diff(points, axis=0), axis=1)
        drawn = (2.0 * p.radius * np.arcsin(chords / 2.0 / p.radius)).sum()
        assert drawn == pytest.approx(length, abs=1e-9)
    assert measures[0][0] == pytest.approx(places[step.at], abs=1e-9)
    second = {step.crossing.mark} - {"centreline"}
    assert {m.name for m in s.markers} == {step.at, step.new} | second
    if second:
        assert measures[1][0] == pytest.approx(places[step.crossing.mark], abs=1e-9)
    assert (places[step.new][0] > 0.0) == step.crossing.right


@pytest.mark.parametrize("hand", ["right", "left"])
def test_without_a_pap_the_middle_hole_is_measured_square_from_the_centreline(hand):
    data = record(hand)
    data["bowler"]["pap"] = None
    data["layout"] = {"by": "placement", "pin": {"over": 1, "up": 3}, "bearing": 160}
    p = plan(parse_job(data))
    places = landed(p)
    crossings = [step for step in marking_steps(p) if step.crossing is not None]
    assert [step.new for step in crossings] == ["middle", "ring"]
    for step in crossings:
        check_crossing(p, drawing.step_scene(p, step), step, places)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("name", CASES)
def test_each_step_is_drawn_where_it_is_measured(name, hand):
    p = planned(hand, **CASES[name])
    places = landed(p)
    for step in marking_steps(p):
        s = drawing.step_scene(p, step)
        if step.crossing is not None:
            check_crossing(p, s, step, places)
            continue
        assert {m.name for m in s.markers} == {step.at, step.toward, step.new}
        lines = {x.kind: x.points for x in s.lines}
        assert lines["sight"][0] == pytest.approx(places[step.at], abs=1e-9)
        assert lines["sight"][-1] == pytest.approx(places[step.toward], abs=1e-9)
        if step.length == 0.0:
            assert "measure" not in lines
            continue
        measured = lines["measure"]
        assert measured[0] == pytest.approx(places[step.at], abs=1e-9)
        assert measured[-1] == pytest.approx(places[step.new], abs=1e-9)
        chords = np.linalg.norm(np.diff(measured, axis=0), axis=1)
        drawn = (2.0 * p.radius * np.arcsin(chords / 2.0 / p.radius)).sum()
        assert drawn == pytest.approx(step.length, abs=1e-9)
        # what the words swing leads to the arc, or on the VAL to the way opposite to it
        off = (step.start + step.swing - step.turn) % 360
        assert off == 0 or (off == 180 and step.new == "foot")
        assert (step.start == 0) or step.at == "grip_center"
        if step.swing:
            assert f"swing {abs(step.swing)} degree" in step.text
            swing = lines["angle"]
            sense = np.cross(swing[0], swing[1]) @ np.array(places[step.at])
            assert (sense < 0.0) == (step.swing > 0)
            assert ("counter" in step.text.split("swing")[1]) == (step.swing < 0)
        else:
            assert "angle" not in lines
            assert "swing" not in step.text
        view = drawing.step_view(p, step)
        seen = drawing.project(s, view)
        new = next(x for x in seen.spots if x.name == step.new)
        assert not new.far or step.length > math.pi * p.radius / 2.0


def test_lengths_are_written_in_the_units_asked_for():
    p = planned()
    texts = {u: {c.name: c.text for c in drawing.scene(p, u).callouts} for u in UNITS}
    assert texts["fraction"]["pin to PAP"] == "pin to PAP 4 1/2 in"
    assert texts["decimal"]["pin to PAP"] == "pin to PAP 4.500 in"
    assert texts["metric"]["pin to PAP"] == "pin to PAP 114.3 mm"  # 4.5 x 25.4
    step = marking_steps(p)[0]
    words = [c.text for c in drawing.step_scene(p, step, "metric").callouts]
    assert "measure 114.3 mm" in words


def test_words_for_the_far_side_can_be_chosen():
    p = planned()
    seen = drawing.project(drawing.scene(p), drawing.facing(p, "underside"), 0.12, " (far)")
    assert any(x.far for x in seen.labels)
    assert all(x.text.endswith(" (far)") == x.far for x in seen.labels)
