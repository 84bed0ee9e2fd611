"""Tolerance grades against the standard's table (cases/tolerance.toml)."""

from __future__ import annotations

import pytest

from mandrelwright.physics.tolerance import standard_tolerance
from tests.published.case import read_cases

CASES = read_cases("tolerance")
METRES_PER_MM = 1e-3
MICROMETRES_PER_METRE = 1e6


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    case = CASES[identity]
    widths = [
        standard_tolerance(size * METRES_PER_MM, grade) * MICROMETRES_PER_METRE
        for size, grade in case.inputs["order"]
    ]
    case.check({"tolerance": widths})
