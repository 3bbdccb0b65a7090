"""Problems of the second group: read a ball, a label or a track."""

from __future__ import annotations

import math

from layoutkit.geometry.sphere import bearing, from_over_up, to_over_up, walked, wrap180, wrap360
from layoutkit.planning.layout import PAP, Placement, placement_to_angles
from layoutkit.practice.find import ANGLE, SEEN, SIDES
from layoutkit.practice.pictures import picture
from layoutkit.practice.values import Asked, Dice, Draft, Hand, Kind, Slip
from layoutkit.practice.words import ball, degrees, exact, inches, side_of
from layoutkit.units import OZ_PER_LB

EIGHTH = 1.0 / 8.0  # inches; what a reader gets off a drawn ball
TRUE_LENGTH = "A distance read straight through the air is a chord; the arc on the ball is longer."


def read_placement(diameter: float, length: float, turn: float, hand: Hand) -> Draft:
    """Over and up of a pin that is drawn, or told by its arc and direction from the grip centre.

    ``turn`` is clockwise from the line to the fingers, as seen, degrees.
    """
    r, side = diameter / 2.0, side_of(hand)
    pin = walked((0.0, 0.0, r), turn, length)
    over, up = (float(each) for each in to_over_up(pin, r))
    right = (over, up)
    away = "right" if over > 0.0 else "left"
    return Draft(
        "Read the pin's place",
        f"{ball(diameter).capitalize()}, {hand} hand. The pin is {inches(length)} from the grip centre, "
        f"in the direction {turn:g} degrees clockwise from the line to the fingers. How far right or "
        f"left, and up or down, does it lie? The picture has a tick every inch. {SEEN}",
        Asked(tolerance=EIGHTH, sides=SIDES, radius=r),
        right,
        (
            Slip("other way", "the direction is taken counter-clockwise", (-over, up)),
            Slip(
                "exchanged",
                "sine and cosine, or over and up, are exchanged",
                tuple(float(x) for x in to_over_up(walked((0.0, 0.0, r), 90.0 - turn, length), r)),
            ),
            Slip("up for down", "up and down are exchanged", (over, -up)),
        ),
        (
            "Follow the pin's own line to the midline: up is what you walk square to the midline, over "
            "what is left along it.",
            f"Here {exact(abs(over))} {away} and {exact(abs(up))} {'up' if up > 0 else 'down'}.",
            f"In the record: over is {'positive' if side * over > 0.0 else 'negative'}, since this "
            f"bowler's PAP side is the {hand}.",
        ),
        "Up is the arc square to the midline, over the arc along it; read both where the line meets.",
        shown=picture(r, hand, {"pin": (side * over, up)}, ticks=True),
    )


def read_angle(
    diameter: float,
    pin: tuple[float, float],
    turn_pap: float,
    turn_reference: float,
    hand: Hand,
) -> Draft:
    """The angle at the pin from two directions, clockwise as seen, degrees."""
    r, side = diameter / 2.0, side_of(hand)
    at = from_over_up(*pin, r)
    marks = [walked(at, side * turn, r * math.pi / 3.0) for turn in (turn_pap, turn_reference)]
    pap = tuple(float(x) for x in to_over_up(marks[0], r))
    psa = tuple(float(x) for x in to_over_up(marks[1], r))
    layout = Placement(*pin, wrap360(bearing(at, marks[1])))
    right = float(placement_to_angles(layout, PAP(*pap), r).angle_at_pin)
    clock = "clockwise" if hand == "right" else "counter-clockwise"
    return Draft(
        "Read the angle at the pin",
        f"{ball(diameter).capitalize()}, {hand} hand. At the pin, clockwise from the line to the "
        f"fingers' pole, the line to the PAP lies at {turn_pap % 360.0:g} degrees and the line to the "
        f"PSA mark at {turn_reference % 360.0:g} degrees. What is the angle at the pin, with its sign?",
        Asked("degrees", ANGLE, "as the layout counts it"),
        (right,),
        (
            Slip("other hand", "it is read for the other hand", (-right,)),
            Slip(
                "from the fingers",
                "the line to the PSA mark is read from the fingers, not from the PAP",
                (float(wrap180(side * turn_reference)),),
            ),
            Slip(
                "from the midline",
                "it is read from a line square to the line to the PAP",
                (float(wrap180(right - 90.0)),),
            ),
        ),
        (
            f"The reference line lies {abs(right):g} degrees "
            f"{'clockwise' if side * right > 0.0 else 'counter-clockwise'} of the line to the PAP.",
            f"For a {hand} hand {clock} is positive: {right:+.0f} degrees.",
        ),
        "At the pin, the line to the PAP lies counter-clockwise of the reference line by the angle at "
        "the pin; for a left hand clockwise.",
        shown=picture(
            r,
            hand,
            {"pin": pin, "pap": (pap[0], pap[1]), "psa": (psa[0], psa[1])},
            (("pin_pap", "pin", "pap", "to the PAP"), ("reference", "pin", "psa", "to the PSA")),
        ),
    )


def read_chord(diameter: float, straight: float) -> Draft:
    """The arc between two marks from what a stiff rule or calliper reads."""
    r = diameter / 2.0
    right = diameter * math.asin(straight / diameter)
    return Draft(
        "From the calliper to the arc",
        f"{ball(diameter).capitalize()}: a calliper over pin and PAP reads {inches(straight)} straight "
        "across. How long is the arc from the pin to the PAP?",
        Asked(),
        (right,),
        (
            Slip("chord for arc", "the straight reading is taken for the arc", (straight,)),
            Slip(
                "wrong way",
                "an arc is turned into a chord, the wrong way round",
                (diameter * math.sin(straight / diameter),),
            ),
        ),
        (
            f"Half the chord over the radius is the sine of half the angle, R = {exact(r)}.",
            f"arc = 2R asin({straight:g} / {diameter:.3f}) = {exact(right)}.",
        ),
        TRUE_LENGTH,
        shown=picture(
            r,
            "right",
            {"pin": (0.0, 2.5), "pap": (0.0, 2.5 - right)},
            (("pin_pap", "pin", "pap", f"calliper {inches(straight)}"),),
        ),
    )


def read_label(pounds: int, hundredths: int) -> Draft:
    """The ounces of a label's weight."""
    right = OZ_PER_LB * hundredths / 100.0
    return Draft(
        "Read a label's weight",
        f'A label says "{pounds}.{hundredths:02d} lb". The ball weighs {pounds} lb and how many ounces?',
        Asked("oz", 0.1),
        (right,),
        (
            Slip(
                "tenths as ounces",
                "the decimals are read as ounces and tenths",
                (hundredths / 10.0,),
            ),
            Slip(
                "hundredths as ounces", "the decimals are read as whole ounces", (hundredths * 1.0,)
            ),
        ),
        (f"A pound has 16 ounces: 0.{hundredths:02d} x 16 = {right:.2f} oz.",),
        "A label's weight is in decimal pounds (common practice, no source).",
    )


def read_track(diameter: float, across: float) -> Draft:
    """The axis tilt from the arc across the track's ring."""
    r = diameter / 2.0
    half = math.pi * r
    right = math.degrees((half - across) / 2.0 / r)
    return Draft(
        "Read a track",
        f"{ball(diameter).capitalize()}: across the ring of the track, over the negative side, a "
        f"flexible rule reads {inches(across)}. What is the axis tilt?",
        Asked("degrees", ANGLE),
        (right,),
        (
            Slip("not halved", "what is missing to half way round is not halved", (2.0 * right,)),
            Slip(
                "from the PAP side",
                "the arc is taken for the one over the PAP side",
                (-right,),
            ),
            Slip(
                "as a chord",
                "the arc is taken straight through the ball",
                (math.degrees(math.acos(min(1.0, across / diameter))),),
            ),
        ),
        (
            f"Half way round is pi R = {exact(half)}; the rule lacks {exact(half - across)} of it.",
            f"Half of that on either side, {exact((half - across) / 2.0)}, is {degrees(right)}.",
        ),
        "The ring lies 90 degrees and the axis tilt from the PAP, so less than 90 from the other end.",
    )


def _angle(dice: Dice) -> Draft:
    hand = dice.hand()
    pin = dice.grid(0.5, 3.0, 8), dice.grid(1.5, 3.75, 8)
    pap, swing = 5.0 * (14 + dice.below(11)), 5.0 * (5 + dice.below(14)) * dice.one((1.0, -1.0))
    side = side_of(hand)
    return read_angle(dice.diameter(), pin, side * pap, side * (pap + swing), hand)


KINDS = (
    Kind("read-label", "read", "a label's weight", 1.0,
         lambda d: read_label(12 + d.below(4), 5 + d.below(95))),
    Kind("read-placement", "read", "a drawn pin's over and up", 2.0,
         lambda d: read_placement(
             d.diameter(), d.grid(2.5, 5.0, 4), float((15 + 5 * d.below(16)) * d.one((1, 1, -1))),
             d.hand())),
    Kind("read-angle", "read", "the angle at the pin of a drawn ball", 2.0, _angle),
    Kind("read-chord", "read", "an arc from a calliper's reading", 2.0,
         lambda d: read_chord(d.diameter(), d.grid(4.0, 5.75))),
    Kind("read-track", "read", "the axis tilt from a track", 2.0,
         lambda d: read_track(d.diameter(), d.grid(9.0, 12.75, 8))),
)  # fmt: skip
