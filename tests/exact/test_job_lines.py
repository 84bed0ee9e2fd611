"""Keys are found on their lines, whatever TOML allows around them."""

import tomllib

from mandrelwright.job.locate import key_lines, line_of

TEXT = '''\
# a comment with [brackets] and key = "value"
schema = 1
title = """two
lines with [[heads]] and "quotes" """
[part]
name = "a # b"     # [not a head]
"odd key" = 'C:\\path'

[[section]]
length = "1 mm"
tip = { open = "2 mm", "more" = [1, 2] }
[[section]]
length = "2 mm"
table = [
    ["0 mm", "1 mm"],   # row one
    # nothing here
    ["2 mm", "3 mm"],
]
[printer.shrink]
across = "1 %"
[[printer.ring]]
file = "5 mm"
[[printer.ring]]
file = "6 mm"
[section.more]
deep.er = true
'''


def test_every_key_is_found_on_its_line() -> None:
    tomllib.loads(TEXT)
    lines = key_lines(TEXT)
    assert lines[("schema",)] == 2
    assert lines[("title",)] == 3
    assert lines[("part",)] == 5
    assert lines[("part", "name")] == 6
    assert lines[("part", "odd key")] == 7
    assert lines[("section",)] == 9
    assert lines[("section", 0)] == 9
    assert lines[("section", 0, "tip", "open")] == 11
    assert lines[("section", 0, "tip", "more", 1)] == 11
    assert lines[("section", 1)] == 12
    assert lines[("section", 1, "table", 1)] == 17
    assert lines[("section", 1, "table", 1, 0)] == 17
    assert lines[("printer", "shrink", "across")] == 20
    assert lines[("printer", "ring", 1, "file")] == 24
    assert lines[("section", 1, "more", "deep", "er")] == 26


def test_what_is_missing_is_where_its_table_begins() -> None:
    lines = key_lines(TEXT)
    assert line_of(lines, ("section", 0, "tip", "blunt")) == 11
    assert line_of(lines, ("section", 1, "shape")) == 12
    assert line_of(lines, ("fit",)) == 1
