"""Buckling under outside pressure against its published forms (cases/buckling.toml)."""

from __future__ import annotations

import pytest

from mandrelwright.physics.buckling import bay_pressure, warm_modulus
from tests.published.case import read_cases

CASES = read_cases("buckling")


def pressure(inputs: dict[str, float], length: str) -> float:
    modulus, poisson, radius, wall = (inputs[k] for k in ("modulus", "poisson", "radius", "wall"))
    return float(bay_pressure(modulus, poisson, radius, wall, inputs[length]))


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    case = CASES[identity]
    found = {name: pressure(dict(case.inputs), "length") for name in case.expected}
    if "long" in found:
        found["long"] = pressure(dict(case.inputs), "long")
    case.check(found)


def test_warm_modulus_meets_the_definition_of_the_two_temperatures() -> None:
    """ISO 75-2 (from memory): 0.2 % of strain in the outer fibre at 1.8 and at 0.45 MPa."""
    kelvin = [296.15, 353.15, 363.15, 364.0]
    found = warm_modulus(kelvin, 2.1e9, 353.15, 363.15)
    assert found == pytest.approx([2.1e9, 1.8e6 / 0.002, 0.45e6 / 0.002, 0.0], rel=1e-12)
