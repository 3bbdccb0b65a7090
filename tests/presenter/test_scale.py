"""The shop's scale in the window: tests to the arm, weighed jobs to a fit, and what plans take of it."""

import json
from pathlib import Path
from typing import Any

import pytest

from gui.state.presenter import Presenter
from gui.state.readings import readings
from gui.state.scale import (
    NOTHING,
    TypedTest,
    fitting,
    held,
    keep_arm,
    keep_fit,
    kept_tests,
    tried,
)
from gui.state.shop import ShopFile
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.shop import load_shop, surface_test
from layoutkit.planning.plan import plan

TODAY = "2026-11-25"


@pytest.fixture
def silent(record: dict[str, Any]) -> dict[str, Any]:
    """A record that states neither arm nor shell nor filler."""
    del record["scale"], record["ball"]["shell"], record["ball"]["filler_density"]
    return record


@pytest.fixture
def folder(silent: dict[str, Any], tmp_path: Path) -> Path:
    """Four invented jobs, weighed on a scale with an arm of 3.8 in, and a file that is none."""
    folder = tmp_path / "weighed"
    folder.mkdir()
    for i, pin in enumerate((3.5, 4.0, 4.5, 5.0)):
        silent["layout"]["pin_to_pap"] = pin
        s = plan(parse_job(silent | {"scale": {"arm": 3.8}})).statics
        weights = {"top": s.top_oz, "side": s.side_oz, "finger": s.finger_oz, "gross": s.weight_lb}
        told = silent | {"weighings": {"drilled": weights}}
        (folder / f"{i}.json").write_text(json.dumps(told), encoding="utf-8")
    (folder / "broken.json").write_text("{", encoding="utf-8")
    return folder


@pytest.fixture
def two(silent: dict[str, Any], tmp_path: Path) -> tuple[Presenter, Presenter]:
    """Two windows' presenters that share the shop's file, a silent job in each."""
    path = tmp_path / "job.json"
    path.write_text(json.dumps(silent), encoding="utf-8")
    file = ShopFile()
    found = Presenter(tmp_path / "one", file), Presenter(tmp_path / "two", file)
    for each in found:
        assert each.open(path)
    return found


# --- the arm --------------------------------------------------------------------------------------


def test_tests_are_typed_as_everywhere_and_give_the_lever() -> None:
    # statics: w R = x arm, hence arm = R w / x; 2 oz are 56.699 g
    found = tried([TypedTest(" 56.69904625 g", "1 15/16", "217.17 mm", "0")])
    assert found.arm is not None
    assert found.arm.arm == pytest.approx(8.55 / 2.0 * 2.0 / 1.9375, rel=1e-9)
    assert "One test shows no slip" in found.words
    tall = tried([TypedTest("2", "2", "8.5", "1/4")])
    assert tall.arm is not None
    assert tall.arm.arm == pytest.approx(4.5, rel=1e-12)


def test_empty_rows_are_none_and_tests_are_counted_without_them() -> None:
    rows = [
        TypedTest("2", "1.94"),
        TypedTest(),
        TypedTest("3", "2.91"),
        TypedTest("1", "1.9"),
        TypedTest("4", "3.88"),
    ]
    found = tried(rows)
    assert found.arm is not None
    assert len(found.tests) == 4
    assert found.arm.left_out == (2,)
    assert "Left out as outliers: test 3" in found.words
    assert tried([TypedTest(), TypedTest("", " ")]).words == NOTHING


@pytest.mark.parametrize(
    ("row", "reading", "wrong", "words"),
    [
        (TypedTest("x", "2"), "0.05", (1, "weight"), 'Test 1, known weight: "x" is not a weight'),
        (TypedTest("50", "2"), "0.05", (1, "weight"), "above 0, up to 32 oz"),
        (TypedTest("2", "-1"), "0.05", (1, "growth"), "above 0, up to 64 oz"),
        (TypedTest("2", "2", "4"), "0.05", (1, "diameter"), "from 8 to 9 in"),
        (TypedTest("2", "2", "8.55", "w"), "0.05", (1, "height"), "is not a length"),
        (TypedTest("2", "0.1"), "0.05", (1, ""), "possible: 1 to 14 in"),
        (TypedTest("2", "2"), "q", (None, ""), "A reading's deviation: "),
        (TypedTest("2", "2"), "0", (None, ""), "give more than 0"),
    ],
)
def test_what_is_wrong_is_told_in_the_librarys_words_with_its_place(
    row: TypedTest, reading: str, wrong: tuple[int | None, str], words: str
) -> None:
    found = tried([TypedTest(), row], reading)
    assert found.wrong == wrong
    assert words in found.words
    assert found.arm is None


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (TypedTest("2"), "Test 1 still needs: growth of the reading."),
        (TypedTest("", "2"), "Test 1 still needs: known weight."),
        (TypedTest("2", "2", ""), "Test 1 still needs: ball's diameter."),
    ],
)
def test_what_is_only_missing_yet_is_not_called_wrong(row: TypedTest, words: str) -> None:
    found = tried([row])
    assert found.words == words
    assert found.wrong is None
    assert found.arm is None


def test_the_words_are_the_commands(capsys: pytest.CaptureFixture[str]) -> None:
    found = tried([TypedTest("2", "1.94"), TypedTest("3", "2.88")])
    argv = ["scale", "--test", "2", "1.94", "--test", "3", "2.88"]
    assert main(argv) == 0
    assert capsys.readouterr().out.startswith(found.words + "\n")


def test_what_is_kept_is_there_again_and_the_fit_stays(no_shop: Path, folder: Path) -> None:
    file = ShopFile()
    assert kept_tests(file) == ([], "")
    assert "no shop's file yet" in held(file)
    fit = fitting(folder, file.path).fit
    assert fit is not None
    keep_fit(file, fit, TODAY)
    rows = [
        TypedTest("2", "1.94"),
        TypedTest("1", "1.9"),
        TypedTest("60 g", "2.06"),
        TypedTest("4", "3.88", "8.5", "1/8"),
    ]
    found = tried(rows)
    keep_arm(file, found, TODAY, " Demo ")
    shop = load_shop(no_shop)
    assert shop is not None
    assert shop.scale is not None
    assert found.arm is not None
    assert (shop.scale.arm, shop.scale.sd) == (found.arm.arm, found.arm.arm_sd)
    assert shop.scale.left_out == (surface_test(*rows[1]),)
    assert shop.fitted == fit.fitted(TODAY)
    again, by = kept_tests(file)
    assert by == "Demo"
    assert [r.weight for r in again] == ["2", "2.11644", "4", "1"]
    assert again[2] == TypedTest("4", "3.88", "8.5", "0.125")
    back = tried(again).arm
    assert back is not None
    assert back.arm == pytest.approx(found.arm.arm, rel=1e-5)
    assert back.left_out == (3,)
    assert "taken only when you say so" in held(file)


def test_a_file_that_cannot_be_used_is_never_written_over(no_shop: Path) -> None:
    no_shop.parent.mkdir()
    no_shop.write_text("{", encoding="utf-8")
    file = ShopFile()
    for act in (kept_tests, held):
        with pytest.raises(InputError, match="JSON"):
            act(file)
    with pytest.raises(InputError, match="JSON"):
        keep_arm(file, tried([TypedTest("2", "2")]), TODAY, "")
    assert no_shop.read_text(encoding="utf-8") == "{"
    assert "shop.json" in fitting(no_shop.parent, no_shop).words


# --- the fit --------------------------------------------------------------------------------------


def test_a_fit_is_told_in_the_commands_words_and_so_is_why_there_is_none(
    folder: Path, no_shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = fitting(folder, no_shop)
    assert main(["scale", "--jobs", str(folder)]) == 0
    assert capsys.readouterr().out.startswith(found.words + "\n")
    assert "broken.json not used" in found.words
    for name in ("1.json", "2.json"):
        (folder / name).unlink()
    few = fitting(folder, no_shop)
    assert few.fit is None
    assert "at least 3" in few.words
    assert "broken.json not used" in few.words
    assert "cannot be read" in fitting(folder / "nowhere", no_shop).words


def test_a_fit_is_taken_only_when_asked_in_every_window_and_told(
    two: tuple[Presenter, Presenter], folder: Path
) -> None:
    one, other = two
    heard: list[bool] = []
    other.subscribe(lambda change: heard.append(change.has("plan")))
    one.toggle_fitted()
    assert "holds no fit" in one.message
    assert not one.shop.taking
    fit = fitting(folder, one.shop.path).fit
    assert fit is not None
    keep_fit(one.shop, fit, TODAY)
    assert one.can_take_fitted
    for each in two:
        assert each.plan is not None
        assert not each.plan.statics.calibrated
    heard.clear()
    one.toggle_fitted()
    assert heard == [True]
    for each in two:
        assert each.plan is not None
        assert each.plan.statics.arm == fit.values[0]
        assert each.plan.job.ball.shell is not None
        assert each.plan.job.ball.shell.density == pytest.approx(fit.values[1], abs=0.05)
        cautions = readings(each.plan, fit_words=each.shop.fit_words).cautions
        assert cautions[0].startswith("As fitted to 4 weighed jobs")
        assert not each.document.dirty
        assert "scale" not in each.document.record()
    # what the record states stays
    one.edit("scale.arm", "4.1")
    assert one.plan is not None
    assert one.plan.statics.arm == 4.1
    one.toggle_fitted()
    assert one.message == "What was fitted is no longer taken."
    assert other.plan is not None
    assert not other.plan.statics.calibrated
    other.close()
    heard.clear()
    one.toggle_fitted()
    assert heard == []


def test_a_fit_that_is_gone_is_missed_aloud(two: tuple[Presenter, Presenter], folder: Path) -> None:
    one, _ = two
    fit = fitting(folder, one.shop.path).fit
    assert fit is not None
    keep_fit(one.shop, fit, TODAY)
    one.toggle_fitted()
    one.shop.path.unlink()
    one.edit("title", "again")
    assert one.plan is not None
    assert not one.plan.statics.calibrated
    assert "holds no fit" in one.shop.fit_words
    one.toggle_fitted()
    assert one.shop.fit_words == ""


def test_the_present_job_follows_the_arm_that_is_kept(two: tuple[Presenter, Presenter]) -> None:
    one, other = two
    found = tried([TypedTest("2", "2.1"), TypedTest("4", "4.2")])
    keep_arm(one.shop, found, TODAY, "")
    assert found.arm is not None
    for each in two:
        assert each.plan is not None
        assert each.plan.statics.arm == found.arm.arm
    other.edit("ball.weight", "x")
    keep_arm(one.shop, tried([TypedTest("2", "2")]), TODAY, "")
    assert other.stale
    assert other.problems
    other.undo()
    assert other.plan is not None
    assert other.plan.statics.arm == pytest.approx(4.275)


# --- the weigh-in ---------------------------------------------------------------------------------


def test_a_weigh_in_stands_beside_the_prediction_with_its_verdict(record: dict[str, Any]) -> None:
    # the record states its arm, so a difference beyond the allowance has a reason
    s = plan(parse_job(record)).statics
    record["weighings"] = {
        "undrilled": {"top": 2.75},
        "drilled": {"side": 3.9, "top": round(s.top_oz, 2), "date": TODAY, "by": "Demo"},
    }
    drilled, undrilled = readings(plan(parse_job(record))).weighed
    assert drilled.title == f"Weighed drilled on {TODAY} by Demo"
    assert [row[0] for row in drilled.table.rows] == ["top", "side"]
    assert drilled.beyond == ("side",)
    side = drilled.table.rows[1]
    assert side[1] == "3.90 oz positive side"
    assert side[3] == f"+{3.9 - s.side_oz:.2f} oz"
    assert drilled.outcome == "fail"
    assert drilled.verdict.startswith("NOT LEGAL as weighed (side)")
    assert {c.name: c.outcome for c in drilled.checks} == {
        "gross": "incomplete",
        "top": "pass",
        "side": "fail",
        "finger": "incomplete",
    }
    assert any("Counted from the undrilled weighing: top" in r for r in drilled.remarks)
    assert any("Not measured: gross, finger" in g for g in drilled.gaps)
    assert undrilled.title == "Weighed undrilled"
    assert (undrilled.outcome, undrilled.verdict, undrilled.checks) == (None, "", ())
    assert (
        readings(plan(parse_job(record)), "metric")
        .weighed[0]
        .table.rows[1][1]
        .startswith("110.6 g")
    )
    del record["weighings"]
    assert readings(plan(parse_job(record))).weighed == ()
