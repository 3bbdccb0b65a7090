"""A copied grip against geometry that was worked out apart from the program, and against pyproj."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pyproj import Geod

from layoutkit.bench.grip_copy import PITCH_READING, READING, copied, record_grip
from layoutkit.geometry.sphere import hole_arc, mirror
from layoutkit.job.measured import MeasuredGrip, parse_measured
from layoutkit.job.record import DIGITS, Grip, parse_job
from layoutkit.planning.as_drilled import bridge_between
from layoutkit.planning.grip import NEIGHBOUR, place_holes

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
RECORDS = [json.loads(path.read_text()) for path in SAMPLES]
BALLS = (8.50, 8.55, 8.59)


def hole(diameter: float, bore: float, **more: Any) -> dict[str, Any]:
    sleeve = {"sleeve": True, "bore": bore} if bore != diameter else {}
    return {"diameter": diameter, "depth": 1.0, **sleeve, **more}


def drilled(
    ball: float,
    spans: tuple[float, float],
    holes: tuple[float, float, float],
    bores: tuple[float, float],
    edges: float,
    **more: Any,
) -> MeasuredGrip:
    return parse_measured(
        {
            "format": "layoutkit-grip",
            "version": 1,
            "hand": "right",
            "diameter": ball,
            "bridge": edges,
            "middle": hole(holes[0], bores[0], span=spans[0]),
            "ring": hole(holes[1], bores[1], span=spans[1]),
            "thumb": hole(holes[2], holes[2]),
            **more,
        }
    )


# derived: plain geometry, built forward on the sphere and inverted, apart from this program:
# ball, spans, finished diameters, bores, edges apart, angle at the thumb, bridge
GIVEN = (8.50, (4.375, 4.25), (0.75, 0.75, 1.0), (0.96875, 0.96875), 0.256488926908)
TABLE = [
    (*GIVEN, 17.530473791, 0.25),
    (8.55, (4.375, 4.25), (0.75, 0.75, 1.0), (0.96875, 0.75), 0.25651222973, 15.890467868, 0.25),
    (8.59, *GIVEN[1:4], 0.256488346885, 17.429455045, 0.25),
    (8.55, (4.5, 4.0), (0.75, 0.6875, 1.0), (0.96875, 0.96875), 0.362428198854, 17.640465313, 0.25),
    (
        8.59,
        (5.0, 4.75),
        (0.84375, 0.8125, 1.125),
        (0.96875, 0.96875),
        0.401432237412,
        18.36129389,
        0.375,
    ),
]


@pytest.mark.parametrize("row", TABLE)
def test_the_bridge_comes_back(row: Any) -> None:
    *readings, turn, bridge = row
    copy = copied(drilled(*readings))
    assert copy.grip.bridge == pytest.approx(bridge, abs=1e-9)
    assert copy.turn == pytest.approx(turn, abs=2e-8)  # as many digits as were written down


def test_the_bridge_comes_back_of_bores_narrower_than_the_holes() -> None:
    """Derived: plain geometry; no record holds such a grip, but the law does."""
    radius = 4.25
    ends = [
        ((span + hole_arc(d, radius) + hole_arc(0.75, radius)) / radius, hole_arc(bore, radius))
        for span, d, bore in ((3.125, 0.5625, 0.53125), (3.375, 0.53125, 0.5625))
    ]
    assert bridge_between(*ends, 0.283774693394, radius) == pytest.approx(0.25, abs=1e-9)


@pytest.mark.parametrize(
    ("ball", "apart"), [(8.50, 1.22734851115), (8.55, 1.22732343875), (8.59, 1.22730370313)]
)
def test_the_arc_between_the_centres(ball: float, apart: float) -> None:
    """Derived: plain geometry; the edges are given to 12 digits."""
    edges = {8.50: 0.256488926908, 8.55: 0.256488599361, 8.59: 0.256488346885}[ball]
    copy = copied(drilled(ball, *GIVEN[1:4], edges))
    assert copy.apart == pytest.approx(apart, abs=1e-9)


@pytest.mark.parametrize(
    ("ball", "chord"), [(8.50, 4.184370304), (8.55, 4.186564248), (8.59, 4.188292369)]
)
def test_a_stiff_rule_reads_a_chord(ball: float, chord: float) -> None:
    """Derived: plain geometry, 2 R sin(arc / 2R)."""
    flexible = copied(drilled(ball, *GIVEN[1:]))
    assert flexible.straight["middle"] == pytest.approx(chord, abs=1e-9)
    stiff = copied(drilled(ball, (chord, 4.0), *GIVEN[2:], rule="stiff"))
    assert stiff.grip.middle.span == pytest.approx(4.375, abs=1e-9)


@pytest.mark.parametrize(
    ("diameter", "sagitta"),
    [(0.75, 0.01647913), (0.96875, 0.02752948), (1.0, 0.02934045), (1.25, 0.04593391)],
)
def test_a_bar_lies_below_the_surface_at_the_holes_centre(diameter: float, sagitta: float) -> None:
    """Derived: plain geometry, R - sqrt(R^2 - d^2/4), to the 8 digits written down."""
    thumb = {"diameter": diameter, "depth": 2.5}
    copy = copied(drilled(8.55, *GIVEN[1:], thumb=thumb))
    assert copy.figure("thumb.depth").value == pytest.approx(2.5 + sagitta, abs=1e-8)
    along = copied(drilled(8.55, *GIVEN[1:], thumb=thumb | {"depth_from": "axis"}))
    assert along.figure("thumb.depth").value == 2.5


def test_a_rod_on_the_tip_reads_the_points_height_more() -> None:
    """A 118 degree point of 1 in is 0.300430309514 in high (derived: plane geometry)."""
    thumb = {"diameter": 1.0, "depth": 3.0, "depth_from": "axis", "tip_angle": 118}
    copy = copied(drilled(8.55, *GIVEN[1:], thumb=thumb))
    assert copy.figure("thumb.depth").value == pytest.approx(3.0 - 0.300430309514, abs=1e-10)
    assert copy.grip.thumb is not None
    assert copy.grip.thumb.tip_angle == 118.0


# --- there and back -------------------------------------------------------------------------------


def measure(grip: Grip, hand: str, ball: float) -> dict[str, Any]:
    """What a rule, a gauge and a bar read on the ball with this grip: arcs by pyproj on a sphere."""
    radius = ball / 2.0
    globe = Geod(a=radius, b=radius)
    holes = {each.name: each for each in place_holes(grip, radius, hand)}

    def apart(one: str, other: str) -> float:
        places = []
        for name in (one, other):
            x, y, z = mirror(holes[name].finished.entry, hand)
            places += [math.degrees(math.atan2(y, x)), math.degrees(math.asin(z / radius))]
        return float(globe.inv(*places)[2])

    def cut(name: str) -> float:
        return float(hole_arc(2.0 * holes[name].mouths[0].radius, radius))

    data: dict[str, Any] = {
        "format": "layoutkit-grip",
        "version": 1,
        "hand": hand,
        "diameter": ball,
        "thumb": None,
    }
    for name in holes:
        part = getattr(grip, name)
        bore = part.diameter if part.sleeve is None else part.sleeve.bore
        sink = radius - math.sqrt(radius**2 - part.diameter**2 / 4.0)
        point = 0.0
        if part.tip_angle is not None:
            point = part.diameter / 2.0 / math.tan(math.radians(part.tip_angle / 2.0))
        data[name] = hole(part.diameter, bore, depth=part.depth - sink + point)
        data[name]["pitch"] = part.pitch.model_dump(exclude_none=True)
        if part.tip_angle is not None:
            data[name]["tip_angle"] = part.tip_angle
        if name == "thumb":
            if part.oval is not None:
                data[name]["oval"] = part.oval.model_dump(exclude_none=True)
            continue
        data[name]["span"] = part.span
        if grip.thumb is not None and grip.thumb.oval is None:
            ends = hole_arc(part.diameter, radius) + hole_arc(grip.thumb.diameter, radius)
            data[name]["span"] = apart("thumb", name) - ends
        if name in NEIGHBOUR:
            beside = NEIGHBOUR[name]
            data[name]["gap"] = apart(name, beside) - cut(name) - cut(beside)
    data["bridge"] = apart("middle", "ring") - cut("middle") - cut("ring")
    return data


def figures_of(grip: Grip) -> dict[str, float]:
    """The figures of a grip by their fields."""
    figures = {"bridge": grip.bridge}
    for name in DIGITS:
        part = getattr(grip, name)
        if part is None:
            continue
        figures |= {f"{name}.diameter": part.diameter, f"{name}.depth": part.depth}
        figures |= {f"{name}.pitch.forward": part.pitch.forward_net}
        figures |= {f"{name}.pitch.right": part.pitch.right_net}
        if part.sleeve is not None:
            figures[f"{name}.sleeve.bore"] = part.sleeve.bore
        if name != "thumb":
            figures[f"{name}.span"] = part.span
        if name in NEIGHBOUR:
            figures[f"{name}.gap"] = part.gap
    return figures


def rounded(data: Any) -> Any:
    """Every reading to the nearest sixty-fourth; what is no reading stays."""
    if isinstance(data, dict):
        kept = ("tip_angle", "oval", "version", "format")
        return {k: v if k in kept else rounded(v) for k, v in data.items()}
    return round(data * 64.0) / 64.0 if isinstance(data, float) else data


@pytest.mark.parametrize("ball", BALLS)
@pytest.mark.parametrize("record", RECORDS, ids=[path.stem for path in SAMPLES])
def test_a_samples_grip_comes_back(record: dict[str, Any], ball: float) -> None:
    bowler = parse_job(record).bowler
    want = figures_of(bowler.grip)
    data = measure(bowler.grip, bowler.hand, ball)
    exact = copied(parse_measured(data))
    assert figures_of(exact.grip) == pytest.approx(want, abs=1e-9)
    read = copied(parse_measured({**rounded(data), "diameter": ball}))
    assert figures_of(read.grip) == pytest.approx(want, abs=1.0 / 64.0)
    # and a record takes it
    record = {**record, "bowler": {**record["bowler"], "grip": record_grip(read)}}
    record.pop("extra_holes", None)
    assert figures_of(parse_job(record).bowler.grip) == pytest.approx(want, abs=1.0 / 64.0 + 1e-4)


def test_a_mirrored_ball_has_the_same_grip() -> None:
    bowler = parse_job(RECORDS[0]).bowler
    data = measure(bowler.grip, bowler.hand, 8.55)
    other = json.loads(json.dumps(data))
    other["hand"] = "left"
    for name in ("middle", "ring", "thumb"):
        pitch = other[name]["pitch"]
        swapped = {"left": "right", "right": "left"}
        other[name]["pitch"] = {swapped.get(k, k): v for k, v in pitch.items()}
    one, two = (copied(parse_measured(each)) for each in (data, other))
    mirrored = {
        f.field: -f.value if f.field.endswith("right") and f.value else f.value for f in two.figures
    }
    assert {f.field: f.value for f in one.figures} == mirrored
    assert [f.deviation for f in one.figures] == pytest.approx(
        [f.deviation for f in two.figures], rel=1e-12
    )


def offs(balls: int, seed: int) -> dict[str, list[float]]:
    """How far copied figures of invented balls lie off the truth, in their stated deviations, by field.

    Each reading has a normal error of one stated deviation.
    """
    rng = np.random.default_rng(seed)
    off: dict[str, list[float]] = {}
    for _ in range(balls):
        span = rng.uniform(3.25, 4.75)
        grip: dict[str, Any] = {"bridge": rng.uniform(0.2, 0.5), "thumb": None}
        for name in ("middle", "ring", "thumb"):
            part: dict[str, Any] = {
                "diameter": rng.uniform(0.65, 0.85) + (0.25 if name == "thumb" else 0.0),
                "depth": rng.uniform(1.2, 2.0),
                "pitch": {"forward": rng.normal(0.0, 0.1), "right": rng.normal(0.0, 0.05)},
            }
            if name != "thumb":
                part["span"] = span + rng.uniform(-0.15, 0.15)
                part["sleeve"] = {"bore": 31 / 32, "bore_depth": 2.0, "density": 1.15}
            grip[name] = part
        true = Grip.model_validate(grip)
        data = measure(true, "right", float(rng.choice(BALLS)))
        data["diameter"] += rng.normal(0.0, READING)
        data["bridge"] += rng.normal(0.0, READING)
        for name in ("middle", "ring", "thumb"):
            for key in sorted({"span", "diameter", "bore", "depth"} & set(data[name])):
                data[name][key] += rng.normal(0.0, READING)
            for key in data[name]["pitch"]:
                data[name]["pitch"][key] += rng.normal(0.0, PITCH_READING)
        want = figures_of(true)
        for figure in copied(parse_measured(data)).figures:
            error = (figure.value - want[figure.field]) / figure.deviation
            off.setdefault(figure.field, []).append(error)
    return off


def test_two_deviations_cover_the_truth() -> None:
    """0.954 of normal errors lie within two deviations; sixty bridges tell theirs to 9 %."""
    off = offs(60, 20)
    every = np.concatenate([np.abs(each) for each in off.values()])
    assert len(every) == 60 * 17
    assert 0.92 < np.mean(every <= 2.0) < 0.98
    assert 0.75 < np.sqrt(np.mean(np.square(off["bridge"]))) < 1.25
