"""Plan the drilling of a bowling ball: job record to plan to work sheet.

    from layoutkit import load_job, plan

    result = plan(load_job("job.json"))
    print(result.outcome, result.statics.side_oz)

Lengths are inches, ball weights pounds, static weights ounces, densities g/cm3, angles degrees.
Whatever cannot be used raises InputError with one sentence. The names below are imported when they
are first used, so that a program pays only for what it needs.
"""

import sys
from importlib import import_module
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from layoutkit.axis import AxisFit, fit_axis
    from layoutkit.errors import InputError, LayoutkitError
    from layoutkit.marking import marking_steps
    from layoutkit.plan import Plan, plan
    from layoutkit.record import Job, parse_job
    from layoutkit.sheet import write_sheet
    from layoutkit.store import load_job, save_job
    from layoutkit.track import load_track

__version__ = "0.1.0"
__all__ = (
    "AxisFit",
    "InputError",
    "Job",
    "LayoutkitError",
    "Plan",
    "__version__",
    "fit_axis",
    "load_job",
    "load_track",
    "marking_steps",
    "parse_job",
    "plan",
    "save_job",
    "write_sheet",
)

_HOMES = {
    "AxisFit": "axis",
    "InputError": "errors",
    "Job": "record",
    "LayoutkitError": "errors",
    "Plan": "plan",
    "fit_axis": "axis",
    "load_job": "store",
    "load_track": "track",
    "marking_steps": "marking",
    "parse_job": "record",
    "plan": "plan",
    "save_job": "store",
    "write_sheet": "sheet",
}


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for (PEP 562)."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """The public names, imported or not."""
    return sorted({*globals(), *__all__})


class _Package(ModuleType):
    """Keeps `plan` the function: importing the submodule would bind the module to that name."""

    def __setattr__(self, name: str, value: object) -> None:
        if name == "plan" and isinstance(value, ModuleType):
            value = value.plan
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
