"""The scripts of `layoutkit completion`: bash itself runs its own, the others are read as text."""

import re
import shutil
import subprocess
from typing import Any

import pytest

from layoutkit.commands.completion import entries
from layoutkit.commands.main import COMMANDS, main
from layoutkit.output.completion_scripts import SHELLS, Entry, Option

BASH = shutil.which("bash")


@pytest.fixture(scope="module")
def table() -> tuple[Entry, ...]:
    return entries()


def offered(script: str, *words: str) -> set[str]:
    """What bash offers where the last word is being typed."""
    assert BASH is not None
    ask = (
        '\nCOMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _layoutkit; printf "%s\\n" "${COMPREPLY[@]}"'
    )
    line = [BASH, "-c", script + ask, "bash", "layoutkit", *words]
    done = subprocess.run(line, capture_output=True, text=True, timeout=30, check=True)
    assert done.stderr == ""
    return set(done.stdout.split())


@pytest.mark.skipif(BASH is None, reason="there is no bash")
@pytest.mark.parametrize(
    ("words", "offers"),
    [
        (("pl",), {"plan"}),
        (("plan", "--shee"), {"--sheet"}),
        (("plan", "job.json", "--units", ""), {"fraction", "decimal", "metric"}),
        (("completion", ""), set(SHELLS)),
        (("plan", "jo"), set()),
        (("roll", "--sheet"), set()),
    ],
)
def test_bash_offers(words: tuple[str, ...], offers: set[str], table: tuple[Entry, ...]) -> None:
    assert offered(SHELLS["bash"](table), *words) == offers


@pytest.mark.parametrize("shell", SHELLS)
def test_every_command_and_option_is_there(
    shell: str, capsys: Any, table: tuple[Entry, ...]
) -> None:
    assert main(["completion", shell]) == 0
    script = capsys.readouterr().out
    assert {entry.name for entry in table} == set(COMMANDS)
    for entry in table:
        assert entry.name in script
        for option in entry.options:
            dash = "-l " if shell == "fish" else "--"
            assert re.search(rf"{dash}{option.name[2:]}\b", script), option
    assert {"--sheet", "--quiet", "--help"} <= {o.name for e in table for o in e.options}


def test_quotation_marks_do_not_end_a_help() -> None:
    table = [Entry("plan", "a job's plan: it", (Option("--map", "the shop's"),))]
    assert "'plan:a job'\\''s plan: it'" in SHELLS["zsh"](table)
    assert "-d 'the shop\\'s'" in SHELLS["fish"](table)
    assert "'--map' = 'the shop''s'" in SHELLS["powershell"](table)
