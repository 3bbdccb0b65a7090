"""Paper strips at true size: the marking steps for a person with scissors and tape alone.

A straight strip of paper lies along a great circle of the ball without a crease, and a length on it
is an arc, so ticks need no conversion. A line through two marks is a strip laid on both. An angle is
set by two strips from its corner and a third, the chord between them, that holds two of their ticks
the right arc apart. A hole's place is where the ticks of two strips meet. So every strip is laid on
what lies on the ball already, and no figure needs to be read off.

The strips follow the marking steps in their order (`marking`). They carry the plan's exact arcs, where
the steps' figures are rounded and allow for each other's rounding. Paper of 0.1 mm bends about its
middle, which makes an arc on the ball shorter than its print by less than 1/300 in of a quarter of the
ball: that is left out.

The chord c between two legs a at an angle follows from the cosine rule of the sphere:
c = 2 R asin(sin(a / R) sin(angle / 2)).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from layoutkit.geometry.sphere import arc, bearing, from_over_up, mirror, walk, walked, wrap180
from layoutkit.geometry.vectors import Vector
from layoutkit.planning.grip import NEIGHBOUR
from layoutkit.planning.grip_marks import STEP, grip_arcs
from layoutkit.planning.marking import MARK_STEP, NAMES
from layoutkit.planning.plan import PROOF_TOLERANCE
from layoutkit.planning.values import Plan
from layoutkit.units import Units, format_length

LEAST_LEG, USUAL_LEG, MOST_LEG = 3.5, 4.0, 6.25  # inches; the longer, the better an angle is set
SAME = 0.005  # inches, about the width of a pencil's line; nearer marks are one
LEAST_PROOF = 0.25  # inches from the pin, below which a tick proves nothing


class Tick(NamedTuple):
    """A tick: the mark or hole whose place it gives, or a letter; inches from the strip's start.

    ``xyz`` is where it lies on the ball, in inches in the grip frame.
    """

    name: str
    place: float
    xyz: Vector


class Meeting(NamedTuple):
    """The tick of this strip that meets the tick of the same name on strip ``other``.

    It lies clockwise, seen from outside, of the line from ``corner`` to ``known``, if ``clockwise``;
    else counter-clockwise. ``corner`` is on strip ``other``, ``known`` on this one, and both are on
    the ball already.
    """

    name: str
    other: int
    corner: str
    known: str
    clockwise: bool


@dataclass(frozen=True, slots=True)
class Strip:
    """One strip of paper: its number in the order of use, its ticks in the order of their places.

    The places count from the strip's start, at place 0; a negative one lies before it. The start is
    printed as a dot, and a tick that meets another strip's as a cross. ``parts`` are
    the parts of an inch in which its figures are printed. ``do`` is one short line for the strip itself;
    ``words`` are its ticks' names as people say them.
    The places grow toward the ``fingers`` where that is said. ``meets`` tells how the second strip of two
    is laid, and so the first one.
    """

    number: int
    name: str
    ticks: tuple[Tick, ...]
    parts: int
    do: str
    words: Mapping[str, str]
    fingers: bool = False
    meets: Meeting | None = None


@dataclass(frozen=True, slots=True)
class LayingStep:
    """What to do with one strip, or with two that are laid together, in words."""

    number: int
    text: str
    strips: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StripSet:
    """All strips of a plan, in the order of use, and how to lay them."""

    strips: tuple[Strip, ...]
    steps: tuple[LayingStep, ...]


def chord(leg: float, angle: float, radius: float) -> float:
    """The arc between the ends of two legs of equal length, in inches.

    ``angle`` between the legs in degrees; the cosine rule of the sphere for two equal sides.
    """
    half = math.sin(math.radians(angle) / 2.0)
    return 2.0 * radius * math.asin(math.sin(leg / radius) * half)


def paper_strips(plan: Plan, units: Units = "fraction") -> StripSet:
    """The strips that lead from the marks on the ball to every hole centre, and a strip to check them.

    ``units`` are those of the lengths in the words.
    """
    return _Table(plan, units).strips()


@dataclass(eq=False)
class _Line:
    """A strip while it is made: the mark at its start, where that lies, and the bearing from there."""

    number: int
    name: str
    start: str
    point: Vector
    course: float
    ticks: dict[str, float]
    parts: int = MARK_STEP
    do: str = ""
    fingers: bool = False
    meets: Meeting | None = None

    def named(self, place: float) -> str | None:
        """The name of the tick at a place, None where there is none."""
        return next((n for n, other in self.ticks.items() if abs(other - place) < SAME), None)

    def way(self, place: float, back: bool) -> float:
        """The bearing of the strip at a place, toward its later ticks or back."""
        return float(walk(self.point, self.course, place)[1]) + (180.0 if back else 0.0)

    def frozen(self, called: Mapping[str, str], points: Mapping[str, Vector]) -> Strip:
        """The strip as a value; ``called`` are the marks' names as people say them, ``points`` where
        the marks lie.
        """
        ticks = [Tick(name, place, points[name]) for name, place in self.ticks.items()]
        ticks.sort(key=lambda tick: tick.place)
        words = {t.name: called.get(t.name, t.name) for t in ticks}
        return Strip(
            self.number,
            self.name,
            tuple(ticks),
            self.parts,
            self.do,
            words,
            self.fingers,
            self.meets,
        )


class _Laid(NamedTuple):
    """A step before all ticks are known: how to lay its strips, and what to do after marking."""

    lay: str
    lines: tuple[_Line, ...]
    after: str = ""


class _Table:
    """Makes the strips one after the other, in the bowler's frame."""

    def __init__(self, plan: Plan, units: Units) -> None:
        self.plan, self.units, self.radius = plan, units, plan.radius
        self.right = plan.job.bowler.hand == "right"
        m = plan.marks
        marks = {"pin": m.pin, "cg": m.cg, "psa": m.psa, "pap": m.pap, "grip_center": m.grip_center}
        points = {k: v.xyz for k, v in marks.items() if v is not None}
        points |= {h.name: h.entry for h in plan.holes}
        points |= {e.name: e.entry for e in plan.extra_holes}
        self.places = {k: mirror(xyz, plan.job.bowler.hand) for k, xyz in points.items()}
        self.reference = next((k for k in ("psa", "cg") if k in points), None)
        self.no_thumb = plan.job.bowler.grip.thumb is None
        self.called = {
            **NAMES,
            "foot": "foot",
            "grip_center": "palm mark" if self.no_thumb else "grip centre",
        }
        self.oval = {h.name for h in plan.holes if h.oval is not None}
        self.new = {h.name for h in plan.for_today.holes}
        self.letters = iter("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
        self.lines: list[_Line] = []
        self.laid: list[_Laid] = []

    def strips(self) -> StripSet:
        """All strips and steps."""
        if self.plan.marks.pap is None:
            line, place = self._from_pin("grip_center")
            centreline, center = self._centreline(line, place, place > 0.0, place), 0.0
        else:
            line, place = self._from_pin("pap")
            centreline, center = self._over_pap(line, place)
        self._grip(centreline, center)
        for extra in self.plan.for_today.extra_holes:
            self._from_center(extra.name, centreline, center)
        self._proof()
        known: set[str] = {"pin", "cg", "psa"}
        steps = []
        for number, (lay, lines, after) in enumerate(self.laid, 1):
            own = (t for line in lines for t in sorted(line.ticks, key=line.ticks.__getitem__))
            new = [t for t in dict.fromkeys(own) if t not in known and self.wanted(t, lines)]
            known |= set(new)
            marks = f" Mark {_listed([self.mark(t) for t in new])}." if new else ""
            for line in lines:
                line.do = f"Step {number}. {line.do}"
            text = f"{lay}.{marks}{f' {after}' if after else ''}"
            steps.append(LayingStep(number, text, tuple(line.number for line in lines)))
        hand = self.plan.job.bowler.hand
        points = {name: mirror(point, hand) for name, point in self.places.items()}
        strips = (line.frozen(self.called, points) for line in self.lines)
        return StripSet(tuple(strips), tuple(steps))

    def wanted(self, tick: str, lines: tuple[_Line, ...]) -> bool:
        """Whether what is laid later needs a tick of these strips: all but a letter that only met."""
        later = self.lines[lines[-1].number :]
        return len(tick) > 1 or any(tick in line.ticks for line in later)

    # --- words ------------------------------------------------------------------------------------

    def word(self, name: str) -> str:
        """A tick's name before the word `tick`."""
        return self.called.get(name, name)

    def place(self, name: str) -> str:
        """A tick's name as a place on the ball, `the pin` or `A`."""
        if len(name) == 1:
            return name
        hole = "" if name in self.called else " mark"
        return f"the {self.word(name)}{hole}"

    def mark(self, name: str) -> str:
        """What is to be marked, in words."""
        if name == "grip_center" and self.no_thumb:
            return "the palm mark (engrave a plus sign there)"
        if name == "foot":
            return "the midline foot"
        if len(name) == 1 or name in self.called:
            return self.place(name)
        oval = ", the middle of its oval" if name in self.oval else ""
        return f"the centre of the {name} hole{oval}"

    # --- ways to lay a strip ------------------------------------------------------------------------

    def line(self, name: str, start: str, course: float, **ticks: float) -> _Line:
        """A new strip from a mark, at a bearing."""
        all_ticks = {start: 0.0, **ticks}
        line = _Line(len(self.lines) + 1, name, start, self.places[start], course, all_ticks)
        self.lines.append(line)
        return line

    def letter(self, line: _Line, place: float) -> str:
        """The tick at a place of a strip, a new letter where there is none."""
        name = line.named(place)
        if name is None:
            name = next(self.letters)
            line.ticks[name] = place
            self.places[name] = walked(line.point, line.course, place)
        return name

    def set_angle(
        self,
        line: _Line,
        base: _Line,
        place: float,
        back: bool,
        lengths: tuple[float, ...],
        chord_name: str,
        after: str = "",
    ) -> None:
        """Lay a strip, whose start lies at a place of another that is laid, by a chord between them.

        The angle is that from the other strip, taken back from the place or not. It is set at one of
        the ``lengths`` from the corner, the first of which is the strip's own.
        """
        turn = float(wrap180(line.course - base.way(place, back)))
        behind = abs(turn) > 90.0
        lean = float(wrap180(turn + 180.0)) if behind else turn
        good = (x for x in lengths[1 if behind else 0 :] if LEAST_LEG <= x <= MOST_LEG)
        leg = next(good, USUAL_LEG)
        known = self.letter(base, place - leg if back else place + leg)
        own = -leg if behind else leg
        apart = chord(leg, abs(lean), self.radius)
        start = self.place(line.start)
        if apart < SAME:
            line.ticks[known] = own
            line.do = f"Dot on {start}, line through {self.place(known)}."
            lay = (
                f"Lay strip {line.number} with its dot on {start} and its line through "
                f"{self.place(known)}"
            )
            self.laid.append(_Laid(lay, (line,), after))
            return
        new = self.letter(line, own)
        between = self.line(chord_name, known, 0.0, **{new: apart})
        clockwise = self.right == (lean > 0.0)
        way = "clockwise" if clockwise else "counter-clockwise"
        degrees = f"{abs(lean):.1f}".removesuffix(".0")
        where = f"{degrees} degrees {way} of the line from {start} to {self.place(known)}"
        if behind:
            where += f" ({self.place(new)} lies behind {start})"
        self.turn_together(line, between, new, clockwise, where, after)

    def turn_together(
        self, first: _Line, second: _Line, name: str, clockwise: bool, where: str, after: str = ""
    ) -> None:
        """Lay two strips by their starts, turned until their ticks of one name meet."""
        second.meets = Meeting(name, first.number, first.start, second.start, clockwise)
        for one, other in ((first, second), (second, first)):
            start = self.place(one.start)
            one.do = f"Dot on {start}. Turn with strip {other.number} until the crosses meet."
        lay = (
            f"Put the dot of strip {first.number} on {self.place(first.start)} and the dot of strip "
            f"{second.number} on {self.place(second.start)}. Turn both until their crosses meet, {where}"
        )
        self.laid.append(_Laid(lay, (first, second), after))

    # --- the marks ----------------------------------------------------------------------------------

    def _from_pin(self, goal: str) -> tuple[_Line | None, float]:
        """From the pin to the PAP, or without one to the grip centre.

        Returns the strip that lies on that mark, and the mark's place on it. No strip where the ball
        has no mark but its pin, and the pin itself is where the line leads to.
        """
        pin, target = self.places["pin"], self.places[goal]
        distance = arc(pin, target, self.radius)
        base, far = None, 0.0
        if self.reference is not None:
            mark, called = self.places[self.reference], self.called[self.reference]
            far = arc(pin, mark, self.radius)
            base = self.line(f"pin to {called}", "pin", bearing(pin, mark), **{self.reference: far})
            base.do = f"Dot on the pin, line through the {called}."
            lay = f"Lay strip 1 with its dot on the pin and its line through the {called}"
            off = format_length(PROOF_TOLERANCE, self.units)
            check = (
                f"Its {called} tick must come within {off} of the {called}: if not, measure the ball "
                "and its marks again and correct the record."
            )
            self.laid.append(_Laid(lay, (base,), check))
        if distance < SAME:
            if base is not None:
                base.ticks[goal] = 0.0
            return base, 0.0
        line = self.line(
            f"pin to {self.called[goal]}", "pin", bearing(pin, target), **{goal: distance}
        )
        if base is None:
            self.any_way(line)
        else:
            self.set_angle(line, base, 0.0, False, (distance, far), "angle at the pin")
        return line, distance

    def any_way(self, line: _Line, after: str = "") -> None:
        """Lay the first strip of a ball that has no other mark than its pin."""
        line.ticks = {"pin": 0.0, **line.ticks}
        line.do = "Dot on the pin, any way round."
        lay = f"Lay strip {line.number} with its dot on the pin, any way round"
        self.laid.append(_Laid(f"{lay}: the ball has no other mark", (line,), after))

    def _over_pap(self, line: _Line | None, place: float) -> tuple[_Line, float]:
        """From the PAP over the midline foot to the grip centre: the centreline, and its place on it."""
        pap = self.plan.marks.pap
        assert pap is not None
        up = self.radius * math.asin(self.places["pap"][1] / self.radius)
        over = pap.over
        foot = "foot" if over >= SAME else "grip_center"
        self.places["foot"] = from_over_up(over, 0.0, self.radius)
        val = self.line("VAL", "pap", 0.0, **{foot: -up})
        val.fingers = True
        draw = f"Draw the VAL along strip {val.number}."
        if line is None:
            self.any_way(val, draw)
        else:
            lengths = (abs(up), place)
            self.set_angle(val, line, place, place > 0.0, lengths, "angle at the PAP", draw)
        if foot == "grip_center":
            return val, -up
        midline = self.line("midline", "foot", -90.0, grip_center=over)
        back = min(val.ticks.values()) < -LEAST_LEG  # the side on which the strip is long already
        draw = f"Draw the midline along strip {midline.number}."
        self.set_angle(midline, val, -up, back, (over,), "square at the foot", draw)
        return self._centreline(midline, over, True, over), 0.0

    def _centreline(self, base: _Line | None, place: float, back: bool, length: float) -> _Line:
        """The centreline, at a place of a strip that is laid; ``length`` is that strip's own arc."""
        line = self.line("centreline", "grip_center", 0.0)
        line.fingers = True
        draw = f"Draw the centreline along strip {line.number}."
        if base is None:
            self.any_way(line, draw)
        else:
            name = (
                "angle at the grip centre" if self.plan.marks.pap is None else "square at the grip"
            )
            self.set_angle(line, base, place, back, (0.0, length), name, draw)
        return line

    # --- the holes ----------------------------------------------------------------------------------

    def _grip(self, centreline: _Line, center: float) -> None:
        """Thumb on the centreline, middle and ring hole by two arcs each.

        Where other holes are there already, a strip cannot begin at their centres: a new finger's
        hole is then laid from the grip centre.
        """
        holes = {h.name: (h.over, h.up) for h in self.plan.holes}
        if "thumb" in self.new:
            centreline.ticks["thumb"] = center + self._along("thumb")
        if self.new != set(holes):
            for name in ("middle", "ring", *NEIGHBOUR):
                if name in self.new:
                    self._from_center(name, centreline, center)
            return
        base = "thumb" if "thumb" in holes else "grip_center"
        arcs = grip_arcs(holes.get(base, (0.0, 0.0)), holes["middle"], holes["ring"], self.radius)
        beside = self.letter(centreline, center + self._along("middle"))
        self._hole("middle", base, arcs.middle, beside, arcs.offset)
        self._hole("ring", base, arcs.ring, "middle", arcs.apart)
        for name, beside in NEIGHBOUR.items():
            if name in holes:
                lengths = (
                    arc(self.places[n], self.places[name], self.radius) for n in (base, beside)
                )
                self._hole(name, base, next(lengths), beside, next(lengths))

    def _along(self, hole: str) -> float:
        """The place on the centreline, from the grip centre, to which a hole is nearest."""
        _, y, z = self.places[hole]
        return self.radius * math.atan2(y, z)

    def _hole(self, name: str, base: str, length: float, other: str, apart: float) -> None:
        """A hole's centre, where an arc from the thumb or the palm mark meets one from another place."""
        here = self.places[base]
        course = bearing(here, self.places[name])
        lean = float(wrap180(course - bearing(here, self.places[other])))
        side = "right" if self.right == (lean > 0.0) else "left"
        of = "the centreline" if len(other) == 1 else self.place(other)
        first = self.line(f"{self.word(base)} to {name}", base, course, **{name: length})
        second = self.line(f"{self.word(other)} to {name}", other, 0.0, **{name: apart})
        first.parts = second.parts = STEP
        self.turn_together(first, second, name, side == "right", f"{side} of {of}")

    def _from_center(self, name: str, centreline: _Line, center: float) -> None:
        """A hole by its arc from the grip centre and an angle to the centreline, as a vent is laid."""
        here, there = self.places["grip_center"], self.places[name]
        length = arc(here, there, self.radius)
        course = bearing(here, there)
        line = self.line(
            f"{self.word('grip_center')} to {name}", "grip_center", course, **{name: length}
        )
        back = abs(course) > 90.0
        self.set_angle(line, centreline, center, back, (length,), f"angle of the {name}")

    def _proof(self) -> None:
        """A strip that turns about the pin, to check every mark that was made."""
        pin = self.places["pin"]
        today = self.plan.for_today
        holes = [h.name for h in today.holes] + [e.name for e in today.extra_holes]
        names = ("pap", "grip_center", *holes)
        arcs = {n: arc(pin, self.places[n], self.radius) for n in names if n in self.places}
        line = self.line("check", "pin", 0.0, **{n: a for n, a in arcs.items() if a > LEAST_PROOF})
        line.do = "Dot on the pin. Turn: each tick meets its mark, or do not drill."
        off = format_length(PROOF_TOLERANCE, self.units)
        lay = (
            f"Check: put the dot of strip {line.number} on the pin and turn the strip: each tick must "
            f"come within {off} of its mark"
        )
        then = "If one does not, do not drill: find out why first."
        if len(today.holes) < len(self.plan.holes):
            then += (
                " Then measure the work sheet's spans from the edges of the holes that are there."
            )
        self.laid.append(_Laid(lay, (line,), then))


def _listed(words: list[str]) -> str:
    """Words as a list in a sentence."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
