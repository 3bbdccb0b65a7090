"""The printed marking steps, executed on pyproj's globe from the factory's marks alone.

A step says where to stand, toward which mark to sight, how many whole degrees to swing and how far to
measure; a finger hole lies where two measures meet. Nothing else of the plan is used: the marks that
steps make are those that the steps themselves lead to. PAP, foot and grip centre must come out within
1/16 in of the plan, hole centres within 3/32, and every span and bridge within 1/64: a driller who
follows the page perfectly may lose no more of a span than a careful hand does. The same holds for the
steps in millimetres.

The pole of the globe is the fingers' pole, so an azimuth in the grip frame grows clockwise.
"""

import dataclasses
import json
import math
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import Geod
from scipy.optimize import brentq

from layoutkit.job.record import parse_job
from layoutkit.job.templates import example_record
from layoutkit.planning.grip_marks import GripArcs, edge_checks, grip_arcs, rounded
from layoutkit.planning.marking import MarkingStep, marking_steps
from layoutkit.planning.plan import PROOF_TOLERANCE, plan
from layoutkit.planning.values import Plan
from layoutkit.units import Units

MARK, HOLE, EDGE = 1.0 / 16.0, 3.0 / 32.0, 1.0 / 64.0  # inches; what may be off
SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
FACTORY = ("pin", "cg", "psa")

GRIP = ("thumb", "middle", "ring", "index", "little")

INCH_RULE = (32.0, 64.0)
MM_RULE = (2.0 * 25.4, 10.0 * 25.4)  # an inch is 25.4 mm exactly, by the agreement of 1959

Place = tuple[float, float]


def place(xyz: tuple[float, float, float]) -> Place:
    """Longitude and latitude in degrees of a point of the grip frame."""
    x, y, z = xyz
    return math.degrees(math.atan2(x, z)), math.degrees(math.atan2(y, math.hypot(x, z)))


def factory(p: Plan) -> dict[str, Place]:
    marks = {name: getattr(p.marks, name) for name in FACTORY}
    return {name: place(mark.xyz) for name, mark in marks.items() if mark is not None}


def execute(
    p: Plan, steps: tuple[MarkingStep, ...], rule: tuple[float, float] = INCH_RULE
) -> dict[str, Place]:
    """Where the steps lead, by their values; ``rule`` has the parts of an inch for marks and holes."""
    globe = Geod(a=p.radius, b=p.radius)
    made = factory(p)
    if set(made) == {"pin"}:
        # the first line may be drawn any way; this one leads to the PAP as the plan has it
        assert p.marks.pap is not None
        way = globe.inv(*made["pin"], *place(p.marks.pap.xyz))[0]
        made["any"] = globe.fwd(*made["pin"], way, 1.0)[:2]
    for number, step in enumerate(steps, 1):
        assert step.number == number
        assert isinstance(step.turn, int)
        assert -180 <= step.turn <= 180
        assert step.length >= 0.0
        parts = step.length * rule[step.new in GRIP]
        assert parts == pytest.approx(round(parts), abs=1e-9)
        if step.crossing is not None:
            made[step.new] = crossed(globe, made, step, p.job.bowler.hand)
            continue
        azimuth, _, apart = globe.inv(*made[step.at], *made[step.toward])
        assert apart > 1.0 / 32.0, f"step {number} sights along no line"
        assert step.new not in FACTORY
        lon, lat, _ = globe.fwd(*made[step.at], azimuth + step.turn, step.length)
        made[step.new] = (lon, lat)
    return made


def vector(at: Place) -> np.ndarray:
    """The unit vector of a place."""
    lon, lat = (math.radians(a) for a in at)
    return np.array([math.cos(lat) * math.sin(lon), math.sin(lat), math.cos(lat) * math.cos(lon)])


def fingers_way(globe: Geod, made: dict[str, Place], hand: str) -> float:
    """The azimuth of the drawn centreline at the grip centre, square to the line back to the foot.

    Without a PAP there is no foot, and the centreline itself is drawn from the grip centre.
    """
    if "centreline" in made:
        return float(globe.inv(*made["grip_center"], *made["centreline"])[0])
    back = globe.inv(*made["grip_center"], *made["foot"])[0]
    return back + (-90.0 if hand == "right" else 90.0)


def crossed(globe: Geod, made: dict[str, Place], step: MarkingStep, hand: str) -> Place:
    """Where two measures meet, found by turning the first one's rule until the second fits."""
    assert step.crossing is not None
    cross = step.crossing
    foot = made.get("foot")
    if foot is None or globe.inv(*made["grip_center"], *foot)[2] > 1.0 / 32.0:
        way = fingers_way(globe, made, hand)
    else:
        way = 0.0  # the foot is the grip centre: the centreline is as the words leave it, along the VAL
    ahead = globe.fwd(*made["grip_center"], way, 1.0)[:2]
    across = np.cross(vector(ahead), vector(made["grip_center"]))  # to the right, seen from outside
    across /= np.linalg.norm(across)
    along = globe.inv(*made[step.at], *globe.fwd(*made["grip_center"], way, 2.0)[:2])[0]

    def short(turn: float) -> float:
        place = globe.fwd(*made[step.at], along + turn, step.length)[:2]
        if cross.mark == "centreline":
            off = globe.a * math.asin(float(vector(place) @ across))
            return abs(off) - cross.length
        return float(globe.inv(*made[cross.mark], *place)[2]) - cross.length

    # from the second measure's own line outward, on the side that the step names
    start = 0.0
    if cross.mark != "centreline":
        start = globe.inv(*made[step.at], *made[cross.mark])[0] - along
    turn = brentq(short, start, start + (60.0 if cross.right else -60.0), xtol=1e-13)
    lon, lat, _ = globe.fwd(*made[step.at], along + turn, step.length)
    return lon, lat


def edges(p: Plan, made: dict[str, Place]) -> dict[str, float]:
    """By how much each span, and the bridge from edge to edge, comes out off the record's."""
    globe = Geod(a=p.radius, b=p.radius)
    base = "thumb" if "thumb" in made else "grip_center"
    holes = {h.name: h for h in p.holes}
    wanted = {name: place(h.entry) for name, h in holes.items()}
    wanted["grip_center"] = (0.0, 0.0)
    pairs = {"span of the middle": (base, "middle"), "span of the ring": (base, "ring")}
    pairs["bridge"] = ("middle", "ring")
    for outer, beside in (("index", "middle"), ("little", "ring")):
        if outer in holes:
            pairs |= {f"span of the {outer}": (base, outer), f"gap of the {outer}": (beside, outer)}
    return {
        name: globe.inv(*made[a], *made[b])[2] - globe.inv(*wanted[a], *wanted[b])[2]
        for name, (a, b) in pairs.items()
    }


def misses(p: Plan, made: dict[str, Place]) -> dict[str, float]:
    globe = Geod(a=p.radius, b=p.radius)
    wanted = {h.name: h.entry for h in p.holes} | {e.name: e.entry for e in p.extra_holes}
    return {name: globe.inv(*made[name], *place(entry))[2] for name, entry in wanted.items()}


# --- the steps as they are worded -----------------------------------------------------------------

INCHES = r"((?:[0-9]+ )?[0-9]+/[0-9]+|[0-9]+) in"
LENGTH = re.compile(rf"(?:measure|finger side there,) {INCHES}")
OFFSET = re.compile(rf"to the place that is {INCHES} (left|right) of the centreline")
SECOND = re.compile(
    rf"and from the (?:middle|ring) hole's centre {INCHES}: where the two arcs cross, (left|right) of the"
)
SWING = re.compile(r"swing ([0-9]+) degrees (clockwise|counter-clockwise)")
NAMES = {"pin": "pin", "cg": "CG mark", "psa": "PSA mark"}


def measured(text: str) -> float | None:
    found = LENGTH.findall(text)
    assert len(found) <= 1
    return float(sum(Fraction(part) for part in found[0].split())) if found else None


def in_inches(step: MarkingStep) -> MarkingStep:
    """A metric step with its printed millimetres as inches, exact as decimals."""
    text = re.sub(
        r"([0-9]+\.[0-9]) mm",
        lambda found: f"{Fraction(found[1]) / Fraction('25.4')} in",
        step.text,
    )
    return dataclasses.replace(step, text=text)


def swung(text: str) -> int:
    """The swing in words, clockwise positive; none is 0."""
    found = SWING.findall(text)
    assert len(found) <= 1
    return (1 if found[0][1] == "clockwise" else -1) * int(found[0][0]) if found else 0


def read(step: MarkingStep, hand: str, val: int) -> int:
    """The turn from the line to ``toward`` that the words ask for. ``val`` is the PAP step's swing.

    A driller sees the finger side of the VAL swung from the pin's line; the foot lies along it or
    away from it. The midline runs square to the VAL from the foot, and the centreline square to the
    midline; for a right hand the fingers are 90 degrees counter-clockwise of the line to the foot.
    """
    turn = swung(step.text)
    if step.new == "foot":
        return turn if "Along it toward the fingers" in step.text else turn + 180
    if step.new == "thumb":
        assert "along the centreline, away from the fingers" in step.text
        return step.turn if step.toward != "foot" else (90 if hand == "right" else -90)
    if step.new not in ("pap", "foot", "grip_center", "centreline"):
        if step.toward != "foot":  # the foot lies on the grip centre: no centreline to sight along
            assert f"from the line to the {NAMES.get(step.toward, 'PAP')}" in step.text
            return turn
        fingers = -90 if hand == "right" else 90
        finger, thumb = "finger side" in step.text, "thumb side" in step.text
        assert finger != thumb
        return fingers + turn + (180 if thumb else 0)
    if step.new == "grip_center" and "swing" not in step.text and "square off" in step.text:
        return val + (-90 if hand == "right" else 90)
    if step.new == "grip_center" and step.toward == "pap":
        # the VAL's finger side would turn the other way round below the midline
        assert "from the line back to the PAP" in step.text
    return turn


def check_words(p: Plan, steps: tuple[MarkingStep, ...]) -> None:
    hand = p.job.bowler.hand
    val = 0
    for step in steps:
        length = measured(step.text)
        assert (0.0 if length is None else length) == pytest.approx(step.length, abs=1e-12), step
        if step.crossing is not None:
            second = (OFFSET if step.new == "middle" else SECOND).search(step.text)
            assert second is not None, step.text
            assert float(sum(Fraction(part) for part in second[1].split())) == pytest.approx(
                step.crossing.length, abs=1e-12
            )
            assert (second[2] == "right") == step.crossing.right
            if step.new != "middle":
                assert f"from the {step.crossing.mark} hole's centre" in step.text
            assert f"mark the centre of the {step.new} hole" in step.text
            continue
        if step.new == "foot":
            val = swung(step.text)
        if not (step.new in ("pap", "foot") and step.length == 0.0):
            assert (read(step, hand, val) - step.turn) % 360 == 0, step
        if step.new == "pap":
            way = "any way:" if step.toward == "any" else f"toward the {NAMES[step.toward]}."
            assert re.search(f"from the pin,? {way}", step.text)
            assert (step.length > 0.0) == ("mark the PAP" in step.text)
        if step.new == "foot":
            sight = NAMES[step.toward]
            assert f"from the line to the {sight}," in step.text
        if step.new not in ("pap", "foot", "grip_center", "centreline"):
            assert f"mark the centre of the {step.new} hole" in step.text
            oval = [h.name for h in p.holes if h.oval is not None]
            assert ("the middle of its oval" in step.text) == (step.new in oval)


def check(record: dict[str, Any], units: Units = "fraction") -> Plan:
    p = plan(parse_job(record))
    steps = marking_steps(p, units)
    made = execute(p, steps, MM_RULE if units == "metric" else INCH_RULE)
    for name, miss in misses(p, made).items():
        assert miss <= HOLE, f"{name} hole {miss:.3f} in off"
    for name, error in edges(p, made).items():
        assert abs(error) <= EDGE, f"{name} {error:.4f} in off"
    # what is marked just as printed has to pass the sheet's own proof arcs, in thirty-seconds
    globe = Geod(a=p.radius, b=p.radius)
    for hole in p.holes:
        for mark, arc in zip(FACTORY, (hole.from_pin, hole.from_cg, hole.from_psa), strict=True):
            if arc is not None:
                found = globe.inv(*made[hole.name], *made[mark])[2]
                assert abs(found - round(arc * 32.0) / 32.0) <= PROOF_TOLERANCE, (hole.name, mark)
    check_words(p, tuple(map(in_inches, steps)) if units == "metric" else steps)
    return p


@pytest.mark.parametrize("path", SAMPLES, ids=lambda each: each.stem)
def test_samples(path: Path) -> None:
    check(json.loads(path.read_text(encoding="utf-8")))


@pytest.mark.parametrize("number", ["01", "04", "05", "08", "12"])
def test_samples_in_millimetres(number: str) -> None:
    (path,) = (each for each in SAMPLES if each.stem.startswith(number))
    check(json.loads(path.read_text(encoding="utf-8")), "metric")


@settings(max_examples=40, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_random_jobs_in_millimetres(
    records: st.SearchStrategy[dict[str, Any]], data: st.DataObject
) -> None:
    check(data.draw(records), "metric")


@settings(max_examples=80, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_random_jobs(records: st.SearchStrategy[dict[str, Any]], data: st.DataObject) -> None:
    check(data.draw(records))


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("pin_to_pap", [0.0, 0.03125, 0.0625, 0.25])
def test_a_pin_on_the_axis_point(record: dict[str, Any], hand: str, pin_to_pap: float) -> None:
    record["bowler"]["hand"] = hand
    record["layout"] |= {"pin_to_pap": pin_to_pap}
    check(record)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("up", [0.0, 0.02, 0.0625, -0.5, -2.0])
def test_an_axis_point_on_and_below_the_midline(
    record: dict[str, Any], hand: str, up: float
) -> None:
    record["bowler"]["hand"] = hand
    record["bowler"]["pap"]["up"] = up
    check(record)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("over", [0.0, 0.02, 0.0625, 0.5])
def test_an_axis_point_near_the_centreline(record: dict[str, Any], hand: str, over: float) -> None:
    """A record may say so, and then the midline has no foot to sight back to."""
    record["bowler"]["hand"] = hand
    record["bowler"]["pap"]["over"] = over
    check(record)


@pytest.mark.parametrize("hand", ["right", "left"])
def test_vents_and_inspection_hole_come_last_and_from_the_same_marks(
    record: dict[str, Any], hand: str
) -> None:
    """Also on the far side of the ball, and on the grip centre itself."""
    record["bowler"]["hand"] = hand
    vents = [("thumb", 1.25, -2.5), ("thumb", -1.0, -3.75), ("ring", 0.0, 5.0)]
    for place in ((10.0, 1.5), (0.0, 0.0), (-3.0, -2.25)):
        record["extra_holes"] = {
            "vents": [
                {"hole": h, "over": over, "up": up, "diameter": "1/8", "meets": 1}
                for h, over, up in vents
            ],
            "inspection": {"over": place[0], "up": place[1], "diameter": "1/2", "depth": "1/8"},
        }
        p = check(record)
        last = [step.new for step in marking_steps(p)][-5:]
        assert last == ["ring", "thumb vent", "2nd thumb vent", "ring vent", "inspection"]


def test_a_wrong_turn_would_be_noticed(record: dict[str, Any]) -> None:
    """The execution has teeth: five degrees at the pin move every hole by more than 1/8 in."""
    p = plan(parse_job(record))
    first, *rest = marking_steps(p)
    turned = MarkingStep(
        1, first.at, first.toward, first.turn + 5, first.length, first.new, first.text
    )
    assert min(misses(p, execute(p, (turned, *rest))).values()) > HOLE
    with pytest.raises(AssertionError):
        check_words(p, (turned, *rest))


def grips(data: st.DataObject) -> dict[str, Any]:
    """A grip of the ranges that shops drill: spans, bridge, sizes, with sleeves or without."""

    def inches(low: float, high: float, parts: int = 32) -> float:
        return data.draw(st.integers(round(low * parts), round(high * parts))) / parts

    span = inches(2.75, 5.25)
    grip: dict[str, Any] = {"bridge": inches(0.125, 0.5)}
    for name, length in (("middle", span), ("ring", span + inches(-0.375, 0.375))):
        hole: dict[str, Any] = {
            "span": length, "diameter": inches(0.5, 0.875, 64), "depth": 1.5,
            "pitch": {"forward": inches(0.0, 0.5)},
        }  # fmt: skip
        if data.draw(st.booleans()):
            hole["sleeve"] = {"bore": 0.96875, "bore_depth": 1.5, "density": 1.1}
        grip[name] = hole
    grip["thumb"] = {"diameter": inches(0.75, 1.125, 64), "depth": 2.5}
    return grip


@settings(max_examples=250, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_a_perfect_hand_keeps_every_span_and_the_bridge(data: st.DataObject) -> None:
    record: dict[str, Any] = {
        "format": "layoutkit-job", "version": 2,
        "bowler": {
            "name": "Demo", "hand": data.draw(st.sampled_from(["right", "left"])),
            "pap": {"over": data.draw(st.integers(64, 104)) / 16, "up": "1/2"},
            "grip": grips(data),
        },
        "ball": {
            "name": "Demo", "serial": "DEMO", "weight": 15.0, "top_weight": 2.5, "pin_to_cg": 3,
            "diameter": data.draw(st.integers(8500, 8595)) / 1000,
        },
        "layout": {
            "by": "placement",
            "pin": {"over": data.draw(st.integers(-16, 64)) / 16, "up": "3"},
            "bearing": data.draw(st.integers(0, 359)),
        },
        "scale": {"arm": 3.5},
    }  # fmt: skip
    p = plan(parse_job(record))
    steps = marking_steps(p)
    check_words(p, steps)
    made = execute(p, steps)
    assert max(abs(e) for e in edges(p, made).values()) <= EDGE
    assert max(misses(p, made).values()) <= HOLE
    globe = Geod(a=p.radius, b=p.radius)
    for name in ("pap", "grip_center"):
        assert globe.inv(*made[name], *place(getattr(p.marks, name).xyz))[2] <= MARK


def test_the_printed_bridge_is_the_one_that_a_rule_reads() -> None:
    """Spans 4 1/2 and 4, bridge 1/4, on a radius of 4.275 in: a rule reads 0.3624 in.

    Derived by spherical trigonometry and by geodesics walked along and square to the centreline.
    """
    span = {"middle": 4.5, "ring": 4.0}
    size = {"middle": 0.75, "ring": 0.6875}
    sleeve = {"bore": 0.96875, "bore_depth": 1.5, "density": 1.1}
    holes = {
        n: {"span": span[n], "diameter": size[n], "depth": 1.25, "sleeve": sleeve} for n in span
    }
    record = json.loads(SAMPLES[0].read_text(encoding="utf-8"))
    record["ball"]["diameter"] = 8.55
    thumb = {"diameter": 1, "depth": 2.5}
    record["bowler"]["grip"] = {"bridge": "1/4", **holes, "thumb": thumb}
    p = plan(parse_job(record))
    checks = {c.name: c for c in edge_checks(p.holes, 0.25, p.radius)}
    assert checks["bridge"].cut == pytest.approx(0.362428198854, abs=1e-9)
    exact = grip_arcs(*((h.over, h.up) for h in (p.holes[2], p.holes[0], p.holes[1])), p.radius)
    assert (exact.middle, exact.ring, exact.apart) == pytest.approx(
        (5.37662961692, 4.84526853747, 1.33326303825), abs=1e-9
    )


@settings(max_examples=200)
@given(
    radius=st.floats(4.25, 4.2975),
    arcs=st.tuples(
        st.floats(3.5, 6.5), st.floats(0.4, 0.8), st.floats(-0.4, 0.4), st.floats(1.0, 1.6)
    ),
)
def test_no_rounded_measure_is_off_by_more_than_a_step_and_whole_ones_stay(
    radius: float, arcs: tuple[float, float, float, float]
) -> None:
    middle, offset, less, apart = arcs
    exact = GripArcs(middle, offset, middle - less, apart)
    kept = rounded(exact, radius)
    assert all(abs(a - b) < 1.0 / 64.0 for a, b in zip(exact, kept, strict=True))
    assert rounded(kept, radius) == kept


@pytest.mark.parametrize("over", [0, 0.01])
@pytest.mark.parametrize("gripping", [True, False])
def test_marks_that_all_lie_at_the_grip_centre(over: float, gripping: bool) -> None:
    """No mark is far enough to sight along: the centreline is drawn as one likes, and holds."""
    record = example_record("2026-01-01")
    record["bowler"]["pap"] = {"over": over, "up": 0.005}
    record["ball"] |= {"pin_to_cg": 0.01, "psa": None, "intermediate_differential": 0}
    record["layout"] = {"by": "angles", "angle_at_pin": 50, "pin_to_pap": 0.015, "angle_at_pap": 35}
    if not gripping:
        record["bowler"]["grip"]["thumb"] = None
    p = plan(parse_job(record))
    steps = {step.new: step for step in marking_steps(p)}
    assert set(steps) >= {h.name for h in p.holes}
    if gripping:
        assert "along the centreline, away from the fingers" in steps["thumb"].text
