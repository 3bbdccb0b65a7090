"""What is behind the difference of two balls: contact, the RG about the PAP, the centre of gravity."""

import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from layoutkit.job.record import AnglesLayout, Release, parse_job
from layoutkit.lane import why
from layoutkit.lane.roll import Difference, roll
from layoutkit.output.roll_report import why_words
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
RELEASE = Release(board=22.0, direction=2.8)


@cache
def made(at_pin: float, pin_to_pap: float, at_pap: float) -> Plan:
    record = json.loads(next(SAMPLES.glob("01*")).read_text(encoding="utf-8"))
    layout = AnglesLayout(
        by="angles", angle_at_pin=at_pin, pin_to_pap=pin_to_pap, angle_at_pap=at_pap
    )
    return plan(parse_job(record).model_copy(update={"layout": layout}))


def test_contact_is_that_of_hertz_by_its_largest_pressure() -> None:
    # K. L. Johnson, Contact Mechanics (1985), section 4.2: the force is two thirds of the largest
    # pressure on the circle, and the radius pi p0 R / (2 E)
    weight, radius = 15.0, 4.25
    a = 0.5 * 25.4 * why.contact_width(weight, radius)
    force = 15.0 * 0.45359237 * 9.80665
    largest = 1.5 * force / (math.pi * a * a)
    assert a == pytest.approx(math.pi * largest * 25.4 * radius / (2.0 * why.STIFFNESS))
    assert 2.5 < 2.0 * a < 3.5  # mm


@pytest.mark.parametrize(
    ("layout", "nearest", "name"),
    [
        ((40.0, 0.001, 40.0), 0, "rg_low"),
        ((0.0, 0.25 * math.pi * 8.5, 40.0), 2, "rg_high"),
        ((90.0, 0.25 * math.pi * 8.5, 40.0), 1, "rg_mid"),
    ],
)
def test_rg_about_the_pap_on_an_axis_is_that_axis_s(
    layout: tuple[float, float, float], nearest: int, name: str
) -> None:
    """On the pin the low RG, a quarter from it toward the reference mark the high, across the middle."""
    now = made(*layout)
    found = why.grounds(roll(now, RELEASE))
    assert found.rg_pap_undrilled == pytest.approx(getattr(now.inertia.undrilled, name), abs=2e-4)
    # drilling turns the axes by some degrees
    assert min(range(3), key=lambda i: found.pap_to_axes[i]) == nearest
    assert sum(math.cos(math.radians(a)) ** 2 for a in found.pap_to_axes) == pytest.approx(1.0)
    assert now.inertia.rg_low <= found.rg_pap <= now.inertia.rg_high


def test_a_ball_in_balance_is_not_moved_by_its_centre_of_gravity() -> None:
    now = made(40.0, 4.0, 40.0)
    s = now.statics
    level = replace(now, statics=s._replace(side_oz=0.0, finger_oz=0.0, top_oz=0.0))
    found = why.grounds(roll(level, RELEASE))
    assert found.off == 0.0
    assert found.off_moves == pytest.approx(0.0, abs=1e-9)
    heavy = why.grounds(roll(now, RELEASE))
    assert heavy.off > 0.0
    assert abs(heavy.off_moves or 0.0) > 0.01


def test_words_lead_with_flare_where_paths_cannot_be_told_apart() -> None:
    one = why.grounds(roll(made(40.0, 4.0, 40.0), RELEASE))
    own_track = one._replace(gap=0.5 * one.contact)
    rows = [
        Difference("board at the pins", "boards", 0.1, 0.3),
        Difference("flare width", "in", -1, 0.2),
    ]
    words = why_words(rows, one, own_track, why.Sensitivity(2.1, -1.0))
    assert words.startswith("At the pins they cannot be told apart; flare and RG")
    assert "the first flares past its own track, this one runs over it again" in words
    assert words.endswith(
        "Friction and release matter more than this layout: a change of 0.01 in friction moves it 2.1 "
        "boards, one of 0.5 mph 1.0."
    )
    rows[0] = Difference("board at the pins", "boards", 3.0, 0.3)
    words = why_words(rows, one, one, why.Sensitivity(2.1, -1.0))
    assert words.startswith("At the pins they are 3.0 boards apart.")
    assert "matter less than these layouts" in words
