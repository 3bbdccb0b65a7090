"""What a scale and the inertia tensor say of a ball after drilling.

Each formula serves one ball, whose vectors are three numbers, and many, whose vectors are three
arrays (n,). Weights are ounces, lengths inches.
"""

from __future__ import annotations

from typing import Any

from layoutkit.geometry.vectors import along, scaled

SECOND = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))  # the order of six second moments


def readings(top_weight: Any, cg: Any, removed: Any, arm: Any) -> Any:
    """Static weights (side, finger, top) in scale ounces.

    ``cg`` is the CG mark's unit vector and ``removed`` the first moment that drilling takes, in
    oz in. The label's top weight is in scale ounces already; what was removed is divided by the
    scale's ``arm``.
    """
    return along(scaled(cg, top_weight), removed, -1.0 / arm)


def central_tensor(weight: Any, first: Any, second: Any) -> Any:
    """The inertia tensor about the centre of gravity, per weight, in in2; six, as `SECOND`.

    ``first`` (3) and ``second`` (6, in the order of `SECOND`) are moments about the ball's centre.
    I = tr(S) 1 - S with S the second moment, shifted to the centre of gravity (Huygens-Steiner).
    """
    xx, yy, zz, xy, xz, yz = (
        each - first[i] * first[j] / weight for each, (i, j) in zip(second, SECOND, strict=True)
    )
    return (
        (yy + zz) / weight,
        (xx + zz) / weight,
        (xx + yy) / weight,
        -xy / weight,
        -xz / weight,
        -yz / weight,
    )


def six_of(matrix: Any) -> list[Any]:
    """The six entries of a symmetric matrix, rows of three, in the order of `SECOND`."""
    return [matrix[i][j] for i, j in SECOND]


def matrix_of(six: Any) -> list[list[Any]]:
    """The symmetric matrix, 3 rows of 3, of six entries in the order of `SECOND`."""
    xx, yy, zz, xy, xz, yz = six
    return [[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]]
