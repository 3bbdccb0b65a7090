"""The command `layoutkit axis`: the PAP from the marks of an oil ring, and into a record."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.commands.common import FINE, Command, json_line, named
from layoutkit.commands.job_options import form_arguments
from layoutkit.commands.streams import write
from layoutkit.errors import InputError
from layoutkit.units import as_hand

if TYPE_CHECKING:
    from layoutkit.bench.axis import AxisFit
    from layoutkit.bench.track import Track
    from layoutkit.job.record import Job


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("marks", metavar="MARK", nargs="*", help="a mark on the ring, as said above")
    p.add_argument("--track", metavar="FILE", help="a track file, in place of marks")
    p.add_argument(
        "--known",
        metavar="'NAME = OVER, UP'",
        action="append",
        default=[],
        help="a point from which arcs are measured; grip, the grip centre, is always known",
    )
    p.add_argument(
        "--hand", type=as_hand, choices=("right", "left"), help="the bowler's hand (default: right)"
    )
    p.add_argument(
        "--diameter", metavar="IN", help=f"of the ball that was thrown (default: {USUAL_DIAMETER})"
    )
    p.add_argument(
        "--standard-deviation",
        metavar="IN",
        help="of what is measured for a mark (default: 1/16)",
    )
    # what earlier versions called it
    p.add_argument("--tolerance", help=argparse.SUPPRESS)
    p.add_argument(
        "--shared", action="store_true", help="fit all rings about one axis, not each its own"
    )
    p.add_argument("--job", metavar="JOB", help="take hand and ball diameter from this record")
    p.add_argument("--write", action="store_true", help="put the PAP into the record of --job")
    form_arguments(p)


def run(args: argparse.Namespace) -> int:
    """Fit the axis, write it into the record where that is asked for, print it."""
    if args.write and args.job is None:
        raise InputError("--write: there is no record to write to; give --job JOB too.")
    if args.write:
        from layoutkit.job.files import locked

        with locked(args.job):
            return _fit_and_write(args)
    return _fit_and_write(args)


def _fit_and_write(args: argparse.Namespace) -> int:
    track = _track(args)
    job, record = (None, None) if args.job is None else _job_and_record(args.job)
    hand = _hand(args, track, job)
    fit = _fit(args, track, job)
    written = ""
    if args.write:
        assert record is not None
        written = _write_pap(args.job, record, fit)
    from layoutkit.output.axis_report import axis_dict, axis_text

    if args.json:
        write(json_line(axis_dict(fit, hand)))
    else:
        write(axis_text(fit, hand, args.units) + written)
    return FINE


def _track(args: argparse.Namespace) -> Track:
    from layoutkit.bench.track import from_lines, load_track

    if args.track is not None:
        if args.marks or args.known:
            raise InputError("--track: the file holds the marks; leave MARK and --known out.")
        return load_track(args.track)
    if not args.marks:
        raise InputError("there are no marks; give three or more MARKs or --track FILE.")
    known = [("--known", f"known {text.strip()}") for text in args.known]
    for name, text in known:
        if "=" not in text:
            raise InputError(f"{name}: states no place; possible: 'NAME = OVER, UP'.")
    for text in args.marks:
        if "=" in text:
            raise InputError(
                "MARK: has an =; set values in a track file or by an option, not in a MARK."
            )
    marks = [(f"mark {i}", text) for i, text in enumerate(args.marks, start=1)]
    return from_lines([*known, *marks])


def _job_and_record(path: str) -> tuple[Job, dict[str, Any]]:
    from layoutkit.job.record import parse_job
    from layoutkit.job.store import load_record

    record = load_record(path)
    return parse_job(record), record


def _hand(args: argparse.Namespace, track: Track, job: Job | None) -> str:
    sources = {"--hand": args.hand, "the track's hand": track.hand}
    if job is not None:
        sources["the record's hand"] = job.bowler.hand
    stated = [(name, hand) for name, hand in sources.items() if hand is not None]
    if not stated:
        return "right"
    name, hand = stated[0]
    for other_name, other_hand in stated[1:]:
        if other_hand != hand:
            raise InputError(f"{name} is {hand} but {other_name} is {other_hand}; they must agree.")
    return str(hand)


def _fit(args: argparse.Namespace, track: Track, job: Job | None) -> AxisFit:
    from layoutkit.bench import axis as bench_axis
    from layoutkit.bench.track import DEVIATION, setting

    diameter, deviation = track.diameter, track.deviation
    if args.diameter is not None:
        diameter = setting("diameter", args.diameter.strip(), "--diameter")
    for option in ("--tolerance", "--standard-deviation"):
        text = getattr(args, option[2:].replace("-", "_"))
        if text is not None:
            deviation = setting(DEVIATION, text.strip(), option)
    if diameter is None:
        diameter = USUAL_DIAMETER if job is None else 2.0 * job.ball.radius
    radius = diameter / 2.0
    return bench_axis.fit_axis(
        track.rings(radius), radius, deviation or bench_axis.DEVIATION, args.shared
    )


def _write_pap(path: str, record: dict[str, Any], fit: AxisFit) -> str:
    """Write the record with the fitted PAP, to 1/32 in; everything else stays as it was typed.

    Returns the sentence that says so.
    """
    from layoutkit.job.record import parse_job
    from layoutkit.job.store import kept_words, save_record
    from layoutkit.units import fraction

    over, up = (fraction(value, 32) for value in (fit.over, fit.up))
    side, size = ("down", up[1:]) if up.startswith("-") else ("up", up)
    record["bowler"]["pap"] = {"over": over, side: size}
    parse_job(record)
    kept = save_record(record, path)
    return f"\nPAP {over} in over, {size} in {side} written to {named(path)}.{kept_words(kept)}\n"


COMMAND = Command(
    "axis",
    "find the PAP from marks on the track",
    "Find the bowler's axis point, tilt and track from three or more marks on the first oil ring of "
    "a thrown\nball. Each MARK is OVER, UP from the grip centre, OVER negative toward the negative "
    "side and UP negative\ntoward the thumb, for both hands; or its arcs from two known points, "
    "'pin 5 11/16, grip 3', of whose\ntwo crossings the one farther toward the negative side is "
    "meant unless positive, fingers or thumb follows.\nA track file holds the same, one mark a "
    "line, or is CSV (ring, over, up) or JSON.",
    "  layoutkit axis '-5 1/16, 4 11/16' '-3 1/8, 2 1/16' '-2 9/16, -3' '-3 1/16, -5 3/16'\n"
    "  layoutkit axis 'pin 5 11/16, grip 3' '-5 1/16, 4 11/16' '-3 1/16, -5 3/16' "
    "--known 'pin = 1, 3'\n"
    "  layoutkit axis --track sample_bowlers/track.txt --job job.json --write",
    arguments,
    run,
)
