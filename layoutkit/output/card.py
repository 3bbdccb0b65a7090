"""The card: what the customer's ball has now, on the upper half of one page, to be signed.

It says what was measured and weighed. What nobody measured is as planned and marked so, and what nobody
weighed is a blank.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from layoutkit.bench.weighing import judge, recorded
from layoutkit.job.files import write_atomic
from layoutkit.job.rules import overall
from layoutkit.job.words import range_words, static_words
from layoutkit.output import blocks as _blocks
from layoutkit.output.blocks import BLANK, BLANK_LEAD, BOLD
from layoutkit.output.report import (
    bare,
    decimal_length,
    gross_words,
    on_ball,
    way_words,
    whole_unit,
)
from layoutkit.output.typeset import PAPERS, Paper, pdf_bytes, shorten, typeface
from layoutkit.planning.as_drilled import BRIDGE
from layoutkit.planning.values import HolePlan, Plan
from layoutkit.units import Units, format_length, on_rule

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 36.0  # points; printers do not reach the very edge
GUTTER = 16.0  # points between columns
TITLE = 13.0  # points in type
CUT = "cut here"
FAILS = "Not legal: see the rules below"
CARE = (
    "A hole that rubs, pinches or swells the thumb can injure: stop and have it refitted. Rules and "
    "holes change: the rule book in force decides, and a ball is weighed again after any work on it."
)
_OUTCOMES = {
    "pass": "within every limit",
    "close": "too close to a limit to call: weigh again",
    "incomplete": "not everything was weighed, so nothing is said to be legal",
    "fail": "outside a limit",
}


def card_figure(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> Figure:
    """The card as a figure of a whole page; it stands above the line along which it is cut.

    Lengths are in fractions of an inch, or in millimetres where ``units`` are metric.
    """
    units = on_rule(units)
    width, height = PAPERS[paper]
    page = _blocks.Page()
    full = width - 2.0 * MARGIN
    half = (full - GUTTER) / 2.0
    title = "What this ball has now"
    page.text(MARGIN, height - MARGIN - TITLE, title, bold=True, size=TITLE)
    outcomes = (plan.outcome, overall(judge(plan, recorded(plan, "drilled"))))
    if "fail" in outcomes:
        page.text(width - MARGIN, height - MARGIN - TITLE, FAILS, True, 10.0, "right")
    page.rule(MARGIN, width - MARGIN, height - MARGIN - TITLE - 5.0, 1.2)
    top = height - MARGIN - TITLE - 10.0
    columns = (
        [_whose(plan, units, half), _layout(plan, units, half)],
        [_weights(plan, units, half), _outcome(plan, half)],
    )
    body = _blocks.beside([_blocks.stack(c) for c in columns], half + GUTTER)
    signed = _blocks.stack(
        [
            _blocks.paragraph(CARE, full),
            _blocks.initials(("bowler", "driller", "date"), full),
        ]
    )
    text = _blocks.stack([_grip(plan, units, full), body, signed])
    text.paint(page, MARGIN, top)
    page.rule(0.0, width, height / 2.0, 0.4)
    page.text(width / 2.0, height / 2.0 + 2.0, CUT, align="center", color="#777777")
    return _blocks.figure(page, width, height)


def _whose(plan: Plan, units: Units, width: float) -> _blocks.Block:
    job = plan.job
    size = decimal_length(2.0 * job.ball.radius, units)
    rows = [
        ("bowler", f"{job.bowler.name or '-'}, {job.bowler.hand} hand"),
        ("ball", f"{job.ball.name or '-'}, {size}"),
        ("serial", job.ball.serial or "-"),
        ("drilled", _when(plan)),
    ]
    columns = (_blocks.Column(46.0), _blocks.Column(width - 46.0))
    cells = [(name, BOLD + words) for name, words in rows]
    return _blocks.stack((_blocks.heading("Ball", width), _blocks.table(columns, (), cells)), 1.0)


def _when(plan: Plan) -> str:
    work = plan.job.work
    date, who = (work and work.date) or "", (work and work.driller) or ""
    return f"{date or 'no date'}, by {who or 'nobody named'}"


def _grip(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """The holes as measured, else as planned; what was measured is bold."""
    measured = {d.name for d in plan.differences}

    def cell(name: str, words: str) -> str:
        return BOLD + words if name in measured else words

    rows: list[Sequence[str]] = []
    for h in plan.holes:
        n = h.name
        rows.append(
            (
                BOLD + n,
                cell(f"{n} span", "-" if h.span is None else bare(h.span, units)),
                cell(f"{n} diameter", _across(h, units)),
                cell(f"{n} depth", bare(h.depth, units)),
                cell(f"{n} forward pitch", way_words(h.forward, "forward", "reverse", units)),
                cell(f"{n} right pitch", way_words(h.right, "right", "left", units)),
                _sleeve(plan, h, units),
            )
        )
    shares = (0.12, 0.11, 0.19, 0.1, 0.16, 0.14, 0.18)
    columns = [_blocks.Column(width * share) for share in shares]
    head = ("", "span", "diameter", "depth", "forward/reverse", "right/left", "sleeve")
    bridge = (
        f"Bridge {format_length(plan.job.bowler.grip.bridge, units)}, square to the centreline."
    )
    parts = "Measured, where bold; else as planned." if measured else "As planned: not measured."
    if BRIDGE in measured:
        edges = next(d.measured for d in plan.differences if d.name == BRIDGE)
        bridge = f"Bridge {format_length(edges, units)} between the cut edges, as measured."
    blocks = (
        _blocks.heading(f"Grip ({whole_unit(units)})", width),
        _blocks.table(columns, head, rows),
        _blocks.paragraph(f"{bridge} {parts}", width),
    )
    return _blocks.stack(blocks, 1.0)


def _across(hole: HolePlan, units: Units) -> str:
    size = bare(hole.diameter, units)
    return size if hole.oval is None else f"{size} by {bare(hole.oval.length, units)}, oval"


def _sleeve(plan: Plan, hole: HolePlan, units: Units) -> str:
    sleeve = plan.sleeve_of(hole)
    if hole.bore is None or sleeve is None:
        return "none"
    return sleeve.called or f"in a bore of {bare(hole.bore.diameter, units)}"


def _layout(plan: Plan, units: Units, width: float) -> _blocks.Block:
    words = place_words(plan, units)
    return _blocks.stack((_blocks.heading("Layout", width), _blocks.paragraph(words, width)), 1.0)


def place_words(plan: Plan, units: Units) -> str:
    """Where the marks lie under the hand, in plain words; then what the axis point adds to that."""
    n, marks = plan.layout, plan.marks
    side = "positive axis side" if marks.pin.over >= 0.0 else "side away from the positive axis"
    end = "fingers" if marks.pin.up >= 0.0 else "thumb"
    words = (
        f"The pin lies {on_ball(abs(marks.pin.over), units)} toward the {side} and "
        f"{on_ball(abs(marks.pin.up), units)} toward the {end}, from the middle of the grip."
    )
    for name, mark in (("PSA mark", marks.psa), ("CG mark", marks.cg)):
        if mark is not None:
            way = "down" if mark.up < 0.0 else "up"
            up = on_ball(abs(mark.up), units)
            words += f" {name}: {on_ball(mark.over, units)} over, {up} {way}."
    if n.pin_to_pap is not None and n.angle_at_pap is not None:
        words += f" Pin to the axis point {on_ball(n.pin_to_pap, units)}"
        if n.angle_at_pin is not None:
            words += f", angle at the pin {n.angle_at_pin:.0f}°"
        words += f", angle at the axis point {n.angle_at_pap:.0f}°."
    return words


def _weights(plan: Plan, units: Units, width: float) -> _blocks.Block:
    """The weights as weighed; a blank for each that nobody weighed, what was predicted beside."""
    measured, s = recorded(plan, "drilled"), plan.statics
    weighed = gross_words(measured["gross"], units) if "gross" in measured else ""
    rows = [("gross", BOLD + weighed if weighed else BLANK, gross_words(s.weight_lb, units))]
    for name in ("top", "side", "finger"):
        value, ends = getattr(s, f"{name}_oz"), getattr(s.range, f"{name}_oz")
        predicted = static_words(name, value)
        if value is not None and ends is not None and not s.calibrated:
            predicted = range_words(name, value, ends).partition(" (")[0]
        words = BOLD + static_words(name, measured[name]) if name in measured else BLANK
        rows.append((name, words, predicted))
    columns = [_blocks.Column(30.0), _blocks.Column((width - 30.0) * 0.46)]
    columns.append(_blocks.Column(width - sum(c.width for c in columns)))
    stage = None if plan.job.weighings is None else plan.job.weighings.drilled
    told = () if stage is None else (("on", stage.date), ("by", stage.by))
    when = " ".join(f"{word} {text}" for word, text in told if text)
    blocks = (
        _blocks.heading(f"Weights {when}".strip(), width),
        _blocks.table(columns, ("", "weighed", "predicted"), rows, BLANK_LEAD),
    )
    return _blocks.stack(blocks, 1.0)


def _outcome(plan: Plan, width: float) -> _blocks.Block:
    """The outcome as weighed and of the holes, by the rule set."""
    measured = recorded(plan, "drilled")
    # a rule set that asks for no weighing has nothing against a ball that nobody weighed
    found = overall(judge(plan, measured)) if measured else "incomplete"
    weighed = f"Weights as weighed: {found}, {_OUTCOMES[found]}."
    planned = f"Plan: {plan.outcome}, {_OUTCOMES[plan.outcome].replace('weighed', 'known')}."
    blocks = [
        _blocks.heading(f"Rules: {plan.rules.name}", width),
        _blocks.paragraph(weighed, width, bold=True),
        _blocks.paragraph(planned, width),
        _blocks.paragraph(shorten(plan.rules.title, width), width),
    ]
    return _blocks.stack(blocks, 1.0)


def card_bytes(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> bytes:
    """The card as a PDF file's content of one page; the same plan gives the same bytes."""
    title = typeface().printable(plan.job.title) or "Card"
    return pdf_bytes(lambda: [card_figure(plan, paper, units)], title)


def write_card(
    plan: Plan, path: str | Path, paper: Paper = "letter", units: Units = "fraction"
) -> None:
    """Write the card to a PDF file, whole or not at all; InputError where that cannot be."""
    write_atomic(path, card_bytes(plan, paper, units))
