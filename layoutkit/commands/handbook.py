"""The command `layoutkit handbook`: everything there is to know, as a page in the browser."""

from __future__ import annotations

import argparse

from layoutkit.commands.common import (
    FINE,
    Command,
    force_argument,
    named,
    quoted_name,
    refuse_another_kind,
)
from layoutkit.commands.streams import write
from layoutkit.errors import InputError


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("--out", metavar="OUT.html", help="write the page there, and open no browser")
    force_argument(p, "OUT.html")


def run(args: argparse.Namespace) -> int:
    """Make the page, open it, and say where it lies."""
    if args.out is not None and not args.out.lower().endswith(".html"):
        raise InputError(f"--out: {quoted_name(args.out)} is no page's name; possible: OUT.html.")
    refuse_another_kind("--out", args.out, args.force)
    from layoutkit.output.handbook import show_in_browser, write_handbook

    path = write_handbook(args.out)
    if args.out is None and not show_in_browser(path):
        write(f"No browser could be started; open {named(str(path))} in one.\n")
    else:
        write(f"The handbook is in {named(str(path))}.\n")
    return FINE


COMMAND = Command(
    "handbook",
    "the handbook as a page in the browser: tasks, fields, words, changes",
    "Make the handbook and open it in the browser: how each task is done, every field and reading, the\n"
    "words of the trade, what changed. It is one file with its pictures, made on this machine; no\n"
    "network is used.",
    "  layoutkit handbook\n  layoutkit handbook --out handbook.html",
    arguments,
    run,
)
