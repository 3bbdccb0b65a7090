"""The parts of the work sheet: its head, its tables and its lists, each a block that knows its height.

The sheet's module puts them on pages. Lengths on the page are points (72 to the inch).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from layoutkit.bench.weighing import recorded
from layoutkit.job.rules import CONFIRM, YES_NO, Check
from layoutkit.job.words import NOT_KNOWN, SIDES, static_words
from layoutkit.lane.roll import Roll
from layoutkit.output import blocks as _blocks
from layoutkit.output import render
from layoutkit.output.blocks import BLANK, BLANK_LEAD, BOLD, SPAN, TICK
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
    proof_rows,
    slug_words,
    today_words,
    todays_edges,
    weighed_words,
    whole_unit,
)
from layoutkit.output.roll_report import summary_rows
from layoutkit.output.typeset import LEAD, TYPE, shorten, typeface, wrap
from layoutkit.planning.bits import bit_for, missing_bits
from layoutkit.planning.grip_marks import STOP
from layoutkit.planning.marking import ROUNDING_NOTE, MarkingStep
from layoutkit.planning.plan import PROOF_TOLERANCE, nearest_bit
from layoutkit.planning.unknown import unknown
from layoutkit.planning.values import HolePlan, OvalPlan, Plan
from layoutkit.units import Units, format_length, format_ounces, format_weight

if TYPE_CHECKING:
    pass

GUTTER = 12.0  # points between columns
PANEL = 176.0  # points in width for the checks beside the ball
LABEL_LINES = 3  # for the label and a job's notes; more of them is cut off

DEGREE = "\N{DEGREE SIGN}"


def _size(value: float, units: Units) -> str:
    """A size as a rule or a bit has it, decimal where it lies between the sixty-fourths."""
    divided = units == "metric" or abs(value * 64.0 - round(value * 64.0)) < 1e-6
    return bare(value, units) if divided else f"{value:.3f}"


def _unit(units: Units) -> str:
    return "mm" if units == "metric" else "in"


def head(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """The title, whose ball it is, the layout, the grip and the ball in rows, and the outcome."""
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


def cuts_table(rows: Sequence[Sequence[str]], width: float, vents: bool = False) -> _blocks.Block:
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


def cut_rows(plan: Plan, units: Units) -> list[tuple[str, ...]]:
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


def extra_cut_rows(plan: Plan, units: Units, done: int) -> list[tuple[str, ...]]:
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


def operations(
    plan: Plan, units: Units, width: float, odd: bool, later: Sequence[str]
) -> _blocks.Block:
    """The work at the press, with ``odd`` also how an oval and vents are cut, else what is on page 2."""
    rows = cut_rows(plan, units)
    order = f"Order of operations ({whole_unit(units)})"
    if any(h.bore is not None for h in plan.for_today.holes):
        order += ": all bores, then all sleeves set and cured, then the finished holes"
    only = only_words(plan)
    said = [_blocks.paragraph(only, width, bold=True)] if only else []
    said += [_blocks.paragraph(words, width, bold=True) for words in missing_bits(plan, units)]
    measures = MEASURES + (OWN_BITS if plan.bits else NEAREST_BITS[units])
    glue = [_blocks.initials(GLUE, width)] if any(h.bore for h in plan.for_today.holes) else []
    if not odd:
        blocks = [_blocks.heading(order, width), *said, cuts_table(rows, width), *glue]
        if later:
            blocks.append(_blocks.paragraph(f"Page 2: {', '.join(later)}.", width, bold=True))
        return _blocks.stack([*blocks, _blocks.paragraph(measures, width)], 1.0)
    rows += extra_cut_rows(plan, units, len(rows))
    blocks = [_blocks.heading(order, width), *said, cuts_table(rows, width), *glue]
    blocks += [*oval_parts(plan, units, width), *aim_parts(plan, units, width)]
    if later:
        blocks.append(_blocks.paragraph(f"Page 2: {', '.join(later)}.", width, bold=True))
    return _blocks.stack([*blocks, _blocks.paragraph(measures, width)], 1.0)


def odd_parts(plan: Plan) -> list[str]:
    """The parts of a plan that a usual plan has not."""
    plan = plan.for_today
    parts = [f"the bores of the oval {h.name}" for h in plan.holes if h.oval is not None]
    parts += [extra_words(plan)] if plan.extra_holes else []
    return parts + (["old holes"] if plan.old_holes else [])


def extra_holes_part(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """The vents and balance holes to be drilled today, and how their bits are aimed."""
    rows = extra_cut_rows(plan, units, len(cut_rows(plan, units)))
    words = extra_words(plan)
    title = f"{words[:1].upper()}{words[1:]}, drilled last ({whole_unit(units)})"
    table = cuts_table(rows, width, vents=True)
    return _blocks.stack(
        (_blocks.heading(title, width), table, *aim_parts(plan, units, width)), 1.0
    )


def extra_words(plan: Plan) -> str:
    """One name for all extra holes together."""
    vents, inspection = (
        any(bool(e.into) is into for e in plan.for_today.extra_holes) for into in (True, False)
    )
    return " and ".join(["vents"] * vents + ["inspection hole"] * inspection)


def oval_parts(plan: Plan, units: Units, width: float) -> list[_blocks.Block]:
    """What is cut for each oval."""
    return [_oval(h, h.oval, units, width) for h in plan.for_today.holes if h.oval is not None]


def aim_parts(plan: Plan, units: Units, width: float) -> list[_blocks.Block]:
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


def old_holes_table(plan: Plan, units: Units, width: float, columns: int) -> _blocks.Block:
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


GLUE = ("glue", "sleeves set at", "cured at")  # what its maker's sheet says, and when it was done
MEASURES = (
    "Depth: along the axis to the end of the full diameter. Travel: from the bit's first touch to the "
    "end of the cut. Bit: "
)
OWN_BITS = "of those in the shop's file."
NEAREST_BITS = {"fraction": "nearest sixty-fourth.", "metric": "its diameter."}


def marking(plan: Plan, steps: Sequence[MarkingStep], width: float, odd: bool) -> _blocks.Block:
    """The marking steps, those of vents and the inspection hole only with ``odd``."""
    later = [] if odd else [e.name for e in plan.extra_holes]
    lines = step_lines(width, [s for s in steps if s.new not in later])
    lines.append(_blocks.paragraph(ROUNDING_NOTE, width))
    return _blocks.stack((_blocks.heading("Mark the ball", width), _blocks.stack(lines, 0.6)), 1.0)


def step_lines(width: float, steps: Iterable[MarkingStep]) -> list[_blocks.Block]:
    """Marking steps, each a numbered paragraph."""
    return [_blocks.paragraph(s.text, width, f"{s.number}.") for s in steps]


def proof(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """Arcs to measure before the bit, with boxes; of inches in thirty-seconds, under the stop."""
    (_, *heads), *arcs = proof_rows(plan, units)
    marks = [each.removeprefix("to ").removesuffix(" mark") for each in heads]
    head = ["hole centre to", *marks]
    rows = [
        [BOLD + name, *(words.rsplit(" ", 1)[0] + TICK for words in each)] for name, *each in arcs
    ]
    columns = [_blocks.Column(70.0)] + [_blocks.Column((width - 70.0) / len(marks), "right")] * len(
        marks
    )
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


def fit(plan: Plan, width: float) -> _blocks.Block:
    """The line to tick once the bowler has tried the grip's sizes."""
    thumb = "" if plan.job.bowler.grip.thumb is None else ", thumb"
    text = f"The bowler has tried the grip: spans, fingers{thumb}."
    blocks = (
        _blocks.heading("Fit", width),
        _blocks.paragraph(text, width),
        _blocks.initials(("bowler", "driller", "date"), width),
    )
    return _blocks.stack(blocks, 1.0)


def statics(plan: Plan, units: Units, width: float) -> _blocks.Block:
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


def certainty(plan: Plan, width: float) -> _blocks.Block:
    """How sure each static weight is, and which measurement makes it unsure."""
    rows = [(name, text, words.partition(": ")[2]) for name, text, words in certainty_rows(plan)]
    columns = [_blocks.Column(64.0), _blocks.Column(110.0), _blocks.Column(width - 174.0)]
    head = ["", "two standard deviations", "most of it from"]
    return _blocks.stack(
        (_blocks.heading("How sure", width), _blocks.table(columns, head, rows)), 1.0
    )


def lane_part(shot: Roll, units: Units, width: float) -> _blocks.Block:
    """The ball's path on the lane in short, with its cautions."""
    blocks = [_blocks.heading("On the lane", width)]
    blocks += [
        _blocks.paragraph(words, width, f"{name}:") for name, words in summary_rows(shot, units)
    ]
    blocks += [_blocks.paragraph(caution, width, "!") for caution in shot.cautions]
    return _blocks.stack(blocks, 0.6)


def inertia(plan: Plan, width: float) -> _blocks.Block:
    """The RGs and differentials before and after drilling."""
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


def checks_table(plan: Plan, width: float) -> _blocks.Block:
    """Each check with its value, limit and outcome."""
    rows = [_check_row(c) for c in plan.checks]
    cells = _check_cells(plan)
    columns = [_blocks.Column(width - sum(cells))] + [_blocks.Column(w, "right") for w in cells]
    blocks = (
        _blocks.heading(f"Checks by {plan.rules.name}: {plan.outcome}", width),
        _blocks.table(columns, ("", "value", "limit", ""), rows),
        _blocks.paragraph(CONFIRM, width),
    )
    return _blocks.stack(blocks, 1.0)


def panel_width(plan: Plan) -> float:
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


def cautions(plan: Plan, width: float, shown: int, asked: bool) -> _blocks.Block:
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
