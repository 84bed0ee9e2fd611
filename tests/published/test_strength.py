"""Strength of plies against textbook examples (cases/strength.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.strength import (
    MODES,
    Strengths,
    hashin,
    maximum_stress,
    resin_kept,
    tsai_wu,
)
from tests.published.case import read_cases

CASES = read_cases("strength")
Inputs = Mapping[str, Any]


def ply_stress(given: Inputs) -> np.ndarray:
    """Stress in the axes of the ply, MPa, by the matrices T σ Tᵀ of textbook mechanics."""
    axial, hoop, shear = given["stress"]
    angle = np.radians(given["angle_deg"])
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, s], [-s, c]])
    tensor = turn @ np.array([[axial, shear], [shear, hoop]]) @ turn.T
    return np.array([tensor[0, 0], tensor[1, 1], tensor[0, 1]])


def strengths(given: Inputs, through: float = 50.0) -> Strengths:
    return Strengths(
        given["along_tension"],
        given["along_compression"],
        given["across_tension"],
        given["across_compression"],
        given["shear"],
        through,
    )


def clt_12(given: Inputs) -> dict[str, Any]:
    stress, limits = ply_stress(given), strengths(given)
    across = limits.across_tension * limits.across_compression
    along = limits.along_tension * limits.along_compression
    hoffman = -0.5 * float(np.sqrt(across / along))
    return {
        "maximum_stress": maximum_stress(stress, limits).min(),
        "tsai_wu": tsai_wu(stress, limits),
        "tsai_wu_hoffman": tsai_wu(stress, limits, hoffman),
    }


def clt_12b(given: Inputs) -> dict[str, Any]:
    return {"tsai_wu": tsai_wu(ply_stress(given), strengths(given))}


def clt_13(given: Inputs) -> dict[str, Any]:
    factors = np.array([hashin(ply_stress(given), strengths(given, S)) for S in given["through"]])
    assert np.all(np.isinf(factors[:, [1, 2]]))  # neither compressed along nor pulled across
    return {
        "fibre_tension": factors[0, MODES.index("fibre tension")],
        "matrix_compression": factors[:, MODES.index("matrix compression")],
    }


def hot_1(given: Inputs) -> dict[str, Any]:
    return {"kept": resin_kept(given["temperature"], given["glass"], given["reference"])}


ANSWERS: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "CLT-12": clt_12,
    "CLT-12b": clt_12b,
    "CLT-13": clt_13,
    "HOT-1": hot_1,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
