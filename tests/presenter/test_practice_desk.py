"""Practice in the window's state: answers on the ball, marks, worked answers, the log."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from gui.state.practice_desk import PracticeDesk, worked
from gui.state.practice_task import ON_THE_BALL, task
from layoutkit.geometry.sphere import from_over_up, mirror, walk
from layoutkit.practice import log as logs
from layoutkit.practice.problems import KINDS, problem

DAY = date(2026, 11, 29)
PLACED = tuple(kind for kind in ON_THE_BALL if kind not in ("grip-from-pap", "bearing"))


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))


@pytest.fixture
def desk() -> PracticeDesk:
    return PracticeDesk("Ann", DAY)


@pytest.mark.parametrize("kind", PLACED)
@pytest.mark.parametrize("seed", range(4))
def test_the_right_place_on_the_ball_is_right_and_its_mirror_is_a_named_slip(
    desk: PracticeDesk, kind: str, seed: int
) -> None:
    desk.ask(kind, seed)
    assert desk.problem is not None
    draft = desk.problem.draft
    assert draft.drawn is not None
    right = next(
        m.xyz for m in draft.drawn.marks if m.words == kind.split("-")[0].replace("pap", "PAP")
    )
    desk.place(right)
    assert desk.hand_in()
    assert desk.said[1] == "Right."
    desk.ask(kind, seed)
    desk.place((-right[0], right[1], right[2]))
    desk.hand_in()
    assert desk.marked is not None
    assert not desk.marked.side
    assert "other hand" in [slip.name for slip in desk.marked.slips]


@pytest.mark.parametrize("seed", range(6))
def test_the_grip_centre_is_found_from_the_pap_as_walked_along_val_and_midline(
    desk: PracticeDesk, seed: int
) -> None:
    # the walk is the sphere's own, by two great circles
    desk.ask("grip-from-pap", seed)
    assert desk.problem is not None
    draft = desk.problem.draft
    r = desk.scene.radius
    over, up = (float(x) for x in draft.right)  # type: ignore[arg-type]
    foot, way = walk((0.0, 0.0, r), 0.0, up)
    grip, _ = walk(foot, way + 90.0, over)
    desk.place(tuple(float(x) for x in grip))  # type: ignore[arg-type]
    desk.hand_in()
    assert desk.marked is not None
    assert desk.marked.away == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_a_swung_line_states_its_bearing_in_the_bowlers_frame(seed: int) -> None:
    asked = problem("bearing", seed)
    made, drawn = task(asked), asked.draft.drawn
    assert made is not None
    assert drawn is not None
    pin = mirror(next(m.xyz for m in drawn.marks if m.kind == "pin"), drawn.hand)
    (right,) = asked.draft.right
    point = mirror(tuple(float(x) for x in walk(pin, right, 2.0)[0]), drawn.hand)
    assert made.value(point) == pytest.approx((right,))


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_worked_answer_in_pages_that_ends_in_its_rule(kind: str) -> None:
    asked = problem(kind, 3)
    pages = worked(asked)
    words = [page.words for page in pages]
    assert words[: len(asked.draft.steps)] == list(asked.draft.steps)
    assert words[-1] == f"Rule: {asked.draft.rule}"
    picture = asked.draft.drawn or asked.draft.shown
    assert all(bool(page.scene.lines) == (picture is not None) for page in pages)


def test_pin_and_pap_are_also_worked_as_they_are_marked_on_a_ball() -> None:
    asked = problem("pin-by-angles", 2)
    words = [page.words for page in worked(asked)]
    assert any(w.startswith("On the ball: ") and "mark the PAP" in w for w in words)
    assert any("square to it" in w for w in words)


def test_what_a_rule_reads_tells_no_side(desk: PracticeDesk) -> None:
    desk.ask("pin-by-placement", 1)
    r = desk.scene.radius
    told = []
    for over, up in ((1.5, 2.0), (-1.5, 2.0), (1.5, -2.0)):
        desk.place(tuple(float(x) for x in from_over_up(over, up, r)))  # type: ignore[arg-type]
        told.append(desk.rule())
    assert told[0] == "along the midline 1 1/2 in, square to it 2 in"
    assert len(set(told)) == 1


def test_the_days_set_is_asked_kept_and_comes_back(desk: PracticeDesk) -> None:
    first = desk.chosen[0]
    assert desk.problem is not None
    assert desk.problem.kind == first
    assert not desk.answer("no idea")
    assert desk.message
    right = desk.problem.draft.right
    assert not isinstance(right, str)
    desk.place(tuple(float(x) for x in from_over_up(*right, desk.scene.radius)))  # type: ignore[arg-type, call-overload]
    assert desk.hand_in()
    assert not desk.hand_in()  # once
    assert [answer.kind for answer in logs.read("Ann").answers] == [first]
    desk.next()
    assert desk.problem is not None
    assert desk.problem.kind == desk.chosen[1]
    again = PracticeDesk("ann", DAY)
    assert first not in again.chosen
    assert "1 right" in again.progress()
    assert again.trainees() == ("ann",)
    assert again.forget() == "Forgotten."
    assert again.trainees() == ()


def test_an_answer_in_words_is_marked_as_on_the_terminal(desk: PracticeDesk) -> None:
    desk.ask("pin-to-pap", 7)
    assert desk.problem is not None
    assert desk.task is None
    slip = desk.problem.draft.slips[0]
    assert not isinstance(slip.value, str)
    desk.answer(f"{slip.value[0]:.4f}")
    assert any("This is what you get if" in words for words in desk.said)
    assert desk.marked is not None
    assert desk.marked.slips == (slip,)
    assert np.isfinite(desk.view.frame).all()
