"""The handbook: one page for a browser, made on this machine, with everything in it.

Tasks come from the texts in `handbook_pages`; fields, readings and words of the trade from the very
texts that the window shows at F1; the pictures are drawn from a sample. Nothing is fetched.
"""

from __future__ import annotations

import re
import tempfile
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from html import escape
from pathlib import Path

from layoutkit import __version__
from layoutkit.errors import InputError
from layoutkit.job.files import write_atomic
from layoutkit.job.folders import user_folder
from layoutkit.job.limits import limit_at
from layoutkit.output import help_texts, markup
from layoutkit.output.help_texts import Explanation
from layoutkit.output.labels import LABELS

NAME = "handbook.html"
_PAGES = Path(__file__).parent / "handbook_pages"
_CAPITALS = ("cg", "psa", "pap", "val", "rg")

_STYLE = """
body { margin: 0; font: 16px/1.5 "Segoe UI", "Helvetica Neue", "DejaVu Sans", sans-serif; color: #1b1b1b;
  background: #fdfdfc; }
nav { position: fixed; top: 0; bottom: 0; width: 17rem; overflow: auto; padding: 1rem;
  box-sizing: border-box; background: #f2f1ed; border-right: 1px solid #c4c1b8; }
nav a { display: block; padding: .15rem 0; color: #1b4b8f; text-decoration: none; }
nav input { width: 100%; box-sizing: border-box; font: inherit; padding: .35rem; }
main { margin-left: 17rem; padding: 1rem 2rem; max-width: 54rem; }
h2 { border-bottom: 1px solid #c4c1b8; margin-top: 2.5rem; }
pre { background: #f2f1ed; padding: .7rem; overflow: auto; font-size: 13px; }
code { font-family: "DejaVu Sans Mono", Consolas, Menlo, monospace; font-size: .9em; }
table { border-collapse: collapse; }
th, td { border: 1px solid #c4c1b8; padding: .3rem .6rem; text-align: left; }
img { max-width: 100%; border: 1px solid #c4c1b8; }
figcaption { color: #55534c; font-size: .9em; }
dt { font-weight: bold; margin-top: .9rem; } dd { margin-left: 1.2rem; }
dd p { margin: .2rem 0; }
[hidden] { display: none; }
@media print { nav { display: none; } main { margin: 0; } }
@media (max-width: 46rem) { nav { position: static; width: auto; } main { margin: 0; padding: 1rem; } }
"""

# a piece of the page is shown where it, with its section's heading, has every word that is typed
_SCRIPT = """
const box = document.getElementById("search"), count = document.getElementById("count");
const sections = [...document.querySelectorAll("main section")].map(section => ({
  section, link: document.querySelector(`nav a[href="#${section.id}"]`),
  heading: section.querySelector("h2").textContent.toLowerCase(),
  pieces: [...section.querySelectorAll("[data-piece]")].map(
    piece => ({ piece, text: piece.textContent.toLowerCase() })) }));
box.addEventListener("input", () => {
  const words = box.value.toLowerCase().split(/\\s+/).filter(word => word);
  let found = 0;
  for (const each of sections) {
    let shown = 0;
    for (const { piece, text } of each.pieces) {
      const all = each.heading + " " + text;
      piece.hidden = !words.every(word => all.includes(word));
      shown += !piece.hidden;
    }
    each.section.hidden = each.link.hidden = shown === 0;
    found += shown;
  }
  count.textContent = words.length ? `${found} found` : "";
});
document.addEventListener("keydown", event => {
  if (event.key === "/" && document.activeElement !== box) { event.preventDefault(); box.focus(); }
});
"""


def page(picture: Callable[[str], bytes | None]) -> str:
    """The whole handbook as HTML; ``picture`` draws the PNG of a picture, None where it cannot."""
    drawn: dict[str, bytes | None] = {}

    def shown(words: str, name: str) -> str:
        if name not in drawn:
            drawn[name] = picture(name)
        data = drawn[name]
        if data is None:
            return ""
        source = f"data:image/png;base64,{b64encode(data).decode()}"
        words = escape(words)
        return (
            f'<figure><img src="{source}" alt="{words}"><figcaption>{words}</figcaption></figure>'
        )

    sections = [*_tasks(shown), *_tables(), _glossary(shown), *_last(shown)]
    links = "".join(f'<a href="#{name}">{escape(title)}</a>' for name, title, _ in sections)
    body = "\n".join(
        f'<section id="{name}"><h2>{escape(title)}</h2>\n{content}</section>'
        for name, title, content in sections
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>layoutkit {__version__}: handbook</title><style>{_STYLE}</style></head>\n<body><nav>"
        '<label for="search">Search</label><input id="search" type="search" placeholder="press /">'
        f'<p id="count" aria-live="polite"></p>{links}</nav>\n<main><h1>layoutkit {__version__}</h1>\n'
        f"{body}</main><script>{_SCRIPT}</script></body></html>\n"
    )


def write_handbook(path: str | Path | None = None) -> Path:
    """Make the handbook and write it; returns the file. Raises InputError where it cannot be written.

    Without a ``path`` it goes where the program keeps its data, or among the temporary files where
    that cannot be.
    """
    text = page(_Artist()).encode()
    if path is not None:
        write_atomic(path, text)
        return Path(path)
    with suppress(InputError, OSError):
        usual = user_folder("data") / NAME
        usual.parent.mkdir(parents=True, exist_ok=True)
        write_atomic(usual, text)
        return usual
    folder = Path(tempfile.mkdtemp(prefix="layoutkit-"))
    write_atomic(folder / NAME, text)
    return folder / NAME


def show_in_browser(path: Path) -> bool:
    """Open a page in the user's browser; False where there is none."""
    import webbrowser

    try:
        return webbrowser.open(path.absolute().as_uri())
    except (webbrowser.Error, OSError):
        return False


class _Artist:
    """Draws the handbook's pictures of the first sample, which it plans once."""

    def __call__(self, name: str) -> bytes | None:
        """The PNG of a picture; None where no sample was installed."""
        from layoutkit.job.samples import samples
        from layoutkit.job.store import load_job
        from layoutkit.output.handbook_pictures import PICTURES
        from layoutkit.planning.plan import plan

        paths = samples()
        if not hasattr(self, "plan") and paths:
            self.plan = plan(load_job(paths[0]))
        return PICTURES[name](self.plan) if paths else None


_Section = tuple[str, str, str]  # its name in links, its heading, its HTML
_Shown = Callable[[str, str], str]


def _texts() -> Iterator[str]:
    for path in sorted(_PAGES.glob("*.md")):
        yield path.read_text(encoding="utf-8")


def _tasks(shown: _Shown) -> Iterator[_Section]:
    return (_task(text, shown) for text in _texts() if not text.startswith("# Changes"))


def _last(shown: _Shown) -> Iterator[_Section]:
    return (_task(text, shown) for text in _texts() if text.startswith("# Changes"))


def _task(text: str, shown: _Shown) -> _Section:
    heading, _, rest = text.partition("\n")
    title = heading.lstrip("# ")
    # each part under a heading of its own is found apart
    parts = re.split(r"^(?=## )", rest, flags=re.MULTILINE)
    content = "".join(
        f"<div data-piece>{markup.html(part, shown)}</div>" for part in parts if part.strip()
    )
    return _name(title), title, content


def _tables() -> Iterator[_Section]:
    fields = ((_label(path), path, text) for path, text in help_texts.FIELDS.items())
    yield _section(
        "Every field of the record",
        (
            _entry(label, [*_paragraphs(text), *_possible(path)], path.replace("*", "N"))
            for label, path, text in fields
        ),
    )
    groups: tuple[tuple[str, Mapping[str, Explanation]], ...] = (
        ("Every reading and check", help_texts.READINGS),
        ("Maps of other layouts", help_texts.MAPS),
        ("Figures of a shot", help_texts.LANE),
        ("Columns of the tables", help_texts.COLUMNS),
        ("Fields of the shop's dialogs", help_texts.SHOP),
    )
    for title, texts in groups:
        yield _section(title, (_entry(_said(key), _paragraphs(e)) for key, e in texts.items()))
    yield _section(
        "Columns of the shelf",
        (_entry(_said(key), [words]) for key, words in help_texts.SHELF.items()),
    )


def _glossary(shown: _Shown) -> _Section:
    name, title, terms = _section(
        "Words of the trade", (_entry(term, [words]) for term, words in help_texts.GLOSSARY.items())
    )
    return name, title, f"<div data-piece>{shown('The marks on a ball', 'marks')}</div>{terms}"


def _section(title: str, entries: Iterable[str]) -> _Section:
    return _name(title), title, f"<dl>{''.join(entries)}</dl>"


def _entry(title: str, paragraphs: Iterable[str], path: str = "") -> str:
    code = f" <code>{escape(path)}</code>" if path else ""
    words = "".join(f"<p>{escape(each)}</p>" for each in paragraphs)
    return f"<div data-piece><dt>{escape(title)}{code}</dt><dd>{words}</dd></div>"


def _paragraphs(text: Explanation) -> list[str]:
    return text.words().split("\n")


def _possible(path: str) -> list[str]:
    limit = limit_at(path)
    return [] if limit is None else [f"Possible: {limit.range}."]


def _label(path: str) -> str:
    """What the window calls the field whose path ends so."""
    ends = [end for end in LABELS if path == end or path.endswith(f".{end}")]
    return LABELS[max(ends, key=len)] if ends else _said(path)


def _said(key: str) -> str:
    """A key of the texts as people say it: `pin_to_cg` is "Pin to CG"."""
    words = re.split(r"[_. ]", key)
    text = " ".join(word.upper() if word in _CAPITALS else word for word in words)
    return text[:1].upper() + text[1:]


def _name(title: str) -> str:
    return "-".join(re.findall(r"[a-z0-9]+", title.lower()))
