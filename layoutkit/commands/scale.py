"""The command `layoutkit scale`: calibrate the shop's scale, or fit the shop to its weighed jobs."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial, reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.commands.common import FINE, Command, json_line, named, today
from layoutkit.commands.job_options import json_argument, read_shop_file
from layoutkit.commands.streams import write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.bench.calibration import ArmFound
    from layoutkit.bench.shopfit import ShopFit, UnusableJob
    from layoutkit.job.shop import Shop, SurfaceTest


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument(
        "--test",
        metavar=("WEIGHT", "GROWTH"),
        nargs=2,
        action="append",
        default=[],
        help="a known weight fixed on the surface on the beam's axis, and by how much the reading "
        "grew, in ounces or '30 g'; again for each test",
    )
    p.add_argument(
        "--diameter",
        metavar="IN",
        default=str(USUAL_DIAMETER),
        help="the ball's diameter in the tests (default: %(default)s)",
    )
    p.add_argument(
        "--height",
        metavar="IN",
        default="0",
        help="the weight's own centre above the ball's surface (default: %(default)s)",
    )
    p.add_argument(
        "--reading",
        metavar="OZ",
        default="0.05",
        help="standard deviation of a reading's growth (default: %(default)s, a convention)",
    )
    kind = p.add_mutually_exclusive_group()
    kind.add_argument(
        "--supports", metavar="IN", help="with --test: how far apart the scale's two supports stand"
    )
    kind.add_argument("--pan-lever", metavar="IN", help="with --test: the lever of the scale's pan")
    kind.add_argument(
        "--half-difference",
        action="store_true",
        help="with --test: half the difference of two readings is the weight; tests weighed so",
    )
    p.add_argument(
        "--jobs",
        metavar="FOLDER",
        help="fit arm and densities to the weighed jobs of this folder",
    )
    p.add_argument("--save", action="store_true", help="keep the result in the shop's file")
    p.add_argument("--by", metavar="NAME", default="", help="who calibrated")
    p.add_argument(
        "--shop",
        metavar="FILE",
        help="the shop's file (default: LAYOUTKIT_SHOP, else shop.json in the user's configuration "
        "folder)",
    )
    json_argument(p)


def run(args: argparse.Namespace) -> int:
    """Calibrate the arm, fit the shop, or show what the shop's file holds."""
    from layoutkit.job.shop import Shop, change_shop

    tests, kind = _tests(args), _kind(args)
    if kind and not tests:
        raise InputError(
            "--supports, --pan-lever and --half-difference: belong to a calibration; give --test."
        )
    path, old = read_shop_file(args.shop)
    shop = old or Shop()
    if args.save and not tests and args.jobs is None:
        raise InputError("--save: there is nothing to keep; give --test or --jobs.")
    changes: list[Callable[[Shop], Shop]] = []
    calibration: ArmFound | None = None
    fit: ShopFit | None = None
    unusable: list[UnusableJob] = []
    day = today()
    if tests:
        from layoutkit.bench.calibration import calibrate, with_calibration

        calibration = calibrate(tests, _ounces(args.reading, "--reading"))
        changes.append(
            partial(
                with_calibration, tests=tests, result=calibration, date=day, by=args.by, kind=kind
            )
        )
        shop = changes[-1](shop)
    if args.jobs is not None:
        from layoutkit.bench.shopfit import fit_shop, weighed_jobs

        jobs, unusable = weighed_jobs(Path(args.jobs))
        fit = fit_shop(jobs, shop.scale)
        changes.append(partial(Shop.model_copy, update={"fitted": fit.fitted(day)}))
        shop = changes[-1](shop)
    if args.save:
        # on what the file holds by now, for another program may have written it meanwhile
        shop = change_shop(path, lambda held: reduce(lambda s, change: change(s), changes, held))
    done = _Done(path, shop, old is not None, tests, calibration, fit, unusable)
    if args.json:
        write(json_line(done.values() | {"saved": args.save}))
    else:
        write("\n".join(done.lines(args.save)) + "\n")
    return FINE


class _Done(NamedTuple):
    """What was calibrated and fitted, and the shop with it; ``found`` tells whether it had a file."""

    path: Path
    shop: Shop
    found: bool
    tests: list[SurfaceTest]
    calibration: ArmFound | None
    fit: ShopFit | None
    unusable: list[UnusableJob]

    @property
    def question(self) -> str | None:
        """What is asked about an unusual arm; nothing where the arm takes up half a difference."""
        from layoutkit.job.usual import arm_words

        if self.calibration is None:
            return None
        halved = getattr(self.shop.scale, "reading", None) == "half_difference"
        return None if halved else arm_words(self.calibration.arm)

    def values(self) -> dict[str, Any]:
        """All of it as JSON-ready values."""
        from layoutkit.output.shop_report import fit_dict

        return {
            "format": "layoutkit-scale",
            "version": 1,
            "file": str(self.path),
            "calibration": None if self.calibration is None else self.calibration._asdict(),
            "question": self.question,
            "fit": None if self.fit is None else fit_dict(self.fit),
            "unusable": [u._asdict() for u in self.unusable],
            "shop": self.shop.model_dump(mode="json"),
        }

    def lines(self, saved: bool) -> list[str]:
        """All of it in words, with what was kept."""
        from layoutkit.output.shop_report import calibration_lines, fit_lines, shop_lines

        if self.calibration is None and self.fit is None:
            return shop_lines(self.shop, self.path, self.found)
        lines: list[str] = []
        if self.calibration is not None:
            lines += calibration_lines(self.calibration, self.tests, self.question)
        if self.fit is not None:
            lines += [*([""] if lines else []), *fit_lines(self.fit, self.unusable)]
        if not saved:
            return [*lines, "", "Nothing was kept: --save keeps it for later jobs."]
        where = named(str(self.path))
        lines += ["", f"Kept in {where}: later jobs that state no arm take the calibrated one."]
        if self.fit is not None:
            lines.append("What was fitted is taken only with --fitted.")
        return lines


def _tests(args: argparse.Namespace) -> list[SurfaceTest]:
    from layoutkit.job.shop import surface_test

    tests = []
    for number, (weight, growth) in enumerate(args.test, 1):
        try:
            tests.append(surface_test(weight, growth, args.diameter, args.height))
        except InputError as error:
            raise InputError(f"--test {number}: {error}") from None
    return tests


def _kind(args: argparse.Namespace) -> dict[str, Any] | None:
    """What two readings mean on the scale, None where nothing is said of it."""
    from layoutkit.job.limits import limit

    if args.half_difference:
        return {"reading": "half_difference"}
    for name, text in (("supports", args.supports), ("pan_lever", args.pan_lever)):
        if text is not None:
            try:
                return {name: limit(f"scale.{name}").parse(text.strip())}
            except InputError as error:
                raise InputError(f"--{name.replace('_', '-')}: {error}") from None
    return None


def _ounces(text: str, option: str) -> float:
    from layoutkit.units import parse_ounces

    try:
        return parse_ounces(text.strip())
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


COMMAND = Command(
    "scale",
    "calibrate the scale's arm, or fit the shop to its weighed jobs",
    "Calibrate the lever that the shop's scale is graduated for: fix a known weight on a ball's\n"
    "surface on the beam's axis, and give the weight and by how much the reading grew. Or fit arm\n"
    "and densities to a folder of weighed jobs. With --save it is kept in the shop's file, whose\n"
    "arm later jobs take where their record states none. Alone it shows that file.",
    "  layoutkit scale --test 2 1.94 --test 3 2.95 --test 1 0.96 --diameter 8.55 --save\n"
    "  layoutkit scale --jobs weighed-jobs --save\n"
    "  layoutkit scale",
    arguments,
    run,
)
