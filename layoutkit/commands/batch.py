"""Many jobs in one call: files, folders and patterns in, one line a job and a summary out.

A command does one job as it always did. Called with several, it does one after the other; what it would
have printed is read as JSON, of which its line is made, and a job that cannot be used is told in its
line while the others go on. Folders and patterns are expanded here, since not every shell does.
"""

from __future__ import annotations

import argparse
import copy
import gc
import glob
import json
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from layoutkit.commands.common import (
    BAD_INPUT,
    FAILS,
    FINE,
    INCOMPLETE,
    INTERNAL_ERROR,
    exit_code,
    json_line,
    named,
    quoted,
)
from layoutkit.commands.job_options import BOOK, as_read
from layoutkit.commands.streams import (
    collected,
    complain,
    keep_traceback,
    progress_bar,
    wipe_bar,
    write,
)
from layoutkit.errors import InputError, LayoutkitError

# the worst first, of several jobs' exit codes
_WORST = (INTERNAL_ERROR, BAD_INPUT, FAILS, INCOMPLETE, FINE)
_UNUSABLE = "unusable"
_KEPT_OLD = ".version1."  # in the names of old records that are kept beside new ones

Run = Callable[[argparse.Namespace], int]


class Output(NamedTuple):
    """An option that writes a file a job, and how that file's name ends in a folder of them."""

    option: str
    ending: str

    @property
    def dest(self) -> str:
        """The name of the option in the arguments."""
        return self.option.lstrip("-").replace("-", "_")


class Done(NamedTuple):
    """What came of one job: its exit code, outcome, the line about it, and its values as JSON."""

    code: int
    outcome: str
    line: str
    values: Mapping[str, Any]


def many(
    run: Run,
    line: Callable[[Mapping[str, Any]], str],
    outputs: Sequence[Output] = (),
    single: Sequence[str] = ("--confirm",),
) -> Run:
    """A command's ``run`` for one job, for as many as the arguments' ``jobs`` name.

    ``line`` makes the rest of a job's line of the JSON that ``run`` prints of it; of a command without
    JSON it gets the printed text under "text". The options of ``outputs`` must name a folder where
    there are several jobs, and those of ``single`` are for one job only.
    """

    def run_all(args: argparse.Namespace) -> int:
        sources, several = expanded(args.jobs)
        if not several:
            args.job = sources[0]
            return run(args)
        _refuse(args, single)
        folders = _folders(args, outputs, sources)
        return _run_each(args, run, line, folders, sources)

    return run_all


def expanded(words: Sequence[str]) -> tuple[list[str], bool]:
    """The jobs that some words name, each once, and whether they count as several.

    A folder stands for the records in it, a pattern (`*`, `?`, `[...]`, `**`) for the files that match;
    either counts as several, whatever it comes to. Raises InputError for a word that names none.
    """
    sources: list[str] = []
    several = len(words) > 1
    for word in words:
        if word == "-" or word.startswith(BOOK) or os.path.isfile(word):
            if word == "-" and len(words) > 1:
                raise InputError("-: standard input is one job; give it alone.")
            sources.append(word)
            continue
        pattern = glob.has_magic(word)
        if not pattern and not os.path.isdir(word):
            sources.append(word)  # its own error is told where it is read
            continue
        several = True
        matches = glob.glob(
            word if pattern else os.path.join(glob.escape(word), "*"), recursive=True
        )
        if not pattern:
            from layoutkit.job.files import JOB_ENDINGS

            matches = [m for m in matches if m.lower().endswith(JOB_ENDINGS)]
        records = sorted(m for m in matches if os.path.isfile(m) and _KEPT_OLD not in m)
        if not records:
            what = (
                "no file matches it"
                if pattern
                else "is a directory with no .json file in it, and no .layoutjob"
            )
            raise InputError(f"{quoted(word)}: {what}.")
        sources += records
    real = {s: s if s.startswith(BOOK) else os.path.realpath(s) for s in sources}
    once = {real[s]: s for s in reversed(sources)}
    return [s for s in dict.fromkeys(sources) if once[real[s]] == s], several


def _refuse(args: argparse.Namespace, single: Iterable[str]) -> None:
    """Raise InputError for an option that is for one job only."""
    for option in single:
        if getattr(args, option.lstrip("-").replace("-", "_"), None):
            raise InputError(f"{option}: is for one job; give one file.")


def _folders(
    args: argparse.Namespace, outputs: Iterable[Output], sources: Sequence[str]
) -> dict[Output, list[str]]:
    """For each option that writes, the file of each job. Raises InputError where it names no folder."""
    files: dict[Output, list[str]] = {}
    for output in outputs:
        folder = getattr(args, output.dest)
        if folder is None:
            continue
        if not os.path.isdir(folder):
            raise InputError(
                f"{output.option}: {quoted(folder)} is no folder; with several jobs give one that is "
                "there, and each job's file goes into it."
            )
        names = [_stem(source) + output.ending for source in sources]
        for n, name in enumerate(names):
            if name in names[:n]:
                raise InputError(
                    f"{output.option}: {quoted(sources[names.index(name)])} and {quoted(sources[n])} "
                    f"would both be written to {quoted(name)}; do them apart."
                )
        files[output] = [os.path.join(folder, name) for name in names]
    return files


def _stem(source: str) -> str:
    """A job's name without folder and ending; a job of the book by its number."""
    return os.path.splitext(os.path.basename(source.replace(BOOK, "book-")))[0]


def _run_each(
    args: argparse.Namespace,
    run: Run,
    line: Callable[[Mapping[str, Any]], str],
    folders: Mapping[Output, Sequence[str]],
    sources: Sequence[str],
) -> int:
    gc.enable()  # one short run does without, hundreds of plans do not
    as_json = bool(getattr(args, "json", False))
    width = min(max(len(named(source)) for source in sources), 60)
    show = progress_bar()
    counts: dict[str, int] = {}
    codes = set()
    for n, source in enumerate(sources):
        show(n, len(sources))
        own = copy.copy(args)
        own.job = source
        for output, files in folders.items():
            setattr(own, output.dest, files[n])
        done = _one(own, run, line)
        counts[done.outcome] = counts.get(done.outcome, 0) + 1
        codes.add(done.code)
        wipe_bar()
        if done.outcome == _UNUSABLE and getattr(args, "quiet", False):
            complain(LayoutkitError(f"{named(source)}: {done.line}"))
        if as_json:
            write(json_line({"file": source, **done.values}))
        else:
            word = done.outcome if done.outcome in ("pass", "done") else done.outcome.upper()
            write(f"{named(source):<{width}}  {word:<10}  {done.line}".rstrip() + "\n")
    if not as_json:
        told = ", ".join(f"{count} {outcome}" for outcome, count in counts.items())
        write(f"\n{len(sources)} jobs: {told}.\n")
    return next(code for code in _WORST if code in codes)


def _one(args: argparse.Namespace, run: Run, line: Callable[[Mapping[str, Any]], str]) -> Done:
    """One job of several; what is wrong with it is in its line."""
    has_json = hasattr(args, "json")
    args.json = True
    try:
        with collected() as texts:
            code = run(args)
    except LayoutkitError as error:
        told = as_read(error, args)
        if isinstance(told, InputError) and told.file == named(args.job):  # the line begins with it
            told = InputError(told.words, told.field)
        words = " ".join(str(told).split())
        return Done(BAD_INPUT, _UNUSABLE, words, {"error": words})
    except Exception:
        place = keep_traceback()
        where = f"what happened is in {place}" if place else "no log of it could be written"
        words = f"an error of the program itself stopped it; {where}."
        return Done(INTERNAL_ERROR, _UNUSABLE, words, {"error": words})
    text = "".join(texts)
    values: dict[str, Any] = json.loads(text) if has_json else {"text": text.strip()}
    outcome = next(iter(_outcomes(values)), None)
    if outcome is None or exit_code(outcome) != code:  # a command that judges nothing, or by more
        outcome = {FAILS: "fail", INCOMPLETE: "incomplete"}.get(code, "done")
    return Done(code, outcome, line(values), values)


def _outcomes(values: Mapping[str, Any]) -> Iterable[Any]:
    """The outcomes that a command's JSON states, its own or those of its shots."""
    if values.get("outcome"):
        yield values["outcome"]
    for shot in values.get("shots", ()):
        yield shot["outcome"]


# --- the lines --------------------------------------------------------------------------------------


def statics_line(statics: Mapping[str, Any]) -> str:
    """The weights of a plan or a weighing in a few words, by the names of a plan's."""
    words = []
    for name in ("side", "finger", "top"):
        value = statics.get(f"{name}_oz")
        words.append(f"{name} {'not known' if value is None else f'{value:+.2f} oz'}")
    gross = statics.get("weight_lb")
    return ", ".join([*words, *([] if gross is None else [f"gross {gross:.2f} lb"])])


def checks_line(values: Mapping[str, Any]) -> str:
    """The checks that made an outcome other than pass."""
    outcome = values.get("outcome")
    those = [c["name"] for c in values.get("checks", ()) if c["outcome"] == outcome != "pass"]
    return f" ({', '.join(those)})" if those else ""
