"""Figures of holes derived by hand, from places and axes alone: spans, walls, weights at a mouth or tip.

Each derivation stands beside its check and uses school geometry. Units: inches, ounces.
"""

import copy
import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from layoutkit import plan
from layoutkit.job.record import parse_job
from layoutkit.output.report import report
from layoutkit.planning.plan import Plan

OZ_PER_IN3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition (1959)
WALL = 1e-3  # inches; what a wall is computed to

Record = dict[str, Any]


def planned(record: Record, **grip: Any) -> Plan:
    """The plan of a copy of the record with these changes to holes, by name, or to the bridge."""
    record = copy.deepcopy(record)
    for name, change in grip.items():
        if isinstance(change, dict):
            record["bowler"]["grip"][name] |= change
        else:
            record["bowler"]["grip"][name] = change
    return plan(parse_job(record))


def uniform(record: Record) -> Record:
    """The record without RG data: the ball is of one density."""
    record = copy.deepcopy(record)
    for name in ("rg_low", "differential", "intermediate_differential", "shell", "filler_density"):
        del record["ball"][name]
    return record


def density(p: Plan) -> float:
    """Ounces in a cubic inch of a uniform ball: its weight over its volume."""
    return 16.0 * p.job.ball.weight / (4.0 / 3.0 * math.pi * p.radius**3)


# --- spans ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("finger", "thumb"), [(None, 1.25), (0.9375, None), (0.9375, 1.25)])
def test_the_bored_span_is_the_arc_from_bored_edge_to_bored_edge(
    record: Record, finger: float | None, thumb: float | None
) -> None:
    """A bore wider than its finished hole, at either end, leaves a shorter bored span.

    The angle between two centres comes from their dot product; each edge lies asin(d / 2R) from its
    centre.
    """
    grip: Record = {}
    for name, bore in (("middle", finger), ("ring", finger), ("thumb", thumb)):
        if bore is not None:
            grip[name] = {"sleeve": {"bore": bore, "bore_depth": 2.0, "density": 1.15}}
    p = planned(record, **grip)

    def half(wide: float) -> float:
        return p.radius * math.asin(wide / 2.0 / p.radius)

    place = {h.name: np.array(h.entry) / p.radius for h in p.holes}
    for h in p.holes[:2]:
        apart = p.radius * math.acos(float(place[h.name] @ place["thumb"]))
        wanted = apart - half(finger or h.diameter) - half(thumb or p.holes[2].diameter)
        assert h.bored_span == pytest.approx(wanted, abs=1e-9)
        assert h.bored_span is not None
        assert h.span is not None
        assert h.bored_span < h.span - 0.05


def test_the_report_prints_the_shorter_bored_span(record: Record) -> None:
    """Each bore's edge, R asin(d / 2R) from its centre, lies further out than the finished hole's.

    On a ball of 8.55 in that is 0.1257 in at a finger, from 3/4 to 1 in, and 0.1261 in at the thumb,
    from 1 to 1 1/4 in.
    """
    sleeves = {
        name: {"sleeve": {"bore": bore, "bore_depth": 2.0, "density": 1.15}}
        for name, bore in (("middle", 1.0), ("ring", 1.0), ("thumb", 1.25))
    }
    text = report(planned(record, **sleeves))
    # 4 3/8 - 0.2518 = 4.1232 is 4 1/8 and 4 1/4 - 0.2518 = 3.9982 is 4, in sixty-fourths
    for name, finished, bored in (("middle", "4 3/8", "4 1/8"), ("ring", "4 1/4", "4")):
        row = next(r for r in text.splitlines() if r.split()[:1] == [name] and finished in r)
        assert bored in row[row.index(finished) + len(finished) :], row


# --- walls ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("depth", [1.5, 2.5])
def test_two_like_straight_holes_are_nearest_at_their_bottoms(record: Record, depth: float) -> None:
    """Both axes pass the centre, so the inner bottom edges are nearest, and the wall's middle beside.

    From the centre such an edge is sqrt((R - D)^2 + r^2) away, atan(r / (R - D)) inside its axis; half
    of the angle between the axes less that is the edge's angle from the plane in the middle.
    """
    hole = {"span": 4.25, "diameter": 0.75, "depth": depth, "pitch": {}}
    p = planned(record, middle=hole, ring=hole, bridge=1.5)
    one, other = (np.array(h.entry) / p.radius for h in p.holes[:2])
    left = p.radius - depth
    reach = math.hypot(left, 0.375)
    aside = math.acos(float(one @ other)) / 2.0 - math.atan(0.375 / left)
    wall = next(w for w in p.walls if w.holes == ("middle", "ring"))
    assert wall.thickness == pytest.approx(2.0 * reach * math.sin(aside), abs=WALL)
    assert wall.depth == pytest.approx(p.radius - reach * math.cos(aside), abs=WALL)


def test_holes_that_cross_are_nearest_where_both_axes_have_their_common_normal(
    record: Record,
) -> None:
    """The middle of the wall lies on the common normal, half of the wall beyond either bore."""
    deep = {"depth": 3.5, "span": 4.25}
    p = planned(
        record,
        middle=deep | {"diameter": 0.5, "pitch": {"forward": 1.25, "right": 0.5}},
        ring=deep | {"diameter": 0.875, "pitch": {"reverse": 1.0, "left": 0.5}},
        bridge=0.75,
    )
    (a, d), (b, e) = ((np.array(h.entry), np.array(h.axis)) for h in p.holes[:2])
    n = np.cross(d, e)
    s, t, apart = np.linalg.solve(np.stack([d, -e, n], axis=1), b - a)
    assert 0.5 < s < 3.0  # between the ends of both
    assert 0.5 < t < 3.0
    gap = abs(apart) * float(np.linalg.norm(n)) - 0.25 - 0.4375
    assert gap > 0.05
    way = math.copysign(1.0, apart) * n / np.linalg.norm(n)
    place = a + s * d + (0.25 + gap / 2.0) * way
    wall = next(w for w in p.walls if w.holes == ("middle", "ring"))
    assert wall.thickness == pytest.approx(gap, abs=WALL)
    assert wall.depth == pytest.approx(p.radius - float(np.linalg.norm(place)), abs=WALL)


def test_a_drill_point_below_a_sleeves_bore_makes_the_wall_thinner(
    occ: SimpleNamespace, record: Record
) -> None:
    """The bit's point goes deeper than the bore although its full diameter does not (OpenCASCADE)."""
    sleeve = {"bore": 0.875, "bore_depth": 1.0, "density": 1.15}
    middle = {"depth": 0.9375, "pitch": {}, "sleeve": sleeve}
    ring = {"diameter": 0.5, "depth": 3.0, "pitch": {"left": 2.0}}
    flat = planned(record, middle=middle, ring=ring, bridge=1.5)
    p = planned(record, middle=middle | {"tip_angle": 60}, ring=ring, bridge=1.5)
    one, other = p.holes[:2]
    shapes = [
        occ.bore(one.entry, one.axis, 0.4375, 1.0),
        occ.bore(one.entry, one.axis, 0.375, 0.9375, 60.0),
        occ.bore(other.entry, other.axis, 0.25, 3.0),
    ]
    exact, _ = occ.distance(occ.fuse(*shapes[:2]), shapes[2])
    found, without = (next(w for w in q.walls if w.holes == ("middle", "ring")) for q in (p, flat))
    assert found.thickness == pytest.approx(exact, abs=WALL)
    assert 0.05 < found.thickness < without.thickness - 0.05


# --- weights --------------------------------------------------------------------------------------


def test_a_drill_point_below_a_sleeves_bore_takes_sleeve_and_ball(record: Record) -> None:
    """Beside a flat bit, a 90 degree point takes its cone: sleeve down to the bore's end, then ball.

    A cone of 90 degrees is as high as its base is wide from the axis, so height h is worth pi h^3 / 3.
    """
    sleeve = {"bore": 1.0, "bore_depth": 1.5, "density": 1.4}
    thumb = {"diameter": 0.75, "depth": 1.375, "pitch": {}, "sleeve": sleeve}
    record = uniform(record)
    flat, pointed = planned(record, thumb=thumb), planned(record, thumb=thumb | {"tip_angle": 90})
    below = 1.375 + 0.375 - 1.5
    cone, tip = (math.pi * h**3 / 3.0 for h in (0.375, below))
    wanted = 1.4 * OZ_PER_IN3 * (cone - tip) + density(flat) * tip
    more = pointed.holes[2].removed_oz - flat.holes[2].removed_oz
    assert more == pytest.approx(wanted, abs=1e-9)


@pytest.mark.parametrize("pitch", [1.0, 1.5, 2.0])
def test_mouths_that_meet_on_their_high_sides_are_not_counted_twice(
    occ: SimpleNamespace, record: Record, pitch: float
) -> None:
    """Two holes leaning apart: above their centres' level they share a sliver, which OpenCASCADE has.

    On the ball a tilted hole reaches r / cos(tilt) from its centre toward the side that it leans from,
    more than the radius that bridge and spans are counted with.
    """
    hole = {"span": 4.25, "diameter": 1.25, "depth": 1.5}
    p = planned(
        uniform(record),
        middle=hole | {"pitch": {"left": pitch}},
        ring=hole | {"pitch": {"right": pitch}},
        bridge=0.0,
    )
    one, other = (occ.bore(h.entry, h.axis, 0.625, 1.5) for h in p.holes[:2])
    ball = occ.ball(p.radius)
    shared = occ.moments(occ.common(occ.common(ball, one), other))[0]
    assert shared > 1e-5
    each = [occ.moments(occ.common(ball, bore))[0] for bore in (one, other)]
    removed = (p.holes[0].removed_oz + p.holes[1].removed_oz) / density(p)
    assert removed == pytest.approx(sum(each) - shared, abs=0.02 * shared)
