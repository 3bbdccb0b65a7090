"""The roll-up of bodies and the propagation of uncertainties against printed and symbolic values."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy

from layoutkit.geometry.vectors import Array
from layoutkit.planning import certainty
from layoutkit.planning.drilled import central_tensor, matrix_of, six_of

# R. L. Zimmerman & J. H. Nakai, "Are You Sure? Uncertainty in Mass Properties Engineering", SAWE paper
# 3360 (2005): the worked example of two bodies, as transcribed in the table sawe_table of the public R
# package massProps, which notes that the printed combined figures hold to about 0.2 %. Products of
# inertia are plus the integral of xy. Order: mass; centre x, y, z; moments xx, yy, zz; products xy,
# xz, yz.
NAMES = ("mass", "Cx", "Cy", "Cz", "Ixx", "Iyy", "Izz", "Ixy", "Ixz", "Iyz")
WIDGET = (57.83, 121.20, 0.04, -0.16, 7258.90, 8607.02, 10453.40, 834.44, -1198.38, -1066.58)
WIDGET_SD = (1.2416, 0.2764, 0.2085, 0.0669, 386.9233, 171.4792, 414.5547, 1440.5402, 344.6237,
             124.6860)  # fmt: skip
SECOND = (16.80, 70.90, -0.95, 0.46, 65.07, 1124.65, 1078.82, 76.01, 202.83, 13.62)
SECOND_SD = (1.7308, 0.6234, 0.5173, 0.1405, 12.4687, 109.1324, 108.5481, 55.8879, 212.1241,
             11.5408)  # fmt: skip
COMBINED = (74.63, 109.8657, -0.1829, -0.0204, 7341.73, 42739.26, 44547.27, 1559.36, -1401.94,
            -1060.95)  # fmt: skip
COMBINED_SD = (2.1301, 0.9591, 0.2000, 0.0618, 387.4017, 2794.5468, 2820.5125, 1488.1857, 418.6320,
               125.3175)  # fmt: skip
PRINTED = 0.0025  # of a figure; the table's own note says about 0.2 %


def second_moment(mass: float, center: Array, moments: Array, products: Array) -> Array:
    """Second moments about the origin (3, 3) of a body whose inertia is told about its own centre."""
    half = 0.5 * moments.sum()
    xy, xz, yz = products
    own = np.array([[half - moments[0], xy, xz], [xy, half - moments[1], yz],
                    [xz, yz, half - moments[2]]])  # fmt: skip
    return own + mass * np.outer(center, center)


def rolled_up(bodies: Array) -> dict[str, float]:
    """Bodies (k, 10) as one, by the sums and the shift to the common centre that a plan takes."""
    mass = float(bodies[:, 0].sum())
    first = (bodies[:, :1] * bodies[:, 1:4]).sum(axis=0)
    second = sum(second_moment(b[0], b[1:4], b[4:7], b[7:]) for b in bodies)
    x, y, z = first.tolist()
    six = central_tensor(mass, (x, y, z), six_of(np.asarray(second)))
    tensor = mass * np.array(matrix_of(six))
    values = (mass, *(first / mass), *np.diag(tensor), -tensor[0, 1], -tensor[0, 2], -tensor[1, 2])
    return dict(zip(NAMES, map(float, values), strict=True))


def test_two_bodies_rolled_up_as_printed() -> None:
    found = rolled_up(np.array([WIDGET, SECOND]))
    for name, wanted in zip(NAMES, COMBINED, strict=True):
        assert found[name] == pytest.approx(wanted, rel=PRINTED), name


def test_uncertainties_of_two_bodies_as_printed() -> None:
    given = [
        certainty.Input(f"{body}.{name}", name, sd, normal=True)
        for body, sds in enumerate((WIDGET_SD, SECOND_SD))
        for name, sd in zip(NAMES, sds, strict=True)
    ]

    def figures(shift: dict[str, Array]) -> dict[str, Array]:
        moved = np.stack([shift[i.name] for i in given], axis=-1).reshape(-1, 2, 10)
        each = [rolled_up(np.array([WIDGET, SECOND]) + m) for m in moved]
        return {name: np.array([e[name] for e in each]) for name in NAMES}

    found = certainty.propagated(given, figures)
    for name, wanted in zip(NAMES, COMBINED_SD, strict=True):
        assert math.sqrt(sum(found[name].values())) == pytest.approx(wanted, rel=PRINTED), name


def test_a_weight_on_a_uniform_ball_by_formula_10() -> None:
    """u2 = sum of (df/dx u(x))2 (JCGM 100:2008, 5.1.2, formula 10), differentiated by sympy.

    A small weight w at the radius r of a uniform ball W: where its centre of gravity lies, its RG
    across the weight's axis, and what a scale of the arm a shows, w r / a.
    """
    W, r, w, a = sympy.symbols("W r w a", positive=True)
    center = w * r / (W + w)
    formulas = {
        "center": center,
        "rg": sympy.sqrt((sympy.Rational(2, 5) * W * r**2 + w * r**2) / (W + w) - center**2),
        "shown": w * r / a,
    }
    at = {W: 240.0, r: 4.275, w: 1.0, a: 4.2}
    sds = {W: 0.1, r: 0.0025, w: 0.02, a: 0.03}

    def figures(shift: dict[str, Array]) -> dict[str, Array]:
        rows = []
        for k in range(len(shift["W"])):
            W_, r_, w_, a_ = (at[s] + shift[str(s)][k] for s in (W, r, w, a))
            # W r^2 / 5 is a uniform ball's second moment along any axis
            second = np.eye(3) * W_ * r_**2 / 5.0 + np.diag([0.0, 0.0, w_ * r_**2])
            tensor = central_tensor(W_ + w_, (0.0, 0.0, w_ * r_), six_of(second))
            rows.append((w_ * r_ / (W_ + w_), math.sqrt(tensor[0]), w_ * r_ / a_))
        return dict(zip(formulas, np.array(rows).T, strict=True))

    given = [certainty.Input(str(s), str(s), sd, normal=True) for s, sd in sds.items()]
    found = certainty.propagated(given, figures)
    for name, formula in formulas.items():
        for s, sd in sds.items():
            part = float((sympy.diff(formula, s) * sd).subs(at))
            assert math.sqrt(found[name][str(s)]) == pytest.approx(abs(part), rel=1e-3, abs=1e-12)
