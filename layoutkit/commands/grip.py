"""The command `layoutkit grip`: copy the grip of a ball that fits, and help with one that does not."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from layoutkit.commands.common import (
    FINE,
    Command,
    json_line,
    named,
    refuse_another_kind,
    refuse_input_as_output,
    refuse_other_than_pdf,
    refuse_overwriting,
    today,
)
from layoutkit.commands.job_options import form_arguments
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.bench.fit import Complaint
    from layoutkit.bench.grip_copy import GripCopy
    from layoutkit.book.book import PitchRange

LIST = ""  # --fit without a complaint


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    what = p.add_mutually_exclusive_group()
    what.add_argument("measured", metavar="MEASURED.json", nargs="?", help="the ball as measured")
    what.add_argument("--new", metavar="OUT.json", help="write a form to fill in, and stop")
    what.add_argument(
        "--fit",
        metavar="COMPLAINT",
        nargs="?",
        const=LIST,
        help="what to look at where a grip does not fit; alone, the list of complaints",
    )
    what.add_argument(
        "--guide", metavar="OUT.pdf", help="write a page that shows how to measure, and stop"
    )
    p.add_argument("--out", metavar="GRIP.json", help="write the record's grip block to a file")
    p.add_argument(
        "--into",
        metavar="JOB.json",
        help="write the grip into a job record, or with --fit a line into its notes",
    )
    p.add_argument(
        "--force", action="store_true", help="replace the file of --new, --out or --guide"
    )
    p.add_argument("--paper", choices=("letter", "a4"), help="of --guide (default: letter)")
    form_arguments(p)


def run(args: argparse.Namespace) -> int:
    """Copy a grip, write the form or the guide, or print help with the fit."""
    if args.guide is not None:
        _refuse(args, "--guide", "out", "into", "json")
        return _guide(args)
    if args.paper is not None:
        raise InputError("--paper: is the guide's; give --guide OUT.pdf too.")
    if args.new is not None:
        _refuse(args, "--new", "out", "into", "json")
        return _new(args)
    if args.fit is not None:
        _refuse(args, "--fit", "out", "force")
        return _fit(args)
    if args.measured is None:
        raise InputError(
            "nothing to do; give MEASURED.json, --new OUT.json for a form to fill in, --fit for help "
            "with the fit, or --guide OUT.pdf for how to measure."
        )
    if args.force and args.out is None:
        raise InputError("--force: replaces a file; give --out GRIP.json too.")
    if args.out is not None:
        refuse_input_as_output("--out", args.out, (args.measured, args.into))
        refuse_overwriting(args.out, args.measured, args.force)
    refuse_input_as_output("--into", args.into, (args.measured,))
    return _copy(args)


def _refuse(args: argparse.Namespace, option: str, *others: str) -> None:
    """Raise InputError for an option that does not go with another one."""
    for name in others:
        if getattr(args, name):
            raise InputError(f"--{name}: does not go with {option}; leave one of them out.")


def _new(args: argparse.Namespace) -> int:
    refuse_overwriting(args.new, None, args.force)
    from layoutkit.job.files import write_atomic
    from layoutkit.job.measured import form_text

    write_atomic(args.new, form_text(today()).encode("utf-8"))
    write(
        f"Wrote {named(args.new)}: replace every null by what you measure, then run `layoutkit grip "
        f"{named(args.new)}`.\n"
    )
    return FINE


def _guide(args: argparse.Namespace) -> int:
    refuse_other_than_pdf("--guide", args.guide)
    refuse_another_kind("--guide", args.guide, args.force)
    from layoutkit.output.grip_guide import write_guide

    write_guide(args.guide, args.paper or "letter")
    write(f"Guide written to {named(args.guide)}.\n")
    return FINE


# --- a copied grip --------------------------------------------------------------------------------


def _copy(args: argparse.Namespace) -> int:
    from layoutkit.bench.grip_copy import copied
    from layoutkit.job.measured import load_measured
    from layoutkit.output.grip_report import grip_dict, grip_text

    copy = copied(load_measured(args.measured))
    written = ""
    if args.into is not None:
        written += _into(args.into, copy)
    if args.out is not None:
        written += _out(args.out, copy)
    write(json_line(grip_dict(copy)) if args.json else grip_text(copy, args.units) + written)
    return FINE


def _out(path: str, copy: GripCopy) -> str:
    import json

    from layoutkit.bench.grip_copy import record_grip
    from layoutkit.job.files import write_atomic

    text = json.dumps(record_grip(copy), indent=2) + "\n"
    write_atomic(path, text.encode("utf-8"))
    return f'\nThe record\'s grip written to {named(path)}: put it under "bowler", as "grip".\n'


def _into(path: str, copy: GripCopy) -> str:
    """Put the grip into a job's record, which stays held while it is changed."""
    from layoutkit.bench.grip_copy import record_grip

    def changed(record: dict[str, Any]) -> None:
        bowler, hand = record["bowler"], copy.measured.hand
        from layoutkit.units import as_hand

        if as_hand(bowler["hand"]) != hand:
            raise InputError(
                f"--into: the ball was measured for the {hand} hand, and the record's bowler has the "
                "other; measure another ball, or name another record."
            )
        if record.get("as_drilled") is not None:
            raise InputError(
                "--into: the record has as_drilled, which would take the place of the grip; take it "
                "out, or name the record of a ball that is not drilled yet."
            )
        bowler["grip"] = record_grip(copy)

    return f"\nGrip written into {named(path)}.{_change(path, changed)}\n"


def _change(path: str, changed: Any) -> str:
    """Change a record under its lock, whole or not at all; returns the words of `kept_words`."""
    from layoutkit.job.files import locked
    from layoutkit.job.record import parse_job
    from layoutkit.job.store import kept_words, load_record, save_record

    with locked(path):
        record = load_record(path)
        changed(record)
        parse_job(record)
        return kept_words(save_record(record, path))


# --- fit ------------------------------------------------------------------------------------------


def _fit(args: argparse.Namespace) -> int:
    from layoutkit.output.grip_report import complaints_text, fit_dict, fit_text

    if args.fit == LIST:
        _refuse(args, "the list of complaints", "into", "json")
        write(complaints_text())
        return FINE
    from layoutkit.bench.fit import complaint

    try:
        found = complaint(args.fit)
    except InputError as error:
        raise InputError(f"--fit: {error}") from None
    written = "" if args.into is None else _note(args.into, found)
    own = _own_pitches()
    if args.json:
        write(json_line(fit_dict(found, today(), own)))
    else:
        write(fit_text(found, today(), own) + written)
    return FINE


def _own_pitches() -> list[PitchRange]:
    """What the grips of the shop's book have, none where there is no book."""
    from layoutkit.book.schema import book_path

    if not book_path().exists():
        return []
    from layoutkit.book.book import Book

    with Book(book_path(), create=False) as book:
        return book.thumb_pitches()


def _note(path: str, found: Complaint) -> str:
    from layoutkit.bench.fit import note

    def changed(record: dict[str, Any]) -> None:
        notes = record.get("notes") or ""
        record["notes"] = f"{notes.rstrip()}\n{note(found, today())}".lstrip()

    return f"\nThe line was added to the notes of {named(path)}.{_change(path, changed)}\n"


COMMAND = Command(
    "grip",
    "copy the grip of a ball that fits, or help with one that does not",
    "Turn what was measured on a drilled ball into the grip of a job record: the bridge at the cut "
    "edges\ninto that square to the centreline, depths under a bar into depths along the axis, a stiff "
    "rule's chords\ninto arcs. Each figure comes with what errors of measuring make of it, and with a "
    "sentence where one is\nodd. With --fit: what a fitter looks at for a complaint, no diagnosis.",
    "  layoutkit grip --guide guide.pdf\n"
    "  layoutkit grip --new measured.json\n"
    "  layoutkit grip measured.json --into job.json\n"
    "  layoutkit grip measured.json --out grip.json\n"
    "  layoutkit grip --fit thumb-hangs",
    arguments,
    run,
)
