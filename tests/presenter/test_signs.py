"""Weights as weighed, with a word for their sign."""

import pytest

from gui.state.entries import from_record, to_record
from gui.state.presenter import Presenter

DRILLED = "weighings.drilled."


@pytest.mark.parametrize(
    ("name", "text", "value"),
    [
        ("finger", "1.4 thumb", -1.4),
        ("finger", "1.4 oz th", -1.4),
        ("finger", "1.4 Finger", 1.4),
        ("side", "2 negative", -2),
        ("side", ".5p", 0.5),
        ("top", "1.5bottom", -1.5),
        ("top", "-1.5", -1.5),
    ],
)
def test_a_word_stands_for_the_sign(tmp_path, name, text, value):
    p = Presenter(tmp_path)
    p.edit(DRILLED + name, text)
    assert p.entry(DRILLED + name) == text
    assert DRILLED + name not in p.problems
    assert p.document.record()["weighings"]["drilled"][name] == value


@pytest.mark.parametrize("text", ["1.4 side", "thumb", "-1.4 thumb"])
def test_another_word_is_refused_as_it_was_typed(tmp_path, text):
    p = Presenter(tmp_path)
    p.edit(DRILLED + "finger", text)
    assert text in p.problems[DRILLED + "finger"]


def test_a_weight_below_0_is_shown_with_its_word():
    record = {"weighings": {"drilled": {"finger": -1.4, "side": "-0.25 oz", "top": 2}}}
    entries = from_record(record)
    assert [entries[DRILLED + name] for name in ("finger", "side", "top")] == [
        "1.4 thumb", "0.25 oz negative", "2",
    ]  # fmt: skip
    drilled = to_record(entries)["weighings"]["drilled"]
    assert drilled == {"finger": -1.4, "side": -0.25, "top": 2}
