"""The job record: what it takes, what it refuses and in which words."""

import copy
import json
from typing import Any

import pytest
from pydantic import ValidationError

from layoutkit.errors import InputError
from layoutkit.job import limits, record
from layoutkit.job.limits import limit_at
from layoutkit.job.record import dump_job, job_schema, parse_job, problems

FULL: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "title": "Second ball",
    "notes": "first line\nsecond line",
    "work": {
        "order": "17",
        "date": "2026-11-25",
        "driller": "A",
        "checked_by": "B",
        "ball_is": "new",
    },
    "bowler": {
        "name": "Sample",
        "hand": "right",
        "pap": {"over": "5", "up": "1/2"},
        "grip": {
            "bridge": "1/4",
            "middle": {
                "span": "4 3/8",
                "diameter": "3/4",
                "depth": "1 1/2",
                "pitch": {"forward": "1/8", "left": "1/16"},
                "sleeve": {
                    "bore": "31/32",
                    "bore_depth": "1 1/2",
                    "length": "1 1/4",
                    "density": 1.1,
                },
            },
            "ring": {"span": "4 1/4", "diameter": "3/4", "depth": "2"},
            "thumb": {
                "diameter": "1",
                "depth": "2 3/4",
                "pitch": {"reverse": "1/4"},
                "tip_angle": 118,
            },
        },
    },
    "ball": {
        "name": "Sample ball",
        "serial": "X1",
        "diameter": 8.55,
        "weight": 15.12,
        "top_weight": 2.75,
        "pin_to_cg": "3",
        "psa": {"distance": "quarter", "cg_bearing": 20},
        "rg_low": 2.52,
        "differential": 0.05,
        "intermediate_differential": 0.015,
        "shell": {"thickness": 0.75, "density": 1.2},
        "filler_density": 0.7,
    },
    "layout": {"by": "angles", "angle_at_pin": 50, "pin_to_pap": "4 1/2", "angle_at_pap": 35},
    "scale": {"arm": 4.275},
    "tolerances": {"marks": "1/16"},
    "weighings": {
        "undrilled": {"gross": 15.13, "top": 2.7, "side": 0.1, "finger": -0.2},
        "drilled": {"gross": 14.9, "top": 0.5, "side": 0.4, "finger": -0.1, "by": "Demo"},
    },
    "rules": "usbc-2020",
}
DISTANCES = {"by": "distances", "pin_to_pap": "4", "psa_to_pap": "4", "pin_to_val": "2"}
PLACEMENT = {"by": "placement", "pin": {"over": "2", "down": "1"}, "bearing": 90}
GONE = object()


def changed(*changes: tuple[str, object]) -> dict[str, Any]:
    data = copy.deepcopy(FULL)
    for path, value in changes:
        *way, last = path.split(".")
        place = data
        for part in way:
            place = place[part]
        if value is GONE:
            del place[last]
        else:
            place[last] = value
    return data


def plain_ball() -> dict[str, Any]:
    """A record with everything left out that may be."""
    data = changed(
        *((name, GONE) for name in ("title", "notes", "work", "scale", "weighings", "rules"))
    )
    for name in ("serial", "psa", "rg_low", "differential", "intermediate_differential", "shell"):
        del data["ball"][name]
    del data["ball"]["filler_density"]
    data["bowler"]["grip"]["middle"] = {"span": 4.375, "diameter": 0.75, "depth": 2}
    data["bowler"]["grip"]["thumb"] = None
    return data


def refusal(data: object) -> InputError:
    with pytest.raises(InputError) as caught:
        parse_job(data)
    message = str(caught.value)
    assert message.endswith(".")
    assert "\n" not in message
    assert "pydantic" not in message
    assert "http" not in message
    assert len(message) < 400
    return caught.value


def test_full_record_is_read_into_plain_numbers() -> None:
    job = parse_job(FULL)
    grip = job.bowler.grip
    assert grip.middle.span == 4.375
    assert grip.middle.pitch.forward_net == 0.125
    assert grip.middle.pitch.right_net == -0.0625
    assert grip.ring.pitch.forward_net == 0.0
    assert grip.ring.sleeve is None
    assert grip.thumb is not None
    assert grip.thumb.pitch.forward_net == -0.25
    assert grip.middle.sleeve is not None
    assert grip.middle.sleeve.length_net == 1.25
    assert job.bowler.pap.up_net == 0.5
    assert job.ball.psa is not None
    assert job.ball.psa.distance == "quarter"
    assert isinstance(job.layout, record.AnglesLayout)
    assert job.layout.pin_to_pap == 4.5
    assert job.scale is not None
    assert job.scale.allowance == 0.25


def test_optional_parts_may_be_left_out() -> None:
    job = parse_job(plain_ball())
    assert job.work is None
    assert job.ball.psa is None
    assert job.ball.rg_low is None
    assert job.ball.serial == ""
    assert job.bowler.grip.thumb is None
    assert job.scale is None
    assert job.rules == "usbc-2020"
    assert job.title == job.notes == ""


def test_sleeve_fills_its_bore_unless_it_has_a_length() -> None:
    job = parse_job(changed(("bowler.grip.middle.sleeve.length", GONE)))
    assert job.bowler.grip.middle.sleeve is not None
    assert job.bowler.grip.middle.sleeve.length_net == 1.5


def test_the_other_layouts_are_read() -> None:
    distances = parse_job(changed(("layout", DISTANCES))).layout
    assert isinstance(distances, record.DistancesLayout)
    assert distances.obtuse_angle_at_pap is False
    placement = parse_job(changed(("layout", PLACEMENT))).layout
    assert isinstance(placement, record.PlacementLayout)
    assert placement.pin.up_net == -1.0


@pytest.mark.parametrize(
    ("path", "value", "result"),
    [
        ("bowler.grip.middle.span", "111.125 mm", 4.375),
        ("bowler.grip.middle.span", 4.375, 4.375),
        ("bowler.pap.up", "-1/2", -0.5),
        ("ball.weight", "15 lb 2 oz", 15.125),
        ("ball.weight", "6.86 kg", 6.86 / 0.45359237),
        ("ball.top_weight", "2 3/4", 2.75),
        ("ball.top_weight", "78 g", 78 / 28.349523125),
        ("ball.psa.distance", "6 3/4", 6.75),
        ("ball.diameter", "8 1/2", 8.5),
        ("layout.angle_at_pin", -90, -90.0),
        ("layout.angle_at_pin", "55°", 55.0),
        ("layout.angle_at_pin", "-22,5 deg", -22.5),
        ("ball.psa.cg_bearing", "20", 20.0),
        ("bowler.grip.middle.span", "4,375", 4.375),
        ("bowler.grip.middle.span", "4½", 4.5),
        ("bowler.grip.middle.span", "4 3/8″", 4.375),
        ("ball.weight", "15,08", 15.08),
        ("ball.weight", "15 lb 2½ oz", 15.15625),
        ("ball.shell.density", "1,2", 1.2),
        ("ball.shell.density", "1.2 g/cm3", 1.2),
    ],
)
def test_quantities_may_be_written_in_several_ways(path: str, value: object, result: float) -> None:
    found: Any = parse_job(changed((path, value)))
    for part in path.split("."):
        found = getattr(found, part)
    assert found == pytest.approx(result, rel=1e-15)
    assert type(found) is float


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (
            "bowler.grip.middle.span",
            40,
            "bowler.grip.middle.span: 40 in is outside 0.5 to 7 in.",
        ),
        (
            "bowler.grip.middle.span",
            "400 mm",
            'bowler.grip.middle.span: "400 mm" is outside 0.5 to 7 in.',
        ),
        (
            "bowler.grip.ring.diameter",
            "3/7",
            'bowler.grip.ring.diameter: "3/7" is not a length: the denominator of a fraction '
            "must be 2, 4, 8, 16, 32 or 64; possible: 0.25 to 2 in.",
        ),
        (
            "bowler.grip.middle.span",
            True,
            "bowler.grip.middle.span: true is not a length; possible: a number of inches or text "
            'such as "3.375", "3 3/8", "3 3/8 in" or "85.7 mm", 0.5 to 7 in.',
        ),
        (
            "bowler.grip.middle.span",
            float("nan"),
            "bowler.grip.middle.span: nan is not a length; possible: finite numbers, 0.5 to 7 in.",
        ),
        (
            "bowler.grip.middle.span",
            GONE,
            "bowler.grip.middle.span: missing; possible: 0.5 to 7 in.",
        ),
        (
            "bowler.grip.thumb",
            GONE,
            "bowler.grip.thumb: missing; possible: null or an object with diameter, depth, pitch, "
            "sleeve, tip_angle, oval, bevel, used, inners.",
        ),
        (
            "bowler.grip.thumb.pitch.forwards",
            "1/8",
            "bowler.grip.thumb.pitch.forwards: unknown field; possible here: forward, reverse, "
            "right, left.",
        ),
        (
            "bowler.grip.thumb.pitch.a b\n",
            "1/8",
            'bowler.grip.thumb.pitch."a b\\u000a": unknown field; possible here: forward, reverse, '
            "right, left.",
        ),
        (
            "bowler.grip.thumb.pitch.forward",
            "1/8",
            "bowler.grip.thumb.pitch: forward 0.125 in and reverse 0.25 in are both given; "
            "possible: one of the two.",
        ),
        (
            "bowler.grip.middle.pitch.right",
            0,
            "bowler.grip.middle.pitch: right 0 in and left 0.0625 in are both given; "
            "possible: one of the two.",
        ),
        (
            "bowler.pap.down",
            1,
            "bowler.pap: up 0.5 in and down 1 in are both given; possible: one of the two.",
        ),
        ("bowler.name", 5, "bowler.name: 5 is not text; possible: up to 200 characters."),
        (
            "bowler.grip",
            [],
            "bowler.grip: a list is not possible; possible: an object with bridge, middle, ring, "
            "thumb, index, little.",
        ),
        (
            "title",
            "a\nb",
            'title: "a\\u000ab" contains the character U+000A; possible: one line of text.',
        ),
        (
            "title",
            "\ud800",
            'title: "\\ud800" contains the character U+D800; possible: one line of text.',
        ),
        (
            "notes",
            "a\tb",
            'notes: "a\\u0009b" contains the character U+0009; possible: text and line breaks.',
        ),
        (
            "work.date",
            "2026-02-30",
            'work.date: "2026-02-30" is not a date; possible: year-month-day such as 2026-11-25.',
        ),
        (
            "work.date",
            "20261125",
            'work.date: "20261125" is not a date; possible: year-month-day such as 2026-11-25.',
        ),
        (
            "work.date",
            "11/23/2026",
            'work.date: "11/23/2026" is not written year-month-day; write 2026-11-23 if that is '
            "meant.",
        ),
        (
            "bowler.grip.middle.span",
            "43/8",
            'bowler.grip.middle.span: "43/8" could be 4 3/8 or 43/8 = 5 3/8; write one of them; '
            "possible: 0.5 to 7 in.",
        ),
        (
            "bowler.grip.middle.span",
            "4 3 8",
            'bowler.grip.middle.span: "4 3 8" is not a length; write 4 3/8 if that is meant; '
            "possible: 0.5 to 7 in.",
        ),
        (
            "ball.weight",
            "1,234",  # thousands are never parted by a comma
            'ball.weight: "1,234" is outside 4 to 18 lb.',
        ),
        (
            "bowler.hand",
            "both",
            'bowler.hand: "both" is not possible; possible: "right" or "left".',
        ),
        ("format", "other", 'format: "other" is not possible; possible: "layoutkit-job".'),
        ("format", GONE, 'format: missing; possible: "layoutkit-job".'),
        ("version", 0, "version: 0 is not possible; possible: 2."),
        ("version", True, "version: true is not a version; possible: 2."),
        ("layout.by", GONE, 'layout.by: missing; possible: "placement", "angles" or "distances".'),
        (
            "layout.by",
            "spots",
            'layout.by: "spots" is not possible; possible: "placement", "angles" or "distances".',
        ),
        (
            "layout.by",
            [],
            'layout.by: a list is not possible; possible: "placement", "angles" or "distances".',
        ),
        (
            "layout",
            5,
            'layout: 5 is not possible; possible: an object with by, one of "placement", '
            '"angles" or "distances".',
        ),
        (
            "layout.angles",
            5,
            "layout.angles: unknown field; possible here: by, angle_at_pin, pin_to_pap, "
            "angle_at_pap.",
        ),
        (
            "layout.angle_at_pap",
            181,
            "layout.angle_at_pap: 181 degrees is outside -180 to 180 degrees.",
        ),
        (
            "layout.angle_at_pap",
            "50 in",
            'layout.angle_at_pap: "50 in" is not an angle; possible: a number of degrees or text such '
            'as "55", "55.5" or "55°", -180 to 180 degrees.',
        ),
        (
            "layout",
            {**DISTANCES, "obtuse_angle_at_pap": 1},
            "layout.obtuse_angle_at_pap: 1 is not possible; possible: true or false.",
        ),
        (
            "layout",
            {**PLACEMENT, "pin": {"over": 1, "up": 1, "down": 1}},
            "layout.pin: up 1 in and down 1 in are both given; possible: one of the two.",
        ),
        (
            "ball.psa.distance",
            0.25,
            'ball.psa.distance: 0.25 in is outside 0.5 to 12.5 in or "quarter".',
        ),
        (
            "ball.pin_to_cg",
            "quarter",
            'ball.pin_to_cg: "quarter" is not a length; possible: a number of inches or text such '
            'as "3.375", "3 3/8", "3 3/8 in" or "85.7 mm", 0 to 7 in.',
        ),
        ("ball.weight", "3 lb", 'ball.weight: "3 lb" is outside 4 to 18 lb.'),
        ("scale.allowance", "3 oz", 'scale.allowance: "3 oz" is outside 0 to 2 oz.'),
        (
            "ball.rg_low",
            GONE,
            "ball.rg_low: missing beside differential 0.05 in; possible: give both or neither.",
        ),
        (
            "ball.differential",
            None,
            "ball.differential: missing beside rg_low 2.52 in; possible: give both or neither.",
        ),
        (
            "ball.intermediate_differential",
            0.06,
            "ball.intermediate_differential: 0.06 in is above the differential; "
            "possible: 0 to 0.05 in.",
        ),
        (
            "ball.psa",
            None,
            "ball.intermediate_differential: 0.015 in on a ball with no PSA mark; "
            "possible: 0 in, or give ball.psa.",
        ),
        (
            "bowler.grip.middle.sleeve.bore",
            "1/2",
            "bowler.grip.middle.sleeve.bore: 0.5 in is narrower than the finished hole; "
            "possible: 0.75 in, its diameter, or more.",
        ),
        (
            "bowler.grip.middle.sleeve.length",
            "2",
            "bowler.grip.middle.sleeve.length: 2 in is longer than the bore; "
            "possible: 0 to 1.5 in, the bore_depth.",
        ),
        (
            "bowler.grip.thumb.sleeve",
            {"bore": 0.9, "bore_depth": 2, "density": 1},
            "bowler.grip.thumb.sleeve.bore: 0.9 in is narrower than the finished hole; "
            "possible: 1 in, its diameter, or more.",
        ),
    ],
)
def test_refusal_names_field_value_and_what_is_possible(
    path: str, value: object, message: str
) -> None:
    error = refusal(changed((path, value)))
    assert str(error) == message
    assert error.field
    assert message.startswith(error.field + ":")


def test_refusals_that_take_two_changes() -> None:
    no_rg = changed(("ball.rg_low", GONE), ("ball.differential", GONE))
    assert str(refusal(no_rg)) == (
        "ball.intermediate_differential: 0.015 in needs rg_low and differential beside it."
    )
    no_line = plain_ball()
    no_line["ball"]["pin_to_cg"] = 0
    assert str(refusal(no_line)) == (
        "ball.pin_to_cg: 0 in on a ball with no PSA mark leaves no reference line; "
        "possible: more than 0 in, null, or give ball.psa."
    )
    no_mark = plain_ball()
    no_mark["layout"] = DISTANCES
    assert str(refusal(no_mark)) == (
        'layout.by: "distances" needs a PSA mark on the ball; possible: placement or angles.'
    )


def test_a_cg_on_the_pin_is_possible_with_a_psa_mark() -> None:
    assert parse_job(changed(("ball.pin_to_cg", 0))).ball.pin_to_cg == 0.0


def test_the_version_comes_first_and_a_misspelling_before_what_it_leaves_missing() -> None:
    newer = changed(("version", 3), ("ball.colour", "red"), ("bowler.hand", "up"))
    assert refusal(newer).field == "version"
    misspelt = changed(("bowler.grip.middle.span", GONE), ("bowler.grip.middle.spam", 4))
    assert refusal(misspelt).field == "bowler.grip.middle.spam"


@pytest.mark.parametrize(
    ("written", "likely"),
    [
        ("11/23/2026", "write 2026-11-23 if"),
        ("11-23-2026", "write 2026-11-23 if"),
        ("23.11.2026", "write 2026-11-23 if"),
        ("23. 11. 2026", "write 2026-11-23 if"),
        ("2026/11/23", "write 2026-11-23 if"),
        ("2026-1-5", "write 2026-01-05 if"),
        ("23 11 2026", "write 2026-11-23 if"),
        ("11/23/26", "write 2026-11-23 if"),
        ("3/4/2026", "write 2026-03-04 or 2026-04-03, whichever"),
        ("11/11/2026", "write 2026-11-11 if"),
        ("11/23-2026", "is not a date"),
        ("23.13.2026", "is not a date"),
        ("2/30/2026", "is not a date"),
        ("11/23/126", "is not a date"),
    ],
)
def test_a_date_in_another_order_is_refused_with_what_it_may_mean(
    written: str, likely: str
) -> None:
    assert likely in refusal(changed(("work.date", written))).words


@pytest.mark.parametrize("hand", ["right", "left"])
def test_a_hand_is_written_out_or_shortened(hand: str) -> None:
    short = hand[0]
    for written in (hand, hand.capitalize(), hand.upper(), short + "h", short.upper() + "H"):
        assert parse_job(changed(("bowler.hand", written))).bowler.hand == hand
    for written in (short, short.upper()):
        assert parse_job(changed(("bowler.hand", written))).bowler.hand == hand
    for odd in (True, 1, "", hand + "y", ["right"], {}):
        assert refusal(changed(("bowler.hand", odd))).field == "bowler.hand"


@pytest.mark.parametrize("data", [None, [], "text", 5])
def test_what_is_no_object_is_refused(data: object) -> None:
    assert str(refusal(data)).startswith("the record: ")


def test_keys_that_are_no_text_are_refused() -> None:
    assert "unknown field" in str(refusal({**FULL, 3: 4}))


def test_long_values_are_shortened() -> None:
    message = str(refusal(changed(("bowler.hand", "x" * 10_000))))
    assert "..." in message
    assert len(message) < 150
    assert "has 201 characters" in str(refusal(changed(("title", "x" * 201))))
    assert parse_job(changed(("title", "x" * 200))).title == "x" * 200
    assert parse_job(changed(("notes", "x" * 2000))).notes == "x" * 2000
    assert refusal(changed(("notes", "x" * 2001))).field == "notes"


def concrete(limit: limits.Limit) -> str:
    """A path of the full record that the row's pattern covers."""
    if limit.path.startswith("bowler") and limit.path.endswith("pitch.*"):
        return "bowler.grip.ring.pitch.right"
    if limit.path.endswith("gap"):
        return "bowler.grip.little.gap"
    if limit.path.startswith("as_drilled"):
        return limit.path.replace("pitch.*", "pitch.left").replace("*", "thumb")
    if limit.path.startswith("weighings") and "pairs" in limit.path:
        return "weighings.drilled.pairs.side.0"
    if limit.path == "history.holes.*.pitch.*":
        return "history.holes.2.pitch.left"
    if limit.path.endswith("arcs.*"):
        return "history.holes.1.arcs.pin"
    if limit.path.startswith(("extra_holes", "history", "lane", "bowler.grip.thumb.inners")):
        return limit.path.replace("*", "0")
    return limit.path.replace("*", "drilled" if "weighings" in limit.path else "middle")


def with_odd_holes(data: dict[str, Any]) -> dict[str, Any]:
    """The record with one of each hole beside the plain ones, release and lane, all pairs left out."""
    data["release"], data["lane"] = {}, {"table": [{"at": 1, "friction": 0.1}]}
    data["bowler"]["grip"]["thumb"]["oval"] = {"length": 1.25}
    data["bowler"]["grip"]["thumb"].pop("sleeve", None)
    vent = {"hole": "thumb", "over": 1, "diameter": 0.25, "meets": 1}
    mill = {"over": 2, "diameter": 0.5, "depth": 0.125}
    old = {"name": "old", "from_pin": 3, "bearing": 10, "diameter": 1, "depth": 2}
    data["extra_holes"] = {"vents": [vent], "inspection": mill}
    by_arcs = {
        "name": "old",
        "arcs": {"pin": 1, "cg": 2},
        "side": "left",
        "diameter": 1,
        "depth": 2,
    }
    pitched = {**old, "digit": "thumb", "pitch": {}}
    data["history"] = {"holes": [{**old, "plug": {"density": 1.2}}, by_arcs, pitched]}
    return data


SLEEVE = {"bore": 1.25, "bore_depth": 2, "density": 1.2}


def with_all_digits(data: dict[str, Any]) -> dict[str, Any]:
    """The record with the fields of holes and weighings that few records have."""
    grip = data["bowler"]["grip"]
    grip["little"] = {"span": 4, "diameter": 0.75, "depth": 1, "gap": 0.25}
    grip["thumb"]["sleeve"] = {**SLEEVE, "outer": {**SLEEVE, "bore": 1.5}}
    grip["thumb"]["inners"] = [{"name": "A", "sleeve": dict(SLEEVE), "diameter": 1}]
    data["as_drilled"] = {"thumb": {"pitch": {}}}
    data["weighings"] = {"drilled": {"pairs": {"side": [1.5, -1.25]}}}
    return data


@pytest.mark.parametrize("limit", limits.LIMITS, ids=lambda row: row.path)
def test_each_limit_is_the_one_that_its_field_obeys(limit: limits.Limit) -> None:
    path = concrete(limit)
    assert limit_at(path) is limit
    layout: dict[str, Any] = copy.deepcopy(FULL["layout"])
    if path.split(".")[-1] in ("psa_to_pap", "pin_to_val"):
        layout = dict(DISTANCES)
    if path.startswith("layout.pin.") or path == "layout.bearing":
        layout = copy.deepcopy(PLACEMENT)
        layout["pin"].pop("down")
    data = with_odd_holes(changed(("layout", layout)))
    data["bowler"]["grip"]["ring"]["pitch"] = {}
    if any(part in path for part in ("outer", "inners", "little", "as_drilled", "pairs")):
        data = with_all_digits(data)
    if path.startswith("as_drilled") and "span" in path:
        path = path.replace("thumb", "ring")
        data["as_drilled"]["ring"] = {}
    if path == "bowler.pap.down":
        del data["bowler"]["pap"]["up"]
    *way, last = path.split(".")
    place: Any = data
    for part in way if path.startswith("wants") else ():
        place = place.setdefault(part, {})
    place = data
    for part in way:
        place = place[int(part) if part.isdecimal() else part]
    key: Any = int(last) if isinstance(place, list) else last
    for past in (limit.low - 1e-6, limit.high + 1e-6):
        place[key] = past
        error = refusal(data)
        assert error.field == path
        assert f"is outside {limit.low:g} to {limit.high:g} {limit.unit}" in str(error)
    assert limit.parse(limit.low) == limit.low
    assert limit.parse(limit.high) == limit.high


def test_every_number_of_the_record_has_a_limit() -> None:
    def numbers(data: dict[str, Any], path: str = "") -> list[str]:
        found = []
        for name, value in data.items():
            if isinstance(value, dict):
                found += numbers(value, f"{path}{name}.")
            elif name not in ("version",) and not isinstance(value, str | bool | tuple | None):
                found.append(path + name)
        return found

    def values(model: Any) -> dict[str, Any]:
        return {
            name: values(value) if hasattr(value, "model_fields_set") else value
            for name, value in model
        }

    for layout in (FULL["layout"], DISTANCES, PLACEMENT):
        paths = numbers(values(parse_job(changed(("layout", layout)))))
        assert len(paths) > 25
        assert [path for path in paths if limit_at(path) is None] == []


def test_a_field_may_say_what_it_means_when_left_out() -> None:
    same = changed(
        ("work.only", None),
        ("bowler.grip.index", None),
        ("bowler.grip.ring.used", True),
        ("bowler.grip.middle.sleeve.ready", False),
        ("bowler.grip.middle.sleeve.name", ""),
        ("bowler.grip.thumb.inners", []),
        ("as_drilled", None),
    )
    assert dump_job(parse_job(same)) == same


def test_a_message_about_a_hole_that_is_not_there_names_those_that_may_be() -> None:
    assert "possible here: bridge, middle, ring, thumb, index, little." in str(
        refusal(changed(("bowler.grip.pinky", {"span": 4})))
    )


def test_confirmed_answers_come_back_as_written() -> None:
    answers = {"bowler.grip.ring.span": 5.25, "bowler.pap.over": "7", "ball.psa": None, "a": True}
    data = changed(("confirmed", answers))
    job = parse_job(data)
    assert job.confirmed == answers
    assert dump_job(job) == data
    assert "confirmed" not in dump_job(parse_job(FULL))


@pytest.mark.parametrize(
    ("answers", "words"),
    [
        ([], "possible: an object of up to 100 fields' paths, each with its value."),
        ({str(n): n for n in range(101)}, "101 are too many"),
        ({"bowler.pap": {}}, "an object is no value of a field"),
        ({"bowler.pap": 1e300}, "is no value of a field"),
        ({"bowler.pap": "x" * 201}, "has 201 characters"),
        ({"x" * 201: 1}, "has 201 characters"),
    ],
)
def test_what_answers_nothing_is_refused(answers: object, words: str) -> None:
    error = refusal(changed(("confirmed", answers)))
    assert error.field == "confirmed"
    assert words in error.words


@pytest.mark.parametrize(
    ("scale", "field", "words"),
    [
        (
            {"supports": 5, "pan_lever": 7},
            "scale.pan_lever",
            "stands beside supports; possible: one",
        ),
        (
            {"pan_lever": 5, "reading": "half_difference"},
            "scale.reading",
            "stands beside pan_lever",
        ),
        (
            {"reading": "pan"},
            "scale.reading",
            '"pan" is not possible; possible: "half_difference".',
        ),
    ],
)
def test_a_weighing_is_read_in_one_way(scale: dict[str, Any], field: str, words: str) -> None:
    error = refusal(changed(("scale", scale)))
    assert error.field == field
    assert error.words.startswith(words)


@pytest.mark.parametrize(
    "scale", [{"supports": "5"}, {"pan_lever": 7.25}, {"reading": "half_difference"}]
)
def test_each_way_of_reading_a_weighing_comes_back(scale: dict[str, Any]) -> None:
    data = changed(("scale", scale))
    drilled = data["weighings"]["drilled"]
    for name in ("side", "top"):  # a pair takes the place of a plain reading
        drilled.pop(name, None)
    drilled["pairs"] = {"side": [121.5, 118], "top": ["8 oz", 7]}
    dumped = dump_job(parse_job(data))
    drilled["pairs"] = {"top": [8, 7], "side": [121.5, 118]}
    data["scale"] = {**scale, "supports": 5} if "supports" in scale else scale
    assert dumped == data


@pytest.mark.parametrize("readings", [[1], [1, 2, 3], "1, 2", 4, {"a": 1}])
def test_a_pair_is_two_readings(readings: object) -> None:
    error = refusal(changed(("weighings.drilled.pairs", {"side": readings})))
    assert error.field == "weighings.drilled.pairs.side"
    assert "possible: two numbers, each -300 to 300 oz." in error.words


@pytest.mark.parametrize(
    ("place", "field", "words"),
    [
        ({}, "from_pin", "missing; possible: 0 to 14.2 in."),
        ({"bearing": 10}, "from_pin", "missing; possible: 0 to 14.2 in."),
        ({"from_pin": 3}, "bearing", "missing; possible: -360 to 360 degrees."),
        (
            {"side": "left"},
            "arcs",
            "missing; possible: arcs from two of pin, cg, psa and grip_center.",
        ),
        ({"from_pin": 3, "side": "left"}, "from_pin", "given beside side; possible: from_pin and"),
        ({"arcs": {"pin": 1}, "side": "left"}, "arcs", "1 arcs are given; possible: two of pin,"),
        (
            {"from_pin": 3, "bearing": 1, "pitch": {"left": 0.1}, "digit": "ring", "right": 0.1},
            "right",
            "given beside pitch; possible: toward_pin and right, or pitch.",
        ),
        (
            {"from_pin": 3, "bearing": 1, "pitch": {"left": 0.1}},
            "digit",
            "missing beside pitch; possible: index, middle, ring, little, thumb.",
        ),
    ],
)
def test_an_old_holes_place_is_told_wholly_in_one_way(
    place: dict[str, Any], field: str, words: str
) -> None:
    hole = {"name": "old", "diameter": 1, "depth": 2, **place}
    error = refusal(changed(("history", {"holes": [hole]})))
    assert error.field == f"history.holes.0.{field}"
    assert error.words.startswith(words)


def test_words_have_no_limit() -> None:
    assert limit_at("bowler.name") is None
    assert limit_at("bowler.grip.middle.sleeve.bore.span") is None


@pytest.mark.parametrize("layout", [FULL["layout"], DISTANCES, PLACEMENT])
def test_dump_gives_back_what_was_written(layout: dict[str, Any]) -> None:
    data = changed(("layout", layout))
    dumped = dump_job(parse_job(data))
    assert dumped == data
    assert list(json.loads(json.dumps(dumped))) == list(data)
    assert parse_job(dumped) == parse_job(data)


def test_dump_gives_back_release_and_lane() -> None:
    release = {"speed": 16.5, "axis_rotation": 50, "direction": -1.5}
    table = [{"at": 0, "friction": 0.04}, {"at": 42, "friction": 0.2}]
    for lane in ({"oil_length": 41, "oil": 0.03}, {"table": table}):
        data = {**copy.deepcopy(FULL), "release": release, "lane": lane}
        job = parse_job(data)
        assert job.release is not None
        assert job.release.revs == 300.0
        assert dump_job(job) == data
        assert parse_job(dump_job(job)) == job


def test_a_lane_s_rows_come_in_order() -> None:
    table = [{"at": 42, "friction": 0.04}, {"at": 42, "friction": 0.2}]
    error = refusal({**FULL, "lane": {"table": table}})
    assert error.field == "lane.table.1.at"
    assert "does not come after 42 ft" in str(error)


def test_dump_leaves_out_what_was_left_out() -> None:
    data = plain_ball()
    dumped = dump_job(parse_job(data))
    assert dumped["bowler"]["grip"]["middle"] == {"span": "4 3/8", "diameter": "3/4", "depth": "2"}
    assert dumped["bowler"]["grip"]["thumb"] is None
    assert "psa" not in dumped["ball"]
    assert parse_job(dumped) == parse_job(data)


def test_dump_writes_a_changed_default() -> None:
    job = parse_job(plain_ball())
    after = job.model_copy(update={"scale": record.Scale(arm=4.0), "title": "New"})
    dumped = dump_job(after)
    assert dumped["scale"] == {"arm": 4}
    assert dumped["title"] == "New"
    assert parse_job(dumped) == after


def test_dump_keeps_lengths_that_no_rule_has() -> None:
    job = parse_job(changed(("bowler.grip.middle.span", "111 mm")))
    span = dump_job(job)["bowler"]["grip"]["middle"]["span"]
    assert span == 111 / 25.4


def test_models_are_frozen_and_check_what_is_built_directly() -> None:
    pitch = record.Pitch(forward=0.125)
    with pytest.raises(ValidationError, match="frozen"):
        pitch.forward = 0.25  # type: ignore[misc]
    with pytest.raises(ValidationError, match="are both given"):
        record.Pitch(forward=0.125, reverse=0.125)
    with pytest.raises(ValidationError, match="outside"):
        record.Scale(arm=20.0)


def test_schema_tells_unit_range_and_form_of_every_quantity() -> None:
    schema = job_schema()
    definitions = schema["$defs"]
    span = definitions["Finger"]["properties"]["span"]
    assert {"type": "string"} in span["anyOf"]
    assert span["anyOf"][0] == {"type": "number", "minimum": 0.5, "maximum": 7.0}
    assert "number of inches or text" in span["description"]
    assert "0.5 to 7 in" in span["description"]
    text = json.dumps(schema)
    forms = {row.path: "coefficient of friction" for row in limits.LIMITS if row.unit == "friction"}
    missing = [
        row.path
        for row in limits.LIMITS
        if f"{row.meaning}: {forms.get(row.path, 'number of')}" not in text
    ]
    assert missing == []
    assert "quarter" in definitions["PSA"]["properties"]["distance"]["description"]
    assert schema["additionalProperties"] is False
    assert schema["required"] == ["format", "version", "bowler", "ball", "layout"]


# --- all problems at once -------------------------------------------------------------------------


def test_problems_are_none_for_a_job(record: dict[str, Any]) -> None:
    assert problems(record) == ()


def test_problems_tell_all_fields_and_parse_job_the_first(record: dict[str, Any]) -> None:
    record["ball"]["weight"] = "4 3/"
    record["ball"]["colour"] = "blue"
    del record["layout"]["angle_at_pap"]
    found = problems(record)
    assert [path for path, _ in found] == ["ball.colour", "ball.weight", "layout.angle_at_pap"]
    assert dict(found)["layout.angle_at_pap"] == "missing; possible: -180 to 180 degrees."
    with pytest.raises(InputError) as refused:
        parse_job(record)
    assert (refused.value.field, refused.value.words) == found[0]


def test_problems_of_the_whole_record_have_no_path() -> None:
    ((path, words),) = problems([])
    assert path == ""
    assert words.startswith("the record: a list is not possible")


def test_the_nearest_possible_number() -> None:
    limit = limit_at("bowler.pap.over")
    assert limit is not None
    assert [limit.nearest(x) for x in (-1.0, 3.5, 9.0)] == [0.0, 3.5, 8.0]
