"""The presenter: everything that one window knows and does, without a display.

How views use it:

- A window owns one `Presenter`. Views never keep state of their own about the job; they read the
  presenter's properties, which are always consistent with each other.
- An event calls one method (`edit`, `nudge`, `undo`, ...). Methods never raise for what a person can
  do; a refusal leaves everything as it was and puts one sentence into `message`.
- After a method changed something, each subscriber is called exactly once with a `Change`, which
  tells what to refresh: `change.has("plan")`, `change.paths` (entries with a new text). A
  view that writes a text into its widget may let the widget call `edit` again: an equal text changes
  nothing and calls nobody.
- While someone types, nothing is rewritten: `entry(path)` is the text as typed. `problems[path]` is the
  record's own words about a field, to be shown beside it; `problems[""]` is about the whole record.
- `plan` is the last valid plan, None before there was one. It is out of date while `stale`: show it
  greyed.
- A drag is `begin_drag(mark)`, any number of `drag_pin(point)` or `drag_pap(point)`, `end_drag()`
  (or `cancel_drag()`); it is one step of undo. Points are (3,) in the grip frame, of any length.
- `end_run()` when the keyboard leaves a field: typing before and after are then two steps of undo.
- Call `keep_recovery()` some tenths of a second after a change of "entries", and `close()` when
  the window closes for good.
- Long work runs on values: take `presenter.plan`, then `sheet(plan, paper)` of this module in a worker
  thread.

`change.what` is made of: "entries", "problems", "plan", "selection", "units", "reference", "steps",
"file", "history", "message".
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from gui.entries import NEW, from_record, to_record
from gui.fields import field_at
from gui.history import History, Step, difference
from layoutkit.errors import InputError
from layoutkit.marking import MarkingStep, marking_steps
from layoutkit.plan import Plan
from layoutkit.plan import plan as make_plan
from layoutkit.record import Job, parse_job
from layoutkit.record import problems as record_problems
from layoutkit.units import Units

What = Literal[
    "entries", "problems", "plan", "selection", "units", "reference", "steps", "file", "history",
    "message",
]  # fmt: skip
Direction = Literal["left", "right", "up", "down"]
Mark = Literal["pin", "cg", "psa", "pap"]
Saved = Literal["saved", "unnamed", "changed on disk", "failed"]


@dataclass(frozen=True, slots=True)
class Change:
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


Subscriber = Callable[[Change], None]


class Presenter:
    """State and behaviour of one window; see the module's text for how to use it."""

    def __init__(self) -> None:
        self._subscribers: list[Subscriber] = []
        self._depth = 0
        self._what: set[What] = set()
        self._paths: set[str] = set()
        self._entries: dict[str, str] = dict(NEW)
        self._saved: dict[str, str] = dict(NEW)
        self._problems: dict[str, str] = {}
        self._job: Job | None = None
        self._plan: Plan | None = None
        self._history = History()
        self._units: Units = "fraction"
        self._selected: Mark | None = None
        self._reference: Reference | None = None
        self._step: int | None = None
        self._steps: tuple[MarkingStep, ...] | None = None
        self._path: Path | None = None
        self._message = ""
        self._judge()

    # --- subscribers ------------------------------------------------------------------------------

    def subscribe(self, subscriber: Subscriber) -> Callable[[], None]:
        """Call ``subscriber`` after every change; returns what ends that."""
        self._subscribers.append(subscriber)
        return lambda: self._subscribers.remove(subscriber)

    @contextmanager
    def _changing(self) -> Iterator[None]:
        """Gather what changes inside, and tell it once at the outermost end."""
        self._depth += 1
        try:
            yield
        finally:
            self._depth -= 1
            if self._depth == 0 and self._what:
                change = Change(frozenset(self._what), frozenset(self._paths))
                self._what.clear()
                self._paths.clear()
                for each in tuple(self._subscribers):
                    each(change)

    # --- what views read --------------------------------------------------------------------------

    @property
    def entries(self) -> Mapping[str, str]:
        """All entries by path, as typed; an entry that is not there is empty."""
        return MappingProxyType(self._entries)

    def entry(self, path: str) -> str:
        """What stands in one field."""
        return self._entries.get(path, "")

    @property
    def problems(self) -> Mapping[str, str]:
        """What is wrong, by the path of the field beside which to show it; "" is the whole record."""
        return MappingProxyType(self._problems)

    @property
    def job(self) -> Job | None:
        """The present job, None while a field is invalid."""
        return self._job

    @property
    def plan(self) -> Plan | None:
        """The last valid plan, None before there was one."""
        return self._plan

    @property
    def stale(self) -> bool:
        """Whether `plan` is of an earlier record than the present one, which is invalid."""
        return self._plan is not None and bool(self._problems)

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
            self._steps = () if self._plan is None else marking_steps(self._plan)
        return self._steps

    @property
    def step(self) -> int | None:
        """The index of the selected step; None shows the whole ball."""
        return self._step

    @property
    def path(self) -> Path | None:
        """The job's file, None while it has none."""
        return self._path

    @property
    def dirty(self) -> bool:
        """Whether something is not saved."""
        return self._entries != self._saved

    @property
    def title(self) -> str:
        """The window's title: file, a mark for unsaved changes, program."""
        name = "new job" if self._path is None else self._path.name
        return f"{'*' if self.dirty else ''}{name} - layoutkit"

    @property
    def message(self) -> str:
        """One sentence about what happened last, empty if there is nothing to say."""
        return self._message

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to undo."""
        return bool(self._history.done)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to redo."""
        return bool(self._history.undone)

    def record(self) -> dict[str, object]:
        """The record as it stands, finished or not, with lengths as typed."""
        return to_record(self._entries)

    # --- editing ----------------------------------------------------------------------------------

    def edit(self, path: str, text: str) -> None:
        """A new text in a field: as typed, the value of a choice, or `yes` and `no` of a switch.

        Changing `layout.by` converts the layout's numbers.
        """
        changed = dict(self._entries)
        field = field_at(path)
        if field is None:
            raise KeyError(path)
        if text:
            changed[path] = text
        else:
            changed.pop(path, None)
        self._apply(field.label, changed, run=path)

    def end_run(self) -> None:
        """Let further typing in the same field be a new step of undo."""
        self._history.end_run()

    def undo(self) -> None:
        """Take the last step back."""
        self._step_back(self._history.undo())

    def redo(self) -> None:
        """Take the step again that was undone last."""
        self._step_back(self._history.redo())

    # --- direct work on the ball ------------------------------------------------------------------

    def select(self, mark: Mark | None) -> None:
        """Select the mark that arrow keys move."""
        raise NotImplementedError

    def nudge(self, direction: Direction, coarse: bool = False) -> None:
        """Move the selected mark by 1/32 in, coarse by 1/4 in: along and square to the midline."""
        raise NotImplementedError

    def begin_drag(self, mark: Literal["pin", "pap"]) -> bool:
        """Begin to drag the pin or the PAP; False, with a message, when it cannot be dragged now."""
        raise NotImplementedError

    def drag_pin(self, point: Sequence[float]) -> None:
        """The pin to the point (3,) of the grip frame, or the nearest place where it can be."""
        raise NotImplementedError

    def drag_pap(self, point: Sequence[float]) -> None:
        """The PAP to the point (3,) of the grip frame, or the nearest place where it can be."""
        raise NotImplementedError

    def end_drag(self) -> None:
        """End a drag: all of it is one step of undo."""
        raise NotImplementedError

    def cancel_drag(self) -> None:
        """Give a drag up: everything is as it was before it."""
        raise NotImplementedError

    # --- readings, steps, comparison --------------------------------------------------------------

    def set_units(self, units: Units) -> None:
        """Show readings in fractions, decimals or metric."""
        raise NotImplementedError

    def select_step(self, index: int | None) -> None:
        """Show one marking step on the ball, or with None the whole ball."""
        raise NotImplementedError

    def next_step(self) -> None:
        """The next marking step; the first when none is selected."""
        raise NotImplementedError

    def back_step(self) -> None:
        """The step before; the whole ball before the first."""
        raise NotImplementedError

    def keep_reference(self) -> None:
        """Keep the present plan to compare with."""
        raise NotImplementedError

    def swap_reference(self) -> None:
        """Exchange the present record and the one compared with."""
        raise NotImplementedError

    def drop_reference(self) -> None:
        """Compare with nothing."""
        raise NotImplementedError

    # --- files ------------------------------------------------------------------------------------

    def new(self) -> None:
        """Start an empty record. Ask about unsaved changes (`dirty`) before."""
        raise NotImplementedError

    def open(self, path: str | Path) -> bool:
        """Open a record, also an unfinished one; False, with a message, when it cannot be read."""
        entries = from_record(json.loads(Path(path).read_text(encoding="utf-8")))
        with self._changing():
            self._history = History()
            self._path, self._saved = Path(path), dict(entries)
            self._what |= {"file", "history"}
            self._become(entries, dict.fromkeys({*self._entries, *entries}))
        return True

    def open_text(self, text: str, name: str = "text") -> bool:
        """Open a record from its text as a job without a file; False, with a message, as `open`."""
        raise NotImplementedError

    def save(self, overwrite: bool = False) -> Saved:
        """Save to the job's file, keeping the file before as `.bak`.

        "changed on disk" when another program wrote the file: ask, then call with ``overwrite``.
        """
        raise NotImplementedError

    def save_as(self, path: str | Path) -> Saved:
        """Save to another file, the job's from then on. An existing one is replaced: ask before."""
        raise NotImplementedError

    def plan_text(self) -> str:
        """The plan as text for the clipboard; empty, with a message, while there is no valid plan."""
        raise NotImplementedError

    def keep_recovery(self) -> None:
        """Write the recovery copy if something unsaved changed since the last one."""
        raise NotImplementedError

    def close(self) -> None:
        """The window closes for good: remove its recovery copy."""
        raise NotImplementedError

    # --- inside -----------------------------------------------------------------------------------

    def _apply(self, name: str, entries: dict[str, str], run: str = "") -> None:
        """Make these the entries, as one step of undo."""
        changes = difference(self._entries, entries)
        if not changes:
            return
        with self._changing():
            self._history.add(Step(name, changes, run))
            self._what.add("history")
            self._become(entries, changes)

    def _step_back(self, changes: Mapping[str, tuple[str | None, str | None]]) -> None:
        if not changes:
            return
        entries = dict(self._entries)
        for path, (_, after) in changes.items():
            if after is None:
                entries.pop(path, None)
            else:
                entries[path] = after
        with self._changing():
            self._what.add("history")
            self._become(entries, changes)

    def _become(self, entries: dict[str, str], paths: Mapping[str, object]) -> None:
        self._entries = entries
        self._paths |= set(paths)
        self._what |= {"entries", "file"}
        self._judge()

    def _judge(self) -> None:
        """Problems, job and plan of the present entries."""
        record = to_record(self._entries)
        found: dict[str, str] = {}
        self._job = None
        try:
            job = parse_job(record)
            planned = make_plan(job)
        except InputError as error:
            for path, words in record_problems(record) or (_split(str(error)),):
                field = field_at(path)
                found.setdefault("" if field is None else field.path, words)
        else:
            self._job, self._plan, self._steps = job, planned, None
            self._what |= {"plan", "steps"}
        if found != self._problems:
            self._problems = found
            self._what |= {"problems", "plan"}


def _split(sentence: str) -> tuple[str, str]:
    """The field's path at the head of a plan's sentence, and the words after it."""
    path, colon, words = sentence.partition(": ")
    return (path, words) if colon and field_at(path) else ("", sentence)


def sheet(plan: Plan, paper: Literal["letter", "a4"] = "letter") -> bytes:
    """The work sheet of a plan as PDF; safe to call in a worker thread."""
    from layoutkit.sheet import sheet_bytes

    return sheet_bytes(plan, paper)


__all__ = ("Change", "Direction", "Mark", "Presenter", "Reference", "Saved", "sheet")
