"""The shop's own file: what was calibrated or fitted once and holds for later jobs.

It is one JSON file of the user, versioned and replaced in one step. A job that states its scale's
arm keeps it; one that does not takes the shop's where the caller fills it in. `plan` itself never
looks here.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import BeforeValidator, ValidationError, model_validator
from pydantic import Field as _Field

from layoutkit.errors import InputError
from layoutkit.job.files import SHOP_FILE, file_name, locked, read_json, write_atomic
from layoutkit.job.folders import user_folder
from layoutkit.job.limits import limit
from layoutkit.job.problems import problems_of
from layoutkit.job.record import Job, Scale, scale_kind
from layoutkit.job.validators import Date, Model, Number, Text, few, only_version
from layoutkit.units import parse_length, parse_ounces, shown

ENVIRONMENT = "LAYOUTKIT_SHOP"  # names the shop's file in place of the user's folder
FORMAT = "layoutkit-shop"
VERSION = 1

_Line = Annotated[str, Text(200)]
_MOST_TESTS = 1000

_Arm = Annotated[float, limit("scale.arm")]
_Spread = Annotated[float, Number(0.0, 6.0)]


class SurfaceTest(Model):
    """One known weight on a ball's surface: ounces, the growth of the reading in scale ounces.

    ``diameter`` of the ball, and ``height`` of the weight's own centre above its surface, inches.
    """

    weight: Annotated[float, Number(0.0, 32.0, "oz", above=True)]
    growth: Annotated[float, Number(0.0, 64.0, "oz", above=True)]
    diameter: Annotated[float, Number(8.0, 9.0, "in")]
    height: Annotated[float, Number(0.0, 2.0, "in")] = 0.0


def surface_test(weight: str, growth: str, diameter: str, height: str) -> SurfaceTest:
    """A test as typed.

    Raises InputError about the first text that cannot be one of its numbers, which is its ``field``.
    """
    typed = {"weight": weight, "growth": growth, "diameter": diameter, "height": height}
    numbers: dict[str, float] = {}
    for name, text in typed.items():
        parse = parse_ounces if name in ("weight", "growth") else parse_length
        try:
            numbers[name] = parse(text.strip())
        except InputError as error:
            raise InputError(error.words, name) from None
    try:
        return SurfaceTest(**numbers)
    except ValidationError as error:
        first = problems_of(error, SurfaceTest, "a test")[0]
    raise first.error()


class Calibration(Model):
    """The scale's arm and its standard deviation, inches; from which tests, when and by whom.

    ``left_out`` are the tests that did not agree with the others. ``supports``, ``pan_lever`` or
    ``reading`` says what two readings mean on this scale, as a record's `Scale` does.
    """

    arm: _Arm
    sd: _Spread
    date: Annotated[str, Date()]
    by: _Line = ""
    tests: Annotated[tuple[SurfaceTest, ...], few(_MOST_TESTS)]
    left_out: Annotated[tuple[SurfaceTest, ...], few(_MOST_TESTS)] = ()
    supports: Annotated[float, limit("scale.supports")] | None = None
    pan_lever: Annotated[float, limit("scale.pan_lever")] | None = None
    reading: Literal["half_difference"] | None = None

    @model_validator(mode="after")
    def _one_kind(self) -> Calibration:
        scale_kind(self)
        return self


class Fitted(Model):
    """What a folder of weighed jobs says of the shop, each with its standard deviation.

    ``arm`` inches; ``shell_density`` of a shell that no box states, g/cm3; ``filler_shift`` is added
    to the filler's density that is taken where no box states it, g/cm3.
    """

    arm: _Arm
    arm_sd: _Spread
    shell_density: Annotated[float, Number(0.3, 3.0, "g/cm3")]
    shell_density_sd: _Spread
    filler_shift: Annotated[float, Number(-2.0, 2.0, "g/cm3")]
    filler_shift_sd: _Spread
    jobs: Annotated[int, _Field(ge=1)]
    date: Annotated[str, Date()]

    @property
    def told(self) -> str:
        """Where a fitted arm comes from, for the job that takes it."""
        return f"fitted to {self.jobs} jobs of the shop, +/- {self.arm_sd:.3f} in, on {self.date}"


class Bit(NamedTuple):
    """A bit that the shop owns: its size as the shop writes it, and in inches."""

    name: str
    size: float


def _bit(text: object) -> str:
    """A bit's size as a shop writes it, such as 31/32 or 18.5 mm; InputError where it is none."""
    if not isinstance(text, str):
        raise InputError(
            f'{shown(text)} is no text; possible: a size such as "31/32" or "18.5 mm".'
        )
    size = parse_length(text.strip())
    if not SMALLEST_BIT <= size <= LARGEST_BIT:
        raise InputError(
            f"{shown(text)} is outside what a bit can be; possible: {SMALLEST_BIT:g} to "
            f"{LARGEST_BIT:g} in."
        )
    return text.strip()


SMALLEST_BIT, LARGEST_BIT = 1.0 / 32.0, 2.5  # inches
SAME_BIT = 5e-4  # inches; no bit is ground closer to its size
_MOST_BITS = 300


class Shop(Model):
    """All that a shop's file holds. ``bits`` are the sizes that it owns, as it writes them."""

    format: Literal["layoutkit-shop"] = "layoutkit-shop"
    version: Annotated[Literal[1], only_version(VERSION)] = 1
    scale: Calibration | None = None
    fitted: Fitted | None = None
    bits: Annotated[tuple[Annotated[str, BeforeValidator(_bit)], ...], few(_MOST_BITS)] = ()

    @property
    def owned(self) -> tuple[Bit, ...]:
        """The bits with their sizes in inches."""
        return tuple(Bit(name, parse_length(name)) for name in self.bits)


def with_bit(shop: Shop, text: str) -> Shop:
    """The shop with one more bit, its size as typed.

    Raises InputError for a text that is no bit's size, for a size that the shop owns already, and where
    the file has no room for one more.
    """
    name = _bit(text)
    size = parse_length(name)
    owned = next((bit for bit in shop.owned if abs(bit.size - size) < SAME_BIT), None)
    if owned is not None:
        alike = "" if owned.name == name else f", as {shown(owned.name)}"
        raise InputError(f"{shown(name)} is there already{alike}; possible: another size.")
    if len(shop.bits) >= _MOST_BITS:
        raise InputError(f"{_MOST_BITS} bits are all that a shop's file holds; remove one first.")
    return shop.model_copy(update={"bits": (*shop.bits, name)})


def without_bit(shop: Shop, name: str) -> Shop:
    """The shop without the bit that it writes so; the same shop where it owns none."""
    return shop.model_copy(update={"bits": tuple(bit for bit in shop.bits if bit != name)})


def config_dir(environ: Mapping[str, str] | None = None) -> Path:
    """The user's folder for this program's settings; raises InputError where no home is known."""
    return user_folder("settings", environ)


def shop_path(environ: Mapping[str, str] | None = None) -> Path:
    """Where the shop's file is: named by LAYOUTKIT_SHOP, else `shop.json` in the user's folder."""
    env = os.environ if environ is None else environ
    return Path(env[ENVIRONMENT]) if env.get(ENVIRONMENT) else config_dir(env) / "shop.json"


def load_shop(path: Path) -> Shop | None:
    """The shop of a file, None where there is no such file.

    Raises InputError where the file cannot be read or is no shop's file.
    """
    if not os.path.lexists(path):
        return None
    try:
        return parse_shop(read_json(path, SHOP_FILE))
    except InputError as error:
        raise InputError(error.words, error.field, file_name(path)) from None


def parse_shop(data: Mapping[str, Any]) -> Shop:
    """The shop of a decoded file; raises InputError about the first thing that is wrong with it."""
    try:
        return Shop.model_validate(data)
    except ValidationError as error:
        first = problems_of(error, Shop, SHOP_FILE)[0]
    raise first.error()


def save_shop(shop: Shop, path: Path) -> None:
    """Write a shop's file, whole or not at all; its folder is made where it is missing.

    Raises InputError where it cannot be written.
    """
    _make_folder(path)
    data = shop.model_dump(mode="json")
    write_atomic(path, (json.dumps(data, indent=2, ensure_ascii=False) + "\n").encode("utf-8"))


def change_shop(path: Path, change: Callable[[Shop], Shop]) -> Shop:
    """Write a shop's file anew: what it holds now, or an empty shop, changed; returns that.

    No other program changes the file meanwhile. Raises InputError, nothing written, where the file
    cannot be read or written.
    """
    _make_folder(path)
    with locked(path):
        shop = change(load_shop(path) or Shop())
        save_shop(shop, path)
    return shop


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its folder cannot be made"
        raise InputError(f"cannot be written: {reason.lower()}.", file=file_name(path)) from None


def with_arm(job: Job, shop: Shop | None, path: Path) -> Job:
    """The job with the shop's calibrated arm, where the job states none and the shop has one.

    What the shop's file says of two readings comes with the arm, where the job is silent about it.
    ``path`` is told in the job's `scale.calibrated`, so that every plan says whose arm it used.
    """
    scale = job.scale or Scale()
    if shop is None or shop.scale is None or scale.arm is not None:
        return job
    c = shop.scale
    told = f"the shop's, +/- {c.sd:.3f} in, on {c.date} ({file_name(path)})"
    return with_scale(with_kind(job, scale_kind(c)), c.arm, told, c.sd)


def with_kind(job: Job, kind: Mapping[str, Any]) -> Job:
    """The job with what ``kind``, as `scale_kind` gives it, says of two readings, where it is silent."""
    scale = job.scale or Scale()
    if not kind or scale_kind(scale):
        return job
    return job.model_copy(update={"scale": scale.model_copy(update=dict(kind))})


def with_scale(job: Job, arm: float, calibrated: str, sd: float | None = None) -> Job:
    """The job with this arm and its standard deviation in inches, and these words about it."""
    update = {"arm": arm, "arm_sd": sd, "calibrated": calibrated}
    scale = (job.scale or Scale()).model_copy(update=update)
    return job.model_copy(update={"scale": scale})
