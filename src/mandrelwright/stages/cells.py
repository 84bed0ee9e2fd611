"""Mould and wall as rings about the axis at a few places, ready to conduct and to cure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.job.spec import Job
from mandrelwright.physics.conduction import Grid, graded
from mandrelwright.stages.resin import Resin
from mandrelwright.stages.shape import Shape
from mandrelwright.stages.stack import THINNEST, Stack

Array = NDArray[np.float64]

PLACES = 7
CORE, SKIN, WALL = 7, 5, 5  # cells
SKIN_SHARE = 0.3  # of a mould that is the same all through: its finer cells
FIBRE, PLASTIC = "materials.fibres.{fibre}.", "materials.plastics.{plastic}."
LENT = ("specific_heat", "conductivity")
THERMAL = ("conductivity", "specific_heat", "density")
CELLS = (
    *("stack.mould", "stack.thickness", "stack.layers", "stack.fibre_fraction"),
    *("shape.tip", "shape.base", "shape.fits", "job.fit[*]"),
    *("job.mould.core", "job.mould.pull_rod", "job.printer.line"),
    *(PLASTIC + key for key in THERMAL),
    *(FIBRE + key for key in ("conductivity_across", "specific_heat", "density")),
    *("materials.practice.cure.infill_walls", "materials.practice.cure.infill_air"),
)


@dataclass(frozen=True)
class Cells:
    """Places (node of the stack, x), their cells on and off the mould, heat of cure (J/m³).

    The wall is the last WALL cells; off the mould it is all there is.
    """

    nodes: NDArray[np.int64]
    x: Array
    lead: int
    on: Grid
    off: Grid
    heat: Array

    @property
    def wall(self) -> slice:
        """The cells of the wall."""
        return slice(CORE + SKIN, CORE + SKIN + WALL)


def cut_cells(job: Job, shape: Shape, stack: Stack, resin: Resin, library: Library) -> Cells:
    """Cells at places evenly along the part and in the middle of the leading fit.

    Core and wall are graded towards the face between them. Infill conducts as its walls that
    run outwards, k = share·f·k_plastic + (1 − f)·k_air, and stores as its mass.
    """
    nodes, lead = _nodes(shape, stack)
    return cells_at(job, stack, nodes, lead, resin, library)


def cells_at(
    job: Job, stack: Stack, nodes: NDArray[np.int64], lead: int, resin: Resin, library: Library
) -> Cells:
    """The cells at some nodes of the stack."""
    R, thick = stack.mould.r[nodes], stack.wall[nodes]
    core = job.mould.core
    hole = 0.5 * job.mould.pull_rod.value if job.mould.pull_rod else 0.0
    bore = np.minimum(hole, 0.5 * R)  # where the hole breaks out, as a stop says, all the same
    if core.hollow is not None:
        bore = np.maximum(bore, R - core.hollow.value)
    skin = SKIN_SHARE * (R - bore)
    if core.walls is not None:
        skin = np.minimum(core.walls * job.printer.line.value, 0.9 * (R - bore))
    wall = graded(R, R + thick, WALL)
    radii = np.concatenate(
        (graded(bore, R - skin, CORE, 0.3)[:, :-1], graded(R - skin, R, SKIN, 0.5)[:, :-1], wall),
        axis=1,
    )
    k, c = _plastic(job, library, len(nodes))
    wall_k, wall_c, heat = wall_cells(stack, nodes, resin, library)
    on = Grid(radii, np.concatenate((k, wall_k), axis=1), np.concatenate((c, wall_c), axis=1))
    return Cells(nodes, stack.mould.x[nodes], lead, on, Grid(wall, wall_k, wall_c), heat)


def _nodes(shape: Shape, stack: Stack) -> tuple[NDArray[np.int64], int]:
    """Stations along the part that carry a wall, and which of them stands for the leading fit."""
    x = stack.mould.x
    laid = np.flatnonzero((x >= shape.tip) & (x <= shape.base) & (stack.wall > THINNEST))
    wanted = np.linspace(x[laid[0]], x[laid[-1]], PLACES)
    middle = 0.5 * (shape.lead.start + shape.lead.stop)
    near = laid[np.argmin(np.abs(x[laid] - middle))]
    nodes = np.unique([near, *(laid[np.argmin(np.abs(x[laid] - place))] for place in wanted)])
    return nodes, int(np.searchsorted(nodes, near))


def _plastic(job: Job, library: Library, places: int) -> tuple[Array, Array]:
    """Conductivity and heat capacity per volume of core and skin, (place, CORE + SKIN)."""
    plastic, practice = library.plastics[job.mould.plastic], library.practice["cure"]
    lent = library.plastics["ABS"]  # where a builder's own plastic does not say
    heat, solid = ((plastic if key in plastic else lent)[key].value for key in LENT)
    full = plastic["density"].value * heat
    k, c = np.full((places, CORE + SKIN), solid), np.full((places, CORE + SKIN), full)
    infill = job.mould.core.infill
    if infill is not None:
        share = practice["infill_walls"].value * infill.value
        k[:, :CORE] = share * solid + (1.0 - infill.value) * practice["infill_air"].value
        c[:, :CORE] = max(infill.value, 1e-3) * full
    return k, c


def wall_cells(
    stack: Stack, nodes: NDArray[np.int64], resin: Resin, library: Library
) -> tuple[Array, Array, Array]:
    """Of the wall: conductivity across (Halpin-Tsai, ξ = 1), heat capacity, heat of cure."""
    V = stack.fibre_fraction
    t = stack.thickness[:, nodes]
    share = t / t.sum(axis=0)
    fibres = [library.fibres[layer.textile.fibre] for layer in stack.layers]
    lent = library.fibres["E-glass"]  # where a builder's own fibre does not say

    def mixed(key: str) -> Array:
        values = [(fibre if key in fibre else lent)[key].value for fibre in fibres]
        return np.asarray(np.array(values) @ share)

    ratio = mixed("conductivity_across") / resin.conductivity
    eta = (ratio - 1.0) / (ratio + 1.0)
    k = resin.conductivity * (1.0 + eta * V) / (1.0 - eta * V)
    c = V * mixed("density") * mixed("specific_heat")
    c += (1.0 - V) * resin.density * resin.specific_heat
    cells = np.ones(WALL)
    heat = np.full((len(nodes), WALL), resin.density * (1.0 - V) * resin.heat)
    return k[:, None] * cells, c[:, None] * cells, heat
