"""When a ply fails by the shell's own stresses: membrane, bent ends, ramps and corners."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.physics import laminate, shell, strength
from mandrelwright.stages.cure import Cure
from mandrelwright.stages.flight import Case
from mandrelwright.stages.shell_model import Model, axial_load, side_load
from mandrelwright.stages.warm_wall import Walls, stress_left, warm_strengths

Array = NDArray[np.float64]
Count = NDArray[np.intp]

AZIMUTHS = np.radians([0.0, 180.0, 90.0, -90.0])
PLUG = 1e6  # times the wall: how stiff the first element is, so that it moves as a whole
EXTREME = np.array([-1.0, 1.0]) * np.sqrt(3.0)  # ends of an element, in its points' distance


@dataclass(frozen=True)
class Cracked:
    """Least load factor of any ply (case, place), with the pair, mode and face that set it.

    ``face``: 0 inner, 1 outer side of the ply; places are both ends of every element, ``x``.
    """

    x: Array
    factor: Array
    pair: Count
    mode: Count
    face: Count
    kept: Array


def crack(model: Model, cases: list[Case], cure: Cure, library: Library) -> Cracked:
    """Least of maximum stress, Tsai-Wu and Hashin at both faces of every ply, round the part.

    The shell is pressed and pulled by N(x) and the pressure (n = 0), bent by V(x) and M (n = 1);
    its first end is plugged: round and square, free to move as a whole; its last is clamped.
    ε(z, φ) = (ε0 + z κ)/(1 + z/R) of both waves, at AZIMUTHS; σ = Q ε(θ), with φ either way round
    in place of −θ. What cure and cooling left in the plies is there before the load.
    """
    strain = _ends(_strains(model, cases))  # (case, wave, place, 10)
    made, count = model.shell, 2 * model.shell.elements
    ends = np.stack((np.arange(0, count, 2), np.arange(2, count + 1, 2)), axis=1).ravel()
    walls = model.walls(ends)
    bottom = np.cumsum(walls.thickness, axis=0) - walls.thickness
    bottom = bottom - 0.5 * walls.thickness.sum(axis=0)
    faces = np.stack((bottom, bottom + walls.thickness))  # (face, pair, place)
    meridian, hoop = (_ends(item[None, None])[0, 0] for item in (made.along, made.around))
    around = _round(strain)[:, :, None, None]  # (case, azimuth, 1, 1, place, 10)
    own = laminate.turned_strain(shell.at_depth(around, meridian, hoop, faces), walls.angle)
    cases_, sides, two, pairs, places = own.shape[:5]
    own = own.reshape(cases_, sides * two, pairs, places, 3)
    left = stress_left(walls, model.warm[:, ends] - cure.set_temperature, cure.share_kept)
    factor, mode = _first(walls, own, left, model, library)
    factor[..., :2] = np.inf  # the plug
    flat, modes = factor.reshape(cases_, -1, places), mode.reshape(cases_, -1, places)
    best = flat.argmin(axis=1)[:, None]
    least, how = np.take_along_axis(flat, best, 1)[:, 0], np.take_along_axis(modes, best, 1)[:, 0]
    side, pair = np.divmod(best[:, 0], pairs)
    return Cracked(made.node_x[ends], least, pair, how, side % two, model.kept[:, ends])


def _strains(model: Model, cases: list[Case]) -> Array:
    """Strains at the points of integration, (case, wave, element, 2, 10)."""
    axial, shear, moment, pressure = (
        model.at(np.array([getattr(case, key) for case in cases]))
        for key in ("axial", "shear", "moment", "pressure")
    )
    even, pulled, _ = axial_load(model, axial, pressure)
    aside, bent = side_load(model, shear, moment)
    traction = np.stack((even, aside), axis=1)
    waves = np.tile([0, 1], len(cases))
    walls = np.repeat(model.stiffness, 2, axis=0)
    walls[:, 0] *= PLUG
    made = model.shell.beside(walls)
    ends = (shell.FREE, shell.CLAMPED)
    first = np.stack((pulled, bent), axis=1).reshape(-1, 3)
    moved, _ = shell.solve(made, waves, ends, traction.reshape(-1, *even.shape[1:]), first)
    strain = shell.strains_of(made, waves, moved)
    return strain.reshape(len(cases), 2, *strain.shape[1:])


def _ends(values: Array) -> Array:
    """Values (case, wave, element, 2, ...) at the points carried on to the ends of elements."""
    middle, half = values.mean(axis=3), 0.5 * (values[:, :, :, 1] - values[:, :, :, 0])
    ends = np.stack([middle + share * half for share in EXTREME], axis=3)
    return ends.reshape(*ends.shape[:2], -1, *ends.shape[4:])


def _round(strain: Array) -> Array:
    """Both waves together at AZIMUTHS, (case, azimuth, place, 10)."""
    cos, sin = np.cos(AZIMUTHS)[:, None, None], np.sin(AZIMUTHS)[:, None, None]
    odd = np.isin(np.arange(shell.STRAINS), (2, 3, 6, 7, 9))
    return np.asarray(strain[:, None, 0] + strain[:, None, 1] * np.where(odd, sin, cos))


def _first(
    walls: Walls, own: Array, left: Array, model: Model, library: Library
) -> tuple[Array, Count]:
    """Load factor and mode of plies under their own strains (case, side, pair, place, 3)."""
    p = walls.plies
    Q = laminate.reduced_stiffness(p.E1, p.E2, p.G12, p.nu12)
    stress = np.matmul(Q[:, None], own[..., None])[..., 0]
    limits = warm_strengths(model.stack, library, walls)
    factor, mode = strength.first_failure(stress, limits, np.nan_to_num(left)[:, None])
    return np.where(walls.thickness > 0.0, factor, np.inf), mode
