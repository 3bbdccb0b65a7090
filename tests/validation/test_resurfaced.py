"""A ball that was resurfaced: what its label comes to, and plans of the ball as it is now."""

import copy
import json
import math
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from layoutkit.ball.density import Step, drill
from layoutkit.ball.layers import Label, build_body, fit_layers, lost_shell
from layoutkit.errors import InputError
from layoutkit.geometry.bores import Bore
from layoutkit.job.record import dump_job, parse_job
from layoutkit.output.report import report
from layoutkit.planning import certainty, sweep
from layoutkit.planning.plan import plan
from layoutkit.planning.redrill import redrilled
from layoutkit.planning.resurfaced import span_now
from layoutkit.units import OZ_PER_IN3

# Worked out apart from this program, by integrals over the lost cover and moments of inertia about the
# centre; the constants there have six digits. Label: diameter, diameter now, lb, shell's density, top
# weight, low, middle and high RG; then what is lost in oz, lb after, the three RGs, and the top weight of
# a scale whose arm is a share of the radius.
LABELS = [
    ((8.55, 8.52, 15, 1.2, 3, 2.520, 2.555, 2.570),
     (2.38114319955, 14.85117855, 2.5084601366, 2.5439687912, 2.5591839644, 3.01056338028)),
    ((8.55, 8.52, 15.12, 1.2, 2.75, 2.520, 2.555, 2.570),
     (2.38114319955, 14.97117855, 2.5085528443, 2.5440574010, 2.5592708410, 2.75968309859)),
    ((8.59, 8.55, 15, 1.2, 2, 2.480, 2.532, 2.532),
     (3.20095217213, 14.799940489, 2.4633454385, 2.5163898262, 2.5163898262, 2.00935672515)),
    ((8.55, 8.54, 12, 1.15, 3, 2.600, 2.630, 2.630),
     (0.762425721572, 11.952348392, 2.5958492575, 2.6260157838, 2.6260157838, 3.00351288056)),
    ((8.595, 8.50, 16, 1.25, 3, 2.500, 2.550, 2.550),
     (7.87756187918, 15.507652383, 2.4620758520, 2.5144251917, 2.5144251917, 3.03352941176)),
]  # fmt: skip


@pytest.mark.parametrize(("label", "wanted"), LABELS)
def test_what_a_label_comes_to(record: dict[str, Any], label: Any, wanted: Any) -> None:
    diameter, now, weight, shell, top, low, mid, high = label
    record["ball"] |= {
        "diameter": diameter, "diameter_now": now, "weight": weight, "top_weight": top, "rg_low": low,
        "differential": high - low, "intermediate_differential": high - mid,
        "shell": {"thickness": 0.5, "density": shell},
    }  # fmt: skip
    del record["ball"]["filler_density"]
    record.pop("scale", None)
    p = plan(parse_job(record))
    assert p.core is not None
    assert p.resurfaced is not None
    is_now = p.resurfaced.now
    got = (p.resurfaced.lost_oz, is_now.weight_lb, is_now.rg_low, is_now.rg_mid, is_now.rg_high)
    assert (*got, is_now.top_oz) == pytest.approx(wanted, rel=1e-6)
    s = p.statics.undrilled
    assert math.hypot(s.side_oz or 0, s.finger_oz or 0, s.top_oz or 0) == pytest.approx(
        is_now.top_oz
    )
    assert p.radius == now / 2.0
    assert p.undrilled_lb == is_now.weight_lb


def test_the_lost_cover_by_quadrature() -> None:
    lost = lost_shell(4.275, 4.26, 1.2)
    s = 1.2 * OZ_PER_IN3
    weight = quad(lambda r: 4.0 * math.pi * r**2 * s, 4.26, 4.275)[0]
    inertia = quad(lambda r: 8.0 / 3.0 * math.pi * r**4 * s, 4.26, 4.275)[0]
    assert (lost.weight, lost.inertia) == pytest.approx((weight, inertia), rel=1e-10)


def as_it_is(record: dict[str, Any], by: float) -> dict[str, Any]:
    """The record of a ball that came from the factory as the resurfaced one of ``record`` is now."""
    fresh = copy.deepcopy(record)
    p = plan(parse_job(record))
    assert p.resurfaced is not None
    now, ball = p.resurfaced.now, fresh["ball"]
    del ball["diameter_now"]
    ball |= {
        "diameter": now.diameter, "weight": now.weight_lb, "pin_to_cg": now.pin_to_cg,
        "top_weight": now.top_oz, "rg_low": now.rg_low, "differential": now.differential,
        "intermediate_differential": now.intermediate_differential,
        "shell": {**ball["shell"], "thickness": ball["shell"]["thickness"] - by / 2.0},
    }  # fmt: skip
    return fresh


def numbers(value: Any, path: str = "") -> dict[str, float]:
    """Every number of a plan's JSON by its path."""
    if isinstance(value, dict):
        parts = [numbers(v, f"{path}.{k}") for k, v in value.items() if k != "resurfaced"]
    elif isinstance(value, list | tuple):
        parts = [numbers(v, f"{path}.{n}") for n, v in enumerate(value)]
    else:
        right = isinstance(value, int | float) and not isinstance(value, bool)
        return {path: float(value)} if right else {}
    return {k: v for part in parts for k, v in part.items()}


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize("arm", [4.1, None])
def test_a_plan_is_that_of_a_ball_made_as_it_is_now(
    odd: dict[str, Any], hand: str, arm: float | None
) -> None:
    """Holes old and new, statics, inertia, walls and checks: the cover is gone, the core is the same."""
    odd["bowler"]["hand"] = hand
    odd["ball"] |= {"diameter_now": odd["ball"]["diameter"] - 0.04, "top_weight": 2.5}
    odd["scale"] = {} if arm is None else {"arm": arm}
    odd["ball"]["psa"]["distance"] = 6.5  # the label's too, on the ball of its diameter
    made = as_it_is(odd, 0.04)
    made["ball"]["psa"]["distance"] = 6.5 * 8.51 / 8.55
    p, fresh = plan(parse_job(odd)), plan(parse_job(made))
    assert p.core is not None  # the filler is stated, so both have the same core
    one, other = numbers(p.as_dict()), numbers(fresh.as_dict())
    assert one.keys() == other.keys()
    assert list(one.values()) == pytest.approx(list(other.values()), rel=1e-7, abs=1e-7)


def test_a_uniform_ball_loses_of_its_own_density(record: dict[str, Any]) -> None:
    """Without RG data all parts weigh alike, so weight goes with the cube of the diameter."""
    for name in ("rg_low", "differential", "intermediate_differential", "shell", "filler_density"):
        del record["ball"][name]
    fresh = copy.deepcopy(record)
    record["ball"]["diameter_now"] = 8.5
    fresh["ball"] |= {
        "diameter": 8.5,
        "weight": 15.12 * (8.5 / 8.55) ** 3,
        "pin_to_cg": 3 * 8.5 / 8.55,
    }
    p, made = plan(parse_job(record)), plan(parse_job(fresh))
    assert p.statics.weight_lb == pytest.approx(made.statics.weight_lb, abs=1e-9)
    assert p.statics.side_oz == pytest.approx(made.statics.side_oz, abs=1e-9)
    assert p.inertia.rg_low == pytest.approx(made.inertia.rg_low, abs=1e-9)
    figures = certainty.figures(p.job, {})
    assert figures["weight_lb"][0] == pytest.approx(p.statics.weight_lb, abs=1e-9)
    assert figures["rg_low"][0] == pytest.approx(p.inertia.rg_low, abs=1e-9)


def test_a_diameter_now_that_is_the_labels_changes_nothing(odd: dict[str, Any]) -> None:
    same = copy.deepcopy(odd)
    same["ball"]["diameter_now"] = same["ball"]["diameter"]
    p = plan(parse_job(same))
    assert json.dumps(p.as_dict()) == json.dumps(plan(parse_job(odd)).as_dict())
    assert p.resurfaced is None


def test_map_uncertainty_and_plan_agree(odd: dict[str, Any]) -> None:
    odd["ball"]["diameter_now"] = odd["ball"]["diameter"] - 0.05
    odd["tolerances"] = {}
    p = plan(parse_job(odd))
    figures = certainty.figures(p.job, {"diameter_now": np.array([0.0, -0.004])})
    for name, value in (
        ("weight_lb", p.statics.weight_lb), ("side_oz", p.statics.side_oz),
        ("top_oz", p.statics.top_oz), ("finger_oz", p.statics.finger_oz),
        ("rg_low", p.inertia.rg_low), ("differential", p.inertia.differential),
        ("pin_to_cg", p.distances.pin_to_cg), ("psa_to_pap", p.layout.psa_to_pap),
    ):  # fmt: skip
        assert figures[name][0] == pytest.approx(value, abs=1e-9), name
    # less cover: as much lighter as a plan of the smaller ball says, whose holes begin lower down
    odd["ball"]["diameter_now"] -= 0.004
    lighter = plan(parse_job(odd)).statics.weight_lb - p.statics.weight_lb
    assert np.diff(figures["weight_lb"])[0] == pytest.approx(lighter, abs=1e-3)
    n = p.layout
    at = sweep.Layouts(*(np.array([v]) for v in (n.angle_at_pin, n.pin_to_pap, n.angle_at_pap)))
    swept = sweep.sweep(p, at).outcomes
    assert swept.weight_lb[0] == pytest.approx(p.statics.weight_lb, abs=1e-4)
    assert swept.side_oz[0] == pytest.approx(p.statics.side_oz, abs=1e-3)
    assert swept.rg_high[0] == pytest.approx(p.inertia.rg_high, abs=1e-4)


def test_the_moment_that_a_holes_own_cover_had() -> None:
    """A radial hole of 1 in loses 0.015 in of cover of 1.2 g/cm3: 0.03487318 oz in (integral by hand)."""
    label = Label(4.275, 15.0, 2.52, 0.05, 0.015, (0.75, 1.2), None)
    layers = fit_layers(label, 10.0)
    axes = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

    def first(now: float, depth: float) -> float:
        body = build_body(label, layers, axes, (0.0, 0.0, 0.0), now)
        hole = Bore((0.0, 0.0, now), (0.0, 0.0, -1.0), 0.5, depth, None)
        return drill([body], [Step(hole, 0.0, 0)], 1)[0].first[2]

    assert first(4.275, 0.6) - first(4.26, 0.585) == pytest.approx(0.03487318, rel=1e-5)


def test_what_spans_and_bridges_come_to() -> None:
    """Worked out apart from this program: radial holes keep their angles at the centre."""
    assert span_now(4.375, 1.0, 0.75, 4.275, 4.26) == pytest.approx(4.35656167041, abs=1e-10)
    assert span_now(0.25, 31 / 32, 31 / 32, 4.275, 4.26) == pytest.approx(0.245701574775, abs=1e-11)


def test_it_is_cautioned_and_never_failed_for_its_size(odd: dict[str, Any]) -> None:
    odd["ball"]["diameter_now"] = 8.52
    p = plan(parse_job(odd))
    told = " ".join(p.cautions)
    assert "Resurfaced from 8.550 to 8.520 in" in told
    assert "or a flat is left out" in told
    assert "0.020 in of its diameter are left to 8.500 in" in told
    assert "Holes that are older than the resurfacing lost 0.0150 in of depth" in told
    assert "diameter                   8.550 in  8.520 in" in report(p)
    assert "diameter" not in {c.name for c in p.checks}
    odd["ball"]["diameter_now"] = 8.49
    small = plan(parse_job(odd))
    assert {c.name: c.outcome for c in small.checks}["diameter"] == "close"
    assert "It is 0.010 in below 8.500 in" in " ".join(small.cautions)
    again = redrilled(small.job)
    assert dump_job(again)["ball"]["diameter_now"] == 8.49


@pytest.mark.parametrize(
    ("ball", "words"),
    [
        ({"diameter_now": 8.56}, "8.56 in is more than the label's; possible: up to 8.55 in"),
        (
            {"diameter_now": 8.3, "shell": {"thickness": 0.12, "density": 1.2}},
            "8.3 in leaves nothing of a shell 0.12 in thick; possible: more than 8.31 in.",
        ),
    ],
)
def test_what_it_cannot_be_is_refused(record: dict[str, Any], ball: Any, words: str) -> None:
    record["ball"] |= ball
    with pytest.raises(InputError) as refused:
        plan(parse_job(record))
    assert refused.value.field == "ball.diameter_now"
    assert refused.value.words.startswith(words)
