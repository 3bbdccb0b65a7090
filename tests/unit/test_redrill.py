"""What a plugged ball's record holds: every cavity of the job before, once and plugged."""

import math
from typing import Any

import pytest

from layoutkit import parse_job, plan
from layoutkit.errors import InputError
from layoutkit.job.record import dump_job
from layoutkit.planning.redrill import PLUG_DENSITY, redrilled


def told(record: dict[str, Any]) -> list[tuple[str, float, float]]:
    """Name, diameter and depth of each old hole."""
    history = redrilled(parse_job(record)).history
    assert history is not None
    return [(hole.name, hole.diameter, hole.depth) for hole in history.holes]


def test_of_a_sleeved_hole_the_bore_is_old_and_a_deeper_finished_hole_too(
    record: dict[str, Any],
) -> None:
    grip = record["bowler"]["grip"]
    sleeve = {"bore": 0.96875, "bore_depth": 1.5, "density": 1.1}
    grip["middle"] |= {"diameter": 0.75, "depth": 1.25, "sleeve": sleeve, "tip_angle": None}
    grip["ring"] |= {"diameter": 0.75, "depth": 2.25, "sleeve": sleeve, "tip_angle": None}
    grip["thumb"] |= {"diameter": 1.0, "depth": 2.75, "tip_angle": 118}
    assert told(record) == [
        ("old middle", 0.96875, 1.5),
        ("old ring", 0.96875, 1.5),
        ("2nd old ring", 0.75, 2.25),
        ("old thumb", 1.0, 2.75),
    ]
    history = redrilled(parse_job(record)).history
    assert history is not None
    assert [hole.tip_angle for hole in history.holes] == [None, None, None, 118]
    assert {hole.plug.density for hole in history.holes if hole.plug} == {PLUG_DENSITY}


def test_each_bore_of_an_oval_is_old(record: dict[str, Any]) -> None:
    """They keep their places on the press's table about the oval's middle, all along one axis."""
    thumb = record["bowler"]["grip"]["thumb"]
    thumb |= {"diameter": 0.9375, "oval": {"length": 1.25, "direction": 25, "scallop": "1/64"}}
    job = parse_job(record)
    before, after = plan(job), plan(redrilled(job))
    oval = before.holes[2].oval
    assert oval is not None
    bores = after.old_holes[2:]
    assert [b.name for b in bores] == ["old thumb", "2nd old thumb", "3rd old thumb"]
    axis, middle = before.holes[2].axis, before.holes[2].entry
    for bore, cut in zip(bores, oval.cuts, strict=True):
        assert bore.axis == pytest.approx(axis, abs=1e-12)
        assert math.hypot(*bore.entry) == pytest.approx(after.radius, abs=1e-12)
        way = [a - b for a, b in zip(bore.entry, middle, strict=True)]
        down = sum(a * b for a, b in zip(way, axis, strict=True))
        beside = math.sqrt(sum(w * w for w in way) - down * down)
        assert beside == pytest.approx(math.hypot(cut.along, cut.across), abs=1e-9)
        # all end on one plane
        assert down + bore.depth == pytest.approx(before.holes[2].depth, abs=1e-9)


def test_vents_and_inspection_hole_are_old_too(record: dict[str, Any]) -> None:
    vent = {"hole": "thumb", "over": 1.25, "down": 3, "diameter": "1/8", "meets": 1}
    record["extra_holes"] = {
        "vents": [vent, vent | {"over": -1.25}],
        "inspection": {"over": -2, "up": 2, "diameter": "5/8", "depth": "1/8"},
    }
    names = [name for name, _, _ in told(record)]
    assert names[3:] == ["old thumb vent", "old 2nd thumb vent", "old inspection"]
    assert redrilled(parse_job(record)).extra_holes is None


def test_an_open_hole_that_was_drilled_out_is_filled_and_others_stay_open(
    record: dict[str, Any],
) -> None:
    job = parse_job(record)
    once = dump_job(redrilled(job))
    for hole in once["history"]["holes"]:
        hole["plug"] = None  # the same grip again in the same holes, which were left open
    apart = {"name": "apart", "from_pin": 11, "bearing": 70, "diameter": 1, "depth": 2}
    once["history"]["holes"].append(apart)
    twice = redrilled(parse_job(once)).history
    assert twice is not None
    open_holes = [hole.name for hole in twice.holes if hole.plug is None]
    assert open_holes == ["apart"]
    assert [hole.name for hole in twice.holes] == [
        "old middle",
        "old ring",
        "old thumb",
        "apart",
        "2nd old middle",
        "2nd old ring",
        "2nd old thumb",
    ]


def test_long_titles_and_notes_are_cut_to_what_a_record_holds(record: dict[str, Any]) -> None:
    record |= {"title": "T" * 200, "notes": "N" * 2000}
    again = redrilled(parse_job(record))
    assert len(again.title) == 200
    assert len(again.notes) == 2000
    assert parse_job(dump_job(again)) == again


def test_a_plug_no_resin_has_is_refused(record: dict[str, Any]) -> None:
    with pytest.raises(InputError, match="plug density: 7 g/cm3 is outside"):
        redrilled(parse_job(record), 7.0)


@pytest.mark.parametrize(
    ("change", "left"),
    [({}, []), ({"depth": 4.0}, ["thumb"]), ({"toward_pin": 0.9}, ["thumb"]), ({"depth": 2.0}, [])],
)
def test_what_is_left_of_an_open_hole_under_the_new_one_is_told(
    record: dict[str, Any], change: dict[str, float], left: list[str]
) -> None:
    """The same holes again, the old ones open and with no name, the thumb's changed."""
    record["history"] = dump_job(redrilled(parse_job(record)))["history"]
    for hole in record["history"]["holes"]:
        del hole["plug"]
        hole["name"] = ""
    record["history"]["holes"][2] |= change
    told = [c for c in plan(parse_job(record)).cautions if "goes on beside or below" in c]
    assert told == [
        f"The open old hole 3 goes on beside or below the {name} hole that takes its place: plug what "
        "the new hole does not take away, or a void stays under it."
        for name in left
    ]


@pytest.mark.parametrize(("from_pin", "gone"), [(0.4, True), (0.6, False)])
def test_a_mark_that_an_old_hole_took_away_is_told(
    record: dict[str, Any], from_pin: float, gone: bool
) -> None:
    """A hole of 1 in reaches 0.501 in of arc from its centre: R asin(d / 2R)."""
    old = {"name": "old ring", "from_pin": from_pin, "bearing": 90, "diameter": 1, "depth": 2}
    record["history"] = {"holes": [old | {"plug": {"density": 1.15}}]}
    words = "The pin lay where old ring was drilled, so it is no longer on the ball"
    assert any(c.startswith(words) for c in plan(parse_job(record)).cautions) is gone
