"""When a ply fails: load factors by maximum stress, Tsai-Wu and Hashin, and what heat takes away.

Symbols: 1 along the fibre, 2 across it; a load factor λ is what the stress may be multiplied by
until the criterion is met, so it is the reserve factor, 1 + margin of safety. Stress arrays are
(..., 3) in the axes of the ply, (σ1, σ2, τ12) in Pa; strengths broadcast over what leads.
Infinite where a stress can never meet the criterion. ``residual`` (..., 3) is a stress that is
there already and does not grow, Pa: λ σ + r meets the criterion; nought where r alone does.
Validity: first failure of one ply; nothing of what a cracked laminate still bears.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mandrelwright.physics.micromechanics import Number

Array = NDArray[np.float64]

HASHIN = ("fibre tension", "fibre compression", "matrix cracking", "matrix compression")
MODES = (*HASHIN, "matrix shear")
NONE = (0.0, 0.0, 0.0)
RUBBERY = 0.01  # modulus of cured epoxy above its glass transition over below it (from memory)


@dataclass(frozen=True)
class Strengths:
    """Strengths of a ply in Pa, all positive: along (t tension, c compression), across, shear.

    ``through`` is the shear strength across the fibres, S23.
    """

    along_tension: Number
    along_compression: Number
    across_tension: Number
    across_compression: Number
    shear: Number
    through: Number


def maximum_stress(stress: ArrayLike, strengths: Strengths, residual: ArrayLike = NONE) -> Array:
    """Load factors of σ1 = X_t, −σ1 = X_c, σ2 = Y_t, −σ2 = Y_c, |τ12| = S: (..., 5).

    ``stress`` (..., 3), Pa; the last axis is in the order of MODES.
    Source: Jones, Mechanics of Composite Materials, 2nd ed. 1999, section 2.9 (from memory).
    """
    (s1, s2, t12), (r1, r2, rt) = _terms(stress), _terms(residual)
    triples = (
        (s1, r1, strengths.along_tension),
        (-s1, -r1, strengths.along_compression),
        (s2, r2, strengths.across_tension),
        (-s2, -r2, strengths.across_compression),
        (np.abs(t12), rt * np.where(t12 < 0.0, -1.0, 1.0), strengths.shear),
    )
    factors = [_linear(*triple) for triple in triples]
    return np.stack(np.broadcast_arrays(*factors), axis=-1)


def tsai_wu(
    stress: ArrayLike,
    strengths: Strengths,
    interaction: float = -0.5,
    residual: ArrayLike = NONE,
) -> Array:
    """Load factor of F1 σ1 + F2 σ2 + F11 σ1² + F22 σ2² + F66 τ12² + 2 F12 σ1 σ2 = 1, (...).

    F1 = 1/X_t − 1/X_c, F11 = 1/(X_t X_c), likewise 2; F66 = 1/S²; F12 = ``interaction`` √(F11 F22).
    λ is the positive root of a λ² + b λ = c. ``stress`` (..., 3), Pa.
    Source: Tsai & Wu, J. Composite Materials 5 (1971) 58; −1/2 as Tsai & Hahn 1980 (from memory).
    """
    (s1, s2, t12), (r1, r2, rt) = _terms(stress), _terms(residual)
    Xt, Xc = strengths.along_tension, strengths.along_compression
    Yt, Yc = strengths.across_tension, strengths.across_compression
    F1, F2 = 1.0 / Xt - 1.0 / Xc, 1.0 / Yt - 1.0 / Yc
    F11, F22, F66 = 1.0 / (Xt * Xc), 1.0 / (Yt * Yc), 1.0 / strengths.shear**2
    F12 = interaction * np.sqrt(F11 * F22)
    square = F11 * s1**2 + F22 * s2**2 + F66 * t12**2 + 2.0 * F12 * s1 * s2
    mixed = F11 * s1 * r1 + F22 * s2 * r2 + F66 * t12 * rt + F12 * (s1 * r2 + s2 * r1)
    used = F1 * r1 + F2 * r2 + F11 * r1**2 + F22 * r2**2 + F66 * rt**2 + 2.0 * F12 * r1 * r2
    return _root(square, F1 * s1 + F2 * s2 + 2.0 * mixed, 1.0 - used)


def hashin(stress: ArrayLike, strengths: Strengths, residual: ArrayLike = NONE) -> Array:
    """Load factors of the four modes of Hashin in plane stress, in the order of HASHIN: (..., 4).

    fibre, σ1 ≥ 0: (σ1/X_t)² + (τ12/S)² = 1;  σ1 < 0: −σ1 = X_c
    matrix, σ2 ≥ 0: (σ2/Y_t)² + (τ12/S)² = 1
    matrix, σ2 < 0: (σ2/2S23)² + [(Y_c/2S23)² − 1] σ2/Y_c + (τ12/S)² = 1

    ``stress`` (..., 3), Pa. Pure shear cracks the matrix; a mode whose side is not loaded when it
    is met is infinite. Source: Hashin, J. Applied Mechanics 47 (1980) 329 (from memory).
    """
    (s1, s2, t12), (r1, r2, rt) = _terms(stress), _terms(residual)
    S, slip, Yc = strengths.shear, 2.0 * strengths.through, strengths.across_compression

    def met(s: Array, r: Array, limit: Number, slope: Number = 0.0) -> Array:
        """λ of (σ/limit)² + slope σ + (τ12/S)² = 1."""
        square, used = (s / limit) ** 2 + (t12 / S) ** 2, (r / limit) ** 2 + (rt / S) ** 2
        mixed = s * r / limit**2 + t12 * rt / S**2
        return _root(square, slope * s + 2.0 * mixed, 1.0 - used - slope * r)

    pulled, cracked = met(s1, r1, strengths.along_tension), met(s2, r2, strengths.across_tension)
    crushed = met(s2, r2, slip, ((Yc / slip) ** 2 - 1.0) / Yc)
    modes = (
        np.where(_grown(s1, r1, pulled) > 0.0, pulled, np.inf),
        _linear(-s1, -r1, strengths.along_compression),
        np.where(_grown(s2, r2, cracked) >= 0.0, cracked, np.inf),
        np.where(_grown(s2, r2, crushed) < 0.0, crushed, np.inf),
    )
    return np.stack(np.broadcast_arrays(*modes), axis=-1)


def first_failure(
    stress: ArrayLike, strengths: Strengths, residual: ArrayLike = NONE
) -> tuple[Array, NDArray[np.intp]]:
    """Least load factor of the three criteria and its mode, an index into MODES.

    λ = min(maximum stress, Tsai-Wu, Hashin). The mode is the stress that is nearest to its own
    strength: Tsai-Wu names none, and Hashin's calls a shear failure one of the fibre where both
    weigh in. ``stress`` (..., 3), Pa; returns (...), (...).
    """
    single = maximum_stress(stress, strengths, residual)
    modes = hashin(stress, strengths, residual)
    least = np.minimum(single.min(axis=-1), modes.min(axis=-1))
    whole = tsai_wu(stress, strengths, residual=residual)
    return np.minimum(least, whole), np.asarray(single.argmin(axis=-1))


def at_fraction(
    strengths: Strengths, fraction: ArrayLike, reference: ArrayLike, crimp: ArrayLike = 1.0
) -> Strengths:
    """Strengths at another fibre fraction: X = X_ref κ V_f/V_ref along, the rest as it was.

    ``reference`` V_ref is the fibre fraction of the plies that were tested, ``crimp`` κ the share
    of strength that a crimped tow keeps. Along the fibre the fibres bear nearly all; across it and
    in shear the resin breaks first, and measured plies show no clear trend between 0.4 and 0.65.
    Source: rule of mixtures for strength as in Kaw, Mechanics of Composite Materials, section 3.5,
    without the small share of the resin.
    """
    share = np.asarray(crimp, float) * np.asarray(fraction, float) / np.asarray(reference, float)
    return replace(
        strengths,
        along_tension=strengths.along_tension * share,
        along_compression=strengths.along_compression * share,
    )


def heated(strengths: Strengths, kept: ArrayLike) -> Strengths:
    """Strengths where the resin keeps a share of its own: all but tension along the fibre, Pa.

    Compression along the fibre is among them: the resin holds the fibres from buckling.
    """
    share = np.asarray(kept, float)
    return replace(
        strengths,
        along_compression=strengths.along_compression * share,
        across_tension=strengths.across_tension * share,
        across_compression=strengths.across_compression * share,
        shear=strengths.shear * share,
        through=strengths.through * share,
    )


def resin_kept(
    temperature: ArrayLike, glass: ArrayLike, reference: ArrayLike, exponent: ArrayLike = 0.5
) -> Array:
    """Share of its stiffness and strength that the resin keeps: [(T_g − T)/(T_g − T_ref)]^n.

    ``temperature`` T, ``glass`` T_g of the resin as cured (and wet) and ``reference`` T_ref of the
    test in K. At most one below T_ref; RUBBERY at and above T_g, and never less.
    Validity: dry or evenly wet resin, minutes under load. Source: Chamis, NASA TM-83320 (1983),
    simplified hygrothermal equations, n = 1/2 (from memory).

    >>> round(float(resin_kept(313.15, 348.15, 293.15)), 3)
    0.798
    """
    T, T_g, T_ref = (np.asarray(value, float) for value in (temperature, glass, reference))
    left = np.clip((T_g - T) / np.maximum(T_g - T_ref, 1e-9), 0.0, 1.0)
    return np.asarray(np.maximum(left ** np.asarray(exponent, float), RUBBERY))


def _terms(stress: ArrayLike) -> tuple[Array, Array, Array]:
    stress = np.asarray(stress, float)
    return stress[..., 0], stress[..., 1], stress[..., 2]


def _linear(load: Array, there: Array, strength: Number) -> Array:
    """λ of λ load + there = strength: infinite where the load does not push that way."""
    room = np.maximum(strength - there, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(load > 0.0, room / load, np.inf)
    return np.where(room > 0.0, factor, 0.0)


def _grown(load: Array, there: Array, factor: Array) -> Array:
    """Stress at the load factor; the load's own sign where it is infinite."""
    finite = np.isfinite(factor)
    return np.where(finite, load * np.where(finite, factor, 0.0) + there, load)


def _root(square: Array, linear: Array, room: Array) -> Array:
    """Positive λ of square λ² + linear λ = room, free of cancellation; nought without room."""
    with np.errstate(divide="ignore", invalid="ignore"):
        rooted = np.sqrt(np.maximum(linear**2 + 4.0 * square * room, 0.0))
        low, high = 2.0 * room / (linear + rooted), (rooted - linear) / (2.0 * square)
        root = np.where(linear >= 0.0, low, high)
    root = np.where(np.isfinite(root) & (root > 0.0), root, np.inf)
    return np.where(room > 0.0, root, 0.0)
