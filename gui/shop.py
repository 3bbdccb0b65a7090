"""The shop's file as the window uses it: its arm for jobs that state none."""

from __future__ import annotations

import logging
import os
from pathlib import Path

from layoutkit.errors import InputError
from layoutkit.record import Job
from layoutkit.shop import Shop, load_shop, shop_path, with_arm

log = logging.getLogger("layoutkit.window")


class ShopFile:
    """The shop's file, read again only when it changed; one that cannot be used is passed over."""

    def __init__(self, path: Path | None = None) -> None:
        """The user's own file, or another."""
        self.path = shop_path() if path is None else path
        self._seen: tuple[int, int] | None = None
        self._shop: Shop | None = None

    def fill(self, job: Job) -> Job:
        """The job with the shop's arm where it states none."""
        if job.scale is not None and job.scale.arm is not None:
            return job
        try:
            found = os.stat(self.path)
        except (OSError, ValueError):
            self._seen = self._shop = None
            return job
        seen = (found.st_mtime_ns, found.st_size)
        if seen != self._seen:
            self._seen = seen
            try:
                self._shop = load_shop(self.path)
            except InputError as error:
                self._shop = None
                log.warning("the shop's file is not used: %s", error)
        return with_arm(job, self._shop, self.path)
