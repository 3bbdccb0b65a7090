"""Whole plans against OpenCASCADE: what is drilled away, where it was, and its inertia.

From a plan's numbers alone the holes, sleeves and core are built as exact solids, cut in the order
of the work with OpenCASCADE's booleans, and integrated by its adaptive Gauss quadrature to 1e-10.
Relative to what a hole holds, the plan keeps to 1e-6 in a uniform ball and 1e-4 through a core.
"""

import copy
import math
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layoutkit.plan import Plan, plan
from layoutkit.record import parse_job

Array = NDArray[np.float64]

UNIFORM = 1e-6
THROUGH_CORE = 1e-4
OZ_PER_IN3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition


@dataclass
class Cut:
    """One step of the work: what the bit sweeps inside the ball, and what is put in (oz/in3)."""

    hole: int
    shape: Any
    density: float


@dataclass
class Found:
    """What OpenCASCADE takes away: net, and without regard to sign as a scale for errors."""

    removed: Array
    first: Array
    second: Array
    handled: Array
    core_volume: float


def steps_of(occ: SimpleNamespace, p: Plan) -> list[Cut]:
    """All bores, then all sleeves, then all finished holes."""
    ball = occ.ball(p.radius)
    bores, sleeves, cuts = [], [], []
    for i, h in enumerate(p.holes):

        def swept(diameter: float, depth: float, tip: float | None, at: Any = h) -> Any:
            return occ.common(ball, occ.bore(at.entry, at.axis, diameter / 2.0, depth, tip))

        if h.bore is not None:
            sleeve = getattr(p.job.bowler.grip, h.name).sleeve
            bores.append(Cut(i, swept(h.bore.diameter, h.bore.depth, None), 0.0))
            filled = swept(h.bore.diameter, h.bore.sleeve_length, None)
            sleeves.append(Cut(i, filled, OZ_PER_IN3 * sleeve.density))
        cuts.append(Cut(i, swept(h.diameter, h.depth, h.tip_angle), 0.0))
    return bores + sleeves + cuts


def layers_of(occ: SimpleNamespace, p: Plan, shell: tuple[float, float]) -> list[tuple[float, Any]]:
    """Solids and their density above what lies under them, from the plan's marks and core."""
    ball = occ.ball(p.radius)
    weight = 16.0 * p.job.ball.weight
    if p.core is None:
        return [(weight / (4.0 / 3.0 * math.pi * p.radius**3), ball)]
    s, f, c = (OZ_PER_IN3 * d for d in (shell[1], p.core.filler_density, p.core.density))
    excess = (c - f) * 4.0 / 3.0 * math.pi * math.prod(p.core.semi_axes)
    cg = np.array(p.marks.cg.xyz) / p.radius
    offset = p.job.ball.top_weight * p.statics.arm * cg / excess
    low = np.array(p.marks.pin.xyz) / p.radius
    toward = np.array((p.marks.psa or p.marks.cg).xyz)
    high = toward - (toward @ low) * low
    high /= np.linalg.norm(high)
    core = occ.ellipsoid(offset, p.core.semi_axes, [low, high, np.cross(low, high)])
    exact = 4.0 / 3.0 * math.pi * math.prod(p.core.semi_axes)
    assert occ.moments(core)[0] == pytest.approx(exact, rel=1e-7)
    return [(s, ball), (f - s, occ.ball(p.radius - shell[0])), (c - f, core)]


def work(occ: SimpleNamespace, p: Plan, shell: tuple[float, float]) -> Found:
    """Do the steps in order; each one meets what the earlier ones left."""
    layers, steps = layers_of(occ, p, shell), steps_of(occ, p)
    removed, handled = np.zeros(len(p.holes)), np.zeros(len(p.holes))
    first, second = np.zeros(3), np.zeros((3, 3))
    core_volume = 0.0

    def account(hole: int, density: float, shape: Any) -> float:
        nonlocal first, second
        volume, one, two = occ.moments(shape)
        removed[hole] += density * volume
        handled[hole] += abs(density) * volume
        first = first + density * one
        second = second + density * two
        return float(volume)

    for k, step in enumerate(steps):
        rest = step.shape
        for earlier in reversed(steps[:k]):
            whole = occ.moments(rest)[0]
            if whole < 1e-12:
                break
            piece = occ.common(rest, earlier.shape)
            inside = occ.moments(piece)[0]
            if inside < 1e-12:
                continue
            rest = occ.cut(rest, earlier.shape)
            # a boolean that went wrong would lose or double a piece
            assert inside + occ.moments(rest)[0] == pytest.approx(whole, abs=2e-7)
            if earlier.density:
                account(step.hole, earlier.density, piece)
        for number, (density, layer) in enumerate(layers):
            volume = account(step.hole, density, occ.common(rest, layer) if number else rest)
            core_volume += volume if number == 2 else 0.0
        if step.density:
            account(step.hole, -step.density, step.shape)
    return Found(removed, first, second, handled, core_volume)


def tensor(p: Plan) -> Array:
    """The drilled ball's inertia about its CG, in oz in2, from the plan's RGs and axes."""
    n = p.inertia
    low, high = (np.array(axis.xyz) / p.radius for axis in (n.low_axis, n.high_axis))
    rows = np.stack([low, np.cross(high, low), high])
    squares = np.square([n.rg_low, n.rg_mid, n.rg_high])
    return np.asarray(16.0 * p.statics.weight_lb * (rows.T * squares) @ rows)


def about_cg(weight: float, first: Array, second: Array) -> Array:
    s = second - np.outer(first, first) / weight
    return np.asarray(np.trace(s) * np.eye(3) - s)


def undrilled(p: Plan, shell: tuple[float, float]) -> tuple[Array, Array]:
    """First and second moment of the undrilled ball; a solid's own is m a^2 / 5 along each axis."""
    weight = 16.0 * p.job.ball.weight
    first = p.job.ball.top_weight * p.statics.arm * np.array(p.marks.cg.xyz) / p.radius
    if p.core is None:
        return first, weight * p.radius**2 / 5.0 * np.eye(3)
    unit = 4.0 / 3.0 * math.pi * OZ_PER_IN3
    inner = p.radius - shell[0]
    s, f, c = shell[1], p.core.filler_density, p.core.density
    m = unit * (c - f) * math.prod(p.core.semi_axes)
    low = np.array(p.marks.pin.xyz) / p.radius
    toward = np.array((p.marks.psa or p.marks.cg).xyz)
    high = toward - (toward @ low) * low
    high /= np.linalg.norm(high)
    rows = np.stack([low, high, np.cross(low, high)])
    round_ = unit * (s * p.radius**5 + (f - s) * inner**5) / 5.0
    own = (rows.T * np.square(p.core.semi_axes)) @ rows / 5.0
    return first, round_ * np.eye(3) + m * own + np.outer(first, first) / m


def compare(
    occ: SimpleNamespace,
    record: dict[str, Any],
    allowed: float,
    shell: tuple[float, float] | None = None,
) -> Found:
    """Plan a record, do its work in OpenCASCADE, and hold every result to the allowed error."""
    p = plan(parse_job(record))
    stated = record["ball"].get("shell") or {"thickness": 0.0, "density": 0.0}
    shell = shell or (stated["thickness"], stated["density"])
    found = work(occ, p, shell)
    for i, h in enumerate(p.holes):
        assert h.removed_oz == pytest.approx(found.removed[i], abs=allowed * found.handled[i]), (
            h.name
        )
    handled = float(found.handled.sum())
    total = 16.0 * p.job.ball.weight - float(found.removed.sum())
    assert 16.0 * p.statics.weight_lb == pytest.approx(total, abs=allowed * handled)

    first, second = undrilled(p, shell)
    first, second = first - found.first, second - found.second
    # what was handled lies some three quarters of the radius out: the scale of its moments
    lever = 0.75 * p.radius
    statics = np.array([p.statics.side_oz, p.statics.finger_oz, p.statics.top_oz])
    side = 1.0 if p.job.bowler.hand == "right" else -1.0
    expected = first * [side, 1.0, 1.0]
    assert statics * p.statics.arm == pytest.approx(expected, abs=allowed * handled * lever)
    inertia = about_cg(total, first, second)
    assert tensor(p) == pytest.approx(inertia, abs=allowed * handled * lever**2)
    return found


# --- uniform balls --------------------------------------------------------------------------------


def uniform(record: dict[str, Any]) -> dict[str, Any]:
    """The same job on a ball without RG data: one density."""
    changed = copy.deepcopy(record)
    names = ("rg_low", "differential", "intermediate_differential", "shell", "filler_density")
    for name in names:
        del changed["ball"][name]
    return changed


def apart(record: dict[str, Any]) -> dict[str, Any]:
    """Fingers whose bottoms lean apart, so that no two holes meet."""
    changed = copy.deepcopy(record)
    grip = changed["bowler"]["grip"]
    grip["bridge"] = 0.375
    grip["middle"]["pitch"] = {"forward": 0.25, "left": 0.375}
    grip["ring"]["pitch"] = {"reverse": 0.125, "right": 0.5}
    return changed


def test_pitched_holes(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    compare(occ, uniform(apart(record)), UNIFORM)


@pytest.mark.parametrize("pitch", [0.0, 0.25, 0.75, 1.25])
@pytest.mark.parametrize("hand", ["right", "left"])
def test_pointed_holes(
    occ: SimpleNamespace, record: dict[str, Any], pitch: float, hand: str
) -> None:
    changed = uniform(apart(record))
    changed["bowler"]["hand"] = hand
    grip = changed["bowler"]["grip"]
    if hand == "left":  # the bottoms still apart
        for name in ("middle", "ring"):
            q = grip[name]["pitch"]
            grip[name]["pitch"] = {
                {"left": "right", "right": "left"}.get(key, key): value for key, value in q.items()
            }
    grip["thumb"]["pitch"] = {"reverse": pitch, "left": pitch / 2.0}
    for name, angle in (("middle", 118), ("ring", 90), ("thumb", 135)):
        grip[name]["tip_angle"] = angle
    compare(occ, changed, UNIFORM)


def with_sleeves(record: dict[str, Any]) -> dict[str, Any]:
    """Inserts shorter than their bores, a finished hole deeper than its bore, and a thumb slug."""
    changed = copy.deepcopy(record)
    grip = changed["bowler"]["grip"]
    grip["middle"]["sleeve"] = {
        "bore": 0.96875,
        "bore_depth": 1.75,
        "length": 1.25,
        "density": 1.15,
    }
    grip["ring"]["sleeve"] = {"bore": 0.9375, "bore_depth": 1.25, "length": 1.0, "density": 1.1}
    slug = {"bore": 1.25, "bore_depth": 3.0, "length": 3.0, "density": 1.2}
    grip["thumb"]["sleeve"] = slug
    return changed


def test_sleeved_holes(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    compare(occ, uniform(with_sleeves(apart(record))), UNIFORM)


@pytest.mark.parametrize("core", [False, True])
def test_a_point_that_ends_below_its_sleeves_bore(
    occ: SimpleNamespace, record: dict[str, Any], core: bool
) -> None:
    """The finished hole's full diameter ends inside the bore, its point does not."""
    changed = apart(record) if core else uniform(apart(record))
    grip = changed["bowler"]["grip"]
    slug = {"bore": 1.25, "bore_depth": 2.0, "length": 1.9375, "density": 1.2}
    grip["thumb"] |= {"depth": 1.75, "tip_angle": 118, "sleeve": slug}
    compare(occ, changed, THROUGH_CORE if core else UNIFORM)


# bridge, bore, depth of both finger holes; each pair meets
MEETING = [(0.25, 31 / 32, 1.5), (0.25, 31 / 32, 2.5), (0.125, 0.75, 2.0), (0.375, 1.0, 3.0)]


@pytest.mark.parametrize(("bridge", "bore", "depth"), MEETING)
def test_finger_holes_that_meet(
    occ: SimpleNamespace, record: dict[str, Any], bridge: float, bore: float, depth: float
) -> None:
    changed = uniform(record)
    grip = changed["bowler"]["grip"]
    grip["bridge"] = bridge
    for name in ("middle", "ring"):
        grip[name] |= {"diameter": bore, "depth": depth, "pitch": {}}
    p = plan(parse_job(changed))
    assert p.walls[0].meets
    compare(occ, changed, UNIFORM)


@pytest.mark.parametrize("tips", [(118, None), (None, 118), (118, 90)])
def test_pitched_and_pointed_finger_holes_that_meet(
    occ: SimpleNamespace, record: dict[str, Any], tips: tuple[int | None, int | None]
) -> None:
    changed = uniform(record)
    grip = changed["bowler"]["grip"]
    grip["middle"] |= {"depth": 2.25, "pitch": {"forward": 0.125, "left": 0.0625}}
    grip["ring"] |= {"depth": 1.75, "pitch": {"reverse": 0.125}}
    for name, tip in zip(("middle", "ring"), tips, strict=True):
        if tip is not None:
            grip[name]["tip_angle"] = tip
    compare(occ, changed, UNIFORM)


def test_sleeved_finger_holes_that_meet(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = uniform(with_sleeves(record))
    p = plan(parse_job(changed))
    assert p.walls[0].meets
    compare(occ, changed, UNIFORM)


def test_a_thumb_that_reaches_the_fingers(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    """A short span and deep holes: all three meet, deep inside the ball."""
    changed = uniform(record)
    grip = changed["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] |= {"span": 3.0, "depth": 3.5, "pitch": {}}
    grip["thumb"] |= {"depth": 3.5, "pitch": {}}
    p = plan(parse_job(changed))
    assert all(w.meets for w in p.walls)
    compare(occ, changed, UNIFORM)


# --- layered balls --------------------------------------------------------------------------------


def test_layered_ball_with_shallow_holes(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    """Holes through the shell into the filler are as exact as in one density."""
    changed = apart(record)
    changed["bowler"]["grip"]["thumb"]["depth"] = 1.25
    changed["bowler"]["grip"]["middle"]["depth"] = 1.25
    # the core's long axis well off the holes
    changed["layout"] = {"by": "placement", "pin": {"over": 6.5, "up": 0.25}, "bearing": 40}
    found = compare(occ, changed, UNIFORM)
    assert found.core_volume == 0.0


@pytest.mark.parametrize("depth", [3.0, 3.5, 4.25])
@pytest.mark.parametrize("tip_angle", [None, 118])
def test_thumb_hole_through_the_core(
    occ: SimpleNamespace, record: dict[str, Any], depth: float, tip_angle: int | None
) -> None:
    changed = apart(record)
    thumb = changed["bowler"]["grip"]["thumb"]
    thumb["depth"] = depth
    if tip_angle is not None:
        thumb["tip_angle"] = tip_angle
    found = compare(occ, changed, THROUGH_CORE)
    assert found.core_volume > 0.1


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("val_angle", [20, 70, -30])
def test_sleeved_meeting_and_core_cutting_holes_together(
    occ: SimpleNamespace, record: dict[str, Any], hand: str, val_angle: int
) -> None:
    changed = with_sleeves(record)
    changed["bowler"]["hand"] = hand
    changed["layout"] |= {"val_angle": val_angle, "pin_to_pap": 3.5}
    grip = changed["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] |= {"depth": 2.75, "pitch": {"forward": 0.125}}
    grip["thumb"] |= {"depth": 3.5, "tip_angle": 118}
    found = compare(occ, changed, THROUGH_CORE)
    assert found.core_volume > 0.1


# --- any job --------------------------------------------------------------------------------------


@settings(max_examples=40, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_random_jobs(
    occ: SimpleNamespace,
    records: st.SearchStrategy[dict[str, Any]],
    shell_of: Callable[[Plan], tuple[float, float]],
    data: st.DataObject,
) -> None:
    """Both hands, all layouts, with and without core, sleeves, points, pitches and thumb."""
    record = data.draw(records)
    p = plan(parse_job(record))
    allowed = UNIFORM if p.core is None else THROUGH_CORE
    compare(occ, record, allowed, shell_of(p))
