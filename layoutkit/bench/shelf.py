"""The balls on the shelf under one layout: a table of labels in, the balls in order of merit out.

The table is CSV, as `tables` reads it. Its first line names the columns as the record's `ball` does
(`weight`, `psa.distance`, `shell.density` and so on, in any order). A cell holds what a record
accepts, and an empty cell leaves the field out. Other columns are kept as they stand.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from layoutkit.errors import InputError
from layoutkit.geometry.sphere import wrap180
from layoutkit.job.files import LABEL_TABLE, file_name
from layoutkit.job.limits import limit_at
from layoutkit.job.record import Job, Tolerances, dump_job, parse_job
from layoutkit.job.rules import DRILLABLE, OUTCOMES, STATICS, YES_NO, Check, RuleSet
from layoutkit.job.tables import Row, Table, Wanted, load_table
from layoutkit.job.words import check_words, range_words, static_words
from layoutkit.planning.certainty import tolerances
from layoutkit.planning.changes import ANGLE_TOLERANCE
from layoutkit.planning.given import psa_arc
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan
from layoutkit.units import Units, shown

COLUMNS = (
    "name", "serial", "diameter", "diameter_now", "weight", "top_weight", "pin_to_cg", "psa.distance",
    "psa.cg_bearing", "rg_low", "differential", "intermediate_differential", "shell.thickness",
    "shell.density", "filler_density",
)  # fmt: skip
NEEDED = ("name", "diameter", "weight")
MOST_BALLS = 1000
RANKING = (
    "Ranked by outcome; by the largest share of a static limit, in steps of a tenth; then by the "
    "differential that is left."
)
UNCALIBRATED_RANKING = (
    "The scale's arm is not calibrated: that share is the worst that any arm of the range makes."
)
STATIC_STEP = 0.1  # of a limit; two balls nearer than this are alike in their statics

_TEXTS = ("name", "serial")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")


class Ranked(NamedTuple):
    """One ball under the layout: its ``line`` in the table, and the largest share of a static limit.

    That share is ``limit_used``, and ``limit_of`` is "top", "side" or "finger". Of a scale whose arm is
    not calibrated it is the largest over the arm's range. ``plan`` holds everything else.
    """

    line: int
    plan: Plan
    limit_of: str
    limit_used: float

    @property
    def key(self) -> tuple[bool, int, int, float, float]:
        """Whether the ball is ruined, outcome, statics in steps, more differential first, statics."""
        p = self.plan
        return (
            bool(p.reasons),
            OUTCOMES.index(p.outcome),
            int(self.limit_used / STATIC_STEP),
            -p.inertia.differential if p.core is not None else 0.0,
            self.limit_used,
        )


class UnusableBall(NamedTuple):
    """A row of the table that makes no ball, and one sentence why."""

    line: int
    name: str
    reason: str


class Shelf(NamedTuple):
    """The balls in order of merit, and the rows that could not be used."""

    ranked: tuple[Ranked, ...]
    unusable: tuple[UnusableBall, ...]


class OtherBall(NamedTuple):
    """A ball on which the layout passes, and how far its label is from the job's.

    ``cost`` is the sum of (difference / tolerance of that quantity) squared over ``differences``, in
    the record's units; ``unknown`` names the figures that only one of the two labels states.
    """

    ball: Ranked
    cost: float
    differences: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...]


def label_table(path: str, columns: Mapping[str, Wanted] | None = None) -> Table:
    """The table of a file of labels; ``columns`` as `tables.read_columns` makes them.

    Raises InputError where it cannot be read.
    """
    return load_table(path, LABEL_TABLE, COLUMNS, columns, "ball.")


def read_labels(table: Table, name: str) -> list[tuple[int, dict[str, Any] | InputError]]:
    """The labels of a table: for each row its line and the record's `ball`, or what is wrong with it.

    Raises InputError where the table as a whole makes no labels; ``name`` stands for its file.
    """
    for column in NEEDED:
        if column not in table.names:
            others = ", ".join(map(shown, table.others))
            raise InputError(
                f"{name}: has no column {column}; needed: {', '.join(NEEDED)}"
                + (f"; its other columns: {others}." if others else ".")
            )
    if not table.rows:
        raise InputError(f"{name}: has no ball below its line of names.")
    if len(table.rows) > MOST_BALLS:
        raise InputError(f"{name}: has {len(table.rows)} balls; at most {MOST_BALLS} are compared.")
    return [(row.line, _label(row)) for row in table.rows]


def load_labels(path: str) -> list[tuple[int, dict[str, Any] | InputError]]:
    """The labels of a table's file. Raises InputError as `read_labels`, or where it cannot be read."""
    return read_labels(label_table(path), file_name(path))


def _label(row: Row) -> dict[str, Any] | InputError:
    if row.fault:
        return InputError(f"{row.fault}.")
    ball: dict[str, Any] = {}
    for column, cell in row.values.items():
        place = ball
        part, _, leaf = column.rpartition(".")
        if part:
            place = ball.setdefault(part, {})
        plain = column not in _TEXTS and len(cell) <= 40 and _NUMBER.fullmatch(cell)
        place[leaf] = float(cell) if plain else cell
    return ball


def rank(
    job: Job, labels: list[tuple[int, dict[str, Any] | InputError]], rules: RuleSet | None = None
) -> Shelf:
    """Plan a job's bowler and layout on each label, and put the balls in order of merit.

    First those that pass, then the close ones, then those whose static weights are not known, then
    those that fail. Among these comes first the ball whose static weights use the least share of their
    limits, in steps of a tenth, at the worst of the arm's range; then the one with more differential
    left. The job's own ball, its weighings, its old holes and the measures of what was drilled into
    it are not looked at. What is wrong with a row is told beside it and raises nothing.
    """
    record = dump_job(job)
    for name in ("weighings", "history", "as_drilled"):
        record.pop(name, None)
    ranked: list[Ranked] = []
    unusable: list[UnusableBall] = []
    for line, label in labels:
        name = "" if isinstance(label, InputError) else str(label.get("name", ""))
        try:
            if isinstance(label, InputError):
                raise label
            result = plan(parse_job({**record, "ball": label}), rules)
        except InputError as error:
            unusable.append(UnusableBall(line, name, str(error)))
            continue
        shares = [(share_of_limit(result, c), c) for c in result.checks if c.name in STATICS]
        used, worst = max(shares, key=lambda each: each[0])
        ranked.append(Ranked(line, result, worst.name, used))
    return Shelf(tuple(sorted(ranked, key=lambda r: r.key)), tuple(unusable))


def shelf(job: Job, table: str, rules: RuleSet | None = None) -> Shelf:
    """The balls of a CSV file of labels in order of merit for a job's bowler and layout, as `rank`.

    ``table`` is the file's path. Raises InputError where it cannot be read; a row that cannot be used
    is in the result with its reason.
    """
    return rank(job, load_labels(table), rules)


def share_of_limit(plan: Plan, check: Check) -> float:
    """The share of its limit that a static weight uses, at the worst of the arm's range."""
    ends = static_range(plan, check.name)
    size = 0.0 if ends is None else max(map(abs, ends))
    return size / check.limit if check.limit > 0.0 else size * 1e6


def static_range(plan: Plan, name: str) -> tuple[float, float] | None:
    """The ends of a static weight over the arm's range, in ounces; None where it is not known."""
    ends: tuple[float, float] | None = getattr(plan.statics.range, f"{name}_oz")
    return ends


def other_balls(now: Job, shelf: Shelf) -> tuple[OtherBall, ...]:
    """The balls of a shelf on which the layout passes, the one with the likest label first.

    Balls whose label leaves out a figure that the job's label states, or the other way round, come last.
    """
    own, t = _label_numbers(now), tolerances(now)
    result = []
    for r in shelf.ranked:
        if r.plan.outcome != "pass":
            continue
        theirs = _label_numbers(r.plan.job)
        differences, unknown, cost = [], [], 0.0
        for name, tolerance in _LABEL:
            a, b = own[name], theirs[name]
            if name == "psa.distance" and _quarter(now) and _quarter(r.plan.job):
                continue  # the same place, whatever the ball's size
            if a is None or b is None:
                if a is not b:
                    unknown.append(name)
            elif a != b:
                difference = b - a
                if name == "psa.cg_bearing":
                    difference = float(wrap180(difference))
                # a tolerance of 0 would make every other ball infinitely dear
                each = ANGLE_TOLERANCE
                if tolerance:
                    each = getattr(t, tolerance) or getattr(Tolerances(), tolerance)
                cost += (difference / each) ** 2
                differences.append((name, difference))
        result.append(OtherBall(r, cost, tuple(differences), tuple(unknown)))
    return tuple(sorted(result, key=lambda o: (bool(o.unknown), o.cost, o.ball.key)))


# a label's quantities and the tolerance of each; an angle's is that of any angle from marks
_LABEL = (
    ("diameter", "diameter"), ("weight", "weight"), ("top_weight", "top_weight"),
    ("pin_to_cg", "marks"), ("psa.distance", "marks"), ("psa.cg_bearing", ""), ("rg_low", "rg"),
    ("differential", "differential"), ("intermediate_differential", "differential"),
    ("shell.density", "densities"), ("filler_density", "densities"),
)  # fmt: skip


def _quarter(job: Job) -> bool:
    return job.ball.psa is not None and job.ball.psa.distance == "quarter"


def _label_numbers(job: Job) -> dict[str, float | None]:
    """What a label states, by the names of `COLUMNS`; None where it is silent."""
    ball = job.ball
    numbers = {name: getattr(ball, name) for name, _ in _LABEL if "." not in name}
    return {
        **numbers,
        "psa.distance": psa_arc(job),
        "psa.cg_bearing": None if ball.psa is None else ball.psa.cg_bearing,
        "shell.density": None if ball.shell is None else ball.shell.density,
    }


def difference_words(other: OtherBall) -> str:
    """How a label differs, in words: `top weight -2.10 oz, pin to CG -1.50 in`."""
    parts = []
    for name, value in other.differences:
        row = limit_at(f"ball.{name}")
        assert row is not None
        places = 3 if name in ("diameter", "rg_low") or name.endswith("differential") else 2
        parts.append(f"{_label_words(name)} {value:+.{places}f} {row.unit}")
    if other.unknown:
        parts.append(f"not compared {' and '.join(map(_label_words, other.unknown))}")
    return ", ".join(parts) or "the same label"


def _label_words(name: str) -> str:
    words = {"rg_low": "low RG", "pin_to_cg": "pin to CG", "psa.cg_bearing": "CG bearing"}
    return words.get(name, name.replace("psa.", "PSA ").replace(".", " ").replace("_", " "))


def reason(ball: Ranked, units: Units = "fraction") -> str:
    """Why a ball stands where it does, in one sentence."""
    result = ball.plan
    reasons = [
        _value(result, c, units) + ("" if c.value is None else f" against {_limit(c, units)}")
        for c in _marked(result)
        if c.name != DRILLABLE
    ]
    if result.reasons:
        reasons.insert(0, f"do not drill, {result.reasons[0][:1].lower()}{result.reasons[0][1:-1]}")
    if result.outcome == "pass":
        name, over = ball.limit_of, "" if result.statics.calibrated else "over the arm's range "
        reasons.append(
            f"most used {over}is the limit of the {name} weight, {100.0 * ball.limit_used:.0f} %: "
            f"{_static(result, name, units)}"
        )
    differential = f"differential {result.inertia.differential:.3f} in"
    reasons.append(differential if result.core is not None else "no differential known")
    if result.job.ball.psa is None:
        cg = result.marks.cg is not None
        reasons.append("no PSA mark, laid out from the CG mark" if cg else "no mark but the pin")
    verdict = {
        "pass": "passes", "close": "close, weigh it", "incomplete": "incomplete", "fail": "fails"
    }[result.outcome]  # fmt: skip
    return f"{verdict}: {'; '.join(reasons)}."


def _marked(result: Plan) -> list[Check]:
    return [c for c in result.checks if c.outcome == result.outcome != "pass"]


def _static(result: Plan, name: str, units: Units) -> str:
    """A static weight in words, its range first where the scale's arm leaves one."""
    value: float | None = getattr(result.statics, f"{name}_oz")
    ends = static_range(result, name)
    if value is None or ends is None:
        return static_words(name, None, units)
    return range_words(name, value, ends, units)


def _value(result: Plan, check: Check, units: Units) -> str:
    if check.value is None:
        return f"{check.name} weight not known"
    if check.unit == "oz":
        return _static(result, check.name, units)
    if check.unit == YES_NO:
        return f"{check.name} is missing"
    return f"{check.name} {check_words(check, check.value, units)}"


def _limit(check: Check, units: Units) -> str:
    return (
        "a rule that asks for it"
        if check.unit == YES_NO
        else check_words(check, check.limit, units).lstrip("+")
    )
