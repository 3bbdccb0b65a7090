"""Bores: what a bit sweeps, and how two of them lie to each other in the ball.

Everything is about the ball's centre as origin. Lengths in inches, angles in degrees. Distances that
serve one point and many are written once: a point is three floats, many are three arrays (n,).
"""

from __future__ import annotations

import math
from itertools import islice
from typing import Any, NamedTuple

import numpy as np

from layoutkit.geometry.roots import golden_section, valley
from layoutkit.geometry.vectors import (
    Vector,
    along,
    cross,
    dot,
    frame,
    functions_for,
    length,
    minus,
    scaled,
    segments,
    square_to,
    unit,
)


class Bore(NamedTuple):
    """What a bit sweeps: a cylinder open outward, ending ``depth`` along ``axis`` from ``entry``.

    ``axis`` is of length one and points inward. Flat-bottomed, or with a drill point of included
    angle ``tip_angle`` degrees below the end of the full diameter.
    """

    entry: Vector
    axis: Vector
    radius: float
    depth: float
    tip_angle: float | None = None

    @property
    def tip_height(self) -> float:
        """Height of the drill point, in inches; 0 for a flat bottom."""
        if self.tip_angle is None or self.tip_angle >= 180.0:
            return 0.0
        return self.radius / math.tan(math.radians(self.tip_angle) / 2.0)


# --- how far a bore reaches ----------------------------------------------------------------------


def axis_offset(bore: Bore) -> float:
    """Distance of the bore's axis from the origin."""
    foot = dot(bore.entry, bore.axis)
    return math.sqrt(max(dot(bore.entry, bore.entry) - foot * foot, 0.0))


def bottom_reach(bore: Bore) -> float:
    """Distance from the origin of the outermost point of a bore's bottom edge."""
    return math.hypot(bore.depth + dot(bore.entry, bore.axis), axis_offset(bore) + bore.radius)


# --- what two bores have in common ----------------------------------------------------------------


def common_reach(a: Bore, b: Bore) -> float:
    """How far from the origin what two bores share can reach outward at most, were they endless.

    A point that both hold lies within both radii of each axis, so it is no further out than where
    a's axis comes as near to b's as both radii. inf where the axes do not converge.
    """
    gap = minus(a.entry, b.entry)
    across, lean = square_to(gap, b.axis), square_to(a.axis, b.axis)
    quad, lin = dot(lean, lean), dot(across, lean)
    const = dot(across, across) - (a.radius + b.radius) ** 2
    disc = lin * lin - quad * const
    if const <= 0.0 or lin >= 0.0:
        return math.inf
    if disc <= 0.0:
        return 0.0
    t = (-lin - math.sqrt(disc)) / quad
    return math.hypot(t + dot(a.entry, a.axis), axis_offset(a) + a.radius)


def walls_cross(a: Bore, b: Bore) -> Vector | None:
    """The outermost point that the walls of two bores have in common, were they never to end.

    Moving along the line in which the walls cross does not bring the point further out:
    x . (w_a x w_b) = 0 with w its offsets from the axes. Newton's method, from where the axes are as
    near as the two radii; None where they do not converge inward or overlap at their entries.
    """
    gap, rate = minus(a.entry, b.entry), minus(a.axis, b.axis)
    reach = a.radius + b.radius
    quad, lin, const = dot(rate, rate), dot(gap, rate), dot(gap, gap) - reach * reach
    disc = lin * lin - quad * const
    if const <= 0.0 or disc <= 0.0 or lin >= 0.0:
        return None
    t = (-lin - math.sqrt(disc)) / quad
    x, y, z = along(along(a.entry, a.axis, t), along(gap, rate, t), -a.radius / reach)
    # in components, as this is the inmost loop of a plan's walls
    (px, py, pz), (ax, ay, az), (qx, qy, qz), (bx, by, bz) = a.entry, a.axis, b.entry, b.axis
    for _ in range(10):
        # v and w, the offsets from the axes of a and b, are the gradients of their squares
        vx, vy, vz = x - px, y - py, z - pz
        s = vx * ax + vy * ay + vz * az
        vx, vy, vz = vx - s * ax, vy - s * ay, vz - s * az
        wx, wy, wz = x - qx, y - qy, z - qz
        s = wx * bx + wy * by + wz * bz
        wx, wy, wz = wx - s * bx, wy - s * by, wz - s * bz
        nx, ny, nz = vy * wz - vz * wy, vz * wx - vx * wz, vx * wy - vy * wx
        # gradient of x . (v x w): v x w, w x x square to a's axis, and x x v square to b's
        fx, fy, fz = wy * z - wz * y, wz * x - wx * z, wx * y - wy * x
        gx, gy, gz = y * vz - z * vy, z * vx - x * vz, x * vy - y * vx
        s, t = fx * ax + fy * ay + fz * az, gx * bx + gy * by + gz * bz
        lx = nx + fx - s * ax + gx - t * bx
        ly = ny + fy - s * ay + gy - t * by
        lz = nz + fz - s * az + gz - t * bz
        # Cramer's rule for the step that takes all three misses to 0
        det = lx * nx + ly * ny + lz * nz
        if abs(det) < 1e-14:
            return None
        i = (vx * vx + vy * vy + vz * vz - a.radius**2) / (2.0 * det)
        j = (wx * wx + wy * wy + wz * wz - b.radius**2) / (2.0 * det)
        k = (x * nx + y * ny + z * nz) / det
        dx = i * (wy * lz - wz * ly) + j * (ly * vz - lz * vy) + k * nx
        dy = i * (wz * lx - wx * lz) + j * (lz * vx - lx * vz) + k * ny
        dz = i * (wx * ly - wy * lx) + j * (lx * vy - ly * vx) + k * nz
        x, y, z = x - dx, y - dy, z - dz
        if max(abs(dx), abs(dy), abs(dz)) < 1e-8:
            return (x, y, z)
    return None


def outermost_common(a: Bore, b: Bore) -> float:
    """Distance from the origin of the outermost point that two bores have in common.

    -inf where they have nothing in common, inf where they overlap at their entries. Where they meet
    at a bottom only they are searched point by point, to about 1/64 in.
    """
    full_a, full_b = a.depth + a.tip_height, b.depth + b.tip_height
    apart = segments(a.entry, a.axis, full_a, b.entry, b.axis, full_b)[0]
    if apart > a.radius + b.radius:
        return -math.inf
    gap = minus(a.entry, b.entry)
    if dot(gap, gap) <= (a.radius + b.radius) ** 2:
        return math.inf
    x = walls_cross(a, b)
    if (
        x is not None
        and dot(minus(x, a.entry), a.axis) <= a.depth
        and dot(minus(x, b.entry), b.axis) <= b.depth
    ):
        return math.hypot(*x)
    return _searched_common(a, b)


def _searched_common(a: Bore, b: Bore) -> float:
    """Outermost point of one bore's wall or end inside the other, by dense sampling.

    -inf where no sampled point is inside: the bores touch in less than the search resolves.
    """
    best = -math.inf
    for one, other in ((a, b), (b, a)):
        p, d = np.array(one.entry), np.array(one.axis)
        u, v = (np.array(e) for e in frame(one.axis))
        t = np.linspace(0.0, one.depth + one.tip_height, 240)
        left = one.depth + one.tip_height - t
        narrowing = left / one.tip_height if one.tip_height else np.ones_like(t)
        wide = one.radius * np.minimum(narrowing, 1.0)[:, None, None]
        phi = np.linspace(0.0, 2.0 * math.pi, 240)[:, None]
        x = p + t[:, None, None] * d + wide * (np.cos(phi) * u + np.sin(phi) * v)
        w = x - np.array(other.entry)
        s = w @ np.array(other.axis)
        off = np.sqrt(np.maximum((w * w).sum(axis=-1) - s * s, 0.0))
        end = other.depth + other.tip_height * (1.0 - off / other.radius)
        inside = (off <= other.radius + 1e-6) & (s <= end + 1e-6)
        if inside.any():
            best = max(best, math.sqrt(float((x * x).sum(axis=-1)[inside].max())))
    return best


# --- the gap between two bores --------------------------------------------------------------------


LIP = 0.3  # inches; the mouth of a tilted bore reaches above its entry, by less than this


def rounded_gap(a: Bore, b: Bore) -> float:
    """How far apart two bores are, as if round at both ends: the mouths above the entries count.

    Drill points are left out. Below 0 where the two overlap.
    """
    p, q = along(a.entry, a.axis, -LIP), along(b.entry, b.axis, -LIP)
    near = segments(p, a.axis, a.depth + LIP, q, b.axis, b.depth + LIP)[0]
    return float(near - a.radius - b.radius)


def bore_gap(a: Bore, b: Bore, radius: float) -> tuple[float, Vector]:
    """Least distance between two bores inside the ball, and a point in the middle of the wall there.

    The nearest points of two convex bores lie on both walls, where the common normal of the axes
    is, unless that falls beyond an end: then on the rim of one of them, at its bottom or at the
    surface, or at its drill point.
    """
    apart, s, t = segments(a.entry, a.axis, a.depth, b.entry, b.axis, b.depth)
    if 0.0 < s < a.depth and 0.0 < t < b.depth:
        on_a, on_b = along(a.entry, a.axis, s), along(b.entry, b.axis, t)
        gap = max(apart - a.radius - b.radius, 0.0)
        share = (a.radius + gap / 2.0) / max(apart, 1e-12)
        return gap, along(on_a, minus(on_b, on_a), share)
    ends = [(a, b, s), (b, a, t)]
    if s < a.depth:
        ends.reverse()
    gaps = []
    for one, other, at in ends:
        x = _rim_point(one, other, None)
        rim = _from(x, other)
        if _outermost_toward(one, x, rim[1]):
            return rim
        gaps.append(_point_gap(one, other, rim) if one.tip_height else rim)
        if at <= 0.0:
            gaps.append(_from(_rim_point(one, other, radius), other))
    return min(gaps)


def edge_gap(a: Bore, b: Bore) -> float:
    """Distance of one point of a bore's bottom edge from another bore: `bore_gap` is no more than that.

    It is the point toward the other's axis, so that two whose edges meet are mostly known by it.
    """
    bottom = along(a.entry, a.axis, a.depth)
    onto = dot(minus(bottom, b.entry), b.axis)
    foot = along(b.entry, b.axis, min(max(onto, 0.0), b.depth))
    toward = square_to(minus(foot, bottom), a.axis)
    size = length(toward)
    return float(distance(along(bottom, toward, a.radius / size), b)) if size > 1e-9 else math.inf


def _outermost_toward(bore: Bore, x: Vector, target: Vector) -> bool:
    """Whether no point of a bore is further toward a target than x on its bottom edge, to 1e-8 in.

    The target lies between x and the nearest point of another bore. If this is True, the plane through
    the target, square to the line from x, has one bore on each side, so nothing is nearer.
    """
    way = minus(target, x)
    size = length(way)
    if size < 1e-6:
        return False
    n = scaled(way, 1.0 / size)
    down = dot(n, bore.axis)
    if down < 0.0:
        return False
    edge = bore.radius * math.sqrt(max(1.0 - down * down, 0.0))
    furthest = bore.depth * down + max(edge, bore.tip_height * down)
    return bool(dot(n, minus(x, bore.entry)) > furthest - 1e-8)


def _point_gap(a: Bore, b: Bore, rim: tuple[float, Vector]) -> tuple[float, Vector]:
    """Least distance from the drill point of ``a``, from its ``rim`` to its tip, to another bore.

    The round sections of the point come nearer along it and then go away. So the nearest one is an
    end, unless a section beside that end is nearer; then golden section finds it.
    """

    def section(share: float) -> tuple[float, Vector]:
        down = a.depth + share * a.tip_height
        return _from(_rim_point(Bore(a.entry, a.axis, (1.0 - share) * a.radius, down), b, None), b)

    tip = _from(along(a.entry, a.axis, a.depth + a.tip_height), b)
    end, beside = (rim, 0.02) if rim[0] <= tip[0] else (tip, 0.98)
    if section(beside)[0] >= end[0]:
        return end
    # 0.618 to the power of 16 is 1/2000 of the point's height
    brackets = golden_section(lambda share: section(share)[0], 0.0, 1.0)
    low, _, _, high = next(islice(brackets, 16, None)).places
    return min(section(0.5 * (low + high)), end)


def _from(x: Vector, bore: Bore) -> tuple[float, Vector]:
    """Distance from a point to a bore that is open outward, and the middle of the way."""
    t, across, off = _beside(x, bore)
    near_t, near_off = _nearest(t, off, bore)
    gap = math.hypot(t - near_t, off - near_off)
    inward = along(scaled(bore.axis, near_t - t), across, near_off / off - 1.0 if off else 0.0)
    return gap, along(x, inward, 0.5)


def distance(x: Any, bore: Bore) -> Any:
    """Distance from a point, or from many, to a bore that is open outward; 0 inside it."""
    t, _, off = _beside(x, bore)
    near_t, near_off = _nearest(t, off, bore)
    return functions_for(t).hypot(t - near_t, off - near_off)


def _beside(x: Any, bore: Bore) -> Any:
    """A point's depth along a bore's axis, its offset from the axis, and that offset's length."""
    w = minus(x, bore.entry)
    t = dot(w, bore.axis)
    across = along(w, bore.axis, -t)
    return t, across, length(across)


def _nearest(t: Any, off: Any, bore: Bore) -> Any:
    """The bore's point nearest to one at depth t and ``off`` the axis, in the same two numbers."""
    f = functions_for(t)
    r, h = bore.radius, bore.tip_height
    past = t - bore.depth
    # the end is a straight line from the rim to the point, flat if h is 0
    share = f.minimum(f.maximum((past * h - (off - r) * r) / (h * h + r * r), 0.0), 1.0)
    inside = past * r + (off - r) * h <= 0.0
    near_t = f.where(past <= 0.0, t, f.where(inside, t, bore.depth + share * h))
    near_off = f.where(inside, off, r * (1.0 - share))
    return near_t, f.where(past <= 0.0, f.minimum(off, r), near_off)


def _rim_point(rim: Bore, other: Bore, radius: float | None) -> Vector:
    """The point of a bore's bottom edge, or its edge at the surface, nearest to another bore.

    ``radius`` is the ball's where the edge at the surface is meant. The distance is a smooth
    valley over the edge, or two where the bores lie crosswise; the deeper one is closed in on.
    """
    center = rim.entry if radius else along(rim.entry, rim.axis, rim.depth)
    w = minus(center, other.entry)
    t0 = dot(w, other.axis)
    foot = min(max(t0, 0.0), other.depth)
    toward = square_to(minus(along(other.entry, other.axis, foot), center), rim.axis)
    u = unit(toward) if dot(toward, toward) > 1e-20 else frame(rim.axis)[0]
    v = cross(rim.axis, u)
    # a point of the edge is center + c u + s v + h axis; what its distance needs of the vectors
    wu, wv, wd = dot(w, u), dot(w, v), dot(w, rim.axis)
    tu, tv, td = dot(other.axis, u), dot(other.axis, v), dot(other.axis, rim.axis)
    r, depth, wall = rim.radius, other.depth, other.radius
    square = dot(w, w) + r * r
    p, pu, pv = dot(rim.entry, rim.axis), dot(rim.entry, u), dot(rim.entry, v)
    flat = other.tip_height == 0.0

    def height(c: float, s: float) -> float:
        """The edge at the surface rises and falls with the ball."""
        if radius is None:
            return 0.0
        return float(-p - math.sqrt(max(radius**2 - (pu + c) ** 2 - (pv + s) ** 2, 0.0)))

    def gap(angle: float) -> float:
        c, s = r * math.cos(angle), r * math.sin(angle)
        t = t0 + c * tu + s * tv
        far = square + 2.0 * (c * wu + s * wv)
        if radius is not None:
            h = height(c, s)
            t += h * td
            far += h * (h + 2.0 * wd)
        far -= t * t
        off = math.sqrt(far) if far > 0.0 else 0.0
        beside = off - wall if off > wall else 0.0
        if t <= depth:
            return beside
        if flat:
            return math.hypot(t - depth, beside)
        near_t, near_off = _nearest(t, off, other)
        return math.hypot(t - near_t, off - near_off)

    # bores that lie nearly crosswise may be nearest on either side
    start = min(_TURNS, key=gap) if abs(td) < 0.25 else 0.0
    angle = valley(gap, start, (0.7, 0.15, 0.02))  # to about 1e-4
    c, s = r * math.cos(angle), r * math.sin(angle)
    x: Vector = along(along(along(center, u, c), v, s), rim.axis, height(c, s))
    return x


_TURNS = tuple(math.pi / 4.0 * i for i in range(8))
