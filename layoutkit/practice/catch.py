"""Problems of the last group: a sheet, a record or a weigh-in with one planted slip.

The rows are problems of the other groups on one job; one row shows a slip's value in place of the
right one, and the trainee names the row.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from layoutkit.job.built_in_rules import rule_set
from layoutkit.practice.find import (
    angle_at_pin,
    centre_to_centre,
    finger_offset,
    pin_from_grip,
    pin_to_pap,
    pin_val,
    pitch_tilt,
    psa_to_pap,
    reference_bearing,
    thumb_below,
    total_pitch,
)
from layoutkit.practice.predict import BOOK, OUNCES, hole_side, side_weight, top_left, two_position
from layoutkit.practice.values import Asked, Dice, Draft, Kind, Unfit
from layoutkit.practice.words import ball, inches, ounces, way_up
from layoutkit.units import OZ_PER_LB

LETTERS = "ABCDEF"
_ROW = "row "
_TRIES = 40  # draws of one row
T = TypeVar("T")


def _shown(draft: Draft, value: float) -> str:
    """A row's figure as a sheet prints it."""
    if draft.asked.unit == "degrees":
        return f"{value:.1f} degrees"
    if draft.asked.unit == "oz":
        return f"{value:+.2f} oz" if draft.asked.plus else f"{value:.2f} oz"
    return inches(value, 32 if draft.asked.tolerance < 1.0 / 16.0 else 16)


def planted(title: str, facts: str, rows: tuple[Draft, ...], dice: Dice) -> Draft:
    """One problem of several: the dice choose the row and the slip that is planted in it.

    Raises Unfit where a row is not fair.
    """
    if not all(row.fair for row in rows):
        raise Unfit("a row is not fair")
    at = dice.below(len(rows))
    slip = dice.one(rows[at].slips)
    lines = []
    for i, row in enumerate(rows):
        value = slip.value if i == at else row.right
        assert not isinstance(value, str)
        lines.append(f"{LETTERS[i]}  {row.title}: {_shown(row, value[0])}")
    right = rows[at].right
    assert not isinstance(right, str)
    return Draft(
        title,
        "\n".join((f"{facts} One row is wrong. Which one?", *lines)),
        Asked("", choices=tuple(f"{_ROW}{letter}" for letter in LETTERS[: len(rows)])),
        f"{_ROW}{LETTERS[at]}",
        (),
        (
            f"Row {LETTERS[at]} shows what you get if {slip.words}; right is "
            f"{_shown(rows[at], right[0])}.",
            *rows[at].steps,
        ),
        rows[at].rule,
        drawn=rows[at].drawn,
    )


def _until_fair(draw: Callable[[], T], row: Callable[[T], Draft]) -> tuple[T, Draft]:
    """Numbers whose row is fair, and the row. Raises Unfit where some dozens of draws have none."""
    for _ in range(_TRIES):
        numbers = draw()
        made = row(numbers)
        if made.fair:
            return numbers, made
    raise Unfit("no row is fair")


def catch_layout(dice: Dice) -> Draft:
    """A layout's figures, one of them wrong."""
    diameter, hand = dice.diameter(), dice.hand()
    pin = dice.grid(0.5, 2.5, 8), dice.grid(2.0, 3.75, 8)
    pap = dice.grid(4.25, 6.0, 8), dice.one((-0.5, -0.375, 0.375, 0.5, 0.75))
    turn, lean = 5.0 * (7 + dice.below(8)), 5.0 * (5 + dice.below(8))
    to_pap, psa = dice.grid(3.0, 5.5, 8), dice.grid(3.5, 6.0, 8)
    rows = (
        pin_to_pap(diameter, pin, pap, hand),
        reference_bearing(diameter, pin, pap, turn, hand),
        pin_from_grip(diameter, *pin),
    )
    more = (
        pin_val(diameter, to_pap, lean),
        psa_to_pap(diameter, turn, to_pap, lean),
        angle_at_pin(diameter, to_pap, psa),
    )
    if dice.below(2):
        facts = (
            f"A layout sheet. {ball(diameter).capitalize()}, {hand} hand: pin {inches(pin[0])} over and "
            f"{way_up(pin[1])}, PAP {inches(pap[0])} over and {way_up(pap[1])}, angle at the pin "
            f"{turn:g} degrees."
        )
        return planted("A layout with one slip", facts, rows, dice)
    facts = (
        f"Two layouts on {ball(diameter)}, PSA mark a quarter from the pin, pin to PAP {inches(to_pap)}. "
        f"Rows A and B: angle at the pin {turn:g} degrees, angle at the PAP {lean:g} degrees. Row C: "
        f"PSA to PAP {inches(psa)}."
    )
    return planted("Distances with one slip", facts, more, dice)


def catch_grip(dice: Dice) -> Draft:
    """A grip's marking figures, one of them wrong."""
    diameter, bore, depth = dice.diameter(), 31.0 / 32.0, dice.grid(2.25, 3.0, 4)
    # each row is drawn until it is fair, for all at once seldom are
    finished = dice.grid(0.625, 0.75)
    bridge, offset = _until_fair(
        lambda: dice.grid(0.25, 0.4375), lambda b: finger_offset(diameter, b, bore, finished)
    )
    (middle, thumb), across = _until_fair(
        lambda: (dice.grid(4.25, 5.0), dice.grid(0.9375, 1.125)),
        lambda m: centre_to_centre(diameter, *m, finished, bore),
    )
    ring = middle - dice.one((0.5, 0.5625))
    (forward, sideways), total = _until_fair(
        lambda: (dice.grid(0.375, 0.5), dice.grid(0.1875, 0.3125)),
        lambda p: total_pitch(diameter, *p),
    )
    below = thumb_below(diameter, middle, ring, thumb)
    rows = (below, offset, across, total, pitch_tilt(diameter, forward, depth))
    facts = (
        f"A grip on {ball(diameter)}: spans {inches(middle)} (middle) and {inches(ring)} (ring), bridge "
        f"{inches(bridge)}; finger holes {inches(finished)} in bores of {inches(bore, 32)}; thumb hole "
        f"{inches(thumb)}, {inches(depth)} deep, pitch {inches(forward)} forward and {inches(sideways)} "
        "right. Row C is thumb to middle; row E is the tilt of the forward pitch alone."
    )
    return planted("A grip with one slip", facts, rows, dice)


def catch_weigh_in(dice: Dice) -> Draft:
    """A weigh-in's figures, one of them wrong."""
    diameter, pounds = dice.diameter(), dice.one((14.0, 14.5, 15.0, 15.5))
    supports, top, over = (
        dice.one((8.0, 10.0, 12.0)),
        dice.grid(2.0, 4.0, 4),
        dice.grid(1.0, 2.5, 8),
    )
    middle = pounds * OZ_PER_LB / 2.0 + dice.one((-1.0, -0.75, 0.75, 1.0))
    apart = dice.grid(0.5, 2.0, 4)
    net, away, centroid = dice.grid(1.5, 3.0, 4), dice.grid(1.0, 2.5, 8), dice.grid(2.75, 3.25, 10)
    rows = (
        two_position(diameter, pounds, supports, middle + apart, middle - apart),
        side_weight(diameter, top, over),
        top_left(diameter, top, over),
        hole_side(diameter, net, away, centroid),
    )
    facts = (
        f"A weigh-in of {ball(diameter)}, {pounds:g} lb, arm {diameter / 2.0:.3f} in. Row A: supports "
        f"{supports:g} in apart, seat half way, readings {middle + apart:g} and {middle - apart:g} oz. "
        f"Rows B and C: label top weight {top:g} oz, CG mark {inches(over)} over. Row D: a hole "
        f"{inches(away)} over takes {net:g} oz net, its middle {centroid:g} in from the centre. + is "
        "toward the PAP side, in row A toward the scale in the first reading."
    )
    return planted("A weigh-in with one slip", facts, rows, dice)


def catch_record(dice: Dice) -> Draft:
    """A record against the bowler's card, one field of it entered wrong."""
    hand = dice.hand()
    other = "left" if hand == "right" else "right"
    over, up = dice.grid(4.0, 6.0, 8), dice.grid(0.25, 1.0, 8)
    finished, bore, thumb = dice.grid(0.625, 0.8125), 31.0 / 32.0, dice.grid(0.875, 1.125)
    reverse, span = dice.grid(0.125, 0.375), dice.grid(4.0, 4.75)
    slips = (
        ("hand", hand, other, "the other hand is entered"),
        ("PAP over", f"+{over:g}", f"-{over:g}", "over gets a minus sign, although it counts toward the "
         "bowler's own PAP side"),
        ("PAP up", f"{up:g} up", f"{up:g} down", "up and down are exchanged"),
        ("finger hole, finished", inches(finished, 32), inches(bore, 32),
         "the bore is entered for the finished hole"),
        ("thumb hole, diameter", inches(thumb), inches(thumb / 2.0, 32),
         "the radius is entered for the diameter"),
        ("thumb pitch", f"{inches(reverse)} reverse", f"{inches(reverse)} forward",
         "forward and reverse are exchanged"),
    )  # fmt: skip
    at = dice.below(len(slips))
    lines = [
        f"{LETTERS[i]}  {name}: {wrong if i == at else right}"
        for i, (name, right, wrong, _) in enumerate(slips)
    ]
    return Draft(
        "A record with one slip",
        "\n".join(
            (
                f"The bowler's card: {hand} hand, span {inches(span)}. PAP {inches(over)} toward the "
                f"{hand}, {inches(up)} toward the fingers, seen from outside. Finger inserts with a hole "
                f"of {inches(finished, 32)} in a bore of {inches(bore, 32)}. Thumb {inches(thumb)}; its "
                f"bottom leans {inches(reverse)} away from the palm. The record was typed from it. One "
                "row is wrong. Which one?",
                *lines,
            )
        ),
        Asked("", choices=tuple(f"{_ROW}{letter}" for letter in LETTERS)),
        f"{_ROW}{LETTERS[at]}",
        (),
        (
            f"Row {LETTERS[at]} shows what you get if {slips[at][3]}; right is {slips[at][1]}.",
            "Over counts toward the bowler's own PAP side, up toward the fingers; a thumb's forward "
            "pitch leans the bottom toward the palm.",
        ),
        "Read a record back field by field before the ball is marked; a diameter is not a radius, a bore "
        "not a finished hole.",
    )


def catch_verdict(dice: Dice) -> Draft:
    """Verdicts of checks, one of them by an old rule."""
    new, old = rule_set("usbc-2020"), rule_set("usbc-pre-2018")
    pounds = 14.0 + dice.below(150) / 100.0
    limits = {name: new.weight_class(pounds).static_oz(name) for name in ("top", "side", "finger")}
    before = {name: old.weight_class(pounds).static_oz(name) for name in limits}
    values = {name: 0.25 + dice.below(int(100 * (limits[name] - 0.5))) / 100.0 for name in limits}
    changed = tuple(n for n in limits if before[n] < limits[n] and values[n] > before[n] + OUNCES)
    balance = dice.below(2) == 1
    rows = [
        (f"{name} weight {ounces(values[name])}", "pass", before[name], limits[name])
        for name in limits
    ]
    hole = f"a hole of {inches(dice.grid(0.75, 1.25, 8))} that no finger uses" if balance else ""
    options = [list(limits).index(name) for name in changed] + ([3] if balance else [])
    if not options:
        raise Unfit("no row in which the rules differ")
    at = dice.one(tuple(options))
    lines = [
        f"{LETTERS[i]}  {text}: {'fail' if i == at else right}"
        for i, (text, right, _, _) in enumerate(rows)
    ]
    if balance:
        lines.append(f"D  {hole}: {'pass' if at == 3 else 'fail'}")
    if at < 3:
        name = list(limits)[at]
        why = f"the limit before 2018, {before[name]:g} oz, is used in place of {limits[name]:g} oz"
    else:
        why = "a balance hole is allowed, as it was before August 2020"
    return Draft(
        "Verdicts with one old rule",
        "\n".join(
            (
                f"A drilled ball of {pounds:.2f} lb, judged by the rules in force since August 2020. One "
                "verdict is by an older rule. Which row?",
                *lines,
            )
        ),
        Asked("", choices=tuple(f"{_ROW}{LETTERS[i]}" for i in range(len(lines)))),
        f"{_ROW}{LETTERS[at]}",
        (),
        (
            f"Row {LETTERS[at]} shows what you get if {why}.",
            "Over 10 lb each static weight may be up to 3 oz, tested one by one; no balance hole.",
        ),
        f"Judge by the rules in force on the day of play; {BOOK}.",
    )


KINDS = (
    Kind("catch-record", "catch", "a record with one field wrong", 1.5, catch_record),
    Kind("catch-verdict", "catch", "a verdict by an old rule", 1.5, catch_verdict),
    Kind("catch-grip", "catch", "a grip with one figure wrong", 4.0, catch_grip),
    Kind("catch-layout", "catch", "a layout with one figure wrong", 4.0, catch_layout),
    Kind("catch-weigh-in", "catch", "a weigh-in with one figure wrong", 4.0, catch_weigh_in),
)
