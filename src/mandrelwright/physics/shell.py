"""Shell of revolution by finite elements: stress and linear buckling in waves round the axis.

Straight directors with transverse shear (Reissner-Mindlin), three-noded elements along the
meridian with two points of integration, which keeps thin ones from locking. Displacements are
axial, radial and around; rotations turn the director towards the meridian and round:
u_x, u_r, ψ_s ~ cos nφ,  u_φ, ψ_φ ~ sin nφ  with n whole waves.
The wall enters as A, B, D about its middle surface, balanced (no 16, 26 terms), corrected to first
order in thickness over radius: faces square to the meridian and round are (1 + z/R) long.
Arrays: (wave, element, ...), stiffness at the points of integration (element, 2, ...). SI. Several
shells on the same nodes go side by side: a wave each, stiffness with the waves' leading axis.
Validity: smooth meridians (a kink turns the director), r above nought, wall over radius below 0.1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.chain import Factors, gather, largest
from mandrelwright.physics.micromechanics import Ply

Array = NDArray[np.float64]
Held = tuple[bool, bool, bool, bool, bool]  # axial, radial, around, ψ_s, ψ_φ

FREE: Held = (False, False, False, False, False)
ROUND: Held = (False, True, True, False, True)  # kept round, free to warp and to turn
CLAMPED: Held = (True, True, True, True, True)

SHEAR_SHARE = 5.0 / 6.0  # parabolic shear through a rectangular wall, Reissner 1945
POINTS = np.array([-1.0, 1.0]) / np.sqrt(3.0)  # Gauss
SHAPES = np.stack(
    (0.5 * POINTS * (POINTS - 1.0), 1.0 - POINTS**2, 0.5 * POINTS * (POINTS + 1.0)), 1
)
SLOPES = np.stack((POINTS - 0.5, -2.0 * POINTS, POINTS + 0.5), axis=1)
BENDS = np.array([1.0, -2.0, 1.0])
STRAINS = 10  # ε_s ε_φ γ_s γ_φ κ_s κ_φ τ_s τ_φ γ_sz γ_φz
UX, UR, UP, PS, PP = range(5)


@dataclass(frozen=True)
class Shell:
    """Geometry and stiffness at the points of integration, (element, 2, ...), SI.

    ``node_x``, ``node_r`` (2 elements + 1,); ``weight`` r ds; ``beta`` angle of the meridian to
    the axis; ``along``, ``around`` curvatures 1/R, positive when convex outwards.
    """

    node_x: Array
    node_r: Array
    r: Array
    beta: Array
    along: Array
    around: Array
    length: Array
    weight: Array
    stiffness: Array
    wall: Array

    def beside(self, stiffness: Array) -> Shell:
        """The same shell of other walls, (wave, element, 2, 10, 10), for as many waves."""
        return replace(self, stiffness=stiffness)

    @property
    def elements(self) -> int:
        """How many elements there are."""
        return len(self.node_x) // 2


@dataclass(frozen=True)
class Resultants:
    """Stress resultants at the points of integration, (..., element, 2): N/m and N.

    Amplitudes of cos nφ (along, around, moments) and sin nφ (shear).
    """

    along: Array
    around: Array
    shear: Array
    moment_along: Array
    moment_around: Array


def shear_stiffness(ply: Ply, angle: ArrayLike, thickness: ArrayLike) -> Array:
    """Transverse shear stiffness (along, around) of stacked ±θ pairs: 5/6 Σ G t, N/m, (..., 2).

    G_xz = G13 cos²θ + G23 sin²θ, round the other way; G13 = G12, G23 = E2/(2 (1 + ν23)).
    ``angle``, ``thickness`` (..., layer, place), gives (..., place, 2).
    Source: rotated plane of shear, Jones 1999, chapter 2.
    """
    c2 = np.cos(np.asarray(angle, float)) ** 2
    G13, G23 = ply.G12, ply.E2 / (2.0 * (1.0 + ply.nu23))
    t = SHEAR_SHARE * np.asarray(thickness, float)
    along, around = G13 * c2 + G23 * (1.0 - c2), G13 * (1.0 - c2) + G23 * c2
    return np.stack(((along * t).sum(axis=-2), (around * t).sum(axis=-2)), axis=-1)


def make_shell(
    nodes: tuple[ArrayLike, ArrayLike],
    laminate: tuple[Array, Array, Array],
    shear: Array,
    wall: ArrayLike,
) -> Shell:
    """Shell on the nodes (x, r), ends and middles of elements in turn, 2 elements + 1 of them.

    ``laminate`` A, B, D (place, 3, 3), ``shear`` (place, 2), ``wall`` (place,) are at the nodes
    and are taken by straight lines between ends and middles of the elements.
    """
    x, r = (np.asarray(item, float) for item in nodes)
    if len(x) % 2 == 0 or len(x) < 3 or np.any(r <= 0.0):
        raise ValueError("a shell needs an odd number of nodes, three at least, all off the axis")
    ex, er = _by_element(x), _by_element(r)
    dx, dr = ex @ SLOPES.T, er @ SLOPES.T
    length = np.hypot(dx, dr)
    turn = (dx * (er @ BENDS)[:, None] - dr * (ex @ BENDS)[:, None]) / length**3
    radius, beta = er @ SHAPES.T, np.arctan2(dr, dx)
    A, B, D, K, t = (_at_points(np.asarray(item, float)) for item in (*laminate, shear, wall))
    around = np.cos(beta) / radius
    stiffness = _section(A, B, D, K, -turn, around)
    return Shell(x, r, radius, beta, -turn, around, length, radius * length, stiffness, t)


def solve(
    shell: Shell,
    waves: ArrayLike,
    ends: tuple[Held, Held],
    traction: Array,
    first: ArrayLike = (0.0, 0.0, 0.0),
    last: ArrayLike = (0.0, 0.0, 0.0),
) -> tuple[Array, Resultants]:
    """Displacements (node, 5) and stress resultants under harmonics of load: K u = f.

    ``traction`` (element, 2, 3): force per area along (x, r, φ) at the points of integration;
    ``first`` and ``last``: force per length on the rims. Amplitudes of cos nφ, cos nφ, sin nφ.
    ``waves`` (wave,) gives everything that leading axis.
    Source: Reissner-Mindlin shell of revolution in harmonics, as in Zienkiewicz & Taylor, The
    Finite Element Method, 5th ed. 2000, vol. 2, chapter on axisymmetric shells (from memory).
    """
    count = np.atleast_1d(np.asarray(waves, dtype=np.intp))
    strains = _strain_rows(shell, count)
    K, held = _stiffness(shell, strains, count, ends)
    force = np.zeros((len(count), 2 * shell.elements + 1, 5))
    spread = np.einsum("eg,...egk,gi->...eik", shell.weight, traction, SHAPES)
    for node in range(3):
        force[:, node : node + 2 * shell.elements : 2, :3] += spread[..., node, :]
    force[:, 0, :3] += shell.node_r[0] * np.asarray(first, float)
    force[:, -1, :3] += shell.node_r[-1] * np.asarray(last, float)
    moved = Factors(K).solve(force * ~held).reshape(*np.shape(waves), -1, 5)
    found = np.einsum("...egst,...egt->...egs", shell.stiffness, strains_of(shell, waves, moved))
    return moved, Resultants(*(found[..., row] for row in (0, 1, 2, 4, 5)))


def strains_of(shell: Shell, waves: ArrayLike, moved: Array) -> Array:
    """Strains ε_s ε_φ γ_s γ_φ κ_s κ_φ τ_s τ_φ γ_sz γ_φz (..., element, 2, 10) of displacements.

    Amplitudes of cos nφ, those of γ_s, γ_φ, τ_s, τ_φ and γ_φz of sin nφ.
    """
    count = np.atleast_1d(np.asarray(waves, dtype=np.intp))
    u = gather(moved.reshape(len(count), -1, 5))
    strain = np.einsum("wegsd,wed->wegs", _strain_rows(shell, count), u)
    return np.asarray(strain.reshape(*np.shape(waves), *strain.shape[1:]))


def at_depth(strain: Array, along: Array, around: Array, z: Array) -> Array:
    """Strains in the wall at z outwards of its middle: ε = (ε0 + z κ)/(1 + z/R).

    ``strain`` (..., 10), ``along`` and ``around`` curvatures 1/R and z broadcast over (...);
    returns ε_s, ε_φ, γ_sφ (..., 3). Validity: straight directors.
    """
    s, c = 1.0 + z * along, 1.0 + z * around
    e = np.moveaxis(strain, -1, 0)
    sheared = (e[2] + z * e[6]) / s + (e[3] + z * e[7]) / c
    return np.stack(np.broadcast_arrays((e[0] + z * e[4]) / s, (e[1] + z * e[5]) / c, sheared), -1)


@dataclass(frozen=True)
class Buckling:
    """Load factor of each number of waves, (wave,), and the modes, (wave, node, 5).

    Infinite where no multiple of the load buckles the shell.
    """

    waves: NDArray[np.intp]
    factor: Array
    mode: Array


def buckle(
    shell: Shell,
    stress: Resultants,
    ends: tuple[Held, Held],
    waves: ArrayLike = tuple(range(13)),
    pressure: ArrayLike = 0.0,
) -> Buckling:
    """Least load factor λ of (K + λ K_σ) u = 0 for each number of waves round.

    K_σ: the initial stress N_s, N_φ, M_s, M_φ (n = 0) on the squares of all nine displacement
    gradients, also of those that the director carries (N t²/12) and of its ends that draw nearer
    when it turns (M/R), and ``pressure`` (outwards, Pa, broadcast over points) that stays square
    to the moving surface; each for all waves, or with their leading axis. Without waves (n = 0)
    the last rim is held axially. Method: Lanczos in the inner product of K, fully made orthogonal,
    all waves side by side; the factor is found to a thousandth.
    """
    count = np.asarray(waves, dtype=np.intp)
    strains = _strain_rows(shell, count)
    K, held = _stiffness(shell, strains, count, ends)
    G = _initial_stress(shell, strains, count, stress)
    G -= _live_pressure(shell, strains, np.asarray(pressure) + np.zeros_like(shell.r))
    growth, mode = largest(K, -G * _keep(held), ~held)
    with np.errstate(divide="ignore"):
        return Buckling(count, np.where(growth > 0.0, 1.0 / growth, np.inf), mode)


def _section(A: Array, B: Array, D: Array, shear: Array, along: Array, around: Array) -> Array:
    """Stiffness (..., 10, 10) of the strains, faces (1 + z/R) long to second order in z."""
    C = np.zeros((*along.shape, STRAINS, STRAINS))
    tilt = around - along
    for i, j, term in ((0, 0, (0, 0)), (1, 1, (1, 1)), (2, 2, (2, 2)), (3, 3, (2, 2))):
        side, curved = (tilt, -along * tilt) if i in (0, 2) else (-tilt, around * tilt)
        a, b, d = (item[..., term[0], term[1]] for item in (A, B, D))
        C[..., i, j] = a + side * b + curved * d
        C[..., i, j + 4] = C[..., j + 4, i] = b + side * d
        C[..., i + 4, j + 4] = d
    for i, j, term in ((0, 1, (0, 1)), (2, 3, (2, 2))):
        a, b, d = (item[..., term[0], term[1]] for item in (A, B, D))
        C[..., i, j] = C[..., j, i] = a
        C[..., i, j + 4] = C[..., j + 4, i] = C[..., j, i + 4] = C[..., i + 4, j] = b
        C[..., i + 4, j + 4] = C[..., j + 4, i + 4] = d
    C[..., 8, 8], C[..., 9, 9] = shear[..., 0], shear[..., 1]
    return C


def _strain_rows(shell: Shell, waves: NDArray[np.intp]) -> Array:
    """Strains per displacement of the nodes, (wave, element, 2, 10, 15)."""
    n = waves.astype(float)[:, None, None, None]
    N, dN = SHAPES[None, None], (SLOPES[None] / shell.length[..., None])[None]
    over = N / shell.r[None, ..., None]
    c, s = np.cos(shell.beta)[None, ..., None], np.sin(shell.beta)[None, ..., None]
    rows = np.zeros((len(waves), *shell.r.shape, STRAINS, 3, 5))
    rows[..., 0, :, UX], rows[..., 0, :, UR] = c * dN, s * dN
    rows[..., 1, :, UR], rows[..., 1, :, UP] = over, n * over
    rows[..., 2, :, UP] = dN
    rows[..., 3, :, UX], rows[..., 3, :, UR] = -n * c * over, -n * s * over
    rows[..., 3, :, UP] = -s * over
    rows[..., 4, :, PS] = dN
    rows[..., 5, :, PS], rows[..., 5, :, PP] = s * over, n * over
    rows[..., 6, :, PP] = dN
    rows[..., 7, :, PS], rows[..., 7, :, PP] = -n * over, -s * over
    rows[..., 8, :, UX], rows[..., 8, :, UR], rows[..., 8, :, PS] = -s * dN, c * dN, N
    rows[..., 9, :, UX], rows[..., 9, :, UR] = n * s * over, -n * c * over
    rows[..., 9, :, UP], rows[..., 9, :, PP] = -c * over, N
    return rows.reshape(*rows.shape[:4], 15)


def _stiffness(
    shell: Shell, strains: Array, waves: NDArray[np.intp], ends: tuple[Held, Held]
) -> tuple[Array, NDArray[np.bool_]]:
    """K of every element (wave, element, 15, 15) and what is held (wave, node, 5)."""
    weighted = shell.stiffness * shell.weight[..., None, None]
    K = _squared(strains, np.matmul(weighted, strains))
    held = np.zeros((len(waves), 2 * shell.elements + 1, 5), dtype=bool)
    held[:, 0], held[:, -1] = ends
    held[waves == 0, -1, UX] = True
    return K * _keep(held) + np.eye(15) * gather(np.where(held, 1.0, 0.0))[..., None], held


def _initial_stress(
    shell: Shell, strains: Array, waves: NDArray[np.intp], stress: Resultants
) -> Array:
    """K_σ of every element from forces and moments along and around."""
    director = np.zeros((len(waves), *shell.r.shape, 2, 3, 5))
    director[..., 0, :, PS] = SHAPES[None, None]
    director[..., 1, :, PP] = SHAPES[None, None]
    director = director.reshape(*director.shape[:4], 15)
    moved = strains[..., [0, 2, 8, 3, 1, 9], :].copy()
    moved[..., [2, 5], :] -= director  # without the director's own turn
    curved = np.stack((shell.along, shell.around), axis=-1)[..., None]
    turned = np.stack(
        (*(strains[..., 4 + k, :] for k in (0, 2)), -curved[..., 0, :] * director[..., 0, :],
         *(strains[..., 4 + k, :] for k in (3, 1)), -curved[..., 1, :] * director[..., 1, :]),
        axis=-2,
    )  # fmt: skip
    through = shell.wall**2 / 12.0

    def weighed(one: Array, other: Array) -> Array:
        return np.repeat(np.stack((one, other), axis=-1) * shell.weight[..., None], 3, axis=-1)

    along = stress.along - shell.along * stress.moment_along  # fibres outside are longer
    around = stress.around - shell.around * stress.moment_around
    force = weighed(along, around)[..., None]
    moment = weighed(stress.moment_along, stress.moment_around)[..., None]
    flat = force * moved + moment * turned
    bent = moment * moved + through[..., None, None] * force * turned
    drawn = stress.moment_along * shell.along + stress.moment_around * shell.around
    tilted = (drawn * shell.weight)[..., None, None] * director
    return _squared(moved, flat) + _squared(turned, bent) - _squared(director, tilted)


def _live_pressure(shell: Shell, strains: Array, pressure: Array) -> Array:
    """Work of a pressure that follows the surface: q [(g11 + g22) w − g13 u − g23 v], symmetric."""
    c, s = np.cos(shell.beta)[..., None], np.sin(shell.beta)[..., None]
    shown = np.zeros((*shell.r.shape, 3, 3, 5))  # along the meridian, around, outwards
    shown[..., 0, :, UX], shown[..., 0, :, UR] = c * SHAPES, s * SHAPES
    shown[..., 1, :, UP] = SHAPES
    shown[..., 2, :, UX], shown[..., 2, :, UR] = -s * SHAPES, c * SHAPES
    shown = shown.reshape(*shell.r.shape, 3, 15)
    leaned = strains[..., [8, 9], :].copy()
    leaned[..., 0, PS::5] -= SHAPES
    leaned[..., 1, PP::5] -= SHAPES
    pushed = np.stack(
        (-leaned[..., 0, :], -leaned[..., 1, :], strains[..., 0, :] + strains[..., 1, :]), axis=-2
    )
    L = _squared(
        np.broadcast_to(shown, pushed.shape), (pressure * shell.weight)[..., None, None] * pushed
    )
    return 0.5 * (L + L.transpose(0, 1, 3, 2))


def _squared(left: Array, right: Array) -> Array:
    """Σ over points and rows of leftᵀ right, (wave, element, 15, 15)."""
    waves, elements, points, rows, columns = left.shape
    one = left.reshape(waves, elements, points * rows, columns)
    return np.asarray(np.matmul(one.transpose(0, 1, 3, 2), right.reshape(one.shape)))


def _by_element(values: Array) -> Array:
    """Values at the nodes as (element, 3, ...)."""
    return np.stack((values[:-2:2], values[1:-1:2], values[2::2]), axis=1)


def _at_points(values: Array) -> Array:
    """Values at the nodes by straight lines to the points of integration, (element, 2, ...)."""
    left, middle, right = np.moveaxis(_by_element(values), 1, 0)
    share = 1.0 - abs(POINTS[0])
    return np.stack(
        (share * middle + (1.0 - share) * left, share * middle + (1.0 - share) * right), axis=1
    )


def _keep(held: NDArray[np.bool_]) -> Array:
    """One where both unknowns of an element are free, (wave, element, 15, 15)."""
    free = gather(np.where(held, 0.0, 1.0))
    return np.asarray(free[..., :, None] * free[..., None, :])
