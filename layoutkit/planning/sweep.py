"""Many layouts of one job, computed and judged at once.

`sweep` takes a grid of layouts by angles; `judge` says which of them a rule set would fail, and which
are so close that only a weighing tells. Angles degrees, lengths inches, weights ounces.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Job, Scale
from layoutkit.job.rules import FAIL, STATICS, static_verdict, verdict
from layoutkit.planning import layout as _layout
from layoutkit.planning import ruin as _ruin
from layoutkit.planning import variants as _variants
from layoutkit.planning.given import arms
from layoutkit.planning.unknown import FIELDS, require
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

PIECE = 16384  # layouts between two reports of progress
MOST_LAYOUTS = 4_000_000


class Layouts(NamedTuple):
    """Layouts by angles, (n,) each."""

    angle_at_pin: Array
    pin_to_pap: Array
    angle_at_pap: Array


class Swept(NamedTuple):
    """What `sweep` found: of every layout (n,) its figures, and its verdict, PASS, CLOSE or FAIL."""

    layouts: Layouts
    outcomes: _variants.Outcomes
    verdict: NDArray[np.int8]


def evaluate(job: Job, layouts: Layouts) -> list[_variants.Outcomes]:
    """The figures of all layouts for each of `arms`."""
    by = _layout.Angles(*layouts)
    return [_variants.at_layouts(job, by, a) for a in arms(job)]


def half_bands(plan: Plan) -> dict[str, float]:
    """What is put on both sides of each static weight, oz, and of the gross weight, lb.

    The scale's allowance, or two standard deviations where the record carries tolerances: those of
    the plan as it is, which hardly change from one layout to the next.
    """
    allowance = (plan.job.scale or Scale()).allowance
    bands = {"gross": allowance / OZ_PER_LB, **dict.fromkeys(STATICS, allowance)}
    if plan.job.tolerances is not None:
        bands |= {
            c.name: 0.5 * (c.band[1] - c.band[0])
            for c in plan.checks
            if c.name in bands and c.band is not None
        }
    return bands


def judge(plan: Plan, found: list[_variants.Outcomes], margin: float = 0.0) -> NDArray[np.int8]:
    """The verdict (n,) on each layout's gross and static weights, as `rules.check` has it.

    ``found`` as `evaluate` gives it; ``margin`` oz widens every limit, and the widest within the
    scale's allowance counts: what then fails, fails for certain.
    """
    bands, rules = half_bands(plan), plan.rules
    used = found if plan.job.tolerances is None else found[:1]
    weight = found[0].weight_lb
    allowance = (plan.job.scale or Scale()).allowance
    most = rules.gross_weight_lb.value + margin / OZ_PER_LB
    worst = verdict(weight, weight - bands["gross"], weight + bands["gross"], -np.inf, most)
    for name in STATICS:
        values = np.stack([getattr(o, f"{name}_oz") for o in used])
        band = (values.min(axis=0) - bands[name], values.max(axis=0) + bands[name])
        if margin:
            own = _best_verdict(plan, name, weight, values[0], band, margin)
        else:
            own = static_verdict(rules, name, weight, allowance, values[0], *band)
        worst = np.maximum(worst, own)
    return np.where(np.isfinite(weight), worst, FAIL).astype(np.int8)


def _best_verdict(
    plan: Plan, name: str, weight: Array, value: Array, band: tuple[Array, Array], margin: float
) -> NDArray[np.int_]:
    """The mildest verdict (n,) of the weight classes within the allowance, limits widened."""
    allowance = (plan.job.scale or Scale()).allowance
    best = np.full(weight.shape, FAIL)
    for each in plan.rules.static_limits:
        limit = each.static_oz(name) + margin
        judged = verdict(value, *band, -limit, limit)
        np.minimum(best, judged, out=best, where=each.holds(weight, allowance))
    return best


def sweep(plan: Plan, layouts: Layouts, told: Callable[[int, int], None] | None = None) -> Swept:
    """All layouts computed and judged; ``told`` hears how many of how many are done.

    Raises InputError for more than `MOST_LAYOUTS`, for a layout that cannot be on this ball, or where
    the record leaves open what the figures need.
    """
    require(plan.job, "a sweep of layouts", *FIELDS)
    d, p, v = (np.ravel(np.asarray(a, dtype=float)) for a in np.broadcast_arrays(*layouts))
    n = len(d)
    if not 0 < n <= MOST_LAYOUTS:
        raise InputError(
            f"the sweep: {n} layouts are too many; possible: 1 to {MOST_LAYOUTS}; "
            "take a wider step or a smaller range."
        )
    pieces: list[_variants.Outcomes] = []
    verdicts = []
    for at in range(0, n, PIECE):
        part = slice(at, at + PIECE)
        found = evaluate(plan.job, Layouts(d[part], p[part], v[part]))
        pieces.append(found[0])
        ruined = _ruin.under_layouts(plan.job, _layout.Angles(d[part], p[part], v[part]))
        verdicts.append(np.where(ruined, FAIL, judge(plan, found)).astype(np.int8))
        if told is not None:
            told(min(at + PIECE, n), n)
    joined = _variants.Outcomes(*(np.concatenate(parts) for parts in zip(*pieces, strict=True)))
    return Swept(Layouts(d, p, v), joined, np.concatenate(verdicts))
