"""Points, arcs, bearings and the over/up frame on the surface of a ball.

Every function takes one point or many: many points are an array of shape (..., 3), one point may
also be a tuple of three floats, which is computed without numpy and comes back as a tuple. Lengths
are inches along the surface, angles degrees; beside points they may be arrays that broadcast.

The bowler's frame: origin at the ball's centre, +z out through the grip centre, +y toward the
fingers, +x toward the positive side, where the bowler's own axis point lies. For a right hand it is
the grip frame; for a left hand it is the grip frame mirrored in x (`mirror`). Everything that has a
hand is computed in the bowler's frame, so that mirrored jobs give the same numbers to the last bit.

A bearing at a point is the compass angle from the direction of the fingers' pole (+y), growing
toward the positive side: clockwise seen from outside the ball for a right hand.
"""

from __future__ import annotations

from typing import Any, overload

import numpy as np
from numpy import ndarray

from layoutkit.geometry import vectors as v
from layoutkit.geometry.vectors import Array, Vector, functions_for

Number = float | Array


def _parts(points: Any) -> Any:
    """Components of one point (tuple) or of many (array of shape (..., 3))."""
    if isinstance(points, tuple):
        return points
    p = np.asarray(points, dtype=float)
    return p[..., 0], p[..., 1], p[..., 2]


def _whole(components: Any) -> Any:
    """One point as a tuple, or many as an array of shape (..., 3)."""
    x, y, z = components
    if isinstance(x, ndarray) or isinstance(y, ndarray) or isinstance(z, ndarray):
        return np.stack(np.broadcast_arrays(x, y, z), axis=-1)
    return components


@overload
def mirror(points: Vector, hand: str) -> Vector: ...
@overload
def mirror(points: Array, hand: str) -> Array: ...
def mirror(points: Any, hand: str) -> Any:
    """Grip frame to bowler's frame and back: x changes sign for a left hand."""
    x, y, z = _parts(points)
    # + 0.0 turns a negative zero into zero
    return _whole((-x + 0.0 if hand == "left" else x + 0.0, y + 0.0, z + 0.0))


@overload
def arc(a: Vector, b: Vector, radius: float) -> float: ...
@overload
def arc(a: Array, b: Any, radius: float) -> Array: ...
@overload
def arc(a: Any, b: Array, radius: float) -> Array: ...
def arc(a: Any, b: Any, radius: float) -> Any:
    """Great-circle distance between two points on the ball, in inches, shape (...).

    atan2 of the sine and cosine, exact for points that nearly touch or are nearly opposite.
    """
    (px, py, pz), (qx, qy, qz) = _parts(a), _parts(b)
    x, y, z = py * qz - pz * qy, pz * qx - px * qz, px * qy - py * qx
    onto = px * qx + py * qy + pz * qz
    f = functions_for(onto)
    return radius * f.atan2(f.sqrt(x * x + y * y + z * z), onto)


def axes_at(points: Any) -> Any:
    """Local unit directions (over, up) at each point, each like the points.

    ``over`` grows toward the positive side at constant up; ``up`` grows toward the fingers' pole.
    At a pole, where over has no meaning, the directions are those met by walking there along the
    grip centreline.
    """
    p = _parts(points)
    over, up = axes_by_parts(p)
    return _whole(over), _whole(up)


def axes_by_parts(p: Any) -> Any:
    """`axes_at` of a point by its three components, numbers or arrays; both come by components."""
    x, y, z = p
    f = functions_for(x, y, z)
    around = f.atan2(x, z)  # 0 at a pole
    c, s = f.cos(around), f.sin(around)
    size = f.sqrt(x * x + y * y + z * z)
    over = (c, 0.0 * y, -s)
    return over, (-y * s / size, (z * c + x * s) / size, -y * c / size)


def from_over_up(over: Number, up: Number, radius: float) -> Any:
    """The point with these arcs along and square to the midline, in inches."""
    f = functions_for(over, up)
    a, b = over / radius, up / radius
    return _whole((radius * f.sin(a) * f.cos(b), radius * f.sin(b), radius * f.cos(a) * f.cos(b)))


def to_over_up(points: Any, radius: float) -> Any:
    """Arcs (over, up) in inches of each point, each of shape (...)."""
    x, y, z = _parts(points)
    f = functions_for(x)
    return radius * f.atan2(x, z), radius * f.atan2(y, f.hypot(x, z))


def bearing(at: Any, toward: Any) -> Any:
    """Bearing at one point of the great circle to another, degrees in (-180, 180], shape (...).

    Points that coincide or are opposite have no such direction; 0 is returned for them.
    """
    q = _parts(toward)
    over, up = axes_by_parts(_parts(at))
    east, north = v.dot(q, over), v.dot(q, up)
    f = functions_for(east, north)
    distinct = f.hypot(east, north) > 1e-14 * v.length(q)
    return wrap180(f.degrees(f.atan2(east * distinct + 0.0, north * distinct + 0.0)))


def direction(at: Any, bearing_deg: Number) -> Any:
    """Unit tangent at each point toward the bearing, like the points."""
    return _whole(_tangent(_parts(at), bearing_deg))


def _tangent(p: Any, bearing_deg: Number) -> Any:
    over, up = axes_by_parts(p)
    f = functions_for(bearing_deg)
    turn = f.radians(bearing_deg)
    return v.along(v.scaled(over, f.sin(turn)), up, f.cos(turn))


def walk(start: Any, bearing_deg: Number, distance: Number) -> Any:
    """Walk an arc from each point along a great circle.

    Returns the point reached, like the points, and the bearing in degrees with which the walk
    arrives there; the way back leaves at that bearing plus 180. A walk of no length keeps the
    bearing it started with, so that a pin on the axis point still has a direction.
    """
    radius, u, t, (cosine, sine), end = _way(start, bearing_deg, distance)
    onward = v.along(v.scaled(t, cosine), u, -sine)
    over, up = axes_by_parts(end)
    east, north = v.dot(onward, over), v.dot(onward, up)
    arrives = functions_for(east).degrees(functions_for(east).atan2(east, north))
    return _whole(v.scaled(end, radius)), wrap180(arrives)


def walked(start: Any, bearing_deg: Number, distance: Number) -> Any:
    """The point that `walk` reaches."""
    radius, *_, end = _way(start, bearing_deg, distance)
    return _whole(v.scaled(end, radius))


def _way(start: Any, bearing_deg: Number, distance: Number) -> tuple[Any, ...]:
    """The radius; the start and the tangent there, of length 1; the angle's cosine and sine; the end."""
    p = _parts(start)
    radius = v.length(p)
    u = v.scaled(p, 1.0 / radius)
    t = _tangent(u, bearing_deg)
    d = distance / radius
    f = functions_for(d)
    c, s = f.cos(d), f.sin(d)
    return radius, u, t, (c, s), v.along(v.scaled(u, c), t, s)


def meeting(a: Vector, b: Vector, cos_a: float, cos_b: float) -> tuple[Vector, Vector, float]:
    """Where two arcs from unit vectors ``a`` and ``b`` meet, by the cosines of the arcs.

    The foot, the normal and the square of a height h: the two places are foot + h normal and
    foot - h normal, unit vectors. The square is negative where the arcs do not meet. ``a`` and ``b`` must
    not lie on one line through the centre.
    """
    between, normal = v.dot(a, b), v.cross(a, b)
    square = v.dot(normal, normal)
    along_a, along_b = (cos_a - between * cos_b) / square, (cos_b - between * cos_a) / square
    foot = v.along(v.scaled(a, along_a), b, along_b)
    return foot, normal, (1.0 - along_a * cos_a - along_b * cos_b) / square


def wrap180(angle: Number) -> Any:
    """The same direction within (-180, 180] degrees."""
    return angle - 360.0 * functions_for(angle).ceil((angle - 180.0) / 360.0)


def wrap360(angle: Number) -> Any:
    """The same direction within [0, 360) degrees."""
    f = functions_for(angle)
    w = angle - 360.0 * f.floor(angle / 360.0)
    return f.where(w >= 360.0, 0.0, w)


def hole_arc(diameter: Number, radius: float) -> Any:
    """Arc radius on the surface of a hole of this diameter: R asin(d / 2R), in inches."""
    return radius * functions_for(diameter).asin(diameter / (2.0 * radius))
