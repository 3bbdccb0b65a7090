"""Printed practice: a set of problems with blanks, and its answers with their workings apart.

Lengths are points (72 to the inch). Every page says what it is not for.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from layoutkit.job.files import write_atomic
from layoutkit.output import render
from layoutkit.output.blocks import (
    GAP,
    Block,
    Page,
    figure,
    heading,
    initials,
    paragraph,
    stack,
)
from layoutkit.output.practice_drawing import HIGH, WIDE, practice_drawing
from layoutkit.output.practice_report import SAFETY, how_to_answer, value_words
from layoutkit.output.strips import strips_bytes
from layoutkit.output.typeset import PAPERS, Paper, pdf_bytes
from layoutkit.planning.marking import marking_steps
from layoutkit.planning.values import Plan
from layoutkit.practice.sets import NOTICE, PracticeSet
from layoutkit.practice.values import Picture, Problem
from layoutkit.units import Units, format_length

if TYPE_CHECKING:
    from matplotlib.figure import Figure

MARGIN = 40.0
FOOT = 26.0  # for the notice at the foot of each page
HEAD = 22.0  # for the title at its head
BALL = 104.0  # height of a picture
BALL_WIDE = BALL * WIDE / HIGH
LINE = 17.0  # a line in which someone writes
APART = 11.0  # between two problems
INDENT = 14.0

OWNER = (
    "For the owner: mark full to the tolerance, in part to four times that, nothing beyond. A right "
    "size on the wrong side is wrong. Two answers alike are no proof of a slip: say what leads to it, "
    "and look on."
)


class _Ball(NamedTuple):
    """A picture on a page: its left and lower edge."""

    picture: Picture
    x: float
    y: float


class _Sheet:
    """Pages in the making, and the balls that are drawn on each."""

    def __init__(self, title: str, paper: Paper) -> None:
        self.title = title
        self.wide, self.high = PAPERS[paper]
        self.width = self.wide - 2.0 * MARGIN
        self.pages: list[tuple[Page, list[_Ball]]] = []
        self.y = 0.0

    def add(self, make: Callable[[list[_Ball]], Block], new_page: bool = False) -> None:
        """Put a block below the last one, or on top of a new page where it has no room."""
        room = self.high - 2.0 * MARGIN - HEAD
        block = make(self.pages[-1][1] if self.pages else [])
        if new_page or not self.pages or self.y - block.height < MARGIN + FOOT:
            if block.height > room:
                raise AssertionError("a block is higher than a page")
            self.pages.append((Page(), []))
            self.y = self.high - MARGIN - HEAD
            block = make(self.pages[-1][1])
        block.paint(self.pages[-1][0], MARGIN, self.y)
        self.y -= block.height + APART

    def figures(self) -> list[Figure]:
        """All pages as figures, with title, number and notice."""
        made = []
        for number, (page, balls) in enumerate(self.pages, 1):
            right, top = self.wide - MARGIN, self.high - MARGIN
            page.text(MARGIN, top - 8.0, self.title, True, 11.0)
            page.text(right, top - 8.0, f"page {number} of {len(self.pages)}", align="right")
            page.rule(MARGIN, right, top - 12.0, 0.8)
            page.text(self.wide / 2.0, MARGIN - 4.0, NOTICE, True, 10.0, "center")
            each = figure(page, self.wide, self.high)
            for ball in balls:
                place = (ball.x / self.wide, ball.y / self.high)
                axes = each.add_axes((*place, BALL_WIDE / self.wide, BALL / self.high))
                axes.set_axis_off()
                axes.set_xlim(-WIDE, WIDE)
                axes.set_ylim(-HIGH, HIGH)
                render.draw(
                    axes, practice_drawing(ball.picture, 0.2), render.Style(text=7.0, scale=0.8)
                )
            made.append(each)
        return made


def _with_ball(block: Block, picture: Picture | None, balls: list[_Ball], width: float) -> Block:
    """A block with a picture at its right."""
    if picture is None:
        return block

    def paint(page: Page, x: float, top: float) -> None:
        block.paint(page, x, top)
        balls.append(_Ball(picture, x + width - BALL_WIDE, top - BALL))

    return Block(max(block.height, BALL), paint)


def _moved(block: Block, by: float) -> Block:
    """A block farther right."""
    return Block(block.height, lambda page, x, top: block.paint(page, x + by, top))


def _blanks(count: int, width: float, label: str) -> Block:
    """Lines to write on, the last one for the answer."""

    def paint(page: Page, x: float, top: float) -> None:
        for n in range(1, count + 1):
            page.rule(x, x + width, top - n * LINE)
        page.text(x, top - count * LINE + 3.0, label)

    return Block(count * LINE + 2.0, paint)


def _question(problem: Problem, number: int, width: float, balls: list[_Ball]) -> Block:
    draft = problem.draft
    inner = width - INDENT - (BALL_WIDE if draft.shown is not None else 0.0)
    question, *rows = draft.question.split("\n")
    blocks = [paragraph(question, inner)]
    blocks += [paragraph(row[3:], inner, row[:2], False) for row in rows]
    blocks.append(paragraph(how_to_answer(draft.asked), inner))
    blocks.append(_blanks(1 if draft.asked.choices else 3, inner, "Answer:"))
    body = stack(blocks, 3.0)
    head = paragraph(draft.title, width - INDENT, f"{number}.", bold=True)
    return stack((head, _with_ball(_moved(body, INDENT), draft.shown, balls, width)), 2.0)


def _solution(problem: Problem, number: int, width: float, balls: list[_Ball]) -> Block:
    draft = problem.draft
    picture = draft.drawn or draft.shown
    inner = width - INDENT - (BALL_WIDE if picture is not None else 0.0)
    value = value_words(draft.asked, draft.right)
    blocks = [paragraph(f"{value}", inner, "Right:", bold=True)]
    blocks += [paragraph(step, inner, f"{n}.") for n, step in enumerate(draft.steps, 1)]
    blocks.append(paragraph(draft.rule, inner, "Rule:"))
    for slip in draft.slips:
        got = value_words(draft.asked, slip.value)
        blocks.append(paragraph(f"{got} is what you get if {slip.words}.", inner))
    body = stack(blocks, 2.0)
    words = f"{draft.title} ({problem.kind}, seed {problem.seed})"
    head = paragraph(words, width - INDENT, f"{number}.", bold=True)
    return stack((head, _with_ball(_moved(body, INDENT), picture, balls, width)), 2.0)


def _safety(width: float) -> Block:
    return stack(
        (heading("Before any work", width), *(paragraph(s, width, "-") for s in SAFETY)), 2.0
    )


def _task(plan: Plan, seed: int, width: float, units: Units) -> Block:
    """The task of marking a scrap ball."""
    job = plan.job
    size = format_length(2.0 * plan.radius, "decimal")
    steps = [paragraph(s.text, width - INDENT, f"{s.number}.") for s in marking_steps(plan, units)]
    what = (
        f"Take a scrap ball of {size} with a pin mark; this is an invented {job.bowler.hand}-handed "
        "bowler. Mark it by the steps with a flexible rule and a protractor, in pencil. Then lay the "
        "paper strips (their own file, true size) on the same pin and first line, and read how far each "
        "of your marks lies from theirs: 1/16 in is full, 1/4 in is in part, more is none."
    )
    rows = ("PAP", "grip centre", "thumb hole", "middle hole", "ring hole")
    return stack(
        (
            heading(f"A scrap ball, set {seed}", width),
            paragraph(what, width),
            *steps,
            initials([f"{row}: off by" for row in rows], width),
            paragraph(
                "Clamp or bed the ball so that it cannot roll off the bench.", width, bold=True
            ),
        ),
        GAP,
    )


def question_pages(
    practice: PracticeSet, paper: Paper = "letter", scrap: Plan | None = None
) -> list[Figure]:
    """The pages with blanks; with the plan of a scrap ball the task on it at their end."""
    sheet = _Sheet(f"Practice, set {practice.seed}: {len(practice.problems)} problems", paper)
    top = (initials(("trainee", "date", "marked by", "right"), sheet.width), _safety(sheet.width))
    sheet.add(lambda _: stack(top, 8.0))
    for number, each in enumerate(practice.problems, 1):
        sheet.add(partial(_question, each, number, sheet.width))
    if scrap is not None:
        sheet.add(lambda _: _task(scrap, practice.seed, sheet.width, "fraction"), new_page=True)
    return sheet.figures()


def answer_pages(practice: PracticeSet, paper: Paper = "letter") -> list[Figure]:
    """The pages with right values, workings and what the usual slips come to."""
    sheet = _Sheet(f"Answers to practice, set {practice.seed}", paper)
    sheet.add(lambda _: paragraph(OWNER, sheet.width))
    for number, each in enumerate(practice.problems, 1):
        sheet.add(partial(_solution, each, number, sheet.width))
    return sheet.figures()


def companion(path: str | Path, what: str) -> Path:
    """The name of the file beside a set's: `practice-answers.pdf` of `practice.pdf`."""
    path = Path(path)
    return path.with_name(f"{path.stem}-{what}{path.suffix}")


def write_set(
    practice: PracticeSet, path: str | Path, paper: Paper = "letter", scrap: Plan | None = None
) -> tuple[Path, ...]:
    """Write a set, its answers, and with a scrap ball's plan its paper strips; returns all names.

    Raises InputError where a file cannot be written; each is written whole or not at all.
    """
    title = f"Practice, set {practice.seed}"
    files: list[tuple[Path, bytes]] = [
        (Path(path), pdf_bytes(lambda: question_pages(practice, paper, scrap), title)),
        (
            companion(path, "answers"),
            pdf_bytes(lambda: answer_pages(practice, paper), f"{title}: answers"),
        ),
    ]
    if scrap is not None:
        files.append((companion(path, "strips"), strips_bytes(scrap, paper)))
    for name, data in files:
        write_atomic(name, data)
    return tuple(name for name, _ in files)
