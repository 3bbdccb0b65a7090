"""The printed marking steps, executed on pyproj's globe from the factory's marks alone.

A step says where to stand, toward which mark to sight, how many whole degrees to swing and how
many sixteenths to measure. Nothing else of the plan is used: the marks that steps make are those
that the steps themselves lead to. Every hole's centre must come out within 1/8 in of the plan.

The pole of the globe is the fingers' pole, so an azimuth in the grip frame grows clockwise.
"""

import json
import math
import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import Geod

from layoutkit.job.record import parse_job
from layoutkit.planning.marking import MarkingStep, marking_steps
from layoutkit.planning.plan import PROOF_TOLERANCE, plan
from layoutkit.planning.values import Plan

EIGHTH = 0.125  # inches
SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
FACTORY = ("pin", "cg", "psa")

Place = tuple[float, float]


def place(xyz: tuple[float, float, float]) -> Place:
    """Longitude and latitude in degrees of a point of the grip frame."""
    x, y, z = xyz
    return math.degrees(math.atan2(x, z)), math.degrees(math.atan2(y, math.hypot(x, z)))


def factory(p: Plan) -> dict[str, Place]:
    marks = {name: getattr(p.marks, name) for name in FACTORY}
    return {name: place(mark.xyz) for name, mark in marks.items() if mark is not None}


def execute(p: Plan, steps: tuple[MarkingStep, ...]) -> dict[str, Place]:
    """Where the steps lead, by their values."""
    globe = Geod(a=p.radius, b=p.radius)
    made = factory(p)
    for number, step in enumerate(steps, 1):
        assert step.number == number
        assert isinstance(step.turn, int)
        assert -180 <= step.turn <= 180
        assert step.length >= 0.0
        assert (step.length * 16.0).is_integer()
        azimuth, _, apart = globe.inv(*made[step.at], *made[step.toward])
        assert apart > 1.0 / 32.0, f"step {number} sights along no line"
        assert step.new not in FACTORY
        lon, lat, _ = globe.fwd(*made[step.at], azimuth + step.turn, step.length)
        made[step.new] = (lon, lat)
    return made


def misses(p: Plan, made: dict[str, Place]) -> dict[str, float]:
    globe = Geod(a=p.radius, b=p.radius)
    wanted = {h.name: h.entry for h in p.holes} | {e.name: e.entry for e in p.extra_holes}
    return {name: globe.inv(*made[name], *place(entry))[2] for name, entry in wanted.items()}


# --- the steps as they are worded -----------------------------------------------------------------

LENGTH = re.compile(r"measure ((?:[0-9]+ )?[0-9]+/[0-9]+|[0-9]+) in")
SWING = re.compile(r"swing ([0-9]+) degrees (clockwise|counter-clockwise)")
NAMES = {"pin": "pin", "cg": "CG mark", "psa": "PSA mark"}


def measured(text: str) -> float | None:
    found = LENGTH.findall(text)
    assert len(found) <= 1
    return float(sum(Fraction(part) for part in found[0].split())) if found else None


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
    if step.new not in ("pap", "foot", "grip_center"):
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
        assert (0.0 if length is None else length) == step.length, step
        if step.new == "foot":
            val = swung(step.text)
        if not (step.new in ("pap", "foot") and step.length == 0.0):
            assert (read(step, hand, val) - step.turn) % 360 == 0, step
        if step.new == "pap":
            assert f"from the pin toward the {NAMES[step.toward]}." in step.text
            assert (step.length > 0.0) == ("mark the PAP" in step.text)
        if step.new == "foot":
            sight = NAMES[step.toward]
            assert f"from the line to the {sight}," in step.text
        if step.new not in ("pap", "foot", "grip_center"):
            assert f"mark the centre of the {step.new} hole" in step.text
            oval = [h.name for h in p.holes if h.oval is not None]
            assert ("the middle of its oval" in step.text) == (step.new in oval)


def check(record: dict[str, Any]) -> Plan:
    p = plan(parse_job(record))
    steps = marking_steps(p)
    made = execute(p, steps)
    for name, miss in misses(p, made).items():
        assert miss <= EIGHTH, f"{name} hole {miss:.3f} in off"
    # what is marked just as printed has to pass the sheet's own proof arcs, in thirty-seconds
    globe = Geod(a=p.radius, b=p.radius)
    for hole in p.holes:
        for mark, arc in zip(FACTORY, (hole.from_pin, hole.from_cg, hole.from_psa), strict=True):
            if arc is not None:
                found = globe.inv(*made[hole.name], *made[mark])[2]
                assert abs(found - round(arc * 32.0) / 32.0) <= PROOF_TOLERANCE, (hole.name, mark)
    check_words(p, steps)
    return p


@pytest.mark.parametrize("path", SAMPLES, ids=lambda each: each.stem)
def test_samples(path: Path) -> None:
    check(json.loads(path.read_text(encoding="utf-8")))


@settings(max_examples=300, suppress_health_check=list(HealthCheck))
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
        assert last == ["middle", "thumb vent", "2nd thumb vent", "ring vent", "inspection"]


def test_a_wrong_turn_would_be_noticed(record: dict[str, Any]) -> None:
    """The execution has teeth: five degrees at the pin move every hole by more than 1/8 in."""
    p = plan(parse_job(record))
    first, *rest = marking_steps(p)
    turned = MarkingStep(
        1, first.at, first.toward, first.turn + 5, first.length, first.new, first.text
    )
    assert min(misses(p, execute(p, (turned, *rest))).values()) > EIGHTH
    with pytest.raises(AssertionError):
        check_words(p, (turned, *rest))
