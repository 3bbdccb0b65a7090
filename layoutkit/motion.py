"""A ball on the lane: release, slide, roll, from Newton's and Euler's equations.

A rigid ball on a flat lane with Coulomb friction. Q is its geometric centre, G = Q + d its centre of
gravity, R its radius, m its mass, J its inertia about G; w is its angular velocity, z points up,
rho = R z + d leads from the contact to G and c = w x (w x d). It touches the lane at Q - R z, where its
slip is s = v + w x (-R z), v the velocity of Q; u = s / |s| and e = z - mu u.

Sliding: the lane's force is N e, so that with N = m (g + c_z + (alpha x d)_z)

    [J + m (rho x e)(d x z)^T] alpha = -w x (J w) - m (g + c_z)(rho x e),

and rolling, when v = w x R z,

    [J + m (rho . rho 1 - rho rho^T)] alpha = -w x (J w) - m rho x (c + g z)

(derived for this program from Newton's and Euler's laws). Both matrices are a diagonal one and one
product of two vectors, so they are solved by Sherman and Morrison's formula. The mass cancels.

The lane's frame: x down the lane from the foul line, y to the left of a right-handed bowler, z up. For a
left hand everything is computed in the mirror, as in the bowler's frame of `layoutkit.sphere`. Inches,
seconds, radians; moments of inertia as squared radii of gyration, in the ball's principal axes.

What can be one shot or many is computed by components, each a float or an array (n,).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

GRAVITY = 9.80665 / 0.0254  # in/s2, standard gravity (ISO 80000-3)
LANE_LENGTH = 720.0  # inches from the foul line to the head pin
HALF_WIDTH = 41.5 / 2.0  # inches; 39 boards

LONGEST_STEP = 0.03  # s
LONGEST_TURN = 1.25  # radians in one step
SETTLED = 1e-4  # in/s; a slip below it is none
SEED = 2e-3  # in/s; the slip that a ball starts to slide with
NEARLY, CLOSE = 0.9, 0.99  # parts of the way to no slip that one step goes, first and near the end
MOST_STEPS = 6000
LONGEST_TIME = 60.0  # s; a ball that is not there by then stops short

SLIDING, ROLLING, DONE = 0, 1, 2

_ONE = SimpleNamespace(sqrt=math.sqrt, sin=math.sin, cos=math.cos)
_MANY = SimpleNamespace(sqrt=np.sqrt, sin=np.sin, cos=np.cos)


class Ball(NamedTuple):
    """A ball in its principal axes: squared radii of gyration, and the centre of gravity from Q."""

    radius: Any
    k1: Any
    k2: Any
    k3: Any
    d1: Any
    d2: Any
    d3: Any


class State(NamedTuple):
    """Place and velocity of Q and angular velocity, in the lane's frame; orientation: the quaternion
    that turns the ball's principal axes into the lane's."""

    x: Any
    y: Any
    vx: Any
    vy: Any
    wx: Any
    wy: Any
    wz: Any
    q0: Any
    q1: Any
    q2: Any
    q3: Any


class Stretch(NamedTuple):
    """From ``start`` inches on, friction is ``mu`` there and grows by ``slope`` an inch."""

    start: float
    mu: float
    slope: float


def _slide(
    wx: Any, wy: Any, wz: Any, q0: Any, q1: Any, q2: Any, q3: Any, vx: Any, vy: Any, mu: Any,
    ball: Any, sqrt: Any,
) -> tuple[Any, Any, Any, Any, Any]:  # fmt: skip
    """Angular acceleration and acceleration of Q, in the lane's frame, while the ball slides."""
    r, k1, k2, k3, d1, d2, d3 = ball
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    p12, p03, p13, p02, p23, p01 = q1 * q2, q0 * q3, q1 * q3, q0 * q2, q2 * q3, q0 * q1
    # the lane's axes in the ball's
    x1, x2, x3 = 1.0 - 2.0 * (b + c), 2.0 * (p12 - p03), 2.0 * (p13 + p02)
    y1, y2, y3 = 2.0 * (p12 + p03), 1.0 - 2.0 * (a + c), 2.0 * (p23 - p01)
    z1, z2, z3 = 2.0 * (p13 - p02), 2.0 * (p23 + p01), 1.0 - 2.0 * (a + b)
    w1, w2, w3 = (
        x1 * wx + y1 * wy + z1 * wz,
        x2 * wx + y2 * wy + z2 * wz,
        x3 * wx + y3 * wy + z3 * wz,
    )
    sx, sy = vx - r * wy, vy + r * wx
    f = mu / sqrt(sx * sx + sy * sy + 1e-30)
    fx, fy = f * sx, f * sy
    e1, e2, e3 = z1 - fx * x1 - fy * y1, z2 - fx * x2 - fy * y2, z3 - fx * x3 - fy * y3
    r1, r2, r3 = r * z1 + d1, r * z2 + d2, r * z3 + d3
    p1, p2, p3 = r2 * e3 - r3 * e2, r3 * e1 - r1 * e3, r1 * e2 - r2 * e1
    wd, ww = w1 * d1 + w2 * d2 + w3 * d3, w1 * w1 + w2 * w2 + w3 * w3
    c1, c2, c3 = w1 * wd - d1 * ww, w2 * wd - d2 * ww, w3 * wd - d3 * ww
    weight = GRAVITY + c1 * z1 + c2 * z2 + c3 * z3
    h1, h2, h3 = d2 * z3 - d3 * z2, d3 * z1 - d1 * z3, d1 * z2 - d2 * z1
    p1, p2, p3 = p1 / k1, p2 / k2, p3 / k3
    a1 = (k2 - k3) / k1 * w2 * w3 - weight * p1
    a2 = (k3 - k1) / k2 * w3 * w1 - weight * p2
    a3 = (k1 - k2) / k3 * w1 * w2 - weight * p3
    s = (h1 * a1 + h2 * a2 + h3 * a3) / (1.0 + h1 * p1 + h2 * p2 + h3 * p3)
    a1, a2, a3 = a1 - s * p1, a2 - s * p2, a3 - s * p3
    n = weight + h1 * a1 + h2 * a2 + h3 * a3
    c1, c2, c3 = c1 + a2 * d3 - a3 * d2, c2 + a3 * d1 - a1 * d3, c3 + a1 * d2 - a2 * d1
    ax = -n * fx - (c1 * x1 + c2 * x2 + c3 * x3)
    ay = -n * fy - (c1 * y1 + c2 * y2 + c3 * y3)
    return (
        x1 * a1 + x2 * a2 + x3 * a3, y1 * a1 + y2 * a2 + y3 * a3, z1 * a1 + z2 * a2 + z3 * a3, ax, ay,
    )  # fmt: skip


def _roll(
    wx: Any, wy: Any, wz: Any, q0: Any, q1: Any, q2: Any, q3: Any, vx: Any, vy: Any, mu: Any,
    ball: Any, sqrt: Any,
) -> tuple[Any, Any, Any, Any, Any]:  # fmt: skip
    """The same while it rolls; neither its velocity nor friction matters."""
    r, k1, k2, k3, d1, d2, d3 = ball
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    p12, p03, p13, p02, p23, p01 = q1 * q2, q0 * q3, q1 * q3, q0 * q2, q2 * q3, q0 * q1
    x1, x2, x3 = 1.0 - 2.0 * (b + c), 2.0 * (p12 - p03), 2.0 * (p13 + p02)
    y1, y2, y3 = 2.0 * (p12 + p03), 1.0 - 2.0 * (a + c), 2.0 * (p23 - p01)
    z1, z2, z3 = 2.0 * (p13 - p02), 2.0 * (p23 + p01), 1.0 - 2.0 * (a + b)
    w1, w2, w3 = (
        x1 * wx + y1 * wy + z1 * wz,
        x2 * wx + y2 * wy + z2 * wz,
        x3 * wx + y3 * wy + z3 * wz,
    )
    r1, r2, r3 = r * z1 + d1, r * z2 + d2, r * z3 + d3
    wd, ww = w1 * d1 + w2 * d2 + w3 * d3, w1 * w1 + w2 * w2 + w3 * w3
    c1, c2, c3 = w1 * wd - d1 * ww, w2 * wd - d2 * ww, w3 * wd - d3 * ww
    t1, t2, t3 = c1 + GRAVITY * z1, c2 + GRAVITY * z2, c3 + GRAVITY * z3
    rr = r1 * r1 + r2 * r2 + r3 * r3
    m1, m2, m3 = k1 + rr, k2 + rr, k3 + rr
    a1 = ((k2 - k3) * w2 * w3 - (r2 * t3 - r3 * t2)) / m1
    a2 = ((k3 - k1) * w3 * w1 - (r3 * t1 - r1 * t3)) / m2
    a3 = ((k1 - k2) * w1 * w2 - (r1 * t2 - r2 * t1)) / m3
    g1, g2, g3 = r1 / m1, r2 / m2, r3 / m3
    s = (r1 * a1 + r2 * a2 + r3 * a3) / (1.0 - (r1 * g1 + r2 * g2 + r3 * g3))
    a1, a2, a3 = a1 + s * g1, a2 + s * g2, a3 + s * g3
    bx, by = x1 * a1 + x2 * a2 + x3 * a3, y1 * a1 + y2 * a2 + y3 * a3
    return bx, by, z1 * a1 + z2 * a2 + z3 * a3, r * by, -r * bx


Rates = Callable[..., tuple[Any, Any, Any, Any, Any]]
Four = tuple[Any, Any, Any, Any]


def _turned(q: Four, o1: Any, o2: Any, o3: Any, f: Any) -> Four:
    """A quaternion turned in the lane's frame by twice the vector o."""
    q0, q1, q2, q3 = q
    n = f.sqrt(o1 * o1 + o2 * o2 + o3 * o3 + 1e-30)
    c, s = f.cos(n), f.sin(n) / n
    o1, o2, o3 = o1 * s, o2 * s, o3 * s
    return (
        q0 * c - q1 * o1 - q2 * o2 - q3 * o3,
        q0 * o1 + q1 * c - q2 * o3 + q3 * o2,
        q0 * o2 + q1 * o3 + q2 * c - q3 * o1,
        q0 * o3 - q1 * o2 + q2 * o1 + q3 * c,
    )


def _step(rates: Rates, s: Any, h: Any, mu: Any, slope: Any, ball: Any, f: Any) -> tuple[Any, ...]:
    """One step of length h: Runge and Kutta's fourth order, the orientation by finite turns.

    A turn is the angular velocity's mean over the step, by its values and slopes at both ends, and
    what turns about two axes in succession add (W. Magnus, Comm. Pure Appl. Math. 7, 1954, 649).
    """
    x, y, vx, vy, w1, w2, w3, *rest = s
    q: Any = tuple(rest)
    sqrt = f.sqrt
    hh, hq, h6 = 0.5 * h, 0.125 * h, h / 6.0
    g, k = h * hh / 12.0, hh * hh / 6.0
    a1, a2, a3, ax, ay = rates(w1, w2, w3, *q, vx, vy, mu, ball, sqrt)
    m = mu + slope * hh * vx
    u1, u2, u3 = w1 + hh * a1, w2 + hh * a2, w3 + hh * a3
    t = _turned(q, hq * (w1 + u1), hq * (w2 + u2), hq * (w3 + u3), f)
    b1, b2, b3, bx, by = rates(u1, u2, u3, *t, vx + hh * ax, vy + hh * ay, m, ball, sqrt)
    u1, u2, u3 = w1 + hh * b1, w2 + hh * b2, w3 + hh * b3
    t = _turned(q, hq * (w1 + u1), hq * (w2 + u2), hq * (w3 + u3), f)
    c1, c2, c3, cx, cy = rates(u1, u2, u3, *t, vx + hh * bx, vy + hh * by, m, ball, sqrt)
    u1, u2, u3 = w1 + h * c1, w2 + h * c2, w3 + h * c3
    t = _turned(
        q,
        0.5 * hh * (w1 + u1) + g * (a1 - c1) - k * (w2 * u3 - w3 * u2),
        0.5 * hh * (w2 + u2) + g * (a2 - c2) - k * (w3 * u1 - w1 * u3),
        0.5 * hh * (w3 + u3) + g * (a3 - c3) - k * (w1 * u2 - w2 * u1),
        f,
    )
    m = mu + slope * h * (vx + hh * bx)
    d1, d2, d3, dx, dy = rates(u1, u2, u3, *t, vx + h * cx, vy + h * cy, m, ball, sqrt)
    u1 = w1 + h6 * (a1 + 2.0 * (b1 + c1) + d1)
    u2 = w2 + h6 * (a2 + 2.0 * (b2 + c2) + d2)
    u3 = w3 + h6 * (a3 + 2.0 * (b3 + c3) + d3)
    t = _turned(
        q,
        0.5 * hh * (w1 + u1) + g * (a1 - d1) - k * (w2 * u3 - w3 * u2),
        0.5 * hh * (w2 + u2) + g * (a2 - d2) - k * (w3 * u1 - w1 * u3),
        0.5 * hh * (w3 + u3) + g * (a3 - d3) - k * (w1 * u2 - w2 * u1),
        f,
    )
    return (
        x + h * (vx + h6 * (ax + bx + cx)),
        y + h * (vy + h6 * (ay + by + cy)),
        vx + h6 * (ax + 2.0 * (bx + cx) + dx),
        vy + h6 * (ay + 2.0 * (by + cy) + dy),
        u1, u2, u3, *t,
    )  # fmt: skip


def slip(s: Any, ball: Any) -> tuple[Any, Any]:
    """The slip of a state in the lane's frame, in/s; ``s`` and ``ball`` in the order of their types."""
    return s[2] - ball[0] * s[5], s[3] + ball[0] * s[4]


def _hold(s: Any, ball: Any, f: Any) -> tuple[Any, Any, Any]:
    """The lane's force on a rolling ball over its mass: down the lane, to the left, up; in/s2."""
    _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s
    r, _, _, _, d1, d2, d3 = ball
    ax, ay, az, _, _ = _roll(wx, wy, wz, q0, q1, q2, q3, vx, vy, 0.0, ball, f.sqrt)
    x2, x3 = 2.0 * (q1 * q2 - q0 * q3), 2.0 * (q1 * q3 + q0 * q2)
    y1, y3 = 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q2 * q3 - q0 * q1)
    z1, z2 = 2.0 * (q1 * q3 - q0 * q2), 2.0 * (q2 * q3 + q0 * q1)
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    # d and rho in the lane's axes
    dx = (1.0 - 2.0 * (b + c)) * d1 + x2 * d2 + x3 * d3
    dy = y1 * d1 + (1.0 - 2.0 * (a + c)) * d2 + y3 * d3
    dz = z1 * d1 + z2 * d2 + (1.0 - 2.0 * (a + b)) * d3
    rz = r + dz
    wd, ww = wx * dx + wy * dy + wz * dz, wx * wx + wy * wy + wz * wz
    return (
        wx * wd - dx * ww + ay * rz - az * dy,
        wy * wd - dy * ww + az * dx - ax * rz,
        wz * wd - dz * ww + ax * dy - ay * dx + GRAVITY,
    )


def _soonest(ball: Any, mu: Any, w: Any, f: Any) -> Any:
    """How fast the slip can shrink at most, in/s2: a balanced ball's rate and what d may add."""
    r, k1, _, _, d1, d2, d3 = ball
    lean = f.sqrt(d1 * d1 + d2 * d2 + d3 * d3)
    return 1.1 * (mu * GRAVITY + lean * w * w) * (1.0 + r * r / k1)


def _reaches(a: Any, va: Any, b: Any, vb: Any, h: Any, at: Any) -> Any:
    """When, within a step, a cubic with these ends and slopes is at ``at``: Newton's method."""
    t = h * (at - a) / (b - a)
    for _ in range(4):
        u = t / h
        v = 1.0 - u
        p = a + (b - a) * u * u * (3.0 - 2.0 * u) + h * u * v * (va * v - vb * u)
        d = 6.0 * (b - a) / h * u * v + va * v * (1.0 - 3.0 * u) + vb * u * (3.0 * u - 2.0)
        t = t - (p - at) / d
    return t


class Trail(NamedTuple):
    """Where shots were at the end of every step: time (t,), states (t, 11) and modes (t,) of one
    shot; of many (t, n), (t, n, 11), (t, n). A shot that is over stays where it ended.

    ``mode`` is that of the step that follows: SLIDING, ROLLING or DONE.
    """

    time: Array
    states: Array
    modes: NDArray[np.int8]


# --- one shot -------------------------------------------------------------------------------------


def one(ball: Ball, start: State, lane: Sequence[Stretch]) -> Trail:
    """One shot, in plain floats; the lane's first stretch starts at the foul line.

    It ends at the head pin, in a gutter, behind the foul line, or after `LONGEST_TIME` or
    `MOST_STEPS`.
    """
    f = _ONE
    s: tuple[Any, ...] = tuple(start)
    time, mode, piece = 0.0, SLIDING, 0
    size = math.hypot(*slip(s, ball))
    rate: float | None = None  # by which the slip shrinks; not known after a change
    ends = [*(p.start for p in lane[1:]), LANE_LENGTH]
    rows: list[tuple[Any, ...]] = []
    while mode != DONE and len(rows) < MOST_STEPS and time < LONGEST_TIME:
        x, y, vx, vy, wx, wy, wz = s[:7]
        here = lane[piece]
        mu = here.mu + here.slope * (x - here.start)
        if mode == ROLLING or size < SETTLED:
            s, mode = _held(s, ball, mu)
            size, rate = (SEED, -1.0) if mode == SLIDING else (0.0, None)
            vx, vy = s[2:4]
        rows.append((time, mode, *s))
        w = math.sqrt(wx * wx + wy * wy + wz * wz)
        h = min(LONGEST_STEP, LONGEST_TURN / (w + 1e-9))
        if mode == SLIDING:
            falls = _soonest(ball, mu, w, f) if rate is None else rate
            if falls > 0.0 and size < 1.2 * falls * h:
                h = size / falls * (NEARLY if rate is None or size > 0.1 else CLOSE)
        rates = _slide if mode == SLIDING else _roll
        new = _step(rates, s, h, mu, here.slope, ball, f)
        passed, out = new[0] > ends[piece], abs(new[1]) > HALF_WIDTH
        if passed or out:
            edge = math.copysign(HALF_WIDTH, new[1])
            first = _reaches(x, vx, new[0], new[2], h, ends[piece]) if passed else math.inf
            last = _reaches(y, vy, new[1], new[3], h, edge) if out else math.inf
            h = min(first, last)
            new = _step(rates, s, h, mu, here.slope, ball, f)
            if last < first:
                new, mode = (new[0], edge, *new[2:]), DONE
            else:
                new = (ends[piece], *new[1:])
                piece += 1
                mode = DONE if piece == len(ends) else mode
        time += h
        if rates is _roll:
            new = (*new[:2], ball[0] * new[5], -ball[0] * new[4], *new[4:])
        else:
            before, size = size, math.hypot(*slip(new, ball))
            rate = None if passed else (before - size) / h
        s = new
        if s[0] < 0.0:
            mode = DONE
    rows.append((time, DONE, *s))
    table = np.array(rows)
    return Trail(table[:, 0], table[:, 2:], table[:, 1].astype(np.int8))


def _held(s: tuple[Any, ...], ball: Any, mu: float) -> tuple[tuple[Any, ...], int]:
    """A ball without slip: rolling if friction holds it, else sliding off where it is pulled to."""
    vx, vy = ball[0] * s[5], -ball[0] * s[4]
    fx, fy, n = _hold(s, ball, _ONE)
    size = math.hypot(fx, fy)
    if size <= mu * n:
        return (*s[:2], vx, vy, *s[4:]), ROLLING
    return (*s[:2], vx - SEED * fx / size, vy - SEED * fy / size, *s[4:]), SLIDING


# --- many shots -----------------------------------------------------------------------------------


def many(ball: Ball, start: State, lane: Sequence[Stretch]) -> Trail:
    """Many shots at once, each with its own steps; every field a number or (n,).

    The same as `one` of each, to rounding.
    """
    f = _MANY
    s = np.array(np.broadcast_arrays(*start), dtype=float)
    n = s.shape[1]
    balls = np.array([np.broadcast_to(np.asarray(v, dtype=float), n) for v in ball])
    starts, mus, slopes = (
        np.array([np.broadcast_to(np.asarray(v, dtype=float), n) for v in column])
        for column in zip(*lane, strict=True)
    )
    ends = np.concatenate([starts[1:], np.full((1, n), LANE_LENGTH)])
    time, mode, piece = np.zeros(n), np.full(n, SLIDING, dtype=np.int8), np.zeros(n, dtype=np.intp)
    size = np.hypot(*slip(s, balls))
    rate = np.full(n, np.nan)
    rows: list[tuple[Array, Array, NDArray[np.int8]]] = []
    with np.errstate(all="ignore"):
        while len(rows) < MOST_STEPS:
            mode[time >= LONGEST_TIME] = DONE
            at = np.flatnonzero(mode != DONE)
            if not len(at):
                break
            here = piece[at]
            mu = mus[here, at] + slopes[here, at] * (s[0, at] - starts[here, at])
            free = (mode[at] == ROLLING) | (size[at] < SETTLED)
            if free.any():
                _hold_many(s, balls, mu[free], at[free], mode, size, rate)
            rows.append((time.copy(), s.copy(), mode.copy()))
            for kind, rates in ((SLIDING, _slide), (ROLLING, _roll)):
                now = mode[at] == kind
                if now.any():
                    some = at[now]
                    _advance(
                        rates, some, s, balls, mu[now], slopes[here[now], some],
                        ends[here[now], some], time, mode, piece, size, rate, len(ends), f,
                    )  # fmt: skip
    mode[:] = DONE
    rows.append((time, s, mode))
    times, states, modes = zip(*rows, strict=True)
    return Trail(np.array(times), np.array(states).transpose(0, 2, 1), np.array(modes))


def _hold_many(
    s: Array, balls: Array, mu: Array, at: NDArray[np.intp],
    mode: NDArray[np.int8], size: Array, rate: Array,
) -> None:  # fmt: skip
    """`_held` for these of many shots, in place."""
    here, ball = s[:, at], balls[:, at]
    fx, fy, n = _hold(here, ball, _MANY)
    pull = np.hypot(fx, fy)
    held = pull <= mu * n
    seed = np.where(held, 0.0, SEED / np.where(pull > 0.0, pull, 1.0))
    s[2, at] = ball[0] * here[5] - seed * fx
    s[3, at] = -ball[0] * here[4] - seed * fy
    mode[at] = np.where(held, ROLLING, SLIDING)
    size[at] = np.where(held, 0.0, SEED)
    rate[at] = np.where(held, np.nan, -1.0)


def _advance(
    rates: Rates, at: NDArray[np.intp], s: Array, balls: Array, mu: Array, slope: Array, end: Array,
    time: Array, mode: NDArray[np.int8], piece: NDArray[np.intp], size: Array, rate: Array,
    pieces: int, f: Any,
) -> None:  # fmt: skip
    """One step of these shots, all sliding or all rolling, in place."""
    here, ball = s[:, at], balls[:, at]
    w = np.sqrt(here[4] * here[4] + here[5] * here[5] + here[6] * here[6])
    h = np.minimum(LONGEST_STEP, LONGEST_TURN / (w + 1e-9))
    if rates is _slide:
        fresh = np.isnan(rate[at])
        falls = np.where(fresh, _soonest(ball, mu, w, f), rate[at])
        soon = (falls > 0.0) & (size[at] < 1.2 * falls * h)
        share = np.where(fresh | (size[at] > 0.1), NEARLY, CLOSE)
        h = np.where(soon, size[at] / np.where(soon, falls, 1.0) * share, h)
    new = np.array(_step(rates, here, h, mu, slope, ball, f))
    passed, out = new[0] > end, np.abs(new[1]) > HALF_WIDTH
    cut = np.flatnonzero(passed | out)
    if len(cut):
        old, end_of = here[:, cut], new[:, cut]
        edge = np.copysign(HALF_WIDTH, end_of[1])
        first = _reaches(old[0], old[2], end_of[0], end_of[2], h[cut], end[cut])
        last = _reaches(old[1], old[3], end_of[1], end_of[3], h[cut], edge)
        first = np.where(passed[cut], first, np.inf)
        last = np.where(out[cut], last, np.inf)
        h[cut] = np.minimum(first, last)
        exact = np.array(_step(rates, old, h[cut], mu[cut], slope[cut], ball[:, cut], f))
        gutter = last < first
        exact[1] = np.where(gutter, edge, exact[1])
        exact[0] = np.where(gutter, exact[0], end[cut])
        new[:, cut] = exact
        onward = at[cut]
        piece[onward] += ~gutter
        mode[onward] = np.where(gutter | (piece[onward] == pieces), DONE, mode[onward])
        piece[onward] = np.minimum(piece[onward], pieces - 1)
    time[at] += h
    if rates is _roll:
        new[2], new[3] = ball[0] * new[5], -ball[0] * new[4]
    else:
        left = np.hypot(*slip(new, ball))
        rate[at] = np.where(passed, np.nan, (size[at] - left) / h)
        size[at] = left
    s[:, at] = new
    mode[at[new[0] < 0.0]] = DONE
