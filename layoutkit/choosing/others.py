"""Where the files are of the other jobs that a record's wants name with ``than``."""

from __future__ import annotations

import os


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
