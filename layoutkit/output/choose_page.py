"""The customer's page: up to three balls, their layouts drawn, in plain words, and what is assumed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from layoutkit.choosing.choose import Choice, Proposal
from layoutkit.job.tables import Table
from layoutkit.lane.roll import CONVENTIONAL, Difference, compare
from layoutkit.lane.why import grounds
from layoutkit.output import blocks as _blocks
from layoutkit.output import drawing
from layoutkit.output.balls_on_page import Picture, captions, figure, place
from layoutkit.output.card import place_words
from layoutkit.output.choose_report import cost_words, drop_words, reason_words, want_words
from layoutkit.output.report import ball_weight, do_not_drill
from layoutkit.output.roll_report import conditions
from layoutkit.output.typeset import PAPERS, Paper, pdf_bytes
from layoutkit.planning.certainty import percent
from layoutkit.units import MM_PER_INCH, Units, on_rule

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 36.0  # points; printers do not reach the very edge
GUTTER = 16.0  # points between the ball and its words
TITLE = 13.0  # points in type
BALL = (200.0, 168.0)  # points in width and height for a ball with its labels
MOST = 3  # proposals on a page's list
AT_PINS = "board at the pins"
HALF = 0.5  # boards; what is told apart by less is worth no figure to a customer. A convention

ASSUMED = (
    "Weights and RGs are computed from the label's figures; a core differs from ball to ball, so the "
    "drilled ball is weighed. Oil that moves, the ball's surface and what varies from shot to shot are "
    "left out: this compares balls and layouts and promises no score. Surface and release can move a "
    "ball more than a layout does."
)
CARE = (
    "The rule book in force and local rules decide what is legal. The grip is fitted by hand before any "
    "hole is drilled: a hole that rubs, pinches or swells the thumb can injure."
)


def page_figures(
    parts: Sequence[tuple[str, Choice]],
    table: Table | None = None,
    paper: Paper = "letter",
    units: Units = "fraction",
) -> list[Figure]:
    """The pages for a customer: for each choice, under words of its own, up to `MOST` proposals.

    ``table`` is that of the balls: its other columns (price, colour, place) stand with each.
    """
    units, kept = (
        on_rule(units),
        {} if table is None else {r.line: table.kept(r) for r in table.rows},
    )
    flow = _Flow(paper)
    number = 1
    for words, choice in parts:
        proposals = choice.proposals[:MOST]
        flow.add(
            _blocks.stack([_blocks.paragraph(w, flow.full) for w in _asked(words, choice, units)])
        )
        for n, proposal in enumerate(proposals):
            own = ", ".join(f"{head} {cell}" for head, cell in kept.get(proposal.line, ()) if cell)
            told = _words(proposals, n, number, own, units)
            flow.add_ball(proposal, told, units)
        number += len(proposals)
    some = [proposal for _, choice in parts for proposal in choice.proposals]
    if some:
        flow.add(_assumed(some[0], flow.full, units))
    return [figure(page, pictures, paper) for page, pictures in flow.pages]


def page_bytes(
    parts: Sequence[tuple[str, Choice]],
    table: Table | None = None,
    paper: Paper = "letter",
    units: Units = "fraction",
) -> bytes:
    """The same as a PDF file's content; the same choices give the same bytes."""
    return pdf_bytes(lambda: page_figures(parts, table, paper, units), "Balls and layouts")


class _Flow:
    """Pages that blocks fill from the top down; one that finds no room begins the next."""

    def __init__(self, paper: Paper) -> None:
        self.width, self.height = PAPERS[paper]
        self.full = self.width - 2.0 * MARGIN
        self.pages: list[tuple[_blocks.Page, list[Picture]]] = []
        self.top = 0.0

    def add(self, block: _blocks.Block) -> None:
        """A block over the whole width."""
        page, _ = self._room(block.height)
        block.paint(page, MARGIN, self.top)
        self.top -= block.height + _blocks.GAP

    def add_ball(self, proposal: Proposal, words: Sequence[str], units: Units) -> None:
        """A ball, and its words on its right under a heading."""
        wide = self.full - BALL[0] - GUTTER
        lead, *rest = words
        block = _blocks.stack(
            [_blocks.heading(lead, wide), *(_blocks.paragraph(text, wide) for text in rest)], 3.0
        )
        height = max(block.height, BALL[1])
        page, pictures = self._room(height)
        block.paint(page, MARGIN + BALL[0] + GUTTER, self.top)
        plan = proposal.plan
        box = (MARGIN, self.top - BALL[1], BALL[0], BALL[1])
        scene = drawing.scene(plan, units)
        marks = tuple(c for c in scene.callouts if c.kind in drawing.MARK_NAMES)
        scene = replace(scene, callouts=marks)  # the words beside it have the lengths
        picture = place(scene, drawing.facing(plan, "grip"), box, "seen from the grip")
        captions(page, [picture])
        pictures.append(picture)
        self.top -= height + 2.0 * _blocks.GAP

    def _room(self, height: float) -> tuple[_blocks.Page, list[Picture]]:
        if not self.pages or self.top - height < MARGIN:
            page = _blocks.Page()
            base = self.height - MARGIN - TITLE
            page.text(MARGIN, base, "Balls and layouts to choose from", bold=True, size=TITLE)
            page.rule(MARGIN, self.width - MARGIN, base - 5.0, 1.2)
            self.pages.append((page, []))
            self.top = base - 10.0
        return self.pages[-1]


def _asked(words: str, choice: Choice, units: Units) -> list[str]:
    bowler = "" if not choice.proposals else choice.proposals[0].plan.job.bowler.name
    wanted = "; ".join(want_words(w, units) for w in choice.wants)
    lines = [f"For {bowler or 'the bowler'}. Wanted: {wanted}."]
    return [line for line in (words, *lines, drop_words(choice, units)) if line]


def _words(proposals: Sequence[Proposal], n: int, first: int, own: str, units: Units) -> list[str]:
    """What is said of the n-th of some proposals: its ball, layout, what it will do, how it stands.

    The best of them has the number ``first``.
    """
    p, ball = proposals[n], proposals[n].plan.job.ball
    serial = f", serial {ball.serial}" if ball.serial else ""
    weight = ball_weight(ball.weight, units)
    lines = [f"{first + n}. {ball.name or 'The ball'}, {weight}{serial}"]
    stop = do_not_drill(p.plan)
    lines += [stop] if stop else []
    lines += [own] if own else []
    lines += [place_words(p.plan, units), doing_words(proposals, n, first, units)]
    lines.append(f"For it: {reason_words(p, units)}.")
    if not all(r.met for r in p.results):
        lines.append(f"Against it: {cost_words(p, n == 0, units)}.")
    elif p.tied:
        lines.append(f"The wants do not tell it from {first}.")
    chance = percent(p.chance.any, p.chance.draws)
    lines.append(f"Not legal once drilled, as tolerances go: {chance} of such balls.")
    return lines


def doing_words(proposals: Sequence[Proposal], n: int, first: int, units: Units) -> str:
    """What the n-th proposal will do on the lane, in plain words; the best has the number ``first``."""
    shot = proposals[n].shot
    parts = []
    at_pins, entry = shot.path.board_at_pins, shot.path.entry_angle
    if at_pins is None or entry is None:
        parts.append("Under this release it does not come to the pins on the lane.")
    elif n == 0:
        parts.append(f"It comes to the pins on board {at_pins:.1f} at {entry:.1f} degrees.")
    else:
        release = proposals[0].shot.release
        rows = compare(proposals[0].plan, [proposals[n].plan], release=release)[0]
        there = next((row for row in rows if row.name == AT_PINS), None)
        parts += [] if there is None else [aside_words(there, first)]
    why = grounds(shot)
    if why.gap is not None:
        gap, contact = (f"{MM_PER_INCH * v:.0f} mm" for v in (why.gap, why.contact))
        fresh = (
            "so nearly every turn puts fresh surface on the oil"
            if why.gap > why.contact
            else "so it runs over its own oil again"
        )
        parts.append(
            f"Its oil rings lie some {gap} apart, and it touches the lane on some {contact}, {fresh}."
        )
    return " ".join(parts)


def aside_words(there: Difference, first: int) -> str:
    """How a ball comes to the pins from the line of the best, which has the number ``first``."""
    if abs(there.value) <= there.uncertainty:
        return f"On the lane it cannot be told from {first} by where it comes to the pins."
    if abs(there.value) < HALF:
        return f"From the line of {first} it comes to the pins within half a board of it."
    way, hook = ("farther in", "more") if there.value > 0.0 else ("farther out", "less")
    return (
        f"From the line of {first} it comes to the pins {abs(there.value):.1f} +/- "
        f"{there.uncertainty:.1f} boards {way}: it hooks {hook}."
    )


def _assumed(p: Proposal, width: float, units: Units) -> _blocks.Block:
    job = p.plan.job
    missing = [name for name in ("release", "lane") if getattr(job, name) is None]
    conventional = CONVENTIONAL.get(tuple(missing), "")
    texts = [f"Thrown: {conditions(p.shot, units)}. {conventional}".rstrip(), ASSUMED, CARE]
    blocks = [_blocks.paragraph(text, width) for text in texts]
    return _blocks.stack([_blocks.heading("What is assumed", width), *blocks], 2.0)
