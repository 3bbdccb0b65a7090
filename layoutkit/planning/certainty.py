"""How sure a plan is: tolerances of what was measured, carried through to what is computed.

A tolerance is the half-width within which a measurement lies, with no place in it likelier than
another, so its standard deviation is that over the square root of 3 (JCGM 100:2008, Guide to the
expression of uncertainty in measurement, 4.3.7). The true low axis lies anywhere in a circle about
the pin; the arm of a scale that is not calibrated anywhere in the range of `given.arms`, and its
deviation is counted from the arm that the plan takes. A calibrated arm has the standard deviation that
the record or the shop's file states, normal as an estimate from readings is; where neither does, the
tolerance of the arm. `linear` adds the effects of single inputs in squares; `monte_carlo` draws all of
them at once.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Generator, Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry import sphere as _sphere
from layoutkit.geometry.solids import gauss
from layoutkit.geometry.vectors import Array
from layoutkit.job.record import Job, Scale, Tolerances
from layoutkit.job.rules import Check
from layoutkit.planning import variants as _variants
from layoutkit.planning.given import arms, imbalance, pin_to_cg, psa_arc
from layoutkit.planning.grip import NEIGHBOUR
from layoutkit.planning.layout import pin_to_val
from layoutkit.planning.plan import taken
from layoutkit.planning.values import Plan
from layoutkit.units import OZ_PER_LB

COVERAGE = 2.0  # standard deviations in a stated uncertainty and in a band
DRAWS, SEED = 2000, 20250101
PIECE = 250  # draws between two pauses of `gradually`: some 20 ms
MANY = 4096  # draws at once where nothing waits for a pause
NODES = 5  # of Gauss's rule over the range of an input between ends
STATICS = ("top_oz", "side_oz", "finger_oz")
MOST_TURN = 30.0  # degrees; a reference line is never laid out worse than this


class Input(NamedTuple):
    """One measured input: its name among `variants.model`'s shifts, in words, and its tolerance.

    ``disc`` numbers the two parts of a place that lies anywhere in a circle; ``ends`` are the shifts
    between which an input lies evenly where it is not in their middle; ``normal`` is of one whose
    standard deviation is known, and ``tolerance`` is that.
    """

    name: str
    words: str
    tolerance: float
    disc: bool = False
    ends: tuple[float, float] | None = None
    normal: bool = False

    @property
    def deviation(self) -> float:
        """Its standard deviation, in its own unit."""
        if self.normal:
            return self.tolerance
        return self.tolerance / (2.0 if self.disc else math.sqrt(3.0))


class Spread(NamedTuple):
    """The uncertainty of one figure: its standard deviation, and what each measurement adds to it.

    ``shares`` are (words, part of the variance), the largest first.
    """

    deviation: float
    shares: tuple[tuple[str, float], ...]

    @property
    def uncertainty(self) -> float:
        """Two standard deviations: the figure behind the +/- sign."""
        return COVERAGE * self.deviation


class Chance(NamedTuple):
    """The chance that the event's scale reads more than a limit allows, and its standard error."""

    name: str
    limit: float
    chance: float
    error: float


class Illegal(NamedTuple):
    """The chance that a drilled ball is beyond any limit, and beyond each; ``draws`` made it."""

    any: Chance
    each: tuple[Chance, ...]
    draws: int


class Drawn(NamedTuple):
    """What the draws gave: of each figure the mean, the deviation counted from the plan's own figure
    (root of the mean square), the draws (n,) themselves, and how many were ``dropped`` because no core
    that a ball may have could be inside."""

    mean: Mapping[str, float]
    deviation: Mapping[str, float]
    figures: Mapping[str, Array]
    dropped: int = 0


def tolerances(job: Job) -> Tolerances:
    """The record's tolerances, or the documented defaults."""
    return job.tolerances or Tolerances()


def inputs(job: Job) -> tuple[Input, ...]:
    """Every measured input of a job that may be off; what the record leaves open is none."""
    t, ball, grip = tolerances(job), job.ball, job.bowler.grip
    radius = ball.radius
    # the line to the reference mark is laid out by that mark: nearer by, it turns more
    arc = psa_arc(job)
    reach = pin_to_cg(job) if arc is None else arc
    lever = 0.0 if reach is None else radius * math.sin(reach / radius)
    turn = math.degrees(t.marks / lever) if lever > 1e-6 else MOST_TURN
    line = 0.0 if not t.marks or reach is None else min(turn, MOST_TURN)
    top = 0.0 if imbalance(job) is None else t.top_weight
    axis = 0.0 if job.bowler.pap is None else t.marks
    cg = 0.0 if ball.pin_to_cg is None else t.marks
    found = [
        Input("pap.over", "PAP", axis),
        Input("pap.up", "PAP", axis),
        Input("pin.along", "pin's place", t.marks),
        Input("pin.across", "pin's place", t.marks),
        Input("bearing", "reference line", line),
        Input("cg.along", "CG mark", cg),
        Input("cg.across", "CG mark", cg),
        Input("grip.bridge", "bridge", t.spans),
        Input("diameter", "ball's diameter", t.diameter),
        Input("diameter_now", "ball's diameter", t.diameter if ball.resurfaced else 0.0),
        Input("weight", "label weight", t.weight),
        Input("top_weight", "label top weight", top),
        Input("sleeves", "sleeves' density", t.densities),
    ]
    for name in grip.digits:
        if name != "thumb":
            found.append(Input(f"grip.{name}.span", f"{name} span", t.spans))
        if name in NEIGHBOUR:
            found.append(Input(f"grip.{name}.gap", f"{name} gap", t.spans))
        found += [
            Input(f"grip.{name}.depth", f"{name} depth", t.depths),
            Input(f"grip.{name}.forward", f"{name} pitch", t.pitches),
            Input(f"grip.{name}.right", f"{name} pitch", t.pitches),
        ]
    if ball.rg_low is not None:
        found += [
            Input("rg_low", "label RG", t.rg),
            Input("differential", "label differential", t.differential),
            Input("intermediate_differential", "label intermediate", t.differential),
            Input("low_axis.along", "low axis off the pin", t.low_axis, disc=True),
            Input("low_axis.across", "low axis off the pin", t.low_axis, disc=True),
            Input("shell.density", "shell's density", t.densities),
            Input("filler_density", "filler's density", t.densities),
        ]
    found.append(_arm(job, t))
    return tuple(i for i in found if i.tolerance > 0.0)


def _arm(job: Job, t: Tolerances) -> Input:
    scale = job.scale or Scale()
    if scale.arm is None:
        own, *others = arms(job)
        ends = (min(0.0, *(a - own for a in others)), max(0.0, *(a - own for a in others)))
        return Input("arm", "scale's arm", max(abs(ends[0]), ends[1]), ends=ends)
    if scale.arm_sd is None:
        return Input("arm", "scale's arm", min(t.arm, 0.5 * scale.arm))
    return Input("arm", "scale's arm", scale.arm_sd, normal=True)


def figures(job: Job, shift: Mapping[str, Array], exact: Array | None = None) -> dict[str, Array]:
    """Distances, static weights and RGs under shifted inputs: (n,) each; the first is unshifted.

    Without what the record leaves open.
    Where only the sums over chords were taken, what they miss of the unshifted plan is made good:
    ``exact`` (10,) is what its holes take, worked out here where it is not given.
    """
    moved = _variants.model(job, shift)
    return figures_of(job, moved, _changes(moved, taken(job) if exact is None else exact))


def _changes(moved: _variants.VariantModel, exact: Array) -> Array:
    """What the holes take (n, 10), with what sums over chords miss of the first made good."""
    change = _variants.changes(moved)
    return np.asarray(change + (exact - change[:1]))


def figures_of(job: Job, moved: _variants.VariantModel, change: Array) -> dict[str, Array]:
    """The figures of variants from which the holes take ``change`` (n, 10)."""
    out = _variants.evaluate(moved, change)._asdict()
    for name in ("flare", "rg_about_pap", "tensor"):
        out.pop(name)
    if moved.top_weight is None:
        for name in STATICS:
            out.pop(name)
    n = len(change)
    radius = float(job.ball.radius)
    center = np.array([[0.0, 0.0, radius]])
    pairs = {
        "pin_to_pap": (moved.pin, moved.pap),
        "pin_to_cg": (moved.pin, moved.cg),
        "pin_to_grip_center": (moved.pin, center),
        "cg_to_grip_center": (moved.cg, center),
        "cg_to_pap": (moved.cg, moved.pap),
        "psa_to_pap": (moved.psa, moved.pap),
        "psa_to_grip_center": (moved.psa, center),
    }
    there = {name: pair for name, pair in pairs.items() if all(p is not None for p in pair)}
    ends = np.empty((2, len(there), n, 3))
    for k, pair in enumerate(there.values()):
        ends[0, k], ends[1, k] = pair
    out |= zip(there, _sphere.arc(ends[0], ends[1], radius), strict=True)
    if moved.pap is not None:
        val = -_sphere.bearing(moved.pap, moved.pin)
        out["pin_to_val"] = np.asarray(pin_to_val(out["pin_to_pap"], val, radius))
    return {name: np.broadcast_to(value, (n,)) for name, value in out.items()}


def linear(job: Job, exact: Array | None = None) -> dict[str, Spread]:
    """The uncertainty of every figure of the plan, of static weights as the event's scale reads.

    ``exact`` as for `figures`.

    Each input is moved by its standard deviation to both sides, and half the difference taken; the arm
    is moved over its range. Raises InputError as `plan` does.
    """
    result = {}
    for name, variances in propagated(
        inputs(job), lambda shift: figures(job, shift, exact)
    ).items():
        reading = _reading(job, name)
        if reading:
            variances["scale reading"] = reading**2 / 3.0
        total = sum(variances.values())
        shares = sorted(variances.items(), key=lambda item: -item[1])
        part = tuple((words, v / total) for words, v in shares) if total > 0.0 else ()
        result[name] = Spread(math.sqrt(total), part)
    return result


def propagated(
    given: Sequence[Input], found: Callable[[dict[str, Array]], Mapping[str, Array]]
) -> dict[str, dict[str, float]]:
    """The variance of every figure, by the words of the inputs that it comes from.

    ``found`` takes shifts of the inputs by name and gives the figures, all (n,). Linear propagation
    of independent inputs (JCGM 100:2008, 5.1.2, formula 10), with differences for the derivatives. An
    input that lies evenly between ends, however wide and lopsided, is not taken as linear: the mean
    square of what it changes is integrated over its range.
    """
    even = [i for i in given if i.ends is not None]
    places, shares = gauss(NODES)
    rows = 1 + 2 * len(given) + NODES * len(even)
    shift = {i.name: np.zeros(rows) for i in given}
    for k, i in enumerate(given):
        if i.ends is None:
            shift[i.name][1 + 2 * k], shift[i.name][2 + 2 * k] = i.deviation, -i.deviation
    start = 1 + 2 * len(given)
    for k, i in enumerate(even):
        low, high = i.ends or (0.0, 0.0)
        at = start + NODES * k
        shift[i.name][at : at + NODES] = low + (high - low) * places
    figures = found(shift)
    values = np.stack(list(figures.values()))
    # a core that cannot exist says nothing about that side, but the other side does
    up, down = values[:, 1:start:2] - values[:, :1], values[:, :1] - values[:, 2:start:2]
    effects = np.where(np.isnan(up), down, np.where(np.isnan(down), up, 0.5 * (up + down)))
    effects = np.nan_to_num(effects)
    away = np.nan_to_num(values[:, start:] - values[:, :1]).reshape(len(values), len(even), NODES)
    squares = away * away @ shares
    words = list(dict.fromkeys(i.words for i in given))
    variances = np.zeros((len(words), len(values)))
    parts = np.concatenate([effects * effects, squares], axis=1)
    for i, part in zip([*given, *even], parts.T, strict=True):
        variances[words.index(i.words)] += part
    by_figure = variances.T.tolist()
    return {
        name: dict(zip(words, row, strict=True))
        for name, row in zip(figures, by_figure, strict=True)
    }


def _reading(job: Job, name: str) -> float:
    """The scale's allowance for a figure that it reads, in that figure's unit; else 0."""
    allowance = (job.scale or Scale()).allowance
    if name in STATICS:
        return allowance
    return allowance / OZ_PER_LB if name == "weight_lb" else 0.0


def monte_carlo(
    job: Job,
    draws: int = DRAWS,
    seed: int = SEED,
    told: Callable[[int, int], None] | None = None,
) -> Drawn:
    """All inputs drawn at once, and the scale's reading with them; the same seed, the same draws.

    A draw whose core `plan` would refuse is left out. ``told`` is told how many are done, of how
    many. Raises InputError as `plan` does, and where no draw is left.
    """
    work = gradually(job, draws, seed, MANY)
    while True:
        try:
            done = next(work)
        except StopIteration as end:
            if told is not None:
                told(draws, draws)
            result: Drawn = end.value
            return result
        if told is not None:
            told(done, draws)


def gradually(
    job: Job, draws: int = DRAWS, seed: int = SEED, piece: int = PIECE
) -> Generator[int, None, Drawn]:
    """`monte_carlo` with a pause after every ``piece`` of draws; yields how many are done.

    Returns what `monte_carlo` does, but for rounding, whatever the piece. Raises as it does.
    """
    rng = np.random.default_rng(seed)
    shift: dict[str, Array] = {}
    given = inputs(job)
    for i in given:
        if i.normal:
            # an arm of nothing has no reading: past three deviations, as good as never
            drawn_sd = np.clip(rng.standard_normal(draws + 1), -3.0, 3.0)
            shift[i.name] = i.deviation * drawn_sd
        elif not i.disc:
            shift[i.name] = rng.uniform(*(i.ends or (-i.tolerance, i.tolerance)), draws + 1)
    discs = [i for i in given if i.disc]
    if discs:
        radius = discs[0].tolerance * np.sqrt(rng.uniform(0.0, 1.0, draws + 1))
        turn = rng.uniform(0.0, 2.0 * math.pi, draws + 1)
        shift[discs[0].name], shift[discs[1].name] = radius * np.cos(turn), radius * np.sin(turn)
    for values in shift.values():
        values[0] = 0.0
    exact = taken(job)
    moved = _variants.model(job, shift)
    pieces: list[dict[str, Array]] = []
    for at in range(0, draws, piece):
        yield at
        rows = np.concatenate(([0], np.arange(at, min(at + piece, draws)) + 1))
        some = _variants.some(moved, rows)
        found = figures_of(job, some, _changes(some, exact))
        pieces.append({n: np.broadcast_to(v, rows.shape) for n, v in found.items()})
    kept = np.isfinite(np.concatenate([p["rg_low"][1:] for p in pieces]))
    if not kept.any():
        raise InputError("no draw leaves a core that can exist; take smaller ones.", "tolerances")
    stated = {name: float(values[0]) for name, values in pieces[0].items()}
    drawn = {}
    for name in stated:
        reading = _reading(job, name)
        values = np.concatenate([p[name][1:] for p in pieces])[kept]
        drawn[name] = values + rng.uniform(-reading, reading, len(values))
    mean = {name: float(v.mean()) for name, v in drawn.items()}
    square = {name: float(np.mean((v - stated[name]) ** 2)) for name, v in drawn.items()}
    deviation = {name: math.sqrt(v) for name, v in square.items()}
    return Drawn(mean, deviation, drawn, draws - int(kept.sum()))


def limits(checks: Iterable[Check]) -> dict[str, float]:
    """The limits of a plan's checks that have a chance to be exceeded, by the names of the figures.

    Those of figures that are not known are left out.
    """
    names = {"gross": "weight_lb", "top": "top_oz", "side": "side_oz", "finger": "finger_oz"}
    return {names[c.name]: c.limit for c in checks if c.name in names and c.value is not None}


def chances(drawn: Drawn, limits: Mapping[str, float]) -> tuple[Chance, ...]:
    """The chance that each limit is exceeded, static weights to either side; names as in `Drawn`."""
    return tuple(
        _chance(name, limit, _beyond(drawn, name, limit)) for name, limit in limits.items()
    )


def illegal(drawn: Drawn, limits: Mapping[str, float]) -> Illegal:
    """The chance that any limit is exceeded, `chances` beside it; the first has no limit of its own."""
    found = np.stack([_beyond(drawn, name, limit) for name, limit in limits.items()])
    some = _chance("any", math.nan, np.logical_or.reduce(found, axis=0))
    return Illegal(some, chances(drawn, limits), found.shape[1])


class Draws(NamedTuple):
    """How many random draws were asked for, and how many were dropped because no core fits them."""

    asked: int
    dropped: int


class Certainty(NamedTuple):
    """How sure a plan is: the spread of each figure and the chance of each limit exceeded, by name.

    ``illegal`` is the chance that any limit is exceeded.
    """

    figures: Mapping[str, Spread]
    chances: Mapping[str, Chance]
    illegal: Chance
    draws: Draws


def certainty(
    plan: Plan,
    draws: int = DRAWS,
    seed: int = SEED,
    told: Callable[[int, int], None] | None = None,
) -> Certainty:
    """The uncertainty of a plan's figures, in their units, and the chance of each limit exceeded.

    Tolerances are the record's, or the documented defaults. The chances come from ``draws`` random
    draws; the same ``seed`` gives the same draws. ``told`` is told how many are done, of how many.
    Raises InputError where no draw leaves a core that can exist. Source: JCGM 100:2008, 5.1.2, and
    JCGM 101:2008 (from memory).
    """
    spreads = linear(plan.job)
    drawn = monte_carlo(plan.job, draws, seed, told)
    some = illegal(drawn, limits(plan.checks))
    return Certainty(spreads, {c.name: c for c in some.each}, some.any, Draws(draws, drawn.dropped))


def _beyond(drawn: Drawn, name: str, limit: float) -> NDArray[np.bool_]:
    values = drawn.figures[name]
    return np.abs(values) > limit if name in STATICS else values > limit


def _chance(name: str, limit: float, beyond: NDArray[np.bool_]) -> Chance:
    p = float(beyond.mean())
    return Chance(name, limit, p, math.sqrt(p * (1.0 - p) / len(beyond)))


def chance_bounds(chance: Chance, draws: int) -> tuple[float, float]:
    """Between what the true chance lies with 95 % confidence: two standard errors to either side.

    Where no draw is beyond, or every one, as in `percent`.
    """
    rest = 3.0 / draws
    if chance.chance == 0.0:
        return 0.0, rest
    if chance.chance == 1.0:
        return 1.0 - rest, 1.0
    off = 2.0 * chance.error
    return max(chance.chance - off, 0.0), min(chance.chance + off, 1.0)


def percent(chance: Chance, draws: int) -> str:
    """A chance in words, `2.3 %`.

    Where no draw is beyond, `under 0.2 %`: three over the number of draws bounds the chance with 95 %
    confidence (J. A. Hanley and A. Lippman-Hand, JAMA 249, 1983; from memory). Likewise at the top.
    """
    rest = math.ceil(3000.0 / draws) / 10.0
    if chance.chance == 0.0:
        return f"under {rest:.1f} %"
    if chance.chance == 1.0:
        return f"over {100.0 - rest:.1f} %"
    return f"{min(max(100.0 * chance.chance, 0.1), 99.9):.1f} %"
