"""Air and heat of a flight against standards, reports and closed forms (cases/flight.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics import aerodynamics, gas_dynamics, heating, profiles
from mandrelwright.physics.atmosphere import EARTH, atmosphere
from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.physics.driven import driven
from tests.published.case import read_cases

CASES = read_cases("flight")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def aer_1(given: Inputs) -> Answer:
    return atmosphere(np.array(given["altitude"]))._asdict()


def aer_2(given: Inputs) -> Answer:
    H = np.array(given["geopotential"])
    found = atmosphere(EARTH * H / (EARTH - H))
    return {key: getattr(found, key) for key in ("temperature", "pressure", "density")}


def aer_3(given: Inputs) -> Answer:
    M = given["mach"]
    shock = gas_dynamics.normal_shock(M)
    return {
        "pressure": gas_dynamics.pressure_ratio(M),
        "temperature": gas_dynamics.temperature_ratio(M),
        "area": gas_dynamics.area_ratio(M),
        "expansion_deg": np.degrees(gas_dynamics.expansion_angle(M)),
        "behind": shock.mach,
        "shock_pressure": shock.pressure,
        "shock_density": shock.density,
        "shock_temperature": shock.temperature,
        "shock_total": shock.total,
    }


def aer_3b(given: Inputs) -> Answer:
    return {"coefficient": gas_dynamics.stagnation_coefficient(given["mach"])}


def aer_3c(given: Inputs) -> Answer:
    M = given["mach"]
    shock = gas_dynamics.oblique_shock(M, np.radians(given["wedge_deg"]))
    pressure = gas_dynamics.normal_shock(M * np.sin(shock)).pressure
    return {"shock_deg": np.degrees(shock), "pressure": pressure}


def aer_4(given: Inputs) -> Answer:
    found = gas_dynamics.cone(given["mach"], np.radians(given["half_angle_deg"]))
    return {"shock_deg": np.degrees(found.shock), "coefficient": found.coefficient}


def aer_5(given: Inputs) -> Answer:
    x = 2.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, 10001)))
    sides = []
    for shape, parameter in zip(given["shapes"], given["parameters"], strict=True):
        with np.errstate(divide="ignore", invalid="ignore"):
            r, _ = profiles.nose(shape, x, 5.0, 1.0, parameter or None)
        sides.append(aerodynamics.side_force(x, np.pi * r**2))
    return {
        "slope": [side.slope / np.pi for side in sides],
        "centre": [side.centre / 5.0 for side in sides],
    }


def aer_5b(given: Inputs) -> Answer:
    front, back, length = given["front"], given["back"], given["length"]
    x = np.linspace(0.0, length, 2001)
    area = 0.25 * np.pi * (front + (back - front) * x / length) ** 2
    side = aerodynamics.side_force(x, area)
    closed = aerodynamics.transition_centre(length, front, back)
    assert closed == pytest.approx(side.centre, rel=1e-6)
    return {"slope": side.slope / (0.25 * np.pi * front**2), "centre": closed}


def aer_6(given: Inputs) -> Answer:
    factor = heating.recovery_factor(np.array(given["turbulent"]))
    warm = heating.recovery(given["edge"], given["mach"], factor)
    mean = heating.reference(given["edge"], given["wall"], warm)
    return {"recovery": warm, "reference": mean}


def hea_6(given: Inputs) -> Answer:
    radii = graded(99.99, 100.0, 40, 0.05)
    k, c = (np.full((1, 40), given[key]) for key in ("conductivity", "heat_capacity"))
    times = np.concatenate(([0.0], np.geomspace(1e-4, given["time"], 200)))
    film = np.full((len(times), 1), 1e-3)
    outside = np.full((len(times), 1), given["flux"] / 1e-3)
    course = driven(Grid(radii, k, c), times, film, outside, np.zeros((1, 40)))
    return {"rise": course.surface[-1, 0]}


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "AER-1": aer_1,
    "AER-2": aer_2,
    "AER-3": aer_3,
    "AER-3b": aer_3b,
    "AER-3c": aer_3c,
    "AER-4": aer_4,
    "AER-5": aer_5,
    "AER-5b": aer_5b,
    "AER-6": aer_6,
    "HEA-6": hea_6,
}


@pytest.mark.parametrize("name", CASES)
def test_case(name: str) -> None:
    CASES[name].check(ANSWERS[name](CASES[name].inputs))
