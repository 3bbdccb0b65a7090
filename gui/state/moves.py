"""Entries after a mark was moved or the layout restated: the library's geometry, written as text.

Each function takes entries and gives changed ones. They raise InputError where the library refuses.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Literal

from gui.state.entries import NEW, to_record
from gui.state.fields import NO, YES
from layoutkit.errors import InputError
from layoutkit.geometry.sphere import mirror, to_over_up
from layoutkit.geometry.vectors import length
from layoutkit.job.limits import limit_at
from layoutkit.job.record import LAYOUTS, Job, parse_job
from layoutkit.planning import layout as _layout
from layoutkit.planning.given import psa_arc
from layoutkit.planning.layout import PAP, Angles, Placement, Stated
from layoutkit.planning.unknown import FIELDS, require
from layoutkit.planning.values import Plan
from layoutkit.units import MM_PER_INCH, Units, fraction, parse_length

Direction = Literal["left", "right", "up", "down"]

Size = Literal["fine", "usual", "coarse"]

STEPS: dict[Size, str] = {"fine": "1/32 in", "usual": "1/16 in", "coarse": "1/4 in"}
GRID = (
    1.0 / 16.0,
    1.0 / MM_PER_INCH,
)  # what a moved length is a multiple of: inches, or millimetres
_TRIES = 16  # steps after which a nudge that changes no number gives up
DRAGGED = (3, 2e-3)  # decimals of an inch, and the inches by which rounding may move the pin
NUDGED = (4, 2e-4)
_CONVERT: dict[str, Callable[[Stated, float | None, PAP | None, float], Stated]] = {
    "angles": _layout.to_angles,
    "distances": _layout.to_distances,
    "placement": _layout.to_placement,
}
SAME = 1e-3  # inches; nearer than this, earlier numbers still state the layout


def place_of(point: Sequence[float], plan: Plan) -> tuple[float, float]:
    """Over and up in inches of a point (3,) of the grip frame, of any length but 0.

    Raises InputError where it is no direction.
    """
    x, y, z = map(float, point)
    size = length((x, y, z))
    if not 1e-9 < size < 1e9:  # NaN fails both
        raise InputError("The pointer is not over the ball.")
    over, up = to_over_up(mirror((x, y, z), plan.job.bowler.hand), plan.radius)
    return float(over), float(up)


def with_pin(
    entries: Mapping[str, str],
    job: Job,
    place: tuple[float, float],
    units: Units,
    precision: tuple[int, float] = DRAGGED,
    on_rule: bool = False,
    snap: bool = False,
) -> dict[str, str]:
    """The pin at (over, up), the layout stated as it is; ``on_rule`` writes fractions where whole.

    With ``snap`` the numbers that change become 1/16 in, in a metric layout millimetres, and degrees,
    so that they can be marked: the pin then lies as near to the place as that allows.
    """
    mark, pap, radius = psa_arc(job), _pap(job), job.ball.radius
    before = _layout.stated(job.layout)
    moved = _layout.with_pin_at(before, mark, pap, radius, *place)
    metric = _metric(entries, _lengths(job.layout.by), units)
    marked = None
    if snap:
        marked = _layout.snapped(moved, mark, pap, radius, GRID[metric], before)
    if marked is not None:
        moved = marked
    elif not (on_rule and isinstance(moved, Placement)):
        moved = _layout.rounded(moved, mark, pap, radius, *precision, metric, before)
    form = (metric, (on_rule or snap) and units == "fraction")
    old, new = _written(before, *form), _written(moved, *form)
    pairs = {path for path in new if "/" in path and old.get(path) != new[path]}
    turned = {path.partition("/")[0] for path in pairs}
    # what is kept stays as it was typed; of a pair, text and direction change together
    changed = {p: t for p, t in new.items() if old.get(p) != t or p.partition("/")[0] in turned}
    for path in tuple(changed):
        if f"{path}/down" in new:
            changed[f"{path}/down"] = new[f"{path}/down"]
    return {**entries, **changed}


def with_pap(
    entries: Mapping[str, str],
    place: tuple[float, float],
    units: Units,
    on_rule: bool = False,
    snap: bool = False,
) -> dict[str, str]:
    """The PAP at (over, up), or the nearest place that a record accepts; ``snap`` as in `with_pin`."""
    metric = _metric(entries, ("bowler.pap.over",), units)
    on_rule = on_rule or snap
    fractions = on_rule and units == "fraction"
    if snap:
        place = (_on_grid(place[0], metric), _on_grid(place[1], metric))
    over, up = (
        _nearest(path, value)
        for path, value in zip(("bowler.pap.over", "bowler.pap.up"), place, strict=True)
    )
    digits = 5 if on_rule else DRAGGED[0]
    texts = {"bowler.pap.over": _length(over, metric, fractions, digits)}
    return {**entries, **texts, **_pair("bowler.pap.up", up, metric, fractions, digits)}


def _on_grid(inches: float, metric: bool) -> float:
    return round(inches / GRID[metric]) * GRID[metric] + 0.0


def with_axis(entries: Mapping[str, str], over: float, up: float, units: Units) -> dict[str, str]:
    """The PAP at a place that was measured, to 1/32 in; InputError where a record allows none such."""
    place = (parse_length(fraction(over, 32)), parse_length(fraction(up, 32)))
    for path, value in zip(("bowler.pap.over", "bowler.pap.up"), place, strict=True):
        limit = limit_at(path)
        assert limit is not None
        if not limit.low <= value <= limit.high:
            raise InputError(f"{value:g} in is outside {limit.range}.", path)
    return with_pap(entries, place, units, on_rule=True)


def nudged(
    entries: Mapping[str, str],
    plan: Plan,
    mark: Literal["pin", "pap"],
    direction: Direction,
    size: Size,
    units: Units,
) -> dict[str, str]:
    """The pin or the PAP moved along the midline or square to it, as seen with the fingers up.

    All but a fine step snap, as in `with_pin`. Where a step is too small to change a number, it is
    taken again.
    """
    here = plan.marks.pin if mark == "pin" else plan.marks.pap
    if here is None:
        return dict(entries)
    step, snap = parse_length(STEPS[size]), size != "fine"
    upward = direction in ("up", "down")
    if upward:
        step = step if direction == "up" else -step
    elif (direction == "right") != (plan.job.bowler.hand == "right"):
        step = -step
    for times in range(1, _TRIES + 1):
        over, up = here.over, here.up
        if upward:
            up += times * step
        else:
            over += times * step
        # what rounding left of 5 or 1/2 would not be written as a fraction
        place = (round(over, 9), round(up, 9))
        if mark == "pap":
            moved = with_pap(entries, place, units, on_rule=True, snap=snap)
            still = ("bowler.pap.over",) if upward else ("bowler.pap.up", "bowler.pap.up/down")
            return {**moved, **{p: entries[p] for p in still if p in entries}}
        moved = with_pin(entries, plan.job, place, units, NUDGED, on_rule=True, snap=snap)
        if not snap or moved != entries:
            break
    return moved


def restated(entries: Mapping[str, str], job: Job, by: str, units: Units) -> dict[str, str]:
    """The layout of a job stated in another way.

    Numbers that were typed for that way before are taken up again where they still state the layout.
    Raises InputError where the job leaves a figure open without which only a placement states one.
    """
    if by != "placement":
        require(job, f"a layout by {by}", *FIELDS)
    mark, pap, radius = psa_arc(job), _pap(job), job.ball.radius
    stated = _layout.stated(job.layout)
    wanted = _CONVERT[by](stated, mark, pap, radius)
    earlier = {**entries, "layout.by": by}
    try:
        typed = _layout.stated(_with_layout(job, earlier).layout)
        if _layout.same_place(typed, wanted, mark, pap, radius, SAME):
            return earlier
    except InputError:
        pass  # nothing was typed, or it can no longer be
    metric = _metric(entries, _lengths(job.layout.by), units)
    near = _layout.rounded(wanted, mark, pap, radius, *NUDGED, metric)
    return {**earlier, **_written(near, metric, units == "fraction")}


def with_angles(
    entries: Mapping[str, str], job: Job, at_pin: float, at_pap: float, units: Units
) -> dict[str, str]:
    """The layout of a job with other angles at the same pin-to-PAP, stated as it is.

    Raises InputError where that statement cannot say them.
    """
    mark, pap, radius = psa_arc(job), _pap(job), job.ball.radius
    stated = _layout.stated(job.layout)
    if isinstance(stated, Angles):
        texts = {"layout.angle_at_pin": _number(at_pin), "layout.angle_at_pap": _number(at_pap)}
        return {**entries, **texts}
    arc = _layout.to_angles(stated, mark, pap, radius).pin_to_pap
    wanted = _CONVERT[job.layout.by](Angles(at_pin, arc, at_pap), mark, pap, radius)
    metric = _metric(entries, _lengths(job.layout.by), units)
    near = _layout.rounded(wanted, mark, pap, radius, *NUDGED, metric)
    return {**entries, **_written(near, metric, units == "fraction")}


def basis(entries: Mapping[str, str], last: Job) -> Job | None:
    """An earlier job with the ball's size, the marks and the layout of the present entries.

    None where these are not valid themselves. What else is unfinished does not matter to a layout.
    """
    try:
        present = to_record(entries)
        old = last.model_dump(exclude_none=True)
        old["bowler"]["pap"] = present["bowler"].get("pap")
        old["bowler"]["grip"].setdefault("thumb", None)
        for name in ("diameter", "diameter_now", "psa", "pin_to_cg", "top_weight"):
            old["ball"].pop(name, None)
            if name in present["ball"]:
                old["ball"][name] = present["ball"][name]
        if old["ball"].get("psa") is None:
            old["ball"].pop("intermediate_differential", None)
        old["layout"] = present["layout"]
        return parse_job(old)
    except InputError:
        return None


def _with_layout(job: Job, entries: Mapping[str, str]) -> Job:
    record = to_record({**NEW, **entries})
    data = job.model_dump(exclude_none=True)
    data["bowler"]["grip"].setdefault("thumb", None)
    data["layout"] = record["layout"]
    return parse_job(data)


def _pap(job: Job) -> PAP | None:
    return _layout.axis_point(job.bowler)


def _nearest(path: str, value: float) -> float:
    limit = limit_at(path)
    return value if limit is None else limit.nearest(value)


def _lengths(by: str) -> tuple[str, ...]:
    names = tuple(f"layout.{name}" for name in LAYOUTS[by].model_fields)
    paths = (*names, "layout.pin.over") if by == "placement" else names
    return tuple(p for p in paths if (row := limit_at(p)) is not None and row.unit == "in")


def _metric(entries: Mapping[str, str], paths: Sequence[str], units: Units) -> bool:
    """Whether to write millimetres: as the numbers before were written, else as readings are."""
    texts = [entries[p].strip().lower() for p in paths if entries.get(p, "").strip()]
    if not texts:
        return units == "metric"
    return any(t.endswith(("mm", "cm")) for t in texts)


def _written(layout: Stated, metric: bool, fractions: bool) -> dict[str, str]:
    """The entries that state a layout."""

    def arc(name: str, value: object) -> dict[str, str]:
        return {f"layout.{name}": _length(float(str(value)), metric, fractions)}

    if isinstance(layout, Angles):
        return {
            "layout.by": "angles",
            "layout.angle_at_pin": _number(float(layout.angle_at_pin)),
            **arc("pin_to_pap", layout.pin_to_pap),
            "layout.angle_at_pap": _number(float(layout.angle_at_pap)),
        }
    if isinstance(layout, Placement):
        return {
            "layout.by": "placement",
            **arc("pin.over", layout.pin_over),
            **_pair("layout.pin.up", float(layout.pin_up), metric, fractions),
            "layout.bearing": _number(float(layout.bearing)),
        }
    return {
        "layout.by": "distances",
        **arc("pin_to_pap", layout.pin_to_pap),
        **arc("psa_to_pap", layout.psa_to_pap),
        **arc("pin_to_val", layout.pin_to_val),
        "layout.obtuse_angle_at_pap": YES if layout.obtuse_angle_at_pap else NO,
    }


def _pair(
    path: str, value: float, metric: bool, fractions: bool, digits: int = 12
) -> dict[str, str]:
    """A signed length as a pair's text and direction."""
    down = value < 0.0
    return {
        path: _length(-value if down else value, metric, fractions, digits),
        f"{path}/down": "down" if down else "up",
    }


def _length(inches: float, metric: bool, fractions: bool, digits: int = 12) -> str:
    if metric:
        return f"{_number(round(inches * MM_PER_INCH, max(digits - 1, 2)))} mm"
    limit = limit_at("layout.pin_to_pap")  # a row on the rule: fractions where they are whole
    value = round(inches, digits)
    written = limit.write(value) if fractions and limit is not None else value
    return written if isinstance(written, str) else _number(value)


def _number(value: float) -> str:
    text = format(Decimal(repr(round(value, 12) + 0.0)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
