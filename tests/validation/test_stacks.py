"""Stacks of holes that meet: against sampled points, OpenCASCADE, and sums over common parts."""

from __future__ import annotations

import copy
import json
import math
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from layoutkit.ball import density
from layoutkit.ball.density import Step, drill
from layoutkit.ball.layers import Body, Label, build_body, fit_layers
from layoutkit.geometry.bores import Bore, rounded_gap

Array = NDArray[np.float64]
RADIUS = 8.55 / 2.0
OZ_PER_IN3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition
MEETING = 1e-4  # of what a hole handles, wherever old holes meet


def ball() -> Body:
    label = Label(RADIUS, 15.12, 2.52, 0.05, 0.015, (0.75, 1.2), 0.7)
    layers = fit_layers(label, 10.0)
    assert layers is not None
    axes = ((1.0, 0.0, 0.0), (0.0, 0.6, 0.8), (0.0, -0.8, 0.6))
    return build_body(label, layers, axes, (4.0, 2.0, 9.0))


def stack(seed: int, holes: int, spread: float) -> list[Step]:
    """Invented holes about one place of the ball: open, plugged, or filled in their upper part."""
    rng = np.random.default_rng(seed)
    middle = np.array([0.3, 0.5, 0.8])
    steps = []
    for hole in range(holes):
        out = middle + rng.uniform(-spread, spread, 3) / RADIUS
        out /= np.linalg.norm(out)
        axis = -out + rng.uniform(-1.0, 1.0, 3) * rng.choice([0.02, 0.15, 0.3])
        axis /= np.linalg.norm(axis)
        tip = rng.choice([None, None, 118.0, 90.0])
        radius, depth = float(rng.uniform(0.25, 0.7)), float(rng.uniform(0.8, 3.5))
        (x, y, z), (u, v, w) = (RADIUS * out).tolist(), axis.tolist()
        bore = Bore((x, y, z), (u, v, w), radius, depth, tip)
        steps.append(Step(bore, 0.0, hole))
        kind = rng.integers(0, 3)
        if kind == 1:
            steps.append(Step(bore, 1.15, hole))
        elif kind == 2:
            half = bore._replace(depth=0.6 * depth, tip_angle=None)
            steps.append(Step(half, 1.1, hole))
    return steps


def handled(steps: list[Step], holes: int) -> Array:
    """What each hole moves, in and out, in oz: the scale of its errors."""
    found = np.zeros(holes)
    for s in steps:
        volume = math.pi * s.solid.radius**2 * s.solid.depth
        found[s.hole] += volume * OZ_PER_IN3 * (s.density or 1.0)
    return found


def holds(bore: Bore, x: Array) -> NDArray[np.bool_]:
    """Whether points (n, 3) lie in a bore, open outward."""
    w = x - np.array(bore.entry)
    t = w @ np.array(bore.axis)
    off = np.sqrt(np.maximum((w * w).sum(axis=1) - t * t, 0.0))
    end = bore.depth + bore.tip_height * (1.0 - off / bore.radius)
    return np.asarray((off <= bore.radius) & (t <= end))


def sampled(body: Body, steps: list[Step], holes: int, points: int) -> tuple[Array, Array]:
    """What each hole took by painting points one step after the other, and its standard error."""
    rng = np.random.default_rng(11)
    taken, error = np.zeros(holes), np.zeros(holes)
    for number, step in enumerate(steps):
        b = step.solid
        axis = np.array(b.axis)
        lead = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
        lead /= np.linalg.norm(lead)
        lip = 0.4
        deep = b.depth + b.tip_height + lip
        u, v, w = rng.uniform(0.0, 1.0, (3, points))
        off = b.radius * np.sqrt(v)[:, None]
        turn = (2.0 * math.pi * w)[:, None]
        across = off * (np.cos(turn) * lead + np.sin(turn) * np.cross(axis, lead))
        x = np.array(b.entry) + (deep * u - lip)[:, None] * axis + across
        inside = holds(b, x) & ((x * x).sum(axis=1) <= RADIUS**2)
        there = np.zeros(points)
        for weight, solid in body.terms:
            local = (x - np.array(solid.center)) @ np.array(solid.axes).T
            there += weight * (((local / np.array(solid.semi_axes)) ** 2).sum(axis=1) <= 1.0)
        for earlier in steps[:number]:
            there = np.where(holds(earlier.solid, x), OZ_PER_IN3 * earlier.density, there)
        lost = np.where(inside, there - OZ_PER_IN3 * step.density, 0.0)
        volume = math.pi * b.radius**2 * deep
        taken[step.hole] += volume * lost.mean()
        error[step.hole] = math.hypot(error[step.hole], volume * lost.std() / math.sqrt(points))
    return taken, error


@pytest.mark.parametrize(("seed", "spread"), [(1, 0.1), (1, 0.5), (3, 0.5)])
def test_a_stack_takes_what_sampled_points_tell(seed: int, spread: float) -> None:
    holes = 8 + 4 * seed
    steps = stack(seed, holes, spread)
    change = drill([ball()], steps, holes)[0]
    expected, error = sampled(ball(), steps, holes, 30_000)
    # a hole that lies in an open one takes nothing, of which samples are sure
    off = (np.array(change.removed_oz) - expected) / np.maximum(error, 1e-5)
    # some fifty numbers of a normal distribution: hardly one beyond four deviations
    assert np.abs(off).max() < 4.5
    assert math.sqrt(float((off**2).mean())) < 1.7


@pytest.mark.parametrize("seed", range(3))
def test_lines_and_common_parts_tell_the_same(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two ways that share nothing but the shapes: lines through a stack, and a sum over lenses."""
    steps, body = stack(seed, 3, 0.3), ball()
    monkeypatch.setattr(density, "MOST_MEETING", 99)
    one = drill([body], steps, 3)[0]
    monkeypatch.setattr(density, "MOST_MEETING", 0)
    other = drill([body], steps, 3)[0]
    scale = handled(steps, 3)
    assert np.array(other.removed_oz) == pytest.approx(one.removed_oz, abs=MEETING * scale.min())
    whole = MEETING * float(scale.sum())
    assert other.first == pytest.approx(one.first, abs=whole * RADIUS)
    assert other.second == pytest.approx(one.second, abs=whole * RADIUS**2)


def test_a_core_set_off_differently_changes_its_own_account() -> None:
    """Several bodies at once give what each gives alone."""
    steps = stack(3, 6, 0.3)
    label = Label(RADIUS, 15.12, 2.52, 0.05, 0.015, (0.75, 1.2), 0.7)
    layers = fit_layers(label, 10.0)
    axes = ((1.0, 0.0, 0.0), (0.0, 0.6, 0.8), (0.0, -0.8, 0.6))
    bodies = [build_body(label, layers, axes, m) for m in ((4.0, 2.0, 9.0), (3.0, 1.0, 6.0))]
    together = drill(bodies, steps, 6)
    scale = MEETING * float(handled(steps, 6).sum())
    for body, found in zip(bodies, together, strict=True):
        alone = drill([body], steps, 6)[0]
        assert found.removed_oz == pytest.approx(alone.removed_oz, abs=0.3 * scale)
        assert found.first == pytest.approx(alone.first, abs=scale * RADIUS)


def occ_bore(occ: SimpleNamespace, b: Bore) -> Any:
    return occ.common(occ.ball(RADIUS), occ.bore(b.entry, b.axis, b.radius, b.depth, b.tip_angle))


@pytest.mark.parametrize("seed", [1, 9])
def test_a_stack_is_what_opencascade_cuts(occ: SimpleNamespace, seed: int) -> None:
    """Six holes of a ball of one density, cut and filled with OpenCASCADE's booleans in order."""
    holes = 6
    steps = stack(seed, holes, 0.4)
    label = Label(RADIUS, 15.12, None, 0.0, 0.0, None, None)
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    body = build_body(label, None, axes, (0.0, 0.0, 0.0))
    plain = body.terms[0][0]
    shapes = [occ_bore(occ, s.solid) for s in steps]
    removed, first = np.zeros(holes), np.zeros(3)
    for k, step in enumerate(steps):
        rest = shapes[k]
        left = wholly = occ.moments(rest)

        def account(moments: tuple[float, Any, Any], weight: float, hole: int = step.hole) -> None:
            nonlocal first
            removed[hole] += weight * moments[0]
            first = first + weight * moments[1]

        for earlier in range(k - 1, -1, -1):
            if left[0] < 1e-12:
                break
            piece = occ.moments(occ.common(rest, shapes[earlier]))
            if piece[0] < 1e-12:
                continue
            rest, before = occ.cut(rest, shapes[earlier]), left[0]
            left = occ.moments(rest)
            assert piece[0] + left[0] == pytest.approx(before, abs=1e-6)
            account(piece, OZ_PER_IN3 * steps[earlier].density)
        account(left, plain)
        account(wholly, -OZ_PER_IN3 * step.density)
    change = drill([body], steps, holes)[0]
    scale = handled(steps, holes)
    assert np.abs((np.array(change.removed_oz) - removed) / scale).max() < MEETING
    assert change.first == pytest.approx(first, abs=MEETING * float(scale.sum()) * RADIUS)


def tilted_mouths() -> list[Step]:
    """Two wide bores whose walls are 0.02 in apart at their entries and farther apart below.

    Each leans outward by 10.8 degrees, a pitch of 2 in, so the walls meet above the entries, where
    the ball is still there: between the two holes its surface is 0.19 in higher.
    """
    side, lean = 1.26, math.asin(2.0 / RADIUS) - math.asin(1.26 / RADIUS)
    height = math.sqrt(RADIUS**2 - side**2)
    return [
        Step(
            Bore(
                (way * side, 0.0, height), (way * math.sin(lean), 0.0, -math.cos(lean)), 1.25, 1.0
            ),
            0.0,
            hole,
        )
        for hole, way in enumerate((1.0, -1.0))
    ]


def test_tilted_bores_meet_above_their_entries() -> None:
    """By hand: the top of the ball between the bores is 1.202 in from both axes, less than 1.25."""
    a, b = (step.solid for step in tilted_mouths())
    assert math.dist(a.entry, b.entry) - a.radius - b.radius == pytest.approx(0.02)
    top = np.array([[0.0, 0.0, RADIUS]])
    assert holds(a, top).all()
    assert holds(b, top).all()
    assert rounded_gap(a, b) < 0.0


@pytest.mark.parametrize("most_meeting", [99, 0])
def test_what_tilted_mouths_share_is_taken_once(
    most_meeting: int, occ: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against OpenCASCADE, by sums over common parts and by lines: the second hole takes less."""
    steps = tilted_mouths()
    label = Label(RADIUS, 15.12, None, 0.0, 0.0, None, None)
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    body = build_body(label, None, axes, (0.0, 0.0, 0.0))
    one, other = (occ_bore(occ, step.solid) for step in steps)
    volumes = np.array([occ.moments(one)[0], occ.moments(occ.cut(other, one))[0]])
    expected = body.terms[0][0] * volumes
    monkeypatch.setattr(density, "MOST_MEETING", most_meeting)
    removed = drill([body], steps, 2)[0].removed_oz
    assert removed[0] - removed[1] > 1e-3
    assert removed == pytest.approx(expected.tolist(), abs=MEETING * handled(steps, 2).min())


PLANNED = """
import json, pathlib, re, sys
from layoutkit import parse_job, plan
plan(parse_job(json.load(sys.stdin)))
# the most memory since the program was loaded, in kB: resource counts its parent's, too
print(re.search(r"VmHWM:\\s*(\\d+)", pathlib.Path("/proc/self/status").read_text())[1])
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="counts memory as Linux does")
def test_twenty_overlapping_holes_are_planned_in_little_memory() -> None:
    """The whole process stays below 300 MB."""
    samples = Path(__file__).parents[2] / "sample_bowlers"
    record = json.loads((samples / "13_plug_and_redrill.json").read_text())
    first = record["history"]["holes"][2]
    record["history"]["holes"] = []
    for n in range(20):
        hole = copy.deepcopy(first)
        hole["name"] = f"old {n}"
        hole["from_pin"] += n / 48.0
        hole["bearing"] += 0.7 * (n % 5)
        record["history"]["holes"].append(hole)
    done = subprocess.run(
        [sys.executable, "-c", PLANNED], input=json.dumps(record), capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    assert float(done.stdout) / 1024.0 < 300.0
