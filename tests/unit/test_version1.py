"""Records of version 1 mean what they always meant; the plans beside them are that version's own."""

import json
from pathlib import Path
from typing import Any

import pytest

from layoutkit import InputError, load_job, parse_job, plan
from layoutkit.job.version1 import RENAMED

FOLDER = Path(__file__).parents[1] / "version1"
FILES = sorted(FOLDER.glob("*.json"))
# what the plan has gained since, or judges anew
NEW_CHECKS = {"drillable", "diameter"}


def same(old: Any, new: Any, path: str = "") -> None:
    """Every figure of the old plan stands in the new one, to 1e-9."""
    if isinstance(old, dict):
        for name, value in old.items():
            same(value, new[RENAMED.get(name, name)], f"{path}.{name}")
    elif isinstance(old, list):
        assert len(old) == len(new), path
        for n, (a, b) in enumerate(zip(old, new, strict=True)):
            same(a, b, f"{path}.{n}")
    elif isinstance(old, float) and not isinstance(new, bool):
        assert new == pytest.approx(old, rel=1e-9, abs=1e-9), path
    else:
        assert new == old, path


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_version_1_file_gives_the_plan_that_it_gave(path: Path) -> None:
    record = json.loads(path.read_text(encoding="utf-8"))
    assert record["version"] == 1
    old = json.loads(path.with_suffix("").with_suffix(".plan.txt").read_text(encoding="utf-8"))
    new: dict[str, Any] = json.loads(json.dumps(plan(load_job(path)).as_dict()))
    checks = {c["name"]: c for c in new.pop("checks") if c["name"] not in NEW_CHECKS}
    same({c["name"]: c for c in old.pop("checks")}, checks)
    same(old, new)


def test_the_files_state_layouts_in_all_three_ways() -> None:
    stated = {json.loads(p.read_text(encoding="utf-8"))["layout"]["by"] for p in FILES}
    assert stated == {"angles", "distances", "placement"}


@pytest.mark.parametrize("version", [3, 2.1, 10])
def test_a_newer_version_is_refused_as_such(version: float, record: dict[str, Any]) -> None:
    with pytest.raises(InputError, match=r"^version: .*made by a newer layoutkit"):
        parse_job({**record, "version": version, "ball": "something new"})


@pytest.mark.parametrize("version", [True, 0, "2", None])
def test_no_version_is_refused_as_none(version: object, record: dict[str, Any]) -> None:
    with pytest.raises(InputError) as caught:
        parse_job({**record, "version": version})
    assert caught.value.field == "version"
    assert "newer" not in str(caught.value)
