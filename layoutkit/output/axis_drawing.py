"""The display list of a track: the rings, their marks and the axis point on the ball."""

from __future__ import annotations

import math
from typing import Literal

import numpy as np

from layoutkit.bench.axis import AxisFit, Ring
from layoutkit.geometry.sphere import axes_at, mirror, walked
from layoutkit.geometry.vectors import Array
from layoutkit.output.drawing import Callout, LineKind, Marker, Polyline, Scene, View, view_at
from layoutkit.units import Units, format_length

Hand = Literal["right", "left"]


def axis_scene(
    fit: AxisFit, rings: tuple[Ring, ...], hand: Literal["right", "left"], units: Units = "fraction"
) -> Scene:
    """The fitted rings, the marks, the PAP and an arc from it to the first ring.

    Computed in the bowler's frame and mirrored for a left hand.
    """

    def out(points: object) -> Array:
        return np.asarray(mirror(np.asarray(points, dtype=float), hand), dtype=float)

    radius = fit.radius
    t = np.linspace(0.0, 2.0 * math.pi, 145)[:, None]
    x, y, z = np.eye(3)
    lines = [
        Polyline("midline", "midline", out(radius * (np.cos(t) * -x + np.sin(t) * z))),
        Polyline("centreline", "centreline", out(radius * (np.cos(t) * -y + np.sin(t) * z))),
    ]
    markers = [
        Marker("grip_center", "grip_center", out(radius * z)),
        Marker("pap", "pap", out(fit.xyz)),
    ]
    callouts = [
        Callout("grip_center", "grip_center", "grip centre", out(radius * z)),
        Callout("pap", "pap", "PAP", out(fit.xyz)),
    ]
    for i, (found, ring) in enumerate(zip(fit.rings, rings, strict=True)):
        kind: LineKind = "measure" if i == 0 else "reference"
        axis = np.asarray(found.xyz) / radius
        over, up = (np.asarray(a) for a in axes_at(axis))
        angle = found.from_pap / radius
        circle = radius * (
            math.cos(angle) * axis + math.sin(angle) * (np.cos(t) * over + np.sin(t) * up)
        )
        lines.append(Polyline(kind, ring.name, out(circle)))
        # a little below straight across from the PAP, where the ring crosses the negative side
        callouts.append(Callout(kind, ring.name, f"ring {ring.name}", out(circle[66])))
        if i == 0:
            way = walked(axis * radius, -75.0, np.linspace(0.0, found.from_pap, 60))
            way = np.asarray(way, dtype=float)
            lines.append(Polyline("pin_pap", "PAP to ring", out(way)))
            words = f"PAP to ring {format_length(found.from_pap, units, 16)}"
            callouts.append(Callout("pin_pap", "PAP to ring", words, out(way[30])))
        for k, mark in enumerate(ring.marks, start=1):
            name = f"{ring.name} {k}"
            markers.append(Marker("foot", name, out(mark.xyz)))
            callouts.append(
                Callout("foot", name, f"mark {k}" if len(rings) == 1 else name, out(mark.xyz))
            )
    return Scene(radius, hand, tuple(lines), tuple(markers), tuple(callouts))


def axis_view(fit: AxisFit, rings: tuple[Ring, ...], hand: Hand) -> View:
    """The view between the first ring's marks and the PAP, nearer to the marks, with the fingers up."""
    points = np.array([mark.xyz for mark in rings[0].marks])
    axis = np.array(fit.xyz) / fit.radius
    middle = points.mean(axis=0)
    middle -= (middle @ axis) * axis
    size = math.sqrt(middle @ middle)
    # marks all round the ring have no middle beside the axis: the grip then is in front
    toward = middle / size + 0.7 * axis if size > 1e-6 * fit.radius else np.array([0.0, 0.0, 1.0])
    return view_at(np.asarray(mirror(toward, hand), dtype=float))
