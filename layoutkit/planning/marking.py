"""The marking steps: how to lay a plan out on a ball from the factory's marks alone.

A step is a value. Up to the grip centre each one starts at a mark that is on the ball already, sights
along the great circle toward another one, swings a whole number of degrees, and measures an arc in
thirty-seconds of an inch, or in half millimetres. What follows a rounded step is worked out from where
that step really lands, so roundings do not add up. The gripping holes follow by the arcs that their
spans and the bridge are made of (`grip_marks`), in sixty-fourths or tenths of a millimetre, so that
these hold whatever the steps before lost.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

from layoutkit.geometry.sphere import arc, bearing, hole_arc, meeting, mirror, walked, wrap180
from layoutkit.geometry.vectors import Vector, along, cross, dot, length, scaled
from layoutkit.planning.grip import NEIGHBOUR
from layoutkit.planning.grip_marks import STEP, GripArcs, grip_arcs, rounded
from layoutkit.planning.values import Plan
from layoutkit.units import MM_PER_INCH, Units, format_length, on_rule

ARC_STEP = 16  # arcs that are read off are printed in sixteenths of an inch
MARK_STEP = 32  # arcs that carry the marks up to the grip centre
NEAR_ENOUGH = 1.0 / 32.0  # inches; below it a hole is marked by its own grip numbers
MARK_LANDING, HOLE_LANDING = 1.0 / 16.0, 3.0 / 32.0  # inches; what a perfect hand may be off
GOOD_LANDING = 0.65  # of these; beyond it other roundings are looked for
NO_LINE = 1.0 / 32.0  # inches; two marks nearer than this give no line to sight along

ROUNDING_NOTE = "Measures allow for earlier rounding: follow them as printed."

NAMES = {
    "pin": "pin",
    "cg": "CG mark",
    "psa": "PSA mark",
    "pap": "PAP",
}
EDGE = " edge"  # ends the name of a place on a hole's edge, from which an arc is measured
ANY = "any"  # a point on the first line from the pin of a ball that has no other mark
_ORDER = ("middle", "ring", "index", "little")  # of holes that are there, after the thumb's
_ROW = ("index", "middle", "ring", "little")  # from the side away from the PAP toward it
AXIS, CENTRELINE = "foot", "centreline"  # what the holes are sighted from, beside the grip centre


class _Rule(NamedTuple):
    """What the steps are measured with: parts of an inch up to the grip centre, and for its holes.

    ``centreline`` is how far the centreline is drawn where no PAP leads to it, in inches.
    """

    units: Units
    marks: float
    holes: float
    centreline: float

    def words(self, length: float) -> str:
        """A measure of some inches as the rule has it."""
        return format_length(length, self.units)


_INCHES = _Rule("fraction", MARK_STEP, STEP, 4.0)
# half millimetres could cost a span most of the 1/64 in that it may lose
_MILLIMETRES = _Rule("metric", 2.0 * MM_PER_INCH, 10.0 * MM_PER_INCH, 100.0 / MM_PER_INCH)


class Crossing(NamedTuple):
    """The second measure of a place that two measures give: ``length`` inches from ``mark``.

    ``mark`` is a hole's name, that of a place on its edge, or `centreline` where the measure is square
    to the centreline. ``right`` tells on which side of the centreline, or of the other hole, the place
    is, seen from outside with the fingers up.
    """

    mark: str
    length: float
    right: bool


@dataclass(frozen=True, slots=True)
class MarkingStep:
    """Stand at ``at``, sight toward ``toward``, swing ``turn`` degrees, measure ``length`` inches.

    ``turn`` is clockwise seen from outside the ball, whole degrees in -180..180; ``length`` is a
    whole number of thirty-seconds, or of sixty-fourths for a gripping hole; of half millimetres, or of
    tenths, where the steps are metric. With a ``crossing`` nothing
    is swung: the place is ``length`` from ``at`` and also at its crossing. The point reached is called
    ``new``. ``text`` says the same, but may swing from another line than the one sighted along: by
    ``swing`` degrees from the line that lies ``start`` degrees clockwise of it, toward the arc or the
    way opposite to it.
    """

    number: int
    at: str
    toward: str
    turn: int
    length: float
    new: str
    text: str
    start: int = 0
    swing: int = 0
    crossing: Crossing | None = None


def round_arc(length: float, step: float) -> float:
    """An arc to the nearest whole step of a rule that has ``step`` of them in an inch."""
    return math.floor(length * step + 0.5) / step


def marking_steps(plan: Plan, units: Units = "fraction") -> tuple[MarkingStep, ...]:
    """The steps from the marks on the ball to every hole centre, in order.

    Their measures are fractions of an inch, or millimetres where ``units`` are metric.
    They lead over the PAP and the midline; without a PAP from the pin to the grip centre. A ball with
    no mark but its pin lies alike all ways round it, so the first line is drawn anywhere.
    """
    return tuple(_bench(plan, units).done)


def landed(plan: Plan, units: Units = "fraction") -> dict[str, Vector]:
    """Where each mark and hole centre lies when the rounded steps are followed.

    By the steps' names, in inches in the grip frame; the factory's marks are where they are. `fingers`
    is a place of the centreline as drawn, on the fingers' side.
    """
    bench = _bench(plan, units)
    bench.made["fingers"] = bench.front
    return {name: mirror(point, bench.hand) for name, point in bench.made.items()}


def _bench(plan: Plan, units: Units) -> _Bench:
    """The plan laid out, its first measures rounded so that the holes land near their places.

    Rounding to the nearest is kept while every hole lands near enough; else the two swings and the
    first arc are tried one step to either side.
    """
    rule = _MILLIMETRES if on_rule(units) == "metric" else _INCHES
    plain = _Bench(plan, rule)
    if plan.marks.pap is None or plain.miss() <= GOOD_LANDING:
        return plain
    nudges = product((0, -1, 1), repeat=3)
    return min((_Bench(plan, rule, nudge) for nudge in nudges), key=_Bench.miss)


class _Bench:
    """Lays the plan out step by step, in the bowler's frame, keeping where each mark really landed."""

    def __init__(self, plan: Plan, rule: _Rule, nudge: tuple[int, ...] = (0, 0, 0)) -> None:
        self.rule = rule
        # steps away from the nearest: degrees at the pin, steps of the rule there, degrees at the PAP
        self.nudge = nudge
        self.plan = plan
        self.radius = plan.radius
        self.hand = plan.job.bowler.hand
        self.side = 1 if self.hand == "right" else -1
        m = plan.marks
        marks = {"pin": m.pin, "cg": m.cg, "psa": m.psa, "pap": m.pap, "grip_center": m.grip_center}
        self.wanted = {k: mirror(v.xyz, self.hand) for k, v in marks.items() if v is not None}
        self.wanted |= {h.name: mirror(h.entry, self.hand) for h in plan.holes}
        self.wanted |= {e.name: mirror(e.entry, self.hand) for e in plan.extra_holes}
        self.oval = {h.name for h in plan.holes if h.oval is not None}
        new = plan.for_today
        self.there = {h.name: h for h in plan.holes if h not in new.holes}
        self.new = {h.name for h in new.holes}
        self.extras = [e.name for e in new.extra_holes]
        if m.pap is not None:
            over, r = m.pap.over / self.radius, self.radius
            self.wanted[AXIS] = (r * math.sin(over), 0.0, r * math.cos(over))
        factory = ("pin", "cg", "psa")
        self.made = {k: v for k, v in self.wanted.items() if k in (*factory, *self.there)}
        self.reference = next((k for k in ("psa", "cg") if k in self.made), ANY)
        if self.reference == ANY:
            first = self.wanted["grip_center" if m.pap is None else "pap"]
            course = bearing(self.made["pin"], first)
            self.made[ANY] = walked(self.made["pin"], course, math.pi * self.radius / 2.0)
        self.done: list[MarkingStep] = []
        self.steps()

    def miss(self) -> float:
        """The farthest that a mark or a gripping hole lands off its place, as a part of what it may."""
        holes = {h.name: HOLE_LANDING for h in self.plan.holes}
        most = holes | dict.fromkeys(("pap", "foot", "grip_center"), MARK_LANDING)
        made = {n: m for n, m in most.items() if n in self.made}  # a step may lead past a mark
        return max(arc(self.made[n], self.wanted[n], self.radius) / m for n, m in made.items())

    def walk(self, at: str, toward: str, swing: float, length: float) -> Vector:
        """Where a step leads from the marks as made; ``swing`` grows with the bearing."""
        start = bearing(self.made[at], self.made[toward])
        end: Vector = walked(self.made[at], start + swing, length)
        return end

    def swing(self, at: str, toward: str, target: Vector) -> int:
        """Whole degrees from the line at ``at`` toward a mark to the line toward the target."""
        turn = bearing(self.made[at], target) - bearing(self.made[at], self.made[toward])
        return round(float(wrap180(turn)))

    def nearest(self, at: str, toward: str, target: Vector) -> tuple[int, float]:
        """Of the whole degrees and steps of the rule around it, those that lead nearest to the target."""
        turn = self.swing(at, toward, target)
        length = round_arc(arc(self.made[at], target, self.radius), self.rule.marks)
        near = [
            (turn + i, max(length + j / self.rule.marks, 0.0))
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
        ]
        return min(near, key=lambda n: arc(self.walk(at, toward, *n), target, self.radius))

    def add(
        self,
        at: str,
        toward: str,
        swing: int,
        length: float,
        new: str,
        text: str,
        start: int = 0,
        told: int | None = None,
    ) -> None:
        """Take a step; the words swing by ``told`` from ``start``, or as the step does."""
        swing = int(wrap180(swing))
        told = swing if told is None else told
        self.made[new] = self.walk(at, toward, swing, length)
        number = len(self.done) + 1
        turn, start, told = (self.side * int(wrap180(a)) for a in (swing, start, told))
        self.done.append(MarkingStep(number, at, toward, turn, length, new, text, start, told))

    def turned(self, swing: int) -> str:
        """The swing in words, as seen from outside the ball."""
        if swing == 0:
            return "stay on that line"
        clockwise = (self.side * swing) > 0
        return f"swing {abs(swing)} degrees {'clockwise' if clockwise else 'counter-clockwise'}"

    def steps(self) -> None:
        """Take all steps that today's holes need."""
        if self._between_two and not self.extras:
            self._between(*self.new)
            self._pitch_line(*self.new)
            return
        if self.plan.marks.pap is None:
            self._grip_center_from_pin()
            self._draw_centreline()
        else:
            self._pap()
            self._midline()
            self._grip_center()
        self._grip()
        for extra in self.extras:
            self._hole(extra)

    @property
    def _between_two(self) -> bool:
        """Whether there is one new hole, and two that are there already tell where."""
        return len(self.new) == 1 and len(self.there) > 1

    def _between(self, name: str) -> None:
        """One new hole by its arcs from the edges of two that are there."""
        r = self.radius
        a, *others = self._nearby(name)
        # arcs from two finger holes side by side would cross at a slant
        b = others[0]
        if name == "thumb":
            b = max(others, key=lambda n: arc(self.made[a], self.made[n], self.radius))
        target = self.wanted[name]
        reach = [self._reach(n, name) for n in (a, b)]
        lengths = [
            round_arc(arc(self.made[n], target, r) - edge, self.rule.holes)
            for n, edge in zip((a, b), reach, strict=True)
        ]
        cosines = [math.cos((n + edge) / r) for n, edge in zip(lengths, reach, strict=True)]
        one, other = (scaled(self.made[n], 1.0 / r) for n in (a, b))
        places = _places(one, cosines[0], other, cosines[1])
        place = max(places, key=lambda point: dot(point, target))
        right = self.side * target[0] > self.side * self.made[b][0]
        where = f"{'right' if right else 'left'} of the {b} hole"
        if name == "thumb":
            where = "on the thumb's side"
        oval = ", the middle of its oval" if name in self.oval else ""
        self._edges((a, b), reach, scaled(place, r))
        self.cross(
            f"{a}{EDGE}", lengths[0], name, Crossing(f"{b}{EDGE}", lengths[1], right),
            scaled(place, r),
            f"From the {a} hole's near edge measure {self.rule.words(lengths[0])} and from the "
            f"{b} hole's near edge {self.rule.words(lengths[1])}, both holes finished: where the two "
            f"arcs cross, {where}, mark the centre of the {name} hole{oval}.",
        )  # fmt: skip

    def _pitch_line(self, name: str) -> None:
        """How the pitches of one new hole lie, told from the line to one that is there."""
        a = self._nearby(name)[0]
        swing = round(float(wrap180(-bearing(self.made[name], self.made[a]))))
        text = (
            f"At that centre, from the line to the {a} hole's centre, {self.turned(swing)}: draw a line "
            "there. The hole's pitch toward the fingers lies along it, the other one square to it."
        )
        self.add(name, a, swing, self.rule.centreline, CENTRELINE, text)
        self.front = self.made[CENTRELINE]

    def _nearby(self, new: str) -> list[str]:
        """The holes that are there, those first that a new one is measured from."""
        beside = NEIGHBOUR.get(new)
        order = ("thumb", *filter(None, (beside,)), *(n for n in _ORDER if n != beside))
        return [n for n in order if n in self.there]

    def _reach(self, there: str, new: str) -> float:
        """How far the edge of a hole that is there lies from its centre, on the way to a new one."""
        hole, other = self.there[there], next(h for h in self.plan.holes if h.name == new)
        if there == "thumb" and other.span is not None:  # its front edge, of an oval one too
            whole = arc(self.wanted[there], self.wanted[new], self.radius)
            return whole - other.span - float(hole_arc(other.diameter, self.radius))
        return float(hole_arc(hole.diameter, self.radius))

    def _edges(self, names: Sequence[str], reach: Sequence[float], place: Vector) -> None:
        """Keep where on the edges of holes that are there arcs to a place begin."""
        for name, far in zip(names, reach, strict=True):
            course = bearing(self.made[name], place)
            self.made[f"{name}{EDGE}"] = walked(self.made[name], course, far)

    def line_to(self, mark: str) -> str:
        """The line at some mark to another one, in words."""
        return "the first line" if mark == ANY else f"the line to the {NAMES[mark]}"

    def first_line(self) -> str:
        """How the first line is drawn."""
        if self.reference == ANY:
            return "Draw a line from the pin, any way: the ball has no other mark."
        return f"Draw the line from the pin toward the {NAMES[self.reference]}."

    def _grip_center_from_pin(self) -> None:
        """Without a PAP: from the pin straight to the grip centre."""
        swing, length = self.nearest("pin", self.reference, self.wanted["grip_center"])
        line, palm = self.first_line(), self.palm_mark()
        if length == 0.0:
            text = f"{line} The grip centre is the pin{palm}."
        else:
            text = (
                f"{line} At the pin {self.turned(swing)} and measure {self.rule.words(length)}: "
                f"mark the grip centre{palm}."
            )
        self.add("pin", self.reference, swing, length, "grip_center", text)

    def _draw_centreline(self) -> None:
        """Without a PAP: from the line back to the pin to the grip's centreline."""
        here = self.made["grip_center"]
        apart = arc(here, self.made["pin"], self.radius)
        sight = "pin" if NO_LINE < apart < math.pi * self.radius - NO_LINE else self.reference
        swing = round(float(wrap180(-bearing(here, self.made[sight]))))
        text = (
            f"At the grip centre, from {self.line_to(sight)}, {self.turned(swing)}: draw the "
            f"centreline, its finger side there, {self.rule.words(self.rule.centreline)} long, and the "
            "midline square to it."
        )
        self.add("grip_center", sight, swing, self.rule.centreline, CENTRELINE, text)

    def palm_mark(self) -> str:
        """What a grip without a thumb hole asks for at the grip centre."""
        if self.plan.job.bowler.grip.thumb is not None:
            return ""
        for name, hole in self.there.items():
            if hole.span is not None:  # every finger hole has one
                return (
                    f" (the palm mark, {self.rule.words(round_arc(hole.span, self.rule.holes))} from the "
                    f"{name} hole's finished near edge: take the plus sign that is engraved, or "
                    "engrave one there)"
                )
        return " (the palm mark: engrave a plus sign there)"

    def _pap(self) -> None:
        length = round_arc(arc(self.made["pin"], self.wanted["pap"], self.radius), self.rule.marks)
        turn = self.plan.layout.angle_at_pin or 0.0
        swing = 0 if self.reference == ANY else round(-turn) + self.nudge[0]
        if length > 0.0:
            length = max(length + self.nudge[1] / self.rule.marks, 0.0)
        line = self.first_line()
        if length == 0.0:
            text = f"{line} The PAP is the pin."
        else:
            text = (
                f"{line} At the pin {self.turned(swing)} and measure {self.rule.words(length)}: "
                "mark the PAP."
            )
        self.add("pin", self.reference, swing, length, "pap", text)

    def _midline(self) -> None:
        """From the PAP down (or up) the VAL to the midline."""
        here = self.made["pap"]
        up = self.radius * math.asin(here[1] / self.radius)
        length = round_arc(abs(up), self.rule.marks)
        if length <= NO_LINE:  # too short to sight back along: the PAP itself is the foot
            length = 0.0
        # a pin on the PAP gives no line back to it: sight toward the reference mark instead
        apart = arc(here, self.made["pin"], self.radius)
        sight = "pin" if NO_LINE < apart < math.pi * self.radius - NO_LINE else self.reference
        north = round(wrap180(-bearing(here, self.made[sight]))) + self.nudge[2]
        swing = north if up < 0.0 else int(wrap180(north + 180))
        away = "toward the fingers" if up < 0.0 else "away from the fingers"
        line = f"At the PAP, from {self.line_to(sight)}, {self.turned(north)}: draw the VAL"
        if length == 0.0:
            text = f"{line}, its finger side there. The PAP itself is the foot on the midline."
        else:
            text = (
                f"{line}, its finger side there. Along it {away} measure {self.rule.words(length)}: "
                "mark the midline foot."
            )
        self.val = (sight, north)
        self.pap_below = up < 0.0
        self.add("pap", sight, swing, length, "foot", text, told=north)

    def _grip_center(self) -> None:
        """From the foot, square to the VAL, along the midline to the grip centre."""
        sight, north = self.val
        here = self.made["foot"]
        length = round_arc(arc(here, self.wanted["grip_center"], self.radius), self.rule.marks)
        what = (
            f"measure {self.rule.words(length)} to the grip centre{self.palm_mark()}. Draw the "
            "centreline there, square to the midline"
        )
        if arc(here, self.made["pap"], self.radius) < NO_LINE:
            swing = int(wrap180(north - 90))
            self.add(
                "foot",
                sight,
                swing,
                length,
                "grip_center",
                f"At the foot square off from the VAL toward the grip: {what}.",
            )
            return
        swing = 90 if self.pap_below else -90
        self.add(
            "foot",
            "pap",
            swing,
            length,
            "grip_center",
            f"At the foot, from the line back to the PAP, {self.turned(swing)} (square to the VAL) for "
            f"the midline and {what}.",
        )

    def _grip(self) -> None:
        """The gripping holes: thumb on the centreline, fingers by the arcs of spans and bridge."""
        places = {h.name: (h.over, h.up) for h in self.plan.holes}
        base = "thumb" if "thumb" in places else "grip_center"
        exact = grip_arcs(
            places.get(base, (0.0, 0.0)), places["middle"], places["ring"], self.radius
        )
        arcs = rounded(exact, self.radius, self.rule.holes)
        self._centreline()
        if self._between_two:  # the marks may be off by more than a span may
            self._between(*self.new)
            return
        if base in self.new:
            if len(self.there) > 1:
                self._between("thumb")
            else:
                self._thumb(round_arc(-places["thumb"][1], self.rule.holes))
        self._fingers(base, arcs)

    def _centreline(self) -> None:
        """The centreline as drawn: square to the line from the grip centre back to the foot."""
        sight, turn = self._square()
        self.front = self.walk("grip_center", sight, turn, 0.5 * self.radius)  # toward the fingers
        across = cross(self.made["grip_center"], self.front)
        self.off = scaled(across, -1.0 / length(across))  # toward the positive side

    def _sight(self) -> str:
        """A mark that is far enough from the grip centre to sight at."""
        here = self.made["grip_center"]
        for mark in (AXIS, CENTRELINE, "pap", self.reference, "pin"):
            if mark in self.made and arc(here, self.made[mark], self.radius) > NO_LINE:
                return mark
        # all marks lie here, so the ball may be turned about them: any centreline will do
        self.made[CENTRELINE] = walked(here, 0.0, self.rule.centreline)
        return CENTRELINE

    def _square(self) -> tuple[str, int]:
        """A mark to sight at from the grip centre, and the whole degrees from it to the fingers."""
        here = self.made["grip_center"]
        sight = self._sight()
        if sight == AXIS:
            return sight, -90
        if sight == CENTRELINE:
            return sight, 0
        return sight, round(float(wrap180(-bearing(here, self.made[sight]))))

    def _thumb(self, down: float) -> None:
        """Along the centreline from the grip centre, or as far as the span to a finger hole asks for."""
        sight, fingers = self._square()
        oval = ", the middle of its oval" if "thumb" in self.oval else ""
        swing = int(wrap180(fingers + 180))
        proof = ""
        for there in self._nearby("thumb"):  # one at most
            far = self._reach(there, "thumb")
            whole = arc(self.made[there], self.wanted["thumb"], self.radius)
            near = round_arc(down, self.rule.holes)
            down = min(
                (max(near + n / self.rule.holes, 0.0) for n in range(-8, 9)),
                key=lambda length: abs(
                    arc(
                        self.walk("grip_center", sight, swing, length),
                        self.made[there],
                        self.radius,
                    )
                    - whole
                ),
            )
            proof = (
                f" It must be {self.rule.words(round_arc(whole - far, self.rule.holes))} from the "
                f"{there} hole's finished near edge: if not, move it along the centreline until it is."
            )
        self.add(
            "grip_center", sight, swing, down, "thumb",
            f"From the grip centre along the centreline, away from the fingers, measure "
            f"{self.rule.words(down)}: mark the centre of the thumb hole{oval}.{proof}", swing, 0,
        )  # fmt: skip

    def _fingers(self, base: str, arcs: GripArcs) -> None:
        """The finger holes, each by its arc from where the spans begin and by the hole beside it.

        The first is the middle hole, by its distance from the centreline, where none is there already.
        """
        placed = {name for name in _ROW if name in self.there}
        if not placed and "middle" in self.new:
            self._middle(base, arcs)
            placed.add("middle")
        waiting = [name for name in _ORDER if name in self.new - placed]
        while waiting:
            pairs = ((n, b) for n in waiting for b in _beside(n) if b in placed)
            name, beside = next(pairs)
            self._by_two_arcs(name, base, beside, arcs)
            placed.add(name)
            waiting.remove(name)

    def _middle(self, base: str, arcs: GripArcs) -> None:
        """Middle hole by its arc and its distance from the centreline."""
        r = self.radius
        # the middle hole lies on the side away from the PAP, whatever the hand
        right = self.hand != "right"
        origin, at, length, far = self._from(base, "middle", arcs.middle)
        here = scaled(self.made[base], 1.0 / r)
        off = scaled(self.off, -1.0)
        places = _places(here, math.cos((length + far) / r), off, math.sin(arcs.offset / r))
        place = scaled(max(places, key=lambda point: dot(point, self.front)), r)
        if far:
            self._edges((base,), (far,), place)
        self.cross(
            at, length, "middle", Crossing("centreline", arcs.offset, right), place,
            f"From {origin} measure {self.rule.words(length)} toward the fingers, to the place that "
            f"is {self.rule.words(arcs.offset)} {'right' if right else 'left'} of the centreline, square "
            "to it: mark the centre of the middle hole.",
        )  # fmt: skip

    def _by_two_arcs(self, name: str, base: str, beside: str, arcs: GripArcs) -> None:
        """A finger's hole by two arcs, on one side of the hole beside it."""
        right = (_ROW.index(name) > _ROW.index(beside)) == (self.side > 0)
        first, second = (
            round_arc(arc(self.wanted[n], self.wanted[name], self.radius), self.rule.holes)
            for n in (base, beside)
        )
        # those that were rounded together
        first = {"middle": arcs.middle, "ring": arcs.ring}.get(name, first)
        if {name, beside} == {"middle", "ring"}:
            second = arcs.apart
        r = self.radius
        origin, at, length, far = self._from(base, name, first)
        then, mark, apart, reach = self._from(beside, name, second)
        one, other = (scaled(self.made[n], 1.0 / r) for n in (base, beside))
        places = _places(one, math.cos((length + far) / r), other, math.cos((apart + reach) / r))
        place = scaled(max(places, key=lambda point: dot(point, self.wanted[name])), r)
        for hole, edge in ((base, far), (beside, reach)):
            if edge:
                self._edges((hole,), (edge,), place)
        self.cross(
            at, length, name, Crossing(mark, apart, right), place,
            f"From {origin} measure {self.rule.words(length)} and from {then} "
            f"{self.rule.words(apart)}: where the two arcs cross, {'right' if right else 'left'} of the "
            f"{beside} hole, mark the centre of the {name} hole.",
        )  # fmt: skip

    def _from(self, start: str, new: str, measure: float) -> tuple[str, str, float, float]:
        """Where an arc to a new hole is measured from: in words, by name, its length, what is off it.

        A hole that is there has an edge and no centre to measure from.
        """
        if start in self.there:
            far = self._reach(start, new)
            exact = arc(self.made[start], self.wanted[new], self.radius) - far
            return (
                f"the {start} hole's finished near edge",
                f"{start}{EDGE}",
                round_arc(exact, self.rule.holes),
                far,
            )
        words = "the palm mark" if start == "grip_center" else f"the {start} hole's centre"
        return words, start, measure, 0.0

    def cross(
        self, at: str, measure: float, new: str, crossing: Crossing, place: Vector, text: str
    ) -> None:
        """Take a step that two measures give."""
        self.made[new] = place
        number = len(self.done) + 1
        toward = "grip_center" if at == "thumb" else crossing.mark
        if toward == CENTRELINE or at == "grip_center":
            toward = self._square()[0]
        self.done.append(MarkingStep(number, at, toward, 0, measure, new, text, crossing=crossing))

    def _hole(self, name: str) -> None:
        """From the grip centre; the centreline is square to the line back to the midline foot."""
        ideal = self.wanted[name]
        sight = self._sight()
        drawn = sight in (AXIS, CENTRELINE)
        square = 90 if sight == AXIS else 0  # from the centreline's finger side to what is sighted
        center = self.wanted["grip_center"]
        swing = round(float(wrap180(bearing(center, ideal) - square)))
        length = round_arc(arc(center, ideal, self.radius), self.rule.marks)
        miss = arc(self.walk("grip_center", sight, swing, length), ideal, self.radius)
        if not drawn or miss > NEAR_ENOUGH:
            swing, length = self.nearest("grip_center", sight, ideal)
        start, told = 0, swing
        if drawn:
            line, lean = self._off_centreline(int(wrap180(swing + square)))
            start, told = swing - lean, lean
        else:
            line = f"from {self.line_to(sight)} {self.turned(swing)} and"
        self.add(
            "grip_center", sight, swing, length, name,
            f"At the grip centre, {line} measure {self.rule.words(length)}: mark the centre of the "
            f"{name} hole.", start, told,
        )  # fmt: skip

    def _off_centreline(self, off: int) -> tuple[str, int]:
        """A swing from the centreline's finger side, told from the nearer side of it."""
        if abs(off) <= 90:
            side, lean = "finger side", off
        else:
            side, lean = "thumb side", int(wrap180(off - 180))
        if lean == 0:
            return f"along the {side} of the centreline", 0
        return f"from the {side} of the centreline {self.turned(lean)} and", lean


def _beside(name: str) -> Iterator[str]:
    """The fingers on either side of a finger, the one across the bridge first."""
    yield from (n for n in _ORDER if abs(_ROW.index(n) - _ROW.index(name)) == 1)


def _places(a: Vector, cos_a: float, b: Vector, cos_b: float) -> tuple[Vector, Vector]:
    """The two unit vectors whose products with the unit vectors ``a`` and ``b`` are given.

    Where rounded arcs do not quite meet, the place nearest to both is given twice.
    """
    foot, normal, square = meeting(a, b, cos_a, cos_b)
    height = math.sqrt(max(square, 0.0))
    return along(foot, normal, height), along(foot, normal, -height)
