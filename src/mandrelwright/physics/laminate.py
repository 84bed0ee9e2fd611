"""Classical laminate theory for braided pairs, at every place at once.

In-plane order everywhere: (axial, hoop, shear), engineering shear; θ is measured from the
axial direction (the meridian). Plies are in plane stress, the laminate is thin and flat
enough for straight normals. Arrays shaped (draw, layer, place) broadcast; a stiffness adds
two trailing axes of 3, a strain one.
Source of the equations: Jones, Mechanics of Composite Materials, 2nd ed. 1999, chapters 2
and 4; Kaw, Mechanics of Composite Materials, 2nd ed. 2006, same chapters (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.micromechanics import Number, Ply

Array = NDArray[np.float64]


def reduced_stiffness(E1: Number, E2: Number, G12: Number, nu12: Number) -> Array:
    """Plane-stress stiffness Q of a ply in its own axes, (..., 3, 3), Pa.

    Q11 = E1/(1 − ν12 ν21), Q22 = E2/(1 − ν12 ν21), Q12 = ν12 Q22, Q66 = G12,
    ν21 = ν12 E2/E1.

    >>> round(float(reduced_stiffness(181e9, 10.3e9, 7.17e9, 0.28)[0, 0]) / 1e9, 1)
    181.8
    """
    Q11, Q12, Q22, Q66 = _ply_terms(E1, E2, G12, nu12)
    return _filled(Q11, Q12, Q22, 0.0, 0.0, Q66)


def rotated_stiffness(Q: Array, angle: ArrayLike) -> Array:
    """Stiffness Q̄ of a single ply turned by θ: Q̄ = T⁻¹ Q T⁻ᵀ in closed trigonometric form.

    ``Q`` (..., 3, 3) of a ply in its own axes, ``angle`` (...) in rad; returns (..., 3, 3).
    """
    terms = Q[..., 0, 0], Q[..., 0, 1], Q[..., 1, 1], Q[..., 2, 2]
    cosine, sine = np.cos(angle), np.sin(angle)
    c2, s2, cs = cosine * cosine, sine * sine, cosine * sine
    Q11, Q12, Q22, Q66 = terms
    along, across = Q11 - Q12 - 2.0 * Q66, Q12 - Q22 + 2.0 * Q66
    coupled16 = cs * (along * c2 + across * s2)
    coupled26 = cs * (along * s2 + across * c2)
    axial, mixed, hoop, shear = _turned(terms, c2, s2)
    return _filled(axial, mixed, hoop, coupled16, coupled26, shear)


def pair_stiffness(ply: Ply, angle: ArrayLike) -> Array:
    """Mean stiffness of an interlaced +θ/−θ pair: Q̄(θ) without its 16 and 26 terms.

    ``ply`` fields and ``angle`` (rad) broadcast; returns (..., 3, 3), Pa. The pair is one
    ply of its own: the two directions interlace, so it has no bending coupling.
    """
    cosine, sine = np.cos(angle), np.sin(angle)
    terms = _ply_terms(ply.E1, ply.E2, ply.G12, ply.nu12)
    axial, mixed, hoop, shear = _turned(terms, cosine * cosine, sine * sine)
    return _filled(axial, mixed, hoop, 0.0, 0.0, shear)


def pair_free_strain(ply: Ply, angle: ArrayLike, along: ArrayLike, across: ArrayLike) -> Array:
    """Free strain (axial, hoop, radial) of a ±θ pair whose plies would strain (along, across).

    In plane the pair finds the strain at which the ply stresses σ of both directions cancel:
    Q̄ ε = mean of Q̄(±θ) e. Radially e3 = across − (ν12/E1) σ1 − (ν23/E2) σ2.
    Same function for heat (expansions per kelvin) and cure. Angle in rad; all broadcast;
    returns (..., 3). Source: plane-stress Hooke's law of a transversely isotropic ply.
    """
    along, across = np.asarray(along, float), np.asarray(across, float)
    cosine, sine = np.cos(angle), np.sin(angle)
    c2, s2 = cosine * cosine, sine * sine
    terms = _ply_terms(ply.E1, ply.E2, ply.G12, ply.nu12)
    Q11, Q12, Q22, _ = terms
    held1, held2 = Q11 * along + Q12 * across, Q12 * along + Q22 * across
    axial_stiffness, mixed, hoop_stiffness, _ = _turned(terms, c2, s2)
    axial, hoop = _solved(
        (axial_stiffness, mixed, hoop_stiffness),
        held1 * c2 + held2 * s2,
        held1 * s2 + held2 * c2,
    )
    strain1, strain2 = axial * c2 + hoop * s2 - along, axial * s2 + hoop * c2 - across
    stress1, stress2 = Q11 * strain1 + Q12 * strain2, Q12 * strain1 + Q22 * strain2
    radial = across - ply.nu12 / ply.E1 * stress1 - ply.nu23 / ply.E2 * stress2
    return np.stack(np.broadcast_arrays(axial, hoop, radial), axis=-1)


def radial_compliance(ply: Ply, angle: ArrayLike, thickness: ArrayLike) -> Array:
    """Radial strain of the wall per mean (axial, hoop, radial) stress: −ν_xr/E_x, −ν_θr/E_θ, 1/E_r.

    Pairs share the in-plane strain of the whole wall; each thins by its own ply stresses,
    e3 = −(ν12/E1) σ1 − (ν23/E2) σ2 + σ3/E2 (a transversely isotropic ply has E3 = E2), and the
    mean over the thickness counts. ``ply`` and ``angle`` (..., layer, place), ``thickness``
    (..., layer, place) in m; returns (..., place, 3) in 1/Pa. Source: Hooke's law of the ply.
    """
    angle, t = np.asarray(angle, float), np.asarray(thickness, float)
    cosine, sine = np.cos(angle), np.sin(angle)
    c2, s2 = cosine * cosine, sine * sine
    terms = Q11, Q12, Q22, _ = _ply_terms(ply.E1, ply.E2, ply.G12, ply.nu12)
    whole = t.sum(axis=-2)
    xx, xy, yy, _ = ((term * t).sum(axis=-2) / whole for term in _turned(terms, c2, s2))
    along, across = -ply.nu12 / ply.E1, -ply.nu23 / ply.E2

    def thinned(axial: Array, hoop: Array) -> Array:
        strain1 = axial[..., None, :] * c2 + hoop[..., None, :] * s2
        strain2 = axial[..., None, :] * s2 + hoop[..., None, :] * c2
        stress1, stress2 = Q11 * strain1 + Q12 * strain2, Q12 * strain1 + Q22 * strain2
        return np.asarray(((along * stress1 + across * stress2) * t).sum(axis=-2) / whole)

    one, nil = np.ones_like(xx), np.zeros_like(xx)
    pulled = [thinned(*_solved((xx, xy, yy), *load)) for load in ((one, nil), (nil, one))]
    pressed = pair_free_strain(ply, angle, along, across)[..., 2] - across + 1.0 / ply.E2
    through = (pressed * t).sum(axis=-2) / whole
    return np.stack((*pulled, through), axis=-1)


def turned_strain(strain: ArrayLike, angle: ArrayLike) -> Array:
    """In-plane strain seen in axes turned by θ: laminate to ply axes; −θ goes back.

    ε1 = εx c² + εy s² + γ s c, ε2 = εx s² + εy c² − γ s c,
    γ12 = 2 (εy − εx) s c + γ (c² − s²). ``strain`` (..., 3), ``angle`` (...) in rad.
    """
    strain = np.asarray(strain, float)
    axial, hoop, shear = strain[..., 0], strain[..., 1], strain[..., 2]
    cosine, sine = np.cos(angle), np.sin(angle)
    c2, s2, cs = cosine * cosine, sine * sine, cosine * sine
    turned = (
        axial * c2 + hoop * s2 + shear * cs,
        axial * s2 + hoop * c2 - shear * cs,
        2.0 * (hoop - axial) * cs + shear * (c2 - s2),
    )
    return np.stack(np.broadcast_arrays(*turned), axis=-1)


def assemble(stiffness: Array, boundaries: ArrayLike) -> tuple[Array, Array, Array]:
    """Laminate stiffnesses A = Σ Q̄ Δz, B = ½ Σ Q̄ Δz², D = ⅓ Σ Q̄ Δz³ (N/m, N, N·m).

    ``stiffness`` (..., layer, 3, 3) and ``boundaries`` (..., layer + 1): the z of the layer
    faces in m, in the same order as the layers, from the reference surface. Layer axis last,
    so move it there from (draw, layer, place) first. Each result is (..., 3, 3).
    """
    z = np.asarray(boundaries, float)
    weights = (np.diff(z), np.diff(z * z) / 2.0, np.diff(z * z * z) / 3.0)
    A, B, D = (np.einsum("...lij,...l->...ij", stiffness, weight) for weight in weights)
    return A, B, D


def engineering_constants(A: Array, wall: ArrayLike) -> tuple[Array, Array, Array, Array]:
    """In-plane constants (Ex, Ey, Gxy, νxy) of a wall: the compliance a = A⁻¹ times its wall h.

    Ex = 1/(h a11), Ey = 1/(h a22), Gxy = 1/(h a66), νxy = −a12/a11; x axial, y hoop.
    ``A`` (..., 3, 3) in N/m, ``wall`` (...) in m; Pa. NaN where there is no wall.
    """
    h = np.asarray(wall, float)
    A11, A12, A16 = A[..., 0, 0], A[..., 0, 1], A[..., 0, 2]
    A22, A26, A66 = A[..., 1, 1], A[..., 1, 2], A[..., 2, 2]
    minor11, minor12 = A22 * A66 - A26 * A26, A16 * A26 - A12 * A66
    minor22, minor66 = A11 * A66 - A16 * A16, A11 * A22 - A12 * A12
    minor16 = A12 * A26 - A16 * A22
    determinant = A11 * minor11 + A12 * minor12 + A16 * minor16
    with np.errstate(divide="ignore", invalid="ignore"):
        moduli = [determinant / (h * minor) for minor in (minor11, minor22, minor66)]
        return moduli[0], moduli[1], moduli[2], -minor12 / minor11


def laminate_free_strain(stiffness: Array, free: Array, thickness: ArrayLike) -> Array:
    """Free strain (axial, hoop, radial) of stacked pairs: ε = A⁻¹ Σ Q̄ ε_k t_k in plane.

    Curvature is suppressed, as in a closed shell of revolution away from its ends. Radially
    the mean over the thickness: exact while the layers share their Poisson contraction,
    because their stresses cancel over the wall; 4 % low for carbon layers 15 degrees apart.
    ``stiffness`` (..., layer, 3, 3) of balanced pairs (no 16, 26 terms), ``free``
    (..., layer, 3), ``thickness`` (..., layer) in m. Returns (..., 3); NaN where no layer is.
    """
    t = np.asarray(thickness, float)
    axial, mixed, hoop = (stiffness[..., i, j] * t for i, j in ((0, 0), (0, 1), (1, 1)))
    force_axial = (axial * free[..., 0] + mixed * free[..., 1]).sum(-1)
    force_hoop = (mixed * free[..., 0] + hoop * free[..., 1]).sum(-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        along, around = _solved(
            (axial.sum(-1), mixed.sum(-1), hoop.sum(-1)), force_axial, force_hoop
        )
        radial = (free[..., 2] * t).sum(-1) / t.sum(-1)
    return np.stack(np.broadcast_arrays(along, around, radial), axis=-1)


def ply_residual(
    ply: Ply, angle: ArrayLike, thickness: ArrayLike, along: ArrayLike, across: ArrayLike
) -> Array:
    """Stress (σ1, σ2, τ12) in every ply of an unloaded wall whose plies would strain freely.

    σ = Q [T(θ) ε − e], e = (along, across, 0) the ply's own free strain, ε = A⁻¹ Σ Q̄ e t that of
    the wall, curvature suppressed. Of the +θ half of each pair; the −θ half has −τ12.
    ``ply``, ``angle`` (rad), ``along`` and ``across`` (..., pair, place), ``thickness`` the same in
    m; returns (..., pair, place, 3) in Pa. Validity: elastic from a state without stress; what
    fibre and resin do to each other within a ply is not in it. Source: Jones, chapter 4.
    """
    along, across = np.asarray(along, float), np.asarray(across, float)
    pairs, free = pair_stiffness(ply, angle), pair_free_strain(ply, angle, along, across)
    t = np.moveaxis(np.asarray(thickness, float), -2, -1)
    whole = laminate_free_strain(np.moveaxis(pairs, -4, -3), np.moveaxis(free, -3, -2), t)
    strain = np.concatenate((whole[..., :2], np.zeros_like(whole[..., :1])), axis=-1)
    own = turned_strain(strain[..., None, :, :], angle)
    Q11, Q12, Q22, Q66 = _ply_terms(ply.E1, ply.E2, ply.G12, ply.nu12)
    e1, e2 = own[..., 0] - along, own[..., 1] - across
    stress = Q11 * e1 + Q12 * e2, Q12 * e1 + Q22 * e2, Q66 * own[..., 2]
    return np.stack(np.broadcast_arrays(*stress), axis=-1)


def _ply_terms(
    E1: Number, E2: Number, G12: Number, nu12: Number
) -> tuple[Number, Number, Number, Number]:
    """Q11, Q12, Q22, Q66 of a ply."""
    divisor = 1.0 - nu12 * nu12 * E2 / E1
    return E1 / divisor, nu12 * E2 / divisor, E2 / divisor, G12


def _turned(
    terms: tuple[Number, Number, Number, Number], c2: Array, s2: Array
) -> tuple[Array, Array, Array, Array]:
    """Q̄11, Q̄12, Q̄22, Q̄66: the terms that +θ and −θ share, from cos²θ and sin²θ."""
    Q11, Q12, Q22, Q66 = terms
    both = c2 * s2
    cross = 2.0 * (Q12 + 2.0 * Q66) * both
    ends = c2 * c2 + s2 * s2
    return (
        Q11 * c2 * c2 + cross + Q22 * s2 * s2,
        (Q11 + Q22 - 4.0 * Q66) * both + Q12 * ends,
        Q11 * s2 * s2 + cross + Q22 * c2 * c2,
        (Q11 + Q22 - 2.0 * Q12 - 2.0 * Q66) * both + Q66 * ends,
    )


def _solved(
    symmetric: tuple[Array, Array, Array], first: Array, second: Array
) -> tuple[Array, Array]:
    """Solution of [[a, b], [b, d]] x = (first, second), elementwise; ``symmetric`` = (a, b, d)."""
    a, b, d = symmetric
    determinant = a * d - b * b
    return (d * first - b * second) / determinant, (a * second - b * first) / determinant


def _filled(xx: Number, xy: Number, yy: Number, xs: Number, ys: Number, ss: Number) -> Array:
    """Symmetric matrices (..., 3, 3) from their six terms."""
    shape = np.broadcast_shapes(*(np.shape(term) for term in (xx, xy, yy, xs, ys, ss)))
    matrix = np.empty((*shape, 3, 3))
    matrix[..., 0, 0], matrix[..., 1, 1], matrix[..., 2, 2] = xx, yy, ss
    matrix[..., 0, 1] = matrix[..., 1, 0] = xy
    matrix[..., 0, 2] = matrix[..., 2, 0] = xs
    matrix[..., 1, 2] = matrix[..., 2, 1] = ys
    return matrix
