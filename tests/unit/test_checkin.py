"""The check-in desk: two readings by hand, verdicts, an event with planted slips, a scale that moves."""

from __future__ import annotations

import dataclasses
import json
import math
import random
from typing import Any

import pytest

from layoutkit.bench.checkin import (
    COLUMNS,
    CheckIn,
    Verdict,
    check_in,
    entries_of,
    entry_of,
    judge,
    moves,
)
from layoutkit.errors import InputError
from layoutkit.job.built_in_rules import rule_set, rules_template
from layoutkit.job.record import Scale
from layoutkit.job.rule_files import parse_rules
from layoutkit.job.tables import read_table, table_text
from layoutkit.output.checkin_report import checkin_csv, not_seen_words, remarks, rule_words

RULES = rule_set("usbc-2020")
PLAIN = Scale(arm=4.275)
PAN = Scale(arm=4.275, pan_lever=6.0)
SOUND = {"gross": "15.02", "top": "1.2", "side": "0.4", "finger": "-0.3"}


def verdict(scale: Scale = PLAIN, rules: Any = RULES, **texts: str) -> Verdict:
    return judge(entry_of({**SOUND, **texts}, 1), rules, scale)


def raw(name: str, a: str, b: str) -> dict[str, str]:
    return {name: "", f"{name}_a": a, f"{name}_b": b}


# --- two readings -----------------------------------------------------------------------------------

# derived by forward statics: M = S (a - b) / 2 or L (a - b) / 2 over the arm; what both readings share
READINGS = [
    (Scale(arm=4.275, supports=8.0), "15", "120.975", "119.725", 1.169590643, 0.35),
    (Scale(arm=3.6, supports=10.0), "15.12", "120.54", "120.98", -0.611111111, -0.2),
    (Scale(arm=4.275, pan_lever=4.275), "15", "1.1", "-0.9", 1.0, 0.1),
    (PAN, "15", "2.0", "-0.4", 1.684210526, 0.8),
    (PAN, "15", "1,25", "0,25", 0.701754386, 0.75),
]


@pytest.mark.parametrize(("scale", "gross", "a", "b", "weight", "zero"), READINGS)
def test_two_readings_give_the_weight_and_the_scales_zero_error(
    scale: Scale, gross: str, a: str, b: str, weight: float, zero: float
) -> None:
    v = verdict(scale, gross=gross, **raw("side", a, b))
    assert v.weights["side"] == pytest.approx(weight, abs=1e-8)
    assert v.zero_error == pytest.approx(zero, abs=1e-8)
    assert v.outcome == "pass"


def test_the_deviations_follow_from_one_readings() -> None:
    v = verdict(READINGS[0][0], gross="15", **raw("side", "120.975", "119.725"))
    # S sigma / (sqrt 2 arm) of a reading good to 0.05 oz
    assert v.pairs["side"].weight_sd == pytest.approx(0.066162038, abs=1e-8)
    # on supports the gross weight's 0.01 lb is 0.08 oz of the zero error
    assert v.zero_error_sd == pytest.approx(math.hypot(0.05 / math.sqrt(2.0), 0.08))
    three = verdict(PAN, **raw("top", "1", "0"), **raw("side", "1", "0"), **raw("finger", "1", "0"))
    assert three.zero_error_sd == pytest.approx(0.05 / math.sqrt(6.0))


def test_without_a_gross_weight_supports_tell_no_zero_error() -> None:
    v = verdict(READINGS[0][0], gross="", **raw("side", "120.975", "119.725"))
    assert v.weights["side"] == pytest.approx(1.169590643, abs=1e-8)
    assert (v.zero_error, v.outcome, v.missing) == (None, "incomplete", ("gross",))


def test_raw_readings_need_a_scale_that_says_what_they_mean() -> None:
    with pytest.raises(InputError, match=r"scale\.supports"):
        verdict(PLAIN, **raw("side", "1", "0"))


def test_without_a_calibration_the_arms_range_decides_what_is_close() -> None:
    # M = 8 oz in: 8 / 2.28 = 3.51 oz, 8 / 4.275 = 1.87 oz; 2.44 oz at the default of 23 R / 30
    texts = raw("side", "2", "0") | {"diameter": "8.55"}
    v = verdict(Scale(pan_lever=8.0), **texts)
    assert (v.pairs["side"].low, v.pairs["side"].high) == pytest.approx((8 / 4.275, 8 / 2.28))
    assert v.outcome == "close"
    assert v.decides == (
        "side: the scale's arm is not calibrated; calibrate it with a known weight.",
    )
    assert verdict(Scale(pan_lever=8.0, arm=3.2775), **texts).outcome == "pass"


# --- verdicts ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("texts", "outcome", "words"),
    [
        ({}, "pass", ""),
        ({"side": "3.1"}, "close", "side: 0.10 oz from the limit, within the allowance of 0.25 oz"),
        ({"side": "-3.3"}, "fail", "side 3.30 oz negative side; at most 3.00 oz to either side"),
        ({"finger": ""}, "incomplete", "Not measured: finger."),
        ({"finger": "", "side": "3.3"}, "fail", "Not measured: finger."),
        ({"gross": "16.02"}, "fail", "gross 16.02 lb; at most 16.00 lb"),
        ({"gross": "16.01"}, "close", "gross: 0.16 oz from the limit"),
        # 3/4 oz in each direction up to 10 lb
        ({"gross": "9.9"}, "fail", "top 1.20 oz top weight; at most 0.75 oz"),
        ({"gross": "9.99"}, "close", "0.16 oz from 10 lb, beyond which 3 oz is the limit"),
        ({"gross": "6.84"}, "fail", "kg? That would be 15.08 lb."),
        ({"gross": "6.84 kg"}, "pass", ""),
        ({"gross": "6.84 lb", "top": "0.4"}, "pass", ""),
        ({"gross": "240"}, "incomplete", 'column "gross": "240" is outside 3 to 18 lb (ounces?)'),
        ({"top": "34"}, "incomplete", "(grams?)"),
        ({"side": "11"}, "fail", "grams? That would be +0.39 oz"),
        ({"top": "-2"}, "pass", "bottom weight of 2.00 oz is unusual"),
        ({"diameter": "8.48"}, "close", "the event's officials decide"),
        ({"diameter": "217"}, "incomplete", "(mm?)"),
        ({"diameter": "217.2 mm", "serial": "A1"}, "pass", ""),
        ({"serial": "none"}, "fail", "serial none; needed"),
        ({"holes": "6"}, "fail", "hole count 6; at most 5"),
        ({"balance_holes": "yes"}, "fail", "balance holes 1; at most 0"),
        ({"holes": "3", "vents": "4"}, "fail", "vent holes 4; at most 3"),
        ({"vents": "3"}, "close", "count the gripping holes"),
        ({"thumb": "no", "palm_mark": "no"}, "fail", "palm mark none; needed without a thumb"),
        ({"thumb": "yes", "palm_mark": "no"}, "pass", ""),
        ({"palm_mark": "no"}, "close", "say whether this one has one"),
        ({"palm_mark": "maybe"}, "incomplete", '"maybe" is no answer'),
        ({"holes": "many"}, "incomplete", '"many" is no number of holes'),
        ({"side_a": "1"}, "incomplete", "one reading alone makes no weight"),
        ({"side_a": "1", "side_b": "0"}, "incomplete", "give one of the two"),
    ],
)  # fmt: skip
def test_the_verdict_and_what_is_said_with_it(
    texts: dict[str, str], outcome: str, words: str
) -> None:
    v = verdict(PAN, **texts)
    said = " ".join(remarks(v, RULES))
    assert (v.outcome, words in said) == (outcome, True), said
    if not words:
        assert said == ""


def test_nothing_is_legal_that_was_not_weighed() -> None:
    """Each weight alone missing; a static weight on which the classes differ has no value."""
    for name in SOUND:
        v = verdict(**{name: ""})
        assert (v.outcome, v.missing) == ("incomplete", (name,))
    by_name = {c.name: c for c in verdict(gross="", side="0.2").checks}
    assert (by_name["top"].outcome, by_name["top"].value) == ("incomplete", None)
    assert (by_name["side"].outcome, by_name["side"].value) == ("pass", 0.2)  # within either limit
    # beyond either limit it fails, whatever the ball weighs
    assert verdict(gross="", side="3.4").outcome == "fail"


def test_what_a_verdict_needs_is_in_the_rule_set() -> None:
    v = verdict(diameter="8.55")
    assert v.outcome == "pass"
    assert v.not_seen == ("serial", "holes", "balance holes", "vents", "palm mark")
    data = json.loads(rules_template("usbc-2020"))
    strict = parse_rules(data | {"looked_at": ["serial", "holes", "vents", "palm_mark"]}, "x.json")
    v = verdict(rules=strict, diameter="8.55", thumb="yes")
    assert (v.outcome, v.missing) == ("incomplete", ("serial", "hole count", "vent holes"))
    v = verdict(rules=strict, serial="A1", holes="3", vents="0", thumb="yes")
    assert v.outcome == "pass"
    with pytest.raises(InputError, match="looked_at"):
        parse_rules(data | {"looked_at": ["colour"]}, "x.json")
    # a rule set that asks for fewer weights does not make a ball legal that was not weighed
    few = dataclasses.replace(RULES, readings=("gross",))
    assert verdict(rules=few, side="").outcome == "incomplete"


def test_the_rule_has_its_class_in_it() -> None:
    light, heavy = verdict(gross="9.5"), verdict(gross="15")
    for v, words in ((light, "up to 10 lb"), (heavy, "over 10 lb")):
        check = next(c for c in v.checks if c.name == "side")
        assert rule_words(check, v.weights["gross"], RULES).endswith(words)


# --- an invented event ------------------------------------------------------------------------------

SLIPS = {
    "gross in kg": 5, "diameter in mm": 2, "readings in grams": 3, "sign": 5, "swapped": 4,
    "no gross": 4, "same serial": 4, "undersize": 1, "light ball": 2,
}  # fmt: skip


def event(seed: int) -> tuple[str, dict[int, str]]:
    """An invented event of 300 balls as CSV, and the slip in each of 30 of its rows."""
    chance = random.Random(seed)
    kinds = [kind for kind, count in SLIPS.items() for _ in range(count)]
    places = chance.sample(range(300), len(kinds))
    slips = dict(zip(places, kinds, strict=True))
    rows, serials = [], 0
    for n in range(300):
        own = {
            "top": min(2.0, max(-1.0, chance.gauss(0.6, 0.5))),
            "side": chance.uniform(0.3, 0.9) * chance.choice((-1, 1)),
            "finger": chance.uniform(0.3, 0.9) * chance.choice((-1, 1)),
        }
        gross, diameter = chance.uniform(10.3, 15.7), chance.uniform(8.51, 8.59)
        slip = slips.get(n, "")
        if slip == "light ball":
            gross, own["side"] = chance.uniform(8.0, 9.8), 1.6
        half = {name: oz * 4.275 / 6.0 for name, oz in own.items()}
        if slip == "swapped":
            half["top"] = 0.9
        texts = {
            column: 0.1 + sign * half[name] + chance.gauss(0.0, 0.025)
            for name in own
            for column, sign in ((f"{name}_a", 1.0), (f"{name}_b", -1.0))
        }
        row = {column: f"{value:.2f}" for column, value in texts.items()}
        row |= {"number": str(n + 1), "owner": f"Demo {n}", "serial": f"EV-{n:04d}"}
        row |= {"gross": f"{gross:.2f}", "diameter": f"{diameter:.3f}"}
        if slip == "gross in kg":
            row["gross"] = f"{gross * 0.45359237:.2f}"
        elif slip == "diameter in mm":
            row["diameter"] = f"{diameter * 25.4:.1f}"
        elif slip == "readings in grams":
            for column in ("side_a", "side_b"):
                row[column] = f"{texts[column] * 28.349523125:.1f}"
        elif slip == "sign":
            row["side_a"] = f"{-texts['side_a']:.2f}"
        elif slip == "swapped":
            row["top_a"], row["side_b"] = row["side_b"], row["top_a"]
        elif slip == "no gross":
            row["gross"] = ""
        elif slip == "same serial":
            row["serial"] = f"EV-SAME-{serials // 2}" if serials % 2 else f"ev same {serials // 2}"
            serials += 1
        elif slip == "undersize":
            row["diameter"] = "8.490"
        rows.append([row.get(column, "") for column in COLUMNS])
    return table_text(COLUMNS, rows), slips


def checked(text: str, scale: Scale = PAN) -> CheckIn:
    return check_in(entries_of(read_table(text, "event.csv", COLUMNS)), RULES, scale)


@pytest.mark.parametrize("seed", [1, 2])
def test_every_planted_slip_is_named_and_no_sound_ball_is(seed: int) -> None:
    text, slips = event(seed)
    result = checked(text)
    named = {n for n, v in enumerate(result.verdicts) if v.outcome != "pass" or remarks(v, RULES)}
    assert {slips.get(n, "a sound ball") for n in named ^ set(slips)} == set()
    assert len(slips) == 30
    assert result.moved == ()
    said = {
        kind: [" ".join(remarks(result.verdicts[n], RULES)) for n, k in slips.items() if k == kind]
        for kind in SLIPS
    }
    for kind, words in (
        ("gross in kg", "kg?"), ("diameter in mm", "mm?"), ("no gross", "Not measured: gross"),
        ("same serial", "the same serial"), ("undersize", "8.490 in"), ("swapped", "do not repeat"),
        ("light ball", "up to 10 lb"), ("sign", "do not repeat"),
    ):  # fmt: skip
        assert all(words in each for each in said[kind]), kind
    assert sum(result.tally[outcome] for outcome in ("pass", "close", "incomplete", "fail")) == 300


def test_a_ball_checked_twice_is_told_with_the_difference() -> None:
    texts = [SOUND | {"serial": "A 1"}, SOUND | {"serial": "a-1", "gross": "15.03", "top": "1.1"}]
    result = check_in([entry_of(each, n) for n, each in enumerate(texts, 1)], RULES, PLAIN)
    assert "gross +0.16 oz, top -0.10 oz, side +0.00 oz" in result.verdicts[1].questions[0]
    assert "gross -0.16 oz, top +0.10 oz" in result.verdicts[0].questions[0]


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        ({"top": "0.4", "side": "0.4", "finger": "0.4"}, "all +0.40 oz: was one reading copied?"),
        ({"top": "0.4", "side": "0.4", "finger": "-0.4"}, None),
        ({"holes": "0", "thumb": "yes"}, "it has 0 gripping holes, and a thumb hole"),
        ({"holes": "0", "thumb": "no"}, "it has 0 gripping holes: is the count right?"),
        ({"holes": "3", "thumb": "yes"}, None),
    ],
)
def test_what_looks_like_a_slip_of_the_list_is_asked_about(
    texts: dict[str, str], words: str | None
) -> None:
    questions = verdict(**texts).questions
    assert questions == () if words is None else words in questions[0]


def test_one_ball_that_was_not_looked_at_is_one_ball() -> None:
    rules = dataclasses.replace(RULES, looked_at=("serial",))
    entries = [entry_of(SOUND | {"serial": serial}, n) for n, serial in enumerate(("A", ""), 1)]
    assert "(1 ball)" in not_seen_words(check_in(entries, rules, PLAIN))


# --- a scale that moves -----------------------------------------------------------------------------


def weighed(scale: Scale, zeros: list[float], seed: int, seat: float = 0.0) -> list[Verdict]:
    """Balls weighed on a scale whose zero error is this at each; ``seat`` is off the middle, inches."""
    chance = random.Random(seed)
    verdicts = []
    for n, zero in enumerate(zeros):
        gross = chance.uniform(10.0, 16.0)
        texts = {"number": str(n + 1), "gross": f"{gross:.2f}"}
        lever = scale.supports or scale.pan_lever or 1.0
        on_seat = 0.0 if scale.supports is None else gross * 16.0 * (0.5 + seat / lever)
        for name in ("top", "side", "finger"):
            half = chance.gauss(0.0, 0.5) * 4.275 / lever
            for column, sign in ((f"{name}_a", 1.0), (f"{name}_b", -1.0)):
                reading = on_seat + zero + sign * half + chance.gauss(0.0, 0.03)
                texts[column] = f"{reading:.2f}"
        verdicts.append(judge(entry_of(texts, n + 1), RULES, scale))
    return verdicts


@pytest.mark.parametrize("seed", range(4))
def test_a_scale_that_moved_is_told_with_the_ball_since_which(seed: int) -> None:
    zeros = [0.05] * 13 + [0.25] * 12
    (moved,) = moves(weighed(PAN, zeros, seed), PAN)
    assert (moved.since, moved.seen_at) == (13, 15)  # ball 14, plain at the third
    assert moved.by_oz == pytest.approx(0.2, abs=0.06)


@pytest.mark.parametrize("seed", range(4))
def test_on_supports_a_move_is_told_beside_a_seat_off_the_middle(seed: int) -> None:
    scale = Scale(arm=4.275, supports=8.0)
    moved = moves(weighed(scale, [0.05] * 20 + [0.55] * 10, seed, seat=0.04), scale)
    assert len(moved) == 1
    assert 19 <= moved[0].since <= 21
    assert moved[0].by_oz == pytest.approx(0.5, abs=0.15)


@pytest.mark.parametrize("scale", [PAN, Scale(arm=4.275, supports=8.0)])
def test_a_scale_that_stays_is_not_blamed(scale: Scale) -> None:
    for seed in range(6):
        assert moves(weighed(scale, [0.1] * 80, seed, seat=-0.05), scale) == ()


def test_zeroing_the_scale_is_no_move() -> None:
    zeros = [0.0] * 8 + [0.3] * 6 + [0.0] * 8
    (moved,) = moves(weighed(PAN, zeros, 1), PAN)
    assert moved.since == 8


def test_one_ball_proves_nothing() -> None:
    assert moves(weighed(PAN, [0.0] * 8 + [0.9] + [0.0] * 8, 1), PAN) == ()
    halved = Scale(arm=4.275, reading="half_difference")
    assert moves(weighed(halved, [0.0] * 8 + [0.3] * 8, 1), halved) == ()


# --- the table that comes back ----------------------------------------------------------------------


def test_the_table_comes_back_with_its_own_columns_delimiter_and_decimal_sign() -> None:
    text = 'Hall;gross;top;side;finger\n"N;1";15,02;1,2;0,4;-0,3\nS;15,0;3,4;0,4;0\n'
    read = read_table(text, "x.csv", COLUMNS)
    result = check_in(entries_of(read), RULES, PLAIN)
    written = checkin_csv(result, read)
    again = read_table(written, "y.csv", COLUMNS)
    assert again.headings[:5] == read.headings
    assert [row.cells[:5] for row in again.rows] == [row.cells for row in read.rows]
    cells = dict(zip(again.headings, again.rows[1].cells, strict=True))
    assert (cells["verdict"], cells["top_oz"], cells["top_limit_oz"]) == ("fail", "3,400", "3,00")
    assert "USBC" in cells["reasons"]
    # checked again, the earlier results are replaced
    assert checkin_csv(check_in(entries_of(again), RULES, PLAIN), again) == written
