"""Any record that is taken comes back from its dump; any other is refused in one sentence."""

import copy
import json
import math
import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Job, dump_job, parse_job
from layoutkit.job.store import loads_job
from layoutkit.units import fraction

LONGEST_MESSAGE = 400


def quantity(path: str) -> st.SearchStrategy[Any]:
    """Any number that a field takes, written as a number or as text."""
    limit = limit_at(path)
    assert limit is not None
    low, high = limit.low, limit.high
    numbers = st.floats(low, high)
    if limit.unit != "in":
        return numbers
    sixtyfourths = st.integers(math.ceil(low * 64), math.floor(high * 64)).map(lambda n: n / 64)
    return st.one_of(
        numbers,
        sixtyfourths.map(fraction),
        sixtyfourths.map(lambda x: f"{x} in"),
        st.floats(low + 1e-6, high - 1e-6).map(lambda x: f"{x * 25.4:.9f} mm"),
    )


def pair(path: str, one: str, other: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.one_of(
        st.just({}),
        st.fixed_dictionaries({one: quantity(f"{path}.{one}")}),
        st.fixed_dictionaries({other: quantity(f"{path}.{other}")}),
    )


WORDS = st.text(st.characters(blacklist_categories=["Cc", "Cs"]), max_size=40)


@st.composite
def holes(draw: st.DrawFn, name: str) -> dict[str, Any]:
    path = f"bowler.grip.{name}"
    hole: dict[str, Any] = {
        "diameter": draw(st.floats(0.25, 1.0)),
        "depth": draw(quantity(f"{path}.depth")),
    }
    if name != "thumb":
        hole["span"] = draw(quantity(f"{path}.span"))
    if draw(st.booleans()):
        pitch = draw(pair(f"{path}.pitch", "forward", "reverse"))
        hole["pitch"] = {**pitch, **draw(pair(f"{path}.pitch", "right", "left"))}
    if draw(st.booleans()):
        hole["tip_angle"] = draw(quantity(f"{path}.tip_angle"))
    if draw(st.booleans()):
        hole["sleeve"] = {
            "bore": draw(st.floats(1.0, 2.5)),
            "bore_depth": draw(st.floats(1.0, 6.0)),
            "density": draw(quantity(f"{path}.sleeve.density")),
        }
        if draw(st.booleans()):
            hole["sleeve"]["length"] = draw(st.floats(0.0, 1.0))
    return hole


@st.composite
def balls(draw: st.DrawFn) -> dict[str, Any]:
    names = ("diameter", "weight", "top_weight")
    ball = {name: draw(quantity(f"ball.{name}")) for name in names}
    ball |= {"name": draw(WORDS), "pin_to_cg": draw(st.floats(0.01, 7.0))}
    if draw(st.booleans()):
        ball["serial"] = draw(WORDS)
    if draw(st.booleans()):
        distance = st.just("quarter") | quantity("ball.psa.distance")
        ball["psa"] = {"distance": draw(distance)}
        if draw(st.booleans()):
            ball["psa"]["cg_bearing"] = draw(quantity("ball.psa.cg_bearing"))
    if draw(st.booleans()):
        ball["rg_low"] = draw(quantity("ball.rg_low"))
        ball["differential"] = draw(st.floats(0.01, 0.15))
        if draw(st.booleans()):
            ball["intermediate_differential"] = draw(st.floats(0.0, 0.01)) if "psa" in ball else 0
    if draw(st.booleans()):
        ball["filler_density"] = draw(quantity("ball.filler_density"))
        ball["shell"] = draw(
            st.none()
            | st.fixed_dictionaries(
                {name: quantity(f"ball.shell.{name}") for name in ("thickness", "density")}
            )
        )
    return ball


@st.composite
def layouts(draw: st.DrawFn, with_psa: bool) -> dict[str, Any]:
    kinds = {
        "angles": ("angle_at_pin", "pin_to_pap", "angle_at_pap"),
        "distances": ("pin_to_pap", "psa_to_pap", "pin_to_val"),
        "placement": ("bearing",),
    }
    by = draw(st.sampled_from([k for k in kinds if with_psa or k != "distances"]))
    layout = {"by": by, **{name: draw(quantity(f"layout.{name}")) for name in kinds[by]}}
    if by == "distances" and draw(st.booleans()):
        layout["obtuse_angle_at_pap"] = draw(st.booleans())
    if by == "placement":
        layout["pin"] = {
            "over": draw(quantity("layout.pin.over")),
            **draw(pair("layout.pin", "up", "down")),
        }
    return layout


@st.composite
def records(draw: st.DrawFn) -> dict[str, Any]:
    ball = draw(balls())
    record: dict[str, Any] = {
        "format": "layoutkit-job",
        "version": 2,
        "bowler": {
            "name": draw(WORDS),
            "hand": draw(st.sampled_from(["right", "left"])),
            "pap": {
                "over": draw(quantity("bowler.pap.over")),
                **draw(pair("bowler.pap", "up", "down")),
            },
            "grip": {
                "bridge": draw(quantity("bowler.grip.bridge")),
                "middle": draw(holes("middle")),
                "ring": draw(holes("ring")),
                "thumb": draw(st.none() | holes("thumb")),
            },
        },
        "ball": ball,
        "layout": draw(layouts("psa" in ball)),
    }
    if draw(st.booleans()):
        record["title"] = draw(WORDS)
        record["notes"] = draw(WORDS) + "\n" + draw(WORDS)
        record["work"] = {"order": draw(WORDS), "date": draw(st.dates()).isoformat()}
    if draw(st.booleans()):
        record["scale"] = {"arm": draw(st.none() | quantity("scale.arm"))}
    return record


def fields(data: dict[str, Any]) -> dict[str, Any]:
    """The names of a record, nested, without the values."""
    return {k: fields(v) if isinstance(v, dict) else None for k, v in data.items()}


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(records())
def test_a_dump_reads_back_as_the_same_job(data: dict[str, Any]) -> None:
    job = parse_job(data)
    dumped = dump_job(job)
    assert fields(dumped) == fields(data)
    again = loads_job(json.dumps(dumped))
    assert again == job
    assert dump_job(again) == dumped


# --- records with something wrong -----------------------------------------------------------------

BASE: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "title": "t",
    "work": {"order": "17", "date": "2026-11-25"},
    "bowler": {
        "name": "n",
        "hand": "right",
        "pap": {"over": "5", "up": "1/2"},
        "grip": {
            "bridge": "1/4",
            "middle": {
                "span": "4 3/8",
                "diameter": "3/4",
                "depth": "1 1/2",
                "pitch": {"forward": "1/8", "left": "1/16"},
                "sleeve": {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1},
            },
            "ring": {"span": "4 1/4", "diameter": "3/4", "depth": "2"},
            "thumb": {"diameter": "1", "depth": "2 3/4", "tip_angle": 118},
        },
    },
    "ball": {
        "name": "b",
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
}
ODD_VALUES: list[Any] = [
    None,
    True,
    False,
    0,
    -1,
    1,
    40,
    10**30,
    10**400,
    -(10**299),
    1e308,
    -0.0,
    5e-324,
    0.3333,
    "",
    " ",
    "3/7",
    "1/0",
    "0/0",
    "9/8",
    "3 9/8",
    "-",
    "1e3",
    "NaN",
    "quarter",
    "right",
    "inf",
    "3 in",
    "85.7 mm",
    "1" * 39,
    "1" * 500,
    "15 lb 16 oz",
    "x" * 3000,
    "\u0000",
    "a\nb",
    "\ud800",
    "\u202e",
    "\u2028",
    "½",
    "https://example.org",
    [],
    [[]],
    {},
    {"by": "angles"},
    {"": {}},
    [{"a": [1] * 50}],
    {"up": 1, "down": 1},
    {"forward": 0, "reverse": 0},
    "distances",
    "placement",
]
ODD_NAMES = ["colour", "", "a b", "a.b", "x" * 500, "\n", "\ud800", "by", "angles", "span", "up"]


def mutate(rng: random.Random) -> dict[str, Any]:
    """The base record after one to four accidents."""
    data = copy.deepcopy(BASE)
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        place: Any = data
        while True:
            inner = [v for v in place.values() if isinstance(v, dict)]
            if not inner or rng.random() < 0.3:
                break
            place = rng.choice(inner)
        accident = rng.random()
        if not place or accident < 0.2:
            place[rng.choice(ODD_NAMES)] = copy.deepcopy(rng.choice(ODD_VALUES))
        elif accident < 0.35:
            del place[rng.choice(list(place))]
        else:
            place[rng.choice(list(place))] = copy.deepcopy(rng.choice(ODD_VALUES))
    return data


def refused(text: str) -> str | None:
    """The message, checked for form; None where the text is taken as a job."""
    try:
        job = loads_job(text)
    except InputError as error:
        message = str(error)
    else:
        assert isinstance(job, Job)
        assert loads_job(json.dumps(dump_job(job))) == job
        return None
    assert len(message) < LONGEST_MESSAGE, message
    assert message.isprintable(), message
    assert message.endswith("."), message
    assert ". " not in message.replace("... ", " "), message
    lowered = message.lower()
    jargon = ("pydantic", "type=", "valueerror", "value error", "input should", "traceback", "none")
    assert not any(word in lowered for word in jargon), message
    return message


@pytest.mark.parametrize("seed", range(3))
def test_thousands_of_spoilt_records_are_refused_in_one_sentence(seed: int) -> None:
    rng = random.Random(seed)
    told = [refused(json.dumps(mutate(rng))) for _ in range(1000)]
    # the accidents are spread: many kinds of message, and some records that are still possible
    assert len(set(told)) > 200
    assert told.count(None) > 5


def test_spoilt_text_is_refused_in_one_sentence() -> None:
    rng = random.Random(1)
    whole = json.dumps(BASE, indent=1)
    kinds = set()
    for _ in range(1500):
        text = list(whole)
        for _ in range(rng.randint(1, 3)):
            at = rng.randrange(len(text))
            odd = rng.choice('{}[],:"\\ \n\t0123456789eE+-.xé\x00')
            if rng.random() < 0.5:
                text[at] = odd
            else:
                text[at : at + rng.randint(0, 40)] = odd
        kinds.add(refused("".join(text)))
    assert len(kinds) > 500


@settings(max_examples=200, deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
        max_leaves=12,
    ),
    st.sampled_from(["", "bowler", "bowler.grip", "bowler.grip.thumb", "ball.psa", "layout"]),
)
def test_any_json_in_any_place_is_taken_or_refused(value: Any, path: str) -> None:
    data: Any = copy.deepcopy(BASE)
    if path:
        *way, last = path.split(".")
        place = data
        for part in way:
            place = place[part]
        place[last] = value
    else:
        data = value
    refused(json.dumps(data))


def test_very_many_wrong_fields_are_refused_soon() -> None:
    data = {**copy.deepcopy(BASE), **{f"x{i}": i for i in range(20_000)}}
    assert refused(json.dumps(data)) is not None
