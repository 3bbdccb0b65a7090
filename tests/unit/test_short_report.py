"""The short text of a plan: outcome and reason, layout, weights, cuts, cautions; and nothing else."""

from pathlib import Path
from typing import get_args

import pytest

from layoutkit.job.store import load_job
from layoutkit.job.words import range_words
from layoutkit.output.report import PLUG_CAUTION, WIDTH, operation_rows, report
from layoutkit.output.short_report import CARE, short_report
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan
from layoutkit.units import Units

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {path.stem[:2]: plan(load_job(path)) for path in SAMPLES}


def flat(text: str) -> str:
    return " ".join(text.split())


def test_has_every_cut_caution_and_question_and_fits_the_page(plans: dict[str, Plan]) -> None:
    for one in plans.values():
        for units in get_args(Units):
            text = short_report(one, units)
            assert max(map(len, text.splitlines())) <= WIDTH
            words = flat(text)
            for row in operation_rows(one, units):
                assert " ".join(" ".join(row).split()) in words
            for caution in (*one.cautions, *(q.words for q in one.questions), CARE):
                assert flat(caution) in words
            assert (flat(PLUG_CAUTION) in words) is bool(one.old_holes)


def test_leaves_the_rest_to_the_full_report(plans: dict[str, Plan]) -> None:
    for one in plans.values():
        for title in ("MARKS (", "MARK THE BALL", "BEFORE THE BIT", "WALLS", "INERTIA", "CHECKS ("):
            assert title in report(one)
            assert title not in short_report(one)


def test_a_failing_rule_is_the_first_thing_said(plans: dict[str, Plan]) -> None:
    """The side weight of demo 07, 3.48 oz, is more than the 3 oz of the USBC's rule of 2020."""
    head = short_report(plans["07"]).split("\n\n")[1]
    assert head.splitlines()[0].startswith("FAIL (side) under usbc-2020")
    assert head.splitlines()[1] == "  - side weight 3.48 oz positive, limit 3.00 oz."


def test_the_pin_s_place_leads_the_layout(plans: dict[str, Plan]) -> None:
    """The angles of demo 01 stand where they are measured, after the place of the pin."""
    words = flat(short_report(plans["01"]))
    assert (
        "Layout pin 1 1/4 in over, 3 3/4 in up, bearing of the PSA mark 167.9 deg; pin to PAP 4 1/2 in, "
        "angle at the pin 50 deg, angle at the PAP 35 deg, PSA to PAP "
    ) in words
    rows = report(plans["01"]).split("LAYOUT (")[1].splitlines()[1:4]
    assert [row.split()[1] for row in rows] == ["placement", "angles", "distances"]


def test_weights_of_a_scale_that_is_not_calibrated_are_ranges(plans: dict[str, Plan]) -> None:
    one = plans["14"]
    ends, middle = one.statics.range.top_oz, one.statics.top_oz
    assert ends is not None
    assert middle is not None
    assert f"top {range_words('top', middle, ends)}; side " in flat(short_report(one))
    assert "top not known; side not known; finger not known; gross" in flat(
        short_report(plans["15"])
    )
