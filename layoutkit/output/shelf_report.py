"""The balls of a shelf, ranked under a layout, as text and as plain values."""

from __future__ import annotations

from typing import Any

from layoutkit.bench.shelf import RANKING, Shelf, reason
from layoutkit.job.record import Job
from layoutkit.job.words import static_words
from layoutkit.output.report import ball_weight, table, wrap
from layoutkit.units import Units


def shelf_dict(shelf: Shelf) -> dict[str, Any]:
    """A ranked shelf as plain values."""
    ranked = [
        {
            "rank": i,
            "line": r.line,
            "name": r.plan.job.ball.name,
            "serial": r.plan.job.ball.serial,
            "outcome": r.plan.outcome,
            "reasons": list(r.plan.reasons),
            "limit_used": r.used,
            "limit_of": r.worst.name,
            "statics": {n: getattr(r.plan.statics, n) for n in ("top_oz", "side_oz", "finger_oz")},
            "weight_lb": r.plan.statics.weight_lb,
            "differential": None if r.plan.core is None else r.plan.inertia.differential,
            "reason": reason(r),
        }
        for i, r in enumerate(shelf.ranked, 1)
    ]
    return {
        "format": "layoutkit-shelf",
        "version": 2,
        "ranked": ranked,
        "unusable": [u._asdict() for u in shelf.unusable],
    }


def shelf_text(job: Job, shelf: Shelf, units: Units = "fraction") -> str:
    """A shelf, ranked under the layout of ``job``, as text."""
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
                static_words("side", s.side_oz, units),
                static_words("finger", s.finger_oz, units),
                static_words("top", s.top_oz, units),
                r.plan.outcome if r.plan.outcome == "pass" else r.plan.outcome.upper(),
            )
        )
    lines += ["", *table(rows, indent=""), ""]
    for i, r in enumerate(shelf.ranked, 1):
        lines += wrap(f"{r.plan.job.ball.name}: {reason(r, units)}", f"{i}. ")
    if shelf.unusable:
        lines += ["", "Not ranked:"]
        for u in shelf.unusable:
            lines += wrap(f"line {u.line}{f', {u.name}' if u.name else ''}: {u.reason}", "- ")
    lines += [""]
    lines += wrap(f"{RANKING} `layoutkit plan` has each ball's checks.", indent="")
    return "\n".join(lines) + "\n"
