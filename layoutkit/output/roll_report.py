"""Shots on the lane in words and as values: release and lane, path, flare, how layouts differ."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from layoutkit.geometry.sphere import mirror, to_over_up
from layoutkit.geometry.vectors import Vector, scaled
from layoutkit.job.record import Lane, Release
from layoutkit.lane.aim import POCKET, Aim, Aiming
from layoutkit.lane.flare import Flare
from layoutkit.lane.motion import LANE_LENGTH
from layoutkit.lane.roll import Difference, Roll, no_flare
from layoutkit.lane.start import ARROWS, side_of
from layoutkit.lane.why import FRICTION, SPEED, Grounds, Sensitivity
from layoutkit.output.report import VERDICTS, rg_words, table, wrap
from layoutkit.units import MM_PER_INCH, Units, format_length

KM_PER_MILE = 1.609344  # by definition
ARC_STEP = 16  # arcs on the ball are printed to the sixteenth
MARK = "*"  # at a value that is the program's own convention
ABSENT = "-"

_RELEASE = (
    ("speed", "speed"),
    ("revs", "rev rate"),
    ("axis_rotation", "axis rotation"),
    ("axis_tilt", "axis tilt"),
    ("board", "board at the foul line"),
    ("direction", "direction"),
    ("phase", "phase about the axis"),
)
_OWN = "toward the bowler's own gutter"


# --- as text --------------------------------------------------------------------------------------


def roll_text(
    shots: Sequence[Roll],
    differences: Sequence[Sequence[Difference]] = (),
    units: Units = "fraction",
    aims: Sequence[Aiming] = (),
    reasons: Sequence[Grounds] = (),
    moved: Sensitivity | None = None,
) -> str:
    """Shots under one release and lane as text; the first one is that which others are compared with.

    ``differences`` has the rows of each other shot, ``aims`` and ``reasons`` are those of each shot,
    where there are any, and ``moved`` is of the first. The table of rings is of a single shot only.
    """
    sections = [
        _head(shots),
        _thrown(shots[0].release, units),
        _laid(shots[0].lane, units),
        _aims(shots, aims),
        _path(shots, units),
        _flare(shots, units),
    ]
    if len(shots) == 1 and shots[0].flare is not None:
        sections.append(_rings(shots[0], shots[0].flare, units))
    sections += [
        _near(shots, units),
        _compared(differences, units),
        _why(differences, reasons, moved, units),
        _cautions(shots),
    ]
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def _head(shots: Sequence[Roll]) -> list[str]:
    lines: list[str] = []
    for i, shot in enumerate(shots, 1):
        job = shot.plan.job
        lead = "" if len(shots) == 1 else f"{i}  "
        lines += wrap(job.title or "Untitled job", lead, indent="")
        who = f"{job.bowler.name or 'not named'}, {job.bowler.hand} hand"
        lines += wrap(f"{who}; {job.ball.name or 'ball not named'}", " " * len(lead), indent="")
        if shot.plan.outcome != "pass":
            verdict = f"{shot.plan.outcome.upper()} under {shot.plan.rules.name}"
            sentence = f"{verdict}: {VERDICTS[shot.plan.outcome]}"
            lines += wrap(sentence, " " * len(lead), indent="")
    return lines


def _thrown(release: Release, units: Units) -> list[str]:
    rows = []
    for name, words in _RELEASE:
        value = getattr(release, name)
        text = {
            "speed": speed_words(value, units),
            "revs": f"{value:.0f} rpm",
            "board": _short(value),
        }.get(name, f"{_short(value)} degrees")
        if name == "direction":
            text += f" {_OWN}"
        rows.append((words, text + _mark(release, name)))
    return [f"RELEASE{_marked(release)}", *table(rows)]


def _laid(lane: Lane, units: Units) -> list[str]:
    if lane.table:
        rows = [("at", "friction")]
        rows += [(feet_words(row.at, units), f"{row.friction:g}") for row in lane.table]
        return ["LANE (friction; even between the rows)", *table(rows)]
    rows = [
        ("oil", f"{feet_words(lane.oil_length, units)}{_mark(lane, 'oil_length')}"),
        ("friction on the oil", f"{lane.oil:g}{_mark(lane, 'oil')}"),
        ("friction beyond it", f"{lane.dry:g}{_mark(lane, 'dry')}"),
    ]
    return [f"LANE{_marked(lane)}", *table(rows)]


def _short(value: float) -> str:
    """A board or an angle as a record states it, one that was computed to hundredths."""
    return f"{round(value, 2):g}"


def _mark(what: Release | Lane, name: str) -> str:
    return "" if name in what.model_fields_set else f" {MARK}"


def _marked(what: Release | Lane) -> str:
    names = set(type(what).model_fields) - {"table"}
    return "" if names <= what.model_fields_set else f" ({MARK} the program's own convention)"


def _aims(shots: Sequence[Roll], aims: Sequence[Aiming]) -> list[str]:
    """The line into the pocket of each shot's ball, or why there is none."""
    if not aims:
        return []
    more, fewer = (side_of(shots[0].plan, own) for own in (False, True))

    def way(boards: float) -> str:
        """Boards with the side, to the right or the left as the bowler sees the lane."""
        size = f"{abs(boards):.1f}"
        return size if size == "0.0" else f"{size} {more if boards > 0.0 else fewer}"

    base = aims[0].aim
    rows: list[list[tuple[str, str]]] = []
    for i, each in enumerate(aims):
        line, cells = each.aim, []
        cells.append(("start at the foul line", _aimed(line, lambda a: f"board {a.board:.1f}")))
        cells.append(("direction", _aimed(line, lambda a: f"{a.direction:.2f} degrees")))
        cells.append(("at the arrows", _aimed(line, lambda a: f"board {a.board_at_arrows:.1f}")))
        cells.append(("farthest out", _aimed(line, lambda a: f"board {a.outermost:.1f}")))
        cells.append(("entry angle", _aimed(line, lambda a: f"{a.entry_angle:.1f} degrees")))
        ends = each.boards
        possible = ABSENT if ends is None else f"boards {ends[0]:.1f} to {ends[1]:.1f}"
        cells.append(("lines start between", possible))
        cells.append(("a board of feet*", _aimed(line, lambda a: way(a.feet))))
        cells.append(("a board of target*", _aimed(line, lambda a: way(a.target))))
        if len(aims) > 1:
            move = aside = ABSENT
            if i and line is not None and base is not None:
                move = way(line.board - base.board)
                aside = way(line.board_at_arrows - base.board_at_arrows)
            cells += [("start, against 1", move), ("arrows, against 1", aside)]
        rows.append(cells)
    low, high = aims[0].between
    sought = f"board {aims[0].wanted:.1f}" + ("" if aims[0].asked else " by convention")
    lines = [
        f"AIM (into the pocket, board {POCKET:g} at the head pin; boards of the ball)",
        *wrap(
            f"Sought: from boards {low:g} to {high:g} at the foul line, farthest out on {sought}."
        ),
    ]
    if any(each.aim is not None for each in aims):
        lines += _columns(shots, rows)
        lines += wrap(
            f"* what it does at the pins: a board {more} at the foul line with the arrows kept, or a "
            f"board {more} at the arrows with the start kept."
        )
    for i, each in enumerate(aims, 1):
        if each.aim is None:
            lines += wrap(each.why, f"{i}: " if len(aims) > 1 else "")
    if base is None:
        lines += wrap("What follows is rolled from the record's line, or the conventional one.")
    elif len(aims) > 1:
        lines += wrap("All shots below are rolled from the line of 1.")
    return lines


def _aimed(line: Aim | None, words: Callable[[Aim], str]) -> str:
    return ABSENT if line is None else words(line)


def path_rows(shot: Roll, units: Units = "fraction") -> list[tuple[str, str]]:
    """The figures of a shot's path, each with its name."""
    p = shot.path
    lengths = {phase.name: phase for phase in p.phases}
    rows = []
    for name in ("skid", "hook", "roll"):
        phase = lengths.get(name)
        rows.append((name, ABSENT if phase is None else feet_words(phase.length, units)))
    arrived = p.board_at_pins is not None
    rows += [
        (f"board at the arrows ({feet_words(ARROWS, units)})", _board(p.board_at_arrows)),
        ("breakpoint", ABSENT if p.breakpoint is None else feet_words(p.breakpoint.x, units)),
        ("board at the breakpoint", _board(None if p.breakpoint is None else p.breakpoint.board)),
        ("board at the pins", _at_pins(shot)),
        ("entry angle", ABSENT if p.entry_angle is None else f"{p.entry_angle:.1f} degrees"),
        ("speed at the pins", speed_words(p.end_speed, units) if arrived else ABSENT),
        ("revs at the pins", f"{p.end_revs:.0f} rpm" if arrived else ABSENT),
        ("time to the pins", f"{p.time:.2f} s" if arrived else ABSENT),
    ]
    return rows


def _at_pins(shot: Roll) -> str:
    side = shot.gutter_side
    return _board(shot.path.board_at_pins) if side is None else f"{side} gutter"


def flare_rows(shot: Roll, units: Units = "fraction") -> list[tuple[str, str]]:
    """The figures of a shot's flare, each with its name; dashes without RG data."""
    f = shot.flare
    names = ("rings on the oil", "width", "spacing", "axis moved", "track from the axis")
    if f is None or not f.rings:
        return [(name, ABSENT) for name in names]
    oily = [ring for ring in f.rings if ring.oily]
    spacing = ABSENT
    if f.spacing:
        ends = [format_length(v, units, ARC_STEP) for v in (min(f.spacing), max(f.spacing))]
        spacing = ends[0] if ends[0] == ends[1] else f"{ends[0].rsplit(' ', 1)[0]} to {ends[1]}"
    first = math.radians(f.rings[0].radius) * shot.plan.radius
    values = (
        f"{len(oily)} of {len(f.rings)}",
        format_length(f.width, units, ARC_STEP),
        spacing,
        format_length(f.migration, units, ARC_STEP),
        format_length(first, units, ARC_STEP),
    )
    return list(zip(names, values, strict=True))


def summary_rows(shot: Roll, units: Units = "fraction") -> list[tuple[str, str]]:
    """A shot in a few lines: release and lane, phases, boards, how it comes to the pins, flare."""
    p, path, flare = shot.path, dict(path_rows(shot, units)), dict(flare_rows(shot, units))
    phases = ", ".join(f"{f.name} {feet_words(f.length, units)}" for f in p.phases)
    boards = [] if p.board_at_arrows is None else [f"{p.board_at_arrows:.1f} at the arrows"]
    if p.breakpoint is not None:
        feet, board = p.breakpoint
        boards.append(f"{board:.1f} at {feet_words(feet, units)}, the breakpoint")
    if p.board_at_pins is not None:
        boards.append(f"{p.board_at_pins:.1f} at the pins")
    rows = [("thrown", conditions(shot, units)), ("path", phases), ("boards", ", ".join(boards))]
    if p.board_at_pins is not None:
        words = ("entry angle", "speed at the pins", "revs at the pins")
        rows.append(("at the pins", ", ".join(path[name] for name in words)))
    if shot.flare is not None and shot.flare.rings:
        summary = f"{flare['width']} wide, {flare['rings on the oil']} rings on the oil"
        rows.append(("flare", f"{summary}, {flare['spacing']} apart"))
    return rows


def conditions(shot: Roll, units: Units = "fraction") -> str:
    """Release and lane in a line."""
    r, lane = shot.release, shot.lane
    oil = f"oil {feet_words(lane.oil_length, units)}, friction {lane.oil:g} and {lane.dry:g}"
    if lane.table:
        oil = f"friction by a table of {len(lane.table)} rows"
    return (
        f"{speed_words(r.speed, units)}, {r.revs:.0f} rpm, axis rotation {r.axis_rotation:g}°, tilt "
        f"{r.axis_tilt:g}°, from board {_short(r.board)}; {oil}"
    )


def _columns(shots: Sequence[Roll], each: Sequence[list[tuple[str, str]]]) -> list[str]:
    """Rows of several shots beside each other, under their numbers."""
    rows: list[tuple[str, ...]] = []
    if len(shots) > 1:
        rows.append(("", *(f"{i}" for i in range(1, len(shots) + 1))))
    rows += [(cells[0][0], *(value for _, value in cells)) for cells in zip(*each, strict=True)]
    return table(rows)


def _path(shots: Sequence[Roll], units: Units) -> list[str]:
    return [
        "PATH (boards from the bowler's own side)",
        *_columns(shots, [path_rows(shot, units) for shot in shots]),
    ]


def _flare(shots: Sequence[Roll], units: Units) -> list[str]:
    lines = ["FLARE (one ring a turn; arcs where the rings are widest apart)"]
    if all(shot.flare is None for shot in shots):
        return [*lines, *wrap(no_flare(shots[0].plan))]
    return [*lines, *_columns(shots, [flare_rows(shot, units) for shot in shots])]


def _rings(shot: Roll, flare: Flare, units: Units) -> list[str]:
    """Each ring with where it began, and on the oil its way to the next and where they cross."""
    rows = [("ring", "begins at", "on", "to the next", "crosses the next at (over, up)")]
    for ring in flare.rings:
        gap, places = "", ""
        if ring.turn < len(flare.spacing):
            gap = format_length(flare.spacing[ring.turn], units, ARC_STEP)
            places = " and ".join(
                _place(point, shot.plan.radius, units) for point in flare.crossings[ring.turn]
            )
        ground = "oil" if ring.oily else "dry"
        rows.append((f"{ring.turn}", feet_words(ring.x, units), ground, gap, places))
    return [
        "RINGS (over is positive toward the PAP's side, up toward the fingers; from the grip centre)",
        *table(rows),
    ]


def _place(point: Vector, radius: float, units: Units) -> str:
    over, up = (float(v) for v in to_over_up(scaled(point, radius), radius))
    return ", ".join(format_length(v, units, ARC_STEP).rsplit(" ", 1)[0] for v in (over, up))


def _near(shots: Sequence[Roll], units: Units) -> list[str]:
    rows: list[tuple[str, ...]] = []
    for i, shot in enumerate(shots, 1):
        for n in shot.near_holes:
            gap = "runs over it" if n.gap <= 0.0 else f"{_small(n.gap, units)} from its edge"
            lead = (f"{i}",) if len(shots) > 1 else ()
            rows.append((*lead, f"{n.hole} hole", f"ring {n.turn}", gap))
    return ["NEAR HOLES", *table(rows)] if rows else []


def _small(arc: float, units: Units) -> str:
    """A gap at a hole's edge: to the sixty-fourth."""
    return format_length(arc, units)


def _compared(differences: Sequence[Sequence[Difference]], units: Units) -> list[str]:
    lines: list[str] = []
    for i, rows in enumerate(differences, 2):
        lines += [f"{i} LESS 1 (+/- two standard deviations, friction and release varied)"]
        compared = [(d.name, *difference_words(d, units), _clear(d)) for d in rows]
        lines += [*table(compared), ""]
    return lines[:-1]


def _why(
    differences: Sequence[Sequence[Difference]],
    reasons: Sequence[Grounds],
    moved: Sensitivity | None,
    units: Units,
) -> list[str]:
    """Of every comparison a line that says what is behind it, and what matters more."""
    lines: list[str] = []
    for i, rows in enumerate(differences[: len(reasons) - 1 if reasons else 0], 2):
        lines += wrap(why_words(rows, reasons[0], reasons[i - 1], moved, units), f"{i}: ")
    return ["WHY", *lines] if lines else []


def why_words(
    rows: Sequence[Difference],
    first: Grounds,
    other: Grounds,
    moved: Sensitivity | None,
    units: Units = "fraction",
) -> str:
    """What is behind a comparison of two balls. It leads with flare and RG where their paths cannot be
    told apart."""
    at_pins = next((d for d in rows if d.name == "board at the pins"), None)
    width = next((d for d in rows if d.name == "flare width"), None)
    parts = []
    told_apart = at_pins is not None and abs(at_pins.value) > at_pins.uncertainty
    if at_pins is not None and told_apart:
        parts.append(f"At the pins they are {abs(at_pins.value):.1f} boards apart.")
    elif at_pins is not None:
        parts.append("At the pins they cannot be told apart; flare and RG are what differs.")
    if width is not None:
        by, band = difference_words(width, units)
        parts.append(f"Flare width {by} ({band}).")
    if first.gap is not None and other.gap is not None:
        gaps = " and ".join(
            f"{MM_PER_INCH * g.gap:.1f}" for g in (first, other) if g.gap is not None
        )
        contact = MM_PER_INCH * other.contact
        clear = [g.gap is not None and g.gap > g.contact for g in (first, other)]
        verdict = {
            (True, True): "both flare past their own track",
            (False, False): "both run over their own track again",
            (True, False): "the first flares past its own track, this one runs over it again",
            (False, True): "this one flares past its own track, the first runs over it again",
        }[clear[0], clear[1]]
        parts.append(
            f"Rings lie {gaps} mm apart, and the ball touches the lane on some {contact:.1f} mm (by "
            f"Hertz, an estimate): {verdict}."
        )
    angles = ", ".join(
        f"{a:.0f} and {b:.0f} degrees from the {axis}"
        for axis, a, b in zip(
            ("low", "middle", "high RG axis"), first.pap_to_axes, other.pap_to_axes, strict=True
        )
    )
    parts.append(f"The PAP lies {angles}.")
    about = " and ".join(
        f"{rg_words(g.rg_pap_undrilled, units, places=3)} to {rg_words(g.rg_pap, units, places=3)}"
        for g in (first, other)
    )
    parts.append(f"Drilling takes the RG about the PAP from {about}.")
    if first.off_moves is not None and other.off_moves is not None:
        off = " and ".join(f"{MM_PER_INCH * g.off:.1f} mm" for g in (first, other))
        by = " and ".join(f"{g.off_moves:+.2f}" for g in (first, other))
        parts.append(
            f"The centre of gravity lies {off} off the middle, which moves the balls {by} boards."
        )
    if moved is not None and moved.friction is not None:
        effect = f"a change of {FRICTION:g} in friction moves it {abs(moved.friction):.1f} boards"
        if moved.speed is not None:
            effect += f", one of {speed_words(SPEED, units)} {abs(moved.speed):.1f}"
        layout = 0.0 if at_pins is None else abs(at_pins.value)
        if max(abs(moved.friction), abs(moved.speed or 0.0)) > layout:
            parts.append(f"Friction and release matter more than this layout: {effect}.")
        else:
            parts.append(f"Friction and release matter less than these layouts: {effect}.")
    return " ".join(parts)


def _clear(d: Difference) -> str:
    if abs(d.value) > d.uncertainty:
        return ""
    return "the same" if d.uncertainty == 0.0 else "not told apart"


def difference_words(d: Difference, units: Units = "fraction") -> tuple[str, str]:
    """A difference with its sign and its unit, and its uncertainty; arcs in decimals."""
    unit, factor = d.unit, 1.0
    if units == "metric":
        unit, factor = {
            "ft": ("m", 12.0 * MM_PER_INCH / 1000.0),
            "in": ("mm", MM_PER_INCH),
            "mph": ("km/h", KM_PER_MILE),
        }.get(d.unit, (d.unit, 1.0))
    places = {"rpm": 0, "mm": 1, "ft": 1}.get(unit, 2)
    return (
        f"{d.value * factor:+.{places}f} {unit}",
        f"+/- {d.uncertainty * factor:.{places}f}",
    )


def _cautions(shots: Sequence[Roll]) -> list[str]:
    shots_by_caution: dict[str, list[str]] = {}
    for i, shot in enumerate(shots, 1):
        for caution in shot.cautions:
            shots_by_caution.setdefault(caution, []).append(f"{i}")
    lines = ["CAUTIONS"]
    for caution, numbers in shots_by_caution.items():
        alike = len(numbers) == len(shots)
        lines += wrap(caution if alike else f"{', '.join(numbers)}: {caution}", "! ")
    return lines


def feet_words(feet: float, units: Units = "fraction") -> str:
    """A length on the lane: `41.3 ft`, or `12.59 m` where metric."""
    if units == "metric":
        return f"{feet * 12.0 * MM_PER_INCH / 1000.0:.2f} m"
    return f"{feet:.1f} ft"


def speed_words(mph: float, units: Units = "fraction") -> str:
    """A ball's speed: `17.0 mph`, or `27.4 km/h` where metric."""
    return f"{mph * KM_PER_MILE:.1f} km/h" if units == "metric" else f"{mph:.1f} mph"


def _board(board: float | None) -> str:
    return ABSENT if board is None else f"{board:.1f}"


# --- as values ------------------------------------------------------------------------------------


def roll_dict(
    shots: Sequence[Roll],
    differences: Sequence[Sequence[Difference]] = (),
    aims: Sequence[Aiming] = (),
    reasons: Sequence[Grounds] = (),
    moved: Sensitivity | None = None,
) -> dict[str, Any]:
    """Shots as plain values for JSON: feet, inches, boards, degrees, mph, rpm, seconds.

    ``aims`` and ``reasons`` are as of `roll_text`. ``y`` is to the left for both hands; points on the
    ball are inches in the grip frame.
    """
    return {
        "format": "layoutkit-roll",
        "version": 2,
        "release": _values(shots[0].release),
        "lane": _values(shots[0].lane),
        "lane_length": LANE_LENGTH / 12.0,
        "shots": [_shot(shot) for shot in shots],
        "aims": [
            {**each._asdict(), "aim": None if each.aim is None else each.aim._asdict()}
            for each in aims
        ],
        "comparison": [
            {"shot": i, "differences": [d._asdict() for d in rows]}
            for i, rows in enumerate(differences, 1)
        ],
        "why": [each._asdict() for each in reasons],
        "sensitivity": None if moved is None else moved._asdict(),
    }


def _values(what: Release | Lane) -> dict[str, Any]:
    fields = what.model_dump(mode="json")
    own = [name for name in fields if name not in what.model_fields_set and name != "table"]
    return {**fields, "conventional": own}


def _shot(shot: Roll) -> dict[str, Any]:
    p, job = shot.path, shot.plan.job
    point = None if p.breakpoint is None else p.breakpoint._asdict()
    return {
        "title": job.title,
        "hand": job.bowler.hand,
        "outcome": shot.plan.outcome,
        "phases": [phase._asdict() for phase in p.phases],
        "board_at_arrows": p.board_at_arrows,
        "arrows": ARROWS,
        "breakpoint": point,
        "board_at_pins": p.board_at_pins,
        "entry_angle": p.entry_angle,
        "end_speed": p.end_speed,
        "end_revs": p.end_revs,
        "time": p.time,
        "gutter": p.gutter,
        "gutter_side": shot.gutter_side,
        "stopped": p.stopped,
        "hops": p.hops,
        "path": {
            "t": shot.time.tolist(),
            "x": shot.x.tolist(),
            "y": shot.y.tolist(),
            "board": shot.board.tolist(),
        },
        "flare": None if shot.flare is None else _flare_values(shot, shot.flare),
        "near_holes": [n._asdict() for n in shot.near_holes],
        "cautions": list(shot.cautions),
    }


def _flare_values(shot: Roll, flare: Flare) -> dict[str, Any]:
    def at(point: Vector) -> dict[str, Any]:
        there = scaled(point, shot.plan.radius)
        over, up = (float(v) for v in to_over_up(there, shot.plan.radius))
        hand = shot.plan.job.bowler.hand
        return {"over": over, "up": up, "xyz": [float(v) for v in mirror(there, hand)]}

    return {
        "width": flare.width,
        "migration": flare.migration,
        "spacing": list(flare.spacing),
        "rings": [
            {
                "turn": ring.turn,
                "axis": at(ring.axis),
                "radius": ring.radius,
                "x": ring.x,
                "oily": ring.oily,
            }
            for ring in flare.rings
        ],
        "crossings": [[at(point) for point in pair] for pair in flare.crossings],
    }
