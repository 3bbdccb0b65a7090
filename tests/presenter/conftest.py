"""Presenters on folders of their own."""

from collections.abc import Callable
from pathlib import Path

import pytest

import gui
from gui.state.presenter import Presenter

SAMPLES = tuple(sorted((Path(gui.__file__).parent.parent / "sample_bowlers").glob("*.json")))


@pytest.fixture
def presenter(tmp_path: Path) -> Presenter:
    """A presenter with an empty record, whose settings are nobody's."""
    return Presenter(tmp_path / "config")


@pytest.fixture
def opened(presenter: Presenter) -> Callable[[str], Presenter]:
    """Opens the sample whose number is given."""

    def open_sample(number: str = "01") -> Presenter:
        (path,) = (p for p in SAMPLES if p.name.startswith(number))
        assert presenter.open_sample(path)
        return presenter

    return open_sample


@pytest.fixture(params=SAMPLES, ids=lambda p: p.stem)
def sample(request: pytest.FixtureRequest) -> Path:
    """Each sample's file."""
    path: Path = request.param
    return path
