"""What makes the window an entry of a system's menu that opens files ending in .layoutjob.

Everything is text or bytes here; the command writes it. Linux: Desktop Entry Specification 1.5, Shared
MIME-info Specification 0.21, Icon Theme Specification 0.13. Windows: keys below HKEY_CURRENT_USER and a
link made by its own scripting host. macOS: an application bundle with its property list.
"""

from __future__ import annotations

import plistlib
from collections.abc import Mapping, Sequence
from pathlib import PurePosixPath
from typing import Literal

from layoutkit import __version__
from layoutkit.errors import InputError
from layoutkit.output import icon

System = Literal["linux", "windows", "macos"]
SYSTEMS: tuple[System, ...] = ("linux", "windows", "macos")

NAME = "layoutkit"
COMMENT = "Plan the drilling of a bowling ball"
ENDING = ".layoutjob"
MIME = "application/x-layoutkit-job"
_KIND = "layoutkit job"
_IDENTIFIER = "layoutkit.window"
_RESERVED = frozenset(" \t\n\"'\\><~|&;$*?#()`")  # of an Exec line's arguments
_ESCAPED = frozenset('"`$\\')


def files(system: System, program: Sequence[str]) -> dict[str, bytes]:
    """The files of an entry, by their paths below the folder where they belong.

    ``program`` is the window's program and its arguments. For Linux the folder is that of the user's
    data, for macOS that of applications; for Windows it is any, as `install.js` acts from where it is.
    Raises InputError where the program's path cannot stand in such a file.
    """
    if any(ord(letter) < 32 for word in program for letter in word):
        raise InputError(
            "the program's folder has a name that no menu can hold; install it elsewhere."
        )
    if system == "linux":
        return {
            f"applications/{NAME}-window.desktop": desktop_entry(program).encode(),
            f"mime/packages/{NAME}.xml": mime_type().encode(),
            f"icons/hicolor/scalable/apps/{NAME}.svg": icon.svg().encode(),
        }
    if system == "windows":
        # the scripting host reads UTF-16 with a mark, so that any folder's name is right
        return {
            "install.js": windows_script(program).encode("utf-16"),
            "remove.js": windows_removal(program).encode("utf-16"),
            f"{NAME}.ico": icon.ico(),
        }
    bundle = f"{NAME}.app/Contents"
    return {
        f"{bundle}/Info.plist": property_list(),
        f"{bundle}/MacOS/{NAME}": launcher(program).encode(),
        f"{bundle}/Resources/{NAME}.icns": icon.icns(),
    }


def desktop_entry(program: Sequence[str]) -> str:
    """The entry of a Linux menu."""
    # a value's own escapes come on top of those of its quoted arguments
    line = " ".join(_argument(word) for word in program).replace("\\", "\\\\")
    return (
        "[Desktop Entry]\n"
        "Type=Application\n"
        "Version=1.5\n"
        f"Name={NAME}\n"
        f"Comment={COMMENT}\n"
        f"Exec={line} %f\n"
        f"Icon={NAME}\n"
        "Terminal=false\n"
        "Categories=Engineering;Science;\n"
        f"MimeType={MIME};\n"
        "StartupNotify=true\n"
        "StartupWMClass=Layoutkit\n"
    )


def mime_type() -> str:
    """What a Linux system is to know of files that end so."""
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">\n'
        f'  <mime-type type="{MIME}">\n'
        f"    <comment>{_KIND}</comment>\n"
        '    <sub-class-of type="application/json"/>\n'
        f'    <glob pattern="*{ENDING}"/>\n'
        "  </mime-type>\n"
        "</mime-info>\n"
    )


def registry(program: Sequence[str]) -> Mapping[str, str]:
    """The keys of Windows' registry, below HKEY_CURRENT_USER, each with its default value."""
    kind = "layoutkit.job"
    return {
        rf"Software\Classes\{ENDING}": kind,
        rf"Software\Classes\{kind}": _KIND,
        rf"Software\Classes\{kind}\shell\open\command": f'{windows_line(program)} "%1"',
    }


def windows_line(words: Sequence[str]) -> str:
    """A command line in which each word is quoted; no path of Windows holds a quotation mark."""
    return " ".join(f'"{word}"' for word in words)


def windows_script(program: Sequence[str]) -> str:
    """A script for Windows' own scripting host, which writes the keys and the menu's link."""
    keys = [
        f"shell.RegWrite({_script(_key(key))}, {_script(value)});"
        for key, value in registry(program).items()
    ]
    return _lines(
        *_BEGIN,
        *keys,
        "var link = shell.CreateShortcut(place);",
        f"link.TargetPath = {_script(program[0])};",
        f"link.Arguments = {_script(windows_line(program[1:]))};",
        f"link.Description = {_script(COMMENT)};",
        r'var here = WScript.ScriptFullName.replace(/[^\\]*$/, "");',
        f'link.IconLocation = here + "{NAME}.ico";',
        "link.Save();",
    )


def windows_removal(program: Sequence[str]) -> str:
    """The script that takes away what `windows_script` made, as far as it is there."""
    keys: list[str] = []
    for key in registry(program):
        parts = key.split("\\")
        # a key goes only when none is below it: the deepest first, down to those of our own
        keys += ["\\".join(parts[:end]) for end in range(len(parts), 2, -1)]
    deepest = sorted(dict.fromkeys(keys), key=lambda key: -key.count("\\"))
    return _lines(
        *_BEGIN,
        'var files = new ActiveXObject("Scripting.FileSystemObject");',
        "function drop(key) { try { shell.RegDelete(key); } catch (absent) { } }",
        *(f"drop({_script(_key(key))});" for key in deepest),
        "if (files.FileExists(place)) files.DeleteFile(place);",
    )


_BEGIN = (
    'var shell = new ActiveXObject("WScript.Shell");',
    f'var place = shell.SpecialFolders("Programs") + "\\\\{NAME}.lnk";',
)


def _key(key: str) -> str:
    """A key of the user's as the scripting host names it; the end says that it is no value."""
    return f"HKCU\\{key}\\"


def _lines(*lines: str) -> str:
    return "".join(f"{line}\r\n" for line in lines)


def property_list() -> bytes:
    """What macOS is to know of the application and of the files that it opens."""
    return plistlib.dumps(
        {
            "CFBundleName": NAME,
            "CFBundleIdentifier": _IDENTIFIER,
            "CFBundleExecutable": NAME,
            "CFBundleIconFile": NAME,
            "CFBundlePackageType": "APPL",
            "CFBundleShortVersionString": __version__,
            "CFBundleVersion": __version__,
            "NSHighResolutionCapable": True,
            "CFBundleDocumentTypes": [
                {
                    "CFBundleTypeName": _KIND,
                    "CFBundleTypeExtensions": [ENDING[1:]],
                    "CFBundleTypeRole": "Editor",
                    "LSHandlerRank": "Owner",
                }
            ],
        }
    )


def launcher(program: Sequence[str]) -> str:
    """The script inside the macOS bundle; a file to open comes to Tk as an event, not as a word."""
    words = " ".join("'" + word.replace("'", "'\\''") + "'" for word in program)
    return f"#!/bin/sh\nexec {words}\n"


def is_program(path: str) -> bool:
    """Whether a file of `files` has to be executable."""
    return PurePosixPath(path).parent.name == "MacOS"


def _argument(word: str) -> str:
    """One argument of an Exec line: quoted where it has to be, and without field codes."""
    word = word.replace("%", "%%")
    if not _RESERVED & set(word):
        return word
    escaped = "".join(f"\\{each}" if each in _ESCAPED else each for each in word)
    return f'"{escaped}"'


def _script(text: str) -> str:
    """A text as a string of the scripting host's language."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
