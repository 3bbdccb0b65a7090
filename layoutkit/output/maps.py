"""Contour maps of what layouts do: side weight, differentials and flare potential.

One page is for one pin-to-PAP: the angle at the pin runs to the right, the angle at the PAP up.
matplotlib is imported when a page is drawn.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from layoutkit.errors import InputError
from layoutkit.geometry.vectors import Array
from layoutkit.job.files import write_atomic
from layoutkit.job.rules import CLOSE, FAIL
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.planning import sweep as _sweep
from layoutkit.planning.unknown import by_angles_of
from layoutkit.planning.values import Plan
from layoutkit.units import fraction, printable

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SPREAD = 45.0  # degrees to both sides of the present layout, where no range is given
FLARE = (
    "Flare potential is how far the axis of a freely turning ball moves in its first revolution, by all "
    "three RGs: it compares layouts, it promises nothing about a lane."
)
FORMS = (".pdf", ".png")


class Panel(NamedTuple):
    """One map: the figure's name in `variants.Outcomes`, its title, and what it is multiplied by."""

    name: str
    title: str
    unit: float


LONGEST_TITLE = 90  # characters; more are wider than the page

PANELS = (
    Panel("side_oz", "Side weight, oz", 1.0),
    Panel("differential", "Differential, in / 1000", 1000.0),
    Panel("intermediate_differential", "Intermediate differential, in / 1000", 1000.0),
    Panel("flare", "Flare potential, in a revolution", 1.0),
)


class Ranges(NamedTuple):
    """Rising values of the angle at the pin and at the PAP, in degrees, and of pin-to-PAP, in inches."""

    angle_at_pin: Array
    angle_at_pap: Array
    pin_to_pap: Array


class Map(NamedTuple):
    """A swept job; ``swept`` counts pin-to-PAP first, then angle at the PAP, then angle at the pin."""

    plan: Plan
    ranges: Ranges
    swept: _sweep.Swept

    def grid(self, name: str, page: int) -> Array:
        """One figure for one pin-to-PAP: (angles at the PAP, angles at the pin)."""
        values = self.swept.verdict if name == "verdict" else getattr(self.swept.outcomes, name)
        shape = (len(self.ranges.pin_to_pap), len(self.ranges.angle_at_pap), -1)
        return np.asarray(values.reshape(shape)[page])

    def nearest(self, angle_at_pin: float, angle_at_pap: float) -> tuple[float, float]:
        """The nearest whole degrees that lie on the map."""
        angles = []
        ranges = (self.ranges.angle_at_pin, self.ranges.angle_at_pap)
        for angle, (low, *_, high) in zip((angle_at_pin, angle_at_pap), ranges, strict=True):
            angles.append(float(min(max(round(angle), math.ceil(low)), math.floor(high))))
        return angles[0], angles[1]


def stepped(low: float, high: float, step: float) -> Array:
    """Values from ``low`` to ``high``, both included, about ``step`` apart."""
    return np.linspace(low, high, max(math.ceil((high - low) / step - 1e-9), 1) + 1)


def default_ranges(plan: Plan, step: float = 1.0) -> Ranges:
    """Ranges around the present layout, at its own pin-to-PAP. Raises InputError without a PAP."""
    turn, away, lean = by_angles_of(plan, "a map of layouts")
    angles = []
    for angle in (turn, lean):
        middle = min(max(angle, -180.0 + SPREAD), 180.0 - SPREAD)
        angles.append(stepped(middle - SPREAD, middle + SPREAD, step))
    return Ranges(angles[0], angles[1], np.array([away]))


def verdict_counts(verdicts: NDArray[np.int8]) -> dict[str, int]:
    """How many verdicts (n,) there are, how many of them fail and are close."""
    fail, close = (int((verdicts == level).sum()) for level in (FAIL, CLOSE))
    return {"all": len(verdicts), "fail": fail, "close": close}


def map_dict(layout_map: Map) -> dict[str, Any]:
    """How many layouts there are, fail and are close; the plan's outcome."""
    plan = layout_map.plan
    counts = verdict_counts(layout_map.swept.verdict)
    return {"title": plan.job.title, "outcome": plan.outcome, "layouts": counts}


def layout_map(
    plan: Plan, ranges: Ranges, progress: Callable[[int, int], None] | None = None
) -> Map:
    """Sweep all layouts of the ranges. Raises InputError for too many, and as `sweep.sweep` does."""
    if math.prod(map(len, ranges)) > _sweep.MOST_LAYOUTS:
        raise InputError(
            f"the map: {math.prod(map(len, ranges))} layouts are too many; possible: up to "
            f"{_sweep.MOST_LAYOUTS}; take a wider step or a smaller range."
        )
    p, v, d = np.meshgrid(
        ranges.pin_to_pap, ranges.angle_at_pap, ranges.angle_at_pin, indexing="ij"
    )
    return Map(plan, ranges, _sweep.sweep(plan, _sweep.Layouts(d, p, v), progress))


def figure(swept_map: Map, page: int) -> Figure:
    """One page: four maps with failing layouts hatched, close ones dotted, the present one marked."""
    provide_cache_folder()
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    with mpl.rc_context({"font.size": 8, "hatch.linewidth": 0.6, "pdf.fonttype": 42}):
        made = Figure(figsize=(10.0, 7.6), layout="constrained")
        FigureCanvasAgg(made)
        axes = made.subplots(2, 2, sharex=True, sharey=True)
        for ax, panel in zip(axes.flat, PANELS, strict=True):
            ax.set_title(panel.title, fontsize=9)
            draw_panel(ax, swept_map, page, panel)
        for ax in axes[1]:
            ax.set_xlabel("angle at the pin, degrees")
        for ax in axes[:, 0]:
            ax.set_ylabel("Angle at the PAP, degrees")
        arc = float(swept_map.ranges.pin_to_pap[page])
        title = short_title(swept_map.plan.job.title or "Layouts")
        # a dollar sign in a title is no formula
        made.suptitle(f"{title}: pin to PAP {fraction(arc)} in", fontsize=11, parse_math=False)
        made.supxlabel(
            "Hatched: fails the rules. Dotted: close, the scale decides. "
            f"Cross: the present layout.\n{FLARE}",
            fontsize=7.5,
        )
    return made


def short_title(title: str) -> str:
    """A title in the length that a page of maps has room for."""
    title = printable(title)
    return title if len(title) <= LONGEST_TITLE else f"{title[: LONGEST_TITLE - 3]}..."


def hatch_verdicts(ax: Any, x: Array, y: Array, verdict: Array, outlined: bool = True) -> None:
    """Hatch what fails and dot what is close; ``verdict`` (y, x) is NaN where nothing is judged."""
    for level, hatch in ((CLOSE, "..."), (FAIL, "////")):
        where = (verdict == level).astype(float)
        if where.all():
            ax.axhspan(y[0], y[-1], fill=False, hatch=hatch, edgecolor="black", linewidth=0)
        elif where.any():
            drawn = ax.contourf(x, y, where, levels=[0.5, 1.5], colors="none", hatches=[hatch])
            drawn.set_edgecolor("black")
            if not outlined:
                drawn.set_linewidth(0.0)


def draw_panel(ax: Any, swept_map: Map, page: int, panel: Panel, shrink: float = 0.9) -> None:
    """One map on an Axes: angle at the pin to the right, angle at the PAP up, a bar of colours beside it.

    ``shrink`` is the bar's length over that of the Axes.
    """
    x, y = swept_map.ranges.angle_at_pin, swept_map.ranges.angle_at_pap
    z = panel.unit * swept_map.grid(panel.name, page)
    if np.ptp(z) > 1e-6:
        filled = ax.contourf(x, y, z, levels=12, cmap="cividis")
        ax.figure.colorbar(filled, ax=ax, shrink=shrink)
        ax.contour(x, y, z, levels=filled.levels, colors="white", linewidths=0.3)
    else:
        ax.text(0.5, 0.5, f"{z.flat[0]:.3f} everywhere", transform=ax.transAxes, ha="center")
    hatch_verdicts(ax, x, y, swept_map.grid("verdict", page).astype(float))
    turn, away, lean = by_angles_of(swept_map.plan, "a map of layouts")
    here = abs(away - swept_map.ranges.pin_to_pap[page]) < 1.0 / 32.0
    if here and x[0] <= turn <= x[-1] and y[0] <= lean <= y[-1]:
        for color, width in (("white", 3.5), ("black", 1.5)):
            ax.plot([turn], [lean], "+", ms=13, mew=width, color=color)
    ax.set_xlim(x[0], x[-1])
    ax.set_ylim(y[0], y[-1])


def write(swept_map: Map, path: str) -> None:
    """The maps as a file: a PDF of one page for each pin-to-PAP, or a PNG of a single one.

    Raises InputError for another ending, for a PNG of several pages, or where it cannot be written.
    """
    form = check_name(path, len(swept_map.ranges.pin_to_pap))
    write_atomic(path, picture(swept_map, form))


def picture(swept_map: Map, form: str) -> bytes:
    """The maps as a file's content; ``form`` is one of `FORMS`, a PNG shows the first page."""
    data = io.BytesIO()
    if form == ".png":
        figure(swept_map, 0).savefig(data, format="png", dpi=130)
    else:
        provide_cache_folder()
        from matplotlib.backends.backend_pdf import PdfPages

        with PdfPages(data, metadata={"CreationDate": None}) as pdf:
            for page in range(len(swept_map.ranges.pin_to_pap)):
                pdf.savefig(figure(swept_map, page))
    return data.getvalue()


def check_name(path: str, pages: int) -> str:
    """The ending of a map's file name; raises InputError as `write` does."""
    form = Path(path).suffix.lower()
    if form not in FORMS:
        raise InputError(f"--out: {path!r} is no picture's name; possible: OUT.pdf or OUT.png.")
    if form == ".png" and pages > 1:
        raise InputError(
            f"--out: a PNG shows one pin-to-PAP, not {pages}; possible: OUT.pdf, or one pin-to-PAP."
        )
    return form
