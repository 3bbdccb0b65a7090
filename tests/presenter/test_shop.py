"""The window's plan takes the shop's arm where the record states none, and shows what was weighed."""

import json
from pathlib import Path
from typing import Any

import pytest

from gui.state.presenter import Presenter
from gui.state.readings import readings
from layoutkit.job.shop import Calibration, Shop, SurfaceTest, save_shop


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
