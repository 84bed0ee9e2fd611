"""The material library against the texts it quotes (cases/materials.toml)."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import pytest

from mandrelwright.job.materials import load_library, rows
from mandrelwright.quantities import read
from tests.published.case import read_cases

CASES = read_cases("materials")
LIBRARY = load_library()
TEX = 1e-6  # kg/m
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def tows(given: Inputs) -> Answer:
    densities = [LIBRARY.tows[name]["linear_density"].value for name in given["tows"]]
    return {"linear_density_tex": [density / TEX for density in densities]}


def filaments(given: Inputs) -> Answer:
    area = math.pi / 4.0 * (given["filament_um"] * 1e-6) ** 2
    one = LIBRARY.fibres[given["fibre"]]["density"].value * area
    return {"linear_density_tex": [count * one / TEX for count in given["filaments"]]}


def yarn_yield(given: Inputs) -> Answer:
    return {"tex": read(given["pound_per_yard"], "linear density").value / TEX}


def carbon(given: Inputs) -> Answer:
    fibre = LIBRARY.fibres[given["fibre"]]
    return {
        "modulus": fibre["modulus_along"].value / 1e9,
        "strength": fibre["strength"].value / 1e9,
        "strain": fibre["failure_strain"].value * 100.0,
        "density": fibre["density"].value,
        "expansion": fibre["expansion_along"].value * 1e6,
    }


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "MAT-1": tows,
    "MAT-2": filaments,
    "MAT-3": yarn_yield,
    "MAT-4": tows,
    "MAT-5": carbon,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    case = CASES[identity]
    case.check(ANSWERS[identity](case.inputs))


def test_tows_that_were_read_are_strong_and_the_others_are_marked() -> None:
    read_in_a_text = {"carbon 1k", "carbon 3k", "carbon 6k", "carbon 12k", "glass 1200"}
    for name, tow in LIBRARY.tows.items():
        assert tow["linear_density"].weak is (name not in read_in_a_text), name
        assert "narrowest_width" not in tow or tow["narrowest_width"].weak, name


@pytest.mark.parametrize(
    ("group", "property"),
    [
        ("releases", "sticking"),
        ("releases", "friction"),
        ("plastics", "shrink_across"),
        ("plastics", "expansion"),
        ("compactions", "fibre_fraction"),
        ("resins", "cure_shrinkage"),
        ("resins", "glass_transition"),
        ("sleeves", "tow"),
        ("practice", "extra_loss"),
        ("practice", "strain_relaxed"),
    ],
)
def test_the_weakest_numbers_are_marked_wherever_they_stand(group: str, property: str) -> None:
    found = [row for row in rows(LIBRARY) if (row[0], row[2]) == (group, property)]
    assert found
    assert all(datum.weak for *_, datum in found)


# Plausible ranges for an unknown brand, as read in the databases and course tables that
# sources.bib names; ABS and ASA shrink in the range over which web pages disagree.
RANGES = [
    ("plastics", "PLA", "density", 1220.0, 1300.0),
    ("plastics", "PETG", "expansion", 60e-6, 80e-6),
    ("plastics", "ABS", "expansion", 53e-6, 110e-6),
    ("plastics", "ASA", "expansion", 60e-6, 110e-6),
    ("plastics", "PC", "expansion", 38e-6, 80e-6),
    ("plastics", "ABS", "shrink_across", 0.004, 0.015),
    ("plastics", "PC", "poisson", 0.37, 0.38),
    ("fibres", "E-glass", "density", 2450.0, 2600.0),
    ("fibres", "aramid", "expansion_along", -5e-6, -2e-6),
    ("resins", "medium", "modulus", 2.4e9, 4.0e9),
    ("resins", "slow", "expansion", 55e-6, 100e-6),
]


@pytest.mark.parametrize(("group", "name", "property", "least", "most"), RANGES)
def test_values_lie_in_the_range_their_sources_span(
    group: str, name: str, property: str, least: float, most: float
) -> None:
    datum = getattr(LIBRARY, group)[name][property]
    assert least <= datum.value <= most
    assert datum.spread <= 0.5 * (most - least)
