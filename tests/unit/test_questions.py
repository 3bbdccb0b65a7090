"""Unusual figures are asked about, in fields of their own, and nothing else changes by that.

The usual ranges are common practice, no source.
"""

import copy
import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from layoutkit import plan
from layoutkit.errors import InputError
from layoutkit.job.limits import limit
from layoutkit.job.record import parse_job
from layoutkit.job.store import load_job
from layoutkit.output.report import report
from layoutkit.output.sheet import sheet_bytes
from layoutkit.planning.questions import confirmed

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
PLAIN: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "bowler": {
        "name": "Invented",
        "hand": "right",
        "pap": {"over": "5", "up": "1/2"},
        "grip": {
            "bridge": "1/4",
            "middle": {"span": "4 3/8", "diameter": "3/4", "depth": "1 1/2"},
            "ring": {"span": "4 1/4", "diameter": "3/4", "depth": "1 1/2"},
            "thumb": {"diameter": "1", "depth": "2 3/4"},
        },
    },
    "ball": {
        "name": "Invented", "serial": "X1", "diameter": 8.55, "weight": 15.1, "top_weight": 2.75,
        "pin_to_cg": "3", "psa": {"distance": "quarter", "cg_bearing": 20}, "rg_low": 2.5,
        "differential": 0.05, "intermediate_differential": 0.015,
    },
    "layout": {"by": "placement", "pin": {"over": "1", "up": "3"}, "bearing": 170},
    "scale": {"arm": 4.275},
}  # fmt: skip
GRIP = "bowler.grip"
SLEEVE = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1}
SLUG = {"bore": "1 3/8", "bore_depth": "2 3/4", "length": "2 3/4", "density": 1.1}


def changed(changes: dict[str, Any]) -> dict[str, Any]:
    """The plain record with some fields put in, each by its dotted path."""
    record = copy.deepcopy(PLAIN)
    for path, value in changes.items():
        *way, last = path.split(".")
        place = record
        for part in way:
            place = place.setdefault(part, {})
        if value is None and last == "cg_bearing":
            del place[last]
        else:
            place[last] = value
    return record


def asked(changes: dict[str, Any]) -> list[str]:
    return [q.field for q in plan(parse_job(changed(changes))).questions]


def test_a_plain_job_draws_no_question() -> None:
    assert asked({}) == []


@pytest.mark.parametrize(
    ("path", "unusual", "usual"),
    [
        (f"{GRIP}.bridge", ["0", "13/16"], ["1/16", "3/4"]),
        (f"{GRIP}.middle.depth", ["0", "2 9/16"], ["1/4", "2 1/2"]),
        (f"{GRIP}.ring.depth", ["0", "2 9/16"], ["1/4", "2 1/2"]),
        (f"{GRIP}.thumb.depth", ["0", "3 5/16"], ["1", "3 1/4"]),
        (f"{GRIP}.middle.diameter", ["1 9/64"], ["1 1/8"]),
        (f"{GRIP}.ring.diameter", ["1 9/64"], ["1 1/8"]),
        ("ball.top_weight", [0, 5.1], [0.5, 5]),
        ("bowler.pap.over", ["1 15/16", "6 9/16"], ["2", "6 1/2"]),
        ("bowler.pap.up", ["2 1/16"], ["2"]),
        ("scale.arm", [1.9, 4.7], [2, 4.6]),
        (f"{GRIP}.middle.diameter", ["19/64"], ["7/16"]),
        (f"{GRIP}.thumb.diameter", ["1/2", "1 17/32"], ["5/8", "1 1/2"]),
        (f"{GRIP}.thumb.pitch.reverse", ["13/16"], ["3/4"]),
        (f"{GRIP}.ring.pitch.left", ["1 1/16"], ["3/4"]),
        (f"{GRIP}.middle.bevel", ["5/16"], ["1/16"]),
        (f"{GRIP}.thumb.bevel", ["5/16"], ["1/4"]),
        ("ball.pin_to_cg", ["6"], ["5"]),
        ("ball.psa.distance", ["3", "12"], ["6 3/4", "quarter"]),
        ("ball.psa.cg_bearing", [180, -100, 250], [90, -90, -340]),
    ],
)
def test_a_figure_outside_its_usual_range_is_asked_about(
    path: str, unusual: list[Any], usual: list[Any]
) -> None:
    assert [asked({path: value}) for value in unusual] == [[path]] * len(unusual)
    assert [asked({path: value}) for value in usual] == [[]] * len(usual)


def test_a_pap_far_down_is_asked_about() -> None:
    assert asked({"bowler.pap": {"over": 5, "down": "2 1/8"}}) == ["bowler.pap.down"]


@pytest.mark.parametrize(
    ("middle", "ring", "fields"),
    [
        ("4 3/4", "4", []),
        ("4 13/16", "4", [f"{GRIP}.ring.span"]),
        ("4", "4 13/16", [f"{GRIP}.ring.span"]),
        ("5", "5", []),
        ("5 1/16", "5", [f"{GRIP}.middle.span"]),
        ("2", "2", []),
        ("2", "1 15/16", [f"{GRIP}.ring.span"]),
    ],
)
def test_spans_far_apart_or_out_of_range_are_asked_about(
    middle: str, ring: str, fields: list[str]
) -> None:
    assert asked({f"{GRIP}.middle.span": middle, f"{GRIP}.ring.span": ring}) == fields


@pytest.mark.parametrize(("span", "fields"), [("3", []), ("3 1/16", [f"{GRIP}.middle.span"])])
def test_spans_of_a_grip_without_a_thumb_are_measured_from_the_palm(
    span: str, fields: list[str]
) -> None:
    grip = {f"{GRIP}.middle.span": span, f"{GRIP}.ring.span": "2 7/8", f"{GRIP}.thumb": None}
    assert asked(grip) == fields


@pytest.mark.parametrize(("diameter", "fields"), [("27/32", []), ("55/64", ["bore"])])
def test_a_sleeves_thin_wall_is_asked_about(diameter: str, fields: list[str]) -> None:
    found = asked({f"{GRIP}.middle.diameter": diameter, f"{GRIP}.middle.sleeve": SLEEVE})
    assert found == [f"{GRIP}.middle.sleeve.{name}" for name in fields]


@pytest.mark.parametrize(("length", "fields"), [("1 3/8", []), ("1 5/16", ["length"])])
def test_a_slug_shorter_than_half_its_hole_is_asked_about(length: str, fields: list[str]) -> None:
    found = asked({f"{GRIP}.thumb.sleeve": {**SLUG, "length": length}})
    assert found == [f"{GRIP}.thumb.sleeve.{name}" for name in fields]


@pytest.mark.parametrize(
    ("part", "value", "fields"),
    [
        ("bore_depth", "4", ["bore_depth"]),
        ("bore", "1 7/8", ["bore"]),
        ("bore", "1 3/4", []),
        ("density", 5, ["density"]),
        ("length", "1/8", ["length"]),
        ("length", "1/2", []),
    ],
)
def test_an_insert_that_no_shop_sells_is_asked_about(
    part: str, value: Any, fields: list[str]
) -> None:
    changes = {f"{GRIP}.middle.sleeve": {**SLEEVE, part: value}, f"{GRIP}.bridge": "3/4"}
    assert asked(changes) == [f"{GRIP}.middle.sleeve.{name}" for name in fields]


@pytest.mark.parametrize(
    ("middle", "ring", "fields"),
    [("1/8", "1/8", ["middle"]), ("1/16", "1/8", []), ("1/16", "3/16", ["ring"])],
)
def test_bevels_that_take_the_bridge_are_asked_about(
    middle: str, ring: str, fields: list[str]
) -> None:
    """Of a bridge of 1/4 in, where 1/16 in is usual to be left."""
    found = asked({f"{GRIP}.middle.bevel": middle, f"{GRIP}.ring.bevel": ring})
    assert found == [f"{GRIP}.{name}.bevel" for name in fields]


@pytest.mark.parametrize(
    ("field", "value", "asks"),
    [
        ("depth", 4.5, True),
        ("depth", 3.5, False),
        ("diameter", "2 1/2", True),
        ("diameter", "1 3/4", False),
        ("plug.density", 5, True),
        ("plug.density", 1.2, False),
    ],
)
def test_an_old_hole_that_no_shop_drilled_is_asked_about(
    field: str, value: Any, asks: bool
) -> None:
    old = {
        "name": "",
        "from_pin": 6,
        "bearing": 180,
        "diameter": 1,
        "depth": 2,
        "plug": {"density": 1.1},
    }
    name, _, rest = field.partition(".")
    old[name] = {rest: value} if rest else value
    questions = plan(parse_job(changed({"history": {"holes": [old]}}))).questions
    assert [q.field for q in questions] == [f"history.holes.0.{field}"] * asks
    assert all(" of old hole 1 is " in q.words for q in questions)


def test_a_layout_of_the_wrong_sign_or_end_is_asked_about() -> None:
    layout = {"by": "angles", "angle_at_pin": 50, "pin_to_pap": 4.5, "angle_at_pap": 35}
    assert asked({"layout": layout}) == []
    for name, value in (("angle_at_pin", -50), ("angle_at_pap", -35), ("pin_to_pap", 8)):
        assert asked({"layout": layout | {name: value}}) == [f"layout.{name}"]
    assert asked({"layout.pin": {"over": 6, "up": 3}}) == [
        "layout.pin.over"
    ]  # the PAP is 5 in over
    assert asked({"layout.pin": {"over": 4, "up": 3}}) == []
    arcs = {"by": "distances", "pin_to_pap": 4, "psa_to_pap": 4.75}
    assert asked({"layout": arcs | {"pin_to_val": 2}}) == []
    assert asked({"layout": arcs | {"pin_to_val": -2}}) == ["layout.pin_to_val"]
    # a quarter of the ball is 6.715 in; this pin lies at -3 in, 8 in from the PAP at 5 in
    assert asked({"layout.pin": {"over": -3, "up": 0.5}}) == ["layout.pin.over"]


@pytest.mark.parametrize(("up", "fields"), [(0.05, ["extra_holes.inspection.over"]), (-0.6, [])])
def test_a_thin_wall_is_asked_about(up: float, fields: list[str]) -> None:
    # the middle hole's near edge lies about 2.1 in above the midline, 3/8 in below its centre
    hole = {"over": -0.61, "up": 1.75 + up, "diameter": "1/2", "depth": "1/8"}
    assert asked({"extra_holes": {"inspection": hole}}) == fields


def test_the_wall_between_the_fingers_is_not_asked_about() -> None:
    job = parse_job(changed({f"{GRIP}.bridge": "1/16"}))
    assert plan(job).walls[0].thickness == 0.0
    assert plan(job).questions == ()


@pytest.mark.parametrize(("over", "fields"), [("6 1/2", []), ("7", ["extra_holes.vents.0.over"])])
def test_a_vent_from_the_far_half_is_asked_about(over: str, fields: list[str]) -> None:
    vent = {"hole": "middle", "over": f"-{over}", "up": 2, "diameter": "1/8", "meets": 1}
    assert asked({"extra_holes": {"vents": [vent]}}) == fields


def test_a_bearing_of_the_cg_mark_that_is_left_out_is_asked_about() -> None:
    assert asked({"ball.psa.cg_bearing": None}) == ["ball.psa.cg_bearing"]
    assert asked({"ball.psa.cg_bearing": 0}) == []
    assert asked({"ball.psa.cg_bearing": None, "ball.pin_to_cg": 0}) == []


def test_kilograms_taken_for_pounds_are_asked_about() -> None:
    found = plan(parse_job(changed({"ball.weight": 6.84, "ball.rg_low": 2.69}))).questions
    assert [q.field for q in found] == ["ball.weight"]
    assert "kg" in found[0].words
    # 6.84 kg / 0.45359237 (NIST SP 811, appendix B.8) is 15.0796 lb
    assert "15.08 lb" in found[0].words


def test_kilograms_whose_core_cannot_be_are_asked_about_where_they_are_refused() -> None:
    layers = {"ball.rg_low": 2.55, "ball.shell": {"thickness": 0.75, "density": 1.2}}
    record = changed({"ball.weight": 6.84, **layers, "ball.filler_density": 0.8})
    with pytest.raises(InputError, match=r"ball.filler_density: .*15\.08 lb"):
        plan(parse_job(record))


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("ball.diameter", 27, "circumference?"),
        ("bowler.grip.*.span", 116, "mm?"),
        ("ball.top_weight", 70, "grams?"),
        ("bowler.pap.over", "-4 7/8", "the other side?"),
    ],
)
def test_a_refusal_says_what_the_number_may_have_been_meant_as(
    path: str, value: Any, words: str
) -> None:
    with pytest.raises(InputError, match=rf"\({words[:-1]}\?"):
        limit(path).parse(value)


def test_no_hint_where_nobody_can_tell() -> None:
    with pytest.raises(InputError) as caught:
        limit("ball.diameter").parse(12)
    assert str(caught.value) == "12 in is outside 8 to 9 in."


def test_a_question_changes_no_outcome_and_stands_apart_from_cautions() -> None:
    p = plan(parse_job(changed({f"{GRIP}.bridge": "13/16"})))
    assert p.outcome == "pass"
    words = p.questions[0].words
    assert not any(words in caution for caution in p.cautions)
    assert p.as_dict()["questions"] == [{"field": f"{GRIP}.bridge", "words": words}]
    assert "--confirm FIELD" in report(p)
    assert "--confirm FIELD" not in report(plan(parse_job(PLAIN)))
    assert sheet_bytes(p, "letter") != b""


@pytest.mark.parametrize(
    ("answer", "silent"), [("13/16", True), (0.8125, True), ("20.6375 mm", True), ("7/8", False)]
)
def test_a_confirmed_value_is_not_asked_about_and_another_is(answer: Any, silent: bool) -> None:
    record = changed({f"{GRIP}.bridge": "13/16", "confirmed": {}})
    record["confirmed"] = {f"{GRIP}.bridge": answer}
    assert (plan(parse_job(record)).questions == ()) is silent


def test_what_is_confirmed_is_the_value_of_now() -> None:
    job = parse_job(changed({f"{GRIP}.bridge": "13/16", "ball.psa.cg_bearing": None}))
    kept = confirmed(job, [f"{GRIP}.bridge", "ball.psa.cg_bearing"])
    assert kept.confirmed == {f"{GRIP}.bridge": "13/16", "ball.psa.cg_bearing": 0}
    assert plan(kept).questions == ()


@pytest.mark.parametrize("field", ["bowler.name", "bowler.grip", "ball.weigth", "x", ""])
def test_what_is_no_figure_cannot_be_confirmed(field: str) -> None:
    with pytest.raises(InputError, match="a field that a question names"):
        confirmed(parse_job(PLAIN), [field])


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_ordinary_samples_draw_no_question(path: Path) -> None:
    if path.stem.startswith(("14", "15")):
        pytest.skip("figures are missing there on purpose")
    assert plan(load_job(path)).questions == ()


def _ordinary(seed: int) -> dict[str, Any]:
    """An invented job within common practice: either hand, sleeves or none."""
    r = random.Random(seed)

    def part(low: Any, high: Any, step: int = 16) -> float:
        """A random whole number of parts of an inch from low to high."""
        count = r.randint(int(Fraction(low) * step), int(Fraction(high) * step))
        return count / step

    span = part("13/4", "19/4")
    insert = r.random() < 0.6
    grip: dict[str, Any] = {"bridge": r.choice(["1/4", "5/16", "3/8"])}
    for name in ("middle", "ring"):
        finger: dict[str, Any] = {
            "span": span if name == "middle" else span - part(0, "1/4"),
            "diameter": part("9/16", "13/16"),
            "depth": part("1", "3/2") if insert else part("3/2", "9/4"),
            "pitch": {"forward": part(0, "1/4"), r.choice(["left", "right"]): part(0, "1/8")},
        }
        if insert:
            finger["sleeve"] = {"bore": "31/32", "bore_depth": finger["depth"], "density": 1.1}
        grip[name] = finger
    thumb: dict[str, Any] = {
        "diameter": part("7/8", "9/8"),
        "depth": part("5/2", "3"),
        "pitch": {r.choice(["forward", "reverse"]): part(0, "3/8")},
    }
    if r.random() < 0.5:
        bore = 1.375 if thumb["diameter"] <= 1.125 else 1.5
        thumb["sleeve"] = {"bore": bore, "bore_depth": thumb["depth"], "density": 1.15}
    grip["thumb"] = thumb
    record = copy.deepcopy(PLAIN)
    record["bowler"] |= {
        "hand": r.choice(["right", "left"]),
        "pap": {"over": part("4", "6"), r.choice(["up", "down"]): part(0, "1")},
        "grip": grip,
    }
    psa = r.random() < 0.5
    record["ball"] |= {
        "diameter": r.choice([8.51, 8.55, 8.59]),
        "weight": round(r.uniform(12.0, 15.9), 2),
        "top_weight": round(r.uniform(1.5, 4.0), 2),
        "pin_to_cg": part("1", "4"),
        "psa": {"distance": "quarter", "cg_bearing": r.randint(-60, 60)} if psa else None,
    }
    for name in ("rg_low", "differential", "intermediate_differential"):
        del record["ball"][name]
    record["scale"] = r.choice([{}, {"arm": round(r.uniform(2.3, 4.4), 3)}])
    record["layout"]["pin"] = {"over": part(0, "2"), "up": part("1", "4")}
    return record


def test_fifty_ordinary_jobs_draw_no_question() -> None:
    found = [plan(parse_job(_ordinary(seed))).questions for seed in range(50)]
    assert found == [()] * 50
