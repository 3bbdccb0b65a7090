"""Many variants at once against single plans, and against textbook values."""

from __future__ import annotations

import copy
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layoutkit import Job, load_job, parse_job, plan
from layoutkit.geometry.sphere import mirror
from layoutkit.geometry.vectors import Array
from layoutkit.job import rules
from layoutkit.job.record import AnglesLayout, Tolerances, dump_job
from layoutkit.job.rules import Check
from layoutkit.job.shop import Calibration, Shop, SurfaceTest, with_arm
from layoutkit.lane.roll import roll
from layoutkit.planning import certainty as c
from layoutkit.planning import chord_sums, grip, sweep, variants

SAMPLES = sorted(
    path
    for path in (Path(__file__).parents[2] / "sample_bowlers").glob("*.json")
    if not path.name.startswith(("14", "15"))  # these leave open what a map needs
)
WITHIN_OZ = 1e-3  # what the map promises against single plans


def with_layout(job: Job, drilling: float, pin_to_pap: float, val: float) -> Job:
    layout = AnglesLayout(
        by="angles", angle_at_pin=drilling, pin_to_pap=pin_to_pap, angle_at_pap=val
    )
    return job.model_copy(update={"layout": layout})


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_random_layouts_equal_single_plans(path: Path) -> None:
    job = load_job(path)
    rng = np.random.default_rng(7)
    n = 20
    d, v = rng.uniform(-180.0, 180.0, (2, n))
    p = rng.uniform(0.3, 7.0, n)
    layouts = sweep.Layouts(d, p, v)
    found = sweep.evaluate(job, layouts)
    now = plan(job)
    verdict = sweep.judge(now, found)
    half = sweep.half_bands(now)

    def apart(check: Check) -> float:
        """How far a layout's own band is from the plan's, which `judge` takes under tolerances."""
        if job.tolerances is None:
            return 0.0
        return abs(0.5 * (check.band[1] - check.band[0]) - half[check.name])

    starts, squares = [], []
    for k in range(n):
        single = plan(with_layout(job, float(d[k]), float(p[k]), float(v[k])))
        s, i = single.statics, single.inertia
        for name in ("side_oz", "finger_oz", "top_oz"):
            assert getattr(found[0], name)[k] == pytest.approx(getattr(s, name), abs=WITHIN_OZ)
            ends = [getattr(f, name)[k] for f in found]
            assert min(ends) == pytest.approx(getattr(s.range, name)[0], abs=WITHIN_OZ)
            assert max(ends) == pytest.approx(getattr(s.range, name)[1], abs=WITHIN_OZ)
        assert 16.0 * found[0].weight_lb[k] == pytest.approx(16.0 * s.weight_lb, abs=4e-3)
        for name in ("rg_low", "rg_mid", "rg_high", "differential", "intermediate_differential"):
            assert getattr(found[0], name)[k] == pytest.approx(getattr(i, name), abs=3e-5)
        marks = (single.marks.pap, i.low_axis, i.high_axis)
        # in the bowler's frame, where the ball turns to the left of the axis for both hands
        pap, low, high = (np.array(mirror(m.xyz, single.job.bowler.hand)) for m in marks)
        pap, low, high = (v / single.radius for v in (pap, low, high))
        starts.append(np.array([low, np.cross(high, low), high]) @ pap)
        squares.append(np.square([i.rg_low, i.rg_mid, i.rg_high]))
        close_by = any(
            abs(abs(end) - check.limit) < 2 * WITHIN_OZ + apart(check)
            for check in single.checks
            if check.unit == "oz"
            for end in (check.value, *check.band)
        )
        word = {rules.PASS: "pass", rules.CLOSE: "close", rules.FAIL: "fail"}[int(verdict[k])]
        assert word == single.outcome or close_by
    moved = now.radius * migration(np.array(starts), np.array(squares))
    assert found[0].flare == pytest.approx(moved, abs=1e-3)


def migration(axis: Array, squares: Array) -> Array:
    """The angle (n,) by which the axis (n, 3) of free balls moves in a turn; moments ``squares`` (n, 3).

    Euler's equations in principal axes by many small steps, until the ball has turned once.
    """
    k1, k2, k3 = squares.T

    def rate(w: Array) -> Array:
        x, y, z = w.T
        found = np.stack(
            [(k2 - k3) / k1 * y * z, (k3 - k1) / k2 * z * x, (k1 - k2) / k3 * x * y], -1
        )
        return found / np.linalg.norm(w, axis=1)[:, None]  # by the angle turned, not by time

    w, steps = axis.copy(), 60
    h = 2.0 * math.pi / steps
    for _ in range(steps):
        a = rate(w)
        b = rate(w + 0.5 * h * a)
        c = rate(w + 0.5 * h * b)
        d = rate(w + h * c)
        w += h / 6.0 * (a + 2.0 * b + 2.0 * c + d)
    w /= np.linalg.norm(w, axis=1)[:, None]
    return np.asarray(2.0 * np.arcsin(0.5 * np.linalg.norm(w - axis, axis=1)))


@pytest.mark.parametrize("theta", [0.0, 20.0, 45.0, 80.0, 90.0])
def test_flare_of_a_ball_with_one_odd_axis(theta: float) -> None:
    """Landau & Lifshitz, Mechanics, section 33: the axis goes evenly about the odd one, by the cosine
    times the difference of the moments over the two like ones."""
    low, high, radius, a = 2.48**2, 2.53**2, 4.25, math.radians(theta)
    turn = 2.0 * math.pi * math.cos(a) * (high - low) / high
    wanted = 2.0 * radius * math.asin(math.sin(a) * math.sin(0.5 * turn))
    pap = np.array([[math.cos(a), math.sin(a), 0.0]])
    tensor = np.array([[low, high, high, 0.0, 0.0, 0.0]])
    found = variants.flare_potential(tensor, pap, np.array([radius]))
    assert found[0] == pytest.approx(wanted, abs=1e-4)


@pytest.mark.parametrize("number", ["01", "10"])
def test_flare_goes_with_the_rings_on_the_lane(number: str) -> None:
    """Layouts of an asymmetric ball: the gap between the first two rings that `roll` computes."""
    job = load_job(next(p for p in SAMPLES if p.name.startswith(number)))
    rng = np.random.default_rng(3)
    d, v, p = rng.uniform(10, 170, 17), rng.uniform(10, 80, 17), rng.uniform(0.5, 6.0, 17)
    gaps = []
    for layout in zip(d.tolist(), p.tolist(), v.tolist(), strict=True):
        flare = roll(plan(with_layout(job, *layout))).flare
        assert flare is not None
        gaps.append(flare.spacing[0])
    found = variants.layouts(job, d, p, v).flare
    assert np.corrcoef(found, gaps)[0, 1] > 0.98
    assert found.max() > 2.0 * found.min()


def test_a_ball_turned_with_its_layout_only_turns() -> None:
    """A layout turned by whole circles is the same layout."""
    job = load_job(SAMPLES[0])
    one = variants.layouts(
        job, np.array([40.0, 400.0]), np.array([4.0, 4.0]), np.array([30.0, -330.0])
    )
    for values in one:
        assert values[0] == pytest.approx(values[1], abs=1e-9)


def test_uniform_ball_with_one_radial_hole() -> None:
    """Chord sums against the handbook solid: 1.0 x 2.75 in, ball radius 4.25 (facts: derived)."""
    cavity = chord_sums.Cavity(
        np.array([[0.0, 0.0, 4.25]]),
        np.array([[0.0, 0.0, -1.0]]),
        np.array([0.5]),
        np.array([2.75]),
        np.array([0.0]),
    )
    bore = grip.Bore((0.0, 0.0, 4.25), (0.0, 0.0, -1.0), 0.5, 2.75)
    solid = chord_sums.Solid((bore,))
    chords = chord_sums.laid(solid, {bore: cavity})
    ends = chord_sums.ends(chords, chord_sums.in_spheres(chords.frame, [np.array([4.25])])[0])
    sums = chord_sums.moments(chords, [(np.ones(1), *ends)])[0]
    assert sums[0] == pytest.approx(2.1482681935625, rel=1e-9)
    assert sums[3] / sums[0] == pytest.approx(2.867643277785, rel=1e-9)
    assert sums[4] + sums[5] == pytest.approx(0.26805059964759, rel=1e-9)
    assert sums[5] + sums[6] == pytest.approx(19.139506692831, rel=1e-9)


def test_eigenvalues_against_numpy() -> None:
    rng = np.random.default_rng(3)
    a = rng.normal(size=(200, 3, 3))
    a = a @ a.transpose(0, 2, 1)
    tensor = np.stack([a[:, i, j] for i, j in variants.SECOND], axis=-1)
    assert variants._principal(tensor) == pytest.approx(np.linalg.eigvalsh(a), abs=1e-6)


@pytest.mark.parametrize("path", SAMPLES[:5], ids=lambda p: p.stem)
def test_moved_holes_lie_where_the_grip_puts_them(path: Path) -> None:
    job = load_job(path)
    radius = job.ball.diameter / 2.0
    by = {
        "grip.middle.span": np.array([0.0, 0.05]),
        "grip.ring.span": np.array([0.0, -0.04]),
        "grip.bridge": np.array([0.0, 0.03]),
        "grip.middle.forward": np.array([0.0, 0.06]),
        "grip.ring.right": np.array([0.0, -0.07]),
    }
    g = job.bowler.grip

    def part(name: str, span: float, forward: float, right: float) -> object:
        old = getattr(g, name)
        pitch = old.pitch.model_copy(
            update={
                "forward": old.pitch.forward_net + forward,
                "reverse": None,
                # a shift is toward the positive side, a pitch right of the grip frame
                "right": old.pitch.right_net + (right if job.bowler.hand == "right" else -right),
                "left": None,
            }
        )
        return old.model_copy(update={"span": old.span + span, "pitch": pitch})

    changed = g.model_copy(
        update={
            "bridge": g.bridge + 0.03,
            "middle": part("middle", 0.05, 0.06, 0.0),
            "ring": part("ring", -0.04, 0.0, -0.07),
        }
    )
    for k, wanted in enumerate((g, changed)):
        for hole in grip.place_holes(wanted, radius, job.bowler.hand):
            entry, axis = variants._place(job, hole.name, by, radius)
            at = min(k, len(entry) - 1)
            assert entry[at] == pytest.approx(hole.finished.entry, abs=1e-12)
            assert axis[min(k, len(axis) - 1)] == pytest.approx(hole.finished.axis, abs=1e-12)


# --- certainty ------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_linear_against_monte_carlo(path: Path) -> None:
    """Both ways of carrying the tolerances through agree, the draws' own error left out of account."""
    job = load_job(path)
    # a calibrated scale: an arm from 3.0 in to the radius is no small deviation
    job = job.model_copy(update={"scale": (job.scale or c.Scale()).model_copy(update={"arm": 4.2})})
    spreads, drawn = c.linear(job), c.monte_carlo(job)
    for name in (*c.STATICS, "weight_lb", "pin_to_pap", "cg_to_pap", "rg_low", "rg_high"):
        assert drawn.deviation[name] == pytest.approx(spreads[name].deviation, rel=0.16), name


@pytest.mark.parametrize("number", ["01", "03", "11", "12", "13"])
def test_an_input_moved_among_others_takes_what_it_takes_alone(number: str) -> None:
    (path,) = (path for path in SAMPLES if path.name.startswith(number))
    job = load_job(path)
    steps = {i.name: i.tolerance for i in c.inputs(job)}
    count = len(steps) + 1  # the first row is not moved
    moved = {name: step * np.eye(count)[k] for k, (name, step) in enumerate(steps.items(), 1)}
    together = variants.changes(variants.model(job, moved))
    for name, row in zip(steps, together[1:], strict=True):
        # two rows, so that the holes are counted as holes that vary
        shift = {other: np.full(2, steps[other] * (other == name)) for other in steps}
        alone = variants.changes(variants.model(job, shift))
        assert row == pytest.approx(alone[0], rel=1e-9, abs=1e-9), name


def test_the_scale_alone_gives_what_a_rectangle_has() -> None:
    """With nothing else off, the deviation is a / sqrt 3 (JCGM 100:2008, 4.3.7)."""
    none = Tolerances(**dict.fromkeys(Tolerances.model_fields, 0.0))
    job = load_job(SAMPLES[0]).model_copy(
        update={"tolerances": none, "scale": c.Scale(arm=4.275, allowance=0.25)}
    )
    spread = c.linear(job)["side_oz"]
    assert spread.deviation == pytest.approx(0.25 / math.sqrt(3.0), rel=1e-12)
    assert spread.shares == (("scale reading", 1.0),)


def test_top_weight_alone_splits_by_the_cg_mark() -> None:
    """With no core to move, side weight follows the label's top weight by the CG's direction."""
    none = dict.fromkeys(Tolerances.model_fields, 0.0)
    job = load_job(SAMPLES[5])  # no RG data
    assert job.ball.rg_low is None
    job = job.model_copy(
        update={
            "tolerances": Tolerances(**{**none, "top_weight": 0.3}),
            "scale": c.Scale(arm=4.275, allowance=0.0),
        }
    )
    undrilled = plan(job).statics.undrilled
    wanted = abs(undrilled.side_oz) / job.ball.top_weight * 0.3 / math.sqrt(3.0)
    assert c.linear(job)["side_oz"].deviation == pytest.approx(wanted, rel=1e-9)


def test_the_same_seed_draws_the_same() -> None:
    job = load_job(SAMPLES[2])
    one, two = c.monte_carlo(job, 300), c.monte_carlo(job, 300)
    assert one.mean == two.mean
    assert c.monte_carlo(job, 300, seed=1).mean != one.mean


def test_chances_count_both_sides() -> None:
    values = np.array([-3.5, 3.2, 1.0, 0.0])
    drawn = c.Drawn({}, {}, {"side_oz": values, "weight_lb": 12.0 + values})
    side, gross = c.chances(drawn, {"side_oz": 3.0, "weight_lb": 15.0})
    assert (side.chance, gross.chance) == (0.5, 0.25)


def test_bands_are_two_deviations_where_the_record_has_tolerances() -> None:
    job = load_job(SAMPLES[0])
    with_them = job.model_copy(update={"tolerances": Tolerances()})
    spreads = c.linear(with_them)
    names = {"gross": "weight_lb", "top": "top_oz", "side": "side_oz", "finger": "finger_oz"}
    for check, before in zip(plan(with_them).checks, plan(job).checks, strict=True):
        assert check.value == before.value
        if check.name in names:
            reach = spreads[names[check.name]].uncertainty
            assert check.band == pytest.approx((check.value - reach, check.value + reach))
        else:
            assert check.band == before.band


OLD = {
    "name": "old",
    "from_pin": 3,
    "bearing": 120,
    "toward_pin": 0.1,
    "diameter": 1.125,
    "depth": 2.5,
}
ODD: dict[str, dict[str, Any]] = {
    "oval": {"thumb": {"diameter": 1, "depth": 3, "oval": {"length": 1.25, "direction": 10}}},
    "pointed oval": {
        "thumb": {"diameter": 1, "depth": 2.5, "tip_angle": 118, "oval": {"length": 1.375}}
    },
    "plugs": {
        "history": {
            "holes": [
                {**OLD, "plug": {"density": 1.2}},
                {**OLD, "name": "other", "bearing": 20, "plug": {"density": 0.9, "length": 1.5}},
                {**OLD, "name": "open", "from_pin": 5},
            ]
        }
    },
    "vents": {
        "extra_holes": {
            "vents": [{"hole": "thumb", "over": 1, "down": 3, "diameter": 0.25, "meets": 2}],
            "inspection": {"over": -2, "up": 1, "diameter": 0.625, "depth": 0.125},
        }
    },
}


@pytest.mark.parametrize("change", ODD.values(), ids=list(ODD))
@pytest.mark.parametrize("hand", ["right", "left"])
def test_odd_and_old_holes_under_many_layouts(
    record: dict[str, Any], change: dict[str, Any], hand: str
) -> None:
    record["bowler"]["hand"] = hand
    record["bowler"]["grip"] |= {k: v for k, v in change.items() if k == "thumb"}
    record |= {k: v for k, v in change.items() if k != "thumb"}
    job = parse_job(record)
    rng = np.random.default_rng(5)
    n = 30
    d, v = rng.uniform(-180.0, 180.0, (2, n))
    p = rng.uniform(0.3, 7.0, n)
    found = sweep.evaluate(job, sweep.Layouts(d, p, v))[0]
    for k in range(n):
        single = plan(with_layout(job, float(d[k]), float(p[k]), float(v[k])))
        for name in ("side_oz", "finger_oz", "top_oz"):
            alone = getattr(single.statics, name)
            assert getattr(found, name)[k] == pytest.approx(alone, abs=WITHIN_OZ)
        assert found.differential[k] == pytest.approx(single.inertia.differential, abs=5e-5)


@pytest.mark.parametrize("change", ODD.values(), ids=list(ODD))
def test_odd_and_old_holes_a_little_out_of_place(
    record: dict[str, Any], change: dict[str, Any]
) -> None:
    """What the plan changes by when a depth or the pin's place does, against plans made anew."""
    record["bowler"]["grip"] |= {k: v for k, v in change.items() if k == "thumb"}
    record |= {k: v for k, v in change.items() if k != "thumb"}
    record["layout"] = {"by": "placement", "pin": {"over": 2.5, "up": 2.0}, "bearing": 60}
    job = parse_job(record)
    step = 0.03125
    spreads = c.figures(job, {"grip.thumb.depth": np.array([0.0, step])})
    deeper = copy.deepcopy(record)
    deeper["bowler"]["grip"]["thumb"]["depth"] += step
    before, after = plan(job).statics, plan(parse_job(deeper)).statics
    for name in ("side_oz", "finger_oz", "top_oz"):
        change_of = getattr(after, name) - getattr(before, name)
        assert np.diff(spreads[name])[0] == pytest.approx(change_of, abs=5e-4)


# --- the scale's arm ------------------------------------------------------------------------------


def arm_alone(sd: float | None, tolerance: float = 0.0) -> Job:
    """A ball of uniform density with nothing but the arm uncertain."""
    none = dict.fromkeys(Tolerances.model_fields, 0.0)
    job = load_job(SAMPLES[5])
    assert job.ball.rg_low is None
    scale = c.Scale(arm=4.2, arm_sd=sd, allowance=0.0)
    return job.model_copy(
        update={"tolerances": Tolerances(**{**none, "arm": tolerance}), "scale": scale}
    )


@pytest.mark.parametrize("name", c.STATICS)
def test_an_arm_s_own_deviation_by_the_lever_rule(name: str) -> None:
    """reading = before - M / arm, so its deviation is |before - reading| sd / arm, to first order."""
    job = arm_alone(0.05)
    statics = plan(job).statics
    moved = abs(getattr(statics.undrilled, name) - getattr(statics, name))
    spread = c.linear(job)[name]
    assert spread.deviation == pytest.approx(moved * 0.05 / 4.2, rel=1e-3)
    assert spread.shares == (("scale's arm", 1.0),)
    drawn = c.monte_carlo(job, 20000)
    # the scatter of a deviation from 20000 draws is 0.5 %; three of that, and the clipped tails' 0.7 %
    assert drawn.deviation[name] == pytest.approx(spread.deviation, rel=0.022)


def test_an_arm_without_a_deviation_has_its_tolerance() -> None:
    by_tolerance = c.linear(arm_alone(None, 0.1))["top_oz"].deviation
    assert by_tolerance == pytest.approx(
        c.linear(arm_alone(0.1 / math.sqrt(3.0)))["top_oz"].deviation, rel=1e-9
    )
    assert c.linear(arm_alone(0.02, 0.1))["top_oz"].deviation < by_tolerance
    assert c.monte_carlo(arm_alone(None, 0.1), 20000).deviation["top_oz"] == pytest.approx(
        by_tolerance, rel=0.02
    )


def test_the_shop_s_arm_brings_its_deviation() -> None:
    job = load_job(SAMPLES[0])
    wider = job.model_copy(update={"scale": None, "tolerances": Tolerances()})
    tested = SurfaceTest(weight=2.0, growth=2.0, diameter=8.55)
    kept = Shop(scale=Calibration(arm=4.275, sd=0.2, date="2026-11-25", tests=(tested,)))
    with_it = with_arm(wider, kept, Path("shop.json"))
    assert with_it.scale is not None
    assert with_it.scale.arm_sd == 0.2
    top = plan(with_it).spreads
    assert top is not None
    sure = with_it.scale.model_copy(update={"arm_sd": 0.0})
    less = c.linear(with_it.model_copy(update={"scale": sure}))
    arm = dict(top["top_oz"].shares)["scale's arm"] * top["top_oz"].deviation ** 2
    assert less["top_oz"].deviation ** 2 + arm == pytest.approx(top["top_oz"].deviation ** 2)
    assert parse_job(dump_job(with_it)) == with_it


# --- chords ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("pointed", [False, True])
def test_chords_of_a_bore_count_its_volume_and_moments(pointed: bool) -> None:
    """A cylinder with its cone, wholly inside: handbook volume and second moments of both."""
    r, depth, tip = 0.5, 2.0, 0.3 if pointed else 0.0
    angle = 2.0 * math.degrees(math.atan2(r, tip)) if pointed else None
    bore = grip.Bore((0.0, 0.0, 0.0), (0.0, 0.0, -1.0), r, depth, angle)
    cavity = chord_sums.Cavity(
        np.array([bore.entry]), np.array([bore.axis]), *(np.array([v]) for v in (r, depth, tip))
    )
    chords = chord_sums.laid(chord_sums.Solid((bore,)), {bore: cavity}, chord_sums.LIGHT)
    sums = chord_sums.moments(chords, [(np.ones(1), chords.low + 1.0, chords.high)])[0]
    cylinder, cone = math.pi * r * r * depth, math.pi * r * r * tip / 3.0
    assert sums[0] == pytest.approx(cylinder + cone, rel=1e-12)
    assert sums[3] == pytest.approx(-cylinder * depth / 2.0 - cone * (depth + tip / 4.0), rel=1e-12)
    assert sums[4] == pytest.approx(cylinder * r * r / 4.0 + cone * 3.0 * r * r / 20.0, rel=1e-12)


def test_chords_of_an_oval_count_the_area_of_its_bores() -> None:
    """Three discs in a row: three areas less two lenses (circle-circle intersection)."""
    r, apart = 0.5, 0.3
    bores = tuple(grip.Bore((x, 0.0, 0.0), (0.0, 0.0, -1.0), r, 1.0) for x in (-apart, 0.0, apart))
    cavities = {
        b: chord_sums.Cavity(
            np.array([b.entry]), np.array([b.axis]), *(np.array([v]) for v in (r, 1.0, 0.0))
        )
        for b in bores
    }
    chords = chord_sums.laid(chord_sums.Solid(bores, together=True), cavities)
    sums = chord_sums.moments(chords, [(np.ones(1), chords.low + 1.0, chords.high)])[0]
    lens = 2.0 * r * r * math.acos(apart / (2.0 * r)) - 0.5 * apart * math.sqrt(
        4 * r * r - apart**2
    )
    assert sums[0] == pytest.approx(3.0 * math.pi * r * r - 2.0 * lens, rel=1e-9)
    # of a lens about its own middle, by a sum over fine strips
    y = (np.arange(200_000) + 0.5) / 200_000 * math.sqrt(r * r - apart * apart / 4.0)
    half = np.sqrt(r * r - y * y) - apart / 2.0
    wide = 4.0 * (y[1] - y[0]) * np.sum(half**3 / 3.0 + half * (apart / 2.0) ** 2)
    along = math.pi * r**2 * (3.0 * r**2 / 4.0 + 2.0 * apart**2) - 2.0 * wide
    # each corner between two bits is one chord, which has no width of its own
    assert sums[4] == pytest.approx(along, rel=1e-3)
