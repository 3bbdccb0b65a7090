"""The command `layoutkit weigh`: judge a ball by its measured weights, and keep them in its record."""

from __future__ import annotations

import argparse
from contextlib import nullcontext
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from layoutkit.commands.batch import checks_line, many, statics_line
from layoutkit.commands.common import (
    FINE,
    Command,
    exit_code,
    json_line,
    named,
    quoted,
    today,
)
from layoutkit.commands.job_options import (
    form_arguments,
    held,
    job_arguments,
    planned_job,
    record_to_change,
    with_confirmed,
    write_record,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.bench.weighing import Stage
    from layoutkit.job.record import Job
    from layoutkit.planning.values import Plan

STATICS = ("top", "side", "finger")
MEASURED = ("gross", *STATICS)
MOST_MEASURED_OZ = 16.0  # a scale's imbalance beyond this is a slip of the pen
LEAST_GROSS_LB, MOST_GROSS_LB = 3.0, 18.0  # a drilled ball; the record allows 4 to 18 lb undrilled


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p, many=True)
    form_arguments(p)
    p.add_argument("--gross", metavar="LB", help="gross weight, drilled: 14.94 or '6.78 kg'")
    p.add_argument("--top", metavar="OZ", help="top weight, negative for bottom weight")
    p.add_argument("--side", metavar="OZ", help="side weight, positive on the PAP side")
    p.add_argument("--finger", metavar="OZ", help="finger weight, negative for thumb weight")
    p.add_argument(
        "--pair",
        metavar=("NAME", "A", "B"),
        nargs=3,
        action="append",
        default=[],
        help="two raw readings of top, side or finger in ounces, the second with the ball turned end "
        "for end; again for each weight",
    )
    p.add_argument("--undrilled", action="store_true", help="the ball is not drilled yet")
    p.add_argument("--record", action="store_true", help="keep what was measured in the job record")
    p.add_argument("--by", metavar="NAME", help="for --record: who weighed it")
    p.add_argument("--date", metavar="DAY", help="for --record: year-month-day (default: today)")


def run(args: argparse.Namespace) -> int:
    """Judge what was measured, keep it in the record where that is asked for, print it."""
    from layoutkit.bench.weighing import refuse_both

    typed, pairs = _measured(args), _pairs(args)
    refuse_both(typed, pairs)
    if args.record and (not (typed or pairs) or args.job == "-"):
        raise InputError("--record: needs a job's file and something measured to keep in it.")
    if not args.record and (args.by or args.date):
        raise InputError("--by and --date: are kept in the record; give --record too.")
    stage: Stage = "undrilled" if args.undrilled else "drilled"
    plan = planned_job(args)
    with held(args.job) if args.record else nullcontext():
        return _judge(args, plan, stage, typed, pairs)


def _judge(
    args: argparse.Namespace,
    plan: Plan,
    stage: Stage,
    typed: dict[str, float],
    pairs: dict[str, tuple[float, float]],
) -> int:
    from layoutkit.bench.weighing import compare, judge, pair_weights, recorded
    from layoutkit.job.rules import overall

    if args.record:
        record, job = _record_with_weighing(args, stage, typed, pairs, plan.job)
        plan = replace(plan, job=plan.job.model_copy(update={"weighings": job.weighings}))
    # with --record the record's other weights of this stage are judged too
    if (typed or pairs) and not args.record:
        made = pair_weights(plan, stage, pairs, typed.get("gross"))
        measured = typed | {name: pair.weight for name, pair in made.items()}
    else:
        made = pair_weights(plan, stage)
        measured = recorded(plan, stage)
    if not measured:
        raise InputError("nothing was measured; give --gross, --top, --side, --finger or --pair.")
    from layoutkit.output.weighing_report import weighing_dict, weighing_text

    if args.json:
        text = json_line(weighing_dict(plan, stage, measured, made))
    else:
        text = weighing_text(plan, stage, compare(plan, measured, stage), args.units, made)
    if args.record:
        from layoutkit.job.store import kept_words

        kept = write_record(record, args.job, args)
        if not args.json:
            text += f"\nKept in {named(args.job)}, as weighed {stage}.{kept_words(kept)}\n"
    write(text)
    return exit_code(overall(judge(plan, measured, made))) if stage == "drilled" else FINE


def _record_with_weighing(
    args: argparse.Namespace,
    stage: Stage,
    measured: dict[str, float],
    pairs: dict[str, tuple[float, float]],
    planned: Job,
) -> tuple[dict[str, Any], Job]:
    """The record with what was measured put in, and the job that it then is."""
    from layoutkit.bench.weighing import with_weighing
    from layoutkit.job.record import parse_job

    record = with_weighing(
        record_to_change(args.job, args),
        stage,
        measured,
        args.date or today(),
        args.by or "",
        pairs,
    )
    record = with_confirmed(record, planned, args.confirm)
    return record, parse_job(record)


def _measured(args: argparse.Namespace) -> dict[str, float]:
    """What was measured, by name: gross in pounds, the others in signed ounces."""
    from layoutkit.units import parse_ounces, parse_weight

    measured: dict[str, float] = {}
    for name in MEASURED:
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
                f"--{name}: {quoted(text)} is outside {low:g} to {high:g} {unit}; weigh again."
            )
        measured[name] = value
    return measured


def _pairs(args: argparse.Namespace) -> dict[str, tuple[float, float]]:
    """The pairs of readings by name, in ounces."""
    from layoutkit.job.limits import limit

    reading = limit("weighings.*.pairs.*.*")
    pairs: dict[str, tuple[float, float]] = {}
    for name, *texts in args.pair:
        if name not in STATICS:
            raise InputError(
                f"--pair: {quoted(name)} has no two readings; possible: {', '.join(STATICS)}."
            )
        if name in pairs:
            raise InputError(f"--pair {name}: is given twice; give one.")
        try:
            first, turned = (float(reading.parse(text.strip())) for text in texts)
        except InputError as error:
            raise InputError(f"--pair {name}: {error}") from None
        pairs[name] = (first, turned)
    return pairs


COMMAND = Command(
    "weigh",
    "judge the drilled ball by its measured weights",
    "Judge a drilled ball by its measured weights and compare them with the plan's. It is "
    "legal only\nwhen everything that the rule set asks for was measured. With nothing given, what the "
    "record says\nwas weighed is judged. With --record it is kept there. A plain number is ounces, of "
    "--gross pounds;\n'15 g' is metric. What a pair of readings "
    "means the record's\nscale.supports, scale.pan_lever or scale.reading says. Exit code 1 where a "
    "measured weight\nfails a rule, 3 where one is missing.",
    "  layoutkit weigh job.json --gross 14.94 --top 1.25 --side 1/2 --finger -0.25\n"
    "  layoutkit weigh job.json --undrilled --gross 15.1 --top 2.7 --record --by Demo\n"
    "  layoutkit weigh job.json --pair top 1.60 -0.90 --pair side 1.10 -0.42 --pair finger 0.19 0.47\n"
    "  layoutkit weigh job.json",
    arguments,
    many(
        run,
        lambda values: statics_line(values["measured"]) + checks_line(values),
        single=(*(f"--{name}" for name in MEASURED), "--pair", "--record", "--by", "--confirm"),
    ),
)
