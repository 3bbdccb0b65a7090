"""Work on some of the holes only: what is on the sheet, where the new hole lands, what it weighs."""

import copy
import io
import math
from itertools import chain, combinations
from pathlib import Path
from typing import Any

import pypdf
import pytest

from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import arc, hole_arc
from layoutkit.job.record import dump_job, parse_job
from layoutkit.job.store import load_job, save_job
from layoutkit.output.report import operation_rows, report, today_words
from layoutkit.output.sheet import sheet_bytes
from layoutkit.output.short_report import short_report
from layoutkit.planning.marking import landed, marking_steps
from layoutkit.planning.plan import plan
from layoutkit.planning.redrill import redrilled

DIGITS = ("middle", "ring", "thumb")
SOME = [*chain.from_iterable(combinations(DIGITS, n) for n in (1, 2))]


def only(record: dict[str, Any], *digits: str) -> dict[str, Any]:
    return copy.deepcopy(record) | {"work": {"only": list(digits)}}


def test_the_rest_of_the_plan_stays_as_it_is(record: dict[str, Any]) -> None:
    whole, some = (plan(parse_job(r)).as_dict() for r in (record, only(record, "thumb")))
    assert some.keys() - whole.keys() == {"today"}
    assert {k: v for k, v in some.items() if k != "today"} == whole


def test_all_of_the_holes_are_the_whole_work(record: dict[str, Any]) -> None:
    done = plan(parse_job(only(record, *DIGITS)))
    assert done.today is not None
    change, removed = done.statics.change, done.statics.removed_oz
    assert done.today == pytest.approx((removed, change.side_oz, change.finger_oz, change.top_oz))
    assert marking_steps(done) == marking_steps(plan(parse_job(record)))


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_straight_thumb_hole_takes_what_a_cylinder_does(
    record: dict[str, Any], hand: str
) -> None:
    """By integrals over a flat-bottomed cylinder on the axis through the ball's centre.

    Of radius r and depth h in a uniform ball: volume 2/3 pi (R^3 - (R^2 - r^2)^1.5) - pi r^2 (R - h),
    first moment along the axis pi r^2 (R^2 - (R - h)^2)/2 - pi r^4/4.
    """
    record["bowler"]["hand"] = hand
    ball = record["ball"]
    for name in ("rg_low", "differential", "intermediate_differential", "shell", "filler_density"):
        ball.pop(name, None)
    record["bowler"]["grip"]["thumb"] = {"diameter": 1, "depth": 2.5}
    done = plan(parse_job(only(record, "thumb")))
    big, r, h = done.radius, 0.5, 2.5
    density = done.job.ball.weight * 16.0 / (4.0 / 3.0 * math.pi * big**3)
    volume = 2.0 / 3.0 * math.pi * (big**3 - (big**2 - r**2) ** 1.5) - math.pi * r**2 * (big - h)
    moment = math.pi * r**2 * (big**2 - (big - h) ** 2) / 2.0 - math.pi * r**4 / 4.0
    turn, lever = -done.holes[2].up / big, density * moment / done.statics.arm
    want = (density * volume, 0.0, lever * math.sin(turn), -lever * math.cos(turn))
    assert done.today == pytest.approx(want, abs=1e-9)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("digits", SOME, ids="-".join)
def test_spans_hold_from_the_holes_that_are_there(
    record: dict[str, Any], hand: str, digits: tuple[str, ...]
) -> None:
    """No span is off by more than half a sixty-fourth: the printed arcs are the spans themselves."""
    record["bowler"]["hand"] = hand
    done = plan(parse_job(only(record, *digits)))
    places, steps = landed(done), marking_steps(done)
    assert [s.new for s in steps if s.new in DIGITS] == sorted(
        digits, key=("thumb", "middle", "ring").index
    )
    holes = {h.name: h for h in done.holes}
    for name in ("middle", "ring"):
        apart = arc(places["thumb"], places[name], done.radius)
        edges = sum(hole_arc(holes[n].diameter, done.radius) for n in ("thumb", name))
        assert apart - edges == pytest.approx(holes[name].span, abs=1 / 128 + 1e-9)
    for name in DIGITS:
        assert arc(places[name], holes[name].entry, done.radius) < 3 / 32
    words = " ".join(s.text for s in steps)
    for there in set(DIGITS) - set(digits):
        assert f"centre of the {there} hole" not in words
        assert f"{there} hole's centre 1" not in words


@pytest.mark.parametrize("hand", ["right", "left"])
def test_spans_and_bridge_hold_where_the_marks_lead_past_the_grip_centre(
    record: dict[str, Any], hand: str
) -> None:
    """Whatever part of a five-finger grip is there: 1/64 in at most, half of what the sheet stops at.

    The rounded steps up to the grip centre lose more here, 0.03 in.
    """
    bowler = record["bowler"]
    bowler["hand"], bowler["pap"] = hand, {"over": 4.9, "up": 0.27}
    record["layout"] |= {"angle_at_pin": 50.45, "pin_to_pap": 4.485, "angle_at_pap": 35.45}
    outer = {"diameter": 0.75, "depth": 1.5, "gap": 0.3125}
    bowler["grip"]["index"], bowler["grip"]["little"] = ({"span": s} | outer for s in (4.21, 3.93))
    digits = (*DIGITS, "index", "little")
    for n in range(1, len(digits)):
        for some in combinations(digits, n):
            done = plan(parse_job(only(record, *some)))
            places, holes = landed(done), {h.name: h for h in done.holes}
            steps = [s.new for s in marking_steps(done)]
            assert set(some) == {name for name in steps if name in digits}
            ends = [("thumb", name) for name in digits if name != "thumb"] + [("middle", "ring")]
            for one, other in ends:
                made = arc(places[one], places[other], done.radius)
                off = made - arc(holes[one].entry, holes[other].entry, done.radius)
                assert off == pytest.approx(0.0, abs=1 / 64), (some, one, other)


def test_a_new_thumb_hole_is_told_from_the_finger_hole_that_is_there(
    record: dict[str, Any],
) -> None:
    """The middle hole of 3/4 in has its edge there, so its span of 4 3/8 in and half a thumb are left."""
    done = plan(parse_job(only(record, "ring", "thumb")))
    half = hole_arc(1.0, done.radius)
    assert half == pytest.approx(0.5, abs=1 / 128)
    text = next(s.text for s in marking_steps(done) if s.new == "thumb")
    assert "It must be 4 7/8 in from the middle hole's finished near edge" in text


def test_the_palm_mark_is_told_by_the_span_to_the_finger_hole_that_is_there(
    record: dict[str, Any],
) -> None:
    grip = record["bowler"]["grip"]
    grip["thumb"], grip["middle"]["span"], grip["ring"]["span"] = None, "2 1/4", "2 1/8"
    steps = {s.new: s.text for s in marking_steps(plan(parse_job(only(record, "ring"))))}
    assert (
        "(the palm mark, 2 1/4 in from the middle hole's finished near edge: take"
        in steps["grip_center"]
    )
    assert "From the palm mark measure" in steps["ring"]
    assert "from the middle hole's finished near edge" in steps["ring"]


def test_text_and_sheet_hold_just_todays_work(record: dict[str, Any]) -> None:
    done = plan(redrilled(parse_job(record), only=("thumb",)))
    assert {row[1].split()[1] for row in operation_rows(done)[1:]} == {"thumb"}
    pages = pypdf.PdfReader(io.BytesIO(sheet_bytes(done))).pages
    printed = " ".join(" ".join(page.extract_text() for page in pages).split())
    (words,) = today_words(done)
    for text in (printed, *(" ".join(t.split()) for t in (report(done), short_report(done)))):
        assert "Today only: thumb. There already, and left as they are: middle and ring." in text
        assert words in text
        assert "drill middle" not in text
        assert "bore middle" not in text


@pytest.mark.parametrize("digits", SOME, ids="-".join)
def test_the_old_holes_stay_on_record(record: dict[str, Any], digits: tuple[str, ...]) -> None:
    job = parse_job(record)
    again = redrilled(job, only=digits)
    assert again.bowler == job.bowler
    assert again.layout == job.layout
    assert again.work is not None
    assert again.work.only == digits
    assert again.history is not None
    assert {h.name.removeprefix("old ") for h in again.history.holes} == set(digits)
    assert all(h.plug is not None for h in again.history.holes)
    assert parse_job(dump_job(again)) == again


def test_vents_go_with_their_hole(record: dict[str, Any]) -> None:
    vent = {"over": 1.25, "down": 3, "diameter": "1/8", "meets": 1}
    vents = [vent | {"hole": "thumb"}, vent | {"hole": "middle", "over": -2, "down": -1}]
    record["extra_holes"] = {"vents": vents}
    again = redrilled(parse_job(record), only=("thumb",))
    assert again.extra_holes is not None
    assert [v.hole for v in again.extra_holes.vents] == ["middle"]
    assert again.history is not None
    assert [h.name for h in again.history.holes] == ["old thumb", "old thumb vent"]
    assert [e.name for e in plan(again).for_today.extra_holes] == []


@pytest.mark.parametrize(
    ("digits", "words"), [([], "names no hole"), (["little"], '"little" is no hole of this grip')]
)
def test_work_on_no_hole_is_refused(record: dict[str, Any], digits: list[str], words: str) -> None:
    with pytest.raises(InputError, match=words) as refused:
        parse_job(only(record, *digits))
    assert refused.value.field == "work.only"


def test_the_command_takes_digits_with_commas(
    record: dict[str, Any], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = (str(tmp_path / name) for name in ("old.json", "new.json"))
    save_job(parse_job(record), old)
    assert main(["redrill", old, "--only", "ring,middle", "--out", new]) == 0
    work = load_job(new).work
    assert work is not None
    assert work.only == ("ring", "middle")
    for text in ("toe", "thumb,thumb", ""):
        assert main(["redrill", old, "--only", text, "--out", new, "--force"]) == 2
        assert "--only" in capsys.readouterr().err


@pytest.mark.parametrize("digit", ["thumb", "middle", "ring"])
def test_a_hole_with_a_vent_is_marked_from_the_holes_that_are_there_too(
    record: dict[str, Any], digit: str
) -> None:
    """The vent needs the marks, but the spans and the bridge are not to hang on them."""
    without = marking_steps(plan(parse_job(only(record, digit))))[0]
    up = "-3 3/4" if digit == "thumb" else "3 1/2"
    vent = {"hole": digit, "over": "1/2", "up": up, "meets": "1", "diameter": "1/4"}
    record["extra_holes"] = {"vents": [vent]}
    steps = marking_steps(plan(parse_job(only(record, digit))))
    assert [s.text for s in steps if s.new == digit] == [without.text]
    assert steps[-1].new == f"{digit} vent"
