"""The whole part as a shell of revolution: what buckles it as laid, ends round, case by case."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from mandrelwright.job.materials import Library
from mandrelwright.physics import local_buckling, shell
from mandrelwright.stages.flight import Case, Flight
from mandrelwright.stages.record import result
from mandrelwright.stages.stack import Stack
from mandrelwright.stages.strength import BUCKLES
from mandrelwright.stages.wall import Constituents
from mandrelwright.stages.warm_wall import Walls, resin_left, warm_walls

Array = NDArray[np.float64]

FEWEST, MOST = 24, 160  # elements
PER_HALF_WAVE = 2.0
WAVES = range(13)
NARROWEST = 2e-3  # m: radius below which a tip counts as closed
ENDS = (shell.ROUND, shell.ROUND)


@dataclass(frozen=True)
class Buckled:
    """One case: the load factor of the perfect shell, with its share, waves round, where."""

    id: str
    name: str
    perfect: float = result("load factor of the perfect shell", "", shell.buckle, BUCKLES)
    factor: float = result(
        "the same times what real shells bear", "", local_buckling.cylinder_share, BUCKLES
    )
    waves: int = result("waves round", "", shell.buckle, BUCKLES)
    x: float = result("where it moves most, x from the tip", "mm", shell.buckle, BUCKLES)


@dataclass(frozen=True)
class Whole:
    """Every case that presses the part, judged as one shell from tip to base."""

    elements: int = result("elements along the meridian", "", (), BUCKLES)
    cases: tuple[Buckled, ...] = result("buckling, case by case", "", (), BUCKLES)


def judge_whole(
    stack: Stack, parts: Constituents, flight: Flight | None, library: Library
) -> Whole | None:
    """Linear buckling of the part as laid, every case that presses it, 0 to 12 waves round.

    Before buckling the shell bears F(x) = N − 2|M|/r and the pressure: the worst meridian of
    bending taken all the way round. Both ends are kept round and may warp; resin as warm as the
    mean of the wall. The share is SP-8007's or SP-8019's where the mode moves most.
    """
    if flight is None:
        return None
    made, elements = [], 0
    seen: list[Case] = []
    for case in flight.cases:
        if not _presses(case) or any(_same(case, other) for other in seen):
            continue
        seen.append(case)
        found = _buckled(stack, parts, flight, case, library)
        if found is not None:
            made.append(found[0])
            elements = found[1]
    return Whole(elements, tuple(made)) if made else None


def _presses(case: Case) -> bool:
    """Whether anything in a case presses the wall."""
    return bool(
        np.any(case.axial < -1e-6) or np.any(case.moment != 0.0) or np.any(case.pressure > 1e-3)
    )


def _same(one: Case, other: Case) -> bool:
    """Two peaks at one moment."""
    return all(
        np.array_equal(getattr(one, key), getattr(other, key))
        for key in ("axial", "moment", "pressure", "mean")
    )


def _buckled(
    stack: Stack, parts: Constituents, flight: Flight, case: Case, library: Library
) -> tuple[Buckled, int] | None:
    """The least load factor over waves, None where no sound wall is left or nothing buckles."""
    kept = resin_left(case.mean[None], flight.glass, library)
    walls = warm_walls(stack, parts, flight.nodes, kept)
    open_ = walls.sound & (walls.radius > NARROWEST)
    start = int(np.flatnonzero(~open_)[-1]) + 1 if not open_.all() else 0
    if len(open_) - start < 4:
        return None
    made = _shell(stack, flight, walls, start)
    force = case.axial - 2.0 * np.abs(case.moment) / walls.radius
    traction, first, last = _loads(made, flight.x[start:], force[start:], case.pressure[start:])
    _, stress = shell.solve(made, 0, ENDS, traction, first, last)
    inwards = -np.interp(_middles(made), flight.x, case.pressure)
    found = shell.buckle(made, stress, ENDS, list(WAVES), inwards[:, None])
    least = int(found.factor.argmin())
    perfect = float(found.factor[least])
    if not np.isfinite(perfect):
        return None
    moved = np.hypot(found.mode[least, :, 1], found.mode[least, :, 0])
    x = float(made.node_x[int(moved.argmax())])
    share = _share(case, walls, int(np.abs(flight.x - x).argmin()))
    return Buckled(case.id, case.name, perfect, share * perfect, least, x), made.elements


def _shell(stack: Stack, flight: Flight, walls: Walls, start: int) -> shell.Shell:
    """The sound part of the wall as a shell, elements short against the shortest wave."""
    nodes = np.arange(flight.nodes[start], flight.nodes[-1] + 1)
    x = 0.5 * (stack.x[0] + stack.x[-1])[nodes]
    r = 0.5 * (stack.r[0] + stack.r[-1])[nodes]
    s = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(r)))))
    A, B, D = (item[0, start:] for item in walls.stiffness)
    bent = (walls.radius[start:] ** 2 * D[:, 0, 0] / A[:, 1, 1]) ** 0.25
    count = int(np.ceil(PER_HALF_WAVE * s[-1] / (np.pi * bent.min())))
    at = np.linspace(0.0, s[-1], 2 * min(max(count, FEWEST), MOST) + 1)
    node_x, node_r = np.interp(at, s, x), np.interp(at, s, r)
    stations = flight.x[start:]
    through = shell.shear_stiffness(walls.plies, walls.angle, walls.thickness)[0, start:]
    wall = walls.thickness.sum(axis=0)[start:]
    A, B, D, K, t = (_along(node_x, stations, item) for item in (A, B, D, through, wall))
    return shell.make_shell((node_x, node_r), (A, B, D), K, t)


def _along(at: Array, x: Array, values: Array) -> Array:
    """Values (place, ...) by straight lines at other x."""
    flat = values.reshape(len(x), -1)
    return np.stack([np.interp(at, x, line) for line in flat.T], axis=-1).reshape(
        len(at), *values.shape[1:]
    )


def _middles(made: shell.Shell) -> Array:
    return made.node_x[1::2]


def _loads(
    made: shell.Shell, x: Array, force: Array, pressure: Array
) -> tuple[Array, tuple[float, float, float], tuple[float, float, float]]:
    """Tractions (element, 2, 3) and rim loads that make the axial force F(x) and the pressure."""
    ends = np.interp(made.node_x[::2], x, force)
    span = made.length.sum(axis=1)[:, None]
    traction = np.zeros((*made.r.shape, 3))
    traction[..., 0] = -np.diff(ends)[:, None] / span / (2.0 * np.pi * made.r)
    pushed = np.interp(_middles(made), x, pressure)[:, None]
    traction[..., 1] = -pushed * np.cos(made.beta)
    rim = 2.0 * np.pi * made.node_r
    return traction, (-ends[0] / rim[0], 0.0, 0.0), (ends[-1] / rim[-1], 0.0, 0.0)


def _share(case: Case, walls: Walls, at: int) -> float:
    """What real shells bear of the perfect load where the mode moves most."""
    r, c = walls.radius[at], walls.cosine[at]
    A, _, D = (item[0, at] for item in walls.stiffness)
    ratio = r / c / local_buckling.equivalent_wall(A, D)
    steep = np.arccos(min(c, 1.0)) > local_buckling.STEEP
    pressed = max(-float(case.axial[at]), 0.0) / 2.0
    bent = abs(float(case.moment[at])) / r
    if pressed + bent == 0.0:
        return local_buckling.CONE_PRESSURE if steep else local_buckling.PRESSURE
    axial = local_buckling.CONE_AXIAL if steep else local_buckling.cylinder_share(ratio)
    bending = (
        local_buckling.CONE_BENDING
        if steep
        else local_buckling.cylinder_share(ratio, local_buckling.BENDING)
    )
    return float((pressed + bent) / (pressed / axial + bent / bending))
