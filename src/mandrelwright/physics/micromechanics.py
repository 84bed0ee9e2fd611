"""From fibre, resin and fibre fraction to the constants of one straight-fibred ply.

Symbols: 1 along the fibre, 2 across it; f fibre, m resin (matrix); V_f fibre share of the
volume, V_m = 1 − V_f. Every field may be a float or an array; arrays broadcast, so a fibre
fraction shaped (draw, 1, 1) gives ply constants shaped (draw, 1, 1).
Validity: V_f below the packing limit (π/4 square, π/(2√3) hexagonal), linear elastic resin.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Number = float | Array

SQUARE_PACKING = np.pi / 4.0  # touching round fibres on a square grid, exact
HEXAGONAL_PACKING = np.pi / (2.0 * np.sqrt(3.0))  # the densest packing of circles, exact
XI_ACROSS = 2.0  # Halpin-Tsai ξ of E2, round fibres; Halpin & Kardos 1976 (from memory)
XI_SHEAR = 1.0  # ξ of G12: reproduces the concentric cylinder of Hashin & Rosen 1964 exactly


@dataclass(frozen=True)
class Fibre:
    """Transversely isotropic fibre: moduli in Pa, expansions in 1/K, density in kg/m³."""

    E1: Number
    E2: Number
    G12: Number
    nu12: Number
    alpha1: Number
    alpha2: Number
    density: Number


@dataclass(frozen=True)
class Matrix:
    """Isotropic resin: modulus in Pa, expansion in 1/K, density in kg/m³.

    ``cure`` is the free linear strain after gelling, negative because resin shrinks.
    """

    E: Number
    nu: Number
    alpha: Number
    density: Number
    cure: Number


@dataclass(frozen=True)
class Ply:
    """Transversely isotropic ply: moduli in Pa, expansions in 1/K, free cure strains (−)."""

    E1: Number
    E2: Number
    G12: Number
    nu12: Number
    nu23: Number
    alpha1: Number
    alpha2: Number
    cure1: Number
    cure2: Number


def halpin_tsai(fibre: ArrayLike, matrix: ArrayLike, fibre_fraction: ArrayLike, xi: float) -> Array:
    """Ply modulus across the fibres: P = P_m (1 + ξηV_f)/(1 − ηV_f), η = (P_f − P_m)/(P_f + ξP_m).

    ``fibre`` and ``matrix`` are the same modulus of both constituents, Pa; returns Pa.
    Source: Halpin & Kardos, Polymer Engineering and Science 16 (1976) 344 (from memory).

    >>> round(float(halpin_tsai(85e9, 3.4e9, 0.7, 2.0)) / 1e9, 3)
    20.2
    """
    P_f, P_m, V_f = (np.asarray(value, float) for value in (fibre, matrix, fibre_fraction))
    eta = (P_f - P_m) / (P_f + xi * P_m)
    return np.asarray(P_m * (1.0 + xi * eta * V_f) / (1.0 - eta * V_f))


def composite_density(fibre: Fibre, matrix: Matrix, fibre_fraction: Number) -> Number:
    """Density of fibre and resin without voids: ρ = ρ_f V_f + ρ_m V_m, kg/m³."""
    return fibre.density * fibre_fraction + matrix.density * (1.0 - fibre_fraction)


def free_strains(
    fibre: Fibre, matrix: Matrix, fibre_fraction: Number, strains: tuple[Number, Number, Number]
) -> tuple[Number, Number]:
    """Free strain of a ply along and across its fibres, for expansion and cure alike.

    e1 = (E1f e1f V_f + E_m e_m V_m)/(E1f V_f + E_m V_m),
    e2 = (e2f + ν12f e1f) V_f + (1 + ν_m) e_m V_m − ν12 e1,
    where ``strains`` = (e1f, e2f, e_m): strain per kelvin gives expansions, the free cure
    strain of the resin with (0, 0, e_m) gives cure strains. Returns (along, across).
    Source: Schapery, J. Composite Materials 2 (1968) 380 (from memory); the fibre term is
    written for a transversely isotropic fibre and reduces to (1 + ν_f) α_f V_f.
    """
    e1f, e2f, em = strains
    V_f, V_m = fibre_fraction, 1.0 - fibre_fraction
    stiff, soft = fibre.E1 * V_f, matrix.E * V_m
    along = (stiff * e1f + soft * em) / (stiff + soft)
    nu12 = fibre.nu12 * V_f + matrix.nu * V_m
    across = (e2f + fibre.nu12 * e1f) * V_f + (1.0 + matrix.nu) * em * V_m - nu12 * along
    return along, across


def ply(
    fibre: Fibre,
    matrix: Matrix,
    fibre_fraction: Number,
    nu23: Number = 0.40,  # Soden et al. 1998 give 0.40 for four laminae (from memory)
    crimp: Number = 1.0,
) -> Ply:
    """Constants of a ply: mixtures for E1, ν12; Halpin-Tsai for E2, G12; Schapery strains.

    E1 = κ (E1f V_f + E_m V_m), ν12 = ν12f V_f + ν_m V_m. κ is ``crimp``, the share of the
    straight fibre's stiffness that an interlaced tow keeps; free strains are those of the
    straight ply. Raises ValueError where V_f is not between 0 and the hexagonal packing
    limit. Source: rule of mixtures as in Kaw, Mechanics of Composite Materials, chapter 3.

    >>> glass = Fibre(85e9, 85e9, 35.42e9, 0.2, 5e-6, 5e-6, 2500.0)
    >>> resin = Matrix(3.4e9, 0.3, 63e-6, 1200.0, -0.005)
    >>> round(float(ply(glass, resin, 0.7).E1) / 1e9, 2)
    60.52
    """
    V_f = fibre_fraction
    if not np.all((np.asarray(V_f) >= 0.0) & (np.asarray(V_f) <= HEXAGONAL_PACKING)):
        raise ValueError("fibre fraction outside 0 to 0.907, the densest packing of round fibres")
    V_m = 1.0 - V_f
    alpha1, alpha2 = free_strains(fibre, matrix, V_f, (fibre.alpha1, fibre.alpha2, matrix.alpha))
    cure1, cure2 = free_strains(fibre, matrix, V_f, (0.0, 0.0, matrix.cure))
    return Ply(
        E1=crimp * (fibre.E1 * V_f + matrix.E * V_m),
        E2=halpin_tsai(fibre.E2, matrix.E, V_f, XI_ACROSS),
        G12=halpin_tsai(fibre.G12, matrix.E / (2.0 * (1.0 + matrix.nu)), V_f, XI_SHEAR),
        nu12=fibre.nu12 * V_f + matrix.nu * V_m,
        nu23=nu23,
        alpha1=alpha1,
        alpha2=alpha2,
        cure1=cure1,
        cure2=cure2,
    )
