"""The command `layoutkit practice`: problems for a trainee, marked, and what comes back when."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from layoutkit.commands.common import (
    FINE,
    Command,
    named,
    quantity,
    refuse_another_kind,
    refuse_other_than_pdf,
)
from layoutkit.commands.streams import system_reason, write
from layoutkit.errors import InputError

if TYPE_CHECKING:
    from datetime import date

    from layoutkit.practice.marking import Answer
    from layoutkit.practice.values import Problem

GROUPS = ("find", "read", "predict", "catch")
_TRIES = 3  # at an answer that cannot be read, before the worked answer is shown
_QUIT = ("q", "quit", "stop")


def arguments(p: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    p.add_argument("--trainee", metavar="NAME", help="whose answers are kept (default: trainee)")
    p.add_argument("--kind", metavar="KIND", help="one kind of problem, in place of today's set")
    p.add_argument(
        "--group", choices=GROUPS, help="the kinds of one group, in place of today's set"
    )
    p.add_argument(
        "--seed", type=_number, metavar="N", help="the problem's seed, of --kind or --sheet"
    )
    p.add_argument(
        "--answer", metavar="TEXT", help="mark this answer to --kind and --seed, and stop"
    )
    p.add_argument(
        "--worked", action="store_true", help="show the worked answer of --kind and --seed"
    )
    p.add_argument(
        "--picture",
        metavar="OUT.png",
        help="draw the ball of --kind and --seed (with --worked: solved)",
    )
    p.add_argument("--list", action="store_true", help="list the kinds of problems")
    p.add_argument("--progress", action="store_true", help="the owner's page: sure, shaky, slips")
    p.add_argument("--forget", metavar="NAME", help="delete all that is kept of a trainee")
    p.add_argument("--sheet", type=_number, metavar="COUNT", help="print a set of so many problems")
    p.add_argument("--out", metavar="OUT.pdf", help="of --sheet; OUT-answers.pdf has its answers")
    p.add_argument(
        "--scrap",
        metavar="DIAMETER",
        help="with --sheet also a task on a scrap ball of this diameter; OUT-strips.pdf has its strips",
    )
    p.add_argument("--paper", choices=("letter", "a4"), help="of --sheet (default: letter)")
    p.add_argument("--force", action="store_true", help="replace a file whatever it holds")


def _number(text: str) -> int:
    """A whole number of the command line."""
    text = text.strip()
    if not (text.isdecimal() and text.isascii() and len(text) <= 10):
        raise argparse.ArgumentTypeError(f"{text[:20]!r} is no whole number")
    return int(text)


def run(args: argparse.Namespace) -> int:
    """Ask today's set, or do what the options say."""
    if args.list:
        from layoutkit.output.practice_report import kinds_text

        write(kinds_text())
        return FINE
    if args.forget is not None:
        return _forget(args.forget)
    if args.progress:
        return _progress(_trainee(args))
    if args.sheet is not None:
        return _sheet(args)
    if args.out is not None or args.scrap is not None or args.paper is not None:
        raise InputError(
            "--out, --scrap and --paper: are the printed set's; give --sheet COUNT, too."
        )
    if args.kind is not None and args.seed is not None:
        if args.answer is not None or args.worked or args.picture is not None:
            return _one(args)
    elif args.answer is not None or args.worked or args.picture is not None:
        raise InputError("--answer, --worked and --picture: need --kind and --seed, too.")
    elif args.seed is not None:
        raise InputError("--seed: is one kind's; give --kind too.")
    return _session(args)


def _trainee(args: argparse.Namespace) -> str:
    from layoutkit.practice.log import USUAL, log_path

    name: str = USUAL if args.trainee is None else " ".join(args.trainee.split())
    log_path(name)  # so that a bad name is refused before anything is asked
    return name


def _today() -> date:
    from datetime import date

    return date.today()


def _forget(name: str) -> int:
    from layoutkit.practice.log import forget, trainees

    if not forget(name):
        there = ", ".join(trainees()) or "none"
        raise InputError(f"--forget: nothing is kept of that name; kept are: {there}.")
    write("Forgotten: all that was kept of this trainee is deleted.\n")
    return FINE


def _progress(trainee: str) -> int:
    from layoutkit.output.practice_report import progress_text
    from layoutkit.practice.log import read, trainees

    log = read(trainee)
    if not log.answers and not log.unreadable:
        there = ", ".join(trainees()) or "none"
        raise InputError(f"--progress: nothing is kept of {trainee}; kept are: {there}.")
    write(progress_text(log, _today()))
    return FINE


def _one(args: argparse.Namespace) -> int:
    """Mark one answer, or show the worked answer or the picture, without the log."""
    from layoutkit.output import practice_report as report
    from layoutkit.practice.marking import mark
    from layoutkit.practice.problems import problem

    asked = problem(args.kind, args.seed)
    if args.picture is not None:
        _picture(args, asked)
    write(report.problem_text(asked))
    if args.answer is not None:
        answer = _answer(asked, args.answer)
        write(f"\nYour answer: {args.answer.strip()}\n")
        write(report.marked_text(asked.draft, mark(asked.draft, answer)))
    if args.worked or args.answer is not None:
        write("\n" + report.worked_text(asked))
    if args.picture is not None:
        write(f"\nPicture written to {named(args.picture)}.\n")
    write("\n" + report.notice_text())
    return FINE


def _answer(asked: Problem, text: str) -> Answer:
    from layoutkit.practice.marking import read_answer

    try:
        return read_answer(asked.draft.asked, text)
    except InputError as error:
        raise InputError(f"--answer: {error}") from None


def _picture(args: argparse.Namespace, asked: Problem) -> None:
    """Draw the ball of a problem, or with --worked that of its worked answer."""
    if not args.picture.lower().endswith(".png"):
        raise InputError(f"--picture: {named(args.picture)} is no PNG name; possible: OUT.png.")
    refuse_another_kind("--picture", args.picture, args.force)
    draft = asked.draft
    picture = draft.shown or (draft.drawn if args.worked or args.answer is not None else None)
    if picture is None:
        raise InputError(
            f"--picture: {asked.kind} has no picture"
            + ("." if draft.drawn is None else " before it is answered; add --worked.")
        )
    from layoutkit.output.practice_drawing import write_picture

    write_picture(picture, args.picture)


def _sheet(args: argparse.Namespace) -> int:
    """Print a set of problems, its answers, and strips for a scrap ball."""
    if args.out is None:
        raise InputError("--sheet: needs a file; give --out OUT.pdf, too.")
    if args.answer is not None or args.worked or args.picture is not None:
        raise InputError("--answer, --worked and --picture: do not go with --sheet.")
    refuse_other_than_pdf("--out", args.out)
    from layoutkit.output.practice_sheet import companion, write_set
    from layoutkit.practice.problems import KINDS, problem
    from layoutkit.practice.sets import practice_set, scrap_plan

    for path in (args.out, *(str(companion(args.out, what)) for what in ("answers", "strips"))):
        refuse_another_kind("--out", path, args.force)
    if args.kind is not None:
        problem(args.kind, 0)  # refuses a kind that is not there
    kinds = {
        name: kind
        for name, kind in KINDS.items()
        if args.kind in (None, name) and args.group in (None, kind.group)
    }
    if not kinds:
        raise InputError(f"--group: {args.kind} is not of the group {args.group}.")
    seed = int(_today().strftime("%Y%m%d")) if args.seed is None else args.seed
    printed = practice_set(args.sheet, seed, kinds)
    scrap = None
    if args.scrap is not None:
        scrap = scrap_plan(seed, quantity("ball.diameter", args.scrap, "--scrap"))
    files = write_set(printed, args.out, args.paper or "letter", scrap)
    write(f"Set {seed} written: {', '.join(named(str(path)) for path in files)}.\n")
    if scrap is not None:
        write("Print the strips at 100 %, and measure both bars on each page before you cut.\n")
    from layoutkit.output.practice_report import notice_text

    write(notice_text())
    return FINE


# --- a session ------------------------------------------------------------------------------------


def _session(args: argparse.Namespace) -> int:
    """Ask the day's set, or some kinds, one after the other, and keep the answers."""
    from layoutkit.output import practice_report as report
    from layoutkit.practice import log as logs
    from layoutkit.practice.problems import KINDS, problem
    from layoutkit.practice.schedule import MINUTES, known, next_seed, todays_set

    trainee, today = _trainee(args), _today()
    log = logs.read(trainee)
    state = known(log.answers)
    if args.kind is not None:
        problem(args.kind, 0)  # refuses a kind that is not there
        chosen: tuple[str, ...] = (args.kind,)
    else:
        kinds = {n: k for n, k in KINDS.items() if args.group in (None, k.group)}
        chosen = todays_set(log.answers, kinds, today)
    if not chosen:
        due = min((s.due for s in state.values()), default=today)
        write(
            f"Today's set is done. {trainee.capitalize()}'s next problem is due on {due.isoformat()}; "
            "--kind or --group asks for more.\n"
        )
        return FINE
    minutes = sum(KINDS[name].minutes for name in chosen)
    write(
        f"{len(chosen)} problem{'s' if len(chosen) > 1 else ''} for {trainee}, about {minutes:.0f} of "
        f"{MINUTES:.0f} minutes. q stops.\n" + report.safety_text(len(log.answers))
    )
    right = done = 0
    for number, name in enumerate(chosen, 1):
        times = len(state[name].scores) if name in state else 0
        seed = args.seed if args.seed is not None else next_seed(trainee, name, times)
        score = _ask(problem(name, seed), f"{number}. ", trainee, today)
        if score is None:
            break
        done += 1
        right += score == "full"
    write(f"\n{right} of {done} right. {report.notice_text()}")
    return FINE


def _ask(asked: Problem, number: str, trainee: str, today: date) -> str | None:
    """Ask one problem, mark it and keep the answer; its score, None where the trainee stops."""
    from layoutkit.output import practice_report as report
    from layoutkit.practice.log import add
    from layoutkit.practice.marking import mark, read_answer
    from layoutkit.practice.schedule import Answered

    write("\n" + report.problem_text(asked, number))
    write(f"(kind {asked.kind}, seed {asked.seed})\n")
    for _ in range(_TRIES):
        text = _typed()
        if text is None or text.lower() in _QUIT:
            return None
        try:
            answer = read_answer(asked.draft.asked, text)
        except InputError as error:
            write("\n".join(report.lines(str(error))) + "\n")
            continue
        marked = mark(asked.draft, answer)
        slips = tuple(slip.name for slip in marked.slips)
        add(trainee, Answered(today, asked.kind, asked.seed, marked.score, slips))
        write(report.marked_text(asked.draft, marked) + report.worked_text(asked))
        return marked.score
    write(report.worked_text(asked))
    return "none"


def _typed() -> str | None:
    """A line from standard input; None at its end."""
    write("Answer: ")
    if sys.stdin is None:
        raise InputError("standard input: is closed; there is nobody to answer.")
    try:
        line = sys.stdin.readline(500)
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(f"standard input: cannot be read: {system_reason(error)}.") from None
    if not line:
        write("\n")
        return None
    return line.strip()


COMMAND = Command(
    "practice",
    "problems for a trainee, marked and explained",
    "Ask a trainee the day's set, some fifteen minutes: find a mark, read a ball, predict a weight,\n"
    "catch a slip. An answer is marked by its distance from the right one, and a usual slip that leads\n"
    "to it is named. What is answered well comes back after 1, 2, 4, 8 and 16 days, the rest the next\n"
    "day. Answers are kept in the user's state folder, on this machine alone. Nobody drills a\n"
    "customer's ball from practice.",
    "  layoutkit practice --trainee Ann\n"
    "  layoutkit practice --list\n"
    "  layoutkit practice --kind pin-to-pap --seed 7 --answer 3.75\n"
    "  layoutkit practice --kind read-placement --seed 7 --picture ball.png\n"
    "  layoutkit practice --trainee Ann --progress\n"
    "  layoutkit practice --sheet 12 --out practice.pdf --scrap 8.55\n"
    "  layoutkit practice --forget Ann",
    arguments,
    run,
)
