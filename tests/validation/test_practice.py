"""Practice problems against values worked out apart from the program: plain geometry and statics.

Each right value was derived twice (vectors or closed forms; geodesics, a root finder or quadrature).
"""

import pytest

from layoutkit.practice import find, predict
from layoutkit.practice.values import Draft

D = 8.55  # inches, the ball of all of them unless told

# draft, right value, the slips' values in the draft's order; derived: plain geometry
ROWS: dict[str, tuple[Draft, float, tuple[float, ...]]] = {
    "pin from the grip centre": (
        find.pin_from_grip(D, 4.0, 3.0), 4.704916904, (5.0, 7.0, 4.0)),
    "pin to PAP": (
        find.pin_to_pap(D, (2.0, 3.0), (5.0, 0.5)), 3.664278487, (3.9051, 4.4573, 6.6090, 5.5)),
    "pin to VAL": (find.pin_val(D, 4.5, 35.0), 2.229913105, (2.5811, 3.3850, 1.75)),
    "PSA to PAP": (
        find.psa_to_pap(D, 50.0, 4.5, 35.0), 4.182361087, (3.3302, 3.6023, 5.1474, 3.75)),
    "angle at the pin": (
        find.angle_at_pin(D, 4.0, 4.0), 42.524201947, (32.9238, 47.4758, 53.3333)),
    "half way round": (find.half_way_round(8.5, 1), 13.351768778, (13.5, 12.75, 8.5, 6.6759)),
    "side weight": (predict.side_weight(D, 3.0, 1.5), 1.031165060, (-1.0312, 0.6667, 2.8172)),
    "top left": (predict.top_left(D, 3.0, 2.0), 2.677638389, (1.6471, 2.1111, 3.0, 1.3529)),
    "bearing": (
        find.reference_bearing(D, (1.0, 3.0), (5.0, 0.5), 60.0), 170.016798224,
        (50.0168, 182.0054, 110.0168, 80.0168)),
    "finger hole from the centreline": (
        find.finger_offset(D, 0.375, 31.0 / 32.0, 0.75), 0.672917420,
        (0.8604, 1.1562, 0.5630, 0.4854)),
    "thumb below the grip centre": (
        find.thumb_below(D, 4.625, 4.0, 1.0), 2.657397027, (2.8136, 2.5011, 4.8136, 2.1562, 3.1562)),
    "centre to centre": (
        find.centre_to_centre(D, 5.0, 1.0, 0.6875, 31.0 / 32.0), 5.845268537,
        (5.0, 5.9866, 6.6875, 5.5011, 6.1858)),
    "total pitch": (find.total_pitch(D, 0.375, 0.25), 0.450693909, (0.625, 0.125, 0.375)),
    "tilt": (find.pitch_tilt(D, 0.5, 2.5), 6.716633813, (11.3099, 3.3525, 0.5)),
    "a hole's side weight": (
        predict.hole_side(D, 2.0, 2.0, 2.9), -0.611823484, (0.6118, -0.9019, -1.3567, -2.0)),
    "two positions": (
        predict.two_position(D, 15.0, 10.0, 122.0, 119.0), 3.508771930,
        (7.0175, 1.5, 3.0, 4.6784, -3.5088)),
    "RG about an axis": (predict.rg_about(2.48, 2.54, 20.0), 2.487093425, (2.4933, 2.5331, 2.5005)),
    "first two rings": (predict.ring_spacing(D, 2.5, 2.55, 3.0), 0.514234918, (1.0285, 0.2597, 0.3367)),
    "track ring": (find.track_ring(D, 15.0), 7.834346680, (5.5960, 6.7152, 7.6527)),
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_right_value_and_every_slip_s_value_as_derived(name: str) -> None:
    draft, right, slips = ROWS[name]
    assert draft.right == (pytest.approx(right, abs=1e-9),)
    assert [s.value for s in draft.slips] == [(pytest.approx(v, abs=6e-5),) for v in slips]
    assert draft.fair


def test_cg_toward_the_pap_adds_side_weight_by_the_sine() -> None:
    # derived: 3 sin(0.5 / R) = 0.35 oz up, for both hands
    assert predict.cg_move(D, 3.0, 0.5).right == (pytest.approx(0.35, abs=0.002),)


def test_near_a_limit_the_word_is_close() -> None:
    # derived: 2.85 oz with an allowance of 0.25 oz reaches beyond 3 oz
    draft = predict.outcome_word(2.85, 0.25)
    assert draft.right == "close"
    assert {s.value for s in draft.slips} == {"pass", "fail"}


def test_a_left_handed_pap_lies_to_the_left() -> None:
    draft = find.pap_place(D, 5.0, 0.5, "left")
    assert draft.right == (-5.0, 0.5)
    assert draft.slips[0].value == (5.0, 0.5)


@pytest.mark.parametrize(("digit", "palm"), [("thumb", 1.0), ("ring", -1.0)])
def test_forward_pitch_leans_the_bottom_to_the_palm(digit: str, palm: float) -> None:
    # derived: the axis misses the centre, R away, by the pitch; at depth t it is off by t / R of it
    draft = find.pitch_bottom(D, 0.375, -0.25, 2.0, digit)
    part = 2.0 / 4.275
    assert draft.right == pytest.approx((-0.25 * part, palm * 0.375 * part), abs=1e-12)
    at_centre, other_end, forward, right = (slip.value for slip in draft.slips)
    assert at_centre == (-0.25, palm * 0.375)
    assert other_end == pytest.approx((0.25 * part, -palm * 0.375 * part), abs=1e-12)
    assert forward == pytest.approx((-0.25 * part, -palm * 0.375 * part), abs=1e-12)
    assert right == pytest.approx((0.25 * part, palm * 0.375 * part), abs=1e-12)
