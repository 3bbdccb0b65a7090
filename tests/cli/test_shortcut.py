"""`layoutkit shortcut`: entries of three systems' menus, read back by what reads such files."""

import configparser
import io
import json
import plistlib
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
from PIL import Image

from layoutkit.commands.main import main
from layoutkit.output import icon, shortcut

Captured = pytest.CaptureFixture[str]

ODD = '/opt/50% of "Zoë\'s" $HOME\\`x`/layoutkit-window'


def arguments(entry: str) -> list[str]:
    """The words of an entry's Exec line, read as the Desktop Entry Specification 1.5 says."""
    line = re.search(r"^Exec=(.*)$", entry, re.MULTILINE)
    assert line is not None
    value = re.sub(r"\\(.)", r"\1", line[1])  # the escapes of any string value
    words = re.findall(r'"((?:[^"\\]|\\.)*)"|(\S+)', value)
    return [
        (re.sub(r'\\(["`$\\])', r"\1", quoted) or plain).replace("%%", "%")
        for quoted, plain in words
    ]


@pytest.mark.parametrize("program", [(ODD,), ("/usr/bin/python3", "-m", "layoutkit.window")])
def test_a_linux_entry_starts_the_program_with_the_file(program: tuple[str, ...]) -> None:
    entry = shortcut.desktop_entry(program)
    assert arguments(entry) == [*program, "%f"]
    parser = configparser.RawConfigParser(strict=True)
    parser.read_string(entry)
    group = parser["Desktop Entry"]
    assert group["Type"] == "Application"
    assert group["MimeType"] == f"{shortcut.MIME};"
    kind = ElementTree.fromstring(shortcut.mime_type())[0]
    assert kind.attrib["type"] == shortcut.MIME
    assert [each.attrib.get("pattern") for each in kind][-1] == "*.layoutjob"


def test_a_windows_script_writes_keys_and_removes_the_same() -> None:
    path = r"C:\Users\Zoë O'Neil\layoutkit-window.exe"
    made = shortcut.files("windows", (path,))
    assert made["install.js"].startswith((b"\xff\xfe", b"\xfe\xff"))
    script = made["install.js"].decode("utf-16")
    # a string of that language is one of JSON's, too
    wrote = dict(re.findall(r"RegWrite\((\".*?\"), (\".*\")\);", script))
    values = {json.loads(key): json.loads(value) for key, value in wrote.items()}
    kind = values["HKCU\\Software\\Classes\\.layoutjob\\"]
    command = values[f"HKCU\\Software\\Classes\\{kind}\\shell\\open\\command\\"]
    assert command == f'"{path}" "%1"'
    removal = made["remove.js"].decode("utf-16")
    gone = [json.loads(each) for each in re.findall(r"drop\((\".*\")\);", removal)]
    assert set(values) <= set(gone)
    for i, key in enumerate(gone):  # no key before one that lies below it
        assert not any(later.startswith(key) for later in gone[i + 1 :])
    assert all("\\.layoutjob\\" in key or f"\\{kind}\\" in key for key in gone)


def test_a_macos_bundle_is_whole_and_starts_the_program(tmp_path: Path) -> None:
    made = shortcut.files("macos", (ODD,))
    listed = plistlib.loads(made["layoutkit.app/Contents/Info.plist"])
    assert f"layoutkit.app/Contents/MacOS/{listed['CFBundleExecutable']}" in made
    assert f"layoutkit.app/Contents/Resources/{listed['CFBundleIconFile']}.icns" in made
    assert listed["CFBundleDocumentTypes"][0]["CFBundleTypeExtensions"] == ["layoutjob"]
    if sys.platform == "win32":
        return
    program = tmp_path / 'it\'s "$HOME"'
    program.write_text("#!/bin/sh\necho started\n")
    program.chmod(0o755)
    done = subprocess.run(
        ["sh", "-c", shortcut.launcher((str(program),))], capture_output=True, text=True, check=True
    )
    assert done.stdout == "started\n"


def test_every_form_of_the_icon_holds_the_same_picture() -> None:
    pixels = Image.open(io.BytesIO(icon.png(128))).convert("RGBA")
    assert pixels.getpixel((0, 0))[3] == 0
    many = Image.open(io.BytesIO(icon.ico()))
    assert many.info["sizes"] == {(size, size) for size in icon.SIZES}
    for form in (icon.ico(), icon.icns()):
        opened = Image.open(io.BytesIO(form)).convert("RGBA")
        assert opened.tobytes() == pixels.tobytes()
    ball, *discs = ElementTree.fromstring(icon.svg()).findall("{http://www.w3.org/2000/svg}circle")
    assert float(ball.attrib["r"]) < 64
    for disc in discs:
        place = tuple(int(float(disc.attrib[axis])) for axis in ("cx", "cy"))
        tone = "#{:02x}{:02x}{:02x}".format(*pixels.getpixel(place)[:3])
        assert tone == disc.attrib["fill"]


@pytest.mark.skipif(sys.platform != "linux", reason="its own entry is another")
def test_it_is_installed_and_goes_without_leftovers(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("PATH", str(tmp_path))
    other = tmp_path / "data" / "applications" / "other.desktop"
    other.parent.mkdir(parents=True)
    other.write_text("")
    assert main(["shortcut"]) == 0
    entry = (other.parent / "layoutkit-window.desktop").read_text()
    assert arguments(entry)[-1] == "%f"
    told = capsys.readouterr().out
    assert "update-desktop-database and update-mime-database must be installed" in told
    assert (tmp_path / "data/icons/hicolor/scalable/apps/layoutkit.svg").read_text() == icon.svg()
    assert main(["shortcut", "--remove"]) == 0
    assert [p for p in (tmp_path / "data").rglob("*") if p.is_file()] == [other]
    assert [p.name for p in (tmp_path / "data").iterdir()] == ["applications"]


def test_another_systems_entry_goes_into_a_folder_only(tmp_path: Path, capsys: Captured) -> None:
    other = "macos" if sys.platform != "darwin" else "windows"
    assert main(["shortcut", "--for", other]) == 2
    assert "say with --out where the files go" in capsys.readouterr().err
    assert main(["shortcut", "--for", "macos", "--out", str(tmp_path)]) == 0
    assert (tmp_path / "layoutkit.app/Contents/MacOS/layoutkit").stat().st_mode & 0o100
    assert main(["shortcut", "--for", "macos", "--out", str(tmp_path), "--remove"]) == 0
    assert list(tmp_path.iterdir()) == []


def test_a_linux_entry_elsewhere_is_not_called_in_the_menu(
    tmp_path: Path, capsys: Captured
) -> None:
    assert main(["shortcut", "--for", "linux", "--out", str(tmp_path)]) == 0
    assert "Put what is in that folder into ~/.local/share" in capsys.readouterr().out


def test_a_folder_of_jobs_holds_both_endings(
    tmp_path: Path, record: dict[str, object], capsys: Captured
) -> None:
    for name in ("a.json", "b.layoutjob", "C.LAYOUTJOB", "notes.txt"):
        (tmp_path / name).write_text(json.dumps(record))
    assert main(["plan", str(tmp_path), "--json"]) == 0
    assert capsys.readouterr().out.count('"file"') == 3
