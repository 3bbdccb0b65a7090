"""The shop's own bits: the one of a cut's size, else what is nearest to it, said in words."""

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest

from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.shop import Shop, load_shop, parse_shop, save_shop
from layoutkit.job.store import save_job
from layoutkit.output.report import operation_rows
from layoutkit.output.sheet import sheet_bytes
from layoutkit.planning.bits import missing_bits
from layoutkit.planning.plan import plan

BITS = ("3/4", "18.5 mm", "25/32", "1 1/16")


def test_a_size_that_the_shop_owns_is_named_and_another_has_its_two_nearest(
    record: dict[str, Any],
) -> None:
    """18.5 mm is 0.7283 in; 1 in lies between 25/32 and 1 1/16, so these are nearest."""
    grip = record["bowler"]["grip"]
    for name, size in (("middle", "18.5 mm"), ("ring", "3/4"), ("thumb", 1)):
        grip[name]["diameter"] = size
    done = replace(plan(parse_job(record)), bits=Shop(bits=BITS).owned)
    assert [row[3] for row in operation_rows(done)[1:]] == ["18.5 mm", "3/4", "none"]
    words = "No bit of 1 in is in the shop's file (drill thumb): nearest 25/32 and 1 1/16."
    assert missing_bits(done) == (words,)
    page = pypdf.PdfReader(io.BytesIO(sheet_bytes(done))).pages[0].extract_text()
    assert words in " ".join(page.split())
    assert missing_bits(replace(done, bits=())) == ()


def test_bits_stay_in_the_shop_s_file_as_they_are_written(tmp_path: Path) -> None:
    path = tmp_path / "shop.json"
    save_shop(Shop(bits=BITS), path)
    again = load_shop(path)
    assert again is not None
    assert again.bits == BITS


@pytest.mark.parametrize("bit", ["4 in", "a lot", 0.75, "0"])
def test_what_is_no_bit_is_refused(bit: object) -> None:
    with pytest.raises(InputError) as refused:
        parse_shop({"format": "layoutkit-shop", "version": 1, "bits": ["3/4", bit]})
    assert refused.value.field == "bits.1"


def test_the_command_takes_the_bits_of_the_shop_s_file(
    record: dict[str, Any], no_shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job = str(tmp_path / "job.json")
    save_job(parse_job(record), job)
    save_shop(Shop(bits=("1/2",)), no_shop)
    main(["plan", job])
    assert "is in the shop's file" in capsys.readouterr().out
    main(["plan", job, "--no-shop"])
    assert "is in the shop's file" not in capsys.readouterr().out
