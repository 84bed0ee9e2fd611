"""Radio waves against published and independent numbers (cases/radio.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.job.materials import load_library
from mandrelwright.physics.radio import LIGHT, permittivity, skin_depth, through
from tests.published.case import read_cases

CASES = read_cases("radio")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]


def rad_1(given: Inputs) -> Answer:
    return {"depth": skin_depth(given["frequency"], given["conductivity"])}


def rad_2(given: Inputs) -> Answer:
    datum = load_library().fibres[given["fibre"]]["laminate_conductivity"]
    return {"conductivity": np.full(4, datum.value)}


def rad_3(given: Inputs) -> Answer:
    wave = LIGHT / given["frequency"]
    eps = np.full((2, 1), given["relative"])
    passed = through(given["frequency"], eps, wave * np.array(given["shares"])[:, None])
    return {
        "transmitted": passed.transmitted,
        "reflected": passed.reflected[1],
        "decibels": passed.decibels[1],
    }


def rad_3b(given: Inputs) -> Answer:
    eps, thickness = (np.array(given[key])[:, None] for key in ("relative", "thickness"))
    return {"transmitted": through(np.array(given["frequency"]), eps, thickness).transmitted}


def rad_4(given: Inputs) -> Answer:
    eps = permittivity(*(np.array(given[k]) for k in ("frequency", "relative", "loss_tangent")))
    thickness = np.array(given["thickness"])
    passed = through(np.array(given["frequency"]), eps[:, None], thickness[:, None])
    return {
        "decibels": passed.decibels,
        "transmitted": passed.transmitted[1],
        "reflected": passed.reflected[1],
    }


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {
    "RAD-1": rad_1,
    "RAD-2": rad_2,
    "RAD-3": rad_3,
    "RAD-3b": rad_3b,
    "RAD-4": rad_4,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
