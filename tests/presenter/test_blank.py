"""The ball of a record that is being filled in."""

import json
from pathlib import Path

import pytest

from gui.state.blank import blank_scene
from gui.state.presenter import Presenter
from gui.state.shop import ShopFile
from layoutkit.job.record import parse_job
from layoutkit.output.drawing import scene
from layoutkit.planning.plan import plan

SAMPLE = Path(__file__).parents[2] / "sample_bowlers" / "04_right_symmetric_pin_down.json"


def ghosts(found):
    return {each.name for each in found.markers if each.ghost}


@pytest.fixture
def presenter(tmp_path):
    return Presenter(tmp_path, ShopFile())


def test_the_parts_of_the_ball_appear_as_each_becomes_known(presenter):
    p = presenter

    def now():
        assert p.plan is None
        return blank_scene(p.document.record(), tuple(p.problems), "fraction")

    assert ghosts(now()) == {"pin", "pap", "middle", "ring", "thumb"}
    assert {c.name for c in now().callouts} == {"midline", "centreline", "grip_center"}
    p.edit("bowler.pap.over", "5 1/")  # half typed
    assert "pap" in ghosts(now())
    p.edit("bowler.pap.over", "5 1/2")
    assert ghosts(now()) == {"pin", "middle", "ring", "thumb"}
    p.edit("layout.pin.over", "1")
    p.edit("layout.pin.up", "2")
    assert ghosts(now()) == {"middle", "ring", "thumb"}
    right = next(m.point for m in now().markers if m.name == "pap")
    p.edit("bowler.hand", "left")
    left = next(m.point for m in now().markers if m.name == "pap")
    assert left.tolist() == pytest.approx([-right[0], right[1], right[2]])


def test_what_is_known_lies_where_the_plan_puts_it():
    record = json.loads(SAMPLE.read_text())
    made = scene(plan(parse_job(record)))
    del record["ball"]["weight"]
    found = blank_scene(record, ("ball.weight",), "fraction")
    assert ghosts(found) == set()
    places = {m.name: m.point / made.radius for m in made.markers}
    for marker in found.markers:
        # the radius is a usual one as long as the ball's is not known
        assert marker.point / found.radius == pytest.approx(places[marker.name], abs=0.01)
