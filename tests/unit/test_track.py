"""Reading tracks: text, CSV and JSON say the same; what cannot be read is told in one sentence."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layoutkit.bench.axis import fit_axis
from layoutkit.bench.track import MOST_MARKS, Track, load_track, parse_track
from layoutkit.errors import InputError
from layoutkit.output.axis_drawing import axis_scene, axis_view
from layoutkit.output.axis_report import axis_dict, axis_text
from layoutkit.output.drawing import project

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_bowlers" / "track.txt"

TEXT = """# invented
hand = left
diameter = 8.5
standard deviation = 1/32
known pin = 1, 3
ring = first
-5 1/16, 4 11/16
-3 1/8, 2     # a remark
pin 5 11/16, grip 3, negative
ring = second
-2 1/2, -4 7/8
"""
CSV = 'ring,over,up\nfirst,-5 1/16,4 11/16\n"first","-3 1/8","2"\nsecond,-2.5,-4.875\n'
JSON: dict[str, Any] = {
    "format": "layoutkit-track",
    "version": 1,
    "hand": "left",
    "diameter": 8.5,
    "standard_deviation": "1/32",
    "known": {"pin": {"over": 1, "up": 3}},
    "rings": [
        {
            "name": "first",
            "marks": [
                {"over": "-5 1/16", "up": "4 11/16"},
                {"over": -3.125, "up": 2},
                {"arcs": {"pin": "5 11/16", "grip": 3}, "toward": "negative"},
            ],
        },
        {"name": "second", "marks": [{"over": "-2 1/2", "up": "-4 7/8"}]},
    ],
}


def plain(track: Track) -> list[tuple[object, ...]]:
    return [m[1:] for m in track.marks]


def test_semicolons_part_numbers_with_decimal_commas() -> None:
    commas = """hand = LH
diameter = 8,5
known pin = 1,5; 3
-5,0625; 4,6875
first; -3,125; 2
pin 5,6875; grip 3; fingers
"""
    points = commas.replace(",", ".").replace(";", ",").replace("LH", "left")
    assert parse_track(commas) == parse_track(points)
    assert parse_track(commas).diameter == 8.5


@pytest.mark.parametrize(
    "line", ["-5,5, 4,25", "first, -3,5, 2", "pin 5,5, grip 3", "-5,5; 4; 2,5"]
)
def test_a_decimal_comma_among_commas_is_refused(line: str) -> None:
    with pytest.raises(InputError, match="line 1"):
        parse_track(line)


def test_text_and_json_say_the_same() -> None:
    text, data = parse_track(TEXT), parse_track(json.dumps(JSON))
    assert plain(text) == plain(data)
    assert text[1:] == data[1:]
    assert (text.hand, text.diameter, text.deviation) == ("left", 8.5, 1 / 32)
    assert text.marks[0].place == (-5.0625, 4.6875)
    assert [ring.name for ring in text.rings(4.25)] == ["first", "second"]


def test_files_that_call_the_standard_deviation_a_tolerance_are_read() -> None:
    old = parse_track(TEXT.replace("standard deviation", "tolerance"))
    data = {k: v for k, v in JSON.items() if k != "standard_deviation"} | {"tolerance": "1/32"}
    assert old == parse_track(TEXT)
    assert parse_track(json.dumps(data)).deviation == old.deviation == 1 / 32


def test_csv_says_the_same_of_places() -> None:
    wanted = [m for m in plain(parse_track(TEXT)) if m[1] is not None]
    assert plain(parse_track(CSV)) == wanted


def test_the_sample_is_read_and_fitted() -> None:
    track = load_track(SAMPLE)
    fit = fit_axis(track.rings(4.275), 4.275)
    # made from an axis at 4 7/8 over, 1/2 up with 12 degrees of tilt, rounded to sixteenths
    assert (fit.over, fit.up) == pytest.approx((4.875, 0.5), abs=1 / 32)
    assert fit.tilt == pytest.approx(12.0, abs=0.25)
    assert fit.rings[1].tilt == pytest.approx(14.0, abs=0.5)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("1", "is no mark; possible: OVER, UP"),
        ("1, 2, 3, 4", "is no mark"),
        ("x, 2", "over: "),
        ("1, 7", "outside -6.75 to 6.75 in"),
        ("-14, 0", "outside -13.5 to 13.5 in"),
        ("nan, 0", "over: "),
        ("hand = both", "possible: right or left"),
        ("diameter = 3", "outside 8 to 9 in"),
        ("standard deviation = 0", "outside 0.001 to 0.5 in"),
        ("colour = red", "possible: hand, diameter"),
        ("known pin = 1", "possible: OVER, UP"),
        ("known p q = 1, 1", "one word of letters"),
        ("ring = ", "no name of a ring"),
        ("7, 1, 1", "no name of a ring"),
        ("pin 4, 5", "needs two of them"),
        ("pin 4, grip 5, left", "possible: negative, positive, fingers, thumb"),
        ("pin 40, grip 5", "outside 0.25 to 13.25 in"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(line: str, words: str) -> None:
    with pytest.raises(InputError) as error:
        parse_track(f"-1, 2\n{line}\n", "t.txt")
    assert str(error.value).startswith("t.txt, line 2: ")
    assert words in str(error.value)


def test_a_point_that_nobody_knows_is_named() -> None:
    with pytest.raises(InputError, match='line 1: "pin" is no known point; possible: grip,'):
        parse_track("pin 4, grip 5", "t.txt").rings(4.275)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"version": 2}, "is no track"),
        ({"extra": 1}, '"extra" is unknown'),
        ({"hand": 3}, "3 is no hand"),
        ({"known": []}, None),
        ({"known": 3}, "possible: an object"),
        ({"rings": {}}, "possible: a list"),
        ({"rings": [3]}, "ring 1: is 3; possible: an object"),
        ({"rings": [{"name": "a"}]}, "marks: is null; possible: a list"),
        ({"rings": [{"name": "a", "marks": [{"over": True, "up": 1}]}]}, "mark 1: over: "),
        ({"rings": [{"name": "a", "marks": [{"over": 1}]}]}, "mark 1: up: "),
        (
            {"rings": [{"name": "a", "marks": [{"over": 1, "arcs": {"a": 1, "b": 2}}]}]},
            "either over and up, or two arcs",
        ),
        (
            {"rings": [{"name": "a", "marks": [{"over": 1, "up": 1, "toward": "thumb"}]}]},
            "toward belongs to arcs",
        ),
    ],
)
def test_json_that_is_no_track_is_told(change: dict[str, Any], words: str | None) -> None:
    text = json.dumps(JSON | change)
    if words is None:
        parse_track(text)
        return
    with pytest.raises(InputError) as error:
        parse_track(text, "t.json")
    assert str(error.value).startswith("t.json: ")
    assert words in str(error.value)


def test_no_end_of_marks_is_refused() -> None:
    with pytest.raises(InputError, match="more than"):
        parse_track("1, 1\n" * (MOST_MARKS + 1))


def test_a_file_that_is_not_there_or_no_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        load_track(tmp_path / "none.txt")
    (tmp_path / "odd.txt").write_bytes(b"1, 2\n\xff")
    with pytest.raises(InputError, match="not UTF-8"):
        load_track(tmp_path / "odd.txt")


# --- text, values and drawing of a fit ------------------------------------------------------------


def test_a_mirrored_track_gives_the_same_numbers_and_the_mirrored_drawing() -> None:
    rings = load_track(SAMPLE).rings(4.275)
    fit = fit_axis(rings, 4.275)
    right, left = axis_dict(fit, "right"), axis_dict(fit, "left")
    x, y, z = right["pap"].pop("xyz")
    assert left["pap"].pop("xyz") == [-x, y, z]
    assert right["pap"] == left["pap"]
    one, other = axis_scene(fit, rings, "right"), axis_scene(fit, rings, "left")
    for a, b in zip(one.lines, other.lines, strict=True):
        assert (a.points * [-1.0, 1.0, 1.0] == b.points).all()


def test_the_drawing_shows_every_ring_and_mark_where_they_are() -> None:
    rings = load_track(SAMPLE).rings(4.275)
    fit = fit_axis(rings, 4.275)
    scene = axis_scene(fit, rings, "right")
    axis = np.array(fit.xyz) / 4.275
    first = next(line for line in scene.lines if line.name == "first")
    angle = np.arccos(first.points @ axis / 4.275)
    assert angle * 4.275 == pytest.approx(np.full(len(angle), fit.rings[0].from_pap), abs=1e-9)
    drawn = {m.name: m.point for m in scene.markers}
    for ring in rings:
        for k, mark in enumerate(ring.marks, start=1):
            assert drawn[f"{ring.name} {k}"] == pytest.approx(np.array(mark.xyz))
    way = next(line for line in scene.lines if line.name == "PAP to ring").points
    assert way[0] == pytest.approx(np.array(fit.xyz))
    assert 4.275 * np.arccos(way[-1] @ axis / 4.275) == pytest.approx(fit.rings[0].from_pap)
    seen = project(scene, axis_view(fit, rings, "right"))
    assert all(not s.far for s in seen.spots if s.name.startswith("first") or s.kind == "pap")


def test_the_text_says_what_was_found() -> None:
    fit = fit_axis(load_track(SAMPLE).rings(4.275), 4.275)
    text = axis_text(fit, "left")
    assert "left hand, ball of 8.550 in" in text
    assert "4 7/8 in over, 1/2 in up" in text
    assert text.count("mark 1 ") == 2
    assert max(map(len, text.splitlines())) <= 100
    assert " mm over" in axis_text(fit, "left", "metric")
