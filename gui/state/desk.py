"""The check-in desk of the window: balls keyed one after the other, each judged as it is typed.

A desk is one check-in with its journal: each change is a line of it, and opening the desk again goes on
where the last one stopped, however it ended. All judging is `layoutkit.bench.checkin`'s. Methods raise
nothing for what a person can do; `message` says in one sentence what was refused or done.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from gui.state import columns
from gui.state.journal import ENDING, Journal
from layoutkit import __version__
from layoutkit.bench.checkin import (
    COLUMNS,
    PAIRS,
    CheckIn,
    Verdict,
    difference_words,
    entry_of,
    judge,
    moves,
    plain_serial,
    repeats,
    shop_scale,
    stated_scale,
)
from layoutkit.book.book import Book
from layoutkit.book.schema import book_path
from layoutkit.errors import InputError
from layoutkit.job.built_in_rules import BUILT_IN, rule_set
from layoutkit.job.files import BALL_LIST, file_name, read_bytes
from layoutkit.job.record import Scale, scale_kind
from layoutkit.job.rules import STATICS, Outcome, RuleSet
from layoutkit.job.shop import Shop
from layoutkit.job.tables import LARGEST_TABLE, Row, Table, decode_table, read_table
from layoutkit.output.checkin_report import (
    book_checks,
    cells,
    checkin_csv,
    moved_words,
    noted_words,
    reasons,
    tally_words,
    value_words,
)
from layoutkit.units import Units

FOLDER = "checkin"  # of the journals, in the settings' folder
FIRST = ("number", "owner", "ball", "serial", "diameter", "gross")
WEIGHTS = (*FIRST, *STATICS)
READINGS = (*FIRST, *(name for pair in PAIRS.values() for name in pair))
LABELS = {
    "number": "Number", "owner": "Owner", "ball": "Ball", "serial": "Serial",
    "diameter": "Diameter", "gross": "Gross", "top": "Top", "side": "Side", "finger": "Finger",
    **{
        name: f"{static.capitalize()}, {which} reading"
        for static, pair in PAIRS.items()
        for name, which in zip(pair, ("first", "second"), strict=True)
    },
}  # fmt: skip
UNIT_OF = {"diameter": "in", "gross": "lb", **dict.fromkeys((*STATICS, *READINGS[6:]), "oz")}
NO_KIND = (
    "The scale does not say what two readings mean: type supports=INCHES, pan_lever=INCHES or "
    "reading=half_difference as the scale."
)
_LOOKED_AT = 20  # journals, the last ones, among which one that was not ended is looked for
_OUT = "out"  # what a ball that was taken out has in place of a text


class Mark(NamedTuple):
    """What is looked at: its column, its label, the key that goes on to its next answer, and those."""

    name: str
    label: str
    key: str
    answers: tuple[str, ...]


MARKS = (
    Mark("holes", "Gripping holes", "F2", ("", "3", "2", "5", "4", "1")),
    Mark("thumb", "Thumb hole", "F3", ("", "yes", "no")),
    Mark("balance_holes", "Balance holes", "F4", ("", "none", "1", "2")),
    Mark("vents", "Vent holes", "F5", ("", "none", "1", "2", "3")),
    Mark("palm_mark", "Palm mark", "F6", ("", "yes", "no")),
)


@dataclass(slots=True)
class Ball:
    """One ball: its number in the journal, its texts by column, and cells of a table that are kept."""

    id: int
    texts: dict[str, str] = field(default_factory=dict)
    others: dict[str, str] = field(default_factory=dict)

    @property
    def blank(self) -> bool:
        """Whether nothing is known of it but its number."""
        return not any(text.strip() for name, text in self.texts.items() if name != "number")

    @property
    def out(self) -> bool:
        """Whether it was taken out of the list."""
        return bool(self.texts.get(_OUT))


class Said(NamedTuple):
    """The verdict on the ball that is typed: its outcome, None without one, a headline, and reasons."""

    outcome: Outcome | None
    headline: str
    reasons: tuple[str, ...]


class _Step(NamedTuple):
    """A change that can be taken back: the ball, its texts before, and the field that was typed."""

    ball: int
    before: dict[str, str]
    run: str


class Desk:
    """A check-in. `balls` are all of it in their order, the last one the next to be typed."""

    def __init__(
        self, config: Path, shop: Shop | None = None, today: str = "", new: bool = False
    ) -> None:
        """Go on with the last check-in of the folder ``config``, or begin one where it was ended."""
        self.config = config
        self._today = today or date.today().isoformat()
        self._shop = shop_scale(shop)
        self._clear()
        self.journal = self._latest(new)
        self.message = ""
        self._replay(self.journal.lines())
        count = len(self.listed)
        if count:
            self.message = f"Going on with the check-in of {self.begun}: {_balls(count)}."
        elif not self.begun:
            self._begin()

    def _clear(self) -> None:
        self.rules_name = BUILT_IN[0]
        self.by_readings = False
        self.title = self.scale_text = self.begun = ""
        self.scale: Scale = self._shop
        self.balls: list[Ball] = [Ball(1, {"number": "1"})]
        self.at = 0
        self._undo: list[_Step] = []
        self._judged: dict[int, tuple[dict[str, str], Verdict]] = {}

    def _latest(self, new: bool) -> Journal:
        """The journal of the check-in that was not ended, if nobody holds it; else a new one.

        Of several, as two desks at a time leave them, it is the last one that has a ball.
        """
        folder = self.config / FOLDER
        taken = sorted(folder.glob(f"*{ENDING}"), key=_in_order) if folder.is_dir() else []
        blank: Path | None = None
        for path in () if new else taken[: -_LOOKED_AT - 1 : -1]:
            journal = Journal(path)
            if not journal.take():
                break
            lines = journal.lines()
            if not any("end" in line for line in lines):
                if any("ball" in line for line in lines):
                    return journal
                blank = blank or path
            journal.close()
        if blank is not None:
            journal = Journal(blank)
            if journal.take():
                return journal
        n = 1 + max(
            (_in_order(path)[1] for path in taken if _in_order(path)[0] == self._today), default=0
        )
        while True:
            journal = Journal(folder / f"{self._today}_{n}{ENDING}")
            if journal.take():
                return journal
            n += 1  # another window begins one, too

    def _begin(self) -> None:
        self.begun = self._today
        self.journal.add({"check-in": 1, "begun": self.begun, "program": __version__})

    def _replay(self, lines: Sequence[Mapping[str, Any]]) -> None:
        by_id: dict[int, Ball] = {}
        typed: Ball | None = None  # the one that was not finished
        for line in lines:
            match line:
                case {"next": _}:
                    typed = None
                case {"begun": str(day)}:
                    self.begun = day
                case {"set": str(name), "to": str(text)}:
                    self._set(name, text)
                case {"ball": int(number), "put": dict(texts)}:
                    typed = ball = by_id.setdefault(number, Ball(number))
                    for name, text in texts.items():
                        _put(ball.texts, str(name), str(text))
                    for name, text in (line.get("others") or {}).items():
                        ball.others[str(name)] = str(text)
        if by_id:
            self.balls = list(by_id.values())
            self._append()
            if typed is not None and not typed.out:
                self.at = self.balls.index(typed)

    @property
    def trouble(self) -> str:
        """Why what is typed is not kept; empty while it is."""
        return self.journal.trouble

    def close(self) -> None:
        """Let the journal go; the check-in can be gone on with."""
        self.journal.close()

    def start_anew(self) -> None:
        """End this check-in, whose journal stays, and begin another with the same rules and scale."""
        kept = self.rules_name, self.by_readings, self.scale_text
        self.journal.add({"end": True})
        self.journal.close()
        self._clear()
        self.journal = self._latest(new=True)
        self._begin()
        rules, readings, scale = kept
        self.set_rules(rules)
        if scale:
            self.set_scale(scale)
        if readings:
            self.set_by_readings(True)
        self.message = "A new check-in. The one before is kept."

    # --- how balls are judged ---------------------------------------------------------------------

    @property
    def fields(self) -> tuple[str, ...]:
        """The columns that are typed, in their order."""
        return READINGS if self.by_readings else WEIGHTS

    @property
    def rules(self) -> RuleSet:
        """The rule set in force."""
        return rule_set(self.rules_name)

    def set_rules(self, name: str) -> None:
        """Judge every ball under another built-in rule set."""
        if name in BUILT_IN:
            self._change_setting("rules", name)

    def set_by_readings(self, on: bool) -> None:
        """Type two raw readings a weight, or static weights."""
        self._change_setting("readings", "yes" if on else "")
        self.message = NO_KIND if on and not scale_kind(self.scale) else ""

    def set_scale(self, text: str) -> None:
        """Take the scale that a text states, `arm=4.275,supports=8`; the shop's for an empty one."""
        try:
            if text.strip():
                stated_scale(text)
        except InputError as error:
            self.message = str(error)
            return
        self._change_setting("scale", text.strip())
        self.message = ""

    def set_title(self, text: str) -> None:
        """The event and its day, for the log."""
        self._change_setting("title", text)

    def _change_setting(self, name: str, text: str) -> None:
        if self._set(name, text):
            self.journal.add({"set": name, "to": text})

    def _set(self, name: str, text: str) -> bool:
        before = self.rules_name, self.by_readings, self.scale_text, self.title
        if name == "rules" and text in BUILT_IN:
            self.rules_name = text
        elif name == "readings":
            self.by_readings = bool(text)
        elif name == "scale":
            try:
                self.scale = stated_scale(text) if text else self._shop
                self.scale_text = text
            except InputError:
                pass
        elif name == "title":
            self.title = text
        self._judged.clear()
        return before != (self.rules_name, self.by_readings, self.scale_text, self.title)

    # --- typing -----------------------------------------------------------------------------------

    @property
    def ball(self) -> Ball:
        """The ball that is typed."""
        return self.balls[self.at]

    def text(self, name: str) -> str:
        """What stands in a field of the ball that is typed."""
        return self.ball.texts.get(name, "")

    def edit(self, name: str, text: str) -> None:
        """Type into a field: kept at once."""
        if text == self.text(name):
            return
        step = self._undo[-1] if self._undo else None
        if step is None or (step.ball, step.run) != (self.ball.id, name):
            self._undo.append(_Step(self.ball.id, dict(self.ball.texts), name))
        self._keep(self.ball, {name: text})
        self.message = ""

    def _keep(self, ball: Ball, texts: Mapping[str, str]) -> None:
        fresh = ball.blank
        for name, text in texts.items():
            _put(ball.texts, name, text)
        # of a ball that is new to the journal, its number too
        self.journal.add(
            {"ball": ball.id, "put": dict(ball.texts) | dict(texts) if fresh else texts}
        )

    def mark(self, name: str, by: int = 1) -> None:
        """Go on to the next answer of what is looked at, or back."""
        answers = next(mark.answers for mark in MARKS if mark.name == name)
        stated = self.text(name)
        place = answers.index(stated) if stated in answers else -by
        self.edit(name, answers[(place + by) % len(answers)])

    def same_owner(self) -> None:
        """Take the owner of the ball before."""
        before = next((b.texts.get("owner", "") for b in self.balls[self.at - 1 :: -1]), "")
        if self.at and before:
            self.edit("owner", before)

    def after(self, name: str) -> str:
        """Where Return goes from a field: the next one, or empty for the next ball.

        The next ball comes when every weight is there, and after the last field.
        """
        place = self.fields.index(name) if name in self.fields else len(self.fields) - 1
        missing = [each for each in self.fields[FIRST.index("gross") :] if not self.text(each)]
        if not missing or place + 1 >= len(self.fields):
            return ""
        return self.fields[place + 1]

    def next(self) -> bool:
        """Go to the next ball; False, with a message, while nothing of this one is typed."""
        if self.ball.blank and self.at == len(self.balls) - 1:
            self.message = "Nothing is typed yet."
            return False
        self.journal.add({"next": self.ball.id})
        self.journal.sync()
        self._append()
        self._undo_ends()
        self.message = ""
        return True

    def _append(self) -> None:
        """Go to the blank ball at the end, made where there is none."""
        last = self.balls[-1]
        if not last.blank:
            listed = [b for b in self.balls if not b.out]
            number = _next_number(listed[-1].texts.get("number", "")) if listed else "1"
            new = max(b.id for b in self.balls) + 1
            self.balls.append(Ball(new, {"number": number} if number else {}))
        self.at = len(self.balls) - 1

    def move(self, by: int) -> bool:
        """Go to another ball of the list; False where there is none."""
        place = self.at + by
        while 0 <= place < len(self.balls) and self.balls[place].out:
            place += by
        if not 0 <= place < len(self.balls):
            return False
        self.go(place)
        return True

    def go(self, place: int) -> None:
        """Go to the ball of that place in `balls`."""
        self.at = place
        self._undo_ends()
        self.message = ""

    def _undo_ends(self) -> None:
        """What is typed from now on is a step of its own."""
        if self._undo:
            self._undo[-1] = self._undo[-1]._replace(run="")

    def drop(self) -> None:
        """Take the ball that is typed out of the list; undo brings it back."""
        if self.ball.blank:
            self.message = "Nothing is typed yet."
            return
        self._undo.append(_Step(self.ball.id, dict(self.ball.texts), _OUT))
        name = self.text("number")
        self._keep(self.ball, {_OUT: "yes"})
        self._append()
        self.message = f"Ball {name} is out of the list: Ctrl+Z brings it back."

    def undo(self) -> bool:
        """Take back what was typed last into one field; False, with a message, for nothing."""
        if not self._undo:
            self.message = "Nothing to take back."
            return False
        step = self._undo.pop()
        place = next(n for n, ball in enumerate(self.balls) if ball.id == step.ball)
        ball = self.balls[place]
        self._keep(ball, {n: step.before.get(n, "") for n in {*ball.texts, *step.before}})
        self.go(place)
        return True

    # --- what is said -----------------------------------------------------------------------------

    @property
    def listed(self) -> list[Ball]:
        """The balls of the list: what was typed and is not out."""
        return [ball for ball in self.balls if not ball.blank and not ball.out]

    def verdict(self, ball: Ball) -> Verdict:
        """The verdict on one ball by itself; raises InputError where its readings cannot be used."""
        known = self._judged.get(ball.id)
        if known is None or known[0] != ball.texts:
            entry = entry_of(ball.texts, ball.id, LABELS, keyed=True)
            known = dict(ball.texts), judge(entry, self.rules, self.scale)
            self._judged[ball.id] = known
        return known[1]

    def said(self) -> Said:
        """What to say of the ball that is typed, in words."""
        if self.ball.blank:
            return Said(None, "Next ball", ())
        try:
            v = self.verdict(self.ball)
        except InputError:
            return Said(None, "No verdict", (NO_KIND,))
        questions = (f"Question: {words}" for words in v.questions)
        decides = (f"To decide it: {words}" for words in v.decides)
        told = (
            *reasons(v, self.rules), *decides, *v.entry.problems, *questions, *self._hidden()
        )  # fmt: skip
        weighed = [name for name in ("gross", *STATICS) if name in v.weights]
        missing = f"not measured: {', '.join(v.missing)}" if v.missing else ""
        if v.outcome == "incomplete" and len(weighed) < 1 + len(STATICS):
            return Said("incomplete", f"not yet: {missing or 'see below'}", told)
        if v.outcome == "pass":
            return Said("pass", "PASS: within every limit that was checked", told)
        if v.outcome == "incomplete":
            return Said("incomplete", f"INCOMPLETE: {missing or 'a text cannot be read'}", told)
        telling = (f"{c.name} {value_words(c)}" for c in v.checks if c.outcome == v.outcome)
        return Said(v.outcome, f"{v.outcome.upper()}: {', '.join(telling)}", told)

    def _hidden(self) -> tuple[str, ...]:
        """What counts and stands in no field that is shown, as after the other way of weighing."""
        names = [n for n in (*WEIGHTS, *READINGS) if n not in self.fields and self.text(n)]
        texts = (f"{LABELS[name].lower()} {self.text(name)} {UNIT_OF[name]}" for name in names)
        return (f"Also typed: {', '.join(texts)}; F9 shows it.",) if names else ()

    def not_seen(self) -> str:
        """What nobody looked at on the ball that is typed; empty where all was."""
        try:
            names = self.verdict(self.ball).not_seen
        except InputError:
            return ""
        return f"Not looked at: {', '.join(names)}." if names else ""

    def earlier(self) -> tuple[str, ...]:
        """Other checks of the ball that is typed, by its serial, each with the difference."""
        serial = plain_serial(self.text("serial"))
        if not serial:
            return ()
        try:
            v = self.verdict(self.ball)
            others = [
                self.verdict(ball)
                for ball in self.listed
                if ball is not self.ball and plain_serial(ball.texts.get("serial")) == serial
            ]
        except InputError:
            return ()
        if not v.entry.seen.serial:
            return ()
        words = []
        for other in others:
            number, _, _, _, *weights, outcome = cells(other)
            named = zip(("gross", *STATICS), weights, strict=True)
            shown = ", ".join(f"{name} {text}" for name, text in named)
            words.append(
                f"Ball {number} has the same serial: {shown}: {outcome}. "
                f"This one less that one: {difference_words(other, v)}."
            )
        return tuple(words)

    def result(self) -> CheckIn:
        """The verdicts on all balls; raises InputError where readings cannot be used."""
        verdicts = [self.verdict(ball) for ball in self.listed]
        for n, words in repeats(verdicts).items():
            verdicts[n] = verdicts[n]._replace(questions=(*verdicts[n].questions, *words))
        return CheckIn(tuple(verdicts), moves(verdicts, self.scale), self.rules, self.scale)

    def tally(self) -> str:
        """The running tally, and whether the scale moved."""
        if not self.listed:
            return "No ball yet."
        try:
            result = self.result()
        except InputError:
            return f"{_balls(len(self.listed))}; {NO_KIND}"
        moved = f" {moved_words(result.moved[-1], result).capitalize()}." if result.moved else ""
        return tally_words(result) + moved

    def row(self, ball: Ball, units: Units = "fraction") -> tuple[str, ...]:
        """A ball of the list as cells under `checkin_report.HEAD`."""
        try:
            return cells(self.verdict(ball), units)
        except InputError:
            t = ball.texts
            names = ("number", "owner", "ball", "serial", "gross")
            return (*(t.get(name, "") for name in names), "", "", "", "no verdict")

    def found(self, text: str) -> list[int]:
        """The places of the balls whose serial, owner or number has a text in it, the latest first."""
        plain, serial = " ".join(text.split()).casefold(), plain_serial(text)
        places = [
            place
            for place, ball in enumerate(self.balls)
            if not ball.blank
            and not ball.out
            and (
                plain in ball.texts.get("owner", "").casefold()
                or plain == ball.texts.get("number", "").casefold()
                or (serial and serial in plain_serial(ball.texts.get("serial")))
            )
        ]
        return places[::-1]

    # --- tables in and out ------------------------------------------------------------------------

    def read(self, path: str | Path) -> tuple[str, Table] | None:
        """The text of a file of balls and its table by its own headings; None, with a message."""
        try:
            name = file_name(path)
            text = decode_table(read_bytes(path, BALL_LIST, LARGEST_TABLE), name)
            return text, read_table(text, name, COLUMNS)
        except InputError as error:
            self.message = str(error)
            return None

    def answer_for(self, table: Table) -> dict[str, str] | None:
        """What a table's headings stand for, where that is plain or was asked once; else None."""
        known = columns.remembered(self.config, table.headings)
        if known is None and not table.others and "gross" in table.names:
            return dict(zip(table.headings, table.names, strict=True))
        return known

    def take_table(self, text: str, name: str, answer: columns.Answer) -> bool:
        """Add the balls of a table whose headings stand for what is answered; False, with a message."""
        try:
            known = columns.wanted(answer, COLUMNS)
            if not any(each.name == "gross" for each in known.values()):
                raise InputError("no column is the gross weight; say which one it is.")
            table = read_table(text, name, COLUMNS, known)
        except InputError as error:
            self.message = str(error)
            return False
        columns.remember(self.config, table.headings, answer)
        good = [row for row in table.rows if not row.fault]
        if any(column in table.names for pair in PAIRS.values() for column in pair):
            self.set_by_readings(True)
        last = max(ball.id for ball in self.balls)
        if self.balls[-1].blank:
            self.balls.pop()
        for number, row in enumerate(good, last + 1):
            ball = Ball(number, dict(row.values), dict(table.kept(row)))
            self.balls.append(ball)
            self.journal.add({"ball": number, "put": ball.texts, "others": ball.others})
        self.journal.add({"next": last})
        self.journal.sync()
        if not self.balls:
            self.balls = [Ball(last + 1)]
        self._append()
        faults = [f"line {row.line}: {row.fault}" for row in table.rows if row.fault]
        left = f" Left out: {'; '.join(faults[:3])}." if faults else ""
        self.message = f"{_balls(len(good))} of {name} added.{left}"
        return True

    def table(self) -> Table:
        """The list as a table: every column that was typed, then those that a table brought."""
        names = [n for n in COLUMNS if any(ball.texts.get(n) for ball in self.listed)]
        others = list(dict.fromkeys(heading for ball in self.listed for heading in ball.others))
        headings = (*names, *others)
        rows = tuple(
            Row(
                ball.id,
                (
                    *(ball.texts.get(name, "") for name in names),
                    *(ball.others.get(heading, "") for heading in others),
                ),
                {name: ball.texts[name] for name in names if ball.texts.get(name)},
            )
            for ball in self.listed
        )
        return Table(headings, (*names, *("",) * len(others)), rows, ",", comma=False)

    def csv_bytes(self) -> bytes:
        """The list with its verdicts as CSV; raises InputError where readings cannot be used."""
        # the mark tells a spreadsheet that it is UTF-8
        return checkin_csv(self.result(), self.table()).encode("utf-8-sig")

    def into_book(self, path: Path | None = None) -> None:
        """Note the checks in the lives of the balls in the shop's book; `message` says how many."""
        try:
            result = self.result()
            checks = book_checks(result, self.begun or self._today)
            with Book(book_path() if path is None else path) as book:
                new = book.add_checks(checks)
        except InputError as error:
            self.message = str(error)
            return
        self.message = noted_words(len(checks), new, len(result.verdicts) - len(checks))


def log_pdf(result: CheckIn, title: str, paper: Any, units: Units) -> bytes:
    """The log of a check-in as PDF; safe to call in a worker thread."""
    from layoutkit.output.checkin_log import log_bytes

    return log_bytes(result, title, paper, units)


def _put(texts: dict[str, str], name: str, text: str) -> None:
    if text:
        texts[name] = text
    else:
        texts.pop(name, None)


def _balls(count: int) -> str:
    return f"{count} ball{'' if count == 1 else 's'}"


def _next_number(number: str) -> str:
    """The number after another: `A-9` is followed by `A-10`; empty after one without digits."""
    match = re.fullmatch(r"(.*?)([0-9]{1,9})", number.strip())
    if match is None:
        return ""
    return f"{match[1]}{int(match[2]) + 1:0{len(match[2])}d}"


def _in_order(path: Path) -> tuple[str, int]:
    """The day and the number of a journal's name, for the order in which they were begun."""
    day, _, number = path.stem.partition("_")
    return day, int(number) if number.isdecimal() else 0


__all__ = (
    "LABELS", "MARKS", "UNIT_OF", "Ball", "Desk", "Mark", "Said", "log_pdf",
)  # fmt: skip
