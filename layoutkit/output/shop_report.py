"""The shop's scale as text: a calibration, a fit to weighed jobs, and what the shop's file holds."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from layoutkit.bench.calibration import ArmFound
from layoutkit.bench.shopfit import PARAMETERS, ShopFit, UnusableJob
from layoutkit.job.record import scale_kind
from layoutkit.job.shop import Shop, SurfaceTest
from layoutkit.output.report import table, wrap


def calibration_lines(
    calibration: ArmFound, tests: Sequence[SurfaceTest], question: str | None = None
) -> list[str]:
    """A calibration as text: the arm, each test, what does not agree, and what is asked about it."""
    rows = [("test", "weight", "growth", "lever", "arm", "")]
    for i, (test, arm) in enumerate(zip(tests, calibration.arms, strict=True)):
        remark = "left out: does not agree with the others" if i in calibration.left_out else ""
        lever = f"{test.diameter / 2.0 + test.height:.3f} in"
        rows.append(
            (str(i + 1), f"{test.weight:.2f} oz", f"{test.growth:.2f} oz", lever, f"{arm:.3f} in", remark)
        )  # fmt: skip
    lines = [
        f"The scale's arm is {calibration.arm:.3f} +/- {calibration.arm_sd:.3f} in (one standard "
        "deviation)."
    ]
    lines += table(rows)
    if question:
        lines += wrap(question, "? ")
    if calibration.scatter is None:
        lines += wrap("One test shows no slip: make two more, with other weights.")
    elif calibration.scatter > 2.0:
        lines += wrap(
            "The tests scatter more than the readings should: the uncertainty is widened to that. "
            "Make them again."
        )
    if calibration.left_out:
        names = ", ".join(str(i + 1) for i in calibration.left_out)
        lines += wrap(f"Left out as outliers: test {names}. Look for a slip of the pen.")
    return lines


_FITTED = (("arm", "in"), ("shell's density", "g/cm3"), ("filler's shift", "g/cm3"))


def fit_lines(fit: ShopFit, unusable: Sequence[UnusableJob]) -> list[str]:
    """A fit as text: what was fitted, by how much it predicts better, and the files not used."""
    lines = [f"Fitted to {len(fit.jobs)} weighed jobs, drawn toward the defaults."]
    rows = [("", "default", "fitted", "", "")]
    for (name, unit), default, spread, value, sd in zip(
        _FITTED, fit.defaults, fit.default_sds, fit.values, fit.sds, strict=True
    ):
        usual = f"{default:.3f} +/- {spread:.3f}"
        remark = "little learnt" if sd > 0.8 * spread else ""
        rows.append((name, usual, f"{value:.3f} +/- {sd:.3f}", unit, remark))
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


def unusable_lines(unusable: Sequence[UnusableJob]) -> list[str]:
    """The files that a fit could not use, and why."""
    return [
        line for each in unusable for line in wrap(f"{each.name} not used: {each.reason}", "- ")
    ]


def fit_dict(fit: ShopFit) -> dict[str, Any]:
    """A fit as plain values."""
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


_KINDS = {
    "supports": "on two supports {} in apart",
    "pan_lever": "on a pan with a lever of {} in",
    "reading": "half their difference is the weight",
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
        lines += [f"  Two readings: {_KINDS[name].format(v)}." for name, v in scale_kind(c).items()]
    else:
        lines.append("  The arm is not calibrated.")
    if shop.fitted is not None:
        f = shop.fitted
        lines.append(
            f"  Fitted to {f.jobs} jobs on {f.date}: arm {f.arm:.3f} in, shell "
            f"{f.shell_density:.2f} g/cm3, filler {f.filler_shift:+.2f} g/cm3; {when}."
        )
    return lines
