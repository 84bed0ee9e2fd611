"""Kinetics against published constants and closed forms (cases/kinetics.toml)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.conduction import Grid
from mandrelwright.physics.kinetics import (
    Array,
    Glass,
    Kinetics,
    conversion_after,
    time_between,
)
from mandrelwright.physics.reaction import Ambient, Source, stepped
from tests.published.case import read_cases

CASES = read_cases("kinetics")
ZERO = 273.15
GENERIC = Kinetics(
    k1=1.5e-5,
    k2=3e-4,
    E1=60e3,
    E2=52e3,
    m=1.0,
    n=1.5,
    glass=Glass(-45.0 + ZERO, 95.0 + ZERO, 0.4),
    reach=3.0,
    width=4.0,
)
GEL = 1.0 / np.sqrt(3.0)


def prepreg(inputs: dict[str, Any]) -> dict[str, Any]:
    A, E = np.array(inputs["A_per_minute"]), np.array(inputs["E"])

    def constants(celsius: float) -> Array:
        return np.asarray(A * np.exp(-E / (inputs["R"] * (celsius + ZERO))))

    def law(celsius: float) -> Callable[[Array], Array]:
        K = constants(celsius)

        def rate(a: Array) -> Array:
            early = (K[0] + K[1] * a) * (1.0 - a) * (inputs["B"] - a)
            return np.where(a <= inputs["jump"], early, K[2] * (1.0 - a))

        return rate

    jump = inputs["jump"]
    pairs = [
        (law(celsius), minute)
        for celsius, minutes in zip(inputs["celsius"], inputs["minutes"], strict=True)
        for minute in minutes
    ]
    hot = law(147.0)
    return {
        "K_at_147": constants(147.0),
        "jump_after": [time_between(law(t), 0.0, jump) for t in inputs["celsius"]],
        "conversion": [conversion_after(rate, minute, (jump,)) for rate, minute in pairs],
        "either_side": [float(hot(np.array(jump))), float(hot(np.array(jump + 1e-12)))],
    }


def closed_forms(inputs: dict[str, Any]) -> dict[str, Any]:
    k1, k2, k = inputs["k1"], inputs["k2"], inputs["second_order"]
    free = replace(GENERIC, k1=k1, k2=k2, E1=0.0, E2=0.0, m=1.0, n=1.0, reach=1e4, width=1.0)
    time = inputs["time"]
    return {
        "autocatalytic": conversion_after(lambda a: free.rate(300.0, a), time),
        "second_order": conversion_after(lambda a: k * (1.0 - a) ** 2, time),
    }


def by_temperature(inputs: dict[str, Any]) -> dict[str, Any]:
    """Known at 25 °C by its gel; the other temperatures follow."""
    scale = GENERIC.time_to(GEL, 25.0 + ZERO) / (inputs["gel_at_25_h"] * 3600.0)
    resin = replace(GENERIC, k1=scale * GENERIC.k1, k2=scale * GENERIC.k2)
    kelvin = np.array(inputs["celsius"]) + ZERO
    gel = np.array([resin.time_to(GEL, T) for T in kelvin])
    hard = np.array([resin.time_to(float(resin.glass.conversion(T)), T) for T in kelvin])
    return {"gel": gel[:-1] / gel[1:], "demould": hard[:-1] / hard[1:]}


def rise(inputs: dict[str, Any]) -> dict[str, Any]:
    V, fibre, resin = (inputs[key] for key in ("fibre_fraction", "fibre_density", "resin_density"))
    share = resin * (1.0 - V) / (resin * (1.0 - V) + fibre * V)
    neat = adiabatic(inputs["heat"], inputs["resin_heat"])
    specific = share * inputs["resin_heat"] + (1.0 - share) * inputs["fibre_heat"]
    return {"neat": neat, "laminate": adiabatic(share * inputs["heat"], specific)}


def adiabatic(heat: float, specific_heat: float) -> float:
    """Rise (K) of a kilogram that reacts out in an insulated cell."""
    grid = Grid(np.array([[0.0, 0.1]]), np.ones((1, 1)), np.full((1, 1), specific_heat))
    resin = replace(GENERIC, reach=1e4, width=1.0)
    history = stepped(
        grid,
        [Ambient(1e9, 300.0, 0.0)],
        300.0,
        Source(resin, np.full((1, 1), heat), 0, 1),
        tolerance=0.1,
    )
    left = heat / specific_heat * (1.0 - history.state[-1, 0, 0])
    return float(history.temperature[-1, 0, 0]) - 300.0 + left


def glass(inputs: dict[str, Any]) -> dict[str, Any]:
    glass = Glass(inputs["fresh_C"] + ZERO, inputs["full_C"] + ZERO, inputs["curvature"])
    return {"transition_C": glass.transition(inputs["conversion"]) - ZERO}


def cup(inputs: dict[str, Any]) -> dict[str, Any]:
    """One cell per cup: its film carries the heat loss."""
    k2 = np.array(inputs["k2"])
    resin = replace(GENERIC, k1=0.05 * k2, k2=k2)
    radius, room = 0.025, inputs["celsius"] + ZERO
    volume = np.pi * radius**2
    capacity = np.full((2, 1), inputs["mass"] * inputs["specific_heat"] / volume)
    grid = Grid(np.tile([0.0, radius], (2, 1)), np.full((2, 1), 1e9), capacity)
    heat = np.full((2, 1), inputs["mass"] * inputs["heat"] / volume)
    film = inputs["loss"] / (2.0 * np.pi * radius)
    history = stepped(
        grid, [Ambient(2e5, room, film)], room, Source(resin, heat, 0, 1), tolerance=0.01
    )
    return {"peak_C": history.temperature[:, :, 0].max(0) - ZERO}


ANSWERS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "CUR-1": prepreg,
    "CUR-2": closed_forms,
    "CUR-4": by_temperature,
    "CUR-5": rise,
    "CUR-6": glass,
    "CUR-7": cup,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](dict(CASES[identity].inputs)))
