"""The command `layoutkit convert`: a layout by angles, distances or placement, into another."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable
from typing import TYPE_CHECKING

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.commands.common import FINE, Command, json_line, quantity
from layoutkit.commands.job_options import form_arguments
from layoutkit.commands.streams import write
from layoutkit.errors import InputError
from layoutkit.units import shown

if TYPE_CHECKING:
    from layoutkit.planning.layout import PAP, Stated

STATEMENTS = ("placement", "angles", "distances")


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("--to", required=True, choices=STATEMENTS, help="how the layout is to be stated")
    p.add_argument(
        "figures",
        metavar="NAME=VALUE",
        nargs="+",
        help="the figures that state it, each with its name, as listed above",
    )
    p.add_argument(
        "--diameter",
        metavar="IN",
        default=str(USUAL_DIAMETER),
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
        "--obtuse-angle-at-pap",
        action="store_true",
        help="from distances: of the two angles at the PAP take the one beyond 90 degrees",
    )
    form_arguments(p, "print the layout as a record states it, full precision")


def run(args: argparse.Namespace) -> int:
    """Print the layout, stated in the other way."""
    from layoutkit.output.layout_report import layout_dict, layout_text
    from layoutkit.planning.layout import to_angles, to_distances, to_placement

    figures = _figures(args.figures)
    source, target = _statement(figures), args.to
    if source == target:
        others = " or ".join(name for name in STATEMENTS if name != source)
        raise InputError(f"--to {target}: it is stated that way already; possible: {others}.")
    if args.obtuse_angle_at_pap and source != "distances":
        raise InputError(
            "--obtuse-angle-at-pap: only distances leave two angles at the PAP; leave the option out."
        )
    diameter = quantity("ball.diameter", args.diameter, "--diameter")
    psa = quantity("ball.psa.distance", args.psa, "--psa")
    radius = diameter / 2.0
    psa_arc = math.pi * radius / 2.0 if isinstance(psa, str) else psa
    pap = _pap(args, "placement" in (source, target))
    stated = _stated(source, figures, args.obtuse_angle_at_pap)
    convert: dict[str, Callable[..., Stated]] = {
        "angles": to_angles,
        "distances": to_distances,
        "placement": to_placement,
    }
    try:
        layout = convert[target](stated, psa_arc, pap, radius)
    except InputError as error:
        raise InputError(error.words, error.field.removeprefix("layout.")) from None
    if args.json:
        write(json_line(layout_dict(layout)))
    else:
        write(layout_text(target, layout, diameter, args.units, _assumptions(args, source, psa)))
    return FINE


def _pap(args: argparse.Namespace, needed: bool) -> PAP | None:
    if args.pap is None:
        if needed:
            raise InputError("--pap: missing; a placement needs the bowler's PAP, give OVER UP.")
        return None
    from layoutkit.planning.layout import PAP

    over, up = args.pap
    return PAP(
        quantity("bowler.pap.over", over, "--pap OVER"), quantity("bowler.pap.up", up, "--pap UP")
    )


def _figures(words: list[str]) -> dict[str, str]:
    """The figures by their names, each given once and with an equals sign."""
    figures: dict[str, str] = {}
    for word in words:
        name, equals, text = (part.strip() for part in word.partition("="))
        if not equals:
            raise InputError(
                f"{shown(word)}: has no name; possible: NAME=VALUE, such as pin_to_pap=4-1/2."
            )
        if name in figures:
            raise InputError("given twice; give it once.", name)
        figures[name] = text
    return figures


def _statement(figures: dict[str, str]) -> str:
    """Which statement the names belong to; refused where they are of none, or not all of one."""
    from layoutkit.output.layout_report import LAYOUT_FIELDS

    names = {by: [field for field, _ in fields] for by, fields in LAYOUT_FIELDS.items()}
    every = list(dict.fromkeys(name for each in names.values() for name in each))
    for name in figures:
        if name not in every:
            raise InputError(
                f"{shown(name)}: is no figure of a layout; possible: {', '.join(every)}."
            )
    by = min(names, key=lambda each: len(set(names[each]) ^ set(figures)))
    for name in names[by]:
        if name not in figures:
            raise InputError(f"missing; {by} are {', '.join(names[by])}.", name)
    for name in figures:
        if name not in names[by]:
            raise InputError(f"does not belong beside {', '.join(names[by])}; leave it out.", name)
    return by


def _stated(source: str, figures: dict[str, str], obtuse: bool) -> Stated:
    from layoutkit.output.layout_report import LAYOUT_FIELDS
    from layoutkit.planning.layout import Angles, Distances, Placement

    a, b, c = (
        quantity(f"layout.{field}", figures[field], field) for field, _ in LAYOUT_FIELDS[source]
    )
    if source == "angles":
        return Angles(a, b, c)
    if source == "distances":
        return Distances(a, b, c, obtuse)
    return Placement(a, b, c)


def _assumptions(args: argparse.Namespace, source: str, psa: object) -> tuple[str, ...]:
    """What the conversion rests on, for the heading."""
    assumptions = []
    if "distances" in (source, args.to):
        arc = "a quarter turn" if psa == "quarter" else args.psa.strip()
        assumptions.append(f"PSA mark {arc} from the pin")
    if args.pap is not None:
        over, up = (text.strip() for text in args.pap)
        assumptions.append(f"PAP {over} over, {up} up")
    return tuple(assumptions)


COMMAND = Command(
    "convert",
    "restate a layout by angles, by distances or by placement",
    "Restate a layout, without a job. Its figures go by the names of a record, in inches and degrees;\n"
    "quote one whose value has a blank, or write 4-1/2:\n"
    "  placement  pin.over, pin.up, bearing (of the reference mark, at the pin)\n"
    "  angles     angle_at_pin, pin_to_pap, angle_at_pap\n"
    "  distances  pin_to_pap, psa_to_pap, pin_to_val (negative past the VAL)",
    "  layoutkit convert --to angles pin.over=1 pin.up=3-3/4 bearing=170 --pap 5 1/2\n"
    '  layoutkit convert --to distances angle_at_pin=50 "pin_to_pap=4 1/2" angle_at_pap=35',
    arguments,
    run,
)
