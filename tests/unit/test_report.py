"""The plan in words: every number on it is the plan's, and it fits the page."""

import copy
import dataclasses
import math
import re
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings

from layoutkit.job.record import parse_job
from layoutkit.job.rules import CONFIRM
from layoutkit.job.store import load_job
from layoutkit.job.words import range_words, static_words
from layoutkit.output.report import (
    PLUG_CAUTION,
    SHOP_CAUTIONS,
    WIDTH,
    lean_words,
    operation_rows,
    report,
)
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan
from layoutkit.units import Units, format_length

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))


def sample(number: str) -> Plan:
    return plan(load_job(next(p for p in SAMPLES if p.name.startswith(number))))


def section(text: str, title: str) -> str:
    """The lines of one section, its title first."""
    return next(part for part in text.split("\n\n") if part.startswith(title.upper()))


def unwrapped(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("units", get_args(Units))
@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_fits_the_page_and_has_every_section(path: Path, units: Units) -> None:
    text = report(plan(load_job(path)), units)
    assert max(map(len, text.splitlines())) <= WIDTH
    assert all(line == line.rstrip() for line in text.splitlines())
    for title in (
        "Marks",
        "Layout",
        "Mark the ball",
        "Before the bit",
        "Holes",
        "Walls",
        "Weights",
        "Inertia",
        "Checks",
        "At the press",
    ):
        assert section(text, title)
    assert CONFIRM in unwrapped(text)
    for caution in SHOP_CAUTIONS:
        assert caution in unwrapped(text)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_says_what_the_plan_says(path: Path) -> None:
    result = plan(load_job(path))
    text = report(result)
    flat = unwrapped(text)
    assert f"{result.outcome.upper()}" in text.split("\n\n")[1]
    for caution in result.cautions:
        assert unwrapped(caution) in flat
    for check in result.checks:
        assert re.search(rf"(?mi)^  {check.name} .* {check.outcome} ", text)
        assert unwrapped(check.source) in flat
    for hole in result.holes:
        proof = section(text, "Before the bit")
        arcs = [hole.from_pin, hole.from_cg, hole.from_psa]
        row = "  +".join(format_length(a, "fraction", 32) for a in arcs if a is not None)
        assert re.search(rf"^  {hole.name} +{row}$", proof, re.MULTILINE)


def odd(record: dict[str, Any]) -> dict[str, Any]:
    """The record with an oval thumb, vents, an inspection hole and old holes."""
    thumb = record["bowler"]["grip"]["thumb"]
    thumb |= {"diameter": "1", "oval": {"length": "1 1/4", "direction": -30, "scallop": "1/64"}}
    thumb.pop("sleeve", None)
    record["extra_holes"] = {
        "vents": [
            {"hole": "thumb", "over": 1, "down": 3, "diameter": "1/8", "meets": "1 1/2"},
            {"hole": "thumb", "over": -1, "down": 3, "diameter": "1/8", "meets": 2},
        ],
        "inspection": {"over": -2, "up": "2 1/2", "diameter": "5/8", "depth": "1/8"},
    }
    plug = {"density": 1.15}
    old = [("old thumb", plug), ("half", plug | {"length": "1 1/4"}), ("old open", None)]
    record["history"] = {
        "holes": [
            {"name": name, "from_pin": 3 + 3 * i, "bearing": 120 - 160 * i, "diameter": "1 1/8"}
            | {"depth": 2, "tip_angle": 118, "plug": filled}
            for i, (name, filled) in enumerate(old)
        ]
    }
    return record


def test_an_oval_is_told_as_the_press_sets_it(record: dict[str, Any]) -> None:
    """By hand: way 1/4, at most 2 sqrt(1/64 (1 - 1/64)) = 0.248 in apart: three bores, 1/8 in apart.

    Its ends lie 0.125 cos 30 = 0.108 in along and 0.125 sin 30 = 0.0625 in across; the scallop is
    0.5 - sqrt(0.25 - 0.0625^2) = 0.0039 in.
    """
    text = report(plan(parse_job(odd(record))))
    table = section(text, "Oval thumb")
    rows = [line.split("  ") for line in table.splitlines()]
    cells = [[c.strip() for c in row if c.strip()] for row in rows]
    assert ["1", "7/64 to fingers", "+0.108", "1/16 left", "-0.062"] in cells
    assert ["2", "7/64 to thumb side", "-0.108", "1/16 right", "+0.062"] in cells
    assert ["3", "0", "+0.000", "0", "+0.000"] in cells
    flat = unwrapped(table)
    assert "1 1/4 in long 30 degrees to the left of the centreline, bit 1 in." in flat
    assert "3 bores leave scallops 0.004 in high" in flat
    assert "One press stop for all bores" in flat
    assert "a table that carries the ball moves the other way" in flat
    assert "drill thumb oval" in section(text, "Holes")
    assert "mark the centre of the thumb hole, the middle of its oval." in unwrapped(text)


def test_a_milled_slot_is_told_by_its_ends(record: dict[str, Any]) -> None:
    odd(record)["bowler"]["grip"]["thumb"]["oval"] = {"length": "1 1/4", "milled": True}
    flat = unwrapped(section(report(plan(parse_job(record))), "Oval thumb"))
    assert "1 1/4 in long along the centreline" in flat
    assert "1 1/8 to fingers +0.125 0 +0.000 2 1/8 to thumb side -0.125 0 +0.000" in flat
    assert "Milled" in flat
    assert "scallop" not in flat


def test_vents_and_inspection_hole_come_after_the_finished_holes(record: dict[str, Any]) -> None:
    result = plan(parse_job(odd(record)))
    text = report(result)
    holes = section(text, "Holes")
    order = re.findall(r"^ +(\d+)\. +(?:finish|drill) ((?:2nd )?[a-z ]+[a-z])", holes, re.MULTILINE)
    names = [name for _, name in order]
    assert names[-4:] == ["thumb oval", "thumb vent", "2nd thumb vent", "inspection"]
    assert [int(n) for n, _ in order] == sorted(int(n) for n, _ in order)
    first, second, mill = result.extra_holes
    row = next(line for line in holes.splitlines() if "drill thumb vent " in line)
    depth, travel = (
        format_length(x, "fraction").removesuffix(" in") for x in (first.depth, first.travel)
    )
    assert f"1/8 1/8 flat {depth} {travel} " in unwrapped(row)
    # it starts right of the thumb hole, so its bottom leans to the left; the other way round the second
    assert " left " in row
    assert " right " in next(line for line in holes.splitlines() if "2nd thumb vent" in line)
    assert unwrapped(next(x for x in holes.splitlines() if "inspection" in x)).endswith(
        "1/8 0 0 0.0"
    )
    flat = unwrapped(section(text, "Vents and inspection hole"))
    assert "thumb vent 1 -3 the thumb hole's axis, 1 1/2 in down it" in flat
    assert "2nd thumb vent -1 -3 the thumb hole's axis, 2 in down it" in flat
    assert "inspection -2 2 1/2 the ball's centre" in flat
    assert (first.into, second.into, mill.into) == ("thumb", "thumb", "")


def test_how_a_vent_leans_is_its_pitch(record: dict[str, Any]) -> None:
    """As for any hole: its axis passes the ball's centre by the pitch, so by R times the sine of tilt."""
    result = plan(parse_job(odd(record)))
    for hole in result.extra_holes:
        up, right, tilt = lean_words(result, hole, "decimal")
        axis, entry = hole.axis, hole.entry
        miss = math.dist(
            entry, [sum(a * e for a, e in zip(axis, entry, strict=True)) * a for a in axis]
        )
        both = [float(words.split()[0]) for words in (up, right)]
        assert math.hypot(*both) == pytest.approx(miss, abs=1e-3)
        assert math.sin(math.radians(float(tilt))) * result.radius == pytest.approx(miss, abs=4e-3)


@pytest.mark.parametrize("has_psa", [True, False])
def test_old_holes_are_told_from_the_pin(record: dict[str, Any], has_psa: bool) -> None:
    if not has_psa:
        del record["ball"]["psa"]
        record["ball"]["intermediate_differential"] = 0
    text = report(plan(parse_job(odd(record))))
    old = section(text, "Old holes")
    assert f"clockwise from the line to the {'PSA' if has_psa else 'CG'} mark" in unwrapped(old)
    flat = unwrapped(old)
    assert "old thumb 3 120 deg 1 1/8 2 1.15 g/cm3 " in flat
    assert "half 6 -40 deg 1 1/8 2 1.15 g/cm3, 1 1/4 in down" in flat
    assert "old open 9 160 deg 1 1/8 2 none: open" in flat
    assert PLUG_CAUTION in unwrapped(text)


@pytest.mark.parametrize("units", get_args(Units))
def test_odd_jobs_fit_the_page(record: dict[str, Any], units: Units) -> None:
    data = odd(record)
    for i, hole in enumerate(data["history"]["holes"]):
        hole["name"] = f"{i} {'W' * 28}"
    text = report(plan(parse_job(data)), units)
    assert max(map(len, text.splitlines())) <= WIDTH


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_usual_jobs_have_no_odd_sections(path: Path) -> None:
    result = plan(load_job(path))
    text = report(result)
    assert ("OVAL THUMB" in text) == any(h.oval is not None for h in result.holes)
    assert ("VENTS AND INSPECTION" in text) == bool(result.extra_holes)
    assert ("OLD HOLES" in text) == (PLUG_CAUTION in unwrapped(text)) == bool(result.old_holes)


def test_layout_in_every_statement() -> None:
    lines = section(report(sample("01")), "Layout")
    assert "angle at the pin 50 deg  pin to PAP 4 1/2 in" in lines
    assert "angle at the PAP 35 deg" in lines
    # by the sine rule 2.230 in and by the cosine rule 4.182 in, in sixteenths
    assert "PSA to PAP 4 3/16 in" in lines
    assert "pin to VAL 2 1/4 in" in lines
    assert "by placement" in lines


def test_layouts_that_distances_cannot_state(record: dict[str, Any]) -> None:
    without = section(report(sample("05")), "Layout")
    assert "by distances" not in without
    assert "No PSA mark" in without
    record["layout"] |= {"angle_at_pin": -40}
    negative = section(report(plan(parse_job(record))), "Layout")
    assert "by distances" not in negative
    assert "negative angle at the pin" in negative
    record["layout"] |= {"angle_at_pin": 40, "angle_at_pap": 120}
    assert "this is the obtuse one" in section(report(plan(parse_job(record))), "Layout")


def test_statics_have_a_range_only_while_uncalibrated(record: dict[str, Any]) -> None:
    calibrated = section(report(plan(parse_job(record))), "Weights")
    assert "calibrated" in calibrated
    assert "default arm" not in calibrated
    assert "known weight settles it" not in calibrated
    del record["scale"]
    result = plan(parse_job(record))
    weights = section(report(result), "Weights")
    # 8/15, 1 and 23/30 of 4.275 in
    assert "not calibrated: 2.280 in to 4.275 in, 3.278 in by default" in weights
    s = result.statics
    low, high = s.range.top_oz
    assert f"{low:.2f} to {high:.2f} oz top weight ({s.top_oz:.2f} at the default arm)" in weights
    before = s.undrilled.top_oz
    drilling = (
        f"takes {before - high:.2f} to {before - low:.2f} oz of top weight by your scale's arm"
    )
    assert drilling in " ".join(weights.split())


@pytest.mark.parametrize(
    ("name", "ounces", "ends", "words"),
    [
        ("side", 0.31, (0.21, 0.44), "0.21 to 0.44 oz positive side (0.31 at the default arm)"),
        ("side", -0.31, (-0.44, -0.21), "0.21 to 0.44 oz negative side (0.31 at the default arm)"),
        (
            "top", 0.05, (-0.2, 0.3),
            "0.20 bottom to 0.30 oz top weight (0.05 top by default)",
        ),
        ("side", 0.689, (0.687, 0.691), "0.69 oz positive side"),  # the same at any arm
        ("top", 0.1, (0.0, 0.3), "0.00 to 0.30 oz top weight (0.10 at the default arm)"),
    ],
)  # fmt: skip
def test_a_range_in_words_comes_before_the_value(
    name: str, ounces: float, ends: tuple[float, float], words: str
) -> None:
    assert range_words(name, ounces, ends) == words


@pytest.mark.parametrize(
    ("name", "ounces", "words"),
    [
        ("side", 0.5, "0.50 oz positive side"),
        ("side", -0.5, "0.50 oz negative side"),
        ("finger", 0.25, "0.25 oz finger weight"),
        ("finger", -0.25, "0.25 oz thumb weight"),
        ("top", 1.0, "1.00 oz top weight"),
        ("top", -1.0, "1.00 oz bottom weight"),
        ("top", -0.004, "0.00 oz"),  # nothing that a scale shows, so no side
    ],
)
def test_words_of_a_static_weight(name: str, ounces: float, words: str) -> None:
    assert static_words(name, ounces) == words


def test_operations_are_in_the_order_of_the_work() -> None:
    holes = section(report(sample("01")), "Holes")
    order = re.findall(r"^ +\d+\.  (\w+(?: the)? \w+)", holes, re.MULTILINE)
    assert order == [
        "bore middle",
        "bore ring",
        "bore thumb",
        "set the middle",
        "set the ring",
        "set the thumb",
        "finish thumb",  # the inserts of the fingers come with their holes
    ]
    first = "1.  bore middle 31/32 31/32 flat 1 1/2 1 1/2 1/8 forward 1/16 left 1.9"
    assert unwrapped(first) in unwrapped(holes)


def test_the_thumb_may_come_first_and_edges_are_rounded_last(record: dict[str, Any]) -> None:
    grip = record["bowler"]["grip"]
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1, "name": "oval lift"}
    grip["middle"] |= {"diameter": "3/4", "depth": "1 1/4", "sleeve": sleeve, "bevel": "1/16"}
    record["work"] = {"order_of_cuts": "thumb first"}
    cuts = [row[1] for row in operation_rows(plan(parse_job(record)))[1:]]
    assert cuts == [
        "bore middle",
        "set the middle sleeve, 1 1/2 in long, oval lift",
        "drill thumb",
        "finish middle",
        "drill ring",
        "bevel the middle hole's edge, radius 1/16 in",
    ]


def test_a_ready_made_sleeve_weighs_as_one_that_is_finished(record: dict[str, Any]) -> None:
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1}
    record["bowler"]["grip"]["middle"] |= {"diameter": "3/4", "depth": "1 1/4", "sleeve": sleeve}
    drilled = plan(parse_job(record))
    sleeve["ready"] = True
    ready = plan(parse_job(record))
    assert ready.as_dict() == drilled.as_dict()
    assert "finish middle" not in report(ready)
    assert "finish middle" in report(drilled)


def test_bits_of_millimetres_are_near_only_where_inches_are_wanted() -> None:
    holes = section(report(sample("09")), "Holes")
    assert re.search(r"drill middle +3/4 +~3/4 +flat ", holes)  # 19 mm is 0.7480 in
    assert re.search(r"drill thumb +63/64 +63/64 +118 ", holes)  # 25 mm is 0.9843 in, 63/64 0.9844
    assert "~ marks the nearest stocked inch bit" in holes
    assert "~" not in section(report(sample("01")), "Holes")
    metric = section(report(sample("09"), "metric"), "Holes")
    assert "bit (mm)" in metric
    assert re.search(r"drill middle +19\.0 +19\.0 +flat ", metric)
    assert "~" not in metric


def test_a_point_of_half_a_turn_is_flat(record: dict[str, Any]) -> None:
    record["bowler"]["grip"]["thumb"]["tip_angle"] = 180
    holes = section(report(plan(parse_job(record))), "Holes")
    assert " 180 " not in holes
    assert re.search(r"thumb .* flat ", holes)


def test_marking_steps_get_their_arcs_in_the_shops_unit() -> None:
    decimal, metric = (
        unwrapped(section(report(sample("01"), units), "Mark the ball"))
        for units in ("decimal", "metric")
    )
    assert "measure 4 1/2 in: mark the PAP. [4.500 in]" in decimal
    assert "measure 114.5 mm: mark the PAP." in metric  # 114.3 on a rule of half millimetres
    assert "[" not in metric + section(report(sample("01")), "Mark the ball")


def test_holes_that_meet_and_walls() -> None:
    walls = section(report(sample("01")), "Walls")
    assert re.search(r"middle and ring +meet 1 \d+/64 in below the surface", walls)
    assert re.search(r"middle and thumb +1 \d+/\d+ in, at ", walls)


def test_a_cut_away_mark_is_no_clearance() -> None:
    result = sample("01")
    holes = (result.holes[0]._replace(clearance=-0.1), *result.holes[1:])
    assert "cuts it" in report(dataclasses.replace(result, holes=holes))


def test_outcome_names_what_is_close_or_fails() -> None:
    assert "FAIL (side) under usbc-2020: do not drill" in report(sample("07"))
    assert "CLOSE (" in report(sample("06"))


def test_long_names_and_missing_ones(record: dict[str, Any]) -> None:
    long = copy.deepcopy(record)
    long |= {"title": "word " * 40, "notes": "a\n\n" + "b" * 1900}
    long["bowler"]["name"] = long["ball"]["name"] = long["ball"]["serial"] = "n" * 200
    long["work"] = dict.fromkeys(("order", "driller", "checked_by", "ball_is"), "w " * 100)
    assert max(map(len, report(plan(parse_job(long))).splitlines())) <= WIDTH
    record["bowler"]["name"] = record["ball"]["name"] = record["ball"]["serial"] = ""
    text = report(plan(parse_job(record)))
    assert "not named, right hand" in text
    assert "serial not given" in text


def test_a_wide_table_is_set_tighter(record: dict[str, Any]) -> None:
    """Every size an odd sixty-fourth and every bit only near: the widest table there is."""
    for name, hole in record["bowler"]["grip"].items():
        if name != "bridge":
            hole |= {"diameter": 1.485, "depth": 1.515, "tip_angle": 117.123}
            hole["pitch"] = {"forward": 1.234, "right": 1.234}
            hole["sleeve"] = {"bore": 1.735, "bore_depth": 1.515, "density": 1.2}
    text = report(plan(parse_job(record)))
    assert " finish ring   1 31/64 ~1 31/64 117.123 1 33/64 " in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_every_random_plan_can_be_told(records: Any) -> None:
    @settings(max_examples=40)
    @given(records)
    def check(record: dict[str, Any]) -> None:
        result = plan(parse_job(record))
        for units in get_args(Units):
            assert max(map(len, report(result, units).splitlines())) <= WIDTH

    check()
