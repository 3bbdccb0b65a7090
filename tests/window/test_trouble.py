"""Faults, kills and bad starts: the record is not lost, and one sentence says what happened."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest

import layoutkit
from gui import app as app_module
from gui.state.presenter import UNKEPT

SAMPLES = sorted((Path(__file__).parents[2] / "sample_bowlers").glob("*.json"))

# opens a job, types a name, waits until the recovery copy is there, and then hangs
TYPIST = """
import sys, time
from pathlib import Path
from gui.app import App
config, job = map(Path, sys.argv[1:])
app = App(config)
window = app.open_window()
assert window.presenter.open(job)
while not window.ball.frames:
    app.root.update()
entry = window.form.rows["bowler.name"].inputs[0]
entry.focus_force()
while entry.focus_displayof() is not entry:
    app.root.update()
for letter in "XY":
    entry.event_generate(f"<Key-{letter}>")
while not list((config / "recovery").glob("*.json")):
    app.root.update()
print("typed", flush=True)
app.run()
"""


@pytest.fixture
def logged(app):
    """The application's own way of reporting, with its log in its own folder."""
    app_module.start_log(app.config)
    app.root.report_callback_exception = app.report
    yield app.config / app_module.LOG
    for handler in list(app_module.log.handlers):
        handler.close()
        app_module.log.removeHandler(handler)


def test_an_error_in_a_callback_is_told_and_logged_and_loses_nothing(
    sample, app, hands, pump, logged, monkeypatch
):
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Somebody")

    def broken(*_):
        raise ZeroDivisionError("an invented fault")

    monkeypatch.setattr(sample.presenter, "keep_reference", broken)
    hands.key(sample, "F9")
    assert "fault of this program" in sample.dialog.text
    assert str(logged) in sample.dialog.text
    hands.key(sample, "F9")  # one message is enough
    texts = [
        w.text for w in sample.winfo_children() if hasattr(w, "buttons") and hasattr(w, "text")
    ]
    assert len(texts) == 1
    log = logged.read_text()
    assert "an invented fault" in log
    assert "Traceback" in log
    hands.press(sample.dialog.buttons["close"])
    kept = list((app.config / "recovery").glob("*.json"))
    assert json.loads(kept[0].read_text())["entries"]["bowler.name"] == "Somebody"
    hands.write(sample.form.rows["bowler.name"].inputs[0], "Still alive")
    assert sample.presenter.entry("bowler.name") == "Still alive"


def test_an_error_is_told_while_the_list_of_a_choice_is_open(sample, app, pump, logged):
    box = sample.unit_box
    box.focus_force()
    app.root.tk.call("ttk::combobox::Post", box)
    pump(lambda: "popdown" in str(app.root.tk.call("focus")), "the keyboard in the list")
    sample.after(1, lambda: 1 / 0)
    pump(lambda: sample.dialog is not None, "the message")
    assert "ZeroDivisionError" in logged.read_text()
    app.root.tk.call("ttk::combobox::Unpost", box)


def test_an_error_is_told_by_the_window_that_has_the_keyboard(
    sample, app, pump, logged, open_window
):
    other = open_window()
    other.after(1, lambda: 1 / 0)
    pump(lambda: other.dialog is not None or sample.dialog is not None, "the message")
    assert sample.dialog is None


def test_an_error_while_painting_is_told_and_the_next_painting_works(
    sample, hands, pump, logged, monkeypatch
):
    pump(lambda: not sample.ball._pending.waiting, "the ball")
    fit = sample.ball._fit
    monkeypatch.setattr(sample.ball, "_fit", lambda *_: 1 / 0)
    sample.ball.schedule()
    pump(lambda: sample.dialog is not None, "the message")
    hands.press(sample.dialog.buttons["close"])
    monkeypatch.setattr(sample.ball, "_fit", fit)
    frames = sample.ball.frames
    sample.ball.schedule()
    pump(lambda: sample.ball.frames > frames, "the next frame")


def killed_typist(display, config, job):
    process = subprocess.Popen(
        [sys.executable, "-c", TYPIST, str(config), str(job)],
        env={**os.environ, "DISPLAY": display},
        stdout=subprocess.PIPE,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"typed\n"
    time.sleep(0.6)  # letters after the first copy
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()


def test_killed_while_typing_the_work_is_offered_and_recovered(
    display, app, open_window, hands, pump, tmp_path
):
    job = tmp_path / "job.json"
    job.write_bytes(SAMPLES[0].read_bytes())
    killed_typist(display, app.config, job)
    assert job.read_bytes() == SAMPLES[0].read_bytes()
    window = open_window()
    window.offer_recovery()
    assert "job.json" in window.dialog.text
    hands.press(window.dialog.buttons["recover"])
    name = window.presenter.entry("bowler.name")
    assert name.replace("Demo Bowler One", "") == "XY"
    assert window.form.rows["bowler.name"].text == name
    assert window.presenter.document.dirty
    assert window.title() == "*job.json - layoutkit"
    assert window.presenter.plan is not None
    hands.key(window, "Control-s")
    hands.press(window.dialog.buttons["overwrite"])  # it has another bowler's name
    assert json.loads(job.read_text())["bowler"]["name"] == name
    # saved, so nothing is left to offer
    window.dialog = None
    window.offer_recovery()
    assert window.dialog is None


def test_what_was_kept_can_wait_or_go(display, app, open_window, hands, tmp_path):
    job = tmp_path / "job.json"
    job.write_bytes(SAMPLES[0].read_bytes())
    killed_typist(display, app.config, job)
    window = open_window()
    for answer, offered_again in (("later", True), ("discard", False)):
        window.offer_recovery()
        hands.press(window.dialog.buttons[answer])
        window.dialog = None
        window.offer_recovery()
        assert (window.dialog is not None) == offered_again
        if window.dialog is not None:
            hands.press(window.dialog.buttons["later"])
    assert not window.presenter.document.dirty


# --- the program itself ---------------------------------------------------------------------------


def start(*arguments, **environment):
    env = {**os.environ, **environment}
    return subprocess.run(
        [sys.executable, "-m", "gui", *map(str, arguments)],
        env={k: v for k, v in env.items() if v},
        capture_output=True,
        text=True,
        timeout=60,
    )


@pytest.mark.parametrize(
    ("content", "words"),
    [(None, "no such file"), ("{", "before the JSON is complete"), ("[]", "a list")],
)
def test_a_job_that_cannot_be_opened_ends_with_one_sentence(display, tmp_path, content, words):
    path = tmp_path / "job.json"
    if content is not None:
        path.write_text(content)
    done = start(path, DISPLAY=display, XDG_CONFIG_HOME=str(tmp_path))
    assert done.returncode == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert "Traceback" not in done.stderr


def test_no_display_ends_with_one_sentence(tmp_path):
    done = start(DISPLAY="", XDG_CONFIG_HOME=str(tmp_path))
    assert done.returncode == 2
    assert done.stderr.startswith("layoutkit-window: no window can be opened here: ")
    assert len(done.stderr.splitlines()) == 1


def test_without_a_console_the_words_are_shown(monkeypatch):
    shown = []
    monkeypatch.setattr("tkinter.messagebox.showinfo", lambda title, text, **_: shown.append(text))
    monkeypatch.setattr("tkinter.Tk", lambda: SimpleNamespace(withdraw=list, destroy=list))
    monkeypatch.setattr(sys, "stderr", None)
    monkeypatch.setattr(sys, "stdout", None)
    with pytest.raises(SystemExit) as done:
        app_module.main(["--nonsense"])
    assert done.value.code == 2
    with pytest.raises(SystemExit):
        app_module.main(["--version"])
    assert shown == [
        "layoutkit-window: unrecognized arguments: --nonsense; see layoutkit-window --help.",
        f"layoutkit {layoutkit.__version__}",
    ]


# --- recovery copies that cannot be written ----------------------------------------------------------


def test_the_status_line_says_while_no_recovery_copy_can_be_kept(sample, app, hands, pump):
    copies = app.config / "recovery"
    app.config.mkdir(exist_ok=True)
    copies.write_text("")  # a file where the folder would be
    name = sample.form.rows["bowler.name"].inputs[0]
    hands.write(name, "Somebody")
    pump(lambda: sample.status.cget("text") == UNKEPT, "the warning")
    hands.write(name, "Somebody else")
    assert sample.status.cget("text") == UNKEPT
    copies.unlink()
    hands.write(name, "Another")
    pump(lambda: list(copies.glob("*.json")), "the copy")
    assert sample.status.cget("text") != UNKEPT


def test_a_record_that_is_silent_about_the_thumb_shows_it_as_missing(open_window, tmp_path):
    record = json.loads(SAMPLES[0].read_text("utf-8"))
    del record["bowler"]["grip"]["thumb"]
    job = tmp_path / "job.json"
    job.write_text(json.dumps(record))
    window = open_window()
    assert window.presenter.open(job)
    window.form.show_group("grip")
    window.update()
    row = window.form.rows["bowler.grip.thumb"]
    assert row.mark.winfo_ismapped()
    assert row.mark.cget("text") == "needed"
    assert window.presenter.save() == "saved"
    assert json.loads(job.read_text("utf-8")) == record
    row.inputs[0].invoke()
    row.inputs[0].invoke()
    assert not row.mark.winfo_ismapped()
    assert window.presenter.job.bowler.grip.thumb is None
