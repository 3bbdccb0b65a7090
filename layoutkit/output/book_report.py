"""What a book holds, as text: lists of jobs and customers, one job, one customer, a ball's life."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from layoutkit.book.book import (
    Book,
    DatedGrip,
    Event,
    JobEntry,
    Person,
    grip_differences,
)
from layoutkit.book.exchange import Conflict
from layoutkit.output.report import table, wrap
from layoutkit.units import printable

LONGEST_CELL = 34  # characters of a name or a title in a list
CUT = 60  # characters of what two books say of one row


def jobs_text(jobs: Sequence[JobEntry]) -> str:
    """A list of jobs, the latest first."""
    if not jobs:
        return "No job matches.\n"
    rows = [("job", "date", "customer", "serial", "outcome", "title")]
    rows += [
        (str(j.id), j.date, _cut(j.name or "-"), j.serial or "-", j.outcome, _cut(j.title or "-"))
        for j in jobs
    ]
    return "\n".join(table(rows, indent="")) + "\n"


def people_text(people: Sequence[Person]) -> str:
    """A list of customers."""
    if not people:
        return "No customer matches.\n"
    rows = [("customer", "name", "hand", "contact")]
    rows += [(str(p.id), _cut(p.name), p.hand, _cut(p.contact or "-")) for p in people]
    return "\n".join(table(rows, indent="")) + "\n"


def job_text(book: Book, number: int, program: str) -> str:
    """A job as it was shown when it was added, and both programs that had to do with it."""
    job = book.job(number)
    lines = [f"Job {job.id}: {job.title or '-'}", *_in_bin(job.deleted)]
    lines += wrap(
        f"What follows was computed by layoutkit {job.program} under {job.rules} and is shown as it was "
        f"then, by layoutkit {program}. For figures of today: layoutkit plan book:{job.id}.",
        indent="",
    )
    for path in book.photographs(number):
        lines += wrap(f"Photograph: {printable(path)}", indent="")
    shown = book.shown_then(number)
    return "\n".join(lines) + f"\n\n{shown or 'What was shown of it was erased.'}"


def person_text(book: Book, number: int) -> str:
    """A customer's card: how to reach him, his grips with their differences, his balls and jobs."""
    person = book.person(number)
    lines = [f"Customer {person.id}: {person.name}, {person.hand} hand", *_in_bin(person.deleted)]
    lines += wrap(person.contact or "no contact kept", "contact  ", indent="")
    if person.notes:
        lines += wrap(person.notes, "notes    ", indent="")
    lines += [
        "",
        "GRIPS (what changed, in sixty-fourths of an inch)",
        *grips_lines(book.grips(number)),
    ]
    balls = book.rows("SELECT id FROM balls WHERE owner = ? AND deleted IS NULL", number)
    lines += ["", "BALLS"]
    for row in balls:
        ball = book.ball(row["id"])
        lines += wrap(f"ball {ball.id}: {ball.name or '-'}, serial {ball.serial or '-'}")
    return "\n".join([*lines, "", "JOBS"]) + "\n" + jobs_text(book.jobs_of(number))


def grips_lines(grips: Sequence[DatedGrip]) -> list[str]:
    """A customer's grips, each with what differs from the one before it."""
    if not grips:
        return ["  none yet"]
    lines: list[str] = []
    for n, grip in enumerate(grips):
        why = f", {grip.why}" if grip.why else ""
        where = f", job {grip.job}" if grip.job is not None else ""
        changes = [] if n == 0 else grip_differences(grips[n - 1].grip, grip.grip)
        said = "; ".join(difference_words(*each) for each in changes)
        lines += wrap(f"{grip.date}{where}{why}: {said or 'the first grip kept'}")
    return lines


def difference_words(name: str, then: float | None, since: float | None) -> str:
    """A figure of a grip and by how much it grew, in sixty-fourths of an inch; lengths in inches."""
    if then is None or since is None:
        return f"{name} {'added' if then is None else 'gone'}"
    change = 64.0 * (since - then)
    return (
        f"{name} {change:+.0f}" if abs(change - round(change)) < 0.01 else f"{name} {change:+.2f}"
    )


def ball_text(book: Book, number: int) -> str:
    """A ball and its whole life."""
    ball = book.ball(number)
    owner = "nobody in the book" if ball.owner is None else book.person(ball.owner).name
    lines = [f"Ball {ball.id}: {ball.name or '-'}, serial {ball.serial or '-'}, of {owner}"]
    return "\n".join([*lines, *_in_bin(ball.deleted), *life_lines(book.life(number))]) + "\n"


def life_lines(life: Sequence[Event]) -> list[str]:
    """What happened to a ball, a line each."""
    return [
        line
        for event in life
        for line in wrap(
            f"{event.date} {event.kind}{_detail(event.detail)}"
            + (f" (job {event.job})" if event.job is not None else "")
        )
    ] or ["  nothing yet"]


def _detail(detail: Any) -> str:
    said = []
    for name, value in detail.items():
        words = ", ".join(map(str, value)) if isinstance(value, list) else str(value)
        said.append(words if name in ("holes", "stage") else f"{name} {words}")
    return f": {', '.join(said)}" if said else ""


def conflicts_text(conflicts: Sequence[Conflict]) -> str:
    """What two books say differently of the same rows, side by side."""
    lines = []
    for c in conflicts:
        lines.append(f"{c.kind} {c.number} differs; kept as it is here:")
        rows = [("", "here", "there")]
        for here, there in zip(c.here.split("; "), c.there.split("; "), strict=False):
            if here != there:
                name, _, value = here.partition(": ")
                rows.append((name, _cut(value, CUT), _cut(there.partition(": ")[2], CUT)))
        lines += table(rows)
    return "\n".join(lines) + "\n" if lines else ""


def _in_bin(deleted: str | None) -> list[str]:
    return [f"In the bin since {deleted[:10]}; it is gone after 30 days."] if deleted else []


def _cut(text: str, most: int = LONGEST_CELL) -> str:
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 3]}..."
