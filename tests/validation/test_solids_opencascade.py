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
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layoutkit.geometry.bores import Bore
from layoutkit.geometry.sphere import mirror
from layoutkit.job.record import parse_job
from layoutkit.planning.history import told_by_marks
from layoutkit.planning.plan import plan
from layoutkit.planning.values import HolePlan, Plan

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
    core: Array  # of each hole, in3

    @property
    def core_volume(self) -> float:
        """What all holes take of the core, in3."""
        return float(self.core.sum())


def oval_bores(occ: SimpleNamespace, p: Plan, h: HolePlan) -> list[Any]:
    """The bores of an oval from its press table: shifts square to the drill, all to one plane."""
    assert h.oval is not None
    axis, up = np.array(h.axis), np.array([0.0, 1.0, 0.0])
    outward = np.array(h.entry) / p.radius
    forth = up - (up @ outward) * outward  # toward the fingers on the surface
    forth -= (forth @ axis) * axis
    forth /= np.linalg.norm(forth)
    # right of the grip seen from outside, with the fingers up
    aside = np.cross(axis, forth)
    ball = occ.ball(p.radius)
    if not h.oval.milled:
        places = [h.entry + c.along * forth + c.across * aside for c in h.oval.cuts]
        bores = [occ.bore(at, axis, h.diameter / 2.0, h.depth, h.tip_angle) for at in places]
        return [occ.common(ball, bore) for bore in bores]
    ends = [h.entry + c.along * forth + c.across * aside for c in h.oval.cuts]
    return [occ.common(ball, occ.slot(*ends, axis, h.diameter / 2.0, h.depth))]


def steps_of(occ: SimpleNamespace, p: Plan) -> list[Cut]:
    """Old holes and their plugs, all bores, all sleeves, all finished holes, then the extra ones."""
    ball = occ.ball(p.radius)
    old, bores, sleeves, cuts = [], [], [], []
    first = len(p.holes) + len(p.extra_holes)
    for i, o in enumerate(p.old_holes):
        at = (o.entry, o.axis, o.diameter / 2.0)
        hole = occ.common(ball, occ.bore(*at, o.depth, o.tip_angle))
        old.append(Cut(first + i, hole, 0.0))
        if o.plug_density is not None:
            plug = hole
            if o.plugged < o.depth:
                plug = occ.common(ball, occ.bore(*at, o.plugged))
            old.append(Cut(first + i, plug, OZ_PER_IN3 * o.plug_density))
    for i, h in enumerate(p.holes):

        def swept(diameter: float, depth: float, tip: float | None, at: Any = h) -> Any:
            return occ.common(ball, occ.bore(at.entry, at.axis, diameter / 2.0, depth, tip))

        if h.bore is not None:
            sleeve = getattr(p.job.bowler.grip, h.name).sleeve
            bores.append(Cut(i, swept(h.bore.diameter, h.bore.depth, None), 0.0))
            filled = swept(h.bore.diameter, h.bore.sleeve_length, None)
            if h.inner is not None:
                sleeves.append(Cut(i, filled, OZ_PER_IN3 * sleeve.outer.density))
                sleeves.append(Cut(i, swept(h.inner.diameter, h.inner.depth, None), 0.0))
                filled = swept(h.inner.diameter, h.inner.sleeve_length, None)
            sleeves.append(Cut(i, filled, OZ_PER_IN3 * sleeve.density))
        if h.oval is not None:
            cuts += [Cut(i, bore, 0.0) for bore in oval_bores(occ, p, h)]
        else:
            cuts.append(Cut(i, swept(h.diameter, h.depth, h.tip_angle), 0.0))
    for i, e in enumerate(p.extra_holes):
        bore = occ.bore(e.entry, e.axis, e.diameter / 2.0, e.depth)
        cuts.append(Cut(len(p.holes) + i, occ.common(ball, bore), 0.0))
    return old + bores + sleeves + cuts


def everything(p: Plan) -> list[tuple[str, float]]:
    """What each hole of any kind took, in the order of `steps_of`."""
    holes = (*p.holes, *p.extra_holes, *p.old_holes)
    return [(h.name, h.removed_oz) for h in holes]


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
    removed, handled = np.zeros(len(everything(p))), np.zeros(len(everything(p)))
    first, second = np.zeros(3), np.zeros((3, 3))
    core = np.zeros(len(everything(p)))

    def account(hole: int, density: float, moments: tuple[float, Any, Any]) -> float:
        nonlocal first, second
        volume, one, two = moments
        removed[hole] += density * volume
        handled[hole] += abs(density) * volume
        first = first + density * one
        second = second + density * two
        return float(volume)

    for k, step in enumerate(steps):
        rest, whole = step.shape, occ.moments(step.shape)
        wholly = whole
        for earlier in reversed(steps[:k]):
            if whole[0] < 1e-12:
                break
            if occ.clear(rest, earlier.shape):
                continue
            inside = occ.moments(occ.common(rest, earlier.shape))
            if inside[0] < 1e-12:
                continue
            rest, before = occ.cut(rest, earlier.shape), whole[0]
            whole = occ.moments(rest)
            # a boolean that went wrong would lose or double a piece
            assert inside[0] + whole[0] == pytest.approx(before, abs=2e-7)
            if earlier.density:
                account(step.hole, earlier.density, inside)
        for number, (density, layer) in enumerate(layers):
            part = occ.moments(occ.common(rest, layer)) if number else whole
            volume = account(step.hole, density, part)
            core[step.hole] += volume if number == 2 else 0.0
        if step.density:
            account(step.hole, -step.density, wholly)
    return Found(removed, first, second, handled, core)


def lost_pieces(p: Plan, found: Found, seed: int = 5) -> bool:
    """Whether OpenCASCADE found nothing of the core in a hole in which points lie inside it.

    Its booleans lose small pieces between a core and a drill point or a bottom now and then.
    """
    if p.core is None:
        return False
    u, v, w = np.random.default_rng(seed).uniform(0.0, 1.0, (3, 40_000))
    cg = np.array(p.marks.cg.xyz) / p.radius
    excess = (p.core.density - p.core.filler_density) * OZ_PER_IN3
    excess *= 4.0 / 3.0 * math.pi * math.prod(p.core.semi_axes)
    offset = p.job.ball.top_weight * p.statics.arm * cg / excess
    low = np.array(p.marks.pin.xyz) / p.radius
    toward = np.array((p.marks.psa or p.marks.cg).xyz)
    high = toward - (toward @ low) * low
    high /= np.linalg.norm(high)
    rows = np.stack([low, high, np.cross(low, high)])
    for h, taken in zip((*p.holes, *p.extra_holes, *p.old_holes), found.core, strict=True):
        wide, deep = h.diameter, h.depth
        if isinstance(h, HolePlan) and h.bore is not None:
            wide, deep = h.bore.diameter, max(deep, h.bore.depth)
        axis = np.array(h.axis)
        lead = np.cross(axis, np.eye(3)[int(np.argmin(np.abs(axis)))])
        lead /= np.linalg.norm(lead)
        tip = getattr(h, "tip_angle", None)
        point = 0.0 if tip is None else h.diameter / 2.0 / math.tan(math.radians(tip / 2.0))
        down = u * (deep + point)
        r = np.sqrt(v) * wide / 2.0
        if point:  # only what is above the point's slope
            r = r * np.minimum((deep + point - down) / point, 1.0)
        turn = 2.0 * math.pi * w
        across = np.cos(turn)[:, None] * lead + np.sin(turn)[:, None] * np.cross(axis, lead)
        x = np.array(h.entry) + down[:, None] * axis + r[:, None] * across
        inside = np.sum(((x - offset) @ rows.T / p.core.semi_axes) ** 2, axis=1) < 1.0
        if inside.sum() > 5 and taken < 1e-9:
            return True
    return False


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


def weight_oz(p: Plan, shell: tuple[float, float]) -> float:
    """The undrilled ball's weight: the label's, less the shell's outer layer where that is gone."""
    gone = (p.job.ball.diameter / 2.0) ** 3 - p.radius**3
    return 16.0 * p.job.ball.weight - 4.0 / 3.0 * math.pi * OZ_PER_IN3 * shell[1] * gone


def compare(
    occ: SimpleNamespace,
    record: dict[str, Any],
    allowed: float,
    shell: tuple[float, float] | None = None,
    drawn: bool = False,
) -> Found:
    """Plan a record, do its work in OpenCASCADE, and hold every result to the allowed error.

    Records that are ``drawn`` at random may be passed over where OpenCASCADE loses a piece.
    """
    p = plan(parse_job(record))
    stated = record["ball"].get("shell") or {"thickness": 0.0, "density": 0.0}
    shell = shell or (stated["thickness"], stated["density"])
    found = work(occ, p, shell)
    if drawn:
        assume(not lost_pieces(p, found))
    for i, (name, removed_oz) in enumerate(everything(p)):
        near = pytest.approx(found.removed[i], abs=allowed * found.handled[i])
        assert removed_oz == near, name
    handled = float(found.handled.sum())
    total = weight_oz(p, shell) - float(found.removed.sum())
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


# --- a resurfaced ball ----------------------------------------------------------------------------


def test_a_ball_that_was_resurfaced(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = apart(record)
    changed["ball"]["diameter_now"] = 8.51
    compare(occ, changed, THROUGH_CORE, shell=(0.73, 1.20))


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


@pytest.mark.parametrize(("core", "inner_depth"), [(False, 2.5), (False, 3.25), (True, 2.5)])
def test_five_digits_and_a_sleeve_inside_another(
    occ: SimpleNamespace, record: dict[str, Any], core: bool, inner_depth: float
) -> None:
    """The inner sleeve's bore ends inside the outer sleeve, or goes on below it into the ball."""
    changed = with_sleeves(apart(record)) if core else uniform(with_sleeves(apart(record)))
    grip = changed["bowler"]["grip"]
    outer = {"bore": 1.5, "bore_depth": 3.0, "length": 2.875, "density": 1.3}
    inner = {"bore": 1.25, "bore_depth": inner_depth, "length": 2.25, "density": 1.1}
    grip["thumb"] |= {"depth": 2.25, "sleeve": {**inner, "outer": outer}}
    grip["index"] = {"span": 4.125, "gap": 0.5, "diameter": 0.8125, "depth": 1.0}
    grip["little"] = {"span": 4.0, "gap": 0.375, "diameter": 0.625, "depth": 1.0, "tip_angle": 118}
    grip["little"]["sleeve"] = {"bore": 0.75, "bore_depth": 1.25, "density": 1.15}
    compare(occ, changed, THROUGH_CORE if core else UNIFORM)


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


@pytest.mark.parametrize(("depth", "tip_angle"), [(3.0, 118), (3.5, None), (4.25, 118)])
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


@pytest.mark.parametrize(("hand", "angle_at_pap"), [("left", 70), ("right", -30)])
def test_sleeved_meeting_and_core_cutting_holes_together(
    occ: SimpleNamespace, record: dict[str, Any], hand: str, angle_at_pap: int
) -> None:
    changed = with_sleeves(record)
    changed["bowler"]["hand"] = hand
    changed["layout"] |= {"angle_at_pap": angle_at_pap, "pin_to_pap": 3.5}
    grip = changed["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] |= {"depth": 2.75, "pitch": {"forward": 0.125}}
    grip["thumb"] |= {"depth": 3.5, "tip_angle": 118}
    found = compare(occ, changed, THROUGH_CORE)
    assert found.core_volume > 0.1


# --- odd holes and second chances -----------------------------------------------------------------


def ovalled(record: dict[str, Any], bit: float = 1.0, **oval: Any) -> dict[str, Any]:
    changed = apart(record)
    thumb = changed["bowler"]["grip"]["thumb"]
    thumb |= {"diameter": bit, "oval": oval}
    return changed


@pytest.mark.parametrize(
    ("oval", "hand", "tip_angle"),
    [
        ({"length": 1.125}, "left", 118),
        ({"length": 1.25, "direction": 35}, "right", None),
        ({"length": 1.25, "direction": 35}, "left", None),
        ({"length": 1.125, "direction": 90}, "right", 118),
        ({"length": 1.5, "direction": -20, "scallop": 1 / 128}, "right", None),  # five bores
        ({"length": 1.5, "direction": -20, "scallop": 1 / 128}, "left", 118),
    ],
)
def test_oval_thumb_as_overlapping_bores(
    occ: SimpleNamespace,
    record: dict[str, Any],
    oval: dict[str, float],
    tip_angle: int | None,
    hand: str,
) -> None:
    changed = uniform(ovalled(record, **oval))
    changed["bowler"]["hand"] = hand
    changed["bowler"]["grip"]["thumb"]["tip_angle"] = tip_angle
    if hand == "left":  # the bottoms of the fingers still apart
        grip = changed["bowler"]["grip"]
        grip["middle"]["pitch"], grip["ring"]["pitch"] = (
            {"right": 0.375},
            {"left": 0.5},
        )
    compare(occ, changed, UNIFORM)


def test_oval_thumb_through_the_core(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = ovalled(record, length=1.375, direction=15)
    changed["bowler"]["grip"]["thumb"]["depth"] = 3.5
    assert compare(occ, changed, THROUGH_CORE).core_volume > 0.1


def test_oval_thumb_in_a_slug(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = uniform(ovalled(record, length=1.1875, direction=10))
    slug = {"bore": 1.375, "bore_depth": 3.0, "length": 2.5, "density": 1.2}
    changed["bowler"]["grip"]["thumb"]["sleeve"] = slug
    compare(occ, changed, UNIFORM)


@pytest.mark.parametrize("bit", [0.5, 1.0])
@pytest.mark.parametrize("length", [1.0625, 1.375])
def test_milled_slot_is_a_stadium(
    occ: SimpleNamespace, record: dict[str, Any], bit: float, length: float
) -> None:
    changed = uniform(ovalled(record, bit, length=length, direction=25, milled=True))
    compare(occ, changed, UNIFORM)


def test_vents_and_an_inspection_hole(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = uniform(apart(record))
    changed["extra_holes"] = {
        "vents": [
            {"hole": "thumb", "over": 0.75, "down": 3.25, "diameter": 0.25, "meets": 2.25},
            {"hole": "ring", "over": 1.5, "up": 2.5, "diameter": 0.125, "meets": 1.25},
        ],
        "inspection": {"over": -1.5, "up": 0.5, "diameter": 0.625, "depth": 0.125},
    }
    compare(occ, changed, UNIFORM)


def drilled_before(record: dict[str, Any], plug: dict[str, float] | None) -> dict[str, Any]:
    """A thumb that was drilled 3/8 in from where the new one goes, with other pitches."""
    p = plan(parse_job(record))
    thumb = p.holes[2]
    right = np.array(thumb.entry) + np.array([0.3, 0.25, 0.0])
    entry = tuple((right / np.linalg.norm(right) * p.radius).tolist())
    axis = np.array(thumb.axis) + np.array([0.03, 0.05, 0.0])
    bore = Bore(entry, tuple((axis / np.linalg.norm(axis)).tolist()), 0.5625, 2.5, 118.0)
    hand = record["bowler"]["hand"]
    old = told_by_marks(
        "old thumb",
        bore._replace(entry=mirror(bore.entry, hand), axis=mirror(bore.axis, hand)),
        mirror(p.marks.pin.xyz, hand),
        p.layout.bearing,
        hand,
        p.radius,
        None,
    )
    hole = {k: v for k, v in old.model_dump().items() if v is not None}
    if plug is not None:
        hole["plug"] = plug
    changed = copy.deepcopy(record)
    changed["history"] = {"holes": [hole]}
    again = plan(parse_job(changed)).old_holes[0]
    assert again.entry == pytest.approx(bore.entry, abs=1e-9)
    assert again.axis == pytest.approx(bore.axis, abs=1e-9)
    return changed


@pytest.mark.parametrize(
    ("plug", "hand"),
    [
        (None, "left"),
        ({"density": 1.2}, "right"),
        ({"density": 1.2, "length": 2.0}, "right"),
        ({"density": 1.2, "length": 2.0}, "left"),
        ({"density": 0.9}, "left"),
    ],
)
def test_new_hole_over_a_plug(
    occ: SimpleNamespace, record: dict[str, Any], plug: dict[str, float] | None, hand: str
) -> None:
    changed = uniform(apart(record))
    changed["bowler"]["hand"] = hand
    if hand == "left":
        grip = changed["bowler"]["grip"]
        grip["middle"]["pitch"], grip["ring"]["pitch"] = {"right": 0.375}, {"left": 0.5}
    compare(occ, drilled_before(changed, plug), UNIFORM)


def test_oval_over_a_plug_through_the_core(occ: SimpleNamespace, record: dict[str, Any]) -> None:
    changed = ovalled(record, length=1.25, direction=10)
    changed["bowler"]["grip"]["thumb"]["depth"] = 3.25
    found = compare(occ, drilled_before(changed, {"density": 1.15}), THROUGH_CORE)
    assert found.core_volume > 0.1


# --- any job --------------------------------------------------------------------------------------


@settings(max_examples=5, suppress_health_check=list(HealthCheck))
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
    compare(occ, record, allowed, shell_of(p), drawn=True)


@st.composite
def odd_parts(draw: st.DrawFn) -> dict[str, Any]:
    """An oval for the thumb, extra holes, and old holes anywhere on the ball."""
    parts: dict[str, Any] = {}
    oval: dict[str, Any] = {"direction": draw(st.integers(-90, 90))}
    oval["way"] = draw(st.sampled_from((1 / 16, 1 / 8, 1 / 4)))
    parts["oval"] = draw(st.sampled_from((None, oval)))
    parts["mill"] = draw(st.booleans())
    old = []
    for n in range(draw(st.integers(0, 3))):
        plug = draw(st.sampled_from((None, 0.9, 1.2)))
        hole: dict[str, Any] = {
            "name": f"old {n}",
            # never two through one point: OpenCASCADE finds nothing in common between such cylinders
            "from_pin": draw(st.floats(0.5, 9.0)),
            "bearing": 120 * n + draw(st.integers(0, 100)),
            "toward_pin": draw(st.floats(-0.5, 0.5)),
            "right": draw(st.floats(-0.5, 0.5)),
            "diameter": draw(st.floats(0.5, 1.5)),
            "depth": draw(st.floats(0.5, 3.0)),
        }
        if plug is not None:
            hole["plug"] = {"density": plug}
            if draw(st.booleans()):
                hole["plug"]["length"] = draw(st.floats(0.2, 1.0)) * hole["depth"]
        old.append(hole)
    parts["old"] = old
    return parts


@settings(max_examples=3, suppress_health_check=list(HealthCheck))
@given(data=st.data(), parts=odd_parts())
def test_random_jobs_with_odd_and_old_holes(
    occ: SimpleNamespace,
    records: st.SearchStrategy[dict[str, Any]],
    shell_of: Callable[[Plan], tuple[float, float]],
    data: st.DataObject,
    parts: dict[str, Any],
) -> None:
    record = data.draw(records)
    thumb = record["bowler"]["grip"]["thumb"]
    if thumb is not None and parts["oval"] is not None:
        oval = dict(parts["oval"])
        length = thumb["diameter"] + oval.pop("way")
        thumb["oval"] = {**oval, "length": length}
        if "sleeve" in thumb:
            # clear of the slug's wall: OpenCASCADE fails on cylinders that touch from inside
            thumb["sleeve"]["bore"] = max(thumb["sleeve"]["bore"], length + 0.03125)
    if parts["mill"]:
        mill = {"over": -2.5, "up": 0.25, "diameter": 0.625, "depth": 0.125}
        record["extra_holes"] = {"inspection": mill}
    record["history"] = {"holes": parts["old"]}
    p = plan(parse_job(record))
    compare(occ, record, UNIFORM if p.core is None else THROUGH_CORE, shell_of(p), drawn=True)
