"""The commands about a shop: its scale, and the balls on its shelf; and the shop's file in others.

Each returns the text to print and the exit code; the command line prints it.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from layoutkit.errors import InputError

if TYPE_CHECKING:
    from layoutkit.bench.calibration import ArmFound
    from layoutkit.bench.shelf import Shelf
    from layoutkit.bench.shopfit import ShopFit, Unusable
    from layoutkit.job.record import Job
    from layoutkit.job.rules import RuleSet
    from layoutkit.job.shop import Shop, SurfaceTest
    from layoutkit.units import Units

USUAL_DIAMETER = 8.55  # inches; a usual ball, within the 8.500 to 8.595 in of the rules


def shop_arguments(p: argparse.ArgumentParser) -> None:
    """What every command that plans a job takes about the shop's file."""
    which = p.add_mutually_exclusive_group()
    which.add_argument(
        "--shop",
        metavar="FILE",
        help="the shop's file, whose arm is taken where the record states none (default: "
        "LAYOUTKIT_SHOP, else shop.json in the user's configuration folder)",
    )
    which.add_argument("--no-shop", action="store_true", help="ignore the shop's file")
    p.add_argument(
        "--fitted",
        action="store_true",
        help="take arm, shell and filler as fitted to the shop's weighed jobs, where the record is "
        "silent",
    )


def shop_job(job: Job, args: argparse.Namespace) -> Job:
    """The job with what the shop's file says, where its record is silent and the file is wanted.

    Raises InputError for a file that was named and is not there, that cannot be used, or that holds
    no fit where one was asked for.
    """
    if args.no_shop:
        if args.fitted:
            raise InputError("--fitted: is in the shop's file; leave --no-shop out.")
        return job
    if not args.fitted and not args.shop and job.scale is not None and job.scale.arm is not None:
        return job
    from layoutkit.job.shop import with_arm

    path, shop = _shop(args.shop)
    if args.shop and shop is None:
        raise InputError(f"--shop: {path}: no such file; `layoutkit scale --save` writes one.")
    if not args.fitted:
        return with_arm(job, shop, path)
    if shop is None or shop.fitted is None:
        raise InputError(
            f"--fitted: {path} holds no fit; `layoutkit scale --jobs FOLDER --save` makes one."
        )
    from layoutkit.bench.shopfit import with_fitted

    return with_fitted(job, shop.fitted, shop.fitted.told)


def _shop(named: str | None) -> tuple[Path, Shop | None]:
    from layoutkit.job.shop import load_shop, shop_path

    path = Path(named) if named else shop_path()
    try:
        return path, load_shop(path)
    except InputError as error:
        raise InputError(f"{str(error).removesuffix('.')}; --no-shop ignores the file.") from None


# --- scale ----------------------------------------------------------------------------------------


def scale_arguments(p: argparse.ArgumentParser) -> None:
    """What `scale` takes."""
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
    p.add_argument("--json", action="store_true", help="print JSON at full precision")


def scale(args: argparse.Namespace) -> tuple[str, int]:
    """Calibrate the arm, fit a shop, or show what the shop's file holds."""
    from layoutkit.job.shop import Shop, save_shop

    tests = _tests(args)
    path, old = _shop(args.shop)
    shop = old or Shop()
    if args.save and not tests and args.jobs is None:
        raise InputError("--save: there is nothing to keep; give --test or --jobs.")
    found: ArmFound | None = None
    fit: ShopFit | None = None
    unusable: list[Unusable] = []
    today = date.today().isoformat()
    if tests:
        from layoutkit.bench.calibration import calibrate, with_calibration

        found = calibrate(tests, _number(args.reading, "--reading"))
        shop = with_calibration(shop, tests, found, today, args.by)
    if args.jobs is not None:
        from layoutkit.bench.shopfit import fit_shop, weighed_jobs

        jobs, unusable = weighed_jobs(Path(args.jobs))
        fit = fit_shop(jobs, shop.scale)
        shop = shop.model_copy(update={"fitted": fit.fitted(today)})
    if args.save:
        save_shop(shop, path)
    if args.json:
        told: dict[str, Any] = {
            "format": "layoutkit-scale",
            "version": 1,
            "file": str(path),
            "saved": args.save,
            "calibration": None if found is None else found._asdict(),
            "fit": None if fit is None else _fit_dict(fit),
            "unusable": [u._asdict() for u in unusable],
            "shop": shop.model_dump(mode="json"),
        }
        return json.dumps(told, allow_nan=False) + "\n", 0
    lines: list[str] = []
    if found is not None:
        lines += calibration_lines(found, tests)
    if fit is not None:
        lines += [*([""] if lines else []), *fit_lines(fit, unusable)]
    if found is None and fit is None:
        lines += shop_lines(shop, path, old is not None)
    elif args.save:
        lines += ["", f"Kept in {path}: later jobs that state no arm take the calibrated one."]
        if fit is not None:
            lines.append("What was fitted is taken only with --fitted.")
    else:
        lines += ["", "Nothing was kept: --save keeps it for later jobs."]
    return "\n".join(lines) + "\n", 0


def _tests(args: argparse.Namespace) -> list[SurfaceTest]:
    from layoutkit.job.shop import surface_test

    tests = []
    for number, (weight, growth) in enumerate(args.test, 1):
        try:
            tests.append(surface_test(weight, growth, args.diameter, args.height))
        except InputError as error:
            raise InputError(f"--test {number}: {error}") from None
    return tests


def _number(text: str, option: str) -> float:
    from layoutkit.units import parse_ounces

    try:
        return parse_ounces(text.strip())
    except InputError as error:
        raise InputError(f"{option}: {error}") from None


def calibration_lines(found: ArmFound, tests: Sequence[SurfaceTest]) -> list[str]:
    """A calibration as text: the arm, each test, and what does not agree."""
    from layoutkit.output.report import table, wrap

    rows = [("test", "weight", "growth", "lever", "arm", "")]
    for i, (test, arm) in enumerate(zip(tests, found.arms, strict=True)):
        remark = "left out: does not agree with the others" if i in found.left_out else ""
        level = f"{test.diameter / 2.0 + test.height:.3f} in"
        rows.append(
            (str(i + 1), f"{test.weight:.2f} oz", f"{test.growth:.2f} oz", level, f"{arm:.3f} in", remark)
        )  # fmt: skip
    lines = [f"The scale's arm is {found.arm:.3f} +/- {found.sd:.3f} in (one standard deviation)."]
    lines += table(rows)
    if found.scatter is None:
        lines += wrap("One test shows no slip: make two more, with other weights.")
    elif found.scatter > 2.0:
        lines += wrap(
            "The tests scatter more than the readings should: the uncertainty is widened to that. "
            "Make them again."
        )
    if found.left_out:
        names = ", ".join(str(i + 1) for i in found.left_out)
        lines += wrap(f"Left out as outliers: test {names}. Look for a slip of the pen.")
    return lines


_FITTED = (("arm", "in"), ("shell's density", "g/cm3"), ("filler's shift", "g/cm3"))


def fit_lines(fit: ShopFit, unusable: Sequence[Unusable]) -> list[str]:
    """A fit as text: what was fitted, by how much it predicts better, and the files not used."""
    from layoutkit.output.report import table, wrap

    lines = [f"Fitted to {len(fit.jobs)} weighed jobs, drawn toward the defaults."]
    rows = [("", "default", "fitted", "", "")]
    for (name, unit), default, spread, value, sd in zip(
        _FITTED, fit.defaults, fit.default_sds, fit.values, fit.sds, strict=True
    ):
        usual = f"{default:.3f} +/- {spread:.3f}"
        sure = "little learnt" if sd > 0.8 * spread else ""
        rows.append((name, usual, f"{value:.3f} +/- {sd:.3f}", unit, sure))
    lines += table(rows)
    lines += ["", "Error of the prediction, root mean square"]
    errors = [("", "defaults", "fitted", "job left out")]
    errors += [
        (j.name, f"{j.before:.2f} oz", f"{j.after:.2f} oz", f"{j.without:.2f} oz") for j in fit.jobs
    ]
    errors.append(("all", f"{fit.before:.2f} oz", f"{fit.after:.2f} oz", f"{fit.without:.2f} oz"))
    lines += table(errors)
    if fit.without >= fit.before:
        lines += wrap("Jobs that were left out are predicted no better: keep the defaults.")
    return lines + unusable_lines(unusable)


def unusable_lines(unusable: Sequence[Unusable]) -> list[str]:
    """The files that a fit could not use, and why."""
    from layoutkit.output.report import wrap

    return [
        line for each in unusable for line in wrap(f"{each.name} not used: {each.reason}", "- ")
    ]


def _fit_dict(fit: ShopFit) -> dict[str, Any]:
    from layoutkit.bench.shopfit import PARAMETERS

    return {
        name: {"default": d, "default_sd": p, "value": v, "sd": s}
        for name, d, p, v, s in zip(
            PARAMETERS, fit.defaults, fit.default_sds, fit.values, fit.sds, strict=True
        )
    } | {
        "error_oz": {"before": fit.before, "after": fit.after, "without": fit.without},
        "scatter": fit.scatter,
        "jobs": [j._asdict() for j in fit.jobs],
    }


def shop_lines(shop: Shop, path: Path, there: bool, when: str = "with --fitted only") -> list[str]:
    """What a shop's file holds, as text; ``when`` its fit is taken."""
    if not there:
        return [f"There is no shop's file yet; it would be {path}."]
    lines = [f"The shop's file {path}"]
    if shop.scale is not None:
        c = shop.scale
        who = f" by {c.by}" if c.by else ""
        lines.append(
            f"  Arm {c.arm:.3f} +/- {c.sd:.3f} in, from {len(c.tests)} "
            f"test{'' if len(c.tests) == 1 else 's'} on {c.date}{who}."
        )
    else:
        lines.append("  The arm is not calibrated.")
    if shop.fitted is not None:
        f = shop.fitted
        lines.append(
            f"  Fitted to {f.jobs} jobs on {f.date}: arm {f.arm:.3f} in, shell "
            f"{f.shell_density:.2f} g/cm3, filler {f.filler_shift:+.2f} g/cm3; {when}."
        )
    return lines


# --- shelf ----------------------------------------------------------------------------------------


def shelf_arguments(p: argparse.ArgumentParser) -> None:
    """What `shelf` takes beside what every command takes that plans a job."""
    p.add_argument("balls", metavar="BALLS.csv", help="the labels, columns named like the record's")


def read_shelf(job: Job, rules: RuleSet | None, balls: str) -> Shelf:
    """The balls of a table's file under a job's layout. Raises InputError where it cannot be read."""
    from layoutkit.bench.shelf import load_labels, rank

    return rank(job, load_labels(balls), rules)


def shelf(job: Job, rules: RuleSet | None, args: argparse.Namespace) -> tuple[str, int]:
    """The balls of a table under a job's layout, in order of merit.

    The exit code is 1 where every ball that can be used fails. Raises InputError where none can.
    """
    found = read_shelf(job, rules, args.balls)
    if not found.ranked:
        first = found.unusable[0]
        raise InputError(f"{args.balls}: no row can be used; line {first.line}: {first.reason}")
    fails = all(r.plan.outcome == "fail" or r.plan.do_not_drill for r in found.ranked)
    return (_shelf_json(found) if args.json else _shelf_text(job, found, args.units)), int(fails)


def _shelf_json(found: Shelf) -> str:
    from layoutkit.bench.shelf import reason

    ranked = [
        {
            "rank": i,
            "line": r.line,
            "name": r.plan.job.ball.name,
            "serial": r.plan.job.ball.serial,
            "outcome": r.plan.outcome,
            "do_not_drill": r.plan.do_not_drill,
            "limit_used": r.used,
            "limit_of": r.worst.name,
            "statics": {n: getattr(r.plan.statics, n) for n in ("top_oz", "side_oz", "finger_oz")},
            "weight_lb": r.plan.statics.weight_lb,
            "differential": None if r.plan.core is None else r.plan.inertia.differential,
            "reason": reason(r),
        }
        for i, r in enumerate(found.ranked, 1)
    ]
    told = {
        "format": "layoutkit-shelf",
        "version": 1,
        "ranked": ranked,
        "unusable": [u._asdict() for u in found.unusable],
    }
    return json.dumps(told, allow_nan=False) + "\n"


def _shelf_text(job: Job, found: Shelf, units: Units) -> str:
    from layoutkit.bench.shelf import RANKING, reason
    from layoutkit.job.words import static_words
    from layoutkit.output.report import ball_weight, table, wrap

    who = job.bowler.name or "the bowler"
    lines = wrap(f"The layout of {job.title or who} on {len(found.ranked)} balls", indent="")
    rows = [("", "ball", "gross", "side", "finger/thumb", "top", "")]
    for i, r in enumerate(found.ranked, 1):
        s, ball = r.plan.statics, r.plan.job.ball
        rows.append(
            (
                f"{i}.",
                ball.name if len(ball.name) <= 28 else ball.name[:25] + "...",
                ball_weight(s.weight_lb, units),
                static_words("side", s.side_oz, units),
                static_words("finger", s.finger_oz, units),
                static_words("top", s.top_oz, units),
                r.plan.outcome if r.plan.outcome == "pass" else r.plan.outcome.upper(),
            )
        )
    lines += ["", *table(rows, indent=""), ""]
    for i, r in enumerate(found.ranked, 1):
        lines += wrap(f"{r.plan.job.ball.name}: {reason(r, units)}", f"{i}. ")
    if found.unusable:
        lines += ["", "Not ranked:"]
        for u in found.unusable:
            lines += wrap(f"line {u.line}{f', {u.name}' if u.name else ''}: {u.reason}", "- ")
    lines += [""]
    lines += wrap(f"{RANKING} `layoutkit plan` has each ball's checks.", indent="")
    return "\n".join(lines) + "\n"
