"""Identities of the ply criteria and of the local buckling loads."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.physics.buckling import bay_pressure
from mandrelwright.physics.laminate import assemble, pair_stiffness, reduced_stiffness
from mandrelwright.physics.local_buckling import (
    CONE_AXIAL,
    axial_load,
    cone_axial_force,
    outside_pressure,
    ring_load,
)
from mandrelwright.physics.micromechanics import Ply
from mandrelwright.physics.strength import (
    MODES,
    RUBBERY,
    Strengths,
    at_fraction,
    first_failure,
    hashin,
    heated,
    maximum_stress,
    resin_kept,
    tsai_wu,
)

GLASS = Strengths(1280e6, 800e6, 40e6, 145e6, 73e6, 72.5e6)
PURE = {
    "fibre tension": (1280e6, 0.0, 0.0),
    "fibre compression": (-800e6, 0.0, 0.0),
    "matrix cracking": (0.0, 40e6, 0.0),
    "matrix compression": (0.0, -145e6, 0.0),
    "matrix shear": (0.0, 0.0, -73e6),
}


@pytest.mark.parametrize("mode", MODES)
def test_every_criterion_meets_each_strength_alone(mode: str) -> None:
    stress = 0.25 * np.array(PURE[mode])
    factor, index = first_failure(stress, GLASS)
    assert factor == pytest.approx(4.0, rel=1e-12)
    assert MODES[int(index)] == mode
    assert tsai_wu(stress, GLASS) == pytest.approx(4.0, rel=1e-12)
    assert hashin(stress, GLASS).min() == pytest.approx(4.0, rel=1e-12)


def test_a_load_factor_puts_the_stress_on_the_criterion() -> None:
    rng = np.random.default_rng(3)
    stress = rng.normal(size=(500, 3)) * 50e6
    for criterion in (tsai_wu, lambda s, g: maximum_stress(s, g).min(-1),
                      lambda s, g: hashin(s, g).min(-1)):  # fmt: skip
        scaled = stress * criterion(stress, GLASS)[:, None]
        assert criterion(scaled, GLASS) == pytest.approx(np.ones(500), rel=1e-9)


def test_a_load_factor_adds_to_what_was_there_already() -> None:
    """λ σ + r meets the criterion: as a stress of its own it has a load factor of one."""
    rng = np.random.default_rng(4)
    stress, left = rng.normal(size=(500, 3)) * 50e6, rng.normal(size=(500, 3)) * 6e6
    for factor, again in (
        (tsai_wu(stress, GLASS, residual=left), tsai_wu),
        (maximum_stress(stress, GLASS, left).min(-1), lambda s, g: maximum_stress(s, g).min(-1)),
        (hashin(stress, GLASS, left).min(-1), lambda s, g: hashin(s, g).min(-1)),
    ):
        assert again(factor[:, None] * stress + left, GLASS) == pytest.approx(1.0, rel=1e-9)


def test_what_was_there_may_leave_no_room_or_help() -> None:
    pull = (0.0, 10e6, 0.0)
    assert first_failure(pull, GLASS, (0.0, 41e6, 0.0))[0] == 0.0
    assert first_failure(np.zeros(3), GLASS, (0.0, 41e6, 0.0))[0] == 0.0
    assert np.isinf(first_failure(np.zeros(3), GLASS, (0.0, 30e6, 0.0))[0])
    assert first_failure(pull, GLASS, (0.0, 20e6, 0.0))[0] == pytest.approx(2.0)
    assert maximum_stress(pull, GLASS, (0.0, -20e6, 0.0)).min() == pytest.approx(6.0)


def test_no_stress_never_fails() -> None:
    factor, _ = first_failure(np.zeros(3), GLASS)
    assert np.isinf(factor)


def test_fibre_fraction_and_heat_act_on_what_they_should() -> None:
    half = heated(at_fraction(GLASS, 0.45, 0.60, crimp=0.8), 0.5)
    assert half.along_tension == pytest.approx(0.6 * 1280e6)
    assert half.along_compression == pytest.approx(0.3 * 800e6)
    assert half.across_tension == pytest.approx(20e6)
    assert half.shear == pytest.approx(36.5e6)
    kept = resin_kept([250.0, 293.15, 322.15, 323.15, 400.0], 323.15, 293.15)
    assert kept[:2] == pytest.approx([1.0, 1.0])
    assert kept[3:] == pytest.approx([RUBBERY, RUBBERY])
    assert np.all(np.diff(kept) <= 0.0)


def test_isotropic_laminate_under_pressure_is_the_isotropic_cylinder() -> None:
    E, nu, r, t, L = 3e9, 0.38, 0.045, 1.2e-3, 0.15
    Q = reduced_stiffness(E, E, E / (2.0 * (1.0 + nu)), nu)
    A, _, D = assemble(Q[None], np.array([-0.5 * t, 0.5 * t]))
    assert outside_pressure(A, D, r, L) == pytest.approx(bay_pressure(E, nu, r, t, L), rel=5e-4)


def test_cone_is_the_cylinder_of_its_own_radius_square_to_the_meridian() -> None:
    E, nu, t, half, r = 70e9, 0.3, 1e-3, np.radians(15.0), 0.04
    Q = reduced_stiffness(E, E, E / (2.0 * (1.0 + nu)), nu)
    A, B, D = assemble(Q[None], np.array([-0.5 * t, 0.5 * t]))
    line = CONE_AXIAL * ring_load(A, B, D, r / np.cos(half))
    force = line * 2.0 * np.pi * r * np.cos(half)
    assert force == pytest.approx(cone_axial_force(E, nu, t, half), rel=1e-12)


def test_the_search_over_diamonds_finds_what_a_fine_one_finds() -> None:
    """Wave numbers one by one, from the determinants written out as matrices."""
    ply = Ply(40e9, 9e9, 3.5e9, 0.27, 0.4, 0.0, 0.0, 0.0, 0.0)
    pairs = pair_stiffness(ply, np.radians([60.0, 30.0]))
    A, B, D = assemble(pairs, np.array([-0.7e-3, 0.1e-3, 0.7e-3]))
    r = 0.05

    def load(a: float, n: int) -> float:
        b = n / r
        bend = np.array([a * a, b * b, 2.0 * a * b])
        strain = np.array([[-a, 0.0, 0.0], [0.0, b, 1.0 / r], [-b, a, 0.0]])
        stretch, mixed = strain.T @ A @ strain, strain.T @ (B * [1.0, 1.0, -1.0]) @ bend
        whole = stretch.copy()
        whole[2, 2] += bend @ D @ bend
        whole[2, :] += mixed
        whole[:, 2] += mixed
        return float(np.linalg.det(whole) / np.linalg.det(whole[:2, :2]) / a**2)

    fine = min(load(a, n) for n in (0, *range(4, 16)) for a in np.geomspace(8.0, 500.0, 2500))
    assert axial_load(A, B, D, r) == pytest.approx(fine, rel=1e-3)
