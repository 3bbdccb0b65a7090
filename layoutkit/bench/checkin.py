"""The check-in desk: a ball, a scale and what was looked at in; a verdict out.

No plan and no layout is needed. An `Entry` is one ball as it was keyed or read from a row of a table;
`judge` makes a `Verdict` of it under a rule set, and `check_in` judges a whole list, in which it also
finds serial numbers that come twice and a scale whose zero error moved. Weights are named as in a
record's weighing: gross in pounds, top, side and finger in signed scale ounces.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.bench.pairs import (
    READING_OZ,
    PairWeight,
    no_kind,
    on_scale,
    stated,
    zero_errors_apart,
)
from layoutkit.errors import InputError
from layoutkit.job.files import BALL_LIST
from layoutkit.job.limits import limit
from layoutkit.job.record import Job, Scale, scale_kind
from layoutkit.job.rules import (
    DIAMETER,
    OUTCOMES,
    STATICS,
    Check,
    Outcome,
    RuleSet,
    Seen,
    Static,
    check_seen,
    check_weighed,
    other_classes,
    overall,
)
from layoutkit.job.rules import outcome as judged
from layoutkit.job.shop import Shop
from layoutkit.job.tables import Row, Table, Wanted, load_table
from layoutkit.planning.given import kilograms_meant, scale_arms
from layoutkit.units import GRAM_PER_OZ, OZ_PER_LB, shown

TEXTS = ("number", "owner", "ball", "serial")
PAIRS = {name: (f"{name}_a", f"{name}_b") for name in STATICS}
COUNTED = ("holes", "balance_holes", "vents")
ANSWERED = ("thumb", "palm_mark")
COLUMNS = (
    *TEXTS, "diameter", "gross", *STATICS, *(column for pair in PAIRS.values() for column in pair),
    "holes", "thumb", "balance_holes", "vents", "palm_mark",
)  # fmt: skip
SCALE_PARTS = ("arm", "supports", "pan_lever", "reading", "allowance")
NOT_LOOKED_AT = ("", "-", "?", "not looked at", "n/a")
MOST_BALLS = 50_000
MOST_COUNTED = 20  # holes; more is a slip of the pen

# conventions, no source
GROSS_LB = 0.01  # standard deviation of a gross weight, as a scale for balls shows it
SEAT_IN = 0.05  # standard deviation of the seat's place between two supports
MOST_STATIC_OZ = 5.0  # of a drilled ball; more is asked about
MOST_BOTTOM_OZ = 1.5  # the same for bottom weight
MOST_ZERO_OZ = 8.0  # zero error beyond which the readings are asked about
MOVED_OZ, MOVED_SDS, MOVED_BALLS = 0.10, 3.0, 3  # what counts as a scale that moved

_YES, _NO = ("yes", "y", "true", "x"), ("no", "n", "false", "none")
_PLAIN = re.compile(r"[+\N{MINUS SIGN}-]?\s*[0-9.,]+(?:[ -][0-9]+/[0-9]+)?")
_LIMITS = {
    "diameter": limit("ball.diameter"),
    "gross": limit("weighings.*.gross"),
    **{name: limit(f"weighings.*.{name}") for name in STATICS},
    **{c: limit("weighings.*.pairs.*.*") for pair in PAIRS.values() for c in pair},
}


class Entry(NamedTuple):
    """One ball as keyed: texts, what was weighed, and what was looked at.

    ``line`` is that of its table, else its place in the list. ``readings`` are plain static weights,
    ``pairs`` two raw readings each, all in ounces by the names of `rules.STATICS`; ``gross`` is pounds.
    ``plain`` are the fields whose text states no unit. ``problems`` are sentences on texts that could
    not be read, each of which counts as not given.
    """

    line: int
    number: str
    owner: str
    ball: str
    gross: float | None
    readings: Mapping[str, float]
    pairs: Mapping[str, tuple[float, float]]
    seen: Seen
    plain: frozenset[str] = frozenset()
    problems: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """How the ball is called in a sentence: its number, or its line where it has none."""
        return self.number or f"of line {self.line}"


class Verdict(NamedTuple):
    """What is said of one ball.

    ``weights`` are those that were weighed, gross in pounds and the others in ounces. ``pairs`` are the
    ones that two readings make. ``zero_error`` is the scale's, in ounces, the mean of the pairs', with
    the standard deviation that readings and gross weight leave it; None where it cannot be told.
    ``missing`` names what an incomplete ball lacks, ``not_seen`` what nobody looked at, and ``decides``
    says what would decide each close check of a ball that does not fail. ``questions`` change no outcome.
    """

    entry: Entry
    outcome: Outcome
    checks: tuple[Check, ...]
    weights: Mapping[str, float]
    pairs: Mapping[str, PairWeight]
    zero_error: float | None
    zero_error_sd: float | None
    missing: tuple[str, ...]
    not_seen: tuple[str, ...]
    decides: tuple[str, ...]
    questions: tuple[str, ...]


class Moved(NamedTuple):
    """The scale's zero error moved by so many ounces; since which ball, by its place in the list.

    ``seen_at`` is the place of the ball at which that was plain.
    """

    since: int
    seen_at: int
    by_oz: float


class CheckIn(NamedTuple):
    """The verdicts in the order of check-in, and where the scale moved."""

    verdicts: tuple[Verdict, ...]
    moved: tuple[Moved, ...]
    rules: RuleSet
    scale: Scale

    @property
    def outcome(self) -> Outcome:
        """The worst outcome of all balls, "pass" of none."""
        return max((v.outcome for v in self.verdicts), key=OUTCOMES.index, default="pass")

    @property
    def tally(self) -> dict[str, int]:
        """How many balls have each outcome, the best first, and how many are asked about."""
        counts: dict[str, int] = dict.fromkeys(OUTCOMES, 0)
        for v in self.verdicts:
            counts[v.outcome] += 1
        return counts | {"asked about": sum(bool(v.questions) for v in self.verdicts)}


# --- entries --------------------------------------------------------------------------------------


def ball_table(path: str, columns: Mapping[str, Wanted] | None = None) -> Table:
    """The table of a file of balls; ``columns`` as `tables.read_columns` makes them.

    Raises InputError where it cannot be read or has no ball, too many, or none of the weights.
    """
    table = load_table(path, BALL_LIST, COLUMNS, columns)
    if "gross" not in table.names:
        raise InputError(
            f"{path}: has no column gross; its columns: {', '.join(map(shown, table.headings[:30]))}; "
            "--columns 'HEADING=gross' says which one it is."
        )
    if not table.rows:
        raise InputError(f"{path}: has no ball below its line of names.")
    if len(table.rows) > MOST_BALLS:
        raise InputError(f"{path}: has {len(table.rows)} balls; at most {MOST_BALLS} are checked.")
    return table


def job_table(job: Job, number: str) -> Table:
    """The table of one ball: that of a job, with what its record says that the drilled ball weighed.

    What was looked at is nobody's to take from a record, so only diameter and serial are told.
    Raises InputError where the record has no weighing of the drilled ball.
    """
    weighed = None if job.weighings is None else job.weighings.drilled
    if weighed is None:
        raise InputError(
            "has no weighing of the drilled ball; possible: `layoutkit weigh --record`."
        )
    values: dict[str, Any] = {
        "number": number,
        "owner": job.bowler.name,
        "ball": job.ball.name,
        "serial": job.ball.serial,
        "diameter": job.ball.diameter_now or job.ball.diameter,
        **{name: getattr(weighed, name) for name in ("gross", *STATICS)},
        **{
            column: reading
            for name, pair in stated(weighed.pairs).items()
            for column, reading in zip(PAIRS[name], pair, strict=True)
        },
    }
    texts = {name: str(value) for name, value in values.items() if value not in (None, "")}
    names = tuple(texts)
    return Table(names, names, (Row(1, tuple(texts.values()), texts),), ",", comma=False)


def entries_of(table: Table) -> tuple[Entry, ...]:
    """The balls of a table, one a row."""
    return tuple(entry_of_row(table, row) for row in table.rows)


def entry_of_row(table: Table, row: Row) -> Entry:
    """The ball of a row; what cannot be read of it is named by line and column."""
    if row.fault:
        problem = f"line {row.line}: {row.fault}."
        number = row.cells[table.names.index("number")] if "number" in table.names else ""
        return _empty(row.line, number, (problem,))
    headings = dict(zip(table.names, table.headings, strict=True))
    return entry_of(row.values, row.line, headings)


def _empty(line: int, number: str, problems: tuple[str, ...]) -> Entry:
    return Entry(line, number, "", "", None, {}, {}, Seen(), problems=problems)


def entry_of(
    texts: Mapping[str, str],
    line: int,
    headings: Mapping[str, str] | None = None,
    keyed: bool = False,
) -> Entry:
    """One ball of the texts that were typed, by the names of `COLUMNS`; blank ones may be left out.

    ``line`` and ``headings`` (the user's own, by name) are for what is said of a text that cannot be
    read; of a ball that was ``keyed`` the field is named alone. Raises nothing for such a text: it is
    in the entry's problems and counts as not given.
    """
    problems: list[str] = []
    numbers: dict[str, float] = {}

    def blame(name: str, words: str) -> None:
        heading = (headings or {}).get(name, name)
        place = heading if keyed else f"line {line}, column {shown(heading, 30)}"
        problems.append(f"{place}: {words}")

    for name, row in _LIMITS.items():
        text = texts.get(name, "")
        if text and text.lower() not in NOT_LOOKED_AT:
            try:
                numbers[name] = float(row.parse(text))
            except InputError as error:
                blame(name, error.words)
    counts: dict[str, int | None] = {}
    for name in COUNTED:
        try:
            counts[name] = _count(texts.get(name, ""), name)
        except InputError as error:
            blame(name, error.words)
    answers: dict[str, bool | None] = {}
    for name in ANSWERED:
        try:
            answers[name] = _answer(texts.get(name, ""))
        except InputError as error:
            blame(name, error.words)
    readings = {name: numbers[name] for name in STATICS if name in numbers}
    pairs: dict[str, tuple[float, float]] = {}
    for name, (a, b) in PAIRS.items():
        both = [column for column in (a, b) if column in numbers]
        if len(both) == 1 and not any(texts.get(c) for c in (a, b) if c not in numbers):
            blame(b if both == [a] else a, "is blank; one reading alone makes no weight.")
        if both and name in readings:
            blame(name, "stands beside raw readings of the same weight; give one of the two.")
            del readings[name]
        elif len(both) == 2:
            pairs[name] = (numbers[a], numbers[b])
    plain = frozenset(name for name in numbers if _PLAIN.fullmatch(texts[name].strip()))
    owner, ball, number = (
        " ".join(texts.get(name, "").split()) for name in ("owner", "ball", "number")
    )
    seen = Seen(
        numbers.get("diameter"),
        _serial(texts.get("serial", "")),
        counts.get("holes"),
        answers.get("thumb"),
        counts.get("balance_holes"),
        counts.get("vents"),
        answers.get("palm_mark"),
    )
    return Entry(
        line, number, owner, ball, numbers.get("gross"), readings, pairs, seen, plain, tuple(problems)
    )  # fmt: skip


def _serial(text: str) -> str | None:
    """A serial number; empty where the ball has none, None where nobody looked."""
    words = " ".join(text.split())
    if words.lower() in NOT_LOOKED_AT:
        return None
    return "" if words.lower() in ("none", "no") else words


def _count(text: str, name: str) -> int | None:
    """How many holes; yes is one and no is none of those that a ball need not have."""
    word = text.strip().lower()
    if word in NOT_LOOKED_AT:
        return None
    if name != "holes" and word in (*_YES, *_NO):
        return int(word in _YES)
    if word.isascii() and word.isdigit() and int(word[:9]) <= MOST_COUNTED:
        return int(word)
    also = "" if name == "holes" else ", yes (one), no"
    raise InputError(f"{shown(text)} is no number of holes; possible: 0 to {MOST_COUNTED}{also}.")


def _answer(text: str) -> bool | None:
    word = text.strip().lower()
    if word in NOT_LOOKED_AT:
        return None
    if word in (*_YES, *_NO):
        return word in _YES
    raise InputError(f"{shown(text)} is no answer; possible: yes, no, or blank for not looked at.")


# --- the scale ------------------------------------------------------------------------------------


def shop_scale(shop: Shop | None) -> Scale:
    """The scale of the shop's file; one that is not calibrated without a file or a scale in it."""
    if shop is None or shop.scale is None:
        return Scale()
    c = shop.scale
    told = f"the shop's, +/- {c.sd:.3f} in, on {c.date}"
    return Scale(arm=c.arm, arm_sd=c.sd, calibrated=told, **scale_kind(c))


def stated_scale(text: str) -> Scale:
    """The scale of a text such as `arm=4.275,supports=8`, with `SCALE_PARTS` for its names.

    Raises InputError for a text that states no scale.
    """
    parts: dict[str, Any] = {}
    for part in text.split(","):
        name, equals, value = (each.strip() for each in part.partition("="))
        if not equals or name not in SCALE_PARTS or name in parts:
            raise InputError(
                f"{shown(part)} states no part of a scale, or one for the second time; "
                f"possible: NAME=VALUE with {', '.join(SCALE_PARTS)}."
            )
        if name == "reading":
            if value != "half_difference":
                raise InputError(f"{shown(value)} is no reading; possible: half_difference.")
            parts[name] = value
            continue
        try:
            parts[name] = limit(f"scale.{name}").parse(value)
        except InputError as error:
            raise InputError(f"{name}: {error}") from None
    kinds = [name for name in ("supports", "pan_lever", "reading") if name in parts]
    if len(kinds) > 1:
        raise InputError(f"{kinds[1]} stands beside {kinds[0]}; give one of them.")
    return Scale(**parts)


# --- verdicts -------------------------------------------------------------------------------------


def check_in(entries: Iterable[Entry], rules: RuleSet, scale: Scale) -> CheckIn:
    """The verdicts on a list of balls in its order; a serial or a number that comes twice is asked about.

    Raises InputError as `judge` does.
    """
    verdicts = [judge(entry, rules, scale) for entry in entries]
    for n, words in repeats(verdicts).items():
        verdicts[n] = verdicts[n]._replace(questions=(*verdicts[n].questions, *words))
    return CheckIn(tuple(verdicts), moves(verdicts, scale), rules, scale)


def judge(entry: Entry, rules: RuleSet, scale: Scale) -> Verdict:
    """The verdict on one ball; nothing is legal that was not measured.

    The gross weight and every static weight are needed, whatever the rule set asks for; of what is
    looked at, what the rule set asks for. A plain static weight has the scale's allowance on both sides;
    one of two readings has the arm's range, too, while the scale's arm is not calibrated. The
    ball's radius for that is the usual one where nobody measured it. Raises InputError where two
    readings were taken on a scale that does not say what they mean.
    """
    radius = (entry.seen.diameter_in or USUAL_DIAMETER) / 2.0
    if entry.pairs and not scale_kind(scale):
        raise no_kind()
    pairs = on_scale(entry.pairs, scale, scale_arms(scale, radius), entry.gross or 0.0)
    statics = {
        name: Static(pairs[name].weight, pairs[name].low, pairs[name].high)
        if name in pairs
        else Static(*(entry.readings[name],) * 3)
        if name in entry.readings
        else None
        for name in STATICS
    }
    checks = (
        *check_weighed(rules, entry.gross, statics, scale.allowance),
        *check_seen(rules, entry.seen),
    )
    weights = {} if entry.gross is None else {"gross": entry.gross}
    weights |= {name: static.value for name, static in statics.items() if static is not None}
    zero, zero_sd = _zero_error(pairs, scale, entry.gross)
    needed = ["gross", *STATICS]
    missing = [name for name in needed if name not in weights]
    missing += [c.name for c in checks if c.value is None and c.name not in needed]
    not_seen = [
        name.replace("_", " ")
        for name in ("diameter", "serial", *COUNTED, "palm_mark")
        if _unseen(entry.seen, name, rules)
    ]
    found = overall(checks)
    if entry.problems and found != "fail":  # what was typed and could not be read was not measured
        found = "incomplete"
    close = [c for c in checks if c.outcome == "close" and found != "fail"]
    decides = tuple(dict.fromkeys(_decides(c, entry, pairs, rules, scale) for c in close))
    return Verdict(
        entry, found, checks, weights, pairs, zero, zero_sd, tuple(missing), tuple(not_seen),
        decides, tuple(_questions(entry, weights, pairs, zero)),
    )  # fmt: skip


def _unseen(seen: Seen, name: str, rules: RuleSet) -> bool:
    if name == "palm_mark" and (seen.thumb or not rules.palm_mark_without_thumb.required):
        return False
    value: object = getattr(seen, "diameter_in" if name == "diameter" else name)
    return value is None


def _zero_error(
    pairs: Mapping[str, PairWeight], scale: Scale, gross: float | None
) -> tuple[float | None, float | None]:
    """The scale's zero error and its standard deviation, in ounces.

    On two supports half the ball's weight is taken off, so the gross weight's own error is in it.
    """
    supports = scale.supports is not None
    if not pairs or (supports and gross is None):
        return None, None
    mean = sum(w.zero_error for w in pairs.values()) / len(pairs)
    by_gross = GROSS_LB * OZ_PER_LB / 2.0 if supports else 0.0
    return mean, math.hypot(READING_OZ / math.sqrt(2.0 * len(pairs)), by_gross)


def _decides(
    check: Check,
    entry: Entry,
    pairs: Mapping[str, PairWeight],
    rules: RuleSet,
    scale: Scale,
) -> str:
    """What would decide a check that is close, in one sentence."""
    name, value = check.name, check.value
    assert value is not None
    if name == DIAMETER:
        return (
            "diameter: the rule is an undrilled ball's; whether it binds this one the event's "
            "officials decide."
        )
    if name == "vent holes":
        return "vent holes: count the gripping holes, of which each may have its own."
    if name == "palm mark":
        return "palm mark: only a ball without a thumb hole needs it; say whether this one has one."
    reach = scale.allowance
    if name == "gross":
        apart = abs(value - check.limit) * OZ_PER_LB
        return (
            f"gross: {apart:.2f} oz from the limit, within the allowance of {reach:g} oz; weigh it on "
            "a finer scale."
        )
    size, most = abs(value), check.limit
    if judged(size, (size - reach, size + reach), -most, most) != "close":
        pair = pairs.get(name)
        ends = (value, value) if pair is None else (pair.low, pair.high)
        if judged(value, (ends[0] - reach, ends[1] + reach), -most, most) == "close":
            return f"{name}: the scale's arm is not calibrated; calibrate it with a known weight."
        if entry.gross is not None and (near := other_classes(rules, entry.gross, reach)):
            end = near[0].up_to_lb if near[0].up_to_lb <= entry.gross else near[0].over_lb
            return (
                f"{name}: the gross weight is {abs(entry.gross - end) * OZ_PER_LB:.2f} oz from "
                f"{end:g} lb, beyond which {near[0].static_oz(name):g} oz is the limit; weigh the gross "
                "on a finer scale."
            )
    return (
        f"{name}: {abs(size - most):.2f} oz from the limit, within the allowance of {reach:g} oz; weigh "
        "it again, on a finer scale."
    )


def _questions(
    entry: Entry,
    weights: Mapping[str, float],
    pairs: Mapping[str, PairWeight],
    zero: float | None,
) -> Iterable[str]:
    """What is asked about one ball: figures that look like another unit or like a slip."""
    gross = entry.gross
    if gross is not None and "gross" in entry.plain and (meant := kilograms_meant(gross)):
        yield f"gross {gross:.2f} lb is light for a ball: {meant}"
    for name in STATICS:
        value = weights.get(name)
        if value is None:
            continue
        if abs(value) > MOST_STATIC_OZ:
            words = f"{name} weight {value:+.2f} oz is more than a drilled ball has"
            if name in entry.plain:
                yield f"{words}: grams? That would be {value / GRAM_PER_OZ:+.2f} oz."
            else:
                yield f"{words}: is a reading or its sign wrong?"
        elif name == "top" and value < -MOST_BOTTOM_OZ:
            yield (
                f"bottom weight of {-value:.2f} oz is unusual: is the sign right, are the two "
                "readings exchanged?"
            )
    if len({weights.get(name) for name in STATICS}) == 1 and weights.get("top") is not None:
        yield f"top, side and finger weight are all {weights['top']:+.2f} oz: was one reading copied?"
    seen = entry.seen
    if seen.holes == 0:
        thumb = ", and a thumb hole" if seen.thumb else ""
        yield f"it has 0 gripping holes{thumb}: is the count right?"
    apart = zero_errors_apart(pairs)
    if apart is not None:
        yield f"{apart[:1].lower()}{apart[1:]}"
    elif zero is not None and abs(zero) > MOST_ZERO_OZ:
        yield (
            f"the readings make a zero error of {zero:+.2f} oz: are they ounces, and is it the scale "
            "that was named?"
        )


# --- the list -------------------------------------------------------------------------------------


def repeats(verdicts: Sequence[Verdict]) -> dict[int, tuple[str, ...]]:
    """Questions about balls whose serial or number comes more than once, by their place in the list.

    Serials are compared as `plain_serial` writes them. A second weighing of a ball is told with the
    differences from the first.
    """
    places: dict[tuple[str, str], list[int]] = defaultdict(list)
    for n, v in enumerate(verdicts):
        serial = plain_serial(v.entry.seen.serial)
        if serial:
            places["serial", serial].append(n)
        if v.entry.number:
            places["number", v.entry.number.casefold()].append(n)
    words: dict[int, list[str]] = defaultdict(list)
    for (kind, _), those in places.items():
        for n in those if len(those) > 1 else ():
            other = next(each for each in those if each != n)
            if kind == "number":
                lines = " and ".join(str(verdicts[each].entry.line) for each in those[:5])
                words[n].append(f"the number is given more than once: lines {lines}.")
            else:
                told = difference_words(verdicts[other], verdicts[n])
                words[n].append(
                    f"the same serial as ball {verdicts[other].entry.name}: one ball twice, or a slip? "
                    f"This one less that one: {told}."
                )
    return {n: tuple(each) for n, each in words.items()}


def plain_serial(serial: str | None) -> str:
    """A serial as it is compared: without case, blanks and signs; empty without one."""
    return re.sub(r"[\W_]+", "", serial or "").casefold()


def differences(first: Verdict, second: Verdict) -> dict[str, float]:
    """By how much the weights of a second check differ, in ounces for every weight."""
    both = [name for name in first.weights if name in second.weights]
    return {
        name: (second.weights[name] - first.weights[name]) * (OZ_PER_LB if name == "gross" else 1.0)
        for name in both
    }


def difference_words(first: Verdict, second: Verdict) -> str:
    """The `differences` in words."""
    apart = differences(first, second)
    return ", ".join(f"{name} {oz:+.2f} oz" for name, oz in apart.items()) or "nothing to compare"


def moves(verdicts: Sequence[Verdict], scale: Scale) -> tuple[Moved, ...]:
    """Where the scale's zero error moved over three balls in a row.

    One ball proves nothing. Three in a row count when each lies to the same side of what the balls
    before showed, by half of what is asked of their mean: `MOVED_SDS` standard deviations of the
    difference of the two means, and `MOVED_OZ`. On two supports a seat that is off the middle puts a
    share of the ball's weight into every zero error, so what the balls before show is a line over their
    weights, with a slope near 0. A move back to no error, which is what zeroing the scale does,
    is not told. Where half the difference is the weight, the zero error has no such meaning: no moves.
    """
    if scale.reading is not None:
        return ()
    slope_sd = 0.0 if scale.supports is None else SEAT_IN / scale.supports
    points = [
        _Point(n, v.zero_error, v.zero_error_sd or READING_OZ, (v.entry.gross or 0.0) * OZ_PER_LB)
        for n, v in enumerate(verdicts)
        if v.zero_error is not None and not zero_errors_apart(v.pairs)  # a slip, not the scale
    ]
    result: list[Moved] = []
    start = 0
    for end in range(MOVED_BALLS, len(points) + 1):
        last = points[end - MOVED_BALLS : end]
        before = points[start : end - MOVED_BALLS]
        if len(before) < MOVED_BALLS:
            continue
        apart, sd = _level(before, slope_sd).apart(last)
        mean = sum(apart) / len(apart)
        asked = max(MOVED_OZ, MOVED_SDS * sd)
        if abs(mean) < asked or any(each * mean <= abs(mean) * asked / 2.0 for each in apart):
            continue
        level = sum(p.zero for p in last) / len(last)
        if abs(level) >= asked:
            result.append(Moved(last[0].place, last[-1].place, mean))
        start = end - MOVED_BALLS
    return tuple(result)


class _Point(NamedTuple):
    """A ball's place in the list, its zero error with its deviation, and its weight, in ounces."""

    place: int
    zero: float
    sd: float
    weight: float


class _Line(NamedTuple):
    """What some balls show of the zero error: a line over the ball's weight."""

    balls: int
    mean: float
    middle: float
    slope: float
    slope_variance: float
    variance: float

    def apart(self, last: Sequence[_Point]) -> tuple[list[float], float]:
        """How far each of some balls lies off the line, and the deviation of their mean."""
        away = [p.zero - self.mean - self.slope * (p.weight - self.middle) for p in last]
        reach = sum(p.weight for p in last) / len(last) - self.middle
        noise = self.variance / len(last) + self.variance / self.balls
        return away, math.sqrt(noise + reach**2 * self.slope_variance)


_MOST_BEFORE = 60  # balls; a scale is compared with what it showed lately


def _level(before: Sequence[_Point], slope_sd: float) -> _Line:
    """The line of some balls: least squares, with a slope that is near 0 beforehand (ridge)."""
    before = before[-_MOST_BEFORE:]
    count = len(before)
    mean = sum(p.zero for p in before) / count
    middle = sum(p.weight for p in before) / count
    variance = sum(p.sd**2 for p in before) / count
    if slope_sd == 0.0:
        return _Line(count, mean, middle, 0.0, 0.0, variance)
    across = sum((p.weight - middle) ** 2 for p in before) + variance / slope_sd**2
    slope = sum((p.weight - middle) * (p.zero - mean) for p in before) / across
    return _Line(count, mean, middle, slope, variance / across, variance)
