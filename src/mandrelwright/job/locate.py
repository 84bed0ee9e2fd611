"""On which line of a TOML file each key stands, which parsers forget.

The text is known to be valid TOML when this is asked, so the scanner only has to keep its
place: it steps over strings, comments and nested brackets and notes where keys begin.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import defaultdict

from mandrelwright.job.values import Keys

_GAP = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_KEY = re.compile(r"""[ \t]*("(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[A-Za-z0-9_-]+)[ \t]*""")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?!")|'
    r"'''.*?'''(?!')|"
    r'"(?:[^"\\\n]|\\.)*"|'
    r"'[^'\n]*'",
    re.DOTALL,
)
_BARE = re.compile(r"[^,\]}#\n]+")


def key_lines(text: str) -> dict[Keys, int]:
    """Line (from 1) of every key, table header and list item, by its path of keys and indices."""
    return _Scanner(text).scan()


def line_of(lines: dict[Keys, int], keys: Keys) -> int:
    """Line of the longest part of ``keys`` that stands in the file; 1 when none does."""
    while keys:
        if keys in lines:
            return lines[keys]
        keys = keys[:-1]
    return 1


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[Keys, int] = {}
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self.rows: defaultdict[Keys, int] = defaultdict(int)

    def scan(self) -> dict[Keys, int]:
        """Step through the whole text once."""
        table: Keys = ()
        self._take(_GAP)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._take(_GAP)
        return self.lines

    def _take(self, token: re.Pattern[str]) -> str:
        """The token that stands here; one character when it does not, so that scanning ends."""
        match = token.match(self.text, self.at)
        self.at = match.end() if match else self.at + 1
        return match.group() if match else ""

    def _note(self, keys: Keys) -> None:
        self.lines.setdefault(keys, bisect_right(self.starts, self.at))

    def _header(self) -> Keys:
        """[table] or [[row of a list]], with the index of the row it stands in."""
        begin = self.at
        rows = self.text.startswith("[[", self.at)
        self.at += 2 if rows else 1
        keys: Keys = ()
        *outer, last = self._dotted()
        for key in outer:
            keys = self._in_row((*keys, key))
        keys = (*keys, last)
        if rows:
            self.rows[keys] += 1
        self.at, end = begin, self.at
        self._note(keys)
        keys = self._in_row(keys)
        self._note(keys)
        self.at = end + (2 if rows else 1)
        return keys

    def _in_row(self, keys: Keys) -> Keys:
        return (*keys, self.rows[keys] - 1) if keys in self.rows else keys

    def _dotted(self) -> list[str]:
        keys = [self._key()]
        while self.text.startswith(".", self.at):
            self.at += 1
            keys.append(self._key())
        return keys

    def _key(self) -> str:
        return self._take(_KEY).strip().strip("\"'")

    def _pair(self, table: Keys) -> None:
        """key = value, where the value may hold further pairs."""
        keys = table
        begin = self.at
        dotted = self._dotted()
        end, self.at = self.at, begin
        for key in dotted:
            keys = (*keys, key)
            self._note(keys)
        self.at = end + 1
        self._value(keys)

    def _value(self, keys: Keys) -> None:
        self._take(_GAP)
        opening = self.text[self.at : self.at + 1]
        if opening in ("{", "["):
            self._nested(keys, closing="}" if opening == "{" else "]")
        elif opening in ('"', "'"):
            self._take(_STRING)
        else:
            self._take(_BARE)

    def _nested(self, keys: Keys, closing: str) -> None:
        self.at += 1
        item = 0
        self._take(_GAP)
        while self.at < len(self.text) and self.text[self.at] != closing:
            if closing == "}":
                self._pair(keys)
            else:
                self._note((*keys, item))
                self._value((*keys, item))
                item += 1
            self._take(_GAP)
            if self.text.startswith(",", self.at):
                self.at += 1
                self._take(_GAP)
        self.at += 1
