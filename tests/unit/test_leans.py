"""The sketches of how each hole leans: their arrows by what forward, reverse, right and left mean."""

import copy
import math
from typing import Any

import pytest

from layoutkit.job.record import parse_job
from layoutkit.output import blocks
from layoutkit.output.leans import ARROW, RADIUS, lean, leans
from layoutkit.planning.plan import plan

# common practice, no source: forward leans a finger's hole toward the palm and the thumb's toward the
# fingers; right is the right of who looks down at the hole, whichever hand is drilled
WAYS = [
    ("middle", {"forward": "1/8"}, (0.0, -1.0)),
    ("ring", {"reverse": "1/8"}, (0.0, 1.0)),
    ("thumb", {"forward": "1/4"}, (0.0, 1.0)),
    ("thumb", {"reverse": "1/4"}, (0.0, -1.0)),
    ("middle", {"right": "1/8"}, (1.0, 0.0)),
    ("thumb", {"left": "1/8"}, (-1.0, 0.0)),
    ("ring", {"forward": "3/8", "left": "3/8"}, (-math.sqrt(0.5), -math.sqrt(0.5))),
]


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize(("name", "pitch", "way"), WAYS)
def test_an_arrow_points_where_the_bottom_leans(
    record: dict[str, Any],
    hand: str,
    name: str,
    pitch: dict[str, str],
    way: tuple[float, float],
) -> None:
    data = copy.deepcopy(record)
    data["bowler"]["hand"] = hand
    for digit in ("middle", "ring", "thumb"):
        data["bowler"]["grip"][digit].pop("pitch", None)
    data["bowler"]["grip"][name]["pitch"] = pitch
    p = plan(parse_job(data))
    (hole,) = (h for h in p.holes if h.name == name)
    total = math.hypot(hole.forward, hole.right)
    assert lean(p, hole) == pytest.approx([total * w for w in way], abs=1e-9)
    page = blocks.Page()
    leans(p, "fraction", 260.0).paint(page, 0.0, 0.0)
    thick = [line for line in page.lines if line[4] > 1.0]
    assert len(thick) == 3  # the shaft and the two sides of the head of the one arrow
    x0, y0, x1, y1, _ = thick[0]
    assert (x1 - x0, y1 - y0) == pytest.approx([ARROW * w for w in way], abs=1e-6)
    assert [x0, y0, RADIUS] in [pytest.approx(circle) for circle in page.circles]
    assert [text[2] for text in page.texts if text[3]][1:] == [h.name for h in p.in_order]


def test_pitches_are_told_in_words_of_either_unit(record: dict[str, Any]) -> None:
    record["bowler"]["grip"]["thumb"]["pitch"] = {"reverse": "1/4", "left": "1/8"}
    p = plan(parse_job(record))
    for units, wanted in (
        ("fraction", ["1/4 reverse", "1/8 left"]),
        ("metric", ["6.4 reverse", "3.2 left"]),
    ):
        page = blocks.Page()
        leans(p, units, 260.0).paint(page, 0.0, 0.0)
        words = [text[2] for text in page.texts]
        at = words.index("thumb")
        assert words[at + 1 : at + 3] == wanted
