"""Which of a shop's own bits cuts a hole: the one of that size, else the two nearest to it. Inches."""

from __future__ import annotations

from collections.abc import Iterator

from layoutkit.job.shop import SAME_BIT, Bit
from layoutkit.planning.values import Plan
from layoutkit.units import Units, format_length


def bit_for(plan: Plan, diameter: float) -> Bit | None:
    """The shop's bit of this diameter; None where it owns none, or where its bits are not known."""
    return next((bit for bit in plan.bits if abs(bit.size - diameter) < SAME_BIT), None)


def missing_bits(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """What today's cuts need and the shop's file does not list, each with the nearest two it lists."""
    sentences = []
    for names, diameter in _diameters(plan).items():
        if plan.bits and bit_for(plan, diameter) is None:
            near = sorted(plan.bits, key=lambda bit: abs(bit.size - diameter))[:2]
            nearest = " and ".join(bit.name for bit in sorted(near, key=lambda bit: bit.size))
            size = format_length(diameter, units)
            sentences.append(
                f"No bit of {size} is in the shop's file ({names}): nearest {nearest}."
            )
    return tuple(sentences)


def _diameters(plan: Plan) -> dict[str, float]:
    """The diameters that today's cuts need, by what they are for."""
    holes: dict[float, list[str]] = {}
    for what, diameter in _cuts(plan):
        holes.setdefault(diameter, []).append(what)
    return {", ".join(names): diameter for diameter, names in holes.items()}


def _cuts(plan: Plan) -> Iterator[tuple[str, float]]:
    for hole in plan.in_order:
        if hole.bore is not None:
            yield f"bore {hole.name}", hole.bore.diameter
    for hole in filter(plan.finished_at_the_press, plan.in_order):
        yield f"{'drill' if hole.bore is None else 'finish'} {hole.name}", hole.diameter
    for extra in plan.for_today.extra_holes:
        yield f"drill {extra.name}", extra.diameter
