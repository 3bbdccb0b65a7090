"""The command `layoutkit self-check`: whether the program works on this machine."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import DOES_NOT_WORK, FINE, Command
from layoutkit.commands.streams import write


def arguments(p: argparse.ArgumentParser) -> None:
    """The command takes nothing of its own."""


def run(args: argparse.Namespace) -> int:
    """Try everything, print the report, and tell by the exit code whether all works."""
    from layoutkit.output.self_check import findings, report

    found = list(findings())
    write(report(found))
    return DOES_NOT_WORK if any(each.state == "fails" for each in found) else FINE


COMMAND = Command(
    "self-check",
    "try whether the program works on this machine",
    "Try what the program stands on: Python's packages, Tk, the folders that it writes to, fonts, a\n"
    "sample whose figures are known, a sheet and strips, the shop's book. The report names no person,\n"
    "job or shop, so that it can be pasted into a question. Exit code 4 where something does not work.",
    "  layoutkit self-check\n  layoutkit self-check > report.txt",
    arguments,
    run,
)
