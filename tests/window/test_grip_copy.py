"""A grip copied from a drilled ball, and help with the fit, on a real display."""

import pytest

from gui.state.grip_copy import measured_record
from layoutkit.bench.grip_copy import copied, record_grip
from layoutkit.job.measured import parse_measured

READ = {
    "diameter": "8.55", "bridge": "1/4",
    "middle.span": "4 3/8", "middle.diameter": "3/4", "middle.bore": "31/32",
    "middle.depth": "1 1/4", "middle.forward": "1/8", "middle.right": "1/16 l",
    "ring.span": "4 1/4", "ring.diameter": "23/32", "ring.depth": "1 1/4", "ring.right": "-1/16",
    "thumb.diameter": "1", "thumb.depth": "2 3/4", "thumb.forward": "1/8 rev",
}  # fmt: skip
# the same readings as a file states them
FILE = {
    "format": "layoutkit-grip", "version": 1, "hand": "left", "diameter": 8.55, "bridge": "1/4",
    "middle": {
        "span": "4 3/8", "diameter": "3/4", "sleeve": True, "bore": "31/32", "ready": True,
        "depth": "1 1/4", "pitch": {"forward": "1/8", "left": "1/16"},
    },
    "ring": {"span": "4 1/4", "diameter": "23/32", "depth": "1 1/4", "pitch": {"left": "1/16"}},
    "thumb": {"diameter": "1", "depth": "2 3/4", "pitch": {"reverse": "1/8"}},
}  # fmt: skip


def test_readings_are_typed_and_the_grip_is_taken_in_one_step(sample, hands, pump):
    p = sample.presenter
    before = dict(p.entries)
    hands.key(sample, "Control-g")
    dialog = sample.dialog
    pump(dialog.winfo_viewable, "the dialog")
    assert dialog.buttons["take"].instate(["disabled"])
    hands.write(dialog.inputs["diameter"], "8.55")
    for path, text in READ.items():
        dialog.values[path].set(text)
    hands.choose(dialog.inputs["hand"], "left")
    dialog.show()
    assert "For the record" in dialog.outcome.words
    # what was measured is there again the next time
    dialog.leave()
    hands.key(sample, "Control-g")
    dialog = sample.dialog
    pump(dialog.winfo_viewable, "the dialog again")
    assert dialog.outcome.copy is not None
    p.set_units("metric")
    assert " mm" in dialog.result.content
    p.set_units("fraction")
    assert " mm" not in dialog.result.content
    assert dialog.winfo_reqwidth() <= 1366
    assert dialog.winfo_reqheight() <= 730
    hands.press(dialog.buttons["take"])
    assert not p.problems
    expected = copied(parse_measured(FILE))
    assert p.document.record()["bowler"]["grip"].keys() >= {"middle", "ring", "thumb"}
    taken = p.job.bowler.grip
    assert taken.bridge == pytest.approx(expected.grip.bridge, abs=1e-4)
    assert taken.middle.span == expected.grip.middle.span
    sleeve, wanted = taken.middle.sleeve, expected.grip.middle.sleeve
    assert (sleeve.bore, sleeve.ready, sleeve.density) == (wanted.bore, True, wanted.density)
    assert sleeve.bore_depth == pytest.approx(wanted.bore_depth, abs=1e-4)
    assert taken.ring.pitch == expected.grip.ring.pitch
    assert taken.thumb.pitch.forward_net == -0.125
    assert taken.thumb.depth == pytest.approx(expected.grip.thumb.depth, abs=1e-4)
    assert taken.thumb.sleeve is None
    assert p.job.bowler.hand == "left"
    assert record_grip(expected)["ring"]["depth"] == pytest.approx(taken.ring.depth)
    p.undo()
    assert dict(p.entries) == before


def test_what_cannot_be_is_told_and_not_taken(sample, hands):
    sample.copy_grip()
    dialog = sample.dialog
    for path, text in (READ | {"bridge": "x"}).items():
        dialog.values[path].set(text)
    dialog.show()
    assert '"x"' in dialog.outcome.words
    assert dialog.outcome.words.startswith("Bridge: ")
    dialog.values["bridge"].set("1/4")
    for path, label in (
        ("ring.right", "Ring, Right, left: "),
        ("diameter", "Ball's diameter: "),
        ("thumb.diameter", "Thumb, Finished size: "),
    ):
        text = dialog.values[path].get()
        dialog.values[path].set("x")
        dialog.show()
        assert dialog.outcome.words.startswith(label)
        dialog.values[path].set(text)
    dialog.values["bridge"].set("x")
    dialog.show()
    assert dialog.buttons["take"].instate(["disabled"])
    assert parse_measured(measured_record({**READ, "hand": "left"})) == parse_measured(FILE)
    hands.key(dialog, "Escape")
    assert not sample.presenter.document.dirty


def test_a_trial_of_the_fit_becomes_a_dated_line_of_the_notes(sample, hands):
    notes = sample.presenter.entry("notes")
    sample.help_fit()
    dialog = sample.dialog
    hands.choose(dialog.choice, "The thumb slips out early")
    assert "Dry the hand and the hole." in dialog.steps.content
    assert "doctor" in dialog.steps.content
    line = dialog.line.get()
    assert "fit, thumb-slips" in line
    hands.press(dialog.buttons["add"])
    assert sample.presenter.entry("notes") == f"{notes}\n{line}"
    sample.presenter.undo()
    assert sample.presenter.entry("notes") == notes
    before = dict(sample.presenter.entries)
    sample.presenter.add_note("  ")  # nothing to note
    assert dict(sample.presenter.entries) == before
