"""Guided comparisons: the layout moves, the sentence tells what the window shows, all comes back."""

from collections.abc import Callable

import pytest

from gui.state.lane import figure_rows
from gui.state.presenter import Presenter
from gui.state.readings import readings
from gui.state.strip import FORMS, figure_text
from gui.state.tour import TOURS, Guide, Tour

Opened = Callable[[str], Presenter]
FIGURES = {figure.key: figure for form in FORMS.values() for figure in form}


def shown_texts(p: Presenter) -> list[str]:
    """The texts of readings and lane that are on the screen."""
    assert p.plan is not None
    shown, shot = readings(p.plan, p.units), p.shot()
    assert shot is not None
    lane = [row.text for row in figure_rows(shot, p.units)]
    return [*(bar.text for bar in shown.bars), *(row.text for row in shown.rows), *lane]


@pytest.mark.parametrize(
    ("tour", "number"),
    tuple(zip(TOURS, ("01", "02", "02"), strict=True)),
    ids=("nearer", "angle", "up"),
)
def test_each_stop_moves_the_layout_and_tells_the_numbers_of_the_screen(
    opened: Opened, tour: Tour, number: str
) -> None:
    p = opened(number)
    before, first = p.document.record(), shown_texts(p)
    guide = Guide(p, tour)
    assert guide.begin()
    assert p.shading
    sentences = set()
    for place in range(len(guide.stops)):
        guide.go(place)
        assert p.plan is not None
        assert figure_text(FIGURES[tour.key], p.entries, p.plan, p.units) == guide.stops[place]
        now = shown_texts(p)
        told = guide.sentence.split(": ", 1)[1].removesuffix(".").split("; ")
        assert len(told) == len(tour.told)
        for part in told:
            assert any(f" {text}, " in part for text in now if text), part
            if not part.endswith("as before"):
                assert any(f" {text} before" in part for text in first if text), part
        sentences.add(guide.sentence)
    assert len(sentences) == len(guide.stops)
    guide.end()
    assert p.document.record() == before
    assert p.reference is None
    assert not p.shading


def test_the_layout_comes_back_and_what_was_kept_and_typed_stays(opened: Opened) -> None:
    p = opened("01")
    p.keep_reference()
    kept = p.reference
    p.edit("ball.top_weight", "2.5")
    layout = {path: text for path, text in p.entries.items() if path.startswith("layout.")}
    for record_is_sound in (True, False):
        guide = Guide(p, TOURS[0])
        assert guide.begin()
        assert p.reference is not kept
        p.edit("ball.top_weight", "2.625" if record_is_sound else "2.")
        p.edit("ball.name", "Demo" if record_is_sound else "Other Demo")
        p.edit("ball.diameter", "8.55" if record_is_sound else "8.")
        guide.end()
        assert {t: p.entry(t) for t in layout} == layout
        assert p.reference is kept
        assert p.entry("ball.name") == ("Demo" if record_is_sound else "Other Demo")


def test_a_plan_that_is_kept_at_a_stop_is_compared_with_afterwards(opened: Opened) -> None:
    p = opened("01")
    before = p.document.record()
    guide = Guide(p, TOURS[0])
    assert guide.begin()
    p.keep_reference()
    at_the_stop = p.reference
    guide.end()
    assert p.document.record() == before
    assert p.reference is at_the_stop


def test_without_a_plan_a_sentence_says_what_is_needed(presenter: Presenter) -> None:
    guide = Guide(presenter, TOURS[0])
    assert not guide.begin()
    assert "before comparing layouts" in guide.sentence
    guide.end()


def test_a_figure_before_keeps_its_own_unit(opened: Opened) -> None:
    p = opened("01")
    p.set_units("metric")
    guide = Guide(p, TOURS[2])
    assert guide.begin()
    assert "Pin up 3 in, before 94.5 mm; " in guide.sentence
    # the core goes with the pin, toward the thumb
    assert "4.5 g finger weight, less than 17.8 g finger weight before" in guide.sentence
    guide.end()


def test_a_pin_too_far_away_has_no_stops_and_nothing_moves(opened: Opened) -> None:
    p = opened("01")
    assert p.set_figure(FIGURES["pin_to_pap"], "9")
    before = p.document.record()
    guide = Guide(p, TOURS[0])
    assert not guide.begin()
    assert "too far from the PAP" in guide.sentence
    assert p.reference is None
    guide.end()
    assert p.document.record() == before
