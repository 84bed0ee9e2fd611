"""Buckling of round shells against its published forms (cases/buckling.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.buckling import bay_pressure, warm_modulus
from mandrelwright.physics.laminate import assemble, reduced_stiffness
from mandrelwright.physics.local_buckling import (
    BENDING,
    axial_load,
    cone_axial_force,
    cone_moment,
    cone_pressure,
    cylinder_share,
    equivalent_wall,
    ring_load,
    torsion_load,
)
from tests.published.case import read_cases

CASES = read_cases("buckling")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def pressure(given: Inputs, length: float) -> float:
    modulus, poisson, radius, wall = (given[k] for k in ("modulus", "poisson", "radius", "wall"))
    return float(bay_pressure(modulus, poisson, radius, wall, length))


def isotropic(modulus: float, poisson: float, wall: float) -> tuple[np.ndarray, ...]:
    Q = reduced_stiffness(modulus, modulus, modulus / (2.0 * (1.0 + poisson)), poisson)
    return assemble(Q[None], np.array([-0.5 * wall, 0.5 * wall]))


def buc_1(given: Inputs) -> Answer:
    ratio = np.array(given["ratio"])
    return {"axial": cylinder_share(ratio), "bending": cylinder_share(ratio, BENDING)}


def buc_2(given: Inputs) -> Answer:
    walls = []
    for poisson in given["poisson"]:
        A, _, D = isotropic(70e9, poisson, 1.0)
        walls.append(float(equivalent_wall(A, D)))
    return {
        "divisor": 16.0 * np.sqrt(walls),
        "share": cylinder_share(given["ratio"] / np.array(walls)),
    }


def buc_3(given: Inputs) -> Answer:
    return {"medium": pressure(given, given["length"]), "long": pressure(given, given["long"])}


def buc_3b(given: Inputs) -> Answer:
    return dict.fromkeys(("windenburg", "roark"), pressure(given, given["length"]))


def buc_3c(given: Inputs) -> Answer:
    wall, radius = given["wall"], given["radius"]
    A, B, D = isotropic(given["modulus"], given["poisson"], wall)
    return {
        "rings": ring_load(A, B, D, radius) / wall,
        "diamonds": axial_load(A, B, D, radius) / wall,
    }


def buc_4(given: Inputs) -> Answer:
    modulus, poisson, wall = given["modulus"], given["poisson"], given["wall"]
    angle = np.radians(given["half_angle_deg"])
    return {
        "axial": cone_axial_force(modulus, poisson, wall, angle),
        "moment": cone_moment(modulus, poisson, wall, angle, given["moment_radius"]),
        "pressure": cone_pressure(modulus, wall, angle, given["small"], given["large"]),
    }


def buc_5(given: Inputs) -> Answer:
    modulus, wall, radius = given["modulus"], given["wall"], given["radius"]
    A, _, D = isotropic(modulus, given["poisson"], wall)
    stress = torsion_load(A, D, radius, given["length"]) / wall
    form = modulus * (wall / radius) ** 1.25 * (radius / given["length"]) ** 0.5
    return {"coefficient": stress / form}


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "BUC-1": buc_1,
    "BUC-2": buc_2,
    "BUC-3": buc_3,
    "BUC-3b": buc_3b,
    "BUC-3c": buc_3c,
    "BUC-4": buc_4,
    "BUC-5": buc_5,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))


def test_warm_modulus_meets_the_definition_of_the_two_temperatures() -> None:
    """ISO 75-2 (from memory): 0.2 % of strain in the outer fibre at 1.8 and at 0.45 MPa."""
    kelvin = [296.15, 353.15, 363.15, 364.0]
    found = warm_modulus(kelvin, 2.1e9, 353.15, 363.15)
    assert found == pytest.approx([2.1e9, 1.8e6 / 0.002, 0.45e6 / 0.002, 0.0], rel=1e-12)
