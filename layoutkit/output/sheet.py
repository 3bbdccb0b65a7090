"""The work sheet: one printed page from which a driller works at the press.

Lengths on the page are points (72 to the inch), measured from the lower left corner. Every block
knows its height before anything is painted, from the font's own advances: text is wrapped or
shortened to its width, and the ball takes the height that the blocks leave. So nothing overlaps,
nothing leaves the page and no type shrinks, whatever a record holds. Where an oval, vents, old
holes or what the ball does on the lane leave the page too little room, they go to a second one, and the
first one says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from layoutkit.bench.weighing import recorded
from layoutkit.job.files import write_atomic
from layoutkit.job.rules import CONFIRM, YES_NO, Check
from layoutkit.job.words import NOT_KNOWN, SIDES, static_words
from layoutkit.lane.roll import Roll, roll
from layoutkit.output import blocks as _blocks
from layoutkit.output import drawing, lane_drawing, render
from layoutkit.output.blocks import BLANK, BLANK_LEAD, BOLD, GAP, SPAN, TICK
from layoutkit.output.leans import leans
from layoutkit.output.report import (
    EDGE_HEAD,
    INNER_BORE,
    NO_BIT,
    PLUG_CAUTION,
    bare,
    certainty_rows,
    decimal_length,
    difference_words,
    do_not_drill,
    drilling_words,
    extra_rows,
    finished_note,
    gross_words,
    layout_words,
    lean_words,
    old_rows,
    on_ball,
    only_words,
    outcome_reasons,
    oval_rows,
    oval_words,
    plug_words,
    proof_words,
    slug_words,
    today_words,
    todays_edges,
    weighed_words,
    whole_unit,
)
from layoutkit.output.roll_report import summary_rows
from layoutkit.output.typeset import LEAD, PAPERS, TYPE, Paper, pdf_bytes, shorten, typeface, wrap
from layoutkit.planning.bits import bit_for, missing_bits
from layoutkit.planning.grip_marks import STOP
from layoutkit.planning.marking import ROUNDING_NOTE, MarkingStep, marking_steps
from layoutkit.planning.plan import PROOF_TOLERANCE, nearest_bit
from layoutkit.planning.unknown import open_fields, unknown
from layoutkit.planning.values import HolePlan, Mark, OvalPlan, Plan
from layoutkit.units import Units, format_length, format_ounces, format_weight, on_rule

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 30.0  # points; printers do not reach the very edge
GUTTER = 12.0  # points between columns
PANEL = 176.0  # points in width for the checks beside the ball
LEAST_BAND = 125.0  # points in height for the ball, under which cautions give way to it
FEW_OLD = 5  # old holes, of more of which two stand in a row
OLD_NAMED = 8  # old holes, of more of which only the circles are drawn
MOST_BALL = 330.0  # points in height for the balls of a second page
LABEL_LINES = 3  # for the label and a job's notes; more of them is cut off

DEGREE = "\N{DEGREE SIGN}"

SHOP = (
    "At the press: clamp the ball before the spindle turns, keep hands, sleeves and hair from the "
    "spinning bit, wear eye protection. Dust and resin fumes harm: extraction on, gloves for resin."
    " A thumb hole that does not fit can injure: stop and refit. This sheet is a calculation; local"
    " rules, the current rule book and licensed practice decide."
)


# --- what the sheet says --------------------------------------------------------------------------


def _size(value: float, units: Units) -> str:
    """A size as a rule or a bit has it, decimal where it lies between the sixty-fourths."""
    divided = units == "metric" or abs(value * 64.0 - round(value * 64.0)) < 1e-6
    return bare(value, units) if divided else f"{value:.3f}"


def _unit(units: Units) -> str:
    return "mm" if units == "metric" else "in"


def _head(plan: Plan, units: Units, width: float) -> _blocks.Block:
    job, work = plan.job, plan.job.work
    ball, pap = job.ball, job.bowler.pap
    kind = do_not_drill(plan) or "Work sheet"
    room = width - GUTTER - 10.0 * typeface(bold=True).width(kind)
    title = shorten(job.title or "Untitled job", room, bold=True, size=12.0)
    where = NOT_KNOWN
    if pap is not None:
        up = pap.up_net
        where = (
            f"{_size(pap.over, units)} over, {_size(abs(up), units)} {'down' if up < 0 else 'up'}"
        )
    none = "-"
    cells = (
        ("Order", (work and work.order) or none),
        ("Date", (work and work.date) or none),
        ("Driller", (work and work.driller) or none),
        ("Checked by", (work and work.checked_by) or none),
        ("Bowler", job.bowler.name or none),
        ("Hand", job.bowler.hand),
        ("PAP", where),
        ("Rules", plan.rules.name),
        ("Ball", ball.name or none),
        ("Serial", ball.serial or none),
        ("Ball is", (work and work.ball_is) or none),
        ("Diameter", decimal_length(2.0 * ball.radius, units)),
    )
    top, to_cg = ball.top_weight, plan.distances.pin_to_cg
    if plan.resurfaced is not None:
        to_cg = plan.resurfaced.label.pin_to_cg
    label = (
        f"Label: {gross_words(ball.weight, units)}, top weight "
        f"{NOT_KNOWN if top is None else f'{top:.2f} oz'}, "
        f"pin to CG {NOT_KNOWN if to_cg is None else on_ball(to_cg, units)}."
    )
    if plan.resurfaced is not None:
        now = plan.resurfaced.now
        size, weight = decimal_length(ball.diameter, units), gross_words(now.weight_lb, units)
        label = f"Resurfaced from {size}. {label[:-1]}; now {weight}"
        label += "." if now.top_oz is None else f", top weight {now.top_oz:.2f} oz."
    if job.notes.strip():
        label += f" Notes: {job.notes}"
    label_lines = wrap(label, width)
    lines = [
        *wrap(f"Layout: {layout_words(plan, units, DEGREE)}", width),
        *label_lines[: LABEL_LINES - 1],
    ]
    if len(label_lines) >= LABEL_LINES:
        lines.append(shorten(" ".join(label_lines[LABEL_LINES - 1 :]), width))
    shares = (0.28, 0.2, 0.25, 0.27)

    def paint(page: _blocks.Page, x: float, top: float) -> None:
        page.text(x, top - 13.0, title, bold=True, size=12.0)
        page.text(x + width, top - 13.0, kind, True, 10.0, "right")
        page.rule(x, x + width, top - 18.0, 1.2)
        top -= 20.0
        left = x
        for i, (name, value) in enumerate(cells):
            share = shares[i % 4] * width
            base = top - LEAD * (i // 4 + 1) + _blocks.RISE
            used = typeface().width(name + " ") * TYPE + 1.0
            page.text(left, base, name, color=render.GREY)
            page.text(left + used, base, shorten(value, share - used - 6.0, bold=True), bold=True)
            left = x if i % 4 == 3 else left + share
        top -= LEAD * 3
        for i, line in enumerate(lines):
            page.text(x, top - LEAD * (i + 1) + _blocks.RISE, line)
        page.rule(x, x + width, top - LEAD * len(lines) - 1.5, 0.5)

    return _blocks.Block(20.0 + LEAD * (3 + len(lines)) + 2.0, paint)


def _pitch(value: float, plus: str, minus: str, units: Units) -> str:
    size = _size(abs(value), units)
    some = any(c in "123456789" for c in size)
    return f"{size} {plus if value > 0 else minus}" if some else "0"


_CUT_HEAD = (
    "",
    "cut",
    "bit",
    "diameter",
    "depth",
    "travel",
    "fwd/reverse",
    "left/right",
    "tilt",
    "tip",
    "as drilled",
    "",
)


def _cuts(rows: Sequence[Sequence[str]], width: float, vents: bool = False) -> _blocks.Block:
    """The table of the work at the press; of ``vents`` alone the pitches are up and down."""
    columns = [
        _blocks.Column(18.0, "right"),
        _blocks.Column(82.0),
        _blocks.Column(38.0, "right"),
        _blocks.Column(45.0, "right"),
        _blocks.Column(42.0, "right"),
        _blocks.Column(42.0, "right"),
        _blocks.Column(64.0, "right"),
        _blocks.Column(56.0, "right"),
        _blocks.Column(32.0, "right"),
        _blocks.Column(50.0, "right"),
    ]
    tick = _blocks.Column(14.0, "right")
    columns += [_blocks.Column(width - sum(c.width for c in (*columns, tick))), tick]
    head = ["up/down" if vents and cell == "fwd/reverse" else cell for cell in _CUT_HEAD]
    return _blocks.table(columns, head, rows)


def _bit(plan: Plan, diameter: float, units: Units) -> str:
    """The shop's bit of a diameter; where its bits are not known, the nearest that may be stocked."""
    if not plan.bits:
        return bare(diameter if units == "metric" else nearest_bit(diameter), units)
    own = bit_for(plan, diameter)
    return NO_BIT if own is None else own.name


def _cut_rows(plan: Plan, units: Units) -> list[tuple[str, ...]]:
    """One row for each cut of the grip, in the order of the work: bores, sleeves, finished holes."""

    def cut(what: str, hole: HolePlan, size: tuple[float, float, float], tip: float | None) -> None:
        diameter, depth, travel = size
        point = "flat" if tip is None or tip >= 180.0 else f"{tip:g}° point"
        forward = _pitch(hole.forward, "fwd", "reverse", units)
        pitches = forward, _pitch(hole.right, "right", "left", units)
        sizes = (
            BOLD + _bit(plan, diameter, units),
            *(_size(length, units) for length in (diameter, depth)),
        )
        # only the thumb can have a sleeve in a sleeve, and its name would not fit beside that
        name = f"{BOLD}{what}" if what == INNER_BORE else f"{BOLD}{what} {hole.name}"
        tilt = f"{hole.tilt:.1f}°"
        rows.append(
            (
                f"{len(rows) + 1}",
                name,
                *sizes,
                bare(travel, units),
                *pitches,
                tilt,
                point,
                BLANK,
                TICK,
            )
        )

    def words(what: str, text: str) -> None:
        rows.append((f"{len(rows) + 1}", f"{BOLD}{what}", SPAN + text, *[""] * 8, TICK))

    rows: list[tuple[str, ...]] = []
    sleeved = [(h, h.bore) for h in plan.in_order if h.bore is not None]
    for hole, bore in sleeved:
        cut("bore", hole, (bore.diameter, bore.depth, bore.travel), None)
    if sleeved:
        lengths = [
            f"{h.name}{' (outer)' if h.inner else ''} {_size(b.sleeve_length, units)} long"
            for h, b in sleeved
        ]
        words("set sleeves", f"{', '.join(lengths)} ({_unit(units)}); glue and cure as below")
    for hole, bore in ((h, h.inner) for h, _ in sleeved if h.inner is not None):
        cut(INNER_BORE, hole, (bore.diameter, bore.depth, bore.travel), None)
        long = _size(bore.sleeve_length, units)
        words("set inner sleeve", f"{hole.name} {long} long ({_unit(units)})")
    for said, names in _sleeves_said(plan).items():
        words(f"  {', '.join(names)}", said)
    for hole in filter(plan.finished_at_the_press, plan.in_order):
        cut(
            "finish" if hole.bore else "drill",
            hole,
            (hole.diameter, hole.depth, hole.travel),
            hole.tip_angle,
        )
    bevels = [(h.name, plan.bevel_of(h)) for h in plan.in_order]
    rounded = [f"{name} {_size(radius, units)} radius" for name, radius in bevels if radius]
    if rounded:
        words("bevel edges", ", ".join(rounded))
    return rows


def _sleeves_said(plan: Plan) -> dict[str, list[str]]:
    """What is to be said of sleeves, and the holes of which it is: ready-made, name, size, lift."""
    holes: dict[str, list[str]] = {}
    for hole in plan.in_order:
        sleeve = plan.sleeve_of(hole)
        if sleeve is not None and (sleeve.ready or sleeve.called):
            made = "ready-made with its hole: no cut in it" if sleeve.ready else ""
            said = "; ".join(filter(None, (made, sleeve.called)))
            holes.setdefault(said, []).append(hole.name)
    return holes


def _extra_cut_rows(plan: Plan, units: Units, done: int) -> list[tuple[str, ...]]:
    """One row for each vent and the inspection hole, after ``done`` cuts of the grip."""
    rows: list[tuple[str, ...]] = []
    for number, e in enumerate(plan.for_today.extra_holes, done + 1):
        sizes = (
            BOLD + _bit(plan, e.diameter, units),
            *(_size(length, units) for length in (e.diameter, e.depth)),
        )
        up, right, tilt = lean_words(plan, e, units)
        cells = (
            BOLD + e.name,
            *sizes,
            bare(e.travel, units),
            up,
            right,
            f"{tilt}°",
            "flat",
            BLANK,
            TICK,
        )
        rows.append((f"{number}", *cells))
    return rows


def _operations(
    plan: Plan, units: Units, width: float, odd: bool, later: Sequence[str]
) -> _blocks.Block:
    """The work at the press, with ``odd`` also how an oval and vents are cut, else what is on page 2."""
    rows = _cut_rows(plan, units)
    order = f"Order of operations ({whole_unit(units)})"
    if any(h.bore is not None for h in plan.for_today.holes):
        order += ": all bores, then all sleeves set and cured, then the finished holes"
    only = only_words(plan)
    said = [_blocks.paragraph(only, width, bold=True)] if only else []
    said += [_blocks.paragraph(words, width, bold=True) for words in missing_bits(plan, units)]
    measures = MEASURES + (OWN_BITS if plan.bits else NEAREST_BITS[units])
    glue = [_blocks.initials(GLUE, width)] if any(h.bore for h in plan.for_today.holes) else []
    if not odd:
        blocks = [_blocks.heading(order, width), *said, _cuts(rows, width), *glue]
        if later:
            blocks.append(_blocks.paragraph(f"Page 2: {', '.join(later)}.", width, bold=True))
        return _blocks.stack([*blocks, _blocks.paragraph(measures, width)], 1.0)
    rows += _extra_cut_rows(plan, units, len(rows))
    blocks = [_blocks.heading(order, width), *said, _cuts(rows, width), *glue]
    blocks += [*_ovals(plan, units, width), *_aims(plan, units, width)]
    if later:
        blocks.append(_blocks.paragraph(f"Page 2: {', '.join(later)}.", width, bold=True))
    return _blocks.stack([*blocks, _blocks.paragraph(measures, width)], 1.0)


def _odd_parts(plan: Plan) -> list[str]:
    """The parts of a plan that a usual plan has not."""
    plan = plan.for_today
    parts = [f"the bores of the oval {h.name}" for h in plan.holes if h.oval is not None]
    parts += [_extra_words(plan)] if plan.extra_holes else []
    return parts + (["old holes"] if plan.old_holes else [])


def _extra_words(plan: Plan) -> str:
    """One name for all extra holes together."""
    vents, inspection = (
        any(bool(e.into) is into for e in plan.for_today.extra_holes) for into in (True, False)
    )
    return " and ".join(["vents"] * vents + ["inspection hole"] * inspection)


def _ovals(plan: Plan, units: Units, width: float) -> list[_blocks.Block]:
    return [_oval(h, h.oval, units, width) for h in plan.for_today.holes if h.oval is not None]


def _aims(plan: Plan, units: Units, width: float) -> list[_blocks.Block]:
    """Where vents and the inspection hole start and aim."""
    plan = plan.for_today
    if not plan.extra_holes:
        return []
    _, *rows = extra_rows(plan, units)
    words = []
    for e, (name, *_, aim, _) in zip(plan.extra_holes, rows, strict=True):
        up = f"{bare(abs(e.up), units)} {'down' if e.up < 0.0 else 'up'}"
        words.append(f"{name}: starts {bare(e.over, units)} over, {up}, aims at {aim}.")
    lean = "Up, down, right and left in the table tell where a bottom leans, as a pitch."
    return [_blocks.paragraph(" ".join([*words, lean]), width)]


def _oval(hole: HolePlan, oval: OvalPlan, units: Units, width: float) -> _blocks.Block:
    """Where the bit stands for each bore of an oval hole, two bores to a row."""
    _, *bores = oval_rows(oval, units)
    cells = []
    for n, *offsets in bores:
        # of inches each offset has its decimal beside it
        beside = (
            offsets
            if units == "metric"
            else [f"{a} ({b})" for a, b in zip(offsets[::2], offsets[1::2], strict=True)]
        )
        cells.append((BOLD + n, *beside, TICK))
    if len(cells) % 2:
        cells.append(("", "", "", ""))
    rows = [(*left, *right) for left, right in zip(cells[::2], cells[1::2], strict=True)]
    narrow = (_blocks.Column(16.0, "right"), _blocks.Column(132.0), _blocks.Column(104.0))
    half = (*narrow, _blocks.Column(width / 2.0 - sum(c.width for c in narrow), "right"))
    before, after = oval_words(hole, oval, units)
    blocks = (
        _blocks.paragraph(f"Oval {hole.name}: {before}", width, bold=True),
        _blocks.table((*half, *half), ("", "along", "across", "") * 2, rows),
        _blocks.paragraph(after, width),
        *(_blocks.paragraph(words, width, bold=True) for words in slug_words(hole, oval, units)),
    )
    return _blocks.stack(blocks, 1.0)


def _old_holes(plan: Plan, units: Units, width: float, columns: int) -> _blocks.Block:
    """The holes that were drilled before, by the ball's own marks, and the care that plugs need."""
    _, *rows = old_rows(plan, units)
    plugs = [plug_words(o, units).replace(" g/cm3", "") for o in plan.old_holes]
    plugs = [plug.replace(f" {_unit(units)} ", " ") for plug in plugs]
    shown = [(BOLD + row[0], *row[1:4], plug) for row, plug in zip(rows, plugs, strict=True)]
    share = (width - GUTTER * (columns - 1)) / columns
    widths = [0.25, 0.15, 0.16, 0.12]
    narrow = [
        _blocks.Column(share * part, "right" if i else "left") for i, part in enumerate(widths)
    ]
    narrow.append(_blocks.Column(share * (1.0 - sum(widths)), "right"))
    each = -(-len(shown) // columns)
    head = ("", "from pin", "bearing", "size", "plug, g/cm3")
    tables = [_blocks.table(narrow, head, shown[i : i + each]) for i in range(0, len(shown), each)]
    mark = "CG mark" if plan.marks.psa is None else "PSA mark"
    words = f"Bearing: at the pin, clockwise from the line to the {mark}. {PLUG_CAUTION}"
    heading, after = (
        _blocks.heading(f"Old holes ({_unit(units)})", width),
        _blocks.paragraph(words, width),
    )
    return _blocks.stack((heading, _blocks.beside(tables, share + GUTTER), after), 1.0)


BALL_ROOM = 175.0  # points that the second page keeps for the ball
LEAST_SIDES = 110.0  # points; with less there is no ball on it
GLUE = ("glue", "sleeves set at", "cured at")  # what its maker's sheet says, and when it was done
MEASURES = (
    "Depth: along the axis to the end of the full diameter. Travel: from the bit's first touch to the "
    "end of the cut. Bit: "
)
OWN_BITS = "of those in the shop's file."
NEAREST_BITS = {"fraction": "nearest sixty-fourth.", "metric": "its diameter."}


def _marking(plan: Plan, steps: Sequence[MarkingStep], width: float, odd: bool) -> _blocks.Block:
    """The marking steps, those of vents and the inspection hole only with ``odd``."""
    later = [] if odd else [e.name for e in plan.extra_holes]
    lines = _steps(width, [s for s in steps if s.new not in later])
    lines.append(_blocks.paragraph(ROUNDING_NOTE, width))
    return _blocks.stack((_blocks.heading("Mark the ball", width), _blocks.stack(lines, 0.6)), 1.0)


def _steps(width: float, steps: Iterable[MarkingStep]) -> list[_blocks.Block]:
    return [_blocks.paragraph(s.text, width, f"{s.number}.") for s in steps]


def _proof(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """Arcs to measure before the bit, with boxes; of inches in thirty-seconds, under the stop."""
    there = [name for name, mark in (("CG", plan.marks.cg), ("PSA", plan.marks.psa)) if mark]
    head = ["hole centre to", "pin", *there]
    rows = []
    for h in plan.for_today.holes:
        arcs = [h.from_pin, h.from_cg, h.from_psa]
        shown = [proof_words(a, units).rsplit(" ", 1)[0] + TICK for a in arcs if a is not None]
        rows.append([BOLD + h.name, *shown])
    marks = len(head) - 1
    columns = [_blocks.Column(70.0)] + [_blocks.Column((width - 70.0) / marks, "right")] * marks
    off, edge = format_length(PROOF_TOLERANCE, units), bare(STOP, units)
    stop = f"Stop if an arc is off by {off}, an edge by {edge}."
    blocks = (
        _blocks.heading(f"Before the bit: measure these arcs ({_unit(units)})", width),
        _blocks.table(columns, head, rows, 11.0),
        _edges(plan, units, width),
        _blocks.paragraph(stop, width, bold=True),
        _blocks.initials(("measured by", "second initials"), width),
    )
    return _blocks.stack(blocks, 1.0)


def _edges(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """Spans and bridge as a rule reads them from edge to edge, with boxes."""
    rows = [
        [BOLD + c.name, bare(c.cut, units) + TICK, bare(c.finished, units) + finished_note(c)]
        for c in todays_edges(plan)
    ]
    columns = [
        _blocks.Column(80.0),
        _blocks.Column(54.0, "right"),
        _blocks.Column(width - 134.0, "right"),
    ]
    return _blocks.table(columns, EDGE_HEAD, rows, 11.0)


def _fit(plan: Plan, width: float) -> _blocks.Block:
    thumb = "" if plan.job.bowler.grip.thumb is None else ", thumb"
    text = f"The bowler has tried the grip: spans, fingers{thumb}."
    blocks = (
        _blocks.heading("Fit", width),
        _blocks.paragraph(text, width),
        _blocks.initials(("bowler", "driller", "date"), width),
    )
    return _blocks.stack(blocks, 1.0)


def _statics(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """Predicted statics beside blanks for the measured ones."""
    s = plan.statics
    words = (
        (s.top_oz, s.range.top_oz, *SIDES["top"]),
        (s.side_oz, s.range.side_oz, *SIDES["side"]),
        (s.finger_oz, s.range.finger_oz, *SIDES["finger"]),
    )
    measured = recorded(plan, "drilled")
    metric = format_weight(s.weight_lb, units)
    first = [f"gross, {metric}" if units == "metric" else "gross weight"]
    first.append(f"{BOLD}{s.weight_lb:.2f} lb")
    weighed = f"{measured['gross']:.2f} lb" if "gross" in measured else BLANK
    rows = [[*first, "", weighed] if s.calibrated else [*first, "", "", weighed]]
    for value, ends, plus, minus in words:
        name = next(key for key, words in SIDES.items() if plus in words)
        weighed = static_words(name, measured[name]) if name in measured else BLANK
        if value is None or ends is None:
            row = [name, f"{BOLD}{NOT_KNOWN}"] + ([] if s.calibrated else [""])
            rows.append([*row, "", weighed])
            continue
        low, high = ends
        row = [minus if value < 0.0 else plus]
        if not s.calibrated:
            # to the same side as the value; less than nothing is to the other side
            least, most = sorted((-low, -high) if value < 0.0 else (low, high))
            ends_words = " to ".join(dict.fromkeys((f"{least:.2f}", f"{most:.2f}")))
            row.append(f"{BOLD}{ends_words} oz")
        row.append(f"{BOLD if s.calibrated else ''}{abs(value):.2f} oz")
        rows.append([*row, "", weighed])
    columns = [_blocks.Column(72.0), _blocks.Column(54.0 if s.calibrated else 82.0, "right")]
    head = ["", "predicted"]
    if not s.calibrated:
        columns.append(_blocks.Column(54.0, "right"))
        head.append("default arm")
    columns.append(_blocks.Column(8.0))
    columns.append(_blocks.Column(width - sum(c.width for c in columns)))
    head += ["", "measured"]
    blocks = [
        _blocks.heading("Weights, drilled", width),
        _blocks.table(columns, head, rows, BLANK_LEAD),
    ]
    drilling = drilling_words(plan)
    if drilling:
        blocks.append(_blocks.paragraph(drilling, width))
    blocks += [_blocks.paragraph(words, width, bold=True) for words in today_words(plan)]
    if plan.job.scale is not None and plan.job.scale.calibrated:
        blocks.append(
            _blocks.paragraph(
                f"Scale's arm {decimal_length(s.arm, units)}, calibrated: {plan.job.scale.calibrated}.",
                width,
            )
        )
    blocks += [_blocks.paragraph(words, width) for words in weighed_words(plan)[-1:] if measured]
    blocks += [_blocks.paragraph(words, width) for words in difference_words(plan, units)]
    return _blocks.stack(blocks, 1.0)


def _certainty(plan: Plan, width: float) -> _blocks.Block:
    """How sure each static weight is, and which measurement makes it unsure."""
    rows = [(name, text, words.partition(": ")[2]) for name, text, words in certainty_rows(plan)]
    columns = [_blocks.Column(64.0), _blocks.Column(110.0), _blocks.Column(width - 174.0)]
    head = ["", "two standard deviations", "most of it from"]
    return _blocks.stack(
        (_blocks.heading("How sure", width), _blocks.table(columns, head, rows)), 1.0
    )


def _lane(shot: Roll, units: Units, width: float) -> _blocks.Block:
    """The ball's path on the lane in short, with its cautions."""
    blocks = [_blocks.heading("On the lane", width)]
    blocks += [
        _blocks.paragraph(words, width, f"{name}:") for name, words in summary_rows(shot, units)
    ]
    blocks += [_blocks.paragraph(caution, width, "!") for caution in shot.cautions]
    return _blocks.stack(blocks, 0.6)


def _inertia(plan: Plan, width: float) -> _blocks.Block:
    after, before = plan.inertia, plan.inertia.undrilled
    rows = [
        (name, f"{a:.3f}", f"{b:.3f}")
        for name, a, b in (
            ("RG low", before.rg_low, after.rg_low),
            ("RG mid", before.rg_mid, after.rg_mid),
            ("RG high", before.rg_high, after.rg_high),
            ("differential", before.differential, after.differential),
            (
                "int. differential",
                before.intermediate_differential,
                after.intermediate_differential,
            ),
        )
    ]
    columns = (
        _blocks.Column(width - 90.0),
        _blocks.Column(45.0, "right"),
        _blocks.Column(45.0, "right"),
    )
    table = _blocks.table(columns, ("", "before", "after"), rows)
    return _blocks.stack((_blocks.heading("RG and differential (in)", width), table), 1.0)


_CHECK_CELLS = (44.0, 43.0, 28.0)  # points for value, limit and outcome
_INCOMPLETE_CELLS = (46.0, 36.0, 58.0)  # the same where a check says "not known" and "incomplete"


def _check_cells(plan: Plan) -> tuple[float, float, float]:
    """The widths of value, limit and outcome in the table of checks, in points."""
    return _INCOMPLETE_CELLS if any(c.value is None for c in plan.checks) else _CHECK_CELLS


def _checks(plan: Plan, width: float) -> _blocks.Block:
    rows = [_check_row(c) for c in plan.checks]
    cells = _check_cells(plan)
    columns = [_blocks.Column(width - sum(cells))] + [_blocks.Column(w, "right") for w in cells]
    blocks = (
        _blocks.heading(f"Checks by {plan.rules.name}: {plan.outcome}", width),
        _blocks.table(columns, ("", "value", "limit", ""), rows),
        _blocks.paragraph(CONFIRM, width),
    )
    return _blocks.stack(blocks, 1.0)


def _panel(plan: Plan) -> float:
    """Points in width for the checks beside the ball: more than usual for long names."""
    cells = sum(_check_cells(plan))
    return max([PANEL, *(typeface().width(c.name) * TYPE + 4.0 + cells for c in plan.checks)])


def _check_row(c: Check) -> tuple[str, str, str, str]:
    outcome = c.outcome if c.outcome == "pass" else BOLD + c.outcome
    if c.value is None:
        return c.name, NOT_KNOWN, f"{c.limit:g} {c.unit}", outcome
    if c.unit == YES_NO:
        return c.name, "yes" if c.value else "no", "needed", outcome
    if c.unit == "holes":
        return c.name, f"{c.value:g}", f"{c.limit:g}", outcome
    if c.unit == "oz":
        return c.name, format_ounces(c.value, signed=True), f"{c.limit:g} oz", outcome
    return c.name, f"{c.value:.2f} {c.unit}", f"{c.limit:g} {c.unit}", outcome


def _cautions(plan: Plan, width: float, shown: int, asked: bool) -> _blocks.Block:
    """The first ``shown`` cautions, the gravest first, how many more there are, and what is not known.

    With ``asked`` also the questions, which else stand on the second page.
    """
    # a failing rule is no caution, and yet what must be read first
    blocks = [_blocks.paragraph(f"Rule: {words}", width, "!") for words in outcome_reasons(plan)]
    blocks += [_blocks.paragraph(c, width, "!") for c in plan.cautions[:shown]]
    rest = len(plan.cautions) - shown
    if rest > 0:
        blocks.append(_blocks.paragraph(f"and {rest} more on page 2", width, bold=True))
    blocks += [_blocks.paragraph(sentence, width, "?") for sentence in unknown(plan)]
    if not blocks:
        blocks.append(_blocks.paragraph("none", width))
    parts = [_blocks.heading("Cautions", width), _blocks.stack(blocks, 0.6)]
    if plan.questions and asked:
        parts.append(_questions(plan, width))
    elif plan.questions:
        parts.append(
            _blocks.paragraph(f"questions on page 2: {len(plan.questions)}", width, bold=True)
        )
    return _blocks.stack(parts, 1.0)


def _questions(plan: Plan, width: float) -> _blocks.Block:
    """The plan's questions, apart from its cautions."""
    lines = [_blocks.paragraph(q.words, width, "?") for q in plan.questions]
    heading = _blocks.heading("Questions: unusual figures", width)
    return _blocks.stack((heading, _blocks.stack(lines, 0.6)), 1.0)


# --- the page -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Picture:
    """A drawing in its place: the ball's middle and radius in points."""

    drawing: drawing.Drawing
    x: float
    y: float
    radius: float
    caption: str

    @property
    def reach(self) -> float:
        """Points from the ball's middle to the end of the ball or of the outermost label."""
        rows = max((abs(label.y) for label in self.drawing.labels), default=0.0) * self.radius
        return max(self.radius + 1.0, rows + LEAD / 2.0)

    @property
    def height(self) -> float:
        """Points that the picture and its caption need."""
        return 2.0 * self.reach + LEAD + 2.0 * _blocks.RISE


def _label_room(picture: drawing.Drawing) -> tuple[float, float]:
    """Points that the texts in the left and in the right column need."""
    widths = {"left": 0.0, "right": 0.0}
    for label in picture.labels:
        widths[label.side] = max(widths[label.side], typeface().width(label.text) * TYPE)
    return widths["left"], widths["right"]


def _place(
    scene: drawing.Scene, view: drawing.View, box: tuple[float, float, float, float], caption: str
) -> _Picture:
    """The largest ball that fits with its labels into box (left, bottom, width, height)."""
    x, y, width, height = box
    left, right = _label_room(drawing.project(scene, view))
    radius = min((width - left - right - 2.0) / (2.0 * drawing.COLUMN), height / 2.0)
    radius = max(radius, LEAD)  # where the labels leave no room at all, a ball as small as a line
    while True:
        spare = width - left - right - 2.0 * drawing.COLUMN * radius
        projected = drawing.project(scene, view, LEAD / radius)
        middle = x + spare / 2.0 + left + drawing.COLUMN * radius
        picture = _Picture(projected, middle, y + (height + LEAD) / 2.0, radius, caption)
        # the rows of many labels may need more than the ball's height
        if picture.height <= height or radius < LEAD:
            return picture
        radius *= 0.98


def _hidden(picture: drawing.Drawing) -> list[str]:
    return [s.name for s in picture.spots if s.far and s.kind != "hole"]


def _second(plan: Plan, hidden: Iterable[str]) -> drawing.Facing:
    """The facing from which the hidden marks are all seen, and best."""
    there = _marks(plan)
    marks = {k: np.array(v.xyz) for k, v in there.items() if k in hidden}

    def worst(what: drawing.Facing) -> float:
        toward = drawing.facing(plan, what).frame[2]
        return min(float(p @ toward) for p in marks.values())

    choices = [
        f
        for f in drawing.FACINGS
        if f in marks or f in {"pin", "pap"} & there.keys() or f == "underside"
    ]
    return max(choices, key=worst)


def _marks(plan: Plan) -> dict[str, Mark]:
    m = plan.marks
    marks = {"pin": m.pin, "cg": m.cg, "psa": m.psa, "pap": m.pap, "grip_center": m.grip_center}
    return {k: v for k, v in marks.items() if v is not None}


def _split(blocks: Sequence[_blocks.Block]) -> tuple[_blocks.Block, _blocks.Block]:
    """Two columns as even as can be, each with its blocks in order, the first block to the left."""
    best: tuple[_blocks.Block, _blocks.Block] | None = None
    for right in range(1, 2 ** (len(blocks) - 1)):
        columns: tuple[list[_blocks.Block], list[_blocks.Block]] = (list(blocks[:1]), [])
        for i, block in enumerate(blocks[1:]):
            columns[right >> i & 1].append(block)
        pair = _blocks.stack(columns[0]), _blocks.stack(columns[1])
        if best is None or max(b.height for b in pair) < max(b.height for b in best):
            best = pair
    if best is None:
        raise ValueError("two columns need at least two blocks")
    return best


def _compose(
    plan: Plan, paper: Paper, rolled: bool, units: Units
) -> list[tuple[_blocks.Page, list[_Picture]]]:
    """Everything in its place: one page, or two where the first has too little room."""
    wanted = rolled or (plan.job.release is not None and not open_fields(plan.job))
    shot = roll(plan) if wanted else None
    steps = marking_steps(plan, units)
    scene = drawing.scene(plan, units)

    def front(odd: bool, leans: bool, inertia: bool = True, weights: bool = True) -> _Front | None:
        return _front(plan, units, paper, scene, steps, shot, odd, leans, inertia, weights)

    whole = front(True, True)
    if whole is not None:
        return [(whole.page, whole.pictures)]
    only = front(True, False)
    if only is not None:
        return [(only.page, only.pictures), (_only_leans(plan, units, paper), [])]
    later: list[_blocks.Block] = []  # what has to go to the second page as well
    half = (PAPERS[paper][0] - 2.0 * MARGIN - GUTTER) / 2.0
    first = front(False, False)
    if first is None:
        later.append(_inertia(plan, half))
        first = front(False, False, False)
    if first is None:
        later.append(_statics(plan, units, half))
        first = front(False, False, False, False)
        assert first is not None
    back = _back(plan, units, paper, scene, steps, shot, first.shown, later)
    return [(first.page, first.pictures), *back]


def _only_leans(plan: Plan, units: Units, paper: Paper) -> _blocks.Page:
    """A second page with nothing but the sketches of the leaning holes."""
    page = _blocks.Page()
    full, height = (side - 2.0 * MARGIN for side in PAPERS[paper])
    blocks = (_blocks.heading(_page_title(plan, 2), full), leans(plan, units, full))
    _blocks.stack(blocks).paint(page, MARGIN, MARGIN + height)
    return page


class _Front(NamedTuple):
    """The first page, and how many cautions are on it."""

    page: _blocks.Page
    pictures: list[_Picture]
    shown: int


def _front(
    plan: Plan,
    units: Units,
    paper: Paper,
    scene: drawing.Scene,
    steps: Sequence[MarkingStep],
    shot: Roll | None,
    odd: bool,
    sketched: bool,
    inertia: bool,
    weights: bool,
) -> _Front | None:
    """The first page, with ``odd`` all of the plan's odd parts, cautions and questions on it.

    What is not on it, it says to be on the second one: the odd parts, without ``sketched`` how the holes
    lean, without ``inertia`` the RGs, without ``weights`` the weights. None where that does not fit; the
    last resort, without weights, is always made.
    """
    parts = [] if odd else _odd_parts(plan) + ([] if shot is None else ["the ball on the lane"])
    parts += [] if sketched else ["how each hole leans in the jig"]
    parts += [] if weights else ["weights, drilled"]
    page = _blocks.Page()
    full, height = (side - 2.0 * MARGIN for side in PAPERS[paper])
    left, top = MARGIN, MARGIN + height
    half = (full - GUTTER) / 2.0
    if not odd:
        scene = _without_odd_names(plan, scene)
    hidden = _hidden(drawing.project(scene, drawing.facing(plan, "grip")))
    head, shop = _head(plan, units, full), _blocks.paragraph(SHOP, full)
    operations = _operations(plan, units, full, odd, parts)

    # checks and inertia stand beside the ball unless a second view needs that place
    below = [
        _marking(plan, steps, half, odd),
        _proof(plan, units, half),
        *([_statics(plan, units, half)] if weights else []),
        _fit(plan, half),
    ]
    if certainty_rows(plan) and odd:
        below.insert(3, _certainty(plan, half))
    if odd and shot is not None:
        below.append(_lane(shot, units, half))
    if sketched:
        below.append(leans(plan, units, half))
    if odd and plan.old_holes:
        below.insert(2, _old_holes(plan, units, half, 1))
    side = _panel(plan)
    if hidden:
        below += [_checks(plan, half), *([_inertia(plan, half)] if inertia else [])]
        panel = _blocks.Block(0.0, lambda *_: None)
    else:
        panel = _blocks.stack([_checks(plan, side), *([_inertia(plan, side)] if inertia else [])])
    free = height - head.height - operations.height - shop.height - 4.0 * GAP
    # all cautions, or as many of the gravest as leave the ball its place
    for shown in range(len(plan.cautions), -1, -1):
        columns = _split([*below, _cautions(plan, half, shown, odd)])
        band = free - max(c.height for c in columns)
        fits = band >= max(LEAST_BAND, panel.height)
        if fits:
            break
    if weights and not (fits and (shown == len(plan.cautions) or not odd)):
        return None

    place = top - head.height - GAP
    pictures = _pictures(plan, scene, hidden, (left, place - band, full, band))
    # height that the ball cannot use, because it is as wide as the page, goes between the parts
    used = max(panel.height, *(p.height for p in pictures))
    gap = GAP + max(band - used, 0.0) / 4.0
    if gap > GAP:
        box = (left, top - head.height - gap - used, full, used)
        pictures = _pictures(plan, scene, hidden, box)
        band = used

    head.paint(page, left, top)
    top -= head.height + gap
    panel.paint(page, left + full - side, top)
    for p in pictures:
        page.text(p.x, p.y - p.reach - LEAD, p.caption, align="center", color=render.GREY)
    top -= band + gap
    operations.paint(page, left, top)
    top -= operations.height + gap
    for column, x in zip(columns, (left, left + half + GUTTER), strict=True):
        column.paint(page, x, top)
    page.rule(left, left + full, MARGIN + shop.height + GAP / 2.0, 0.5)
    shop.paint(page, left, MARGIN + shop.height)
    return _Front(page, pictures, shown)


def _without_odd_names(plan: Plan, scene: drawing.Scene) -> drawing.Scene:
    """The scene with the names of the grip's holes and of the marks only."""
    odd = {e.name for e in plan.extra_holes} | {o.name for o in plan.old_holes}
    return replace(scene, callouts=tuple(c for c in scene.callouts if c.name not in odd))


def _back(
    plan: Plan,
    units: Units,
    paper: Paper,
    scene: drawing.Scene,
    steps: Sequence[MarkingStep],
    shot: Roll | None,
    shown: int,
    later: Sequence[_blocks.Block],
) -> list[tuple[_blocks.Page, list[_Picture]]]:
    """The second page: cautions beyond the first ``shown``, what is odd, the ball from two sides.

    With a shot also the rings on the ball; if there is nothing else, these alone. Cautions and questions
    that it cannot hold go to pages of their own.
    """
    page = _blocks.Page()
    full, height = (side - 2.0 * MARGIN for side in PAPERS[paper])
    half = (full - GUTTER) / 2.0
    title = _page_title(plan, 2)
    blocks = [*_ovals(plan, units, full)]
    extras = plan.for_today.extra_holes
    if extras:
        rows = _extra_cut_rows(plan, units, len(_cut_rows(plan, units)))
        words = _extra_words(plan)
        lines = _blocks.heading(
            f"{words[:1].upper()}{words[1:]}, drilled last ({whole_unit(units)})", full
        )
        blocks += [
            _blocks.stack((lines, _cuts(rows, full, vents=True), *_aims(plan, units, full)), 1.0)
        ]
    names = [e.name for e in extras]
    marks = _steps(half, [s for s in steps if s.new in names])
    if marks:
        each = -(-len(marks) // 2)
        columns = [_blocks.stack(marks[i : i + each], 0.6) for i in range(0, len(marks), each)]
        blocks += [_blocks.heading("Mark them", full), _blocks.beside(columns, half + GUTTER)]
    if plan.old_holes:
        blocks.append(_old_holes(plan, units, full, 1 if len(plan.old_holes) <= FEW_OLD else 2))
    blocks.append(leans(plan, units, full))
    if later:
        blocks.append(_blocks.beside(later, half + GUTTER))
    if certainty_rows(plan):
        blocks.append(_certainty(plan, full))
    if shot is not None:
        blocks.append(_lane(shot, units, full))
    room = height - (BALL_ROOM if _odd_parts(plan) or shot is not None else 0.0)
    rest = [("!", c) for c in plan.cautions[shown:]] + [("?", q.words) for q in plan.questions]
    # all that are left, or as many of the gravest as leave the ball its place
    for count in range(len(rest), -1, -1):
        more = _continued(rest, count, full)
        text = _blocks.stack([_blocks.heading(title, full), *more, *blocks])
        if text.height <= room:
            break
    over: list[_blocks.Block] = []  # what even then is more than a page, the last parts of it first
    while text.height > height and len(blocks) > 1:
        over.insert(0, blocks.pop())
        text = _blocks.stack([_blocks.heading(title, full), *more, *blocks])
    text.paint(page, MARGIN, MARGIN + height)
    space = height - text.height - GAP / 2.0
    # without room for the ball even then, the ball on the first page has to do
    pictures = (
        _sides(plan, scene, (MARGIN, MARGIN, full, space), shot) if space > LEAST_SIDES else []
    )
    for p in pictures:
        page.text(p.x, p.y - p.reach - LEAD, p.caption, align="center", color=render.GREY)
    return [(page, pictures), *_rest(plan, rest[count:], paper, over)]


def _rest(
    plan: Plan, rest: Sequence[tuple[str, str]], paper: Paper, over: Sequence[_blocks.Block]
) -> Iterator[tuple[_blocks.Page, list[_Picture]]]:
    """What two pages did not hold, on as many more as it needs: parts, then cautions and questions."""
    full, height = (side - 2.0 * MARGIN for side in PAPERS[paper])
    number = 2
    while rest or over:
        number += 1
        count = len(rest)
        while True:
            blocks = [
                _blocks.heading(_page_title(plan, number), full),
                *over,
                *_continued(rest, count, full),
            ]
            text = _blocks.stack(blocks)
            if text.height <= height or count == (0 if over else 1):
                break
            count -= 1
        page = _blocks.Page()
        text.paint(page, MARGIN, MARGIN + height)
        yield page, []
        rest, over = rest[count:], ()


def _page_title(plan: Plan, number: int) -> str:
    return f"Page {number} of the work sheet: {plan.job.title or 'Untitled job'}"


def _continued(rest: Sequence[tuple[str, str]], count: int, width: float) -> list[_blocks.Block]:
    """The first ``count`` of the cautions and questions that the first page left, and how many more."""
    if not rest:
        return []
    lines = [_blocks.paragraph(words, width, lead) for lead, words in rest[:count]]
    if count < len(rest):
        words = f"and {len(rest) - count} more on the next page"
        lines.append(_blocks.paragraph(words, width, bold=True))
    if count == 0:
        return lines
    heading = _blocks.heading("Cautions and questions, continued", width)
    return [_blocks.stack((heading, _blocks.stack(lines, 0.6)), 1.0)]


def _sides(
    plan: Plan,
    scene: drawing.Scene,
    box: tuple[float, float, float, float],
    shot: Roll | None,
) -> list[_Picture]:
    """The ball with all holes named: from the grip, and from the other side if some are there.

    That is where some holes are odd. With a shot also the rings on the ball.
    """
    x, y, width, room = box
    kinds: tuple[str, ...] = ("hole", "plugged", "open", "pin", "cg", "psa", "grip_center")
    if len(plan.old_holes) > OLD_NAMED:
        kinds = tuple(kind for kind in kinds if kind not in ("plugged", "open"))
    sides: list[tuple[drawing.Facing, str]] = []
    if _odd_parts(plan):
        sides = [
            ("grip", "seen from the grip"),
            ("underside", "seen from opposite the grip, the fingers' side up"),
        ]
    shown: list[tuple[drawing.View, str, drawing.Scene]] = []
    for facing, caption in sides:
        view = drawing.facing(plan, facing)
        seen = [c for c in scene.callouts if c.kind in kinds and c.point @ view.frame[2] >= 0.0]
        if not shown or any(c.kind in ("hole", "plugged", "open") for c in seen):
            shown.append((view, caption, replace(scene, callouts=tuple(seen))))
    if shot is not None and shot.flare is not None:
        view = lane_drawing.rings_view(shot)
        rings = "oil rings of the track, light where the lane is dry"
        shown.append((view, rings, lane_drawing.rings_seen(shot, view)))
    if not shown:
        return []
    share = (width - GUTTER * (len(shown) - 1)) / len(shown)
    high = min(room, MOST_BALL)
    placed = [
        _place(each, view, (x + i * (share + GUTTER), y + room - high, share, high), caption)
        for i, (view, caption, each) in enumerate(shown)
    ]
    return [replace(p, drawing=lane_drawing.without_far_rings(p.drawing)) for p in placed]


def _pictures(
    plan: Plan, scene: drawing.Scene, hidden: list[str], box: tuple[float, float, float, float]
) -> list[_Picture]:
    """The ball from the grip, and from where the marks hidden there are seen, if there are any."""
    left, bottom, width, height = box
    view, caption = drawing.facing(plan, "grip"), "seen from the grip"
    if not hidden:
        return [_place(scene, view, (left, bottom, width - _panel(plan) - GUTTER, height), caption)]
    share = 0.62 * width
    first = _place(scene, view, (left, bottom, share - GUTTER, height), caption)
    what = _second(plan, hidden)
    view = drawing.facing(plan, what)
    shown = {s.name for s in drawing.project(scene, view).spots if s.kind != "hole" and not s.far}
    marks = replace(scene, callouts=tuple(c for c in scene.callouts if c.name in shown))
    known: dict[str, str] = dict(drawing.MARK_NAMES.items())
    caption = f"seen from the {known.get(what, what)}, fingers up"
    return [first, _place(marks, view, (left + share, bottom, width - share, height), caption)]


def sheet_figures(
    plan: Plan, paper: Paper = "letter", rolled: bool = False, units: Units = "fraction"
) -> list[Figure]:
    """The work sheet as a figure a page; ``paper`` is letter (8 1/2 x 11 in) or a4.

    Lengths are in fractions of an inch, or in millimetres where ``units`` are metric; static weights are
    ounces in either, as in the rules.

    One page, or two where odd or old holes or cautions leave the first one too little room; more only
    for more cautions than two can hold. Where the record has a
    release, or with ``rolled``, it also says what the ball does on the lane. Raises InputError where it
    is to be ``rolled`` and the record leaves open what that needs.
    """
    pages = _compose(plan, paper, rolled, on_rule(units))
    return [_figure(page, pictures, paper) for page, pictures in pages]


def _figure(page: _blocks.Page, pictures: Sequence[_Picture], paper: Paper) -> Figure:
    width, height = PAPERS[paper]
    figure = _blocks.figure(page, width, height)
    for p in pictures:
        # a square a little wider than the ball; the labels reach beyond it, into room kept for them
        reach = p.radius * 1.05
        x, y, side = p.x - reach, p.y - reach, 2.0 * reach
        ax = figure.add_axes((x / width, y / height, side / width, side / height))
        ax.set_axis_off()
        ax.set_xlim(-1.05, 1.05)
        ax.set_ylim(-1.05, 1.05)
        render.draw(ax, p.drawing, render.Style(text=TYPE, scale=0.9))
    return figure


def sheet_bytes(
    plan: Plan, paper: Paper = "letter", rolled: bool = False, units: Units = "fraction"
) -> bytes:
    """The work sheet as a PDF file's content, as `sheet_figures`; the same plan gives the same bytes."""
    title = typeface().printable(plan.job.title) or "Work sheet"
    return pdf_bytes(lambda: sheet_figures(plan, paper, rolled, units), title)


def write_sheet(
    plan: Plan,
    path: str | Path,
    paper: Paper = "letter",
    rolled: bool = False,
    units: Units = "fraction",
) -> None:
    """Write the work sheet to a PDF file, whole or not at all; as `sheet_figures`.

    Raises InputError where the file cannot be written.
    """
    write_atomic(path, sheet_bytes(plan, paper, rolled, units))
