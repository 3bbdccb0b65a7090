"""Job files and samples: reading, saving with a copy of what was there, changes by others."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

from layoutkit.job.files import JOB_RECORD, read_bytes, write_atomic
from layoutkit.job.samples import SAMPLES, samples

__all__ = ("NO_SAMPLES", "backup", "digest", "digest_on_disk", "record_bytes", "samples", "save")

NO_SAMPLES = f'No samples found: they are in the folder "{SAMPLES}" of the source; open them there.'


def digest(data: bytes) -> str:
    """What tells one content of a file from another."""
    return hashlib.sha256(data).hexdigest()


def digest_on_disk(path: Path) -> str:
    """The digest of a file as it is now, "" when it is not there; InputError where unreadable."""
    return digest(read_bytes(path, JOB_RECORD)) if path.exists() else ""


def record_bytes(record: dict[str, Any]) -> bytes:
    """A record as it is written to a file."""
    try:
        return f"{json.dumps(record, indent=2, ensure_ascii=False)}\n".encode()
    except UnicodeEncodeError:  # a lone surrogate, which the record refuses but a draft may hold
        return f"{json.dumps(record, indent=2)}\n".encode()


def save(record: dict[str, Any], path: Path) -> str:
    """Write a record, keeping what the file held before as `.bak`; returns the new digest.

    Raises InputError where either cannot be written; the file is then as it was.
    """
    data = record_bytes(record)
    if path.exists():
        before = read_bytes(path, JOB_RECORD)
        if before != data:
            write_atomic(backup(path), before)
    write_atomic(path, data)
    return digest(data)


def backup(path: Path) -> Path:
    """The file that keeps what a job's file held before the last save."""
    return path.with_name(f"{path.name}.bak")
