"""What must not change, whatever the job: mirrors, rotations, order of the work, conservation.

Random jobs from the shared strategy; the same ones on every run.
"""

import copy
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from layoutkit.ball.density import Change, Step, drill
from layoutkit.ball.layers import Body, Label, build_body, fit_layers
from layoutkit.geometry import short_forms as integrals
from layoutkit.geometry import solids
from layoutkit.geometry.bores import Bore
from layoutkit.geometry.solids import Ellipsoid
from layoutkit.geometry.vectors import Vector
from layoutkit.job.record import parse_job
from layoutkit.planning import grip
from layoutkit.planning.layout import PAP, Angles, Placement, to_angles, to_distances, to_placement
from layoutkit.planning.plan import plan
from layoutkit.planning.redrill import redrilled
from layoutkit.planning.values import Plan

Array = NDArray[np.float64]
Records = st.SearchStrategy[dict[str, Any]]

OZ_PER_IN3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition
UNIFORM = 1e-6  # relative accuracy of holes in a uniform ball
THROUGH_CORE = 1e-4

quick = settings(max_examples=20, suppress_health_check=list(HealthCheck))
few = settings(max_examples=12, suppress_health_check=list(HealthCheck))


def drilled(model: Body, steps: list[Step], holes: int) -> Change:
    """The one place where these tests drill a body by hand."""
    (change,) = drill([model], steps, holes)
    return change


def vector(v: Array) -> Vector:
    x, y, z = v.tolist()
    return (x, y, z)


def model_of(p: Plan) -> Body:
    """The undrilled body of a plan, from its own numbers."""
    ball = p.job.ball
    shell = None if ball.shell is None else (ball.shell.thickness, ball.shell.density)
    label = Label(
        p.radius,
        ball.weight,
        ball.rg_low,
        ball.differential or 0.0,
        ball.intermediate_differential or 0.0,
        shell,
        ball.filler_density,
    )
    size = ball.top_weight * p.statics.arm
    side = np.array([1.0 if p.job.bowler.hand == "right" else -1.0, 1.0, 1.0])
    pin, cg = (side * np.array(m.xyz) / p.radius for m in (p.marks.pin, p.marks.cg))
    toward = side * np.array((p.marks.psa or p.marks.cg).xyz)
    b = toward - (toward @ pin) * pin
    b /= np.linalg.norm(b)
    axes = (vector(pin), vector(b), vector(np.cross(pin, b)))
    # what the box leaves open is chosen with the radius for the arm
    layers = fit_layers(label, ball.top_weight * p.radius)
    return build_body(label, layers, axes, vector(size * cg))


def steps_of(p: Plan) -> tuple[tuple[grip.Hole, ...], list[Step]]:
    holes = grip.place_holes(p.job.bowler.grip, p.radius, p.job.bowler.hand)
    return holes, grip.drilling_steps(holes)


def allowed_error(p: Plan) -> float:
    """Ounces by which two ways of integrating the same work may differ."""
    work = sum(
        math.pi
        / 4.0
        * (h.diameter**2 * h.depth + (h.bore.diameter**2 * h.bore.depth if h.bore else 0.0))
        for h in p.holes
    )
    return (UNIFORM if p.core is None else THROUGH_CORE) * OZ_PER_IN3 * 1.2 * work


# --- mirrors --------------------------------------------------------------------------------------


def mirrored(record: dict[str, Any]) -> dict[str, Any]:
    """The same job for the other hand, on the mirrored ball."""
    other = copy.deepcopy(record)
    bowler = other["bowler"]
    bowler["hand"] = {"right": "left", "left": "right"}[bowler["hand"]]
    for name in ("middle", "ring", "thumb"):
        hole = bowler["grip"][name]
        if hole is not None and "pitch" in hole:
            swap = {"right": "left", "left": "right"}
            hole["pitch"] = {swap.get(k, k): v for k, v in hole["pitch"].items()}
    psa = other["ball"].get("psa")
    if psa is not None:
        psa["cg_bearing"] = -psa["cg_bearing"]
    return other


def numbers(value: Any, at: str = "") -> dict[str, float]:
    """Every number of a plan's JSON by its path, without what has a hand of its own."""
    if isinstance(value, dict):
        found = {}
        for key, item in value.items():
            if key not in ("xyz", "entry", "axis", "right"):
                found |= numbers(item, f"{at}.{key}")
        return found
    if isinstance(value, list | tuple):
        found = {}
        for i, item in enumerate(value):
            found |= numbers(item, f"{at}[{i}]")
        return found
    if isinstance(value, bool) or not isinstance(value, int | float):
        return {}
    return {at: float(value)}


@quick
@given(data=st.data())
def test_a_mirrored_job_has_the_same_numbers(records: Records, data: st.DataObject) -> None:
    """Over, up, arcs, statics, RGs, walls, checks: all the same; xyz is mirrored in x."""
    record = data.draw(records)
    p, q = plan(parse_job(record)), plan(parse_job(mirrored(record)))
    mine, other = numbers(p.as_dict()), numbers(q.as_dict())
    assert mine.keys() == other.keys()
    assert len(mine) > 100
    for name, value in mine.items():
        assert other[name] == pytest.approx(value, rel=1e-9, abs=1e-9), name
    for h, k in zip(p.holes, q.holes, strict=True):
        for a, b in ((h.entry, k.entry), (h.axis, k.axis)):
            assert b == pytest.approx([-a[0], a[1], a[2]], abs=1e-9)
        assert k.right == -h.right
    for name in ("pin", "cg", "pap"):
        a, b = getattr(p.marks, name).xyz, getattr(q.marks, name).xyz
        assert b == pytest.approx([-a[0], a[1], a[2]], abs=1e-9), name
    assert p.outcome == q.outcome


# --- statics --------------------------------------------------------------------------------------


@quick
@given(data=st.data())
def test_static_weights_before_drilling_make_up_the_top_weight(
    records: Records, data: st.DataObject
) -> None:
    record = data.draw(records)
    p = plan(parse_job(record))
    u = p.statics.undrilled
    length = math.sqrt(u.side_oz**2 + u.finger_oz**2 + u.top_oz**2)
    assert length == pytest.approx(record["ball"]["top_weight"], rel=1e-12)


@quick
@given(data=st.data())
def test_what_is_missing_was_removed(records: Records, data: st.DataObject) -> None:
    """Hole by hole, in total, on the scale, and step by step as the work goes on."""
    record = data.draw(records)
    p = plan(parse_job(record))
    total = sum(h.removed_oz for h in p.holes)
    assert p.statics.removed_oz == pytest.approx(total, abs=1e-12)
    missing = 16.0 * (record["ball"]["weight"] - p.statics.weight_lb)
    assert missing == pytest.approx(total, abs=1e-9)
    holes, steps = steps_of(p)
    model = model_of(p)
    counts = range(1, len(steps) + 1)
    found = [drilled(model, steps[:n], len(holes)).removed_oz for n in counts]
    sums = [0.0, *(float(np.sum(each)) for each in found)]
    assert sums[-1] == pytest.approx(total, abs=allowed_error(p))
    for step, before, after in zip(steps, sums, sums[1:], strict=False):
        if step.density == 0.0:
            assert after >= before - allowed_error(p)  # a cut never adds


@quick
@given(data=st.data())
def test_the_range_of_an_uncalibrated_scale_ends_at_two_calibrated_ones(
    records: Records, data: st.DataObject
) -> None:
    """From the weight difference of two halves, 8/15 of the radius, to the radius; the middle of them
    by default.
    """
    record = data.draw(records)
    record.pop("scale", None)
    p = plan(parse_job(record))
    arms = (8.0 / 15.0 * p.radius, p.radius, 23.0 / 30.0 * p.radius)
    *ends, default = (plan(parse_job({**record, "scale": {"arm": arm}})).statics for arm in arms)
    assert not p.statics.calibrated
    assert all(s.calibrated for s in ends)
    for name in ("side_oz", "finger_oz", "top_oz"):
        low, high = sorted(getattr(s, name) for s in ends)
        assert getattr(p.statics.range, name) == pytest.approx((low, high), abs=1e-9), name
        assert getattr(p.statics, name) == pytest.approx(getattr(default, name), abs=1e-9), name


# --- layouts --------------------------------------------------------------------------------------


@settings(max_examples=120, suppress_health_check=list(HealthCheck))
@given(
    radius=st.floats(4.25, 4.2975),
    drilling=st.floats(0.5, 179.5),
    fraction=st.floats(0.02, 0.98),
    val=st.floats(-179.0, 179.0),
    over=st.floats(0.5, 7.0),
    up=st.floats(-3.0, 3.0),
)
def test_the_three_statements_of_a_layout_round_trip(
    radius: float, drilling: float, fraction: float, val: float, over: float, up: float
) -> None:
    """Angles to placement to distances and back to angles, to 1e-9 in and degrees.

    Distances lose digits where the pin's line is square to the VAL: the sine is flat there, which
    no way of computing can mend.
    """
    # the sine's slope there would eat the digits
    assume(abs(abs(val) - 90.0) > 1.0)
    quarter = math.pi * radius / 2.0
    pap = PAP(over, up)
    start = Angles(drilling, fraction * math.pi * radius, val)
    placed = to_placement(start, quarter, pap, radius)
    assert isinstance(placed, Placement)
    stated = to_distances(placed, quarter, pap, radius)
    back = to_angles(stated, quarter, pap, radius)
    again = to_placement(back, quarter, pap, radius)
    # angles at the pin and the PAP matter by the arc that they sweep
    reach = min(math.sin(fraction * math.pi), 1.0)
    for name in ("angle_at_pin", "angle_at_pap"):
        off = (float(getattr(back, name)) - float(getattr(start, name)) + 180.0) % 360.0 - 180.0
        assert abs(off) * reach < 1e-9, name
    assert float(back.pin_to_pap) == pytest.approx(float(start.pin_to_pap), abs=1e-9)
    assert float(again.pin_up) == pytest.approx(float(placed.pin_up), abs=1e-9)
    # at the pole of the midline every over is the same place
    narrowing = math.cos(float(placed.pin_up) / radius)
    assert abs(float(again.pin_over) - float(placed.pin_over)) * narrowing < 1e-8


@quick
@given(data=st.data())
def test_a_layout_restated_makes_the_same_plan(records: Records, data: st.DataObject) -> None:
    record = data.draw(records)
    p = plan(parse_job(record))
    n = p.layout
    statements = [
        {
            "by": "angles",
            "angle_at_pin": n.angle_at_pin,
            "pin_to_pap": n.pin_to_pap,
            "angle_at_pap": n.angle_at_pap,
        },
        {
            "by": "placement",
            "pin": {"over": p.marks.pin.over, "up": p.marks.pin.up},
            "bearing": n.bearing,
        },
    ]
    if n.psa_to_pap is not None and n.angle_at_pin >= 0.0 and abs(abs(n.angle_at_pap) - 90.0) > 1.0:
        statements.append(
            {
                "by": "distances",
                "pin_to_pap": n.pin_to_pap,
                "psa_to_pap": n.psa_to_pap,
                "pin_to_val": n.pin_to_val,
                "obtuse_angle_at_pap": abs(n.angle_at_pap) > 90.0,
            }
        )
    for layout in statements:
        q = plan(parse_job({**record, "layout": layout}))
        for name in ("pin", "cg", "psa"):
            a, b = getattr(p.marks, name), getattr(q.marks, name)
            assert (a is None) == (b is None)
            if a is not None:
                # an arc of 6 in turns with the bearing, which distances keep to the root of 1e-16
                slack = 1e-6 if layout["by"] == "distances" else 1e-9
                assert b.xyz == pytest.approx(a.xyz, abs=slack), (layout["by"], name)


# --- rotations ------------------------------------------------------------------------------------


def random_turn(seed: int) -> Array:
    turn, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    return np.asarray(turn * np.sign(np.linalg.det(turn)))


def turned_bore(turn: Array, b: Bore) -> Bore:
    entry, axis = (vector(turn @ np.array(v)) for v in (b.entry, b.axis))
    return Bore(entry, axis, b.radius, b.depth, b.tip_angle)


@quick
@given(data=st.data(), seed=st.integers(0, 2**32 - 1))
def test_turning_the_ball_and_all_on_it_turns_what_is_removed(
    records: Records, data: st.DataObject, seed: int
) -> None:
    """Weights stay; the first moment turns as a vector, the second as a tensor."""
    p = plan(parse_job(data.draw(records)))
    holes, steps = steps_of(p)
    model, turn = model_of(p), random_turn(seed)

    def turned(v: Vector) -> Vector:
        return vector(turn @ np.array(v))

    terms = tuple(
        (
            w,
            Ellipsoid(
                vector(turn @ np.array(s.center)),
                s.semi_axes,
                (turned(s.axes[0]), turned(s.axes[1]), turned(s.axes[2])),
            ),
        )
        for w, s in model.terms
    )
    other = Body(terms, model.weight_oz, turned(model.first), turn @ model.second @ turn.T)
    moved = [Step(turned_bore(turn, s.solid), s.density, s.hole) for s in steps]
    a, b = drilled(model, steps, len(holes)), drilled(other, moved, len(holes))
    ounce = allowed_error(p)
    assert np.asarray(b.removed_oz) == pytest.approx(np.asarray(a.removed_oz), abs=ounce)
    assert b.first == pytest.approx(turn @ a.first, abs=ounce * p.radius)
    assert b.second == pytest.approx(turn @ a.second @ turn.T, abs=ounce * p.radius**2)


@quick
@given(seed=st.integers(0, 2**32 - 1))
def test_moments_turn_with_their_solids(seed: int) -> None:
    rng = np.random.default_rng(seed)
    turn = random_turn(seed)
    entry = 4.25 * random_turn(seed + 1)[0]
    axis = -entry / 4.25 + 0.15 * rng.normal(size=3)
    axis /= np.linalg.norm(axis)
    bore = Bore(vector(entry), vector(axis), 0.5, float(rng.uniform(0.5, 3.0)))
    ball = solids.sphere((0.0, 0.0, 0.0), 4.25)
    one, other = integrals.moments([[ball, bore], [ball, turned_bore(turn, bore)]])
    volume = one[0, 0]
    assert other[0, 0] == pytest.approx(volume, rel=UNIFORM)
    assert other[0, 1:] == pytest.approx(turn @ one[0, 1:], abs=UNIFORM * 4.25 * volume)
    expected = turn @ one[1:, 1:] @ turn.T
    assert other[1:, 1:] == pytest.approx(expected, abs=UNIFORM * 4.25**2 * volume)


# --- steps that do nothing ------------------------------------------------------------------------


def same(a: Change, b: Change, ounces: float, radius: float) -> None:
    assert np.asarray(a.removed_oz) == pytest.approx(np.asarray(b.removed_oz), abs=ounces)
    assert a.first == pytest.approx(b.first, abs=ounces * radius)
    assert a.second == pytest.approx(b.second, abs=ounces * radius**2)


@quick
@given(data=st.data(), where=st.integers(0, 2**32 - 1))
def test_a_hole_of_no_depth_changes_nothing(
    records: Records, data: st.DataObject, where: int
) -> None:
    """A flat bit set straight on the surface; tilted it would shave a sliver off with its edge."""
    p = plan(parse_job(data.draw(records)))
    holes, steps = steps_of(p)
    model = model_of(p)
    n = random_turn(where)[0]
    none = Bore(vector(p.radius * n), vector(-n), 0.5, 0.0)
    # counted to nothing better than the spherical cap that its plane misses: there is none
    a = drilled(model, steps, len(holes) + 1)
    b = drilled(model, [*steps, Step(none, 0.0, len(holes))], len(holes) + 1)
    # the bit's rim hangs above the round surface, so all of what it sweeps is outside the ball
    assert float(b.removed_oz[len(holes)]) == pytest.approx(0.0, abs=1e-9)
    same(a, b, 1e-9, p.radius)


@few
@given(data=st.data())
def test_a_finger_hole_of_no_depth_in_a_record(records: Records, data: st.DataObject) -> None:
    record = data.draw(records)
    ring = record["bowler"]["grip"]["ring"]
    ring["depth"] = 0
    for name in ("sleeve", "pitch", "tip_angle"):
        ring.pop(name, None)
    p = plan(parse_job(record))
    assert p.holes[1].removed_oz == pytest.approx(0.0, abs=1e-9)
    _, steps = steps_of(p)
    alone = drilled(model_of(p), [s for s in steps if s.hole != 1], len(p.holes))
    assert p.statics.removed_oz == pytest.approx(
        float(np.sum(alone.removed_oz)), abs=allowed_error(p)
    )


@few
@given(data=st.data())
def test_the_same_bore_twice_removes_nothing_more(records: Records, data: st.DataObject) -> None:
    p = plan(parse_job(data.draw(records)))
    holes, steps = steps_of(p)
    model = model_of(p)
    once = drilled(model, steps, len(holes) + 1)
    last = [s for s in steps if s.density == 0.0][-len(holes) :]  # the finished holes
    again = [Step(s.solid, 0.0, len(holes)) for s in last]
    twice = drilled(model, [*steps, *again], len(holes) + 1)
    assert float(twice.removed_oz[len(holes)]) == pytest.approx(0.0, abs=allowed_error(p))
    same(once, twice, allowed_error(p), p.radius)
    # and a plug that is drilled out again leaves what was there before
    plugs = [Step(s.solid, 1.1, len(holes)) for s in last]
    redrilled = drilled(model, [*steps, *plugs, *again], len(holes) + 1)
    same(once, redrilled, allowed_error(p), p.radius)


# --- an independent painter -----------------------------------------------------------------------


def swept(b: Bore) -> Callable[[Array], NDArray[np.bool_]]:
    """Which points the bit passes through: membership, point by point."""
    p, d = np.array(b.entry), np.array(b.axis)
    slope = 0.0 if b.tip_angle is None else 1.0 / math.tan(math.radians(b.tip_angle / 2.0))

    def inside(x: Array) -> NDArray[np.bool_]:
        w = x - p
        t = w @ d
        across = np.sqrt(np.maximum((w * w).sum(axis=1) - t * t, 0.0))
        return np.asarray((across <= b.radius) & (t <= b.depth + slope * (b.radius - across)))

    return inside


def density_at(
    x: Array,
    p: Plan,
    shell: tuple[float, float],
    painted: list[tuple[Callable[[Array], Any], float]],
) -> Array:
    """oz/in3 at each point: shell, filler, core, then the steps; the last one painted decides."""
    r = np.linalg.norm(x, axis=1)
    ball = p.job.ball
    if p.core is None:
        rho = np.full(len(x), 16.0 * ball.weight / (4.0 / 3.0 * math.pi * p.radius**3))
    else:
        f, c = p.core.filler_density, p.core.density
        thickness, s = shell
        rho = OZ_PER_IN3 * np.where(r > p.radius - thickness, s, f)
        excess = OZ_PER_IN3 * (c - f) * 4.0 / 3.0 * math.pi * math.prod(p.core.semi_axes)
        offset = ball.top_weight * p.statics.arm * np.array(p.marks.cg.xyz) / p.radius / excess
        low = np.array(p.marks.pin.xyz) / p.radius
        toward = np.array((p.marks.psa or p.marks.cg).xyz)
        high = toward - (toward @ low) * low
        high /= np.linalg.norm(high)
        local = (x - offset) @ np.stack([low, high, np.cross(low, high)]).T
        core = np.square(local / np.array(p.core.semi_axes)).sum(axis=1) <= 1.0
        rho = np.where(core, OZ_PER_IN3 * c, rho)
    for inside, q in painted:
        rho = np.where(inside(x), OZ_PER_IN3 * q, rho)
    return np.where(r <= p.radius, rho, 0.0)


def points_in(b: Bore, power: int, seed: int) -> tuple[Array, float]:
    """Evenly scattered points of a bore with its drill point and lip, and the volume of each."""
    from scipy.stats import qmc

    top = 0.6  # in above the entry, higher than any tilted bit's edge
    length = top + b.depth + b.tip_height
    u = qmc.Sobol(3, seed=seed).random_base2(power)
    p, d = np.array(b.entry), np.array(b.axis)
    e = np.cross(d, [0.3, 0.5, 0.8])
    e /= np.linalg.norm(e)
    rho, phi = b.radius * np.sqrt(u[:, :1]), 2.0 * math.pi * u[:, 1:2]
    x = p + (u[:, 2:] * length - top) * d
    x = x + rho * np.cos(phi) * e + rho * np.sin(phi) * np.cross(d, e)
    return x, math.pi * b.radius**2 * length / len(x)


@few
@given(data=st.data())
def test_later_cuts_meet_what_earlier_ones_left(
    records: Records, shell_of: Callable[[Plan], tuple[float, float]], data: st.DataObject
) -> None:
    """Each hole's own account against points painted one by one, in the order of the work."""
    record = data.draw(records)
    p = plan(parse_job(record))
    shell = shell_of(p)
    bores, sleeves, finished = [], [], []
    for i, h in enumerate(p.holes):
        if h.bore is not None:
            bore = Bore(h.entry, h.axis, h.bore.diameter / 2.0, h.bore.depth)
            bores.append((i, bore, 0.0))
            sleeve = Bore(h.entry, h.axis, h.bore.diameter / 2.0, h.bore.sleeve_length)
            sleeves.append((i, sleeve, getattr(p.job.bowler.grip, h.name).sleeve.density))
        cut = Bore(h.entry, h.axis, h.diameter / 2.0, h.depth, h.tip_angle)
        finished.append((i, cut, 0.0))
    removed, handled = np.zeros(len(p.holes)), np.zeros(len(p.holes))
    painted: list[tuple[Callable[[Array], Any], float]] = []
    for i, b, q in bores + sleeves + finished:
        x, each = points_in(b, 14, seed=i)
        inside = swept(b)
        x = x[inside(x)]
        before = density_at(x, p, shell, painted)
        painted.append((inside, q))
        change = float((before - density_at(x, p, shell, painted)).sum()) * each
        removed[i] += change
        handled[i] += abs(change) + 0.05  # oz; below that a share of nothing would be asked for
    found = np.array([h.removed_oz for h in p.holes])
    # 16384 points a step: three parts in a thousand of what was cut, and of what was filled
    assert (np.abs(found - removed) < 0.003 * handled).all(), (found, removed)


# --- walls ----------------------------------------------------------------------------------------


@quick
@given(data=st.data())
def test_a_wall_is_the_same_from_both_sides(records: Records, data: st.DataObject) -> None:
    p = plan(parse_job(data.draw(records)))
    holes, _ = steps_of(p)
    there = {frozenset(w.holes): w for w in grip.least_walls(holes, p.radius)}
    back = {frozenset(w.holes): w for w in grip.least_walls(tuple(reversed(holes)), p.radius)}
    assert there.keys() == back.keys()
    for pair, wall in there.items():
        assert back[pair].thickness == pytest.approx(wall.thickness, abs=1e-3), pair
        assert back[pair].meets == wall.meets, pair
        if wall.meets:
            assert back[pair].depth == pytest.approx(wall.depth, abs=0.01), pair


# --- a ball that is drilled again -----------------------------------------------------------------


def on_the_ball(p: Plan) -> Callable[[Any], Array]:
    """From the grip frame to one that the ball carries: the pin, and the reference mark beside it."""
    pin, reference = (np.array(m.xyz) for m in (p.marks.pin, p.marks.psa or p.marks.cg))
    a = pin / np.linalg.norm(pin)
    b = reference - (reference @ a) * a
    b /= np.linalg.norm(b)
    frame = np.array([a, b, np.cross(a, b)])
    return lambda v: np.asarray(frame @ np.array(v))


@few
@given(data=st.data())
def test_old_holes_stay_on_the_ball_whatever_the_new_layout(
    records: Records, data: st.DataObject
) -> None:
    """Each cavity of the old plan lies where an old hole of the new one does, by the ball's own marks."""
    record = data.draw(records)
    if data.draw(st.booleans()):
        record["extra_holes"] = {
            "inspection": {
                "over": data.draw(st.floats(-8.0, 8.0)),
                "up": data.draw(st.floats(-6.0, 6.0)),
                "diameter": "5/8",
                "depth": "1/8",
            }
        }
    job = parse_job(record)
    old = plan(job)
    cavities = []
    for hole in old.holes:
        deeper = True
        if hole.bore is not None:
            cavities.append((hole.entry, hole.axis, hole.bore.diameter, hole.bore.depth))
            tip = 0.0
            if hole.tip_angle is not None:
                tip = hole.diameter / 2.0 / math.tan(math.radians(hole.tip_angle / 2.0))
            deeper = hole.depth + tip > hole.bore.depth
        if deeper:
            cavities.append((hole.entry, hole.axis, hole.diameter, hole.depth))
    cavities += [(e.entry, e.axis, e.diameter, e.depth) for e in old.extra_holes]

    again = redrilled(job).model_dump()
    again["extra_holes"] = None
    again["layout"] = {
        "by": "angles",
        "angle_at_pin": data.draw(st.integers(-180, 180)),
        "pin_to_pap": data.draw(st.floats(0.25, 6.5)),
        "angle_at_pap": data.draw(st.integers(-180, 180)),
    }
    new = plan(parse_job(again))
    then, now = on_the_ball(old), on_the_ball(new)
    assert len(new.old_holes) == len(cavities)
    for o, (entry, axis, diameter, depth) in zip(new.old_holes, cavities, strict=True):
        assert now(o.entry) == pytest.approx(then(entry), abs=1e-7)
        assert now(o.axis) == pytest.approx(then(axis), abs=1e-7)
        assert (o.diameter, o.depth) == (diameter, depth)
        tip = 0.0
        if o.tip_angle is not None:
            tip = o.diameter / 2.0 / math.tan(math.radians(o.tip_angle / 2.0))
        assert o.plugged == pytest.approx(depth + tip, abs=1e-12)
