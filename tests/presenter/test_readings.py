"""The rows of readings are the plan's own numbers, in each form, with differences."""

import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gui.state.readings import BARS, OUTCOMES, SAME, SPECS, readings
from layoutkit.job.record import parse_job
from layoutkit.job.store import load_job
from layoutkit.job.words import static_words
from layoutkit.output.report import report
from layoutkit.planning.plan import plan
from layoutkit.planning.values import Plan

UNITS = ("fraction", "decimal", "metric")


def number(text: str) -> float:
    """The number of a text, a fraction of an inch included."""
    match = re.match(r"([+-]?)(?:(\d+)\s)?(\d+)/(\d+)", text)
    if match is not None:
        size = int(match[2] or 0) + int(match[3]) / int(match[4])
        return -size if match[1] == "-" else size
    found = re.match(r"[+-]?[\d.]+", text)
    assert found is not None, text
    return float(found[0])


def by_key(p: Plan, units: Any = "decimal", reference: Plan | None = None) -> dict[str, Any]:
    return {r.key: r for r in readings(p, units, reference).rows}


def test_the_rows_are_the_plans_numbers(sample: Path) -> None:
    p = plan(load_job(sample))
    rows = by_key(p)
    assert list(rows) == [s.key for s in SPECS]
    told = {
        "gross": p.statics.weight_lb,
        "removed": p.statics.removed_oz,
        "pin_to_pap": p.layout.pin_to_pap,
        "pin_to_val": p.layout.pin_to_val,
        "cg_to_pap": p.distances.cg_to_pap,
        "pin_over": p.marks.pin.over,
        "rg_low": p.inertia.rg_low,
        "differential": p.inertia.differential,
        "low_up": p.inertia.low_axis.up,
        "high_over": p.inertia.high_axis.over,
    }
    for key, value in told.items():
        if value is None:
            assert rows[key].text == "not known", key
        else:
            assert number(rows[key].text) == pytest.approx(value, abs=0.0051), key
    assert number(rows["rg_low"].before) == pytest.approx(p.inertia.undrilled.rg_low, abs=5e-5)
    assert number(rows["gross"].before) == pytest.approx(p.job.ball.weight, abs=0.0051)
    change = p.inertia.differential - p.inertia.undrilled.differential
    if abs(change) > 1e-4:
        assert number(rows["differential"].change) == pytest.approx(change, abs=5.1e-5)


def test_fractions_and_metric_say_the_same_length(sample: Path) -> None:
    p = plan(load_job(sample))
    parts, inches, metric = (by_key(p, u) for u in UNITS)
    for spec in SPECS:
        if inches[spec.key].text.endswith(" in"):
            value = number(inches[spec.key].text)
            if parts[spec.key].text.endswith(" in"):
                assert number(parts[spec.key].text) == pytest.approx(value, abs=1 / 64 + 6e-4)
            assert number(metric[spec.key].text) == pytest.approx(25.4 * value, abs=0.15)


def test_a_number_that_a_plan_has_not_is_left_empty(record: dict[str, Any]) -> None:
    record["ball"] |= {"psa": None, "intermediate_differential": 0}
    for name in ("rg_low", "differential", "intermediate_differential"):
        record["ball"].pop(name)
    rows = by_key(plan(parse_job(record)))
    empty = {key for key, r in rows.items() if not r.text}
    assert empty == {
        "psa_to_pap",
        "psa_to_grip_center",
        "psa_over",
        "psa_up",
        "core_pin",
        "core_reference",
        "core_across",
        "core_density",
        "filler_density",
    }


def test_bars_are_the_static_weights_against_their_limits(sample: Path) -> None:
    # without weighings, by which the bars of a weighed ball judge
    p = plan(load_job(sample).model_copy(update={"weighings": None}))
    found = readings(p)
    checks = {c.name: c for c in p.checks}
    names = [b[0] for b in BARS]
    assert [b.key for b in found.bars] == [n for n in names if checks[n].value is not None]
    for bar in found.bars:
        check = checks[bar.key]
        assert (bar.value, bar.band, bar.outcome) == (check.value, check.band, check.outcome)
        assert bar.limits == (-check.limit, check.limit)
        assert bar.before == getattr(p.statics.undrilled, f"{bar.key}_oz")
        assert bar.scale >= max(abs(bar.value), check.limit, *map(abs, bar.band))
        assert bar.words == OUTCOMES[check.outcome]
        assert bar.reference is None
        assert bar.difference == ""


def test_a_uncalibrated_scale_widens_the_bands(record: dict[str, Any]) -> None:
    narrow = readings(plan(parse_job(record))).bars
    record.pop("scale")
    wide = readings(plan(parse_job(record))).bars
    for a, b in zip(narrow, wide, strict=True):
        assert b.band[1] - b.band[0] > a.band[1] - a.band[0]


def test_differences_are_from_the_reference_with_a_sign(record: dict[str, Any]) -> None:
    one = plan(parse_job(record))
    record["layout"]["pin_to_pap"] = 4.25
    record["layout"]["angle_at_pin"] = 60
    other = plan(parse_job(record))
    rows = by_key(one, "fraction", other)
    assert rows["pin_to_pap"].difference == "+1/4 in"
    assert rows["angle_at_pin"].difference == "-10.0°"
    assert rows["pap_over"].difference == SAME
    assert rows["angle_at_pap"].difference == SAME
    for bar in readings(one, "decimal", other).bars:
        old = getattr(other.statics, f"{bar.key}_oz")
        assert bar.reference == old
        if bar.difference != SAME:
            assert number(bar.difference) == pytest.approx(bar.value - old, abs=0.0051)
    assert all(r.difference in ("", SAME) for r in readings(one, "metric", one).rows)


def test_a_bearings_difference_goes_the_shorter_way_round(record: dict[str, Any]) -> None:
    record["layout"] = {"by": "placement", "pin": {"over": 1, "up": 3}, "bearing": 355}
    one = plan(parse_job(record))
    record["layout"]["bearing"] = 5
    assert by_key(one, "decimal", plan(parse_job(record)))["bearing"].difference == "-10.0°"


def test_checks_are_told_with_outcome_and_source(record: dict[str, Any]) -> None:
    good = plan(parse_job(record))
    record["ball"]["serial"] = ""
    p = plan(parse_job(record))
    rows = {c.name: c for c in readings(p, "fraction", good).checks}
    assert set(rows) == {c.name for c in p.checks}
    assert rows["serial"].outcome == "fail"
    assert rows["serial"].words == "is missing"
    assert rows["serial"].reference == "was pass"
    assert rows["side"].reference == ""
    for check in p.checks:
        assert rows[check.name].source == check.source
        assert rows[check.name].outcome == check.outcome


def test_tables_have_the_holes_and_the_walls(sample: Path) -> None:
    p = plan(load_job(sample))
    for units in UNITS:
        found = readings(p, units)  # type: ignore[arg-type]
        assert [row[0] for row in found.holes.rows] == [h.name for h in p.holes]
        assert [row[0] for row in found.proof.rows] == [h.name for h in p.holes]
        assert len(found.walls.rows) == len(p.walls)
        bores = sum((h.bore is not None) + (h.inner is not None) for h in p.holes)
        finished = sum(map(p.finished_at_the_press, p.holes))
        assert len(found.operations.rows) == finished + 2 * bores + len(p.extra_holes)
        for table in (found.operations, found.holes, found.proof, found.walls):
            assert all(len(row) in (2, len(table.heading)) for row in table.rows)
        assert found.cautions[len(found.cautions) - len(p.cautions) :] == p.cautions


def test_readings_of_any_plan_in_any_form(records: st.SearchStrategy[dict[str, Any]]) -> None:
    @given(records, records, st.sampled_from(UNITS))
    @settings(max_examples=20)
    def check(record: dict[str, Any], other: dict[str, Any], units: Any) -> None:
        p, reference = plan(parse_job(record)), plan(parse_job(other))
        found = readings(p, units, reference)
        assert found.outcome == p.outcome
        for row in found.rows:
            assert not row.difference or row.text
            assert row.difference == SAME or row.difference[:1] in ("", "+", "-")

    check()


@pytest.mark.parametrize("units", UNITS)
def test_a_weight_of_an_arm_that_is_not_calibrated_starts_with_its_range(
    record: dict[str, Any], units: Any
) -> None:
    for bar in readings(plan(parse_job(record)), units).bars:
        assert not bar.ranged
        assert bar.text == static_words(bar.key, bar.value, units)
    record.pop("scale")
    p = plan(parse_job(record))
    shown = report(p, units)
    for bar in readings(p, units).bars:
        assert bar.ranged
        assert f"  {bar.text}\n" in shown
        ends = getattr(p.statics.range, f"{bar.key}_oz")
        least = min(map(abs, ends)) if ends[0] * ends[1] > 0.0 else abs(ends[0])
        grams = 28.349523125 if units == "metric" else 1.0
        assert number(bar.text) == pytest.approx(least * grams, abs=0.051 if grams > 1 else 0.0051)
