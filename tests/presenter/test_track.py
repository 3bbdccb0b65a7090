"""The track in the window, without a display: what is found, and into the record."""

from pathlib import Path

import pytest

from gui.state.presenter import Presenter
from gui.state.track import EXAMPLE, fit_track

TRACK = (Path(__file__).parents[2] / "sample_bowlers" / "track.txt").read_text(encoding="utf-8")


def test_the_sample_is_found_with_the_records_hand_and_ball() -> None:
    right = fit_track(TRACK, {"bowler.hand": "right"})
    assert right.fit is not None
    assert right.fit.radius == 4.275
    assert "4 7/8 in over" in right.words
    plain = TRACK.replace("hand = right", "").replace("diameter = 8.55", "")
    left = fit_track(plain, {"bowler.hand": "left", "ball.diameter": "8.5"})
    assert left.fit is not None
    assert left.fit.radius == 4.25
    assert left.hand == "left"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "No marks yet"),
        (EXAMPLE, "No marks yet"),
        ("1, 2", "only 1 mark"),
        ("x", "Marks, line 1: "),
        ("hand = left\n" + TRACK.replace("hand = right", ""), "but the record says right"),
    ],
)
def test_why_there_is_no_fit_is_told(text: str, words: str) -> None:
    result = fit_track(text, {})
    assert result.fit is None
    assert words in result.words


def test_an_unfinished_record_takes_the_pap_in_one_step(tmp_path: Path) -> None:
    presenter = Presenter(tmp_path)
    before = dict(presenter.entries)
    changes: list[object] = []
    presenter.subscribe(changes.append)
    assert presenter.take_axis(4.8733, -0.49)
    assert len(changes) == 1
    assert presenter.document.record()["bowler"]["pap"] == {"over": "4 7/8", "down": "1/2"}
    assert presenter.document.undo_name == "PAP from the track"
    presenter.undo()
    assert dict(presenter.entries) == before
    presenter.redo()
    assert presenter.entry("bowler.pap.over") == "4 7/8"


def test_metric_entries_are_written_in_millimetres(tmp_path: Path) -> None:
    presenter = Presenter(tmp_path)
    presenter.edit("bowler.pap.over", "120 mm")
    assert presenter.take_axis(5.0, 0.5)
    assert presenter.entry("bowler.pap.over") == "127 mm"


@pytest.mark.parametrize("place", [(8.2, 0.0), (-0.5, 0.0), (5.0, 4.5)])
def test_a_pap_that_no_record_allows_is_refused(tmp_path: Path, place: tuple[float, float]) -> None:
    presenter = Presenter(tmp_path)
    before = dict(presenter.entries)
    assert not presenter.take_axis(*place)
    assert dict(presenter.entries) == before
    assert "outside" in presenter.message
