"""What a ball had drilled into it before: its old holes by the ball's own marks, and their plugs.

Everything is in the bowler's frame of `layoutkit.geometry.sphere`, lengths in inches, angles in
degrees. Old holes belong to the ball: they are measured from the pin and the reference mark (the PSA
mark, or the CG mark on a ball without one), clockwise seen from outside, whatever the bowler's hand.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from layoutkit.ball.density import Step
from layoutkit.geometry.bores import Bore, distance, outermost_common
from layoutkit.geometry.sphere import arc, bearing, direction, walk, wrap180
from layoutkit.geometry.vectors import Vector, along, dot, frame, length, minus, scaled
from layoutkit.job.record import OldHole, Plug
from layoutkit.planning.grip import Wall, wall
from layoutkit.planning.old_places import Crossing, by_arcs, old_grip

_SEEN = 1.0 / 16.0  # inches; a void no larger matters to nobody
SAME_PLACE = 1.0 / 64.0  # inches; by how much an old hole may stand out of a new one that holds it
_TURNS, _RINGS = 96, 48  # places looked at on a void's wall


class Old(NamedTuple):
    """An old hole as it was drilled, and its plug; ``plugged`` is how far down that goes.

    ``crossing`` is where its two arcs meet, None where no arcs tell its place.
    """

    name: str
    bore: Bore
    plug: Plug | None
    plugged: float
    crossing: Crossing | None = None

    @property
    def full(self) -> bool:
        """Whether nothing of it is left open."""
        return self.plugged >= self.bore.depth + self.bore.tip_height - 1e-9


def place_old(
    holes: Sequence[OldHole],
    marks: Mapping[str, Vector],
    reference: float,
    hand: str,
    radius: float,
) -> tuple[Old, ...]:
    """Old holes in space.

    ``marks`` are the points of the ball from which arcs may be told, by their names in the record;
    ``reference`` is the bearing of the reference mark at the pin. Raises InputError as `by_arcs` and
    `old_grip` do.
    """
    turn, pin = 1.0 if hand == "right" else -1.0, marks["pin"]
    spots, crossings = [], []
    for n, hole in enumerate(holes):
        crossing, at_pin = None, hole.at_pin
        if at_pin is None:
            crossing = by_arcs(hole, n, marks, hand, radius)
            entry = scaled(crossing.place, radius)
            onward = walk(pin, bearing(pin, entry), arc(pin, entry, radius))[1]
        else:
            entry, onward = walk(pin, reference + turn * at_pin[1], at_pin[0])
        spots.append((entry, onward))
        crossings.append(crossing)
    before = old_grip(holes, [scaled(e, 1.0 / radius) for e, _ in spots], hand, radius)
    placed = []
    for n, (hole, (entry, onward), crossing) in enumerate(
        zip(holes, spots, crossings, strict=True), 1
    ):
        u = scaled(entry, 1.0 / radius)
        if before is not None and hole.pitch is not None:
            axis = before.axis(hole, u, radius)
        else:
            back = direction(u, onward + 180.0)  # toward the pin
            right = direction(u, onward + 180.0 + 90.0 * turn)
            t, r = hole.toward_pin / radius, hole.right / radius
            inward = -math.sqrt(max(1.0 - t * t - r * r, 0.0))
            axis = along(along(scaled(u, inward), back, t), right, r)
        bore = Bore(entry, axis, hole.diameter / 2.0, hole.depth, hole.tip_angle)
        plug = hole.plug
        whole = bore.depth + bore.tip_height
        plugged = 0.0 if plug is None else whole if plug.length is None else plug.length
        placed.append(Old(hole.name or f"old hole {n}", bore, plug, min(plugged, whole), crossing))
    return tuple(placed)


def told_by_marks(
    name: str,
    bore: Bore,
    pin: Vector,
    reference: float,
    hand: str,
    radius: float,
    plug: Plug | None,
) -> OldHole:
    """The record of a bore as an old hole of the ball: what `place_old` makes the same bore of."""
    turn = 1.0 if hand == "right" else -1.0
    away = arc(pin, bore.entry, radius)
    at_pin = float(wrap180(bearing(pin, bore.entry) - reference))
    if min(away, math.pi * radius - away) < 1e-9:  # on the pin every bearing leads there
        at_pin = 0.0
    onward = walk(pin, reference + at_pin, away)[1]
    u = scaled(bore.entry, 1.0 / radius)
    back = direction(u, onward + 180.0)
    right = direction(u, onward + 180.0 + 90.0 * turn)
    return OldHole(
        name=name,
        from_pin=away,
        bearing=turn * at_pin,
        toward_pin=radius * dot(bore.axis, back),
        right=radius * dot(bore.axis, right),
        diameter=2.0 * bore.radius,
        depth=bore.depth,
        tip_angle=bore.tip_angle,
        plug=plug,
    )


def history_steps(old: Sequence[Old], first: int) -> list[Step]:
    """Each old hole cut, then filled, in the order of the record; ``first`` numbers the first one."""
    steps = []
    for i, o in enumerate(old):
        steps.append(Step(o.bore, 0.0, first + i))
        if o.plug is not None and o.plugged > 0.0:
            filled = o.bore if o.full else o.bore._replace(depth=o.plugged, tip_angle=None)
            steps.append(Step(filled, o.plug.density, first + i))
    return steps


def left_open(old: Sequence[Old], new: Sequence[Bore]) -> tuple[Old, ...]:
    """The old holes without a plug that no new hole takes over at the surface."""
    return tuple(o for o in old if o.plugged == 0.0 and not any(_takes_over(m, o) for m in new))


def goes_on(
    old: Sequence[Old], cavities: Sequence[tuple[str, Sequence[Bore]]]
) -> list[tuple[str, str]]:
    """Which new holes take over an open old one that goes on beside or below them, by both names."""
    found = []
    for o in old:
        if o.plugged > 0.0:
            continue
        end = along(o.bore.entry, o.bore.axis, o.bore.depth)
        for name, bores in cavities:
            heirs = [b for b in bores if _takes_over(b, o)]
            if heirs and not any(_holds(b, end, o.bore.radius) for b in heirs):
                found.append((name, o.name))
    return found


def _holds(bore: Bore, end: Vector, radius: float) -> bool:
    """Whether the end of an old hole of this radius lies in a bore, as good as wholly."""
    way = minus(end, bore.entry)
    down = dot(way, bore.axis)
    off = length(minus(way, scaled(bore.axis, down)))
    return bool(down <= bore.depth + _SEEN and off + radius <= bore.radius + _SEEN)


def _takes_over(new: Bore, o: Old) -> bool:
    """Whether an old hole's mouth lies within a new one's."""
    apart = length(minus(o.bore.entry, new.entry))
    return bool(apart + o.bore.radius <= new.radius + SAME_PLACE)


def old_walls(
    old: Sequence[Old], cavities: Sequence[tuple[str, Sequence[Bore]]], radius: float
) -> tuple[Wall, ...]:
    """The least wall between each new cavity, by name, and what is open of each old hole.

    An old hole that is filled in part has a void under its plug. One that a new hole takes over has
    walls of its own where it goes deeper.
    """
    walls = []
    for o in old:
        if o.full:
            continue
        heirs = {name for name, bores in cavities if any(_takes_over(b, o) for b in bores)}
        heirs = set() if o.plugged else heirs
        deepest = max(
            (b.depth for name, bores in cavities if name in heirs for b in bores), default=0.0
        )
        if heirs and o.bore.depth <= deepest + SAME_PLACE:
            continue
        for name, bores in cavities:
            if o.plugged > 0.0:
                walls.append(_void_wall((name, o.name), bores, o, radius))
            elif name not in heirs:
                walls.append(wall((name, o.name), bores, [o.bore], radius))
    return tuple(walls)


def _void_wall(names: tuple[str, str], bores: Sequence[Bore], o: Old, radius: float) -> Wall:
    """The least wall to the void under a plug, searched over its top, side and end, to 1/64 in.

    The wall's depth is that of the void's nearest point.
    """
    b = o.bore
    e1, e2 = (np.array(v) for v in frame(b.axis))
    turn = np.linspace(0.0, 2.0 * math.pi, _TURNS, endpoint=False)
    around = np.cos(turn)[:, None] * e1 + np.sin(turn)[:, None] * e2
    down = np.linspace(o.plugged, b.depth + b.tip_height, _RINGS)
    left = b.depth + b.tip_height - down
    wide = b.radius * (np.minimum(left / b.tip_height, 1.0) if b.tip_height else np.ones(_RINGS))
    share = np.linspace(0.0, 1.0, _RINGS)
    t = np.concatenate([down, np.full(_RINGS, o.plugged), np.full(_RINGS, down[-1])])
    r = np.concatenate([wide, share * b.radius, share * wide[-1]])
    x = np.array(b.entry) + t[:, None, None] * np.array(b.axis) + r[:, None, None] * around
    x = x.reshape(-1, 3)
    nearest = [distance(tuple(x.T), bore) for bore in bores]
    gaps = np.minimum.reduce(nearest)
    at = int(gaps.argmin())
    if gaps[at] > 0.0:
        return Wall(names, float(gaps[at]), max(radius - float(np.linalg.norm(x[at])), 0.0))
    inside = np.linalg.norm(x[gaps <= 0.0], axis=1)
    return Wall(names, 0.0, max(radius - float(inside.max()), 0.0))


def runs_into(
    old: Sequence[Old], cavities: Sequence[tuple[str, Sequence[Bore]]]
) -> list[tuple[str, str]]:
    """Which new holes, by name, cut into the plug of which old ones."""
    found = []
    for o in old:
        if o.plugged == 0.0:
            continue
        plug = o.bore if o.full else o.bore._replace(depth=o.plugged, tip_angle=None)
        for name, bores in cavities:
            if any(outermost_common(bore, plug) > 0.0 for bore in bores):
                found.append((name, o.name))
    return found
