"""The documentation as pages of the bench, so that a finding leads to what explains it.

Read from the source tree, else from the copy that an installed package keeps.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from markdown_it import MarkdownIt

HERE = Path(__file__)
PLACES = (HERE.parents[3] / "docs", HERE.with_name("static") / "copied" / "docs")
_NAME = re.compile(r"[a-z][a-z0-9-]{0,40}")
_COMMENT = re.compile(r"<!--.*?-->\s*", re.DOTALL)
_TITLE = re.compile(r"^# (.+)$", re.MULTILINE)
_NAMED = re.compile(r"\(([a-z0-9-]+)\.md")
_LINK = re.compile(r'href="([a-z0-9-]+)\.md(#[^"]*)?"')
_OUT = re.compile(r'<a href="(?!/manual/|#)[^"]*">(.*?)</a>')
_HEAD = re.compile(r"<h([23])>(.*?)</h\1>")
_ROW = re.compile(r"<tr>\n<td><code>([a-z]+\.[a-z0-9-]+)</code>")


def _folder() -> Path | None:
    return next((place for place in PLACES if (place / "index.md").is_file()), None)


@cache
def pages_of() -> dict[str, str]:
    """Titles of all pages by name, in the order in which the index names them."""
    folder = _folder()
    if folder is None:
        return {}
    texts = {path.stem: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.md"))}
    named = ["index", *_NAMED.findall(texts["index"]), *texts]
    found = {name: _TITLE.search(texts[name]) for name in dict.fromkeys(named) if name in texts}
    return {name: title[1].replace("`", "") for name, title in found.items() if title}


@cache
def page_of(name: str) -> str | None:
    """A page as HTML, its links kept inside the bench; None where there is none."""
    folder = _folder()
    if folder is None or not _NAME.fullmatch(name) or not (folder / f"{name}.md").is_file():
        return None
    text = _COMMENT.sub("", (folder / f"{name}.md").read_text(encoding="utf-8"))
    html = str(MarkdownIt("commonmark", {"html": False}).enable("table").render(text))
    html = _LINK.sub(lambda match: f'href="/manual/{match[1]}{match[2] or ""}"', html)
    html = _OUT.sub(r"\1", html)
    html = _HEAD.sub(lambda m: f'<h{m[1]} id="{_anchor(m[2])}">{m[2]}</h{m[1]}>', html)
    html = _ROW.sub(r'<tr id="\1">\n<td><code>\1</code>', html)
    html = html.replace("<th></th>", "<td></td>")  # a corner heads nothing
    return html.replace("<table>", '<div class="scroll" tabindex="0"><table>').replace(
        "</table>", "</table></div>"
    )


def _anchor(heading: str) -> str:
    plain = re.sub(r"<[^>]+>", "", heading).lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")
