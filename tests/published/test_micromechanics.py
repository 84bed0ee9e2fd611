"""Ply constants against textbook examples and measured laminae (cases/micromechanics.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from mandrelwright.physics.micromechanics import (
    Fibre,
    Matrix,
    Ply,
    composite_density,
    halpin_tsai,
    ply,
)
from tests.published.case import read_cases

CASES = read_cases("micromechanics")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]
GPA = 1e9
PER_MEGAKELVIN = 1e-6


def shear(E: float, nu: float) -> float:
    return E / (2.0 * (1.0 + nu))


def isotropic_fibre(given: Inputs) -> Fibre:
    E, nu, alpha = given["E_f"] * GPA, given["nu_f"], given.get("alpha_f", 0.0) * PER_MEGAKELVIN
    return Fibre(E, E, given.get("G_f", shear(E, nu) / GPA) * GPA, nu, alpha, alpha, 2500.0)


def resin(given: Inputs) -> Matrix:
    alpha = given.get("alpha_m", 0.0) * PER_MEGAKELVIN
    return Matrix(given["E_m"] * GPA, given["nu_m"], alpha, 1200.0, 0.0)


def whole_ply(given: Inputs) -> Ply:
    return ply(isotropic_fibre(given), resin(given), given["fibre_fraction"])


def mic_1(given: Inputs) -> Answer:
    one, V_f = whole_ply(given), given["fibre_fraction"]
    G_f, G_m = shear(given["E_f"], given["nu_f"]), shear(given["E_m"], given["nu_m"])
    return {
        "E1": one.E1 / GPA,
        "E2": halpin_tsai(given["E_f"], given["E_m"], V_f, 0.0),
        "nu12": one.nu12,
        "G12": halpin_tsai(G_f, G_m, V_f, 0.0),
        "share": given["E_f"] * GPA * V_f / one.E1,
    }


def mic_2(given: Inputs) -> Answer:
    one, V_f = whole_ply(given), given["fibre_fraction"]
    G_f, G_m = shear(given["E_f"], given["nu_f"]), shear(given["E_m"], given["nu_m"])
    dense = halpin_tsai(G_f, G_m, V_f, 1.0 + 40.0 * V_f**10)
    return {"E2": one.E2 / GPA, "G12": one.G12 / GPA, "G12_dense": dense}


def mic_3(given: Inputs) -> Answer:
    one = whole_ply(given)
    return {"alpha1": one.alpha1 / PER_MEGAKELVIN, "alpha2": one.alpha2 / PER_MEGAKELVIN}


def mic_4(given: Inputs) -> Answer:
    fibre = Fibre(1.0, 1.0, 1.0, 0.2, 0.0, 0.0, given["density_f"])
    matrix = Matrix(1.0, 0.3, 0.0, given["density_m"], 0.0)
    V_f = given["fibre_fraction"]
    density = composite_density(fibre, matrix, V_f)
    return {"density": density, "mass_fraction": given["density_f"] * V_f / density}


def mic_5(given: Inputs) -> Answer:
    one = whole_ply(given)
    return {"E2": one.E2 / GPA, "G12": one.G12 / GPA}


def mic_6_glass(given: Inputs) -> Answer:
    one = whole_ply(given)
    return {"E1": one.E1 / GPA, "E2": one.E2 / GPA, "G12": one.G12 / GPA}


def mic_6_rest(given: Inputs) -> Answer:
    rows = zip(given["fibres"], given["E_m"], given["nu_m"], strict=True)
    laminae = [
        whole_ply({"E_f": E, "nu_f": 0.2, "E_m": E_m, "nu_m": nu_m, "fibre_fraction": V_f})
        for (E, _, V_f), E_m, nu_m in rows
    ]
    first = whole_ply({**given, "E_m": given["E_m"][0], "nu_m": given["nu_m"][0]})
    return {"E1": [one.E1 / GPA for one in laminae], "alpha1": first.alpha1 / PER_MEGAKELVIN}


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "MIC-1": mic_1,
    "MIC-2": mic_2,
    "MIC-3": mic_3,
    "MIC-4": mic_4,
    "MIC-5": mic_5,
    "MIC-6 glass": mic_6_glass,
    "MIC-6 rest": mic_6_rest,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
