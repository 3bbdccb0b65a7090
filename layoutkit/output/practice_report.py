"""Practice as text: problems, marks, worked answers and the owner's page, in 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from datetime import date

from layoutkit.practice.log import Log
from layoutkit.practice.marking import Marked
from layoutkit.practice.problems import KINDS
from layoutkit.practice.schedule import Standing, known
from layoutkit.practice.sets import NOTICE
from layoutkit.practice.values import GROUPS, Asked, Draft, Kind, Problem, Value
from layoutkit.units import fraction

WIDTH = 78

SAFETY = (
    "Clamp the ball before the press runs; a ball that turns in the hand breaks fingers.",
    "Wear eye protection at the press and at the sander; no gloves or loose sleeves near a bit.",
    "Keep dust out of the lungs: extraction running, a mask that fits; wet sand where you can.",
    "Plug resin and glue burn skin and eyes: ventilate, gloves, and read the maker's data sheet.",
    "A thumb that hurts is a reason to stop: look at the fit, and send the bowler to a doctor first.",
    "A trainee drills scrap balls. A customer's ball is drilled from a checked work sheet alone, by "
    "whoever the shop lets drill.",
)
_UNITS = {"in": "inches", "degrees": "degrees", "oz": "ounces"}
_HEADS: tuple[tuple[Standing, str], ...] = (
    ("sure", "Sure"),
    ("learning", "Learning"),
    ("shaky", "Shaky"),
)


def lines(text: str, first: str = "", indent: str = "") -> list[str]:
    """A text in lines of at most 78 columns; ``first`` starts the first line, the others hang."""
    hang = indent + " " * len(first)
    return textwrap.wrap(
        text, WIDTH, initial_indent=indent + first, subsequent_indent=hang, break_on_hyphens=False
    )


def shown_question(draft: Draft) -> list[str]:
    """The question's paragraphs; rows of a sheet stay rows."""
    head, *rows = draft.question.split("\n")
    return [head, *rows]


def how_to_answer(asked: Asked) -> str:
    """What kind of answer is expected, one sentence."""
    if asked.choices:
        return "Choose: " + ", ".join(f"{n} {c}" for n, c in enumerate(asked.choices, 1)) + "."
    if asked.sides is not None:
        one, other, up, down = asked.sides
        return (
            f"Answer with both lengths and directions ({one} or {other}, {up} or {down}), such as "
            f"5/8 {other}, 3/16 {up}."
        )
    sign = f"; + is {asked.plus}" if asked.plus else ""
    return f"Answer in {_UNITS[asked.unit]}{sign}."


def problem_text(problem: Problem, number: str = "") -> str:
    """A problem to be answered."""
    draft = problem.draft
    head = f"{number}{draft.title}"
    out = [head, "-" * len(head)]
    question, *rows = shown_question(draft)
    out += lines(question)
    for row in rows:
        out += lines(row[3:], row[:3], "  ")
    out += lines(how_to_answer(draft.asked))
    return "\n".join(out) + "\n"


def value_words(asked: Asked, value: Value) -> str:
    """An answer's value in words."""
    if isinstance(value, str):
        return value
    if asked.sides is not None:
        words = []
        for i, each in enumerate(value):
            side = asked.sides[2 * i + (1 if each < 0.0 else 0)]
            words.append(f"{_length(abs(each), asked.tolerance)} {side}")
        return ", ".join(words)
    (number,) = value
    if asked.unit == "in":
        return _length(number, asked.tolerance)
    if asked.unit == "degrees":
        return f"{number:+.1f} degrees" if asked.plus else f"{number:.1f} degrees"
    return f"{number:+.2f} oz" if asked.plus else f"{number:.2f} oz"


def _length(length: float, tolerance: float) -> str:
    """A length to the rule's parts with its decimals beside it; fine ones in decimals alone."""
    if tolerance < 1.0 / 64.0:
        return f"{length:.4f} in"
    return f"{fraction(length, 32 if tolerance < 1.0 / 16.0 else 16)} in ({length:.3f})"


def slip_words(marked: Marked) -> list[str]:
    """A sentence for each slip that the answer matches."""
    return [f"This is what you get if {slip.words}." for slip in marked.slips]


def verdict(draft: Draft, marked: Marked) -> list[str]:
    """What the answer is worth, and what is right and wrong about it, a sentence each."""
    asked = draft.asked
    score = {"full": "Right.", "part": "Near: it counts in part.", "none": "Not right."}[
        marked.score
    ]
    out = [score]
    if not marked.unit:
        wanted = _UNITS[asked.unit]
        size = "The number is right" if marked.size == "full" else "The number is not right either"
        if marked.other_unit:
            out = [f"Near: the size is right in {marked.other_unit}, but {wanted} are asked."]
        else:
            out.append(f"{size}, but the unit is not: {wanted} are asked.")
    elif not marked.side:
        what = "direction" if asked.sides is not None else "sign"
        near = {"full": "is right", "part": "is nearly right", "none": "is not right either"}
        out.append(f"The size {near[marked.size]}; the {what} is wrong.")
    elif marked.away is not None and marked.score != "full":
        unit = {"in": "in", "degrees": "degrees", "oz": "oz"}[asked.unit]
        places = 4 if asked.tolerance < 1.0 / 64.0 else 2
        out.append(f"It is {marked.away:.{places}f} {unit} off, {asked.tolerance:.3g} is allowed.")
    return out + slip_words(marked)


def marked_text(draft: Draft, marked: Marked) -> str:
    """The mark of an answer, as text."""
    return "\n".join(lines(" ".join(verdict(draft, marked)))) + "\n"


def worked_text(problem: Problem) -> str:
    """The worked answer: the right value, the steps, and the rule that was used."""
    draft = problem.draft
    out = lines(value_words(draft.asked, draft.right), "Right answer: ")
    for n, step in enumerate(draft.steps, 1):
        out += lines(step, f"{n}. ", "  ")
    out += lines(draft.rule, "Rule: ", "  ")
    return "\n".join(out) + "\n"


def notice_text() -> str:
    """The line that ends every page of practice."""
    return f"{NOTICE}\n"


def safety_text(number: int) -> str:
    """One of the usual cautions, in turn."""
    return "\n".join(lines(SAFETY[number % len(SAFETY)], "Safety: ")) + "\n"


def kinds_text() -> str:
    """All kinds by group, with what each is about."""
    out = []
    for group, words in GROUPS.items():
        out.append(f"{words.capitalize()}:")
        wide = max(len(name) for name in KINDS)
        out += [
            f"  {name.ljust(wide)}  {kind.about}"
            for name, kind in KINDS.items()
            if kind.group == group
        ]
    return "\n".join(out) + "\n"


def progress_text(log: Log, today: date, kinds: Mapping[str, Kind] = KINDS) -> str:
    """The owner's page: what a trainee is sure of, what is shaky, which slips repeat."""
    state = {k: v for k, v in known(log.answers).items() if k in kinds}
    out = [f"Practice of {log.trainee}, {today.isoformat()}"]
    days = len({a.day for a in log.answers})
    full = sum(a.score == "full" for a in log.answers)
    out += lines(
        f"Answers: {len(log.answers)} on {days} day{'s' if days != 1 else ''}, {full} right. Kinds "
        f"asked: {len(state)} of {len(kinds)}."
    )
    if log.unreadable:
        out += lines(f"Lines of the log that cannot be read and are left out: {log.unreadable}.")
    for standing, head in _HEADS:
        names = [k for k in kinds if k in state and state[k].standing == standing]
        if names:
            out += ["", head]
            out += _rows([_row(k, state[k].scores, state[k].due, today) for k in names])
    fresh = [k for k in kinds if k not in state]
    if fresh:
        out += ["", *lines(", ".join(fresh), "Not asked yet: ")]
    repeated = [(count, kind, name) for kind in state for name, count in state[kind].repeated]
    if repeated:
        out += ["", "Slips that repeat"]
        for count, kind, name in sorted(repeated, key=lambda each: (-each[0], each[1], each[2])):
            out += lines(f"{name} ({kind})", f"{count} times  ", "  ")
    out += [
        "",
        *lines("An answer that matches a slip is no proof of it: look on while the trainee works."),
    ]
    return "\n".join([*out, NOTICE]) + "\n"


def _row(kind: str, scores: Sequence[str], due: date, today: date) -> tuple[str, str, str]:
    right = f"{scores.count('full')} of {len(scores)} right"
    when = "due today" if due <= today else f"due {due.isoformat()}"
    return kind, right, when


def _rows(rows: Sequence[tuple[str, str, str]]) -> list[str]:
    wide = [max(len(row[i]) for row in rows) for i in range(3)]
    return [
        "  " + "  ".join(c.ljust(w) for c, w in zip(r, wide, strict=True)).rstrip() for r in rows
    ]
