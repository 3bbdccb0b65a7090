"""Vectors as three components, each a number or an array, and the functions that serve both.

One point is a tuple of three floats and is computed with `math`, ten times quicker than numpy does
it; many points are tuples of three arrays. The formulas are written once.
"""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy import ndarray
from numpy.typing import NDArray

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

# numpy's names for what `math` and the built-ins do with single numbers
_SCALAR = SimpleNamespace(
    sin=math.sin, cos=math.cos, asin=math.asin, acos=math.acos, atan2=math.atan2, sqrt=math.sqrt,
    hypot=math.hypot, radians=math.radians, degrees=math.degrees, floor=math.floor, ceil=math.ceil,
    minimum=min, maximum=max, abs=abs, any=bool, where=lambda test, a, b: a if test else b,
)  # fmt: skip


def functions_for(*values: Any) -> Any:
    """The namespace to compute with: `math` for numbers, numpy as soon as one is an array."""
    for v in values:  # a plain loop: this is asked for every point
        if isinstance(v, ndarray):
            return np
    return _SCALAR


def dot(a: Any, b: Any) -> Any:
    """Scalar product."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def cross(a: Any, b: Any) -> Any:
    """Vector product."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def scaled(a: Any, s: Any) -> Any:
    """A vector s times as long."""
    return (a[0] * s, a[1] * s, a[2] * s)


def along(p: Any, d: Any, t: Any) -> Any:
    """The point p + t d."""
    return (p[0] + t * d[0], p[1] + t * d[1], p[2] + t * d[2])


def minus(a: Any, b: Any) -> Any:
    """The vector a - b."""
    return (a[0] - b[0], a[1] - b[1], a[2] - b[2])


def length(a: Any) -> Any:
    """Length of a vector."""
    if isinstance(a[0], float):
        return math.hypot(*a)
    return functions_for(*a).sqrt(dot(a, a))


def square_to(v: Any, axis: Any) -> Any:
    """What is left of v without its part along the unit axis."""
    return along(v, axis, -dot(v, axis))


def unit(a: Any) -> Any:
    """The vector of length one in the same direction."""
    return scaled(a, 1.0 / length(a))


def frame(axis: Vector) -> tuple[Vector, Vector]:
    """Two unit vectors square to a unit axis and to each other, right-handed with it."""
    x, y, z = map(abs, axis)
    i = 0 if x <= y and x <= z else 1 if y <= z else 2
    u = scaled(axis, -axis[i])
    u = (u[0] + (i == 0), u[1] + (i == 1), u[2] + (i == 2))
    u = scaled(u, 1.0 / math.hypot(*u))
    return u, cross(axis, u)


def segments(p: Any, d: Any, reach: Any, q: Any, e: Any, other: Any) -> Any:
    """Closest points of the straight segments p + s d and q + t e, unit d and e: (distance, s, t).

    Clamped closest points of two lines (C. Ericson, Real-Time Collision Detection, 2005, 5.1.9).
    """
    # in components, as this is asked for every pair of holes, and for each that is tried
    (px, py, pz), (dx, dy, dz), (qx, qy, qz), (ex, ey, ez) = p, d, q, e
    x, y, z = px - qx, py - qy, pz - qz
    b = dx * ex + dy * ey + dz * ez
    c = dx * x + dy * y + dz * z
    f = ex * x + ey * y + ez * z
    det = 1.0 - b * b
    g = functions_for(c, reach, other)
    least, most, where = g.minimum, g.maximum, g.where
    skew = det > 1e-12
    s = where(skew, least(most((b * f - c) / where(skew, det, 1.0), 0.0), reach), 0.0)
    t = least(most(b * s + f, 0.0), other)
    s = least(most(b * t - c, 0.0), reach)
    dx, dy, dz = x + s * dx - t * ex, y + s * dy - t * ey, z + s * dz - t * ez
    # numpy's hypot takes two numbers only
    return g.sqrt(dx * dx + dy * dy + dz * dz), s, t
