"""The balls on the shelf in the presenter: ranked, still of this record or not, one taken."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import gui
from gui.state.presenter import Presenter
from gui.state.shelf import HEADINGS, ranked, shelf_rows
from layoutkit.bench.shelf import load_labels, rank
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.planning.plan import plan

Opened = Callable[..., Presenter]
TABLE = Path(gui.__file__).parent.parent / "sample_bowlers" / "shelf.csv"


@pytest.fixture
def table(tmp_path: Path) -> str:
    path = tmp_path / "balls.csv"
    bad = "Too heavy,X1,8.55,50,2,3,,,,,\n"
    path.write_text(TABLE.read_text(encoding="utf-8") + bad, encoding="utf-8")
    return str(path)


def test_the_rows_are_the_librarys_ranking(opened: Opened, table: str) -> None:
    p = opened("01")
    assert p.filled_job is not None
    ranking = ranked(p.filled_job, table)
    expected = rank(p.filled_job, load_labels(table))
    found = shelf_rows(ranking)
    assert [r.cells[1] for r in found] == [
        *(r.plan.job.ball.name for r in expected.ranked), "Too heavy",
    ]  # fmt: skip
    for row, ball in zip(found, expected.ranked, strict=False):
        assert len(row.cells) == len(HEADINGS)
        assert row.outcome == ball.plan.outcome
        assert f"{abs(ball.plan.statics.side_oz):.2f} oz" in row.cells[4]
        assert ball.plan.job.ball.name in row.words
    assert found[-1].label is None
    assert found[-1].outcome == "unusable"
    assert "Line 7" in found[-1].words
    assert "ball.weight" in found[-1].words
    metric = shelf_rows(ranking, "metric")
    assert metric[0].cells[7].endswith("kg")


def test_static_weights_are_ranges_while_the_arm_is_not_calibrated(
    opened: Opened, table: str
) -> None:
    p = opened("01")
    p.edit("scale.arm", "")
    assert p.filled_job is not None
    ranking = ranked(p.filled_job, table)
    low, high = ranking.shelf.ranked[0].plan.statics.range.top_oz or (0.0, 0.0)
    assert shelf_rows(ranking)[0].cells[6] == f"{low:+.2f} to {high:+.2f} oz"


def test_a_ball_is_taken_as_it_stands_in_the_table_and_undo_brings_the_old_one(
    opened: Opened, table: str
) -> None:
    p = opened("01")
    p.edit("weighings.drilled.side", "0.5")
    p.edit("as_drilled", "yes")
    p.edit("as_drilled.middle.span", "111 mm")
    before = dict(p.entries)
    assert p.filled_job is not None
    ranking = ranked(p.filled_job, table)
    for row in shelf_rows(ranking)[:-1]:
        assert row.label is not None
        p.take_ball(row.label)
        assert not p.problems
        assert p.plan is not None
        record: dict[str, Any] = p.document.record()
        assert record["ball"]["name"] == row.cells[1]
        assert "weighings" not in record  # of the ball that was weighed
        assert "as_drilled" not in record  # of the holes that were measured
        own = next(b for b in ranking.shelf.ranked if b.plan.job.ball.name == row.cells[1])
        assert plan(parse_job(record)).statics == own.plan.statics
        assert p.ranks(ranking)  # the table does not depend on the record's own ball
        assert p.document.undo_name == "ball from the shelf"
        p.undo()
        assert dict(p.entries) == before


def test_old_holes_stay_with_the_old_ball(opened: Opened, table: str) -> None:
    p = opened("13")
    assert p.filled_job is not None
    ranking = ranked(p.filled_job, table)
    assert not any(b.plan.old_holes for b in ranking.shelf.ranked)
    label = shelf_rows(ranking)[0].label
    assert label is not None
    p.take_ball(label)
    assert "history" not in p.document.record()
    assert p.plan is not None
    assert p.plan.old_holes == ()


def test_a_ranking_is_out_of_date_when_what_it_depends_on_changes(
    opened: Opened, table: str
) -> None:
    p = opened("01")
    assert p.filled_job is not None
    ranking = ranked(p.filled_job, table)
    p.edit("title", "Another title")
    assert p.ranks(ranking)
    p.edit("layout.angle_at_pap", "40")
    assert not p.ranks(ranking)
    p.edit("layout.angle_at_pap", "")
    assert not p.ranks(ranking)
    p.undo()
    p.undo()
    assert p.ranks(ranking)


def test_a_table_that_cannot_be_read_is_refused(opened: Opened, tmp_path: Path) -> None:
    p = opened("01")
    assert p.filled_job is not None
    with pytest.raises(InputError, match="no such file"):
        ranked(p.filled_job, str(tmp_path / "none.csv"))
    wrong = tmp_path / "wrong.csv"
    wrong.write_text("ball,colour\n", encoding="utf-8")
    with pytest.raises(InputError, match="no column name"):
        ranked(p.filled_job, str(wrong))
