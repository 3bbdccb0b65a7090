"""Record files: what is refused in which words, and that a file is written whole or not at all."""

import errno
import json
import os
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from layoutkit.errors import InputError
from layoutkit.job import files
from layoutkit.job.files import JOB_RECORD, decode_json, read_bytes, write_atomic
from layoutkit.job.record import parse_job
from layoutkit.job.store import load_job, loads_job, save_job

RECORD: dict[str, Any] = {
    "format": "layoutkit-job",
    "version": 2,
    "title": "Prüfstück",
    "bowler": {
        "name": "Sample",
        "hand": "left",
        "pap": {"over": 5},
        "grip": {
            "bridge": "1/4",
            "middle": {"span": "4 3/8", "diameter": "3/4", "depth": 2},
            "ring": {"span": "4 1/4", "diameter": "3/4", "depth": 2},
            "thumb": None,
        },
    },
    "ball": {
        "name": "Sample ball",
        "diameter": 8.55,
        "weight": "15 lb 2 oz",
        "top_weight": 2.75,
        "pin_to_cg": 3,
    },
    "layout": {"by": "angles", "angle_at_pin": 50, "pin_to_pap": 4.5, "angle_at_pap": 35},
}
TEXT = json.dumps(RECORD)


def refusal(text: str, name: str = "job.json") -> str:
    with pytest.raises(InputError) as caught:
        loads_job(text, name)
    return one_sentence(caught.value)


def one_sentence(error: InputError) -> str:
    message = str(error)
    assert message.endswith(".")
    assert "\n" not in message
    assert "Errno" not in message
    assert len(message) < 400
    return message


def file_refusal(path: Path) -> str:
    with pytest.raises(InputError) as caught:
        load_job(path)
    return one_sentence(caught.value)


def test_a_saved_job_is_loaded_again(tmp_path: Path) -> None:
    job = parse_job(RECORD)
    path = tmp_path / "job.json"
    save_job(job, path)
    assert load_job(path) == job
    assert load_job(str(path)) == job
    assert "Prüfstück" in path.read_text("utf-8")
    assert os.listdir(tmp_path) == ["job.json"]


def test_text_is_read_with_or_without_a_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_text(TEXT, "utf-8-sig")
    assert load_job(path) == loads_job(TEXT) == parse_job(RECORD)


def test_files_that_cannot_be_read_are_refused(tmp_path: Path) -> None:
    missing = tmp_path / "none.json"
    assert file_refusal(missing) == f"{missing}: no such file; give the path of a job record."
    assert file_refusal(tmp_path) == f"{tmp_path}: is a directory; give the path of a job record."
    below = tmp_path / "file"
    below.write_bytes(b"")
    assert file_refusal(below / "x") == f"{below / 'x'}: cannot be read: not a directory."
    assert "cannot be read" in file_refusal(tmp_path / "a\0b")
    assert "too long" in file_refusal(tmp_path / ("x" * 5000))


def test_a_file_without_permission_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def denied(*args: object, **named: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), "x")

    monkeypatch.setattr("builtins.open", denied)
    message = file_refusal(tmp_path / "job.json")
    assert message == f"{tmp_path / 'job.json'}: cannot be read: permission denied."


def test_bytes_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(b'{"title": "\xff\x81"}')  # the latter is none of code page 1252 either
    assert file_refusal(path) == f"{path}: is not UTF-8 text: byte 0xff at offset 11."


def test_large_files_are_refused_without_reading_them_whole(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    with open(path, "wb") as file:
        file.truncate(10**9)
    assert file_refusal(path) == f"{path}: is too large; a job record has at most 1000000 bytes."
    assert "too large" in refusal(TEXT + " " * files.LARGEST_FILE)
    assert loads_job(TEXT.ljust(files.LARGEST_FILE)) == parse_job(RECORD)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is empty; a job record is one JSON object"),
        (" \n", "is empty; a job record is one JSON object"),
        ("[]", "holds a list; a job record is one JSON object"),
        ("null", "holds null; a job record is one JSON object"),
        ('"x"', 'holds "x"; a job record is one JSON object'),
        ('{\n "a": 1,\n}', 'is not JSON: a trailing comma before "}", line 2, column 8.'),
        ("{'a': 1}", "is not JSON at line 1, column 2: a single quote; JSON needs double quotes"),
        ('{"a": 1} x', "is not JSON at line 1, column 10: more text after the end of the JSON."),
        ('{"a": "x\ny"}', "is not JSON at line 1, column 9: a line break inside a text."),
        ('{"a": ', "ends at line 1, column 7, before the JSON is complete"),
        ('{"a": {\n"b": 1', "ends at line 2, column 7, before the JSON is complete"),
        ('{"a":\n "xyz', "ends inside the text that starts at line 2, column 2"),
        ('{"a": NaN}', "NaN is not a number that a file can hold; give a finite number"),
        ('{"a": -Infinity}', "-Infinity is not a number that a file can hold"),
        ('{"a": 1e999}', "the number 1e999 is too large; give a finite number"),
        (
            '{"a": {"span": 1, "x": 2, "span": 1}}',
            'the field "span" is given twice in one object; give it once',
        ),
        ('{"a\\n": 1, "a\\n": 1}', 'the field "a\\u000a" is given twice'),
        (
            '{"a": ' + "9" * 5000 + "}",
            "the number 99999999999999999999... has 5000 digits; give a shorter one",
        ),
        ("[" * 100_000, "is nested too deeply to be a job record"),
        ('{"a":' * 100_000, "is nested too deeply to be a job record"),
        ('{"format":' + "[" * 90_000 + "]" * 90_000 + "}", "is nested too deeply"),
    ],
    ids=range(21),
)
def test_text_that_is_no_record_is_refused(text: str, words: str) -> None:
    message = refusal(text)
    assert message.startswith(f"job.json: {words}")


def test_every_cut_of_a_record_is_refused_as_incomplete() -> None:
    for length in range(1, len(TEXT)):
        message = refusal(TEXT[:length])
        assert "ends " in message or "is not JSON at line 1" in message


def test_a_wrong_field_is_told_as_the_record_tells_it() -> None:
    assert refusal(TEXT.replace('"left"', '"none"')) == (
        'bowler.hand: "none" is not possible; possible: "right" or "left".'
    )
    digits = refusal(TEXT.replace("8.55", "9" * 250))
    assert digits == "ball.diameter: about 1e250 in is outside 8 to 9 in."


def test_a_nested_value_is_refused_where_it_stands() -> None:
    deep = TEXT.replace('"left"', "[" * 300 + "]" * 300)
    assert refusal(deep) == 'bowler.hand: a list is not possible; possible: "right" or "left".'


def test_names_are_made_printable_and_short() -> None:
    assert refusal("", "a\nb") == "a\\u000ab: is empty; a job record is one JSON object."
    assert refusal("", "d/" * 500 + "job.json").startswith("...")


def test_a_file_keeps_its_mode_and_a_new_one_obeys_the_umask(tmp_path: Path) -> None:
    old, new = tmp_path / "old", tmp_path / "new"
    old.write_bytes(b"x")
    old.chmod(0o640)
    before = os.umask(0o027)
    try:
        write_atomic(old, b"a")
        write_atomic(new, b"b")
    finally:
        os.umask(before)
    assert old.read_bytes() == b"a"
    assert stat.S_IMODE(old.stat().st_mode) == 0o640
    assert stat.S_IMODE(new.stat().st_mode) == 0o640


def test_a_link_still_links_after_a_write(tmp_path: Path) -> None:
    target, link = tmp_path / "target", tmp_path / "link"
    target.write_bytes(b"old")
    link.symlink_to(target)
    write_atomic(link, b"new")
    assert link.is_symlink()
    assert target.read_bytes() == b"new"


def test_places_that_cannot_be_written_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def words(path: Path) -> str:
        with pytest.raises(InputError) as caught:
            write_atomic(path, b"x")
        return one_sentence(caught.value).removeprefix(f"{path}: ")

    assert words(tmp_path) == "cannot be written: it is a directory."
    assert words(tmp_path / "no" / "x") == "cannot be written: no such file or directory."
    assert "cannot be written" in words(tmp_path / "a\0b")
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    assert words(pipe) == "cannot be written: it is not a plain file."
    assert stat.S_ISFIFO(pipe.stat().st_mode)
    plain = tmp_path / "plain"
    plain.write_bytes(b"kept")
    # asked of the system, so that the test also fails where the superuser runs it
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert words(plain) == "cannot be written: it is write-protected."
    assert plain.read_bytes() == b"kept"


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    step: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*args: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    path = tmp_path / "job.json"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, step, full)
    with pytest.raises(InputError, match=r"job\.json: cannot be written: no space left on device"):
        write_atomic(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["job.json"]


def test_an_interrupted_write_leaves_no_temporary_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*args: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_atomic(tmp_path / "job.json", b"new")
    assert os.listdir(tmp_path) == []


def test_what_a_killed_write_left_is_swept_and_nothing_else(tmp_path: Path) -> None:
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    own = os.getpid()
    dead = tmp_path / f".job.json.{ended.pid}-0123abcd.tmp"
    running = tmp_path / f".job.json.{own}-0123abcd.tmp"
    old = tmp_path / f".job.json.{own}-0123abce.tmp"
    others = [
        tmp_path / f".other.json.{ended.pid}-0123abcd.tmp",
        tmp_path / f".job.json.{ended.pid}-0123abcd.tmp.bak",
        tmp_path / ".job.json.mine.tmp",
        tmp_path / "job.json.bak",
    ]
    for path in (dead, running, old, *others):
        path.write_bytes(b"x")
    past = time.time() - 120.0
    os.utime(old, (past, past))
    write_atomic(tmp_path / "job.json", b"new")
    expected = {"job.json", running.name, *(path.name for path in others)}
    assert set(os.listdir(tmp_path)) == expected


def test_what_another_user_is_writing_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def foreign(pid: int, signal_: int) -> None:
        raise PermissionError(errno.EPERM, os.strerror(errno.EPERM))

    temp = tmp_path / ".job.json.4711-0123abcd.tmp"
    temp.write_bytes(b"x")
    monkeypatch.setattr(os, "kill", foreign)
    write_atomic(tmp_path / "job.json", b"new")
    assert temp.exists()


def test_a_very_long_name_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / ("x" * 250)
    write_atomic(path, b"new")
    assert path.read_bytes() == b"new"
    assert os.listdir(tmp_path) == [path.name]


@pytest.mark.skipif(os.name != "posix", reason="needs a kill that cannot be caught")
def test_a_file_is_whole_whenever_its_writer_is_killed(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    code = (
        "import sys; from layoutkit.job.files import write_atomic\n"
        "n = 0\n"
        "while True:\n"
        "    n += 1\n"
        "    write_atomic(sys.argv[1], (str(n % 10) * 200_000).encode())\n"
        "    print(n, flush=True)\n"
    )
    for round_ in range(6):
        with subprocess.Popen(
            [sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == "1\n"
            time.sleep(0.002 * round_)
            writer.send_signal(signal.SIGKILL)
        content = path.read_bytes()
        assert len(content) == 200_000
        assert len(set(content)) == 1
    write_atomic(path, b"last")
    assert os.listdir(tmp_path) == ["job.json"]


def test_a_record_that_is_no_job_yet_is_decoded_all_the_same(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(b'\xef\xbb\xbf{"format": "layoutkit-job", "ball": null}')
    data = read_bytes(path, JOB_RECORD)
    assert decode_json(data, path, JOB_RECORD) == {"format": "layoutkit-job", "ball": None}
    assert decode_json('{"a": 1}', "it", JOB_RECORD) == {"a": 1}
    with pytest.raises(InputError, match="one JSON object"):
        decode_json("[1]", "it", JOB_RECORD)
    with pytest.raises(InputError, match="too large"):
        decode_json(" " * (files.LARGEST_FILE + 1), "it", JOB_RECORD)
