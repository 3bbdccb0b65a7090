"""The smallest changes: they pass, nothing but depths and layout moves, none is cheaper on the grid."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest

from layoutkit import changes, load_job, plan, sweep
from layoutkit.plan import Plan
from layoutkit.record import Scale

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
ANGLES = ("drilling angle", "VAL angle")


@pytest.fixture(scope="module")
def failing() -> Plan:
    return plan(load_job(SAMPLES / "07_fails_statics.json"))


@pytest.fixture(scope="module")
def helped_by_depth() -> Plan:
    """A ball that depths can help: top weight over the light ball's limit by a little."""
    job = load_job(SAMPLES / "06_youth_nine_pounds.json")
    job = job.model_copy(
        update={"scale": Scale(arm=4.275, allowance=0.0),
                "ball": job.ball.model_copy(update={"top_weight": job.ball.top_weight + 0.2})}
    )  # fmt: skip
    return plan(job)


def test_what_passes_needs_nothing() -> None:
    assert changes.offers(plan(load_job(SAMPLES / "01_right_asymmetric.json"))) == ()


def test_every_offer_passes_and_leaves_spans_and_pitches(failing: Plan) -> None:
    found = changes.offers(failing)
    assert found
    assert [o.cost for o in found] == sorted(o.cost for o in found)
    for o in found:
        again = plan(o.job)
        assert again.outcome == o.plan.outcome == "pass"
        for name in ("middle", "ring", "thumb"):
            old, new = (getattr(j.bowler.grip, name) for j in (failing.job, o.job))
            assert new.pitch == old.pitch
            assert new.diameter == old.diameter
            assert getattr(new, "span", None) == getattr(old, "span", None)
        assert o.job.ball == failing.job.ball
        cost = sum((d if n in ANGLES else d * 16.0 if "depth" not in n else d * 32.0) ** 2
                   for n, d in o.changes)  # fmt: skip
        assert o.cost == pytest.approx(cost)


def test_no_cheaper_layout_on_the_grid(failing: Plan) -> None:
    """Every layout of the grid that costs less is computed, and those near a limit are planned."""
    reach = np.arange(-14.0, 15.0)
    arcs = np.arange(-18, 19) / 16.0
    n = failing.layout
    for o in changes.offers(failing):
        drilling, pin, val = {
            "drilling and VAL angle": (reach, np.zeros(1), reach),
            "pin to PAP": (np.zeros(1), arcs, np.zeros(1)),
            "whole layout": (reach, arcs, reach),
        }[o.kind]
        d, p, v = (a.ravel() for a in np.meshgrid(drilling, pin, val, indexing="ij"))
        cheaper = d**2 + (16.0 * p) ** 2 + v**2 < o.cost - 1e-6
        d, p, v = d[cheaper], p[cheaper], v[cheaper]
        layouts = sweep.Layouts(n.drilling_angle + d, n.pin_to_pap + p, n.val_angle + v)
        # the figures themselves, not the search's own verdict
        figures = sweep.evaluate(failing.job, layouts)
        worst = np.full(len(d), -np.inf)
        for name in ("side", "finger", "top"):
            limit = next(c.limit for c in failing.checks if c.name == name)
            ends = np.abs([getattr(f, f"{name}_oz") for f in figures]).max(axis=0)
            worst = np.maximum(worst, ends + 0.25 - limit)
        assert not (worst < -1e-3).any()
        for k in np.flatnonzero(np.abs(worst) <= 1e-3)[:20]:
            job = changes.layout_changed(failing, float(d[k]), float(p[k]), float(v[k]))
            assert plan(job).outcome != "pass"


def test_no_cheaper_depths_on_the_grid(helped_by_depth: Plan) -> None:
    now = helped_by_depth
    assert now.outcome == "fail"
    offer = next(o for o in changes.offers(now) if o.kind == "hole depth")
    names = [h.name for h in now.holes]
    reach = int((offer.cost / 4.0) ** 0.5)  # a sixteenth is two tolerances of a depth
    tried = 0
    for c in itertools.product(range(-reach, reach + 1), repeat=len(names)):
        cost = sum((2.0 * k) ** 2 for k in c)
        if not 0 < cost < offer.cost - 1e-6:
            continue
        job = now.job
        for name, k in zip(names, c, strict=True):
            job = changes.depth_changed(job, name, k / 16.0)
        tried += 1
        assert plan(job).outcome != "pass"
    assert tried


def test_a_bore_follows_its_hole_and_the_sleeve_stays_as_long() -> None:
    job = load_job(SAMPLES / "01_right_asymmetric.json")
    before = job.bowler.grip.middle
    after = changes.depth_changed(job, "middle", 0.125).bowler.grip.middle
    assert before.sleeve is not None
    assert after.sleeve is not None
    assert after.depth == before.depth + 0.125
    assert after.sleeve.bore_depth == before.sleeve.bore_depth + 0.125
    assert after.sleeve.length_net == before.sleeve.length_net
