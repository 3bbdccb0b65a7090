"""Moves that leave numbers to mark, and the strip of the layout above the ball."""

import math
from pathlib import Path

import pytest

from gui.state.presenter import Presenter
from gui.state.strip import FORMS, change_words, figure_text, with_figure
from layoutkit.geometry.sphere import from_over_up
from layoutkit.planning.plan import plan
from layoutkit.planning.variants import evaluate, model, plan_flare
from layoutkit.units import parse_angle, parse_length

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
FIGURES = {f.key: f for each in FORMS.values() for f in each}
SHOWN = {
    "angles": ("angle_at_pin", "pin_to_pap", "angle_at_pap"),
    "distances": ("pin_to_pap", "psa_to_pap", "pin_to_val"),
    "placement": ("pin.over", "pin.up", "bearing"),
}


@pytest.fixture
def first(tmp_path: Path) -> Presenter:
    p = Presenter(tmp_path)
    assert p.open_sample(SAMPLES[0])
    return p


def markable(p: Presenter, key: str) -> bool:
    """Whether a figure of the layout can be set with a rule of sixteenths, of millimetres, or degrees."""
    text = p.entry(f"layout.{key}")
    if "angle" in key or key == "bearing":
        return parse_angle(text) == round(parse_angle(text))
    step = 1.0 / 25.4 if text.endswith("mm") else 1.0 / 16.0
    return abs(parse_length(text) / step - round(parse_length(text) / step)) < 1e-6


@pytest.mark.parametrize("units", ["fraction", "metric"])
@pytest.mark.parametrize("by", ["angles", "distances", "placement"])
def test_a_drag_and_a_nudge_leave_numbers_that_can_be_marked(
    first: Presenter, by: str, units: str
) -> None:
    p = first
    p.set_units(units)  # type: ignore[arg-type]
    if units == "metric":
        for figure in ("pin_to_pap", "angle_at_pin", "angle_at_pap"):
            p.edit(f"layout.{figure}", {"pin_to_pap": "114 mm"}.get(figure, "50"))
    p.edit("layout.by", by)
    assert p.plan is not None
    p.begin_drag("pin")
    p.drag_pin(from_over_up(1.63, 2.87, p.plan.radius))
    p.end_drag()
    kept = {"angles": "angle_at_pin", "distances": "psa_to_pap", "placement": "bearing"}[by]
    moved = [key for key in SHOWN[by] if key != kept]
    assert all(markable(p, key) for key in moved), p.entries
    # half a step of each of the two, the angle's along 4 in
    reach = math.hypot(1.0 / 32.0, math.radians(0.5) * 4.5) + 1e-6
    assert abs(p.plan.marks.pin.over - 1.63) < reach
    assert abs(p.plan.marks.pin.up - 2.87) < reach
    texts = [p.entry(f"layout.{key}") for key in moved]
    p.nudge("up")
    assert [p.entry(f"layout.{key}") for key in moved] != texts
    assert all(markable(p, key) for key in moved)


def test_a_dragged_pap_is_written_in_sixteenths(first: Presenter) -> None:
    assert first.plan is not None
    first.begin_drag("pap")
    first.drag_pap(from_over_up(4.7, -0.3, first.plan.radius))
    assert first.entry("bowler.pap.over") == "4 11/16"
    assert (first.entry("bowler.pap.up"), first.entry("bowler.pap.up/down")) == ("5/16", "down")


def test_a_figure_of_another_statement_states_the_layout_anew_in_one_step(first: Presenter) -> None:
    p = first
    before, old = dict(p.entries), p.plan
    assert figure_text(FIGURES["pin_to_pap"], p.entries, p.plan, "fraction") == "4 1/2"
    assert p.set_figure(FIGURES["pin_up"], "2 1/2")
    assert (p.entry("layout.by"), p.entry("layout.pin.up")) == ("placement", "2 1/2")
    assert p.plan is not None
    assert old is not None
    assert p.plan.marks.pin.up == pytest.approx(2.5)
    assert p.plan.marks.pin.over == pytest.approx(old.marks.pin.over, abs=2e-4)
    assert p.plan_before is old
    p.undo()
    assert dict(p.entries) == before
    assert not p.set_figure(FIGURES["pin_to_pap"], "nine")
    assert "nine" in p.message
    assert dict(p.entries) == before


@pytest.mark.parametrize(
    ("text", "number", "way"),
    [
        ("1 1/2 down", "1 1/2", "down"),
        ("-1/4", "1/4", "down"),
        ("2 u", "2", "up"),
        ("3", "3", "up"),
    ],
)
def test_a_figure_below_the_midline_is_typed_with_a_word_or_a_sign(
    text: str, number: str, way: str
) -> None:
    changed = with_figure({"layout.pin.up/down": "down"}, FIGURES["pin_up"], text)
    assert changed == {"layout.pin.up": number, "layout.pin.up/down": way}


def test_what_a_change_did_is_told_from_before_the_run_of_typing(first: Presenter) -> None:
    p = first
    old = p.plan
    assert old is not None
    for text in ("4 ", "4 1", "4 1/", "4 1/4"):
        p.edit("layout.pin_to_pap", text)
    assert p.plan is not None
    assert p.plan_before is old
    words = change_words(old, p.plan, "fraction")
    side = p.plan.statics.side_oz - old.statics.side_oz  # type: ignore[operator]
    assert f"side {side:+.2f} oz" in words
    p.end_run()
    p.edit("layout.pin_to_pap", "4")
    assert p.plan_before is not old


@pytest.mark.parametrize("sample", [SAMPLES[0], SAMPLES[1]])
def test_a_plans_flare_is_that_of_the_map(sample: Path, tmp_path: Path) -> None:
    p = Presenter(tmp_path)
    p.open_sample(sample)
    assert p.job is not None
    # the many-layout sums are within some thousandths of the plan's
    assert plan_flare(plan(p.job)) == pytest.approx(
        float(evaluate(model(p.job, {})).flare[0]), abs=2e-3
    )
