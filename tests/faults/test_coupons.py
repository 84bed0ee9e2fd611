"""A bad table of smoothed rings ends in one clear error at the key that names it."""

from __future__ import annotations

from pathlib import Path

import pytest

from mandrelwright.job.problems import JobError
from mandrelwright.job.read import read_job

HERE = Path(__file__).parent
GOOD = (HERE / "job.toml").read_text(encoding="utf-8")
TIME = 'time = "25 min"\n'
HEAD = "minutes,before (mm),after (mm)\n"
ROWS = "10,50.00,49.98\n25,50.01,49.97\n40,50.00,49.95\n"

BAD = {
    "empty": ("", "is empty", "minutes, before"),
    "head alone": (HEAD, "has 0 rows", "three rings"),
    "one row": (HEAD + "25,50,49.9\n", "has 1 row,", "three rings"),
    "two times": (HEAD + "10,50,49.98\n25,50,49.96\n", "has 2 rows", "three rings"),
    "text": (HEAD + "10,fifty,49.98\n", 'row 2, column before: "fifty" does not start', "write"),
    "nan": (HEAD + "10,nan,49.98\n", "not a finite number", "write"),
    "bare": ("minutes,before,after\n10,50,49.98\n", "bare number", "unit"),
    "negative time": (HEAD + "-10,50,49.98\n", "at least 0 min", "correct"),
    "no vapour": (HEAD + "0,50,50\n" * 3, "no ring that was in the vapour", "smooth rings"),
    "swapped": (HEAD + "10,49.5,50\n", "row 2: loses -0.50 mm", "wrong way round"),
    "slip": (HEAD + "10,50,45\n", "loses 5.00 mm", "slip of the pen"),
    "no such column": ("minutes,befor,after\n", '"befor" is no column', '"before"?'),
    "column lacking": ("minutes,before (mm)\n10,50\n", "has the columns minutes, before", "after"),
    "wrong unit": ("minutes,before (kg),after (mm)\n", '"kg" is no unit of before', "minutes"),
    "too many values": (HEAD + "10,50,49.98,\n", "has 4 values for 3", "point"),
    "decimal comma": (HEAD + "10,50,0,49,9\n", "has 5 values for 3", "point"),
    "spread": (HEAD + "10,50 mm +- 1 mm,49.98\n", "may have no spread", "leave out"),
    "large": (HEAD + "10,50,49.98\n" * 9000, "larger than 100 kB", "minutes"),
    "many": (HEAD + "10,50,49.98\n" * 1001, "more than 1000 rows", "minutes"),
}


def refused(
    folder: Path, table: bytes | None, key: str = 'coupon = "rings.csv"\n'
) -> tuple[str, ...]:
    """Field, limit and remedy of the one problem."""
    if table is not None:
        (folder / "rings.csv").write_bytes(table)
    path = folder / "job.toml"
    path.write_text(GOOD.replace(TIME, TIME + key), encoding="utf-8")
    with pytest.raises(JobError) as caught:
        read_job(path)
    (problem,) = caught.value.problems
    assert problem.line > 0
    assert len(str(problem)) < 400
    return problem.field, problem.limit, problem.remedy


@pytest.mark.parametrize("name", BAD)
def test_a_bad_table_says_what_and_where(tmp_path: Path, name: str) -> None:
    table, limit, remedy = BAD[name]
    field, said, do = refused(tmp_path, table.encode())
    assert field == "surface[2].coupon"
    assert limit in said + ","
    assert remedy in do


def test_a_table_that_is_no_text_or_elsewhere(tmp_path: Path) -> None:
    assert "not UTF-8" in refused(tmp_path, b"\xff\xfe\x00")[1]
    outside = tmp_path / "job"
    outside.mkdir()
    (tmp_path / "rings.csv").write_text(HEAD + ROWS)
    for name in ("../rings.csv", "/etc/hostname"):
        assert "outside the job's folder" in refused(outside, None, f'coupon = "{name}"\n')[1]
    assert "is not a file" in refused(outside, None, 'coupon = "none.csv"\n')[1]


def test_loss_or_coupon(tmp_path: Path) -> None:
    key = 'coupon = "rings.csv"\nloss = "0.04 mm"\n'
    field, limit, _ = refused(tmp_path, (HEAD + ROWS).encode(), key)
    assert (field, limit) == ("surface[2].loss", "is told by the coupon too")


GOODS = (
    HEAD + ROWS,
    "# Estuary rings\n\n" + HEAD.replace(",", ";") + ROWS.replace(",", ";"),
    "after (mm)\tminutes\tbefore (mm)\n49.98\t10\t50\n49.97\t25\t50.01\n49.95\t40\t50\n",
    "Minutes,Before,After\n10 min,50.00 mm,49.98 mm\n25,5.001 cm,49.97 mm\n0.04 d,50 mm,49.9 mm\n",
)


@pytest.mark.parametrize("table", GOODS, ids=("comma", "semicolon", "tab", "units"))
def test_good_tables(tmp_path: Path, table: str) -> None:
    (tmp_path / "rings.csv").write_text(table, encoding="utf-8-sig", newline="\r\n")
    path = tmp_path / "job.toml"
    path.write_text(GOOD.replace(TIME, TIME + 'coupon = "rings.csv"\n'), encoding="utf-8")
    rings = read_job(path).coupons["rings.csv"]
    assert rings.time[:2] == (600.0, 1500.0)
    assert rings.before[1] - rings.after[1] == pytest.approx(4e-5)


WEIGHED = (
    ('[["24 h", "212 g"], ["0 h", "213 g"]]', "weighings[2][1]", "must come after"),
    ('[["0 h", "212 g"]]', "weighings", "at least 2"),
    ('[["-1 h", "212 g"], ["0 h", "213 g"]]', "weighings[1][1]", "at least 0 h"),
    ('[["0 h", "212 g"], ["24 h", "112 g"]]', "weighings[2][2]", "more than 10 %"),
    ('[["0 h", "212"], ["24 h", "211 g"]]', "weighings[1][2]", "bare number"),
)


@pytest.mark.parametrize(("value", "field", "limit"), WEIGHED)
def test_bad_weighings(tmp_path: Path, value: str, field: str, limit: str) -> None:
    at, said, _ = refused(tmp_path, None, f"weighings = {value}\n")
    assert at == f"surface[2].{field}"
    assert limit in said
