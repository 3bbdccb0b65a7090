"""The command `layoutkit map`: contour maps of what other layouts would do."""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Mapping
from typing import Any

from layoutkit.commands.batch import Output, many
from layoutkit.commands.common import (
    Command,
    exit_code,
    force_argument,
    json_line,
    named,
    quoted,
    refuse_another_kind,
    refuse_input_as_output,
)
from layoutkit.commands.job_options import job_arguments, json_argument, planned_job
from layoutkit.commands.streams import progress_bar, write
from layoutkit.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    job_arguments(p, many=True)
    json_argument(p)
    p.add_argument("--out", metavar="OUT.pdf", required=True, help="the maps: OUT.pdf or OUT.png")
    force_argument(p, "the file")
    p.add_argument(
        "--surface",
        action="store_true",
        help="show on the ball itself where the pin may go, the reference mark at its present bearing",
    )
    p.add_argument("--angle-at-pin", metavar="FROM:TO", help="angles at the pin, degrees")
    p.add_argument("--angle-at-pap", metavar="FROM:TO", help="angles at the PAP, degrees")
    p.add_argument(
        "--pin-to-pap", metavar="FROM:TO", help="arcs, a page each half inch; one value: one page"
    )
    p.add_argument("--step", metavar="DEGREES", help="between angles (default: 1)")


def run(args: argparse.Namespace) -> int:
    """Sweep the layouts, write the maps, print how many layouts fail."""
    refuse_input_as_output("--out", args.out, (args.job, args.rules))
    refuse_another_kind("--out", args.out, args.force)
    if args.surface:
        return _over_the_surface(args)
    plan = planned_job(args)
    from layoutkit.output import maps

    step = 1.0 if args.step is None else _number("--step", args.step, "degrees")
    if not 0.1 <= step <= 30.0:
        raise InputError(
            f"--step: {quoted(args.step)} is not possible; possible: 0.1 to 30 degrees."
        )
    at_pin, at_pap, arcs = maps.default_ranges(plan, step)
    if args.angle_at_pin is not None:
        at_pin = maps.stepped(
            *_range("--angle-at-pin", args.angle_at_pin, "degrees", -180.0, 180.0), step
        )
    if args.angle_at_pap is not None:
        at_pap = maps.stepped(
            *_range("--angle-at-pap", args.angle_at_pap, "degrees", -180.0, 180.0), step
        )
    if args.pin_to_pap is not None:
        half_turn = math.floor(1000.0 * math.pi * plan.radius) / 1000.0
        low, high = _range("--pin-to-pap", args.pin_to_pap, "in", 0.0, half_turn, single=True)
        arcs = maps.stepped(low, high, 0.5) if high > low else arcs[:1] * 0.0 + low
    ranges = maps.Ranges(at_pin, at_pap, arcs)
    maps.check_name(args.out, len(arcs))
    begun = time.perf_counter()
    layout_map = maps.layout_map(plan, ranges, progress_bar())
    seconds = time.perf_counter() - begun
    maps.write(layout_map, args.out)
    values = maps.map_dict(layout_map)
    if args.json:
        write(json_line(values))
    else:
        counts = values["layouts"]
        write(
            f"{counts['all']} layouts in {seconds:.2f} s: {counts['fail']} fail the rules, "
            f"{counts['close']} are close.\nMaps written to {named(args.out)}\n{maps.FLARE}\n"
        )
    return exit_code(plan.outcome)


def _over_the_surface(args: argparse.Namespace) -> int:
    """Map places of the pin over the ball, write the picture, print how many fail."""
    for option in ("angle_at_pin", "angle_at_pap", "pin_to_pap", "step"):
        if getattr(args, option) is not None:
            raise InputError(
                f"--{option.replace('_', '-')}: is for the map of angles; leave it or --surface out."
            )
    from layoutkit.output import maps, surface_map

    maps.check_name(args.out, 1)
    plan = planned_job(args)
    found = surface_map.surface_map(plan, progress_bar())
    surface_map.write(found, args.out)
    if args.json:
        write(json_line(surface_map.surface_dict(found)))
    else:
        words = surface_map.summary(found)
        write(f"{words}\nMap written to {named(args.out)}\n{surface_map.FLARE}\n")
    return exit_code(plan.outcome)


def _line(values: Mapping[str, Any]) -> str:
    """One job of many in words."""
    return ", ".join(
        f"{counts['all']} {what}: {counts['fail']} fail, {counts['close']} are close"
        for what, counts in values.items()
        if isinstance(counts, dict)
    )


def _number(option: str, text: str, unit: str) -> float:
    from layoutkit.units import parse_quantity

    try:
        return parse_quantity(text, unit)
    except InputError as error:
        raise InputError(error.words, option) from None


def _range(
    option: str, text: str, unit: str, low: float, high: float, single: bool = False
) -> tuple[float, float]:
    """The ends that FROM:TO states, within ``low`` to ``high``; one number is possible if ``single``."""
    first, colon, last = text.partition(":")
    start = _number(option, first, unit)
    end = _number(option, last, unit) if colon else start
    if not low <= start <= end <= high or (start == end and not single):
        raise InputError(
            f"{option}: {quoted(text)} is not possible; possible: FROM:TO with {low:g} to {high:g}, "
            "FROM less than TO."
        )
    return start, end


COMMAND = Command(
    "map",
    "contour maps of what other layouts would do",
    "Sweep angle at the pin, angle at the PAP and pin-to-PAP, and draw side weight, differential, "
    "intermediate\ndifferential and flare potential; what fails the rules is hatched. Exit "
    "code 1 where the plan itself\nfails a rule, 3 where a figure that a check needs is missing. "
    "Write a range that begins with a\nminus as --angle-at-pap=-20:60. With --surface the map lies on "
    "the ball: each place of the pin, with\nthe reference mark at its present bearing, and round the "
    "present pin every bearing.",
    "  layoutkit map job.json --out maps.pdf\n"
    "  layoutkit map job.json --out maps.pdf --angle-at-pin 20:90 \\\n"
    "      --angle-at-pap 10:80 --pin-to-pap 3:5\n"
    "  layoutkit map job.json --surface --out where.pdf",
    arguments,
    many(run, _line, (Output("--out", ".map.pdf"),)),
)
