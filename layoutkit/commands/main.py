"""The command line: it finds the command, runs it, and turns errors into sentences.

Each command is a module of its own beside this one, and a row of `COMMANDS`.

Exit codes: 0 fine, 1 the plan or the weighed ball fails a rule, 2 bad input, 3 a figure that a check
needs is missing, 4 the self-check finds something that does not work, 70 an error of the program
itself. Bad input is one sentence on standard error, and no file is touched; an error of the program
is one, too, which names the log that has its traceback.

Start-up is most of what a command costs, so every command imports what it needs when it runs, and
the drawing library is imported for a drawing only.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Iterable, Mapping, Sequence
from typing import NoReturn

from layoutkit import __version__
from layoutkit.commands import (
    axis,
    book,
    change,
    checkin,
    choose,
    completion,
    convert,
    grip,
    handbook,
    new,
    plan,
    practice,
    redrill,
    roll,
    scale,
    schema,
    self_check,
    shelf,
    shortcut,
    strips,
    sure,
    weigh,
)
from layoutkit.commands import map as map_command
from layoutkit.commands.common import BAD_INPUT, FINE, INTERNAL_ERROR, Command, quoted
from layoutkit.commands.job_options import as_read
from layoutkit.commands.streams import complain, keep_traceback, quiet, write
from layoutkit.errors import InputError, LayoutkitError

INTERRUPTED = 130  # what a shell reports for a program stopped by ctrl-C

# in the order in which the help lists them
COMMANDS: dict[str, Command] = {
    command.name: command
    for command in (
        plan.COMMAND,
        strips.COMMAND,
        sure.COMMAND,
        change.COMMAND,
        map_command.COMMAND,
        roll.COMMAND,
        weigh.COMMAND,
        checkin.COMMAND,
        axis.COMMAND,
        grip.COMMAND,
        redrill.COMMAND,
        scale.COMMAND,
        shelf.COMMAND,
        choose.COMMAND,
        book.COMMAND,
        practice.COMMAND,
        convert.COMMAND,
        new.COMMAND,
        schema.COMMAND,
        completion.COMMAND,
        self_check.COMMAND,
        handbook.COMMAND,
        shortcut.COMMAND,
    )
}


def main(argv: list[str] | None = None) -> int:
    """Run the command line and return the exit code; None takes this process's own arguments."""
    return _own_process() if argv is None else _run(argv)


def _own_process() -> int:
    """Run as a program: settings that belong to the whole process are made here only."""
    # One short run: collecting garbage, and tearing all down at the end, costs more than it frees.
    gc.disable()
    # No plug-in is needed to read a record; looking for them reads every installed package.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "1")
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # absent where the stream is closed or replaced
            # names in records are not ASCII everywhere, whatever the locale says
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
    try:
        return _run(sys.argv[1:])
    except KeyboardInterrupt:
        complain(LayoutkitError("stopped; no file was left half-written."))
        return INTERRUPTED
    finally:
        gc.freeze()


def _run(argv: list[str]) -> int:
    args: argparse.Namespace | None = None
    try:
        parser, commands = parsers(argv[:1])
        if not argv:
            parser.print_help()
            return FINE
        _refuse_unknown(argv, parser, commands)
        args = parser.parse_args([_guarded(word) for word in argv])
        with quiet(args.quiet):
            return COMMANDS[args.command].run(args)
    except LayoutkitError as error:
        complain(as_read(error, args))
        return BAD_INPUT
    except SystemExit:  # after --help and --version, which have printed what they have to
        return FINE
    except Exception as error:
        if _interrupted(error):
            raise KeyboardInterrupt from None
        place = keep_traceback()
        where = f"what happened is in {place}" if place else "no log of it could be written"
        complain(LayoutkitError(f"an error of the program itself stopped it; {where}."))
        return INTERNAL_ERROR


def _interrupted(error: BaseException | None) -> bool:
    """Whether ctrl-C is behind an error: a library that is being imported may turn it into its own."""
    seen: list[BaseException] = []
    while error is not None and error not in seen:
        if isinstance(error, KeyboardInterrupt):
            return True
        seen.append(error)
        error = error.__cause__ or error.__context__
    return False


class _Parser(argparse.ArgumentParser):
    """A parser whose errors are sentences like all others, and whose help is printed by `write`.

    argparse's own printing ends in a traceback where the reader has gone away, in some versions of
    Python.
    """

    def error(self, message: str) -> NoReturn:
        raise InputError(f"{message}; see {self.prog} --help.")

    def print_help(self, file: object = None) -> None:
        """Print the help to standard output."""
        write(self.format_help())


class _ShowVersion(argparse.Action):
    """Prints the version, and ends the command."""

    def __call__(self, parser: argparse.ArgumentParser, *_: object) -> None:
        write(f"layoutkit {__version__}\n")
        parser.exit()


def _guarded(word: str) -> str:
    """A word that argparse will not take for an option.

    argparse knows plain negative numbers, not `-1/2` or `-3-3/8in`; a blank in front tells it that
    the word is a value, and no value's reader minds a blank. It drops the value of `--top=--`.
    """
    if word[:2] == "--" and word.endswith("=--"):
        return f"{word[:-2]} --"
    rest = word[1:].lstrip()
    return f" {word}" if word[:1] == "-" and (rest[:1].isdigit() or rest[:1] == ".") else word


def _refuse_unknown(
    argv: Sequence[str],
    parser: argparse.ArgumentParser,
    commands: Mapping[str, argparse.ArgumentParser],
) -> None:
    """Raise InputError for a command or a long option that is none, with the nearest that is one.

    argparse says the same without the nearest, and of an option only where all else is right. It
    never takes a word that begins with two dashes for a value, so each one must be an option.
    """
    name, *rest = argv
    if not name.startswith("-") and name not in commands:
        near = _nearest(name, commands)
        raise InputError(
            f"{quoted(name)} is no command; {near}possible: {', '.join(commands)}; see layoutkit --help."
        )
    own = commands.get(name, parser)
    options = {text for action in own._actions for text in action.option_strings}
    for word in argv if own is parser else rest:
        if word == "--":
            return
        option = word.partition("=")[0]
        if word.startswith("--") and option not in options:
            near = _nearest(option, options)
            whose = "layoutkit" if own is parser else f"layoutkit {name}"
            raise InputError(
                f"{quoted(option)} is no option of {whose}; {near}see {own.prog} --help."
            )


def _nearest(word: str, possible: Iterable[str]) -> str:
    """The beginning of a clause that asks whether the most alike of ``possible`` was meant; or empty."""
    from difflib import get_close_matches

    near = get_close_matches(word.lower(), list(possible), 1)
    return f"did you mean {near[0]}? " if near else ""


def parsers(
    first: Sequence[str] = (),
) -> tuple[argparse.ArgumentParser, dict[str, argparse.ArgumentParser]]:
    """The parser for a line that begins with the word in ``first``, and those of the commands.

    Where that word is a command, only its options are made: those of all commands take as long as a
    plan. Any other line is answered by the help or an error, which list every command.
    """
    parser = _Parser(
        prog="layoutkit",
        description="Plan the drilling of a bowling ball: marks, holes, static weights, inertia "
        "and legality.",
        epilog="Exit codes: 0 fine, 1 a rule is failed, 2 bad input, 3 a figure is missing,\n4 self-"
        "check finds what does not work, 70 an error of the program itself.\n\n"
        "example:\n  layoutkit plan sample_bowlers/01_right_asymmetric.json",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action=_ShowVersion, nargs=0, help="show the version and exit")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    named = [name for name in first if name in COMMANDS]
    for name in named or COMMANDS:
        command = COMMANDS[name]
        subparser = subparsers.add_parser(
            name,
            help=command.summary,
            description=command.description,
            epilog=f"example:\n{command.example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        command.arguments(subparser)
        subparser.add_argument(
            "--quiet", action="store_true", help="print no report: files, errors and exit code only"
        )
    return parser, dict(subparsers.choices)
