"""Figures of the trade: what a driller would expect to see. Common practice, no single source.

Those marked "derived" are plain geometry behind a figure of the trade, recomputed for this file.
"""

import math
import re
from typing import Any

import pytest

from layoutkit.geometry.sphere import arc
from layoutkit.job.record import parse_job
from layoutkit.planning.given import psa_arc
from layoutkit.planning.plan import plan
from layoutkit.units import parse_quantity

AROUND = 27.0  # inches; the trade's round circumference, just under the largest legal 27.002


# Common practice: a finger insert takes a 31/32 in bore, the usual bridge is 1/4 in. Derived: bores
# without lateral pitch aim at the centre and meet at this depth
@pytest.mark.parametrize(
    ("bore", "bridge", "depth"), [(31 / 32, 0.25, 0.87), (0.75, 0.25, 1.06), (31 / 32, 0.375, 1.19)]
)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_finger_holes_without_lateral_pitch_meet(
    record: dict[str, Any], hand: str, bore: float, bridge: float, depth: float
) -> None:
    record["bowler"]["hand"] = hand
    grip = record["bowler"]["grip"]
    grip["bridge"] = bridge
    for name in ("middle", "ring"):
        grip[name] = {"span": 4.25, "diameter": bore, "depth": 1.5}
    p = plan(parse_job(record))
    (wall,) = [w for w in p.walls if set(w.holes) == {"middle", "ring"}]
    assert wall.meets
    assert wall.thickness == 0.0
    assert wall.depth == pytest.approx(depth, abs=0.01)
    assert any(
        "middle and ring holes meet" in c and f"{wall.depth:.2f} in" in c for c in p.cautions
    )
    # stopping short of that depth keeps a wall
    for name in ("middle", "ring"):
        grip[name]["depth"] = depth - 0.05
    q = plan(parse_job(record))
    (wall,) = [w for w in q.walls if set(w.holes) == {"middle", "ring"}]
    assert not wall.meets
    assert 0.0 < wall.thickness < 0.05


def test_the_depth_that_a_caution_names_keeps_the_holes_apart(record: dict[str, Any]) -> None:
    """Finger holes that meet deep down are usual; the next sixteenth beyond what it names meets."""
    grip = record["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] = {"span": 4.25, "diameter": 31 / 32, "depth": 1.5}
    (told,) = [c for c in plan(parse_job(record)).cautions if "holes meet" in c]
    # 0.87 in: derived, bores of 31/32 in that aim at the ball's centre beside a 1/4 in bridge
    assert "meet 0.87 in below the surface, as is usual with a 1/4 in bridge" in told
    depth = re.search(r"a depth of ([0-9/ ]+) in clears", told)
    assert depth, told
    assert "a bridge of" not in told
    for name in ("middle", "ring"):
        grip[name]["depth"] = depth[1]
    assert not plan(parse_job(record)).walls[0].meets
    for name in ("middle", "ring"):
        grip[name]["depth"] = parse_quantity(depth[1], "in") + 1.0 / 16.0
    assert plan(parse_job(record)).walls[0].meets


def test_finger_holes_that_meet_near_the_surface_are_warned_of(record: dict[str, Any]) -> None:
    """Within 1/2 in of the surface; the caution names a bridge and a lateral pitch, each clears."""
    grip = record["bowler"]["grip"]
    grip["bridge"] = "1/16"
    for name in ("middle", "ring"):
        grip[name] = {"span": 4.25, "diameter": 31 / 32, "depth": 1.5}
    (told,) = [c for c in plan(parse_job(record)).cautions if "holes meet" in c]
    assert "within 1/2 in of it" in told
    assert "as is usual" not in told
    found = re.search(r"a bridge of ([0-9/ ]+) in or ([0-9/ ]+) in more lateral pitch", told)
    assert found, told
    grip["bridge"] = found[1]
    assert not plan(parse_job(record)).walls[0].meets
    grip["bridge"] = "1/16"
    grip["middle"]["pitch"], grip["ring"]["pitch"] = {"left": found[2]}, {"right": found[2]}
    assert not plan(parse_job(record)).walls[0].meets


@pytest.mark.parametrize("hand", ["right", "left"])
def test_top_weight_splits_by_where_the_cg_mark_is(record: dict[str, Any], hand: str) -> None:
    """Derived: top weight 3 oz, CG 1 in toward the PAP side: 0.692 oz side, 2.919 oz top."""
    record["bowler"]["hand"] = hand
    record["ball"] |= {
        "diameter": AROUND / math.pi,
        "top_weight": 3.0,
        "pin_to_cg": 3,
        "psa": None,
        "intermediate_differential": 0,
    }
    record["layout"] = {"by": "placement", "pin": {"over": 4}, "bearing": 270}
    p = plan(parse_job(record))
    assert (p.marks.cg.over, p.marks.cg.up) == pytest.approx((1.0, 0.0), abs=1e-12)
    u = p.statics.undrilled
    assert u.side_oz == pytest.approx(0.692, abs=0.0005)
    assert u.finger_oz == pytest.approx(0.0, abs=1e-12)
    assert u.top_oz == pytest.approx(2.919, abs=0.0005)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_pap_over_and_up_lie_5_261_from_the_grip_centre(record: dict[str, Any], hand: str) -> None:
    """Derived: PAP 5 1/4 over and 1/2 up; cos of the arc is the product of their cosines."""
    record["bowler"] |= {"hand": hand, "pap": {"over": "5 1/4", "up": "1/2"}}
    record["ball"]["diameter"] = AROUND / math.pi
    p = plan(parse_job(record))
    distance = float(arc(p.marks.pap.xyz, p.marks.grip_center.xyz, p.radius))
    assert distance == pytest.approx(5.261, abs=0.0005)
    assert (p.marks.pap.xyz[0] > 0.0) == (hand == "right")


def test_a_quarter_is_what_the_trade_calls_six_and_three_quarters(record: dict[str, Any]) -> None:
    """Exact on the largest legal ball, 27.002 in around (USBC), and 6.715 in on one of 8.55 in."""
    for diameter, quarter in ((27.002 / math.pi, 6.7505), (8.55, 6.715)):
        record["ball"]["diameter"] = diameter
        assert psa_arc(parse_job(record)) == pytest.approx(quarter, abs=0.0005)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("known", ["layered", "uniform"])
def test_drilling_takes_roughly_two_and_a_half_ounces_of_top_weight(
    record: dict[str, Any], hand: str, known: str
) -> None:
    """Common practice: holes of usual depth (fingers 2 in, thumb 2 3/4 in, no inserts).

    The figure is read off scales whose arm nobody states: the plan's range over arms holds it, and
    the default arm comes within half an ounce of it, where the longest, R, would miss it by more.
    """
    record["bowler"]["hand"] = hand
    del record["scale"]
    if known == "uniform":
        names = ("rg_low", "differential", "intermediate_differential", "shell", "filler_density")
        for name in names:
            del record["ball"][name]
    grip = record["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] |= {"diameter": "13/16", "depth": 2}
    p = plan(parse_job(record))
    assert not p.statics.calibrated
    before = p.statics.undrilled.top_oz
    low, high = sorted(before - v for v in p.statics.range.top_oz)
    assert low < 2.5 < high
    assert before - p.statics.top_oz == pytest.approx(2.5, abs=0.5)
    assert low > 1.5
