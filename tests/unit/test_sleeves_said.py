"""What the sheet says of sleeves: their size and lift, and how an oval's slug is turned."""

import io
import math

import pypdf
import pytest

from layoutkit.job.record import parse_job
from layoutkit.output.card import card_bytes
from layoutkit.output.report import report, slug_words
from layoutkit.output.sheet import sheet_bytes
from layoutkit.planning.plan import plan


@pytest.mark.parametrize("direction", [0.0, 20.0, -35.0])
def test_the_slug_of_an_oval_is_set_by_a_mark_on_its_rim(record, direction):
    thumb = record["bowler"]["grip"]["thumb"]
    thumb |= {"diameter": "15/16", "oval": {"length": "1 1/4", "direction": direction}}
    thumb["sleeve"] = {"bore": "1 1/2", "bore_depth": "2 3/4", "density": 1.2}
    p = plan(parse_job(record))
    (hole,) = (h for h in p.holes if h.name == "thumb")
    (words,) = slug_words(hole, hole.oval, "metric")
    if direction == 0.0:
        assert "on the fingers' side, on the centreline," in words
        return
    # the share of the rim's whole way round, of a bore of 1 1/2 in
    round_it = abs(direction) / 360.0 * math.pi * 1.5 * 25.4
    side = "right" if direction > 0.0 else "left"
    assert f"{round_it:.1f} mm round the edge to the {side} of the centreline" in words
    assert f"{abs(direction):g} degrees to the {side} of the centreline" in words
    assert words in " ".join(report(p, "metric").split())


def test_size_and_lift_of_an_insert_stand_on_sheet_report_and_card(record):
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "density": 1.1}
    record["bowler"]["grip"]["middle"]["sleeve"] = {**sleeve, "size": "25/32", "lift": "1/8"}
    p = plan(parse_job(record))
    said = "size 25/32, lift 1/8"
    assert said in " ".join(report(p).split())
    for content in (sheet_bytes(p), card_bytes(p)):
        pages = pypdf.PdfReader(io.BytesIO(content)).pages
        assert said in " ".join(" ".join(page.extract_text() for page in pages).split())
