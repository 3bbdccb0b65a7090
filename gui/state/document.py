"""The document of a window: entries with undo and redo, the job's file, and the recovery copy.

The document judges no entry and tells nobody that it changed: the presenter does both. A method that
reads or writes the job's file raises InputError where that fails, and the document is then as it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType, NoneType
from typing import TYPE_CHECKING, Any, NamedTuple

from gui.state import files, recovery, settings
from gui.state.entries import (
    CONFIRMED,
    NEW,
    PARTS,
    WANTS,
    Opened,
    from_record,
    to_record,
    value_at,
)
from gui.state.fields import Field, field_at
from gui.state.undo import UndoStep, UndoSteps, difference
from layoutkit.errors import InputError
from layoutkit.job.files import JOB_RECORD, decode_json, locked, read_bytes
from layoutkit.job.record import problems as record_problems
from layoutkit.job.store import keep_version_1
from layoutkit.job.version1 import is_version_1, upgraded

if TYPE_CHECKING:
    from layoutkit.book.book import JobEntry


class Document:
    """One job as a person writes it; ``config`` is the folder for settings and recovery copies."""

    def __init__(self, config: Path) -> None:
        """An empty record, which is in no file."""
        self._config = config
        self._entries: dict[str, str] = dict(NEW)
        self._saved: dict[str, str] = dict(NEW)
        self._opened: Opened | None = None
        self._steps = UndoSteps()
        self._path: Path | None = None
        self._name = ""
        self.kept: JobEntry | None = None  # the job of the shop's book that this is
        self._digest = ""  # of the file's content, as it was opened or saved
        self.kept_version_1: Path | None = None
        self._noticed = ""  # the digest that `news_from_disk` met last
        self._keeper = recovery.Keeper(config)
        self._kept: tuple[dict[str, str], Path | None] | None = None

    # --- what the document holds ------------------------------------------------------------------

    @property
    def entries(self) -> Mapping[str, str]:
        """All entries by path, as typed; an empty one is not there."""
        return MappingProxyType(self._entries)

    def record(self) -> dict[str, Any]:
        """The record as it stands, finished or not; what was opened and not changed is as it was."""
        return self.record_with(self._entries)

    def record_with(self, entries: Mapping[str, str]) -> dict[str, Any]:
        """The record that other entries would make of this document."""
        return to_record(entries, self._opened)

    @property
    def opened(self) -> Mapping[str, Any] | None:
        """The record that the job was opened from, not to be changed; None for a new one."""
        return None if self._opened is None else self._opened.record

    @property
    def path(self) -> Path | None:
        """The job's file, None while it has none."""
        return self._path

    @property
    def dirty(self) -> bool:
        """Whether something is not saved."""
        return self._entries != self._saved

    @property
    def earlier(self) -> str:
        """Whose job the file holds, where the entries are of another bowler or ball; empty else."""
        was, now = self._saved, self._entries
        other = any(was.get(path) and was[path] != now.get(path) for path in _WHOSE)
        return ", ".join(was[path] for path in _WHOSE if was.get(path)) if other else ""

    @property
    def offered_name(self) -> str:
        """A name for the job's file, of its bowler and ball; `job` where neither is known."""
        parts = (self._entries.get(path, "") for path in ("bowler.name", "ball.name"))
        words = "-".join("".join(c if c.isalnum() else " " for c in part) for part in parts)
        return "-".join(words.replace("-", " ").split()).lower()[:60] or "job"

    @property
    def name(self) -> str:
        """The job's file name, or what it was opened from."""
        return self._path.name if self._path is not None else self._name or "new job"

    @property
    def title(self) -> str:
        """The window's title: a mark for unsaved changes, the job, the program."""
        return f"{'*' if self.dirty else ''}{self.name} - layoutkit"

    # --- changes, undo and redo -------------------------------------------------------------------

    def change(self, name: str, entries: Mapping[str, str], run: str = "") -> frozenset[str]:
        """Make these the entries, as one step of undo; returns the paths that changed.

        Changes of the same ``run`` that follow each other are one step.
        """
        changes = difference(self._entries, entries)
        if changes:
            self._steps.add(UndoStep(name, changes, run))
            self._entries = dict(entries)
        return frozenset(changes)

    @property
    def open_run(self) -> str:
        """The run to which the next change can belong, empty for none."""
        return self._steps.open_run

    def end_run(self) -> None:
        """Let the next change be a step of undo by itself, whatever its run."""
        self._steps.end_run()

    def undo(self) -> UndoStep | None:
        """Take the last step back; returns what was done to the entries, None without a step."""
        return self._walk(self._steps.undo())

    def redo(self) -> UndoStep | None:
        """Take the step again that was undone last; returns it, None without one."""
        return self._walk(self._steps.redo())

    def _walk(self, step: UndoStep | None) -> UndoStep | None:
        if step is not None:
            entries = dict(self._entries)
            for path, (_, after) in step.changes.items():
                if after is None:
                    entries.pop(path, None)
                else:
                    entries[path] = after
            self._entries = entries
        return step

    @property
    def undo_name(self) -> str:
        """What `undo` would take back, empty when there is nothing."""
        return self._steps.done[-1].name if self._steps.done else ""

    @property
    def redo_name(self) -> str:
        """What `redo` would do again, empty when there is nothing."""
        return self._steps.undone[-1].name if self._steps.undone else ""

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to undo."""
        return bool(self._steps.done)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to redo."""
        return bool(self._steps.undone)

    # --- another job, and the job's file ----------------------------------------------------------

    def begin(
        self,
        entries: Mapping[str, str],
        *,
        path: Path | None = None,
        name: str = "",
        digest: str = "",
        saved: Mapping[str, str] | None = None,
        opened: Mapping[str, Any] | None = None,
        kept: JobEntry | None = None,
    ) -> None:
        """Begin another job; undo and the recovery copy of the job before go.

        ``path`` is its file and ``digest`` of the file's content; without a file ``name`` says where
        the job is from. ``saved`` are the entries that are in the file, without it all of them.
        ``opened`` is the record that the entries come from, if they come from one, and ``kept`` the job
        of the shop's book.
        """
        self._entries = dict(entries)
        self._saved = dict(entries if saved is None else saved)
        self._opened = None if opened is None else Opened(opened)
        self._steps = UndoSteps()
        self._path, self._name, self._digest, self._noticed = path, name, digest, digest
        self.kept = kept
        self.forget_recovery()

    def save(self, path: Path, overwrite: bool = True) -> bool:
        """Write the record to a file, which is the job's from then on.

        An existing file is replaced; what it held before is kept as `.bak`. Without ``overwrite``
        what another program wrote into the job's file is not: nothing is written then, and False is
        returned. Where the file held a record of version 1, ``kept_version_1`` is then the file that
        keeps its text, else None.
        """
        with locked(path):
            if not overwrite and self.changed_on_disk():
                return False
            self.kept_version_1 = keep_version_1(path)
            self._digest = self._noticed = files.save(self.record(), path)
        self._path, self._name = path, ""
        self._saved = self._entries
        self._steps.end_run()
        self.forget_recovery()
        settings.remember_file(self._config, path)
        return True

    def keep_in_book(self, kept: JobEntry) -> None:
        """Take the present entries for those that the shop's book has; a job's file is as it was."""
        self.kept = kept
        self._steps.end_run()
        if self._path is None:
            self._name = f"job {kept.id} of the book"
            self._saved = self._entries
            self.forget_recovery()

    def changed_on_disk(self) -> bool:
        """Whether saving would replace what another program wrote into the job's file."""
        return self._path is not None and files.digest_on_disk(self._path) not in ("", self._digest)

    def news_from_disk(self) -> str:
        """One sentence where another program changed or removed the job's file, said once.

        Empty where there is nothing new, or where the job has no file.
        """
        if self._path is None:
            return ""
        try:
            digest = files.digest_on_disk(self._path)
            news = f"{self.name} was {'changed' if digest else 'removed'} by another program. " + (
                "Saving will ask first; opening it again shows the change."
                if digest
                else "Saving writes it anew."
            )
        except InputError as error:
            digest, news = "unreadable", str(error)
        new = digest not in (self._digest, self._noticed)
        self._noticed = digest
        return news if new else ""

    # --- the recovery copy ------------------------------------------------------------------------

    def keep_recovery(self) -> bool:
        """Write the recovery copy if something unsaved changed since the last one.

        Returns whether a copy is no longer needed or is kept; False where it cannot be written.
        """
        if not self.dirty:
            self.forget_recovery()
            return True
        if (self._entries, self._path) == self._kept:
            return True
        place = "" if self._path is None else str(self._path.absolute())
        work = recovery.UnsavedWork(self._entries, self._saved, place, self._digest, self.opened)
        if not self._keeper.write(work):
            return False
        self._kept = (self._entries, self._path)
        return True

    def recover(self, work: recovery.UnsavedWork) -> None:
        """Begin the job that a crash left behind."""
        self.begin(
            {path: text for path, text in work.entries.items() if _known(path)},
            path=Path(work.path) if work.path else None,
            digest=work.digest,
            saved={path: text for path, text in work.saved.items() if _known(path)},
            opened=work.opened,
        )

    def forget_recovery(self) -> None:
        """Remove the recovery copy: everything is saved, or given up."""
        self._keeper.discard()
        self._kept = None


# what tells one job from another
_WHOSE = ("bowler.name", "ball.name", "ball.serial")


class FromFile(NamedTuple):
    """What a job's file states.

    Its record, under the names of the present version; the record's entries; the digest of the file's
    content; whether that is of version 1.
    """

    record: dict[str, Any]
    entries: dict[str, str]
    digest: str
    version_1: bool


def read_entries(path: Path) -> FromFile:
    """The entries of a job's file, of the present version or of version 1.

    InputError where the file cannot be read, is no record or holds what no field can show.
    """
    return entries_of(read_bytes(path, JOB_RECORD), path)


def entries_of(data: bytes, name: str | Path) -> FromFile:
    """The entries of a record's text, which came from somewhere of that name; as `read_entries`."""
    record = decode_json(data, name, JOB_RECORD)
    old = is_version_1(record)
    if old:
        record = upgraded(record)
    entries = from_record(record)
    for problem in record_problems(record):
        # a PAP both up and down is shown by its field, but one of the two would be lost
        both = problem.field == "bowler.pap" and record["bowler"].get("pap") is not None
        field = field_at(problem.field)
        if both or field is None or not _can_show(field, problem.field, record, entries):
            raise problem.error()
    return FromFile(record, entries, files.digest(data), old)


def _can_show(
    field: Field, path: str, record: Mapping[str, Any], entries: Mapping[str, str]
) -> bool:
    """Whether the window shows what a record has at the path of a problem, so that it can be mended."""
    if not field.shown(entries):
        return False
    return not (field.part and path == field.path) or isinstance(
        value_at(record, path), dict | NoneType
    )


def _known(path: str) -> bool:
    return field_at(path) is not None or path in (*PARTS, CONFIRMED, WANTS)
