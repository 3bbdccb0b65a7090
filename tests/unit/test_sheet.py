"""The work sheet: it fits the page, it can be read, and its numbers are the plan's."""

import io
import json
import math
import re
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import pypdf
import pytest

from layoutkit.errors import InputError
from layoutkit.job.record import parse_job
from layoutkit.job.rules import CONFIRM
from layoutkit.output import drawing
from layoutkit.output.report import reason_words
from layoutkit.output.sheet import sheet_bytes, sheet_figures, write_sheet
from layoutkit.planning.grip_marks import edge_checks
from layoutkit.planning.marking import marking_steps
from layoutkit.planning.plan import plan

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))
PAGES = {"letter": (612.0, 792.0), "a4": (595.276, 841.89)}  # 8 1/2 x 11 in; ISO 216


def record():
    """A plain job: right hand, PSA mark, no sleeves, calibrated."""
    finger = {"span": "4 3/8", "diameter": "3/4", "depth": "2", "pitch": {"forward": "1/8"}}
    return {
        "format": "layoutkit-job",
        "version": 2,
        "title": "Plain job",
        "notes": "Invented.",
        "work": {"order": "A-1", "date": "2026-11-25", "driller": "D", "checked_by": "C"},
        "bowler": {
            "name": "Test Bowler",
            "hand": "right",
            "pap": {"over": "5", "up": "1/2"},
            "grip": {
                "bridge": "3/8",
                "middle": {**finger},
                "ring": {**finger, "span": "4 1/4"},
                "thumb": {
                    "diameter": "1",
                    "depth": "2 3/4",
                    "tip_angle": 118,
                    "pitch": {"reverse": "1/4", "left": "1/16"},
                },
            },
        },
        "ball": {
            "name": "Test Ball",
            "serial": "S1",
            "diameter": 8.55,
            "weight": 15.12,
            "top_weight": 2.75,
            "pin_to_cg": "3",
            "psa": {"distance": "quarter", "cg_bearing": 20},
            "rg_low": 2.52,
            "differential": 0.050,
            "intermediate_differential": 0.015,
            "shell": {"thickness": 0.75, "density": 1.20},
            "filler_density": 0.70,
        },
        "layout": {
            "by": "angles",
            "angle_at_pin": 50,
            "pin_to_pap": "4 1/2",
            "angle_at_pap": 35,
        },
        "scale": {"arm": 4.275},
    }


def sleeved(data):
    sleeve = {"bore": "31/32", "bore_depth": "1 1/2", "length": "1 1/4", "density": 1.1}
    grip = data["bowler"]["grip"]
    for name in ("middle", "ring"):
        grip[name] |= {"sleeve": dict(sleeve), "depth": "1 1/4"}
    grip["thumb"] |= {
        "tip_angle": None,
        "sleeve": {"bore": "1 3/8", "bore_depth": "2 7/8", "density": 1.2},
    }


def left(data):
    data["bowler"]["hand"] = "left"


def no_thumb(data):
    data["bowler"]["grip"]["thumb"] = None
    for name in ("middle", "ring"):
        data["bowler"]["grip"][name]["span"] = "2 1/8"


def symmetric(data):
    data["ball"]["psa"] = None
    data["ball"]["intermediate_differential"] = 0.0


def uncalibrated(data):
    data["scale"] = None


def behind(data):
    """The reference mark on the far side from the grip."""
    data["layout"] |= {"angle_at_pin": 150, "pin_to_pap": "6", "angle_at_pap": 100}


def long_texts(data):
    data["title"] = "Wide title W$x_1$ & <b> " * 8
    data["notes"] = "A long note\nwith lines. " * 80
    data["bowler"]["name"] = "Müller-Łukasiewicz 山田太郎 \U0001f3b3 " * 7
    data["ball"]["name"] = "W" * 200
    data["ball"]["serial"] = "M" * 200
    data["work"] = dict.fromkeys(("order", "driller", "checked_by", "ball_is"), "MW " * 66)


def many_cautions(data):
    sleeved(data)
    uncalibrated(data)
    behind(data)
    long_texts(data)
    grip, ball = data["bowler"]["grip"], data["ball"]
    for name in ("middle", "ring", "thumb"):
        grip[name]["depth"] = "4"
    ball |= {"diameter": 8.7, "weight": 16.5, "rg_low": 2.3, "differential": 0.09}
    del ball["shell"], ball["filler_density"]
    grip["bridge"] = "1/8"


def decimal(data):
    grip = data["bowler"]["grip"]
    grip["middle"] |= {"diameter": "19 mm", "depth": "45 mm", "pitch": {"reverse": "3 mm"}}
    data["ball"]["diameter"] = "217.2 mm"


def oval(data, bit="15/16", long="1 1/4", scallop="1/64"):
    thumb = data["bowler"]["grip"]["thumb"]
    thumb |= {"diameter": bit, "tip_angle": None, "sleeve": None}
    thumb["oval"] = {"length": long, "direction": -20, "scallop": scallop}


def extras(data):
    data["extra_holes"] = {
        "vents": [{"hole": "thumb", "over": 1, "down": 3, "diameter": "1/8", "meets": "1 1/2"}],
        "inspection": {"over": -2, "up": "2 1/2", "diameter": "5/8", "depth": "1/8"},
    }


def old(data):
    data["history"] = {
        "holes": [
            {"name": f"old {name}", "from_pin": away, "bearing": at, "diameter": "1", "depth": 2}
            | {"plug": {"density": 1.15}}
            for name, away, at in (("middle", "2 1/2", 60), ("ring", "1 3/4", 15), ("thumb", 7, 20))
        ]
    }


def most_odd(data):
    """As many odd and old holes as a record can have, with long names and tolerances."""
    oval(data, "1/4", "1 1/4", 1 / 128)
    places = [("thumb", 1.2, -2.9), ("thumb", -1.3, -2.6), ("middle", -2, 3.1)]
    places += [("ring", 2.1, 3.2), ("ring", 1.9, 2.1), ("middle", -2, 2.1)]
    data["extra_holes"] = {
        "vents": [
            {"hole": hole, "over": over, "up": up, "diameter": "11/64", "meets": "1 13/64"}
            for hole, over, up in places
        ],
        "inspection": {"over": 10, "up": "1 13/64", "diameter": "5/8", "depth": "1/8"},
    }
    hole = {"toward_pin": 0.1, "right": -0.2, "diameter": "63/64", "depth": "2 61/64"}
    plug = {"density": 1.15, "length": "1 51/64"}
    data["history"] = {
        "holes": [
            {
                "name": f"{n} {'W' * 27}",
                "from_pin": n * 0.61,
                "bearing": n * 137 % 360,
                "plug": plug,
            }
            | hole
            for n in range(20)
        ]
    }
    data["tolerances"] = {}


CASES = {
    "plain": [],
    "left": [left],
    "sleeves": [sleeved],
    "left, sleeves, uncalibrated": [left, sleeved, uncalibrated],
    "no thumb": [no_thumb],
    "symmetric": [symmetric],
    "symmetric, no thumb, left": [symmetric, no_thumb, left],
    "behind": [behind],
    "behind, left, sleeves": [behind, left, sleeved],
    "long texts": [long_texts],
    "many cautions": [many_cautions],
    "many cautions, left": [many_cautions, left],
    "decimal": [decimal],
    "oval": [oval],
    "vents": [extras],
    "old holes": [old],
    "old holes, left, uncalibrated": [old, left, uncalibrated],
    "oval, vents, old holes": [sleeved, oval, extras, old],
    "odd, behind, left": [oval, extras, old, behind, left],
    "odd, long texts": [oval, extras, old, long_texts],
    "most odd": [most_odd],
    "most odd, left, long texts": [sleeved, most_odd, left, long_texts],
}


@cache
def made(name):
    if name.endswith(".json"):
        path = next(p for p in SAMPLES if p.name == name)
        return plan(parse_job(json.loads(path.read_text(encoding="utf-8"))))
    data = record()
    for change in CASES[name]:
        change(data)
    return plan(parse_job(data))


# what stands in another case as well is read back only there
ONLY_THERE = {
    "left",
    "symmetric",
    "behind",
    "many cautions",
    "oval",
    "vents",
    "old holes",
    "decimal",
}
# samples that the cases above do not resemble: no PSA mark to reach, no label, five digits, metric
OTHERS = [p.name for p in SAMPLES if p.name[:2] in ("01", "05", "09", "10", "14", "16")]
NAMES = [*(c for c in CASES if c not in ONLY_THERE), *OTHERS]


@pytest.fixture(params=NAMES, name="job", scope="module")
def _job(request):
    return made(request.param)


def test_the_samples_are_there():
    assert len(SAMPLES) >= 8


_figures = {}


def pages(job, paper="letter"):
    """The pages of a job from `made` as figures, made once."""
    key = id(job), paper
    if key not in _figures:
        _figures[key] = sheet_figures(job, paper)
    return _figures[key]


def boxes(figure):
    """Texts with their sizes and boxes in points, the balls' circles, and the tick boxes of a page."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    # four pixels a point: the screen's hinting hardly widens the text
    figure.set_dpi(288.0)
    renderer = FigureCanvasAgg(figure).get_renderer()
    texts, circles = [], []
    for ax in figure.axes:
        for text in ax.texts:
            box = text.get_window_extent(renderer)
            corners = np.array([box.x0, box.y0, box.x1, box.y1]) / 4.0
            texts.append((text.get_text(), text.get_fontsize(), corners))
    for ax in figure.axes[1:]:
        (ball,) = ax.artists
        for label, box in ball.boxes(renderer):
            texts.append((label.text, ball.style.text, box / 4.0))
        x, y = ax.transData.transform((0.0, 0.0)) / 4.0
        edge, _ = ax.transData.transform((1.0, 0.0)) / 4.0
        circles.append((x, y, edge - x))
    ticks = figure.axes[0].collections[2]
    squares = np.array(
        [[*p.vertices.min(axis=0), *p.vertices.max(axis=0)] for p in ticks.get_paths()]
    ).reshape(-1, 4)
    return texts, circles, squares


def test_texts_fit_the_page_and_keep_clear_of_each_other(job):
    check_texts(job, "letter")


A4 = ["plain", "sleeves", "long texts", "many cautions, left", "most odd, left, long texts"]


@pytest.mark.parametrize("name", [*A4, "16_five_digits.json"])
def test_texts_fit_a4_and_keep_clear_of_each_other(name):
    check_texts(made(name), "a4")


def check_texts(job, paper):
    first, *others = pages(job, paper)
    texts, circles, squares = boxes(first)
    assert len(texts) > 100
    assert len(squares) >= 2 * len(job.holes)
    assert len(others) <= (2 if len(job.cautions) > 10 else 1)
    assert circles
    check_page(texts, circles, squares, PAGES[paper])
    for figure in others:
        check_page(*boxes(figure), PAGES[paper])


def check_page(texts, circles, squares, page):
    width, height = page
    assert len(circles) in (0, 1, 2)
    assert all(size >= 8.0 for _, size, _ in texts)
    all_boxes = np.array([b for _, _, b in texts])
    for box in filter(len, (all_boxes, squares)):
        assert box[:, :2].min() >= 24.0
        assert box[:, 2].max() <= width - 24.0
        assert box[:, 3].max() <= height - 24.0
    for i, (text, _, box) in enumerate(texts):
        others = np.concatenate([np.delete(all_boxes, i, axis=0), squares])
        apart = (
            (others[:, 0] >= box[2])
            | (others[:, 2] <= box[0])
            | (others[:, 1] >= box[3])
            | (others[:, 3] <= box[1])
        )
        assert apart.all(), text
        for x, y, radius in circles:
            near = np.clip(x, box[0], box[2]), np.clip(y, box[1], box[3])
            assert math.hypot(near[0] - x, near[1] - y) >= radius, text


@pytest.mark.parametrize("name", ["02_left_asymmetric.json", "12_oval_thumb.json"])
def test_a_metric_sheet_has_millimetres_that_fit_and_ounces(name):
    job = made(name)
    first, *others = sheet_figures(job, "a4", units="metric")
    pages = [boxes(first), *map(boxes, others)]
    for page in pages:
        check_page(*page, PAGES["a4"])
    words = [text for texts, *_ in pages for text, *_ in texts]
    assert not any("..." in text for text in words[1:])  # the title may be too long
    thumb = job.holes[-1]
    tenths = [math.floor(254.0 * x + 0.5) for x in (thumb.diameter, thumb.depth, thumb.travel)]
    cells = [f"{tenth / 10:.1f}" for tenth in tenths]
    row = words.index("drill thumb")
    assert words[row + 1 : row + 5] == [cells[0], *cells]  # the bit first
    printed_steps = " ".join(words)
    for step in marking_steps(job, "metric"):
        assert " in " not in step.text.replace(" in toward", "")
        assert all(word in printed_steps for word in step.text.split())
    assert f"{job.statics.weight_lb:.2f} lb" in words
    assert f"gross, {job.statics.weight_lb * 0.45359237:.2f} kg" in words


_files = {}


def file(job, paper):
    """The PDF file of a job from `made`, made once: it takes a second."""
    key = id(job), paper
    if key not in _files:
        _files[key] = sheet_bytes(job, paper)
    return _files[key]


@pytest.mark.parametrize(("name", "paper"), [("plain", "a4"), ("odd, long texts", "letter")])
def test_file_is_the_same_every_time(name, paper):
    assert sheet_bytes(made(name), paper) == file(made(name), paper)


def odd(job):
    return bool(any(h.oval for h in job.holes) or job.extra_holes or job.old_holes)


# what a file is made of differs less than what stands on it
@pytest.mark.parametrize(
    "name",
    [
        "plain",
        "odd, long texts",
        "most odd, left, long texts",
        "many cautions, left",
        "11_with_tolerances.json",
        "14_first_ball.json",
    ],
)
def test_file_is_small_and_has_one_page_and_its_fonts(name):
    check_file(made(name), "letter")


@pytest.mark.parametrize("name", ["plain", "many cautions"])
def test_file_on_a4(name):
    check_file(made(name), "a4")


def check_file(job, paper):
    content = file(job, paper)
    assert len(content) < 300_000
    found = pypdf.PdfReader(io.BytesIO(content))
    sleeved = any(hole.bore for hole in job.holes)
    usual = not (odd(job) or job.job.release or len(job.cautions) > 2 or job.spreads or sleeved)
    most = 1 if usual else 3 if len(job.cautions) > 10 else 2
    assert 1 <= len(found.pages) <= most
    assert "/CreationDate" not in found.metadata
    for page in found.pages:
        assert [float(x) for x in page.mediabox[2:]] == pytest.approx(PAGES[paper], abs=0.01)
        check_fonts(page)
    # each page of the file says what its figure says, which the other tests read
    read = [page.extract_text().split() for page in found.pages]
    assert read == [words_of(figure) for figure in pages(job, paper)]


def check_fonts(page):
    fonts = [f.get_object() for f in page["/Resources"]["/Font"].values()]
    assert fonts
    for f in fonts:
        holder = f["/DescendantFonts"][0].get_object() if f["/Subtype"] == "/Type0" else f
        assert "/FontFile2" in holder["/FontDescriptor"].get_object()  # TrueType, embedded
    images = page["/Resources"].get("/XObject", {})
    assert not any(x.get_object()["/Subtype"] == "/Image" for x in images.values())


def words_of(figure):
    """The words on a page in the order in which they are painted."""
    texts = []
    for ax in figure.axes:
        for ball in ax.artists:
            texts += [label.text for label in ball.drawing.labels]
        texts += [text.get_text() for text in ax.texts]
    return " ".join(texts).split()


def printed(job):
    """The text of all pages, all white space made single."""
    return " ".join(word for figure in pages(job) for word in words_of(figure))


def mixed(value, parts=64):
    """A mixed fraction, made here from scratch, rounded half away from zero."""
    n = Fraction(math.floor(abs(value) * parts + 0.5), parts)
    whole, rest = divmod(n, 1)
    sign = "-" if value < 0 and n else ""
    if not rest:
        return f"{sign}{whole}"
    return f"{sign}{f'{whole} ' if whole else ''}{rest.numerator}/{rest.denominator}"


def size(value):
    on_rule = abs(value * 64.0 - round(value * 64.0)) < 1e-6
    return mixed(value) if on_rule else f"{value:.3f}"


def pitch(value, plus, minus):
    return "0" if value == 0.0 else f"{size(abs(value))} {plus if value > 0 else minus}"


def is_ready(job, hole):
    """Whether the record has for a hole a sleeve that comes with its hole."""
    sleeve = getattr(job.job.bowler.grip, hole.name).sleeve
    return sleeve is not None and sleeve.ready


def test_each_cut_is_printed_with_the_plan_s_numbers_in_the_order_of_the_work(job):
    text = printed(job)
    bores = [h for h in job.holes if h.bore is not None]
    cuts = [("bore", h, h.bore.diameter, h.bore.depth, h.bore.travel, None) for h in bores]
    ends = [
        ("finish" if h.bore else "drill", h, h.diameter, h.depth, h.travel, h.tip_angle)
        for h in job.holes
        if not is_ready(job, h)
    ]
    rows = []
    inner = [
        ("inner bore", h, h.inner.diameter, h.inner.depth, h.inner.travel, None)
        for h in bores
        if h.inner
    ]
    for what, h, across, depth, travel, tip in cuts + inner + ends:
        row = (
            *((what,) if what == "inner bore" else (what, h.name)),
            mixed(across),
            size(across),
            size(depth),
            mixed(travel),
            pitch(h.forward, "fwd", "reverse"),
            pitch(h.right, "right", "left"),
            f"{h.tilt:.1f}°",
            "flat" if tip is None else f"{tip:g}° point",
        )
        rows.append(" ".join(row))
    if bores:
        lengths = ", ".join(
            f"{h.name}{' (outer)' if h.inner else ''} {size(h.bore.sleeve_length)} long"
            for h in bores
        )
        rows.insert(len(bores), f"set sleeves {lengths}")
    ready = [h.name for h in bores if is_ready(job, h)]
    if ready:
        called = {job.sleeve_of(h).called for h in bores if is_ready(job, h)} - {""}
        said = ["ready-made with its hole: no cut in it", *called]
        words = f"{', '.join(ready)} {'; '.join(said)}"
        rows.insert(len(bores) + 1 + len(inner), words)
    for h in (h for h in bores if h.inner):
        words = f"set inner sleeve {h.name} {size(h.inner.sleeve_length)} long"
        rows.insert(len(bores) + 2, words)
        rows.insert(len(bores) + 4, f"{h.name} {job.sleeve_of(h).called}")
    at = [text.find(f"{i} {row} ") for i, row in enumerate(rows, 1)]
    assert -1 not in at, rows[at.index(-1)]
    assert at == sorted(at)


def test_the_bridge_is_printed_square_and_as_a_rule_reads_it(job):
    edges = {c.name: c for c in edge_checks(job.holes, job.job.bowler.grip.bridge, job.radius)}
    bridge = edges["bridge"]
    wanted = f"bridge {mixed(bridge.cut)} {mixed(bridge.finished)} square to the centreline"
    assert wanted in printed(job)


def test_marking_steps_are_printed_whole(job):
    text = printed(job)
    for step in marking_steps(job):
        assert f"{step.number}. {step.text}" in text


def test_proof_arcs_are_printed_in_thirty_seconds(job):
    text = printed(job)
    for h in job.holes:
        arcs = [a for a in (h.from_pin, h.from_cg, h.from_psa) if a is not None]
        assert f"{h.name} {' '.join(mixed(a, 32) for a in arcs)} " in text
    assert "Stop if an arc is off by 1/16 in, an edge by 1/32." in text
    for h in job.holes:
        if h.span is not None:
            base = "palm" if job.job.bowler.grip.thumb is None else "thumb"
            assert f"{base} to {h.name} {mixed(h.bored_span, 64)} {mixed(h.span, 64)}" in text
    assert "second initials" in text


def test_layout_and_label_are_printed(job):
    text, n = printed(job), job.layout
    if n.angle_at_pin is not None:
        assert f"angle at the pin {round(n.angle_at_pin, 1):g}°" in text
    pin, way = job.marks.pin, "down" if job.marks.pin.up < 0 else "up"
    placed = f"Layout: pin {mixed(pin.over, 16)} in over, {mixed(abs(pin.up), 16)} in {way}"
    assert placed in text  # where the pin lies leads
    if n.bearing is not None:
        mark = "CG" if job.marks.psa is None else "PSA"
        assert f"{placed}, bearing of the {mark} mark {round(n.bearing, 1):g}°" in text
    if n.pin_to_pap is not None:
        assert f"angle at the PAP {round(n.angle_at_pap, 1):g}°" in text
        assert f"; pin to PAP {mixed(n.pin_to_pap, 16)} in, angle at the " in text
        assert f"pin to VAL {mixed(n.pin_to_val, 16)} in. " in text
    if n.psa_to_pap is not None:
        assert f"PSA to PAP {mixed(n.psa_to_pap, 16)} in, " in text
    ball = job.job.ball
    top = "not known" if ball.top_weight is None else f"{ball.top_weight:.2f} oz"
    assert f"{ball.weight:.2f} lb, top weight {top}, pin to CG" in text


def test_predicted_weights_are_printed_with_words_and_ranges(job):
    text, s = printed(job), job.statics
    assert f"gross weight {s.weight_lb:.2f} lb" in text
    for value, band, plus, minus in (
        (s.top_oz, s.range.top_oz, "top weight", "bottom weight"),
        (s.side_oz, s.range.side_oz, "positive side", "negative side"),
        (s.finger_oz, s.range.finger_oz, "finger weight", "thumb weight"),
    ):
        if value is None:
            assert f"{plus.split()[0].replace('positive', 'side')} not known" in text
            continue
        wanted = plus if value >= 0.0 else minus
        if not s.calibrated:
            # to the side that the words name: less than nothing is to the other one
            low, high = (-band[1], -band[0]) if value < 0.0 else band
            first, last = f"{low:.2f}", f"{high:.2f}"
            wanted += f" {last} oz" if first == last else f" {first} to {last} oz"
        assert f"{wanted} {abs(value):.2f} oz" in text
    assert ("default arm" in text) != s.calibrated
    assert ("one test with a known weight settles it" in text) != s.calibrated


def test_inertia_is_printed_before_and_after(job):
    text, after = printed(job), job.inertia
    before = after.undrilled
    for name, field in (
        ("RG low", "rg_low"),
        ("RG mid", "rg_mid"),
        ("RG high", "rg_high"),
        ("differential", "differential"),
        ("int. differential", "intermediate_differential"),
    ):
        assert f"{name} {getattr(before, field):.3f} {getattr(after, field):.3f}" in text


def test_checks_are_printed_with_outcome_and_limit(job):
    text = printed(job)
    assert f"Checks by {job.rules.name}: {job.outcome}" in text
    for c in job.checks:
        if c.value is None:
            wanted = f"{c.name} not known {c.limit:g} {c.unit} {c.outcome}"
        elif c.unit == "yes/no":
            wanted = f"{c.name} {'yes' if c.value else 'no'} needed {c.outcome}"
        elif c.unit == "holes":
            wanted = f"{c.name} {c.value:g} {c.limit:g} {c.outcome}"
        else:
            sign = "+" if c.unit == "oz" and round(c.value, 2) > 0.0 else ""
            wanted = f"{c.name} {sign}{c.value:.2f} {c.unit} {c.limit:g} {c.unit} {c.outcome}"
        assert wanted in text
    assert CONFIRM in text


def test_every_caution_is_printed_the_gravest_first(job):
    text = printed(job)
    places = [text.index(f"! {caution}") for caution in job.cautions]
    assert places == sorted(places)
    failing = [c for c in job.checks if c.outcome == "fail" and c.name != "drillable"]
    for check in failing:
        rule = text.index(f"! Rule: {reason_words(check)}")
        assert all(rule < place for place in places)


def test_drawing_s_labels_are_printed(job):
    text = printed(job)
    seen = drawing.project(drawing.scene(job), drawing.facing(job, "grip"))
    names = {e.name for e in job.extra_holes} | {o.name for o in job.old_holes}
    for label in seen.labels:
        # odd holes may stand on the second page, seen from where they are near, or in its table only
        assert label.text in text or label.name in names
    hidden = [s for s in seen.spots if s.far and s.kind != "hole"]
    # a second picture of the ball; the sketches of the holes say it in other words
    second = re.search(r"seen from (?!the spindle|outside)[^,]{1,40}, fingers up", text)
    assert (second is not None) == bool(hidden)


@pytest.mark.parametrize("name", ["oval", "oval, vents, old holes", "most odd"])
def test_each_bore_of_an_oval_is_printed_for_the_press(name):
    text = printed(made(name))
    (thumb,) = (h for h in made(name).holes if h.oval)
    for n, cut in enumerate(thumb.oval.cuts, 1):
        along = f"{mixed(abs(cut.along))} {'to thumb side' if cut.along < 0.0 else 'to fingers'}"
        across = f"{mixed(abs(cut.across))} {'left' if cut.across < 0.0 else 'right'}"
        ways = [w if not w.startswith("0 ") else "0" for w in (along, across)]
        assert f"{n} {ways[0]} ({cut.along:+.3f}) {ways[1]} ({cut.across:+.3f})" in text
    assert (
        f"set it {mixed(thumb.travel)} in below the bit's first touch at the oval's middle" in text
    )
    assert "the middle of its oval" in text


@pytest.mark.parametrize("name", ["vents", "oval, vents, old holes", "most odd"])
def test_vents_and_inspection_hole_are_printed_after_the_finished_holes(name):
    job, text = made(name), printed(made(name))
    cuts = sum(1 + (h.bore is not None) for h in job.holes) + any(h.bore for h in job.holes)
    at = [text.find(f"{cuts} {'finish' if job.holes[-1].bore else 'drill'} thumb")]
    for n, e in enumerate(job.extra_holes, cuts + 1):
        sizes = f"{mixed(e.diameter)} {size(e.diameter)} {size(e.depth)} {mixed(e.travel)}"
        at.append(text.find(f"{n} {e.name} {sizes}"))
        side = "down" if e.up < 0.0 else "up"
        assert f"{e.name}: starts {mixed(e.over)} over, {mixed(abs(e.up))} {side}, aims at" in text
    assert -1 not in at
    assert at == sorted(at)


@pytest.mark.parametrize("name", ["old holes", "oval, vents, old holes", "most odd"])
def test_old_holes_are_printed_with_care_for_their_plugs(name):
    job, text = made(name), printed(made(name))
    for hole in job.job.history.holes:
        row = f"{mixed(hole.from_pin, 16)} {round((hole.bearing + 180) % 360 - 180)} deg"
        down = "" if hole.plug.length is None else f", {mixed(hole.plug.length)} down"
        assert f"{row} {mixed(hole.diameter)} 1.15{down}" in text
        assert hole.name in text or f"{hole.name[:4]}" in text
    assert "clockwise from the line to the PSA mark" in text
    assert "maker's data sheet and local rules come first" in text


def test_what_is_odd_is_on_the_first_page_or_the_first_page_says_where():
    for name in (
        "vents",
        "oval, vents, old holes",
        "odd, behind, left",
        "odd, long texts",
        "most odd",
    ):
        assert odd(made(name))
        figures = pages(made(name))
        first = " ".join(words_of(figures[0]))
        assert ("Page 2: " in first) == (len(figures) >= 2)
        if len(figures) == 1:
            assert all(step.text in first for step in marking_steps(made(name)))
            assert all(f"! {c}" in first for c in made(name).cautions)


def test_safety_and_sign_off_are_printed(job):
    text = printed(job)
    for words in (
        "spinning bit",
        "clamp the ball",
        "eye protection",
        "resin fumes",
        "extraction",
        "gloves",
        "can injure: stop and refit",
        "local rules",
        "current rule book",
        "licensed practice",
        "The bowler has tried the grip",
        "measured by",
        "measured",
    ):
        assert words in text


def test_long_texts_are_shortened_and_unknown_characters_replaced():
    text = printed(made("long texts"))
    assert "Wide title W$x_1$ & <b>" in text
    assert "Müller-Łukasiewicz" in text
    assert "Ball WWWW" in text
    assert "WWW..." in text
    assert "W" * 60 not in text
    assert "\U0001f3b3" not in text


def test_header_says_who_and_what():
    text = printed(made("plain"))
    for words in (
        "Plain job",
        "Order A-1",
        "Date 2026-11-25",
        "Driller D",
        "Checked by C",
        "Bowler Test Bowler",
        "Hand right",
        "PAP 5 over, 1/2 up",
        "Ball Test Ball",
        "Serial S1",
        "Rules usbc-2020",
        "Diameter 8.550 in",
        "Notes: Invented.",
    ):
        assert words in text


def test_write_sheet_writes_the_same_file(tmp_path):
    job = made("plain")
    path = tmp_path / "sheet.pdf"
    write_sheet(job, path, "a4")
    assert path.read_bytes() == file(job, "a4")
    assert [p.name for p in tmp_path.iterdir()] == ["sheet.pdf"]
    with pytest.raises(InputError):
        write_sheet(job, tmp_path)


def test_user_s_own_plot_settings_change_nothing():
    import matplotlib

    job = made("plain")
    wanted = file(job, "letter")
    with matplotlib.rc_context({"font.size": 20.0, "pdf.fonttype": 3, "lines.linewidth": 9.0}):
        assert sheet_bytes(job) == wanted
