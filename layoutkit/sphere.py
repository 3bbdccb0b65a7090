"""Points, arcs, bearings and the over/up frame on the surface of a ball.

Every function takes one point or many: points are arrays of shape (..., 3), scalars broadcast.
Lengths are inches along the surface, angles degrees. ``radius`` is the ball's own radius.

The bowler's frame: origin at the ball's centre, +z out through the grip centre, +y toward the
fingers, +x toward the positive side, where the bowler's own axis point lies. For a right hand it is
the grip frame; for a left hand it is the grip frame mirrored in x (`mirror`). Everything that has a
hand is computed in the bowler's frame, so that mirrored jobs give the same numbers to the last bit.

A bearing at a point is the compass angle from the direction of the fingers' pole (+y), growing
toward the positive side: clockwise seen from outside the ball for a right hand.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def mirror(points: ArrayLike, hand: str) -> Array:
    """Grip frame to bowler's frame and back: x changes sign for a left hand. Shape (..., 3)."""
    p = np.array(points, dtype=float)
    if hand == "left":
        p[..., 0] = -p[..., 0]
    return p + 0.0  # + 0.0 turns a negative zero into zero


def dot(a: Array, b: Array) -> Array:
    """Scalar products over the last axis, shape (...)."""
    return np.asarray((a * b).sum(axis=-1))


def cross(a: Array, b: Array) -> Array:
    """Vector products over the last axis, shape (..., 3); several times faster than numpy's."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=-1)


def unit(v: ArrayLike) -> Array:
    """Vectors of length one, shape (..., 3)."""
    w = np.asarray(v, dtype=float)
    return np.asarray(w / np.sqrt(dot(w, w))[..., None])


def arc(a: ArrayLike, b: ArrayLike, radius: float) -> Array:
    """Great-circle distance between two points on the ball, in inches, shape (...).

    Uses atan2 of the sine and cosine, exact for points that nearly touch or are nearly opposite.
    """
    p, q = np.asarray(a, dtype=float), np.asarray(b, dtype=float)
    n = cross(p, q)
    return np.asarray(radius * np.arctan2(np.sqrt(dot(n, n)), dot(p, q)))


def axes_at(points: ArrayLike) -> tuple[Array, Array]:
    """Local directions (over, up) of length one at each point, each of shape (..., 3).

    ``over`` grows toward the positive side at constant up; ``up`` grows toward the fingers' pole.
    At a pole, where over has no meaning, the directions are those met by walking there along the
    grip centreline.
    """
    p = unit(points)
    x, z = p[..., 0], p[..., 2]
    h = np.hypot(x, z)
    at_pole = h < 1e-15
    h = np.where(at_pole, 1.0, h)
    over = np.stack([np.where(at_pole, 1.0, z / h), np.zeros_like(x), -x / h], axis=-1)
    return over, cross(p, over)


def from_over_up(over: ArrayLike, up: ArrayLike, radius: float) -> Array:
    """The point with these arcs along and square to the midline, shape (..., 3)."""
    a = np.asarray(over, dtype=float) / radius
    b = np.asarray(up, dtype=float) / radius
    a, b = np.broadcast_arrays(a, b)
    cb = np.cos(b)
    return radius * np.stack([np.sin(a) * cb, np.sin(b), np.cos(a) * cb], axis=-1)


def to_over_up(points: ArrayLike, radius: float) -> tuple[Array, Array]:
    """Arcs (over, up) in inches of each point, each of shape (...)."""
    p = np.asarray(points, dtype=float)
    over = radius * np.arctan2(p[..., 0], p[..., 2])
    up = radius * np.arctan2(p[..., 1], np.hypot(p[..., 0], p[..., 2]))
    return np.asarray(over), np.asarray(up)


def bearing(at: ArrayLike, toward: ArrayLike) -> Array:
    """Bearing at one point of the great circle to another, degrees in (-180, 180], shape (...).

    Points that coincide or are opposite have no such direction; 0 is returned for them.
    """
    over, up = axes_at(at)
    q = np.asarray(toward, dtype=float)
    east, north = dot(q, over), dot(q, up)
    tiny = 1e-14 * np.sqrt(dot(q, q))
    lost = np.hypot(east, north) <= tiny
    return wrap180(np.where(lost, 0.0, np.degrees(np.arctan2(east, north))))


def direction(at: ArrayLike, bearing_deg: ArrayLike) -> Array:
    """Tangent of length one at each point toward the bearing, shape (..., 3)."""
    over, up = axes_at(at)
    b = np.radians(np.asarray(bearing_deg, dtype=float))[..., None]
    return np.asarray(np.sin(b) * over + np.cos(b) * up)


def walk(start: ArrayLike, bearing_deg: ArrayLike, distance: ArrayLike) -> tuple[Array, Array]:
    """Walk an arc from each point along a great circle.

    Returns the point reached, shape (..., 3), and the bearing in degrees with which the walk
    arrives there; the way back leaves at that bearing plus 180. A walk of no length keeps the
    bearing it started with, so that a pin on the axis point still has a direction.
    """
    p = np.asarray(start, dtype=float)
    radius = np.sqrt(dot(p, p))[..., None]
    u = p / radius
    t = direction(u, bearing_deg)
    d = np.asarray(distance, dtype=float)[..., None] / radius
    end = np.cos(d) * u + np.sin(d) * t
    onward = np.cos(d) * t - np.sin(d) * u
    over, up = axes_at(end)
    return radius * end, wrap180(np.degrees(np.arctan2(dot(onward, over), dot(onward, up))))


def wrap180(angle: ArrayLike) -> Array:
    """The same direction within (-180, 180] degrees."""
    a = np.asarray(angle, dtype=float)
    return np.asarray(a - 360.0 * np.ceil((a - 180.0) / 360.0))


def wrap360(angle: ArrayLike) -> Array:
    """The same direction within [0, 360) degrees."""
    a = np.asarray(angle, dtype=float)
    w = a - 360.0 * np.floor(a / 360.0)
    return np.where(w >= 360.0, 0.0, w)


def hole_arc(diameter: ArrayLike, radius: float) -> Array:
    """Arc radius on the surface of a hole of this diameter: R asin(d / 2R), shape (...)."""
    return np.asarray(radius * np.arcsin(np.asarray(diameter, dtype=float) / (2.0 * radius)))
