"""Where the sample bowlers are: in the source, or among the data that an installation brought."""

from __future__ import annotations

import site
import sysconfig
from contextlib import suppress
from pathlib import Path

SAMPLES = "sample_bowlers"


def sample_folders() -> tuple[Path, ...]:
    """Where samples can be, the likeliest first.

    In the source they lie beside the packages; pip puts them under the environment's prefix, with
    `--user` under the user's, and with `--target` beside the packages again.
    """
    beside = Path(__file__).resolve().parents[2]
    installed = Path("share") / "layoutkit" / SAMPLES
    places = [beside / SAMPLES, beside / installed]
    with suppress(KeyError):
        places.append(Path(sysconfig.get_path("data")) / installed)
    with suppress(KeyError, OSError, RuntimeError):  # no home is known
        places.append(Path(site.getuserbase()) / installed)
    return tuple(places)


def samples() -> tuple[Path, ...]:
    """The sample jobs, by name; none where no folder of samples is there."""
    for folder in sample_folders():
        jobs = tuple(sorted(folder.glob("*.json")))
        if jobs:
            return jobs
    return ()
