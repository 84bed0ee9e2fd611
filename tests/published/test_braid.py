"""The sleeve against closed forms computed elsewhere (cases/braid.toml).

No published table of radius against angle of a slid-on sleeve was found; machine
over-braiding obeys another law and is not a check.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics.braid import (
    angle,
    areal_weight,
    cover_factor,
    crossing_length,
    lock_angles,
    radius_at,
    tow_spacing,
)
from tests.published.case import read_cases

CASES = read_cases("braid")
Inputs = Mapping[str, Any]
Answer = dict[str, Any]
MM = 1e-3
TEX = 1e-6  # kg/m
NO_HARD_RANGE = (0.0, 0.5 * np.pi)


def brd_1(given: Inputs) -> Answer:
    r45, radii = given["radius_at_45"] * MM, np.array(given["radii"]) * MM
    theta = angle(radii, r45)
    weight = areal_weight(radii, theta, given["tows"], given["tow_tex"] * TEX)
    return {
        "radius_at_90": radius_at(0.5 * np.pi, r45) / MM,
        "crossing": crossing_length(r45, given["tows"]) / MM,
        "angle": np.degrees(theta),
        "weight": weight,
        "length_ratio": np.cos(theta[1]) / np.cos(theta[0]),
        "thickness": weight / (given["fibre_density"] * given["fibre_fraction"]) / MM,
    }


def brd_2(given: Inputs) -> Answer:
    radii = np.array(given["radii"]) * MM
    spacing = tow_spacing(radii, angle(radii, given["radius_at_45"] * MM), given["tows"])
    return {"spacing": spacing / MM, "cover": cover_factor(given["width"] * MM, spacing)}


def brd_3(given: Inputs) -> Answer:
    r45 = given["radius_at_45"] * MM
    locks = np.array(lock_angles(r45, given["tows"], given["width"] * MM, NO_HARD_RANGE))
    return {"angle": np.degrees(locks), "radius": radius_at(locks, r45) / MM}


ANSWERS: dict[str, Callable[[Inputs], Answer]] = {"BRD-1": brd_1, "BRD-2": brd_2, "BRD-3": brd_3}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    CASES[identity].check(ANSWERS[identity](CASES[identity].inputs))
