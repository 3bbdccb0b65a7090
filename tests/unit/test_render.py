"""What is painted, looked at pixel by pixel."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from layoutkit.job.store import load_job
from layoutkit.output import drawing, render
from layoutkit.planning.plan import plan

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "01_right_asymmetric.json"
SIDE = 600
REACH = 2.0  # ball radii from the middle to the picture's edge


@pytest.fixture(name="seen", scope="module")
def _seen():
    p = plan(load_job(SAMPLE))
    return drawing.project(drawing.scene(p), drawing.facing(p, "grip"), 0.12)


def axes():
    figure = Figure(figsize=(SIDE / 100, SIDE / 100), dpi=100)
    FigureCanvasAgg(figure)
    ax = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    ax.set_axis_off()
    ax.set_xlim(-REACH, REACH)
    ax.set_ylim(-REACH, REACH)
    return ax


def pixels(ax):
    ax.figure.canvas.draw()
    return np.array(ax.figure.canvas.buffer_rgba())[:, :, :3].astype(int)


def painted(seen, style=None):
    ax = axes()
    render.draw(ax, seen, style)
    return pixels(ax)


def at(x, y):
    """Row and column of a place in ball radii."""
    return round((REACH - y) / (2 * REACH) * SIDE), round((x + REACH) / (2 * REACH) * SIDE)


def around(image, x, y, reach=4):
    row, column = at(x, y)
    return image[row - reach : row + reach + 1, column - reach : column + reach + 1]


def spot(seen, name):
    return next(s for s in seen.spots if s.name == name)


def test_marks_are_painted_where_they_are_projected(seen):
    image = painted(seen)
    without = painted(replace(seen, spots=()))
    changed = np.abs(image - without).max(axis=2) > 40
    for s in seen.spots:
        assert around(changed, s.x, s.y).any(), s.name


def test_far_marks_are_hollow(seen):
    pin = replace(spot(seen, "pin"), x=0.0, y=0.0)
    near, far = (
        painted(replace(seen, pieces=(), labels=(), spots=(replace(pin, far=side),)))
        for side in (False, True)
    )
    row, column = at(0.0, 0.0)
    assert near[row, column].max() < 200  # filled with the pin's blue
    assert far[row, column].min() > 240  # white inside


def test_stale_drawing_has_no_colour_and_no_ink(seen):
    fresh, stale = painted(seen), painted(seen, render.Style(stale=True))
    assert (fresh.max(axis=2) - fresh.min(axis=2)).max() > 100
    assert (stale.max(axis=2) - stale.min(axis=2)).max() < 12
    assert fresh.min() < 60
    assert stale.min() > 140


def test_selected_mark_has_a_ring(seen):
    plain, ringed = painted(seen), painted(seen, render.Style(selected="pin"))
    changed = np.argwhere(np.abs(plain - ringed).max(axis=2) > 40)
    row, column = at(spot(seen, "pin").x, spot(seen, "pin").y)
    distances = np.hypot(changed[:, 0] - row, changed[:, 1] - column)
    assert len(changed) > 50
    # 9 points are 12.5 pixels at 100 to the inch
    assert distances.min() > 9.0
    assert distances.max() < 16.0
    assert np.array_equal(painted(seen, render.Style(selected="nothing")), plain)


def test_ghosts_are_grey_and_hollow(seen):
    pin = replace(spot(seen, "pin"), x=0.0, y=0.0, ghost=True)
    image = painted(replace(seen, pieces=(), labels=(), spots=(pin,)))
    patch = around(image, 0.0, 0.0, 8)
    assert (patch.max(axis=2) - patch.min(axis=2)).max() < 12
    assert patch.min() < 170
    assert patch[8, 8].min() > 240


def test_labels_stay_in_their_boxes_and_are_upright(seen):
    ax = axes()
    artist = render.draw(ax, replace(seen, pieces=(), spots=()))
    image = pixels(ax)
    renderer = ax.figure.canvas.get_renderer()
    dark = image.max(axis=2) < 130
    for label, (left, bottom, right, top) in artist.boxes(renderer):
        box = dark[SIDE - int(top) - 1 : SIDE - int(bottom) + 1, int(left) : int(right) + 2]
        assert box.sum() > 20, label.text
    # as matplotlib itself sets the same line
    text = "grip centre g"
    one = replace(seen.labels[0], text=text, side="right", x=0.0, y=0.0, leader=((5, 5), (5, 5)))
    mine = axes()
    render.draw(mine, replace(seen, pieces=(), spots=(), labels=(one,)))
    blank = axes()
    render.draw(blank, replace(seen, pieces=(), spots=(), labels=()))
    blank.text(
        0.0, 0.0, text, fontproperties=render.font(size=8.0), color=render.INK, va="center",
    )  # fmt: skip
    a, b = (pixels(ax).min(axis=2) < 150 for ax in (mine, blank))
    window = np.s_[SIDE // 2 - 12 : SIDE // 2 + 12, SIDE // 2 : SIDE // 2 + 120]
    shifted = [np.roll(a[window], (i, j), axis=(0, 1)) for i in (-1, 0, 1) for j in (-1, 0, 1)]
    assert b[window].sum() > 60
    assert max((s & b[window]).sum() for s in shifted) > 0.8 * b[window].sum()


def test_another_drawing_takes_the_place_of_the_first(seen):
    p = plan(load_job(SAMPLE))
    behind = drawing.project(drawing.scene(p), drawing.facing(p, "underside"), 0.12)
    ax = axes()
    artist = render.draw(ax, seen)
    first = pixels(ax)
    artist.show(behind, render.Style())
    assert np.array_equal(pixels(ax), painted(behind))
    artist.show(seen, render.Style())
    assert np.array_equal(pixels(ax), first)


def test_shapes_tell_the_marks_apart(seen):
    """Without their colours: a reader who sees none must still know which is which."""
    patches = []
    for kind in ("pin", "cg", "psa", "pap", "grip_center", "hole", "foot"):
        mark = drawing.Spot(kind, kind, 0.0, 0.0, False)
        image = painted(replace(seen, pieces=(), labels=(), spots=(mark,)), render.Style(scale=2.0))
        patches.append(around(image, 0.0, 0.0, 14).mean(axis=2) < 170)
    for i, a in enumerate(patches):
        assert a.sum() > 20
        for b in patches[:i]:
            assert (a != b).sum() > 0.15 * min(a.sum(), b.sum())


def plugged(far=False, kind="plugged"):
    """One old hole in the middle of the picture."""
    turn = np.linspace(0.0, 2.0 * np.pi, 73)
    edge = 0.5 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    piece = drawing.Piece(kind, "old", edge, far, True)
    view = drawing.view_at(np.array([0.0, 0.0, 1.0]))
    return drawing.Drawing(view, (piece,), (), (), 0.1)


def test_plugs_are_grey_and_their_edges_dashed():
    image = painted(plugged())
    ball, plug = image[at(0.75, 0.0)], image[at(0.0, 0.0)]
    assert plug.max() < ball.min() - 10
    assert plug.max() - plug.min() < 12
    turn = np.linspace(0.0, 2.0 * np.pi, 720)
    edge = np.array([image[at(0.5 * np.cos(t), 0.5 * np.sin(t))].max() for t in turn])
    # dashes of 5 widths with gaps of 2, all round
    assert 0.05 < (edge > 215).mean() < 0.4
    assert (edge < 200).mean() > 0.4
    # the far side has no fill, and what is open is white inside with a whole edge
    assert image[at(0.75, 0.0)] == pytest.approx(painted(plugged(far=True))[at(0.0, 0.0)], abs=1)
    hollow = painted(plugged(kind="open"))
    assert hollow[at(0.0, 0.0)].min() > 250
    ring = np.array([around(hollow, 0.5 * np.cos(t), 0.5 * np.sin(t), 1).min() for t in turn])
    assert (ring < 130).all()


def test_new_holes_are_painted_through_plugs_and_plugs_as_they_came():
    first, second = plugged().pieces[0], plugged(kind="open").pieces[0]
    hole = replace(second, kind="finished", points=first.points * 0.3)
    seen = replace(plugged(), pieces=(hole, first))
    assert painted(seen)[at(0.0, 0.0)].min() > 250
    over = painted(replace(plugged(), pieces=(second, first)))
    assert over[at(0.0, 0.0)].max() < 240  # the plug came later
    under = painted(replace(plugged(), pieces=(first, second)))
    assert under[at(0.0, 0.0)].min() > 250
