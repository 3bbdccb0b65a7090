"""The window's plan takes the shop's arm where the record states none, and shows what was weighed."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from gui.state import bits
from gui.state.presenter import Presenter
from gui.state.readings import readings
from gui.state.shop import ShopFile
from layoutkit.errors import InputError
from layoutkit.job.shop import Calibration, Shop, SurfaceTest, load_shop, save_shop


def keep(path: Path, arm: float) -> None:
    test = SurfaceTest(weight=2.0, growth=2.0, diameter=8.0)
    calibration = Calibration(arm=arm, sd=0.02, date="2026-11-25", tests=(test,))
    save_shop(Shop(scale=calibration), path)


@pytest.fixture
def opened(record: dict[str, Any], tmp_path: Path) -> Presenter:
    del record["scale"]
    path = tmp_path / "job.json"
    path.write_text(json.dumps(record), encoding="utf-8")
    presenter = Presenter(tmp_path / "config")
    assert presenter.open(path)
    return presenter


def test_the_shops_arm_is_taken_told_and_not_written_into_the_record(
    opened: Presenter, no_shop: Path
) -> None:
    assert opened.plan is not None
    assert not opened.plan.statics.calibrated
    keep(no_shop, 4.1)
    opened.edit("title", "again")
    assert opened.plan.statics.arm == 4.1
    assert opened.plan.statics.calibrated
    assert any("the shop's" in c for c in readings(opened.plan).cautions)
    assert "scale" not in opened.document.record()
    opened.edit("scale.arm", "3.8")
    assert opened.plan.statics.arm == 3.8
    opened.edit("scale.arm", "")
    keep(no_shop, 4.15)
    opened.edit("title", "and again")
    assert opened.plan.statics.arm == 4.15


def test_a_shops_file_that_cannot_be_used_stops_nothing(opened: Presenter, no_shop: Path) -> None:
    no_shop.parent.mkdir(exist_ok=True)
    no_shop.write_text("{", encoding="utf-8")
    opened.edit("title", "again")
    assert opened.plan is not None
    assert not opened.stale
    assert not opened.plan.statics.calibrated


def test_a_weigh_in_is_recorded_through_its_fields(opened: Presenter) -> None:
    opened.edit("weighings.drilled.side", "3.9")
    opened.edit("weighings.drilled.gross", "14.9")
    opened.edit("weighings.drilled.date", "2026-11-25")
    opened.edit("weighings.undrilled.top", "2 3/4")
    assert not opened.problems
    assert opened.document.record()["weighings"] == {
        "drilled": {"side": 3.9, "gross": 14.9, "date": "2026-11-25"},
        "undrilled": {"top": "2 3/4"},
    }
    assert opened.plan is not None
    told = readings(opened.plan).cautions
    assert any("Weighed drilled on 2026-11-25" in c for c in told)
    assert any("NOT LEGAL as weighed (side)" in c for c in told)
    opened.edit("weighings.drilled.side", "40")
    assert "-16 to 16 oz" in opened.problems["weighings.drilled.side"]


def test_bits_are_kept_as_typed_and_listed_by_size(opened: Presenter, no_shop: Path) -> None:
    file = opened.shop
    assert bits.rows(file) == ()
    keep(no_shop, 4.1)
    for text in ("31/32", " 18.5 mm", "0.75"):
        bits.add(file, text)
    assert bits.rows(file) == (
        ("18.5 mm", "0.7283", "18.50"), ("0.75", "0.7500", "19.05"), ("31/32", "0.9688", "24.61"),
    )  # fmt: skip
    shop = load_shop(no_shop)
    assert shop is not None
    assert shop.scale is not None  # the rest of the file stays
    assert shop.bits == ("31/32", "18.5 mm", "0.75")
    assert opened.plan is not None
    assert [bit.name for bit in opened.plan.bits] == list(shop.bits)
    bits.remove(file, "18.5 mm")
    bits.remove(file, "not there")
    assert [row.name for row in bits.rows(file)] == ["0.75", "31/32"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "length"),
        ("wide", '"wide" is not a length'),
        ("3", "0.03125 to 2.5 in"),
        ("19.05 mm", '"19.05 mm" is there already, as "3/4"'),
        ("43/8", "4 3/8"),
    ],
)
def test_a_size_that_no_new_bit_has_is_refused_and_nothing_written(
    no_shop: Path, text: str, words: str
) -> None:
    file = ShopFile(no_shop)
    bits.add(file, "3/4")
    before = no_shop.read_bytes()
    with pytest.raises(InputError, match=re.escape(words)):
        bits.add(file, text)
    assert no_shop.read_bytes() == before


def test_a_full_file_takes_no_more_bits(no_shop: Path) -> None:
    save_shop(Shop(bits=tuple(f"{10 + n / 10:g} mm" for n in range(300))), no_shop)
    with pytest.raises(InputError, match="300 bits are all"):
        bits.add(ShopFile(no_shop), "2 in")
