"""Scripts by which a shell completes the command line, made from a table of its commands.

Where neither a command nor an option is asked for, each leaves it to the shell, which completes the
names of files.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

PROGRAM = "layoutkit"


class Option(NamedTuple):
    """A long option: its name with the dashes, its help, whether a value follows, and possible values."""

    name: str
    meaning: str
    takes_value: bool = False
    choices: tuple[str, ...] = ()


class Entry(NamedTuple):
    """A command: its name, its line in the help, its options, and possible words after it."""

    name: str
    meaning: str
    options: tuple[Option, ...]
    choices: tuple[str, ...] = ()


def bash(entries: Sequence[Entry]) -> str:
    """The script for bash."""
    lines = [
        f"# completion of {PROGRAM} for bash",
        f"_{PROGRAM}() {{",
        "    local word=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]} words=",
        "    if [ $COMP_CWORD -eq 1 ]; then",
        f"        words='{' '.join((*(e.name for e in entries), '--help', '--version'))}'",
        "    else",
        '        case "$command ${COMP_WORDS[COMP_CWORD-1]}" in',
    ]
    for key, choices in _values(entries):
        lines.append(f"            '{key}') words='{' '.join(choices)}' ;;")
    lines += [
        '            *) case "$word" in -*) case "$command" in',
    ]
    for entry in entries:
        words = " ".join(option.name for option in entry.options)
        lines.append(f"                {entry.name}) words='{words}' ;;")
    lines += [
        "            esac ;; esac ;;",
        "        esac",
        "    fi",
        '    COMPREPLY=($(compgen -W "$words" -- "$word"))',
        "}",
        f"complete -o default -F _{PROGRAM} {PROGRAM}",
    ]
    return "\n".join(lines) + "\n"


def zsh(entries: Sequence[Entry]) -> str:
    """The script for zsh, to be sourced or put into a folder of its functions as `_layoutkit`."""
    lines = [
        f"#compdef {PROGRAM}",
        f"_{PROGRAM}() {{",
        "    local -a offers",
        "    if (( CURRENT == 2 )); then",
        "        offers=(",
        *(f"            {_described(e.name, e.meaning)}" for e in entries),
        "        )",
        "        _describe command offers",
        "        return",
        "    fi",
        '    case "$words[2] $words[CURRENT-1]" in',
    ]
    for key, choices in _values(entries):
        lines.append(f"        '{key}') compadd {' '.join(choices)}; return ;;")
    lines += [
        "    esac",
        "    if [[ $words[CURRENT] != -* ]]; then",
        "        _files",
        "        return",
        "    fi",
        "    case $words[2] in",
    ]
    for entry in entries:
        lines += [
            f"        {entry.name}) offers=(",
            *(f"            {_described(o.name, o.meaning)}" for o in entry.options),
            "        ) ;;",
        ]
    lines += [
        "    esac",
        "    _describe option offers",
        "}",
        f'if [ "$funcstack[1]" = "_{PROGRAM}" ]; then',
        f'    _{PROGRAM} "$@"',
        "else",
        f"    compdef _{PROGRAM} {PROGRAM}",
        "fi",
    ]
    return "\n".join(lines) + "\n"


def fish(entries: Sequence[Entry]) -> str:
    """The script for fish."""
    lines = [
        f"# completion of {PROGRAM} for fish",
        f"complete -c {PROGRAM} -n __fish_use_subcommand -f",
    ]
    lines += [
        f"complete -c {PROGRAM} -n __fish_use_subcommand -a {e.name} -d {_fish_quoted(e.meaning)}"
        for e in entries
    ]
    for entry in entries:
        when = f"complete -c {PROGRAM} -n '__fish_seen_subcommand_from {entry.name}'"
        if entry.choices:
            lines.append(f"{when} -f -a '{' '.join(entry.choices)}'")
        for option in entry.options:
            value = " -r" if option.takes_value else ""
            if option.choices:
                value = f" -x -a '{' '.join(option.choices)}'"
            name = option.name.removeprefix("--")
            lines.append(f"{when} -l {name}{value} -d {_fish_quoted(option.meaning)}")
    return "\n".join(lines) + "\n"


def powershell(entries: Sequence[Entry]) -> str:
    """The script for PowerShell, to be run at its start: `Register-ArgumentCompleter` with -Native."""
    lines = [
        f"# completion of {PROGRAM} for PowerShell",
        f"Register-ArgumentCompleter -Native -CommandName {PROGRAM} -ScriptBlock {{",
        "    param($word, $line, $place)",
        "    $commands = [ordered]@{",
        *(f"        {_doubled(e.name)} = {_doubled(e.meaning or e.name)}" for e in entries),
        "    }",
        "    $options = @{",
    ]
    for entry in entries:
        lines += [
            f"        {_doubled(entry.name)} = [ordered]@{{",
            *(
                f"            {_doubled(o.name)} = {_doubled(o.meaning or o.name)}"
                for o in entry.options
            ),
            "        }",
        ]
    lines += ["    }", "    $values = @{"]
    for key, choices in _values(entries):
        lines.append(f"        {_doubled(key)} = {', '.join(map(_doubled, choices))}")
    lines += [
        "    }",
        "    $words = @($line.CommandElements | ForEach-Object { $_.ToString() })",
        "    # the word that is being typed is the last one, unless nothing of it is there yet",
        "    $done = $words.Count",
        "    if ($word) { $done -= 1 }",
        "    $offers = [ordered]@{}",
        "    if ($done -le 1) { $offers = $commands }",
        "    else {",
        '        $after = "$($words[1]) $($words[$done - 1])"',
        "        if ($values.ContainsKey($after)) {",
        "            foreach ($each in $values[$after]) { $offers[$each] = $each }",
        "        }",
        "        elseif ($word -like '-*' -and $options.ContainsKey($words[1])) {",
        "            $offers = $options[$words[1]]",
        "        }",
        "    }",
        '    foreach ($each in $offers.Keys) { if ($each -like "$word*") {',
        "        [System.Management.Automation.CompletionResult]::new(",
        "            $each, $each, 'ParameterValue', $offers[$each])",
        "    } }",
        "}",
    ]
    return "\n".join(lines) + "\n"


SHELLS: dict[str, Callable[[Sequence[Entry]], str]] = {
    "bash": bash,
    "zsh": zsh,
    "fish": fish,
    "powershell": powershell,
}


def _values(entries: Sequence[Entry]) -> list[tuple[str, tuple[str, ...]]]:
    """What may follow: a command and the word after which it stands, and the possible words."""
    values = [(f"{e.name} {e.name}", e.choices) for e in entries if e.choices]
    values += [(f"{e.name} {o.name}", o.choices) for e in entries for o in e.options if o.choices]
    return values


def _described(name: str, meaning: str) -> str:
    """A word and its help as zsh's `_describe` reads them, in quotes."""
    text = f"{name}:{meaning}".replace("'", "'\\''")
    return f"'{text}'"


def _fish_quoted(text: str) -> str:
    return "'" + text.replace("\\", "\\\\").replace("'", "\\'") + "'"


def _doubled(text: str) -> str:
    """A text as PowerShell's literal string, in which an apostrophe is written twice."""
    return "'" + text.replace("'", "''") + "'"
