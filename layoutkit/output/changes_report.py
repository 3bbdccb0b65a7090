"""What would bring a plan inside the rules, as text and as plain values."""

from __future__ import annotations

from typing import Any

from layoutkit.bench.shelf import OtherBall, Shelf, difference_words, other_balls, reason
from layoutkit.job.rules import DRILLABLE, YES_NO
from layoutkit.job.words import check_words
from layoutkit.output.report import wrap
from layoutkit.planning.changes import BALL, COMPETITION, Found, effort, words
from layoutkit.planning.values import Plan


def changes_text(plan: Plan, search: Found, shelf: Shelf | None = None) -> str:
    """The changes that would do, the fewest kinds first; ``shelf`` holds balls to take instead."""
    lines = [f"What to change: {plan.job.title or 'the plan'} ({plan.outcome})", ""]
    if plan.outcome == "pass":
        lines.append("Nothing: the plan is inside every limit that was checked.")
        return "\n".join(lines) + "\n"
    if plan.marks.pap is None:
        lines += wrap("Depths alone were searched: other layouts are told from the PAP.", "", "")
    offers = search.offers
    if search.not_mended:
        lines.append("No change of depths or layout mends this:")
        for sentence in not_mended_words(plan, search):
            lines += wrap(sentence, "- ", indent="")
    elif not offers:
        so_far = "" if search.seconds is None else " so far"
        lines.append(
            f"No change of depths and layout within reach{so_far} brings this plan inside."
        )
    least_cost = min((offer.cost for offer in offers), default=0.0)
    for number, offer in enumerate(offers, 1):
        least = ", the least" if offer.cost == least_cost and len(offers) > 1 else ""
        lines += wrap(f"{number}. {words(offer)} ({effort(offer)}{least})", "", "   ")
        lines += wrap(f"then {_statics(offer.plan)}: {offer.plan.outcome}", "   ", "   ")
    if search.seconds is not None:
        lines += wrap(stopped(search), "", "")
    lines.append("")
    lines += wrap(BALL, "", "") if shelf is None else _balls_text(shelf, _others(plan, shelf))
    lines += wrap(COMPETITION, "", "")
    lines += wrap("The least: by the sum of (change / tolerance of that quantity) squared.", "", "")
    return "\n".join(lines) + "\n"


def changes_dict(plan: Plan, search: Found, shelf: Shelf | None = None) -> dict[str, Any]:
    """The same as plain values; ``balls`` and ``unusable`` where there is a shelf."""
    values: dict[str, Any] = {
        "format": "layoutkit-changes",
        "version": 2,
        "title": plan.job.title,
        "outcome": plan.outcome,
        "changes": [
            {
                "kind": offer.kind,
                "by": dict(offer.by),
                "cost": offer.cost,
                **_result(offer.plan),
            }
            for offer in search.offers
        ],
        "not_mended": [check._asdict() for check in search.not_mended],
        "stopped": None if search.seconds is None else stopped(search),
    }
    if shelf is not None:
        values["balls"] = _balls_list(_others(plan, shelf))
        values["unusable"] = [row._asdict() for row in shelf.unusable]
    return values


def not_mended_words(plan: Plan, search: Found) -> tuple[str, ...]:
    """The checks that no change of depths or layout mends, a sentence or two each."""
    lines: list[str] = []
    for check in search.not_mended:
        if check.name == DRILLABLE:
            lines += plan.reasons
        elif check.unit == YES_NO:
            lines.append(f"{check.name}: is missing; give it.")
        else:
            value = check_words(check, check.value)
            limit = check_words(check, check.limit)
            lines.append(f"{check.name}: {value} against {limit} ({check.outcome}).")
    return tuple(lines)


def stopped(search: Found) -> str:
    """The sentence that says where a search ended early."""
    parts = [
        f"{words}: {', '.join(kinds)}"
        for words, kinds in (
            ("not looked at", search.untouched),
            ("looked at in part", search.in_part),
        )
        if kinds
    ]
    return f"The search was stopped after {search.seconds:g} s; {'; '.join(parts)}."


def _others(plan: Plan, shelf: Shelf) -> tuple[OtherBall, ...]:
    return () if plan.outcome == "pass" else other_balls(plan.job, shelf)


def _result(plan: Plan) -> dict[str, Any]:
    return {
        "layout": plan.layout._asdict(),
        "statics": {k: getattr(plan.statics, k) for k in ("side_oz", "finger_oz", "top_oz")},
        "outcome": plan.outcome,
    }


def _statics(plan: Plan) -> str:
    s = plan.statics
    return f"side {s.side_oz:.2f}, finger {s.finger_oz:.2f}, top {s.top_oz:.2f} oz"


def _balls_list(others: tuple[OtherBall, ...]) -> list[dict[str, Any]]:
    return [
        {
            "line": other.ball.line,
            "name": other.ball.plan.job.ball.name,
            "by": dict(other.differences),
            "not_compared": list(other.unknown),
            "cost": other.cost,
            "reason": reason(other.ball),
            **_result(other.ball.plan),
        }
        for other in others
    ]


def _balls_text(shelf: Shelf, others: tuple[OtherBall, ...]) -> list[str]:
    """The other balls on which the layout passes, the likest label first."""
    lines = ["Another ball from the shelf, with this layout"]
    if not others:
        lines.append("   The layout passes on none of them.")
    for number, other in enumerate(others, 1):
        name = other.ball.plan.job.ball.name
        lines += wrap(f"{number}. {name}: {difference_words(other)}", "", "   ")
        lines += wrap(f"then {_statics(other.ball.plan)}; {reason(other.ball)}", "   ", "   ")
    rest = len(shelf.ranked) - len(others)
    if rest:
        lines.append(f"It does not pass on {rest} of {len(shelf.ranked)}.")
    for row in shelf.unusable:
        name = f", {row.name}" if row.name else ""
        lines += wrap(f"line {row.line}{name}: {row.reason}", "- ", "  ")
    return [*lines, ""]
