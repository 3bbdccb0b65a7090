"""The ball on the lane against closed forms, invariants, another derivation and another integrator."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import ellipk
from sympy.physics import mechanics

from layoutkit.geometry.vectors import Array
from layoutkit.lane import motion
from layoutkit.lane.motion import (
    DONE,
    GRAVITY,
    HALF_WIDTH,
    HOPS,
    LANE_LENGTH,
    ROLLING,
    SLIDING,
    RollingBall,
    State,
    Stretch,
    Trail,
    many,
    one,
    slip,
)

R = 4.25
HOUSE = (Stretch(0.0, 0.04, 0.0), Stretch(480.0, 0.20, 0.0))
MM = 25.4  # mm in an inch


def even(mu: float) -> tuple[Stretch, ...]:
    """A lane of one friction."""
    return (Stretch(0.0, mu, 0.0),)


def balanced(k: float) -> RollingBall:
    """A ball of one radius of gyration, its centre of gravity in its centre."""
    return RollingBall(R, k * k, k * k, k * k, 0.0, 0.0, 0.0)


def drilled(
    lean: float = 0.02, low: float = 2.48, mid: float = 2.52, high: float = 2.53, seed: int = 1
) -> RollingBall:
    """An invented ball, its centre of gravity ``lean`` inches off the centre."""
    d = np.random.default_rng(seed).normal(size=3)
    d *= lean / np.linalg.norm(d)
    return RollingBall(R, low**2, mid**2, high**2, *d.tolist())


def quaternion(seed: int) -> tuple[float, float, float, float]:
    q = np.random.default_rng(seed).normal(size=4)
    a, b, c, d = (q / np.linalg.norm(q)).tolist()
    return a, b, c, d


def released(
    speed: float = 300.0, spin: float = 32.0, rotation: float = 55.0, tilt: float = 15.0,
    direction: float = 1.0, y: float = -8.0, seed: int = 2,
) -> State:  # fmt: skip
    """A shot at the foul line: in/s, rad/s and degrees, the direction to the right."""
    out, turn, up = (math.radians(v) for v in (direction, rotation, tilt))
    way = turn - out
    axis = (-math.sin(way) * math.cos(up), math.cos(way) * math.cos(up), math.sin(up))
    return State(
        0.0, y, speed * math.cos(out), -speed * math.sin(out), *(spin * v for v in axis),
        *quaternion(seed),
    )  # fmt: skip


def matrix(q: Array) -> Array:
    """Rotation matrix (3, 3) of a quaternion: from the ball's axes into the lane's."""
    a, v = q[0], q[1:]
    skew = np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])
    return np.eye(3) + 2.0 * a * skew + 2.0 * skew @ skew


def center(s: Array, ball: RollingBall) -> tuple[Array, Array]:
    """d and the velocity of the centre of gravity in the lane's frame."""
    d = matrix(s[7:]) @ np.array(ball[4:])
    return d, np.array([s[2], s[3], 0.0]) + np.cross(s[4:7], d)


def energy(s: Array, ball: RollingBall) -> float:
    """Energy over mass, in2/s2."""
    d, v = center(s, ball)
    w = matrix(s[7:]).T @ s[4:7]
    return float(0.5 * v @ v + 0.5 * w @ (np.array(ball[1:4]) * w) + GRAVITY * d[2])


def momentum(s: Array, ball: RollingBall) -> Array:
    """Angular momentum over mass about the centre of gravity, in the lane's frame."""
    a = matrix(s[7:])
    return np.asarray(a @ (np.array(ball[1:4]) * (a.T @ s[4:7])))


def rates(s: Array, ball: RollingBall, mu: float, mode: int) -> Array:
    """What the engine says: angular acceleration and the acceleration of Q."""
    law = motion._slide if mode == SLIDING else motion._roll
    _, _, vx, vy, *rest = s.tolist()
    return np.array(law(*rest, vx, vy, mu, ball, math.sqrt))


def finely(turn: float, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the engine take steps of at most this many radians."""
    monkeypatch.setattr(motion, "LONGEST_TURN", turn)
    monkeypatch.setattr(motion, "COARSE_TURN", turn)
    monkeypatch.setattr(motion, "LONGEST_STEP", turn / 40.0)


# --- closed forms of a balanced ball --------------------------------------------------------------
#
# The slip of a balanced ball keeps its direction, shrinks by mu g (1 + R^2/k^2) and takes
# k^2/(k^2 + R^2) of itself from the velocity: a textbook matter; R. C. Hopkins and J. D. Patterson,
# "Bowling frames: Paths of a bowling ball", Am. J. Phys. 45 (1977) 263, treat this case.


@settings(max_examples=25, deadline=None)
@given(
    k=st.floats(2.43, 2.80), mu=st.floats(0.12, 1.0), spin=st.floats(-40.0, 45.0),
    rotation=st.floats(-20.0, 90.0), tilt=st.floats(-90.0, 90.0), speed=st.floats(200.0, 400.0),
)  # fmt: skip
def test_when_and_how_a_balanced_ball_rolls(
    k: float, mu: float, spin: float, rotation: float, tilt: float, speed: float
) -> None:
    ball = balanced(k)
    start = released(speed, spin, rotation, tilt, 0.0, 0.0)
    trail = one(ball, start, even(mu))
    if trail.states[-1, 0] < LANE_LENGTH and not (trail.modes == ROLLING).any():
        return  # a gutter before it rolls
    s0 = np.array(slip(start, ball))
    size = float(np.hypot(*s0))
    when = size / (mu * GRAVITY * (1.0 + R * R / k**2))
    v = np.array(start[2:4]) - s0 * k**2 / (k**2 + R * R)
    if not (trail.modes == ROLLING).any():
        assert trail.time[-1] <= when
        return
    first = int((trail.modes == ROLLING).argmax())
    # a slip below SETTLED counts as none
    assert trail.time[first] == pytest.approx(when, abs=2.0 * motion.SETTLED / (mu * GRAVITY))
    assert trail.states[first, 2:4] == pytest.approx(v, abs=motion.SETTLED)
    assert trail.states[-1, 2:4] == pytest.approx(v, abs=motion.SETTLED)


@pytest.mark.parametrize(
    "lane",
    [
        even(0.15),
        HOUSE,
        (Stretch(0.0, 0.3, -4e-4), Stretch(400.0, 0.14, 0.0), Stretch(500.0, 0.14, 5e-4)),
    ],
)
def test_a_balanced_ball_ends_alike_whatever_the_friction(lane: Sequence[Stretch]) -> None:
    ball, start = balanced(2.55), released(280.0, 25.0, 30.0, 10.0, 1.0)
    trail = one(ball, start, lane)
    assert (trail.modes == ROLLING).any()
    assert trail.states[-1, 0] == LANE_LENGTH
    s0 = np.array(slip(start, ball))
    k2 = 2.55**2
    v = np.array(start[2:4]) - s0 * k2 / (k2 + R * R)
    assert trail.states[-1, 2:4] == pytest.approx(v, abs=motion.SETTLED)


def test_a_balanced_ball_slides_along_a_parabola() -> None:
    # constant force: textbook
    mu, ball, start = 0.05, balanced(2.5), released()
    trail = one(ball, start, even(mu))
    s0 = np.array(slip(start, ball))
    pull = -mu * GRAVITY * s0 / np.hypot(*s0)
    sliding = trail.modes == SLIDING
    t = trail.time[sliding, None]
    assert len(t) > 20
    wanted = np.array(start[:2]) + t * np.array(start[2:4]) + 0.5 * t * t * pull
    assert np.abs(trail.states[sliding, :2] - wanted).max() < 1e-9


def test_a_solid_sphere_without_spin_keeps_five_sevenths() -> None:
    # textbook: (5 v0 + 2 R w0) / 7 of a solid sphere
    ball = balanced(R * math.sqrt(0.4))
    for spin in (0.0, 20.0, -15.0):
        trail = one(ball, released(250.0, spin, 0.0, 0.0, 0.0), even(0.2))
        assert trail.states[-1, 2] == pytest.approx(
            (5.0 * 250.0 + 2.0 * R * spin) / 7.0, abs=motion.SETTLED
        )


def test_a_balanced_ball_that_rolls_goes_straight_and_keeps_its_turning() -> None:
    trail = one(balanced(2.5), released(seed=5), HOUSE)
    rolled = trail.states[trail.modes == ROLLING]
    assert len(rolled) > 3
    assert np.ptp(rolled[:, 2:7], axis=0).max() < 1e-9


# --- invariants -----------------------------------------------------------------------------------


@pytest.mark.parametrize("lane", [even(0.12), HOUSE, (Stretch(0.0, 0.02, 3e-4),)])
def test_jelletts_invariant(lane: Sequence[Stretch], monkeypatch: pytest.MonkeyPatch) -> None:
    # J. H. Jellett, A Treatise on the Theory of Friction (1872): of a body of revolution whose centre of
    # gravity is on its axis, the angular momentum along the vector from the centre of gravity to the
    # contact is kept under any friction at the contact, sliding or rolling.
    finely(0.2, monkeypatch)
    ball = RollingBall(R, 2.46**2, 2.52**2, 2.52**2, 0.03, 0.0, 0.0)
    trail = one(ball, released(rotation=35.0, direction=2.0), lane)
    kept = []
    for s in trail.states:
        d, _ = center(s, ball)
        kept.append(float(momentum(s, ball) @ (d + np.array([0.0, 0.0, R]))))
    assert {SLIDING, ROLLING} <= set(trail.modes.tolist())
    print(np.ptp(kept) / abs(kept[0]))
    assert np.ptp(kept) < 2e-4 * abs(kept[0])


def test_chaplygins_ball(monkeypatch: pytest.MonkeyPatch) -> None:
    # S. A. Chaplygin, "On a ball's rolling on a horizontal plane" (1903; English in Regul. Chaotic
    # Dyn. 7, 2002, 131): a ball with unlike moments and its centre of gravity in its centre keeps,
    # rolling, its energy and all three parts of its angular momentum about the contact.
    finely(0.1, monkeypatch)
    ball = drilled(0.0, 2.40, 2.50, 2.62)
    w = np.array([-12.0, 50.0, 20.0])
    start = State(0.0, 0.0, R * w[1], -R * w[0], *w.tolist(), *quaternion(3))
    trail = one(ball, start, even(1.0))
    rolled = trail.states[:-1]
    assert (trail.modes[:-1] == ROLLING).all()
    assert len(rolled) > 100

    def about_contact(s: Array) -> Array:
        return momentum(s, ball) + np.cross([0.0, 0.0, R], [s[2], s[3], 0.0])

    first = about_contact(rolled[0])
    off = np.array([about_contact(s) - first for s in rolled])
    assert np.abs(off).max() < 1e-6 * np.linalg.norm(first)
    assert [energy(s, ball) for s in rolled] == pytest.approx(
        [energy(rolled[0], ball)] * len(rolled), rel=1e-7
    )
    assert np.ptp(rolled[:, 4:7], axis=0).max() > 0.1  # it does wobble


def test_energy_is_kept_while_a_drilled_ball_rolls(monkeypatch: pytest.MonkeyPatch) -> None:
    finely(0.1, monkeypatch)
    ball = drilled(0.04, 2.40, 2.50, 2.62)
    start = State(0.0, 0.0, R * 50.0, R * 12.0, -12.0, 50.0, 20.0, *quaternion(3))
    trail = one(ball, start, even(1.0))
    found = [energy(s, ball) for s in trail.states[:-1]]
    assert (trail.modes[:-1] == ROLLING).all()
    assert found == pytest.approx([found[0]] * len(found), rel=1e-7)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10**6), mu=st.floats(0.0, 1.0), lean=st.floats(0.0, 0.1))
def test_friction_takes_energy_by_slip_and_load(seed: int, mu: float, lean: float) -> None:
    # dE/dt = -mu N |slip|: the contact's force does work by its sliding alone (textbook)
    r = np.random.default_rng(seed)
    ball = drilled(lean, 2.46, 2.5, 2.56, seed)
    s = np.array(
        released(r.uniform(100, 400), r.uniform(-40, 45), r.uniform(-90, 90), 20.0, seed=seed)
    )
    found = rates(s, ball, mu, SLIDING)
    _, _, n = motion._force(s, tuple(found), ball)

    def moved(h: float) -> Array:
        """The state after a short while at these rates."""
        t = s.copy()
        t[2:4] += h * found[3:]
        t[4:7] += h * found[:3]
        turned = motion._turned(tuple(s[7:]), *(0.5 * h * s[4:7]), motion._ONE)
        t[7:] = turned
        return t

    h = 1e-6
    power = (energy(moved(h), ball) - energy(moved(-h), ball)) / (2.0 * h)
    size = float(np.hypot(*slip(s, ball)))
    assert power == pytest.approx(-mu * n * size, rel=1e-5, abs=0.05)


# --- free turning (no friction) -------------------------------------------------------------------


def free(ball: RollingBall, w: Array, q: Array, speed: float = 180.0) -> Trail:
    """A ball that slides without friction at an angular velocity given in its own axes."""
    in_lane = matrix(q) @ w
    start = State(0.0, 0.0, speed, 0.0, *in_lane.tolist(), *q.tolist())
    return one(ball, start, even(0.0))


@pytest.mark.parametrize("w", [(30.0, 4.0, 9.0), (10.0, 6.0, 40.0)])
def test_free_turning_of_unlike_moments(
    w: tuple[float, float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    # L. D. Landau and E. M. Lifshitz, Mechanics, section 37: the period of the angular velocity is
    # 4 K(k^2) sqrt(I1 I2 I3 / ((I3 - I2) (M^2 - 2 E I1))), with I1 < I2 < I3 and M^2 > 2 E I2, and
    # k^2 = (I2 - I1) (2 E I3 - M^2) / ((I3 - I2) (M^2 - 2 E I1)); else 1 and 3 change places.
    finely(0.1, monkeypatch)
    ball = RollingBall(R, 2.30**2, 2.50**2, 2.66**2, 0.0, 0.0, 0.0)
    i1, i2, i3 = ball[1:4]
    squares = np.array(w) ** 2
    twice, m2 = float(squares @ ball[1:4]), float(squares @ np.square(ball[1:4]))
    if m2 < twice * i2:
        i1, i3 = i3, i1
    big = (i3 - i2) * (m2 - twice * i1)
    period = (
        4.0 * float(ellipk((i2 - i1) * (twice * i3 - m2) / big)) * math.sqrt(i1 * i2 * i3 / big)
    )
    trail = free(ball, np.array(w), np.array(quaternion(4)))
    inside = np.array([matrix(s[7:]).T @ s[4:7] for s in trail.states])
    # the times at which w2 rises through nought
    w2, t = inside[:, 1], trail.time
    up = np.flatnonzero((w2[:-1] < 0.0) & (w2[1:] >= 0.0))
    slope = np.array([(ball.k3 - ball.k1) / ball.k2 * v[2] * v[0] for v in inside])
    at = np.array(
        [t[i] + motion._reaches(w2[i], slope[i], w2[i + 1], slope[i + 1], t[i + 1] - t[i], 0.0)
         for i in up]
    )  # fmt: skip
    assert len(at) > 2
    assert np.diff(at) == pytest.approx(period, rel=3e-5)
    m = np.array([momentum(s, ball) for s in trail.states])
    assert np.ptp(m, axis=0).max() < 1e-5 * np.linalg.norm(m[0])


@pytest.mark.parametrize("theta", [20.0, 45.0, 70.0])
def test_migration_of_a_symmetric_core(theta: float, monkeypatch: pytest.MonkeyPatch) -> None:
    # derived: with the axis theta from the axis of low RG, an Euler top's angular velocity goes about
    # it by w cos(theta) (k_high^2 - k_low^2) / k_high^2 a second, on a circle of radius R sin(theta), so
    # that a revolution moves it by pi R (1 - (k_low/k_high)^2) sin(2 theta).
    finely(0.3, monkeypatch)
    low, high = 2.48, 2.53
    ball = RollingBall(R, low**2, high**2, high**2, 0.0, 0.0, 0.0)
    spin, a = 30.0, math.radians(theta)
    w = spin * np.array([math.cos(a), math.sin(a), 0.0])
    trail = free(ball, w, np.array(quaternion(6)))
    inside = np.array([matrix(s[7:]).T @ s[4:7] for s in trail.states]) / spin
    steps = np.linalg.norm(np.diff(inside, axis=0), axis=1)
    turns = spin * trail.time[-1] / (2.0 * math.pi)
    wanted = math.pi * R * (1.0 - (low / high) ** 2) * math.sin(2.0 * a)
    assert R * steps.sum() / turns == pytest.approx(wanted, rel=1e-4)


# --- another derivation ---------------------------------------------------------------------------


@cache
def kane(mode: int) -> Callable[..., list[float]]:
    """What is left of Kane's equations (T. R. Kane and D. A. Levinson, Dynamics, 1985), for the ball's
    accelerations, its load, and a state: all noughts where they hold.

    Built by sympy's mechanics module from a body's velocity, inertia and loads alone. The load is
    brought in by an auxiliary speed, upward; rolling needs none.
    """
    angles, places = mechanics.dynamicsymbols("a b c"), mechanics.dynamicsymbols("x y")
    spins, runs = mechanics.dynamicsymbols("w1:4"), mechanics.dynamicsymbols("vx vy")
    rise, t = mechanics.dynamicsymbols("vz"), mechanics.dynamicsymbols._t
    numbers = sympy.symbols("r k1 k2 k3 d1 d2 d3 g mu load")
    r, k1, k2, k3, d1, d2, d3, g, mu, load = numbers
    lane = mechanics.ReferenceFrame("lane")
    body = lane.orientnew("body", "Body", angles, "ZXZ")
    w = spins[0] * body.x + spins[1] * body.y + spins[2] * body.z
    kinematics = [body.ang_vel_in(lane).dot(e) - u for u, e in zip(spins, body, strict=True)]
    body.set_ang_vel(lane, w)
    q, contact = mechanics.Point("q"), mechanics.Point("contact")
    if mode == ROLLING:
        velocity = w.cross(r * lane.z)
    else:
        velocity = runs[0] * lane.x + runs[1] * lane.y + rise * lane.z
    q.set_vel(lane, velocity)
    kinematics += [
        p.diff(t) - velocity.dot(e) for p, e in zip(places, (lane.x, lane.y), strict=True)
    ]
    middle = q.locatenew("middle", d1 * body.x + d2 * body.y + d3 * body.z)
    middle.v2pt_theory(q, lane, body)
    solid = mechanics.RigidBody(
        "ball", middle, body, sympy.Integer(1), (mechanics.inertia(body, k1, k2, k3), middle)
    )
    loads = [(middle, -g * lane.z)]
    if mode == ROLLING:
        method = mechanics.KanesMethod(lane, [*angles, *places], spins, kd_eqs=kinematics)
        speeds, unknown = list(spins), []
    else:
        contact.set_vel(lane, velocity + w.cross(-r * lane.z))
        sx, sy = contact.vel(lane).dot(lane.x), contact.vel(lane).dot(lane.y)
        drag = -mu * load / sympy.sqrt(sx**2 + sy**2)
        loads.append((contact, drag * (sx * lane.x + sy * lane.y) + load * lane.z))
        method = mechanics.KanesMethod(
            lane, [*angles, *places], [*spins, *runs], kd_eqs=kinematics, u_auxiliary=[rise]
        )
        speeds, unknown = [*spins, *runs], [load]
    given, inert = method.kanes_equations([solid], loads)
    left = list(given + inert)
    gains = sympy.symbols(f"n:{len(speeds)}")
    swap = {u.diff(t): n for u, n in zip(speeds, gains, strict=True)}
    left = [e.subs(swap).subs(rise.diff(t), 0).subs(rise, 0) for e in left]
    return sympy.lambdify(  # type: ignore[no-any-return]
        [[*gains, *unknown], angles, spins, runs, numbers[:-1]], left, cse=True
    )


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6), mu=st.floats(0.0, 1.0), mode=st.sampled_from([SLIDING, ROLLING]))
def test_kanes_equations_give_the_same_accelerations(seed: int, mu: float, mode: int) -> None:
    r = np.random.default_rng(seed)
    ball = drilled(float(r.uniform(0.0, 0.2)), *np.sort(r.uniform(2.4, 2.8, 3)).tolist(), seed=seed)
    angles = (r.uniform(-3.0, 3.0), r.uniform(0.2, 2.9), r.uniform(-3.0, 3.0))
    a, b, c = (0.5 * v for v in angles)
    # turned about z, then the new x, then the new z
    q = (
        math.cos(b) * math.cos(a + c), math.sin(b) * math.cos(a - c),
        math.sin(b) * math.sin(a - c), math.cos(b) * math.sin(a + c),
    )  # fmt: skip
    w = r.uniform(-40.0, 40.0, 3)
    turn = matrix(np.array(q))
    v = r.uniform(-300.0, 300.0, 2)
    if mode == ROLLING:
        in_lane = turn @ w
        v = R * np.array([in_lane[1], -in_lane[0]])
    left = kane(mode)
    size = 3 if mode == ROLLING else 6
    numbers = (*ball, GRAVITY, mu)
    none = np.array(left(np.zeros(size), angles, w, v, numbers))
    # they are linear in what is sought
    columns = [np.array(left(e, angles, w, v, numbers)) - none for e in np.eye(size)]
    sought = np.linalg.solve(np.array(columns).T, -none)
    state = np.array([0.0, 0.0, *v, *(turn @ w), *q])
    found = rates(state, ball, mu, mode)
    # the derivative of w is the same in either frame
    scale = np.abs(sought).max()
    assert turn.T @ found[:3] == pytest.approx(sought[:3], abs=1e-9 * scale)
    if mode == SLIDING:
        assert found[3:] == pytest.approx(sought[3:5], abs=1e-9 * scale)
        assert motion._force(state, tuple(found), ball)[2] == pytest.approx(sought[5], rel=1e-9)


# --- another integrator ---------------------------------------------------------------------------


def vectors(s: Array, ball: RollingBall, mu: float, mode: int) -> tuple[Array, Array]:
    """Rates of a state, and the lane's force over mass, by the vector equations themselves.

    The laws of Newton and Euler as one set of linear equations: J alpha + w x (J w) = -rho x F and
    F = a + alpha x d + w x (w x d) + g z, with what the contact tells of F or of a.
    """
    d, _ = center(s, ball)
    w, z, eye = s[4:7], np.array([0.0, 0.0, 1.0]), np.eye(3)
    turn = matrix(s[7:] / np.linalg.norm(s[7:]))
    j = turn @ np.diag(ball[1:4]) @ turn.T
    d = turn @ np.array(ball[4:])

    def by(v: Array) -> Array:
        return np.array([[0.0, -v[2], v[1]], [v[2], 0.0, -v[0]], [-v[1], v[0], 0.0]])

    # unknown: alpha, F, a
    left, right = np.zeros((9, 9)), np.zeros(9)
    left[:3, :3], left[:3, 3:6], right[:3] = j, by(d + R * z), -by(w) @ j @ w
    left[3:6, :3], left[3:6, 3:6], left[3:6, 6:] = by(d), eye, -eye
    right[3:6] = by(w) @ by(w) @ d + GRAVITY * z
    left[8, 8] = 1.0
    if mode == ROLLING:
        left[6:8, :3], left[6:8, 6:8] = (R * by(z))[:2], eye[:2, :2]
    else:
        sx, sy = slip(s, ball)
        size = math.hypot(sx, sy)
        left[6:8, 3:5] = eye[:2, :2]
        left[6, 5], left[7, 5] = mu * sx / size, mu * sy / size
    found = np.linalg.solve(left, right)
    q0, q = s[7], s[8:]
    turned = 0.5 * np.array([-w @ q, *(q0 * w + by(w) @ q)])
    return np.concatenate([s[2:4], found[6:8], found[:3], turned]), found[3:6]


def reference(
    ball: RollingBall, start: State, lane: Sequence[Stretch], rtol: float = 1e-11
) -> tuple[float, Array, list[int]]:
    """Time and state where a shot ends, by DOP853, and the modes that it went through.

    Its events: friction changes, the lane ends, a gutter, no slip left, rolling not held any more.
    """
    none = 1e-5  # in/s
    s, t, mode, piece = np.array(start, dtype=float), 0.0, SLIDING, 0
    ends, modes = [*(p.start for p in lane[1:]), LANE_LENGTH], [SLIDING]
    while len(modes) < 40:
        here = lane[piece]

        def mu_at(x: float, here: Stretch = here) -> float:
            return here.mu + here.slope * (x - here.start)

        def law(_: float, s: Array, mode: int = mode, mu_at: Any = mu_at) -> Array:
            if mode == ROLLING:
                s = s.copy()
                s[2:4] = R * s[5], -R * s[4]
            return vectors(s, ball, mu_at(s[0]), mode)[0]

        def ends_at(_: float, s: Array, end: float = ends[piece]) -> float:
            return float(s[0]) - end

        def leaves(_: float, s: Array) -> float:
            return abs(float(s[1])) - HALF_WIDTH

        def changes(_: float, s: Array, mode: int = mode, mu_at: Any = mu_at) -> float:
            if mode == SLIDING:
                return math.hypot(*slip(s, ball)) - none
            force = vectors(s, ball, 0.0, ROLLING)[1]
            return float(mu_at(s[0]) * force[2] - math.hypot(force[0], force[1]))

        events: list[Any] = [ends_at, leaves, changes]
        for event, way in zip(events, (1, 1, -1), strict=True):
            event.terminal, event.direction = True, way
        run = solve_ivp(law, (t, 30.0), s, "DOP853", rtol=rtol, atol=rtol, events=events)
        t, s = float(run.t[-1]), run.y[:, -1]
        ended, left, changed = (len(found) > 0 for found in run.t_events)
        if mode == ROLLING:
            s[2:4] = R * s[5], -R * s[4]
        if left or (ended and piece == len(ends) - 1):
            return t, s, modes
        assert ended or changed
        piece += ended
        if changed or mode == ROLLING:
            force = vectors(s, ball, 0.0, ROLLING)[1]
            pull = math.hypot(force[0], force[1])
            held = pull <= lane[piece].mu * force[2] and not (changed and mode == ROLLING)
            mode = ROLLING if held else SLIDING
            s[2:4] = R * s[5], -R * s[4]
            if not held:
                s[2:4] -= 10.0 * none * force[:2] / pull
            if mode != modes[-1]:
                modes.append(mode)
    raise AssertionError("it changes too often for a reference")


TABLE = (Stretch(0.0, 0.03, 2e-5), Stretch(360.0, 0.0372, 8e-4), Stretch(600.0, 0.2292, 0.0))
SHOTS: dict[str, tuple[RollingBall, State, Sequence[Stretch]]] = {
    "house": (drilled(), released(), HOUSE),
    "table": (drilled(0.01, seed=4), released(310.0, 36.0, 60.0, 12.0, 2.0, -2.0), TABLE),
    "few revs": (drilled(0.03, seed=5), released(260.0, 14.0, 20.0, 5.0, 0.5, 0.0), HOUSE),
    "never rolls": (drilled(0.02, seed=6), released(), even(0.04)),
    "strong core": (drilled(0.015, 2.46, 2.50, 2.52, 7), released(290.0, 40.0, 45.0), HOUSE),
    "gutter": (drilled(), released(direction=4.0), HOUSE),
    "slides again": (drilled(0.02, seed=4), released(280.0, 34.0, 5.0, 8.0, 0.5, 0.0), even(0.12)),
}


@pytest.mark.parametrize("name", SHOTS)
def test_shots_as_by_scipys_integrator(name: str) -> None:
    # E. Hairer, S. P. Norsett and G. Wanner's DOP853, in scipy
    ball, start, lane = SHOTS[name]
    trail = one(ball, start, lane)
    t, s, modes = reference(ball, start, lane)
    end = trail.states[-1]
    changes = [SLIDING]
    for mode in trail.modes[:-1].tolist():
        if mode != changes[-1]:
            changes.append(mode)
    if name == "slides again":  # now and then for less than a step, which may be missed
        assert len(changes) > 3
        assert changes[:4] == modes[:4]
    else:
        assert changes == modes
    assert MM * np.hypot(*(end[:2] - s[:2])) < 1.0
    assert trail.time[-1] == pytest.approx(t, abs=1e-4)
    angle, wanted = (math.degrees(math.atan2(v[3], v[2])) for v in (end, s))
    assert angle == pytest.approx(wanted, abs=0.05)
    assert end[2:4] == pytest.approx(s[2:4], abs=0.2)


def test_the_step_is_of_fourth_order(monkeypatch: pytest.MonkeyPatch) -> None:
    # halving the step takes at least 2^3.5 of the error where nothing but steps makes it
    ball, start = drilled(), released()
    _, s, _ = reference(ball, start, even(0.04), 1e-12)
    errors = []
    for turn in (1.0, 0.5, 0.25):
        finely(turn, monkeypatch)
        errors.append(float(np.abs(one(ball, start, even(0.04)).states[-1, 4:7] - s[4:7]).max()))
    assert errors[0] > 2.0**3.5 * errors[1] > 2.0**7 * errors[2]


# --- likenesses -----------------------------------------------------------------------------------


def columns(values: Sequence[Any]) -> list[Array]:
    return [np.array(column, dtype=float) for column in zip(*values, strict=True)]


def test_many_shots_are_those_of_one() -> None:
    cases = [shot[:2] for shot in SHOTS.values()]
    for seed in range(60):
        r = np.random.default_rng(seed)
        start = released(
            r.uniform(200, 360), r.uniform(0, 50), r.uniform(0, 90), r.uniform(0, 60),
            r.uniform(-1, 4), r.uniform(-15, 15), seed,
        )  # fmt: skip
        cases.append((drilled(r.uniform(0, 0.4 if seed % 9 == 0 else 0.04), seed=seed), start))
    for lane in (HOUSE, TABLE, even(1.0)):
        found = many(
            RollingBall(*columns([b for b, _ in cases])),
            State(*columns([s for _, s in cases])),
            lane,
        )
        seen = set()
        for i, (ball, start) in enumerate(cases):
            alone = one(ball, start, lane)
            n = len(alone.time)
            assert (found.modes[:n, i] == alone.modes).all()
            # rounding grows where the slip is small: its direction is what divides by it
            assert np.abs(found.time[:n, i] - alone.time).max() < 1e-6
            assert np.abs(found.states[:n, i] - alone.states).max() < 1e-4
            assert (found.states[n - 1 :, i] == found.states[-1, i]).all()
            seen.add(int(alone.modes[-1]))
        assert DONE in seen


def mirrored(ball: RollingBall, start: State) -> tuple[RollingBall, State]:
    """The shot in the mirror that swaps left and right; the ball's second axis is turned about."""
    x, y, vx, vy, wx, wy, wz, q0, q1, q2, q3 = start
    return ball._replace(d2=-ball.d2), State(x, -y, vx, -vy, -wx, wy, -wz, q0, -q1, q2, -q3)


@pytest.mark.parametrize("name", SHOTS)
def test_a_shot_in_the_mirror(name: str) -> None:
    ball, start, lane = SHOTS[name]
    a, b = one(ball, start, lane), one(*mirrored(ball, start), lane)
    signs = np.array([1, -1, 1, -1, -1, 1, -1, 1, -1, 1, -1])
    assert a.time == pytest.approx(b.time, abs=1e-9)
    assert np.abs(a.states - signs * b.states).max() < 1e-7


def test_the_names_of_the_axes_do_not_matter() -> None:
    # 1, 2, 3 become 2, 3, 1: a third of a turn about (1, 1, 1)
    ball, start = drilled(), released()
    renamed = RollingBall(R, ball.k2, ball.k3, ball.k1, ball.d2, ball.d3, ball.d1)
    turn = matrix(np.array([0.5, 0.5, 0.5, 0.5]))  # new first axis onto the old second
    q0, q = start[7], np.array(start[8:])
    p0, p = 0.5, np.array([0.5, 0.5, 0.5])
    assert turn @ [1.0, 0.0, 0.0] == pytest.approx([0.0, 1.0, 0.0])
    both = State(*start[:7], q0 * p0 - q @ p, *(q0 * p + p0 * q + np.cross(q, p)).tolist())
    a, b = one(ball, start, HOUSE), one(renamed, both, HOUSE)
    assert np.abs(a.states[:, :7] - b.states[:, :7]).max() < 1e-7


# --- limits ---------------------------------------------------------------------------------------


def test_a_rolling_ball_slides_off_where_friction_does_not_hold_it() -> None:
    ball = drilled(0.04, seed=3)
    w = np.array([-3.0, 40.0, 5.0])
    start = State(0.0, 0.0, R * w[1], -R * w[0], *w.tolist(), *quaternion(1))
    assert slip(start, ball) == (0.0, 0.0)
    trail = one(ball, start, even(0.06))
    modes = trail.modes.tolist()
    after = [m for m, before in zip(modes[1:], modes[:-1], strict=True) if m != before]
    assert SLIDING in modes
    assert ROLLING in modes
    assert len(after) > 2
    # wherever it rolls, what it asks for is there
    for mode, s in zip(modes, trail.states, strict=True):
        if mode == ROLLING:
            fx, fy, n = motion._force(s, tuple(rates(s, ball, 0.0, ROLLING)), ball)
            assert math.hypot(fx, fy) <= 0.06 * n * (1.0 + 1e-9)


@pytest.mark.parametrize("shots", [1, 100])
def test_a_rolling_ball_slides_off_when_it_asks_for_more_than_friction_gives(shots: int) -> None:
    """Coulomb's law of friction; when that comes to be, by DOP853 on the vector equations (scipy).

    Friction falls along the lane, faster than what the turning ball asks for comes and goes. It then
    slips against the force that would have held it. Many shots at once do the same.
    """
    ball = drilled(0.004, seed=3)
    lane = (Stretch(0.0, 0.163, -0.004), Stretch(40.25, 0.002, 0.0))
    w = np.array([-3.0, 30.0, 5.0])
    start = State(0.0, 0.0, R * w[1], -R * w[0], *w.tolist(), *quaternion(1))

    def law(_: float, s: Array) -> Array:
        s = s.copy()
        s[2:4] = R * s[5], -R * s[4]
        return vectors(s, ball, 0.0, ROLLING)[0]

    def spare(_: float, s: Array) -> float:
        force = vectors(s, ball, 0.0, ROLLING)[1]
        return float((0.163 - 0.004 * s[0]) * force[2] - math.hypot(*force[:2]))

    event: Any = spare
    event.terminal = True
    run = solve_ivp(
        law, (0.0, 1.0), np.array(start), "DOP853", rtol=1e-10, atol=1e-10, events=event
    )
    wanted, force = float(run.t[-1]), vectors(run.y[:, -1], ball, 0.0, ROLLING)[1]
    assert 20.0 < run.y[0, -1] < 40.0
    if shots == 1:
        trail = one(ball, start, lane)
    else:
        both = (RollingBall(*columns([ball] * shots)), State(*columns([start] * shots)))
        found = many(*both, lane)
        trail = Trail(found.time[:, 0], found.states[:, 0], found.modes[:, 0])
    at = trail.modes.tolist().index(SLIDING)
    assert (trail.modes[:at] == ROLLING).all()
    # a straight line within one step of 0.04 s tells when; a force that comes and goes bends it
    assert trail.time[at] == pytest.approx(wanted, abs=3e-3)
    sx, sy = slip(trail.states[at + 1], ball)
    assert math.hypot(sx, sy) > motion.SETTLED
    assert sx * force[0] + sy * force[1] < 0.0


def test_without_spin_it_slides_and_then_rolls() -> None:
    trail = one(drilled(), released(spin=0.0, direction=0.0), HOUSE)
    assert trail.states[-1, 0] == LANE_LENGTH
    assert trail.modes[-2] == ROLLING


def test_reversed_spin_turns_it_to_the_right() -> None:
    trail = one(drilled(), released(spin=-32.0, y=8.0), HOUSE)
    assert trail.states[-1, 1] < 0.0 < trail.states[0, 1]


def test_without_friction_the_center_of_gravity_goes_straight() -> None:
    ball = drilled()
    trail = one(ball, released(), even(0.0))
    assert trail.states[-1, 0] == LANE_LENGTH
    assert not (trail.modes == ROLLING).any()
    places = np.array([s[:2] + center(s, ball)[0][:2] for s in trail.states])
    speeds = np.array([center(s, ball)[1][:2] for s in trail.states])
    assert np.ptp(speeds, axis=0).max() < 0.01
    assert np.abs(places - places[0] - trail.time[:, None] * speeds[0]).max() < 0.02


@pytest.mark.parametrize("mu", [1.0, 3.0])
def test_much_friction_lets_it_roll_almost_at_once(mu: float) -> None:
    ball, start = balanced(2.5), released(rotation=20.0, y=-15.0)
    trail = one(ball, start, even(mu))
    s0 = math.hypot(*slip(start, ball))
    first = int((trail.modes == ROLLING).argmax())
    assert trail.time[first] == pytest.approx(s0 / (mu * GRAVITY * (1.0 + R * R / 6.25)), abs=1e-5)


@pytest.mark.parametrize("tilt", [90.0, -90.0])
def test_a_top_that_spins_upright_is_no_trouble(tilt: float) -> None:
    trail = one(drilled(), released(tilt=tilt), HOUSE)
    assert np.isfinite(trail.states).all()
    assert trail.states[-1, 0] == LANE_LENGTH


def test_backspin_brings_it_back_and_that_is_the_end() -> None:
    ball, start = balanced(2.5), released(60.0, -100.0, 0.0, 0.0, 0.0, 0.0)
    trail = one(ball, start, even(0.2))
    v = 60.0 - (60.0 + R * 100.0) * 6.25 / (6.25 + R * R)
    assert v < 0.0
    assert trail.states[:, 0].max() > 5.0
    assert trail.states[-1, 0] < 0.0
    assert trail.states[-1, 0] > 1.01 * v * motion.LONGEST_STEP
    assert trail.modes[-1] == DONE


def test_backspin_that_stops_it_leaves_it_there() -> None:
    speed = 60.0  # 60 - (60 + R w) k^2 / (k^2 + R^2) = 0
    spin = speed * R / 6.25
    trail = one(balanced(2.5), released(speed, -spin, 0.0, 0.0, 0.0, 0.0), even(0.2))
    assert abs(trail.states[-1, 2]) < motion.SETTLED
    assert trail.states[-1, 0] == pytest.approx(
        0.5 * speed**2 / (0.2 * GRAVITY), abs=motion.LONGEST_TIME * motion.SETTLED
    )
    assert trail.time[-1] < motion.LONGEST_TIME + motion.LONGEST_STEP


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_gutter_on_either_side(side: float) -> None:
    trail = one(drilled(), released(direction=-8.0 * side), HOUSE)
    assert trail.modes[-1] == DONE
    assert trail.states[-1, 1] == side * HALF_WIDTH
    assert trail.states[-1, 0] < LANE_LENGTH


def test_a_ball_at_rest_ends_at_once() -> None:
    start = released(0.0, 0.0)
    assert one(balanced(2.5), start, HOUSE).time[-1] == 0.0
    assert many(balanced(2.5), State(*(np.full(50, v) for v in start)), HOUSE).time[-1].max() == 0.0


@settings(max_examples=30, deadline=None)
@given(
    lean=st.sampled_from([0.0, 0.02, 0.3, 1.0]), mu=st.sampled_from([0.0, 0.01, 0.2, 1.0]),
    speed=st.sampled_from([0.0, 3.0, 300.0, 3000.0]), spin=st.sampled_from([0.0, -30.0, 30.0, 300.0]),
    tilt=st.floats(-90.0, 90.0), seed=st.integers(0, 99),
)  # fmt: skip
def test_whatever_is_asked_it_ends_with_numbers(
    lean: float, mu: float, speed: float, spin: float, tilt: float, seed: int
) -> None:
    ball, start = drilled(lean, seed=seed), released(speed, spin, 40.0, tilt, 0.0, 0.0, seed)
    for found in (one(ball, start, even(mu)), many(ball, start, even(mu))):
        assert np.isfinite(found.states).all()
        assert len(found.time) <= motion.MOST_STEPS + 1
        assert found.time.max() <= motion.LONGEST_TIME + motion.LONGEST_STEP
        assert set(np.unique(found.modes[-1])) <= {DONE, HOPS}


def test_a_ball_that_would_hop_is_told() -> None:
    # N < 0 means that w^2 |d| is more than gravity can hold: 30 rad/s and half an inch
    ball, start = drilled(0.5), released(spin=32.0, tilt=0.0)
    trail = one(ball, start, HOUSE)
    assert trail.modes[-1] == HOPS
    _, _, n = motion._force(
        trail.states[-1], tuple(rates(trail.states[-1], ball, 0.04, SLIDING)), ball
    )
    assert n < 0.0
    for s, mode in zip(trail.states[:-1], trail.modes[:-1].tolist(), strict=True):
        assert motion._force(s, tuple(rates(s, ball, 0.04, mode)), ball)[2] >= 0.0
    together = many(ball, State(*(np.full(40, v) for v in start)), HOUSE)
    assert (together.modes[-1] == HOPS).all()
    assert together.states[-1] == pytest.approx(np.tile(trail.states[-1], (40, 1)), abs=1e-6)
