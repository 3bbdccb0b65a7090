"""Colours that must be told apart stay apart in the three usual deficiencies of colour vision.

The matrices are those of severity 1.0 of Machado, Oliveira and Fernandes, "A Physiologically-based Model
for Simulation of Color Vision Deficiency", IEEE Transactions on Visualization and Computer Graphics 15
(2009), for linear sRGB, the rows for tritan partly from memory; sRGB and its white are those of IEC
61966-2-1, the distance is that of CIE 1976.
"""

import itertools

import numpy as np
import pytest

from gui.views import lane_canvas
from gui.views import style as look
from layoutkit.output import render, shading

APART = 12.0  # CIE 1976 units, five just noticeable differences of 2.3; a convention, no source
SIGHTS = {
    "usual": np.eye(3),
    "protan": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deutan": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritan": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
}
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)


def linear(color):
    """The linear red, green and blue (3,) of a colour."""
    values = np.array([int(color[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def lab(color, sight):
    """CIE L*a*b* (3,) of a colour as that eye sees it."""
    share = TO_XYZ @ np.clip(SIGHTS[sight] @ linear(color), 0.0, 1.0) / TO_XYZ.sum(axis=1)
    x, y, z = np.where(
        share > 216.0 / 24389.0, np.cbrt(share), (24389.0 / 27.0 * share + 16.0) / 116.0
    )
    return np.array([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)])


def apart(one, other, sight):
    return float(np.linalg.norm(lab(one, sight) - lab(other, sight)))


def over(color, ground):
    """A colour of four numbers up to 255, the last its cover, on a ground."""
    below = [int(ground[i : i + 2], 16) for i in (1, 3, 5)]
    cover = color[3] / 255.0
    return "#" + "".join(
        f"{round(c * cover + b * (1 - cover)):02x}" for c, b in zip(color, below, strict=False)
    )


def test_the_simulation_leaves_greys_alone_and_takes_red_and_green_together():
    for sight, matrix in SIGHTS.items():
        assert matrix.sum(axis=1) == pytest.approx(np.ones(3), abs=2e-6)
        assert apart(look.QUIET, look.INK, sight) == pytest.approx(
            apart(look.QUIET, look.INK, "usual"), abs=0.01
        )
    red, green = "#d7191c", "#7a8a00"
    assert apart(red, green, "usual") > 3.0 * apart(red, green, "deutan")


@pytest.mark.parametrize("sight", SIGHTS)
def test_lines_of_a_layout_stay_apart(sight):
    kinds = ("val", "pin_pap", "reference", "psa_pap", "midline", "finished")
    colors = {render.LINES[kind][0] for kind in kinds}
    assert len(colors) == len(kinds)
    for one, other in itertools.combinations(colors, 2):
        assert apart(one, other, sight) >= APART, (one, other)
    assert all(apart(color, render.BALL, sight) >= 3.0 * APART for color in colors)


@pytest.mark.parametrize("sight", SIGHTS)
def test_outcomes_stay_apart_or_have_a_sign_of_their_own(sight):
    good, bad = look.OUTCOMES["pass"], look.OUTCOMES["fail"]
    assert apart(good[0], bad[0], sight) >= APART
    assert apart(look.OUTCOMES["close"][0], good[0], sight) >= APART
    # close and fail come together in a deutan's eye, and so do the pale grounds: these have signs
    signs = [sign for _, _, sign in look.OUTCOMES.values()]
    assert len(set(signs)) == len(signs)
    for color, ground, _ in look.OUTCOMES.values():
        assert apart(color, ground, sight) >= 3.0 * APART


@pytest.mark.parametrize("sight", SIGHTS)
def test_classes_of_the_shading_stay_apart_from_the_clear_ball(sight):
    # from each other they are told by hatch and dots, which the shading's own test looks at
    for color in (shading._HATCH, shading._DOT):
        assert apart(over(color, render.BALL), render.BALL, sight) >= 2.0 * APART


@pytest.mark.parametrize("sight", SIGHTS)
def test_phases_on_the_lane_stay_apart_from_it_and_have_dashes_of_their_own(sight):
    phases = lane_canvas._PHASES.values()
    for (one, *_), (other, *_) in itertools.combinations(phases, 2):
        assert apart(one, other, sight) >= APART
    for ground in (lane_canvas._BOARD, lane_canvas._OIL):
        assert all(apart(color, ground, sight) >= 3.0 * APART for color, *_ in phases)
        assert apart(lane_canvas._KEPT_PATH, ground, sight) >= APART
    assert len({dashes for *_, dashes in phases}) == len(phases)


def test_there_is_one_grey_for_words():
    assert look.QUIET == render.GREY == render.LINES["midline"][0]
