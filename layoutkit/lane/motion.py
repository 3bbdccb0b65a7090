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
left hand everything is computed in the mirror, as in the bowler's frame of
`layoutkit.geometry.sphere`. Inches, seconds, radians; moments of inertia as squared radii of gyration,
in the ball's principal axes.

A step that leads past a change (of friction, of mode, the lane's end or edge) is tried again,
shortened to lead there. While it rolls, what the contact must give is compared with what friction can;
where it cannot, the ball slides again. If the normal force turns negative, the
calculation stops (HOPS).

What can be one shot or many is computed by components, each a float or an array (n,). The control of
the steps stands twice, on purpose: `one` branches in plain floats, and `many` masks arrays. One form for
both would make a single shot many times slower, and it is computed anew while something is dragged. The
tests hold the two against each other.
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

LONGEST_STEP = 0.04  # s
LONGEST_TURN = 1.25  # radians in one step
COARSE_TURN, COARSE = 1.5, 12.0  # the same of a ball whose slip is above this, in/s
SETTLED = 1e-3  # in/s; a slip below it is none
SEED = 2e-3  # in/s; the slip that a ball starts to slide with
NEARLY, CLOSE = 0.9, 0.99  # parts of the way to no slip that one step goes, first and near the end
STILL = 1e-6  # rad/s and rad/s2; a ball that turns and speeds up less rests
SHORTEST = 1e-6  # s; a step in which the slip turns about is halved down to this
MOST_STEPS = 6000
FEW = 60  # shots; so few are sooner done one by one
LATER = 3.0  # times as many roll as slide before these roll on
LONGEST_TIME = 60.0  # s; a ball that is not there by then stops short

SLIDING, ROLLING, DONE, HOPS = 0, 1, 2, 3
_END, _EDGE, _RELEASE = 1, 2, 3  # what a shortened step leads to; 0 is nothing

_ROOT = math.sqrt(2.0)
_ONE = SimpleNamespace(sqrt=math.sqrt, sin=math.sin)
_MANY = SimpleNamespace(sqrt=np.sqrt, sin=np.sin)


class RollingBall(NamedTuple):
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
    q0, q1, q2, q3 = _ROOT * q0, _ROOT * q1, _ROOT * q2, _ROOT * q3
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    p12, p03, p13, p02, p23, p01 = q1 * q2, q0 * q3, q1 * q3, q0 * q2, q2 * q3, q0 * q1
    # the lane's axes in the ball's
    x1, x2, x3 = 1.0 - b - c, p12 - p03, p13 + p02
    y1, y2, y3 = p12 + p03, 1.0 - a - c, p23 - p01
    z1, z2, z3 = p13 - p02, p23 + p01, 1.0 - a - b
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
    a1, a2, a3 = (k2 - k3) * w2 * w3 / k1, (k3 - k1) * w3 * w1 / k2, (k1 - k2) * w1 * w2 / k3
    n = (weight + h1 * a1 + h2 * a2 + h3 * a3) / (1.0 + h1 * p1 + h2 * p2 + h3 * p3)
    a1, a2, a3 = a1 - n * p1, a2 - n * p2, a3 - n * p3
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
    q0, q1, q2, q3 = _ROOT * q0, _ROOT * q1, _ROOT * q2, _ROOT * q3
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    p12, p03, p13, p02, p23, p01 = q1 * q2, q0 * q3, q1 * q3, q0 * q2, q2 * q3, q0 * q1
    x1, x2, x3 = 1.0 - b - c, p12 - p03, p13 + p02
    y1, y2, y3 = p12 + p03, 1.0 - a - c, p23 - p01
    z1, z2, z3 = p13 - p02, p23 + p01, 1.0 - a - b
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
    s = f.sin(n)
    c = f.sqrt(1.0 - s * s)  # no step turns it by half a turn; sooner done than a cosine
    s = s / n
    o1, o2, o3 = o1 * s, o2 * s, o3 * s
    return (
        q0 * c - q1 * o1 - q2 * o2 - q3 * o3,
        q0 * o1 + q1 * c - q2 * o3 + q3 * o2,
        q0 * o2 + q1 * o3 + q2 * c - q3 * o1,
        q0 * o3 - q1 * o2 + q2 * o1 + q3 * c,
    )


def _step(
    rates: Rates, s: Any, begun: Any, h: Any, mu: Any, slope: Any, ball: Any, f: Any
) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
    """One step of length h from s, where the rates are ``begun``; also the rates at its end, nearly.

    Runge and Kutta's fourth order, the orientation by finite turns.

    A turn is the angular velocity's mean over the step, by its values and slopes at both ends, and
    what turns about two axes in succession add (W. Magnus, Comm. Pure Appl. Math. 7, 1954, 649).
    """
    x, y, vx, vy, w1, w2, w3, *rest = s
    q: Any = tuple(rest)
    sqrt = f.sqrt
    hh, hq, h6 = 0.5 * h, 0.125 * h, h / 6.0
    ho, g, k = 0.25 * h, h * hh / 12.0, hh * hh / 6.0
    a1, a2, a3, ax, ay = begun
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
        ho * (w1 + u1) + g * (a1 - c1) - k * (w2 * u3 - w3 * u2),
        ho * (w2 + u2) + g * (a2 - c2) - k * (w3 * u1 - w1 * u3),
        ho * (w3 + u3) + g * (a3 - c3) - k * (w1 * u2 - w2 * u1),
        f,
    )
    m = mu + slope * h * (vx + hh * bx)
    d1, d2, d3, dx, dy = rates(u1, u2, u3, *t, vx + h * cx, vy + h * cy, m, ball, sqrt)
    u1 = w1 + h6 * (a1 + 2.0 * (b1 + c1) + d1)
    u2 = w2 + h6 * (a2 + 2.0 * (b2 + c2) + d2)
    u3 = w3 + h6 * (a3 + 2.0 * (b3 + c3) + d3)
    t = _turned(
        q,
        ho * (w1 + u1) + g * (a1 - d1) - k * (w2 * u3 - w3 * u2),
        ho * (w2 + u2) + g * (a2 - d2) - k * (w3 * u1 - w1 * u3),
        ho * (w3 + u3) + g * (a3 - d3) - k * (w1 * u2 - w2 * u1),
        f,
    )
    return (
        x + h * (vx + h6 * (ax + bx + cx)),
        y + h * (vy + h6 * (ay + by + cy)),
        vx + h6 * (ax + 2.0 * (bx + cx) + dx),
        vy + h6 * (ay + 2.0 * (by + cy) + dy),
        u1, u2, u3, *t,
    ), (d1, d2, d3, dx, dy)  # fmt: skip


def slip(s: Any, ball: Any) -> tuple[Any, Any]:
    """The slip of a state in the lane's frame, in/s; ``s`` and ``ball`` in the order of their types."""
    return s[2] - ball[0] * s[5], s[3] + ball[0] * s[4]


def _force(s: Any, rates: Any, ball: Any) -> tuple[Any, Any, Any]:
    """The lane's force on the ball over its mass: down the lane, to the left, up; in/s2."""
    _, _, _, _, wx, wy, wz, q0, q1, q2, q3 = s
    _, _, _, _, d1, d2, d3 = ball
    ax, ay, az, qx, qy = rates
    x2, x3 = 2.0 * (q1 * q2 - q0 * q3), 2.0 * (q1 * q3 + q0 * q2)
    y1, y3 = 2.0 * (q1 * q2 + q0 * q3), 2.0 * (q2 * q3 - q0 * q1)
    z1, z2 = 2.0 * (q1 * q3 - q0 * q2), 2.0 * (q2 * q3 + q0 * q1)
    a, b, c = q1 * q1, q2 * q2, q3 * q3
    # d in the lane's axes
    dx = (1.0 - 2.0 * (b + c)) * d1 + x2 * d2 + x3 * d3
    dy = y1 * d1 + (1.0 - 2.0 * (a + c)) * d2 + y3 * d3
    dz = z1 * d1 + z2 * d2 + (1.0 - 2.0 * (a + b)) * d3
    wd, ww = wx * dx + wy * dy + wz * dz, wx * wx + wy * wy + wz * wz
    return (
        qx + wx * wd - dx * ww + ay * dz - az * dy,
        qy + wy * wd - dy * ww + az * dx - ax * dz,
        wz * wd - dz * ww + ax * dy - ay * dx + GRAVITY,
    )


def turning(s: Array, mu: Array, ball: Array, modes: NDArray[np.int8]) -> Array:
    """Angular accelerations (t, 3) in the lane's frame at states (t, 11), in the modes (t,) of their
    steps; ``ball`` (7, t), or (7, 1) of one ball, in the order of `RollingBall`."""
    found = np.empty((len(s), 3))
    laws: tuple[tuple[int, Rates], ...] = ((SLIDING, _slide), (ROLLING, _roll))
    for mode, law in laws:
        at = modes == mode
        _, _, vx, vy, *turned = s[at].T
        own = ball if ball.shape[1] == 1 else ball[:, at]
        found[at] = np.transpose(law(*turned, vx, vy, mu[at], own, np.sqrt)[:3])
    return found


def _may_hop(ball: Any, w: Any, mu: Any, f: Any) -> Any:
    """Whether a ball's own turning could come near to lifting it off the lane."""
    r, k1, _, _, d1, d2, d3 = ball
    lean = f.sqrt(d1 * d1 + d2 * d2 + d3 * d3)
    return lean * (w * w + mu * GRAVITY * r / k1) > 0.25 * GRAVITY


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

    ``mode`` is that of the step that follows, SLIDING or ROLLING, and at the end DONE, or HOPS where the
    normal force turned negative.
    """

    time: Array
    states: Array
    modes: NDArray[np.int8]


# --- one shot -------------------------------------------------------------------------------------


def one(
    ball: RollingBall, start: State, lane: Sequence[Stretch],
    longest_turn: float = math.inf, half_width: float = HALF_WIDTH,
) -> Trail:  # fmt: skip
    """One shot, in plain floats; the lane's first stretch starts at the foul line.

    No step turns the ball by more than ``longest_turn`` radians, whatever the engine's own steps are.
    The gutters are ``half_width`` inches from the lane's middle.
    It ends at the head pin, in a gutter, behind the foul line, where the ball rests or would hop, or
    after `LONGEST_TIME` or `MOST_STEPS`.
    """
    table = np.array(
        _onward(ball, lane, tuple(start), longest_turn=longest_turn, half_width=half_width)
    )
    return Trail(table[:, 0], table[:, 2:], table[:, 1].astype(np.int8))


def _onward(
    ball: RollingBall, lane: Sequence[Stretch], s: tuple[Any, ...],
    time: float = 0.0, mode: int = SLIDING, piece: int = 0, freed: bool = False,
    longest_turn: float = math.inf, half_width: float = HALF_WIDTH,
) -> list[tuple[Any, ...]]:  # fmt: skip
    """The rest of a shot: rows of time, mode and state, the last one where it ends.

    ``freed`` tells that the ball is where friction does not hold it any more.
    """
    f, r = _ONE, ball[0]
    limit, aim = math.inf, 0
    ends = [*(p.start for p in lane[1:]), LANE_LENGTH]
    rows: list[tuple[Any, ...]] = []
    for _ in range(MOST_STEPS):
        x, y, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s
        here = lane[piece]
        mu = here.mu + here.slope * (x - here.start)
        sx, sy = vx - r * wy, vy + r * wx
        size = math.hypot(sx, sy)
        w = math.sqrt(wx * wx + wy * wy + wz * wz)
        spare = 0.0
        up = GRAVITY
        if mode == ROLLING or size < SETTLED:
            vx, vy, size = r * wy, -r * wx, 0.0
            begun = _roll(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, f.sqrt)
            s = (x, y, vx, vy, *s[4:])
            fx, fy, up = _force(s, begun, ball)
            pull = math.hypot(fx, fy)
            spare = mu * up - pull
            mode = ROLLING
            if w < STILL and math.hypot(*begun[:3]) < STILL:
                break
            if up >= 0.0 and (spare < 0.0 or freed):
                mode, size, sx, sy = SLIDING, SEED, -SEED * fx / pull, -SEED * fy / pull
                vx, vy = vx + sx, vy + sy
                s = (x, y, vx, vy, *s[4:])
        freed = False
        if mode == SLIDING:
            begun = _slide(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, f.sqrt)
            if _may_hop(ball, w, mu, f):
                up = _force(s, begun, ball)[2]
        if up < 0.0:
            mode = HOPS
            break
        turn = min(COARSE_TURN if size > COARSE else LONGEST_TURN, longest_turn)
        h = min(LONGEST_STEP, turn / (w + 1e-9), limit)
        if mode == SLIDING:
            gx, gy = begun[3] - r * begun[1], begun[4] + r * begun[0]
            change = math.hypot(gx, gy)
            if sx * gx + sy * gy < 0.0 and size < 1.2 * change * h:
                h = size / change * (NEARLY if size > 0.1 else CLOSE)
        rates = _slide if mode == SLIDING else _roll
        new, ended = _step(rates, s, begun, h, mu, here.slope, ball, f)
        if not aim:
            cut = math.inf
            if mode == SLIDING and h > SHORTEST:
                tx, ty = slip(new, ball)
                cut = 0.5 * h if tx * sx + ty * sy < 0.0 else cut
            if cut == math.inf:
                if new[0] > ends[piece]:
                    cut, aim = _reaches(x, vx, new[0], new[2], h, ends[piece]), _END
                if abs(new[1]) > half_width:
                    edge = math.copysign(half_width, new[1])
                    out = _reaches(y, vy, new[1], new[3], h, edge)
                    cut, aim = (out, _EDGE) if out < cut else (cut, aim)
                if mode == ROLLING:
                    fx, fy, up = _force(new, ended, ball)
                    left = (mu + here.slope * (new[0] - x)) * up - math.hypot(fx, fy)
                    if left < 0.0:
                        loose = h * max(0.02, spare / (spare - left))
                        cut, aim = (loose, _RELEASE) if loose < cut else (cut, aim)
            if cut < math.inf:
                limit = cut
                continue
        rows.append((time, mode, *s))
        time += h
        if mode == ROLLING:
            new = (*new[:2], r * new[5], -r * new[4], *new[4:])
        if aim == _END:
            new = (ends[piece], *new[1:])
            piece += 1
        elif aim == _EDGE:
            new = (new[0], math.copysign(half_width, new[1]), *new[2:])
        freed = aim == _RELEASE
        s = new
        if aim == _EDGE or piece == len(ends) or s[0] < 0.0 or time >= LONGEST_TIME:
            mode = DONE
            break
        limit, aim = math.inf, 0
    rows.append((time, HOPS if mode == HOPS else DONE, *s))
    return rows


# --- many shots -----------------------------------------------------------------------------------


def many(
    ball: RollingBall, start: State, lane: Sequence[Stretch], longest_turn: float = math.inf
) -> Trail:
    """Many shots at once, each with its own steps; every field a number or (n,).

    The same as `one` of each, to rounding.
    """
    shots = _Shots(ball, start, lane, longest_turn)
    with np.errstate(all="ignore"):
        while True:
            slide = np.flatnonzero(shots.mode == SLIDING)
            roll = np.flatnonzero(shots.mode == ROLLING)
            if len(slide) + len(roll) <= FEW:
                break
            # those of one mode wait while the other's many go on: fewer, larger passes
            if LATER * len(slide) >= len(roll):
                _slide_on(shots, slide)
            else:
                _roll_on(shots, roll)
    for i in np.flatnonzero(shots.mode < DONE).tolist():
        shots.finish(i)
    return shots.trail()


class _Shots:
    """Where many shots are, each after its own number of steps, and what was noted of them so far."""

    def __init__(
        self, ball: RollingBall, start: State, lane: Sequence[Stretch], longest_turn: float
    ) -> None:
        self.longest_turn = longest_turn
        pieces: list[Any] = [v for piece in lane for v in piece]
        arrays = np.broadcast_arrays(*ball, *start, *pieces, np.zeros(1))
        table = np.array(arrays[:-1], dtype=float)
        self.balls, self.s = table[:7], table[7:18].copy()
        self.lane = table[18:].reshape(len(lane), 3, -1)
        n = table.shape[1]
        self.ends = np.concatenate([self.lane[1:, 0], np.full((1, n), LANE_LENGTH)])
        self.time, self.limit = np.zeros(n), np.full(n, np.inf)
        self.mode, self.aim = np.full(n, SLIDING, dtype=np.int8), np.zeros(n, dtype=np.int8)
        self.freed = np.zeros(n, dtype=bool)
        self.piece, self.tries = np.zeros(n, dtype=np.intp), np.zeros(n, dtype=np.intp)
        self.count = np.zeros(n, dtype=np.intp)
        self.rows: list[tuple[Any, ...]] = []

    def friction(self, at: NDArray[np.intp], x: Array) -> tuple[Array, Array]:
        """Friction where these shots are, and its slope."""
        start, mu, slope = self.lane[self.piece[at], :, at].T
        return mu + slope * (x - start), slope

    def note(self, at: NDArray[np.intp], s: Array, mode: int) -> None:
        """Keep the states that a step of these shots begins with."""
        self.rows.append((at, self.count[at], self.time[at], s, mode))
        self.count[at] += 1

    def finish(self, i: int) -> None:
        """The rest of one shot, alone."""
        ball = RollingBall(*self.balls[:, i].tolist())
        lane = [Stretch(*piece) for piece in self.lane[:, :, i].tolist()]
        rest = _onward(
            ball, lane, tuple(self.s[:, i].tolist()), float(self.time[i]),
            int(self.mode[i]), int(self.piece[i]), bool(self.freed[i]), self.longest_turn,
        )  # fmt: skip
        rows = np.array(rest)
        k = len(rows) - 1
        at, row = np.full(k, i), self.count[i] + np.arange(k)
        self.rows.append((at, row, rows[:k, 0], rows[:k, 2:].T, rows[:k, 1]))
        self.count[i] += k
        self.time[i], self.mode[i], self.s[:, i] = rows[k, 0], rows[k, 1], rows[k, 2:]

    def trail(self) -> Trail:
        """All that was noted, each shot's end repeated."""
        n = len(self.time)
        most = int(self.count.max(initial=0)) + 1
        times, states = np.empty((most, n)), np.empty((most, n, 11))
        modes = np.empty((most, n), dtype=np.int8)
        times[:], states[:], modes[:] = self.time, self.s.T, np.maximum(self.mode, DONE)
        for at, row, time, s, mode in self.rows:
            where = row, at
            times[where], states[where], modes[where] = time, s.T, mode
        return Trail(times, states, modes)


def _slide_on(shots: _Shots, at: NDArray[np.intp]) -> None:
    """One step, or a try at one, of these shots, which slide."""
    s: Any = shots.s[:, at]
    ball = shots.balls[:, at]
    sx, sy = slip(s, ball)
    size = np.sqrt(sx * sx + sy * sy)
    settled = size < SETTLED
    if settled.any():
        shots.mode[at[settled]] = ROLLING
        on = ~settled
        at = at[on]
        if not len(at):
            return
        s, ball, sx, sy, size = s[:, on], ball[:, on], sx[on], sy[on], size[on]
    mu, slope = shots.friction(at, s[0])
    r = ball[0]
    w = np.sqrt(s[4] * s[4] + s[5] * s[5] + s[6] * s[6])
    _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s
    begun = _slide(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, np.sqrt)
    near = _may_hop(ball, w, mu, _MANY)
    if near.any():
        hops = near & (_force(s, begun, ball)[2] < 0.0)
        if hops.any():
            shots.mode[at[hops]] = HOPS
            return
    turn = np.where(size > COARSE, COARSE_TURN, LONGEST_TURN)
    turn = np.minimum(turn, shots.longest_turn)
    h = np.minimum(np.minimum(LONGEST_STEP, turn / (w + 1e-9)), shots.limit[at])
    gx, gy = begun[3] - r * begun[1], begun[4] + r * begun[0]
    change = np.sqrt(gx * gx + gy * gy)
    soon = (sx * gx + sy * gy < 0.0) & (size < 1.2 * change * h)
    h = np.where(soon, size / change * np.where(size > 0.1, NEARLY, CLOSE), h)
    new, _ = _step(_slide, s, begun, h, mu, slope, ball, _MANY)
    tx, ty = slip(new, ball)
    back = (tx * sx + ty * sy < 0.0) & (h > SHORTEST)
    _land(shots, at, s, np.array(new), h, np.where(back, 0.5 * h, np.inf), None, SLIDING)


def _roll_on(shots: _Shots, at: NDArray[np.intp]) -> None:
    """The same of these shots, which roll, if friction holds them; else they slide off."""
    s: Any = shots.s[:, at]
    ball = shots.balls[:, at]
    mu, slope = shots.friction(at, s[0])
    r = ball[0]
    s[2], s[3] = r * s[5], -r * s[4]
    _, _, vx, vy, wx, wy, wz, q0, q1, q2, q3 = s
    begun = _roll(wx, wy, wz, q0, q1, q2, q3, vx, vy, mu, ball, np.sqrt)
    fx, fy, up = _force(s, begun, ball)
    pull = np.sqrt(fx * fx + fy * fy)
    spare = mu * up - pull
    off = (spare < 0.0) | shots.freed[at]
    w = np.sqrt(wx * wx + wy * wy + wz * wz)
    rests = (w < STILL) & (np.sqrt(begun[0] ** 2 + begun[1] ** 2 + begun[2] ** 2) < STILL)
    over = (up < 0.0) | rests
    off &= ~over
    if off.any() or over.any():
        seed = SEED / pull[off]
        s[2, off] -= seed * fx[off]
        s[3, off] -= seed * fy[off]
        shots.s[:, at] = s
        shots.mode[at[off]] = SLIDING
        shots.mode[at[over]] = np.where(rests[over], DONE, HOPS)
        shots.freed[at] = False
        on = ~(off | over)
        at = at[on]
        if not len(at):
            return
        s, ball, mu, slope, spare = s[:, on], ball[:, on], mu[on], slope[on], spare[on]
        begun = tuple(v[on] for v in begun)
        r, w = ball[0], w[on]
    turn = min(LONGEST_TURN, shots.longest_turn)
    h = np.minimum(np.minimum(LONGEST_STEP, turn / (w + 1e-9)), shots.limit[at])
    made, ended = _step(_roll, s, begun, h, mu, slope, ball, _MANY)
    new = np.array(made)
    fx, fy, up = _force(new, ended, ball)
    left = (mu + slope * (new[0] - s[0])) * up - np.sqrt(fx * fx + fy * fy)
    loose = np.where(left < 0.0, h * np.maximum(0.02, spare / (spare - left)), np.inf)
    new[2], new[3] = r * new[5], -r * new[4]
    _land(shots, at, s, new, h, np.full(len(at), np.inf), loose, ROLLING)


def _land(
    shots: _Shots, at: NDArray[np.intp], s: Array, new: Array, h: Array, cut: Array,
    loose: Array | None, mode: int,
) -> None:  # fmt: skip
    """Keep the steps that are whole or lead to what was aimed at; shorten the others for another try.

    ``cut`` is the length to try next, where a step is too long in itself; ``loose`` is when a
    rolling ball slides off.
    """
    end, aim = shots.ends[shots.piece[at], at], shots.aim[at]
    free = (aim == 0) & np.isinf(cut)
    passed, out = free & (new[0] > end), free & (np.abs(new[1]) > HALF_WIDTH)
    cut = np.where(aim == 0, cut, np.inf)
    if passed.any():
        p = np.flatnonzero(passed)
        cut[p] = _reaches(s[0, p], s[2, p], new[0, p], new[2, p], h[p], end[p])
        shots.aim[at[p]] = _END
    if out.any():
        p = np.flatnonzero(out)
        edge = np.copysign(HALF_WIDTH, new[1, p])
        t = _reaches(s[1, p], s[3, p], new[1, p], new[3, p], h[p], edge)
        sooner = t < cut[p]
        cut[p[sooner]] = t[sooner]
        shots.aim[at[p[sooner]]] = _EDGE
    if loose is not None:
        sooner = free & (loose < cut)
        cut[sooner] = loose[sooner]
        shots.aim[at[sooner]] = _RELEASE
    whole = np.isinf(cut)
    shots.tries[at] += 1
    if not whole.all():
        shots.limit[at] = cut
        at, s, new, h = at[whole], s[:, whole], new[:, whole], h[whole]
        end, aim = end[whole], aim[whole]
    shots.note(at, s, mode)
    shots.time[at] += h
    if aim.any():
        landed, left = aim == _END, aim == _EDGE
        new[0, landed] = end[landed]
        new[1, left] = np.copysign(HALF_WIDTH, new[1, left])
        shots.piece[at] += landed
        shots.freed[at] = aim == _RELEASE
        last = at[left | (shots.piece[at] == len(shots.ends))]
        shots.mode[last] = DONE
        shots.piece[last] = len(shots.ends) - 1
        shots.limit[at], shots.aim[at] = np.inf, 0
    else:
        shots.limit[at] = np.inf
    shots.s[:, at] = new
    over = (new[0] < 0.0) | (shots.time[at] >= LONGEST_TIME) | (shots.tries[at] >= MOST_STEPS)
    shots.mode[at[over]] = DONE
