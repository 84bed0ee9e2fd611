"""Laminate identities: matrix rotation, a three-dimensional pair, and symmetries."""

from __future__ import annotations

import numpy as np
import pytest

from mandrelwright.physics.laminate import (
    assemble,
    engineering_constants,
    laminate_free_strain,
    pair_free_strain,
    pair_stiffness,
    ply_residual,
    reduced_stiffness,
    rotated_stiffness,
    turned_strain,
)
from mandrelwright.physics.micromechanics import Number, Ply

CARBON = Ply(
    E1=94e9,
    E2=5.7e9,
    G12=2.3e9,
    nu12=0.29,
    nu23=0.40,
    alpha1=0.8e-6,
    alpha2=57e-6,
    cure1=-1e-4,
    cure2=-4e-3,
)
ANGLES = np.radians([0.0, 12.0, 30.0, 45.0, 60.0, 77.0, 90.0])
REUTER = np.diag([1.0, 1.0, 2.0])


def transformation(angle: float) -> np.ndarray:
    """T of stresses, textbook matrix; strains turn with R T R⁻¹."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array(
        [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
    )


def spatial_stiffness(ply: Ply) -> np.ndarray:
    """6×6 stiffness (11, 22, 33, 23, 13, 12) of a transversely isotropic ply, by inversion."""
    S = np.zeros((6, 6))
    S[0, 0], S[1, 1], S[2, 2] = 1 / ply.E1, 1 / ply.E2, 1 / ply.E2
    S[0, 1] = S[1, 0] = S[0, 2] = S[2, 0] = -ply.nu12 / ply.E1
    S[1, 2] = S[2, 1] = -ply.nu23 / ply.E2
    S[3, 3], S[4, 4], S[5, 5] = 2 * (1 + ply.nu23) / ply.E2, 1 / ply.G12, 1 / ply.G12
    return np.linalg.inv(S)


def turned_stiffness(ply: Ply, angle: float) -> np.ndarray:
    """Stiffness as a fourth-order tensor turned about the radial axis."""
    C = spatial_stiffness(ply)
    voigt = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    tensor = np.zeros((3, 3, 3, 3))
    for a, (i, j) in enumerate(voigt):
        for b, (k, m) in enumerate(voigt):
            for one in ((i, j), (j, i)):
                for two in ((k, m), (m, k)):
                    tensor[(*one, *two)] = C[a, b]
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    return np.asarray(np.einsum("ai,bj,ck,dm,ijkm->abcd", turn, turn, turn, turn, tensor))


def spatial_free_strain(
    layers: list[tuple[float, float]], along: Number, across: Number
) -> np.ndarray:
    """(axial, hoop, mean radial) free strain of ±θ layers (angle, share) by three-dimensional
    elasticity: common in-plane strain, no radial stress in any ply, no in-plane force."""
    shares, plies = [], []
    for angle, share in layers:
        for sign in (1.0, -1.0):
            shares.append(0.5 * share)
            plies.append(sign * angle)
    unknowns = 3 + len(plies)  # εx, εy, εxy, then the radial strain of each ply
    rows, right = np.zeros((unknowns, unknowns)), np.zeros(unknowns)
    for n, (angle, share) in enumerate(zip(plies, shares, strict=True)):
        C = turned_stiffness(CARBON, angle)
        c, s = np.cos(angle), np.sin(angle)
        free = along * np.outer([c, s, 0], [c, s, 0]) + across * (
            np.eye(3) - np.outer([c, s, 0], [c, s, 0])
        )
        held = np.einsum("ijkm,km->ij", C, free)
        directions = [(0, 0, 1.0), (1, 1, 1.0), (0, 1, 2.0)]
        for row, (i, j, _) in enumerate(directions):
            for column, (k, m, twice) in enumerate(directions):
                rows[row, column] += share * twice * C[i, j, k, m]
            rows[row, 3 + n] += share * C[i, j, 2, 2]
            right[row] += share * held[i, j]
        for column, (k, m, twice) in enumerate(directions):
            rows[3 + n, column] = twice * C[2, 2, k, m]
        rows[3 + n, 3 + n] = C[2, 2, 2, 2]
        right[3 + n] = held[2, 2]
    answer = np.linalg.solve(rows, right)
    return np.array([answer[0], answer[1], np.dot(shares, answer[3:]) / np.sum(shares)])


@pytest.mark.parametrize("angle", [*ANGLES, -0.7])
def test_rotation_is_the_matrix_product(angle: float) -> None:
    Q = reduced_stiffness(CARBON.E1, CARBON.E2, CARBON.G12, CARBON.nu12)
    inverse = np.linalg.inv(transformation(angle))
    expected = inverse @ Q @ REUTER @ transformation(angle) @ np.linalg.inv(REUTER)
    np.testing.assert_allclose(
        rotated_stiffness(Q, angle), expected, rtol=1e-12, atol=1e-12 * Q[0, 0]
    )


def test_reduced_stiffness_inverts_the_compliance() -> None:
    S = np.array(
        [
            [1 / CARBON.E1, -CARBON.nu12 / CARBON.E1, 0],
            [-CARBON.nu12 / CARBON.E1, 1 / CARBON.E2, 0],
            [0, 0, 1 / CARBON.G12],
        ]
    )
    Q = reduced_stiffness(CARBON.E1, CARBON.E2, CARBON.G12, CARBON.nu12)
    np.testing.assert_allclose(Q @ S, np.eye(3), atol=1e-14)


def test_pair_is_the_mean_of_both_directions() -> None:
    Q = reduced_stiffness(CARBON.E1, CARBON.E2, CARBON.G12, CARBON.nu12)
    mean = 0.5 * (rotated_stiffness(Q, ANGLES) + rotated_stiffness(Q, -ANGLES))
    np.testing.assert_allclose(pair_stiffness(CARBON, ANGLES), mean, rtol=1e-12, atol=1e-3)


@pytest.mark.parametrize("angle", ANGLES)
def test_pair_free_strain_against_three_dimensions(angle: float) -> None:
    found = pair_free_strain(CARBON, angle, CARBON.alpha1, CARBON.alpha2)
    expected = spatial_free_strain([(angle, 1.0)], CARBON.alpha1, CARBON.alpha2)
    np.testing.assert_allclose(found, expected, rtol=1e-10)


def test_laminate_free_strain_against_three_dimensions() -> None:
    """In plane exact; the radial mean is within 4 % for layers 15 degrees apart."""
    angles, t = np.radians([38.0, 53.0]), np.array([0.4e-3, 0.25e-3])
    free = pair_free_strain(CARBON, angles, CARBON.cure1, CARBON.cure2)
    found = laminate_free_strain(pair_stiffness(CARBON, angles), free, t)
    layers = [(float(angle), float(share)) for angle, share in zip(angles, t, strict=True)]
    expected = spatial_free_strain(layers, CARBON.cure1, CARBON.cure2)
    np.testing.assert_allclose(found[:2], expected[:2], rtol=1e-10)
    np.testing.assert_allclose(found[2], expected[2], rtol=4e-2)


def test_equal_layers_strain_as_one() -> None:
    angle = np.radians([41.0, 41.0, 41.0])
    free = pair_free_strain(CARBON, angle, CARBON.alpha1, CARBON.alpha2)
    whole = laminate_free_strain(pair_stiffness(CARBON, angle), free, [1e-4, 3e-4, 2e-4])
    np.testing.assert_allclose(whole, free[0], rtol=1e-12)


def test_complement_swaps_axial_and_hoop() -> None:
    for angle in ANGLES:
        free = pair_free_strain(CARBON, angle, CARBON.alpha1, CARBON.alpha2)
        swapped = pair_free_strain(CARBON, np.pi / 2 - angle, CARBON.alpha1, CARBON.alpha2)
        np.testing.assert_allclose(free[[1, 0, 2]], swapped, rtol=1e-9)
        Q, other = pair_stiffness(CARBON, angle), pair_stiffness(CARBON, np.pi / 2 - angle)
        np.testing.assert_allclose(Q[[1, 0, 2]][:, [1, 0, 2]], other, rtol=1e-9, atol=1.0)


def test_straight_ply_is_free() -> None:
    free = pair_free_strain(CARBON, 0.0, CARBON.alpha1, CARBON.alpha2)
    expected = np.array([CARBON.alpha1, CARBON.alpha2, CARBON.alpha2])
    np.testing.assert_allclose(free, expected, rtol=1e-9)


@pytest.mark.parametrize("offset", [0.0, 0.7e-3])
def test_single_pair_about_and_off_the_reference(offset: float) -> None:
    """A = Q h, B = Q h e, D = Q (h³/12 + h e²): Steiner."""
    h = 0.4e-3
    Q = pair_stiffness(CARBON, np.radians(35.0))
    A, B, D = assemble(Q[None], np.array([offset - h / 2, offset + h / 2]))
    np.testing.assert_allclose(A, Q * h, rtol=1e-12)
    np.testing.assert_allclose(B, Q * h * offset, rtol=1e-9, atol=1e-12 * Q[0, 0] * h * h)
    np.testing.assert_allclose(D, Q * (h**3 / 12 + h * offset**2), rtol=1e-9)


def test_constants_are_those_of_the_inverse() -> None:
    Q = rotated_stiffness(reduced_stiffness(94e9, 5.7e9, 2.3e9, 0.29), ANGLES)
    h = np.linspace(1e-3, 2e-3, len(ANGLES))
    a = np.linalg.inv(Q * h[:, None, None])
    Ex, Ey, Gxy, nuxy = engineering_constants(Q * h[:, None, None], h)
    np.testing.assert_allclose(Ex, 1 / (a[:, 0, 0] * h), rtol=1e-10)
    np.testing.assert_allclose(Ey, 1 / (a[:, 1, 1] * h), rtol=1e-10)
    np.testing.assert_allclose(Gxy, 1 / (a[:, 2, 2] * h), rtol=1e-10)
    np.testing.assert_allclose(nuxy, -a[:, 0, 1] / a[:, 0, 0], rtol=1e-10)


def test_no_wall_has_no_constants() -> None:
    assert np.all(np.isnan(engineering_constants(np.zeros((2, 3, 3)), np.zeros(2))))
    free = laminate_free_strain(np.zeros((1, 3, 3)), np.zeros((1, 3)), np.zeros(1))
    assert np.all(np.isnan(free))


def test_axes_broadcast() -> None:
    """(draw, layer, place) with a ply per draw gives every entry of the loop over it."""
    stiff = np.linspace(80e9, 100e9, 3)[:, None, None]
    theta = np.linspace(0.5, 1.1, 10).reshape(2, 5)
    many = Ply(stiff, 5.7e9, 2.3e9, 0.29, 0.4, 0.8e-6, 57e-6, -1e-4, -4e-3)
    Q = pair_stiffness(many, theta)
    free = pair_free_strain(many, theta, many.alpha1, many.alpha2)
    assert Q.shape == (3, 2, 5, 3, 3)
    assert free.shape == (3, 2, 5, 3)
    one = Ply(float(stiff[1, 0, 0]), 5.7e9, 2.3e9, 0.29, 0.4, 0.8e-6, 57e-6, -1e-4, -4e-3)
    np.testing.assert_allclose(Q[1, 1, 3], pair_stiffness(one, theta[1, 3]), rtol=1e-14)
    alone = pair_free_strain(one, theta[1, 3], one.alpha1, one.alpha2)
    np.testing.assert_allclose(free[1, 1, 3], alone, rtol=1e-12)


def test_turned_strain_is_the_tensor_rotation() -> None:
    strain, angle = np.array([3e-4, -1e-4, 5e-4]), 0.6
    expected = REUTER @ transformation(angle) @ np.linalg.inv(REUTER) @ strain
    np.testing.assert_allclose(turned_strain(strain, angle), expected, rtol=1e-12)
    back = turned_strain(turned_strain(strain, angle), -angle)
    np.testing.assert_allclose(back, strain, rtol=1e-12)


def test_stress_left_in_the_plies_balances_over_the_wall() -> None:
    """Σ t σ̄ = 0 along and around by textbook matrices, the shear of +θ against that of −θ."""
    angle = np.radians([[30.0], [52.0], [47.0]])
    thickness = np.array([[3e-4], [5e-4], [2e-4]])
    left = ply_residual(CARBON, angle, thickness, 1e-4, -2e-3)
    force = np.zeros(3)
    for theta, t, stress in zip(angle[:, 0], thickness[:, 0], left[:, 0], strict=True):
        for sign in (1.0, -1.0):
            own = stress * (1.0, 1.0, sign)
            force += 0.5 * t * np.linalg.inv(transformation(sign * theta)) @ own
    assert np.abs(force).max() < 1e-9 * np.abs(left).max() * 1e-3


def test_a_cross_ply_pulls_itself_across() -> None:
    """Equal plies at 0 and 90°: ε = [(Q11 + Q12) e1 + (Q12 + Q22) e2]/(Q11 + 2 Q12 + Q22)."""
    Q = reduced_stiffness(CARBON.E1, CARBON.E2, CARBON.G12, CARBON.nu12)
    e1, e2 = -1e-4, -2e-3
    whole = (Q[0, 0] + Q[0, 1]) * e1 + (Q[0, 1] + Q[1, 1]) * e2
    whole /= Q[0, 0] + 2.0 * Q[0, 1] + Q[1, 1]
    angle, thickness = np.array([[0.0], [np.pi / 2.0]]), np.full((2, 1), 1e-4)
    left = ply_residual(CARBON, angle, thickness, e1, e2)[:, 0]
    across = Q[0, 1] * (whole - e1) + Q[1, 1] * (whole - e2)
    assert left[:, 1] == pytest.approx(across, rel=1e-12)
    assert left[:, 0] == pytest.approx(-across, rel=1e-12)  # the sum over both vanishes


def test_nothing_is_left_where_all_plies_shrink_alike() -> None:
    angle, thickness = np.radians([[30.0], [30.0]]), np.full((2, 1), 1e-4)
    alike = ply_residual(CARBON, angle, thickness, -1e-3, -1e-3)
    assert np.abs(alike).max() < 1e-3  # Pa
