"""Damaged files and records at the edge of what is possible: refused in one sentence, or answered.

Whatever a file holds, the command line ends with one of its exit codes for an answer or for bad input,
never with that for an error of the program itself.
"""

import contextlib
import copy
import io
import json
import random
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at
from layoutkit.job.record import parse_job
from layoutkit.job.templates import example_record

SAMPLE_FOLDER = Path(__file__).parents[2] / "sample_bowlers"
RECORDS: list[dict[str, Any]] = [
    example_record("2026-01-02"),
    *(json.loads(path.read_text("utf-8")) for path in sorted(SAMPLE_FOLDER.glob("*.json"))),
]

# text that may stand where a number is expected; the bare words are no JSON of any standard
NUMBERS = (
    "NaN", "Infinity", "-Infinity", "1e308", "-1e308", "1e999", "1e-320", "9" * 400, "-1", "0", "-0.0",
    "12345678901234567890", "true", "null", '"x"', '"1/0"', '"NaN"', '"3 3/8 mm"', '""', "[]", "{}",
    "1", "2", "3.5", '"1 3/8"',
)  # fmt: skip
NAMES = (
    "Span",
    "",
    "over",
    "up",
    "down",
    "by",
    "plug",
    "name",
    "a\nb",
    "\ud800",
    "x" * 300,
    "version",
)
Place = tuple[Any, ...]  # the keys and indexes that lead to a value


class Answer(NamedTuple):
    """How a command ended, and what it printed."""

    code: int
    out: str
    err: str


# --- damage -----------------------------------------------------------------------------------------


def places(value: Any, before: Place = ()) -> list[Place]:
    """Where every value below a list or an object stands."""
    if isinstance(value, dict):
        children = list(value.items())
    else:
        children = list(enumerate(value)) if isinstance(value, list) else []
    below = [place for key, child in children for place in places(child, (*before, key))]
    return [(*before, key) for key, _ in children] + below


def holder(content: Any, place: Place) -> Any:
    for key in place[:-1]:
        content = content[key]
    return content


def cut_off(content: dict[str, Any], chance: random.Random) -> bytes:
    data = written(content)
    return data[: chance.randrange(len(data))]


def bits_flipped(content: dict[str, Any], chance: random.Random) -> bytes:
    data = bytearray(written(content))
    for _ in range(chance.choice((1, 2, 8))):
        data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    return bytes(data)


def values_swapped(content: dict[str, Any], chance: random.Random) -> bytes:
    one, other = chance.sample(places(content), 2)
    first, second = holder(content, one)[one[-1]], holder(content, other)[other[-1]]
    # copies, or a value would come to hold itself
    holder(content, one)[one[-1]] = copy.deepcopy(second)
    with contextlib.suppress(KeyError, IndexError, TypeError):  # the place went with the swap
        holder(content, other)[other[-1]] = copy.deepcopy(first)
    return written(content)


def key_renamed(content: dict[str, Any], chance: random.Random) -> bytes:
    place = chance.choice([each for each in places(content) if isinstance(each[-1], str)])
    within = holder(content, place)
    within[chance.choice((*NAMES, place[-1].upper()))] = within.pop(place[-1])
    return written(content)


def number_replaced(content: dict[str, Any], chance: random.Random) -> bytes:
    numbers = [each for each in places(content) if is_number(each, holder(content, each)[each[-1]])]
    for place in chance.sample(numbers, min(len(numbers), chance.choice((1, 1, 3)))):
        holder(content, place)[place[-1]] = "@@@"
    text = written(content).decode()
    for _ in range(text.count('"@@@"')):
        text = text.replace('"@@@"', chance.choice(NUMBERS), 1)
    return text.encode()


DAMAGES = (cut_off, bits_flipped, values_swapped, key_renamed, number_replaced, number_replaced)


def is_number(place: Place, value: Any) -> bool:
    """Whether a value is a number, or a text that states one."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return False
    return not isinstance(value, str) or limit_at(".".join(map(str, place))) is not None


def written(content: Any) -> bytes:
    return json.dumps(content, indent=1).encode()


def damaged(content: dict[str, Any], chance: random.Random) -> bytes:
    """The file of a record, a rule set or the like after one accident."""
    return chance.choice(DAMAGES)(copy.deepcopy(content), chance)


# --- the judge --------------------------------------------------------------------------------------


def answer(data: bytes, *words: str | Path) -> Answer:
    """Run a command within this process, with these bytes as its standard input."""
    out, err, before = io.StringIO(), io.StringIO(), sys.stdin
    sys.stdin = io.TextIOWrapper(io.BytesIO(data))
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code = main([str(word) for word in words])
    finally:
        sys.stdin = before
    return Answer(code, out.getvalue(), err.getvalue())


def judge(data: bytes, *words: str | Path) -> int:
    """Run a command and return its exit code; a failure shows the file that led to it."""
    try:
        code, out, err = answer(data, *words)
        assert code in (0, 1, 2, 3)
        if code == 2:
            assert out == ""
            assert err.count("\n") == 1
            assert err.endswith(".\n")
            assert err[:-1].isprintable()
            assert len(err) < 1000
        else:
            assert err == ""
            assert out
    except Exception as error:
        error.add_note(f"layoutkit {' '.join(map(str, words))} < {data!r}")
        raise
    return code


COMMANDS: tuple[tuple[str, ...], ...] = (
    ("plan", "-", "--json"),
    ("plan", "-"),
    ("roll", "-"),
    ("weigh", "-", "--gross", "14.9", "--top", "1", "--side", "1/2"),
    ("new", "--from", "-"),
    ("redrill", "-", "--force", "--out"),
)


def judge_damaged(seed: int, out: Path) -> int:
    """Damage one record and run it through one command, both by the seed."""
    chance = random.Random(seed)
    data = damaged(chance.choice(RECORDS), chance)
    words = COMMANDS[seed % len(COMMANDS)]
    if words[0] != "redrill":
        return judge(data, *words)
    before = out.read_bytes() if out.exists() else b""
    code = judge(data, *words, out)
    after = out.read_bytes() if out.exists() else b""
    assert (after == before) if code == 2 else json.loads(after)
    return code


# --- damaged files ----------------------------------------------------------------------------------


@pytest.mark.parametrize("block", range(4))
def test_damaged_records(block: int, tmp_path: Path) -> None:
    codes = [judge_damaged(block * 500 + i, tmp_path / "new.json") for i in range(200)]
    assert codes.count(2) > 100  # most damage is told
    assert len(codes) - codes.count(2) > 5  # and some of it leaves a record


def test_damaged_rule_sets(tmp_path: Path) -> None:
    rules = json.loads(answer(b"", "schema", "--rules", "usbc-2020").out)
    path = tmp_path / "rules.json"
    codes = set()
    for seed in range(50):
        path.write_bytes(damaged(rules, random.Random(seed)))
        codes.add(judge(written(RECORDS[1]), "plan", "-", "--rules", path))
    assert codes >= {0, 2}


def test_a_damaged_file_of_the_shop(tmp_path: Path) -> None:
    path = tmp_path / "shop.json"
    tests = [words for grow in ("2.02", "2.0", "1.99") for words in ("--test", "2", grow)]
    saved = answer(
        b"", "scale", *tests, "--diameter", "8.55", "--save", "--by", "Demo", "--shop", path
    )
    assert saved.code == 0
    shop = json.loads(path.read_bytes())
    job = copy.deepcopy(RECORDS[1])
    job.pop("scale", None)
    codes = set()
    for seed in range(50):
        path.write_bytes(damaged(shop, random.Random(seed)))
        codes.add(judge(written(job), "plan", "-", "--shop", path))
        codes.add(judge(b"", "scale", "--shop", path))
    assert codes >= {0, 2}


@pytest.mark.parametrize("name", ["track.txt", "shelf.csv"])
def test_damaged_tracks_and_shelves(name: str, tmp_path: Path) -> None:
    whole = (SAMPLE_FOLDER / name).read_bytes()
    path = tmp_path / name
    codes = set()
    for seed in range(50):
        path.write_bytes(garbled(whole, random.Random(seed)))
        if name == "track.txt":
            codes.add(judge(b"", "axis", "--track", path))
        else:
            codes.add(judge(written(RECORDS[1]), "shelf", "-", path))
    assert 2 in codes
    assert len(codes) > 1


def garbled(whole: bytes, chance: random.Random) -> bytes:
    """A text after an accident to its bytes, its lines or its numbers."""
    data = bytearray(whole)
    kind = chance.randrange(4)
    if kind == 0:
        return bytes(data[: chance.randrange(len(data))])
    if kind == 1:
        for _ in range(chance.choice((1, 2, 8))):
            data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        return bytes(data)
    if kind == 2:
        lines = whole.splitlines(keepends=True)
        chance.shuffle(lines)
        return b"".join(lines)
    digits = [i for i, byte in enumerate(data) if chr(byte).isdigit()]
    at = chance.choice(digits)
    word = chance.choice(NUMBERS).replace('"', "").encode()
    return bytes(data[:at] + word + data[at + 1 :])


# --- possible, and at the edge ----------------------------------------------------------------------


def at_the_limits(record: dict[str, Any], chance: random.Random, share: float) -> dict[str, Any]:
    """A record with some of its numbers at the end of their ranges, as far as it stays a record."""
    record = copy.deepcopy(record)
    for place in places(record):
        within = holder(record, place)
        field = ".".join(map(str, place))
        limit = limit_at(field)
        if limit is None or chance.random() > share:
            continue
        before = within[place[-1]]
        within[place[-1]] = chance.choice((limit.low, limit.high))
        try:
            parse_job(record)
        except InputError:
            within[place[-1]] = before
    return record


def all_deep(record: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    record = copy.deepcopy(record)
    for name in ("middle", "ring", "thumb"):
        hole = record["bowler"]["grip"].get(name)
        if hole:
            hole.pop("sleeve", None)
            hole["depth"] = 6
    return record


def tiny_ball(record: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    record = copy.deepcopy(record)
    record["ball"] = {
        "name": "Demo",
        "diameter": 8,
        "weight": chance.choice((4, 6, 18)),
        "top_weight": chance.choice((0, 8)),
        "pin_to_cg": chance.choice((0, 1, 6)),
        "psa": {"distance": chance.choice((0.5, "quarter", 12)), "cg_bearing": 20},
    }
    record.pop("history", None)
    return record


def many_old_holes(record: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    record = copy.deepcopy(record)
    record["history"] = {
        "holes": [
            {
                "name": f"old {i}",
                "from_pin": chance.uniform(0.0, 13.0),
                "bearing": chance.uniform(-180.0, 180.0),
                "toward_pin": chance.uniform(-2.0, 2.0),
                "diameter": chance.choice((0.0625, 1.0, 2.5)),
                "depth": chance.choice((0.0, 2.5, 6.0)),
                "plug": chance.choice((None, {"density": 5.0}, {"density": 0.1, "length": 1})),
            }
            for i in range(20)
        ]
    }
    return record


EXTREMES: dict[str, Callable[[dict[str, Any], random.Random], dict[str, Any]]] = {
    "some at the limits": lambda record, chance: at_the_limits(record, chance, 0.2),
    "most at the limits": lambda record, chance: at_the_limits(record, chance, 0.9),
    "all deep": all_deep,
    "tiny ball": tiny_ball,
    "many old holes": many_old_holes,
}
SHORTLY: tuple[tuple[str, ...], ...] = (
    ("plan", "-", "--json"),
    ("sure", "-", "--draws", "200"),
    ("change", "-"),
    ("roll", "-"),
    ("plan", "-", "--sheet"),
    ("redrill", "-", "--out"),
)


def judge_extreme(kind: str, words: tuple[str, ...], seed: int, folder: Path) -> int:
    """Make one extreme record and run it through one command."""
    chance = random.Random(seed)
    data = written(EXTREMES[kind](chance.choice(RECORDS), chance))
    names = {"--sheet": "sheet.pdf", "--out": "new.json"}
    out = [folder / names[words[-1]], "--force"] if words[-1] in names else []
    return judge(data, *words, *out)


@pytest.mark.parametrize("kind", EXTREMES)
@pytest.mark.parametrize("words", SHORTLY, ids=lambda words: f"{words[0]}{words[-1]}")
def test_a_possible_record_at_the_edge_is_answered(
    kind: str, words: tuple[str, ...], tmp_path: Path
) -> None:
    seed = list(EXTREMES).index(kind) * len(SHORTLY) + SHORTLY.index(words)
    judge_extreme(kind, words, seed, tmp_path)


def test_an_old_hole_without_depth_that_vents_do_not_meet() -> None:
    record = json.loads((SAMPLE_FOLDER / "12_oval_thumb.json").read_bytes())
    old = {"name": "old", "from_pin": 1, "bearing": -133, "toward_pin": 2, "diameter": 2.5}
    record["history"] = {"holes": [{**old, "depth": 0, "plug": {"density": 5}}]}
    judge(written(record), "plan", "-")


def test_a_sheet_whose_labels_leave_the_ball_no_room_is_still_made(tmp_path: Path) -> None:
    judge_extreme("most at the limits", ("plan", "-", "--sheet"), 10020, tmp_path)


def test_a_draw_of_a_ball_that_cannot_be_is_left_out_without_a_warning(tmp_path: Path) -> None:
    judge_extreme("most at the limits", ("sure", "-", "--draws", "200"), 67400, tmp_path)
