"""Undo and redo without limit: steps of changed entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

Changes = Mapping[str, tuple[str | None, str | None]]


@dataclass(frozen=True, slots=True)
class UndoStep:
    """One step: its name, and each changed entry before and after (None where it is not there).

    Steps of the same ``run`` that follow each other are taken together as one.
    """

    name: str
    changes: Changes
    run: str = ""


def difference(before: Mapping[str, str], after: Mapping[str, str]) -> Changes:
    """What changed from one set of entries to another."""
    return {
        path: (before.get(path), after.get(path))
        for path in sorted({*before, *after})
        if before.get(path) != after.get(path)
    }


@dataclass(slots=True)
class UndoSteps:
    """What can be undone and redone. Only what a step changed is kept, so its length costs little."""

    done: list[UndoStep] = field(default_factory=list)
    undone: list[UndoStep] = field(default_factory=list)
    open_run: str = ""

    def add(self, step: UndoStep) -> None:
        """Add a step; nothing undone before it can be redone any more."""
        self.undone.clear()
        if step.run and step.run == self.open_run and self.done:
            step = replace(step, changes=_joined(self.done.pop().changes, step.changes))
        if step.changes:  # a run may end where it began
            self.done.append(step)
        self.open_run = step.run if step.changes else ""

    def end_run(self) -> None:
        """Let the next step stand by itself, whatever its run."""
        self.open_run = ""

    def undo(self) -> UndoStep | None:
        """The step that takes the last one back, None when there is none."""
        self.end_run()
        if not self.done:
            return None
        step = self.done.pop()
        self.undone.append(step)
        back = {path: (after, before) for path, (before, after) in step.changes.items()}
        return replace(step, changes=back)

    def redo(self) -> UndoStep | None:
        """The step that was undone last, None when there is none."""
        self.end_run()
        if not self.undone:
            return None
        step = self.undone.pop()
        self.done.append(step)
        return step


def _joined(first: Changes, second: Changes) -> Changes:
    joined = dict(first)
    for path, (before, after) in second.items():
        start = joined[path][0] if path in joined else before
        if start == after:
            joined.pop(path, None)
        else:
            joined[path] = (start, after)
    return joined
