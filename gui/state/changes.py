"""What would bring the plan inside the rules, in words, and what that makes of the entries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from gui.state.entries import from_record
from gui.state.undo import difference
from layoutkit.job.record import dump_job
from layoutkit.job.words import static_words
from layoutkit.output.changes_report import changes_text, stopped
from layoutkit.planning.changes import BALL, COMPETITION, Found, Offer, effort, search, words
from layoutkit.planning.values import Plan

HEADINGS = ("change", "by", "side, oz", "finger, oz", "top, oz", "then")


@dataclass(frozen=True, slots=True)
class Changes:
    """The changes that were found for a plan; ``text`` is all of it to read."""

    plan: Plan
    found: Found
    text: str

    @property
    def offers(self) -> tuple[Offer, ...]:
        """The changes that pass, in the order of their kinds."""
        return self.found.offers

    @property
    def rows(self) -> tuple[tuple[str, ...], ...]:
        """A row of cells for each offer, under `HEADINGS`."""
        return tuple(
            (
                words(offer),
                effort(offer),
                *(
                    _short(static_words(name, getattr(offer.plan.statics, f"{name}_oz")))
                    for name in ("side", "finger", "top")
                ),
                offer.plan.outcome,
            )
            for offer in self.offers
        )

    @property
    def notes(self) -> str:
        """What is to be known beside the offers, or why there are none."""
        if not self.offers:
            return self.text
        part = () if self.found.seconds is None else (stopped(self.found),)
        return "\n".join((*part, BALL, COMPETITION))


def _short(words: str) -> str:
    return words.replace(" oz", "").replace(" weight", "").replace(" side", "")


def changes(plan: Plan) -> Changes:
    """Look for changes, which takes some seconds; safe to call in a worker thread."""
    found = search(plan)
    return Changes(plan, found, changes_text(plan, found))


def offered_entries(entries: Mapping[str, str], plan: Plan, offer: Offer) -> dict[str, str]:
    """The entries with an offer for this plan taken; what it does not change stays as typed."""
    changed = dict(entries)
    now, then = (from_record(dump_job(job)) for job in (plan.job, offer.job))
    for path, (_, text) in difference(now, then).items():
        if text is None:
            changed.pop(path, None)
        else:
            changed[path] = text
    return changed
