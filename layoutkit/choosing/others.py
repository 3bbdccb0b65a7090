"""The other jobs that a record's wants name with ``than``: where their files are, and their plans."""

from __future__ import annotations

import os
from collections.abc import Callable

from layoutkit.job.record import Job
from layoutkit.job.rules import RuleSet
from layoutkit.job.wants import Wants
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan


def other_plans(
    wants: Wants, record: str, read: Callable[[str], Job], rules: RuleSet | None = None
) -> dict[str, Plan]:
    """The plans of the jobs that wants name; ``read`` reads a job of a file.

    ``record`` is the record's own file, "" without one. Raises InputError as ``read`` and `plan` do.
    """
    names = {each.than for each in wants.ranges.values() if each.than is not None}
    return {name: plan(read(other_file(name, record)), rules) for name in sorted(names)}


def other_file(name: str, record: str) -> str:
    """The file of another job: as it is named, or beside the ``record`` where only there is one.

    So a record finds it wherever the program was started. ``record`` is "" where there is no file.
    """
    beside = os.path.join(os.path.dirname(record), name)
    return beside if not os.path.exists(name) and os.path.exists(beside) else name


def name_beside(path: str, record: str) -> str:
    """What a record calls the file of another job: its name alone where both are in one folder."""
    folder, name = os.path.split(os.path.abspath(path))
    return name if record and folder == os.path.dirname(os.path.abspath(record)) else path
