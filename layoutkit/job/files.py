"""Files of every kind: read and decoded with care, written whole or not at all.

Job records, rule sets, the shop's file, tables of labels and tracks all come through here, so that
a file that is missing, too large or garbled is refused in the same words whatever it should hold.
``what`` is the noun for that, such as "a job record".
"""

import contextlib
import errno
import json
import math
import os
import re
import secrets
import stat
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NoReturn

from layoutkit.errors import InputError
from layoutkit.job.json_errors import json_error_words
from layoutkit.units import shown

JOB_RECORD = "a job record"
RULE_SET = "a rule set"
SHOP_FILE = "a shop's file"
LABEL_TABLE = "a table of labels"
BALL_LIST = "a list of balls"
TRACK_FILE = "a track"
MEASURED_GRIP = "a measured grip"

JOB_ENDINGS = (".layoutjob", ".json")  # of a job's file, in any case; what is in it is the same

LARGEST_FILE = 1_000_000  # bytes; a full record is some 2 kB, so more is no file of ours

_STALE_AFTER = 60.0  # seconds; a write takes milliseconds
_LONGEST_WAIT = 10.0  # seconds; for a file that another program changes
_BETWEEN_TRIES = 0.005  # seconds
_LONGEST_HELD = 2.0  # seconds; for a file that a scanner or a viewer holds
_BETWEEN_REPLACES = 0.05  # seconds
_HELD = (5, 32, 33)  # ERROR_ACCESS_DENIED, ERROR_SHARING_VIOLATION, ERROR_LOCK_VIOLATION
_NOT_ON_SHARES = (errno.EINVAL, errno.ENOSYS, errno.ENOTSUP, errno.EPERM, errno.EACCES)
_BUSY = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK)


class _Refused(ValueError):
    """JSON that Python reads but no file may hold; the words are the rest of a sentence."""


# --- reading --------------------------------------------------------------------------------------


def read_bytes(path: str | Path, what: str, most_bytes: int = LARGEST_FILE) -> bytes:
    """The bytes of a file; raises InputError where it cannot be read or is too large."""
    try:
        with open(path, "rb") as file:
            data = file.read(most_bytes + 1)
    except FileNotFoundError:
        raise InputError(f"no such file; give the path of {what}.", file=file_name(path)) from None
    except IsADirectoryError:
        raise InputError(
            f"is a directory; give the path of {what}.", file=file_name(path)
        ) from None
    except (OSError, ValueError) as error:
        raise InputError(f"cannot be read: {_reason(error)}.", file=file_name(path)) from None
    _limit_size(len(data), path, what, most_bytes)
    return data


def utf_text(data: bytes) -> str:
    """The text of bytes in UTF-16, which a byte order mark says, or in UTF-8 with or without one.

    Raises UnicodeDecodeError for others.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16")
    return data.decode("utf-8-sig")  # some editors put a mark first


def decode_text(data: bytes, name: str | Path, what: str) -> str:
    """The text in a file's bytes; raises InputError where they are too many or no `utf_text`."""
    _limit_size(len(data), name, what)
    try:
        return utf_text(data)
    except UnicodeDecodeError as error:
        words = f"is not UTF-8 text: byte 0x{data[error.start]:02x} at offset {error.start}"
        if error.encoding == "utf-8":
            with contextlib.suppress(UnicodeDecodeError):
                near = data[max(error.start - 12, 0) : error.start + 12].decode("cp1252")
                words += f" (in code page 1252 it reads {shown(near)}); save it as UTF-8"
        raise InputError(f"{words}.", file=file_name(name)) from None


def read_text(path: str | Path, what: str) -> str:
    """The text of a file; raises InputError where it cannot be read or is no text."""
    return decode_text(read_bytes(path, what), path, what)


def decode_json(data: bytes | str, name: str | Path, what: str) -> dict[str, Any]:
    """The JSON object in a file's bytes or text; ``name`` stands for the file in messages.

    Raises InputError where it is no JSON object.
    """
    file = file_name(name)
    _limit_size(len(data), name, what)
    text = decode_text(data, name, what) if isinstance(data, bytes) else data
    if not text.strip():
        raise InputError(f"is empty; {what} is one JSON object.", file=file)
    try:
        content = json.loads(
            text,
            object_pairs_hook=_object,
            parse_constant=_constant,
            parse_int=_integer,
            parse_float=_real,
        )
    except json.JSONDecodeError as error:
        raise InputError(f"{json_error_words(text, error)}.", file=file) from None
    except _Refused as error:
        raise InputError(f"{error}.", file=file) from None
    except RecursionError:
        raise InputError(f"is nested too deeply to be {what}.", file=file) from None
    if not isinstance(content, dict):
        raise InputError(f"holds {shown(content)}; {what} is one JSON object.", file=file)
    return content


def read_json(path: str | Path, what: str) -> dict[str, Any]:
    """The JSON object in a file; raises InputError where it cannot be read or is none."""
    return decode_json(read_bytes(path, what), path, what)


def _limit_size(size: int, name: str | Path, what: str, most_bytes: int = LARGEST_FILE) -> None:
    if size > most_bytes:
        words = f"is too large; {what} has at most {most_bytes} bytes."
        raise InputError(words, file=file_name(name))


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    content = dict(pairs)
    if len(content) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise _Refused(f"the field {shown(key)} is given twice in one object; give it once")
            seen.add(key)
    return content


def _constant(token: str) -> NoReturn:
    raise _Refused(f"{token} is not a number that a file can hold; give a finite number")


def _integer(token: str) -> int:
    if len(token) > 300:  # int() itself gives up at some thousands
        raise _Refused(f"the number {token[:20]}... has {len(token)} digits; give a shorter one")
    return int(token)


def _real(token: str) -> float:
    value = float(token)
    if math.isinf(value):
        raise _Refused(f"the number {shown(token, 30)[1:-1]} is too large; give a finite number")
    return value


# --- one writer at a time --------------------------------------------------------------------------


@contextlib.contextmanager
def locked(path: str | Path, longest_wait: float = _LONGEST_WAIT) -> Iterator[None]:
    """Hold a file while it is read, changed and replaced, so that no other writer's change is lost.

    Every program that changes files through here waits for the one that holds the file, up to
    ``longest_wait`` seconds. The lock is a hidden file beside it, removed at the end; the system
    frees the lock of a program that was killed. It does not nest. Where no lock can be had, for the
    folder cannot be written or knows no locks, the file is not held: a write there is refused or as
    safe as the folder lets it be. Raises InputError where another program holds the file for longer.
    """
    target = Path(os.path.realpath(path))
    lock = target.with_name(f"{_prefix(target)}lock")
    give_up = time.monotonic() + longest_wait
    handle = _hold(lock)
    while handle is None:
        if time.monotonic() > give_up:
            words = (
                f"is being changed by another program for more than {longest_wait:g} s; "
                "nothing was written, try again."
            )
            raise InputError(words, file=file_name(path))
        time.sleep(_BETWEEN_TRIES)
        handle = _hold(lock)
    try:
        yield
    finally:
        if handle >= 0:
            _let_go(lock, handle)


def _hold(lock: Path) -> int | None:
    """The handle of a lock file that is now held; None while another holds it, -1 without locks."""
    try:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT, 0o600)
    except PermissionError:
        # elsewhere a lock file that is just being removed refuses to be opened
        return -1 if os.name == "posix" else None
    except (OSError, ValueError):
        return -1
    try:
        lock_handle(handle)
    except OSError as error:
        os.close(handle)
        return None if error.errno in _BUSY else -1
    # the one before may have removed its lock file between the opening and the locking
    try:
        same = os.path.samestat(os.fstat(handle), os.stat(lock))
    except OSError:
        same = False
    if not same:
        os.close(handle)
        return None
    return handle


def _let_go(lock: Path, handle: int) -> None:
    if os.name == "posix":  # while it is still held, so that nobody else's is removed
        with contextlib.suppress(OSError):
            os.unlink(lock)
        os.close(handle)
    else:  # an open file cannot be removed there, and one that another opened stays
        os.close(handle)
        with contextlib.suppress(OSError):
            os.unlink(lock)


def lock_handle(handle: int) -> None:
    """Lock an open file for this handle alone, without waiting; raises OSError where it is held."""
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


# --- writing --------------------------------------------------------------------------------------


def write_atomic(path: str | Path, data: bytes) -> None:
    """Replace a file's content in one step: a reader sees the old bytes or the new, never a part.

    Keeps the mode of an existing file and follows links. Clears away what an earlier write of the
    same file left behind when it was killed. Raises InputError where the file cannot be written; it
    is then as it was.
    """
    with _cannot_be_written(path):
        _replace(Path(os.path.realpath(path)), data)


def refuse_unwritable(path: str | Path) -> None:
    """Raise InputError, as `write_atomic` does, where it is plain beforehand that it would."""
    with _cannot_be_written(path):
        target = Path(os.path.realpath(path))
        _mode_of(target)
        os.stat(target.parent)


@contextlib.contextmanager
def _cannot_be_written(path: str | Path) -> Iterator[None]:
    """What goes wrong, as an InputError that says so of this file."""
    try:
        yield
    except InputError as error:
        raise InputError(f"cannot be written: {error.words}", file=file_name(path)) from None
    except (OSError, ValueError) as error:
        raise InputError(f"cannot be written: {_reason(error)}.", file=file_name(path)) from None


def add_line(path: str | Path, line: str) -> None:
    """Add a line to the end of a file, which is made where it is not there, and have it on the disk.

    A line that was torn before is ended first. Hold the file (`locked`) meanwhile. Raises InputError
    where the file cannot be written.
    """
    flags = os.O_RDWR | os.O_CREAT | os.O_APPEND | getattr(os, "O_BINARY", 0)
    with _cannot_be_written(path), open(os.open(path, flags, 0o600), "r+b") as file:
        end = file.seek(0, os.SEEK_END)
        torn = end > 0 and (file.seek(end - 1), file.read(1))[1] != b"\n"
        file.write(b"\n" * torn + line.encode("utf-8") + b"\n")
        file.flush()
        _sync(file.fileno())


def _mode_of(target: Path) -> int | None:
    """The mode of a file that is to be replaced, if it is there; refuses what cannot be replaced."""
    mode = None
    with contextlib.suppress(FileNotFoundError):
        mode = target.stat().st_mode
    if mode is not None:
        if stat.S_ISDIR(mode):
            raise InputError("it is a directory.")
        if not stat.S_ISREG(mode):
            raise InputError("it is not a plain file.")
        # a rename would pass over the write protection of the file itself
        if not os.access(target, os.W_OK):
            raise InputError("it is write-protected.")
    return mode


def _replace(target: Path, data: bytes) -> None:
    mode = _mode_of(target)
    _sweep(target)
    temp = target.with_name(f"{_prefix(target)}{os.getpid()}-{secrets.token_hex(4)}.tmp")
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(temp, flags, 0o666)  # less the umask, as for any new file
    try:
        with open(handle, "wb") as file:
            file.write(data)
            file.flush()
            _sync(file.fileno())
        if mode is not None:
            with _passing_over_what_shares_refuse():
                os.chmod(temp, stat.S_IMODE(mode))
        _put_in_place(temp, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temp)
        raise
    _sync_directory(target.parent)


def _put_in_place(temp: Path, target: Path) -> None:
    """Rename the new file to the old one's name; one that another program holds is tried for a while.

    A scanner holds a new file for some tenths of a second, a viewer for as long as it shows it. Raises
    InputError where the old file is held for longer.
    """
    give_up = time.monotonic() + _LONGEST_HELD
    while True:
        try:
            os.replace(temp, target)
            return
        except OSError as error:
            if not _is_held(error):
                raise
        if time.monotonic() > give_up:
            raise InputError("another program holds it; close it in the program that shows it.")
        time.sleep(_BETWEEN_REPLACES)


def _is_held(error: OSError) -> bool:
    """Whether a rename was refused because someone has the file open: Windows, or a share of it."""
    return error.errno == errno.EBUSY or getattr(error, "winerror", None) in _HELD


@contextlib.contextmanager
def _passing_over_what_shares_refuse() -> Iterator[None]:
    """Go on where a share knows no rights and no durable writing; a full or broken disk is told."""
    try:
        yield
    except OSError as error:
        if error.errno not in _NOT_ON_SHARES:
            raise


def _sync(handle: int) -> None:
    with _passing_over_what_shares_refuse():
        os.fsync(handle)


def _sync_directory(directory: Path) -> None:
    """Make the rename itself durable, where the system can open a directory."""
    with contextlib.suppress(OSError):
        handle = os.open(directory, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _prefix(target: Path) -> str:
    # a long name is cut, for the temporary name may not be longer than the system allows
    name = target.name if len(os.fsencode(target.name)) <= 200 else target.name[:48]
    return f".{name}."


def _sweep(target: Path) -> None:
    """Remove temporary files of this target whose writer is gone."""
    pattern = re.compile(re.escape(_prefix(target)) + r"([0-9]{1,10})-[0-9a-f]{8}\.tmp")
    with contextlib.suppress(OSError), os.scandir(target.parent) as entries:
        for entry in entries:
            match = pattern.fullmatch(entry.name)
            if match is None:
                continue
            with contextlib.suppress(OSError):
                age = time.time() - entry.stat(follow_symlinks=False).st_mtime
                if age > _STALE_AFTER or not _alive(int(match[1])):
                    os.unlink(entry.path)


def _alive(pid: int) -> bool:
    """Whether a process runs; where that cannot be asked harmlessly, it is taken to."""
    if os.name != "posix":  # elsewhere signal 0 is a real one
        return True
    try:
        os.kill(pid, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except OSError:
        return True
    return True


def file_name(path: object) -> str:
    """A file's name for a message: one printable line, shortened at the front."""
    text = os.fspath(path) if isinstance(path, os.PathLike) else str(path)
    text = text if len(text) <= 120 else "..." + text[-117:]
    return shown(text, 120)[1:-1] or '""'


def _reason(error: Exception) -> str:
    """The system's words for why, without a code or a path."""
    if isinstance(error, OSError) and error.strerror:
        return error.strerror[:1].lower() + error.strerror[1:]
    return str(error).replace("\n", " ")[:100]
