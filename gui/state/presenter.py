"""The presenter: everything that one window knows and does, without a display.

How views use it:

- A window owns one `Presenter`. Views keep nothing of their own about the job; they read the
  presenter's properties, which always agree with each other.
- An event calls one method (`edit`, `nudge`, `undo`, ...). Methods raise nothing for what a person
  can do; a refusal leaves everything as it was and puts one sentence into `message`.
- After a method changed something, each subscriber is called exactly once with a `Refresh`, which
  tells what to refresh: `change.has("plan")`, and in `change.paths` the entries to show anew. A view
  that writes a text into its widget may let the widget call `edit` again: an equal text changes
  nothing and calls nobody.
- While someone types nothing is rewritten: `entry(path)` is the text as typed. `problems[path]` is the
  record's own words about a field, to show beside it; `problems[""]` is about the whole record. A
  path in `needed` is only empty yet, so its words are better shown as a hint than as an error.
- `plan` is the last valid plan, None before there was one. While `stale` it is not of what stands in
  the fields: show it greyed. `sound_plan(purpose)` is the plan only when it may be printed or copied.
- A widget that is typed into calls `type_in` instead of `edit`: of a number that is only half typed
  nothing is told until the typist rests, when `settle()` is to be called, or goes on.
- `questions[path]` is what the plan asks about a field, an unusual value; `confirm(path)` says that it is
  meant. A question is no problem: the plan stands.
- A drag is `begin_drag(mark)`, any number of `drag_pin(point)` or `drag_pap(point)`, then `end_drag()`
  or `cancel_drag()`; it is one step of undo. Points are (3,) in the grip frame, of any length.
- A list of the record is one entry, its JSON text; `gui.state.list_draft.Draft` holds its rows while a
  dialog changes them.
- Call `end_run()` when the keyboard leaves a field: typing before and after are then two steps of
  undo.
- Call `keep_recovery()` some tenths of a second after a change of "entries", and `close()` when the
  window closes for good. At start, offer what `gui.state.recovery.find(config)` holds: `recover(found)`,
  `found.discard()` or `found.leave()`.
- `new`, `open` and the like do not ask about unsaved changes: ask when `dirty`, before.
- The chance of an illegal ball takes half a second: a while after a change of "chance", when all is
  quiet, call `work_on_odds()` again and again while `odds_due`. `odds` is None until all is done.
- The plan takes what `shop` says where the record is silent; windows share one such file, and when it
  is kept or its fit is taken each presenter tells of another "plan".
- Where the pin may go is a globe that is worked out a piece at a time: while nothing else happens, call
  `work_on_globe()` again and again while it returns True, and show `globe` and `around` after "shade".
- `layout_map()` takes some tens of milliseconds when the plan is another than the last time.
- Long work runs on values: `sound_plan(purpose)`, then `sheet(plan, paper)` of this module in a thread.

`change.what` holds some of: "entries", "problems", "plan", "selection", "units", "reference", "steps",
"file", "job" (another job is in the place of the one before), "history", "chance", "message", "shade".
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

from gui.state import moves, recovery, settings
from gui.state.document import Document, entries_of, read_entries
from gui.state.entries import (
    CONFIRMED,
    NEW,
    WANTS,
    from_record,
    object_in,
    same_as_middle,
    to_record,
    value_at,
)
from gui.state.fields import all_fields, field_at, row_words
from gui.state.lane import Study
from gui.state.moves import Direction, Size
from gui.state.redrill import density_of, redrilled_entries
from gui.state.shop import ShopFile
from gui.state.strip import Figure, figure_text, form_of, with_figure
from gui.state.undo import UndoStep
from layoutkit.errors import InputError
from layoutkit.job.problems import Problem
from layoutkit.job.record import DIGITS, LAYOUTS, Digit, Job, parse_job
from layoutkit.job.record import problems as record_problems
from layoutkit.job.store import kept_words, loads_job, record_text
from layoutkit.job.templates import returning_record
from layoutkit.lane.roll import Difference, Roll, roll, under
from layoutkit.output.report import report
from layoutkit.planning.extras import place_extras
from layoutkit.planning.globe import Globe
from layoutkit.planning.grip import place_holes
from layoutkit.planning.marking import MarkingStep, marking_steps
from layoutkit.planning.plan import plan as make_plan
from layoutkit.planning.questions import confirmable
from layoutkit.planning.surface import Surface, round_the_pin
from layoutkit.planning.values import Plan
from layoutkit.units import Units

if TYPE_CHECKING:
    from gui.state.odds import Odds, OddsWork
    from gui.state.shelf import Ranking
    from layoutkit.bench.grip_copy import GripCopy
    from layoutkit.book.book import JobEntry
    from layoutkit.output.maps import Map
    from layoutkit.planning.changes import Offer

What = Literal[
    "entries", "problems", "plan", "selection", "units", "reference", "steps", "file", "job",
    "history", "chance", "message", "shade",
]  # fmt: skip
Mark = Literal["pin", "cg", "psa", "pap", "grip_center", "middle", "ring", "thumb"]
Saved = Literal["saved", "unnamed", "changed on disk", "failed"]
Paper = Literal["letter", "a4"]

VERSION_1 = "A record of version 1: saving writes version 2 and keeps the old text beside it."
UNKEPT = "No recovery copy can be kept now: a crash would lose what is not saved. Save often."
SWAP = "swap with the kept plan"
MAP_STEP = 2.0  # degrees between the layouts of the window's map


@dataclass(frozen=True, slots=True)
class Refresh:
    """What a method changed, for the subscribers."""

    what: frozenset[What]
    paths: frozenset[str]

    def has(self, *what: What) -> bool:
        """Whether any of these changed."""
        return not self.what.isdisjoint(what)


@dataclass(frozen=True, slots=True)
class Reference:
    """A plan that was kept to compare with, and the entries that it was made from."""

    entries: Mapping[str, str]
    plan: Plan


@dataclass(frozen=True, slots=True)
class _Judgement:
    """What the library makes of some entries: problems by path, or the job and its plan."""

    problems: Mapping[str, str]
    job: Job | None = None
    plan: Plan | None = None
    filled: Job | None = None


Subscriber = Callable[[Refresh], None]


class Presenter:
    """State and behaviour of one window; see the module's text for how to use it."""

    def __init__(self, config: Path | None = None, shop: ShopFile | None = None) -> None:
        """An empty record; ``config`` is the folder for settings and recovery copies.

        ``shop`` is the shop's file that several windows share; without it this one has its own.
        """
        self.config = settings.config_dir() if config is None else config
        self._subscribers: list[Subscriber] = []
        self._depth = 0
        self._what: set[What] = set()
        self._paths: set[str] = set()
        self.document = Document(self.config)
        self._shop = ShopFile() if shop is None else shop
        self._leave_shop = self._shop.subscribe(self._shop_changed)
        self._judged = _judge(self.document.record(), self._shop)
        self._reference: Reference | None = None
        self._last: Reference | None = None  # the last valid plan and its entries
        self._before: Plan | None = None  # the plan before the last step of undo
        self._map: Map | None = None
        self._globe: Globe | None = None
        self._globe_of: Plan | None = None  # the plan that it was last found to hold for
        self._around: Surface | None = None
        self._shading, self._figure = False, "side_oz"
        self._shot: Roll | None = None
        self._kept_shot: Roll | None = None
        self._study: Study | None = None
        self._typing = ""  # the field that is being typed in
        self._half = False  # whether what is wrong there is not yet told
        self._odds: Odds | None = None
        self._odds_work: OddsWork | None = None
        self._drag: dict[str, str] | None = None
        self._drags = 0
        self._units: Units = "fraction"
        self._selected: Mark | None = None
        self._step: int | None = None
        self._steps: tuple[MarkingStep, ...] | None = None
        self._message = ""
        self._unkept = ""  # what to say for as long as no recovery copy can be kept

    # --- subscribers ------------------------------------------------------------------------------

    def subscribe(self, subscriber: Subscriber) -> Callable[[], None]:
        """Call ``subscriber`` after every change; returns a function that ends that."""
        self._subscribers.append(subscriber)
        return lambda: self._subscribers.remove(subscriber)

    @contextmanager
    def _changing(self) -> Iterator[None]:
        """Gather the changes made inside, and tell the subscribers once, at the outermost end."""
        self._depth += 1
        try:
            yield
        finally:
            self._depth -= 1
            if self._depth == 0 and self._what:
                change = Refresh(frozenset(self._what), frozenset(self._paths))
                self._what.clear()
                self._paths.clear()
                for each in tuple(self._subscribers):
                    each(change)

    def _say(self, sentence: str) -> None:
        with self._changing():
            if sentence != self._message:
                self._message = sentence
                self._what.add("message")

    def _refuse(self, error: InputError) -> None:
        """Say why something was not done; the field's path gives way to its label."""
        field = field_at(error.field)
        words = str(error) if field is None else row_words(error.field, error.words)
        if field is None or error.field == "layout.by":
            self._say(words[:1].upper() + words[1:])
        else:
            self._say(f"{field.label}: {words}")

    # --- what views read --------------------------------------------------------------------------

    @property
    def entries(self) -> Mapping[str, str]:
        """All entries by path, as typed; an empty one is not there."""
        return self.document.entries

    def entry(self, path: str) -> str:
        """What stands in one field."""
        return self.document.entries.get(path, "")

    @property
    def problems(self) -> Mapping[str, str]:
        """What is wrong, by the path of the field beside which to show it; "" is the whole record."""
        return MappingProxyType(dict(self._judged.problems))

    @property
    def needed(self) -> frozenset[str]:
        """The fields whose only problem is that they are still empty."""
        return frozenset(p for p in self._judged.problems if p and not self.entry(p).strip())

    @property
    def questions(self) -> Mapping[str, str]:
        """What the present plan asks, by the path of the field beside which to show it."""
        asked: dict[str, str] = {}
        for path, words in () if self._judged.plan is None else self._judged.plan.questions:
            field = field_at(path)
            place = "" if field is None else field.path
            asked[place] = " ".join(filter(None, (asked.get(place), row_words(path, words))))
        return MappingProxyType(asked)

    @property
    def job(self) -> Job | None:
        """The present job, None while the record is invalid."""
        return self._judged.job

    @property
    def filled_job(self) -> Job | None:
        """The present job with what the shop's file adds, its grip as planned; None as `job`."""
        return self._judged.filled

    @property
    def plan(self) -> Plan | None:
        """The last valid plan, None before there was one."""
        return None if self._last is None else self._last.plan

    @property
    def plan_before(self) -> Plan | None:
        """The plan before the last change, a drag or a run of typing as one; None without any."""
        return self._before

    @property
    def stale(self) -> bool:
        """Whether `plan` is of an earlier record than the present one, which is invalid.

        While a field is only half typed it does not count as invalid yet.
        """
        return self._last is not None and self._judged.plan is None and not self._half

    @property
    def digits(self) -> tuple[Digit, ...]:
        """The digits for which the present record has a hole, be it finished or not."""
        record = self.document.record()
        return tuple(d for d in DIGITS if value_at(record, f"bowler.grip.{d}") is not None)

    def sound_plan(self, purpose: str) -> Plan | None:
        """The present plan; None, with a message, while the record is invalid."""
        if self._judged.plan is None:
            self._say(f"Finish the record before {purpose}: {self._first_problem()}")
        return self._judged.plan

    @property
    def shop(self) -> ShopFile:
        """The shop's file, from which the plan takes what the record is silent about."""
        return self._shop

    @property
    def can_take_fitted(self) -> bool:
        """Whether the shop's file holds a fit that can be taken, or one is to be taken already."""
        shop = self._shop.shop
        return self._shop.taking or (shop is not None and shop.fitted is not None)

    def toggle_fitted(self) -> None:
        """Take the shop's fit from now on where records are silent, or no longer; in every window."""
        if self.can_take_fitted:
            self._shop.take_fitted(not self._shop.taking)
            self._say(self._shop.fit_words or "What was fitted is no longer taken.")
        else:
            self._say("The shop's file holds no fit: Edit, Fit to weighed jobs makes one.")

    @property
    def odds(self) -> Odds | None:
        """The present plan's chance to be illegal, None until it is worked out and without a plan."""
        return self._odds

    @property
    def odds_due(self) -> bool:
        """Whether that chance can be worked out now: never during a drag."""
        return self.odds_known and self._odds is None and not self.dragging

    @property
    def odds_known(self) -> bool:
        """Whether there is such a chance: not without a plan, nor of weights that are not known."""
        plan = self._judged.plan
        return plan is not None and plan.statics.side_oz is not None

    @property
    def units(self) -> Units:
        """The form in which readings are shown."""
        return self._units

    @property
    def selected(self) -> Mark | None:
        """The mark that arrow keys move."""
        return self._selected

    @property
    def reference(self) -> Reference | None:
        """What the present plan is compared with."""
        return self._reference

    @property
    def steps(self) -> tuple[MarkingStep, ...]:
        """The marking steps of the plan, none without one."""
        if self._steps is None:
            plan = self.plan
            self._steps = () if plan is None else marking_steps(plan, self._units)
        return self._steps

    @property
    def step(self) -> int | None:
        """The index of the selected step; None shows the whole ball."""
        return self._step

    @property
    def message(self) -> str:
        """One sentence about what happened last, empty if there is nothing to say."""
        return self._message

    # --- editing ----------------------------------------------------------------------------------

    def edit(self, path: str, text: str) -> None:
        """A new text in a field: as typed, the value of a choice, or `yes` and `no` of a switch.

        Changing `layout.by` converts the layout's numbers; where the library refuses that, nothing
        changes and `layout.by` is among the paths to show anew. Raises KeyError for a path that no
        field has.
        """
        field = field_at(path)
        if field is None or path not in field.paths:
            raise KeyError(path)
        if text == self.entry(path):
            return
        if path == "layout.by":
            self._restate(text)
            return
        changed = dict(self.entries)
        if text:
            changed[path] = text
        else:
            changed.pop(path, None)
        typed = field.kind not in ("choice", "switch", "rows") and path != field.direction_path
        self._apply(field.label, changed, run=path if typed else "")
        if text.endswith("\n"):  # a long note is undone line by line
            self.end_run()

    def type_in(self, path: str, text: str) -> None:
        """As `edit`, letter by letter: what makes the field invalid on the way is told by `settle`."""
        self._typing = path
        try:
            self.edit(path, text)
        finally:
            self._typing = ""

    @property
    def half_typed(self) -> bool:
        """Whether a field was left invalid by the last letter, which nobody was told."""
        return self._half

    def settle(self) -> None:
        """The typist rests or does something else: tell what is wrong."""
        if self._half:
            with self._changing():
                self._half = False
                self._what |= {"problems", "plan", "chance"}

    def same_as_middle(self, path: str) -> None:
        """Fill in what a finger's hole leaves empty as the middle finger's has it, its span apart.

        ``path`` is a field of that hole, or of the middle finger's, whose ring finger is meant then. No
        other field says which hole is meant: nothing is done then.
        """
        digit, inside, _ = path.removeprefix("bowler.grip.").partition(".")
        finger = "ring" if digit == "middle" else digit
        if not inside or finger not in _BESIDE_MIDDLE:
            self._say("Put the keyboard into the column of the finger that is to be filled in.")
            return
        changed = same_as_middle(self.entries, finger)
        if changed == self.entries:
            self._say("Nothing is empty that the middle finger's hole states.")
        else:
            self._apply("same as the middle finger", changed)

    def confirm(self, place: str = "") -> None:
        """The values that the plan asks about at a field are meant, as one step of undo.

        Without a field that the plan asks about, those of the first one are.
        """
        plan, asked = self.sound_plan("confirming a value"), self.questions
        if plan is None:
            return
        if not asked:
            self._say("The plan asks about nothing.")
            return
        place = place if place in asked else next(iter(asked))
        answers = object_in(self.entries, CONFIRMED)
        for path, _ in plan.questions:
            field = field_at(path)
            if place == ("" if field is None else field.path):
                answers[path] = confirmable(plan.job, path)
        self._apply("answer to a question", {**self.entries, CONFIRMED: json.dumps(answers)})

    def problems_with(self, path: str, text: str) -> tuple[tuple[str, str], ...]:
        """What would be wrong with the record if an entry were this text: paths and words.

        Holes are placed, but the ball is not planned: of holes over each other that can take long.
        """
        record = self.document.record_with({**self.entries, path: text})
        try:
            job = parse_job(record)
            radius = job.ball.radius
            holes = place_holes(job.bowler.grip, radius, job.bowler.hand)
            place_extras(job.extra_holes, holes, radius)
        except InputError as error:
            return _wrong(record, error)
        return ()

    def end_run(self) -> None:
        """Let further typing in the same field be a new step of undo."""
        self.settle()
        self.document.end_run()

    def undo(self) -> None:
        """Take the last step back."""
        self.end_drag()
        self._walked(self.document.undo(), "Nothing to undo.")

    def redo(self) -> None:
        """Take the step again that was undone last."""
        self.end_drag()
        self._walked(self.document.redo(), "Nothing to redo.")

    def _restate(self, by: str) -> None:
        """The layout stated in another way, its numbers converted if they are valid."""
        job, remark = self._basis()
        plain = {**self.entries, "layout.by": by}
        try:
            if job is None or by not in LAYOUTS:
                self._apply("way of stating the layout", plain)
                numbers = (f for f in all_fields() if f.group == "layout" and f.limit is not None)
                typed = any(self.entry(f.path).strip() for f in numbers)
                if typed and by in LAYOUTS:
                    self._say("The layout was not converted, because it is not complete.")
                return
            changed = moves.restated(self.entries, job, by, self._units)
        except InputError as error:
            with self._changing():
                self._what.add("entries")
                self._paths.add("layout.by")
                self._refuse(error)
            return
        self._apply("way of stating the layout", changed)
        self._say(remark)

    def set_figure(self, figure: Figure, text: str) -> bool:
        """Another text for one figure of the layout, stated in the way that has it, as one step of undo.

        False, with a message, where no such layout can be. A text that stands there changes nothing.
        """
        if text == figure_text(figure, self.entries, self.plan, self._units):
            return True
        by = form_of(figure.key, self.entry("layout.by"))
        entries = dict(self.entries)
        try:
            if by != entries.get("layout.by"):
                job, _ = self._basis()
                if job is None:
                    raise InputError(
                        "Complete the layout as it is stated before you change another."
                    )
                entries = moves.restated(entries, job, by, self._units)
        except InputError as error:
            self._refuse(error)
            return False
        changed = with_figure(entries, figure, text)
        judged = _judge(self.document.record_with(changed), self._shop)
        if figure.path in judged.problems:
            self._refuse(InputError(judged.problems[figure.path], figure.path))
            return False
        self._apply(f"layout, {figure.label}", changed, "", judged)
        return True

    def _basis(self) -> tuple[Job | None, str]:
        """The job whose layout is converted, and a sentence about it."""
        if self._judged.job is not None:
            return self._judged.job, ""
        last = self._last
        if last is None:
            return None, ""
        job = moves.basis(self.entries, last.plan.job)
        if job is not None:
            return job, ""
        layout_before = {p: t for p, t in last.entries.items() if p.startswith("layout.")}
        layout_now = {p: t for p, t in self.entries.items() if p.startswith("layout.")}
        if layout_before != layout_now:
            return None, ""
        # the marks that the layout was stated by are gone, so the plan before is all that is left
        return last.plan.job, "Converted from the last valid plan: check the layout's numbers."

    # --- direct work on the ball ------------------------------------------------------------------

    def select(self, mark: Mark | None) -> None:
        """Select the mark that arrow keys move."""
        if mark != self._selected:
            with self._changing():
                self._selected = mark
                self._what.add("selection")

    def nudge(self, direction: Direction, size: Size = "usual") -> None:
        """Move the selected mark by 1/16 in, coarse by 1/4 in, fine by 1/32 in.

        All but a fine move leave numbers that can be marked: 1/16 in or millimetres, and degrees.

        Directions are those of the grip, seen from outside with the fingers up: right and left along
        the midline, up and down square to it. Only the pin and the PAP can be moved.
        """
        mark = self._selected
        if mark != "pin" and mark != "pap":
            self._say("Select the pin or the PAP to move it; the other marks follow from them.")
            return
        if self._step is not None:
            # a step shows where the rounded marks lie, and Right is easily meant for the next step
            self._say("Show the whole ball before moving a mark: this is one step alone.")
            return
        plan = self.sound_plan("moving a mark")
        if plan is None or not self._is_there(plan, mark):
            return
        try:
            moved = moves.nudged(self.entries, plan, mark, direction, size, self._units)
        except InputError as error:
            self._refuse(error)
            return
        self._move(f"move the {_MOVABLE[mark]}", moved, "")

    def take_axis(self, over: float, up: float) -> bool:
        """Write a PAP that was found on the track, to 1/32 in, as one step of undo.

        False, with a message, where a record allows no such PAP; the record may be unfinished.
        """
        try:
            self._apply("PAP from the track", moves.with_axis(self.entries, over, up, self._units))
        except InputError as error:
            self._refuse(error)
            return False
        return True

    def take_grip(self, copy: GripCopy) -> None:
        """Write a grip that was copied from a drilled ball, and its hand, as one step of undo."""
        from layoutkit.bench.grip_copy import record_grip

        record = to_record(self.entries)
        bowler = {**record.get("bowler", {}), "hand": copy.measured.hand, "grip": record_grip(copy)}
        grip = from_record({**record, "bowler": bowler})
        part = "bowler.grip."
        kept = {p: t for p, t in self.entries.items() if not p.startswith(part)}
        taken = {p: t for p, t in grip.items() if p.startswith(part) or p == "bowler.hand"}
        self._apply("grip of a drilled ball", {**kept, **taken})

    def add_note(self, line: str) -> None:
        """Write a line behind the notes, as one step of undo."""
        if not line.strip():
            return
        notes = self.entry("notes").rstrip("\n")
        text = f"{notes}\n{line.strip()}" if notes else line.strip()
        self._apply("line of the notes", {**self.entries, "notes": text})

    def begin_drag(self, mark: Literal["pin", "pap"]) -> bool:
        """Begin to drag the pin or the PAP, selecting it; False, with a message, if impossible now."""
        self.end_drag()
        with self._changing():
            self.select(mark)
            plan = self.sound_plan("moving a mark")
            if plan is None or not self._is_there(plan, mark):
                return False
            self._drags += 1
            self._drag = dict(self.entries)
        return True

    def _is_there(self, plan: Plan, mark: Literal["pin", "pap"]) -> bool:
        """Whether the plan has the mark; where not, say so."""
        there = mark == "pin" or plan.marks.pap is not None
        if not there:
            self._say("The PAP is not known: type it under Bowler to place it.")
        return there

    @property
    def dragging(self) -> bool:
        """Whether a drag has begun and not ended."""
        return self._drag is not None

    def drag_pin(self, point: Sequence[float], fine: bool = False) -> None:
        """The pin to the point (3,) of the grip frame, or the nearest place where it can be.

        Unless ``fine``, that is the nearest whose numbers can be marked; see `nudge`.
        """
        self._drag_to("pin", point, fine)

    def drag_pap(self, point: Sequence[float], fine: bool = False) -> None:
        """The PAP to the point (3,) of the grip frame, or the nearest place where it can be."""
        self._drag_to("pap", point, fine)

    def _drag_to(self, mark: Literal["pin", "pap"], point: Sequence[float], fine: bool) -> None:
        job, plan = self._judged.job, self._judged.plan
        if self._drag is None or job is None or plan is None:
            return
        try:
            place = moves.place_of(point, plan)
            if mark == "pin":
                moved = moves.with_pin(self.entries, job, place, self._units, snap=not fine)
            else:
                moved = moves.with_pap(self.entries, place, self._units, snap=not fine)
        except InputError as error:
            self._refuse(error)
            return
        self._move(f"drag the {_MOVABLE[mark]}", moved, f"drag {self._drags}")

    def end_drag(self) -> None:
        """End a drag: all of it is one step of undo."""
        if self._drag is not None:
            self._drag = None
            self.document.end_run()
            job, plan = self._judged.job, self._judged.plan
            with self._changing():
                self._what.add("chance")
                if job is not None and job.tolerances is not None and plan is not None:
                    self._take(_judge(self.document.record(), self._shop))

    def cancel_drag(self) -> None:
        """Give a drag up: everything is as it was before it."""
        if self._drag is not None:
            self._apply("drag", self._drag, f"drag {self._drags}")
            self.end_drag()

    def _move(self, name: str, entries: dict[str, str], run: str) -> None:
        """Take a moved mark's entries if the record accepts them; else the mark stays where it was."""
        judged = _judge(self.document.record_with(entries), self._shop, self.dragging)
        if judged.plan is None:
            path, words = next(iter(judged.problems.items()))
            self._refuse(InputError(words, path))
            return
        self._apply(name, entries, run, judged)

    def work_on_odds(self) -> None:
        """Work out one piece, some 20 ms, of the present plan's chance to be illegal, if it is due."""
        from gui.state.odds import OddsWork

        plan = self._judged.plan
        if plan is None or not self.odds_due:
            return
        if self._odds_work is None:
            self._odds_work = OddsWork(plan)
        odds = self._odds_work.step()
        if odds is not None:
            with self._changing():
                self._odds, self._odds_work = odds, None
                self._what.add("chance")

    # --- where the pin may go ---------------------------------------------------------------------

    @property
    def globe(self) -> Globe | None:
        """What is worked out of the present plan with its pin anywhere; None before the first piece."""
        plan = self._judged.plan
        if plan is None or self._globe is None:
            return None
        if self._globe_of is not plan:
            if not self._globe.holds(plan, self.dragging):
                return None
            self._globe_of = plan
        return self._globe

    @property
    def around(self) -> Surface | None:
        """The present plan with its reference mark at other bearings; None until it is worked out."""
        around = self._around
        return around if around is not None and around.plan is self._judged.plan else None

    @property
    def globe_known(self) -> bool:
        """Whether there is such a globe: not without a plan, nor of weights that are not known."""
        return self.odds_known

    def work_on_globe(self) -> bool:
        """Work out one piece, of the globe first; whether there is more to do."""
        plan = self._judged.plan
        if plan is None or not self.globe_known:
            return False
        globe = self.globe
        with self._changing():
            if globe is None:
                globe = self._globe = Globe(plan)
                self._globe_of = plan
            if not globe.done:
                globe.step()
            elif self.around is None:
                self._around = round_the_pin(plan)
            else:
                return False
            self._what.add("shade")
        return True

    @property
    def shading(self) -> bool:
        """Whether the ball shows where the pin may go, also while nothing is dragged."""
        return self._shading

    @property
    def figure(self) -> str:
        """The name of the figure whose contours the ball shows."""
        return self._figure

    def toggle_shading(self) -> None:
        """Show where the pin may go on the ball, or no longer."""
        if not self._shading and self.sound_plan("showing where the pin may go") is None:
            return
        if not self._shading and not self.globe_known:
            self._say("Where the pin may go is not known without the label's weights.")
            return
        with self._changing():
            self._shading = not self._shading
            self._what.add("shade")

    def show_contours(self, name: str) -> None:
        """Show the contours of another figure, a field of the library's outcomes by its name."""
        if name != self._figure:
            with self._changing():
                self._figure = name
                self._what.add("shade")

    def pin_at(self, point: Sequence[float]) -> Plan | None:
        """The plan with its pin at a point (3,) of the grip frame, to look at; None, with a message,
        where the layout, stated as it is, cannot have it there."""
        changed = self._with_pin(point)
        return None if changed is None else changed[1].plan

    def take_pin(self, point: Sequence[float]) -> bool:
        """Put the pin at a point (3,) of the grip frame into the record, as one step of undo."""
        changed = self._with_pin(point)
        if changed is not None:
            self._apply("pin from the map", changed[0], "", changed[1])
        return changed is not None

    def _with_pin(self, point: Sequence[float]) -> tuple[dict[str, str], _Judgement] | None:
        plan = self.sound_plan("looking at another layout")
        if plan is None:
            return None
        try:
            place = moves.place_of(point, plan)
            entries = moves.with_pin(self.entries, plan.job, place, self._units)
        except InputError as error:
            self._refuse(error)
            return None
        return self._judged_there(entries)

    # --- the map of other layouts -----------------------------------------------------------------

    def layout_map(self) -> Map | None:
        """Other angles at the plan's own pin-to-PAP, all computed; None without any, or in a drag."""
        from layoutkit.output import maps

        plan = self._judged.plan
        if plan is None or self.dragging:
            return None
        if self._map is None or self._map.plan is not plan:
            try:
                self._map = maps.layout_map(plan, maps.default_ranges(plan, MAP_STEP))
            except InputError as error:
                self._map = None
                self._refuse(error)
        return self._map

    # --- what the ball does on the lane -----------------------------------------------------------

    def shot(self) -> Roll | None:
        """The shot of the present plan; None without any, or in a drag."""
        plan = self._judged.plan
        if plan is None or self.dragging:
            return None
        if self._shot is None or self._shot.plan is not plan:
            try:
                self._shot = roll(plan)
            except InputError as error:
                self._shot = None
                self._refuse(error)
        return self._shot

    def kept_shot(self) -> Roll | None:
        """The shot of the kept plan under the present release and lane; None without either plan."""
        shot = self.shot()
        if shot is None or self._reference is None:
            return None
        kept = self._reference.plan
        try:
            there = under(shot.plan, kept)
            done = self._kept_shot
            if (
                done is None
                or done.plan.marks is not kept.marks
                or done.plan.job != there.job
                or done.release != shot.release
            ):
                self._kept_shot = roll(there, shot.release)
        except InputError:  # the kept plan leaves open what a shot needs
            self._kept_shot = None
        return self._kept_shot

    @property
    def study(self) -> Study | None:
        """What is worked out beside the present shot, and of the kept plan's; None without a shot.

        Its pieces take some 80 to 300 ms, so they wait for a moment's rest.
        """
        shot = self.shot()
        if shot is None:
            return None
        kept, study = self.kept_shot(), self._study
        if study is None or study.shot is not shot or study.kept is not kept:
            study = self._study = Study(shot, kept)
        return study

    @property
    def differences_known(self) -> bool:
        """Whether `shot_differences` of the present and the kept plan are worked out already."""
        return self.study is not None and self.study.differences is not None

    def shot_differences(self) -> tuple[Difference, ...]:
        """By how much the present plan's shot differs from the kept plan's; none without either.

        It takes some 200 shots, so it waits for a moment's rest.
        """
        study = self.study
        if study is None or study.kept is None:
            return ()
        while study.differences is None:
            study.step()
        return study.differences

    # --- a layout from the map --------------------------------------------------------------------

    def layout_at(self, at_pin: float, at_pap: float) -> Plan | None:
        """The plan with other angles at the same pin-to-PAP, to look at; None, with a message, if
        there is none such."""
        changed = self._with_angles(at_pin, at_pap)
        return None if changed is None else changed[1].plan

    def take_layout(self, at_pin: float, at_pap: float) -> bool:
        """Put other angles at the same pin-to-PAP into the record, as one step of undo."""
        changed = self._with_angles(at_pin, at_pap)
        if changed is not None:
            self._apply("layout from the map", changed[0], "", changed[1])
        return changed is not None

    def _with_angles(
        self, at_pin: float, at_pap: float
    ) -> tuple[dict[str, str], _Judgement] | None:
        plan = self.sound_plan("looking at another layout")
        if plan is None:
            return None
        try:
            entries = moves.with_angles(self.entries, plan.job, at_pin, at_pap, self._units)
        except InputError as error:
            self._refuse(error)
            return None
        return self._judged_there(entries)

    def _judged_there(self, entries: dict[str, str]) -> tuple[dict[str, str], _Judgement] | None:
        """Entries with their plan; None, with a message, where there is none."""
        judged = _judge(self.document.record_with(entries), self._shop)
        if judged.plan is None:
            path, words = next(iter(judged.problems.items()))
            self._refuse(InputError(words, path))
            return None
        return entries, judged

    def take_offer(self, offer: Offer) -> bool:
        """Put a change that was offered for the present plan into the record, as one step of undo.

        False, with a message, where it does not lead to a plan.
        """
        from gui.state.changes import offered_entries

        plan = self.sound_plan("taking a change")
        there = (
            None if plan is None else self._judged_there(offered_entries(self.entries, plan, offer))
        )
        if there is not None:
            self._apply("what to change", there[0], "", there[1])
        return there is not None

    # --- the balls on the shelf -------------------------------------------------------------------

    def ranks(self, ranking: Ranking) -> bool:
        """Whether a ranking is still of the present bowler, grip, layout and rules."""
        from gui.state.shelf import same_but_ball

        job = self.filled_job
        return job is not None and same_but_ball(job, ranking.job)

    def take_ball(self, label: Mapping[str, Any]) -> None:
        """Put a ball's label in place of the record's ball, as one step of undo.

        What was weighed or measured goes with the ball that was drilled, and so do old holes.
        """
        parts = ("ball.", "weighings", "history", "as_drilled")
        kept = {p: t for p, t in self.entries.items() if not p.startswith(parts)}
        ball = from_record({**to_record(self.entries), "ball": dict(label)})
        entries = {p: t for p, t in ball.items() if p.startswith("ball.")}
        self._apply("ball from the shelf", {**kept, **entries})

    @property
    def wants(self) -> Mapping[str, Any] | None:
        """What a layout is to bring, as the record states it; None where it says nothing of it."""
        return object_in(self.entries, WANTS) if self.entry(WANTS) else None

    def state_wants(self, wants: Mapping[str, Any], run: str = "") -> None:
        """Put what a layout is to bring into the record; typing in one ``run`` is one step of undo."""
        self._apply("wants", {**self.entries, WANTS: json.dumps(wants)}, run)

    def take_proposal(self, parts: Mapping[str, Any]) -> None:
        """Put parts of a record, a layout and perhaps a ball, in place of its own, as one step of undo.

        What was weighed or measured goes with the layout that was drilled; old holes with their ball.
        """
        gone = (
            "layout",
            "weighings",
            "as_drilled",
            *(("ball", "history") if "ball" in parts else ()),
        )
        kept = {p: t for p, t in self.entries.items() if not p.startswith(gone)}
        fresh = from_record({**to_record(self.entries), **parts})
        taken = {p: t for p, t in fresh.items() if p.partition(".")[0] in parts}
        self._apply("layout that was chosen", {**kept, **taken})

    # --- readings, steps, comparison --------------------------------------------------------------

    def set_units(self, units: Units) -> None:
        """Show readings in fractions, decimals or metric."""
        if units != self._units:
            with self._changing():
                self._units, self._steps = units, None
                self._what.add("units")

    def select_step(self, index: int | None) -> None:
        """Show one marking step on the ball, or with None the whole ball."""
        if index is not None and not 0 <= index < len(self.steps):
            index = None
        if index != self._step:
            with self._changing():
                self._step = index
                self._what.add("steps")

    def next_step(self) -> None:
        """The next marking step; the first when none is selected, and at the last nothing."""
        following = 0 if self._step is None else self._step + 1
        if following < len(self.steps):
            self.select_step(following)

    def back_step(self) -> None:
        """The step before; the whole ball before the first."""
        if self._step is not None:
            self.select_step(self._step - 1 if self._step else None)

    def keep_reference(self) -> None:
        """Keep the present plan to compare with."""
        if self.sound_plan("keeping it to compare with") is not None:
            self._set_reference(self._last)

    def swap_reference(self) -> None:
        """Exchange the present record and the one compared with, as one step of undo."""
        reference = self._reference
        if reference is None:
            self._say("Keep a plan first, to swap it with another.")
        elif self.sound_plan("swapping it") is not None:
            with self._changing():
                self._set_reference(self._last)
                self._apply(SWAP, dict(reference.entries))

    def drop_reference(self) -> None:
        """Compare with nothing."""
        self._set_reference(None)

    def back_to(self, entries: Mapping[str, str], reference: Reference | None) -> None:
        """The layout of earlier entries again, as one step of undo, compared with ``reference``."""
        with self._changing():
            self._set_reference(reference)
            kept = {p: t for p, t in self.entries.items() if not p.startswith(_LAYOUT)}
            layout = {p: t for p, t in entries.items() if p.startswith(_LAYOUT)}
            self._apply("back from a comparison", {**kept, **layout})

    def _set_reference(self, reference: Reference | None) -> None:
        if reference is not self._reference:
            with self._changing():
                self._reference = reference
                self._what.add("reference")

    # --- files ------------------------------------------------------------------------------------

    def new(self) -> None:
        """Start an empty record."""
        self._begin(NEW, message="Fill in the record: each field says what it needs.")

    def new_from_this(self, today: str) -> bool:
        """Start a new job with the present one's bowler; False, with a message, where it is not whole."""
        if self._judged.job is None:
            self._say(
                "A new job is made from a record that is complete: correct or fill it in first."
            )
            return False
        record = returning_record(self._judged.job, today)
        name = f"new job from {self.document.name}"
        return self._open_text(record_text(record).encode(), name)

    def open(self, path: str | Path) -> bool:
        """Open a record, also an unfinished one; False, with a message, when it cannot be read."""
        path = Path(path).absolute()
        try:
            record = read_entries(path)
        except InputError as error:
            self._say(str(error))
            return False
        message = VERSION_1 if record.version_1 else ""
        self._begin(
            record.entries,
            path=path,
            digest=record.digest,
            message=message,
            opened=record.record,
        )
        settings.remember_file(self.config, path)
        return True

    def open_sample(self, path: str | Path) -> bool:
        """Open a sample as a job without a file, so that saving does not change the sample."""
        path = Path(path)
        try:
            record = read_entries(path)
        except InputError as error:
            self._say(str(error))
            return False
        self._begin(record.entries, name=f"sample {path.stem}", opened=record.record)
        return True

    def open_kept(self, text: str, kept: JobEntry) -> bool:
        """Open the record of a job of the shop's book; False, with a message, when it cannot be shown."""
        name = f"job {kept.id} of the book"
        return self._open_text(text.encode(), name, kept)

    def start_from(self, text: str, kept: JobEntry, today: str) -> bool:
        """Start a new job with the bowler of a job of the book; False, with a message, as `open_kept`."""
        try:
            record = returning_record(loads_job(text, f"job {kept.id}"), today)
        except InputError as error:
            self._say(str(error))
            return False
        name = f"new job from job {kept.id} of the book"
        return self._open_text(record_text(record).encode(), name)

    def _open_text(self, data: bytes, name: str, kept: JobEntry | None = None) -> bool:
        try:
            record = entries_of(data, name)
        except InputError as error:
            self._say(str(error))
            return False
        # what starts a new job is nowhere yet
        saved: dict[str, str] | None = None if kept is not None else {}
        self._begin(record.entries, name=name, saved=saved, opened=record.record, kept=kept)
        return True

    def kept_in_book(self, kept: JobEntry, words: str) -> None:
        """Hear that the present record is that job of the shop's book now, and say so."""
        self.end_drag()
        self._unkept = ""
        with self._changing():
            self.document.keep_in_book(kept)
            self._what.add("file")
            self._say(words)

    def redrill(self, density: str, only: Sequence[Digit] = ()) -> bool:
        """Make of the present job a new one, not saved yet, whose holes are old ones, plugged.

        ``density`` is the plugs', as typed. With ``only`` no other holes than these. False, with a
        message, where that cannot be.
        """
        if self.sound_plan("redrilling the ball") is None or self._judged.job is None:
            return False
        try:
            entries = redrilled_entries(self.entries, self._judged.job, density_of(density), only)
        except InputError as error:
            self._refuse(error)
            return False
        message = "The holes are old ones now, plugged. Set the grip and the layout that come next."
        if only:
            message = f"Drilled again: {' and '.join(only)} only. Set the new size and pitch."
        # nothing of it is in a file
        self._begin(
            entries,
            name=f"redrill of {self.document.name}",
            saved={},
            message=message,
            opened=self.document.opened,
        )
        return True

    def save(self, overwrite: bool = False) -> Saved:
        """Save to the job's file, keeping what it held before as `.bak`.

        "changed on disk" when another program wrote the file: ask, then call with ``overwrite``.
        An unfinished record is saved as it stands; the message says so.
        """
        document = self.document
        if document.path is None:
            return "unnamed"
        return self._save(document.path, overwrite)

    def save_as(self, path: str | Path) -> Saved:
        """Save to another file, the job's from then on. An existing one is replaced: ask before."""
        return self._save(Path(path).absolute(), overwrite=True)

    def _save(self, path: Path, overwrite: bool) -> Saved:
        self.end_drag()
        try:
            if not self.document.save(path, overwrite):
                self._say(
                    f"{self.document.name} was changed by another program since it was opened."
                )
                return "changed on disk"
        except InputError as error:
            self._say(str(error))
            return "failed"
        self._unkept = ""
        with self._changing():
            self._what.add("file")
            unfinished = f", unfinished: {self._first_problem()}" if self._judged.problems else "."
            kept = kept_words(self.document.kept_version_1)
            self._say(f"Saved {self.document.name}{unfinished}{kept}")
        return "saved"

    def look_at_disk(self) -> None:
        """Say so, once, if another program changed or removed the job's file."""
        news = self.document.news_from_disk()
        if news:
            self._say(news)

    def plan_text(self) -> str:
        """The plan as text for the clipboard; empty, with a message, while the record is invalid."""
        plan = self.sound_plan("copying the plan")
        return "" if plan is None else report(plan, self._units)

    def keep_recovery(self) -> bool:
        """Write the recovery copy if something unsaved changed since the last one.

        False where it cannot be written; `message` says so then, and again after each edit, until a
        copy is kept or nothing is unsaved.
        """
        kept = self.document.keep_recovery()
        if kept and self._message and self._message == self._unkept:
            self._say("")
        elif not kept and not self._unkept:
            self._say(UNKEPT)
        self._unkept = "" if kept else UNKEPT
        return kept

    def recover(self, copy: recovery.LeftCopy) -> None:
        """Take over what a crash left behind; its copy goes once this window keeps its own."""
        with self._beginning():
            self.document.recover(copy.work)
            name = "new job" if self.document.path is None else self.document.name
            self._say(f"Recovered unsaved work on {name}.")
        if self.document.keep_recovery():
            copy.discard()
        else:
            copy.leave()

    def close(self) -> None:
        """The window closes for good: its recovery copy goes."""
        self._leave_shop()
        self.document.forget_recovery()

    def _begin(
        self,
        entries: Mapping[str, str],
        *,
        path: Path | None = None,
        name: str = "",
        digest: str = "",
        saved: Mapping[str, str] | None = None,
        message: str = "",
        opened: Mapping[str, Any] | None = None,
        kept: JobEntry | None = None,
    ) -> None:
        """Begin another job, as `Document.begin` does."""
        with self._beginning():
            self.document.begin(
                entries, path=path, name=name, digest=digest, saved=saved, opened=opened, kept=kept
            )
            self._say(message)

    @contextmanager
    def _beginning(self) -> Iterator[None]:
        """Let the document become another job inside; nothing of the job before is kept."""
        with self._changing():
            self.end_drag()
            self._unkept = ""
            self._paths |= set(self.entries)
            yield
            self._last, self._before, self._steps, self._step = None, None, None, None
            self.select(None)
            self._set_reference(None)
            self._what |= {"entries", "problems", "plan", "steps", "file", "job", "history"}
            self._paths |= set(self.entries)
            self._take(_judge(self.document.record(), self._shop))

    # --- inside -----------------------------------------------------------------------------------

    def _shop_changed(self) -> None:
        """Another file of the shop, or its fit taken or not: plan anew."""
        self.end_drag()
        with self._changing():
            self._what |= {"problems", "plan"}
            self._take(_judge(self.document.record(), self._shop))

    def _first_problem(self) -> str:
        path, words = next(iter(self._judged.problems.items()))
        field = field_at(path)
        return words if field is None else f"{field.section}, {field.label}: {words}"

    def _apply(
        self,
        name: str,
        entries: Mapping[str, str],
        run: str = "",
        judged: _Judgement | None = None,
    ) -> None:
        """Make these the entries, as one step of undo."""
        goes_on = bool(run) and run == self.document.open_run
        plan = self.plan
        paths = self.document.change(name, entries, run)
        if paths:
            if not goes_on:
                self._before = plan
            self._edited(paths, judged)

    def _walked(self, step: UndoStep | None, nothing: str) -> None:
        """The document went a step of undo or redo; without one, say that there is ``nothing``."""
        if step is None:
            self._say(nothing)
            return
        with self._changing():
            self._before = self.plan
            kept = self._reference
            # the two change places again, unless the kept plan was dropped or is another by now
            if step.name == SWAP and kept is not None and kept.entries == self.entries:
                self._set_reference(self._last)
            self._edited(step.changes)

    def _edited(self, paths: Iterable[str], judged: _Judgement | None = None) -> None:
        """Judge the entries after a change at these paths, unless that is done; tell the subscribers."""
        with self._changing():
            self._what |= {"entries", "file", "history"}
            self._paths |= set(paths)
            self._take(judged or _judge(self.document.record(), self._shop))
            self._say(self._unkept)

    def _take(self, judged: _Judgement) -> None:
        """Take the judgement of the present entries."""
        before, untold = self._judged, self._half
        self._judged = judged
        self._odds = self._odds_work = None
        typed = field_at(self._typing) if self._typing else None
        self._half = (
            typed is not None
            and typed.path in judged.problems
            and (untold or typed.path not in before.problems)
        )
        if self._half:
            return
        self._what.add("chance")
        if untold or judged.problems != before.problems:
            self._what |= {"problems", "plan"}
        if judged.plan is None:
            return
        self._last, self._steps = Reference(self.entries, judged.plan), None
        self._what |= {"plan", "steps"}
        if self._step is not None and self._step >= len(self.steps):
            self._step = None
        gone = (self._selected == "psa" and judged.plan.marks.psa is None) or (
            self._selected == "thumb" and judged.plan.job.bowler.grip.thumb is None
        )
        if gone:
            self.select(None)


_BESIDE_MIDDLE = ("index", "ring", "little")
_LAYOUT = "layout."  # what the paths of the layout's entries begin with
_MOVABLE = {"pin": "pin", "pap": "PAP"}


def _judge(record: dict[str, Any], shop: ShopFile, dragging: bool = False) -> _Judgement:
    """What the library makes of a record: its problems, or its job and plan with the shop's arm.

    Tolerances take longer to carry through than a frame lasts, so that waits for the end of a drag.
    """
    try:
        job = parse_job(record)
        planned = job.model_copy(update={"tolerances": None}) if dragging else job
        bits = () if shop.shop is None else shop.shop.owned
        filled = shop.fill(planned)
        return _Judgement({}, job, replace(make_plan(filled), bits=bits), filled)
    except InputError as error:
        problems: dict[str, str] = {}
        for path, words in _wrong(record, error):
            field = field_at(path)
            problems.setdefault("" if field is None else field.path, row_words(path, words))
        return _Judgement(problems)


def _wrong(record: dict[str, Any], error: InputError) -> tuple[Problem, ...]:
    """All problems of the record, or if there are none the one that the plan ended with."""
    if field_at(error.field) is not None:
        own = Problem(error.field, error.words)
    elif error.field.startswith("as_drilled."):
        # what was measured does not go with what was planned, and was not measured, of that hole
        planned = field_at(error.field.replace("as_drilled", "bowler.grip", 1))
        name = "" if planned is None else f"{planned.section}, {planned.label}: "
        own = Problem("as_drilled", f"{name}{error.words}")
    else:
        own = Problem("", str(error))
    return record_problems(record) or (own,)


def sheet(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> bytes:
    """The work sheet of a plan as PDF; safe to call in a worker thread."""
    from layoutkit.output.sheet import sheet_bytes

    return sheet_bytes(plan, paper, units=units)


def card(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> bytes:
    """The customer's card of a plan as PDF; safe to call in a worker thread."""
    from layoutkit.output.card import card_bytes

    return card_bytes(plan, paper, units)


def strips(plan: Plan, paper: Paper = "letter", units: Units = "fraction") -> bytes:
    """The paper strips of a plan as PDF; safe to call in a worker thread."""
    from layoutkit.output.strips import strips_bytes

    return strips_bytes(plan, paper, units)


def certainty_text(plan: Plan) -> str:
    """How sure a plan is, as text; safe to call in a worker thread."""
    from layoutkit.output import certainty_report
    from layoutkit.planning.certainty import certainty

    return certainty_report.certainty_text(plan, certainty(plan))


def maps_bytes(plan: Plan) -> bytes:
    """Contour maps of the layouts about the present one, as PDF; safe in a worker thread."""
    from layoutkit.output import maps

    return maps.picture(maps.layout_map(plan, maps.default_ranges(plan)), ".pdf")


__all__ = (
    "Direction",
    "Mark",
    "Paper",
    "Presenter",
    "Reference",
    "Refresh",
    "Saved",
    "Subscriber",
    "card",
    "certainty_text",
    "maps_bytes",
    "sheet",
    "strips",
)  # fmt: skip
