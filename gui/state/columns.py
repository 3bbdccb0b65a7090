"""Which column of a shop's table stands for what: asked once, then remembered by the table's headings."""

from __future__ import annotations

import json
import logging
from collections.abc import Mapping, Sequence
from pathlib import Path

from layoutkit.errors import InputError
from layoutkit.job.files import write_atomic
from layoutkit.job.tables import Wanted, nearest_name, read_columns

FILE = "columns.json"
MOST = 50  # tables; the one that was asked about first is forgotten first
UNITS = ("", "lb", "kg", "oz", "g", "in", "mm")

log = logging.getLogger("layoutkit.window")

Answer = Mapping[
    str, str
]  # what each heading stands for, `gross kg`; empty for one kept as it stands


def remembered(config: Path, headings: Sequence[str]) -> dict[str, str] | None:
    """What was answered about a table of these headings; None where nobody was asked."""
    answer = _all(config).get(_key(headings))
    return None if answer is None else {h: answer.get(h, "") for h in headings}


def remember(config: Path, headings: Sequence[str], answer: Answer) -> None:
    """Remember an answer; where that cannot be written it is logged, and asked again next time."""
    kept = _all(config)
    kept.pop(_key(headings), None)
    kept[_key(headings)] = dict(answer)
    text = json.dumps(dict(list(kept.items())[-MOST:]), indent=1, ensure_ascii=False)
    try:
        config.mkdir(parents=True, exist_ok=True)
        write_atomic(config / FILE, f"{text}\n".encode())
    except (OSError, InputError) as error:
        log.warning("columns are not remembered: %s", error)


def guessed(headings: Sequence[str], possible: Sequence[str]) -> dict[str, str]:
    """What each heading probably stands for, no name twice."""
    left = list(possible)
    answer = {}
    for heading in headings:
        answer[heading] = nearest_name(heading, left)
        left = [name for name in left if name != answer[heading]]
    return answer


def wanted(answer: Answer, possible: Sequence[str]) -> dict[str, Wanted]:
    """An answer as `read_table` takes it; raises InputError for a name that is given twice."""
    stated = (f"{heading}={target}" for heading, target in answer.items() if target and heading)
    return read_columns(['"' + text.replace('"', '""') + '"' for text in stated], possible) if (
        any(answer.values())
    ) else {}  # fmt: skip


def _key(headings: Sequence[str]) -> str:
    return "\t".join(headings)


def _all(config: Path) -> dict[str, dict[str, str]]:
    try:
        content = json.loads((config / FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(content, dict):
        return {}
    return {
        key: {h: t for h, t in answer.items() if isinstance(t, str)}
        for key, answer in content.items()
        if isinstance(answer, dict)
    }
