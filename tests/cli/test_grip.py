"""The command grip: a copied grip into files, what is odd told, and help with the fit."""

from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path
from typing import Any

import pypdf
import pytest

from layoutkit.bench.fit import COMPLAINTS
from layoutkit.bench.grip_copy import copied
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job.measured import form_text, parse_measured
from layoutkit.job.store import load_job
from layoutkit.output.grip_guide import guide_figure
from layoutkit.output.typeset import PAPERS

SAMPLES = Path(__file__).parents[2] / "sample_bowlers"
FINGER = {"diameter": "3/4", "depth": "1 1/4", "sleeve": True, "bore": "31/32"}
MEASURED: dict[str, Any] = {
    "format": "layoutkit-grip",
    "version": 1,
    "hand": "right",
    "diameter": 8.55,
    "bridge": "17/64",
    "middle": {"span": "4 3/8", **FINGER, "pitch": {"forward": "1/8"}},
    "ring": {"span": "4 1/4", **FINGER},
    "thumb": {"diameter": "1", "depth": "2 3/4", "pitch": {"reverse": "1/8"}},
}


def changed(path: str, value: Any) -> dict[str, Any]:
    """The measured ball with another value at a dotted path."""
    data = copy.deepcopy(MEASURED)
    *parts, last = path.split(".")
    place = data
    for part in parts:
        place = place.setdefault(part, {})
    place[last] = value
    return data


@pytest.fixture
def measured(tmp_path: Path) -> str:
    path = tmp_path / "measured.json"
    path.write_text(json.dumps(MEASURED))
    return str(path)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return Path(shutil.copy(SAMPLES / "01_right_asymmetric.json", tmp_path / "job.json"))


def test_the_text_states_the_grip_and_that_arcs_are_kept_once(
    measured: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["grip", measured]) == 0
    text = capsys.readouterr().out
    assert "middle.depth" in text
    assert "1 17/64 in (1.266)" in text
    assert text.count("kept in inches") == 1
    assert "MEASURE AGAIN" not in text


def test_the_grip_goes_into_a_file_and_a_record(
    measured: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out, before = tmp_path / "grip.json", json.loads(job.read_text())
    assert main(["grip", measured, "--out", str(out), "--into", str(job), "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    after = json.loads(job.read_text())
    assert printed["grip"] == json.loads(out.read_text()) == after["bowler"]["grip"]
    assert {**after, "bowler": None} == {**before, "bowler": None}
    assert load_job(job).bowler.grip.middle.depth == 1.2665
    assert main(["grip", measured, "--out", str(out)]) == 2
    assert "exists already" in capsys.readouterr().err


def test_a_copied_little_finger_is_planned(job: Path, tmp_path: Path) -> None:
    path = tmp_path / "m.json"
    path.write_text(json.dumps(changed("little", {"span": "3 3/4", "gap": "1/4", **FINGER})))
    assert main(["grip", str(path), "--into", str(job)]) == 0
    assert load_job(job).bowler.grip.digits == ("middle", "ring", "little", "thumb")


def test_a_record_that_does_not_take_the_grip_stays_as_it_was(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, before = tmp_path / "m.json", job.read_bytes()
    path.write_text(json.dumps(changed("hand", "left")))
    assert main(["grip", str(path), "--into", str(job)]) == 2
    printed = capsys.readouterr()
    assert "measured for the left hand" in printed.err
    assert printed.out == ""
    assert job.read_bytes() == before


def test_a_record_with_measures_of_its_own_is_refused(
    measured: str, job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = json.loads(job.read_text()) | {"as_drilled": {"ring": {"span": "4 1/4"}}}
    job.write_text(json.dumps(record))
    assert main(["grip", measured, "--into", str(job)]) == 2
    assert "as_drilled" in capsys.readouterr().err


# what is odd about a figure: the field that the sentence names, and its end
ODD = [
    (changed("middle.straight", "4 3/8"), "middle.span", 'set rule to "stiff".'),
    (changed("middle.straight", "4"), "middle.span", "measure this span both ways again."),
    (changed("middle.span", "5 1/8") | {"bridge": "3/4"}, "middle.span", "measure it again."),
    (changed("ring.span", "3 1/2") | {"bridge": "1/2"}, "ring.span", "measure both again."),
    (changed("ring.span", 3.3) | {"bridge": 0.5}, "bridge", "twice and take the means."),
    (changed("ring.bore", "25/32"), "ring.bore", "measure both diameters again."),
    (changed("thumb.pitch", {"forward": "7/8"}), "thumb.pitch", "read it again."),
    (changed("middle.depth", "1/4"), "middle.pitch", "or leave the pitch out."),
    (
        changed("middle.pitch", {"right": "3/4"}) | {"bridge": "1/8"},
        "ring.pitch",
        "measure both holes' pitch and depth again.",
    ),
]


@pytest.mark.parametrize(("data", "field", "end"), ODD)
def test_an_odd_figure_is_told(data: Any, field: str, end: str) -> None:
    again = copied(parse_measured(data)).again
    assert any(each.field == field and each.words.endswith(end) for each in again), again


def test_a_ball_measured_well_has_nothing_to_measure_again() -> None:
    data = changed("middle.straight", "4 3/16")
    assert copied(parse_measured(data)).again == ()


REFUSED = [
    (
        changed("ring.span", 2.9),
        "bridge",
        "measure the bridge and both spans from the thumb again.",
    ),
    (changed("ring.span", "3 1/4") | {"thumb": None}, "bridge", "from the palm mark again."),
    (changed("ring.span", "4 1/8") | {"bridge": 0}, "bridge", "from the thumb again."),
    (changed("ring.bore", None), "ring.bore", "outer edge of its ring at the surface."),
    (changed("ring.bore", "5/8"), "ring.bore", "measure this and what stands beside it again."),
    (changed("thumb.bore", 1.25), "thumb.bore", "possible: leave it out, or sleeve true."),
    (changed("rule", "tape"), "rule", 'possible: "flexible" or "stiff".'),
    (changed("thumb.span", 4), "thumb.span", "oval."),
]


@pytest.mark.parametrize(("data", "field", "end"), REFUSED)
def test_what_cannot_be_is_refused(data: Any, field: str, end: str) -> None:
    with pytest.raises(InputError) as refused:
        copied(parse_measured(data))
    assert refused.value.field.startswith(field)
    assert refused.value.words.endswith(end)


def test_a_bridge_between_finished_edges_is_that_between_bores_and_walls() -> None:
    """Sleeves level with the ball: the finished edges lie the sleeves' walls further apart."""
    bored = copied(parse_measured(MEASURED))
    wall = (31 / 32 - 3 / 4) / 2
    data = changed("bridge", 17 / 64 + 2 * wall) | {"bridge_between": "finished edges"}
    # along the ball a wall is a little longer than straight: rho(31/32) - rho(3/4) is 0.0006 in more
    assert copied(parse_measured(data)).grip.bridge == pytest.approx(bored.grip.bridge, abs=0.0015)


def test_a_figure_that_is_a_reading_is_as_sure_as_that() -> None:
    """The stated errors of one reading: 1/64 in, of a pitch 1/32 in."""
    copy = copied(parse_measured(MEASURED))
    for field, deviation in (("ring.span", 1 / 64), ("thumb.diameter", 1 / 64)):
        assert copy.figure(field).deviation == pytest.approx(deviation, rel=1e-9)
    assert copy.figure("thumb.pitch.forward").deviation == pytest.approx(1 / 32, rel=1e-9)


def test_an_outer_finger_keeps_its_span_and_gap() -> None:
    outer = {"span": "3 3/4", "gap": "1/4", "diameter": "5/8", "depth": 1, "depth_from": "axis"}
    little = copied(parse_measured(changed("little", outer))).grip.little
    assert little is not None
    assert (little.span, little.gap, little.depth) == (3.75, 0.25, 1.0)


def test_a_form_that_is_not_filled_in_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "form.json"
    assert main(["grip", "--new", str(path)]) == 0
    capsys.readouterr()
    assert main(["grip", str(path)]) == 2
    assert "null is not possible" in capsys.readouterr().err
    form = json.loads(form_text("2026-01-02"))
    filled = {**form, **MEASURED}
    for name in ("middle", "ring", "thumb"):
        filled[name] = {**form[name], "pitch": {}, **MEASURED[name]}
    assert copied(parse_measured(filled)).figure("thumb.depth").measured == 2.75


def test_help_with_the_fit_marks_every_step_and_ends_with_a_line_for_the_notes(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["grip", "--fit"]) == 0
    listed = capsys.readouterr().out
    for complaint in COMPLAINTS:
        assert complaint.name in listed
        assert main(["grip", "--fit", complaint.name]) == 0
        text = " ".join(capsys.readouterr().out.split())
        assert text.count("common practice, no source") >= len(complaint.steps)
        assert "for a doctor" in text
    notes = load_job(job).notes
    assert main(["grip", "--fit", "knuckle", "--into", str(job)]) == 0
    line = load_job(job).notes.removeprefix(notes).strip()
    assert line in capsys.readouterr().out
    assert " fit, knuckle: changed ____" in line
    assert main(["grip", "--fit", "tennis elbow"]) == 2
    assert "thumb-hangs" in capsys.readouterr().err


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_guide_is_one_page_whose_texts_are_large_and_clear_of_each_other(paper: Any) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    figure = guide_figure(paper)
    renderer = FigureCanvasAgg(figure).get_renderer()
    boxes = []
    for text in figure.axes[0].texts:
        assert text.get_fontsize() >= 8.0
        x0, y0, x1, y1 = text.get_window_extent(renderer).extents  # one pixel is one point
        assert x0 > 28.0
        assert x1 < PAPERS[paper][0] - 28.0
        assert y0 > 28.0
        boxes.append((x0, y0 + 1.5, x1, y1 - 1.5, text.get_text()))  # a line's own leading
    for i, (a0, b0, a1, b1, one) in enumerate(boxes):
        for c0, d0, c1, d1, other in boxes[:i]:
            assert a0 >= c1 or c0 >= a1 or b0 >= d1 or d0 >= b1, (one, other)


def test_the_guide_is_written_as_a_pdf_of_the_paper(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "guide.pdf"
    assert main(["grip", "--guide", str(out), "--paper", "a4"]) == 0
    (page,) = pypdf.PdfReader(out).pages
    assert float(page.mediabox.width) == pytest.approx(595.3, abs=0.1)
    capsys.readouterr()
    assert main(["grip", "--guide", str(tmp_path / "guide.txt")]) == 2
    assert "possible: OUT.pdf" in capsys.readouterr().err
    assert main(["grip", "--guide", str(out), "--into", "job.json"]) == 2
    assert "--into: does not go with --guide" in capsys.readouterr().err


def test_a_large_pitch_or_depth_is_remarked_on_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "measured.json"
    for field, value in (("thumb.pitch", {"left": "1 1/2"}), ("middle.depth", 4)):
        path.write_text(json.dumps(changed(field, value)))
        assert main(["grip", str(path)]) == 0
        text = capsys.readouterr().out
        assert text.count("measure it again") + text.count("read it again") == 1, text
