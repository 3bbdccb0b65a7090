"""Any sequence of edits, switches, restatings, drags, undos and redos keeps record and plan one."""

import json
import math
import random
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from gui.state.commands import COMMANDS
from gui.state.entries import from_record, to_record
from gui.state.fields import LISTS, all_fields
from gui.state.list_draft import Draft
from gui.state.presenter import Presenter, Refresh
from gui.state.readings import readings
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.planning.plan import plan

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
TEXTS = (
    "", " ", "4 3/", "4 3/8", "111 mm", "0", "-1/2", "1/3", "quarter", "15 lb 2 oz", "1e5", "9" * 400,
    "50", "-180", "3.375", ".5", "5.", "٣", "x" * 300, "a\nb", "2026-11-25", "\x00",
)  # fmt: skip
TYPED = st.one_of(
    st.sampled_from(TEXTS),
    st.integers(-400, 400).map(lambda n: f"{n / 64:g}"),
    st.text(max_size=12),
)
FREE = [f for f in all_fields() if f.kind not in ("choice", "switch")]
CHOSEN = [(f.path, v) for f in all_fields() for v, _ in f.options]
CHOSEN += [(f.direction_path, d) for f in all_fields() if f.directions for d in f.directions]
ROWS = {
    "bowler.grip.thumb.inners": {
        "bowler.grip.thumb.inners.*.name": "tight",
        "bowler.grip.thumb.inners.*.sleeve.bore": "1 1/4",
        "bowler.grip.thumb.inners.*.sleeve.bore_depth": "2 1/2",
        "bowler.grip.thumb.inners.*.sleeve.density": "1.2",
        "bowler.grip.thumb.inners.*.diameter": "1",
    },
    "extra_holes.vents": {
        "extra_holes.vents.*.over": "1 1/4",
        "extra_holes.vents.*.up": "2",
        "extra_holes.vents.*.up/down": "down",
        "extra_holes.vents.*.diameter": "1/4",
        "extra_holes.vents.*.meets": "1",
    },
    "history.holes": {
        "history.holes.*.name": "old",
        "history.holes.*.from_pin": "4 1/2",
        "history.holes.*.bearing": "-30",
        "history.holes.*.diameter": "25 mm",
        "history.holes.*.depth": "2",
    },
    "lane.table": {"lane.table.*.at": "20", "lane.table.*.friction": "0.04"},
}
POINTS = st.tuples(*[st.floats(-1.0, 1.0)] * 3)


def planned(record: dict[str, Any]) -> Any:
    """The plan of a record, or None: worked out apart from the presenter, once for each record."""
    return _planned(json.dumps(record))


@lru_cache(maxsize=100)
def _planned(text: str) -> Any:
    try:
        return plan(parse_job(json.loads(text)))
    except InputError:
        return None


class Window(RuleBasedStateMachine):
    """A presenter under everything that a person can do, beside a plain list of the states before."""

    @initialize(sample=st.sampled_from([*SAMPLES, None]))
    def begin(self, sample: Path | None) -> None:
        self.p = Presenter(Path("/nowhere"))
        if sample is not None:
            assert self.p.open_sample(sample)
        self.start = dict(self.p.entries)
        self.last_plan = self.p.plan
        self.p.subscribe(self.follow)

    def follow(self, change: Refresh) -> None:
        """Every change tells something, and what is shown then is the last valid plan."""
        assert change.what
        expected = self.expected()
        if expected:
            assert self.p.plan in expected
            self.last_plan = self.p.plan
        assert self.p.plan == self.last_plan

    def expected(self) -> list[Any]:
        """What the plan can be, none of an invalid record: a drag leaves the tolerances to its end."""
        record = self.p.document.record()
        bare = {name: part for name, part in record.items() if name != "tolerances"}
        found = [planned(record), *([planned(bare)] if self.p.dragging else [])]
        return [] if found[0] is None else found

    @rule(field=st.sampled_from(FREE), text=TYPED)
    def type(self, field: Any, text: str) -> None:
        self.p.edit(field.path, text)
        assert self.p.entry(field.path) == text

    @rule(field=st.sampled_from(FREE), leave=st.booleans())
    def type_it_again(self, field: Any, leave: bool) -> None:
        """Type a text letter by letter, and back to what it was."""
        before, entries = self.p.entry(field.path), dict(self.p.entries)
        for text in ("4", "4 ", "4 3", "4 3/"):
            self.p.edit(field.path, text)
        if leave:
            self.p.end_run()
        self.p.edit(field.path, before)
        assert dict(self.p.entries) == entries

    @rule(choice=st.sampled_from(CHOSEN))
    def choose(self, choice: tuple[str, str]) -> None:
        path, value = choice
        before = dict(self.p.entries)
        self.p.edit(path, value)
        if path != "layout.by":
            assert self.p.entry(path) == value
        elif self.p.entry(path) != value:
            assert self.p.message
            assert dict(self.p.entries) == before

    @rule(
        path=st.sampled_from(sorted(LISTS)),
        deed=st.sampled_from(["add", "whole", "remove", "up", "take"]),
        text=TYPED,
    )
    def change_list(self, path: str, deed: str, text: str) -> None:
        """What the dialog of a list does, up to its OK."""
        before = dict(self.p.entries)
        draft = Draft(self.p, path)
        if deed in ("add", "whole"):
            draft.add()
            row = ROWS[path] if deed == "whole" else {draft.fields[1].path: text}
            for name, value in row.items():
                draft.edit(name, value)
        elif deed == "remove":
            draft.remove()
        elif deed == "up":
            draft.move(1)
        assert dict(self.p.entries) == before
        sound, own = draft.sound, draft.text
        assert draft.take() == sound
        assert self.p.entry(path) == (
            own if sound and before.get(path) != own else before.get(path, "")
        )

    @rule(by=st.sampled_from(["angles", "distances", "placement"]))
    def restate(self, by: str) -> None:
        valid, before = not self.p.problems, self.p.plan
        self.p.edit("layout.by", by)
        if valid and self.p.entry("layout.by") == by and before is not None:
            assert self.p.plan is not None
            assert not self.p.stale
            for name in ("pin", "cg"):
                old, new = getattr(before.marks, name), getattr(self.p.plan.marks, name)
                assert (old is None) == (new is None)
                if old is not None:
                    assert math.dist(old.xyz, new.xyz) < 2.5e-3

    @rule(
        mark=st.sampled_from(["pin", "pap"]),
        points=st.lists(POINTS, max_size=4),
        end=st.integers(0, 2),
    )
    def drag(self, mark: Any, points: list[tuple[float, float, float]], end: int) -> None:
        before, steps = dict(self.p.entries), len(self.p.document._steps.done)
        if not self.p.begin_drag(mark):
            assert self.p.problems
            return
        assert not self.p.problems
        for point in points:
            (self.p.drag_pin if mark == "pin" else self.p.drag_pap)(point)
            self.agrees()
            assert not self.p.problems
        if end == 0:
            self.p.cancel_drag()
            assert dict(self.p.entries) == before
        else:
            self.p.end_drag()
            assert len(self.p.document._steps.done) <= steps + 1
            if end == 2 and dict(self.p.entries) != before:
                after = dict(self.p.entries)
                self.p.undo()
                assert dict(self.p.entries) == before
                self.p.redo()
                assert dict(self.p.entries) == after

    @rule(
        mark=st.sampled_from(["pin", "pap", "cg", None]),
        direction=st.sampled_from(["left", "right", "up", "down"]),
        size=st.sampled_from(("fine", "usual", "coarse")),
    )
    def nudge(self, mark: Any, direction: Any, size: Any) -> None:
        self.p.select(mark)
        self.p.nudge(direction, size)

    @rule()
    def undo(self) -> None:
        self.p.undo()

    @rule()
    def redo(self) -> None:
        self.p.redo()

    @rule()
    def undo_and_redo(self) -> None:
        if self.p.document.can_undo:
            before = dict(self.p.entries)
            self.p.undo()
            self.p.redo()
            assert dict(self.p.entries) == before

    @rule(what=st.sampled_from([c for c in COMMANDS if c.method]))
    def command(self, what: Any) -> None:
        what.run(self.p)

    @rule()
    def pause(self) -> None:
        self.p.end_run()

    @precondition(lambda self: self.p.plan is not None)
    @rule(units=st.sampled_from(["fraction", "decimal", "metric"]))
    def read(self, units: Any) -> None:
        assert self.p.plan is not None
        reference = None if self.p.reference is None else self.p.reference.plan
        found = readings(self.p.plan, units, reference)
        assert all(r.text or not r.difference for r in found.rows)

    @invariant()
    def agrees(self) -> None:
        p = self.p
        record = p.document.record()
        expected = self.expected()
        if expected:
            assert not p.problems
            assert p.plan in expected
            assert p.job == parse_job(record)
        else:
            assert p.problems
            assert p.job is None
            assert p.plan == self.last_plan
            assert p.stale == (self.last_plan is not None)
        assert parse_or_none(json.loads(json.dumps(record))) == p.job or not expected
        assert p.needed <= set(p.problems)
        assert p.step is None or p.step < len(p.steps)
        assert p.document.dirty == (dict(p.entries) != self.start)

    def teardown(self) -> None:
        if not hasattr(self, "p"):
            return
        end = dict(self.p.entries)
        count = 0
        while self.p.document.can_undo:
            self.p.undo()
            count += 1
        assert dict(self.p.entries) == self.start
        for _ in range(count):
            self.p.redo()
        assert dict(self.p.entries) == end


def parse_or_none(record: dict[str, Any]) -> Any:
    try:
        return parse_job(record)
    except InputError:
        return None


def test_record_and_plan_stay_consistent() -> None:
    run_state_machine_as_test(Window, settings=settings(max_examples=6, stateful_step_count=20))


@pytest.mark.parametrize("field", FREE, ids=lambda f: f.path)
def test_any_text_in_any_field_is_a_problem_there_or_a_job(field: Any) -> None:
    p = Presenter(Path("/nowhere"))
    assert p.open_sample(SAMPLES[0])
    for condition in field.shown_if:
        p.edit(condition.path, condition.values[0])
    before = dict(p.problems)
    # other texts for each field, so that all of them are typed somewhere
    chance = random.Random(field.path)
    letters = "".join(chr(chance.choice((chance.randrange(32, 127), 0x3B1))) for _ in range(6))
    for text in (f"{chance.randrange(-400, 400) / 64:g}", letters, chance.choice(TEXTS)):
        p.edit(field.path, text)
        assert p.entry(field.path) == text
        expected = planned(p.document.record())
        assert (expected is None) == bool(p.problems), text
        if expected is not None:
            assert p.plan == expected, text
        for words in set(p.problems.values()) - set(before.values()):
            assert "\n" not in words
            assert words.endswith((".", "pre-2018"))


def test_entries_and_records_go_back_and_forth(records: st.SearchStrategy[dict[str, Any]]) -> None:
    @given(records)
    @settings(max_examples=40)
    def check(record: dict[str, Any]) -> None:
        entries = from_record(record)
        again = to_record(entries)
        assert parse_job(again) == parse_job(record)
        assert from_record(again) == entries

    check()
