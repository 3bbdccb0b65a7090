"""Proposals of a ball and a layout in words and as plain values."""

from __future__ import annotations

import math
from typing import Any

from layoutkit.choosing.choose import Choice, Impossible, Proposal, Result
from layoutkit.choosing.figures import FAILS, FIGURES, NEAR, Wanted
from layoutkit.job.rules import STATICS
from layoutkit.job.tables import Table
from layoutkit.output.report import layout_words, rg_words, wrap
from layoutkit.planning.certainty import percent
from layoutkit.units import Units, format_length, format_ounces

PLACED = ("pin", "moved", "turned")  # wants about the place, which others are looked at within
ON_RULE = ("flare_width", "ring_spacing", "rings_clear", "marks_clear", "pin", "moved")


# --- in words -------------------------------------------------------------------------------------


def value_words(name: str, value: float, units: Units, signed: bool = False) -> str:
    """A figure with its unit, `3 1/2 in`, `0.045 in`, `+0.54 oz`; ``signed`` puts a plus before it."""
    if not math.isfinite(value):
        return "not known"
    figure = FIGURES[name]
    plus = "+" if signed and value > 0.0 else ""
    if name in ON_RULE:
        return plus + format_length(value, units)
    if figure.unit == "in":
        return rg_words(value, units, signed, places=3)
    if figure.unit == "oz":
        return format_ounces(value, units, signed=True)
    return f"{plus}{value:z.1f} {figure.unit}"


def pair_words(name: str, low: float, high: float, units: Units) -> str:
    """A figure, or its range where it is one."""
    first, last = (value_words(name, value, units) for value in (low, high))
    return first if first == last else f"{first.rsplit(' ', 1)[0]} to {last}"


def want_words(want: Wanted, units: Units) -> str:
    """What is wanted: `flare width from 4 to 5 in`, `side weight at most +0.50 oz`."""
    words = want.figure.words
    if want.name == FAILS:
        return words
    if want.name == "pin":
        return "the pin in its region"
    signed = want.than is not None
    least, most = (
        "" if end is None else value_words(want.name, end, units, signed)
        for end in (want.least, want.most)
    )
    if least and most:
        words += f" from {least.rsplit(' ', 1)[0]} to {most}"
    else:
        words += f" at least {least}" if least else f" at most {most}"
    return f"{words} against {want.than}" if want.than else words


def result_words(result: Result, units: Units) -> str:
    """How a layout stands to a want."""
    want, name = result.want, result.want.name
    if name == FAILS:
        return "not legal" if result.low > 0.0 else "legal"
    if name == "pin":
        return (
            "the pin in its region"
            if result.met
            else f"the pin {value_words(name, result.low, units)} outside its region"
        )
    words = f"{want.figure.words} {pair_words(name, result.low, result.high, units)}"
    if result.apart is not None:
        sure = value_words(name, result.apart.uncertainty, units)
        words += (
            f" ({value_words(name, result.apart.value, units, True)} +/- {sure} against {want.than}"
        )
        words += ")" if result.told_apart else ": not told apart)"
    return words


def reason_words(proposal: Proposal, units: Units) -> str:
    """In one line, what speaks for a proposal: the wants that it meets."""
    met = [result_words(r, units) for r in proposal.results if r.met]
    return "; ".join(met) or "none of what was wanted"


def limit_words(proposal: Proposal, units: Units) -> str:
    """What limits a proposal: the want that it only just meets, and the static limit most used."""
    parts = []
    tight = [(room(r), r) for r in proposal.results if r.met and math.isfinite(room(r))]
    if tight:
        _, nearest = min(tight, key=lambda each: each[0])
        parts.append(f"nearest to its end is {want_words(nearest.want, units)}")
    share = 100.0 * proposal.limit_used
    parts.append(f"most used is the limit of the {proposal.limit_of} weight, {share:.0f} %")
    return "; ".join(parts)


def room(result: Result) -> float:
    """How many steps are left to the nearer end of a want; infinite where it has none."""
    want = result.want
    if want.name in (FAILS, "pin"):
        return math.inf
    low, high = result.low - want.base, result.high - want.base
    ends = []
    if want.least is not None:
        ends.append(low - want.least)
    if want.most is not None:
        ends.append(want.most - high)
    return min(ends, default=math.inf) / want.figure.step


def cost_words(proposal: Proposal, first: bool, units: Units) -> str:
    """What a proposal costs: the wants that it misses, and how it stands to the best."""
    missed = [
        f"{want_words(r.want, units)}, it has {result_words(r, units)}"
        for r in proposal.results
        if not r.met
    ]
    words = f"misses {'; '.join(missed)}" if missed else "misses nothing"
    if first:
        return words
    if proposal.tied:
        return f"{words}; the wants do not tell it from the best"
    if proposal.dearer <= NEAR:
        return f"{words}; its musts are missed by more than the best's"
    return f"{words}; costs {proposal.dearer:.2f} more than the best"


def drop_words(choice: Choice, units: Units) -> str:
    """That no layout meets every must, and which the nearest drops; empty where one meets all."""
    if not choice.proposals:
        return "No layout was found."
    dropped = choice.proposals[0].dropped
    if not dropped:
        return ""
    named = [want_words(w, units) for w in choice.wants if w.must and w.name in dropped]
    what = "No layout is legal" if FAILS in dropped else "No layout meets every must"
    return f"{what}: the nearest drops {' and '.join(named)}."


def impossible_words(each: Impossible, choice: Choice, units: Units) -> str:
    """That no ball meets a want, and what is possible; of a shot's figure, by how many shots."""
    balls = choice.balls
    where = "on this ball" if balls == 1 else f"on any of {balls} balls"
    asked = want_words(each.want, units)
    if each.want.name == FAILS:
        return f"No layout is legal {where}."
    if each.want.name not in PLACED and any(w.must and w.name in PLACED for w in choice.wants):
        where += " with pin and mark where they must be"
    possible = pair_words(each.want.name, each.low, each.high, units)
    if each.want.than is not None:
        low, high = each.low - each.want.base, each.high - each.want.base
        possible = " to ".join(value_words(each.want.name, v, units, True) for v in (low, high))
    rolled = f", of the {choice.rolled} layouts rolled" if each.want.figure.lane else ""
    return f"Not possible {where}: {asked}; possible{rolled}: {possible}."


def choose_text(
    choice: Choice,
    units: Units = "fraction",
    table: Table | None = None,
    number: int = 1,
    note: bool = True,
) -> str:
    """What was found as text; ``table`` is that of the balls, whose other columns come along.

    The best proposal has this ``number``; ``note`` says how the order comes about.
    """
    kept = {} if table is None else {row.line: table.kept(row) for row in table.rows}
    bowler = "" if not choice.proposals else choice.proposals[0].plan.job.bowler.name
    lines = wrap(
        f"Layouts for {bowler or 'the bowler'}: {len(choice.proposals)} of {choice.tried} that were "
        f"computed on {_balls(choice.balls)}, {choice.rolled} of them rolled",
        indent="",
    )
    wanted = [
        want_words(w, units) + ("" if w.weight is None else f" (a wish of weight {w.weight:g})")
        for w in choice.wants
    ]
    lines += wrap(f"Wanted: {'; '.join(wanted)}.", indent="")
    for each in choice.impossible:
        lines += wrap(impossible_words(each, choice, units), indent="")
    drops = drop_words(choice, units)
    lines += wrap(drops, indent="") if drops else []
    for n, proposal in enumerate(choice.proposals, number):
        lines += ["", *_proposal(proposal, n, n == number, units)]
        own = "; ".join(f"{head} {cell}" for head, cell in kept.get(proposal.line, ()) if cell)
        lines += wrap(own, "   ", indent="") if own else []
    if choice.unusable:
        lines += ["", "Not looked at:"]
        for u in choice.unusable:
            lines += wrap(f"line {u.line}{f', {u.name}' if u.name else ''}: {u.reason}", "- ")
    lines += ["", *wrap(NOTE, indent="")] if note else []
    return "\n".join(lines) + "\n"


NOTE = (
    "Each was planned again from the figures that are printed. A wish costs its weight times the square "
    "of how many steps it is missed by; a step is a convention (1/2 in of flare, 0.25 oz, 0.005 in of "
    "differential, a board). Of what the wants do not tell apart, first comes what uses less than half "
    "of each static limit, then what is nearer to the record's own layout. Shots are all under one "
    "release and lane; they compare layouts and promise no score. Where a want needs one, most layouts "
    "are judged by the shots of some, so that a better one may be passed over. The chance is under the "
    "record's tolerances, or the documented ones."
)


def _balls(count: int) -> str:
    return "one ball" if count == 1 else f"{count} balls"


def _proposal(proposal: Proposal, n: int, best: bool, units: Units) -> list[str]:
    plan = proposal.plan
    verdict = plan.outcome if plan.outcome == "pass" else plan.outcome.upper()
    tie = " (tied)" if proposal.tied else ""
    head = f"{plan.job.ball.name or 'The ball'}: {layout_words(plan, units)} {verdict}{tie}"
    lines = wrap(head, f"{n}. ", indent="")
    chance = percent(proposal.chance.any, proposal.chance.draws)
    for label, words in (
        ("for it", reason_words(proposal, units)),
        ("limits", limit_words(proposal, units)),
        ("cost", cost_words(proposal, best, units)),
        ("illegal", f"{chance} of balls drilled like this"),
    ):
        lines += wrap(words, f"   {label:8}", indent="")
    return lines


# --- as values ------------------------------------------------------------------------------------


def choose_dict(choice: Choice, table: Table | None = None) -> dict[str, Any]:
    """What was found as plain values at full precision."""
    kept = {} if table is None else {row.line: dict(table.kept(row)) for row in table.rows}
    return {
        "format": "layoutkit-choice",
        "version": 1,
        "wants": [w._asdict() for w in choice.wants],
        "proposals": [
            _proposal_dict(p, kept.get(p.line, {})) for p in choice.proposals
        ],
        "impossible": [
            {"name": i.want.name, "low": i.low, "high": i.high} for i in choice.impossible
        ],
        "possible": {name: list(ends) for name, ends in choice.possible.items()},
        "unusable": [u._asdict() for u in choice.unusable],
        "tried": choice.tried,
        "rolled": choice.rolled,
        "balls": choice.balls,
    }  # fmt: skip


def _proposal_dict(p: Proposal, others: dict[str, str]) -> dict[str, Any]:
    pin, layout = p.plan.marks.pin, p.layout
    return {
        "line": p.line,
        "ball": p.plan.job.ball.name,
        "serial": p.plan.job.ball.serial,
        "layout": {"pin_over": pin.over, "pin_up": pin.up, "bearing": layout.bearing},
        "outcome": p.plan.outcome,
        "results": [
            {
                "name": r.want.name,
                "must": r.want.must,
                "low": _finite(r.low),
                "high": _finite(r.high),
                "met": r.met,
                "miss": r.miss,
                "difference": None if r.apart is None else r.apart._asdict(),
                "told_apart": r.told_apart,
            }
            for r in p.results
        ],
        "dropped": list(p.dropped),
        "cost": p.cost,
        "dearer": p.dearer,
        "tied": p.tied,
        "illegal": p.chance.any.chance,
        "limit_of": p.limit_of,
        "limit_used": p.limit_used,
        "statics": {f"{n}_oz": getattr(p.plan.statics, f"{n}_oz") for n in STATICS},
        "others": others,
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
