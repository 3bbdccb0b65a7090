"""Owned balls in words and as plain values: their lines, how they differ, the gap and what fills it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from layoutkit.choosing.choose import Choice
from layoutkit.choosing.owned import AT_PINS, Apart, Gap, OnLane, Owned, told_apart
from layoutkit.job.record import Lane
from layoutkit.job.tables import Table
from layoutkit.lane.roll import Difference
from layoutkit.lane.why import FRICTION, SPEED
from layoutkit.output.choose_report import choose_dict, choose_text
from layoutkit.output.report import table, wrap
from layoutkit.output.roll_report import difference_words, feet_words, flare_rows, speed_words
from layoutkit.units import Units, format_length

ABSENT = "-"
COMPARED = ("entry angle", "flare width")


def lane_words(lane: Lane, units: Units) -> str:
    """A lane in a few words."""
    if lane.table:
        return f"friction by a table of {len(lane.table)} rows"
    length = feet_words(lane.oil_length, units)
    return f"{length} of oil, friction {lane.oil:g} on it and {lane.dry:g} beyond"


def owned_text(owned: Owned, units: Units = "fraction") -> str:
    """The owned balls on all lanes as text."""
    lines = ["OWNED BALLS"]
    for n, (name, plan) in enumerate(zip(owned.names, owned.plans, strict=True), 1):
        lines += wrap(f"{name}: {plan.job.ball.name or 'ball not named'}", f"{n}  ", indent="  ")
    for n, each in enumerate(owned.lanes):
        own = " (the record's own lane)" if n == owned.own and len(owned.lanes) > 1 else ""
        lines += ["", *wrap(f"On {lane_words(each.lane, units)}{own}", indent="")]
        lines += _lines(each, units)
        lines += _apart(each, units)
    lines += ["", *wrap(NOTE, indent="")]
    return "\n".join(lines) + "\n"


NOTE = (
    "Boards of the ball, from the bowler's own side, under one release; each line is into the pocket. "
    "What stands beside a line is two standard deviations with friction and the rest of the release "
    "varied: the balls share most of it, so that their differences are surer. Differences are of two "
    "shots on the line of 1, +/- two standard deviations with friction and release varied alike for "
    "both; + is farther in. To come into the pocket too, feet and target move together, or only one of "
    "them."
)


def _lines(each: OnLane, units: Units) -> list[str]:
    rows = [("", "start", "arrows", "entry angle", "flare width")]
    reasons = []
    told = zip(each.lines, each.shots, each.unsure, strict=True)
    for n, (line, shot, unsure) in enumerate(told, 1):
        width = dict(flare_rows(shot, units))["width"]
        if "flare width" in unsure:
            width += f" +/- {format_length(unsure['flare width'], units).rpartition(' ')[0]}"
        if line.aim is None:
            rows.append((f"{n}", ABSENT, ABSENT, ABSENT, width))
            reasons += wrap(line.why, f"{n}: ")
            continue
        a, off, turned = line.aim, unsure.get(AT_PINS), unsure.get("entry angle")
        boards = "" if off is None else f" +/- {off:.1f}"
        angle = "" if turned is None else f" +/- {turned:.1f}"
        rows.append(
            (
                f"{n}",
                f"{a.board:.1f}{boards}",
                f"{a.board_at_arrows:.1f}{boards}",
                f"{a.entry_angle:.1f}{angle} degrees",
                width,
            )
        )
    return [*table(rows), *reasons]


def _apart(each: OnLane, units: Units) -> list[str]:
    lines = []
    for pair in each.apart:
        rows = [
            (row.name, *difference_words(row, units), "" if told_apart(row) else "not told apart")
            for row in differences(pair)
        ]
        lines += [f"  {pair.other + 1} less {pair.first + 1}", *table(rows, "    ")]
    return lines


def differences(pair: Apart) -> list[Difference]:
    """What is told of two owned balls: moves of feet and target, entry angle, flare width."""
    moves = [each for each in (pair.together, pair.feet, pair.target) if each is not None]
    return moves + [row for row in pair.rows if row.name in COMPARED]


def gap_words(owned: Owned, gap: Gap) -> str:
    """The gap in words."""
    names = [owned.names[n] for n in gap.of]
    if gap.kind == "between":
        return (
            f"The gap: at the pins {names[1]} comes {gap.boards:.1f} boards farther in than {names[0]} "
            "from the same line, and no ball lies between."
        )
    words = f"What may be missing is a ball that hooks {gap.kind} than {names[0]}"
    if len(owned.names) == 1:
        return words + "."
    most = "most" if gap.kind == "more" else "least"
    return f"No two leave room for a ball between them. {words}, which hooks {most}."


def filled_words(owned: Owned, gap: Gap, choice: Choice) -> str:
    """Whether a proposal fills the gap, and how surely; empty where another want stands in its place."""
    base = owned.names[gap.of[0]]
    results = [
        r
        for p in choice.proposals[:1]
        for r in p.results
        if r.want.name == "board_at_pins" and r.want.than == base
    ]
    if not results or results[0].apart is None:
        return ""
    nearest, d = results[0], results[0].apart
    sure = "" if told_apart(d) else ": not told apart"
    lead = "Filled: the first proposal" if nearest.met else "Not filled: of all layouts the nearest"
    return f"{lead} comes to the pins {d.value:+z.1f} +/- {d.uncertainty:.1f} boards from {base}{sure}."


def cannot_words(owned: Owned, choice: Choice, units: Units) -> str:
    """What no layout can do, against what surface and release do to this bowler's ball."""
    ends = choice.possible.get("board_at_pins")
    parts = []
    reach = 0.0
    if ends is not None:
        reach = ends[1] - ends[0]
        balls = "" if choice.balls == 1 else f" of all {choice.balls} balls"
        parts.append(
            f"All layouts{balls} that were rolled come to the pins within {reach:.1f} boards of one "
            "another from one line."
        )
    moves = []
    if owned.moved.friction is not None:
        moves.append(
            f"{FRICTION:g} more friction on the oil, as a rougher surface makes it, moves "
            f"{owned.names[0]} {abs(owned.moved.friction):.1f} boards"
        )
    if owned.moved.speed is not None:
        by = f"{speed_words(SPEED, units)} more speed {abs(owned.moved.speed):.1f} boards"
        moves.append(by if moves else f"{by} is what it moves {owned.names[0]}")
    if moves:
        parts.append(f"For this bowler {', '.join(moves)}.")
        most = max(abs(v) for v in (owned.moved.friction, owned.moved.speed) if v is not None)
        if ends is not None and most > reach:
            parts.append("Surface and release move the ball more than any layout can.")
        elif ends is not None:
            parts.append(
                "What is farther than these layouts reach is for surface and release to do."
            )
    return " ".join(parts)


def filling_text(
    owned: Owned,
    fillings: Sequence[tuple[Gap, Choice]],
    units: Units = "fraction",
    balls: Table | None = None,
) -> str:
    """The owned balls, and for each gap what fills it; proposals are numbered through all gaps."""
    texts, n = [owned_text(owned, units)], 1
    for gap, choice in fillings:
        lines = wrap(gap_words(owned, gap), indent="")
        for words in (filled_words(owned, gap, choice), cannot_words(owned, choice, units)):
            lines += wrap(words, indent="") if words else []
        last = gap is fillings[-1][0]
        texts.append("\n".join(lines) + "\n\n" + choose_text(choice, units, balls, n, last))
        n += len(choice.proposals)
    return "\n".join(texts)


# --- as values ------------------------------------------------------------------------------------


def filling_dict(
    owned: Owned, fillings: Sequence[tuple[Gap, Choice]], balls: Table | None = None
) -> dict[str, Any]:
    """The same as plain values at full precision."""
    return {
        "format": "layoutkit-owned",
        "version": 1,
        "owned": list(owned.names),
        "own_lane": owned.own,
        "lanes": [_lane_dict(each) for each in owned.lanes],
        "moved": owned.moved._asdict(),
        "gaps": [
            {
                "kind": gap.kind,
                "of": [owned.names[n] for n in gap.of],
                "boards": gap.boards,
                "want": gap.want.model_dump(exclude_none=True),
                "choice": choose_dict(choice, balls),
            }
            for gap, choice in fillings
        ],
    }


def _lane_dict(each: OnLane) -> dict[str, Any]:
    return {
        "lane": each.lane.model_dump(),
        "lines": [
            {
                "board": None if line.aim is None else line.aim.board,
                "direction": None if line.aim is None else line.aim.direction,
                "board_at_arrows": None if line.aim is None else line.aim.board_at_arrows,
                "entry_angle": None if line.aim is None else line.aim.entry_angle,
                "why": line.why,
                "uncertainty": dict(unsure),
            }
            for line, unsure in zip(each.lines, each.unsure, strict=True)
        ],
        "apart": [
            {
                "first": pair.first,
                "other": pair.other,
                "differences": [
                    {**row._asdict(), "told_apart": told_apart(row)} for row in differences(pair)
                ],
            }
            for pair in each.apart
        ],
    }
