"""A customer who comes again, and jobs that are not to be lost, by keys on a real display."""

import pytest

from gui.state import programs
from gui.state.commands import command
from gui.state.document import read_entries
from layoutkit.errors import InputError


def test_another_customers_job_is_not_written_over_without_a_word(sample, hands, pump, chosen):
    path = sample.presenter.document.path
    before = path.read_bytes()
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Demo Bowler Ninety")
    hands.key(sample, "Control-s")
    assert "holds an earlier job (Demo Bowler One" in sample.dialog.text
    assert path.read_bytes() == before
    other = path.with_name("other.json")
    chosen(other)
    hands.press(sample.dialog.buttons["as"])
    assert path.read_bytes() == before
    assert read_entries(other).entries["bowler.name"] == "Demo Bowler Ninety"
    assert sample.presenter.document.path == other
    sample.presenter.edit("title", "another title")
    last = sample.dialog
    hands.key(sample, "Control-s")  # the same customer: nothing to ask
    assert sample.dialog is last
    assert not sample.presenter.document.dirty


def test_a_new_job_from_this_one_keeps_the_bowler_and_has_no_file(sample, hands):
    p = sample.presenter
    grip = {k: v for k, v in p.entries.items() if k.startswith("bowler.")}
    hands.key(sample, "Alt-n")
    assert p.document.path is None
    assert p.document.name == "new job from job.json"
    assert {k: v for k, v in p.entries.items() if k.startswith("bowler.")} == grip
    assert p.entry("ball.serial") == ""
    assert p.document.offered_name.startswith("demo-bowler-one")


def test_the_sheet_is_handed_to_the_systems_program(sample, pump, monkeypatch):
    handed = []
    monkeypatch.setattr(programs, "_start", handed.append)
    monkeypatch.setattr(programs.shutil, "which", lambda name: f"/usr/bin/{name}")
    sample.run(command("print_sheet"))
    pump(lambda: handed, "the sheet")
    ((program, path),) = handed
    assert program == "/usr/bin/lp"
    with open(path, "rb") as file:
        assert file.read(5) == b"%PDF-"
    monkeypatch.setattr(programs.shutil, "which", lambda _: None)
    with pytest.raises(InputError, match="no program to print it with"):
        programs.print_file(path)
