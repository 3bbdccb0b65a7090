"""Old holes as a driller finds them: by two arcs and a side, pitched as in the grip they belonged to."""

import copy
import math
from typing import Any

import numpy as np
import pyproj
import pytest

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc, from_over_up, to_over_up
from layoutkit.job.record import OldHole, parse_job
from layoutkit.output.report import report
from layoutkit.planning import variants
from layoutkit.planning.changes import layout_changed
from layoutkit.planning.old_places import by_arcs
from layoutkit.planning.placing import for_other_layouts
from layoutkit.planning.plan import plan
from layoutkit.planning.redrill import redrilled

R = 4.275


def hole(**fields: Any) -> OldHole:
    return OldHole(**{"name": "old", "diameter": 1, "depth": 2, **fields})


# Two arcs on a ball of 8.55 in, worked out apart from this program with great circles by a root finder:
# marks and arcs, the place left of the line from the first to the second, the one right of it, the angle
# at which the arcs cross, and how far off 1/64 in on both puts it by e / sin(psi / 2).
TWO_ARCS = [
    ("pin", (1.5, 2.25), 2.25, "grip_center", (0, 0), 2.75,
     (2.73345544392, 0.324828505689), (-1.14674903509, 2.53090992916), 66.503774),
    ("pin", (2, 3), 3.5, "cg", (0.5, 0.25), 2,
     (2.36348296822, -0.483924502722), (-1.35181742448, 1.06445858951), 64.08382),
    ("pin", (2, 2), 4.9375, "cg", (1, -0.5), 2.5,
     (1.66338776787, -2.92748486583), (-1.19492020784, -1.85789772533), 20.546383),
    ("psa", (6, -1.5), 7, "pin", (2, 3), 2.5,
     (-0.431206064452, 1.58668866619), (3.78867443554, 5.33293326095), 61.938252),
]  # fmt: skip


@pytest.mark.parametrize("row", TWO_ARCS)
def test_two_arcs_meet_where_great_circles_do(row: tuple[Any, ...]) -> None:
    first, at, one, second, beside, other, left, right, angle = row
    marks = {first: from_over_up(*at, R), second: from_over_up(*beside, R)}
    lengths = {first: one, second: other}
    if first == "psa":  # a record has its arcs in the order pin, cg, psa, grip_center
        left, right = right, left
    for side, place in (("left", left), ("right", right)):
        crossing = by_arcs(hole(arcs=lengths, side=side), 0, marks, "right", R)
        found = to_over_up(tuple(R * x for x in crossing.place), R)
        assert found == pytest.approx(place, abs=1e-9)
        assert crossing.angle == pytest.approx(angle, abs=1e-6)
        # the same marks on the other bowler's ball, whose frame is the mirror image
        mirrored = "left" if side == "right" else "right"
        assert by_arcs(hole(arcs=lengths, side=mirrored), 0, marks, "left", R) == crossing


@pytest.mark.parametrize(
    ("angle", "off"),
    [(90, 0.022097), (60, 0.03125), (45, 0.040830), (30, 0.060370), (20, 0.089981), (10, 0.179277)],
)
def test_what_a_sixty_fourth_comes_to_at_a_slant(angle: float, off: float) -> None:
    """Worked out apart from this program, by the corners of the rhombus that the two strips make."""
    # two arcs of a quarter cross at the angle between their marks
    marks = {"pin": from_over_up(0.0, 0.0, R), "cg": from_over_up(R * math.radians(angle), 0.0, R)}
    quarter = math.pi * R / 2.0
    crossing = by_arcs(
        hole(arcs={"pin": quarter, "cg": quarter}, side="left"), 0, marks, "right", R
    )
    assert crossing.angle == pytest.approx(angle, abs=1e-9)
    assert crossing.off() == pytest.approx(off, abs=1e-6)


def with_holes(record: dict[str, Any], *holes: dict[str, Any]) -> dict[str, Any]:
    given = [{"name": f"old {n}", "diameter": 1, "depth": 2, **h} for n, h in enumerate(holes)]
    return {**record, "history": {"holes": given}}


ARCS = {"arcs": {"pin": 3.5, "cg": "2 1/2"}, "side": "left"}


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("side", ["left", "right"])
def test_geodesics_back_from_the_hole_are_the_arcs(
    record: dict[str, Any], hand: str, side: str
) -> None:
    record["bowler"]["hand"] = hand
    p = plan(parse_job(with_holes(record, {**ARCS, "side": side})))
    globe = pyproj.Geod(a=p.radius, b=p.radius)

    def degrees(xyz: Any) -> tuple[float, float]:
        x, y, z = xyz
        return math.degrees(math.atan2(y, x)), math.degrees(math.asin(z / p.radius))

    old, pin, cg = p.old_holes[0].entry, p.marks.pin.xyz, p.marks.cg
    assert cg is not None
    for mark, length in ((pin, 3.5), (cg.xyz, 2.5)):
        assert globe.inv(*degrees(old), *degrees(mark))[2] == pytest.approx(length, abs=1e-8)
    # seen from outside, what lies left of the way from pin to CG is where their product points
    assert (np.cross(pin, cg.xyz) @ old > 0.0) == (side == "left")


def test_what_tells_no_one_place_is_refused_with_what_is_possible(record: dict[str, Any]) -> None:
    p = plan(parse_job(with_holes(record, ARCS)))
    q = plan(parse_job(with_holes(record, {**ARCS, "side": "right"})))
    arcs = ARCS["arcs"]

    def refusal(old: dict[str, Any], ball: dict[str, Any] | None = None) -> InputError:
        data = with_holes(copy.deepcopy(record), old)
        data["ball"] |= ball or {}
        with pytest.raises(InputError) as refused:
            plan(parse_job(data))
        return refused.value

    error = refusal({"arcs": arcs})
    assert error.field == "history.holes.0.side"
    for side, place in (("left", p.old_holes[0]), ("right", q.old_holes[0])):
        assert f'"{side}", at over {place.over:.2f} in, up {place.up:.2f} in' in error.words
    error = refusal({"arcs": {"pin": 6, "cg": 1}, "side": "left"})
    apart = p.distances.pin_to_cg or 0.0
    assert error.field == "history.holes.0.arcs"
    assert (
        f"do not meet; with the first arc the second lies between {6 - apart:.3f} and"
        in error.words
    )
    error = refusal({"arcs": {"pin": 2, "cg": 2 + apart - 1e-3}, "side": "left"})
    assert "so they tell no place" in error.words
    error = refusal(
        {"arcs": {"pin": 2, "psa": 3}, "side": "left"},
        {"psa": None, "pin_to_cg": 3, "intermediate_differential": 0},
    )
    assert error.field == "history.holes.0.arcs.psa"
    assert "this ball has not; possible: give ball.psa" in error.words


def test_a_slanted_crossing_is_warned_of(record: dict[str, Any]) -> None:
    apart = plan(parse_job(record)).distances.pin_to_cg or 0.0
    flat = plan(
        parse_job(with_holes(record, {"arcs": {"pin": 4, "cg": 4 - 0.98 * apart}, "side": "left"}))
    )
    assert any(c.startswith("The arcs to old 0 cross at ") for c in flat.cautions)
    square = plan(parse_job(with_holes(record, {"arcs": {"pin": 3, "cg": 3}, "side": "left"})))
    assert not any("arcs to old 0" in c for c in square.cautions)


def test_a_hole_told_from_the_grip_centre_stays_when_the_layout_changes(
    record: dict[str, Any],
) -> None:
    old = {"arcs": {"pin": 5, "grip_center": 4}, "side": "right"}
    now = plan(parse_job(with_holes(record, old)))
    assert any("told from the grip centre of this layout" in c for c in now.cautions)

    def arcs(p: Any) -> list[float]:
        o, marks = p.old_holes[0], p.marks
        return [arc(o.entry, m.xyz, p.radius) for m in (marks.pin, marks.cg, marks.psa) if m]

    changed = plan(layout_changed(now, 10.0, 0.5, -20.0))
    assert changed.marks.pin.over != pytest.approx(now.marks.pin.over, abs=0.1)
    assert arcs(changed) == pytest.approx(arcs(now), abs=1e-9)
    again = redrilled(now.job)
    assert again.history is not None
    assert again.history.holes[0].arcs is None
    assert arcs(plan(again)) == pytest.approx(arcs(now), abs=1e-9)
    n = now.layout
    swept = variants.at_layouts(
        now.job,
        variants._layout.Angles(
            *(np.array([v]) for v in (n.angle_at_pin, n.pin_to_pap, n.angle_at_pap))
        ),
    )
    assert swept.side_oz[0] == pytest.approx(now.statics.side_oz, abs=2e-3)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_an_old_grip_told_by_its_own_pitches_is_that_grip(
    record: dict[str, Any], hand: str
) -> None:
    """A grip drilled straight into the ball, found again by arcs, its pitches as its sheet has them."""
    record["bowler"]["hand"] = hand
    record["bowler"]["grip"] = {
        "bridge": "1/4",
        "middle": {"span": "4 3/8", "diameter": "31/32", "depth": 2, "pitch": {"forward": "3/8"}},
        "ring": {"span": "4 1/8", "diameter": "3/4", "depth": 2, "pitch": {"left": "1/8"}},
        "thumb": {"diameter": "1", "depth": 2.5, "pitch": {"reverse": "3/8", "right": "1/4"}},
    }  # fmt: skip
    p = plan(parse_job(record))
    assert p.marks.cg is not None
    assert p.marks.psa is not None
    psa, cg = np.array(p.marks.psa.xyz), np.array(p.marks.cg.xyz)
    found = [
        {
            "arcs": {"cg": h.from_cg, "psa": h.from_psa},
            "side": "left" if np.cross(cg, psa) @ np.array(h.entry) > 0.0 else "right",
            "digit": h.name,
            "pitch": record["bowler"]["grip"][h.name]["pitch"],
            "diameter": h.diameter,
            "plug": {"density": 1.15},
        }
        for h in p.holes
    ]
    data = with_holes(record, *found)
    again = plan(parse_job(data))
    for old, h in zip(again.old_holes, p.holes, strict=True):
        assert old.entry == pytest.approx(h.entry, abs=1e-7)
        assert old.axis == pytest.approx(h.axis, abs=1e-7)
    # nothing changes when the same is told from the pin
    fixed = plan(for_other_layouts(again.job))
    assert fixed.statics == again.statics
    # with one finger the centreline is taken through it, and that is said
    one = plan(parse_job(with_holes(record, found[0], found[2])))
    assert any(c.startswith("Only the old middle finger is placed") for c in one.cautions)
    assert one.old_holes[1].axis != pytest.approx(p.holes[2].axis, abs=1e-3)
    for holes, field in (
        ((found[0], found[1]), "history.holes.0.pitch"),
        ((found[2],), "history.holes.0.pitch"),
        ((found[0], found[2], found[2]), "history.holes.2.digit"),
    ):
        with pytest.raises(InputError) as refused:
            plan(parse_job(with_holes(record, *holes)))
        assert refused.value.field == field


def test_a_used_ball_without_a_label_still_plans(record: dict[str, Any]) -> None:
    """No CG mark, no PSA mark and no top weight: the pin and the grip centre place the old hole."""
    ball = {"name": "bought used", "diameter": 8.55, "weight": 15, "top_weight": None, "psa": None}
    record |= {
        "ball": {**ball, "pin_to_cg": None},
        "layout": {"by": "placement", "pin": {"over": 1.5, "up": 2.5}},
    }
    told = {"arcs": {"pin": 5, "grip_center": 4}, "side": "right", "plug": {"density": 1.2}}
    p = plan(parse_job(with_holes(record, told)))
    assert p.statics.side_oz is None
    assert {c.outcome for c in p.checks if c.name in ("top", "side", "finger")} == {"incomplete"}
    assert p.old_holes[0].removed_oz > 0.0
    assert "old 0" in report(p)
    with pytest.raises(InputError) as refused:
        parse_job(with_holes(record, {"from_pin": 3, "bearing": 10}))
    assert refused.value.field == "ball.pin_to_cg"
    assert "by arcs from pin and grip_center" in refused.value.words
