"""Problems of the third group: predict what a change does before the bit touches the ball."""

from __future__ import annotations

import math

from layoutkit.bench.pairs import moment, zero_error
from layoutkit.geometry.bores import Bore, outermost_common
from layoutkit.geometry.sphere import from_over_up
from layoutkit.job.built_in_rules import rule_set
from layoutkit.job.rules import Facts, Static, check, outcome, overall
from layoutkit.practice.find import SHOP_QUARTER
from layoutkit.practice.grips import Sizes, holes_of
from layoutkit.practice.pictures import picture
from layoutkit.practice.values import Asked, Dice, Draft, Kind, Slip, Unfit
from layoutkit.practice.words import ball, exact, inches, ounces
from layoutkit.units import OZ_PER_LB

POSITIVE = "toward the PAP side"
OUNCES = 0.1
BOOK = "the current rule book decides"


def _arm(diameter: float) -> str:
    return f"The scale's arm is the ball's radius, {diameter / 2.0:.3f} in."


def side_weight(diameter: float, top: float, over: float) -> Draft:
    """The side weight of a CG mark off the grip centre on the midline."""
    r = diameter / 2.0
    right = top * from_over_up(over, 0.0, r)[0] / r
    toward = "toward" if over > 0.0 else "away from"
    return Draft(
        "Side weight of a CG mark",
        f"{ball(diameter).capitalize()}, not drilled: top weight {top:g} oz on its label. The CG mark "
        f"lies on the midline, {inches(abs(over))} from the grip centre {toward} the PAP side. How much "
        "side weight is that, with its sign?",
        Asked("oz", OUNCES, POSITIVE),
        (right,),
        (
            Slip("wrong side", "it is put on the wrong side", (-right,)),
            Slip("share", "the arc's share of 6 3/4 in is taken", (top * over / SHOP_QUARTER,)),
            Slip(
                "cosine for sine",
                "the cosine is taken in place of the sine",
                (math.copysign(top * math.cos(over / r), over),),
            ),
        ),
        (
            f"The label's weight acts along the CG mark, {abs(over):g} in from the top, R = {exact(r)}.",
            f"{top:g} oz x sin({abs(over):g}/R) = {ounces(abs(right))}, {toward} the PAP side.",
        ),
        "Side weight is top weight x sin(arc / R), positive toward the PAP side for both hands.",
        drawn=picture(
            r, "right", {"cg": (over, 0.0)}, (("measure", "grip_center", "cg", inches(abs(over))),)
        ),
    )


def top_left(diameter: float, top: float, over: float) -> Draft:
    """The top weight that is left with the CG mark off the grip centre."""
    r = diameter / 2.0
    right = top * from_over_up(over, 0.0, r)[2] / r
    side = top * math.sin(over / r)
    return Draft(
        "Top weight that is left",
        f"{ball(diameter).capitalize()}, not drilled: top weight {top:g} oz on its label. The CG mark "
        f"lies {inches(over)} over from the grip centre, on the midline. How much top weight is there at "
        "the grip centre?",
        Asked("oz", OUNCES),
        (right,),
        (
            Slip("less side", "the side weight is taken off the top weight", (top - side,)),
            Slip(
                "share",
                "the arc's share of 6 3/4 in is taken off",
                (top * (1.0 - over / SHOP_QUARTER),),
            ),
            Slip("unchanged", "the top weight is left as it was", (top,)),
            Slip("sine for cosine", "the sine is taken in place of the cosine", (side,)),
        ),
        (
            f"Top weight counts along the grip centre, {over:g} in from the CG mark, R = {exact(r)}.",
            f"{top:g} oz x cos({over:g}/R) = {ounces(right)}.",
        ),
        "Side and top weight are the two sides of a right angle: sine and cosine, not a share.",
    )


def cg_move(diameter: float, top: float, by: float) -> Draft:
    """By how much the side weight changes when the CG mark moves."""
    r = diameter / 2.0
    right = top * from_over_up(by, 0.0, r)[0] / r
    toward = "toward" if by > 0.0 else "away from"
    return Draft(
        "The side weight when the CG mark moves",
        f"{ball(diameter).capitalize()}, top weight {top:g} oz, its CG mark at the grip centre. You move "
        f"the layout so that the CG mark comes to lie {inches(abs(by))} {toward} the PAP side. By how "
        "much does the side weight change, with its sign?",
        Asked("oz", OUNCES, POSITIVE),
        (right,),
        (
            Slip("wrong side", "it is put on the wrong side", (-right,)),
            Slip("inches as ounces", "the inches are read as ounces", (by,)),
            Slip("unchanged", "the side weight is left as it was", (0.0,)),
        ),
        (
            f"Toward the PAP side is positive, for both hands; R = {exact(r)}.",
            f"{top:g} oz x sin({abs(by):g}/R) = {ounces(abs(right))}: {right:+.2f} oz.",
        ),
        "The side weight follows the CG mark: it grows as the mark moves toward the PAP side.",
    )


def hole_side(diameter: float, net: float, over: float, centroid: float) -> Draft:
    """What a hole does to the side weight."""
    r = diameter / 2.0
    share = from_over_up(over, 0.0, r)[0] / r
    right = -net * centroid * share / r
    sign = math.copysign(1.0, over)
    return Draft(
        "What a hole does to the side weight",
        f"{ball(diameter).capitalize()}. A hole on the midline, {inches(abs(over))} "
        f"{'toward' if over > 0.0 else 'away from'} the PAP side from the grip centre, takes {net:g} oz "
        f"net; the middle of what it takes is {centroid:g} in from the ball's centre. "
        f"{_arm(diameter)} By how much does the side weight change, with its sign?",
        Asked("oz", OUNCES, POSITIVE),
        (right,),
        (
            Slip("wrong side", "it is put on the wrong side", (-right,)),
            Slip("at the surface", "the weight is taken as at the surface", (-net * share,)),
            Slip("no direction", "the hole's direction is left out", (-sign * net * centroid / r,)),
            Slip("neither", "neither depth nor direction is taken", (-sign * net,)),
        ),
        (
            f"The moment lost is {net:g} oz x {centroid:g} in x sin({abs(over):g}/R) = "
            f"{abs(right) * r:.3f} oz in, R = {exact(r)}.",
            f"Over the arm {r:.3f} in that is {ounces(abs(right))}, away from the side of the hole.",
        ),
        "A hole takes weight from its own side: weight x lever / arm, the lever being that of its "
        "middle.",
    )


def two_position(diameter: float, pounds: float, supports: float, a: float, b: float) -> Draft:
    """The static weight of two readings on two supports."""
    arm = diameter / 2.0
    right = moment(a, b, supports) / arm
    kept = supports * zero_error(a, a, pounds * OZ_PER_LB / 2.0) / arm
    return Draft(
        "A weighing in two positions",
        f"A ball of {pounds:g} lb and {diameter:.3f} in lies on two supports {supports:g} in apart, its "
        f"seat half way. The scale reads {a:g} oz, and turned end for end {b:g} oz. {_arm(diameter)} "
        "What is the static weight, with its sign?",
        Asked("oz", OUNCES, "toward the scale in the first reading"),
        (right,),
        (
            Slip("not halved", "the half is forgotten", (2.0 * right,)),
            Slip("half difference", "half the difference is taken as it is", ((a - b) / 2.0,)),
            Slip("difference", "the plain difference is taken", (a - b,)),
            Slip("one reading", "one reading is taken, and the zero error stays in it", (kept,)),
            Slip("ends exchanged", "the two readings are exchanged", (-right,)),
        ),
        (
            f"The moment is {supports:g} in x ({a:g} - {b:g}) / 2 = {moment(a, b, supports):.3f} oz in.",
            f"Over the arm {arm:.3f} in that is {right:+.2f} oz.",
        ),
        "static weight = supports x (a - b) / 2 / arm; what both readings share is the zero error.",
    )


def rg_about(low: float, high: float, turn: float) -> Draft:
    """The RG about an axis between the low and the high one."""
    t = math.radians(turn)

    def rg(c: float, s: float) -> float:
        return math.hypot(low * c, high * s)

    right = rg(math.cos(t), math.sin(t))
    return Draft(
        "RG about the bowler's axis",
        f"A ball has an RG of {low:.3f} in about its low RG axis and {high:.3f} in square to it. What is "
        f"its RG about an axis {turn:g} degrees from the low one?",
        Asked("in", 0.003),
        (right,),
        (
            Slip("share", "the angle's share of 90 degrees is taken",
                 (low + (high - low) * turn / 90.0,)),
            Slip("sine for cosine", "sine and cosine are exchanged", (rg(math.sin(t), math.cos(t)),)),
            Slip("not squared", "the sine is not squared", (low + (high - low) * math.sin(t),)),
        ),
        (
            "Moments add, and a moment goes with the square of its RG.",
            f"RG^2 = {low:.3f}^2 cos^2({turn:g}) + {high:.3f}^2 sin^2({turn:g}) = {right * right:.4f}.",
            f"RG = {right:.4f} in.",
        ),
        "RG^2 = RG low^2 cos^2 + RG high^2 sin^2 of the angle from the low RG axis.",
    )  # fmt: skip


# --- words ----------------------------------------------------------------------------------------

YES, NO = "yes", "no"
FIRST, SECOND = "the first", "the second"
_MARGIN = 0.06  # inches of depth by which holes meet or clear each other in a problem


def holes_meet(diameter: float, bridge: float, bore: float, finished: float, depth: float) -> Draft:
    """Whether two finger holes that aim at the centre meet. Raises Unfit for a near thing."""
    r = diameter / 2.0

    def meet(deep: float) -> bool:
        return outermost_common(*bores(deep)) > 0.0

    def bores(deep: float) -> tuple[Bore, Bore]:
        holes = holes_of(Sizes(bridge=bridge, bore=bore, finger=finished, depth=deep), r)
        one, other = holes["middle"].bore, holes["ring"].bore
        assert one is not None
        assert other is not None
        return one, other

    found = meet(depth)
    if any(meet(depth + shift) != found for shift in (-_MARGIN, _MARGIN)):
        raise Unfit("too near to tell")
    apart = math.dist(*(each.entry for each in bores(depth))) * (1.0 - depth / r)
    right = YES if found else NO
    other = NO if found else YES
    why = (
        "the finished holes are taken for the bores, or the bridge is taken to stay as wide in depth"
        if found
        else "the holes are taken to draw together faster than they do"
    )
    return Draft(
        "Will the finger holes meet?",
        f"{ball(diameter).capitalize()}: two finger bores of {inches(bore, 32)}, {inches(depth)} deep "
        f"and without pitch, finished to {inches(finished, 32)} in their inserts; bridge "
        f"{inches(bridge, 32)}, spans 4 3/8 in and 4 1/4 in. Do the bores meet inside the ball?",
        Asked("", choices=(YES, NO)),
        right,
        (Slip("meet", why, other),),
        (
            "Both axes aim at the ball's centre, so they draw together in proportion to what is left of "
            "the radius.",
            f"At {inches(depth)} their axes are {exact(apart)} apart, and each bore is {bore:.3f} in "
            "wide all the way down.",
            f"They {'meet' if found else 'do not meet'} above that depth.",
        ),
        "Bores bound the wall, not finished holes; without outward pitch they close in with depth.",
    )


def _migration(radius: float, low: float, high: float, angle: float) -> float:
    """How far the axis of a symmetric ball moves in one free turn, in inches (Euler's equations).

    ``angle`` is twice that between the pin and the axis, in radians.
    """
    return math.pi * radius * (1.0 - (low / high) ** 2) * math.sin(angle)


def ring_spacing(diameter: float, low: float, high: float, away: float) -> Draft:
    """How far apart the first two rings of a free symmetric ball lie."""
    r = diameter / 2.0
    right = _migration(r, low, high, 2.0 * away / r)
    plain = math.pi * r * (1.0 - low / high) * math.sin(2.0 * away / r)
    return Draft(
        "The first two rings",
        f"{ball(diameter).capitalize()}, symmetric: RG {low:.3f} in about its pin, {high:.3f} in square "
        f"to it. The pin lies {inches(away)} from the PAP. How far does the axis move in its first turn, "
        "before the lane turns it? So far apart are the first two rings.",
        Asked("in", 0.02),
        (right,),
        (
            Slip("diameter for radius", "the diameter stands for the radius before the sine",
                 (2.0 * right,)),
            Slip("not squared", "the RGs are not squared", (plain,)),
            Slip("not doubled", "the arc is not doubled", (_migration(r, low, high, away / r),)),
        ),
        (
            f"Pin to axis: {inches(away)} / {r:.3f} in = {math.degrees(away / r):.1f} degrees.",
            f"pi x {r:.3f} x (1 - ({low:.3f} / {high:.3f})^2) x sin({math.degrees(2.0 * away / r):.1f} "
            f"degrees) = {right:.3f} in.",
        ),
        "The axis moves by pi R (1 - (RG low / RG high)^2) sin(2 x pin to PAP / R) in one turn. It "
        "compares layouts and promises no score.",
    )  # fmt: skip


def flares_more(diameter: float, low: float, high: float, first: float, second: float) -> Draft:
    """Which of two layouts flares more, by the pin's arc from the PAP. Unfit for a near thing."""
    r = diameter / 2.0

    def step(away: float) -> float:
        return _migration(r, low, high, 2.0 * away / r)

    if abs(step(first) - step(second)) < 0.15 * max(step(first), step(second)):
        raise Unfit("too near to tell")
    right, other = (FIRST, SECOND) if step(first) > step(second) else (SECOND, FIRST)
    return Draft(
        "Which layout flares more?",
        f"{ball(diameter).capitalize()}, symmetric: RG {low:.3f} and {high:.3f} in. The first layout has "
        f"its pin {inches(first)} from the PAP, the second {inches(second)}. Which one flares more?",
        Asked("", choices=(FIRST, SECOND)),
        right,
        (Slip("nearer or farther", "only nearer or only farther counts", other),),
        (
            "The axis moves by pi R (1 - (RG low / RG high)^2) sin(2 x pin to PAP / R) in one turn.",
            f"First {step(first):.3f} in, second {step(second):.3f} in.",
        ),
        "Flare is largest with the pin half a quarter, about 3 3/8 in, from the PAP, and falls off to "
        "both sides. It compares layouts and promises no score.",
    )


def outcome_word(value: float, allowance: float) -> Draft:
    """The word for a side weight near its limit. Raises Unfit where an end of its band is the limit."""
    limit = 3.0
    if min(abs(limit - value - shift) for shift in (-allowance, 0.0, allowance)) < 0.01:
        raise Unfit("too near to tell")
    right = outcome(value, (value - allowance, value + allowance), -limit, limit)
    lowered = "fail" if value > limit - allowance else "pass"
    plain = "pass" if value <= limit else "fail"
    slips: list[Slip] = []
    if plain != right:
        slips.append(Slip("no band", "the scale's allowance is forgotten", plain))
    if lowered not in (right, plain):
        slips.append(Slip("lowered", "the limit is lowered by the allowance", lowered))
    return Draft(
        "Pass, close or fail?",
        f"A ball of 15 lb has {value:.2f} oz side weight by the plan; the scale's allowance is "
        f"{allowance:.2f} oz and the limit 3 oz. What is the outcome of this check?",
        Asked("", choices=("pass", "close", "fail")),
        right,
        tuple(slips),
        (
            f"The band is {value - allowance:.2f} to {value + allowance:.2f} oz.",
            "The limit lies inside the band: close."
            if right == "close"
            else f"The whole band: {right}.",
        ),
        f"Close means that the limit lies within the band: weigh the drilled ball; {BOOK}.",
    )


GROSS, SIDE, TOP, BALANCE, NOTHING = (
    "the gross weight",
    "the side weight",
    "the top weight",
    "the balance hole",
    "none: it is legal",
)


def which_rule(
    pounds: float, top: float, side: float, finger: float, balance: tuple[float, ...]
) -> Draft:
    """Which rule a ball fails under the present rule set; Unfit where it is not just one."""
    facts = Facts(
        pounds, False, 8.55, Static(top, top, top), Static(side, side, side),
        Static(finger, finger, finger), 3, True, False, "DEMO0001", balance, (), 0, (), 0.0,
    )  # fmt: skip
    rules = rule_set("usbc-2020")
    checks = check(rules, facts)
    names = {"gross": GROSS, "side": SIDE, "top": TOP, "balance holes": BALANCE}
    failed = [each for each in checks if each.outcome == "fail"]
    if len(failed) > 1 or overall(checks) not in ("pass", "fail"):
        raise Unfit("not one rule")
    right = names[failed[0].name] if failed else NOTHING
    slips: list[Slip] = []
    if abs(side) > 1.0 and right != SIDE:
        slips.append(
            Slip("old side limit", "the side weight is judged by the rule before 2018", SIDE)
        )
    if balance and right != NOTHING:
        slips.append(Slip("old balance hole", "a balance hole is allowed as it was once", NOTHING))
    elif right != NOTHING:
        slips.append(Slip("overlooked", f"the limit on {right} is overlooked", NOTHING))
    hole = (
        f", and a hole of {inches(balance[0])} that no finger uses"
        if balance
        else ", no other hole"
    )
    by = failed[0].source if failed else ""
    return Draft(
        "Which rule does it fail?",
        f"A drilled ball weighs {pounds:.2f} lb and has {abs(top):.2f} oz top weight, {abs(side):.2f} oz "
        f"side weight and {abs(finger):.2f} oz finger weight, three gripping holes{hole}. Which of these "
        "is against the rules in force since August 2020 for a ball over 10 lb?",
        Asked("", choices=(GROSS, SIDE, TOP, BALANCE, NOTHING)),
        right,
        tuple(slips),
        (
            "Over 10 lb: at most 16.00 lb, at most 3 oz each of top, side and finger weight, no balance "
            "hole.",
            f"Here: {right}." + (f" Source: {by}" if by else ""),
        ),
        f"Each static weight is tested alone; {BOOK}.",
    )


# --- draws ----------------------------------------------------------------------------------------

_BOTH = (1.0, -1.0)


def _weighing(dice: Dice) -> Draft:
    pounds = dice.one((14.0, 14.5, 15.0, 15.5))
    middle = pounds * OZ_PER_LB / 2.0 + dice.grid(-1.0, 1.0, 4)
    apart = dice.grid(0.5, 2.0, 4) * dice.one(_BOTH)
    supports = dice.one((8.0, 9.0, 10.0, 12.0))
    return two_position(dice.diameter(), pounds, supports, middle + apart, middle - apart)


def _flare(dice: Dice) -> Draft:
    first, second = dice.grid(1.0, 6.25, 4), dice.grid(1.0, 6.25, 4)
    low = 2.47 + 0.01 * dice.below(10)
    return flares_more(dice.diameter(), low, low + 0.03 + 0.005 * dice.below(5), first, second)


def _rings(dice: Dice) -> Draft:
    # near the middle of the range an arc that is not doubled would give nearly the same
    low = 2.47 + 0.01 * dice.below(6)
    return ring_spacing(
        dice.diameter(), low, low + 0.045 + 0.005 * dice.below(4), dice.grid(2.25, 3.5)
    )


def _rule(dice: Dice) -> Draft:
    pounds = 14.0 + dice.below(195) / 100.0
    top, side, finger = (dice.below(250) / 100.0 for _ in range(3))
    what = dice.below(5)
    if what == 0:
        pounds = 16.05 + dice.below(20) / 100.0
    if what == 1:
        side = 3.25 + dice.below(75) / 100.0
    if what == 2:
        top = 3.25 + dice.below(75) / 100.0
    balance = (dice.grid(0.75, 1.25, 8),) if what == 3 else ()
    return which_rule(pounds, top, side, finger, balance)


def _rg(dice: Dice) -> Draft:
    # a share and a squared sine lie two tolerances apart about 20 degrees alone, of large differentials
    low = 2460 + 5 * dice.below(21)
    return rg_about(low / 1000.0, (low + 58 + dice.below(3)) / 1000.0, 16.0 + dice.below(9))


KINDS = (
    Kind("cg-move", "predict", "the side weight when the CG mark moves", 1.5,
         lambda d: cg_move(d.diameter(), d.grid(1.5, 4.0, 4), d.grid(0.375, 1.5, 8) * d.one(_BOTH))),
    Kind("side-weight", "predict", "the side weight of a CG mark", 2.0,
         lambda d: side_weight(d.diameter(), d.grid(2.0, 4.0, 4), d.grid(0.75, 2.5, 8) * d.one(_BOTH))),
    Kind("top-left", "predict", "the top weight that is left", 2.0,
         lambda d: top_left(d.diameter(), d.grid(2.0, 4.0, 4), d.grid(1.0, 3.0, 8))),
    Kind("outcome-word", "predict", "pass, close or fail", 1.0,
         lambda d: outcome_word((240 + 5 * d.below(25)) / 100.0, d.one((0.25, 0.3)))),
    Kind("which-rule", "predict", "legal or not, and by which rule", 1.5, _rule),
    Kind("holes-meet", "predict", "whether the finger holes meet", 1.5,
         lambda d: holes_meet(
             d.diameter(), d.grid(0.1875, 0.5), 31.0 / 32.0, d.grid(0.625, 0.75),
             d.grid(0.75, 2.25, 8))),
    Kind("flares-more", "predict", "which of two layouts flares more", 1.5, _flare),
    Kind("ring-spacing", "predict", "how far apart the first two rings lie", 2.0, _rings),
    Kind("hole-side", "predict", "what a hole does to the side weight", 2.5,
         lambda d: hole_side(
             d.diameter(), d.grid(1.0, 3.0, 4), d.grid(1.0, 3.0, 8) * d.one(_BOTH),
             d.grid(2.75, 3.25, 10))),
    Kind("two-position", "predict", "the static weight of two readings", 2.5, _weighing),
    Kind("rg-about", "predict", "the RG about an axis between two others", 2.5, _rg),
)  # fmt: skip
