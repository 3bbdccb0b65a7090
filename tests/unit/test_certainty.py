"""The seeded draws in pieces, the chance of any limit, and how a chance is told."""

from typing import Any

import numpy as np
import pytest

from layoutkit.errors import InputError
from layoutkit.job.record import Job, parse_job
from layoutkit.planning import certainty
from layoutkit.planning.certainty import Chance
from layoutkit.planning.plan import plan


def drawn_in_pieces(job: Job, draws: int, piece: int) -> tuple[certainty.Drawn, list[int]]:
    work, told = certainty.gradually(job, draws, piece=piece), []
    while True:
        try:
            told.append(next(work))
        except StopIteration as end:
            return end.value, told


@pytest.mark.parametrize("piece", [70, 100, 300])
def test_pieces_of_any_size_give_the_same_draws(record: dict[str, Any], piece: int) -> None:
    job = parse_job(record)
    whole = certainty.monte_carlo(job, 300)
    found, told = drawn_in_pieces(job, 300, piece)
    assert told == list(range(0, 300, piece))
    assert found.figures.keys() == whole.figures.keys()
    for name, values in whole.figures.items():
        np.testing.assert_allclose(found.figures[name], values, rtol=1e-9, atol=1e-9)
        assert found.deviation[name] == pytest.approx(whole.deviation[name], rel=1e-9)


def test_the_chance_of_any_limit_counts_each_draw_once(record: dict[str, Any]) -> None:
    drawn = certainty.monte_carlo(parse_job(record), 400)
    limits = {
        "side_oz": abs(drawn.mean["side_oz"]),
        "finger_oz": abs(drawn.mean["finger_oz"]) + drawn.deviation["finger_oz"],
    }
    found = certainty.illegal(drawn, limits)
    beyond = sum(
        any(abs(drawn.figures[name][k]) > limit for name, limit in limits.items())
        for k in range(400)
    )
    assert found.draws == 400
    assert found.any.chance == beyond / 400
    assert found.each == certainty.chances(drawn, limits)
    assert max(c.chance for c in found.each) < found.any.chance < sum(c.chance for c in found.each)


def test_without_tolerances_only_the_scales_reading_spreads(record: dict[str, Any]) -> None:
    record["scale"] = {"arm": 4.275, "allowance": 0.25}
    record["tolerances"] = dict.fromkeys(certainty.tolerances(parse_job(record)).model_dump(), 0)
    job = parse_job(record)
    assert not certainty.inputs(job)
    found = certainty.monte_carlo(job, 500)
    side = plan(job).statics.side_oz
    assert np.abs(found.figures["side_oz"] - side).max() <= 0.25 + 1e-9
    assert np.ptp(found.figures["rg_low"]) == 0.0


def test_draws_of_which_no_core_can_exist_are_refused(
    record: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    real = certainty.figures

    def nothing(*args: Any) -> dict[str, Any]:
        found = real(*args)
        return {**found, "rg_low": found["rg_low"] * np.nan}

    monkeypatch.setattr(certainty, "figures", nothing)
    with pytest.raises(InputError, match="no draw leaves a core"):
        certainty.monte_carlo(parse_job(record), 50)


@pytest.mark.parametrize(
    ("chance", "draws", "words"),
    [
        (0.0, 2000, "under 0.2 %"),
        (0.0, 100, "under 3.0 %"),
        (1.0, 2000, "over 99.8 %"),
        (0.023, 2000, "2.3 %"),
        (1e-5, 100_000, "0.1 %"),
        (0.99999, 100_000, "99.9 %"),
    ],
)
def test_a_chance_in_words_never_says_never(chance: float, draws: int, words: str) -> None:
    assert certainty.percent(Chance("any", 3.0, chance, 0.0), draws) == words
