"""The marking steps: how to lay a plan out on a ball from the factory's marks alone.

A step is a value. Each one starts at a mark that is on the ball already, sights along the great
circle toward another one, swings a whole number of degrees, and measures an arc in sixteenths. The
numbers that follow a rounded step are worked out from where that step really lands, so roundings do
not add up: every hole's centre comes out within 1/8 in of the plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from layoutkit.geometry.sphere import arc, bearing, mirror, walk, wrap180
from layoutkit.geometry.vectors import Vector
from layoutkit.planning.values import Plan
from layoutkit.units import fraction

ARC_STEP = 16  # arcs are printed in sixteenths of an inch
NEAR_ENOUGH = 1.0 / 32.0  # inches; below it a hole is marked by its own grip numbers
NO_LINE = 1.0 / 32.0  # inches; two marks nearer than this give no line to sight along

ROUNDING_NOTE = "Measures allow for earlier rounding: follow them as printed."

NAMES = {
    "pin": "pin",
    "cg": "CG mark",
    "psa": "PSA mark",
    "pap": "PAP",
}


@dataclass(frozen=True, slots=True)
class MarkingStep:
    """Stand at ``at``, sight toward ``toward``, swing ``turn`` degrees, measure ``length`` inches.

    ``turn`` is clockwise seen from outside the ball, whole degrees in -180..180; ``length`` is a
    whole number of sixteenths. The point reached is called ``new``. ``text`` says the same, but may
    swing from another line than the one sighted along: by ``swing`` degrees from the line that lies
    ``start`` degrees clockwise of it, toward the arc or the way opposite to it.
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


def round_arc(length: float) -> float:
    """An arc to the nearest sixteenth of an inch."""
    return math.floor(length * ARC_STEP + 0.5) / ARC_STEP


def marking_steps(plan: Plan) -> tuple[MarkingStep, ...]:
    """The steps from the marks on the ball to every hole centre, in order."""
    return _Bench(plan).steps()


def landed(plan: Plan) -> dict[str, Vector]:
    """Where each mark and hole centre lies when the rounded steps are followed.

    By the steps' names, in inches in the grip frame; the factory's marks are where they are.
    """
    bench = _Bench(plan)
    bench.steps()
    return {name: mirror(point, bench.hand) for name, point in bench.made.items()}


class _Bench:
    """Lays the plan out step by step, in the bowler's frame, keeping where each mark really landed."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.radius = plan.radius
        self.hand = plan.job.bowler.hand
        self.side = 1 if self.hand == "right" else -1
        m = plan.marks
        wanted = {"pin": m.pin, "cg": m.cg, "pap": m.pap, "grip_center": m.grip_center}
        if m.psa is not None:
            wanted["psa"] = m.psa
        self.wanted = {k: mirror(v.xyz, self.hand) for k, v in wanted.items()}
        self.wanted |= {h.name: mirror(h.entry, self.hand) for h in plan.holes}
        self.wanted |= {e.name: mirror(e.entry, self.hand) for e in plan.extra_holes}
        self.oval = {h.name for h in plan.holes if h.oval is not None}
        over, r = m.pap.over / self.radius, self.radius
        self.wanted["foot"] = (r * math.sin(over), 0.0, r * math.cos(over))
        factory = ("pin", "cg", "psa")
        self.made = {k: v for k, v in self.wanted.items() if k in factory}
        self.reference = "psa" if m.psa is not None else "cg"
        self.done: list[MarkingStep] = []

    def walk(self, at: str, toward: str, swing: float, length: float) -> Vector:
        """Where a step leads from the marks as made; ``swing`` grows with the bearing."""
        start = bearing(self.made[at], self.made[toward])
        end: Vector = walk(self.made[at], start + swing, length)[0]
        return end

    def swing(self, at: str, toward: str, target: Vector) -> int:
        """Whole degrees from the line at ``at`` toward a mark to the line toward the target."""
        turn = bearing(self.made[at], target) - bearing(self.made[at], self.made[toward])
        return round(float(wrap180(turn)))

    def nearest(self, at: str, toward: str, target: Vector) -> tuple[int, float]:
        """Of the whole degrees and sixteenths around it, those that lead nearest to the target."""
        turn = self.swing(at, toward, target)
        length = round_arc(arc(self.made[at], target, self.radius))
        near = [(turn + i, max(length + j / ARC_STEP, 0.0)) for i in (-1, 0, 1) for j in (-1, 0, 1)]
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
            return "on that line"
        clockwise = (self.side * swing) > 0
        return f"swing {abs(swing)} degrees {'clockwise' if clockwise else 'counter-clockwise'}"

    def steps(self) -> tuple[MarkingStep, ...]:
        self._pap()
        self._midline()
        self._grip_center()
        for hole in reversed(self.plan.holes):
            self._hole(hole.name)
        for extra in self.plan.extra_holes:
            self._hole(extra.name)
        return tuple(self.done)

    def _pap(self) -> None:
        length = round_arc(arc(self.made["pin"], self.wanted["pap"], self.radius))
        swing = round(-self.plan.layout.angle_at_pin)
        line = f"Draw the line from the pin toward the {NAMES[self.reference]}."
        if length == 0.0:
            text = f"{line} The PAP is the pin."
        else:
            text = (
                f"{line} At the pin {self.turned(swing)} and measure {fraction(length)} in: "
                "mark the PAP."
            )
        self.add("pin", self.reference, swing, length, "pap", text)

    def _midline(self) -> None:
        """From the PAP down (or up) the VAL to the midline."""
        here = self.made["pap"]
        up = self.radius * math.asin(here[1] / self.radius)
        length = round_arc(abs(up))
        # a pin on the PAP gives no line back to it: sight toward the reference mark instead
        apart = arc(here, self.made["pin"], self.radius)
        sight = "pin" if NO_LINE < apart < math.pi * self.radius - NO_LINE else self.reference
        north = round(wrap180(-bearing(here, self.made[sight])))
        swing = north if up < 0.0 else int(wrap180(north + 180))
        away = "toward the fingers" if up < 0.0 else "away from the fingers"
        line = (
            f"At the PAP, from the line to the {NAMES[sight]}, {self.turned(north)}: draw the VAL"
        )
        if length == 0.0:
            text = f"{line}, its finger side there. The PAP itself is the foot on the midline."
        else:
            text = (
                f"{line}, its finger side there. Along it {away} measure {fraction(length)} in: "
                "mark the midline foot."
            )
        self.val = (sight, north)
        self.pap_below = up < 0.0
        self.add("pap", sight, swing, length, "foot", text, told=north)

    def _grip_center(self) -> None:
        """From the foot, square to the VAL, along the midline to the grip centre."""
        sight, north = self.val
        here = self.made["foot"]
        length = round_arc(arc(here, self.wanted["grip_center"], self.radius))
        palm = " (the palm mark: engrave a plus sign there)" if len(self.plan.holes) == 2 else ""
        what = (
            f"measure {fraction(length)} in to the grip centre{palm}. Draw the centreline there, "
            "square to the midline"
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

    def _hole(self, name: str) -> None:
        """From the grip centre; the centreline is square to the line back to the midline foot."""
        here, ideal = self.made["grip_center"], self.wanted[name]
        sight = next(
            mark
            for mark in ("foot", "pap", self.reference, "pin")
            if arc(here, self.made[mark], self.radius) > NO_LINE
        )
        center = self.wanted["grip_center"]
        swing = round(float(wrap180(bearing(center, ideal) - 90.0)))
        length = round_arc(arc(center, ideal, self.radius))
        miss = arc(self.walk("grip_center", sight, swing, length), ideal, self.radius)
        if sight != "foot" or miss > NEAR_ENOUGH:
            swing, length = self.nearest("grip_center", sight, ideal)
        start, told = 0, swing
        if sight == "foot":
            line, lean = self._off_centreline(swing)
            start, told = swing - lean, lean
        else:
            line = f"from the line to the {NAMES[sight]} {self.turned(swing)} and"
        self.add(
            "grip_center", sight, swing, length, name,
            f"At the grip centre, {line} measure {fraction(length)} in: mark the centre of the "
            f"{name} hole{', the middle of its oval' if name in self.oval else ''}.", start, told,
        )  # fmt: skip

    def _off_centreline(self, swing: int) -> tuple[str, int]:
        """A swing from the line to the foot, told from the nearer side of the centreline."""
        off = int(wrap180(swing + 90))
        if abs(off) <= 90:
            side, lean = "finger side", off
        else:
            side, lean = "thumb side", int(wrap180(off - 180))
        if lean == 0:
            return f"along the {side} of the centreline", 0
        return f"from the {side} of the centreline {self.turned(lean)} and", lean
