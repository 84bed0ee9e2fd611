"""The case reader refuses what could not fail or does not say where it comes from."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from tests.published.case import FOLDER, Case, read_cases

HONEST = Case(
    id="X-1",
    title="a title",
    source="a source",
    where="a page",
    status="verified",
    digitised=False,
    tolerance=1e-3,
    because="four printed digits",
    inputs={},
    expected={"one": 1.0, "two": [2.0, 3.0]},
)


@pytest.mark.parametrize(
    ("change", "complaint"),
    [
        ({"source": " "}, "source is empty"),
        ({"where": ""}, "where is empty"),
        ({"because": ""}, "because is empty"),
        ({"status": "published"}, "status"),
        ({"expected": {}}, "nothing is expected"),
        ({"tolerance": 0.51}, "tolerance of one"),
        ({"tolerance": 0.0}, "tolerance of one"),
        ({"tolerance": float("nan")}, "tolerance of one"),
        ({"tolerances": {"two": 0.6}}, "tolerance of two"),
        ({"tolerances": {"three": 0.1}}, "not among"),
        ({"expected": {"one": 0.0}}, "zero without an explicit scale"),
        ({"expected": {"one": [1.0, 0.0]}}, "zero without an explicit scale"),
        ({"scale": {"one": 600.0}}, "lets almost anything pass"),
        ({"recomputed": {"three": 1.0}}, "not among"),
        ({"recomputed_tolerance": 0.1}, "not that loose"),
    ],
)
def test_refuses(change: dict[str, Any], complaint: str) -> None:
    with pytest.raises(ValueError, match=complaint):
        dataclasses.replace(HONEST, **change)


@pytest.mark.parametrize(
    "wrong",
    [
        {"one": 1.002, "two": [2.0, 3.0]},
        {"one": 1.0, "two": [2.0, 3.004]},
        {"one": np.nan, "two": [2.0, 3.0]},
        {"one": 1.0, "two": 2.0},
        {"one": 1.0},
        {"one": 1.0, "two": [2.0, 3.0], "three": 3.0},
    ],
)
def test_fails_on_a_wrong_answer(wrong: dict[str, Any]) -> None:
    with pytest.raises(AssertionError):
        HONEST.check(wrong)


def test_zero_is_judged_by_its_scale() -> None:
    case = dataclasses.replace(HONEST, expected={"one": 0.0}, scale={"one": 10.0})
    case.check({"one": 0.009})
    with pytest.raises(AssertionError):
        case.check({"one": 0.011})


def test_every_case_file_has_tests() -> None:
    """A data file that no test reads would look like a check on the validation page."""
    for file in FOLDER.glob("*.toml"):
        assert (FOLDER.parent / f"test_{file.stem}.py").exists(), file.name
        assert read_cases(file.stem), file.name
