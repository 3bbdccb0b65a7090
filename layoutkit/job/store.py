"""Job records in files: loaded, and saved whole or not at all.

What is written is of the present version. Where it takes the place of a record of version 1, that
record's text stays beside it.
"""

import json
from collections.abc import Mapping
from itertools import count
from pathlib import Path
from typing import Any

from layoutkit.errors import InputError
from layoutkit.job.files import (
    JOB_ENDINGS,
    JOB_RECORD,
    decode_json,
    file_name,
    read_bytes,
    read_json,
    write_atomic,
)
from layoutkit.job.record import FORMAT, Job, dump_job, parse_job
from layoutkit.job.version1 import is_version_1, upgraded


def load_job(path: str | Path) -> Job:
    """The job of a record file.

    Raises InputError where the file cannot be read, is no JSON or is no record.
    """
    return parse_job(read_json(path, JOB_RECORD))


def loads_job(data: bytes | str, name: str = "standard input") -> Job:
    """The job of a record's text; ``name`` stands for its file in messages.

    Raises InputError where the text is no JSON or is no record.
    """
    return parse_job(decode_json(data, name, JOB_RECORD))


def load_record(path: str | Path) -> dict[str, Any]:
    """The decoded record of a job's file as typed, under the names of the present version.

    Raises InputError where the file cannot be read, is no JSON or is no record.
    """
    record = read_json(path, JOB_RECORD)
    parse_job(record)  # so that a problem is told under the names that the file uses
    return upgraded(record) if is_version_1(record) else record


def save_job(job: Job, path: str | Path) -> Path | None:
    """Write a job's record to a file, whole or not at all.

    Returns where the text of a record of version 1 was kept, None where the file held none. Raises
    InputError where a file cannot be written; ``path`` is then as it was.
    """
    return save_record(dump_job(job), path)


def save_record(record: Mapping[str, Any], path: str | Path) -> Path | None:
    """Write a decoded record to a file as `save_job` does; it is not judged here."""
    data = record_text(record).encode("utf-8")
    kept = keep_version_1(path)
    write_atomic(path, data)
    return kept


def record_text(record: Mapping[str, Any]) -> str:
    """A decoded record as its file holds it."""
    return json.dumps(record, indent=2, ensure_ascii=False) + "\n"


def keep_version_1(path: str | Path) -> Path | None:
    """Keep the text of a record of version 1 beside its file, before that is written.

    Returns the file that has the text: `job.version1.json` beside `job.json`, or where that has another
    content the first free one of `job.version1.2.json` and so on. None where the file is not there
    or holds no record of version 1. Raises InputError where the text cannot be written.
    """
    path = Path(path)
    try:
        data = read_bytes(path, JOB_RECORD)
        record = decode_json(data, path, JOB_RECORD)
    except InputError:
        return None
    if record.get("format") != FORMAT or not is_version_1(record):
        return None
    for number in count(1):
        ending = ".version1.json" if number == 1 else f".version1.{number}.json"
        stem = path.stem if path.suffix.lower() in JOB_ENDINGS else path.name
        kept = path.with_name(stem + ending)
        if not kept.exists():
            write_atomic(kept, data)
            return kept
        if kept.is_file() and read_bytes(kept, JOB_RECORD) == data:
            return kept
    raise AssertionError("there is always a free number")


def kept_words(kept: Path | None) -> str:
    """The sentence, after a blank, that tells where `save_record` kept a text; empty for none."""
    name = "" if kept is None else file_name(kept.name)
    return f" The record of version 1 that was there is kept as {name}." if name else ""
