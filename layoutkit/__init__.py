"""Plan the drilling of a bowling ball: job record to plan to work sheet.

    from layoutkit import load_job, plan

    result = plan(load_job("job.json"))
    print(result.outcome, result.statics.side_oz)

Lengths are inches, ball weights pounds, static weights ounces, densities g/cm3, angles degrees.
Whatever cannot be used raises InputError with one sentence. The names below are imported when they
are first used, so that a program pays only for what it needs.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from layoutkit.bench.axis import AxisFit, fit_axis
    from layoutkit.bench.calibration import calibrate
    from layoutkit.bench.grip_copy import copied as copy_grip
    from layoutkit.bench.shelf import shelf
    from layoutkit.bench.track import load_track
    from layoutkit.bench.weighing import weigh
    from layoutkit.choosing.choose import choose
    from layoutkit.choosing.owned import compare_owned
    from layoutkit.errors import InputError, LayoutkitError
    from layoutkit.job.measured import load_measured
    from layoutkit.job.record import Job, parse_job
    from layoutkit.job.store import load_job, save_job
    from layoutkit.lane.roll import compare, roll
    from layoutkit.output.sheet import write_sheet
    from layoutkit.planning.certainty import certainty
    from layoutkit.planning.changes import offers as changes
    from layoutkit.planning.marking import marking_steps
    from layoutkit.planning.plan import plan
    from layoutkit.planning.redrill import redrilled as redrill
    from layoutkit.planning.values import Plan

__version__ = "0.2.0"
__all__ = (
    "AxisFit",
    "InputError",
    "Job",
    "LayoutkitError",
    "Plan",
    "__version__",
    "calibrate",
    "certainty",
    "changes",
    "choose",
    "compare",
    "compare_owned",
    "copy_grip",
    "fit_axis",
    "load_job",
    "load_measured",
    "load_track",
    "marking_steps",
    "parse_job",
    "plan",
    "redrill",
    "roll",
    "save_job",
    "shelf",
    "weigh",
    "write_sheet",
)

_HOMES = {
    "AxisFit": "bench.axis",
    "InputError": "errors",
    "Job": "job.record",
    "LayoutkitError": "errors",
    "Plan": "planning.values",
    "calibrate": "bench.calibration",
    "choose": "choosing.choose",
    "compare_owned": "choosing.owned",
    "certainty": "planning.certainty",
    "copy_grip": "bench.grip_copy",
    "changes": "planning.changes",
    "compare": "lane.roll",
    "fit_axis": "bench.axis",
    "load_job": "job.store",
    "load_measured": "job.measured",
    "load_track": "bench.track",
    "marking_steps": "planning.marking",
    "parse_job": "job.record",
    "plan": "planning.plan",
    "redrill": "planning.redrill",
    "roll": "lane.roll",
    "shelf": "bench.shelf",
    "weigh": "bench.weighing",
    "save_job": "job.store",
    "write_sheet": "output.sheet",
}

# what has another name at home, where its module says what it is about
_NAMES_AT_HOME = {"changes": "offers", "copy_grip": "copied", "redrill": "redrilled"}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), _NAMES_AT_HOME.get(name, name))
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """The public names, imported or not."""
    return sorted({*globals(), *__all__})
