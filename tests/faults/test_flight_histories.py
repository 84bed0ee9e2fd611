"""A broken flight history ends in one clear error that names file, row and column."""

from __future__ import annotations

from pathlib import Path

import pytest

from mandrelwright.job.flights import Track
from mandrelwright.job.problems import JobError
from mandrelwright.job.read import read_job

HERE = Path(__file__).parent
GOOD = (HERE / "job.toml").read_text(encoding="utf-8").replace("top_speed = ", "# top_speed = ")
TABLE = """
[flight.history]
file = "flight.csv"
time = { column = "t", unit = "s" }
speed = { column = "v", unit = "m/s" }
altitude = { column = "h", unit = "m" }
angle_of_attack = { column = "alpha", unit = "deg" }
"""
HEAD = "t,v,h,alpha\n"
ROWS = "0,0,0,0\n1,50,20,1\n2,90,95,2\n3,80,180,1\n"

BAD = {
    "empty": ("", "flight.csv is empty", "names the columns"),
    "remarks alone": ("# a log\n\n# no more\n", "flight.csv is empty", "names the columns"),
    "head alone": (HEAD, "has 0 rows with a time", "whole flight"),
    "two rows": (HEAD + "0,0,0,0\n1,5,5,0\n", "has 2 rows with a time", "whole flight"),
    "time stands still": (HEAD + "1,0,0,0\n" * 9, "has 1 rows with a time", "whole flight"),
    "text": (HEAD + ROWS + "4,70,x9,0\n", 'row 6, column h: "x9" is no number', "correct it"),
    "text after remarks": (
        "# log\n" + HEAD + "# up\n\n" + ROWS + "4,fast,1,0\n",
        'row 9, column v: "fast" is no number', "correct it",
    ),
    "unit in the cell": (HEAD + "0,0 m/s,0,0\n" + ROWS, 'row 2, column v: "0 m/s"', "correct"),
    "infinite": (HEAD + ROWS + "4,inf,200,0\n", "row 6, column v: inf", "a slip"),
    "a cell too few": (HEAD + ROWS + "4,70,200\n", "row 6: has 3 values for 4", "one value"),
    "a cell too many": (HEAD + "0,0,0,0,7\n" + ROWS, "row 2: has 5 values for 4", "one value"),
    "decimal comma": (HEAD + "0,0,0,5,1,0,0,2\n" * 4, "row 2: has 8 values for 4", "a point"),
    "other unit": (HEAD + ROWS + "4,25000,200,0\n", "row 6, column v: 2.5e+04 in SI", "unit"),
    "too far after remarks": (
        HEAD + "# up\n" + ROWS + "4,90,9e9,0\n", "row 7, column h: 9e+09", "unit",
    ),
    "column lacking": ("t,v,height,alpha\n" + ROWS, '"h" not at all', "its first line has"),
    "column twice": ("t,v,h,v\n" + ROWS, '"v" twice', "its first line has"),
    "no head": (ROWS, '"t" not at all', "its first line has"),
    "mostly empty": (HEAD + "".join(f"{n},1,,0\n" for n in range(9)), "no number in most", "decl"),
    "a very long text": (HEAD + "x" * 200_000 + ",1,1,1\n" + ROWS, "row 2: is no row", "CSV"),
    "a very long cell": (HEAD + "1" * 200_000 + ",1,1,1\n" + ROWS, "row 2, column t", "a slip"),
}  # fmt: skip


def refused(folder: Path, content: bytes | None, table: str = TABLE) -> tuple[str, str, str]:
    """Field, limit and remedy of the one problem."""
    if content is not None:
        (folder / "flight.csv").write_bytes(content)
    path = folder / "job.toml"
    path.write_text(GOOD + table, encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    (problem,) = caught.value.problems
    assert problem.line > 0
    assert len(str(problem)) < 400
    return problem.field, problem.limit, problem.remedy


@pytest.mark.parametrize("name", BAD)
def test_a_broken_history_says_what_and_where(tmp_path: Path, name: str) -> None:
    content, limit, remedy = BAD[name]
    field, said, do = refused(tmp_path, content.encode())
    assert field.startswith("flight.history")
    assert "flight.csv" in said
    assert limit in said
    assert remedy in do


def test_a_history_that_is_no_text_or_elsewhere(tmp_path: Path) -> None:
    assert "not UTF-8" in refused(tmp_path, b"\xff\xfe\x00")[1]
    assert "not UTF-8" in refused(tmp_path, (HEAD + ROWS).encode() + b"4,\xff,1,1\n")[1]
    assert "row 2, column v" in refused(tmp_path, (HEAD + "0,\x00,0,0\n" + ROWS).encode())[1]
    (tmp_path / "flight.csv").unlink()
    assert "is not a file" in refused(tmp_path, None)[1]
    (tmp_path / "flight.csv").mkdir()
    assert "is not a file" in refused(tmp_path, None)[1]
    outside = TABLE.replace("flight.csv", "../flight.csv")
    assert "outside the job's folder" in refused(tmp_path, None, outside)[1]


def read(folder: Path, content: str) -> Track:
    (folder / "flight.csv").write_text(content, encoding="utf-8")
    path = folder / "job.toml"
    path.write_text(GOOD + TABLE, encoding="utf-8")
    track = read_job(path).track
    assert track is not None
    return track


@pytest.mark.parametrize(
    "content",
    [
        HEAD + ROWS,
        "\ufeff" + HEAD + ROWS,
        "# Estuary log, channel 3\n\n" + HEAD + ROWS + "\n",
        (HEAD + ROWS).replace(",", ";"),
        (HEAD + ROWS).replace(",", "\t"),
        '"t", "v", "h", "alpha"\n' + ROWS,
        (HEAD + ROWS).replace("\n", "\r\n"),
        HEAD + "# up, and away\n" + ROWS,
        "\n".join(line + ",x" for line in (HEAD + ROWS).split()) + "\n",
    ],
)
def test_what_a_spreadsheet_may_write_is_read_alike(tmp_path: Path, content: str) -> None:
    assert read(tmp_path, content).speed.tolist() == [0.0, 50.0, 90.0, 80.0]
