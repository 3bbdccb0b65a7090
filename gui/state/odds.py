"""The chance that the drilled ball is illegal, worked out a piece at a time between a window's events."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass

from layoutkit.errors import InputError
from layoutkit.planning.certainty import Drawn, gradually, illegal, limits, percent
from layoutkit.planning.values import Plan

KEY = "illegal"  # of its explanation
LABEL = "Chance that the drilled ball is illegal"
WAITING = "Illegal: ..."
DEFAULTS = "The record has no tolerances: the documented defaults are taken."


@dataclass(frozen=True, slots=True)
class Odds:
    """A chance as text: in a few letters, and at length what it is made of."""

    text: str
    words: str


class OddsWork:
    """The seeded draws for one plan; the same as `layoutkit sure` takes, in pieces of some 20 ms."""

    def __init__(self, plan: Plan) -> None:
        """Nothing is drawn yet."""
        self._plan = plan
        self._drawing: Generator[int, None, Drawn] = gradually(plan.job)

    def step(self) -> Odds | None:
        """Draw one piece; the chance once all are drawn."""
        try:
            next(self._drawing)
        except StopIteration as end:
            return odds(self._plan, end.value)
        except InputError as error:
            return Odds("Illegal: unknown", str(error))
        return None


def odds(plan: Plan, drawn: Drawn) -> Odds:
    """What the draws say about a plan's limits, and whether it fails whatever it weighs."""
    bounds = limits(plan.checks)
    found = illegal(drawn, bounds)
    names = {c.name for c in plan.checks if c.name in ("gross", "top", "side", "finger")}
    certain = [c.name for c in plan.checks if c.outcome == "fail" and c.name not in names]
    if plan.do_not_drill:
        certain.insert(0, "a hole comes out of the far side")
    whole = percent(found.any, found.draws)
    each = ", ".join(
        f"{c.name.rpartition('_')[0].replace('weight', 'gross')} {percent(c, found.draws)}"
        for c in found.each
    )
    lines = [
        f"Now: {whole}, from {found.draws} draws (to within {100.0 * found.any.error:.1f} %). "
        f"Beyond its own limit: {each}."
    ]
    if certain:
        lines.append(f"Illegal whatever it weighs: {', '.join(certain)}.")
    short, by = whole.replace("under ", "<").replace("over ", ">"), ""
    if plan.job.tolerances is None:
        lines.append(DEFAULTS)
        by = " by defaults"
    return Odds("Surely illegal" if certain else f"Illegal: {short}{by}", "\n".join(lines))
