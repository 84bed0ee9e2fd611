"""Micromechanics identities: limits, equilibrium, the concentric cylinder, packing."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from mandrelwright.physics.micromechanics import (
    HEXAGONAL_PACKING,
    SQUARE_PACKING,
    Fibre,
    Matrix,
    composite_density,
    halpin_tsai,
    ply,
)

CARBON = Fibre(230e9, 15e9, 15e9, 0.2, -0.5e-6, 12e-6, 1760.0)
RESIN = Matrix(3e9, 0.35, 65e-6, 1150.0, -0.005)


@pytest.mark.parametrize("fraction", [0.1, 0.4, 0.7])
@pytest.mark.parametrize("fibre_shear", [15e9, 35.4e9])
def test_shear_is_the_concentric_cylinder(fraction: float, fibre_shear: float) -> None:
    """Hashin & Rosen, J. Appl. Mech. 31 (1964) 223: Halpin-Tsai with ξ = 1 is the same."""
    G_m = RESIN.E / (2 * (1 + RESIN.nu))
    cylinder = (
        G_m
        * (fibre_shear * (1 + fraction) + G_m * (1 - fraction))
        / (fibre_shear * (1 - fraction) + G_m * (1 + fraction))
    )
    one = ply(dataclasses.replace(CARBON, G12=fibre_shear), RESIN, fraction)
    np.testing.assert_allclose(one.G12, cylinder, rtol=1e-13)


def test_packing_limits_from_their_cells() -> None:
    """One circle of radius 1 in a square of side 2; half a circle in a triangle of side 2."""
    triangle = 0.25 * np.sqrt(3.0) * 2.0**2
    limits = [SQUARE_PACKING, HEXAGONAL_PACKING]
    np.testing.assert_allclose(limits, [np.pi / 2.0**2, 0.5 * np.pi / triangle], rtol=1e-15)
    np.testing.assert_allclose(limits, [0.785398, 0.906900], rtol=1e-6)


@pytest.mark.parametrize("fraction", [-0.01, 0.91, float("nan")])
def test_refuses_what_cannot_be_packed(fraction: float) -> None:
    with pytest.raises(ValueError, match="densest packing"):
        ply(CARBON, RESIN, fraction)


@pytest.mark.parametrize("xi", [0.0, 1.0, 2.0])
def test_halpin_tsai_ends_in_its_constituents(xi: float) -> None:
    np.testing.assert_allclose(halpin_tsai(15e9, 3e9, [0.0, 1.0], xi), [3e9, 15e9], rtol=1e-14)


def test_halpin_tsai_between_series_and_parallel() -> None:
    V = 0.4
    np.testing.assert_allclose(halpin_tsai(15e9, 3e9, V, 0.0), 1 / (V / 15e9 + (1 - V) / 3e9))
    np.testing.assert_allclose(halpin_tsai(15e9, 3e9, V, 1e12), V * 15e9 + (1 - V) * 3e9, rtol=1e-9)


def test_no_force_along_the_fibre() -> None:
    """Fibre and resin pull against each other: the forces of the free ply cancel."""
    V, one = 0.45, ply(CARBON, RESIN, 0.45)
    along = np.array([one.alpha1, one.cure1])
    pull = CARBON.E1 * V * (along - np.array([CARBON.alpha1, 0.0]))
    push = RESIN.E * (1 - V) * (along - np.array([RESIN.alpha, RESIN.cure]))
    np.testing.assert_allclose(pull, -push, rtol=1e-12)


def test_fibre_of_resin_is_resin() -> None:
    G = RESIN.E / (2 * (1 + RESIN.nu))
    same = Fibre(RESIN.E, RESIN.E, G, RESIN.nu, RESIN.alpha, RESIN.alpha, RESIN.density)
    one = ply(same, RESIN, 0.5)
    found = np.array([one.E1, one.E2, one.G12, one.nu12, one.alpha1, one.alpha2])
    expected = np.array([RESIN.E, RESIN.E, G, RESIN.nu, RESIN.alpha, RESIN.alpha])
    np.testing.assert_allclose(found, expected, rtol=1e-13)
    assert composite_density(same, RESIN, 0.5) == RESIN.density


def test_cure_is_the_expansion_of_fibres_that_do_not_expand() -> None:
    idle = dataclasses.replace(CARBON, alpha1=0.0, alpha2=0.0)
    one = ply(idle, dataclasses.replace(RESIN, alpha=RESIN.cure), 0.4)
    assert (one.cure1, one.cure2) == (one.alpha1, one.alpha2)
    assert one.cure1 < 0.0
    assert one.cure2 < one.cure1


def test_crimp_softens_the_tow_alone() -> None:
    straight, crimped = ply(CARBON, RESIN, 0.4), ply(CARBON, RESIN, 0.4, crimp=0.9)
    assert crimped == dataclasses.replace(straight, E1=0.9 * straight.E1)


def test_draws_broadcast() -> None:
    fractions = np.array([0.35, 0.40, 0.45])[:, None, None]
    many, one = ply(CARBON, RESIN, fractions), ply(CARBON, RESIN, 0.40)
    for name in ("E1", "E2", "G12", "nu12", "alpha1", "alpha2", "cure1", "cure2"):
        assert getattr(many, name).shape == (3, 1, 1)
        assert getattr(many, name)[1, 0, 0] == pytest.approx(getattr(one, name), rel=1e-14)
