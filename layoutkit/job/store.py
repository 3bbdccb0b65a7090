"""Job records in files: loaded, and saved whole or not at all."""

import json
from pathlib import Path

from layoutkit.job.files import JOB_RECORD, decode_json, read_json, write_atomic
from layoutkit.job.record import Job, dump_job, parse_job


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


def save_job(job: Job, path: str | Path) -> None:
    """Write a job's record to a file, whole or not at all.

    Raises InputError where the file cannot be written.
    """
    text = json.dumps(dump_job(job), indent=2, ensure_ascii=False) + "\n"
    write_atomic(path, text.encode("utf-8"))
