"""What Windows, macOS and network shares do otherwise, each simulated: folders, files, consoles, keys."""

import errno
import io
import json
import os
import sys
import time
from collections.abc import Callable
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace
from typing import Any

import pytest

from gui import app
from gui.state import settings
from gui.state.commands import command, keys_text, words_on_system
from layoutkit.bench.track import load_track
from layoutkit.book.schema import book_path
from layoutkit.commands.main import main
from layoutkit.errors import InputError
from layoutkit.job import files
from layoutkit.job.folders import user_folder
from layoutkit.job.store import load_job

ROAMING, LOCAL = r"C:\Users\Ann\AppData\Roaming", r"C:\Users\Ann\AppData\Local"


# --- folders --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "variables", "folder"),
    [
        ("settings", {"APPDATA": ROAMING}, rf"{ROAMING}\layoutkit"),
        ("settings", {"USERPROFILE": r"C:\Users\Ann"}, rf"{ROAMING}\layoutkit"),
        ("settings", {"APPDATA": ROAMING, "XDG_CONFIG_HOME": r"D:\set"}, r"D:\set\layoutkit"),
        (
            "settings",
            {"APPDATA": "roaming", "USERPROFILE": r"C:\Users\Ann"},
            rf"{ROAMING}\layoutkit",
        ),
        ("data", {"LOCALAPPDATA": LOCAL}, rf"{LOCAL}\layoutkit"),
        ("logs", {"USERPROFILE": r"C:\Users\Ann"}, rf"{LOCAL}\layoutkit"),
        ("state", {"LOCALAPPDATA": LOCAL}, rf"{LOCAL}\layoutkit"),
    ],
)
def test_folders_on_windows(kind: Any, variables: dict[str, str], folder: str) -> None:
    path = user_folder(kind, variables, "win32")
    assert PureWindowsPath(str(path)) == PureWindowsPath(folder)


@pytest.mark.parametrize(
    ("kind", "folder"),
    [
        ("settings", "Application Support"),
        ("data", "Application Support"),
        ("state", "Application Support"),
        ("logs", "Logs"),
    ],
)
def test_folders_on_macos(kind: Any, folder: str, tmp_path: Path) -> None:
    home = {"HOME": str(tmp_path)}
    assert user_folder(kind, home, "darwin") == tmp_path / "Library" / folder / "layoutkit"
    earlier = tmp_path / ".config" / "layoutkit"
    earlier.mkdir(parents=True)
    if kind == "settings":
        assert user_folder(kind, home, "darwin") == earlier


def test_the_book_lies_among_the_data() -> None:
    for platform, home in (("linux", {"HOME": "/h"}), ("win32", {"LOCALAPPDATA": LOCAL})):
        assert book_path(home, platform) == user_folder("data", home, platform) / "book.sqlite"


def test_without_a_home_it_is_said_and_the_window_still_has_a_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def unknown() -> Path:
        raise RuntimeError("no home")

    monkeypatch.setattr(Path, "home", unknown)
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with pytest.raises(InputError, match="no home folder is known; set XDG_DATA_HOME"):
        user_folder("data", {})
    assert tmp_path in settings.config_dir({}).parents
    for variable in ("HOME", "USERPROFILE", "XDG_STATE_HOME", "XDG_CONFIG_HOME"):
        monkeypatch.delenv(variable, raising=False)
    assert tmp_path in settings.log_dir().parents
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    assert settings.log_dir() == tmp_path / "state" / "layoutkit"


# --- files ----------------------------------------------------------------------------------------


def refusing(
    times: float, windows_code: int | None, code: int = errno.EACCES
) -> Callable[..., None]:
    """An `os.replace` that is refused so often, as where someone has the old file open."""
    replace, calls = os.replace, []

    def call(source: Path, target: Path) -> None:
        calls.append(source)
        if len(calls) <= times:
            error = OSError(code, os.strerror(code))
            if windows_code is not None:
                error.winerror = windows_code  # type: ignore[attr-defined]
            raise error
        replace(source, target)

    return call


@pytest.mark.parametrize(("windows_code", "code"), [(5, errno.EACCES), (None, errno.EBUSY)])
def test_a_replace_refused_once_is_tried_again(
    windows_code: int | None, code: int, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "replace", refusing(1, windows_code, code))
    files.write_atomic(path, b"new")
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


def test_a_replace_refused_for_good_is_named_after_two_seconds(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    path = tmp_path / "sheet.pdf"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "replace", refusing(float("inf"), 32))
    clock = [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: clock[0])
    monkeypatch.setattr(time, "sleep", lambda seconds: clock.append(clock.pop() + seconds))
    with pytest.raises(InputError, match="close it in the program that shows it"):
        files.write_atomic(path, b"new")
    assert clock[0] == pytest.approx(2.0, abs=0.1)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]


def test_a_rename_refused_for_another_reason_is_told_at_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(os, "replace", refusing(float("inf"), None))
    monkeypatch.setattr(time, "sleep", lambda _: pytest.fail("it waited"))
    with pytest.raises(InputError, match="permission denied"):
        files.write_atomic(tmp_path / "job.json", b"new")


@pytest.mark.parametrize("call", ["chmod", "fsync"])
@pytest.mark.parametrize(
    ("code", "stops"), [(errno.EPERM, False), (errno.EINVAL, False), (errno.EIO, True)]
)
def test_a_share_that_knows_no_rights_or_syncs_does_not_stop_a_save(
    call: str, code: int, stops: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    path = tmp_path / "job.json"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, call, refuse)
    if stops:
        with pytest.raises(InputError, match="cannot be written"):
            files.write_atomic(path, b"new")
    else:
        files.write_atomic(path, b"new")
    assert path.read_bytes() == (b"old" if stops else b"new")


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-be", "utf-8-sig"])
def test_records_and_tracks_with_a_mark_and_the_line_ends_of_windows(
    encoding: str, record: dict[str, Any], tmp_path: Path
) -> None:
    mark = b"\xfe\xff" if encoding == "utf-16-be" else b""
    record["bowler"]["name"] = "Zoë"
    job, track = tmp_path / "JOB.JSON", tmp_path / "track.txt"
    text = json.dumps(record, indent=2, ensure_ascii=False).replace("\n", "\r\n")
    job.write_bytes(mark + text.encode(encoding))
    assert load_job(job).bowler.name == "Zoë"
    lines = "hand = right\r\n-5 1/16, 4 11/16\r\n-3 1/8, 2\r\n-2 9/16, -3\r\n"
    track.write_bytes(mark + lines.encode(encoding))
    assert len(load_track(track).marks) == 3


def test_code_page_1252_is_refused_with_a_hint(record: dict[str, Any], tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    record["bowler"]["name"] = "Zoë"
    path.write_bytes(json.dumps(record, ensure_ascii=False).encode("cp1252"))
    with pytest.raises(InputError, match=r"in code page 1252 it reads .*Zoë.*save it as UTF-8"):
        load_job(path)


# --- consoles -------------------------------------------------------------------------------------


def test_a_console_of_code_page_1252(monkeypatch: pytest.MonkeyPatch) -> None:
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="cp1252") for _ in range(2))
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    assert main(["--help"]) == 0
    assert main(["plan", "Łódź.json"]) == 2
    assert b"\\u0141\xf3d\\u017a.json: no such file" in err.buffer.getvalue()  # type: ignore[attr-defined]


def test_a_closed_pipe_of_windows_is_no_error(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class Gone(io.StringIO):
        def flush(self) -> None:
            raise OSError(errno.EINVAL, "Invalid argument")

        def fileno(self) -> int:
            return os.open(tmp_path / "nowhere", os.O_WRONLY | os.O_CREAT)

    monkeypatch.setattr(sys, "stdout", Gone())
    assert main(["--help"]) == 0


# --- the window -----------------------------------------------------------------------------------


def test_command_stands_for_control_on_macos() -> None:
    assert command("save").accelerator() == "Ctrl+S"
    assert command("save").accelerator("aqua") == "Command+S"
    assert command("quit").sequences("aqua") == ("<Command-q>", "<Command-Q>")
    assert command("next_step").sequences("aqua") == ("<Option-Right>",)
    assert "Ctrl+" not in keys_text("aqua")
    assert "Command+Q" in keys_text("aqua")
    assert "Command while dragging" in keys_text("aqua")
    assert words_on_system("Ctrl+Z: take back.", "aqua") == "Command+Z: take back."
    assert words_on_system("Ctrl+Z: take back.", "x11") == "Ctrl+Z: take back."


def test_the_menu_of_macos_asks_before_it_quits() -> None:
    made: dict[str, Callable[..., object]] = {}
    told: list[object] = []
    window = SimpleNamespace(
        show_about=lambda: told.append("about"), presenter=SimpleNamespace(open=told.append)
    )
    shell = SimpleNamespace(
        root=SimpleNamespace(createcommand=made.__setitem__),
        windows=[window],
        quit=lambda: told.append("asked"),
        open_window=lambda: window,
    )
    app.App.adopt_menu_of_macos(shell)  # type: ignore[arg-type]
    made["tk::mac::Quit"]()
    made["tkAboutDialog"]()
    made["tk::mac::OpenDocument"]("/one.layoutjob", "/two.json")
    assert told == ["asked", "about", "/one.layoutjob", "/two.json"]


@pytest.mark.parametrize("old", [False, True])
def test_windows_hears_of_the_density_before_the_first_window(
    old: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    called: list[str] = []
    user32 = SimpleNamespace(SetProcessDPIAware=lambda: called.append("old"))
    shcore = SimpleNamespace(SetProcessDpiAwareness=lambda kind: called.append(f"new {kind}"))
    libraries = SimpleNamespace(user32=user32, **({} if old else {"shcore": shcore}))
    monkeypatch.setattr("ctypes.windll", libraries, raising=False)
    app.be_sharp("win32")
    assert called == ["old" if old else "new 1"]
    app.be_sharp("linux")
    assert len(called) == 1
