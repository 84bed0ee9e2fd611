"""Conduction against text-book problems (cases/conduction.toml)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.conduction import Grid, graded, modal
from tests.published.case import Case, read_cases

CASES = read_cases("conduction")
WIDE = 1e6  # bore over wall of a cylinder that is as good as plane
ZERO = 273.15
IMPOSED = float("inf")


def wall(
    thickness: float, cells: int, conductivity: float, capacity: float, growth: float = 1.0
) -> Grid:
    radii = graded(WIDE * thickness, (WIDE + 1.0) * thickness, cells, growth)
    return Grid(radii, np.full((1, cells), conductivity), np.full((1, cells), capacity))


def pipe_wall(inputs: dict[str, Any]) -> dict[str, Any]:
    cells, film, oil = 200, inputs["film"], inputs["oil_C"]
    k, thickness = inputs["conductivity"], inputs["thickness"]
    grid = wall(thickness, cells, k, k / inputs["diffusivity"])
    modes = modal(grid, film)
    start = np.full((1, cells), inputs["start_C"])
    T = modes.after(start, inputs["time"], oil)[0, 0]
    half = thickness / cells / 2.0
    flux = (oil - T[-1]) / (1.0 / film + half / k)
    gained = modes.heat(start, inputs["time"], oil)[0] / (2.0 * np.pi * WIDE * thickness)
    return {
        "insulated_C": T[0] - (T[1] - T[0]) / 8.0,  # from the first cell's centre, parabola
        "wetted_C": oil - flux / film,
        "flux": -flux,
        "heat": -gained * np.pi,  # per metre of the pipe, which is one metre across
    }


def frost(inputs: dict[str, Any]) -> dict[str, Any]:
    cells, deep = 300, 8.0  # deep enough: the far side moves by less than 1e-9 K
    grid = wall(deep, cells, inputs["diffusivity"], 1.0, growth=0.1)
    time = inputs["days"] * 86400.0
    start = np.full((1, cells), inputs["start_C"])
    T = modal(grid, IMPOSED).after(start, time, inputs["surface_C"])[0, 0]
    depth = grid.radii[0, -1] - 0.5 * (grid.radii[0, 1:] + grid.radii[0, :-1])
    first = int(np.flatnonzero(T < 0.0)[0])
    near = slice(first - 3, first + 3)
    cubic = np.polynomial.Polynomial.fit(T[near], depth[near], 5)
    return {"depth": float(cubic(0.0))}


def slab(inputs: dict[str, Any]) -> dict[str, Any]:
    cells = 200
    grid = wall(1.0, cells, 1.0, 1.0)
    T = modal(grid, IMPOSED).after(np.ones((1, cells)), inputs["fourier"], 0.0)[:, 0]
    return {"middle": T[:, 0] - (T[:, 1] - T[:, 0]) / 8.0}


def pipe(inputs: dict[str, Any]) -> dict[str, Any]:
    cells = 6  # exact on any cells; with six a face lies on the radius asked for
    radii = graded(inputs["bore"], inputs["outside"], cells)
    k = np.full((1, cells), inputs["conductivity"])
    grid = Grid(radii, k, np.full((1, cells), 1e6))
    modes = modal(grid, IMPOSED, IMPOSED)
    T = modes.after(np.zeros((1, cells)), 1e6, 0.0, inputs["difference"])[0]
    outer, _ = grid.surface_conductances(IMPOSED, IMPOSED)
    middle = int(np.argmin(np.abs(radii[0] - inputs["at"]))) - 1
    return {"heat_flow": outer[0] * T[0, -1], "above_outside": grid.face(T, middle)[0]}


ANSWERS: dict[str, Callable[[dict[str, Any]], dict[str, Any]]] = {
    "HEA-1": pipe_wall,
    "HEA-3": frost,
    "HEA-4": slab,
    "HEA-5": pipe,
}


def answer(case: Case) -> dict[str, Any]:
    return ANSWERS[case.id](dict(case.inputs))


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(answer(CASES[identity]))


@pytest.mark.parametrize("identity", CASES)
def test_recomputed(identity: str) -> None:
    CASES[identity].check_recomputed(answer(CASES[identity]))
