"""What buckles the part as one shell, case by case, up to twelve waves round."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from mandrelwright.physics import local_buckling, shell
from mandrelwright.stages.flight import Case
from mandrelwright.stages.shell_model import Model, axial_load

Array = NDArray[np.float64]

WAVES = np.arange(13)
ENDS = (shell.ROUND, shell.ROUND)


class Buckled(NamedTuple):
    """Load factors of the perfect shell and with its share, waves round, where it moves most."""

    perfect: float
    factor: float
    waves: int
    x: float


def buckle(model: Model, cases: list[Case]) -> list[Buckled]:
    """The least load factor over waves of every case; infinite where nothing buckles.

    F(x) = N − 2|M|/r: the worst meridian of bending taken all the way round. Both ends are kept
    round and may warp.
    """
    made = model.shell
    axial, moment, pressure = (
        model.at(np.array([getattr(case, key) for case in cases]))
        for key in ("axial", "moment", "pressure")
    )
    force = axial - 2.0 * np.abs(moment) / made.node_r
    traction, first, last = axial_load(model, force, pressure)
    out = []
    for number, walls in enumerate(model.stiffness):
        shelled = made.beside(walls)
        load = traction[number], first[number], last[number]
        _, stress = shell.solve(shelled, 0, ENDS, *load)
        inwards = -pressure[number, 1::2, None]
        found = shell.buckle(shelled, stress, ENDS, WAVES, inwards)
        least = int(found.factor.argmin())
        perfect = float(found.factor[least])
        moved = np.hypot(found.mode[least, :, 1], found.mode[least, :, 0])
        at = int(moved.argmax())
        share = _share(model, number, at, float(axial[number, at]), float(moment[number, at]))
        out.append(Buckled(perfect, share * perfect, least, float(made.node_x[at])))
    return out


def _share(model: Model, number: int, at: int, axial: float, moment: float) -> float:
    """What real shells bear of the perfect load where the mode moves most."""
    walls = model.walls(np.array([at]))
    r, c = float(walls.radius[0]), float(walls.cosine[0])
    A, _, D = (item[number, 0] for item in walls.stiffness)
    ratio = r / c / local_buckling.equivalent_wall(A, D)
    steep = np.arccos(min(c, 1.0)) > local_buckling.STEEP
    pressed, bent = max(-axial, 0.0) / 2.0, abs(moment) / r
    if pressed + bent == 0.0:
        return local_buckling.CONE_PRESSURE if steep else local_buckling.PRESSURE
    along = local_buckling.CONE_AXIAL if steep else local_buckling.cylinder_share(ratio)
    bending = (
        local_buckling.CONE_BENDING
        if steep
        else local_buckling.cylinder_share(ratio, local_buckling.BENDING)
    )
    return float((pressed + bent) / (pressed / along + bent / bending))
