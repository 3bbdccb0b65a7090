"""Practice in the window: the day's set one after the other, answered in words or on the ball.

Problems, marking and the log are `layoutkit.practice`'s. Methods raise nothing for what a person can do;
`message` says in one sentence what was refused.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

import numpy as np

from gui.state.practice_task import Task, front, task, walked
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import mirror, to_over_up
from layoutkit.geometry.vectors import Array, Vector
from layoutkit.output.drawing import Scene, View, step_scene, step_view, view_at
from layoutkit.output.practice_drawing import practice_scene
from layoutkit.output.practice_report import (
    SAFETY,
    how_to_answer,
    progress_text,
    shown_question,
    value_words,
    verdict,
)
from layoutkit.planning.marking import marking_steps
from layoutkit.planning.plan import plan
from layoutkit.practice import log as logs
from layoutkit.practice.marking import Answer, Marked, mark, read_answer
from layoutkit.practice.pictures import MarkKind
from layoutkit.practice.problems import KINDS, problem
from layoutkit.practice.schedule import Answered, known, next_seed, todays_set
from layoutkit.practice.sets import NOTICE, marked_job
from layoutkit.practice.values import GROUPS, Group, Picture, Problem
from layoutkit.units import Units

_MARKING = 3  # marking steps from the pin to the grip centre
_EMPTY = Scene(1.0, "right", (), (), ())


class Page(NamedTuple):
    """One page of a worked answer: its words, and the ball that goes with them."""

    words: str
    scene: Scene
    view: View


class PracticeDesk:
    """The practice of one trainee at a time."""

    def __init__(self, trainee: str = logs.USUAL, today: date | None = None) -> None:
        self._today = today or date.today()
        self.trainee = trainee
        self.message = ""
        self.log = logs.Log(trainee, (), 0)
        self.chosen: tuple[str, ...] = ()
        self.at = 0  # the place in the chosen kinds
        self.problem: Problem | None = None
        self.task: Task | None = None
        self.point: Vector | None = None
        self.marked: Marked | None = None
        self.given = ""  # the answer as it was given
        self.right = self.done = 0
        self.pages: tuple[Page, ...] = ()
        self.begin(trainee)

    # --- what is asked ----------------------------------------------------------------------------

    def begin(self, trainee: str = "", group: Group | None = None) -> None:
        """Begin the day's set of a trainee, or the kinds of one group whatever is due."""
        name = " ".join((trainee or self.trainee).split()) or logs.USUAL
        try:
            self.log = logs.read(name)
        except InputError as error:
            self.message = str(error)
            return
        self.trainee, self.message = name, ""
        if group is None:
            self.chosen = todays_set(self.log.answers, KINDS, self._today)
        else:
            self.chosen = tuple(name for name, kind in KINDS.items() if kind.group == group)
        self.at, self.right, self.done = -1, 0, 0
        self.next()

    def next(self) -> None:
        """Go to the next problem; after the last one there is none."""
        self.at += 1
        self.point = self.marked = self.task = self.problem = None
        self.given, self.pages, self.message = "", (), ""
        if self.at < len(self.chosen):
            kind = self.chosen[self.at]
            times = sum(answer.kind == kind for answer in self.log.answers)
            self.problem = problem(kind, next_seed(self.trainee, kind, times))
            self.task = task(self.problem)

    def ask(self, kind: str, seed: int) -> None:
        """Ask one problem in place of a set."""
        self.chosen, self.at = (kind,), 0
        self.point = self.marked = None
        self.given, self.pages, self.message = "", (), ""
        self.problem = problem(kind, seed)
        self.task = task(self.problem)

    @property
    def heading(self) -> str:
        """Which problem of how many this is; without one, that the set is done."""
        if self.problem is None:
            if not self.chosen:
                return f"Today's set of {self.trainee} is done."
            return f"Done: {self.right} of {self.done} right."
        return f"{self.at + 1} of {len(self.chosen)}: {self.problem.draft.title}"

    @property
    def question(self) -> tuple[str, ...]:
        """The question's paragraphs, and how it is answered."""
        if self.problem is None:
            state = known(self.log.answers)
            due = min((each.due for each in state.values() if each.due > self._today), default=None)
            when = "" if due is None else f"The next problem is due on {due.isoformat()}. "
            return (f"{when}A group can be practised at any time. {NOTICE}",)
        draft = self.problem.draft
        how = how_to_answer(draft.asked)
        if self.task is not None:
            how = f"{self.task.words} Arrow keys move it by 1/16 in, Return hands it in. Or type: {how}"
        return (*shown_question(draft), how)

    @property
    def safety(self) -> str:
        """One of the usual cautions, in turn, and what practice is not for."""
        return f"{SAFETY[len(self.log.answers) % len(SAFETY)]} {NOTICE}"

    # --- the ball ---------------------------------------------------------------------------------

    @property
    def scene(self) -> Scene:
        """The ball of the problem as it is now; empty where none goes with it."""
        if self.problem is None:
            return _EMPTY
        draft = self.problem.draft
        if self.task is not None:
            solved = None if self.marked is None or self.task.bare else draft.drawn
            return self.task.scene(self.point, solved)
        picture = draft.shown or (draft.drawn if self.marked is not None else None)
        return _EMPTY if picture is None else practice_scene(picture)

    @property
    def view(self) -> View:
        """How the ball is looked at first."""
        if self.task is not None:
            return view_at(front(self.task))
        if self.problem is not None and self.problem.draft.shown is not None:
            return _over(self.problem.draft.shown)
        return view_at(np.array([0.0, 0.0, 1.0]))

    def place(self, point: Vector) -> None:
        """Put the mark of a task at a point of the ball, until it is handed in."""
        if self.task is not None and self.marked is None:
            self.point = point

    def rule(self, units: Units = "fraction") -> str:
        """What rule and gauge read at the mark that is placed."""
        if self.task is None or self.point is None:
            return ""
        return self.task.rule(self.point, units)

    # --- the answer -------------------------------------------------------------------------------

    def answer(self, text: str) -> bool:
        """Mark an answer in words; False, with a message, for one that cannot be read."""
        if self.problem is None or self.marked is not None:
            return False
        try:
            found = read_answer(self.problem.draft.asked, text)
        except InputError as error:
            self.message = str(error)
            return False
        self._mark(found, " ".join(text.split()))
        return True

    def hand_in(self) -> bool:
        """Mark the point that is placed; False, with a message, without one."""
        if self.problem is None or self.task is None or self.marked is not None:
            return False
        if self.point is None:
            self.message = f"{self.task.words}"
            return False
        value = self.task.value(self.point)
        asked = self.problem.draft.asked
        self._mark(Answer(value, asked.unit), value_words(asked, value))
        return True

    def _mark(self, answer: Answer, given: str) -> None:
        assert self.problem is not None
        self.marked = mark(self.problem.draft, answer)
        self.given, self.message = given, ""
        self.done += 1
        self.right += self.marked.score == "full"
        kept = Answered(
            self._today,
            self.problem.kind,
            self.problem.seed,
            self.marked.score,
            tuple(slip.name for slip in self.marked.slips),
        )
        self.log = self.log._replace(answers=(*self.log.answers, kept))
        try:
            logs.add(self.trainee, kept)
        except InputError as error:
            self.message = f"The answer is not kept: {error}"
        self.pages = worked(self.problem)

    @property
    def said(self) -> tuple[str, ...]:
        """What the answer is worth, a sentence each; empty before it is given."""
        if self.problem is None or self.marked is None:
            return ()
        draft = self.problem.draft
        return (
            f"Your answer: {self.given}. Right: {value_words(draft.asked, draft.right)}.",
            *verdict(draft, self.marked),
        )

    # --- progress ---------------------------------------------------------------------------------

    def progress(self) -> str:
        """The owner's page of this trainee."""
        return progress_text(self.log, self._today)

    def trainees(self) -> tuple[str, ...]:
        """All trainees of whom something is kept."""
        return logs.trainees()

    def forget(self) -> str:
        """Delete all that is kept of this trainee; what to say of that."""
        try:
            gone = logs.forget(self.trainee)
        except InputError as error:
            return str(error)
        self.begin(self.trainee)
        return "Forgotten." if gone else f"Nothing was kept of {self.trainee}."


def worked(asked: Problem) -> tuple[Page, ...]:
    """The worked answer in pages: its steps, how it is marked on a ball, and the rule that was used."""
    draft = asked.draft
    picture = draft.drawn or draft.shown
    still = (_EMPTY, view_at(np.array([0.0, 0.0, 1.0])))
    if picture is not None:
        still = practice_scene(picture), _over(picture)
    pages = [Page(step, *still) for step in draft.steps]
    if picture is not None:
        placed = task(asked)
        if placed is not None and not placed.bare and placed.swung is None:
            pages += _walks(picture, placed.kind)
        pages += _marking(picture)
    return (*pages, Page(f"Rule: {draft.rule}", *still))


def _walks(picture: Picture, kind: MarkKind) -> list[Page]:
    return [Page(words, practice_scene(each), _over(each)) for words, each in walked(picture, kind)]


def _marking(picture: Picture) -> list[Page]:
    """The marking steps from the pin over the PAP to the grip centre, where both are drawn."""
    at = {each.kind: mirror(each.xyz, picture.hand) for each in picture.marks}
    if not {"pin", "pap"} <= at.keys():
        return []
    try:
        pin, pap = (
            tuple(float(x) for x in to_over_up(at[kind], picture.radius)) for kind in ("pin", "pap")
        )
        job = marked_job(2.0 * picture.radius, picture.hand, (pap[0], pap[1]), (pin[0], pin[1]))
        made = plan(job)
        steps = marking_steps(made)[:_MARKING]
    except InputError:  # no job has its marks there
        return []
    return [
        Page(f"On the ball: {step.text}", step_scene(made, step), step_view(made, step))
        for step in steps
    ]


def _over(picture: Picture) -> View:
    points: Array = np.array([each.xyz for each in picture.marks])
    return view_at(points.mean(axis=0) + np.array([0.0, 0.0, 0.6 * picture.radius]))


def groups() -> Sequence[tuple[Group, str]]:
    """The groups of kinds, with what each is about."""
    return tuple(GROUPS.items())
