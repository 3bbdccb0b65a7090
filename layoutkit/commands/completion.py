"""The command `layoutkit completion`: a script by which a shell completes commands and options."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from layoutkit.commands.common import FINE, Command
from layoutkit.commands.streams import write

if TYPE_CHECKING:
    from layoutkit.output.completion_scripts import Entry


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    shells = ("bash", "zsh", "fish", "powershell")
    p.add_argument("shell", choices=shells, help="the shell that is to complete")


def run(args: argparse.Namespace) -> int:
    """Print the script for a shell."""
    from layoutkit.output.completion_scripts import SHELLS

    write(SHELLS[args.shell](entries()))
    return FINE


def entries() -> tuple[Entry, ...]:
    """Every command with its options, as its own parser has them."""
    from layoutkit.commands.main import COMMANDS, parsers
    from layoutkit.output.completion_scripts import Entry, Option

    _, commands = parsers()
    table = []
    for name, parser in commands.items():
        help_of = parser._get_formatter()._expand_help  # the only place that fills in the defaults
        options = tuple(
            Option(
                text,
                " ".join(help_of(action).split()) if action.help else "",
                action.nargs != 0,
                _words(action),
            )
            for action in parser._actions
            for text in action.option_strings
            if text.startswith("--")
        )
        places = [action for action in parser._actions if not action.option_strings]
        table.append(Entry(name, COMMANDS[name].summary, options, _words(*places[:1])))
    return tuple(table)


def _words(*actions: argparse.Action) -> tuple[str, ...]:
    """What an argument may be, where only some words are possible."""
    return tuple(str(word) for action in actions for word in action.choices or ())


COMMAND = Command(
    "completion",
    "print a script by which a shell completes commands and options",
    "Print a script by which bash, zsh, fish or PowerShell completes the commands, their options and\n"
    "files.",
    "  layoutkit completion bash > ~/.local/share/bash-completion/completions/layoutkit\n"
    "  layoutkit completion fish > ~/.config/fish/completions/layoutkit.fish\n"
    "  layoutkit completion powershell >> $PROFILE",
    arguments,
    run,
)
