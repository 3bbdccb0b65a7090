"""Opening, saving, settings, samples; recovery after a real kill of a real process."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from gui.state import files, recovery, settings
from gui.state.presenter import Presenter
from layoutkit.commands.main import main
from layoutkit.job.store import load_job


def write(path: Path, record: dict[str, Any]) -> Path:
    path.write_text(json.dumps(record), encoding="utf-8")
    return path


# --- opening and saving ---------------------------------------------------------------------------


def test_each_sample_is_opened_and_saved_without_change_to_its_meaning(
    presenter: Presenter, sample: Path, tmp_path: Path
) -> None:
    copy = tmp_path / sample.name
    copy.write_bytes(sample.read_bytes())
    assert presenter.open(copy)
    assert not presenter.document.dirty
    assert not presenter.problems
    assert presenter.save() == "saved"
    assert load_job(copy) == load_job(sample)
    assert presenter.save_as(tmp_path / "other.json") == "saved"
    assert load_job(tmp_path / "other.json") == load_job(sample)
    assert presenter.document.title == "other.json - layoutkit"


def test_a_sample_is_opened_without_its_file(presenter: Presenter, sample: Path) -> None:
    assert presenter.open_sample(sample)
    assert presenter.document.path is None
    assert presenter.save() == "unnamed"
    assert presenter.document.title == f"sample {sample.stem} - layoutkit"


def test_the_title_marks_what_is_not_saved(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    presenter.open(write(tmp_path / "job.json", record))
    assert presenter.document.title == "job.json - layoutkit"
    presenter.edit("title", "changed")
    assert presenter.document.title == "*job.json - layoutkit"
    presenter.save()
    assert presenter.document.title == "job.json - layoutkit"
    presenter.undo()
    assert presenter.document.dirty


def test_saving_keeps_what_was_there_before(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    path = write(tmp_path / "job.json", record)
    before = path.read_bytes()
    presenter.open(path)
    presenter.edit("title", "changed")
    presenter.save()
    assert files.backup(path).read_bytes() == before
    second = path.read_bytes()
    presenter.edit("title", "again")
    presenter.save()
    assert files.backup(path).read_bytes() == second
    presenter.save()  # nothing changed: the one before stays
    assert files.backup(path).read_bytes() == second
    assert sorted(p.name for p in tmp_path.glob("job*")) == ["job.json", "job.json.bak"]


def test_a_change_by_another_program_is_noticed(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    path = write(tmp_path / "job.json", record)
    presenter.open(path)
    presenter.look_at_disk()
    assert presenter.message == ""
    presenter.edit("title", "mine")
    theirs = write(path, {**record, "title": "theirs"}).read_bytes()
    presenter.look_at_disk()
    assert "job.json was changed by another program" in presenter.message
    presenter.edit("title", "mine again")
    presenter.look_at_disk()  # said once
    assert presenter.message == ""
    assert presenter.save() == "changed on disk"
    assert path.read_bytes() == theirs
    assert "another program" in presenter.message
    assert presenter.save(overwrite=True) == "saved"
    assert load_job(path).title == "mine again"
    assert files.backup(path).read_bytes() == theirs
    path.unlink()
    presenter.look_at_disk()
    assert "job.json was removed by another program" in presenter.message
    assert presenter.save() == "saved"
    presenter.edit("title", "and again")
    presenter.look_at_disk()
    assert presenter.message == ""


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "is empty"),
        ("{", "ends at line 1"),
        ("[1]", "one JSON object"),
        ('{"format": "other", "version": 1}', "format"),
        ('{"format": "layoutkit-job", "version": 3}', "made by a newer layoutkit"),
        ("\xff", "is not UTF-8"),
    ],
)
def test_what_is_no_record_is_refused_in_one_sentence(
    presenter: Presenter, tmp_path: Path, content: str, words: str
) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(content.encode("latin-1"))
    presenter.edit("title", "mine")
    assert not presenter.open(path)
    assert words in presenter.message
    assert presenter.entry("title") == "mine"
    assert not presenter.open(tmp_path / "none.json")
    assert "no such file" in presenter.message
    assert not presenter.open(tmp_path)
    assert "is a directory" in presenter.message


def test_what_no_field_can_show_is_refused_and_not_lost(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    record["ball"]["colour"] = "blue"
    path = write(tmp_path / "job.json", record)
    assert not presenter.open(path)
    assert presenter.message.startswith("ball.colour: unknown field")
    record["ball"].pop("colour")
    record["bowler"]["pap"] = {"over": 5, "up": 1, "down": 1}
    assert not presenter.open(write(path, record))
    assert "both given" in presenter.message


def test_an_unfinished_record_is_saved_and_opened_again_as_typed(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    presenter.open(write(tmp_path / "job.json", record))
    presenter.edit("layout.pin_to_pap", "4 3/")
    presenter.edit("ball.weight", "")
    assert presenter.save() == "saved"
    assert presenter.message.startswith("Saved job.json, unfinished: ")
    entries, problems = dict(presenter.entries), dict(presenter.problems)
    other = Presenter(tmp_path / "config")
    assert other.open(tmp_path / "job.json")
    assert dict(other.entries) == entries
    assert dict(other.problems) == problems
    assert other.plan is None


def test_a_record_for_a_returning_bowler_opens_with_what_is_to_be_filled_in(
    presenter: Presenter, tmp_path: Path, sample: Path
) -> None:
    out = tmp_path / "next.json"
    assert main(["new", str(out), "--from", str(sample)]) == 0
    assert presenter.open(out), presenter.message
    assert "ball.diameter" in presenter.problems
    assert presenter.entry("bowler.name") == load_job(sample).bowler.name


def test_what_cannot_be_written_is_told_and_nothing_is_lost(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    presenter.open(write(tmp_path / "job.json", record))
    presenter.edit("title", "changed")
    assert presenter.save_as(tmp_path / "none" / "job.json") == "failed"
    assert "cannot be written" in presenter.message
    assert presenter.document.dirty
    assert presenter.document.path == tmp_path / "job.json"
    assert presenter.save_as(tmp_path) == "failed"


def test_text_with_a_lone_surrogate_is_a_problem_and_can_still_be_saved(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    presenter.open(write(tmp_path / "job.json", record))
    presenter.edit("notes", "a\ud800")
    assert "notes" in presenter.problems
    presenter.keep_recovery()
    assert presenter.save() == "saved"
    assert Presenter(tmp_path / "c").open(tmp_path / "job.json")


def test_opening_ends_undo_steps_selection_and_comparison(
    presenter: Presenter, sample: Path
) -> None:
    presenter.open_sample(sample)
    assert presenter.save() == "unnamed"
    presenter.edit("title", "x")
    presenter.select("pin")
    presenter.next_step()
    presenter.keep_reference()
    presenter.new()
    assert not presenter.document.can_undo
    assert presenter.selected is None
    assert presenter.step is None
    assert presenter.reference is None
    assert presenter.plan is None


def test_samples_are_found_from_the_source() -> None:
    folder = Path(__file__).parents[2] / "sample_bowlers"
    assert [Path(p).name for p in files.samples()] == sorted(p.name for p in folder.glob("*.json"))
    assert files.samples()


def test_no_samples_is_said(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("layoutkit.job.samples.sample_folders", lambda: (tmp_path,))
    assert files.samples() == ()
    assert "sample_bowlers" in files.NO_SAMPLES


# --- settings -------------------------------------------------------------------------------------


def test_the_folder_follows_the_systems_habits(monkeypatch: pytest.MonkeyPatch) -> None:
    home = Path.home() / ".config" / "layoutkit"
    assert settings.config_dir({}) == home
    assert settings.config_dir({"XDG_CONFIG_HOME": "/x"}) == Path("/x/layoutkit")
    # "All paths set in these environment variables must be absolute": XDG Base Directory 0.8
    assert settings.config_dir({"XDG_CONFIG_HOME": "x"}) == home
    monkeypatch.setenv("XDG_CONFIG_HOME", "/y")
    assert Presenter().config == Path("/y/layoutkit")


def test_settings_come_back_and_two_windows_do_not_undo_each_others(tmp_path: Path) -> None:
    config = tmp_path / "config"
    assert settings.load(config) == settings.Settings()
    settings.change(config, width=1280, height=800)
    settings.change(config, text_size=14)
    assert settings.load(config) == settings.Settings(width=1280, height=800, text_size=14)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"width": "wide", "text_size": 1000, "units": "ells", "recent": [1]}',
        '{"width": true, "height": -5, "recent": "x", "unknown": 1}',
        "\xff",
        "[" * 100_000,
    ],
)
def test_settings_that_cannot_be_read_are_the_defaults(tmp_path: Path, text: str) -> None:
    (tmp_path / "settings.json").write_bytes(text.encode("latin-1"))
    assert settings.load(tmp_path) == settings.Settings()
    assert settings.change(tmp_path, text_size=12).text_size == 12


def test_settings_that_cannot_be_written_stop_nothing(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("")
    assert settings.change(blocked / "config", text_size=12).text_size == 12
    presenter = Presenter(blocked / "config")
    presenter.edit("title", "x")
    presenter.keep_recovery()
    presenter.close()


def test_recent_files_are_those_that_are_still_there(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    paths = [write(tmp_path / f"{i}.json", record) for i in range(12)]
    for path in (*paths, paths[3]):
        presenter.open(path)
    recent = settings.recent_files(presenter.config)
    assert recent[:2] == (paths[3], paths[11])
    assert len(recent) == settings.MOST_RECENT
    paths[3].unlink()
    assert settings.recent_files(presenter.config)[0] == paths[11]
    assert settings.load(presenter.config).last_folder == str(tmp_path)


# --- recovery -------------------------------------------------------------------------------------

EDITING = """
import sys
from pathlib import Path
from gui.state.presenter import Presenter
p = Presenter(Path(sys.argv[1]))
if len(sys.argv) > 2:
    assert p.open(sys.argv[2])
for i in range(1000000):
    p.edit("title", f"edit {i}")
    p.keep_recovery()
    if i == 3:
        print("ready", flush=True)
    if i >= 3 and len(sys.argv) > 3:
        sys.stdin.read()
"""


def start(config: Path, *more: str) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", EDITING, str(config), *more],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def kill(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.wait(10)
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            pipe.close()


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a signal of POSIX systems")
def test_work_killed_in_the_middle_is_offered_and_recovered(
    record: dict[str, Any], tmp_path: Path
) -> None:
    config = tmp_path / "config"
    job = write(tmp_path / "job.json", record)
    saved = job.read_bytes()
    process = start(config, str(job), "wait")
    assert recovery.find(config) == ()  # it lives
    kill(process)
    (found,) = recovery.find(config)
    assert found.work.entries["title"] == "edit 3"
    assert time.time() - found.time < 60.0
    assert recovery.find(config) == ()  # no second window offers it meanwhile
    presenter = Presenter(config)
    presenter.recover(found)
    assert presenter.entry("title") == "edit 3"
    assert presenter.document.path == job
    assert presenter.document.dirty
    assert not presenter.problems
    assert presenter.plan is not None
    assert "Recovered" in presenter.message
    assert job.read_bytes() == saved
    assert recovery.find(config) == ()  # the new window's own copy is no leftover
    assert presenter.save() == "saved"
    assert load_job(job).title == "edit 3"
    presenter.close()
    assert list((config / "recovery").iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a signal of POSIX systems")
def test_kills_at_any_moment_leave_a_whole_copy(tmp_path: Path) -> None:
    config = tmp_path / "config"
    for wait in (0.0, 0.05):
        process = start(config)
        time.sleep(wait)
        kill(process)
    found = recovery.find(config)
    assert len(found) == 2
    for each in found:
        assert int(each.work.entries["title"].removeprefix("edit ")) >= 3
        each.discard()
    assert list((config / "recovery").iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="kill -9 is a signal of POSIX systems")
def test_a_crash_during_the_second_recovery_loses_nothing(tmp_path: Path) -> None:
    config = tmp_path / "config"
    kill(start(config))
    (found,) = recovery.find(config)
    found.leave()
    (again,) = recovery.find(config)
    assert again.work == found.work
    again.discard()
    assert recovery.find(config) == ()


def test_a_copy_goes_when_nothing_is_unsaved_and_on_closing(presenter: Presenter) -> None:
    folder = presenter.config / "recovery"
    presenter.keep_recovery()
    assert not folder.exists()
    presenter.edit("title", "x")
    presenter.keep_recovery()
    assert len(list(folder.glob("*.json"))) == 1
    presenter.undo()
    presenter.keep_recovery()
    assert list(folder.iterdir()) == []
    presenter.redo()
    presenter.keep_recovery()
    presenter.close()
    assert list(folder.iterdir()) == []


def test_two_windows_of_one_process_keep_a_copy_each(tmp_path: Path) -> None:
    one, other = Presenter(tmp_path), Presenter(tmp_path)
    one.edit("title", "one")
    other.edit("title", "other")
    one.keep_recovery()
    other.keep_recovery()
    assert len(list((tmp_path / "recovery").glob("*.json"))) == 2
    assert recovery.find(tmp_path) == ()
    one.close()
    (left,) = (tmp_path / "recovery").glob("*.json")
    assert json.loads(left.read_text())["entries"]["title"] == "other"
    other.close()


def test_a_copy_is_written_only_when_something_changed(presenter: Presenter) -> None:
    presenter.edit("title", "x")
    presenter.keep_recovery()
    (copy,) = (presenter.config / "recovery").glob("*.json")
    before = copy.stat().st_ino  # each write makes a new file and puts it in place
    presenter.keep_recovery()
    assert copy.stat().st_ino == before
    presenter.edit("title", "y")
    presenter.keep_recovery()
    assert copy.stat().st_ino != before
    presenter.close()


@pytest.mark.parametrize(
    "text", ["", "{}", "[]", '{"format": "layoutkit-recovery", "version": 1, "entries": 3}']
)
def test_what_is_no_copy_is_passed_over(tmp_path: Path, text: str) -> None:
    folder = tmp_path / "recovery"
    folder.mkdir()
    (folder / "1-aaaaaaaa.json").write_text(text)
    assert recovery.find(tmp_path) == ()


def test_old_leftovers_are_swept(tmp_path: Path) -> None:
    folder = tmp_path / "recovery"
    folder.mkdir()
    old = time.time() - 2.0 * recovery.STALE_AFTER
    for name in (".1-aaaaaaaa.json.1-bbbbbbbb.tmp", "1-aaaaaaaa.lock"):
        (folder / name).write_text("")
        os.utime(folder / name, (old, old))
    (folder / "2-aaaaaaaa.lock").write_text("")
    recovery.find(tmp_path)
    assert [p.name for p in folder.iterdir()] == ["2-aaaaaaaa.lock"]


def test_work_that_cannot_be_kept_again_stays_where_it_was(tmp_path: Path) -> None:
    config = tmp_path / "config"
    lost = Presenter(config)
    lost.edit("title", "x")
    lost.keep_recovery()
    lost.document._keeper._lock.free(remove=False)  # as the system does when a process ends
    (found,) = recovery.find(config)
    blocked = tmp_path / "file"
    blocked.write_text("")
    presenter = Presenter(blocked)
    presenter.recover(found)
    assert presenter.entry("title") == "x"
    assert presenter.document.name == "new job"
    (again,) = recovery.find(config)
    again.discard()


def test_a_file_that_became_a_folder_is_told(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    path = write(tmp_path / "job.json", record)
    presenter.open(path)
    presenter.edit("title", "x")
    path.unlink()
    path.mkdir()
    presenter.look_at_disk()
    assert "is a directory" in presenter.message
    assert presenter.save() == "failed"
    assert "is a directory" in presenter.message
    assert not presenter.open_sample(path)
    without_file = Presenter(tmp_path / "c")
    without_file.look_at_disk()
    assert without_file.message == ""


# --- records of version 1, and what no field shows ------------------------------------------------

OLD = sorted((Path(__file__).parents[1] / "version1").glob("*.json"))


@pytest.mark.parametrize("path", OLD, ids=lambda p: p.stem)
def test_a_file_of_version_1_opens_as_the_job_that_it_states(
    presenter: Presenter, path: Path
) -> None:
    assert presenter.open(path)
    assert presenter.job == load_job(path)
    assert presenter.document.record()["version"] == 2
    assert "record of version 1" in presenter.message
    assert not presenter.document.dirty


def test_answers_to_questions_stay_in_the_record(
    presenter: Presenter, record: dict[str, Any], tmp_path: Path
) -> None:
    record["confirmed"] = {"bowler.grip.bridge": "9/16", "scale.arm": None}
    path = write(tmp_path / "job.json", record)
    assert presenter.open(path)
    presenter.edit("title", "another")
    assert presenter.save() == "saved"
    assert json.loads(path.read_text(encoding="utf-8"))["confirmed"] == record["confirmed"]


def test_saving_over_a_record_of_version_1_keeps_its_text_and_says_so_once(
    presenter: Presenter, tmp_path: Path
) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(OLD[0].read_bytes())
    assert presenter.open(path)
    assert presenter.save() == "saved"
    assert (tmp_path / "job.version1.json").read_bytes() == OLD[0].read_bytes()
    assert "kept as job.version1.json" in presenter.message
    assert json.loads(path.read_text(encoding="utf-8"))["version"] == 2
    assert load_job(path) == load_job(OLD[0])
    presenter.edit("title", "another")
    assert presenter.save() == "saved"
    assert "version 1" not in presenter.message
