"""The smallest changes: they pass, nothing but depths and layout moves, none is cheaper on the grid."""

from __future__ import annotations

import itertools
import json
import random
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from layoutkit import load_job, parse_job, plan
from layoutkit.job.record import Job, Scale
from layoutkit.output.changes_report import changes_text
from layoutkit.planning import changes, sweep
from layoutkit.planning.values import Plan

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"


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


@pytest.mark.parametrize(
    ("part", "update", "words"),
    [
        ("ball", {"serial": ""}, "serial: is missing"),
        ("ball", {"diameter": 8.45, "diameter_now": None}, "diameter: 8.45"),
        ("ball", {"weight": 16.9}, "gross: 16."),
    ],
)
def test_a_failed_check_that_no_change_mends_is_named(
    part: str, update: dict[str, Any], words: str
) -> None:
    job = load_job(SAMPLES / "06_youth_nine_pounds.json")
    fields = {name: value for name, value in update.items() if name in type(job.ball).model_fields}
    now = plan(job.model_copy(update={part: job.ball.model_copy(update=fields)}))
    assert now.outcome != "pass"
    found = changes.search(now)
    assert found.offers == ()
    (check,) = found.not_mended
    assert check.name == words.partition(":")[0]
    shown = changes_text(now, found)
    assert f"No change of depths or layout mends this:\n- {words}" in shown
    assert "within reach" not in shown


def test_a_ball_drilled_through_is_told_to_be_beyond_every_change(failing: Plan) -> None:
    grip = failing.job.bowler.grip
    deep = grip.model_copy(update={"middle": grip.middle.model_copy(update={"depth": 9.0})})
    bowler = failing.job.bowler.model_copy(update={"grip": deep})
    now = plan(failing.job.model_copy(update={"bowler": bowler}))
    assert now.reasons
    found = changes.search(now)
    assert "drillable" in [check.name for check in found.not_mended]
    assert " ".join(now.reasons[0].split()[:4]) in changes_text(now, found)


@pytest.fixture(scope="module")
def with_a_core() -> Plan:
    """A ball with a core that depth and layout together bring inside."""
    job = load_job(SAMPLES / "01_right_asymmetric.json")
    job = job.model_copy(
        update={"scale": Scale(arm=4.275, allowance=0.1),
                "ball": job.ball.model_copy(update={"top_weight": 4.85})}
    )  # fmt: skip
    return plan(job)


_found: dict[int, tuple[changes.Offer, ...]] = {}


def offers_of(now: Plan) -> tuple[changes.Offer, ...]:
    """What is offered for one of the plans above, searched for once: it takes seconds."""
    if id(now) not in _found:
        _found[id(now)] = changes.offers(now)
    return _found[id(now)]


def test_every_offer_passes_and_leaves_spans_and_pitches(failing: Plan, with_a_core: Plan) -> None:
    for now in (failing, with_a_core):
        found = offers_of(now)
        assert found
        assert [o.kind for o in found] == [k for k in changes.KINDS if k in {o.kind for o in found}]
        for o in found:
            again = plan(o.job)
            assert again.outcome == o.plan.outcome == "pass"
            for name in ("middle", "ring", "thumb"):
                old, new = (getattr(j.bowler.grip, name) for j in (now.job, o.job))
                assert new.pitch == old.pitch
                assert new.diameter == old.diameter
                assert getattr(new, "span", None) == getattr(old, "span", None)
            assert o.job.ball == now.job.ball
            cost = sum((d if n in changes.ANGLES else d * 16.0 if "depth" not in n else d * 32.0) ** 2
                       for n, d in o.by.items())  # fmt: skip
            assert o.cost == pytest.approx(cost)
        mixed = [o.cost for o in found if o.kind == "mixed"]
        assert mixed == [min(o.cost for o in found)] or not mixed


def worst_of(now: Plan, job: Job, layouts: sweep.Layouts) -> np.ndarray:
    """By how much each layout of a job is beyond its static limits, oz; no bound of the search's own."""
    figures = sweep.evaluate(job, layouts)
    allowance = (now.job.scale or Scale()).allowance
    worst = np.full(len(layouts.angle_at_pin), -np.inf)
    for name in ("side", "finger", "top"):
        limit = next(c.limit for c in now.checks if c.name == name)
        ends = np.abs([getattr(f, f"{name}_oz") for f in figures]).max(axis=0)
        worst = np.maximum(worst, ends + allowance - limit)
    return worst


def test_no_cheaper_layout_on_the_grid(failing: Plan) -> None:
    """Every layout of the grid that costs less is computed, and those near a limit are planned."""
    reach = np.arange(-14.0, 15.0)
    arcs = np.arange(-18, 19) / 16.0
    n = failing.layout
    for o in offers_of(failing):
        if o.kind not in ("both angles", "pin to PAP"):
            continue
        drilling, pin, val = {
            "both angles": (reach, np.zeros(1), reach),
            "pin to PAP": (np.zeros(1), arcs, np.zeros(1)),
        }[o.kind]
        d, p, v = (a.ravel() for a in np.meshgrid(drilling, pin, val, indexing="ij"))
        cheaper = d**2 + (16.0 * p) ** 2 + v**2 < o.cost - 1e-6
        d, p, v = d[cheaper], p[cheaper], v[cheaper]
        layouts = sweep.Layouts(n.angle_at_pin + d, n.pin_to_pap + p, n.angle_at_pap + v)
        worst = worst_of(failing, failing.job, layouts)
        assert not (worst < -1e-3).any()
        for k in np.flatnonzero(np.abs(worst) <= 1e-3)[:20]:
            job = changes.layout_changed(failing, float(d[k]), float(p[k]), float(v[k]))
            assert plan(job).outcome != "pass"


def meets_more(now: Plan, found: Plan) -> bool:
    return {w.holes for w in found.walls if w.meets} > {w.holes for w in now.walls if w.meets}


@pytest.mark.parametrize("which", ["helped_by_depth", "with_a_core"])
def test_no_cheaper_mixed_change_on_the_joint_grid(
    which: str, request: pytest.FixtureRequest
) -> None:
    """All depths with all layouts that cost less together: each depth's layouts computed anew."""
    now: Plan = request.getfixturevalue(which)
    assert now.outcome != "pass"
    offer = next(o for o in offers_of(now) if o.kind == "mixed")
    assert any("depth" in n for n in offer.by)
    assert any("depth" not in n for n in offer.by)
    most = int(offer.cost**0.5)
    steps = np.arange(-most, most + 1, dtype=float)
    d, p, v = (a.ravel() for a in np.meshgrid(steps, steps / 16.0, steps, indexing="ij"))
    cost = d**2 + (16.0 * p) ** 2 + v**2
    n = now.layout
    deepest = int((offer.cost / 4.0) ** 0.5)  # a sixteenth is two tolerances of a depth
    tried = 0
    for c in itertools.product(range(-deepest, deepest + 1), repeat=len(now.holes)):
        own = sum((2.0 * k) ** 2 for k in c)
        i = np.flatnonzero(cost + own < offer.cost - 1e-6)
        if len(i) == 0:
            continue
        job = now.job
        for hole, k in zip(now.holes, c, strict=True):
            job = changes.depth_changed(job, hole.name, k / 16.0)
        if any(c) and meets_more(now, plan(job)):
            continue
        worst = worst_of(
            now,
            job,
            sweep.Layouts(n.angle_at_pin + d[i], n.pin_to_pap + p[i], n.angle_at_pap + v[i]),
        )
        tried += len(i)
        assert not (worst < -1e-3).any(), (c, offer.by)
        for k in i[np.abs(worst) <= 1e-3][:5]:
            moved = plan(job)
            near = changes.layout_changed(moved, float(d[k]), float(p[k]), float(v[k]))
            assert plan(near).outcome != "pass"
    assert tried > 1000


@pytest.fixture(scope="module")
def past_help() -> Plan:
    """A ball of so much top weight that no change brings it inside."""
    job = load_job(SAMPLES / "01_right_asymmetric.json")
    job = job.model_copy(
        update={"ball": job.ball.model_copy(update={"top_weight": 8.0}), "tolerances": None}
    )
    return plan(job)


class Asked:
    """What a search asks for: layouts and depths as whole steps from those of a plan."""

    def __init__(self, now: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
        self._now = now
        self._pieces: list[np.ndarray] = []
        self.depths: set[tuple[str, float]] = set()
        self._evaluate, self._plan = sweep.evaluate, changes.plan
        monkeypatch.setattr(changes._sweep, "evaluate", self.evaluate)
        monkeypatch.setattr(changes, "plan", self.plan)

    @property
    def layouts(self) -> set[tuple[int, int, int]]:
        """Degrees at the pin, sixteenths from pin to PAP, degrees at the PAP."""
        return set(map(tuple, np.rint(np.concatenate(self._pieces)).astype(int).tolist()))

    def evaluate(self, job: Job, layouts: sweep.Layouts) -> Any:
        n = self._now.layout
        self._pieces.append(
            np.stack(np.broadcast_arrays(
                layouts.angle_at_pin - n.angle_at_pin,
                16.0 * (layouts.pin_to_pap - n.pin_to_pap),
                layouts.angle_at_pap - n.angle_at_pap,
            ), axis=-1)
        )  # fmt: skip
        return self._evaluate(job, layouts)

    def plan(self, job: Job, *rules: Any) -> Plan:
        grip, before = job.bowler.grip, self._now.job.bowler.grip
        self.depths.update(
            (name, 16.0 * (getattr(grip, name).depth - getattr(before, name).depth))
            for name in ("middle", "ring", "thumb")
        )
        return self._plan(job, *rules)


def test_each_kind_is_searched_over_the_stated_range(
    past_help: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Documented: depths within 1/2 in, two angles within 40 degrees each, pin-to-PAP within 1 1/2 in.

    Where nothing passes all of each range is asked for, in steps of 1/16 in and 1 degree.
    """
    asked = Asked(past_help, monkeypatch)
    monkeypatch.setattr(changes, "MIXED_COST", 1.0)  # the mixed ones are not looked at here
    assert changes.offers(past_help) == ()
    angles = {(d, v) for d, p, v in asked.layouts if p == 0}
    assert angles == set(itertools.product(range(-40, 41), repeat=2))
    assert {p for d, p, v in asked.layouts if d == v == 0} == set(range(-24, 25))
    for name in ("middle", "ring", "thumb"):
        steps = {k for other, k in asked.depths if other == name}
        assert steps == set(map(float, range(-8, 9)))


@pytest.mark.parametrize("most", [changes.MIXED_COST, 400.0])
def test_mixed_changes_are_searched_over_the_stated_range(
    most: float, past_help: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Documented: each angle within 14 degrees, pin-to-PAP within 1 in, and a cost below a most.

    By the default tolerances, a degree and a sixteenth each cost 1. Below 200, an angle by itself
    could turn by 14 degrees at most; below 400 the stated ranges bound it.
    """
    asked = Asked(past_help, monkeypatch)
    monkeypatch.setattr(changes, "MIXED_COST", most)
    assert changes.offers(past_help) == ()
    angle, arc = range(-14, 15), range(-16, 17)
    mixed = {
        (d, p, v)
        for d, p, v in itertools.product(angle, arc, angle)
        if p and (d or v) and d * d + p * p + v * v < most
    }
    assert {(d, p, v) for d, p, v in asked.layouts if p and (d or v)} == mixed


def test_changes_in_words_have_their_units() -> None:
    moves = {"thumb_depth": -0.125, "angle_at_pin": 13.0, "pin_to_pap": 1.125, "angle_at_pap": -3.0}
    offer = changes.Offer("mixed", moves, 0.0, None, None)
    assert changes.words(offer) == (
        "thumb depth -1/8 in, angle at the pin +13 degrees, pin to PAP +1 1/8 in, "
        "angle at the PAP -3 degrees"
    )


def test_an_angle_turned_past_half_a_turn_is_the_same_direction(failing: Plan) -> None:
    """A record holds angles above -180 and up to 180 degrees."""
    n = failing.layout
    for change, wanted in ((180.0, 180.0), (181.0, -179.0), (-180.0, 180.0), (-181.0, 179.0)):
        job = changes.layout_changed(failing, change - n.angle_at_pin, 0.0, change - n.angle_at_pap)
        assert job.layout.by == "angles"
        assert job.layout.angle_at_pin == pytest.approx(wanted, abs=1e-9)
        assert job.layout.angle_at_pap == pytest.approx(wanted, abs=1e-9)


def test_a_rule_that_no_change_can_help_is_left_alone(failing: Plan) -> None:
    job = failing.job.model_copy(
        update={"ball": failing.job.ball.model_copy(update={"serial": ""})}
    )
    assert changes.offers(plan(job)) == ()


def test_no_cheaper_depths_on_the_grid(helped_by_depth: Plan) -> None:
    now = helped_by_depth
    assert now.outcome == "fail"
    offer = next(o for o in offers_of(now) if o.kind == "hole depth")
    names = [h.name for h in now.holes]
    reach = int((offer.cost / 4.0) ** 0.5)  # a sixteenth is two tolerances of a depth
    cheaper = [
        c
        for c in itertools.product(range(-reach, reach + 1), repeat=len(names))
        if 0 < sum((2.0 * k) ** 2 for k in c) < offer.cost - 1e-6
    ]
    assert cheaper
    for c in random.Random(1).sample(cheaper, min(len(cheaper), 60)):
        job = now.job
        for name, k in zip(names, c, strict=True):
            job = changes.depth_changed(job, name, k / 16.0)
        assert plan(job).outcome != "pass"


def test_a_bore_follows_its_hole_and_the_sleeve_stays_as_long() -> None:
    job = load_job(SAMPLES / "01_right_asymmetric.json")
    before = job.bowler.grip.middle
    after = changes.depth_changed(job, "middle", 0.125).bowler.grip.middle
    assert before.sleeve is not None
    assert after.sleeve is not None
    assert after.depth == before.depth + 0.125
    assert after.sleeve.bore_depth == before.sleeve.bore_depth + 0.125
    assert after.sleeve.length_net == before.sleeve.length_net


def redrilled_too_heavy() -> Plan:
    """A plugged ball whose new thumb hole meets the old one, which is not filled to its bottom."""
    record = json.loads((SAMPLES / "13_plug_and_redrill.json").read_text())
    for hole in record["history"]["holes"]:
        hole["plug"]["length"] = 1.4
    record["ball"]["top_weight"] = 6
    return plan(parse_job(record))


def test_a_new_hole_that_meets_an_old_one_ends_in_time() -> None:
    now = redrilled_too_heavy()
    assert now.outcome == "fail"
    assert ("thumb", "old thumb") in [w.holes for w in now.walls if w.meets]
    begun = time.process_time()
    found = changes.search(now, 1.0)
    assert time.process_time() - begun < 10.0
    assert found.seconds == 1.0
    assert set(found.in_part) | set(found.untouched) <= set(changes.KINDS)
    assert "mixed" in (*found.in_part, *found.untouched)
    assert all(o.plan.outcome == "pass" for o in found.offers)


@pytest.fixture(scope="module")
def all_offers(failing: Plan) -> tuple[changes.Offer, ...]:
    return offers_of(failing)


@pytest.mark.parametrize("seconds", [0.0, 0.05])
def test_a_stopped_search_says_what_it_did_not_look_at(
    failing: Plan, all_offers: tuple[changes.Offer, ...], seconds: float
) -> None:
    found = changes.search(failing, seconds)
    assert found.seconds == seconds
    words = changes_text(failing, found)
    assert f"stopped after {seconds:g} s; " in words
    for kind in (*found.in_part, *found.untouched):
        assert kind in " ".join(words.split())
    whole = {o.kind: o.cost for o in all_offers}
    for offer in found.offers:  # what it has by then passes, and is no cheaper than the cheapest
        assert plan(offer.job).outcome == "pass"
        assert offer.cost >= whole[offer.kind] - 1e-9
    if seconds == 0.0:
        assert found.untouched == changes.KINDS
        assert "not looked at: hole depth, both angles, pin to PAP, mixed." in " ".join(
            words.split()
        )


def test_a_search_to_its_end_says_nothing_of_a_stop(
    failing: Plan, all_offers: tuple[changes.Offer, ...]
) -> None:
    found = changes.search(failing, 1e6)
    assert found == changes.Found(all_offers)
    assert "stopped" not in changes_text(failing, found)


@pytest.mark.parametrize(
    ("by", "told"),
    [
        (
            {"pin_to_pap": 0.125, "angle_at_pin": 4.0, "angle_at_pap": -5.0},
            "2 marks of 1/16 and 9 degrees",
        ),
        ({"thumb_depth": -0.0625}, "1 mark of 1/16"),
        ({"angle_at_pap": 1.0}, "1 degree"),
    ],
)
def test_what_a_change_costs_is_told_in_marks_and_degrees(by, told):
    offer = changes.Offer("mixed", by, 178.0, None, None)
    assert changes.effort(offer) == told
