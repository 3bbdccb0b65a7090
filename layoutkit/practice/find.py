"""Problems of the first group: find a mark or a measure."""

from __future__ import annotations

import math

from layoutkit.geometry.bores import axis_offset
from layoutkit.geometry.sphere import arc, axes_at, bearing, from_over_up, hole_arc, wrap360
from layoutkit.geometry.vectors import along, dot, minus, scaled
from layoutkit.planning.layout import (
    PAP,
    Angles,
    Distances,
    angles_to_distances,
    angles_to_placement,
    distances_to_angles,
    pin_to_val,
)
from layoutkit.practice.grips import Sizes, holes_of
from layoutkit.practice.pictures import picture
from layoutkit.practice.values import Asked, Dice, Draft, Hand, Kind, Slip
from layoutkit.practice.words import ball, degrees, exact, inches, side_of, way_up

SHOP_QUARTER = 6.75  # inches; what the trade calls a quarter, exact on the largest legal ball
FINE = 1.0 / 32.0  # inches; tolerance of what is marked for a hole
ANGLE = 2.0  # degrees
SIDES = ("right", "left", "up", "down")

GREAT_CIRCLE = "A distance on the ball is the arc of the great circle; the ball is not flat."
SEEN = "Seen from outside with the fingers up."


def _number(name: str, words: str, value: float) -> Slip:
    return Slip(name, words, (value,))


# --- arcs between marks ---------------------------------------------------------------------------


def pin_from_grip(diameter: float, over: float, up: float) -> Draft:
    """How far the pin lies from the grip centre."""
    r = diameter / 2.0
    right = arc((0.0, 0.0, r), from_over_up(over, up, r), r)
    return Draft(
        "Pin from the grip centre",
        f"On {ball(diameter)} the pin lies {inches(over)} over and {way_up(up)}. How far is it from "
        "the grip centre, along the surface?",
        Asked(),
        (right,),
        (
            _number("flat", "the ball is taken for flat (Pythagoras)", math.hypot(over, up)),
            _number("added", "over and up are added", over + abs(up)),
            _number("over only", "only the over is taken", over),
        ),
        (
            f"Over and up are square to each other: cos(arc/R) = cos(over/R) cos(up/R), R = {exact(r)}.",
            f"cos({over:g}/R) x cos({abs(up):g}/R) = {math.cos(right / r):.4f}, so the arc is "
            f"{exact(right)}.",
        ),
        GREAT_CIRCLE,
        drawn=picture(
            r,
            "right",
            {"pin": (over, up)},
            (("measure", "grip_center", "pin", f"{inches(right)}"),),
        ),
    )


def pin_to_pap(
    diameter: float, pin: tuple[float, float], pap: tuple[float, float], hand: Hand = "right"
) -> Draft:
    """The arc from the pin to the PAP, both by over and up."""
    r = diameter / 2.0
    at = from_over_up(*pin, r)

    def away(over: float, up: float) -> float:
        return float(arc(at, from_over_up(over, up, r), r))

    over, up = pap[0] - pin[0], pap[1] - pin[1]
    right = away(*pap)
    return Draft(
        "Pin to PAP",
        f"{ball(diameter).capitalize()}, {hand} hand: the pin lies {inches(pin[0])} over and "
        f"{way_up(pin[1])}, the PAP {inches(pap[0])} over and {way_up(pap[1])}. How far is the pin "
        "from the PAP?",
        Asked(),
        (right,),
        (
            _number("flat", "the ball is taken for flat (Pythagoras)", math.hypot(over, up)),
            _number(
                "up for down", "the PAP's up is laid down (or its down up)", away(pap[0], -pap[1])
            ),
            _number(
                "other hand", "the PAP is laid on the other hand's side", away(-pap[0], pap[1])
            ),
            _number("added", "the differences of over and of up are added", abs(over) + abs(up)),
        ),
        (
            f"The difference of over is {abs(over):g} in, R = {exact(r)}.",
            "cos(arc/R) = sin(up1/R) sin(up2/R) + cos(up1/R) cos(up2/R) cos(difference of over/R) = "
            f"{math.cos(right / r):.4f}.",
            f"The arc is {exact(right)}.",
        ),
        GREAT_CIRCLE,
        drawn=picture(
            r, hand, {"pin": pin, "pap": pap}, (("pin_pap", "pin", "pap", f"{inches(right)}"),)
        ),
    )


def pin_val(diameter: float, to_pap: float, at_pap: float) -> Draft:
    """The arc from the pin to the VAL."""
    r = diameter / 2.0
    turn = math.radians(at_pap)
    right = float(pin_to_val(to_pap, at_pap, r))
    return Draft(
        "Pin to VAL",
        f"{ball(diameter).capitalize()}: pin to PAP {inches(to_pap)}, angle at the PAP {at_pap:g} "
        "degrees. How far is the pin from the VAL?",
        Asked(),
        (right,),
        (
            _number("flat", "the ball is taken for flat (flat sine)", to_pap * math.sin(turn)),
            _number(
                "cosine for sine",
                "the cosine is taken in place of the sine",
                r * math.asin(math.sin(to_pap / r) * math.cos(turn)),
            ),
            _number(
                "share",
                "the angle's share of 90 degrees is taken of the arc",
                to_pap * at_pap / 90.0,
            ),
        ),
        (
            f"The foot on the VAL makes a right angle: R = {exact(r)}.",
            f"sin(arc/R) = sin({to_pap:g}/R) x sin({at_pap:g} degrees) = {math.sin(right / r):.4f}.",
            f"The arc is {exact(right)}.",
        ),
        "Sine rule on the ball: sin(pin to VAL) = sin(pin to PAP) x sin(angle at the PAP).",
    )


def psa_to_pap(diameter: float, at_pin: float, to_pap: float, at_pap: float) -> Draft:
    """The arc from the PSA mark, a quarter from the pin, to the PAP."""
    r = diameter / 2.0
    quarter = math.pi * r / 2.0

    def away(turn: float) -> float:
        return float(angles_to_distances(Angles(turn, to_pap, at_pap), quarter, r).psa_to_pap)

    right = away(at_pin)
    flat = to_pap**2 + quarter**2 - 2.0 * to_pap * quarter * math.cos(math.radians(at_pin))
    return Draft(
        "PSA to PAP",
        f"{ball(diameter).capitalize()}, PSA mark a quarter from the pin: angle at the pin "
        f"{at_pin:g} degrees, pin to PAP {inches(to_pap)}, angle at the PAP {at_pap:g} degrees. How "
        "far is the PSA mark from the PAP?",
        Asked(),
        (right,),
        (
            _number("other angle", "the angle at the PAP is taken", away(at_pap)),
            _number(
                "sine for cosine", "the sine is taken in place of the cosine", away(90.0 - at_pin)
            ),
            _number("flat", "the ball is taken for flat (flat cosine rule)", math.sqrt(flat)),
            _number(
                "share",
                "the angle's share of 90 degrees is taken of 6 3/4 in",
                SHOP_QUARTER * at_pin / 90.0,
            ),
        ),
        (
            f"With the PSA mark at a quarter, R = {exact(r)}: cos(PSA to PAP) = sin(pin to PAP) x "
            "cos(angle at the pin).",
            f"sin({to_pap:g}/R) x cos({at_pin:g} degrees) = {math.cos(right / r):.4f}, so the arc is "
            f"{exact(right)}.",
        ),
        "Cosine rule on the ball at the pin; the angle at the PAP says nothing about it.",
    )


def angle_at_pin(diameter: float, to_pap: float, psa: float) -> Draft:
    """The angle at the pin of two distances."""
    r = diameter / 2.0
    quarter = math.pi * r / 2.0
    right = float(distances_to_angles(Distances(to_pap, psa, 0.0), quarter, r).angle_at_pin)
    cosine = (to_pap**2 + quarter**2 - psa**2) / (2.0 * to_pap * quarter)
    flat = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
    return Draft(
        "Angle at the pin",
        f"{ball(diameter).capitalize()}, PSA mark a quarter from the pin: pin to PAP "
        f"{inches(to_pap)}, PSA to PAP {inches(psa)}. What is the angle at the pin?",
        Asked("degrees", ANGLE),
        (right,),
        (
            _number("flat", "the ball is taken for flat (flat cosine rule)", flat),
            _number("sine for cosine", "the sine is taken in place of the cosine", 90.0 - right),
            _number(
                "share",
                "PSA to PAP is taken as its share of 6 3/4 in",
                psa * 90.0 / SHOP_QUARTER,
            ),
        ),
        (
            f"With the PSA mark at a quarter, R = {exact(r)}: cos(angle) = cos(PSA to PAP) / sin(pin "
            "to PAP).",
            f"cos({psa:g}/R) / sin({to_pap:g}/R) = {math.cos(math.radians(right)):.4f}, so the angle "
            f"is {degrees(right)}.",
        ),
        "Cosine rule on the ball at the pin, with the PSA mark at 90 degrees.",
    )


def half_way_round(diameter: float, ways: int) -> Draft:
    """Half way round a ball, or with two ways all round."""
    r = diameter / 2.0
    half = math.pi * r
    right = half * ways
    part = "half way" if ways == 1 else "all the way"
    return Draft(
        f"{part.capitalize()} round",
        f"How far is it {part} round {ball(diameter)}, along the surface?",
        Asked(),
        (right,),
        (
            _number("27 inches", "27 in is taken for the circumference of every ball", 13.5 * ways),
            _number("three diameters", "3 diameters are taken for it", 1.5 * diameter * ways),
            _number("straight", "it is measured straight through the ball", diameter * ways),
            _number("half of it", "half of the way is taken", right / 2.0),
        ),
        (
            f"The circumference is pi x {diameter:.3f} in = {exact(math.pi * diameter)}.",
            f"So {part} round is {exact(right)}.",
        ),
        "Compute with the ball's own diameter; only the largest legal ball has 27 in around it.",
    )


def reference_bearing(
    diameter: float,
    pin: tuple[float, float],
    pap: tuple[float, float],
    at_pin: float,
    hand: Hand = "right",
) -> Draft:
    """The bearing of the reference line at the pin."""
    r = diameter / 2.0
    a, b = from_over_up(*pin, r), from_over_up(*pap, r)
    to_pap = wrap360(bearing(a, b))
    right = wrap360(to_pap + at_pin)
    flat = math.degrees(math.atan2(pap[0] - pin[0], pap[1] - pin[1]))
    return Draft(
        "Bearing of the reference line",
        f"{ball(diameter).capitalize()}, {hand} hand: pin {inches(pin[0])} over and {way_up(pin[1])}, "
        f"PAP {inches(pap[0])} over and {way_up(pap[1])}, angle at the pin {at_pin:g} degrees. What "
        "is the bearing at the pin of the line to the reference mark? (0 is toward the fingers, 90 "
        "toward the PAP side.)",
        Asked("degrees", ANGLE, around=True),
        (right,),
        (
            _number(
                "other way",
                "the angle is swung the wrong way, as for the other hand",
                wrap360(to_pap - at_pin),
            ),
            _number("flat", "the ball is taken for flat (flat bearing)", wrap360(flat + at_pin)),
            _number("not added", "the angle at the pin is not added", to_pap),
            _number("from the midline", "it is counted from the midline", wrap360(right - 90.0)),
        ),
        (
            f"At the pin the PAP lies at the bearing {degrees(to_pap)}, along the great circle.",
            "The line to the PAP lies counter-clockwise of the line to the reference mark (left hand: "
            "clockwise), and bearings grow toward the PAP side: add the angle at the pin.",
            f"{to_pap:.1f} + {at_pin:g} gives {degrees(right)}.",
        ),
        "Bearing of the reference mark = bearing of the PAP + angle at the pin, for both hands.",
        drawn=picture(
            r, hand, {"pin": pin, "pap": pap}, (("pin_pap", "pin", "pap", f"{to_pap:.0f} degrees"),)
        ),
    )


# --- places ---------------------------------------------------------------------------------------


def _place_words(over: float, up: float) -> str:
    side = "right" if over > 0.0 else "left"
    return f"{exact(abs(over))} {side}, {exact(abs(up))} {'up' if up > 0.0 else 'down'}"


def pap_place(diameter: float, over: float, up: float, hand: Hand) -> Draft:
    """Where the PAP lies, seen from outside."""
    r, side = diameter / 2.0, side_of(hand)
    return Draft(
        "The PAP's place",
        f"{ball(diameter).capitalize()}: a {hand}-handed bowler's PAP is {inches(over)} over and "
        f"{way_up(up)}. Where do you mark it from the grip centre? {SEEN}",
        Asked(sides=SIDES, radius=r),
        (side * over, up),
        (
            Slip("other hand", "it is laid on the other hand's side", (-side * over, up)),
            Slip("up for down", "up and down are exchanged", (side * over, -up)),
        ),
        (
            f"Over is positive toward the bowler's own PAP side: {hand} for a {hand} hand.",
            f"Along the midline {inches(over)} to the {hand}, then square to it {way_up(up)}.",
        ),
        "Over counts toward the positive side for both hands; up counts toward the fingers.",
        drawn=picture(r, hand, {"pap": (over, up)}),
    )


def grip_from_pap(diameter: float, over: float, up: float, hand: Hand) -> Draft:
    """Which way from the PAP to the grip centre."""
    r, side = diameter / 2.0, side_of(hand)
    return Draft(
        "Grip centre from the PAP",
        f"{ball(diameter).capitalize()}: a {hand}-handed bowler's PAP is {inches(over)} over and "
        f"{way_up(up)}. PAP and VAL are on the ball. Which way and how far along the VAL, then along "
        f"the midline, do you go to the grip centre? {SEEN}",
        Asked(sides=SIDES, radius=r),
        (-side * over, -up),
        (
            Slip("other hand", "the midline is followed the wrong way", (side * over, -up)),
            Slip("up for down", "the VAL is followed the wrong way", (-side * over, up)),
        ),
        (
            f"The PAP lies {way_up(up)} from the midline: go back by that along the VAL.",
            f"The grip centre lies {inches(over)} from there, away from the PAP side of a {hand} hand.",
        ),
        "From the PAP follow the VAL by its up to the midline, then the midline by its over.",
        drawn=picture(r, hand, {"pap": (over, up), "foot": (over, 0.0)}),
    )


def pin_by_angles(
    diameter: float, pap: tuple[float, float], to_pap: float, at_pap: float, hand: Hand
) -> Draft:
    """Where the pin of a layout by angles lies."""
    r, side = diameter / 2.0, side_of(hand)

    def place(turn: float, over: float = pap[0], up: float = pap[1]) -> tuple[float, float]:
        found = angles_to_placement(Angles(0.0, to_pap, turn), PAP(over, up), r)
        return side * float(found.pin_over), float(found.pin_up)

    right = place(at_pap)
    turn = math.radians(at_pap)
    flat = side * (pap[0] - to_pap * math.sin(turn)), pap[1] + to_pap * math.cos(turn)
    return Draft(
        "The pin of a layout by angles",
        f"{ball(diameter).capitalize()}, {hand} hand, PAP {inches(pap[0])} over and {way_up(pap[1])}: "
        f"pin to PAP {inches(to_pap)}, angle at the PAP {at_pap:g} degrees. Where does the pin lie "
        f"from the grip centre? {SEEN}",
        Asked(sides=SIDES, radius=r),
        right,
        (
            Slip("other way", "the angle at the PAP is swung the wrong way", place(-at_pap)),
            Slip("down", "the angle is counted from the VAL's thumb side", place(180.0 - at_pap)),
            Slip("flat", "the ball is taken for flat", flat),
            Slip("other hand", "all is laid out for the other hand", (-right[0], right[1])),
        ),
        (
            f"At the PAP the line to the pin lies {at_pap:g} degrees from the VAL's finger side, "
            "toward the grip.",
            f"Walk {inches(to_pap)} along it on the great circle, R = {exact(r)}.",
            f"That comes to {_place_words(*right)}.",
        ),
        "The VAL's finger side lies clockwise of the line to the pin by the angle at the PAP (left "
        "hand: counter-clockwise).",
        drawn=picture(
            r,
            hand,
            {"pin": (side * right[0], right[1]), "pap": pap},
            (("pin_pap", "pap", "pin", inches(to_pap)),),
        ),
    )


def pin_by_distances(
    diameter: float, pap: tuple[float, float], to_pap: float, to_val: float, hand: Hand
) -> Draft:
    """Where the pin of a layout by distances lies."""
    r, side = diameter / 2.0, side_of(hand)

    def place(away: float, obtuse: bool = False) -> tuple[float, float]:
        quarter = math.pi * r / 2.0
        angles = distances_to_angles(Distances(to_pap, quarter, away, obtuse), quarter, r)
        found = angles_to_placement(angles, PAP(*pap), r)
        return side * float(found.pin_over), float(found.pin_up)

    right = place(to_val)
    flat = side * (pap[0] - to_val), pap[1] + math.sqrt(to_pap**2 - to_val**2)
    return Draft(
        "The pin of a layout by distances",
        f"{ball(diameter).capitalize()}, {hand} hand, PAP {inches(pap[0])} over and {way_up(pap[1])}: "
        f"pin to PAP {inches(to_pap)}, pin to VAL {inches(to_val)}, on the grip's side of the VAL and "
        f"toward the fingers. Where does the pin lie from the grip centre? {SEEN}",
        Asked(sides=SIDES, radius=r),
        right,
        (
            Slip("past the VAL", "the pin is laid on the far side of the VAL", place(-to_val)),
            Slip("down", "the pin is laid toward the thumb", place(to_val, True)),
            Slip("flat", "the ball is taken for flat", flat),
            Slip("other hand", "all is laid out for the other hand", (-right[0], right[1])),
        ),
        (
            f"sin(angle at the PAP) = sin({to_val:g}/R) / sin({to_pap:g}/R), R = {exact(r)}.",
            f"Walk {inches(to_pap)} from the PAP at that angle from the VAL's finger side, toward the "
            "grip.",
            f"That comes to {_place_words(*right)}.",
        ),
        "Pin to VAL is positive on the grip's side of the VAL, negative past it.",
        drawn=picture(
            r,
            hand,
            {"pin": (side * right[0], right[1]), "pap": pap},
            (("pin_pap", "pap", "pin", inches(to_pap)),),
        ),
    )


def pin_by_placement(diameter: float, pin: tuple[float, float], hand: Hand) -> Draft:
    """Where the pin of a layout by placement lies."""
    r, side = diameter / 2.0, side_of(hand)
    over, up = pin
    return Draft(
        "The pin of a layout by placement",
        f"{ball(diameter).capitalize()}, {hand} hand: the pin is placed {inches(over)} over and "
        f"{way_up(up)}. Where do you mark it from the grip centre? {SEEN}",
        Asked(sides=SIDES, radius=r),
        (side * over, up),
        (
            Slip("other hand", "it is laid on the other hand's side", (-side * over, up)),
            Slip("up for down", "up and down are exchanged", (side * over, -up)),
            Slip("exchanged", "over and up are exchanged", (side * up, over)),
        ),
        (
            f"Over is positive toward the PAP side: {hand} for a {hand} hand.",
            f"So the place is {_place_words(side * over, up)}.",
        ),
        "A placement is over along the midline, then up square to it.",
        drawn=picture(r, hand, {"pin": pin}),
    )


# --- holes ----------------------------------------------------------------------------------------


def finger_offset(diameter: float, bridge: float, bore: float, finished: float) -> Draft:
    """How far a finger hole's centre lies from the centreline."""
    r = diameter / 2.0
    hole = holes_of(Sizes(bridge=bridge, bore=bore, finger=finished), r)["ring"]
    right = r * math.asin(hole.finished.entry[0] / r)
    half = float(hole_arc(bore, r))
    return Draft(
        "Finger hole from the centreline",
        f"{ball(diameter).capitalize()}: bridge {inches(bridge, 32)}, finger bores {inches(bore, 32)}, "
        f"finished holes {inches(finished, 32)}. How far from the centreline is a finger hole's centre?",
        Asked(tolerance=FINE),
        (right,),
        (
            _number("whole bridge", "the bridge is not halved", bridge + half),
            _number("diameter for radius", "the diameter is not halved", bridge / 2.0 + bore),
            _number(
                "finished for bore",
                "the finished hole is taken for the bore",
                bridge / 2.0 + float(hole_arc(finished, r)),
            ),
            _number("no bridge", "the bridge is forgotten", half),
        ),
        (
            "The bridge lies between the bores, half on either side of the centreline: "
            f"{bridge / 2.0:.4f} in.",
            f"The bore reaches R asin(bore / 2R) = {half:.4f} in from its centre.",
            f"Together {exact(right)}.",
        ),
        "Half the bridge and the arc radius of the bore, because the bores bound the bridge.",
    )


def thumb_below(diameter: float, middle: float, ring: float, thumb: float) -> Draft:
    """How far the thumb hole's centre lies below the grip centre."""
    r = diameter / 2.0
    sizes = Sizes(middle_span=middle, ring_span=ring, thumb=thumb)
    hole = holes_of(sizes, r)["thumb"]
    right = -r * math.asin(hole.finished.entry[1] / r)
    reach, quarter = float(hole_arc(thumb, r)), (middle + ring) / 4.0
    return Draft(
        "Thumb hole below the grip centre",
        f"{ball(diameter).capitalize()}: spans {inches(middle)} (middle) and {inches(ring)} (ring), "
        f"thumb hole {inches(thumb)}. How far below the grip centre is the thumb hole's centre?",
        Asked(),
        (right,),
        (
            _number("middle only", "only the middle finger's span is taken", middle / 2.0 + reach),
            _number("ring only", "only the ring finger's span is taken", ring / 2.0 + reach),
            _number("not halved", "the mean span is not halved", 2.0 * quarter + reach),
            _number("no radius", "the thumb hole's radius is forgotten", quarter),
            _number("diameter for radius", "the whole diameter is added", quarter + thumb),
        ),
        (
            f"Half of the mean span is {exact(quarter)}: there the thumb hole's front edge lies.",
            f"Its arc radius is R asin(diameter / 2R) = {exact(reach)}.",
            f"The centre lies {exact(right)} below.",
        ),
        "Half of the mean of both spans, and the thumb hole's arc radius.",
    )


def centre_to_centre(
    diameter: float, span: float, thumb: float, finished: float, bore: float
) -> Draft:
    """From the thumb hole's centre to a finger hole's."""
    r = diameter / 2.0
    sizes = Sizes(middle_span=span, ring_span=span, thumb=thumb, finger=finished, bore=bore)
    holes = holes_of(sizes, r)
    right = arc(holes["thumb"].finished.entry, holes["middle"].finished.entry, r)
    one, other, bored = (float(hole_arc(d, r)) for d in (thumb, finished, bore))
    stiff = diameter * math.asin(span / diameter)
    return Draft(
        "Centre to centre",
        f"{ball(diameter).capitalize()}: span {inches(span)} (along the surface), thumb hole "
        f"{inches(thumb)}, finger hole {inches(finished)} in a bore of {inches(bore, 32)}. How far is "
        "the thumb hole's centre from the finger hole's?",
        Asked(),
        (right,),
        (
            _number("no radii", "the radii are forgotten", span),
            _number(
                "bore for finished", "the bore is taken for the finished hole", span + one + bored
            ),
            _number("diameter for radius", "whole diameters are added", span + thumb + finished),
            _number("thumb only", "only the thumb's radius is added", span + one),
            _number(
                "stiff rule",
                "the span is taken for what a stiff rule reads",
                stiff + one + other,
            ),
        ),
        (
            "A span runs from finished edge to finished edge.",
            f"Arc radii: thumb {exact(one)}, finger {exact(other)}.",
            f"{span:g} + {one:.3f} + {other:.3f} = {exact(right)}.",
        ),
        "Span and both finished arc radii; a span is an arc, read with a flexible rule.",
    )


def total_pitch(diameter: float, forward: float, sideways: float) -> Draft:
    """The total of two pitches."""
    r = diameter / 2.0
    hole = holes_of(Sizes(thumb_pitch=(forward, sideways)), r)["thumb"]
    right = axis_offset(hole.finished)
    return Draft(
        "Total pitch",
        f"A thumb hole has a pitch of {inches(forward, 32)} forward and {inches(sideways, 32)} right. "
        "What is the total pitch?",
        Asked(tolerance=FINE),
        (right,),
        (
            _number("added", "the two are added", forward + sideways),
            _number("subtracted", "one is taken from the other", abs(forward - sideways)),
            _number("larger only", "only the larger one is taken", max(forward, sideways)),
        ),
        (
            "Forward and right are square to each other.",
            f"The root of {forward:g}^2 + {sideways:g}^2 is {exact(right)}.",
        ),
        "Two pitches combine as the sides of a right angle (Pythagoras holds here: it is no arc).",
    )


def pitch_tilt(diameter: float, pitch: float, depth: float) -> Draft:
    """By how much a pitch tilts a hole."""
    r = diameter / 2.0
    right = holes_of(Sizes(thumb_pitch=(pitch, 0.0)), r)["thumb"].tilt
    return Draft(
        "Tilt of a pitch",
        f"{ball(diameter).capitalize()}: a thumb hole {inches(depth)} deep has a pitch of "
        f"{inches(pitch)}. By how much does it tilt from the line to the ball's centre?",
        Asked("degrees", 1.0),
        (right,),
        (
            _number(
                "over the depth",
                "the pitch is taken over the hole's depth",
                math.degrees(math.atan2(pitch, depth)),
            ),
            _number(
                "diameter for radius",
                "the ball's diameter is taken for its radius",
                math.degrees(math.asin(pitch / diameter)),
            ),
            _number("inches as degrees", "the inches are read as degrees", pitch),
        ),
        (
            f"The axis misses the ball's centre by {inches(pitch)}, at the distance R = {exact(r)}.",
            f"asin({pitch:g} / {r:g}) = {degrees(right)}.",
        ),
        "tilt = asin(pitch / R): pitch is measured at the ball's centre, whatever the depth.",
    )


def pitch_bottom(
    diameter: float, forward: float, sideways: float, depth: float, digit: str
) -> Draft:
    """Where a pitch leads the bottom of a hole, off the line to the ball's centre."""
    r = diameter / 2.0
    sizes = Sizes(
        depth=depth,
        thumb_depth=depth,
        thumb_pitch=(forward, sideways),
        finger_pitch=(forward, sideways),
        bore=None,
    )
    bore = holes_of(sizes, r)[digit].finished
    bottom = along(bore.entry, bore.axis, depth)
    off = minus(bottom, scaled(bore.entry, 1.0 - depth / r))
    over, up = axes_at(bore.entry)
    right = (dot(off, over), dot(off, up))
    palm = 1.0 if digit == "thumb" else -1.0
    at_centre = (sideways, palm * forward)
    fore = f"{inches(abs(forward))} {'forward' if forward > 0.0 else 'reverse'}"
    side = f"{inches(abs(sideways))} {'right' if sideways > 0.0 else 'left'}"
    return Draft(
        "Where a pitch leads the bottom",
        f"{ball(diameter).capitalize()}: a {digit} hole {inches(depth)} deep has a pitch of {fore} and "
        f"{side}. How far right or left, and up (toward the fingers) or down, is its bottom from that "
        f"of a hole without pitch? {SEEN}",
        Asked(tolerance=FINE, sides=SIDES),
        right,
        (
            Slip("at the centre", "the pitch is taken as at the ball's centre", at_centre),
            Slip("other end", "the pitch is taken from the wrong end", (-right[0], -right[1])),
            Slip("forward for reverse", "forward and reverse are exchanged", (right[0], -right[1])),
            Slip("right for left", "right and left are exchanged", (-right[0], right[1])),
        ),
        (
            f"Forward leans the bottom toward the palm: {'up' if digit == 'thumb' else 'down'} for the "
            f"{digit}; right and left are as seen.",
            f"The pitch is reached at the centre, R = {exact(r)}; at {inches(depth)} it is depth / R "
            "of that.",
            f"That comes to {_place_words(*right)}.",
        ),
        "The bottom lies depth x pitch / R off, toward the palm where the pitch is forward.",
    )


def track_ring(diameter: float, tilt: float) -> Draft:
    """How far the ring of the track lies from the PAP."""
    r = diameter / 2.0
    quarter = math.pi * r / 2.0
    right = quarter + r * math.radians(tilt)
    return Draft(
        "Track ring from the PAP",
        f"{ball(diameter).capitalize()}: a bowler's axis tilt is {tilt:g} degrees. How far from the PAP "
        "does the ring of the track lie?",
        Asked(),
        (right,),
        (
            _number(
                "less",
                "the tilt is taken off the quarter, not added",
                quarter - r * math.radians(tilt),
            ),
            _number("no tilt", "the tilt is forgotten", quarter),
            _number("sixteenths", "1/16 in is taken for a degree", quarter + tilt / 16.0),
        ),
        (
            f"A quarter is pi R / 2 = {exact(quarter)}, and a degree R x pi / 180 = "
            f"{r * math.pi / 180.0:.4f} in.",
            f"{quarter:.3f} + {tilt:g} degrees of {r * math.pi / 180.0:.4f} in = {exact(right)}.",
        ),
        "The ring lies a quarter and the axis tilt from the PAP.",
    )


# --- draws ----------------------------------------------------------------------------------------


def _pap(dice: Dice) -> tuple[float, float]:
    """An ordinary PAP: over and up."""
    return dice.grid(4.0, 6.0, 8), dice.one((-0.5, -0.375, -0.25, 0.25, 0.375, 0.5, 0.75, 1.0))


def _pin(dice: Dice) -> tuple[float, float]:
    """An ordinary place of the pin: over and up."""
    return dice.grid(0.5, 3.0, 8), dice.grid(1.5, 3.75, 8)


def _pin_bearing(dice: Dice) -> Draft:
    return reference_bearing(
        dice.diameter(), _pin(dice), _pap(dice), float(5 * (6 + dice.below(12))), dice.hand()
    )


def _by_distances(dice: Dice) -> Draft:
    to_pap = dice.grid(3.0, 5.5, 8)
    share = dice.one((0.375, 0.5, 0.625, 0.75))
    to_val = math.floor(8.0 * to_pap * share) / 8.0
    return pin_by_distances(dice.diameter(), _pap(dice), to_pap, to_val, dice.hand())


def _placement(dice: Dice) -> Draft:
    over = dice.grid(0.5, 3.0, 8) * dice.one((1.0, 1.0, -1.0))
    up = dice.grid(0.5, 3.75, 8) * dice.one((1.0, 1.0, -1.0))
    return pin_by_placement(dice.diameter(), (over, up), dice.hand())


def _below(dice: Dice) -> Draft:
    ring = dice.grid(3.5, 4.5)
    return thumb_below(
        dice.diameter(), ring + dice.one((0.5, 0.5625, 0.625)), ring, dice.grid(0.875, 1.125)
    )


def _bottom(dice: Dice) -> Draft:
    digit = dice.one(("thumb", "middle", "ring"))
    forward, sideways = (
        dice.grid(0.125, 0.5) * dice.one((1.0, -1.0)),
        dice.grid(0.125, 0.375) * dice.one((1.0, -1.0)),
    )
    depth = dice.grid(2.25, 3.0, 8) if digit == "thumb" else dice.grid(1.25, 2.25, 8)
    return pitch_bottom(dice.diameter(), forward, sideways, depth, digit)


KINDS = (
    Kind("pap-place", "find", "where the PAP is marked", 1.0,
         lambda d: pap_place(d.diameter(), *_pap(d), d.hand())),
    Kind("pin-by-placement", "find", "the pin of a placement", 1.0, _placement),
    Kind("grip-from-pap", "find", "the grip centre from the PAP", 1.5,
         lambda d: grip_from_pap(d.diameter(), *_pap(d), d.hand())),
    Kind("half-way-round", "find", "how far it is round a ball", 1.0,
         lambda d: half_way_round((8500 + d.below(56)) / 1000.0, 1 + d.below(2))),
    Kind("pin-from-grip", "find", "the arc from the grip centre to the pin", 2.0,
         lambda d: pin_from_grip(d.diameter(), d.grid(2.0, 4.5, 8), d.grid(1.5, 4.0, 8))),
    Kind("finger-offset", "find", "a finger hole's distance from the centreline", 2.0,
         lambda d: finger_offset(
             d.diameter(), d.grid(0.25, 0.5), 31.0 / 32.0, d.grid(0.625, 0.8125))),
    Kind("thumb-below", "find", "the thumb hole's distance from the grip centre", 2.0, _below),
    Kind("centre-to-centre", "find", "from hole centre to hole centre", 2.0,
         lambda d: centre_to_centre(
             d.diameter(), d.grid(4.0, 5.25), d.grid(0.875, 1.125), d.grid(0.625, 0.75),
             31.0 / 32.0)),
    Kind("total-pitch", "find", "two pitches together", 1.5,
         lambda d: total_pitch(d.diameter(), d.grid(0.125, 0.5, 32), d.grid(0.125, 0.5, 32))),
    Kind("pitch-tilt", "find", "the tilt of a pitch", 1.5,
         lambda d: pitch_tilt(d.diameter(), d.grid(0.375, 0.75), d.grid(2.25, 3.0, 4))),
    Kind("pitch-bottom", "find", "where a pitch leads the bottom of a hole", 2.5, _bottom),
    Kind("pin-to-pap", "find", "the arc from the pin to the PAP", 2.5,
         lambda d: pin_to_pap(d.diameter(), _pin(d), _pap(d), d.hand())),
    Kind("pin-to-val", "find", "the arc from the pin to the VAL", 2.0,
         lambda d: pin_val(d.diameter(), d.grid(3.0, 5.5, 8), 5.0 * (4 + d.below(11)))),
    Kind("psa-to-pap", "find", "the arc from the PSA mark to the PAP", 2.5,
         lambda d: psa_to_pap(
             d.diameter(), 5.0 * (6 + d.below(10)), d.grid(3.0, 5.5, 8), 5.0 * (4 + d.below(11)))),
    Kind("angle-at-pin", "find", "the angle at the pin of two distances", 2.5,
         lambda d: angle_at_pin(d.diameter(), d.grid(3.0, 5.5, 8), d.grid(3.25, 6.0, 8))),
    Kind("bearing", "find", "the bearing of the reference line", 2.5, _pin_bearing),
    Kind("pin-by-angles", "find", "the pin of a layout by angles", 3.0,
         lambda d: pin_by_angles(
             d.diameter(), _pap(d), d.grid(3.0, 5.5, 8), 5.0 * (4 + d.below(11)), d.hand())),
    Kind("pin-by-distances", "find", "the pin of a layout by distances", 3.0, _by_distances),
    Kind("track-ring", "find", "the track's ring from the axis tilt", 1.5,
         lambda d: track_ring(d.diameter(), 11.0 + d.below(15))),
)  # fmt: skip
