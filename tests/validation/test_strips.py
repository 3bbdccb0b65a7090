"""Paper strips, laid on pyproj's globe from the factory's marks alone; their lengths also read back
out of the printed file.

A strip that is laid on two places gives all its other ticks. Of two strips that are laid together each
is held at one place, and their crosses meet where a triangle of three known sides says. Nothing else of
the plan is used. The pole of the globe is the fingers' pole, so an azimuth grows clockwise, seen from
outside. The strips carry exact arcs, so all must come out to the width of a pencil's line.
"""

import io
import json
import math
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pyproj import Geod

from layoutkit.job.record import parse_job
from layoutkit.output.strips import strips_bytes
from layoutkit.output.typeset import Paper
from layoutkit.planning.marking import marking_steps
from layoutkit.planning.plan import plan
from layoutkit.planning.strips import Meeting, Strip, StripSet, chord, paper_strips
from layoutkit.planning.values import Plan
from layoutkit.units import Units

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
FACTORY = ("pin", "cg", "psa")
CLOSE = 1.0 / 64.0  # inches; what may be off where the least arcs count as none
EXACT = 2e-3  # inches; elsewhere, with what a printed file rounds away

Place = tuple[float, float]
Ticks = dict[int, dict[str, float]]  # inches from the start, by strip and name


def place(xyz: tuple[float, float, float]) -> Place:
    """Longitude and latitude in degrees of a point of the grip frame."""
    x, y, z = xyz
    return math.degrees(math.atan2(x, z)), math.degrees(math.atan2(y, math.hypot(x, z)))


def marks(p: Plan) -> dict[str, Place]:
    """Every mark and hole of a plan, with the foot, the midline's place under the PAP."""
    m = p.marks
    named = {"pin": m.pin, "cg": m.cg, "psa": m.psa, "pap": m.pap, "grip_center": m.grip_center}
    wanted = {name: place(mark.xyz) for name, mark in named.items() if mark is not None}
    today = p.for_today
    wanted |= {h.name: place(h.entry) for h in (*today.holes, *today.extra_holes)}
    if "pap" in wanted:
        wanted["foot"] = (wanted["pap"][0], 0.0)
    return wanted


def own_ticks(strips: StripSet) -> Ticks:
    return {s.number: {t.name: t.place for t in s.ticks} for s in strips.strips}


def lay(p: Plan, strips: StripSet, ticks: Ticks) -> dict[str, Place]:
    """Where the strips lead, laid step by step; the last one is turned about the pin as a check."""
    globe, wanted = Geod(a=p.radius, b=p.radius), marks(p)
    made = {name: at for name, at in wanted.items() if name in FACTORY}

    def through(own: dict[str, float], free: Place | None) -> None:
        start = next(name for name, at in own.items() if abs(at) < 1e-9 and name in made)
        others = [n for n in own if n in made and abs(own[n]) > 0.25]
        if others:
            far = max(others, key=lambda n: abs(own[n]))
            way = globe.inv(*made[start], *made[far])[0] + (180.0 if own[far] < 0.0 else 0.0)
        else:
            assert free is not None, "a strip lies on one place only"
            way = globe.inv(*made[start], *free)[0]
        for name, at in own.items():
            # a mark that two strips give must be one place
            there = globe.fwd(*made[start], way, at)[:2]
            assert globe.inv(*made.setdefault(name, there), *there)[2] < CLOSE, name

    for step in strips.steps[:-1]:
        first, *others = (strips.strips[n - 1] for n in step.strips)
        for second in others:
            assert second.meets is not None
            meet = second.meets
            assert meet.other == first.number
            long, across = ticks[first.number][meet.name], ticks[second.number][meet.name]
            way, _, base = globe.inv(*made[meet.corner], *made[meet.known])
            a, b, c = (abs(x) / p.radius for x in (long, base, across))
            turn = (math.cos(c) - math.cos(a) * math.cos(b)) / (math.sin(a) * math.sin(b))
            lean = math.degrees(math.acos(max(-1.0, min(1.0, turn))))
            toward = way + (lean if meet.clockwise else -lean)
            check_words(step.text, meet, lean)
            made[meet.name] = globe.fwd(*made[meet.corner], toward, abs(long))[:2]
        # where a ball has no mark but its pin, any way will do: here the plan's own
        free = None if set(made) - {"pin", "pap"} else wanted.get("pap", wanted["grip_center"])
        if free is not None and globe.inv(*made["pin"], *free)[2] < CLOSE:
            free = (free[0], free[1] + 10.0)  # the pin on the PAP: the VAL as the plan has it
        through(ticks[first.number], free)
    check = ticks[strips.steps[-1].strips[0]]
    for name, at in check.items():
        assert abs(globe.inv(*made["pin"], *made[name])[2] - at) < CLOSE, name
    return made


def check_words(text: str, meet: Meeting, lean: float) -> None:
    """The words turn the two strips to the side, and by the angle, that the strips themselves do."""
    angle = re.search(r"meet, ([\d.]+) degrees (clockwise|counter-clockwise) of the line", text)
    side = re.search(r"meet, (left|right) of", text)
    if angle is not None:
        assert (angle[2] == "clockwise") == meet.clockwise
        assert abs(float(angle[1]) - lean) < 0.1
    else:
        assert side is not None, text
        assert (side[1] == "right") == meet.clockwise


def misses(p: Plan, made: Mapping[str, Place]) -> dict[str, float]:
    globe = Geod(a=p.radius, b=p.radius)
    wanted = {name: at for name, at in marks(p).items() if name not in FACTORY}
    # a foot on the grip centre or on the PAP is not a mark of its own
    return {n: globe.inv(*made.get(n, wanted[n]), *at)[2] for n, at in wanted.items()}


def check(record: dict[str, Any], most: float = CLOSE) -> StripSet:
    p = plan(parse_job(record))
    strips = paper_strips(p)
    made = lay(p, strips, own_ticks(strips))
    today = p.for_today
    assert {h.name for h in (*today.holes, *today.extra_holes)} <= set(made)
    worst = max(misses(p, made).items(), key=lambda item: item[1])
    assert worst[1] <= most, worst
    assert [s.number for s in strips.strips] == list(range(1, len(strips.strips) + 1))
    assert sorted(n for step in strips.steps for n in step.strips) == sorted(
        s.number for s in strips.strips
    )
    return strips


@pytest.mark.parametrize("path", SAMPLES, ids=lambda each: each.stem)
def test_samples(path: Path) -> None:
    check(json.loads(path.read_text(encoding="utf-8")), EXACT)


@settings(max_examples=30, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_random_jobs(records: st.SearchStrategy[dict[str, Any]], data: st.DataObject) -> None:
    record = data.draw(records)
    if data.draw(st.integers(0, 4)) == 0 and record["layout"]["by"] == "placement":
        record["bowler"]["pap"] = None
    check(record)


@pytest.mark.parametrize("hand", ["right", "left"])
@pytest.mark.parametrize(
    ("over", "up", "pin_to_pap"),
    [(5, 0.5, 0.0), (5, 0.5, 0.004), (5, 0.5, 0.02), (5, 0.0, 4.5), (5, 0.02, 4.5), (5, -2, 9.5),
     (0, 0.5, 4.5), (0.02, 0.5, 4.5), (0, 0, 0), (8, 4, 13.2)],
)  # fmt: skip
def test_marks_that_nearly_coincide_or_lie_far(
    record: dict[str, Any], hand: str, over: float, up: float, pin_to_pap: float
) -> None:
    record["bowler"] |= {"hand": hand, "pap": {"over": over, "up": up}}
    record["layout"] |= {"pin_to_pap": pin_to_pap}
    check(record)


@pytest.mark.parametrize("turn", [0, 0.02, 1, 89.9, 90, 90.1, 179, 180, -180, -91, -30])
def test_any_angle_is_set_on_the_right_side(record: dict[str, Any], turn: float) -> None:
    record["layout"] |= {"angle_at_pin": turn, "angle_at_pap": -turn}
    check(record)


@pytest.mark.parametrize("pap", [None, {"over": 5, "up": 0.5}])
@pytest.mark.parametrize("pin", [(1.0, 3.0), (0.0, 0.0), (5.0, 0.5)])
def test_a_ball_with_no_mark_but_its_pin(
    record: dict[str, Any], pap: dict[str, float] | None, pin: tuple[float, float]
) -> None:
    record["bowler"]["pap"] = pap
    del record["ball"]["psa"]
    record["ball"] |= {"pin_to_cg": None, "intermediate_differential": 0}
    record["layout"] = {"by": "placement", "pin": {"over": pin[0], "up": pin[1]}}
    p = plan(parse_job(record))
    strips = paper_strips(p)
    assert "any way" in strips.steps[0].text
    made = lay(p, strips, own_ticks(strips))
    globe = Geod(a=p.radius, b=p.radius)
    # the ball may be turned about its pin, so only what does not depend on that is compared
    names = [n for n in marks(p) if n in made]
    for one in names:
        for other in names:
            apart = globe.inv(*made[one], *made[other])[2]
            assert abs(apart - globe.inv(*marks(p)[one], *marks(p)[other])[2]) < CLOSE


@pytest.mark.parametrize(
    "only", [["thumb"], ["middle"], ["ring"], ["middle", "ring"], ["thumb", "ring"]]
)
@pytest.mark.parametrize("hand", ["right", "left"])
def test_only_the_holes_that_are_cut_today_are_laid(
    record: dict[str, Any], only: list[str], hand: str
) -> None:
    record["bowler"]["hand"] = hand
    record["work"] = {"only": only}
    strips = check(record)
    there = {"thumb", "middle", "ring"} - set(only)
    assert not there & {tick.name for strip in strips.strips for tick in strip.ticks}
    text = " ".join(step.text for step in strips.steps)
    assert all(f"the {name} hole" not in text for name in there)


def test_vents_and_inspection_hole(odd: dict[str, Any]) -> None:
    strips = check(odd, EXACT)
    assert {"thumb vent", "inspection"} <= {t.name for s in strips.strips for t in s.ticks}


def test_the_holes_come_in_the_order_of_the_marking_steps(odd: dict[str, Any]) -> None:
    p = plan(parse_job(odd))
    made: list[str] = []
    for strip in paper_strips(p).strips[:-1]:
        made += [t.name for t in strip.ticks if t.name not in made]
    order = [step.new for step in marking_steps(p)]
    assert sorted(order, key=made.index) == order


@pytest.mark.parametrize("radius", [4.25, 4.275, 4.2975])
@pytest.mark.parametrize("leg", [0.5, 3.0, 3.375, 6.25])
@pytest.mark.parametrize("angle", [0.5, 30.0, 50.0, 90.0])
def test_a_chord_is_as_long_as_the_geodesic_between_two_legs(
    radius: float, leg: float, angle: float
) -> None:
    globe = Geod(a=radius, b=radius)
    ends = [globe.fwd(10.0, 20.0, azimuth, leg)[:2] for azimuth in (75.0, 75.0 + angle)]
    assert chord(leg, angle, radius) == pytest.approx(globe.inv(*ends[0], *ends[1])[2], abs=1e-9)


def test_chords_worked_out_elsewhere() -> None:
    """Derived apart from this program, with geodesics; inches on a ball of 8.55."""
    for leg, angle, length in (
        (3.0, 30.0, 1.43528996816),
        (3.0, 50.0, 2.36260460685),
        (3.0, 90.0, 4.05298716835),
        (3.375, 50.0, 2.60558527731),
    ):
        assert chord(leg, angle, 4.275) == pytest.approx(length, abs=1e-10)


# --- the printed file -----------------------------------------------------------------------------

SEGMENT = re.compile(r"([-\d.]+) ([-\d.]+) m\n([-\d.]+) ([-\d.]+) l")
HALF, ABOVE = 18.0, 6.5  # points: half of a strip's width; from a tick to its label


def printed_ticks(pdf: bytes, strips: StripSet) -> tuple[Ticks, list[float]]:
    """Inches of each strip's ticks from its start, and the lengths of the strips' outlines.

    From the lines and the places of the texts on the pages. Parts of a strip are put together at
    their joins.
    """
    parts: dict[str, dict[str, float]] = {}
    lengths = []
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages[1:]:
        texts: list[tuple[float, float, str, float]] = []
        page.extract_text(
            visitor_text=lambda text, cm, _tm, _font, size, texts=texts: (  # type: ignore[misc]
                texts.append((cm[4], cm[5], text.strip(), size)) if text.strip() else None
            )
        )
        lines = segments(page)
        numbers = [t for t in texts if t[3] == 12.0 and re.fullmatch(r"\d+[a-z]?", t[2])]
        assert all(size >= 8.0 for *_, size in texts)
        for x, y, title, _ in numbers:
            left, line = x - 5.0, y - 4.6
            right = next(
                b
                for a, h, b, k in lines
                if abs(a - left) < 0.01 and h == k and abs(h - line) < 0.01
            )
            lengths.append((right - left) / 72.0)
            up = [
                a
                for a, h, b, k in lines
                if a == b and abs(h - line) < 0.01 and k - line > HALF / 2.0 - 0.01
            ]
            at = sorted(a for a in up if left + 0.01 < a < right - 0.01)
            labels = [
                t
                for t in texts
                if line < t[1] < line + HALF and t[3] == 8.0 and left < t[0] < right
            ]
            fingers = {
                t for t in labels if t[2] in ("fingers", "fi", "ngers")
            }  # or with a ligature
            named = {a: t for a in at for t in labels if abs(t[0] - a - ABOVE) < 0.01}
            # what is not right of its tick is left of it; these keep their order
            rest = sorted(set(labels) - set(named.values()) - fingers)
            named |= dict(zip((a for a in at if a not in named), rest, strict=True))
            parts[title] = {}
            for a, t in named.items():
                parts[title] |= dict.fromkeys(words_of(t[2]), a / 72.0)
    ticks: Ticks = {}
    for strip in strips.strips:
        own = {t: p for t, p in parts.items() if re.sub("[a-z]", "", t) == str(strip.number)}
        ticks[strip.number] = in_one(strip, [own[t] for t in sorted(own)])
    return ticks, lengths


def words_of(label: str) -> list[str]:
    """The names on a label, without the figure behind them."""
    return re.sub(r" [\d /.]+ (in|mm)$", "", label).split(", ")


def in_one(strip: Strip, parts: list[dict[str, float]]) -> dict[str, float]:
    whole = dict(parts[0])
    for part in parts[1:]:
        join = next(word for word in part if word.startswith("join") and word in whole)
        shift = whole[join] - part[join]
        whole |= {word: at + shift for word, at in part.items()}
    start = next(whole[strip.words[t.name]] for t in strip.ticks if abs(t.place) < 1e-9)
    return {t.name: whole[strip.words[t.name]] - start for t in strip.ticks}


PRINTED: dict[str, tuple[str, dict[str, Any]]] = {
    "letter": ("01_right_asymmetric", {}),
    "a4": ("05_no_thumb", {}),
    "long": (
        "08_left_symmetric",
        {"by": "angles", "angle_at_pin": 100, "pin_to_pap": 12.5, "angle_at_pap": 35},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", PRINTED)
def test_the_printed_file(case: str) -> None:
    """Made once, for it takes a second: what is printed is the plan's, can be checked and is sound."""
    name, layout = PRINTED[case]
    record = json.loads((SAMPLES[0].parent / f"{name}.json").read_text(encoding="utf-8"))
    if layout:
        record["layout"] = layout
    p = plan(parse_job(record))
    paper: Paper = "letter" if case == "letter" else "a4"
    units: Units = "metric" if case == "a4" else "fraction"
    pdf = strips_bytes(p, paper, units)
    check_lengths(p, pdf, longer_than_the_page=case == "long")
    check_bars(pdf)
    check_preferences(pdf)
    check_first_page(p, pdf, units)


def check_lengths(p: Plan, pdf: bytes, longer_than_the_page: bool) -> None:
    """The ticks as printed stand at the exact arcs, and lead to the plan's marks."""
    strips = paper_strips(p)
    ticks, lengths = printed_ticks(pdf, strips)
    for number, own in own_ticks(strips).items():
        assert ticks[number] == pytest.approx(own, abs=1e-3)
    assert max(misses(p, lay(p, strips, ticks)).values()) < EXACT
    assert (len(lengths) > len(strips.strips)) == longer_than_the_page


def segments(page: pypdf.PageObject) -> list[tuple[float, ...]]:
    """The straight lines on a page: where each begins and ends."""
    content = page.get_contents()
    assert content is not None
    return [tuple(map(float, s)) for s in SEGMENT.findall(content.get_data().decode("latin1"))]


def check_bars(pdf: bytes) -> None:
    """Every page has a bar of ten inches and one of six; nothing lies where printers do not reach."""
    for page in pypdf.PdfReader(io.BytesIO(pdf)).pages:
        lines = segments(page)[1:]  # less the page itself
        width, height = (float(x) for x in page.mediabox[2:])
        assert width > height
        across = [b - a for a, h, b, k in lines if h == k]
        upright = [k - h for a, h, b, k in lines if a == b]
        assert any(abs(x - 720.0) < 1e-3 for x in across)
        assert any(abs(x - 432.0) < 1e-3 for x in upright)
        assert all(17.0 < x < width - 17.0 for line in lines for x in line[::2])
        assert all(17.0 < y < height - 17.0 for line in lines for y in line[1::2])
        text = " ".join(page.extract_text().split())
        assert "Measure this before you cut: 10 in, 254 mm" in text
        assert "6 in 152.4 mm" in text


def check_preferences(pdf: bytes) -> None:
    """ISO 32000-1, table 150: PrintScaling None is no page scaling."""
    reader = pypdf.PdfReader(io.BytesIO(pdf), strict=True)
    root: Any = reader.trailer["/Root"]
    assert root["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert root["/Version"] == "/1.7"
    assert reader.metadata is not None
    assert "paper strips" in str(reader.metadata.title)


def check_first_page(p: Plan, pdf: bytes, units: Units) -> None:
    """The first page tells every step, to measure, and who decides; each page says which ball."""
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    text = " ".join(pages[0].extract_text().split())
    for step in paper_strips(p, units).steps:
        assert step.text in text
    assert "actual size" in text
    assert "licensed practice" in text
    for page in pages:
        assert f"{2 * p.radius:.3f} in" in page.extract_text()
