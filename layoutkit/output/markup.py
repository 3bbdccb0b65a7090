"""The few marks of Markdown that the handbook's pages use, as HTML.

Headings, paragraphs, lists, tables, code, pictures, and within a line code and bold. Nothing of a page
is taken for HTML: every character is written so that the browser shows it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from html import escape

_ITEM = re.compile(r"(-|\d+\.) +")
_PICTURE = re.compile(r"!\[([^\]]*)\]\((\w+)\)")
_CODE = re.compile(r"(`[^`]+`)")
_BOLD = re.compile(r"\*\*(.+?)\*\*")
_LINK = re.compile(r"\[([^\]]+)\]\((#[\w-]+)\)")


def html(text: str, picture: Callable[[str, str], str]) -> str:
    """A page as HTML; ``picture`` makes the element of a picture of its words and name."""
    return "\n".join(_element(block, picture) for block in _blocks(text.splitlines()))


def spans(text: str) -> str:
    """A line's code, bold words and links within the page, as HTML."""
    parts = _CODE.split(text)
    for i, each in enumerate(parts):
        if i % 2:
            parts[i] = f"<code>{escape(each[1:-1])}</code>"
        else:
            linked = _LINK.sub(r'<a href="\2">\1</a>', escape(each))
            parts[i] = _BOLD.sub(r"<b>\1</b>", linked)
    return "".join(parts)


def _blocks(lines: Sequence[str]) -> Iterator[list[str]]:
    """The lines of each block: fenced code, a heading, or what stands between empty lines."""
    block: list[str] = []
    fenced = False
    for line in lines:
        fence = line.startswith("```")
        alone = line.startswith("#") and not fenced
        if block and not fenced and (fence or alone or not line.strip()):
            yield block
            block = []
        if fence:
            fenced = not fenced
        if line.strip() or fenced:
            block.append(line)
        if alone or (fence and not fenced):
            yield block
            block = []
    if block:
        yield block


def _element(block: Sequence[str], picture: Callable[[str, str], str]) -> str:
    first = block[0]
    shown = _PICTURE.fullmatch(first)
    if first.startswith("```"):
        code = "\n".join(line for line in block[1:] if not line.startswith("```"))
        return f"<pre>{escape(code)}</pre>"
    if first.startswith("#"):
        level = len(first) - len(first.lstrip("#")) + 1
        return f"<h{level}>{spans(first.lstrip('# '))}</h{level}>"
    if shown is not None:
        return picture(shown[1], shown[2])
    if first.startswith("|"):
        return _table(block)
    if _ITEM.match(first):
        return _list(block)
    return f"<p>{spans(' '.join(block))}</p>"


def _table(block: Sequence[str]) -> str:
    rows = [[spans(cell.strip()) for cell in line.strip("| ").split("|")] for line in block]
    head, *body = (row for row in rows if set("".join(row)) - {"-", ":"})
    top = "".join(f"<th>{cell}</th>" for cell in head)
    rest = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in body)
    return f"<table><tr>{top}</tr>{rest}</table>"


def _list(block: Sequence[str]) -> str:
    items: list[str] = []
    for line in block:
        begun = _ITEM.match(line)
        if begun:
            items.append(line[begun.end() :])
        else:
            items[-1] += f" {line.strip()}"
    kind = "ul" if block[0].startswith("-") else "ol"
    return f"<{kind}>{''.join(f'<li>{spans(each)}</li>' for each in items)}</{kind}>"
