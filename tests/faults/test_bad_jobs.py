"""Bad input ends in a clear error: file, line, field, value, limit, remedy; never a traceback.

Each case of bad_jobs.toml spoils one place of job.toml. The line an error must name is the
one in which the spoilt text stands (or the table's head, for what is missing).
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import NamedTuple

import pytest

from mandrelwright.job.problems import JobError, Problem
from mandrelwright.job.read import read_job
from mandrelwright.job.values import MOST_BYTES

HERE = Path(__file__).parent
GOOD = (HERE / "job.toml").read_text(encoding="utf-8")


class Case(NamedTuple):
    """What is replaced by what, and what the one error must say."""

    old: str
    new: str
    field: str
    value: str
    limit: str
    remedy: str


def problems(folder: Path, content: str | bytes) -> tuple[Problem, ...]:
    """Every problem found in a job file of this content."""
    path = folder / "bad.toml"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    with pytest.raises(JobError) as caught:
        read_job(path)
    assert all(problem.file == "bad.toml" for problem in caught.value.problems)
    assert all(str(problem) in str(caught.value) for problem in caught.value.problems)
    return caught.value.problems


def spoilt(case: Case) -> tuple[str, int]:
    """The job with the case's text replaced, and the line of what replaced it."""
    assert GOOD.count(case.old) >= 1, case.old
    content = GOOD.replace(case.old, case.new, 1)
    start = GOOD.index(case.old)
    last = start + len(case.new.rstrip("\n"))
    return content, content.count("\n", 0, last) + 1


CASES = {
    kind: [Case(**case) for case in cases]
    for kind, cases in tomllib.loads((HERE / "bad_jobs.toml").read_text(encoding="utf-8")).items()
}
FOUND_ELSEWHERE = {"sleeve[1]", "sleeve[1].fibre", "sleeve[1].tows", "sleeve[1].tow"}
"""Fields whose own line is not the spoilt one."""


@pytest.mark.parametrize(
    "case", [case for cases in CASES.values() for case in cases], ids=lambda case: case.new[:40]
)
def test_the_error_names_line_field_value_limit_and_remedy(tmp_path: Path, case: Case) -> None:
    content, line = spoilt(case)
    found = problems(tmp_path, content)
    (problem,) = [one for one in found if one.field == case.field]
    assert case.value in problem.value
    assert case.limit in problem.limit
    assert case.remedy in problem.remedy
    if case.field not in FOUND_ELSEWHERE:
        assert problem.line == line


def test_there_are_enough_classes_and_cases() -> None:
    assert len(CASES) >= 12
    assert min(map(len, CASES.values())) >= 5


def test_sections_that_step_are_both_named(tmp_path: Path) -> None:
    content = GOOD.replace('diameter = "102.21 mm"', 'diameter = "102.25 mm"')
    (problem,) = problems(tmp_path, content)
    assert problem.field == "section[2]"
    assert '102.250 mm where section "nose" ends at 102.210 mm' in problem.limit


def test_a_diameter_is_no_place_on_a_cylinder(tmp_path: Path) -> None:
    start, stop = GOOD.index("[[section]]"), GOOD.index('[[section]]\nname = "skirt"')
    found = problems(tmp_path, GOOD[:start] + GOOD[stop:])
    assert {problem.field for problem in found} >= {"layer[1].from", "layer[1].to", "layer[2].from"}
    assert all("one cylinder" in one.limit for one in found if one.field.startswith("layer"))


def test_every_problem_is_told_at_once(tmp_path: Path) -> None:
    content = GOOD
    for old, new in (('"392 mm"', '"39,2 mm"'), ("coats = 5", "coats = 0"), ("A4", "A5")):
        content = content.replace(old, new, 1)
    fields = [problem.field for problem in problems(tmp_path, content)]
    assert fields == ["section[1].length", "surface[3].coats", "shop.paper"]


def test_a_missing_table_says_what_it_needs(tmp_path: Path) -> None:
    content = GOOD.replace('[compaction]\nmethod = "peel ply"\n', "")
    (problem,) = problems(tmp_path, content)
    assert (problem.field, problem.value) == ("compaction", "")
    assert "method" in problem.remedy


FILES = {
    "empty": (b"", "empty", "mw new"),
    "blank": (b" \n\n", "empty", "mw new"),
    "junk of 10 MB": (b"junk" * 2_500_000, "larger than 1 MB", "right file"),
    "a little too large": (b"#" * (MOST_BYTES + 1), "larger than 1 MB", "right file"),
    "not UTF-8": (GOOD.encode() + b"\n# \xff\xfe", "not UTF-8", "save it as UTF-8"),
    "UTF-16": (GOOD.encode("utf-16"), "not UTF-8", "save it as UTF-8"),
    "Latin-1": (GOOD.replace("Plover", "Möwe", 1).encode("latin-1"), "not UTF-8", "save"),
    "binary": (bytes(range(1, 128)), "not valid TOML", "key = value"),
    "prose": (b"Dear program, please build a nose.", "not valid TOML", "key = value"),
    "JSON": (b'{"schema": 1}', "not valid TOML", "key = value"),
    "deep list": (b"a = " + b"[" * 100_000, "nested too deeply", "three"),
    "deep table": (b"a = {" + b"a = {" * 100_000, "nested too deeply", "three"),
    "deep key": (b"a." * 300_000 + b"a = 1", "more than nine parts", "three"),
    "huge integer": (b"schema = " + b"9" * 5000, "not valid TOML", ""),
}


@pytest.mark.parametrize(("content", "limit", "remedy"), FILES.values(), ids=FILES)
def test_a_file_that_is_no_job(tmp_path: Path, content: bytes, limit: str, remedy: str) -> None:
    (problem,) = problems(tmp_path, content)
    assert limit in problem.limit or limit in str(problem)
    assert remedy in problem.remedy
    assert len(str(problem)) < 600


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(JobError, match="is not a file"):
            read_job(path)


def test_nothing_unprintable_reaches_the_terminal(tmp_path: Path) -> None:
    nasty = GOOD.replace('name = "Plover nose"', 'name = "\\u001b[31m"\n"\\u0007" = 1')
    text = "".join(map(str, problems(tmp_path, nasty)))
    assert text.isprintable()


OWN = (
    ("../ours.toml", "outside the job's folder", "beside the job"),
    ("/etc/hostname", "outside the job's folder", "beside the job"),
    ("link.toml", "outside the job's folder", "beside the job"),
    ("none.toml", "not a file", "correct the name"),
    ("bad.toml", "cannot be used", ""),
)


@pytest.mark.parametrize(("file", "limit", "remedy"), OWN)
def test_an_own_material_file_stays_in_the_folder(
    tmp_path: Path, file: str, limit: str, remedy: str
) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    (tmp_path / "ours.toml").write_text("")
    (folder / "link.toml").symlink_to(tmp_path / "ours.toml")
    content = GOOD.replace("[flight]", f'[materials]\nfile = "{file}"\n[flight]')
    (problem,) = problems(folder, content)
    assert (problem.field, problem.value) == ("materials.file", f'"{file}"')
    assert limit in problem.limit
    assert remedy in problem.remedy


def test_the_good_job_is_good(tmp_path: Path) -> None:
    path = tmp_path / "good.toml"
    path.write_text(GOOD, encoding="utf-8-sig", newline="\r\n")
    job = read_job(path)
    assert job.path == path
    assert len(job.digest) == 64
    assert job.from_tip(0.1) == pytest.approx(0.392)
