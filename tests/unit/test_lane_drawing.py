"""What is drawn of a shot: the lane from above, the rings on the ball, and the sheet's block."""

import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layoutkit.geometry.sphere import mirror
from layoutkit.job.record import Lane, Release, parse_job
from layoutkit.lane import roll
from layoutkit.lane.motion import Stretch
from layoutkit.output import lane_drawing
from layoutkit.output.roll_picture import PHASES, SHOTS, figure, picture, stretch
from layoutkit.output.roll_report import roll_text, summary_rows
from layoutkit.output.sheet import sheet_figures
from layoutkit.planning.plan import plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
NAMES = ("01", "02", "04", "06", "08")


@cache
def shot(name: str) -> roll.Roll:
    path = next(SAMPLES.glob(f"{name}*.json"))
    return roll.roll(plan(parse_job(json.loads(path.read_text(encoding="utf-8")))))


def thrown(name: str, release: Release, lane: Lane | None = None) -> roll.Roll:
    p = shot(name).plan
    job = p.job.model_copy(update={"release": release, "lane": lane})
    return roll.roll(replace(p, job=job))


# --- the lane -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_the_phases_lines_are_the_path_cut_in_pieces(name: str) -> None:
    one = shot(name)
    drawn = lane_drawing.lane_drawing([one])
    assert [line.kind for line in drawn.lines] == [phase.name for phase in one.path.phases]
    for line, phase in zip(drawn.lines, one.path.phases, strict=True):
        assert line.points[0, 0] == pytest.approx(phase.start)
        assert line.points[-1, 0] == pytest.approx(phase.start + phase.length)
        # every point is on the path
        assert np.interp(line.points[:, 0], one.x, one.y) == pytest.approx(line.points[:, 1])
    for before, after in zip(drawn.lines[:-1], drawn.lines[1:], strict=True):
        assert np.array_equal(before.points[-1], after.points[0])


def test_both_hands_are_mirrored_and_count_boards_from_their_own_side() -> None:
    right, left = (lane_drawing.lane_drawing([shot(name)]) for name in ("01", "02"))
    assert (right.hand, left.hand) == ("right", "left")
    assert [n for n, _ in right.boards] == [n for n, _ in left.boards]
    assert dict(right.boards)[1] == -dict(left.boards)[1] < 0.0
    for drawn, one in ((right, shot("01")), (left, shot("02"))):
        at = {spot.kind: spot for spot in drawn.spots}
        assert set(at) == {"arrows", "breakpoint", "pins"}
        middles = dict(drawn.boards)
        step = (middles[39] - middles[1]) / 38.0  # inches to the left a board
        assert one.path.breakpoint is not None
        assert at["breakpoint"].y == pytest.approx(step * (one.path.breakpoint.board - 20.0))
        assert at["pins"].y == pytest.approx(one.y[-1])
        (entry,) = drawn.entries
        run = 12.0 * (entry.way[1, 0] - entry.way[0, 0])
        rise = entry.way[1, 1] - entry.way[0, 1]
        sign = 1.0 if drawn.hand == "right" else -1.0
        assert math.degrees(math.atan2(sign * rise, run)) == pytest.approx(entry.degrees)


def test_gutter_and_a_ball_that_stops_are_told() -> None:
    out = thrown("01", Release(board=4.0, direction=9.0))
    (spot,) = [s for s in lane_drawing.lane_drawing([out]).spots if s.kind == "gutter"]
    assert spot.x == pytest.approx(out.path.gutter)
    assert "gutter" in roll_text([out])
    back = thrown("01", Release(speed=5.0, revs=-800.0, axis_rotation=0.0), Lane(oil=0.3))
    drawn = lane_drawing.lane_drawing([back])
    assert drawn.spots[-1].kind == "stopped"
    assert drawn.entries == ()
    assert picture([back], "png").startswith(b"\x89PNG")


def test_oil_is_deepest_where_friction_is_least() -> None:
    even = lane_drawing.oil_strips((Stretch(0.0, 0.04, 0.0), Stretch(480.0, 0.2, 0.0)))
    assert even == ((0.0, 40.0, 1.0), (40.0, 60.0, 0.0))
    assert lane_drawing.oil_strips((Stretch(0.0, 0.1, 0.0),)) == ((0.0, 60.0, 0.0),)
    ramp = lane_drawing.oil_strips((Stretch(0.0, 0.04, 0.16 / 720.0),))
    assert len(ramp) == 60
    assert [strip.depth for strip in ramp] == sorted((s.depth for s in ramp), reverse=True)
    assert (ramp[0].depth, ramp[-1].depth) == pytest.approx((1.0, 0.0))


# --- the rings ------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["01", "02", "04"])
def test_rings_lie_on_the_ball_about_their_axes(name: str) -> None:
    one = shot(name)
    assert one.flare is not None
    scene = lane_drawing.rings_scene(one)
    drawn = [line for line in scene.lines if line.kind in ("ring", "late_ring")]
    assert len(drawn) == len(one.flare.rings)
    hand = one.plan.job.bowler.hand
    for line, ring in zip(drawn, one.flare.rings, strict=True):
        assert (line.kind == "ring") == ring.oily
        axis = np.array(mirror(ring.axis, hand))
        angles = np.degrees(np.arccos(line.points @ axis / one.plan.radius))
        assert angles == pytest.approx(np.full(len(angles), ring.radius), abs=1e-6)
        assert np.array_equal(line.points[0].round(9), line.points[-1].round(9))


@pytest.mark.parametrize("name", ["01", "02", "03", "04", "08"])
def test_rings_face_the_viewer(name: str) -> None:
    one = shot(name)
    view = lane_drawing.rings_view(one)
    drawn = lane_drawing.rings_drawing(one, view)
    assert not [p for p in drawn.pieces if p.far and p.kind in ("ring", "late_ring")]
    # of every ring on the oil a good part is on the near side, where they are widest apart
    scene = lane_drawing.rings_scene(one)
    for line in scene.lines:
        if line.kind == "ring":
            assert (line.points @ view.frame[2] > 0.0).mean() > 0.3
    names = {label.text for label in drawn.labels}
    assert {"first ring", "last oil ring"} <= names


def test_without_rg_data_the_ball_has_no_rings() -> None:
    one = shot("06")
    scene = lane_drawing.rings_scene(one)
    assert not [line for line in scene.lines if line.kind in ("ring", "late_ring")]
    assert np.allclose(lane_drawing.rings_view(one).frame[2], [0.0, 0.0, 1.0])
    assert "flare cannot be computed" in " ".join(roll_text([one]).split())


# --- pictures and text ----------------------------------------------------------------------------


def test_phases_and_shots_are_told_apart_by_more_than_colour() -> None:
    assert len({dashes for dashes, _ in PHASES.values()}) == 3
    assert len(SHOTS) == len(dict(SHOTS)) == len({shape for _, shape in SHOTS})


@pytest.mark.parametrize("names", [("01",), ("08", "02"), ("01", "04", "06")])
def test_picture_keeps_its_texts_on_the_page_and_says_how_it_is_stretched(
    names: tuple[str, ...],
) -> None:
    made = figure([shot(name) for name in names])
    made.canvas.draw()
    renderer = made.canvas.get_renderer()
    width, height = made.bbox.width, made.bbox.height
    texts = [text for text in made.texts if text.get_text()]
    for text in texts:
        box = text.get_window_extent(renderer)
        assert 0.0 <= box.x0 <= box.x1 <= width, text.get_text()
        assert 0.0 <= box.y0 <= box.y1 <= height, text.get_text()
    for i, one in enumerate(texts):
        for other in texts[:i]:
            a, b = (t.get_window_extent(renderer) for t in (one, other))
            apart = a.x1 <= b.x0 or b.x1 <= a.x0 or a.y1 <= b.y0 + 3.0 or b.y1 <= a.y0 + 3.0
            assert apart, (one.get_text(), other.get_text())
    times = f"drawn {stretch(made.axes[0]):.0f} times as wide as long"
    assert any(times in text.get_text() for text in texts)


def test_pdf_is_the_same_every_time() -> None:
    assert picture([shot("01")], "pdf") == picture([shot("01")], "pdf")


def test_text_has_the_shot_s_own_numbers() -> None:
    one = shot("01")
    text = roll_text([one])
    p = one.path
    assert f"board at the pins              {p.board_at_pins:.1f}" in text
    assert f"entry angle                    {p.entry_angle:.1f} degrees" in text
    assert one.flare is not None
    rows = [line.split() for line in text.splitlines() if " ft " in line and "oil" in line]
    told = {int(cells[0]) for cells in rows if cells[0].isdigit()}
    assert told == {ring.turn for ring in one.flare.rings if ring.oily}


def test_a_ring_over_a_hole_is_told() -> None:
    one = shot("04")
    assert one.near_holes
    assert "NEAR HOLES" in roll_text([one])
    for near in one.near_holes:
        assert any(near.hole in caution for caution in one.cautions)


@pytest.mark.parametrize("name", ["08"])
def test_sheet_has_the_shot_where_there_is_a_release(name: str) -> None:
    one = shot(name)
    figures = sheet_figures(one.plan)
    assert len(figures) <= 2
    text = printed(figures)
    assert "On the lane" in text
    for _, words in summary_rows(one):
        assert words.split(",")[0] in text
    without = one.plan.job.model_copy(update={"release": None})
    assert "On the lane" not in printed(sheet_figures(replace(one.plan, job=without)))


def printed(figures: list[Any]) -> str:
    """What pages say beside their pictures, all white space made single."""
    texts = [text.get_text() for page in figures for ax in page.axes for text in ax.texts]
    return " ".join(" ".join(texts).split())
