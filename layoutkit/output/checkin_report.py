"""Balls that were checked in: as text, as plain values, and as rows of a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from layoutkit import __version__
from layoutkit.bench.checkin import COLUMNS, CheckIn, Moved, Verdict
from layoutkit.bench.weighing import FIELDS
from layoutkit.job.record import Scale, scale_kind
from layoutkit.job.rules import CONFIRM, DIAMETER, STATICS, YES_NO, Check, RuleSet
from layoutkit.job.tables import Table, table_text
from layoutkit.job.words import check_words, static_words
from layoutkit.output.report import ball_weight, table, wrap
from layoutkit.output.shelf_report import other_columns
from layoutkit.units import Units, format_ounces

if TYPE_CHECKING:
    from layoutkit.book.book import Checked

FORMAT = "layoutkit-checkin"
VERSION = 1
NOT_WEIGHED = "-"
_LONGEST = 18  # characters of a cell in the text
# the columns that a written table has after those that were read
RESULTS = (
    "verdict", "reasons", "to decide", "missing", "not looked at", "questions", "weight_lb",
    *(f"{name}_oz" for name in STATICS), *(f"{name}_limit_oz" for name in STATICS),
    *(f"{name}_sd_oz" for name in STATICS), "zero_error_oz", "zero_error_sd_oz", "scale",
    "rule set", "in force",
)  # fmt: skip


# --- words of one ball ------------------------------------------------------------------------------


def rule_words(check: Check, gross: float | None, rules: RuleSet) -> str:
    """The rule of a check in words: `at most 3.00 oz to either side, over 10 lb`."""
    limit = check_words(check, check.limit, "decimal")
    if check.unit == "oz":
        own = rules.static_limits[0] if gross is None else rules.weight_class(gross)
        if gross is None and len(rules.static_limits) > 1:
            return "the limit of its weight class, which the gross weight decides"
        end = "" if own.up_to_lb == float("inf") else f" up to {own.up_to_lb:g} lb"
        start = f" over {own.over_lb:g} lb" if own.over_lb else ""
        return f"at most {limit.lstrip('+')} to either side, for a ball{start}{end}"
    if check.name == DIAMETER:
        low, high = rules.undrilled.diameter_min_in, rules.undrilled.diameter_max_in
        return f"an undrilled ball has {low.value:.3f} to {high.value:.3f} in"
    if check.unit == YES_NO:
        return "needed without a thumb hole" if check.name == "palm mark" else "needed"
    return f"at most {limit}"


def value_words(check: Check, units: Units = "fraction") -> str:
    """The value of a check in words, a static weight with its side."""
    if check.name in STATICS:
        return static_words(check.name, check.value, units)
    if check.unit == YES_NO and check.value == 0.0:
        return "none"
    return check_words(check, check.value, units)


def reasons(
    v: Verdict, rules: RuleSet, units: Units = "fraction", sources: Sequence[str] = ()
) -> tuple[str, ...]:
    """Why a ball fails, or why it is close, one sentence a check, with the rule and its source.

    A source that stands in ``sources`` is cited by its number there.
    """
    return tuple(
        f"{c.name} {value_words(c, units)}; {rule_words(c, v.weights.get('gross'), rules)} "
        f"{f'[{sources.index(c.source) + 1}]' if c.source in sources else f'({c.source})'}."
        for c in _telling(v)
    )


def _telling(v: Verdict) -> list[Check]:
    """The checks that a ball fails; of one that fails none, those that are close."""
    failed = [c for c in v.checks if c.outcome == "fail"]
    return failed or [c for c in v.checks if c.outcome == "close"]


def cited(result: CheckIn) -> tuple[str, ...]:
    """The sources of the rules that balls fail or are close to, each once."""
    return tuple(dict.fromkeys(c.source for v in result.verdicts for c in _telling(v)))


def remarks(
    v: Verdict, rules: RuleSet, units: Units = "fraction", sources: Sequence[str] = ()
) -> tuple[str, ...]:
    """All that is said of a ball beside its verdict, the gravest first; ``sources`` as in `reasons`."""
    said = [*reasons(v, rules, units, sources), *(f"To decide it: {words}" for words in v.decides)]
    said += v.entry.problems
    if v.missing:
        said.append(f"Not measured: {', '.join(v.missing)}.")
    said += [f"Question: {words}" for words in v.questions]
    return tuple(said)


def moved_words(m: Moved, result: CheckIn) -> str:
    """That the scale moved, and since which ball."""
    since = result.verdicts[m.since].entry.name
    return f"the scale moved by {abs(m.by_oz):.1f} oz since ball {since}: zero it"


def cells(v: Verdict, units: Units = "fraction") -> tuple[str, ...]:
    """One ball as cells: number, owner, ball, serial, gross, top, side, finger, verdict."""
    e = v.entry
    gross = ball_weight(v.weights["gross"], units) if "gross" in v.weights else NOT_WEIGHED
    statics = (
        format_ounces(v.weights[name], units, signed=True) if name in v.weights else NOT_WEIGHED
        for name in STATICS
    )
    serial = {None: "not looked at", "": "none"}.get(e.seen.serial, e.seen.serial)
    verdict = v.outcome if v.outcome == "pass" else v.outcome.upper()
    return (
        e.number or f"line {e.line}", e.owner, e.ball, serial or "", gross, *statics,
        f"{verdict} ?" if v.questions else verdict,
    )  # fmt: skip


HEAD = ("no.", "owner", "ball", "serial", "gross", *STATICS, "verdict")


# --- words of the list ------------------------------------------------------------------------------


def tally_words(result: CheckIn) -> str:
    """How many balls have each verdict: `300 balls: 270 pass, 3 close, ...`."""
    counts = ", ".join(f"{count} {name}" for name, count in result.tally.items() if count)
    return f"{len(result.verdicts)} balls: {counts}."


def rules_words(rules: RuleSet) -> str:
    """The rule set with its title and since when it is in force."""
    return f"Rule set {rules.name}: {rules.title}. {rules.in_force}"


def scale_words(scale: Scale) -> str:
    """The scale in words: its arm, what two readings mean, its allowance."""
    arm = "arm not calibrated" if scale.arm is None else f"arm {scale.arm:.3f} in"
    if scale.arm is not None and scale.calibrated:
        arm += f", {scale.calibrated}"
    kind = {
        "supports": "two supports {} in apart",
        "pan_lever": "pan at {} in",
        "reading": "half the difference is the weight",
    }
    parts = [arm, *(kind[name].format(value) for name, value in scale_kind(scale).items())]
    return f"Scale: {'; '.join(parts)}; allowance {scale.allowance:g} oz."


def not_seen_words(result: CheckIn) -> str:
    """What was not looked at on how many balls, empty where all was."""
    counts: dict[str, int] = {}
    for v in result.verdicts:
        for name in v.not_seen:
            counts[name] = counts.get(name, 0) + 1
    whole = len(result.verdicts)
    balls = {n: "" if n == whole else f" ({n} ball{'s' if n > 1 else ''})" for n in counts.values()}
    parts = [f"{name}{balls[n]}" for name, n in counts.items()]
    return f"Not looked at: {', '.join(parts)}." if parts else ""


def checkin_text(
    result: CheckIn, units: Units = "fraction", table_read: Table | None = None
) -> str:
    """The verdicts as text, in the order of check-in; what is said of a ball stands below its line."""
    rules = result.rules
    lines = wrap(tally_words(result), indent="")
    lines += wrap(rules_words(rules), indent="") + wrap(scale_words(result.scale), indent="")
    rows = [
        tuple(cell if len(cell) <= _LONGEST else f"{cell[: _LONGEST - 3]}..." for cell in each)
        for each in (HEAD, *(cells(v, units) for v in result.verdicts))
    ]
    heading, *balls = table(rows)
    lines += ["", heading]
    moved, sources = {m.seen_at: m for m in result.moved}, cited(result)
    for n, (line, v) in enumerate(zip(balls, result.verdicts, strict=True)):
        lines.append(line)
        for words in remarks(v, rules, units, sources):
            lines += wrap(words, "- ", "      ")
        if n in moved:
            lines += wrap(f"{moved_words(moved[n], result)}.", "! ")
    lines.append("")
    for number, source in enumerate(sources, 1):
        lines += wrap(source, f"[{number}] ", "")
    for words in (
        not_seen_words(result),
        "" if table_read is None else other_columns(table_read, COLUMNS),
    ):
        lines += wrap(words, indent="")
    lines += wrap(f"{CONFIRM} The event's officials have the last word.", indent="")
    return "\n".join(lines) + "\n"


def book_checks(result: CheckIn, day: str) -> list[Checked]:
    """What the shop's book keeps of a check-in: the balls that have a serial, and nobody's name."""
    from layoutkit.book.book import Checked

    return [
        Checked(v.entry.seen.serial, v.entry.ball, day, v.outcome, result.rules.name, **v.weights)
        for v in result.verdicts
        if v.entry.seen.serial
    ]


def noted_words(noted: int, new: int, without: int) -> str:
    """How many checks were noted in the book, how many of them are new, how many could not be."""
    left = f" Balls without a serial that are left out: {without}." if without else ""
    return f"Noted in the book: {noted} check{'' if noted == 1 else 's'}, {new} of them new.{left}"


def verdict_dict(v: Verdict, rules: RuleSet) -> dict[str, Any]:
    """One verdict as plain values, weights under the names of a plan's."""
    e = v.entry
    gross = v.weights.get("gross")
    return {
        "line": e.line,
        "number": e.number,
        "owner": e.owner,
        "ball": e.ball,
        "serial": e.seen.serial,
        "seen": e.seen._asdict(),
        "measured": {field: v.weights.get(name) for name, field in FIELDS.items()},
        "pairs": {
            FIELDS[name]: pair._asdict()
            | ({} if v.zero_error is not None else {"zero_error": None, "zero_error_sd": None})
            for name, pair in v.pairs.items()
        },
        "zero_error_oz": v.zero_error,
        "zero_error_sd_oz": v.zero_error_sd,
        "outcome": v.outcome,
        "checks": [{**c._asdict(), "rule": rule_words(c, gross, rules)} for c in v.checks],
        "missing": list(v.missing),
        "not_looked_at": list(v.not_seen),
        "to_decide": list(v.decides),
        "problems": list(e.problems),
        "questions": list(v.questions),
    }


def checkin_dict(result: CheckIn, table_read: Table | None = None) -> dict[str, Any]:
    """All verdicts as plain values; ``others`` are cells of the table that are kept as they stand."""
    rules, scale = result.rules, result.scale
    balls = [verdict_dict(v, rules) for v in result.verdicts]
    if table_read is not None:
        balls = [
            ball | {"others": dict(table_read.kept(row))}
            for ball, row in zip(balls, table_read.rows, strict=True)
        ]
    return {
        "format": FORMAT,
        "version": VERSION,
        "program": f"layoutkit {__version__}",
        "rules": {"name": rules.name, "title": rules.title, "in_force": rules.in_force},
        "scale": scale.model_dump(mode="json"),
        "outcome": result.outcome,
        "tally": result.tally,
        "scale_moved": [
            {
                "since": result.verdicts[m.since].entry.name,
                "seen_at": result.verdicts[m.seen_at].entry.name,
                "by_oz": m.by_oz,
                "words": moved_words(m, result),
            }
            for m in result.moved
        ],
        "balls": balls,
    }


def checkin_csv(result: CheckIn, read: Table) -> str:
    """The table that was read with the verdicts beside it, as CSV with its delimiter and decimal sign.

    Results of an earlier check are replaced, all other columns come back as they were.
    """
    kept = [n for n, heading in enumerate(read.headings) if heading not in RESULTS]
    moved = {m.seen_at: m for m in result.moved}
    rows = [
        [
            *(row.cells[n] for n in kept),
            *_results(v, result, moved_words(moved[n], result) if n in moved else "", read.comma),
        ]
        for n, (row, v) in enumerate(zip(read.rows, result.verdicts, strict=True))
    ]
    return table_text([*(read.headings[n] for n in kept), *RESULTS], rows, read.delimiter)


def _results(v: Verdict, result: CheckIn, moved: str, comma: bool) -> Sequence[str]:
    def number(value: float | None, places: int = 3) -> str:
        text = "" if value is None else f"{value:.{places}f}"
        return text.replace(".", ",") if comma else text

    limits = {c.name: c.limit for c in v.checks if c.name in STATICS and c.value is not None}
    rules = result.rules
    return (
        v.outcome,
        " ".join(reasons(v, rules, "decimal")),
        " ".join(v.decides),
        " ".join((*v.entry.problems, ", ".join(v.missing))).strip(),
        ", ".join(v.not_seen),
        " ".join(v.questions),
        number(v.weights.get("gross")),
        *(number(v.weights.get(name)) for name in STATICS),
        *(number(limits.get(name), 2) for name in STATICS),
        *(number(v.pairs[name].weight_sd if name in v.pairs else None) for name in STATICS),
        number(v.zero_error),
        number(v.zero_error_sd),
        moved,
        rules.name,
        rules.in_force,
    )
