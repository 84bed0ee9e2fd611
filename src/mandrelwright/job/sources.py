"""The bibliography of the shipped library: keys and titles, nothing more of the format."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

_FILE = Path(__file__).with_name("sources.bib")
_ENTRY = re.compile(r"^@(\w+)\{([\w-]+),\n(.*?)^\}", re.MULTILINE | re.DOTALL)
_FIELD = re.compile(r"^  (\w+) = \{(.*?)\},$", re.MULTILINE | re.DOTALL)


@cache
def sources() -> dict[str, dict[str, str]]:
    """Every source by its key, each with its fields: ``sources()["soden-1998"]["year"]``."""
    text = _FILE.read_text(encoding="utf-8")
    return {
        key: {name: _plain(value) for name, value in _FIELD.findall(body)}
        for _, key, body in _ENTRY.findall(text)
    }


def cite(key: str) -> str:
    """One line that names a source; a key that is not in the bibliography is its own citation."""
    fields = sources().get(key)
    if fields is None:
        return key
    parts = [fields.get(name, "") for name in ("author", "title", "journal", "volume", "year")]
    line = ", ".join(part for part in parts if part)
    return f"{line} ({fields['note']})" if "note" in fields else line


def _plain(value: str) -> str:
    return " ".join(value.replace("{", "").replace("}", "").split())
