"""Grip, gap and force against press fits and closed forms (cases/contact.toml)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from mandrelwright.physics import contact
from tests.published.case import read_cases

CASES = read_cases("contact")
Inputs = Mapping[str, Any]


def ring(given: Inputs, E: float) -> dict[str, float]:
    """A thick collar on a shaft: the collar's own give by Lamé, the shaft as a core."""
    R, outside, nu = given["radius"], given["outside"], given.get("poisson", 0.3)
    core = contact.core(R, given.get("inside", 0.0), E, nu)
    collar = ((outside**2 + R**2) / (outside**2 - R**2) + nu) / E  # hoop strain per pressure
    shell = contact.Shell(*(np.array(v) for v in (0.0, 0.0, 0.0, collar / R, 0.0, 0.0)))
    p = contact.sliding_pressure(given["mismatch"], R, shell, core)
    return {"pressure": float(p)}


def heat_flow(given: Inputs) -> dict[str, float]:
    """Hoop strain of the surface from the mean of a logarithmic temperature over the section."""
    a, b = given["inside"], given["outside"]
    r = np.linspace(a, b, 200_001)
    T = given["warmer"] * np.log(b / r) / np.log(b / a)
    mean = np.trapezoid(T * r, r) / (0.5 * (b**2 - a**2))
    core = contact.core(b, a, 2e9, 0.35)
    return {"strain": float(contact.core_strain(core, given["expansion"], mean, 0.0))}


def straight(given: Inputs) -> dict[str, float]:
    args = given["pressure"], given["friction"], given["radius"], given["length"]
    return {"force": float(contact.pulling_force(*args, 0.0))}


def taper(given: Inputs) -> dict[str, Any]:
    angle = np.radians(given["degrees"])
    out, into = (
        contact.taper_force(1.0, np.array(given["friction"]), 1.0, angle, out=out)
        for out in (True, False)
    )
    return {"ratio": out / into}


def free_gap(given: Inputs) -> dict[str, float]:
    core, hoop = -given["mould"] * given["cooled"], -given["part"] * given["cooled"]
    return {"gap": -float(contact.mismatch(given["radius"], 0.0, core, hoop, 0.0))}


ANSWERS: dict[str, Callable[[Inputs], dict[str, Any]]] = {
    "PRS-1 inches": lambda given: ring(given, given["modulus"]),
    "PRS-1 metres": lambda given: ring(given, given["modulus"]),
    "PRS-2": lambda given: ring(given, given["modulus"]),
    "PRS-4": heat_flow,
    "PRS-6 straight": straight,
    "PRS-6 taper": taper,
    "PRS-7": free_gap,
}


@pytest.mark.parametrize("identity", CASES)
def test_case(identity: str) -> None:
    case = CASES[identity]
    case.check(ANSWERS[identity](case.inputs))


def test_equal_materials_by_the_shorter_formula() -> None:
    """p = Eδ/(2R³)·(ro² − R²)(R² − ri²)/(ro² − ri²), Shigley eq. (3-57), to 1e-12."""
    given = CASES["PRS-2"].inputs
    R, ri, ro = given["radius"], given["inside"], given["outside"]
    short = given["modulus"] * given["mismatch"] / (2.0 * R**3)
    short *= (ro**2 - R**2) * (R**2 - ri**2) / (ro**2 - ri**2)
    assert ring(given, given["modulus"])["pressure"] == pytest.approx(short, rel=1e-12)
