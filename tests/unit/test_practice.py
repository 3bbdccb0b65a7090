"""Practice: problems from seeds, marking, what comes back when, and the log."""

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from layoutkit.errors import InputError
from layoutkit.practice import find, log, predict
from layoutkit.practice.marking import Answer, mark, read_answer
from layoutkit.practice.problems import KINDS, problem
from layoutkit.practice.schedule import Answered, known, next_seed, todays_set
from layoutkit.practice.sets import practice_set, scrap_plan
from layoutkit.practice.values import GROUPS, Slip

SEEDS = range(10)
DAY = date(2026, 3, 2)


# --- problems ---------------------------------------------------------------------------------------


def test_four_groups_hold_at_least_sixteen_kinds() -> None:
    assert len(KINDS) >= 16
    assert {kind.group for kind in KINDS.values()} == set(GROUPS)


def test_a_seed_gives_this_problem_on_every_machine() -> None:
    # regression: what seed 7 gave when it was first drawn
    asked = problem("pin-to-pap", 7).draft
    assert asked.question == (
        "A ball of 8.550 in, left hand: the pin lies 1 5/8 in over and 3 in up, the PAP 4 7/8 in over "
        "and 1/4 in up. How far is the pin from the PAP?"
    )
    assert problem("pin-to-pap", 7) == problem("pin-to-pap", 7)
    assert problem("pin-to-pap", 7) != problem("pin-to-pap", 8)


@pytest.mark.parametrize("kind", KINDS)
def test_right_answers_are_full_and_slips_are_named_alone(kind: str) -> None:
    for seed in SEEDS:
        draft = problem(kind, seed).draft
        right = mark(draft, Answer(draft.right, draft.asked.unit))
        assert right.score == "full"
        assert right.slips == ()
        for slip in draft.slips:
            marked = mark(draft, Answer(slip.value, draft.asked.unit))
            assert marked.score != "full"
            assert marked.slips == (slip,)


def test_draws_too_near_a_slip_are_not_fair() -> None:
    # a pin straight over has the same arc whether or not the ball is taken for flat
    assert not find.pin_from_grip(8.55, 3.0, 0.0).fair
    assert find.pin_from_grip(8.55, 4.0, 3.0).fair


def test_unknown_kinds_and_seeds_are_refused() -> None:
    with pytest.raises(InputError, match="no kind of problem; possible: pap-place"):
        problem("pap", 1)
    with pytest.raises(InputError, match="no seed; possible: 0 to"):
        problem("pap-place", -1)


def test_a_set_takes_every_kind_before_one_comes_twice() -> None:
    names = [p.kind for p in practice_set(60, 4).problems]
    assert set(names) == set(KINDS)
    assert max(names.count(name) for name in names) == 2
    assert practice_set(5, 4) == practice_set(5, 4)
    with pytest.raises(InputError, match="make no set; possible: 1 to 60"):
        practice_set(61, 4)


def test_a_scrap_ball_s_task_can_be_marked_on_any_ball_with_a_pin() -> None:
    for seed in range(6):
        made = scrap_plan(seed, 8.59)
        assert made.radius == 8.59 / 2.0
        assert made.marks.psa is None
        assert made.marks.cg is None
        assert "customer's ball" in made.job.title


# --- marking ----------------------------------------------------------------------------------------

ARC = find.pin_from_grip(8.55, 4.0, 3.0)  # 4.7049 in
SIDE = predict.side_weight(8.55, 3.0, 1.5)  # +1.0312 oz
PLACE = find.pap_place(8.55, 5.0, 0.5, "left")  # 5 left, 1/2 up


@pytest.mark.parametrize(
    ("text", "score"),
    [
        ("4 11/16", "full"),
        ("4.767", "full"),
        ("4.768", "part"),
        ("4.954", "part"),
        ("4.956", "none"),
    ],
)
def test_the_score_follows_the_distance(text: str, score: str) -> None:
    # full to 1/16 in, part to four times that: 4.7674 and 4.9549 here
    assert mark(ARC, read_answer(ARC.asked, text)).score == score


def test_the_flat_ball_is_named() -> None:
    marked = mark(ARC, read_answer(ARC.asked, "5"))
    assert [slip.name for slip in marked.slips] == ["flat"]


def test_between_right_and_slip_nothing_is_named() -> None:
    # 4.85 is as near to the right 4.705 as to the 5 of the flat ball
    assert mark(ARC, read_answer(ARC.asked, "4.85")).slips == ()


def test_a_slip_that_is_hardly_nearer_than_the_right_value_is_not_named() -> None:
    (right,) = ARC.right
    assert isinstance(right, float)
    close = replace(ARC, slips=(Slip("close", "", (right + 0.14,)),))
    assert mark(close, Answer((right + 0.14,), "in")).slips == close.slips
    # within the tolerance of the slip, but not twice as near to it: 0.06 against 0.08
    assert mark(close, Answer((right + 0.08,), "in")).slips == ()


def test_a_right_size_on_the_wrong_side_is_told_as_such() -> None:
    marked = mark(SIDE, read_answer(SIDE.asked, "-1.03"))
    assert (marked.score, marked.size, marked.unit, marked.side) == ("none", "full", True, False)
    assert [slip.name for slip in marked.slips] == ["wrong side"]


def test_a_place_on_the_wrong_side_is_told_as_such() -> None:
    marked = mark(PLACE, read_answer(PLACE.asked, "5 right, 1/2 up"))
    assert (marked.score, marked.size, marked.side) == ("none", "full", False)


def test_a_right_number_in_another_unit_is_told_as_such() -> None:
    stated = mark(ARC, read_answer(ARC.asked, "4.7 degrees"))
    assert (stated.score, stated.size, stated.unit) == ("part", "full", False)
    bare = mark(ARC, read_answer(ARC.asked, "119.5"))  # millimetres without their unit
    assert (bare.score, bare.unit, bare.other_unit) == ("part", False, "millimetres")
    assert mark(ARC, read_answer(ARC.asked, "119.5 mm")).score == "full"


@pytest.mark.parametrize(
    "text", ["5 left, 1/2 up", "left 5, up 1/2", "up 1/2 in; left 5 in", "5 left 1/2 up"]
)
def test_places_are_read_as_people_write_them(text: str) -> None:
    assert read_answer(PLACE.asked, text).value == (-5.0, 0.5)


@pytest.mark.parametrize("text", ["5", "5 left", "5 left, 1/2 right", "5 up, 1/2 up", ""])
def test_what_is_no_place_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="write both lengths with their directions"):
        read_answer(PLACE.asked, text)


def test_choices_are_taken_by_number_word_or_letter() -> None:
    word = predict.outcome_word(2.85, 0.25).asked
    assert [read_answer(word, t).value for t in ("2", "close", "CL")] == ["close"] * 3
    rows = problem("catch-record", 1).draft.asked
    assert read_answer(rows, "b").value == "row B"
    with pytest.raises(InputError, match="no choice; possible: pass, close, fail"):
        read_answer(word, "4")


# --- what comes back when ---------------------------------------------------------------------------


def _answers(*days: tuple[int, str]) -> list[Answered]:
    return [
        Answered(DAY + timedelta(days=n - 1), "bearing", n, score)  # type: ignore[arg-type]
        for n, score in days
    ]


def test_thirty_days_of_one_kind() -> None:
    # written out by hand: the day of the answer, its score, the day on which it is due then
    days = [
        (1, "full", 2), (2, "full", 4), (4, "full", 8), (8, "none", 9), (9, "part", 10),
        (10, "full", 11), (11, "full", 13), (13, "full", 17), (17, "full", 25), (25, "full", 41),
    ]  # fmt: skip
    for n in range(1, len(days) + 1):
        state = known(_answers(*((day, score) for day, score, _ in days[:n])))["bearing"]
        assert (state.due - DAY).days + 1 == days[n - 1][2]


def test_an_answer_before_its_day_moves_nothing_up_but_a_bad_one_down() -> None:
    early = known(_answers((1, "full"), (1, "full"), (1, "full")))["bearing"]
    assert (early.box, early.due) == (1, DAY + timedelta(days=1))
    late = known(_answers((1, "full"), (2, "full"), (3, "none")))["bearing"]
    assert (late.box, late.due) == (0, DAY + timedelta(days=3))


def test_what_is_due_comes_before_what_is_new_and_fills_fifteen_minutes() -> None:
    answers = _answers((1, "full"))
    chosen = todays_set(answers, KINDS, DAY + timedelta(days=1))
    assert chosen[0] == "bearing"
    assert chosen[1] == next(iter(KINDS))
    minutes = sum(KINDS[name].minutes for name in chosen)
    assert 13.0 <= minutes <= 15.0


def test_what_was_answered_today_counts_against_its_minutes() -> None:
    names = todays_set([], KINDS, DAY)
    answers = [Answered(DAY, name, 1, "full") for name in names]
    assert sum(KINDS[name].minutes for name in todays_set(answers, KINDS, DAY)) <= 2.0


def test_standing_and_slips_that_repeat() -> None:
    bad = [Answered(DAY, "bearing", n, "none", ("flat",)) for n in range(2)]
    state = known(bad)["bearing"]
    assert state.standing == "shaky"
    assert state.repeated == (("flat", 2),)
    good = known(_answers((1, "full"), (2, "full"), (4, "full")))["bearing"]
    assert good.standing == "sure"
    assert known(_answers((1, "full")))["bearing"].standing == "learning"


def test_two_trainees_get_problems_of_their_own() -> None:
    assert next_seed("Ann", "bearing", 0) != next_seed("Bob", "bearing", 0)
    assert next_seed("Ann", "bearing", 0) == next_seed("Ann", "bearing", 0)


# --- the log ----------------------------------------------------------------------------------------

ANSWER = Answered(DAY, "bearing", 3, "part", ("flat",))


def test_a_log_is_read_as_it_was_written() -> None:
    log.add("Ann", ANSWER)
    log.add("Ann", ANSWER._replace(seed=4))
    assert log.read(" ann ").answers == (ANSWER, ANSWER._replace(seed=4))
    assert log.read("Bob").answers == ()
    assert log.trainees() == ("ann",)


def test_a_log_is_only_added_to(own_state_folder: Path) -> None:
    log.add("Ann", ANSWER)
    before = log.log_path("Ann").read_bytes()
    log.add("Ann", ANSWER)
    assert log.log_path("Ann").read_bytes() == 2 * before
    assert own_state_folder in log.log_path("Ann").parents
    assert json.loads(before)["slips"] == ["flat"]


def test_a_torn_line_is_left_out_and_ended() -> None:
    log.add("Ann", ANSWER)
    path = log.log_path("Ann")
    path.write_bytes(path.read_bytes() + b'{"version": 1, "da')
    assert log.read("Ann") == log.Log("Ann", (ANSWER,), 1)
    log.add("Ann", ANSWER)
    assert log.read("Ann") == log.Log("Ann", (ANSWER, ANSWER), 1)


def test_a_trainee_is_forgotten_whole() -> None:
    log.add("Ann", ANSWER)
    log.add("Bob", ANSWER)
    assert log.forget("ANN")
    assert not log.forget("Ann")
    assert log.trainees() == ("bob",)
    assert [p.name for p in log.folder().iterdir()] == ["bob.jsonl"]


@pytest.mark.parametrize("name", ["", "  ", "a\x07b", "x" * 200])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(InputError, match="name"):
        log.log_path(name)


def test_a_name_stays_in_the_folder() -> None:
    assert log.log_path("../../x").parent == log.folder()
