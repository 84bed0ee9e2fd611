"""The wall as a laminate at every place: stiffness and the strains it would take when free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics import laminate, micromechanics
from mandrelwright.stages.layers import Layer
from mandrelwright.stages.record import result

Array = NDArray[np.float64]
FIBRE, RESIN = "materials.fibres.{fibre}.", "materials.resins.{resin}."
STIFFNESS = (
    "stack.fibre_fraction",
    "stack.angle",
    "stack.thickness",
    "stack.jammed",
    *(FIBRE + key for key in ("modulus_along", "modulus_across", "shear_modulus", "poisson")),
    *(RESIN + key for key in ("modulus", "poisson")),
    "materials.practice.braid.crimp_stiffness",
)
NO_SHRINKAGE = 1e-9  # stands for none: later steps divide by it
FREE = (*STIFFNESS, "materials.practice.ply.poisson_across")
CURE_SHRINKAGE = f"job.stated.cure_strain | {RESIN}cure_shrinkage"
MEMBRANE, CONSTANTS = ("wall.A", "stack.wall"), laminate.engineering_constants
PLIES = (micromechanics.ply, laminate.pair_stiffness, laminate.assemble)
STRAINS = (
    micromechanics.free_strains,
    laminate.pair_free_strain,
    laminate.laminate_free_strain,
)


@dataclass(frozen=True)
class Wall:
    """Membrane and bending stiffness, engineering constants, free strains; (place, ...), SI.

    NaN where no layer lies or where one has bunched: that is not a laminate.
    """

    A: Array = result("membrane stiffness", "N/m", PLIES, STIFFNESS)
    B: Array = result("coupling stiffness about the mid-surface", "N", PLIES, STIFFNESS)
    D: Array = result("bending stiffness", "N·m", PLIES, STIFFNESS)
    axial_modulus: Array = result("E axial", "GPa", CONSTANTS, MEMBRANE)
    hoop_modulus: Array = result("E hoop", "GPa", CONSTANTS, MEMBRANE)
    shear_modulus: Array = result("G axial-hoop", "GPa", CONSTANTS, MEMBRANE)
    poisson: Array = result("ν axial-hoop", "", CONSTANTS, MEMBRANE)
    expansion: Array = result(
        "thermal expansion of the wall",
        "ppm/K",
        STRAINS,
        (*FREE, f"{FIBRE}expansion_along", f"{FIBRE}expansion_across", f"{RESIN}expansion"),
    )
    cure: Array = result("free cure strain of the wall", "%", STRAINS, (*FREE, CURE_SHRINKAGE))


@dataclass(frozen=True)
class Constituents:
    """Fibre of every balanced pair ((pair, 1) arrays), resin and the ply factors, SI."""

    fibre: micromechanics.Fibre
    resin: micromechanics.Matrix
    across_poisson: float
    crimp: float


def read_constituents(job: Job, layers: Sequence[Layer], library: Library) -> Constituents:
    """Fibre constants by pair and resin constants from the library, cure strain as stated.

    A sleeve is one balanced pair, a cloth two (warp and weft).
    """
    none = np.zeros(0)
    fibres = [
        library.fibres[layer.textile.fibre]
        for layer in layers
        for _ in layer.textile.families(none)
    ]

    def column(key: str) -> Array:
        return np.array([[fibre[key].value] for fibre in fibres])

    fibre = micromechanics.Fibre(
        E1=column("modulus_along"),
        E2=column("modulus_across"),
        G12=column("shear_modulus"),
        nu12=column("poisson"),
        alpha1=column("expansion_along"),
        alpha2=column("expansion_across"),
        density=column("density"),
    )
    resin = library.resins[job.resin.name]
    matrix = micromechanics.Matrix(
        E=resin["modulus"].value,
        nu=resin["poisson"].value,
        alpha=resin["expansion"].value,
        density=resin["density"].value,
        cure=-max(cure_shrinkage(job, library)[0], NO_SHRINKAGE),
    )
    across = library.practice["ply"]["poisson_across"].value
    return Constituents(fibre, matrix, across, library.practice["braid"]["crimp_stiffness"].value)


def cure_shrinkage(job: Job, library: Library) -> tuple[float, float]:
    """Free linear shrinkage of the resin after gel and its spread, stated or of the library."""
    stated = job.stated.cure_strain
    if stated is not None:
        return stated.value, stated.spread
    datum = library.resins[job.resin.name]["cure_shrinkage"]
    return datum.value, datum.spread


def free_strains(
    parts: Constituents, fibre_fraction: Array | float, angle: Array, thickness: Array
) -> tuple[Array, Array]:
    """Free thermal expansion (1/K) and cure strain of the wall, each (..., place, 3).

    angle, thickness (..., pair, place); fibre_fraction scalar or (draw, 1, 1).
    """
    plies, stiffness = _plies(parts, fibre_fraction, angle)
    out = []
    for along, across in ((plies.alpha1, plies.alpha2), (plies.cure1, plies.cure2)):
        free = laminate.pair_free_strain(plies, angle, along, across)
        out.append(
            laminate.laminate_free_strain(
                np.moveaxis(stiffness, -4, -3),
                np.moveaxis(free, -3, -2),
                np.moveaxis(thickness, -2, -1),
            )
        )
    return out[0], out[1]


def assess_wall(
    parts: Constituents,
    fibre_fraction: float,
    angle: Array,
    thickness: Array,
    jammed: NDArray[np.bool_],
) -> Wall:
    """Classical laminate theory at every place; pairs in the order from the mould outwards.

    angle, thickness (pair, place), jammed (layer, place). z runs outwards
    from the middle of the wall.
    """
    _, stiffness = _plies(parts, fibre_fraction, angle)
    wall = thickness.sum(axis=0)
    sound = ~jammed.any(axis=0) & (wall > 0.0)
    bottom = -0.5 * wall
    boundaries = np.concatenate((bottom[None], bottom + np.cumsum(thickness, axis=0)))
    A, B, D = laminate.assemble(np.moveaxis(stiffness, 0, 1), boundaries.T)
    with np.errstate(invalid="ignore", divide="ignore"):
        constants = laminate.engineering_constants(A, wall)
        expansion, cure = free_strains(parts, fibre_fraction, angle, thickness)
    return Wall(*(_where(sound, value) for value in (A, B, D, *constants, expansion, cure)))


def _plies(
    parts: Constituents, fibre_fraction: Array | float, angle: Array
) -> tuple[micromechanics.Ply, Array]:
    """Ply constants and pair stiffness (..., layer, place, 3, 3)."""
    plies = micromechanics.ply(
        parts.fibre, parts.resin, fibre_fraction, parts.across_poisson, parts.crimp
    )
    return plies, laminate.pair_stiffness(plies, angle)


def _where(sound: Array, value: Array) -> Array:
    """The value where the wall is a sound laminate, NaN elsewhere."""
    return np.where(sound.reshape(sound.shape + (1,) * (value.ndim - 1)), value, np.nan)
