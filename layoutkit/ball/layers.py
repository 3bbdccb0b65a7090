"""The inside of an undrilled ball: its layers, and the core that its label implies.

Units: inches, ounces; densities of layers are given in g/cm3. What the drilled ball asks for is in
oz/in3.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from layoutkit.errors import InputError
from layoutkit.geometry.roots import newton_between
from layoutkit.geometry.solids import Ellipsoid, sphere
from layoutkit.geometry.vectors import Array, Vector, functions_for, scaled
from layoutkit.units import OZ_PER_IN3, OZ_PER_LB

MAX_CORE_DENSITY = 3.80  # g/cm3; the densest component that a ball may have (USBC)
CORE_TO_FILLER = 2.75  # a weight block is 2.5 to 3 times as dense as its filler: common practice
DEFAULT_SHELL_DENSITY = 1.20  # g/cm3, common practice, no source
DEFAULT_SHELL_THICKNESSES = (0.75, 0.50)  # in, tried in this order; common practice, no source
FILLER_DENSITIES = (0.10, 2.00)  # g/cm3, the range searched when the filler is not stated


class Label(NamedTuple):
    """What the maker states of a ball; lengths in, weight lb, densities g/cm3."""

    radius: float
    weight_lb: float
    rg_low: float | None
    differential: float
    intermediate_differential: float
    shell: tuple[float, float] | None  # thickness, density
    filler_density: float | None

    @property
    def weight_oz(self) -> float:
        """Weight in ounces."""
        return OZ_PER_LB * self.weight_lb


class Layers(NamedTuple):
    """Shell, filler and core as fitted to a label: densities g/cm3, lengths in.

    ``excess_oz`` is what the core weighs more than the filler that it displaces. ``semi_axes`` lie
    along the pin, along the reference mark made square to it, and square to both.
    """

    shell_thickness: float
    shell_density: float
    filler_density: float
    core_density: float
    semi_axes: Vector
    excess_oz: float


class Rest(NamedTuple):
    """What shell and label leave for the core, as it depends on the filler's density f in g/cm3.

    Numbers, or arrays (n,) of many balls. The core's excess weight is ``excess`` - ``thinned`` f;
    each squared semi-axis is 2.5 (``spread`` - ``thinned_spread`` f) over that. ``inner`` is the
    shell's inner radius.
    """

    inner: Any
    excess: Any
    thinned: Any
    spread: tuple[Any, Any, Any]
    thinned_spread: Any


def rest_of(radius: Any, weight: Any, rgs: Any, inner: Any, shell: Any) -> Rest:
    """What a ball of these sizes leaves for its core within its shell; numbers or arrays (n,).

    ``weight`` in oz, ``rgs`` the low, middle and high RG and ``inner`` the shell's inner radius in
    inches, ``shell`` its density in g/cm3. An ellipsoid has I = m (b^2 + c^2) / 5 about its axis a
    (Meriam & Kraige, Dynamics, table of mass moments), and a ball 2/5 m R^2; three RGs give three
    sums of squares.
    """
    unit = 4.0 / 3.0 * math.pi * OZ_PER_IN3
    low, mid, high = rgs
    bc, ab, ac = low**2, mid**2, high**2
    shell_inertia = 0.4 * unit * shell * (radius**5 - inner**5)
    return Rest(
        inner,
        weight - unit * shell * (radius**3 - inner**3),
        unit * inner**3,
        (
            weight * (ac + ab - bc) - shell_inertia,
            weight * (bc + ab - ac) - shell_inertia,
            weight * (bc + ac - ab) - shell_inertia,
        ),
        0.4 * unit * inner**5,
    )


def _rest(label: Label, thickness: float, shell: float) -> Rest:
    assert label.rg_low is not None
    high = label.rg_low + label.differential
    rgs = (label.rg_low, high - label.intermediate_differential, high)
    return rest_of(label.radius, label.weight_oz, rgs, label.radius - thickness, shell)


class CoreFit(NamedTuple):
    """A core as it follows from what is left for it, whether it can exist or not; numbers or (n,).

    Its density in g/cm3, its three squared semi-axes in in2, and by how much it outweighs the
    filler that it displaces, in oz. The density means nothing unless all squares are positive.
    """

    density: Any
    squares: tuple[Any, Any, Any]
    excess: Any


def core_of(rest: Rest, filler: Any) -> CoreFit:
    """The core within a filler of this density in g/cm3; numbers or arrays (n,)."""
    f = functions_for(rest.excess, filler)
    excess = rest.excess - rest.thinned * filler
    excess = f.where(excess == 0.0, math.nan, excess)  # no core then
    p, q, r = rest.spread
    thinned = rest.thinned_spread * filler
    a, b, c = (
        2.5 * (p - thinned) / excess,
        2.5 * (q - thinned) / excess,
        2.5 * (r - thinned) / excess,
    )
    volume = 4.0 / 3.0 * math.pi * f.sqrt(f.maximum(a * b * c, 1e-300))
    return CoreFit(filler + excess / (volume * OZ_PER_IN3), (a, b, c), excess)


def can_exist(core: CoreFit) -> Any:
    """Whether a core has real axes and a positive density."""
    a, b, c = core.squares
    return (a > 0.0) & (b > 0.0) & (c > 0.0) & (core.density > 0.0)


def physical(rest: Rest, core: CoreFit, moment: Any) -> Any:
    """Whether a core can exist, is as light as the rules ask and lies inside the filler."""
    f = functions_for(core.excess)
    longest = f.maximum(f.maximum(*core.squares[:2]), core.squares[2])
    inside = f.sqrt(f.maximum(longest, 0.0)) + abs(moment / core.excess) <= rest.inner
    return can_exist(core) & (core.density <= MAX_CORE_DENSITY) & inside


def _fit(rest: Rest, thickness: float, shell: float, filler: float, moment: float) -> Layers | None:
    """The layers with this filler; None where the core is not `physical`."""
    core = core_of(rest, filler)
    if not physical(rest, core, moment):
        return None
    a, b, c = core.squares
    axes = (math.sqrt(a), math.sqrt(b), math.sqrt(c))
    return Layers(thickness, shell, filler, core.density, axes, core.excess)


def _best_fit(rest: Rest, thickness: float, shell: float, moment: float) -> Layers | None:
    """The layers with the least dense filler whose physical core is 2.75 times as dense.

    Where there is none, the filler whose physical core comes nearest to that. For a core heavier than
    its filler the ratio of the two densities first falls and then rises with the filler's density. So
    the first filler with a ratio of 2.75 is taken or, if the ratio stays above that, the filler with
    the least ratio. Where that core is not physical, all fillers in range are searched.
    """
    filler = _first_at_ratio(rest)
    if filler is None:
        filler = _of_least_ratio(rest)
    if filler is not None:
        layers = _fit(rest, thickness, shell, filler, moment)
        if layers is not None:
            over = layers.core_density / filler - CORE_TO_FILLER
            if -1e-9 < over < CORE_TO_FILLER - 1.0:
                return layers
    filler = _searched_filler(rest, moment)
    return None if filler is None else _fit(rest, thickness, shell, filler, moment)


def _first_at_ratio(rest: Rest) -> float | None:
    """The least filler density in range that makes the core 2.75 times as dense, physical or not.

    The core's weight over its volume is then 1.75 f, which is m = (C f)^0.4 (product of the three
    spreads)^0.2. The right side is a geometric mean of numbers linear in f, hence concave, so from
    the low end Newton's method climbs to the first root and never past it. None where the core is
    less than 2.75 times as dense at the low end already, or never comes down to that.
    """
    f, high = FILLER_DENSITIES
    p, q, r = rest.spread
    slope = rest.thinned_spread
    factor = (CORE_TO_FILLER - 1.0) * OZ_PER_IN3 * 4.0 / 3.0 * math.pi * 2.5**1.5
    for _ in range(50):
        a, b, c = p - slope * f, q - slope * f, r - slope * f
        if f > high or a <= 0.0 or b <= 0.0 or c <= 0.0:
            return None
        mean = (factor * factor * f * f * a * b * c) ** 0.2
        above = rest.excess - rest.thinned * f - mean
        if above <= 1e-13 * mean:
            return f if f > FILLER_DENSITIES[0] else None
        falls = rest.thinned + 0.2 * mean * (2.0 / f - slope * (1.0 / a + 1.0 / b + 1.0 / c))
        if falls <= 0.0:
            return None
        f += above / falls
    return f


def _of_least_ratio(rest: Rest) -> float | None:
    """The filler density in range with the least ratio of core to filler; None if that is at an end.

    The ratio less 1 goes with m^2.5 / (f (product of the three spreads)^0.5). The slope of its
    logarithm is brought to 0 by Newton's method between bounds.
    """
    slope = rest.thinned_spread
    p, q, r = (k / slope for k in rest.spread)
    gone = rest.excess / rest.thinned  # the filler that leaves the core no weight
    start, end = FILLER_DENSITIES[0], min(FILLER_DENSITIES[1], p, q, r)
    if not start < end < gone:
        return None

    def slopes(f: float) -> tuple[float, float]:
        a, b, c, m = 1.0 / (p - f), 1.0 / (q - f), 1.0 / (r - f), 1.0 / (gone - f)
        rise = 0.5 * (a + b + c) - 2.5 * m - 1.0 / f
        bend = 0.5 * (a * a + b * b + c * c) - 2.5 * m * m + 1.0 / (f * f)
        return rise, bend

    return newton_between(slopes, start, end, 1e-12)


def _searched_filler(rest: Rest, moment: float) -> float | None:
    """The filler density whose physical core is 2.75 times as dense, or comes nearest to that.

    The whole range is tried in coarse steps; then fine steps are tried where the ratio passes 2.75, or
    else where it is nearest. None where no core is physical.
    """
    low, high = FILLER_DENSITIES
    f = np.linspace(low, high, 191)
    best, at = _nearest_of(rest, moment, f)
    if best is None:
        return None
    fine = np.linspace(f[max(at - 1, 0)], f[min(at + 1, len(f) - 1)], 201)
    return _nearest_of(rest, moment, fine)[0]


def _nearest_of(rest: Rest, moment: float, f: Array) -> tuple[float | None, int]:
    """The best of some rising filler densities, and its index; None where none is physical."""
    with np.errstate(all="ignore"):
        core = core_of(rest, f)
        fits = physical(rest, core, moment)
        miss = np.where(fits, core.density / f - CORE_TO_FILLER, np.nan)
        crossed = np.flatnonzero(miss[:-1] * miss[1:] <= 0.0)  # never beside one that does not fit
    if not fits.any():
        return None, 0
    if len(crossed):
        i = int(crossed[0])
        at = i if abs(miss[i]) <= abs(miss[i + 1]) else i + 1
    else:
        at = int(np.nanargmin(np.abs(miss)))
    return float(f[at]), at


def working_fillers(
    label: Label, thickness: float, shell: float, moment: float
) -> tuple[float, float] | None:
    """Least and greatest filler density (g/cm3) that give a physical core, to 0.01; None if none."""
    f = np.round(np.arange(10, 381) * 0.01, 2)  # as the record allows
    rest = _rest(label, thickness, shell)
    with np.errstate(all="ignore"):
        fits = physical(rest, core_of(rest, f), moment)
    return (float(f[fits][0]), float(f[fits][-1])) if fits.any() else None


def fit_layers(label: Label, moment: float) -> Layers | None:
    """The layers that a label implies; None where a uniform ball has to stand for them.

    ``moment`` is the undrilled ball's first moment in oz in, which offsets the core. Stated shell
    and filler are used as they are. A missing shell is 0.75 in of 1.20 g/cm3, or if no filler fits
    that, 0.50 in. A missing filler is the least dense one whose physical core is 2.75 times as
    dense, or comes nearest to that. These defaults are common practice, no source. Without RG data
    the ball is uniform.

    Raises InputError where shell and filler are both stated and no physical core can be inside.
    """
    if label.rg_low is None:
        return None
    shells = (
        [label.shell]
        if label.shell
        else [(t, DEFAULT_SHELL_DENSITY) for t in DEFAULT_SHELL_THICKNESSES]
    )
    for thickness, shell in shells:
        rest = _rest(label, thickness, shell)
        filler = label.filler_density
        if filler is None:
            layers = _best_fit(rest, thickness, shell, moment)
        else:
            layers = _fit(rest, thickness, shell, filler, moment)
        if layers is not None:
            return layers
    if label.shell and label.filler_density is not None:
        works = working_fillers(label, *label.shell, moment)
        possible = (
            f"with this shell and these RGs, {works[0]:.2f} to {works[1]:.2f} g/cm3 would work"
            if works
            else "with this shell no filler density would work: check shell, weight and RG data"
        )
        raise InputError(
            f"{label.filler_density:g} g/cm3 leaves no core that can exist; {possible}.",
            "ball.filler_density",
        )
    return None


class Lost(NamedTuple):
    """What a concentric outer layer takes with it: ounces, and oz in2 about any axis through the centre.

    Numbers, or arrays (n,). The first moment about the centre does not change.
    """

    weight: Any
    inertia: Any


def lost_shell(radius: Any, now: Any, density: Any) -> Lost:
    """What goes from a ball of ``radius`` that is ground down evenly to a radius of ``now``, inches.

    ``density`` of what goes in g/cm3; a sphere's 2/5 M R^2 (Meriam & Kraige, Dynamics, table of mass
    moments), the outer one less the inner one. Numbers or arrays (n,).
    """
    unit = 4.0 / 3.0 * math.pi * OZ_PER_IN3 * density
    return Lost(unit * (radius**3 - now**3), 0.4 * unit * (radius**5 - now**5))


def uniform_density(label: Label) -> float:
    """The density in g/cm3 of a ball that is the same all through."""
    return label.weight_oz / (4.0 / 3.0 * math.pi * label.radius**3 * OZ_PER_IN3)


def lost_of(label: Label, layers: Layers | None, now: float) -> Lost:
    """What a ball of this label has lost when it is ground down evenly to a radius of ``now``."""
    density = uniform_density(label) if layers is None else layers.shell_density
    return lost_shell(label.radius, now, density)


class Body(NamedTuple):
    """An undrilled ball as a sum of weighted solids: the ball, and where known filler and core.

    ``terms`` are (density in oz/in3 above what lies under it, solid). ``weight_oz``, ``first`` and
    ``second`` (3, 3) are its moments about the centre.
    """

    terms: tuple[tuple[float, Ellipsoid], ...]
    weight_oz: float
    first: Vector
    second: Array


def build_body(
    label: Label,
    layers: Layers | None,
    axes: tuple[Vector, Vector, Vector],
    moment: Vector,
    now: float | None = None,
) -> Body:
    """The undrilled ball with its core turned and set off centre.

    ``axes``: unit vectors along the pin, along the reference mark made square to it, and the third.
    ``moment``: first moment in oz in. The uniform ball takes its moment without a body to cause it.
    ``now`` is the radius of a ball that was ground down evenly since its label was printed.
    """
    center = (0.0, 0.0, 0.0)
    radius = label.radius if now is None else now
    ball = sphere(center, radius)
    weight = label.weight_oz - lost_of(label, layers, radius).weight
    if layers is None:
        density = label.weight_oz / (4.0 / 3.0 * math.pi * label.radius**3)
        second = weight * radius**2 / 5.0 * np.eye(3)
        return Body(((density, ball),), weight, moment, second)
    s, f, c = (
        OZ_PER_IN3 * d for d in (layers.shell_density, layers.filler_density, layers.core_density)
    )
    inner = label.radius - layers.shell_thickness
    offset = scaled(moment, 1.0 / layers.excess_oz)
    core = Ellipsoid(offset, layers.semi_axes, axes)
    spread = 4.0 * math.pi / 15.0 * (s * (radius**5 - inner**5) + f * inner**5)
    e = layers.excess_oz
    p, q, r = (e * a * a / 5.0 for a in layers.semi_axes)
    (ax, ay, az), (bx, by, bz), (cx, cy, cz), (x, y, z) = *axes, offset
    xy = p * ax * ay + q * bx * by + r * cx * cy + e * x * y
    xz = p * ax * az + q * bx * bz + r * cx * cz + e * x * z
    yz = p * ay * az + q * by * bz + r * cy * cz + e * y * z
    second = np.array(
        [
            [spread + p * ax * ax + q * bx * bx + r * cx * cx + e * x * x, xy, xz],
            [xy, spread + p * ay * ay + q * by * by + r * cy * cy + e * y * y, yz],
            [xz, yz, spread + p * az * az + q * bz * bz + r * cz * cz + e * z * z],
        ]
    )
    terms = ((s, ball), (f - s, sphere(center, inner)), (c - f, core))
    return Body(terms, weight, moment, second)
