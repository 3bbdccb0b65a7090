"""A home folder that cannot be written costs no words of a drawing library before the answer."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_bowlers" / "01_right_asymmetric.json"
# also the superuser, whom no permission bit stops, can make no folder in either
HOMES = ["/proc", "a file"]


def environment(tmp_path: Path, home: str) -> dict[str, str]:
    if home == "a file":
        home = str(tmp_path / "home")
        Path(home).write_bytes(b"")
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    ours = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "MPL"))}
    return {**ours, "HOME": home, "TMPDIR": str(temporary), "PYTHONPATH": str(ROOT)}


def run(tmp_path: Path, home: str, *words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *words],
        env=environment(tmp_path, home),
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.mark.skipif(os.name != "posix", reason="a home is named by HOME")
@pytest.mark.parametrize(
    ("command", "option", "name", "home"),
    [("plan", "--sheet", "sheet.pdf", HOMES[0]), ("roll", "--png", "roll.png", HOMES[1])],
)
def test_a_drawing_is_made_in_silence(
    command: str, option: str, name: str, home: str, tmp_path: Path
) -> None:
    done = run(tmp_path, home, "-m", "layoutkit", command, SAMPLE, option, tmp_path / name)
    assert done.stderr == ""
    assert done.returncode == 0
    assert (tmp_path / name).stat().st_size > 1000
    assert list((tmp_path / "temporary").iterdir()) == []


@pytest.mark.skipif(os.name != "posix", reason="a home is named by HOME")
def test_a_home_that_can_be_written_is_used(tmp_path: Path) -> None:
    home = tmp_path / "home of the user"
    home.mkdir()
    code = (
        "import tempfile; tempfile.mkdtemp = None\n"
        "from layoutkit.output.render import font\n"
        "font(); import matplotlib; print(matplotlib.get_configdir())"
    )
    done = run(tmp_path, str(home), "-c", code)
    assert done.stderr == ""
    assert Path(done.stdout.strip()).is_relative_to(home)


@pytest.mark.skipif(os.name != "posix", reason="a home is named by HOME")
def test_where_nothing_can_be_written_one_sentence_says_so(tmp_path: Path) -> None:
    code = (
        "import sys, tempfile\n"
        "def full(**names): raise OSError(28, 'No space left on device')\n"
        "tempfile.mkdtemp = full\n"
        "from layoutkit.commands.main import main\n"
        "sys.exit(main(sys.argv[1:]))"
    )
    sheet = tmp_path / "sheet.pdf"
    done = run(tmp_path, "/proc", "-c", code, "plan", SAMPLE, "--sheet", sheet)
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert "drawing needs a folder for temporary files" in done.stderr
    assert not sheet.exists()
