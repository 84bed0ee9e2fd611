"""The shell of revolution against closed forms, Sanders' equations and solid elements."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from mandrelwright.physics import laminate, micromechanics
from mandrelwright.physics.micromechanics import Ply
from mandrelwright.physics.shell import (
    CLAMPED,
    FREE,
    ROUND,
    Resultants,
    Shell,
    at_depth,
    buckle,
    make_shell,
    shear_stiffness,
    solve,
    strains_of,
)
from tests.exact.shell_elements import SolidShell, pair_solid

Array = NDArray[np.float64]
E, NU = 70e9, 0.3


def stiffness(t: float, nu: float = NU) -> tuple[Array, Array, Array]:
    Q = laminate.reduced_stiffness(E, E, E / (2.0 * (1.0 + nu)), nu)
    return laminate.assemble(Q[None], np.array([-0.5 * t, 0.5 * t]))


def isotropic(x: Array, r: Array, t: float, nu: float = NU) -> Shell:
    ones = np.ones(len(x))
    through = np.full((len(x), 2), 5.0 / 6.0 * E / (2.0 * (1.0 + nu)) * t)
    A, B, D = (item * ones[:, None, None] for item in stiffness(t, nu))
    return make_shell((x, r), (A, B, D), through, t * ones)


def cylinder(R: float, L: float, t: float, elements: int, nu: float = NU) -> Shell:
    x = np.linspace(0.0, L, 2 * elements + 1)
    return isotropic(x, np.full_like(x, R), t, nu)


def nothing(shell: Shell) -> Array:
    return np.zeros((*shell.r.shape, 3))


def uniform(shell: Shell) -> Resultants:
    nil = np.zeros_like(shell.r)
    return Resultants(nil - 1.0, nil, nil, nil, nil)


def outwards(shell: Shell, pressure: float) -> Array:
    parts = (-np.sin(shell.beta), np.cos(shell.beta), 0.0 * shell.r)
    return pressure * np.stack(parts, axis=-1)


def test_membrane_stress_of_a_closed_cylinder_under_pressure() -> None:
    """N_s = p r/2, N_φ = p r away from the ends; Timoshenko & Woinowsky-Krieger, chapter 14."""
    R, p = 0.05, 1e5
    shell = cylinder(R, 0.3, 1e-3, 90)
    end = (0.5 * p * R, 0.0, 0.0)
    load = outwards(shell, p)
    _, N = solve(shell, 0, (FREE, CLAMPED), load, first=(-end[0], 0.0, 0.0))
    middle = slice(30, 60)
    assert N.along[middle] == pytest.approx(np.full((30, 2), 0.5 * p * R), rel=1e-6)
    assert N.around[middle] == pytest.approx(np.full((30, 2), p * R), rel=1e-2)


def test_membrane_stress_of_a_cone_and_of_a_sphere_under_pressure() -> None:
    """Cone N_φ = p r/cos α, N_s = half of it for a closed tip; sphere both p R/2."""
    p, t, half = 1e5, 0.5e-3, np.radians(20.0)
    x = np.linspace(0.05, 0.25, 161)
    cone = isotropic(x, x * np.tan(half), t)
    tip = 0.5 * p * cone.node_r[0] / np.cos(half)  # what the cut-off tip pulls with
    rim = (-tip * np.cos(half), -tip * np.sin(half), 0.0)
    _, N = solve(cone, 0, (FREE, CLAMPED), outwards(cone, p), first=rim)
    around = p * cone.r / np.cos(half)
    assert N.around[10:60] == pytest.approx(around[10:60], rel=1e-2)
    assert N.along[10:60] == pytest.approx(0.5 * around[10:60], rel=1e-2)
    angle = np.linspace(np.radians(30.0), np.radians(90.0), 161)
    R = 0.08
    sphere = isotropic(-R * np.cos(angle), R * np.sin(angle), t)
    pull = 0.5 * p * R
    rim = (-pull * np.sin(angle[0]), -pull * np.cos(angle[0]), 0.0)
    _, N = solve(sphere, 0, (FREE, CLAMPED), outwards(sphere, p), first=rim)
    assert N.along[10:50] == pytest.approx(np.full((40, 2), pull), rel=1e-2)
    assert N.around[10:50] == pytest.approx(np.full((40, 2), pull), rel=1e-2)


def test_beam_stress_of_a_cylinder_bent_and_sheared() -> None:
    """N_s = M/(π r²), N_sφ = V/(π r): thin-walled beam, pushed aside and turned at its free rim."""
    R, L, V, M = 0.05, 0.4, 80.0, 15.0
    shell = cylinder(R, L, 1e-3, 120)
    q = V / (2.0 * np.pi * R)
    rim = (M / (np.pi * R**2), q, -q)
    _, N = solve(shell, 1, (FREE, CLAMPED), nothing(shell), first=rim)
    x = 0.5 * (shell.node_x[0:-1:2] + shell.node_x[2::2])
    middle = slice(40, 80)
    moment = -(M + V * x)  # pushed aside towards φ = 0 the free rim presses that side
    found = N.along.mean(axis=1)[middle] * np.pi * R**2
    assert found == pytest.approx(moment[middle], rel=1e-2, abs=0.01 * M)
    found = N.shear.mean(axis=1)[middle] * np.pi * R
    assert found == pytest.approx(np.full(40, V), rel=1e-2)


@pytest.mark.parametrize("ratio", [50.0, 200.0, 500.0])
def test_no_locking_of_a_ring_squeezed_into_an_oval(ratio: float) -> None:
    """w = p r⁴/(9 D) for p cos 2φ on a short free cylinder, ν = 0: bending without stretch."""
    R = 0.05
    t = R / ratio
    shell = cylinder(R, 0.02, t, 4, nu=0.0)
    load = nothing(shell)
    load[..., 1] = 10.0
    moved, _ = solve(shell, 2, (FREE, FREE), load)
    assert moved[:, 1].mean() == pytest.approx(10.0 * R**4 / (9.0 * E * t**3 / 12.0), rel=1e-2)


@pytest.mark.parametrize("ratio", [50.0, 100.0, 500.0])
def test_rings_buckle_at_the_classical_load(ratio: float) -> None:
    """n = 0, two elements per half wave: E t²/(r √(3 (1 − ν²))), as if thin; 0.85 t/r below it."""
    R = 0.05
    t = R / ratio
    half_wave = np.pi * np.sqrt(R * t) / (12.0 * (1.0 - NU**2)) ** 0.25
    shell = cylinder(R, 12.0 * half_wave, t, 24)
    found = buckle(shell, uniform(shell), (ROUND, ROUND), [0]).factor[0]
    assert found == pytest.approx(E * t**2 / (R * np.sqrt(3.0 * (1.0 - NU**2))), rel=0.02)


def sanders(t: float, R: float, L: float, n: int, halves: int) -> float:
    """Axial line load of Sanders' thin shell, ends round and free to warp: n round, halves along.

    Sanders, NASA TR R-24 (1959), strains from memory; load on w'² and v'².
    """
    A, _, D = stiffness(t)
    a = halves * np.pi / L
    stretch = np.array([[-a, 0.0, 0.0], [0.0, n / R, 1.0 / R], [-n / R, a, 0.0]])
    bend = np.array(
        [
            [0.0, 0.0, a * a],
            [0.0, n / R**2, n * n / R**2],
            [n / (2.0 * R * R), 1.5 * a / R, 2.0 * n * a / R],
        ]
    )
    K = stretch.T @ A @ stretch + bend.T @ D @ bend
    growth = np.linalg.eigvals(np.linalg.solve(K, a * a * np.diag([0.0, 1.0, 1.0])))
    return float(1.0 / growth.real.max())


@pytest.mark.parametrize(("ratio", "elements"), [(50.0, 150), (100.0, 150), (500.0, 330)])
def test_waves_round_buckle_as_by_sanders(ratio: float, elements: int) -> None:
    """n = 2 … 8 of a long cylinder whose ends warp freely: the least over half waves along."""
    R, L = 0.05, 0.6
    t, waves = R / ratio, range(2, 9)
    shell = cylinder(R, L, t, elements)
    found = buckle(shell, uniform(shell), (ROUND, ROUND), list(waves)).factor
    thin = [min(sanders(t, R, L, n, m) for m in range(1, elements)) for n in waves]
    assert found == pytest.approx(np.array(thin), rel=0.015)


def test_what_freely_warping_ends_leave_of_the_classical_load() -> None:
    """(n² − 1)/(n² + 1) for n = 2, 3, 4, over all lengths: why n is compared with its own n."""
    t, R = 0.1e-3, 0.05
    for n in (2, 3, 4):
        least = min(sanders(t, R, L, n, 1) for L in np.geomspace(0.05, 20.0, 1500) * R * 10.0)
        classical = E * t**2 / (R * np.sqrt(3.0 * (1.0 - NU**2)))
        assert least / classical == pytest.approx((n * n - 1.0) / (n * n + 1.0), rel=2e-3)


def test_a_long_tube_under_live_pressure() -> None:
    """p = E (t/r)³/(4 (1 − ν²)): pressure that follows the wall; a dead one would bear 4/3."""
    R, t = 0.05, 2e-3
    shell = cylinder(R, 2.5, t, 60)
    nil = np.zeros_like(shell.r)
    hoop = Resultants(nil, nil - R, nil, nil, nil)
    found = buckle(shell, hoop, (ROUND, ROUND), [2], pressure=-1.0).factor[0]
    assert found == pytest.approx(E * (t / R) ** 3 / (4.0 * (1.0 - NU**2)), rel=0.015)


def braid() -> Ply:
    glass = micromechanics.Fibre(73e9, 73e9, 30e9, 0.22, 0.0, 0.0, 2550.0)
    resin = micromechanics.Matrix(3e9, 0.35, 0.0, 1150.0, 0.0)
    return micromechanics.ply(glass, resin, 0.42, crimp=0.9)


@pytest.mark.parametrize(
    ("radius", "beta_deg", "length", "waves"),
    [(0.049, 0.0, 0.10, [3, 4, 5]), (0.030, 10.0, 0.12, [2, 3, 4])],
)
def test_lowest_load_of_a_laminate_as_by_solid_elements(
    radius: float, beta_deg: float, length: float, waves: list[int]
) -> None:
    """Three different pairs, initial stress with the bending at its ends; cylinder and cone."""
    angles, faces = np.radians([35.0, 45.0, 60.0]), np.array([-0.75, -0.25, 0.25, 0.75]) * 1e-3
    beta, elements = np.radians(beta_deg), 30
    s, ply = np.linspace(0.0, length, 2 * elements + 1), braid()
    ones = np.ones(len(s))
    ABD = laminate.assemble(laminate.pair_stiffness(ply, angles), faces)
    A, B, D = (item * ones[:, None, None] for item in ABD)
    through = shear_stiffness(ply, angles[:, None], np.diff(faces)[:, None]) * ones[:, None]
    nodes = s * np.cos(beta), radius + s * np.sin(beta)
    shell = make_shell(nodes, (A, B, D), through, 1.5e-3 * ones)
    pushed = radius / shell.node_r[-1]
    ends = (ROUND, ROUND)
    _, N = solve(shell, 0, ends, nothing(shell), (1.0, 0.0, 0.0), (-pushed, 0.0, 0.0))
    found = buckle(shell, N, ends)
    assert int(found.factor.argmin()) == waves[1]
    plies = [pair_solid(ply, float(angle), float(beta)) for angle in angles]
    solid = SolidShell(radius, float(beta), length, faces, plies, 44)
    assert found.factor[waves] == pytest.approx(np.array(solid.lowest(1.0, waves)), rel=0.01)


@pytest.mark.parametrize("face", [-1.0, 1.0])
def test_strain_on_both_faces_beside_an_end_as_by_solid_elements(face: float) -> None:
    """Three different pairs, pushed, ends round: stretch and hoop of a face, bending counted.

    Nine-noded solids by scikit-fem, fully integrated; a per cent of the largest strain, two
    walls off the held rim.
    """
    angles, faces = np.radians([35.0, 45.0, 60.0]), np.array([-0.75, -0.25, 0.25, 0.75]) * 1e-3
    R, L, ply, z = 0.049, 0.10, braid(), face * 0.75e-3
    x = np.linspace(0.0, L, 121)
    ones = np.ones(len(x))
    ABD = laminate.assemble(laminate.pair_stiffness(ply, angles), faces)
    A, B, D = (item * ones[:, None, None] for item in ABD)
    through = shear_stiffness(ply, angles[:, None], np.diff(faces)[:, None]) * ones[:, None]
    shell = make_shell((x, R * ones), (A, B, D), through, 1.5e-3 * ones)
    pushed = (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)
    moved, _ = solve(shell, 0, (ROUND, ROUND), nothing(shell), *pushed)
    found = at_depth(strains_of(shell, 0, moved), shell.along, shell.around, np.array(z))
    plies = [pair_solid(ply, float(angle), 0.0) for angle in angles]
    s, along, aside = SolidShell(R, 0.0, L, faces, plies, 60).on_face(z)
    at = shell.node_x[:-2:2, None] + L / 60 * (0.5 + 0.5 * np.array([-1.0, 1.0]) / np.sqrt(3.0))
    inside = (at > 3e-3) & (at < L - 3e-3)
    for row, line in ((0, CubicSpline(s, along).derivative()(at)), (1, aside(at) / (R + z))):
        off = np.abs(found[..., row] - line)[inside]
        assert off.max() < 1e-2 * np.abs(line).max()


def test_a_load_that_pulls_never_buckles() -> None:
    shell = cylinder(0.05, 0.1, 1e-3, 20)
    nil = np.zeros_like(shell.r)
    pulled = Resultants(nil + 1.0, nil, nil, nil, nil)
    assert np.all(buckle(shell, pulled, (ROUND, ROUND), [0, 3]).factor > 1e12)


def test_a_meridian_on_the_axis_is_refused() -> None:
    x = np.linspace(0.0, 1.0, 5)
    with pytest.raises(ValueError, match="off the axis"):
        isotropic(x, x, 1e-3)
