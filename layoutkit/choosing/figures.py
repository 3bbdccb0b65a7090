"""The figures that wants are about: of many layouts at once, and of one plan; what misses a want costs.

A figure is a pair, the least and the greatest that it may be: the two are equal but for static weights
under an arm that is not calibrated. Units are those of `FIGURES`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.choosing.places import APART, TURNED
from layoutkit.choosing.regions import Place
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc, from_over_up, mirror, wrap180
from layoutkit.geometry.vectors import Array
from layoutkit.job.rules import FAIL, STATICS
from layoutkit.job.wants import Wants
from layoutkit.lane import flare as _flare
from layoutkit.lane.roll import Roll, mouths
from layoutkit.lane.why import rg_about_pap
from layoutkit.planning.certainty import Spread
from layoutkit.planning.surface import Surface
from layoutkit.planning.values import Plan

Pair = tuple[Array, Array]
FAILS, CHANCE = "fails", "legal"
UNKNOWN = 20.0  # steps by which a figure that nobody knows misses every want


class Figure(NamedTuple):
    """A figure: in words, its unit, and the step off a want that costs 1 (a convention, no source).

    ``lane`` says that it takes a shot.
    """

    words: str
    unit: str
    step: float
    lane: bool = False


FIGURES: dict[str, Figure] = {
    FAILS: Figure("legal under the rules", "", 1.0),
    CHANCE: Figure("chance of being legal", "%", 5.0),
    "flare_width": Figure("flare width", "in", 0.5, True),
    "ring_spacing": Figure("ring spacing", "in", 0.125, True),
    "rings_clear": Figure("nearest ring to a hole", "in", 0.25, True),
    "marks_clear": Figure("nearest hole to a mark", "in", 0.125),
    "pin": Figure("pin outside its region", "in", 0.5),
    "rg_about_pap": Figure("RG about the PAP", "in", 0.01),
    "differential": Figure("differential", "in", 0.005),
    "intermediate_differential": Figure("intermediate differential", "in", 0.005),
    "side": Figure("side weight", "oz", 0.25),
    "finger": Figure("finger weight", "oz", 0.25),
    "top": Figure("top weight", "oz", 0.25),
    "board_at_pins": Figure("board at the pins", "boards", 1.0, True),
    "entry_angle": Figure("entry angle", "degrees", 0.25, True),
    "moved": Figure("pin moved", "in", 0.5),
    "turned": Figure("reference mark turned", "degrees", 10.0),
}  # fmt: skip


class Wanted(NamedTuple):
    """A want ready to be judged: the figure's name, its ends, and the weight, None of a must.

    With ``than`` the ends are about the difference from ``base``, that other job's figure.
    """

    name: str
    least: float | None
    most: float | None
    weight: float | None
    than: str | None = None
    base: float = 0.0

    @property
    def figure(self) -> Figure:
        """What it is about."""
        return FIGURES[self.name]

    @property
    def must(self) -> bool:
        """Whether it has to be met."""
        return self.weight is None

    def miss(self, pair: Pair) -> Array:
        """By how many steps figures (n,) miss it; 0 where they meet it."""
        low, high = pair[0] - self.base, pair[1] - self.base
        off = np.zeros(np.shape(low))
        if self.least is not None:
            off = np.maximum(off, self.least - low)
        if self.most is not None:
            off = np.maximum(off, high - self.most)
        return np.where(np.isfinite(low + high), off / self.figure.step, UNKNOWN)


class Present(NamedTuple):
    """Where the record's own layout has pin and reference mark."""

    over: float
    up: float
    bearing: float


LEGAL = Wanted(FAILS, None, 0.0, None)  # nobody has to ask for it


def wanted(wants: Wants, others: Mapping[str, Mapping[str, float]]) -> tuple[Wanted, ...]:
    """All wants, legality first; ``others`` has the figures of the other jobs by their names.

    Raises InputError for another job that is not there, or whose figure is not known.
    """
    result = [LEGAL]
    for name, each in wants.ranges.items():
        base = 0.0
        if each.than is not None:
            if each.than not in others:
                raise InputError(
                    f'"{each.than}" is not among the other jobs; give its plan.',
                    f"wants.{name}.than",
                )
            base = others[each.than].get(name, math.nan)
            if not math.isfinite(base):
                raise InputError(
                    f"{FIGURES[name].words} of {each.than} is not known, so nothing can differ from "
                    "it; leave than out.",
                    f"wants.{name}.than",
                )
        result.append(Wanted(name, each.least, each.most, each.weight, each.than, base))
    if wants.pin is not None:
        result.append(Wanted("pin", None, 0.0, wants.pin.weight))
    return tuple(result)


# --- many layouts ---------------------------------------------------------------------------------


def of_places(rows: Array, present: Present, pin: Place | None, radius: float) -> dict[str, Array]:
    """The figures (n,) that follow from over, up and bearing alone, ``rows`` (n, 3)."""
    over, up, bearing = rows.T
    here = from_over_up(present.over, present.up, radius)
    result = {
        "moved": arc(from_over_up(over, up, radius), here, radius),
        "turned": np.abs(wrap180(bearing - present.bearing)),
    }
    return result if pin is None else result | {"pin": pin.outside(over, up)}


def on_surface(
    found: Surface,
    present: Present,
    pin: Place | None,
    spreads: Mapping[str, Spread] | None,
) -> dict[str, Pair]:
    """The figures of many layouts that need no shot, (n,) each.

    ``spreads`` gives the chance of being legal, as of a normal distribution; None leaves it out.
    """
    o = found.outcomes
    rows = np.column_stack([found.over, found.up, found.bearing])
    single = of_places(rows, present, pin, found.plan.radius)
    single |= {
        FAILS: (found.outcome == FAIL).astype(float),
        "marks_clear": np.min(list(found.clearance.values()), axis=0),
        "rg_about_pap": o.rg_about_pap,
        "differential": o.differential,
        "intermediate_differential": o.intermediate_differential,
    }
    if spreads is not None:
        single[CHANCE] = 100.0 * _chance(found, spreads)
    pairs = {name: (value, value) for name, value in single.items()}
    return pairs | {name: found.ranges[name] for name in STATICS}


def _chance(found: Surface, spreads: Mapping[str, Spread]) -> Array:
    """About the chance (n,) that nothing is beyond its limit, each figure taken as normal."""
    rules, o = found.plan.rules, found.outcomes
    chance = np.ones(len(o.weight_lb))
    for name in STATICS:
        limit = sum(each.holds(o.weight_lb) * each.static_oz(name) for each in rules.static_limits)
        chance *= _within(getattr(o, f"{name}_oz"), -limit, limit, spreads[f"{name}_oz"].deviation)
    most = np.full(len(chance), rules.gross_weight_lb.value)
    return np.asarray(chance * _within(o.weight_lb, -np.inf, most, spreads["weight_lb"].deviation))


_erf = np.frompyfunc(math.erf, 1, 1)


def _within(value: Array, low: Array | float, high: Array, deviation: float) -> Array:
    size = math.sqrt(2.0) * max(deviation, 1e-9)
    above, below = _erf((high - value) / size), _erf((low - value) / size)
    return np.asarray(0.5 * (above - below), dtype=float)


# --- one plan -------------------------------------------------------------------------------------


def of_plan(plan: Plan, present: Present, pin: Place | None) -> dict[str, tuple[float, float]]:
    """The same figures of one plan, but for the chance of being legal."""
    marks, s = plan.marks, plan.statics
    here = from_over_up(present.over, present.up, plan.radius)
    there = mirror(marks.pin.xyz, plan.job.bowler.hand)
    bearing = plan.layout.bearing
    known = plan.core is not None
    single = {
        FAILS: float(plan.outcome == "fail"),
        "marks_clear": min(h.clearance for h in plan.holes),
        "rg_about_pap": rg_about_pap(plan),
        "differential": plan.inertia.differential if known else 0.0,
        "intermediate_differential": plan.inertia.intermediate_differential if known else 0.0,
        "moved": arc(there, here, plan.radius),
        "turned": 0.0 if bearing is None else abs(wrap180(bearing - present.bearing)),
    }
    if pin is not None:
        single["pin"] = float(pin.outside(np.array(marks.pin.over), np.array(marks.pin.up)))
    result = {name: (float(value), float(value)) for name, value in single.items()}
    for name in STATICS:
        ends = getattr(s.range, f"{name}_oz")
        result[name] = (math.nan, math.nan) if ends is None else ends
    return result


def of_shot(shot: Roll) -> dict[str, float]:
    """The figures of a shot; what it did not come to is not a number.

    ``ring_spacing`` is the middle one of the gaps between neighbouring rings on the oil.
    """
    none = math.nan
    path, rings = shot.path, shot.flare
    gaps = () if rings is None else sorted(rings.spacing)
    clear = none
    if rings is not None:
        hand = shot.plan.job.bowler.hand
        holes = [(m.hole, mirror(m.center, hand), m.radius) for m in mouths(shot.plan)]
        every = _flare.near_holes(rings.rings, holes, shot.plan.radius, math.inf)
        clear = min((each.gap for each in every), default=none)
    return {
        "flare_width": none if rings is None else rings.width,
        "ring_spacing": gaps[len(gaps) // 2] if gaps else none,
        "rings_clear": clear,
        "board_at_pins": none if path.board_at_pins is None else path.board_at_pins,
        "entry_angle": none if path.entry_angle is None else path.entry_angle,
    }


# --- judging --------------------------------------------------------------------------------------

HEAVY = 1000.0  # a layout that is not legal is behind every other
NEAR = 1e-9  # steps; what misses less meets


class Score(NamedTuple):
    """How good layouts are, (n,) each, the most telling first: musts missed, by how many steps in all,
    the cost of the wishes missed, the largest share of a static limit, and how far from the record's
    layout they are (`away`)."""

    missed: Array
    excess: Array
    cost: Array
    used: Array
    away: Array

    def order(self) -> NDArray[np.intp]:
        """The layouts from the best to the worst; of equals the earlier one first."""
        used = np.floor(self.used / USED_STEP + 1e-9)
        keys = (self.away, used, np.round(self.cost, 6), np.round(self.excess, 6), self.missed)
        return np.lexsort(keys)

    def key(self, at: int) -> tuple[float, ...]:
        """What `order` compares, of one of them."""
        used = math.floor(self.used[at] / USED_STEP + 1e-9)
        cost, excess = round(float(self.cost[at]), 6), round(float(self.excess[at]), 6)
        return (float(self.missed[at]), excess, cost, used, float(self.away[at]))


USED_STEP = 0.5  # of a limit; layouts that use less than this of all are alike in their statics


def away(moved: Array, turned: Array) -> Array:
    """How far from the record's layout, in what a driller marks no better: its pin and its mark."""
    return moved / APART + turned / TURNED


def score(asked: Sequence[Wanted], pairs: Mapping[str, Pair], used: Array) -> Score:
    """The score of layouts by the wants whose figures are there."""
    missed, excess, cost = (np.zeros(len(used)) for _ in range(3))
    for want in asked:
        if want.name not in pairs:
            continue
        off = want.miss(pairs[want.name])
        off = np.where(off > NEAR, off, 0.0)
        if want.weight is None:
            missed += (off > 0.0) * (HEAVY if want.name == FAILS else 1.0)
            excess += off
        else:
            cost += want.weight * off * off
    return Score(missed, excess, cost, used, away(pairs["moved"][0], pairs["turned"][0]))


def limit_used(found: Surface) -> Array:
    """The largest share of a static limit (n,), at the worst of the arm's range."""
    weight, shares = found.outcomes.weight_lb, []
    for name in STATICS:
        limit = sum(
            each.holds(weight) * each.static_oz(name) for each in found.plan.rules.static_limits
        )
        low, high = found.ranges[name]
        size = np.maximum(np.abs(low), np.abs(high))
        shares.append(size / np.maximum(limit, 1e-6))
    return np.asarray(np.max(shares, axis=0))
