"""Regression, Student's t and solvent in air against cases/surface.toml."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.job.materials import load_library
from mandrelwright.physics.regression import regress, student_quantile
from mandrelwright.physics.solvent import liquid_for_share, saturated_share
from tests.published.case import read_cases

CASES = read_cases("surface")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def norris(given: Inputs) -> Answer:
    x, y = np.array(given["x"]), np.array(given["y"])
    fit = regress(np.column_stack([np.ones_like(x), x]), y)
    about_mean = float(np.sum((y - y.mean()) ** 2))
    return {
        "coefficients": fit.coefficients,
        "deviations": fit.deviations,
        "residual": fit.residual,
        "degrees": fit.degrees,
        "explained": 1.0 - fit.residual**2 * fit.degrees / about_mean,
    }


def air(given: Inputs) -> Answer:
    def millilitres(share: str, space: str) -> float:
        how = (given[name] for name in (share, space, "temperature", "molar_mass", "density"))
        return float(liquid_for_share(*how)) * 1e6

    return {
        "room_exposure": millilitres("exposure", "room"),
        "room_danger": millilitres("danger", "room"),
        "box_explosive": millilitres("explosive", "box"),
        "saturated_percent": 100.0 * float(saturated_share(given["vapour_pressure"])),
    }


def student(given: Inputs) -> Answer:
    return {"quantile": [student_quantile(given["probability"], nu) for nu in given["degrees"]]}


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {"UNC-5": norris, "SUR-1": air, "SUR-2": student}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))


def test_the_library_has_the_numbers_of_the_case() -> None:
    """So that the millilitres of a plan are those of the case."""
    acetone, given = load_library().solvents["acetone"], CASES["SUR-1"].inputs
    keys = {"exposure": "exposure_limit", "explosive": "explosive_least"}
    for name in ("exposure", "danger", "explosive", "molar_mass", "density", "vapour_pressure"):
        assert acetone[keys.get(name, name)].value == pytest.approx(given[name], rel=1e-12)
    assert acetone["danger"].value == pytest.approx(0.1 * acetone["explosive_least"].value)
    saturated = float(saturated_share(acetone["vapour_pressure"].value))
    assert saturated > acetone["explosive_most"].value  # too rich to burn until it is opened
