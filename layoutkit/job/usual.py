"""Usual ranges of a record's figures, narrower than what `limits` lets pass.

Every range is common practice, no source. A figure outside its range is asked about, for it may be a
slip of the pen; it may also be meant. Lengths are inches, weights ounces.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from layoutkit.errors import InputError
from layoutkit.job.limits import limit_at


class Usual(NamedTuple):
    """The usual range of a field, both ends in it; ``above`` leaves the low end out.

    ``what`` names the figure as the subject of a sentence. ``no_thumb`` is True for a grip without a
    thumb hole only, False for one with it, None for both.
    """

    path: str
    low: float
    high: float
    unit: str
    what: str
    above: bool = False
    no_thumb: bool | None = None

    def holds(self, value: float) -> bool:
        """Whether a value is usual."""
        low = self.low < value if self.above else self.low - SAME <= value
        return low and value <= self.high + SAME

    @property
    def range(self) -> str:
        """The range in words: `2 to 5 in`, `up to 4 in`."""
        if not math.isfinite(self.high):
            return f"{self.low:g} {self.unit} or more"
        if not self.above and math.isfinite(self.low):
            return f"{self.low:g} to {self.high:g} {self.unit}"
        least = f"more than {self.low:g} and " if math.isfinite(self.low) else ""
        return f"{least}up to {self.high:g} {self.unit}"


SAME = 1e-9  # two values no farther apart are one
MOST_APART = 0.75  # inches between the two spans
MOST_PITCH = 0.75  # inches, either way
LEAST_WALL = 0.125  # inches between any holes but the two fingers'
LEAST_SLEEVE_WALL = 1.0 / 16.0  # inches
MOST_SLEEVE_WALL = 0.5  # inches
LEAST_SLUG = 0.5  # of the depth of its hole
LEAST_INSERT = 0.5  # inches of length
MOST_BEVEL = 0.25  # inches
LEAST_BETWEEN_BEVELS = 0.0625  # inches of the bridge
_RESIN = 0.7, 1.8  # g/cm3; of sleeves and plugs
MOST_CG_BEARING = 90.0  # degrees to either side of the line to the PSA mark
ARM = Usual("scale.arm", 2.0, 4.6, "in", "the scale's arm")
USUAL: tuple[Usual, ...] = (
    Usual("bowler.pap.over", 2.0, 6.5, "in", "the PAP's place over"),
    Usual("bowler.pap.up", -2.0, 2.0, "in", "the PAP's place up"),
    Usual("bowler.pap.down", -2.0, 2.0, "in", "the PAP's place down"),
    Usual("bowler.grip.bridge", 0.0, 0.75, "in", "the bridge", above=True),
    *(
        row
        for finger in ("middle", "ring", "index", "little")
        for row in (
            Usual(
                f"bowler.grip.{finger}.span", 2.0, 5.0, "in", f"the {finger} span", no_thumb=False
            ),
            Usual(
                f"bowler.grip.{finger}.span", 1.25, 3.0, "in",
                f"the {finger} span from the palm mark", no_thumb=True,
            ),
            Usual(
                f"bowler.grip.{finger}.diameter", 0.4375, 1.125, "in",
                f"the {finger} hole's diameter",
            ),
            Usual(
                f"bowler.grip.{finger}.depth", 0.0, 2.5, "in", f"the {finger} hole's depth",
                above=True,
            ),
        )
    ),
    Usual("bowler.grip.index.gap", 0.0, 0.75, "in", "the index hole's gap", above=True),
    Usual("bowler.grip.little.gap", 0.0, 0.75, "in", "the little hole's gap", above=True),
    Usual("bowler.grip.thumb.depth", 0.0, 3.25, "in", "the thumb hole's depth", above=True),
    Usual("bowler.grip.thumb.diameter", 0.625, 1.5, "in", "the thumb hole's diameter"),
    *(
        row
        for digit in ("index", "middle", "ring", "little", "thumb")
        for row in (
            *(
                Usual(
                    f"bowler.grip.{digit}.pitch.{way}", -MOST_PITCH, MOST_PITCH, "in",
                    f"the {digit}'s {way} pitch",
                )
                for way in ("forward", "reverse", "right", "left")
            ),
            Usual(
                f"bowler.grip.{digit}.sleeve.bore_depth", 0.0, 3.5 if digit == "thumb" else 2.75, "in",
                f"the depth of the {digit} sleeve's bore", above=True,
            ),
            Usual(
                f"bowler.grip.{digit}.sleeve.density", *_RESIN, "g/cm3",
                f"the density of the {digit} sleeve",
            ),
            Usual(
                f"bowler.grip.{digit}.bevel", -math.inf, MOST_BEVEL, "in", f"the {digit} hole's bevel"
            ),
        )
    ),
    Usual("ball.pin_to_cg", -math.inf, 5.5, "in", "the CG mark's arc from the pin"),
    Usual("ball.psa.distance", 5.0, 8.5, "in", "the PSA mark's arc from the pin"),
    Usual("layout.pin_to_val", 0.0, math.inf, "in", "the pin's arc to the VAL"),
    Usual("layout.angle_at_pap", 0.0, 100.0, "degrees", "the angle at the PAP"),
    Usual("ball.top_weight", 0.0, 5.0, "oz", "the label's top weight", above=True),
    ARM,
)  # fmt: skip


# of each hole that was drilled before
OLD_HOLE = (
    Usual("depth", 0.0, 4.0, "in", "depth"),
    Usual("diameter", 0.0, 1.875, "in", "diameter"),
    Usual("plug.density", *_RESIN, "g/cm3", "density of the plug"),
)


def _by_holder() -> dict[str, tuple[tuple[str, Usual], ...]]:
    held: dict[str, tuple[tuple[str, Usual], ...]] = {}
    for usual in USUAL:
        holder, _, name = usual.path.rpartition(".")
        held[holder] = (*held.get(holder, ()), (name, usual))
    return held


# the rows by what holds their fields: most records have no index hole, no sleeve
BY_HOLDER = _by_holder()


def arm_words(arm: float) -> str | None:
    """What is asked about a scale's arm; None where it is usual."""
    if ARM.holds(arm):
        return None
    return (
        f"The scale's arm is {arm:.3f} in, usual is {ARM.range}: were the weight's place, the ball's "
        "diameter and the growth of the reading as they are stated?"
    )


def value_at(record: Any, path: str) -> Any:
    """What stands at a field's dotted path of a model or of a decoded record; None where nothing does."""
    for part in path.split("."):
        if record is None:
            return None
        if isinstance(record, dict):
            record = record.get(part)
        elif isinstance(record, (list, tuple)):
            record = record[int(part)] if part.isdigit() and int(part) < len(record) else None
        else:
            record = getattr(record, part, None)
    return record


def same_value(path: str, one: Any, other: Any) -> bool:
    """Whether two values of a field are one, however each is written."""
    row = limit_at(path)
    if row is not None:
        try:
            one, other = row.parse(one), row.parse(other)
        except InputError:
            return False
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= SAME
    return bool(one == other)
