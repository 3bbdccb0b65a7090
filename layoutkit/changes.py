"""The smallest changes that bring a plan inside the rules.

A change's cost is the sum of (change / tolerance of that quantity) squared. Each kind of change is
searched by itself on a grid of 1/16 in and 1 degree about what the record states, cheapest first,
and everything offered was planned again by `plan`. Balance holes, spans and pitches are never
touched: the first are forbidden, the others are the bowler's hand.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from layoutkit import certainty as _certainty
from layoutkit import sweep as _sweep
from layoutkit.errors import InputError
from layoutkit.plan import Plan, plan
from layoutkit.record import AnglesLayout, Job, limit_at
from layoutkit.units import OZ_PER_LB, fraction

STEP = 1.0 / 16.0  # inches
ANGLE_TOLERANCE = 1.0  # degrees: what an angle from marks is worth; common practice, no source
DEPTH_REACH, LEAST_DEPTH = 8, 0.75  # sixteenths from the stated depth; inches
ANGLE_REACH, ARC_REACH = 40, 24  # degrees, sixteenths
# oz; candidates this near to a limit are decided by a plan of their own: that is what the many are
# computed to, and with tolerances how far the band may change from one to the next
MARGIN, BANDED_MARGIN = 2e-3, 2e-2
COMPETITION = (
    "Holes may not be deepened to change the static weight during competition (USBC, in force "
    "2020-08-01): do it before, and weigh again."
)
BALL = "Another ball: a label with less top weight, or its CG mark nearer to the pin, moves less."

KINDS = ("hole depth", "drilling and VAL angle", "pin to PAP", "whole layout")


class Offer(NamedTuple):
    """One change that passes: its kind, each quantity's change (in or degrees), cost, job, plan."""

    kind: str
    changes: tuple[tuple[str, float], ...]
    cost: float
    job: Job
    plan: Plan


def depth_changed(job: Job, name: str, change: float) -> Job:
    """The job with one hole deeper by ``change`` inches; its bore follows, a sleeve stays as long."""
    part = getattr(job.bowler.grip, name)
    update: dict[str, object] = {"depth": part.depth + change}
    if part.sleeve is not None:
        bore = part.sleeve.bore_depth + change
        length = min(part.sleeve.length_net, bore)
        update["sleeve"] = part.sleeve.model_copy(update={"bore_depth": bore, "length": length})
    grip = job.bowler.grip.model_copy(update={name: part.model_copy(update=update)})
    return job.model_copy(update={"bowler": job.bowler.model_copy(update={"grip": grip})})


def layout_changed(now: Plan, drilling: float, pin_to_pap: float, val: float) -> Job:
    """The plan's job with its layout, stated by angles, changed by these degrees and inches."""
    n = now.layout
    stated = AnglesLayout(
        by="angles",
        drilling_angle=_turned(n.drilling_angle + drilling),
        pin_to_pap=n.pin_to_pap + pin_to_pap,
        val_angle=_turned(n.val_angle + val),
    )
    return now.job.model_copy(update={"layout": stated})


def _turned(angle: float) -> float:
    return angle - 360.0 * math.ceil((angle - 180.0) / 360.0)


def offers(now: Plan) -> tuple[Offer, ...]:
    """The cheapest change of each kind that passes, the cheapest first; none for a plan that does.

    A whole layout is offered only where it is cheaper than its parts.
    """
    if now.outcome == "pass":
        return ()
    found = [o for o in (_depths(now), *_layouts(now)) if o is not None]
    parts = [o.cost for o in found if o.kind in KINDS[1:3]]
    found = [o for o in found if o.kind != KINDS[3] or o.cost < min(parts, default=math.inf)]
    return tuple(sorted(found, key=lambda o: (o.cost, KINDS.index(o.kind))))


def _passes(now: Plan, job: Job) -> Plan | None:
    """The plan of a changed job, if it passes and no hole comes to meet another or run out."""
    try:
        found = plan(job, now.rules)
    except InputError:
        return None
    met = {w.holes for w in now.walls if w.meets}
    worse = any(w.meets and w.holes not in met for w in found.walls)
    return None if found.outcome != "pass" or found.do_not_drill or worse else found


def _offer(
    now: Plan, kind: str, tried: Iterator[tuple[float, tuple[tuple[str, float], ...], Job]]
) -> Offer | None:
    """The first of some changes, cheapest first, whose plan passes."""
    for cost, changes, job in tried:
        found = _passes(now, job)
        if found is not None:
            return Offer(kind, tuple(c for c in changes if c[1]), cost, job, found)
    return None


def _depths(now: Plan) -> Offer | None:
    """Depths of any holes together. Of holes that do not meet, what they take adds up."""
    tolerance = _certainty.tolerances(now.job).depths or STEP
    names = [h.name for h in now.holes]
    effects: list[dict[int, tuple[float, ...]]] = []
    for name in names:
        part = getattr(now.job.bowler.grip, name)
        row = limit_at(f"bowler.grip.{name}.depth")
        assert row is not None
        effects.append({})
        for k in range(-DEPTH_REACH, DEPTH_REACH + 1):
            depth = part.depth + k * STEP
            if k and not LEAST_DEPTH <= depth <= row.high:
                continue
            try:
                s = plan(depth_changed(now.job, name, k * STEP), now.rules).statics
            except InputError:
                continue
            effects[-1][k] = (
                s.top_oz, *s.range.top_oz, s.side_oz, *s.range.side_oz, s.finger_oz,
                *s.range.finger_oz, s.weight_lb,
            )  # fmt: skip
    base = np.array(effects[0][0])
    combos = sorted(
        itertools.product(*(e.keys() for e in effects)), key=lambda c: sum(k * k for k in c)
    )
    lists = [{k: np.array(v) - base for k, v in e.items()} for e in effects]
    total = np.array([base + sum(e[k] for e, k in zip(lists, c, strict=True)) for c in combos])
    apart = not any(w.meets for w in now.walls)
    allowed = _room(now, total) if apart else np.ones(len(combos), dtype=bool)

    def tried() -> Iterator[tuple[float, tuple[tuple[str, float], ...], Job]]:
        for c, may in zip(combos, allowed.tolist(), strict=True):
            if may and any(c):
                job = now.job
                for name, k in zip(names, c, strict=True):
                    job = depth_changed(job, name, k * STEP) if k else job
                cost = sum((k * STEP / tolerance) ** 2 for k in c)
                parts = ((f"{n} depth", k * STEP) for n, k in zip(names, c, strict=True))
                yield cost, tuple(parts), job

    return _offer(now, KINDS[0], tried())


def _margin(now: Plan) -> float:
    return MARGIN if now.job.tolerances is None else BANDED_MARGIN


def _room(now: Plan, total: np.ndarray) -> np.ndarray:
    """Which of some sums may pass: static weights and their ranges, and the weight, as columns."""
    bands = _sweep.half_bands(now)
    may = np.ones(len(total), dtype=bool)
    limits = {c.name: c.limit for c in now.checks}
    loosest = {n: max(getattr(c, f"{n}_oz") for c in now.rules.static_limits) for n in limits
               if n in _sweep.STATICS}  # fmt: skip
    for at, name in ((0, "top"), (3, "side"), (6, "finger")):
        columns = total[:, at : at + 3] if now.job.tolerances is None else total[:, at : at + 1]
        most = np.abs(columns).max(axis=1)
        may &= most + bands[name] <= loosest[name] + _margin(now)
    may &= total[:, 9] + bands["gross"] <= limits["gross"] + _margin(now) / OZ_PER_LB
    return may


def _layouts(now: Plan) -> list[Offer | None]:
    """The three kinds that turn or move the layout."""
    angles = np.arange(-ANGLE_REACH, ANGLE_REACH + 1, dtype=float)
    arcs = np.arange(-ARC_REACH, ARC_REACH + 1) * STEP
    none = np.zeros(1)
    whole = np.arange(-24, 25, dtype=float)
    return [
        _turn(now, KINDS[1], angles, none, angles),
        _turn(now, KINDS[2], none, arcs, none),
        _turn(now, KINDS[3], whole, np.arange(-16, 17) * STEP, whole),
    ]


def _turn(
    now: Plan, kind: str, drilling: np.ndarray, arcs: np.ndarray, val: np.ndarray
) -> Offer | None:
    tolerance = _certainty.tolerances(now.job).marks or STEP
    d, p, v = (a.ravel() for a in np.meshgrid(drilling, arcs, val, indexing="ij"))
    cost = (d / ANGLE_TOLERANCE) ** 2 + (p / tolerance) ** 2 + (v / ANGLE_TOLERANCE) ** 2
    order = np.argsort(cost, kind="stable")
    n = now.layout
    kept = order[
        (cost[order] > 0.0)
        & (n.pin_to_pap + p[order] > 0.0)
        & (n.pin_to_pap + p[order] < math.pi * now.radius)
    ]

    def tried() -> Iterator[tuple[float, tuple[tuple[str, float], ...], Job]]:
        size = 2048
        for at in range(0, len(kept), size):
            i = kept[at : at + size]
            found = _sweep.evaluate(
                now.job,
                _sweep.Layouts(n.drilling_angle + d[i], n.pin_to_pap + p[i], n.val_angle + v[i]),
            )
            for j in i[_sweep.judge(now, found, _margin(now)) == _sweep.PASS].tolist():
                change = (float(d[j]), float(p[j]), float(v[j]))
                names = ("drilling angle", "pin to PAP", "VAL angle")
                yield (
                    float(cost[j]),
                    tuple(zip(names, change, strict=True)),
                    layout_changed(now, *change),
                )

    return _offer(now, kind, tried())


def words(offer: Offer) -> str:
    """The changes as a sentence's beginning: `drilling angle +4 degrees, VAL angle -2 degrees`."""
    told = []
    for name, change in offer.changes:
        sign = "+" if change > 0.0 else "-"
        if name.endswith("angle"):
            told.append(f"{name} {sign}{abs(change):g} degrees")
        else:
            told.append(f"{name} {sign}{fraction(abs(change))} in")
    return ", ".join(told)
