"""The shop's scale for the window: tests as typed to the arm, and a folder of weighed jobs to a fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from gui.state.shop import ShopFile
from layoutkit.ball.size import USUAL_DIAMETER
from layoutkit.bench.calibration import READING_OZ, ArmFound, calibrate, with_calibration
from layoutkit.bench.shopfit import ShopFit, fit_shop, weighed_jobs
from layoutkit.errors import InputError
from layoutkit.job.shop import Shop, SurfaceTest, load_shop, surface_test
from layoutkit.output.shop_report import calibration_lines, fit_lines, shop_lines, unusable_lines
from layoutkit.units import parse_ounces

USUAL_READING = f"{READING_OZ:g}"  # ounces, as typed
READING = "A reading's deviation"
HOW = (
    "Fix a known weight on the ball's surface on the beam's axis, and type the weight and by how much "
    "the reading grew; better three times, with different weights. Fix it well: a weight that falls "
    "hurts feet and scale."
)
NOTHING = "No test yet: type a weight, and by how much the reading grew with it."


class TypedTest(NamedTuple):
    """One surface-weight test as typed: ounces, ounces, and two lengths."""

    weight: str = ""
    growth: str = ""
    diameter: str = f"{USUAL_DIAMETER:g}"
    height: str = "0"

    @property
    def used(self) -> bool:
        """Whether something was typed that makes it a test."""
        return bool(self.weight.strip() or self.growth.strip())


# a test's columns: heading, which of its texts, and the unit where none is typed
COLUMNS: tuple[tuple[str, str, str], ...] = (
    ("Known weight", "weight", "oz"),
    ("Growth of the reading", "growth", "oz"),
    ("Ball's diameter", "diameter", "in"),
    ("Weight's own centre above the ball", "height", "in"),
)


@dataclass(frozen=True, slots=True)
class Tried:
    """What tests give: the arm and its words, or why there is none.

    ``wrong`` where something must be changed, not only added: the row, None for the reading's
    deviation, and the column, empty where no single text is to blame.
    """

    words: str
    wrong: tuple[int | None, str] | None = None
    tests: tuple[SurfaceTest, ...] = ()
    arm: ArmFound | None = None


def kept_tests(file: ShopFile) -> tuple[list[TypedTest], str]:
    """The tests that the shop's file holds as typed, those that were left out last; and by whom.

    Raises InputError for a file that cannot be used.
    """
    shop = load_shop(file.path)
    if shop is None or shop.scale is None:
        return [], ""
    tests = (*shop.scale.tests, *shop.scale.left_out)
    rows = [
        TypedTest(*(f"{value:.6g}" for value in (t.weight, t.growth, t.diameter, t.height)))
        for t in tests
    ]
    return rows, shop.scale.by


def tried(rows: Sequence[TypedTest], reading: str = USUAL_READING) -> Tried:
    """The arm from tests as typed; rows without a weight and a growth are none, and not counted.

    ``reading`` is the standard deviation of a reading's growth.
    """
    tests: list[SurfaceTest] = []
    for i, row in enumerate(rows):
        if not row.used:
            continue
        try:
            tests.append(surface_test(*row))
        except InputError as error:
            heading = next(h for h, name, _ in COLUMNS if name == error.field).lower()
            place = f"Test {len(tests) + 1}"
            if not getattr(row, error.field).strip():
                return Tried(f"{place} still needs: {heading}.")
            return Tried(f"{place}, {heading}: {error.words}", (i, error.field))
    try:
        deviation = parse_ounces(reading.strip())
    except InputError as error:
        return Tried(f"{READING}: {error}", (None, ""))
    if not tests:
        return Tried(NOTHING)
    try:
        found = calibrate(tests, deviation)
    except InputError as error:
        words = str(error)
        first = next(i for i, row in enumerate(rows) if row.used)
        return Tried(words[:1].upper() + words[1:], (first if deviation > 0.0 else None, ""))
    return Tried("\n".join(calibration_lines(found, tests)), None, tuple(tests), found)


def keep_arm(file: ShopFile, tests: Tried, date: str, by: str) -> None:
    """Keep a calibration in the shop's file; raises InputError where that cannot be."""
    arm = tests.arm
    assert arm is not None
    file.keep(lambda shop: with_calibration(shop, tests.tests, arm, date, by.strip()))


@dataclass(frozen=True, slots=True)
class Fitting:
    """What a folder of weighed jobs gives: the fit and its words, or why there is none."""

    words: str
    fit: ShopFit | None = None


def fitting(folder: Path, shop_file: Path) -> Fitting:
    """Fit the shop to a folder's weighed jobs; safe to call in a worker thread."""
    try:
        shop = load_shop(shop_file)
        jobs, unusable = weighed_jobs(folder)
    except InputError as error:
        return Fitting(str(error))
    try:
        fit = fit_shop(jobs, None if shop is None else shop.scale)
    except InputError as error:
        return Fitting("\n".join([str(error), *unusable_lines(unusable)]))
    return Fitting("\n".join(fit_lines(fit, unusable)), fit)


def keep_fit(file: ShopFile, fit: ShopFit, date: str) -> None:
    """Keep a fit in the shop's file; raises InputError where that cannot be."""
    file.keep(lambda shop: shop.model_copy(update={"fitted": fit.fitted(date)}))


def held(file: ShopFile) -> str:
    """What the shop's file holds, as text; raises InputError for one that cannot be used."""
    shop = load_shop(file.path)
    when = "taken now" if file.taking else "taken only when you say so"
    return "\n".join(shop_lines(shop or Shop(), file.path, shop is not None, when))
