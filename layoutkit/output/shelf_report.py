"""The balls of a shelf, ranked under a layout, as text and as plain values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from layoutkit.bench.shelf import (
    COLUMNS,
    RANKING,
    UNCALIBRATED_RANKING,
    Shelf,
    reason,
    static_range,
)
from layoutkit.job.record import Job
from layoutkit.job.rules import STATICS
from layoutkit.job.tables import Table, nearest_name
from layoutkit.job.words import static_words
from layoutkit.output.report import ball_weight, table, wrap
from layoutkit.planning.values import Plan
from layoutkit.units import Units, format_ounces, shown


def static_cell(plan: Plan, name: str, units: Units = "fraction") -> str:
    """A static weight for a narrow column: `0.54 oz positive side`, or while the scale's arm is not
    calibrated its signed range, `+0.31 to +0.54 oz`.
    """
    value: float | None = getattr(plan.statics, f"{name}_oz")
    ends = static_range(plan, name)
    if value is None or ends is None or plan.statics.calibrated:
        return static_words(name, value, units)
    low, high = (format_ounces(end, units, signed=True) for end in ends)
    return high if low == high else f"{low.split()[0]} to {high}"


def _with_default(plan: Plan, name: str, units: Units) -> str:
    """A `static_cell` with the value at the default arm beside a range."""
    value: float | None = getattr(plan.statics, f"{name}_oz")
    cell = static_cell(plan, name, units)
    if value is None or " to " not in cell:
        return cell
    return f"{cell} ({format_ounces(value, units, signed=True).split()[0]})"


def ranking_words(shelf: Shelf) -> str:
    """By what the balls are ranked, and whose arm's range the static weights are judged over."""
    open_arm = any(not r.plan.statics.calibrated for r in shelf.ranked)
    return f"{RANKING} {UNCALIBRATED_RANKING}" if open_arm else RANKING


def _kept(table: Table | None) -> dict[int, tuple[tuple[str, str], ...]]:
    """The cells of a table that are kept as they stand, by line."""
    return {} if table is None else {row.line: table.kept(row) for row in table.rows}


def other_columns(table: Table, possible: Sequence[str]) -> str:
    """A sentence on the columns that are kept as they stand, empty without any.

    Of one that is probably misspelt it says what may be meant.
    """
    parts = []
    for heading in table.others:
        near = nearest_name(heading, [name for name in possible if name not in table.names])
        parts.append(shown(heading, 30) + (f" ({near}?)" if near else ""))
    return f"Columns that are kept as they stand: {', '.join(parts)}." if parts else ""


def shelf_dict(shelf: Shelf, table: Table | None = None) -> dict[str, Any]:
    """A ranked shelf as plain values; ``others`` are the cells of its table that are no label's."""
    others = _kept(table)
    ranked = [
        {
            "rank": i,
            "line": r.line,
            "name": r.plan.job.ball.name,
            "serial": r.plan.job.ball.serial,
            "outcome": r.plan.outcome,
            "reasons": list(r.plan.reasons),
            "limit_used": r.limit_used,
            "limit_of": r.limit_of,
            "statics": {f"{n}_oz": getattr(r.plan.statics, f"{n}_oz") for n in STATICS},
            "range": {f"{n}_oz": static_range(r.plan, n) for n in STATICS},
            "calibrated": r.plan.statics.calibrated,
            "weight_lb": r.plan.statics.weight_lb,
            "differential": None if r.plan.core is None else r.plan.inertia.differential,
            "reason": reason(r),
            "others": dict(others.get(r.line, ())),
        }
        for i, r in enumerate(shelf.ranked, 1)
    ]
    return {
        "format": "layoutkit-shelf",
        "version": 2,
        "ranked": ranked,
        "unusable": [u._asdict() for u in shelf.unusable],
    }


def shelf_text(
    job: Job, shelf: Shelf, units: Units = "fraction", table_read: Table | None = None
) -> str:
    """A shelf, ranked under the layout of ``job``, as text; with what else its table has."""
    others = _kept(table_read)
    who = job.bowler.name or "the bowler"
    lines = wrap(f"The layout of {job.title or who} on {len(shelf.ranked)} balls", indent="")
    rows = [("", "ball", "gross", "side", "finger/thumb", "top", "")]
    for i, r in enumerate(shelf.ranked, 1):
        s, ball = r.plan.statics, r.plan.job.ball
        rows.append(
            (
                f"{i}.",
                ball.name if len(ball.name) <= 28 else ball.name[:25] + "...",
                ball_weight(s.weight_lb, units),
                _with_default(r.plan, "side", units),
                _with_default(r.plan, "finger", units),
                _with_default(r.plan, "top", units),
                r.plan.outcome if r.plan.outcome == "pass" else r.plan.outcome.upper(),
            )
        )
    lines += ["", *table(rows, indent=""), ""]
    for i, r in enumerate(shelf.ranked, 1):
        lines += wrap(f"{r.plan.job.ball.name}: {reason(r, units)}", f"{i}. ")
        own = "; ".join(f"{head} {cell}" for head, cell in others.get(r.line, ()) if cell)
        lines += wrap(own, "   ") if own else []
    if shelf.unusable:
        lines += ["", "Not ranked:"]
        for u in shelf.unusable:
            lines += wrap(f"line {u.line}{f', {u.name}' if u.name else ''}: {u.reason}", "- ")
    lines += [""]
    if table_read is not None:
        lines += wrap(other_columns(table_read, COLUMNS), indent="")
    if any(not r.plan.statics.calibrated for r in shelf.ranked):
        lines += wrap(
            "Beside each range of a static weight stands its value at the default arm; side, finger "
            "and top weight are positive.",
            indent="",
        )
    lines += wrap(f"{ranking_words(shelf)} `layoutkit plan` has each ball's checks.", indent="")
    return "\n".join(lines) + "\n"
