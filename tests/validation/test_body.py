"""The body that a label implies, and the drilled ball by a roll-up of its parts.

Formulas: a sphere has I = 2/5 m R^2, an ellipsoid m (b^2 + c^2) / 5 (Meriam & Kraige, Dynamics,
table of mass moments); parts are added by the parallel-axis roll-up of mass-properties engineering,
as written out by R. Zimmerman & J. Nakai, SAWE paper 3360 (2005). Units: inches and ounces.
"""

import math
import re
from typing import Any

import numpy as np
import pytest
import sympy
from numpy.typing import NDArray

from layoutkit.ball.layers import Label, Layers, build_body, fit_layers, working_fillers
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import hole_arc
from layoutkit.job.record import parse_job
from layoutkit.planning.plan import plan

Array = NDArray[np.float64]

OZ_PER_IN3 = 2.54**3 / 28.349523125  # of 1 g/cm3; inch and ounce by definition
BALL = 4.0 / 3.0 * math.pi

# weight lb, diameter, low RG, differential, intermediate differential, shell, filler density
STATED = [
    (15.12, 8.55, 2.52, 0.050, 0.015, (0.75, 1.20), 0.70),
    (15.00, 8.50, 2.50, 0.045, 0.000, (0.75, 1.20), 0.70),
    (14.00, 8.59, 2.55, 0.040, 0.012, (0.75, 1.20), 0.60),
    (15.50, 8.55, 2.48, 0.052, 0.018, (0.75, 1.20), 0.75),
]


def label(
    weight: float,
    diameter: float,
    low: float | None,
    differential: float,
    middle: float,
    shell: tuple[float, float] | None = None,
    filler: float | None = None,
) -> Label:
    return Label(diameter / 2.0, weight, low, differential, middle, shell, filler)


def weigh(radius: float, layers: Layers) -> tuple[float, Array]:
    """Weight, and principal moments about the centre along pin, reference mark and third axis.

    The core stands in the middle, which is how a label's RGs are read.
    """
    s, f, c = layers.shell_density, layers.filler_density, layers.core_density
    inner = radius - layers.shell_thickness
    core = BALL * math.prod(layers.semi_axes)
    parts = [
        (BALL * radius**3 * s, (radius, radius, radius)),
        (BALL * inner**3 * (f - s), (inner, inner, inner)),
        (core * (c - f), layers.semi_axes),
    ]
    weight, moments = 0.0, np.zeros(3)
    for m, (x, y, z) in parts:
        weight += m * OZ_PER_IN3
        moments += m * OZ_PER_IN3 / 5.0 * np.array([y * y + z * z, x * x + z * z, x * x + y * y])
    return weight, moments


@pytest.mark.parametrize(("weight", "diameter", "low", "diff", "mid", "shell", "filler"), STATED)
def test_the_layers_weigh_and_turn_as_the_label_says(
    weight: float,
    diameter: float,
    low: float,
    diff: float,
    mid: float,
    shell: tuple[float, float],
    filler: float,
) -> None:
    layers = fit_layers(label(weight, diameter, low, diff, mid, shell, filler), 10.0)
    assert layers is not None
    assert (layers.shell_thickness, layers.shell_density, layers.filler_density) == (*shell, filler)
    found, moments = weigh(diameter / 2.0, layers)
    assert found == pytest.approx(16.0 * weight, rel=1e-12)
    # low about the pin, high about the reference mark, the middle one about the third axis
    expected = [low, low + diff, low + diff - mid]
    assert np.sqrt(moments / found) == pytest.approx(expected, abs=1e-12)
    assert layers.semi_axes[0] == max(layers.semi_axes)
    assert layers.core_density <= 3.80


@pytest.mark.parametrize(("weight", "diameter", "low", "diff", "mid", "shell", "filler"), STATED)
def test_scipy_finds_the_same_core(
    weight: float,
    diameter: float,
    low: float,
    diff: float,
    mid: float,
    shell: tuple[float, float],
    filler: float,
) -> None:
    """Four unknowns, four equations, and a root finder that knows no closed form."""
    from scipy.optimize import root

    target = np.array([low, low + diff, low + diff - mid])

    def miss(x: Array) -> Array:
        layers = Layers(*shell, filler, x[3], (x[0], x[1], x[2]), 0.0)
        found, moments = weigh(diameter / 2.0, layers)
        return np.array([found / (16.0 * weight) - 1.0, *(moments / found / target**2 - 1.0)])

    solved = root(miss, [2.5, 2.3, 2.3, 2.0], tol=1e-13)
    layers = fit_layers(label(weight, diameter, low, diff, mid, shell, filler), 10.0)
    assert layers is not None
    assert layers.semi_axes == pytest.approx(solved.x[:3], abs=1e-8)
    assert layers.core_density == pytest.approx(solved.x[3], abs=1e-8)


def test_the_undrilled_body_holds_weight_moment_and_inertia() -> None:
    """The offset core carries the first moment; its inertia is the centred core's plus m d d."""
    given = label(*STATED[0])
    moment = np.array([3.0, -4.0, 9.0])
    layers = fit_layers(given, float(np.linalg.norm(moment)))
    assert layers is not None
    turn, _ = np.linalg.qr(np.array([[0.3, 0.8, -0.5], [0.9, -0.1, 0.4], [0.2, 0.6, 0.7]]))
    turn *= np.sign(np.linalg.det(turn))
    rows = tuple(tuple(row) for row in turn.tolist())
    model = build_body(given, layers, rows, tuple(moment.tolist()))  # type: ignore[arg-type]
    weight, moments = weigh(given.radius, layers)
    assert model.weight_oz == pytest.approx(weight, rel=1e-12)
    assert model.first == pytest.approx(moment, abs=1e-12)
    s, f, c = layers.shell_density, layers.filler_density, layers.core_density
    m = (c - f) * BALL * math.prod(layers.semi_axes) * OZ_PER_IN3
    assert s > f  # a label like this has a light filler
    offset = moment / m
    inertia = (turn.T * moments) @ turn + m * (
        offset @ offset * np.eye(3) - np.outer(offset, offset)
    )
    found = np.trace(model.second) * np.eye(3) - model.second
    assert found == pytest.approx(inertia, abs=1e-9)


# --- the choices that are made where data are missing ---------------------------------------------


def inside(radius: float, layers: Layers, moment: float) -> bool:
    m = (
        (layers.core_density - layers.filler_density)
        * BALL
        * math.prod(layers.semi_axes)
        * OZ_PER_IN3
    )
    return max(layers.semi_axes) + moment / m <= radius - layers.shell_thickness + 1e-12


@pytest.mark.parametrize(("weight", "diameter", "low", "diff", "mid", "_shell", "_filler"), STATED)
@pytest.mark.parametrize("moment", [0.0, 12.0])
def test_the_default_filler_makes_a_physical_core_come_nearest_to_2_75_times_its_density(
    weight: float,
    diameter: float,
    low: float,
    diff: float,
    mid: float,
    _shell: object,
    _filler: object,
    moment: float,
) -> None:
    """Documented: a block is 2.5 to 3 times as dense as its filler (common practice, no source).

    No physical core of these four labels comes down to 2.75, so the nearest is chosen: no other filler
    density comes nearer.
    """
    given = label(weight, diameter, low, diff, mid)
    layers = fit_layers(given, moment)
    assert layers is not None
    assert (layers.shell_thickness, layers.shell_density) == (0.75, 1.20)
    found, moments = weigh(given.radius, layers)
    assert found == pytest.approx(16.0 * weight, rel=1e-12)
    assert np.sqrt(moments / found) == pytest.approx([low, low + diff, low + diff - mid], abs=1e-12)
    assert inside(given.radius, layers, moment)
    chosen = abs(layers.core_density / layers.filler_density - 2.75)
    others = []
    for filler in np.arange(0.10, 2.001, 0.005):
        try:
            other = fit_layers(
                label(weight, diameter, low, diff, mid, (0.75, 1.20), float(filler)), moment
            )
        except InputError:
            continue
        assert other is not None
        others.append(abs(other.core_density / other.filler_density - 2.75))
    assert len(others) > 10
    assert chosen <= min(others) + 0.002


@pytest.mark.parametrize(
    ("weight", "low", "diff", "mid"),
    [(15.00, 2.56, 0.035, 0.010), (15.00, 2.60, 0.030, 0.0), (16.00, 2.60, 0.020, 0.0)],
)
def test_where_a_core_can_be_2_75_times_as_dense_as_the_default_filler_it_is(
    record: dict[str, Any], weight: float, low: float, diff: float, mid: float
) -> None:
    """The middle of 2.5 to 3 times (common practice, no source), and the least filler that has it."""
    ball = record["ball"]
    del ball["shell"], ball["filler_density"]
    ball |= {"weight": weight, "top_weight": 0.25, "rg_low": low, "differential": diff}
    ball["intermediate_differential"] = mid
    core = plan(parse_job(record)).core
    assert core is not None
    assert core.density / core.filler_density == pytest.approx(2.75, abs=1e-9)
    ball["shell"] = {"thickness": 0.75, "density": 1.20}
    for filler in np.linspace(0.1, core.filler_density - 0.005, 40):
        ball["filler_density"] = float(filler)
        try:
            other = plan(parse_job(record)).core
        except InputError:
            continue
        assert other is not None
        assert other.density / other.filler_density > 2.75


def test_no_core_is_denser_than_the_rules_allow(record: dict[str, Any]) -> None:
    """USBC: no component of a ball is denser than 3.80 g/mL.

    The density that a label implies comes from a root finder, which knows no limit.
    """
    from scipy.optimize import root

    record["ball"] |= {"rg_low": 2.48, "top_weight": 0.25}
    target = np.array([2.48, 2.53, 2.515])

    def implied(filler: float) -> float:
        def miss(x: Array) -> Array:
            layers = Layers(0.75, 1.20, filler, x[3], (x[0], x[1], x[2]), 0.0)
            found, moments = weigh(4.275, layers)
            return np.array([found / (16.0 * 15.12) - 1.0, *(moments / found / target**2 - 1.0)])

        return float(root(miss, [2.2, 2.0, 2.0, 3.5], tol=1e-13).x[3])

    for filler, allowed in ((0.694, True), (0.697, False)):
        record["ball"]["filler_density"] = filler
        density = implied(filler)
        assert 3.75 < density < 3.85
        assert (density <= 3.80) == allowed
        if allowed:
            core = plan(parse_job(record)).core
            assert core is not None
            assert core.density == pytest.approx(density, abs=1e-6)
        else:
            with pytest.raises(InputError, match=r"^ball\.filler_density: .*would work"):
                plan(parse_job(record))


def test_a_stated_filler_keeps_the_default_shell() -> None:
    layers = fit_layers(label(15.12, 8.55, 2.52, 0.05, 0.015, None, 0.70), 10.0)
    stated = fit_layers(label(15.12, 8.55, 2.52, 0.05, 0.015, (0.75, 1.20), 0.70), 10.0)
    assert layers == stated


def test_a_shell_that_fits_no_filler_is_followed_by_a_thinner_one() -> None:
    """A large differential: a core inside the thicker shell would be too long."""
    for low in np.arange(2.55, 2.80, 0.005):
        given = label(15.0, 8.55, float(low), 0.055, 0.0)
        layers = fit_layers(given, 10.0)
        if layers is not None and layers.shell_thickness == 0.50:
            assert working_fillers(given, 0.75, 1.20, 10.0) is None
            found, _ = weigh(given.radius, layers)
            assert found == pytest.approx(240.0, rel=1e-12)
            assert inside(given.radius, layers, 10.0)
            return
    pytest.fail("no label in this sweep needs the thinner shell")


@pytest.mark.parametrize(("thickness", "filler"), [(0.75, 0.95), (0.5, 1.1), (1.0, 0.70)])
def test_a_refusal_names_filler_densities_that_work(
    record: dict[str, Any], thickness: float, filler: float
) -> None:
    """Densities that a record can state, and both ends of the range do work."""
    record["ball"]["shell"]["thickness"] = thickness
    record["ball"]["filler_density"] = filler
    with pytest.raises(InputError, match=r"^ball\.filler_density: ") as refused:
        plan(parse_job(record))
    found = re.search(r"([0-9.]+) to ([0-9.]+) g/cm3 would work", str(refused.value))
    assert found, refused.value
    low, high = (float(v) for v in found.groups())
    assert low < high < filler
    for works in (high, (low + high) / 2.0, low):
        record["ball"]["filler_density"] = works
        p = plan(parse_job(record))
        assert p.core is not None
        assert p.core.filler_density == works
    record["ball"]["filler_density"] = high + 0.02
    with pytest.raises(InputError, match="filler_density"):
        plan(parse_job(record))


def test_a_shell_that_no_filler_fits_is_refused_too(record: dict[str, Any]) -> None:
    record["ball"] |= {"shell": {"thickness": 2.25, "density": 1.2}}
    with pytest.raises(InputError, match="no filler density would work"):
        plan(parse_job(record))


def test_where_no_default_works_the_ball_is_uniform_and_says_so(record: dict[str, Any]) -> None:
    """An RG of 2.95 in at 15 lb: all of the weight would have to lie near the surface."""
    ball = record["ball"]
    del ball["shell"], ball["filler_density"]
    ball |= {"rg_low": 2.95, "differential": 0.01, "intermediate_differential": 0.0}
    p = plan(parse_job(record))
    assert p.core is None
    assert any("uniform" in c and "do not follow the label" in c for c in p.cautions)
    same = dict(ball)
    del same["rg_low"], same["differential"], same["intermediate_differential"]
    record["ball"] = same
    q = plan(parse_job(record))
    assert q.core is None
    assert any("No RG data" in c for c in q.cautions)
    assert p.inertia == q.inertia
    assert p.statics == q.statics
    # a uniform ball has k^2 = 2/5 R^2 about its centre
    k = math.sqrt(0.4) * p.radius
    before = p.inertia.undrilled
    assert before.rg_high == pytest.approx(k, abs=0.001)


# --- the roll-up ----------------------------------------------------------------------------------


def radial_hole() -> Any:
    """Mass per density, centroid and inertias of a radial flat hole by sympy, in closed form.

    Cylinder of radius a about +z from z0 up to the sphere of radius R. Returns volume, first moment
    along z, I about z, and the integral of z^2.
    """
    a, z0, radius, r = sympy.symbols("a z0 R r", positive=True)
    top = sympy.sqrt(radius**2 - r**2)
    shells = [
        2 * sympy.pi * r * (top - z0),
        sympy.pi * r * (top**2 - z0**2),
        2 * sympy.pi * r**3 * (top - z0),
        2 * sympy.pi * r * (top**3 - z0**3) / 3,
    ]
    # with s = top, r dr = -s ds: every integrand is a polynomial in s
    s = sympy.symbols("s", positive=True)
    found = []
    for f in shells:
        g = sympy.expand(sympy.simplify((f / r).subs(r, sympy.sqrt(radius**2 - s**2))) * s)
        found.append(sympy.integrate(g, (s, sympy.sqrt(radius**2 - a**2), radius)))
    return sympy.lambdify((a, z0, radius), found, "math")


def roll_up(parts: list[tuple[float, Array, Array]]) -> tuple[float, Array, Array]:
    """SAWE 3360: W = sum w, first moment = sum w x, and about the new CG
    I = sum (I_own + w (r.r 1 - r r)) - W (R.R 1 - R R); parts are (w, centroid, own inertia)."""
    weight = sum(w for w, _, _ in parts)
    center = sum((w * x for w, x, _ in parts), np.zeros(3)) / weight
    inertia = np.zeros((3, 3))
    for w, x, own in parts:
        inertia = inertia + own + w * (x @ x * np.eye(3) - np.outer(x, x))
    return (
        weight,
        center,
        inertia - weight * (center @ center * np.eye(3) - np.outer(center, center)),
    )


def hole_part(closed: Any, density: float, a: float, z0: float, radius: float, n: Array) -> Any:
    """A radial hole along n as a part: weight, centroid, inertia about its centroid."""
    v, first, own, tall = closed(a, z0, radius)
    z = first / v
    across = own / 2.0 + tall - v * z * z
    inertia = across * (np.eye(3) - np.outer(n, n)) + own * np.outer(n, n)
    return density * v, z * n, density * inertia


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("arm", [4.275, 3.4])
def test_the_drilled_ball_is_the_roll_up_of_its_parts(
    record: dict[str, Any], hand: str, arm: float
) -> None:
    """Radial holes through the shell into the filler: every part has a closed form.

    The sum of shell, filler, core and minus three holes gives weight, CG, RGs and axes.
    """
    record["bowler"]["hand"] = hand
    record["scale"]["arm"] = arm
    grip = record["bowler"]["grip"]
    grip["bridge"] = 0.75  # wide enough that radial holes stay apart
    # the core's long axis well off the holes
    record["layout"] = {"by": "placement", "pin": {"over": 6.5, "up": 0.25}, "bearing": 40}
    for name, depth in (("middle", 1.0), ("ring", 1.25), ("thumb", 1.5)):
        grip[name] |= {"depth": depth, "pitch": {}}
    p = plan(parse_job(record))
    assert not any(w.meets for w in p.walls)
    assert p.core is not None

    shell = record["ball"]["shell"]
    s, f, c = (OZ_PER_IN3 * d for d in (shell["density"], p.core.filler_density, p.core.density))
    inner = p.radius - shell["thickness"]
    semi = np.array(p.core.semi_axes)
    m = (c - f) * BALL * float(np.prod(semi))
    cg, low = np.array(p.marks.cg.xyz) / p.radius, np.array(p.marks.pin.xyz) / p.radius
    assert p.marks.psa is not None
    toward = np.array(p.marks.psa.xyz)
    high = toward - (toward @ low) * low
    high /= np.linalg.norm(high)
    rows = np.stack([low, high, np.cross(low, high)])
    squares = semi**2
    own = (rows.T * (m / 5.0 * (squares.sum() - squares))) @ rows
    zero = np.zeros(3)

    def round_part(density: float, radius: float) -> tuple[float, Array, Array]:
        w = density * BALL * radius**3
        return w, zero, 0.4 * w * radius**2 * np.eye(3)

    parts = [round_part(s, p.radius), round_part(f - s, inner)]
    parts.append((m, p.job.ball.top_weight * arm * cg / m, own))
    closed = radial_hole()
    for h in p.holes:
        n = np.array(h.entry) / p.radius
        assert np.array(h.axis) == pytest.approx(-n, abs=1e-12)
        a, z0 = h.diameter / 2.0, p.radius - h.depth
        turn = np.linspace(0.0, 2.0 * math.pi, 60)
        u = np.cross(n, [1.0, 0.0, 0.0]) / np.linalg.norm(np.cross(n, [1.0, 0.0, 0.0]))
        ring = np.cos(turn)[:, None] * u + np.sin(turn)[:, None] * np.cross(n, u)
        bottom = (
            z0 * n + a * np.linspace(0.0, 1.0, 9)[:, None, None] * ring - parts[2][1]
        ) @ rows.T
        assert (np.square(bottom / semi).sum(axis=-1) > 1.05).all()  # clear of the core
        lost = [
            hole_part(closed, -s, a, z0, p.radius, n),
            hole_part(closed, s - f, a, z0, inner, n),
        ]
        assert h.removed_oz == pytest.approx(-sum(w for w, _, _ in lost), rel=1e-6)
        parts += lost

    weight, center, inertia = roll_up(parts)
    assert 16.0 * p.statics.weight_lb == pytest.approx(weight, abs=1e-6 * p.statics.removed_oz)
    side = 1.0 if hand == "right" else -1.0
    readings = weight * center / arm * np.array([side, 1.0, 1.0])
    found = [p.statics.side_oz, p.statics.finger_oz, p.statics.top_oz]
    assert found == pytest.approx(readings, abs=1e-5)  # oz; scales read to 1/4 oz

    values, axes = np.linalg.eigh(inertia)
    rgs = [p.inertia.rg_low, p.inertia.rg_mid, p.inertia.rg_high]
    assert rgs == pytest.approx(np.sqrt(values / weight), abs=1e-8)
    for axis, column in ((p.inertia.low_axis, 0), (p.inertia.high_axis, 2)):
        assert abs(float(np.array(axis.xyz) @ axes[:, column])) == pytest.approx(p.radius, rel=1e-9)
    low_end, high_end = np.array(p.inertia.low_axis.xyz), np.array(p.inertia.high_axis.xyz)
    assert low_end @ low > 0.0  # the end nearer the pin
    assert high_end @ high > 0.0  # the end nearer the PSA mark

    # the undrilled model: about its own CG, not as the label reads
    weight, _, inertia = roll_up(parts[:3])
    before = np.sqrt(np.linalg.eigvalsh(inertia) / weight)
    u = p.inertia.undrilled
    assert [u.rg_low, u.rg_mid, u.rg_high] == pytest.approx(before, abs=1e-10)
    label_rgs = [record["ball"]["rg_low"], 2.555, 2.570]
    assert before == pytest.approx(label_rgs, abs=0.0015)  # the label reads about the centre
    assert np.abs(before - label_rgs).max() > 1e-6


def test_holes_lie_where_the_spans_say(record: dict[str, Any]) -> None:
    """The roll-up's hole directions by a second route: edges measured along the arc."""
    p = plan(parse_job(record))
    n = {h.name: np.array(h.entry) / p.radius for h in p.holes}
    grip = record["bowler"]["grip"]

    def rho(name: str) -> float:
        return float(hole_arc(grip[name]["diameter"], p.radius))

    for name in ("middle", "ring"):
        apart = p.radius * math.acos(float(n[name] @ n["thumb"]))
        assert apart - rho(name) - rho("thumb") == pytest.approx(grip[name]["span"], abs=1e-9)
        off = p.radius * math.asin(abs(float(n[name][0])))
        assert off - rho(name) == pytest.approx(grip["bridge"] / 2.0, abs=1e-9)
    mean = (grip["middle"]["span"] + grip["ring"]["span"]) / 2.0
    assert p.holes[2].up == pytest.approx(-mean / 2.0 - rho("thumb"), abs=1e-9)
    assert n["middle"][0] < 0.0 < n["ring"][0]  # a right hand's middle finger is left of the line


@pytest.mark.parametrize("arm", [1.0, 2.3, 4.274, 4.276, 5.0, 6.0])
def test_the_arm_does_not_change_what_a_silent_ball_is_made_of(
    record: dict[str, Any], arm: float
) -> None:
    for name in ("shell", "filler_density"):
        del record["ball"][name]
    record["ball"]["top_weight"] = 4.5  # far enough off centre that the core just fits
    usual = plan(parse_job({**record, "scale": {"arm": 4.275}})).core
    assert usual is not None
    assert plan(parse_job({**record, "scale": {"arm": arm}})).core == usual
