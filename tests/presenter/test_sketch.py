"""The pictures of the help: what they show is on them, and lies where the plan says."""

import math

import numpy as np
import pytest

from gui.state.fields import all_fields
from gui.state.files import samples
from gui.state.sketch import GUIDE, SHOWN, guide_of, sketch_of
from layoutkit.job.store import load_job
from layoutkit.output.grip_guide import PANELS
from layoutkit.planning.plan import plan as make_plan


@pytest.fixture(scope="module")
def plan():
    return make_plan(load_job(samples()[0]))


def on_ball(points):
    """Points of the near half (n, 2) as unit vectors (n, 3)."""
    height = np.sqrt(np.clip(1.0 - (points**2).sum(axis=1), 0.0, None))
    return np.column_stack([points, height])


def test_every_picture_belongs_to_a_field_and_there_is_one_without_a_record():
    paths = [field.path for field in all_fields()]
    for end in (*SHOWN, *GUIDE):
        assert any(path.endswith(f".{end}") for path in paths), end
    assert all(sketch_of(f"x.{end}", None) for end in SHOWN)
    assert sketch_of("bowler.name", None) is None
    assert guide_of("bowler.name") is None
    assert PANELS[guide_of("bowler.grip.thumb.pitch.right")].title.endswith("Pitch")
    assert PANELS[guide_of("bowler.grip.ring.span")].title.endswith("Spans")


def test_a_pictures_arc_is_as_long_as_the_layout_says(plan):
    """By the angle between two unit vectors, from the pixels' side of the drawing."""
    drawn = sketch_of("layout.pin_to_pap", plan).drawn
    (piece,) = (p for p in drawn.pieces if p.kind == "pin_pap")
    first, last = on_ball(piece.points)[[0, -1]]
    length = math.acos(first @ last) * plan.radius
    assert length == pytest.approx(plan.layout.pin_to_pap, abs=1e-4)
    at = {spot.kind: np.array([spot.x, spot.y]) for spot in drawn.spots}
    ends = piece.points[[0, -1]]
    for mark in ("pin", "pap"):
        assert np.abs(ends - at[mark]).sum(axis=1).min() < 1e-6


def test_a_plan_without_the_mark_gives_way_to_the_sample(plan):
    other = load_job(samples()[2])
    assert other.ball.psa is None
    drawn = sketch_of("layout.psa_to_pap", make_plan(other)).drawn
    (piece,) = (p for p in drawn.pieces if p.kind == "psa_pap" and not p.far)
    first, last = on_ball(piece.points)[[0, -1]]
    length = math.acos(first @ last) * plan.radius
    assert length == pytest.approx(plan.layout.psa_to_pap, abs=1e-4)
