"""The command line: `layoutkit plan`, `sure`, `roll`, `map`, `weigh`, `scale`, `axis` and more.

Exit codes: 0 fine, 1 the plan or the weighed ball fails a rule, 2 bad input. Bad input is one
sentence on standard error, and no file is touched.

Start-up is most of what a command costs, so every command imports what it needs itself, and the
drawing library is imported for a sheet only.
"""

from __future__ import annotations

import argparse
import errno
import gc
import json
import math
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple, NoReturn, TextIO

from layoutkit import __version__
from layoutkit.commands import axis as cli_axis
from layoutkit.commands import redrill as cli_redrill
from layoutkit.commands import roll as cli_roll
from layoutkit.commands import shop as cli_shop
from layoutkit.errors import InputError, LayoutkitError
from layoutkit.units import as_hand

if TYPE_CHECKING:
    from layoutkit.bench.weighing import Stage
    from layoutkit.job.record import Job
    from layoutkit.job.rules import RuleSet
    from layoutkit.planning.layout import PAP, Stated
    from layoutkit.planning.values import Plan
    from layoutkit.units import Units

FINE, FAILS, BAD_INPUT = 0, 1, 2
INTERRUPTED = 130  # what a shell reports for a program stopped by ctrl-C

CONVERT_DIAMETER = 8.55  # inches; a usual ball, within the 8.500 to 8.595 in of the rules
MOST_MEASURED_OZ = 16.0  # a scale's imbalance beyond this is a slip of the pen
LEAST_GROSS_LB, MOST_GROSS_LB = 3.0, 18.0  # a drilled ball; the record allows 4 to 18 lb undrilled


def main(argv: list[str] | None = None) -> int:
    """Run the command line and return the exit code; None takes this process's own arguments."""
    return _own_process() if argv is None else _run(argv)


def _own_process() -> int:
    """Run as a program: settings that belong to the whole process are made here only."""
    # One short run: collecting garbage, and tearing all down at the end, costs more than it frees.
    gc.disable()
    # No plug-in is needed to read a record; looking for them reads every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # absent where the stream is closed or replaced
            # names in records are not ASCII everywhere, whatever the locale says
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        return _run(sys.argv[1:])
    except KeyboardInterrupt:
        return INTERRUPTED
    finally:
        gc.freeze()


def _run(argv: list[str]) -> int:
    try:
        args = _parser().parse_args([_guarded(word) for word in argv])
        return _COMMANDS[args.command].run(args)
    except LayoutkitError as error:
        _complain(error)
        return BAD_INPUT
    except SystemExit:  # after --help and --version, which have printed what they have to
        return FINE


# --- the commands' arguments ----------------------------------------------------------------------


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are sentences like all others, and whose help is printed by `_write`.

    argparse's own printing ends in a traceback where the reader has gone away, in some versions of
    Python.
    """

    def error(self, message: str) -> NoReturn:
        raise InputError(f"{message}; see {self.prog} --help.")

    def print_help(self, file: object = None) -> None:
        """Print the help to standard output."""
        _write(self.format_help())


class _ShowVersion(argparse.Action):
    """Prints the version, and ends the command."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        _write(f"layoutkit {__version__}\n")
        parser.exit()


def _guarded(word: str) -> str:
    """A word that argparse will not take for an option.

    argparse knows plain negative numbers, not `-1/2` or `-3-3/8in`; a blank in front tells it that
    the word is a value, and no value's reader minds a blank.
    """
    rest = word[1:].lstrip()
    return f" {word}" if word[:1] == "-" and (rest[:1].isdigit() or rest[:1] == ".") else word


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="layoutkit",
        description="Plan the drilling of a bowling ball: marks, holes, static weights, inertia "
        "and legality.",
        epilog="Exit codes: 0 fine, 1 a rule is failed, 2 bad input.\n\n"
        "example:\n  layoutkit plan sample_bowlers/01_right_asymmetric.json",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_ShowVersion, nargs=0, help="show the version and exit")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name, command in _COMMANDS.items():
        added = commands.add_parser(
            name,
            help=command.summary,
            description=command.description,
            epilog=f"example:\n{command.example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        command.arguments(added)
    return parser


def _job_arguments(p: argparse.ArgumentParser) -> None:
    """What every command that plans a job takes."""
    p.add_argument("job", metavar="JOB", help="the job record, a JSON file; - reads standard input")
    form = p.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print JSON at full precision")
    _units(form)
    p.add_argument(
        "--rules", metavar="FILE.json", help="a shop's own rule set, in place of the record's"
    )
    cli_shop.shop_arguments(p)


def _plan_arguments(p: argparse.ArgumentParser) -> None:
    _job_arguments(p)
    p.add_argument(
        "--sheet",
        metavar="OUT.pdf",
        help="also write the work sheet, always in inches: one page, with odd holes perhaps two",
    )
    p.add_argument("--paper", choices=("letter", "a4"), help="the sheet's paper (default: letter)")
    p.add_argument(
        "--roll",
        action="store_true",
        help="the sheet also says what the ball does on the lane, as it does where the record has a "
        "release",
    )


def _weigh_arguments(p: argparse.ArgumentParser) -> None:
    _job_arguments(p)
    p.add_argument("--gross", metavar="LB", help="gross weight, drilled: 14.94 or '6.78 kg'")
    p.add_argument("--top", metavar="OZ", help="top weight, negative for bottom weight")
    p.add_argument("--side", metavar="OZ", help="side weight, positive on the PAP side")
    p.add_argument("--finger", metavar="OZ", help="finger weight, negative for thumb weight")
    p.add_argument("--undrilled", action="store_true", help="the ball is not drilled yet")
    p.add_argument("--record", action="store_true", help="keep what was measured in the job record")
    p.add_argument("--by", metavar="NAME", help="for --record: who weighed it")
    p.add_argument("--date", metavar="DAY", help="for --record: year-month-day (default: today)")


def _shelf_arguments(p: argparse.ArgumentParser) -> None:
    _job_arguments(p)
    cli_shop.shelf_arguments(p)


def _convert_arguments(p: argparse.ArgumentParser) -> None:
    p.add_argument(
        "--to", required=True, choices=tuple(_STATEMENTS), help="how the layout is to be stated"
    )
    p.add_argument(
        "statement",
        metavar="BY",
        choices=tuple(_STATEMENTS),
        help="how it is stated: angles, distances or placement",
    )
    p.add_argument("values", metavar="VALUE", nargs=3, help="its three numbers, as listed above")
    p.add_argument(
        "--diameter",
        metavar="IN",
        default=str(CONVERT_DIAMETER),
        help="the ball's diameter (default: %(default)s)",
    )
    p.add_argument(
        "--psa",
        metavar="ARC",
        default="quarter",
        help="for distances: arc from the pin to the PSA mark, or quarter for 90 degrees "
        "(default: %(default)s)",
    )
    p.add_argument(
        "--pap",
        metavar=("OVER", "UP"),
        nargs=2,
        help="for placement: the PAP from the grip centre, UP negative toward the thumb",
    )
    p.add_argument(
        "--obtuse-val-angle",
        action="store_true",
        help="from distances: of the two VAL angles take the one beyond 90 degrees",
    )
    form = p.add_mutually_exclusive_group()
    form.add_argument(
        "--json", action="store_true", help="print the layout as a record states it, full precision"
    )
    _units(form)


def _new_arguments(p: argparse.ArgumentParser) -> None:
    p.add_argument("out", metavar="OUT.json", nargs="?", help="the file (default: standard output)")
    source = p.add_mutually_exclusive_group()
    source.add_argument(
        "--from",
        dest="old",
        metavar="OLD.json",
        help="keep the bowler, the scale and the rule set of this record; ball and layout are "
        "left to fill in",
    )
    source.add_argument(
        "--hand",
        type=as_hand,
        choices=("right", "left"),
        help="the example bowler's hand (default: right)",
    )
    p.add_argument("--force", action="store_true", help="replace OUT.json where it exists")


def _schema_arguments(p: argparse.ArgumentParser) -> None:
    what = p.add_mutually_exclusive_group()
    what.add_argument(
        "--limits", action="store_true", help="print the physical range of every quantity instead"
    )
    what.add_argument(
        "--rules",
        metavar="NAME",
        help="print a built-in rule set instead, from which a shop can start its own file",
    )


def _units(group: argparse._MutuallyExclusiveGroup) -> None:
    group.add_argument(
        "--units",
        choices=("fraction", "decimal", "metric"),
        default="fraction",
        help="how the text prints lengths and weights (default: %(default)s)",
    )


# --- plan -----------------------------------------------------------------------------------------


def _plan(args: argparse.Namespace) -> int:
    if args.paper is not None and args.sheet is None:
        raise InputError(f"--paper {args.paper}: is for a sheet only; give --sheet OUT.pdf too.")
    if args.roll and args.sheet is None:
        raise InputError(
            "--roll: is for a sheet; give --sheet OUT.pdf too, or use the command `layoutkit roll`."
        )
    if args.sheet is not None and not args.sheet.lower().endswith(".pdf"):
        raise InputError(f"--sheet: {_quoted(args.sheet)} is no PDF name; possible: OUT.pdf.")
    for source in (args.job, args.rules):
        if args.sheet is not None and source is not None and _same_file(source, args.sheet):
            raise InputError(f"--sheet: {_quoted(args.sheet)} is read from; give another name.")
    result = _planned(args)
    if args.json:
        text = _json(result.as_dict())
    else:
        from layoutkit.output.report import report

        text = report(result, args.units)
    if args.sheet is not None:
        from layoutkit.output.sheet import write_sheet

        write_sheet(result, args.sheet, args.paper or "letter", args.roll)
        if not args.json:
            text += f"\nWork sheet written to {args.sheet}\n"
    _write(text)
    return FAILS if result.outcome == "fail" else FINE


def _planned(args: argparse.Namespace) -> Plan:
    """The plan of the record and the rules that the arguments name."""
    job = cli_shop.shop_job(_job(args.job), args)
    rules = None if args.rules is None else _rules(args.rules)
    from layoutkit.planning.plan import plan

    return plan(job, rules)


# --- sure, change and map ---------------------------------------------------------------------------


def _sure_arguments(p: argparse.ArgumentParser) -> None:
    _rule_arguments(p)
    p.add_argument("--json", action="store_true", help="print JSON at full precision")
    p.add_argument("--draws", default="2000", metavar="N", help="random draws (default: 2000)")


def _change_arguments(p: argparse.ArgumentParser) -> None:
    _rule_arguments(p)
    p.add_argument(
        "--shelf",
        metavar="BALLS.csv",
        help="also the balls of this table on which the layout passes, the likest label first",
    )
    p.add_argument("--json", action="store_true", help="print JSON at full precision")


def _map_arguments(p: argparse.ArgumentParser) -> None:
    from layoutkit.commands.sure import map_arguments

    _rule_arguments(p)
    map_arguments(p)


def _rule_arguments(p: argparse.ArgumentParser) -> None:
    p.add_argument("job", metavar="JOB", help="the job record, a JSON file; - reads standard input")
    p.add_argument("--rules", metavar="FILE.json", help="a shop's own rule set")
    cli_shop.shop_arguments(p)


def _sure(args: argparse.Namespace) -> int:
    from layoutkit.commands.sure import draws, run_sure

    number = draws(args.draws)
    return _told(run_sure(result := _planned(args), args.json, number), result)


def _change(args: argparse.Namespace) -> int:
    from layoutkit.commands.sure import run_change

    result = _planned(args)
    shelf = None
    if args.shelf is not None:
        shelf = cli_shop.read_shelf(result.job, result.rules, args.shelf)
    return _told(run_change(result, args.json, shelf), result)


def _map(args: argparse.Namespace) -> int:
    from layoutkit.commands.sure import run_map

    for source in (args.job, args.rules):
        if source is not None and _same_file(source, args.out):
            raise InputError(f"--out: {_quoted(args.out)} is read from; give another name.")
    return _told(run_map(result := _planned(args), args), result)


def _told(found: object, result: Plan) -> int:
    _write(found if isinstance(found, str) else _json(found))
    return FAILS if result.outcome == "fail" else FINE


# --- roll -----------------------------------------------------------------------------------------


def _roll_arguments(p: argparse.ArgumentParser) -> None:
    _job_arguments(p)
    cli_roll.arguments(p)


def _roll(args: argparse.Namespace) -> int:
    cli_roll.check(args)
    for option, out in (("--png", args.png), ("--pdf", args.pdf)):
        for source in (args.job, args.rules, *args.against):
            if out is not None and source is not None and _same_file(source, out):
                raise InputError(f"{option}: {_quoted(out)} is read from; give another name.")
    from layoutkit.planning.plan import plan

    rules = None if args.rules is None else _rules(args.rules)
    jobs = [cli_shop.shop_job(_job(source), args) for source in (args.job, *args.against)]
    jobs[0] = cli_roll.overridden(jobs[0], args)
    plans = [plan(job, rules) for job in jobs]
    _write(cli_roll.answer(plans, args))
    return FAILS if any(each.outcome == "fail" for each in plans) else FINE


# --- scale, shelf ---------------------------------------------------------------------------------


def _scale(args: argparse.Namespace) -> int:
    return _done(*cli_shop.scale(args))


def _shelf(args: argparse.Namespace) -> int:
    job = cli_shop.shop_job(_job(args.job), args)
    rules = None if args.rules is None else _rules(args.rules)
    return _done(*cli_shop.shelf(job, rules, args))


def _done(text: str, code: int) -> int:
    _write(text)
    return code


# --- weigh ----------------------------------------------------------------------------------------


def _weigh(args: argparse.Namespace) -> int:
    from layoutkit.bench.weighing import compare, from_undrilled, judge, predicted, ranges, recorded
    from layoutkit.job.rules import overall

    given = _measured(args)
    if args.record and (not given or args.job == "-"):
        raise InputError("--record: needs a job's file and something measured to keep in it.")
    if not args.record and (args.by or args.date):
        raise InputError("--by and --date: are kept in the record; give --record too.")
    stage: Stage = "undrilled" if args.undrilled else "drilled"
    result = _planned(args)
    if args.record:
        record, changed = _recorded(args, stage, given)
        result = replace(result, job=result.job.model_copy(update={"weighings": changed.weighings}))
    # without anything given, and with all that is kept, the record's own weighing is looked at
    measured = given if given and not args.record else recorded(result, stage)
    if not measured:
        raise InputError("nothing was measured; give --gross, --top, --side or --finger.")
    checks = judge(result, measured) if stage == "drilled" else ()
    outcome = overall(checks)
    told, ends = predicted(result, stage), ranges(result, stage)
    before = from_undrilled(result) if stage == "drilled" else {}
    if args.json:
        text = _json(
            {
                "format": "layoutkit-weighing",
                "version": 1,
                "title": result.job.title,
                "rules": result.rules.name,
                "stage": stage,
                "measured": {_FIELDS[k]: measured.get(k) for k in _FIELDS},
                "predicted": {_FIELDS[k]: told[k] for k in _FIELDS},
                "range": {_FIELDS[k]: ends[k] for k in _FIELDS},
                "difference": {
                    _FIELDS[k]: measured[k] - told[k] if k in measured else None for k in _FIELDS
                },
                "from_undrilled": {_FIELDS[k]: before.get(k) for k in _FIELDS},
                "checks": [c._asdict() for c in checks],
                "outcome": outcome if stage == "drilled" else None,
            }
        )
    else:
        from layoutkit.output.weighing_report import weighing_text

        rows = compare(result, measured, stage)
        text = weighing_text(result, stage, rows, args.units)
    if args.record:
        from layoutkit.job.files import write_atomic

        data = json.dumps(record, indent=2, ensure_ascii=False) + "\n"
        write_atomic(args.job, data.encode("utf-8"))
        if not args.json:
            text += f"\nKept in {args.job}, as weighed {stage}.\n"
    _write(text)
    return FAILS if outcome == "fail" else FINE


def _recorded(
    args: argparse.Namespace, stage: Stage, given: dict[str, float]
) -> tuple[dict[str, Any], Job]:
    """The record with what was measured put in, and the job that it then is."""
    from layoutkit.bench.weighing import with_weighing
    from layoutkit.job.files import JOB_RECORD, read_json
    from layoutkit.job.record import parse_job

    old = read_json(args.job, JOB_RECORD)
    record = with_weighing(old, stage, given, args.date or _today(), args.by or "")
    return record, parse_job(record)


_FIELDS = {"gross": "gross_lb", "top": "top_oz", "side": "side_oz", "finger": "finger_oz"}


def _measured(args: argparse.Namespace) -> dict[str, float]:
    """What was measured, by name: gross in pounds, the others in signed ounces."""
    from layoutkit.units import parse_ounces, parse_weight

    found: dict[str, float] = {}
    for name in _FIELDS:
        text = getattr(args, name)
        if text is None:
            continue
        if name == "gross":
            read, low, high, unit = parse_weight, LEAST_GROSS_LB, MOST_GROSS_LB, "lb"
        else:
            read, low, high, unit = parse_ounces, -MOST_MEASURED_OZ, MOST_MEASURED_OZ, "oz"
        try:
            value = read(text.strip())
        except InputError as error:
            raise InputError(f"--{name}: {error}") from None
        if not low <= value <= high:
            raise InputError(
                f"--{name}: {_quoted(text)} is outside {low:g} to {high:g} {unit}; weigh again."
            )
        found[name] = value
    return found


# --- axis -----------------------------------------------------------------------------------------


def _axis(args: argparse.Namespace) -> int:
    _write(cli_axis.answer(args))
    return FINE


# --- redrill ----------------------------------------------------------------------------------------


def _redrill(args: argparse.Namespace) -> int:
    _keep(args.out, args.job, args.force)
    density = None
    if args.density is not None:
        density = _quantity("history.holes.0.plug.density", args.density, "--density")
    _write(cli_redrill.answer(_job(args.job), args.out, density))
    return FINE


# --- convert --------------------------------------------------------------------------------------

# The three numbers of each statement: its field of the record, and its name in print.
_STATEMENTS: dict[str, tuple[tuple[str, str], ...]] = {
    "angles": (
        ("drilling_angle", "drilling angle"),
        ("pin_to_pap", "pin to PAP"),
        ("val_angle", "VAL angle"),
    ),
    "distances": (
        ("pin_to_pap", "pin to PAP"),
        ("psa_to_pap", "PSA to PAP"),
        ("pin_to_val", "pin to VAL"),
    ),
    "placement": (("pin.over", "pin over"), ("pin.up", "pin up"), ("bearing", "bearing")),
}


def _convert(args: argparse.Namespace) -> int:
    from layoutkit.planning import layout as _layout

    source, target = args.statement, args.to
    if source == target:
        others = " or ".join(name for name in _STATEMENTS if name != source)
        raise InputError(f"--to {target}: it is stated that way already; possible: {others}.")
    if args.obtuse_val_angle and source != "distances":
        raise InputError(
            "--obtuse-val-angle: only distances leave two VAL angles; leave the option out."
        )
    diameter = _quantity("ball.diameter", args.diameter, "--diameter")
    psa = _quantity("ball.psa.distance", args.psa, "--psa")
    radius = diameter / 2.0
    psa_arc = math.pi * radius / 2.0 if isinstance(psa, str) else psa
    pap = _pap(args, "placement" in (source, target))
    given = _stated(source, args)
    to: dict[str, Callable[..., Stated]] = {
        "angles": _layout.to_angles,
        "distances": _layout.to_distances,
        "placement": _layout.to_placement,
    }
    try:
        result = to[target](given, psa_arc, pap, radius)
    except InputError as error:
        raise InputError(error.words, error.field.removeprefix("layout.")) from None
    if args.json:
        _write(_json(_layout_record(result)))
    else:
        _write(_layout_text(target, result, diameter, args.units, _basis(args, psa)))
    return FINE


def _quantity(path: str, text: str, name: str) -> Any:
    """A value of the command line, held to the range of the record's field; number or word."""
    from layoutkit.job.limits import limit_at

    limit = limit_at(path)
    assert limit is not None, path
    try:
        return limit.parse(text.strip())
    except ValueError as error:
        raise InputError(f"{name}: {error}") from None


def _pap(args: argparse.Namespace, needed: bool) -> PAP | None:
    if args.pap is None:
        if needed:
            raise InputError("--pap: missing; a placement needs the bowler's PAP, give OVER UP.")
        return None
    from layoutkit.planning.layout import PAP

    over, up = args.pap
    return PAP(
        _quantity("bowler.pap.over", over, "--pap OVER"), _quantity("bowler.pap.up", up, "--pap UP")
    )


def _stated(source: str, args: argparse.Namespace) -> Stated:
    from layoutkit.planning.layout import Angles, Distances, Placement

    fields = _STATEMENTS[source]
    a, b, c = (
        _quantity(f"layout.{field}", text, field)
        for (field, _), text in zip(fields, args.values, strict=True)
    )
    if source == "angles":
        return Angles(a, b, c)
    if source == "distances":
        return Distances(a, b, c, args.obtuse_val_angle)
    return Placement(a, b, c)


def _layout_record(layout: Stated) -> dict[str, object]:
    """The layout as a record's `layout` states it."""
    from layoutkit.planning.layout import Angles, Distances

    if isinstance(layout, Angles):
        return {
            "by": "angles",
            "drilling_angle": float(layout.drilling_angle),
            "pin_to_pap": float(layout.pin_to_pap),
            "val_angle": float(layout.val_angle),
        }
    if isinstance(layout, Distances):
        return {
            "by": "distances",
            "pin_to_pap": float(layout.pin_to_pap),
            "psa_to_pap": float(layout.psa_to_pap),
            "pin_to_val": float(layout.pin_to_val),
            "obtuse_val_angle": layout.obtuse_val_angle,
        }
    return {
        "by": "placement",
        "pin": {"over": float(layout.pin_over), "up": float(layout.pin_up)},
        "bearing": float(layout.bearing),
    }


def _basis(args: argparse.Namespace, psa: object) -> str:
    """What the conversion rests on, for the heading."""
    told = []
    if "distances" in (args.statement, args.to):
        arc = "a quarter turn" if psa == "quarter" else args.psa.strip()
        told.append(f"PSA mark {arc} from the pin")
    if args.pap is not None:
        over, up = (text.strip() for text in args.pap)
        told.append(f"PAP {over} over, {up} up")
    return "".join(f", {each}" for each in told)


def _layout_text(target: str, layout: Stated, diameter: float, units: Units, basis: str) -> str:
    from layoutkit.output.report import table
    from layoutkit.units import format_length

    record = _layout_record(layout)
    flat = {**record}
    pin = flat.pop("pin", None)
    if isinstance(pin, dict):
        flat |= {f"pin.{key}": value for key, value in pin.items()}
    rows: list[tuple[str, ...]] = []
    for field, name in _STATEMENTS[target]:
        value = flat[field]
        assert isinstance(value, float)
        if "angle" in name or name == "bearing":
            rows.append((name, f"{value:.2f} deg"))
        else:
            exact = f"({value:.3f} in)" if units == "fraction" else ""
            rows.append((name, format_length(value, units), exact))
    size = format_length(diameter, "metric" if units == "metric" else "decimal")
    lines = [f"By {target}, on a ball of {size}{basis}", *table(rows)]
    if record.get("obtuse_val_angle"):
        lines.append("  The VAL angle is the one beyond 90 degrees: obtuse_val_angle is true.")
    return "\n".join(lines) + "\n"


# --- new ------------------------------------------------------------------------------------------


def _new(args: argparse.Namespace) -> int:
    if args.out is None:
        if args.force:
            raise InputError("--force: replaces a file; give OUT.json too.")
    else:
        _keep(args.out, args.old, args.force)
    if args.old is None:
        record = example_record(args.hand or "right")
        told = "every value in it is an invented example: replace them all"
    else:
        record = returning_record(_job(args.old))
        told = "the bowler is kept; fill in the ball and the layout"
    text = json.dumps(record, indent=2, ensure_ascii=False) + "\n"
    if args.out is None:
        _write(text)
        return FINE
    from layoutkit.job.files import write_atomic

    write_atomic(args.out, text.encode("utf-8"))
    _write(f"Wrote {args.out}: {told}, then run `layoutkit plan {args.out}`.\n")
    return FINE


def _keep(out: str, old: str | None, force: bool) -> None:
    """Refuse to write over a file, unless forced, and over the old record at all."""
    if not os.path.lexists(out):
        return
    if _same_file(out, old):
        raise InputError(f"{_quoted(out)} is the old record itself; give another name.")
    if not force:
        raise InputError(
            f"{_quoted(out)} exists already; give another name, or --force to replace it."
        )


def _same_file(one: str, other: str | None) -> bool:
    try:
        return other is not None and os.path.samefile(one, other)
    except OSError:  # one of them does not exist
        return False


def example_record(hand: str = "right") -> dict[str, Any]:
    """A record with every field, all values invented; ``hand`` is right or left.

    Only the scale's arm and its deviation are left null: they are measured, or unknown.
    """
    # lateral pitch that takes the bottoms of the finger holes apart
    middle, ring = ("left", "right") if hand == "right" else ("right", "left")

    def finger(span: str, lateral: str) -> dict[str, Any]:
        return {
            "span": span,
            "diameter": "3/4",
            "depth": "1 1/4",
            "pitch": {"forward": "1/16", lateral: "1/8"},
            "sleeve": {"bore": "31/32", "bore_depth": "1 1/2", "length": "1 1/4", "density": 1.15},
            "tip_angle": 180,
        }

    return {
        "format": "layoutkit-job",
        "version": 1,
        "title": "Example job",
        "notes": "Every value here is an invented example: replace them all before drilling. "
        "scale.arm stays null until the scale is calibrated.",
        "work": {
            "order": "EXAMPLE-1",
            "date": _today(),
            "driller": "Example Driller",
            "checked_by": "Example Checker",
            "ball_is": "new",
        },
        "bowler": {
            "name": "Example Bowler",
            "hand": hand,
            "pap": {"over": "5", "up": "1/2"},
            "grip": {
                "bridge": "3/8",
                "middle": finger("4 3/8", middle),
                "ring": finger("4 1/4", ring),
                "thumb": {
                    "diameter": "1",
                    "depth": "2 3/4",
                    "pitch": {"reverse": "1/8", middle: "1/16"},
                    "sleeve": {
                        "bore": "1 3/8",
                        "bore_depth": "2 3/4",
                        "length": "2 3/4",
                        "density": 1.2,
                    },
                    "tip_angle": 180,
                },
            },
        },
        "ball": {
            "name": "Example Ball",
            "serial": "EXAMPLE1",
            "diameter": 8.55,
            "weight": 15.12,
            "top_weight": 2.75,
            "pin_to_cg": "3",
            "psa": {"distance": "quarter", "cg_bearing": 20 if hand == "right" else -20},
            "rg_low": 2.52,
            "differential": 0.05,
            "intermediate_differential": 0.015,
            "shell": {"thickness": "3/4", "density": 1.2},
            "filler_density": 0.7,
        },
        "layout": {"by": "angles", "drilling_angle": 50, "pin_to_pap": "4 1/2", "val_angle": 35},
        # an invented arm would pass for a calibrated one
        "scale": {"arm": None, "arm_sd": None, "allowance": 0.25},
        "tolerances": {
            "marks": "1/16",
            "spans": "1/32",
            "depths": "1/32",
            "pitches": "1/32",
            "diameter": 0.005,
            "weight": 0.01,
            "top_weight": 0.25,
            "rg": 0.005,
            "differential": 0.002,
            "densities": 0.05,
            "low_axis": "1",
            "arm": 0.1,
        },
        # nor does an invented release belong to any bowler
        "release": None,
        "lane": None,
        "rules": "usbc-2020",
    }


def returning_record(job: Job) -> dict[str, Any]:
    """A record for the same bowler's next ball: ball and layout say what to fill in.

    It is JSON but no job yet: each number to come is a text that names it and its range, each text
    to come is null. Reading it is refused at the first of them.
    """
    from layoutkit.job.limits import LIMITS
    from layoutkit.job.record import dump_job

    old = dump_job(job)
    blank = {row.path: f"FILL IN: {row.meaning}, {row.range}" for row in LIMITS}
    optional = "; null where it is not known"
    who = job.bowler.name or "the bowler"
    notes = (
        "Bowler, scale and rules are kept from an earlier job. Fill in the ball and the layout; "
        "shell and filler_density may stay null, psa is null on a ball with no PSA mark."
    )
    if job.notes:
        notes = f"{notes}\nNotes of the earlier job: {job.notes}"[:2000]
    by = job.layout.by
    layout: dict[str, Any] = {"by": by}
    for field, _ in _STATEMENTS[by]:
        parent, _, leaf = field.rpartition(".")
        place = layout.setdefault(parent, {}) if parent else layout
        place[leaf] = blank[f"layout.{field}"]
    sections = ("scale", "tolerances", "release", "lane", "rules")
    kept: dict[str, Any] = {key: old[key] for key in sections if key in old}
    return {
        "format": old["format"],
        "version": old["version"],
        "title": f"Next ball for {who}"[:200],
        "notes": notes,
        "work": {
            "order": None,
            "date": _today(),
            "driller": None if job.work is None else job.work.driller,
            "checked_by": None,
            "ball_is": "new",
        },
        "bowler": old["bowler"],
        "ball": {
            "name": None,
            "serial": None,
            "diameter": blank["ball.diameter"],
            "weight": blank["ball.weight"],
            "top_weight": blank["ball.top_weight"],
            "pin_to_cg": blank["ball.pin_to_cg"],
            "psa": {
                "distance": blank["ball.psa.distance"],
                "cg_bearing": blank["ball.psa.cg_bearing"],
            },
            "rg_low": blank["ball.rg_low"] + optional,
            "differential": blank["ball.differential"] + optional,
            "intermediate_differential": blank["ball.intermediate_differential"] + optional,
            "shell": None,
            "filler_density": None,
        },
        "layout": layout,
        **kept,
    }


def _today() -> str:
    from datetime import date

    return date.today().isoformat()


# --- schema ---------------------------------------------------------------------------------------


def _schema(args: argparse.Namespace) -> int:
    if args.rules is not None:
        from layoutkit.job.rule_files import rules_template

        _write(rules_template(args.rules))
        return FINE
    if args.limits:
        from layoutkit.job.limits import LIMITS
        from layoutkit.output.report import table

        rows = [("field", "possible", "meaning")]
        rows += [(row.path, row.range, row.meaning) for row in LIMITS]
        _write("\n".join(table(rows, indent="")) + "\n")
        return FINE
    from layoutkit.job.record import job_schema

    _write(json.dumps(job_schema(), indent=2) + "\n")
    return FINE


# --- reading and writing --------------------------------------------------------------------------


def _job(source: str) -> Job:
    """The record of a file, or of standard input for `-`."""
    from layoutkit.job.files import LARGEST_FILE
    from layoutkit.job.store import load_job, loads_job

    if source != "-":
        return load_job(source)
    if sys.stdin is None:
        raise InputError("standard input: is closed; give the path of a job record.")
    try:
        data = sys.stdin.buffer.read(LARGEST_FILE + 1)
    except OSError as error:
        raise InputError(f"standard input: cannot be read: {_reason(error)}.") from None
    return loads_job(data)


def _rules(path: str) -> RuleSet:
    """The rule set of a shop's own file."""
    from layoutkit.job.rule_files import load_rules

    return load_rules(path)


def _json(value: object) -> str:
    return json.dumps(value, allow_nan=False) + "\n"


def _write(text: str) -> None:
    """Print to standard output now; a reader that has gone away is no error."""
    if sys.stdout is None:
        raise InputError("standard output: is closed; there is nowhere to print to.")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as error:
        _drop(sys.stdout)
        if error.errno in (errno.EPIPE, errno.EINVAL):  # Windows reports the latter
            return
        raise InputError(f"standard output: cannot be written: {_reason(error)}.") from None


def _drop(stream: TextIO) -> None:
    """Send what is still buffered nowhere, or the interpreter would complain about it at exit."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def _complain(error: LayoutkitError) -> None:
    """One line on standard error, whatever a record or a file name holds."""
    if sys.stderr is None:
        return
    words = " ".join(str(error).split())
    sentence = "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in words)
    try:
        sys.stderr.write(f"layoutkit: {sentence}{'' if sentence.endswith('.') else '.'}\n")
        sys.stderr.flush()
    except OSError:
        _drop(sys.stderr)


def _reason(error: Exception) -> str:
    """The system's words for why, without a code or a path."""
    words = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return words[:1].lower() + words[1:]


def _quoted(text: str, longest: int = 60) -> str:
    from layoutkit.units import shown

    return shown(text.strip(), longest)


class _Command(NamedTuple):
    """One command: its line in the list of commands, its own help, and what it does."""

    summary: str
    description: str
    example: str
    arguments: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


_COMMANDS: dict[str, _Command] = {
    "plan": _Command(
        "plan a job: marks, holes, weights, inertia, checks, work sheet",
        "Plan a job: where every mark and hole lies, static weights and inertia after drilling,\n"
        "and whether the ball is legal. Exit code 1 where the plan fails a rule.",
        "  layoutkit plan job.json\n"
        "  layoutkit plan job.json --units metric --sheet job.pdf --paper a4\n"
        "  layoutkit plan - --json < job.json",
        _plan_arguments,
        _plan,
    ),
    "sure": _Command(
        "how certain the plan is, and the chance that a limit is exceeded",
        "Carry the tolerances of what was measured through to every distance, static weight and "
        "RG, and\ndraw the chance that the event's scale reads beyond a limit. Exit code 1 where the "
        "plan fails a rule.",
        "  layoutkit sure job.json\n  layoutkit sure job.json --draws 20000 --json",
        _sure_arguments,
        _sure,
    ),
    "change": _Command(
        "the smallest changes that bring a plan inside the rules",
        "Search the smallest changes of hole depths, of the layout and of both together that bring "
        "a plan\ninside the rules; spans, pitches and balance holes are left alone. Exit code 1 where "
        "the plan fails a rule.",
        "  layoutkit change job.json\n  layoutkit change job.json --shelf balls.csv",
        _change_arguments,
        _change,
    ),
    "map": _Command(
        "contour maps of what other layouts would do",
        "Sweep drilling angle, VAL angle and pin-to-PAP, and draw side weight, differential, "
        "intermediate\ndifferential and flare potential; what fails the rules is hatched. Exit "
        "code 1 where the plan itself\nfails a rule. Write a range that begins with a minus as "
        "--val=-20:60.",
        "  layoutkit map job.json --out maps.pdf\n"
        "  layoutkit map job.json --out maps.pdf --drilling 20:90 --val 10:80 --pin-to-pap 3:5",
        _map_arguments,
        _map,
    ),
    "roll": _Command(
        cli_roll.SUMMARY,
        cli_roll.DESCRIPTION,
        cli_roll.EXAMPLE,
        _roll_arguments,
        _roll,
    ),
    "weigh": _Command(
        "judge the drilled ball by its measured weights",
        "Judge a drilled ball by its measured weights and compare them with the plan's. Only what "
        "was\nmeasured is judged; with nothing given, what the record says was weighed. With --record "
        "it is kept\nthere. A plain number is ounces, of --gross pounds; '15 g' is metric. Exit code 1 "
        "where a measured\nweight fails a rule.",
        "  layoutkit weigh job.json --gross 14.94 --top 1.25 --side 1/2 --finger -0.25\n"
        "  layoutkit weigh job.json --undrilled --gross 15.1 --top 2.7 --record --by Demo\n"
        "  layoutkit weigh job.json",
        _weigh_arguments,
        _weigh,
    ),
    "axis": _Command(
        cli_axis.SUMMARY, cli_axis.DESCRIPTION, cli_axis.EXAMPLE, cli_axis.arguments, _axis
    ),
    "redrill": _Command(
        cli_redrill.SUMMARY,
        cli_redrill.DESCRIPTION,
        cli_redrill.EXAMPLE,
        cli_redrill.arguments,
        _redrill,
    ),
    "scale": _Command(
        "calibrate the scale's arm, or fit the shop to its weighed jobs",
        "Calibrate the lever that the shop's scale is graduated for: fix a known weight on a ball's\n"
        "surface on the beam's axis, and give the weight and by how much the reading grew. Or fit arm\n"
        "and densities to a folder of weighed jobs. With --save it is kept in the shop's file, whose\n"
        "arm later jobs take where their record states none. Alone it shows that file.",
        "  layoutkit scale --test 2 1.94 --test 3 2.95 --test 1 0.96 --diameter 8.55 --save\n"
        "  layoutkit scale --jobs weighed-jobs --save\n"
        "  layoutkit scale",
        cli_shop.scale_arguments,
        _scale,
    ),
    "shelf": _Command(
        "rank the balls on the shelf under a job's layout",
        "Plan the bowler and layout of a job on each ball of a table of labels, and rank them by\n"
        "outcome, static weights and differential. The first line names the columns, as in the\n"
        "record's ball: name, serial, diameter, weight, top_weight, pin_to_cg, psa.distance,\n"
        "psa.cg_bearing, rg_low, differential, intermediate_differential, shell.thickness,\n"
        "shell.density, filler_density. Exit code 1 where every ball fails.",
        "  layoutkit shelf job.json sample_bowlers/shelf.csv",
        _shelf_arguments,
        _shelf,
    ),
    "convert": _Command(
        "restate a layout by angles, by distances or by placement",
        "Restate a layout, without a job. The three numbers of each statement, in inches and "
        "degrees;\nquote a length that has a blank, or write 4-1/2:\n"
        "  angles     drilling angle, pin to PAP, VAL angle\n"
        "  distances  pin to PAP, PSA to PAP, pin to VAL (negative past the VAL)\n"
        "  placement  pin over, pin up, bearing of the reference mark at the pin",
        '  layoutkit convert --to distances angles 50 "4 1/2" 35\n'
        "  layoutkit convert --to angles placement 1 3-3/4 170 --pap 5 1/2",
        _convert_arguments,
        _convert,
    ),
    "new": _Command(
        "start a job record",
        "Start a job record: one with every field filled with invented example values, or for a "
        "returning\nbowler one that keeps the bowler and leaves ball and layout to fill in.",
        "  layoutkit new job.json --hand left\n  layoutkit new second-ball.json --from job.json",
        _new_arguments,
        _new,
    ),
    "schema": _Command(
        "print the record's JSON Schema, the ranges, or a rule set",
        "Print the JSON Schema of the job record, the table of possible ranges, or a built-in rule "
        "set.",
        "  layoutkit schema > job.schema.json\n"
        "  layoutkit schema --limits\n"
        "  layoutkit schema --rules usbc-2020 > our-league.json",
        _schema_arguments,
        _schema,
    ),
}
