"""Hundreds of mutated records through the command line: refused in one sentence, or planned."""

import json
import random
import sys
from io import BytesIO, StringIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest

from layoutkit.commands.main import main
from layoutkit.job.templates import example_record

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
RECORDS = [example_record("2026-01-02"), *(json.loads(p.read_text()) for p in SAMPLES)]
SEEDS, EACH = 2, 150  # each failure names its own record

# What may stand in a field instead of its value: wrong types, edges of ranges, notations.
VALUES: tuple[Any, ...] = (
    None, True, False, 0, -0.0, 1, -1, 2, 3, 7, 40, 180, 360, -180, 1e-9, 1e-300, 1e300, -1e300,
    float("nan"), float("inf"), float("-inf"), 10**400, 2**63,
    "", " ", "0", "1/0", "3 3/8", "-3-3/8", "1/3", "3/4 in", "85.7 mm", "15 lb 2 oz", "6.86 kg",
    "quarter", "right", "left", "angles", "distances", "placement", "usbc-2020", "usbc-pre-2018",
    "no-such-rules", "\x00", "\n", "\u2028", "\ud800", "½", "x" * 5000, "9" * 400, "1e5", "nan",
    [], [1], {}, {"over": 1}, {"forward": 1, "reverse": 1}, [[[[]]]],
)  # fmt: skip


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The path of every value in a record."""
    found = [path] if path else []
    children = value.items() if isinstance(value, dict) else ()
    for key, child in children:
        found += places(child, (*path, key))
    return found


def mutated(record: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """One to three values replaced, scaled, removed, renamed or taken from another record."""
    record = json.loads(json.dumps(record))
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        *parents, last = chance.choice(places(record))
        place: Any = record
        for key in parents:
            place = place[key]
        kind = chance.randrange(7)
        if kind == 0:
            del place[last]
        elif kind == 1:
            place[chance.choice(("Span", "", "by", "up", "down", "a\nb", last + " "))] = place[last]
        elif kind == 2:
            other = chance.choice(RECORDS)
            for key in (*parents, last):
                other = other.get(key) if isinstance(other, dict) else None
            place[last] = json.loads(json.dumps(other))
        elif kind <= 4 and type(place[last]) in (int, float):
            # near the true value, where records are accepted and the geometry is at its edges
            place[last] *= chance.choice((0.0, 0.5, 0.9, 1.1, 1.5, 2.0, -1.0))
        elif kind <= 4 and isinstance(place[last], str) and last not in ("name", "title"):
            place[last] = chance.choice((0, 0.001, 0.25, 0.5, 1, 1.9, 2.5, 4, 5.9, 6.7, 13))
        else:
            place[last] = chance.choice(VALUES)
        if not record:
            return record
    return record


def garbled(text: str, chance: random.Random) -> bytes:
    """The record's text cut, spliced or with bytes exchanged."""
    data = bytearray(text.encode("utf-8", "surrogatepass"))
    for _ in range(chance.randrange(1, 4)):
        at = chance.randrange(len(data) + 1)
        kind = chance.randrange(4)
        if kind == 0:
            del data[at:]
        elif kind == 1:
            data[at : at + chance.randrange(20)] = b""
        elif kind == 2:
            data[at:at] = bytes(chance.choices(b'{}[]",:0123456789.eE+-nul\\ \xff\xc3\x00', k=3))
        elif data:
            data[at % len(data)] = chance.randrange(256)
    return bytes(data)


def through(data: bytes, argv: list[str], monkeypatch: pytest.MonkeyPatch) -> tuple[int, str, str]:
    out, err = StringIO(), StringIO()
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(data)))
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    try:
        code = main(argv)
    finally:
        monkeypatch.undo()
    return code, out.getvalue(), err.getvalue()


def judge(data: bytes, argv: list[str], monkeypatch: pytest.MonkeyPatch) -> int:
    """Run one record; a failure shows the record itself."""
    try:
        code, out, err = through(data, argv, monkeypatch)
        assert code in (0, 1, 2, 3)
        if code == 2:
            assert out == ""
            assert err.count("\n") == 1
            assert err.endswith(".\n")
            assert err.strip("\n").isprintable()
            assert len(err) < 1000
        else:
            assert err == ""
            assert out
            if "--json" in argv:
                json.loads(out, parse_constant=pytest.fail)
    except Exception as error:
        error.add_note(f"layoutkit {' '.join(argv)} < {data!r}")
        raise
    return code


COMMANDS = (
    ["plan", "-", "--json"],
    ["plan", "-", "--units", "metric"],
    ["roll", "-", "--json"],
    ["weigh", "-", "--gross", "14.9", "--side", "-1/2"],
)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_mutated_records(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(seed)
    codes = []
    for i in range(EACH):
        record = mutated(chance.choice(RECORDS), chance)
        data = json.dumps(record).encode()
        codes.append(judge(data, COMMANDS[i % len(COMMANDS)], monkeypatch))
    # the mutations are neither all harmless nor all fatal
    assert codes.count(2) > EACH / 10
    assert EACH - codes.count(2) > EACH / 10


def test_garbled_files(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(0)
    for _ in range(250):
        text = json.dumps(chance.choice(RECORDS), indent=2, ensure_ascii=False)
        judge(garbled(text, chance), ["plan", "-", "--json"], monkeypatch)


def test_mutated_returning_bowler(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(1)
    for _ in range(120):
        data = json.dumps(mutated(chance.choice(RECORDS), chance)).encode()
        judge(data, ["new", "--from", "-"], monkeypatch)


def test_mutated_rule_sets(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    chance = random.Random(2)
    _, text, _ = through(b"", ["schema", "--rules", "usbc-2020"], monkeypatch)
    path = tmp_path / "rules.json"
    job = json.dumps(RECORDS[1]).encode()
    for _ in range(120):
        path.write_text(json.dumps(mutated(json.loads(text), chance)))
        judge(job, ["plan", "-", "--rules", str(path)], monkeypatch)


WORDS = (
    "", "-", "--", "0", "4", "-4", "4 1/2", "-1/2", "35", "-35", "180", "1e5", "nan", "inf", "1/0",
    "angles", "angle_at_pin=50", "pin.up=", "=", "--to", "--psa", "--pap", "--diameter", "quarter", "8.5",
    "--json", "--obtuse-angle-at-pap", "\n", "½", "--units", "metric",
)  # fmt: skip


NAMES = {
    "angles": ("angle_at_pin", "pin_to_pap", "angle_at_pap"),
    "distances": ("pin_to_pap", "psa_to_pap", "pin_to_val"),
    "placement": ("pin.over", "pin.up", "bearing"),
}


def test_random_words_to_convert(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = random.Random(3)
    codes = []
    numbers = ("0", "4", "-4", "4 1/2", "-1/2", "3-3/8in", "35", "-5", "85.7 mm", "1", "2")
    for i in range(250):
        source, to = chance.sample(("angles", "distances", "placement"), 2)
        values = zip(NAMES[source], chance.choices(numbers, k=3), strict=True)
        argv = ["convert", "--to", to, *(f"{name}={value}" for name, value in values)]
        if chance.random() < 0.8:
            argv += ["--pap", *chance.choices(("3", "0", "6 1/2", "1/2", "-1/2"), k=2)]
        if i % 3 == 0:
            argv[chance.randrange(1, len(argv))] = chance.choice(WORDS)
        codes.append(judge(b"", argv, monkeypatch))
    assert codes.count(0) > 15
