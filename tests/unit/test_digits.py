"""Grips of up to five digits, holes that nobody uses, and a thumb sleeve inside another one."""

import copy
import math
from typing import Any

import numpy as np
import pytest
from pyproj import Geod

from layoutkit import InputError, parse_job, plan
from layoutkit.planning.certainty import figures, inputs
from layoutkit.planning.inners import with_inner
from layoutkit.planning.values import HolePlan, Plan

OUTER = {"bore": 1.5, "bore_depth": 2.75, "density": 1.2}
SLEEVE = {"bore": 1.25, "bore_depth": 2.75, "density": 1.1}


@pytest.fixture
def five(record: dict[str, Any]) -> dict[str, Any]:
    """A grip of five digits whose thumb stands in two sleeves."""
    grip = record["bowler"]["grip"]
    grip["middle"]["sleeve"] = {"bore": "31/32", "bore_depth": 1.5, "density": 1.1}
    grip["index"] = {"span": "4 1/8", "gap": "3/8", "diameter": "13/16", "depth": 1}
    grip["little"] = {"span": "3 7/8", "gap": "5/16", "diameter": "5/8", "depth": 1}
    grip["thumb"] |= {"depth": 2.5, "sleeve": {**SLEEVE, "outer": OUTER}}
    grip["thumb"]["inners"] = [{"name": "summer", "sleeve": SLEEVE, "diameter": "1 1/16"}]
    return copy.deepcopy(record)  # tests may change every part


def holes(p: Plan) -> dict[str, HolePlan]:
    return {h.name: h for h in p.holes}


def edge(diameter: float, radius: float) -> float:
    return radius * math.asin(diameter / (2.0 * radius))


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("thumb", [True, False])
def test_spans_and_gaps_hold_on_a_globe(five: dict[str, Any], hand: str, thumb: bool) -> None:
    five["bowler"]["hand"] = hand
    grip = five["bowler"]["grip"]
    if not thumb:
        grip["thumb"] = None
        for name, span in (("middle", 2.25), ("ring", 2.125), ("index", 2.0), ("little", 1.75)):
            grip[name]["span"] = span
    p = plan(parse_job(five))
    by, r = holes(p), p.radius
    globe = Geod(a=r, b=r)

    def apart(one: tuple[float, ...], other: tuple[float, ...]) -> float:
        places = [
            (math.degrees(math.atan2(x, z)), math.degrees(math.asin(y / r)))
            for x, y, z in (one, other)
        ]
        return float(globe.inv(*places[0], *places[1])[2])

    record = p.job.bowler.grip
    for name, beside in (("index", "middle"), ("little", "ring")):
        own, near = by[name], by[beside]
        digit = getattr(record, name)
        base = by["thumb"].entry if thumb else (0.0, 0.0, r)
        reach = digit.span + edge(own.diameter, r) + (edge(by["thumb"].diameter, r) if thumb else 0)
        assert apart(base, own.entry) == pytest.approx(reach, abs=1e-9)
        bored = near.bore.diameter if near.bore else near.diameter
        gap = apart(own.entry, near.entry) - edge(own.diameter, r) - edge(bored, r)
        assert gap == pytest.approx(digit.gap, abs=1e-9)
        # on the outer side: farther from the centreline, the same way
        assert own.over / near.over > 1.0


def test_a_mirrored_grip_lies_mirrored_to_the_last_bit(five: dict[str, Any]) -> None:
    p = plan(parse_job(five))
    other = copy.deepcopy(five)
    other["bowler"]["hand"] = "left"
    for part in other["bowler"]["grip"].values():
        if isinstance(part, dict) and "pitch" in part:
            swap = {"left": "right", "right": "left"}
            part["pitch"] = {swap.get(k, k): v for k, v in part["pitch"].items()}
    other["ball"]["psa"]["cg_bearing"] = -20
    q = plan(parse_job(other))
    for h, m in zip(p.holes, q.holes, strict=True):
        assert (h.name, h.over, h.up, h.removed_oz) == (m.name, m.over, m.up, m.removed_oz)
        assert h.entry == (-m.entry[0], *m.entry[1:])


def test_the_holes_may_be_told_apart_and_bored_in_the_order_of_the_sleeves(
    five: dict[str, Any],
) -> None:
    p = plan(parse_job(five))
    assert [h.name for h in p.holes] == ["middle", "ring", "index", "little", "thumb"]
    thumb = holes(p)["thumb"]
    assert thumb.bore is not None
    assert thumb.inner is not None
    assert (thumb.bore.diameter, thumb.bore.sleeve_length) == (1.5, 2.75)
    assert (thumb.inner.diameter, thumb.inner.sleeve_length) == (1.25, 2.75)
    # the thumb's spans are cut from its outermost bore
    beyond = edge(1.5, p.radius) - edge(1.0, p.radius)
    ring = holes(p)["ring"]
    assert ring.bored_span == pytest.approx(4.25 - beyond, abs=1e-12)
    assert holes(p)["index"].gap == 0.375


def test_another_inner_sleeve_changes_the_hole_that_comes_with_it(five: dict[str, Any]) -> None:
    job = parse_job(five)
    other = plan(with_inner(job, "summer"))
    assert holes(other)["thumb"].diameter == 1.0625
    assert other.job.bowler.grip.thumb is not None
    sleeve = other.job.bowler.grip.thumb.sleeve
    assert sleeve is not None
    assert sleeve.name == "summer"
    assert sleeve.outer is not None
    assert sleeve.outer.bore == 1.5
    wider = math.pi / 4.0 * (1.0625**2 - 1.0) * 2.5 * 1.1 * 0.578037
    removed = holes(other)["thumb"].removed_oz - holes(plan(job))["thumb"].removed_oz
    assert removed == pytest.approx(wider, rel=0.03)  # but for the curved mouth and the pitch
    with pytest.raises(InputError, match="no inner sleeve of this record; possible: summer"):
        with_inner(job, "winter")


@pytest.mark.parametrize(("digit", "count"), [("little", 4), ("thumb", 4), ("ring", 4)])
def test_a_hole_that_nobody_uses_counts_as_a_balance_hole(
    five: dict[str, Any], digit: str, count: int
) -> None:
    used = {c.name: c for c in plan(parse_job(five)).checks}
    assert (used["hole count"].value, used["balance holes"].value) == (5.0, 0.0)
    five["bowler"]["grip"][digit]["used"] = False
    p = plan(parse_job(five))
    checks = {c.name: c for c in p.checks}
    assert checks["hole count"].value == count
    assert (checks["balance holes"].value, checks["balance holes"].outcome) == (1.0, "fail")


def test_old_rules_measure_an_unused_hole_as_a_balance_hole(five: dict[str, Any]) -> None:
    five["bowler"]["grip"]["little"]["used"] = False
    five["rules"] = "usbc-pre-2018"
    checks = {c.name: c for c in plan(parse_job(five)).checks}
    # 1 1/4 in at most: World Bowling statutes 11.12.3 (text circulated 2019)
    balance = checks["balance holes"]
    assert (balance.value, balance.limit, balance.outcome) == (0.625, 1.25, "pass")


@pytest.mark.parametrize(
    ("path", "value", "field", "words"),
    [
        ("index.gap", 0.0, "bowler.grip.index.gap", "cannot be with a span of 2 in"),
        ("thumb.sleeve.outer.bore", 1.0, "bowler.grip.thumb.sleeve.outer.bore", "narrower than"),
        ("thumb.sleeve.outer", None, "bowler.grip.thumb.inners", "need the outer sleeve"),
        ("thumb.inners.0.diameter", 1.3, "bowler.grip.thumb.inners.0.sleeve.bore", "narrower"),
    ],
)
def test_what_cannot_be_is_refused_by_its_field(
    five: dict[str, Any], path: str, value: Any, field: str, words: str
) -> None:
    grip = five["bowler"]["grip"]
    if path == "index.gap":
        grip["index"]["span"] = 2.0
    *parts, last = path.split(".")
    at: Any = grip
    for part in parts:
        at = at[int(part)] if part.isdigit() else at[part]
    at[last] = value
    with pytest.raises(InputError) as caught:
        plan(parse_job(five))
    assert caught.value.field == field
    assert words in caught.value.words


def test_an_outer_sleeve_as_wide_as_the_inner_one_ruins_the_ball(five: dict[str, Any]) -> None:
    five["bowler"]["grip"]["thumb"]["sleeve"]["outer"] = {**OUTER, "bore": 1.25}
    p = plan(parse_job(five))
    assert p.outcome == "fail"
    assert any("outer sleeve's wall" in reason for reason in p.reasons)


def test_measures_after_drilling_and_tolerances_reach_the_outer_digits(
    five: dict[str, Any],
) -> None:
    five["as_drilled"] = {"little": {"span": 3.9375, "depth": 1.0625}}
    p = plan(parse_job(five))
    assert holes(p)["little"].span == 3.9375
    assert {d.name for d in p.differences} == {"little span", "little depth"}
    del five["as_drilled"]
    five["tolerances"] = {}
    job = parse_job(five)
    assert "index gap" in {each.words for each in inputs(job)}
    # one shifted gap moves the figures as a record with that gap does
    moved = figures(job, {"grip.index.gap": np.array([0.0, 0.125])})
    five["bowler"]["grip"]["index"]["gap"] = 0.5
    wider = plan(parse_job(five)).statics
    assert moved["side_oz"][1] == pytest.approx(wider.side_oz, abs=1e-3)
    assert abs(moved["side_oz"][1] - moved["side_oz"][0]) > 0.005


def test_denser_sleeves_weigh_as_a_record_with_denser_sleeves(five: dict[str, Any]) -> None:
    """The wall that is left of each sleeve counts, of the one inside the other too."""
    moved = figures(parse_job(five), {"sleeves": np.array([0.0, 0.05])})["weight_lb"]
    grip = five["bowler"]["grip"]
    grip["middle"]["sleeve"]["density"] += 0.05
    grip["thumb"]["sleeve"]["density"] += 0.05
    before = plan(parse_job(five)).statics.weight_lb
    grip["thumb"]["sleeve"]["outer"]["density"] += 0.05
    after = plan(parse_job(five)).statics.weight_lb
    assert moved[1] - moved[0] == pytest.approx(after - moved[0], abs=1e-6)
    assert after - before > 0.002
