"""The chance that the drilled ball is illegal, worked out a piece at a time between a window's events."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from layoutkit.errors import InputError
from layoutkit.planning.values import Plan

if TYPE_CHECKING:
    from layoutkit.planning.certainty import Drawn

KEY = "illegal"  # the key of its help text
LABEL = "Chance that the drilled ball is illegal"
WAITING = "Illegal: ..."
DEFAULTS = "The record has no tolerances: the documented defaults stand in for them."


@dataclass(frozen=True, slots=True)
class Odds:
    """The chance as text: ``text`` in a few letters, ``words`` in sentences."""

    text: str
    words: str


class OddsWork:
    """The seeded draws for one plan, in pieces of about 20 ms; `layoutkit sure` makes the same draws."""

    def __init__(self, plan: Plan) -> None:
        """Prepare the draws; the first `step` begins them."""
        from layoutkit.planning.certainty import gradually

        self._plan = plan
        self._drawing: Generator[int, None, Drawn] = gradually(plan.job)

    def step(self) -> Odds | None:
        """Draw one piece; returns the chance after the last piece, before it None."""
        try:
            next(self._drawing)
        except StopIteration as end:
            return odds(self._plan, end.value)
        except InputError as error:
            return Odds("Illegal: unknown", str(error))
        return None


def odds(plan: Plan, drawn: Drawn) -> Odds:
    """The chance that the ball is beyond a limit, and the checks that fail whatever the ball weighs."""
    from layoutkit.output.certainty_report import dropped_words
    from layoutkit.planning.certainty import Draws, illegal, limits, percent

    bounds = limits(plan.checks)
    chances = illegal(drawn, bounds)
    names = {c.name for c in plan.checks if c.name in ("gross", "top", "side", "finger")}
    certain = [c.name for c in plan.checks if c.outcome == "fail" and c.name not in names]
    whole = percent(chances.any, chances.draws)
    each = ", ".join(
        f"{c.name.rpartition('_')[0].replace('weight', 'gross')} {percent(c, chances.draws)}"
        for c in chances.each
    )
    lines = [
        f"Now: {whole}, from {chances.draws} draws (to within {100.0 * chances.any.error:.1f} %). "
        f"Beyond its own limit: {each}."
    ]
    if drawn.dropped:
        lines.append(dropped_words(Draws(drawn.dropped + chances.draws, drawn.dropped)))
    if certain:
        lines.append(f"Illegal whatever it weighs: {', '.join(certain)}.")
    short, by = whole.replace("under ", "<").replace("over ", ">"), ""
    if plan.job.tolerances is None:
        lines.append(DEFAULTS)
        by = " by defaults"
    return Odds("Surely illegal" if certain else f"Illegal: {short}{by}", "\n".join(lines))
