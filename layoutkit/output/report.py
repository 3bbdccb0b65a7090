"""A plan in words, for a terminal or a plain printout of 100 columns.

Everything is taken from the plan as it is; nothing is computed but roundings. Lengths that a
driller sets on a machine are printed to 1/64 in, arcs that are measured on the ball to 1/16 in and
angles to 1 degree; RGs and static weights are decimals, as labels and scales show them.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence

from layoutkit.bench.weighing import STAGES, compare, judge, recorded, unread_pairs
from layoutkit.geometry.sphere import arc, axes_at, bearing, wrap180
from layoutkit.geometry.vectors import dot
from layoutkit.job.record import ExtraHoles, Scale
from layoutkit.job.rules import CONFIRM, DIAMETER, DRILLABLE, YES_NO, Check, RuleSet, overall
from layoutkit.job.shop import SAME_BIT
from layoutkit.job.words import NOT_KNOWN, SIDES, check_words, range_words, static_words
from layoutkit.planning.bits import bit_for, missing_bits
from layoutkit.planning.cautions import AT_SURFACE
from layoutkit.planning.given import arms
from layoutkit.planning.grip_marks import BRIDGE, STOP, EdgeCheck, edge_checks
from layoutkit.planning.marking import ARC_STEP, ROUNDING_NOTE, marking_steps
from layoutkit.planning.plan import PROOF_TOLERANCE, nearest_bit
from layoutkit.planning.unknown import unknown
from layoutkit.planning.values import (
    ExtraHolePlan,
    HolePlan,
    Inertia,
    Mark,
    OldHolePlan,
    OvalPlan,
    Plan,
)
from layoutkit.units import (
    MM_PER_INCH,
    Units,
    format_length,
    format_ounces,
    format_weight,
    fraction,
)

PROOF_STEP = 32  # arcs that prove the work are read in thirty-seconds of an inch
NO_BIT = "none"  # of that size in the shop's file
WIDTH = 100  # columns
NEAR_BIT = "~ marks the nearest stocked inch bit where it is not of that size."

# What hurts people or ruins balls in a shop; common knowledge of the trade, no single source.
SHOP_CAUTIONS = (
    "Clamp the ball before the spindle turns; keep hands, sleeves and hair from the spinning bit.",
    "Wear eye protection. Dust and resin fumes harm lungs and skin: extraction on, gloves on.",
    "A thumb hole that does not fit can injure the bowler: try the grip, and refit before play.",
    "This plan is a calculation. Local rules, the rule book in force and licensed practice decide.",
)
# What plugging adds to that; no source but care.
PLUG_CAUTION = (
    "Plugs: ventilate, wear gloves, keep dust out of lungs and off skin, and let the resin cure before "
    "it is cut. Its maker's data sheet and local rules come first."
)
PRESS_STOP = (
    "One press stop for all bores: set it {travel} below the bit's first touch at the oval's middle, "
    "before any bore is cut."
)
THE_BIT = "The bit's place is meant: a table that carries the ball moves the other way."
INNER_BORE = "inner bore"  # for the inner sleeve, where the outer one did not come with its hole
READY = ", ready-made: it comes with its hole, so no cut in it"
MILLED = "Milled: sink the bit at both ends, then run it from one to the other."

EDGE_HEAD = ("edge to edge", "cut", "finished")
WEIGHED = {
    "pass": "LEGAL as weighed",
    "close": "TOO CLOSE TO CALL: a limit lies within the scale's allowance, weigh again",
    "incomplete": "INCOMPLETE: nothing is legal that was not weighed",
    "fail": "NOT LEGAL as weighed",
}
VERDICTS = {
    "pass": "within every limit that was checked.",
    "close": "a limit lies within the uncertainty, so weigh the drilled ball.",
    "incomplete": "a figure that a check needs is missing.",
    "fail": "do not drill this plan as it is.",
}


def do_not_drill(plan: Plan) -> str:
    """The words at the head of what is printed for the bench; empty for a plan that may be drilled."""
    if plan.reasons:
        return "Do not drill: see cautions"
    return "Fails a rule: do not drill" if plan.outcome == "fail" else ""


def report(plan: Plan, units: Units = "fraction") -> str:
    """The whole plan as text of several lines, each of at most 100 columns.

    ``units`` is the form of lengths and weights. The cautions stay in inches; a marking step, which is
    measured with a rule, has its decimals beside the fraction.
    """
    sections = filter(
        None,
        (
            _head(plan, units),
            cautions_section(plan),
            unknown_section(plan),
            questions_section(plan),
            _marks(plan, units),
            _layout(plan, units),
            _steps(plan, units),
            _proof(plan, units),
            _as_drilled(plan, units),
            _holes(plan, units),
            _oval(plan, units),
            _extra_holes(plan, units),
            _old_holes(plan, units),
            _walls(plan, units),
            _resurfaced(plan, units),
            _statics(plan, units),
            _certainty(plan, units),
            _weighed(plan, units),
            _inertia(plan, units),
            _checks(plan, units),
            _shop(plan),
        ),
    )
    return "\n\n".join("\n".join(lines) for lines in sections) + "\n"


def ball_weight(pounds: float, units: Units) -> str:
    """A ball's weight as on its label: decimal pounds, or kilograms where metric."""
    return format_weight(pounds, "metric" if units == "metric" else "decimal")


def allowance(plan: Plan) -> float:
    """The scale's allowance in ounces: the record's, or the usual one where it has no scale."""
    return (plan.job.scale or Scale()).allowance


def check_row(check: Check, units: Units = "fraction") -> tuple[str, str, str, str, str]:
    """A check in words: name, value, limit, band and outcome; no band where nothing is uncertain."""
    limit = check_words(check, check.limit, units)
    low, high = check.band or (0.0, 0.0)
    return (
        check.name,
        check_words(check, check.value, units),
        f"within {limit[1:]}"
        if check.unit == "oz" and check.limit > 0.0
        else "needed"
        if check.unit == YES_NO
        else f"usual to {limit}"
        if check.name == DIAMETER
        else f"at most {limit}",
        ""
        if low == high
        else f"{check_words(check, low, units)} to {check_words(check, high, units)}",
        check.outcome if check.outcome == "pass" else check.outcome.upper(),
    )


def check_table(checks: Sequence[Check], units: Units = "fraction") -> list[str]:
    """Checks as a table: value, limit, band, outcome, and the number of the source below it."""
    sources = list(dict.fromkeys(c.source for c in checks))
    rows = [("", "value", "limit", "band", "outcome", "source")]
    rows += [(*check_row(c, units), f"[{sources.index(c.source) + 1}]") for c in checks]
    lines = table(rows)
    for number, source in enumerate(sources, 1):
        lines += wrap(source, f"[{number}] ")
    return lines


def wrap(text: str, first: str = "", indent: str = "  ") -> list[str]:
    """Lines of at most 100 columns; ``first`` starts the first line, the others stand under it."""
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=indent + first,
        subsequent_indent=indent + " " * len(first),
        break_on_hyphens=False,
    )


def table(rows: Iterable[Sequence[str]], indent: str = "  ", between: str = "  ") -> list[str]:
    """Lines with the cells under each other, and two blanks between columns by default."""
    cells = [list(row) for row in rows]
    columns = max(len(row) for row in cells)
    widths = [max(len(row[i]) for row in cells if i < len(row)) for i in range(columns)]
    return [
        indent + between.join(c.ljust(w) for c, w in zip(row, widths, strict=False)).rstrip()
        for row in cells
    ]


# --- sections -------------------------------------------------------------------------------------


def _head(plan: Plan, units: Units) -> list[str]:
    job = plan.job
    ball, bowler = job.ball, job.bowler
    size = decimal_length(ball.diameter, units)
    if ball.resurfaced:
        size = f"{decimal_length(2.0 * ball.radius, units)} now, {size} on its label"
    lines = wrap(job.title, indent="") if job.title else []
    lines += wrap(f"{bowler.name or 'not named'}, {bowler.hand} hand", "Bowler   ", indent="")
    lines += wrap(
        f"{ball.name or 'not named'}, serial {ball.serial or 'not given'}, {size}, "
        f"{ball_weight(ball.weight, units)}, top weight "
        f"{NOT_KNOWN if ball.top_weight is None else format_ounces(ball.top_weight, units)}",
        "Ball     ",
        indent="",
    )
    if job.work is not None:
        w = job.work
        named = (
            ("order", w.order),
            ("", w.date),
            ("driller", w.driller),
            ("checked by", w.checked_by),
            ("ball is", w.ball_is),
        )
        work = ", ".join(f"{name} {value}".strip() for name, value in named if value)
        if work:
            lines += wrap(work, "Work     ", indent="")
    for paragraph in job.notes.splitlines():
        if paragraph.strip():
            lines += wrap(paragraph.strip(), "Notes    ", indent="")
    return [*lines, "", *outcome_lines(plan, units)]


def outcome_lines(plan: Plan, units: Units) -> list[str]:
    """The outcome and its reasons."""
    marked = [c.name for c in plan.checks if c.outcome == plan.outcome != "pass"]
    which = f" ({', '.join(marked)})" if marked else ""
    lines: list[str] = []
    for why in plan.reasons:
        lines += wrap(why, "DO NOT DRILL: ", indent="")
    verdict = f"{plan.outcome.upper()}{which} under {plan.rules.name}"
    lines += wrap(f"{verdict}: {VERDICTS[plan.outcome]}", indent="")
    for why in outcome_reasons(plan, units):
        lines += wrap(why, "- ")
    return lines


def outcome_reasons(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """Which checks make the outcome a failure or close, each in a sentence; none else.

    What ruins the ball stands in the plan's own reasons; what is incomplete, in `unknown`.
    """
    if plan.outcome not in ("fail", "close"):
        return ()
    return tuple(
        f"{reason_words(check, units)}."
        for check in plan.checks
        if check.outcome == plan.outcome and check.name != DRILLABLE
    )


_REASONS = {"gross": "gross weight", "serial": "serial number", "hole count": "gripping holes"}


def reason_words(check: Check, units: Units = "fraction") -> str:
    """Why a check does not pass, in a few words: `side weight 3.48 oz positive, limit 3.00 oz`.

    With what the figure may be where the outcome is close; `serial number missing` of what has to be
    there.
    """
    name = _REASONS.get(check.name, check.name)
    if check.unit == YES_NO:
        return f"{name} missing"
    _, value, limit, band, _ = check_row(check, units)
    if check.unit == "oz":
        limit = f"limit {check_words(check, check.limit, units)[1:]}"
        if check.value is None:
            return f"{name} weight {NOT_KNOWN}, {limit}"
        plus, minus = SIDES[check.name]
        toward = minus if check.value < 0.0 else plus
        size = format_ounces(abs(check.value), units)
        value = size if name != "side" else f"{size} {toward.partition(' ')[0]}"
        name = "side weight" if name == "side" else toward
    limit = limit.replace("at most", "limit")
    may_be = f"; it may be {band}" if band and check.outcome == "close" else ""
    return f"{name} {value}, {limit}{may_be}"


def _marks(plan: Plan, units: Units) -> list[str]:
    m = plan.marks
    rows = [("", "over", "up", "to grip centre")]
    d = plan.distances
    named: tuple[tuple[str, Mark | None, float | None], ...] = (
        ("pin", m.pin, d.pin_to_grip_center),
        ("CG mark", m.cg, d.cg_to_grip_center),
        ("PSA mark", m.psa, d.psa_to_grip_center),
        ("PAP", m.pap, None),
    )
    for name, mark, distance in named:
        if mark is not None:
            arc = "" if distance is None else on_ball(distance, units)
            rows.append((name, on_ball(mark.over, units), on_ball(mark.up, units), arc))
    title = _title("Marks", "from the grip centre; over toward the PAP side, up toward the fingers")
    return [title, *table(rows)]


def _layout(plan: Plan, units: Units) -> list[str]:
    n, pin = plan.layout, plan.marks.pin
    angles, backward = n.by_angles, (n.angle_at_pin or 0.0) < 0.0
    rows: list[tuple[str, ...]] = [
        (
            "by placement",
            f"pin over {on_ball(pin.over, units)}",
            f"pin up {on_ball(pin.up, units)}",
            "" if n.bearing is None else f"bearing {n.bearing:.0f} deg",
        )
    ]
    if angles is not None:
        rows.append(
            (
                "by angles",
                f"angle at the pin {angles[0]:.0f} deg",
                f"pin to PAP {on_ball(angles[1], units)}",
                f"angle at the PAP {angles[2]:.0f} deg",
            )
        )
    away, from_psa, offset = n.pin_to_pap, n.psa_to_pap, n.pin_to_val
    if away is not None and from_psa is not None and offset is not None and not backward:
        rows.append(
            (
                "by distances",
                f"pin to PAP {on_ball(away, units)}",
                f"PSA to PAP {on_ball(from_psa, units)}",
                f"pin to VAL {on_ball(offset, units)}",
            )
        )
    lines = [_title("Layout", "one layout, stated in each way that can state it"), *table(rows)]
    if angles is None:
        return lines
    if n.psa_to_pap is None:
        lines.append("  No PSA mark: distances cannot state it; the reference mark is the CG mark.")
    elif backward:
        lines.append("  Distances cannot state a negative angle at the pin.")
    elif abs(angles[2]) > 90.0:
        lines.append("  Distances leave two angles at the PAP: this is the obtuse one.")
    return lines


def layout_words(plan: Plan, units: Units = "fraction", degree: str = " deg") -> str:
    """The layout in one sentence: where the pin lies first, then what the PAP adds to that.

    Each figure has its name; ``degree`` stands behind an angle.
    """
    n, pin = plan.layout, plan.marks.pin
    mark = "CG mark" if plan.marks.psa is None else "PSA mark"
    way = "down" if pin.up < 0.0 else "up"
    arcs = {
        "pin to PAP": n.pin_to_pap,
        "PSA to PAP": n.psa_to_pap,
        "pin to VAL": n.pin_to_val,
    }
    turns = {
        f"bearing of the {mark}": n.bearing,
        "angle at the pin": n.angle_at_pin,
        "angle at the PAP": n.angle_at_pap,
    }
    said = {k: f"{k} {on_ball(v, units)}" for k, v in arcs.items() if v is not None}
    said |= {k: f"{k} {round(v, 1):g}{degree}" for k, v in turns.items() if v is not None}
    placed = [f"pin {on_ball(pin.over, units)} over", f"{on_ball(abs(pin.up), units)} {way}"]
    bearing, *others = turns
    order = ("pin to PAP", *others, "PSA to PAP", "pin to VAL")
    parts = ([*placed, said.get(bearing)], [said.get(k) for k in order])
    return "; ".join(", ".join(filter(None, part)) for part in parts if any(part)) + "."


def _steps(plan: Plan, units: Units) -> list[str]:
    lines = [_title("Mark the ball", "turns as seen from outside the ball")]
    for step in marking_steps(plan, units):
        other = f" [{on_ball(step.length, units)}]" if units == "decimal" else ""
        lines += wrap(step.text + other, f"{step.number:>2}. ")
    return lines + wrap(ROUNDING_NOTE)


def _proof(plan: Plan, units: Units) -> list[str]:
    most = format_length(PROOF_TOLERANCE, units)
    lines = [_title("Before the bit", "measure these arcs from each hole's centre")]
    lines += table(proof_rows(plan, units))
    lines.append(f"  Stop if one is off by more than {most}; let a second person measure too.")
    lines += table(edge_rows(plan, units))
    stop = format_length(STOP, units)
    lines.append(
        f"  Stop if one of these is off by more than {stop}: it is the span that a hand feels."
    )
    return lines


def edge_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Spans and bridge from edge to edge: a heading, then a row each."""
    rows: list[tuple[str, ...]] = [EDGE_HEAD]
    for check in todays_edges(plan):
        cut, finished = (format_length(v, units) for v in (check.cut, check.finished))
        rows.append((check.name, cut, finished + finished_note(check)))
    return rows


def todays_edges(plan: Plan) -> list[EdgeCheck]:
    """The spans and the bridge of today's holes."""
    new = {h.name for h in plan.for_today.holes}
    checks = edge_checks(plan.holes, plan.job.bowler.grip.bridge, plan.radius)
    return [c for c in checks if new & set(c.name.replace(BRIDGE, "middle ring").split())]


def finished_note(check: EdgeCheck) -> str:
    """The words beside the finished figure of an edge check; empty where it needs none."""
    return " square to the centreline" if check.name == BRIDGE else ""


def proof_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Arcs from each hole's centre to the factory's marks: a heading, then a row a hole."""
    there = [name for name, mark in (("CG", plan.marks.cg), ("PSA", plan.marks.psa)) if mark]
    rows: list[tuple[str, ...]] = [("hole", "to pin", *(f"to {name} mark" for name in there))]
    for h in plan.for_today.holes:
        arcs = (h.from_pin, h.from_cg, h.from_psa)
        rows.append((h.name, *(proof_words(a, units) for a in arcs if a is not None)))
    return rows


def proof_words(arc: float, units: Units) -> str:
    """An arc that is read off the ball to check the work: to the thirty-second."""
    return format_length(arc, units, PROOF_STEP)


def _as_drilled(plan: Plan, units: Units) -> list[str]:
    """The measures after drilling beside the planned ones; empty where nothing was measured."""
    if not plan.differences:
        return []
    title = _title(
        "As drilled", "measured; the plan is made of these holes, and of what was not measured"
    )
    return [*wrap(title, indent=""), *table(difference_rows(plan, units))]


def difference_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Each measure as drilled: a heading, then planned, measured, off, and what it is beyond."""
    rows: list[tuple[str, ...]] = [("", "planned", "as drilled", "off", "")]
    for d in plan.differences:
        ways = _WAYS.get(d.name.split()[1], ("", ""))
        planned, measured = (way_words(v, *ways, units).strip() for v in (d.planned, d.measured))
        off = decimal_length(d.off, units)
        most = format_length(d.tolerance, units)
        sign = "+" if d.off > 0.0 else ""
        rows.append((d.name, planned, measured, sign + off, f"beyond {most}" if d.beyond else ""))
    return rows


_WAYS = {"forward": ("forward", "reverse"), "right": ("right", "left")}


def difference_words(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """What is off the plan by more than its tolerance, in sentences; none where nothing was measured."""
    if not plan.differences:
        return ()
    rows = difference_rows(plan, units)[1:]
    sentences = tuple(
        f"As drilled: {name} {measured}, planned {planned}, off by {off} ({beyond})."
        for name, planned, measured, off, beyond in rows
        if beyond
    )
    return sentences or (
        f"As drilled: {len(rows)} measures, all within their tolerances of what was planned.",
    )


def _holes(plan: Plan, units: Units) -> list[str]:
    """The work at the press in its order, then where each hole is."""
    return [*cuts_section(plan, units), "", *table(hole_rows(plan, units))]


def only_words(plan: Plan) -> str:
    """The words that only some holes are cut today; empty where all are."""
    there = [h.name for h in plan.holes if h not in plan.for_today.holes]
    if plan.today is None or not there:
        return ""
    names = " and ".join(h.name for h in plan.for_today.holes)
    return f"Today only: {names}. There already, and left as they are: {' and '.join(there)}."


def today_words(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """What today's work alone does to the weights, where it is not the whole work; none else."""
    today = plan.today
    if today is None:
        return ()
    parts = ", ".join(
        f"{name} {format_ounces(getattr(today, f'{name}_oz'), units, True)}"
        for name in ("top", "side", "finger")
    )
    arm = "" if plan.statics.calibrated else " at the default arm"
    plugs = ", from the ball with its plugs in" if plan.old_holes else ""
    return (
        f"Today's work alone{plugs}: {parts}{arm}, "
        f"{format_ounces(today.removed_oz, units)} removed.",
    )


def cuts_section(plan: Plan, units: Units) -> list[str]:
    """The work at the press in its order."""
    words = "degrees, in the order of work; travel is from the bit's first touch"
    lines = [_title("Holes", f"{whole_unit(units)} and {words}")]
    lines += wrap(only_words(plan)) if only_words(plan) else []
    rows = operation_rows(plan, units)
    lines += _operations(rows)
    if any(len(row) > 2 and row[3].startswith("~") for row in rows):
        lines.append("  " + NEAR_BIT)
    for words in missing_bits(plan, units):
        lines += wrap(words)
    return lines


def operation_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Today's work at the press in its order: a heading, then bores, sleeves and finished holes.

    A row that sets a sleeve or rounds an edge has two cells, its number and its words. Lengths are bare
    numbers of inches, or of millimetres where metric. A ready-made sleeve has no finishing cut.
    """
    holes = plan.in_order
    pitch = ("forward/reverse", "right/left", "tilt")
    # of a metric shop's own bits some may be inch bits, and are named so
    bit = "bit" if plan.bits else "bit (mm)" if units == "metric" else "bit (in)"
    rows: list[tuple[str, ...]] = [("", "", "size", bit, "point", "depth", "travel", *pitch)]
    for h in holes:
        if h.bore is not None:
            b = h.bore
            cut = _cut(plan, b.diameter, None, b.depth, b.travel, units)
            rows.append((_number(rows), f"bore {h.name}", *cut, *_pitch(h, units)))
    for h in holes:
        if h.bore is not None:
            if h.inner is not None:
                long = format_length(h.bore.sleeve_length, units)
                rows.append((_number(rows), f"set the {h.name}'s outer sleeve, {long} long"))
                b = h.inner
                cut = _cut(plan, b.diameter, None, b.depth, b.travel, units)
                rows.append((_number(rows), f"{INNER_BORE} {h.name}", *cut, *_pitch(h, units)))
            set_in = h.inner or h.bore
            words = sleeve_words(plan, h, format_length(set_in.sleeve_length, units))
            which = "sleeve" if h.inner is None else "inner sleeve"
            rows.append((_number(rows), f"set the {h.name} {which}, {words}"))
    for h in filter(plan.finished_at_the_press, holes):
        what = f"drill {h.name}" if h.bore is None else f"finish {h.name}"
        cut = _cut(plan, h.diameter, h.tip_angle, h.depth, h.travel, units)
        what += "" if h.oval is None else " oval"
        rows.append((_number(rows), what, *cut, *_pitch(h, units)))
    for e in plan.for_today.extra_holes:
        cut = _cut(plan, e.diameter, None, e.depth, e.travel, units)
        rows.append((_number(rows), f"drill {e.name}", *cut, *lean_words(plan, e, units)))
    for h in holes:
        bevel = plan.bevel_of(h)
        if bevel:
            radius = format_length(bevel, units)
            rows.append((_number(rows), f"bevel the {h.name} hole's edge, radius {radius}"))
    return rows


def sleeve_words(plan: Plan, hole: HolePlan, length: str) -> str:
    """A sleeve's length, what the shop calls it, and whether it comes with its hole."""
    sleeve = plan.sleeve_of(hole)
    assert sleeve is not None, hole.name
    name = f", {sleeve.called}" if sleeve.called else ""
    return f"{length} long{name}{READY if sleeve.ready else ''}"


def lean_words(plan: Plan, hole: ExtraHolePlan, units: Units = "fraction") -> tuple[str, str, str]:
    """How a vent or inspection hole leans, as pitches of its bottom: up or down, right or left, tilt.

    ``up`` is toward the fingers. Bare lengths; the tilt in degrees.
    """
    over, up = axes_at(hole.entry)  # in the grip frame over is to the right
    right, forth = (plan.radius * dot(hole.axis, way) for way in (over, up))
    tilt = math.degrees(math.asin(min(math.hypot(right, forth) / plan.radius, 1.0)))
    return (
        way_words(forth, "up", "down", units),
        way_words(right, "right", "left", units),
        f"{tilt:.1f}",
    )


def oval_rows(oval: OvalPlan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Where the press sets the bit for each bore of an oval, in order: a heading, then a row a bore.

    From the oval's middle: bare lengths with their directions, and the same in decimals. Metric
    ones are decimals as they are.
    """
    rows: list[tuple[str, ...]] = [("bore", "along", "decimal", "across", "decimal")]
    for n, cut in enumerate(oval.cuts, 1):
        along = way_words(cut.along, "to fingers", "to thumb side", units)
        across = way_words(cut.across, "right", "left", units)
        rows.append((f"{n}", along, f"{cut.along:+.3f}", across, f"{cut.across:+.3f}"))
    return [(n, a, c) for n, a, _, c, _ in rows] if units == "metric" else rows


def oval_words(hole: HolePlan, oval: OvalPlan, units: Units = "fraction") -> tuple[str, str]:
    """What an oval hole's table of bores needs before and after it."""
    size = format_length(hole.diameter, units)
    long = format_length(oval.length, units)
    lean = abs(oval.direction)
    way = "along the centreline"
    if lean > 0.0:
        side = "right" if oval.direction > 0.0 else "left"
        way = f"{lean:g} degrees to the {side} of the centreline"
    left = MILLED
    if not oval.milled:
        high = format_length(oval.scallop, "metric" if units == "metric" else "decimal")
        left = f"{len(oval.cuts)} bores leave scallops {high} high to work off."
    stop = PRESS_STOP.format(travel=format_length(hole.travel, units))
    return f"{long} long {way}, bit {size}.", f"{THE_BIT} {left} {stop}"


def slug_words(hole: HolePlan, oval: OvalPlan, units: Units = "fraction") -> tuple[str, ...]:
    """How the slug of an oval hole is turned so that its long way comes right; none without a slug."""
    slug = hole.inner or hole.bore
    if slug is None:
        return ()
    way, place = "along the centreline", "on the centreline"
    # the oval's end on the fingers' side
    turn = (oval.direction + 90.0) % 180.0 - 90.0
    if turn != 0.0:
        side = "right" if turn > 0.0 else "left"
        along = format_length(math.radians(abs(turn)) * slug.diameter / 2.0, units)
        way = f"{abs(turn):g} degrees to the {side} of the centreline"
        place = f"{along} round the edge to the {side} of the centreline"
    return (
        f"Before the slug is glued: its oval's long way lies {way}, seen from outside, fingers up. Mark "
        f"the edge of its bore on the fingers' side, {place}, mark the slug's rim where the long way "
        "ends, and set mark to mark.",
    )


def extra_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Where vents and the inspection hole start and aim: a heading, then a row a hole."""
    rows: list[tuple[str, ...]] = [("", "over", "up", "aims at", "removed")]
    into = [e.into for e in plan.extra_holes]
    vents = (v for v in (plan.job.extra_holes or ExtraHoles()).vents if v.hole in into)
    for e in plan.extra_holes:
        aim = "the ball's centre"
        if e.into:
            aim = f"the {e.into} hole's axis, {format_length(next(vents).meets, units)} down it"
        place = bare(e.over, units), bare(e.up, units)
        rows.append((e.name, *place, aim, format_ounces(e.removed_oz, units)))
    return rows


def old_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """The holes that the ball had, by its own marks: a heading, then a row a hole; bare lengths."""
    rows: list[tuple[str, ...]] = [
        ("", "from pin", "bearing", "size", "depth", "plug", "over", "up", "net removed")
    ]
    history = plan.job.history
    for hole, o in zip(history.holes if history else (), plan.old_holes, strict=True):
        from_pin, turn = hole.at_pin or _at_pin(plan, o)
        rows.append(
            (
                o.name,
                format_length(from_pin, units, ARC_STEP).rsplit(" ", 1)[0],
                "-" if turn is None else f"{round(wrap180(turn))} deg",
                bare(o.diameter, units),
                bare(o.depth, units),
                plug_words(o, units),
                bare(o.over, units),
                bare(o.up, units),
                format_ounces(o.removed_oz, units, signed=True),
            )
        )
    return rows


def plug_words(hole: OldHolePlan, units: Units = "fraction") -> str:
    """What an old hole is filled with, and how far down where not to its end."""
    if hole.plugged <= 0.0 or hole.plug_density is None:
        return "none: open"
    filled = f"{hole.plug_density:.2f} g/cm3"
    # a drill point is filled beyond the depth, so a plug that is longer than that fills it all
    part = hole.plugged < hole.depth
    return f"{filled}, {format_length(hole.plugged, units)} down" if part else filled


def whole_unit(units: Units) -> str:
    """The name of the unit of bare lengths."""
    return "millimetres" if units == "metric" else "inches"


def way_words(length: float, plus: str, minus: str, units: Units) -> str:
    """A bare length with its direction; one that prints as 0 has none."""
    size = bare(abs(length), units)
    some = any(c in "123456789" for c in size)
    return f"{size} {minus if length < 0.0 else plus}" if some else "0"


def hole_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, ...]]:
    """Where each hole is and what it takes: a heading, then a row a hole; bare lengths."""
    places: list[tuple[str, ...]] = [
        ("", "over", "up", "span", "span to bored edges", "removed", "edge to nearest mark")
    ]
    places += [
        (
            h.name,
            bare(h.over, units),
            bare(h.up, units),
            "" if h.span is None else bare(h.span, units),
            "" if h.bored_span is None else bare(h.bored_span, units),
            format_ounces(h.removed_oz, units),
            bare(h.clearance, units) if h.clearance > 0.0 else "cuts it",
        )
        for h in plan.holes
    ]
    return places


def _number(rows: Sequence[object]) -> str:
    return f"{len(rows):>2}."  # the heading stands for the row before the first


def _cut(
    plan: Plan,
    diameter: float,
    tip_angle: float | None,
    depth: float,
    travel: float,
    units: Units,
) -> tuple[str, ...]:
    if plan.bits:
        own = bit_for(plan, diameter)
        stocked = NO_BIT if own is None else own.name
    elif units == "metric":
        stocked = bare(diameter, units)
    else:
        bit = nearest_bit(diameter)
        stocked = ("" if abs(bit - diameter) < SAME_BIT else "~") + fraction(bit)
    point = "flat" if tip_angle is None or tip_angle >= 180.0 else f"{tip_angle:g}"
    return bare(diameter, units), stocked, point, bare(depth, units), bare(travel, units)


def _pitch(hole: HolePlan, units: Units) -> tuple[str, ...]:
    """Pitches in words; a pitch that prints as 0 has no direction."""
    forward = way_words(hole.forward, "forward", "reverse", units)
    return forward, way_words(hole.right, "right", "left", units), f"{hole.tilt:.1f}"


def _oval(plan: Plan, units: Units) -> list[str]:
    """How an oval thumb hole is cut; empty on a ball without one."""
    lines: list[str] = []
    for h in plan.for_today.holes:
        if h.oval is None:
            continue
        before, after = oval_words(h, h.oval, units)
        lines.append(_title(f"Oval {h.name}", "where the bit stands, from the oval's middle"))
        lines += wrap(before)
        lines += table(oval_rows(h.oval, units))
        lines += wrap(after)
        for words in slug_words(h, h.oval, units):
            lines += wrap(words)
    return lines


def _extra_holes(plan: Plan, units: Units) -> list[str]:
    """Vents and the inspection hole; empty on a ball without them."""
    if not plan.extra_holes:
        return []
    title = _title("Vents and inspection hole", "drilled last; up is toward the fingers")
    return [title, *table(extra_rows(plan, units))]


def _at_pin(plan: Plan, o: OldHolePlan) -> tuple[float, float | None]:
    """The arc from the pin to an old hole and its bearing there; no bearing without a mark for it."""
    pin, reference = plan.marks.pin.xyz, plan.marks.psa or plan.marks.cg
    turn = None
    if reference is not None:
        turn = bearing(pin, o.entry) - bearing(pin, reference.xyz)
    return arc(pin, o.entry, plan.radius), turn


def _old_holes(plan: Plan, units: Units) -> list[str]:
    """The holes that were drilled before; empty on a new ball."""
    if not plan.old_holes:
        return []
    mark = "CG mark" if plan.marks.psa is None else "PSA mark"
    title = _title("Old holes", f"bearing at the pin, clockwise from the line to the {mark}")
    lines = table(old_rows(plan, units))
    if max(map(len, lines)) > WIDTH:  # long names and plugs that fill a part
        lines = table([row[:-3] for row in old_rows(plan, units)])
    return [*wrap(title, indent=""), *lines]


def _walls(plan: Plan, units: Units) -> list[str]:
    lines = [_title("Walls", "the least between two holes over their whole depth")]
    return lines + table(wall_rows(plan, units))


def wall_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, str]]:
    """For each two holes their names, and the least wall between them in words."""
    rows = []
    for w in plan.walls:
        depth = format_length(w.depth, units)
        words = (
            "overlap at the surface"
            if w.meets and w.depth < AT_SURFACE
            else f"meet {depth} below the surface"
            if w.meets
            else f"{format_length(w.thickness, units)}, at {depth} below the surface"
        )
        rows.append((f"{w.holes[0]} and {w.holes[1]}", words))
    return rows


def _resurfaced(plan: Plan, units: Units) -> list[str]:
    """The label's figures and what they come to on the ball as it is now; empty where it is as it was."""
    if plan.resurfaced is None:
        return []
    title = _title("Resurfaced", "undrilled; RGs about the centre, as a label has them")
    return [title, *table(resurfaced_rows(plan, units))]


def resurfaced_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, str, str]]:
    """For each figure of a resurfaced ball its name, the label's and the one of the ball as it is now."""
    assert plan.resurfaced is not None
    label, now = plan.resurfaced.label, plan.resurfaced.now

    def arc_words(value: float | None) -> str:
        return NOT_KNOWN if value is None else decimal_length(value, units)

    def ounces(value: float | None) -> str:
        return NOT_KNOWN if value is None else format_ounces(value, units)

    rows = [
        ("", "label", "as it is now"),
        ("diameter", arc_words(label.diameter), arc_words(now.diameter)),
        ("weight", ball_weight(label.weight_lb, units), ball_weight(now.weight_lb, units)),
        ("top weight", ounces(label.top_oz), ounces(now.top_oz)),
        ("pin to CG", arc_words(label.pin_to_cg), arc_words(now.pin_to_cg)),
    ]
    for name in ("rg_low", "rg_mid", "rg_high", "differential", "intermediate_differential"):
        if label.rg_low is not None:
            words = name.replace("_", " ").replace("rg", "RG")
            rows.append((words, arc_words(getattr(label, name)), arc_words(getattr(now, name))))
    return rows


def _statics(plan: Plan, units: Units) -> list[str]:
    s, before = plan.statics, plan.statics.undrilled
    arm, *ends = (decimal_length(a, units) for a in arms(plan.job))
    lines = [
        _title(
            "Weights",
            f"scale's arm {arm}, calibrated"
            if s.calibrated
            else f"scale's arm not calibrated: {' to '.join(ends)}, {arm} by default",
        )
    ]
    if plan.job.scale is not None and plan.job.scale.calibrated:
        lines += wrap(f"Arm calibrated: {plan.job.scale.calibrated}.")
    rows = [["", "undrilled", "drilled"]]
    rows.append(["gross", ball_weight(plan.undrilled_lb, units), ball_weight(s.weight_lb, units)])
    named = (
        ("top", before.top_oz, s.top_oz, s.range.top_oz),
        ("side", before.side_oz, s.side_oz, s.range.side_oz),
        ("finger", before.finger_oz, s.finger_oz, s.range.finger_oz),
    )
    for name, undrilled, drilled, ends_oz in named:
        rows.append(
            [
                "finger/thumb" if name == "finger" else name,
                static_words(name, undrilled, units),
                static_words(name, drilled, units)
                if s.calibrated or drilled is None or ends_oz is None
                else range_words(name, drilled, ends_oz, units),
            ]
        )
    lines += table(rows)
    drilling = drilling_words(plan, units)
    lines += wrap(drilling) if drilling else []
    for words in today_words(plan, units):
        lines += wrap(words)
    lines.append(
        f"  Removed in all {format_ounces(s.removed_oz, units)}, sleeves counted; the scale's "
        f"allowance is {format_ounces(allowance(plan), units)}."
    )
    return lines


def drilling_words(plan: Plan, units: Units = "fraction") -> str:
    """What drilling does to the top weight over the range of an arm that is not calibrated.

    Of a ball whose own static weights are not known, what it does to all three at the arm; empty where
    the weights say it all.
    """
    s = plan.statics
    if s.undrilled.top_oz is None or s.range.top_oz is None:
        parts = ", ".join(
            f"{name} {format_ounces(getattr(s.change, f'{name}_oz'), units, True)}"
            for name in ("top", "side", "finger")
        )
        arm = "" if s.calibrated else " at the default arm"
        return (
            f"Drilling alone changes {parts}{arm}. Weigh the ball undrilled and add this, or weigh it "
            "drilled."
        )
    if s.calibrated:
        return ""
    before = s.undrilled.top_oz
    low, high = sorted(before - end for end in s.range.top_oz)
    if low >= 0.0:
        first = format_ounces(low, units).split()[0]
        change = f"Drilling takes {first} to {format_ounces(high, units)} of top weight"
    else:
        first, last = (format_ounces(-end, units, True) for end in (high, low))
        change = f"Drilling changes the top weight by {first} to {last}"
    return f"{change} by your scale's arm; one test with a known weight settles it."


def _certainty(plan: Plan, units: Units) -> list[str]:
    """Each weight with two standard deviations, and what adds most; nothing without tolerances."""
    if not certainty_rows(plan):
        return []
    return [
        _title("How sure", "two standard deviations of what the tolerances come to"),
        *table(certainty_rows(plan, units)),
    ]


def certainty_rows(plan: Plan, units: Units = "fraction") -> list[tuple[str, str, str]]:
    """Name, value with its uncertainty and the measurement that adds most; with tolerances only.

    Without the weights that are not known.
    """
    rows = []
    for name in ("top", "side", "finger"):
        spread = (plan.spreads or {}).get(f"{name}_oz")
        if spread is None:
            continue
        value = format_ounces(getattr(plan.statics, f"{name}_oz"), units, True)
        most, share = spread.shares[0] if spread.shares else ("nothing", 0.0)
        rows.append(
            (
                "finger/thumb" if name == "finger" else name,
                f"{value} +/- {format_ounces(spread.uncertainty, units)}",
                f"most of it from: {most} ({100.0 * share:.0f} %)",
            )
        )
    return rows


def _weighed(plan: Plan, units: Units) -> list[str]:
    words = weighed_words(plan, units)
    if not words:
        return []
    lines = [_title("Weighed", "as the record keeps it")]
    for sentence in words:
        lines += wrap(sentence, "- ")
    return lines


def weighed_words(plan: Plan, units: Units = "fraction") -> tuple[str, ...]:
    """What the record says was weighed beside what the plan says, and the verdict; none without."""
    sentences = []
    for stage in STAGES:
        unread = unread_pairs(plan.job, stage)
        if unread is not None:
            sentences.append(f"The pairs of readings, {stage}, are not counted: {unread}")
        compared = compare(plan, recorded(plan, stage), stage)
        if not compared:
            continue
        parts = [
            f"{c.name} {_weight(c.name, c.measured, units)} "
            f"({NOT_KNOWN if c.predicted is None else _weight(c.name, c.predicted, units)})"
            for c in compared
        ]
        assert plan.job.weighings is not None
        one = getattr(plan.job.weighings, stage)
        when = "".join(
            f" {word} {text}" for word, text in (("on", one.date), ("by", one.by)) if text
        )
        sentences.append(f"Weighed {stage}{when}, predicted in brackets: {', '.join(parts)}.")
    drilled = recorded(plan, "drilled")
    checks = judge(plan, drilled)
    if drilled:
        outcome = overall(checks)
        marked = ", ".join(c.name for c in checks if c.outcome == outcome != "pass")
        sentences.append(
            f"{WEIGHED[outcome]}{f' ({marked})' if marked else ''}, under {plan.rules.name}."
        )
    return tuple(sentences)


def _weight(name: str, value: float, units: Units) -> str:
    return ball_weight(value, units) if name == "gross" else static_words(name, value, units)


def _inertia(plan: Plan, units: Units) -> list[str]:
    after, before = plan.inertia, plan.inertia.undrilled
    rows = [("", "undrilled", "drilled", "change")]
    for name, key in (
        ("low RG", "rg_low"),
        ("middle RG", "rg_mid"),
        ("high RG", "rg_high"),
        ("differential", "differential"),
        ("intermediate differential", "intermediate_differential"),
    ):
        a, b = getattr(before, key), getattr(after, key)
        rows.append(
            (name, rg_words(a, units), rg_words(b, units), rg_words(b - a, units, signed=True))
        )
    lines = [_title("Inertia", "about the centre of gravity"), *table(rows)]
    lines += _axes(after, units)
    if plan.core is not None:
        a, b, c = (rg_words(x, units, places=2) for x in plan.core.semi_axes)
        lines += wrap(
            f"Core that the label implies: semi-axes {a} along the pin, {b} along the reference "
            f"mark, {c} across; {plan.core.density:.2f} g/cm3 in filler of "
            f"{plan.core.filler_density:.2f} g/cm3."
        )
    return lines


def _axes(inertia: Inertia, units: Units) -> list[str]:
    return table(
        [
            (
                f"{name} RG axis, drilled",
                f"over {on_ball(axis.over, units)}",
                f"up {on_ball(axis.up, units)}",
            )
            for name, axis in (("low", inertia.low_axis), ("high", inertia.high_axis))
        ]
    )


def _checks(plan: Plan, units: Units) -> list[str]:
    rules = plan.rules
    lines = wrap(_title("Checks", f"{rules.name}: {rules.title}"), indent="")
    lines += wrap(rules.in_force)
    lines += check_table(plan.checks, units)
    lines += _unchecked(rules)
    lines += wrap(CONFIRM)
    return lines


def _unchecked(rules: RuleSet) -> list[str]:
    """The rules of which no record shows whether they are kept."""
    if not rules.notes:
        return []
    lines = ["  Not to be seen from a record, so not checked:"]
    for note in rules.notes:
        lines += wrap(f"{note.text} ({note.told})", "- ")
    return lines


def cautions_section(plan: Plan) -> list[str]:
    """The plan's cautions; empty without any."""
    if not plan.cautions:
        return []
    lines = [_title("Cautions", "the gravest first")]
    for caution in plan.cautions:
        lines += wrap(caution, "! ")
    return lines


def questions_section(plan: Plan) -> list[str]:
    """The plan's questions; empty without any."""
    if not plan.questions:
        return []
    lines = [_title("Questions", "figures that are unusual; --confirm FIELD keeps one as meant")]
    for question in plan.questions:
        lines += wrap(f"{question.field}: {question.words}", "? ")
    return lines


def unknown_section(plan: Plan) -> list[str]:
    """What the plan cannot say because the record leaves a figure open; empty where it says all."""
    sentences = unknown(plan)
    if not sentences:
        return []
    lines = [_title("Not known", "what the record leaves open, and what hangs on it")]
    for sentence in sentences:
        lines += wrap(sentence, "- ")
    return lines


def shop_cautions(plan: Plan) -> tuple[str, ...]:
    """What hurts people or ruins balls in the work on this plan."""
    return (*SHOP_CAUTIONS, PLUG_CAUTION) if plan.old_holes else SHOP_CAUTIONS


def _shop(plan: Plan) -> list[str]:
    lines = ["AT THE PRESS"]
    for caution in shop_cautions(plan):
        lines += wrap(caution, "- ")
    return lines


# --- lines and cells ------------------------------------------------------------------------------


def _title(name: str, words: str) -> str:
    return f"{name.upper()} ({words})"


def on_ball(arc: float, units: Units) -> str:
    """An arc that someone measures on a ball: to the sixteenth."""
    return format_length(arc, units, ARC_STEP)


def decimal_length(length: float, units: Units) -> str:
    """A length that is no rule's: decimal inches also where others are fractions."""
    return format_length(length, "decimal" if units == "fraction" else units)


def gross_words(pounds: float, units: Units) -> str:
    """A ball's weight in pounds, as the rules have it, with kilograms beside where metric."""
    words = format_weight(pounds, "decimal")
    return f"{words} ({format_weight(pounds, units)})" if units == "metric" else words


def bare(length: float, units: Units) -> str:
    """A length that is set on a machine or a rule, to the sixty-fourth, without its unit."""
    return format_length(length, units).rsplit(" ", 1)[0]


def rg_words(inches: float, units: Units, signed: bool = False, places: int = 4) -> str:
    """A radius of gyration to 0.0001 in: changes by drilling are some thousandths."""
    sign = "+" if signed else ""
    if units == "metric":
        return f"{inches * MM_PER_INCH:{sign}.{places - 2 or 1}f} mm"
    return f"{inches:{sign}.{places}f} in"


def _operations(rows: Sequence[tuple[str, ...]]) -> list[str]:
    """The table of work; a row of words runs on over the columns of figures."""
    full = [row for row in rows if len(row) > 2]
    printed = table(full)
    if max(map(len, printed)) > WIDTH:  # odd sixty-fourths everywhere
        printed = table(full, between=" ")
    lines = iter(printed)
    words = [[next(lines)] if len(row) > 2 else wrap(row[1], f"{row[0]}  ") for row in rows]
    return [line for each in words for line in each]
