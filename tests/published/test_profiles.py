"""Nose profiles against closed-form volumes, areas and radii (cases/profiles.toml)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.profiles import nose
from tests.published.case import Case, read_cases

CASES = read_cases("profiles")
L, R = 5.0, 1.0
# Gauss points in v of x = L sin⁴(πv/2): smooth at tips that stand square and at the base
NODES, WEIGHTS = np.polynomial.legendre.leggauss(80)
V = 0.5 * (NODES + 1.0)
X = L * np.sin(0.5 * np.pi * V) ** 4
DX = 0.5 * WEIGHTS * L * 2.0 * np.pi * np.sin(0.5 * np.pi * V) ** 3 * np.cos(0.5 * np.pi * V)


def measured(kind: str, parameter: float | None) -> dict[str, float]:
    r, slope = nose(kind, X, L, R, parameter)
    quarter, half = nose(kind, [0.25 * L, 0.5 * L], L, R, parameter)[0]
    return {
        "filling": float(r * r @ DX) / (R * R * L),
        "area": 2.0 * np.pi * float(r * np.hypot(1.0, slope) @ DX),
        "half": float(half / R),
        "quarter": float(quarter / R),
        "tip_angle_deg": float(np.degrees(np.arctan(nose(kind, 0.0, L, R, parameter)[1]))),
    }


def answer(case: Case) -> dict[str, Any]:
    kind, inputs = case.inputs["kind"], case.inputs
    many = "parameters" in inputs
    shapes = inputs["parameters"] if many else [inputs.get("parameter")]
    rows = [measured(kind, parameter) for parameter in shapes]
    return {name: [row[name] for row in rows] if many else rows[0][name] for name in case.expected}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(answer(CASES[identity]))
