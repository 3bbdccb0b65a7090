"""The trade's terms: searched, and cut into pieces of which some lead to other terms."""

from __future__ import annotations

import re
from collections.abc import Iterator

from gui.state.help_texts import GLOSSARY

_SHORT = ("Pin", "Pitch", "Span")
# other short words as over and close are mostly meant as everybody means them
_LINKED = [term for term in GLOSSARY if len(term) > 5 or term.isupper() or term in _SHORT]
_BY_LENGTH = sorted(_LINKED, key=len, reverse=True)
_TERMS = re.compile(rf"\b({'|'.join(map(re.escape, _BY_LENGTH))})(?:s|es)?\b", re.IGNORECASE)
_NAMES = {term.lower(): term for term in _LINKED}


def found(wanted: str) -> tuple[str, ...]:
    """The terms that a text is in: those that begin with it, then the others; all of an empty one."""
    text = wanted.strip().lower()
    ranked = []
    for term, meaning in GLOSSARY.items():
        name = term.lower()
        if name.startswith(text):
            ranked.append((0, term))
        elif text in name:
            ranked.append((1, term))
        elif text in meaning.lower():
            ranked.append((2, term))
    return tuple(term for _, term in sorted(ranked, key=lambda each: each[0]))


def pieces(term: str) -> Iterator[tuple[str, str]]:
    """A term's meaning in pieces, each with the term that it leads to, or with an empty text."""
    meaning, at = GLOSSARY[term], 0
    for match in _TERMS.finditer(meaning):
        other = _NAMES[match.group(1).lower()]
        bowled_at = match.group(0).lower() == "pins" or meaning[: match.start()].endswith("head ")
        if other != term and not bowled_at:
            yield meaning[at : match.start()], ""
            yield match.group(0), other
            at = match.end()
    yield meaning[at:], ""
