"""The wheel and the source archive: built once, installed without a network, used and taken away."""

import email
import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import pytest

import layoutkit

ROOT = Path(__file__).parents[2]
SAMPLES = sorted(path.name for path in (ROOT / "sample_bowlers").iterdir())

# each kind in a process of its own: in one, setuptools puts the second where the first was made
BUILD = "import sys; from setuptools import build_meta; build_meta.build_{}(sys.argv[1])"

# opens the window as its script does, and closes it once its ball is painted
OPEN = """
import sys, time
from layoutkit import window
from gui import app
def run(self):
    start = time.monotonic()
    while not self.windows[0].ball.frames and time.monotonic() < start + 30:
        self.root.update()
    first = self.windows[0]
    print(app.__file__, first.presenter.plan.outcome, first.ball.frames)
    self.windows[0].presenter.close()
    self.root.destroy()
app.App.run = run
sys.exit(window.main(sys.argv[1:]))
"""


def backend_is_here() -> bool:
    """Whether a wheel can be built without fetching anything."""
    if find_spec("setuptools") is None:
        return False
    from importlib.metadata import version

    major, minor = (int(part) for part in version("setuptools").split(".")[:2])
    return (major, minor) >= (70, 1) or (major >= 68 and find_spec("wheel") is not None)


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the wheel and the source archive, built from a copy of the source."""
    if not backend_is_here():
        pytest.skip("no setuptools that can build a wheel is installed")
    folder: Path = tmp_path_factory.mktemp("built")
    source = folder / "source"
    skip = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist")
    shutil.copytree(ROOT, source, ignore=skip)
    shutil.copytree(ROOT / ".readme", source / ".readme")
    for hidden in (".ci", ".freeze"):
        shutil.copytree(ROOT / hidden, source / hidden)
    for kind in ("wheel", "sdist"):
        line = [sys.executable, "-W", "ignore", "-c", BUILD.format(kind), str(folder)]
        done = subprocess.run(line, cwd=source, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture(scope="module")
def wheel(built: Path) -> Path:
    (wheel,) = built.glob("*.whl")
    return wheel


def pip(environment: Path, *words: str) -> None:
    """This run's pip, working on another environment without an index and without dependencies."""
    offline = ("--no-index", "--no-deps", "--no-compile") if words[0] == "install" else ()
    line = [
        sys.executable,
        "-m",
        "pip",
        "--python",
        str(environment),
        words[0],
        *offline,
        *words[1:],
    ]
    done = subprocess.run(line, capture_output=True, text=True, check=False, timeout=120)
    assert done.returncode == 0, done.stderr


def started(environment: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """A command of an environment, run as in a new shell."""
    scripts = environment / ("Scripts" if os.name == "nt" else "bin")
    env = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")} | more
    line = [str(scripts / words[0]), *words[1:]]
    return subprocess.run(
        line,
        env=env,
        cwd=environment.parent,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


# pip itself asks for it, and an environment without pip can have nothing installed
pytestmark = pytest.mark.skipif(find_spec("pip") is None, reason="pip is not installed")


def test_the_metadata_is_whole(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (n for n in archive.namelist() if n.endswith(".dist-info/METADATA"))
        text = email.message_from_bytes(archive.read(name))
        scripts = archive.read(name.replace("METADATA", "entry_points.txt")).decode()
        held = set(archive.namelist())
    data = [*(ROOT / "layoutkit").rglob("*.json"), *(ROOT / "layoutkit").rglob("*.md")]
    assert len(data) > 10
    assert {path.relative_to(ROOT).as_posix() for path in data} <= held
    assert text["Name"] == "layoutkit"
    assert text["Version"] == layoutkit.__version__
    assert text["Requires-Python"] == ">=3.11"
    assert text["Author"]
    assert text["License"] is None, "the licence is the owner's to choose"
    assert text["Description-Content-Type"] == "text/markdown"
    assert text.get_payload().startswith("# layoutkit\n")
    needs = [row for row in text.get_all("Requires-Dist") if "extra ==" not in row]
    assert len(needs) == 5
    # Python core metadata: a reader must refuse an unknown "Private ::" only, so each is a known one
    known = ("Development Status", "Environment", "Intended Audience", "Natural Language")
    known += ("Operating System", "Programming Language", "Topic", "Typing")
    assert all(row.split(" :: ")[0] in known for row in text.get_all("Classifier"))
    assert "[gui_scripts]\nlayoutkit-window = layoutkit.window:main" in scripts


def test_the_source_archive_holds_tests_and_the_developers_page(built: Path) -> None:
    (sdist,) = built.glob("*.tar.gz")
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    assert {"DEVELOPERS.md", "README.md", "setup.cfg", ".readme/sheet.png", ".ci/run"} <= names
    assert ".freeze/layoutkit.spec" in names
    assert {f"sample_bowlers/{name}" for name in SAMPLES} <= names
    tests = {str(path.relative_to(ROOT)) for path in (ROOT / "tests").rglob("*.py")}
    assert {name.replace(os.sep, "/") for name in tests} <= names
    assert not [name for name in names if name.endswith((".pyc", "__pycache__"))]


def test_an_installed_wheel_plans_opens_and_goes(wheel: Path, display: str, tmp_path: Path) -> None:
    fresh = tmp_path / "env"
    venv.create(fresh, symlinks=os.name == "posix")
    before = set(fresh.rglob("*"))
    pip(fresh, "install", str(wheel))
    # after its own packages those that layoutkit needs, from where this run has them
    (packages,) = {path.parent for path in fresh.rglob("layoutkit-*.dist-info")}
    needs = packages / "needs.pth"
    paths = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    needs.write_text("\n".join(sorted(paths)) + "\n")

    samples = fresh / "share" / "layoutkit" / "sample_bowlers"
    assert sorted(path.name for path in samples.iterdir()) == SAMPLES
    sample, sheet = str(samples / SAMPLES[0]), tmp_path / "sheet.pdf"
    done = started(fresh, "layoutkit", "plan", sample, "--sheet", str(sheet))
    assert (done.returncode, done.stderr) == (0, "")
    assert sheet.read_bytes().startswith(b"%PDF-")

    config = str(tmp_path / "config")
    done = started(fresh, "python", "-c", OPEN, sample, DISPLAY=display, XDG_CONFIG_HOME=config)
    assert (done.returncode, done.stderr) == (0, "")
    place, outcome, frames = done.stdout.rsplit(maxsplit=2)
    assert Path(place).is_relative_to(fresh)
    assert outcome == "pass"
    assert int(frames) > 0
    done = started(fresh, "layoutkit-window", "--version")
    assert done.stdout == f"layoutkit {layoutkit.__version__}\n"

    needs.unlink()
    pip(fresh, "uninstall", "-y", "layoutkit")
    left = {path for path in set(fresh.rglob("*")) - before if path.is_file()}
    assert [path for path in left if path.suffix != ".pyc"] == []
    assert not any("layoutkit" in str(path.relative_to(fresh)) for path in left)


@pytest.mark.parametrize("where", ["--target", "--user"])
def test_samples_are_found_wherever_pip_put_them(where: str, wheel: Path, tmp_path: Path) -> None:
    env = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    # an environment has no user's folder, and the user's is one of the test's own
    python = sys.executable if where == "--target" else sys._base_executable
    env |= {"PYTHONUSERBASE": str(tmp_path / "there"), "PIP_BREAK_SYSTEM_PACKAGES": "1"}
    words = ["--target", str(tmp_path / "there")] if where == "--target" else ["--user"]
    line = [sys.executable, "-m", "pip", "--python", python, "install", "--no-index", "--no-deps"]
    line += ["--no-compile", "--ignore-installed", *words, str(wheel)]
    done = subprocess.run(line, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    if where == "--target":
        env["PYTHONPATH"] = str(tmp_path / "there")
    ask = "from layoutkit.job import samples; print(samples.__file__, len(samples.samples()))"
    told = subprocess.run(
        [python, "-c", ask], env=env, cwd=tmp_path, capture_output=True, text=True, check=True
    )
    file, count = told.stdout.rsplit(maxsplit=1)
    assert Path(file).is_relative_to(tmp_path)
    assert int(count) == sum(name.endswith(".json") for name in SAMPLES)


def other_gui(folder: Path, **modules: str) -> dict[str, Any]:
    """The environment of a program that finds another package called gui first."""
    package = folder / "gui"
    package.mkdir()
    (package / "__init__.py").write_text("")
    for name, text in modules.items():
        (package / f"{name}.py").write_text(text)
    return {**os.environ, "PYTHONPATH": os.pathsep.join((str(folder), str(ROOT)))}


@pytest.mark.parametrize("modules", [{}, {"app": "def main(argv):\n    return 0\n"}])
def test_another_package_called_gui_is_told_apart(modules: dict[str, str], tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-S", "-m", "layoutkit.window"],
        env=other_gui(tmp_path, **modules),
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
    assert f"another package called gui, in {tmp_path / 'gui'}, stands in the way" in done.stderr
