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

if TYPE_CHECKING:
    from layoutkit.planning.layout import PAP, Stated

STATEMENTS = ("angles", "distances", "placement")


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("--to", required=True, choices=STATEMENTS, help="how the layout is to be stated")
    p.add_argument(
        "statement",
        metavar="BY",
        choices=STATEMENTS,
        help="how it is stated: angles, distances or placement",
    )
    p.add_argument("values", metavar="VALUE", nargs=3, help="its three numbers, as listed above")
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

    source, target = args.statement, args.to
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
    stated = _stated(source, args)
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
        write(layout_text(target, layout, diameter, args.units, _assumptions(args, psa)))
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


def _stated(source: str, args: argparse.Namespace) -> Stated:
    from layoutkit.output.layout_report import LAYOUT_FIELDS
    from layoutkit.planning.layout import Angles, Distances, Placement

    fields = LAYOUT_FIELDS[source]
    a, b, c = (
        quantity(f"layout.{field}", text, field)
        for (field, _), text in zip(fields, args.values, strict=True)
    )
    if source == "angles":
        return Angles(a, b, c)
    if source == "distances":
        return Distances(a, b, c, args.obtuse_angle_at_pap)
    return Placement(a, b, c)


def _assumptions(args: argparse.Namespace, psa: object) -> tuple[str, ...]:
    """What the conversion rests on, for the heading."""
    assumptions = []
    if "distances" in (args.statement, args.to):
        arc = "a quarter turn" if psa == "quarter" else args.psa.strip()
        assumptions.append(f"PSA mark {arc} from the pin")
    if args.pap is not None:
        over, up = (text.strip() for text in args.pap)
        assumptions.append(f"PAP {over} over, {up} up")
    return tuple(assumptions)


COMMAND = Command(
    "convert",
    "restate a layout by angles, by distances or by placement",
    "Restate a layout, without a job. The three numbers of each statement, in inches and "
    "degrees;\nquote a length that has a blank, or write 4-1/2:\n"
    "  angles     angle at the pin, pin to PAP, angle at the PAP\n"
    "  distances  pin to PAP, PSA to PAP, pin to VAL (negative past the VAL)\n"
    "  placement  pin over, pin up, bearing of the reference mark at the pin",
    '  layoutkit convert --to distances angles 50 "4 1/2" 35\n'
    "  layoutkit convert --to angles placement 1 3-3/4 170 --pap 5 1/2",
    arguments,
    run,
)
