"""Cloth as a layer of the stack: constant thickness, two balanced pairs, and its laminate."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.job.materials import load_library
from mandrelwright.physics import laminate
from mandrelwright.physics.micromechanics import ply
from mandrelwright.plan import Plan
from mandrelwright.stages.wall import read_constituents
from tests import jobs

CLOTH = {"name": "plain", "fibre": "E-glass", "areal_weight": "200 g/m^2"}
DENSITY, FRACTION = 2550.0, 0.40  # library's E-glass, tests/jobs.py


def tube(angle: str, turns: int = 1) -> Plan:
    """A straight tube of cloth only, drawn by its bore."""
    data = jobs.raw(
        part={"name": "Tube", "describes": "inside"},
        section=[{"name": "t", "shape": "cylinder", "length": "300 mm", "diameter": "60 mm"}],
        fit=[
            {
                "name": "c", "kind": "bore", "mates": "59.80 mm", "from_base": "0 mm",
                "to_base": "80 mm", "leads": True,
                "clearance": {"least": "0.05 mm", "wanted": "0.20 mm", "most": "0.40 mm"},
            }
        ],
        sleeve=[{"name": "unused", "library": "E-glass 76"}],
        cloth=[CLOTH],
        layer=[{"cloth": "plain", "from": "tip", "to": "end", "angle": angle, "turns": turns}],
    )  # fmt: skip
    return jobs.plan_of(data)


def test_thickness_is_areal_weight_over_fibre_volume() -> None:
    """t = A/(ρ_f V_f), at any radius; turns add up."""
    expected = 0.200 / (DENSITY * FRACTION)
    assert tube("0 deg").stack.thickness == pytest.approx(expected, rel=1e-12)
    assert tube("0 deg", turns=3).stack.thickness == pytest.approx(3.0 * expected, rel=1e-12)


def test_cloth_neither_jams_nor_grows() -> None:
    plan = tube("45 deg")
    assert not plan.stack.jammed.any()
    assert all(end.growth == 0.0 for end in plan.mould.ends)


def test_warp_and_weft_at_0_is_a_cross_ply_and_at_45_the_braid_of_45() -> None:
    """0/90: equal axial and hoop moduli, Q̄ averaged by hand; 45: the ±45 pair itself."""
    crossed, square = tube("0 deg"), tube("45 deg")
    parts = read_constituents(crossed.job, crossed.stack.layers[:1], load_library())
    one = ply(parts.fibre, parts.resin, FRACTION, parts.across_poisson, parts.crimp)
    E1, E2, G12, nu12 = (float(np.ravel(value)[0]) for value in (one.E1, one.E2, one.G12, one.nu12))
    q = laminate.reduced_stiffness(E1, E2, G12, nu12)
    mean = 0.5 * (q[0, 0] + q[1, 1])
    poisson = q[0, 1] / mean
    expected = mean * (1.0 - poisson**2)  # E of a square-symmetric ply
    assert crossed.wall.axial_modulus == pytest.approx(expected, rel=1e-9)
    assert crossed.wall.hoop_modulus == pytest.approx(expected, rel=1e-9)
    pair = laminate.pair_stiffness(one, np.radians(45.0))[0, 0]
    compliance = np.linalg.inv(pair)
    assert square.wall.axial_modulus == pytest.approx(1.0 / compliance[0, 0], rel=1e-9)


def test_cloth_and_complement_are_the_same_cloth() -> None:
    """A balanced weave at 30 degrees is the same as at 60: warp and weft change places."""
    low, high = tube("30 deg"), tube("60 deg")
    assert pytest.approx(high.wall.A, rel=1e-12) == low.wall.A
    assert low.fit.results[0].play == pytest.approx(high.fit.results[0].play, abs=1e-7)
