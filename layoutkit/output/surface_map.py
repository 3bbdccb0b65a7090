"""Where the pin may go: maps over the ball's own surface, seen as the work sheet sees it.

Each picture shows one figure at every place of the pin, with the reference mark at its present bearing,
and round the present pin what another bearing would do. matplotlib is imported when a picture is drawn.
"""

from __future__ import annotations

import io
import math
import textwrap
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from layoutkit.geometry.sphere import mirror, walked
from layoutkit.geometry.vectors import Array, Vector, dot, scaled
from layoutkit.job.files import write_atomic
from layoutkit.job.rules import CLOSE, FAIL, INCOMPLETE, OUTCOMES
from layoutkit.output import drawing as _drawing
from layoutkit.output import render
from layoutkit.output.cache_folder import provide_cache_folder
from layoutkit.output.maps import Panel, check_name, hatch_verdicts, short_title, verdict_counts
from layoutkit.planning import surface as _surface
from layoutkit.planning.values import Plan
from layoutkit.units import fraction

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PLACES = 8000  # on the side that is seen
RING = (0.10, 0.16)  # ball radii from the pin between which bearings are shown
LEGEND = (
    "The pin at each place, the reference mark at its present bearing. Hatched: fails the rules or ruins "
    "the ball. Dotted: close, the scale decides. Dashed line: inside it a hole cuts the pin, CG or PSA "
    "mark away. Round the pin: black where the reference mark at that bearing fails, grey where it is "
    "close, white where it passes."
)
FLARE = "Flare potential compares layouts; it promises nothing about a lane."

SIDE = Panel("side_oz", "Side weight, oz", 1.0)
TOP = Panel("top_oz", "Top weight, oz", 1.0)
FINGER = Panel("finger_oz", "Finger weight, oz", 1.0)
DIFFERENTIAL = Panel("differential", "Differential, in / 1000", 1000.0)
POTENTIAL = Panel("flare", "Flare potential, in a revolution", 1.0)


class SurfaceMap(NamedTuple):
    """A plan's figures over the side of the ball that is seen, and at bearings round its pin.

    ``places`` has the grid's points that lie on the ball; ``on_ball`` (across, across) tells which.
    """

    plan: Plan
    view: _drawing.View
    on_ball: Array
    places: _surface.Surface
    ring: _surface.Surface

    def grid(self, values: Array) -> Array:
        """Values of the places as a square grid; beside the ball those of the limb go on."""
        on_ball = self.on_ball.astype(bool)
        filled = np.zeros(on_ball.shape)
        filled[on_ball] = values
        across = len(on_ball)
        line = np.linspace(-1.0, 1.0, across)
        x, y = np.meshgrid(line, line)
        inward = np.minimum((1.0 - 3.0 / across) / np.maximum(np.hypot(x, y), 1e-9), 1.0)
        row, column = (
            np.rint((1.0 + each * inward) * (across - 1) / 2.0).astype(int) for each in (y, x)
        )
        return np.where(on_ball, filled, filled[row, column])


def surface_map(
    plan: Plan, told: Callable[[int, int], None] | None = None, count: int = PLACES
) -> SurfaceMap:
    """The map of a plan, seen from the grip. Raises InputError as `surface.surface` does."""
    view = _drawing.facing(plan, "grip")
    over, up = _surface.visible(plan, view.frame, _surface.lines_for(count))
    on_ball = np.isfinite(over)
    places = _surface.surface(plan, over[on_ball], up[on_ball], told=told)
    return SurfaceMap(plan, view, on_ball, places, _surface.round_the_pin(plan))


def surface_dict(found: SurfaceMap) -> dict[str, Any]:
    """How many of the places and of the bearings there are, fail and are close; the plan's outcome."""
    return {
        "title": found.plan.job.title,
        "outcome": found.plan.outcome,
        "places": verdict_counts(found.places.verdict),
        "bearings": verdict_counts(found.ring.verdict),
    }


def summary(found: SurfaceMap) -> str:
    """How many of the places and bearings fail and are close, in words."""

    def counted(part: _surface.Surface, what: str) -> str:
        counts = verdict_counts(part.verdict)
        return (
            f"{counts['all']} {what}: {counts['fail']} fail the rules or ruin the ball, "
            f"{counts['close']} are close"
        )

    words = f"{counted(found.places, 'places of the pin')}; {counted(found.ring, 'bearings at the pin')}."
    least = max((o for o in _others(found.plan)), key=OUTCOMES.index, default="pass")
    if OUTCOMES.index(least) >= INCOMPLETE:
        words += f"\nUnder every layout the plan is {least} by what does not depend on it."
    return words


def _others(plan: Plan) -> list[Any]:
    return [c.outcome for c in plan.checks if c.name not in _surface.BY_LAYOUT]


def panels(plan: Plan) -> tuple[Panel, ...]:
    """What is shown of a plan: static weights, and what its core and the bowler's PAP let be known."""
    if plan.core is None:
        return SIDE, TOP, FINGER
    return SIDE, TOP, FINGER, DIFFERENTIAL if plan.marks.pap is None else POTENTIAL


def figure(found: SurfaceMap) -> Figure:
    """One page with a picture of the ball for each figure."""
    provide_cache_folder()
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    shown = panels(found.plan)
    with mpl.rc_context({"font.size": 8, "hatch.linewidth": 0.6, "pdf.fonttype": 42}):
        made = Figure(figsize=(10.0, 10.6), layout="constrained")
        FigureCanvasAgg(made)
        axes = made.subplots(2, 2).flat
        for ax, panel in zip(axes, shown, strict=False):
            ax.set_title(panel.title, fontsize=10)
            draw_panel(ax, found, panel)
        for ax in list(made.axes)[len(shown) : 4]:
            ax.set_axis_off()
        title = short_title(found.plan.job.title or "Where the pin may go")
        pin = found.plan.marks.pin
        place = f"{fraction(abs(pin.over))} in over, {fraction(abs(pin.up))} in "
        place += "up" if pin.up >= 0.0 else "down"
        made.suptitle(f"{title}: pin now {place}", fontsize=11, parse_math=False)
        made.supxlabel(_wrapped(f"{LEGEND} {FLARE}"), fontsize=8)
    return made


def _wrapped(text: str) -> str:
    return "\n".join(textwrap.wrap(text, 150))


def draw_panel(ax: Any, found: SurfaceMap, panel: Panel, labels: bool = True) -> None:
    """One figure over the ball, on axes whose unit becomes the ball's radius."""
    from matplotlib.patches import Circle

    line = np.linspace(-1.0, 1.0, len(found.on_ball))
    z = panel.unit * found.grid(getattr(found.places.outcomes, panel.name))
    known = z[np.isfinite(z)]
    if known.size and np.ptp(known) > 1e-6:
        filled = ax.contourf(line, line, z, levels=10, cmap="cividis", alpha=0.6)
        drawn = ax.contour(line, line, z, levels=filled.levels, colors="black", linewidths=0.5)
        if labels:
            for label in ax.clabel(drawn, fontsize=8, fmt="%g"):
                label.set_visible(math.hypot(*label.get_position()) < 0.96)
    elif known.size:
        ax.text(0.0, -1.06, f"{known[0]:.3f} everywhere", ha="center", fontsize=8)
    verdict = found.grid(found.places.verdict.astype(float))
    hatch_verdicts(ax, line, line, verdict, outlined=False)
    _cut_away(ax, found, line)
    _ring(ax, found)
    scene = _drawing.scene(found.plan)
    scene = replace(scene, callouts=())  # the figures' labels have the room
    for each in ax.collections:
        each.set_clip_path(Circle((0.0, 0.0), 1.0, transform=ax.transData))
    seen = _drawing.project(scene, found.view)
    painted: Any = render.draw(ax, seen, render.Style(scale=0.9))
    painted.set_zorder(
        0.5
    )  # the ball lies under what is mapped, holes and marks are drawn again above
    for piece in seen.pieces:
        if piece.kind == "finished" and not piece.far:
            ax.plot(*piece.points.T, color="black", linewidth=1.4)
    for spot in seen.spots:
        if spot.kind != "hole" and not spot.far:
            for color, width in (("white", 3.5), ("black", 1.5)):
                sign = "+" if spot.kind == "pin" else "."
                ax.plot(
                    [spot.x], [spot.y], sign, ms=13 if sign == "+" else 5, mew=width, color=color
                )
    ax.set_xlim(-1.04, 1.04)
    ax.set_ylim(-1.08, 1.04)
    ax.set_aspect("equal")
    ax.set_axis_off()


def _cut_away(ax: Any, found: SurfaceMap, line: Array) -> None:
    """A dashed line round the places at which a hole cuts a mark away."""
    least = np.min(list(found.places.clearance.values()), axis=0)
    if (least <= 0.0).any():
        ax.contour(
            line, line, found.grid(least), levels=[0.0], colors="#a01818", linewidths=1.2,
            linestyles="dashed",
        )  # fmt: skip


def _ring(ax: Any, found: SurfaceMap) -> None:
    """The verdicts of other bearings, each where its line leaves the pin; none where it is not seen."""
    from matplotlib.patches import Polygon

    plan, ring = found.plan, found.ring
    if plan.layout.bearing is None:
        return
    pin = scaled(plan.marks.pin.xyz, 1.0 / plan.radius)
    if dot(pin, found.view.frame[2].tolist()) <= 0.0:
        return
    pin = mirror(pin, plan.job.bowler.hand)
    half = 180.0 / len(ring.bearing)
    colors = {FAIL: "black", CLOSE: "#909090"}
    for bearing, level in zip(ring.bearing, ring.verdict, strict=True):
        corners = [
            _seen(found, pin, bearing + turn, reach)
            for turn, reach in (
                (-half, RING[0]),
                (half, RING[0]),
                (half, RING[1]),
                (-half, RING[1]),
            )
        ]
        ax.add_patch(
            Polygon(corners, facecolor=colors.get(int(level), "white"), edgecolor="#606060", lw=0.2)
        )


def _seen(found: SurfaceMap, pin: Vector, bearing: float, reach: float) -> tuple[float, float]:
    """Where a place beside the pin, a unit vector of the bowler's frame, is seen, in ball radii."""
    point = mirror(walked(pin, bearing, reach), found.plan.job.bowler.hand)
    right, up, _ = (found.view.frame @ np.array(point)).tolist()
    return right, up


def write(found: SurfaceMap, path: str) -> None:
    """The page as a PDF or a PNG. Raises InputError for another ending or where it cannot be written."""
    form = check_name(path, 1)
    write_atomic(path, picture(found, form))


def picture(found: SurfaceMap, form: str) -> bytes:
    """The page as a file's content; ``form`` is .pdf or .png."""
    data = io.BytesIO()
    made = figure(found)
    if form == ".png":
        made.savefig(data, format="png", dpi=130)
    else:
        made.savefig(data, format="pdf", metadata={"CreationDate": None})
    return data.getvalue()
