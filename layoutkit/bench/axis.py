"""The axis point from the track: the small circle on the ball that fits the marks of an oil ring.

A ball that rolls about its axis is touched by the lane along a small circle about that axis. Of
marks on such a ring the axis follows by least squares of their distances from the circle, measured
along the surface, each weighed by how well its place across the ring is known. Linear propagation
gives how sure the axis is.

All points are in the bowler's frame (see `sphere`): over grows toward the positive side, for both
hands, so a track usually has negative over. The end of the axis on the positive side is the PAP.
Lengths are inches, angles degrees; inside the fit everything is in radians on the unit ball.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry import vectors as v
from layoutkit.geometry.sphere import arc, axes_at, from_over_up, meeting, to_over_up
from layoutkit.geometry.vectors import Array, Vector

Toward = Literal["negative", "positive", "fingers", "thumb"]

DEVIATION = 1.0 / 16.0  # inches; a mark on the ball, common practice, no source
MOST_UNSURE = 0.5  # inches, one standard deviation; a PAP less sure than this is no measurement
ODD = 3.09  # standard deviations; one sound ring in a thousand is taken for a mixed one
LIKELIER = 6.0  # difference of sums of squares: twenty times as likely
USUAL_TILT = (0.0, 45.0)  # degrees; more is a slip of the pen rather than a release
_ROUNDS = 60
_FINISHED = 1e-14  # radians of the last step
_LONGEST_STEP = 0.3  # radians
_LEAST = 1e-9  # singular value below which the marks leave a direction open


class RingMark(NamedTuple):
    """A mark on the ring: ``xyz`` in inches in the bowler's frame, ``name`` for messages.

    ``spread`` is its covariance along over and up (over-over, over-up, up-up) where whatever was
    measured for it has the variance 1.
    """

    name: str
    xyz: Vector
    spread: Vector


class Ring(NamedTuple):
    """The marks on one oil ring."""

    name: str
    marks: tuple[RingMark, ...]


class Sureness(NamedTuple):
    """One standard deviation of the PAP in inches: over, up, and where it is ``most`` unsure."""

    over: float
    up: float
    most: float


class RingFit(NamedTuple):
    """The circle of one ring.

    ``over``, ``up`` and ``xyz`` (bowler's frame) are the PAP; ``from_pap`` is the arc from it to the
    ring; ``track_arc`` the arc across the ring over the negative side, ``track_diameter`` the same
    straight through the ball; ``covered`` the degrees of the ring that the marks span;
    ``residuals`` how far each mark lies outside the ring, seen from the PAP.
    """

    name: str
    over: float
    up: float
    xyz: Vector
    tilt: float
    from_pap: float
    track_arc: float
    track_diameter: float
    covered: float
    residuals: tuple[float, ...]
    stated: Sureness
    observed: Sureness | None
    migration: float


class AxisFit(NamedTuple):
    """What the track says; ``over`` and ``up`` are the PAP's, of the first ring or shared by all.

    ``stated`` follows from the standard deviation of a mark, which is ``deviation``, ``observed`` from
    the residuals (None while as few marks were made as the ring has unknowns); ``freedom`` is the
    number of marks beyond those.
    """

    radius: float
    deviation: float
    shared: bool
    over: float
    up: float
    xyz: Vector
    tilt: float
    stated: Sureness
    observed: Sureness | None
    rms: float
    freedom: int
    rings: tuple[RingFit, ...]
    cautions: tuple[str, ...]

    @property
    def unsure(self) -> float:
        """Inches by which the PAP is unsure: the larger of what standard deviation and residuals say."""
        seen = 0.0 if self.observed is None else self.observed.most
        return max(self.stated.most, seen)


# --- marks ----------------------------------------------------------------------------------------


def mark_at(over: float, up: float, radius: float, name: str = "") -> RingMark:
    """A mark by its place from the grip centre; it is as unsure along over as along up."""
    return RingMark(name, from_over_up(float(over), float(up), radius), (1.0, 0.0, 1.0))


def mark_by_arcs(
    a: Vector,
    from_a: float,
    b: Vector,
    from_b: float,
    radius: float,
    toward: Toward = "negative",
    name: str = "",
) -> RingMark:
    """A mark by its arcs from two known points; of the two crossings the one farther ``toward``.

    Raises InputError where the arcs do not meet, only graze, or ``toward`` does not tell which.
    """
    n, m = v.scaled(a, 1.0 / radius), v.scaled(b, 1.0 / radius)
    if v.length(v.cross(n, m)) ** 2 < 1e-6:
        raise InputError(f"{name}: its two known points coincide or lie opposite; take others.")
    foot, normal, square = meeting(n, m, math.cos(from_a / radius), math.cos(from_b / radius))
    if square <= 0.0:
        apart = arc(a, b, radius)
        low, high = abs(apart - from_a), apart + from_a
        most = 2.0 * math.pi * radius - high
        raise InputError(
            f"{name}: the arcs {from_a:g} and {from_b:g} in do not meet; with the first the second "
            f"lies between {low:.3f} and {min(high, most):.3f} in."
        )
    height = math.sqrt(square)
    crossings = [v.along(foot, normal, h) for h in (height, -height)]
    axis, sign = {
        "negative": (0, -1.0), "positive": (0, 1.0), "fingers": (1, 1.0), "thumb": (1, -1.0),
    }[toward]  # fmt: skip
    one, other = (sign * each[axis] for each in crossings)
    over, up = axes_at(crossings[0] if one > other else crossings[1])
    here = crossings[0] if one > other else crossings[1]
    # rows: how each arc grows with a step over and up
    rows = np.array([[-v.dot(k, t) for t in (over, up)] for k in (n, m)])
    rows /= np.sqrt((rows * rows).sum(axis=1, keepdims=True))
    if abs(rows[0, 0] * rows[1, 1] - rows[0, 1] * rows[1, 0]) < 0.2:
        raise InputError(
            f"{name}: its two arcs only graze each other; measure from points that are seen more "
            "nearly at a right angle from the mark."
        )
    if abs(one - other) * radius < 0.25:
        words = "fingers or thumb" if axis == 0 else "negative or positive"
        raise InputError(f'{name}: "{toward}" does not tell the two crossings apart; say {words}.')
    inverse = np.linalg.inv(rows)
    c = inverse @ inverse.T
    return RingMark(name, v.scaled(here, radius), (float(c[0, 0]), float(c[0, 1]), float(c[1, 1])))


# --- the fit --------------------------------------------------------------------------------------


class Circles(NamedTuple):
    """Solutions of `circles`: ``axis`` (..., 3), ``angles`` (..., K), ``off`` (..., N) in radians.

    ``covariance`` (..., 2 + K, 2 + K) belongs to unit variances over the weights: the axis along
    over and up, then the angles.
    """

    axis: Array
    angles: Array
    off: Array
    covariance: Array


def circles(
    points: Array, ring: NDArray[np.intp] | None = None, weights: Array | None = None
) -> Circles:
    """Least-squares small circles about one axis, through unit vectors (..., N, 3).

    ``ring`` (N,) numbers each point's circle from 0 (all on one without it), ``weights`` (..., N)
    multiply the squared distances. Gauss-Newton from the plane through the points; the axis is the
    end on the positive side. Where the points leave it open the covariance is huge.
    """
    points = np.asarray(points, dtype=float)
    count = points.shape[-2]
    number = np.zeros(count, dtype=np.intp) if ring is None else ring
    belongs = np.eye(int(number.max()) + 1)[number]  # (N, K)
    root = np.ones(points.shape[:-1]) if weights is None else np.sqrt(weights)
    means = np.einsum("nk,...nc->...kc", belongs / belongs.sum(axis=0), points)
    centred = points - np.einsum("nk,...kc->...nc", belongs, means)
    # zero rows, so that as many directions come out as the space has
    padded = np.concatenate([centred, np.zeros((*points.shape[:-2], 3, 3))], axis=-2)
    axis = _positive(np.linalg.svd(padded)[2][..., 2, :])
    angles = _angles(points, axis) @ (belongs / belongs.sum(axis=0))
    for _ in range(_ROUNDS):
        off = _angles(points, axis) - angles @ belongs.T
        inverse, basis = _inverse(points, axis, belongs, root)
        step = -np.einsum("...pn,...n->...p", inverse, root * off)
        size = np.abs(step).max(axis=-1, keepdims=True)
        step = step * np.minimum(1.0, _LONGEST_STEP / np.maximum(size, 1e-300))
        axis = axis + np.einsum("...t,...tc->...c", step[..., :2], basis)
        axis = axis / np.sqrt((axis * axis).sum(axis=-1, keepdims=True))
        angles = angles + step[..., 2:]
        if size.size == 0 or float(size.max()) < _FINISHED:
            break
    flip = axis[..., :1] < 0.0
    axis, angles = np.where(flip, -axis, axis), np.where(flip, math.pi - angles, angles)
    inverse, _ = _inverse(points, axis, belongs, root)
    covariance = inverse @ np.swapaxes(inverse, -1, -2)
    return Circles(axis, angles, _angles(points, axis) - angles @ belongs.T, covariance)


def _positive(axis: Array) -> Array:
    return np.where(axis[..., :1] < 0.0, -axis, axis)


def _angles(points: Array, axis: Array) -> Array:
    return np.asarray(arc(points, axis[..., None, :], 1.0))


def _inverse(points: Array, axis: Array, belongs: Array, root: Array) -> tuple[Array, Array]:
    """Pseudo-inverse (..., 2 + K, N) of the weighted slopes, and the axis's directions (..., 2, 3).

    A point's angle from the axis falls as the axis moves toward it.
    """
    over, up = axes_at(axis)
    basis = np.stack([over, up], axis=-2)
    sine = np.sin(_angles(points, axis))
    slopes = -np.einsum("...nc,...tc->...nt", points, basis) / np.maximum(sine, 1e-12)[..., None]
    wide = np.broadcast_to(-belongs, (*points.shape[:-2], *belongs.shape))
    matrix = np.concatenate([slopes, wide], axis=-1) * root[..., None]
    u, s, vt = np.linalg.svd(matrix, full_matrices=False)
    s = np.maximum(s, _LEAST * s[..., :1])
    return np.einsum("...sp,...s,...ns->...pn", vt, 1.0 / s, u), basis


def _weights(points: Array, spread: Array, axis: Array) -> Array:
    """One over the variance of each point across the ring, (N,), spread (N, 3)."""
    over, up = axes_at(points)
    away = points * (points @ axis)[:, None] - axis
    away = away / np.maximum(np.sqrt((away * away).sum(axis=1)), 1e-12)[:, None]
    a, b = (away * over).sum(axis=1), (away * up).sum(axis=1)
    return np.asarray(
        1.0 / (a * a * spread[:, 0] + 2.0 * a * b * spread[:, 1] + b * b * spread[:, 2])
    )


class _Solved(NamedTuple):
    """One fit of rings about one axis, in radians; ``chi2`` in units of the standard deviation."""

    circles: Circles
    chi2: float
    freedom: int


def _solve(rings: Sequence[Ring], radius: float, deviation: float) -> _Solved:
    marks = [mark for ring in rings for mark in ring.marks]
    number = np.repeat(np.arange(len(rings), dtype=np.intp), [len(ring.marks) for ring in rings])
    points = np.array([mark.xyz for mark in marks]) / radius
    spread = np.array([mark.spread for mark in marks])
    fit = circles(points, number)
    for _ in range(3):  # the direction across the ring follows the axis, and hardly moves
        weights = _weights(points, spread, fit.axis)
        if np.ptp(weights) < 1e-12:
            break
        fit = circles(points, number, weights)
    chi2 = float((weights * fit.off**2).sum()) * (radius / deviation) ** 2
    return _Solved(fit, chi2, len(marks) - 2 - len(rings))


def fit_axis(
    rings: Sequence[Ring], radius: float, deviation: float = DEVIATION, shared: bool = False
) -> AxisFit:
    """The PAP and the ring or rings that fit the marks on a ball of ``radius`` inches.

    ``deviation`` is one standard deviation of what was measured for a mark, in inches. Each ring has
    an axis of its own, and the first ring's is the PAP; with ``shared`` all rings stand about one
    axis. Raises InputError where marks are too few, too close together or not on one ring.
    """
    if not rings:
        raise InputError("There are no marks; a ring needs three or more.")
    for ring in rings:
        least = 2 if shared and len(rings) > 1 else 3
        if len(ring.marks) < least:
            number = len(ring.marks)
            raise InputError(
                f"ring {ring.name}: has only {number} mark{'s' if number != 1 else ''}; "
                f"it needs {'two' if least == 2 else 'three'} or more."
            )
    if sum(len(ring.marks) for ring in rings) < 2 + len(rings):
        raise InputError("There are too few marks for one axis; mark a third point on a ring.")
    for ring in rings:
        _one_ring(ring, rings, radius, deviation)
    if shared:
        whole = _solve(rings, radius, deviation)
        _sure(whole, radius, deviation, "The marks")
        if _odd(whole):
            raise InputError(
                "The rings do not lie about one axis within the standard deviation of their marks: "
                "fit them separately; the first ring gives the PAP."
            )
        solved = [whole]
    else:
        solved = [_solve([ring], radius, deviation) for ring in rings]
        for ring, each in zip(rings, solved, strict=True):
            _sure(each, radius, deviation, f"ring {ring.name}: its marks")
    first = _point(solved[0].circles.axis, radius)
    fits = []
    start = 0
    for i, ring in enumerate(rings):
        each, k = (solved[0], i) if shared else (solved[i], 0)
        count = len(ring.marks)
        off = each.circles.off[start : start + count] if shared else each.circles.off
        fits.append(_ring_fit(ring, each, k, off, radius, deviation, first))
        start += count
    top, all_off = fits[0], np.array([r for f in fits for r in f.residuals])
    freedom = solved[0].freedom
    return AxisFit(
        radius, deviation, shared, top.over, top.up, top.xyz, top.tilt, top.stated, top.observed,
        math.sqrt(float((all_off**2).mean())), freedom, tuple(fits),
        tuple(_cautions(fits, freedom)),
    )  # fmt: skip


def _point(axis: Array, radius: float) -> Vector:
    x, y, z = (float(c) * radius for c in axis)
    return x, y, z


def _ring_fit(
    ring: Ring,
    solved: _Solved,
    k: int,
    off: Array,
    radius: float,
    deviation: float,
    first: Vector,
) -> RingFit:
    angle = float(solved.circles.angles[k])
    xyz = _point(solved.circles.axis, radius)
    over, up = to_over_up(xyz, radius)
    stated = _sureness(solved.circles.covariance, deviation)
    observed = None
    if solved.freedom > 0:
        share = math.sqrt(solved.chi2 / solved.freedom)
        observed = Sureness(*(share * each for each in stated))
    return RingFit(
        ring.name, over, up, xyz, math.degrees(angle) - 90.0, radius * angle,
        2.0 * radius * (math.pi - angle), 2.0 * radius * math.sin(angle),
        _covered(ring, solved.circles.axis), tuple((radius * off).tolist()), stated, observed,
        float(arc(first, xyz, radius)),
    )  # fmt: skip


def _sureness(covariance: Array, deviation: float) -> Sureness:
    """Sureness in inches: a step of the axis in radians per radian of a mark is one per inch."""
    c = covariance[:2, :2]
    over, up = (deviation * math.sqrt(float(c[i, i])) for i in (0, 1))
    return Sureness(over, up, deviation * math.sqrt(float(np.linalg.eigvalsh(c)[1])))


def _covered(ring: Ring, axis: Array) -> float:
    """The degrees of the ring from the first mark to the last, the widest gap left out."""
    over, up = axes_at(axis)
    points = np.array([mark.xyz for mark in ring.marks])
    turns = np.sort(np.degrees(np.arctan2(points @ up, points @ over)))
    gaps = np.diff(np.append(turns, turns[0] + 360.0))
    return 360.0 - float(gaps.max())


# --- what cannot be ------------------------------------------------------------------------------


def critical(freedom: int) -> float:
    """What a sound ring's sum of squares exceeds once in a thousand (Wilson and Hilferty, 1931)."""
    a = 2.0 / (9.0 * freedom)
    return float(freedom * (1.0 - a + ODD * math.sqrt(a)) ** 3)


def _odd(solved: _Solved) -> bool:
    return solved.freedom > 0 and solved.chi2 > critical(solved.freedom)


def _sure(solved: _Solved, radius: float, deviation: float, whose: str) -> None:
    """Raise InputError for marks that leave the axis open."""
    most = _sureness(solved.circles.covariance, deviation).most
    if not most <= MOST_UNSURE:
        unsure = f"{most:.2f} in" if most < math.pi * radius else "any distance"
        raise InputError(
            f"{whose} are too close together: with {deviation:.3g} in for each they leave the PAP "
            f"unsure by {unsure}, more than {MOST_UNSURE:g}; spread them along the ring."
        )


def _one_ring(ring: Ring, rings: Sequence[Ring], radius: float, deviation: float) -> None:
    """Raise InputError for marks that do not lie on one ring; names the odd mark where it is clear."""
    if len(ring.marks) < 4:
        return
    whole = _solve([ring], radius, deviation)
    if not _odd(whole):
        return
    head = f"ring {ring.name}: its marks do not lie on one ring (mixed)"
    if len(ring.marks) == 4:
        raise InputError(
            f"{head}: one of the four does not belong to the others, and a fifth would tell which; "
            "measure them again."
        )
    rest = []
    for i in range(len(ring.marks)):
        kept = Ring(ring.name, ring.marks[:i] + ring.marks[i + 1 :])
        each = _solve([kept], radius, deviation)
        rest.append((_odd(each), each.chi2, i))
    sound = sorted(each for each in rest if not each[0])
    if not sound:
        raise InputError(
            f"{head}: leaving out one mark does not mend it; mark one ring with another pen, and "
            "measure its marks again."
        )
    # of two ways to mend it the far likelier one is meant
    likely = sorted(i for _, chi2, i in sound if chi2 - sound[0][1] < LIKELIER)
    named = [ring.marks[i].name for i in likely]
    if len(named) > 1:
        several = ", ".join(named[:-1]) + f" or {named[-1]}"
        raise InputError(
            f"{head}: it is one of {several}, and another mark would tell which; measure them again."
        )
    i = likely[0]
    kept = Ring(ring.name, ring.marks[:i] + ring.marks[i + 1 :])
    off = _distance(ring.marks[i], kept, radius, deviation)
    others = [
        other.name
        for other in rings
        if other is not ring
        and len(other.marks) >= 3
        and abs(_distance(ring.marks[i], other, radius, deviation)) < ODD * deviation
    ]
    where = f", on ring {others[0]}" if others else ""
    raise InputError(
        f"{head}: {named[0]} lies {abs(off):.2f} in off the ring of the others{where}; measure it "
        "again or leave it out."
    )


def _distance(mark: RingMark, ring: Ring, radius: float, deviation: float) -> float:
    """How far a mark lies outside another ring, in inches."""
    fit = _solve([ring], radius, deviation).circles
    return float(arc(mark.xyz, _point(fit.axis, radius), radius) - radius * fit.angles[0])


def _cautions(fits: Sequence[RingFit], freedom: int) -> list[str]:
    cautions: list[str] = []
    if freedom == 0:
        cautions.append(
            "The marks are just as many as fix the ring, so none of them is checked: make one more."
        )
    low, high = USUAL_TILT
    cautions += (
        f"Ring {fit.name}: an axis tilt of {fit.tilt:.0f} degrees is unusual; check the signs of over "
        "and up, and that the ring is the bowler's track."
        for fit in fits
        if not low <= fit.tilt <= high
    )
    if len(fits) > 1:
        order = [fit.migration for fit in fits]
        if any(b < a - 2.0 * fits[0].stated.most for a, b in pairwise(order)):
            cautions.append(
                "The axes do not lead steadily away from the first ring's: check which is first."
            )
    return cautions
