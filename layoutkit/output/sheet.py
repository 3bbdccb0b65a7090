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
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from layoutkit.job.files import write_atomic
from layoutkit.lane.roll import Roll, roll
from layoutkit.output import blocks as _blocks
from layoutkit.output import drawing, lane_drawing
from layoutkit.output import sheet_parts as parts
from layoutkit.output.balls_on_page import Picture, captions, figure, place
from layoutkit.output.blocks import GAP
from layoutkit.output.leans import leans
from layoutkit.output.report import (
    certainty_rows,
)
from layoutkit.output.sheet_parts import GUTTER
from layoutkit.output.typeset import PAPERS, Paper, pdf_bytes, typeface
from layoutkit.planning.marking import MarkingStep, marking_steps
from layoutkit.planning.unknown import open_fields
from layoutkit.planning.values import Mark, Plan
from layoutkit.units import Units, on_rule

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 30.0  # points; printers do not reach the very edge
BALL_ROOM = 175.0  # points that the second page keeps for the ball
LEAST_SIDES = 110.0  # points; with less there is no ball on it
LEAST_BAND = 125.0  # points in height for the ball, under which cautions give way to it
FEW_OLD = 5  # old holes, of more of which two stand in a row
OLD_NAMED = 8  # old holes, of more of which only the circles are drawn
MOST_BALL = 330.0  # points in height for the balls of a second page

SHOP = (
    "At the press: clamp the ball before the spindle turns, keep hands, sleeves and hair from the "
    "spinning bit, wear eye protection. Dust and resin fumes harm: extraction on, gloves for resin."
    " A thumb hole that does not fit can injure: stop and refit. This sheet is a calculation; local"
    " rules, the current rule book and licensed practice decide."
)

# --- the page -------------------------------------------------------------------------------------


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


class _Work(NamedTuple):
    """What the sheet tells of, and how."""

    plan: Plan
    units: Units
    paper: Paper
    scene: drawing.Scene
    steps: Sequence[MarkingStep]
    shot: Roll | None


class _First(NamedTuple):
    """What the first page holds; what it does not hold goes to the second."""

    odd: bool = False  # all of the plan's odd parts, cautions and questions
    sketched: bool = False  # how the holes lean in the jig
    inertia: bool = True
    weights: bool = True


def _compose(
    plan: Plan, paper: Paper, rolled: bool, units: Units
) -> list[tuple[_blocks.Page, list[Picture]]]:
    """Everything in its place: one page, or more where the first has too little room."""
    wanted = rolled or (plan.job.release is not None and not open_fields(plan.job))
    shot = roll(plan) if wanted else None
    scene = drawing.scene(plan, units)
    work = _Work(plan, units, paper, scene, marking_steps(plan, units), shot)
    whole = _front(work, _First(odd=True, sketched=True))
    if whole is not None:
        return [(whole.page, whole.pictures)]
    only = _front(work, _First(odd=True))
    if only is not None:
        return [(only.page, only.pictures), (_only_leans(work), [])]
    later: list[_blocks.Block] = []  # what has to go to the second page as well
    half = (_room(paper)[0] - GUTTER) / 2.0
    first = _front(work, _First())
    if first is None:
        later.append(parts.inertia(plan, half))
        first = _front(work, _First(inertia=False))
    if first is None:
        later.append(parts.statics(plan, units, half))
        first = _front(work, _First(inertia=False, weights=False))
        assert first is not None
    return [(first.page, first.pictures), *_back(work, first.shown, later)]


def _room(paper: Paper) -> tuple[float, float]:
    """Width and height within the margins, in points."""
    width, height = PAPERS[paper]
    return width - 2.0 * MARGIN, height - 2.0 * MARGIN


def _only_leans(work: _Work) -> _blocks.Page:
    """A second page with nothing but the sketches of the leaning holes."""
    page = _blocks.Page()
    full, height = _room(work.paper)
    title = _blocks.heading(_page_title(work.plan, 2), full)
    _blocks.stack((title, leans(work.plan, work.units, full))).paint(page, MARGIN, MARGIN + height)
    return page


class _Front(NamedTuple):
    """The first page, and how many cautions are on it."""

    page: _blocks.Page
    pictures: list[Picture]
    shown: int


def _front(work: _Work, first: _First) -> _Front | None:
    """The first page, which says what of the plan is on the second one.

    None where it does not fit; the last resort, without weights, is always made.
    """
    plan, units, paper = work.plan, work.units, work.paper
    full, height = _room(paper)
    half = (full - GUTTER) / 2.0
    scene = work.scene if first.odd else _without_odd_names(plan, work.scene)
    hidden = _hidden(drawing.project(scene, drawing.facing(plan, "grip")))
    head, shop = parts.head(plan, units, full), _blocks.paragraph(SHOP, full)
    operations = parts.operations(plan, units, full, first.odd, _left_out(work, first))

    below, panel = _below(work, first, half), _blocks.Block(0.0, lambda *_: None)
    # checks and inertia stand beside the ball unless a second view needs that place
    width = half if hidden else parts.panel_width(plan)
    beside = [parts.checks_table(plan, width)]
    if first.inertia:
        beside.append(parts.inertia(plan, width))
    if hidden:
        below += beside
    else:
        panel = _blocks.stack(beside)
    free = height - head.height - operations.height - shop.height - 4.0 * GAP
    # all cautions, or as many of the gravest as leave the ball its place
    for shown in range(len(plan.cautions), -1, -1):
        columns = _split([*below, parts.cautions(plan, half, shown, first.odd)])
        band = free - max(c.height for c in columns)
        fits = band >= max(LEAST_BAND, panel.height)
        if fits:
            break
    if first.weights and not (fits and (shown == len(plan.cautions) or not first.odd)):
        return None

    left, top = MARGIN, MARGIN + height - head.height - GAP
    pictures = _pictures(plan, scene, hidden, (left, top - band, full, band))
    # height that the ball cannot use, because it is as wide as the page, goes between the parts
    used = max(panel.height, *(p.height for p in pictures))
    gap = GAP + max(band - used, 0.0) / 4.0
    if gap > GAP:
        pictures = _pictures(plan, scene, hidden, (left, top + GAP - gap - used, full, used))
        band = used
    page = _blocks.Page()
    panel.paint(page, left + full - width, MARGIN + height - head.height - gap)
    _paint(page, paper, [(head, band), (operations, 0.0)], columns, gap)
    page.rule(left, left + full, MARGIN + shop.height + GAP / 2.0, 0.5)
    shop.paint(page, left, MARGIN + shop.height)
    captions(page, pictures)
    return _Front(page, pictures, shown)


def _left_out(work: _Work, first: _First) -> list[str]:
    """What the first page says to be on the second one."""
    names = []
    if not first.odd:
        names += parts.odd_parts(work.plan)
        names += [] if work.shot is None else ["the ball on the lane"]
    names += [] if first.sketched else ["how each hole leans in the jig"]
    return names + ([] if first.weights else ["weights, drilled"])


def _below(work: _Work, first: _First, half: float) -> list[_blocks.Block]:
    """The blocks of the first page's two columns, in order, but for checks, inertia and cautions."""
    plan, units, odd = work.plan, work.units, first.odd
    blocks = [parts.marking(plan, work.steps, half, odd), parts.proof(plan, units, half)]
    if odd and plan.old_holes:
        blocks.append(parts.old_holes_table(plan, units, half, 1))
    if first.weights:
        blocks.append(parts.statics(plan, units, half))
    if certainty_rows(plan) and odd:
        blocks.append(parts.certainty(plan, half))
    blocks.append(parts.fit(plan, half))
    if odd and work.shot is not None:
        blocks.append(parts.lane_part(work.shot, units, half))
    if first.sketched:
        blocks.append(leans(plan, units, half))
    return blocks


def _paint(
    page: _blocks.Page,
    paper: Paper,
    rows: Sequence[tuple[_blocks.Block, float]],
    columns: Sequence[_blocks.Block],
    gap: float,
) -> None:
    """Paint full rows from the top, each with the height that stays free below it, then two columns."""
    full, height = _room(paper)
    top = MARGIN + height
    for row, free in rows:
        row.paint(page, MARGIN, top)
        top -= row.height + gap + (free + gap if free else 0.0)
    for column, x in zip(columns, (MARGIN, MARGIN + (full + GUTTER) / 2.0), strict=True):
        column.paint(page, x, top)


def _without_odd_names(plan: Plan, scene: drawing.Scene) -> drawing.Scene:
    """The scene with the names of the grip's holes and of the marks only."""
    odd = {e.name for e in plan.extra_holes} | {o.name for o in plan.old_holes}
    return replace(scene, callouts=tuple(c for c in scene.callouts if c.name not in odd))


def _back(
    work: _Work, shown: int, later: Sequence[_blocks.Block]
) -> list[tuple[_blocks.Page, list[Picture]]]:
    """The second page: cautions beyond the first ``shown``, what is odd, the ball from two sides.

    With a shot also the rings on the ball; if there is nothing else, these alone. Cautions and questions
    that it cannot hold go to pages of their own.
    """
    plan, shot = work.plan, work.shot
    page = _blocks.Page()
    full, height = _room(work.paper)
    title = _blocks.heading(_page_title(plan, 2), full)
    blocks = _odd_blocks(work, full, later)
    room = height - (BALL_ROOM if parts.odd_parts(plan) or shot is not None else 0.0)
    rest = [("!", c) for c in plan.cautions[shown:]] + [("?", q.words) for q in plan.questions]
    # all that are left, or as many of the gravest as leave the ball its place
    for count in range(len(rest), -1, -1):
        more = _continued(rest, count, full)
        text = _blocks.stack([title, *more, *blocks])
        if text.height <= room:
            break
    over: list[_blocks.Block] = []  # what even then is more than a page, the last parts of it first
    while text.height > height and len(blocks) > 1:
        over.insert(0, blocks.pop())
        text = _blocks.stack([title, *more, *blocks])
    text.paint(page, MARGIN, MARGIN + height)
    space = height - text.height - GAP / 2.0
    # without room for the ball even then, the ball on the first page has to do
    pictures: list[Picture] = []
    if space > LEAST_SIDES:
        pictures = _sides(plan, work.scene, (MARGIN, MARGIN, full, space), shot)
    captions(page, pictures)
    return [(page, pictures), *_rest(plan, rest[count:], work.paper, over)]


def _odd_blocks(work: _Work, full: float, later: Sequence[_blocks.Block]) -> list[_blocks.Block]:
    """The blocks of the second page below its cautions, ``later`` beside each other among them."""
    plan, units = work.plan, work.units
    blocks = parts.oval_parts(plan, units, full)
    extras = plan.for_today.extra_holes
    if extras:
        blocks.append(parts.extra_holes_part(plan, units, full))
    names = [e.name for e in extras]
    marks = parts.step_lines((full - GUTTER) / 2.0, [s for s in work.steps if s.new in names])
    if marks:
        each = -(-len(marks) // 2)
        columns = [_blocks.stack(marks[i : i + each], 0.6) for i in range(0, len(marks), each)]
        blocks.append(_blocks.heading("Mark them", full))
        blocks.append(_blocks.beside(columns, (full + GUTTER) / 2.0))
    if plan.old_holes:
        count = 1 if len(plan.old_holes) <= FEW_OLD else 2
        blocks.append(parts.old_holes_table(plan, units, full, count))
    blocks.append(leans(plan, units, full))
    if later:
        blocks.append(_blocks.beside(later, (full + GUTTER) / 2.0))
    if certainty_rows(plan):
        blocks.append(parts.certainty(plan, full))
    if work.shot is not None:
        blocks.append(parts.lane_part(work.shot, units, full))
    return blocks


def _rest(
    plan: Plan, rest: Sequence[tuple[str, str]], paper: Paper, over: Sequence[_blocks.Block]
) -> Iterator[tuple[_blocks.Page, list[Picture]]]:
    """What two pages did not hold, on as many more as it needs: parts, then cautions and questions."""
    full, height = _room(paper)
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
) -> list[Picture]:
    """The ball with all holes named: from the grip, and from the other side if some are there.

    That is where some holes are odd. With a shot also the rings on the ball.
    """
    x, y, width, room = box
    kinds: tuple[str, ...] = ("hole", "plugged", "open", "pin", "cg", "psa", "grip_center")
    if len(plan.old_holes) > OLD_NAMED:
        kinds = tuple(kind for kind in kinds if kind not in ("plugged", "open"))
    sides: list[tuple[drawing.Facing, str]] = []
    if parts.odd_parts(plan):
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
        place(each, view, (x + i * (share + GUTTER), y + room - high, share, high), caption)
        for i, (view, caption, each) in enumerate(shown)
    ]
    return [replace(p, drawing=lane_drawing.without_far_rings(p.drawing)) for p in placed]


def _pictures(
    plan: Plan, scene: drawing.Scene, hidden: list[str], box: tuple[float, float, float, float]
) -> list[Picture]:
    """The ball from the grip, and from where the marks hidden there are seen, if there are any."""
    left, bottom, width, height = box
    view, caption = drawing.facing(plan, "grip"), "seen from the grip"
    if not hidden:
        return [
            place(
                scene,
                view,
                (left, bottom, width - parts.panel_width(plan) - GUTTER, height),
                caption,
            )
        ]
    share = 0.62 * width
    first = place(scene, view, (left, bottom, share - GUTTER, height), caption)
    what = _second(plan, hidden)
    view = drawing.facing(plan, what)
    shown = {s.name for s in drawing.project(scene, view).spots if s.kind != "hole" and not s.far}
    marks = replace(scene, callouts=tuple(c for c in scene.callouts if c.name in shown))
    known: dict[str, str] = dict(drawing.MARK_NAMES.items())
    caption = f"seen from the {known.get(what, what)}, fingers up"
    return [first, place(marks, view, (left + share, bottom, width - share, height), caption)]


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
    return [figure(page, pictures, paper) for page, pictures in pages]


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
