"""The shop's file as the windows use it: its arm, or its fit, for jobs whose records are silent."""

from __future__ import annotations

import logging
import os
from collections.abc import Callable
from pathlib import Path

from layoutkit.bench.shopfit import with_fitted
from layoutkit.errors import InputError
from layoutkit.job.record import Job, scale_kind
from layoutkit.job.shop import Fitted, Shop, change_shop, load_shop, shop_path, with_arm

log = logging.getLogger("layoutkit.window")


class ShopFile:
    """The shop's file, read again only when it changed; one that cannot be used is passed over.

    All windows share one, and with it the switch that takes what was fitted: off at the start, and
    kept nowhere.
    """

    def __init__(self, path: Path | None = None) -> None:
        """The user's own file, or another."""
        self.path = shop_path() if path is None else path
        self._seen: tuple[int, int] | None = None
        self._shop: Shop | None = None
        self._taking = False
        self._listeners: list[Callable[[], object]] = []

    def subscribe(self, listener: Callable[[], object]) -> Callable[[], None]:
        """Call ``listener`` when what jobs are filled with may be another; returns what ends that."""
        self._listeners.append(listener)

        def end() -> None:
            if listener in self._listeners:
                self._listeners.remove(listener)

        return end

    def _tell(self) -> None:
        for listener in tuple(self._listeners):
            listener()

    # --- what it holds ----------------------------------------------------------------------------

    @property
    def shop(self) -> Shop | None:
        """What the file holds; None without a file that can be used."""
        try:
            found = os.stat(self.path)
        except (OSError, ValueError):
            self._seen = self._shop = None
            return None
        seen = (found.st_mtime_ns, found.st_size)
        if seen != self._seen:
            self._seen = seen
            try:
                self._shop = load_shop(self.path)
            except InputError as error:
                self._shop = None
                log.warning("the shop's file is not used: %s", error)
        return self._shop

    @property
    def taking(self) -> bool:
        """Whether what was fitted is to be taken."""
        return self._taking

    @property
    def fit(self) -> Fitted | None:
        """The fit that plans take now; None while none is to be taken, or the file holds none."""
        shop = self.shop if self._taking else None
        return None if shop is None else shop.fitted

    @property
    def fit_words(self) -> str:
        """What is taken of the fit, in a sentence; empty while it is not to be taken."""
        if not self._taking:
            return ""
        fitted = self.fit
        if fitted is None:
            return (
                "What was fitted is to be taken, but the shop's file holds no fit: none is taken."
            )
        return (
            f"As fitted to {fitted.jobs} weighed jobs of the shop on {fitted.date}, where the record is "
            f"silent: arm {fitted.arm:.3f} in, shell {fitted.shell_density:.2f} g/cm3, filler "
            f"{fitted.filler_shift:+.2f} g/cm3."
        )

    def fill(self, job: Job) -> Job:
        """The job with the shop's arm where it states none, or with what was fitted where it is to be
        taken; raises InputError where a fit leaves no ball that can exist."""
        if not self._taking and job.scale is not None and job.scale.arm is not None:
            return job
        fitted = self.fit
        if fitted is not None:
            shop = self.shop
            kind = {} if shop is None or shop.scale is None else scale_kind(shop.scale)
            return with_fitted(job, fitted, fitted.told, kind)
        return with_arm(job, self.shop, self.path)

    # --- what changes it --------------------------------------------------------------------------

    def take_fitted(self, on: bool) -> None:
        """Take what was fitted from now on, or no longer."""
        if on != self._taking:
            self._taking = on
            self._tell()

    def keep(self, change: Callable[[Shop], Shop]) -> None:
        """Write the file anew: what it holds now, changed.

        Raises InputError, nothing written, where the file cannot be read or written.
        """
        change_shop(self.path, change)
        self._tell()
