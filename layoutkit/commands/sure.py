"""The commands `sure`, `change` and `map`: how certain a plan is, what would help, what layouts do."""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.bench.shelf import OtherBall, Shelf
    from layoutkit.planning.certainty import Chance, Spread
    from layoutkit.planning.values import Plan

NOT_ASKED = "The record has no tolerances: the documented defaults are taken."


def sure_text(plan: Plan, spreads: dict[str, Spread], found: tuple[Chance, ...]) -> str:
    """How certain a plan is, as text; `spreads` as `certainty.linear` gives them."""
    from layoutkit.output.report import table, wrap

    lines = [f"How sure: {plan.job.title or 'the plan'}", ""]
    if plan.job.tolerances is None:
        lines += [*wrap(NOT_ASKED, "", ""), ""]
    rows = [("", "value +/- two standard deviations", "most of it from")]
    for name, value, unit, places in figures(plan):
        spread = spreads[name]
        most = ", ".join(f"{w} {100.0 * share:.0f}%" for w, share in spread.shares[:2])
        text = f"{value:.{places}f} +/- {spread.uncertainty:.{places}f} {unit}"
        rows.append((name.removesuffix("_oz").removesuffix("_lb").replace("_", " "), text, most))
    lines += [*table(rows), "", "Chance that the event's scale reads beyond the limit"]
    for c in found:
        unit = "lb" if c.name == "weight_lb" else "oz"
        lines.append(
            f"  {c.name.removesuffix('_oz').removesuffix('_lb'):<8}{100.0 * c.chance:5.1f} %  "
            f"(limit {c.limit:g} {unit}, sampling error +/- {100.0 * c.error:.1f} %)"
        )
    return "\n".join(lines) + "\n"


def figures(plan: Plan) -> list[tuple[str, float, str, int]]:
    """The plan's figures that have an uncertainty: name, value, unit, decimals."""
    s, i, d, n = plan.statics, plan.inertia, plan.distances, plan.layout
    found: list[tuple[str, float | None, str, int]] = [
        ("weight_lb", s.weight_lb, "lb", 3),
        *((k, getattr(s, k), "oz", 2) for k in ("top_oz", "side_oz", "finger_oz")),
        *((k, getattr(i, k), "in", 4) for k in ("rg_low", "rg_mid", "rg_high")),
        *((k, getattr(i, k), "in", 4) for k in ("differential", "intermediate_differential")),
        *((k, getattr(n, k), "in", 2) for k in ("pin_to_pap", "psa_to_pap", "pin_to_val")),
        *((k, v, "in", 2) for k, v in d._asdict().items()),
    ]
    return [(k, v, unit, places) for k, v, unit, places in found if v is not None]


def run_sure(plan: Plan, json: bool, draws: int) -> str | dict[str, Any]:
    """The certainty of a plan, as text or as plain values."""
    from layoutkit.planning import certainty

    spreads = certainty.linear(plan.job)
    drawn = certainty.monte_carlo(plan.job, draws)
    found = certainty.chances(drawn, certainty.limits(plan.checks))
    if not json:
        return sure_text(plan, spreads, found)
    return {
        "format": "layoutkit-certainty",
        "version": 1,
        "title": plan.job.title,
        "tolerances": certainty.tolerances(plan.job).model_dump(),
        "figures": {
            name: {
                "value": value,
                "uncertainty": spreads[name].uncertainty,
                "unit": unit,
                "shares": dict(spreads[name].shares),
            }
            for name, value, unit, _ in figures(plan)
        },
        "chances": {
            c.name: {"limit": c.limit, "chance": c.chance, "error": c.error} for c in found
        },
        "outcome": plan.outcome,
    }


def draws(text: str) -> int:
    """The number of draws that --draws asks for."""
    if not text.isascii() or not text.isdigit() or not 100 <= int(text[:9]) <= 100_000:
        raise InputError(f"--draws: {text[:40]!r} is not possible; possible: 100 to 100000.")
    return int(text)


# --- change ---------------------------------------------------------------------------------------


def run_change(now: Plan, json: bool, shelf: Shelf | None = None) -> str | dict[str, Any]:
    """What would bring a plan inside, as text or as plain values; ``shelf`` are balls to take instead."""
    from layoutkit.output.report import wrap
    from layoutkit.planning import changes

    found = changes.offers(now)
    others: tuple[OtherBall, ...] = ()
    if shelf is not None and now.outcome != "pass":
        from layoutkit.bench.shelf import other_balls

        others = other_balls(now.job, shelf)
    if json:
        told: dict[str, Any] = {
            "format": "layoutkit-changes",
            "version": 1,
            "title": now.job.title,
            "outcome": now.outcome,
            "changes": [
                {"kind": o.kind, "by": dict(o.changes), "cost": o.cost, **_then(o.plan)}
                for o in found
            ],
        }
        if shelf is not None:
            told["balls"] = _balls_json(others)
            told["unusable"] = [u._asdict() for u in shelf.unusable]
        return told
    lines = [f"What to change: {now.job.title or 'the plan'} ({now.outcome})", ""]
    if now.outcome == "pass":
        return (
            "\n".join([*lines, "Nothing: the plan is inside every limit that was checked."]) + "\n"
        )
    if not found:
        lines.append("No change of depths and layout within reach brings this plan inside.")
    least = min((o.cost for o in found), default=0.0)
    for rank, o in enumerate(found, 1):
        cheapest = ", the least" if o.cost == least and len(found) > 1 else ""
        lines += wrap(f"{rank}. {changes.words(o)} (cost {o.cost:.1f}{cheapest})", "", "   ")
        lines += wrap(f"then {_statics(o.plan)}: {o.plan.outcome}", "   ", "   ")
    lines.append("")
    lines += wrap(changes.BALL, "", "") if shelf is None else _balls_text(shelf, others)
    lines += wrap(changes.COMPETITION, "", "")
    lines += wrap("Cost: the sum of (change / tolerance of that quantity) squared.", "", "")
    return "\n".join(lines) + "\n"


def _then(plan: Plan) -> dict[str, Any]:
    return {
        "layout": plan.layout._asdict(),
        "statics": {k: getattr(plan.statics, f"{k}_oz") for k in ("top", "side", "finger")},
        "outcome": plan.outcome,
    }


def _statics(plan: Plan) -> str:
    s = plan.statics
    return f"side {s.side_oz:.2f}, finger {s.finger_oz:.2f}, top {s.top_oz:.2f} oz"


def _balls_json(others: tuple[OtherBall, ...]) -> list[dict[str, Any]]:
    from layoutkit.bench.shelf import reason

    return [
        {
            "line": o.ball.line,
            "name": o.ball.plan.job.ball.name,
            "by": dict(o.differences),
            "not_compared": list(o.unknown),
            "cost": o.cost,
            "reason": reason(o.ball),
            **_then(o.ball.plan),
        }
        for o in others
    ]


def _balls_text(shelf: Shelf, others: tuple[OtherBall, ...]) -> list[str]:
    """The other balls on which the layout passes, the likest label first."""
    from layoutkit.bench.shelf import difference_words, reason
    from layoutkit.output.report import wrap

    lines = ["Another ball from the shelf, with this layout"]
    if not others:
        lines.append("   The layout passes on none of them.")
    for rank, o in enumerate(others, 1):
        name = o.ball.plan.job.ball.name
        lines += wrap(f"{rank}. {name}: {difference_words(o)} (cost {o.cost:.1f})", "", "   ")
        lines += wrap(f"then {_statics(o.ball.plan)}; {reason(o.ball)}", "   ", "   ")
    rest = len(shelf.ranked) - len(others)
    if rest:
        lines.append(f"It does not pass on {rest} of {len(shelf.ranked)}.")
    for u in shelf.unusable:
        lines += wrap(f"line {u.line}{f', {u.name}' if u.name else ''}: {u.reason}", "- ", "  ")
    return [*lines, ""]


# --- map ------------------------------------------------------------------------------------------


def map_arguments(p: argparse.ArgumentParser) -> None:
    """What `map` takes beside the job."""
    p.add_argument("--out", metavar="OUT.pdf", required=True, help="the maps: OUT.pdf or OUT.png")
    p.add_argument("--drilling", metavar="FROM:TO", help="drilling angles, degrees")
    p.add_argument("--val", metavar="FROM:TO", help="VAL angles, degrees")
    p.add_argument(
        "--pin-to-pap", metavar="FROM:TO", help="arcs, a page each half inch; one value: one page"
    )
    p.add_argument("--step", metavar="DEGREES", default="1", help="between angles (default: 1)")


def run_map(now: Plan, args: argparse.Namespace) -> str:
    """Sweep, draw, write; what was done as text."""
    from layoutkit.job.rules import CLOSE, FAIL
    from layoutkit.output import maps

    step = _number("--step", args.step, "degrees")
    if not 0.1 <= step <= 30.0:
        raise InputError(f"--step: {args.step} is not possible; possible: 0.1 to 30 degrees.")
    drilling, val, arcs = maps.default_ranges(now, step)
    if args.drilling is not None:
        drilling = maps.stepped(
            *_range("--drilling", args.drilling, "degrees", -180.0, 180.0), step
        )
    if args.val is not None:
        val = maps.stepped(*_range("--val", args.val, "degrees", -180.0, 180.0), step)
    if args.pin_to_pap is not None:
        most = math.floor(1000.0 * math.pi * now.radius) / 1000.0
        low, high = _range("--pin-to-pap", args.pin_to_pap, "in", 0.0, most, single=True)
        arcs = maps.stepped(low, high, 0.5) if high > low else arcs[:1] * 0.0 + low
    ranges = maps.Ranges(drilling, val, arcs)
    maps.check_name(args.out, len(arcs))
    begun = time.perf_counter()
    found = maps.layout_map(now, ranges, _progress())
    took = time.perf_counter() - begun
    maps.write(found, args.out)
    n = len(found.swept.verdict)
    fails = int((found.swept.verdict == FAIL).sum())
    close = int((found.swept.verdict == CLOSE).sum())
    return (
        f"{n} layouts in {took:.2f} s: {fails} fail the rules, {close} are close.\n"
        f"Maps written to {args.out}\n{maps.FLARE}\n"
    )


def _progress() -> Callable[[int, int], None]:
    """Shows a bar on standard error once a second has gone by, where that is a terminal."""
    begun = time.perf_counter()

    def told(done: int, whole: int) -> None:
        if sys.stderr is None or not sys.stderr.isatty() or time.perf_counter() - begun < 1.0:
            return
        filled = 40 * done // whole
        end = "\n" if done == whole else ""
        sys.stderr.write(f"\r[{'#' * filled}{'.' * (40 - filled)}] {done} of {whole}{end}")
        sys.stderr.flush()

    return told


def _number(option: str, text: str, unit: str) -> float:
    from layoutkit.units import parse_quantity

    try:
        return parse_quantity(text, unit)
    except InputError as error:
        raise InputError(error.words, option) from None


def _range(
    option: str, text: str, unit: str, low: float, high: float, single: bool = False
) -> tuple[float, float]:
    first, colon, last = text.partition(":")
    start = _number(option, first, unit)
    end = _number(option, last, unit) if colon else start
    if not low <= start <= end <= high or (start == end and not single):
        raise InputError(
            f"{option}: {text[:40]!r} is not possible; possible: FROM:TO with {low:g} to {high:g}, "
            "FROM less than TO."
        )
    return start, end
