"""From spans, bridge, pitches and sleeves to drilled holes in space, and checks on those holes.

Everything is in the bowler's frame of `layoutkit.geometry.sphere`, lengths in inches, angles in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, NamedTuple

from layoutkit.ball.density import Step
from layoutkit.errors import InputError
from layoutkit.geometry.bores import (
    Bore,
    axis_offset,
    bore_gap,
    bottom_reach,
    edge_gap,
    outermost_common,
    rounded_gap,
)
from layoutkit.geometry.sphere import arc, axes_at, axes_by_parts, hole_arc, meeting
from layoutkit.geometry.vectors import (
    Vector,
    along,
    cross,
    dot,
    functions_for,
    length,
    scaled,
    segments,
    square_to,
    unit,
)
from layoutkit.job.record import (
    Finger,
    Grip,
    OuterFinger,
    OuterSleeve,
    Oval,
    Sleeve,
    Thumb,
    ThumbSleeve,
)
from layoutkit.planning.oval import count, front, milled_count, offsets
from layoutkit.units import fraction

FINGERS: tuple[str, str] = ("middle", "ring")
FINGER_SIDE = {"middle": -1.0, "ring": 1.0}  # the middle finger's is on the far side from the PAP
NEIGHBOUR = {"index": "middle", "little": "ring"}  # beside whose hole an outer finger's lies


class Hole(NamedTuple):
    """One gripping hole: what the bits of the finished hole and of the sleeve's bore sweep.

    Both start at one point of the surface along one axis. ``forward`` and ``right`` are the pitches
    as the record has them, right of the grip frame. ``cuts`` are the bores of an oval hole in the
    order of cutting, about ``finished`` in its middle; else the finished hole alone. ``finer`` are
    twice as many where a slot is milled, else none. Of a sleeve that stands in an outer one, ``bore`` is
    the outer sleeve's and ``inner`` is its own.
    """

    name: str
    finished: Bore
    bore: Bore | None
    sleeve: Sleeve | None
    forward: float
    right: float
    tilt: float
    cuts: tuple[Bore, ...]
    finer: tuple[Bore, ...] = ()
    inner: Bore | None = None

    @property
    def mouths(self) -> tuple[Bore, ...]:
        """The bores that the ball's surface loses: that of the sleeve, or those of the hole."""
        return self.cuts if self.bore is None else (self.bore,)

    @property
    def cavities(self) -> tuple[Bore, ...]:
        """The bores that bound what is left of the ball around this hole, sleeve or not."""
        finished, bore, inner = self.finished, self.bore, self.inner
        if bore is None:
            return self.cuts
        deeper = () if inner is None or inner.depth <= bore.depth else (inner,)
        within = finished.depth + finished.tip_height <= max(b.depth for b in (bore, *deeper))
        return (bore, *deeper) if within else (bore, *deeper, *self.cuts)


# --- placing --------------------------------------------------------------------------------------


# Shifts of a grip's figures, by names such as "grip.bridge", "grip.middle.span" and
# "grip.thumb.forward": numbers, or arrays (n,) where many grips are placed at once
Shift = Mapping[str, Any]
_NONE: Shift = MappingProxyType({})


def _mean_span(grip: Grip, shift: Shift) -> Any:
    """Half of the mean of the two spans."""
    middle, ring = (getattr(grip, n).span + shift.get(f"grip.{n}.span", 0.0) for n in FINGERS)
    return (middle + ring) / 4.0


def thumb_arc(grip: Grip, radius: float, shift: Shift = _NONE) -> Any:
    """Arc from the grip centre down to the thumb hole's centre; 0 at a no-thumb palm mark.

    The thumb's finished front edge lies at half of the mean of the two spans. An oval reaches
    further than its bit from its middle to that edge, unless it lies across.
    """
    thumb = grip.thumb
    if thumb is None:
        return 0.0
    reach = thumb.diameter
    if thumb.oval is not None:
        reach = 2.0 * front(reach, thumb.oval.length, thumb.oval.direction)
    return _mean_span(grip, shift) + hole_arc(reach, radius)


def span_arc(grip: Grip, radius: float, shift: Shift = _NONE) -> Any:
    """Arc from the grip centre down to where the spans are measured from; 0 at a palm mark.

    That is the centre of the thumb hole, of an oval one the centre of its bit at the front edge.
    """
    if grip.thumb is None:
        return 0.0
    return _mean_span(grip, shift) + hole_arc(grip.thumb.diameter, radius)


class _Reach(NamedTuple):
    """What a bridge does not change of a finger hole's place; angles in radians, seen at the centre.

    ``half`` is half the bored hole, ``cosine`` that of the angle from the thumb's centre (or the
    palm mark) to the finger's, ``thumb`` the angle from the grip centre down to the thumb's.
    Numbers, or arrays (n,) of many grips.
    """

    side: float
    half: float
    cosine: Any
    thumb: Any
    radius: float

    def offset(self, bridge: Any) -> Any:
        """The angle from the centreline to the hole's centre."""
        return bridge / 2.0 / self.radius + self.half

    def passes(self, bridge: float) -> bool:
        """Whether the span reaches past the bridge, so that there is a place for the hole."""
        return bool(self.cosine < math.cos(self.offset(bridge)))

    def center(self, bridge: Any) -> Any:
        """The hole's centre as a unit vector; on the thumb's level where the span is too short."""
        offset = self.offset(bridge)
        f = functions_for(offset, self.cosine, self.thumb)
        c = f.cos(offset)
        turn = f.acos(f.minimum(self.cosine / c, 1.0)) - self.thumb
        return (self.side * f.sin(offset), c * f.sin(turn), c * f.cos(turn))


def _reach(grip: Grip, name: str, radius: float, shift: Shift = _NONE) -> _Reach:
    """A finger hole's place but for the bridge.

    The bored near edge lies half the bridge from the centreline, and the finished near edge lies
    the span from the thumb's finished edge (or from the palm mark) along the arc of the centres.
    """
    reach = _from_thumb(grip, name, radius, shift)
    return _Reach(
        FINGER_SIDE[name],
        _bored(grip, name, radius) / radius,
        functions_for(reach).cos(reach / radius),
        span_arc(grip, radius, shift) / radius,
        radius,
    )


def _bored(grip: Grip, name: str, radius: float) -> float:
    """Arc radius of a finger hole as it is bored."""
    finger: Finger = getattr(grip, name)
    return float(hole_arc(finger.sleeve.bore if finger.sleeve else finger.diameter, radius))


def _from_thumb(grip: Grip, name: str, radius: float, shift: Shift = _NONE) -> Any:
    """Arc from where the spans are measured from to a finger hole's centre."""
    finger: Finger = getattr(grip, name)
    reach = finger.span + shift.get(f"grip.{name}.span", 0.0) + hole_arc(finger.diameter, radius)
    if grip.thumb is not None:
        reach += hole_arc(grip.thumb.diameter, radius)
    return reach


def _to_neighbour(grip: Grip, name: str, radius: float, shift: Shift = _NONE) -> Any:
    """Arc from an outer finger hole's centre to that of the hole beside it."""
    finger: OuterFinger = getattr(grip, name)
    bores = _bored(grip, name, radius) + _bored(grip, NEIGHBOUR[name], radius)
    return finger.gap + shift.get(f"grip.{name}.gap", 0.0) + bores


def _center(grip: Grip, name: str, radius: float, shift: Shift = _NONE) -> Any:
    """A finger hole's centre as a unit vector, by components.

    Middle and ring are told by their spans and the bridge. An outer finger's hole lies where the arc of
    its span crosses the arc of its gap, beyond its neighbour; where they do not cross, nearest to both.
    """
    if name in FINGER_SIDE:
        bridge = grip.bridge + shift.get("grip.bridge", 0.0)
        return _reach(grip, name, radius, shift).center(bridge)
    start = span_arc(grip, radius, shift) / radius
    f = functions_for(start)
    base = (0.0, -f.sin(start), f.cos(start))
    beside = _center(grip, NEIGHBOUR[name], radius, shift)
    far, near = (
        arc_to(grip, name, radius, shift) / radius for arc_to in (_from_thumb, _to_neighbour)
    )
    cosines = (functions_for(far).cos(far), functions_for(near).cos(near))
    foot, normal, square = meeting(base, beside, *cosines)
    f = functions_for(square)
    height = f.sqrt(f.where(square > 0.0, square, 0.0))
    return along(foot, normal, -FINGER_SIDE[NEIGHBOUR[name]] * height)


def hole_axis(center: Any, up: Any, out: Any, radius: float) -> Any:
    """Inward unit axis at a unit centre, its bottom leaning by ``up`` and ``out`` inches of pitch.

    The axis misses the ball's centre by the pitch p, so it leans by asin(p / R). Components and
    pitches are numbers or arrays (n,).
    """
    (x, y, z), (a, b, c) = axes_by_parts(center)
    px, py, pz = center
    u, o = up / radius, out / radius
    inward = -functions_for(u, o).sqrt(1.0 - u * u - o * o)
    return (
        o * x + u * a + inward * px,
        o * y + u * b + inward * py,
        o * z + u * c + inward * pz,
    )


def aim(grip: Grip, name: str, radius: float, hand: str, shift: Shift = _NONE) -> tuple[Any, Any]:
    """A gripping hole's centre on the unit sphere and its inward axis, by components.

    Forward pitch leans the bottom toward the palm: up for the thumb, down for the fingers. With
    arrays (n,) in ``shift`` the components are arrays (n,), too.
    """
    part = getattr(grip, name)
    if name == "thumb":
        a = thumb_arc(grip, radius, shift) / radius
        f = functions_for(a)
        center, toward_palm = (0.0, -f.sin(a), f.cos(a)), 1.0
    else:
        center, toward_palm = _center(grip, name, radius, shift), -1.0
    up = toward_palm * (part.pitch.forward_net + shift.get(f"grip.{name}.forward", 0.0))
    out = _outward(part, hand) + shift.get(f"grip.{name}.right", 0.0)
    return center, hole_axis(center, up, out, radius)


def place_holes(grip: Grip, radius: float, hand: str) -> tuple[Hole, ...]:
    """The gripping holes in the order middle, ring, index, little, thumb.

    Raises InputError where the grip cannot be laid out.
    """
    outer = [name for name in NEIGHBOUR if getattr(grip, name) is not None]
    holes = [_finger(grip, name, radius, hand) for name in (*FINGERS, *outer)]
    thumb = grip.thumb
    if thumb is not None:
        center, axis = aim(grip, "thumb", radius, hand)
        hole = _hole("thumb", thumb, scaled(center, radius), axis, radius)
        holes.append(hole if thumb.oval is None else _ovalled(hole, thumb.oval, radius, hand))
    return tuple(holes)


def _ovalled(hole: Hole, oval: Oval, radius: float, hand: str) -> Hole:
    """The hole with the bores of its oval; all end on the plane in which its middle ends."""
    entry, axis, bit = hole.finished.entry, hole.finished.axis, 2.0 * hole.finished.radius
    forth = unit(square_to(axes_at(scaled(entry, 1.0 / radius))[1], axis))
    aside = cross(axis, forth) if hand == "right" else cross(forth, axis)

    def bores(number: int) -> tuple[Bore, ...]:
        row = []
        for at in offsets(bit, oval.length, oval.direction, number):
            p = along(along(entry, forth, at.along), aside, at.across)
            up = dot(p, axis)
            sink = -up - math.sqrt(up * up - dot(p, p) + radius * radius)
            moved = along(p, axis, sink)
            row.append(hole.finished._replace(entry=moved, depth=hole.finished.depth - sink))
        return tuple(row)

    if not oval.milled:
        return hole._replace(cuts=bores(count(bit, oval.length, oval.scallop_net)))
    few = milled_count(bit, oval.length)
    return hole._replace(cuts=bores(few), finer=bores(2 * few - 1))


def _finger(grip: Grip, name: str, radius: float, hand: str) -> Hole:
    finger: Finger = getattr(grip, name)
    if name in NEIGHBOUR:
        _refuse_unreachable(grip, name, radius)
    elif not _reach(grip, name, radius).passes(grip.bridge):
        raise InputError(
            f"{fraction(finger.span)} in is too short to reach a hole "
            f"beside a bridge of {fraction(grip.bridge)} in; possible: a longer span.",
            f"bowler.grip.{name}.span",
        )
    center, axis = aim(grip, name, radius, hand)
    return _hole(name, finger, scaled(center, radius), axis, radius)


def _refuse_unreachable(grip: Grip, name: str, radius: float) -> None:
    """Raise InputError where an outer finger's span and gap cannot both be."""
    beside, near = NEIGHBOUR[name], _to_neighbour(grip, name, radius)
    start = span_arc(grip, radius) / radius
    base = (0.0, -math.sin(start), math.cos(start))
    between, far = arc(base, _center(grip, beside, radius), radius), _from_thumb(grip, name, radius)
    least, most = abs(far - between), min(far + between, 2.0 * math.pi * radius - far - between)
    if least < near < most:
        return
    bores = near - getattr(grip, name).gap
    words = f"possible with this span: {max(least - bores, 0.0):.3f} to {most - bores:.3f} in"
    raise InputError(
        f"{fraction(near - bores)} in from the {beside} hole cannot be with a span of "
        f"{fraction(getattr(grip, name).span)} in; {words}.",
        f"bowler.grip.{name}.gap",
    )


def _outward(part: Finger | Thumb, hand: str) -> float:
    """Lateral pitch toward the positive side."""
    right = part.pitch.right_net
    return right if hand == "right" else -right


def _hole(name: str, part: Finger | Thumb, entry: Vector, axis: Vector, radius: float) -> Hole:
    pitch, sleeve = part.pitch, part.sleeve
    forward, right = pitch.forward_net, pitch.right_net
    finished = Bore(entry, axis, part.diameter / 2.0, part.depth, part.tip_angle)
    bores = [
        Bore(entry, axis, each.bore / 2.0, each.bore_depth)
        for each in (() if sleeve is None else (outer_of(sleeve), sleeve))
        if each is not None
    ]
    return Hole(
        name,
        finished,
        bores[0] if bores else None,
        sleeve,
        forward,
        right,
        math.degrees(math.asin(math.hypot(forward, right) / radius)),
        (finished,),
        inner=bores[1] if len(bores) > 1 else None,
    )


def outer_of(sleeve: Sleeve) -> OuterSleeve | None:
    """The sleeve around a thumb sleeve; None where it stands in the ball itself."""
    return sleeve.outer if isinstance(sleeve, ThumbSleeve) else None


def drilling_steps(holes: tuple[Hole, ...], finer: bool = False) -> list[Step]:
    """All cuts and fills in the order of the work: bores, sleeves set, finished holes.

    ``finer`` takes the finer bores of milled slots.
    """
    bores, fills, cuts = [], [], []
    for i, hole in enumerate(holes):
        bore, sleeve, inner = hole.bore, hole.sleeve, hole.inner
        if bore is not None and sleeve is not None:
            bores.append(Step(bore, 0.0, i))
            outer = outer_of(sleeve)
            if inner is not None and outer is not None:
                fills += [_filled(bore, outer, i), Step(inner, 0.0, i)]
            fills.append(_filled(inner or bore, sleeve, i))
        cuts += [Step(cut, 0.0, i) for cut in (finer and hole.finer) or hole.cuts]
    return bores + fills + cuts


def _filled(bore: Bore, sleeve: OuterSleeve, hole: int) -> Step:
    """A sleeve that is set into its bore, from the surface down."""
    return Step(bore._replace(depth=sleeve.length_net), sleeve.density, hole)


# --- one hole -------------------------------------------------------------------------------------


def travel(bore: Bore, radius: float) -> float:
    """From the bit's first touch of the ball to the end of the cut, along the axis.

    A drill point touches with its tip unless it is flatter than the surface is tilted; a flat bit
    touches with the edge that lies nearest to the point where its axis passes the ball's centre.
    """
    p = axis_offset(bore)
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


def runs_out(bore: Bore, radius: float) -> bool:
    """Whether the bore comes out of the far side of the ball, with its bottom edge or its point."""
    past = bore.depth + dot(bore.entry, bore.axis)  # beyond where the axis passes the centre
    tip = math.hypot(past + bore.tip_height, axis_offset(bore))
    return (past > 0.0 and bottom_reach(bore) > radius) or (
        past + bore.tip_height > 0.0 and tip > radius
    )


# --- walls ----------------------------------------------------------------------------------------


class Wall(NamedTuple):
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
    walls = []
    cavities = [hole.cavities for hole in holes]
    for i, second in enumerate(holes):
        for j, first in enumerate(holes[:i]):
            walls.append(wall((first.name, second.name), cavities[j], cavities[i], radius))
    return tuple(walls)


def wall(
    names: tuple[str, str], first: Sequence[Bore], second: Sequence[Bore], radius: float
) -> Wall:
    """The least wall between two cavities, each the union of some bores."""
    pairs = [(a, b) for a in first for b in second]
    common = max([outermost_common(a, b) for a, b in pairs])
    if common > 0.0:
        return Wall(names, 0.0, max(radius - common, 0.0))
    thickness, place = math.inf, (0.0, 0.0, 0.0)
    # the nearest first: of what is surely farther apart nothing need be known
    for gap, a, b in sorted((rounded_gap(a, b), a, b) for a, b in pairs):
        if gap - a.tip_height - b.tip_height <= thickness:
            thickness, place = min((thickness, place), bore_gap(a, b, radius))
    return Wall(names, thickness, max(radius - length(place), 0.0))


def clearing_depth(holes: tuple[Hole, ...], radius: float, depth: float) -> float:
    """The deepest sixteenth to which both finger holes, cut no deeper, stay apart; 0 where none does.

    ``depth`` is that below the surface where the finger holes meet as they are. Of a hole with a
    sleeve the bore counts. ``holes`` are those of `place_holes`.
    """
    middle, ring = (hole.cavities for hole in holes[:2])
    pairs = [(a, b) for a in middle for b in ring]

    def apart(a: Bore, b: Bore, deepest: float) -> bool:
        a, b = (bore._replace(depth=min(bore.depth, deepest)) for bore in (a, b))
        deep, far = (bore.depth + bore.tip_height for bore in (a, b))
        if segments(a.entry, a.axis, deep, b.entry, b.axis, far)[0] > a.radius + b.radius:
            return True
        if min(edge_gap(a, b), edge_gap(b, a)) <= LEAST_CLEAR:
            return False
        return bore_gap(a, b, radius)[0] > LEAST_CLEAR

    # an axis that leans goes deeper along itself than below the surface
    n = math.floor(depth / SIXTEENTH) + 2
    for a, b in pairs:
        while n > 0 and not apart(a, b, n * SIXTEENTH):
            n -= 1
    return n * SIXTEENTH


LEAST_CLEAR = 0.002  # inches; less of a wall is none
WIDEST_BRIDGE = 1.0  # inches; what is tried to keep the finger holes apart
MOST_PITCH = 0.75  # inches of further lateral pitch on each finger
SIXTEENTH = 1.0 / 16.0


def clearing_changes(
    grip: Grip, holes: tuple[Hole, ...], radius: float, hand: str
) -> tuple[float | None, float | None]:
    """Bridge, and further lateral pitch on each finger, that keep the finger holes apart.

    The smallest sixteenths that do, each alone, up to a 1 in bridge and 3/4 in of pitch with the
    bottoms turned apart; None where none does. The bores are taken as round-ended, a little longer
    than they are, so what is named here clears them surely. ``holes`` are those of `place_holes`.
    """
    middle, ring = holes[:2]
    pairs = [(a, b) for a in middle.cavities for b in ring.cavities]

    def overlap(p: Vector, d: Vector, q: Vector, e: Vector) -> float:
        """By how much the bores of two holes overlap, with these entries and axes."""
        gaps = [segments(p, d, a.depth, q, e, b.depth)[0] - a.radius - b.radius for a, b in pairs]
        return -float(min(gaps))

    (p, d), (q, e) = ((h.finished.entry, h.finished.axis) for h in (middle, ring))
    # the lean toward the palm and the outward pitch of each
    u, v = -middle.forward, -ring.forward
    out, away = _outward(grip.middle, hand), _outward(grip.ring, hand)
    reaches = [_reach(grip, name, radius) for name in FINGERS]
    start = (math.floor(grip.bridge / SIXTEENTH) + 1) * SIXTEENTH
    now = overlap(p, d, q, e)

    def with_bridge(i: int) -> float:
        bridge = start + i * SIXTEENTH
        if not all(reach.passes(bridge) for reach in reaches):
            return math.inf  # the span does not reach past it, nor past wider ones
        one, other = (reach.center(bridge) for reach in reaches)
        return overlap(
            scaled(one, radius), hole_axis(one, u, out, radius),
            scaled(other, radius), hole_axis(other, v, away, radius),
        )  # fmt: skip

    one, other = scaled(p, 1.0 / radius), scaled(q, 1.0 / radius)

    def with_pitch(i: int) -> float:
        spread = (i + 1) * SIXTEENTH
        return overlap(
            p, hole_axis(one, u, out + FINGER_SIDE["middle"] * spread, radius),
            q, hole_axis(other, v, away + FINGER_SIDE["ring"] * spread, radius),
        )  # fmt: skip

    # a wider bridge parts the bottoms less than the surface, pitch parts the bottoms alone
    deep = min(grip.middle.depth, grip.ring.depth)
    count = round((WIDEST_BRIDGE - start) / SIXTEENTH) + 1
    at = (grip.bridge - start) / SIXTEENTH
    bridge = _least(with_bridge, at, now, max(radius - deep, 1.0) / radius * SIXTEENTH, count)
    count = round(MOST_PITCH / SIXTEENTH)
    pitch = _least(with_pitch, -1.0, now, max(2.0 * deep, 1.0) / radius * SIXTEENTH, count)
    return (
        None if bridge is None else start + bridge * SIXTEENTH,
        None if pitch is None else (pitch + 1) * SIXTEENTH,
    )


def _least(
    overlap: Callable[[int], float], at: float, now: float, slope: float, count: int
) -> int | None:
    """The least of the numbers 0 to ``count`` - 1 with an overlap below 0; None if there is none.

    The overlap is ``now`` at the number ``at`` and falls as the number grows, at first by about
    ``slope`` for each 1. It is inf from the first number on that is impossible. The next number to try
    is where a straight line through the last overlap and the first gap crosses 0.
    """
    high, under = count, math.nan  # the least number known to do
    step = now / slope
    while math.floor(at) + 1 < high:
        i = min(max(math.ceil(at + step), math.floor(at) + 1), high - 1)
        here = overlap(i)
        if here == math.inf:
            high = count = i
        elif here < 0.0:
            high, under = i, here
        else:
            if high == count and now > here:
                slope = (now - here) / (i - at)
            at, now = i, here
        step = now / slope if high == count else (high - at) * now / (now - under)
    return high if high < count else None
