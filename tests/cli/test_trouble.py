"""Trouble that nobody planned for: one sentence, its own exit code, and no traceback on the terminal."""

import contextlib
import json
import os
import signal
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from layoutkit import __main__ as program
from layoutkit.commands import main as command_line
from layoutkit.commands import plan as plan_command

Captured = pytest.CaptureFixture[str]
SAMPLE = str(next((Path(__file__).parents[2] / "sample_bowlers").glob("01*.json")))


def broken(error: BaseException, cause: BaseException | None = None) -> object:
    def run(args: object) -> int:
        raise error from cause

    return plan_command.COMMAND._replace(run=run)


def test_an_error_of_the_program_is_70_and_names_its_log(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Captured
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setitem(command_line.COMMANDS, "plan", broken(ZeroDivisionError("x")))
    assert command_line.main(["plan", SAMPLE]) == 70
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    log = tmp_path / "layoutkit" / "error.log"
    assert str(log) in err
    assert "ZeroDivisionError: x" in log.read_text()


@pytest.mark.parametrize("state", ["/proc/nowhere", "/dev/null/under"])
def test_a_log_that_cannot_be_written_there_is_written_elsewhere(
    state: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Captured
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", state)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setitem(command_line.COMMANDS, "plan", broken(ZeroDivisionError("x")))
    assert command_line.main(["plan", SAMPLE]) == 70
    (log,) = tmp_path.iterdir()
    assert str(log) in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "cause"),
    [(KeyboardInterrupt(), None), (ImportError("numpy"), KeyboardInterrupt())],
)
def test_ctrl_c_is_130_and_one_sentence(
    error: BaseException,
    cause: BaseException | None,
    monkeypatch: pytest.MonkeyPatch,
    capsys: Captured,
) -> None:
    monkeypatch.setitem(command_line.COMMANDS, "plan", broken(error, cause))
    monkeypatch.setattr(sys, "argv", ["layoutkit", "plan", SAMPLE])
    monkeypatch.setattr(command_line.gc, "disable", lambda: None)
    monkeypatch.setattr(command_line.gc, "freeze", lambda: None)
    assert program.run() == 130
    assert capsys.readouterr() == ("", "layoutkit: stopped; no file was left half-written.\n")


@pytest.mark.skipif(sys.platform == "win32", reason="a process cannot be sent ctrl-C there")
@pytest.mark.parametrize(
    "command", [["sure", "--draws", "100000"], ["map", "--step", "0.25", "--out", "maps.pdf"]]
)
def test_ctrl_c_ends_a_long_command_below_its_bar(command: list[str], tmp_path: Path) -> None:
    """At a terminal, as soon as the bar is there: what is written is whole, and no file is left."""
    import pty

    try:
        ours, its = pty.openpty()
    except OSError:  # a bare change of root: no /dev/pts
        pytest.skip("this machine gives out no terminals")
    with subprocess.Popen(
        [sys.executable, "-m", "layoutkit", command[0], str(SAMPLE), *command[1:]],
        stdout=subprocess.PIPE,
        stderr=its,
        cwd=tmp_path,
        # whoever runs the tests in the background may have ctrl-C ignored, which is passed on
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    ) as started:
        os.close(its)
        seen = b""
        while b" of " not in seen:
            seen += os.read(ours, 1000)
        started.send_signal(signal.SIGINT)
        with contextlib.suppress(OSError):  # what a terminal says whose other end is closed
            while more := os.read(ours, 1000):
                seen += more
        out, _ = started.communicate()
    os.close(ours)
    assert (started.returncode, out) == (130, b"")
    assert seen.endswith(b"\r\nlayoutkit: stopped; no file was left half-written.\r\n")
    assert list(tmp_path.iterdir()) == []


def test_ctrl_c_during_the_first_imports(monkeypatch: pytest.MonkeyPatch) -> None:
    class Stop:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "layoutkit.commands.main":
                raise KeyboardInterrupt

    monkeypatch.delitem(sys.modules, "layoutkit.commands.main")
    monkeypatch.setattr(sys, "meta_path", [Stop(), *sys.meta_path])
    assert program.run() == 130


@pytest.mark.parametrize("time", [1e300, float("nan"), -1, "x", None, 10**400, True, []])
def test_a_recovery_copy_with_a_broken_time_is_offered(time: object, tmp_path: Path) -> None:
    from gui.state import recovery

    work = {"entries": {"title": "kept"}, "saved": {}, "path": "", "digest": ""}
    copy = {"format": recovery.FORMAT, "version": 1, "time": time, **work}
    (tmp_path / "recovery").mkdir()
    path = tmp_path / "recovery" / "1-a.json"
    path.write_text(json.dumps(copy))
    (found,) = recovery.find(tmp_path)
    assert found.work.entries == {"title": "kept"}
    assert found.time == path.stat().st_mtime
    found.discard()
    assert list((tmp_path / "recovery").iterdir()) == []
