"""The display list: what is drawn on the ball, and how it looks from one side.

`scene` turns a plan into polylines, markers and callouts on the ball, in inches in the grip frame.
`project` looks at a scene orthographically from outside and gives a `Drawing` in ball radii: x to
the right and y up from the middle of the ball's outline, a circle of radius 1. The work sheet, the
window and its hit-testing all use the same drawing; nothing here knows how to paint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from layoutkit.geometry.sphere import arc, axes_at, bearing, mirror, walked
from layoutkit.geometry.vectors import Array, Vector
from layoutkit.planning.marking import (
    ANY,
    ARC_STEP,
    CENTRELINE,
    EDGE,
    Crossing,
    MarkingStep,
    landed,
)
from layoutkit.planning.values import ExtraHolePlan, HolePlan, OldHolePlan, OvalPlan, Plan
from layoutkit.units import Units, format_length, printable

LineKind = Literal[
    "midline",
    "centreline",
    "val",
    "pin_pap",
    "reference",
    "psa_pap",
    "pin_val",
    "angle",
    "finished",
    "bored",
    "plugged",
    "open",
    "sight",
    "measure",
    "ring",
    "late_ring",
]
MarkerKind = Literal["pin", "cg", "psa", "pap", "grip_center", "hole", "foot"]
Side = Literal["left", "right"]
Facing = Literal["grip", "pin", "pap", "psa", "cg", "underside"]

FACINGS: tuple[Facing, ...] = ("grip", "pin", "pap", "psa", "cg", "underside")
MARK_NAMES: dict[MarkerKind, str] = {"pin": "pin", "cg": "CG", "psa": "PSA", "pap": "PAP"}
FAR = " (far side)"
KEPT = " (kept)"  # marks of the reference plan

COLUMN = 1.12  # ball radii from the middle of the ball to where the callouts' texts begin
LEADER_END = 1.09  # ball radii; leaders stop just short of the text
_COLUMN_SHIFT = 0.4  # ball radii by which the parting of the two columns may leave the middle
_LIMB = 1e-9  # ball radii; what is nearer to the limb's plane counts as on it, so as visible
_STEP = math.radians(2.5)  # between the points of a line: chords stay within 0.0003 ball radii
_ANGLE_RADIUS = 0.17  # ball radii from the corner at which an angle's arc is drawn
_STAYED = 1.0 / 64.0  # inches; a mark that moved less is not shown a second time


@dataclass(frozen=True, slots=True, eq=False)
class Polyline:
    """A line on the ball: ``points`` (n, 3) in inches in the grip frame, all on the surface.

    A ``ghost`` belongs to the reference plan that the present one is compared with.
    """

    kind: LineKind
    name: str
    points: Array
    ghost: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Marker:
    """A mark on the ball: ``point`` (3,) in inches in the grip frame; ``name`` as in the plan.

    A ``ghost`` belongs to the reference plan that the present one is compared with.
    """

    kind: MarkerKind
    name: str
    point: Array
    ghost: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Callout:
    """A text that belongs to ``point`` (3,), inches in the grip frame.

    With ``either`` it belongs to the opposite point as well, and names the one that is seen.
    """

    kind: LineKind | MarkerKind
    name: str
    text: str
    point: Array
    either: bool = False


@dataclass(frozen=True, eq=False)
class Scene:
    """Everything on one ball of ``radius`` inches; ``hand`` is the bowler's."""

    radius: float
    hand: Literal["right", "left"]
    lines: tuple[Polyline, ...]
    markers: tuple[Marker, ...]
    callouts: tuple[Callout, ...]

    @cached_property
    def stacked(self) -> tuple[Array, Array, Array]:
        """All points in ball radii: of the lines (n, 3), the markers and the callouts."""
        parts = (
            [each.points for each in self.lines],
            [each.point[None] for each in self.markers],
            [each.point[None] for each in self.callouts],
        )
        lines, markers, callouts = (
            np.concatenate(p) / self.radius if p else np.empty((0, 3)) for p in parts
        )
        return lines, markers, callouts

    @cached_property
    def starts(self) -> Array:
        """Where each line after the first begins among the stacked points, shape (lines - 1,)."""
        return np.cumsum([len(each.points) for each in self.lines])[:-1]


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A look at the ball from outside: ``frame`` rows are right, up and toward the eye, (3, 3)."""

    frame: Array

    def turned(self, dx: float, dy: float) -> View:
        """The view after the near surface was dragged by (dx, dy) ball radii."""
        size = math.hypot(dx, dy)
        if size == 0.0:
            return self
        # Rodrigues' formula about the axis in the picture plane square to the drag
        k = np.array([[0.0, 0.0, dx], [0.0, 0.0, dy], [-dx, -dy, 0.0]]) / size
        turn = np.eye(3) + math.sin(size) * k + (1.0 - math.cos(size)) * (k @ k)
        right, up, _ = turn @ self.frame
        # made square again, so that long drags do not let the ball go out of shape
        right = _unit(right)
        up = _unit(up - (up @ right) * right)
        return View(np.stack([right, up, np.cross(right, up)]))

    def under(self, x: float, y: float, radius: float, far: bool = False) -> Vector:
        """The point of the ball's surface that is seen at (x, y) ball radii, in inches.

        In the grip frame; on the near side unless ``far`` is said. Beside the ball it is the
        nearest point of the limb.
        """
        size = math.hypot(x, y)
        if size > 1.0:
            x, y, size = x / size, y / size, 1.0
        depth = math.sqrt(max(1.0 - size * size, 0.0))
        point = radius * (np.array([x, y, -depth if far else depth]) @ self.frame)
        return float(point[0]), float(point[1]), float(point[2])


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A part of a line that lies wholly on one side: ``points`` (n, 2) in ball radii."""

    kind: LineKind
    name: str
    points: Array
    far: bool
    whole: bool
    ghost: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """A projected marker, ``x`` and ``y`` in ball radii."""

    kind: MarkerKind
    name: str
    x: float
    y: float
    far: bool
    ghost: bool = False


@dataclass(frozen=True, slots=True)
class PlacedCallout:
    """A callout in its column, in ball radii.

    ``leader`` runs from the point that is meant to the text. The text stands at (x, y), its middle
    line at y, and runs away from the ball: to the right in the right column, to the left in the
    left one.
    """

    kind: LineKind | MarkerKind
    name: str
    text: str
    side: Side
    x: float
    y: float
    leader: tuple[tuple[float, float], tuple[float, float]]
    far: bool


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """What is seen from one side, in ball radii; ``line_height`` is what each label was given."""

    view: View
    pieces: tuple[Piece, ...]
    spots: tuple[Spot, ...]
    labels: tuple[PlacedCallout, ...]
    line_height: float

    def pick(self, x: float, y: float, reach: float) -> Spot | None:
        """The marker nearest to (x, y) within ``reach`` ball radii; the near side goes first.

        A ghost is never found.
        """
        found = [
            (s.far, math.hypot(s.x - x, s.y - y), i)
            for i, s in enumerate(self.spots)
            if not s.ghost
        ]
        hits = [each for each in found if each[1] <= reach]
        return self.spots[min(hits)[2]] if hits else None


# --- the scene ------------------------------------------------------------------------------------


def scene(plan: Plan, units: Units = "fraction") -> Scene:
    """Lines, markers and callouts of a plan; lengths in fractions are inches in sixteenths.

    Computed in the bowler's frame, so that a mirrored job gives the mirrored scene to the last bit.
    """
    sketch = _Sketch(plan, units)
    sketch.frame_lines()
    sketch.layout()
    sketch.angles()
    sketch.marks()
    if plan.old_holes:
        sketch.old_holes()
    for hole in plan.holes:
        sketch.hole(hole)
    for extra in plan.extra_holes:
        sketch.extra_hole(extra)
    return sketch.scene()


def step_scene(plan: Plan, step: MarkingStep, units: Units = "fraction") -> Scene:
    """One marking step alone: the two marks it starts from, its swing, its arc and the new mark.

    The marks are where the steps before really put them, within the rounding of the plan's.
    """
    sketch = _Sketch(plan, units)
    sketch.at = {name: sketch.mirror(point) for name, point in landed(plan, units).items()}
    sketch.step(step)
    return sketch.scene()


def step_view(plan: Plan, step: MarkingStep, units: Units = "fraction") -> View:
    """The view straight at the middle of a marking step's arc, with the fingers' side up."""
    at = landed(plan, units)
    here, there = (np.array(at[name]) for name in (step.at, step.new))
    middle = here + there
    # of opposite marks no middle is nearer than another
    return view_at(middle if math.sqrt(middle @ middle) > 1e-6 * plan.radius else here)


def with_reference(scene: Scene, kept: Scene) -> Scene:
    """The scene with the marks and holes of a reference plan as ghosts, where they differ.

    Ghosts keep their directions on a ball of another size. The marks among them get callouts.
    """
    share = scene.radius / kept.radius
    present = {each.name: each.point for each in scene.markers}
    moved = [
        Marker(each.kind, each.name, each.point * share, ghost=True)
        for each in kept.markers
        if each.name not in present or _moved(each.point * share, present[each.name])
    ]
    names = {each.name for each in moved}
    circles = [
        Polyline(each.kind, each.name, each.points * share, ghost=True)
        for each in kept.lines
        if each.kind == "finished" and each.name in names
    ]
    texts = [
        Callout(each.kind, each.name, each.text + KEPT, each.point * share)
        for each in kept.callouts
        if each.kind in MARK_NAMES and each.name in names
    ]
    return Scene(
        scene.radius,
        scene.hand,
        (*scene.lines, *circles),
        (*scene.markers, *moved),
        (*scene.callouts, *texts),
    )


def _moved(a: Array, b: Array) -> bool:
    return bool(math.sqrt((a - b) @ (a - b)) > _STAYED)


class _Sketch:
    """Collects a plan's lines, markers and callouts; ``at`` has the marks in the bowler's frame."""

    def __init__(self, plan: Plan, units: Units) -> None:
        self.plan, self.radius, self.hand = plan, plan.radius, plan.job.bowler.hand
        self.units = units
        m = plan.marks
        found = {"pin": m.pin, "cg": m.cg, "psa": m.psa, "pap": m.pap, "grip_center": m.grip_center}
        self.at = {k: self.mirror(v.xyz) for k, v in found.items() if v is not None}
        self.lines: list[Polyline] = []
        self.markers: list[Marker] = []
        self.callouts: list[Callout] = []

    def scene(self) -> Scene:
        """What was collected."""
        return Scene(
            self.radius,
            self.hand,
            tuple(self.lines),
            tuple(self.markers),
            tuple(self.callouts),
        )

    def length(self, inches: float) -> str:
        """An arc as it is measured on the ball."""
        return format_length(inches, self.units, ARC_STEP)

    def fine(self, inches: float) -> str:
        """A length that is marked as printed: a whole number of sixty-fourths at most."""
        return format_length(inches, self.units)

    def mirror(self, points: ArrayLike) -> Array:
        """From the grip frame to the bowler's, or back."""
        return np.asarray(mirror(np.asarray(points, dtype=float), self.hand))

    def line(self, kind: LineKind, name: str, points: Array) -> None:
        self.lines.append(Polyline(kind, name, self.mirror(points)))

    def callout(
        self,
        kind: LineKind | MarkerKind,
        name: str,
        text: str,
        point: Array,
        either: bool = False,
    ) -> None:
        self.callouts.append(Callout(kind, name, printable(text), self.mirror(point), either))

    def great_circle(self, a: Array, b: Array) -> Array:
        """The whole great circle through the unit vectors a and b, which are square, (n, 3)."""
        t = np.linspace(0.0, 2.0 * math.pi, 145)[:, None]
        return self.radius * (np.cos(t) * a + np.sin(t) * b)

    def frame_lines(self) -> None:
        """Midline, centreline and VAL, each with its callout where nothing else is near."""
        x, y, z = np.eye(3)
        named: list[tuple[LineKind, str, Array, float]] = [
            ("midline", "midline", -x, 40.0),
            ("centreline", "centreline", -y, 18.0),
        ]
        if self.plan.marks.pap is not None:
            over = self.plan.marks.pap.over / self.radius
            foot = np.array([math.sin(over), 0.0, math.cos(over)])
            named.append(("val", "VAL", foot, -52.0))
        ends = {"midline": z, "centreline": z, "val": y}
        for kind, name, start, degrees in named:
            points = self.great_circle(start, ends[kind])
            self.line(kind, name, points)
            t = math.radians(degrees)
            point = self.radius * (math.cos(t) * start + math.sin(t) * ends[kind])
            self.callout(kind, name, name, point, either=True)

    def walked(self, start: Array, course: float, length: float) -> Array:
        """The points of a walk from one point, (n, 3)."""
        steps = max(int(length / self.radius / _STEP), 1) + 1
        return _walked(start, course, np.linspace(0.0, length, steps))

    def arc(self, kind: LineKind, name: str, a: Array, b: Array, length: float) -> None:
        """The arc from a to b, whose length the plan states, and a callout at its middle."""
        course = float(bearing(a, b))
        self.line(kind, name, self.walked(a, course, abs(length)))
        middle = _walked(a, course, abs(length) / 2.0)
        self.callout(kind, name, f"{name} {self.length(length)}", middle)

    def layout(self) -> None:
        """The layout's arcs, as far as the marks are known."""
        numbers, at = self.plan.layout, self.at
        if numbers.pin_to_pap is not None:
            self.arc("pin_pap", "pin to PAP", at["pin"], at["pap"], numbers.pin_to_pap)
        to_cg = self.plan.distances.pin_to_cg
        if "psa" in at:
            length = float(arc(at["pin"], at["psa"], self.radius))
            self.arc("reference", "pin to PSA", at["pin"], at["psa"], length)
        elif to_cg is not None:
            self.arc("reference", "pin to CG", at["pin"], at["cg"], to_cg)
        if numbers.psa_to_pap is not None:
            self.arc("psa_pap", "PSA to PAP", at["psa"], at["pap"], numbers.psa_to_pap)
        if self.plan.marks.pap is None or numbers.pin_to_val is None:
            return
        over = self.plan.marks.pap.over / self.radius
        normal = np.array([math.cos(over), 0.0, -math.sin(over)])
        foot = at["pin"] - (at["pin"] @ normal) * normal
        size = math.sqrt(foot @ foot)
        # a pin a quarter from the VAL is equally near to all its points: there is no foot to show
        if size > 1e-9 * self.radius:
            foot = foot * (self.radius / size)
            self.arc("pin_val", "pin to VAL", at["pin"], foot, numbers.pin_to_val)

    def angles(self) -> None:
        """The layout's two angles as arcs about their corners.

        Both turn as bearings do: clockwise from outside for a right hand. None without a PAP.
        """
        numbers = self.plan.layout
        turn, lean = numbers.angle_at_pin, numbers.angle_at_pap
        corners = []
        if turn is not None and numbers.bearing is not None:
            corners.append(("angle at the pin", "pin", numbers.bearing - turn, turn))
        if lean is not None:
            corners.append(("angle at the PAP", "pap", -lean, lean))
        for name, corner, first, sweep in corners:
            self.angle(name, f"{name} {round(sweep, 1):g}°", self.at[corner], first, sweep)

    def angle(self, name: str, text: str, corner: Array, start: float, sweep: float) -> None:
        steps = max(int(abs(math.radians(sweep)) / _STEP), 1) + 1
        bearings = start + np.linspace(0.0, sweep, steps)
        reach = _ANGLE_RADIUS * self.radius
        points = _walked(corner, bearings, reach)
        middle = _walked(corner, start + sweep / 2.0, reach)
        self.line("angle", name, points)
        self.callout("angle", name, text, middle)

    def mark_names(self) -> dict[MarkerKind, str]:
        """What the marks are called; the grip centre is the palm mark without a thumb."""
        palm = self.plan.job.bowler.grip.thumb is None
        center = "palm mark" if palm else "grip centre"
        return MARK_NAMES | {"grip_center": center, "foot": "midline foot"}

    def marks(self) -> None:
        """The factory's marks, the PAP and the grip centre (the palm mark without a thumb)."""
        for kind, text in self.mark_names().items():
            if kind in self.at:
                self.markers.append(Marker(kind, kind, self.mirror(self.at[kind])))
                self.callout(kind, kind, text, self.at[kind])

    def hole(self, hole: HolePlan) -> None:
        """A hole's circles where it leaves the surface, and its centre."""
        center = self.mirror(hole.entry)
        sizes: list[tuple[LineKind, float]] = [("finished", hole.diameter)]
        if hole.oval is not None:
            sizes = []
            self.line("finished", hole.name, self.oval(hole, hole.oval))
        if hole.bore is not None:
            sizes.append(("bored", hole.bore.diameter))
        over, up = (np.asarray(a) for a in axes_at(center))
        t = np.linspace(0.0, 2.0 * math.pi, 73)[:, None]
        for kind, diameter in sizes:
            across = diameter / 2.0
            inward = math.sqrt(self.radius * self.radius - across * across)
            rim = across * (np.cos(t) * over + np.sin(t) * up)
            self.line(kind, hole.name, inward / self.radius * center + rim)
        self.markers.append(Marker("hole", hole.name, self.mirror(center)))
        self.callout("hole", hole.name, f"{hole.name} hole", center)

    def oval(self, hole: HolePlan, oval: OvalPlan) -> Array:
        """The outline of all bores of an oval where they leave the surface, (n, 3)."""
        entry, axis = (self.mirror(v) for v in (hole.entry, hole.axis))
        up = np.asarray(axes_at(entry))[1]
        forth = _unit(up - (up @ axis) * axis)
        turn = math.radians(oval.direction if self.hand == "right" else -oval.direction)
        along, beside = _outline(hole.diameter / 2.0, oval)
        forward = along * math.cos(turn) - beside * math.sin(turn)
        outward = along * math.sin(turn) + beside * math.cos(turn)
        rim = forward[:, None] * forth + outward[:, None] * np.cross(axis, forth)
        return self.mouth(entry + rim, axis)

    def mouth(self, points: Array, axis: Array) -> Array:
        """Where lines along an inward axis through points (n, 3) enter the ball, (n, 3).

        A line that passes the ball by is taken to where it comes nearest.
        """
        onto = points @ axis
        clear = onto * onto - (points * points).sum(axis=1) + self.radius * self.radius
        reached = points - (onto + np.sqrt(np.maximum(clear, 0.0)))[:, None] * axis
        return np.asarray(
            reached * (self.radius / np.sqrt((reached * reached).sum(axis=1)))[:, None]
        )

    def round_mouth(self, hole: ExtraHolePlan | OldHolePlan) -> Array:
        """A round hole's edge on the surface: longer one way where the hole is slanted, (n, 3)."""
        entry, axis = (self.mirror(v) for v in (hole.entry, hole.axis))
        over = np.asarray(axes_at(entry))[0]
        one = _unit(over - (over @ axis) * axis)
        rim = _ROUND[0] * one + _ROUND[1] * np.cross(axis, one)
        return self.mouth(entry + hole.diameter / 2.0 * rim, axis)

    def extra_hole(self, hole: ExtraHolePlan) -> None:
        """A vent or the inspection hole."""
        self.line("finished", hole.name, self.round_mouth(hole))
        center = self.mirror(hole.entry)
        self.markers.append(Marker("hole", hole.name, self.mirror(center)))
        self.callout("hole", hole.name, f"{hole.name} hole", center)

    def old_holes(self) -> None:
        """What the ball had before, plugged or open.

        Of old holes that begin within another one, as the bores of an oval do, only that is named.
        """
        named: list[OldHolePlan] = []
        for hole in self.plan.old_holes:
            kind: LineKind = "plugged" if hole.plugged > 0.0 else "open"
            self.line(kind, hole.name, self.round_mouth(hole))
            if any(math.dist(hole.entry, o.entry) < o.diameter / 2.0 for o in named):
                continue
            named.append(hole)
            self.callout(kind, hole.name, f"{hole.name}, {kind}", self.mirror(hole.entry))

    def step(self, step: MarkingStep) -> None:
        """A marking step's marks, the lines it starts from, the swing and the arc, as its words tell."""
        if step.crossing is not None:
            self.crossing_step(step, step.crossing)
            return
        here, sighted = self.at[step.at], self.at[step.toward]
        line = float(bearing(here, sighted))
        apart = float(arc(here, sighted, self.radius))
        self.line("sight", f"{step.at} to {step.toward}", self.walked(here, line, apart))
        turn, start, swing = (
            float(a if self.hand == "right" else -a) for a in (step.turn, step.start, step.swing)
        )
        if step.new == "foot":
            val = self.walked(here, line + swing, 2.0 * math.pi * self.radius)
            self.line("val", "VAL", val)
        if step.start:
            # the centreline, on the side from which the words swing
            reach = max(step.length, 2.0 * _ANGLE_RADIUS * self.radius)
            self.line("centreline", "centreline", self.walked(here, line + start, reach))
        if step.swing:
            way = "clockwise" if step.swing > 0 else "counter-clockwise"
            words = f"{abs(step.swing)}° {way}"
            self.angle("swing", words, here, line + start, swing)
        if step.length > 0.0:
            self.measure(step.new, here, line + turn, step.length)
        if step.new == CENTRELINE:
            self.line("centreline", "centreline", self.walked(here, line + swing, step.length))
        self.step_marks(step.at, step.toward, step.new)

    def crossing_step(self, step: MarkingStep, crossing: Crossing) -> None:
        """A place that two measures give: both of them, and the centreline where it is one."""
        here, new = self.at[step.at], self.at[step.new]
        self.measure(step.new, here, float(bearing(here, new)), step.length)
        name = f"{crossing.mark} to {step.new}"
        if crossing.mark != CENTRELINE:
            start = self.at[crossing.mark]
            self.measure(name, start, float(bearing(start, new)), crossing.length)
            self.step_marks(step.at, crossing.mark, step.new)
            return
        normal = np.cross(self.at["grip_center"], self.at["fingers"])
        normal /= math.sqrt(normal @ normal)
        square = new - (new @ normal) * normal
        foot = square * (self.radius / math.sqrt(square @ square))
        reach = float(arc(here, foot, self.radius))
        along = self.walked(here, float(bearing(here, foot)), reach)
        self.line("centreline", "centreline", along)
        self.measure(name, foot, float(bearing(foot, new)), crossing.length)
        self.step_marks(step.at, step.new)

    def measure(self, name: str, start: Array, course: float, length: float) -> None:
        """An arc that is measured from a place in a direction, with its length in words."""
        self.line("measure", name, self.walked(start, course, length))
        middle = _walked(start, course, length / 2.0)
        self.callout("measure", name, f"measure {self.fine(length)}", middle)

    def step_marks(self, *names: str) -> None:
        """The marks and hole centres that a step is about."""
        for name in dict.fromkeys(names):
            if name in (ANY, CENTRELINE):  # a line, no mark
                continue
            kind = _STEP_MARKS.get(name, "hole")
            self.markers.append(Marker(kind, name, self.mirror(self.at[name])))
            text = f"{name} hole" if kind == "hole" else self.mark_names()[kind]
            if name.endswith(EDGE):
                text = f"{name.removesuffix(EDGE)} hole's edge"
            self.callout(kind, name, text, self.at[name])


_STEP_MARKS: dict[str, MarkerKind] = {
    "pin": "pin",
    "cg": "cg",
    "psa": "psa",
    "pap": "pap",
    "foot": "foot",
    "grip_center": "grip_center",
}


_TURN = np.linspace(0.0, 2.0 * math.pi, 73)
_ROUND = np.cos(_TURN)[:, None], np.sin(_TURN)[:, None]


def _outline(radius: float, oval: OvalPlan) -> tuple[Array, Array]:
    """The edge of an oval's bores of one radius: along its long way and beside it, each (n,).

    Closed, once round from the front end. Where two bores meet they leave a scallop, where a slot
    is milled a straight side.
    """
    bores = len(oval.cuts)
    middles = (oval.length / 2.0 - radius) * np.linspace(1.0, -1.0, bores)
    # half of the way from bore to bore, seen from the middle of one
    reach = 0.0 if oval.milled else (middles[0] - middles[1]) / 2.0 / radius
    corner = math.acos(min(reach, 1.0))
    between = np.linspace(corner, math.pi - corner, 13)
    first, last = np.linspace(0.0, math.pi - corner, 19), np.linspace(corner, math.pi, 19)
    turns = [first, *[between] * (bores - 2), last]
    side = [m + radius * np.cos(t) for m, t in zip(middles, turns, strict=True)]
    wide = [radius * np.sin(t) for t in turns]
    if oval.milled:
        straight = np.linspace(side[0][-1], side[1][0], 13)
        side.insert(1, straight)
        wide.insert(1, np.full(len(straight), radius))
    along, beside = np.concatenate(side), np.concatenate(wide)
    return np.concatenate([along, along[-2::-1]]), np.concatenate([beside, -beside[-2::-1]])


def _walked(start: Array, course: float | Array, length: float | Array) -> Array:
    """Where walks from one point lead, (3,) or (n, 3)."""
    return np.asarray(walked(start, course, length), dtype=float)


# --- views and projection -------------------------------------------------------------------------


def facing(plan: Plan, what: Facing) -> View:
    """The view straight at a mark, or at the side opposite the grip, with the fingers' side up.

    Raises KeyError for a mark that is not there or not known.
    """
    m = plan.marks
    marks = {"grip": m.grip_center, "pin": m.pin, "pap": m.pap, "cg": m.cg, "psa": m.psa}
    if what == "underside":
        return view_at(-np.array(m.grip_center.xyz))
    mark = marks[what]
    if mark is None:
        raise KeyError(what)
    return view_at(np.array(mark.xyz))


def view_at(point: Array) -> View:
    """The view straight at a point (3,) of any length, with the fingers' side up."""
    toward = _unit(point)
    right, up = (np.asarray(a) for a in axes_at(toward))
    return View(np.stack([right, up, toward]))


def _unit(v: Array) -> Array:
    return np.asarray(v / np.sqrt(v @ v))


def project(scene: Scene, view: View, line_height: float = 0.12, far: str = FAR) -> Drawing:
    """What is seen of a scene, in ball radii. ``far`` follows the texts of what is hidden.

    Lines are cut exactly where they cross the limb, into near and far pieces. Each callout gets
    ``line_height`` ball radii in one of two columns beside the ball; no two share any of it, and no
    two leaders cross.
    """
    lines, markers, callouts = (each @ view.frame.T for each in scene.stacked)
    spots = tuple(
        Spot(m.kind, m.name, x, y, w < -_LIMB, m.ghost)
        for m, (x, y, w) in zip(scene.markers, markers.tolist(), strict=True)
    )
    turned = np.array([c.either for c in scene.callouts], dtype=bool) & (callouts[:, 2] < 0.0)
    callouts[turned] *= -1.0
    labels = _labels(scene, callouts, line_height, far)
    return Drawing(view, _cut(scene, lines), spots, labels, line_height)


def _cut(scene: Scene, seen: Array) -> tuple[Piece, ...]:
    """The lines' near and far pieces; both sides of a cut end on the same point of the limb."""
    if not scene.lines:
        return ()
    depth = np.where(np.abs(seen[:, 2]) < _LIMB, 0.0, seen[:, 2])
    far = depth < 0.0
    change = far[:-1] != far[1:]
    change[scene.starts - 1] = False
    before = np.flatnonzero(change)
    # the chord's point in the limb's plane, pushed out to the limb, is where the arc crosses it
    share = (depth[before] / (depth[before] - depth[before + 1]))[:, None]
    crossing = seen[before, :2] * (1.0 - share) + seen[before + 1, :2] * share
    crossing /= np.hypot(crossing[:, 0], crossing[:, 1])[:, None]
    twice = np.repeat(before + 1, 2)
    points = np.insert(seen[:, :2], twice, np.repeat(crossing, 2, axis=0), axis=0)
    # where each piece starts, among the points as they were and, once cut, in its place
    line_starts = np.concatenate([[0], scene.starts])
    starts = np.concatenate([line_starts, before + 1])
    shift = np.concatenate(
        [2 * np.searchsorted(before, scene.starts), 2 * np.arange(len(before)) + 1]
    )
    place = starts + np.concatenate([[0], shift])
    order = np.argsort(starts, kind="stable")
    place, owner = place[order], np.searchsorted(line_starts, starts[order], side="right") - 1
    sides = far[starts[order]].tolist()
    ends = [*place[1:].tolist(), len(points)]
    pieces = []
    counts = np.bincount(owner, minlength=len(scene.lines)).tolist()
    for a, b, i, hidden in zip(place.tolist(), ends, owner.tolist(), sides, strict=True):
        line = scene.lines[i]
        pieces.append(Piece(line.kind, line.name, points[a:b], hidden, counts[i] == 1, line.ghost))
    return tuple(pieces)


def _labels(scene: Scene, seen: Array, height: float, far: str) -> tuple[PlacedCallout, ...]:
    """The callouts in two columns."""
    hand = 1.0 if scene.hand == "right" else -1.0
    # points on the midline or the centreline are level up to rounding, which must not decide
    anchors = (np.round(seen, 9) + 0.0).tolist()
    outward = [hand * a[0] for a in anchors]  # toward the bowler's positive side
    part = _parting(outward)
    labels: list[PlacedCallout] = []
    for positive in (False, True):
        members = [i for i, x in enumerate(outward) if (x > part) == positive]
        sign = hand if positive else -hand
        side: Side = "right" if sign > 0.0 else "left"
        members.sort(key=lambda i: anchors[i][1])
        rows = _spread([anchors[i][1] * 1.1 for i in members], height)
        end = sign * LEADER_END
        _uncross(members, [(anchors[i][0], anchors[i][1]) for i in members], rows, end)
        for i, row in zip(members, rows, strict=True):
            c, (x, y, w) = scene.callouts[i], anchors[i]
            hidden = w < -_LIMB
            text = c.text + far if hidden else c.text
            labels.append(
                PlacedCallout(
                    c.kind, c.name, text, side, sign * COLUMN, row, ((x, y), (end, row)), hidden
                )
            )
    return tuple(labels)


def _parting(outward: list[float]) -> float:
    """Where the two columns part: as even as a shift within limits makes them, near the middle."""
    near = sorted(x for x in outward if abs(x) <= _COLUMN_SHIFT)
    choices = [0.0, *near]

    def cost(part: float) -> tuple[int, float]:
        right = sum(x > part for x in outward)
        # a difference of one or two is not worth leaders that cross the middle
        return max(abs(len(outward) - 2 * right), 2), abs(part)

    return min(choices, key=cost)


def _spread(wanted: list[float], gap: float) -> list[float]:
    """The rows nearest to the ascending wanted ones that lie at least ``gap`` apart.

    Least squares by pooling neighbours; kept beside the ball as far as there is room.
    """
    pools: list[list[float]] = []  # sum and number of the wanted rows, each less its offset
    for i, row in enumerate(wanted):
        pools.append([row - gap * i, 1.0])
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            total, count = pools.pop()
            pools[-1][0] += total
            pools[-1][1] += count
    level = [total / count for total, count in pools for _ in range(int(count))]
    span = gap * max(len(wanted) - 1, 0)
    limit = max(1.0, span / 2.0)
    return [min(max(v, -limit), limit - span) + gap * i for i, v in enumerate(level)]


def _uncross(
    members: list[int], anchors: list[tuple[float, float]], rows: list[float], end: float
) -> None:
    """Exchange the rows of crossing leaders until none cross, reordering ``members``.

    Each exchange makes the leaders shorter in sum, so it ends.
    """
    crossed = True
    while crossed:
        crossed = False
        for i in range(len(members)):
            for j in range(i):
                if _cross(anchors[i], (end, rows[i]), anchors[j], (end, rows[j])):
                    members[i], members[j] = members[j], members[i]
                    anchors[i], anchors[j] = anchors[j], anchors[i]
                    crossed = True


def _cross(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> bool:
    """Whether the segments ab and cd cross at an inner point of both."""

    def turn(p: tuple[float, float], q: tuple[float, float], r: tuple[float, float]) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    slack = 1e-12
    one, two = turn(a, b, c), turn(a, b, d)
    three, four = turn(c, d, a), turn(c, d, b)
    return (
        min(one, two) < -slack
        and max(one, two) > slack
        and min(three, four) < -slack
        and max(three, four) > slack
    )
