"""What a shop's weighed jobs say of its scale and of the balls whose boxes say little.

Three numbers are fitted to all weighings at once: the scale's arm, the density of a shell that no
box states, and a shift of the default density of a filler that no box states. Each is drawn toward
its default, the more strongly the surer that default is, so that few jobs change little. Lengths are
inches, densities g/cm3, static weights ounces.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np

from layoutkit.ball.layers import DEFAULT_SHELL_DENSITY, fit_layers
from layoutkit.bench.pairs import no_kind, stated
from layoutkit.bench.weighing import from_undrilled, predicted, recorded, values
from layoutkit.errors import InputError
from layoutkit.geometry.roots import bisection
from layoutkit.geometry.vectors import Array
from layoutkit.job.files import JOB_ENDINGS
from layoutkit.job.record import Job, Scale, Shell, scale_kind
from layoutkit.job.shop import Calibration, Fitted, with_kind, with_scale
from layoutkit.job.store import load_job
from layoutkit.planning.given import UNCALIBRATED_ARM, label_of, usual_moment
from layoutkit.planning.plan import plan
from layoutkit.planning.unknown import LABEL, without
from layoutkit.units import OZ_PER_LB

# How far the defaults may be off, as standard deviations: common practice, no source.
# inches; that of an even spread over the range of an arm that is not calibrated, 8/15 to 1 of the radius
ARM_SD = 0.58
SHELL_SD = 0.05  # g/cm3; much denser or lighter shells leave most labels no core that can exist
FILLER_SD = 0.05  # g/cm3
# How far a weighed ball is off an exact plan for other reasons; conventions, no source.
STATIC_ERROR_OZ = 0.10  # readings, marks, depths, the label
GROSS_ERROR_OZ = 0.16  # one step of a scale that reads 0.01 lb
FEWEST_JOBS = 3
PARAMETERS = ("arm", "shell_density", "filler_shift")
NO_KIND: Mapping[str, Any] = MappingProxyType({})  # nothing is said of two readings


class WeighedJob(NamedTuple):
    """A job that was weighed drilled, and the name that it goes by."""

    name: str
    job: Job


class UnusableJob(NamedTuple):
    """A file that says nothing about the shop, and one sentence why."""

    name: str
    reason: str


class JobError(NamedTuple):
    """Root mean square of one job's errors in ounces, static weights and gross together.

    ``before`` with the defaults, ``after`` with what was fitted, ``without`` with what is fitted to
    all other jobs.
    """

    name: str
    before: float
    after: float
    without: float


@dataclass(frozen=True, slots=True)
class ShopFit:
    """The fitted numbers and the defaults, with standard deviations, and how well each predicts.

    ``values``, ``sds`` and ``defaults`` are in the order of `PARAMETERS`. ``before``, ``after`` and
    ``without`` are root mean squares of all errors in ounces: with the defaults, fitted, and each job
    by what is fitted to the others. ``scatter`` is the spread of the errors over what is expected.
    """

    values: tuple[float, float, float]
    sds: tuple[float, float, float]
    defaults: tuple[float, float, float]
    default_sds: tuple[float, float, float]
    before: float
    after: float
    without: float
    scatter: float
    jobs: tuple[JobError, ...]

    def fitted(self, date: str) -> Fitted:
        """The fit as the shop's file keeps it."""
        (arm, shell, shift), sds = self.values, self.sds
        return Fitted(
            arm=arm,
            arm_sd=sds[0],
            shell_density=shell,
            shell_density_sd=sds[1],
            filler_shift=shift,
            filler_shift_sd=sds[2],
            jobs=len(self.jobs),
            date=date,
        )


def weighed_jobs(folder: Path) -> tuple[list[WeighedJob], list[UnusableJob]]:
    """The jobs in a folder's `.json` files that were weighed drilled, and why the others are not.

    Raises InputError where the folder cannot be read.
    """
    try:
        paths = sorted(
            p for p in folder.iterdir() if p.suffix.lower() in JOB_ENDINGS and p.is_file()
        )
    except OSError as error:
        raise InputError(
            f"{folder}: cannot be read: {(error.strerror or 'unknown reason').lower()}; give a "
            "folder of job records."
        ) from None
    usable: list[WeighedJob] = []
    unusable: list[UnusableJob] = []
    for path in paths:
        try:
            job = load_job(path)
            _refuse_pairs_without_arm(job)
            planned = plan(job)
            measured = recorded(planned, "drilled")
            if not measured:
                raise InputError("was not weighed after drilling: `layoutkit weigh --record` does.")
            if not measured.keys() <= (predicted(planned) | from_undrilled(planned)).keys():
                raise InputError(
                    f"side, finger and top weight are {without(job, *LABEL)}; a weighing of the "
                    "undrilled ball stands for it."
                )
            usable.append(WeighedJob(path.name, job))
        except InputError as error:
            unusable.append(UnusableJob(path.name, str(error)))
    return usable, unusable


def _refuse_pairs_without_arm(job: Job) -> None:
    """Raise InputError where pairs of readings make weights only with the arm that is to be fitted."""
    both = job.weighings
    pairs = both is not None and any(
        one is not None and stated(one.pairs) for one in (both.undrilled, both.drilled)
    )
    scale = job.scale or Scale()
    if pairs and not scale_kind(scale):
        raise no_kind()
    if pairs and scale.arm is None and scale.reading is None:
        raise InputError(
            "two readings on such a scale make a weight only with its arm, so they say nothing of "
            "it; state scale.arm.",
            "scale.arm",
        )


def with_fitted(job: Job, fitted: Fitted, origin: str, kind: Mapping[str, Any] = NO_KIND) -> Job:
    """The job with what was fitted, where its record is silent: arm, shell and filler.

    ``origin`` is put into the job's `scale.calibrated` where the arm is the fitted one; ``kind``, what
    the shop's file says of two readings, comes with that arm. Densities that leave no core that can
    exist are brought toward the defaults until they do.
    """
    changed = _changed(job, fitted.shell_density, fitted.filler_shift)
    if _arm(job) is not None:
        return changed
    return with_scale(with_kind(changed, kind), fitted.arm, origin, fitted.arm_sd)


def fit_shop(jobs: Sequence[WeighedJob], calibration: Calibration | None = None) -> ShopFit:
    """Fit the shop's arm and densities to weighed jobs.

    Regularised least squares: every error of a weighing over what is expected of it, and for each of
    the three numbers its way from the default over how far the default may be off. The default arm is
    the calibrated one with its own uncertainty, else 23/30 of the balls' mean radius. Where the errors
    are larger than expected, they are given that much less weight. The standard deviations are those of
    the linearised problem at the solution; so is what each job's errors are with it left out, by the
    block form of e / (1 - h).

    A job that states its arm, shell or filler keeps it. Raises InputError for fewer than three jobs.
    """
    if len(jobs) < FEWEST_JOBS:
        raise InputError(
            f"{len(jobs)} weighed job{'' if len(jobs) == 1 else 's'} cannot tell the shop's habits; "
            f"at least {FEWEST_JOBS} are needed, weighed after drilling."
        )
    radius = sum(each.job.ball.radius for each in jobs) / len(jobs)
    arm, arm_sd = UNCALIBRATED_ARM * radius, ARM_SD
    if calibration is not None:
        arm, arm_sd = calibration.arm, calibration.sd
    start = np.array([arm, DEFAULT_SHELL_DENSITY, 0.0])
    # a calibration of no uncertainty would leave no room for the solver
    spread = np.array([max(arm_sd, 1e-3), SHELL_SD, FILLER_SD])
    expected = np.array([_expected(n) for each in jobs for n in _measured(each.job)])

    def errors(x: Array) -> Array:
        return np.concatenate([_errors(each.job, *x.tolist()) for each in jobs])

    x, slope, scatter = _solve(errors, start, spread, expected)
    if scatter > 1.0:
        x, slope, _ = _solve(errors, start, spread, expected * scatter)
    weights = expected * max(1.0, scatter)
    scaled = slope / weights[:, None]
    spreads = np.linalg.inv(scaled.T @ scaled + np.diag(spread**-2.0))
    before = np.concatenate([_as_planned(each.job, calibration) for each in jobs])
    after = errors(x)
    job_errors, without, at = [], [], 0
    for each in jobs:
        part = slice(at, at + len(_measured(each.job)))
        own = scaled[part]
        # the errors of this job as they would be, had it not drawn the solution toward itself
        free = np.linalg.solve(
            np.eye(len(own)) - own @ spreads @ own.T, after[part] / weights[part]
        )
        without.append(free * weights[part])
        job_errors.append(
            JobError(each.name, _rms(before[part]), _rms(after[part]), _rms(without[-1]))
        )
        at = part.stop
    return ShopFit(
        _three(x),
        _three(np.sqrt(np.diag(spreads))),
        _three(start),
        _three(spread),
        _rms(before),
        _rms(after),
        _rms(np.concatenate(without)),
        scatter,
        tuple(job_errors),
    )


def _solve(
    errors: Callable[[Array], Array], start: Array, spread: Array, expected: Array
) -> tuple[Array, Array, float]:
    """The three numbers, the slope of the errors (n, 3) there, and the errors' scatter.

    The scatter is the root of the sum of squares over what is expected, per degree of freedom that
    the numbers leave.
    """
    from scipy.optimize import least_squares

    def residuals(x: Array) -> Array:
        return np.concatenate([errors(x) / expected, (x - start) / spread])

    def slope(x: Array) -> Array:
        # steps far above the error of the plan's integrals, far below any bend
        steps = 0.1 * np.minimum(spread, 0.1)
        columns = [
            (errors(x + h * unit) - errors(x - h * unit)) / (2.0 * h)
            for h, unit in zip(steps, np.eye(3), strict=True)
        ]
        return np.stack(columns, axis=1)

    def jacobian(x: Array) -> Array:
        return np.concatenate([slope(x) / expected[:, None], np.diag(1.0 / spread)])

    solution = least_squares(
        residuals, start, jac=jacobian, x_scale=spread, xtol=1e-6, ftol=1e-8,
        bounds=([1.0, 0.3, -1.0], [6.0, 3.0, 1.0]),
    )  # fmt: skip
    n = len(expected)
    rows = solution.jac
    hat = rows[:n] @ np.linalg.solve(rows.T @ rows, rows[:n].T)
    free = max(n - float(np.trace(hat)), 1.0)
    scatter = math.sqrt(float(np.sum(solution.fun[:n] ** 2)) / free)
    return solution.x, rows[:n] * expected[:, None], scatter


def _measured(job: Job) -> dict[str, float]:
    return values(job, "drilled")


def _expected(name: str) -> float:
    return GROSS_ERROR_OZ if name == "gross" else STATIC_ERROR_OZ


def _as_planned(job: Job, calibration: Calibration | None) -> Array:
    """The errors of a job without any fit, in ounces."""
    if calibration is not None and _arm(job) is None:
        job = with_scale(job, calibration.arm, "")
    return _off(job)


def _errors(job: Job, arm: float, shell_density: float, filler_shift: float) -> Array:
    """The errors of a job with these three numbers, in ounces."""
    changed = _changed(job, shell_density, filler_shift)
    return _off(with_scale(changed, arm, "") if _arm(job) is None else changed)


def _off(job: Job) -> Array:
    """Predicted less measured, in ounces, of each weight that was measured drilled.

    Where the ball was weighed undrilled too, the plan's change by drilling is what is compared.
    """
    result = plan(job)
    expected = predicted(result) | from_undrilled(result)
    return np.array(
        [
            (expected[name] - value) * (OZ_PER_LB if name == "gross" else 1.0)
            for name, value in _measured(job).items()
        ]
    )


def _changed(job: Job, shell_density: float, filler_shift: float) -> Job:
    """The job with shell and filler stated where its box is silent; a uniform ball as it is.

    Where these densities leave no core that can exist, they are moved from the defaults only as far as
    a core can exist.
    """
    ball = job.ball
    if ball.shell is not None and ball.filler_density is not None:
        return job
    label = label_of(job)
    # one limit for all arms, as the plan takes it, so that no small change of the arm is a leap
    moment = usual_moment(job)
    usual = fit_layers(label, moment)
    if usual is None:
        return job
    thickness, density, filler = usual.shell_thickness, usual.shell_density, usual.filler_density
    heavier = 0.0 if ball.shell is not None else shell_density - density
    shift = 0.0 if ball.filler_density is not None else filler_shift

    def possible(part: float) -> bool:
        """Whether a core can exist at this part of the way from the defaults."""
        inside = (thickness, density + part * heavier)
        changed = label._replace(shell=inside, filler_density=filler + part * shift)
        try:
            return fit_layers(changed, moment) is not None
        except InputError:
            return False

    part = 1.0 if possible(1.0) else bisection(possible, 0.0, 1.0, 1e-6)
    shell = Shell.model_construct(thickness=thickness, density=density + part * heavier)
    body = ball.model_copy(update={"shell": shell, "filler_density": filler + part * shift})
    return job.model_copy(update={"ball": body})


def _arm(job: Job) -> float | None:
    return None if job.scale is None else job.scale.arm


def _rms(errors: Array) -> float:
    return math.sqrt(float(np.mean(errors**2)))


def _three(x: Array) -> tuple[float, float, float]:
    a, b, c = x.tolist()
    return a, b, c
