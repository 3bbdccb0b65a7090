"""Every kind of practice problem, solved again from its printed words alone.

Arcs and directions come from pyproj's geodesics on a sphere, other lengths from a root finder, side and
top weights from a ball of sampled density, meeting holes from sampled points. Limits are those of the
rules in force since 2020-08-01 (USBC equipment specifications; 3 oz and no balance hole over 10 lb).
Seeds are few here; `tests/bench/check_practice.py` takes thousands.
"""

import math
import re
from collections.abc import Callable
from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from pyproj import Geod
from scipy.optimize import brentq

from layoutkit.practice.marking import Answer, mark
from layoutkit.practice.problems import KINDS, problem
from layoutkit.practice.values import Problem, Value

_LENGTH = re.compile(r"(-?\d+ \d+/\d+|-?\d+/\d+|-?\d+(?:\.\d+)?) in\b(?: (down))?")


def number(text: str) -> float:
    sign = -1.0 if text.startswith("-") else 1.0
    parts = text.lstrip("-").split()
    return sign * sum(
        float(p.split("/")[0]) / float(p.split("/")[1]) if "/" in p else float(p) for p in parts
    )


def lengths(text: str) -> list[float]:
    return [number(m[1]) * (-1.0 if m[2] else 1.0) for m in _LENGTH.finditer(text)]


def degrees(text: str) -> list[float]:
    return [float(x) for x in re.findall(r"(-?\d+(?:\.\d+)?) degrees", text)]


def ounces(text: str) -> list[float]:
    return [float(x) for x in re.findall(r"(-?\d+(?:\.\d+)?) oz", text)]


def side(text: str) -> float:
    return -1.0 if re.search(r"left[- ]hand", text) else 1.0


class Sphere:
    """Places by over and up on a sphere: over is longitude, up latitude, azimuths are bearings."""

    def __init__(self, diameter: float) -> None:
        self.r = diameter / 2.0
        self.geod = Geod(a=self.r, b=self.r)

    def angles(self, over: float, up: float) -> tuple[float, float]:
        return math.degrees(over / self.r), math.degrees(up / self.r)

    def between(self, a: tuple[float, float], b: tuple[float, float]) -> tuple[float, float]:
        """Azimuth at a and distance."""
        azimuth, _, distance = self.geod.inv(*self.angles(*a), *self.angles(*b))
        return float(azimuth), float(distance)

    def walk(self, a: tuple[float, float], azimuth: float, distance: float) -> tuple[float, float]:
        lon, lat, _ = self.geod.fwd(*self.angles(*a), azimuth, distance)
        return self.r * math.radians(lon), self.r * math.radians(lat)

    def hole(self, diameter: float) -> float:
        """The arc from a hole's centre to its edge."""

        def off(s: float) -> float:
            return 2.0 * self.r * math.sin(s / self.r) - diameter

        return float(brentq(off, 0.0, self.r * math.pi / 2.0, xtol=1e-13))

    @property
    def quarter(self) -> float:
        return self.between((0.0, 0.0), (0.0, self.r * math.pi / 2.0))[1]


@lru_cache(maxsize=1)
def sampled() -> np.ndarray[Any, Any]:
    """Points in the unit ball."""
    x = (np.arange(24) + 0.5) / 12.0 - 1.0
    grid = np.stack(np.meshgrid(x, x, x), axis=-1).reshape(-1, 3)
    return np.asarray(grid[(grid**2).sum(axis=1) < 1.0])


def weighed(top: float, over: float, radius: float) -> tuple[float, float]:
    """Side and top weight of a ball whose density rises evenly toward a CG mark on the midline."""
    mark_at = np.array([math.sin(over / radius), 0.0, math.cos(over / radius)])
    p = sampled()
    moment = ((1.0 + 0.1 * p @ mark_at)[:, None] * p).sum(axis=0)
    moment *= top / (moment @ mark_at)
    return float(moment[0]), float(moment[2])


# --- one solver a kind --------------------------------------------------------------------------------


def pin_from_grip(q: str) -> Value:
    d, over, up = lengths(q)
    return (Sphere(d).between((0.0, 0.0), (over, up))[1],)


def pin_to_pap(q: str) -> Value:
    d, a, b, c, e = lengths(q)
    return (Sphere(d).between((a, b), (c, e))[1],)


def bearing(q: str) -> Value:
    d, a, b, c, e = lengths(q)
    return ((Sphere(d).between((a, b), (c, e))[0] + degrees(q)[0]) % 360.0,)


def pin_to_val(q: str) -> Value:
    d, away = lengths(q)
    return (to_meridian(Sphere(d), Sphere(d).walk((0.0, 0.0), -degrees(q)[0], away)),)


def to_meridian(ball: Sphere, place: tuple[float, float]) -> float:
    """Distance to the meridian of over 0, found by trying its points ever nearer."""
    low, high = -ball.quarter, ball.quarter
    for _ in range(6):
        tries = np.linspace(low, high, 21)
        best = min(range(21), key=lambda i: ball.between(place, (0.0, float(tries[i])))[1])
        low, high = float(tries[max(best - 1, 0)]), float(tries[min(best + 1, 20)])
    return ball.between(place, (0.0, (low + high) / 2.0))[1]


def psa_away(ball: Sphere, turn: float, to_pap: float) -> float:
    pap, psa = ball.walk((0.0, 0.0), 0.0, to_pap), ball.walk((0.0, 0.0), turn, ball.quarter)
    return ball.between(pap, psa)[1]


def psa_to_pap(q: str) -> Value:
    d, away = lengths(q)
    return (psa_away(Sphere(d), degrees(q)[0], away),)


def angle_at_pin(q: str) -> Value:
    d, away, psa = lengths(q)
    ball = Sphere(d)
    return (float(brentq(lambda t: psa_away(ball, t, away) - psa, 0.0, 180.0, xtol=1e-10)),)


def half_way_round(q: str) -> Value:
    ball = Sphere(lengths(q)[0])
    return ((4.0 if "all the way" in q else 2.0) * ball.quarter,)


def finger_offset(q: str) -> Value:
    d, bridge, bore, _ = lengths(q)
    return (bridge / 2.0 + Sphere(d).hole(bore),)


def thumb_below(q: str) -> Value:
    d, middle, ring, thumb = lengths(q)
    return ((middle + ring) / 4.0 + Sphere(d).hole(thumb),)


def centre_to_centre(q: str) -> Value:
    d, span, thumb, finished, _ = lengths(q)
    return (span + Sphere(d).hole(thumb) + Sphere(d).hole(finished),)


def total_pitch(q: str) -> Value:
    return (abs(complex(*lengths(q))),)


def pitch_tilt(q: str) -> Value:
    d, _, pitch = lengths(q)
    r = d / 2.0

    def missed(tilt: float) -> float:
        """By how much a line from the pole, tilted so far, misses the centre."""
        way = np.array([math.sin(math.radians(tilt)), 0.0, -math.cos(math.radians(tilt))])
        return float(np.linalg.norm(np.cross([0.0, 0.0, r], way)))

    return (float(brentq(lambda t: missed(t) - pitch, 0.0, 45.0, xtol=1e-11)),)


def pitch_bottom(q: str) -> Value:
    d, depth, forward, aside = lengths(q)
    x = aside if re.search(r" in right\.", q) else -aside
    y = forward if " in forward" in q else -forward
    y = y if "thumb hole" in q else -y
    return depth * x / (d / 2.0), depth * y / (d / 2.0)


def track_ring(q: str) -> Value:
    ball = Sphere(lengths(q)[0])
    pole = (0.0, ball.quarter)
    return (ball.between(pole, (0.0, -ball.r * math.radians(degrees(q)[0])))[1],)


def pap_place(q: str) -> Value:
    _, over, up = lengths(q)
    return side(q) * over, up


def grip_from_pap(q: str) -> Value:
    _, over, up = lengths(q)
    return -side(q) * over, -up


def pin_by_angles(q: str) -> Value:
    d, over, up, away = lengths(q)
    s = side(q)
    return Sphere(d).walk((s * over, up), -s * degrees(q)[0], away)


def pin_by_distances(q: str) -> Value:
    d, over, up, away, to_val = lengths(q)
    ball, s = Sphere(d), side(q)

    def off(turn: float) -> float:
        lon, lat = ball.angles(*ball.walk((0.0, up), -turn, away))
        return (
            ball.r * math.asin(math.cos(math.radians(lat)) * math.sin(math.radians(-lon))) - to_val
        )

    turn = float(brentq(off, 0.0, 90.0, xtol=1e-10))
    return ball.walk((s * over, up), -s * turn, away)


def read_placement(q: str) -> Value:
    d, away = lengths(q)
    return Sphere(d).walk((0.0, 0.0), degrees(q)[0], away)


def read_angle(q: str) -> Value:
    pap, psa = degrees(q)
    return ((side(q) * (psa - pap) + 180.0) % 360.0 - 180.0,)


def read_chord(q: str) -> Value:
    d, straight = lengths(q)
    return (2.0 * Sphere(d).hole(straight),)


def read_label(q: str) -> Value:
    found = re.search(r"(\d+)(\.\d+) lb", q)
    assert found is not None
    return (float(found[2]) * 16.0,)


def read_track(q: str) -> Value:
    d, across = lengths(q)
    ball = Sphere(d)

    def off(tilt: float) -> float:
        a = (0.0, -ball.r * math.radians(tilt))
        return ball.between(a, (ball.r * math.pi, a[1]))[1] - across

    return (float(brentq(off, 0.0, 89.0, xtol=1e-10)),)


def signed(q: str, value: float) -> float:
    return -value if "away from the PAP side" in q else value


def side_weight(q: str) -> Value:
    d, over = lengths(q)
    return (signed(q, weighed(ounces(q)[0], over, d / 2.0)[0]),)


def top_left(q: str) -> Value:
    d, over = lengths(q)
    return (weighed(ounces(q)[0], over, d / 2.0)[1],)


def hole_side(q: str) -> Value:
    d, over, centroid, arm = lengths(q)
    place = centroid * np.array([math.sin(2.0 * over / d), 0.0, math.cos(2.0 * over / d)])
    return (signed(q, float(-ounces(q)[0] * place[0] / arm)),)


def two_position(q: str) -> Value:
    _, supports, arm = lengths(q)
    a, b = ounces(q)
    pounds = float(re.findall(r"([\d.]+) lb", q)[0])
    # zero error and moment from the two lever equations
    _, moment = np.linalg.solve(
        [[1.0, 1.0 / supports], [1.0, -1.0 / supports]], [a - 8.0 * pounds, b - 8.0 * pounds]
    )
    return (float(moment / arm),)


def rg_about(q: str) -> Value:
    low, high = lengths(q)
    t = math.radians(degrees(q)[0])
    axis = np.array([math.cos(t), math.sin(t)])
    return (math.sqrt(axis @ np.diag([low * low, high * high]) @ axis),)


def outcome_word(q: str) -> Value:
    value, allowance, limit = ounces(q)
    if value - allowance > limit:
        return "fail"
    return "pass" if value + allowance < limit else "close"


def which_rule(q: str) -> Value:
    pounds = float(re.findall(r"([\d.]+) lb", q)[0])
    top, aside, _ = ounces(q)
    if pounds > 16.0:
        return "the gross weight"
    if aside > 3.0:
        return "the side weight"
    if top > 3.0:
        return "the top weight"
    return "the balance hole" if "that no finger uses" in q else "none: it is legal"


def holes_meet(q: str) -> Value:
    d, bore, depth, finished, bridge, middle, ring = lengths(q)
    ball = Sphere(d)
    thumb = 1.0  # only the middle of the grip moves with it
    below = (middle + ring) / 4.0 + ball.hole(thumb)
    ends = []
    for s, span in ((-1.0, middle), (1.0, ring)):
        off = (bridge / 2.0 + ball.hole(bore)) / ball.r
        reach = (span + ball.hole(thumb) + ball.hole(finished)) / ball.r
        along = math.acos(math.cos(reach) / math.cos(off)) - below / ball.r
        c = math.cos(off)
        ends.append(np.array([s * math.sin(off), c * math.sin(along), c * math.cos(along)]))
    one, other = ends
    across = np.cross(one, [0.0, 1.0, 0.0])
    across /= np.linalg.norm(across)
    turns = np.linspace(0.0, 2.0 * math.pi, 721)[:, None]
    rim = bore / 2.0 * (np.cos(turns) * across + np.sin(turns) * np.cross(one, across))
    for deep in np.linspace(0.0, depth, 81):
        points = (ball.r - deep) * one + rim
        along = points @ other
        beside = np.linalg.norm(points - along[:, None] * other, axis=1)
        if ((beside <= bore / 2.0) & (along >= ball.r - depth) & (along <= ball.r)).any():
            return "yes"
    return "no"


def ring_spacing(q: str) -> Value:
    """Euler's equations of the free ball by small steps (H. Goldstein, Classical Mechanics, 5.5)."""
    d, low, high, away = lengths(q)
    rgs = np.array([high, high, low]) ** 2
    at = 2.0 * away / d
    w = np.array([math.sin(at), 0.0, math.cos(at)])

    def rate(w: Any) -> Any:
        return np.cross(rgs * w, w) / rgs

    moved, steps = 0.0, 400
    h = 2.0 * math.pi / steps
    for _ in range(steps):
        a = rate(w)
        b = rate(w + 0.5 * h * a)
        c = rate(w + 0.5 * h * b)
        new = w + h / 6.0 * (a + 2.0 * b + 2.0 * c + rate(w + h * c))
        moved += float(np.linalg.norm(new - w))
        w = new
    return (0.5 * d * moved,)


def flares_more(q: str) -> Value:
    d, _, first, second = lengths(q)

    def step(away: float) -> float:
        t = 2.0 * away / d
        return math.sin(t) * abs(math.cos(t))

    return "the first" if step(first) > step(second) else "the second"


def rows_of(q: str) -> list[tuple[str, str]]:
    return [(m[1], m[2]) for m in re.finditer(r"^([A-F])  .*?: (.*)$", q, re.MULTILINE)]


def odd_row(q: str, right: list[tuple[Value, float]]) -> Value:
    """The one row that is farther from its right value than its tolerance."""
    odd = []
    for (letter, text), (value, tolerance) in zip(rows_of(q), right, strict=True):
        shown = number(re.sub(r" (in|oz|degrees)$", "", text).lstrip("+"))
        if abs(shown - float(value[0])) > tolerance:
            odd.append(letter)
    assert len(odd) == 1, (odd, q)
    return f"row {odd[0]}"


def catch_layout(q: str) -> Value:
    facts = q.split("\n")[0]
    found = lengths(facts)
    if len(found) == 5:
        d, a, b, _, _ = found
        right = [(pin_to_pap(facts), 0.0625), (bearing(facts), 2.0)]
        return odd_row(q, [*right, ((Sphere(d).between((0.0, 0.0), (a, b))[1],), 0.0625)])
    d, away, psa = found
    turn, lean = degrees(facts)
    val = to_meridian(Sphere(d), Sphere(d).walk((0.0, 0.0), -lean, away))
    angle = angle_at_pin(f"{d} in, {away} in, {psa} in")
    return odd_row(
        q, [((val,), 0.0625), ((psa_away(Sphere(d), turn, away),), 0.0625), (angle, 2.0)]
    )


def catch_grip(q: str) -> Value:
    d, middle, ring, bridge, finished, bore, thumb, depth, forward, aside = lengths(
        q.split("\n")[0]
    )
    return odd_row(
        q,
        [
            (thumb_below(f"{d} in {middle} in {ring} in {thumb} in"), 1 / 16),
            (finger_offset(f"{d} in {bridge} in {bore} in {finished} in"), 1 / 32),
            (centre_to_centre(f"{d} in {middle} in {thumb} in {finished} in {bore} in"), 1 / 16),
            (total_pitch(f"{forward} in {aside} in"), 1 / 32),
            (pitch_tilt(f"{d} in {depth} in {forward} in"), 1.0),
        ],
    )


def catch_weigh_in(q: str) -> Value:
    facts = q.split("\n")[0]
    d, arm, supports, over, away, centroid = lengths(facts)
    pounds = re.findall(r"([\d.]+) lb", facts)[0]
    readings = re.search(r"readings ([\d.]+) and ([\d.]+) oz", facts)
    assert readings is not None
    _, top, net = ounces(facts)
    a, b = readings.groups()
    return odd_row(
        q,
        [
            (two_position(f"{pounds} lb {d} in {supports} in {a} oz {b} oz {arm} in"), 0.1),
            (side_weight(f"{d} in {over} in {top} oz"), 0.1),
            (top_left(f"{d} in {over} in {top} oz"), 0.1),
            (hole_side(f"{d} in {away} in {net} oz {centroid} in {arm} in"), 0.1),
        ],
    )


def catch_record(q: str) -> Value:
    card = q.split("\n")[0]
    _, over, up, finished, _, thumb, reverse = lengths(card)
    hand = "left" if "left hand" in card else "right"
    assert f"toward the {hand}" in card
    odd = []
    for letter, text in rows_of(q):
        good = {
            "A": text == hand,
            "B": number(text.lstrip("+")) == over if letter == "B" else True,
            "C": text == f"{up:g} up",
            "D": lengths(text) == [finished],
            "E": lengths(text) == [thumb],
            "F": lengths(text) == [reverse] and text.endswith("reverse"),
        }
        if not good[letter]:
            odd.append(letter)
    assert len(odd) == 1, q
    return f"row {odd[0]}"


def catch_verdict(q: str) -> Value:
    odd = []
    for m in re.finditer(r"^([A-F])  (.*): (pass|fail)$", q, re.MULTILINE):
        fine = "no finger uses" not in m[2] and ounces(m[2])[0] <= 3.0
        if fine != (m[3] == "pass"):
            odd.append(m[1])
    assert len(odd) == 1, q
    return f"row {odd[0]}"


SOLVERS: dict[str, Callable[[str], Value]] = {
    "pap-place": pap_place,
    "pin-by-placement": pap_place,
    "grip-from-pap": grip_from_pap,
    "half-way-round": half_way_round,
    "pin-from-grip": pin_from_grip,
    "finger-offset": finger_offset,
    "thumb-below": thumb_below,
    "centre-to-centre": centre_to_centre,
    "total-pitch": total_pitch,
    "pitch-tilt": pitch_tilt,
    "pitch-bottom": pitch_bottom,
    "pin-to-pap": pin_to_pap,
    "pin-to-val": pin_to_val,
    "psa-to-pap": psa_to_pap,
    "angle-at-pin": angle_at_pin,
    "bearing": bearing,
    "pin-by-angles": pin_by_angles,
    "pin-by-distances": pin_by_distances,
    "track-ring": track_ring,
    "read-label": read_label,
    "read-placement": read_placement,
    "read-angle": read_angle,
    "read-chord": read_chord,
    "read-track": read_track,
    "cg-move": side_weight,
    "side-weight": side_weight,
    "top-left": top_left,
    "outcome-word": outcome_word,
    "which-rule": which_rule,
    "holes-meet": holes_meet,
    "flares-more": flares_more,
    "ring-spacing": ring_spacing,
    "hole-side": hole_side,
    "two-position": two_position,
    "rg-about": rg_about,
    "catch-record": catch_record,
    "catch-verdict": catch_verdict,
    "catch-grip": catch_grip,
    "catch-layout": catch_layout,
    "catch-weigh-in": catch_weigh_in,
}

# --- what is held of every problem ----------------------------------------------------------------------


def as_written(value: Value, step: float) -> Value:
    """An answer as someone writes it, to a step of the rule or the scale."""
    if isinstance(value, str):
        return value
    return tuple(round(each / step) * step for each in value)


def faults(asked: Problem) -> list[str]:
    """What is wrong with a problem; slips that are not named are counted by `unnamed`."""
    draft = asked.draft
    a = draft.asked
    found = []
    solved = SOLVERS[asked.kind](draft.question)
    if a.distance(solved, draft.right) > a.tolerance / 100.0:
        found.append(f"solved as {solved}, the program says {draft.right}")
    values = [draft.right, *(s.value for s in draft.slips)]
    if any(a.distance(x, y) < 2.0 * a.tolerance - 1e-9 for x, y in combinations(values, 2)):
        found.append("two values lie within two tolerances")
    if a.choices and (draft.right not in a.choices or len(set(a.choices)) < len(a.choices)):
        found.append("the choices are wrong")
    return found


def unnamed(asked: Problem) -> list[str]:
    """The slips that are not named alone for an answer made with them and written to the tolerance."""
    draft = asked.draft
    missed = []
    for slip in draft.slips:
        answer = Answer(as_written(slip.value, draft.asked.tolerance), draft.asked.unit)
        if [s.name for s in mark(draft, answer).slips] != [slip.name]:
            missed.append(slip.name)
    return missed


def test_every_kind_has_a_solver() -> None:
    assert set(SOLVERS) == set(KINDS)


@pytest.mark.parametrize("kind", KINDS)
def test_the_words_alone_lead_to_the_one_right_answer(kind: str) -> None:
    for seed in range(8):
        asked = problem(kind, seed)
        assert faults(asked) == [], (seed, asked.draft.question)


@pytest.mark.parametrize("kind", [k for k in KINDS if problem(k, 0).draft.slips])
def test_a_slip_is_named_in_nineteen_of_twenty_problems(kind: str) -> None:
    made = [problem(kind, seed) for seed in range(20)]
    missed = [name for asked in made for name in unnamed(asked)]
    assert all(missed.count(name) <= 1 for name in missed)
