"""From spans, bridge, pitches and sleeves to drilled holes in space, and checks on those holes.

Everything is in the bowler's frame of `layoutkit.sphere`, lengths in inches, angles in degrees.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from layoutkit.body import Step
from layoutkit.errors import InputError
from layoutkit.record import Finger, Grip, Sleeve
from layoutkit.solids import Array, Bore, Vector, segment_distance, outermost_common
from layoutkit.sphere import axes_at, dot, hole_arc
from layoutkit.units import fraction

FINGERS = ("middle", "ring")
FINGER_SIDE = np.array([-1.0, 1.0])  # middle on the far side of the centreline from the PAP


@dataclass(frozen=True, slots=True)
class Hole:
    """One gripping hole. ``entry`` lies on the surface, ``axis`` is of length one and inward.

    ``forward`` and ``right`` are the pitches as the record has them, right of the grip frame.
    """

    name: str
    entry: Vector
    axis: Vector
    diameter: float
    depth: float
    tip_angle: float | None
    sleeve: Sleeve | None
    forward: float
    right: float
    tilt: float

    @property
    def cut_diameter(self) -> float:
        """The widest diameter that a bit cuts: the bore of the sleeve, if there is one."""
        return self.sleeve.bore if self.sleeve else self.diameter

    @property
    def finished(self) -> Bore:
        """What the bit of the finished hole sweeps."""
        return Bore(self.entry, self.axis, self.diameter / 2.0, self.depth, self.tip_angle)

    @property
    def bore(self) -> Bore | None:
        """What the bit of the sleeve's bore sweeps."""
        s = self.sleeve
        return Bore(self.entry, self.axis, s.bore / 2.0, s.bore_depth) if s else None

    @property
    def cavities(self) -> tuple[Bore, ...]:
        """The bores that bound what is left of the ball around this hole, sleeve or not."""
        finished, bore = self.finished, self.bore
        if bore is None:
            return (finished,)
        return (bore,) if finished.depth + finished.tip_height <= bore.depth else (bore, finished)


def thumb_arc(grip: Grip, radius: float) -> float:
    """Arc from the grip centre down to the thumb hole's centre; 0 at the palm mark of a no-thumb grip.

    The thumb's finished front edge lies at half of the mean of the two spans.
    """
    if grip.thumb is None:
        return 0.0
    spans = grip.middle.span + grip.ring.span
    return spans / 4.0 + float(hole_arc(grip.thumb.diameter, radius))


def finger_centers(grip: Grip, radius: float, bridge: Array | float) -> Array:
    """Centres of middle and ring hole for one or many bridges (...), as unit vectors (..., 2, 3).

    Each bored near edge lies half the bridge from the centreline, and each finished near edge lies
    its span from the thumb's finished edge (or from the palm mark) along the arc of the centres.
    Raises InputError where a span is too short to reach past the bridge.
    """
    fingers = (grip.middle, grip.ring)
    bored = hole_arc([f.sleeve.bore if f.sleeve else f.diameter for f in fingers], radius)
    offset = np.asarray(bridge, dtype=float)[..., None] / 2.0 + bored
    reach = np.array([f.span for f in fingers]) + hole_arc([f.diameter for f in fingers], radius)
    if grip.thumb is not None:
        reach = reach + hole_arc(grip.thumb.diameter, radius)
    cosine = np.cos(reach / radius) / np.cos(offset / radius)
    if (cosine >= 1.0).any():
        name = FINGERS[int((cosine >= 1.0).reshape(-1, 2).any(axis=0).argmax())]
        raise InputError(
            f"bowler.grip.{name}.span: {fraction(getattr(grip, name).span)} in is too short to "
            f"reach a hole beside a bridge of {fraction(grip.bridge)} in; a longer span is needed."
        )
    along = np.arccos(cosine) - thumb_arc(grip, radius) / radius
    x, c = FINGER_SIDE * np.sin(offset / radius), np.cos(offset / radius)
    return np.stack([x, c * np.sin(along), c * np.cos(along)], axis=-1)


def hole_axes(centers: Array, up: Array, out: Array, radius: float) -> Array:
    """Inward unit axes (..., 3) at unit centres, leaning by ``up`` and ``out`` inches of pitch.

    The axis misses the ball's centre by the pitch p, so it leans by asin(p / R).
    """
    over, north = axes_at(centers)
    u, o = up / radius, out / radius
    inward = np.sqrt(1.0 - u * u - o * o)
    return np.asarray(o[..., None] * over + u[..., None] * north - inward[..., None] * centers)


def place_holes(grip: Grip, radius: float, hand: str) -> tuple[Hole, ...]:
    """The gripping holes in the order middle, ring, thumb.

    Raises InputError where the grip cannot be laid out.
    """
    side = 1.0 if hand == "right" else -1.0
    centers = finger_centers(grip, radius, grip.bridge)
    parts = [("middle", grip.middle), ("ring", grip.ring)]
    leans = [-1.0, -1.0]
    if grip.thumb is not None:
        a = thumb_arc(grip, radius) / radius
        centers = np.concatenate([centers, [[0.0, -math.sin(a), math.cos(a)]]])
        parts.append(("thumb", grip.thumb))  # type: ignore[arg-type]
        leans.append(1.0)
    forward = np.array([p.pitch.forward_net for _, p in parts])
    right = np.array([p.pitch.right_net for _, p in parts])
    axes = hole_axes(centers, np.array(leans) * forward, side * right, radius)
    entries, inward = (radius * centers).tolist(), axes.tolist()
    return tuple(
        Hole(
            name,
            tuple(entries[i]),
            tuple(inward[i]),
            part.diameter,
            part.depth,
            part.tip_angle,
            part.sleeve,
            part.pitch.forward_net,
            part.pitch.right_net,
            math.degrees(math.asin(math.hypot(forward[i], right[i]) / radius)),
        )
        for i, (name, part) in enumerate(parts)
    )


def drilling_steps(holes: tuple[Hole, ...]) -> list[Step]:
    """All cuts and fills in the order of the work: bores, sleeves set, finished holes."""
    bores, fills, cuts = [], [], []
    for i, hole in enumerate(holes):
        bore = hole.bore
        if bore is not None and hole.sleeve is not None:
            bores.append(Step(bore, 0.0, i))
            sleeve = Bore(hole.entry, hole.axis, bore.radius, hole.sleeve.length_net)
            fills.append(Step(sleeve, hole.sleeve.density, i))
        cuts.append(Step(hole.finished, 0.0, i))
    return bores + fills + cuts


def travel(bore: Bore, radius: float) -> float:
    """From the bit's first touch of the ball to the end of the cut, along the axis.

    A drill point touches with its tip unless it is flatter than the surface is tilted; a flat bit
    touches with the edge that lies nearest to the point where its axis passes the ball's centre.
    """
    p = _offset(bore)
    deep = math.sqrt(radius * radius - p * p)
    h, r = bore.tip_height, bore.radius
    if h == 0.0:
        touch = deep - math.sqrt(radius * radius - max(p - r, 0.0) ** 2)
        return bore.depth - touch
    # the tip leads by h; at distance rho from the axis the surface is met at deep - sqrt(R^2 -
    # (p - rho)^2), and the bit lags by rho h / r: least where the surface is as steep as the point
    steep = radius * h / math.hypot(h, r)
    rho = min(max(p - steep, 0.0), r)
    touch = deep - math.sqrt(radius * radius - (p - rho) ** 2) + rho * h / r
    return bore.depth + h - touch


def _offset(bore: Bore) -> float:
    """Distance of the bore's axis from the ball's centre."""
    t = sum(a * b for a, b in zip(bore.entry, bore.axis, strict=True))
    square = sum(a * a for a in bore.entry) - t * t
    return math.sqrt(max(square, 0.0))


def runs_out(bore: Bore, radius: float) -> bool:
    """Whether the bore comes out of the far side of the ball anywhere on its bottom edge."""
    p = _offset(bore)
    past = bore.depth - math.sqrt(radius * radius - p * p)
    return past > 0.0 and past * past + (p + bore.radius) ** 2 > radius * radius


# --- walls ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Wall:
    """The least wall between two holes, in inches, and the depth below the surface where it is.

    ``thickness`` is 0 where the holes meet; ``depth`` is then that of the shallowest point that they
    have in common.
    """

    holes: tuple[str, str]
    thickness: float
    depth: float

    @property
    def meets(self) -> bool:
        """Whether the two holes run into each other."""
        return self.thickness <= 0.0


def least_walls(holes: tuple[Hole, ...], radius: float) -> tuple[Wall, ...]:
    """The least wall of each pair of holes, over their whole depth, sleeves taken out."""
    pairs = [(i, j) for i in range(len(holes)) for j in range(i)]
    cuts = [(k, a, b) for k, (i, j) in enumerate(pairs) for a in holes[i].cavities for b in holes[j].cavities]
    gap, place = _gaps([a for _, a, _ in cuts], [b for _, _, b in cuts], radius)
    below = radius - np.sqrt(dot(place, place))
    walls = []
    for k, (i, j) in enumerate(pairs):
        mine = [n for n, cut in enumerate(cuts) if cut[0] == k]
        n = min(mine, key=lambda m: gap[m])
        names = (holes[j].name, holes[i].name)
        if gap[n] > 1e-9:
            walls.append(Wall(names, float(gap[n]), max(float(below[n]), 0.0)))
        else:
            met = (outermost_common(cuts[m][1], cuts[m][2]) for m in mine if gap[m] <= 1e-9)
            walls.append(Wall(names, 0.0, max(radius - max(met), 0.0)))
    return tuple(walls)


class _Sides:
    """Arrays of bores: entry, axis, two directions across; radius, depth and point height (n, 1)."""

    def __init__(self, bores: list[Bore]) -> None:
        self.p, self.d = np.array([b.entry for b in bores]), np.array([b.axis for b in bores])
        self.r, self.length, self.tip = np.array(
            [(b.radius, b.depth, b.tip_height) for b in bores]
        ).T


def _gaps(first: list[Bore], second: list[Bore], radius: float) -> tuple[Array, Array]:
    """Least distance (n,) between the bores of each pair and a point (n, 3) in the middle of it.

    The nearest points of two convex bores lie either on both walls, where the common normal of the
    axes is, or on the rim of one of them, at its bottom or at the surface. Rims are searched from
    the direction of the other axis on, by closing in on the least distance.
    """
    a, b = _Sides(first), _Sides(second)
    n = len(first)
    # both walls: the common normal of the two axes
    r = a.p - b.p
    k, c, f = dot(a.d, b.d), dot(a.d, r), dot(b.d, r)
    det = np.maximum(1.0 - k * k, 1e-12)
    s, t = (k * f - c) / det, (f - k * c) / det
    on_a, on_b = a.p + s[:, None] * a.d, b.p + t[:, None] * b.d
    span = on_b - on_a
    dist = np.sqrt(dot(span, span))
    inside = (s >= 0.0) & (s <= a.length) & (t >= 0.0) & (t <= b.length)
    best = np.where(inside, np.maximum(dist - a.r - b.r, 0.0), np.inf)
    place = on_a + span * ((a.r + 0.5 * (dist - a.r - b.r)) / np.maximum(dist, 1e-12))[:, None]

    # rims: (4 n) cases, rim of one bore against the other bore
    p, q = np.concatenate([a.p, a.p, b.p, b.p]), np.concatenate([b.p, b.p, a.p, a.p])
    d, e = np.concatenate([a.d, a.d, b.d, b.d]), np.concatenate([b.d, b.d, a.d, a.d])
    rim = np.concatenate([a.r, a.r, b.r, b.r])[:, None]
    wall = np.concatenate([b.r, b.r, a.r, a.r])[:, None]
    floor = np.concatenate([b.length, b.length, a.length, a.length])[:, None]
    at = np.concatenate([a.length, 0.0 * a.length, b.length, 0.0 * b.length])
    surface = (np.arange(4 * n) // n % 2 == 1)[:, None]
    center = p + at[:, None] * d
    w = center - q
    foot = np.minimum(np.maximum(dot(w, e), 0.0), floor[:, 0])
    toward = foot[:, None] * e - w
    toward -= dot(toward, d)[:, None] * d
    u = toward / np.maximum(np.sqrt(dot(toward, toward)), 1e-12)[:, None]
    v = np.stack([d[:, (i + 1) % 3] * u[:, (i + 2) % 3] - d[:, (i + 2) % 3] * u[:, (i + 1) % 3] for i in range(3)], axis=1)
    angle, width = np.zeros((4 * n, 1)), 1.2
    offset = np.linspace(-1.0, 1.0, 9)
    pd, pu, pv = (dot(p, x)[:, None] for x in (d, u, v))
    for _ in range(4):
        phi = angle + width * offset
        cos, sin = np.cos(phi) * rim, np.sin(phi) * rim
        # a rim at the surface rises and falls with the ball
        along = np.where(
            surface,
            -pd - np.sqrt(np.maximum(radius**2 - (pu + cos) ** 2 - (pv + sin) ** 2, 0.0)),
            at[:, None],
        )
        x = (
            p[:, None] + along[..., None] * d[:, None]
            + cos[..., None] * u[:, None] + sin[..., None] * v[:, None]
        )
        w = x - q[:, None]
        t = (w * e[:, None]).sum(axis=2)
        across = np.sqrt(np.maximum(dot(w, w) - t * t, 0.0))
        gap = np.hypot(np.maximum(across - wall, 0.0), np.maximum(t - floor, 0.0))
        pick = gap.argmin(axis=1)[:, None]
        angle = np.take_along_axis(phi, pick, axis=1)
        width /= 5.0
    least = np.take_along_axis(gap, pick, axis=1)[:, 0].reshape(4, n)
    point = np.take_along_axis(x, pick[..., None], axis=1)[:, 0].reshape(4, n, 3)
    which = least.argmin(axis=0)
    nearest = least[which, np.arange(n)]
    closer = nearest < best
    return np.where(closer, nearest, best), np.where(closer[:, None], point[which, np.arange(n)], place)


def clearing_changes(grip: Grip, radius: float, hand: str) -> tuple[float | None, float | None]:
    """Bridge, and extra lateral pitch of each finger, that keep the finger holes apart.

    The smallest sixteenths that do, each alone, up to a 1 in bridge and 3/4 in of pitch with the
    bottoms turned apart; None where none does. The holes are taken as round-ended, a little longer
    than they are, so what is named here clears them surely.
    """
    fingers = (grip.middle, grip.ring)
    side = 1.0 if hand == "right" else -1.0
    forward = np.array([f.pitch.forward_net for f in fingers])
    right = np.array([f.pitch.right_net for f in fingers])
    bridges = np.arange(math.floor(grip.bridge * 16.0) + 1, 17) / 16.0
    extra = np.arange(1, 13) / 16.0
    count = len(bridges)
    spread = np.concatenate([np.zeros(count), extra])
    # a span too short for a wider bridge ends the list of bridges that can be tried
    try:
        centers = finger_centers(grip, radius, np.concatenate([bridges, grip.bridge + 0.0 * extra]))
    except InputError:
        count, spread = 0, extra
        centers = finger_centers(grip, radius, grip.bridge + 0.0 * extra)
    out = side * right + spread[:, None] * FINGER_SIDE
    axes = hole_axes(centers, np.broadcast_to(-forward, out.shape), out, radius)
    clear = np.ones(len(centers), dtype=bool)
    for a in _cut_sizes(fingers[0]):
        for b in _cut_sizes(fingers[1]):
            gap = segment_distance(
                radius * centers[:, 0], axes[:, 0], np.array(a[1]),
                radius * centers[:, 1], axes[:, 1], np.array(b[1]),
            )
            clear &= gap > a[0] + b[0]
    bridge = next((float(v) for v, ok in zip(bridges[:count], clear, strict=False) if ok), None)
    pitch = next((float(v) for v, ok in zip(extra, clear[count:], strict=True) if ok), None)
    return bridge, pitch


def _cut_sizes(finger: Finger) -> list[tuple[float, float]]:
    """Radius and depth of each cylinder cut for a finger."""
    sizes = [(finger.diameter / 2.0, finger.depth)]
    if finger.sleeve:
        sizes.append((finger.sleeve.bore / 2.0, finger.sleeve.bore_depth))
    return sizes
